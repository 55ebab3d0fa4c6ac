//! A place of a file as people count: `candidates[0].vehicles[1].severity` is "candidate 1, vehicle 2, severity".

use crate::language::{Msg, named};
use crate::msg;

/// Lists of the files, and what one of them is called.
const LISTS: [(&str, Msg); 30] = [
    ("after", msg!("place-after")),
    ("also_right", msg!("place-also-right")),
    ("broken", msg!("place-broken")),
    ("candidates", msg!("place-candidates")),
    ("card", msg!("place-card")),
    ("codes", msg!("place-codes")),
    ("facts", msg!("place-facts")),
    ("goals", msg!("place-goals")),
    ("hidden", msg!("place-hidden")),
    ("hints", msg!("place-hints")),
    ("jobs", msg!("place-jobs")),
    ("limits", msg!("place-limits")),
    ("looks", msg!("place-looks")),
    ("named", msg!("place-named")),
    ("nodes", msg!("place-nodes")),
    ("one_of", msg!("place-one-of")),
    ("parts", msg!("place-parts")),
    ("pictures", msg!("place-pictures")),
    ("preliminaries", msg!("place-preliminaries")),
    ("questions", msg!("place-questions")),
    ("replaced", msg!("place-replaced")),
    ("snares", msg!("place-snares")),
    ("traps", msg!("place-traps")),
    ("unread", msg!("place-unread")),
    ("varies", msg!("place-varies")),
    ("vehicles", msg!("place-vehicles")),
    ("when", msg!("place-when")),
    ("with", msg!("place-with")),
    ("withheld", msg!("place-withheld")),
    ("words", msg!("place-words")),
];

/// The place in words; what isn't known stands as the file has it.
pub fn place_words(place: &str) -> String {
    let step = |step: &str| {
        let listed = step.strip_suffix(']').and_then(|s| s.split_once('['));
        let Some((list, i)) = listed else { return named(&step.replace('_', " ")).to_owned() };
        let words = LISTS.iter().find(|(name, _)| *name == list).map(|(_, words)| words.said());
        match (words, i.parse::<usize>()) {
            (Some(words), Ok(i)) => format!("{words} {}", i + 1),
            _ => step.to_owned(),
        }
    };
    place.split('.').map(step).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_counted_from_one_and_an_unknown_one_stays_as_it_is() {
        assert_eq!(place_words("candidates[0].vehicles[1].severity"), "candidate 1, vehicle 2, severity");
        assert_eq!(place_words("fuel_gauge"), "fuel gauge");
        assert_eq!(place_words("oddities[3]"), "oddities[3]");
        assert_eq!(place_words(""), "");
    }

    /// The manual is written from the tables that the parser reads: it knows every list.
    #[test]
    fn every_list_that_a_file_can_have_has_a_word() {
        let manual = crate::scenario::manual(&[]);
        let row = |line: &str| {
            let mut cells = line.split(" | ");
            let name = cells.next()?.strip_prefix("| `")?.strip_suffix('`')?.to_owned();
            cells.next()?.starts_with("list").then_some(name)
        };
        let all: Vec<String> = manual.lines().filter_map(row).collect();
        assert!(all.len() > 20, "{all:?}");
        for list in all {
            assert!(LISTS.iter().any(|(name, _)| *name == list), "{list}");
        }
    }
}
