//! The test sheet: what was written, line by line. The form under it is [`super::sheet_form`].

use std::sync::Arc;

use bevy_egui::egui::{
    Align2, Color32, FontId, Galley, Rect, RichText, ScrollArea, Sense, Stroke, Ui, UiBuilder, WidgetInfo,
    WidgetType, pos2, vec2,
};

use super::bridge::Intent;
use super::sheet_form::{Entry, SheetForm, prediction_form_ui, reading_form_ui, seen_form_ui};
use super::sheet_measured::test_form_ui;
use super::theme::{bold_figures, figures, italic, quiet, regular, remark, tokens};
use super::widgets;
use super::words::{TRAINING_VALUES, clock, range_in, read_number};
use crate::bay::action::{Micros, Prediction, Reading, State, Verdict};
use crate::bay::as_written;
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
/// Least height of the form with what stands round it, points; higher where its words need more rows.
const FORM: f32 = 360.0;
/// Least height of the lines over the form, points.
const LINES: f32 = 110.0;
/// Height of a line that isn't written yet, points.
const BLANK: f32 = 28.0;
/// Height of the names of the columns, points.
const HEAD: f32 = 18.0;

/// Draws the sheet: the lines over the form; on a low page beside it, or all of it scrolled.
pub fn test_sheet_ui(view: &SheetView<'_>, form: &mut SheetForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let room = ui.available_size();
    // as high as the highest of the forms that were opened at this width: what is pressed to change between them stays put
    let tall = match form.tall {
        (width, height) if width == room.x => height.max(FORM),
        _ => FORM,
    };
    if view.over || room.y >= tall + LINES {
        let form_height = if view.over { 30.0 } else { tall };
        lines_area(view, form, room.y - form_height, ui, intents);
        let top = ui.cursor().top();
        entry_ui(view, form, ui, intents);
        if !view.over {
            form.tall = (room.x, tall.max(ui.cursor().top() - top));
        }
        return;
    }
    if room.x < SIDE_BY_SIDE {
        ScrollArea::vertical().id_salt("sheet").auto_shrink([false, false]).show(ui, |ui| {
            let (head, _) = ui.allocate_exact_size(vec2(ui.available_width(), HEAD), Sense::hover());
            head_ui(view, head, ui);
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
    // the columns keep their names while lines are scrolled under them
    let (head, _) = ui.allocate_exact_size(vec2(ui.available_width(), HEAD), Sense::hover());
    let shown = ScrollArea::vertical()
        .id_salt("lines")
        .max_height(high - HEAD - ui.spacing().item_spacing.y)
        .auto_shrink([false, false])
        .stick_to_bottom(true)
        .show(ui, |ui| {
            lines_ui(view, form, ui, intents);
            if !view.over {
                blank_rows(ui);
            }
        });
    head_ui(view, head.with_max_x(head.left() + shown.inner_rect.width()), ui);
}

/// What stands in the columns.
fn head_ui(view: &SheetView<'_>, head: Rect, ui: &Ui) {
    let limit = tell!("sheet-limit-unit", unit = view.unit.symbol());
    let columns = Columns { rect: head, y: head.center().y };
    for (share, title) in
        COLUMNS.into_iter().zip([said("state"), said("sheet-reading"), &limit, said("sheet-verdict")])
    {
        columns.text(share, title, regular(12.5), tokens(ui).second_ink, ui);
    }
}

/// What is written next.
fn entry_ui(view: &SheetView<'_>, form: &mut SheetForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    if view.over {
        ui.label(remark(ui, TRAINING_VALUES));
        return;
    }
    ui.label(remark(ui, TRAINING_VALUES));
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

/// What stands under one another on the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Row {
    /// A line, from 0.
    Line(usize),
    /// A prediction, from 0.
    Prediction(usize),
}

/// Lines and predictions in the order in which they were written; of one moment the prediction first.
fn rows(lines: &[SheetLine], predictions: &[(Micros, Prediction)]) -> Vec<Row> {
    let predictions = predictions.iter().enumerate().map(|(i, (at, _))| (*at, Row::Prediction(i)));
    let lines = lines.iter().enumerate().map(|(i, line)| (line.at, Row::Line(i)));
    let mut rows: Vec<(Micros, Row)> = predictions.chain(lines).collect();
    rows.sort_by_key(|(at, _)| *at);
    rows.into_iter().map(|(_, row)| row).collect()
}

/// A prediction as it stands between the lines.
fn predicted_words(job: &Job, (at, prediction): &(Micros, Prediction)) -> String {
    let candidate = prediction.candidate.as_deref().and_then(|c| job.candidate(c));
    tell!(
        "sheet-predicted",
        time = clock(*at),
        state = prediction.state.word(),
        range = format!("{} … {}", as_written(prediction.low_mbar), as_written(prediction.high_mbar)),
        whose = candidate.map_or(said("sheet-i-expect"), |c| &c.label)
    )
}

fn lines_ui(view: &SheetView<'_>, form: &mut SheetForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    if view.lines.is_empty() && view.predictions.is_empty() {
        ui.add_space(8.0);
        ui.label(quiet(ui, said("sheet-nothing")));
    }
    for row in rows(view.lines, view.predictions) {
        match row {
            Row::Line(i) => line_ui(view, i, form, ui, intents),
            Row::Prediction(i) => {
                let words = predicted_words(view.job, &view.predictions[i]);
                ui.label(RichText::new(words).font(italic(12.5)).color(t.second_ink));
            }
        }
    }
    if !view.over {
        next_ui(view, form, ui);
    }
}

/// The line that is being written, where it will stand; what is typed is said by the form.
fn next_ui(view: &SheetView<'_>, form: &SheetForm, ui: &mut Ui) {
    if form.entry != Entry::Reading || form.correcting.is_some() {
        return;
    }
    let t = tokens(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), BLANK), Sense::hover());
    ui.painter().rect_filled(rect, 2, t.highlight);
    let columns = Columns { rect, y: rect.center().y };
    let value = if form.value.trim().is_empty() { "\u{2026}" } else { form.value.trim() };
    let unit = form.unit.map_or("", PressureUnit::symbol);
    columns.subject(view.lines.len() + 1, named(form.state.word()), ui);
    columns.number(&value.replace('-', "\u{2212}"), unit, ui);
    let limit = view.limit(form.state).map_or(String::new(), |l| range_in(l.low_mbar, l.high_mbar, view.unit));
    columns.limit(&limit, ui);
    if let Some(verdict) = form.verdict {
        columns.verdict(verdict, ui);
    }
}

