//! Sittings on vehicles of every archetype: key, load, levers, and the tests that split a supply. The ranges are the
//! training values of their cards.

mod meters;

use super::Bay;
use super::action::{Action, Micros, Perceived, SECOND};
use super::drive::{Drive, Fidelity};
use super::observation::{Answer, BreachClass, EngineRun};
use super::words::{self, Said, Terms};
use crate::fault::{FaultInstance, Modifier};
use crate::instrument::sight::{Gas, Grain};
use crate::language::said;
use crate::scenario::model::Job;
use crate::scenario::{Library, load_job, load_plant};
use crate::units::Span;

fn van() -> Job {
    load_job(&Library::builtin(), "nothing-wrong").expect("a built-in job").0
}

/// The built-in job with another vehicle in the van's place, stood for ten minutes.
fn with(plant: &str) -> Job {
    let plant = load_plant(&Library::builtin(), plant).expect("a built-in plant").0;
    let joints = plant.joints();
    Job { plant, joints, stood_s: 600.0, ..van() }
}

fn petrol() -> Job {
    with("a4-hatchback")
}

fn tractor() -> Job {
    with("a10-tractor")
}

fn action(job: &Job, bay: &Bay, line: &str) -> Action {
    match words::read(line, &Terms::of(job), bay.now()) {
        Ok(Some(Said::Do(action))) => action,
        other => panic!("{line}: {other:?}"),
    }
}

/// Does the lines; none may be refused. Gives what was said to the last.
#[track_caller]
fn does(job: &Job, bay: &mut Bay, lines: &str) -> String {
    let mut last = String::new();
    for line in lines.lines().map(str::trim).filter(|l| !l.is_empty()) {
        match bay.act(&action(job, bay, line)) {
            Answer::Done { says, .. } => last = says,
            Answer::Refused { because } => panic!("{line}: {because}"),
        }
    }
    last
}

#[track_caller]
fn refuses(job: &Job, bay: &mut Bay, line: &str, part: &str) {
    match bay.act(&action(job, bay, line)) {
        Answer::Refused { because } => assert!(because.contains(part), "{line}: {because}"),
        Answer::Done { says, .. } => panic!("{line} was done: {says}"),
    }
}

#[track_caller]
fn shows(bay: &Bay, low: f64, high: f64) {
    let mbar = bay.observe().gauge.expect("a gauge").mbar;
    assert!((low..=high).contains(&mbar), "{mbar} mbar at {}", bay.now() as f64 / 1e6);
}

const SAFE: &str =
    "safe protection\nsafe ventilation\nsafe extinguisher\nsafe chocks\nsafe drip-tray\nsafe pressure-away\n";

#[test]
fn an_electric_petrol_supply_primes_idles_and_holds() {
    let job = petrol();
    let mut bay = Bay::new(&job, 3).unwrap();
    // it ran ten minutes ago: the line kept its pressure
    assert!(bay.drive.highest_pressure(0) > 2e5, "{}", bay.drive.highest_pressure(0));
    assert!(bay.observe().cautions.iter().any(|c| c.starts_with("The line is under pressure")));
    does(&job, &mut bay, SAFE);
    assert!(bay.drive.highest_pressure(0) < 1e4);
    let says = does(&job, &mut bay, "fit rail-in");
    assert!(says.contains("valve on the engine side"), "{says}");
    does(&job, &mut bay, "range pressure\npurge\nzero\nkey on");
    assert!(bay.observe().sounds.contains(&said("bay-sound-relay")), "{:?}", bay.observe().sounds);
    does(&job, &mut bay, "wait 2");
    shows(&bay, 3500.0, 4400.0);
    does(&job, &mut bay, "wait 3");
    assert!(!bay.drive.pump_is_fed(0, 0), "priming ends by itself");
    does(&job, &mut bay, "crank 8\nwait 12");
    assert_eq!(bay.observe().engine, EngineRun::Steady);
    assert!(bay.drive.pump_is_fed(0, 0), "the engine's speed keeps it on");
    shows(&bay, 3600.0, 4300.0);
    let volts = does(&job, &mut bay, "volts \"battery +\" \"module plug feed side\"");
    assert!(volts.contains(" V."), "{volts}");
    does(&job, &mut bay, "record voltage 0.4 V within from \"card\"\nclamp fuel-pump\nsnap");
    let amps = bay.observe().clamp.expect("a clamp").1;
    assert!((3.0..10.0).contains(&amps), "{amps} A");
    does(&job, &mut bay, "note pump hum\nspeed raised\nload 1\nwait 5");
    shows(&bay, 3300.0, 4300.0);
    assert!(bay.observe().load > 0.99);
    does(&job, &mut bay, "load 0\nidle\nwait 5\nkey off\nwait 60");
    shows(&bay, 3000.0, 4400.0);
    // shut on the engine side, the pump shows what its regulator lets it
    does(&job, &mut bay, "valve shut\nbridge fuel-pump on\nwait 3");
    shows(&bay, 3700.0, 4700.0);
    does(&job, &mut bay, "wait 12\nbridge fuel-pump off\nvalve open");
    assert!(bay.breaches().iter().any(|b| b.rule == "dead-head-long"), "{:?}", bay.breaches());
    let critical = bay.breaches().iter().filter(|b| b.class == BreachClass::Critical).count();
    assert_eq!(critical, 0, "{:?}", bay.breaches());
}

