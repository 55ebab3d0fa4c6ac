//! Reference sets: what vehicles that share one cause look like, condensed to a few moments.
//!
//! The vehicles of a cause are sorted by severity and cut into strata of equal probability; each
//! stratum keeps a mean, a covariance and the counts of what was smelt, heard or stored. Features
//! of one vehicle stay together, so the correlation that comes from shared tolerances is kept.
//!
//! Where it stops being true: a stratum is one bell. A cause whose features fall into two clumps at
//! the same severity (a valve that sticks open *or* shut) must be handed in as two causes and
//! joined by [`mixed`].

use super::likelihood::Unusable;

/// Strata that a well-populated cause is cut into.
pub const STRATA: usize = 8;
/// Vehicles that a stratum should hold.
pub const VEHICLES_PER_STRATUM: usize = 40;
/// Share of the covariance that is replaced by its own diagonal.
pub const SHRINKAGE: f64 = 0.1;
/// Discrepancy between plant and vehicle, as a share of a feature's span. It may not be 0, or a
/// feature without tolerance would settle everything.
pub const DISCREPANCY: f64 = 0.01;

/// Numbers that a judgement rests on: the readings of a standard run at one joint.
const NUMBERS_READ: f64 = 8.0;

/// Version of how readings become features (see [`super::transform`]); part of every reference set's
/// hash. Raise it when an extractor or its scale changes.
pub const TRANSFORMS_VERSION: u32 = 2;

/// One simulated vehicle, without instrument noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vehicle<'a> {
    /// Severity of its fault, on any rising scale; equal for all when the cause has no severity.
    pub severity: f64,
    /// Continuous features over all tests, each in its extractor's unit.
    pub features: &'a [f64],
    /// What each categorical feature showed, an index into that feature's vocabulary.
    pub categories: &'a [usize],
}

/// Vehicles of one cause and similar severity.
#[derive(Clone, Debug, PartialEq)]
pub struct Stratum {
    /// Share of the cause's vehicles, 0 … 1; the weights of a cause sum to 1.
    pub weight: f64,
    /// Mean of each feature.
    pub mean: Vec<f64>,
    /// Covariance of the features, row-major, shrunk.
    pub cov: Vec<f64>,
    /// For each categorical feature, how many vehicles showed each word of its vocabulary.
    pub counts: Vec<Vec<u32>>,
}

/// All named causes taken together, weighted by prior: the background for "none of these".
#[derive(Clone, Debug, PartialEq)]
pub struct Pooled {
    /// Mean of each feature.
    pub mean: Vec<f64>,
    /// Total covariance, within and between strata, row-major.
    pub cov: Vec<f64>,
    /// Size of each categorical feature's vocabulary.
    pub vocabulary: Vec<usize>,
}

/// How many strata `vehicles` allow: about forty each, at least one, at most [`STRATA`]. A cause
/// without severity (a healthy vehicle) has one whatever their number.
pub fn strata_for(vehicles: usize) -> usize {
    ((vehicles + VEHICLES_PER_STRATUM / 2) / VEHICLES_PER_STRATUM).clamp(1, STRATA)
}

/// Standard deviation of each feature over the vehicles of *all* causes: the span that scales the
/// discrepancy. Divides by n, since the vehicles are the whole set, not a sample of one.
pub fn spans(rows: &[&[f64]]) -> Vec<f64> {
    let width = rows.first().map_or(0, |r| r.len());
    let n = rows.len() as f64;
    let mut spans = Vec::with_capacity(width);
    for j in 0..width {
        let mean = rows.iter().map(|r| r[j]).sum::<f64>() / n;
        spans.push((rows.iter().map(|r| (r[j] - mean) * (r[j] - mean)).sum::<f64>() / n).sqrt());
    }
    spans
}

/// How much wider than the spread of its own vehicles a stratum of `n` must be taken for a vehicle that isn't one of them.
///
/// A bell fitted to n vehicles lies close around these: the squared distance of a fresh one is, on average,
/// `(n² − 1)/(n(n − d − 2))` of what the fit says (d numbers, mean and covariance both estimated). `1 + (d + 2)/n` is
/// this to first order; where n is no larger than d, shrinkage, discrepancy and the doubt of each reading take over. One d for
/// all evidence keeps a belief that grows reading by reading consistent with itself.
///
/// Source: H. Hotelling, "The generalization of Student's ratio", Ann. Math. Statist. 2 (1931) 360.
pub fn for_strangers(n: usize) -> f64 {
    1.0 + (NUMBERS_READ + 2.0) / n as f64
}

