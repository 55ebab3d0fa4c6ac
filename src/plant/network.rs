//! The numerical network: control volumes, links and one right-hand side with its exact Jacobian.
//!
//! Units inside: Pa absolute, mL, mL/s, s, 1/min. Each **vessel** (a control volume at a node) has
//! the state x, its liquid beyond its volume, reduced to standard pressure (mL), and for every
//! transport cell g (free gas) and d (dissolved gas), both mL at standard pressure. Pressure follows
//! from these in closed form:
//!
//! e − C(p − p₀) + G/(p − p_v) = 0, with C = V(1/K + c_w), G = p₀(Σg + g_s), e = x − g_s, hence
//! y = p − p_v = [b + √(b² + 4CG)]/(2C), b = e + C(p₀ − p_v).
//!
//! So p > p_v always; cavities and torn columns need no special case. (Volumes and gas: Wood 1930,
//! A Textbook of Sound; Henry's law for d; first-order release after Schweitzer & Szebehely 1950,
//! J. Appl. Phys. 21:1218, with a nucleation threshold of 22 kPa, an engineering estimate.)
//!
//! The derivatives are assembled against an *extended* set of columns (states, vessel pressures,
//! gas fractions) and then folded onto the states, so that each link only knows its own neighbours.
//!
//! Conserved to rounding: liquid over vessels, tank and ledgers; air over cells, air space and
//! ledgers. Not modelled: temperature changes, water, pressure waves inside a line.

use super::law::{
    Slope, air_inflow, friction_times_reynolds, orifice_flow, positive_part, resistance_flow, smooth_step,
    softplus, valve_coefficient,
};
use crate::ops;
use crate::units::{GRAVITY, STANDARD_ATMOSPHERE_PA as P0};

/// Properties shared by the whole network.
#[derive(Clone, Debug, PartialEq)]
pub struct Medium {
    /// Density, kg/m³.
    pub density: f64,
    /// Viscosity, Pa·s.
    pub viscosity: f64,
    /// Reference viscosity over viscosity: slip through gaps grows with it.
    pub thinness: f64,
    /// Vapour pressure, Pa absolute.
    pub vapour: f64,
    /// Bulk modulus, Pa.
    pub bulk_modulus: f64,
    /// Ostwald coefficient for air.
    pub solubility: f64,
    /// Pressure of the surrounding air, Pa absolute.
    pub air: f64,
    /// Temperature, K.
    pub temperature: f64,
    /// Rate at which supersaturated fuel sheds air, 1/s.
    pub release: f64,
    /// Rate at which free air and fuel exchange towards equilibrium, 1/s.
    pub exchange: f64,
    /// Supersaturation at which bubbles form, Pa.
    pub nucleation: f64,
}

/// A control volume.
#[derive(Clone, Debug, PartialEq)]
pub struct Vessel {
    /// Name of the node it stands for.
    pub name: String,
    /// Volume, mL.
    pub volume: f64,
    /// Compliance C = V(1/K + c_w), mL/Pa.
    pub compliance: f64,
    /// Gas that never moves (nuclei, cushions), mL at standard pressure.
    pub still_gas: f64,
    /// Height, m.
    pub height: f64,
    /// Index of state x.
    pub x: usize,
    /// First cell in the list of all cells, and how many; 0: gas isn't followed here.
    pub first_cell: usize,
    /// Number of cells.
    pub cells: usize,
}

/// A transport cell of a vessel.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// The vessel it belongs to.
    pub vessel: usize,
    /// Volume, mL.
    pub volume: f64,
    /// Index of state g; d follows at +1.
    pub g: usize,
}

/// The tank.
#[derive(Clone, Debug, PartialEq)]
pub struct TankNode {
    /// Volume, mL.
    pub capacity: f64,
    /// Area of the surface, mL/m (so that level = V/area in m).
    pub area: f64,
    /// Height of the pick-up's mouth, m.
    pub pickup: f64,
    /// Coefficient of the vent, mL/s/√Pa.
    pub vent: f64,
    /// Further opening, such as an open filler cap, mL/s/√Pa.
    pub cap: f64,
    /// Width over which the pick-up starts to draw air, m.
    pub pickup_width: f64,
    /// Index of the fuel volume (mL); the air in it (mL at standard pressure) follows at +1.
    pub v: usize,
}

/// Where a link begins or ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The upstream side of a vessel.
    Inlet(usize),
    /// The downstream side of a vessel.
    Outlet(usize),
    /// The tank's pick-up.
    Tank,
    /// An external container at a fixed level, open to the air.
    Container,
}

/// What a link does.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// Δp = a·q + b·q|q|.
    Resistance {
        /// Pa·s/mL.
        a: f64,
        /// Pa·s²/mL².
        b: f64,
    },
    /// Non-return valve.
    NonReturn {
        /// Pa·s/mL.
        a: f64,
        /// Pa·s²/mL².
        b: f64,
        /// Cracking pressure, Pa.
        cracking: f64,
        /// Share that stands open.
        stuck_open: f64,
        /// Share of the lift reached.
        lift: f64,
        /// Seat leak, mL/s/Pa.
        seat_leak: f64,
    },
    /// Hand valve; its opening is the state `opening`.
    Valve {
        /// Coefficient when fully open, mL/s/√Pa.
        k_max: f64,
        /// Rounding of the corner, Pa.
        delta: f64,
        /// Index of the state.
        opening: usize,
        /// Lever to real opening: multiplied with the state.
        reach: f64,
    },
    /// Line with inertia; flow is the state `q`, its slow part follows at +1.
    Pipe {
        /// ρL/A, Pa·s²/mL.
        inertance: f64,
        /// Length, m.
        length: f64,
        /// Bore, m.
        bore: f64,
        /// ε/D.
        relative_roughness: f64,
        /// ΣK.
        fittings: f64,
        /// Unsteady friction R_u, Pa·s/mL.
        unsteady: f64,
        /// Its rate 200μ/(r²ρ), 1/s.
        unsteady_rate: f64,
        /// Index of the state q.
        q: usize,
    },
    /// Filter element, with a hand primer in its head: while the hand works, `on` = 1, it adds a head
    /// that falls from `stall` at rest to nothing at `flow`.
    Element {
        /// Pa·s/mL.
        a: f64,
        /// Pa·s²/mL².
        b: f64,
        /// Flow without back-pressure, mL/s.
        flow: f64,
        /// Pressure at which the hand gives up, Pa.
        stall: f64,
        /// Index of the state.
        on: usize,
    },
}

/// A link between two ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    /// Name of the component.
    pub name: String,
    /// Upstream end.
    pub from: End,
    /// Downstream end.
    pub to: End,
    /// What it does.
    pub kind: Kind,
}

