//! `faultbay key`, `faultbay sign`, `faultbay verify`: keys, and signatures that lie beside attempts.
//!
//! What a signature stops: an attempt that is changed, shortened or exchanged after it was collected. What it doesn't
//! stop: everything before that. Who sat there, and with whose help, stays the invigilator's to see.

#[cfg(not(feature = "seal"))]
mod disabled;
#[cfg(feature = "seal")]
mod enabled;

use std::path::{Path, PathBuf};

#[cfg(not(feature = "seal"))]
pub use disabled::{key, sign, told, verify};
#[cfg(feature = "seal")]
pub use enabled::{key, sign, told, verify};

/// File with the signature of an attempt: its name with a word more.
pub fn beside(attempt: &Path) -> PathBuf {
    let mut name = attempt.as_os_str().to_owned();
    name.push(".signature");
    name.into()
}
