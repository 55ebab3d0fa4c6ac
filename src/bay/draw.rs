//! One vehicle drawn from a job: its manufacturing tolerances. Faults come on top (see `truth`).

use crate::plant::Plant;
use crate::plant::component::{Component, Resistance};
use crate::random::{Purpose, normal_within};
use crate::units::{Displacement, PressureDifference};

/// The plant with tolerances of one seed. Standard deviations: flow resistances 6 %, cracking and
/// opening pressures 4 %, swept volume 2 %, slip 15 %; cut at 2.5 standard deviations. Training values.
pub fn with_tolerances(plant: &Plant, seed: u64) -> Plant {
    let mut plant = plant.clone();
    let mut index = 0;
    let mut vary = |spread: f64| {
        index += 1;
        1.0 + spread * normal_within(seed, Purpose::Tolerance, index, 2.5)
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
            Component::Engine(e) => e.overflow_opens = pressure(e.overflow_opens, vary(0.04)),
            Component::Tank(_) => {}
        }
    }
    plant
}

fn vary_resistance(r: &Resistance, vary: &mut impl FnMut(f64) -> f64) -> Resistance {
    r.times(vary(0.06))
}
