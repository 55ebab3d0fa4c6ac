//! The numerical network: control volumes, links and one right-hand side with its exact Jacobian,
//! for L vehicles of one topology at once.
//!
//! Units inside: Pa absolute, mL, mL/s, s, 1/min, K. Each **vessel** (a control volume at a node) has
//! the state x, its liquid beyond its volume, reduced to standard pressure (mL), and for every
//! transport cell g (free gas) and d (dissolved gas), both mL at standard pressure. Pressure follows
//! from these in closed form:
//!
//! e − C(p − p₀) + G/(p − p_v) = 0, with C = V(1/K + c_w), G = p₀(Σg + g_s), e = x + VβΔT − g_s, hence
//! y = p − p_v = [b + √(b² + 4CG)]/(2C), b = e + C(p₀ − p_v).
//!
//! So p > p_v always; cavities and torn columns need no special case. (Volumes and gas: Wood 1930,
//! A Textbook of Sound; Henry's law for d; first-order release after Schweitzer & Szebehely 1950,
//! J. Appl. Phys. 21:1218, with a nucleation threshold of 22 kPa, an engineering estimate.)
//!
//! Conserved to rounding: liquid over vessels, reservoirs and ledgers; air over cells, air spaces and
//! ledgers. Not modelled: pressure waves inside a line, slip between bubbles and fuel.

mod closure;
mod drive;
mod flow;
mod jacobian;
mod passengers;
mod topology;
mod transport;

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use super::Filling;
use super::law::{
    Slope, air_inflow, friction_times_reynolds, orifice_flow, positive_part, resistance, resistance_flow,
    smooth_step, softplus, valve_coefficient,
};
use super::sparse::{Lu, Plan};
use crate::lanes::Lanes;
use crate::units::{GRAVITY, STANDARD_ATMOSPHERE_PA as P0};
use closure::{CellNow, ReservoirNow, VesselNow, gas_share};
pub use flow::pipe_friction;
use jacobian::{Donor, Flow, Marks, NO_SLOT, Nothing, Partial, Parts, Share, Sink, Slopes, Values};
pub use passengers::Passengers;
pub use topology::{
    Cell, Common, Controller, End, Engine, Hole, Law, Ledgers, Link, Motor, Param, Pickup, Reservoir, Topology,
    Vessel, Zone,
};

/// L vehicles of one topology: structure and parameters.
#[derive(Clone, Debug)]
pub struct Network<const L: usize> {
    /// What exists.
    pub top: Arc<Topology>,
    /// How the Jacobian is stored and factorised.
    pub(super) sparsity: Arc<Sparsity>,
    /// Parameters; may be changed between steps.
    pub params: Vec<Lanes<L>>,
    /// How fast each input state moves now, 1/s.
    pub rates: Vec<Lanes<L>>,
    /// The fuel of each lane.
    pub(super) fillings: Vec<Filling>,
    /// Temperature of each zone at which its properties were taken, K.
    pub(super) taken_at: Vec<Lanes<L>>,
}

/// Pattern of the extended Jacobian, its folding onto states, and the plan of elimination.
#[derive(Debug, Default)]
pub(super) struct Sparsity {
    columns: usize,
    /// Row × column → place in the list of entries.
    slot: Vec<u16>,
    entries: usize,
    /// Entries in gas-share columns: (entry, cell, entry for g, entry for p, entry for T).
    gas: Vec<(u16, u16, u16, u16, u16)>,
    /// Entries in pressure columns: (entry, vessel, entry for x, entry for T, first and number in `cell_entries`).
    pressure: Vec<(u16, u16, u16, u16, u32, u16)>,
    cell_entries: Vec<u16>,
    /// Plan for the part on states.
    pub(super) plan: Plan,
}

/// Scratch of an evaluation; holds no state.
#[derive(Clone, Debug)]
pub struct Workspace<const L: usize> {
    vessels: Vec<VesselNow<L>>,
    cells: Vec<CellNow<L>>,
    reservoirs: Vec<ReservoirNow<L>>,
    /// Share of the engine's demand that is served.
    served: Slope<L>,
    flows: Vec<Lanes<L>>,
    slopes: Vec<Parts<L>>,
    /// Fuel that weeps out of each hole, with its slope against the pressure.
    weeps: Vec<(Lanes<L>, Partial<L>)>,
    face: Vec<Partial<L>>,
    /// Entries of the extended Jacobian.
    pub(super) entries: Vec<Lanes<L>>,
}

