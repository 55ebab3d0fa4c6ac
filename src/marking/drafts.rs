//! The lines of the ledger, in exact points, each with its sentence.

use super::case::{Case, share_of};
use super::components::{Severity, economy_lost};
use super::ledger::{Draft, split_choice, split_justified, split_measurement, split_procedure};
use super::mark::quoted;
use super::model::{Component, ComponentMark};
use super::result::{Total, full_points};
use super::sentence::{self, ChoiceWords, Open, RuledOutWords, Sentence};
use crate::bay::action::Micros;
use crate::bay::{Evidence, EvidenceKind};
use crate::fault::{FaultInstance, by_code};
use crate::language::said;
use crate::tell;

/// From this belief on a candidate no longer looks like another.
const SETTLED: f64 = 0.9;

impl Case<'_> {
    pub(super) fn drafts(&self, marks: &[ComponentMark], sum: &Total) -> Vec<Draft> {
        let mut drafts = vec![self.draft_diagnosis(marks)];
        drafts.extend(self.drafts_justified(marks));
        drafts.extend(self.draft_time_up());
        drafts.extend(self.drafts_cited(marks));
        drafts.extend(self.drafts_choice(marks));
        drafts.extend(self.drafts_measurement(marks));
        drafts.extend(self.drafts_procedure(marks));
        drafts.push(self.draft_calibration(marks));
        drafts.extend(self.drafts_economy(marks));
        // a component without weight has neither points nor lines
        drafts.retain(|d| d.component.is_none_or(|c| marks.iter().any(|m| m.component == c)));
        drafts.extend(self.drafts_hints(sum.hints));
        let (capped, earned) = (sum.capped, sum.earned - sum.hints);
        if capped > 0.0 {
            let at = self.bay().now();
            drafts.push(Draft {
                component: None,
                points: -capped,
                window: (at, at),
                sentence: sentence::cap(earned, earned - capped),
                lines: vec![],
            });
        }
        drafts
    }

    /// A line for each hint; together they take no more than there is.
    fn drafts_hints(&self, taken: f64) -> Vec<Draft> {
        let whole = self.hint_points();
        self.bay()
            .hints()
            .iter()
            .map(|&(at, level)| {
                let cost = self.job.rubric.hints.get(usize::from(level) - 1).copied().unwrap_or(0.0);
                let points = if whole > 0.0 { -taken * cost / whole } else { 0.0 };
                Draft {
                    component: None,
                    points,
                    window: (at, at),
                    sentence: sentence::hint(at, level),
                    lines: vec![],
                }
            })
            .collect()
    }

    fn truth_label(&self) -> String {
        self.truth.map_or_else(|| said("marking-uncovered-cause").into(), |t| quoted(&self.job.candidates[t].label))
    }

    fn draft_diagnosis(&self, marks: &[ComponentMark]) -> Draft {
        let full = full_points(marks, Component::Diagnosis);
        let points = full * share_of(marks, Component::Diagnosis);
        let sentence = match self.finding {
            Some((_, d)) => sentence::diagnosis(
                self.matched,
                &quoted(&self.job.candidates[d].label),
                &self.truth_label(),
                self.belief_in_finding().1,
                points,
                full,
            ),
            None => sentence::diagnosis_absent(&self.truth_label()),
        };
        Draft { component: Some(Component::Diagnosis), points, window: self.end_window(), sentence, lines: vec![] }
    }

    fn drafts_justified(&self, marks: &[ComponentMark]) -> Vec<Draft> {
        let component = Some(Component::Justified);
        let full = full_points(marks, Component::Justified);
        let steps: Vec<_> = self.justified.steps.iter().filter(|s| s.material).collect();
        let Some((_, d)) = self.finding.filter(|_| !steps.is_empty()) else {
            let sentence = match self.finding {
                Some((_, d)) => sentence::justified_none(&quoted(&self.job.candidates[d].label)),
                None => sentence::justified_absent(),
            };
            return vec![Draft { component, points: 0.0, window: self.end_window(), sentence, lines: vec![] }];
        };
        let label = self.group_label(d);
        let after: Vec<f64> = steps.iter().map(|s| self.justified.in_group(&s.belief, d)).collect();
        let mut before = self.belief_in_finding().0;
        let split = split_justified(full, before, self.p_ref, &after);
        let mut drafts = vec![];
        for ((step, points), &now) in steps.iter().zip(&split.steps).zip(&after) {
            let Some(evidence) = self.bay().evidence().iter().find(|e| e.line == step.line) else { continue };
            let (test, value) = self.describe(evidence);
            drafts.push(Draft {
                component,
                points: *points,
                window: window_of(evidence),
                sentence: sentence::justified_step(step.at, &test, &value, &label, before, now),
                lines: vec![step.line],
            });
            before = now;
        }
        if split.limit.abs() > 1e-9 {
            let sentence = if split.limit < 0.0 {
                sentence::justified_ceiling(&label, self.p_ref)
            } else {
                sentence::justified_floor(&label)
            };
            drafts.push(Draft {
                component,
                points: split.limit,
                window: self.end_window(),
                sentence,
                lines: vec![],
            });
        }
        drafts
    }

    /// What was read after an assessment's time: said where the belief is told, for it would have moved it.
    fn draft_time_up(&self) -> Option<Draft> {
        let (at, minutes) = self.justified.stopped?;
        let late = self.bay().evidence().iter().filter(|e| e.at > at).map(|e| e.line);
        let lines: Vec<usize> = late.collect();
        Some(Draft {
            component: Some(Component::Justified),
            points: 0.0,
            window: (at, at),
            sentence: sentence::time_up(at, minutes, &lines),
            lines,
        })
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
                lines: vec![],
            }];
        }
        let scores: Vec<f64> = self.readings.iter().map(|r| r.share).collect();
        self.readings
            .iter()
            .zip(split_measurement(full, &scores))
            .map(|(r, points)| Draft {
                component,
                points,
                window: r.window,
                sentence: r.sentence.clone(),
                lines: vec![r.line],
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
            lines: vec![],
        }];
        drafts.extend(self.draft_left());
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
                sentence: sentence::procedure_breach(
                    breach.at,
                    *severity,
                    breach.words.trim_end_matches('.'),
                    points == 0.0,
                ),
                lines: vec![],
            });
        }
        drafts
    }

    /// How the vehicle left, where its cause was neither put right nor proven: told, and no points. What was asked for is
    /// a finding; whoever gets the vehicle back reads it there.
    fn draft_left(&self) -> Option<Draft> {
        let mended = |f: &FaultInstance| by_code(&f.fault).is_none_or(|entry| entry.remedies.is_empty());
        let sentence = if !self.closed.left().iter().all(mended) {
            sentence::left_as_it_came(self.last_repair.is_some())
        } else {
            let since = self.last_repair.filter(|_| !self.closed.faults().iter().all(mended))?;
            let ran = self.bay().trace().ticks.iter().any(|t| t.at >= since && t.word == "runs");
            if ran {
                return None;
            }
            sentence::left_unproven()
        };
        let at = self.bay().now();
        Some(self.line(Component::Procedure, 0.0, (at, at), sentence))
    }

    fn draft_calibration(&self, marks: &[ComponentMark]) -> Draft {
        let points = full_points(marks, Component::Calibration) * share_of(marks, Component::Calibration);
        let confidence = self.finding.map_or(0.5, |(f, _)| f64::from(f.confidence) / 100.0);
        Draft {
            component: Some(Component::Calibration),
            points,
            window: self.end_window(),
            sentence: sentence::calibration(confidence, self.belief_in_finding().1, self.material_lines()),
            lines: vec![],
        }
    }

    fn line(&self, component: Component, points: f64, window: (Micros, Micros), sentence: Sentence) -> Draft {
        Draft { component: Some(component), points, window, sentence, lines: vec![] }
    }

    /// A candidate, with those that no test of the job tells from it: belief is theirs together.
    fn group_label(&self, d: usize) -> String {
        let groups = &self.justified.groups;
        let others = (0..self.job.candidates.len()).filter(|&h| h != d && groups[h] == groups[d]);
        let all = core::iter::once(d).chain(others).map(|h| quoted(&self.job.candidates[h].label));
        all.collect::<Vec<_>>().join(said("marking-or"))
    }

    fn finding_label(&self) -> String {
        self.finding
            .map_or_else(|| said("marking-any-finding").to_owned(), |(_, d)| quoted(&self.job.candidates[d].label))
    }

    fn drafts_cited(&self, marks: &[ComponentMark]) -> Vec<Draft> {
        let component = Component::Cited;
        let full = full_points(marks, component);
        let (label, split) = (self.finding_label(), self.cited());
        let citations = self.citations();
        if citations.is_empty() && self.ruled_out.is_empty() {
            return vec![self.line(component, 0.0, self.end_window(), sentence::cited_none(&label))];
        }
        let mut drafts = vec![];
        for citation in citations {
            let share = split.readings.iter().find(|(l, _)| *l as usize == citation.line).map_or(0.0, |(_, s)| *s);
            let evidence = self.bay().evidence().iter().find(|e| e.line == citation.line);
            let test = evidence.map_or_else(String::new, |e| {
                let (test, value) = self.describe(e);
                format!("{test}, {value}")
            });
            let (said, unsaid): (Vec<usize>, Vec<usize>) =
                citation.out.iter().partition(|&h| self.ruled_out.iter().any(|(rival, _)| rival == h));
            let labels =
                |out: &[usize]| out.iter().map(|&h| quoted(&self.job.candidates[h].label)).collect::<Vec<_>>();
            let out = (labels(&said), labels(&unsaid));
            let valid = !citation.out.is_empty() || citation.bans.is_some_and(|w| w >= self.rules.support_bans);
            drafts.push(Draft {
                component: Some(component),
                points: full * share,
                window: evidence.map_or(self.end_window(), window_of),
                sentence: if self.slips.contains_key(&citation.line) && !citation.late {
                    sentence::cited_slip(citation.line, &test, &label)
                } else if citation.late {
                    sentence::cited_late(citation.line, &test, &label)
                } else if !valid && citation.place && citation.bans.is_some_and(|w| w > -0.3) {
                    sentence::cited_place(citation.line, &test, &label)
                } else {
                    sentence::cited(citation.line, &test, &label, citation.bans, (&out.0, &out.1), valid)
                },
                lines: vec![citation.line],
            });
        }
        for ((against, (_, lines)), share) in self.against().iter().zip(&self.ruled_out).zip(&split.against) {
            let first = self.bay().evidence().iter().find(|e| lines.contains(&e.line));
            let words = RuledOutWords {
                rival: &quoted(&self.job.candidates[against.rival].label),
                d: &label,
                lines,
                verdict: against.verdict(&self.rules),
                bans: against.bans,
                counts: self.rivals.contains(&against.rival),
                idle: (&against.silent, &against.contrary),
            };
            drafts.push(Draft {
                component: Some(component),
                points: full * share,
                window: first.map_or(self.end_window(), window_of),
                sentence: sentence::ruled_out(&words),
                // it rests on those that bear it
                lines: lines
                    .iter()
                    .copied()
                    .filter(|l| !against.silent.contains(l) && !against.contrary.contains(l))
                    .collect(),
            });
        }
        if split.limit.abs() > 1e-9 {
            let sentence = sentence::cited_limit(split.limit < 0.0, split.share > 1.0 - 1e-9);
            drafts.push(self.line(component, full * split.limit, self.end_window(), sentence));
        }
        drafts
    }

    /// How likely the evidence made a candidate before these lines were read.
    fn believed_before(&self, lines: &[usize], candidate: usize) -> f64 {
        let first = lines.iter().min().copied().unwrap_or(usize::MAX);
        let before =
            self.justified.steps.iter().rfind(|s| s.line < first).map_or(&self.justified.prior, |s| &s.belief);
        before.get(candidate).copied().unwrap_or(0.0)
    }

    /// A candidate of the job has several places that can be told apart.
    fn has_places(&self) -> bool {
        let groups = |of: &[usize]| of.iter().max().map_or(0, |g| g + 1);
        let all = self.justified.outcome.as_ref();
        all.is_some_and(|o| groups(&o.places) > groups(&self.justified.groups))
    }

    fn progress_in_words(&self, template: &'static str, g: f64) -> Sentence {
        let ended = &self.justified.ended;
        // the likeliest, and of equals the first: the one that `placed` tells of
        let named = 0..self.job.candidates.len();
        let likeliest = named.reduce(|a, b| if ended.belief[b] > ended.belief[a] { b } else { a });
        let placed = ended.placed.as_ref().zip(likeliest).map(|(p, h)| {
            let at: Vec<String> = p.at.iter().map(|name| self.job.place_label(name)).collect();
            (quoted(&self.job.candidates[h].label), at.join(" / "), p.share)
        });
        let placed = placed.as_ref().map(|(cause, at, share)| (cause.as_str(), at.as_str(), *share));
        sentence::progress(template, g, self.has_places().then_some(placed))
    }

    fn drafts_choice(&self, marks: &[ComponentMark]) -> Vec<Draft> {
        let component = Component::Choice;
        let full = full_points(marks, component);
        let moves = &self.justified.moves;
        if moves.is_empty() {
            return vec![self.line(component, 0.0, self.end_window(), sentence::choice_none())];
        }
        let g = self.progress();
        let wasted: Vec<f64> = moves.iter().map(|m| m.wasted).collect();
        let split = split_choice(full, g, self.choice_lost(), &wasted);
        let slips = wasted.iter().filter(|w| **w > 0.0).count();
        let whole = (0, self.end_window().1);
        let start = sentence::choice_start(slips, self.job.lookahead);
        let mut drafts = vec![self.line(component, full, whole, start)];
        if g < 1.0 {
            let sentence = self.progress_in_words("choice.progress", g);
            drafts.push(self.line(component, split.progress, self.end_window(), sentence));
        }
        for (m, points) in moves.iter().zip(split.items).filter(|(m, _)| m.wasted > 0.0) {
            let (rate, best) = ((m.bits + m.opened) / m.minutes, m.best.bits / m.best.minutes);
            let label = |i: usize| {
                m.best.between.get(i).map_or_else(String::new, |&h| quoted(&self.job.candidates[h].label))
            };
            let (likeliest, second) = (label(0), label(1));
            let known = m.best.between.first().map_or(0.0, |&h| self.believed_before(&m.lines, h));
            let words = ChoiceWords {
                at: m.window.1,
                minutes: m.minutes,
                test: &self.lines_in_words(&m.lines),
                best: &tell!("marking-the-test", test = m.best.words),
                times: (rate > 0.0).then(|| best / rate),
                made: m.best.made.then_some(m.best.minutes),
                open: match m.best.between.len() {
                    1 => Open::Place(&likeliest),
                    _ if known >= SETTLED => Open::Little(&likeliest, known, &second),
                    _ => Open::Between(&likeliest, &second),
                },
                material: m.material,
                forgiven: points.abs() < 0.005,
            };
            drafts.push(Draft {
                component: Some(component),
                points,
                window: m.window,
                sentence: sentence::choice(&words),
                lines: m.lines.clone(),
            });
        }
        drafts
    }

    fn drafts_economy(&self, marks: &[ComponentMark]) -> Vec<Draft> {
        let component = Component::Economy;
        let full = full_points(marks, component);
        let g = self.progress();
        let whole = (0, self.end_window().1);
        let part = |p: &super::parts::Replaced, points: f64| {
            let sentence = sentence::part(p.at, &p.label, p.price, p.sound, p.early, p.again);
            self.line(component, points, (p.at, p.at), sentence)
        };
        let telling = self.parts.iter().filter(|p| p.sound || p.early);
        if g <= 0.0 {
            let mut drafts = vec![self.line(component, 0.0, whole, sentence::economy_none())];
            drafts.extend(telling.map(|p| part(p, 0.0)));
            return drafts;
        }
        let par = self.par_minutes();
        let needless = self.needless_price();
        let (parts, minutes) = economy_lost(needless, self.right_price, self.net_minutes, par);
        let mut drafts = vec![self.line(component, full, whole, sentence::economy_start())];
        if g < 1.0 {
            let sentence = self.progress_in_words("economy.progress", g);
            drafts.push(self.line(component, -full * (1.0 - g), self.end_window(), sentence));
        }
        for p in telling {
            let share = if p.sound && needless > 0.0 { p.price / needless } else { 0.0 };
            drafts.push(part(p, -full * g * parts * share));
        }
        let sentence = sentence::minutes(self.net_minutes, par);
        drafts.push(self.line(component, -full * g * minutes, whole, sentence));
        drafts
    }
}

fn window_of(evidence: &Evidence) -> (Micros, Micros) {
    match &evidence.kind {
        EvidenceKind::Level { window, .. } => *window,
        EvidenceKind::Word { .. } | EvidenceKind::Number { .. } => (evidence.at, evidence.at),
    }
}
