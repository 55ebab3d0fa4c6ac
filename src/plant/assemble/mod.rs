//! From a described plant and the test equipment fitted to it, a numerical network.
//!
//! A node of the plant becomes one vessel; lines give half of their volume to each end. A test tee
//! at a joint splits the node in two with the tee's shut-off valve between. In a suction line the valve
//! lies on the **tank side** of glass and transducer, so a dead-head shows what the pump can draw; in a
//! pressure line it lies on the **engine side**, so a dead-head shows what the pump can give. An
//! external container at a joint blanks the way from the tank and feeds the joint instead.
//!
//! Every node with transport cells gets a hole to the air, of no area unless the plant has a leak there:
//! so vehicles with and without leaks have one topology and can be simulated together.

mod layout;
mod medium;
mod parts;
mod state;

use std::sync::Arc;

use super::Plant;
use super::component::Engine as EnginePart;
use super::flaw::{Flaw, MOST_UNKNOWNS, refuse};
use super::network::{
    Common, Controller, End, Engine, Hole, Law, Ledgers, Link, Motor, Network, Param, Topology, Zone,
};
use crate::units::AbsolutePressure;
use layout::Layout;

pub(crate) use layout::BLANKED;
pub use layout::TEE;

/// The test tee as fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct TeeFitting {
    /// Joint it sits at.
    pub joint: String,
    /// Air in the sensing hose, mL at standard pressure.
    pub hose_air: f64,
    /// Lever to real opening of the valve: 1 when sound.
    pub valve_reach: f64,
}

/// Test equipment on the vehicle.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rig {
    /// The tee, if fitted.
    pub tee: Option<TeeFitting>,
    /// Joint fed by the external container, if any.
    pub container: Option<String>,
}

/// A network of L vehicles with the handles that others need.
#[derive(Clone, Debug)]
pub struct Assembly<const L: usize> {
    /// The network.
    pub net: Network<L>,
    /// The handles.
    pub handles: Arc<Handles>,
}

/// Where things are in a network: states, vessels, links by what they mean.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Handles {
    /// State: opening of the tee's valve, when fitted.
    pub valve: Option<usize>,
    /// States: hand primers at work, with the names of their parts.
    pub primers: Vec<(String, usize)>,
    /// States: levers of shut-off valves, with the names of their parts and where they stand at first.
    pub levers: Vec<(String, usize, f64)>,
    /// Joint of the tee; empty: none is fitted.
    pub joint: String,
    /// Vessel of the tee, when fitted.
    pub tee: Option<usize>,
    /// Cell behind the glass, when fitted.
    pub glass: Option<usize>,
    /// Link through the tee's valve, when fitted.
    pub valve_link: Option<usize>,
    /// Which vessels are bowls where water settles.
    pub bowls: Vec<bool>,
    /// Water at the bottom of each reservoir at first, mL. Not part of the structure.
    pub water: Vec<f64>,
    /// Vessel of the bleed screw: the last one that priming by hand reaches.
    pub bleed: usize,
}

impl<const L: usize> Assembly<L> {
    /// State of the first hand primer.
    pub fn primer(&self) -> Option<usize> {
        self.handles.primers.first().map(|(_, state)| *state)
    }
}

/// Which cells a vessel gets: at most so many for each half line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Detail {
    /// Largest number of cells in a vessel.
    pub most_cells: usize,
    /// Whether it is followed what the fuel carries.
    pub passengers: bool,
}

impl Detail {
    /// As the plant says.
    pub const FULL: Self = Self { most_cells: 16, passengers: true };
    /// For ensembles.
    pub const COARSE: Self = Self { most_cells: 2, passengers: false };
}

/// Coefficient of the tee's valve when open, mL/s/√Pa.
const TEE_VALVE_K: f64 = 2.0;
/// Rounding of the valve's corner, Pa.
const TEE_VALVE_ROUNDING_PA: f64 = 150.0;
/// Rate of the hand at the primer, strokes a second.
pub const PRIMER_STROKES_PER_S: f64 = 1.2;
/// Pressure at which the hand at the primer gives up, Pa.
const PRIMER_STALL_PA: f64 = 60_000.0;
/// Volume in which gas that reaches an engine with a rail is mixed, mL.
const MIXING_ML: f64 = 20.0;
/// Speed beyond which no engine asks, 1/min.
const ANY_SPEED: f64 = 1e6;
/// Shares of gas beyond which no engine asks.
const ANY_GAS: f64 = 1e6;

/// Collects states and parameters.
#[derive(Default)]
struct Build {
    names: Vec<String>,
    tolerance: Vec<f64>,
    weighed: Vec<bool>,
    params: Vec<f64>,
    inputs: Vec<usize>,
    handles: Handles,
}

impl Build {
    fn state(&mut self, name: String, tolerance: f64) -> usize {
        self.names.push(name);
        self.tolerance.push(tolerance);
        self.weighed.push(true);
        self.names.len() - 1
    }

    /// A state that only follows what others do.
    fn ledger(&mut self, name: &str) -> usize {
        let state = self.state(name.to_owned(), 1e-3);
        self.weighed[state] = false;
        state
    }

    /// A state that moves as it is told.
    fn input(&mut self, name: String, tolerance: f64) -> usize {
        let state = self.state(name, tolerance);
        self.inputs.push(state);
        state
    }

    fn param(&mut self, value: f64) -> Param {
        self.params.push(value);
        Param::new(self.params.len() - 1)
    }
}

