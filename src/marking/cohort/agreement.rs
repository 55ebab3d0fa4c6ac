//! Findings against truths, and stated confidence against what came.

/// Truth against submitted finding, counted.
#[derive(Clone, Debug, PartialEq)]
pub struct Confusion {
    /// `counts[t][s]`: how often t was true and s submitted.
    pub counts: Vec<Vec<usize>>,
}

/// Counts (truth, submitted), both below `labels`.
///
/// # Panics
/// When a label is out of range.
pub fn confusion(pairs: &[(usize, usize)], labels: usize) -> Confusion {
    let mut counts = vec![vec![0; labels]; labels];
    for &(truth, submitted) in pairs {
        counts[truth][submitted] += 1;
    }
    Confusion { counts }
}

impl Confusion {
    fn row(&self, i: usize) -> f64 {
        self.counts[i].iter().sum::<usize>() as f64
    }

    fn column(&self, i: usize) -> f64 {
        self.counts.iter().map(|r| r[i]).sum::<usize>() as f64
    }

    fn all(&self) -> f64 {
        (0..self.counts.len()).map(|i| self.row(i)).sum()
    }

    /// Mean share found over the truths that occurred; `None` for no case.
    pub fn balanced_accuracy(&self) -> Option<f64> {
        let met: Vec<usize> = (0..self.counts.len()).filter(|&i| self.row(i) > 0.0).collect();
        let sum: f64 = met.iter().map(|&i| self.counts[i][i] as f64 / self.row(i)).sum();
        (!met.is_empty()).then(|| sum / met.len() as f64)
    }

    /// Cohen's κ: agreement beyond chance; `None` where chance alone agrees always.
    pub fn kappa(&self) -> Option<f64> {
        let n = self.all();
        let agree = (0..self.counts.len()).map(|i| self.counts[i][i] as f64).sum::<f64>() / n;
        let chance = (0..self.counts.len()).map(|i| self.row(i) * self.column(i)).sum::<f64>() / (n * n);
        (chance < 1.0).then(|| (agree - chance) / (1.0 - chance))
    }

    /// Mean over labels that occurred on either side of `2·both/(true + submitted)`.
    pub fn macro_f1(&self) -> Option<f64> {
        let met: Vec<usize> = (0..self.counts.len()).filter(|&i| self.row(i) + self.column(i) > 0.0).collect();
        let sum: f64 = met.iter().map(|&i| 2.0 * self.counts[i][i] as f64 / (self.row(i) + self.column(i))).sum();
        (!met.is_empty()).then(|| sum / met.len() as f64)
    }
}

/// The Brier score and Murphy's parts: `score = reliability − resolution + uncertainty`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Brier {
    /// Mean squared difference of confidence and outcome, 0 … 1; 0 is best.
    pub score: f64,
    /// How far stated confidence lies from what comes at it; 0 is best.
    pub reliability: f64,
    /// How far what comes differs between confidences; larger is better.
    pub resolution: f64,
    /// Variance of the outcomes: not the learners' doing.
    pub uncertainty: f64,
}

/// Brier score of (confidence 0 … 1, right). Murphy's parts are over equal confidences, of which a
/// learner has eleven to choose from, so they sum exactly. `None` for no forecast.
pub fn brier(stated: &[(f64, bool)]) -> Option<Brier> {
    if stated.is_empty() {
        return None;
    }
    let n = stated.len() as f64;
    let came = |right: bool| f64::from(u8::from(right));
    let base = stated.iter().map(|s| came(s.1)).sum::<f64>() / n;
    let score = stated.iter().map(|s| (s.0 - came(s.1)) * (s.0 - came(s.1))).sum::<f64>() / n;
    let mut levels: Vec<f64> = stated.iter().map(|s| s.0).collect();
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    let (mut reliability, mut resolution) = (0.0, 0.0);
    for level in levels {
        let here: Vec<f64> = stated.iter().filter(|s| s.0 == level).map(|s| came(s.1)).collect();
        let (count, share) = (here.len() as f64, here.iter().sum::<f64>() / here.len() as f64);
        reliability += count / n * (level - share) * (level - share);
        resolution += count / n * (share - base) * (share - base);
    }
    Some(Brier { score, reliability, resolution, uncertainty: base * (1.0 - base) })
}

/// Mean confidence less the share that was right: positive when too sure. `None` for no forecast.
pub fn overconfidence(stated: &[(f64, bool)]) -> Option<f64> {
    let n = stated.len() as f64;
    let sum: f64 = stated.iter().map(|s| s.0 - f64::from(u8::from(s.1))).sum();
    (!stated.is_empty()).then(|| sum / n)
}
