//! The physics against textbooks and other solvers. Numbers that stand here as tables were computed with
//! scipy from formulas written for the purpose; each says which.

use faultbay::fluid::Fuel;
use faultbay::lanes::Lanes;
use faultbay::ops;
use faultbay::plant::component::Component;
use faultbay::plant::law::air_inflow;
use faultbay::plant::network::{Law, pipe_friction};
use faultbay::plant::step::Effort;
use faultbay::plant::vehicle::Vehicle;
use faultbay::plant::{Leak, Plant};
use faultbay::units::{Area, GRAVITY, Volume, VolumeFlow};

use crate::reference_plant;
use crate::small::{DIESEL, ENGINE, flow, gauge, plant, set, wide_tank, without_gas};

const S: u64 = 1_000_000;
const MBAR: f64 = 100.0;

/// Drop of a pipe, Pa. SI but for the flow in mL/s.
fn drop(density: f64, viscosity: f64, q: f64, length: f64, bore: f64, roughness: f64) -> f64 {
    let [density, viscosity, q, length, bore, relative, none] =
        [density, viscosity, q, length, bore, roughness / bore, 0.0].map(|v| Lanes([v]));
    pipe_friction(density, viscosity, q, length, bore, relative, none).value.0[0]
}

/// Darcy's friction factor that the law of pipes amounts to.
fn friction_factor(reynolds: f64, roughness: f64) -> f64 {
    // 1000 kg/m³ at 1 m/s in 10 mm over 1 m: Δp = f·100·500 Pa
    let area_mm2 = core::f64::consts::FRAC_PI_4 * 100.0;
    drop(1000.0, 10.0 / reynolds, area_mm2, 1.0, 0.01, roughness * 0.01) / 50_000.0
}

#[test]
fn friction_agrees_with_colebrook_and_white() {
    // Re, ε/D, f: roots of 1/√f = −2·lg(k/3.7 + 2.51/(Re√f)) by scipy's brentq
    let table = [
        (5e3, 0.0, 0.037393),
        (5e3, 1e-5, 0.037404),
        (5e3, 1e-4, 0.037505),
        (5e3, 1e-3, 0.038495),
        (5e3, 1e-2, 0.047259),
        (1e4, 0.0, 0.030883),
        (1e4, 1e-5, 0.030898),
        (1e4, 1e-4, 0.031037),
        (1e4, 1e-3, 0.032382),
        (1e4, 1e-2, 0.043127),
        (1e5, 0.0, 0.017990),
        (1e5, 1e-5, 0.018044),
        (1e5, 1e-4, 0.018514),
        (1e5, 1e-3, 0.022175),
        (1e5, 1e-2, 0.038504),
        (1e6, 0.0, 0.011645),
        (1e6, 1e-5, 0.011870),
        (1e6, 1e-4, 0.013441),
        (1e6, 1e-3, 0.019943),
        (1e6, 1e-2, 0.037965),
        (1e7, 0.0, 0.008103),
        (1e7, 1e-5, 0.008996),
        (1e7, 1e-4, 0.012166),
        (1e7, 1e-3, 0.019667),
        (1e7, 1e-2, 0.037910),
    ];
    for (reynolds, roughness, expected) in table {
        let found = friction_factor(reynolds, roughness);
        assert!((found / expected - 1.0).abs() < 0.03, "Re {reynolds}, ε/D {roughness}: {found}, not {expected}");
    }
    for reynolds in [1e2, 1e3, 1.9e3] {
        let found = friction_factor(reynolds, 1e-3);
        assert!((found * reynolds / 64.0 - 1.0).abs() < 1e-3, "Re {reynolds}: {found}");
    }
}

#[test]
fn friction_agrees_with_formulas_nobody_has_to_solve() {
    // Blasius 1913 for smooth pipes, f = 0.3164·Re^(−1/4), 4 000 to 100 000; measured to some 2 %
    for reynolds in [5e3, 1e4, 3e4, 1e5] {
        let (found, blasius) = (friction_factor(reynolds, 0.0), 0.3164 / reynolds.sqrt().sqrt());
        assert!((found / blasius - 1.0).abs() < 0.04, "Re {reynolds}: {found}, not {blasius}");
    }
    // Haaland 1983, J. Fluids Eng. 105:89: 1/√f = −1.8·lg[(k/3.7)^1.11 + 6.9/Re], within 2 % of Colebrook's
    for reynolds in [1e4, 1e5, 1e6] {
        for roughness in [1e-4, 1e-3, 1e-2] {
            let inside = ops::powf(roughness / 3.7, 1.11) + 6.9 / reynolds;
            let root = -1.8 * ops::log10(inside);
            let (found, haaland) = (friction_factor(reynolds, roughness), 1.0 / (root * root));
            assert!((found / haaland - 1.0).abs() < 0.04, "Re {reynolds}, ε/D {roughness}: {found}, not {haaland}");
        }
    }
    // von Kármán 1930 for a wall so rough that viscosity no longer counts: 1/√f = 2·lg(3.7/k)
    let root = 2.0 * ops::log10(3.7 / 0.03);
    let found = friction_factor(9e6, 0.03);
    assert!((found * root * root - 1.0).abs() < 0.02, "{found}");
}

