//! What fuel carries without being moved by it: whether its bubbles came in from outside, and water.
//!
//! Neither acts on pressures, so they stay outside the stiff equations: after every step they are carried on
//! with the flows at its end, by implicit upwind steps (stable for any length, conserving, never negative).
//! Gas that a pick-up or a hole lets in is **foreign**; gas that came out of solution is not; what dissolves goes
//! in the proportion in which it is there. Water settles in bowls until they are full.
//!
//! Stops being true: fronts are smeared over cells; a step with a reversal of flow uses its end.

use super::*;

/// Share of a bowl that water can fill before it is carried on.
const BOWL_HOLDS: f64 = 0.35;
/// Rate at which water settles in a bowl with room, 1/s.
const SETTLES: f64 = 0.5;
/// Depth over which a layer of water begins to be drawn at a pick-up, m.
const LAYER_WIDTH: f64 = 0.003;
/// Share of water that stirred fuel carries as long as any lies in the tank.
const STIRRED: f64 = 0.002;
/// Sweeps over all cells within a step: enough for a front to cross the network.
const SWEEPS: usize = 40;

/// What is carried, for L vehicles.
#[derive(Clone, Debug, PartialEq)]
pub struct Passengers<const L: usize> {
    /// Free gas of foreign origin in each cell, mL at standard pressure.
    pub foreign: Vec<Lanes<L>>,
    /// Water in each cell, mL.
    pub water: Vec<Lanes<L>>,
    /// Water settled in each vessel's bowl, mL.
    pub settled: Vec<Lanes<L>>,
    /// Water at the bottom of each reservoir, mL.
    pub in_tank: Vec<Lanes<L>>,
    /// Water that left with the fuel that was burned or lost, mL.
    pub gone: Lanes<L>,
    /// Vessels that are bowls.
    pub bowls: Vec<bool>,
}

/// Where something comes from or goes to.
#[derive(Clone, Copy, PartialEq)]
enum Stop {
    Cell(usize),
    /// A vessel without cells: what enters leaves at once.
    Through(usize),
    Reservoir(usize),
    Pickup(usize),
    Outside,
}

/// A flow between two stops, along its direction: free gas and liquid, mL/s.
struct Leg<const L: usize> {
    from: Stop,
    to: Stop,
    free: Lanes<L>,
    liquid: Lanes<L>,
}

impl<const L: usize> Passengers<L> {
    /// Clean fuel and no foreign gas anywhere.
    pub fn none(top: &Topology) -> Self {
        Self {
            foreign: vec![Lanes::ZERO; top.cells.len()],
            water: vec![Lanes::ZERO; top.cells.len()],
            settled: vec![Lanes::ZERO; top.vessels.len()],
            in_tank: vec![Lanes::ZERO; top.reservoirs.len()],
            gone: Lanes::ZERO,
            bowls: vec![false; top.vessels.len()],
        }
    }

    /// Memory held, bytes.
    pub fn bytes(&self) -> usize {
        let lanes = [&self.foreign, &self.water, &self.settled, &self.in_tank];
        lanes.iter().map(|v| size_of_val(&***v)).sum::<usize>() + size_of_val(&*self.bowls)
    }

    /// The same passengers in a network that was built anew and stands in the state `y`, by the names of vessels and
    /// reservoirs. What was fitted brought its gas along from outside.
    pub fn carried_over(&self, old: &Topology, new: &Topology, y: &[Lanes<L>], bowls: Vec<bool>) -> Self {
        let mut fresh = Self { bowls, gone: self.gone, ..Self::none(new) };
        for (v, vessel) in new.vessels.iter().enumerate() {
            let Some(w) = old.vessel(&vessel.name) else {
                for k in vessel.cell_range() {
                    fresh.foreign[k] = y[new.cells[k].g].at_least(0.0);
                }
                continue;
            };
            let was = &old.vessels[w];
            fresh.settled[v] = self.settled[w];
            for (i, k) in vessel.cell_range().enumerate() {
                if was.cells > 0 {
                    let share = was.cells as f64 / vessel.cells as f64;
                    let j = was.first_cell + (i * was.cells / vessel.cells).min(was.cells - 1);
                    fresh.foreign[k] = self.foreign[j] * share.min(1.0);
                    fresh.water[k] = self.water[j] * share.min(1.0);
                }
            }
        }
        for (r, reservoir) in new.reservoirs.iter().enumerate() {
            if let Some(q) = old.reservoirs.iter().position(|o| o.name == reservoir.name) {
                fresh.in_tank[r] = self.in_tank[q];
            }
        }
        fresh
    }
}

