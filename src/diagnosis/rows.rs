//! Rows of simulated vehicles as a reference set, and rows of a sheet as evidence.

use super::belief::stays;
use super::ensemble::{Feature, Row};
use super::hypothesis::{Causes, Draw};
use super::likelihood::{Evidence, Reading, log_likelihoods};
use super::outlook::Probe;
use super::reference::{Pooled, Stratum, Vehicle, mixed, pooled, spans, strata, strata_for};
use crate::language::said;
use crate::scenario::model::Job;

/// Most numbers of one stretch of work whose worth is weighed together.
const MOST_NUMBERS: usize = 10;

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
        let vehicles = draws
            .iter()
            .zip(rows)
            .filter_map(|(d, row)| {
                let (cause, band) = cause(d);
                Some((cause, band, d.severity, flatten(row.as_ref()?)))
            })
            .collect();
        Self { vehicles, causes, vocabulary }
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
            .enumerate()
            .filter(|(i, _)| leave_out.is_none_or(|group| stays(*i, group)))
            .map(|(_, v)| v)
            .collect();
        let rows: Vec<&[f64]> = kept.iter().map(|v| v.3.numbers.as_slice()).collect();
        let spans = spans(&rows);
        let mut causes = vec![];
        for candidate in 0..self.causes {
            let mut parts = vec![];
            let bands = kept.iter().filter(|v| v.0 == candidate).map(|v| v.1).max().map_or(0, |b| b + 1);
            for band in 0..bands {
                let members: Vec<Vehicle<'_>> = kept
                    .iter()
                    .filter(|v| v.0 == candidate && v.1 == band)
                    .map(|v| Vehicle { severity: v.2, features: &v.3.numbers, categories: &v.3.words })
                    .collect();
                if members.is_empty() {
                    continue;
                }
                let severe = members.iter().any(|m| m.severity > 0.0);
                let count = if severe { strata_for(members.len()).max(2) } else { 1 };
                parts.push((1.0, strata(&members, count, &spans, &self.vocabulary).map_err(|e| e.to_string())?));
            }
            if parts.is_empty() {
                return Err(said("diagnosis-no-reference-of-candidate").into());
            }
            causes.push(mixed(parts));
        }
        let weights = vec![1.0; causes.len()];
        let pooled = pooled(&causes, &weights);
        Ok(Strata { causes, pooled })
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
    // Half of the variance is the model's and the tapping's, and stays the same when a reading of the
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
    let e = evidence_with(row, lines, marks);
    let mut readings = e.readings;
    readings.truncate(MOST_NUMBERS);
    Probe { readings, categories: e.categories.into_iter().map(|(c, _)| c).take(4).collect() }
}
