//! Everything above the unit: one binary, one link.

mod archetypes;
mod arrows;
mod catalogue;
mod demo;
mod passengers;
mod physics;
mod reference_plant;
mod scenario_files;
mod shell;
mod signatures;
mod sit;
mod source;
mod symptoms;
mod test_plants;
mod tidy;
