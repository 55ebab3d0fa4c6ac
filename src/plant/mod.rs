//! The vehicle's supply as a graph of components between named nodes, and its simulation.
//!
//! [`Plant`] is what an author describes. [`assemble`](assemble::assemble) turns it, together with
//! the test equipment fitted at the moment, into a [`Network`](network::Network): flat arrays of
//! control volumes and links with one right-hand side. [`Stepper`](step::Stepper) integrates it.
//!
//! This room knows components and parameters; it never sees the name of a fault or what a learner
//! may know.

pub mod assemble;
pub mod component;
pub mod law;
pub mod network;
pub mod sparse;
pub mod step;
pub mod vehicle;

use serde::{Deserialize, Serialize};

use crate::fluid::{Blend, Fuel, wax};
use crate::units::{Area, Length, Span, Temperature, Volume, WallStretch, Warming};
use component::{Component, Number, Unit};

/// What is in the tank.
#[derive(Clone, Debug, PartialEq)]
pub enum Filling {
    /// Properties that don't change with temperature, for checks of the equations.
    Fixed(Fuel),
    /// A fuel or a mixture.
    Of(Blend),
    /// A fuel in place of the one that the vehicle was built for.
    InPlaceOf(Blend, Blend),
}

impl Filling {
    /// Properties at a temperature.
    pub fn at(&self, t: Temperature) -> Fuel {
        match self {
            Self::Fixed(fuel) => *fuel,
            Self::Of(blend) => blend.at(t),
            Self::InPlaceOf(blend, proper) => {
                let twenty = Temperature::from_celsius(20.0);
                Fuel { viscosity_at_20: proper.at(twenty).viscosity, ..blend.at(t) }
            }
        }
    }

    /// What wax multiplies a filter's laminar resistance by when all of it has settled: 1 above the
    /// cloud point.
    pub fn wax_factor(&self, t: Temperature) -> f64 {
        match self {
            Self::Fixed(_) => 1.0,
            Self::Of(blend) | Self::InPlaceOf(blend, _) => wax::factor(t, blend.cloud_point()),
        }
    }
}

/// Where a node lies; each place has its own temperature.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Place {
    /// In the tank or at it.
    Tank,
    /// Along the vehicle.
    #[default]
    Line,
    /// Under the bonnet.
    Bonnet,
}

/// How the vehicle warms up and cools down.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Warmth {
    /// How much warmer the tank gets by what returns to it.
    pub tank: Warming,
    /// How much warmer it gets under the bonnet with a warm engine running.
    pub running: Warming,
    /// How much warmer with a warm engine just stopped: nothing blows any more.
    pub stopped: Warming,
    /// Time in which the block warms up.
    pub block_warms: Span,
    /// Time in which it cools down.
    pub block_cools: Span,
    /// Time in which the tank follows.
    pub tank_follows: Span,
    /// Time in which fuel under the bonnet follows.
    pub bonnet_follows: Span,
    /// How warm the block is at the start, 0 cold … 1.
    #[serde(default)]
    pub at_start: f64,
}

impl Warmth {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let warming = |field, words, w: Warming, high| Number::new(field, words, w.si(), Unit::K, 0.0, high);
        // a lag of nothing would divide by nothing
        let lag = |field, words, s: Span| Number::new(field, words, s.si(), Unit::S, 10.0, 1e5);
        vec![
            warming("tank", "what the tank warms up by", self.tank, 40.0),
            warming("running", "what it warms up by under the bonnet", self.running, 80.0),
            warming("stopped", "what it warms up by after stopping", self.stopped, 80.0),
            lag("block_warms", "the time in which the block warms up", self.block_warms),
            lag("block_cools", "the time in which the block cools down", self.block_cools),
            lag("tank_follows", "the time in which the tank follows", self.tank_follows),
            lag("bonnet_follows", "the time in which the fuel under the bonnet follows", self.bonnet_follows),
            Number::new("at_start", "how warm the block is", self.at_start, Unit::NONE, 0.0, 1.0),
        ]
    }
}

/// A named point of the supply. Its volume is its own plus what the components that end there add.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Node {
    /// Name, unique in the plant.
    pub name: String,
    /// Height above the bottom of the tank.
    pub height: Length,
    /// Volume of the fittings at the node itself.
    #[serde(default)]
    pub volume: Volume,
    /// Stretch of the walls; overrides the mean of the lines that end here.
    #[serde(default)]
    pub wall: Option<WallStretch>,
    /// Where it lies.
    #[serde(default)]
    pub place: Place,
    /// Label of the joint, when a test tee may be fitted here.
    #[serde(default)]
    pub joint: Option<String>,
}