/// Rules of lines that nobody has written yet, as on any form.
fn blank_rows(ui: &Ui) {
    let t = tokens(ui);
    let mut y = ui.cursor().top() + BLANK;
    while y < ui.clip_rect().bottom() - 8.0 {
        ui.painter().hline(ui.max_rect().x_range(), y, Stroke::new(1.0, t.rule.gamma_multiply(0.6)));
        y += BLANK;
    }
}

/// What was written, as it stands on paper.
pub fn entry_words(line: &SheetLine) -> String {
    match line.entry.strip_prefix('-') {
        Some(rest) => format!("\u{2212}{rest}"),
        None => named(&line.entry).to_owned(),
    }
}

/// Where the columns of a row stand.
struct Columns {
    rect: Rect,
    y: f32,
}

impl Columns {
    fn x(&self, share: f32) -> f32 {
        self.rect.left() + 4.0 + share * self.rect.width()
    }

    fn text(&self, share: f32, words: &str, font: FontId, ink: Color32, ui: &Ui) {
        ui.painter().text(pos2(self.x(share), self.y), Align2::LEFT_CENTER, words, font, ink);
    }

    fn subject(&self, number: usize, words: &str, ui: &Ui) {
        self.text(COLUMNS[0], &format!("{number}  {words}"), regular(13.5), tokens(ui).ink, ui);
    }

    /// Figures end under one another, the unit small beside.
    fn number(&self, number: &str, unit: &str, ui: &Ui) {
        let t = tokens(ui);
        let right = pos2(self.x(COLUMNS[2]) - 52.0, self.y);
        ui.painter().text(right, Align2::RIGHT_CENTER, number, bold_figures(14.5), t.ink);
        ui.painter().text(right + vec2(5.0, 0.0), Align2::LEFT_CENTER, unit, regular(12.0), t.second_ink);
    }

    fn limit(&self, words: &str, ui: &Ui) {
        self.text(COLUMNS[2], words, figures(12.5), tokens(ui).second_ink, ui);
    }

    fn verdict(&self, verdict: Verdict, ui: &Ui) {
        let colour = widgets::verdict_colour(verdict, tokens(ui));
        let sign = pos2(self.x(COLUMNS[3]) + 5.0, self.y);
        widgets::verdict_sign(ui.painter(), sign, verdict, colour);
        let at = sign + vec2(11.0, 0.0);
        ui.painter().text(at, Align2::LEFT_CENTER, named(verdict.words()), regular(13.5), colour);
    }
}

