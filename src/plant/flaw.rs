//! What makes a graph of components no plant, found before anything is put together.
//!
//! One search for everybody: [`assemble`](super::assemble::assemble) refuses a plant with the first flaw, and the
//! check of scenario files tells all of them, each at its place in the text. What a *vehicle* must have besides (a
//! way from a tank to the engine, a joint for the tee) is asked of files only: two tanks and a pipe, or a branch
//! that ends blank, are legal plants. So is an engine whose gallery no part is joined to: it stands by, and asks
//! nothing of the rest.
//!
//! A number may lie outside what vehicles have, since a check of the equations may want it; it is refused when no
//! part can have it: not finite, on the wrong side of zero, or nothing where a law divides by it.

use std::fmt;

use super::component::{Command, Component, Number};
use super::graph::{Graph, is_pump};
use super::{Filling, Node, Part, Plant};
use crate::units::Temperature;

/// Least volume between two pumps of which each moves a fixed amount a turn, ml. Engineering estimate: 1 % of
/// what such a pump moves in a second would move the pressure of less by bars.
pub const LEAST_BETWEEN_ML: f64 = 5.0;

/// Names that the test kit gives its own vessels.
pub(crate) const KIT: [&str; 2] = [super::assemble::TEE, super::assemble::BLANKED];

/// Last steps of the fields that some law divides by.
const DIVIDED_BY: [&str; 17] = [
    "area",
    "at",
    "block_cools",
    "block_warms",
    "bonnet_follows",
    "bore",
    "capacity",
    "drop",
    "filling",
    "inductance",
    "inertia",
    "lag",
    "length",
    "rounding",
    "starves_over",
    "stopped_by_gas",
    "tank_follows",
];

/// A part or a node: its place in the plant's list, and its name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// Place in the list, from 0.
    pub index: usize,
    /// Name.
    pub name: String,
}

impl fmt::Display for Named {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.name)
    }
}

/// What a field that names a node must lead to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meant {
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
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Tank => "a tank's outlet",
            Self::Reservoir => "the outlet of a tank or a pot",
            Self::Lines => "a node in the lines",
            Self::Node => "a node",
        }
    }
}

/// An end that the simulation, or a vehicle, can't have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unfit {
    /// A pump of fixed flow that begins in a tank or pot.
    DrawsFromTank,
    /// A pump that ends in a tank or pot.
    DeliversIntoTank,
    /// A jet pump that ends elsewhere than in a pot.
    JetWithoutPot,
    /// An engine whose gallery is a tank's or pot's outlet.
    FedFromTank,
}

impl Unfit {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::DrawsFromTank => "this pump can't draw straight from an open tank",
            Self::DeliversIntoTank => "this pump can't deliver straight into an open tank",
            Self::JetWithoutPot => "a jet pump fills a swirl pot",
            Self::FedFromTank => "the engine can't be fed straight from an open tank",
        }
    }

    /// The field at fault.
    pub const fn field(self) -> &'static str {
        match self {
            Self::DrawsFromTank => "from",
            Self::DeliversIntoTank | Self::JetWithoutPot => "to",
            Self::FedFromTank => "gallery",
        }
    }
}

