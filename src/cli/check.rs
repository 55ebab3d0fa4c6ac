//! `faultbay check FILE…`: are these plants, jobs and rubrics sound?
//!
//! Exit code 0 when no file has an error (warnings don't count), 2 otherwise.

use std::collections::BTreeSet;
use std::io::Write;
use std::path::{Path, PathBuf};

use super::folder;
use crate::authoring::silent;
use crate::diag::{Report, render};
use crate::diagnosis::ensemble::Unwatched;
use crate::scenario::{self, Kind, Library};

/// How the report is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Format {
    /// Lines of the file with carets, for people.
    #[default]
    Text,
    /// For editors and scripts.
    Json,
}

impl Format {
    /// The words for `--format`.
    pub const WORDS: [&'static str; 2] = ["text", "json"];

    /// The format with this word.
    pub fn from_word(word: &str) -> Option<Self> {
        match word {
            "text" => Some(Self::Text),
            "json" => Some(Self::Json),
            _ => None,
        }
    }
}

/// Checks files, or folders that hold `plants`, `jobs` and `rubrics`; without any, everything that
/// is built in. A job is held against the plants and rubrics beside it, those given with it, and
/// those built in, in this order.
pub fn run(paths: &[PathBuf], format: Format, out: &mut dyn Write) -> u8 {
    let (report, checked) = if paths.is_empty() { check_builtin() } else { check_paths(paths) };
    let text = match format {
        Format::Json => render::json(&report) + "\n",
        Format::Text if report.is_empty() => {
            format!("{checked} {} checked, nothing to report\n", if checked == 1 { "file" } else { "files" })
        }
        Format::Text => render::text(&report),
    };
    // a reader that has seen enough and closed the pipe isn't a failure of the check
    let _ = out.write_all(text.as_bytes());
    if report.has_errors() { 2 } else { 0 }
}

fn check_builtin() -> (Report, usize) {
    let library = Library::builtin();
    let mut report = Report::new();
    let mut checked = 0;
    for kind in Kind::ALL {
        for name in library.names(kind) {
            if let Some((file, text)) = library.entry(kind, &name) {
                report.merge(looked_at(Some(kind), file, text, &library));
                checked += 1;
            }
        }
    }
    (report, checked)
}

fn check_paths(paths: &[PathBuf]) -> (Report, usize) {
    let mut report = Report::new();
    let mut files: Vec<PathBuf> = Vec::new();
    for path in paths {
        if path.is_dir() {
            let mut inside = folder::ron_files(path);
            inside.extend(Kind::ALL.iter().flat_map(|k| folder::ron_files(&path.join(k.folder()))));
            if inside.is_empty() {
                report.push(crate::diag::Diagnostic::new(
                    crate::diag::id::UNREADABLE,
                    &path.display().to_string(),
                    0..0,
                    "this folder holds no .ron file",
                ));
            }
            files.extend(inside);
        } else {
            files.push(path.clone());
        }
    }
    let mut seen = BTreeSet::new();
    files.retain(|f| seen.insert(f.clone()));
    let mut texts: Vec<(PathBuf, String, Option<Kind>)> = Vec::new();
    for path in files {
        match folder::read(&path) {
            Ok(text) => {
                let kind = scenario::kind_of(&text).or_else(|| kind_of_folder(&path));
                texts.push((path, text, kind));
            }
            Err(trouble) => report.merge(trouble),
        }
    }
    let mut given = Library::builtin();
    for (path, text, kind) in &texts {
        if let Some(kind) = kind {
            given.insert(*kind, &folder::name_of(path), &path.display().to_string(), text);
        }
    }
    let checked = texts.len();
    let mut home: Option<(PathBuf, Library)> = None;
    for (path, text, kind) in texts {
        let at = folder::home_of(&path);
        if home.as_ref().is_none_or(|(h, _)| *h != at) {
            let mut library = given.clone();
            // what can't be read beside a file only matters if the file names it, and is told then
            let _ = folder::lay_over(&mut library, &at);
            home = Some((at, library));
        }
        if let Some((_, library)) = &home {
            report.merge(looked_at(kind, &path.display().to_string(), &text, library));
        }
    }
    (report, checked)
}

/// What the text says, and of a job that can be used whether what is hidden shows at all.
fn looked_at(kind: Option<Kind>, file: &str, text: &str, library: &Library) -> Report {
    let mut report = scenario::check_text(kind, file, text, library);
    if kind == Some(Kind::Job)
        && !report.has_errors()
        && let Some(found) = silent::told(file, text, library, &Unwatched)
    {
        report.push(found);
    }
    report
}

/// A file that doesn't say what it is may lie in a folder that does.
fn kind_of_folder(path: &Path) -> Option<Kind> {
    let parent = path.parent()?.file_name()?;
    Kind::ALL.into_iter().find(|k| parent == k.folder())
}
