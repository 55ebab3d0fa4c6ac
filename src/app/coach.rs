//! The coach, while practising and on request: what each candidate could show at a joint in a state, as a range over
//! the reference vehicles, and the hints of the job. Never which candidate it is.

use std::sync::Arc;

use bevy_egui::egui::{
    Align2, ComboBox, Rect, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

use super::bridge::Intent;
use super::sitting::Watched;
use super::task::Task;
use super::theme::{figures, heading, quiet, regular, remark, tokens};
use super::tokens::Tokens;
use super::widgets::{self, Weight};
use super::words::{TRAINING_VALUES, number, pressure, range_in};
use crate::bay::action::{Action, Reading, State};
use crate::diagnosis::expected::{Expected, Range};
use crate::diagnosis::survey::Leg;
use crate::language::{named, said};
use crate::scenario::model::{Job, Mode};
use crate::tell;
use crate::units::PressureUnit;

/// What tells the ranges of a job: slow, so it runs on a thread of its own.
pub type Coach = Arc<dyn Fn(&Job, &Watched) -> Result<Expected, String> + Send + Sync>;

/// What tells the cheapest way for a candidate, after hand-back.
pub type Guide = Arc<dyn Fn(&Job, usize, &Watched) -> Result<Vec<Leg>, String> + Send + Sync>;

/// What the coach remembers.
pub struct CoachState {
    /// The page is open.
    pub open: bool,
    /// Joint that is asked about; none: where the tee sits.
    pub joint: Option<String>,
    /// State that is asked about.
    pub state: State,
    /// Under way.
    pub task: Option<Task<Expected>>,
    /// The answer.
    pub known: Option<Expected>,
    /// Why there is none.
    pub trouble: Option<String>,
}

impl Default for CoachState {
    fn default() -> Self {
        Self { open: false, joint: None, state: State::Idle, task: None, known: None, trouble: None }
    }
}

impl CoachState {
    /// Starts the work unless it is done or under way.
    pub fn ask(&mut self, job: &Job, coach: Option<Coach>) {
        if self.known.is_some() || self.task.is_some() {
            return;
        }
        self.trouble = None;
        match coach {
            Some(coach) => {
                let job = job.clone();
                self.task = Some(Task::start(0, move |watched| coach(&job, watched)));
            }
            None => self.trouble = Some(said("coach-no-vehicles").to_owned()),
        }
    }

    /// Stops the work.
    pub fn leave(&mut self) {
        self.task = None;
    }

    /// Takes the answer when it is there.
    pub fn poll(&mut self) {
        let Some(answer) = self.task.as_ref().and_then(Task::poll) else { return };
        self.task = None;
        match answer {
            Ok(expected) => self.known = Some(expected),
            Err(why) => self.trouble = Some(why),
        }
    }
}

/// A row of the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The candidate.
    pub label: String,
    /// Where eight in ten of its vehicles lie, and half of them below, mbar; none: it couldn't be simulated.
    pub range: Option<Range>,
}

/// What the page shows of a joint in a state.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// A row for every candidate.
    pub rows: Vec<Row>,
    /// The range of the vehicle card, mbar.
    pub healthy: Option<(f64, f64)>,
    /// What the learner wrote there last, mbar.
    pub written: Option<f64>,
    /// Ends of the scale, mbar.
    pub scale: (f64, f64),
}

impl View {
    /// For a joint and a state; `written` are the readings of the sheet with the joints where they were taken. None
    /// where the run doesn't read it.
    pub fn of(
        job: &Job,
        expected: &Expected,
        joint: &str,
        state: State,
        written: &[(Option<&str>, &Reading)],
    ) -> Option<Self> {
        let place = expected.at(joint, state)?;
        let rows: Vec<Row> = job
            .candidates
            .iter()
            .enumerate()
            .map(|(i, c)| Row {
                label: named(&c.label).to_owned(),
                range: place.ranges.iter().find(|r| r.candidate == i).copied(),
            })
            .collect();
        let healthy = job.limit(joint, state).map(|l| (l.low_mbar, l.high_mbar));
        let here = written.iter().rev().find(|(at, reading)| *at == Some(joint) && reading.state == state);
        let written = here.map(|(_, r)| r.value * r.unit.unwrap_or(PressureUnit::Mbar).pascal() / 100.0);
        let mut ends = (-20.0_f64, 20.0_f64);
        for v in rows.iter().filter_map(|r| r.range).flat_map(|r| [r.low, r.high]).chain(written) {
            ends = (ends.0.min(v), ends.1.max(v));
        }
        // a limit at the end of what can be read is no limit: only its nearer end asks for room
        let most = 1.3 * ends.0.abs().max(ends.1);
        for v in healthy.into_iter().flat_map(|(a, b)| [a, b]).filter(|v| v.abs() < most) {
            ends = (ends.0.min(v), ends.1.max(v));
        }
        let room = 0.05 * (ends.1 - ends.0);
        Some(Self { rows, healthy, written, scale: (ends.0 - room, ends.1 + room) })
    }

