//! Does the vehicle with what is hidden in it do anything out of the ordinary? A customer complains of something, so it
//! must: a reading, a word, a look, in any test that the job allows. A fault that waits for what never comes in this job
//! (a level, a temperature, an hour's running), or that is too mild, shows nothing, and nobody could find it.
//!
//! [`diagnosability`](super::diagnosability) weighs candidates over all their severities; this looks at the very fault
//! that is hidden, with its "when". First in the standard run, where most faults show; only where that is silent through
//! every test of the job, on several vehicles, each beside its sound twin.

use super::preview::{Preview, Row as PreviewRow, leaves_out, of_job};
use crate::diag::{Diagnostic, id};
use crate::diagnosis::ensemble::{Feature, Row, Watch, run};
use crate::diagnosis::hypothesis::{Draw, candidate_of};
use crate::diagnosis::justify::Part;
use crate::diagnosis::menu::{Kind as Test, Menu, menu};
use crate::language::said;
use crate::scenario::model::Job;
use crate::scenario::{Kind, Library, load_job, patch};

/// Vehicles that are tried, each twice.
const VEHICLES: u64 = 8;
/// A number differs when it lies so many of its uncertainties from the sound twin's.
const BEYOND: f64 = 2.0;

/// Whether nothing that the job allows tells its vehicle from a sound one; never where nothing is wrong.
///
/// # Errors
/// A sentence: the vehicle can't be built, it refuses a step, or it was cancelled.
pub fn is_silent(job: &Job, watch: &dyn Watch) -> Result<bool, String> {
    let Some(truth) = candidate_of(job, &job.hidden.0) else { return Ok(false) };
    if job.candidates[truth].vehicles.is_empty() {
        return Ok(false);
    }
    let shown = of_job(job, None, false, &Part { whole: watch, from: 0.0, span: 0.2 })?;
    if !shown.rows.iter().all(PreviewRow::is_alike) {
        watch.progress(1.0);
        return Ok(false);
    }
    in_every_test(job, &Part { whole: watch, from: 0.2, span: 0.8 })
}

/// [`of_job`], and where it shows nothing whether anything else does.
///
/// # Errors
/// See [`of_job`].
pub fn preview_of(job: &Job, joint: Option<&str>, always: bool, watch: &dyn Watch) -> Result<Preview, String> {
    let mut shown = of_job(job, joint, always, &Part { whole: watch, from: 0.0, span: 0.5 })?;
    if !always && shown.rows.iter().all(PreviewRow::is_alike) {
        shown.silent = is_silent(job, &Part { whole: watch, from: 0.5, span: 0.5 })?;
    }
    Ok(shown)
}

/// The same through every test of the job.
fn in_every_test(job: &Job, watch: &dyn Watch) -> Result<bool, String> {
    let menu = menu(job)?;
    let vehicles = |hidden: bool| -> Vec<Draw> {
        let faults = if hidden { job.hidden.0.clone() } else { vec![] };
        let one = |seed| Draw { candidate: 0, band: 0, seed, faults: faults.clone(), severity: 0.0 };
        (1..=VEHICLES).map(one).collect()
    };
    let with_it = menu.course.without(|op| leaves_out(&job.hidden.0, op));
    let cancelled = || said("work-cancelled").to_owned();
    let sound = run(job, &vehicles(false), &menu.course, &Part { whole: watch, from: 0.3, span: 0.3 });
    let sound = sound.ok_or_else(cancelled)?;
    let wrong = run(job, &vehicles(true), &with_it, &Part { whole: watch, from: 0.6, span: 0.4 });
    let wrong = wrong.ok_or_else(cancelled)?;
    let differ = |pair: (&Option<Row>, &Option<Row>)| match pair {
        (Some(sound), Some(wrong)) => differs(job, &menu, sound, wrong),
        // a run that can't be ended as the sound one is ended shows enough
        (sound, wrong) => sound.is_some() != wrong.is_some(),
    };
    Ok(!sound.iter().zip(&wrong).any(differ))
}

