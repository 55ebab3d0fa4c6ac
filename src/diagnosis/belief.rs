//! Belief: how sure the evidence lets one be of each cause, and how sure one may be of that.
//!
//! Bayes' rule `p(h|E) ∝ π(h)·p(E|h)`; entropies and divergences in bits; labels that need the
//! same repair form one group. A belief is always computed from the prior with all the evidence
//! at once: the floor at 1e-6 makes one-by-one updates differ in the last digits.
//!
//! Source: C. E. Shannon, "A Mathematical Theory of Communication", 1948 (entropy); B. Efron,
//! "The Jackknife, the Bootstrap and Other Resampling Plans", 1982 (standard error).

use super::likelihood::log_sum_exp;
use crate::ops;

/// No cause with a prior ever falls below this probability.
pub const FLOOR: f64 = 1e-6;
/// Groups of reference vehicles left out in turn for the standard error.
pub const JACKKNIFE_GROUPS: usize = 10;

/// `p ∝ π·e^ℓ`, floored at [`FLOOR`] where the prior isn't 0, summing to 1.
///
/// `prior` needn't sum to 1; a log-likelihood may be −∞ but no NaN. When nothing at all fits, the
/// prior stands.
///
/// ```
/// use faultbay::diagnosis::belief::posterior;
/// // two causes held alike; a reading that the first makes three times as likely
/// let p = posterior(&[0.5, 0.5], &[1.0986122886681098, 0.0]);
/// assert!((p[0] - 0.75).abs() < 1e-12);
/// ```
///
/// # Panics
/// When the lengths differ, a log-likelihood is NaN or no prior is positive.
pub fn posterior(prior: &[f64], log_like: &[f64]) -> Vec<f64> {
    assert_eq!(prior.len(), log_like.len(), "a likelihood for each cause");
    assert!(log_like.iter().all(|l| !l.is_nan()), "a likelihood that is no number");
    let whole: f64 = prior.iter().sum();
    assert!(whole > 0.0 && prior.iter().all(|&p| p >= 0.0), "priors that are no shares: {prior:?}");
    let joint: Vec<f64> = prior
        .iter()
        .zip(log_like)
        .map(|(&p, &l)| if p > 0.0 { ops::ln(p / whole) + l } else { f64::NEG_INFINITY })
        .collect();
    let evidence = log_sum_exp(&joint);
    let raw: Vec<f64> = if evidence == f64::NEG_INFINITY {
        prior.iter().map(|p| p / whole).collect()
    } else {
        joint.iter().map(|j| ops::exp(j - evidence)).collect()
    };
    let floored: Vec<f64> =
        raw.iter().zip(prior).map(|(&p, &prior)| if prior > 0.0 { p.max(FLOOR) } else { 0.0 }).collect();
    let sum: f64 = floored.iter().sum();
    floored.iter().map(|p| p / sum).collect()
}

/// Shannon entropy `−Σ p log₂ p`, bits: 0 when sure, `log₂ n` when n causes are alike.
pub fn entropy_bits(p: &[f64]) -> f64 {
    -p.iter().filter(|&&x| x > 0.0).map(|&x| x * ops::log2(x)).sum::<f64>()
}

/// Kullback–Leibler divergence `Σ p log₂(p/q)`, bits: how far belief moved from `q` to `p`.
/// Infinite where `p` holds possible what `q` excluded. Never negative.
pub fn divergence_bits(p: &[f64], q: &[f64]) -> f64 {
    assert_eq!(p.len(), q.len(), "beliefs over the same causes");
    let sum: f64 = p.iter().zip(q).filter(|(p, _)| **p > 0.0).map(|(p, q)| p * ops::log2(p / q)).sum();
    sum.max(0.0)
}

/// Belief over groups: `groups[h]` is the group of cause h, numbered from 0 without gaps.
pub fn grouped(p: &[f64], groups: &[usize]) -> Vec<f64> {
    assert_eq!(p.len(), groups.len(), "a group for each cause");
    let mut sums = vec![0.0; groups.iter().max().map_or(0, |g| g + 1)];
    for (p, &group) in p.iter().zip(groups) {
        sums[group] += p;
    }
    sums
}

/// Every cause a group of its own.
pub fn each_alone(causes: usize) -> Vec<usize> {
    (0..causes).collect()
}

