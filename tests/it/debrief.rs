//! The documents of a marked attempt: what every demo's debrief must hold, two that are stored to be read,
//! and the command that writes them.
//!
//! `UPDATE_DEMO=1` writes the stored pages anew; run it a second time after marks have changed, for the
//! marks are read from their files.

use std::path::PathBuf;

use faultbay::attempt::{Attempt, Event};
use faultbay::bay::action::Action;
use faultbay::language::{Language, within};
use faultbay::marking::model::Mark;
use faultbay::report::debrief::{A_PERSON_DECIDES, Head, TRAINING_VALUES, debrief};
use faultbay::report::document::{Block, Document};
use faultbay::report::html;
use faultbay::scenario::model::Job;
use faultbay::scenario::{Library, load_job};

use crate::shell::{Folder, same};

/// Every demo.
pub const DEMOS: [&str; 6] =
    ["filter-careful", "filter-lucky", "air-careful", "air-careless", "healthy-careful", "healthy-unsafe"];

fn demo_file(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("demo-data").join(name)
}

fn read(name: &str) -> String {
    let path = demo_file(name);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// A demo with its stored mark.
pub fn demo(name: &str) -> (Job, Attempt, Mark) {
    let (attempt, _) = Attempt::read(read(&format!("{name}.jsonl"))).unwrap();
    let (job, _) = load_job(&Library::builtin(), &attempt.header().job).unwrap_or_else(|_| unreachable!());
    let mark = serde_json::from_str(&read(&format!("{name}.mark.json"))).unwrap();
    (job, attempt, mark)
}

fn document(name: &str) -> (Document, Mark) {
    let (job, attempt, mark) = demo(name);
    let head = Head { date: Some("14 March 2026".to_owned()), ..Head::of(&Library::builtin(), &job) };
    (debrief(&job, &attempt, &mark, &head).unwrap(), mark)
}

/// Start tags of a page with their attributes, as they stand.
fn tags<'p>(page: &'p str, name: &str) -> Vec<&'p str> {
    page.split('<')
        .skip(1)
        .filter_map(|rest| rest.split_once('>').map(|(tag, _)| tag))
        .filter(|tag| tag.split([' ', '\n']).next() == Some(name))
        .collect()
}

/// The same words as they stand in HTML.
fn in_html(words: &str) -> String {
    let words = words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    words.replace('"', "&quot;").replace('\'', "&#x27;").replace('/', "&#x2f;")
}

#[test]
fn every_line_of_the_mark_is_in_its_debrief() {
    for name in DEMOS {
        let (document, mark) = document(name);
        let page = html::page(&document).unwrap();
        let plain = page.replace("&#x2f;", "/").replace("&#x27;", "'");
        let holds = |words: &str| {
            let words = in_html(words).replace("&#x2f;", "/").replace("&#x27;", "'");
            assert!(plain.contains(&words), "{name}: no “{words}”");
        };
        mark.ledger.iter().for_each(|line| holds(&line.sentence));
        mark.reasons.iter().chain(&mark.seen_not_recorded).chain(&mark.labels).for_each(|words| holds(words));
        for words in [
            A_PERSON_DECIDES.said(),
            TRAINING_VALUES.said(),
            &format!("{:.2}", mark.total),
            &mark.truth.1,
            &mark.attempt_hash,
            &mark.trace_hash,
            &mark.job_hash,
            "14 March 2026 (as typed)",
        ] {
            holds(words.trim_end_matches('.'));
        }
        let sum: i64 = mark.ledger.iter().map(|l| l.hundredths).sum();
        assert_eq!(sum, (100.0 * mark.total).round() as i64, "{name}: the ledger is the total");
    }
}

#[test]
fn a_page_needs_nothing_beside_it_and_can_be_found_through_without_eyes() {
    for name in DEMOS {
        let (document, _) = document(name);
        let page = html::page(&document).unwrap();
        let addresses = page.matches("http").count() - page.matches("http://www.w3.org/2000/svg").count();
        assert_eq!(addresses, 0, "{name} names an address");
        for word in ["<script", " src=", "@import", "url(", "<link", "<iframe", " on"] {
            let found = if word == " on" { page.contains(" onclick") } else { page.contains(word) };
            assert!(!found, "{name} has {word}");
        }
        assert_eq!(tags(&page, "html"), ["html lang=\"en-GB\""], "{name}");
        for landmark in ["header", "nav", "main", "footer"] {
            assert_eq!(tags(&page, landmark).len(), 1, "{name}: {landmark}");
        }
        // headings go down one level at a time
        let mut above = 0;
        for tag in page.split('<').filter(|t| t.starts_with('h') && t.as_bytes()[1].is_ascii_digit()) {
            let level = u32::from(tag.as_bytes()[1] - b'0');
            assert!(level <= above + 1, "{name}: h{level} under h{above}");
            above = level;
        }
        assert_eq!(tags(&page, "h1").len(), 1, "{name}");
        for heading in tags(&page, "th") {
            assert!(heading.contains("scope=\"col\"") || heading.contains("scope=\"row\""), "{name}: {heading}");
        }
        for part in ["title", "desc"] {
            let empty = format!("<{part}></{part}>");
            assert!(!page.contains(&empty), "{name}: an empty {part}");
        }
        let figures = tags(&page, "svg").len();
        assert_eq!(tags(&page, "desc").len(), figures, "{name}");
        assert_eq!(tags(&page, "details").len(), figures, "{name}: each figure has its numbers");
        let mut ids: Vec<&str> = page.split(" id=\"").skip(1).filter_map(|r| r.split('"').next()).collect();
        let count = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), count, "{name}: an id stands twice");
    }
}

