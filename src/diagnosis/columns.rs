//! Columns of a reference set that mustn't decide how a cause is described: those that repeat another, as a reading
//! that was written down once more, and those that show the same whatever is wrong.
//!
//! They are evidence as [`super::likelihood`] takes them. But a description must not hang on how often the same was
//! written, nor on a test that tells nothing. So causes are described by what is left without them, and the description is
//! spread over all columns again; what tells nothing looks the same under every cause.

use super::reference::{DISCREPANCY, SHRINKAGE, Stratum};

/// Variance over all vehicles, as a share of the reading's own, below which a number tells nothing.
pub const SILENT: f64 = 0.01;

/// What stands in for a column.
#[derive(Clone, Debug, PartialEq)]
enum Stand<T> {
    /// One of those that are left.
    For(usize),
    /// The same for every cause.
    Same(T),
}

/// Which columns are left, and what stands in for each.
pub struct Columns<T> {
    left: Vec<usize>,
    stands: Vec<Stand<T>>,
}

impl<T: Clone> Columns<T> {
    /// Of so many columns; `silent` gives what all causes show in one that tells nothing, `same` says whether a later one
    /// repeats an earlier.
    pub fn of(columns: usize, silent: impl Fn(usize) -> Option<T>, same: impl Fn(usize, usize) -> bool) -> Self {
        let (mut left, mut stands): (Vec<usize>, Vec<Stand<T>>) = (vec![], vec![]);
        for column in 0..columns {
            stands.push(if let Some(shown) = silent(column) {
                Stand::Same(shown)
            } else if let Some(known) = left.iter().position(|&earlier| same(earlier, column)) {
                Stand::For(known)
            } else {
                left.push(column);
                Stand::For(left.len() - 1)
            });
        }
        Self { left, stands }
    }

    /// What is left of a row.
    pub fn left<V: Copy>(&self, all: &[V]) -> Vec<V> {
        self.left.iter().map(|&column| all[column]).collect()
    }
}

/// Mean and variance of a number that tells nothing.
pub type Level = (f64, f64);

/// A stratum of what was left, over all columns: as if it had been made of them. `spans` are those of what was left.
pub fn over_all(stratum: &Stratum, numbers: &Columns<Level>, words: &Columns<Vec<u32>>, spans: &[f64]) -> Stratum {
    let (width, of) = (spans.len(), &numbers.stands);
    let mut cov = Vec::with_capacity(of.len() * of.len());
    for (i, a) in of.iter().enumerate() {
        for (j, b) in of.iter().enumerate() {
            cov.push(match (a, b) {
                // two columns of the same: what they share is shrunk, and the discrepancy is each one's own
                (Stand::For(a), Stand::For(b)) if a == b && i != j => {
                    let discrepancy = DISCREPANCY * spans[*a];
                    (1.0 - SHRINKAGE) * (stratum.cov[a * width + b] - discrepancy * discrepancy)
                }
                (Stand::For(a), Stand::For(b)) => stratum.cov[a * width + b],
                (Stand::Same((_, variance)), _) if i == j => *variance,
                _ => 0.0,
            });
        }
    }
    let mean = of.iter().map(|stand| match stand {
        Stand::For(at) => stratum.mean[*at],
        Stand::Same((mean, _)) => *mean,
    });
    let counts = words.stands.iter().map(|stand| match stand {
        Stand::For(at) => stratum.counts[*at].clone(),
        Stand::Same(counts) => counts.clone(),
    });
    Stratum { weight: stratum.weight, mean: mean.collect(), cov, counts: counts.collect() }
}

#[cfg(test)]
mod tests {
    use super::super::reference::{Vehicle, spans, strata};
    use super::*;

    #[test]
    fn a_description_spread_over_repeats_is_that_of_all_columns() {
        let all: [(Vec<f64>, Vec<usize>); 5] = [
            (vec![1.0, 7.0, 1.0, 1.0], vec![0, 1, 0]),
            (vec![2.0, 5.0, 2.0, 2.0], vec![1, 0, 1]),
            (vec![4.0, 6.0, 4.0, 4.0], vec![1, 1, 1]),
            (vec![8.0, 9.0, 8.0, 8.0], vec![0, 1, 0]),
            (vec![9.0, 2.0, 9.0, 9.0], vec![1, 0, 1]),
        ];
        let numbers = Columns::of(4, |_| None, |a, b| all.iter().all(|v| v.0[a] == v.0[b]));
        let words = Columns::of(3, |_| None, |a, b| all.iter().all(|v| v.1[a] == v.1[b]));
        assert_eq!((&numbers.left[..], &words.left[..]), (&[0, 1][..], &[0, 1][..]));
        assert_eq!(numbers.stands, [0, 1, 0, 0].map(Stand::For));
        let bell = |rows: &[(Vec<f64>, Vec<usize>)], vocabulary: &[usize]| {
            let spans = spans(&rows.iter().map(|v| v.0.as_slice()).collect::<Vec<_>>());
            let vehicles: Vec<Vehicle<'_>> =
                rows.iter().map(|v| Vehicle { severity: 1.0, features: &v.0, categories: &v.1 }).collect();
            (strata(&[&Vec::from_iter(&vehicles)], false, &spans, vocabulary).remove(0), spans)
        };
        let (whole, _) = bell(&all, &[2, 2, 2]);
        let left: Vec<_> = all.iter().map(|v| (numbers.left(&v.0), words.left(&v.1))).collect();
        let (of_left, spans) = bell(&left, &[2, 2]);
        let spread = over_all(&of_left, &numbers, &words, &spans);
        assert_eq!((&spread.mean, &spread.counts), (&whole.mean, &whole.counts));
        for (have, want) in spread.cov.iter().zip(&whole.cov) {
            assert!((have - want).abs() < 1e-12 * want.abs().max(1.0), "{have} and {want}");
        }
    }

    #[test]
    fn what_tells_nothing_is_left_out_and_looks_the_same_everywhere() {
        let numbers = Columns::of(3, |c| (c == 1).then_some((20.0, 0.5)), |_, _| false);
        let words = Columns::of(1, |_| Some(vec![6, 0]), |_, _| false);
        assert_eq!(numbers.left(&[1.0, 20.0, 3.0]), [1.0, 3.0]);
        let stratum = Stratum { weight: 1.0, mean: vec![1.0, 3.0], cov: vec![4.0, 2.0, 2.0, 5.0], counts: vec![] };
        let spread = over_all(&stratum, &numbers, &words, &[1.0, 1.0]);
        assert_eq!(spread.mean, [1.0, 20.0, 3.0]);
        assert_eq!(spread.cov, [4.0, 0.0, 2.0, 0.0, 0.5, 0.0, 2.0, 0.0, 5.0]);
        assert_eq!(spread.counts, [[6, 0]]);
    }
}
