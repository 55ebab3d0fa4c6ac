//! Ends and references: what a part may be joined to, and that what it names is of the right kind.

use super::graph::Graph;
use super::page::Page;
use crate::diag::{id, quotable};
use crate::plant::component::{Command, Component, ElectricPump};
use crate::plant::{Node, Part};
use crate::scenario::source::At;

/// What a reference must lead to.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Meant {
    /// The outlet of a tank.
    Tank,
    /// The outlet of a tank or a pot.
    Reservoir,
    /// A node in the lines.
    Lines,
    /// Any node.
    Node,
}

impl Meant {
    const fn words(self) -> &'static str {
        match self {
            Self::Tank => "a tank's outlet",
            Self::Reservoir => "the outlet of a tank or a pot",
            Self::Lines => "a node in the lines",
            Self::Node => "a node",
        }
    }
}

pub(super) fn check_ends(page: &mut Page<'_>, root: At<'_>, nodes: &[Node], parts: &[Part]) {
    let graph = Graph::new(nodes, parts);
    for (i, part) in parts.iter().enumerate() {
        let is = root.field("parts").item(i).field("is");
        check_references(page, is, part, &graph);
        check_unfit(page, is, part, &graph);
    }
    for (i, node) in nodes.iter().enumerate() {
        if node.joint.is_some() && graph.is_reservoir(&node.name) {
            page.say(
                page.at(
                    id::UNFIT_END,
                    root.field("nodes").item(i).field("joint").span(),
                    "the tee can't be fitted here",
                )
                .label("the outlet of a tank or a pot")
                .help("leave \"joint\" out; a node behind the strainer or the first line may have one"),
            );
        }
    }
    check_shared_outlets(page, root.field("parts"), parts);
}