    /// A row in words.
    pub fn words(&self, row: &Row, unit: PressureUnit) -> String {
        match row.range {
            None => tell!("coach-not-simulated", label = row.label),
            Some(r) => tell!(
                "coach-row-said",
                label = row.label,
                low = pressure(r.low, unit),
                high = pressure(r.high, unit),
                unit = unit.symbol(),
                middle = pressure(r.middle, unit)
            ),
        }
    }
}

/// The line that asks the coach; nothing in an assessment.
pub fn ask_ui(job: &Job, over: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    if job.mode != Mode::Practice || over {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        ui.label(quiet(ui, said("coach-label")));
        let name = said("coach-ask-name");
        if widgets::small_button(ui, said("coach-ask"), name, true, "").on_hover_text(name).clicked() {
            intents.push(Intent::Coach(true));
        }
        for level in 1..=3_u8 {
            let what = [said("coach-how-to-compare"), said("coach-where-to-look"), said("coach-what-to-test")]
                [usize::from(level) - 1];
            let cost = job.rubric.hints[usize::from(level) - 1];
            let name = tell!("coach-hint-name", level = level, what = what, points = number(cost, 0));
            if widgets::small_button(ui, &tell!("coach-hint", level = level), &name, true, "")
                .on_hover_text(&name)
                .clicked()
            {
                intents.push(Intent::Do(Action::Hint { level }));
            }
        }
    });
}

/// The page of the coach, in the place of the rails.
pub fn coach_ui(
    job: &Job,
    state: &mut CoachState,
    tee: Option<&str>,
    written: &[(Option<&str>, &Reading)],
    unit: PressureUnit,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    widgets::scrolled(ui, "coach", f32::INFINITY, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.label(heading(said("coach-title")));
            if widgets::small_button(ui, said("coach-back"), said("coach-back-name"), true, "").clicked() {
                intents.push(Intent::Coach(false));
            }
        });
        if let Some(task) = &state.task {
            let share = task.share();
            ui.label(said("coach-driven"));
            let aloud = tell!("coach-share", share = format!("{:.0}", share * 100.0));
            widgets::progress(ui, share, &aloud);
            ui.label(quiet(ui, tell!("coach-meanwhile", said = aloud)));
            if widgets::button(ui, Weight::Plain, said("fair-stop"), said("coach-stop-name"), true, "").clicked() {
                intents.push(Intent::Coach(false));
            }
            return;
        }
        if let Some(why) = &state.trouble {
            ui.label(why);
        }
        if state.known.is_some() {
            ranges_ui(job, state, tee, written, unit, ui);
        }
    });
}

