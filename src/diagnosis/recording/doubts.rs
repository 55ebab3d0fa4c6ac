//! How far what a recording shows may be off: measuring, and what the description of a plant leaves out of a real one.
//!
//! Engineering estimates. Where they stop being true: a vehicle that differs from its plant by more than tolerances.

use super::Column;
use crate::analysis::features::What;
use crate::diagnosis::likelihood::Reading;
use crate::ops;

/// How far a level of a real vehicle may lie from the described plant's, mbar; see the evidence of attempts.
const MODEL_MBAR: f64 = 8.0;
/// … and in proportion to the level, for what the description of a plant leaves out.
const MODEL_SHARE: f64 = 0.04;
/// Standard deviation of the offset of an instrument that nobody knows, mbar.
const OFFSET_MBAR: f64 = 4.0;
/// How far the current of a real pump may lie from the described one's, A and in proportion to it: a hand-held clamp
/// creeps by some hundredths, and a pump's winding and brushes are known to some hundredths of its current.
const CLAMP_A: f64 = 0.1;
const CLAMP_SHARE: f64 = 0.05;
/// Gas below this share isn't told apart.
pub(super) const GAS_FLOOR: f64 = 0.003;

/// A feature as it is weighed: gas by its logarithm.
pub(super) fn scale(what: What, value: f64) -> f64 {
    if what == What::Gas { ops::ln(value.max(0.0) + GAS_FLOOR) } else { value }
}

/// Measuring and model uncertainty of a column: random part and sensitivity to the instrument's offset.
fn doubt(column: Column, value: f64, error: f64, length: f64) -> (f64, f64) {
    let slope = 60.0 * MODEL_MBAR / length.max(10.0);
    match column.1 {
        What::Slope => ((error * error + slope * slope).sqrt(), 0.0),
        What::TimeToHalf => ((error * error + 0.09 + 0.04 * value * value).sqrt(), 0.0),
        What::Current => {
            let share = CLAMP_SHARE * value;
            ((error * error + CLAMP_A * CLAMP_A + share * share).sqrt(), 0.0)
        }
        What::Gas => {
            let relative = error / (value.max(0.0) + GAS_FLOOR);
            ((relative * relative + 0.36).sqrt(), 0.0)
        }
        _ => ((error * error + MODEL_MBAR * MODEL_MBAR + MODEL_SHARE * MODEL_SHARE * value * value).sqrt(), 1.0),
    }
}

pub(super) fn reading(feature: usize, column: Column, value: f64, error: f64, length: f64) -> Reading {
    let (random, sensitivity) = doubt(column, value, error, length);
    let value = scale(column.1, value);
    Reading { feature, value, random, resolution: 0.0, instrument: 0, bias: OFFSET_MBAR, sensitivity }
}
