//! How far belief may be trusted on a plant: fresh vehicles with known causes, read as a learner reads them, weighed by
//! the engine that marks.
//!
//! Candidates are the catalogue's faults that fit, the tester's own mistakes, and nothing. The reference set goes through
//! the standard run as every reference set does; the fresh vehicles have other seeds, severities and places, are watched in full
//! detail and read with the noise of the gauge.

use super::preview::leaves_out;
use super::standard::Standard;
use crate::diagnosis::belief::posterior;
use crate::diagnosis::calibration::{
    BINS, Bin, Case, accuracy, by_group, chance, confusion, expected_error, log_loss_bits, over_confidence,
    reliability, top,
};
use crate::diagnosis::ensemble::{Feature, Row, Watch, run, run_watched};
use crate::diagnosis::hypothesis::{Draw, draws};
use crate::diagnosis::justify::{Part, prior};
use crate::diagnosis::likelihood::log_likelihoods;
use crate::diagnosis::rows::{Reference, evidence};
use crate::diagnosis::separable::{SEPARABLE, groups, mistaken};
use crate::fault::FaultInstance;
use crate::language::said;
use crate::random::{Purpose, child_seed, uniform};

/// Severity classes: faint, plain, grave.
pub const CLASSES: [&str; 3] = ["faint", "plain", "grave"];
/// Root of the seeds of fresh vehicles; no reference vehicle comes from it.
const FRESH: u64 = 0x66_7265_7368;

/// A candidate.
#[derive(Clone, Debug, PartialEq)]
pub struct Cause {
    /// Its code in the catalogue; "sound" for nothing wrong.
    pub code: String,
    /// In words.
    pub words: String,
    /// Belief in it before any reading, 0 … 1.
    pub prior: f64,
    /// Share of fresh vehicles of each of [`CLASSES`] that its belief finds, 0 … 1; the same three times
    /// for nothing wrong.
    pub found: [f64; 3],
    /// Number of the group of causes that this run can't tell apart.
    pub group: usize,
}

/// How well belief does on a plant.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibrated {
    /// The candidates.
    pub causes: Vec<Cause>,
    /// Reference vehicles simulated, and those that gave readings.
    pub reference: (usize, usize),
    /// Fresh vehicles judged.
    pub fresh: usize,
    /// Reliability diagram over causes.
    pub bins: [Bin; BINS],
    /// Expected calibration error over causes, and over groups of those that look alike.
    pub error: (f64, f64),
    /// What the first would come to by chance if belief were honest.
    pub chance: f64,
    /// Mean claimed less mean right.
    pub too_sure: f64,
    /// Share found: the very cause, and its group.
    pub found: (f64, f64),
    /// Mean loss, bits.
    pub loss_bits: f64,
    /// Share for which "none of these" comes out likeliest.
    pub none: f64,
    /// Row by true cause, column by likeliest, "none of these" last.
    pub confusion: Vec<Vec<f64>>,
}

/// Fewest fresh vehicles of a cause: three a class.
const FEWEST: usize = 9;

/// Fresh vehicles: `each` a cause on average, shared out by prior so that chance has least to say; their severities
/// evenly over the range and at random within.
fn fresh(run: &Standard, each: usize) -> Vec<Draw> {
    let job = &run.job;
    let root = child_seed(FRESH, &job.plant.name, 1);
    let mut all = vec![];
    for (candidate, c) in job.candidates.iter().enumerate() {
        let share = c.weight * (each * job.candidates.len()) as f64;
        let each = (share as usize).max(FEWEST.min(each));
        for i in 0..each {
            let seed = child_seed(root, &c.name, i as u64);
            let share = (i as f64 + uniform(seed, Purpose::Severity, 0)) / each as f64;
            let place = (uniform(seed, Purpose::Severity, 1) * c.vehicles.len() as f64) as usize;
            let band = c.vehicles.get(place);
            let severity = band.map_or(0.0, |b| b.severity.0 + (b.severity.1 - b.severity.0) * share);
            let faults = band.iter().map(|b| FaultInstance::new(&b.fault, &b.at, severity)).collect();
            all.push(Draw { candidate, band: place, seed, faults, severity });
        }
    }
    all
}