impl<const L: usize> Workspace<L> {
    /// Memory held, bytes.
    pub(super) fn bytes(&self) -> usize {
        size_of_val(&*self.vessels)
            + size_of_val(&*self.cells)
            + size_of_val(&*self.reservoirs)
            + size_of_val(&*self.flows)
            + size_of_val(&*self.slopes)
            + size_of_val(&*self.weeps)
            + self.face.capacity() * size_of::<Partial<L>>()
            + size_of_val(&*self.entries)
    }

    /// Volume of the gas in each vessel at the state that was evaluated last, mL.
    pub(super) fn gas_volumes(&self) -> impl Iterator<Item = Lanes<L>> {
        self.vessels.iter().map(|vessel| vessel.gas / vessel.y)
    }
}

impl<const L: usize> Network<L> {
    /// Number of states.
    pub fn states(&self) -> usize {
        self.top.states()
    }

    /// Value of a parameter.
    #[inline(always)]
    pub fn at(&self, param: Param) -> Lanes<L> {
        self.params[param.index()]
    }

    #[inline(always)]
    fn column_p(&self, vessel: usize) -> usize {
        self.top.states() + vessel
    }

    #[inline(always)]
    fn column_a(&self, cell: usize) -> usize {
        self.top.states() + self.top.vessels.len() + cell
    }

    /// Growth of the vapour pressure in a vessel with its temperature, Pa/K.
    #[inline(always)]
    fn vapour_rise(&self, vessel: usize) -> Lanes<L> {
        self.at(self.top.zones[self.top.vessels[vessel].zone].vapour_rise)
    }

    /// Column of the temperature in a vessel.
    #[inline(always)]
    fn column_t(&self, vessel: usize) -> usize {
        self.top.zones[self.top.vessels[vessel].zone].t
    }

    /// Memory held by the numbers of these vehicles, bytes; what all vehicles of one structure share isn't counted.
    pub(super) fn bytes(&self) -> usize {
        size_of_val(&*self.params)
            + size_of_val(&*self.rates)
            + size_of_val(&*self.taken_at)
            + size_of_val(&*self.fillings)
    }

    /// Scratch space for this network.
    pub fn workspace(&self) -> Workspace<L> {
        let top = &self.top;
        Workspace {
            vessels: vec![VesselNow::default(); top.vessels.len()],
            cells: vec![CellNow::default(); top.cells.len()],
            reservoirs: vec![ReservoirNow::default(); top.reservoirs.len()],
            served: Slope { value: Lanes::ZERO, slope: Lanes::ZERO },
            flows: vec![Lanes::ZERO; top.links.len()],
            slopes: vec![Slopes::NONE; top.links.len()],
            weeps: vec![(Lanes::ZERO, (0, Lanes::ZERO)); top.holes.len()],
            face: vec![],
            entries: vec![Lanes::ZERO; self.sparsity.entries],
        }
    }

    /// Right-hand side dy/dt.
    pub fn rhs(&self, y: &[Lanes<L>], f: &mut [Lanes<L>], work: &mut Workspace<L>) {
        self.evaluate(y, f, work, &mut Nothing);
    }

    /// Right-hand side; the Jacobian's entries stay in the workspace.
    pub(super) fn rhs_and_entries(&self, y: &[Lanes<L>], f: &mut [Lanes<L>], work: &mut Workspace<L>) {
        let s = &*self.sparsity;
        let mut entries = std::mem::take(&mut work.entries);
        entries.fill(Lanes::ZERO);
        self.evaluate(y, f, work, &mut Values { columns: s.columns, slot: &s.slot, at: &mut entries });
        for &(entry, k, to_g, to_p, to_t) in &s.gas {
            let (value, now) = (entries[usize::from(entry)], &work.cells[usize::from(k)]);
            entries[usize::from(to_g)] += value * now.da_dg;
            let by_p = value * now.da_dp;
            entries[usize::from(to_p)] += by_p;
            // what counts is how far the pressure lies above that of the vapour
            entries[usize::from(to_t)] -= by_p * self.vapour_rise(self.top.cells[usize::from(k)].vessel);
        }
        for &(entry, v, to_x, to_t, first, count) in &s.pressure {
            let (value, now) = (entries[usize::from(entry)], &work.vessels[usize::from(v)]);
            let by_x = value * now.dp_dx;
            entries[usize::from(to_x)] += by_x;
            let vessel = &self.top.vessels[usize::from(v)];
            let rise = self.at(self.top.zones[vessel.zone].vapour_rise);
            entries[usize::from(to_t)] +=
                value * rise + by_x * (self.at(vessel.expansion) - self.at(vessel.compliance) * rise);
            let by_g = value * now.dp_dg;
            for &to_g in &s.cell_entries[first as usize..first as usize + usize::from(count)] {
                entries[usize::from(to_g)] += by_g;
            }
        }
        work.entries = entries;
    }

