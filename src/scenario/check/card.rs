//! The vehicle card and what is seen at parts.

use std::collections::{BTreeMap, BTreeSet};

use super::page::{LONGEST_LINE, LONGEST_TEXT, Page};
use crate::bay::action::State;
use crate::diag::{id, quotable};
use crate::plant::Plant;
use crate::scenario::model::{Candidate, Limit};
use crate::scenario::raw::{RawJob, RawLimit};
use crate::scenario::source::At;
use crate::units::GaugePressure;

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
        check_steps(page, here, limit);
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
        limits.push(line(limit, state));
    }
    limits
}

fn line(limit: &RawLimit, state: State) -> Limit {
    Limit {
        joint: limit.joint.clone(),
        state,
        low_mbar: limit.low.mbar(),
        high_mbar: limit.high.mbar(),
        investigate_mbar: limit.investigate.map(GaugePressure::mbar),
        act_mbar: limit.act.map(GaugePressure::mbar),
        words: limit.words.clone(),
    }
}

/// The lines of a card that was checked before.
pub(super) fn lines(raw: &[RawLimit]) -> Vec<Limit> {
    let state = |l: &RawLimit| State::ALL.into_iter().find(|s| s.word() == l.state);
    raw.iter().filter_map(|l| Some(line(l, state(l)?))).collect()
}

/// "Investigate" lies outside the healthy range, "act" further off on the same side.
fn check_steps(page: &mut Page<'_>, at: At<'_>, limit: &RawLimit) {
    let (low, high) = (limit.low.mbar(), limit.high.mbar());
    let mut edge = [low, high];
    for (field, step) in [("investigate", limit.investigate), ("act", limit.act)] {
        let Some(step) = step.map(GaugePressure::mbar) else { continue };
        if step > edge[0] && step < edge[1] {
            let message = format!("{field:?} at {step} mbar isn't beyond {} … {} mbar", edge[0], edge[1]);
            page.say(
                page.at(id::LIMITS_REVERSED, at.field(field).span(), message)
                    .label("not further off")
                    .help("first comes the healthy range, then \"investigate\", then \"act\""),
            );
        }
        // the next step must be further off on this side
        edge = if step <= low { [step, f64::INFINITY] } else { [f64::NEG_INFINITY, step] };
    }
}

/// Joints for which the card has no range in some state, all in one warning.
pub(super) fn card_gaps(page: &mut Page<'_>, at: At<'_>, limits: &[Limit], plant: &Plant) {
    let mut gaps: Vec<(String, String)> = vec![];
    for (joint, _) in plant.joints() {
        let missing: Vec<&str> = State::EVERY_CARD
            .into_iter()
            // no range for the dead-head means: not on this vehicle, or not here
            .filter(|s| *s != State::DeadHead && !limits.iter().any(|l| l.joint == joint && l.state == *s))
            .map(State::word)
            .collect();
        if !missing.is_empty() {
            gaps.push((missing.join(", "), joint));
        }
    }
    if gaps.is_empty() {
        return;
    }
    // joints that lack the same stand together
    let mut lacks: Vec<(&str, Vec<String>)> = vec![];
    for (missing, joint) in &gaps {
        match lacks.iter_mut().find(|(same, _)| same == missing) {
            Some((_, joints)) => joints.push(format!("{joint:?}")),
            None => lacks.push((missing, vec![format!("{joint:?}")])),
        }
    }
    let told: Vec<String> =
        lacks.into_iter().map(|(missing, joints)| format!("at {} for: {missing}", joints.join(", "))).collect();
    page.say(
        page.at(id::CARD_GAPS, at.head(), format!("the vehicle card has no range {}", told.join("; ")))
            .label("no such entry here")
            .help("a learner can't judge a reading that has no limit"),
    );
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
