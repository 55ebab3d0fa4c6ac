//! The likelihood against integration by brute force, determinants by hand and worked example 2.

use super::super::belief::posterior;
use super::super::worked::{PRIOR_2, causes_2, close, evidence_2};
use super::*;
use proptest::prelude::*;

/// ∫ f over [−reach, reach] by Simpson's rule.
fn integral(f: impl Fn(f64) -> f64, reach: f64, halves: usize) -> f64 {
    let step = reach / halves as f64;
    let mut sum = f(-reach) + f(reach);
    for i in 1..2 * halves {
        sum += f(-reach + step * i as f64) * if i % 2 == 1 { 4.0 } else { 2.0 };
    }
    sum * step / 3.0
}

#[test]
fn student_t_has_its_tabulated_height_unit_area_and_the_covariance_given() {
    // scale 1 means covariance 5/3; the height of t₅ at 0 and at 2.015048 (its upper 5 % point)
    let t5 = |x: f64| ops::exp(student_t_log_density(&[x], &[5.0 / 3.0]).unwrap());
    close(t5(0.0), 0.379_606_689_8, 1e-10);
    close(integral(t5, 2.015_048, 2000), 0.90, 1e-6);
    let wide = |x: f64| ops::exp(student_t_log_density(&[x], &[0.49]).unwrap());
    close(integral(wide, 200.0, 40_000), 1.0, 1e-8);
    close(integral(|x| x * x * wide(x), 2000.0, 400_000), 0.49, 1e-5);
}

#[test]
fn leaving_out_a_reading_equals_integrating_over_it() {
    let cov = [0.0625, 1.35, 1.35, 81.0];
    for x in [-0.4, 0.0, 0.7] {
        let both = |z: f64| ops::exp(student_t_log_density(&[x, z], &cov).unwrap());
        let alone = ops::exp(student_t_log_density(&[x], &cov[..1]).unwrap());
        close(integral(both, 3000.0, 60_000) / alone, 1.0, 1e-6);
    }
}

#[test]
fn cholesky_gives_back_its_matrix_and_determinant() {
    let a = [4.0, 2.0, -1.0, 2.0, 5.0, 0.5, -1.0, 0.5, 3.0];
    let l = cholesky(&a, 3).unwrap();
    for i in 0..3 {
        for j in 0..3 {
            close((0..3).map(|k| l[i * 3 + k] * l[j * 3 + k]).sum(), a[i * 3 + j], 1e-12);
        }
    }
    // cofactors: 4(15 − 0.25) − 2(6 + 0.5) + (−1)(1 + 5) = 40
    let diagonal = l[0] * l[4] * l[8];
    close(diagonal * diagonal, 40.0, 1e-10);
    assert_eq!([l[1], l[2], l[5]], [0.0; 3]);
}

#[test]
fn a_matrix_without_inverse_and_a_value_without_number_are_named() {
    assert_eq!(cholesky(&[1.0, 1.0, 1.0, 1.0], 2), Err(Unusable::Singular { row: 1 }));
    assert_eq!(cholesky(&[f64::NAN], 1), Err(Unusable::Singular { row: 0 }));
    assert_eq!(student_t_log_density(&[0.0, f64::NAN], &[1.0; 4]), Err(Unusable::NotFinite { row: 1 }));
}

#[test]
fn shared_bias_joins_readings_of_one_instrument_only() {
    let reading = |instrument, sensitivity| Reading {
        feature: 0,
        value: 0.0,
        random: 3.0,
        resolution: 6.0,
        instrument,
        bias: 2.0,
        sensitivity,
    };
    let r = reading_covariance(&[reading(1, 1.0), reading(2, 1.0), reading(1, 0.5)]);
    // 3² + 6²/12 = 12; bias 4, 4 and 1; joined 2·1·2·½ = 2
    assert_eq!(r, [16.0, 0.0, 2.0, 0.0, 16.0, 0.0, 2.0, 0.0, 13.0]);
}

#[test]
fn example_2_pool_and_densities() {
    let (causes, pool) = causes_2();
    close(pool.mean[0], 2.6474, 5e-5);
    close(pool.mean[1], 67.124, 5e-4);
    for (have, (want, within)) in
        pool.cov.iter().zip([(0.27641, 5e-6), (-4.5192, 5e-5), (-4.5192, 5e-5), (851.38, 5e-3)])
    {
        close(*have, want, within);
    }
    let pressure = evidence_2(Some(2.25), None);
    let density = |h: usize| ops::exp(log_likelihood(&causes[h], &pressure).unwrap());
    close(density(0), 1.850, 5e-4);
    close(density(2), 1.275, 5e-4);
    close(density(1), 2.5e-4, 5e-6);
    close(ops::exp(log_likelihood_of_none(&pool, &pressure).unwrap()), 0.2917, 5e-5);
}

