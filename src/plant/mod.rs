//! The vehicle's supply as a graph of components between named nodes, and its simulation.
//!
//! [`Plant`] is what an author describes. [`assemble`](assemble::assemble) turns it, together with
//! the test equipment fitted at the moment, into a [`Network`](network::Network): flat arrays of
//! control volumes and links with one right-hand side. [`Stepper`](step::Stepper) integrates it.
//!
//! # A small plant of one's own
//!
//! Parts are written as in the files of `scenarios/plants`, or built in Rust. Here fuel runs from a tank
//! 2 m up through a 6 mm pipe of 10 m and falls into another; a tap is shut. Every number can be checked
//! by hand or with another tool: the pipe is laminar (Re ≈ 900), so it carries Δp·πd⁴/(128·μ·L).
//!
//! ```
//! use faultbay::fluid::Fuel;
//! use faultbay::plant::assemble::{Detail, Rig};
//! use faultbay::plant::{Filling, Node, Part, Plant, step::Effort, vehicle::Vehicle};
//! use faultbay::units::{Length, Temperature};
//! use ron::extensions::Extensions;
//!
//! let text = ron::Options::default()
//!     .with_default_extension(Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES);
//! let nodes: Vec<Node> = text.from_str(r#"[
//!     (name: "upper tank", height: m(2)), (name: "lower tank", height: m(0)),
//!     (name: "tap", height: m(0), volume: ml(5)), (name: "gallery", height: m(0)),
//! ]"#)?;
//! let parts: Vec<Part> = text.from_str(r#"[
//!     (name: "upper", label: "", is: Tank(outlet: "upper tank", capacity: l(60), fill: l(10), area: m2(0.2),
//!         pickup: mm(10), vent: l_per_min(30), base: m(2))),
//!     (name: "lower", label: "", is: Tank(outlet: "lower tank", capacity: l(60), fill: l(10), area: m2(0.2),
//!         pickup: mm(10), vent: l_per_min(30))),
//!     (name: "pipe", label: "", is: Line(from: "upper tank", to: "tap", length: m(10), bore: mm(6),
//!         wall: per_Pa(4e-9))),
//!     (name: "tap", label: "", is: ShutOffValve(from: "tap", to: "lower tank",
//!         open: (drop: Pa(20), at: ml_per_s(15), laminar: 0))),
//!     (name: "engine", label: "", is: Engine(gallery: "gallery", volume: ml(50), wall: per_Pa(2e-9),
//!         demand: ml_per_s(0.3), demand_with_speed: ml_per_s(1), starves_at: mbar(500),
//!         starves_over: mbar(200), lag: s(0.3), starter: rpm(200), idle: rpm(800), raised: rpm(2500))),
//! ]"#)?;
//! let plant = Plant {
//!     name: "example".into(), title: "two tanks".into(), temperature: Temperature::from_celsius(20.0),
//!     altitude: Length::from_si(0.0), service: Default::default(), warmth: None, leaks: vec![], nodes, parts,
//!     fuel: Filling::Fixed(Fuel {
//!         density: 832.0, viscosity: 0.0035, viscosity_at_20: 0.0035, vapour_pressure: 60.0,
//!         bulk_modulus: 1.45e9, air_solubility: 0.126, expansion: 8.3e-4,
//!     }),
//! };
//!
//! // steady: nothing moves any more
//! let mut car = Vehicle::new(&plant, &Rig::default(), Detail::FULL, Effort::WATCHED)?;
//! let steady = car.settle(0, 60_000_000)?;
//! let (pipe, tap) = (car.net().top.link("pipe").unwrap(), car.net().top.vessel("tap").unwrap());
//! let y = car.snapshot(steady);
//! let flow = car.net().flows(&y, &mut car.net().workspace())[pipe].0[0];
//! // by hand, with the 50 mm that stand in the tank: 832·9.80665·2.05 Pa over 10 m of 6 mm
//! let by_hand = 832.0 * 9.80665 * 2.05 * core::f64::consts::PI * 0.006_f64.powi(4)
//!     / (128.0 * 0.0035 * 10.0) * 1e6;
//! assert!((flow / by_hand - 1.0).abs() < 0.02, "{flow} against {by_hand} mL/s");
//!
//! // a transient: the tap is turned within 0.1 s, and the column runs against it
//! let lever = car.assembly().handles.levers[0].1;
//! car.ramp(steady, lever, 0.0, 100_000);
//! let mut highest = 0.0_f64;
//! for ms in 1..500 {
//!     car.cover(steady + ms * 1000);
//!     highest = highest.max(car.net().gauge(tap, &car.snapshot(steady + ms * 1000)).0[0]);
//! }
//! assert!(highest > 1.5 * 832.0 * 9.80665 * 2.05, "{highest} Pa");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Any graph of components is a plant, a bench without an engine's way included; what can be none (a node that
//! hangs in the air or has no way to it, an end that leads nowhere, pumps that push against each other, a number
//! that no part can have) is refused with the reason, a [`Flaw`](flaw::Flaw).
//!
//! This room knows components and parameters; it never sees the name of a fault or what a learner
//! may know.

pub mod assemble;
pub mod component;
pub mod flaw;
pub(crate) mod graph;
pub mod law;
pub mod network;
pub mod rosenbrock;
pub mod service;
pub mod sparse;
pub mod step;
pub mod vehicle;
pub mod ways;

use serde::{Deserialize, Serialize};

use crate::fluid::{Blend, Fuel, wax};
use crate::units::{Area, Length, Span, Temperature, Volume, WallStretch, Warming};
use component::{Component, Number, Unit};

/// Words of a title that say that it floats.
pub const BOATS: [&str; 3] = ["boat", "inboard", "launch"];

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
            Self::InPlaceOf(blend, proper) => blend.at(t).in_place_of(proper.at(t)),
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
    /// What its card says about working on it.
    pub service: service::Service,
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

    /// The fuel gives off vapour that burns in any weather. Told by its vapour pressure at 20 °C: that of a
    /// diesel is below 1 kPa, that of a petrol beyond 20 kPa.
    pub fn is_petrol(&self) -> bool {
        self.fuel.at(Temperature::from_celsius(20.0)).vapour_pressure > 5000.0
    }

    /// It floats: told by its title, as its outline is.
    pub fn is_boat(&self) -> bool {
        let title = self.title.to_lowercase();
        title.split(|c: char| !c.is_alphanumeric()).any(|word| BOATS.contains(&word))
    }

    /// Electric pumps with their names, in the order of the file: that of the network's motors too.
    pub fn electric_pumps(&self) -> impl Iterator<Item = (&Part, &component::ElectricPump)> {
        self.parts.iter().filter_map(|p| if let Component::ElectricPump(e) = &p.is { Some((p, e)) } else { None })
    }

    /// Joints in the order of the file: node name and label.
    pub fn joints(&self) -> Vec<(String, String)> {
        self.nodes.iter().filter_map(|n| n.joint.clone().map(|label| (n.name.clone(), label))).collect()
    }
}
