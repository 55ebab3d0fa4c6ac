//! Files that are written once: what is there already is somebody's work.

use std::fs::{self, OpenOptions};
use std::io::{ErrorKind, Write as _};
use std::path::Path;

use anyhow::{Context, bail};

/// Refuses a place where something stands already; asked before work that takes a while.
///
/// # Errors
/// A file or folder is there. What is neither, such as a pipe, keeps nothing that could be lost.
pub fn is_free(path: &Path) -> anyhow::Result<()> {
    if fs::metadata(path).is_ok_and(|there| there.is_file() || there.is_dir()) {
        bail!(taken(path));
    }
    Ok(())
}

fn taken(path: &Path) -> String {
    format!("{} exists and isn\u{2019}t overwritten: remove it, or name another file", path.display())
}

/// Writes a new file; one that exists isn't touched.
///
/// # Errors
/// It exists, or can't be written.
pub fn write(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    is_free(path)?;
    let mut options = OpenOptions::new();
    // a pipe is there before it is written to
    if path.exists() {
        options.write(true)
    } else {
        options.write(true).create_new(true)
    };
    let failed = || format!("can\u{2019}t write {}", path.display());
    let mut file = match options.open(path) {
        // somebody was quicker
        Err(e) if e.kind() == ErrorKind::AlreadyExists => bail!(taken(path)),
        other => other.with_context(failed)?,
    };
    file.write_all(bytes).with_context(failed)
}
