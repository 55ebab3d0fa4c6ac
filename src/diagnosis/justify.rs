//! The belief that the recorded evidence justifies, step by step, and what each stretch of work was
//! worth when it was done.

mod best;
mod open;
mod two_ahead;

use serde::{Deserialize, Serialize};

use self::two_ahead::Offers;
use super::belief::{
    JACKKNIFE_GROUPS, divergence_bits, each_alone, entropy_bits, grouped, jackknife_error, posterior,
};
use super::ensemble::{Course, Feature, Row, Watch, features};
use super::hypothesis::Causes;
use super::likelihood::log_likelihoods;
use super::menu::{Kind, Standing, Test, line_name};
use super::moves::{Done, Stretch, passed_at, stretches};
use super::outlook::Outlook;
use super::rows::{Reference, Strata, evidence_with, probe_with};
use super::store::{self, Store, shown};
use super::survey::{BOUND_SLACK, Outcome, Survey, in_parallel, survey};
use super::tabled::HARD_STOP_FACTOR;
use super::worth::{MATERIAL_BITS, charged_minutes, is_material, wasted_minutes};
use crate::bay::action::Micros;
use crate::bay::{Bay, Evidence, EvidenceKind};
use crate::language::{said, spoken};
use crate::scenario::model::{Job, Mode};

/// Prior of "none of these".
pub const PRIOR_OF_NONE: f64 = 0.03;
/// Reference vehicles a candidate.
pub const VEHICLES: usize = 72;
/// Raise it when a belief, the worth of a stretch or a contrast is worked out otherwise.
const BELIEF_VERSION: u32 = 11;
/// Standard deviations between which 8 in 10 vehicles lie.
const EIGHT_IN_TEN: f64 = 1.2816;

/// One step: a line of the sheet and the belief after it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Line of the sheet, from 1.
    pub line: usize,
    /// When it was written.
    pub at: Micros,
    /// Belief after it, by candidate, "none of these" last.
    pub belief: Vec<f64>,
    /// Bits that this line was expected to tell.
    pub expected_bits: f64,
    /// Whether it is material: worth something beforehand or telling afterwards.
    pub material: bool,
    /// It writes down once more what an earlier line holds.
    pub repeat: bool,
    /// Natural log-likelihood of this line alone under each cause, for weighing citations.
    pub log_like: Vec<f64>,
    /// How far this line alone tells two places of one candidate apart at most, natural logarithm, by candidate; 0
    /// where it has but one.
    pub places: Vec<f64>,
}

/// A test with what it could be expected to tell.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Offer {
    /// In words.
    pub words: String,
    /// Bits.
    pub bits: f64,
    /// Minutes that it is charged with.
    pub minutes: f64,
    /// The two likeliest candidates, which still looked alike then; the likeliest alone where what was open was above all
    /// at which of its places it is.
    pub between: Vec<usize>,
    /// The stretch that is held against it made it, among other things.
    pub made: bool,
}

/// One stretch of work and what it was worth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MoveWorth {
    /// From the end of the stretch before to its last line.
    pub window: (Micros, Micros),
    /// Lines of the sheet, from 1.
    pub lines: Vec<usize>,
    /// Minutes that it is charged with.
    pub minutes: f64,
    /// Bits that it could be expected to tell.
    pub bits: f64,
    /// Bits that it opens for the test after it ([`super::worth::opened_bits`]); 0 where one test ahead is looked.
    pub opened: f64,
    /// The best that could have been done instead: one test, or two where two ahead are looked.
    pub best: Offer,
    /// Minutes wasted.
    pub wasted: f64,
    /// Whether it is material.
    pub material: bool,
}

/// A test that was not made, with what it would have shown under two causes, apart from each other: range that 8 in
/// 10 vehicles lie in, mbar gauge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Contrasted {
    /// The test in words.
    pub words: String,
    /// The rival.
    pub rival: usize,
    /// Range under the finding.
    pub finding_mbar: (f64, f64),
    /// Range under the rival.
    pub rival_mbar: (f64, f64),
}

