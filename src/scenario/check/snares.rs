//! How it is known that somebody stepped into a trap.

use super::page::Page;
use crate::bay::action::State;
use crate::diag::{id, quotable};
use crate::plant::Plant;
use crate::scenario::model::{Candidate, RULE_NAMES, Snare};
use crate::scenario::raw::{RawJob, RawSnare};
use crate::scenario::source::At;

pub(super) fn check_snares(
    page: &mut Page<'_>,
    at: At<'_>,
    raw: &RawJob,
    candidates: &[Candidate],
    plant: &Plant,
) -> Vec<Snare> {
    let traps = raw.traps.len();
    let each = raw.snares.iter().enumerate();
    each.map(|(i, snare)| {
        let here = at.item(i);
        if snare.trap == 0 || snare.trap as usize > traps {
            let has = match traps {
                0 => "the job has no traps".to_owned(),
                1 => "the job has one trap, number 1".to_owned(),
                n => format!("the job's traps have the numbers 1 to {n}"),
            };
            let at = here.field("trap");
            page.say(
                page.at(id::OUT_OF_RANGE, at.span(), format!("there is no trap {}", snare.trap))
                    .label(&has)
                    .instead_of(at.text(), has)
                    .help("it is the place of a sentence in \"traps\", counted from 1"),
            );
        }
        for (k, name) in snare.broken.iter().enumerate().filter(|(_, n)| !RULE_NAMES.contains(&n.as_str())) {
            let message = format!("no rule is called {:?}", quotable(name));
            page.say(
                page.at(id::UNKNOWN_WORD, here.field("broken").item(k).span(), message)
                    .label("not a rule of safety or procedure")
                    .among(name, RULE_NAMES),
            );
        }
        Snare {
            trap: (snare.trap as usize).saturating_sub(1).min(traps.saturating_sub(1)),
            named: named(page, here.field("named"), snare, candidates),
            replaced: replaced(page, here.field("replaced"), snare, plant),
            unread: unread(page, here.field("unread"), snare),
            broken: snare.broken.clone(),
        }
    })
    .collect()
}

fn named(page: &mut Page<'_>, at: At<'_>, snare: &RawSnare, candidates: &[Candidate]) -> Vec<usize> {
    let mut found = vec![];
    for (i, name) in snare.named.iter().enumerate() {
        match candidates.iter().position(|c| c.name == *name) {
            Some(k) => found.push(k),
            None => {
                let message = format!("no candidate is called {:?}", quotable(name));
                page.say(
                    page.at(id::UNKNOWN_CANDIDATE, at.item(i).span(), message)
                        .label("not on the sheet")
                        .among(name, candidates.iter().map(|c| c.name.clone())),
                );
            }
        }
    }
    found
}

fn replaced(page: &mut Page<'_>, at: At<'_>, snare: &RawSnare, plant: &Plant) -> Vec<String> {
    for (i, name) in snare.replaced.iter().enumerate().filter(|(_, name)| plant.part(name).is_none()) {
        let message = format!("no part is called {:?}", quotable(name));
        page.say(
            page.at(id::UNKNOWN_PART, at.item(i).span(), message)
                .label(format!("not in the plant {:?}", plant.name))
                .among(name, plant.parts.iter().map(|p| p.name.clone())),
        );
    }
    snare.replaced.clone()
}

fn unread(page: &mut Page<'_>, at: At<'_>, snare: &RawSnare) -> Vec<State> {
    let mut found = vec![];
    for (i, word) in snare.unread.iter().enumerate() {
        match State::ALL.into_iter().find(|s| s.word() == word) {
            Some(state) => found.push(state),
            None => {
                let message = format!("no state is called {:?}", quotable(word));
                page.say(
                    page.at(id::UNKNOWN_STATE, at.item(i).span(), message)
                        .label("not a state of the standard run")
                        .among(word, State::ALL.map(State::word)),
                );
            }
        }
    }
    found
}
