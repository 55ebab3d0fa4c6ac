//! From a text to raw shapes, with every mistake in its own place.
//!
//! The parser stops at the first thing it can't read. So that an author needn't run the check once
//! a mistake, a text that can't be read as a whole is read again field by field and entry by entry
//! at the places that [`Source`] found, and each that fails is reported.

mod broken;
mod slips;

use std::ops::Range;

use serde::de::DeserializeOwned;
use serde_path_to_error::{Path, Segment};

use self::broken::{PER_CENT, broken_text};
use super::check::from_a_lack;
use super::source::{At, DEEPEST, MOST_VALUES, ScanError, Source};
use super::takes::{Takes, measures, unit_meant};
use super::{Kind, LARGEST_FILE};
use crate::diag::{self, Diagnostic, Report, id, nearest, quotable};

/// A field of a file's shape.
pub(super) struct FieldShape {
    pub(super) name: &'static str,
    /// What it means, for the manual.
    pub(super) words: &'static str,
    /// The type that reads it, as it is called in the source.
    pub(super) read_as: &'static str,
    pub(super) needed: bool,
    /// Most entries of a list; 0 when it isn't one.
    pub(super) most: usize,
    attempt: fn(&str) -> Result<(), Trouble>,
}

impl FieldShape {
    pub(super) const fn new<T: DeserializeOwned>(
        name: &'static str,
        words: &'static str,
        read_as: &'static str,
        needed: bool,
        most: usize,
    ) -> Self {
        Self { name, words, read_as, needed, most, attempt: |text| attempt::<T>(text).map(drop) }
    }

    /// A value that takes the place of one that is missing or can't be read, so that the rest can be looked at; none for
    /// a type that no file needs.
    fn stand_in(&self) -> Option<&'static str> {
        Some(match self.read_as {
            _ if self.most > 0 => "[]",
            "String" => "\"?\"",
            "f64" => "1",
            "Mode" => "practice",
            "Blend" => "Diesel",
            "PressureDifference" => "mbar(15)",
            _ => return None,
        })
    }
}

/// The shape of a file.
pub(super) trait Shape: DeserializeOwned {
    /// The word that opens the file.
    const OPENING: &'static str;
    /// Its fields.
    const FIELDS: &'static [FieldShape];
}

/// What the parser couldn't read: the field path and the bytes it had come to.
pub(super) struct Trouble {
    error: ron::Error,
    path: Option<Path>,
    bytes: Range<usize>,
}

pub(super) fn options() -> ron::Options {
    use ron::extensions::Extensions;
    ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME)
        .with_default_extension(Extensions::UNWRAP_VARIANT_NEWTYPES)
        .with_recursion_limit(4 * DEEPEST)
}

fn attempt<T: DeserializeOwned>(text: &str) -> Result<T, Trouble> {
    let bytes = |span: &ron::error::Span| {
        let start = byte_of(text, &span.start);
        start..byte_of(text, &span.end).max(start)
    };
    let options = options();
    let mut parser = ron::Deserializer::from_str_with_options(text, &options).map_err(|e| Trouble {
        bytes: bytes(&e.span),
        error: e.code,
        path: None,
    })?;
    match serde_path_to_error::deserialize::<_, T>(&mut parser) {
        Ok(value) => match parser.end() {
            Ok(()) => Ok(value),
            Err(e) => {
                let e = parser.span_error(e);
                Err(Trouble { bytes: bytes(&e.span), error: e.code, path: None })
            }
        },
        Err(e) => {
            let path = e.path().clone();
            let e = parser.span_error(e.into_inner());
            Err(Trouble { bytes: bytes(&e.span), error: e.code, path: Some(path) })
        }
    }
}

/// Byte of a line and column, both from 1, the column in characters.
fn byte_of(text: &str, position: &ron::error::Position) -> usize {
    let mut start = 0;
    for _ in 1..position.line {
        match text[start..].find('\n') {
            Some(i) => start += i + 1,
            None => return text.len(),
        }
    }
    text[start..].char_indices().nth(position.col.saturating_sub(1)).map_or(text.len(), |(i, _)| start + i)
}