/// Why a graph of components, or what is fitted to it, is no plant.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Flaw {
    /// There is nothing to draw from, and nothing open to the air.
    #[error("the plant has no tank")]
    NoTank,
    /// There is no engine.
    #[error("the plant has no engine")]
    NoEngine,
    /// There is more than one engine.
    #[error("the plant has more than one engine: {part}, after {first}")]
    MoreEngines {
        /// The first.
        first: Named,
        /// One more.
        part: Named,
    },
    /// Two nodes share a name.
    #[error("two nodes are called {again}")]
    TwoNodes {
        /// The first.
        first: Named,
        /// The second.
        again: Named,
    },
    /// Two parts share a name.
    #[error("two parts are called {again}")]
    TwoParts {
        /// The first.
        first: Named,
        /// The second.
        again: Named,
    },
    /// A node is called as the test kit calls its own.
    #[error("the name {0} belongs to the test kit")]
    KitName(Named),
    /// A part ends, or refers to a node, where there is none.
    #[error("{part}: no node is called {node:?} ({field:?})")]
    UnknownNode {
        /// The part.
        part: Named,
        /// Field that names it; steps joined by dots.
        field: &'static str,
        /// The name that leads nowhere.
        node: String,
    },
    /// Both ends of a part are one node.
    #[error("{part} begins and ends at {node:?}")]
    SameEnds {
        /// The part.
        part: Named,
        /// The node.
        node: String,
    },
    /// The engine's return is its gallery.
    #[error("the engine would send its fuel back to where it comes from")]
    OwnReturn(Named),
    /// A tank's overflow is its own outlet.
    #[error("{0} would run over into itself")]
    OwnOverflow(Named),
    /// A field names a node of the wrong kind.
    #[error("{part}: {field:?} must name {}, and {node:?} isn't that", meant.words())]
    WrongReference {
        /// The part.
        part: Named,
        /// The field; steps joined by dots.
        field: &'static str,
        /// What it names.
        node: String,
        /// What it must name.
        meant: Meant,
    },
    /// A part has an end where it can't have one.
    #[error("{part}: {}", unfit.words())]
    UnfitEnd {
        /// The part.
        part: Named,
        /// Why.
        unfit: Unfit,
    },
    /// Two tanks or pots stand for one node.
    #[error("{first} and {part} have one outlet")]
    SharedOutlet {
        /// The first.
        first: Named,
        /// The second.
        part: Named,
    },
    /// No part is joined to a node.
    #[error("no part is joined to the node {0}")]
    Floating(Named),
    /// Nodes hang together and with no tank, so nothing sets their pressure.
    #[error("no part joins the node {0} to a tank: it has no way to the open air, so nothing sets its pressure")]
    NoAir(Named),
    /// Two pumps of fixed flow with hardly any fuel between them.
    #[error(
        "between {first} and {part} there are {volume_ml} ml; two pumps need at least {LEAST_BETWEEN_ML} ml between them"
    )]
    PumpsInSeries {
        /// The pump that delivers.
        first: Named,
        /// The pump that draws.
        part: Named,
        /// Volume between, ml.
        volume_ml: f64,
    },
    /// Pumps that push into one space that nothing leaves.
    #[error("{first} and {part} push against each other, and nothing leads away from between them")]
    OpposedPumps {
        /// One.
        first: Named,
        /// The other.
        part: Named,
    },
    /// A number that no part can have.
    #[error("{whose}: {words} can't be {value}")]
    Number {
        /// What it is a number of, as a message says it.
        whose: String,
        /// Which number.
        words: &'static str,
        /// Its value, in the unit in which files write it.
        value: f64,
    },
    /// No joint has the name at which something shall be fitted.
    #[error("no joint has the name {0:?}")]
    NoJoint(String),
    /// A node at which nothing can be fitted.
    #[error("nothing can be fitted at {0:?}: it isn't a joint")]
    NotAJoint(String),
    /// A hole at a node that doesn't exist.
    #[error("a hole needs a node, and none has the name {0:?}")]
    HoleNowhere(String),
    /// A hole where fuel stands in the open.
    #[error("a hole at {0:?} isn't modelled: fuel stands in the open there")]
    HoleInTheOpen(String),
    /// A hole where gas isn't followed.
    #[error("a hole at {0:?} isn't modelled: gas isn't followed there")]
    HoleWithoutGas(String),
    /// A name that leads to nothing when the network is put together; the search above finds its cause first.
    #[error("{0:?} leads nowhere")]
    Nowhere(String),
    /// More unknowns than the solver is meant for.
    #[error("the plant is too large: {0} unknowns, more than {MOST_UNKNOWNS}")]
    TooLarge(usize),
    /// Vehicles that shall go side by side and differ in more than numbers.
    #[error("the vehicles aren't built alike")]
    Unlike,
}

/// Most unknowns of a network.
pub const MOST_UNKNOWNS: usize = 400;

impl From<Flaw> for String {
    fn from(flaw: Flaw) -> Self {
        flaw.to_string()
    }
}

