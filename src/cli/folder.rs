//! Scenario files on disk, laid over those that are built in.

use std::io::Read as _;
use std::path::{Path, PathBuf};

use crate::diag::{Diagnostic, Report, id, is_sealed, sealed, text_of};
use crate::scenario::picture::{LARGEST_PICTURE, Picture};
use crate::scenario::{Kind, LARGEST_FILE, Library, PICTURES};

/// Most files taken from one folder.
const MOST_FILES: usize = 1000;

/// Reads a scenario file. No more is read than a file may have, and one byte, so that the check can
/// say that it is too large.
///
/// # Errors
/// A report when the file can't be opened, read or isn't text.
pub fn read(path: &Path) -> Result<String, Report> {
    let unreadable = |words: String| {
        let mut report = Report::new();
        report.push(Diagnostic::new(id::UNREADABLE, &path.display().to_string(), 0..0, words));
        report
    };
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(|e| unreadable(format!("can't be opened: {e}")))?;
    let most = LARGEST_FILE as u64 + 1;
    file.take(most).read_to_end(&mut bytes).map_err(|e| unreadable(format!("can't be read: {e}")))?;
    if is_sealed(&bytes) && std::str::from_utf8(&bytes).is_err() {
        let mut report = Report::new();
        report.push(sealed(&path.display().to_string()));
        return Err(report);
    }
    if bytes.len() > LARGEST_FILE {
        // the cut may have gone through a character; the file is too large anyway
        return Ok(String::from_utf8_lossy(&bytes).into_owned());
    }
    text_of(bytes).map_err(unreadable)
}

/// The `.ron` files of a folder in alphabetical order; none when there is no such folder.
pub fn ron_files(folder: &Path) -> Vec<PathBuf> {
    files_ending(folder, "ron")
}

fn files_ending(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut files: Vec<PathBuf> = entries
        .filter_map(Result::ok)
        .map(|e| e.path())
        .filter(|p| p.extension().is_some_and(|x| x == ending) && p.is_file())
        .take(MOST_FILES)
        .collect();
    files.sort();
    files
}

/// Files of a folder whose names nearly end in `.ron`, with the name that each should have: an editor that adds an ending
/// of its own, or capitals.
pub fn nearly_ron(folder: &Path) -> Vec<(PathBuf, String)> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let meant = |path: PathBuf| {
        let name = path.file_name()?.to_str()?;
        let low = name.to_lowercase();
        let stem = low.strip_suffix(".txt").unwrap_or(&low).strip_suffix(".ron")?.len();
        // a letter may be longer in small ones
        let stem = name.get(..stem).filter(|stem| !stem.is_empty() && !name.ends_with(".ron"))?;
        let meant = format!("{stem}.ron");
        path.is_file().then_some((path, meant))
    };
    let mut files: Vec<_> =
        entries.filter_map(Result::ok).filter_map(|e| meant(e.path())).take(MOST_FILES).collect();
    files.sort();
    files
}

/// The same of the folders of all kinds, each as it is told.
pub fn left_out(folder: &Path) -> Vec<(PathBuf, String)> {
    let of_kind = |kind: &Kind| nearly_ron(&folder.join(kind.folder()));
    Kind::ALL.iter().flat_map(of_kind).map(as_told).collect()
}

/// What is said of a file whose name should be another one.
pub fn as_told((path, meant): (PathBuf, String)) -> (PathBuf, String) {
    (path, format!("is left out, as its name doesn't end in .ron: rename it to {meant}"))
}

/// Why a folder that was named isn't one that holds folders of jobs and other files; none where it may be.
pub fn misplaced(folder: &Path) -> Option<String> {
    if Kind::ALL.iter().any(|kind| folder.join(kind.folder()).is_dir()) || ron_files(folder).is_empty() {
        return None;
    }
    let shown = folder.display();
    let is_of_kind = folder.file_name().is_some_and(|name| Kind::ALL.iter().any(|kind| name == kind.folder()));
    Some(if is_of_kind {
        let above = folder.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        format!(
            "{shown} holds the files themselves: give the folder above it, --jobs {}",
            super::again::path(above)
        )
    } else {
        format!(
            "{shown} holds files and none of the folders jobs, plants, rubrics and courses: put each file into its own"
        )
    })
}

/// What helps whoever named the file of a job or a plant where its name is wanted; none where no file was named. Its folder
/// says what it is, or else what was wanted.
pub fn named_by_file(named: &str, wanted: Kind) -> Option<String> {
    let path = Path::new(named);
    if !path.extension().is_some_and(|x| x.eq_ignore_ascii_case("ron")) {
        return None;
    }
    let parent = path.parent().and_then(Path::file_name);
    let lies_in = Kind::ALL.into_iter().find(|kind| parent.is_some_and(|name| name == kind.folder()));
    let kind = lies_in.unwrap_or(wanted);
    let (name, word, folder) = (super::again::word(&name_of(path)), kind.word(), kind.folder());
    Some(if lies_in.is_some() {
        let home = super::again::path(&home_of(path));
        format!("a {word} is given by its name and the folder above {folder}: {name} --jobs {home}")
    } else {
        format!("a {word} is given by its name, and its file lies in FOLDER/{folder}: {name} --jobs FOLDER")
    })
}

/// Lays the files of `folder/plants`, `folder/jobs`, `folder/rubrics` and `folder/pictures` over a library. What can't
/// be read is left out and reported.
pub fn lay_over(library: &mut Library, folder: &Path) -> Report {
    let mut report = Report::new();
    for kind in Kind::ALL {
        for path in ron_files(&folder.join(kind.folder())) {
            match read(&path) {
                Ok(text) => library.insert(kind, &name_of(&path), &path.display().to_string(), &text),
                Err(trouble) => report.merge(trouble),
            }
        }
    }
    for path in files_ending(&folder.join(PICTURES), "png") {
        match picture(&path) {
            Ok(picture) => library.insert_picture(&name_of(&path), picture),
            Err(why) => {
                let message = format!("this picture can't be shown: {why}");
                report.push(Diagnostic::new(id::UNKNOWN_PICTURE, &path.display().to_string(), 0..0, message));
            }
        }
    }
    report
}

/// Reads a picture; no more of it than it may have, and one byte.
///
/// # Errors
/// Why it isn't taken.
pub fn picture(path: &Path) -> Result<Picture, String> {
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(|e| format!("it can't be opened: {e}"))?;
    let most = LARGEST_PICTURE as u64 + 1;
    file.take(most).read_to_end(&mut bytes).map_err(|e| format!("it can't be read: {e}"))?;
    Picture::read(&bytes).map_err(|why| why.to_string())
}

/// The name under which other files refer to this one.
pub fn name_of(path: &Path) -> String {
    path.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default()
}

/// The folder that holds `plants`, `jobs` and `rubrics`, seen from one of their files.
pub fn home_of(path: &Path) -> PathBuf {
    let parent = path.parent().unwrap_or(Path::new(""));
    let in_kind = parent.file_name().is_some_and(|n| Kind::ALL.iter().any(|k| n == k.folder()));
    let home = if in_kind { parent.parent().unwrap_or(Path::new("")) } else { parent };
    if home.as_os_str().is_empty() { PathBuf::from(".") } else { home.to_owned() }
}
