//! Diagnostics and the report that collects them.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use super::Id;

/// Most diagnostics kept for one file; the rest are counted.
const MOST_PER_FILE: usize = 100;
/// Longest quotation of a file's own words in a message, characters.
const LONGEST_QUOTE: usize = 60;

/// Whether a file with this finding can be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// It can't.
    Error,
    /// It can, but its author should look.
    Warning,
}

/// One thing to say about one place in one file.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnostic {
    /// Stable handle.
    pub id: Id,
    /// One line in the author's words.
    pub message: String,
    /// Name of the file; empty when no file is to blame.
    pub file: String,
    /// Where, in bytes of the file's text.
    pub span: Range<usize>,
    /// What to write beside the place.
    pub label: String,
    /// What stands there.
    pub found: Option<String>,
    /// What could stand there.
    pub expected: Vec<String>,
    /// The word that was probably meant.
    pub nearest: Option<String>,
    /// What to do.
    pub help: Option<String>,
    /// Other places of the same file that belong to it, each with its label.
    pub also: Vec<(Range<usize>, String)>,
}

impl Diagnostic {
    /// A diagnostic with a message; everything else is added by the methods below.
    pub fn new(id: Id, file: &str, span: Range<usize>, message: impl Into<String>) -> Self {
        Self {
            id,
            message: message.into(),
            file: file.to_owned(),
            span,
            label: String::new(),
            found: None,
            expected: Vec::new(),
            nearest: None,
            help: None,
            also: Vec::new(),
        }
    }

    /// Words beside the place.
    #[must_use]
    pub fn label(mut self, words: impl Into<String>) -> Self {
        self.label = words.into();
        self
    }

    /// What to do about it.
    #[must_use]
    pub fn help(mut self, words: impl Into<String>) -> Self {
        self.help = Some(words.into());
        self
    }

    /// A word that isn't one of the known ones: keeps what was found, what is known, and the
    /// nearest of them.
    #[must_use]
    pub fn among<S: AsRef<str>>(mut self, found: &str, known: impl IntoIterator<Item = S>) -> Self {
        self.expected = known.into_iter().map(|k| k.as_ref().to_owned()).collect();
        self.nearest = nearest(found, self.expected.iter().map(String::as_str));
        self.found = Some(quotable(found));
        self
    }

    /// What stands there and, in a word or two, what should.
    #[must_use]
    pub fn instead_of(mut self, found: impl AsRef<str>, expected: impl Into<String>) -> Self {
        self.found = Some(quotable(found.as_ref()));
        self.expected = vec![expected.into()];
        self
    }

    /// Another place that belongs to it.
    #[must_use]
    pub fn also(mut self, span: Range<usize>, label: impl Into<String>) -> Self {
        self.also.push((span, label.into()));
        self
    }

    /// Whether it is an error.
    pub fn is_error(&self) -> bool {
        self.id.severity == Severity::Error
    }
}

/// The words of a file, short enough to quote.
pub(crate) fn quotable(words: &str) -> String {
    if words.chars().count() <= LONGEST_QUOTE {
        words.to_owned()
    } else {
        let mut short: String = words.chars().take(LONGEST_QUOTE).collect();
        short.push('…');
        short
    }
}

/// The known word that `found` was probably meant to be: few letters differ, or one holds the other.
pub fn nearest<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    if found.is_empty() || found.len() > 4 * LONGEST_QUOTE {
        return None;
    }
    let low = found.to_lowercase();
    let letters = low.chars().count();
    let allowed = (letters / 3).max(1);
    let mut best: Option<(usize, &str)> = None;
    for word in known {
        let known_low = word.to_lowercase();
        let held = low.len() >= 4 && known_low.len() >= 4 && (known_low.contains(&low) || low.contains(&known_low));
        // as many letters more or fewer are as many changes: nothing to work out
        let apart = known_low.chars().count().abs_diff(letters);
        let distance = if apart > allowed { apart } else { strsim::damerau_levenshtein(&low, &known_low) };
        let distance = if held { distance.min(allowed) } else { distance };
        if distance <= allowed && best.is_none_or(|(d, _)| distance < d) {
            best = Some((distance, word));
        }
    }
    best.map(|(_, word)| word.to_owned())
}

/// A file's name and text, kept to show the lines that are meant.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceFile {
    /// Name.
    pub name: String,
    /// Text.
    pub text: Arc<str>,
}

impl SourceFile {
    /// A byte offset moved into the text and onto the start of a character.
    pub fn floor(&self, offset: usize) -> usize {
        let mut at = offset.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        at
    }

    /// Line and column of a byte offset, both from 1, the column in characters.
    pub fn line_column(&self, offset: usize) -> (usize, usize) {
        let before = &self.text[..self.floor(offset)];
        let line_start = before.rfind('\n').map_or(0, |i| i + 1);
        let line = 1 + before.bytes().filter(|&b| b == b'\n').count();
        (line, 1 + before[line_start..].chars().count())
    }
}

/// Everything found in one run, about one or several files.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Report {
    files: Vec<SourceFile>,
    diagnostics: Vec<Diagnostic>,
    counts: BTreeMap<String, usize>,
    dropped: usize,
}

impl Report {
    /// An empty report.
    pub fn new() -> Self {
        Self::default()
    }

