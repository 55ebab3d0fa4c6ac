//! Steps of a display, ends of its range, and how far what it shows may lie from the truth.

/// What a display shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shown {
    /// The number, in the instrument's unit.
    pub value: f64,
    /// The true number lies beyond the end of the range that is shown.
    pub over_range: bool,
}

impl Shown {
    /// A value cut to a range.
    pub fn within(value: f64, low: f64, high: f64) -> Self {
        Self { value: value.clamp(low, high), over_range: !(low..=high).contains(&value) }
    }
}

/// How far a reading of an instrument may lie from the truth: one standard deviation each, in the instrument's unit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Doubt {
    /// Of what is drawn anew with each reading.
    pub random: f64,
    /// Of what this instrument does to every reading alike: gain, zero.
    pub bias: f64,
    /// Smallest step of the display.
    pub step: f64,
}

impl Doubt {
    /// An instrument that shows whole steps and errs by nothing else.
    pub const fn of_step(step: f64) -> Self {
        Self { random: 0.0, bias: 0.0, step }
    }

    /// Everything but the steps, taken together.
    pub fn combined(self) -> f64 {
        (self.random * self.random + self.bias * self.bias).sqrt()
    }
}

/// The value in whole steps (> 0).
pub fn stepped(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn rounding_errs_by_half_a_step_at_most(value in -1e4..1e4_f64, step in 0.001..10.0_f64) {
            let shown = stepped(value, step);
            prop_assert!((shown - value).abs() <= 0.5 * step * (1.0 + 1e-9));
            prop_assert!((shown / step - (shown / step).round()).abs() < 1e-6);
        }
    }

    #[test]
    fn the_end_of_the_range_is_told() {
        assert_eq!(Shown::within(5.0, -1.0, 3.0), Shown { value: 3.0, over_range: true });
        assert_eq!(Shown::within(3.0, -1.0, 3.0), Shown { value: 3.0, over_range: false });
    }
}