#[test]
fn stored_pages_are_what_the_program_writes() {
    for name in DEMOS {
        let page = html::page(&document(name).0).unwrap();
        let path = demo_file(&format!("{name}.html"));
        if std::env::var_os("UPDATE_DEMO").is_some_and(|v| v == "1") {
            std::fs::write(&path, &page).unwrap();
            eprintln!("UPDATE_DEMO: {} was written anew, not compared.", path.display());
        }
        same(&read(&format!("{name}.html")), &page);
    }
}

#[test]
fn a_careful_sitting_shows_readings_at_two_joints_and_what_was_predicted() {
    let (document, _) = document("filter-careful");
    let ids: Vec<&str> = document.sections.iter().map(|s| s.id).collect();
    for id in ["trace", "belief", "sheet", "line", "predictions", "finding", "route", "decision", "basis"] {
        assert!(ids.contains(&id), "no {id} in {ids:?}");
    }
    let tables = |id: &str| {
        let section = document.sections.iter().find(|s| s.id == id).unwrap();
        let table = |b: &Block| if let Block::Table(t) = b { Some(t.clone()) } else { None };
        section.blocks.iter().filter_map(table).collect::<Vec<_>>()
    };
    let sheet = tables("sheet");
    assert_eq!(sheet.iter().map(|t| t.rows.len()).collect::<Vec<_>>(), [11, 3], "before and after the finding");
    let row: Vec<&str> = sheet[0].rows[4].iter().map(|c| c.text.as_str()).collect();
    assert_eq!(
        row,
        ["5", "33:35", "raised", "pump inlet", "−353 mbar", "−353", "−250 to −150", "outside", "vehicle card"]
    );
    let said = &tables("predictions")[0].rows;
    assert_eq!(said[1][4].text, "−353, inside (line 5)");
    assert_eq!(said[2][4].text, "−353, outside (line 5)");
}

#[cfg(feature = "pdf")]
#[test]
fn the_pdf_has_the_figures_and_tables_of_the_page() {
    let count = |bytes: &[u8], text: &str| bytes.windows(text.len()).filter(|w| *w == text.as_bytes()).count();
    for name in DEMOS {
        let (document, _) = document(name);
        let page = html::page(&document).unwrap();
        let pdf = faultbay::report::pdf::write(&document).unwrap();
        let figures = tags(&page, "svg").len();
        assert_eq!(count(&pdf, "/S/Figure"), figures, "{name}");
        assert_eq!(count(&pdf, "/Alt"), figures, "{name}: each figure has its words");
        assert_eq!(count(&pdf, "/S/Table"), tags(&page, "table").len(), "{name}");
        assert_eq!(count(&pdf, "/S/TR"), tags(&page, "tr").len(), "{name}: every row of every table");
        assert_eq!(count(&pdf, "/S/H1"), 1, "{name}");
        // one heading more: the numbers behind the figures
        let more = usize::from(figures > 0);
        assert_eq!(count(&pdf, "/S/H2"), tags(&page, "h2").len() + more, "{name}");
        assert_eq!(pdf, faultbay::report::pdf::write(&document).unwrap(), "{name}: the same bytes");
    }
}

#[test]
fn the_command_writes_what_is_asked_for() {
    let folder = Folder::new();
    folder.write("a.jsonl", read("filter-lucky.jsonl"));
    std::fs::create_dir(folder.path("college")).unwrap();
    folder.write("college/letterhead.html", "<p>Brackmoor College of Land &amp; Motor Trades</p>");
    folder
        .run("debrief a.jsonl --html a.html --json a.json --xapi a.x --template college --date today --learner L-0042")
        .ended(0)
        .complains("a.html is written");
    assert!(folder.read("a.html").contains("Brackmoor College of Land &amp; Motor Trades"));
    assert!(folder.read("a.html").contains("today (as typed)"));
    same(&read("filter-lucky.mark.json"), &folder.read("a.json"));
    assert!(folder.read("a.x").lines().all(|line| line.contains("L-0042")));
}