impl<const L: usize> Network<L> {
    /// Carries passengers on over a step of `h` seconds that ended in the state `y`.
    pub(in crate::plant) fn carry_passengers(
        &self,
        load: &mut Passengers<L>,
        y: &[Lanes<L>],
        h: f64,
        f: &mut [Lanes<L>],
        work: &mut Workspace<L>,
    ) {
        self.rhs(y, f, work);
        self.carry_evaluated(load, y, h, work);
    }

    /// As [`Self::carry_passengers`], where the state `y` was evaluated last.
    pub(in crate::plant) fn carry_evaluated(
        &self,
        load: &mut Passengers<L>,
        y: &[Lanes<L>],
        h: f64,
        work: &Workspace<L>,
    ) {
        let legs = self.legs(work);
        self.carry_foreign(load, &legs, y, h, work);
        if load.in_tank.iter().chain(&load.water).chain(&load.settled).any(|w| w.any(|w| w > 0.0)) {
            self.carry_water(load, &legs, h, work);
        }
    }

    fn stop(&self, end: End) -> Stop {
        match end {
            End::Cell(_, k) => Stop::Cell(k),
            End::Pickup(k) => Stop::Pickup(k),
            End::Bottom(r) | End::Top(r) => Stop::Reservoir(r),
            End::Vessel(v) => Stop::Through(v),
            End::Container(_) | End::Burned => Stop::Outside,
        }
    }

    fn legs(&self, work: &Workspace<L>) -> Vec<Leg<L>> {
        let mut legs = vec![];
        let mut add = |from: Stop, to: Stop, q: Lanes<L>, donors: [Donor<L, ()>; 2]| {
            for (ahead, donor) in [true, false].into_iter().zip(donors) {
                let q = if ahead { q } else { -q }.at_least(0.0);
                if q.any(|q| q > 0.0) {
                    let (from, to) = if ahead { (from, to) } else { (to, from) };
                    legs.push(Leg {
                        from,
                        to,
                        free: donor.of(Share::Free) * q,
                        liquid: donor.of(Share::Liquid) * q,
                    });
                }
            }
        };
        for (link, flow) in self.top.links.iter().zip(&work.flows) {
            let donors = [link.from, link.to].map(|end| self.donor(end, work));
            add(self.stop(link.from), self.stop(link.to), *flow, donors);
        }
        for face in &self.top.faces {
            let links = face.links.iter().map(|&(i, weight)| weight * work.flows[i]);
            let holes = face.holes.iter().map(|&(i, weight)| weight * work.weeps[i].0);
            let q = links.chain(holes).fold(Lanes::ZERO, |sum, q| sum + q);
            let donors = [face.left, face.right].map(|k| self.cell_donor(k, work));
            add(Stop::Cell(face.left), Stop::Cell(face.right), q, donors);
        }
        legs
    }

