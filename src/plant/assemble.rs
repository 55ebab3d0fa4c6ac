//! From a described plant and the test equipment fitted to it, a numerical network.
//!
//! A node of the plant becomes one vessel; lines give half of their volume to each end. A test tee
//! at a joint splits the node: what comes from the tank stays, then follow the tee's shut-off valve
//! and the tee with glass and transducer, which takes over what leads to the engine. So the valve
//! lies on the **tank side** of the transducer and a dead-head shows what the pump can draw. An
//! external container at a joint blanks the way from the tank and feeds the joint instead.

use super::component::{Component, Engine, Filter, GearPump, Line, NonReturnValve, Tank};
use super::network::{
    Cell, End, EngineNode, Kind, LeakSite, Ledgers, Link, Medium, Network, PumpLink, TankNode, Vessel,
};
use super::{Node, Plant};
use crate::units::{AbsolutePressure, GRAVITY, STANDARD_ATMOSPHERE_PA};

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

/// A network with the handles that others need.
#[derive(Clone, Debug)]
pub struct Assembly {
    /// The network.
    pub net: Network,
    /// State: opening of the tee's valve, when fitted.
    pub valve: Option<usize>,
    /// State: hand primer at work, when there is one.
    pub primer: Option<usize>,
    /// Vessel of the tee, when fitted.
    pub tee: Option<usize>,
}

/// Name of the tee's vessel.
pub const TEE: &str = "test tee";
/// Volume of the tee with its glass, mL.
const TEE_VOLUME_ML: f64 = 16.0;
/// Wall stretch of glass and sensing hose, 1/Pa.
const TEE_WALL: f64 = 6e-9;
/// Coefficient of the tee's valve when open, mL/s/√Pa.
const TEE_VALVE_K: f64 = 2.0;
/// Rounding of the valve's corner, Pa.
const TEE_VALVE_ROUNDING_PA: f64 = 150.0;
/// Bubble nuclei in fuel, share of volume.
const NUCLEI: f64 = 4e-5;
/// Wall stretch where nothing says otherwise, 1/Pa.
const USUAL_WALL: f64 = 4e-9;
/// Rate of the hand at the primer, strokes a second.
pub const PRIMER_STROKES_PER_S: f64 = 1.2;
/// Pressure at which the hand at the primer gives up, Pa.
const PRIMER_STALL_PA: f64 = 60_000.0;

/// Which cells a vessel gets: at most so many for each half line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Detail {
    /// Largest number of cells in a vessel.
    pub most_cells: usize,
}

impl Detail {
    /// As the plant says.
    pub const FULL: Self = Self { most_cells: 16 };
    /// For ensembles.
    pub const COARSE: Self = Self { most_cells: 2 };
}

/// What a vessel is made of while it is being put together.
struct Draft {
    name: String,
    height: f64,
    volume: f64,
    stretch: f64,
    wall: Option<f64>,
    cushion: f64,
    cells: usize,
    plain_line: bool,
}

impl Draft {
    fn new(name: &str, node: &Node) -> Self {
        let volume = node.volume.si() * 1e6;
        Self {
            name: name.to_owned(),
            height: node.height.si(),
            volume,
            stretch: volume * USUAL_WALL,
            wall: node.wall.map(crate::units::WallStretch::si),
            cushion: 0.0,
            cells: 1,
            plain_line: true,
        }
    }

    fn add(&mut self, volume: f64, wall: f64) {
        self.volume += volume;
        self.stretch += volume * wall;
    }
}

/// Collects state indices.
#[derive(Default)]
struct States {
    names: Vec<String>,
    tolerance: Vec<f64>,
}

impl States {
    fn add(&mut self, name: String, tolerance: f64) -> usize {
        self.names.push(name);
        self.tolerance.push(tolerance);
        self.names.len() - 1
    }
}

