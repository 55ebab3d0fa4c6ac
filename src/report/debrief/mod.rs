//! The debrief of a marked attempt as a [`Document`]: what an assessor defends in an appeal and an
//! apprentice learns from. It says what the mark says, shows where in the trace it stands, and leaves
//! room for the person who decides.

mod beside;
mod mark;
mod paper;
mod route;

use super::document::{Block, Document, Section, Tone, text};
use super::plot;
use super::plot::pressure::Rests;
use crate::attempt::{Attempt, Going, ReplayError, replay_opened};
use crate::bay::Bay;
use crate::bay::action::Micros;
use crate::bay::opened::Opened;
use crate::language::{Msg, named, said};
use crate::marking::model::Mark;
use crate::msg;
use crate::scenario::model::{Job, Mode};
use crate::scenario::{Kind, Library};
use crate::tell;

/// The sentence under every page with a limit on it.
pub const TRAINING_VALUES: Msg = msg!("report-training-values");
/// Who decides.
pub const A_PERSON_DECIDES: Msg = msg!("report-a-person-decides");

/// What a debrief says besides the mark; all of it handed in, for nothing here reads a clock or a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Head {
    /// Date of the sitting as typed.
    pub date: Option<String>,
    /// Files that the mark rests on, with their hashes.
    pub sources: Vec<(String, String)>,
}

impl Head {
    /// The hashes of the texts of a job, its vehicle and its mark scheme as the library has them.
    pub fn of(library: &Library, job: &Job) -> Self {
        let files = [
            (Kind::Job, said("report-job"), job.name.as_str()),
            (Kind::Plant, said("report-vehicle"), job.plant.name.as_str()),
            (Kind::Rubric, said("report-mark-scheme"), job.rubric.name.as_str()),
        ];
        let sources = files
            .into_iter()
            .filter_map(|(kind, what, name)| {
                let hash = blake3::hash(library.text(kind, name)?.as_bytes()).to_hex();
                Some((tell!("report-source-text", what = what, name = name), hash.as_str()[..32].to_owned()))
            })
            .collect();
        Self { date: None, sources }
    }
}

/// A sitting done again, ready to be told.
struct Sat<'a> {
    job: &'a Job,
    attempt: &'a Attempt,
    mark: &'a Mark,
    head: &'a Head,
    bay: Bay,
    /// Only of a vehicle that was handed back.
    opened: Option<Opened>,
    route: Vec<route::Leg>,
    beside: beside::Beside,
}

/// Replays an attempt and tells it with its mark.
///
/// # Errors
/// When the attempt doesn't belong to the job or can't have come from it.
pub fn debrief(job: &Job, attempt: &Attempt, mark: &Mark, head: &Head) -> Result<Document, ReplayError> {
    debrief_watched(job, attempt, mark, head, &mut |_| true)
}

/// The same for somebody who waits.
///
/// # Errors
/// As [`debrief`], and when `going` doesn't want to go on.
pub fn debrief_watched(
    job: &Job,
    attempt: &Attempt,
    mark: &Mark,
    head: &Head,
    going: Going<'_>,
) -> Result<Document, ReplayError> {
    let mut legs = route::Legs::default();
    let each = |entry: &_, answer: Option<&_>, bay: &_| legs.add(entry, answer, bay, job);
    let (bay, opened) = replay_opened(job, attempt, each, going)?;
    let sat = Sat { job, attempt, mark, head, bay, opened, route: legs.done(), beside: beside::Beside::of(mark) };
    Ok(sat.document())
}

/// Text without what would move or hide words, as somebody typed it.
fn typed(text: &str) -> String {
    let risky = |c: char| {
        c.is_control()
            || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
    };
    text.chars().map(|c| if risky(c) { ' ' } else { c }).collect()
}

/// The same of a text from a file; what has words in the language spoken is said in them.
fn clean(text: &str) -> String {
    typed(named(text))
}

fn section(id: &'static str, title: &str, blocks: Vec<Block>) -> Section {
    Section { id, title: title.to_owned(), blocks, own_page: false }
}

