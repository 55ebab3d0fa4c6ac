//! Where each part of a plant stands in the drawing. Pure: plant in, places out.
//!
//! The parts are met in the order of flow, from the tank to the engine. What comes before the first
//! filter runs along the floor of the vehicle; the filter and what follows stand in the engine bay.

use crate::plant::component::Component;
use crate::plant::{Part, Plant};

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
    /// Where the line turns down into the engine bay.
    pub turn: f32,
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
///
/// Symbols and joints share the run in equal steps; a line lies between two of them.
pub fn lay_out(plant: &Plant, joints: &[(String, String)]) -> Layout {
    let met = way(plant);
    let bay = bay_begins(plant, &met);
    let is_line = |m: &Met<'_>| matches!(m, Met::Part(i) if matches!(plant.parts[*i].is, Component::Line(_)));
    let takes_step = |m: &Met<'_>| match m {
        Met::Part(i) => !matches!(
            plant.parts[*i].is,
            Component::Tank(_) | Component::Strainer(_) | Component::Line(_) | Component::Engine(_)
        ),
        Met::Node(name) => joints.iter().any(|(n, _)| n == name),
    };
    let on_floor = met[..bay.min(met.len())].iter().filter(|m| takes_step(m)).count();
    let in_bay = met[bay.min(met.len())..].iter().filter(|m| takes_step(m)).count();
    let (start, end) = (PICKUP.0 + 8.0, ENGINE - 6.0);
    let step = (end - start) / (on_floor + in_bay + 2) as f32;
    // half a step before the first thing in the bay
    let turn = start + step * (on_floor as f32 + 0.9);
    let mut layout = Layout { turn, ..Layout::default() };
    let mut x = start;
    for (k, m) in met.iter().enumerate() {
        let run = if k < bay { FLOOR } else { BAY };
        let at = match m {
            Met::Part(i) if matches!(plant.parts[*i].is, Component::Tank(_)) => {
                ((TANK.0 + TANK.2) / 2.0 - 30.0, 190.0)
            }
            Met::Part(i) if matches!(plant.parts[*i].is, Component::Strainer(_)) => PICKUP,
            Met::Part(i) if matches!(plant.parts[*i].is, Component::Engine(_)) => (ENGINE, BAY),
            m if is_line(m) => (x + step * 0.42, run),
            m if takes_step(m) => {
                x += step;
                // the bay's run starts after the turn
                if k >= bay && x < turn + step * 0.5 {
                    x = turn + step * 0.6;
                }
                (x, run)
            }
            _ => continue,
        };
        match m {
            Met::Part(i) => layout.parts.push(placed(&plant.parts[*i], at)),
            Met::Node(name) => {
                let label = joints.iter().find(|(n, _)| n == name).map(|(_, l)| l.clone()).unwrap_or_default();
                layout.joints.push(PlacedJoint { name: (*name).to_owned(), label, at });
            }
        }
    }
    layout
}

fn placed(part: &Part, at: (f32, f32)) -> PlacedPart {
    PlacedPart {
        name: part.name.clone(),
        label: part.label.clone(),
        short: part.name.clone(),
        kind: part.is.kind(),
        primer: matches!(&part.is, Component::Filter(f) if f.primer_stroke.is_some()),
        at,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Library, load_job};

    #[test]
    fn every_part_and_joint_of_every_job_has_a_place_of_its_own() {
        let library = Library::builtin();
        for name in library.jobs() {
            let Ok((job, _)) = load_job(&library, &name) else { panic!("{name}") };
            let layout = lay_out(&job.plant, &job.joints);
            assert_eq!(layout.parts.len(), job.plant.parts.len(), "{name}");
            assert_eq!(layout.joints.len(), job.joints.len(), "{name}");
            let mut places: Vec<(f32, f32)> =
                layout.parts.iter().filter(|p| p.kind != "Tank").map(|p| p.at).collect();
            places.extend(layout.joints.iter().map(|j| j.at));
            for (i, a) in places.iter().enumerate() {
                assert!(a.0 > 0.0 && a.0 < SIZE.0 && a.1 > 0.0 && a.1 < SIZE.1, "{name}: {a:?}");
                for b in &places[i + 1..] {
                    let apart = ((a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)).sqrt();
                    assert!(apart >= 18.0, "{name}: {a:?} and {b:?}");
                }
            }
        }
    }

    #[test]
    fn the_way_runs_from_the_tank_to_the_engine() {
        let library = Library::builtin();
        let Ok((job, _)) = load_job(&library, "bypass-puff") else { panic!("no job") };
        let layout = lay_out(&job.plant, &job.joints);
        assert_eq!(layout.parts.first().unwrap().kind, "Tank");
        assert_eq!(layout.parts.last().unwrap().kind, "Engine");
        let xs: Vec<f32> = layout.parts[1..].iter().map(|p| p.at.0).collect();
        assert!(xs.windows(2).all(|w| w[0] < w[1]), "{xs:?}");
    }
}
