//! Small plants of other kinds than the van: pressure-fed petrol, the same held by a control unit, a tractor,
//! a genset. They exist for tests only; learners never meet them.

use faultbay::fluid::{Blend, FuelClass};
use faultbay::plant::component::Component;
use faultbay::plant::{Filling, Node, Part, Plant};
use faultbay::scenario::{Library, load_plant};
use faultbay::units::{Temperature, Warming};
use serde::Deserialize;

use crate::reference_plant;

fn plant(name: &str, fuel: FuelClass, nodes: &str, parts: &str) -> Plant {
    fn read<'a, T: Deserialize<'a>>(text: &'a str) -> Vec<T> {
        use ron::extensions::Extensions;
        ron::Options::default()
            .with_default_extension(Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES)
            .from_str(text)
            .unwrap_or_else(|e| panic!("{e} in {text}"))
    }
    let nodes: Vec<Node> = read(nodes);
    let parts: Vec<Part> = read(parts);
    let fuel = Filling::Of(Blend::of(fuel));
    Plant { name: name.into(), title: name.into(), fuel, nodes, parts, ..reference_plant::plant() }
}

/// The van that learners meet.
pub fn van() -> Plant {
    built_in("a1-van")
}

/// A plant of the library.
pub fn built_in(name: &str) -> Plant {
    load_plant(&Library::builtin(), name).unwrap_or_else(|_| panic!("{name} doesn't load")).0
}

/// Names of the other archetypes with their numbers.
const ARCHETYPES: [(u8, &str); 9] = [
    (2, "a2-estate"),
    (3, "a3-minibus"),
    (4, "a4-hatchback"),
    (5, "a5-coupe"),
    (6, "a6-saloon"),
    (7, "a7-truck"),
    (8, "a8-genset"),
    (9, "a9-boat"),
    (10, "a10-tractor"),
];

const PETROL_NODES: &str = r#"[
    (name: "tank", height: m(0)),
    (name: "chamber", height: m(0.05), volume: ml(18), wall: per_Pa(2e-9), place: Tank),
    (name: "module", height: m(0.25), volume: ml(40), wall: per_Pa(1.2e-9), place: Tank),
    (name: "line end", height: m(0.55), volume: ml(46), wall: per_Pa(2.6e-9), joint: "line end"),
    (name: "filter in", height: m(0.55), volume: ml(10), wall: per_Pa(1.6e-9), place: Bonnet),
    (name: "rail", height: m(0.55), volume: ml(40), wall: per_Pa(1.8e-9), place: Bonnet, joint: "rail"),
]"#;

/// Petrol with a return; `regulator` and `command` in an author's words.
fn petrol(name: &str, regulator: &str, command: &str) -> Plant {
    let parts = format!(
        r#"[
    (name: "tank", label: "tank", is: Tank(outlet: "tank", capacity: l(55), fill: l(28), area: m2(0.14),
        pickup: mm(15), vent: l_per_min(24))),
    (name: "strainer", label: "strainer", is: Strainer(from: "tank", to: "chamber",
        clean: (drop: Pa(1329), at: ml_per_s(44), laminar: 0.2))),
    (name: "pump", label: "pump", is: ElectricPump(from: "chamber", to: "module", tank: "tank", stage: Turbine,
        displacement: ml_per_turn(0.4), slip: 1.9e-5, relief_opens: Pa(628000), relief_slope: 0.0009,
        seat_leak: 1.5e-10, winding: ohm(0.42), inductance: 0.0006, constant: 0.0122, brushes: V(0.9),
        inertia: 6e-6, dry_friction: 0.009, wet_friction: 3.4e-5,
        feed: [(name: "relay", ohm: mohm(40)), (name: "plug", ohm: mohm(40))],
        earth: [(name: "earth strap", ohm: mohm(40))],
        command: {command})),
    (name: "line", label: "line", is: Line(from: "module", to: "line end", length: m(3.4), bore: mm(6.5),
        fittings: 4, wall: per_Pa(1.2e-9), damping: 40, cells: 2)),
    (name: "short line", label: "line", is: Line(from: "line end", to: "filter in", length: m(0.3), bore: mm(6.5),
        fittings: 1, wall: per_Pa(1.2e-9), damping: 40, cells: 1)),
    (name: "filter", label: "filter", is: Filter(from: "filter in", to: "rail",
        new: (drop: Pa(17248), at: ml_per_s(44), laminar: 0.66), bowl: ml(60), clean_side: ml(30), cushion: ml(9))),
    (name: "regulator", label: "regulator", is: Relief(from: "rail", to: "tank", {regulator})),
    (name: "engine", label: "engine", is: Engine(gallery: "rail", volume: ml(35), wall: per_Pa(1.8e-9),
        demand: ml_per_s(0.25), demand_with_speed: ml_per_s(0.62), injectors_drip: 3e-11, holds_gas: true,
        starves_at: Pa(250000), starves_over: Pa(40000), lag: s(0.3), starter: rpm(210), idle: rpm(780),
        raised: rpm(2500))),
]"#
    );
    plant(name, FuelClass::Petrol, PETROL_NODES, &parts)
}

