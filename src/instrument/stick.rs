//! The dip stick: how high fuel stands in a tank.
//!
//! Read in whole millimetres where it is wet. Fuel creeps up and evaporates, and nobody holds it quite upright:
//! some millimetre either way. Estimates.

use super::display::{Doubt, Shown, stepped};
use crate::random::{Purpose, child_seed, normal_within};

/// From mark to mark, mm.
pub const STEP_MM: f64 = 1.0;
/// Standard deviation of a reading, mm.
const READ_MM: f64 = 1.0;
/// Length, mm.
const LONG_MM: f64 = 1500.0;

/// Reads a level, mm. `reading` counts the readings.
pub fn read(seed: u64, level_mm: f64, reading: u64) -> Shown {
    let seed = child_seed(seed, "dip stick", 0);
    let off = READ_MM * normal_within(seed, Purpose::ReadingNoise, reading, 2.5);
    Shown::within(stepped(level_mm + off, STEP_MM), 0.0, LONG_MM)
}

/// How far it may be off, mm.
pub const fn doubt() -> Doubt {
    Doubt { random: READ_MM, bias: 0.0, step: STEP_MM }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_shows_whole_millimetres_near_the_level() {
        for reading in 0..100 {
            let shown = read(3, 271.4, reading).value;
            assert!((shown - 271.4).abs() <= 3.0 && shown.fract() == 0.0, "{shown}");
        }
        assert_eq!(read(3, -5.0, 0).value, 0.0);
    }
}
