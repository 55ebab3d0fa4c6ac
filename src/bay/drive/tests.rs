//! A drive beside the bay whose ops it goes through, and lanes beside vehicles driven alone.

use super::op::{Op, Timed};
use super::{Drive, Fidelity};
use crate::bay::Bay;
use crate::bay::action::{Action, Key, Perceived, Remedy, SECOND};
use crate::bay::observation::Answer;
use crate::bay::words::{self, Said, Terms};
use crate::fault::FaultInstance;
use crate::scenario::model::Job;
use crate::scenario::{Library, load_job};

/// Every kind of work, on a vehicle with hidden faults and on a sound one.
const WORK: &str = "\
cap open
note cap silent
cap shut
prime 8
note primer firm
safe pressure-away
fit filter-in old-seals
purge
zero
key on
crank 8
wait 20
note glass bubbles
note engine steady
speed raised
wait 10
valve shut
wait 2
valve open
idle
wait 10
key off
wait 60
fit pump-in
zero
container filter-in
key on
crank 3
wait 8
key off
container back
repair filter replace
bleed
remove
leakcheck
";

fn job(name: &str) -> Job {
    load_job(&Library::builtin(), name).expect("a built-in job").0
}

/// Does the work; calls back after each line.
fn work(job: &Job, bay: &mut Bay, mut each: impl FnMut(&Bay)) {
    let terms = Terms::of(job);
    for line in WORK.lines() {
        let Ok(Some(Said::Do(action))) = words::read(line, &terms, bay.now()) else { panic!("{line}") };
        if let Answer::Refused { because } = bay.act(&action) {
            panic!("{line}: {because}");
        }
        each(bay);
    }
}

/// The window keeps a sitting where several threads may look at it.
const _: fn() = || {
    fn shared<T: Send + Sync>() {}
    shared::<Bay>();
};

fn bits(values: &[f64]) -> Vec<u64> {
    values.iter().map(|v| v.to_bits()).collect()
}

/// State, kept words and what the senses say of one vehicle.
fn all_of<const L: usize>(drive: &Drive<L>, lane: usize) -> (Vec<u64>, Vec<Option<&'static str>>, String) {
    let senses = format!(
        "{:?} {:?} {:?} {:?}",
        drive.engine_run(lane),
        drive.primer(lane),
        drive.cap(lane),
        drive.gas_in_glass(lane)
    );
    let states: Vec<f64> = drive.states().iter().map(|v| v.0[lane]).collect();
    (bits(&states), drive.words(lane).to_vec(), senses)
}

#[test]
fn a_drive_through_a_bays_ops_is_where_the_bay_is_after_each_of_them() {
    let job = job("primer-air");
    let mut bay = Bay::new(&job, 7).unwrap();
    let mut drive =
        Drive::<1>::new(&job.plant, job.stood_s, [(7, &job.hidden.0)], Fidelity::Watched, vec![]).unwrap();
    let mut gone_through = 0;
    work(&job, &mut bay, |bay| {
        drive.go_through(&bay.ops()[gone_through..]).unwrap();
        gone_through = bay.ops().len();
        drive.advance_to(bay.now());
        assert_eq!(all_of(&drive, 0), all_of(&bay.drive, 0), "at {}", bay.now());
    });
    assert!(bay.ops().windows(2).all(|w| w[0].at <= w[1].at));
    assert_eq!(drive.words(0).len(), 4);
}

#[test]
fn a_probed_gauge_shows_what_the_logger_stored() {
    let job = job("nothing-wrong");
    let mut bay = Bay::rehearsal(&job).unwrap();
    work(&job, &mut bay, |_| ());
    let trace = bay.trace();
    let (at, mbar): (Vec<u64>, Vec<f64>) =
        trace.at.iter().copied().zip(trace.mbar.iter().copied()).filter(|(_, v)| v.is_finite()).unzip();
    assert!(at.len() > 10_000, "{}", at.len());
    let mut drive = Drive::<1>::new(&job.plant, job.stood_s, [(0, &[])], Fidelity::Reference, at.clone()).unwrap();
    drive.go_through(bay.ops()).unwrap();
    drive.advance_to(bay.now());
    assert_eq!(drive.looked(), at);
    assert_eq!(bits(drive.levels(0)), bits(&mbar));
}

/// Four vans whose pump inlet lets in air: from a trace to so much that the engine dies.
fn four_leaks() -> [(u64, [FaultInstance; 1]); 4] {
    [1.0, 2.5, 4.0, 5.0].map(|severity| (severity as u64, [FaultInstance::new("F09", "pump in", severity)]))
}

