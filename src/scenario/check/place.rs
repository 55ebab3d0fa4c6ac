//! Faults: that each exists, can sit where it should, and that hidden ones can be found.

use std::ops::Range;

use super::page::Page;
use crate::diag::{Diagnostic, id, quotable};
use crate::fault::Modifier;
use crate::fault::{self, Fault, FaultInstance, KitFaults, Place};
use crate::plant::Plant;
use crate::plant::assemble::{Detail, Rig, assemble};
use crate::scenario::model::{Candidate, FaultBand};
use crate::scenario::raw::{RawBand, RawFault, RawFellow};
use crate::scenario::source::At;

/// Most faults that come with another one in a vehicle.
const MOST_FELLOWS: usize = 3;

/// A vehicle behind a candidate: its fault, and those that come with it.
pub(super) fn check_band(page: &mut Page<'_>, at: At<'_>, band: &RawBand, plant: &Plant) -> Option<FaultBand> {
    let RawBand { fault, at: place, severity, when, with } = band.clone();
    let own = check_one(page, at, &RawFellow { fault, at: place, severity, when }, plant);
    let list = at.field("with");
    if with.len() > MOST_FELLOWS {
        page.say(
            page.at(id::TOO_MANY, list.head(), format!("\"with\" has {} entries", with.len()))
                .instead_of(with.len().to_string(), format!("at most {MOST_FELLOWS}")),
        );
    }
    let mut fellows: Vec<FaultBand> = vec![];
    for (i, fellow) in with.iter().take(MOST_FELLOWS).enumerate() {
        let here = list.item(i);
        let Some(fellow) = check_one(page, here, fellow, plant) else { continue };
        if own.iter().chain(&fellows).any(|b| b.fault == fellow.fault && b.at == fellow.at) {
            let message = format!("{} comes with itself at the same place", fellow.fault);
            page.say(page.at(id::DUPLICATE_NAME, here.head(), message).label("again here"));
        }
        fellows.push(fellow);
    }
    own.map(|own| FaultBand { with: fellows, ..own })
}

/// When a fault shows: numbers that make sense.
fn check_when(page: &mut Page<'_>, at: At<'_>, when: &[Modifier]) {
    for (i, modifier) in when.iter().enumerate() {
        if let Err(words) = modifier.check() {
            page.say(page.at(id::MODIFIER, at.item(i).span(), words).label("this modifier"));
        }
    }
}

fn check_one(page: &mut Page<'_>, at: At<'_>, band: &RawFellow, plant: &Plant) -> Option<FaultBand> {
    check_when(page, at.field("when"), &band.when);
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
    if good {
        check_usual(page, span, &band.fault, band.severity);
    }
    good.then(|| FaultBand {
        fault: band.fault.clone(),
        at: place,
        severity: (low, high),
        when: band.when.clone(),
        with: vec![],
    })
}