/// The transfer pump.
#[derive(Clone, Debug, PartialEq)]
pub struct PumpLink {
    /// Vessel it draws from.
    pub inlet: usize,
    /// Gallery it delivers to.
    pub gallery: usize,
    /// mL a turn of the engine.
    pub displacement: f64,
    /// Slip while turning, mL/s/Pa.
    pub slip: f64,
    /// Slip at rest, mL/s/Pa.
    pub slip_at_rest: f64,
    /// Filling: y/(p_a + p_b(n/1000)²) to the power m.
    pub filling: (f64, f64, f64),
    /// Teeth, for the ripple.
    pub teeth: f64,
}

/// The engine and its gallery.
#[derive(Clone, Debug, PartialEq)]
pub struct EngineNode {
    /// Vessel of the gallery.
    pub gallery: usize,
    /// Overflow: opening difference (Pa), slope and leak (mL/s/Pa).
    pub overflow: (f64, f64, f64),
    /// Demand at rest and a 1/min, mL/s.
    pub demand: (f64, f64),
    /// Back-leak a 1/min, mL/s.
    pub back_leak: f64,
    /// Gallery pressure at which half is served, and the width, Pa.
    pub starves: (f64, f64),
    /// Lag of the speed, s.
    pub lag: f64,
    /// Share of gas that stops it.
    pub stopped_by_gas: Option<f64>,
    /// Index of the state n (1/min); after it: speed asked for, starter speed, share of gas
    /// delivered, turns made.
    pub n: usize,
}

/// A hole to the air.
#[derive(Clone, Debug, PartialEq)]
pub struct LeakSite {
    /// Cell it opens into.
    pub cell: usize,
    /// Effective area, mm².
    pub area: f64,
    /// Name of the node, for repairs.
    pub name: String,
}

/// Indices of the ledgers: what crossed the boundary, mL (air at standard pressure).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ledgers {
    /// Fuel burned.
    pub burned: usize,
    /// Fuel lost through holes.
    pub lost: usize,
    /// Fuel taken from the external container.
    pub container: usize,
    /// Air that came in through holes and the vent, less what left through them.
    pub air_in: usize,
    /// Air that left through the engine, less what came back.
    pub air_out: usize,
}

/// The whole network. Parameters may be changed between steps; the topology may not.
#[derive(Clone, Debug)]
pub struct Network {
    /// Shared properties.
    pub medium: Medium,
    /// Control volumes.
    pub vessels: Vec<Vessel>,
    /// Transport cells.
    pub cells: Vec<Cell>,
    /// The tank.
    pub tank: TankNode,
    /// Height of the external container's surface, m.
    pub container_level: f64,
    /// Links.
    pub links: Vec<Link>,
    /// The pump.
    pub pump: PumpLink,
    /// The engine.
    pub engine: EngineNode,
    /// Holes.
    pub leaks: Vec<LeakSite>,
    /// Ledgers.
    pub ledgers: Ledgers,
    /// Input states (valve openings, speed asked for …) and how fast each moves now, 1/s.
    pub inputs: Vec<(usize, f64)>,
    /// Absolute tolerance of every state.
    pub tolerance: Vec<f64>,
    /// Names of the states.
    pub names: Vec<String>,
}

/// Receives the Jacobian's entries in extended columns.
trait Sink {
    const WANTED: bool;
    const PATTERN: bool;
    fn add(&mut self, row: usize, column: usize, value: f64);
}

struct Nothing;
impl Sink for Nothing {
    const WANTED: bool = false;
    const PATTERN: bool = false;
    #[inline]
    fn add(&mut self, _: usize, _: usize, _: f64) {}
}

struct Marks {
    columns: usize,
    at: Vec<bool>,
}
impl Sink for Marks {
    const WANTED: bool = true;
    const PATTERN: bool = true;
    fn add(&mut self, row: usize, column: usize, _: f64) {
        self.at[row * self.columns + column] = true;
    }
}

struct Values<'a> {
    columns: usize,
    at: &'a mut [f64],
}
impl Sink for Values<'_> {
    const WANTED: bool = true;
    const PATTERN: bool = false;
    #[inline]
    fn add(&mut self, row: usize, column: usize, value: f64) {
        self.at[row * self.columns + column] += value;
    }
}

/// A flow with its derivatives against extended columns.
#[derive(Clone, Copy, Debug)]
struct Flow {
    value: f64,
    len: usize,
    parts: [(usize, f64); 6],
}

impl Flow {
    const ZERO: Self = Self { value: 0.0, len: 0, parts: [(0, 0.0); 6] };

    fn new(value: f64) -> Self {
        Self { value, ..Self::ZERO }
    }

    #[inline]
    fn with(mut self, column: usize, slope: f64) -> Self {
        self.parts[self.len] = (column, slope);
        self.len += 1;
        self
    }

    fn parts(&self) -> &[(usize, f64)] {
        &self.parts[..self.len]
    }
}

#[derive(Clone, Copy, Debug, Default)]
struct VesselNow {
    p: f64,
    y: f64,
    dp_dx: f64,
    dp_dg: f64,
}

#[derive(Clone, Copy, Debug, Default)]
struct CellNow {
    alpha: f64,
    da_dg: f64,
    da_dp: f64,
    /// Dissolved gas a volume of liquid, and its derivatives.
    c: f64,
    dc_dd: f64,
    dc_da: f64,
}

#[derive(Clone, Copy, Debug, Default)]
struct TankNow {
    /// Pressure at the bottom.
    p: f64,
    dp_dv: f64,
    dp_dm: f64,
    alpha: f64,
    da_dv: f64,
    c: f64,
    dc_dv: f64,
    dc_dm: f64,
    /// Pressure of the air space above vapour.
    y: f64,
    dy_dv: f64,
    dy_dm: f64,
}

/// What flows out of an end: composition with derivatives. Columns are extended.
#[derive(Clone, Copy)]
struct Donor {
    alpha: f64,
    /// Gas density against standard: y/p₀.
    gas: f64,
    c: f64,
    /// (column, dα, dgas, dc).
    parts: [(usize, f64, f64, f64); 3],
    len: usize,
}

/// Scratch of an evaluation; holds no state.
#[derive(Clone, Debug)]
pub struct Workspace {
    vessels: Vec<VesselNow>,
    cells: Vec<CellNow>,
    tank: TankNow,
    flows: Vec<Flow>,
    extended: Vec<f64>,
    columns: usize,
    /// Entries of the extended matrix in gas-fraction columns: (row, cell).
    gas_entries: Vec<(u32, u32)>,
    /// Entries in pressure columns: (row, vessel).
    pressure_entries: Vec<(u32, u32)>,
    /// Entries of the folded Jacobian.
    pattern: Vec<bool>,
}

