//! A made-up sitting with simple exponential answers, for looking at screens before the bay exists.

use crate::bay::action::*;
use crate::bay::observation::*;
use crate::fluid::FuelClass;
use crate::marking::model::*;
use crate::plant::{Node, Part, Plant};
use crate::scenario::model::*;
use crate::trace::{Tick, Trace};
use crate::units::{Length, Temperature};

use super::session::{Card, MarkProgress, Session, Shelf};

/// One made-up sitting.
pub struct StandIn {
    job: Job,
    seen: Observation,
    trace: Trace,
    sheet: Vec<SheetLine>,
    predictions: Vec<(Micros, Prediction)>,
    points: Option<Vec<u8>>,
    breaches: Vec<Breach>,
    finding: Option<Finding>,
    over: bool,
    p: f64,
    rpm: f64,
    want_rpm: f64,
    asked: u32,
}

const PARTS: &str = r#"[
 (name: "tank", label: "fuel tank with cap and vent", price: 180, minutes: 120, is: Tank(outlet: "tank", capacity: l(70), fill: l(45), area: m2(0.165), pickup: mm(20), vent: l_per_min(36))),
 (name: "strainer", label: "strainer on the pick-up", price: 25, minutes: 60, is: Strainer(from: "tank", to: "foot", clean: (drop: mbar(12), at: l_per_h(160), laminar: 0.35))),
 (name: "tank line", label: "line along the sill", price: 40, minutes: 45, is: Line(from: "foot", to: "tank line end", length: m(4), bore: mm(8), fittings: 5, wall: per_Pa(4e-9))),
 (name: "non-return valve", label: "non-return valve", price: 18, minutes: 25, is: NonReturnValve(from: "tank line end", to: "valve out", cracking: mbar(12), open: (drop: mbar(12), at: l_per_h(160), laminar: 0.3))),
 (name: "feed line", label: "line to the filter", price: 15, minutes: 20, is: Line(from: "valve out", to: "filter in", length: m(0.8), bore: mm(8), fittings: 3, wall: per_Pa(4e-9))),
 (name: "filter", label: "filter with hand primer", price: 32, minutes: 25, is: Filter(from: "filter in", to: "filter out", new: (drop: mbar(40), at: l_per_h(160), laminar: 0.85), bowl: ml(190), clean_side: ml(90), cushion: ml(20), primer_stroke: Some(ml(8)))),
 (name: "short line", label: "line to the pump", price: 12, minutes: 20, is: Line(from: "filter out", to: "pump in", length: m(0.4), bore: mm(8), fittings: 2, wall: per_Pa(4e-9))),
 (name: "transfer pump", label: "transfer pump in the high-pressure pump", price: 620, minutes: 180, is: GearPump(from: "pump in", to: "gallery", displacement: ml_per_turn(1.1), slip: 3e-6, slip_at_rest: 4e-12, filling: Pa(36000), filling_with_speed: Pa(400))),
 (name: "engine", label: "engine with high-pressure pump, overflow and return", price: 0, minutes: 0, is: Engine(gallery: "gallery", volume: ml(45), wall: per_Pa(2.5e-9), overflow_opens: bar(4.8), overflow_slope: 0.0006, demand: ml_per_s(0.35), demand_with_speed: ml_per_s(1.1), starves_at: Pa(45000), starves_over: Pa(18000), lag: s(0.35), starter: rpm(210), idle: rpm(780), raised: rpm(2500))),
]"#;

