//! Rows of simulated vehicles as a reference set, and rows of a sheet as evidence.

use super::belief::jackknife_groups;
use super::columns::{Columns, Level, SILENT, over_all};
use super::ensemble::{Feature, Row};
use super::hypothesis::{Causes, Draw};
use super::likelihood::{Evidence, Reading, Unusable, log_likelihoods};
use super::outlook::Probe;
use super::reference::{Pooled, Stratum, Vehicle, pooled, spans};
use super::stacking::{Frame, described};
use crate::language::said;
use crate::scenario::model::Job;

/// Most numbers of one stretch of work whose worth is weighed together.
const MOST_NUMBERS: usize = 10;
/// The same of two stretches: as many as the draws have dimensions for, beside one for the branch and one for words.
const MOST_OF_TWO: usize = super::sobol::MOST_DIMENSIONS - 2;

/// Numbers and words of a row, flattened: continuous features, then categorical ones.
struct Flat {
    numbers: Vec<f64>,
    words: Vec<usize>,
}

fn flatten(row: &Row) -> Flat {
    let mut flat = Flat { numbers: vec![], words: vec![] };
    for feature in row.iter().flatten() {
        match feature {
            Feature::Number { value, .. } => flat.numbers.push(*value),
            Feature::Word { index, .. } => flat.words.push(*index),
        }
    }
    flat
}

/// The reference vehicles of a job after a script, ready to weigh evidence: by candidate, or more finely.
pub struct Reference {
    vehicles: Vec<(usize, usize, f64, Flat)>,
    causes: usize,
    vocabulary: Vec<usize>,
    /// Variance of the reading of each number.
    doubt: Vec<f64>,
}

/// Strata of all causes and their pool.
pub struct Strata {
    /// By cause.
    pub causes: Vec<Vec<Stratum>>,
    /// For "none of these".
    pub pooled: Pooled,
}

impl Strata {
    /// Log-likelihood of every cause, "none of these" last.
    ///
    /// # Errors
    /// When the evidence can't be used.
    pub fn log_likelihoods(&self, evidence: &Evidence) -> Result<Vec<f64>, String> {
        log_likelihoods(&self.causes, &self.pooled, evidence).map_err(|e| e.to_string())
    }
}

impl Reference {
    /// From simulated rows; `like` is a row whose words give the vocabularies. A vehicle whose run gave
    /// no row is left out.
    pub fn new(job: &Job, draws: &[Draw], rows: &[Option<Row>], like: &Row) -> Self {
        Self::by(draws, rows, like, job.candidates.len(), |d| (d.candidate, d.band))
    }

    /// The same with a cause for each place of each candidate.
    pub fn fine(causes: &Causes, draws: &[Draw], rows: &[Option<Row>], like: &Row) -> Self {
        Self::by(draws, rows, like, causes.named(), |d| causes.of(d))
    }

    fn by(
        draws: &[Draw],
        rows: &[Option<Row>],
        like: &Row,
        causes: usize,
        cause: impl Fn(&Draw) -> (usize, usize),
    ) -> Self {
        let vocabulary = like
            .iter()
            .flatten()
            .filter_map(|f| if let Feature::Word { of, .. } = f { Some(*of) } else { None })
            .collect();
        let mut doubt = vec![];
        each_feature(like, |_, _, _, random, step| doubt.push(random * random + step * step / 12.0), |_, _, _| {});
        let vehicles = draws
            .iter()
            .zip(rows)
            .filter_map(|(d, row)| {
                let (cause, band) = cause(d);
                Some((cause, band, d.severity, flatten(row.as_ref()?)))
            })
            .collect();
        Self { vehicles, causes, vocabulary, doubt }
    }

    /// How many vehicles gave a row.
    pub fn len(&self) -> usize {
        self.vehicles.len()
    }

    /// No vehicle gave a row.
    pub fn is_empty(&self) -> bool {
        self.vehicles.is_empty()
    }

    /// Strata of every cause, leaving out one tenth of the vehicles (or none).
    ///
    /// # Errors
    /// When a cause has no usable vehicle.
    pub fn strata(&self, leave_out: Option<usize>) -> Result<Strata, String> {
        let kept: Vec<&(usize, usize, f64, Flat)> = self
            .vehicles
            .iter()
            .zip(jackknife_groups(self.vehicles.iter().map(|v| v.0)))
            .filter(|(_, group)| leave_out != Some(*group))
            .map(|(v, _)| v)
            .collect();
        if let Some(row) = kept.iter().position(|v| v.3.numbers.iter().any(|x| !x.is_finite())) {
            return Err(Unusable::NotFinite { row }.to_string());
        }
        let (numbers, words) = (self.numbers(&kept), self.words(&kept));
        let left: Vec<Flat> = kept
            .iter()
            .map(|v| Flat { numbers: numbers.left(&v.3.numbers), words: words.left(&v.3.words) })
            .collect();
        let spans = spans(&left.iter().map(|flat| flat.numbers.as_slice()).collect::<Vec<_>>());
        let mut bands: Vec<Vec<Vec<Vehicle<'_>>>> = vec![vec![]; self.causes];
        for (v, left) in kept.iter().zip(&left) {
            let of = &mut bands[v.0];
            if of.len() <= v.1 {
                of.resize_with(v.1 + 1, Vec::new);
            }
            of[v.1].push(Vehicle { severity: v.2, features: &left.numbers, categories: &left.words });
        }
        if bands.iter().any(|b| b.iter().all(Vec::is_empty)) {
            return Err(said("diagnosis-no-reference-of-candidate").into());
        }
        let (vocabulary, doubt) = (words.left(&self.vocabulary), numbers.left(&self.doubt));
        let frame = Frame { spans: &spans, vocabulary: &vocabulary, doubt: &doubt };
        let mut causes = described(&bands, &frame)?;
        for stratum in causes.iter_mut().flatten() {
            *stratum = over_all(stratum, &numbers, &words, &spans);
        }
        let weights = vec![1.0; causes.len()];
        let pooled = pooled(&causes, &weights);
        Ok(Strata { causes, pooled })
    }