fn ranges_ui(
    job: &Job,
    state: &mut CoachState,
    tee: Option<&str>,
    written: &[(Option<&str>, &Reading)],
    unit: PressureUnit,
    ui: &mut Ui,
) {
    let first = job.joints.first().map_or("", |(name, _)| name.as_str());
    let joint = state.joint.clone().unwrap_or_else(|| tee.unwrap_or(first).to_owned());
    let label = |name: &str| {
        job.joints.iter().find(|(n, _)| n == name).map_or(name.to_owned(), |(_, l)| named(l).to_owned())
    };
    let shown = label(&joint);
    ui.horizontal_wrapped(|ui| {
        ui.label(quiet(ui, said("coach-at")));
        let combo = ComboBox::from_id_salt("coach joint").width(190.0).selected_text(&shown).show_ui(ui, |ui| {
            for (name, label) in &job.joints {
                widgets::option(ui, &mut state.joint, Some(name.clone()), named(label));
            }
        });
        widgets::list_named(&combo.response, &tell!("coach-joint-name", shown = shown));
    });
    let words: Vec<&str> = State::ALL.iter().map(|s| named(s.word())).collect();
    let now = State::ALL.iter().position(|s| *s == state.state);
    if let Some(i) = widgets::choice(ui, ui.available_width(), said("coach-state-name"), &words, now) {
        state.state = State::ALL[i];
    }
    let Some(expected) = &state.known else { return };
    let Some(view) = View::of(job, expected, &joint, state.state, written) else {
        ui.label(said("coach-not-read"));
        return;
    };
    let healthy = match view.healthy {
        Some((low, high)) => {
            // a range isn't torn at the end of a row
            let range = range_in(low, high, unit).replace(' ', "\u{a0}");
            tell!("coach-shaded", range = range, unit = unit.symbol())
        }
        None => said("coach-no-range").to_owned(),
    };
    let own = if view.written.is_some() { said("coach-dashed") } else { "" };
    ui.label(quiet(ui, tell!("coach-legend", healthy = healthy, own = own)));
    axis_ui(&view, unit, ui);
    for row in &view.rows {
        row_ui(row, &view, unit, ui);
    }
    ui.label(remark(ui, said("coach-overlap")));
    ui.label(remark(ui, TRAINING_VALUES));
}

/// Share of the width that names take.
const NAMES: f32 = 0.42;

fn field(rect: Rect) -> Rect {
    rect.with_min_x(rect.left() + rect.width() * NAMES + 8.0)
}

fn x_of(field: Rect, (low, high): (f64, f64), mbar: f64) -> f32 {
    let share = ((mbar - low) / (high - low)).clamp(0.0, 1.0);
    field.left() + field.width() * share as f32
}

/// The scale over the rows: its ends, and zero where there is room between.
fn axis_ui(view: &View, unit: PressureUnit, ui: &mut Ui) {
    let t = tokens(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 18.0), Sense::hover());
    let field = field(rect);
    let text = |x: f32, align: Align2, mbar: f64| {
        let words = pressure(mbar, unit);
        ui.painter().text(pos2(x, rect.center().y), align, words, figures(11.5), t.second_ink)
    };
    let left = text(field.left(), Align2::LEFT_CENTER, view.scale.0);
    let right = text(field.right(), Align2::RIGHT_CENTER, view.scale.1);
    let zero = x_of(field, view.scale, 0.0);
    if zero - left.right() > 14.0 && right.left() - zero > 14.0 {
        text(zero, Align2::CENTER_CENTER, 0.0);
    }
    let at = pos2(rect.left(), rect.center().y);
    ui.painter().text(at, Align2::LEFT_CENTER, unit.symbol(), regular(11.5), t.second_ink);
}

fn row_ui(row: &Row, view: &View, unit: PressureUnit, ui: &mut Ui) {
    let t = tokens(ui);
    let width = ui.available_width();
    let name = ui.painter().layout(row.label.clone(), regular(13.0), t.ink, width * NAMES);
    let (rect, response) = ui.allocate_exact_size(vec2(width, name.size().y.max(22.0) + 16.0), Sense::hover());
    let aloud = view.words(row, unit);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, &aloud));
    let painter = ui.painter();
    let field = field(rect);
    painter.rect_filled(field, 0, t.chart);
    if let Some((low, high)) = view.healthy {
        let band =
            Rect::from_x_y_ranges(x_of(field, view.scale, low)..=x_of(field, view.scale, high), field.y_range());
        painter.rect_filled(band, 0, t.highlight);
    }
    painter.vline(x_of(field, view.scale, 0.0), field.y_range(), Stroke::new(1.0, t.strong_grid));
    if let Some(range) = row.range {
        bar(range, view, field.with_max_y(field.bottom() - 14.0), t, ui);
    }
    if let Some(written) = view.written {
        let x = x_of(field, view.scale, written);
        let line = [pos2(x, field.top()), pos2(x, field.bottom())];
        painter.extend(Shape::dashed_line(&line, Stroke::new(1.6, t.second_pen), 4.0, 3.0));
    }
    painter.galley(rect.left_center() - vec2(0.0, name.size().y / 2.0), name, t.ink);
    if let Some(range) = row.range {
        let words = range_in(range.low, range.high, unit);
        painter.text(
            field.right_bottom() - vec2(3.0, 1.0),
            Align2::RIGHT_BOTTOM,
            words,
            figures(11.0),
            t.second_ink,
        );
    }
    painter.hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, t.rule));
    response.on_hover_text(aloud);
}

