//! Properties of the record: cuts, flips, swaps and forgeries.

use proptest::prelude::*;

use super::*;
use crate::bay::action::{Action, SECOND};
use crate::bay::words::tests::action;

fn header() -> Header {
    Header {
        job: "monday-morning".to_owned(),
        job_hash: "0123456789abcdef".to_owned(),
        seed: u64::MAX,
        engine: env!("CARGO_PKG_VERSION").to_owned(),
        name: Some("Ä. Müller \"at\" bay 3".to_owned()),
    }
}

/// A record of these events and its text.
fn record(events: &[(u64, Event)]) -> (Attempt, String) {
    let (mut attempt, line) = Attempt::begin(header());
    let mut text = line + "\n";
    for (at, event) in events {
        text += &attempt.push(Entry { at: *at, event: event.clone() }).unwrap();
        text.push('\n');
    }
    (attempt, text)
}

fn short() -> (Attempt, String) {
    record(&[
        (0, Event::Act(Action::Look { part: "filter".to_owned() })),
        (SECOND, Event::Tick),
        (SECOND, Event::Act(Action::Crank { secs: 8.0 })),
        (9 * SECOND, Event::Act(Action::Ask { question: "since when – “ü”".to_owned() })),
    ])
}

#[track_caller]
fn refused(text: impl AsRef<[u8]>, kind: Kind, line: usize) -> AttemptError {
    let error = Attempt::read(text).expect_err("the file was accepted");
    assert_eq!((error.kind, error.line), (kind, line), "{error}");
    assert!(!error.expected.is_empty() && error.advice.ends_with('.'), "{error}");
    error
}

/// Lines with a chain that holds, whatever they say.
fn chained(bodies: &[&str]) -> String {
    let mut text = String::new();
    let mut hash = String::new();
    for body in bodies {
        let (line, next) = super::chain::seal(&hash, body);
        text = text + &line + "\n";
        hash = next;
    }
    text
}

