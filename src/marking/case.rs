//! Everything that a mark is made of, and the shares that follow from it.

use std::collections::BTreeMap;

use super::claims::{Against, Cited, ClaimRules, ClaimSplit, Claims, claim_of_line, split_claims, weight_bans};
use super::components::{Match, Severity, choice, choice_lost, diagnosis, economy, procedure};
use super::faithful::Slip;
use super::mark::Scored;
use super::model::{Component, ComponentMark};
use super::parts::Replaced;
use super::readings::measurement;
use super::result::{CRITICAL_CAP, Gated, Standing, Total, total_with};
use super::sentence;
use super::tabled::Formulas;
use crate::analysis::window::window;
use crate::bay::action::{Finding, Micros, State};
use crate::bay::observation::BreachClass;
use crate::bay::truth::Closed;
use crate::bay::{Bay, Evidence, EvidenceKind};
use crate::diagnosis::belief::jackknife_error;
use crate::diagnosis::ensemble::perceived_word;
use crate::diagnosis::justify::{Ended, Justified};
use crate::language::said;
use crate::scenario::model::Job;
use crate::tell;
use crate::units::PA_PER_MBAR;

/// Shortest par time that anything is held against, min.
const SHORTEST_PAR: f64 = 0.25;

/// Everything a mark is made of, before points.
pub(super) struct Case<'a> {
    pub(super) job: &'a Job,
    pub(super) closed: &'a Closed,
    pub(super) justified: Justified,
    /// The finding and its candidate.
    pub(super) finding: Option<(&'a Finding, usize)>,
    pub(super) matched: Match,
    /// Rivals that the finding says are ruled out, by candidate, each with its lines.
    pub(super) ruled_out: Vec<(usize, Vec<usize>)>,
    /// What is wrong with lines of the sheet.
    pub(super) slips: BTreeMap<usize, Slip>,
    /// Candidate that the (first) truth belongs to.
    pub(super) truth: Option<usize>,
    /// Belief that earns full J.
    pub(super) p_ref: f64,
    pub(super) readings: Vec<Scored>,
    pub(super) parts: Vec<Replaced>,
    pub(super) right_price: f64,
    /// When a part was worked on last.
    pub(super) last_repair: Option<Micros>,
    pub(super) net_minutes: f64,
    pub(super) rules: ClaimRules,
    pub(super) rivals: Vec<usize>,
    /// The formulas; other ones only to try whether a broken one would be noticed.
    pub(super) formulas: Formulas,
}

/// A line that was named for the finding.
pub(super) struct Citation {
    pub(super) line: usize,
    /// Weight in favour, bans; `None` where the line is no evidence.
    pub(super) bans: Option<f64>,
    /// Rivals that it rules out.
    pub(super) out: Vec<usize>,
    /// It tells two places of the finding apart.
    pub(super) place: bool,
    /// It came when it could change nothing any more.
    pub(super) late: bool,
}

