//! One kind of component a file. A kind says what it is in the vehicle, its parameters with units,
//! the law it obeys with its source, and where that law stops being true.

mod engine;
mod filter;
mod line;
mod non_return;
mod pump;
mod resistance;
mod strainer;
mod tank;

pub use engine::Engine;
pub use filter::Filter;
pub use line::Line;
pub use non_return::NonReturnValve;
pub use pump::GearPump;
pub use resistance::Resistance;
pub use strainer::Strainer;
pub use tank::Tank;

use serde::{Deserialize, Serialize};

/// Any component.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Component {
    /// Tank with vent, air space and pick-up.
    Tank(Tank),
    /// Strainer at the pick-up.
    Strainer(Strainer),
    /// Rigid line or hose.
    Line(Line),
    /// Non-return valve.
    NonReturnValve(NonReturnValve),
    /// Filter with bowl and, perhaps, a hand primer.
    Filter(Filter),
    /// Gear or vane transfer pump driven by the engine.
    GearPump(GearPump),
    /// The engine with its gallery, overflow valve, demand and return.
    Engine(Engine),
}

impl Component {
    /// The kind in an author's words, as it stands in the file.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Tank(_) => "Tank",
            Self::Strainer(_) => "Strainer",
            Self::Line(_) => "Line",
            Self::NonReturnValve(_) => "NonReturnValve",
            Self::Filter(_) => "Filter",
            Self::GearPump(_) => "GearPump",
            Self::Engine(_) => "Engine",
        }
    }

    /// Names of the nodes it is joined to, upstream first.
    pub fn ends(&self) -> Vec<&str> {
        match self {
            Self::Tank(c) => vec![&c.outlet],
            Self::Strainer(c) => vec![&c.from, &c.to],
            Self::Line(c) => vec![&c.from, &c.to],
            Self::NonReturnValve(c) => vec![&c.from, &c.to],
            Self::Filter(c) => vec![&c.from, &c.to],
            Self::GearPump(c) => vec![&c.from, &c.to],
            Self::Engine(c) => vec![&c.gallery],
        }
    }
}
