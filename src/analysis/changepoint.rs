//! Change points: where a trace begins to behave differently, found from the trace alone.
//!
//! Penalised optimal partitioning: the sum over pieces of `m·ln(RSS/m + s²)` of a straight line through
//! each, plus a penalty a piece, is made least; a piece may thus differ by level, slope or scatter.
//! Candidates that can't win any more are dropped, so that the work grows about with the length. s is the
//! scatter below which differences don't matter.
//!
//! Long traces are gathered beforehand into at most 6 000 medians; a change is then placed to the
//! sample by trying the samples around it.
//!
//! Source: R. Killick, P. Fearnhead and I. A. Eckley, "Optimal detection of changepoints with a linear
//! computational cost", 2012.

use super::known::{Point, finite};
use super::robust::{autocorrelation_time, median, spread};
use crate::ops;

/// Most medians that the search works on.
pub const MOST_MEDIANS: usize = 6000;
/// Fewest medians of a piece.
const SHORTEST: usize = 4;

/// Running sums, so that the misfit of a line through any stretch costs a few operations.
struct Sums(Vec<[f64; 6]>);

impl Sums {
    fn new(points: &[Point]) -> Self {
        let t0 = points.first().map_or(0.0, |p| p.0);
        let mut middle: Vec<f64> = points.iter().map(|p| p.1).collect();
        let v0 = median(&mut middle).unwrap_or(0.0);
        let mut sums = vec![[0.0; 6]];
        let mut s = [0.0; 6];
        for (t, v) in points {
            let (t, v) = (t - t0, v - v0);
            for (sum, term) in s.iter_mut().zip([1.0, t, t * t, v, v * v, t * v]) {
                *sum += term;
            }
            sums.push(s);
        }
        Self(sums)
    }

    /// Squares left by a line through points a .. b.
    fn rss(&self, a: usize, b: usize) -> f64 {
        let d: [f64; 6] = core::array::from_fn(|k| self.0[b][k] - self.0[a][k]);
        let [n, t, tt, v, vv, tv] = d;
        let (stt, stv, svv) = (tt - t * t / n, tv - t * v / n, vv - v * v / n);
        let explained = if stt > 1e-9 { stv * stv / stt } else { 0.0 };
        (svv - explained).max(0.0)
    }
}

/// Indices at which a new piece begins (without 0), for a series and a scatter that doesn't matter.
fn partition(points: &[Point], quiet: f64, penalty: f64) -> Vec<usize> {
    let n = points.len();
    if n < 2 * SHORTEST {
        return vec![];
    }
    let sums = Sums::new(points);
    let cost = |a: usize, b: usize| {
        let m = (b - a) as f64;
        m * ops::ln(sums.rss(a, b) / m + quiet * quiet)
    };
    let mut best = vec![f64::INFINITY; n + 1];
    let mut last = vec![0_usize; n + 1];
    best[0] = -penalty;
    let mut open: Vec<usize> = vec![0];
    for b in SHORTEST..=n {
        let mut low = (f64::INFINITY, 0);
        let mut costs = Vec::with_capacity(open.len());
        for &a in &open {
            if b - a < SHORTEST {
                costs.push(f64::NEG_INFINITY);
                continue;
            }
            let c = best[a] + cost(a, b);
            costs.push(c);
            if c + penalty < low.0 {
                low = (c + penalty, a);
            }
        }
        (best[b], last[b]) = low;
        let mut k = 0;
        open.retain(|_| {
            k += 1;
            costs[k - 1] <= low.0
        });
        if b + 1 >= 2 * SHORTEST {
            open.push(b + 1 - SHORTEST);
        }
    }
    let mut cuts = vec![];
    let mut at = n;
    while last[at] > 0 {
        at = last[at];
        cuts.push(at);
    }
    cuts.reverse();
    cuts
}