#[test]
fn lines_drop_what_the_trade_reckons_with() {
    // bore mm, length m, l/h, mPa·s, mbar; diesel of 835 kg/m³ at 20 and −10 °C
    for (bore, length, litres, viscosity, expected) in [
        (8.0, 4.0, 60.0, 3.4, 23.0),
        (8.0, 4.0, 120.0, 3.4, 45.0),
        (8.0, 4.0, 180.0, 3.4, 68.0),
        (8.0, 4.0, 60.0, 9.0, 60.0),
        (8.0, 4.0, 120.0, 9.0, 119.0),
        (8.0, 4.0, 180.0, 9.0, 179.0),
        (6.0, 4.0, 60.0, 3.4, 71.0),
        (12.0, 8.0, 300.0, 3.4, 45.0),
        (12.0, 8.0, 450.0, 3.4, 140.0),
    ] {
        let found = drop(835.0, viscosity * 1e-3, litres / 3.6, length, bore * 1e-3, 5e-6) / MBAR;
        // the last one is "about": the border of turbulence
        let allowed = if litres > 400.0 { 0.06 } else { 0.02 };
        assert!((found / expected - 1.0).abs() < allowed, "{bore} mm, {litres} l/h: {found}, not {expected} mbar");
    }
}

/// Six nodes in two loops, an outlet at each of two, a fixed demand at one.
fn looped() -> Plant {
    let heights = [("a", 2.0), ("b", 1.0), ("c", 0.0), ("d", 3.0), ("e", 0.5)];
    let mut nodes = r#"(name: "upper", height: m(12)), (name: "lower", height: m(0)),"#.to_owned();
    for (name, height) in heights {
        nodes += &format!(r#"(name: "{name}", height: m({height}), volume: ml(5)),"#);
    }
    let mut parts = wide_tank("upper", 12.0) + &wide_tank("lower", 0.0);
    for (name, from, to, length, bore, fittings) in [
        ("1", "upper", "a", 10.0, 12.0, 2.0),
        ("2", "a", "b", 6.0, 8.0, 1.0),
        ("3", "a", "c", 8.0, 10.0, 3.0),
        ("4", "b", "c", 3.0, 6.0, 0.0),
        ("5", "b", "d", 5.0, 8.0, 1.0),
        ("6", "c", "e", 7.0, 8.0, 2.0),
        ("7", "e", "d", 4.0, 6.0, 0.5),
    ] {
        parts += &format!(
            r#"(name: "{name}", label: "", is: Line(from: "{from}", to: "{to}", length: m({length}),
            bore: mm({bore}), fittings: {fittings}, roughness: um(5), wall: per_Pa(4e-9))),"#
        );
    }
    // Pa·s/mL and Pa·s²/mL², as a drop at 10 mL/s
    for (name, from, a, b) in [("8", "d", 200.0, 30.0), ("9", "e", 500.0, 10.0)] {
        let (drop, laminar) = (a * 10.0 + b * 100.0, a * 10.0 / (a * 10.0 + b * 100.0));
        parts += &format!(
            r#"(name: "{name}", label: "", is: Restriction(from: "{from}", to: "lower",
            drop: (drop: Pa({drop}), at: ml_per_s(10), laminar: {laminar}))),"#
        );
    }
    // 10 mL/s at 1000 1/min
    parts += &ENGINE.replace("\"gallery\"", "\"c\"").replace("with_speed: ml_per_s(0)", "with_speed: ml_per_s(10)");
    plant(DIESEL, &nodes, &parts)
}

#[test]
fn a_looped_network_carries_what_another_solver_finds() {
    let mut car = without_gas(&looped(), Effort::WATCHED);
    let n = car.net().top.engine.n;
    car.change(0, |_, y| (y[n], y[n + 1]) = (Lanes([2000.0]), Lanes([2000.0])));
    let t = car.settle(0, 600 * S).unwrap();
    // nodes and loops by scipy's root (hybrid Powell), residuals below 1e-14 of their scale: balance at
    // each node, head along each pipe with Churchill's factor in the form f(Re), outlets a·q + b·q²
    let pressures = [("a", 68_007.702), ("b", 67_038.146), ("c", 75_591.252), ("d", 42_838.939), ("e", 59_306.676)];
    for (node, expected) in pressures {
        let found = gauge(&car, node, t);
        assert!((found - expected).abs() < 30.0, "{node}: {found}, not {expected} Pa");
    }
    let flows = [
        ("1", 110.370876),
        ("2", 42.291027),
        ("3", 68.079849),
        ("4", -1.193501),
        ("5", 43.484528),
        ("6", 47.084368),
        ("7", -8.882709),
    ];
    for (pipe, expected) in flows {
        let found = flow(&car, pipe, t);
        assert!((found - expected).abs() < 0.05, "pipe {pipe}: {found}, not {expected} mL/s");
    }
}