/// Builds the network.
///
/// # Errors
/// A sentence for the author: a component that joins nothing, a joint that doesn't exist, not
/// exactly one tank, pump and engine.
pub fn assemble(plant: &Plant, rig: &Rig, detail: Detail) -> Result<Assembly, String> {
    let tank = only(plant, "Tank", |c| if let Component::Tank(t) = c { Some(t) } else { None })?;
    let pump = only(plant, "GearPump", |c| if let Component::GearPump(p) = c { Some(p) } else { None })?;
    let engine = only(plant, "Engine", |c| if let Component::Engine(e) = c { Some(e) } else { None })?;
    let layout = Layout::new(plant, rig, tank, engine)?;
    let mut states = States::default();
    let drafts = layout.drafts(plant, engine, detail);
    let medium = medium(plant);
    let (vessels, cells) = vessels(&drafts, &medium, rig, engine, &mut states);
    let (mut links, inputs_of_links) = links(plant, &layout, &medium, &vessels, &mut states)?;
    let valve = match &rig.tee {
        Some(tee) => {
            let opening = states.add("opening of the tee's valve".into(), 1e-5);
            links.push(Link {
                name: "tee valve".into(),
                from: End::Outlet(layout.vessel(&vessels, &tee.joint)?),
                to: End::Inlet(layout.vessel(&vessels, TEE)?),
                kind: Kind::Valve {
                    k_max: TEE_VALVE_K,
                    delta: TEE_VALVE_ROUNDING_PA,
                    opening,
                    reach: tee.valve_reach,
                },
            });
            Some(opening)
        }
        None => None,
    };
    let container_level = container_link(rig, tank, &layout, &vessels, &mut links)?;
    let tank_node = tank_node(tank, &mut states);
    let pump_link = PumpLink {
        inlet: layout.vessel(&vessels, layout.downstream_of(&pump.from))?,
        gallery: layout.vessel(&vessels, &engine.gallery)?,
        displacement: pump.displacement.si() * 1e6,
        slip: pump.slip,
        slip_at_rest: pump.slip_at_rest,
        filling: (pump.filling.si(), pump.filling_with_speed.si(), pump.filling_steepness),
        teeth: f64::from(pump.teeth),
    };
    let engine_node = engine_node(engine, pump_link.gallery, &mut states);
    let ledgers = Ledgers {
        burned: states.add("fuel burned".into(), 1e-3),
        lost: states.add("fuel lost".into(), 1e-3),
        container: states.add("fuel from the container".into(), 1e-3),
        air_in: states.add("air in".into(), 1e-3),
        air_out: states.add("air out".into(), 1e-3),
    };
    let leaks = leaks(plant, &layout, &vessels)?;
    let mut inputs: Vec<(usize, f64)> = vec![(engine_node.n + 1, 0.0), (engine_node.n + 2, 0.0)];
    inputs.extend(valve.iter().chain(&inputs_of_links).map(|&i| (i, 0.0)));
    let tee = rig.tee.as_ref().map(|_| layout.vessel(&vessels, TEE)).transpose()?;
    let net = Network {
        medium,
        vessels,
        cells,
        tank: tank_node,
        container_level,
        links,
        pump: pump_link,
        engine: engine_node,
        leaks,
        ledgers,
        inputs,
        tolerance: states.tolerance,
        names: states.names,
    };
    Ok(Assembly { net, valve, primer: inputs_of_links.first().copied(), tee })
}

fn only<'a, T>(
    plant: &'a Plant,
    kind: &str,
    pick: impl Fn(&'a Component) -> Option<&'a T>,
) -> Result<&'a T, String> {
    let mut found = plant.parts.iter().filter_map(|p| pick(&p.is));
    match (found.next(), found.next()) {
        (Some(one), None) => Ok(one),
        (None, _) => Err(format!("the plant \"{}\" has no {kind}", plant.name)),
        (Some(_), Some(_)) => Err(format!("the plant \"{}\" has more than one {kind}", plant.name)),
    }
}

/// Which node names mean what once tee and container are fitted.
struct Layout<'a> {
    tank: &'a str,
    tee: Option<&'a str>,
    container: Option<&'a str>,
}

/// Vessel of the blanked way from the tank when a container feeds a joint.
const BLANKED: &str = "blanked end";

impl<'a> Layout<'a> {
    fn new(plant: &Plant, rig: &'a Rig, tank: &'a Tank, engine: &Engine) -> Result<Self, String> {
        let joint = |name: &str| match plant.node(name) {
            Some(node) if node.joint.is_some() && name != engine.gallery && name != tank.outlet => Ok(()),
            Some(_) => Err(format!("nothing can be fitted at \"{name}\": it isn't a joint")),
            None => Err(format!("no joint has the name \"{name}\"")),
        };
        if let Some(tee) = &rig.tee {
            joint(&tee.joint)?;
        }
        if let Some(container) = &rig.container {
            joint(container)?;
        }
        Ok(Self {
            tank: &tank.outlet,
            tee: rig.tee.as_ref().map(|t| t.joint.as_str()),
            container: rig.container.as_deref(),
        })
    }