/// Severities that the catalogue has for a fault: outside them it is simulated all the same, and not what is met.
fn check_usual(page: &mut Page<'_>, span: Range<usize>, code: &str, (low, high): (f64, f64)) {
    let Some(fault) = fault::by_code(code) else { return };
    let (least, most) = (f64::from(fault.severities.0), f64::from(fault.severities.1));
    if low >= least && high <= most {
        return;
    }
    let has = if least < most { format!("severities {least} to {most}") } else { format!("severity {least} only") };
    let message = format!("{code} ({}) comes in {has}", fault.name);
    let label = if low < least { "milder than it is met" } else { "worse than it is met" };
    page.say(
        page.at(id::UNUSUAL_SEVERITY, span, message)
            .label(label)
            .help("keep to the severities of the catalogue, or be sure that this is meant"),
    );
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
            .help(called(code).unwrap_or_else(|| {
                "`faultbay plants PLANT` lists the faults of a vehicle and where they sit".to_owned()
            }))
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
    let kinds = || match fault.place {
        Place::Part(kinds) => kinds.join(" or "),
        _ => "joint of a pump's circuit".to_owned(),
    };
    let elsewhere = plant
        .part(place)
        .map(|p| format!("this is {}", article(p.is.kind())))
        .or_else(|| plant.node(place).map(|_| "this is a node".to_owned()));
    let trouble = match (fault.place, places.as_slice()) {
        (Place::Kit | Place::Nowhere, _) if place.is_empty() => return Some(String::new()),
        (Place::Kit, _) => wrong("it sits in the tester's own kit".to_owned()).help("leave \"at\" out"),
        (Place::Nowhere, _) => wrong("nothing is wrong with it".to_owned()).help("leave \"at\" out"),
        (Place::Part(_) | Place::Circuit, []) => page
            .at(id::FAULT_PLACE, span, format!("{code} ({}) has no place on this vehicle", fault.name))
            .label(match fault.place {
                // there may be such a part, and of another make than the fault asks for
                Place::Part(of) if plant.parts.iter().any(|p| of.contains(&p.is.kind())) => {
                    format!("no {} of the plant {:?} is one that can have it", kinds(), plant.name)
                }
                _ => format!("the plant {:?} has no {}", plant.name, kinds()),
            })
            .help("take this fault out, or put one in its place that the vehicle can have: `faultbay plants PLANT` lists them"),
        (Place::Part(_) | Place::Circuit, [only]) if place.is_empty() => {
            return proven(page, span, fault, only, plant);
        }
        (Place::Part(_) | Place::Circuit, _) if place.is_empty() => {
            wrong(format!("there is more than one {}", kinds())).help(which(&places)).among("", &places)
        }
        (Place::Node, _) if place.is_empty() => {
            let joints: Vec<&String> = places.iter().filter(|n| plant.node(n).is_some_and(|n| n.joint.is_some())).collect();
            let near = if joints.is_empty() { places.iter().collect() } else { joints };
            wrong("it needs a node".to_owned()).help(which(&near)).among("", near)
        }
        _ if places.iter().any(|p| p == place) => return proven(page, span, fault, place, plant),
        (Place::Part(_) | Place::Circuit, _) => match elsewhere {
            Some(label) => wrong(label).help(format!("it sits at {}", article(&kinds()))).among(place, &places),
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

/// How a place is said, by one of those that there are.
fn which<S: AsRef<str>>(places: &[S]) -> String {
    let one = places.first().map_or("…", AsRef::as_ref);
    format!("say which in \"at\", such as at: \"{one}\"")
}

/// "a Filter", "an Engine".
fn article(kind: &str) -> String {
    let an = kind.starts_with(['A', 'E', 'I', 'O', 'U']);
    format!("{} {kind}", if an { "an" } else { "a" })
}

/// Faults whose name holds a word, for an author who wrote what is wrong and not its code.
fn called(word: &str) -> Option<String> {
    let word = word.trim().to_lowercase();
    let found: Vec<String> = fault::CATALOGUE
        .iter()
        .filter(|f| word.chars().count() > 3 && f.name.to_lowercase().contains(&word))
        .map(|f| format!("{} {}", f.code, f.name))
        .collect();
    (!found.is_empty()).then(|| format!("faults with that in their name: {}", found.join("; ")))
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
            .and_then(|()| Ok(assemble(&sick, &Rig::default(), Detail::COARSE).map(drop)?));
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
    let mut hidden: Vec<(usize, FaultInstance)> = Vec::new();
    for (i, fault) in raw.iter().enumerate() {
        let here = at.item(i);
        check_when(page, here.field("when"), &fault.when);
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
        if hidden.iter().any(|(_, h)| h.fault == fault.fault && h.at == place) {
            page.say(
                page.at(
                    id::DUPLICATE_NAME,
                    here.head(),
                    format!("{} is hidden twice at the same place", fault.fault),
                )
                .label("again here"),
            );
        }
        if good {
            check_usual(page, here.field("severity").span(), &fault.fault, (fault.severity, fault.severity));
            let instance = FaultInstance::new(&fault.fault, &place, fault.severity);
            hidden.push((i, FaultInstance { modifiers: fault.when.clone(), ..instance }));
        }
    }
    let all: Vec<FaultInstance> = hidden.iter().map(|(_, h)| h.clone()).collect();
    // one vehicle of a candidate with exactly these faults settles it
    if all.len() < 2 || !candidates.iter().any(|c| c.vehicles.iter().any(|b| b.holds(&all))) {
        check_covered(page, at, &hidden, candidates);
    }
    all
}

/// Every hidden fault by itself has a candidate, and all the same one.
fn check_covered(page: &mut Page<'_>, at: At<'_>, hidden: &[(usize, FaultInstance)], candidates: &[Candidate]) {
    let mut cause: Option<&str> = None;
    for (i, fault) in hidden {
        let here = at.item(*i);
        let alone = std::slice::from_ref(fault);
        let Some(candidate) = candidates.iter().find(|c| c.vehicles.iter().any(|b| b.holds(alone))) else {
            page.say(uncovered(page, here, fault, candidates));
            continue;
        };
        let mut bands = candidate.vehicles.iter().filter(|b| b.holds(alone));
        if !bands.any(|b| b.waits_as(fault)) {
            page.say(waits_alone(page, here, fault, candidate));
        }
        if cause.is_some_and(|c| c != candidate.name) {
            page.say(
                page.at(
                    id::TWO_CAUSES,
                    here.head(),
                    "a second cause is hidden, and another candidate stands for it",
                )
                .label(format!("{:?}", candidate.name))
                .help(
                    "a finding names one candidate: give one a vehicle that has both faults (\"with\"), or hide \
                         one fault",
                ),
            );
        }
        cause = Some(&candidate.name);
    }
}

/// The vehicles of a hidden fault's candidate show it under other conditions than the job's own does.
fn waits_alone(page: &Page<'_>, at: At<'_>, fault: &FaultInstance, candidate: &Candidate) -> Diagnostic {
    let always = fault.modifiers.is_empty();
    let message = if always {
        format!("{} is hidden without a \"when\", and every vehicle of {:?} has one", fault.fault, candidate.name)
    } else {
        format!("{} is hidden with another \"when\" than the vehicles of {:?} have", fault.fault, candidate.name)
    };
    page.at(id::WAITS_ALONE, at.head(), message).label("shows when they don't, or doesn't when they do").help(
        "belief, par and marks are weighed by the vehicles of the candidate: give one of them a \"when\" of the same kind, \
         or take it out here",
    )
}

/// No candidate stands for a hidden fault: what comes nearest.
fn uncovered(page: &Page<'_>, at: At<'_>, fault: &FaultInstance, candidates: &[Candidate]) -> Diagnostic {
    let near = candidates
        .iter()
        .flat_map(|c| c.vehicles.iter().map(move |b| (c, b)))
        .find(|(_, b)| b.fault == fault.fault);
    let help = match near {
        Some((c, b)) if !b.with.is_empty() => {
            format!("{:?} stands for it together with another fault only", c.name)
        }
        Some((c, b)) if b.at == fault.at => {
            format!("{:?} stands for it from severity {} to {}", c.name, b.severity.0, b.severity.1)
        }
        Some((c, b)) => format!("{:?} stands for it at {:?} only", c.name, b.at),
        None => "add it to the vehicles of a candidate".to_owned(),
    };
    let place = if fault.at.is_empty() { String::new() } else { format!(" at {:?}", fault.at) };
    let message = format!("no candidate stands for {} of severity {}{place}", fault.fault, fault.severity);
    page.at(id::UNCOVERED_FAULT, at.head(), message).label("nobody could find this").help(help)
}
