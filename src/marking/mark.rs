//! Marks one attempt: replays it, weighs its evidence, gives every point a sentence.

use super::components::{
    Match, Severity, calibration, diagnosis, justified, justified_unlimited, procedure, reference_belief,
};
use super::ledger::{Draft, balance, split_justified, split_measurement, split_procedure};
use super::model::{BeliefStep, Component, ComponentMark, Mark};
use super::readings::{ReadingScore, ReadingVerdict, allowed_pa, measurement, score_reading};
use super::result::{Gated, Standing, full_points, outcome, total};
use super::sentence;
use crate::analysis::window::window;
use crate::attempt::{Attempt, replay};
use crate::bay::action::{Finding, Micros};
use crate::bay::observation::BreachClass;
use crate::bay::truth::Closed;
use crate::bay::{Bay, Evidence, EvidenceKind};
use crate::diagnosis::attainable::attainable;
use crate::diagnosis::ensemble::{Watch, perceived_word};
use crate::diagnosis::hypothesis::candidate_of;
use crate::diagnosis::justify::{Justified, VEHICLES, justify};
use crate::instrument::transducer::STEP_MBAR;
use crate::scenario::model::Job;
use crate::units::{AbsolutePressure, PA_PER_MBAR};

/// What a step of the beliefs says at which the learner shared the points anew.
pub const STATED: &str = "points stated";

/// Progress of the second half of the work.
struct Half<'a> {
    whole: &'a dyn Watch,
    from: f64,
    span: f64,
}

impl Watch for Half<'_> {
    fn progress(&self, done: f64) {
        self.whole.progress(self.from + self.span * done);
    }

    fn cancelled(&self) -> bool {
        self.whole.cancelled()
    }
}

/// Everything a mark is made of, before points.
struct Case<'a> {
    job: &'a Job,
    closed: &'a Closed,
    justified: Justified,
    /// The finding and its candidate.
    finding: Option<(&'a Finding, usize)>,
    /// Candidate that the truth belongs to.
    truth: Option<usize>,
    /// p_ref of the submitted candidate.
    p_ref: f64,
    readings: Vec<Scored>,
}

/// A material reading, judged.
struct Scored {
    at: Micros,
    window: (Micros, Micros),
    test: String,
    written: (f64, Option<crate::units::PressureUnit>),
    shown_pa: f64,
    score: ReadingScore,
}

/// Marks an attempt at a job.
///
/// # Errors
/// A sentence: the attempt doesn't belong to the job, the vehicle wasn't handed back, the work was
/// cancelled.
pub fn mark(job: &Job, attempt: &Attempt, watch: &dyn Watch) -> Result<Mark, String> {
    let bay = replay(job, attempt).map_err(|e| e.to_string())?;
    let trace_hash = bay.trace().hash();
    let closed = bay.close().map_err(|_| {
        "The vehicle was never handed back, so there is nothing to mark yet. Resume the sitting and hand it back."
            .to_owned()
    })?;
    let until = counts_until(closed.bay());
    let finding = closed
        .bay()
        .finding()
        .and_then(|f| job.candidates.iter().position(|c| c.name == f.candidate).map(|candidate| (f, candidate)));
    let first = Half { whole: watch, from: 0.0, span: 0.7 };
    let justified = justify(job, closed.bay(), until, VEHICLES, &first)?;
    let second = Half { whole: watch, from: 0.7, span: 0.3 };
    let p_ref = match finding {
        Some((_, candidate)) => reference_belief(attainable(job, candidate, &second)?.median),
        None => reference_belief(1.0),
    };
    let readings = scored(job, closed.bay(), &justified);
    let case = Case {
        job,
        closed: &closed,
        justified,
        finding,
        truth: candidate_of(job, closed.faults()),
        p_ref,
        readings,
    };
    watch.progress(1.0);
    Ok(case.into_mark(attempt, trace_hash))
}

/// Evidence counts until the finding is in or the first part is touched, whichever comes first.
fn counts_until(bay: &Bay) -> Micros {
    bay.submitted_at().unwrap_or(Micros::MAX).min(bay.first_repair().unwrap_or(Micros::MAX))
}