    fn carry_foreign(
        &self,
        load: &mut Passengers<L>,
        legs: &[Leg<L>],
        y: &[Lanes<L>],
        h: f64,
        work: &Workspace<L>,
    ) {
        let cells = &self.top.cells;
        let n = cells.len();
        // what comes from outside, and what a mL of gas loses a second by leaving or dissolving
        let (mut gain, mut loss) = (vec![Lanes::ZERO; n], vec![Lanes::ZERO; n]);
        for leg in legs {
            if let Stop::Cell(k) = leg.from {
                loss[k] += leg.free;
            }
            if let (Stop::Cell(k), Stop::Pickup(_)) = (leg.to, leg.from) {
                gain[k] += leg.free;
            }
        }
        let common = &self.top.common;
        for hole in &self.top.holes {
            let v = cells[hole.cell].vessel;
            let area = self.at(hole.area);
            if area.any(|a| a > 0.0) {
                let (air, kelvin) = (self.at(common.air), self.at(common.air_temperature));
                gain[hole.cell] += air_inflow(area, work.vessels[v].p, air, kelvin).value;
            }
        }
        let gas: Vec<Lanes<L>> = cells.iter().map(|c| y[c.g].at_least(1e-9)).collect();
        let rate: Vec<Lanes<L>> = (0..n).map(|k| loss[k] / gas[k] + self.dissolving(k, y, work)).collect();
        let start = load.foreign.clone();
        for _ in 0..SWEEPS {
            let mut moved = false;
            let mut arriving = gain.clone();
            for leg in legs {
                if let (Stop::Cell(from), Stop::Cell(to)) = (leg.from, leg.to) {
                    arriving[to] += leg.free * (load.foreign[from] / gas[from]);
                }
            }
            for k in 0..n {
                let next = (start[k] + h * arriving[k]) / (1.0 + h * rate[k]);
                let apart = next - load.foreign[k];
                moved |= apart.any(|d| d.abs() > 1e-9);
                load.foreign[k] = next;
            }
            if !moved {
                break;
            }
        }
        for k in 0..n {
            // never more than there is
            let most = y[cells[k].g].at_least(0.0);
            let over = load.foreign[k] - most;
            load.foreign[k] = over.choose(|d| d > 0.0, most, load.foreign[k]).at_least(0.0);
        }
    }

    /// Share of a cell's free gas that dissolves a second, 1/s.
    fn dissolving(&self, k: usize, y: &[Lanes<L>], work: &Workspace<L>) -> Lanes<L> {
        let (cell, now) = (&self.top.cells[k], &work.cells[k]);
        let common = &self.top.common;
        let zone = &self.top.zones[self.top.vessels[cell.vessel].zone];
        let volume = self.at(cell.volume);
        let room = self.at(zone.solubility) * volume * (1.0 - now.alpha) * work.vessels[cell.vessel].y * (1.0 / P0);
        let contact = 1.0 / (y[cell.g] + 0.02 * volume).at_least(1e-9);
        (self.at(common.exchange) * (room - y[cell.g + 1]) * contact).at_least(0.0)
    }