/// An electric pump from a tank through an outlet back into it.
fn pumped(a: f64, b: f64) -> Plant {
    let drop = a * 0.05 + b * 0.0025;
    let laminar = a * 0.05 / drop;
    let nodes = r#"(name: "tank", height: m(0)), (name: "inlet", height: m(0), volume: ml(18)),
        (name: "outlet", height: m(0), volume: ml(100)), (name: "gallery", height: m(0)),"#;
    let parts = format!(
        r#"(name: "tank", label: "", is: Tank(outlet: "tank", capacity: l(55), fill: l(28), area: m2(0.14),
            pickup: mm(15), vent: ml_per_s(400))),
        (name: "strainer", label: "", is: Strainer(from: "tank", to: "inlet",
            clean: (drop: Pa(673.5), at: ml_per_s(30), laminar: 0.267260579064588))),
        (name: "pump", label: "", is: ElectricPump(from: "inlet", to: "outlet", tank: "tank", stage: RollerCell,
            displacement: ml_per_turn(0.4), slip: 1.9e-5, relief_opens: Pa(628000), relief_slope: 0.0009,
            seat_leak: 1.5e-10, winding: ohm(0.42), inductance: 0.0006, constant: 0.0122, brushes: V(0.9),
            inertia: 6e-6, dry_friction: 0.009, wet_friction: 3.4e-5, feed: [(name: "feed", ohm: ohm(0.12))],
            earth: [], command: KeyAndEngine(prime: s(2)))),
        (name: "outlet", label: "", is: Restriction(from: "outlet", to: "tank",
            drop: (drop: Pa({drop}), at: ml_per_s(0.05), laminar: {laminar}))),"#
    );
    let petrol = Fuel {
        density: 745.0,
        viscosity: 0.00046,
        viscosity_at_20: 0.00046,
        vapour_pressure: 30_000.0,
        bulk_modulus: 1.05e9,
        air_solubility: 0.2,
        expansion: 0.00115,
    };
    plant(petrol, nodes, &(parts + ENGINE))
}

#[test]
fn a_pump_draws_the_current_that_another_solver_finds() {
    // volts, outlet a and b, amps, 1/min, gauge Pa: the steady equations of motor, pump, strainer, relief and
    // outlet solved together by scipy's fsolve (residuals below 1e-7)
    for (volts, a, b, amps, speed, pressure) in [
        (12.4, 2e3, 150.0, 4.539301, 7082.743, 332_719.61),
        (13.6, 2e3, 150.0, 5.044176, 7808.620, 388_678.92),
        (13.6, 4e3, 400.0, 6.162208, 7336.057, 629_771.33),
        (9.0, 2e3, 150.0, 3.188650, 4992.348, 191_291.26),
        (13.6, 1e9, 0.0, 6.338138, 7261.696, 667_702.80),
    ] {
        let mut car = Vehicle::new(
            &pumped(a, b),
            &faultbay::plant::assemble::Rig::default(),
            faultbay::plant::assemble::Detail::FULL,
            Effort::WATCHED,
        )
        .unwrap();
        car.change(0, |net, _| {
            let common = net.top.common;
            set(net, common.release, 0.0);
            set(net, common.exchange, 0.0);
        });
        let i = car.net().top.motors[0].i;
        car.ramp(0, i + 2, volts, S / 50);
        let t = car.settle(S, 60 * S).unwrap();
        let found =
            [car.state_at(t, i), car.state_at(t, i + 1) * 30.0 / core::f64::consts::PI, gauge(&car, "outlet", t)];
        for (found, expected) in found.into_iter().zip([amps, speed, pressure]) {
            assert!((found / expected - 1.0).abs() < 1e-3, "{volts} V, {a}: {found}, not {expected}");
        }
    }
}

