//! Pumps, reliefs and vents: what can be simulated, and an author should look at again.

use super::page::Page;
use crate::diag::id;
use crate::plant::component::Component;
use crate::plant::graph::Graph;
use crate::scenario::source::At;

pub(super) fn check_pumps(page: &mut Page<'_>, at: At<'_>, graph: &Graph<'_>) {
    // without an engine, what the pumps deliver can't but stay; that was said already
    if !graph.galleries.is_empty() {
        dead_headed(page, at, graph);
    }
    for (i, part) in graph.parts.iter().enumerate() {
        let is = at.item(i).field("is");
        match &part.is {
            Component::Relief(relief) if graph.has(&relief.from) && !graph.is_pushed(&relief.from) => page.say(
                page.at(id::IDLE_RELIEF, is.field("from").span(), format!("{:?} never opens", part.name))
                    .label("no pump pushes fuel to this node")
                    .help("a relief sits behind a pump; before it there is suction"),
            ),
            Component::Tank(tank) if tank.vent.si() <= 0.0 => page.say(
                page.at(id::NO_VENT, is.field("vent").span(), format!("no air comes into {:?}", part.name))
                    .label("nothing at all")
                    .help("a healthy tank breathes, such as l_per_min(30); a blocked vent is a fault of the job"),
            ),
            _ => {}
        }
    }
}

/// A pump of fixed flow that nothing relieves once a valve of the vehicle or of the tee is shut, or at
/// all.
fn dead_headed(page: &mut Page<'_>, at: At<'_>, graph: &Graph<'_>) {
    for (i, part) in graph.parts.iter().enumerate() {
        let Component::GearPump(pump) = &part.is else { continue };
        let relieved = |through_valves: bool, shut_at: Option<&str>| {
            let space = graph.region(&pump.to, through_valves, shut_at);
            // what leaves at the tee leaves behind its valve
            space
                .into_iter()
                .filter(|node| shut_at != Some(node))
                .any(|node| graph.is_reservoir(node) || graph.leaves(node) || overflows(graph, node))
        };
        let space = graph.region(&pump.to, true, None);
        let tee = graph
            .nodes
            .iter()
            .find(|n| n.joint.is_some() && space.contains(n.name.as_str()) && !relieved(true, Some(&n.name)));
        let label = if !relieved(true, None) {
            "nothing relieves it: what the engine doesn't burn has no way out".to_owned()
        } else if !relieved(false, None) {
            "nothing relieves it when the shut-off valve behind it is shut".to_owned()
        } else if let Some(node) = tee {
            format!("nothing relieves it when the tee at {:?} is shut", node.name)
        } else {
            continue;
        };
        page.say(
            page.at(
                id::DEAD_HEADED,
                at.item(i).field("is").field("to").span(),
                format!("{:?} could break the line", part.name),
            )
            .label(label)
            .help("put a Relief between its outlet and its inlet or the tank, or give the engine an overflow"),
        );
    }
}

fn overflows(graph: &Graph<'_>, node: &str) -> bool {
    graph.parts.iter().any(|p| matches!(&p.is, Component::Engine(e) if e.gallery == node && e.overflow.is_some()))
}