    fn carry_water(&self, load: &mut Passengers<L>, legs: &[Leg<L>], h: f64, work: &Workspace<L>) {
        let cells = &self.top.cells;
        let liquid: Vec<Lanes<L>> = cells
            .iter()
            .zip(&work.cells)
            .map(|(c, now)| (self.at(c.volume) * (1.0 - now.alpha)).at_least(1e-6))
            .collect();
        let drawn: Vec<Lanes<L>> = (0..self.top.pickups.len()).map(|p| self.water_at_pickup(p, load)).collect();
        let (mut loss, mut from_tank) = (vec![Lanes::ZERO; cells.len()], vec![Lanes::ZERO; load.in_tank.len()]);
        for leg in legs {
            match leg.from {
                Stop::Cell(k) => loss[k] += leg.liquid,
                Stop::Pickup(p) => from_tank[self.top.pickups[p].reservoir] += leg.liquid * drawn[p],
                Stop::Reservoir(_) | Stop::Through(_) | Stop::Outside => {}
            }
        }
        // a tank gives no more than lies in it
        let gives: Vec<Lanes<L>> = (0..load.in_tank.len())
            .map(|r| {
                let wanted = h * from_tank[r];
                let short = load.in_tank[r] - wanted;
                short.choose(|d| d >= 0.0, Lanes::ONE, load.in_tank[r] / wanted.at_least(1e-12))
            })
            .collect();
        let settles: Vec<Lanes<L>> = cells
            .iter()
            .map(|c| {
                let v = c.vessel;
                if !load.bowls[v] {
                    return Lanes::ZERO;
                }
                let room = BOWL_HOLDS * self.at(self.top.vessels[v].volume) - load.settled[v];
                room.choose(|r| r > 0.0, Lanes::all(SETTLES), Lanes::ZERO)
            })
            .collect();
        let start = load.water.clone();
        let mut through = vec![Lanes::ZERO; self.top.vessels.len()];
        let share = |from: Stop, water: &[Lanes<L>], through: &[Lanes<L>]| match from {
            Stop::Cell(k) => water[k] / liquid[k],
            Stop::Through(v) => through[v],
            Stop::Pickup(p) => drawn[p] * gives[self.top.pickups[p].reservoir],
            Stop::Reservoir(_) | Stop::Outside => Lanes::ZERO,
        };
        for _ in 0..SWEEPS {
            let mut moved = false;
            let mut arriving = vec![Lanes::ZERO; cells.len()];
            let mut passing = vec![(Lanes::ZERO, Lanes::all(1e-12)); through.len()];
            for leg in legs {
                let water = leg.liquid * share(leg.from, &load.water, &through);
                match leg.to {
                    Stop::Cell(k) => arriving[k] += water,
                    Stop::Through(v) => {
                        passing[v].0 += water;
                        passing[v].1 += leg.liquid;
                    }
                    Stop::Reservoir(_) | Stop::Pickup(_) | Stop::Outside => {}
                }
            }
            for (share, (water, liquid)) in through.iter_mut().zip(passing) {
                *share = water / liquid;
            }
            for k in 0..cells.len() {
                let next = (start[k] + h * arriving[k]) / (1.0 + h * (loss[k] / liquid[k] + settles[k]));
                let apart = next - load.water[k];
                moved |= apart.any(|d| d.abs() > 1e-9);
                load.water[k] = next;
            }
            if !moved {
                break;
            }
        }
        for (k, cell) in cells.iter().enumerate() {
            load.settled[cell.vessel] += h * settles[k] * load.water[k];
        }
        for r in 0..load.in_tank.len() {
            load.in_tank[r] = (load.in_tank[r] - h * from_tank[r] * gives[r]).at_least(0.0);
        }
        for leg in legs {
            let water = h * leg.liquid * share(leg.from, &load.water, &through);
            match leg.to {
                // what returns brings its water back
                Stop::Reservoir(r) => load.in_tank[r] += water,
                Stop::Outside => load.gone += water,
                Stop::Cell(_) | Stop::Through(_) | Stop::Pickup(_) => {}
            }
        }
    }

    /// Share of water in what a pick-up draws.
    fn water_at_pickup(&self, p: usize, load: &Passengers<L>) -> Lanes<L> {
        let pickup = &self.top.pickups[p];
        let reservoir = &self.top.reservoirs[pickup.reservoir];
        let layer = load.in_tank[pickup.reservoir] / self.at(reservoir.area);
        let over = (layer - self.at(pickup.height)) * (1.0 / LAYER_WIDTH);
        let any = load.in_tank[pickup.reservoir].choose(|w| w > 0.1, Lanes::all(STIRRED), Lanes::ZERO);
        (0.95 * smooth_step(over).value + any).at_most(1.0)
    }

    /// Share of a cell's free gas that came in from outside, 0 … 1.
    pub fn foreign_share(&self, load: &Passengers<L>, cell: usize, y: &[Lanes<L>]) -> Lanes<L> {
        let gas = y[self.top.cells[cell].g];
        let share = load.foreign[cell] / gas.at_least(1e-9);
        gas.choose(|g| g > 1e-6, share.at_most(1.0), Lanes::ZERO)
    }

    /// Share of a vessel's gas volume that is vapour: p_v over p, 0 … 1.
    pub fn vapour_share(&self, vessel: usize, y: &[Lanes<L>]) -> Lanes<L> {
        let v = &self.top.vessels[vessel];
        self.vapour(v.zone, y) / self.close_vessel(v, y).p
    }

    /// Share of water in a cell's liquid, 0 … 1.
    pub fn water_share(&self, load: &Passengers<L>, cell: usize, y: &[Lanes<L>]) -> Lanes<L> {
        let liquid = self.at(self.top.cells[cell].volume) * (1.0 - self.cell_gas(cell, y));
        (load.water[cell] / liquid.at_least(1e-6)).at_most(1.0)
    }
}
