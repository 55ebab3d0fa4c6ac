//! Is belief worth what it says? The calibration that a job must show before it may assess anyone.
//!
//! Over fresh vehicles drawn by prior: the expected calibration error `Σ_b n_b/n·|mean p − share right|`
//! of the likeliest cause in ten bins, and how often "none of these" comes out likeliest.
//!
//! Source: M. P. Naeini, G. F. Cooper, M. Hauskrecht, "Obtaining well calibrated probabilities using
//! Bayesian binning", AAAI 2015 (expected calibration error).

/// Largest expected calibration error of a job that may assess.
pub const MOST_ERROR: f64 = 0.05;
/// Largest share of vehicles for which "none of these" may come out likeliest.
pub const MOST_NONE: f64 = 0.05;
const BINS: usize = 10;

/// How well belief is calibrated.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Calibration {
    /// Expected calibration error, 0 … 1.
    pub error: f64,
    /// Share for which "none of these" comes out likeliest.
    pub none: f64,
}

impl Calibration {
    /// Good enough for assessment.
    pub fn passes(self) -> bool {
        self.error <= MOST_ERROR && self.none <= MOST_NONE
    }
}

/// Calibration over vehicles, each with its weight (its cause's prior over the number of vehicles
/// with that cause), the true group and the belief by group, "none of these" last. `None` for none.
pub fn calibration(vehicles: &[(f64, usize, &[f64])]) -> Option<Calibration> {
    let whole: f64 = vehicles.iter().map(|v| v.0).sum();
    if whole <= 0.0 {
        return None;
    }
    let (mut weight, mut claimed, mut right, mut none) = ([0.0; BINS], [0.0; BINS], [0.0; BINS], 0.0);
    for &(w, truth, belief) in vehicles {
        let (top, p) =
            belief.iter().enumerate().fold((0, -1.0), |best, (i, &p)| if p > best.1 { (i, p) } else { best });
        let bin = ((p * BINS as f64) as usize).min(BINS - 1);
        weight[bin] += w;
        claimed[bin] += w * p;
        right[bin] += if top == truth { w } else { 0.0 };
        none += if top + 1 == belief.len() { w } else { 0.0 };
    }
    let error = (0..BINS).map(|b| (claimed[b] - right[b]).abs()).sum::<f64>() / whole;
    Some(Calibration { error, none: none / whole })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn over_confidence_shows_and_honesty_passes() {
        // ten vehicles claimed at 0.9: nine right is honest, six right is off by 0.3
        let belief = [0.9, 0.1, 0.0];
        let of = |right: usize| {
            let all: Vec<(f64, usize, &[f64])> =
                (0..10).map(|i| (1.0, usize::from(i >= right), &belief[..])).collect();
            calibration(&all).unwrap()
        };
        assert!(of(9).error < 1e-12 && of(9).passes());
        assert!((of(6).error - 0.3).abs() < 1e-12 && !of(6).passes());
        // weights count: the wrong ones at a tenth of the weight
        let all: Vec<(f64, usize, &[f64])> =
            (0..10).map(|i| (if i < 9 { 1.0 } else { 0.1 }, usize::from(i >= 9), &belief[..])).collect();
        assert!((calibration(&all).unwrap().error - (9.0 / 9.1 - 0.9)).abs() < 1e-12);
    }

    #[test]
    fn none_of_these_is_counted() {
        let lost = [0.1, 0.2, 0.7];
        let all: Vec<(f64, usize, &[f64])> = vec![(1.0, 0, &lost), (3.0, 1, &[0.0, 1.0, 0.0])];
        let found = calibration(&all).unwrap();
        assert!((found.none - 0.25).abs() < 1e-12 && !found.passes());
        assert_eq!(calibration(&[]), None);
    }
}