    /// Vessel that a component ends in.
    fn upstream_of<'n>(&self, node: &'n str) -> &'n str {
        if self.container == Some(node) { BLANKED } else { node }
    }

    /// Vessel that a component begins in.
    fn downstream_of<'n>(&self, node: &'n str) -> &'n str {
        if self.tee == Some(node) { TEE } else { node }
    }

    fn vessel(&self, vessels: &[Vessel], name: &str) -> Result<usize, String> {
        vessels.iter().position(|v| v.name == name).ok_or_else(|| format!("no node has the name \"{name}\""))
    }

    fn from(&self, vessels: &[Vessel], node: &str) -> Result<End, String> {
        if node == self.tank {
            Ok(End::Tank)
        } else {
            Ok(End::Outlet(self.vessel(vessels, self.downstream_of(node))?))
        }
    }

    fn to(&self, vessels: &[Vessel], node: &str) -> Result<End, String> {
        if node == self.tank {
            Err(format!("a component leads into the tank's outlet \"{node}\": turn it round"))
        } else {
            Ok(End::Inlet(self.vessel(vessels, self.upstream_of(node))?))
        }
    }

    fn drafts(&self, plant: &Plant, engine: &Engine, detail: Detail) -> Vec<Draft> {
        let mut drafts: Vec<Draft> =
            plant.nodes.iter().filter(|n| n.name != self.tank).map(|n| Draft::new(&n.name, n)).collect();
        if let Some(node) = self.container.and_then(|c| plant.node(c)) {
            drafts.push(Draft { volume: 4.0, stretch: 4.0 * USUAL_WALL, ..Draft::new(BLANKED, node) });
        }
        if let Some(node) = self.tee.and_then(|t| plant.node(t)) {
            let tee = Draft::new(TEE, node);
            drafts.push(Draft {
                volume: TEE_VOLUME_ML,
                stretch: TEE_VOLUME_ML * TEE_WALL,
                wall: None,
                plain_line: false,
                ..tee
            });
        }
        let find = |drafts: &mut Vec<Draft>, name: &str| drafts.iter().position(|d| d.name == name);
        for part in &plant.parts {
            match &part.is {
                Component::Line(line) => {
                    let half = line_volume(line) / 2.0;
                    for name in [self.downstream_of(&line.from), self.upstream_of(&line.to)] {
                        if let Some(i) = find(&mut drafts, name) {
                            drafts[i].add(half, line.wall.si());
                            drafts[i].cells = drafts[i].cells.max(usize::from(line.cells));
                        }
                    }
                }
                Component::Filter(filter) => {
                    let sides = [
                        (self.upstream_of(&filter.from), filter.bowl.si(), filter.cushion.si()),
                        (self.downstream_of(&filter.to), filter.clean_side.si(), 0.0),
                    ];
                    for (name, volume, cushion) in sides {
                        let volume = volume * 1e6;
                        // with a tee or a container between, the bowl itself stays with the filter
                        let name = if name == BLANKED { filter.from.as_str() } else { name };
                        if let Some(i) = find(&mut drafts, name) {
                            drafts[i].add(volume, USUAL_WALL);
                            drafts[i].cushion += cushion * 1e6;
                            drafts[i].plain_line &= volume <= 0.0;
                        }
                    }
                }
                _ => {}
            }
        }
        for draft in &mut drafts {
            if draft.name == engine.gallery {
                draft.add(engine.volume.si() * 1e6, engine.wall.si());
                draft.cells = 0;
            } else if draft.plain_line {
                draft.cells = draft.cells.min(detail.most_cells);
            } else {
                // bowls and tees mix
                draft.cells = 1;
            }
            // a node without any volume would make the pressure jump
            draft.volume = draft.volume.max(1.0);
        }
        drafts
    }
}

fn line_volume(line: &Line) -> f64 {
    core::f64::consts::PI * line.bore.si() * line.bore.si() / 4.0 * line.length.si() * 1e6
}

fn medium(plant: &Plant) -> Medium {
    let fuel = &plant.fuel;
    Medium {
        density: fuel.density,
        viscosity: fuel.viscosity,
        thinness: fuel.viscosity_at_20 / fuel.viscosity,
        vapour: fuel.vapour_pressure,
        bulk_modulus: fuel.bulk_modulus,
        solubility: fuel.air_solubility,
        air: AbsolutePressure::at_altitude(plant.altitude).si(),
        temperature: plant.temperature.kelvin(),
        release: 0.35,
        exchange: 0.06,
        nucleation: 22_000.0,
    }
}