impl Network {
    /// Number of states.
    pub fn states(&self) -> usize {
        self.names.len()
    }

    fn column_p(&self, vessel: usize) -> usize {
        self.states() + vessel
    }

    fn column_a(&self, cell: usize) -> usize {
        self.states() + self.vessels.len() + cell
    }

    /// Scratch space for this network, with the pattern of its Jacobian.
    pub fn workspace(&self) -> Workspace {
        let n = self.states();
        let columns = n + self.vessels.len() + self.cells.len();
        let mut work = Workspace {
            vessels: vec![VesselNow::default(); self.vessels.len()],
            cells: vec![CellNow::default(); self.cells.len()],
            tank: TankNow::default(),
            flows: vec![Flow::ZERO; self.links.len()],
            extended: vec![0.0; n * columns],
            columns,
            gas_entries: vec![],
            pressure_entries: vec![],
            pattern: vec![false; n * n],
        };
        let mut marks = Marks { columns, at: vec![false; n * columns] };
        let mut f = vec![0.0; n];
        // any admissible state will do: the pattern doesn't depend on it
        let y = self.typical_state();
        self.evaluate(&y, &mut f, &mut work, &mut marks);
        for row in 0..n {
            for (k, cell) in self.cells.iter().enumerate() {
                if marks.at[row * columns + self.column_a(k)] {
                    work.gas_entries.push((row as u32, k as u32));
                    marks.at[row * columns + self.column_p(cell.vessel)] = true;
                    marks.at[row * columns + cell.g] = true;
                }
            }
            for (v, vessel) in self.vessels.iter().enumerate() {
                if marks.at[row * columns + self.column_p(v)] {
                    work.pressure_entries.push((row as u32, v as u32));
                    marks.at[row * columns + vessel.x] = true;
                    for k in vessel.first_cell..vessel.first_cell + vessel.cells {
                        marks.at[row * columns + self.cells[k].g] = true;
                    }
                }
            }
            work.pattern[row * n..(row + 1) * n].copy_from_slice(&marks.at[row * columns..row * columns + n]);
        }
        work
    }

    fn typical_state(&self) -> Vec<f64> {
        let mut y = vec![0.0; self.states()];
        for cell in &self.cells {
            y[cell.g] = 0.01 * cell.volume;
            y[cell.g + 1] = 0.1 * cell.volume;
        }
        y[self.tank.v] = 0.5 * self.tank.capacity;
        y[self.tank.v + 1] = 0.5 * self.tank.capacity;
        y[self.engine.n] = 500.0;
        y
    }

    /// Right-hand side dy/dt.
    pub fn rhs(&self, y: &[f64], f: &mut [f64], work: &mut Workspace) {
        self.evaluate(y, f, work, &mut Nothing);
    }

    /// Right-hand side and Jacobian ∂f/∂y (row-major).
    pub fn rhs_and_jacobian(&self, y: &[f64], f: &mut [f64], jacobian: &mut [f64], work: &mut Workspace) {
        let n = self.states();
        let columns = work.columns;
        let mut extended = std::mem::take(&mut work.extended);
        extended.fill(0.0);
        self.evaluate(y, f, work, &mut Values { columns, at: &mut extended });
        for &(row, k) in &work.gas_entries {
            let (row, k) = (row as usize, k as usize);
            let value = extended[row * columns + self.column_a(k)];
            if value != 0.0 {
                let now = work.cells[k];
                extended[row * columns + self.cells[k].g] += value * now.da_dg;
                extended[row * columns + self.column_p(self.cells[k].vessel)] += value * now.da_dp;
            }
        }
        for &(row, v) in &work.pressure_entries {
            let (row, v) = (row as usize, v as usize);
            let value = extended[row * columns + self.column_p(v)];
            if value != 0.0 {
                let (vessel, now) = (&self.vessels[v], work.vessels[v]);
                extended[row * columns + vessel.x] += value * now.dp_dx;
                for cell in &self.cells[vessel.first_cell..vessel.first_cell + vessel.cells] {
                    extended[row * columns + cell.g] += value * now.dp_dg;
                }
            }
        }
        for row in 0..n {
            jacobian[row * n..(row + 1) * n].copy_from_slice(&extended[row * columns..row * columns + n]);
        }
        work.extended = extended;
    }

    fn evaluate<S: Sink>(&self, y: &[f64], f: &mut [f64], work: &mut Workspace, sink: &mut S) {
        f.fill(0.0);
        self.close(y, work);
        self.link_flows(y, f, work, sink);
        for (i, link) in self.links.iter().enumerate() {
            let flow = work.flows[i];
            self.pass(link.from, link.to, &flow, f, work, sink);
        }
        self.advect(y, f, work, sink);
        self.exchange_gas(y, f, work, sink);
        self.leak(f, work, sink);
        self.run_pump(y, f, work, sink);
        self.run_engine(y, f, work, sink);
        self.breathe(y, f, work, sink);
        for &(state, rate) in &self.inputs {
            f[state] = rate;
        }
    }

    /// Pressures and compositions from the states.
    fn close(&self, y: &[f64], work: &mut Workspace) {
        let pv = self.medium.vapour;
        for (v, vessel) in self.vessels.iter().enumerate() {
            work.vessels[v] = self.close_vessel(vessel, y);
            let now = work.vessels[v];
            for k in vessel.first_cell..vessel.first_cell + vessel.cells {
                work.cells[k] = close_cell(&self.cells[k], now.y, y);
            }
        }
        let (tank, medium) = (&self.tank, &self.medium);
        let (v, m) = (y[tank.v], y[tank.v + 1]);
        let ullage = tank.capacity - v;
        let above = P0 * m / ullage;
        let head = medium.density * GRAVITY / tank.area;
        let level = smooth_step((v / tank.area - tank.pickup) / tank.pickup_width);
        work.tank = TankNow {
            p: pv + above + head * v,
            dp_dv: above / ullage + head,
            dp_dm: P0 / ullage,
            alpha: 1.0 - level.value,
            da_dv: -level.slope / (tank.pickup_width * tank.area),
            c: medium.solubility * above / P0,
            dc_dv: medium.solubility * above / (ullage * P0),
            dc_dm: medium.solubility / ullage,
            y: above,
            dy_dv: above / ullage,
            dy_dm: P0 / ullage,
        };
    }

