//! Sittings on vehicles of other archetypes than the van: an electric petrol supply and a gravity-fed diaphragm pump,
//! reduced to what the bay has to drive. Invented vehicles, training values.

use super::Bay;
use super::action::{Action, Micros, SECOND};
use super::drive::{Drive, Fidelity};
use super::observation::{Answer, BreachClass, EngineRun};
use super::words::{self, Said, Terms};
use crate::fault::{FaultInstance, Modifier};
use crate::fluid::{Blend, FuelClass};
use crate::plant::service::Service;
use crate::plant::{Filling, Node, Part, Plant};
use crate::scenario::model::Job;
use crate::scenario::{Library, load_job};
use crate::units::{Length, Span, Temperature};

const PETROL_NODES: &str = r#"[
    (name: "tank", height: m(0)),
    (name: "pump in", height: mm(40), volume: ml(18), place: Tank),
    (name: "module", height: m(0.25), volume: ml(40), place: Tank, joint: "outlet of the module"),
    (name: "rail in", height: m(0.55), volume: ml(62), joint: "rail inlet"),
    (name: "rail", height: m(0.6)),
]"#;

const PETROL_PARTS: &str = r#"[
    (name: "tank", label: "fuel tank", is: Tank(
        outlet: "tank", capacity: l(55), fill: l(28), area: m2(0.14), pickup: mm(15), vent: l_per_min(24))),
    (name: "strainer", label: "strainer", is: Strainer(
        from: "tank", to: "pump in", clean: (drop: mbar(7), at: l_per_h(108), laminar: 0.27))),
    (name: "pump", label: "fuel pump", price: 160, minutes: 60, is: ElectricPump(
        from: "pump in", to: "module", tank: "tank", stage: Turbine,
        displacement: ml_per_turn(0.4), slip: 1.9e-5, relief_opens: bar(6.3), relief_slope: 0.0009, seat_leak: 1.5e-10,
        winding: ohm(0.42), inductance: 0.0006, constant: 0.0122, brushes: V(0.9), inertia: 6e-6,
        dry_friction: 0.009, wet_friction: 3.4e-5,
        feed: [(name: "relay out", ohm: ohm(0.05)), (name: "pump +", ohm: ohm(0.03))],
        earth: [(name: "pump -", ohm: ohm(0.04))],
        command: KeyAndEngine(prime: s(2)))),
    (name: "regulator", label: "regulator in the module", is: Relief(
        from: "module", to: "tank", opens: bar(3.75), slope: 0.0016, leak: 1e-11)),
    (name: "feed line", label: "feed line", is: Line(
        from: "module", to: "rail in", length: m(3.4), bore: mm(6.5), wall: per_Pa(1.2e-9))),
    (name: "rail hose", label: "hose to the rail", is: Line(
        from: "rail in", to: "rail", length: m(0.4), bore: mm(6.5), wall: per_Pa(2e-9), squeezed_at: Pa(60000))),
    (name: "engine", label: "engine", is: Engine(
        gallery: "rail", volume: ml(75), wall: per_Pa(1.8e-9),
        demand: ml_per_s(0.25), demand_with_speed: ml_per_s(0.62), demand_with_load: 3.0,
        starves_at: Pa(220000), starves_over: Pa(40000), lag: s(0.3),
        starter: rpm(210), idle: rpm(780), raised: rpm(2500))),
]"#;

const TRACTOR_NODES: &str = r#"[
    (name: "tank", height: m(0.9)),
    (name: "tap out", height: m(0.8), volume: ml(4)),
    (name: "bowl", height: m(0.5), volume: ml(40)),
    (name: "pump out", height: m(0.4), volume: ml(20), joint: "lift pump outlet"),
    (name: "filter out", height: m(0.5), volume: ml(10)),
    (name: "injection", height: m(0.5)),
]"#;