impl Case<'_> {
    pub(super) fn bay(&self) -> &Bay {
        self.closed.bay()
    }

    /// Belief in the finding's group: before, at the end.
    pub(super) fn belief_in_finding(&self) -> (f64, f64) {
        self.finding.map_or((0.0, 0.0), |(_, d)| {
            let of = |belief: &[f64]| self.justified.in_group(belief, d);
            (of(&self.justified.prior), of(self.justified.end()))
        })
    }

    pub(super) fn material_lines(&self) -> usize {
        self.justified.steps.iter().filter(|s| s.material).count()
    }

    pub(super) fn breaches(&self) -> Vec<Severity> {
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

    /// J from a final belief.
    fn share_j(&self, end: &[f64]) -> f64 {
        match self.finding {
            Some((_, d)) if self.material_lines() > 0 => {
                let right = self.matched == Match::SameGroup;
                let borne = self.justified.in_group(end, d);
                let p = borne + self.formulas.surer * (1.0 - borne);
                (self.formulas.justified)(p, self.belief_in_finding().0, self.p_ref, right)
            }
            _ => 0.0,
        }
    }

    /// G from what is open at the end, bits.
    fn progress_to(&self, left_bits: f64) -> f64 {
        let all = self.justified.outcome.as_ref();
        all.map_or((self.formulas.progress)(0.0, 0.0, 0.0), |all| {
            (self.formulas.progress)(self.justified.prior_bits, left_bits, all.entropy_bits)
        })
    }

    /// G.
    pub(super) fn progress(&self) -> f64 {
        self.progress_to(self.justified.ended.entropy_bits)
    }

    pub(super) fn par_minutes(&self) -> f64 {
        self.justified.outcome.as_ref().map_or(SHORTEST_PAR, |o| o.par_minutes.max(SHORTEST_PAR))
    }

    pub(super) fn wasted(&self) -> f64 {
        // an empty sum of floats is −0
        (self.formulas.waste)(&self.justified.moves.iter().map(|m| m.wasted).collect::<Vec<_>>()) + 0.0
    }

    /// Share of S that waste takes, before G.
    pub(super) fn choice_lost(&self) -> f64 {
        choice_lost(self.wasted(), self.par_minutes())
    }

    pub(super) fn needless_price(&self) -> f64 {
        self.parts.iter().filter(|p| p.sound).map(|p| p.price).sum::<f64>() + 0.0
    }

    /// Lines named for the finding, once each.
    pub(super) fn citations(&self) -> Vec<Citation> {
        let Some((finding, d)) = self.finding else { return vec![] };
        let mut lines = finding.evidence.clone();
        lines.sort_unstable();
        lines.dedup();
        lines
            .into_iter()
            .map(|line| {
                let step = self.justified.steps.iter().find(|s| s.line == line);
                let Some(step) = step else {
                    return Citation { line, bans: None, out: vec![], place: false, late: false };
                };
                if !step.material {
                    // it entered no belief, so it says nothing either way, and naming it is no slip
                    return Citation { line, bans: Some(0.0), out: vec![], place: false, late: true };
                }
                if self.slips.contains_key(&line) {
                    // what is written there isn't what was read
                    return Citation { line, bans: Some(0.0), out: vec![], place: false, late: false };
                }
                let weigh = |cited| weight_bans(cited, d, &self.justified.prior, &step.log_like);
                let bans = weigh(Cited::Supports);
                let out =
                    self.rivals.iter().copied().filter(|&h| weigh(Cited::RulesOut(h)) >= self.rules.rule_out_bans);
                let out = if bans <= -0.3 { vec![] } else { out.collect() };
                let place = step.places[d] / core::f64::consts::LN_10 >= self.rules.rule_out_bans;
                Citation { line, bans: Some(bans), out, place, late: false }
            })
            .collect()
    }

    /// Rivals that the finding says are ruled out, with what the lines named for it weigh. What a line says against a
    /// rival doesn't hang on what was known before it, so one that came too late to move any belief bears it as well;
    /// but who found out nothing has ruled out nothing.
    pub(super) fn against(&self) -> Vec<Against> {
        let Some((_, d)) = self.finding.filter(|_| self.material_lines() > 0) else { return vec![] };
        let weigh = |rival, like: &[f64]| weight_bans(Cited::RulesOut(rival), d, &self.justified.prior, like);
        let claims = self.ruled_out.iter().zip(&self.justified.together);
        claims
            .map(|((rival, lines), together)| {
                let each: Vec<(usize, f64)> = lines
                    .iter()
                    .filter_map(|line| self.justified.steps.iter().find(|s| s.line == *line && !s.repeat))
                    .map(|s| {
                        (s.line, if self.slips.contains_key(&s.line) { 0.0 } else { weigh(*rival, &s.log_like) })
                    })
                    .collect();
                let all_slips = !each.is_empty() && each.iter().all(|(line, _)| self.slips.contains_key(line));
                let together = together.as_ref().map(|like| weigh(*rival, like));
                Against::new(*rival, if all_slips { Some(0.0) } else { together }, &each)
            })
            .collect()
    }

    /// X with what each line adds.
    pub(super) fn cited(&self) -> ClaimSplit {
        let citations = self.citations();
        let lines = citations
            .iter()
            .filter_map(|c| {
                claim_of_line(&self.rules, c.line as u32, c.bans, !c.out.is_empty() || c.place || c.late)
            })
            .collect();
        let unsaid = citations.iter().flat_map(|c| c.out.iter().map(|&h| (c.line as u32, h))).collect();
        split_claims(&self.rules, &Claims { lines, against: self.against(), unsaid }, &self.rivals)
    }

    /// The components that an end gives.
    pub(super) fn components(&self, ended: &Ended) -> Vec<ComponentMark> {
        let end = &ended.belief;
        let rubric = &self.job.rubric;
        let belief = self.finding.map_or(0.0, |(_, d)| self.justified.in_group(end, d));
        let (j, g, par) = (self.share_j(end), self.progress_to(ended.entropy_bits), self.par_minutes());
        let scores: Vec<f64> = self.readings.iter().map(|s| s.share).collect();
        let c = self.finding.map_or(0.0, |(f, _)| {
            (self.formulas.calibration)(f64::from(f.confidence) / 100.0, belief, self.material_lines())
        });
        let part = |component, share, weight| ComponentMark { component, share, weight };
        let mut marks = vec![
            part(Component::Diagnosis, diagnosis(self.matched, j), rubric.diagnosis),
            part(Component::Justified, j, rubric.justified),
            part(Component::Cited, self.cited().share, rubric.cited),
            part(Component::Choice, choice(g, self.wasted(), par), rubric.choice),
            part(Component::Measurement, measurement(&scores), rubric.measurement),
            part(Component::Procedure, procedure(&self.breaches()), rubric.procedure),
            part(Component::Calibration, c, rubric.calibration),
            part(
                Component::Economy,
                economy(g, self.needless_price(), self.right_price, self.net_minutes, par),
                rubric.economy,
            ),
        ];
        // weights are told as points of 100; what has no weight isn't part of this mark scheme
        marks.retain(|m| m.weight > 0.0);
        let whole: f64 = marks.iter().map(|m| m.weight).sum();
        for m in &mut marks {
            m.weight *= 100.0 / whole;
        }
        marks
    }

    pub(super) fn total(&self, marks: &[ComponentMark]) -> Total {
        let critical = self.breaches().contains(&Severity::Critical);
        total_with(
            marks,
            self.hint_points(),
            critical.then_some(self.job.rubric.critical_cap.max(self.formulas.critical_cap - CRITICAL_CAP)),
        )
    }

    /// Points that the hints take; none outside practice, where there are none.
    pub(super) fn hint_points(&self) -> f64 {
        let cost = |&(_, level): &(Micros, u8)| self.job.rubric.hints.get(usize::from(level) - 1).copied();
        self.bay().hints().iter().filter_map(cost).sum::<f64>() + 0.0
    }

    /// Standard error of the total, and everything that decides how it came out.
    pub(super) fn standing(&self, marks: &[ComponentMark], total: f64) -> (f64, Standing) {
        let rubric = &self.job.rubric;
        let (_, end) = self.belief_in_finding();
        let left_out = &self.justified.left_out;
        let j_error = jackknife_error(&left_out.iter().map(|e| self.share_j(&e.belief)).collect::<Vec<_>>());
        let totals: Vec<f64> = left_out.iter().map(|b| self.total(&self.components(b)).total).collect();
        let total_error = jackknife_error(&totals);
        let floors = Component::ALL.map(|c| (c, c.floor(rubric)));
        let standing = Standing {
            total: Gated { value: total, error: total_error },
            cut: rubric.cut,
            justified: Gated { value: self.share_j(self.justified.end()), error: j_error },
            belief: Gated { value: end, error: self.finding.map_or(0.0, |(_, d)| self.justified.error(d)) },
            matched: self.matched.share(),
            critical: self.breaches().contains(&Severity::Critical),
            floors: floors
                .into_iter()
                .filter(|(c, floor)| *floor > 0.0 && marks.iter().any(|m| m.component == *c))
                .map(|(c, floor)| (c, share_of(marks, c), floor))
                .collect(),
            truth_belief: self.truth.map_or(0.0, |t| self.justified.in_group(self.justified.end(), t)),
            readings_right: !self.readings.is_empty() && self.readings.iter().all(|r| r.right),
            none_leads: {
                let end = self.justified.end();
                let none = end[end.len() - 1];
                end[..end.len() - 1].iter().all(|&p| p < none)
            },
        };
        (total_error, standing)
    }

    /// What the job calls a joint.
    fn joint_label<'j>(&'j self, joint: &'j str) -> &'j str {
        self.job.joints.iter().find(|(name, _)| name == joint).map_or(joint, |(_, label)| label)
    }

    /// A piece of evidence in words: the test, and what it showed.
    pub(super) fn describe(&self, evidence: &Evidence) -> (String, String) {
        match &evidence.kind {
            EvidenceKind::Level { state, window: span, joint, .. } => {
                let label = self.joint_label(joint);
                let shown = window(self.bay().trace(), &self.bay().trace().mbar, span.0, span.1);
                let value = shown.map_or_else(
                    || said("marking-no-sample").into(),
                    |w| sentence::pressure(w.level * PA_PER_MBAR, crate::units::PressureUnit::Mbar),
                );
                let test = match self.slips.get(&evidence.line) {
                    Some(Slip::State { rpm, .. }) => sentence::reading_otherwise(*rpm, label),
                    _ => tell!("marking-reading-at", state = state.of_reading(), label = label),
                };
                (test, value)
            }
            EvidenceKind::Word { what, was, .. } => (perceived_word(*what).into(), (*was).into()),
            EvidenceKind::Number { probe, shown, .. } => {
                let unit = probe.quantity().unit().symbol();
                let decimals = if shown.abs() < 100.0 { 2 } else { 0 };
                (probe.quantity().reading().to_owned(), format!("{} {unit}", sentence::number(*shown, decimals)))
            }
        }
    }

    /// Lines of the sheet in words: "the idle reading at the filter outlet and the look at the glass"; for
    /// more than three tests "the run at the filter outlet".
    pub(super) fn lines_in_words(&self, lines: &[usize]) -> String {
        let named: Vec<&Evidence> = self.bay().evidence().iter().filter(|e| lines.contains(&e.line)).collect();
        let mut words: Vec<String> = vec![];
        for evidence in &named {
            let test = tell!("marking-the-test", test = self.describe(evidence).0);
            if !words.contains(&test) {
                words.push(test);
            }
        }
        let read: Vec<(State, &str)> = named
            .iter()
            .filter_map(|e| match &e.kind {
                EvidenceKind::Level { state, joint, .. } => Some((*state, joint.as_str())),
                EvidenceKind::Word { .. } | EvidenceKind::Number { .. } => None,
            })
            .collect();
        if let Some(&(_, joint)) = read.first() {
            let label = self.joint_label(joint);
            if words.len() > 3 {
                return tell!("marking-the-run-at", label = label);
            }
            let mut states: Vec<&str> = vec![];
            for (state, _) in &read {
                if !states.contains(&state.of_reading()) {
                    states.push(state.of_reading());
                }
            }
            if read.len() == named.len()
                && read.iter().all(|r| r.1 == joint)
                && let [first @ .., last] = &states[..]
                && !first.is_empty()
            {
                return tell!("marking-readings-at", states = first.join(", "), last = last, label = label);
            }
        }
        let last = words.pop().unwrap_or_default();
        if words.is_empty() { last } else { tell!("marking-and", first = words.join(", "), last = last) }
    }

    pub(super) fn end_window(&self) -> (Micros, Micros) {
        let at = self.bay().submitted_at().unwrap_or(self.bay().now());
        (at, at)
    }
}

pub(super) fn share_of(marks: &[ComponentMark], component: Component) -> f64 {
    marks.iter().find(|m| m.component == component).map_or(0.0, |m| m.share)
}
