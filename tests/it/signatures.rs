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
    let last = r#"(fault: "M6", severity: (1.5, 4.5)),"#;
    let kit = ["M3", "M5", "M8"].map(|code| format!(r#"(fault: "{code}", severity: (1.0, 5.0)),"#)).concat();
    let text = library
        .text(Kind::Job, "nothing-wrong")
        .unwrap()
        .replace("hidden: []", &format!("hidden: [{hidden}]"))
        .replace(last, &format!("{last}{kit}"));
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

/// A vehicle with the tee fitted, purged and zeroed at a joint, its engine at idle for a minute.
fn at_idle(hidden: &str, joint: &str) -> Bay {
    let mut bay = Bay::new(&job_with(hidden), 1).unwrap();
    for step in [SafetyStep::Protection, SafetyStep::Ventilation, SafetyStep::Chocks] {
        bay.act(&Action::MakeSafe { step });
    }
    bay.act(&Action::FitTee { joint: joint.into(), new_seals: true });
    start(&mut bay);
    bay
}

fn start(bay: &mut Bay) {
    bay.act(&Action::Purge);
    bay.act(&Action::Zero);
    bay.act(&Action::Key { to: Key::On });
    bay.act(&Action::Crank { secs: 10.0 });
    bay.advance_to(bay.now() + 75 * SECOND);
}

fn raised(bay: &mut Bay) -> f64 {
    bay.act(&Action::Speed { rpm: 2500.0 });
    bay.advance_to(bay.now() + 30 * SECOND);
    bay.observe().gauge.unwrap().mbar
}

#[test]
fn a_wrong_range_shows_a_flat_top_and_steps_and_says_so() {
    // too small for a dead-head, and in steps of some ten millibar
    let hidden = "(fault: \"M3\", at: \"\", severity: 5.0)";
    let mut bay = at_idle(hidden, "pump in");
    let idle = bay.observe().gauge.unwrap();
    assert!(!idle.over_range, "{idle:?}");
    let samples = &bay.trace().mbar[bay.trace().range(bay.now() - SECOND, bay.now())];
    assert!(samples.iter().all(|mbar| mbar % 50.0 == 0.0), "{samples:?}");
    bay.act(&Action::Valve { open: 0.0 });
    bay.advance_to(bay.now() + 4 * SECOND);
    let flat = bay.observe().gauge.unwrap();
    assert!(flat.over_range && flat.mbar == -200.0, "{flat:?}");
    bay.act(&Action::Valve { open: 1.0 });
    bay.advance_to(bay.now() + 15 * SECOND);
    bay.act(&Action::Key { to: Key::Off });
    // the right range shows what was missing
    bay.act(&Action::Range { range: faultbay::bay::action::GaugeRange::Pressure });
    bay.act(&Action::Range { range: faultbay::bay::action::GaugeRange::Suction });
    start(&mut bay);
    bay.act(&Action::Valve { open: 0.0 });
    bay.advance_to(bay.now() + 4 * SECOND);
    let whole = bay.observe().gauge.unwrap();
    assert!(!whole.over_range && whole.mbar < -500.0, "{whole:?}");
}

#[test]
fn a_tee_on_the_other_side_hides_the_filters_drop_until_it_is_moved() {
    let slip = "(fault: \"M5\", at: \"\", severity: 1.0)";
    let behind = raised(&mut at_idle("", "pump in"));
    let before = raised(&mut at_idle("", "filter in"));
    assert!(behind < before - 15.0, "the filter's drop: {before} and {behind}");
    // what is called the pump's inlet shows the filter's: the filter's drop isn't there
    let mut bay = at_idle(slip, "pump in");
    let shown = raised(&mut bay);
    assert!((shown - before).abs() < 6.0, "{shown} for {before}");
    bay.act(&Action::Key { to: Key::Off });
    bay.advance_to(bay.now() + MINUTE);
    // a look at one's own kit tells; taken off and fitted anew it is right
    let seen = bay.act(&Action::Look { part: "tee".into() });
    assert!(format!("{seen:?}").contains("other side"), "{seen:?}");
    bay.act(&Action::RemoveTee { new_seals: true });
    bay.act(&Action::FitTee { joint: "pump in".into(), new_seals: true });
    start(&mut bay);
    let moved = raised(&mut bay);
    assert!((moved - behind).abs() < 6.0, "{moved} for {behind}");
}

#[test]
fn a_long_hose_and_a_high_container_are_found_by_a_look_at_the_kit() {
    let fed = |hidden: &str| {
        let mut bay = at_idle(hidden, "pump in");
        bay.act(&Action::Key { to: Key::Off });
        bay.advance_to(bay.now() + MINUTE);
        bay.act(&Action::Container { joint: Some("filter in".into()) });
        bay.advance_to(bay.now() + MINUTE);
        bay
    };
    let rest = |bay: &Bay| bay.observe().gauge.unwrap().mbar;
    let run = |bay: &mut Bay| {
        start(bay);
        raised(bay)
    };
    let (mut sound, mut odd) = (fed(""), fed("(fault: \"M8\", at: \"\", severity: 4.0)"));
    let (head, level) = (rest(&odd) - rest(&sound), run(&mut sound));
    // 0.775 m of diesel: a head that would hide a weak pump
    assert!((45.0..80.0).contains(&head), "{head}");
    let high = run(&mut odd);
    // the drop of the hose grows with the flow and eats it: at speed it draws deeper than the head lifts
    assert!(high < level + head - 30.0, "{high} against {level} and {head}");
    odd.act(&Action::Key { to: Key::Off });
    odd.advance_to(odd.now() + MINUTE);
    let seen = format!("{:?}", odd.act(&Action::Look { part: "container".into() }));
    assert!(seen.contains("higher than the tank") && seen.contains("long and narrow"), "{seen}");
    odd.advance_to(odd.now() + MINUTE);
    let cured = run(&mut odd);
    assert!((cured - level).abs() < 12.0, "{cured} for {level}");
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
