//! Marks one attempt: replays it, weighs its evidence, gives every point a sentence.

use std::collections::BTreeMap;

use super::case::Case;
use super::claims::{ClaimRules, rivals};
use super::components::{Match, reference_belief};
use super::faithful::{self, Slip};
use super::model::{Basis, BeliefStep, ComponentMark, Contrast, Mark, Move, PredictionCheck, StatementCheck};
use super::parts::{replaced, right_price};
use super::readings::{CONTRADICTED, ReadingVerdict, allowed_number, contradicts_card, score_number};
use super::result::outcome;
use super::tabled::Formulas;
use super::tracking::{Predicted, prediction, statement};
use super::{
    ledger::balance,
    sentence::{self, Sentence},
};
use crate::analysis::window::window;
use crate::attempt::{Attempt, Event, replay_each};
use crate::bay::action::{Action, Finding, Micros, RuledOut, Verdict};
use crate::bay::observation::Answer;
use crate::bay::truth::Closed;
use crate::bay::{Bay, Evidence, EvidenceKind};
use crate::diagnosis::ensemble::{Unwatched, Watch, perceived_word};
use crate::diagnosis::hypothesis::{candidate_of, whole_of};
use crate::diagnosis::justify::{Justified, Question, VEHICLES, justify_kept};
use crate::diagnosis::menu::line_name;
use crate::diagnosis::moves::{Done, net_minutes};
use crate::diagnosis::store::{Nowhere, Store};
use crate::fault::FaultInstance;
use crate::language::said;
use crate::scenario::model::{FaultBand, Job, Limit};
use crate::tell;
use crate::units::PA_PER_MBAR;

/// What a step of the beliefs says at which the learner shared the points anew.
pub const STATED: &str = "points stated";

/// A material reading, judged.
pub(super) struct Scored {
    pub(super) line: usize,
    pub(super) at: Micros,
    pub(super) window: (Micros, Micros),
    pub(super) test: String,
    pub(super) share: f64,
    pub(super) right: bool,
    /// How far it is off, in allowed errors.
    pub(super) off: f64,
    pub(super) sentence: Sentence,
}

/// Marks an attempt at a job; reference vehicles are simulated anew.
///
/// # Errors
/// See [`mark_with`].
pub fn mark(job: &Job, attempt: &Attempt, watch: &dyn Watch) -> Result<Mark, String> {
    mark_with(job, attempt, &Nowhere, watch)
}

/// Marks an attempt at a job; what reference vehicles showed is taken from the store where it is there
/// and kept in it otherwise. The mark is the same to the bit either way.
///
/// # Errors
/// A sentence: the attempt doesn't belong to the job, the vehicle wasn't handed back, the work was
/// cancelled.
pub fn mark_with(job: &Job, attempt: &Attempt, store: &dyn Store, watch: &dyn Watch) -> Result<Mark, String> {
    mark_by(job, attempt, VEHICLES, store, watch)
}

/// The same with another number of reference vehicles a candidate than marks are made with: for trials of the
/// marking itself.
///
/// # Errors
/// See [`mark_with`].
pub fn mark_by(
    job: &Job,
    attempt: &Attempt,
    vehicles: usize,
    store: &dyn Store,
    watch: &dyn Watch,
) -> Result<Mark, String> {
    let (closed, log, trace_hash) = closed(job, attempt)?;
    let case = case(job, (attempt.hash(), &closed), log, (vehicles, &Formulas::STANDARD), store, watch)?;
    watch.progress(1.0);
    Ok(into_mark(&case, attempt, trace_hash))
}

/// Shares of the components and the total as other formulas would have them: to try whether the rules of the mark
/// notice a broken one.
///
/// # Errors
/// See [`mark_with`].
pub fn total_by(
    job: &Job,
    attempt: &Attempt,
    vehicles: usize,
    formulas: &Formulas,
    store: &dyn Store,
) -> Result<(Vec<ComponentMark>, f64), String> {
    let (closed, log, _) = closed(job, attempt)?;
    let case = case(job, (attempt.hash(), &closed), log, (vehicles, formulas), store, &Unwatched)?;
    let components = case.components(&case.justified.ended);
    let total = case.total(&components).total;
    Ok((components, total))
}