const TRACTOR_PARTS: &str = r#"[
    (name: "tank", label: "fuel tank", is: Tank(
        outlet: "tank", capacity: l(60), fill: l(35), area: m2(0.2), pickup: mm(10), vent: l_per_min(24), base: m(0.9))),
    (name: "tap", label: "fuel tap", is: ShutOffValve(
        from: "tank", to: "tap out", open: (drop: mbar(4), at: l_per_h(60), laminar: 0.2))),
    (name: "sediment bowl", label: "sediment bowl", is: SedimentBowl(
        from: "tap out", to: "bowl", bowl: ml(60), clean: (drop: mbar(4), at: l_per_h(60), laminar: 0.3))),
    (name: "lift pump", label: "lift pump with lever", is: DiaphragmPump(
        from: "bowl", to: "pump out", displacement: ml_per_turn(1.6), spring: mbar(300), spring_over: mbar(80),
        filling: Pa(20000), leak: 1e-7, hand_stroke: ml(6))),
    (name: "filter", label: "filter", price: 20, minutes: 20, is: Filter(
        from: "pump out", to: "filter out", new: (drop: mbar(25), at: l_per_h(60), laminar: 0.85),
        bowl: ml(150), clean_side: ml(60))),
    (name: "pump line", label: "line to the injection pump", is: Line(
        from: "filter out", to: "injection", length: m(0.5), bore: mm(8), wall: per_Pa(3e-9))),
    (name: "engine", label: "engine", is: Engine(
        gallery: "injection", volume: ml(60), wall: per_Pa(2.5e-9),
        demand: ml_per_s(0.2), demand_with_speed: ml_per_s(0.9), demand_with_load: 2.0,
        starves_at: Pa(88000), starves_over: Pa(6000), lag: s(0.4),
        starter: rpm(200), idle: rpm(700), raised: rpm(2000), stopped_by_gas: 0.3)),
]"#;

fn plant(nodes: &str, parts: &str, class: FuelClass) -> Plant {
    use ron::extensions::Extensions;
    let extensions = Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES;
    let implicit = ron::Options::default().with_default_extension(extensions);
    let nodes: Vec<Node> = implicit.from_str(nodes).expect("nodes");
    let parts: Vec<Part> = implicit.from_str(parts).expect("parts");
    Plant {
        name: "test".into(),
        title: "test".into(),
        fuel: Filling::Of(Blend::of(class)),
        temperature: Temperature::from_celsius(20.0),
        altitude: Length::from_si(0.0),
        warmth: None,
        nodes,
        parts,
        leaks: vec![],
        service: Service::default(),
    }
}

fn van() -> Job {
    load_job(&Library::builtin(), "nothing-wrong").expect("a built-in job").0
}

fn job(plant: Plant) -> Job {
    let joints = plant.joints();
    Job { plant, joints, stood_s: 600.0, ..van() }
}

fn petrol() -> Job {
    job(plant(PETROL_NODES, PETROL_PARTS, FuelClass::Petrol))
}

fn tractor() -> Job {
    job(plant(TRACTOR_NODES, TRACTOR_PARTS, FuelClass::Diesel))
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
    assert!(bay.observe().sounds.contains(&"A relay clicks."), "{:?}", bay.observe().sounds);
    does(&job, &mut bay, "wait 2");
    shows(&bay, 3500.0, 4400.0);
    does(&job, &mut bay, "wait 3");
    assert!(!bay.drive.pump_is_fed(0, 0), "priming ends by itself");
    does(&job, &mut bay, "crank 8\nwait 12");
    assert_eq!(bay.observe().engine, EngineRun::Steady);
    assert!(bay.drive.pump_is_fed(0, 0), "the engine's speed keeps it on");
    shows(&bay, 3600.0, 4300.0);
    let volts = does(&job, &mut bay, "volts \"battery +\" \"pump +\"");
    assert!(volts.contains(" V."), "{volts}");
    does(&job, &mut bay, "record voltage 0.4 V within from \"card\"\nclamp pump\nsnap");
    let amps = bay.observe().clamp.expect("a clamp").1;
    assert!((3.0..10.0).contains(&amps), "{amps} A");
    does(&job, &mut bay, "note pump hum\nspeed raised\nload 1\nwait 5");
    shows(&bay, 3300.0, 4300.0);
    assert!(bay.observe().load > 0.99);
    does(&job, &mut bay, "load 0\nidle\nwait 5\nkey off\nwait 60");
    shows(&bay, 3000.0, 4400.0);
    // shut on the engine side, the pump shows what its regulator lets it
    does(&job, &mut bay, "valve shut\nbridge pump on\nwait 3");
    shows(&bay, 3700.0, 4700.0);
    does(&job, &mut bay, "wait 12\nbridge pump off\nvalve open");
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
    does(&job, &mut bay, "record volume 0,9 l not-proven\nbattery\nlisten pump\ncodes\npinch rail-hose on");
    assert_eq!(bay.sheet().len(), 1);
    // the hose to the rail is shut: the engine can't run for long
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
    assert_eq!(bay.observe().taps, [("tap".to_owned(), 1.0)], "the lever takes its time");
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
