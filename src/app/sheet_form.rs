//! The form of the test sheet: the half-written line, and the three things it can write.

use bevy_egui::egui::{self, ComboBox, Ui};

use super::bridge::Intent;
use super::dividers::Slip;
use super::sheet_fields as fields;
use super::sheet_measured::TestForm;
use super::test_sheet::SheetView;
use super::theme::{quiet, remark};
use super::widgets::{self, Weight};
use super::words::{fine_clock, number, range_in, read_number};
use crate::bay::action::{Action, Micros, Perceived, Prediction, Reading, State, Verdict};
use crate::bay::observation::{EngineRun, Observation, SheetLine};
use crate::bay::words::seen_words;
use crate::language::{named, said};
use crate::scenario::model::Job;
use crate::tell;
use crate::units::PressureUnit;

/// What the form writes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Entry {
    /// A pressure.
    #[default]
    Reading,
    /// What a test of another quantity showed.
    Test,
    /// Something perceived.
    Seen,
    /// An expectation.
    Prediction,
}

/// The half-written line.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetForm {
    /// What is being written.
    pub entry: Entry,
    /// State.
    pub state: State,
    /// Somebody chose that state: it stays until the line is written.
    pub chosen: bool,
    /// The engine has run.
    pub has_run: bool,
    /// Value as typed.
    pub value: String,
    /// Unit; none: not chosen.
    pub unit: Option<PressureUnit>,
    /// Verdict.
    pub verdict: Option<Verdict>,
    /// Source of the limit.
    pub source: String,
    /// Remark.
    pub remark: String,
    /// Window on the trace, from the dividers.
    pub window: Option<(Micros, Micros)>,
    /// Line that was pressed last, from 1.
    pub picked: Option<usize>,
    /// Line being corrected, from 1.
    pub correcting: Option<usize>,
    /// What is noted.
    pub perceived: Perceived,
    /// Under which candidate it is predicted; none: what I expect.
    pub candidate: Option<usize>,
    /// Lowest expected, as typed.
    pub low: String,
    /// Highest expected, as typed.
    pub high: String,
    /// The field of the value wants the cursor.
    pub wants_focus: bool,
    /// A test of another quantity.
    pub test: TestForm,
    /// Width at which the forms were drawn, and the height of the highest that was opened, points.
    pub tall: (f32, f32),
}

impl Default for SheetForm {
    fn default() -> Self {
        Self {
            entry: Entry::Reading,
            state: State::Rest,
            chosen: false,
            has_run: false,
            value: String::new(),
            unit: Some(PressureUnit::Mbar),
            verdict: None,
            source: String::new(),
            remark: String::new(),
            window: None,
            picked: None,
            correcting: None,
            perceived: Perceived::Glass,
            candidate: None,
            low: String::new(),
            high: String::new(),
            wants_focus: false,
            test: TestForm::default(),
            tall: (0.0, 0.0),
        }
    }
}

impl SheetForm {
    /// A line was written: the next one starts empty, in the next state of the standard run.
    pub fn written(&mut self) {
        if self.correcting.is_none() {
            let i = State::ALL.iter().position(|s| *s == self.state).unwrap_or(0);
            self.state = State::ALL[(i + 1).min(State::ALL.len() - 1)];
        }
        self.chosen = false;
        self.value.clear();
        self.remark.clear();
        self.verdict = None;
        self.window = None;
        self.correcting = None;
    }

    /// A prediction was written.
    pub fn predicted(&mut self) {
        self.chosen = false;
        self.low.clear();
        self.high.clear();
    }

    /// The state of the next line follows the vehicle, until somebody chooses one or begins to write. `idle` and `raised`
    /// are the engine's speeds, 1/min.
    pub fn follow(&mut self, seen: &Observation, (idle, raised): (f64, f64)) {
        let begun = self.chosen || !self.value.trim().is_empty() || self.window.is_some();
        if begun || self.correcting.is_some() || self.entry != Entry::Reading {
            return;
        }
        let shut = seen.tee.as_ref().is_some_and(|tee| tee.valve_open <= 0.0);
        self.state = match seen.engine {
            EngineRun::Cranking => State::Crank,
            EngineRun::Off | EngineRun::Stalled if self.has_run => State::Hold,
            EngineRun::Off | EngineRun::Stalled => State::Rest,
            _ if shut => State::DeadHead,
            _ if seen.load > 0.5 => State::Load,
            _ if seen.rpm > (idle + raised) / 2.0 => State::Raised,
            _ => State::Idle,
        };
    }

    /// The mean between the dividers' feet.
    pub fn take_slip(&mut self, slip: &Slip) {
        self.entry = Entry::Reading;
        self.value = number(slip.mean, 0);
        self.unit = Some(PressureUnit::Mbar);
        self.window = Some((slip.from, slip.to));
    }

