//! tmp
mod physics;
mod reference_plant;
