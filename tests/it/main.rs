//! Everything above the unit: one binary, one link.

mod archetypes;
mod arrows;
mod catalogue;
mod courses;
mod debrief;
mod demo;
mod drafts;
mod fair;
mod hostile;
mod invariants;
mod opened;
mod packs;
mod passengers;
mod physics;
mod properties;
mod random_plant;
mod recordings;
mod records;
mod reference_more;
mod reference_petrol;
mod reference_plant;
mod scenario_files;
mod shell;
mod sight_words;
mod signatures;
#[cfg(feature = "seal")]
mod signing;
mod sit;
mod small;
mod source;
mod symptoms;
mod test_plants;
mod textbook;
mod tidy;
mod vary;
mod work;