#[test]
fn petrol_is_delivered_and_guarded() {
    let job = petrol();
    let mut bay = Bay::new(&job, 3).unwrap();
    refuses(&job, &mut bay, "drawdown", "Not on petrol");
    refuses(&job, &mut bay, "pinch feed-line on", "isn't soft");
    refuses(&job, &mut bay, "returnflow 30", "must run");
    does(&job, &mut bay, SAFE);
    let says = does(&job, &mut bay, "deliver rail-in 30");
    let ml: f64 = says.replace('\u{2009}', "").split(' ').next().unwrap().parse().expect(&says);
    assert!((500.0..1500.0).contains(&ml), "{says}");
    does(
        &job,
        &mut bay,
        "record volume 0,9 l not-proven\nbattery\nlisten fuel-pump\ncodes\nsafe pressure-away\nplug rail-in",
    );
    assert_eq!(bay.sheet().len(), 1);
    // the way to the rail is plugged: the engine can't run for long
    does(&job, &mut bay, "key on\ncrank 10\nwait 15");
    assert_ne!(bay.observe().engine, EngineRun::Steady);
    does(&job, &mut bay, "key off\nhandback");
    assert!(bay.breaches().iter().any(|b| b.rule == "line-blocked-at-hand-back"));

    let mut careless = Bay::new(&job, 3).unwrap();
    does(&job, &mut careless, "fit rail-in");
    let rules: Vec<&str> = careless.breaches().iter().map(|b| b.rule.as_str()).collect();
    assert_eq!(&rules[..2], ["petrol-spray", "petrol-indoors"], "{rules:?}");
}

#[test]
fn a_gravity_fed_tractor_runs_until_its_tap_is_shut() {
    let job = tractor();
    let mut bay = Bay::new(&job, 5).unwrap();
    does(&job, &mut bay, SAFE);
    let says = does(&job, &mut bay, "fit pump-out");
    assert!(says.contains("pump's side"), "{says}");
    does(&job, &mut bay, "purge\nzero\nwait 5");
    shows(&bay, 20.0, 400.0);
    does(&job, &mut bay, "key on\ncrank 8\nwait 20");
    assert_eq!(bay.observe().engine, EngineRun::Steady);
    shows(&bay, 150.0, 460.0);
    does(&job, &mut bay, "tap fuel-tap shut");
    assert_eq!(bay.observe().taps[0].1, 1.0, "the lever takes its time");
    does(&job, &mut bay, "wait 240");
    assert_ne!(bay.observe().engine, EngineRun::Steady);
    does(&job, &mut bay, "key off\ntap tap open\nwait 5");
    refuses(&job, &mut bay, "listen lift-pump", "no electric pump");
    refuses(&job, &mut bay, "tap filter open", "no valve");
}

