//! What a vehicle of a file needs at its ends beside what every plant does: the tee fits at its joints, and the
//! circuit of an electric pump has points to measure at.

use super::page::Page;
use crate::diag::{id, quotable};
use crate::plant::component::{Component, ElectricPump};
use crate::plant::graph::Graph;
use crate::scenario::source::At;

pub(super) fn check_ends(page: &mut Page<'_>, root: At<'_>, graph: &Graph<'_>) {
    for (i, part) in graph.parts.iter().enumerate() {
        let Component::ElectricPump(pump) = &part.is else { continue };
        let is = root.field("parts").item(i).field("is");
        for (field, _) in [("feed", &pump.feed), ("earth", &pump.earth)].into_iter().filter(|(_, j)| j.is_empty()) {
            let message = format!("the {field} of {:?} has no joint", part.name);
            page.say(page.at(id::EMPTY_CIRCUIT, is.field(field).span(), message).label("empty").help(
                "give it at least one, such as (name: \"pump plug\", ohm: mohm(20)): voltages are measured there",
            ));
        }
        check_measuring_points(page, is, pump);
    }
    for (i, node) in graph.nodes.iter().enumerate() {
        if node.joint.is_some() && graph.is_reservoir(&node.name) {
            let at = root.field("nodes").item(i).field("joint");
            page.say(
                page.at(id::UNFIT_END, at.span(), "the tee can't be fitted here")
                    .label("the outlet of a tank or a pot")
                    .help("leave \"joint\" out; a node behind the strainer or the first line may have one"),
            );
        }
    }
}

/// Faults and voltages name a joint of the circuit, so each name stands once on both sides together.
fn check_measuring_points(page: &mut Page<'_>, is: At<'_>, pump: &ElectricPump) {
    let mut seen: Vec<(At<'_>, &str)> = vec![];
    for (field, joints) in [("feed", &pump.feed), ("earth", &pump.earth)] {
        for (i, joint) in joints.iter().enumerate() {
            let at = is.field(field).item(i).field("name");
            let Some((first, _)) = seen.iter().find(|s| s.1 == joint.name) else {
                seen.push((at, &joint.name));
                continue;
            };
            let message = format!("two measuring points are called {:?}", quotable(&joint.name));
            page.say(
                page.at(id::DUPLICATE_NAME, at.span(), message)
                    .label("again here")
                    .also(first.span(), "first here"),
            );
        }
    }
}
