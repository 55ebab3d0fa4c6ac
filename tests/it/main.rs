//! Everything above the unit: one binary, one link.

mod physics;
mod reference_plant;