/// Lanes share their steps, so that company moves a reading within the tolerance of a reference vehicle,
/// and no further.
#[test]
fn a_lane_is_the_vehicle_driven_alone() {
    let job = job("nothing-wrong");
    let mut bay = Bay::rehearsal(&job).unwrap();
    work(&job, &mut bay, |_| ());
    let probes: Vec<u64> = (0..bay.now() / SECOND).map(|s| s * SECOND).collect();
    let leaks = four_leaks();
    let through = |drive: &mut dyn FnMut(&[Timed])| drive(bay.ops());
    let mut together = Drive::<4>::new(
        &job.plant,
        job.stood_s,
        leaks.each_ref().map(|(seed, faults)| (*seed, faults.as_slice())),
        Fidelity::Reference,
        probes.clone(),
    )
    .unwrap();
    through(&mut |ops| together.go_through(ops).unwrap());
    for (lane, (seed, faults)) in leaks.iter().enumerate() {
        let mut alone =
            Drive::<1>::new(&job.plant, job.stood_s, [(*seed, faults)], Fidelity::Reference, probes.clone())
                .unwrap();
        through(&mut |ops| alone.go_through(ops).unwrap());
        assert_eq!(together.looked(), alone.looked());
        let pairs = together.levels(lane).iter().zip(alone.levels(0));
        let apart = pairs.filter(|(a, b)| (**a - **b).abs() > 1.0).count();
        assert!(apart * 100 < alone.levels(0).len(), "lane {lane}: {apart} of {} readings", alone.levels(0).len());
        assert_eq!(together.words(lane), alone.words(0), "lane {lane}");
    }
    assert_ne!(together.words(0), together.words(3), "the vehicles ought to differ");
}

#[test]
fn what_makes_no_sense_at_a_vehicle_does_nothing_there() {
    let job = job("nothing-wrong");
    let fresh = || Drive::<1>::new(&job.plant, job.stood_s, [(0, &[])], Fidelity::Reference, vec![]).unwrap();
    let (mut left_alone, mut bothered) = (fresh(), fresh());
    for op in [
        Op::Stand,
        Op::Speed { rpm: 2000.0 },
        Op::Valve { open: 0.0 },
        Op::TakeTee { new_seals: false },
        Op::Key { to: Key::Off },
    ] {
        bothered.apply(&op).unwrap();
    }
    for drive in [&mut left_alone, &mut bothered] {
        drive.advance_to(20 * SECOND);
    }
    assert_eq!(all_of(&left_alone, 0), all_of(&bothered, 0));
    // a starter that turns already isn't put in again
    let mut cranked = fresh();
    for drive in [&mut left_alone, &mut cranked] {
        drive.apply(&Op::Crank { secs: 2.0 }).unwrap();
        drive.advance_to(21 * SECOND);
    }
    cranked.apply(&Op::Crank { secs: 60.0 }).unwrap();
    for drive in [&mut left_alone, &mut cranked] {
        drive.advance_to(60 * SECOND);
    }
    assert_eq!(left_alone.engine_run(0), cranked.engine_run(0));
}

#[test]
fn a_refused_action_leaves_no_op() {
    let job = job("nothing-wrong");
    let mut bay = Bay::rehearsal(&job).unwrap();
    for action in [
        Action::Speed { rpm: 2000.0 },
        Action::Crank { secs: 5.0 },
        Action::Valve { open: 0.0 },
        Action::Purge,
        Action::Zero,
        Action::RemoveTee { new_seals: true },
        Action::Cap { open: false },
        Action::Container { joint: None },
        Action::Repair { part: "no such part".into(), remedy: Remedy::Clean },
        Action::Note { what: Perceived::Glass, seen: "clear".into() },
    ] {
        assert!(matches!(bay.act(&action), Answer::Refused { .. }), "{action:?}");
        assert_eq!(bay.ops(), [], "{action:?}");
    }
}

#[test]
fn ops_survive_a_round_trip() {
    let job = job("bypass-puff");
    let mut bay = Bay::rehearsal(&job).unwrap();
    work(&job, &mut bay, |_| ());
    let text = serde_json::to_string(bay.ops()).unwrap();
    let back: Vec<Timed> = serde_json::from_str(&text).unwrap();
    assert_eq!(back, bay.ops());
    // the work holds every kind of op, so that none was left out here
    let mut kinds: Vec<String> = back
        .iter()
        .map(|timed| serde_json::to_value(&timed.op).unwrap()["op"].as_str().unwrap().to_owned())
        .collect();
    kinds.sort();
    kinds.dedup();
    assert_eq!(kinds.len(), 17, "{kinds:?}");
}

