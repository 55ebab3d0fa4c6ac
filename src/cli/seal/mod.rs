//! Sealed packs: exam jobs that only a passphrase or a key opens, in the open `age` format (age-encryption.org/v1).
//!
//! What sealing stops: reading the hidden cause, the questions' answers or the vehicle's card out of the file that
//! candidates hold. What it doesn't stop: somebody who knows the passphrase, or who looks into the memory of the
//! program while the job is open. Invigilation stays the college's.

#[cfg(feature = "seal")]
mod asked;
#[cfg(not(feature = "seal"))]
mod disabled;
#[cfg(feature = "seal")]
mod enabled;

use std::io::IsTerminal;
use std::path::PathBuf;

use clap::Args;
#[cfg(not(feature = "seal"))]
pub use disabled::{close, open, salt};
#[cfg(feature = "seal")]
pub use enabled::{close, open, salt};

/// What opens or closes a seal.
#[derive(Clone, Debug, Default, Args)]
#[group(id = "secret")]
pub struct Secret {
    /// File whose first line is the passphrase of a sealed pack [default: ask in the terminal].
    #[arg(long, global = true, value_name = "FILE")]
    pub passphrase: Option<PathBuf>,
    /// File with the key that opens a pack sealed for its other half, or that signs.
    #[arg(long, global = true, value_name = "FILE", conflicts_with = "passphrase")]
    pub key: Option<PathBuf>,
}

impl Secret {
    /// There is something to open a seal with, or somebody who can be asked for the passphrase.
    pub fn can_be_had(&self) -> bool {
        self.passphrase.is_some() || self.key.is_some() || std::io::stdin().is_terminal()
    }
}
