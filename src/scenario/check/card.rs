//! The vehicle card and what is seen at parts.

use std::collections::{BTreeMap, BTreeSet};

use super::page::{LONGEST_LINE, LONGEST_TEXT, Page};
use crate::bay::action::State;
use crate::diag::{id, quotable};
use crate::plant::Plant;
use crate::scenario::model::{Candidate, Limit};
use crate::scenario::raw::{RawJob, RawLimit};
use crate::scenario::source::At;

pub(super) fn check_limits(page: &mut Page<'_>, at: At<'_>, raw: &[RawLimit], plant: &Plant) -> Vec<Limit> {
    let mut limits: Vec<Limit> = Vec::new();
    let mut seen: BTreeMap<(&str, State), usize> = BTreeMap::new();
    for (i, limit) in raw.iter().enumerate() {
        let here = at.item(i);
        if !limit.words.is_empty() {
            page.text(here.field("words"), "the condition", &limit.words, LONGEST_LINE);
        }
        if plant.node(&limit.joint).is_none_or(|n| n.joint.is_none()) {
            let mut diagnostic = page
                .at(
                    id::UNKNOWN_JOINT,
                    here.field("joint").span(),
                    format!("no joint is called {:?}", quotable(&limit.joint)),
                )
                .label(format!("not in the plant {:?}", plant.name))
                .among(&limit.joint, plant.joints().into_iter().map(|(name, _)| name));
            if plant.node(&limit.joint).is_some() {
                diagnostic.nearest = None;
                diagnostic = diagnostic.label("a node without a joint: the tee doesn't fit here");
            }
            page.say(diagnostic);
        }
        let (low, high) = (limit.low.mbar(), limit.high.mbar());
        if low > high {
            page.say(
                page.at(
                    id::LIMITS_REVERSED,
                    here.field("low").span(),
                    format!("the low end {low} mbar is above the high end {high} mbar"),
                )
                .label("low")
                .also(here.field("high").span(), "high")
                .help(
                    "below air pressure the larger number is the lower reading: mbar(-150) is lower than mbar(-40)",
                ),
            );
        }
        let Some(state) = State::ALL.into_iter().find(|s| s.word() == limit.state) else {
            page.say(
                page.at(
                    id::UNKNOWN_STATE,
                    here.field("state").span(),
                    format!("no state is called {:?}", quotable(&limit.state)),
                )
                .label("not a state of the standard run")
                .among(&limit.state, State::ALL.map(State::word)),
            );
            continue;
        };
        if let Some(&first) = seen.get(&(limit.joint.as_str(), state)) {
            page.say(
                page.at(
                    id::REPEATED_LIMIT,
                    here.head(),
                    format!("{} at {:?} has a range already", state.word(), limit.joint),
                )
                .label("again here")
                .also(at.item(first).head(), "first here"),
            );
        } else {
            seen.insert((&limit.joint, state), i);
        }
        if state == State::DeadHead && !limit.words.contains(|c: char| c.is_ascii_digit()) {
            page.say(
                page.at(
                    id::NO_CAUTION,
                    here.head(),
                    "the card allows the dead-head test without saying for how long",
                )
                .label("no time in \"words\"")
                .help("say it in \"words\", such as \"at idle, within 5 s, once a run\""),
            );
        }
        limits.push(Limit {
            joint: limit.joint.clone(),
            state,
            low_mbar: low,
            high_mbar: high,
            words: limit.words.clone(),
        });
    }
    limits
}

/// Joints for which the card has no range in some state.
pub(super) fn card_gaps(page: &mut Page<'_>, at: At<'_>, limits: &[Limit], plant: &Plant) {
    for (joint, _) in plant.joints() {
        let missing: Vec<&str> = State::EVERY_CARD
            .into_iter()
            .filter(|s| !limits.iter().any(|l| l.joint == joint && l.state == *s))
            .map(State::word)
            .collect();
        if !missing.is_empty() {
            let message = format!("the vehicle card has no range at {joint:?} for: {}", missing.join(", "));
            page.say(
                page.at(id::CARD_GAPS, at.head(), message)
                    .label("no such entry here")
                    .help("a learner can't judge a reading that has no limit"),
            );
        }
    }
}

pub(super) fn check_looks(page: &mut Page<'_>, at: At<'_>, raw: &RawJob, plant: &Plant) {
    for (i, look) in raw.looks.iter().enumerate() {
        page.text(at.item(i).field("sees"), "what is seen", &look.sees, LONGEST_TEXT);
        if plant.part(&look.part).is_none() && plant.node(&look.part).is_none_or(|n| n.joint.is_none()) {
            let known =
                plant.parts.iter().map(|p| p.name.clone()).chain(plant.joints().into_iter().map(|(name, _)| name));
            page.say(
                page.at(
                    id::UNKNOWN_PART,
                    at.item(i).field("part").span(),
                    format!("no part or joint is called {:?}", quotable(&look.part)),
                )
                .label(format!("not in the plant {:?}", plant.name))
                .among(&look.part, known),
            );
        }
    }
    page.unique(at, "part", "looks", raw.looks.iter().map(|l| l.part.as_str()));
}

/// Parts that a candidate blames and that show nothing when looked at.
pub(super) fn bare_parts(page: &mut Page<'_>, at: At<'_>, raw: &RawJob, candidates: &[Candidate], plant: &Plant) {
    let blamed: BTreeSet<&str> = candidates.iter().flat_map(|c| c.vehicles.iter().map(|b| b.at.as_str())).collect();
    let bare: Vec<&str> = plant
        .parts
        .iter()
        .map(|p| p.name.as_str())
        .filter(|name| blamed.contains(name) && !raw.looks.iter().any(|l| l.part == *name))
        .collect();
    if !bare.is_empty() {
        let message = format!("there is nothing to see at parts that a candidate blames: {}", bare.join(", "));
        page.say(
            page.at(id::NO_LOOK, at.head(), message)
                .label("no such entry here")
                .help("a look that shows nothing unusual is an answer too"),
        );
    }
}
