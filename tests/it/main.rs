//! Everything above the unit: one binary, one link.

mod arrows;
mod demo;
mod passengers;
mod physics;
mod properties;
mod random_plant;
mod reference_more;
mod reference_petrol;
mod reference_plant;
mod scenario_files;
mod shell;
mod signatures;
mod sit;
mod small;
mod source;
mod textbook;
mod tidy;
