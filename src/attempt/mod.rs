//! The append-only record of a sitting: writing, reading, verifying, replaying, resuming.
//!
//! An attempt file is JSON Lines. Line 1 says which job, which vehicle and which engine; every
//! further line is one thing done, or a heartbeat that says how far the clock had got. Each line
//! carries a hash over the line before it and itself, so a change, a gap or a swap is noticed. What
//! the chain can't notice is that whole lines are missing *at the end*: such a file is a shorter
//! attempt, and is marked as one.
//!
//! ```text
//! {"format":"faultbay-attempt","version":1,"job":"…","job_hash":"…","seed":"7","engine":"0.1.0","hash":"…"}
//! {"n":1,"at":0,"act":{"do":"make-safe","step":"protection"},"hash":"…"}
//! {"n":2,"at":1000000,"tick":true,"hash":"…"}
//! ```
//!
//! Nothing here opens a file or reads a clock: text goes in, lines come out.

mod chain;
mod record;
mod replay;
#[cfg(feature = "seal")]
pub mod signature;
mod sitting;
#[cfg(test)]
mod tests;

pub use record::{
    Attempt, AttemptError, Entry, Event, Header, Kind, LONGEST_LINE, LONGEST_TIME, MOST_BYTES, MOST_LINES, Warning,
};
pub use replay::{
    Going, ReplayError, open, open_watched, replay, replay_each, replay_opened, replay_watched, reveal,
    reveal_watched,
};
pub use sitting::Sitting;
