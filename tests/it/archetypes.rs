//! The vehicles that learners meet, each driven healthy through its standard run: what the tee shows in
//! every state lies in the training ranges, the weather changes what it must, and no run is dear.
//!
//! The ranges are training values of invented vehicles. With `ARCHETYPE_TRACES=1` every run leaves a
//! CSV under the build folder, to be looked at.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

use faultbay::bay::action::State;
use faultbay::fluid::{Blend, FuelClass};
use faultbay::plant::assemble::{Detail, Rig, TeeFitting};
use faultbay::plant::component::{Command, Component};
use faultbay::plant::step::{Effort, Work};
use faultbay::plant::vehicle::Vehicle;
use faultbay::plant::{Filling, Part, Plant};
use faultbay::scenario::model::Limit;
use faultbay::scenario::{self, Kind, Library};
use faultbay::units::Temperature;

const S: u64 = 1_000_000;
/// States in the order of the run, with the time (s) at whose end each is read, as a mean over 2 s.
const STATES: [(&str, u64); 10] = [
    ("rest", 3),
    ("prime", 6),
    ("crank", 9),
    ("idle", 40),
    ("raised", 70),
    ("load", 90),
    ("dead-head", 105),
    ("off 10 s", 135),
    ("off 1 min", 185),
    ("off 10 min", 725),
];

