//! The flaws of a plant's graph, each at its place in the text. What is a flaw, `plant::flaw` knows.

use std::collections::BTreeSet;
use std::ops::Range;

use super::page::Page;
use crate::diag::{Id, id, nearest, quotable};
use crate::plant::component::Component;
use crate::plant::flaw::{Flaw, LEAST_BETWEEN_ML, Meant, Named, Unfit, flaws};
use crate::plant::graph::Graph;
use crate::scenario::source::At;

pub(super) fn check_flaws(page: &mut Page<'_>, root: At<'_>, graph: &Graph<'_>) {
    let place = Place { root, graph, meant: meant(graph) };
    for flaw in flaws(graph.nodes, graph.parts) {
        place.told(page, &flaw);
    }
}

/// Nodes whose name was only misspelt elsewhere: they hang in nothing.
fn meant(graph: &Graph<'_>) -> BTreeSet<String> {
    let names = || graph.nodes.iter().map(|n| n.name.as_str());
    graph.joined().iter().filter(|end| !graph.has(end)).filter_map(|end| nearest(end, names())).collect()
}

struct Place<'a, 'p> {
    root: At<'a>,
    graph: &'a Graph<'p>,
    meant: BTreeSet<String>,
}

impl<'a> Place<'a, '_> {
    /// A field of a part's component; steps joined by dots.
    fn field(&self, part: &Named, field: &str) -> At<'a> {
        let is = self.root.field("parts").item(part.index).field("is");
        field.split('.').fold(is, |at, step| at.field(step))
    }

    fn name(&self, node: &Named) -> Range<usize> {
        self.root.field("nodes").item(node.index).field("name").span()
    }

    fn told(&self, page: &mut Page<'_>, flaw: &Flaw) {
        match flaw {
            Flaw::NoTank => self.lacks(page, id::NO_TANK, "Tank", "tank"),
            Flaw::NoEngine => self.lacks(page, id::ONE_ENGINE, "Engine", "engine"),
            Flaw::MoreEngines { first, part } => {
                let head = |part: &Named| self.root.field("parts").item(part.index).field("is").head();
                page.say(
                    page.at(id::ONE_ENGINE, head(part), "the plant has more than one engine")
                        .label("one more here")
                        .also(head(first), "the first"),
                );
            }
            Flaw::TwoNodes { first, again } => self.twice(page, "nodes", first, again),
            Flaw::TwoParts { first, again } => self.twice(page, "parts", first, again),
            Flaw::KitName(node) => {
                page.say(page.at(id::BAD_TEXT, self.name(node), "this name belongs to the test kit").label("here"))
            }
            Flaw::UnknownNode { part, field, node } => page.say(
                page.at(
                    id::UNKNOWN_NODE,
                    self.field(part, field).span(),
                    format!("no node is called {:?}", quotable(node)),
                )
                .label("not in \"nodes\"")
                .among(node, self.graph.nodes.iter().map(|n| &n.name)),
            ),
            Flaw::SameEnds { part, node } => page.say(
                page.at(
                    id::SHORT_CIRCUIT,
                    self.field(part, "to").span(),
                    format!("{part} begins and ends at {node:?}"),
                )
                .label("the same node again")
                .also(self.field(part, "from").span(), "first here"),
            ),
            Flaw::OwnReturn(engine) => page.say(
                page.at(id::SHORT_CIRCUIT, self.field(engine, "returns_to").span(), flaw.to_string())
                    .label("the gallery again")
                    .also(self.field(engine, "gallery").span(), "first here"),
            ),
            Flaw::OwnOverflow(tank) => page.say(
                page.at(id::WRONG_REFERENCE, self.field(tank, "overflows_to").span(), flaw.to_string())
                    .label("its own outlet")
                    .help("name the outlet of another tank"),
            ),
            Flaw::WrongReference { part, field, node, meant } => {
                self.wrong_reference(page, self.field(part, field), (field, node), *meant);
            }
            Flaw::UnfitEnd { part, unfit } => self.unfit_end(page, part, *unfit),
            Flaw::SharedOutlet { first, part } => page.say(
                page.at(id::UNFIT_END, self.field(part, "outlet").span(), flaw.to_string())
                    .label("again here")
                    .also(self.field(first, "outlet").span(), "first here")
                    .help("give each a node of its own"),
            ),
            Flaw::Floating(node) if !self.meant.contains(&node.name) => page.say(
                page.at(id::FLOATING_NODE, self.name(node), flaw.to_string())
                    .label("hangs in the air")
                    .help("let a part begin or end here, or leave the node out"),
            ),
            Flaw::PumpsInSeries { first, part, volume_ml } => page.say(
                page.at(
                    id::PUMPS_IN_SERIES,
                    self.field(part, "from").span(),
                    format!("between {first} and {part} there are {volume_ml} ml"),
                )
                .label("the second pump draws here")
                .also(self.field(first, "to").span(), "the first delivers here")
                .help(format!("put a line or a filter between, or give the node at least {LEAST_BETWEEN_ML} ml")),
            ),
            Flaw::OpposedPumps { first, part } => page.say(
                page.at(
                    id::OPPOSED_PUMPS,
                    self.field(part, "to").span(),
                    format!("{first} and {part} push against each other"),
                )
                .label("nothing leads away from here")
                .also(self.field(first, "to").span(), "the other one delivers here")
                .help("turn one of them round, or let the fuel go on to the engine or back to a tank"),
            ),
            // a node that no way joins to a tank is told as one off the way from a tank to the engine; numbers
            // are told with the ranges that vehicles have, narrower than what is possible; nothing is fitted yet
            Flaw::Floating(_)
            | Flaw::NoAir(_)
            | Flaw::Number { .. }
            | Flaw::NoJoint(_)
            | Flaw::NotAJoint(_)
            | Flaw::HoleNowhere(_)
            | Flaw::HoleInTheOpen(_)
            | Flaw::HoleWithoutGas(_)
            | Flaw::Nowhere(_)
            | Flaw::TooLarge(_)
            | Flaw::Unlike => {}
        }
    }

    fn lacks(&self, page: &mut Page<'_>, id: Id, kind: &str, what: &str) {
        page.say(
            page.at(id, self.root.field("parts").head(), format!("the plant has no {what}"))
                .label("none of these parts")
                .help(format!("add a part with is: {kind}( … )")),
        );
    }

    fn twice(&self, page: &mut Page<'_>, list: &str, first: &Named, again: &Named) {
        let span = |named: &Named| self.root.field(list).item(named.index).field("name").span();
        let message = format!("two {list} are called {:?}", quotable(&again.name));
        page.say(
            page.at(id::DUPLICATE_NAME, span(again), message).label("again here").also(span(first), "first here"),
        );
    }

    fn wrong_reference(&self, page: &mut Page<'_>, at: At<'_>, (field, name): (&str, &str), meant: Meant) {
        let graph = self.graph;
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
        let field = field.rsplit('.').next().unwrap_or(field);
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
    fn unfit_end(&self, page: &mut Page<'_>, part: &Named, unfit: Unfit) {
        let electric = matches!(self.graph.parts[part.index].is, Component::ElectricPump(_));
        let help = match unfit {
            Unfit::DeliversIntoTank if electric => "let a line lie between",
            Unfit::DrawsFromTank | Unfit::DeliversIntoTank => "let a line, a strainer or a restriction lie between",
            Unfit::JetWithoutPot => "let it end at the outlet of a SwirlPot",
            Unfit::FedFromTank => "give the gallery a node of its own",
        };
        page.say(
            page.at(id::UNFIT_END, self.field(part, unfit.field()).span(), unfit.words())
                .label(format!("{part} has this end here"))
                .help(help),
        );
    }
}
