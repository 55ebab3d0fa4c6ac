//! How far a mark may be trusted: α, its interval, the error of measurement, generalisability.

use super::special::f_quantile;
use super::{Scores, mean, variance};

/// Cronbach's α `k/(k−1)·(1 − Σ s_i²/s_X²)`; for scores of 0 and 1 the same as KR-20. `None` where the
/// totals don't vary.
pub fn alpha(scores: &Scores) -> Option<f64> {
    let k = scores.items() as f64;
    let whole = variance(&scores.totals());
    let parts: f64 = (0..scores.items()).map(|i| variance(&scores.column(i))).sum();
    (whole > 0.0).then(|| k / (k - 1.0) * (1.0 - parts / whole))
}

/// Feldt's interval of α for `learners` and `items`, which holds the true α in a share `level`:
/// `1 − (1 − α)·F_{1−γ/2}` and `1 − (1 − α)·F_{γ/2}` with n − 1 and (n − 1)(k − 1) degrees.
pub fn alpha_interval(alpha: f64, learners: usize, items: usize, level: f64) -> (f64, f64) {
    let (n, k) = (learners as f64, items as f64);
    let end = |u| 1.0 - (1.0 - alpha) * f_quantile(u, n - 1.0, (n - 1.0) * (k - 1.0));
    (end(0.5 + level / 2.0), end(0.5 - level / 2.0))
}

/// Standard error of measurement of the total, `s_X·√(1 − α)`. `None` where totals don't vary.
pub fn error_of_measurement(scores: &Scores) -> Option<f64> {
    alpha(scores).map(|a| variance(&scores.totals()).sqrt() * (1.0 - a).max(0.0).sqrt())
}

/// Where scores vary: learners, items, and what is left (learner with item, and chance).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Generalisability {
    /// Variance between learners.
    pub learners: f64,
    /// Variance between items.
    pub items: f64,
    /// The rest.
    pub rest: f64,
}

/// Variance components of a crossed table, from mean squares; negative ones count as 0.
pub fn generalisability(scores: &Scores) -> Generalisability {
    let (n, k) = (scores.learners() as f64, scores.items() as f64);
    let rows: Vec<f64> = scores.totals().iter().map(|t| t / k).collect();
    let columns: Vec<f64> = (0..scores.items()).map(|i| mean(&scores.column(i))).collect();
    let grand = mean(&rows);
    let square = |x: &[f64]| x.iter().map(|v| (v - grand) * (v - grand)).sum::<f64>();
    let (ms_p, ms_i) = (k * square(&rows) / (n - 1.0), n * square(&columns) / (k - 1.0));
    let rest: f64 = scores
        .rows
        .iter()
        .zip(&rows)
        .map(|(row, r)| {
            row.iter().zip(&columns).map(|(x, c)| (x - r - c + grand) * (x - r - c + grand)).sum::<f64>()
        })
        .sum();
    let ms_r = rest / ((n - 1.0) * (k - 1.0));
    Generalisability {
        learners: ((ms_p - ms_r) / k).max(0.0),
        items: ((ms_i - ms_r) / n).max(0.0),
        rest: ms_r.max(0.0),
    }
}

impl Generalisability {
    /// Eρ² of a mean over k items, for ranking learners; the same as α at the k of the table.
    pub fn relative(self, k: usize) -> f64 {
        self.learners / (self.learners + self.rest / k as f64)
    }

    /// Φ of a mean over k items, for a decision against a fixed cut.
    pub fn absolute(self, k: usize) -> f64 {
        self.learners / (self.learners + (self.items + self.rest) / k as f64)
    }

    /// Standard error of a learner's mean over k items against a fixed cut, in points of an item.
    pub fn absolute_error(self, k: usize) -> f64 {
        ((self.items + self.rest) / k as f64).sqrt()
    }

    /// Items needed for Φ to reach `target` (below 1); `None` when learners don't differ.
    pub fn items_needed(self, target: f64) -> Option<usize> {
        let need = target / (1.0 - target) * (self.items + self.rest) / self.learners;
        // a whole number that only rounding lifts stays that number
        need.is_finite().then(|| ((need - 1e-9).ceil() as usize).max(1))
    }
}