#[test]
fn a_pump_pays_in_current_for_the_pressure_it_gives() {
    // Two balances that any book on direct-current machines has, and that the network never writes down like this: of
    // torque, K·i = T + b·ω + D·Δp/2π, and of voltage, U = (R + Rc)·i + K·ω + V. So at one voltage the current grows
    // by D/2πK for each Pa, less what the slower rotor saves in friction.
    let [k, dry, wet, volume, ohm, brushes] = [0.0122, 0.009, 3.4e-5, 0.4e-6, 0.42 + 0.12, 0.9];
    let turn = core::f64::consts::TAU;
    let mut before: Option<[f64; 3]> = None;
    for (a, b) in [(5e2, 10.0), (1e3, 60.0), (2e3, 150.0), (3e3, 230.0)] {
        let mut car = without_gas(&pumped(a, b), Effort::WATCHED);
        let i = car.net().top.motors[0].i;
        car.ramp(0, i + 2, 13.6, S / 50);
        let t = car.settle(S, 60 * S).unwrap();
        let [amps, speed] = [i, i + 1].map(|state| car.state_at(t, state));
        let rise = gauge(&car, "outlet", t) - gauge(&car, "inlet", t);
        let torque = (dry + wet * speed + volume * rise / turn) / k;
        assert!((amps / torque - 1.0).abs() < 2e-3, "{rise} Pa: {amps} A, {torque} by the torque");
        let volts = ohm * amps + k * speed + brushes;
        assert!((volts / 13.6 - 1.0).abs() < 2e-3, "{rise} Pa: {volts} V in all");
        if let Some([less, slower, lower]) = before {
            assert!(rise > lower + 3e4 && amps > less && speed < slower, "{rise}: {amps} A, {speed} rad/s");
            let slope = (amps - less) / (rise - lower);
            let expected = volume / (turn * k) + wet * (speed - slower) / (k * (rise - lower));
            assert!((slope / expected - 1.0).abs() < 0.01, "{slope} A a Pa, not {expected}");
        }
        before = Some([amps, speed, rise]);
    }
}

#[test]
fn a_trace_of_air_slows_the_wave_as_wood_says() {
    // Wood 1930: 1/K = (1 − α)/K_fuel + α/p + what the wall gives; c = √(K/ρ). A steel line of 1200 m/s, and 300 m/s
    // with 0.15 % of air at 1.2 bar; the table by his formula
    let density = DIESEL.density;
    let wall = 1.0 / (density * 1200.0 * 1200.0) - 1.0 / DIESEL.bulk_modulus;
    let nodes = format!(
        r#"(name: "tank", height: m(0)), (name: "line", height: m(0), volume: ml(100), wall: per_Pa({wall:e})),
        (name: "gallery", height: m(0)),"#
    );
    let parts = format!(
        r#"{}{ENGINE}(name: "mouth", label: "", is: Strainer(from: "tank", to: "line",
        clean: (drop: Pa(10), at: ml_per_s(10), laminar: 1))),"#,
        wide_tank("tank", 0.0)
    );
    for (share, expected) in [(0.0, 1200.0), (1e-5, 1144.2), (1e-4, 848.9), (1.5e-3, 300.2), (1e-2, 119.5)] {
        let mut car = without_gas(&plant(DIESEL, &nodes, &parts), Effort::WATCHED);
        let mut speed = f64::NAN;
        car.change(0, |net, y| {
            let v = net.top.vessel("line").unwrap();
            let p = 120_000.0;
            // gas is counted at the standard atmosphere, by its own partial pressure
            let gas = share * 100.0 * (p - DIESEL.vapour_pressure) / 101_325.0;
            let still = net.top.vessels[v].still_gas;
            set(net, still, gas.max(1e-9));
            let x = net.top.vessels[v].x;
            let middle = net.excess_for(v, Lanes([p]), net.free_gas(v, y), y);
            let mut at = |by: f64| {
                y[x] = middle + Lanes([by]);
                net.pressure(v, y).0[0]
            };
            assert!((at(0.0) - p).abs() < 1e-3);
            let stiffness = (at(1e-5) - at(-1e-5)) / 2e-5;
            speed = (100.0 * stiffness / density).sqrt();
        });
        assert!((speed / expected - 1.0).abs() < 0.01, "{share}: {speed} m/s, not {expected}");
    }
}

/// A pipe of 20 m in so many pieces from a tank 50 m up to a tap, and an outlet behind it.
fn hammered(pieces: usize) -> Plant {
    let mut nodes = r#"(name: "upper", height: m(50)), (name: "lower", height: m(0)),
        (name: "behind", height: m(0), volume: ml(50)), (name: "gallery", height: m(0)),"#
        .to_owned();
    let mut parts = wide_tank("upper", 50.0) + &wide_tank("lower", 0.0) + ENGINE;
    let mut from = "upper".to_owned();
    for i in 1..=pieces {
        // all the fall is in the last node, so that the wave's speed alone decides
        nodes += &format!(r#"(name: "n{i}", height: m(0), wall: per_Pa(4e-9)),"#);
        let length = 20.0 / pieces as f64;
        parts += &format!(
            r#"(name: "pipe {i}", label: "", is: Line(from: "{from}", to: "n{i}", length: m({length}), bore: mm(8),
            roughness: um(1), wall: per_Pa(4e-9), damping: 0, cells: 1)),"#
        );
        from = format!("n{i}");
    }
    parts += &format!(
        r#"(name: "tap", label: "", is: ShutOffValve(from: "{from}", to: "behind",
            open: (drop: Pa(100), at: ml_per_s(15), laminar: 0))),
        (name: "outlet", label: "", is: Restriction(from: "behind", to: "lower",
            drop: (drop: mbar(4000), at: ml_per_s(15), laminar: 0.01))),"#
    );
    // thin, so that friction takes little from the wave
    plant(Fuel { viscosity: 1e-5, viscosity_at_20: 1e-5, ..DIESEL }, &nodes, &parts)
}

