//! `faultbay jobs`

use std::io::Write;

use super::exit::Exit;
use super::job::Shelf;
use super::say::plain;
use crate::scenario::model::Mode;
use crate::scenario::{self, Kind};

/// Lists the jobs, one a line.
pub fn run(shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<Exit> {
    let mut exit = Exit::Done;
    let mut names = shelf.names();
    if names.is_empty() {
        writeln!(out, "There are no jobs.")?;
    }
    for name in shelf.library().names(Kind::Course) {
        let Ok((course, _)) = scenario::load_course(shelf.library(), &name) else {
            exit = Exit::Failed;
            writeln!(out, "{name}: this course can't be used; `faultbay check` says why.")?;
            continue;
        };
        writeln!(out, "{} ({name}). {}", plain(&course.title), plain(&course.aim))?;
        for stage in &course.stages {
            names.retain(|n| *n != stage.job);
            list(shelf, &stage.job, &stage.after, &mut exit, out)?;
        }
        writeln!(out)?;
    }
    if !names.is_empty() && !shelf.library().names(Kind::Course).is_empty() {
        writeln!(out, "In no course.")?;
    }
    for name in names {
        list(shelf, &name, &[], &mut exit, out)?;
    }
    Ok(exit)
}

/// One job in a line; what a course wants sat before it stands at its end.
fn list(shelf: &Shelf, name: &str, after: &[String], exit: &mut Exit, out: &mut impl Write) -> anyhow::Result<()> {
    {
        match shelf.job(name) {
            Ok(job) => {
                let mode = match job.mode {
                    Mode::Practice => "practice",
                    Mode::Assessment => "assessment",
                };
                let level = job.level.word();
                let title = plain(&job.title);
                let after = if after.is_empty() { String::new() } else { format!(" After {}.", after.join(", ")) };
                writeln!(out, "{name}: {title}. {level}, about {:.0} min, {mode}.{after}", job.minutes)?;
            }
            Err(_) => {
                *exit = Exit::Failed;
                writeln!(out, "{name}: can't be used; `faultbay check` says why.")?;
            }
        }
    }
    Ok(())
}
