//! How nodes and parts hang together: one tank, one pump, one engine, and a way for the fuel.

use std::collections::BTreeSet;

use super::page::Page;
use crate::diag::{Diagnostic, id, nearest};
use crate::plant::{Node, Part};
use crate::scenario::source::At;

/// This version simulates one tank, one pump and one engine.
pub(super) fn one_of_each(page: &mut Page<'_>, at: At<'_>, parts: &[Part]) {
    for (id, kind, what) in
        [(id::ONE_TANK, "Tank", "tank"), (id::ONE_PUMP, "GearPump", "pump"), (id::ONE_ENGINE, "Engine", "engine")]
    {
        let found: Vec<usize> = (0..parts.len()).filter(|&i| parts[i].is.kind() == kind).collect();
        match found[..] {
            [_] => {}
            [] => page.say(
                page.at(id, at.head(), format!("the plant has no {what}"))
                    .label("none of these parts")
                    .help(format!("add a part with is: {kind}( … )")),
            ),
            [first, ref more @ ..] => {
                for &i in more {
                    let message = format!("the plant has more than one {what}");
                    page.say(
                        page.at(id, at.item(i).field("is").head(), message)
                            .label("one more here")
                            .also(at.item(first).field("is").head(), "the first"),
                    );
                }
            }
        }
    }
}

/// Every node must lie on a way that fuel can take from the tank to the engine.
pub(super) fn check_paths(page: &mut Page<'_>, root: At<'_>, nodes: &[Node], parts: &[Part]) {
    let at = root.field("nodes");
    let joined: BTreeSet<&str> = parts.iter().flat_map(|p| p.is.ends()).collect();
    let unknown: Vec<&str> = joined.iter().copied().filter(|end| !nodes.iter().any(|n| n.name == *end)).collect();
    let meant: BTreeSet<String> =
        unknown.iter().filter_map(|end| nearest(end, nodes.iter().map(|n| n.name.as_str()))).collect();
    for (i, node) in nodes.iter().enumerate() {
        // a node whose name was only misspelt elsewhere hangs in nothing
        if !joined.contains(node.name.as_str()) && !meant.contains(&node.name) {
            let message = format!("no part is joined to the node {:?}", node.name);
            page.say(
                page.at(id::FLOATING_NODE, at.item(i).field("name").span(), message)
                    .label("hangs in the air")
                    .help("let a part begin or end here, or leave the node out"),
            );
        }
    }
    let (start, goal) = (ends_of(parts, "Tank"), ends_of(parts, "Engine"));
    if start.is_empty() || goal.is_empty() || !unknown.is_empty() {
        return; // said already, and the way can't be known before
    }
    let downstream = reached(parts, &start, true);
    if !goal.iter().any(|g| downstream.contains(g)) {
        page.say(no_way(page, root, nodes, parts, &downstream));
        return;
    }
    let upstream = reached(parts, &goal, false);
    for (i, node) in nodes.iter().enumerate() {
        let name = node.name.as_str();
        if !joined.contains(name) || (downstream.contains(name) && upstream.contains(name)) {
            continue;
        }
        let label = if downstream.contains(name) {
            "from here nothing leads to the engine"
        } else {
            "no fuel comes here from the tank"
        };
        let message = format!("the node {name:?} isn't on a way from the tank to the engine");
        page.say(
            page.at(id::OFF_THE_PATH, at.item(i).field("name").span(), message)
                .label(label)
                .help("\"from\" is the end towards the tank, \"to\" the end towards the engine"),
        );
    }
}

/// The one diagnostic for a plant in which no way leads from the tank to the engine: at the part
/// that seems to be the wrong way round, or else at the last node that fuel comes to.
fn no_way(
    page: &Page<'_>,
    root: At<'_>,
    nodes: &[Node],
    parts: &[Part],
    downstream: &BTreeSet<&str>,
) -> Diagnostic {
    let words = "no way leads from the tank to the engine";
    let turned = parts.iter().position(
        |p| matches!(p.is.ends()[..], [from, to] if downstream.contains(to) && !downstream.contains(from)),
    );
    if let Some(i) = turned {
        let is = root.field("parts").item(i).field("is");
        return page
            .at(id::OFF_THE_PATH, is.field("from").span(), words)
            .label(format!("{:?} may be the wrong way round", parts[i].name))
            .also(is.field("to").span(), "fuel comes to this end")
            .help("\"from\" is the end towards the tank, \"to\" the end towards the engine");
    }
    let last = (0..nodes.len()).rev().find(|&i| downstream.contains(nodes[i].name.as_str())).unwrap_or(0);
    page.at(id::OFF_THE_PATH, root.field("nodes").item(last).field("name").span(), words)
        .label("fuel comes as far as this, and no part leads on")
        .help("let a part begin here")
}

fn reached<'p>(parts: &'p [Part], from: &[&'p str], with_the_flow: bool) -> BTreeSet<&'p str> {
    let mut seen: BTreeSet<&str> = from.iter().copied().collect();
    let mut open: Vec<&str> = from.to_vec();
    while let Some(node) = open.pop() {
        for part in parts {
            let next = match part.is.ends()[..] {
                [a, b] if with_the_flow && a == node => b,
                [a, b] if !with_the_flow && b == node => a,
                _ => continue,
            };
            if seen.insert(next) {
                open.push(next);
            }
        }
    }
    seen
}

/// No part ends at the tank's outlet; the pump alone leads to the engine's gallery; the tee fits at
/// neither.
pub(super) fn check_ends(page: &mut Page<'_>, root: At<'_>, nodes: &[Node], parts: &[Part]) {
    let outlets: Vec<&str> = ends_of(parts, "Tank");
    let galleries: Vec<&str> = ends_of(parts, "Engine");
    for (i, part) in parts.iter().enumerate() {
        let is = root.field("parts").item(i).field("is");
        let [from, to] = part.is.ends()[..] else { continue };
        let pump = part.is.kind() == "GearPump";
        for (field, end) in [("from", from), ("to", to)] {
            let at_gallery = galleries.contains(&end);
            let words = if field == "to" && outlets.contains(&end) {
                "no part can end at the tank's outlet"
            } else if at_gallery && !(pump && field == "to") {
                "only the pump's outlet can be joined to the engine's gallery"
            } else if pump && field == "to" && !at_gallery && galleries.len() == 1 {
                "the pump must deliver into the engine's gallery"
            } else {
                continue;
            };
            page.say(
                page.at(id::UNFIT_END, is.field(field).span(), words)
                    .label(format!("{:?} has this end here", part.name)),
            );
        }
    }
    for (i, node) in nodes.iter().enumerate() {
        let name = node.name.as_str();
        if node.joint.is_some() && (outlets.contains(&name) || galleries.contains(&name)) {
            page.say(
                page.at(
                    id::UNFIT_END,
                    root.field("nodes").item(i).field("joint").span(),
                    "the tee can't be fitted here",
                )
                .label("the tank's outlet or the engine's gallery")
                .help("leave \"joint\" out"),
            );
        }
    }
}

fn ends_of<'p>(parts: &'p [Part], kind: &str) -> Vec<&'p str> {
    parts.iter().filter(|p| p.is.kind() == kind).flat_map(|p| p.is.ends()).collect()
}