/// Shuts the tap at once. Rise at the tap over Joukowsky's and time in units of L/a.
fn hammer(pieces: usize) -> Vec<(f64, f64)> {
    let mut car = without_gas(&hammered(pieces), Effort::WATCHED);
    let start = car.settle(0, 60 * S).unwrap();
    let tap = format!("n{pieces}");
    let area = core::f64::consts::FRAC_PI_4 * 0.008 * 0.008;
    let speed = flow(&car, "tap", start) * 1e-6 / area;
    // Korteweg: stiffness of fuel and wall in a row
    let wave = (1.0 / (DIESEL.density * (1.0 / DIESEL.bulk_modulus + 4e-9))).sqrt();
    let joukowsky = DIESEL.density * wave * speed;
    let rest = DIESEL.density * GRAVITY * 50.1;
    assert!(joukowsky > 50_000.0 && joukowsky < rest, "no column tears: {joukowsky}");
    let lever = car.assembly().handles.levers[0].1;
    car.ramp(start, lever, 0.0, 0);
    (1..4000)
        .map(|i| {
            let t = start + i * 200;
            car.cover(t);
            ((gauge(&car, &tap, t) - rest) / joukowsky, i as f64 * 200e-6 * wave / 20.0)
        })
        .collect()
}

/// Mean period over five swings, in L/a.
fn period(wave: &[(f64, f64)]) -> f64 {
    let falls: Vec<f64> = wave.windows(2).filter(|w| w[0].0 >= 0.0 && w[1].0 < 0.0).map(|w| w[1].1).collect();
    // the ripple of a split pipe may cross more than once: only falls more than 3 L/a apart count
    let mut kept: Vec<f64> = vec![];
    for fall in falls {
        if kept.last().is_none_or(|last| fall - last > 3.0) {
            kept.push(fall);
        }
    }
    (kept[3] - kept[0]) / 3.0
}

#[test]
fn a_shut_tap_hammers_as_joukowsky_says() {
    // one column with half of the give at the tap: √2 of Joukowsky's rise, 2π/√2 L/a
    let one = hammer(1);
    let peak = one.iter().map(|w| w.0).fold(0.0, f64::max);
    assert!((peak / core::f64::consts::SQRT_2 - 1.0).abs() < 0.03, "{peak}");
    let expected = core::f64::consts::SQRT_2 * core::f64::consts::PI;
    assert!((period(&one) / expected - 1.0).abs() < 0.005, "{} L/a", period(&one));
    // in pieces it comes to the square wave: rise 1 and 4 L/a
    let miss = |wave: &[(f64, f64)]| {
        let first: Vec<f64> = wave
            .iter()
            .filter(|w| w.1 < 4.0)
            .map(|w| {
                let square = if w.1 < 2.0 { 1.0 } else { -1.0 };
                (w.0 - square) * (w.0 - square)
            })
            .collect();
        (first.iter().sum::<f64>() / first.len() as f64).sqrt()
    };
    let (four, sixteen) = (hammer(4), hammer(16));
    let misses = [miss(&one), miss(&four), miss(&sixteen)];
    assert!(misses[1] < 0.8 * misses[0] && misses[2] < 0.8 * misses[1], "{misses:?}");
    let plateau: Vec<f64> = sixteen.iter().filter(|w| (0.3..1.7).contains(&w.1)).map(|w| w.0).collect();
    let mean = plateau.iter().sum::<f64>() / plateau.len() as f64;
    assert!((mean - 1.0).abs() < 0.03, "{mean} of Joukowsky's rise");
    assert!((period(&sixteen) / 4.0 - 1.0).abs() < 0.01, "{} L/a", period(&sixteen));
}

#[test]
fn a_hole_draws_air_as_gas_dynamics_says() {
    // Pa in the line, mL/s at standard pressure through 0.01 mm² at 20 °C: speed, temperature and density at the
    // throat from its Mach number (M ≤ 1), κ = 1.4, R = 287.05
    for (p, expected) in
        [(95e3, 0.99010), (80e3, 1.65647), (60e3, 1.96834), (53e3, 1.98630), (40e3, 1.98630), (20e3, 1.98630)]
    {
        let [area, inside, outside, kelvin] = [0.01, p, 101_325.0, 293.15].map(|v| Lanes([v]));
        let found = air_inflow(area, inside, outside, kelvin).value.0[0];
        assert!((found / expected - 1.0).abs() < 5e-4, "{p} Pa: {found}, not {expected} mL/s");
    }
}

