//! What a technician expects of each fault, on the van that learners meet: the standard run at three
//! joints, fault by fault, through the bay and its instruments.

use faultbay::bay::Bay;
use faultbay::bay::action::{Action, Key, MINUTE, SECOND, SafetyStep};
use faultbay::scenario::load_job;
use faultbay::scenario::model::Job;
use faultbay::scenario::{Kind, Library};

/// The healthy job with other hidden faults.
pub fn job_with(hidden: &str) -> Job {
    let mut library = Library::builtin();
    let text =
        library.text(Kind::Job, "nothing-wrong").unwrap().replace("hidden: []", &format!("hidden: [{hidden}]"));
    library.insert(Kind::Job, "other", "other.ron", &text);
    load_job(&library, "other").unwrap_or_else(|report| panic!("{}", faultbay::diag::render::text(&report))).0
}

#[derive(Debug, Clone, Copy)]
pub struct Signature {
    pub rest: f64,
    pub crank: f64,
    pub idle: f64,
    pub raised: f64,
    pub dead_head: f64,
    /// One minute after stopping with the valve open.
    pub hold_1: f64,
    /// Share of gas in the glass at idle and raised, in 100.
    pub gas_idle: f64,
    pub gas_raised: f64,
}

/// The standard run at a joint. `skip` names steps to leave out.
pub fn run(job: &Job, seed: u64, joint: &str, skip: &[&str]) -> Signature {
    let mut bay = Bay::new(job, seed).unwrap();
    for step in [SafetyStep::Protection, SafetyStep::Ventilation, SafetyStep::Chocks] {
        bay.act(&Action::MakeSafe { step });
    }
    bay.act(&Action::FitTee { joint: joint.into(), new_seals: true });
    if !skip.contains(&"purge") {
        bay.act(&Action::Purge);
    }
    if !skip.contains(&"zero") {
        bay.act(&Action::Zero);
    }
    bay.advance_to(bay.now() + 5 * SECOND);
    let gauge = |bay: &Bay| bay.observe().gauge.unwrap().mbar;
    let gas = |bay: &Bay| 100.0 * bay.observe().glass.unwrap().gas_share;
    let rest = gauge(&bay);
    bay.act(&Action::Key { to: Key::On });
    let mut crank = f64::NAN;
    for _ in 0..5 {
        bay.act(&Action::Crank { secs: 10.0 });
        bay.advance_to(bay.now() + 15 * SECOND / 10);
        if crank.is_nan() {
            crank = gauge(&bay);
        }
        bay.advance_to(bay.now() + 12 * SECOND);
        if bay.observe().rpm > 500.0 {
            break;
        }
    }
    bay.advance_to(bay.now() + MINUTE);
    let (idle, gas_idle) = (gauge(&bay), gas(&bay));
    bay.act(&Action::Speed { rpm: 2500.0 });
    bay.advance_to(bay.now() + 30 * SECOND);
    let (raised, gas_raised) = (gauge(&bay), gas(&bay));
    bay.act(&Action::Speed { rpm: 780.0 });
    bay.advance_to(bay.now() + 15 * SECOND);
    bay.act(&Action::Valve { open: 0.0 });
    bay.advance_to(bay.now() + 48 * SECOND / 10);
    let dead_head = gauge(&bay);
    bay.act(&Action::Valve { open: 1.0 });
    bay.advance_to(bay.now() + 15 * SECOND);
    bay.act(&Action::Key { to: Key::Off });
    bay.advance_to(bay.now() + MINUTE);
    let hold_1 = gauge(&bay);
    Signature { rest, crank, idle, raised, dead_head, hold_1, gas_idle, gas_raised }
}

fn with(fault: &str, at: &str, severity: f64, joint: &str) -> Signature {
    run(&job_with(&format!("(fault: \"{fault}\", at: \"{at}\", severity: {severity:.1})")), 1, joint, &[])
}

fn healthy(joint: &str) -> Signature {
    run(&job_with(""), 1, joint, &[])
}

/// Collects what doesn't hold, so that one run shows everything.
#[derive(Default)]
struct Expect(Vec<String>);

impl Expect {
    fn that(&mut self, holds: bool, what: &str, of: &dyn std::fmt::Debug) {
        if !holds {
            self.0.push(format!("{what}: {of:?}"));
        }
    }

    fn done(self) {
        assert!(self.0.is_empty(), "{}", self.0.join("\n"));
    }
}

#[test]
fn healthy_vehicles_lie_inside_their_card_and_the_ranges_of_their_kind() {
    let job = job_with("");
    let mut expect = Expect::default();
    for (joint, _) in &job.joints {
        for seed in 0..12 {
            let s = run(&job, seed, joint, &[]);
            use faultbay::bay::action::State;
            for (state, value) in [
                (State::Rest, s.rest),
                (State::Crank, s.crank),
                (State::Idle, s.idle),
                (State::Raised, s.raised),
                (State::DeadHead, s.dead_head),
                (State::Hold, s.hold_1),
            ] {
                let limit = job.limit(joint, state).unwrap();
                expect.that(
                    (limit.low_mbar..=limit.high_mbar).contains(&value),
                    &format!("{joint}, {}, seed {seed}: {value:.0} outside the card", state.word()),
                    limit,
                );
            }
            if joint == "pump in" {
                // the ranges that the archetype must sit in, mbar gauge at the pump's inlet
                expect.that((-30.0..=20.0).contains(&s.rest), "rest of the kind", &s);
                expect.that((-80.0..=-20.0).contains(&s.crank), "crank of the kind", &s);
                expect.that((-150.0..=-40.0).contains(&s.idle), "idle of the kind", &s);
                expect.that((-250.0..=-90.0).contains(&s.raised), "raised of the kind", &s);
                expect.that(s.dead_head <= -600.0, "dead-head of the kind", &s);
            }
            expect.that(s.gas_idle < 0.2, "a healthy line is clear at idle", &s);
        }
    }
    expect.done();
}

