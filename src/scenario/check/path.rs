//! How nodes and parts hang together: a tank, an engine, and ways for the fuel.

use std::collections::BTreeSet;

use super::graph::Graph;
use super::page::Page;
use crate::diag::{Diagnostic, id, nearest};
use crate::plant::Part;
use crate::scenario::source::At;

/// There is one engine, and something to draw from.
pub(super) fn engine_and_tank(page: &mut Page<'_>, at: At<'_>, parts: &[Part]) {
    let of = |kind: &str| -> Vec<usize> { (0..parts.len()).filter(|&i| parts[i].is.kind() == kind).collect() };
    for (id, kind, what, found) in
        [(id::NO_TANK, "Tank", "tank", of("Tank")), (id::ONE_ENGINE, "Engine", "engine", of("Engine"))]
    {
        match found[..] {
            [] => page.say(
                page.at(id, at.head(), format!("the plant has no {what}"))
                    .label("none of these parts")
                    .help(format!("add a part with is: {kind}( … )")),
            ),
            [first, ref more @ ..] if id == id::ONE_ENGINE => {
                for &i in more {
                    page.say(
                        page.at(id, at.item(i).field("is").head(), "the plant has more than one engine")
                            .label("one more here")
                            .also(at.item(first).field("is").head(), "the first"),
                    );
                }
            }
            _ => {}
        }
    }
}

/// Every node must lie on a way that fuel can take from a tank to the engine or back to a tank.
pub(super) fn check_paths(page: &mut Page<'_>, root: At<'_>, graph: &Graph<'_>) {
    let at = root.field("nodes");
    let joined = graph.joined();
    let unknown: Vec<&str> = joined.iter().copied().filter(|end| !graph.has(end)).collect();
    let names = || graph.nodes.iter().map(|n| n.name.as_str());
    let meant: BTreeSet<String> = unknown.iter().filter_map(|end| nearest(end, names())).collect();
    for (i, node) in graph.nodes.iter().enumerate() {
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
    if graph.tanks.is_empty() || graph.galleries.is_empty() || !unknown.is_empty() {
        return; // said already, and the way can't be known before
    }
    let sources: Vec<&str> = graph.tanks.iter().chain(&graph.pots).copied().collect();
    let downstream = graph.reached(&sources, true);
    if !graph.galleries.iter().any(|g| downstream.contains(g)) {
        page.say(no_way(page, root, graph, &downstream));
        return;
    }
    let goals: Vec<&str> = sources.iter().chain(&graph.galleries).copied().collect();
    let upstream = graph.reached(&goals, false);
    // pumps that push against each other were told already
    let told = |name: &str| {
        page.report.diagnostics().iter().any(|d| d.id == id::OPPOSED_PUMPS) && !upstream.contains(name)
    };
    let off: Vec<usize> = (0..graph.nodes.len())
        .filter(|&i| {
            let name = graph.nodes[i].name.as_str();
            joined.contains(name) && !(downstream.contains(name) && upstream.contains(name)) && !told(name)
        })
        .collect();
    for i in off {
        let name = graph.nodes[i].name.as_str();
        let label = if downstream.contains(name) {
            "from here nothing leads to the engine or to a tank"
        } else {
            "no fuel comes here from a tank"
        };
        let message = format!("the node {name:?} isn't on a way from a tank to the engine or back");
        page.say(
            page.at(id::OFF_THE_PATH, at.item(i).field("name").span(), message)
                .label(label)
                .help("\"from\" is the end that fuel comes from, \"to\" the end that it goes to"),
        );
    }
}

/// The one diagnostic for a plant in which no way leads from a tank to the engine: at the part
/// that seems to be the wrong way round, or else at the last node that fuel comes to.
fn no_way(page: &Page<'_>, root: At<'_>, graph: &Graph<'_>, downstream: &BTreeSet<&str>) -> Diagnostic {
    let words = "no way leads from a tank to the engine";
    let turned = graph.parts.iter().position(
        |p| matches!(p.is.ends()[..], [from, to] if downstream.contains(to) && !downstream.contains(from) && !graph.is_reservoir(to)),
    );
    if let Some(i) = turned {
        let is = root.field("parts").item(i).field("is");
        return page
            .at(id::OFF_THE_PATH, is.field("from").span(), words)
            .label(format!("{:?} may be the wrong way round", graph.parts[i].name))
            .also(is.field("to").span(), "fuel comes to this end")
            .help("\"from\" is the end towards the tank, \"to\" the end towards the engine");
    }
    let nodes = graph.nodes;
    let last = (0..nodes.len()).rev().find(|&i| downstream.contains(nodes[i].name.as_str())).unwrap_or(0);
    page.at(id::OFF_THE_PATH, root.field("nodes").item(last).field("name").span(), words)
        .label("fuel comes as far as this, and no part leads on")
        .help("let a part begin here")
}
