//! Statistics over many marks: how hard the jobs are, how well they tell learners apart, and how far a
//! mark may be trusted. An item is a job (or one component of it), a row a learner.
//!
//! Components of one sitting aren't independent items; reliability is computed over *jobs*. Nothing
//! is shown for fewer than five learners, and less than everything for fewer than thirty.
//!
//! Sources: L. J. Cronbach, Psychometrika 16 (1951) 297 (α); L. S. Feldt, Psychometrika 30 (1965) 357 (its
//! interval); R. L. Brennan, "Generalizability Theory", 2001 (variance components); A. H. Murphy, J. Appl.
//! Meteorol. 12 (1973) 595 (parts of the Brier score); J. Cohen, Educ. Psychol. Meas. 20 (1960) 37 (κ);
//! W. H. Angoff in "Educational Measurement", 1971 (cut).

mod agreement;
mod reliability;
mod special;

pub use agreement::{Brier, Confusion, brier, confusion, overconfidence};
pub use reliability::{Generalisability, alpha, alpha_interval, error_of_measurement, generalisability};

/// Fewest learners for anything at all.
pub const FEWEST: usize = 5;
/// Fewest learners for discrimination.
pub const FEWEST_FOR_DISCRIMINATION: usize = 20;
/// Fewest learners for α without its interval.
pub const FEWEST_FOR_ALPHA: usize = 30;
/// Learners an item for a Rasch model.
pub const FEWEST_FOR_RASCH: usize = 100;

/// What may be shown of a cohort.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Showable {
    /// Anything: means, counts, confusion.
    pub anything: bool,
    /// How well items tell learners apart.
    pub discrimination: bool,
    /// α without its interval beside it.
    pub alpha_alone: bool,
}

/// What may be shown of so many learners. Too few could be recognised, or say nothing.
pub fn showable(learners: usize) -> Showable {
    Showable {
        anything: learners >= FEWEST,
        discrimination: learners >= FEWEST_FOR_DISCRIMINATION,
        alpha_alone: learners >= FEWEST_FOR_ALPHA,
    }
}

pub(crate) fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

/// Sample variance, over n − 1.
pub(crate) fn variance(x: &[f64]) -> f64 {
    let m = mean(x);
    x.iter().map(|v| (v - m) * (v - m)).sum::<f64>() / (x.len() as f64 - 1.0)
}

/// Pearson's correlation; `None` where one of both doesn't vary.
pub(crate) fn correlation(x: &[f64], y: &[f64]) -> Option<f64> {
    let (mx, my) = (mean(x), mean(y));
    let of =
        |a: &[f64], ma: f64, b: &[f64], mb: f64| a.iter().zip(b).map(|(a, b)| (a - ma) * (b - mb)).sum::<f64>();
    let (xx, yy) = (of(x, mx, x, mx), of(y, my, y, my));
    (xx > 0.0 && yy > 0.0).then(|| of(x, mx, y, my) / (xx * yy).sqrt())
}

/// Scores: one row a learner, one column an item, every cell filled.
#[derive(Clone, Debug, PartialEq)]
pub struct Scores {
    rows: Vec<Vec<f64>>,
    /// Most that each item can earn.
    most: Vec<f64>,
}

/// Why scores can't be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unusable {
    /// Fewer than two learners or items.
    #[error("at least two learners and two items are needed")]
    TooFew,
    /// A row has another length than the first.
    #[error("learner {0} has another number of scores than there are items")]
    Ragged(usize),
    /// A score is no number within 0 and the item's most.
    #[error("a score of learner {0} lies outside 0 and the most of its item")]
    OutOfRange(usize),
}

/// What an item shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Mean share earned, 0 … 1; a low one means a hard item.
    pub difficulty: f64,
    /// Correlation with the rest of the scores; `None` where something doesn't vary.
    pub item_rest: Option<f64>,
    /// Mean share of the upper 27 % of learners less that of the lower.
    pub upper_lower: f64,
    /// Too easy, too hard, or tells learners badly apart.
    pub flags: Vec<Flag>,
}

/// What is odd about an item.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flag {
    /// Nearly everyone gets all: above 0.95.
    TooEasy,
    /// Nearly nobody gets anything: below 0.10.
    TooHard,
    /// Item–rest correlation below 0.15.
    TellsLittle,
}

impl Scores {
    /// Checked scores.
    ///
    /// # Errors
    /// See [`Unusable`]; learners are counted from 0.
    pub fn new(rows: Vec<Vec<f64>>, most: Vec<f64>) -> Result<Self, Unusable> {
        if rows.len() < 2 || most.len() < 2 {
            return Err(Unusable::TooFew);
        }
        for (i, row) in rows.iter().enumerate() {
            if row.len() != most.len() {
                return Err(Unusable::Ragged(i));
            }
            if !row.iter().zip(&most).all(|(x, m)| (0.0..=*m).contains(x)) {
                return Err(Unusable::OutOfRange(i));
            }
        }
        Ok(Self { rows, most })
    }

