//! Does a card hold what a sound vehicle reads? A learner is told that a reading outside the card isn't healthy; a card that
//! leaves a sound vehicle outside sends everybody after a fault that isn't there.
//!
//! Of a job that gives its own limits the vehicle is driven as the job has it, of a vehicle's file as that has it. What
//! lies outside by less than sound vehicles differ isn't scolded: a card may be drawn close to its vehicle.

use std::ops::Range;

use super::readings::{AtJoint, Read, sound_readings};
use crate::diag::{Diagnostic, id};
use crate::diagnosis::ensemble::Watch;
use crate::plant::Plant;
use crate::scenario::model::Limit;
use crate::scenario::{Kind, Library, load_card, load_job, load_plant, patch};

/// A reading lies outside when it does so by more than this, mbar, and by this share of itself.
const BEYOND_MBAR: f64 = 15.0;
const BEYOND: f64 = 0.1;

const NAME: &str = "file under check";

/// What the check says of the card in a job's or a vehicle's file, a warning a joint; nothing where it has none, has errors
/// or can't be driven.
pub fn told(kind: Kind, file: &str, text: &str, library: &Library, watch: &dyn Watch) -> Vec<Diagnostic> {
    let field = if kind == Kind::Job { "limits" } else { "card" };
    if patch::value(text, field).is_none_or(|list| list.len() < "[()]".len()) {
        return vec![];
    }
    let Some((plant, card)) = described(kind, file, text, library) else { return vec![] };
    // why a vehicle can't be driven, preview and the check of fairness say
    let Ok(readings) = sound_readings(&plant, &card, watch) else { return vec![] };
    readings.joints.iter().filter_map(|at| missed(file, text, field, &card, at)).collect()
}

/// The vehicle and the card that a learner sees of it.
fn described(kind: Kind, file: &str, text: &str, library: &Library) -> Option<(Plant, Vec<Limit>)> {
    let mut library = library.clone();
    library.insert(kind, NAME, file, text);
    match kind {
        Kind::Job => load_job(&library, NAME).ok().map(|(job, _)| (job.plant, job.limits)),
        Kind::Plant => Some((load_plant(&library, NAME).ok()?.0, load_card(&library, NAME).ok()?.0)),
        Kind::Rubric | Kind::Course => None,
    }
}

/// How far a reading lies outside its range, beyond what is forgiven; zero where it doesn't.
fn beyond(read: &Read) -> f64 {
    let Some((low, high)) = read.limit else { return 0.0 };
    let is = read.shown.mbar;
    ((low - is).max(is - high) - BEYOND_MBAR.max(BEYOND * is.abs())).max(0.0)
}

/// What is said of a joint: its line that is furthest off, and which are off besides.
fn missed(file: &str, text: &str, field: &str, card: &[Limit], at: &AtJoint) -> Option<Diagnostic> {
    let reads = at.reads.as_ref().ok()?;
    let mut states: Vec<&'static str> = vec![];
    for read in reads.iter().filter(|r| beyond(r) > 0.0) {
        if !states.contains(&read.state.word()) {
            states.push(read.state.word());
        }
    }
    let worst = reads.iter().max_by(|a, b| beyond(a).total_cmp(&beyond(b))).filter(|r| beyond(r) > 0.0)?;
    let (low, high) = worst.limit?;
    let (joint, state) = (&at.joint, worst.state.word());
    let message = format!(
        "the sound vehicle reads {:.0} mbar at {joint:?} in {state}, the card says {low:.0} … {high:.0}",
        worst.shown.mbar
    );
    let others: Vec<&str> = states.into_iter().filter(|s| *s != state).collect();
    let (from, to) = worst.proposed();
    let proposed = format!("a range round what it reads: low: mbar({from}), high: mbar({to})");
    let help = match others.as_slice() {
        [] => proposed,
        others => format!("{proposed}; its readings lie outside in {} too", others.join(", ")),
    };
    Some(
        Diagnostic::new(id::CARD_MISSES_SOUND, file, line(text, field, card, worst, joint), message)
            .label("calls a sound vehicle faulty")
            .help(help),
    )
}

/// Where the line stands that a reading is held against.
fn line(text: &str, field: &str, card: &[Limit], read: &Read, joint: &str) -> Range<usize> {
    let index = card.iter().position(|l| l.joint == joint && l.state == read.state);
    let place = index.map_or_else(|| field.to_owned(), |i| format!("{field}[{i}]"));
    patch::span(text, &place).unwrap_or(0..0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::ensemble::Unwatched;

    /// A job on the van whose card has these lines.
    fn with_limits(lines: &str) -> (Library, String) {
        let library = Library::builtin();
        let text = library.text(Kind::Job, "bypass-puff").unwrap().to_owned();
        let text = patch::value(&text, "limits").map_or_else(
            || text.replacen("    hidden: [", &format!("    limits: [{lines}],\n    hidden: ["), 1),
            |old| text.replacen(&old, &format!("[{lines}]"), 1),
        );
        (library, text)
    }

    #[test]
    fn a_card_that_calls_a_sound_vehicle_faulty_is_told_joint_by_joint() {
        let lines = r#"
        (joint: "pump in", state: "rest", low: mbar(-100), high: mbar(50)),
        (joint: "pump in", state: "idle", low: mbar(200), high: mbar(300)),
        (joint: "pump in", state: "raised", low: mbar(2000), high: mbar(3000)),
        (joint: "filter in", state: "idle", low: mbar(-200), high: mbar(0)),
    "#;
        let (library, text) = with_limits(lines);
        let found = told(Kind::Job, "job.ron", &text, &library, &Unwatched);
        let [one] = &found[..] else { panic!("{found:?}") };
        assert!(one.message.contains("\"pump in\" in raised, the card says 2000 … 3000"), "{}", one.message);
        assert!(text[one.span.clone()].contains("\"raised\""));
        assert!(one.help.as_ref().is_some_and(|h| h.contains("outside in idle too")), "{one:?}");
        assert!(
            told(Kind::Job, "job.ron", library.text(Kind::Job, "bypass-puff").unwrap(), &library, &Unwatched)
                .is_empty()
        );
    }

    #[test]
    fn every_card_that_is_built_in_holds_its_sound_vehicle() {
        let library = Library::builtin();
        let mut failures = String::new();
        for kind in [Kind::Plant, Kind::Job] {
            for name in library.names(kind) {
                let (file, text) = library.entry(kind, &name).unwrap();
                for found in told(kind, file, text, &library, &Unwatched) {
                    failures += &format!("{name}: {}; {}\n", found.message, found.help.unwrap_or_default());
                }
            }
        }
        assert!(failures.is_empty(), "{failures}");
    }
}
