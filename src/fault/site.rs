//! Where a fault sits while it is put into a plant.

use super::KitFaults;
use super::catalogue::{Fault, Place};
use crate::plant::component::{
    Component, DiaphragmPump, ElectricPump, Engine, Filter, GearPump, Line, NonReturnValve, ShutOffValve, Strainer,
    Tank,
};
use crate::plant::{Leak, Plant};
use crate::units::Area;

/// A plant with the place at which a fault is put in.
pub(super) struct Site<'a> {
    pub(super) plant: &'a mut Plant,
    pub(super) kit: &'a mut KitFaults,
    pub(super) severity: f64,
    /// Name of the part or node; empty in the kit or nowhere.
    pub(super) at: String,
}

/// Defines getters of the component at the site.
macro_rules! components {
    ($($name:ident: $kind:ident),+) => {
        impl Site<'_> {
            $(pub(super) fn $name(&mut self) -> Result<&mut $kind, String> {
                match self.component()? {
                    Component::$kind(component) => Ok(component),
                    other => Err(format!("this is a {}, not a {}", other.kind(), stringify!($kind))),
                }
            })+
        }
    };
}

components! {
    tank: Tank, strainer: Strainer, line: Line, non_return: NonReturnValve, filter: Filter, gear: GearPump,
    diaphragm: DiaphragmPump, electric: ElectricPump, engine: Engine, shut_off: ShutOffValve
}

impl Site<'_> {
    /// The component at the site.
    pub(super) fn component(&mut self) -> Result<&mut Component, String> {
        let at = &self.at;
        let name = at.split('/').next().unwrap_or_default();
        match self.plant.parts.iter_mut().find(|p| p.name == name) {
            Some(part) => Ok(&mut part.is),
            None => Err(format!("no part is called \"{at}\"")),
        }
    }

    /// Makes a hole at a node, mm² of effective area, halfway through its volume.
    pub(super) fn hole(&mut self, node: &str, mm2: f64) {
        let area = Area::from_si(mm2 * 1e-6);
        self.plant.leaks.push(Leak { node: node.to_owned(), along: 0.5, area });
    }
}

/// Names of the places in a plant where a fault can sit.
pub(super) fn places(fault: &Fault, plant: &Plant) -> Vec<String> {
    let parts = plant.parts.iter();
    match fault.place {
        Place::Part(kinds) => parts
            .filter(|p| kinds.contains(&p.is.kind()) && (fault.fits)(plant, &p.name))
            .map(|p| p.name.clone())
            .collect(),
        Place::Circuit => parts
            .filter_map(|p| if let Component::ElectricPump(pump) = &p.is { Some((&p.name, pump)) } else { None })
            .flat_map(|(name, pump)| pump.feed.iter().chain(&pump.earth).map(move |j| format!("{name}/{}", j.name)))
            .collect(),
        Place::Node => {
            plant.nodes.iter().filter(|n| (fault.fits)(plant, &n.name)).map(|n| n.name.clone()).collect()
        }
        Place::Kit | Place::Nowhere => vec![],
    }
}

/// The place by its name, or the only one.
pub(super) fn locate(fault: &Fault, plant: &Plant, at: &str) -> Result<String, String> {
    let code = fault.code;
    let places = match fault.place {
        Place::Kit | Place::Nowhere if at.is_empty() => return Ok(String::new()),
        Place::Kit => return Err(format!("{code} sits in the tester's own kit, not at \"{at}\"")),
        Place::Nowhere => return Err(format!("{code} sits nowhere, so not at \"{at}\"")),
        Place::Circuit => {
            let pumps = plant.parts.iter().filter(|p| matches!(p.is, Component::ElectricPump(_)));
            let mut all: Vec<String> = pumps.map(|p| p.name.clone()).collect();
            if at.contains('/') {
                all = places(fault, plant);
            }
            all
        }
        Place::Part(_) | Place::Node => places(fault, plant),
    };
    match places.as_slice() {
        [] => Err(format!("the plant has no {} for {code}", wanted(fault))),
        [only] if at.is_empty() => Ok(only.clone()),
        all if at.is_empty() => {
            Err(format!("{code} could sit at more than one place: say which of {}", all.join(", ")))
        }
        all if all.iter().any(|p| p == at) => Ok(at.to_owned()),
        // of a circuit the joints are what is asked for, the part is short for one
        _ => Err(format!("{code} can't sit at \"{at}\"; it can at {}", self::places(fault, plant).join(", "))),
    }
}

/// What a fault needs, for an author.
fn wanted(fault: &Fault) -> String {
    match fault.place {
        Place::Part(kinds) => kinds.join(" or "),
        Place::Circuit => "ElectricPump".to_owned(),
        Place::Node => "node of that side".to_owned(),
        Place::Kit | Place::Nowhere => "place".to_owned(),
    }
}