pub fn petrol_return() -> Plant {
    petrol(
        "petrol",
        "opens: Pa(346000), slope: 0.0016, leak: 1e-10, rounding: Pa(800)",
        "KeyAndEngine(prime: s(2))",
    )
}

pub fn petrol_demand() -> Plant {
    petrol(
        "petrol on demand",
        "opens: Pa(700000), slope: 0.0016, leak: 1e-10, rounding: Pa(800)",
        "Demand(prime: s(2), sensor: \"rail\", idle: bar(4), raised: bar(4), gain: 0.2, integral: 0.5)",
    )
}

/// A tractor: a tank above the engine, a tap, a bowl, a diaphragm pump, a filter.
pub fn tractor() -> Plant {
    plant(
        "tractor",
        FuelClass::Diesel,
        r#"[
    (name: "tank", height: m(0)),
    (name: "tap out", height: m(0.5), volume: ml(4)),
    (name: "bowl", height: m(0.3), volume: ml(4)),
    (name: "pump in", height: m(0.2), volume: ml(6), joint: "pump inlet"),
    (name: "pump out", height: m(0.2), volume: ml(10), joint: "pump outlet"),
    (name: "filter in", height: m(0.4), volume: ml(5)),
    (name: "gallery", height: m(0.4), volume: ml(5)),
]"#,
        r#"[
    (name: "tank", label: "tank", is: Tank(outlet: "tank", capacity: l(60), fill: l(40), area: m2(0.15),
        pickup: mm(10), vent: l_per_min(24), base: m(0.5))),
    (name: "tap", label: "tap", is: ShutOffValve(from: "tank", to: "tap out",
        open: (drop: mbar(3), at: l_per_h(60), laminar: 0))),
    (name: "sediment bowl", label: "bowl", is: SedimentBowl(from: "tap out", to: "bowl", bowl: ml(120),
        clean: (drop: mbar(4), at: l_per_h(60), laminar: 0.3))),
    (name: "line", label: "line", is: Line(from: "bowl", to: "pump in", length: m(1), bore: mm(8), fittings: 3,
        wall: per_Pa(4e-9), cells: 2)),
    (name: "lift pump", label: "lift pump", is: DiaphragmPump(from: "pump in", to: "pump out",
        displacement: ml_per_turn(1.2), spring: mbar(320), spring_over: mbar(60), filling: Pa(40000),
        hand_stroke: ml(6))),
    (name: "pipe", label: "pipe", is: Line(from: "pump out", to: "filter in", length: m(0.5), bore: mm(8),
        fittings: 2, wall: per_Pa(4e-9), cells: 1)),
    (name: "filter", label: "filter", is: Filter(from: "filter in", to: "gallery",
        new: (drop: mbar(20), at: l_per_h(30), laminar: 0.9), bowl: ml(300), clean_side: ml(100), cushion: ml(20))),
    (name: "engine", label: "engine", is: Engine(gallery: "gallery", volume: ml(30), wall: per_Pa(2.5e-9),
        demand: ml_per_s(0.8), demand_with_speed: ml_per_s(2), back_leak: ml_per_s(1), holds_gas: true,
        starves_at: Pa(80000), starves_over: Pa(12000), lag: s(0.4), starter: rpm(200), idle: rpm(700),
        raised: rpm(2000), stopped_by_gas: 0.2)),
]"#,
    )
}

