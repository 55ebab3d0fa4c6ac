//! The network against things it must obey whatever the plant: its own derivatives, conservation,
//! the method's order, slicing, and closed forms.

use faultbay::lanes::Lanes;
use faultbay::plant::assemble::{Detail, Rig, TeeFitting, assemble};
use faultbay::plant::component::Resistance;
use faultbay::plant::network::{End, Law, Network, Param};
use faultbay::plant::step::{Effort, Stepper};
use faultbay::plant::vehicle::Vehicle;
use faultbay::plant::{Plant, Warmth};
use faultbay::random::{Purpose, uniform};
use faultbay::units::{GRAVITY, PressureDifference, STANDARD_ATMOSPHERE_PA as P0, Span, Warming};
use proptest::prelude::*;

use crate::{reference_plant, small};

const S: u64 = 1_000_000;

/// A state somewhere in the middle of things: flows both ways, gas everywhere.
fn lively_state(net: &Network<1>, base: &[Lanes<1>], seed: u64) -> Vec<Lanes<1>> {
    let mut y = base.to_vec();
    let top = &net.top;
    let draw = |i: usize| uniform(seed, Purpose::Tolerance, i as u64);
    for (i, cell) in top.cells.iter().enumerate() {
        y[cell.g] += draw(i) * 0.3 * net.at(cell.volume);
        y[cell.g + 1] = y[cell.g + 1] * (0.6 + 0.6 * draw(i + 100));
    }
    for (i, vessel) in top.vessels.iter().enumerate() {
        y[vessel.x] += (draw(i + 200) - 0.6) * 0.2 * net.at(vessel.volume);
    }
    for (i, link) in top.links.iter().enumerate() {
        match link.law {
            Law::Pipe { q, .. } => {
                y[q] = Lanes([(draw(i + 300) - 0.4) * 80.0]);
                y[q + 1] = Lanes([(draw(i + 400) - 0.4) * 80.0]);
            }
            Law::Element { wax: Some(wax), .. } => y[wax] = Lanes([draw(i + 600)]),
            Law::NonReturn { sticks: Some((loose, _)), .. } => y[loose] = Lanes([draw(i + 650)]),
            _ => {}
        }
    }
    for (i, &input) in top.inputs.iter().enumerate() {
        y[input] = Lanes([draw(i + 500)]);
    }
    for (i, motor) in top.motors.iter().enumerate() {
        y[motor.i] = Lanes([8.0 * draw(i + 800) - 1.0]);
        y[motor.i + 1] = Lanes([900.0 * draw(i + 810)]);
        // beyond 6 V the relay's resistance is the difference of two numbers that are nearly one
        y[motor.i + 2] = Lanes([6.0 * draw(i + 820)]);
    }
    for (i, c) in top.controllers.iter().enumerate() {
        y[c.s] = Lanes([draw(i + 830)]);
        y[c.s + 1] = Lanes([5e5 * draw(i + 840)]);
    }
    let n = top.engine.n;
    for (i, (scale, offset)) in [(2000.0, 200.0), (2500.0, 0.0), (210.0, 0.0), (0.2, 0.0)].into_iter().enumerate() {
        y[n + i] = Lanes([offset + scale * draw(700 + i)]);
    }
    y[n + 7] = Lanes([draw(710)]);
    for zone in &top.zones {
        y[zone.t] = y[zone.t] + 20.0 * draw(711);
    }
    y
}