fn vessels(
    drafts: &[Draft],
    medium: &Medium,
    rig: &Rig,
    engine: &Engine,
    states: &mut States,
) -> (Vec<Vessel>, Vec<Cell>) {
    let (mut vessels, mut cells) = (vec![], vec![]);
    for (v, draft) in drafts.iter().enumerate() {
        let wall = draft.wall.unwrap_or(draft.stretch / draft.volume);
        let hose_air = rig.tee.as_ref().filter(|_| draft.name == TEE).map_or(0.0, |t| t.hose_air);
        let nuclei = if draft.name == engine.gallery { 0.0 } else { NUCLEI * draft.volume };
        vessels.push(Vessel {
            name: draft.name.clone(),
            volume: draft.volume,
            compliance: draft.volume * (1.0 / medium.bulk_modulus + wall),
            still_gas: (nuclei + draft.cushion + hose_air).max(NUCLEI * draft.volume),
            height: draft.height,
            x: states.add(format!("excess fuel at {}", draft.name), 1e-6),
            first_cell: cells.len(),
            cells: draft.cells,
        });
        for k in 0..draft.cells {
            let g = states.add(format!("free gas at {} {k}", draft.name), 1e-5);
            states.add(format!("dissolved gas at {} {k}", draft.name), 1e-5);
            cells.push(Cell { vessel: v, volume: draft.volume / draft.cells as f64, g });
        }
    }
    (vessels, cells)
}

fn links(
    plant: &Plant,
    layout: &Layout<'_>,
    medium: &Medium,
    vessels: &[Vessel],
    states: &mut States,
) -> Result<(Vec<Link>, Vec<usize>), String> {
    let (mut links, mut inputs) = (vec![], vec![]);
    let thick = medium.viscosity / plant.fuel.viscosity_at_20;
    for part in &plant.parts {
        let mut add = |from: &str, to: &str, name: &str, kind: Kind| -> Result<(), String> {
            let at = |e: String| format!("component \"{}\": {e}", part.name);
            links.push(Link {
                name: name.to_owned(),
                from: layout.from(vessels, from).map_err(at)?,
                to: layout.to(vessels, to).map_err(at)?,
                kind,
            });
            Ok(())
        };
        match &part.is {
            Component::Strainer(s) => {
                let (mut a, mut b) = s.clean.coefficients();
                if let Some(dirt) = &s.dirt {
                    let (da, db) = dirt.coefficients();
                    a += da;
                    b += db;
                }
                add(&s.from, &s.to, &part.name, Kind::Resistance { a: a * thick, b })?;
            }
            Component::NonReturnValve(valve) => add(&valve.from, &valve.to, &part.name, non_return(valve, thick))?,
            Component::Filter(filter) => {
                let on = filter.primer_stroke.map(|stroke| {
                    let on = states.add(format!("primer of {}", part.name), 1e-5);
                    inputs.push(on);
                    (stroke.si() * 1e6 * PRIMER_STROKES_PER_S, on)
                });
                add(&filter.from, &filter.to, &part.name, element(filter, thick, on))?;
            }
            Component::Line(line) => {
                let q = states.add(format!("flow in {}", part.name), 1e-4);
                states.add(format!("slow flow in {}", part.name), 1e-4);
                add(&line.from, &line.to, &part.name, pipe(line, medium, q))?;
            }
            Component::Tank(_) | Component::GearPump(GearPump { .. }) | Component::Engine(_) => {}
        }
    }
    Ok((links, inputs))
}

fn non_return(valve: &NonReturnValve, thick: f64) -> Kind {
    let (a, b) = valve.open.coefficients();
    Kind::NonReturn {
        a: a * thick,
        b,
        cracking: valve.cracking.si(),
        stuck_open: valve.stuck_open,
        lift: valve.lift,
        seat_leak: valve.seat_leak,
    }
}

fn element(filter: &Filter, thick: f64, primer: Option<(f64, usize)>) -> Kind {
    let (a, b) = filter.new.coefficients();
    let open = 1.0 - filter.clogged;
    let (a, b) = (a * thick / (open * open * open), b / (open * open * open * open));
    match primer {
        None => Kind::Resistance { a, b },
        Some((flow, on)) => Kind::Element { a, b, flow, stall: PRIMER_STALL_PA, on },
    }
}