#[test]
fn settling_says_what_still_moves() {
    let mut car = without_gas(&passive(16.0, 4e-9, 4, 1000.0), Effort::WATCHED);
    let refused = car.clone().settle(0, S).unwrap_err();
    assert!(refused.contains("still moves after 1 s"), "{refused}");
    let t = car.settle(0, 600 * S).unwrap();
    // what it calls steady is nearly what comes long after
    let then = flow(&car, "two", t);
    car.cover(4 * t);
    let later = flow(&car, "two", 4 * t);
    assert!((then - later).abs() < 0.05, "{then} and {later} mL/s");
    // a lever under way is no rest, however still the rest is
    let lever = car.assembly().handles.levers[0].1;
    car.ramp(4 * t, lever, 0.8, 3600 * S);
    assert_eq!(car.settle(4 * t, 60 * S).unwrap_err(), "a lever still moves");
}

/// Coefficient of a round hole, mL/s/√Pa.
fn hole(bore_mm: f64, contraction: f64, density: f64) -> f64 {
    contraction * core::f64::consts::FRAC_PI_4 * bore_mm * bore_mm * (2.0 / density).sqrt()
}

#[test]
fn a_line_runs_back_through_a_leaking_seat_as_the_trade_reckons() {
    // 200 mL at a head of 25 mbar, air let in above: hours through a path of so many mm
    for (bore, hours) in [(0.05, 19.0), (0.1, 5.0), (0.2, 1.2)] {
        let fuel = Fuel { density: 835.0, ..DIESEL };
        let k = hole(bore, 0.61, fuel.density);
        let seconds = 200.0 / (k * 2500.0_f64.sqrt());
        assert!((seconds / 3600.0 / hours - 1.0).abs() < 0.06, "{bore} mm: {} h", seconds / 3600.0);
        let height = 0.1 + 2500.0 / (fuel.density * GRAVITY);
        let at = 50.0 * k;
        let mut leaking = plant(
            fuel,
            &format!(
                r#"(name: "tank", height: m(0)), (name: "column", height: m({height}), volume: ml(200)),
                (name: "gallery", height: m(0)),"#
            ),
            &format!(
                r#"{}{ENGINE}(name: "seat", label: "", is: Restriction(from: "tank", to: "column",
                drop: (drop: Pa(2500), at: ml_per_s({at:e}), laminar: 1e-9))),"#,
                wide_tank("tank", 0.0)
            ),
        );
        leaking.leaks.push(Leak { node: "column".into(), along: 0.5, area: Area::from_si(1e-6) });
        let mut car = without_gas(&leaking, Effort::WATCHED);
        let v = car.net().top.vessel("column").unwrap();
        // the column mixes: what runs back is fuel in proportion to what is left of it
        for share in [0.1, 0.5, 1.0] {
            let t = (share * seconds * 1e6) as u64;
            car.cover(t);
            let left = 1.0 - car.net().gas_share(v, &car.snapshot(t)).0[0];
            assert!((left / ops::exp(-share) - 1.0).abs() < 0.02, "{bore} mm, {share}: {left} left");
        }
    }
}

#[test]
fn a_blocked_vent_takes_the_minutes_that_the_trade_reckons_with() {
    // minutes to −200 mbar ≈ 15 × litres of air space ÷ litres an hour
    for litres in [5.0, 40.0] {
        let mut tight = reference_plant::plant();
        reference_plant::vent(&mut tight, 0.0);
        if let Component::Tank(tank) = &mut tight.part_mut("tank").unwrap().is {
            tank.fill = Volume::from_si((70.0 - litres) * 1e-3);
        }
        if let Component::Engine(e) = &mut tight.part_mut("engine").unwrap().is {
            (e.demand, e.demand_with_speed) = (VolumeFlow::from_si(8e-3 / 3600.0), VolumeFlow::default());
        }
        let mut car =
            Vehicle::new(&tight, &reference_plant::rig(), faultbay::plant::assemble::Detail::FULL, Effort::WATCHED)
                .unwrap();
        let (n, burned) = (car.net().top.engine.n, car.net().top.ledgers.burned);
        car.ramp(S, n + 2, 210.0, S / 10);
        car.ramp(3 * S, n + 1, 780.0, S / 10);
        let mut t = 60 * S;
        loop {
            car.cover(t);
            let y = car.snapshot(t);
            if car.net().air_space(0, &y).0[0] <= 101_325.0 - 20_000.0 {
                break;
            }
            t += S;
        }
        let seconds = t as f64 * 1e-6;
        let litres_an_hour = car.state_at(t, burned) * 3.6 / seconds;
        let expected = 15.0 * litres / litres_an_hour;
        assert!((seconds / 60.0 / expected - 1.0).abs() < 0.05, "{litres} l: {} min", seconds / 60.0);
    }
}