/// What vehicles show; those whose tester forgot to zero or to purge haven't had it done.
type Through = fn(
    &crate::scenario::model::Job,
    &[Draw],
    &crate::diagnosis::ensemble::Course,
    &dyn Watch,
) -> Option<Vec<Option<Row>>>;

fn shown(run: &Standard, draws: &[Draw], through: Through, watch: &dyn Watch) -> Option<Vec<Option<Row>>> {
    let mut rows = vec![];
    for group in draws.chunk_by(|a, b| a.candidate == b.candidate) {
        let course = run.course.without(|op| leaves_out(&group[0].faults, op));
        let part = Part {
            whole: watch,
            from: rows.len() as f64 / draws.len() as f64,
            span: group.len() as f64 / draws.len() as f64,
        };
        rows.extend(through(&run.job, group, &course, &part)?);
    }
    let usable =
        |row: &Row| row.iter().flatten().all(|f| !matches!(f, Feature::Number { value, .. } if !value.is_finite()));
    Some(rows.into_iter().map(|row| row.filter(usable)).collect())
}

/// Simulates `each` reference vehicles a cause and `tries` fresh ones, and judges.
///
/// # Errors
/// A sentence: cancelled, or a cause of which no vehicle can be simulated.
pub fn calibrate(run_: &Standard, each: usize, tries: usize, watch: &dyn Watch) -> Result<Calibrated, String> {
    let job = &run_.job;
    let known = draws(job, each);
    let rows =
        shown(run_, &known, run, &Part { whole: watch, from: 0.0, span: 0.5 }).ok_or(said("work-cancelled"))?;
    let held = fresh(run_, tries);
    let half = Part { whole: watch, from: 0.5, span: 0.5 };
    let held_rows = shown(run_, &held, run_watched, &half).ok_or(said("work-cancelled"))?;
    let like = rows.iter().flatten().next().ok_or("no reference vehicle could be simulated")?;
    let strata = Reference::new(job, &known, &rows, like).strata(None)?;
    let prior = prior(job);
    let n = job.candidates.len();
    let lines: Vec<usize> = (0..like.len()).collect();
    let mut by_truth: Vec<Vec<(f64, Vec<f64>)>> = vec![vec![]; n];
    for (draw, row) in held.iter().zip(&held_rows) {
        let Some(row) = row else { continue };
        let log_like =
            log_likelihoods(&strata.causes, &strata.pooled, &evidence(row, &lines)).map_err(|e| e.to_string())?;
        by_truth[draw.candidate].push((draw.severity, log_like));
    }
    let reference = (known.len(), rows.iter().flatten().count());
    Ok(judged(run_, &by_truth, &prior, reference))
}