    /// The reading, or why it isn't one yet.
    pub fn reading(&self) -> Result<Reading, &'static str> {
        let value = read_number(&self.value).ok_or(said("sheet-no-value"))?;
        let verdict = self.verdict.ok_or(said("sheet-no-verdict"))?;
        Ok(Reading {
            state: self.state,
            value,
            unit: self.unit,
            verdict,
            source: self.source.trim().to_owned(),
            window: self.window,
            remark: self.remark.trim().to_owned(),
        })
    }

    /// The prediction, or why it isn't one yet.
    pub fn prediction(&self, job: &Job) -> Result<Prediction, &'static str> {
        let low = read_number(&self.low).ok_or(said("sheet-no-low"))?;
        let high = read_number(&self.high).ok_or(said("sheet-no-high"))?;
        if low > high {
            return Err(said("sheet-low-above-high"));
        }
        let candidate = self.candidate.and_then(|i| job.candidates.get(i)).map(|c| c.name.clone());
        Ok(Prediction { state: self.state, candidate, low_mbar: low, high_mbar: high })
    }

    /// Fills the form from a line, to correct it.
    pub(super) fn correct(&mut self, line: usize, from: &SheetLine, typed: Option<&Reading>) {
        let mut parts = from.entry.split_whitespace();
        self.entry = Entry::Reading;
        self.correcting = Some(line);
        self.state = from.state.unwrap_or(self.state);
        self.value = parts.next().unwrap_or_default().replace('-', "\u{2212}");
        self.unit = parts.next().and_then(PressureUnit::from_symbol);
        self.verdict = from.verdict;
        self.source.clone_from(&from.source);
        self.remark.clone_from(&from.remark);
        self.window = Some(from.window);
        if let Some(typed) = typed {
            self.value = typed.value.to_string().replace('-', "\u{2212}");
            self.unit = typed.unit;
        }
        self.wants_focus = true;
    }
}

fn state_choice(form: &mut SheetForm, ui: &mut Ui) {
    let words: Vec<&str> = State::ALL.iter().map(|s| named(s.word())).collect();
    let now = State::ALL.iter().position(|s| *s == form.state);
    if let Some(i) = widgets::choice(ui, ui.available_width(), said("state"), &words, now) {
        form.state = State::ALL[i];
        form.chosen = true;
    }
}

pub(super) fn reading_form_ui(view: &SheetView<'_>, form: &mut SheetForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    state_choice(form, ui);
    ui.horizontal_wrapped(|ui| {
        let response = fields::value_ui(ui, &mut form.value, said("sheet-value"));
        if std::mem::take(&mut form.wants_focus) {
            response.request_focus();
        }
        fields::unit_ui(ui, said("sheet-unit"), &mut form.unit, PressureUnit::ALL, PressureUnit::symbol);
        let window = match form.window {
            Some((from, to)) => tell!("span-from-to", from = fine_clock(from), to = fine_clock(to)),
            None => said("sheet-last-second").to_owned(),
        };
        // whole in this row or whole in the next
        ui.add(egui::Label::new(quiet(ui, tell!("sheet-of-window", window = window))).extend());
        if form.window.is_some()
            && widgets::small_button(ui, said("sheet-now"), said("sheet-now-name"), true, "").clicked()
        {
            form.window = None;
        }
    });
    let limit = match (view.tee, view.limit(form.state)) {
        (None, _) => said("sheet-no-tee").to_owned(),
        (_, None) => said("sheet-no-limit").to_owned(),
        (_, Some(l)) => {
            let range = range_in(l.low_mbar, l.high_mbar, view.unit);
            tell!("sheet-limit", range = range, unit = view.unit.symbol(), words = l.words)
        }
    };
    ui.label(quiet(ui, limit));
    fields::judged_ui(ui, &mut form.verdict, &mut form.source, &mut form.remark);
    record_ui(view.tee.is_some(), form, ui, intents);
}

/// Without a tee there is nothing to be read; a line that stands can be corrected all the same.
fn record_ui(has_tee: bool, form: &mut SheetForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let correcting = form.correcting;
    let text = correcting.map_or(said("sheet-record").to_owned(), |line| tell!("sheet-correct", line = line));
    let mut left = false;
    let entry = if has_tee || correcting.is_some() { form.reading() } else { Err(said("sheet-tee-first")) };
    let reading = fields::write_ui(ui, &text, entry, |ui| {
        left =
            correcting.is_some() && widgets::button(ui, Weight::Plain, said("sheet-leave"), "", true, "").clicked();
    });
    if let Some(reading) = reading {
        intents.push(Intent::Do(match correcting {
            Some(line) => Action::Amend { line, reading },
            None => Action::Record { reading },
        }));
    }
    if left {
        form.written();
    }
}

pub(super) fn seen_form_ui(form: &mut SheetForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let width = ui.available_width();
    let all = [
        Perceived::Glass,
        Perceived::Primer,
        Perceived::Cap,
        Perceived::Engine,
        Perceived::Sample,
        Perceived::Pump,
    ];
    let now = all.iter().position(|p| *p == form.perceived);
    let names = [
        said("sight-glass"),
        said("sheet-primer"),
        said("filler-cap"),
        said("engine"),
        said("sheet-sample"),
        said("sheet-electric-pump"),
    ];
    if let Some(i) = widgets::choice(ui, width, said("sheet-seen-at"), &names, now) {
        form.perceived = all[i];
    }
    let words = seen_words(form.perceived);
    ui.label(quiet(ui, said("sheet-press-word")));
    if let Some(i) = widgets::choice(ui, width, said("sheet-write-down"), &words, None) {
        intents.push(Intent::Do(Action::Note { what: form.perceived, seen: words[i].to_owned() }));
    }
}

