//! The debrief: what it was, what was earned and why, sentence by sentence.

use bevy_egui::egui::{Align2, Rect, RichText, Sense, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2};

use super::bridge::Intent;
use super::theme::{bold_figures, figures, heading, quiet, regular, remark, semibold, tokens};
use super::widgets::{self, Weight};
use super::words::{number, short_clock};
use super::worth::{self, WayState};
use crate::bay::action::Micros;
use crate::language::{Msg, said};
use crate::marking::model::{LedgerLine, Mark, Outcome};
use crate::msg;
use crate::tell;

/// The sentence under every outcome.
pub const DECIDES: Msg = msg!("person-decides");

/// How it came out, in words.
pub fn outcome_words(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Reached => said("outcome-reached"),
        Outcome::NotReached => said("outcome-not-reached"),
        Outcome::Review => said("outcome-review"),
    }
}

/// Draws the debrief. Before there is a mark: why there won't be one (`Ok`) or the share that is done
/// (`Err`). `record` says where the attempt is kept.
pub fn debrief_ui(
    mark: Option<&Mark>,
    way: &WayState,
    unmarked: Result<&str, f32>,
    record: &str,
    here: Option<Micros>,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    match (mark, unmarked) {
        (Some(mark), _) => {
            again_ui(mark, here, ui, intents);
            widgets::scrolled(ui, "debrief", f32::INFINITY, |ui| {
                mark_ui(mark, way, here, ui, intents);
                ui.label(quiet(ui, record));
            });
        }
        (None, Ok(why)) => {
            ui.label(heading(said("debrief-not-marked")));
            ui.label(why);
            ui.label(quiet(ui, record));
        }
        (None, Err(share)) => {
            ui.label(heading(said("debrief-marking")));
            ui.label(said("debrief-replayed"));
            let aloud = tell!("debrief-marking-share", share = format!("{:.0}", share * 100.0));
            widgets::progress(ui, share, &aloud);
            ui.label(quiet(ui, aloud));
            ui.label(quiet(ui, said("debrief-meanwhile")));
            ui.label(quiet(ui, record));
        }
    }
}

/// What was earned, and beside it what stays at hand however far the page is scrolled: go back to a moment, and the
/// debrief as pages.
fn again_ui(mark: &Mark, here: Option<Micros>, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(number(mark.total, 1)).font(bold_figures(30.0)));
        ui.label(quiet(ui, said("mark-of-100")));
        ui.add_space(8.0);
        // without a moment of its own: before the first stretch of work that was judged
        let at = here.or_else(|| mark.moves.first().map(|m| m.window.0)).unwrap_or(0);
        let text = tell!("debrief-go-back", time = short_clock(at));
        let name = said("debrief-go-back-name");
        if widgets::button(ui, Weight::Plain, &text, name, true, "").on_hover_text(name).clicked() {
            intents.push(Intent::GoBackTo(at));
        }
        let name = said("debrief-write-name");
        if widgets::button(ui, Weight::Plain, said("debrief-write"), name, true, "").on_hover_text(name).clicked() {
            intents.push(Intent::ExportDebrief);
        }
    });
    ui.add_space(2.0);
}

fn mark_ui(mark: &Mark, way: &WayState, here: Option<Micros>, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    ui.label(RichText::new(outcome_words(mark.outcome)).font(semibold(16.0)));
    // a pass has one reason, which is what the line above says
    for reason in mark.reasons.iter().filter(|_| mark.outcome != Outcome::Reached) {
        ui.label(RichText::new(reason).font(regular(13.0)));
    }
    ui.label(remark(ui, DECIDES));
    ui.add_space(4.0);
    ui.label(heading(said("debrief-truth")));
    ui.label(RichText::new(crate::language::named(&mark.truth.0)).font(semibold(14.0)).color(t.accent));
    if mark.truth.1 != mark.truth.0 {
        ui.label(RichText::new(&mark.truth.1).font(regular(13.5)));
    }
    if let Some((label, sure)) = &mark.submitted {
        let justified = mark.justified_in_finding.map_or(String::new(), |(p, se)| {
            let (justified, error) = (format!("{:.0}", p * 100.0), format!("{:.0}", se * 100.0));
            // an error of less than a half isn't zero: it is left unsaid
            if error == "0" {
                tell!("debrief-justified-plain", justified = justified)
            } else {
                tell!("debrief-justified", justified = justified, error = error)
            }
        });
        ui.label(quiet(ui, tell!("debrief-you-said", label = label, sure = sure, justified = justified)));
        if let Some(words) = mark.counted_words() {
            ui.label(quiet(ui, words));
        }
    } else {
        ui.label(quiet(ui, said("finding-none")));
    }
    ui.add_space(4.0);
    components_ui(mark, ui);
    ledger_ui(mark, here, ui, intents);
    worth::worth_ui(mark, way, here, ui, intents);
    think_ui(mark, ui);
    if !mark.seen_not_recorded.is_empty() {
        ui.add_space(4.0);
        ui.label(heading(said("debrief-seen-unrecorded")));
        for words in &mark.seen_not_recorded {
            ui.label(quiet(ui, words.as_str()));
        }
    }
}

/// What earns no points: points and predictions held against what came, the contrasting case.
fn think_ui(mark: &Mark, ui: &mut Ui) {
    let contrast = mark.contrast_words();
    let mut told = mark.thoughts();
    told.extend(contrast.as_deref());
    if told.is_empty() {
        return;
    }
    ui.add_space(4.0);
    ui.label(heading(said("debrief-think-over")));
    ui.label(quiet(ui, said("debrief-no-points")));
    for sentence in told {
        widgets::listed_ui(sentence, ui);
    }
}

