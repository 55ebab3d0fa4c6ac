//! Without the feature `seal` nothing is signed or checked, and that is said.

use std::io::Write;
use std::path::{Path, PathBuf};

use anyhow::{Result, bail};

use crate::cli::args;
use crate::cli::exit::Exit;

const WHY: &str = "this build can't make keys or signatures: it was made without the feature “seal”";

/// Refuses.
///
/// # Errors
/// Always.
pub fn key(_: &args::Key, _: &mut impl Write) -> Result<Exit> {
    bail!(WHY)
}

/// Refuses.
///
/// # Errors
/// Always.
pub fn sign(_: &Path, _: Option<&Path>, _: &mut impl Write) -> Result<Exit> {
    bail!(WHY)
}

/// Refuses.
///
/// # Errors
/// Always.
pub fn verify(_: &Path, _: &[PathBuf], _: &mut impl Write) -> Result<Exit> {
    bail!(WHY)
}

/// Nothing, where there is no signature.
///
/// # Errors
/// A signature is there or asked for, and can't be checked.
pub fn told(attempt: &Path, trusted: &[PathBuf]) -> Result<Option<String>> {
    if !trusted.is_empty() || super::beside(attempt).exists() {
        bail!(WHY)
    }
    Ok(None)
}