/// Compares the exact Jacobian of a plant with central differences in lively states.
pub fn check_jacobian(plant: &Plant, rig: &Rig) {
    let mut assembly = assemble(plant, rig, Detail::FULL).unwrap();
    let base = assembly.at_rest(plant);
    let net = &assembly.net;
    let n = net.states();
    let mut work = net.workspace();
    for seed in 0..12 {
        let y = lively_state(net, &base, seed);
        let (mut f, mut up, mut down) = (vec![Lanes::ZERO; n], vec![Lanes::ZERO; n], vec![Lanes::ZERO; n]);
        let mut jacobian = vec![Lanes::ZERO; n * n];
        net.rhs_and_jacobian(&y, &mut f, &mut jacobian, &mut work);
        net.rhs(&y, &mut up, &mut work);
        assert_eq!(f, up, "the right-hand side is the same with and without derivatives");
        for j in 0..n {
            let h = 1e-6 * y[j].0[0].abs().max(1e-2);
            let mut z = y.clone();
            z[j] = y[j] + h;
            net.rhs(&z, &mut up, &mut work);
            z[j] = y[j] - h;
            net.rhs(&z, &mut down, &mut work);
            for i in 0..n {
                let numeric = (up[i].0[0] - down[i].0[0]) / (2.0 * h);
                let exact = jacobian[i * n + j].0[0];
                // differences lose digits: allow rounding of f over the step
                let noise = 1e-14 * (f[i].0[0].abs() + 1e3) / h + 1e-7;
                assert!(
                    (numeric - exact).abs() <= 1e-4 * exact.abs().max(numeric.abs()) + noise,
                    "{}, seed {seed}: d({})/d({}) is {exact}, differences give {numeric}",
                    plant.title,
                    net.top.names[i],
                    net.top.names[j]
                );
            }
        }
    }
}

#[test]
fn jacobian_agrees_with_finite_differences() {
    let mut plant = reference_plant::plant();
    reference_plant::leak(&mut plant, "foot", 0.5, 0.02);
    reference_plant::leak(&mut plant, "pump in", 0.5, 0.05);
    if let faultbay::plant::component::Component::Engine(e) = &mut plant.part_mut("engine").unwrap().is {
        e.stopped_by_gas = Some(0.15);
    }
    if let faultbay::plant::component::Component::Filter(f) = &mut plant.part_mut("filter").unwrap().is {
        f.primer_stroke = Some(faultbay::units::Volume::from_si(8e-6));
    }
    check_jacobian(&plant, &reference_plant::rig());
}