/// Belief that something is true of the vehicle: the sum over the causes that contain it, such as
/// every single or double fault with this part.
pub fn marginal(p: &[f64], contains: impl Fn(usize) -> bool) -> f64 {
    p.iter().enumerate().filter(|(h, _)| contains(*h)).map(|(_, p)| p).sum()
}

/// Priors of fault pairs: `budget·π_i·π_j / Σ π_a·π_b` over the pairs that can coexist.
pub fn pair_priors(single: &[f64], pairs: &[(usize, usize)], budget: f64) -> Vec<f64> {
    let products: Vec<f64> = pairs.iter().map(|&(i, j)| single[i] * single[j]).collect();
    let whole: f64 = products.iter().sum();
    products.iter().map(|x| if whole > 0.0 { budget * x / whole } else { 0.0 }).collect()
}

/// In which of [`JACKKNIFE_GROUPS`] each reference vehicle is left out, from the cause of each: by its number within its cause,
/// so that no mark hangs on the order of causes. Groups are interleaved, so each spans the whole range of severities in a
/// low-discrepancy set.
pub fn jackknife_groups(causes: impl IntoIterator<Item = usize>) -> Vec<usize> {
    let mut met: Vec<usize> = vec![];
    let group = |cause: usize| {
        if met.len() <= cause {
            met.resize(cause + 1, 0);
        }
        met[cause] += 1;
        (met[cause] - 1) % JACKKNIFE_GROUPS
    };
    causes.into_iter().map(group).collect()
}

/// Standard error by the delete-a-group jackknife from the g results with one group left out each:
/// `√((g−1)/g · Σ (x_i − x̄)²)`, in the unit of the results. 0 for fewer than two.
pub fn jackknife_error(left_out: &[f64]) -> f64 {
    if left_out.len() < 2 {
        return 0.0;
    }
    let g = left_out.len() as f64;
    let mean = left_out.iter().sum::<f64>() / g;
    ((g - 1.0) / g * left_out.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>()).sqrt()
}

/// [`jackknife_error`] of whatever `result` makes of the set without the given group.
pub fn jackknife(result: impl FnMut(usize) -> f64) -> f64 {
    let left_out: Vec<f64> = (0..JACKKNIFE_GROUPS).map(result).collect();
    jackknife_error(&left_out)
}

#[cfg(test)]
mod tests {
    use super::super::worked::{PRIOR_1, close, outcome_1};
    use super::*;
    use proptest::prelude::*;

    fn logs(x: &[f64]) -> Vec<f64> {
        x.iter().map(|&x| ops::ln(x)).collect()
    }

    #[test]
    fn example_1_belief_after_each_reading() {
        close(entropy_bits(&PRIOR_1), 2.0120, 5e-5);
        let voltage = outcome_1(2, false);
        let after_voltage = posterior(&PRIOR_1, &logs(&voltage));
        for (have, want) in after_voltage.iter().zip([0.4554, 0.2846, 0.2277, 0.0072, 0.0252]) {
            close(*have, want, 5e-5);
        }
        let both: Vec<f64> = voltage.iter().zip(outcome_1(1, true)).map(|(a, b)| a * b).collect();
        let after_both = posterior(&PRIOR_1, &logs(&both));
        for (have, want) in after_both.iter().zip([0.8520, 0.0868, 0.0232, 0.0124, 0.0256]) {
            close(*have, want, 5.1e-5);
        }
        close(entropy_bits(&after_both), 0.8428, 5e-5);
    }

    #[test]
    fn an_impossible_cause_keeps_the_floor_and_an_excluded_one_stays_excluded() {
        let p = posterior(&[0.5, 0.5, 0.0], &[0.0, -1e4, 0.0]);
        close(p[1], 1e-6, 1e-11);
        assert_eq!(p[2], 0.0);
        assert_eq!(posterior(&[1.0, 3.0], &[f64::NEG_INFINITY; 2]), [0.25, 0.75]);
    }

    #[test]
    fn entropy_and_divergence_have_their_textbook_values() {
        close(entropy_bits(&[0.25; 4]), 2.0, 1e-12);
        assert_eq!(entropy_bits(&[1.0, 0.0]), 0.0);
        // ½·log₂(½/¼) + ½·log₂(½/¾)
        close(divergence_bits(&[0.5, 0.5], &[0.25, 0.75]), 0.5 + 0.5 * ops::log2(2.0 / 3.0), 1e-12);
        assert_eq!(divergence_bits(&[0.5, 0.5], &[1.0, 0.0]), f64::INFINITY);
    }