fn components_ui(mark: &Mark, ui: &mut Ui) {
    let t = tokens(ui);
    let width = ui.available_width();
    let title_width = widgets::widest(ui, mark.components.iter().map(|c| c.component.title()), &regular(13.5));
    let rows: Vec<(String, String)> = (mark.components.iter())
        .map(|c| (number(c.share * c.weight, 1), tell!("debrief-component", weight = number(c.weight, 0))))
        .collect();
    let points_width = widgets::widest(ui, rows.iter().map(|r| r.0.as_str()), &bold_figures(13.5));
    let of_width = widgets::widest(ui, rows.iter().map(|r| r.1.as_str()), &regular(12.5));
    for (component, (points, of)) in mark.components.iter().zip(rows) {
        let (rect, response) = ui.allocate_exact_size(vec2(width, 24.0), Sense::hover());
        let title = component.component.title();
        let weight = number(component.weight, 0);
        let aloud = tell!("debrief-component-said", title = title, points = points, weight = weight);
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, &aloud));
        let painter = ui.painter();
        painter.text(rect.left_center(), Align2::LEFT_CENTER, title, regular(13.5), t.ink);
        let of_left = rect.right() - of_width;
        painter.text(pos2(of_left, rect.center().y), Align2::LEFT_CENTER, of, regular(12.5), t.second_ink);
        let end = pos2(of_left - 5.0, rect.center().y);
        painter.text(end, Align2::RIGHT_CENTER, points, bold_figures(13.5), t.ink);
        // the bar takes what words and numbers leave; where that is next to nothing, the numbers say it
        let right = end.x - points_width - 12.0;
        let left = (rect.left() + title_width + 16.0).max(right - 220.0);
        if right - left < 40.0 {
            continue;
        }
        let bar = Rect::from_x_y_ranges(left..=right, end.y - 4.0..=end.y + 4.0);
        painter.rect_filled(bar, 2, t.rule);
        let earned = bar.with_max_x(left + bar.width() * component.share.clamp(0.0, 1.0) as f32);
        painter.rect_filled(earned, 2, t.accent);
    }
}

fn ledger_ui(mark: &Mark, here: Option<Micros>, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ui.add_space(4.0);
    ui.label(heading(said("debrief-why")));
    ui.label(quiet(ui, said("debrief-choose-moment")));
    let columns = Columns::of(mark, ui);
    for line in &mark.ledger {
        let on = here.is_some_and(|at| line.window.0 <= at && at <= line.window.1);
        if ledger_line_ui(line, on, &columns, ui) {
            intents.push(Intent::ChartTo(line.window.1));
        }
    }
}

/// Where the columns of the ledger end, from its left edge: points at the right of theirs, sentences behind them.
struct Columns {
    points: f32,
    sentence: f32,
}

impl Columns {
    /// As wide as the longest time and the longest points ask: a sitting of hours has longer times than one of minutes.
    fn of(mark: &Mark, ui: &Ui) -> Self {
        let times: Vec<String> = mark.ledger.iter().map(|l| short_clock(l.window.1)).collect();
        let points: Vec<String> = mark.ledger.iter().map(points_of).collect();
        let wide = |all: &[String], font| widgets::widest(ui, all.iter().map(String::as_str), font).ceil();
        let points = 2.0 + wide(&times, &figures(12.0)) + 10.0 + wide(&points, &bold_figures(13.0));
        Self { points, sentence: points + 10.0 }
    }
}

/// What a line earned or cost, with its sign.
fn points_of(line: &LedgerLine) -> String {
    let sign = if line.hundredths > 0 { "+" } else { "" };
    format!("{sign}{}", number(line.hundredths as f64 / 100.0, 2))
}

fn ledger_line_ui(line: &LedgerLine, on: bool, columns: &Columns, ui: &mut Ui) -> bool {
    let t = tokens(ui);
    let width = ui.available_width();
    let room = width - columns.sentence - 2.0;
    let galley = ui.painter().layout(line.sentence.clone(), regular(13.0), t.ink, room);
    let (rect, response) = ui.allocate_exact_size(vec2(width, (galley.size().y + 12.0).max(32.0)), Sense::click());
    let points = points_of(line);
    let at = short_clock(line.window.1);
    response.widget_info(|| {
        WidgetInfo::labeled(WidgetType::Button, true, format!("{at}, {points}: {}", line.sentence))
    });
    let painter = ui.painter();
    if on || response.hovered() {
        painter.rect_filled(rect, 2, t.highlight);
    }
    if on {
        // the line is about the moment that is picked on the chart
        painter.vline(rect.left() - 3.0, rect.y_range().shrink(4.0), Stroke::new(2.0, t.third_pen));
    }
    let top = rect.top() + 6.0;
    painter.text(pos2(rect.left() + 2.0, top), Align2::LEFT_TOP, at, figures(12.0), t.second_ink);
    let colour = if line.hundredths < 0 { t.critical } else { t.accent };
    painter.text(pos2(rect.left() + columns.points, top), Align2::RIGHT_TOP, points, bold_figures(13.0), colour);
    painter.galley(pos2(rect.left() + columns.sentence, top - 1.0), galley, t.ink);
    painter.hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, t.rule));
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    response.clicked()
}