fn pipe(line: &Line, medium: &Medium, q: usize) -> Kind {
    let (bore, length) = (line.bore.si(), line.length.si());
    let area = core::f64::consts::PI * bore * bore / 4.0;
    let r2 = bore * bore / 4.0;
    Kind::Pipe {
        inertance: medium.density * length / area * 1e-6,
        length,
        bore,
        relative_roughness: line.roughness.si() / bore,
        fittings: line.fittings,
        unsteady: line.damping * 4.0 * medium.viscosity * length / (r2 * area) * 1e-6,
        unsteady_rate: 200.0 * medium.viscosity / (r2 * medium.density),
        q,
    }
}

fn container_link(
    rig: &Rig,
    tank: &Tank,
    layout: &Layout<'_>,
    vessels: &[Vessel],
    links: &mut Vec<Link>,
) -> Result<f64, String> {
    let Some(joint) = &rig.container else { return Ok(0.0) };
    // the container stands with its surface level with the tank's
    let level = tank.fill.si() / tank.area.si();
    links.push(Link {
        name: "container hose".into(),
        from: End::Container,
        to: End::Inlet(layout.vessel(vessels, joint)?),
        kind: Kind::Resistance { a: 25.0, b: 0.3 },
    });
    Ok(level)
}

fn tank_node(tank: &Tank, states: &mut States) -> TankNode {
    let v = states.add("fuel in the tank".into(), 1e-4);
    states.add("air in the tank".into(), 1e-3);
    TankNode {
        capacity: tank.capacity.si() * 1e6,
        area: tank.area.si() * 1e6,
        pickup: tank.pickup.si(),
        vent: tank.vent.si() * 1e6 / 10.0,
        cap: 0.0,
        pickup_width: 0.004,
        v,
    }
}

fn engine_node(engine: &Engine, gallery: usize, states: &mut States) -> EngineNode {
    let n = states.add("engine speed".into(), 1e-2);
    states.add("speed asked for".into(), 1e-2);
    states.add("speed of the starter".into(), 1e-2);
    states.add("gas share delivered".into(), 1e-5);
    states.add("turns of the engine".into(), 1e-3);
    EngineNode {
        gallery,
        overflow: (engine.overflow_opens.si(), engine.overflow_slope, engine.overflow_leak),
        demand: (engine.demand.si() * 1e6, engine.demand_with_speed.si() * 1e6 / 1000.0),
        back_leak: engine.back_leak.si() * 1e6 / 1000.0,
        starves: (engine.starves_at.si(), engine.starves_over.si()),
        lag: engine.lag.si(),
        stopped_by_gas: engine.stopped_by_gas,
        n,
    }
}

fn leaks(plant: &Plant, layout: &Layout<'_>, vessels: &[Vessel]) -> Result<Vec<LeakSite>, String> {
    let mut sites = vec![];
    for leak in &plant.leaks {
        let v = layout
            .vessel(vessels, layout.upstream_of(&leak.node))
            .or_else(|_| layout.vessel(vessels, &leak.node))?;
        let vessel = &vessels[v];
        if vessel.cells == 0 {
            return Err(format!("a hole at \"{}\" isn't modelled: it is under pressure", leak.node));
        }
        let k = ((leak.along * vessel.cells as f64) as usize).min(vessel.cells - 1);
        sites.push(LeakSite { cell: vessel.first_cell + k, area: leak.area.si() * 1e6, name: leak.node.clone() });
    }
    Ok(sites)
}

impl Assembly {
    /// The state before anybody has touched the vehicle: fuel at rest, hydrostatic from the tank,
    /// gallery at air pressure, fuel nearly saturated with air, no bubbles.
    pub fn at_rest(&self, tank: &Tank) -> Vec<f64> {
        let net = &self.net;
        let m = &net.medium;
        let mut y = vec![0.0; net.states()];
        let fill = tank.fill.si() * 1e6;
        y[net.tank.v] = fill;
        let air_space = m.air + tank.air_space.si();
        y[net.tank.v + 1] = (air_space - m.vapour) * (net.tank.capacity - fill) / STANDARD_ATMOSPHERE_PA;
        let surface = fill / net.tank.area;
        for v in 0..net.vessels.len() {
            let vessel = &net.vessels[v];
            let p = if v == net.engine.gallery {
                m.air
            } else {
                (air_space + m.density * GRAVITY * (surface - vessel.height)).max(m.vapour + 1000.0)
            };
            y[vessel.x] = net.excess_for(v, p, 0.0);
            for cell in &net.cells[vessel.first_cell..vessel.first_cell + vessel.cells] {
                let saturated = ((p + 1500.0 - m.vapour) / STANDARD_ATMOSPHERE_PA).min(1.0);
                y[cell.g + 1] = 0.99 * m.solubility * cell.volume * saturated;
            }
        }
        if let Some(valve) = self.valve {
            y[valve] = 1.0;
        }
        y
    }

