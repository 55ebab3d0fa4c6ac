//! The network against things it must obey whatever the plant: its own derivatives, conservation,
//! the method's order, slicing, and closed forms.

use faultbay::plant::assemble::{Detail, Rig, assemble};
use faultbay::plant::component::Resistance;
use faultbay::plant::network::{End, Kind, Network};
use faultbay::plant::step::{Effort, Stepper};
use faultbay::plant::vehicle::{Vehicle, tank};
use faultbay::random::{Purpose, uniform};
use faultbay::units::{GRAVITY, PressureDifference, STANDARD_ATMOSPHERE_PA as P0};
use proptest::prelude::*;

use crate::reference_plant;

const S: u64 = 1_000_000;

/// A state somewhere in the middle of things: flows both ways, gas everywhere.
fn lively_state(net: &Network, base: &[f64], seed: u64) -> Vec<f64> {
    let mut y = base.to_vec();
    let draw = |i: usize| uniform(seed, Purpose::Tolerance, i as u64);
    for (i, cell) in net.cells.iter().enumerate() {
        y[cell.g] += draw(i) * 0.3 * cell.volume;
        y[cell.g + 1] *= 0.6 + 0.6 * draw(i + 100);
    }
    for (i, vessel) in net.vessels.iter().enumerate() {
        y[vessel.x] += (draw(i + 200) - 0.6) * 0.2 * vessel.volume;
    }
    for (i, link) in net.links.iter().enumerate() {
        match link.kind {
            Kind::Pipe { q, .. } => {
                y[q] = (draw(i + 300) - 0.4) * 80.0;
                y[q + 1] = (draw(i + 400) - 0.4) * 80.0;
            }
            Kind::Valve { opening, .. } => y[opening] = draw(i + 500),
            Kind::Element { on, .. } => y[on] = draw(i + 600),
            _ => {}
        }
    }
    y[net.engine.n] = 200.0 + 2000.0 * draw(700);
    y[net.engine.n + 1] = 2500.0 * draw(701);
    y[net.engine.n + 2] = 210.0 * draw(702);
    y[net.engine.n + 3] = 0.2 * draw(703);
    y
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
    let assembly = assemble(&plant, &reference_plant::rig(), Detail::FULL).unwrap();
    let net = &assembly.net;
    let n = net.states();
    let mut work = net.workspace();
    let base = assembly.at_rest(tank(&plant).unwrap());
    for seed in 0..12 {
        let y = lively_state(net, &base, seed);
        let (mut f, mut up, mut down) = (vec![0.0; n], vec![0.0; n], vec![0.0; n]);
        let mut jacobian = vec![0.0; n * n];
        net.rhs_and_jacobian(&y, &mut f, &mut jacobian, &mut work);
        net.rhs(&y, &mut up, &mut work);
        assert_eq!(f, up, "the right-hand side is the same with and without derivatives");
        for j in 0..n {
            let h = 1e-6 * y[j].abs().max(1e-2);
            let mut z = y.clone();
            z[j] += h;
            net.rhs(&z, &mut up, &mut work);
            z[j] = y[j] - h;
            net.rhs(&z, &mut down, &mut work);
            for i in 0..n {
                let numeric = (up[i] - down[i]) / (2.0 * h);
                let exact = jacobian[i * n + j];
                // differences lose digits: allow rounding of f over the step
                let noise = 1e-14 * (f[i].abs() + 1e3) / h + 1e-7;
                assert!(
                    (numeric - exact).abs() <= 1e-4 * exact.abs().max(numeric.abs()) + noise,
                    "seed {seed}: d({})/d({}) is {exact}, differences give {numeric}",
                    net.names[i],
                    net.names[j]
                );
            }
        }
    }
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
        let (start, end) =
            (assemble(&plant, &reference_plant::rig(), Detail::FULL).unwrap(), car.snapshot(640 * S));
        let before = start.at_rest(tank(&plant).unwrap());
        let fuel = (net.liquid_balance(&before), net.liquid_balance(&end));
        assert!((fuel.0 - fuel.1).abs() < 1e-9 * fuel.0, "fuel {} became {}", fuel.0, fuel.1);
        let air = (net.air_balance(&before), net.air_balance(&end));
        assert!((air.0 - air.1).abs() < 1e-9 * air.0, "air {} became {}", air.0, air.1);
        for v in 0..net.vessels.len() {
            assert!(net.pressure(v, &end) > net.medium.vapour);
        }
    }
}

