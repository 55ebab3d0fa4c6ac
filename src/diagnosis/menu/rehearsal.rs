//! Every test of a job done once on a sound vehicle, for the times and the lines of the complete run.

use super::{
    BACK_AT_IDLE, HOLD, Kind, LOADED, LONG_HOLD, Menu, PRIMED, RAISED, REST, SEALS_CREDITS, SHUT, STROKES, Test,
    minutes,
};
use crate::bay::action::{
    Action, GaugeRange, Key, MINUTE, Micros, Perceived, Probe, Quantity, Reading, SECOND, SafetyStep, State,
    TestEntry, Verdict,
};
use crate::bay::observation::{Answer, EngineRun};
use crate::bay::{Bay, EvidenceKind};
use crate::diagnosis::ensemble::perceived_word;
use crate::fault::modifier::{Cause, Modifier};
use crate::language::said;
use crate::plant::Part;
use crate::plant::component::Component;
use crate::scenario::model::{FaultBand, Job};
use crate::tell;
use crate::units::{PressureUnit, Temperature};

/// Pressure on the card from which the suction transducer no longer reaches, mbar.
const BEYOND_SUCTION_MBAR: f64 = 2800.0;
/// Seconds for which a joint delivers, by an electric pump and by the starter; and the return runs.
const DELIVERED_S: [f64; 2] = [30.0, 15.0];
const RETURNED_S: f64 = 30.0;
/// Raised speed before the cap is opened, and after.
const FADED: Micros = 10 * MINUTE;
const RECOVERED: Micros = MINUTE;
/// Fuel colder than this may have plugged something that warmth opens, °C.
const FROST_C: f64 = 2.0;
/// Days warmer than this may boil fuel where the engine warms it too, °C.
const HEAT_C: f64 = 28.0;
/// Slope of the ramps in the test, degrees.
const SLOPE: f64 = 15.0;
/// Faults of the tank that a slope brings out or hides: fuel too low, pick-up split.
const TILTED: [&str; 2] = ["F01", "F04"];

/// What a line reads, so that two lines can be seen to read the same.
pub fn line_name(kind: &EvidenceKind, line: usize) -> String {
    match kind {
        EvidenceKind::Level { state, joint, .. } => format!("{} at {joint}", state.word()),
        // a word is no measurement: no two share an uncertainty
        EvidenceKind::Word { what, .. } => format!("{what:?} {line}"),
        EvidenceKind::Number { probe, .. } => format!("{} {probe:?}", probe.quantity().word()),
    }
}

/// What a line reads, for people.
pub fn line_words(kind: &EvidenceKind) -> String {
    match kind {
        EvidenceKind::Level { state, .. } => tell!("marking-reading-of", what = state.of_reading()),
        EvidenceKind::Word { what, .. } => perceived_word(*what).to_owned(),
        // two voltages of one test are told apart by their ends
        EvidenceKind::Number { probe: Probe::Volts { from, to }, .. } => {
            tell!("bay-meter-volts", from = from, to = to)
        }
        EvidenceKind::Number { probe, .. } => probe.quantity().reading().to_owned(),
    }
}

/// Does actions one after the other on a sound vehicle.
struct Scripter<'a> {
    job: &'a Job,
    bay: Bay,
    tests: Vec<Test>,
    joint: (String, String),
    /// When the test under way began.
    began: Micros,
}