/// Two tanks, a pot with a jet, and every kind of component at least once.
fn every_kind() -> Plant {
    let between = |name: &str, kind: &str, from: &str, to: &str, rest: &str| {
        format!(r#"(name: "{name}", label: "", is: {kind}(from: "{from}", to: "{to}", {rest})),"#)
    };
    let drop = "(drop: mbar(20), at: ml_per_s(25), laminar: 0.4)";
    let mut nodes = r#"(name: "tank", height: m(0), place: Tank), (name: "day", height: m(0.8)),
        (name: "pot", height: m(0), place: Tank), (name: "in", height: m(0.05), volume: ml(18), place: Tank),
        (name: "gallery", height: m(0.7), place: Bonnet),"#
        .to_owned();
    for (i, node) in ["module", "a", "b", "c", "d", "e", "f", "g", "h", "i", "back"].into_iter().enumerate() {
        let place = if i > 6 { "Bonnet" } else { "Line" };
        nodes += &format!(
            r#"(name: "{node}", height: m({}), volume: ml(10), place: {place}, joint: "{node}"),"#,
            0.1 * i as f64
        );
    }
    let tank = |name: &str, base: f64, more: &str| {
        format!(
            r#"(name: "{name}", label: "", is: Tank(outlet: "{name}", capacity: l(60), fill: l(3.5), area: m2(0.17),
            pickup: mm(20), vent: l_per_min(30), base: m({base}), {more})),"#
        )
    };
    let parts = [
        tank("tank", 0.0, r#"overflows_to: "day","#),
        tank("day", 0.8, ""),
        r#"(name: "pot", label: "", is: SwirlPot(outlet: "pot", tank: "tank", volume: ml(700), area: m2(0.03),
            pickup: mm(20), flap: (drop: mbar(1), at: ml_per_s(30), laminar: 0.3))),"#
            .to_owned(),
        between("strainer", "Strainer", "pot", "in", &format!("clean: {drop}")),
        between(
            "electric",
            "ElectricPump",
            "in",
            "module",
            r#"tank: "tank", stage: Turbine, displacement: ml_per_turn(0.4), slip: 1.9e-5, relief_opens: bar(2),
            relief_slope: 0.0009, seat_leak: 1e-9, winding: ohm(0.42), inductance: 0.0006, constant: 0.0122,
            brushes: V(0.9), inertia: 6e-6, dry_friction: 0.009, wet_friction: 3.4e-5,
            feed: [(name: "relay", ohm: ohm(0.1))], earth: [], command: Demand(prime: s(2), sensor: "gallery",
            idle: bar(3), raised: bar(4), gain: 0.5, integral: 2)"#,
        ),
        between("jet", "JetPump", "module", "pot", &format!("nozzle: {drop}, ratio: 2.5")),
        between(
            "hose",
            "Line",
            "module",
            "a",
            "length: m(3), bore: mm(8), fittings: 4, wall: per_Pa(2e-8), squeezed_at: mbar(900), cells: 3",
        ),
        between("bulb", "HandPrimer", "a", "b", &format!("stroke: ml(12), open: {drop}")),
        between("bowl", "SedimentBowl", "b", "c", &format!("bowl: ml(120), clean: {drop}")),
        between(
            "valve",
            "NonReturnValve",
            "c",
            "d",
            &format!("cracking: mbar(12), open: {drop}, stuck_open: 0.3, sticks: mbar(25)"),
        ),
        between("from day", "Restriction", "day", "d", &format!("drop: {drop}")),
        between("tap", "ShutOffValve", "d", "e", &format!("open: {drop}, leak: 0.01")),
        between(
            "filter",
            "Filter",
            "e",
            "f",
            &format!("new: {drop}, bowl: ml(150), clean_side: ml(60), primer_stroke: ml(8)"),
        ),
        between(
            "diaphragm",
            "DiaphragmPump",
            "f",
            "g",
            "displacement: ml_per_turn(1.5), spring: mbar(350), spring_over: mbar(200), filling: mbar(300), \
             filling_with_speed: mbar(50), leak: 1e-6, hand_stroke: ml(15)",
        ),
        between("second", "Line", "g", "h", "length: m(1), bore: mm(6), wall: per_Pa(4e-9)"),
        between(
            "gears",
            "GearPump",
            "h",
            "i",
            "displacement: ml_per_turn(1.9), slip: 3e-6, slip_at_rest: 4e-9, filling: mbar(360), \
             filling_with_speed: mbar(40)",
        ),
        between("union", "Restriction", "i", "gallery", &format!("drop: {drop}")),
        between(
            "regulator",
            "Relief",
            "gallery",
            "tank",
            "opens: bar(0.5), slope: 0.0016, leak: 1e-8, way_out: 100, manifold: true",
        ),
        between("relief", "Relief", "h", "back", "opens: bar(0.3), slope: 0.0016, leak: 1e-8"),
        between("return", "Line", "back", "day", "length: m(2), bore: mm(6), wall: per_Pa(4e-9)"),
        r#"(name: "engine", label: "", is: Engine(gallery: "gallery", volume: ml(50), wall: per_Pa(2.5e-9),
            overflow: (opens: bar(0.8), slope: 0.0006, leak: 2e-9), returns_to: "back", demand: ml_per_s(0.3),
            demand_with_speed: ml_per_s(1), back_leak: ml_per_s(2), demand_with_load: 3, manifold: mbar(-500),
            injectors_drip: 1e-8, holds_gas: true, starves_at: mbar(900), starves_over: mbar(400), lag: s(0.35),
            starter: rpm(210), idle: rpm(780), raised: rpm(2300), stopped_by_gas: 0.15)),"#
            .to_owned(),
    ];
    let mut plant = small::plant(small::DIESEL, &nodes, &parts.concat());
    plant.warmth = Some(Warmth {
        tank: Warming::from_si(8.0),
        running: Warming::from_si(30.0),
        stopped: Warming::from_si(45.0),
        block_warms: Span::from_si(400.0),
        block_cools: Span::from_si(3000.0),
        tank_follows: Span::from_si(2000.0),
        bonnet_follows: Span::from_si(300.0),
        at_start: 0.5,
    });
    reference_plant::leak(&mut plant, "a", 0.4, 0.05);
    reference_plant::leak(&mut plant, "gallery", 0.5, 0.05);
    plant
}

