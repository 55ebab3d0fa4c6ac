//! Faults: that each exists, can sit where it should, and that hidden ones can be found.

use std::ops::Range;

use super::page::Page;
use crate::diag::{Diagnostic, id, quotable};
use crate::fault::{self, Fault, FaultInstance, KitFaults, Place};
use crate::plant::Plant;
use crate::plant::assemble::{Detail, Rig, assemble};
use crate::scenario::model::{Candidate, FaultBand};
use crate::scenario::raw::{RawBand, RawFault};
use crate::scenario::source::At;

pub(super) fn check_band(page: &mut Page<'_>, at: At<'_>, band: &RawBand, plant: &Plant) -> Option<FaultBand> {
    let (low, high) = band.severity;
    let span = at.field("severity").span();
    let good = (1.0..=5.0).contains(&low) && (1.0..=5.0).contains(&high);
    if !good {
        page.say(
            page.at(id::SEVERITY, span.clone(), format!("the severities {low} … {high} aren't within 1 … 5"))
                .label("1 trace … 3 complaint … 5 no start"),
        );
    } else if low > high {
        page.say(
            page.at(
                id::SEVERITY,
                span.clone(),
                format!("the band of severity {low} … {high} is the wrong way round"),
            )
            .label("lower end first"),
        );
    }
    let place = check_place(page, at, &band.fault, &band.at, plant)?;
    let good = good && low <= high;
    good.then(|| FaultBand { fault: band.fault.clone(), at: place, severity: (low, high) })
}

/// Where a fault sits, as the name that the plant has for it. Empty in the tester's own kit.
fn check_place(page: &mut Page<'_>, at: At<'_>, code: &str, place: &str, plant: &Plant) -> Option<String> {
    let Some(fault) = fault::by_code(code) else {
        page.say(
            page.at(
                id::UNKNOWN_FAULT,
                at.field("fault").span(),
                format!("no fault has the code {:?}", quotable(code)),
            )
            .label("not in the catalogue")
            .among(code, fault::CATALOGUE.iter().map(|f| f.code)),
        );
        return None;
    };
    let span = if place.is_empty() { at.field("fault").span() } else { at.field("at").span() };
    let wrong = |label: String| {
        Diagnostic::new(
            id::FAULT_PLACE,
            page.file,
            span.clone(),
            format!("{code} ({}) can't sit {}", fault.name, spoken(place)),
        )
        .label(label)
    };
    let places = fault.places(plant);
    let elsewhere = plant
        .part(place)
        .map(|p| format!("this is a {}", p.is.kind()))
        .or_else(|| plant.node(place).map(|_| "this is a node".to_owned()));
    let trouble = match (fault.place, places.as_slice()) {
        (Place::Kit, _) if place.is_empty() => return Some(String::new()),
        (Place::Kit, _) => wrong("it sits in the tester's own kit".to_owned()).help("leave \"at\" out"),
        (Place::Part(kind), []) => wrong(format!("the plant {:?} has no {kind}", plant.name)),
        (Place::Part(_), [only]) if place.is_empty() => return proven(page, span, fault, only, plant),
        (Place::Part(kind), _) if place.is_empty() => {
            wrong(format!("there is more than one {kind}")).help("say which in \"at\"")
        }
        (Place::Node, _) if place.is_empty() => wrong("it needs a node".to_owned()).help("say where in \"at\""),
        _ if places.iter().any(|p| p == place) => return proven(page, span, fault, place, plant),
        (Place::Part(kind), _) => match elsewhere {
            Some(label) => wrong(label).help(format!("it sits at a {kind}")).among(place, &places),
            None => page
                .at(id::UNKNOWN_PART, span, format!("no part is called {:?}", quotable(place)))
                .label(format!("not in the plant {:?}", plant.name))
                .among(place, &places),
        },
        (Place::Node, _) => match elsewhere {
            Some(label) => wrong(label).help("it sits at a node, such as a joint").among(place, &places),
            None => page
                .at(id::UNKNOWN_NODE, span, format!("no node is called {:?}", quotable(place)))
                .label(format!("not in the plant {:?}", plant.name))
                .among(place, &places),
        },
    };
    page.say(trouble);
    None
}