/// A belief at the end of an attempt.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ended {
    /// By candidate, "none of these" last.
    pub belief: Vec<f64>,
    /// What is still open, place included, bits.
    pub entropy_bits: f64,
    /// Where the likeliest candidate most likely sits; `None` where it has but one place.
    pub placed: Option<Placed>,
}

/// Where a candidate most likely sits.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Placed {
    /// Names of nodes or parts: more than one where the tests of the job can't tell them apart.
    pub at: Vec<String>,
    /// Share of the candidate's belief, 0 … 1.
    pub share: f64,
}

/// The justified belief of an attempt.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Justified {
    /// Belief before the first test.
    pub prior: Vec<f64>,
    /// One step for every line that counts.
    pub steps: Vec<Step>,
    /// What was open before the first test, place included, bits.
    pub prior_bits: f64,
    /// How it ended.
    pub ended: Ended,
    /// How it would have ended with each tenth of the reference vehicles left out, for error bands.
    pub left_out: Vec<Ended>,
    /// Reference vehicles used.
    pub vehicles: usize,
    /// Group of each candidate, "none of these" last.
    pub groups: Vec<usize>,
    /// Every stretch of work.
    pub moves: Vec<MoveWorth>,
    /// What all tests together could tell; absent when nothing was recorded.
    pub outcome: Option<Outcome>,
    /// Belief that follows from what was written instead of what was shown.
    pub from_written: Option<Vec<f64>>,
    /// Natural log-likelihood by candidate of each set of lines asked about together; `None` where none of them is
    /// evidence.
    pub together: Vec<Option<Vec<f64>>>,
    /// When an assessment's time was up, and how many net minutes that is; only where something was read later.
    pub stopped: Option<(Micros, f64)>,
    /// A test that would have told the finding from its strongest rival.
    pub contrast: Option<Contrasted>,
    /// Content hash of the reference set.
    pub reference: String,
}

impl Justified {
    /// Where nothing was recorded.
    fn without_evidence(prior: Vec<f64>, asked: usize) -> Self {
        Self {
            prior_bits: 0.0,
            ended: Ended { belief: prior.clone(), entropy_bits: 0.0, placed: None },
            groups: each_alone(prior.len()),
            prior,
            steps: vec![],
            left_out: vec![],
            vehicles: 0,
            moves: vec![],
            outcome: None,
            from_written: None,
            together: vec![None; asked],
            stopped: None,
            contrast: None,
            reference: String::new(),
        }
    }

    /// Belief after all evidence.
    pub fn end(&self) -> &[f64] {
        &self.ended.belief
    }

    /// Belief in the group of a candidate.
    pub fn in_group(&self, belief: &[f64], candidate: usize) -> f64 {
        grouped(belief, &self.groups)[self.groups[candidate]]
    }

    /// Standard error of the final belief in a candidate's group, from the reference set's size.
    pub fn error(&self, candidate: usize) -> f64 {
        let values: Vec<f64> = self.left_out.iter().map(|e| self.in_group(&e.belief, candidate)).collect();
        jackknife_error(&values)
    }
}

/// When the time of an assessment is up: after [`HARD_STOP_FACTOR`] par times, but never within the minutes that its
/// card announces, since par is told to nobody beforehand. Practice has no end.
fn time_up(job: &Job, log: &[Done], par_minutes: f64) -> Option<(Micros, f64)> {
    if job.mode != Mode::Assessment {
        return None;
    }
    let minutes = (HARD_STOP_FACTOR * par_minutes).max(job.minutes);
    Some((passed_at(log, minutes, &job.rubric.preliminaries)?, minutes))
}

/// Priors of a job: its weights, with room for "none of these" at the end.
pub fn prior(job: &Job) -> Vec<f64> {
    let mut prior: Vec<f64> = job.candidates.iter().map(|c| c.weight * (1.0 - PRIOR_OF_NONE)).collect();
    prior.push(PRIOR_OF_NONE);
    prior
}

