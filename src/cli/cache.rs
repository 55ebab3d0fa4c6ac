//! What reference vehicles showed, kept in the user's cache folder between marks.
//!
//! Losing it costs time only. Entries are written beside their place and moved into it, so that a
//! reader never sees half of one; the oldest go when the folder grows beyond its bound.

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use crate::diagnosis::store::Store;

/// Most bytes that the folder may hold.
const MOST_BYTES: u64 = 256 << 20;

/// A folder of entries.
pub struct Folder {
    path: PathBuf,
    most: u64,
}

impl Folder {
    /// The user's cache folder, if the system names one.
    pub fn of_user() -> Option<Self> {
        let set = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
        let base = set("XDG_CACHE_HOME")
            .or_else(|| set("LOCALAPPDATA"))
            .or_else(|| set("HOME").map(|home| home.join(".cache")))?;
        Some(Self::at(&base.join("faultbay").join("reference"), MOST_BYTES))
    }

    /// This folder, holding at most so many bytes.
    pub fn at(path: &Path, most: u64) -> Self {
        Self { path: path.to_owned(), most }
    }

    fn entry(&self, key: &str) -> Option<PathBuf> {
        // a key is a name that we made; anything else stays outside
        let plain = !key.is_empty() && key.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
        plain.then(|| self.path.join(format!("{key}.bin")))
    }

    /// Removes the oldest entries until there is room for so many bytes more.
    fn make_room(&self, more: u64) -> std::io::Result<()> {
        let mut entries: Vec<(SystemTime, u64, PathBuf)> = vec![];
        for entry in std::fs::read_dir(&self.path)? {
            let entry = entry?;
            let about = entry.metadata()?;
            if about.is_file() {
                entries.push((about.modified().unwrap_or(SystemTime::UNIX_EPOCH), about.len(), entry.path()));
            }
        }
        entries.sort();
        let mut held: u64 = entries.iter().map(|e| e.1).sum();
        for (_, size, path) in entries {
            if held + more <= self.most {
                break;
            }
            std::fs::remove_file(path)?;
            held -= size;
        }
        Ok(())
    }

    fn write(&self, place: &Path, bytes: &[u8]) -> std::io::Result<()> {
        std::fs::create_dir_all(&self.path)?;
        self.make_room(bytes.len() as u64)?;
        let beside = self.path.join(format!(".{}.part", std::process::id()));
        std::fs::write(&beside, bytes)?;
        std::fs::rename(&beside, place)
    }
}

impl Store for Folder {
    fn get(&self, key: &str) -> Option<Vec<u8>> {
        std::fs::read(self.entry(key)?).ok()
    }

    fn put(&self, key: &str, bytes: &[u8]) {
        if bytes.len() as u64 > self.most {
            return;
        }
        if let Some(place) = self.entry(key) {
            // a cache that can't be written is no cache, and no error either
            let _ = self.write(&place, bytes);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scratch(name: &str) -> PathBuf {
        let path = std::env::temp_dir().join(format!("faultbay-cache-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        path
    }

    #[test]
    fn what_is_put_comes_back_and_the_oldest_goes() {
        let path = scratch("bound");
        let folder = Folder::at(&path, 25);
        assert_eq!(folder.get("a"), None);
        for (i, key) in ["a", "b", "c"].into_iter().enumerate() {
            folder.put(key, &[i as u8; 10]);
            // times of files are coarse on some systems
            std::thread::sleep(std::time::Duration::from_millis(20));
        }
        assert_eq!(folder.get("a"), None);
        assert_eq!((folder.get("b"), folder.get("c")), (Some(vec![1; 10]), Some(vec![2; 10])));
        folder.put("d", &[9; 26]);
        assert_eq!(folder.get("d"), None);
        assert!(
            std::fs::read_dir(&path).unwrap().all(|e| e.unwrap().path().extension().is_some_and(|x| x == "bin"))
        );
        std::fs::remove_dir_all(path).unwrap();
    }

    #[test]
    fn a_key_that_is_a_path_stays_outside() {
        let folder = Folder::at(&scratch("outside"), 100);
        folder.put("../elsewhere", b"x");
        assert_eq!(folder.get("../elsewhere"), None);
        assert!(!folder.path.exists());
    }
}
