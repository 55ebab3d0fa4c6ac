//! Worth of a test: what it would tell, for what it costs, judged before its outcome is known.
//!
//! `EIG(t) = H(p) − Σ_v P(v)·H(p(·|v))` in bits, over groups of causes; a test is ranked by bits per
//! minute, not by bits. A step wastes what it costs beyond what the best test of that moment would
//! have cost for the same information. The outcome plays no part.
//!
//! Source: D. V. Lindley, "On a Measure of the Information Provided by an Experiment", 1956.
//!
//! Where it stops being true: looking one step ahead misses tests that tell more together than each by itself; looking two
//! ahead ([`super::ahead`]) misses three.

use super::belief::{divergence_bits, entropy_bits, grouped};

/// Below this gain and this movement of belief, bits, a result is immaterial.
pub const MATERIAL_BITS: f64 = 0.02;
/// Band for near-ties: a rate within this share of the best is as good as the best.
pub const NEAR_BEST: f64 = 0.9;
/// Shortest time that a test is charged with, min.
pub const SHORTEST_TEST_MIN: f64 = 0.25;

/// Expected information gain of a test with discrete outcomes, bits; between 0 and H(groups).
///
/// `table[h][v]` is the probability of outcome v under cause h. A continuous reading may be handed
/// in as fine bins.
///
/// # Panics
/// When there isn't a row for each cause or rows differ in length.
pub fn expected_gain_bits(p: &[f64], table: &[Vec<f64>], groups: &[usize]) -> f64 {
    assert_eq!(p.len(), table.len(), "a row for each cause");
    let outcomes = table.first().map_or(0, Vec::len);
    assert!(table.iter().all(|row| row.len() == outcomes), "rows of equal length");
    let now = entropy_bits(&grouped(p, groups));
    let mut later = 0.0;
    for v in 0..outcomes {
        let joint: Vec<f64> = p.iter().zip(table).map(|(p, row)| p * row[v]).collect();
        let chance: f64 = joint.iter().sum();
        if chance > 0.0 {
            let belief: Vec<f64> = joint.iter().map(|j| j / chance).collect();
            later += chance * entropy_bits(&grouped(&belief, groups));
        }
    }
    (now - later).clamp(0.0, now)
}

/// What a test is charged with, min: `max(0.25, τ + λ_m·money + λ_r·risk)`.
pub fn charged_minutes(net_min: f64, money: f64, min_per_money: f64, risk: f64, min_per_risk: f64) -> f64 {
    (net_min + min_per_money * money + min_per_risk * risk).max(SHORTEST_TEST_MIN)
}

/// Whether a result counts as evidence: its test could be expected to tell something, *or* it did.
/// Beliefs are over groups, before and after.
pub fn is_material(gain_bits: f64, before: &[f64], after: &[f64]) -> bool {
    gain_bits >= MATERIAL_BITS || divergence_bits(after, before) >= MATERIAL_BITS
}

/// Index of the test with the most bits per minute, with its rate; the first of equals. `None`
/// when no test is left. `tests` holds (gain in bits, charged minutes).
pub fn best_rate(tests: &[(f64, f64)]) -> Option<(usize, f64)> {
    let mut best: Option<(usize, f64)> = None;
    for (index, &(bits, minutes)) in tests.iter().enumerate() {
        let rate = bits / minutes;
        if best.is_none_or(|(_, top)| rate > top) {
            best = Some((index, rate));
        }
    }
    best
}

/// Bits that a test opens: what the test after it tells beyond what the best of that moment would have told in the same
/// minutes; 0 where it is no better for what came before it. `both_bits` is what the two tell together, `second_min` what
/// the second is charged with, `best` the best rate over one test or two, bits per minute.
///
/// Added to the first test's own bits it makes the rate of the best pair equal to `best`: whoever begins it wastes nothing.
pub fn opened_bits(both_bits: f64, first_bits: f64, second_min: f64, best: f64) -> f64 {
    (both_bits - first_bits - best * second_min).max(0.0)
}

