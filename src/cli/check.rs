//! `faultbay check FILE…`: are these plants, jobs and rubrics, or the packs that hold them, sound?
//!
//! Exit code 0 when no file has an error (warnings don't count), 2 otherwise.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{Read as _, Write};
use std::path::{Path, PathBuf};

use super::seal::Secret;
use super::{again, folder, pack};
use crate::authoring::{silent, sound_card};
use crate::diag::{Diagnostic, Report, id, is_sealed, render, sealed};
use crate::diagnosis::ensemble::Unwatched;
use crate::diagnosis::survey::in_parallel;
use crate::scenario::pack::Pack;
use crate::scenario::{self, Kind, Library};

/// Bytes of a file from which it is told whether it is a pack or sealed.
const BEGINNING: u64 = 256;

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

/// Checks files, packs, or folders that hold `plants`, `jobs` and `rubrics`; without any, everything that
/// is built in. A job is held against the plants and rubrics beside it, those given with it, and
/// those built in, in this order.
pub fn run(paths: &[PathBuf], format: Format, out: &mut dyn Write) -> u8 {
    run_with(paths, &Secret::default(), format, out)
}

/// As [`run`], with what opens a sealed pack.
pub(super) fn run_with(paths: &[PathBuf], secret: &Secret, format: Format, out: &mut dyn Write) -> u8 {
    let (report, checked) = if paths.is_empty() { check_builtin() } else { check_paths(paths, secret) };
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
    let named =
        Kind::ALL.into_iter().flat_map(|kind| library.names(kind).into_iter().map(move |name| (kind, name)));
    let named: Vec<(Kind, String)> = named.collect();
    let entry = |(kind, name): &(Kind, String)| {
        let (file, text) = library.entry(*kind, name)?;
        Some(Asked { kind: Some(*kind), file: file.to_owned(), text, library: &library })
    };
    let asked: Vec<Asked<'_>> = named.iter().filter_map(entry).collect();
    all_looked_at(&asked, &mut report);
    (report, asked.len())
}

/// A text to be checked, with the files that it may name.
struct Asked<'a> {
    kind: Option<Kind>,
    file: String,
    text: &'a str,
    library: &'a Library,
}

/// Looks at each on a core of its own; what is told stands in their order.
fn all_looked_at(asked: &[Asked<'_>], report: &mut Report) {
    let one = |a: &Asked<'_>| Ok(looked_at(a.kind, &a.file, a.text, a.library));
    in_parallel(asked, one).into_iter().flatten().for_each(|found| report.merge(found));
}

fn check_paths(paths: &[PathBuf], secret: &Secret) -> (Report, usize) {
    let mut report = Report::new();
    let mut in_packs = 0;
    let mut texts: Vec<(PathBuf, String, Option<Kind>)> = Vec::new();
    for path in files_of(paths, &mut report) {
        match handed(&path) {
            Handed::Pack => in_packs += check_pack(&path, false, secret, &mut report),
            Handed::Sealed => in_packs += check_pack(&path, true, secret, &mut report),
            Handed::Recording => report.push(recording(&path)),
            Handed::Text => match folder::read(&path) {
                Ok(text) => {
                    let kind = scenario::kind_of(&text).or_else(|| kind_of_folder(&path));
                    texts.push((path, text, kind));
                }
                Err(trouble) => report.merge(trouble),
            },
        }
    }
    let mut given = Library::builtin();
    for (path, text, kind) in &texts {
        if let Some(kind) = kind {
            given.insert(*kind, &folder::name_of(path), &path.display().to_string(), text);
        }
    }
    let mut homes: BTreeMap<PathBuf, Library> = BTreeMap::new();
    for (path, ..) in &texts {
        let at = folder::home_of(path);
        homes.entry(at).or_insert_with_key(|at| {
            let mut library = given.clone();
            // what can't be read beside a file only matters if the file names it, and is told then
            let _ = folder::lay_over(&mut library, at);
            library
        });
    }
    let asked = texts.iter().filter_map(|(path, text, kind)| {
        let library = homes.get(&folder::home_of(path))?;
        Some(Asked { kind: *kind, file: path.display().to_string(), text, library })
    });
    all_looked_at(&asked.collect::<Vec<_>>(), &mut report);
    (report, texts.len() + in_packs)
}

/// The files that were named, and those of the folders that were; each once.
fn files_of(paths: &[PathBuf], report: &mut Report) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = Vec::new();
    for path in paths {
        if path.is_dir() {
            for (file, why) in
                folder::nearly_ron(path).into_iter().map(folder::as_told).chain(folder::left_out(path))
            {
                report.push(Diagnostic::new(id::UNREADABLE, &file.display().to_string(), 0..0, why));
            }
            let mut inside = folder::ron_files(path);
            inside.extend(Kind::ALL.iter().flat_map(|k| folder::ron_files(&path.join(k.folder()))));
            if inside.is_empty() {
                let name = path.display().to_string();
                report.push(Diagnostic::new(id::UNREADABLE, &name, 0..0, "this folder holds no .ron file"));
            }
            files.extend(inside);
        } else {
            files.push(path.clone());
        }
    }
    let mut seen = BTreeSet::new();
    files.retain(|f| seen.insert(f.clone()));
    files
}