impl Sat<'_> {
    fn document(&self) -> Document {
        let hash: String = self.mark.attempt_hash.chars().take(8).collect();
        let mut sections = vec![self.job_card(), self.result(), self.components(), self.ledger()];
        sections.extend(self.trace());
        sections.extend(self.opened());
        sections.extend(self.belief());
        sections.push(self.sheet());
        sections.extend(self.along_the_line());
        sections.extend(self.predictions());
        sections.push(self.finding());
        sections.push(self.route());
        sections.push(self.to_think_over());
        sections.push(self.goals());
        sections.push(self.decision());
        sections.push(self.basis());
        sections.retain(|s| !s.blocks.is_empty());
        Document {
            lang: crate::language::spoken().tag(),
            title: tell!("report-title", title = clean(&self.job.title)),
            subtitle: format!("{} · {}", clean(&self.job.customer), clean(&self.job.plant.title)),
            foot: tell!(
                "report-foot",
                job = clean(&self.job.name),
                vehicle = self.mark.seed,
                hash = hash,
                TRAINING_VALUES = TRAINING_VALUES
            ),
            sections,
        }
    }

    fn job_card(&self) -> Section {
        let name = self.attempt.header().name.as_deref().map(typed).filter(|n| !n.trim().is_empty());
        let date = self.head.date.as_deref().map(typed).filter(|d| !d.trim().is_empty());
        let mode = match self.job.mode {
            Mode::Practice => said("report-practice"),
            Mode::Assessment => said("report-assessment"),
        };
        let fact = |name: &str, value: String| (name.to_owned(), value);
        let rows = vec![
            fact(
                said("report-sat-by"),
                name.map_or(said("report-no-name").to_owned(), |n| tell!("report-name-as-typed", n = n)),
            ),
            fact(
                said("report-date"),
                date.map_or(said("report-no-date").to_owned(), |d| tell!("report-date-as-typed", d = d)),
            ),
            fact(said("report-job"), format!("{}, {mode}", clean(&self.job.name))),
            fact(
                said("report-vehicle"),
                tell!("report-vehicle-number", vehicle = clean(&self.job.plant.title), number = self.mark.seed),
            ),
            fact(said("report-customer"), clean(&self.job.customer)),
            fact(said("report-complaint"), tell!("marking-quoted", label = clean(&self.job.complaint))),
            fact(
                said("report-on-the-card"),
                self.job.facts.iter().map(|f| clean(f)).collect::<Vec<_>>().join(" · "),
            ),
        ];
        let blocks = vec![Block::Facts { rows }, text(Tone::Caution, TRAINING_VALUES.said())];
        section("job", said("report-the-job"), blocks)
    }

    /// Time up to which evidence counts: the finding, or the first part that was touched.
    fn counts_until(&self) -> Micros {
        crate::marking::mark::counts_until(&self.bay)
    }

    /// The windows that ledger lines rest on, each with the numbers of its lines.
    fn rests(&self) -> Vec<Rests> {
        let mut list: Vec<Rests> = vec![];
        for (i, line) in self.mark.ledger.iter().enumerate() {
            // a line about the whole sitting stands nowhere in particular
            if line.window.0 == 0 && line.window.1 >= self.bay.now() {
                continue;
            }
            let number = (i + 1).to_string();
            match list.iter_mut().find(|r| r.window == line.window) {
                Some(rest) => rest.name += &format!(", {number}"),
                None => list.push(Rests { window: line.window, name: number }),
            }
        }
        list
    }

    fn trace(&self) -> Option<Section> {
        let trace = self.bay.trace();
        let read: Vec<(Micros, Micros)> = self.bay.sheet().iter().map(|l| l.window).collect();
        let named: Vec<(String, (Micros, Micros))> = plot::pressure::stretches(trace)
            .into_iter()
            .filter(|span| plot::pressure::tells(trace, *span, &read))
            .enumerate()
            .map(|(i, span)| (tell!("report-run", n = i + 1), span))
            .collect();
        if named.is_empty() {
            return None;
        }
        let rests = self.rests();
        let mut blocks = vec![
            text(Tone::Quiet, said("report-trace-words")),
            Block::Figure(plot::pressure::whole(trace, self.bay.now(), &named)),
        ];
        for (name, (from, to)) in &named {
            blocks.push(Block::Figure(plot::pressure::stretch(trace, *from, *to, name, &rests)));
        }
        Some(section("trace", said("report-trace"), blocks))
    }

    /// The line with its wall opened at the moments that tell most; only of a vehicle that was handed back.
    fn opened(&self) -> Option<Section> {
        let opened = self.opened.as_ref()?;
        let until = self.counts_until();
        let read = self.bay.sheet().iter().filter(|l| l.state.is_some() && l.at <= until);
        let figures: Vec<Block> = plot::opened::telling(opened, read.map(|l| l.window.1).next_back())
            .into_iter()
            .filter_map(|i| plot::opened::figure(opened, i))
            .map(Block::Figure)
            .collect();
        if figures.is_empty() {
            return None;
        }
        let words = said("report-opened-words");
        Some(section(
            "opened",
            said("report-opened"),
            [text(Tone::Quiet, words)].into_iter().chain(figures).collect(),
        ))
    }

    fn belief(&self) -> Option<Section> {
        let figure = plot::belief::beliefs(self.mark)?;
        let words = said("report-belief-words");
        Some(section(
            "belief",
            said("report-belief"),
            [text(Tone::Quiet, words)]
                .into_iter()
                // the mark adds up what can't be told apart; here each stands by itself, and so do its numbers
                .chain(self.mark.counted_words().map(|words| {
                    let words = tell!("report-candidate-by-itself", words = clean(&words));
                    text(Tone::Quiet, words)
                }))
                .chain([Block::Figure(figure)])
                .collect(),
        ))
    }

    fn goals(&self) -> Section {
        let goals: Vec<String> = self.job.goals.iter().map(|g| clean(g)).collect();
        let mut blocks = vec![];
        if !goals.is_empty() {
            blocks.push(text(Tone::Plain, said("report-goals-lead")));
            blocks.push(Block::List { items: goals });
        }
        blocks.push(text(Tone::Caution, said("report-real-machine")));
        section("goals", said("report-goals"), blocks)
    }

    fn decision(&self) -> Section {
        let kept = tell!(
            "report-decision-words",
            total = crate::marking::sentence::number(self.mark.total, 2),
            outcome = mark::outcome_words(self.mark.outcome)
        );
        let rows = [
            (said("report-form-mark"), 1),
            (said("report-form-decision"), 1),
            (said("report-form-reason"), 4),
            (said("report-form-assessor"), 1),
            (said("report-form-second"), 1),
            (said("report-form-learner"), 1),
        ];
        let rows = rows.map(|(what, lines)| (what.to_owned(), lines)).to_vec();
        let mut blocks = vec![text(Tone::Plain, A_PERSON_DECIDES.said()), text(Tone::Plain, kept)];
        blocks.extend(self.beside.decisions());
        blocks.push(Block::Form { rows });
        Section { own_page: true, ..section("decision", said("report-decision"), blocks) }
    }

    fn reference(&self) -> String {
        let basis = &self.beside.basis;
        if !basis.reference.is_empty() {
            return tell!(
                "report-reference-vehicles-n",
                reference = clean(&basis.reference),
                vehicles = basis.vehicles
            );
        }
        tell!("report-reference-each", vehicles = crate::diagnosis::justify::VEHICLES)
    }

    fn basis(&self) -> Section {
        let mark = self.mark;
        let fact = |name: &str, value: String| (name.to_owned(), value);
        let mut rows = vec![
            fact(said("report-program"), format!("faultbay {}", clean(&mark.engine))),
            fact(said("report-job-with-vehicle"), clean(&mark.job_hash)),
        ];
        rows.extend(self.head.sources.iter().map(|(what, hash)| (clean(what), clean(hash))));
        rows.extend([
            fact(said("report-seed"), mark.seed.to_string()),
            fact(said("report-attempt-last-line"), clean(&mark.attempt_hash)),
            fact(said("report-replayed-trace"), clean(&mark.trace_hash)),
            fact(said("report-reference-vehicles"), self.reference()),
        ]);
        let blocks = vec![text(Tone::Plain, said("report-replay-words")), Block::Facts { rows }];
        section("basis", said("report-basis"), blocks)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_moves_or_hides_words_comes_through() {
        assert_eq!(clean("a\u{202e}b\u{7}c\u{feff}"), "a b c ");
    }

    #[test]
    fn the_files_behind_a_mark_are_hashed() {
        let library = Library::builtin();
        let (job, _) = crate::scenario::load_job(&library, "bypass-puff").unwrap_or_else(|_| unreachable!());
        let head = Head::of(&library, &job);
        assert_eq!(head.sources.len(), 3, "{:?}", head.sources);
        assert!(head.sources.iter().all(|(_, hash)| hash.len() == 32));
        let mut other = library.clone();
        other.insert(Kind::Rubric, &job.rubric.name, "mine.ron", "Rubric()");
        assert_ne!(Head::of(&other, &job).sources[2], head.sources[2]);
        assert_eq!(Head::of(&other, &job).sources[..2], head.sources[..2]);
    }
}