#[test]
fn jacobian_of_every_kind_agrees_with_finite_differences() {
    let plant = every_kind();
    for kind in faultbay::plant::component::Component::KINDS {
        assert!(plant.parts.iter().any(|p| p.is.kind() == *kind), "no {kind}");
    }
    check_jacobian(&plant, &Rig::default());
    let tee = |joint: &str| Some(TeeFitting { joint: joint.into(), hose_air: 1.0, valve_reach: 0.9 });
    check_jacobian(&plant, &Rig { tee: tee("c"), container: None });
    check_jacobian(&plant, &Rig { tee: tee("h"), container: Some("b".into()) });
    // and without gas in the gallery
    let mut plant = plant;
    plant.leaks.pop();
    if let faultbay::plant::component::Component::Engine(e) = &mut plant.part_mut("engine").unwrap().is {
        e.holds_gas = false;
    }
    check_jacobian(&plant, &Rig::default());
}

#[test]
fn fuel_and_air_are_conserved_and_pressure_stays_above_vapour() {
    for change in [0, 1, 2, 3] {
        let mut plant = reference_plant::plant();
        match change {
            1 => reference_plant::leak(&mut plant, "foot", 0.5, 0.1),
            2 => reference_plant::vent(&mut plant, -200.0),
            3 => reference_plant::nrv(&mut plant, |v| v.lift = 0.0),
            _ => {}
        }
        let (_, car) = reference_plant::run(&plant, Effort::WATCHED);
        let net = car.net();
        let (mut start, end) =
            (assemble(&plant, &reference_plant::rig(), Detail::FULL).unwrap(), car.snapshot(640 * S));
        let before = start.at_rest(&plant);
        let fuel = (net.liquid_balance(&before).0[0], net.liquid_balance(&end).0[0]);
        assert!((fuel.0 - fuel.1).abs() < 1e-9 * fuel.0, "fuel {} became {}", fuel.0, fuel.1);
        let air = (net.air_balance(&before).0[0], net.air_balance(&end).0[0]);
        assert!((air.0 - air.1).abs() < 1e-9 * air.0, "air {} became {}", air.0, air.1);
        for (v, vessel) in net.top.vessels.iter().enumerate() {
            assert!(net.pressure(v, &end).0[0] > net.at(net.top.zones[vessel.zone].vapour).0[0]);
        }
    }
}

/// Runs a fixed programme, looking at the vehicle at the given times; returns bits of the states seen
/// at whole seconds.
fn sliced(every: u64) -> Vec<u64> {
    let plant = reference_plant::plant();
    let mut car = Vehicle::new(&plant, &reference_plant::rig(), Detail::FULL, Effort::WATCHED).unwrap();
    let n = car.net().top.engine.n;
    let valve = car.assembly().handles.valve.unwrap();
    let mut bits = vec![];
    let mut t = 0;
    let mut look = |car: &mut Vehicle, until: u64| {
        while t < until {
            let next = (t + every).min(until);
            // every whole second is looked at in any slicing
            let mut whole = (t / S + 1) * S;
            while whole <= next {
                car.cover(whole);
                bits.extend(car.snapshot(whole).iter().map(|v| v.0[0].to_bits()));
                whole += S;
            }
            car.cover(next);
            t = next;
        }
    };
    for (at, state, target, over) in [
        (1_234_567, n + 2, 210.0, S / 10),
        (3_000_001, n + 1, 780.0, S / 10),
        (3_400_000, n + 2, 0.0, S / 10),
        (8_765_432, valve, 0.0, S * 3 / 10),
        (11_111_111, valve, 1.0, S * 3 / 10),
        (14_000_000, n + 1, 0.0, S / 10),
    ] {
        look(&mut car, at);
        car.ramp(at, state, target, over);
    }
    look(&mut car, 60 * S);
    bits
}

#[test]
fn slicing_time_changes_no_bit() {
    let whole = sliced(60 * S);
    for every in [16_000, 7_919, 333_333] {
        assert!(whole == sliced(every), "slices of {every} µs give other bits");
    }
}