/// What the tee shows in one state, mbar gauge: state, lowest, highest.
type Range = (&'static str, f64, f64);

/// Plant, joint, ranges.
const TABLE: &[(&str, &str, &[Range])] = &[
    (
        "a1-van",
        "pump in",
        &[
            ("rest", -30., 20.),
            ("crank", -80., -20.),
            ("idle", -150., -40.),
            ("raised", -250., -90.),
            ("load", -350., -130.),
            ("dead-head", -1000., -600.),
        ],
    ),
    (
        "a2-estate",
        "hp inlet",
        &[
            ("rest", 0., 50.),
            ("prime", 3000., 5000.),
            ("crank", 3000., 5000.),
            ("idle", 3500., 5500.),
            ("raised", 3000., 5500.),
            ("load", 3000., 5500.),
            ("dead-head", 6000., 8000.),
            // may have gone after ten minutes, and never sucks
            ("off 10 min", -20., 4500.),
        ],
    ),
    (
        "a3-minibus",
        "pump in",
        &[
            ("rest", 0., 30.),
            ("prime", 300., 800.),
            ("crank", 300., 800.),
            ("idle", 100., 500.),
            ("raised", -50., 300.),
            ("load", -50., 300.),
            ("dead-head", 800., 1200.),
        ],
    ),
    (
        "a4-hatchback",
        "rail in",
        &[
            ("prime", 3600., 4200.),
            ("crank", 3600., 4200.),
            ("idle", 3800., 4200.),
            ("raised", 3600., 4200.),
            ("load", 3500., 4200.),
            ("dead-head", 3800., 4400.),
            // what a later job finds at rest
            ("off 10 min", 2500., 4400.),
        ],
    ),
    (
        "a5-coupe",
        "rail in",
        &[
            ("prime", 2800., 3200.),
            // the trade gives one range for prime and crank; while cranking the pistons already draw some 60 mbar of
            // manifold depression, and the regulator gives way by as much
            ("crank", 2700., 3200.),
            ("idle", 2300., 2600.),
            // the throttle is nearly shut without load
            ("raised", 2300., 2600.),
            ("load", 2800., 3200.),
            ("dead-head", 4500., 6500.),
            ("off 10 min", 1800., 3500.),
        ],
    ),
    (
        "a6-saloon",
        "hp inlet",
        &[
            ("prime", 4200., 4800.),
            ("crank", 4200., 4800.),
            ("idle", 4000., 5000.),
            ("raised", 5000., 6500.),
            ("load", 5000., 6500.),
            ("off 10 min", 2000., 5000.),
        ],
    ),
    (
        "a7-truck",
        "pump in",
        &[
            ("rest", -25., 25.),
            ("crank", -50., -10.),
            ("idle", -120., -40.),
            ("raised", -300., -120.),
            ("load", -300., -120.),
        ],
    ),
    (
        "a7-truck",
        "pump out",
        &[
            ("crank", 400., 3000.),
            ("idle", 2000., 4000.),
            ("raised", 4000., 6000.),
            ("load", 4000., 6000.),
            ("off 1 min", 500., 4000.),
        ],
    ),
    (
        "a8-genset",
        "pump in",
        &[
            ("rest", 40., 120.),
            ("crank", 20., 110.),
            ("idle", 0., 100.),
            ("raised", 0., 100.),
            ("load", 0., 100.),
            ("off 10 min", 40., 120.),
        ],
    ),
    (
        "a9-boat",
        "pump in",
        &[
            ("rest", -80., 0.),
            ("crank", -100., -30.),
            ("idle", -120., -30.),
            ("raised", -180., -60.),
            ("load", -180., -60.),
            ("off 10 min", -100., 0.),
        ],
    ),
    ("a9-boat", "pump out", &[("idle", 150., 400.), ("raised", 150., 400.), ("load", 150., 400.)]),
    (
        "a10-tractor",
        "pump out",
        &[
            ("rest", 25., 65.),
            ("crank", 100., 300.),
            ("idle", 200., 450.),
            ("raised", 150., 400.),
            ("load", 150., 400.),
            ("dead-head", 350., 600.),
        ],
    ),
    (
        "a10-petrol",
        "pump out",
        &[
            ("rest", 25., 65.),
            // nearly nothing is drawn, so the spring is at its stop after a few strokes
            ("crank", 100., 450.),
            ("idle", 200., 450.),
            ("raised", 150., 450.),
            ("load", 150., 450.),
            ("dead-head", 350., 600.),
        ],
    ),
];

/// Plant, electric pump, state, lowest and highest current (A), least delivery (mL/s).
const PUMPS: &[(&str, &str, &str, f64, f64, f64)] = &[
    // 1.0 l in 30 s
    ("a2-estate", "lift pump", "idle", 5.0, 9.0, 33.3),
    // 1.2 l in 30 s, free
    ("a3-minibus", "lift pump", "raised", 3.0, 6.0, 40.0),
    // 0.8 l in 30 s at working pressure
    ("a4-hatchback", "fuel pump", "idle", 4.0, 8.0, 26.7),
    ("a5-coupe", "fuel pump", "idle", 4.0, 8.0, 26.7),
    ("a6-saloon", "fuel pump", "idle", 3.0, 10.0, 0.0),
    ("a6-saloon", "fuel pump", "load", 3.0, 10.0, 0.0),
];

/// What is read in a state.
#[derive(Clone, Debug, Default)]
struct Reading {
    tee_mbar: f64,
    rpm: f64,
    /// Of each motor: current, A, and what its pump delivers, mL/s.
    pumps: Vec<(f64, f64)>,
    /// Pressure at every node, mbar.
    nodes: BTreeMap<String, f64>,
    /// Share of gas at the tee.
    gas: f64,
}

struct Run {
    read: BTreeMap<&'static str, Reading>,
    work: Work,
    millis: u128,
    csv: String,
}

/// A plant with its card, from the folder: what an author has just changed counts.
fn read(name: &str) -> (Plant, Vec<Limit>) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/plants").join(format!("{name}.ron"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let mut library = Library::empty();
    library.insert(Kind::Plant, name, &path.display().to_string(), &text);
    let (plant, _) = scenario::load_plant(&library, name).unwrap_or_else(|report| panic!("{report}"));
    let (card, _) = scenario::load_card(&library, name).unwrap_or_else(|report| panic!("{report}"));
    (plant, card)
}

fn plant(name: &str) -> Plant {
    read(name).0
}

/// A hand at the key, the throttle and the valve.
struct Driver<'p> {
    plant: &'p Plant,
    car: Vehicle,
    /// Voltage of the battery when nothing charges it, and when the engine runs.
    supply: [f64; 2],
    /// Pumps that a float runs: which motor, the tank's state, its volume, start, stop, running.
    floats: Vec<(usize, usize, f64, f64, f64, bool)>,
}

impl<'p> Driver<'p> {
    fn new(plant: &'p Plant, joint: &str, effort: Effort) -> Self {
        let tee = TeeFitting { joint: joint.into(), hose_air: 0.0, valve_reach: 1.0 };
        let rig = Rig { tee: Some(tee), container: None };
        let car = Vehicle::new(plant, &rig, Detail::FULL, effort).unwrap_or_else(|e| panic!("{}: {e}", plant.name));
        let supply = [12.4, 13.6].map(|v| v * plant.service.battery.si() / 12.0);
        let mut driver = Self { plant, car, supply, floats: vec![] };
        driver.floats = driver.pumps().filter_map(|(motor, part)| driver.float(motor, part)).collect();
        driver
    }

