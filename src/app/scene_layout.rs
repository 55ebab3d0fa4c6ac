//! Where each part of a plant stands in the drawing. Pure: plant in, places out.
//!
//! The parts are met in the order of flow, from the tank to the engine. What comes before the first
//! filter runs along the floor of the vehicle; the filter and what follows stand in the engine bay.

use crate::plant::Plant;
use crate::plant::component::Component;

/// Size of the drawing in its own units.
pub const SIZE: (f32, f32) = (752.0, 262.0);
/// The tank: left, top, right, bottom.
pub const TANK: (f32, f32, f32, f32) = (84.0, 158.0, 236.0, 214.0);
/// Mouth of the pick-up.
pub const PICKUP: (f32, f32) = (208.0, 188.0);
/// Height of the run along the floor.
pub const FLOOR: f32 = 114.0;
/// Height of the engine bay's run.
pub const BAY: f32 = 164.0;
/// Where the line turns down into the engine bay.
pub const TURN: f32 = 552.0;
/// Middle of the engine.
pub const ENGINE: f32 = 714.0;

/// A part and its place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedPart {
    /// Name in the plant.
    pub name: String,
    /// As people call it.
    pub label: String,
    /// Few words for the drawing: the name, which is shorter.
    pub short: String,
    /// Kind in an author's words.
    pub kind: &'static str,
    /// There is a hand primer on it.
    pub primer: bool,
    /// Middle of its symbol.
    pub at: (f32, f32),
}

/// A joint and its place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedJoint {
    /// Name of the node.
    pub name: String,
    /// Label.
    pub label: String,
    /// Place.
    pub at: (f32, f32),
}

/// The drawing.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Layout {
    /// Parts in the order of flow; the tank first.
    pub parts: Vec<PlacedPart>,
    /// Joints in the order of flow.
    pub joints: Vec<PlacedJoint>,
}

/// One thing met on the way: a part or a node between parts.
enum Met<'a> {
    Part(usize),
    Node(&'a str),
}

/// The way from the tank to the engine.
fn way(plant: &Plant) -> Vec<Met<'_>> {
    let mut met = Vec::new();
    let mut used = vec![false; plant.parts.len()];
    let Some(tank) = plant.parts.iter().position(|p| matches!(p.is, Component::Tank(_))) else {
        return met;
    };
    used[tank] = true;
    met.push(Met::Part(tank));
    let mut node = plant.parts[tank].is.ends()[0];
    loop {
        met.push(Met::Node(node));
        let next = plant.parts.iter().enumerate().find(|(i, p)| !used[*i] && p.is.ends()[0] == node);
        let Some((i, part)) = next else { break };
        used[i] = true;
        met.push(Met::Part(i));
        match part.is.ends().get(1) {
            Some(to) => node = to,
            None => break,
        }
    }
    met
}

/// Whether something stands on the floor's run or in the engine bay, by index on the way.
fn bay_begins(plant: &Plant, met: &[Met<'_>]) -> usize {
    let is = |m: &Met<'_>, kinds: &[&str]| matches!(m, Met::Part(i) if kinds.contains(&plant.parts[*i].is.kind()));
    met.iter()
        .position(|m| is(m, &["Filter"]))
        .or_else(|| met.iter().position(|m| is(m, &["GearPump", "Engine"])))
        .unwrap_or(met.len())
}

/// Lays a plant out. `joints` are the joints of the job: name and label.
pub fn lay_out(plant: &Plant, joints: &[(String, String)]) -> Layout {
    let met = way(plant);
    let bay = bay_begins(plant, &met);
    let mut layout = Layout::default();
    // what is drawn takes a place; lines and plain nodes are only pipe
    let drawn = |m: &Met<'_>| match m {
        Met::Part(i) => !matches!(plant.parts[*i].is, Component::Tank(_) | Component::Strainer(_) | Component::Engine(_)),
        Met::Node(name) => joints.iter().any(|(n, _)| n == name),
    };
    let floor = met[..bay.min(met.len())].iter().filter(|m| drawn(m)).count();
    let engine_bay = met[bay.min(met.len())..].iter().filter(|m| drawn(m)).count();
    let (mut on_floor, mut in_bay) = (0, 0);
    for (k, m) in met.iter().enumerate() {
        let at = match m {
            Met::Part(i) if matches!(plant.parts[*i].is, Component::Tank(_)) => ((TANK.0 + TANK.2) / 2.0 - 30.0, 190.0),
            Met::Part(i) if matches!(plant.parts[*i].is, Component::Strainer(_)) => PICKUP,
            Met::Part(i) if matches!(plant.parts[*i].is, Component::Engine(_)) => (ENGINE, BAY),
            m if !drawn(m) => continue,
            _ if k < bay => {
                on_floor += 1;
                (slot(PICKUP.0 + 10.0, TURN + 6.0, on_floor, floor), FLOOR)
            }
            _ => {
                in_bay += 1;
                (slot(TURN - 6.0, ENGINE - 22.0, in_bay, engine_bay), BAY)
            }
        };
        match m {
            Met::Part(i) => {
                let part = &plant.parts[*i];
                let primer = matches!(&part.is, Component::Filter(f) if f.primer_stroke.is_some());
                layout.parts.push(PlacedPart {
                    name: part.name.clone(),
                    label: part.label.clone(),
                    short: part.name.clone(),
                    kind: part.is.kind(),
                    primer,
                    at,
                });
            }
            Met::Node(name) => {
                let label = joints.iter().find(|(n, _)| n == name).map(|(_, l)| l.clone()).unwrap_or_default();
                layout.joints.push(PlacedJoint { name: (*name).to_owned(), label, at });
            }
        }
    }
    layout
}

/// The n-th of `count` equal places between two ends.
fn slot(from: f32, to: f32, n: usize, count: usize) -> f32 {
    from + (to - from) * n as f32 / (count as f32 + 1.0)
}