fn spoken(place: &str) -> String {
    if place.is_empty() { "just anywhere".to_owned() } else { format!("at {:?}", quotable(place)) }
}

/// Puts the fault into a copy of the plant, mildest and worst, to be sure that it can be done.
fn proven(page: &mut Page<'_>, span: Range<usize>, fault: &Fault, place: &str, plant: &Plant) -> Option<String> {
    for severity in [1.0, 5.0] {
        let instance = FaultInstance::new(fault.code, place, severity);
        let mut sick = plant.clone();
        let done = fault
            .apply(&mut sick, &mut KitFaults::default(), &instance)
            .and_then(|()| assemble(&sick, &Rig::default(), Detail::COARSE).map(drop));
        if let Err(words) = done {
            let message = format!("{} ({}) can't sit at {place:?}", fault.code, fault.name);
            page.say(page.at(id::FAULT_PLACE, span, message).label(words));
            return None;
        }
    }
    Some(place.to_owned())
}

pub(super) fn check_hidden(
    page: &mut Page<'_>,
    at: At<'_>,
    raw: &[RawFault],
    candidates: &[Candidate],
    plant: &Plant,
) -> Vec<FaultInstance> {
    let mut hidden: Vec<FaultInstance> = Vec::new();
    let mut cause: Option<&str> = None;
    for (i, fault) in raw.iter().enumerate() {
        let here = at.item(i);
        let good = (1.0..=5.0).contains(&fault.severity);
        if !good {
            page.say(
                page.at(
                    id::SEVERITY,
                    here.field("severity").span(),
                    format!("the severity {} isn't within 1 … 5", fault.severity),
                )
                .label("1 trace … 3 complaint … 5 no start"),
            );
        }
        let Some(place) = check_place(page, here, &fault.fault, &fault.at, plant) else { continue };
        if hidden.iter().any(|h| h.fault == fault.fault && h.at == place) {
            page.say(
                page.at(
                    id::DUPLICATE_NAME,
                    here.head(),
                    format!("{} is hidden twice at the same place", fault.fault),
                )
                .label("again here"),
            );
        }
        if !good {
            continue;
        }
        let bands = |c: &&Candidate| {
            c.vehicles.iter().any(|b| {
                b.fault == fault.fault && b.at == place && (b.severity.0..=b.severity.1).contains(&fault.severity)
            })
        };
        match candidates.iter().find(bands) {
            None => {
                let near = candidates
                    .iter()
                    .flat_map(|c| c.vehicles.iter().map(move |b| (c, b)))
                    .find(|(_, b)| b.fault == fault.fault);
                let help = match near {
                    Some((c, b)) if b.at == place => {
                        format!("{:?} stands for it from severity {} to {}", c.name, b.severity.0, b.severity.1)
                    }
                    Some((c, b)) => format!("{:?} stands for it at {:?} only", c.name, b.at),
                    None => "add it to the vehicles of a candidate".to_owned(),
                };
                page.say(
                    page.at(
                        id::UNCOVERED_FAULT,
                        here.head(),
                        format!(
                            "no candidate stands for {} of severity {}{}",
                            fault.fault,
                            fault.severity,
                            if place.is_empty() { String::new() } else { format!(" at {place:?}") }
                        ),
                    )
                    .label("nobody could find this")
                    .help(help),
                );
            }
            Some(candidate) => {
                if cause.is_some_and(|c| c != candidate.name) {
                    page.say(
                        page.at(id::TWO_CAUSES, here.head(), "a second cause is hidden, and another candidate stands for it")
                            .label(format!("{:?}", candidate.name))
                            .help("a finding names one candidate in this version: let one stand for both, or hide one fault"),
                    );
                }
                cause = Some(&candidate.name);
            }
        }
        hidden.push(FaultInstance::new(&fault.fault, &place, fault.severity));
    }
    hidden
}