/// Everything that makes nodes and parts no plant, in an order that tells causes before what follows from them.
pub fn flaws(nodes: &[Node], parts: &[Part]) -> Vec<Flaw> {
    let mut search = Search { nodes, parts, graph: Graph::new(nodes, parts), found: vec![] };
    search.names();
    search.engine_and_tank();
    for i in 0..parts.len() {
        search.ends(i);
        search.references(i);
        search.unfit(i);
    }
    search.shared_outlets();
    search.loose_nodes();
    search.pumps_in_series();
    search.opposed_pumps();
    search.found
}

/// The first flaw of a plant: of its graph, of its numbers, of its fuel and its holes.
///
/// # Errors
/// The flaw.
pub(super) fn refuse(plant: &Plant) -> Result<(), Flaw> {
    if let Some(flaw) = flaws(&plant.nodes, &plant.parts).into_iter().next() {
        return Err(flaw);
    }
    for node in &plant.nodes {
        possible(&node.name, node.numbers())?;
    }
    for part in &plant.parts {
        possible(&part.name, part.is.numbers())?;
        if let Component::Tank(tank) = &part.is
            && tank.fill > tank.capacity
        {
            let value = tank.fill.si() * 1e3;
            return Err(Flaw::Number { whose: part.name.clone(), words: "the fuel in it", value });
        }
    }
    if let Some(warmth) = &plant.warmth {
        possible("the warmth", warmth.numbers())?;
    }
    let of = |whose: &str, words, value: f64, fits: bool| {
        if fits { Ok(()) } else { Err(Flaw::Number { whose: whose.to_owned(), words, value }) }
    };
    let kelvin = plant.temperature.kelvin();
    of("the plant", "the temperature", plant.temperature.celsius(), kelvin.is_finite() && kelvin > 0.0)?;
    of("the plant", "the altitude", plant.altitude.si(), plant.altitude.si().is_finite())?;
    for leak in &plant.leaks {
        let (along, mm2) = (leak.along, leak.area.si() * 1e6);
        of("a hole", "its place along the node", along, (0.0..=1.0).contains(&along))?;
        of("a hole", "the area", mm2, mm2.is_finite() && mm2 >= 0.0)?;
    }
    fuel(&plant.fuel, plant.temperature)
}

/// Fuel of fixed properties is an outsider's own: its numbers are asked for, too.
fn fuel(filling: &Filling, at: Temperature) -> Result<(), Flaw> {
    let f = filling.at(at);
    let above_zero = |v: f64| v.is_finite() && v > 0.0;
    let not_below = |v: f64| v.is_finite() && v >= 0.0;
    for (words, value, fits) in [
        ("the density", f.density, above_zero(f.density)),
        ("the viscosity", f.viscosity, above_zero(f.viscosity)),
        ("the viscosity at 20 °C", f.viscosity_at_20, above_zero(f.viscosity_at_20)),
        ("the bulk modulus", f.bulk_modulus, above_zero(f.bulk_modulus)),
        ("the vapour pressure", f.vapour_pressure, not_below(f.vapour_pressure)),
        ("the solubility of air", f.air_solubility, not_below(f.air_solubility)),
        ("the expansion", f.expansion, f.expansion.is_finite()),
    ] {
        if !fits {
            return Err(Flaw::Number { whose: "the fuel".to_owned(), words, value });
        }
    }
    Ok(())
}

/// Whether a part can have these numbers at all.
fn possible(whose: &str, numbers: Vec<Number>) -> Result<(), Flaw> {
    let impossible = |n: &Number| {
        let last = n.field.rsplit('.').next().unwrap_or_default();
        !n.value.is_finite()
            || (n.low >= 0.0 && n.value < 0.0)
            || (n.value == 0.0 && DIVIDED_BY.contains(&last))
            // a filter without any way through, a valve more than open
            || (last == "clogged" && n.value >= 1.0)
    };
    match numbers.into_iter().find(impossible) {
        Some(n) => Err(Flaw::Number { whose: whose.to_owned(), words: n.words, value: n.value }),
        None => Ok(()),
    }
}

struct Search<'p> {
    nodes: &'p [Node],
    parts: &'p [Part],
    graph: Graph<'p>,
    found: Vec<Flaw>,
}

impl<'p> Search<'p> {
    fn part(&self, index: usize) -> Named {
        Named { index, name: self.parts[index].name.clone() }
    }

    fn node(&self, index: usize) -> Named {
        Named { index, name: self.nodes[index].name.clone() }
    }

