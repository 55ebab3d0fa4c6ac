//! Where everything of a plant stands in the drawing. Pure: plant in, places out.
//!
//! The main way runs from the tank to the engine, left to right: what hangs in the tank inside its outline, what
//! lies along the vehicle at the height of the floor, what follows in the engine bay. A way too long for one row
//! is folded like lines of a text. Side ways run in lanes above, inside the tank, or as a riser between the main
//! way and a lane. [`crate::plant::ways`] says what belongs to which way.

mod main_way;
mod sides;
mod tags;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use super::outlines::{self, Outline};
use crate::language::{named, said};
use crate::plant::component::Component;
use crate::plant::ways::{End, Graph, Side, Stop, ways};
use crate::plant::{Part, Place, Plant};
pub use tags::{container_field, overlaps, second_field, tee_field};

/// Least width and height of the drawing, in its own units.
pub const SIZE: (f32, f32) = (752.0, 262.0);
/// Width of a letter of a label, on the safe side.
const LETTER: f32 = 6.2;
/// Letters of a word up to which it isn't broken.
const LONG_WORD: usize = 9;
/// Height of a line of a label.
pub const LINE: f32 = 13.5;
/// Height of the first lane over the main way.
const LANE: f32 = 62.0;
/// From lane to lane.
const LANES: f32 = 46.0;
/// Height of the run along the floor.
const FLOOR: f32 = 118.0;
/// Height of the run in the engine bay.
const BAY: f32 = 164.0;
/// Height of a run that is fed from above.
const BELOW: f32 = 188.0;
/// From row to row of a folded way.
const ROWS: f32 = 96.0;
/// From the right edge to the middle of the engine.
const ENGINE: f32 = 40.0;

/// A point of the drawing.
pub type Spot = (f32, f32);

/// A rectangle of the drawing: left, top, right, bottom.
pub type Field = (f32, f32, f32, f32);

/// A part and its place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedPart {
    /// Name in the plant.
    pub name: String,
    /// As people call it.
    pub label: String,
    /// Lines of its label in the drawing; lines and tanks have none.
    pub short: Vec<String>,
    /// Where the label stands: middle of its upper edge.
    pub label_at: Spot,
    /// Kind in an author's words.
    pub kind: &'static str,
    /// There is a hand primer on it.
    pub primer: bool,
    /// Middle of its symbol.
    pub at: Spot,
    /// Half of its symbol's size.
    pub half: f32,
    /// Direction of flow through it.
    pub along: Spot,
}

impl PlacedPart {
    /// The field that its symbol takes.
    pub fn symbol(&self) -> Field {
        around(self.at, self.half, self.half)
    }

    /// The field that its label takes, if it has one.
    pub fn label_field(&self) -> Option<Field> {
        let wide = widest(&self.short) / 2.0;
        let (x, y) = self.label_at;
        (!self.short.is_empty()).then_some((x - wide, y, x + wide, y + LINE * self.short.len() as f32))
    }
}

/// A joint and its place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedJoint {
    /// Name of the node.
    pub name: String,
    /// Label.
    pub label: String,
    /// Place.
    pub at: Spot,
    /// A pump pushes fuel to it: the tee's valve sits on the engine's side.
    pub pushed: bool,
}

/// A tank and its outline.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedTank {
    /// Name in the plant.
    pub name: String,
    /// As people call it.
    pub label: String,
    /// Its walls.
    pub field: Field,
    /// The vehicle is filled here.
    pub main: bool,
}

/// What a pipe carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Carries {
    /// Fuel to the engine.
    Feed,
    /// Fuel that goes back or round.
    Back,
}

/// A pipe as drawn, in the direction of flow.
#[derive(Clone, Debug, PartialEq)]
pub struct Pipe {
    /// Its corners.
    pub points: Vec<Spot>,
    /// What it carries.
    pub carries: Carries,
    /// An arrow stands at its end.
    pub arrow: bool,
}

/// The drawing.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Layout {
    /// Width and height.
    pub size: Spot,
    /// Tanks; the one the vehicle is filled at first.
    pub tanks: Vec<PlacedTank>,
    /// Parts in the order of flow, then those of the side ways.
    pub parts: Vec<PlacedPart>,
    /// Joints in the order of flow, then those of the side ways.
    pub joints: Vec<PlacedJoint>,
    /// Pipes; the main way first.
    pub pipes: Vec<Pipe>,
    /// What the vehicle looks like from the side.
    pub outline: Outline,
    /// Letters in the engine's box.
    pub engine: &'static str,
}