#[test]
fn the_tests_that_split_work_on_the_van() {
    let job = van();
    let mut bay = Bay::new(&job, 11).unwrap();
    does(&job, &mut bay, SAFE);
    assert!(does(&job, &mut bay, "sample").contains("of 70 l"));
    does(&job, &mut bay, "note sample clear\nrecord level 270 mm within from \"stick\"");
    let says = does(&job, &mut bay, "battery");
    assert!(says.contains("at rest") && bay.observe().engine == EngineRun::Off, "{says}");
    assert!(does(&job, &mut bay, "codes").starts_with("No trouble code"));
    refuses(&job, &mut bay, "read sensor", "no sensor");
    refuses(&job, &mut bay, "airtest", "hasn't switched on");
    refuses(&job, &mut bay, "drawdown", "Fit the tee");
    does(&job, &mut bay, "safe pressure-away\nfit pump-in\nsecond filter-in\npurge\nzero");
    refuses(&job, &mut bay, "drawdown", "Shut the tee's valve");
    does(&job, &mut bay, "valve shut\nwait 1");
    let says = does(&job, &mut bay, "drawdown");
    let held = bay.observe().gauge.unwrap().mbar;
    assert!(held < -500.0, "{says}: {held}");
    does(&job, &mut bay, "valve open\nkey on\ncrank 8\nwait 20\nread second");
    let observation = bay.observe();
    let (second, tee) = (observation.second.unwrap().1, observation.gauge.unwrap().mbar);
    assert!(second > tee + 5.0, "the filter lies between: {second} and {tee}");
    assert!(does(&job, &mut bay, "returnflow 30").contains("came back"));
    does(&job, &mut bay, "thermometer filter\nwarm filter\nwiggle filter\ntilt 10\ntilt 0");
    does(&job, &mut bay, "key off\nsafe pressure-away\nplug filter-in\nkey on\ncrank 5\nwait 60");
    assert_ne!(bay.observe().engine, EngineRun::Steady, "the way is plugged");
    does(&job, &mut bay, "key off\nplug off\nsecond off");
    assert!(bay.observe().left_on.is_empty());
}

#[test]
fn every_archetype_starts_idles_and_stops() {
    for name in
        ["a2-estate", "a3-minibus", "a5-coupe", "a6-saloon", "a7-truck", "a8-genset", "a9-boat", "a10-petrol"]
    {
        let job = with(name);
        let mut bay = Bay::new(&job, 2).unwrap_or_else(|e| panic!("{name}: {e}"));
        does(&job, &mut bay, "safe ventilation\nsafe chocks\nkey on\nwait 3\ncrank 12\nwait 30");
        let seen = bay.observe();
        assert_eq!(seen.engine, EngineRun::Steady, "{name} at {} 1/min", seen.rpm);
        assert!((seen.rpm - bay.idle_speed()).abs() < 40.0, "{name}: {} 1/min", seen.rpm);
        does(&job, &mut bay, "snap\nkey off\nwait 10");
        assert_eq!(bay.observe().engine, EngineRun::Off, "{name}");
        assert!(!bay.drive.engine_turns(0), "{name}");
    }
}

#[test]
fn what_was_written_of_an_old_part_isnt_told_of_the_new_one() {
    let job = van();
    let mut bay = Bay::new(&job, 3).unwrap();
    let old = does(&job, &mut bay, "look filter");
    assert_eq!(old, job.looks.iter().find(|l| l.part == "filter").unwrap().sees);
    let remade = does(&job, &mut bay, "safe pressure-away\nrepair filter reseal\nlook filter");
    assert_eq!(remade, old, "seals change nothing of it");
    assert!(does(&job, &mut bay, "repair filter clean\nlook filter").contains("is clean now"));
    assert!(does(&job, &mut bay, "repair filter replace\nlook filter").contains("is new"));
}

#[test]
fn a_boat_is_told_of_as_a_boat_and_a_vehicle_that_stood_as_one_that_stood() {
    let told = |job: &Job| {
        let mut bay = Bay::new(job, 3).unwrap();
        ["safe ventilation", "safe chocks\ntilt 10", "tilt -5", "tilt 0", "safe pressure-away"]
            .map(|l| does(job, &mut bay, l))
    };
    let [air, up, down, level, stood] = told(&with("a9-boat"));
    assert!(air.contains("bilge") && level == "The boat lies level.", "{air} {level}");
    assert_eq!([up, down], ["The boat lies 10 degrees bow up.", "The boat lies 5 degrees bow down."]);
    assert!(stood.starts_with("The engine hasn't turned here yet"), "{stood}");
    let [air, up, ..] = told(&van());
    assert!(!air.contains("bilge"), "{air}");
    assert_eq!(up, "The vehicle stands 10 degrees nose up.");
}