/// A word is another one, a number lies beyond doubt elsewhere, or outside the card where the sound twin's is within.
fn differs(job: &Job, menu: &Menu, sound: &Row, wrong: &Row) -> bool {
    let other = |(a, b): (&Feature, &Feature)| match (a, b) {
        (Feature::Number { value: a, .. }, Feature::Number { value: b, random, resolution }) => {
            (a - b).abs() > BEYOND * (random * random + resolution * resolution).sqrt()
        }
        (Feature::Word { index: a, .. }, Feature::Word { index: b, .. }) => a != b,
        _ => true,
    };
    if sound.iter().flatten().zip(wrong.iter().flatten()).any(other) {
        return true;
    }
    menu.tests.iter().any(|test| {
        let Test::State(state) = test.kind else { return false };
        let limit = job.limit(&test.joint, state);
        let is_outside = |row: &Row| {
            let level = test.lines.first().and_then(|&line| row.get(line)?.first());
            limit.zip(level).is_some_and(|(limit, level)| match level {
                Feature::Number { value, .. } => !(limit.low_mbar..=limit.high_mbar).contains(value),
                Feature::Word { .. } => false,
            })
        };
        is_outside(wrong) && !is_outside(sound)
    })
}

/// What the check says of a job file whose hidden fault shows nothing; of one that has errors or can't be driven nothing.
pub fn told(file: &str, text: &str, library: &Library, watch: &dyn Watch) -> Option<Diagnostic> {
    let mut library = library.clone();
    library.insert(Kind::Job, NAME, file, text);
    let (job, _) = load_job(&library, NAME).ok()?;
    // why a vehicle can't be driven, preview and the check of fairness say
    is_silent(&job, watch).unwrap_or(false).then(|| diagnostic(file, text))
}

const NAME: &str = "job under check";

/// The same as a diagnostic.
pub fn diagnostic(file: &str, text: &str) -> Diagnostic {
    let place = patch::span(text, "hidden").unwrap_or(0..0);
    Diagnostic::new(id::SHOWS_NOTHING, file, place, "what is hidden shows nothing in any test that the job allows")
        .label("reads, runs and looks like the sound vehicle")
        .help(
            "raise the severity, take its \"when\" out or let the job have the conditions that it waits for, or allow the \
             test that shows it: the customer complains of something",
        )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::ensemble::Unwatched;
    use crate::fault::Modifier;
    use crate::units::Span;

    fn puff() -> Job {
        load_job(&Library::builtin(), "bypass-puff").unwrap().0
    }

    #[test]
    fn a_fault_that_shows_isnt_scolded_and_a_job_with_nothing_wrong_neither() {
        assert_eq!(is_silent(&puff(), &Unwatched), Ok(false));
        let (healthy, _) = load_job(&Library::builtin(), "nothing-wrong").unwrap();
        assert_eq!(is_silent(&healthy, &Unwatched), Ok(false));
    }

    #[test]
    fn a_fault_that_waits_for_what_never_comes_shows_nothing() {
        let mut job = puff();
        // an almost empty tank, where the job has it more than half full
        job.hidden.0[0].modifiers = vec![Modifier::Level { below: 0.05 }];
        assert_eq!(is_silent(&job, &Unwatched), Ok(true));
        assert!(preview_of(&job, None, false, &Unwatched).unwrap().silent);
        assert!(!preview_of(&job, None, true, &Unwatched).unwrap().silent, "as if it showed all the time");
        // one that comes only after ten hours' running
        job.hidden.0[0].modifiers = vec![Modifier::AfterRunning { for_time: Span::from_si(36_000.0) }];
        assert_eq!(is_silent(&job, &Unwatched), Ok(true));
    }

    #[test]
    fn a_fault_that_only_another_test_than_the_standard_run_shows_isnt_called_silent() {
        let mut job = puff();
        // later than the standard run, within the longest test of the menu
        job.hidden.0[0].modifiers = vec![Modifier::AfterRunning { for_time: Span::from_si(400.0) }];
        let run = of_job(&job, None, false, &Unwatched).unwrap();
        assert!(run.rows.iter().all(PreviewRow::is_alike), "the standard run meets it already");
        assert_eq!(is_silent(&job, &Unwatched), Ok(false));
    }

    #[test]
    fn who_does_not_wait_gets_no_answer() {
        struct Gone;
        impl Watch for Gone {
            fn progress(&self, _: f64) {}
            fn cancelled(&self) -> bool {
                true
            }
        }
        assert!(is_silent(&puff(), &Gone).is_err());
    }
}