    #[test]
    fn groups_and_marginals_add_up() {
        let p = [0.1, 0.2, 0.3, 0.4];
        let by_repair = grouped(&p, &[0, 1, 0, 2]);
        for (have, want) in by_repair.iter().zip([0.4, 0.2, 0.4]) {
            close(*have, want, 1e-12);
        }
        close(marginal(&p, |h| h >= 2), 0.7, 1e-12);
        // 0.05 shared as 0.4·0.3 to 0.4·0.1
        let pairs = pair_priors(&[0.4, 0.3, 0.1], &[(0, 1), (0, 2)], 0.05);
        close(pairs[0], 0.0375, 1e-12);
        close(pairs[1], 0.0125, 1e-12);
    }

    #[test]
    fn jackknife_of_a_mean_is_the_standard_error_of_the_mean() {
        // for the mean of g equal groups, the jackknife equals s/√g of the group means exactly
        let groups = [3.0, 5.0, 4.0, 9.0, 1.0, 2.0, 7.0, 8.0, 6.0, 5.0];
        let mean = groups.iter().sum::<f64>() / 10.0;
        let variance = groups.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 9.0;
        let have = jackknife(|left| {
            groups.iter().enumerate().filter(|(i, _)| *i != left).map(|(_, x)| x).sum::<f64>() / 9.0
        });
        close(have, (variance / 10.0).sqrt(), 1e-12);
        assert_eq!(jackknife_error(&[0.3]), 0.0);
    }

    #[test]
    fn every_cause_loses_as_many_in_each_group_in_whatever_order_they_come() {
        let grouped = |order: &[usize]| {
            let causes: Vec<usize> = order.iter().flat_map(|&c| [c; 17]).collect();
            let groups = jackknife_groups(causes.iter().copied());
            let of = |c: usize| causes.iter().zip(&groups).filter(|(k, _)| **k == c).map(|(_, g)| *g).collect();
            [0, 1, 2].map(of)
        };
        let groups: [Vec<usize>; 3] = grouped(&[0, 1, 2]);
        assert_eq!(groups, grouped(&[2, 0, 1]));
        for own in groups {
            for group in 0..JACKKNIFE_GROUPS {
                let left = own.iter().filter(|g| **g == group).count();
                assert!((1..=2).contains(&left), "{own:?}");
            }
        }
    }

    fn beliefs() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
        (2..9_usize)
            .prop_flat_map(|n| (prop::collection::vec(0.01..1.0_f64, n), prop::collection::vec(-30.0..5.0_f64, n)))
    }

    proptest! {
        #[test]
        fn a_posterior_is_a_belief((prior, like) in beliefs()) {
            let p = posterior(&prior, &like);
            prop_assert!((p.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            prop_assert!(p.iter().all(|&x| (0.9 * FLOOR..=1.0).contains(&x)));
            let h = entropy_bits(&p);
            prop_assert!(h >= 0.0 && h <= ops::log2(p.len() as f64) + 1e-12);
            let alike = p.iter().map(|_| 1.0 / p.len() as f64).collect::<Vec<_>>();
            // H(p) = log₂ n − D(p‖uniform) ties the two formulae together
            prop_assert!((divergence_bits(&p, &alike) - (ops::log2(p.len() as f64) - h)).abs() < 1e-9);
        }

        #[test]
        fn a_common_factor_changes_nothing(
            (prior, like) in beliefs(),
            shift in -900.0..900.0_f64,
            scale in 0.1..10.0_f64,
        ) {
            let p = posterior(&prior, &like);
            let moved: Vec<f64> = like.iter().map(|l| l + shift).collect();
            let scaled: Vec<f64> = prior.iter().map(|p| p * scale).collect();
            for (a, b) in p.iter().zip(posterior(&scaled, &moved)) {
                prop_assert!((a - b).abs() < 1e-10);
            }
        }

        #[test]
        fn the_order_of_causes_changes_nothing((prior, like) in beliefs(), turn in 0..8_usize) {
            let rotate = |x: &[f64]| { let mut x = x.to_vec(); let n = x.len(); x.rotate_left(turn % n); x };
            let there = rotate(&posterior(&prior, &like));
            for (a, b) in there.iter().zip(posterior(&rotate(&prior), &rotate(&like))) {
                prop_assert!((a - b).abs() < 1e-12);
            }
        }
    }
}