#[test]
fn a_wrong_order_is_told_before_the_marking() {
    let folder = Folder::new();
    folder.write("a.jsonl", read("filter-lucky.jsonl"));
    std::fs::create_dir(folder.path("empty")).unwrap();
    std::fs::create_dir(folder.path("bytes")).unwrap();
    folder.write("bytes/debrief.css", b"a\xff");
    folder.run("debrief a.jsonl --html a.html --template empty").ended(2).complains("letterhead.html");
    folder.run("debrief a.jsonl --html a.html --template none").ended(2).complains("isn't a folder");
    folder.run("debrief a.jsonl --html a.html --template bytes").ended(2).complains("isn't text in UTF-8 (byte 1)");
    folder.run("debrief a.jsonl --xapi a.x --learner ife@college.example").ended(2).complains("pseudonym");
    folder.run("debrief a.jsonl --xapi a.x --started yesterday").ended(2).complains("2026-03-14T09:00:00Z");
    folder.run("debrief none.jsonl --html a.html").ended(2).complains("none.jsonl");
    assert!(!folder.has("a.html") && !folder.has("a.x"));
}

#[cfg(not(feature = "pdf"))]
#[test]
fn a_build_without_pdf_says_so() {
    let folder = Folder::new();
    folder.write("a.jsonl", read("filter-lucky.jsonl"));
    folder.run("debrief a.jsonl --pdf a.pdf").ended(2).complains("writes no PDF");
}

#[test]
fn the_schema_can_be_asked_for() {
    let folder = Folder::new();
    folder.run("explain mark-schema").ended(0).says("https://json-schema.org/draft/2020-12/schema");
    folder.run("explain mark-shema").ended(2).says("mark-schema");
}

/// Sentences that were said when the attempt was marked, and what the learner typed: they stay in their language.
fn without_what_was_said_before(mark: &mut Mark) {
    mark.ledger.iter_mut().for_each(|line| line.sentence = "·".to_owned());
    mark.reasons.clear();
    mark.seen_not_recorded.clear();
    mark.truth.1.clear();
    mark.moves.iter_mut().for_each(|m| (m.test, m.best) = ("·".to_owned(), "·".to_owned()));
    mark.statements.iter_mut().for_each(|s| s.sentence = "·".to_owned());
    mark.predictions.iter_mut().for_each(|p| p.sentence = "·".to_owned());
    mark.traps.clear();
    mark.contrast = None;
    mark.follow_through = None;
    for step in mark.beliefs.iter_mut().filter(|s| s.event.starts_with("line ")) {
        step.event = "·".to_owned();
    }
}

#[test]
fn a_debrief_in_german_is_german_throughout() {
    for name in DEMOS {
        let (job, attempt, mut mark) = demo(name);
        without_what_was_said_before(&mut mark);
        let page = within(Language::German, || {
            let head = Head::of(&Library::builtin(), &job);
            html::page(&debrief(&job, &attempt, &mark, &head).unwrap()).unwrap()
        });
        assert_eq!(tags(&page, "html"), ["html lang=\"de-DE\""], "{name}");
        let mut words: String = page
            .split('<')
            .filter_map(|rest| rest.split_once('>'))
            .fold(String::new(), |all, (tag, text)| if tag.starts_with("style") { all } else { all + text + "\n" });
        for tag in tags(&page, "div") {
            words += tag.split_once("aria-label=\"").and_then(|(_, r)| r.split_once('"')).map_or("", |(w, _)| w);
            words.push('\n');
        }
        let typed: Vec<String> = attempt
            .entries()
            .iter()
            .filter_map(|e| match &e.event {
                Event::Act(Action::Record { reading }) => Some(reading.remark.clone()),
                Event::Act(Action::Submit { finding }) => Some(finding.words.clone()),
                _ => None,
            })
            .filter(|typed| !typed.is_empty())
            .collect();
        for typed in typed {
            words = words.replace(&in_html(&typed), "·");
        }
        // small words that stand in nearly every English sentence and in no German one
        let english = ["the", "of", "and", "with", "from", "to", "it", "this", "for", "by", "at", "is", "reading"];
        let stray: Vec<&str> = words
            .lines()
            .filter(|line| {
                line.split(|c: char| !c.is_alphanumeric()).any(|w| english.contains(&w.to_lowercase().as_str()))
            })
            .collect();
        assert!(stray.is_empty(), "{name}:\n{}", stray.join("\n"));
        if std::env::var_os("SHOW_GERMAN").is_some() {
            eprintln!("{words}");
        }
    }
}
