//! Small plants of few parts, for tests against closed forms and other solvers.

use faultbay::fluid::Fuel;
use faultbay::lanes::Lanes;
use faultbay::plant::assemble::{Detail, Rig};
use faultbay::plant::network::{Network, Param};
use faultbay::plant::step::Effort;
use faultbay::plant::vehicle::Vehicle;
use faultbay::plant::{Filling, Plant};
use faultbay::units::{Length, Temperature};
use ron::extensions::Extensions;
use serde::de::DeserializeOwned;

/// What the reference plants burn and more: diesel whose properties don't move.
pub const DIESEL: Fuel = Fuel {
    density: 832.0,
    viscosity: 0.0035,
    viscosity_at_20: 0.0035,
    vapour_pressure: 60.0,
    bulk_modulus: 1.45e9,
    air_solubility: 0.126,
    expansion: 0.00083,
};

/// An engine that asks for nothing, at the node "gallery".
pub const ENGINE: &str = r#"(name: "engine", label: "", is: Engine(gallery: "gallery", volume: ml(50),
    wall: per_Pa(2e-9), demand: ml_per_s(0), demand_with_speed: ml_per_s(0), starves_at: Pa(1000),
    starves_over: Pa(1000), lag: s(0.3), starter: rpm(200), idle: rpm(800), raised: rpm(2500),
    holds_gas: true)),"#;

fn read<T: DeserializeOwned>(text: &str) -> Vec<T> {
    ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES)
        .from_str(&format!("[{text}]"))
        .unwrap_or_else(|e| panic!("{e}\n{text}"))
}

/// A plant from the text of its nodes and parts.
pub fn plant(fuel: Fuel, nodes: &str, parts: &str) -> Plant {
    Plant {
        name: "small".into(),
        title: "small".into(),
        fuel: Filling::Fixed(fuel),
        temperature: Temperature::from_celsius(20.0),
        altitude: Length::from_si(0.0),
        service: Default::default(),
        warmth: None,
        nodes: read(nodes),
        parts: read(parts),
        leaks: vec![],
    }
}

/// A wide tank: its surface stays 0.1 m above its base.
pub fn wide_tank(name: &str, base: f64) -> String {
    format!(
        r#"(name: "{name}", label: "", is: Tank(outlet: "{name}", capacity: m3(1000), fill: m3(100), area: m2(1000),
        pickup: mm(0), vent: m3_per_s(1), base: m({base}))),"#
    )
}

/// Sets a parameter.
pub fn set(net: &mut Network<1>, param: Param, value: f64) {
    net.params[param.index()] = Lanes([value]);
}

/// A vehicle of nothing but fuel: air is neither released nor dissolved, and there are no nuclei.
pub fn without_gas(plant: &Plant, effort: Effort) -> Vehicle {
    let mut car = Vehicle::new(plant, &Rig::default(), Detail::FULL, effort).unwrap();
    car.change(0, |net, y| {
        let top = net.top.clone();
        set(net, top.common.release, 0.0);
        set(net, top.common.exchange, 0.0);
        for (v, vessel) in top.vessels.iter().enumerate() {
            let p = net.pressure(v, y);
            // what is left keeps the closure away from 0/0
            set(net, vessel.still_gas, 1e-9);
            y[vessel.x] = net.excess_for(v, p, net.free_gas(v, y), y);
        }
    });
    car
}

/// Flow through the link of a part at a covered time, mL/s.
pub fn flow(car: &Vehicle, part: &str, t: u64) -> f64 {
    let net = car.net();
    net.flows(&car.snapshot(t), &mut net.workspace())[net.top.link(part).unwrap()].0[0]
}

/// Gauge pressure at a node at a covered time, Pa.
pub fn gauge(car: &Vehicle, node: &str, t: u64) -> f64 {
    let net = car.net();
    net.gauge(net.top.vessel(node).unwrap(), &car.snapshot(t)).0[0]
}
