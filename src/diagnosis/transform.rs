//! Scales on which features are nearly bell-shaped.
//!
//! A feature with a positive skewed range goes into the moments as its logarithm, a duty cycle as its
//! logit; a spread is carried over by the slope at the reading. The choice belongs to the extractor
//! and is part of what a reference set's hash covers.

use crate::ops;

/// Scale of a feature.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Transform {
    /// As it is: pressures about ambient and their slopes, which take both signs.
    #[default]
    Plain,
    /// Natural logarithm: times, flows, hole areas.
    Log,
    /// `ln(x/(1−x))`: shares between 0 and 1.
    Logit,
}

impl Transform {
    /// Its name in hashes and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Log => "log",
            Self::Logit => "logit",
        }
    }

    /// The value on this scale; `None` where the scale has none.
    pub fn of(self, x: f64) -> Option<f64> {
        let y = match self {
            Self::Plain => x,
            Self::Log => ops::ln(x),
            Self::Logit => ops::ln(x / (1.0 - x)),
        };
        y.is_finite().then_some(y)
    }

    /// Change of the value on this scale for a small change of x: carries a spread over.
    pub fn slope(self, x: f64) -> f64 {
        match self {
            Self::Plain => 1.0,
            Self::Log => 1.0 / x,
            Self::Logit => 1.0 / (x * (1.0 - x)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_are_those_of_the_scales() {
        for t in [Transform::Plain, Transform::Log, Transform::Logit] {
            let (x, h) = (0.3, 1e-6);
            let difference = (t.of(x + h).unwrap() - t.of(x - h).unwrap()) / (2.0 * h);
            assert!((difference - t.slope(x)).abs() < 1e-6, "{}", t.name());
        }
        assert_eq!([Transform::Log.of(0.0), Transform::Log.of(-1.0), Transform::Logit.of(1.0)], [None; 3]);
        assert_eq!(Transform::Plain.of(-12.5), Some(-12.5));
    }
}
