//! The attempt as data, and the way between it and its text.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::chain;
use crate::bay::action::{Action, Micros, SECOND};
use crate::bay::instruct::Instruction;
use crate::language::said;
use crate::tell;

/// Largest attempt file that is read, bytes.
pub const MOST_BYTES: usize = 64 << 20;
/// Most lines of an attempt, the header included.
pub const MOST_LINES: usize = 1_000_000;
/// Longest line of an attempt, bytes.
pub const LONGEST_LINE: usize = 64 << 10;
/// Longest sitting: 30 simulated days.
pub const LONGEST_TIME: Micros = 30 * 24 * 3600 * SECOND;

const FORMAT: &str = "faultbay-attempt";
const VERSION: u32 = 1;
const ENGINE: &str = env!("CARGO_PKG_VERSION");

const RETYPED: &str = "Use the file as it was written; a changed attempt can't be marked.";
const RESTART: &str = "Begin the job anew; nothing had been done yet.";

/// What the first line says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Header {
    /// Name of the job.
    pub job: String,
    /// Hash of plant and job.
    pub job_hash: String,
    /// Seed of the vehicle.
    pub seed: u64,
    /// Version of the engine that ran the sitting.
    pub engine: String,
    /// Who sat, as typed.
    pub name: Option<String>,
}

/// Something that a line records.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// Something done, or tried and refused.
    Act(Action),
    /// Something that an instructor did, or tried and was refused.
    Class(Instruction),
    /// Nothing: the clock had got so far.
    Tick,
}

/// A line after the first.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Simulated time at which it began.
    pub at: Micros,
    /// What happened.
    pub event: Event,
}

/// A recorded sitting whose chain holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Attempt {
    header: Header,
    entries: Vec<Entry>,
    hash: String,
}

/// Something about a file that was read in spite of it.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Warning {
    /// The last line was cut off while it was written, and was dropped.
    #[error("Line {line} was cut off while it was written. It was left out; at most one action is lost.")]
    TornLine {
        /// Line of the file, from 1.
        line: usize,
        /// Bytes of the file that hold whole lines; cut there before appending.
        keep: usize,
    },
    /// The last line is whole, but its line end is missing.
    #[error("Line {line} lacks its line end. Nothing is lost.")]
    NoLineEnd {
        /// Line of the file, from 1.
        line: usize,
        /// Bytes of the file up to the end of that line; cut there and write a line end before appending.
        keep: usize,
    },
    /// Another version of the program wrote the file.
    #[error("The sitting ran on version {found} of the program; this is version {ENGINE}. A replay may differ.")]
    OtherEngine {
        /// That version.
        found: String,
    },
}

/// What sort of fault a file has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Not an attempt file at all, or cut off in its first line.
    NotAnAttempt,
    /// A later form of the file than this program knows.
    Version,
    /// A line, or a byte of it, was changed.
    Changed,
    /// A line is missing, doubled or out of its place.
    Order,
    /// A time goes back or is absurd.
    Time,
    /// Too large.
    Limit,
}

/// Why a file can't be read as an attempt.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("line {line}: {found}\n  Expected: {expected}\n  {advice}")]
pub struct AttemptError {
    /// Line of the file, from 1.
    pub line: usize,
    /// What sort of fault.
    pub kind: Kind,
    /// What was found.
    pub found: String,
    /// What should have been there.
    pub expected: String,
    /// What to do now.
    pub advice: &'static str,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct HeaderLine {
    format: String,
    version: u32,
    job: String,
    job_hash: String,
    seed: String,
    engine: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    name: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct EntryLine {
    n: usize,
    at: Micros,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    act: Option<Action>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    class: Option<Instruction>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    tick: bool,
}

/// Only what a message needs of a line that is wrong.
#[derive(Deserialize)]
struct Number {
    n: usize,
}

/// Only what tells an attempt from another file.
#[derive(Deserialize)]
struct Signature {
    format: String,
    version: u64,
}

impl Attempt {
    /// An attempt in which nothing has been done yet, and its first line.
    pub fn begin(header: Header) -> (Self, String) {
        let (line, hash) = chain::seal("", &header_body(&header));
        (Self { header, entries: Vec::new(), hash }, line)
    }