#[test]
fn example_2_belief_with_a_missing_a_second_and_an_absurd_reading() {
    let (causes, pool) = causes_2();
    let belief = |p, q| posterior(&PRIOR_2, &log_likelihoods(&causes, &pool, &evidence_2(p, q)).unwrap());
    for (have, want) in belief(Some(2.25), None).iter().zip([0.7421, 0.0001, 0.2501, 0.0078]) {
        close(*have, want, 5e-5);
    }
    let second = belief(Some(2.25), Some(52.0));
    close(second[0], 0.9990, 5e-5);
    close(second[3], 0.0010, 5e-5);
    close(belief(Some(5.60), Some(20.0))[3], 0.9954, 5e-5);
    for (have, want) in belief(None, None).iter().zip(PRIOR_2) {
        close(*have, want, 1e-12);
    }
}

#[test]
fn reading_a_biased_gauge_again_says_little_and_never_counts_as_a_second_witness() {
    let (causes, pool) = causes_2();
    let with = |times: usize, bias: f64| {
        let mut evidence = evidence_2(Some(2.25), None);
        evidence.readings[0].bias = bias;
        evidence.readings = vec![evidence.readings[0]; times];
        posterior(&PRIOR_2, &log_likelihoods(&causes, &pool, &evidence).unwrap())[0]
    };
    let (once, twice) = (with(1, 0.3), with(2, 0.3));
    let (causes_alone, _) = causes_2();
    let mut one = evidence_2(Some(2.25), None);
    one.readings[0].bias = 0.3;
    let single = log_likelihoods(&causes_alone, &pool, &one).unwrap();
    let as_if_independent = posterior(&PRIOR_2, &single.iter().map(|l| 2.0 * l).collect::<Vec<_>>())[0];
    assert!((twice - once).abs() < 0.01, "{once} and {twice}");
    assert!((as_if_independent - once).abs() > 0.03, "{once} and {as_if_independent}");
}

#[test]
fn words_are_counted_with_half_a_vehicle_to_spare_and_the_last_note_holds() {
    let stratum = |weight, counts: Vec<u32>| Stratum { weight, mean: vec![], cov: vec![], counts: vec![counts] };
    let cause = [stratum(0.25, vec![8, 2, 0]), stratum(0.75, vec![0, 0, 10])];
    let of = |categories| ops::exp(log_likelihood(&cause, &Evidence { readings: vec![], categories }).unwrap());
    close(of(vec![(0, 0)]), 0.25 * 8.5 / 11.5 + 0.75 * 0.5 / 11.5, 1e-12);
    close(of(vec![(0, 0)]) + of(vec![(0, 1)]) + of(vec![(0, 2)]), 1.0, 1e-12);
    close(of(vec![(0, 0), (0, 2)]), of(vec![(0, 2)]), 1e-15);
    let pool = Pooled { mean: vec![], cov: vec![], vocabulary: vec![4] };
    let noted = Evidence { readings: vec![], categories: vec![(0, 3)] };
    close(ops::exp(log_likelihood_of_none(&pool, &noted).unwrap()), 0.25, 1e-12);
}

proptest! {
    #[test]
    fn the_order_of_readings_changes_nothing(p in 0.0..6.0_f64, q in 0.0..200.0_f64) {
        let (causes, pool) = causes_2();
        let there = evidence_2(Some(p), Some(q));
        let mut back = there.clone();
        back.readings.reverse();
        let a = log_likelihoods(&causes, &pool, &there).unwrap();
        let b = log_likelihoods(&causes, &pool, &back).unwrap();
        for (a, b) in a.iter().zip(b) {
            prop_assert!((a - b).abs() < 1e-9);
        }
    }

    #[test]
    fn log_sum_exp_agrees_with_the_plain_sum(
        x in prop::collection::vec(-20.0..20.0_f64, 1..6),
        shift in -2000.0..2000.0_f64,
    ) {
        let plain = ops::ln(x.iter().map(|&v| ops::exp(v)).sum());
        prop_assert!((log_sum_exp(&x) - plain).abs() < 1e-9);
        let moved: Vec<f64> = x.iter().map(|v| v + shift).collect();
        prop_assert!((log_sum_exp(&moved) - shift - plain).abs() < 1e-9);
    }
}