/// The sitting replayed to its end, what was done in it, and the hash of its trace.
fn closed(job: &Job, attempt: &Attempt) -> Result<(Closed, Vec<Done>, String), String> {
    let mut log: Vec<Done> = vec![];
    let bay = replay_each(job, attempt, |entry, answer, bay| {
        // what was refused did nothing to the vehicle and wrote no line
        if let (Event::Act(action), Some(Answer::Done { .. })) = (&entry.event, answer) {
            log.push(Done { at: entry.at, until: bay.now(), action: action.clone() });
        }
    })
    .map_err(|e| e.to_string())?;
    if let Some(why) = bay.instructed().no_mark() {
        return Err(why.to_owned());
    }
    let trace_hash = bay.trace().hash();
    let closed = bay.close().map_err(|_| said("marking-never-handed-back").to_owned())?;
    Ok((closed, log, trace_hash))
}

/// Gathers everything that a mark is made of.
fn case<'a>(
    job: &'a Job,
    (attempt, closed): (&str, &'a Closed),
    log: Vec<Done>,
    (vehicles, formulas): (usize, &Formulas),
    store: &dyn Store,
    watch: &dyn Watch,
) -> Result<Case<'a>, String> {
    let bay = closed.bay();
    let until = counts_until(bay);
    let finding = bay.finding().and_then(|f| Some((f, job.candidates.iter().position(|c| c.name == f.candidate)?)));
    let ruled_out = finding.map_or_else(Vec::new, |(f, _)| ruled_out(job, f));
    // a line that says something else than what was there bears nothing
    let slips = slips(job, bay);
    let borne = |lines: &[usize]| lines.iter().copied().filter(|line| !slips.contains_key(line)).collect();
    let together = ruled_out.iter().map(|(_, lines)| borne(lines)).collect();
    let question = Question { job, bay, log: &log, until, finding: finding.map(|(_, d)| d), together, vehicles };
    let justified = justify_kept(&question, attempt, store, watch)?;
    let attainable = match (&justified.outcome, finding) {
        (Some(outcome), Some((_, d))) => outcome.attainable[d],
        _ => 1.0,
    };
    let truths: Vec<usize> = if closed.faults().is_empty() {
        candidate_of(job, &[]).into_iter().collect()
    } else if let Some(whole) = whole_of(job, closed.faults()) {
        vec![whole]
    } else {
        closed.faults().iter().filter_map(|f| candidate_of(job, std::slice::from_ref(f))).collect()
    };
    let rubric = &job.rubric;
    let last = until.min(bay.now());
    Ok(Case {
        job,
        closed,
        finding,
        matched: finding.map_or(Match::Other, |(_, d)| matched(job, closed, &justified.groups, d, &truths)),
        p_ref: reference_belief(attainable),
        readings: scored(job, bay, &justified, formulas.immaterial_readings),
        parts: replaced(job, closed, &log, &justified),
        right_price: right_price(job, closed.faults()),
        last_repair: log.iter().rfind(|done| matches!(done.action, Action::Repair { .. })).map(|done| done.until),
        net_minutes: net_minutes(&log, 0, last, &rubric.preliminaries),
        rules: ClaimRules {
            support_bans: rubric.support_bans,
            rule_out_bans: rubric.rule_out_bans,
            false_loss: rubric.false_claim * formulas.claim_loss,
            neutral_loss: rubric.neutral_claim * formulas.claim_loss,
            ..ClaimRules::STANDARD
        },
        rivals: finding.map_or_else(Vec::new, |(_, d)| {
            let named = &justified.prior[..job.candidates.len()];
            rivals(named, d).into_iter().filter(|&h| justified.groups[h] != justified.groups[d]).collect()
        }),
        truth: truths.first().copied(),
        ruled_out,
        slips,
        formulas: *formulas,
        justified,
    })
}

/// What is wrong with lines of the sheet, by their numbers.
fn slips(job: &Job, bay: &Bay) -> BTreeMap<usize, Slip> {
    bay.evidence().iter().filter_map(|e| Some((e.line, faithful::slip(job, bay, e)?))).collect()
}