/// Runs a fixed programme, looking at the vehicle at the given times; returns bits of the states seen
/// at whole seconds.
fn sliced(every: u64) -> Vec<u64> {
    let plant = reference_plant::plant();
    let mut car = Vehicle::new(&plant, &reference_plant::rig(), Detail::FULL, Effort::WATCHED).unwrap();
    let n = car.net().engine.n;
    let valve = car.assembly().valve.unwrap();
    let mut bits = vec![];
    let mut t = 0;
    let mut look = |car: &mut Vehicle, until: u64| {
        while t < until {
            let next = (t + every).min(until);
            // every whole second is looked at in any slicing
            let mut whole = (t / S + 1) * S;
            while whole <= next {
                car.cover(whole);
                bits.extend(car.snapshot(whole).iter().map(|v| v.to_bits()));
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
    let m = &assembly.net.medium;
    let (length, bore, q) = (3.6, 0.0078, 10.0);
    let law = faultbay::plant::network::pipe_friction(m, q, length, bore, 1e-3, 0.0);
    let exact = 128.0 * m.viscosity * length * q * 1e-6 / (core::f64::consts::PI * bore * bore * bore * bore);
    assert!((law.value / exact - 1.0).abs() < 1e-9, "{} against {exact}", law.value);
}

#[test]
fn a_tight_tank_empties_by_the_gas_law() {
    // a tank without a vent: the air in it expands isothermally as fuel is burned
    let mut plant = reference_plant::plant();
    reference_plant::vent(&mut plant, 0.0);
    let mut car = Vehicle::new(&plant, &reference_plant::rig(), Detail::FULL, Effort::WATCHED).unwrap();
    let n = car.net().engine.n;
    car.ramp(S, n + 2, 210.0, S / 10);
    car.ramp(3 * S, n + 1, 780.0, S / 10);
    let t = 1800 * S;
    car.cover(t);
    let y = car.snapshot(t);
    let net = car.net();
    let left = net.tank.capacity - y[net.tank.v];
    let start = net.tank.capacity - 45_000.0;
    let expected = net.medium.vapour + (P0 - net.medium.vapour) * start / left;
    // the line takes no air from the air space, so the law is exact up to the solver's tolerance
    assert!((net.air_space(&y) - expected).abs() < 5.0, "{} against {expected}", net.air_space(&y));
    assert!(y[net.ledgers.burned] > 1500.0, "the engine burned {} mL", y[net.ledgers.burned]);
}

/// The pump inlet of the reference plant shut off from everything but a hole, without gas exchange.
fn closed_vessel(hole_mm2: f64, gauge: f64) -> (Vehicle, usize) {
    let mut plant = reference_plant::plant();
    reference_plant::leak(&mut plant, "pump in", 0.5, hole_mm2);
    let mut car = Vehicle::new(&plant, &reference_plant::rig(), Detail::FULL, Effort::REFERENCE).unwrap();
    let v = car.net().vessel("pump in").unwrap();
    car.change(0, |net, y| {
        (net.medium.release, net.medium.exchange) = (0.0, 0.0);
        (net.pump.slip, net.pump.slip_at_rest) = (0.0, 0.0);
        for link in &mut net.links {
            if link.to == End::Inlet(v) {
                link.kind = Kind::Resistance { a: 1e15, b: 0.0 };
            }
        }
        let vessel = &net.vessels[v];
        let gas: f64 = net.cells[vessel.first_cell..vessel.first_cell + vessel.cells].iter().map(|c| y[c.g]).sum();
        y[vessel.x] = net.excess_for(v, P0 + gauge, gas);
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
    let r = (p / P0).max(0.5283);
    let speed = (7.0 * rt * (1.0 - faultbay::ops::powf(r, 2.0 / 7.0))).sqrt();
    // at the throat: density of the air, expanded
    let mass = mm2 * 1e-6 * P0 / rt * faultbay::ops::powf(r, 1.0 / 1.4) * speed;
    let dp = P0 - p;
    mass * rt / P0 * 1e6 * (dp / (dp * dp + 1e4).sqrt()).sqrt()
}

#[test]
fn a_hole_fills_a_closed_vessel_as_an_independent_integration_says() {
    const HOLE: f64 = 4e-6;
    let (mut car, v) = closed_vessel(HOLE, -60_000.0);
    let (net, start) = (car.net().clone(), car.snapshot(0));
    let vessel = &net.vessels[v];
    let of = |gas: f64| pressure_of(start[vessel.x], gas, vessel.still_gas, vessel.compliance, net.medium.vapour);
    let inflow = |gas: f64| air_through(HOLE, of(gas), net.medium.temperature);
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
        let found = net.pressure(v, &car.snapshot(second * S));
        deepest = deepest.min(of(gas) - P0);
        assert!((found - of(gas)).abs() < 5.0, "after {second} s: {found} Pa, independently {} Pa", of(gas));
    }
    assert!(deepest < -50_000.0, "it begins deep: {deepest}");
    assert!(of(gas) - P0 > -50.0, "it ends at air pressure: {}", of(gas) - P0);
}

#[test]
fn a_small_depression_decays_exponentially_through_a_hole() {
    // far below the rounding (100 Pa) the inflow is CdA·√(2/ρ_air)·Δp/√(100 Pa), and the gas that comes
    // in raises the pressure by dp/dG = p₀/y / (C + p₀G/y²): λ is their product
    const HOLE: f64 = 1e-6;
    let (mut car, v) = closed_vessel(HOLE, -5.0);
    let net = car.net().clone();
    let vessel = &net.vessels[v];
    let y = P0 - net.medium.vapour;
    let density = P0 / (287.05 * net.medium.temperature);
    let inflow = HOLE * (2.0 / density).sqrt() / 10.0;
    let stiffness = P0 / y / (vessel.compliance + P0 * vessel.still_gas / (y * y));
    let rate = inflow * stiffness;
    let mut gauge = |t: u64| {
        car.cover(t);
        net.pressure(v, &car.snapshot(t)) - P0
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
    let mut car = Vehicle::new(&plant, &reference_plant::rig(), Detail { most_cells: 1 }, Effort::WATCHED).unwrap();
    let net = car.net().clone();
    let height = net.vessels[net.vessel("foot").unwrap()].height;
    let root = |v: f64| (v / net.tank.area - height).sqrt();
    // what stood in the line runs out first
    car.cover(300 * S);
    let start = root(car.snapshot(300 * S)[net.tank.v]);
    for minutes in [10, 20, 30] {
        let t = minutes * 60 * S;
        car.cover(t);
        let left = car.snapshot(t)[net.tank.v];
        let slope = HOLE * 1e-6 / (net.tank.area * 1e-6) * (GRAVITY / 2.0).sqrt();
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
    let n = car.net().engine.n;
    car.ramp(S, n + 2, 210.0, S / 10);
    car.ramp(3 * S, n + 1, 780.0, S / 10);
    car.ramp(20 * S, n + 1, 2300.0, 4 * S);
    let from = 21 * S;
    car.cover(from);
    let (net, y, inlet) = (car.net().clone(), car.snapshot(from), car.net().pump.inlet);
    let reading = |relative: f64| {
        let effort = Effort { relative, absolute: 1e5 * relative, longest: 600.0 };
        let mut stepper = Stepper::new(&net, y.clone(), 0, effort);
        net.pressure(inlet, stepper.stop_at(&net, S))
    };
    let exact = reading(1e-12);
    assert!((exact - net.pressure(inlet, &y)).abs() > 1000.0, "the pressure moves");
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
        let n = car.net().engine.n;
        let valve = car.assembly().valve.unwrap();
        let before = car.net().liquid_balance(&car.snapshot(0));
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
        prop_assert!(y.iter().all(|v| v.is_finite()));
        prop_assert_eq!(car.work().forced, 0);
        let after = car.net().liquid_balance(&y);
        prop_assert!((before - after).abs() < 1e-9 * before, "{} became {}", before, after);
        for v in 0..car.net().vessels.len() {
            prop_assert!(car.net().pressure(v, &y) > car.net().medium.vapour);
        }
    }
}
