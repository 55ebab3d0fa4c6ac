//! Files to begin with: a whole, commented job, plant, rubric or course that passes the check at once.

use super::Kind;

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
    let title = if title.trim().is_empty() { "Untitled" } else { title.trim() };
    text.replace("{title}", title)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Library, check_text, kind_of};

    #[test]
    fn every_starter_passes_the_check_at_once() {
        let library = Library::builtin();
        for kind in Kind::ALL {
            for name in ["a-hard-start", "", "\"); hidden: [", "Ärger am Morgen"] {
                let text = starter(kind, name);
                assert_eq!(kind_of(&text), Some(kind));
                let report = check_text(Some(kind), "new.ron", &text, &library);
                assert!(report.is_empty(), "{kind:?} {name:?}\n{report}");
                assert!(text.contains("raining values") || kind == Kind::Course || kind == Kind::Rubric);
            }
        }
    }
}