    fn pumps(&self) -> impl Iterator<Item = (usize, &'p Part)> {
        self.plant.parts.iter().filter(|p| matches!(p.is, Component::ElectricPump(_))).enumerate()
    }

    fn command(part: &Part) -> &Command {
        match &part.is {
            Component::ElectricPump(pump) => &pump.command,
            other => panic!("{other:?} isn't an electric pump"),
        }
    }

    fn float(&self, motor: usize, part: &Part) -> Option<(usize, usize, f64, f64, f64, bool)> {
        let Command::Float { tank, low, high, .. } = Self::command(part) else { return None };
        let (name, capacity) = self.plant.parts.iter().find_map(|p| match &p.is {
            Component::Tank(t) if t.outlet == *tank => Some((&p.name, t.capacity.si() * 1e6)),
            _ => None,
        })?;
        let top = &self.car.net().top;
        let r = top.reservoirs.iter().find(|r| r.name == *name)?;
        Some((motor, r.v, capacity, *low, *high, false))
    }

    fn volts(&mut self, t: u64, volts: f64) {
        for (motor, part) in
            self.plant.parts.iter().filter(|p| matches!(p.is, Component::ElectricPump(_))).enumerate()
        {
            if !matches!(Self::command(part), Command::Float { .. }) {
                let state = self.car.net().top.motors[motor].i + 2;
                self.car.ramp(t, state, volts, S / 50);
            }
        }
    }

    /// Asks controllers for the pressure at idle or at the raised speed.
    fn target(&mut self, t: u64, is_raised: bool) {
        let wanted: Vec<f64> = self
            .pumps()
            .filter_map(|(_, part)| match Self::command(part) {
                Command::Demand { idle, raised, .. } => Some(if is_raised { raised.si() } else { idle.si() }),
                _ => None,
            })
            .collect();
        for (c, pa) in wanted.into_iter().enumerate() {
            let state = self.car.net().top.controllers[c].s + 1;
            self.car.ramp(t, state, pa, S / 2);
        }
    }

    fn engine(&mut self, t: u64, offset: usize, value: f64, over: u64) {
        let n = self.car.net().top.engine.n;
        self.car.ramp(t, n + offset, value, over);
    }

    /// A float looks once a second.
    fn look_at_floats(&mut self, t: u64) {
        for k in 0..self.floats.len() {
            let (motor, state, capacity, low, high, on) = self.floats[k];
            let share = self.car.state_at(t, state) / capacity;
            let now = if on { share < high } else { share < low };
            if now != on {
                self.floats[k].5 = now;
                let input = self.car.net().top.motors[motor].i + 2;
                self.car.ramp(t, input, if now { self.supply[1] } else { 0.0 }, S / 50);
            }
        }
    }

    fn look(&self, t: u64) -> Reading {
        let y = self.car.snapshot(t);
        let net = self.car.net();
        let top = &net.top;
        let tee = self.car.assembly().handles.tee.unwrap();
        let mut work = net.workspace();
        let flows = net.flows(&y, &mut work);
        Reading {
            tee_mbar: net.gauge(tee, &y).0[0] / 100.0,
            rpm: y[top.engine.n].0[0],
            pumps: top.motors.iter().map(|m| (y[m.i].0[0], flows[m.link].0[0])).collect(),
            nodes: (0..top.vessels.len())
                .map(|v| (top.vessels[v].name.clone(), net.gauge(v, &y).0[0] / 100.0))
                .collect(),
            gas: net.gas_share(tee, &y).0[0],
        }
    }

    /// What happens at a second of the run.
    fn act(&mut self, second: u64, dead_head: bool) {
        let t = second * S;
        let engine = self.plant.engine().unwrap();
        let (starter, idle, raised) = (engine.starter.si(), engine.idle.si(), engine.raised.si());
        let valve = self.car.assembly().handles.valve.unwrap();
        match second {
            3 => {
                self.volts(t, self.supply[0]);
                self.target(t, false);
            }
            6 => self.engine(t, 2, starter, S / 10),
            9 => {
                self.engine(t, 1, idle, S / 10);
                self.engine(t, 2, 0.0, S / 10);
                self.volts(t, self.supply[1]);
            }
            40 => {
                self.engine(t, 1, raised, S);
                self.target(t, true);
            }
            70 => self.engine(t, 5, 1.0, S),
            90 => {
                self.engine(t, 5, 0.0, S);
                self.engine(t, 1, idle, S);
                self.target(t, false);
            }
            100 if dead_head => self.car.ramp(t, valve, 0.0, 3 * S / 10),
            105 if dead_head => {
                self.car.ramp(t, valve, 1.0, 3 * S / 10);
                self.engine(t, 2, starter, S / 10);
            }
            108 if dead_head => self.engine(t, 2, 0.0, S / 10),
            125 => {
                self.engine(t, 1, 0.0, S / 10);
                self.volts(t, 0.0);
            }
            _ => {}
        }
    }
}

