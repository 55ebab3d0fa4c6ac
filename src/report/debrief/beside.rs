//! What a mark may say beside its points: what each stretch of work was worth and what would have been
//! better, points and predictions held against what came, the test that would have told finding and rival
//! apart, the par time.
//!
//! It is read by name from the mark's own file form, each part where the mark has it. So a mark without
//! such a part is told without it, and nothing here keeps a second copy of how it is worked out.

use serde::Deserialize;

use super::{Sat, clean, section, typed};
use crate::bay::action::Micros;
use crate::language::said;
use crate::marking::model::Mark;
use crate::marking::sentence::{clock, number};
use crate::report::document::{Block, Cell, Holds, Section, Table, Tone, text};
use crate::tell;

/// The parts, as `assets/schema/mark.schema.json` describes them.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Beside {
    moves: Vec<Move>,
    contrast: Option<Contrast>,
    pub(super) basis: Basis,
    overrides: Vec<Override>,
}

/// An assessor's decision.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Override {
    assessor: String,
    role: String,
    components: Vec<(crate::marking::model::Component, f64)>,
    reason: String,
    outcome: Outcome,
    total: Option<f64>,
}

/// An outcome; without one a person must look.
#[derive(Debug, Deserialize)]
#[serde(transparent)]
struct Outcome(crate::marking::model::Outcome);

impl Default for Outcome {
    fn default() -> Self {
        Self(crate::marking::model::Outcome::Review)
    }
}

/// A stretch of work.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Move {
    window: (Micros, Micros),
    test: String,
    minutes: f64,
    bits: f64,
    opened_bits: f64,
    best: String,
    best_bits: f64,
    best_minutes: f64,
    wasted: f64,
}

/// The contrasting case.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Contrast {
    test: String,
    labels: (String, String),
    finding_mbar: (f64, f64),
    rival_mbar: (f64, f64),
    sentence: String,
}

/// What the numbers rest on.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Basis {
    pub(super) reference: String,
    pub(super) vehicles: usize,
    par_minutes: f64,
    net_minutes: f64,
    wasted_minutes: f64,
    two_ahead: bool,
}

impl Beside {
    pub(super) fn of(mark: &Mark) -> Self {
        // a part that has another form than the schema says is left out rather than told wrong
        serde_json::to_value(mark).and_then(serde_json::from_value).unwrap_or_default()
    }

    /// Decisions that were written down already, the latest last.
    pub(super) fn decisions(&self) -> Option<Block> {
        let rows: Vec<(String, String)> = self
            .overrides
            .iter()
            .map(|o| {
                let total = o.total.map_or(String::new(), |t| tell!("report-of-100-then", total = number(t, 2)));
                let outcome = super::mark::decided_words(o.outcome.0);
                let changed: String = o
                    .components
                    .iter()
                    .map(|(c, share)| {
                        tell!("report-cause-at", cause = c.title(), share = format!("{:.0}", 100.0 * share))
                    })
                    .collect();
                let role = typed(&o.role);
                let who =
                    if role.is_empty() { typed(&o.assessor) } else { format!("{}, {role}", typed(&o.assessor)) };
                (who, format!("{total}{changed}{outcome}. {}", typed(&o.reason)))
            })
            .collect();
        (!rows.is_empty()).then_some(Block::Facts { rows })
    }