/// Minutes wasted by a step, 0 … `charged_min`:
/// `τ'·max(0, 1 − rate/(0.9·best))` for a material step (0 when nothing could be learnt), `τ'`
/// for an immaterial one. Rates in bits per minute.
pub fn wasted_minutes(charged_min: f64, rate: f64, best: f64, material: bool) -> f64 {
    if !material {
        charged_min
    } else if best <= 0.0 {
        0.0
    } else {
        charged_min * (1.0 - rate / (NEAR_BEST * best)).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::super::belief::{each_alone, posterior};
    use super::super::likelihood::{log_likelihood, log_likelihood_of_none};
    use super::super::worked::{PRIOR_1, PRIOR_2, TESTS_1, causes_2, close, evidence_2, outcome_1, table_1};
    use super::*;
    use crate::ops;
    use proptest::prelude::*;

    fn gain_1(p: &[f64], test: usize) -> f64 {
        expected_gain_bits(p, &table_1(test), &each_alone(5))
    }

    #[test]
    fn example_1_worth_of_every_test() {
        let gains: Vec<f64> = (0..4).map(|t| gain_1(&PRIOR_1, t)).collect();
        for (have, want) in gains.iter().zip([0.0297, 0.5232, 0.3431, 0.3651]) {
            close(*have, want, 5e-5);
        }
        let tests: Vec<(f64, f64)> = gains.iter().zip(TESTS_1).map(|(g, (_, minutes))| (*g, minutes)).collect();
        for ((bits, minutes), want) in tests.iter().zip([0.0050, 0.0654, 0.0858, 0.0304]) {
            close(bits / minutes, want, 5e-5);
        }
        let (best, rate) = best_rate(&tests).unwrap();
        assert_eq!(best, 2);
        close(wasted_minutes(6.0, gains[0] / 6.0, rate, true), 5.61, 5e-3);
        assert_eq!(wasted_minutes(4.0, rate, rate, true), 0.0);
    }

    #[test]
    fn example_1_second_step() {
        let voltage: Vec<f64> = outcome_1(2, false).iter().map(|&x| ops::ln(x)).collect();
        let p = posterior(&PRIOR_1, &voltage);
        close(gain_1(&p, 1), 0.5483, 5e-5);
        close(gain_1(&p, 1) / 8.0, 0.0685, 5e-5);
        assert!([0, 3].iter().all(|&t| gain_1(&p, t) / TESTS_1[t].1 < 0.0685));
    }

    /// Example 2 by brute force: fine bins over pressure and flow. Tails carry a cube law, so the
    /// grid reaches far out.
    #[test]
    fn example_2_two_readings_overlap() {
        let (causes, pool) = causes_2();
        let gain = |pressures: &[f64], flows: &[f64], area: f64| {
            let mut table = vec![Vec::new(); 4];
            for &p in pressures {
                for &q in flows {
                    let y = evidence_2(p.is_finite().then_some(p), q.is_finite().then_some(q));
                    for (row, cause) in table.iter_mut().zip(&causes) {
                        row.push(area * ops::exp(log_likelihood(cause, &y).unwrap()));
                    }
                    table[3].push(area * ops::exp(log_likelihood_of_none(&pool, &y).unwrap()));
                }
            }
            expected_gain_bits(&PRIOR_2, &table, &each_alone(4))
        };
        let grid = |low: f64, step: f64, n: usize| -> Vec<f64> { (0..n).map(|i| low + step * i as f64).collect() };
        close(gain(&grid(-40.0, 0.02, 4500), &[f64::NAN], 0.02), 0.8957, 1e-4);
        close(gain(&[f64::NAN], &grid(-2000.0, 1.0, 4200), 1.0), 0.8895, 1e-4);
        close(gain(&grid(-9.0, 0.06, 400), &grid(-600.0, 4.0, 340), 0.24), 1.5619, 1e-3);
    }

    #[test]
    fn only_what_tells_groups_apart_is_worth_anything() {
        // causes 0 and 1 need the same repair; the test names the cause
        let naming = [vec![1.0, 0.0, 0.0], vec![0.0, 1.0, 0.0], vec![0.0, 0.0, 1.0]];
        close(expected_gain_bits(&[0.25, 0.25, 0.5], &naming, &[0, 0, 1]), 1.0, 1e-12);
        close(expected_gain_bits(&[0.25, 0.25, 0.5], &naming, &each_alone(3)), 1.5, 1e-12);
        // and this one tells only the two alike apart
        let inside = [vec![1.0, 0.0], vec![0.0, 1.0], vec![0.5, 0.5]];
        close(expected_gain_bits(&[0.25, 0.25, 0.5], &inside, &[0, 0, 1]), 0.0, 1e-12);
    }

    #[test]
    fn a_surprise_from_a_useless_test_counts_and_a_repeat_does_not() {
        assert!(is_material(0.0, &[0.9, 0.1], &[0.6, 0.4]));
        assert!(is_material(0.3, &[0.9, 0.1], &[0.9, 0.1]));
        assert!(!is_material(0.019, &[0.9, 0.1], &[0.9, 0.1]));
        // belief moved by 0.0191 bits; the divergence the other way round would be 0.0229
        assert!(!is_material(0.0, &[0.9, 0.1], &[0.945, 0.055]));
    }

    #[test]
    fn charges_never_fall_below_a_quarter_of_a_minute() {
        assert_eq!(charged_minutes(0.0, 0.0, 0.5, 0.0, 1.0), 0.25);
        close(charged_minutes(3.0, 10.0, 0.5, 2.0, 1.5), 11.0, 1e-12);
        assert_eq!(best_rate(&[]), None);
        assert_eq!(wasted_minutes(7.0, 0.1, 0.1, false), 7.0);
        assert_eq!(wasted_minutes(7.0, 0.0, 0.0, true), 0.0);
    }

    proptest! {
        #[test]
        fn gain_lies_between_nothing_and_all(
            p in prop::collection::vec(0.01..1.0_f64, 4),
            rows in prop::collection::vec(prop::collection::vec(0.0..1.0_f64, 3), 4),
        ) {
            let p = posterior(&p, &[0.0; 4]);
            let table: Vec<Vec<f64>> = rows.iter().map(|r| posterior(&[1.0; 3], r)).collect();
            let alone = expected_gain_bits(&p, &table, &each_alone(4));
            prop_assert!(alone >= 0.0 && alone <= entropy_bits(&p));
            // causes joined into one group can only hide information
            prop_assert!(expected_gain_bits(&p, &table, &[0, 0, 1, 2]) <= alone + 1e-12);
            // an outcome split at random says nothing more
            let split: Vec<Vec<f64>> = table.iter().map(|r| vec![r[0] * 0.3, r[0] * 0.7, r[1], r[2]]).collect();
            prop_assert!((expected_gain_bits(&p, &split, &each_alone(4)) - alone).abs() < 1e-12);
            // a reading that every cause makes alike says nothing
            let same = vec![table[0].clone(); 4];
            prop_assert!(expected_gain_bits(&p, &same, &each_alone(4)) < 1e-12);
            // a reading that names the cause says everything
            let naming: Vec<Vec<f64>> = (0..4).map(|h| (0..4).map(|v| f64::from(u8::from(h == v))).collect()).collect();
            prop_assert!((expected_gain_bits(&p, &naming, &each_alone(4)) - entropy_bits(&p)).abs() < 1e-12);
        }
    }
}
