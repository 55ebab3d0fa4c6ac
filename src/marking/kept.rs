//! A mark that was made before: kept by everything that decides it, so that a class is marked again in seconds.
//!
//! The key is a hash of the attempt's chain, the job with its scheme and candidates, the version and the language in which
//! it is said; the bytes carry their own hash. What is kept is a convenience and no record: whoever has doubts marks anew,
//! which replays the attempt and comes to the same bits.

use super::mark::mark_with;
use super::model::Mark;
use crate::attempt::Attempt;
use crate::diagnosis::ensemble::Watch;
use crate::diagnosis::justify::{VEHICLES, belief_key};
use crate::diagnosis::store::{Store, closed, opened};
use crate::language::spoken;
use crate::scenario::model::Job;

/// Raise it when a component, a sentence or anything else of a mark is worked out otherwise.
const MARK_VERSION: u32 = 6;

/// [`mark_with`] from the store, or made and kept.
///
/// # Errors
/// See [`mark_with`]; an attempt that can't be marked is replayed every time.
pub fn mark_kept(job: &Job, attempt: &Attempt, store: &dyn Store, watch: &dyn Watch) -> Result<Mark, String> {
    let belief = belief_key(job, VEHICLES, attempt.hash());
    let made_by = format!("{belief} {MARK_VERSION} {:?}", spoken());
    let key = format!("mark-{}", blake3::hash(made_by.as_bytes()).to_hex());
    let kept = store.get(&key).and_then(|bytes| opened(&bytes));
    if let Some(mark) = kept.and_then(|json| serde_json::from_slice(&json).ok()) {
        watch.progress(1.0);
        return Ok(mark);
    }
    let mark = mark_with(job, attempt, store, watch)?;
    if let Ok(json) = serde_json::to_vec(&mark) {
        store.put(&key, &closed(&json));
    }
    Ok(mark)
}