/// Builds the network.
///
/// # Errors
/// The first [`Flaw`]: of the graph (a node that hangs in the air or has no way to it, pumps that push against
/// each other, an end that leads nowhere …), of a number, or of what is fitted.
pub fn assemble(plant: &Plant, rig: &Rig, detail: Detail) -> Result<Assembly<1>, Flaw> {
    refuse(plant)?;
    let engine = plant.engine().ok_or(Flaw::NoEngine)?;
    let mut build = Build::default();
    let fuel = plant.fuel.at(plant.temperature);
    let common = Common {
        air: build.param(AbsolutePressure::at_altitude(plant.altitude).si()),
        air_temperature: build.param(plant.temperature.kelvin()),
        release: build.param(0.35),
        exchange: build.param(0.06),
        nucleation: build.param(22_000.0),
    };
    let zones = medium::zones(plant, &mut build);
    let layout = Layout::new(plant, rig, engine, detail, &fuel, &mut build)?;
    let engine_node = engine_node(engine, &layout, &mut build)?;
    let mut top = Topology {
        common,
        zones,
        vessels: layout.vessels.clone(),
        cells: layout.cells.clone(),
        reservoirs: layout.reservoirs.clone(),
        pickups: layout.pickups.clone(),
        links: vec![],
        engine: engine_node,
        motors: vec![],
        controllers: vec![],
        holes: vec![],
        ledgers: Ledgers { burned: 0, lost: 0, container: 0, air_in: 0, air_out: 0 },
        inputs: vec![],
        tolerance: vec![],
        weighed: vec![],
        names: vec![],
        faces: vec![],
    };
    for part in &plant.parts {
        layout.add_part(plant, part, &fuel, &mut top, &mut build)?;
    }
    layout.add_engine_links(engine, &mut top, &mut build)?;
    layout.add_kit(rig, &mut top, &mut build)?;
    top.engine.fed_by = fed_by(&top);
    build.handles.bleed = bleed(&top);
    build.handles.bowls = top.vessels.iter().map(|v| plant.is_bowl(&v.name)).collect();
    build.handles.water = top.reservoirs.iter().map(|r| plant.water_in(&r.name)).collect();
    top.ledgers = Ledgers {
        burned: build.ledger("fuel burned"),
        lost: build.ledger("fuel lost"),
        container: build.ledger("fuel from the container"),
        air_in: build.ledger("air in"),
        air_out: build.ledger("air out"),
    };
    layout.add_holes(plant, &mut top, &mut build)?;
    (top.inputs, top.tolerance, top.weighed, top.names) =
        (build.inputs, build.tolerance, build.weighed, build.names);
    top.find_faces();
    let unknowns = top.states() + top.vessels.len() + top.cells.len();
    if unknowns > MOST_UNKNOWNS {
        return Err(Flaw::TooLarge(unknowns));
    }
    let fillings = vec![plant.fuel.clone()];
    Ok(Assembly { net: Network::new(top, build.params, fillings), handles: Arc::new(build.handles) })
}

fn engine_node(engine: &EnginePart, layout: &Layout<'_>, build: &mut Build) -> Result<Engine, Flaw> {
    let supply = layout.vessel(layout.begins_in(&engine.gallery))?;
    let n = build.state("engine speed".into(), 1e-2);
    build.input("speed asked for".into(), 1e-2);
    build.input("speed of the starter".into(), 1e-2);
    build.state("gas share delivered".into(), 1e-5);
    build.ledger("turns of the engine");
    build.input("load".into(), 1e-3);
    build.input("what else stops the engine".into(), 1e-3);
    build.state("warmth of the block".into(), 1e-3);
    let warmth = layout.plant.warmth;
    let limit = engine.stopped_by_gas;
    let gallery = &layout.vessels[supply];
    let mixing = if gallery.cells > 0 { MIXING_ML } else { build.params[gallery.volume.index()] };
    Ok(Engine {
        supply,
        demand: [engine.demand.si() * 1e6, engine.demand_with_speed.si() * 1e6 / 1000.0].map(|v| build.param(v)),
        with_load: build.param(engine.demand_with_load),
        back_leak: build.param(engine.back_leak.si() * 1e6 / 1000.0),
        starves: [engine.starves_at.si(), engine.starves_over.si()].map(|v| build.param(v)),
        lag: build.param(engine.lag.si()),
        most: build.param(engine.most.map_or(ANY_SPEED, |most| most.si())),
        bears: [limit.unwrap_or(ANY_GAS), 0.2 * limit.unwrap_or(ANY_GAS)].map(|v| build.param(v)),
        mixing: build.param(mixing),
        fed_by: vec![],
        n,
        warms: [warmth.map_or(0.0, |w| 1.0 / w.block_warms.si()), warmth.map_or(0.0, |w| 1.0 / w.block_cools.si())]
            .map(|v| build.param(v)),
    })
}

/// Links that bring gas to the engine: what it draws itself where gas is followed up to it, else what
/// feeds its gallery.
fn fed_by(top: &Topology) -> Vec<usize> {
    let supply = top.engine.supply;
    let links = top.links.iter().enumerate();
    if top.vessels[supply].cells > 0 {
        links.filter(|(_, l)| matches!(l.law, Law::Demand)).map(|(i, _)| i).collect()
    } else {
        links.filter(|(_, l)| l.to == End::Vessel(supply)).map(|(i, _)| i).collect()
    }
}

/// Where the bleed screw sits: before the engine's own transfer pump, else where the engine is fed.
fn bleed(top: &Topology) -> usize {
    let inlet = top.links.iter().rev().find_map(|link| match (&link.law, link.from) {
        (Law::Gear { .. }, End::Cell(v, _) | End::Vessel(v)) => Some(v),
        _ => None,
    });
    inlet.unwrap_or(top.engine.supply)
}
