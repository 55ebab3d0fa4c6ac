//! `faultbay mark`: an attempt replayed, marked and told.

use std::io::{IsTerminal, Write};
use std::sync::atomic::{AtomicU8, Ordering};

use super::cache::Folder;
use super::exit::Exit;
use super::job::{Shelf, read_attempt};
use super::say::plain;
use super::{args, debrief};
use crate::attempt::Attempt;
use crate::diagnosis::ensemble::{Unwatched, Watch};
use crate::diagnosis::store::{Nowhere, Store};
use crate::marking::kept::mark_kept;
use crate::marking::mark::{STATED, mark_with};
use crate::marking::model::{Component, LedgerLine, Mark, Outcome};
use crate::marking::sentence::{clock, in_100};
use crate::report::debrief::Head;
use crate::report::html;
use crate::scenario::model::Job;

/// Marks the attempt and prints the mark.
pub fn run(typed: &args::Mark, shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<Exit> {
    let (attempt, warnings) = read_attempt(&typed.attempt)?;
    for warning in warnings {
        writeln!(std::io::stderr(), "{}: {warning}", typed.attempt.display())?;
    }
    let signed = super::sign::told(&typed.attempt, &typed.signed_by)?;
    let job = shelf.job(&attempt.header().job)?;
    let by = if typed.anew { mark_with } else { mark_kept };
    let mark = marked(&job, &attempt, by).map_err(|why| anyhow::anyhow!("{}: {why}", typed.attempt.display()))?;
    if let Some(file) = &typed.html {
        let head = Head::of(shelf.library(), &job);
        let document = crate::report::debrief::debrief(&job, &attempt, &mark, &head)?;
        debrief::write(file, html::page(&document)?.as_bytes())?;
    }
    if typed.json {
        out.write_all(crate::report::json::mark(&mark).as_bytes())?;
    } else {
        out.write_all(text(&mark).as_bytes())?;
    }
    if let Some(signed) = signed {
        // beside JSON, so that it stays JSON
        if typed.json { writeln!(std::io::stderr(), "{signed}")? } else { writeln!(out, "\n{signed}")? }
    }
    out.flush()?;
    Ok(Exit::Done)
}

/// Makes a mark, or finds one that was made.
type Marker = fn(&Job, &Attempt, &dyn Store, &dyn Watch) -> Result<Mark, String>;

/// The mark of an attempt, from the user's cache where it was made before.
pub fn known(job: &Job, attempt: &Attempt) -> Result<Mark, String> {
    marked(job, attempt, mark_kept)
}

/// The one place that calls the marking.
fn marked(job: &Job, attempt: &Attempt, by: Marker) -> Result<Mark, String> {
    let folder = Folder::of_user();
    let store: &dyn Store = folder.as_ref().map_or(&Nowhere, |f| f);
    if !std::io::stderr().is_terminal() {
        return by(job, attempt, store, &Unwatched);
    }
    let marked = by(job, attempt, store, &Progress(AtomicU8::new(0)));
    let _ = writeln!(std::io::stderr());
    marked
}

/// Says every tenth of the work to whoever sits at a terminal.
struct Progress(AtomicU8);

impl Watch for Progress {
    fn progress(&self, done: f64) {
        let tenth = (done.clamp(0.0, 1.0) * 10.0) as u8;
        if self.0.fetch_max(tenth, Ordering::Relaxed) < tenth {
            let _ = write!(std::io::stderr(), "{tenth}0 % ");
        }
    }
}

/// A mark as text for a learner and an assessor.
fn text(mark: &Mark) -> String {
    let outcome = match mark.outcome {
        Outcome::Reached => "Everything that a pass needs is reached.",
        Outcome::NotReached => "Not reached.",
        Outcome::Review => "For review: a person must look.",
    };
    let mut out = format!("{}, vehicle {}\n", plain(&mark.job), mark.seed);
    out += &format!("Total {:.2} of 100. {outcome}\n", mark.total);
    for reason in mark.reasons.iter().filter(|_| mark.outcome != Outcome::Reached) {
        out += &format!("  {}\n", plain(reason));
    }
    out += "\nFinding\n";
    out += &match &mark.submitted {
        Some((label, sure)) => format!("  Submitted: {}, {sure} in 100 sure.\n", plain(label)),
        None => "  None was submitted.\n".to_owned(),
    };
    if let Some((belief, error)) = mark.justified_in_finding {
        let error = if error < 0.005 { String::new() } else { format!(" (± {:.0})", 100.0 * error) };
        out += &format!("  The evidence justifies {}{error}.\n", in_100(belief));
        if let Some(words) = mark.counted_words() {
            out += &format!("  {}\n", plain(&words));
        }
    }
    let (cause, vehicle) = (plain(&mark.truth.0), plain(&mark.truth.1));
    out += &format!("  It was: {cause}. In this vehicle: {}.\n", vehicle.trim_end_matches('.'));
    out += "\nComponents\n";
    for part in &mark.components {
        let (letter, title) = (part.component.letter(), part.component.title());
        out += &format!("  {letter}  {title}: {:.2} of {:.0}\n", mark.points_of(part.component), part.weight);
    }
    out += "\nLedger\n";
    for line in &mark.ledger {
        out += &ledger_line(line);
    }
    out += &beliefs(mark);
    out += &told(mark);
    if !mark.seen_not_recorded.is_empty() {
        out += "\nSeen, not recorded\n";
        for words in &mark.seen_not_recorded {
            out += &format!("  {}\n", plain(words));
        }
    }
    out += &format!(
        "\nJob {}, attempt {}, trace {}, engine {}\n",
        plain(&mark.job_hash),
        plain(&mark.attempt_hash),
        plain(&mark.trace_hash),
        plain(&mark.engine)
    );
    out + "Training values. On a real machine use its maker's data.\n\
           The tool reports evidence; a person decides competence.\n"
}

fn ledger_line(line: &LedgerLine) -> String {
    let (from, to) = line.window;
    let when = if clock(from) == clock(to) { clock(to) } else { format!("{} to {}", clock(from), clock(to)) };
    let sign = if line.hundredths < 0 { '−' } else { '+' };
    let points = line.hundredths.unsigned_abs();
    let component = line.component.map_or('·', Component::letter);
    format!("  {sign}{}.{:02}  {component}  {when}: {}\n", points / 100, points % 100, plain(&line.sentence))
}

/// What the learner may learn from beside the points.
fn told(mark: &Mark) -> String {
    let contrast = mark.contrast_words();
    let mut sentences = mark.thoughts();
    sentences.extend(contrast.as_deref());
    if sentences.is_empty() {
        return String::new();
    }
    let mut out = "\nTo think over (no points)\n".to_owned();
    for sentence in sentences {
        out += &format!("  {}\n", plain(sentence));
    }
    out
}

/// Beliefs through time: what the evidence justified, and under it what was stated.
fn beliefs(mark: &Mark) -> String {
    if mark.beliefs.is_empty() {
        return String::new();
    }
    let mut out = "\nBeliefs, in 100: what the evidence justified (j) and what was stated (s)\n".to_owned();
    let letter = |i: usize| u8::try_from(i).ok().filter(|i| *i < 26).map_or('?', |i| char::from(b'A' + i));
    for (i, label) in mark.labels.iter().enumerate() {
        out += &format!("  {} = {}\n", letter(i), plain(label));
    }
    let row = |values: &[f64]| values.iter().map(|v| format!("{:>4.0}", 100.0 * v)).collect::<String>();
    let heads: String = (0..mark.labels.len()).map(|i| format!("{:>4}", letter(i))).collect();
    out += &format!("     {heads}\n");
    for step in &mark.beliefs {
        out += &format!("  j  {}  {}, {}\n", row(&step.justified), clock(step.at), plain(&step.event));
        // said once, where it was stated
        if let Some(stated) = step.stated.as_ref().filter(|_| step.event == STATED) {
            out += &format!("  s  {}\n", row(stated));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::action::SECOND;
    use crate::marking::model::{BeliefStep, ComponentMark};

    fn sample() -> Mark {
        Mark {
            job: "bench".to_owned(),
            job_hash: "aa".to_owned(),
            seed: 7,
            attempt_hash: "bb".to_owned(),
            trace_hash: "cc".to_owned(),
            engine: "0.1.0".to_owned(),
            total: 61.05,
            outcome: Outcome::Review,
            reasons: vec!["The evidence is close to the gate.".to_owned()],
            components: vec![ComponentMark { component: Component::Diagnosis, share: 0.5, weight: 25.0 }],
            ledger: vec![
                LedgerLine {
                    component: Some(Component::Diagnosis),
                    hundredths: 1250,
                    template: "D".to_owned(),
                    window: (60 * SECOND, 60 * SECOND),
                    sentence: "Half right.".to_owned(),
                    lines: vec![],
                },
                LedgerLine {
                    component: Some(Component::Justified),
                    hundredths: 405,
                    template: "J+".to_owned(),
                    window: (59 * SECOND, 60 * SECOND),
                    sentence: "It made a plugged filter likelier.".to_owned(),
                    lines: vec![],
                },
                LedgerLine {
                    component: None,
                    hundredths: -5,
                    template: "cap".to_owned(),
                    window: (0, 0),
                    sentence: "Capped.".to_owned(),
                    lines: vec![],
                },
            ],
            labels: vec!["Filter plugged".to_owned(), "None of these".to_owned()],
            beliefs: vec![BeliefStep {
                at: 60 * SECOND,
                event: STATED.to_owned(),
                justified: vec![0.774, 0.226],
                stated: Some(vec![0.9, 0.1]),
            }],
            submitted: Some(("Filter plugged".to_owned(), 85)),
            truth: ("Filter plugged".to_owned(), "The element is full of dirt.".to_owned()),
            justified_in_finding: Some((0.774, 0.02)),
            seen_not_recorded: vec!["Bubbles at raised speed.".to_owned()],
            ..Mark::default()
        }
    }

    #[test]
    fn a_mark_reads_from_the_total_to_the_caution() {
        let expected = "\
bench, vehicle 7
Total 61.05 of 100. For review: a person must look.
  The evidence is close to the gate.

Finding
  Submitted: Filter plugged, 85 in 100 sure.
  The evidence justifies 77 in 100 (± 2).
  It was: Filter plugged. In this vehicle: The element is full of dirt.

Components
  D  Right diagnosis: 12.50 of 25

Ledger
  +12.50  D  01:00: Half right.
  +4.05  J  00:59 to 01:00: It made a plugged filter likelier.
  −0.05  ·  00:00: Capped.

Beliefs, in 100: what the evidence justified (j) and what was stated (s)
  A = Filter plugged
  B = None of these
        A   B
  j    77  23  01:00, points stated
  s    90  10

To think over (no points)
  There is no contrasting case: it needs a reading that counts, and before “Filter plugged” was found there was none.

Seen, not recorded
  Bubbles at raised speed.

Job aa, attempt bb, trace cc, engine 0.1.0
Training values. On a real machine use its maker's data.
The tool reports evidence; a person decides competence.
";
        assert_eq!(text(&sample()), expected);
    }
}
