//! Changes to one place of a scenario file that leave every other byte to its author: comments, order, blanks.
//!
//! A place is the way to a value from the whole of a file: `title`, `questions[2].ask`, `hidden[0].when[1]`. A change
//! that would leave a text whose brackets don't match, or that would alter anything else, isn't made.

use std::ops::Range;

use super::parse::Shape;
use super::raw::{RawCourse, RawJob, RawPlant, RawRubric};
use super::source::{At, Source, behind};

/// Deeper lines stand so much further in.
const STEP: &str = "    ";

/// A change at a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// This value stands there, as it is written in a file; a field that isn't there is put in.
    Set(String),
    /// The field or entry goes, with the remark behind it.
    Remove,
    /// The list there gets an entry at this position, from 0; a list that isn't there is put in.
    Insert(usize, String),
    /// This entry of the list there and the next one change places.
    Swap(usize),
}

/// A place and its change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// The way to it, such as `hidden[0].severity`.
    pub at: String,
    /// What changes.
    pub change: Change,
}

impl Edit {
    /// A value, as it is written in a file.
    pub fn set(at: impl Into<String>, value: impl Into<String>) -> Self {
        Self { at: at.into(), change: Change::Set(value.into()) }
    }

    /// A text.
    pub fn text(at: impl Into<String>, words: &str) -> Self {
        Self::set(at, quoted(words))
    }

    /// A number.
    pub fn number(at: impl Into<String>, value: f64) -> Self {
        Self::set(at, number(value))
    }

    /// Takes a field or an entry out.
    pub fn remove(at: impl Into<String>) -> Self {
        Self { at: at.into(), change: Change::Remove }
    }

    /// Puts an entry into a list.
    pub fn insert(list: impl Into<String>, position: usize, value: impl Into<String>) -> Self {
        Self { at: list.into(), change: Change::Insert(position, value.into()) }
    }

    /// Lets an entry of a list and the next one change places.
    pub fn swap(list: impl Into<String>, first: usize) -> Self {
        Self { at: list.into(), change: Change::Swap(first) }
    }
}

/// A text as it is written in a file.
pub fn quoted(words: &str) -> String {
    let mut text = String::with_capacity(words.len() + 2);
    text.push('"');
    for c in words.chars() {
        match c {
            '"' => text.push_str("\\\""),
            '\\' => text.push_str("\\\\"),
            '\n' => text.push_str("\\n"),
            '\r' => text.push_str("\\r"),
            '\t' => text.push_str("\\t"),
            c if c.is_control() => text.push_str(&format!("\\u{{{:x}}}", u32::from(c))),
            c => text.push(c),
        }
    }
    text.push('"');
    text
}

/// A number as it is written in a file; 0 for what is none. Very small ones with a power of ten: `2e-10`.
pub fn number(value: f64) -> String {
    // `-0` reads as a slip
    match value {
        v if !v.is_finite() || v == 0.0 => "0".to_owned(),
        v if v.abs() < 1e-4 => format!("{v:e}"),
        v => format!("{v}"),
    }
}

/// A step on the way to a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step<'p> {
    Field(&'p str),
    Item(usize),
}

fn steps(place: &str) -> Option<Vec<Step<'_>>> {
    let mut all = vec![];
    for piece in place.split('.') {
        let (name, mut rest) = piece.split_at(piece.find('[').unwrap_or(piece.len()));
        if name.is_empty() {
            return None;
        }
        all.push(Step::Field(name));
        while let Some(inner) = rest.strip_prefix('[') {
            let (index, further) = inner.split_once(']')?;
            all.push(Step::Item(index.parse().ok()?));
            rest = further;
        }
        if !rest.is_empty() {
            return None;
        }
    }
    Some(all)
}

