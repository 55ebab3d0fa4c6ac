//! Slips within a value that the parser only trips over: signs of a word processor, a semicolon, a name without quotes, a
//! "when" without the names of its fields. Each is told by name, at its place, with what should stand there.

use serde_path_to_error::{Path, Segment};

use super::{At, Trouble};
use crate::diag::{Diagnostic, id, quotable};

/// Dashes that a word processor puts in the place of the minus of the keyboard.
const MINUS: [char; 3] = ['\u{2212}', '\u{2013}', '\u{2014}'];

/// How each "when" is written, with every field.
const WHENS: [&str; 7] = [
    "Intermittent(by: Vibration, share: 0.4, dwell: s(2))",
    "Temperature(when: Above(degC(40)))",
    "Level(below: 0.25)",
    "Attitude(beyond: 10)",
    "Progressive(per_hour: 0.5)",
    "AfterRunning(for_time: min(12))",
    "SinceStop(after: h(2))",
];

/// A blank that looks like one and isn't that of the keyboard.
pub(super) fn is_odd_blank(c: char) -> bool {
    c.is_whitespace() && !c.is_ascii() || matches!(c, '\u{200b}' | '\u{feff}')
}

/// The slip in a value, where there is one.
pub(super) fn within(file: &str, place: At<'_>, trouble: &Trouble) -> Option<Diagnostic> {
    let found = place.text();
    if found.starts_with(['"', '\'']) {
        return None;
    }
    minus(file, place)
        .or_else(|| blank(file, place))
        .or_else(|| semicolon(file, place))
        .or_else(|| when(file, place, trouble))
        .or_else(|| name_without_quotes(file, place, trouble))
}

fn minus(file: &str, place: At<'_>) -> Option<Diagnostic> {
    let found = place.text();
    let (i, c) = found.char_indices().find(|(_, c)| MINUS.contains(c))?;
    if !found[i + c.len_utf8()..].starts_with(|c: char| c.is_ascii_digit() || c == '.') {
        return None;
    }
    let start = place.span().start + i;
    let message = format!("the sign {c} isn't the minus of the keyboard (it is U+{:04X})", u32::from(c));
    let mut told = Diagnostic::new(id::WRONG_VALUE, file, start..start + c.len_utf8(), message)
        .label("a dash of a word processor")
        .help("write -, the hyphen of the keyboard, before a number below zero");
    told.nearest = Some(found.replace(MINUS, "-"));
    Some(told)
}

fn blank(file: &str, place: At<'_>) -> Option<Diagnostic> {
    let found = place.text();
    let inside = found.char_indices().find(|(_, c)| is_odd_blank(*c)).map(|(i, c)| (place.span().start + i, c));
    let before = || {
        let c = place.before().chars().next_back().filter(|c| is_odd_blank(*c))?;
        Some((place.span().start - c.len_utf8(), c))
    };
    let (start, c) = inside.or_else(before)?;
    Some(odd_blank(file, start, c))
}

/// What is said of a blank that the parser doesn't take for one.
pub(super) fn odd_blank(file: &str, start: usize, c: char) -> Diagnostic {
    let what = if c == '\u{a0}' || c == '\u{202f}' { "a no-break space" } else { "an odd blank" };
    let message = format!("{what} stands here (U+{:04X}), which looks like a blank and isn't one", u32::from(c));
    Diagnostic::new(id::SYNTAX, file, start..start + c.len_utf8(), message)
        .label("pasted from elsewhere")
        .help("put a blank of the keyboard in its place")
}

fn semicolon(file: &str, place: At<'_>) -> Option<Diagnostic> {
    let value = place.text().strip_suffix(';')?;
    let end = place.span().end;
    Some(after_value(file, end - 1, value))
}

/// What is said of a semicolon behind a value.
pub(super) fn after_value(file: &str, at: usize, value: &str) -> Diagnostic {
    let help = match value {
        "" => "write a comma in its place".to_owned(),
        value => format!("write a comma in its place: {},", quotable(value)),
    };
    Diagnostic::new(id::SYNTAX, file, at..at + 1, "a semicolon stands where a comma should")
        .label("a comma ends a field")
        .help(help)
}

/// A "when" whose field isn't named, or a threshold outside the "Temperature" that it belongs to.
fn when(file: &str, place: At<'_>, trouble: &Trouble) -> Option<Diagnostic> {
    if !trouble.path.as_ref().is_some_and(|path| has_field(path, "when")) {
        return None;
    }
    let (word, inner) = (place.word(), inner(place.text()));
    let is_named = place.fields().next().is_some();
    let told = |meant: String, example: &str| {
        let mut told =
            Diagnostic::new(id::WRONG_VALUE, file, place.span(), format!("{word:?} is written {example}"))
                .label("its field isn't named, or its number has no unit");
        told.nearest = Some(meant);
        told
    };
    if let "Above" | "Below" = word {
        let number = inner.trim_start_matches("degC").trim_matches(['(', ')', ' ']);
        let within = format!("{word}(degC({number}))");
        // in the list itself, or already behind "Temperature(when: "
        let stands_alone = !place.before().trim_end().ends_with(':');
        let whole = format!("Temperature(when: {word}(degC(40)))");
        return match (number.parse::<f64>().is_ok(), stands_alone) {
            (true, true) => Some(told(format!("Temperature(when: {within})"), &whole)),
            (true, false) => Some(told(within, &format!("{word}(degC(40))"))),
            _ => None,
        };
    }
    let example = WHENS.iter().find(|written| written.split('(').next() == Some(word))?;
    if is_named {
        return None;
    }
    let (field, value) = example[word.len() + 1..].split_once(": ")?;
    let is_alone = !value.contains(", ") && !inner.is_empty();
    let meant = if is_alone { format!("{word}({field}: {inner})") } else { (*example).to_owned() };
    Some(told(meant, example))
}

/// What stands in the bracket of a value.
fn inner(text: &str) -> &str {
    text.split_once('(').map_or("", |(_, rest)| rest.strip_suffix(')').unwrap_or(rest).trim())
}

fn has_field(path: &Path, field: &str) -> bool {
    path.iter().any(|segment| matches!(segment, Segment::Map { key } if key == field))
}

/// A name where a text is wanted.
fn name_without_quotes(file: &str, place: At<'_>, trouble: &Trouble) -> Option<Diagnostic> {
    let found = place.text();
    let is_name =
        found.starts_with(char::is_alphabetic) && found.chars().all(|c| c.is_alphanumeric() || "-_.".contains(c));
    if !is_name || !matches!(trouble.error, ron::Error::ExpectedString) {
        return None;
    }
    Some(
        Diagnostic::new(id::WRONG_VALUE, file, place.span(), "this should be a text in quotes")
            .label("no quotes")
            .instead_of(found, "a text in quotes")
            .help(format!("write \"{}\"", quotable(found))),
    )
}
