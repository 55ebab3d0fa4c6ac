//! Everything above the unit: one binary, one link.

mod arrows;
mod demo;
mod passengers;
mod physics;
mod reference_plant;
mod scenario_files;
mod shell;
mod sight_words;
mod signatures;
mod sit;
mod source;
mod tidy;
mod zz_time;