#[test]
fn an_engine_that_runs_down_burns_nothing() {
    let job = job("nothing-wrong");
    let mut drive = Drive::<1>::new(&job.plant, job.stood_s, [(3, &[])], Fidelity::Watched, vec![]).unwrap();
    let burned = |drive: &Drive<1>| drive.state(0, drive.net().top.ledgers.burned);
    drive.apply(&Op::Key { to: Key::On }).unwrap();
    drive.apply(&Op::Crank { secs: 8.0 }).unwrap();
    drive.advance_to(20 * SECOND);
    let before = burned(&drive);
    drive.advance_to(21 * SECOND);
    let at_off = burned(&drive);
    assert!(at_off - before > 0.3, "idle burns {} mL in a second", at_off - before);
    drive.apply(&Op::Key { to: Key::Off }).unwrap();
    drive.advance_to(21 * SECOND + SECOND / 5);
    assert!(drive.rpm(0) > 100.0, "it still turns");
    drive.advance_to(25 * SECOND);
    assert!(burned(&drive) - at_off < 1e-6, "{}", burned(&drive) - at_off);
    // held back for a test, the starter alone turns it, and the key lets nothing through
    drive.apply(&Op::HoldBack { on: true }).unwrap();
    drive.apply(&Op::Key { to: Key::On }).unwrap();
    drive.apply(&Op::Crank { secs: 3.0 }).unwrap();
    drive.advance_to(30 * SECOND);
    assert!(burned(&drive) - at_off < 1e-6, "{}", burned(&drive) - at_off);
    drive.apply(&Op::HoldBack { on: false }).unwrap();
    drive.apply(&Op::Crank { secs: 8.0 }).unwrap();
    drive.advance_to(40 * SECOND);
    assert!(burned(&drive) - at_off > 1.0, "let go, it starts again");
}

/// A petrol line past the manifold after a hill, the engine stopped: what the tank gained in half an hour, what the
/// vessels between it and the engine hold, which of them lacks most of its volume, and the solver's tries.
fn hot_stop(severity: f64) -> (f64, f64, f64, u64) {
    let job = job("spring-heatwave");
    let faults = [FaultInstance::new("F12", "tank line", severity)];
    let mut drive =
        Drive::<1>::new(&job.plant, job.stood_s, [(3, faults.as_slice())], Fidelity::Reference, vec![]).unwrap();
    let at = |s: u64, op: Op| Timed { at: s * SECOND, op };
    let ops = [
        at(1, Op::Key { to: Key::On }),
        at(1, Op::Crank { secs: 10.0 }),
        at(30, Op::Speed { rpm: 1600.0 }),
        at(31, Op::Load { share: 0.8 }),
        at(600, Op::Load { share: 0.0 }),
        at(601, Op::Key { to: Key::Off }),
    ];
    drive.go_through(&ops).unwrap();
    drive.advance_to(605 * SECOND);
    let tank = drive.net().top.reservoirs[0].v;
    let (before, tries) = (drive.state(0, tank), |drive: &Drive<1>| drive.work().steps + drive.work().rejected);
    let begun = tries(&drive);
    let mut lacks = 0.0_f64;
    for minute in 1..=30 {
        drive.advance_to((605 + 60 * minute) * SECOND);
        for vessel in &drive.net().top.vessels {
            lacks = lacks.max(-drive.state(0, vessel.x) / drive.net().at(vessel.volume).0[0]);
        }
    }
    let holds = drive.net().top.vessels.iter().map(|v| drive.net().at(v.volume).0[0]).sum();
    (drive.state(0, tank) - before, holds, lacks, tries(&drive) - begun)
}

#[test]
fn a_line_that_boils_gives_back_what_it_held_and_no_more() {
    for severity in [1.5, 2.5, 3.5] {
        let (gained, holds, lacks, tries) = hot_stop(severity);
        assert!(gained > 0.0 && gained < holds, "{severity}: {gained} mL of {holds}");
        assert!(lacks < 2.0, "{severity}: a vessel lacks {lacks} of its volume");
        // with a vapour pressure that went in steps of a tenth of a kelvin each of them rang: some thousands
        assert!(tries < 1000, "{severity}: {tries} tries in half an hour");
    }
}

#[test]
fn a_tank_that_is_filled_beyond_its_brim_runs_over() {
    let job = job("bypass-puff");
    let none: &[FaultInstance] = &[];
    let mut drive = Drive::<1>::new(&job.plant, job.stood_s, [(3, none)], Fidelity::Reference, vec![]).unwrap();
    let tank = &drive.net().top.reservoirs[0];
    let (v, air, capacity) = (tank.v, tank.m, drive.net().at(tank.capacity).0[0]);
    drive.set_state(0, v, capacity - 1.0);
    drive.set_state(0, air, 1.0);
    drive.advance_to(drive.now() + 10 * SECOND);
    let lost = drive.state(0, drive.net().top.ledgers.lost);
    assert!((15.0..30.0).contains(&lost), "{lost} mL ran over");
    assert_eq!(drive.work().forced, 0);
}