    /// Numbers that are left when causes are described: not those that hardly vary, beside the doubt in reading them,
    /// nor those that are as doubtful as an earlier one and show the same in every vehicle.
    fn numbers(&self, vehicles: &[&(usize, usize, f64, Flat)]) -> Columns<Level> {
        let n = vehicles.len() as f64;
        let level = |at: usize| {
            let mean = vehicles.iter().map(|v| v.3.numbers[at]).sum::<f64>() / n;
            let off = vehicles.iter().map(|v| v.3.numbers[at] - mean);
            (mean, off.map(|off| off * off).sum::<f64>() / n)
        };
        let silent = |at| Some(level(at)).filter(|(_, variance)| *variance < SILENT * self.doubt[at]);
        Columns::of(self.doubt.len(), silent, |a, b| {
            self.doubt[a] == self.doubt[b] && vehicles.iter().all(|v| v.3.numbers[a] == v.3.numbers[b])
        })
    }

    /// The same of words: not one that is everybody's, nor one that says the same as an earlier one of every vehicle.
    fn words(&self, vehicles: &[&(usize, usize, f64, Flat)]) -> Columns<Vec<u32>> {
        let silent = |at: usize| {
            let mut counts = vec![0; self.vocabulary[at]];
            vehicles.iter().for_each(|v| counts[v.3.words[at]] += 1);
            (counts.iter().filter(|c| **c > 0).count() < 2).then_some(counts)
        };
        Columns::of(self.vocabulary.len(), silent, |a, b| {
            self.vocabulary[a] == self.vocabulary[b] && vehicles.iter().all(|v| v.3.words[a] == v.3.words[b])
        })
    }
}

/// Places each feature of some lines of a row: `number(index of feature, value, random, resolution)`.
fn each_feature(
    row: &Row,
    mut number: impl FnMut(usize, usize, f64, f64, f64),
    mut word: impl FnMut(usize, usize, usize),
) {
    let (mut numbers, mut words) = (0, 0);
    for (line, features) in row.iter().enumerate() {
        for feature in features {
            match *feature {
                Feature::Number { value, random, resolution } => {
                    number(line, numbers, value, random, resolution);
                    numbers += 1;
                }
                Feature::Word { index, .. } => {
                    word(line, words, index);
                    words += 1;
                }
            }
        }
    }
}

fn reading(feature: usize, value: f64, random: f64, resolution: f64, instrument: u32) -> Reading {
    // Half of the variance is the model's and the tapping's, and jackknife_groups the same when a reading of the
    // same state at the same joint is taken again; the other half is drawn anew.
    let half = random * core::f64::consts::FRAC_1_SQRT_2;
    Reading { feature, value, random: half, resolution, instrument, bias: half, sensitivity: 1.0 }
}

/// Evidence of some lines of a row; readings share what is uncertain where `marks` agree.
pub fn evidence_with(row: &Row, lines: &[usize], marks: &[u32]) -> Evidence {
    let (mut readings, mut categories) = (vec![], vec![]);
    each_feature(
        row,
        |line, feature, value, random, resolution| {
            if lines.contains(&line) {
                readings.push(reading(feature, value, random, resolution, marks[line]));
            }
        },
        |line, feature, index| {
            if lines.contains(&line) {
                categories.push((feature, index));
            }
        },
    );
    Evidence { readings, categories }
}

/// Evidence of some lines of a row, each reading uncertain by itself.
pub fn evidence(row: &Row, lines: &[usize]) -> Evidence {
    evidence_with(row, lines, &own_marks(row.len()))
}

fn own_marks(lines: usize) -> Vec<u32> {
    (0..lines as u32).collect()
}

/// What some lines of a row would measure.
pub fn probe(row: &Row, lines: &[usize]) -> Probe {
    probe_with(row, lines, &own_marks(row.len()))
}

pub(super) fn probe_with(row: &Row, lines: &[usize], marks: &[u32]) -> Probe {
    probe_of(row, lines, marks, MOST_NUMBERS)
}

/// What the lines of two tests would measure together.
pub(super) fn probe_of_two(row: &Row, lines: &[usize], marks: &[u32]) -> Probe {
    probe_of(row, lines, marks, MOST_OF_TWO)
}

fn probe_of(row: &Row, lines: &[usize], marks: &[u32], most: usize) -> Probe {
    let e = evidence_with(row, lines, marks);
    let mut readings = e.readings;
    readings.truncate(most);
    Probe { readings, categories: e.categories.into_iter().map(|(c, _)| c).take(4).collect() }
}