/// What was recorded, as rows.
struct Recorded {
    /// As shown.
    shown: Row,
    /// As written, where that can be understood.
    written: Row,
    marks: Vec<u32>,
    /// Index into the bay's evidence of each line.
    counted: Vec<usize>,
    /// Lines that write down once more what an earlier one holds.
    repeats: Vec<bool>,
}

/// Whether two lines hold the same look at the same thing: written twice it is one reading, not two.
fn is_same_look(a: &Evidence, b: &Evidence) -> bool {
    match (&a.kind, &b.kind) {
        (EvidenceKind::Level { window: x, joint: j, .. }, EvidenceKind::Level { window: y, joint: k, .. }) => {
            j == k && x.0 <= y.1 && y.0 <= x.1
        }
        (EvidenceKind::Number { index: x, .. }, EvidenceKind::Number { index: y, .. }) => x == y,
        (EvidenceKind::Word { what: x, .. }, EvidenceKind::Word { what: y, .. }) => x == y && a.at == b.at,
        _ => false,
    }
}

impl Recorded {
    fn of(bay: &Bay, until: Micros, survey: &Survey) -> Result<Self, String> {
        let all = features(bay).ok_or(said("diagnosis-window-no-sample"))?;
        let counted: Vec<usize> = (0..all.len()).filter(|&i| bay.evidence()[i].at <= until).collect();
        let shown: Row = counted.iter().map(|&i| all[i].clone()).collect();
        let mut names: Vec<String> = vec![];
        let mut mark = |name: String| {
            let known = names.iter().position(|n| *n == name);
            known.unwrap_or_else(|| {
                names.push(name);
                names.len() - 1
            }) as u32
        };
        let mut marks = vec![];
        let mut written = shown.clone();
        for (line, &i) in counted.iter().enumerate() {
            let kind = &bay.evidence()[i].kind;
            match kind {
                EvidenceKind::Level { written: (value, unit), .. } => {
                    if let (Some(Feature::Number { value: shown, .. }), Some(unit)) =
                        (written[line].first_mut(), unit)
                    {
                        *shown = value * unit.pascal() / crate::units::PA_PER_MBAR;
                    }
                }
                EvidenceKind::Word { what, written: word, .. } => {
                    let words = Bay::words_for(*what);
                    if let (Some(Feature::Word { index, .. }), Some(said)) =
                        (written[line].first_mut(), words.iter().position(|w| w == word))
                    {
                        *index = said;
                    }
                }
                EvidenceKind::Number { probe, written: (value, unit), .. } => {
                    if let (Some(Feature::Number { value: shown, .. }), Some(unit)) =
                        (written[line].first_mut(), unit)
                        && unit.quantity() == probe.quantity()
                    {
                        *shown = value * unit.factor();
                    }
                }
            }
            marks.push(mark(line_name(kind, line)));
        }
        // lines of the menu follow those of the learner; its words stand by themselves
        marks.extend(survey.menu.names.iter().map(|name| mark(name.clone())));
        let looks: Vec<&Evidence> = counted.iter().map(|&i| &bay.evidence()[i]).collect();
        let repeats =
            (0..looks.len()).map(|i| looks[..i].iter().any(|before| is_same_look(before, looks[i]))).collect();
        Ok(Self { shown, written, marks, counted, repeats })
    }
}

/// Everything that weighs an attempt.
struct Weighing<'a> {
    job: &'a Job,
    bay: &'a Bay,
    survey: &'a Survey,
    outcome: &'a Outcome,
    strata: Strata,
    causes: &'a Causes,
    recorded: Recorded,
    /// The learner's lines, then those of the complete run.
    joint: Row,
}

/// A stretch of work, its lines, the lines that were evidence before it, and the belief by cause before and after it.
struct Stood {
    stretch: Stretch,
    lines: Vec<usize>,
    known: Vec<usize>,
    moved: (Vec<f64>, Vec<f64>),
}