/// What a file begins as.
enum Handed {
    Text,
    Pack,
    Sealed,
    Recording,
}

/// What is said of a logger's table: it isn't a file that an author writes, and other commands read it.
fn recording(path: &Path) -> Diagnostic {
    let name = path.display().to_string();
    let file = again::path(path);
    Diagnostic::new(id::UNKNOWN_KIND, &name, 0..0, "this is a recording, and no plant, job, rubric or course").help(
        format!("\"faultbay read {file}\" says what is in it, \"faultbay fit {file} --plant PLANT\" which fault would show so"),
    )
}

fn handed(path: &Path) -> Handed {
    let mut bytes = Vec::new();
    // what can't be opened is told by who reads it
    let _ = File::open(path).and_then(|file| file.take(BEGINNING).read_to_end(&mut bytes));
    if is_sealed(&bytes) {
        Handed::Sealed
    } else if path.extension().is_some_and(|x| x.eq_ignore_ascii_case("csv")) && path.is_file() {
        Handed::Recording
    } else if Pack::is_begun_by(&bytes) {
        Handed::Pack
    } else {
        Handed::Text
    }
}

/// Checks every file of a pack, held against the others in it, and says how many there are. Of what came sealed it is told
/// how much there is to say and not what: that would show what is sealed.
fn check_pack(path: &Path, is_sealed: bool, secret: &Secret, report: &mut Report) -> usize {
    let name = path.display().to_string();
    if is_sealed && !secret.can_be_had() {
        report.push(sealed(&name));
        return 0;
    }
    let pack = match pack::opened(path, secret) {
        Ok((pack, _)) => pack,
        Err(why) => {
            let id = if is_sealed { id::SEALED } else { id::UNREADABLE };
            let why = format!("{why:#}");
            let message = why.strip_prefix(&format!("{name}: ")).unwrap_or(&why);
            report.push(Diagnostic::new(id, &name, 0..0, message));
            return 0;
        }
    };
    let mut library = Library::builtin();
    pack.lay_over(&mut library, &name);
    for (kind, called) in pack.files() {
        let Some((file, text)) = library.entry(kind, called) else { continue };
        if is_sealed {
            counted(&scenario::check_text(Some(kind), file, text, &library), kind, called, &name, report);
        } else {
            report.merge(looked_at(Some(kind), file, text, &library));
        }
    }
    pack.len()
}

/// Tells of a sealed file how many errors and warnings it has.
fn counted(found: &Report, kind: Kind, called: &str, pack: &str, report: &mut Report) {
    for (id, count, what) in
        [(id::SEALED, found.errors(), "error"), (id::SEALED_REMARKS, found.warnings(), "warning")]
    {
        if count > 0 {
            let s = if count == 1 { "" } else { "s" };
            let message = format!("the {} {called:?} of this sealed pack has {count} {what}{s}", kind.word());
            report.push(
                Diagnostic::new(id, pack, 0..0, message)
                    .help("what it says would tell what is sealed: check the file that the pack was made from"),
            );
        }
    }
}

/// What the text says, and of a file that can be used what driving tells: whether a job's hidden fault shows at all, and
/// whether a card holds what a sound vehicle reads.
pub(super) fn looked_at(kind: Option<Kind>, file: &str, text: &str, library: &Library) -> Report {
    let mut report = scenario::check_text(kind, file, text, library);
    let Some(kind) = kind.filter(|_| !report.has_errors()) else { return report };
    if kind == Kind::Job {
        silent::told(file, text, library, &Unwatched).into_iter().for_each(|found| report.push(found));
    }
    sound_card::told(kind, file, text, library, &Unwatched).into_iter().for_each(|found| report.push(found));
    report
}

/// A file that doesn't say what it is may lie in a folder that does.
fn kind_of_folder(path: &Path) -> Option<Kind> {
    let parent = path.parent()?.file_name()?;
    Kind::ALL.into_iter().find(|k| parent == k.folder())
}