/// Candidates that a finding says are ruled out, each with its lines, rising and once.
fn ruled_out(job: &Job, finding: &Finding) -> Vec<(usize, Vec<usize>)> {
    let numbered = |out: &RuledOut| {
        let mut lines = out.lines.clone();
        lines.sort_unstable();
        lines.dedup();
        Some((job.candidates.iter().position(|c| c.name == out.candidate)?, lines))
    };
    finding.ruled_out.iter().filter_map(numbered).collect()
}

/// How a finding compares with the truth.
fn matched(job: &Job, closed: &Closed, groups: &[usize], finding: usize, truths: &[usize]) -> Match {
    let hit = truths.iter().any(|&t| groups[t] == groups[finding]);
    if truths.len() > 1 {
        return Match::Shared { both: u32::from(hit), either: truths.len() as u32 + u32::from(!hit) };
    }
    let accepted = job.also_right.iter().any(|&t| groups[t] == groups[finding]);
    if hit || accepted {
        return Match::SameGroup;
    }
    let bands = &job.candidates[finding].vehicles;
    if let Some(shared) = bands.iter().filter_map(|band| shared(band, closed.faults())).max_by_key(|s| s.0) {
        return Match::Shared { both: shared.0, either: shared.1 };
    }
    let same_part = closed.faults().iter().any(|f| !f.at.is_empty() && bands.iter().any(|b| b.at == f.at));
    if same_part { Match::RightComponent } else { Match::Other }
}

/// Of two faults in the finding or in the vehicle: how many causes are in both, and in either. `None` where there is
/// but one in each, or nothing agrees.
fn shared(band: &FaultBand, faults: &[FaultInstance]) -> Option<(u32, u32)> {
    let named: Vec<&FaultBand> = band.all().collect();
    if named.len() < 2 && faults.len() < 2 {
        return None;
    }
    // the severity of each half is the vehicle's own: named is named
    let same = |b: &FaultBand, f: &FaultInstance| b.fault == f.fault && (b.at == f.at || b.at.is_empty());
    let both = faults.iter().filter(|f| named.iter().any(|b| same(b, f))).count();
    let either = named.len() + faults.len() - both;
    (both > 0).then_some((both as u32, either as u32))
}

/// Evidence counts until the finding is in or the first part is touched, whichever comes first; where
/// the rubric lets parts be evidence, until the finding is in.
pub fn counts_until(bay: &Bay) -> Micros {
    let submitted = bay.submitted_at().unwrap_or(Micros::MAX);
    if bay.job().rubric.parts_as_evidence {
        return submitted;
    }
    submitted.min(bay.first_repair().unwrap_or(Micros::MAX))
}

/// The last entry for each distinct material test.
fn scored(job: &Job, bay: &Bay, justified: &Justified, all: bool) -> Vec<Scored> {
    let mut list: Vec<(String, Scored)> = vec![];
    for evidence in bay.evidence() {
        let material = justified.steps.iter().any(|s| s.line == evidence.line && (s.material || all));
        if !material {
            continue;
        }
        let entry = match &evidence.kind {
            EvidenceKind::Level { .. } => scored_level(job, bay, evidence),
            EvidenceKind::Number { .. } => scored_number(evidence),
            EvidenceKind::Word { .. } => scored_word(job, bay, evidence),
        };
        let Some(entry) = entry else { continue };
        let key = line_name(&evidence.kind, evidence.line);
        list.retain(|(k, _)| *k != key);
        list.push((key, entry));
    }
    list.into_iter().map(|(_, s)| s).collect()
}

fn scored_level(job: &Job, bay: &Bay, evidence: &Evidence) -> Option<Scored> {
    let EvidenceKind::Level { state, window: span, joint, written } = &evidence.kind else { return None };
    let level = faithful::level(job, bay, evidence)?;
    let (shown_pa, score) = (level.shown_mbar * PA_PER_MBAR, level.score);
    let label = job.joints.iter().find(|(n, _)| n == joint).map_or(joint.as_str(), |(_, l)| l.as_str());
    let test = tell!("marking-reading-at", state = state.of_reading(), label = label);
    let scored = |share, sentence| Scored {
        line: evidence.line,
        at: evidence.at,
        window: *span,
        share,
        right: share > 0.0 && score.verdict == ReadingVerdict::Right,
        off: score.written_pa.map_or(0.0, |w| (w - shown_pa).abs() / score.allowed_pa),
        sentence,
        test: test.clone(),
    };
    if let Some(Slip::State { rpm, .. }) = faithful::slip(job, bay, evidence) {
        return Some(scored(0.0, sentence::other_state(evidence.at, &test, rpm)));
    }
    let plain = sentence::reading(evidence.at, &test, Some(*written), shown_pa, &score);
    let against_card = contradicted(job, bay, evidence, level.shown_mbar, score.allowed_pa / PA_PER_MBAR);
    Some(match against_card.filter(|_| score.share > 0.0) {
        None => scored(score.share, plain),
        Some((verdict, limit)) => scored(
            score.share * CONTRADICTED,
            sentence::contradicted(&plain, verdict, (limit.low_mbar, limit.high_mbar)),
        ),
    })
}