    /// Learners who did every item: the complete block of a table with gaps.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn complete_block(rows: &[Vec<Option<f64>>], most: Vec<f64>) -> Result<Self, Unusable> {
        Self::new(rows.iter().filter_map(|row| row.iter().copied().collect()).collect(), most)
    }

    /// Number of learners.
    pub fn learners(&self) -> usize {
        self.rows.len()
    }

    /// Number of items.
    pub fn items(&self) -> usize {
        self.most.len()
    }

    fn column(&self, item: usize) -> Vec<f64> {
        self.rows.iter().map(|r| r[item]).collect()
    }

    fn totals(&self) -> Vec<f64> {
        self.rows.iter().map(|r| r.iter().sum()).collect()
    }

    /// What an item shows.
    ///
    /// # Panics
    /// When there is no such item.
    pub fn item(&self, item: usize) -> Item {
        let own = self.column(item);
        let totals = self.totals();
        let rest: Vec<f64> = totals.iter().zip(&own).map(|(t, x)| t - x).collect();
        let difficulty = mean(&own) / self.most[item];
        let item_rest = correlation(&own, &rest);
        let mut order: Vec<usize> = (0..own.len()).collect();
        order.sort_by(|&a, &b| totals[a].total_cmp(&totals[b]));
        let n = ((0.27 * own.len() as f64).round() as usize).max(1);
        let of = |who: &[usize]| mean(&who.iter().map(|&i| own[i]).collect::<Vec<_>>()) / self.most[item];
        let upper_lower = of(&order[own.len() - n..]) - of(&order[..n]);
        let mut flags = vec![];
        if difficulty > 0.95 {
            flags.push(Flag::TooEasy);
        }
        if difficulty < 0.10 {
            flags.push(Flag::TooHard);
        }
        if item_rest.is_none_or(|r| r < 0.15) {
            flags.push(Flag::TellsLittle);
        }
        Item { difficulty, item_rest, upper_lower, flags }
    }
}

/// Candidates that nobody submitted, of those that were on offer.
pub fn never_picked(submitted: &[usize], candidates: usize) -> Vec<usize> {
    (0..candidates).filter(|c| !submitted.contains(c)).collect()
}

/// The test on which a cohort wasted most.
#[derive(Clone, Debug, PartialEq)]
pub struct Wasted {
    /// Which test.
    pub test: String,
    /// Share of learners who wasted minutes on it, 0 … 1.
    pub learners: f64,
    /// Mean minutes that those wasted.
    pub minutes: f64,
}

/// The test with the largest sum of wasted minutes, over each learner's (test, wasted minutes).
/// `None` for no waste; of equals the first by name.
pub fn most_wasted(learners: &[Vec<(String, f64)>]) -> Option<Wasted> {
    let mut sums: std::collections::BTreeMap<&str, (f64, usize)> = std::collections::BTreeMap::new();
    for learner in learners {
        let mut own: std::collections::BTreeMap<&str, f64> = std::collections::BTreeMap::new();
        for (test, minutes) in learner.iter().filter(|(_, m)| *m > 0.0) {
            *own.entry(test).or_insert(0.0) += minutes;
        }
        for (test, minutes) in own {
            let entry = sums.entry(test).or_insert((0.0, 0));
            entry.0 += minutes;
            entry.1 += 1;
        }
    }
    let mut top: Option<(&str, f64, usize)> = None;
    for (test, (sum, count)) in sums {
        if top.is_none_or(|(_, best, _)| sum > best) {
            top = Some((test, sum, count));
        }
    }
    top.map(|(test, sum, count)| Wasted {
        test: test.to_owned(),
        learners: count as f64 / learners.len() as f64,
        minutes: sum / count as f64,
    })
}

/// How often each test was the first, most often first; of equals by name.
pub fn first_tests(first: &[&str]) -> Vec<(String, usize)> {
    let mut counts: std::collections::BTreeMap<&str, usize> = std::collections::BTreeMap::new();
    for test in first {
        *counts.entry(test).or_insert(0) += 1;
    }
    let mut list: Vec<(String, usize)> = counts.into_iter().map(|(t, n)| (t.to_owned(), n)).collect();
    list.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
    list
}

/// Breaches in a hundred sessions.
pub fn breaches_in_100(breaches: &[usize]) -> f64 {
    100.0 * breaches.iter().sum::<usize>() as f64 / breaches.len() as f64
}

/// A cut set by judges, each with the score that the just-competent apprentice would reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// Mean of the judges' sums.
    pub cut: f64,
    /// Its standard error `sd/√J`.
    pub error: f64,
}

/// Fewest judges.
pub const FEWEST_JUDGES: usize = 8;

/// Angoff's cut from each judge's sum over the jobs (second round); `None` for fewer than
/// [`FEWEST_JUDGES`].
pub fn angoff(sums: &[f64]) -> Option<Cut> {
    (sums.len() >= FEWEST_JUDGES)
        .then(|| Cut { cut: mean(sums), error: (variance(sums) / sums.len() as f64).sqrt() })
}

impl Cut {
    /// Half the width of the band within which a person must look: `√(SE_cut² + SEM²)`.
    pub fn band(self, measurement_error: f64) -> f64 {
        (self.error * self.error + measurement_error * measurement_error).sqrt()
    }
}

#[cfg(test)]
mod tests;