#[test]
fn what_was_listened_to_is_what_is_written_down_afterwards() {
    let job = with("a5-coupe");
    let mut bay = Bay::new(&job, 3).unwrap();
    assert_eq!(bay.perceived(Perceived::Pump), Ok("silent"));
    assert!(does(&job, &mut bay, "listen \"fuel pump\"").contains("hum"));
    assert_eq!(bay.drive.key(), super::action::Key::Off);
    assert_eq!(bay.perceived(Perceived::Pump), Ok("hum"), "the key is off again");
    does(&job, &mut bay, "note pump hum");
    assert_eq!(bay.drive.words(0), [Some("hum")]);
}

#[test]
fn pressure_that_came_back_is_let_away_again() {
    let job = with("a5-coupe");
    let mut bay = Bay::new(&job, 3).unwrap();
    let warned = |bay: &Bay| bay.observe().cautions.iter().any(|c| c.contains("under pressure"));
    does(&job, &mut bay, "safe ventilation\nsafe pressure-away\nkey on\nwait 3\nkey off");
    assert!(warned(&bay), "{:?}", bay.observe().cautions);
    let says = does(&job, &mut bay, "safe pressure-away");
    assert!(!warned(&bay) && !says.contains("already"), "{says}");
    assert!(does(&job, &mut bay, "safe pressure-away").contains("already"));
}

/// Fewer samples are kept the longer nothing happens. At even distances each would meet the pump's strokes a little later
/// than the one before, and their ripple would be written as a slow swing that isn't there.
#[test]
fn samples_far_apart_write_no_swing_that_isnt_there() {
    let job = with("a9-boat");
    let mut bay = Bay::new(&job, 3).unwrap();
    let run = "safe ventilation\nsafe chocks\nsafe pressure-away\nfit \"pump in\"\npurge\nzero\nkey on\ncrank 12\nwait 20\nspeed raised";
    does(&job, &mut bay, run);
    let begin = bay.now();
    bay.advance_to(begin + 500 * SECOND);
    let far = bay.trace.at.iter().position(|at| *at > begin + 200 * SECOND).unwrap();
    let (at, mbar) = (&bay.trace.at[far..], &bay.trace.mbar[far..]);
    let apart: std::collections::BTreeSet<Micros> = at.windows(2).map(|w| w[1] - w[0]).collect();
    assert!(apart.len() > 5 && at.len() > 1400, "{} samples, {apart:?}", at.len());
    // a swing would make each sample like the one a few further on, whichever lag is looked at
    let mean = mbar.iter().sum::<f64>() / mbar.len() as f64;
    let like = |lag: usize| mbar.iter().zip(&mbar[lag..]).map(|(a, b)| (a - mean) * (b - mean)).sum::<f64>();
    let most = (1..12).map(|lag| like(lag).abs() / like(0)).fold(0.0, f64::max);
    assert!(most < 0.35, "{most}");
}

#[test]
fn the_air_of_a_tee_that_was_not_purged_came_from_outside() {
    let job = van();
    let mut bay = Bay::new(&job, 3).unwrap();
    does(&job, &mut bay, "safe pressure-away\nfit \"pump in\"");
    // some of it goes on with the fuel
    does(&job, &mut bay, "key on\nprime 6");
    let seen = bay.drive.sight(0, 0.0).unwrap();
    assert!(seen.gas > Gas::Clear && seen.gas < Gas::Empty, "{seen:?}");
    assert_eq!(seen.grain, Some(Grain::Uneven), "fine bubbles would have come out of the fuel");
}

/// An intermittent plugged filter, so that the vehicle is built anew again and again.
fn flickering() -> FaultInstance {
    let dwell =
        Modifier::Intermittent { by: crate::fault::modifier::Cause::Dwell, share: 0.5, dwell: Span::from_si(3.0) };
    FaultInstance { modifiers: vec![dwell], ..FaultInstance::new("F15", "filter", 4.0) }
}

