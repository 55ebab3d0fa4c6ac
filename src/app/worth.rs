//! What each stretch of work was worth, beside the best test that could have been made then: the learner's way and the
//! cheapest one, side by side.

use bevy_egui::egui::{Align2, Painter, Rect, Sense, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2};

use super::bridge::Intent;
use super::coach::Guide;
use super::task::Task;
use super::theme::{figures, heading, quiet, regular, semibold, tokens};
use super::tokens::Tokens;
use super::widgets;
use super::words::{number, short_clock};
use crate::bay::action::Micros;
use crate::diagnosis::survey::Leg;
use crate::language::said;
use crate::marking::model::{Mark, Move};
use crate::scenario::model::Job;
use crate::tell;

/// The cheapest way to this vehicle's kind of fault: worked out on a thread of its own once there is a mark.
#[derive(Default)]
pub struct WayState {
    /// Under way.
    pub task: Option<Task<Vec<Leg>>>,
    /// Known.
    pub known: Vec<Leg>,
}

impl WayState {
    /// Starts the work for what it was, when somebody can be asked.
    pub fn ask(&mut self, job: &Job, mark: &Mark, guide: Option<Guide>) {
        let Some(candidate) = job.candidates.iter().position(|c| c.label == mark.truth.0) else { return };
        let (Some(guide), job) = (guide, job.clone()) else { return };
        self.task = Some(Task::start(0, move |watched| guide(&job, candidate, watched)));
    }

    /// Takes the answer when it is there. Without one the debrief does without the list.
    pub fn poll(&mut self) {
        if let Some(answer) = self.task.as_ref().and_then(Task::poll) {
            self.task = None;
            self.known = answer.unwrap_or_default();
        }
    }
}

/// One stretch of work beside the best test then.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    /// When it began and ended.
    pub window: (Micros, Micros),
    /// What was read.
    pub test: String,
    /// What it could be expected to tell, bits, and its minutes.
    pub own: (f64, f64),
    /// The best test then.
    pub best: String,
    /// What that could be expected to tell, bits, and its minutes.
    pub best_told: (f64, f64),
    /// The learner's test was the best one, or as good.
    pub as_good: bool,
}

impl Beside {
    fn of(m: &Move) -> Self {
        let rate = |bits: f64, minutes: f64| if minutes > 0.0 { bits / minutes } else { 0.0 };
        Self {
            window: m.window,
            test: m.test.clone(),
            own: (m.bits, m.minutes),
            best: m.best.clone(),
            best_told: (m.best_bits, m.best_minutes),
            as_good: m.wasted < 0.05
                || rate(m.bits + m.opened_bits, m.minutes) >= 0.95 * rate(m.best_bits, m.best_minutes),
        }
    }

    /// The row in words.
    pub fn words(&self) -> String {
        let told =
            |(bits, minutes): (f64, f64)| tell!("worth-bits", bits = number(bits, 2), minutes = number(minutes, 1));
        let beside = if self.as_good {
            said("worth-as-good").to_owned()
        } else {
            tell!("worth-best-then", test = self.best, told = told(self.best_told))
        };
        format!("{}: {}, {}; {beside}", short_clock(self.window.0), self.test, told(self.own))
    }
}

/// Every stretch of work of a mark that was judged.
pub fn beside(mark: &Mark) -> Vec<Beside> {
    mark.moves.iter().map(Beside::of).collect()
}

/// The minutes in a sentence.
pub fn minutes_words(mark: &Mark) -> String {
    let basis = &mark.basis;
    tell!(
        "worth-minutes",
        par = number(basis.par_minutes, 0),
        took = number(basis.net_minutes, 0),
        lost = number(basis.wasted_minutes, 0)
    )
}

/// Draws them; a row moves the chart to its time.
pub fn worth_ui(mark: &Mark, way: &WayState, here: Option<Micros>, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let rows = beside(mark);
    if rows.is_empty() {
        return;
    }
    ui.add_space(4.0);
    ui.label(heading(said("worth-title")));
    ui.label(quiet(ui, minutes_words(mark)));
    let times: Vec<String> = rows.iter().map(|r| short_clock(r.window.0)).collect();
    let left = widgets::widest(ui, times.iter().map(String::as_str), &figures(12.0)).ceil() + 18.0;
    let most = rows.iter().flat_map(|r| [r.own.0, r.best_told.0]).fold(0.1, f64::max);
    for row in &rows {
        let on = here.is_some_and(|at| (row.window.0..=row.window.1).contains(&at));
        if row_ui(row, (most, left), on, ui) {
            intents.push(Intent::ChartTo(row.window.1));
        }
    }
    ui.label(quiet(ui, said("worth-bars")));
    way_ui(way, ui, intents);
}