/// A made-up job.
pub fn job() -> Job {
    let parts: Vec<Part> = ron::from_str(PARTS).expect("the stand-in's parts are right");
    let names = [("tank line end", "line from the tank, before the non-return valve"), ("filter in", "filter inlet"), ("pump in", "pump inlet")];
    let joints: Vec<(String, String)> = names.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
    let mut limits = Vec::new();
    for (joint, _) in &joints {
        for (state, low, high, words) in [
            (State::Rest, -50.0, 20.0, "column standing"),
            (State::Crank, -80.0, -10.0, "on the starter, at most 10 s"),
            (State::Idle, -150.0, -40.0, "steady, 780 1/min"),
            (State::Raised, -250.0, -90.0, "steady, 2500 1/min"),
            (State::DeadHead, -1000.0, -600.0, "at idle, within 5 s, once a run"),
            (State::Hold, -80.0, 5.0, "1 min after stopping"),
        ] {
            limits.push(Limit { joint: joint.clone(), state, low_mbar: low, high_mbar: high, words: words.to_owned() });
        }
    }
    let candidate = |name: &str, label: &str| Candidate { name: name.into(), label: label.into(), weight: 1.0 / 8.0, vehicles: vec![] };
    Job {
        name: "stand-in".into(),
        title: "Runs out of puff on the bypass".into(),
        customer: "Quillan Vale Parcels, van 14".into(),
        complaint: "Round town you'd never know. Get her on the bypass with a load on and she just runs out of puff, about ninety and that's your lot. Foot flat to the floor makes no odds. It's worse every week, I'd swear to it.".into(),
        facts: vec!["Fuel gauge a little over half".into(), "Dry, 18 °C, workshop at 20 °C".into(), "Warning lamp off; stored code for rail pressure below demand under load".into()],
        goals: vec!["Fit the tee in series and zero it before it sees pressure".into(), "Read the same run at two joints before touching a part".into()],
        minutes: 40.0,
        mode: Mode::Practice,
        plant: Plant {
            name: "a1-van".into(),
            title: "Light van, 2.2 l diesel, suction supply, tank 70 l".into(),
            fuel: FuelClass::Diesel.at(Temperature::from_celsius(20.0)),
            temperature: Temperature::from_celsius(20.0),
            altitude: Length::from_si(0.0),
            nodes: Vec::<Node>::new(),
            parts,
            leaks: vec![],
        },
        questions: vec![
            Question { name: "when".into(), ask: "When does it happen?".into(), answer: "On the bypass, and on the long drag up past Northfell. Never in the streets.".into() },
            Question { name: "since".into(), ask: "Since when, and is it getting worse?".into(), answer: "Five, six weeks.".into() },
            Question { name: "rest".into(), ask: "Does it come back after a rest, or with the cap off?".into(), answer: "A rest does nothing for it.".into() },
        ],
        looks: vec![Look { part: "filter".into(), sees: "Dusty and dry. The date on the bowl is hard to read under the grime; it isn't this year's.".into() }],
        limits,
        joints,
        candidates: vec![
            candidate("plugged-filter", "Filter element plugged"),
            candidate("air-ingress", "A joint on the suction side lets air in"),
            candidate("worn-pump", "Transfer pump worn"),
            candidate("plugged-strainer", "Strainer in the tank plugged"),
            candidate("blocked-vent", "Tank vent blocked"),
            candidate("non-return", "Non-return valve doesn't seat"),
            candidate("nothing-wrong", "Fuel supply sound; look elsewhere or explain"),
            candidate("own-kit", "My own test kit misleads me"),
        ],
        rubric: Rubric { name: "standard".into(), diagnosis: 30.0, justified: 25.0, measurement: 20.0, procedure: 15.0, calibration: 10.0, cut: 60.0, reading_tolerance_mbar: 15.0 },
        fuel_gauge: 0.57,
        hash: "0".into(),
        hidden: vec![],
    }
}

impl StandIn {
    /// From the start.
    pub fn new() -> Self {
        let job = job();
        let seen = Observation {
            at: 0, key: Key::Off, engine: EngineRun::Off, rpm: 0.0, gauge: None, glass: None, tee: None, container: None,
            cap_open: false, cap: None, primer: None, fuel_gauge: job.fuel_gauge, charged_min: 0.0, credits: 0.0, cautions: vec![],
        };
        Self { job, seen, trace: Trace::default(), sheet: vec![], predictions: vec![], points: None, breaches: vec![], finding: None, over: false, p: -20.0, rpm: 0.0, want_rpm: 0.0, asked: 0 }
    }

    fn tick(&mut self, word: &str) {
        self.trace.ticks.push(Tick { at: self.seen.at, word: word.to_owned() });
    }