    fn close_vessel(&self, vessel: &Vessel, y: &[f64]) -> VesselNow {
        let pv = self.medium.vapour;
        let mut gas = vessel.still_gas;
        for cell in &self.cells[vessel.first_cell..vessel.first_cell + vessel.cells] {
            gas += y[cell.g];
        }
        let c = vessel.compliance;
        let big_g = P0 * gas;
        let b = y[vessel.x] - vessel.still_gas + c * (P0 - pv);
        let root = (b * b + 4.0 * c * big_g).sqrt();
        // the two forms are equal; each is free of cancellation on its side
        let above = if b > 0.0 { (b + root) / (2.0 * c) } else { 2.0 * big_g / (root - b) };
        VesselNow { p: pv + above, y: above, dp_dx: above / root, dp_dg: P0 / root }
    }

    /// Flows of all links; pipes also put their own equations into `f`.
    fn link_flows<S: Sink>(&self, y: &[f64], f: &mut [f64], work: &mut Workspace, sink: &mut S) {
        for (i, link) in self.links.iter().enumerate() {
            let flow = match &link.kind {
                Kind::Pipe { q, .. } => {
                    self.pipe(link, y, f, work, sink);
                    Flow::new(y[*q]).with(*q, 1.0)
                }
                kind => {
                    let drive = self.drive(link, work);
                    match *kind {
                        Kind::Resistance { a, b } => drive.through(resistance_flow(a, b, drive.value)),
                        Kind::NonReturn { a, b, cracking, stuck_open, lift, seat_leak } => {
                            drive.through(non_return_flow(a, b, cracking, stuck_open, lift, seat_leak, drive.value))
                        }
                        Kind::Valve { k_max, delta, opening, reach } => {
                            let k = valve_coefficient(k_max, y[opening] * reach);
                            let unit = orifice_flow(1.0, delta, drive.value);
                            drive
                                .through(Slope { value: k.value * unit.value, slope: k.value * unit.slope })
                                .with(opening, k.slope * reach * unit.value)
                        }
                        Kind::Element { a, b, flow, stall, on } => {
                            let at_work = y[on];
                            let stiff = a + at_work * stall / flow;
                            let law = resistance_flow(stiff, b, drive.value + at_work * stall);
                            // dq/da' = −q·dq/dΔp, from a'q + bq² = Δp
                            let by_hand = law.slope * (stall - law.value * stall / flow);
                            drive.through(law).with(on, by_hand)
                        }
                        Kind::Pipe { .. } => Flow::ZERO,
                    }
                }
            };
            work.flows[i] = flow;
        }
    }

    /// Pressure and height of an end, with derivative columns.
    fn end_pressure(&self, end: End, work: &Workspace) -> (f64, f64, Flow) {
        match end {
            End::Inlet(v) | End::Outlet(v) => {
                let now = &work.vessels[v];
                (now.p, self.vessels[v].height, Flow::new(now.p).with(self.column_p(v), 1.0))
            }
            End::Tank => {
                let t = &work.tank;
                (t.p, 0.0, Flow::new(t.p).with(self.tank.v, t.dp_dv).with(self.tank.v + 1, t.dp_dm))
            }
            End::Container => (self.medium.air, self.container_level, Flow::new(self.medium.air)),
        }
    }

    /// Difference that drives a link without inertia: p₁ − p₂ + ρg(z₁ − z₂)(1 − α₁).
    fn drive(&self, link: &Link, work: &Workspace) -> Flow {
        let (p1, z1, from) = self.end_pressure(link.from, work);
        let (p2, z2, to) = self.end_pressure(link.to, work);
        let head = self.medium.density * GRAVITY * (z1 - z2);
        let mut drive = from;
        for &(column, slope) in to.parts() {
            drive = drive.with(column, -slope);
        }
        drive.value = p1 - p2 + head;
        if let End::Outlet(v) = link.from
            && self.vessels[v].cells > 0
            && head != 0.0
        {
            let k = self.vessels[v].first_cell + self.vessels[v].cells - 1;
            drive.value -= head * work.cells[k].alpha;
            drive = drive.with(self.column_a(k), -head);
        }
        drive
    }

    /// Momentum of a line: fills rows q and q_s.
    fn pipe<S: Sink>(&self, link: &Link, y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
        let Kind::Pipe { inertance, length, bore, relative_roughness, fittings, unsteady, unsteady_rate, q: row } =
            link.kind
        else {
            return;
        };
        let (p1, z1, from) = self.end_pressure(link.from, work);
        let (p2, z2, to) = self.end_pressure(link.to, work);
        let (q, slow) = (y[row], y[row + 1]);
        let inverse = 1.0 / inertance;
        let head = self.medium.density * GRAVITY * (z2 - z1);
        let mut full = 1.0;
        for end in [link.from, link.to] {
            if let End::Inlet(v) | End::Outlet(v) = end {
                let vessel = &self.vessels[v];
                if vessel.cells == 0 {
                    continue;
                }
                let share = 0.5 / vessel.cells as f64;
                for k in vessel.first_cell..vessel.first_cell + vessel.cells {
                    full -= share * work.cells[k].alpha;
                    if S::WANTED {
                        sink.add(row, self.column_a(k), inverse * head * share);
                    }
                }
            }
        }
        let friction = pipe_friction(&self.medium, q, length, bore, relative_roughness, fittings);
        f[row] = inverse * (p1 - p2 - head * full - friction.value - unsteady * (q - slow));
        f[row + 1] = unsteady_rate * (q - slow);
        if S::WANTED {
            for &(column, slope) in from.parts() {
                sink.add(row, column, inverse * slope);
            }
            for &(column, slope) in to.parts() {
                sink.add(row, column, -inverse * slope);
            }
            sink.add(row, row, -inverse * (friction.slope + unsteady));
            sink.add(row, row + 1, inverse * unsteady);
            sink.add(row + 1, row, unsteady_rate);
            sink.add(row + 1, row + 1, -unsteady_rate);
        }
    }

    fn boundary_cell(&self, end: End) -> Option<usize> {
        match end {
            End::Inlet(v) => (self.vessels[v].cells > 0).then_some(self.vessels[v].first_cell),
            End::Outlet(v) => {
                (self.vessels[v].cells > 0).then_some(self.vessels[v].first_cell + self.vessels[v].cells - 1)
            }
            End::Tank | End::Container => None,
        }
    }

