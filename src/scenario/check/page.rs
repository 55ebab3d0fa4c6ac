//! A file under check, and the checks that every file shares: texts, names, numbers, repetitions.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::diag::{Diagnostic, Id, Report, id, quotable};
use crate::scenario::source::At;
use crate::scenario::starter::is_placeholder;
use crate::scenario::takes;

/// Longest name, characters.
const LONGEST_NAME: usize = 40;
/// Longest single line, such as a title.
pub(super) const LONGEST_LINE: usize = 160;
/// Longest paragraph, such as a complaint.
pub(super) const LONGEST_TEXT: usize = 2000;

/// A file under check.
pub(super) struct Page<'a> {
    pub(super) file: &'a str,
    pub(super) report: &'a mut Report,
}

impl Page<'_> {
    pub(super) fn at(&self, id: Id, span: Range<usize>, message: impl Into<String>) -> Diagnostic {
        Diagnostic::new(id, self.file, span, message)
    }

    pub(super) fn say(&mut self, diagnostic: Diagnostic) {
        self.report.push(diagnostic);
    }

    /// A text that people read.
    pub(super) fn text(&mut self, at: At<'_>, what: &str, text: &str, most: usize) {
        let length = text.chars().count();
        let trouble = if text.trim().is_empty() {
            format!("{what} is empty")
        } else if length > most {
            format!("{what} has {length} characters; {most} are the most")
        } else if text.contains('\t') {
            format!("{what} holds a tab: write blanks in its place")
        } else if let Some(c) = text.chars().find(|c| c.is_control() && *c != '\n') {
            format!("{what} holds the control character {c:?}")
        } else {
            if is_placeholder(text) {
                let message = format!("{what} is still the one of the blank page");
                self.say(
                    self.at(id::PLACEHOLDER, at.span(), message)
                        .label("write your own here")
                        .help("learners read it as it stands"),
                );
            }
            return;
        };
        let label = if text.trim().is_empty() { "nothing is said here" } else { "here" };
        let said = self.at(id::BAD_TEXT, at.span(), trouble).label(label);
        self.say(if text.trim().is_empty() {
            said.help("learners read it: write it, in a sentence or a name")
        } else {
            said
        });
    }

    /// A name that other places of files, actions and marks refer to.
    pub(super) fn name(&mut self, at: At<'_>, what: &str, name: &str) {
        self.text(at, what, name, LONGEST_NAME);
        let odd = name.chars().find(|c| !(c.is_alphanumeric() || " -_.".contains(*c)));
        if let Some(c) = odd.filter(|c| !c.is_control()) {
            let message = format!("{what} can't hold {c:?}");
            self.say(
                self.at(id::BAD_TEXT, at.span(), message)
                    .label("here")
                    .help("names are made of letters, digits, spaces, hyphens, dots and low lines"),
            );
        } else if name != name.trim() {
            let message = format!("{what} begins or ends with a blank");
            self.say(self.at(id::BAD_TEXT, at.span(), message).label("here"));
        }
    }

    /// A number of a shape within the range that its row gives: of a list's entry, or of a kind of file.
    pub(super) fn known(&mut self, at: At<'_>, owner: &str, field: &str, what: &str, value: f64) {
        let row = takes::known(owner, field);
        if let Some((range, symbol)) = row.and_then(|r| Some((r.range?, r.symbol))) {
            self.number(at.field(field), what, value, range, symbol);
        }
    }

    /// A number within a range, in the unit that the message names.
    pub(super) fn number(&mut self, at: At<'_>, what: &str, value: f64, range: (f64, f64), unit: &str) {
        let (low, high) = range;
        if !(value >= low && value <= high) {
            let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
            let message = format!("{what} {value} is outside {low} … {high}{unit}");
            let mut said = self
                .at(id::OUT_OF_RANGE, at.span(), message)
                .label(format!("{low} … {high}{unit}"))
                .instead_of(at.text(), format!("{low} … {high}{unit}"));
            // a share that was said in hundredths
            if range == takes::SHARE && (10.0..=100.0).contains(&value) && at.text() == format!("{value}") {
                said.nearest = Some(format!("{}", value / 100.0));
            }
            self.say(said);
        }
    }

    /// Names that occur twice in a list.
    pub(super) fn unique<'n>(
        &mut self,
        list: At<'_>,
        field: &str,
        what: &str,
        names: impl Iterator<Item = &'n str>,
    ) {
        let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
        for (i, name) in names.enumerate() {
            if let Some(&first) = seen.get(name) {
                let here = list.item(i).field(field).span();
                let message = format!("two {what} are called {:?}", quotable(name));
                self.say(
                    self.at(id::DUPLICATE_NAME, here, message)
                        .label("again here")
                        .also(list.item(first).field(field).span(), "first here")
                        .help("give one of them another name, or take out the copy"),
                );
            } else {
                seen.insert(name, i);
            }
        }
    }
}
