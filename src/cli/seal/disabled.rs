//! Without the feature `seal` nothing is sealed or opened, and that is said.

use anyhow::{Result, bail};

use super::Secret;

const WHY: &str = "this build can't open or seal packs: it was made without the feature “seal”";

/// Refuses.
///
/// # Errors
/// Always.
pub fn open(_: &[u8], _: &Secret) -> Result<String> {
    bail!(WHY)
}

/// Nothing: nothing is sealed.
pub fn salt() -> String {
    String::new()
}

/// Refuses.
///
/// # Errors
/// Always.
pub fn close(_: &str, _: &[String], _: &Secret) -> Result<Vec<u8>> {
    bail!(WHY)
}