    /// Carries a state over from another assembly of the same plant, by name. A tee that wasn't
    /// there before comes full of air; a joint that was opened goes to air pressure.
    pub fn carry_over(&self, old: &Assembly, from: &[f64], opened: Option<&str>) -> Vec<f64> {
        let net = &self.net;
        let mut y = vec![0.0; net.states()];
        for (i, name) in net.names.iter().enumerate() {
            if let Some(j) = old.net.names.iter().position(|n| n == name) {
                y[i] = from[j];
            }
        }
        for v in 0..net.vessels.len() {
            let name = net.vessels[v].name.as_str();
            match old.net.vessel(name) {
                Some(w) => self.resample(&mut y, v, old, from, w),
                None => self.fill_with(&mut y, v, if name == TEE { 0.97 } else { 0.0 }),
            }
            if name == TEE && old.tee.is_none() {
                self.fill_with(&mut y, v, 0.97);
            }
            if opened == Some(name) {
                self.open_to_air(&mut y, v);
            }
        }
        if let (Some(valve), None) = (self.valve, old.valve) {
            y[valve] = 1.0;
        }
        y
    }

    /// Same pressure and gas shares in a vessel that may have another volume or number of cells.
    fn resample(&self, y: &mut [f64], v: usize, old: &Assembly, from: &[f64], w: usize) {
        let (new, was) = (&self.net.vessels[v], &old.net.vessels[w]);
        let p = old.net.pressure(w, from);
        let mut free = 0.0;
        for k in 0..new.cells {
            let cell = &self.net.cells[new.first_cell + k];
            if was.cells == 0 {
                continue;
            }
            let j = (k * was.cells / new.cells).min(was.cells - 1);
            let source = &old.net.cells[was.first_cell + j];
            let scale = cell.volume / source.volume;
            y[cell.g] = from[source.g] * scale;
            y[cell.g + 1] = from[source.g + 1] * scale;
            free += y[cell.g];
        }
        y[new.x] = self.net.excess_for(v, p, free);
    }

    /// Puts a vessel at air pressure with a share of gas in it.
    pub(super) fn fill_with(&self, y: &mut [f64], v: usize, gas: f64) {
        let net = &self.net;
        let vessel = &net.vessels[v];
        let p = net.medium.air;
        let above = p - net.medium.vapour;
        let gas8 = crate::ops::powi(gas, 8);
        let r = gas / (1.0 - gas8).sqrt().sqrt().sqrt();
        let mut free = 0.0;
        for cell in &net.cells[vessel.first_cell..vessel.first_cell + vessel.cells] {
            y[cell.g] = r * above * cell.volume / STANDARD_ATMOSPHERE_PA;
            y[cell.g + 1] = net.medium.solubility * cell.volume * (1.0 - gas) * above / STANDARD_ATMOSPHERE_PA;
            free += y[cell.g];
        }
        y[vessel.x] = net.excess_for(v, p, free);
    }

    /// Opens a vessel: air comes in (or fuel runs out) until it is at air pressure.
    pub fn open_to_air(&self, y: &mut [f64], v: usize) {
        let net = &self.net;
        let vessel = &net.vessels[v];
        let p = net.medium.air;
        if net.pressure(v, y) >= p || vessel.cells == 0 {
            let free: f64 =
                net.cells[vessel.first_cell..vessel.first_cell + vessel.cells].iter().map(|c| y[c.g]).sum();
            y[vessel.x] = net.excess_for(v, p, free);
        } else {
            // the amount of gas that makes the closure give air pressure with the fuel that is there
            let above = p - net.medium.vapour;
            let e = y[vessel.x] - vessel.still_gas;
            let gas = (vessel.compliance * (p - STANDARD_ATMOSPHERE_PA) - e) * above / STANDARD_ATMOSPHERE_PA;
            let now: f64 =
                net.cells[vessel.first_cell..vessel.first_cell + vessel.cells].iter().map(|c| y[c.g]).sum();
            let missing = (gas - vessel.still_gas - now).max(0.0) / vessel.cells as f64;
            for cell in &net.cells[vessel.first_cell..vessel.first_cell + vessel.cells] {
                y[cell.g] += missing;
            }
        }
    }
}
