//! How far a belief may be trusted, measured: over vehicles whose cause is known, is what was held likely to seven in ten
//! right seven times in ten, and what is taken for what?
//!
//! Plain arithmetic over plain numbers. A vehicle counts with its weight: its cause's prior over the number of vehicles
//! with that cause, so that the sum is a draw from the priors.
//!
//! Expected calibration error: `Σ_b n_b/n·|mean claimed − share right|` over ten equal bins of the likeliest cause's
//! belief. Source: M. P. Naeini, G. F. Cooper, M. Hauskrecht, AAAI 2015. It is never below 0 and, with few vehicles, above
//! it by chance alone: [`chance`] says how much.

use super::belief::grouped;
use crate::ops;

/// Bins of the likeliest cause's belief.
pub const BINS: usize = 10;

/// A vehicle whose cause is known, with what its readings justify.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// Share of all cases that it stands for, ≥ 0; the unit cancels.
    pub weight: f64,
    /// Its cause.
    pub truth: usize,
    /// Belief by cause, summing to 1, "none of these" last.
    pub belief: Vec<f64>,
}

/// A bin of the reliability diagram.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Bin {
    /// Share of all weight that falls into it, 0 … 1.
    pub share: f64,
    /// Mean belief claimed in it, 0 … 1; 0 when empty.
    pub claimed: f64,
    /// Share of it that is right, 0 … 1; 0 when empty.
    pub right: f64,
    /// Vehicles in it.
    pub cases: usize,
}

/// The likeliest cause and its belief; the first of equals.
pub fn top(belief: &[f64]) -> (usize, f64) {
    belief.iter().enumerate().fold((0, -1.0), |best, (i, &p)| if p > best.1 { (i, p) } else { best })
}

/// The cases in terms of groups of causes that count as one; `groups` as [`grouped`] takes them.
pub fn by_group(cases: &[Case], groups: &[usize]) -> Vec<Case> {
    cases
        .iter()
        .map(|c| Case { truth: groups[c.truth], belief: grouped(&c.belief, groups), weight: c.weight })
        .collect()
}

/// The reliability diagram: what was claimed in each tenth, and how often it was right.
pub fn reliability(cases: &[Case]) -> [Bin; BINS] {
    let whole: f64 = cases.iter().map(|c| c.weight).sum();
    let mut bins = [Bin::default(); BINS];
    for c in cases {
        let (cause, p) = top(&c.belief);
        let bin = &mut bins[((p * BINS as f64) as usize).min(BINS - 1)];
        bin.share += c.weight;
        bin.claimed += c.weight * p;
        bin.right += if cause == c.truth { c.weight } else { 0.0 };
        bin.cases += 1;
    }
    for bin in &mut bins {
        if bin.share > 0.0 {
            bin.claimed /= bin.share;
            bin.right /= bin.share;
        }
        bin.share /= if whole > 0.0 { whole } else { 1.0 };
    }
    bins
}

/// Expected calibration error of a diagram, 0 … 1.
pub fn expected_error(bins: &[Bin; BINS]) -> f64 {
    bins.iter().map(|b| b.share * (b.claimed - b.right).abs()).sum()
}

/// Mean claimed less mean right, −1 … 1: above 0 belief is too sure of itself, below too modest.
pub fn over_confidence(bins: &[Bin; BINS]) -> f64 {
    bins.iter().map(|b| b.share * (b.claimed - b.right)).sum()
}

/// What the expected calibration error would come to by chance if belief were perfectly honest: each case right with the
/// probability that it claims. `Σ_b √(2/π · Σ_i w_i²·p_i(1−p_i))` over the cases i of a bin, which is the mean of
/// the absolute value of a normal number.
pub fn chance(cases: &[Case]) -> f64 {
    let whole: f64 = cases.iter().map(|c| c.weight).sum();
    let mut variance = [0.0; BINS];
    for c in cases {
        let (_, p) = top(&c.belief);
        let w = c.weight / whole;
        variance[((p * BINS as f64) as usize).min(BINS - 1)] += w * w * p * (1.0 - p);
    }
    let mean_of_normal = (2.0 / core::f64::consts::PI).sqrt();
    variance.iter().map(|v| mean_of_normal * v.sqrt()).sum()
}

/// Share of weight that the likeliest cause gets right, 0 … 1; `None` without cases.
pub fn accuracy(cases: &[Case]) -> Option<f64> {
    let whole: f64 = cases.iter().map(|c| c.weight).sum();
    let right: f64 = cases.iter().filter(|c| top(&c.belief).0 == c.truth).map(|c| c.weight).sum();
    (whole > 0.0).then_some(right / whole)
}

/// Mean of −log₂ of the belief in the true cause, bits: what the belief costs whoever bets on it.
pub fn log_loss_bits(cases: &[Case]) -> Option<f64> {
    let whole: f64 = cases.iter().map(|c| c.weight).sum();
    let loss: f64 = cases.iter().map(|c| -c.weight * ops::log2(c.belief[c.truth].max(1e-300))).sum();
    (whole > 0.0).then_some(loss / whole)
}