/// Keeps the limits that come before any parsing.
fn scanned<'t>(file: &str, text: &'t str, report: &mut Report) -> Result<Source<'t>, Option<ScanError>> {
    if diag::is_sealed(text.as_bytes()) {
        report.push(diag::sealed(file));
        return Err(None);
    }
    if text.len() > LARGEST_FILE {
        report.push(
            Diagnostic::new(id::TOO_LARGE, file, 0..0, format!("the file has {} bytes", text.len()))
                .instead_of(format!("{} bytes", text.len()), format!("at most {LARGEST_FILE} bytes")),
        );
        return Err(None);
    }
    match Source::scan(text) {
        Ok(source) => Ok(source),
        Err(ScanError::TooDeep(at)) => {
            report.push(
                Diagnostic::new(id::TOO_DEEP, file, at..at + 1, "brackets inside brackets go too deep here")
                    .help(format!("no file needs more than {DEEPEST} levels")),
            );
            Err(None)
        }
        Err(ScanError::TooMany(at)) => {
            report.push(
                Diagnostic::new(
                    id::TOO_MANY,
                    file,
                    at..at + 1,
                    format!("the file has more than {MOST_VALUES} values"),
                )
                .help("split it, or look for something pasted many times"),
            );
            Err(None)
        }
        Err(other) => Err(Some(other)),
    }
}

/// What was read of a text.
pub(super) struct Read<'t, T> {
    /// The value.
    pub(super) value: T,
    /// Its places in the text.
    pub(super) source: Source<'t>,
    /// False when pieces that can't be read were left out. Whatever a lack of pieces could cause
    /// mustn't be blamed on the author then.
    pub(super) whole: bool,
    /// What stands behind this byte was put there in the place of what is missing.
    end: usize,
}

impl<T> Read<'_, T> {
    /// Whether what was found in this file is the author's, and not a lack of pieces or what stands in for them.
    pub(super) fn is_the_authors(&self, found: &Diagnostic) -> bool {
        self.whole || !from_a_lack(found.id) && found.span.start < self.end
    }
}

/// Reads a text, or what can be read of it. What is wrong goes to the report.
pub(super) fn read<'t, T: Shape>(file: &str, text: &'t str, report: &mut Report) -> Option<Read<'t, T>> {
    let shown = if text.len() > LARGEST_FILE { "" } else { text };
    report.add_file(file, shown);
    let source = match scanned(file, text, report) {
        Ok(source) => source,
        Err(None) => return None,
        Err(Some(broken)) => {
            report.push(broken_text(file, text, &broken, attempt::<T>(text).err().as_ref()));
            return before_the_break(file, text, &broken, report);
        }
    };
    match attempt::<T>(text) {
        Ok(value) => {
            let before = report.errors();
            for field in T::FIELDS.iter().filter(|f| f.most > 0) {
                count(file, source.root().field(field.name), field, report);
            }
            (report.errors() == before).then_some(Read { value, source, whole: true, end: text.len() })
        }
        Err(trouble) => {
            let before = report.errors();
            let bad = piece_by_piece::<T>(file, &source, report);
            missing_fields::<T>(file, &source, report);
            if report.errors() == before {
                report.push(told(file, text, source.root(), &trouble, Within::of::<T>(None)));
            }
            let end = source.root().span().end.saturating_sub(1);
            rest_of::<T>(text, &bad, end)
        }
    }
}

/// What stands before the field in which a text breaks, as far as it can be read: its own mistakes needn't wait until the
/// break is mended.
fn before_the_break<'t, T: Shape>(
    file: &str,
    text: &str,
    broken: &ScanError,
    report: &mut Report,
) -> Option<Read<'t, T>> {
    let end = Source::whole_until(text, broken)?;
    let head = format!("{})", &text[..end]);
    let bad = piece_by_piece::<T>(file, &Source::scan(head.as_str()).ok()?, report);
    rest_of::<T>(&head, &bad, end)
}

/// What is left of a text without the pieces that can't be read, every byte at its place, and with stand-ins behind `end`
/// for what is missing.
fn rest_of<'t, T: Shape>(text: &str, bad: &[Range<usize>], end: usize) -> Option<Read<'t, T>> {
    let (value, rest) = completed::<T>(blanked(text, bad), end)?;
    let source = Source::scan(rest).ok()?;
    let fits = |f: &FieldShape| {
        // a field that isn't there stands for its parent, which may well have more entries
        let list = source.root().field(f.name);
        f.most == 0 || !list.exists() || list.len() <= f.most
    };
    T::FIELDS.iter().all(fits).then_some(Read { value, source, whole: false, end })
}