    fn donor(&self, end: End, work: &Workspace) -> Donor {
        match (end, self.boundary_cell(end)) {
            (End::Tank, _) => {
                let t = &work.tank;
                Donor {
                    alpha: t.alpha,
                    gas: t.y / P0,
                    c: t.c,
                    parts: [
                        (self.tank.v, t.da_dv, t.dy_dv / P0, t.dc_dv),
                        (self.tank.v + 1, 0.0, t.dy_dm / P0, t.dc_dm),
                        (0, 0.0, 0.0, 0.0),
                    ],
                    len: 2,
                }
            }
            (_, Some(k)) => self.cell_donor(k, work),
            // container and gallery: fuel saturated at air pressure, no free gas
            _ => Donor {
                alpha: 0.0,
                gas: 1.0,
                c: self.medium.solubility * (self.medium.air - self.medium.vapour) / P0,
                parts: [(0, 0.0, 0.0, 0.0); 3],
                len: 0,
            },
        }
    }

    fn cell_donor(&self, k: usize, work: &Workspace) -> Donor {
        let (cell, now) = (&self.cells[k], &work.cells[k]);
        Donor {
            alpha: now.alpha,
            gas: work.vessels[cell.vessel].y / P0,
            c: now.c,
            parts: [
                (self.column_a(k), 1.0, 0.0, now.dc_da),
                (self.column_p(cell.vessel), 0.0, 1.0 / P0, 0.0),
                (cell.g + 1, 0.0, 0.0, now.dc_dd),
            ],
            len: 3,
        }
    }

    /// Carries a link's flow from its donor to its receiver: liquid, free and dissolved gas.
    fn pass<S: Sink>(&self, from: End, to: End, flow: &Flow, f: &mut [f64], work: &Workspace, sink: &mut S) {
        let forward = flow.value >= 0.0;
        let donor = self.donor(if forward { from } else { to }, work);
        let carried = Carried::of(flow, &donor);
        self.credit(from, -1.0, &carried, flow, &donor, f, sink);
        self.credit(to, 1.0, &carried, flow, &donor, f, sink);
        if S::PATTERN {
            let other = self.donor(if forward { to } else { from }, work);
            let carried = Carried::of(flow, &other);
            self.credit(from, -1.0, &carried, flow, &other, f, sink);
            self.credit(to, 1.0, &carried, flow, &other, f, sink);
        }
    }

    /// Adds what a flow carries to one end.
    #[expect(clippy::too_many_arguments, reason = "one call site pair; a struct would only rename the list")]
    fn credit<S: Sink>(
        &self,
        end: End,
        sign: f64,
        carried: &Carried,
        flow: &Flow,
        donor: &Donor,
        f: &mut [f64],
        sink: &mut S,
    ) {
        let (liquid, gas) = match end {
            End::Inlet(v) | End::Outlet(v) => (self.vessels[v].x, self.boundary_cell(end).map(|k| self.cells[k].g)),
            End::Tank => (self.tank.v, None),
            End::Container => (self.ledgers.container, None),
        };
        f[liquid] += sign * carried.liquid;
        carried.put(liquid, sign, Part::Liquid, flow, donor, sink);
        match (gas, end) {
            (Some(g), _) => {
                f[g] += sign * carried.free;
                f[g + 1] += sign * carried.dissolved;
                carried.put(g, sign, Part::Free, flow, donor, sink);
                carried.put(g + 1, sign, Part::Dissolved, flow, donor, sink);
            }
            // free gas comes from or joins the air space; dissolved gas stays with the tank's fuel
            (None, End::Tank) => {
                f[self.tank.v + 1] += sign * carried.free;
                carried.put(self.tank.v + 1, sign, Part::Free, flow, donor, sink);
                f[self.ledgers.air_in] -= sign * carried.dissolved;
                carried.put(self.ledgers.air_in, -sign, Part::Dissolved, flow, donor, sink);
            }
            (None, _) => {
                for part in [Part::Free, Part::Dissolved] {
                    f[self.ledgers.air_out] += sign * carried.amount(part);
                    carried.put(self.ledgers.air_out, sign, part, flow, donor, sink);
                }
            }
        }
    }

    /// Carries gas from cell to cell inside vessels: the flow at an inner face lies between the
    /// flows at the vessel's two sides.
    fn advect<S: Sink>(&self, _y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
        for (v, vessel) in self.vessels.iter().enumerate() {
            if vessel.cells < 2 {
                continue;
            }
            for face in 1..vessel.cells {
                let share = face as f64 / vessel.cells as f64;
                let mut value = 0.0;
                self.for_side_flows(v, share, work, |weight, flow| value += weight * flow.value);
                let (left, right) = (vessel.first_cell + face - 1, vessel.first_cell + face);
                let move_from = |k: usize, sink: &mut S, f: &mut [f64], count: bool| {
                    let donor = self.cell_donor(k, work);
                    let total = Flow::new(value);
                    let carried = Carried::of(&total, &donor);
                    for (cell, sign) in [(left, -1.0), (right, 1.0)] {
                        let g = self.cells[cell].g;
                        if count {
                            f[g] += sign * carried.free;
                            f[g + 1] += sign * carried.dissolved;
                        }
                        if S::WANTED {
                            // the donor's part once, the flow's part for every link at a side
                            carried.put(g, sign, Part::Free, &total, &donor, sink);
                            carried.put(g + 1, sign, Part::Dissolved, &total, &donor, sink);
                            let (free, dissolved) = (donor.alpha * donor.gas, (1.0 - donor.alpha) * donor.c);
                            self.for_side_flows(v, share, work, |weight, flow| {
                                for &(column, slope) in flow.parts() {
                                    sink.add(g, column, sign * weight * slope * free);
                                    sink.add(g + 1, column, sign * weight * slope * dissolved);
                                }
                            });
                        }
                    }
                };
                let (donor, other) = if value >= 0.0 { (left, right) } else { (right, left) };
                move_from(donor, sink, f, true);
                if S::PATTERN {
                    move_from(other, sink, f, false);
                }
            }
        }
    }

    fn for_side_flows(&self, v: usize, share: f64, work: &Workspace, mut visit: impl FnMut(f64, &Flow)) {
        for (i, link) in self.links.iter().enumerate() {
            for (end, sign) in [(link.from, -1.0), (link.to, 1.0)] {
                match end {
                    End::Inlet(w) if w == v => visit(sign * (1.0 - share), &work.flows[i]),
                    End::Outlet(w) if w == v => visit(-sign * share, &work.flows[i]),
                    _ => {}
                }
            }
        }
    }

