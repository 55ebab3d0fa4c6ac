//! The mark itself: how it came out, the gates, the components with their levels, every ledger line.

use super::{A_PERSON_DECIDES, Sat, clean, section, typed};
use crate::bay::observation::BreachClass;
use crate::language::{capital, said};
use crate::marking::components::JUSTIFIED_PASS;
use crate::marking::model::{Component, LedgerLine, Outcome};
use crate::marking::overrule::standing;
use crate::marking::result::BELIEF_PASS;
use crate::marking::sentence::{clock, in_100, number};
use crate::report::document::{Block, Cell, Holds, Section, Table, Tone, text};
use crate::tell;

/// How it came out, in a sentence.
pub(super) fn outcome_words(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Reached => said("report-outcome-reached"),
        Outcome::NotReached => said("report-outcome-not-reached"),
        Outcome::Review => said("report-outcome-review"),
    }
}

/// The same of an assessor's decision, which says nothing about gates.
pub(super) fn decided_words(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Reached => said("report-outcome-short-reached"),
        Outcome::NotReached => said("analysis-not-reached"),
        Outcome::Review => said("report-outcome-short-review"),
    }
}

/// Rubric level of a share earned, 0 … 1.
pub fn level(share: f64) -> &'static str {
    match share {
        s if s < 0.40 => said("report-level-not-yet"),
        s if s < 0.60 => said("report-level-developing"),
        s if s < 0.85 => said("report-level-competent"),
        _ => said("report-level-proficient"),
    }
}

/// Hundredths of a point with a sign.
fn points(hundredths: i64) -> String {
    let sign = if hundredths < 0 { "−" } else { "+" };
    format!("{sign}{}.{:02}", hundredths.unsigned_abs() / 100, hundredths.unsigned_abs() % 100)
}

/// When a ledger line happened.
fn when(line: &LedgerLine, end: u64) -> String {
    let (from, to) = line.window;
    if from == 0 && to >= end {
        said("report-throughout").to_owned()
    } else if clock(from) == clock(to) {
        clock(to)
    } else {
        tell!("report-range", from = clock(from), to = clock(to))
    }
}

