//! Faults of flow: vent, strainer, non-return valve, filter, pump.

use super::{Fault, FaultInstance, Place, geometric, linear};
use crate::bay::action::Remedy;
use crate::plant::Plant;
use crate::plant::component::{Component, Filter, GearPump, NonReturnValve, Resistance, Strainer, Tank};
use crate::units::{AbsolutePressure, GaugePressure, PressureDifference, VolumeFlow};

/// Defines a getter for the one component of a kind that the fault sits at.
macro_rules! at_part {
    ($name:ident, $kind:ident) => {
        fn $name<'a>(plant: &'a mut Plant, fault: &FaultInstance) -> Result<&'a mut $kind, String> {
            let mut found = None;
            for part in &mut plant.parts {
                if let Component::$kind(component) = &mut part.is
                    && (fault.at.is_empty() || fault.at == part.name)
                {
                    if found.is_some() {
                        return Err(format!(
                            "{} could sit at more than one {}: say which",
                            fault.fault,
                            stringify!($kind)
                        ));
                    }
                    found = Some(component);
                }
            }
            found.ok_or_else(|| match fault.at.as_str() {
                "" => format!("{} needs a {} in the plant", fault.fault, stringify!($kind)),
                at => format!("{} can't sit at \"{at}\": no {} has that name", fault.fault, stringify!($kind)),
            })
        }
    };
}

at_part!(tank, Tank);
at_part!(strainer, Strainer);
at_part!(non_return, NonReturnValve);
at_part!(filter, Filter);
at_part!(pump, GearPump);

pub(super) const F02: Fault = Fault {
    code: "F02",
    name: "Tank vent blocked",
    about: "No air follows the fuel out of the tank: a depression builds over minutes and holds after stopping.",
    place: Place::Part("Tank"),
    remedies: &[Remedy::Clean, Remedy::Replace],
    weight_light_diesel: 12.0,
    change: |plant, _, fault| {
        let tank = tank(plant, fault)?;
        // the drive to the workshop has already drawn the tank down
        let drawn = linear(fault.severity, -25.0, -250.0);
        tank.vent = VolumeFlow::from_si(tank.vent.si() * geometric(fault.severity, 2e-3, 2e-6));
        tank.air_space = GaugePressure::from_mbar(tank.air_space.mbar() + drawn);
        Ok(())
    },
};

pub(super) const F03: Fault = Fault {
    code: "F03",
    name: "Strainer plugged",
    about: "Dirt on the gauze of the pick-up: suction grows everywhere behind it, with the flow.",
    place: Place::Part("Strainer"),
    remedies: &[Remedy::Clean, Remedy::Replace],
    weight_light_diesel: 25.0,
    change: |plant, _, fault| {
        let strainer = strainer(plant, fault)?;
        // extra drop at the flow of the card's test speed: 50 mbar at 2, 150 at 3, 300 at 4
        strainer.dirt = Some(Resistance {
            drop: PressureDifference::from_si(
                100.0 * extra_drop(fault.severity, [15.0, 50.0, 150.0, 300.0, 600.0]),
            ),
            at: strainer.clean.at,
            laminar: 0.35,
        });
        Ok(())
    },
};

pub(super) const F13: Fault = Fault {
    code: "F13",
    name: "Non-return valve not seating",
    about: "The column can fall back to the tank as soon as air finds a way in.",
    place: Place::Part("NonReturnValve"),
    remedies: &[Remedy::Replace],
    weight_light_diesel: 50.0,
    change: |plant, _, fault| {
        let valve = non_return(plant, fault)?;
        valve.stuck_open = valve.stuck_open.max(linear(fault.severity, 0.2, 1.0));
        Ok(())
    },
};

pub(super) const F15: Fault = Fault {
    code: "F15",
    name: "Filter element plugged",
    about: "Dirt in the element: suction grows behind the filter, and less fuel passes ahead of it.",
    place: Place::Part("Filter"),
    remedies: &[Remedy::Replace],
    weight_light_diesel: 110.0,
    change: |plant, _, fault| {
        let filter = filter(plant, fault)?;
        // extra drop at the rated flow: 30, 80, 200, 350 mbar and beyond; solved for the clogged
        // share s from drop·(1/(1−s)³) with the laminar share dominant
        let extra = 100.0 * extra_drop(fault.severity, [30.0, 80.0, 200.0, 350.0, 700.0]);
        let grown = 1.0 + extra / filter.new.drop.si();
        filter.clogged = filter.clogged.max(clogged_share(&filter.new, grown));
        Ok(())
    },
};

pub(super) const F26: Fault = Fault {
    code: "F26",
    name: "Transfer pump worn",
    about: "Gaps in the pump: it draws weakly, most of all when slow and hot; the glass stays clear and the line holds.",
    place: Place::Part("GearPump"),
    remedies: &[Remedy::Replace],
    weight_light_diesel: 32.0,
    change: |plant, _, fault| {
        let pump = pump(plant, fault)?;
        pump.slip *= geometric(fault.severity, 1.6, 9.0);
        pump.slip_at_rest += geometric(fault.severity, 2e-10, 2e-8);
        // worn chambers fill only at a higher inlet pressure: what is left of the suction
        let weaker = linear(fault.severity, 1.08, 1.9);
        pump.filling = AbsolutePressure::from_si(pump.filling.si() * weaker);
        Ok(())
    },
};

/// Looks a drop up by severity, in straight lines between the whole numbers.
fn extra_drop(severity: f64, mbar: [f64; 5]) -> f64 {
    let s = (severity - 1.0).clamp(0.0, 4.0);
    let i = (s.floor() as usize).min(3);
    mbar[i] + (mbar[i + 1] - mbar[i]) * (s - i as f64)
}

/// Clogged share at which a resistance's drop at its own flow has grown by `factor`.
fn clogged_share(new: &Resistance, factor: f64) -> f64 {
    let grown = |s: f64| {
        let open = 1.0 - s;
        new.laminar / (open * open * open) + (1.0 - new.laminar) / (open * open * open * open)
    };
    let (mut low, mut high) = (0.0, 0.99);
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if grown(mid) < factor {
            low = mid;
        } else {
            high = mid;
        }
    }
    0.5 * (low + high)
}