    /// Adds something that happened; gives the line to write.
    ///
    /// # Errors
    /// A sentence when the line couldn't be read back: a number that isn't one, a text too long, a
    /// time that goes back, or a full record. Nothing is added then.
    pub fn push(&mut self, entry: Entry) -> Result<String, String> {
        if let Some(at) = time_fault(self.last_at(), entry.at) {
            return Err(at);
        }
        if self.entries.len() + 2 > MOST_LINES {
            return Err(tell!("bay-attempt-full", MOST_LINES = MOST_LINES));
        }
        let body = entry_body(self.entries.len() + 1, &entry)?;
        if body.len() + 64 > LONGEST_LINE {
            return Err(said("bay-attempt-too-long").to_owned());
        }
        if parse_entry(&body) != Some((self.entries.len() + 1, entry.clone())) {
            return Err(said("bay-attempt-no-number").to_owned());
        }
        let (line, hash) = chain::seal(&self.hash, &body);
        self.entries.push(entry);
        self.hash = hash;
        Ok(line)
    }

    /// What the first line says.
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// Everything that happened, in order.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Hash of the last line, and through it of the whole attempt.
    pub fn hash(&self) -> &str {
        &self.hash
    }

    /// Time of the last line.
    pub fn last_at(&self) -> Micros {
        self.entries.last().map_or(0, |e| e.at)
    }

    /// The attempt as it stood after its first `count` events: the place to branch off.
    pub fn first(&self, count: usize) -> Self {
        let mut part = Self::begin(self.header.clone()).0;
        for (i, entry) in self.entries.iter().take(count).enumerate() {
            part.hash = chain::hash(&part.hash, &entry_body(i + 1, entry).unwrap_or_default());
            part.entries.push(entry.clone());
        }
        part
    }

    /// The text of the file, to the byte as it was written.
    pub fn text(&self) -> String {
        let (mut line, mut hash) = chain::seal("", &header_body(&self.header));
        let mut text = String::new();
        for (i, entry) in self.entries.iter().enumerate() {
            text += &line;
            text.push('\n');
            (line, hash) = chain::seal(&hash, &entry_body(i + 1, entry).unwrap_or_default());
        }
        text + &line + "\n"
    }

