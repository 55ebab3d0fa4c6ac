//! What the pumps of a plant give at their working point: severities refer to it.
//!
//! Estimates from the plant's own numbers, at 20 °C and with a running engine's voltage. They only scale a
//! fault's parameters; what is read then follows from the network.

use crate::plant::Plant;
use crate::plant::component::{Command, Component, ElectricPump};

/// Voltage with the engine running, V.
const RUNNING_V: f64 = 13.5;
/// A pump whose outlet can't go beyond this only lifts, Pa.
const LIFT_ONLY_PA: f64 = 200_000.0;
/// Radians in a turn.
const TURN: f64 = 2.0 * core::f64::consts::PI;

/// What lies on the tank's side of a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    /// No pump: fuel is drawn through it.
    Suction,
    /// A pump that lifts with some hundred millibar.
    Lifted,
    /// A pump that gives some bar.
    Pressure,
}

/// The pump that pushes fuel to a node.
fn pushed_by<'p>(plant: &'p Plant, node: &str) -> Option<&'p Component> {
    let mut seen = vec![node];
    let mut next = 0;
    while next < seen.len() {
        for part in &plant.parts {
            if let [from, to] = part.is.ends()[..]
                && to == seen[next]
            {
                if matches!(
                    part.is,
                    Component::GearPump(_) | Component::DiaphragmPump(_) | Component::ElectricPump(_)
                ) {
                    return Some(&part.is);
                }
                if !seen.contains(&from) {
                    seen.push(from);
                }
            }
        }
        next += 1;
    }
    None
}

/// On which side of the pumps a node lies.
pub(super) fn side(plant: &Plant, node: &str) -> Side {
    let most = match pushed_by(plant, node) {
        None => return Side::Suction,
        Some(Component::DiaphragmPump(pump)) => pump.spring.si(),
        Some(Component::ElectricPump(pump)) => pump.relief_opens.si(),
        Some(_) => f64::INFINITY,
    };
    if most < LIFT_ONLY_PA { Side::Lifted } else { Side::Pressure }
}

/// Fuel passes a node on its way back to a tank or pot. What a pump's own relief sends round is no return.
pub(super) fn is_return(plant: &Plant, node: &str) -> bool {
    let ends_here = |node: &str| {
        plant.parts.iter().any(|p| match &p.is {
            Component::Tank(t) => t.outlet == node,
            Component::SwirlPot(pot) => pot.outlet == node,
            Component::GearPump(_) | Component::DiaphragmPump(_) | Component::ElectricPump(_) => {
                p.is.ends()[0] == node
            }
            _ => false,
        })
    };
    let starts = plant.parts.iter().filter_map(|p| match &p.is {
        Component::Engine(e) => e.returns_to.as_deref(),
        Component::Relief(r) => Some(r.to.as_str()),
        _ => None,
    });
    let mut seen: Vec<&str> = starts.filter(|n| !ends_here(n)).collect();
    let mut next = 0;
    while next < seen.len() {
        for part in &plant.parts {
            if let [from, to] = part.is.ends()[..]
                && from == seen[next]
                && !seen.contains(&to)
                && !ends_here(to)
            {
                seen.push(to);
            }
        }
        next += 1;
    }
    seen.contains(&node)
}

/// Flow of an electric pump against a difference (Pa), mL/s: steady state of its motor.
fn electric_flow(pump: &ElectricPump, pa: f64) -> f64 {
    let per_rad = pump.displacement.si() / TURN;
    let per_ohm = pump.constant / (pump.winding.si() + pump.circuit());
    let torque = per_ohm * (RUNNING_V - pump.brushes.si()) - pump.dry_friction - per_rad * pa;
    let speed = torque / (pump.wet_friction + per_ohm * pump.constant);
    (per_rad * speed * 1e6 - pump.slip * pa).max(1.0)
}

/// Difference that an electric pump works against, Pa.
fn working_pressure(plant: &Plant, pump: &ElectricPump) -> f64 {
    if let Command::Demand { raised, .. } = &pump.command {
        return raised.si();
    }
    let regulator = plant.parts.iter().filter_map(|p| match &p.is {
        Component::Relief(r) => Some(r.opens.si()),
        Component::Engine(e) => e.overflow.as_ref().map(|o| o.opens.si()),
        _ => None,
    });
    regulator.fold(0.6 * pump.relief_opens.si(), f64::min)
}

/// Slip that takes a share of an electric pump's flow at its working pressure, mL/s a Pa.
pub(super) fn slip_for(plant: &Plant, pump: &ElectricPump, share: f64) -> f64 {
    let pa = working_pressure(plant, pump);
    share * electric_flow(pump, pa) / pa.max(1000.0)
}

/// Flow that the engine's supply can give at the raised speed, mL/s: of the last pump before the engine.
pub(super) fn flow_at_raised(plant: &Plant) -> f64 {
    let Some(engine) = plant.engine() else { return 1.0 };
    let turns = engine.raised.si() / 60.0;
    match pushed_by(plant, &engine.gallery) {
        Some(Component::GearPump(pump)) => pump.displacement.si() * 1e6 * turns,
        Some(Component::DiaphragmPump(pump)) => pump.displacement.si() * 1e6 * turns,
        Some(Component::ElectricPump(pump)) => electric_flow(pump, working_pressure(plant, pump)),
        _ => engine.demand.si() * 1e6 + 1.0,
    }
}

/// What comes back to the tank at the raised speed, mL/s.
pub(super) fn return_flow(plant: &Plant) -> f64 {
    let burned =
        plant.engine().map_or(0.0, |e| (e.demand.si() + e.demand_with_speed.si() * e.raised.si() / 1000.0) * 1e6);
    (flow_at_raised(plant) - burned).max(2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_motor_gives_the_flow_of_the_reference_pump() {
        // the published pressure-fed plant: 44 mL/s against 3.94 bar at 13.6 V, 5.14 A and 7768 1/min
        let text = "(from: \"a\", to: \"b\", tank: \"a\", stage: Turbine, displacement: ml_per_turn(0.4), \
            slip: 1.9e-5, relief_opens: bar(6.3), relief_slope: 0.0009, winding: ohm(0.42), inductance: 0.0006, \
            constant: 0.0122, brushes: V(0.9), inertia: 6e-6, dry_friction: 0.009, wet_friction: 3.4e-5, \
            feed: [(name: \"plug\", ohm: ohm(0.12))], earth: [], command: KeyAndEngine(prime: s(2)))";
        let pump: ElectricPump = ron::from_str(text).unwrap();
        let flow = electric_flow(&pump, 394_000.0);
        assert!((flow / 44.0 - 1.0).abs() < 0.06, "{flow}");
    }
}
