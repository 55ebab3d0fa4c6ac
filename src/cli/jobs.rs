//! `faultbay jobs`

use std::io::Write;

use super::exit::Exit;
use super::job::Shelf;
use super::say::plain;
use crate::scenario::model::Mode;

/// Lists the jobs, one a line.
pub fn run(shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<Exit> {
    let mut exit = Exit::Done;
    let names = shelf.names();
    if names.is_empty() {
        writeln!(out, "There are no jobs.")?;
    }
    for name in names {
        match shelf.job(&name) {
            Ok(job) => {
                let mode = match job.mode {
                    Mode::Practice => "practice",
                    Mode::Assessment => "assessment",
                };
                writeln!(out, "{name}: {}. About {:.0} min, {mode}.", plain(&job.title), job.minutes)?;
            }
            Err(_) => {
                exit = Exit::Failed;
                writeln!(out, "{name}: can't be used; `faultbay check` says why.")?;
            }
        }
    }
    Ok(exit)
}
