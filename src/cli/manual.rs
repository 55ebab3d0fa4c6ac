//! `faultbay manual`: the page of scenario files.

use std::io::Write;

use super::exit::Exit;
use crate::bay::words::WORDS;
use crate::scenario;

/// The page.
pub fn page() -> String {
    let actions: Vec<_> = WORDS.iter().map(|w| (w.verb, w.syntax, w.doc.said())).collect();
    scenario::manual(&actions)
}

/// Prints it.
pub fn run(out: &mut impl Write) -> anyhow::Result<Exit> {
    out.write_all(page().as_bytes())?;
    out.flush()?;
    Ok(Exit::Done)
}
