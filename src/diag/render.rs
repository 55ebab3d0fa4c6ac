//! A report as text with lines and carets, or as JSON.

use std::fmt::Write as _;
use std::ops::Range;

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet, normalize_untrusted_str};
use serde::Serialize;

use super::{Diagnostic, Report, Severity, SourceFile};

/// Longest line of a file that is shown, bytes; of longer ones only the place is named.
const LONGEST_LINE: usize = 400;
/// Most known words that are listed.
const MOST_WORDS: usize = 16;

/// The report as plain text, ending with a line that counts. Empty when there is nothing to say.
pub fn text(report: &Report) -> String {
    let mut out = String::new();
    let renderer = Renderer::plain().term_width(110);
    for diagnostic in report.diagnostics() {
        out.push_str(&renderer.render(&[group(report, diagnostic)]));
        out.push_str("\n\n");
    }
    if !report.is_empty() {
        out.push_str(&summary(report));
        out.push('\n');
    }
    out
}

/// "2 errors, 1 warning", and how many more were left out.
pub fn summary(report: &Report) -> String {
    let plural = |n: usize, word: &str| if n == 1 { format!("1 {word}") } else { format!("{n} {word}s") };
    let mut words = format!("{}, {}", plural(report.errors(), "error"), plural(report.warnings(), "warning"));
    if report.dropped() > 0 {
        let _ = write!(words, " and {} more not shown", report.dropped());
    }
    words
}

fn group<'a>(report: &Report, diagnostic: &Diagnostic) -> Group<'a> {
    let level = match diagnostic.id.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let mut group = level
        .primary_title(clean(&diagnostic.message))
        .id(diagnostic.id.to_string())
        .elements(std::iter::empty::<annotate_snippets::Element<'_>>());
    if let Some(file) = report.file(&diagnostic.file) {
        group = match snippet(file, diagnostic) {
            Some(snippet) => group.element(snippet),
            None => {
                let (line, column) = file.line_column(diagnostic.span.start);
                group.element(Origin::path(clean(&file.name)).line(line).char_column(column))
            }
        };
    } else if !diagnostic.file.is_empty() {
        group = group.element(Origin::path(clean(&diagnostic.file)));
    }
    if let Some(words) = choices(diagnostic) {
        group = group.element(Level::NOTE.message(clean(&words)));
    }
    if let Some(nearest) = &diagnostic.nearest {
        group = group.element(Level::HELP.message(clean(&format!("did you mean \"{nearest}\"?"))));
    }
    if let Some(help) = &diagnostic.help {
        group = group.element(Level::HELP.message(clean(help)));
    }
    group
}

/// Control characters of a stranger's file shown as signs.
fn clean(words: &str) -> String {
    normalize_untrusted_str(&words.replace(['\n', '\r'], " "))
}

fn choices(diagnostic: &Diagnostic) -> Option<String> {
    let known = &diagnostic.expected;
    match known.as_slice() {
        [] => None,
        [only] => {
            let said = [&diagnostic.label, &diagnostic.message].iter().any(|words| words.contains(only.as_str()));
            (!said && diagnostic.nearest.is_none()).then(|| format!("expected {only}"))
        }
        many if many.len() > MOST_WORDS && diagnostic.nearest.is_some() => None,
        many => {
            let mut words = many.iter().take(MOST_WORDS).cloned().collect::<Vec<_>>().join(", ");
            if many.len() > MOST_WORDS {
                let _ = write!(words, " and {} more", many.len() - MOST_WORDS);
            }
            Some(format!("possible: {words}"))
        }
    }
}

fn snippet<'a>(
    file: &SourceFile,
    diagnostic: &Diagnostic,
) -> Option<Snippet<'a, annotate_snippets::Annotation<'a>>> {
    let main = shown(file, &diagnostic.span);
    let also: Vec<(Range<usize>, &str)> =
        diagnostic.also.iter().map(|(span, label)| (shown(file, span), label.as_str())).collect();
    let long = |span: &Range<usize>| line_around(file, span.start).len() > LONGEST_LINE;
    if long(&main) || also.iter().any(|(span, _)| long(span)) {
        return None;
    }
    // only the lines between the first and the last place, so that a large file costs nothing
    let first = also.iter().map(|(s, _)| s.start).chain([main.start]).min()?;
    let last = also.iter().map(|(s, _)| s.end).chain([main.end]).max()?;
    let from = line_around(file, first).start;
    let to = line_around(file, last).end;
    let (line_start, _) = file.line_column(from);
    let place = |span: &Range<usize>| span.start - from..span.end - from;
    let mut snippet = Snippet::source(file.text[from..to].to_owned())
        .line_start(line_start)
        .path(clean(&file.name))
        .annotation(AnnotationKind::Primary.span(place(&main)).label(clean(&diagnostic.label)));
    for (span, label) in &also {
        snippet = snippet.annotation(AnnotationKind::Context.span(place(span)).label(clean(label)));
    }
    Some(snippet)
}

/// The part of a span that lies on its first line, at least one character where there is one.
fn shown(file: &SourceFile, span: &Range<usize>) -> Range<usize> {
    let start = file.floor(span.start);
    let line_end = line_around(file, start).end;
    let mut end = file.floor(span.end).clamp(start, line_end.max(start));
    if end == start && end < line_end {
        end += file.text[start..].chars().next().map_or(0, char::len_utf8);
    }
    start..end
}