    /// Par beside the learner's way; nothing where the mark has no moves.
    pub(super) fn route(&self) -> Vec<Block> {
        if self.moves.is_empty() {
            return vec![];
        }
        let mut table = Table::new(
            said("report-worth-caption"),
            &[
                (said("report-from"), Holds::Figures, 1.2),
                (said("report-what-was-read"), Holds::Words, 4.2),
                (said("report-minutes"), Holds::Figures, 1.2),
                (said("report-best-then"), Holds::Words, 4.2),
                (said("report-its-minutes"), Holds::Figures, 1.5),
                (said("report-pace"), Holds::Figures, 1.1),
                (said("report-lost"), Holds::Figures, 1.0),
            ],
        );
        for m in &self.moves {
            let rate = |bits: f64, minutes: f64| if minutes > 0.0 { bits / minutes } else { 0.0 };
            let best = rate(m.best_bits, m.best_minutes);
            let pace = if best > 0.0 {
                format!("{:.0} %", 100.0 * (rate(m.bits + m.opened_bits, m.minutes) / best).clamp(0.0, 9.99))
            } else {
                "–".to_owned()
            };
            table.row([
                Cell::from(clock(m.window.0)),
                clean(&m.test).into(),
                number(m.minutes, 1).into(),
                clean(&m.best).into(),
                number(m.best_minutes, 1).into(),
                pace.into(),
                number(m.wasted, 1).into(),
            ]);
        }
        let basis = &self.basis;
        let mut words = tell!(
            "report-par-pace",
            par = number(basis.par_minutes, 0),
            used = number(basis.net_minutes, 0),
            lost = number(basis.wasted_minutes, 0)
        );
        if basis.two_ahead {
            words += said("report-two-ahead");
        }
        let heading = Block::Heading { text: said("report-beside-cheapest").to_owned() };
        vec![heading, text(Tone::Plain, words), Block::Table(table)]
    }
}

impl Sat<'_> {
    /// What earns no points and is worth a thought.
    pub(super) fn to_think_over(&self) -> Section {
        let beside = &self.beside;
        let mut blocks = vec![];
        let items: Vec<String> = self.mark.thoughts().into_iter().map(clean).collect();
        if !items.is_empty() {
            blocks.push(Block::List { items });
        }
        if let Some(c) = &beside.contrast {
            let mut table = Table::new(
                tell!("report-contrast-caption", test = clean(&c.test)),
                &[
                    (said("report-if-it-were"), Holds::Words, 4.0),
                    (said("report-lowest-mbar"), Holds::Figures, 1.5),
                    (said("report-highest-mbar"), Holds::Figures, 1.5),
                ],
            );
            for (label, range) in [(&c.labels.0, c.finding_mbar), (&c.labels.1, c.rival_mbar)] {
                table.row([Cell::from(clean(label)), number(range.0, 0).into(), number(range.1, 0).into()]);
            }
            blocks.extend([text(Tone::Plain, clean(&c.sentence)), Block::Table(table)]);
        } else if let Some(none) = self.mark.contrast_words() {
            blocks.push(text(Tone::Plain, clean(&none)));
        }
        if !blocks.is_empty() {
            blocks.insert(0, text(Tone::Quiet, said("report-no-points")));
        }
        section("think", said("report-think"), blocks)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_mark_has_is_told_and_what_it_lacks_is_not() {
        let full: Beside = serde_json::from_str(
            r#"{"job":"x","moves":[{"window":[60000000,120000000],"test":"idle reading","lines":[3],"minutes":4.0,
            "bits":0.2,"best":"raised reading","best_bits":0.4,"best_minutes":4.0,"wasted":1.8,"material":true}],
            "basis":{"reference":"ab","vehicles":72,"par_minutes":25.0,"net_minutes":51.0,"wasted_minutes":21.9}}"#,
        )
        .unwrap();
        let [_, Block::Text { text, .. }, Block::Table(table)] = &full.route()[..] else { panic!() };
        assert!(text.contains("is 25 minutes to the finding; 51 were used, and 22 of them lost"), "{text}");
        let row: Vec<&str> = table.rows[0].iter().map(|c| c.text.as_str()).collect();
        assert_eq!(row, ["01:00", "idle reading", "4.0", "raised reading", "4.0", "50 %", "1.8"]);
        assert!(Beside::default().route().is_empty());
        let decided: Beside = serde_json::from_str(
            r#"{"overrides":[{"assessor":"R. Tamsel","reason":"The gauge was read twice.","outcome":"reached","total":61.0}]}"#,
        )
        .unwrap();
        let Some(Block::Facts { rows }) = decided.decisions() else { panic!() };
        assert_eq!(rows[0].1, "61.00 of 100, reached. The gauge was read twice.");
    }
}