/// Confusion: for each true cause (row) the share of its vehicles whose likeliest cause is each (column, "none of these"
/// last). Rows sum to 1; a cause without vehicles has a row of zeros. `causes` counts those with a name.
pub fn confusion(cases: &[Case], causes: usize) -> Vec<Vec<f64>> {
    let mut table = vec![vec![0.0; causes + 1]; causes];
    for c in cases {
        table[c.truth][top(&c.belief).0] += c.weight;
    }
    for row in &mut table {
        let whole: f64 = row.iter().sum();
        if whole > 0.0 {
            row.iter_mut().for_each(|x| *x /= whole);
        }
    }
    table
}

#[cfg(test)]
mod tests {
    use super::super::gate;
    use super::*;

    fn case(weight: f64, truth: usize, belief: &[f64]) -> Case {
        Case { weight, truth, belief: belief.to_vec() }
    }

    /// Four vehicles: two claimed at 0.95 and 0.85 and right, one at 0.95 and wrong, one at 0.42 and right.
    fn four() -> Vec<Case> {
        vec![
            case(1.0, 0, &[0.95, 0.03, 0.02]),
            case(1.0, 1, &[0.95, 0.03, 0.02]),
            case(1.0, 1, &[0.10, 0.85, 0.05]),
            case(1.0, 0, &[0.42, 0.38, 0.20]),
        ]
    }

    #[test]
    fn the_diagram_by_hand() {
        let bins = reliability(&four());
        assert_eq!((bins[9].share, bins[9].right, bins[9].cases), (0.5, 0.5, 2));
        assert!((bins[9].claimed - 0.95).abs() < 1e-12);
        assert_eq!((bins[8].share, bins[8].right), (0.25, 1.0));
        assert_eq!((bins[4].share, bins[4].right), (0.25, 1.0));
        assert_eq!(bins[0], Bin::default());
        // ½·0.45 + ¼·0.15 + ¼·0.58
        assert!((expected_error(&bins) - 0.4075).abs() < 1e-12);
        // mean claimed (0.95·2 + 0.85 + 0.42)/4 = 0.7925, right 0.75
        assert!((over_confidence(&bins) - 0.0425).abs() < 1e-12);
    }

    #[test]
    fn the_error_is_that_of_the_gate() {
        let mut cases = four();
        cases[1].weight = 0.3;
        let views: Vec<(f64, usize, &[f64])> = cases.iter().map(|c| (c.weight, c.truth, &c.belief[..])).collect();
        let gate = gate::calibration(&views).unwrap();
        assert!((expected_error(&reliability(&cases)) - gate.error).abs() < 1e-12);
    }

    #[test]
    fn confusion_accuracy_and_loss_by_hand() {
        let cases = four();
        assert_eq!(confusion(&cases, 2), [[1.0, 0.0, 0.0], [0.5, 0.5, 0.0]]);
        assert_eq!(accuracy(&cases), Some(0.75));
        assert_eq!((accuracy(&[]), log_loss_bits(&[])), (None, None));
        let lost = case(3.0, 0, &[0.2, 0.1, 0.7]);
        assert_eq!(confusion(&[lost], 2), [[0.0, 0.0, 1.0], [0.0; 3]]);
        // ¼ and ½ held likely: 2 bits and 1 bit, the second three times as heavy
        let loss = log_loss_bits(&[case(1.0, 0, &[0.25, 0.75]), case(3.0, 1, &[0.5, 0.5])]).unwrap();
        assert!((loss - 1.25).abs() < 1e-12);
    }

    #[test]
    fn groups_merge_belief_and_truth() {
        let merged = by_group(&four(), &[0, 0, 1]);
        assert_eq!(accuracy(&merged), Some(1.0));
        assert!((merged[0].belief[0] - 0.98).abs() < 1e-12 && merged[1].truth == 0);
    }

    #[test]
    fn chance_is_what_honest_belief_shows() {
        // one bin of n equal cases at p: √(2/π)·√(p(1−p)/n)
        let cases: Vec<Case> = (0..100).map(|_| case(1.0, 0, &[0.8, 0.1, 0.1])).collect();
        let expected = (2.0 / core::f64::consts::PI).sqrt() * (0.16_f64 / 100.0).sqrt();
        assert!((chance(&cases) - expected).abs() < 1e-12);
        // and honest cases, right as often as they claim, show it on average
        let (mut sum, rounds) = (0.0, 400);
        for round in 0..rounds {
            let drawn: Vec<Case> = (0..100)
                .map(|i| {
                    let right = crate::random::uniform(9, crate::random::Purpose::Severity, round * 100 + i) < 0.8;
                    case(1.0, usize::from(!right), &[0.8, 0.1, 0.1])
                })
                .collect();
            sum += expected_error(&reliability(&drawn));
        }
        assert!((sum / rounds as f64 / expected - 1.0).abs() < 0.1, "{} and {expected}", sum / rounds as f64);
    }
}