/// The standard run with the tee at a joint. Vehicles only go forward, so what is read is read on the way.
fn drive(plant: &Plant, joint: &str, dead_head: bool, effort: Effort) -> Run {
    let began = std::time::Instant::now();
    let mut driver = Driver::new(plant, joint, effort);
    let mut run = Run { read: BTreeMap::new(), work: Work::default(), millis: 0, csv: String::new() };
    let wanted = std::env::var_os("ARCHETYPE_TRACES").is_some();
    let mut window: Vec<f64> = vec![];
    for tenth in 0..=7250_u64 {
        let (second, t) = (tenth / 10, tenth * S / 10);
        driver.car.cover(t);
        let ends = STATES.iter().find(|(_, at)| at * 10 == tenth);
        let near = STATES.iter().any(|(_, at)| (at * 10).saturating_sub(20) <= tenth && tenth <= at * 10);
        let write = wanted && (second < 160 || tenth % 10 == 0);
        if near || write {
            let mut reading = driver.look(t);
            window.push(reading.tee_mbar);
            if write {
                write_row(&mut run.csv, t, &reading);
            }
            if let Some((state, _)) = ends {
                reading.tee_mbar = window.iter().sum::<f64>() / window.len() as f64;
                run.read.insert(*state, reading);
            }
        }
        if !near || ends.is_some() {
            window.clear();
        }
        if tenth % 10 == 0 {
            driver.look_at_floats(t);
            driver.act(second, dead_head);
        }
    }
    assert_eq!(driver.car.work().forced, 0, "{}: steps forced", plant.name);
    run.work = driver.car.work();
    run.millis = began.elapsed().as_millis();
    run
}

fn write_row(csv: &mut String, t: u64, r: &Reading) {
    if csv.is_empty() {
        let nodes: Vec<&str> = r.nodes.keys().map(String::as_str).collect();
        *csv = format!("t_s,tee_mbar_gauge,glass_gas,rpm,amps,{}\n", nodes.join(","));
    }
    let amps = r.pumps.first().map_or(0.0, |p| p.0);
    let nodes: Vec<String> = r.nodes.values().map(|p| format!("{p:.2}")).collect();
    let t_s = t as f64 * 1e-6;
    writeln!(csv, "{t_s:.2},{:.2},{:.4},{:.1},{amps:.3},{}", r.tee_mbar, r.gas, r.rpm, nodes.join(",")).unwrap();
}

fn keep(csv: &str, plant: &str, joint: &str) {
    if !csv.is_empty() {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("archetypes");
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(folder.join(format!("{plant} {joint}.csv")), csv).unwrap();
    }
}

/// Plants to look at: all, or those that `ARCHETYPE` names a part of.
fn chosen(name: &str) -> bool {
    std::env::var("ARCHETYPE").is_ok_and(|v| !name.contains(&v))
}

#[test]
fn healthy_vehicles_read_what_the_trade_expects() {
    let mut failures = String::new();
    for &(name, joint, ranges) in TABLE {
        if chosen(name) {
            continue;
        }
        let plant = plant(name);
        let run = drive(&plant, joint, ranges.iter().any(|r| r.0 == "dead-head"), Effort::WATCHED);
        keep(&run.csv, name, joint);
        println!("{name} at {joint}: {} steps, {} rejected, {} ms", run.work.steps, run.work.rejected, run.millis);
        for (state, _) in STATES {
            let Some(reading) = run.read.get(state) else { continue };
            let range = ranges.iter().find(|r| r.0 == state);
            let p = reading.tee_mbar;
            let within = range.is_none_or(|&(_, low, high)| p >= low && p <= high);
            let words = range.map_or(String::new(), |(_, low, high)| format!("{low} … {high}"));
            let line = format!(
                "{}{state:>11} {p:8.1} mbar  {words:<15} {:5.0} 1/min gas {:.3} pumps {:.2?}",
                if within { " " } else { "!" },
                reading.rpm,
                reading.gas,
                reading.pumps
            );
            println!("{line}\n      {:.0?}", reading.nodes);
            if !within {
                failures += &format!("{name} at {joint}: {line}\n");
            }
        }
        for &(_, pump, state, low, high, least) in PUMPS.iter().filter(|p| p.0 == name) {
            let motor = plant.parts.iter().filter(|p| matches!(p.is, Component::ElectricPump(_)));
            let k = motor.clone().position(|p| p.name == pump).unwrap_or_else(|| panic!("{name} has no {pump}"));
            let (amps, flow) = run.read[state].pumps[k];
            if !(amps >= low && amps <= high && flow >= least) {
                failures += &format!("{name}: {pump} in {state}: {amps:.2} A, {flow:.1} mL/s\n");
            }
        }
    }
    assert!(failures.is_empty(), "{failures}");
}