/// The cheapest way as a list, so that it can be laid beside one's own.
pub fn way_ui(way: &WayState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    if way.task.is_none() && way.known.is_empty() {
        return;
    }
    ui.add_space(4.0);
    ui.label(heading(said("worth-cheapest")));
    if let Some(task) = &way.task {
        let (leave, name) = (said("awaited-leave"), said("worth-leave-name"));
        if widgets::working_ui(ui, said("worth-working"), task.share(), leave, name) {
            intents.push(Intent::LeaveWay);
        }
        return;
    }
    let (t, width, mut sum) = (tokens(ui), ui.available_width(), 0.0);
    for (i, leg) in way.known.iter().enumerate() {
        sum += leg.minutes;
        let words = format!("{}  {}", i + 1, leg.test);
        let minutes = tell!("worth-leg-minutes", minutes = number(leg.minutes, 1), sum = number(sum, 1));
        let room = width - widgets::widest(ui, [minutes.as_str()], &figures(12.0)) - 14.0;
        let galley = ui.painter().layout(words.clone(), regular(13.0), t.ink, room);
        let (rect, response) = ui.allocate_exact_size(vec2(width, galley.size().y + 8.0), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, format!("{words}: {minutes}")));
        ui.painter().galley(rect.min + vec2(2.0, 4.0), galley, t.ink);
        let at = rect.right_top() + vec2(0.0, 4.0);
        ui.painter().text(at, Align2::RIGHT_TOP, minutes, figures(12.0), t.second_ink);
        ui.painter().hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, t.rule));
    }
    ui.label(quiet(ui, said("worth-rule")));
}

/// A row: `most` bits are a whole bar, and the tests begin `left` of where the row does, behind the longest time.
fn row_ui(row: &Beside, (most, left): (f64, f32), on: bool, ui: &mut Ui) -> bool {
    let t = tokens(ui);
    let width = ui.available_width();
    let text_width = width - left - 182.0;
    let lay = |text: &str, strong: bool| {
        let font = if strong { regular(13.0) } else { regular(12.5) };
        ui.painter().layout(text.to_owned(), font, if strong { t.ink } else { t.second_ink }, text_width)
    };
    let own = lay(&row.test, true);
    let best = lay(
        &if row.as_good { said("worth-as-good").to_owned() } else { tell!("worth-best", test = row.best) },
        false,
    );
    let first = own.size().y.max(17.0);
    let height = first + best.size().y.max(17.0) + 10.0;
    let (rect, response) = ui.allocate_exact_size(vec2(width, height.max(32.0)), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, row.words()));
    let painter = ui.painter();
    if on || response.hovered() {
        painter.rect_filled(rect, 2, t.highlight);
    }
    if on {
        painter.vline(rect.left() - 3.0, rect.y_range().shrink(4.0), Stroke::new(2.0, t.third_pen));
    }
    let top = rect.top() + 5.0;
    painter.text(
        pos2(rect.left() + 2.0, top),
        Align2::LEFT_TOP,
        short_clock(row.window.0),
        figures(12.0),
        t.second_ink,
    );
    let right = rect.right() - 4.0;
    bar(painter, pos2(right, top + 8.0), row.own, most, true, t);
    if !row.as_good {
        bar(painter, pos2(right, top + first + 8.0), row.best_told, most, false, t);
    }
    painter.galley(pos2(rect.left() + left, top), own, t.ink);
    painter.galley(pos2(rect.left() + left, top + first), best, t.second_ink);
    painter.hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, t.rule));
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    response.clicked()
}

/// A bar of bits with its number and minutes, ending at `right`: full for one's own, outlined for the best.
fn bar(painter: &Painter, right: bevy_egui::egui::Pos2, told: (f64, f64), most: f64, own: bool, t: &Tokens) {
    // less than a minute isn't none
    let minutes = format!("{} min", number(told.1, usize::from(told.1 < 1.0)));
    painter.text(right, Align2::RIGHT_CENTER, minutes, figures(12.0), t.second_ink);
    painter.text(pos2(right.x - 62.0, right.y), Align2::RIGHT_CENTER, number(told.0, 2), semibold(12.5), t.ink);
    let track = Rect::from_min_max(pos2(right.x - 172.0, right.y - 4.0), pos2(right.x - 98.0, right.y + 4.0));
    let mut full = track;
    full.set_width((track.width() * (told.0 / most).clamp(0.0, 1.0) as f32).max(1.0));
    if own {
        painter.rect_filled(full, 2, t.accent);
    } else {
        let line = Stroke::new(1.4, t.accent);
        painter.rect_stroke(full, 2, line, bevy_egui::egui::StrokeKind::Inside);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::action::SECOND;
    use crate::marking::model::Basis;

    fn mark() -> Mark {
        let m = |test: &str, bits: f64, wasted: f64| Move {
            window: (60 * SECOND, 90 * SECOND),
            test: test.into(),
            minutes: 4.0,
            bits,
            best: "the raised reading at the pump inlet".into(),
            best_bits: 0.6,
            best_minutes: 4.0,
            wasted,
            ..Move::default()
        };
        Mark {
            moves: vec![m("the idle reading at the filter inlet", 0.2, 2.7), m("the raised reading", 0.6, 0.0)],
            basis: Basis { par_minutes: 25.0, net_minutes: 51.0, wasted_minutes: 21.9, ..Basis::default() },
            ..Mark::default()
        }
    }

    #[test]
    fn each_row_says_what_was_told_and_what_could_have_been() {
        let words: Vec<String> = beside(&mark()).iter().map(Beside::words).collect();
        assert_eq!(
            words,
            [
                "01:00: the idle reading at the filter inlet, 0.20 × halved in 4.0 min; the best test then: the raised \
                 reading at the pump inlet, 0.60 × halved in 4.0 min",
                "01:00: the raised reading, 0.60 × halved in 4.0 min; as good as any test then",
            ]
        );
        let words = minutes_words(&mark());
        assert!(words.starts_with("Par is 25 min") && words.contains("You took 51, and lost 22"), "{words}");
    }
}