    fn names(&mut self) {
        for (i, node) in self.nodes.iter().enumerate() {
            if let Some(first) = self.nodes[..i].iter().position(|n| n.name == node.name) {
                self.found.push(Flaw::TwoNodes { first: self.node(first), again: self.node(i) });
            }
            if KIT.contains(&node.name.as_str()) {
                self.found.push(Flaw::KitName(self.node(i)));
            }
        }
        for (i, part) in self.parts.iter().enumerate() {
            if let Some(first) = self.parts[..i].iter().position(|p| p.name == part.name) {
                self.found.push(Flaw::TwoParts { first: self.part(first), again: self.part(i) });
            }
        }
    }

    fn engine_and_tank(&mut self) {
        if self.graph.tanks.is_empty() {
            self.found.push(Flaw::NoTank);
        }
        let engines: Vec<usize> =
            (0..self.parts.len()).filter(|&i| matches!(self.parts[i].is, Component::Engine(_))).collect();
        match engines[..] {
            [] => self.found.push(Flaw::NoEngine),
            [first, ref more @ ..] => {
                for &i in more {
                    self.found.push(Flaw::MoreEngines { first: self.part(first), part: self.part(i) });
                }
            }
        }
    }

    fn ends(&mut self, i: usize) {
        let is = &self.parts[i].is;
        let ends = is.ends();
        for (field, end) in is.end_fields().iter().zip(&ends) {
            if !self.graph.has(end) {
                self.found.push(Flaw::UnknownNode { part: self.part(i), field, node: (*end).to_owned() });
            }
        }
        if let [from, to] = ends[..]
            && from == to
        {
            self.found.push(Flaw::SameEnds { part: self.part(i), node: from.to_owned() });
        }
    }

    fn references(&mut self, i: usize) {
        match &self.parts[i].is {
            Component::Tank(tank) => {
                if let Some(to) = &tank.overflows_to {
                    self.reference(i, "overflows_to", to, Meant::Tank);
                    if *to == tank.outlet {
                        self.found.push(Flaw::OwnOverflow(self.part(i)));
                    }
                }
            }
            Component::SwirlPot(pot) => self.reference(i, "tank", &pot.tank, Meant::Tank),
            Component::Engine(engine) => {
                if let Some(node) = &engine.returns_to {
                    self.reference(i, "returns_to", node, Meant::Node);
                    if *node == engine.gallery {
                        self.found.push(Flaw::OwnReturn(self.part(i)));
                    }
                }
            }
            Component::ElectricPump(pump) => {
                self.reference(i, "tank", &pump.tank, Meant::Reservoir);
                match &pump.command {
                    Command::Demand { sensor, .. } => self.reference(i, "command.sensor", sensor, Meant::Lines),
                    Command::Float { tank, .. } => self.reference(i, "command.tank", tank, Meant::Tank),
                    Command::KeyAndEngine { .. } => {}
                }
            }
            _ => {}
        }
    }

    fn reference(&mut self, i: usize, field: &'static str, name: &str, meant: Meant) {
        let graph = &self.graph;
        let fits = match meant {
            Meant::Tank => graph.tanks.contains(&name),
            Meant::Reservoir => graph.is_reservoir(name),
            Meant::Lines => graph.has(name) && !graph.is_reservoir(name),
            Meant::Node => graph.has(name),
        };
        let (part, node) = (self.part(i), name.to_owned());
        if !graph.has(name) {
            self.found.push(Flaw::UnknownNode { part, field, node });
        } else if !fits {
            self.found.push(Flaw::WrongReference { part, field, node, meant });
        }
    }