pub(super) fn around(at: Spot, x: f32, y: f32) -> Field {
    (at.0 - x, at.1 - y, at.0 + x, at.1 + y)
}

fn widest(lines: &[String]) -> f32 {
    lines.iter().map(|l| l.chars().count() as f32 * LETTER).fold(0.0, f32::max)
}

/// A name in one or two lines of about the same length.
fn in_two(name: &str) -> Vec<String> {
    match at_a_space(name) {
        one if one.len() < 2 => broken(name),
        two => two,
    }
}

/// The same where there is room for a long word, as beside a symbol.
fn at_a_space(name: &str) -> Vec<String> {
    let words: Vec<&str> = name.split(' ').filter(|w| !w.is_empty()).collect();
    if words.len() < 2 {
        return vec![name.to_owned()];
    }
    let cut = |k: usize| [words[..k].join(" "), words[k..].join(" ")];
    let long = |k: usize| cut(k).iter().map(|l| l.chars().count()).max();
    let best = (1..words.len()).min_by_key(|k| long(*k)).unwrap_or(1);
    cut(best).to_vec()
}

/// A long compound in two lines, where the language spoken makes such words: before the thing that it ends with.
fn broken(word: &str) -> Vec<String> {
    let heads = said("scene-breaks-before").split_whitespace();
    let stems = heads.filter_map(|head| Some((word.strip_suffix(head)?, head)));
    match stems.max_by_key(|(_, head)| head.len()) {
        Some((stem, head)) if word.chars().count() > LONG_WORD && stem.chars().count() > 2 => {
            vec![format!("{stem}-"), head.to_owned()]
        }
        _ => vec![word.to_owned()],
    }
}

/// Half of the size of a kind's symbol.
fn half(kind: &str) -> f32 {
    match kind {
        "Filter" | "GearPump" | "DiaphragmPump" | "ElectricPump" => 17.0,
        "SedimentBowl" => 16.0,
        "Engine" => 19.0,
        "Strainer" => 10.0,
        "Line" => 5.5,
        _ => 12.0,
    }
}

/// How far a kind's symbol reaches up where a side way runs level: a relief valve's spring stands on its box.
fn up(kind: &str) -> f32 {
    half(kind) + if kind == "Relief" { 6.0 } else { 0.0 }
}

/// It hangs in the tank: all its ends do, or it is the gauze at the outlet.
fn in_tank(part: &Part, plant: &Plant) -> bool {
    let lies = |node: &str| plant.node(node).is_some_and(|n| n.place == Place::Tank);
    match part.is {
        Component::Strainer(_) => true,
        Component::SwirlPot(_) => true,
        Component::ElectricPump(_)
        | Component::Filter(_)
        | Component::Relief(_)
        | Component::JetPump(_)
        | Component::Restriction(_) => part.is.ends().into_iter().all(lies),
        _ => false,
    }
}

/// Lays a plant out. `joints` are the joints of the job: name and label.
pub fn lay_out(plant: &Plant, joints: &[(String, String)]) -> Layout {
    let graph = ways(plant);
    let mut draft = Draft::new(plant, joints, &graph);
    draft.main_way();
    draft.side_ways();
    draft.left_over();
    draft.layout
}

struct Draft<'a> {
    plant: &'a Plant,
    joints: &'a [(String, String)],
    graph: &'a Graph,
    layout: Layout,
    /// Where each node is met.
    anchors: BTreeMap<String, Spot>,
    /// Walls of the main tank.
    tank: Field,
    /// The tank stands above the engine.
    above: bool,
    /// Heights are moved down by this much, for more lanes.
    down: f32,
    /// Height of the run inside the tank.
    inside: f32,
    /// Height of the lane inside the tank.
    inside_lane: f32,
    engine: Spot,
    /// Lanes taken: which, from where to where.
    taken: Vec<(usize, f32, f32)>,
    /// Lane of each side node.
    side_lane: BTreeMap<String, f32>,
}