fn follow<'s>(root: At<'s>, steps: &[Step<'_>]) -> At<'s> {
    steps.iter().fold(root, |at, step| match step {
        Step::Field(name) => at.field(name),
        Step::Item(index) => at.item(*index),
    })
}

/// The value at a place, as it is written; nothing where there is none or the text's brackets don't match.
pub fn value(text: &str, place: &str) -> Option<String> {
    let source = Source::scan(text).ok()?;
    let at = follow(source.root(), &steps(place)?);
    at.exists().then(|| at.text().to_owned())
}

/// Bytes of the value at a place, or of as much of the way to it as there is; none when the brackets don't match.
pub fn span(text: &str, place: &str) -> Option<Range<usize>> {
    let source = Source::scan(text).ok()?;
    let at = follow(source.root(), &steps(place)?);
    Some(if at.exists() { at.span() } else { at.head() })
}

/// The place that a byte of the text belongs to, the innermost one; empty for the file as a whole.
pub fn place_of(text: &str, byte: usize) -> String {
    let Ok(source) = Source::scan(text) else { return String::new() };
    let mut place = String::new();
    let mut at = source.root();
    loop {
        let inner = at.fields().find(|(_, key, value)| (key.start..value.span().end).contains(&byte));
        if let Some((name, _, value)) = inner {
            if !place.is_empty() {
                place.push('.');
            }
            place.push_str(name);
            at = value;
            continue;
        }
        // numbers of a pair and what stands in `mbar(…)` are no places of their own
        let is_list = at.is_list() && at.text().starts_with('[');
        let entry = (0..at.len()).find(|&i| is_list && at.item(i).span().contains(&byte));
        let Some(i) = entry else { return place };
        place.push_str(&format!("[{i}]"));
        at = at.item(i);
    }
}

/// Every place that holds a plain value, or an empty bracket, with what stands there, in the order of the text. Empty
/// when the brackets don't match.
pub fn places(text: &str) -> Vec<(String, String)> {
    let mut all = vec![];
    if let Ok(source) = Source::scan(text) {
        list_places(source.root(), String::new(), &mut all);
    }
    all
}

fn list_places(at: At<'_>, place: String, all: &mut Vec<(String, String)>) {
    let is_list = at.is_list() && at.text().starts_with('[');
    let fields: Vec<_> = at.fields().collect();
    if !fields.is_empty() {
        for (name, _, value) in fields {
            let inner = if place.is_empty() { name.to_owned() } else { format!("{place}.{name}") };
            list_places(value, inner, all);
        }
    } else if is_list && at.len() > 0 {
        (0..at.len()).for_each(|i| list_places(at.item(i), format!("{place}[{i}]"), all));
    } else {
        all.push((place, at.text().to_owned()));
    }
}

/// Makes a change.
///
/// # Errors
/// A sentence when the text's brackets don't match, when the place isn't there, or when the value isn't one.
pub fn edit(text: &str, edit: &Edit) -> Result<String, String> {
    let source =
        Source::scan(text).map_err(|_| "The text can't be read: put its brackets and quotes right first.")?;
    let steps = steps(&edit.at).ok_or_else(|| format!("\u{201c}{}\u{201d} is no place of a file.", edit.at))?;
    let (last, above) = steps.split_last().ok_or("There is no such place.")?;
    let owner = follow(source.root(), above);
    let own = follow(source.root(), &steps);
    let missing = || format!("There is no \u{201c}{}\u{201d} in the text.", edit.at);
    if !owner.exists() {
        return Err(missing());
    }
    if let Change::Set(value) | Change::Insert(_, value) = &edit.change {
        is_value(value)?;
    }
    let page = Page { text, root: source.root() };
    let changed = match (&edit.change, last) {
        (Change::Set(value), _) if own.exists() => page.with(&[(own.span(), value.clone())]),
        (Change::Set(value), Step::Field(name)) => page.new_field(owner, name, value)?,
        (Change::Insert(position, value), _) if own.exists() => page.new_entry(own, *position, value)?,
        (Change::Insert(_, value), Step::Field(name)) => {
            let list = page.list_of(owner, value);
            page.new_field(owner, name, &list)?
        }
        (Change::Remove, _) if own.exists() => page.without(owner, *last),
        (Change::Swap(first), _) if own.item(first + 1).exists() => {
            let (a, b) = (own.item(*first), own.item(first + 1));
            page.with(&[(a.span(), b.text().to_owned()), (b.span(), a.text().to_owned())])
        }
        _ => return Err(missing()),
    };
    match Source::scan(changed.as_str()) {
        Ok(_) => Ok(changed),
        Err(_) => Err("With this the text couldn't be read any more.".to_owned()),
    }
}

/// Makes changes one after another.
///
/// # Errors
/// See [`edit`]; then none is made.
pub fn edit_all(text: &str, edits: &[Edit]) -> Result<String, String> {
    edits.iter().try_fold(text.to_owned(), |text, e| edit(&text, e))
}

/// One value and nothing round it.
fn is_value(value: &str) -> Result<(), String> {
    match Source::scan(value) {
        Ok(source) if source.root().span() == (0..value.len()) => Ok(()),
        _ => Err(format!("\u{201c}{}\u{201d} can't stand in a file.", crate::diag::quotable(value))),
    }
}

/// Fields of a whole file in their usual order.
fn usual_order(root: At<'_>) -> Vec<&'static str> {
    let fields = match root.word() {
        "Plant" => RawPlant::FIELDS,
        "Rubric" => RawRubric::FIELDS,
        "Course" => RawCourse::FIELDS,
        _ => RawJob::FIELDS,
    };
    fields.iter().map(|f| f.name).collect()
}

struct Page<'t> {
    text: &'t str,
    root: At<'t>,
}

impl Page<'_> {
    /// The text with some pieces replaced; they are given in their order.
    fn with(&self, pieces: &[(Range<usize>, String)]) -> String {
        let mut text = self.text.to_owned();
        for (span, value) in pieces.iter().rev() {
            text.replace_range(span.clone(), value);
        }
        text
    }

    /// What stands before a byte in its line, when that is blanks only.
    fn indent(&self, byte: usize) -> Option<&str> {
        let start = self.text[..byte].rfind('\n').map_or(0, |i| i + 1);
        let before = &self.text[start..byte];
        before.trim().is_empty().then_some(before)
    }

    /// The comma behind a value.
    fn comma(&self, end: usize) -> Option<usize> {
        let at = behind(self.text, end);
        (self.text.as_bytes().get(at) == Some(&b',')).then_some(at)
    }

    /// A list with one entry, for a field that isn't there yet.
    fn list_of(&self, owner: At<'_>, value: &str) -> String {
        let indent = owner.fields().next().and_then(|(_, key, _)| self.indent(key.start));
        match indent {
            Some(indent) => format!("[\n{indent}{STEP}{value},\n{indent}]"),
            None => format!("[{value}]"),
        }
    }

    fn new_field(&self, owner: At<'_>, name: &str, value: &str) -> Result<String, String> {
        if !owner.has_fields() {
            return Err(format!("\u{201c}{name}\u{201d} can't stand there."));
        }
        let written = format!("{name}: {value}");
        let order = if owner.span() == self.root.span() { usual_order(self.root) } else { vec![] };
        let rank = |key: &str| order.iter().position(|n| *n == key);
        let fields: Vec<_> = owner.fields().collect();
        let before = match rank(name) {
            Some(own) => (0..fields.len())
                .filter(|&i| rank(fields[i].0).is_some_and(|r| r < own))
                .max_by_key(|&i| rank(fields[i].0)),
            None => fields.len().checked_sub(1),
        };
        Ok(match before {
            Some(i) => self.behind_sibling(fields[i].1.start, fields[i].2.span().end, &written),
            None => match fields.first() {
                Some((_, key, _)) => self.before_sibling(key.start, &written),
                None => self.with(&[(owner.span().end - 1..owner.span().end - 1, written)]),
            },
        })
    }

    fn new_entry(&self, list: At<'_>, position: usize, value: &str) -> Result<String, String> {
        if !list.is_list() || !list.text().starts_with('[') {
            return Err("That isn't a list.".to_owned());
        }
        let count = list.len();
        if count == 0 {
            return Ok(self.first_entry(list, value));
        }
        Ok(match position.min(count) {
            0 => self.before_sibling(list.item(0).span().start, value),
            n => self.behind_sibling(list.item(n - 1).span().start, list.item(n - 1).span().end, value),
        })
    }

    fn first_entry(&self, list: At<'_>, value: &str) -> String {
        let span = list.span();
        let line = self.text[..span.start].rfind('\n').map_or(0, |i| i + 1);
        let indent: String = self.text[line..].chars().take_while(|c| *c == ' ' || *c == '\t').collect();
        // a list that begins a field of its own line gets lines of its own
        let own_line = self.text[line..span.start].trim().trim_end_matches(':').chars().all(is_of_a_name);
        let inner = span.start + 1..span.end - 1;
        let is_blank = self.text[inner.clone()].trim().is_empty();
        match (own_line && !self.text[line..span.start].trim().is_empty(), is_blank) {
            (true, true) => self.with(&[(inner, format!("\n{indent}{STEP}{value},\n{indent}"))]),
            (true, false) => self.with(&[(inner.start..inner.start, format!("\n{indent}{STEP}{value},"))]),
            (false, true) => self.with(&[(inner, value.to_owned())]),
            (false, false) => self.with(&[(inner.start..inner.start, format!("{value}, "))]),
        }
    }

    fn before_sibling(&self, start: usize, written: &str) -> String {
        let piece = match self.indent(start) {
            Some(indent) => format!("{written},\n{indent}"),
            None => format!("{written}, "),
        };
        self.with(&[(start..start, piece)])
    }

    fn behind_sibling(&self, start: usize, end: usize, written: &str) -> String {
        let Some(indent) = self.indent(start) else {
            return self.with(&[(end..end, format!(", {written}"))]);
        };
        let line = format!("\n{indent}{written},");
        match self.comma(end) {
            Some(comma) => {
                let at = self.end_of_remark(comma + 1);
                self.with(&[(at..at, line)])
            }
            None => {
                let at = self.end_of_remark(end);
                self.with(&[(end..end, ",".to_owned()), (at..at, line)])
            }
        }
    }

    /// The end of the line when only a remark follows, or else where it was.
    fn end_of_remark(&self, from: usize) -> usize {
        let rest = &self.text[from..];
        let line = &rest[..rest.find('\n').unwrap_or(rest.len())];
        let bare = line.trim();
        if bare.is_empty() {
            from
        } else if bare.starts_with("//") {
            from + line.trim_end().len()
        } else {
            from
        }
    }

    fn without(&self, owner: At<'_>, step: Step<'_>) -> String {
        let spans: Vec<Range<usize>> = match step {
            Step::Field(_) => owner.fields().map(|(_, key, value)| key.start..value.span().end).collect(),
            Step::Item(_) => (0..owner.len()).map(|i| owner.item(i).span()).collect(),
        };
        let i = match step {
            Step::Field(name) => owner.fields().position(|(key, ..)| key == name).unwrap_or(0),
            Step::Item(i) => i,
        };
        let Range { mut start, mut end } = spans[i].clone();
        match self.comma(end) {
            Some(comma) => end = comma + 1,
            None => {
                // the comma before the last one of a line goes with it
                let before = i.checked_sub(1).map(|b| spans[b].end);
                if let Some(before) = before.filter(|b| self.text[*b..start].trim() == ",") {
                    start = if self.indent(start).is_some() { start } else { before };
                }
            }
        }
        let line_end = self.end_of_remark(end);
        let rest = &self.text[line_end..];
        let line_is_over = rest[..rest.find('\n').unwrap_or(rest.len())].trim().is_empty();
        match self.indent(start) {
            Some(indent) if line_is_over && rest.contains('\n') => {
                let next = line_end + rest.find('\n').map_or(0, |n| n + 1);
                self.with(&[(start - indent.len()..next, String::new())])
            }
            _ => {
                let blanks = self.text[end..].len() - self.text[end..].trim_start_matches([' ', '\t']).len();
                let is_last = i + 1 == spans.len();
                let end = if is_last { end } else { end + blanks };
                self.with(&[(start..end, String::new())])
            }
        }
    }
}

