//! What runs from where to where in a plant: the main way from the tank to the engine, and the side ways that
//! leave it or come back. The drawing places them, the opened line follows the main one.

use std::collections::BTreeSet;

use super::Plant;
use super::component::Component;

/// One thing met on a way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stop {
    /// A part, by its place in the plant.
    Part(usize),
    /// A node between two parts, by name.
    Node(String),
}

/// Where a side way begins or ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum End {
    /// At the engine's return.
    Engine,
    /// At a node of the main way.
    Main(String),
    /// In a tank or pot, by its place in the plant.
    Tank(usize),
    /// At a node of another side way.
    Side(String),
    /// Nowhere that is known.
    Open,
}

/// A way beside the main one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Side {
    /// Where it begins.
    pub from: End,
    /// What it meets.
    pub stops: Vec<Stop>,
    /// Where it ends.
    pub to: End,
}

/// The ways of a plant.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Graph {
    /// From the tank to the engine, both included.
    pub main: Vec<Stop>,
    /// The others; the engine's return first.
    pub sides: Vec<Side>,
}

/// Finds the ways.
pub fn ways(plant: &Plant) -> Graph {
    let mut search = Search { plant, used: vec![false; plant.parts.len()], nodes: BTreeSet::new() };
    let main = search.main();
    let sides = search.sides(&main);
    Graph { main, sides }
}

struct Search<'a> {
    plant: &'a Plant,
    used: Vec<bool>,
    /// Nodes of the main way.
    nodes: BTreeSet<String>,
}

