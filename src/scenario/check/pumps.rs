//! Pumps, reliefs and vents: supplies that could be drawn but never work.

use super::graph::{Graph, is_pump};
use super::page::Page;
use crate::diag::id;
use crate::plant::component::Component;
use crate::scenario::source::At;

/// Least volume between two pumps of which each moves a fixed amount a turn, ml.
const LEAST_BETWEEN_ML: f64 = 5.0;

pub(super) fn check_pumps(page: &mut Page<'_>, at: At<'_>, graph: &Graph<'_>) {
    pumps_in_series(page, at, graph);
    // without an engine, what the pumps deliver can't but stay; that was said already
    if !graph.galleries.is_empty() {
        opposed_pumps(page, at, graph);
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

/// Two pumps of fixed flow with hardly any fuel between them: the slightest difference between the
/// two moves the pressure by bars.
fn pumps_in_series(page: &mut Page<'_>, at: At<'_>, graph: &Graph<'_>) {
    let fixed = |c: &Component| matches!(c, Component::GearPump(_) | Component::DiaphragmPump(_));
    for (i, part) in graph.parts.iter().enumerate().filter(|(_, p)| fixed(&p.is)) {
        let &[from, _] = &part.is.ends()[..] else { continue };
        let Some(first) =
            graph.parts.iter().position(|p| fixed(&p.is) && matches!(p.is.ends()[..], [_, to] if to == from))
        else {
            continue;
        };
        let volume = graph.volume_ml(from);
        if first != i && volume < LEAST_BETWEEN_ML {
            let message =
                format!("between {:?} and {:?} there are {volume} ml", graph.parts[first].name, part.name);
            page.say(
                page.at(id::PUMPS_IN_SERIES, at.item(i).field("is").field("from").span(), message)
                    .label("the second pump draws here")
                    .also(at.item(first).field("is").field("to").span(), "the first delivers here")
                    .help(format!(
                        "put a line or a filter between, or give the node at least {LEAST_BETWEEN_ML} ml"
                    )),
            );
        }
    }
}

/// Pumps that push into one space that nothing leaves.
fn opposed_pumps(page: &mut Page<'_>, at: At<'_>, graph: &Graph<'_>) {
    let pumps: Vec<(usize, &str)> = graph
        .parts
        .iter()
        .enumerate()
        .filter(|(_, p)| is_pump(&p.is))
        .filter_map(|(i, p)| Some((i, *p.is.ends().get(1)?)))
        .collect();
    for (k, &(i, outlet)) in pumps.iter().enumerate() {
        let space = graph.region(outlet, true, None);
        let Some(&(first, _)) = pumps[..k].iter().find(|(_, other)| space.contains(other)) else { continue };
        let open = space
            .iter()
            .any(|node| graph.is_reservoir(node) || graph.galleries.contains(node) || leaves(graph, node));
        if !open {
            let message =
                format!("{:?} and {:?} push against each other", graph.parts[first].name, graph.parts[i].name);
            page.say(
                page.at(id::OPPOSED_PUMPS, at.item(i).field("is").field("to").span(), message)
                    .label("nothing leads away from here")
                    .also(at.item(first).field("is").field("to").span(), "the other one delivers here")
                    .help("turn one of them round, or let the fuel go on to the engine or back to a tank"),
            );
        }
    }
}

/// Whether a pump, a relief or a jet takes fuel out of the space at this node.
fn leaves(graph: &Graph<'_>, node: &str) -> bool {
    graph.parts.iter().any(|p| {
        (is_pump(&p.is) || matches!(p.is, Component::Relief(_) | Component::JetPump(_)))
            && p.is.ends().first() == Some(&node)
    })
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
                .any(|node| graph.is_reservoir(node) || leaves(graph, node) || overflows(graph, node))
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