/// Plant, state, from, to, lowest and highest drop between the two nodes, mbar.
const DROPS: &[(&str, &str, &str, &str, f64, f64)] = &[
    ("a7-truck", "raised", "pump out", "secondary out", 100., 400.),
    ("a7-truck", "load", "pump out", "secondary out", 100., 400.),
];

#[test]
fn drops_over_filters_are_those_of_a_new_element() {
    for &(name, state, from, to, low, high) in DROPS.iter().filter(|d| !chosen(d.0)) {
        let plant = plant(name);
        let nodes = drive(&plant, from, false, Effort::WATCHED).read[state].nodes.clone();
        let drop = nodes[from] - nodes[to];
        println!("{name}: {from} to {to} in {state}: {drop:.0} mbar");
        assert!((low..=high).contains(&drop), "{name} {state}: {drop:.0} mbar");
    }
}

/// Frost thickens winter diesel 2.3 times, heat thins it to 0.5 … 0.7: so do the drops that go with the
/// flow. Summer diesel would let its wax go in such a frost.
#[test]
fn drops_follow_the_weather() {
    for (name, joint, from, to) in [
        ("a1-van", "pump in", "filter in", "filter out"),
        ("a7-truck", "pump in", "primary bowl", "pump in"),
        ("a8-genset", "pump in", "filter in", "filter out"),
    ] {
        if chosen(name) {
            continue;
        }
        let at = |celsius: f64| {
            let mut plant = plant(name);
            plant.temperature = Temperature::from_celsius(celsius);
            plant.fuel = Filling::Of(Blend::of(FuelClass::WinterDiesel));
            let nodes = drive(&plant, joint, false, Effort::WATCHED).read["raised"].nodes.clone();
            let of = |n: &str| plant.node(n).unwrap().height.si();
            // without what the column between the two weighs
            let fuel = plant.fuel.at(plant.temperature);
            nodes[from] - nodes[to] + fuel.density * 9.81e-2 * (of(from) - of(to))
        };
        let (cold, mild, hot) = (at(-10.0), at(20.0), at(60.0));
        println!("{name}: {from} to {to} at raised speed: {cold:.1} / {mild:.1} / {hot:.1} mbar");
        assert!((1.7..=2.6).contains(&(cold / mild)), "{name}: ×{:.2} in frost", cold / mild);
        assert!((0.4..=0.75).contains(&(hot / mild)), "{name}: ×{:.2} in heat", hot / mild);
    }
}

/// What the card of a plant says about a state.
fn held_against<'r>(run: &'r Run, limit: &Limit) -> Vec<(&'static str, &'r Reading)> {
    let states: &[&str] = match limit.state {
        // what a run left in the line, read at the next job
        State::Rest if limit.words.contains("residual") => &["off 10 min"],
        State::Rest => &["rest"],
        State::Prime => &["prime"],
        State::Crank => &["crank"],
        State::Idle => &["idle"],
        State::Raised => &["raised"],
        State::Load => &["load"],
        State::DeadHead => &["dead-head"],
        State::Hold => &["off 10 s", "off 1 min", "off 10 min"],
    };
    STATES.iter().filter(|(s, _)| states.contains(s)).map(|(s, _)| (*s, &run.read[s])).collect()
}

fn names() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/plants");
    faultbay::cli::folder::ron_files(&folder).iter().map(|p| faultbay::cli::folder::name_of(p)).collect()
}