#[test]
fn an_intermittent_fault_comes_and_goes_however_time_is_sliced() {
    let job = van();
    let fault = [flickering()];
    let fresh = || Drive::<1>::new(&job.plant, job.stood_s, [(7, &fault)], Fidelity::Watched, vec![]).unwrap();
    let end = 40 * SECOND;
    let run = |drive: &mut Drive<1>, slice: Micros| {
        drive.apply(&super::drive::op::Op::Key { to: super::action::Key::On }).unwrap();
        drive.apply(&super::drive::op::Op::Crank { secs: 8.0 }).unwrap();
        let mut flows = vec![];
        let mut t = 0;
        while t < end {
            t = (t + slice).min(end);
            drive.advance_to(t);
            if t % (2 * SECOND) == 0 {
                flows.push(drive.gauge_at(0, "pump in").unwrap().to_bits());
            }
        }
        flows
    };
    let (mut coarse, mut fine) = (fresh(), fresh());
    let (a, b) = (run(&mut coarse, 2 * SECOND), run(&mut fine, SECOND / 50));
    assert_eq!(a, b);
    let levels: Vec<f64> = a.iter().skip(8).map(|bits| f64::from_bits(*bits)).collect();
    let (low, high) = levels.iter().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
    assert!(high - low > 5000.0, "the filter ought to come and go: {low} … {high}");
}

#[test]
fn a_sitting_with_the_new_tests_replays_to_the_bit() {
    let job = petrol();
    let mut bay = Bay::new(&job, 9).unwrap();
    refuses(&job, &mut bay, "snap", "doesn't run");
    refuses(&job, &mut bay, "range suction", "already");
    assert_eq!(bay.ops(), []);
    let mut traces = vec![];
    for _ in 0..2 {
        let mut bay = Bay::new(&job, 9).unwrap();
        does(&job, &mut bay, SAFE);
        does(
            &job,
            &mut bay,
            "fit rail-in\nrange pressure\npurge\nzero\nkey on\ncrank 8\nwait 5\nsnap\nkey off\nwait 20",
        );
        traces.push((bay.trace().hash(), bay.now()));
    }
    assert_eq!(traces[0], traces[1]);
}

/// The built-in job on another vehicle, with faults.
fn sick(plant: &str, faults: &[(&str, &str, f64)]) -> Job {
    let list = faults.iter().map(|(code, at, severity)| FaultInstance::new(code, at, *severity)).collect();
    Job { hidden: crate::scenario::model::Secret(list), ..with(plant) }
}

/// The number of the last meter.
fn last(bay: &Bay) -> f64 {
    bay.observe().meters.last().expect("a meter").value
}

#[test]
fn a_reading_depends_on_what_is_done_and_on_nothing_else() {
    let job = petrol();
    let run = |before: &str| {
        let mut bay = Bay::new(&job, 9).unwrap();
        does(&job, &mut bay, SAFE);
        does(&job, &mut bay, "key on\ncrank 8\nwait 30");
        does(&job, &mut bay, before);
        does(&job, &mut bay, "clampzero\nclamp fuel-pump");
        let first = last(&bay);
        does(&job, &mut bay, "clamp fuel-pump");
        (first, last(&bay))
    };
    // what else was measured before changes nothing, the second reading is another draw of the noise
    assert_eq!(run("volts \"battery +\" \"battery −\"\nthermometer rail-in"), run("wait 240"));
    let tens: Vec<f64> = {
        let mut bay = Bay::new(&job, 9).unwrap();
        does(&job, &mut bay, SAFE);
        does(&job, &mut bay, "key on\ncrank 8\nwait 30");
        (0..10)
            .map(|_| {
                does(&job, &mut bay, "thermometer fuel-pump");
                last(&bay)
            })
            .collect()
    };
    assert!(tens.windows(2).any(|w| w[0] != w[1]), "{tens:?}");
}

#[test]
fn a_clamp_that_was_never_zeroed_shows_current_where_none_flows() {
    let job = petrol();
    let (mut raw, mut zeroed, mut late) = (0.0_f64, 0.0_f64, 0.0_f64);
    for seed in 0..6 {
        let mut bay = Bay::new(&job, seed).unwrap();
        let mut reads = |line: &str| {
            does(&job, &mut bay, line);
            does(&job, &mut bay, "clamp fuel-pump");
            last(&bay).abs()
        };
        raw = raw.max(reads("wait 1"));
        zeroed = zeroed.max(reads("clampzero"));
        late = late.max(reads("wait 2400"));
    }
    assert!(raw > 0.05 && late > 0.05, "{raw} {late}");
    assert!(zeroed < 0.04, "{zeroed}");
}

