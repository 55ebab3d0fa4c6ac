//! The folder of the learner's records: sittings that were left, results, settings, what is exported.

use std::fs;
use std::path::{Path, PathBuf};

use super::settings::Settings;
use crate::attempt::Event;
use crate::attempt::{Attempt, MOST_BYTES};
use crate::bay::action::{Action, Micros};
use crate::marking::model::Mark;
use crate::tell;

/// Records that are looked at, at most: the newest.
const MOST_RECORDS: usize = 200;
/// Name of the file of settings.
const SETTINGS: &str = "settings.json";

/// A recorded sitting.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// Where it is recorded.
    pub path: PathBuf,
    /// Name of the job.
    pub job: String,
    /// Seed of the vehicle.
    pub seed: u64,
    /// How far it went.
    pub at: Micros,
    /// The vehicle was handed back.
    pub over: bool,
    /// Total and outcome, once it was marked.
    pub mark: Option<(f64, String)>,
}

/// The mark beside a record.
fn mark_path(record: &Path) -> PathBuf {
    record.with_extension("mark.json")
}

/// The last thing that was done is the handing back.
fn is_over(attempt: &Attempt) -> bool {
    let last = attempt.entries().iter().rev().find_map(|entry| match &entry.event {
        Event::Act(action) => Some(action),
        Event::Class(_) | Event::Tick => None,
    });
    matches!(last, Some(Action::HandBack))
}

/// Reads a record; what isn't one is passed over.
pub fn read(path: &Path) -> Option<Attempt> {
    let long = fs::metadata(path).ok()?.len();
    if long > MOST_BYTES as u64 {
        return None;
    }
    Attempt::read(fs::read(path).ok()?).ok().map(|(attempt, _)| attempt)
}

/// The recorded sittings of a folder, the newest first. Those in which nothing was done are left out.
pub fn all(folder: &Path) -> Vec<Kept> {
    let Ok(entries) = fs::read_dir(folder) else { return vec![] };
    let mut files: Vec<(std::time::SystemTime, PathBuf)> = entries
        .flatten()
        .filter(|e| e.path().extension().is_some_and(|x| x == "jsonl"))
        .filter_map(|e| Some((e.metadata().ok()?.modified().ok()?, e.path())))
        .collect();
    files.sort();
    files.into_iter().rev().take(MOST_RECORDS).filter_map(|(_, path)| kept(path)).collect()
}

fn kept(path: PathBuf) -> Option<Kept> {
    let attempt = read(&path)?;
    let done = attempt.entries().iter().any(|e| matches!(e.event, Event::Act(_)));
    if !done {
        return None;
    }
    let mark = fs::read_to_string(mark_path(&path)).ok().and_then(|text| {
        let mark: Mark = serde_json::from_str(&text).ok()?;
        // a mark that belongs to another record says nothing of this one
        (mark.attempt_hash == attempt.hash())
            .then(|| (mark.total, super::debrief::outcome_words(mark.outcome).to_owned()))
    });
    let header = attempt.header();
    Some(Kept {
        job: header.job.clone(),
        seed: header.seed,
        at: attempt.last_at(),
        over: is_over(&attempt),
        mark,
        path,
    })
}

/// Keeps a mark beside its record.
pub fn keep_mark(record: &Path, mark: &Mark) {
    if let Ok(text) = serde_json::to_string(mark) {
        // the mark can be made again from the record: nothing is lost without it
        let _ = fs::write(mark_path(record), text);
    }
}

/// The settings of a folder.
pub fn settings(folder: &Path) -> Settings {
    fs::read_to_string(folder.join(SETTINGS)).map_or_else(|_| Settings::default(), |text| Settings::read(&text))
}

/// Keeps the settings.
pub fn keep_settings(folder: &Path, settings: &Settings) {
    // a folder that can't be written has been told of with the first record
    let _ = fs::create_dir_all(folder).and_then(|()| fs::write(folder.join(SETTINGS), settings.text()));
}

/// Writes something under a name that no file has yet; gives where.
///
/// # Errors
/// A sentence when it can't be written.
pub fn export(folder: &Path, stem: &str, ending: &str, bytes: &[u8]) -> Result<PathBuf, String> {
    fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    let path = free(folder, stem, ending)?;
    fs::write(&path, bytes).map_err(|e| format!("{}: {e}", path.display()))?;
    Ok(path)
}

/// A name that no file of the folder has.
///
/// # Errors
/// A sentence when every name is taken.
pub fn free(folder: &Path, stem: &str, ending: &str) -> Result<PathBuf, String> {
    (1..10_000)
        .map(|n| folder.join(if n == 1 { format!("{stem}.{ending}") } else { format!("{stem}-{n}.{ending}") }))
        .find(|path| !path.exists())
        .ok_or_else(|| tell!("keeping-folder-full", folder = folder.display(), stem = stem))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("faultbay-keeping-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        folder
    }

    #[test]
    fn settings_are_found_again() {
        let folder = folder("settings");
        assert_eq!(settings(&folder), Settings::default());
        let mine = Settings { text: 150, ..Settings::default() };
        keep_settings(&folder, &mine);
        assert_eq!(settings(&folder), mine);
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn an_export_never_writes_over_a_file() {
        let folder = folder("export");
        let first = export(&folder, "chart", "csv", b"one").unwrap();
        let second = export(&folder, "chart", "csv", b"two").unwrap();
        assert_ne!(first, second);
        assert_eq!(fs::read(first).unwrap(), b"one");
        fs::remove_dir_all(folder).unwrap();
    }
}