#[test]
fn a_fine_tolerance_moves_readings_by_less_than_half_a_millibar() {
    let plant = reference_plant::plant();
    let (watched, _) = reference_plant::run(&plant, Effort::WATCHED);
    let (fine, car) = reference_plant::run(&plant, Effort::REFERENCE);
    assert_eq!(car.work().forced, 0);
    for (a, b) in watched.pressures().into_iter().zip(fine.pressures()) {
        assert!((a - b).abs() < 0.5, "{a} against {b}");
    }
    let (coarse, _) = reference_plant::run(&plant, Effort::ENSEMBLE);
    for (a, b) in coarse.pressures().into_iter().zip(fine.pressures()) {
        assert!((a - b).abs() < 2.0, "ensemble: {a} against {b}");
    }
}

#[test]
fn a_laminar_line_follows_hagen_poiseuille() {
    let plant = reference_plant::plant();
    let assembly = assemble(&plant, &Rig::default(), Detail::FULL).unwrap();
    let zone = &assembly.net.top.zones[0];
    let (density, viscosity) = (assembly.net.at(zone.density), assembly.net.at(zone.viscosity).0[0]);
    let (length, bore, q) = (3.6, 0.0078, 10.0);
    let [vis, flow, l, d, rough, none] = [viscosity, q, length, bore, 1e-3, 0.0].map(|v| Lanes([v]));
    let law = faultbay::plant::network::pipe_friction(density, vis, flow, l, d, rough, none).value.0[0];
    let exact = 128.0 * viscosity * length * q * 1e-6 / (core::f64::consts::PI * bore * bore * bore * bore);
    assert!((law / exact - 1.0).abs() < 1e-9, "{law} against {exact}");
}

#[test]
fn a_tight_tank_empties_by_the_gas_law() {
    // a tank without a vent: the air in it expands isothermally as fuel is burned
    let mut plant = reference_plant::plant();
    reference_plant::vent(&mut plant, 0.0);
    let mut car = Vehicle::new(&plant, &reference_plant::rig(), Detail::FULL, Effort::WATCHED).unwrap();
    let n = car.net().top.engine.n;
    car.ramp(S, n + 2, 210.0, S / 10);
    car.ramp(3 * S, n + 1, 780.0, S / 10);
    let t = 1800 * S;
    car.cover(t);
    let y = car.snapshot(t);
    let net = car.net();
    let (tank, vapour) = (&net.top.reservoirs[0], net.at(net.top.zones[0].vapour).0[0]);
    let capacity = net.at(tank.capacity).0[0];
    let left = capacity - y[tank.v].0[0];
    let start = capacity - 45_000.0;
    let expected = vapour + (P0 - vapour) * start / left;
    let found = net.air_space(0, &y).0[0];
    // the line takes no air from the air space, so the law is exact up to the solver's tolerance
    assert!((found - expected).abs() < 5.0, "{found} against {expected}");
    let burned = y[net.top.ledgers.burned].0[0];
    assert!(burned > 1500.0, "the engine burned {burned} mL");
}

/// The pump inlet of the reference plant shut off from everything but a hole, without gas exchange.
fn closed_vessel(hole_mm2: f64, gauge: f64) -> (Vehicle, usize) {
    let mut plant = reference_plant::plant();
    reference_plant::leak(&mut plant, "pump in", 0.5, hole_mm2);
    let mut car = Vehicle::new(&plant, &reference_plant::rig(), Detail::FULL, Effort::REFERENCE).unwrap();
    let v = car.net().top.vessel("pump in").unwrap();
    car.change(0, |net, y| {
        let top = net.top.clone();
        let mut set = |param: Param, value: f64| net.params[param.index()] = Lanes([value]);
        set(top.common.release, 0.0);
        set(top.common.exchange, 0.0);
        for link in &top.links {
            match link.law {
                Law::Slip { turning, rest, .. } => {
                    set(turning, 0.0);
                    set(rest, 0.0);
                }
                Law::Element { a, b, .. } if matches!(link.to, End::Cell(w, _) if w == v) => {
                    set(a, 1e15);
                    set(b, 0.0);
                }
                _ => {}
            }
        }
        y[top.vessels[v].x] = net.excess_for(v, Lanes([P0 + gauge]), net.free_gas(v, y), y);
    });
    (car, v)
}