fn is_of_a_name(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"// head
Job(
    title: "A", // the title
    // before the list
    facts: [
        "one", // first
        "two",
    ],
    minutes: 40,
    questions: [
        (name: "when", ask: "When?",
            answer: "Now."),
    ],
    hints: [],
    hidden: [(fault: "F15", at: "filter", severity: 3.2)],
)
"#;

    fn made(edits: &[Edit]) -> String {
        edit_all(TEXT, edits).unwrap()
    }

    #[test]
    fn a_value_changes_and_nothing_else() {
        assert_eq!(made(&[Edit::text("title", "B \"b\"")]), TEXT.replace("\"A\"", "\"B \\\"b\\\"\""));
        assert_eq!(made(&[Edit::number("hidden[0].severity", 4.0)]), TEXT.replace("3.2", "4"));
        assert_eq!(made(&[Edit::text("facts[1]", "2")]), TEXT.replace("\"two\"", "\"2\""));
    }

    #[test]
    fn a_new_field_stands_in_its_usual_place() {
        let with = made(&[Edit::set("level", "expert")]);
        assert_eq!(with, TEXT.replace("    hints: [],\n", "    hints: [],\n    level: expert,\n"));
        assert_eq!(
            made(&[Edit::text("customer", "C")]),
            TEXT.replace("// the title", "// the title\n    customer: \"C\",")
        );
    }

    #[test]
    fn entries_come_and_go_with_their_lines() {
        let more = made(&[Edit::insert("facts", 1, "\"middle\"")]);
        assert_eq!(more, TEXT.replace("// first\n", "// first\n        \"middle\",\n"));
        assert_eq!(
            made(&[Edit::insert("facts", 0, "\"zero\"")]),
            TEXT.replace("\"one\"", "\"zero\",\n        \"one\"")
        );
        assert_eq!(made(&[Edit::remove("facts[0]")]), TEXT.replace("        \"one\", // first\n", ""));
        assert_eq!(
            made(&[Edit::insert("hints", 0, "\"h\"")]),
            TEXT.replace("hints: []", "hints: [\n        \"h\",\n    ]")
        );
        assert_eq!(
            made(&[Edit::insert("hidden", 1, "(fault: \"F01\", severity: 2)")]),
            TEXT.replace("severity: 3.2)", "severity: 3.2), (fault: \"F01\", severity: 2)")
        );
        assert_eq!(made(&[Edit::remove("hidden[0].at")]), TEXT.replace("at: \"filter\", ", ""));
        assert_eq!(made(&[Edit::remove("hidden[0].severity")]), TEXT.replace(", severity: 3.2", ""));
        assert_eq!(made(&[Edit::remove("minutes")]), TEXT.replace("    minutes: 40,\n", ""));
        assert_eq!(
            made(&[Edit::swap("facts", 0)]),
            TEXT.replace("\"one\"", "\"x\"").replace("\"two\"", "\"one\"").replace("\"x\"", "\"two\"")
        );
        assert_eq!(
            made(&[Edit::insert("goals", 0, "\"g\"")]),
            TEXT.replace("    minutes", "    goals: [\n        \"g\",\n    ],\n    minutes")
        );
        assert_eq!(
            made(&[Edit::set("hidden[0].when", "[Level(below: 0.3)]")]),
            TEXT.replace("severity: 3.2", "severity: 3.2, when: [Level(below: 0.3)]")
        );
    }

    #[test]
    fn what_cant_be_done_is_refused_and_told() {
        for bad in ["", "\"a\", x: 1", "1 // so", "(", "a b", " 1", "#![enable(x)]1"] {
            assert!(edit(TEXT, &Edit::set("title", bad)).is_err(), "{bad:?}");
        }
        assert!(edit(TEXT, &Edit::set("questions[3].ask", "1")).is_err());
        assert!(edit(TEXT, &Edit::set("hidden[0].severity.x", "1")).is_err());
        assert!(edit(TEXT, &Edit::insert("title", 0, "1")).is_err());
        assert!(edit(TEXT, &Edit::swap("facts", 1)).is_err());
        assert!(edit("Job(", &Edit::set("title", "1")).unwrap_err().contains("brackets"));
    }

    #[test]
    fn a_byte_tells_its_place() {
        let place = |words: &str| place_of(TEXT, TEXT.find(words).unwrap());
        assert_eq!(place("3.2"), "hidden[0].severity");
        assert_eq!(place("Now."), "questions[0].answer");
        assert_eq!(place("\"two\""), "facts[1]");
        assert_eq!(place("title:"), "title");
        assert_eq!(place("// head"), "");
        assert_eq!(value(TEXT, "hidden[0].at").as_deref(), Some("\"filter\""));
        assert_eq!(&TEXT[span(TEXT, "minutes").unwrap()], "40");
    }
}