    /// Right-hand side and Jacobian ∂f/∂y (row-major, n × n).
    pub fn rhs_and_jacobian(
        &self,
        y: &[Lanes<L>],
        f: &mut [Lanes<L>],
        jacobian: &mut [Lanes<L>],
        work: &mut Workspace<L>,
    ) {
        self.rhs_and_entries(y, f, work);
        let n = self.states();
        let s = &*self.sparsity;
        jacobian.fill(Lanes::ZERO);
        for row in 0..n {
            for column in 0..n {
                let slot = s.slot[row * s.columns + column];
                if slot != NO_SLOT {
                    jacobian[row * n + column] = work.entries[usize::from(slot)];
                }
            }
        }
    }

    /// Which entries of the Jacobian can differ from zero (row-major, n × n).
    pub fn pattern(&self) -> Vec<bool> {
        let (n, s) = (self.states(), &*self.sparsity);
        (0..n * n).map(|i| s.slot[i / n * s.columns + i % n] != NO_SLOT).collect()
    }

    fn evaluate<S: Sink<L>>(&self, y: &[Lanes<L>], f: &mut [Lanes<L>], work: &mut Workspace<L>, sink: &mut S) {
        f.fill(Lanes::ZERO);
        self.close::<S>(y, work);
        self.link_flows(y, f, work, sink);
        self.weeping::<S>(work);
        for (i, link) in self.top.links.iter().enumerate() {
            self.pass(link, i, f, work, sink);
        }
        self.advect(f, work, sink);
        self.exchange_gas(y, f, work, sink);
        self.leak(f, work, sink);
        self.run_engine(y, f, work, sink);
        self.run_motors(y, f, work, sink);
        self.control(y, f, work, sink);
        self.breathe(y, f, work, sink);
        self.warm(y, f, sink);
        for (&state, &rate) in self.top.inputs.iter().zip(&self.rates) {
            f[state] = rate;
        }
    }

    // ---- what others may ask of a state -------------------------------------------------------

    /// Absolute pressure in a vessel, Pa.
    pub fn pressure(&self, vessel: usize, y: &[Lanes<L>]) -> Lanes<L> {
        self.close_vessel(&self.top.vessels[vessel], y).p
    }

    /// Gauge pressure in a vessel, Pa.
    pub fn gauge(&self, vessel: usize, y: &[Lanes<L>]) -> Lanes<L> {
        self.pressure(vessel, y) - self.at(self.top.common.air)
    }

    /// Share of free gas in a vessel's cells, volume-weighted, 0 … 1.
    pub fn gas_share(&self, vessel: usize, y: &[Lanes<L>]) -> Lanes<L> {
        let v = &self.top.vessels[vessel];
        let above = self.close_vessel(v, y).y;
        let (mut gas, mut volume) = (Lanes::ZERO, Lanes::ZERO);
        for cell in &self.top.cells[v.cell_range()] {
            let size = self.at(cell.volume);
            gas += gas_share(y[cell.g], size, above)[0] * size;
            volume += size;
        }
        if v.cells > 0 { gas / volume } else { Lanes::ZERO }
    }

    /// Share of free gas in a cell, 0 … 1.
    pub fn cell_gas(&self, cell: usize, y: &[Lanes<L>]) -> Lanes<L> {
        let c = &self.top.cells[cell];
        gas_share(y[c.g], self.at(c.volume), self.close_vessel(&self.top.vessels[c.vessel], y).y)[0]
    }

    /// Pressure of a reservoir's air space, Pa absolute.
    pub fn air_space(&self, reservoir: usize, y: &[Lanes<L>]) -> Lanes<L> {
        let r = &self.top.reservoirs[reservoir];
        let now = self.close_reservoir(r, y);
        now.y + now.vapour
    }

