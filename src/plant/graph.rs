//! The graph that a plant's parts make of its nodes, as checks walk through it.

use std::collections::BTreeSet;

use super::component::Component;
use super::{Node, Part};

/// Nodes and parts, with what one asks of them.
pub(crate) struct Graph<'p> {
    pub(crate) nodes: &'p [Node],
    pub(crate) parts: &'p [Part],
    /// Outlets of tanks.
    pub(crate) tanks: Vec<&'p str>,
    /// Outlets of pots.
    pub(crate) pots: Vec<&'p str>,
    /// Galleries of engines.
    pub(crate) galleries: Vec<&'p str>,
}

/// Whether a part moves fuel by itself.
pub(crate) const fn is_pump(component: &Component) -> bool {
    matches!(component, Component::GearPump(_) | Component::DiaphragmPump(_) | Component::ElectricPump(_))
}

/// Whether fuel passes a part backwards, too.
const fn is_open(component: &Component) -> bool {
    !is_pump(component)
        && !matches!(component, Component::NonReturnValve(_) | Component::Relief(_) | Component::JetPump(_))
}

impl<'p> Graph<'p> {
    pub(crate) fn new(nodes: &'p [Node], parts: &'p [Part]) -> Self {
        let mut graph = Self { nodes, parts, tanks: vec![], pots: vec![], galleries: vec![] };
        for part in parts {
            match &part.is {
                Component::Tank(tank) => graph.tanks.push(&tank.outlet),
                Component::SwirlPot(pot) => graph.pots.push(&pot.outlet),
                Component::Engine(engine) => graph.galleries.push(&engine.gallery),
                _ => {}
            }
        }
        graph
    }

    /// Whether fuel stands in the open at a node: it is the outlet of a tank or a pot.
    pub(crate) fn is_reservoir(&self, node: &str) -> bool {
        self.tanks.contains(&node) || self.pots.contains(&node)
    }

    /// Whether there is a node of this name.
    pub(crate) fn has(&self, node: &str) -> bool {
        self.nodes.iter().any(|n| n.name == node)
    }

    /// Ways of the fuel: two-ended parts from end to end, and the engine's return.
    fn ways(&self) -> impl Iterator<Item = (&'p str, &'p str)> {
        let parts: &'p [Part] = self.parts;
        parts.iter().filter_map(|part| match (&part.is, &part.is.ends()[..]) {
            (Component::Engine(engine), _) => Some((engine.gallery.as_str(), engine.returns_to.as_deref()?)),
            (_, &[from, to]) => Some((from, to)),
            _ => None,
        })
    }

    /// Nodes that are joined to anything.
    pub(crate) fn joined(&self) -> BTreeSet<&'p str> {
        let parts: &'p [Part] = self.parts;
        let returns = self.ways().flat_map(|(from, to)| [from, to]);
        parts.iter().flat_map(|p| p.is.ends()).chain(returns).collect()
    }

    /// Nodes that the fuel comes to from others, or comes to others from.
    pub(crate) fn reached(&self, from: &[&'p str], with_the_flow: bool) -> BTreeSet<&'p str> {
        let ways: Vec<(&str, &str)> = self.ways().collect();
        let mut seen: BTreeSet<&str> = from.iter().copied().collect();
        let mut open: Vec<&str> = from.to_vec();
        while let Some(node) = open.pop() {
            for &(a, b) in &ways {
                let next = match with_the_flow {
                    true if a == node => b,
                    false if b == node => a,
                    _ => continue,
                };
                if seen.insert(next) {
                    open.push(next);
                }
            }
        }
        seen
    }

    /// Nodes that hang together with these in any way, whichever way fuel goes.
    pub(crate) fn joined_to(&self, from: &[&'p str]) -> BTreeSet<&'p str> {
        let mut seen: BTreeSet<&str> = from.iter().copied().collect();
        let mut open: Vec<&str> = from.to_vec();
        while let Some(node) = open.pop() {
            for (a, b) in self.ways() {
                let next = match node {
                    n if n == a => b,
                    n if n == b => a,
                    _ => continue,
                };
                if seen.insert(next) {
                    open.push(next);
                }
            }
        }
        seen
    }

    /// Nodes that share the pressure of one: through everything that lets fuel pass, which no pump and no
    /// tank does, nor a shut-off valve if asked, nor a tee with its valve shut at the node `shut_at`.
    pub(crate) fn region(&self, start: &'p str, through_valves: bool, shut_at: Option<&str>) -> BTreeSet<&'p str> {
        let mut seen = BTreeSet::from([start]);
        let mut open = vec![start];
        let parts: &'p [Part] = self.parts;
        while let Some(node) = open.pop() {
            if self.is_reservoir(node) || shut_at == Some(node) {
                continue;
            }
            for part in parts {
                let &[from, to] = &part.is.ends()[..] else { continue };
                let shut = !through_valves && matches!(part.is, Component::ShutOffValve(_));
                if is_pump(&part.is) || shut || matches!(part.is, Component::Relief(_)) {
                    continue;
                }
                let next = match node {
                    n if n == from => to,
                    n if n == to && is_open(&part.is) => from,
                    _ => continue,
                };
                if seen.insert(next) {
                    open.push(next);
                }
            }
        }
        seen
    }

    /// Whether a pump, or the engine's return, pushes fuel to a node.
    pub(crate) fn is_pushed(&self, node: &str) -> bool {
        self.parts.iter().any(|part| {
            let pushed = match (&part.is, &part.is.ends()[..]) {
                (Component::Engine(engine), _) => engine.returns_to.as_deref(),
                (c, &[_, to]) if is_pump(c) => Some(to),
                _ => None,
            };
            pushed.is_some_and(|start| self.region(start, true, None).contains(node))
        })
    }

    /// Whether a pump, a relief or a jet takes fuel out of the space at this node.
    pub(crate) fn leaves(&self, node: &str) -> bool {
        self.parts.iter().any(|p| {
            (is_pump(&p.is) || matches!(p.is, Component::Relief(_) | Component::JetPump(_)))
                && p.is.ends().first() == Some(&node)
        })
    }

    /// Volume at a node, ml: its own and what lines, filters and bowls add.
    pub(crate) fn volume_ml(&self, node: &str) -> f64 {
        let own: f64 = self.nodes.iter().filter(|n| n.name == node).map(|n| n.volume.si()).sum();
        let added: f64 = self.parts.iter().map(|part| added_m3(&part.is, node)).sum();
        (own + added) * 1e6
    }
}

fn added_m3(component: &Component, node: &str) -> f64 {
    match component {
        Component::Line(line) if line.from == node || line.to == node => {
            0.5 * core::f64::consts::FRAC_PI_4 * line.bore.si() * line.bore.si() * line.length.si()
        }
        Component::Filter(filter) if filter.from == node => filter.bowl.si(),
        Component::Filter(filter) if filter.to == node => filter.clean_side.si(),
        Component::SedimentBowl(bowl) if bowl.to == node => bowl.bowl.si(),
        Component::Engine(engine) if engine.gallery == node => engine.volume.si(),
        _ => 0.0,
    }
}