#[test]
fn a_healthy_vehicle_lies_within_its_card_at_every_joint() {
    let mut failures = String::new();
    for name in names() {
        if chosen(&name) {
            continue;
        }
        let (plant, card) = read(&name);
        for (joint, _) in plant.joints() {
            let here: Vec<&Limit> = card.iter().filter(|l| l.joint == joint).collect();
            let run = drive(&plant, &joint, here.iter().any(|l| l.state == State::DeadHead), Effort::WATCHED);
            for (state, _) in STATES {
                println!("CARD {name}|{joint}|{state}|{:.1}", run.read[state].tee_mbar);
            }
            for state in State::EVERY_CARD {
                if state != State::DeadHead && !here.iter().any(|l| l.state == state) {
                    failures += &format!("{name} at {joint}: no range for {}\n", state.word());
                }
            }
            for limit in here {
                for (state, reading) in held_against(&run, limit) {
                    let p = reading.tee_mbar;
                    if !(p >= limit.low_mbar && p <= limit.high_mbar) {
                        let range = format!("{} … {}", limit.low_mbar, limit.high_mbar);
                        failures += &format!("{name} at {joint}: {state} {p:.0} mbar, the card says {range}\n");
                    }
                }
            }
        }
    }
    assert!(failures.is_empty(), "{failures}");
}

/// With the tee's valve shut and the engine stopped, a sound pump and sound joints keep what there was.
#[test]
fn what_a_dead_head_reaches_stays_for_a_minute() {
    for (name, joint, share) in [("a1-van", "pump in", 0.8), ("a10-tractor", "pump out", 0.7)] {
        let plant = plant(name);
        let mut driver = Driver::new(&plant, joint, Effort::WATCHED);
        for second in 0..=30 {
            driver.car.cover(second * S);
            driver.act(second, false);
        }
        let valve = driver.car.assembly().handles.valve.unwrap();
        driver.car.ramp(30 * S, valve, 0.0, 3 * S / 10);
        driver.engine(35 * S, 1, 0.0, S / 10);
        driver.car.cover(40 * S);
        let reached = driver.look(40 * S).tee_mbar;
        driver.car.cover(100 * S);
        let kept = driver.look(100 * S).tee_mbar;
        println!("{name}: {reached:.0} mbar, a minute later {kept:.0} mbar");
        assert!(kept / reached >= share, "{name}: {reached:.0} mbar, a minute later {kept:.0} mbar");
    }
}

/// Over hours the float keeps the day tank between its marks, so the head stays; what is burned comes from
/// the bulk tank.
#[test]
fn the_float_of_the_genset_keeps_the_head() {
    let mut plant = plant("a8-genset");
    if let Component::Tank(tank) = &mut plant.part_mut("day tank").unwrap().is {
        tank.fill = faultbay::units::Volume::from_si(0.064);
    }
    let mut driver = Driver::new(&plant, "pump in", Effort::WATCHED);
    for (second, _) in [(3, ()), (6, ()), (9, ())] {
        driver.car.cover(second * S);
        driver.act(second, false);
    }
    driver.engine(12 * S, 5, 1.0, S);
    let (mut least, mut most, mut transferred) = (f64::INFINITY, f64::NEG_INFINITY, 0);
    for second in 30..3 * 3600_u64 {
        let t = second * S;
        driver.car.cover(t);
        driver.look_at_floats(t);
        transferred += u64::from(driver.floats[0].5);
        if second % 10 == 0 {
            let p = driver.look(t).tee_mbar;
            (least, most) = (least.min(p), most.max(p));
        }
    }
    let bulk = driver.car.net().top.reservoirs.iter().find(|r| r.name == "bulk tank").unwrap().v;
    let left_l = driver.car.state_at((3 * 3600 - 1) * S, bulk) / 1000.0;
    println!(
        "head {least:.1} … {most:.1} mbar, transfer pump {transferred} s, bulk {left_l:.0} l, {:?}",
        driver.car.work()
    );
    assert!(most - least < 20.0, "the head moved from {least} to {most} mbar");
    assert!(transferred > 600 && left_l < 590.0, "nothing was transferred: {transferred} s, {left_l} l");
}

/// How much work a run may be: many more steps mean a corner that is too sharp or a valve that chatters.
const MOST_STEPS: u64 = 3000;

#[test]
fn no_vehicle_is_dear_to_simulate() {
    for name in names() {
        if chosen(&name) {
            continue;
        }
        let plant = plant(&name);
        for (joint, _) in plant.joints() {
            let run = drive(&plant, &joint, false, Effort::WATCHED);
            println!(
                "{name} at {joint}: {} steps, {} rejected, {} ms for 12 minutes",
                run.work.steps, run.work.rejected, run.millis
            );
            let steps = run.work.steps + run.work.rejected;
            assert!(steps < MOST_STEPS, "{name} at {joint}: {:?}", run.work);
        }
    }
}