    /// Flow through each link, mL/s, in the order of the links.
    pub fn flows(&self, y: &[Lanes<L>], work: &mut Workspace<L>) -> Vec<Lanes<L>> {
        let mut f = vec![Lanes::ZERO; self.states()];
        self.rhs(y, &mut f, work);
        work.flows.clone()
    }

    /// Liquid in vessels, reservoirs and ledgers, mL: constant whatever happens.
    pub fn liquid_balance(&self, y: &[Lanes<L>]) -> Lanes<L> {
        let l = &self.top.ledgers;
        let vessels = self.top.vessels.iter().map(|v| v.x);
        let reservoirs = self.top.reservoirs.iter().map(|r| r.v);
        vessels
            .chain(reservoirs)
            .chain([l.burned, l.lost, l.container])
            .fold(Lanes::ZERO, |sum, state| sum + y[state])
    }

    /// Air in cells, air spaces and ledgers, mL at standard pressure: constant whatever happens.
    pub fn air_balance(&self, y: &[Lanes<L>]) -> Lanes<L> {
        let l = &self.top.ledgers;
        let cells = self.top.cells.iter().fold(Lanes::ZERO, |sum, c| sum + y[c.g] + y[c.g + 1]);
        let tanks = self.top.reservoirs.iter().filter(|r| r.parent.is_none());
        tanks.fold(cells, |sum, r| sum + y[r.m]) + y[l.air_out] - y[l.air_in]
    }

    /// x of a vessel for a pressure and an amount of free gas in its cells, at the temperature of `y`.
    pub fn excess_for(&self, vessel: usize, p: Lanes<L>, free_gas: Lanes<L>, y: &[Lanes<L>]) -> Lanes<L> {
        let v = &self.top.vessels[vessel];
        let zone = &self.top.zones[v.zone];
        let still = self.at(v.still_gas);
        let warmer = y[zone.t] - self.at(zone.t_start);
        self.at(v.compliance) * (p - P0) - P0 * (free_gas + still) / (p - self.vapour(v.zone, y)) + still
            - self.at(v.expansion) * warmer
    }

    /// Free gas in all cells of a vessel, mL at standard pressure.
    pub fn free_gas(&self, vessel: usize, y: &[Lanes<L>]) -> Lanes<L> {
        self.top.cells[self.top.vessels[vessel].cell_range()].iter().fold(Lanes::ZERO, |sum, c| sum + y[c.g])
    }
}

/// Structures met lately with the patterns of their Jacobians: finding an order takes longer than all
/// the rest of building a network, and the same few structures come again and again.
static KNOWN: Mutex<VecDeque<(Arc<Topology>, Arc<Sparsity>)>> = Mutex::new(VecDeque::new());
/// How many are remembered.
const REMEMBERED: usize = 64;

impl Network<1> {
    /// A network from its structure and numbers; finds the pattern of its Jacobian.
    pub(super) fn new(top: Topology, params: Vec<f64>, fillings: Vec<Filling>) -> Self {
        let params: Vec<Lanes<1>> = params.into_iter().map(|p| Lanes([p])).collect();
        let rates = vec![Lanes::ZERO; top.inputs.len()];
        let taken_at = top.zones.iter().map(|z| params[z.t_start.index()]).collect();
        let columns = top.states() + top.vessels.len() + top.cells.len();
        let (top, sparsity) = match Self::known(&top) {
            Some((top, sparsity)) => (top, Some(sparsity)),
            None => (Arc::new(top), None),
        };
        let is_known = sparsity.is_some();
        let sparsity = sparsity.unwrap_or_default();
        let mut net = Self { top, sparsity, params, rates, fillings, taken_at };
        if !is_known {
            net.sparsity = Arc::new(net.find_sparsity(columns));
            let mut known = KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
            known.push_back((net.top.clone(), net.sparsity.clone()));
            if known.len() > REMEMBERED {
                known.pop_front();
            }
        }
        net
    }

    fn known(top: &Topology) -> Option<(Arc<Topology>, Arc<Sparsity>)> {
        let known = KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
        known.iter().rev().find(|(other, _)| **other == *top).cloned()
    }