/// The steps, the lines that became evidence and the belief by cause after each.
type Steps = (Vec<Step>, Vec<usize>, Vec<Vec<f64>>);

impl Weighing<'_> {
    fn outlook(&self, lines: &[usize]) -> Result<Outlook<'_>, String> {
        let e = evidence_with(&self.joint, lines, &self.recorded.marks);
        Outlook::new(&self.strata.causes, &self.strata.pooled, &self.causes.prior, &e).map_err(|e| e.to_string())
    }

    fn bits(&self, outlook: &Outlook<'_>, lines: &[usize]) -> Result<f64, String> {
        let forecast =
            outlook.predict(&probe_with(&self.joint, lines, &self.recorded.marks)).map_err(|e| e.to_string())?;
        Ok(forecast.gain_bits(&self.outcome.places))
    }

    fn moved(&self, after: &[f64], before: &[f64]) -> bool {
        let by = |p: &[f64]| grouped(p, &self.outcome.places);
        divergence_bits(&by(after), &by(before)) >= MATERIAL_BITS
    }

    fn ended(&self, belief: &[f64]) -> Ended {
        Ended {
            belief: self.causes.by_candidate(belief),
            entropy_bits: entropy_bits(&grouped(belief, &self.outcome.places)),
            placed: self.placed(belief),
        }
    }

    /// The steps, the lines that became evidence and the belief by cause after each.
    fn steps(&self) -> Result<Steps, String> {
        let mut fine: Vec<Vec<f64>> = vec![];
        let mut steps: Vec<Step> = vec![];
        let mut used: Vec<usize> = vec![];
        let mut before = self.causes.prior.clone();
        for line in 0..self.recorded.counted.len() {
            let repeat = self.recorded.repeats[line];
            let expected_bits = if repeat { 0.0 } else { self.bits(&self.outlook(&used)?, &[line])? };
            let mut with = used.clone();
            with.push(line);
            let after = self.outlook(&with)?.belief().to_vec();
            let material = !repeat && (expected_bits >= MATERIAL_BITS || self.moved(&after, &before));
            if material {
                used = with;
                before = after;
            }
            let alone = evidence_with(&self.joint, &[line], &self.recorded.marks);
            let log_like =
                log_likelihoods(&self.strata.causes, &self.strata.pooled, &alone).map_err(|e| e.to_string())?;
            let e = &self.bay.evidence()[self.recorded.counted[line]];
            let places = (0..self.job.candidates.len()).map(|c| self.places_apart(&log_like, c)).collect();
            let log_like = self.causes.likelihood_by_candidate(&log_like);
            let belief = self.causes.by_candidate(&before);
            steps.push(Step { line: e.line, at: e.at, belief, expected_bits, material, repeat, log_like, places });
            fine.push(before.clone());
        }
        Ok((steps, used, fine))
    }

    /// How far log-likelihoods by cause differ between the places of a candidate at most.
    fn places_apart(&self, log_like: &[f64], candidate: usize) -> f64 {
        let own = (0..self.causes.named()).filter(|&c| self.causes.candidate[c] == candidate);
        let ends = own.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), c| {
            (low.min(log_like[c]), high.max(log_like[c]))
        });
        (ends.1 - ends.0).max(0.0)
    }

    /// Log-likelihood by candidate of some lines of the sheet together, each look once.
    fn together(&self, lines: &[usize], steps: &[Step]) -> Result<Option<Vec<f64>>, String> {
        let rows: Vec<usize> =
            (0..steps.len()).filter(|&i| !steps[i].repeat && lines.contains(&steps[i].line)).collect();
        if rows.is_empty() {
            return Ok(None);
        }
        let like = self.strata.log_likelihoods(&evidence_with(&self.joint, &rows, &self.recorded.marks))?;
        Ok(Some(self.causes.likelihood_by_candidate(&like)))
    }

    /// Minutes that a test is charged with from where things stand.
    fn charged(&self, test: &Test, standing: &Standing) -> f64 {
        let rubric = &self.job.rubric;
        charged_minutes(
            test.minutes(standing),
            test.credits(standing),
            rubric.minutes_per_credit,
            test.risk(),
            rubric.minutes_per_risk,
        )
    }

    fn moves(
        &self,
        log: &[Done],
        until: Micros,
        steps: &[Step],
        fine: &[Vec<f64>],
    ) -> Result<Vec<MoveWorth>, String> {
        let material = |sheet: usize| steps.iter().any(|s| s.line == sheet && s.material);
        let times: Vec<(usize, Micros)> = steps.iter().map(|s| (s.line, s.at)).collect();
        let mut known: Vec<usize> = vec![];
        let mut before = self.causes.prior.clone();
        let mut stood = vec![];
        for stretch in stretches(log, &times, until, &self.job.rubric.preliminaries) {
            let lines: Vec<usize> = (0..steps.len())
                .filter(|&i| stretch.lines.contains(&steps[i].line) && !self.recorded.repeats[i])
                .collect();
            let after = lines.last().map_or_else(|| before.clone(), |&i| fine[i].clone());
            let so_far = known.clone();
            known.extend(lines.iter().filter(|&&i| material(steps[i].line)));
            let moved = (std::mem::replace(&mut before, after.clone()), after);
            stood.push(Stood { stretch, lines, known: so_far, moved });
        }
        in_parallel(&stood, |stood| self.worth(stood))
    }

    /// What one stretch of work was worth from where things stood.
    fn worth(&self, stood: &Stood) -> Result<MoveWorth, String> {
        let Stood { stretch, lines, known, moved: (before, after) } = stood;
        let rubric = &self.job.rubric;
        let outlook = self.outlook(known)?;
        let bits = self.bits(&outlook, lines)?;
        let minutes = charged_minutes(
            stretch.minutes,
            stretch.credits,
            rubric.minutes_per_credit,
            stretch.risk,
            rubric.minutes_per_risk,
        );
        let mut best = self.best(&outlook, stretch, (known, lines))?;
        let opened = if self.job.lookahead > 1 {
            let offers = Offers { weighing: self, outlook: &outlook, stretch, known };
            offers.look_two_ahead(lines, bits, &mut best)?
        } else {
            0.0
        };
        let by = |p: &[f64]| grouped(p, &self.outcome.places);
        let is_material = is_material(bits, &by(before), &by(after));
        let rate = (bits + opened) / minutes;
        let top = if best.minutes > 0.0 { (best.bits / best.minutes).max(rate) } else { rate };
        // a stretch is held against one test or two: what these can't tell they couldn't have spared either
        let spared = if is_material && bits > 0.0 { (best.bits / (bits + opened)).min(1.0) } else { 1.0 };
        Ok(MoveWorth {
            window: stretch.window,
            lines: stretch.lines.clone(),
            minutes,
            bits,
            opened,
            best,
            wasted: spared * wasted_minutes(minutes, rate, top, is_material),
            material: is_material,
        })
    }

    /// A test that wasn't made and would have told the finding from its strongest rival.
    fn contrast(&self, used: &[usize], finding: usize) -> Result<Option<Contrasted>, String> {
        let outlook = self.outlook(used)?;
        let groups = &self.outcome.groups;
        let belief = self.causes.by_candidate(outlook.belief());
        let own_causes = |candidate: usize| -> Vec<usize> {
            (0..self.causes.named()).filter(|&c| self.causes.candidate[c] == candidate).collect()
        };
        let rival = (0..self.job.candidates.len())
            .filter(|&h| groups[h] != groups[finding])
            .max_by(|&a, &b| belief[a].total_cmp(&belief[b]).then(b.cmp(&a)));
        let Some(rival) = rival else { return Ok(None) };
        let own = self.recorded.counted.len();
        let mut best: Option<(f64, Contrasted)> = None;
        let (taken, listed) = self.recorded.marks.split_at(own);
        for test in &self.survey.menu.tests {
            // of what was read already there is nothing to contrast, nor of what isn't read at the gauge
            let read = test.lines.iter().any(|&l| taken.contains(&listed[l]));
            if test.kind == Kind::Run || read || test.joint.is_empty() {
                continue;
            }
            let lines: Vec<usize> = test.lines.iter().map(|l| own + l).collect();
            let forecast = outlook
                .predict(&probe_with(&self.joint, &lines, &self.recorded.marks))
                .map_err(|e| e.to_string())?;
            let (Some(a), Some(b)) = (
                forecast.spread(&own_causes(finding)).first().copied(),
                forecast.spread(&own_causes(rival)).first().copied(),
            ) else {
                continue;
            };
            let apart = (a.0 - b.0).abs() / (a.1 * a.1 + b.1 * b.1).sqrt();
            let range = |(mean, sd): (f64, f64)| (mean - EIGHT_IN_TEN * sd, mean + EIGHT_IN_TEN * sd);
            // ranges that lie in each other would show nobody anything
            let told = (a.0 - b.0).abs() > EIGHT_IN_TEN * (a.1 + b.1);
            if told && apart.is_finite() && best.as_ref().is_none_or(|(top, _)| apart > *top) {
                let words = test.words.clone();
                best = Some((apart, Contrasted { words, rival, finding_mbar: range(a), rival_mbar: range(b) }));
            }
        }
        Ok(best.map(|(_, c)| c))
    }
}