/// A genset: a bulk tank, a transfer pump by float, a day tank above the engine.
pub fn genset() -> Plant {
    plant(
        "genset",
        FuelClass::Diesel,
        r#"[
    (name: "bulk", height: m(0)),
    (name: "transfer out", height: m(0.3), volume: ml(20)),
    (name: "day", height: m(1)),
    (name: "valve out", height: m(0.9), volume: ml(5)),
    (name: "filter in", height: m(0.6), volume: ml(5)),
    (name: "pump in", height: m(0.5), volume: ml(6), joint: "pump inlet"),
    (name: "gallery", height: m(0.5)),
]"#,
        r#"[
    (name: "bulk tank", label: "bulk tank", is: Tank(outlet: "bulk", capacity: l(800), fill: l(500), area: m2(1),
        pickup: mm(30), vent: l_per_min(60))),
    (name: "day tank", label: "day tank", is: Tank(outlet: "day", capacity: l(30), fill: l(20), area: m2(0.08),
        pickup: mm(10), vent: l_per_min(36), base: m(1))),
    (name: "transfer pump", label: "transfer pump", is: ElectricPump(from: "bulk", to: "transfer out", tank: "bulk",
        stage: RollerCell, displacement: ml_per_turn(0.6), slip: 4e-5, relief_opens: bar(1.2),
        relief_slope: 0.001, seat_leak: 1e-9, winding: ohm(0.6), inductance: 0.0006, constant: 0.0122,
        brushes: V(0.9), inertia: 6e-6, dry_friction: 0.009, wet_friction: 3.4e-5,
        feed: [(name: "plug", ohm: mohm(80))], earth: [],
        command: Float(tank: "day", low: 0.6, high: 0.75))),
    (name: "transfer line", label: "line", is: Line(from: "transfer out", to: "day", length: m(3), bore: mm(8),
        fittings: 4, wall: per_Pa(4e-9), cells: 1)),
    (name: "valve", label: "valve", is: ShutOffValve(from: "day", to: "valve out",
        open: (drop: mbar(3), at: l_per_h(60), laminar: 0))),
    (name: "line", label: "line", is: Line(from: "valve out", to: "filter in", length: m(1), bore: mm(8), fittings: 3,
        wall: per_Pa(4e-9), cells: 2)),
    (name: "filter", label: "filter", is: Filter(from: "filter in", to: "pump in",
        new: (drop: mbar(20), at: l_per_h(80), laminar: 0.9), bowl: ml(300), clean_side: ml(100), cushion: ml(10))),
    (name: "pump", label: "pump", is: GearPump(from: "pump in", to: "gallery", displacement: ml_per_turn(0.8),
        slip: 3e-6, slip_at_rest: 4e-12, filling: Pa(50000), filling_with_speed: Pa(400))),
    (name: "engine", label: "engine", is: Engine(gallery: "gallery", volume: ml(45), wall: per_Pa(2.5e-9),
        overflow: (opens: bar(3), slope: 0.0006, leak: 2e-11), returns_to: "day",
        demand: ml_per_s(1), demand_with_speed: ml_per_s(2), starves_at: Pa(60000), starves_over: Pa(12000),
        lag: s(0.35), starter: rpm(210), idle: rpm(1500), raised: rpm(1500), stopped_by_gas: 0.2)),
]"#,
    )
}

/// The van with a heater in its filter, on fuel for the winter, in frost.
pub fn winter_van() -> Plant {
    let mut van = van();
    van.temperature = Temperature::from_celsius(-9.0);
    van.fuel = Filling::Of(FuelClass::WinterDiesel.into());
    if let Component::Filter(filter) = &mut van.part_mut("filter").unwrap().is {
        filter.heater = Warming::from_si(10.0);
    }
    van
}

/// Every plant there is for tests, with the number of its archetype.
pub fn all() -> Vec<(u8, Plant)> {
    let own =
        [(1, van()), (1, winter_van()), (5, petrol_return()), (6, petrol_demand()), (10, tractor()), (8, genset())];
    own.into_iter().chain(ARCHETYPES.map(|(number, name)| (number, built_in(name)))).collect()
}