    fn find_sparsity(&self, columns: usize) -> Sparsity {
        let (top, n) = (&*self.top, self.states());
        let mut marks = Marks { columns, at: vec![false; n * columns] };
        // any admissible state will do, but that vessels which empty are looked at only while they do
        let full = self.typical_state();
        let mut empty = full.clone();
        for vessel in &top.vessels {
            empty[vessel.x] = -self.at(vessel.volume);
        }
        for y in [full, empty] {
            self.evaluate(&y, &mut vec![Lanes::ZERO; n], &mut self.workspace(), &mut marks);
        }
        let mut at = marks.at;
        for row in 0..n {
            at[row * columns + row] = true;
            for (k, cell) in top.cells.iter().enumerate() {
                if at[row * columns + self.column_a(k)] {
                    at[row * columns + self.column_p(cell.vessel)] = true;
                    at[row * columns + cell.g] = true;
                }
            }
            for (v, vessel) in top.vessels.iter().enumerate() {
                if at[row * columns + self.column_p(v)] {
                    at[row * columns + vessel.x] = true;
                    at[row * columns + top.zones[vessel.zone].t] = true;
                    for cell in &top.cells[vessel.cell_range()] {
                        at[row * columns + cell.g] = true;
                    }
                }
            }
        }
        let mut slot = vec![NO_SLOT; n * columns];
        let mut entries = 0;
        for (i, _) in at.iter().enumerate().filter(|(_, marked)| **marked) {
            slot[i] = entries as u16;
            entries += 1;
        }
        let (mut gas, mut pressure, mut cell_entries) = (vec![], vec![], vec![]);
        for row in 0..n {
            let entry = |column: usize| slot[row * columns + column];
            for (k, cell) in top.cells.iter().enumerate() {
                let from = entry(self.column_a(k));
                if from != NO_SLOT {
                    let t = entry(top.zones[top.vessels[cell.vessel].zone].t);
                    gas.push((from, k as u16, entry(cell.g), entry(self.column_p(cell.vessel)), t));
                }
            }
            for (v, vessel) in top.vessels.iter().enumerate() {
                let from = entry(self.column_p(v));
                if from != NO_SLOT {
                    let first = cell_entries.len() as u32;
                    cell_entries.extend(top.cells[vessel.cell_range()].iter().map(|c| entry(c.g)));
                    let (x, t) = (entry(vessel.x), entry(top.zones[vessel.zone].t));
                    pressure.push((from, v as u16, x, t, first, vessel.cells as u16));
                }
            }
        }
        let states: Vec<u16> = (0..n * n).map(|i| slot[i / n * columns + i % n]).collect();
        let plan = Plan::new(n, &states, NO_SLOT);
        Sparsity { columns, slot, entries, gas, pressure, cell_entries, plan }
    }

    fn typical_state(&self) -> Vec<Lanes<1>> {
        let top = &*self.top;
        let mut y = vec![Lanes::ZERO; self.states()];
        for cell in &top.cells {
            y[cell.g] = 0.01 * self.at(cell.volume);
            y[cell.g + 1] = 0.1 * self.at(cell.volume);
        }
        for r in &top.reservoirs {
            y[r.v] = 0.5 * self.at(r.capacity);
            if r.parent.is_none() {
                y[r.m] = 0.5 * self.at(r.capacity);
            }
        }
        for zone in &top.zones {
            y[zone.t] = self.at(zone.t_start);
        }
        y[top.engine.n] = Lanes([500.0]);
        y
    }

    /// Joins networks of one topology into one of L lanes. `None` when their topologies differ.
    pub(super) fn join<const L: usize>(lanes: [&Self; L]) -> Option<Network<L>> {
        let first = lanes[0];
        let alike = |other: &Self| Arc::ptr_eq(&other.top, &first.top) || other.top == first.top;
        if !lanes.iter().all(|other| alike(other)) {
            return None;
        }
        let zip = |of: fn(&Self) -> &[Lanes<1>]| {
            (0..of(first).len()).map(|i| Lanes(core::array::from_fn(|l| of(lanes[l])[i].0[0]))).collect()
        };
        Some(Network {
            top: first.top.clone(),
            sparsity: first.sparsity.clone(),
            params: zip(|net| &net.params),
            rates: zip(|net| &net.rates),
            taken_at: zip(|net| &net.taken_at),
            fillings: lanes.iter().map(|net| net.fillings[0].clone()).collect(),
        })
    }
}

/// LU factors for a network.
pub(super) fn factors<const L: usize>(net: &Network<L>) -> Lu<L> {
    Lu::new(&net.sparsity.plan)
}
