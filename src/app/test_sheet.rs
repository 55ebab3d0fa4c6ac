//! The test sheet: what was written, line by line. The form under it is [`super::sheet_form`].

use bevy_egui::egui::{
    Align2, RichText, ScrollArea, Sense, Stroke, Ui, UiBuilder, WidgetInfo, WidgetType, pos2, vec2,
};

use super::bridge::Intent;
use super::sheet_form::{Entry, SheetForm, prediction_form_ui, reading_form_ui, seen_form_ui};
use super::sheet_test::test_form_ui;
use super::theme::{bold_figures, figures, italic, quiet, regular, remark, tokens};
use super::widgets;
use super::words::{TRAINING_VALUES, clock, range, range_in};
use crate::bay::action::{Micros, Prediction, Reading, State, Verdict};
use crate::bay::observation::{Meter, SheetLine};
use crate::language::{Msg, named, said};
use crate::msg;
use crate::scenario::model::{Job, Limit};
use crate::tell;
use crate::units::PressureUnit;

/// What the sheet shows.
pub struct SheetView<'a> {
    /// The job.
    pub job: &'a Job,
    /// Lines.
    pub lines: &'a [SheetLine],
    /// Joint of the tee at each line.
    pub joints: &'a [Option<String>],
    /// Each line as it was typed.
    pub readings: &'a [Option<Reading>],
    /// Predictions.
    pub predictions: &'a [(Micros, Prediction)],
    /// Joint of the tee now.
    pub tee: Option<&'a str>,
    /// What tests showed last.
    pub meters: &'a [Meter],
    /// Unit of limits.
    pub unit: PressureUnit,
    /// Handed back.
    pub over: bool,
}

impl SheetView<'_> {
    /// The limit for a state where the tee is now.
    pub fn limit(&self, state: State) -> Option<&Limit> {
        self.tee.and_then(|joint| self.job.limit(joint, state))
    }

    fn limit_words(&self, line: usize) -> String {
        let joint = self.joints.get(line).and_then(|j| j.as_deref());
        let limit = self.lines[line].state.and_then(|s| joint.and_then(|j| self.job.limit(j, s)));
        limit.map_or(String::new(), |l| range_in(l.low_mbar, l.high_mbar, self.unit))
    }
}

/// Width from which lines and form lie side by side on a low page, points.
const SIDE_BY_SIDE: f32 = 760.0;
/// Height of the form with what stands round it, points.
const FORM: f32 = 410.0;

/// Draws the sheet: the lines over the form; on a low page beside it, or all of it scrolled.
pub fn test_sheet_ui(view: &SheetView<'_>, form: &mut SheetForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let room = ui.available_size();
    if view.over || room.y >= FORM + 110.0 {
        let form_height = if view.over { 30.0 } else { FORM };
        lines_area(view, form, room.y - form_height, ui, intents);
        entry_ui(view, form, ui, intents);
        return;
    }
    if room.x < SIDE_BY_SIDE {
        ScrollArea::vertical().id_salt("sheet").auto_shrink([false, false]).show(ui, |ui| {
            lines_ui(view, form, ui, intents);
            entry_ui(view, form, ui, intents);
        });
        return;
    }
    let whole = ui.available_rect_before_wrap();
    let half = (whole.width() - 16.0) / 2.0;
    let [left, right] = [whole.with_max_x(whole.left() + half), whole.with_min_x(whole.right() - half)];
    ui.scope_builder(UiBuilder::new().max_rect(left).id_salt("written"), |ui| {
        lines_area(view, form, room.y, ui, intents);
    });
    ui.scope_builder(UiBuilder::new().max_rect(right).id_salt("form"), |ui| {
        ScrollArea::vertical().id_salt("entry").auto_shrink([false, false]).show(ui, |ui| {
            entry_ui(view, form, ui, intents);
        });
    });
}

fn lines_area(view: &SheetView<'_>, form: &mut SheetForm, high: f32, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ScrollArea::vertical()
        .id_salt("lines")
        .max_height(high)
        .auto_shrink([false, false])
        .stick_to_bottom(true)
        .show(ui, |ui| lines_ui(view, form, ui, intents));
}

/// What is written next.
fn entry_ui(view: &SheetView<'_>, form: &mut SheetForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    if view.over {
        ui.label(remark(ui, TRAINING_VALUES));
        return;
    }
    ui.horizontal_wrapped(|ui| {
        ui.label(remark(ui, TRAINING_VALUES));
        let picked = form.picked.filter(|n| view.lines.get(n - 1).is_some_and(|line| line.state.is_some()));
        if let Some(n) = picked
            && widgets::small_button(ui, &tell!("sheet-correct-small", n = n), "", true, "").clicked()
        {
            form.correct(n, &view.lines[n - 1], view.readings.get(n - 1).and_then(Option::as_ref));
        }
    });
    let width = ui.available_width();
    const KINDS: [(Entry, Msg); 4] = [
        (Entry::Reading, msg!("sheet-reading")),
        (Entry::Test, msg!("sheet-test-result")),
        (Entry::Seen, msg!("sheet-seen")),
        (Entry::Prediction, msg!("sheet-prediction")),
    ];
    let now = KINDS.iter().position(|(entry, _)| *entry == form.entry);
    if let Some(i) = widgets::choice(ui, width, said("sheet-write"), &KINDS.map(|(_, words)| words.said()), now) {
        form.entry = KINDS[i].0;
    }
    match form.entry {
        Entry::Reading => reading_form_ui(view, form, ui, intents),
        Entry::Test => test_form_ui(view.meters, &mut form.test, ui, intents),
        Entry::Seen => seen_form_ui(form, ui, intents),
        Entry::Prediction => prediction_form_ui(view, form, ui, intents),
    }
}

