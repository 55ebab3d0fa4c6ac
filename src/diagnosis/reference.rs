//! Reference sets: what vehicles that share one cause look like, condensed to a few moments.
//!
//! The vehicles of a cause are cut into strata ([`super::stacking`] says how many); each keeps a mean, a
//! covariance and the counts of what was smelt, heard or stored. Features of one vehicle stay together, so the
//! correlation that comes from shared tolerances is kept.
//!
//! Where it stops being true: a stratum is one bell. A cause whose features fall into two clumps at
//! the same severity (a valve that sticks open *or* shut) must be handed in as two causes and
//! joined by [`mixed`].

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
    for_strangers_with(n, n)
}

/// [`for_strangers`] of a stratum of `n` whose covariance was taken over more vehicles, `over`: its mean is as doubtful as
/// before, its spread less so.
pub fn for_strangers_with(n: usize, over: usize) -> f64 {
    1.0 + 1.0 / n as f64 + (NUMBERS_READ + 1.0) / over as f64
}

/// Strata of one cause from their members, each weighed by how many it has.
///
/// Covariance of each: `0.9·Σ + 0.1·diag(Σ) + diag((0.01·span_j)²)` with Σ over n − 1, made wider by [`for_strangers`]. With a
/// `common` spread, Σ is that within all strata, over the number of vehicles less that of strata.
/// `vocabulary` gives the size of each categorical feature's vocabulary.
///
/// # Panics
/// When a stratum has no vehicle or their rows differ in length from `spans` or `vocabulary`.
pub fn strata(members: &[&[&Vehicle<'_>]], common: bool, spans: &[f64], vocabulary: &[usize]) -> Vec<Stratum> {
    let width = spans.len();
    for vehicle in members.iter().copied().flatten() {
        assert_eq!(vehicle.features.len(), width, "features of a reference vehicle");
        assert_eq!(vehicle.categories.len(), vocabulary.len(), "categories of a reference vehicle");
    }
    let moments: Vec<(Vec<f64>, Vec<f64>)> = members.iter().map(|m| moments(m, width)).collect();
    let all: usize = members.iter().map(|m| m.len()).sum();
    let within: Vec<f64> = (0..width * width).map(|at| moments.iter().map(|m| m.1[at]).sum()).collect();
    let mut strata = vec![];
    for (members, (mean, scatter)) in members.iter().zip(&moments) {
        let n = members.len();
        let (scatter, over, wider) = if common {
            (&within, all - moments.len(), for_strangers_with(n, all))
        } else {
            (scatter, n - 1, for_strangers(n))
        };
        let spread = if over > 0 { wider / over as f64 } else { 0.0 };
        let mut cov: Vec<f64> = scatter.iter().map(|s| (1.0 - SHRINKAGE) * spread * s).collect();
        for j in 0..width {
            let discrepancy = DISCREPANCY * spans[j];
            cov[j * width + j] = spread * scatter[j * width + j] + discrepancy * discrepancy;
        }
        let weight = n as f64 / all as f64;
        strata.push(Stratum { weight, mean: mean.clone(), cov, counts: counted(members, vocabulary) });
    }
    strata
}

/// Mean of some vehicles, and the sum of squares and products around it.
fn moments(vehicles: &[&Vehicle<'_>], width: usize) -> (Vec<f64>, Vec<f64>) {
    let n = vehicles.len() as f64;
    let mean: Vec<f64> = (0..width).map(|j| vehicles.iter().map(|v| v.features[j]).sum::<f64>() / n).collect();
    let mut scatter = vec![0.0; width * width];
    for v in vehicles {
        for i in 0..width {
            let off = v.features[i] - mean[i];
            for j in 0..width {
                scatter[i * width + j] += off * (v.features[j] - mean[j]);
            }
        }
    }
    (mean, scatter)
}

/// How many vehicles showed each word.
fn counted(vehicles: &[&Vehicle<'_>], vocabulary: &[usize]) -> Vec<Vec<u32>> {
    let mut counts: Vec<Vec<u32>> = vocabulary.iter().map(|&v| vec![0; v]).collect();
    for vehicle in vehicles {
        for (count, &word) in counts.iter_mut().zip(vehicle.categories) {
            count[word] += 1;
        }
    }
    counts
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
    fn covariance_is_shrunk_and_widened_as_specified() {
        let rows = [(1.0, vec![1.0, 2.0], vec![]), (1.0, vec![3.0, 6.0], vec![]), (1.0, vec![5.0, 4.0], vec![])];
        let vehicles = vehicles(&rows);
        let one = &strata(&[&Vec::from_iter(&vehicles)], false, &[20.0, 50.0], &[])[0];
        // by hand: means 3 and 4; Σ = [[4, 2], [2, 4]], 1 + 10/3 times as wide; discrepancies 0.2² and 0.5²
        let wider = 13.0 / 3.0;
        let expected = [wider * 4.0 + 0.04, 0.9 * wider * 2.0, 0.9 * wider * 2.0, wider * 4.0 + 0.25];
        for (have, want) in one.cov.iter().zip(expected) {
            assert!((have - want).abs() < 1e-12, "{:?}", one.cov);
        }
    }

    #[test]
    fn a_common_spread_is_that_within_the_strata() {
        // two strata around 1 and 11, of three and of two vehicles
        let rows: Vec<(f64, Vec<f64>, Vec<usize>)> =
            [(0.0, 0), (1.0, 0), (2.0, 1), (10.0, 1), (12.0, 1)].map(|(x, word)| (x, vec![x], vec![word])).to_vec();
        let all = vehicles(&rows);
        let (low, high): (Vec<&Vehicle<'_>>, Vec<&Vehicle<'_>>) = all.iter().partition(|v| v.severity < 5.0);
        let cut = strata(&[&low, &high], true, &[5.0], &[2]);
        // squares (1 + 0 + 1) + (1 + 1) = 4 over 5 − 2; wider by 1/n for the mean and 9/5 for the spread
        for (stratum, n, mean, counts) in [(&cut[0], 3.0, 1.0, [2, 1]), (&cut[1], 2.0, 11.0, [0, 2])] {
            assert!((stratum.weight - n / 5.0).abs() < 1e-12 && (stratum.mean[0] - mean).abs() < 1e-12);
            assert!((stratum.cov[0] - ((1.0 + 1.0 / n + 9.0 / 5.0) * 4.0 / 3.0 + 0.05 * 0.05)).abs() < 1e-12);
            assert_eq!(stratum.counts, [counts]);
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
        let vehicles = vehicles(&rows);
        let halves: Vec<Vec<&Vehicle<'_>>> = vehicles.chunks(2).map(|h| h.iter().collect()).collect();
        let part = || strata(&[&halves[0], &halves[1]], false, &[1.0, 1.0], &[2]);
        let weights: Vec<f64> = mixed(vec![(3.0, part()), (1.0, part())]).iter().map(|s| s.weight).collect();
        assert_eq!(weights, [0.375, 0.375, 0.125, 0.125]);
    }
}