/// The last entry for each distinct material state and joint.
fn scored(job: &Job, bay: &Bay, justified: &Justified) -> Vec<Scored> {
    let mut list: Vec<(String, Scored)> = vec![];
    for evidence in bay.evidence() {
        let material = justified.steps.iter().any(|s| s.line == evidence.line && s.material);
        let EvidenceKind::Level { state, window: span, joint, written } = &evidence.kind else { continue };
        if !material {
            continue;
        }
        let Some(w) = window(bay.trace(), &bay.trace().mbar, span.0, span.1) else { continue };
        let shown_pa = w.level * PA_PER_MBAR;
        let spread = (w.highest - w.lowest) / 2.0;
        let allowed = allowed_pa(
            job.rubric.reading_tolerance_mbar.max(spread) * PA_PER_MBAR,
            (w.level_error + STEP_MBAR) * PA_PER_MBAR,
        );
        let ambient = AbsolutePressure::at_altitude(job.plant.altitude).si();
        let score = score_reading(Some(*written), shown_pa, allowed, ambient);
        let label = job.joints.iter().find(|(n, _)| n == joint).map_or(joint.as_str(), |(_, l)| l.as_str());
        let key = format!("{} {joint}", state.word());
        let entry = Scored {
            at: evidence.at,
            window: *span,
            test: format!("{} reading at the {label}", state.word()),
            written: *written,
            shown_pa,
            score,
        };
        list.retain(|(k, _)| *k != key);
        list.push((key, entry));
    }
    list.into_iter().map(|(_, s)| s).collect()
}