fn judged(
    run: &Standard,
    by_truth: &[Vec<(f64, Vec<f64>)>],
    prior: &[f64],
    reference: (usize, usize),
) -> Calibrated {
    let n = by_truth.len();
    let mut cases = vec![];
    let mut found = vec![[0.0; 3]; n];
    for (truth, vehicles) in by_truth.iter().enumerate() {
        let mut counts = [0.0; 3];
        for (severity, log_like) in vehicles {
            let belief = posterior(prior, log_like);
            let right = if top(&belief).0 == truth { 1.0 } else { 0.0 };
            // classes are thirds of 1.5 … 4.5
            let class = if *severity > 0.0 { ((severity - 1.5).clamp(0.0, 2.999)) as usize } else { 0 };
            let of = if *severity > 0.0 { class..class + 1 } else { 0..3 };
            for class in of {
                counts[class] += 1.0;
                found[truth][class] += right;
            }
            cases.push(Case { weight: prior[truth] / vehicles.len() as f64, truth, belief });
        }
        for (found, count) in found[truth].iter_mut().zip(counts) {
            *found /= f64::max(count, 1.0);
        }
    }
    let shown: Vec<Vec<Vec<f64>>> = by_truth.iter().map(|v| v.iter().map(|(_, l)| l.clone()).collect()).collect();
    let groups = groups(&mistaken(&shown), SEPARABLE, &[]);
    let grouped = by_group(&cases, &groups);
    let bins = reliability(&cases);
    let weight: f64 = cases.iter().map(|c| c.weight).sum();
    let none: f64 = cases.iter().filter(|c| top(&c.belief).0 == n).map(|c| c.weight).sum();
    let candidates = &run.job.candidates;
    let causes = candidates.iter().enumerate().map(|(k, c)| Cause {
        code: c.name.clone(),
        words: c.label.clone(),
        prior: prior[k],
        found: found[k],
        group: groups[k],
    });
    Calibrated {
        causes: causes.collect(),
        reference,
        fresh: cases.len(),
        error: (expected_error(&bins), expected_error(&reliability(&grouped))),
        chance: chance(&cases),
        too_sure: over_confidence(&bins),
        found: (accuracy(&cases).unwrap_or(0.0), accuracy(&grouped).unwrap_or(0.0)),
        loss_bits: log_loss_bits(&cases).unwrap_or(0.0),
        none: none / weight.max(f64::MIN_POSITIVE),
        confusion: confusion(&cases, n),
        bins,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::ensemble::Unwatched;
    use crate::scenario::Library;

    /// Vehicles of a plant: sound, and with each of these faults at its first place.
    fn some(run: &Standard, codes: &[&str]) -> Vec<Draw> {
        let all = fresh(run, 9);
        let name = |d: &Draw| run.job.candidates[d.candidate].name.as_str();
        let of =
            |code: &&str| all.iter().filter(|d| name(d) == *code).step_by(3).take(3).cloned().collect::<Vec<_>>();
        let wanted: Vec<Draw> = codes.iter().flat_map(of).collect();
        assert_eq!(wanted.len(), 3 * codes.len());
        wanted
    }

    /// What a member of an ensemble shows differs from what the same vehicle shows to somebody who watches it by less
    /// than the doubt that the likelihood gives the reading: coarse lines, loose steps and company cost no belief.
    #[test]
    fn an_ensemble_member_shows_what_the_watched_vehicle_shows() {
        for (plant, codes) in [
            ("a1-van", ["sound", "F15", "F26", "F13", "M1"]),
            ("a4-hatchback", ["sound", "F03", "F17", "F21", "F23"]),
            ("a7-truck", ["sound", "F15", "F26", "F03", "F13"]),
        ] {
            let run_ = Standard::of(&Library::builtin(), plant, None).unwrap();
            let draws = some(&run_, &codes);
            let member = shown(&run_, &draws, run, &Unwatched).unwrap();
            let watched = shown(&run_, &draws, run_watched, &Unwatched).unwrap();
            let (mut squares, mut count, mut words) = (0.0, 0.0, 0);
            for ((draw, a), b) in draws.iter().zip(&member).zip(&watched) {
                let (a, b) = (a.as_ref().unwrap(), b.as_ref().unwrap());
                for (line, (a, b)) in a.iter().flatten().zip(b.iter().flatten()).enumerate() {
                    match (a, b) {
                        (Feature::Number { value: a, random, .. }, Feature::Number { value: b, .. }) => {
                            let off = (a - b) / random;
                            println!("{plant} {:?} feature {line}: {a:.1} and {b:.1}, {off:+.2}", draw.faults);
                            assert!(off.abs() < 1.0, "{plant} {:?} feature {line}: {a:.1} and {b:.1}", draw.faults);
                            squares += off * off;
                            count += 1.0;
                        }
                        (a, b) => words += usize::from(a != b),
                    }
                }
            }
            let rms = f64::sqrt(squares / count);
            println!("{plant}: {rms:.3} of a doubt, {words} words of {}", 2 * draws.len());
            assert!(rms < 0.35, "{plant}: {rms}");
            // a look at the glass may fall on the other side of a border
            assert!(words * 10 <= 2 * draws.len(), "{plant}: {words} words differ");
        }
    }

    #[test]
    fn a_plant_is_judged_and_fresh_vehicles_are_nobody_elses() {
        let run_ = Standard::of(&Library::builtin(), "a1-van", None).unwrap();
        let known = draws(&run_.job, 16);
        for d in fresh(&run_, 4) {
            assert!(known.iter().all(|k| k.seed != d.seed));
            assert!(d.faults.is_empty() || (1.5..4.5).contains(&d.severity), "{d:?}");
        }
    }
}
