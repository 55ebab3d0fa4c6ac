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

use crate::fluid::Fuel;
use crate::units::{Area, Length, Temperature, Volume, WallStretch};
use component::Component;

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
    /// Label of the joint, when a test tee may be fitted here.
    #[serde(default)]
    pub joint: Option<String>,
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
    pub fuel: Fuel,
    /// Temperature of fuel and surroundings.
    pub temperature: Temperature,
    /// Height above the sea.
    pub altitude: Length,
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

    /// Joints in the order of the file: node name and label.
    pub fn joints(&self) -> Vec<(String, String)> {
        self.nodes.iter().filter_map(|n| n.joint.clone().map(|label| (n.name.clone(), label))).collect()
    }
}
