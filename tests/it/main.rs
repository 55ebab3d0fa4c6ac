//! Everything above the unit: one binary, one link.

mod scenario_files;