impl Scripter<'_> {
    /// Does it, or finds that it can't be done here.
    fn act(&mut self, action: Action) -> bool {
        matches!(self.bay.act(&action), Answer::Done { .. })
    }

    fn wait(&mut self, span: Micros) {
        self.bay.advance_to(self.bay.now() + span);
    }

    fn begin(&mut self) {
        self.began = self.bay.now();
    }

    /// Opens a test; its minutes run from [`Self::begin`] to its last line.
    fn test(&mut self, kind: Kind, words: &str, at_tee: bool) {
        let (joint, words) = if at_tee {
            (self.joint.0.clone(), tell!("diagnosis-at-joint", words = words, joint = self.joint.1))
        } else {
            (String::new(), words.to_owned())
        };
        self.tests.push(Test { kind, joint, words, lines: vec![], own_minutes: 0.0, own_credits: 0.0 });
    }

    /// A line was written for the test under way.
    fn line(&mut self) {
        let (line, took) = (self.bay.evidence().len() - 1, minutes(self.bay.now() - self.began));
        if let Some(test) = self.tests.last_mut() {
            test.lines.push(line);
            test.own_minutes = took;
        }
    }

    /// A test of which nothing could be written is none.
    fn end(&mut self) {
        if self.tests.last().is_some_and(|t| t.lines.is_empty()) {
            self.tests.pop();
        }
    }

    fn record(&mut self, state: State) {
        let now = self.bay.now();
        self.record_over(state, (now.saturating_sub(SECOND), now));
    }

    fn record_over(&mut self, state: State, window: (Micros, Micros)) {
        let reading = Reading {
            state,
            value: 0.0,
            unit: Some(PressureUnit::Mbar),
            verdict: Verdict::NotProven,
            source: String::new(),
            window: Some(window),
            remark: String::new(),
        };
        if self.act(Action::Record { reading }) {
            self.line();
        }
    }

    fn read(&mut self, state: State) {
        self.test(Kind::State(state), &tell!("marking-reading-of", what = state.of_reading()), true);
        self.record(state);
    }

    fn note(&mut self, what: Perceived) {
        let Some(seen) = Bay::words_for(what).first().map(|w| (*w).to_owned()) else { return };
        if self.act(Action::Note { what, seen }) {
            self.line();
        }
    }

    /// Writes down what a quantity's last test showed.
    fn number(&mut self, quantity: Quantity) {
        let entry = TestEntry {
            quantity,
            value: 0.0,
            unit: Some(quantity.unit()),
            verdict: Verdict::NotProven,
            source: String::new(),
            remark: String::new(),
        };
        if self.act(Action::RecordTest { entry }) {
            self.line();
        }
    }

    fn measure(&mut self, probe: Probe) {
        let quantity = probe.quantity();
        if self.act(Action::Measure { probe }) {
            self.number(quantity);
        }
    }

    fn key(&mut self, to: Key) {
        self.act(Action::Key { to });
    }

    fn start(&mut self) {
        self.key(Key::On);
        self.act(Action::Crank { secs: 8.0 });
    }

    fn idle(&mut self) {
        self.act(Action::Speed { rpm: self.bay.idle_speed() });
        self.wait(BACK_AT_IDLE);
    }

    fn raised_rpm(&self) -> f64 {
        self.job.plant.engine().map_or(2500.0, |e| e.raised.si())
    }

    fn runs(&self) -> bool {
        matches!(self.bay.observe().engine, EngineRun::Steady | EngineRun::Uneven)
    }

    fn cooled(&mut self) {
        self.key(Key::Off);
        self.act(Action::MakeSafe { step: SafetyStep::PressureAway });
    }

    // ---- without the tee ------------------------------------------------------------------------

    fn free_checks(&mut self) {
        for step in SafetyStep::ALL {
            self.act(Action::MakeSafe { step });
        }
        self.begin();
        self.act(Action::Cap { open: true });
        self.test(Kind::Cap, said("diagnosis-open-cap"), false);
        self.note(Perceived::Cap);
        self.act(Action::Cap { open: false });
        self.end();

        self.begin();
        self.test(Kind::Sample, said("diagnosis-dip-sample"), false);
        if self.act(Action::Sample) {
            self.note(Perceived::Sample);
            self.number(Quantity::Level);
        }
        self.end();

        self.begin();
        self.test(Kind::Primer, said("diagnosis-feel-primer"), false);
        if self.act(Action::Prime { strokes: STROKES }) {
            self.note(Perceived::Primer);
        }
        self.end();

        self.begin();
        self.test(Kind::Battery, said("diagnosis-battery"), false);
        if self.act(Action::Battery) {
            self.number(Quantity::Voltage);
            self.number(Quantity::Speed);
        }
        self.end();

        let pump = self.job.plant.electric_pumps().map(|(part, _)| part.name.clone()).next();
        if let Some(part) = pump {
            self.begin();
            self.test(Kind::Listen, said("diagnosis-listen-pump"), false);
            if self.act(Action::Listen { part }) {
                self.key(Key::Off);
                self.wait(5 * SECOND);
                self.key(Key::On);
                self.wait(SECOND * 6 / 10);
                self.note(Perceived::Pump);
            }
            self.key(Key::Off);
            self.end();
        }
    }

    // ---- the standard run -----------------------------------------------------------------------

    fn is_listed(&self, state: State) -> bool {
        self.job.limits.iter().any(|l| l.state == state)
    }

    fn fit(&mut self, joint: &(String, String)) -> bool {
        self.joint = joint.clone();
        self.cooled();
        if !self.act(Action::FitTee { joint: joint.0.clone(), new_seals: true }) {
            return false;
        }
        let beyond = self.job.limits.iter().any(|l| l.joint == joint.0 && l.high_mbar > BEYOND_SUCTION_MBAR);
        self.act(Action::Range { range: if beyond { GaugeRange::Pressure } else { GaugeRange::Suction } });
        self.act(Action::Purge);
        if !self.act(Action::Zero) {
            // a pump that filled the line runs out first
            self.wait(10 * SECOND);
            self.act(Action::Zero);
        }
        true
    }

    /// The standard run at a joint; `thorough` adds what is done once, at the last one.
    fn run_at(&mut self, joint: &(String, String), thorough: bool) {
        if !self.fit(joint) {
            return;
        }
        self.wait(REST);
        self.read(State::Rest);
        self.key(Key::On);
        if self.is_listed(State::Prime) {
            self.wait(PRIMED);
            self.read(State::Prime);
        }
        self.act(Action::Crank { secs: 8.0 });
        self.wait(14 * SECOND / 10);
        self.read(State::Crank);
        self.wait(60 * SECOND);
        self.read(State::Idle);
        self.note(Perceived::Glass);
        if thorough {
            self.while_idling();
        }
        self.act(Action::Speed { rpm: self.raised_rpm() });
        self.wait(RAISED);
        self.read(State::Raised);
        self.note(Perceived::Engine);
        if self.is_listed(State::Load) {
            self.act(Action::Load { share: 1.0 });
            self.wait(LOADED);
            self.read(State::Load);
            self.note(Perceived::Engine);
            self.act(Action::Load { share: 0.0 });
        }
        if thorough {
            self.cap_underway();
            self.treated();
            self.shaken();
            self.tilted();
        }
        self.idle();
        self.dead_head(&joint.0);
        self.key(Key::Off);
        self.wait(HOLD);
        self.read(State::Hold);
        if thorough {
            self.wait(LONG_HOLD - HOLD);
            self.test(Kind::LongHold, said("diagnosis-long-hold"), true);
            self.record(State::Hold);
            self.drawdown();
            self.soapy();
            self.pinched();
            self.second();
            self.delivery(&joint.0);
            self.bypass();
            self.plugged();
        }
    }

    fn dead_head(&mut self, joint: &str) {
        let card = self.job.plant.service;
        let fed = self.job.plant.is_under_pressure(joint);
        if if fed { card.blocked_outlet } else { card.blocked_inlet } {
            self.act(Action::Valve { open: 0.0 });
            self.wait(SHUT);
            self.read(State::DeadHead);
            self.act(Action::Valve { open: 1.0 });
            self.wait(10 * SECOND);
        }
    }

    // ---- what is done once ----------------------------------------------------------------------

    fn while_idling(&mut self) {
        let pump = self.job.plant.electric_pumps().next();
        let leads = pump.and_then(|(part, p)| {
            Some((part.name.clone(), p.feed.last()?.name.clone(), p.earth.first()?.name.clone()))
        });
        // what lies before the last joint of the feed and behind the first of the earth: which of them takes the voltage
        let between: Vec<(String, Probe)> = pump.map_or_else(Vec::new, |(_, p)| {
            let feed = p.feed.iter().rev().skip(1).rev();
            let fed = feed.map(|j| (j, Probe::Volts { from: "battery +".into(), to: j.name.clone() }));
            let earth = p.earth.iter().skip(1);
            let back = earth.map(|j| (j, Probe::Volts { from: j.name.clone(), to: "battery \u{2212}".into() }));
            fed.chain(back).map(|(joint, probe)| (joint.name.clone(), probe)).collect()
        });
        if let Some((part, feed, earth)) = leads {
            self.begin();
            self.test(Kind::Volts, said("diagnosis-volts"), false);
            self.measure(Probe::Volts { from: "battery +".into(), to: feed });
            self.measure(Probe::Volts { from: earth, to: "battery \u{2212}".into() });
            self.end();
            self.begin();
            for (joint, probe) in between {
                self.test(Kind::Volts, &tell!("diagnosis-volts-at", joint = joint), false);
                self.measure(probe);
                self.end();
                self.begin();
            }
            self.test(Kind::Clamp, said("diagnosis-clamp"), false);
            self.measure(Probe::Clamp { part });
            self.end();
        }
        self.begin();
        self.test(Kind::OwnSensor, said("diagnosis-own-sensor"), false);
        self.measure(Probe::OwnSensor);
        self.measure(Probe::Effort);
        self.end();
        self.begin();
        self.test(Kind::Return, said("diagnosis-return-jar"), false);
        if self.act(Action::ReturnFlow { secs: RETURNED_S }) {
            self.number(Quantity::Volume);
        }
        self.end();
    }

    fn cap_underway(&mut self) {
        self.begin();
        self.wait(FADED);
        self.test(Kind::CapUnderway, said("diagnosis-cap-underway"), true);
        self.record(State::Raised);
        if self.act(Action::Cap { open: true }) {
            self.note(Perceived::Cap);
            self.wait(RECOVERED);
            self.record(State::Raised);
            self.act(Action::Cap { open: false });
        }
    }

    /// Warm air where frost may have plugged the filter, a wet cloth where heat may boil fuel at the pump.
    fn treated(&mut self) {
        let plant = &self.job.plant;
        let part = |is: fn(&Component) -> bool| plant.parts.iter().find(|p| is(&p.is)).map(|p| p.name.clone());
        let frost = plant.temperature < Temperature::from_celsius(FROST_C) && !plant.is_petrol();
        if let Some(place) = part(|is| matches!(is, Component::Filter(_))).filter(|_| frost) {
            self.treat(place, true, said("diagnosis-warm-filter"));
        }
        let heat = plant.temperature > Temperature::from_celsius(HEAT_C);
        let pumps = |is: &Component| matches!(is, Component::GearPump(_) | Component::DiaphragmPump(_));
        if let Some(place) = part(pumps).filter(|_| heat) {
            self.treat(place, false, said("diagnosis-cool-pump"));
        }
    }

    fn treat(&mut self, place: String, warm: bool, words: &str) {
        self.begin();
        if self.act(Action::Treat { place, warm }) {
            self.test(if warm { Kind::Warm } else { Kind::Cool }, words, true);
            self.record(State::Raised);
            self.note(Perceived::Glass);
        }
    }

    /// Places that some candidate's vehicle can be shaken at.
    fn loose_places(&self) -> Vec<String> {
        let bands = self.job.candidates.iter().flat_map(|c| c.vehicles.iter().flat_map(FaultBand::all));
        let loose = bands.filter(|b| {
            b.when.iter().any(|m| matches!(m, Modifier::Intermittent { by: Cause::Vibration | Cause::Flex, .. }))
        });
        let mut places: Vec<String> = loose.map(|b| b.at.clone()).filter(|at| !at.is_empty()).collect();
        places.sort();
        places.dedup();
        places
    }

    /// Each such place wiggled while the engine runs, the gauge watched meanwhile.
    fn shaken(&mut self) {
        for place in self.loose_places() {
            // a circuit's place is told by its part
            let part = place.split('/').next().unwrap_or_default().to_owned();
            let label = self.job.plant.part(&part).map_or_else(|| part.clone(), |p| p.label.clone());
            self.begin();
            if !self.act(Action::Wiggle { place: part }) {
                continue;
            }
            self.test(Kind::Wiggle, &tell!("diagnosis-wiggle", label = label), true);
            let end = self.bay.now().saturating_sub(MINUTE);
            self.record_over(State::Raised, (end.saturating_sub(10 * SECOND), end));
            self.note(Perceived::Engine);
        }
    }

    /// A slope, where a candidate's vehicle shows something on one.
    fn tilted(&mut self) {
        let mut bands = self.job.candidates.iter().flat_map(|c| c.vehicles.iter().flat_map(FaultBand::all));
        let leans = bands.any(|b| {
            TILTED.contains(&b.fault.as_str()) || b.when.iter().any(|m| matches!(m, Modifier::Attitude { .. }))
        });
        if !leans {
            return;
        }
        for degrees in [SLOPE, -SLOPE] {
            let way = if degrees > 0.0 { said("diagnosis-nose-up") } else { said("diagnosis-nose-down") };
            self.begin();
            if !self.act(Action::Tilt { degrees }) {
                continue;
            }
            self.wait(RAISED);
            let test = match self.job.plant.is_boat() {
                true => tell!("diagnosis-trim", way = way),
                false => tell!("diagnosis-tilt", way = way),
            };
            self.test(Kind::Tilt, &test, true);
            self.record(State::Raised);
            self.note(Perceived::Glass);
            self.note(Perceived::Engine);
        }
        self.act(Action::Tilt { degrees: 0.0 });
        if !self.runs() {
            self.start();
            self.wait(RAISED);
        }
    }

    fn drawdown(&mut self) {
        self.begin();
        self.act(Action::Valve { open: 0.0 });
        self.wait(SECOND);
        self.test(Kind::Drawdown, said("diagnosis-drawdown"), true);
        if self.act(Action::VacuumTest) {
            self.record(State::Hold);
        }
        self.act(Action::Valve { open: 1.0 });
        self.end();
    }

    /// The closed section under air, its joints gone over with soapy water; what is left of the air is read.
    fn soapy(&mut self) {
        self.begin();
        self.act(Action::Valve { open: 0.0 });
        self.wait(SECOND);
        self.test(Kind::Soapy, said("diagnosis-soapy"), true);
        if self.act(Action::AirTest) {
            // it is let off before the kit is cleared away, which takes ten minutes
            let end = self.bay.now().saturating_sub(10 * MINUTE + SECOND);
            self.record_over(State::Hold, (end.saturating_sub(2 * SECOND), end));
        }
        self.act(Action::Valve { open: 1.0 });
        self.end();
    }

    /// The hold with the first soft hose pinched.
    fn pinched(&mut self) {
        let soft = |p: &&Part| matches!(&p.is, Component::Line(line) if line.squeezed_at.is_some());
        let Some(hose) = self.job.plant.parts.iter().find(soft) else { return };
        let (part, words) = (hose.name.clone(), tell!("diagnosis-pinched", hose = hose.label));
        self.begin();
        self.start();
        self.wait(RAISED);
        self.key(Key::Off);
        if self.act(Action::Pinch { part: part.clone(), on: true }) {
            self.wait(HOLD);
            self.test(Kind::Pinched, &words, true);
            self.record(State::Hold);
            self.act(Action::Pinch { part, on: false });
        }
    }

    /// The joint half-way along, where the tee doesn't sit.
    fn other_joint(&self) -> Option<(String, String)> {
        let others: Vec<&(String, String)> = self.job.joints.iter().filter(|j| j.0 != self.joint.0).collect();
        others.get(others.len() / 2).map(|j| (*j).clone())
    }

    /// A second transducer, read at idle and at speed.
    fn second(&mut self) {
        let Some((joint, label)) = self.other_joint() else { return };
        self.cooled();
        self.begin();
        if !self.act(Action::SecondGauge { joint: Some(joint) }) {
            return;
        }
        self.test(Kind::Second, &tell!("diagnosis-second", label = label), true);
        self.start();
        self.wait(61 * SECOND + SECOND / 2);
        if self.runs() {
            self.measure(Probe::Second);
            self.act(Action::Speed { rpm: self.raised_rpm() });
            self.wait(RAISED);
            self.measure(Probe::Second);
            self.record(State::Raised);
            if let Some(test) = self.tests.last_mut() {
                test.own_credits = SEALS_CREDITS;
            }
        }
        self.end();
        self.cooled();
        self.act(Action::SecondGauge { joint: None });
    }

    /// The starter's pull against a plug half-way along the suction side.
    fn plugged(&mut self) {
        let fed = |joint: &str| self.job.plant.is_under_pressure(joint);
        let Some((joint, label)) = self.other_joint().filter(|(j, _)| !fed(j) && !fed(&self.joint.0)) else {
            return;
        };
        self.cooled();
        self.begin();
        if !self.act(Action::Blank { joint: Some(joint) }) {
            return;
        }
        self.test(Kind::Plugged, &tell!("diagnosis-plugged", label = label), true);
        self.key(Key::On);
        self.act(Action::Crank { secs: 6.0 });
        self.wait(SECOND);
        self.record(State::Crank);
        if let Some(test) = self.tests.last_mut() {
            test.own_credits = SEALS_CREDITS;
        }
        self.end();
        self.cooled();
        self.act(Action::Blank { joint: None });
    }

    fn delivery(&mut self, joint: &str) {
        self.cooled();
        self.delivered(joint, false, Kind::Delivery, said("diagnosis-delivery"));
        self.cooled();
        self.delivered(joint, true, Kind::Throttled, said("diagnosis-delivery-throttled"));
    }

    fn delivered(&mut self, joint: &str, throttled: bool, kind: Kind, words: &str) {
        self.begin();
        self.test(kind, words, true);
        for secs in DELIVERED_S {
            if self.act(Action::Deliver { joint: joint.to_owned(), secs, throttled }) {
                self.number(Quantity::Volume);
                break;
            }
        }
        // the tee needn't be there
        if let Some(test) = self.tests.last_mut() {
            (test.joint, test.own_credits) = (String::new(), SEALS_CREDITS);
        }
        self.end();
    }

    /// The engine fed from a container half-way along the suction side.
    fn bypass(&mut self) {
        let suction: Vec<String> = self
            .job
            .joints
            .iter()
            .map(|(name, _)| name.clone())
            .filter(|name| !self.job.plant.is_under_pressure(name) && *name != self.joint.0)
            .collect();
        let Some(joint) = suction.get(suction.len() / 2).cloned() else { return };
        self.cooled();
        self.begin();
        if !self.act(Action::Container { joint: Some(joint) }) {
            return;
        }
        self.start();
        self.wait(61 * SECOND + SECOND / 2);
        self.test(Kind::Bypass, said("diagnosis-bypass"), true);
        if self.runs() {
            self.record(State::Idle);
            self.note(Perceived::Glass);
            self.act(Action::Speed { rpm: self.raised_rpm() });
            self.wait(RAISED);
            self.record(State::Raised);
            self.note(Perceived::Engine);
            if let Some(test) = self.tests.last_mut() {
                test.own_credits = SEALS_CREDITS;
            }
        }
        self.end();
        self.cooled();
        self.act(Action::Container { joint: None });
    }
}

/// Every test of a job, done in order: free checks first, then the standard run at the last joint with
/// what is done once beside it, at the first, and at every joint between.
///
/// # Errors
/// When the job's plant can't be built.
pub fn menu(job: &Job) -> Result<Menu, String> {
    let bay = Bay::rehearsal(job)?;
    let mut s = Scripter { job, bay, tests: vec![], joint: Default::default(), began: 0 };
    s.free_checks();
    let joints = &job.joints;
    if let Some((last, before)) = joints.split_last() {
        s.run_at(last, true);
        for joint in before {
            s.run_at(joint, false);
        }
    }
    Ok(Menu::new(&s.bay, s.tests, job))
}