impl<'a> Draft<'a> {
    fn new(plant: &'a Plant, joints: &'a [(String, String)], graph: &'a Graph) -> Self {
        let height = |node: &str| plant.node(node).map_or(0.0, |n| n.height.si());
        let gallery = plant.engine().map_or(0.0, |e| height(&e.gallery));
        let above = match graph.main.first() {
            Some(Stop::Part(i)) => height(plant.parts[*i].is.ends()[0]) > gallery,
            _ => false,
        };
        let layout = Layout {
            size: SIZE,
            outline: outlines::of(&plant.title),
            engine: engine_letters(plant),
            ..Layout::default()
        };
        Self {
            plant,
            joints,
            graph,
            layout,
            anchors: BTreeMap::new(),
            tank: (0.0, 0.0, 0.0, 0.0),
            above,
            down: 0.0,
            inside: 0.0,
            inside_lane: 0.0,
            engine: (0.0, 0.0),
            taken: vec![],
            side_lane: BTreeMap::new(),
        }
    }

    fn part(&self, i: usize) -> &'a Part {
        &self.plant.parts[i]
    }

    fn joint_label(&self, node: &str) -> Option<String> {
        self.joints.iter().find(|(n, _)| n == node).map(|(_, l)| l.clone())
    }

    /// Width that a part takes in a row.
    fn wide(&self, i: usize) -> f32 {
        let part = self.part(i);
        match part.is {
            Component::Line(_) => 15.0,
            _ => (widest(&in_two(named(&part.name))) + 8.0).max(2.0 * half(part.is.kind()) + 8.0),
        }
    }

    /// Stops of a side way that hang in the tank: from the first one on.
    fn tank_stops(&self, side: &Side) -> usize {
        let inside = |s: &Stop| matches!(s, Stop::Part(i) if in_tank(self.part(*i), self.plant));
        side.stops.iter().position(inside).unwrap_or(side.stops.len())
    }

    /// A part with its name under it.
    fn push_named(&mut self, i: usize, at: Spot) {
        let part = self.part(i);
        let line = matches!(part.is, Component::Line(_));
        let short = if line { vec![] } else { in_two(named(&part.name)) };
        let under = at.1 + half(part.is.kind()) + 4.0;
        self.push_part(i, at, short, (at.0, under), (1.0, 0.0));
    }

    fn push_part(&mut self, i: usize, at: Spot, short: Vec<String>, label_at: Spot, along: Spot) {
        let part = self.part(i);
        self.layout.parts.push(PlacedPart {
            name: part.name.clone(),
            label: named(&part.label).to_owned(),
            short,
            label_at,
            kind: part.is.kind(),
            primer: matches!(&part.is, Component::Filter(f) if f.primer_stroke.is_some()),
            at,
            half: half(part.is.kind()),
            along,
        });
    }

    fn push_joint(&mut self, node: &str, at: Spot) {
        let label = self.joint_label(node).unwrap_or_default();
        let pushed = self.plant.is_under_pressure(node);
        self.layout.joints.push(PlacedJoint { name: node.to_owned(), label, at, pushed });
    }

    /// Parts that no way meets stand in a row of their own, so that nothing is out of reach.
    fn left_over(&mut self) {
        let placed: Vec<&str> = self.layout.parts.iter().map(|p| p.name.as_str()).collect();
        let missing: Vec<usize> =
            (0..self.plant.parts.len()).filter(|i| !placed.contains(&self.part(*i).name.as_str())).collect();
        let known: Vec<&str> = self.layout.joints.iter().map(|j| j.name.as_str()).collect();
        let lost: Vec<String> =
            self.joints.iter().map(|(n, _)| n.clone()).filter(|n| !known.contains(&n.as_str())).collect();
        if missing.is_empty() && lost.is_empty() {
            return;
        }
        self.layout.size.1 += 60.0;
        let y = self.layout.size.1 - 44.0;
        let mut x = 20.0;
        for i in missing {
            let wide = self.wide(i);
            self.push_named(i, (x + wide / 2.0, y));
            x += wide + 8.0;
        }
        for node in lost {
            self.push_joint(&node, (x + 16.0, y));
            x += 40.0;
        }
        self.layout.size.0 = self.layout.size.0.max(x + 12.0);
    }
}

/// Letters in the engine's box, by what takes the fuel there.
fn engine_letters(plant: &Plant) -> &'static str {
    let label = plant.parts.iter().find(|p| matches!(p.is, Component::Engine(_))).map_or("", |p| p.label.as_str());
    for (word, letters) in [
        ("high-pressure", said("engine-letters-hp")),
        ("injection pump", said("engine-letters-ip")),
        ("injectors", said("engine-letters-inj")),
        ("carburettor", said("engine-letters-carb")),
    ] {
        if label.contains(word) {
            return letters;
        }
    }
    said("engine-letters-engine")
}