    fn step(&mut self) {
        let dt = 0.02;
        self.seen.at += 20_000;
        self.rpm += (self.want_rpm - self.rpm) * dt / 0.3;
        let valve = self.seen.tee.as_ref().map_or(1.0, |t| t.valve_open);
        let (target, tau) = if self.rpm > 100.0 && valve < 0.1 { (-690.0, 1.2) } else { (-20.0 - 0.13 * self.rpm, 0.6) };
        self.p += (target - self.p) * dt / tau;
        let t = self.seen.at as f64 / 1e6;
        let ripple = if self.rpm > 100.0 { 4.0 * crate::ops::sin(t * 40.0) + 3.0 * crate::ops::sin(t * 97.0) } else { 0.4 * crate::ops::sin(t * 31.0) };
        let fitted = self.seen.tee.is_some();
        self.trace.at.push(self.seen.at);
        self.trace.mbar.push(if fitted { self.p + ripple } else { f64::NAN });
        let gas = if self.rpm > 100.0 { 0.03 } else { 0.0 };
        self.trace.gas.push(if fitted { gas } else { f64::NAN });
        self.trace.rpm.push(self.rpm.max(0.0));
        self.seen.rpm = self.rpm.round();
        if fitted {
            let zeroed_at = self.seen.gauge.and_then(|g| g.zeroed_at);
            self.seen.gauge = Some(Gauge { mbar: self.p, over_range: false, zeroed_at });
            let speed = self.rpm / 780.0 * 0.28 * valve;
            self.seen.glass = Some(Glass { look: GlassLook::of_gas_share(gas), gas_share: gas, speed_m_s: speed });
        }
        self.seen.cautions = if self.rpm > 100.0 { vec!["Belts and hot exhaust. Fans may start by themselves.", "Many makers forbid the blocked-inlet test: idle, at most 5 s, once a run."] } else { vec![] };
    }
}

impl Default for StandIn {
    fn default() -> Self {
        Self::new()
    }
}

