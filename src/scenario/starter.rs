//! Files to begin with: a whole, commented job, plant, rubric or course that passes the check at once.

use super::Kind;
use crate::language::capital;

/// Sentences of the starters that only say what belongs there. The check tells whoever left one.
pub const PLACEHOLDERS: [&str; 5] = [
    "Say here what the customer says.",
    "What the learner should take away",
    "What leads astray",
    "Say for whom it is, and what they can do afterwards.",
    UNTITLED,
];
const UNTITLED: &str = "Untitled";

/// The text of a starter. `name` becomes its title; whatever a title can't hold is left out.
pub fn starter(kind: Kind, name: &str) -> String {
    let text = match kind {
        Kind::Job => include_str!("starters/job.ron"),
        Kind::Plant => include_str!("starters/plant.ron"),
        Kind::Rubric => include_str!("starters/rubric.ron"),
        Kind::Course => include_str!("starters/course.ron"),
    };
    let title: String = name.chars().filter(|c| c.is_alphanumeric() || " -_.".contains(*c)).take(80).collect();
    let title = title.replace(['-', '_'], " ");
    let title = if title.trim().is_empty() { UNTITLED } else { title.trim() };
    text.replace("{title}", &capital(title))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Library, check_text, kind_of};

    #[test]
    fn every_starter_can_be_used_at_once_and_says_what_is_left_to_write() {
        let library = Library::builtin();
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
                assert!(text.contains("raining values") || kind == Kind::Course || kind == Kind::Rubric);
            }
        }
    }
}
