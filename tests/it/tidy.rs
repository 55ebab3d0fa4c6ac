//! House rules that no compiler knows.

use crate::source::{self, code, hold, mentions};

/// No file of `src` is longer, in lines: beyond that newcomers get lost.
const LONGEST: usize = 700;

fn starts_with_docs(_path: &str, text: &str) -> Vec<String> {
    if text.starts_with("//! ") { Vec::new() } else { vec!["doesn't start with `//!` docs".to_owned()] }
}

fn is_short(_path: &str, text: &str) -> Vec<String> {
    let lines = text.lines().count();
    if lines <= LONGEST { Vec::new() } else { vec![format!("{lines} lines, more than {LONGEST}")] }
}

fn ends_clean(_path: &str, text: &str) -> Vec<String> {
    let mut broken: Vec<_> = (1..)
        .zip(text.split('\n'))
        .filter(|(_, line)| line.ends_with([' ', '\t', '\r']))
        .map(|(i, _)| format!("{i}: space at the end of the line"))
        .collect();
    if !text.is_empty() && !text.ends_with('\n') {
        broken.push("no newline at the end".to_owned());
    }
    broken
}

fn is_finished(_path: &str, text: &str) -> Vec<String> {
    let code = code(text);
    let mut broken = Vec::new();
    for word in ["todo!", "unimplemented!", "dbg!"] {
        broken.extend(mentions(&code, word).map(|(line, _)| format!("{line}: {word}")));
    }
    if text.starts_with("//! (in work)") {
        broken.push("1: is in work".to_owned());
    }
    broken
}

fn has_no_gaps(_path: &str, text: &str) -> Vec<String> {
    mentions(text, "<!-- fill").map(|(line, _)| format!("{line}: a gap that waits to be filled")).collect()
}

fn pins_bevy(_path: &str, text: &str) -> Vec<String> {
    ["bevy", "bevy_egui", "egui_kittest"]
        .into_iter()
        .filter(|name| {
            let entry = text
                .split_once(&format!("\n{name} = "))
                .or_else(|| text.split_once(&format!("\n[dependencies.{name}]\n")))
                .map_or("", |(_, after)| after);
            let version = entry.split('"').nth(1).unwrap_or_default();
            !version.starts_with('=')
        })
        .map(|name| format!("{name} isn't pinned with `=`"))
        .collect()
}

#[test]
fn docs() {
    hold(starts_with_docs, &source::files(&["src", "tests", "benches"], &[".rs"]));
}

#[test]
fn length() {
    hold(is_short, &source::files(&["src"], &[".rs"]));
}

#[test]
fn line_ends() {
    let places = [
        "src",
        "tests",
        "benches",
        "scenarios",
        ".ci",
        "Cargo.toml",
        "clippy.toml",
        "deny.toml",
        "rustfmt.toml",
        "README.md",
        "DEVELOPERS.md",
    ];
    // the scripts of `.ci` have no ending
    let mut files = source::files(&places, &[".rs", ".md", ".toml", ".ron"]);
    files.extend(source::files(&[".ci"], &[""]));
    hold(ends_clean, &files);
}

#[test]
fn finished() {
    hold(is_finished, &source::files(&["src"], &[".rs"]));
}

#[test]
fn gaps() {
    hold(has_no_gaps, &source::files(&["README.md", "DEVELOPERS.md"], &[".md"]));
}

#[test]
fn pins() {
    hold(pins_bevy, &source::files(&["Cargo.toml"], &[".toml"]));
}

#[test]
fn a_file_without_docs_is_caught() {
    assert_eq!(starts_with_docs("a.rs", "use b;\n").len(), 1);
    assert_eq!(starts_with_docs("a.rs", "//! What it is.\nuse b;\n").len(), 0);
}

#[test]
fn a_long_file_is_caught() {
    assert_eq!(is_short("a.rs", &"x\n".repeat(LONGEST + 1)).len(), 1);
    assert_eq!(is_short("a.rs", &"x\n".repeat(LONGEST)).len(), 0);
}

#[test]
fn trailing_space_is_caught() {
    assert_eq!(ends_clean("a.rs", "a \nb\t\nc").len(), 3);
    assert_eq!(ends_clean("a.rs", "a\n\nb\n").len(), 0);
}

#[test]
fn unfinished_work_is_caught() {
    assert_eq!(is_finished("a.rs", "fn f() { todo!() }\nfn g() { unimplemented!(\"later\") }\n").len(), 2);
    assert_eq!(is_finished("a.rs", "//! (in work)\n").len(), 1);
    assert_eq!(is_finished("a.rs", "// no todo!() here\nfn f() {}\n").len(), 0);
}

#[test]
fn a_gap_is_caught() {
    assert_eq!(has_no_gaps("a.md", "text\n<!-- fill: numbers -->\n").len(), 1);
}

#[test]
fn a_loose_version_is_caught() {
    let pinned = "[dependencies]\nbevy_egui = { version = \"=0.42.0\" }\negui_kittest = \"=0.36.2\"\n\
                  [dependencies.bevy]\nversion = \"=0.19.1\"\n";
    assert_eq!(pins_bevy("Cargo.toml", pinned).len(), 0);
    assert_eq!(pins_bevy("Cargo.toml", &pinned.replace("=0.19.1", "0.19.1")).len(), 1);
}