impl Case<'_> {
    fn bay(&self) -> &Bay {
        self.closed.bay()
    }

    /// Belief in the finding: before, at the end.
    fn belief_in_finding(&self) -> (f64, f64) {
        self.finding.map_or((0.0, 0.0), |(_, d)| (self.justified.prior[d], self.justified.end()[d]))
    }

    fn matched(&self) -> Match {
        match (self.finding, self.truth) {
            (Some((_, d)), Some(t)) if d == t => Match::SameGroup,
            _ => Match::Other,
        }
    }

    fn material_lines(&self) -> usize {
        self.justified.steps.iter().filter(|s| s.material).count()
    }

    fn breaches(&self) -> Vec<Severity> {
        self.bay()
            .breaches()
            .iter()
            .map(|b| match b.class {
                BreachClass::Minor => Severity::Minor,
                BreachClass::Major => Severity::Major,
                BreachClass::Critical => Severity::Critical,
            })
            .collect()
    }

    fn share_j(&self) -> f64 {
        let (prior, end) = self.belief_in_finding();
        if self.finding.is_none() || self.material_lines() == 0 { 0.0 } else { justified(end, prior, self.p_ref) }
    }

    fn components(&self) -> Vec<ComponentMark> {
        let rubric = &self.job.rubric;
        let (_, end) = self.belief_in_finding();
        let j = self.share_j();
        let scores: Vec<f64> = self.readings.iter().map(|s| s.score.share).collect();
        let c = self
            .finding
            .map_or(0.0, |(f, _)| calibration(f64::from(f.confidence) / 100.0, end, self.material_lines()));
        let part = |component, share, weight| ComponentMark { component, share, weight };
        let mut marks = vec![
            part(Component::Diagnosis, diagnosis(self.matched(), j), rubric.diagnosis),
            part(Component::Justified, j, rubric.justified),
            part(Component::Measurement, measurement(&scores), rubric.measurement),
            part(Component::Procedure, procedure(&self.breaches()), rubric.procedure),
            part(Component::Calibration, c, rubric.calibration),
        ];
        // weights are told as points of 100
        let whole: f64 = marks.iter().map(|m| m.weight).sum();
        for m in &mut marks {
            m.weight *= 100.0 / whole;
        }
        marks
    }

    fn standing(&self, marks: &[ComponentMark], total: f64) -> Standing {
        let (prior, end) = self.belief_in_finding();
        let error = self.finding.map_or(0.0, |(_, d)| self.justified.error(d));
        // how far J moves with p_d, by a finite difference
        let d_j = if self.finding.is_some() && error > 0.0 {
            let up = justified_unlimited((end + 1e-4).min(0.999), prior, self.p_ref);
            let down = justified_unlimited((end - 1e-4).max(0.001), prior, self.p_ref);
            ((up - down) / 2e-4).abs() * error
        } else {
            0.0
        };
        let j = self.share_j();
        // beyond its ceiling J no longer moves
        let j_error = if j >= 1.0 - 1e-9 { 0.0 } else { d_j };
        let weight = |c: Component| full_points(marks, c);
        let total_error =
            j_error * (weight(Component::Justified) + self.matched().share() * weight(Component::Diagnosis));
        Standing {
            total: Gated { value: total, error: total_error },
            cut: self.job.rubric.cut,
            justified: Gated { value: j, error: j_error },
            belief: Gated { value: end, error },
            matched: self.matched().share(),
            critical: self.breaches().contains(&Severity::Critical),
            floors: vec![
                (
                    Component::Measurement,
                    share_of(marks, Component::Measurement),
                    self.job.rubric.measurement_floor,
                ),
                (Component::Procedure, share_of(marks, Component::Procedure), self.job.rubric.procedure_floor),
            ],
            truth_belief: self.truth.map_or(0.0, |t| self.justified.end()[t]),
            readings_right: !self.readings.is_empty()
                && self.readings.iter().all(|r| r.score.verdict == ReadingVerdict::Right),
            none_leads: {
                let end = self.justified.end();
                let none = end[end.len() - 1];
                end[..end.len() - 1].iter().all(|&p| p < none)
            },
        }
    }

    fn drafts(&self, marks: &[ComponentMark], capped: f64, earned: f64) -> Vec<Draft> {
        let mut drafts = vec![self.draft_diagnosis(marks)];
        drafts.extend(self.drafts_justified(marks));
        drafts.extend(self.drafts_measurement(marks));
        drafts.extend(self.drafts_procedure(marks));
        drafts.push(self.draft_calibration(marks));
        if capped > 0.0 {
            let at = self.bay().now();
            drafts.push(Draft {
                component: None,
                points: -capped,
                window: (at, at),
                sentence: sentence::cap(earned, earned - capped),
            });
        }
        drafts
    }

    fn end_window(&self) -> (Micros, Micros) {
        let at = self.bay().submitted_at().unwrap_or(self.bay().now());
        (at, at)
    }

    fn truth_label(&self) -> String {
        self.truth
            .map_or_else(|| "a cause that no candidate covers".into(), |t| quoted(&self.job.candidates[t].label))
    }

    fn draft_diagnosis(&self, marks: &[ComponentMark]) -> Draft {
        let full = full_points(marks, Component::Diagnosis);
        let points = full * share_of(marks, Component::Diagnosis);
        let sentence = match self.finding {
            Some((_, d)) => sentence::diagnosis(
                self.matched(),
                &quoted(&self.job.candidates[d].label),
                &self.truth_label(),
                self.belief_in_finding().1,
                points,
                full,
            ),
            None => sentence::diagnosis_absent(&self.truth_label()),
        };
        Draft { component: Some(Component::Diagnosis), points, window: self.end_window(), sentence }
    }

    fn drafts_justified(&self, marks: &[ComponentMark]) -> Vec<Draft> {
        let component = Some(Component::Justified);
        let full = full_points(marks, Component::Justified);
        let steps: Vec<_> = self.justified.steps.iter().filter(|s| s.material).collect();
        let Some((_, d)) = self.finding.filter(|_| !steps.is_empty()) else {
            let label = self
                .finding
                .map_or_else(|| "any finding".to_owned(), |(_, d)| quoted(&self.job.candidates[d].label));
            return vec![Draft {
                component,
                points: 0.0,
                window: self.end_window(),
                sentence: sentence::justified_none(&label),
            }];
        };
        let label = quoted(&self.job.candidates[d].label);
        let after: Vec<f64> = steps.iter().map(|s| s.belief[d]).collect();
        let split = split_justified(full, self.justified.prior[d], self.p_ref, &after);
        let mut before = self.justified.prior[d];
        let mut drafts = vec![];
        for (step, points) in steps.iter().zip(&split.steps) {
            let Some(evidence) = self.bay().evidence().iter().find(|e| e.line == step.line) else { continue };
            let (test, value) = self.describe(evidence);
            let now = step.belief[d];
            drafts.push(Draft {
                component,
                points: *points,
                window: window_of(evidence),
                sentence: sentence::justified_step(step.at, &test, &value, &label, before, now),
            });
            before = now;
        }
        if split.limit.abs() > 1e-9 {
            let sentence = if split.limit < 0.0 {
                sentence::justified_ceiling(&label, self.p_ref)
            } else {
                sentence::justified_floor(&label)
            };
            drafts.push(Draft { component, points: split.limit, window: self.end_window(), sentence });
        }
        drafts
    }

    /// A piece of evidence in words: the test, and what it showed.
    fn describe(&self, evidence: &Evidence) -> (String, String) {
        match &evidence.kind {
            EvidenceKind::Level { state, window: span, joint, .. } => {
                let label =
                    self.job.joints.iter().find(|(n, _)| n == joint).map_or(joint.as_str(), |(_, l)| l.as_str());
                let shown = window(self.bay().trace(), &self.bay().trace().mbar, span.0, span.1);
                let value = shown.map_or_else(
                    || "no sample".into(),
                    |w| sentence::pressure(w.level * PA_PER_MBAR, crate::units::PressureUnit::Mbar),
                );
                (format!("{} reading at the {label}", state.word()), value)
            }
            EvidenceKind::Word { what, was, .. } => (perceived_word(*what).into(), (*was).into()),
            EvidenceKind::Number { probe, shown, .. } => {
                let unit = probe.quantity().unit().symbol();
                (format!("{} reading", probe.quantity().word()), format!("{shown:.2} {unit}"))
            }
        }
    }

    fn drafts_measurement(&self, marks: &[ComponentMark]) -> Vec<Draft> {
        let component = Some(Component::Measurement);
        let full = full_points(marks, Component::Measurement);
        if self.readings.is_empty() {
            return vec![Draft {
                component,
                points: 0.0,
                window: self.end_window(),
                sentence: sentence::reading_none(),
            }];
        }
        let scores: Vec<f64> = self.readings.iter().map(|r| r.score.share).collect();
        self.readings
            .iter()
            .zip(split_measurement(full, &scores))
            .map(|(r, points)| Draft {
                component,
                points,
                window: r.window,
                sentence: sentence::reading(r.at, &r.test, Some(r.written), r.shown_pa, &r.score),
            })
            .collect()
    }

    fn drafts_procedure(&self, marks: &[ComponentMark]) -> Vec<Draft> {
        let component = Some(Component::Procedure);
        let full = full_points(marks, Component::Procedure);
        let broken = self.breaches();
        let mut drafts = vec![Draft {
            component,
            points: full,
            window: (0, self.bay().now()),
            sentence: sentence::procedure_start(broken.len()),
        }];
        // the worst first: it is told what it cost although milder ones came before it
        let mut order: Vec<usize> = (0..broken.len()).collect();
        order.sort_by_key(|&i| std::cmp::Reverse(broken[i]));
        let sorted: Vec<Severity> = order.iter().map(|&i| broken[i]).collect();
        for (i, points) in order.into_iter().zip(split_procedure(full, &sorted)) {
            let (breach, severity) = (&self.bay().breaches()[i], &broken[i]);
            drafts.push(Draft {
                component,
                points,
                window: (breach.at, breach.at),
                sentence: sentence::procedure_breach(breach.at, *severity, breach.words.trim_end_matches('.')),
            });
        }
        drafts
    }

    fn draft_calibration(&self, marks: &[ComponentMark]) -> Draft {
        let points = full_points(marks, Component::Calibration) * share_of(marks, Component::Calibration);
        let confidence = self.finding.map_or(0.5, |(f, _)| f64::from(f.confidence) / 100.0);
        Draft {
            component: Some(Component::Calibration),
            points,
            window: self.end_window(),
            sentence: sentence::calibration(confidence, self.belief_in_finding().1, self.material_lines()),
        }
    }

    /// Justified against stated belief, at every line and every statement.
    fn beliefs(&self) -> Vec<BeliefStep> {
        let mut moments: Vec<(Micros, String, Option<usize>)> = vec![(0, "card".into(), None)];
        for (i, step) in self.justified.steps.iter().enumerate() {
            if let Some(evidence) = self.bay().evidence().iter().find(|e| e.line == step.line) {
                let (test, value) = self.describe(evidence);
                moments.push((step.at, format!("line {}: {test}, {value}", step.line), Some(i)));
            }
        }
        for (at, _) in self.bay().statements() {
            moments.push((*at, STATED.into(), None));
        }
        moments.sort_by_key(|m| m.0);
        let mut justified = &self.justified.prior;
        moments
            .into_iter()
            .map(|(at, event, step)| {
                if let Some(i) = step {
                    justified = &self.justified.steps[i].belief;
                }
                let stated = self.bay().statements().iter().rev().find(|(t, _)| *t <= at).map(|(_, points)| {
                    let mut p: Vec<f64> = points.iter().map(|&x| f64::from(x) / 100.0).collect();
                    p.push(0.0);
                    p
                });
                BeliefStep { at, event, justified: justified.clone(), stated }
            })
            .collect()
    }

    /// States that could have been read before the finding and of which nothing was written.
    fn seen_not_recorded(&self) -> Vec<String> {
        let until = counts_until(self.bay());
        let recorded = |at: Micros| self.bay().evidence().iter().any(|e| e.at >= at && e.at < at + 180_000_000);
        let mut fitted = false;
        let mut words = vec![];
        for tick in self.bay().trace().ticks.iter().filter(|t| t.at < until) {
            let seen = match tick.word.as_str() {
                "tee fitted" => {
                    fitted = true;
                    continue;
                }
                "tee out" => {
                    fitted = false;
                    continue;
                }
                "cap open" => "The sound of the filler cap",
                "valve shut" if fitted => "The pull against the shut valve",
                "runs" if fitted => "The running engine",
                "stop" if fitted => "The hold after stopping",
                _ => continue,
            };
            if !recorded(tick.at) {
                words.push(format!("{seen}, from {}.", sentence::clock(tick.at)));
            }
        }
        words
    }

    fn into_mark(self, attempt: &Attempt, trace_hash: String) -> Mark {
        let components = self.components();
        let critical = self.breaches().contains(&Severity::Critical);
        let sum = total(&components, &[], critical);
        let ledger = balance(self.drafts(&components, sum.capped, sum.earned), sum.total);
        let (outcome, reasons) = outcome(&self.standing(&components, sum.total));
        let mut labels: Vec<String> = self.job.candidates.iter().map(|c| c.label.clone()).collect();
        labels.push("None of these".into());
        Mark {
            job: self.job.name.clone(),
            job_hash: self.job.hash.clone(),
            seed: attempt.header().seed,
            attempt_hash: attempt.hash().to_owned(),
            trace_hash,
            engine: env!("CARGO_PKG_VERSION").to_owned(),
            total: (sum.total * 100.0).round() / 100.0,
            outcome,
            reasons,
            components,
            ledger,
            labels,
            beliefs: self.beliefs(),
            submitted: self.finding.map(|(f, d)| (self.job.candidates[d].label.clone(), f.confidence)),
            truth: (
                self.truth.map_or_else(|| "no candidate".into(), |t| self.job.candidates[t].label.clone()),
                self.closed.in_words(),
            ),
            justified_in_finding: self.finding.map(|(_, d)| (self.justified.end()[d], self.justified.error(d))),
            seen_not_recorded: self.seen_not_recorded(),
        }
    }
}

fn share_of(marks: &[ComponentMark], component: Component) -> f64 {
    marks.iter().find(|m| m.component == component).map_or(0.0, |m| m.share)
}

fn window_of(evidence: &Evidence) -> (Micros, Micros) {
    match &evidence.kind {
        EvidenceKind::Level { window, .. } => *window,
        EvidenceKind::Word { .. } | EvidenceKind::Number { .. } => (evidence.at, evidence.at),
    }
}

fn quoted(label: &str) -> String {
    format!("\u{201c}{label}\u{201d}")
}
