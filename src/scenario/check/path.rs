//! Ways for the fuel: from a tank to the engine and back.

use std::collections::BTreeSet;

use super::page::Page;
use crate::diag::{Diagnostic, id};
use crate::plant::graph::Graph;
use crate::scenario::source::At;

/// Every node must lie on a way that fuel can take from a tank to the engine or back to a tank.
pub(super) fn check_paths(page: &mut Page<'_>, root: At<'_>, graph: &Graph<'_>) {
    let at = root.field("nodes");
    let joined = graph.joined();
    let unknown = joined.iter().any(|end| !graph.has(end));
    if graph.tanks.is_empty() || graph.galleries.is_empty() || unknown {
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
