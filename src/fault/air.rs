//! Faults that let air in, or fuel out.

use super::{Fault, Place, geometric};
use crate::bay::action::Remedy;
use crate::plant::Leak;
use crate::units::Area;

pub(super) const F09: Fault = Fault {
    code: "F09",
    name: "Air ingress, suction side",
    about: "A joint that lets air in under suction though no fuel drips from it.",
    place: Place::Node,
    remedies: &[Remedy::Reseal, Remedy::Replace],
    weight_light_diesel: 120.0,
    change: |plant, _, fault| {
        let node = plant
            .node(&fault.at)
            .ok_or_else(|| format!("F09 can't sit at \"{}\": no node has that name", fault.at))?
            .name
            .clone();
        // effective hole 0.0015 mm² (a trace: about 1 % air at idle) to 0.1 mm² (loses prime)
        let area = Area::from_si(geometric(fault.severity, 0.0015, 0.1) * 1e-6);
        plant.leaks.push(Leak { node, along: 0.5, area });
        Ok(())
    },
};
