//! The candidates: their weights, and that each vehicle belongs to one of them.

use super::page::{LONGEST_LINE, Page};
use super::place::check_band;
use crate::diag::{id, quotable};
use crate::plant::Plant;
use crate::scenario::model::Candidate;
use crate::scenario::raw::{MOST_VEHICLES, RawCandidate};
use crate::scenario::source::At;

pub(super) fn check_candidates(
    page: &mut Page<'_>,
    at: At<'_>,
    raw: &[RawCandidate],
    plant: &Plant,
) -> Vec<Candidate> {
    let mut candidates = Vec::new();
    for (i, candidate) in raw.iter().enumerate() {
        let here = at.item(i);
        page.name(here.field("name"), "the name of a candidate", &candidate.name);
        page.text(here.field("label"), "the label", &candidate.label, LONGEST_LINE);
        if !(candidate.weight > 0.0 && candidate.weight <= 1e6) {
            let weight = here.field("weight");
            page.say(
                page.at(id::WEIGHT, weight.span(), format!("the weight {} can't be used", candidate.weight))
                    .label("above zero")
                    .instead_of(weight.text(), "a number above zero")
                    .help("a cause that can't be is left out; one that hardly is gets a small weight"),
            );
        }
        let list = here.field("vehicles");
        if candidate.vehicles.len() > MOST_VEHICLES {
            page.say(
                page.at(
                    id::TOO_MANY,
                    list.head(),
                    format!("\"vehicles\" has {} entries", candidate.vehicles.len()),
                )
                .instead_of(candidate.vehicles.len().to_string(), format!("at most {MOST_VEHICLES}")),
            );
        }
        let vehicles = candidate
            .vehicles
            .iter()
            .take(MOST_VEHICLES)
            .enumerate()
            .filter_map(|(k, band)| check_band(page, list.item(k), band, plant))
            .collect();
        candidates.push(Candidate {
            name: candidate.name.clone(),
            label: candidate.label.clone(),
            weight: candidate.weight,
            vehicles,
        });
    }
    page.unique(at, "name", "candidates", raw.iter().map(|c| c.name.as_str()));
    one_healthy(page, at, raw);
    check_overlaps(page, at, raw, &candidates);
    if raw.len() < 3 {
        page.say(
            page.at(
                id::FEW_CANDIDATES,
                at.head(),
                format!("with {} candidates there is little to reason about", raw.len()),
            )
            .label("three to ten are usual"),
        );
    }
    let sum: f64 = candidates.iter().map(|c| c.weight).sum();
    if sum.is_finite() && sum > 0.0 {
        for (i, candidate) in candidates.iter_mut().enumerate() {
            candidate.weight /= sum;
            if candidate.weight > 0.5 {
                let message = format!(
                    "{:?} is likelier than all other candidates together ({:.2})",
                    candidate.name, candidate.weight
                );
                page.say(
                    page.at(id::HEAVY_PRIOR, at.item(i).field("weight").span(), message)
                        .label("more than half of all weights")
                        .help("a learner who tests nothing would be right too often"),
                );
            }
        }
    }
    candidates
}

/// Candidates that count as right besides: each must be on the sheet.
pub(super) fn check_also_right(
    page: &mut Page<'_>,
    at: At<'_>,
    raw: &[String],
    candidates: &[Candidate],
) -> Vec<usize> {
    let mut found = vec![];
    for (i, name) in raw.iter().enumerate() {
        match candidates.iter().position(|c| c.name == *name) {
            Some(k) => found.push(k),
            None => page.say(
                page.at(
                    id::UNKNOWN_CANDIDATE,
                    at.item(i).span(),
                    format!("no candidate is called {:?}", quotable(name)),
                )
                .label("not on the sheet")
                .among(name, candidates.iter().map(|c| c.name.clone())),
            ),
        }
    }
    found
}

fn one_healthy(page: &mut Page<'_>, at: At<'_>, raw: &[RawCandidate]) {
    let healthy: Vec<usize> = (0..raw.len()).filter(|&i| raw[i].vehicles.is_empty()).collect();
    match healthy[..] {
        [_] => {}
        [] => page.say(
            page.at(id::HEALTHY_CANDIDATE, at.head(), "no candidate stands for \"nothing wrong\"")
                .label("none of these")
                .help("add one with vehicles: []: a sound supply must be a possible finding"),
        ),
        [first, ref more @ ..] => {
            for &i in more {
                page.say(
                    page.at(
                        id::HEALTHY_CANDIDATE,
                        at.item(i).field("vehicles").span(),
                        "a second candidate has no vehicles",
                    )
                    .label("empty")
                    .also(at.item(first).field("vehicles").span(), "empty too")
                    .help("one candidate, \"nothing wrong\", has none; every other says which faults it means"),
                );
            }
        }
    }
}

/// Two candidates mustn't mean the same vehicle: no finding could be right.
fn check_overlaps(page: &mut Page<'_>, at: At<'_>, raw: &[RawCandidate], candidates: &[Candidate]) {
    for (i, candidate) in candidates.iter().enumerate() {
        for (j, other) in candidates[..i].iter().enumerate() {
            let same = candidate.vehicles.iter().find(|band| {
                other.vehicles.iter().any(|b| {
                    // a vehicle with one fault more is another vehicle
                    b.with.len() == band.with.len()
                        && b.all().all(|b| {
                            band.all().any(|own| {
                                b.fault == own.fault
                                    && b.at == own.at
                                    && b.severity.0 <= own.severity.1
                                    && own.severity.0 <= b.severity.1
                            })
                        })
                })
            });
            // a copy is told by its name already
            if let Some(band) = same.filter(|_| raw[i].name != raw[j].name) {
                let k = raw[i]
                    .vehicles
                    .iter()
                    .position(|b| b.fault == band.fault && (b.at == band.at || b.at.is_empty()))
                    .unwrap_or(0);
                let message = format!("{:?} and {:?} both stand for {}", other.name, candidate.name, band.fault);
                page.say(
                    page.at(id::OVERLAP, at.item(i).field("vehicles").item(k).head(), message)
                        .label("the same fault at the same place")
                        .also(at.item(j).field("vehicles").head(), "and here")
                        .help("give each fault to one candidate, or part the bands of severity"),
                );
            }
        }
    }
}
