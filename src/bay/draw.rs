//! One vehicle drawn from a job: its manufacturing tolerances. Faults come on top (see `truth`).

use crate::instrument::vehicle_sensor::Build;
use crate::plant::Plant;
use crate::plant::component::{Command, Component, Resistance};
use crate::random::{Purpose, normal_within};
use crate::units::{Displacement, GaugePressure, PressureDifference, Resistor};

/// First index of the sensors' own bias: beyond what any plant's parts take.
const SENSORS: u64 = 1_000_000;

/// The plant with tolerances of one seed. Standard deviations: flow resistances 6 %, cracking and
/// opening pressures 4 %, swept volume 2 %, slip 15 %, the bias of a control's sensor as its build says; cut at 2.5 standard deviations. Training values.
pub fn with_tolerances(plant: &Plant, seed: u64) -> Plant {
    varied(plant, &|index| normal_within(seed, Purpose::Tolerance, index, 2.5), &|sensor| {
        normal_within(seed, Purpose::Tolerance, SENSORS + sensor, 2.0)
    })
}

/// The plant with given tolerances, each in standard deviations, in the order in which a seed draws them; the bias of
/// a control's sensor stays as built. What the list is short of is 0.
pub fn with_given(plant: &Plant, deviations: &[f64]) -> Plant {
    varied(plant, &|index| deviations.get(index as usize - 1).copied().unwrap_or(0.0), &|_| 0.0)
}

/// How many tolerances [`with_given`] takes.
pub fn tolerances(plant: &Plant) -> usize {
    let most = std::cell::Cell::new(0);
    varied(
        plant,
        &|index| {
            most.set(index as usize);
            0.0
        },
        &|_| 0.0,
    );
    most.get()
}

/// `deviation` by index from 1, `own` by sensor.
fn varied(plant: &Plant, deviation: &dyn Fn(u64) -> f64, own: &dyn Fn(u64) -> f64) -> Plant {
    let mut plant = plant.clone();
    let (mut index, mut sensors) = (0, 0);
    let mut vary = |spread: f64| {
        index += 1;
        1.0 + spread * deviation(index)
    };
    let pressure = |p: PressureDifference, factor: f64| PressureDifference::from_si(p.si() * factor);
    for part in &mut plant.parts {
        match &mut part.is {
            Component::Strainer(s) => s.clean = vary_resistance(&s.clean, &mut vary),
            Component::NonReturnValve(v) => {
                v.cracking = pressure(v.cracking, vary(0.04));
                v.open = vary_resistance(&v.open, &mut vary);
            }
            Component::Filter(f) => f.new = vary_resistance(&f.new, &mut vary),
            Component::Line(l) => l.fittings *= vary(0.06),
            Component::GearPump(p) => {
                p.displacement = Displacement::from_si(p.displacement.si() * vary(0.02));
                p.slip *= vary(0.15);
            }
            Component::Engine(e) => {
                if let Some(overflow) = &mut e.overflow {
                    overflow.opens = pressure(overflow.opens, vary(0.04));
                }
            }
            Component::Restriction(r) => r.drop = vary_resistance(&r.drop, &mut vary),
            Component::SedimentBowl(b) => b.clean = vary_resistance(&b.clean, &mut vary),
            Component::ShutOffValve(v) => v.open = vary_resistance(&v.open, &mut vary),
            Component::HandPrimer(p) => p.open = vary_resistance(&p.open, &mut vary),
            Component::JetPump(j) => j.nozzle = vary_resistance(&j.nozzle, &mut vary),
            Component::Relief(r) => r.opens = pressure(r.opens, vary(0.015)),
            Component::DiaphragmPump(p) => {
                p.displacement = Displacement::from_si(p.displacement.si() * vary(0.04));
                p.spring = pressure(p.spring, vary(0.04));
            }
            Component::ElectricPump(p) => {
                p.displacement = Displacement::from_si(p.displacement.si() * vary(0.02));
                p.slip *= vary(0.10);
                p.relief_opens = pressure(p.relief_opens, vary(0.03));
                p.winding = Resistor::from_si(p.winding.si() * vary(0.03));
                p.constant *= vary(0.02);
                if let Command::Demand { bias, .. } = &mut p.command {
                    *bias = GaugePressure::from_si(bias.si() + Build::FEED.spread.si() * own(sensors));
                    sensors += 1;
                }
            }
            Component::Tank(_) | Component::SwirlPot(_) => {}
        }
    }
    plant
}

fn vary_resistance(r: &Resistance, vary: &mut impl FnMut(f64) -> f64) -> Resistance {
    r.times(vary(0.06))
}
