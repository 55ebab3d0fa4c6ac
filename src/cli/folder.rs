//! Scenario files on disk, laid over those that are built in.

use std::io::Read as _;
use std::path::{Path, PathBuf};

use crate::diag::{Diagnostic, Report, id, is_sealed, sealed};
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
    let cut = bytes.len() > LARGEST_FILE;
    match String::from_utf8(bytes) {
        Ok(text) => Ok(text),
        Err(e) if is_sealed(e.as_bytes()) => {
            let mut report = Report::new();
            report.push(sealed(&path.display().to_string()));
            Err(report)
        }
        // the cut may have gone through a character; the file is too large anyway
        Err(e) if cut => Ok(String::from_utf8_lossy(e.as_bytes()).into_owned()),
        Err(e) => Err(unreadable(format!("isn't text in UTF-8 (byte {})", e.utf8_error().valid_up_to()))),
    }
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
