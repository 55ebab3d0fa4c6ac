//! The rest of the suction reference plant's published table: the rows that need more than a changed
//! part, the time to −500 mbar, the gas in the glass, and the gallery.

use faultbay::fluid::Fuel;
use faultbay::lanes::Lanes;
use faultbay::plant::assemble::TEE;
use faultbay::plant::component::{Component, Engine, Line};
use faultbay::plant::network::Network;
use faultbay::plant::step::Effort;
use faultbay::plant::{Filling, Place, Plant, Warmth};
use faultbay::units::{PressureDifference, Span, VolumeFlow, Warming};

use crate::reference_plant::{self, Readings, filter, leak, nrv, pump, vent};

type Change = fn(&mut Plant);
type Hand = fn(&mut Network<1>, &mut [Lanes<1>]);

fn engine(plant: &mut Plant, change: impl Fn(&mut Engine)) {
    if let Component::Engine(e) = &mut plant.part_mut("engine").unwrap().is {
        change(e);
    }
}

fn overflow(plant: &mut Plant, bar: f64) {
    engine(plant, |e| {
        if let Some(valve) = &mut e.overflow {
            valve.opens = PressureDifference::from_si(bar * 1e5);
        }
    });
}

fn line(plant: &mut Plant, change: impl Fn(&mut Line)) {
    if let Component::Line(l) = &mut plant.part_mut("line 1").unwrap().is {
        change(l);
    }
}

fn fuel(plant: &mut Plant, change: impl Fn(&mut Fuel)) {
    if let Filling::Fixed(fuel) = &mut plant.fuel {
        change(fuel);
        // resistances of this plant are given for the fuel that is in it
        fuel.viscosity_at_20 = fuel.viscosity;
    }
}

fn nothing(_: &mut Network<1>, _: &mut [Lanes<1>]) {}

/// Leaves so much fuel (mL) in the tank, behind a line that is filled. The table gives the level in whole
/// millimetres (24 and 19); 3900 and 3080 mL are 23.6 and 18.7 mm, where gas and depression agree.
fn leave(net: &mut Network<1>, y: &mut [Lanes<1>], fuel: f64) {
    let tank = net.top.reservoirs[0].clone();
    let air = net.air_space(0, y) - net.at(net.top.zones[0].vapour);
    y[tank.v] = Lanes([fuel]);
    y[tank.m] = air * (net.at(tank.capacity) - y[tank.v]) * (1.0 / 101_325.0);
}

/// Cools everything by 15 K. The table doesn't say how fast; this is the time that gives its petrol row.
fn cool(net: &mut Network<1>, _: &mut [Lanes<1>]) {
    let zone = net.top.zones[0].clone();
    let ambient = net.at(zone.ambient);
    net.params[zone.ambient.index()] = ambient - 15.0;
    net.params[zone.follow.index()] = Lanes([1.0 / 1500.0]);
}

const NAN: f64 = f64::NAN;
/// The table says that −500 mbar isn't reached.
const NEVER: f64 = -1.0;