    /// Makes a file's text known, so that its lines can be shown. The first text of a name stays.
    pub fn add_file(&mut self, name: &str, text: &str) {
        if self.file(name).is_none() {
            self.files.push(SourceFile { name: name.to_owned(), text: text.into() });
        }
    }

    /// Adds a diagnostic. A second one with the same id at the same place is left out, and so is
    /// what exceeds a hundred in a file.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        let known = self.diagnostics.iter().any(|d| {
            d.id == diagnostic.id
                && d.file == diagnostic.file
                && d.span == diagnostic.span
                && d.message == diagnostic.message
        });
        if known {
            return;
        }
        let count = self.counts.entry(diagnostic.file.clone()).or_default();
        *count += 1;
        // the first error of a file must never be lost behind its warnings
        if *count > MOST_PER_FILE && !(diagnostic.is_error() && self.errors() == 0) {
            self.dropped += 1;
            return;
        }
        self.diagnostics.push(diagnostic);
    }

    /// Adds another report's files and diagnostics.
    pub fn merge(&mut self, other: Self) {
        self.merge_where(other, |_| true);
    }

    /// Adds another report's files and those of its diagnostics that are worth keeping.
    pub fn merge_where(&mut self, other: Self, keep: impl Fn(&Diagnostic) -> bool) {
        for file in other.files {
            if self.file(&file.name).is_none() {
                self.files.push(file);
            }
        }
        self.dropped += other.dropped;
        for diagnostic in other.diagnostics.into_iter().filter(|d| keep(d)) {
            self.push(diagnostic);
        }
    }

    /// The text of a file.
    pub fn file(&self, name: &str) -> Option<&SourceFile> {
        self.files.iter().find(|f| f.name == name)
    }

    /// Every diagnostic: file by file, in each the errors by place, then the warnings by place.
    pub fn diagnostics(&self) -> Vec<&Diagnostic> {
        let mut all: Vec<&Diagnostic> = self.diagnostics.iter().collect();
        let order = |name: &str| self.files.iter().position(|f| f.name == name).unwrap_or(usize::MAX);
        all.sort_by_key(|d| (order(&d.file), d.id.severity, d.span.start, d.span.end, d.id.code));
        all
    }

    /// Number of errors.
    pub fn errors(&self) -> usize {
        self.diagnostics.iter().filter(|d| d.is_error()).count()
    }

    /// Number of warnings.
    pub fn warnings(&self) -> usize {
        self.diagnostics.len() - self.errors()
    }

    /// Whether anything is wrong enough that the file can't be used.
    pub fn has_errors(&self) -> bool {
        self.errors() > 0
    }

    /// Whether there is nothing to say.
    pub fn is_empty(&self) -> bool {
        self.diagnostics.is_empty()
    }

    /// Number of diagnostics that were counted but not kept.
    pub fn dropped(&self) -> usize {
        self.dropped
    }
}

impl std::fmt::Display for Report {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&super::render::text(self))
    }
}

impl std::error::Error for Report {}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::id;

    #[test]
    fn the_nearest_word_is_close_or_none() {
        let known = ["filter in", "pump in", "tank line end"];
        assert_eq!(nearest("fliter in", known).as_deref(), Some("filter in"));
        assert_eq!(nearest("Pump In", known).as_deref(), Some("pump in"));
        assert_eq!(nearest("tank line", known).as_deref(), Some("tank line end"));
        assert_eq!(nearest("gearbox", known), None);
        assert_eq!(nearest("", known), None);
    }

    #[test]
    fn errors_come_by_place_and_before_warnings() {
        let mut report = Report::new();
        report.add_file("a", "0123456789");
        report.push(Diagnostic::new(id::CARD_GAPS, "a", 0..1, "first in the file"));
        report.push(Diagnostic::new(id::WEIGHT, "a", 7..8, "second"));
        report.push(Diagnostic::new(id::WEIGHT, "a", 3..4, "first"));
        report.push(Diagnostic::new(id::WEIGHT, "a", 3..4, "first"));
        let order: Vec<&str> = report.diagnostics().iter().map(|d| d.message.as_str()).collect();
        assert_eq!(order, ["first", "second", "first in the file"]);
        assert_eq!((report.errors(), report.warnings()), (2, 1));
    }

    #[test]
    fn a_flood_is_counted_not_kept_and_never_hides_an_error() {
        let mut report = Report::new();
        for i in 0..300 {
            report.push(Diagnostic::new(id::CARD_GAPS, "a", i..i, format!("{i}")));
        }
        report.push(Diagnostic::new(id::WEIGHT, "a", 0..0, "an error"));
        assert_eq!(report.warnings(), MOST_PER_FILE);
        assert_eq!(report.dropped(), 200);
        assert!(report.has_errors());
    }

    #[test]
    fn columns_count_characters_and_stay_inside_the_text() {
        let file = SourceFile { name: "a".to_owned(), text: "ab\n°°x".into() };
        assert_eq!(file.line_column(0), (1, 1));
        assert_eq!(file.line_column(3), (2, 1));
        assert_eq!(file.line_column(4), (2, 1), "inside a character counts as its start");
        assert_eq!(file.line_column(7), (2, 3));
        assert_eq!(file.line_column(1000), (2, 4));
    }
}