/// Pressure in a closed vessel from what is in it, by halving: liquid and wall give `compliance`·Δp,
/// gas keeps its mass at constant temperature.
fn pressure_of(excess: f64, gas: f64, still: f64, compliance: f64, vapour: f64) -> f64 {
    let (mut low, mut high) = (vapour + 1.0, 10.0 * P0);
    for _ in 0..80 {
        let p = 0.5 * (low + high);
        let room = still - excess + compliance * (p - P0);
        // too much pressure: the gas needs less room than there is
        if (gas + still) * P0 / (p - vapour) < room { high = p } else { low = p }
    }
    0.5 * (low + high)
}

/// Air through a hole, mL/s at standard pressure: St Venant and Wantzel, choked below 0.5283, with
/// the start rounded over 100 Pa.
fn air_through(mm2: f64, p: f64, kelvin: f64) -> f64 {
    if p >= P0 {
        return 0.0;
    }
    let rt = 287.05 * kelvin;
    // what is left of the suction after the skin of fuel across the hole
    let u = P0 - p;
    let p = P0 - u * (u * u + 0.04 * 1e4) / (u * u + 1e4);
    let r = (p / P0).max(0.5283);
    let speed = (7.0 * rt * (1.0 - faultbay::ops::powf(r, 2.0 / 7.0))).sqrt();
    // at the throat: density of the air, expanded
    let mass = mm2 * 1e-6 * P0 / rt * faultbay::ops::powf(r, 1.0 / 1.4) * speed;
    let dp = P0 - p;
    mass * rt / P0 * 1e6 * (dp / (dp * dp + 1e4).sqrt()).sqrt()
}

/// A step's error may leave a vessel owing gas. Bubbles grow where too much air is dissolved and shrink where too little is;
/// a debt is given back either way.
#[test]
fn gas_that_is_owed_is_given_back_whatever_the_fuel_holds() {
    let (car, v) = closed_vessel(0.0, 20_000.0);
    let (mut net, y) = (car.net().clone(), car.snapshot(0));
    let top = net.top.clone();
    let cell = &top.cells[top.vessels[v].cell_range()][0];
    let volume = net.at(cell.volume).0[0];
    let mut rate = |gas: f64, dissolved: f64| {
        let mut y = y.clone();
        y[cell.g] = Lanes([gas * volume]);
        y[cell.g + 1] = Lanes([dissolved * y[cell.g + 1].0[0]]);
        y[top.vessels[v].x] = net.excess_for(v, Lanes([P0]), net.free_gas(v, &y), &y);
        let mut of = |exchange: f64| {
            net.params[top.common.exchange.index()] = Lanes([exchange]);
            let mut f = vec![Lanes([0.0]); net.states()];
            net.rhs(&y, &mut f, &mut net.workspace());
            f[cell.g].0[0]
        };
        of(1.0) - of(0.0)
    };
    for gas in [-1e-3, -0.019, -0.021, -0.1] {
        let found = [3.0, 0.1].map(|dissolved| rate(gas, dissolved));
        assert!(found.iter().all(|rate| *rate > 0.0), "{gas} of the cell's volume: {found:?} mL/s");
    }
    assert!(rate(1e-3, 3.0) > 0.0 && rate(1e-3, 0.1) < 0.0);
}