/// A word that isn't what was to be perceived counts as a reading written down wrong. One that is right counts for
/// nothing here: it was told, not read off.
fn scored_word(job: &Job, bay: &Bay, evidence: &Evidence) -> Option<Scored> {
    let (EvidenceKind::Word { what, .. }, Some(Slip::Word { written, was })) =
        (&evidence.kind, faithful::slip(job, bay, evidence))
    else {
        return None;
    };
    let test = perceived_word(*what).to_owned();
    Some(Scored {
        line: evidence.line,
        at: evidence.at,
        window: (evidence.at, evidence.at),
        share: 0.0,
        right: false,
        off: 0.0,
        sentence: sentence::other_word(evidence.at, &test, &written, was),
        test,
    })
}

/// The verdict of a line that contradicts the card it quotes, and the card's range. A verdict by another limit than
/// the card's is the learner's own business here.
fn contradicted<'a>(
    job: &'a Job,
    bay: &Bay,
    evidence: &Evidence,
    shown_mbar: f64,
    allowed_mbar: f64,
) -> Option<(Verdict, &'a Limit)> {
    let EvidenceKind::Level { state, joint, .. } = &evidence.kind else { return None };
    let line = bay.sheet().get(evidence.line.checked_sub(1)?)?;
    let limit = job.limit(joint, *state)?;
    let verdict = line.verdict?;
    let source = line.source.to_lowercase();
    let by_the_card = CARD_WORDS.iter().any(|word| source.contains(word));
    let contrary = contradicts_card(verdict, shown_mbar, allowed_mbar, (limit.low_mbar, limit.high_mbar));
    (by_the_card && contrary).then_some((verdict, limit))
}

fn scored_number(evidence: &Evidence) -> Option<Scored> {
    let EvidenceKind::Number { probe, shown, written, .. } = &evidence.kind else { return None };
    let quantity = probe.quantity();
    let allowed = allowed_number(quantity, *shown);
    let (verdict, share) = score_number(*written, quantity, *shown, allowed);
    let test = quantity.reading().to_owned();
    let own = written.1.filter(|u| u.quantity() == quantity).map(|u| written.0 * u.factor());
    let said = (quantity, *shown, allowed);
    Some(Scored {
        line: evidence.line,
        at: evidence.at,
        window: (evidence.at, evidence.at),
        share,
        right: verdict == ReadingVerdict::Right,
        off: own.map_or(0.0, |w| (w - shown).abs() / allowed),
        sentence: sentence::number_reading(evidence.at, &test, *written, said, verdict),
        test,
    })
}

/// Words by which a learner names the vehicle card as the source of a limit, in each language.
const CARD_WORDS: [&str; 3] = ["card", "fahrzeugdaten", "datenkarte"];

/// Stands for every cause that is no candidate, in a mark whatever is spoken; shown by its name in the language.
const NONE_OF_THESE: &str = "None of these";

/// Labels of the candidates, then "none of these".
fn labels(job: &Job) -> Vec<String> {
    let mut labels: Vec<String> = job.candidates.iter().map(|c| c.label.clone()).collect();
    labels.push(NONE_OF_THESE.into());
    labels
}

/// Stated points as shares, "none of these" last.
fn shares(points: &[u8]) -> Vec<f64> {
    points.iter().map(|&x| f64::from(x) / 100.0).chain([0.0]).collect()
}