/// Cuts the vehicles of one cause into `count` strata of equal probability by severity.
///
/// Covariance of each: `0.9·Σ + 0.1·diag(Σ) + diag((0.01·span_j)²)` with Σ over n − 1, made wider by [`for_strangers`].
/// `vocabulary` gives the size of each categorical feature's vocabulary. Equal severities keep the
/// order in which they came.
///
/// # Errors
/// [`Unusable::NotFinite`] with the vehicle's index when a feature or severity isn't a number.
///
/// # Panics
/// When there are no vehicles or their rows differ in length from `spans` or `vocabulary`.
pub fn strata(
    vehicles: &[Vehicle<'_>],
    count: usize,
    spans: &[f64],
    vocabulary: &[usize],
) -> Result<Vec<Stratum>, Unusable> {
    assert!(!vehicles.is_empty(), "a cause needs at least one reference vehicle");
    for (row, vehicle) in vehicles.iter().enumerate() {
        assert_eq!(vehicle.features.len(), spans.len(), "features of reference vehicle {row}");
        assert_eq!(vehicle.categories.len(), vocabulary.len(), "categories of reference vehicle {row}");
        if !vehicle.severity.is_finite() || vehicle.features.iter().any(|x| !x.is_finite()) {
            return Err(Unusable::NotFinite { row });
        }
    }
    let mut sorted: Vec<&Vehicle<'_>> = vehicles.iter().collect();
    sorted.sort_by(|a, b| a.severity.total_cmp(&b.severity));
    let (n, count) = (sorted.len(), count.clamp(1, sorted.len()));
    let cuts: Vec<usize> = (0..=count).map(|s| s * n / count).collect();
    Ok(cuts.windows(2).map(|w| stratum(&sorted[w[0]..w[1]], n, spans, vocabulary)).collect())
}

fn stratum(vehicles: &[&Vehicle<'_>], of: usize, spans: &[f64], vocabulary: &[usize]) -> Stratum {
    let (width, n, wider) = (spans.len(), vehicles.len() as f64, for_strangers(vehicles.len()));
    let mean: Vec<f64> = (0..width).map(|j| vehicles.iter().map(|v| v.features[j]).sum::<f64>() / n).collect();
    let mut cov = vec![0.0; width * width];
    for i in 0..width {
        for j in 0..width {
            let moment: f64 = vehicles.iter().map(|v| (v.features[i] - mean[i]) * (v.features[j] - mean[j])).sum();
            let sample = if vehicles.len() > 1 { wider * moment / (n - 1.0) } else { 0.0 };
            cov[i * width + j] = if i == j {
                let discrepancy = DISCREPANCY * spans[j];
                sample + discrepancy * discrepancy
            } else {
                (1.0 - SHRINKAGE) * sample
            };
        }
    }
    let mut counts: Vec<Vec<u32>> = vocabulary.iter().map(|&v| vec![0; v]).collect();
    for vehicle in vehicles {
        for (count, &word) in counts.iter_mut().zip(vehicle.categories) {
            count[word] += 1;
        }
    }
    Stratum { weight: n / of as f64, mean, cov, counts }
}

/// Joins several faults that stand behind one candidate: (share, strata) of each. Shares are made
/// to sum to 1.
pub fn mixed(parts: Vec<(f64, Vec<Stratum>)>) -> Vec<Stratum> {
    let whole: f64 = parts.iter().map(|(share, _)| share).sum();
    let mut all = Vec::new();
    for (share, strata) in parts {
        all.extend(strata.into_iter().map(|s| Stratum { weight: s.weight * share / whole, ..s }));
    }
    all
}

/// Mean and total covariance of all named causes, each weighed by its prior.
///
/// `μ̄ = Σ πw μ`, `Σ̄ = Σ πw (Σ + (μ−μ̄)(μ−μ̄)ᵀ)`; the priors are made to sum to 1, because "none of
/// these" is left out.
///
/// # Panics
/// When there is no cause or `priors` differs from `causes` in length.
pub fn pooled(causes: &[Vec<Stratum>], priors: &[f64]) -> Pooled {
    assert_eq!(causes.len(), priors.len(), "a prior for each cause");
    let first = &causes[0][0];
    let width = first.mean.len();
    let whole: f64 = priors.iter().sum();
    let weighed: Vec<(f64, &Stratum)> = causes
        .iter()
        .zip(priors)
        .flat_map(|(strata, prior)| strata.iter().map(move |s| (prior / whole * s.weight, s)))
        .collect();
    let mean: Vec<f64> = (0..width).map(|j| weighed.iter().map(|(w, s)| w * s.mean[j]).sum()).collect();
    let mut cov = vec![0.0; width * width];
    for i in 0..width {
        for j in 0..width {
            cov[i * width + j] = weighed
                .iter()
                .map(|(w, s)| w * (s.cov[i * width + j] + (s.mean[i] - mean[i]) * (s.mean[j] - mean[j])))
                .sum();
        }
    }
    Pooled { mean, cov, vocabulary: first.counts.iter().map(Vec::len).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(n: usize) -> Vec<(f64, Vec<f64>, Vec<usize>)> {
        // severity falls while the index rises, so a cut without sorting shows
        (0..n)
            .map(|i| {
                let severity = (n - i) as f64;
                let wobble = if i % 2 == 0 { 1.0 } else { -1.0 };
                (severity, vec![10.0 * severity, wobble], vec![usize::from(severity > n as f64 / 2.0)])
            })
            .collect()
    }

    fn vehicles(rows: &[(f64, Vec<f64>, Vec<usize>)]) -> Vec<Vehicle<'_>> {
        rows.iter()
            .map(|(severity, features, categories)| Vehicle { severity: *severity, features, categories })
            .collect()
    }

    #[test]
    fn strata_follow_severity_and_share_the_vehicles_evenly() {
        let rows = rows(10);
        let cut = strata(&vehicles(&rows), 2, &[3.0, 1.0], &[2]).unwrap();
        assert_eq!(cut.iter().map(|s| s.weight).collect::<Vec<_>>(), [0.5, 0.5]);
        assert_eq!([cut[0].mean[0], cut[1].mean[0]], [30.0, 80.0]);
        assert_eq!(cut[0].counts, [[5, 0]]);
        assert_eq!(cut[1].counts, [[0, 5]]);
        let uneven = strata(&vehicles(&rows[..7]), 2, &[3.0, 1.0], &[2]).unwrap();
        assert_eq!(uneven.iter().map(|s| s.weight).collect::<Vec<_>>(), [3.0 / 7.0, 4.0 / 7.0]);
    }

    #[test]
    fn covariance_is_shrunk_and_widened_as_specified() {
        let rows = [(1.0, vec![1.0, 2.0], vec![]), (1.0, vec![3.0, 6.0], vec![]), (1.0, vec![5.0, 4.0], vec![])];
        let one = &strata(&vehicles(&rows), 1, &[20.0, 50.0], &[]).unwrap()[0];
        // by hand: means 3 and 4; Σ = [[4, 2], [2, 4]], 1 + 10/3 times as wide; discrepancies 0.2² and 0.5²
        let wider = 13.0 / 3.0;
        let expected = [wider * 4.0 + 0.04, 0.9 * wider * 2.0, 0.9 * wider * 2.0, wider * 4.0 + 0.25];
        for (have, want) in one.cov.iter().zip(expected) {
            assert!((have - want).abs() < 1e-12, "{:?}", one.cov);
        }
    }

    #[test]
    fn a_fresh_vehicle_lies_as_far_from_a_widened_bell_as_it_ought_to() {
        use crate::random::{Purpose, normal};
        // 8 independent numbers; the squared distance of a stranger from a bell fitted to n is d on average when the
        // bell is wide enough
        let (n, d, rounds) = (60, 8, 300);
        let mut sum = 0.0;
        for round in 0..rounds {
            let at = |i: usize, j: usize| normal(7, Purpose::Tolerance, ((round * 100 + i) * d + j) as u64);
            let mean: Vec<f64> = (0..d).map(|j| (0..n).map(|i| at(i, j)).sum::<f64>() / n as f64).collect();
            let mut cov = vec![0.0; d * d];
            for a in 0..d {
                for b in 0..d {
                    let moment: f64 = (0..n).map(|i| (at(i, a) - mean[a]) * (at(i, b) - mean[b])).sum();
                    cov[a * d + b] = for_strangers(n) * moment / (n as f64 - 1.0);
                }
            }
            let l = crate::diagnosis::likelihood::cholesky(&cov, d).unwrap();
            let mut z = vec![0.0; d];
            for i in 0..d {
                let rest: f64 = (0..i).map(|k| l[i * d + k] * z[k]).sum();
                z[i] = (at(n, i) - mean[i] - rest) / l[i * d + i];
                sum += z[i] * z[i];
            }
        }
        let ratio = sum / (rounds * d) as f64;
        assert!((0.93..1.12).contains(&ratio), "{ratio}");
    }

    #[test]
    fn the_number_of_strata_follows_the_number_of_vehicles() {
        assert_eq!([1, 30, 150, 320, 400, 4000].map(strata_for), [1, 1, 4, 8, 8, 8]);
    }

    #[test]
    fn spans_run_over_all_vehicles() {
        assert_eq!(spans(&[&[1.0, 5.0], &[3.0, 5.0]]), [1.0, 0.0]);
    }

    #[test]
    fn pooling_counts_within_and_between() {
        let at = |mean: f64| {
            vec![Stratum { weight: 1.0, mean: vec![mean], cov: vec![1.0], counts: vec![vec![1, 1, 1]] }]
        };
        // priors 0.6 and 0.2 of which "none of these" is left out: 3/4 and 1/4
        let all = pooled(&[at(0.0), at(4.0)], &[0.6, 0.2]);
        assert!((all.mean[0] - 1.0).abs() < 1e-12);
        assert!((all.cov[0] - (1.0 + 0.75 + 0.25 * 9.0)).abs() < 1e-12);
        assert_eq!(all.vocabulary, [3]);
    }

    #[test]
    fn a_mixture_weighs_its_parts() {
        let rows = rows(4);
        let part = || strata(&vehicles(&rows), 2, &[1.0, 1.0], &[2]).unwrap();
        let weights: Vec<f64> = mixed(vec![(3.0, part()), (1.0, part())]).iter().map(|s| s.weight).collect();
        assert_eq!(weights, [0.375, 0.375, 0.125, 0.125]);
    }

    #[test]
    fn a_vehicle_without_a_number_is_refused_by_name() {
        let mut rows = rows(3);
        rows[1].1[0] = f64::NAN;
        assert_eq!(strata(&vehicles(&rows), 1, &[1.0, 1.0], &[2]), Err(Unusable::NotFinite { row: 1 }));
    }
}