#[test]
fn holes_take_the_pressure_that_the_trade_reckons_with() {
    // mbar for 60 l/h through a hole of so many mm, contraction 0.65
    for (bore, mbar) in [(3.0, 50.0), (2.5, 110.0), (2.0, 280.0)] {
        let fuel = Fuel { density: 835.0, ..DIESEL };
        let base = mbar * MBAR / (fuel.density * GRAVITY) - 0.1;
        let mut open = plant(
            fuel,
            r#"(name: "tank", height: m(1)), (name: "joint", height: m(0), volume: ml(50)),
            (name: "gallery", height: m(0)),"#,
            &format!(
                r#"{}{ENGINE}(name: "strainer", label: "", is: Strainer(from: "tank", to: "joint",
                clean: (drop: Pa(0.01), at: ml_per_s(10), laminar: 1))),"#,
                wide_tank("tank", base)
            ),
        );
        let area = 0.65 * core::f64::consts::FRAC_PI_4 * bore * bore;
        open.leaks.push(Leak { node: "joint".into(), along: 0.5, area: Area::from_si(area * 1e-6) });
        let mut car = without_gas(&open, Effort::WATCHED);
        let lost = car.net().top.ledgers.lost;
        car.cover(20 * S);
        let litres_an_hour = (car.state_at(20 * S, lost) - {
            let mut again = without_gas(&open, Effort::WATCHED);
            again.cover(10 * S);
            again.state_at(10 * S, lost)
        }) / 10.0
            * 3.6;
        assert!((litres_an_hour / 60.0 - 1.0).abs() < 0.06, "{bore} mm: {litres_an_hour} l/h");
    }
}

#[test]
fn a_valve_that_sticks_opens_with_a_jerk_and_is_then_as_any_other() {
    // cracking 10 mbar, sticks by 40; open 50 Pa·s/mL, behind it 100: q = (Δp − 10 mbar)/150 once it is loose
    let nodes = r#"(name: "upper", height: m(0)), (name: "lower", height: m(0)), (name: "n", height: m(0), volume: ml(5)),
        (name: "gallery", height: m(0)),"#;
    let parts = wide_tank("upper", 0.0)
        + &wide_tank("lower", 0.0)
        + ENGINE
        + r#"(name: "valve", label: "", is: NonReturnValve(from: "upper", to: "n", cracking: mbar(10), sticks: mbar(40),
            open: (drop: Pa(500), at: ml_per_s(10), laminar: 1))),
        (name: "outlet", label: "", is: Restriction(from: "n", to: "lower",
            drop: (drop: Pa(1000), at: ml_per_s(10), laminar: 1))),"#;
    let mut car = without_gas(&plant(DIESEL, nodes, &parts), Effort::WATCHED);
    let mut t = 0;
    let loose = |mbar: f64| (mbar - 10.0) * MBAR / 150.0;
    for (mbar, expected) in [
        (30.0, 0.0),
        (45.0, 0.0),
        (60.0, loose(60.0)),
        (30.0, loose(30.0)),
        (5.0, 0.0),
        (45.0, 0.0),
        (60.0, loose(60.0)),
    ] {
        car.change(t, |net, _| {
            let base = net.top.reservoirs[0].base;
            // what stands in the upper tank counts, the lower one is entered from above
            set(net, base, mbar * MBAR / (DIESEL.density * GRAVITY) - 0.1);
        });
        t = car.settle(t, 600 * S).unwrap();
        let found = flow(&car, "valve", t);
        // the softplus of the seat is 25 Pa wide
        assert!((found - expected).abs() < 0.2, "{mbar} mbar: {found}, not {expected} mL/s");
        t += S;
        car.cover(t);
    }
}

/// From a tank 3 m up through soft lines, a filter, a half-open tap and a non-return valve to another.
fn passive(damping: f64, wall: f64, cells: u8, vent: f64) -> Plant {
    let tank = |name: &str, base: f64| {
        if vent > 0.0 {
            return wide_tank(name, base);
        }
        format!(
            r#"(name: "{name}", label: "", is: Tank(outlet: "{name}", capacity: l(60), fill: l(20), area: m2(0.2),
            pickup: mm(10), vent: ml_per_s(0), base: m({base}))),"#
        )
    };
    let line = |name: &str, from: &str, to: &str| {
        format!(
            r#"(name: "{name}", label: "", is: Line(from: "{from}", to: "{to}", length: m(4), bore: mm(8),
            fittings: 3, wall: per_Pa({wall:e}), damping: {damping}, cells: {cells})),"#
        )
    };
    let nodes = r#"(name: "upper", height: m(3)), (name: "lower", height: m(0)), (name: "a", height: m(2)),
        (name: "b", height: m(1)), (name: "c", height: m(1)), (name: "d", height: m(0.5)),
        (name: "e", height: m(0.2)), (name: "gallery", height: m(0)),"#;
    let parts = tank("upper", 3.0)
        + &tank("lower", 0.0)
        + &line("one", "upper", "a")
        + &line("two", "a", "b")
        + &line("three", "d", "e")
        + ENGINE
        + r#"(name: "filter", label: "", is: Filter(from: "b", to: "c", bowl: ml(100), clean_side: ml(50),
            cushion: ml(10), new: (drop: mbar(20), at: ml_per_s(20), laminar: 0.8))),
        (name: "valve", label: "", is: NonReturnValve(from: "c", to: "d", cracking: mbar(5),
            open: (drop: mbar(5), at: ml_per_s(20), laminar: 0.3))),
        (name: "tap", label: "", is: ShutOffValve(from: "e", to: "lower", lever: 0.8,
            open: (drop: mbar(5), at: ml_per_s(20), laminar: 0))),"#;
    plant(DIESEL, nodes, &parts)
}