    /// Reads a file's text and verifies its chain.
    ///
    /// A last line that was cut off is left out, with a warning. Line ends may be `\n` or `\r\n`.
    ///
    /// # Errors
    /// The first line that is wrong, with what was expected and what to do.
    pub fn read(text: impl AsRef<[u8]>) -> Result<(Self, Vec<Warning>), AttemptError> {
        read(text.as_ref())
    }
}

fn read(text: &[u8]) -> Result<(Attempt, Vec<Warning>), AttemptError> {
    if text.len() > MOST_BYTES {
        return Err(AttemptError {
            line: 1,
            kind: Kind::Limit,
            found: format!("the file holds {} bytes", text.len()),
            expected: format!("at most {MOST_BYTES} bytes"),
            advice: "This isn't the record of one sitting.",
        });
    }
    let mut warnings = Vec::new();
    let mut attempt: Option<Attempt> = None;
    let (mut line_number, mut start) = (0, 0);
    while start < text.len() {
        line_number += 1;
        let rest = &text[start..];
        let (raw, terminated) = match rest.iter().position(|&b| b == b'\n') {
            Some(end) => (&rest[..end], true),
            None => (rest, false),
        };
        let next = start + raw.len() + usize::from(terminated);
        let mut raw = raw;
        if !terminated {
            // a power cut may leave a tail of zero bytes
            while let [head @ .., 0] = raw {
                raw = head;
            }
        }
        let line = raw.strip_suffix(b"\r").unwrap_or(raw);
        if !terminated && is_cut(line) {
            if attempt.is_none() {
                return Err(AttemptError {
                    line: 1,
                    kind: Kind::NotAnAttempt,
                    found: "the file ends within its first line".to_owned(),
                    expected: "a line that begins an attempt".to_owned(),
                    advice: RESTART,
                });
            }
            warnings.push(Warning::TornLine { line: line_number, keep: start });
            break;
        }
        match &mut attempt {
            None => attempt = Some(read_header(line)?),
            Some(attempt) => read_entry(attempt, line_number, line)?,
        }
        if !terminated {
            warnings.push(Warning::NoLineEnd { line: line_number, keep: start + line.len() });
        }
        start = next;
    }
    let Some(attempt) = attempt else {
        return Err(AttemptError {
            line: 1,
            kind: Kind::NotAnAttempt,
            found: "the file is empty".to_owned(),
            expected: "a line that begins an attempt".to_owned(),
            advice: RESTART,
        });
    };
    if attempt.header.engine != ENGINE {
        warnings.push(Warning::OtherEngine { found: attempt.header.engine.clone() });
    }
    Ok((attempt, warnings))
}

/// The bytes are the beginning of a line: an object that never closes.
fn is_cut(line: &[u8]) -> bool {
    if line.first().is_some_and(|&b| b != b'{') {
        return false;
    }
    let (mut depth, mut in_text, mut escaped) = (0_usize, false, false);
    for &b in line {
        match b {
            _ if escaped => escaped = false,
            b'\\' if in_text => escaped = true,
            b'"' => in_text = !in_text,
            b'{' if !in_text => depth += 1,
            b'}' if !in_text => {
                depth = depth.saturating_sub(1);
                if depth == 0 {
                    return false;
                }
            }
            _ => {}
        }
    }
    true
}

fn read_header(line: &[u8]) -> Result<Attempt, AttemptError> {
    let wrong = |kind, found: &str, expected: &str, advice| AttemptError {
        line: 1,
        kind,
        found: found.to_owned(),
        expected: expected.to_owned(),
        advice,
    };
    let stranger = || {
        wrong(
            Kind::NotAnAttempt,
            "this isn't the beginning of an attempt",
            r#"{"format":"faultbay-attempt", …}"#,
            "Name a file that `faultbay sit --attempt` or the application wrote.",
        )
    };
    let line = std::str::from_utf8(line).map_err(|_| stranger())?;
    if line.len() > LONGEST_LINE {
        return Err(stranger());
    }
    let signature: Signature = serde_json::from_str(line).map_err(|_| stranger())?;
    if signature.format != FORMAT {
        return Err(stranger());
    }
    if signature.version != u64::from(VERSION) {
        return Err(wrong(
            Kind::Version,
            &format!("the file has version {}", signature.version),
            &format!("version {VERSION}"),
            "Read it with the version of the program that wrote it, or a later one.",
        ));
    }
    let changed = |found: &str| wrong(Kind::Changed, found, "the line as the program wrote it", RETYPED);
    let (body, hash) = chain::unseal(line).ok_or_else(|| changed("the line doesn't end in its hash"))?;
    if chain::hash("", &body) != hash {
        return Err(changed("the line doesn't agree with its hash: it was changed"));
    }
    let header = parse_header(&body).ok_or_else(|| changed("the line says something else than a header"))?;
    Ok(Attempt { header, entries: Vec::new(), hash: hash.to_owned() })
}

fn read_entry(attempt: &mut Attempt, line_number: usize, line: &[u8]) -> Result<(), AttemptError> {
    let wrong = |kind, found: String, expected: String, advice| AttemptError {
        line: line_number,
        kind,
        found,
        expected,
        advice,
    };
    let n = attempt.entries.len() + 1;
    let changed =
        |found: &str| wrong(Kind::Changed, found.to_owned(), format!("event {n} as the program wrote it"), RETYPED);
    if line_number > MOST_LINES || line.len() > LONGEST_LINE {
        return Err(wrong(
            Kind::Limit,
            "the file goes on".to_owned(),
            format!("at most {MOST_LINES} lines of at most {LONGEST_LINE} bytes"),
            "This isn't the record of one sitting.",
        ));
    }
    let line = std::str::from_utf8(line).map_err(|_| changed("the line holds bytes that aren't text"))?;
    if line.is_empty() {
        return Err(changed("the line is empty"));
    }
    let (body, hash) = chain::unseal(line).ok_or_else(|| changed("the line doesn't end in its hash"))?;
    if chain::hash(&attempt.hash, &body) != hash {
        return Err(match serde_json::from_str::<Number>(&body) {
            Ok(Number { n: found }) if found != n => wrong(
                Kind::Order,
                format!("event {found} stands here"),
                format!("event {n}"),
                "A line is missing, doubled or out of its place. Use the file as it was written.",
            ),
            _ => changed("the line doesn't follow from the one before it: one of the two was changed"),
        });
    }
    let (found, entry) =
        parse_entry(&body).ok_or_else(|| changed("the line says nothing that can be done in the bay"))?;
    if found != n {
        return Err(wrong(Kind::Order, format!("event {found} stands here"), format!("event {n}"), RETYPED));
    }
    if let Some(fault) = time_fault(attempt.last_at(), entry.at) {
        return Err(wrong(
            Kind::Time,
            fault,
            format!("a time from {} to {LONGEST_TIME} µs", attempt.last_at()),
            "No sitting can have written this; the file was made up.",
        ));
    }
    attempt.entries.push(entry);
    attempt.hash = hash.to_owned();
    Ok(())
}

fn time_fault(last: Micros, at: Micros) -> Option<String> {
    if at < last {
        Some(format!("time goes back from {last} to {at} µs"))
    } else if at > LONGEST_TIME {
        Some(format!("{at} µs is later than 30 days"))
    } else {
        None
    }
}

fn header_body(header: &Header) -> String {
    let line = HeaderLine {
        format: FORMAT.to_owned(),
        version: VERSION,
        job: header.job.clone(),
        job_hash: header.job_hash.clone(),
        seed: header.seed.to_string(),
        engine: header.engine.clone(),
        name: header.name.clone(),
    };
    // strings and whole numbers always have a JSON text
    serde_json::to_string(&line).unwrap_or_default()
}

/// The header that this body is the one text of.
fn parse_header(body: &str) -> Option<Header> {
    let line: HeaderLine = serde_json::from_str(body).ok()?;
    let header = Header {
        job: line.job,
        job_hash: line.job_hash,
        seed: line.seed.parse().ok()?,
        engine: line.engine,
        name: line.name,
    };
    (header_body(&header) == body).then_some(header)
}

fn entry_body(n: usize, entry: &Entry) -> Result<String, String> {
    let (act, class, tick) = match &entry.event {
        Event::Act(action) => (Some(action.clone()), None, false),
        Event::Class(instruction) => (None, Some(instruction.clone()), false),
        Event::Tick => (None, None, true),
    };
    serde_json::to_string(&EntryLine { n, at: entry.at, act, class, tick }).map_err(|e| e.to_string())
}

/// The entry that this body is the one text of.
fn parse_entry(body: &str) -> Option<(usize, Entry)> {
    let line: EntryLine = serde_json::from_str(body).ok()?;
    let event = match (line.act, line.class, line.tick) {
        (Some(action), None, false) => Event::Act(action),
        (None, Some(instruction), false) => Event::Class(instruction),
        (None, None, true) => Event::Tick,
        _ => return None,
    };
    let entry = Entry { at: line.at, event };
    (entry_body(line.n, &entry).ok()? == body).then_some((line.n, entry))
}
