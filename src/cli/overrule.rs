//! `faultbay override`: an assessor's own decision beside the computed mark. What was computed stays as it is.

use std::io::Write;
use std::path::Path;

use anyhow::{Context, bail};

use super::exit::Exit;
use super::job::{Shelf, read_attempt, read_file};
use super::{args, fresh, mark};
use crate::marking::model::{Component, Mark, Outcome, Override};
use crate::marking::overrule::{overrule, standing, total_with};

/// Largest mark that is read, bytes.
const LARGEST_MARK: usize = 16 << 20;

/// Adds the decision and writes the mark with both.
pub fn run(typed: &args::Override, shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<Exit> {
    // a decision that was written before stays
    fresh::is_free(&typed.json)?;
    let before = match read_mark(&typed.from) {
        Ok(mark) => mark,
        Err(_) => {
            let (attempt, _) = read_attempt(&typed.from)?;
            let job = shelf.job(&attempt.header().job)?;
            mark::known(&job, &attempt).map_err(|why| anyhow::anyhow!("{}: {why}", typed.from.display()))?
        }
    };
    let components: Vec<(Component, f64)> = typed
        .component
        .iter()
        .filter_map(|(letter, share)| Some((Component::of_letter(*letter)?, *share)))
        .collect();
    if typed.outcome.is_none() && components.is_empty() {
        bail!("a decision changes the outcome or a component: give --outcome or --component");
    }
    let outcome = match typed.outcome {
        Some(args::Verdict::Reached) => Outcome::Reached,
        Some(args::Verdict::NotReached) => Outcome::NotReached,
        None => standing(&before).0,
    };
    let total = (!components.is_empty()).then(|| total_with(&before, &components));
    let decision = Override {
        assessor: typed.assessor.clone(),
        role: typed.role.clone(),
        reason: typed.reason.clone(),
        outcome,
        total,
        components,
    };
    let after = overrule(&before, decision)?;
    fresh::write(&typed.json, crate::report::json::mark(&after).as_bytes())?;
    writeln!(std::io::stderr(), "{} is written.", typed.json.display())?;
    let (outcome, total) = standing(&after);
    let words = match outcome {
        Outcome::Reached => "reached",
        Outcome::NotReached => "not reached",
        Outcome::Review => "for a person to decide",
    };
    writeln!(
        out,
        "Computed: {:.2} of 100. Decided by {}: {total:.2} of 100, {words}.",
        after.total, typed.assessor
    )?;
    out.flush()?;
    Ok(Exit::Done)
}

/// A mark that was written as JSON.
pub fn read_mark(path: &Path) -> anyhow::Result<Mark> {
    let bytes = read_file(path, LARGEST_MARK)?;
    serde_json::from_slice(&bytes).with_context(|| format!("{} isn't a mark's JSON", path.display()))
}