    fn unfit(&mut self, i: usize) {
        let graph = &self.graph;
        let open = |node: &str| graph.is_reservoir(node);
        let unfit: Vec<Unfit> = match &self.parts[i].is {
            is @ (Component::GearPump(_) | Component::DiaphragmPump(_)) => {
                let ends = is.ends();
                let at = |k: usize, unfit: Unfit| ends.get(k).is_some_and(|end| open(end)).then_some(unfit);
                at(0, Unfit::DrawsFromTank).into_iter().chain(at(1, Unfit::DeliversIntoTank)).collect()
            }
            Component::ElectricPump(pump) if open(&pump.to) => vec![Unfit::DeliversIntoTank],
            Component::JetPump(jet) if graph.has(&jet.to) && !graph.pots.contains(&jet.to.as_str()) => {
                vec![Unfit::JetWithoutPot]
            }
            Component::Engine(engine) if open(&engine.gallery) => vec![Unfit::FedFromTank],
            _ => vec![],
        };
        let part = self.part(i);
        self.found.extend(unfit.into_iter().map(|unfit| Flaw::UnfitEnd { part: part.clone(), unfit }));
    }

    /// Two tanks or pots can't stand for one node.
    fn shared_outlets(&mut self) {
        let outlet = |part: &'p Part| match &part.is {
            Component::Tank(tank) => Some(&tank.outlet),
            Component::SwirlPot(pot) => Some(&pot.outlet),
            _ => None,
        };
        for (i, part) in self.parts.iter().enumerate() {
            let Some(node) = outlet(part) else { continue };
            if let Some(first) = self.parts[..i].iter().position(|p| outlet(p) == Some(node)) {
                self.found.push(Flaw::SharedOutlet { first: self.part(first), part: self.part(i) });
            }
        }
    }

    /// Nodes that hang in nothing, and those that hang together but with no tank: one of each such island is told.
    fn loose_nodes(&mut self) {
        let joined = self.graph.joined();
        for (i, node) in self.nodes.iter().enumerate() {
            if !joined.contains(node.name.as_str()) {
                self.found.push(Flaw::Floating(self.node(i)));
            }
        }
        let open: Vec<&str> = self.graph.tanks.iter().chain(&self.graph.pots).copied().collect();
        if open.is_empty() {
            return;
        }
        let mut known = self.graph.joined_to(&open);
        for (i, node) in self.nodes.iter().enumerate() {
            let name = node.name.as_str();
            if !joined.contains(name) || known.contains(name) {
                continue;
            }
            let island = self.graph.joined_to(&[name]);
            let stands_by = island.len() == 1 && self.graph.galleries.contains(&name);
            known.extend(island);
            if !stands_by {
                self.found.push(Flaw::NoAir(self.node(i)));
            }
        }
    }

    /// Two pumps of fixed flow with hardly any fuel between them: the slightest difference between the
    /// two moves the pressure by bars.
    fn pumps_in_series(&mut self) {
        let fixed = |c: &Component| matches!(c, Component::GearPump(_) | Component::DiaphragmPump(_));
        for (i, part) in self.parts.iter().enumerate().filter(|(_, p)| fixed(&p.is)) {
            let &[from, _] = &part.is.ends()[..] else { continue };
            let delivers = |p: &Part| fixed(&p.is) && p.is.ends().get(1) == Some(&from);
            let Some(first) = self.parts.iter().position(delivers) else { continue };
            let volume_ml = self.graph.volume_ml(from);
            if first != i && volume_ml < LEAST_BETWEEN_ML {
                self.found.push(Flaw::PumpsInSeries { first: self.part(first), part: self.part(i), volume_ml });
            }
        }
    }

    /// Pumps that push into one space that nothing leaves. Without an engine, what they deliver can't but
    /// stay; that was said already.
    fn opposed_pumps(&mut self) {
        let graph = &self.graph;
        if graph.galleries.is_empty() {
            return;
        }
        let pumps: Vec<(usize, &str)> = (self.parts.iter().enumerate())
            .filter(|(_, p)| is_pump(&p.is))
            .filter_map(|(i, p)| Some((i, *p.is.ends().get(1)?)))
            .collect();
        let mut opposed = vec![];
        for (k, &(i, outlet)) in pumps.iter().enumerate() {
            let space = graph.region(outlet, true, None);
            let Some(&(first, _)) = pumps[..k].iter().find(|(_, other)| space.contains(other)) else { continue };
            let open = (space.iter())
                .any(|node| graph.is_reservoir(node) || graph.galleries.contains(node) || graph.leaves(node));
            if !open {
                opposed.push((first, i));
            }
        }
        for (first, i) in opposed {
            self.found.push(Flaw::OpposedPumps { first: self.part(first), part: self.part(i) });
        }
    }
}