#[test]
fn steady_flow_knows_nothing_of_waves_walls_and_cells() {
    let steady = |damping, wall, cells| {
        let mut car = without_gas(&passive(damping, wall, cells, 1000.0), Effort::REFERENCE);
        car.settle(0, 600 * S).unwrap();
        car.cover(120 * S);
        flow(&car, "two", 120 * S)
    };
    let usual = steady(16.0, 4e-9, 4);
    assert!(usual > 10.0, "{usual} mL/s");
    for (damping, wall, cells) in
        [(0.0, 4e-9, 4), (60.0, 4e-9, 4), (16.0, 1e-9, 4), (16.0, 4e-9, 1), (16.0, 4e-9, 9)]
    {
        let other = steady(damping, wall, cells);
        assert!(
            (other / usual - 1.0).abs() < 1e-5,
            "damping {damping}, wall {wall}, {cells} cells: {other}, {usual}"
        );
    }
}

/// Energy stored in fuel, walls, gas, heights and motion, µJ: no pump, no hole, no vent, no free gas.
fn stored(car: &Vehicle, t: u64) -> f64 {
    let (net, y) = (car.net(), car.snapshot(t));
    let top = &net.top;
    let number = |param: faultbay::plant::network::Param| net.at(param).0[0];
    let zone = &top.zones[0];
    let (weight, vapour) = (number(zone.density) * GRAVITY, number(zone.vapour));
    let mut sum = 0.0;
    for (v, vessel) in top.vessels.iter().enumerate() {
        // ∫p dx along the closure x(p) = C(p − p₀) − p₀G/(p − p_v) + const
        let p = net.pressure(v, &y).0[0];
        let gas = 101_325.0 * number(vessel.still_gas);
        let above = p - vapour;
        sum += number(vessel.compliance) * p * p / 2.0 + gas * (ops::ln(above) - vapour / above);
        sum += weight * number(vessel.height) * y[vessel.x].0[0];
    }
    for r in &top.reservoirs {
        let v = y[r.v].0[0];
        let room = number(r.capacity) - v;
        sum += vapour * v - 101_325.0 * y[r.m].0[0] * ops::ln(room);
        sum += weight * (v * v / (2.0 * number(r.area)) + number(r.base) * v);
    }
    for link in &top.links {
        if let Law::Pipe { inertance, unsteady, unsteady_rate, q, .. } = link.law {
            let (fast, slow) = (y[q].0[0], y[q + 1].0[0]);
            let hidden = number(unsteady) / number(unsteady_rate);
            sum += 0.5 * (number(inertance) * fast * fast + hidden * slow * slow);
        }
    }
    sum
}

#[test]
fn stored_energy_never_rises_by_itself() {
    let mut car = Vehicle::new(
        &passive(16.0, 8e-9, 1, 0.0),
        &faultbay::plant::assemble::Rig::default(),
        faultbay::plant::assemble::Detail::FULL,
        Effort::REFERENCE,
    )
    .unwrap();
    car.change(0, |net, y| {
        let top = net.top.clone();
        set(net, top.common.release, 0.0);
        set(net, top.common.exchange, 0.0);
        // pressed here, torn there, and moving
        for (i, (v, vessel)) in top.vessels.iter().enumerate().enumerate() {
            let p = net.pressure(v, y) + [120_000.0, -70_000.0, 40_000.0][i % 3];
            y[vessel.x] = net.excess_for(v, p, Lanes::ZERO, y);
        }
        for (i, link) in top.links.iter().enumerate() {
            if let Law::Pipe { q, .. } = link.law {
                (y[q], y[q + 1]) = (Lanes([40.0 - 30.0 * i as f64]), Lanes([-10.0]));
            }
        }
    });
    let first = stored(&car, 0);
    let mut before = first;
    for i in 1..5000 {
        let t = i * S / 500;
        car.cover(t);
        let now = stored(&car, t);
        assert!(now <= before + 1e-9 * first.abs(), "after {t} µs {before} became {now}");
        before = now;
    }
    assert!(first - before > 1e4, "{} µJ were lost", first - before);
}