fn events() -> impl Strategy<Value = Vec<(u64, Event)>> {
    let event = prop_oneof![4 => action().prop_map(Event::Act), 1 => Just(Event::Tick)];
    prop::collection::vec((0..3 * SECOND, event), 0..12).prop_map(|mut list| {
        let mut now = 0;
        for (at, _) in &mut list {
            now += *at;
            *at = now;
        }
        list
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn what_was_written_is_read(events in events()) {
        let (attempt, text) = record(&events);
        prop_assert_eq!(attempt.text(), text.clone());
        prop_assert_eq!(Attempt::read(&text), Ok((attempt, vec![])));
    }

    #[test]
    fn a_cut_at_any_byte_loses_at_most_the_last_event(events in events()) {
        let (attempt, text) = record(&events);
        let first_line = text.find('\n').unwrap();
        for cut in 0..text.len() {
            let part = &text.as_bytes()[..cut];
            if cut < first_line {
                refused(part, Kind::NotAnAttempt, 1);
                continue;
            }
            let whole = part.iter().filter(|&&b| b == b'\n').count();
            let (read, warnings) = Attempt::read(part).unwrap();
            prop_assert!(read.entries().len() + 1 >= whole);
            prop_assert_eq!(&read, &attempt.first(read.entries().len()));
            // what a rim keeps of the file is the text of what was read
            let kept = match &warnings[..] {
                [] => String::from_utf8(part.to_vec()).unwrap(),
                [Warning::TornLine { keep, .. }] => text[..*keep].to_owned(),
                [Warning::NoLineEnd { keep, .. }] => text[..*keep].to_owned() + "\n",
                other => panic!("{other:?}"),
            };
            prop_assert_eq!(kept, read.text());
            // zero bytes after the cut, as a file system may leave them
            let padded = [part, &[0; 7]].concat();
            prop_assert_eq!(Attempt::read(padded).unwrap().0, read);
        }
    }

    #[test]
    fn a_flipped_byte_anywhere_is_noticed_or_changes_nothing(events in events(), with in 1_u8..=255) {
        let (attempt, text) = record(&events);
        for i in 0..text.len() {
            let mut bytes = text.clone().into_bytes();
            bytes[i] ^= with;
            if let Ok((read, _)) = Attempt::read(&bytes) {
                prop_assert_eq!(&read, &attempt, "byte {} of {}", i, text);
            }
        }
    }

    #[test]
    fn no_file_is_a_disaster(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = Attempt::read(&bytes);
        let mut text = short().1.into_bytes();
        text.extend(bytes);
        let _ = Attempt::read(&text);
    }

    #[test]
    fn going_on_with_a_record_continues_its_chain(events in events(), at in any::<prop::sample::Index>()) {
        let (whole, text) = record(&events);
        let count = at.index(events.len() + 1);
        let (mut part, _) = Attempt::read(whole.first(count).text()).unwrap();
        let mut grown = part.text();
        for (at, event) in &events[count..] {
            grown = grown + &part.push(Entry { at: *at, event: event.clone() }).unwrap() + "\n";
        }
        prop_assert_eq!(grown, text);
        prop_assert_eq!(part, whole);
    }
}

#[test]
fn every_single_bit_of_a_short_file_counts() {
    let (attempt, text) = short();
    let mut accepted = 0;
    for i in 0..text.len() {
        for bit in 0..8 {
            let mut bytes = text.clone().into_bytes();
            bytes[i] ^= 1 << bit;
            if let Ok((read, _)) = Attempt::read(&bytes) {
                assert_eq!(read, attempt, "bit {bit} of byte {i}");
                accepted += 1;
            }
        }
    }
    // nothing but the last line end may be lost without an error
    assert!(accepted <= 8, "{accepted}");
}

#[test]
fn lines_removed_doubled_and_moved_are_found() {
    let (_, text) = short();
    let lines: Vec<&str> = text.lines().collect();
    let with = |order: &[usize]| order.iter().map(|&i| lines[i].to_owned() + "\n").collect::<String>();
    refused(with(&[0, 2, 3, 4]), Kind::Order, 2);
    refused(with(&[0, 1, 3, 4]), Kind::Order, 3);
    refused(with(&[0, 1, 1, 2, 3, 4]), Kind::Order, 3);
    refused(with(&[0, 2, 1, 3, 4]), Kind::Order, 2);
    refused(with(&[1, 2, 3, 4]), Kind::NotAnAttempt, 1);
    refused(with(&[0, 1, 2, 3, 4]) + "\n", Kind::Changed, 6);
    // the last lines may be missing: that is a shorter attempt
    assert_eq!(Attempt::read(with(&[0, 1, 2])).unwrap().0.entries().len(), 2);
}

#[test]
fn an_edited_value_is_found_at_its_line() {
    let (_, text) = short();
    let edited = text.replace("\"secs\":8.0", "\"secs\":9.0");
    assert_ne!(edited, text);
    let error = refused(edited, Kind::Changed, 4);
    assert!(error.to_string().contains("changed"), "{error}");
    refused(text.replace("monday", "sunday"), Kind::Changed, 1);
    refused(text.replace("Müller", "Meyer"), Kind::Changed, 1);
    // with a new hash on the line itself, the next line tells
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let (body, _) = super::chain::unseal(&lines[3]).unwrap();
    let before = super::chain::unseal(&lines[2]).unwrap().1.to_owned();
    lines[3] = super::chain::seal(&before, &body.replace("8.0", "9.0")).0;
    refused(lines.join("\n") + "\n", Kind::Changed, 5);
}

#[test]
fn line_ends_of_another_system_do_no_harm() {
    let (attempt, text) = short();
    assert_eq!(Attempt::read(text.replace('\n', "\r\n")), Ok((attempt, vec![])));
}

#[test]
fn strangers_and_later_versions_are_named() {
    for text in
        ["hello\n", "{}\n", "{\"format\":\"other\",\"version\":1}\n", "\u{feff}x", "[[[[", "null\n", "\0\0\n"]
    {
        refused(text, Kind::NotAnAttempt, 1);
    }
    refused("", Kind::NotAnAttempt, 1);
    refused([0xff, 0xfe, b'\n'], Kind::NotAnAttempt, 1);
    refused("[".repeat(LONGEST_LINE + 1) + "\n", Kind::NotAnAttempt, 1);
    refused("{\"format\":\"faultbay-attempt\",\"version\":2,\"more\":[]}\n", Kind::Version, 1);
    let engine = Header { engine: "0.0.1".to_owned(), ..header() };
    let (_, line) = Attempt::begin(engine);
    let (_, warnings) = Attempt::read(line + "\n").unwrap();
    assert_eq!(warnings, [Warning::OtherEngine { found: "0.0.1".to_owned() }]);
}

#[test]
fn a_chain_that_holds_does_not_excuse_nonsense() {
    let header = r#"{"format":"faultbay-attempt","version":1,"job":"j","job_hash":"h","seed":"1","engine":"0"}"#;
    assert!(Attempt::read(chained(&[header, r#"{"n":1,"at":5,"tick":true}"#])).is_ok(), "the test's own lines");
    let day = 24 * 3600 * SECOND;
    for (body, kind) in [
        (r#"{"n":1,"at":-5,"tick":true}"#.to_owned(), Kind::Changed),
        (r#"{"n":1,"at":5.5,"tick":true}"#.to_owned(), Kind::Changed),
        (format!(r#"{{"n":1,"at":{},"tick":true}}"#, 31 * day), Kind::Time),
        (r#"{"n":1,"at":18446744073709551616,"tick":true}"#.to_owned(), Kind::Changed),
        (r#"{"n":2,"at":5,"tick":true}"#.to_owned(), Kind::Order),
        (r#"{"n":1,"at":5,"tick":false}"#.to_owned(), Kind::Changed),
        (r#"{"n":1,"at":5}"#.to_owned(), Kind::Changed),
        (r#"{"n":1,"at":5,"act":{"do":"purge"},"tick":true}"#.to_owned(), Kind::Changed),
        (r#"{"n":1,"at":5,"act":{"do":"juggle"}}"#.to_owned(), Kind::Changed),
        (r#"{"n":1,"at":5,"act":{"do":"purge","well":1}}"#.to_owned(), Kind::Changed),
        (r#"{"n":1,"at":5,"act":{"do":"crank","secs":1e999}}"#.to_owned(), Kind::Changed),
        (r#"{"n":1,"at":5,"act":{"do":"crank","secs":null}}"#.to_owned(), Kind::Changed),
        (r#"{"n":1, "at":5,"tick":true}"#.to_owned(), Kind::Changed),
        (format!(r#"{{"n":1,"at":5,"act":{}}}"#, "[".repeat(5000)), Kind::Changed),
        (format!(r#"{{"n":1,"at":5,"act":{{"do":"look","part":"{}"}}}}"#, "x".repeat(LONGEST_LINE)), Kind::Limit),
    ] {
        refused(chained(&[header, &body]), kind, 2);
    }
    let (a, b) = (r#"{"n":1,"at":5,"tick":true}"#, r#"{"n":2,"at":4,"tick":true}"#);
    refused(chained(&[header, a, b]), Kind::Time, 3);
    for header in [
        r#"{"format":"faultbay-attempt","version":1,"job":"j","job_hash":"h","seed":"-1","engine":"0"}"#,
        r#"{"format":"faultbay-attempt","version":1,"job":"j","job_hash":"h","seed":"01","engine":"0"}"#,
        r#"{"format":"faultbay-attempt","version":1,"job":"j","job_hash":"h","seed":"1","engine":"0","extra":1}"#,
        r#"{"format":"faultbay-attempt","version":1}"#,
    ] {
        refused(chained(&[header]), Kind::Changed, 1);
    }
}

#[test]
fn too_large_a_file_is_refused_before_it_is_read() {
    refused(vec![b'x'; MOST_BYTES + 1], Kind::Limit, 1);
}

#[test]
fn what_cannot_be_written_down_is_not_added() {
    let (mut attempt, _) = short();
    let before = attempt.clone();
    let act = |action| Entry { at: 10 * SECOND, event: Event::Act(action) };
    for entry in [
        act(Action::Crank { secs: f64::NAN }),
        act(Action::Valve { open: f64::INFINITY }),
        act(Action::Look { part: "x".repeat(LONGEST_LINE) }),
        Entry { at: 0, event: Event::Tick },
        Entry { at: LONGEST_TIME + 1, event: Event::Tick },
    ] {
        let why = attempt.push(entry).expect_err("it was added");
        assert!(!why.is_empty());
        assert_eq!(attempt, before);
    }
}