/// Name; change of the plant; at the start; when switched off; readings: rest, crank, idle, raised,
/// dead-head (mbar at the tee), time to −500 (s), off +10 s, +1 min, +10 min, gas in the glass idle,
/// raised, most in hold (of 100), inlet idle, raised (mbar), flow idle, raised (mL/s).
type Row = (&'static str, Change, Hand, Hand, [f64; 16]);

const NAMES: [&str; 16] = [
    "rest",
    "crank",
    "idle",
    "raised",
    "dead-head",
    "−500",
    "off +10 s",
    "off +1 min",
    "off +10 min",
    "gas idle",
    "gas raised",
    "gas in hold",
    "inlet idle",
    "inlet raised",
    "flow idle",
    "flow raised",
];

fn list(r: &Readings) -> [f64; 16] {
    [
        r.rest,
        r.crank,
        r.idle,
        r.raised,
        r.dead_head,
        if r.to_500.is_nan() { NEVER } else { r.to_500 },
        r.off_10s,
        r.off_1min,
        r.off_10min,
        r.gas_idle,
        r.gas_raised,
        r.gas_hold,
        r.inlet_idle,
        r.inlet_raised,
        r.flow_idle,
        r.flow_raised,
    ]
}

fn allowed(i: usize, expected: f64) -> f64 {
    match i {
        5 => 0.15_f64.max(0.05 * expected),
        9..=11 => 1.0_f64.max(0.15 * expected),
        14 | 15 => 0.3_f64.max(0.02 * expected),
        _ => 2.0_f64.max(0.02 * expected.abs()),
    }
}

const TABLE: &[Row] = &[
    (
        "hose kinked, mild",
        |p| line(p, |l| l.fittings = 60.0),
        nothing,
        nothing,
        [-30., -53., -150., -450., -682., 1.6, -39., -39., -36., 0.0, 2.6, 0.5, -177., -536., 23.5, 50.8],
    ),
    (
        "hose kinked, severe",
        |p| line(p, |l| l.fittings = 700.0),
        nothing,
        nothing,
        [-30., -89., -483., -645., -710., 0.0, -40., -39., -37., 5.1, 10.6, 7.5, -503., -673., 17.9, 21.0],
    ),
    (
        "cold and wax, mild",
        |p| {
            fuel(p, |f| f.viscosity = 0.0126);
            filter(p, 684.0, 0.35);
        },
        nothing,
        nothing,
        [-30., -71., -173., -284., -652., 1.6, -41., -40., -37., 0.0, 0.7, 0.5, -346., -606., 22.4, 38.6],
    ),
    (
        "cold and wax, severe",
        |p| {
            fuel(p, |f| f.viscosity = 0.0126);
            filter(p, 4788.0, 0.35);
        },
        nothing,
        nothing,
        [-30., -68., -103., -112., -520., 5.1, -41., -40., -38., 0.0, 0.0, 0.5, -636., -717., 11.0, 12.4],
    ),
    (
        "air leak at the adaptor, mild",
        |p| leak(p, TEE, 0.5, 0.01),
        nothing,
        nothing,
        // gas in hold 21.6 here (table: 32.8): 2.6 mL of air come in after switching off, as much as
        // cushion and bubbles give way while the pressure rises from −91 mbar to that of the air and
        // the tank fills in until its valve shuts; the table's further 1.8 mL: see the last test
        [0., -49., -91., -266., -618., 2.5, -1., 0., 0., 5.5, 4.0, NAN, -118., -390., 22.2, 62.5],
    ),
    (
        "air leak at the adaptor, severe",
        |p| leak(p, TEE, 0.5, 0.1),
        nothing,
        nothing,
        [0., -19., -66., -176., -209., NEVER, 0., 0., 0., 46.4, 28.4, 65.2, -94., -305., 12.5, 47.1],
    ),
    (
        "tank low, mild",
        |_| {},
        |net, y| leave(net, y, 3900.0),
        nothing,
        [-30., -70., -107., -270., -622., 3.0, -46.5, -52., -51., 14.0, 16.1, 14.0, -133., -391., 23.0, 61.6],
    ),
    (
        "tank low, severe",
        |_| {},
        |net, y| leave(net, y, 3080.0),
        nothing,
        [-30., -69., -84., -217., -482., NEVER, -30., -31., -31., 57.1, 52.8, 51.2, -109., -337., 22.4, 57.4],
    ),
    (
        "overflow valve weak",
        |p| overflow(p, 1.8),
        nothing,
        nothing,
        [-30., -51., -98., -290., -685., 1.5, -39., -39., -35., 0.0, 0.5, 0.5, -126., -413., 24.4, 64.9],
    ),
    (
        "overflow valve stuck open",
        |p| overflow(p, 0.7),
        nothing,
        nothing,
        [-30., -51., -99., -292., -686., 1.5, -39., -39., -35., 0.0, 0.5, 0.5, -127., -415., 24.7, 65.0],
    ),
    (
        "non-return valve stuck shut",
        |p| nrv(p, |v| v.lift = 0.0),
        nothing,
        nothing,
        [-30., -295., -720., -784., -793., 0.0, -786., -774., -773., 16.8, 23.6, 27.7, -717., -780., 0.6, 0.5],
    ),
    (
        "non-return valve stuck open and leak at the pump's inlet",
        |p| {
            nrv(p, |v| v.stuck_open = 1.0);
            leak(p, "pump in", 0.5, 0.02);
        },
        nothing,
        nothing,
        [-28., -38., -78., -245., -586., 2.9, -28., -27., -3., 0.0, 0.1, 68.9, -100., -355., 20.9, 61.3],
    ),
    (
        "high back-leak",
        |p| engine(p, |e| e.back_leak = VolumeFlow::from_si(9e-6)),
        nothing,
        nothing,
        [-30., -50., -96., -286., -679., 1.6, -39., -39., -35., 0.0, 0.4, 0.5, -122., -407., 23.6, 64.5],
    ),
    (
        "cools in hold",
        |_| {},
        nothing,
        cool,
        [-30., -50., -95., -285., -679., 1.6, -39., -39., -38., 0.0, 0.4, 0.6, -122., -407., 23.6, 64.4],
    ),
    (
        "petrol in the tank",
        |p| fuel(p, |f| (f.viscosity, f.vapour_pressure) = (0.00055, 28_000.0)),
        nothing,
        nothing,
        // The table's fuel holds as much air as if it had no vapour pressure (L_O at all of p, not at
        // p − p_v: after switching off it stands 42 mbar above the air, 28 kPa of vapour and nearly
        // 78 kPa of gas); so it bubbles from the start. Here air has its partial pressure only:
        // −47, −77, −191, −432 at crank, idle, raised, dead-head; −16, −25, −24 after stopping; no gas until
        // 0.4 in hold; inlet −99, −273. With the table's air the row comes out: see below.
        [-30., NAN, NAN, NAN, NAN, NEVER, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, 22.1, 50.9],
    ),
    (
        "like B100",
        |p| {
            fuel(p, |f| {
                (f.density, f.viscosity, f.air_solubility) = (880.0, 0.00634, 0.09);
                (f.vapour_pressure, f.bulk_modulus) = (1.0, 1.55e9);
            });
        },
        nothing,
        nothing,
        [-30., -58., -123., -314., -680., 1.5, -41., -40., -37., 0.0, 0.7, 0.5, -154., -438., 23.5, 62.2],
    ),
];

#[test]
fn the_other_rows_agree_with_the_published_table() {
    let mut wrong = vec![];
    for (name, change, start, off, expected) in TABLE {
        let mut faulty = reference_plant::plant();
        change(&mut faulty);
        let (r, car) = reference_plant::run_with(&faulty, Effort::WATCHED, start, off);
        assert_eq!(car.work().forced, 0, "{name}");
        let found = list(&r);
        for i in 0..16 {
            if (found[i] - expected[i]).abs() > allowed(i, expected[i]) {
                wrong.push(format!("{name}, {}: {:.2}, table says {}", NAMES[i], found[i], expected[i]));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The plant of the row "petrol in the tank", whose tank has a zone of its own, and so has its gallery.
fn petrol_in_the_tank() -> Plant {
    let mut plant = reference_plant::plant();
    fuel(&mut plant, |f| (f.viscosity, f.vapour_pressure) = (0.00055, 28_000.0));
    let none = Warming::from_si(0.0);
    let slow = Span::from_si(1e5);
    plant.warmth = Some(Warmth {
        tank: none,
        running: none,
        stopped: none,
        block_warms: slow,
        block_cools: slow,
        tank_follows: slow,
        bonnet_follows: slow,
        at_start: 0.0,
    });
    for node in &mut plant.nodes {
        node.place = match node.name.as_str() {
            "tank" => Place::Tank,
            "gallery" => Place::Bonnet,
            _ => Place::Line,
        };
    }
    plant
}

/// Fuel in the tank and in what slips back from the gallery that holds as much air as if there were no
/// vapour above it; what it takes up or sheds on its way goes by the air's own pressure, as always.
fn vapour_counts_as_air(net: &mut Network<1>, _: &mut [Lanes<1>]) {
    let top = net.top.clone();
    let more = net.at(top.common.air) / (net.at(top.common.air) - net.at(top.zones[0].vapour));
    for zone in [&top.zones[0], &top.zones[2]] {
        net.params[zone.solubility.index()] = net.at(zone.solubility) * more;
    }
}

#[test]
fn petrol_whose_vapour_counts_as_air_gives_the_published_row() {
    let (r, _) = reference_plant::run_with(&petrol_in_the_tank(), Effort::WATCHED, vapour_counts_as_air, nothing);
    let (plain, _) = reference_plant::run_with(&petrol_in_the_tank(), Effort::WATCHED, nothing, nothing);
    let row = [-30., -43., -71., -176., -413., NEVER, 8., 40., 42., 1.8, 3.2, 3.8, -93., -259., 22.1, 50.9];
    let wrong = |readings: &Readings| -> Vec<String> {
        // bubbles are many here, so the laws of release count: 5 mbar or 4 %
        let near = |i: usize, expected: f64| match i {
            9..=11 => 1.0,
            14 | 15 => 0.04 * expected,
            _ => 5.0_f64.max(0.04 * expected.abs()),
        };
        let found = list(readings).into_iter().zip(row).enumerate();
        found
            .filter(|&(i, (found, expected))| (found - expected).abs() > near(i, expected))
            .map(|(i, (found, expected))| format!("{}: {found:.2}, table says {expected}", NAMES[i]))
            .collect()
    };
    assert!(wrong(&r).is_empty(), "{}", wrong(&r).join("\n"));
    // and it is this that makes the row
    assert!(wrong(&plain).len() >= 6, "{:?}", wrong(&plain));
}

/// Rows of the first part of the table: time to −500 mbar (s), gas in the glass at idle, raised, most in
/// hold (of 100).
type Gas = (&'static str, Change, [f64; 4]);

const GAS: &[Gas] = &[
    ("healthy", |_| {}, [1.6, 0.0, 0.4, 0.5]),
    ("strainer blocked, mild", |p| nrv(p, |v| v.open = coefficients(400.0, 9.0)), [1.5, 0.0, 4.3, 1.5]),
    ("strainer blocked, severe", |p| nrv(p, |v| v.open = coefficients(1600.0, 60.0)), [0.0, 6.3, 12.2, 9.0]),
    ("filter clogged, mild", |p| filter(p, 600.0, 2.0), [1.8, 0.0, 0.0, 0.5]),
    ("filter clogged, severe", |p| filter(p, 3500.0, 15.0), [4.1, 0.0, 0.0, 0.5]),
    ("air leak, tank-side joint, mild", |p| leak(p, "foot", 0.5, 0.01), [1.8, 1.6, 2.6, 2.0]),
    ("air leak, tank-side joint, severe", |p| leak(p, "foot", 0.5, 0.1), [3.2, 11.4, 17.6, 14.3]),
    ("air leak, pump inlet, mild", |p| leak(p, "pump in", 0.5, 0.01), [2.1, 0.0, 0.3, 0.2]),
    ("air leak, pump inlet, severe", |p| leak(p, "pump in", 0.5, 0.1), [NEVER, 0.0, 0.0, 0.0]),
    ("vent blocked, mild", |p| vent(p, -60.0), [1.4, 0.0, 0.3, 0.5]),
    ("vent blocked, severe", |p| vent(p, -200.0), [1.0, 0.0, 0.0, 0.6]),
    ("non-return valve leaking", |p| nrv(p, |v| v.seat_leak = 2e-7), [1.6, 0.0, 0.4, 0.5]),
    ("non-return valve stuck open", |p| nrv(p, |v| v.stuck_open = 1.0), [1.6, 0.0, 0.4, 0.4]),
    ("non-return valve stuck nearly shut", |p| nrv(p, |v| v.lift = 0.06), [0.0, 9.3, 15.4, 12.4]),
    ("pump worn, mild", |p| pump(p, 1e-5, 2e-9), [1.9, 0.0, 0.3, 0.5]),
    ("pump worn, severe", |p| pump(p, 2.6e-5, 2e-8), [3.4, 0.0, 0.0, 0.5]),
    (
        "non-return valve stuck open and air leak at the filter",
        |p| {
            nrv(p, |v| v.stuck_open = 1.0);
            leak(p, "filter in", 0.5, 0.01);
        },
        [2.5, 0.0, 0.3, 73.8],
    ),
];

fn coefficients(a: f64, b: f64) -> faultbay::plant::component::Resistance {
    faultbay::plant::component::Resistance::from_coefficients(a, b)
}

#[test]
fn times_and_gas_agree_with_the_published_table() {
    let mut wrong = vec![];
    for (name, change, expected) in GAS {
        let mut faulty = reference_plant::plant();
        change(&mut faulty);
        let (r, _) = reference_plant::run(&faulty, Effort::WATCHED);
        let found = list(&r);
        for (i, &expected) in [5, 9, 10, 11].into_iter().zip(expected) {
            if (found[i] - expected).abs() > allowed(i, expected) {
                wrong.push(format!("{name}, {}: {:.2}, table says {expected}", NAMES[i], found[i]));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_gallery_tells_pump_overflow_and_back_leak_apart() {
    // bar gauge at idle and raised
    let rows: [(&str, Change, [f64; 2]); 5] = [
        ("healthy", |_| {}, [5.17, 5.83]),
        ("pump worn, severe", |p| pump(p, 2.6e-5, 2e-8), [5.00, 5.68]),
        ("overflow weak", |p| overflow(p, 1.8), [2.19, 2.83]),
        ("overflow stuck open", |p| overflow(p, 0.7), [1.09, 1.74]),
        ("back-leak", |p| engine(p, |e| e.back_leak = VolumeFlow::from_si(9e-6)), [5.06, 5.49]),
    ];
    for (name, change, expected) in rows {
        let mut faulty = reference_plant::plant();
        change(&mut faulty);
        let (r, _) = reference_plant::run(&faulty, Effort::WATCHED);
        for (found, expected) in [r.gallery_idle, r.gallery_raised].into_iter().zip(expected) {
            assert!((found * 1e-3 - expected).abs() < 0.02, "{name}: {found} mbar, table says {expected} bar");
        }
    }
}

#[test]
fn how_much_the_tank_fills_in_decides_what_an_adaptor_draws() {
    // The reading that is left out of the row "air leak at the adaptor, mild": 32.8 of 100 in hold. With the way to the
    // tank open it is 21.6 here, with that way shut at switching off 51; so the published line lets in less from the tank
    // while the pump runs down than this one, which has the same valve, column and lag. Why isn't known.
    let mut leaky = reference_plant::plant();
    leak(&mut leaky, TEE, 0.5, 0.01);
    let shut = |net: &mut Network<1>, y: &mut [Lanes<1>]| {
        let valve = net.top.names.iter().position(|n| n == "opening of the tee's valve").unwrap();
        y[valve] = Lanes([0.0]);
    };
    let (open, _) = reference_plant::run_with(&leaky, Effort::WATCHED, nothing, nothing);
    let (shut, _) = reference_plant::run_with(&leaky, Effort::WATCHED, nothing, shut);
    assert!(open.gas_hold < 32.8 && shut.gas_hold > 32.8, "{} and {}", open.gas_hold, shut.gas_hold);
}
