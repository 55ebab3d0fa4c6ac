//! What is said of a text whose brackets, quotes or commas don't fit together.

use std::ops::Range;

use super::slips::{after_value, is_odd_blank, odd_blank};
use super::{ScanError, Takes, Trouble, first_word};
use crate::diag::{Diagnostic, id};

/// A text whose brackets, quotes or commas are wrong.
pub(super) fn broken_text(file: &str, text: &str, broken: &ScanError, trouble: Option<&Trouble>) -> Diagnostic {
    let plain = |span: Range<usize>, words: &str| Diagnostic::new(id::SYNTAX, file, span, words);
    match *broken {
        ScanError::Bracket { opened, missing } => {
            let (open, close) = match text.as_bytes().get(opened) {
                Some(b'(') => ('(', ')'),
                Some(b'[') => ('[', ']'),
                _ => ('{', '}'),
            };
            let what = match text[missing.min(text.len())..].trim_end().chars().next() {
                None => "the file ends before that",
                Some(')' | ']' | '}') => "another bracket closes before that",
                Some(_) => "a field begins before that",
            };
            let line = 1 + text[..opened].matches('\n').count();
            plain(missing..missing + 1, &format!("the bracket {open} opened in line {line} isn't closed: {what}"))
                .label(format!("{close} expected here at the latest"))
                .also(opened..opened + 1, "opened here")
        }
        ScanError::Unclosed(at) if text[at..].starts_with('/') => {
            plain(at..at + 2, "a comment begins here and never ends").label("opened here")
        }
        ScanError::Unclosed(at) => plain(at..at + 1, "a text begins here and never ends")
            .label("opened here")
            .help("texts end with the quote they began with; a quote inside is written \\\""),
        ScanError::Stray { at, text: before } => {
            let Some(c) = text.get(at..).and_then(|rest| rest.chars().next()) else {
                let empty = text.trim().is_empty();
                let words = if empty { "there is nothing in this file" } else { "the file ends too early" };
                return plain(at..at, words).help("a file is one Plant( … ), Job( … ), Rubric( … ) or Course( … )");
            };
            if let Some(told) = other_sign(file, text, at, c) {
                return told;
            }
            let trailing = trouble.is_some_and(|t| matches!(t.error, ron::Error::TrailingCharacters));
            let Slip { words, help, meant } = slip(text, at, c, trailing);
            let mut diagnostic = plain(at..at + c.len_utf8(), &words)
                .label("read up to here; what follows is looked at once this is right");
            diagnostic.nearest = meant;
            diagnostic.help = help;
            match before {
                Some(start) => diagnostic
                    .also(start..start + 1, "a text that runs over the end of its line begins here")
                    .help("is the quote missing that ends it?"),
                None => diagnostic,
            }
        }
        ScanError::TooDeep(at) | ScanError::TooMany(at) => plain(at..at + 1, "this can't be read"),
    }
}

/// A sign of other notations that stands at the break or made it: `=` for a colon, `;` for a comma, `#` for a remark, a blank
/// that isn't one.
fn other_sign(file: &str, text: &str, at: usize, c: char) -> Option<Diagnostic> {
    if let Some(place) = hash(text, at) {
        return Some(
            Diagnostic::new(id::SYNTAX, file, place..place + 1, "a remark begins with //, not with #")
                .label("begins no remark")
                .help("write // in its place"),
        );
    }
    if is_odd_blank(c) {
        return Some(odd_blank(file, at, c));
    }
    if c == ';' {
        return Some(after_value(file, at, ""));
    }
    let before = text[..at].trim_end();
    let in_a_remark = before[before.rfind('\n').map_or(0, |i| i + 1)..].contains("//");
    if before.ends_with(';') && !in_a_remark {
        return Some(after_value(file, before.len() - 1, ""));
    }
    // the break is told at the name of the field, or at the sign itself
    let name_ends = text[at..].find(|c: char| !(c.is_alphanumeric() || c == '_')).map_or(text.len(), |i| at + i);
    let rest = &text[name_ends..];
    let sign = name_ends + rest.len() - rest.trim_start_matches([' ', '\t']).len();
    let is_equals = text[sign..].starts_with('=') && (name_ends > at || before.ends_with(char::is_alphanumeric));
    is_equals.then(|| {
        Diagnostic::new(id::SYNTAX, file, sign..sign + 1, "a colon stands between a field and its value, not =")
            .label("a colon belongs here")
            .help("write it like this: minutes: 60,")
    })
}

/// The sign `#` outside a text, in the line of a break or alone in the line before it.
fn hash(text: &str, at: usize) -> Option<usize> {
    let start = text[..at].rfind('\n').map_or(0, |i| i + 1);
    let outside = |from: usize, line: &str| {
        // beside a quote it belongs to a text such as r#"…"#
        let is_bare = |before: &str| !before.ends_with(['r', '"', '#']) && !before.contains("//");
        let is_outside = |i: &usize| line[..*i].matches('"').count().is_multiple_of(2) && is_bare(&line[..*i]);
        line.match_indices('#').map(|(i, _)| i).find(is_outside).map(|i| from + i)
    };
    let end = text[at..].chars().next().map_or(at, |c| at + c.len_utf8());
    outside(start, &text[start..end]).or_else(|| {
        let above = text[..start].trim_end();
        let from = above.rfind('\n').map_or(0, |i| i + 1);
        above[from..].trim_start().starts_with('#').then(|| outside(from, &above[from..])).flatten()
    })
}

