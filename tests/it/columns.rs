//! Columns of fuel that swing, against closed forms: on gas that is shut in, and between two open tanks.

use faultbay::lanes::Lanes;
use faultbay::ops;
use faultbay::plant::step::Effort;
use faultbay::units::{GRAVITY, STANDARD_ATMOSPHERE_PA as P0};

use crate::small::{DIESEL, ENGINE, gauge, plant, set, wide_tank, without_gas};

const S: u64 = 1_000_000;
const LENGTH_M: f64 = 10.0;

/// ρL/A, Pa·s²/m³.
fn inertance(bore_m: f64) -> f64 {
    DIESEL.density * LENGTH_M / (core::f64::consts::FRAC_PI_4 * bore_m * bore_m)
}

/// Half of what laminar flow resists after Hagen and Poiseuille, by inertance, 1/s: so fast a swing dies.
fn damping(bore_m: f64) -> f64 {
    let resistance = 128.0 * DIESEL.viscosity * LENGTH_M / (core::f64::consts::PI * ops::powf(bore_m, 4.0));
    resistance / (2.0 * inertance(bore_m))
}

/// Period of a mass on a spring that is damped, s. `stiffness` in Pa/m³.
fn swing(bore_m: f64, stiffness: f64) -> f64 {
    let damping = damping(bore_m);
    2.0 * core::f64::consts::PI / (stiffness / inertance(bore_m) - damping * damping).sqrt()
}

/// A part of the pipe: both ends of a whole one, or one of two halves.
fn pipe(from: &str, to: &str, bore_m: f64, share: f64) -> String {
    let (bore_mm, length) = (1e3 * bore_m, share * LENGTH_M);
    format!(
        r#"(name: "pipe from {from}", label: "", is: Line(from: "{from}", to: "{to}", length: m({length}), bore: mm({bore_mm}),
        roughness: um(1), wall: per_Pa(4e-9), damping: 0, cells: 1)),"#
    )
}

/// Times (s) at which a reading passes from one side of `middle` to the other, read every millisecond or so.
fn crossings(readings: &[(f64, f64)], middle: f64) -> Vec<f64> {
    readings
        .windows(2)
        .filter(|w| (w[0].1 - middle) * (w[1].1 - middle) <= 0.0)
        .map(|w| w[0].0 + (w[1].0 - w[0].0) * (middle - w[0].1) / (w[1].1 - w[0].1))
        .collect()
}

/// Mean period between the first crossing and the last.
fn period(readings: &[(f64, f64)], middle: f64) -> f64 {
    let all = crossings(readings, middle);
    assert!(all.len() > 4, "it swings: {all:?}");
    2.0 * (all[all.len() - 1] - all[0]) / (all.len() - 1) as f64
}

/// How fast the swing dies, 1/s, from its highest points.
fn dying(readings: &[(f64, f64)], middle: f64) -> f64 {
    let tops: Vec<(f64, f64)> =
        readings.windows(3).filter(|w| w[1].1 > w[0].1 && w[1].1 >= w[2].1).map(|w| w[1]).collect();
    let (first, last) = (tops[0], tops[tops.len() - 1]);
    ops::ln((first.1 - middle) / (last.1 - middle)) / (last.0 - first.0)
}

#[test]
fn a_column_on_shut_in_gas_swings_and_dies_as_a_mass_on_a_spring() {
    const BORE_M: f64 = 0.012;
    for gas_ml in [10.0, 40.0] {
        let end = r#"(name: "upper", height: m(5)), (name: "end", height: m(0), volume: ml(80)),
            (name: "gallery", height: m(0)),"#;
        let parts = wide_tank("upper", 5.0) + &pipe("upper", "end", BORE_M, 1.0) + ENGINE;
        let fine = Effort { relative: 1e-7, absolute: 0.01, ..Effort::WATCHED };
        let mut car = without_gas(&plant(DIESEL, end, &parts), fine);
        let rest = DIESEL.density * GRAVITY * 5.1;
        let v = car.net().top.vessel("end").unwrap();
        car.change(0, |net, y| {
            let vessel = net.top.vessels[v].clone();
            set(net, vessel.still_gas, gas_ml);
            y[vessel.x] = net.excess_for(v, Lanes([P0 + rest + 3000.0]), net.free_gas(v, y), y);
        });
        let readings: Vec<(f64, f64)> = (1..6000)
            .map(|i| {
                let t = i * S / 1000;
                car.cover(t);
                (t as f64 * 1e-6, gauge(&car, "end", t))
            })
            .collect();
        // the spring: gas at constant temperature, beside it the give of fuel and wall
        let above = P0 + rest - DIESEL.vapour_pressure;
        let give = car.net().at(car.net().top.vessels[v].compliance).0[0];
        let spring = 1e-6 * (gas_ml * P0 / (above * above) + give);
        let (expected, found) = (swing(BORE_M, 1.0 / spring), period(&readings, rest));
        // 30 mbar on 1.4 bar: the spring is a little softer one way than the other
        assert!((found / expected - 1.0).abs() < 0.002, "{gas_ml} mL: {found} s, not {expected} s");
        let (expected, found) = (damping(BORE_M), dying(&readings, rest));
        assert!((found / expected - 1.0).abs() < 0.03, "{gas_ml} mL: dies by {found}, not {expected} 1/s");
    }
}

#[test]
fn a_column_between_two_open_tanks_swings_by_its_weight() {
    const AREA_M2: f64 = 0.02;
    // so wide that half a litre to and fro stays laminar
    const BORE_M: f64 = 0.06;
    let tank = |name: &str, litres: f64| {
        format!(
            r#"(name: "{name}", label: "", is: Tank(outlet: "{name}", capacity: l(200), fill: l({litres}),
            area: m2({AREA_M2}), pickup: mm(0), vent: m3_per_s(1))),"#
        )
    };
    // what runs into a tank falls in from above; so two halves, each from the bottom of its tank
    let nodes = r#"(name: "left", height: m(0)), (name: "right", height: m(0)), (name: "n", height: m(0)),
        (name: "gallery", height: m(0)),"#;
    let halves = pipe("left", "n", BORE_M, 0.5) + &pipe("right", "n", BORE_M, 0.5);
    let parts = tank("left", 21.0) + &tank("right", 20.0) + &halves + ENGINE;
    let mut car = without_gas(&plant(DIESEL, nodes, &parts), Effort::WATCHED);
    let left = car.net().top.reservoirs[0].v;
    let readings: Vec<(f64, f64)> = (1..2400)
        .map(|i| {
            let t = i * S / 20;
            car.cover(t);
            (t as f64 * 1e-6, car.state_at(t, left))
        })
        .collect();
    let expected = swing(BORE_M, 2.0 * DIESEL.density * GRAVITY / AREA_M2);
    let found = period(&readings, 20_500.0);
    assert!((found / expected - 1.0).abs() < 0.005, "{found} s, not {expected} s");
    let (expected, found) = (damping(BORE_M), dying(&readings, 20_500.0));
    assert!((found / expected - 1.0).abs() < 0.05, "dies by {found}, not {expected} 1/s");
}
