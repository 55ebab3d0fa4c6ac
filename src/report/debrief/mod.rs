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
use crate::attempt::{self, Attempt, ReplayError, replay_each};
use crate::bay::Bay;
use crate::bay::action::Micros;
use crate::marking::model::Mark;
use crate::scenario::model::{Job, Mode};
use crate::scenario::{Kind, Library};

/// The sentence under every page with a limit on it.
pub const TRAINING_VALUES: &str = "Training values. On a real machine use its maker's data.";
/// Who decides.
pub const A_PERSON_DECIDES: &str = "The tool reports evidence; a person decides competence.";

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
            (Kind::Job, "Job", job.name.as_str()),
            (Kind::Plant, "Vehicle", job.plant.name.as_str()),
            (Kind::Rubric, "Mark scheme", job.rubric.name.as_str()),
        ];
        let sources = files
            .into_iter()
            .filter_map(|(kind, what, name)| {
                let hash = blake3::hash(library.text(kind, name)?.as_bytes()).to_hex();
                Some((format!("{what} “{name}”, text"), hash.as_str()[..32].to_owned()))
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
    route: Vec<route::Leg>,
    beside: beside::Beside,
}

/// Replays an attempt and tells it with its mark.
///
/// # Errors
/// When the attempt doesn't belong to the job or can't have come from it.
pub fn debrief(job: &Job, attempt: &Attempt, mark: &Mark, head: &Head) -> Result<Document, ReplayError> {
    let mut legs = route::Legs::default();
    let bay = replay_each(job, attempt, |entry, answer, bay| legs.add(entry, answer, bay))?;
    let sat = Sat { job, attempt, mark, head, bay, route: legs.done(), beside: beside::Beside::of(mark) };
    Ok(sat.document())
}

/// Text from a file without what would move or hide words.
fn clean(text: &str) -> String {
    let risky = |c: char| {
        c.is_control()
            || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
    };
    text.chars().map(|c| if risky(c) { ' ' } else { c }).collect()
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
            lang: "en-GB",
            title: format!("Debrief: {}", clean(&self.job.title)),
            subtitle: format!("{} · {}", clean(&self.job.customer), clean(&self.job.plant.title)),
            foot: format!(
                "{} · vehicle {} · attempt {hash} · {TRAINING_VALUES}",
                clean(&self.job.name),
                self.mark.seed
            ),
            sections,
        }
    }

    fn job_card(&self) -> Section {
        let name = self.attempt.header().name.as_deref().map(clean).filter(|n| !n.trim().is_empty());
        let date = self.head.date.as_deref().map(clean).filter(|d| !d.trim().is_empty());
        let mode = match self.job.mode {
            Mode::Practice => "practice",
            Mode::Assessment => "assessment",
        };
        let fact = |name: &str, value: String| (name.to_owned(), value);
        let rows = vec![
            fact("Sat by", name.map_or("no name was typed".to_owned(), |n| format!("{n} (as typed)"))),
            fact("Date", date.map_or("none was typed".to_owned(), |d| format!("{d} (as typed)"))),
            fact("Job", format!("{}, {mode}", clean(&self.job.name))),
            fact("Vehicle", format!("{}, number {}", clean(&self.job.plant.title), self.mark.seed)),
            fact("Customer", clean(&self.job.customer)),
            fact("Complaint", format!("“{}”", clean(&self.job.complaint))),
            fact("On the card", self.job.facts.iter().map(|f| clean(f)).collect::<Vec<_>>().join(" · ")),
        ];
        let blocks = vec![Block::Facts { rows }, text(Tone::Caution, TRAINING_VALUES)];
        section("job", "The job", blocks)
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
        let named: Vec<(String, (Micros, Micros))> = plot::pressure::stretches(trace)
            .into_iter()
            .enumerate()
            .map(|(i, span)| (format!("Run {}", i + 1), span))
            .collect();
        if named.is_empty() {
            return None;
        }
        let rests = self.rests();
        let mut blocks = vec![
            text(
                Tone::Quiet,
                "Pressure at the tee against time, in mbar gauge; below the zero line is depression (suction). \
                 Words above a curve are things done. A shaded band is what a line of the mark rests on; the \
                 numbers under it are those of the lines in “Why, point by point”.",
            ),
            Block::Figure(plot::pressure::whole(trace, self.bay.now(), &named)),
        ];
        for (name, (from, to)) in &named {
            blocks.push(Block::Figure(plot::pressure::stretch(trace, *from, *to, name, &rests)));
        }
        Some(section("trace", "The trace", blocks))
    }

    /// The line with its wall opened at the moments that tell most; only of a vehicle that was handed back.
    fn opened(&self) -> Option<Section> {
        let opened = attempt::open(self.job, self.attempt).ok()?;
        let until = self.counts_until();
        let read = self.bay.sheet().iter().filter(|l| l.state.is_some() && l.at <= until);
        let figures: Vec<Block> = plot::opened::telling(&opened, read.map(|l| l.window.1).next_back())
            .into_iter()
            .filter_map(|i| plot::opened::figure(&opened, i))
            .map(Block::Figure)
            .collect();
        if figures.is_empty() {
            return None;
        }
        let words = "What nobody in the bay could see: the true pressure from the tank to the engine, beside that of a \
                     sound vehicle put through the same hands. Under it the line as if it were glass, with the gas that \
                     stood in it. The moments are those at which most departs, and the last reading before the finding.";
        Some(section("opened", "The line opened", [text(Tone::Quiet, words)].into_iter().chain(figures).collect()))
    }

    fn belief(&self) -> Option<Section> {
        let figure = plot::belief::beliefs(self.mark)?;
        let words = "A solid line is the belief that the recorded evidence justified, a dashed line the points that \
                     were shared out, from 0 at the foot of a strip to 100 at its top. The numbers are those at the \
                     end. Neither is the truth: a surprising vehicle can mislead a careful person.";
        Some(section(
            "belief",
            "Belief: justified and stated",
            [text(Tone::Quiet, words)]
                .into_iter()
                // the mark adds up what can't be told apart; here each stands by itself, and so do its numbers
                .chain(self.mark.counted_words().map(|words| {
                    let words = format!("Each candidate stands by itself here. In the mark {}", clean(&words));
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
            blocks.push(text(Tone::Plain, "This job is there to practise:"));
            blocks.push(Block::List { items: goals });
        }
        blocks.push(text(
            Tone::Caution,
            "On a real machine, local law, the workplace's risk assessment and the maker's data come first. Many \
             makers forbid shutting the line against a running pump. The high-pressure side is out of bounds: never \
             feel for a leak by hand; fuel injected under the skin looks trivial and is a surgical emergency. Fuel \
             vapour is ignited far away from where it forms: ventilate, keep ignition sources away, have an \
             extinguisher at hand.",
        ));
        section("goals", "To take away", blocks)
    }

    fn decision(&self) -> Section {
        let kept = format!(
            "The program's mark is {} of 100: {} It is kept as it is. An assessor who decides otherwise writes the \
             other mark and the reason here; both marks are kept.",
            crate::marking::sentence::number(self.mark.total, 2),
            mark::outcome_words(self.mark.outcome),
        );
        let rows = [
            ("Assessor's mark, of 100", 1),
            ("Assessor's decision", 1),
            ("Reason (needed where it differs)", 4),
            ("Assessor: name, signature, date", 1),
            ("Second marker: name, signature, date", 1),
            ("Learner, who has read this: signature, date", 1),
        ];
        let rows = rows.map(|(what, lines)| (what.to_owned(), lines)).to_vec();
        let mut blocks = vec![text(Tone::Plain, A_PERSON_DECIDES), text(Tone::Plain, kept)];
        blocks.extend(self.beside.decisions());
        blocks.push(Block::Form { rows });
        Section { own_page: true, ..section("decision", "The assessor's decision", blocks) }
    }

    fn reference(&self) -> String {
        let basis = &self.beside.basis;
        if !basis.reference.is_empty() {
            return format!("{}, {} vehicles", clean(&basis.reference), basis.vehicles);
        }
        format!(
            "{} for each candidate, simulated anew through this attempt's own actions; program, job and attempt \
             settle every one of them",
            crate::diagnosis::justify::VEHICLES
        )
    }

    fn basis(&self) -> Section {
        let mark = self.mark;
        let fact = |name: &str, value: String| (name.to_owned(), value);
        let mut rows = vec![
            fact("Program", format!("faultbay {}", clean(&mark.engine))),
            fact("Job with its vehicle", clean(&mark.job_hash)),
        ];
        rows.extend(self.head.sources.iter().map(|(what, hash)| (clean(what), clean(hash))));
        rows.extend([
            fact("Vehicle's number (seed)", mark.seed.to_string()),
            fact("Attempt, its last line", clean(&mark.attempt_hash)),
            fact("Replayed trace", clean(&mark.trace_hash)),
            fact("Reference vehicles", self.reference()),
        ]);
        let blocks = vec![
            text(
                Tone::Plain,
                "Anyone with the attempt's file, the job and this version of the program can replay the sitting, and \
                 gets the same samples and the same mark: “faultbay debrief” with the name of the file. The hashes \
                 say whether it is the same.",
            ),
            Block::Facts { rows },
        ];
        section("basis", "What this rests on", blocks)
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
