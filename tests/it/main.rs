//! Everything above the unit: one binary, one link.

mod arrows;
mod physics;
mod reference_plant;
mod source;
mod tidy;