/// Statements against what the evidence bore at their time.
fn statements(case: &Case<'_>) -> Vec<StatementCheck> {
    let labels = labels(case.job);
    let until = counts_until(case.bay());
    case.bay()
        .statements()
        .iter()
        .filter(|(at, _)| *at <= until)
        .map(|(at, points)| {
            let known = case.justified.steps.iter().rev().find(|s| s.at <= *at);
            let justified = known.map_or(&case.justified.prior, |s| &s.belief);
            statement(*at, &shares(points), justified, &labels)
        })
        .collect()
}

/// Predictions against the first reading of their state after them.
fn predictions(case: &Case<'_>) -> Vec<PredictionCheck> {
    let (job, bay) = (case.job, case.bay());
    bay.predictions()
        .iter()
        .map(|(at, p)| {
            let came = bay.evidence().iter().find_map(|e| match &e.kind {
                // what was on the chart already when it was written down is no prediction
                EvidenceKind::Level { state, window: (from, to), .. } if *from >= *at && *state == p.state => {
                    window(bay.trace(), &bay.trace().mbar, *from, *to).map(|w| (e.at, w.level))
                }
                _ => None,
            });
            let under = p.candidate.as_ref().and_then(|name| {
                let d = job.candidates.iter().position(|c| c.name == *name)?;
                Some((job.candidates[d].label.as_str(), case.truth == Some(d)))
            });
            let test = tell!("marking-reading-of", what = p.state.of_reading());
            let seen = bay
                .evidence()
                .iter()
                .any(|e| matches!(&e.kind, EvidenceKind::Level { state, .. } if *state == p.state));
            let made = Predicted { at: *at, test: &test, under, range_mbar: (p.low_mbar, p.high_mbar), seen };
            prediction(&made, came)
        })
        .collect()
}

fn moves(case: &Case<'_>) -> Vec<Move> {
    case.justified
        .moves
        .iter()
        .map(|m| Move {
            window: m.window,
            test: case.lines_in_words(&m.lines),
            lines: m.lines.clone(),
            minutes: m.minutes,
            bits: m.bits,
            opened_bits: m.opened,
            best: m.best.words.clone(),
            best_bits: m.best.bits,
            best_minutes: m.best.minutes,
            wasted: m.wasted,
            material: m.material,
        })
        .collect()
}

fn contrast(case: &Case<'_>) -> Option<Contrast> {
    let (found, (_, d)) = (case.justified.contrast.as_ref()?, case.finding?);
    let label = |h: usize| case.job.candidates[h].label.clone();
    let (own, rival) = (label(d), label(found.rival));
    let sentence =
        sentence::contrast(&found.words, (&quoted(&own), found.finding_mbar), (&quoted(&rival), found.rival_mbar));
    Some(Contrast {
        test: found.words.clone(),
        labels: (own, rival),
        finding_mbar: found.finding_mbar,
        rival_mbar: found.rival_mbar,
        sentence,
    })
}

/// Said when the finding follows from what was written but not from what the gauge showed.
fn follow_through(case: &Case<'_>) -> Option<String> {
    let ((_, d), written) = (case.finding?, case.justified.from_written.as_ref()?);
    let bears = |belief: &[f64]| case.justified.in_group(belief, d) >= super::result::BELIEF_PASS;
    if !bears(written) || bears(case.justified.end()) {
        return None;
    }
    let worst = case.readings.iter().filter(|r| r.share < 1.0).max_by(|a, b| a.off.total_cmp(&b.off));
    let slip = worst.map(|r| (r.at, r.test.as_str()));
    Some(sentence::follow_through(&quoted(&case.job.candidates[d].label), slip))
}

/// Justified against stated belief, at every line and every statement.
fn beliefs(case: &Case<'_>) -> Vec<BeliefStep> {
    let mut moments: Vec<(Micros, String, Option<usize>)> = vec![(0, "card".into(), None)];
    for (i, step) in case.justified.steps.iter().enumerate() {
        if let Some(evidence) = case.bay().evidence().iter().find(|e| e.line == step.line) {
            let (test, value) = case.describe(evidence);
            moments.push((
                step.at,
                tell!("marking-event-line", line = step.line, test = test, value = value),
                Some(i),
            ));
        }
    }
    for (at, _) in case.bay().statements() {
        moments.push((*at, STATED.into(), None));
    }
    moments.sort_by_key(|m| m.0);
    let mut justified = &case.justified.prior;
    moments
        .into_iter()
        .map(|(at, event, step)| {
            if let Some(i) = step {
                justified = &case.justified.steps[i].belief;
            }
            let stated =
                case.bay().statements().iter().rev().find(|(t, _)| *t <= at).map(|(_, points)| shares(points));
            BeliefStep { at, event, justified: justified.clone(), stated }
        })
        .collect()
}

