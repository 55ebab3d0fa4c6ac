//! The way through the job: what was done in which order, and what it cost.

use super::{Sat, section};
use crate::attempt::{Entry, Event};
use crate::bay::Bay;
use crate::bay::action::{Action, Micros};
use crate::bay::observation::Answer;
use crate::bay::words::told::told;
use crate::language::said;
use crate::marking::sentence::{clock, number};
use crate::report::document::{Block, Cell, Holds, Section, Table, Tone, text};
use crate::scenario::model::Job;
use crate::tell;

/// What sort of work something is; neighbours of one sort make one leg.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Work {
    Ask,
    MakeSafe,
    Look,
    Kit,
    Run,
    Paper,
    Repair,
    HandBack,
}

impl Work {
    fn of(action: &Action) -> Self {
        match action {
            Action::Ask { .. } => Self::Ask,
            Action::MakeSafe { .. } => Self::MakeSafe,
            Action::Look { .. } => Self::Look,
            Action::FitTee { .. } | Action::RemoveTee { .. } | Action::Purge | Action::Zero => Self::Kit,
            Action::Record { .. }
            | Action::Amend { .. }
            | Action::Note { .. }
            | Action::Predict { .. }
            | Action::Believe { .. }
            | Action::Hint { .. }
            | Action::Submit { .. } => Self::Paper,
            Action::Repair { .. } | Action::Bleed | Action::LeakCheck => Self::Repair,
            Action::HandBack => Self::HandBack,
            // the engine, the valve, and whatever else shows how the vehicle behaves
            _ => Self::Run,
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Ask => said("report-work-ask"),
            Self::MakeSafe => said("report-work-safe"),
            Self::Look => said("report-work-look"),
            Self::Kit => said("report-work-kit"),
            Self::Run => said("report-work-test"),
            Self::Paper => said("report-work-write"),
            Self::Repair => said("report-work-repair"),
            Self::HandBack => said("report-work-hand-back"),
        }
    }
}

/// A stretch of work of one sort.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Leg {
    at: Micros,
    work: Work,
    did: Vec<String>,
    /// Simulated minutes charged.
    minutes: f64,
    credits: f64,
}

/// Collects legs while an attempt is replayed.
#[derive(Default)]
pub(super) struct Legs {
    legs: Vec<Leg>,
    minutes: f64,
    credits: f64,
}

impl Legs {
    pub(super) fn add(&mut self, entry: &Entry, answer: Option<&Answer>, bay: &Bay, job: &Job) {
        let (minutes, credits) = (bay.charged_minutes(), bay.observe().credits);
        let cost = (minutes - self.minutes, credits - self.credits);
        (self.minutes, self.credits) = (minutes, credits);
        let Event::Act(action) = &entry.event else {
            // a heartbeat only says how far the clock had got
            if let Some(leg) = self.legs.last_mut() {
                leg.minutes += cost.0;
            }
            return;
        };
        let work = Work::of(action);
        let said = match work {
            // what was written has sections of its own
            Work::Paper => written(action),
            _ => told(action, job),
        };
        let refused = matches!(answer, Some(Answer::Refused { .. }));
        let said = if refused { tell!("report-refused", said = said) } else { said };
        match self.legs.last_mut() {
            // paper is written while a test goes on
            Some(leg) if leg.work == work || work == Work::Paper => {
                leg.minutes += cost.0;
                leg.credits += cost.1;
                leg.did.push(said);
            }
            _ => self.legs.push(Leg { at: entry.at, work, did: vec![said], minutes: cost.0, credits: cost.1 }),
        }
    }

    pub(super) fn done(self) -> Vec<Leg> {
        self.legs
    }
}

fn written(action: &Action) -> String {
    match action {
        Action::Record { .. } => said("report-wrote-reading"),
        Action::Amend { .. } => said("report-wrote-correction"),
        Action::Note { .. } => said("report-wrote-note"),
        Action::Predict { .. } => said("report-wrote-prediction"),
        Action::Believe { .. } => said("report-wrote-points"),
        Action::Hint { .. } => said("report-wrote-hint"),
        _ => said("report-wrote-finding"),
    }
    .to_owned()
}

/// The same words one after another are counted: "reading ×2".
fn counted(did: &[String]) -> String {
    let mut list: Vec<(&str, usize)> = vec![];
    for word in did {
        match list.last_mut() {
            Some((last, n)) if last == word => *n += 1,
            _ => list.push((word, 1)),
        }
    }
    let words = list.into_iter().map(|(word, n)| if n == 1 { word.to_owned() } else { format!("{word} ×{n}") });
    words.collect::<Vec<_>>().join(", ")
}

impl Sat<'_> {
    pub(super) fn route(&self) -> Section {
        let mut table = Table::new(
            said("report-route-caption"),
            &[
                (said("report-from"), Holds::Figures, 1.2),
                (said("report-work"), Holds::Words, 1.9),
                (said("report-what"), Holds::Words, 7.0),
                (said("report-minutes"), Holds::Figures, 1.2),
                (said("report-credits"), Holds::Figures, 1.2),
            ],
        );
        for leg in &self.route {
            table.row([
                Cell::from(clock(leg.at)),
                leg.work.words().into(),
                super::clean(&counted(&leg.did)).into(),
                number(leg.minutes, 1).into(),
                number(leg.credits, 0).into(),
            ]);
        }
        let sum = tell!(
            "report-route-words",
            minutes = number(self.bay.charged_minutes(), 1),
            credits = number(self.bay.observe().credits, 0),
            planned = number(self.job.minutes, 0)
        );
        let mut blocks = vec![text(Tone::Plain, sum), Block::Table(table)];
        blocks.extend(self.beside.route());
        section("route", said("report-route"), blocks)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn repeated_words_are_counted() {
        let did = ["reading", "reading", "note", "reading"].map(str::to_owned);
        assert_eq!(counted(&did), "reading ×2, note, reading");
    }
}
