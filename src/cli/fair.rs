//! `faultbay fair JOB`: can what is hidden be found? For authors; it tells the answer.

use std::io::Write;

use super::exit::Exit;
use crate::authoring::solvable::{FAIR_BELIEF, solvable};
use crate::diagnosis::ensemble::Unwatched;
use crate::scenario::model::Job;

/// Simulates and says so in sentences. Exit code 2 when the job isn't fair.
pub fn run(job: &Job, out: &mut impl Write) -> anyhow::Result<Exit> {
    let found = solvable(job, &Unwatched).map_err(anyhow::Error::msg)?;
    writeln!(
        out,
        "{}: a learner who makes every test can hold \u{201c}{}\u{201d} likely to {:.0} in 100 (at least {:.0} are needed).",
        job.title,
        found.cause,
        100.0 * found.belief,
        100.0 * FAIR_BELIEF
    )?;
    writeln!(
        out,
        "The strongest rival left is \u{201c}{}\u{201d} with {:.0} in 100.",
        found.rival.0,
        100.0 * found.rival.1
    )?;
    out.flush()?;
    Ok(if found.is_fair() { Exit::Done } else { Exit::Failed })
}