/// What went wrong at a sign that can't stand where it does, as far as what stands around it tells.
struct Slip {
    words: String,
    help: Option<String>,
    meant: Option<String>,
}

fn slip(text: &str, at: usize, c: char, trailing: bool) -> Slip {
    let of = |words: &str, help: &str| Slip {
        words: words.to_owned(),
        help: (!help.is_empty()).then(|| help.to_owned()),
        meant: None,
    };
    let before = text[..at].trim_end_matches([' ', '\t']);
    if c == '%' {
        return of(PER_CENT.0, PER_CENT.1);
    }
    if trailing {
        return of("the file should end before this", "");
    }
    if let Some(decimal) = comma_for_point(text, at) {
        let help = format!("a number has a point, not a comma: {decimal}");
        return of("a comma stands where a number has its point", &help);
    }
    if line_before(text, at).contains(['\u{201c}', '\u{201d}', '\u{201e}', '\u{2018}', '\u{2019}']) {
        let help = "texts stand in straight quotes, \" … \", not in those of a word processor";
        return of("these quotes hold no text", help);
    }
    if text[..at].ends_with('"') && c.is_alphanumeric() {
        let help = "the text ends at the quote before this; a quote inside a text is written \\\"";
        return of("a quote ends the text too early", help);
    }
    if before.ends_with(|last: char| last.is_ascii_digit()) && c.is_alphabetic() {
        return unit_behind(text, at);
    }
    if c.is_alphanumeric() && ends_with_a_bare_word(before) {
        return of("a text has to stand in quotes", "put \" before its first word and behind its last one");
    }
    if "([{".contains(c) && text[..at].trim_end_matches([' ', '\t']).ends_with('\n') {
        let help = "look at the end of the line before: it ends with the bracket that closes it and a comma";
        return of("a closing bracket or a comma is missing before this", help);
    }
    if at > 0 && (c.is_alphanumeric() || "([{_\"'".contains(c)) {
        return of("a comma is missing before this", "");
    }
    of(&format!("{c:?} can't stand here"), "")
}

/// A word behind a number: what its field takes, where that is known, and how this number is written then.
fn unit_behind(text: &str, at: usize) -> Slip {
    let line = &text[text[..at].rfind('\n').map_or(0, |i| i + 1)..at];
    let (before, number) = line.rsplit_once(':').map_or(("", line), |(before, number)| (before, number.trim()));
    let field = before.trim_end().rsplit(|c: char| !(c.is_alphanumeric() || c == '_')).next().unwrap_or_default();
    let unit = text[at..].split(|c: char| c == ',' || c == ')' || c.is_whitespace()).next().unwrap_or_default();
    // a field of the file itself has a line of its own
    let opening = (before.trim_start() == field).then(|| first_word(text));
    match Takes::named(opening, field) {
        Some(takes) => Slip {
            words: format!("\"{field}\" should be {}", takes.expected()),
            help: None,
            meant: takes.meant(&format!("{number} {unit}")),
        },
        None => Slip {
            words: "a unit stands before its number, not behind it".to_owned(),
            help: Some("write l(40), mm(8) or mbar(-120)".to_owned()),
            meant: None,
        },
    }
}

/// Whether letters stand last, outside quotes as far as this line tells, and no word that a file knows: two words in a row are a
/// text.
fn ends_with_a_bare_word(before: &str) -> bool {
    let line = &before[before.rfind('\n').map_or(0, |i| i + 1)..];
    let word = line.rsplit(|c: char| !c.is_alphanumeric()).next().unwrap_or_default();
    word.starts_with(char::is_alphabetic) && line.matches('"').count().is_multiple_of(2)
}

/// What of a line stands before a byte, and the sign there.
fn line_before(text: &str, at: usize) -> &str {
    let from = text[..at].rfind('\n').map_or(0, |i| i + 1);
    let end = text[at..].chars().next().map_or(at, |c| at + c.len_utf8());
    &text[from..end]
}

/// What is said of a per cent sign, and what helps.
pub(super) const PER_CENT: (&str, &str) =
    ("a per cent sign can't stand here", "a share is written as a number from 0 to 1, such as 0.57");

/// The number that was meant where digits stand right behind a comma that ended another number, as in `minutes: 40,5`.
fn comma_for_point(text: &str, at: usize) -> Option<String> {
    let whole = text[..at].strip_suffix(',')?;
    let from = whole
        .rfind(|c: char| !c.is_ascii_digit())
        .map_or(0, |i| i + whole[i..].chars().next().map_or(1, char::len_utf8));
    let rest = &text[at..];
    let digits = &rest[..rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len())];
    (!digits.is_empty() && from < whole.len()).then(|| format!("{}.{digits}", &whole[from..]))
}