/// What a line is about, as it is laid out: in its column, or over the row of what was read where it is longer than that.
struct Subject {
    galley: Arc<Galley>,
    /// Height of its first row.
    first: f32,
    /// How much lower what was read stands.
    above: f32,
}

impl Subject {
    fn of(number: usize, words: &str, width: f32, ui: &Ui) -> Self {
        let lay = |to: f32| {
            let words = format!("{number}  {words}");
            ui.painter().layout(words, regular(13.5), tokens(ui).ink, to)
        };
        let one = lay(f32::INFINITY);
        let first = one.size().y;
        if one.size().x <= COLUMNS[1] * width - 8.0 {
            return Self { galley: one, first, above: 0.0 };
        }
        let galley = lay(width - 8.0);
        let above = galley.size().y;
        Self { galley, first, above }
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
    // one line is corrected at a time
    let correctable = !view.over && line.state.is_some() && form.correcting.is_none();
    let beside =
        if correctable { widgets::widest(ui, [said("sheet-correct-word")], &regular(12.5)) + 20.0 } else { 0.0 };
    let foot = ui.painter().layout(foot_of(line), italic(12.0), t.second_ink, width - 24.0 - beside);
    let subject = Subject::of(i + 1, named(&line.subject), width, ui);
    let (rect, response) =
        ui.allocate_exact_size(vec2(width, 25.0 + subject.above + foot.size().y), Sense::click());
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
    painter.galley(pos2(rect.left() + 4.0, rect.top() + 13.0 - subject.first / 2.0), subject.galley, t.ink);
    let columns = Columns { rect, y: rect.top() + 13.0 + subject.above };
    let entry = entry_words(line);
    let (number, unit) = entry.split_once(' ').unwrap_or((&entry, ""));
    if line.state.is_some() || read_number(number).is_some() {
        columns.number(number, unit, ui);
    } else {
        columns.text(COLUMNS[1], &entry, regular(14.0), t.ink, ui);
    }
    columns.limit(&limit, ui);
    if let Some(verdict) = line.verdict {
        columns.verdict(verdict, ui);
    }
    let painter = ui.painter();
    painter.galley(pos2(rect.left() + 20.0, rect.top() + 22.0 + subject.above), foot, t.second_ink);
    painter.hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, t.rule));
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    if response.clicked() {
        form.picked = Some(i + 1);
        intents.push(Intent::ChartTo(line.window.1));
    }
    response.on_hover_text(said("sheet-show-on-chart"));
    if correctable {
        let place = Rect::from_min_max(pos2(rect.right() - beside, rect.bottom() - 24.0), rect.max);
        if correct_ui(i + 1, place, ui) {
            form.picked = Some(i + 1);
            form.correct(i + 1, line, view.readings.get(i).and_then(Option::as_ref));
        }
    }
}

/// The word that takes a line into the form again, at the line's lower right end.
fn correct_ui(line: usize, place: Rect, ui: &mut Ui) -> bool {
    let t = tokens(ui);
    let response = ui.interact(place, ui.id().with(("correct", line)), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, tell!("sheet-correct-small", n = line)));
    let ink = if response.hovered() { t.ink } else { t.accent };
    let words = said("sheet-correct-word");
    let written = ui.painter().text(place.center(), Align2::CENTER_CENTER, words, regular(12.5), ink);
    ui.painter().hline(written.x_range(), written.bottom(), Stroke::new(1.0, ink));
    widgets::focus_ring(ui, &response, place.shrink(3.0));
    response.clicked()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_prediction_stands_where_it_was_made() {
        let line = |at: Micros| SheetLine {
            at,
            subject: "idle".into(),
            state: Some(State::Idle),
            entry: "\u{2212}118 mbar".into(),
            verdict: None,
            source: String::new(),
            remark: String::new(),
            window: (at, at),
        };
        let made =
            |at: Micros| (at, Prediction { state: State::Idle, candidate: None, low_mbar: 0.0, high_mbar: 1.0 });
        let all = rows(&[line(10), line(20), line(30)], &[made(5), made(20), made(40)]);
        let wanted =
            [Row::Prediction(0), Row::Line(0), Row::Prediction(1), Row::Line(1), Row::Line(2), Row::Prediction(2)];
        assert_eq!(all, wanted);
    }
}
