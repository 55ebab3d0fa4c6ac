//! The learner's paper: test sheet, readings along the line, predictions, finding with its evidence and
//! its rivals.

use super::{Sat, clean, section, typed};
use crate::analysis::window::window;
use crate::bay::action::{RuledOut, State, Verdict};
use crate::bay::observation::SheetLine;
use crate::bay::{EvidenceKind, as_written};
use crate::language::{named, said};
use crate::marking::model::BeliefStep;
use crate::marking::sentence::{clock, in_100, number};
use crate::report::document::{Block, Cell, Holds, Section, Table, Tone, text};
use crate::report::plot::profile::{Point, profile};
use crate::tell;

/// A verdict with its sign.
fn verdict(verdict: Verdict) -> Cell {
    let sign = match verdict {
        Verdict::Within => "●",
        Verdict::Outside => "▲",
        Verdict::NotProven => "◐",
        Verdict::Invalid => "✕",
    };
    Cell::signed(sign, named(verdict.words()))
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
            .map_or("–".to_owned(), |l| {
                tell!("report-range", from = number(l.low_mbar, 0), to = number(l.high_mbar, 0))
            })
    }

    fn sheet_table(&self, caption: &str, lines: &[(usize, &SheetLine)]) -> Table {
        let mut table = Table::new(
            caption,
            &[
                (said("report-line"), Holds::Figures, 0.7),
                (said("report-time"), Holds::Figures, 1.4),
                (said("report-reading"), Holds::Words, 1.7),
                (said("report-at"), Holds::Words, 2.7),
                (said("report-written"), Holds::Figures, 1.6),
                (said("report-gauge"), Holds::Figures, 1.1),
                (said("report-card"), Holds::Figures, 2.1),
                (said("report-verdict"), Holds::Words, 1.6),
                (said("report-source-remark"), Holds::Words, 2.4),
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
            blocks.push(text(Tone::Plain, said("report-sheet-empty")));
        } else {
            blocks.push(text(Tone::Quiet, said("report-sheet-words")));
        }
        if !before.is_empty() {
            blocks.push(Block::Table(self.sheet_table(said("report-sheet-before"), &before)));
        }
        if !after.is_empty() {
            blocks.push(Block::Table(self.sheet_table(said("report-sheet-after"), &after)));
        }
        if !self.mark.seen_not_recorded.is_empty() {
            blocks.push(Block::Heading { text: said("report-seen").to_owned() });
            blocks.push(text(Tone::Quiet, said("report-seen-words")));
            blocks.push(Block::List { items: self.mark.seen_not_recorded.iter().map(|w| clean(w)).collect() });
        }
        section("sheet", said("report-sheet"), blocks)
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
        let words = said("report-along-words");
        let blocks = [text(Tone::Quiet, words)].into_iter().chain(figures).collect();
        Some(section("line", said("report-along"), blocks))
    }

    pub(super) fn predictions(&self) -> Option<Section> {
        if self.bay.predictions().is_empty() {
            return None;
        }
        let mut table = Table::new(
            said("report-predictions-caption"),
            &[
                (said("report-said-at"), Holds::Figures, 1.3),
                (said("report-test"), Holds::Words, 1.4),
                (said("report-if-it-were"), Holds::Words, 3.4),
                (said("report-expected-mbar"), Holds::Figures, 2.0),
                (said("report-then-gauge"), Holds::Words, 2.8),
            ],
        );
        for (at, p) in self.bay.predictions() {
            let candidate = p.candidate.as_deref().map_or("–".to_owned(), |name| {
                self.job.candidate(name).map_or_else(|| clean(name), |c| clean(&c.label))
            });
            let next = (1..).zip(self.bay.sheet()).find(|(_, l)| l.at >= *at && l.state == Some(p.state));
            let came = match next.and_then(|(n, l)| Some((n, self.shown(l)?))) {
                Some((n, v)) => {
                    let inside = if (p.low_mbar..=p.high_mbar).contains(&v) {
                        said("report-inside")
                    } else {
                        said("report-outside")
                    };
                    tell!("report-came", value = number(v, 0), inside = inside, n = n)
                }
                None => said("report-not-read").to_owned(),
            };
            table.row([
                Cell::from(clock(*at)),
                named(p.state.word()).into(),
                candidate.into(),
                tell!("report-range", from = as_written(p.low_mbar), to = as_written(p.high_mbar)).into(),
                came.into(),
            ]);
        }
        let words = said("report-predictions-words");
        Some(section(
            "predictions",
            said("report-predictions"),
            vec![text(Tone::Quiet, words), Block::Table(table)],
        ))
    }

    pub(super) fn finding(&self) -> Section {
        let fact = |name: &str, value: String| (name.to_owned(), value);
        let mut blocks = vec![];
        match (self.bay.finding(), self.bay.submitted_at()) {
            (Some(finding), Some(at)) => {
                let label = self.job.candidate(&finding.candidate).map_or(finding.candidate.as_str(), |c| &c.label);
                let mut rows = vec![fact(
                    said("report-cause-named"),
                    tell!("report-cause-sure", label = clean(label), sure = finding.confidence, time = clock(at)),
                )];
                let words = typed(finding.words.trim());
                rows.push(fact(
                    said("report-learners-words"),
                    if words.is_empty() { said("report-none").into() } else { words },
                ));
                blocks.push(Block::Facts { rows });
                let cited: Vec<String> = finding.evidence.iter().map(|&n| self.cited(n)).collect();
                if cited.is_empty() {
                    blocks.push(text(Tone::Plain, said("report-none-cited")));
                } else {
                    blocks.push(text(Tone::Plain, said("report-cited")));
                    blocks.push(Block::List { items: cited });
                }
                let out: Vec<String> = finding.ruled_out.iter().map(|out| self.ruled_out(out)).collect();
                if !out.is_empty() {
                    blocks.push(text(Tone::Plain, said("report-ruled-out")));
                    blocks.push(Block::List { items: out });
                }
            }
            _ => blocks.push(text(Tone::Plain, said("report-none-submitted"))),
        }
        if let Some(table) = self.rivals() {
            blocks.push(Block::Heading { text: said("report-rivals").to_owned() });
            if let Some(words) = self.mark.counted_words() {
                blocks.push(text(Tone::Quiet, tell!("report-each-by-itself", words = clean(&words))));
            }
            blocks.push(Block::Table(table));
        }
        section("finding", said("report-finding"), blocks)
    }

    fn cited(&self, n: usize) -> String {
        let Some(line) = n.checked_sub(1).and_then(|i| self.bay.sheet().get(i)) else {
            return tell!("report-line-missing", n = n);
        };
        let place =
            self.joint(n).map_or(String::new(), |(_, label)| tell!("report-at-joint", joint = clean(label)));
        tell!("report-line-cited", n = n, subject = clean(&line.subject), place = place, entry = clean(&line.entry))
    }

    fn ruled_out(&self, out: &RuledOut) -> String {
        let label = self.job.candidate(&out.candidate).map_or(out.candidate.as_str(), |c| &c.label);
        let lines: Vec<String> = out.lines.iter().map(usize::to_string).collect();
        tell!("report-by-line", label = clean(label), lines = lines.join(said("report-and-line")))
    }

    fn rivals(&self) -> Option<Table> {
        let (first, last) = self.mark.beliefs.first().zip(self.mark.beliefs.last())?;
        let mut table = Table::new(
            said("report-rivals-caption"),
            &[
                (said("report-candidate"), Holds::Words, 4.6),
                (said("report-before"), Holds::Figures, 1.8),
                (said("report-stated-last"), Holds::Figures, 1.8),
                (said("report-justified"), Holds::Figures, 2.8),
                (said("report-which-it-is"), Holds::Words, 2.4),
            ],
        );
        let at = |step: &BeliefStep, k: usize| step.justified.get(k).map_or("–".to_owned(), |&p| in_100(p));
        for (k, label) in self.mark.labels.iter().enumerate() {
            let stated = last.stated.as_ref().and_then(|s| s.get(k)).map_or("–".to_owned(), |&p| in_100(p));
            let named = self.mark.submitted.as_ref().is_some_and(|(l, _)| l == label);
            let which = match (named, self.mark.truth.0 == *label) {
                (true, true) => said("report-named-and-was"),
                (true, false) => said("report-named"),
                (false, true) => said("report-was-this"),
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
