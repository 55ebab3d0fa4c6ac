//! `faultbay explain [ID]`: what an id of `faultbay check` or `faultbay read` means, with an example; and
//! the schema of a mark's JSON.
//!
//! Exit code 0, or 2 for an id that doesn't exist.

use std::fmt::Write as _;
use std::io::Write;

use crate::diag::pages::{self, Page, Within};
use crate::diag::{Severity, id, nearest};

/// Asks for the schema.
const MARK_SCHEMA: &str = "mark-schema";

/// Prints the page of an id (its code or its name), the schema, or the list of all.
pub fn run(word: Option<&str>, out: &mut dyn Write) -> u8 {
    let (text, code) = match word {
        None => (list(), 0),
        Some(word) if word.trim() == MARK_SCHEMA => (crate::report::json::SCHEMA.to_owned(), 0),
        Some(word) => match id::by_word(word.trim()) {
            Some(id) => (pages::page(id).map(page).unwrap_or_default(), 0),
            None => (unknown(word), 2),
        },
    };
    // a closed pipe isn't a failure
    let _ = out.write_all(text.as_bytes());
    code
}

fn list() -> String {
    let mut text = String::new();
    for page in pages::all() {
        let _ = writeln!(text, "{}  {:<24}{}", page.id.code, page.id.name, page.title);
    }
    text.push_str("\nAsk for one by its code or its name, such as: faultbay explain FB-S014\n");
    let _ = writeln!(text, "The schema of a mark's JSON: faultbay explain {MARK_SCHEMA}");
    text
}

fn unknown(word: &str) -> String {
    let short: String = word.chars().filter(|c| !c.is_control()).take(40).collect();
    let known = id::ALL.iter().flat_map(|i| [i.code, i.name]).chain([MARK_SCHEMA]);
    let hint = nearest(&short, known).map(|n| format!("; did you mean {n}?")).unwrap_or_default();
    format!("nothing is called {short:?}{hint}\n\"faultbay explain\" lists every id\n")
}

fn page(page: &Page) -> String {
    let kind = match page.id.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    };
    let mut text = format!("{} ({kind})\n{}\n\n", page.id, page.title);
    for line in wrapped(page.why, 92) {
        let _ = writeln!(text, "{line}");
    }
    let Some(example) = &page.example else { return text };
    let place = match example.within {
        Within::File => "a file".to_owned(),
        Within::Plant(field) => format!("\"{field}\" of a plant"),
        Within::Job(field) => format!("\"{field}\" of a job"),
        Within::Rubric(field) => format!("\"{field}\" of a rubric"),
        Within::Course(field) => format!("\"{field}\" of a course"),
        Within::Recording => "a recording".to_owned(),
    };
    let _ = write!(
        text,
        "\nWrong, in {place}:\n\n{}\n\nRight:\n\n{}\n",
        indented(example.wrong),
        indented(example.right)
    );
    text
}

fn indented(example: &str) -> String {
    example.lines().map(|l| format!("    {l}")).collect::<Vec<_>>().join("\n")
}

fn wrapped(words: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in words.split_whitespace() {
        let last = lines.len() - 1;
        if !lines[last].is_empty() && lines[last].chars().count() + 1 + word.chars().count() > width {
            lines.push(word.to_owned());
        } else {
            if !lines[last].is_empty() {
                lines[last].push(' ');
            }
            lines[last].push_str(word);
        }
    }
    lines
}