fn check_references(page: &mut Page<'_>, is: At<'_>, part: &Part, graph: &Graph<'_>) {
    let mut refer = |at: At<'_>, field: &str, name: &str, meant: Meant| {
        check_reference(page, at.field(field), (field, name), meant, graph);
    };
    match &part.is {
        Component::Tank(tank) => {
            if let Some(to) = &tank.overflows_to {
                refer(is, "overflows_to", to, Meant::Tank);
                if *to == tank.outlet {
                    page.say(
                        page.at(
                            id::WRONG_REFERENCE,
                            is.field("overflows_to").span(),
                            format!("{:?} would run over into itself", part.name),
                        )
                        .label("its own outlet")
                        .help("name the outlet of another tank"),
                    );
                }
            }
        }
        Component::SwirlPot(pot) => refer(is, "tank", &pot.tank, Meant::Tank),
        Component::Engine(engine) => {
            if let Some(node) = &engine.returns_to {
                refer(is, "returns_to", node, Meant::Node);
                if *node == engine.gallery {
                    page.say(
                        page.at(
                            id::SHORT_CIRCUIT,
                            is.field("returns_to").span(),
                            "the engine would send its fuel back to where it comes from",
                        )
                        .label("the gallery again")
                        .also(is.field("gallery").span(), "first here"),
                    );
                }
            }
        }
        Component::ElectricPump(pump) => {
            refer(is, "tank", &pump.tank, Meant::Reservoir);
            match &pump.command {
                Command::Demand { sensor, .. } => refer(is.field("command"), "sensor", sensor, Meant::Lines),
                Command::Float { tank, .. } => refer(is.field("command"), "tank", tank, Meant::Tank),
                Command::KeyAndEngine { .. } => {}
            }
            for field in [("feed", pump.feed.is_empty()), ("earth", pump.earth.is_empty())] {
                if let (field, true) = field {
                    page.say(
                        page.at(
                            id::EMPTY_CIRCUIT,
                            is.field(field).span(),
                            format!("the {field} of {:?} has no joint", part.name),
                        )
                        .label("empty")
                        .help("give it at least one, such as (name: \"pump plug\", ohm: mohm(20)): voltages are measured there"),
                    );
                }
            }
            check_measuring_points(page, is, pump);
        }
        _ => {}
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

fn check_reference(page: &mut Page<'_>, at: At<'_>, (field, name): (&str, &str), meant: Meant, graph: &Graph<'_>) {
    let fits = match meant {
        Meant::Tank => graph.tanks.contains(&name),
        Meant::Reservoir => graph.is_reservoir(name),
        Meant::Lines => graph.has(name) && !graph.is_reservoir(name),
        Meant::Node => graph.has(name),
    };
    if fits {
        return;
    }
    if !graph.has(name) {
        page.say(
            page.at(id::UNKNOWN_NODE, at.span(), format!("no node is called {:?}", quotable(name)))
                .label("not in \"nodes\"")
                .among(name, graph.nodes.iter().map(|n| &n.name)),
        );
        return;
    }
    let found = if graph.pots.contains(&name) {
        "the outlet of a pot"
    } else if graph.tanks.contains(&name) {
        "the outlet of a tank"
    } else {
        "a node in the lines"
    };
    let candidates: Vec<&str> = match meant {
        Meant::Tank => graph.tanks.clone(),
        Meant::Reservoir => graph.tanks.iter().chain(&graph.pots).copied().collect(),
        Meant::Lines | Meant::Node => vec![],
    };
    let diagnostic = page
        .at(id::WRONG_REFERENCE, at.span(), format!("{field:?} must name {}", meant.words()))
        .label(found)
        .instead_of(at.text(), meant.words());
    page.say(match candidates[..] {
        [] => diagnostic,
        _ => diagnostic.help(format!("there are: {}", candidates.join(", "))),
    });
}

/// Ends where the simulation, or the vehicle, can't have them.
fn check_unfit(page: &mut Page<'_>, is: At<'_>, part: &Part, graph: &Graph<'_>) {
    let mut unfit = |field: &str, words: &str, help: &str| {
        page.say(
            page.at(id::UNFIT_END, is.field(field).span(), words)
                .label(format!("{:?} has this end here", part.name))
                .help(help.to_owned()),
        );
    };
    match &part.is {
        Component::GearPump(_) | Component::DiaphragmPump(_) => {
            let &[from, to] = &part.is.ends()[..] else { return };
            let help = "let a line, a strainer or a restriction lie between";
            if graph.is_reservoir(from) {
                unfit("from", "this pump can't draw straight from an open tank", help);
            }
            if graph.is_reservoir(to) {
                unfit("to", "this pump can't deliver straight into an open tank", help);
            }
        }
        Component::ElectricPump(pump) if graph.is_reservoir(&pump.to) => {
            unfit("to", "this pump can't deliver straight into an open tank", "let a line lie between");
        }
        Component::JetPump(jet) if graph.has(&jet.to) && !graph.pots.contains(&jet.to.as_str()) => {
            unfit("to", "a jet pump fills a swirl pot", "let it end at the outlet of a SwirlPot");
        }
        Component::Engine(engine) if graph.is_reservoir(&engine.gallery) => {
            unfit(
                "gallery",
                "the engine can't be fed straight from an open tank",
                "give the gallery a node of its own",
            );
        }
        _ => {}
    }
}

/// Two tanks or pots can't stand for one node.
fn check_shared_outlets(page: &mut Page<'_>, at: At<'_>, parts: &[Part]) {
    let outlet = |part: &'_ Part| match &part.is {
        Component::Tank(tank) => Some(tank.outlet.clone()),
        Component::SwirlPot(pot) => Some(pot.outlet.clone()),
        _ => None,
    };
    for (i, part) in parts.iter().enumerate() {
        let Some(node) = outlet(part) else { continue };
        let Some(first) = parts[..i].iter().position(|p| outlet(p).as_deref() == Some(node.as_str())) else {
            continue;
        };
        page.say(
            page.at(
                id::UNFIT_END,
                at.item(i).field("is").field("outlet").span(),
                format!("{:?} and {:?} have one outlet", parts[first].name, part.name),
            )
            .label("again here")
            .also(at.item(first).field("is").field("outlet").span(), "first here")
            .help("give each a node of its own"),
        );
    }
}