/// The value of a text, with stand-ins before its closing bracket for the fields that it lacks, and that text.
fn completed<T: Shape>(rest: String, end: usize) -> Option<(T, String)> {
    if let Ok(value) = attempt::<T>(&rest) {
        return Some((value, rest));
    }
    let lacks: Vec<String> = {
        let source = Source::scan(&rest).ok()?;
        let root = source.root();
        let lacking = T::FIELDS.iter().filter(|f| f.needed && !root.field(f.name).exists());
        lacking.map(|f| Some(format!("{}: {}", f.name, f.stand_in()?))).collect::<Option<_>>()?
    };
    let (before, close) = rest.split_at_checked(end)?;
    // behind the last field there is a comma, or there isn't
    ["", ","].into_iter().find_map(|comma| {
        let text = format!("{before}{comma}{}{close}", lacks.join(", "));
        Some((attempt::<T>(&text).ok()?, text))
    })
}

/// The text with blanks in the place of some pieces and of the commas behind them.
fn blanked(text: &str, pieces: &[Range<usize>]) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for piece in pieces {
        let rest = &text[piece.end..];
        let comma = rest.trim_start().starts_with(',');
        let end = if comma { piece.end + rest.len() - rest.trim_start().len() + 1 } else { piece.end };
        for byte in &mut bytes[piece.start..end] {
            if *byte != b'\n' {
                *byte = b' ';
            }
        }
    }
    String::from_utf8(bytes).unwrap_or_default()
}

fn count(file: &str, at: At<'_>, field: &FieldShape, report: &mut Report) {
    if at.exists() && at.len() > field.most {
        report.push(
            Diagnostic::new(id::TOO_MANY, file, at.head(), format!("\"{}\" has {} entries", field.name, at.len()))
                .instead_of(at.len().to_string(), format!("at most {}", field.most)),
        );
    }
}

/// Reads every field and entry by itself and reports those that fail. Gives the places of those.
fn piece_by_piece<T: Shape>(file: &str, source: &Source<'_>, report: &mut Report) -> Vec<Range<usize>> {
    let root = source.root();
    let mut bad = Vec::new();
    if !root.has_fields() {
        return bad;
    }
    let mut seen: Vec<(&str, Range<usize>)> = Vec::new();
    for (name, key, value) in root.fields() {
        let whole_field = key.start..value.span().end;
        let Some(field) = T::FIELDS.iter().find(|f| f.name == name) else {
            report.push(unknown_field(file, name, key, T::OPENING, T::FIELDS.iter().map(|f| f.name)));
            bad.push(whole_field);
            continue;
        };
        if let Some((_, first)) = seen.iter().find(|(n, _)| *n == name) {
            report.push(repeated_field(file, name, root, key, first.clone()));
            bad.push(whole_field);
            continue;
        }
        seen.push((name, key));
        if field.most > 0 && value.is_list() && value.text().starts_with('[') {
            count(file, value, field, report);
            for i in 0..value.len().min(field.most) {
                let item = value.item(i);
                if let Err(trouble) = (field.attempt)(item.text()) {
                    report.push(told(file, item.text(), item, &trouble, Within::of::<T>(Some(field.name))));
                    bad.push(item.span());
                }
            }
        } else if field.most > 0 {
            report.push(
                Diagnostic::new(id::WRONG_VALUE, file, value.head(), format!("\"{name}\" isn't a list"))
                    .label("here")
                    .instead_of(value.text(), "a list in square brackets, such as [ … , … ]"),
            );
            bad.push(whole_field);
        } else if let Err(trouble) = (field.attempt)(value.text()) {
            report.push(told(file, value.text(), value, &trouble, Within::of::<T>(Some(field.name))));
            bad.push(whole_field);
        }
    }
    bad
}

/// Reports every field that a file needs and hasn't.
fn missing_fields<T: Shape>(file: &str, source: &Source<'_>, report: &mut Report) {
    let root = source.root();
    if !root.has_fields() {
        return;
    }
    let names: Vec<&str> = root.fields().map(|(name, ..)| name).collect();
    // a field that stands there misspelt was told already
    let is_known = |name: &&&str| T::FIELDS.iter().any(|f| f.name == **name);
    let misspelt = names.iter().filter(|name| !is_known(name));
    let meant: Vec<String> = misspelt.filter_map(|name| nearest(name, T::FIELDS.iter().map(|f| f.name))).collect();
    for field in T::FIELDS.iter().filter(|f| f.needed) {
        if !names.contains(&field.name) && !meant.iter().any(|m| m == field.name) {
            report.push(missing_field(file, field.name, root.head(), T::OPENING));
        }
    }
}

