//! The learner's paper: test sheet, readings along the line, predictions, finding with its evidence and
//! its rivals.

use super::{Sat, clean, section};
use crate::analysis::window::window;
use crate::bay::EvidenceKind;
use crate::bay::action::{RuledOut, State, Verdict};
use crate::bay::observation::SheetLine;
use crate::marking::model::BeliefStep;
use crate::marking::sentence::{clock, in_100, number};
use crate::report::document::{Block, Cell, Holds, Section, Table, Tone, text};
use crate::report::plot::profile::{Point, profile};

/// A verdict with its sign.
fn verdict(verdict: Verdict) -> Cell {
    let sign = match verdict {
        Verdict::Within => "●",
        Verdict::Outside => "▲",
        Verdict::NotProven => "◐",
        Verdict::Invalid => "✕",
    };
    Cell::signed(sign, verdict.words())
}

impl Sat<'_> {
    /// Name and label of the joint that a line was read at.
    fn joint(&self, line: usize) -> Option<(&str, &str)> {
        let evidence = self.bay.evidence().iter().find(|e| e.line == line)?;
        let EvidenceKind::Level { joint, .. } = &evidence.kind else { return None };
        let label = self.job.joints.iter().find(|(name, _)| name == joint).map_or(joint.as_str(), |(_, l)| l);
        Some((joint, label))
    }

    /// What the gauge showed over the window of a line, mbar gauge.
    fn shown(&self, line: &SheetLine) -> Option<f64> {
        line.state?;
        window(self.bay.trace(), &self.bay.trace().mbar, line.window.0, line.window.1).map(|w| w.level)
    }

    fn card(&self, line: usize, state: Option<State>) -> String {
        state
            .zip(self.joint(line))
            .and_then(|(state, (joint, _))| self.job.limit(joint, state))
            .map_or("–".to_owned(), |l| format!("{} to {}", number(l.low_mbar, 0), number(l.high_mbar, 0)))
    }

    fn sheet_table(&self, caption: &str, lines: &[(usize, &SheetLine)]) -> Table {
        let mut table = Table::new(
            caption,
            &[
                ("Line", Holds::Figures, 0.8),
                ("Time", Holds::Figures, 1.5),
                ("Reading", Holds::Words, 1.7),
                ("At", Holds::Words, 1.8),
                ("Written", Holds::Figures, 1.8),
                ("Gauge", Holds::Figures, 1.1),
                ("Card", Holds::Figures, 2.2),
                ("Verdict", Holds::Words, 1.9),
                ("Source, remark", Holds::Words, 2.2),
            ],
        );
        for &(n, line) in lines {
            let said = [&line.source, &line.remark].map(|t| clean(t.trim()));
            let said: Vec<String> = said.into_iter().filter(|t| !t.is_empty()).collect();
            table.row([
                Cell::from(n.to_string()),
                clock(line.at).into(),
                clean(&line.subject).into(),
                self.joint(n).map_or("–".to_owned(), |(_, label)| clean(label)).into(),
                clean(&line.entry).into(),
                self.shown(line).map_or("–".to_owned(), |v| number(v, 0)).into(),
                self.card(n, line.state).into(),
                line.verdict.map_or(Cell::from("–"), verdict),
                said.join("; ").into(),
            ]);
        }
        table
    }

    pub(super) fn sheet(&self) -> Section {
        let until = self.counts_until();
        let (before, after): (Vec<_>, Vec<_>) = (1..).zip(self.bay.sheet()).partition(|(_, l)| l.at <= until);
        let mut blocks = vec![];
        if before.is_empty() && after.is_empty() {
            blocks.push(text(Tone::Plain, "Nothing was written on the test sheet."));
        } else {
            blocks.push(text(
                Tone::Quiet,
                "“Written” is the learner's; “Gauge” is what the instrument showed over the same moments, and “Card” \
                 the healthy range on the vehicle card, both in mbar gauge. Verdict and source are the learner's.",
            ));
        }
        if !before.is_empty() {
            blocks.push(Block::Table(
                self.sheet_table("Before the finding and before any part was touched", &before),
            ));
        }
        if !after.is_empty() {
            blocks.push(Block::Table(
                self.sheet_table("After that: recorded, but no evidence for the finding", &after),
            ));
        }
        if !self.mark.seen_not_recorded.is_empty() {
            blocks.push(Block::Heading { text: "Seen on the screen, not recorded".to_owned() });
            blocks.push(text(Tone::Quiet, "What isn't written down counts for nothing."));
            blocks.push(Block::List { items: self.mark.seen_not_recorded.iter().map(|w| clean(w)).collect() });
        }
        section("sheet", "The test sheet", blocks)
    }

    pub(super) fn along_the_line(&self) -> Option<Section> {
        let until = self.counts_until();
        let points: Vec<Point> = (1..)
            .zip(self.bay.sheet())
            .filter_map(|(n, line)| {
                let (joint, _) = self.joint(n)?;
                let mbar = self.shown(line)?;
                Some(Point { state: line.state?, joint: joint.to_owned(), mbar, later: line.at > until, line: n })
            })
            .collect();
        let figures: Vec<Block> = State::ALL
            .into_iter()
            .filter_map(|state| profile(self.job, state, &points))
            .map(Block::Figure)
            .collect();
        if figures.is_empty() {
            return None;
        }
        let words = "Recorded readings over the joints in the order of flow, in mbar gauge. Shaded: the card's range. \
                     Full dots were read before the finding, open ones after it. Where the step between two joints is \
                     larger than between the shaded ranges, something between them drops pressure.";
        let blocks = [text(Tone::Quiet, words)].into_iter().chain(figures).collect();
        Some(section("line", "Along the line", blocks))
    }

    pub(super) fn predictions(&self) -> Option<Section> {
        if self.bay.predictions().is_empty() {
            return None;
        }
        let mut table = Table::new(
            "Predictions and the next reading of the same kind",
            &[
                ("Said at", Holds::Figures, 1.3),
                ("Test", Holds::Words, 1.4),
                ("If it were", Holds::Words, 3.4),
                ("Expected, mbar", Holds::Figures, 2.0),
                ("Then the gauge showed", Holds::Words, 2.8),
            ],
        );
        for (at, p) in self.bay.predictions() {
            let candidate = p.candidate.as_deref().map_or("–".to_owned(), |name| {
                self.job.candidate(name).map_or_else(|| clean(name), |c| clean(&c.label))
            });
            let next = (1..).zip(self.bay.sheet()).find(|(_, l)| l.at >= *at && l.state == Some(p.state));
            let came = match next.and_then(|(n, l)| Some((n, self.shown(l)?))) {
                Some((n, v)) => {
                    let inside = if (p.low_mbar..=p.high_mbar).contains(&v) { "inside" } else { "outside" };
                    format!("{}, {inside} (line {n})", number(v, 0))
                }
                None => "not read".to_owned(),
            };
            table.row([
                Cell::from(clock(*at)),
                p.state.word().into(),
                candidate.into(),
                format!("{} to {}", number(p.low_mbar, 0), number(p.high_mbar, 0)).into(),
                came.into(),
            ]);
        }
        let words = "A prediction earns nothing by itself. It shows which reading was expected under which cause, before \
                     the test was made.";
        Some(section("predictions", "Predictions", vec![text(Tone::Quiet, words), Block::Table(table)]))
    }

    pub(super) fn finding(&self) -> Section {
        let fact = |name: &str, value: String| (name.to_owned(), value);
        let mut blocks = vec![];
        match (self.bay.finding(), self.bay.submitted_at()) {
            (Some(finding), Some(at)) => {
                let label = self.job.candidate(&finding.candidate).map_or(finding.candidate.as_str(), |c| &c.label);
                let mut rows = vec![fact(
                    "Cause named",
                    format!("{}, {} in 100 sure, at {}", clean(label), finding.confidence, clock(at)),
                )];
                let words = clean(finding.words.trim());
                rows.push(fact("In the learner's words", if words.is_empty() { "none".into() } else { words }));
                blocks.push(Block::Facts { rows });
                let cited: Vec<String> = finding.evidence.iter().map(|&n| self.cited(n)).collect();
                if cited.is_empty() {
                    blocks.push(text(Tone::Plain, "No line of the sheet was cited for it."));
                } else {
                    blocks.push(text(Tone::Plain, "Lines of the sheet cited for it:"));
                    blocks.push(Block::List { items: cited });
                }
                let out: Vec<String> = finding.ruled_out.iter().map(|out| self.ruled_out(out)).collect();
                if !out.is_empty() {
                    blocks.push(text(Tone::Plain, "Held to be ruled out:"));
                    blocks.push(Block::List { items: out });
                }
            }
            _ => blocks.push(text(Tone::Plain, "No finding was submitted.")),
        }
        if let Some(table) = self.rivals() {
            blocks.push(Block::Heading { text: "The finding and its rivals".to_owned() });
            if let Some(words) = self.mark.counted_words() {
                blocks
                    .push(text(Tone::Quiet, format!("Each stands by itself here; in the mark {}", clean(&words))));
            }
            blocks.push(Block::Table(table));
        }
        section("finding", "The finding", blocks)
    }

    fn cited(&self, n: usize) -> String {
        let Some(line) = n.checked_sub(1).and_then(|i| self.bay.sheet().get(i)) else {
            return format!("Line {n}: not on the sheet");
        };
        let place = self.joint(n).map_or(String::new(), |(_, label)| format!(" at the {}", clean(label)));
        format!("Line {n}: {}{place}, {}", clean(&line.subject), clean(&line.entry))
    }

    fn ruled_out(&self, out: &RuledOut) -> String {
        let label = self.job.candidate(&out.candidate).map_or(out.candidate.as_str(), |c| &c.label);
        let lines: Vec<String> = out.lines.iter().map(usize::to_string).collect();
        format!("{}, by line {}", clean(label), lines.join(" and line "))
    }

    fn rivals(&self) -> Option<Table> {
        let (first, last) = self.mark.beliefs.first().zip(self.mark.beliefs.last())?;
        let mut table = Table::new(
            "Each candidate before any test, as stated last, and as the evidence justifies",
            &[
                ("Candidate", Holds::Words, 4.6),
                ("Before", Holds::Figures, 1.8),
                ("Stated last", Holds::Figures, 1.8),
                ("Justified", Holds::Figures, 2.8),
                ("Which it is", Holds::Words, 2.4),
            ],
        );
        let at = |step: &BeliefStep, k: usize| step.justified.get(k).map_or("–".to_owned(), |&p| in_100(p));
        for (k, label) in self.mark.labels.iter().enumerate() {
            let stated = last.stated.as_ref().and_then(|s| s.get(k)).map_or("–".to_owned(), |&p| in_100(p));
            let named = self.mark.submitted.as_ref().is_some_and(|(l, _)| l == label);
            let which = match (named, self.mark.truth.0 == *label) {
                (true, true) => "named, and it was",
                (true, false) => "named",
                (false, true) => "it was this",
                (false, false) => "",
            };
            table.row([
                Cell::from(clean(label)),
                at(first, k).into(),
                stated.into(),
                at(last, k).into(),
                which.into(),
            ]);
        }
        Some(table)
    }
}
