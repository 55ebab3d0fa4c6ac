//! One kind of component a file. A kind says what it is in the vehicle, its parameters with units,
//! the law it obeys with its source, and where that law stops being true.

mod bowl;
mod diaphragm;
mod electric;
mod engine;
mod filter;
mod line;
mod non_return;
mod number;
mod pot;
mod primer;
mod pump;
mod relief;
mod resistance;
mod restriction;
mod shut_off;
mod strainer;
mod tank;

pub use bowl::SedimentBowl;
pub use diaphragm::DiaphragmPump;
pub use electric::{Command, ElectricPump, JetPump, Joint, Stage};
pub use engine::{Engine, Overflow};
pub use filter::{Filter, HEATER_BELOW_C, HEATER_W_PER_K};
pub use line::Line;
pub use non_return::NonReturnValve;
pub use number::{Number, Unit};
pub use pot::SwirlPot;
pub use primer::HandPrimer;
pub use pump::GearPump;
pub use relief::Relief;
pub use resistance::Resistance;
pub use restriction::Restriction;
pub use shut_off::ShutOffValve;
pub use strainer::Strainer;
pub use tank::{Crack, Tank};

use serde::{Deserialize, Serialize};

/// Defines the sum of all kinds with their names and ends.
macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident: $($end:ident),+;)*) => {
        /// Any component.
        #[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
        pub enum Component {
            $($(#[$doc])* $kind($kind),)*
        }

        impl Component {
            /// Every kind in an author's words, as it stands in files.
            pub const KINDS: &'static [&'static str] = &[$(stringify!($kind)),*];

            /// The kind in an author's words, as it stands in the file.
            pub const fn kind(&self) -> &'static str {
                match self {
                    $(Self::$kind(_) => stringify!($kind)),*
                }
            }

            /// Names of the nodes it is joined to, upstream first.
            pub fn ends(&self) -> Vec<&str> {
                match self {
                    $(Self::$kind(c) => vec![$(c.$end.as_str()),+]),*
                }
            }

            /// Its numbers, each with the range that vehicles have.
            pub fn numbers(&self) -> Vec<Number> {
                match self {
                    $(Self::$kind(c) => c.numbers()),*
                }
            }

            /// Names of the fields that name those nodes, in the same order.
            pub const fn end_fields(&self) -> &'static [&'static str] {
                match self {
                    $(Self::$kind(_) => &[$(stringify!($end)),+]),*
                }
            }
        }
    };
}

impl Component {
    /// The text of [`samples`](Self::samples), as a list in a file: what an editor offers to begin with.
    pub const fn sample_text() -> &'static str {
        number::SAMPLES
    }

    /// One of every kind with every field that may be left out, for the manual and for tests.
    pub fn samples() -> Vec<Self> {
        let options = ron::Options::default()
            .with_default_extension(ron::extensions::Extensions::UNWRAP_VARIANT_NEWTYPES)
            .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
        // a test reads the same text and fails where this gives nothing
        options.from_str(number::SAMPLES).unwrap_or_default()
    }
}

kinds! {
    /// Tank with vent, air space and pick-up.
    Tank: outlet;
    /// Swirl pot in a tank.
    SwirlPot: outlet;
    /// Strainer at the pick-up.
    Strainer: from, to;
    /// Rigid line or hose.
    Line: from, to;
    /// Any other narrowing.
    Restriction: from, to;
    /// Non-return or anti-siphon valve.
    NonReturnValve: from, to;
    /// Shut-off valve.
    ShutOffValve: from, to;
    /// Relief valve or regulator.
    Relief: from, to;
    /// Filter with bowl and, perhaps, a hand primer.
    Filter: from, to;
    /// Sediment bowl.
    SedimentBowl: from, to;
    /// Hand primer in the line.
    HandPrimer: from, to;
    /// Gear or vane transfer pump driven by the engine.
    GearPump: from, to;
    /// Mechanical diaphragm lift pump.
    DiaphragmPump: from, to;
    /// Electric pump.
    ElectricPump: from, to;
    /// Jet pump.
    JetPump: from, to;
    /// The engine with its gallery, demand and return.
    Engine: gallery;
}