pub(super) fn prediction_form_ui(
    view: &SheetView<'_>,
    form: &mut SheetForm,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    state_choice(form, ui);
    ui.horizontal(|ui| {
        ui.label(quiet(ui, said("sheet-if-it-is")));
        let label = |i: Option<usize>| {
            i.and_then(|i| view.job.candidates.get(i)).map_or(said("sheet-what-i-expect"), |c| named(&c.label))
        };
        let shown = label(form.candidate);
        let combo =
            ComboBox::from_id_salt("under").width(ui.available_width()).selected_text(shown).show_ui(ui, |ui| {
                widgets::option(ui, &mut form.candidate, None, label(None));
                for i in 0..view.job.candidates.len() {
                    widgets::option(ui, &mut form.candidate, Some(i), label(Some(i)));
                }
            });
        widgets::list_named(&combo.response, &tell!("sheet-predict-under", shown = shown));
    });
    ui.horizontal(|ui| {
        widgets::text_field(ui, &mut form.low, said("sheet-lowest"), "", 92.0);
        widgets::text_field(ui, &mut form.high, said("sheet-highest"), "", 92.0);
    });
    if let Some(prediction) =
        fields::write_ui(ui, said("sheet-write-prediction"), form.prediction(view.job), |_| ())
    {
        intents.push(Intent::Do(Action::Predict { prediction }));
    }
    ui.label(remark(ui, said("sheet-predict-all")));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_needs_a_number_and_a_verdict_but_not_a_unit() {
        let mut form = SheetForm { unit: None, ..Default::default() };
        assert_eq!(form.reading(), Err("the value isn't a number yet"));
        form.value = "\u{2212}118".to_owned();
        assert_eq!(form.reading(), Err("no verdict is chosen"));
        form.verdict = Some(Verdict::Within);
        let reading = form.reading().unwrap();
        assert_eq!((reading.value, reading.unit), (-118.0, None));
    }

    #[test]
    fn the_next_line_is_the_next_state_of_the_run() {
        let mut form = SheetForm { state: State::Idle, value: "5".into(), ..Default::default() };
        form.written();
        assert_eq!((form.state, form.value.as_str()), (State::Raised, ""));
        form.state = State::Hold;
        form.written();
        assert_eq!(form.state, State::Hold);
    }

    #[test]
    fn the_state_follows_the_vehicle_until_somebody_chooses_or_writes() {
        use crate::bay::observation::Tee;
        let speeds = (800.0, 2500.0);
        let seen = |engine, rpm| Observation { engine, rpm, ..Observation::default() };
        let mut form = SheetForm { has_run: true, ..SheetForm::default() };
        let follows = |form: &mut SheetForm, seen: &Observation| {
            form.follow(seen, speeds);
            form.state
        };
        assert_eq!(follows(&mut form, &seen(EngineRun::Off, 0.0)), State::Hold);
        assert_eq!(follows(&mut SheetForm::default(), &seen(EngineRun::Off, 0.0)), State::Rest);
        assert_eq!(follows(&mut form, &seen(EngineRun::Cranking, 220.0)), State::Crank);
        assert_eq!(follows(&mut form, &seen(EngineRun::Steady, 805.0)), State::Idle);
        assert_eq!(follows(&mut form, &seen(EngineRun::Uneven, 2430.0)), State::Raised);
        let tee = Some(Tee { joint: "filter in".into(), valve_open: 0.0, purged_at: None });
        let mut shut = seen(EngineRun::Steady, 805.0);
        shut.tee = tee;
        assert_eq!(follows(&mut form, &shut), State::DeadHead);
        form.value = "-5".into();
        assert_eq!(follows(&mut form, &seen(EngineRun::Off, 0.0)), State::DeadHead, "what was begun stays");
        form.value.clear();
        (form.state, form.chosen) = (State::Load, true);
        assert_eq!(follows(&mut form, &seen(EngineRun::Off, 0.0)), State::Load);
        form.written();
        assert_eq!(follows(&mut form, &seen(EngineRun::Off, 0.0)), State::Hold);
    }

    #[test]
    fn a_correction_starts_from_what_was_written() {
        let line = SheetLine {
            at: 9,
            subject: "idle".into(),
            state: Some(State::Idle),
            entry: "-0.118 bar".into(),
            verdict: Some(Verdict::Outside),
            source: "vehicle card".into(),
            remark: String::new(),
            window: (3, 4),
        };
        let mut form = SheetForm::default();
        form.correct(2, &line, None);
        assert_eq!(form.correcting, Some(2));
        let reading = form.reading().unwrap();
        assert_eq!((reading.value, reading.unit), (-0.118, Some(PressureUnit::Bar)));
        assert_eq!(reading.window, Some((3, 4)));
    }
}