/// Eight in ten as a bar that is never narrower than can be seen, the middle one as a tick.
fn bar(range: Range, view: &View, field: Rect, t: &Tokens, ui: &Ui) {
    let [low, middle, high] = [range.low, range.middle, range.high].map(|v| x_of(field, view.scale, v));
    let wide = (high - low).max(3.0);
    let at = Rect::from_center_size(pos2((low + high) / 2.0, field.center().y), vec2(wide, 10.0));
    ui.painter().rect(at, 2, t.accent.gamma_multiply(0.35), Stroke::new(1.4, t.accent), StrokeKind::Inside);
    ui.painter().vline(middle, at.y_range().expand(3.0), Stroke::new(2.0, t.accent));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::action::Verdict;
    use crate::diagnosis::expected::Place;
    use crate::scenario::{Library, load_job};

    fn job() -> Job {
        match load_job(&Library::builtin(), "bypass-puff") {
            Ok((job, _)) => job,
            Err(_) => panic!("the built-in job loads"),
        }
    }

    fn expected(job: &Job) -> Expected {
        let range =
            |candidate: usize| Range { candidate, low: -300.0 - candidate as f64, middle: -200.0, high: -100.0 };
        let joint = job.joints[0].0.clone();
        Expected { places: vec![Place { joint, state: State::Idle, ranges: vec![range(0), range(2)] }] }
    }

    #[test]
    fn every_candidate_has_a_row_and_none_is_marked_as_the_true_one() {
        let job = job();
        let all = expected(&job);
        let view = View::of(&job, &all, &job.joints[0].0, State::Idle, &[]).unwrap();
        assert_eq!(view.rows.len(), job.candidates.len());
        assert!(view.rows[1].range.is_none() && view.rows[2].range.is_some());
        assert!(
            view.words(&view.rows[0], PressureUnit::Mbar).ends_with("−300 to −100 mbar, half of them below −200")
        );
        assert!(view.words(&view.rows[1], PressureUnit::Mbar).ends_with("couldn't be simulated here"));
        assert!(view.scale.0 < -302.0 && view.scale.1 > 0.0);
        assert_eq!(View::of(&job, &all, &job.joints[0].0, State::Hold, &[]), None);
    }

    #[test]
    fn the_last_reading_of_this_place_and_state_is_shown_in_mbar() {
        let job = job();
        let joint = job.joints[0].0.as_str();
        let reading = |value: f64, unit, state| Reading {
            state,
            value,
            unit,
            verdict: Verdict::Within,
            source: String::new(),
            window: None,
            remark: String::new(),
        };
        let first = reading(-50.0, None, State::Idle);
        let here = reading(-0.12, Some(PressureUnit::Bar), State::Idle);
        let other = reading(-500.0, None, State::Raised);
        let written = [(Some(joint), &first), (Some(joint), &here), (Some(joint), &other), (None, &other)];
        let view = View::of(&job, &expected(&job), joint, State::Idle, &written).unwrap();
        assert!((view.written.unwrap() + 120.0).abs() < 1e-9);
    }

    #[test]
    fn work_that_is_left_is_stopped_and_can_be_asked_for_again() {
        let job = job();
        let mut state = CoachState::default();
        let slow: Coach = Arc::new(|_, watched| {
            use crate::diagnosis::ensemble::Watch;
            while !watched.cancelled() {
                std::thread::yield_now();
            }
            Err("cancelled".to_owned())
        });
        state.ask(&job, Some(slow));
        state.poll();
        assert!(state.task.is_some() && state.known.is_none());
        state.leave();
        let quick: Coach = Arc::new(|_, _| Ok(Expected::default()));
        state.ask(&job, Some(quick));
        while state.task.is_some() {
            state.poll();
        }
        assert_eq!(state.known, Some(Expected::default()));
        state.ask(&job, None);
        assert_eq!(state.trouble, None, "what is known isn't asked for again");
    }
}