/// What is asked about an attempt.
pub struct Question<'a> {
    /// The job.
    pub job: &'a Job,
    /// The bay after the sitting.
    pub bay: &'a Bay,
    /// What was done, with times.
    pub log: &'a [Done],
    /// Until when evidence counts.
    pub until: Micros,
    /// The finding's candidate, for the contrasting case.
    pub finding: Option<usize>,
    /// Sets of lines of the sheet to be weighed together.
    pub together: Vec<Vec<usize>>,
    /// Reference vehicles a candidate.
    pub vehicles: usize,
}

/// Key of the belief of an attempt: a hash of the job as it is now, the version, the number of vehicles and the attempt.
pub fn belief_key(job: &Job, vehicles: usize, attempt: &str) -> String {
    let mut hash = blake3::Hasher::new();
    // a job that was changed after it was read has its old hash
    let scheme = format!("{:?} {:?} {}", job.rubric, job.candidates, job.lookahead);
    // the words of tests stand in it
    let vehicles = format!("{vehicles} {BELIEF_VERSION} {:?}", spoken());
    for part in [env!("CARGO_PKG_VERSION"), &job.name, &job.hash, &scheme, &vehicles, attempt] {
        hash.update(&(part.len() as u64).to_le_bytes());
        hash.update(part.as_bytes());
    }
    format!("belief-{}", hash.finalize().to_hex())
}