fn unknown_field(
    file: &str,
    name: &str,
    key: Range<usize>,
    owner: &str,
    known: impl IntoIterator<Item = &'static str>,
) -> Diagnostic {
    let owner = owner_words(owner);
    Diagnostic::new(id::UNKNOWN_FIELD, file, key, format!("{owner} has no field {:?}", quotable(name)))
        .label("not known here")
        .among(name, known)
}

fn missing_field(file: &str, name: &str, place: Range<usize>, owner: &str) -> Diagnostic {
    Diagnostic::new(id::MISSING_FIELD, file, place, format!("{} lacks the field \"{name}\"", owner_words(owner)))
        .label(format!("no \"{name}\" in here"))
}

/// A field that its owner has twice, with both lines: the window shows a message and no lines beside it.
fn repeated_field(file: &str, name: &str, owner: At<'_>, second: Range<usize>, first: Range<usize>) -> Diagnostic {
    let (before, again) = (owner.line_of(first.start), owner.line_of(second.start));
    let lines = if before == again {
        format!("twice in line {again}")
    } else {
        format!("in line {before} and again in line {again}")
    };
    Diagnostic::new(id::REPEATED_FIELD, file, second, format!("the field \"{name}\" stands {lines}"))
        .label("again here")
        .also(first, "first here")
        .help("neither counts while both stand there: take one of them out")
}

/// What the shapes are called in a sentence.
fn owner_words(name: &str) -> String {
    match name {
        "" => "this bracket".to_owned(),
        "Resistance" => "a resistance".to_owned(),
        "Engine" => "an Engine".to_owned(),
        "Plant" | "Job" | "Rubric" | "Course" | "Stage" | "Node" | "Part" | "Question" | "Look" | "Limit"
        | "Candidate" | "Vehicle" | "Fellow" | "Fault" | "Withheld" => {
            format!("a {}", name.to_lowercase())
        }
        kind => format!("a {kind}"),
    }
}

/// Follows a field path as far as it leads, but not into a field that is itself the trouble.
fn follow<'s>(mut at: At<'s>, path: Option<&Path>, error: &ron::Error) -> At<'s> {
    let blamed = match error {
        ron::Error::NoSuchStructField { found, .. } => found.as_str(),
        ron::Error::DuplicateStructField { field, .. } => field,
        _ => "",
    };
    let steps = path.map_or(0, |p| p.iter().len());
    for (i, segment) in path.into_iter().flat_map(Path::iter).enumerate() {
        if i + 1 == steps && matches!(segment, Segment::Map { key } if key == blamed) {
            break;
        }
        let next = match segment {
            Segment::Map { key } => at.field(key),
            Segment::Seq { index } => at.item(*index),
            Segment::Enum { .. } | Segment::Unknown => at,
        };
        if !next.exists() {
            break;
        }
        at = next;
    }
    at
}

fn is_unit_shape(outer: Option<&String>) -> bool {
    outer.is_some_and(|o| o == "Written" || o == "TemperatureWritten")
}

/// Which kind of file a value stands in, and below which of its fields.
#[derive(Clone, Copy)]
struct Within {
    opening: &'static str,
    fields: &'static [FieldShape],
    field: Option<&'static str>,
}

impl Within {
    fn of<T: Shape>(field: Option<&'static str>) -> Self {
        Self { opening: T::OPENING, fields: T::FIELDS, field }
    }
}