impl Search<'_> {
    fn main(&mut self) -> Vec<Stop> {
        let Some((engine, gallery)) = self.plant.parts.iter().enumerate().find_map(|(i, p)| match &p.is {
            Component::Engine(e) => Some((i, e.gallery.clone())),
            _ => None,
        }) else {
            return vec![];
        };
        self.used[engine] = true;
        let mut way = vec![Stop::Part(engine)];
        let mut node = gallery;
        // a plant has no more parts than it has; each turn takes one
        for _ in 0..=self.plant.parts.len() {
            if !self.nodes.insert(node.clone()) {
                break;
            }
            way.push(Stop::Node(node.clone()));
            if let Some(i) = self.vessel_at(&node) {
                self.used[i] = true;
                way.push(Stop::Part(i));
                if let Component::SwirlPot(pot) = &self.plant.parts[i].is
                    && let Some(tank) = self.plant.parts.iter().position(|p| p.name == pot.tank)
                    && !self.used[tank]
                {
                    self.used[tank] = true;
                    way.push(Stop::Part(tank));
                    break;
                }
            }
            let Some(i) = self.upstream(&node) else { break };
            self.used[i] = true;
            way.push(Stop::Part(i));
            node = self.plant.parts[i].is.ends()[0].to_owned();
        }
        way.reverse();
        way
    }

    /// The tank or pot whose outlet a node is, if it wasn't met yet.
    fn vessel_at(&self, node: &str) -> Option<usize> {
        let is = |c: &Component| matches!(c, Component::Tank(_) | Component::SwirlPot(_)) && c.ends()[0] == node;
        self.plant.parts.iter().enumerate().position(|(i, p)| !self.used[i] && is(&p.is))
    }

    /// The part through which a node is fed: one that leads back to a tank, sooner than a relief or a jet.
    fn upstream(&self, node: &str) -> Option<usize> {
        let into = self
            .plant
            .parts
            .iter()
            .enumerate()
            .filter(|(i, p)| !self.used[*i] && p.is.ends().get(1) == Some(&node));
        let fed = into.filter(|(_, p)| self.leads_back(p.is.ends()[0]));
        fed.min_by_key(|(_, p)| match p.is {
            Component::Relief(_) | Component::JetPump(_) => 2,
            Component::NonReturnValve(_) => 1,
            _ => 0,
        })
        .map(|(i, _)| i)
    }

    fn leads_back(&self, node: &str) -> bool {
        let mut seen = vec![node.to_owned()];
        let mut next = 0;
        while next < seen.len() {
            let here = seen[next].clone();
            next += 1;
            if self.nodes.contains(&here) {
                continue;
            }
            if self.vessel_at(&here).is_some() {
                return true;
            }
            for part in &self.plant.parts {
                let ends = part.is.ends();
                if ends.get(1) == Some(&here.as_str()) && !seen.iter().any(|s| s == ends[0]) {
                    seen.push(ends[0].to_owned());
                }
            }
        }
        false
    }

    fn sides(&mut self, main: &[Stop]) -> Vec<Side> {
        let mut sides: Vec<Side> = Vec::new();
        let mut side_nodes: BTreeSet<String> = BTreeSet::new();
        let engine = main.iter().find_map(|stop| match stop {
            Stop::Part(i) => match &self.plant.parts[*i].is {
                Component::Engine(e) => Some(e),
                _ => None,
            },
            Stop::Node(_) => None,
        });
        if let Some(engine) = engine {
            match &engine.returns_to {
                Some(node) if !self.nodes.contains(node) => {
                    sides.push(self.follow(End::Engine, vec![Stop::Node(node.clone())], node, &mut side_nodes));
                }
                None if engine.overflow.is_some() => {
                    let tank = main.iter().find_map(|s| self.tank_of(s)).map_or(End::Open, End::Tank);
                    sides.push(Side { from: End::Engine, stops: vec![], to: tank });
                }
                _ => {}
            }
        }
        loop {
            let unused =
                || self.plant.parts.iter().enumerate().filter(|(i, p)| !self.used[*i] && p.is.ends().len() == 2);
            let first = |from_main: bool| {
                unused()
                    .find(|(_, p)| {
                        let from = p.is.ends()[0];
                        let fed = unused().any(|(_, q)| q.is.ends()[1] == from);
                        if from_main { self.nodes.contains(from) } else { !fed }
                    })
                    .map(|(i, _)| i)
            };
            let Some(i) = first(true).or_else(|| first(false)).or_else(|| unused().next().map(|(i, _)| i)) else {
                break;
            };
            let (from, to) = {
                let ends = self.plant.parts[i].is.ends();
                (ends[0].to_owned(), ends[1].to_owned())
            };
            self.used[i] = true;
            let begins = if self.nodes.contains(&from) { End::Main(from) } else { self.known(&from, &side_nodes) };
            sides.push(self.follow(begins, vec![Stop::Part(i)], &to, &mut side_nodes));
        }
        sides
    }

    fn tank_of(&self, stop: &Stop) -> Option<usize> {
        match stop {
            Stop::Part(i) if matches!(self.plant.parts[*i].is, Component::Tank(_)) => Some(*i),
            _ => None,
        }
    }

    /// What a node is, as the end of a side way.
    fn known(&self, node: &str, side_nodes: &BTreeSet<String>) -> End {
        let vessel =
            self.plant.parts.iter().position(|p| {
                matches!(p.is, Component::Tank(_) | Component::SwirlPot(_)) && p.is.ends()[0] == node
            });
        match vessel {
            Some(i) => End::Tank(i),
            None if self.nodes.contains(node) => End::Main(node.to_owned()),
            None if side_nodes.contains(node) => End::Side(node.to_owned()),
            None => End::Open,
        }
    }

    /// Goes on from a node until it meets something known.
    fn follow(&mut self, from: End, mut stops: Vec<Stop>, node: &str, side_nodes: &mut BTreeSet<String>) -> Side {
        let mut node = node.to_owned();
        loop {
            match self.known(&node, side_nodes) {
                End::Open => {}
                to => return Side { from, stops, to },
            }
            side_nodes.insert(node.clone());
            if stops.last() != Some(&Stop::Node(node.clone())) {
                stops.push(Stop::Node(node.clone()));
            }
            let next = self.plant.parts.iter().enumerate().find(|(i, p)| {
                let ends = p.is.ends();
                !self.used[*i] && ends.len() == 2 && ends[0] == node
            });
            let Some((i, part)) = next else { return Side { from, stops, to: End::Open } };
            node = part.is.ends()[1].to_owned();
            self.used[i] = true;
            stops.push(Stop::Part(i));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Kind, Library, load_plant};

    fn graph(name: &str) -> (Plant, Graph) {
        let plant = load_plant(&Library::builtin(), name).expect("a built-in plant").0;
        let graph = ways(&plant);
        (plant, graph)
    }

    fn names(plant: &Plant, stops: &[Stop]) -> Vec<String> {
        let part = |s: &Stop| if let Stop::Part(i) = s { Some(plant.parts[*i].name.clone()) } else { None };
        stops.iter().filter_map(part).collect()
    }

    #[test]
    fn every_part_of_every_vehicle_lies_on_one_way() {
        for name in Library::builtin().names(Kind::Plant) {
            let (plant, graph) = graph(&name);
            let sides = graph.sides.iter().flat_map(|s| s.stops.clone());
            let all: Vec<Stop> = graph.main.iter().cloned().chain(sides).collect();
            let mut met = names(&plant, &all);
            met.sort();
            let mut parts: Vec<String> = plant.parts.iter().map(|p| p.name.clone()).collect();
            parts.sort();
            assert_eq!(met, parts, "{name}");
            assert!(graph.sides.iter().all(|s| s.to != End::Open), "{name}: {:?}", graph.sides);
        }
    }

    #[test]
    fn the_main_way_of_the_generating_set_starts_in_the_bulk_tank() {
        let (plant, graph) = graph("a8-genset");
        let way = names(&plant, &graph.main);
        assert_eq!(way.first().map(String::as_str), Some("bulk tank"));
        assert_eq!(way.last().map(String::as_str), Some("engine"));
        assert!(way.contains(&"day tank".to_owned()) && way.contains(&"transfer pump".to_owned()));
    }

    #[test]
    fn what_comes_back_is_a_side_way() {
        let (plant, graph) = graph("a4-hatchback");
        assert_eq!(names(&plant, &graph.sides[0].stops), ["regulator", "jet pump"]);
        let (plant, graph) = super::tests::graph("a3-minibus");
        assert_eq!(graph.sides[0].from, End::Engine);
        assert_eq!(names(&plant, &graph.sides[0].stops), ["return line"]);
        assert_eq!(graph.sides[1].to, End::Side("return".to_owned()));
    }
}