#[test]
fn each_fault_moves_the_readings_as_a_technician_expects() {
    let mut expect = Expect::default();
    let [line, inlet, pump] = ["tank line end", "filter in", "pump in"];
    let (h_line, h_inlet, h_pump) = (healthy(line), healthy(inlet), healthy(pump));

    let s = with("F02", "tank", 3.0, pump);
    expect.that(
        s.idle < h_pump.idle - 50.0 && s.raised < h_pump.raised - 50.0,
        "F02 lowers every running state",
        &s,
    );
    expect.that(s.hold_1 < h_pump.hold_1 - 60.0, "F02 keeps the depression after stopping", &s);
    let s = with("F02", "tank", 3.0, line);
    expect.that(s.idle < h_line.idle - 50.0, "F02 shows before the filter too", &s);

    for (joint, h) in [(line, &h_line), (pump, &h_pump)] {
        let s = with("F03", "strainer", 3.0, joint);
        expect.that(s.raised < h.raised - 60.0, "F03 grows with the flow, everywhere behind it", &s);
        expect.that((s.rest - h.rest).abs() < 6.0, "F03 leaves rest alone", &s);
        expect.that((s.idle - h.idle).abs() < 0.5 * (s.raised - h.raised).abs(), "F03 is worst at speed", &s);
    }

    let s = with("F15", "filter", 3.0, pump);
    expect.that(s.raised < h_pump.raised - 60.0, "F15 pulls the pump's inlet down", &s);
    let s = with("F15", "filter", 4.0, line);
    expect.that(s.raised > h_line.raised + 10.0, "F15 relieves the line before it", &s);

    for (joint, h) in [(line, &h_line), (inlet, &h_inlet), (pump, &h_pump)] {
        let s = with("F26", "transfer pump", 3.5, joint);
        expect.that(s.idle > h.idle + 5.0 && s.raised > h.raised + 20.0, "F26 is weak everywhere", &s);
        expect.that(s.dead_head > h.dead_head + 40.0, "F26 can't draw against a shut valve", &s);
        expect.that(s.gas_idle < 0.2, "F26 leaves the glass clear", &s);
    }

    let s = with("F09", "filter in", 3.0, pump);
    expect.that(s.gas_idle > 4.0, "F09 shows bubbles downstream", &s);
    expect.that(s.hold_1 > h_pump.hold_1 + 10.0, "F09 lets the hold go", &s);
    expect.that(s.gas_idle > s.gas_raised, "the share of air falls as the flow grows", &s);
    let s = with("F09", "filter in", 3.0, line);
    expect.that(s.gas_idle < 0.2, "F09 shows no bubbles upstream of the hole", &s);

    let s = with("F13", "non-return valve", 4.0, pump);
    expect.that((s.hold_1 + 18.6).abs() < 5.0, "F13 lets the column fall to the tank's level", &s);
    expect.that((s.raised - h_pump.raised).abs() < 20.0, "F13 leaves running values alone", &s);
    expect.done();
}

#[test]
fn the_testers_own_mistakes_look_as_they_should() {
    let mut expect = Expect::default();
    let joint = "pump in";
    let h = healthy(joint);
    let s = run(&job_with("(fault: \"M2\", severity: 3.0)"), 1, joint, &["zero"]);
    let shift = s.rest - h.rest;
    expect.that(shift.abs() > 15.0, "M2 shifts rest", &s);
    for (a, b) in [(s.idle, h.idle), (s.raised, h.raised), (s.hold_1, h.hold_1)] {
        expect.that((a - b - shift).abs() < 4.0, "M2 shifts every state alike", &s);
    }
    let zeroed = run(&job_with("(fault: \"M2\", severity: 3.0)"), 1, joint, &[]);
    expect.that((zeroed.idle - h.idle).abs() < 4.0, "zeroing cures M2", &zeroed);
    let s = run(&job_with("(fault: \"M4\", severity: 3.0)"), 1, joint, &[]);
    expect.that(s.raised < h.raised - 80.0, "M4 is a restriction that came with the kit", &s);
    expect.that((s.rest - h.rest).abs() < 6.0, "M4 leaves rest alone", &s);
    let s = run(&job_with(""), 1, joint, &["purge"]);
    expect.that(s.dead_head > h.dead_head + 50.0, "M6 makes the dead-head soft", &s);
    expect.that((s.idle - h.idle).abs() < 5.0, "M6 leaves steady levels alone", &s);
    expect.done();
}

#[test]
fn a_worse_fault_moves_its_reading_further() {
    for (fault, at, get) in [
        ("F03", "strainer", (|s: &Signature| s.raised) as fn(&Signature) -> f64),
        ("F15", "filter", |s| s.raised),
        ("F02", "tank", |s| s.hold_1),
        ("F26", "transfer pump", |s| -s.idle),
        ("F09", "filter in", |s| -s.gas_idle),
    ] {
        let series: Vec<f64> =
            [2.0, 2.6, 3.2].iter().map(|&severity| get(&with(fault, at, severity, "pump in"))).collect();
        assert!(series.windows(2).all(|w| w[1] < w[0]), "{fault}: {series:?}");
    }
}