impl Session for StandIn {
    fn job(&self) -> &Job { &self.job }
    fn observe(&self) -> Observation { self.seen.clone() }
    fn trace(&self) -> &Trace { &self.trace }
    fn sheet(&self) -> &[SheetLine] { &self.sheet }
    fn predictions(&self) -> &[(Micros, Prediction)] { &self.predictions }
    fn points(&self) -> Option<&[u8]> { self.points.as_deref() }
    fn breaches(&self) -> &[Breach] { &self.breaches }
    fn finding(&self) -> Option<&Finding> { self.finding.as_ref() }
    fn is_over(&self) -> bool { self.over }
    fn now(&self) -> Micros { self.seen.at }
    fn advance(&mut self, by: Micros) {
        for _ in 0..(by + 10_000) / 20_000 { self.step(); }
    }
    fn act(&mut self, action: &Action) -> Answer {
        let mut says = String::new();
        let mut breach = None;
        match action {
            Action::Key { to } => { self.seen.key = *to; if *to == Key::Off { self.want_rpm = 0.0; self.seen.engine = EngineRun::Off; self.tick("stop"); } }
            Action::Crank { .. } => {
                if self.seen.key == Key::Off { return Answer::Refused { because: "The key is off.".into() }; }
                self.tick("crank"); self.want_rpm = 210.0; self.seen.engine = EngineRun::Cranking; self.advance(3_000_000);
                self.tick("idle"); self.want_rpm = 780.0; self.seen.engine = EngineRun::Steady; says = "It runs.".into();
            }
            Action::Speed { rpm } => { self.want_rpm = *rpm; self.tick(&format!("{rpm:.0}")); }
            Action::FitTee { joint, new_seals } => {
                self.seen.credits += if *new_seals { 3.0 } else { 0.0 };
                self.advance(600_000_000);
                self.seen.tee = Some(Tee { joint: joint.clone(), valve_open: 1.0, purged_at: None });
                self.seen.gauge = Some(Gauge { mbar: self.p, over_range: false, zeroed_at: None });
                self.tick("tee fitted");
                says = "The tee is in, with new seals. Purge it and zero it before you trust it.".into();
                if !new_seals { let b = Breach { at: self.seen.at, class: BreachClass::Critical, rule: "seal".into(), words: "An old single-use seal went back in: under pressure it can let go and spray fuel over hot parts.".into() }; self.breaches.push(b.clone()); breach = Some(b); }
            }
            Action::RemoveTee { .. } => { self.seen.tee = None; self.seen.gauge = None; self.seen.glass = None; self.tick("tee out"); }
            Action::Purge => { let at = self.seen.at; if let Some(t) = &mut self.seen.tee { t.purged_at = Some(at); } says = "No more bubbles.".into(); }
            Action::Zero => { let at = self.seen.at; if let Some(g) = &mut self.seen.gauge { g.zeroed_at = Some(at); } }
            Action::Valve { open } => { if let Some(t) = &mut self.seen.tee { t.valve_open = *open; } let w = if *open > 0.5 { "open" } else { "valve shut" }; self.tick(w); }
            Action::Cap { open } => { self.seen.cap_open = *open; self.seen.cap = Some(CapSound::Silent); }
            Action::Prime { strokes } => { self.seen.primer = Some((PrimerFeel::Firm, *strokes)); }
            Action::Container { joint } => { self.seen.container = joint.clone(); }
            Action::Wait { secs } => { self.advance((secs * 1e6) as Micros); }
            Action::Record { reading } => {
                let unit = reading.unit.map_or("", |u| u.symbol());
                self.sheet.push(SheetLine { at: self.seen.at, subject: reading.state.word().into(), state: Some(reading.state), entry: format!("{} {unit}", reading.value).trim().to_owned(), verdict: Some(reading.verdict), source: reading.source.clone(), remark: reading.remark.clone(), window: reading.window.unwrap_or((self.seen.at.saturating_sub(1_000_000), self.seen.at)) });
            }
            Action::Amend { line, reading } => { self.sheet[line - 1].entry = format!("{} mbar", reading.value); }
            Action::Note { what, seen } => {
                self.sheet.push(SheetLine { at: self.seen.at, subject: format!("{what:?}").to_lowercase(), state: None, entry: seen.clone(), verdict: None, source: String::new(), remark: String::new(), window: (self.seen.at, self.seen.at) });
            }
            Action::Predict { prediction } => self.predictions.push((self.seen.at, prediction.clone())),
            Action::Believe { points } => { self.points = Some(self.job.candidates.iter().map(|c| points.get(&c.name).copied().unwrap_or(0)).collect()); }
            Action::Submit { finding } => self.finding = Some(finding.clone()),
            Action::HandBack => { self.over = true; says = "Handed back.".into(); }
            _ => says = "Done.".into(),
        }
        Answer::Done { says, breach }
    }
    fn mark(&mut self) -> MarkProgress {
        self.asked += 1;
        if self.asked < 10 { return MarkProgress::Working; }
        let end = self.seen.at;
        let labels: Vec<String> = self.job.candidates.iter().map(|c| c.label.clone()).chain(["none of these".to_owned()]).collect();
        let step = |at: Micros, top: f64, stated: Option<f64>| {
            let rest = (1.0 - top) / 8.0;
            let mut j = vec![rest; 9]; j[0] = top;
            BeliefStep { at, event: "reading".into(), justified: j, stated: stated.map(|s| { let mut v = vec![(1.0 - s) / 7.0; 8]; v[0] = s; v }) }
        };
        MarkProgress::Done(Box::new(Mark {
            job: "stand-in".into(), job_hash: String::new(), seed: 1, attempt_hash: String::new(), trace_hash: String::new(), engine: "0".into(),
            total: 71.5, outcome: Outcome::Reached, reasons: vec!["Cut of 60 points reached.".into(), "No major breach.".into()],
            components: Component::ALL.iter().zip([0.9, 0.7, 0.6, 0.8, 0.5]).zip([30.0, 25.0, 20.0, 15.0, 10.0]).map(|((c, share), weight)| ComponentMark { component: *c, share, weight }).collect(),
            ledger: vec![
                LedgerLine { component: Some(Component::Diagnosis), hundredths: 2700, template: "d".into(), window: (end / 2, end / 2 + 5_000_000), sentence: "The cause you named is the cause.".into() },
                LedgerLine { component: Some(Component::Measurement), hundredths: 250, template: "m".into(), window: (end * 2 / 3, end * 2 / 3 + 1_000_000), sentence: "Line 3, idle: −118 mbar written, −121 mbar shown; within the allowed error, sign and unit right.".into() },
                LedgerLine { component: Some(Component::Procedure), hundredths: -300, template: "p".into(), window: (end - 9_000_000, end - 8_000_000), sentence: "The valve stayed shut for 7.2 s; the card allows 5 s.".into() },
            ],
            labels, beliefs: vec![step(0, 0.2, None), step(end / 3, 0.35, Some(0.3)), step(end * 2 / 3, 0.7, Some(0.5)), step(end, 0.88, Some(0.9))],
            submitted: Some(("Filter element plugged".into(), 85)), truth: ("Filter element plugged".into(), "Filter element plugged, severity 3.4, at the filter".into()),
            justified_in_finding: Some((0.88, 0.02)), seen_not_recorded: vec!["Pressure at rest before the start".into()],
        }))
    }
}

/// A shelf with the stand-in.
pub struct StandInShelf;

impl Shelf for StandInShelf {
    fn cards(&self) -> Vec<Card> {
        let j = job();
        vec![Card { title: j.title, vehicle: format!("{} · {}", j.customer, j.plant.title), complaint: "Fine round town, flat above ninety, worse each week.".into(), minutes: j.minutes, mode: "practice".into() }]
    }
    fn open(&mut self, _: usize) -> Result<Box<dyn Session>, String> {
        Ok(Box::new(StandIn::new()))
    }
}
