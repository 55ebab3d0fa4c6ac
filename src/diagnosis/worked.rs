//! The worked examples of the specification of marking, as data for tests.

use super::likelihood::{Evidence, Reading};
use super::reference::{Pooled, Stratum, pooled};

/// Example 1: priors of weak pump, clogged filter, regulator leak, low pump voltage, none of these.
pub(crate) const PRIOR_1: [f64; 5] = [0.40, 0.25, 0.20, 0.12, 0.03];
/// P(low | cause) and minutes: idle rail, dead-head, voltage under load, flow.
pub(crate) const TESTS_1: [([f64; 5], f64); 4] = [
    ([0.90, 0.85, 0.95, 0.90, 0.50], 6.0),
    ([0.92, 0.15, 0.05, 0.85, 0.50], 8.0),
    ([0.05, 0.05, 0.05, 0.95, 0.30], 4.0),
    ([0.90, 0.92, 0.10, 0.88, 0.50], 12.0),
];

/// Example 1 as a table: for each cause, P(low) and P(not low).
pub(crate) fn table_1(test: usize) -> Vec<Vec<f64>> {
    TESTS_1[test].0.iter().map(|&low| vec![low, 1.0 - low]).collect()
}

/// Likelihood of one outcome under each cause of example 1.
pub(crate) fn outcome_1(test: usize, low: bool) -> Vec<f64> {
    TESTS_1[test].0.iter().map(|&p| if low { p } else { 1.0 - p }).collect()
}

/// Example 2: priors of weak pump, filter, regulator, none of these.
pub(crate) const PRIOR_2: [f64; 4] = [0.45, 0.30, 0.22, 0.03];

/// Example 2: one stratum each over (pressure in bar, flow in l/h), and their pool.
pub(crate) fn causes_2() -> (Vec<Vec<Stratum>>, Pooled) {
    let cause = |mean: [f64; 2], sd: [f64; 2], rho: f64| {
        let across = rho * sd[0] * sd[1];
        let cov = vec![sd[0] * sd[0], across, across, sd[1] * sd[1]];
        vec![Stratum { weight: 1.0, mean: mean.to_vec(), cov, counts: Vec::new() }]
    };
    let causes = vec![
        cause([2.30, 55.0], [0.25, 9.0], 0.6),
        cause([3.35, 48.0], [0.12, 10.0], 0.2),
        cause([2.40, 118.0], [0.30, 8.0], -0.3),
    ];
    let pool = pooled(&causes, &PRIOR_2[..3]);
    (causes, pool)
}

/// Example 2: pressure and flow, each absent when not measured; two instruments without bias.
pub(crate) fn evidence_2(pressure_bar: Option<f64>, flow_l_h: Option<f64>) -> Evidence {
    let reading = |feature: usize, value, random| Reading {
        feature,
        value,
        random,
        resolution: 0.0,
        instrument: feature as u32,
        bias: 0.0,
        sensitivity: 1.0,
    };
    let pressure = pressure_bar.map(|p| reading(0, p, 0.05));
    let flow = flow_l_h.map(|q| reading(1, q, 3.0));
    Evidence { readings: pressure.into_iter().chain(flow).collect(), categories: Vec::new() }
}

/// Fails unless the two agree within `within`.
#[track_caller]
pub(crate) fn close(have: f64, want: f64, within: f64) {
    assert!((have - want).abs() <= within, "{have} where {want} ± {within} is due");
}