/// A trouble as a diagnostic. `at` is the value that was read, `text` its text.
fn told(file: &str, text: &str, at: At<'_>, trouble: &Trouble, within: Within) -> Diagnostic {
    use ron::Error as E;
    let place = follow(at, trouble.path.as_ref(), &trouble.error);
    let takes = || Takes::at(within.opening, within.fields, within.field, trouble.path.as_ref());
    let base = at.span().start;
    let ron_bytes = if text.len() == at.text().len() {
        base + trouble.bytes.start..base + trouble.bytes.end
    } else {
        trouble.bytes.clone()
    };
    let found = place.text();
    if let Some(slip) = slips::within(file, place, trouble) {
        return slip;
    }
    let starts_as_number = found.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c));
    match &trouble.error {
        E::NoSuchStructField { expected, found, outer } => {
            let key = place.key(found, 0).unwrap_or_else(|| place.head());
            unknown_field(file, found, key, outer.as_deref().unwrap_or(""), expected.iter().copied())
        }
        E::MissingStructField { field, outer } => {
            missing_field(file, field, place.head(), outer.as_deref().unwrap_or(""))
        }
        E::DuplicateStructField { field, .. } => {
            let first = place.key(field, 0).unwrap_or_else(|| place.head());
            repeated_field(file, field, place, place.key(field, 1).unwrap_or_else(|| first.clone()), first)
        }
        E::NoSuchEnumVariant { expected, found, outer } => {
            let is_unit = is_unit_shape(outer.as_ref());
            // a word alone is no unit with a number
            if is_unit
                && place.text() == found
                && let Some(takes) = takes()
            {
                return takes.missed(file, place);
            }
            let what = if is_unit { "unit that fits here" } else { "word that fits here" };
            let mut diagnostic = Diagnostic::new(
                id::UNKNOWN_WORD,
                file,
                word_place(place),
                format!("{:?} is no {what}", quotable(found)),
            )
            .label("not known here")
            .among(found, expected.iter());
            if is_unit {
                let other = measures(found);
                // the unit of something else isn't a slip of the pen
                let slip = if other.is_some() { None } else { diagnostic.nearest };
                diagnostic.nearest = unit_meant(found, expected).or(slip);
                diagnostic.help = other.map(|what| format!("{found} is a unit of {what}"));
            }
            diagnostic
        }
        E::Message(words) if words.contains(" is outside ") => {
            Diagnostic::new(id::OUT_OF_RANGE, file, place.span(), words.clone())
                .label("outside what any vehicle has")
                .help("is the unit right?")
        }
        // said by a type of ours that refuses a value it could read
        E::Message(words) => {
            Diagnostic::new(id::WRONG_VALUE, file, place.span(), words.clone()).label("this value")
        }
        E::IntegerOutOfBounds => Diagnostic::new(
            id::OUT_OF_RANGE,
            file,
            place.span(),
            format!("{} is too large or below zero", quotable(found)),
        )
        .label("outside the range")
        .instead_of(found, takes().map_or_else(|| "a whole number from 0".to_owned(), |t| t.expected())),
        E::ExpectedIdentifier
        | E::SuggestRawIdentifier(_)
        | E::ExpectedNamedStructLike(_)
        | E::ExpectedStructLike
        | E::ExpectedFloat
        | E::InvalidIdentifier(_)
            if starts_as_number && place.len() == 0 && !matches!(trouble.error, E::ExpectedFloat) =>
        {
            if let Some(takes) = takes() {
                return takes.missed(file, place);
            }
            Diagnostic::new(id::WRONG_VALUE, file, place.span(), format!("{} has no unit", quotable(found)))
                .label("a bare number")
                .instead_of(found, "a number in a unit, such as mm(8), mbar(-120) or l_per_h(90)")
        }
        E::ExpectedDifferentStructName { expected, found } => Diagnostic::new(
            id::WRONG_VALUE,
            file,
            word_place(place),
            format!("{:?} stands where {expected:?} should", quotable(found)),
        )
        .label("here")
        .instead_of(found, format!("{expected}( … )")),
        error => {
            let words = expected_words(error);
            // what stands behind a number belongs to it for whoever wrote it there
            let is_of_value = words.is_some() || matches!(error, E::TrailingCharacters) && within.field.is_some();
            if is_of_value && let Some(takes) = takes() {
                return takes.missed(file, place);
            }
            if let (Some(words), true) = (words, trouble.path.is_some()) {
                Diagnostic::new(id::WRONG_VALUE, file, place.head(), format!("this should be {words}"))
                    .label("here")
                    .instead_of(found, words)
            } else {
                if let Some(c) = text.get(trouble.bytes.start..).and_then(|rest| rest.chars().next())
                    && slips::is_odd_blank(c)
                {
                    return slips::odd_blank(file, ron_bytes.start, c);
                }
                let is_percent = text.get(trouble.bytes.start..).is_some_and(|rest| rest.starts_with('%'));
                let words = if is_percent { PER_CENT.0.to_owned() } else { syntax_words(error) };
                let diagnostic =
                    Diagnostic::new(id::SYNTAX, file, ron_bytes, words).label("up to here it could be read");
                if is_percent { diagnostic.help(PER_CENT.1) } else { diagnostic }
            }
        }
    }
}

