//! What the fuel carries: where its bubbles come from, when they arrive, and where water stays.

use faultbay::plant::Plant;
use faultbay::plant::assemble::Detail;
use faultbay::plant::component::Component;
use faultbay::plant::step::Effort;
use faultbay::plant::vehicle::Vehicle;
use faultbay::units::Volume;

use crate::reference_plant;

const S: u64 = 1_000_000;

fn started(plant: &Plant) -> Vehicle {
    let mut car = Vehicle::new(plant, &reference_plant::rig(), Detail::FULL, Effort::WATCHED).unwrap();
    let n = car.net().top.engine.n;
    car.ramp(3 * S, n + 2, 210.0, S / 10);
    car.ramp(6 * S, n + 1, 780.0, S / 10);
    car.ramp(7 * S, n + 2, 0.0, S / 10);
    car
}

/// Share of gas in the glass, and share of that which came in from outside.
fn glass(car: &mut Vehicle, t: u64) -> (f64, f64) {
    car.cover(t);
    let cell = car.assembly().handles.glass.unwrap();
    let (y, load) = (car.snapshot(t), car.passengers(t).unwrap());
    let (gas, foreign) = (car.net().cell_gas(cell, &y), car.net().foreign_share(&load, cell, &y));
    (gas.0[0], foreign.0[0])
}

#[test]
fn bubbles_of_a_leak_are_foreign_and_those_of_a_restriction_are_not() {
    let mut leaky = reference_plant::plant();
    reference_plant::leak(&mut leaky, "foot", 0.5, 0.05);
    let (gas, foreign) = glass(&mut started(&leaky), 60 * S);
    assert!(gas > 0.03 && foreign > 0.9, "leak: {gas} of which {foreign}");
    let mut tight = reference_plant::plant();
    reference_plant::nrv(&mut tight, |v| v.lift = 0.06);
    let (gas, foreign) = glass(&mut started(&tight), 60 * S);
    assert!(gas > 0.03 && foreign < 0.05, "restriction: {gas} of which {foreign}");
}

#[test]
fn bubbles_arrive_after_the_line_was_passed_once() {
    let mut plant = reference_plant::plant();
    reference_plant::leak(&mut plant, "foot", 0.1, 0.0);
    let mut car = started(&plant);
    car.cover(60 * S);
    // the joint begins to leak while the engine idles
    let hole = car.net().top.holes.iter().position(|h| h.name == "foot").unwrap();
    car.change(60 * S, |net, _| {
        let area = net.top.holes[hole].area;
        net.params[area.index()] = faultbay::lanes::Lanes([0.05]);
    });
    let final_gas = glass(&mut car.clone(), 110 * S).0;
    let half = (0..200).map(|i| 60 * S + i * S / 10).find(|&t| glass(&mut car, t).0 > 0.5 * final_gas).unwrap();
    let delay = (half - 60 * S) as f64 * 1e-6;
    // 172 mL between the joint and the glass at some 23.6 mL/s
    assert!((delay - 7.0).abs() < 1.5, "{delay} s");
    assert!(glass(&mut car, 110 * S).1 > 0.8);
}

#[test]
fn water_settles_in_the_bowl_until_it_is_full_and_none_is_lost() {
    let mut plant = reference_plant::plant();
    if let Component::Tank(tank) = &mut plant.part_mut("tank").unwrap().is {
        tank.water = Volume::from_si(6e-3);
        tank.fill = Volume::from_si(30e-3);
    }
    let mut car = started(&plant);
    let all = |car: &mut Vehicle, t: u64| {
        car.cover(t);
        let load = car.passengers(t).unwrap();
        let sum = |list: &[faultbay::lanes::Lanes<1>]| list.iter().map(|v| v.0[0]).sum::<f64>();
        (sum(&load.in_tank), sum(&load.water), sum(&load.settled), load.gone.0[0])
    };
    let (tank, line, bowl, gone) = all(&mut car, 600 * S);
    assert!(bowl > 20.0, "bowl {bowl} mL");
    let left = tank + line + bowl + gone;
    assert!((left - 6000.0).abs() < 60.0, "{tank} + {line} + {bowl} + {gone} = {left} mL");
    assert!(gone > 100.0, "the engine runs on water: {gone} mL");
    let (_, _, later, _) = all(&mut car, 1800 * S);
    assert!(later >= bowl && later < 0.36 * 330.0, "{later} mL");
}

#[test]
fn looking_changes_nothing_for_the_passengers() {
    let mut plant = reference_plant::plant();
    reference_plant::leak(&mut plant, "foot", 0.5, 0.02);
    let mut watched = started(&plant);
    for i in 0..300 {
        glass(&mut watched, 10 * S + i * S / 10);
    }
    let mut left = started(&plant);
    assert_eq!(glass(&mut watched, 40 * S), glass(&mut left, 40 * S));
}
