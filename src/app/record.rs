//! The file of an attempt under way. It grows with the attempt, and is left alone once somebody else has written to it.

use std::fs::{File, OpenOptions, create_dir_all};
use std::io::Write;
use std::path::{Path, PathBuf};

use crate::attempt::Attempt;
use crate::tell;

/// Why nothing is written any more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Trouble {
    /// It can't be written.
    Broken,
    /// It isn't as this window left it: another goes on with the same sitting.
    Foreign,
}

/// A file that grows with the attempt.
pub(super) struct Record {
    file: File,
    path: PathBuf,
    /// How long it is when nobody else wrote to it, bytes.
    long: u64,
    trouble: Option<Trouble>,
}

impl Record {
    /// A new file in the folder; no file that exists is touched.
    pub(super) fn create(folder: &PathBuf, job: &str, seed: u64) -> Result<Self, String> {
        create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
        for n in 1..10_000 {
            let path = folder.join(format!("{job}-{seed}-{n}.jsonl"));
            match OpenOptions::new().append(true).create_new(true).open(&path) {
                Ok(file) => return Ok(Self { file, path, long: 0, trouble: None }),
                Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {}
                Err(e) => return Err(format!("{}: {e}", path.display())),
            }
        }
        Err(tell!("sitting-folder-full", folder = folder.display(), job = job))
    }

    /// Goes on with a file: what stands there is what was read, so that nothing half-written stays before the
    /// next line. A file that holds just that stays the same one, so that another window sees what is added to it.
    /// `as_read`: how long it was when it was read, bytes.
    pub(super) fn again(path: &Path, attempt: &Attempt, as_read: u64) -> Result<Self, String> {
        let why = |e: std::io::Error| format!("{}: {e}", path.display());
        let text = attempt.text();
        let now = std::fs::read(path).map_err(why)?;
        if now != text.as_bytes() {
            if now.len() as u64 != as_read {
                return Err(tell!("sitting-other-window", path = path.display()));
            }
            let beside = path.with_extension("new");
            std::fs::write(&beside, &text).map_err(why)?;
            std::fs::rename(&beside, path).map_err(why)?;
        }
        let file = OpenOptions::new().append(true).open(path).map_err(why)?;
        Ok(Self { file, path: path.to_owned(), long: text.len() as u64, trouble: None })
    }

    /// Where it is.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Where the attempt is recorded, or why it no longer is.
    pub(super) fn words(&self) -> Result<String, String> {
        let path = self.path.display();
        match self.trouble {
            None => Ok(tell!("sitting-recorded-in", path = path)),
            Some(Trouble::Broken) => Err(tell!("sitting-no-longer-written", path = path)),
            Some(Trouble::Foreign) => Err(tell!("sitting-other-window", path = path)),
        }
    }

    /// Adds lines, unless the file isn't as they would follow on it.
    pub(super) fn write(&mut self, lines: &[String]) {
        let text: String = lines.iter().flat_map(|line| [line.as_str(), "\n"]).collect();
        if text.is_empty() || self.trouble.is_some() {
            return;
        }
        if std::fs::metadata(&self.path).is_ok_and(|on_disk| on_disk.len() != self.long) {
            self.trouble = Some(Trouble::Foreign);
        } else if self.file.write_all(text.as_bytes()).and_then(|()| self.file.flush()).is_err() {
            self.trouble = Some(Trouble::Broken);
        } else {
            self.long += text.len() as u64;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::attempt::Header;

    #[test]
    fn of_two_windows_with_one_sitting_the_second_to_write_stops() {
        let folder = std::env::temp_dir().join(format!("faultbay-record-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        let header =
            Header { job: "a-job".into(), job_hash: "0".repeat(32), seed: 7, engine: "0".into(), name: None };
        let (attempt, line) = Attempt::begin(header);
        let mut first = Record::create(&folder, "a-job", 7).unwrap();
        first.write(&[line]);
        assert!(first.words().is_ok());
        let path = first.path().to_owned();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), attempt.text());
        let as_read = std::fs::metadata(&path).unwrap().len();
        let mut second = Record::again(&path, &attempt, as_read).unwrap();
        second.write(&["one".to_owned()]);
        first.write(&["two".to_owned()]);
        assert!(first.words().is_err() && second.words().is_ok());
        second.write(&["three".to_owned()]);
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.ends_with("one\nthree\n") && !text.contains("two"), "{text}");
        // what was read is no longer what stands there, and nothing of it is cut off
        assert!(Record::again(&path, &attempt, as_read).is_err());
        assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
        std::fs::remove_dir_all(folder).unwrap();
    }
}