    /// Release of dissolved air and its way back.
    fn exchange_gas<S: Sink>(&self, y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
        let m = &self.medium;
        for (k, cell) in self.cells.iter().enumerate() {
            let now = &work.cells[k];
            let above = work.vessels[cell.vessel].y;
            let (g, d) = (y[cell.g], y[cell.g + 1]);
            let liquid = cell.volume * (1.0 - now.alpha);
            let equilibrium = m.solubility * liquid * above / P0;
            let threshold = m.solubility * liquid * (above + m.nucleation) / P0;
            let shed = positive_part(d - threshold, 1e-3 * m.solubility * cell.volume);
            let half = 0.02 * cell.volume;
            let contact = g / (g + half);
            let rate = m.release * shed.value + m.exchange * (d - equilibrium) * contact;
            f[cell.g] += rate;
            f[cell.g + 1] -= rate;
            if S::WANTED {
                let (dt_da, dt_dp) =
                    (-m.solubility * cell.volume * (above + m.nucleation) / P0, m.solubility * liquid / P0);
                let (de_da, de_dp) = (-m.solubility * cell.volume * above / P0, dt_dp);
                let dr_dd = m.release * shed.slope + m.exchange * contact;
                let dr_dg = m.exchange * (d - equilibrium) * half / ((g + half) * (g + half));
                let dr_da = -m.release * shed.slope * dt_da - m.exchange * contact * de_da;
                let dr_dp = -m.release * shed.slope * dt_dp - m.exchange * contact * de_dp;
                for (row, sign) in [(cell.g, 1.0), (cell.g + 1, -1.0)] {
                    sink.add(row, cell.g + 1, sign * dr_dd);
                    sink.add(row, cell.g, sign * dr_dg);
                    sink.add(row, self.column_a(k), sign * dr_da);
                    sink.add(row, self.column_p(cell.vessel), sign * dr_dp);
                }
            }
        }
    }

    /// Holes: air in below air pressure, fuel (with its gas) out above it.
    fn leak<S: Sink>(&self, f: &mut [f64], work: &Workspace, sink: &mut S) {
        for site in &self.leaks {
            let k = site.cell;
            let v = self.cells[k].vessel;
            let p = work.vessels[v].p;
            let g = self.cells[k].g;
            let column_p = self.column_p(v);
            let air = air_inflow(site.area, p, self.medium.air, self.medium.temperature);
            f[g] += air.value;
            f[self.ledgers.air_in] += air.value;
            if S::WANTED {
                sink.add(g, column_p, air.slope);
                sink.add(self.ledgers.air_in, column_p, air.slope);
            }
            let over = p - self.medium.air;
            if over > 0.0 || S::PATTERN {
                // mm²·√(2/ρ) gives mL/s/√Pa directly
                let k_hole = site.area * (2.0 / self.medium.density).sqrt();
                let out = orifice_flow(k_hole, LEAK_ROUNDING_PA, over.max(0.0));
                let flow = Flow::new(out.value).with(column_p, out.slope);
                let donor = self.cell_donor(k, work);
                let carried = Carried::of(&flow, &donor);
                for (row, sign, part) in [
                    (self.vessels[v].x, -1.0, Part::Liquid),
                    (self.ledgers.lost, 1.0, Part::Liquid),
                    (g, -1.0, Part::Free),
                    (g + 1, -1.0, Part::Dissolved),
                    (self.ledgers.air_in, -1.0, Part::Free),
                    (self.ledgers.air_in, -1.0, Part::Dissolved),
                ] {
                    f[row] += sign * carried.amount(part);
                    carried.put(row, sign, part, &flow, &donor, sink);
                }
            }
        }
    }

    /// The pump draws a mixture; fuel goes on to the gallery, gas leaves with it through the engine.
    fn run_pump<S: Sink>(&self, y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
        let pump = &self.pump;
        let engine = &self.engine;
        let speed = y[engine.n];
        let inlet = End::Outlet(pump.inlet);
        let draw = self.pump_draw(speed, work);
        let donor = self.donor(inlet, work);
        let carried = Carried::of(&draw, &donor);
        let (x_in, x_out) = (self.vessels[pump.inlet].x, self.vessels[pump.gallery].x);
        let cell = self.boundary_cell(inlet).map(|k| self.cells[k].g);
        let mut entries = vec_of_entries(x_in, x_out, cell, self.ledgers.air_out);
        for (row, sign, part) in entries.drain() {
            f[row] += sign * carried.amount(part);
            carried.put(row, sign, part, &draw, &donor, sink);
        }
        // slip: fuel falls back through the gaps, nearly saturated
        let (p_in, p_out) = (work.vessels[pump.inlet].p, work.vessels[pump.gallery].p);
        let n = speed.max(0.0);
        let gap = (pump.slip * n / (n + 60.0) + pump.slip_at_rest) * self.medium.thinness;
        let slip = gap * (p_out - p_in);
        let d_n = pump.slip * 60.0 / ((n + 60.0) * (n + 60.0)) * self.medium.thinness * (p_out - p_in);
        let saturated = 0.98 * self.medium.solubility;
        let mut rows = [(x_in, 1.0), (x_out, -1.0), (usize::MAX, 0.0), (usize::MAX, 0.0)];
        if let Some(g) = cell {
            rows[2] = (g + 1, saturated);
            rows[3] = (self.ledgers.air_out, -saturated);
        }
        for (row, factor) in rows {
            if row == usize::MAX {
                continue;
            }
            f[row] += factor * slip;
            if S::WANTED {
                sink.add(row, self.column_p(pump.gallery), factor * gap);
                sink.add(row, self.column_p(pump.inlet), -factor * gap);
                sink.add(row, engine.n, factor * d_n);
            }
        }
        self.gas_to_engine(y, f, &draw, &donor, sink);
    }

    /// Mixture that the pump draws: displacement × speed × filling.
    fn pump_draw(&self, speed: f64, work: &Workspace) -> Flow {
        let pump = &self.pump;
        let swept = pump.displacement * speed / 60.0;
        let (p_a, p_b, m) = pump.filling;
        let above = work.vessels[pump.inlet].y;
        let half = p_a + p_b * speed * speed * 1e-6;
        let ratio = if m == 5.0 { ops::powi(above / half, 5) } else { ops::powf(above / half, m) };
        let filled = ratio / (1.0 + ratio);
        let d_ratio = m * ratio / ((1.0 + ratio) * (1.0 + ratio));
        Flow::new(swept * filled).with(self.column_p(pump.inlet), swept * d_ratio / above).with(
            self.engine.n,
            pump.displacement / 60.0 * filled - swept * d_ratio / half * 2.0 * p_b * speed * 1e-6,
        )
    }