/// The line that holds a byte, without its end.
fn line_around(file: &SourceFile, offset: usize) -> Range<usize> {
    let at = file.floor(offset);
    let start = file.text[..at].rfind('\n').map_or(0, |i| i + 1);
    let end = file.text[at..].find('\n').map_or(file.text.len(), |i| at + i);
    start..end
}

#[derive(Serialize)]
struct JsonReport<'a> {
    errors: usize,
    warnings: usize,
    not_shown: usize,
    diagnostics: Vec<JsonDiagnostic<'a>>,
}

#[derive(Serialize)]
struct JsonDiagnostic<'a> {
    id: &'a str,
    name: &'a str,
    severity: Severity,
    message: &'a str,
    file: &'a str,
    place: Option<JsonPlace>,
    label: &'a str,
    found: Option<&'a str>,
    expected: &'a [String],
    nearest: Option<&'a str>,
    help: Option<&'a str>,
    also: Vec<JsonAlso<'a>>,
}

#[derive(Serialize)]
struct JsonAlso<'a> {
    place: Option<JsonPlace>,
    label: &'a str,
}

#[derive(Serialize)]
struct JsonPlace {
    line: usize,
    column: usize,
    end_line: usize,
    end_column: usize,
    start_byte: usize,
    end_byte: usize,
}

impl JsonPlace {
    fn of(file: Option<&SourceFile>, span: &Range<usize>) -> Option<Self> {
        let file = file?;
        let (line, column) = file.line_column(span.start);
        let (end_line, end_column) = file.line_column(span.end);
        Some(Self { line, column, end_line, end_column, start_byte: span.start, end_byte: span.end })
    }
}

/// The report as JSON: lines and columns from 1, columns in characters, bytes from 0.
pub fn json(report: &Report) -> String {
    let diagnostics = report
        .diagnostics()
        .into_iter()
        .map(|d| {
            let file = report.file(&d.file);
            JsonDiagnostic {
                id: d.id.code,
                name: d.id.name,
                severity: d.id.severity,
                message: &d.message,
                file: &d.file,
                place: JsonPlace::of(file, &d.span),
                label: &d.label,
                found: d.found.as_deref(),
                expected: &d.expected,
                nearest: d.nearest.as_deref(),
                help: d.help.as_deref(),
                also: d.also.iter().map(|(s, label)| JsonAlso { place: JsonPlace::of(file, s), label }).collect(),
            }
        })
        .collect();
    let whole = JsonReport {
        errors: report.errors(),
        warnings: report.warnings(),
        not_shown: report.dropped(),
        diagnostics,
    };
    // plain strings and numbers always serialise
    serde_json::to_string_pretty(&whole).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::id;

    fn sample() -> Report {
        let mut report = Report::new();
        report.add_file("job.ron", "limits: [\n  (joint: \"fliter in\"),\n]\n");
        report.push(
            Diagnostic::new(id::UNKNOWN_JOINT, "job.ron", 20..31, "no joint is called \"fliter in\"")
                .label("not in this plant")
                .among("fliter in", ["filter in", "pump in"]),
        );
        report
    }

    #[test]
    fn text_shows_the_line_the_caret_and_the_word_that_was_meant() {
        let text = text(&sample());
        assert_eq!(
            text,
            "\
error[FB-S016 unknown-joint]: no joint is called \"fliter in\"
 --> job.ron:2:11
  |
2 |   (joint: \"fliter in\"),
  |           ^^^^^^^^^^^ not in this plant
  |
  = note: possible: filter in, pump in
  = help: did you mean \"filter in\"?

1 error, 0 warnings
"
        );
    }

    #[test]
    fn json_has_the_same_fields() {
        let value: serde_json::Value = serde_json::from_str(&json(&sample())).unwrap();
        let d = &value["diagnostics"][0];
        assert_eq!(d["id"], "FB-S016");
        assert_eq!(d["severity"], "error");
        assert_eq!(d["nearest"], "filter in");
        assert_eq!((d["place"]["line"].as_u64(), d["place"]["column"].as_u64()), (Some(2), Some(11)));
        assert_eq!(d["place"]["end_column"], 22);
        assert_eq!(value["errors"], 1);
    }

    #[test]
    fn spans_outside_the_text_and_inside_a_character_are_drawn_all_the_same() {
        for text in ["", "°", "a\n", "a\r\nb", "\u{1b}[31mred\u{7}"] {
            for span in [0..0, 0..1, 1..1, 1..500, 500..900, Range { start: 3, end: 2 }] {
                let mut report = Report::new();
                report.add_file("x\u{1b}.ron", text);
                report.push(
                    Diagnostic::new(id::SYNTAX, "x\u{1b}.ron", span.clone(), "bad \u{1b}[0m").also(span, "here"),
                );
                let drawn = super::text(&report);
                assert!(drawn.contains("FB-S003"));
                assert!(!drawn.contains('\u{1b}'), "{drawn:?}");
                assert!(json(&report).contains("FB-S003"));
            }
        }
    }

    #[test]
    fn a_line_without_end_is_named_but_not_printed() {
        let mut report = Report::new();
        report.add_file("x.ron", &"a".repeat(100_000));
        report.push(Diagnostic::new(id::SYNTAX, "x.ron", 500..501, "bad"));
        let drawn = text(&report);
        assert!(drawn.len() < 500, "{}", drawn.len());
        assert!(drawn.contains("x.ron:1:501"), "{drawn}");
    }
}