/// States that could have been read before the finding and of which nothing was written.
fn seen_not_recorded(case: &Case<'_>) -> Vec<String> {
    let until = counts_until(case.bay());
    let recorded = |at: Micros| case.bay().evidence().iter().any(|e| e.at >= at && e.at < at + 180_000_000);
    let mut fitted = false;
    let mut words = vec![];
    for tick in case.bay().trace().ticks.iter().filter(|t| t.at < until) {
        let seen = match tick.word.as_str() {
            "tee fitted" => {
                fitted = true;
                continue;
            }
            "tee out" => {
                fitted = false;
                continue;
            }
            "cap open" => said("marking-seen-cap"),
            "valve shut" if fitted => said("marking-seen-pull"),
            "runs" if fitted => said("marking-seen-running"),
            "stop" if fitted => said("marking-seen-hold"),
            _ => continue,
        };
        if !recorded(tick.at) {
            words.push(tell!("marking-seen-from", seen = seen, time = sentence::clock(tick.at)));
        }
    }
    words
}

fn into_mark(case: &Case<'_>, attempt: &Attempt, trace_hash: String) -> Mark {
    let components = case.components(&case.justified.ended);
    let sum = case.total(&components);
    let mut ledger = balance(case.drafts(&components, &sum), sum.total);
    if let Some(line) = ledger.iter_mut().find(|line| line.template == "total.cap") {
        // what had been earned is what the other lines make, to the hundredth
        line.sentence = sentence::cap(sum.total - line.hundredths as f64 / 100.0, sum.total).text;
    }
    let (total_error, standing) = case.standing(&components, sum.total);
    let (outcome, reasons) = outcome(&standing);
    let job = case.job;
    Mark {
        job: job.name.clone(),
        job_hash: job.hash.clone(),
        seed: attempt.header().seed,
        attempt_hash: attempt.hash().to_owned(),
        trace_hash,
        engine: env!("CARGO_PKG_VERSION").to_owned(),
        total: (sum.total * 100.0).round() / 100.0,
        outcome,
        reasons,
        components,
        ledger,
        labels: labels(job),
        beliefs: beliefs(case),
        submitted: case.finding.map(|(f, d)| (job.candidates[d].label.clone(), f.confidence)),
        truth: (
            case.truth.map_or_else(|| said("marking-no-candidate").into(), |t| job.candidates[t].label.clone()),
            case.closed.in_words(),
        ),
        justified_in_finding: case.finding.map(|(_, d)| (case.belief_in_finding().1, case.justified.error(d))),
        counted_together: counted_together(case),
        seen_not_recorded: seen_not_recorded(case),
        moves: moves(case),
        statements: statements(case),
        predictions: predictions(case),
        traps: super::traps::traps(case),
        contrast: contrast(case),
        follow_through: follow_through(case),
        basis: Basis {
            reference: case.justified.reference.clone(),
            vehicles: case.justified.vehicles,
            full_belief: case.p_ref,
            progress: case.progress(),
            par_minutes: case.justified.outcome.as_ref().map_or(0.0, |o| o.par_minutes),
            net_minutes: case.net_minutes,
            wasted_minutes: case.wasted(),
            two_ahead: case.job.lookahead > 1,
            total_error,
        },
        overrides: vec![],
    }
}

/// Labels of the candidates in the finding's group, without its own.
fn counted_together(case: &Case<'_>) -> Vec<String> {
    let Some((_, d)) = case.finding else { return vec![] };
    let groups = &case.justified.groups;
    let others = case.job.candidates.iter().enumerate().filter(|&(h, _)| h != d && groups[h] == groups[d]);
    others.map(|(_, candidate)| candidate.label.clone()).collect()
}

pub(super) fn quoted(label: &str) -> String {
    tell!("marking-quoted", label = label)
}
