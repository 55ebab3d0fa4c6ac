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

mod closure;
mod engine;
mod flow;
mod jacobian;
mod transport;

use super::law::{
    Slope, air_inflow, friction_times_reynolds, orifice_flow, positive_part, resistance_flow, smooth_step,
    softplus, valve_coefficient,
};
use crate::ops;
use crate::units::{GRAVITY, STANDARD_ATMOSPHERE_PA as P0};
use closure::{CellNow, TankNow, VesselNow, close_cell};
pub use flow::pipe_friction;
use jacobian::{Carried, Flow, Marks, Nothing, Part, Sink, Values};
use transport::Donor;

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

/// Scratch of an evaluation; holds no state.
#[derive(Clone, Debug)]
pub struct Workspace {
    vessels: Vec<VesselNow>,
    cells: Vec<CellNow>,
    tank: TankNow,
    flows: Vec<Flow>,
    /// Mixture that the pump draws, and fuel that slips back.
    draw: Flow,
    slip: Flow,
    /// Fuel that weeps out of each hole.
    weeps: Vec<Flow>,
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
            draw: Flow::ZERO,
            slip: Flow::ZERO,
            weeps: vec![Flow::ZERO; self.leaks.len()],
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
        self.pump_flows(y, work);
        self.weeping(work);
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
