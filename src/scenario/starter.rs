//! Files to begin with: a whole, commented job, plant, rubric or course that passes the check at once.
//!
//! Each is written in every language that people choose: what a learner reads is the author's own language, and whoever
//! writes in German begins with German sentences. Fields, names and words of files are the same in all of them.

use super::Kind;
use crate::language::{Language, capital, spoken};

/// Sentences of the starters that only say what belongs there. The check tells whoever left one.
pub const PLACEHOLDERS: [&str; 16] = [
    "Say here what the customer says.",
    "What the learner should take away",
    "What leads astray",
    "Where to look or what to compare, without the answer",
    // what stood there before, in files that somebody has begun with
    "What grows with the flow, and what is there at rest?",
    "Say for whom it is, and what they can do afterwards.",
    UNTITLED,
    WHOSE,
    ANSWER,
    "Hier sagt der Kunde, was ihm auffällt.",
    "Was der Lernende mitnehmen soll",
    "Was auf eine falsche Fährte führt",
    "Wo man hinsehen oder was man vergleichen soll, ohne die Antwort",
    "Was wächst mit dem Durchfluss, und was ist im Stillstand schon da?",
    "Für wen er ist, und was sie danach können.",
    OHNE_TITEL,
];
const UNTITLED: &str = "Untitled";
const OHNE_TITEL: &str = "Ohne Titel";
/// The customer, where a starter can't know who drives such a vehicle.
pub const WHOSE: &str = "Whose vehicle";
/// An answer of theirs, where a starter can't know what they would say.
pub const ANSWER: &str = "What the customer answers";

/// Whether a text only says what belongs in its place: one of the starters', or one in square brackets, as a job made from
/// a recording has them.
pub fn is_placeholder(text: &str) -> bool {
    let text = text.trim();
    PLACEHOLDERS.contains(&text) || text.starts_with('[') && text.contains(']')
}

/// A text of each kind: job, plant, rubric, course.
struct Texts {
    of: [&'static str; 4],
    untitled: &'static str,
}

const ENGLISH: Texts = Texts {
    of: [
        include_str!("starters/en/job.ron"),
        include_str!("starters/en/plant.ron"),
        include_str!("starters/en/rubric.ron"),
        include_str!("starters/en/course.ron"),
    ],
    untitled: UNTITLED,
};
const GERMAN: Texts = Texts {
    of: [
        include_str!("starters/de/job.ron"),
        include_str!("starters/de/plant.ron"),
        include_str!("starters/de/rubric.ron"),
        include_str!("starters/de/course.ron"),
    ],
    untitled: OHNE_TITEL,
};

/// The text of a starter in the language spoken. `name` becomes its title; whatever a title can't hold is left out.
pub fn starter(kind: Kind, name: &str) -> String {
    let texts = match spoken() {
        Language::German => &GERMAN,
        Language::English | Language::Stretched | Language::Mirrored => &ENGLISH,
    };
    let [job, plant, rubric, course] = texts.of;
    let text = match kind {
        Kind::Job => job,
        Kind::Plant => plant,
        Kind::Rubric => rubric,
        Kind::Course => course,
    };
    let title: String = name.chars().filter(|c| c.is_alphanumeric() || " -_.".contains(*c)).take(80).collect();
    let title = title.replace(['-', '_'], " ");
    let title = if title.trim().is_empty() { texts.untitled } else { title.trim() };
    text.replace("{title}", &capital(title))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::within;
    use crate::scenario::source::Source;
    use crate::scenario::{Library, check_text, kind_of, patch};

    fn in_every_language(hold: impl Fn(Language)) {
        Language::ALL.into_iter().for_each(|language| within(language, || hold(language)));
    }

    #[test]
    fn every_starter_can_be_used_at_once_and_says_what_is_left_to_write() {
        let library = Library::builtin();
        in_every_language(|_| {
            for kind in Kind::ALL {
                for name in ["a-hard-start", "", "\"); hidden: [", "Ärger am Morgen"] {
                    let text = starter(kind, name);
                    assert_eq!(kind_of(&text), Some(kind));
                    let report = check_text(Some(kind), "new.ron", &text, &library);
                    assert!(!report.has_errors(), "{kind:?} {name:?}\n{report}");
                    let left = PLACEHOLDERS.iter().filter(|p| text.contains(&format!("\"{p}\""))).count();
                    let told = report.diagnostics().iter().filter(|d| d.id == crate::diag::id::PLACEHOLDER).count();
                    assert_eq!((told, report.warnings()), (left, left), "{kind:?} {name:?}\n{report}");
                    let nothing_left = kind == Kind::Rubric || kind == Kind::Plant && !name.is_empty();
                    assert_eq!(left == 0, nothing_left, "{kind:?} {name:?}");
                    let says_so = text.contains("raining values") || text.contains("bungswerte");
                    assert!(says_so || kind == Kind::Course || kind == Kind::Rubric);
                }
            }
        });
    }

    /// The same file in every language: only what people read differs.
    #[test]
    fn starters_of_all_languages_say_the_same() {
        for kind in Kind::ALL {
            let english = starter(kind, "x");
            let german = within(Language::German, || starter(kind, "x"));
            let (ours, theirs) = (patch::places(&english), patch::places(&german));
            assert_eq!(ours.len(), theirs.len(), "{kind:?}");
            for ((place, here), (other, there)) in ours.iter().zip(&theirs) {
                assert_eq!(place, other, "{kind:?}");
                assert!(
                    here == there || here.starts_with('"') && there.starts_with('"'),
                    "{place}: {here}, {there}"
                );
            }
            let remarks = |text: &str| text.lines().filter(|l| l.trim_start().starts_with("//")).count();
            assert_eq!(remarks(&english), remarks(&german), "{kind:?}");
            assert!(Source::scan(&german).is_ok());
        }
    }

    #[test]
    fn what_stands_in_square_brackets_is_still_to_be_written() {
        for text in ["[Whose vehicle]", " [Title] Light van", WHOSE, "Ohne Titel"] {
            assert!(is_placeholder(text), "{text}");
        }
        for text in ["Stands [see the picture] on a slope", "Whose vehicle is it?", "", "[", "Light van"] {
            assert!(!is_placeholder(text), "{text}");
        }
    }
}