impl Sat<'_> {
    pub(super) fn result(&self) -> Section {
        let mark = self.mark;
        let sentence = capital(outcome_words(mark.outcome));
        let mut blocks = vec![Block::Result {
            figure: number(mark.total, 2),
            of: said("report-of-100").to_owned(),
            text: sentence,
        }];
        // of a pass the outcome says all that the reason would
        if mark.outcome != Outcome::Reached {
            blocks.push(Block::List { items: mark.reasons.iter().map(|r| clean(r)).collect() });
        }
        blocks.push(text(Tone::Note, A_PERSON_DECIDES));
        if let Some(last) = mark.overrides.last() {
            let (outcome, total) = standing(mark);
            let words = tell!(
                "report-decided",
                who = typed(&last.assessor),
                total = number(total, 2),
                outcome = decided_words(outcome)
            );
            blocks.push(text(Tone::Note, words));
        }
        for breach in self.bay.breaches().iter().filter(|b| b.class == BreachClass::Critical) {
            blocks.push(text(
                Tone::Critical,
                tell!("report-breach-at", time = clock(breach.at), words = clean(&breach.words)),
            ));
        }
        let fact = |name: &str, value: String| (name.to_owned(), value);
        let submitted = mark.submitted.as_ref().map_or(said("report-no-finding").to_owned(), |(label, sure)| {
            tell!("report-submitted-sure", label = clean(label), sure = sure)
        });
        let mut rows = vec![fact(said("report-submitted"), submitted)];
        if let Some((belief, error)) = mark.justified_in_finding {
            let error = if error < 0.005 { String::new() } else { format!(" (± {:.0})", 100.0 * error) };
            rows.push(fact(
                said("report-evidence-justifies"),
                tell!("report-for-it", belief = in_100(belief), error = error),
            ));
            if let Some(words) = mark.counted_words() {
                rows.push(fact(said("report-counted-together"), clean(&words)));
            }
        }
        rows.push(fact(said("report-it-was"), clean(&mark.truth.0)));
        rows.push(fact(said("report-in-this-vehicle"), clean(mark.truth.1.trim_end_matches('.'))));
        blocks.push(Block::Facts { rows });
        blocks.push(Block::Heading { text: said("report-pass-needs").to_owned() });
        blocks.push(Block::Table(self.gates()));
        section("result", said("report-result"), blocks)
    }

    /// Needed and reached side by side. Which gate was missed is the mark's to say, in its reasons.
    fn gates(&self) -> Table {
        let mark = self.mark;
        let mut table = Table::new(
            said("report-gates-caption"),
            &[
                (said("report-gate"), Holds::Words, 5.0),
                (said("report-needed"), Holds::Figures, 2.0),
                (said("report-reached"), Holds::Figures, 2.0),
            ],
        );
        let share = |c: Component| mark.components.iter().find(|m| m.component == c).map(|m| m.share);
        let percent = |s: f64| format!("{:.0} %", 100.0 * s);
        let mut gate = |name: &str, needed: String, reached: String| {
            table.row([Cell::from(name), needed.into(), reached.into()]);
        };
        let rubric = &self.job.rubric;
        gate(said("report-gate-total"), number(rubric.cut, 2), number(mark.total, 2));
        if let Some(j) = share(Component::Justified) {
            gate(Component::Justified.title(), percent(JUSTIFIED_PASS), percent(j));
        }
        let belief = mark.justified_in_finding.map_or(said("report-no-finding").to_owned(), |(p, _)| in_100(p));
        gate(said("report-gate-belief"), in_100(BELIEF_PASS), belief);
        let floors = Component::ALL.map(|c| (c, c.floor(rubric)));
        for (component, floor) in floors.into_iter().filter(|(_, floor)| *floor > 0.0) {
            if let Some(reached) = share(component) {
                gate(component.title(), percent(floor), percent(reached));
            }
        }
        let critical = self.bay.breaches().iter().filter(|b| b.class == BreachClass::Critical).count();
        gate(said("report-gate-critical"), said("report-none").to_owned(), critical.to_string());
        table
    }

    pub(super) fn components(&self) -> Section {
        let mut table = Table::new(
            said("report-components-caption"),
            &[
                (said("report-component"), Holds::Words, 4.5),
                (said("report-share"), Holds::Bar, 3.0),
                (said("report-points"), Holds::Figures, 1.6),
                (said("report-of"), Holds::Figures, 1.2),
                (said("report-level"), Holds::Words, 1.8),
            ],
        );
        for part in &self.mark.components {
            table.row([
                Cell::from(format!("{}  {}", part.component.letter(), part.component.title())),
                Cell::bar(part.share),
                number(self.mark.points_of(part.component), 2).into(),
                number(part.weight, 2).into(),
                level(part.share).into(),
            ]);
        }
        let words = said("report-levels");
        section("components", said("report-components"), vec![Block::Table(table), text(Tone::Quiet, words)])
    }

    /// Every line under its component, numbered through.
    pub(super) fn ledger(&self) -> Section {
        let mark = self.mark;
        let words = said("report-ledger-words");
        let mut blocks = vec![text(Tone::Quiet, words)];
        let mut order: Vec<Option<Component>> = mark.components.iter().map(|c| Some(c.component)).collect();
        for line in &mark.ledger {
            if !order.contains(&line.component) {
                order.push(line.component);
            }
        }
        for component in order {
            let lines: Vec<(usize, &LedgerLine)> =
                (1..).zip(&mark.ledger).filter(|(_, l)| l.component == component).collect();
            if lines.is_empty() {
                continue;
            }
            let sum: i64 = lines.iter().map(|(_, l)| l.hundredths).sum();
            let part = mark.components.iter().find(|c| Some(c.component) == component);
            let title = match (component, part) {
                (Some(c), Some(part)) => tell!(
                    "report-ledger-title",
                    title = c.title(),
                    points = number(sum as f64 / 100.0, 2),
                    weight = number(part.weight, 2),
                    level = level(part.share)
                ),
                (Some(c), None) => format!("{}: {}", c.title(), points(sum)),
                (None, _) => tell!("report-from-total", points = points(sum)),
            };
            blocks.push(Block::Heading { text: title.clone() });
            let mut table = Table::new(
                title,
                &[
                    (said("report-line"), Holds::Figures, 0.7),
                    (said("report-when"), Holds::Words, 2.3),
                    (said("report-points"), Holds::Figures, 1.0),
                    (said("report-why"), Holds::Words, 8.0),
                ],
            );
            for (i, line) in lines {
                table.row([
                    Cell::from(i.to_string()),
                    when(line, self.bay.now()).into(),
                    points(line.hundredths).into(),
                    clean(&line.sentence).into(),
                ]);
            }
            blocks.push(Block::Table(table));
        }
        section("ledger", said("report-ledger"), blocks)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_begin_where_the_scheme_says() {
        let levels = [0.0, 0.3999, 0.40, 0.5999, 0.60, 0.8499, 0.85, 1.0].map(level);
        assert_eq!(
            levels,
            [
                "not yet",
                "not yet",
                "developing",
                "developing",
                "competent",
                "competent",
                "proficient",
                "proficient"
            ]
        );
    }

    #[test]
    fn points_have_a_sign() {
        assert_eq!([405, -5, 0].map(points), ["+4.05", "−0.05", "+0.00"]);
    }
}