    /// Share of gas (at standard pressure) in what reaches the engine, mixed in the gallery.
    fn gas_to_engine<S: Sink>(&self, y: &[f64], f: &mut [f64], draw: &Flow, donor: &Donor, sink: &mut S) {
        let state = self.engine.n + 3;
        let volume = self.vessels[self.engine.gallery].volume;
        let liquid = (1.0 - donor.alpha).max(1e-6);
        let ratio = donor.alpha * donor.gas / liquid;
        let arriving = ratio / (1.0 + ratio);
        let rate = draw.value / volume;
        f[state] += rate * (arriving - y[state]);
        if S::WANTED {
            sink.add(state, state, -rate);
            for &(column, slope) in draw.parts() {
                sink.add(state, column, slope / volume * (arriving - y[state]));
            }
            let d_arriving = 1.0 / ((1.0 + ratio) * (1.0 + ratio));
            let d_alpha = if donor.alpha < 1.0 - 1e-6 { donor.gas / (liquid * liquid) } else { 0.0 };
            for &(column, da, dg, _) in &donor.parts[..donor.len] {
                sink.add(state, column, rate * d_arriving * (d_alpha * da + donor.alpha / liquid * dg));
            }
        }
    }

    /// Gallery, demand, overflow and speed.
    fn run_engine<S: Sink>(&self, y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
        let e = &self.engine;
        let (n, asked, starter, gas) = (y[e.n], y[e.n + 1], y[e.n + 2], y[e.n + 3]);
        let p = work.vessels[e.gallery].p;
        let (x, column_p) = (self.vessels[e.gallery].x, self.column_p(e.gallery));
        let (opens, slope, seat) = e.overflow;
        let over = softplus(p - self.medium.air - opens, OVERFLOW_ROUNDING_PA);
        let spilled = slope * over.value + seat * (p - self.medium.air);
        let served = smooth_step((p - e.starves.0) / e.starves.1);
        let d_served = served.slope / e.starves.1;
        let turning = n / (n + 20.0);
        let wanted = (e.demand.0 + e.demand.1 * n) * turning;
        let d_wanted = e.demand.1 * turning + (e.demand.0 + e.demand.1 * n) * 20.0 / ((n + 20.0) * (n + 20.0));
        let burned = wanted * served.value;
        let back = e.back_leak * n * served.value;
        f[x] -= spilled + burned + back;
        f[self.tank.v] += spilled + back;
        f[self.ledgers.burned] += burned;
        // speed
        let alive = smooth_step((n - 150.0) / 40.0);
        let bears = match e.stopped_by_gas {
            None => Slope { value: 1.0, slope: 0.0 },
            Some(limit) => {
                let s = smooth_step((limit - gas) / (0.2 * limit));
                Slope { value: s.value, slope: -s.slope / (0.2 * limit) }
            }
        };
        let own = asked * served.value * alive.value * bears.value;
        let on_starter = starter >= own;
        let target = if on_starter { starter } else { own };
        f[e.n] += (target - n) / e.lag;
        f[e.n + 4] += n / 60.0;
        if S::WANTED {
            let d_spilled = slope * over.slope + seat;
            sink.add(x, column_p, -(d_spilled + (wanted + e.back_leak * n) * d_served));
            sink.add(x, e.n, -(d_wanted + e.back_leak) * served.value);
            sink.add(self.tank.v, column_p, d_spilled + e.back_leak * n * d_served);
            sink.add(self.tank.v, e.n, e.back_leak * served.value);
            sink.add(self.ledgers.burned, column_p, wanted * d_served);
            sink.add(self.ledgers.burned, e.n, d_wanted * served.value);
            sink.add(e.n + 4, e.n, 1.0 / 60.0);
            sink.add(e.n, e.n, -1.0 / e.lag);
            if on_starter || S::PATTERN {
                sink.add(e.n, e.n + 2, 1.0 / e.lag);
            }
            if !on_starter || S::PATTERN {
                sink.add(e.n, e.n + 1, served.value * alive.value * bears.value / e.lag);
                sink.add(e.n, column_p, asked * d_served * alive.value * bears.value / e.lag);
                sink.add(e.n, e.n, asked * served.value * alive.slope / 40.0 * bears.value / e.lag);
                sink.add(e.n, e.n + 3, asked * served.value * alive.value * bears.slope / e.lag);
            }
        }
    }

    /// The tank's vent.
    fn breathe<S: Sink>(&self, _y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
        let t = &self.tank;
        let now = &work.tank;
        let inside = now.y + self.medium.vapour;
        let flow = orifice_flow(t.vent + t.cap, VENT_ROUNDING_PA, self.medium.air - inside);
        for row in [t.v + 1, self.ledgers.air_in] {
            f[row] += flow.value;
            if S::WANTED {
                sink.add(row, t.v, -flow.slope * now.dy_dv);
                sink.add(row, t.v + 1, -flow.slope * now.dy_dm);
            }
        }
    }

    // ---- what others may ask of a state -------------------------------------------------------

    /// Absolute pressure in a vessel, Pa.
    pub fn pressure(&self, vessel: usize, y: &[f64]) -> f64 {
        self.close_vessel(&self.vessels[vessel], y).p
    }

    /// Share of free gas in a vessel's cells, volume-weighted, 0 … 1.
    pub fn gas_share(&self, vessel: usize, y: &[f64]) -> f64 {
        let v = &self.vessels[vessel];
        let now = self.close_vessel(v, y);
        let (mut gas, mut volume) = (0.0, 0.0);
        for cell in &self.cells[v.first_cell..v.first_cell + v.cells] {
            gas += close_cell(cell, now.y, y).alpha * cell.volume;
            volume += cell.volume;
        }
        if volume > 0.0 { gas / volume } else { 0.0 }
    }

    /// Pressure of the tank's air space, Pa absolute.
    pub fn air_space(&self, y: &[f64]) -> f64 {
        let t = &self.tank;
        self.medium.vapour + P0 * y[t.v + 1] / (t.capacity - y[t.v])
    }

    /// Flow through each link, mL/s, in the order of `links`.
    pub fn flows(&self, y: &[f64], work: &mut Workspace) -> Vec<f64> {
        let mut f = vec![0.0; self.states()];
        self.rhs(y, &mut f, work);
        work.flows.iter().map(|flow| flow.value).collect()
    }

    /// Liquid in vessels, tank and ledgers, mL: constant whatever happens.
    pub fn liquid_balance(&self, y: &[f64]) -> f64 {
        let l = &self.ledgers;
        self.vessels.iter().map(|v| y[v.x]).sum::<f64>() + y[self.tank.v] + y[l.burned] + y[l.lost] + y[l.container]
    }

    /// Air in cells, air space and ledgers, mL at standard pressure: constant whatever happens.
    pub fn air_balance(&self, y: &[f64]) -> f64 {
        let l = &self.ledgers;
        self.cells.iter().map(|c| y[c.g] + y[c.g + 1]).sum::<f64>() + y[self.tank.v + 1] + y[l.air_out]
            - y[l.air_in]
    }