#[test]
fn a_fast_record_tells_a_worn_stage_from_a_worn_commutator() {
    let record = |faults: &[(&str, &str, f64)]| {
        let job = sick("a4-hatchback", faults);
        let mut bay = Bay::new(&job, 4).unwrap();
        does(&job, &mut bay, SAFE);
        does(&job, &mut bay, "bridge fuel-pump on\nwait 5\nclampzero");
        let says = does(&job, &mut bay, "capture fuel-pump");
        let values = ["mean", "swing", "uneven"].map(|word| {
            does(&job, &mut bay, &format!("read {word}"));
            last(&bay)
        });
        (says, values)
    };
    let (says, [amps, swing, uneven]) = record(&[]);
    assert!(says.contains("By the ripple's count"), "{says}");
    assert!((3.5..9.0).contains(&amps), "{says}");
    assert!((0.05..0.12).contains(&(swing / amps)), "{says}");
    assert!(uneven < 1.0, "{says}");
    let (worn, [worn_amps, _, stage]) = record(&[("F17", "fuel pump", 3.0)]);
    assert!(stage > 1.5 && stage > 3.0 * uneven && worn_amps > 0.85 * amps, "{worn}");
    let (dead, [dead_amps, dead_swing, segment]) = record(&[("F19", "fuel pump", 4.0)]);
    assert!(segment > 15.0 && dead_amps < 0.8 * amps && dead_swing > 2.0 * swing, "{dead}");
}

#[test]
fn an_inrush_wants_the_large_range() {
    let job = petrol();
    let mut bay = Bay::new(&job, 4).unwrap();
    does(&job, &mut bay, SAFE);
    let says = does(&job, &mut bay, "clampzero large\ncapture fuel-pump start\nread peak");
    let large = last(&bay);
    does(&job, &mut bay, "read mean");
    let runs = last(&bay);
    assert!(!says.contains("Over range") && large > 2.5 * runs, "{large} and {runs}: {says}");
    let says = does(&job, &mut bay, "wait 20\nclampzero\ncapture fuel-pump start\nread peak");
    let small = last(&bay);
    // twenty ampere is the end of its range: flat, and told
    assert_eq!(says.contains("Over range"), small >= 20.0, "{says}");
    assert!((small - large.min(20.0)).abs() < 1.5, "{small} for {large}");
    refuses(&job, &mut bay, "capture strainer", "no electric pump");
}

#[test]
fn more_than_the_jar_holds_is_no_measurement() {
    let job = petrol();
    let mut bay = Bay::new(&job, 3).unwrap();
    does(&job, &mut bay, SAFE);
    let says = does(&job, &mut bay, "deliver rail-in 120 free");
    assert!(says.contains("ran over"), "{says}");
    assert!(bay.observe().meters.last().unwrap().over_range);
}

#[test]
fn a_diaphragm_pump_beats_at_the_tee_and_a_leaking_one_weakly() {
    // scatter of the trace at idle, of which the noise is the smaller part
    let beats = |faults: &[(&str, &str, f64)]| {
        let job = sick("a10-tractor", faults);
        let mut bay = Bay::new(&job, 5).unwrap();
        does(&job, &mut bay, SAFE);
        does(&job, &mut bay, "fit pump-out\npurge\nzero\nkey on\ncrank 8\nwait 30");
        let to = bay.now();
        let samples: Vec<f64> = bay.trace().range(to - 4 * SECOND, to).map(|i| bay.trace().mbar[i]).collect();
        let mean = samples.iter().sum::<f64>() / samples.len() as f64;
        (samples.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / samples.len() as f64).sqrt()
    };
    let (sound, torn) = (beats(&[]), beats(&[("F20", "lift pump", 4.0)]));
    assert!(sound > 2.0, "{sound}");
    assert!(torn < 0.75 * sound, "{torn} against {sound}");
}

#[test]
fn clamp_and_second_transducer_are_written_down_without_a_tee_and_leave_the_trace_alone() {
    let job = petrol();
    let mut bay = Bay::new(&job, 3).unwrap();
    does(&job, &mut bay, SAFE);
    does(&job, &mut bay, "key on\ncrank 8\nwait 5\nclamp fuel-pump\nwait 5");
    assert!(bay.trace().is_empty());
    let shown = bay.beside().amps.iter().filter(|amps| amps.is_finite()).count();
    assert!(shown > 200, "{shown} samples of the current in five seconds");
    assert!(bay.beside().at.is_sorted());
}