/// [`justify`] from the store, or worked out and kept. `attempt` is the hash of the attempt: with the job, the number of
/// vehicles and the version it settles everything.
///
/// # Errors
/// See [`justify`].
pub fn justify_kept(
    question: &Question<'_>,
    attempt: &str,
    store: &dyn Store,
    watch: &dyn Watch,
) -> Result<Justified, String> {
    let key = belief_key(question.job, question.vehicles, attempt);
    let kept = store.get(&key).and_then(|bytes| store::opened(&bytes));
    if let Some(found) = kept.and_then(|json| serde_json::from_slice(&json).ok()) {
        return Ok(found);
    }
    let found = justify(question, store, watch)?;
    if let Ok(json) = serde_json::to_vec(&found) {
        store.put(&key, &store::closed(&json));
    }
    Ok(found)
}

/// Simulates the reference vehicles of a job through the actions of a bay and through the complete
/// run, and weighs what was recorded.
///
/// # Errors
/// A sentence: cancelled, or the evidence can't be used.
pub fn justify(question: &Question<'_>, store: &dyn Store, watch: &dyn Watch) -> Result<Justified, String> {
    let Question { job, bay, log, until, finding, ref together, vehicles } = *question;
    let prior = prior(job);
    if Course::of(bay, until).lines() == 0 {
        return Ok(Justified::without_evidence(prior, together.len()));
    }
    let survey = survey(job, vehicles, store, &Part { whole: watch, from: 0.0, span: 0.5 })?;
    let outcome = survey.outcome_kept(job, store)?;
    let stop = time_up(job, log, outcome.par_minutes).filter(|(at, _)| *at < until);
    let until = stop.map_or(until, |(at, _)| at);
    let stopped = stop.filter(|(at, _)| bay.evidence().iter().any(|e| e.at > *at));
    let course = Course::of(bay, until);
    if course.lines() == 0 {
        return Ok(Justified { stopped, ..Justified::without_evidence(prior, together.len()) });
    }
    let recorded = Recorded::of(bay, until, &survey)?;
    let part = Part { whole: watch, from: 0.5, span: 0.4 };
    let own = shown(job, &survey.draws, &course, store, &part).ok_or(said("diagnosis-cancelled"))?;
    let lines = recorded.counted.len();
    let rows: Vec<Option<Row>> = own
        .into_iter()
        .zip(&survey.rows)
        .map(|(own, menu)| {
            let own = own.filter(|r| r.len() >= lines)?;
            let row: Row = own[..lines].iter().chain(menu.as_ref()?).cloned().collect();
            usable(&row).then_some(row)
        })
        .collect();
    let joint: Row = recorded.shown.iter().chain(&survey.like).cloned().collect();
    let causes = &survey.causes;
    let reference = Reference::fine(causes, &survey.draws, &rows, &joint);
    let strata = reference.strata(None)?;
    let key = store::key(job, &survey.draws, &course);
    let w = Weighing { job, bay, survey: &survey, outcome: &outcome, strata, causes, recorded, joint };
    let (steps, used, fine) = w.steps()?;
    let moves = w.moves(log, until, &steps, &fine)?;
    let e = evidence_with(&w.joint, &used, &w.recorded.marks);
    let left_out = in_parallel(&Vec::from_iter(0..JACKKNIFE_GROUPS), |&group| {
        let like = reference.strata(Some(group))?.log_likelihoods(&e)?;
        Ok(w.ended(&posterior(&causes.prior, &like)))
    })?;
    let written: Row = w.recorded.written.iter().chain(&survey.like).cloned().collect();
    let as_written = evidence_with(&written, &used, &w.recorded.marks);
    let like = w.strata.log_likelihoods(&as_written)?;
    let from_written = Some(causes.by_candidate(&posterior(&causes.prior, &like)));
    let together: Result<Vec<_>, String> = together.iter().map(|lines| w.together(lines, &steps)).collect();
    let together = together?;
    let contrast = finding.map_or(Ok(None), |d| w.contrast(&used, d))?;
    Ok(Justified {
        prior_bits: w.ended(&causes.prior).entropy_bits,
        ended: w.ended(fine.last().unwrap_or(&causes.prior)),
        prior,
        steps,
        left_out,
        vehicles: reference.len(),
        groups: outcome.groups.clone(),
        moves,
        from_written,
        together,
        stopped,
        contrast,
        reference: key,
        outcome: Some(outcome.clone()),
    })
}

fn usable(row: &Row) -> bool {
    row.iter().flatten().all(|f| !matches!(f, Feature::Number { value, .. } if !value.is_finite()))
}

/// A part of longer work.
pub(crate) struct Part<'a> {
    pub(crate) whole: &'a dyn Watch,
    pub(crate) from: f64,
    pub(crate) span: f64,
}

impl Watch for Part<'_> {
    fn progress(&self, done: f64) {
        self.whole.progress(self.from + self.span * done);
    }

    fn cancelled(&self) -> bool {
        self.whole.cancelled()
    }
}