/// Times at which the trace changes its level, slope or scatter, s, rising. Empty when it doesn't, or
/// holds too few samples. `quiet`: scatter below which nothing matters, in the values' unit, > 0.
pub fn change_points(points: &[Point], quiet: f64) -> Vec<f64> {
    let points = finite(points);
    let each = points.len().div_ceil(MOST_MEDIANS).max(1);
    let series: Vec<Point> = points
        .chunks(each)
        .map(|c| {
            let mut v: Vec<f64> = c.iter().map(|p| p.1).collect();
            (c.iter().map(|p| p.0).sum::<f64>() / c.len() as f64, median(&mut v).unwrap_or(0.0))
        })
        .collect();
    // noise that remembers makes pieces of its own: a heavier penalty for it
    let bends: Vec<f64> = series.windows(2).map(|w| w[1].1 - w[0].1).collect();
    let middle = median(&mut bends.clone()).unwrap_or(0.0);
    let steps: Vec<f64> = bends.iter().map(|b| b - middle).collect();
    let memory = autocorrelation_time(&steps).min(4.0);
    let quiet = quiet.max(1e-9).max(0.05 * spread(&steps, 0.0));
    let penalty = 4.0 * memory * ops::ln(series.len().max(2) as f64);
    let cuts = partition(&series, quiet, penalty);
    cuts.iter()
        .enumerate()
        .map(|(k, &cut)| {
            let before = if k == 0 { 0 } else { cuts[k - 1] };
            let after = cuts.get(k + 1).copied().unwrap_or(series.len());
            if each == 1 {
                return 0.5 * (series[cut - 1].0 + series[cut].0);
            }
            let reach = 3 * each;
            let place = cut * each;
            let from = (before * each).max(place.saturating_sub(20 * each));
            let to = (after * each).min(place + 20 * each).min(points.len());
            placed(&points[from..to], place - from, reach)
        })
        .collect()
}

/// The best place for one change near index `guess`, as a time.
fn placed(points: &[Point], guess: usize, reach: usize) -> f64 {
    let sums = Sums::new(points);
    let n = points.len();
    let (low, high) = (guess.saturating_sub(reach).max(2), (guess + reach).min(n.saturating_sub(2)));
    let best = (low..high)
        .min_by(|&a, &b| {
            let cost = |k: usize| sums.rss(0, k) + sums.rss(k, n);
            cost(a).total_cmp(&cost(b))
        })
        .unwrap_or(guess.clamp(1, n - 1));
    0.5 * (points[best - 1].0 + points[best].0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Purpose, normal, uniform};
    use proptest::prelude::*;

    /// Pieces (length s, level, slope, scatter) one after the other.
    fn made(seed: u64, pieces: &[(f64, f64, f64, f64)], dt: f64) -> Vec<Point> {
        let mut points = vec![];
        let mut start = 0.0;
        let mut i = 0_u64;
        for (length, level, slope, sigma) in pieces {
            let mut t = 0.0;
            while t < *length {
                i += 1;
                let v = level + slope * t + sigma * normal(seed, Purpose::PressureNoise, i);
                points.push((start + t, if i.is_multiple_of(23) { f64::NAN } else { v }));
                t += dt * (0.6 + 0.8 * uniform(seed, Purpose::Severity, i));
            }
            start += length;
        }
        points
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]
        #[test]
        fn steps_and_bends_are_found(
            seed in 0_u64..1000,
            lengths in proptest::collection::vec(8.0_f64..30.0, 3),
            jump in 15.0_f64..200.0,
        ) {
            let pieces = [(lengths[0], -20.0, 0.0, 0.6), (lengths[1], -20.0 - jump, 0.0, 1.2), (lengths[2], -20.0, -2.0, 0.6)];
            let found = change_points(&made(seed, &pieces, 0.1), 0.5);
            let truth = [lengths[0], lengths[0] + lengths[1]];
            for t in truth {
                prop_assert!(found.iter().any(|f| (f - t).abs() < 0.5), "{found:?}, {truth:?}");
            }
            prop_assert!(found.len() <= 3, "{found:?}, {truth:?}");
        }
    }

    #[test]
    fn noise_alone_is_one_piece() {
        let wrong = (0..100).filter(|&s| !change_points(&made(s, &[(60.0, -30.0, 0.1, 1.0)], 0.1), 0.5).is_empty());
        let wrong = wrong.count();
        println!("{wrong} of 100");
        assert!(wrong <= 3, "{wrong}");
    }

    #[test]
    fn a_long_trace_is_placed_to_the_sample() {
        // 300 000 samples: fifty to a median
        let points = made(3, &[(4000.0, -30.0, 0.0, 1.0), (11000.0, -60.0, 0.0, 1.0)], 0.05);
        let found = change_points(&points, 0.5);
        assert_eq!(found.len(), 1);
        assert!((found[0] - 4000.0).abs() < 0.2, "{found:?}");
    }

    #[test]
    fn nothing_and_little_have_no_changes() {
        assert!(change_points(&[], 0.5).is_empty());
        assert!(change_points(&[(0.0, 1.0)], 0.5).is_empty());
        assert!(change_points(&[(0.0, f64::NAN); 50], 0.5).is_empty());
    }
}