#[test]
fn a_hole_fills_a_closed_vessel_as_an_independent_integration_says() {
    const HOLE: f64 = 4e-6;
    let (mut car, v) = closed_vessel(HOLE, -60_000.0);
    let (net, start) = (car.net().clone(), car.snapshot(0));
    let vessel = &net.top.vessels[v];
    let number = |param: Param| net.at(param).0[0];
    let (still, give, vapour) =
        (number(vessel.still_gas), number(vessel.compliance), number(net.top.zones[0].vapour));
    let of = |gas: f64| pressure_of(start[vessel.x].0[0], gas, still, give, vapour);
    let inflow = |gas: f64| air_through(HOLE, of(gas), number(net.top.common.air_temperature));
    let (mut gas, h) = (0.0, 0.01);
    let mut deepest = 0.0_f64;
    for second in 1..=400 {
        // Runge and Kutta, step 10 ms
        for _ in 0..100 {
            let a = inflow(gas);
            let b = inflow(gas + 0.5 * h * a);
            let c = inflow(gas + 0.5 * h * b);
            let d = inflow(gas + h * c);
            gas += h / 6.0 * (a + 2.0 * b + 2.0 * c + d);
        }
        car.cover(second * S);
        let found = net.pressure(v, &car.snapshot(second * S)).0[0];
        deepest = deepest.min(of(gas) - P0);
        assert!((found - of(gas)).abs() < 5.0, "after {second} s: {found} Pa, independently {} Pa", of(gas));
    }
    assert!(deepest < -50_000.0, "it begins deep: {deepest}");
    assert!(of(gas) - P0 > -100.0, "it ends where the skin holds it: {}", of(gas) - P0);
}

#[test]
fn a_small_depression_decays_exponentially_through_a_hole() {
    // far below the rounding (100 Pa) the inflow is CdA·√(2/ρ_air)·Δp/√(100 Pa) of the 0.04 of the suction that get past
    // the skin, and the gas that comes in raises the pressure by dp/dG = p₀/y / (C + p₀G/y²): λ is their product
    const HOLE: f64 = 1e-6;
    let (mut car, v) = closed_vessel(HOLE, -1.0);
    let net = car.net().clone();
    let vessel = &net.top.vessels[v];
    let number = |param: Param| net.at(param).0[0];
    let y = P0 - number(net.top.zones[0].vapour);
    let density = P0 / (287.05 * number(net.top.common.air_temperature));
    let inflow = 0.04 * HOLE * (2.0 / density).sqrt() / 10.0;
    let stiffness = P0 / y / (number(vessel.compliance) + P0 * number(vessel.still_gas) / (y * y));
    let rate = inflow * stiffness;
    let mut gauge = |t: u64| {
        car.cover(t);
        net.pressure(v, &car.snapshot(t)).0[0] - P0
    };
    let halving = (faultbay::ops::ln(2.0) / rate * 1e6) as u64;
    let first = gauge(0);
    for n in 1..=4_u32 {
        let (expected, found) = (first / f64::from(1 << n), gauge(u64::from(n) * halving));
        assert!((found / expected - 1.0).abs() < 0.01, "after {n} halvings {found} Pa, expected {expected} Pa");
    }
}

#[test]
fn a_hole_below_the_surface_drains_the_tank_as_torricelli_says() {
    // a valve that stands open without resistance, a hole behind it: √(head) falls evenly,
    // √h = √h₀ − CdA/A·√(g/2)·t, as long as the tank breathes freely. One cell, so that the hole takes
    // what comes: the flow between cells knows nothing of holes.
    const HOLE: f64 = 4.0;
    let mut plant = reference_plant::plant();
    reference_plant::nrv(&mut plant, |valve| {
        (valve.stuck_open, valve.cracking) = (1.0, PressureDifference::from_si(0.0));
        valve.open = Resistance::from_coefficients(1e-3, 0.0);
    });
    reference_plant::leak(&mut plant, "foot", 0.1, HOLE);
    let mut car =
        Vehicle::new(&plant, &reference_plant::rig(), Detail { most_cells: 1, ..Detail::FULL }, Effort::WATCHED)
            .unwrap();
    let net = car.net().clone();
    let height = net.at(net.top.vessels[net.top.vessel("foot").unwrap()].height).0[0];
    let tank = net.top.reservoirs[0].v;
    let area = net.at(net.top.reservoirs[0].area).0[0];
    let root = |v: f64| (v / area - height).sqrt();
    // what stood in the line runs out first
    car.cover(300 * S);
    let start = root(car.snapshot(300 * S)[tank].0[0]);
    for minutes in [10, 20, 30] {
        let t = minutes * 60 * S;
        car.cover(t);
        let left = car.snapshot(t)[tank].0[0];
        let slope = HOLE * 1e-6 / (area * 1e-6) * (GRAVITY / 2.0).sqrt();
        let expected = start - slope * (minutes * 60 - 300) as f64;
        assert!(
            (root(left) / expected - 1.0).abs() < 2e-3,
            "{minutes} min: √h {}, expected {expected}",
            root(left)
        );
    }
}

