//! From states to pressures and compositions, in closed form.

use super::*;

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct VesselNow<const L: usize> {
    /// Pressure, Pa absolute.
    pub(super) p: Lanes<L>,
    /// Above vapour pressure.
    pub(super) y: Lanes<L>,
    pub(super) dp_dx: Lanes<L>,
    pub(super) dp_dg: Lanes<L>,
    /// Its gas, as pressure times volume, Pa·mL.
    pub(super) gas: Lanes<L>,
    /// Fuel that it lacks, mL.
    pub(super) lacks: Lanes<L>,
}

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct CellNow<const L: usize> {
    /// Free gas, mL at standard pressure.
    pub(super) free: Lanes<L>,
    pub(super) alpha: Lanes<L>,
    pub(super) da_dg: Lanes<L>,
    pub(super) da_dp: Lanes<L>,
    /// Dissolved gas a volume of liquid, and its derivatives.
    pub(super) c: Lanes<L>,
    pub(super) dc_dd: Lanes<L>,
    pub(super) dc_da: Lanes<L>,
}

/// A reservoir: air space, bottom pressure, level.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct ReservoirNow<const L: usize> {
    /// Pressure at the bottom and its slope against the fuel in it.
    pub(super) p: Lanes<L>,
    pub(super) dp_dv: Lanes<L>,
    /// Vapour pressure in it.
    pub(super) vapour: Lanes<L>,
    /// Air space above vapour pressure; slopes against fuel and air of the reservoir that has the
    /// air space (itself, or the tank that a pot stands in).
    pub(super) y: Lanes<L>,
    pub(super) dy_dv: Lanes<L>,
    pub(super) dy_dm: Lanes<L>,
    /// Fuel level, m above its bottom.
    pub(super) level: Lanes<L>,
}

/// Gas share α = r/(1 + r⁸)^⅛ with r = g·p₀/(y·v), and its slopes against g and p.
#[inline(always)]
pub(super) fn gas_share<const L: usize>(g: Lanes<L>, v: Lanes<L>, above: Lanes<L>) -> [Lanes<L>; 3] {
    let per_g = P0 / (above * v);
    let r = g * per_g;
    let r2 = r * r;
    let r4 = r2 * r2;
    let sum = r4 * r4 + 1.0;
    // few bubbles: the roots below are 1 to the last bit
    if !sum.any(|sum| sum != 1.0) {
        return [r, per_g, -r / above];
    }
    let eighth = sum.sqrt().sqrt().sqrt();
    let da_dr = 1.0 / (eighth * sum);
    [r / eighth, da_dr * per_g, -da_dr * r / above]
}

/// Gas share and dissolved gas a volume of liquid.
#[inline(always)]
pub(super) fn close_cell<const L: usize>(v: Lanes<L>, g: Lanes<L>, d: Lanes<L>, above: Lanes<L>) -> CellNow<L> {
    let [alpha, da_dg, da_dp] = gas_share(g, v, above);
    let per_liquid = 1.0 / (v * (1.001 - alpha));
    let c = d * per_liquid;
    CellNow { free: g, alpha, da_dg, da_dp, c, dc_dd: per_liquid, dc_da: c * v * per_liquid }
}

impl<const L: usize> Network<L> {
    /// Vapour pressure in a zone, Pa absolute. It is a straight line over the tenth of a kelvin for which properties are
    /// taken.
    pub fn vapour(&self, zone: usize, y: &[Lanes<L>]) -> Lanes<L> {
        let z = &self.top.zones[zone];
        self.at(z.vapour) + self.at(z.vapour_rise) * (y[z.t] - self.taken_at[zone])
    }

    /// Pressures and compositions from the states; their slopes where they are wanted.
    pub(super) fn close<S: Sink<L>>(&self, y: &[Lanes<L>], work: &mut Workspace<L>) {
        for (vessel, to) in self.top.vessels.iter().zip(&mut work.vessels) {
            let now = self.close_vessel(vessel, y);
            if S::WANTED {
                *to = now;
            } else {
                // what nobody looks at isn't computed
                (to.p, to.y, to.gas, to.lacks) = (now.p, now.y, now.gas, now.lacks);
            }
            let cells = self.top.cells[vessel.cell_range()].iter().zip(&mut work.cells[vessel.cell_range()]);
            for (cell, to) in cells {
                let now = close_cell(self.at(cell.volume), y[cell.g], y[cell.g + 1], now.y);
                if S::WANTED {
                    *to = now;
                } else {
                    (to.free, to.alpha, to.c) = (now.free, now.alpha, now.c);
                }
            }
        }
        for (reservoir, to) in self.top.reservoirs.iter().zip(&mut work.reservoirs) {
            *to = self.close_reservoir(reservoir, y);
        }
        work.served = self.served(work);
    }

    pub(super) fn close_reservoir(&self, reservoir: &Reservoir, y: &[Lanes<L>]) -> ReservoirNow<L> {
        let zone = &self.top.zones[reservoir.zone];
        let vapour = self.vapour(reservoir.zone, y);
        let above = self.top.air_space_of(reservoir);
        let ullage = (self.at(above.capacity) - y[above.v]).at_least(1.0);
        let air = P0 * y[above.m] / ullage;
        let v = y[reservoir.v];
        let area = self.at(reservoir.area);
        let head = self.at(zone.density) * GRAVITY / area;
        ReservoirNow {
            p: vapour + air + head * v,
            vapour,
            dp_dv: head,
            y: air,
            dy_dv: air / ullage,
            dy_dm: P0 / ullage,
            level: v / area,
        }
    }

    #[inline(always)]
    pub(super) fn close_vessel(&self, vessel: &Vessel, y: &[Lanes<L>]) -> VesselNow<L> {
        let zone = &self.top.zones[vessel.zone];
        let pv = self.vapour(vessel.zone, y);
        let still = self.at(vessel.still_gas);
        let mut gas = still;
        for cell in &self.top.cells[vessel.cell_range()] {
            gas += y[cell.g];
        }
        let c = self.at(vessel.compliance);
        let big_g = P0 * gas;
        let warmer = y[zone.t] - self.at(zone.t_start);
        let b = y[vessel.x] - still + self.at(vessel.expansion) * warmer + c * (P0 - pv);
        let root = (b * b + 4.0 * c * big_g).sqrt();
        // the two forms are equal; each is free of cancellation on its side
        let above = b.choose(|b| b > 0.0, (b + root) / (2.0 * c), 2.0 * big_g / (root - b));
        let (dp_dx, dp_dg) = (above / root, P0 / root);
        VesselNow { p: pv + above, y: above, dp_dx, dp_dg, gas: big_g, lacks: -y[vessel.x] }
    }
}
