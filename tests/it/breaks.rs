//! A text whose brackets or quotes don't fit together: what else is told of it, and what isn't.

use faultbay::diag::id;
use faultbay::scenario::{self, Kind, Library};

/// A break doesn't hide the mistakes before it.
#[test]
fn what_stands_before_a_break_is_told_with_it() {
    let library = Library::builtin();
    let text = library.text(Kind::Job, "bypass-puff").unwrap().to_owned();
    let broken = |wrong: &[(&str, &str)]| {
        let mut text = text.clone();
        for (from, to) in wrong {
            assert!(text.contains(from), "{from}");
            text = text.replacen(from, to, 1);
        }
        let report = scenario::check_text(None, "bypass-puff.ron", &text, &library);
        let ids: Vec<&str> = report.diagnostics().iter().filter(|d| d.is_error()).map(|d| d.id.name).collect();
        ids.join(" ")
    };
    let three = [
        ("minutes: 40", "minuts: 40"),
        ("plant: \"a1-van\"", "plant: \"a1van\""),
        ("mode: practice", "mode: practise"),
    ];
    // a bracket, a quote, the last bracket of the file
    for broken_at in [("hidden: [", "hidden: "), ("questions: [", "questions: [\"")] {
        let with: Vec<(&str, &str)> = three.iter().copied().chain([broken_at]).collect();
        assert_eq!(broken(&with), "unknown-field unknown-word unknown-plant syntax", "{broken_at:?}");
        assert_eq!(broken(&[broken_at]), "syntax");
    }
}

/// Whatever bracket or quote of a sound file is lost: where the text breaks, nothing else is blamed on the author than that.
#[test]
fn a_break_in_a_sound_file_is_all_that_is_told() {
    let library = Library::builtin();
    let mut breaks = 0;
    for kind in Kind::ALL {
        for name in library.names(kind).into_iter().step_by(3) {
            let (file, text) = library.entry(kind, &name).unwrap();
            let signs = text.match_indices(['(', ')', '[', ']', '"']).map(|(at, _)| at);
            for at in signs.step_by(11) {
                let cut = format!("{}{}", &text[..at], &text[at + 1..]);
                let report = scenario::check_text(Some(kind), file, &cut, &library);
                if !report.diagnostics().iter().any(|d| d.id == id::SYNTAX) {
                    // it still reads, as something else
                    continue;
                }
                breaks += 1;
                assert_eq!(report.errors(), 1, "{file}, byte {at}\n{report}");
            }
        }
    }
    assert!(breaks > 300, "only {breaks}");
}
