//! Steps of a display and ends of its range.

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