impl Node {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = vec![
            Number::new("height", "the height", self.height.si(), Unit::M, -3.0, 5.0),
            Number::new("volume", "the volume", self.volume.si(), Unit::ML, 0.0, 20_000.0),
        ];
        if let Some(wall) = self.wall {
            all.push(Number::new("wall", "the stretch of the wall", wall.si(), Unit::PER_PA, 0.0, 1e-6));
        }
        all
    }
}

/// A component with its name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Name, unique in the plant.
    pub name: String,
    /// As people call it.
    pub label: String,
    /// What it is.
    pub is: Component,
    /// Price of a new one, credits.
    #[serde(default)]
    pub price: f64,
    /// Minutes to change or clean it.
    #[serde(default)]
    pub minutes: f64,
}

/// A hole between the supply and the air, at a share of the way through a node's volume.
#[derive(Clone, Debug, PartialEq)]
pub struct Leak {
    /// Node it is at.
    pub node: String,
    /// Where along the node's volume, 0 upstream … 1 downstream.
    pub along: f64,
    /// Effective area (discharge coefficient times area).
    pub area: Area,
}

/// A vehicle's low-pressure supply.
#[derive(Clone, Debug, PartialEq)]
pub struct Plant {
    /// Name of the plant, as jobs refer to it.
    pub name: String,
    /// What vehicle it is.
    pub title: String,
    /// The fuel in it.
    pub fuel: Filling,
    /// Temperature of fuel and surroundings.
    pub temperature: Temperature,
    /// Height above the sea.
    pub altitude: Length,
    /// How it warms up; none: it stays as it is.
    pub warmth: Option<Warmth>,
    /// Nodes.
    pub nodes: Vec<Node>,
    /// Components.
    pub parts: Vec<Part>,
    /// Holes.
    pub leaks: Vec<Leak>,
}

impl Plant {
    /// The part with this name.
    pub fn part(&self, name: &str) -> Option<&Part> {
        self.parts.iter().find(|p| p.name == name)
    }

    /// The part with this name, to change it.
    pub fn part_mut(&mut self, name: &str) -> Option<&mut Part> {
        self.parts.iter_mut().find(|p| p.name == name)
    }

    /// The node with this name.
    pub fn node(&self, name: &str) -> Option<&Node> {
        self.nodes.iter().find(|n| n.name == name)
    }

    /// The first tank: the one that the vehicle is filled at.
    pub fn tank(&self) -> Option<&component::Tank> {
        self.parts.iter().find_map(|p| if let Component::Tank(t) = &p.is { Some(t) } else { None })
    }

    /// The engine.
    pub fn engine(&self) -> Option<&component::Engine> {
        self.parts.iter().find_map(|p| if let Component::Engine(e) = &p.is { Some(e) } else { None })
    }

    /// Whether water can settle at a node: it is the bowl of a filter or of a separator.
    pub fn is_bowl(&self, node: &str) -> bool {
        self.parts.iter().any(|p| match &p.is {
            Component::Filter(f) => f.from == node,
            Component::SedimentBowl(b) => b.to == node,
            _ => false,
        })
    }

    /// Water at the bottom of a tank, mL.
    pub fn water_in(&self, tank: &str) -> f64 {
        match self.part(tank).map(|p| &p.is) {
            Some(Component::Tank(t)) => t.water.si() * 1e6,
            _ => 0.0,
        }
    }

    /// Whether a pump pushes fuel to a node: there, air gets out and fuel comes out of a hole.
    pub fn is_under_pressure(&self, node: &str) -> bool {
        let mut seen = vec![node];
        let mut next = 0;
        while next < seen.len() {
            for part in &self.parts {
                if let [from, to] = part.is.ends()[..]
                    && to == seen[next]
                    && !seen.contains(&from)
                {
                    if matches!(
                        part.is,
                        Component::GearPump(_) | Component::DiaphragmPump(_) | Component::ElectricPump(_)
                    ) {
                        return true;
                    }
                    seen.push(from);
                }
            }
            next += 1;
        }
        false
    }

    /// Joints in the order of the file: node name and label.
    pub fn joints(&self) -> Vec<(String, String)> {
        self.nodes.iter().filter_map(|n| n.joint.clone().map(|label| (n.name.clone(), label))).collect()
    }
}