/// The word that opens a value, or all of a plain one.
fn word_place(at: At<'_>) -> Range<usize> {
    let start = at.span().start;
    if at.word().is_empty() { at.head() } else { start..start + at.word().len() }
}

/// What should stand there, in words; none when the error isn't about the kind of a value.
fn expected_words(error: &ron::Error) -> Option<String> {
    use ron::Error as E;
    Some(match error {
        E::ExpectedString | E::ExpectedStringEnd => "a text in quotes".to_owned(),
        E::ExpectedFloat
        | E::ExpectedInteger
        | E::FloatUnderscore
        | E::UnderscoreAtBeginning
        | E::InvalidIntegerDigit { .. } => "a number, such as 3 or 0.5".to_owned(),
        E::ExpectedBoolean => "true or false".to_owned(),
        E::ExpectedArray | E::ExpectedArrayEnd => "a list in square brackets".to_owned(),
        E::ExpectedIdentifier | E::InvalidIdentifier(_) => "a word, or a number in a unit such as mm(8)".to_owned(),
        E::ExpectedStructLike
        | E::ExpectedNamedStructLike(_)
        | E::ExpectedStructLikeEnd
        | E::ExpectedMap
        | E::ExpectedUnit => "a bracket with fields, such as (name: \"…\", …)".to_owned(),
        E::ExpectedDifferentLength { expected, .. } | E::InvalidValueForType { expected, .. } => expected.clone(),
        _ => return None,
    })
}

fn syntax_words(error: &ron::Error) -> String {
    use ron::Error as E;
    match error {
        E::ExpectedComma => "a comma is missing before this".to_owned(),
        E::ExpectedMapColon => "a colon is missing before this".to_owned(),
        E::Eof => "the file ends too early".to_owned(),
        E::TrailingCharacters => "the file should end before this".to_owned(),
        E::UnclosedBlockComment => "a comment is never closed".to_owned(),
        E::InvalidEscape(_) => "a backslash in a text stands before a sign that needs none".to_owned(),
        E::ExceededRecursionLimit => "brackets inside brackets go too deep here".to_owned(),
        E::UnexpectedChar(c) => format!("{c:?} can't stand here"),
        other => {
            expected_words(other).map_or_else(|| "this can't be read".to_owned(), |w| format!("here should be {w}"))
        }
    }
}

/// What kind of file a text is: by its first word, or else by fields that only one kind has.
pub(super) fn kind(file: &str, text: &str, report: &mut Report) -> Option<Kind> {
    report.add_file(file, if text.len() > LARGEST_FILE { "" } else { text });
    let source = match scanned(file, text, report) {
        Ok(source) => source,
        Err(None) => return None,
        // the first word may still stand there; reading it as that kind tells what is broken
        Err(Some(broken)) => {
            let first = first_word(text);
            let kind = Kind::ALL.into_iter().find(|k| k.opening() == first);
            if kind.is_none() {
                report.push(broken_text(file, text, &broken, None));
            }
            return kind;
        }
    };
    let root = source.root();
    if let Some(kind) = Kind::ALL.into_iter().find(|k| k.opening() == root.word()) {
        return Some(kind);
    }
    if root.word().is_empty() {
        let has = |name: &str| root.key(name, 0).is_some();
        if has("nodes") || has("parts") {
            return Some(Kind::Plant);
        }
        if has("complaint") || has("candidates") || has("hidden") {
            return Some(Kind::Job);
        }
        if has("cut") || has("reading_tolerance") {
            return Some(Kind::Rubric);
        }
    }
    let mut diagnostic =
        Diagnostic::new(id::UNKNOWN_KIND, file, root.head(), "this is no plant, job, rubric or course")
            .label("such a file begins with Plant(, Job(, Rubric( or Course(");
    diagnostic.nearest = nearest(root.word(), Kind::ALL.map(Kind::opening));
    report.push(diagnostic);
    None
}

/// The first word of a text after blanks and line comments.
fn first_word(text: &str) -> &str {
    let mut rest = text.trim_start();
    while rest.starts_with("//") {
        rest = rest.find('\n').map_or("", |i| &rest[i..]).trim_start();
    }
    let end = rest.find(|c: char| !c.is_alphanumeric()).unwrap_or(rest.len());
    &rest[..end]
}