#[test]
fn tighter_tolerances_shrink_the_error() {
    // The engine speeds up evenly, so that everything moves and nothing jumps. Fixed steps would show
    // less than order 4 here: some of the eigenvalues are far beyond them.
    let plant = reference_plant::plant();
    let mut car = Vehicle::new(&plant, &reference_plant::rig(), Detail::FULL, Effort::REFERENCE).unwrap();
    let n = car.net().top.engine.n;
    car.ramp(S, n + 2, 210.0, S / 10);
    car.ramp(3 * S, n + 1, 780.0, S / 10);
    car.ramp(20 * S, n + 1, 2300.0, 4 * S);
    let from = 21 * S;
    car.cover(from);
    let (net, y, inlet) = (car.net().clone(), car.snapshot(from), car.net().top.vessel("pump in").unwrap());
    let reading = |relative: f64| {
        let effort = Effort { relative, absolute: 1e5 * relative, ..Effort::REFERENCE };
        let mut net = net.clone();
        let mut stepper = Stepper::new(&net, y.clone(), 0, effort);
        let end = stepper.stop_at(&mut net, S).clone();
        net.pressure(inlet, &end).0[0]
    };
    let exact = reading(1e-12);
    assert!((exact - net.pressure(inlet, &y).0[0]).abs() > 1000.0, "the pressure moves");
    let errors = [1e-4, 1e-5, 1e-6, 1e-7, 1e-8].map(|relative| (reading(relative) - exact).abs());
    assert!(errors[1] < 1.0, "{errors:?} Pa");
    for (loose, tight) in errors.iter().zip(&errors[2..]) {
        assert!(
            tight < &(loose / 10.0),
            "a hundredth of the tolerance, but not a tenth of the error: {errors:?} Pa"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Whatever is done with the levers, the state stays finite, fuel is conserved and no pressure
    /// falls to the vapour pressure.
    #[test]
    fn any_handling_conserves_fuel(moves in proptest::collection::vec((0usize..4, 0.0f64..1.0, 1u64..8_000_000), 1..14)) {
        let mut plant = reference_plant::plant();
        reference_plant::leak(&mut plant, "foot", 0.5, 0.02);
        let mut car = Vehicle::new(&plant, &reference_plant::rig(), Detail::FULL, Effort::WATCHED).unwrap();
        let n = car.net().top.engine.n;
        let valve = car.assembly().handles.valve.unwrap();
        let before = car.net().liquid_balance(&car.snapshot(0)).0[0];
        let mut t = 0;
        for (lever, to, wait) in moves {
            t += wait;
            match lever {
                0 => car.ramp(t, n + 2, 210.0 * to.round(), S / 10),
                1 => car.ramp(t, n + 1, 2500.0 * to, S),
                2 => car.ramp(t, valve, to, S * 3 / 10),
                _ => car.ramp(t, n + 1, 0.0, S / 10),
            }
        }
        t += 30 * S;
        car.cover(t);
        let y = car.snapshot(t);
        prop_assert!(y.iter().all(|v| v.0[0].is_finite()));
        prop_assert_eq!(car.work().forced, 0);
        let after = car.net().liquid_balance(&y).0[0];
        prop_assert!((before - after).abs() < 1e-9 * before, "{} became {}", before, after);
        let net = car.net();
        for (v, vessel) in net.top.vessels.iter().enumerate() {
            prop_assert!(net.pressure(v, &y).0[0] > net.at(net.top.zones[vessel.zone].vapour).0[0]);
        }
    }
}