    /// The vessel of a node.
    pub fn vessel(&self, name: &str) -> Option<usize> {
        self.vessels.iter().position(|v| v.name == name)
    }

    /// Entries of the Jacobian's pattern.
    pub fn pattern(work: &Workspace) -> &[bool] {
        &work.pattern
    }

    /// x of a vessel for a pressure and an amount of free gas in its cells.
    pub fn excess_for(&self, vessel: usize, p: f64, free_gas: f64) -> f64 {
        let v = &self.vessels[vessel];
        v.compliance * (p - P0) - P0 * (free_gas + v.still_gas) / (p - self.medium.vapour) + v.still_gas
    }
}

/// Rounding of the corner of the overflow valve, Pa.
const OVERFLOW_ROUNDING_PA: f64 = 3000.0;
/// Rounding of the corner of the vent, Pa.
const VENT_ROUNDING_PA: f64 = 20.0;
/// Rounding of the corner of a hole that weeps, Pa.
const LEAK_ROUNDING_PA: f64 = 100.0;
/// Width of the non-return valve's corner, Pa.
const NON_RETURN_ROUNDING_PA: f64 = 25.0;

#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Liquid,
    Free,
    Dissolved,
}

/// What a flow of mixture carries.
struct Carried {
    liquid: f64,
    free: f64,
    dissolved: f64,
}

impl Carried {
    fn of(flow: &Flow, donor: &Donor) -> Self {
        let q = flow.value;
        let liquid = (1.0 - donor.alpha) * q;
        Self { liquid, free: donor.alpha * q * donor.gas, dissolved: liquid * donor.c }
    }

    fn amount(&self, part: Part) -> f64 {
        match part {
            Part::Liquid => self.liquid,
            Part::Free => self.free,
            Part::Dissolved => self.dissolved,
        }
    }

    /// Derivatives of one part into a row.
    #[inline]
    fn put<S: Sink>(&self, row: usize, sign: f64, part: Part, flow: &Flow, donor: &Donor, sink: &mut S) {
        if !S::WANTED {
            return;
        }
        let q = flow.value;
        let a = donor.alpha;
        let per_flow = match part {
            Part::Liquid => 1.0 - a,
            Part::Free => a * donor.gas,
            Part::Dissolved => (1.0 - a) * donor.c,
        };
        for &(column, slope) in flow.parts() {
            sink.add(row, column, sign * per_flow * slope);
        }
        for &(column, da, dg, dc) in &donor.parts[..donor.len] {
            let d = match part {
                Part::Liquid => -da,
                Part::Free => da * donor.gas + a * dg,
                Part::Dissolved => (1.0 - a) * dc - da * donor.c,
            };
            sink.add(row, column, sign * q * d);
        }
    }
}

impl Flow {
    /// Chains a law over this driving difference.
    #[inline]
    fn through(&self, law: Slope) -> Self {
        let mut flow = Self::new(law.value);
        for &(column, slope) in self.parts() {
            flow = flow.with(column, law.slope * slope);
        }
        flow
    }
}

/// Rows that a pump's draw touches: (row, sign, part).
struct Entries([(usize, f64, Part); 6], usize);

fn vec_of_entries(x_in: usize, x_out: usize, cell: Option<usize>, air_out: usize) -> Entries {
    let none = (0, 0.0, Part::Liquid);
    let mut list = Entries([none; 6], 2);
    list.0[0] = (x_in, -1.0, Part::Liquid);
    list.0[1] = (x_out, 1.0, Part::Liquid);
    if let Some(g) = cell {
        list.0[2] = (g, -1.0, Part::Free);
        list.0[3] = (g + 1, -1.0, Part::Dissolved);
        list.0[4] = (air_out, 1.0, Part::Free);
        list.0[5] = (air_out, 1.0, Part::Dissolved);
        list.1 = 6;
    }
    list
}

impl Entries {
    fn drain(&mut self) -> impl Iterator<Item = (usize, f64, Part)> + '_ {
        self.0[..self.1].iter().copied()
    }
}

/// Gas fraction α = r/(1 + r⁸)^⅛ with r = g·p₀/(y·v), and dissolved gas a volume of liquid.
fn close_cell(cell: &Cell, above: f64, y: &[f64]) -> CellNow {
    let v = cell.volume;
    let per_g = P0 / (above * v);
    let r = y[cell.g] * per_g;
    let r2 = r * r;
    let r8 = r2 * r2 * r2 * r2;
    let eighth = (1.0 + r8).sqrt().sqrt().sqrt();
    let alpha = r / eighth;
    let da_dr = 1.0 / (eighth * (1.0 + r8));
    let liquid = v * (1.0 - alpha) + 1e-3 * v;
    let c = y[cell.g + 1] / liquid;
    CellNow {
        alpha,
        da_dg: da_dr * per_g,
        da_dp: -da_dr * r / above,
        c,
        dc_dd: 1.0 / liquid,
        dc_da: c * v / liquid,
    }
}

/// See [`crate::plant::component::NonReturnValve`].
fn non_return_flow(a: f64, b: f64, cracking: f64, stuck_open: f64, lift: f64, seat_leak: f64, dp: f64) -> Slope {
    let ahead = softplus(dp - cracking * (1.0 - stuck_open), NON_RETURN_ROUNDING_PA);
    let forward = resistance_flow(a, b, ahead.value);
    let mut value = lift * forward.value + seat_leak * dp;
    let mut slope = lift * forward.slope * ahead.slope + seat_leak;
    if stuck_open > 0.0 {
        let behind = softplus(-dp, NON_RETURN_ROUNDING_PA);
        let back = resistance_flow(a, b, behind.value);
        value -= lift * stuck_open * back.value;
        slope += lift * stuck_open * back.slope * behind.slope;
    }
    Slope { value, slope }
}

/// Pressure drop by friction and fittings at a flow (mL/s), Pa, and its slope.
pub fn pipe_friction(
    medium: &Medium,
    q: f64,
    length: f64,
    bore: f64,
    relative_roughness: f64,
    fittings: f64,
) -> Slope {
    let area = core::f64::consts::PI * bore * bore / 4.0;
    let per_ml = 1e-6 / area;
    let v = q * per_ml;
    let re_per_v = medium.density * bore / medium.viscosity;
    let re = (v.abs() * re_per_v).max(1e-3);
    let fre = friction_times_reynolds(re, relative_roughness);
    let wall = medium.viscosity * length / (2.0 * bore * bore);
    let loss = 0.5 * fittings * medium.density;
    Slope {
        value: fre.value * wall * v + loss * v * v.abs(),
        slope: per_ml * (fre.value * wall + fre.slope * re_per_v * v.abs() * wall + 2.0 * loss * v.abs()),
    }
}
