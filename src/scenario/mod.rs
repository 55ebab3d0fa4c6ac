//! Plants, jobs, rubrics and courses as files, and the way from a file to a [`Job`] that the rest of the
//! program may trust.
//!
//! `raw` mirrors the files; `parse` reads one, and `source` finds places in it again; `check` holds
//! a file against itself and against the files it names, and is the only way from raw shapes to
//! [`model`]. A [`Library`] hands out texts by name; nothing here opens a file.
//!
//! No text can do harm: its size, the nesting of its brackets and the number of its values are
//! bounded before it is parsed, and every number and list is bounded before it is used.

mod builtin;
mod check;
pub mod example;
pub mod form;
mod library;
mod manual;
pub mod model;
pub mod pack;
mod parse;
pub mod patch;
pub mod picture;
pub mod plumbing;
mod raw;
mod source;
pub mod starter;
mod takes;
pub mod variant;
pub mod vehicle_form;

pub use library::{Kind, Library, PICTURES};
pub use manual::manual;

use crate::diag::{Diagnostic, Report, id};
use crate::plant::Plant;
use model::{Course, Job, Limit, Rubric};

/// Largest file, bytes.
pub const LARGEST_FILE: usize = 1 << 20;

/// Reads and checks a job with its plant and rubric.
///
/// # Errors
/// The report, when anything in the three files makes the job unusable. The report beside a job
/// holds warnings only.
pub fn load_job(library: &Library, name: &str) -> Result<(Job, Report), Report> {
    let mut report = Report::new();
    let job = found(library, Kind::Job, name, &mut report)
        .and_then(|(file, text)| check::job(&file, &text, name, library, &mut report));
    whole(job, report)
}

/// Reads and checks a plant.
///
/// # Errors
/// The report, when the plant can't be used.
pub fn load_plant(library: &Library, name: &str) -> Result<(Plant, Report), Report> {
    let mut report = Report::new();
    let plant = found(library, Kind::Plant, name, &mut report)
        .and_then(|(file, text)| check::plant(&file, &text, name, &mut report));
    whole(plant, report)
}

/// A plant as far as it can be drawn while it is written: whatever its checks say of it. None when its text can't be
/// read, or nothing in it is a node or a part.
pub fn drawable(name: &str, text: &str) -> Option<Plant> {
    check::drawable(text, name)
}

/// Reads and checks a plant for its vehicle card: what jobs that give no limits of their own show.
/// Training values.
///
/// # Errors
/// The report, when the plant can't be used.
pub fn load_card(library: &Library, name: &str) -> Result<(Vec<Limit>, Report), Report> {
    let mut report = Report::new();
    let card = found(library, Kind::Plant, name, &mut report)
        .and_then(|(file, text)| check::card(&file, &text, &mut report));
    whole(card, report)
}

/// Reads and checks a rubric.
///
/// # Errors
/// The report, when the rubric can't be used.
pub fn load_rubric(library: &Library, name: &str) -> Result<(Rubric, Report), Report> {
    let mut report = Report::new();
    let rubric = found(library, Kind::Rubric, name, &mut report)
        .and_then(|(file, text)| check::rubric(&file, &text, name, &mut report));
    whole(rubric, report)
}

/// Reads and checks a course.
///
/// # Errors
/// The report, when the course can't be used.
pub fn load_course(library: &Library, name: &str) -> Result<(Course, Report), Report> {
    let mut report = Report::new();
    let course = found(library, Kind::Course, name, &mut report)
        .and_then(|(file, text)| check::course(&file, &text, name, library, &mut report));
    whole(course, report)
}

/// Checks a text without needing its result. Without a kind, the text's first word or its fields
/// tell what it is. A job is held against the plant and the rubric that the library has.
pub fn check_text(kind: Option<Kind>, file: &str, text: &str, library: &Library) -> Report {
    let mut report = Report::new();
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file).trim_end_matches(".ron");
    match kind.map_or_else(|| parse::kind(file, text, &mut report), Some) {
        Some(Kind::Plant) => drop(check::plant(file, text, name, &mut report)),
        Some(Kind::Job) => drop(check::job(file, text, name, library, &mut report)),
        Some(Kind::Rubric) => drop(check::rubric(file, text, name, &mut report)),
        Some(Kind::Course) => drop(check::course(file, text, name, library, &mut report)),
        None => {}
    }
    report
}

/// What a text says it is: its first word, or else the fields that only one kind has.
pub fn kind_of(text: &str) -> Option<Kind> {
    parse::kind("", text, &mut Report::new())
}

fn found(library: &Library, kind: Kind, name: &str, report: &mut Report) -> Option<(String, String)> {
    match library.entry(kind, name) {
        Some((file, text)) => Some((file.to_owned(), text.to_owned())),
        None => {
            let message = format!("no {} is called {:?}", kind.word(), crate::diag::quotable(name));
            report.push(Diagnostic::new(id::UNREADABLE, "", 0..0, message).among(name, library.names(kind)));
            None
        }
    }
}

fn whole<T>(value: Option<T>, report: Report) -> Result<(T, Report), Report> {
    match value {
        Some(value) if !report.has_errors() => Ok((value, report)),
        _ => Err(report),
    }
}