/// Left edges of the sheet's columns, as shares of its width.
const COLUMNS: [f32; 4] = [0.0, 0.22, 0.47, 0.72];

fn lines_ui(view: &SheetView<'_>, form: &mut SheetForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    let width = ui.available_width();
    let (head, _) = ui.allocate_exact_size(vec2(width, 18.0), Sense::hover());
    let limit = tell!("sheet-limit-unit", unit = view.unit.symbol());
    for (share, title) in
        COLUMNS.into_iter().zip([said("state"), said("sheet-reading"), &limit, said("sheet-verdict")])
    {
        let at = pos2(head.left() + 4.0 + share * width, head.center().y);
        ui.painter().text(at, Align2::LEFT_CENTER, title, regular(12.5), t.second_ink);
    }
    if view.lines.is_empty() && view.predictions.is_empty() {
        ui.add_space(8.0);
        ui.label(quiet(ui, said("sheet-nothing")));
    }
    for i in 0..view.lines.len() {
        line_ui(view, i, form, ui, intents);
    }
    for (at, prediction) in view.predictions {
        let whose = prediction
            .candidate
            .as_deref()
            .and_then(|c| view.job.candidate(c))
            .map_or(said("sheet-i-expect"), |c| &c.label);
        let expected = range(prediction.low_mbar, prediction.high_mbar);
        let words = tell!(
            "sheet-predicted",
            time = clock(*at),
            state = prediction.state.word(),
            range = expected,
            whose = whose
        );
        ui.label(RichText::new(words).font(italic(12.5)).color(t.second_ink));
    }
}

/// When it was written, where its limit is from, the remark.
fn foot_of(line: &SheetLine) -> String {
    let mut foot = clock(line.at);
    for more in [&line.source, &line.remark] {
        if !more.is_empty() {
            foot.push_str(" · ");
            foot.push_str(named(more));
        }
    }
    foot
}

fn line_ui(view: &SheetView<'_>, i: usize, form: &mut SheetForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    let line = &view.lines[i];
    let width = ui.available_width();
    let foot = ui.painter().layout(foot_of(line), italic(12.0), t.second_ink, width - 24.0);
    let (rect, response) = ui.allocate_exact_size(vec2(width, 25.0 + foot.size().y), Sense::click());
    let verdict = line.verdict.map_or("", Verdict::words);
    let limit = view.limit_words(i);
    let aloud = tell!(
        "sheet-line-said",
        line = i + 1,
        subject = line.subject,
        entry = line.entry,
        verdict = verdict,
        remark = line.remark
    );
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, aloud.trim()));
    let painter = ui.painter();
    if form.correcting == Some(i + 1) || form.picked == Some(i + 1) || response.hovered() {
        painter.rect_filled(rect, 2, t.highlight);
    }
    let x = |share: f32| rect.left() + 4.0 + share * width;
    let upper = rect.top() + 13.0;
    painter.text(
        pos2(x(0.0), upper),
        Align2::LEFT_CENTER,
        format!("{}  {}", i + 1, named(&line.subject)),
        regular(13.5),
        t.ink,
    );
    let entry = line.entry.replace('-', "\u{2212}");
    let (number, unit) = entry.split_once(' ').unwrap_or((&entry, ""));
    if line.state.is_some() {
        let right = x(COLUMNS[2]) - 52.0;
        painter.text(pos2(right, upper), Align2::RIGHT_CENTER, number, bold_figures(14.5), t.ink);
        painter.text(pos2(right + 5.0, upper), Align2::LEFT_CENTER, unit, regular(12.0), t.second_ink);
    } else {
        painter.text(pos2(x(COLUMNS[1]), upper), Align2::LEFT_CENTER, named(&line.entry), regular(14.0), t.ink);
    }
    painter.text(pos2(x(COLUMNS[2]), upper), Align2::LEFT_CENTER, limit, figures(12.5), t.second_ink);
    if let Some(verdict) = line.verdict {
        let colour = widgets::verdict_colour(verdict, t);
        widgets::verdict_sign(painter, pos2(x(COLUMNS[3]) + 5.0, upper), verdict, colour);
        painter.text(
            pos2(x(COLUMNS[3]) + 16.0, upper),
            Align2::LEFT_CENTER,
            named(verdict.words()),
            regular(13.5),
            colour,
        );
    }
    painter.galley(pos2(x(0.0) + 16.0, rect.top() + 22.0), foot, t.second_ink);
    painter.hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, t.rule));
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    if response.clicked() {
        form.picked = Some(i + 1);
        intents.push(Intent::ChartTo(line.window.1));
    }
    response.on_hover_text(said("sheet-show-on-chart"));
}
