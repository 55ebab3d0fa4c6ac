//! From states to pressures and compositions, in closed form.

use super::*;

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct VesselNow {
    pub(super) p: f64,
    pub(super) y: f64,
    pub(super) dp_dx: f64,
    pub(super) dp_dg: f64,
}

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct CellNow {
    pub(super) alpha: f64,
    pub(super) da_dg: f64,
    pub(super) da_dp: f64,
    /// Dissolved gas a volume of liquid, and its derivatives.
    pub(super) c: f64,
    pub(super) dc_dd: f64,
    pub(super) dc_da: f64,
}

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct TankNow {
    /// Pressure at the bottom.
    pub(super) p: f64,
    pub(super) dp_dv: f64,
    pub(super) dp_dm: f64,
    pub(super) alpha: f64,
    pub(super) da_dv: f64,
    pub(super) c: f64,
    pub(super) dc_dv: f64,
    pub(super) dc_dm: f64,
    /// Pressure of the air space above vapour.
    pub(super) y: f64,
    pub(super) dy_dv: f64,
    pub(super) dy_dm: f64,
}

/// Gas fraction α = r/(1 + r⁸)^⅛ with r = g·p₀/(y·v), and dissolved gas a volume of liquid.
pub(super) fn close_cell(cell: &Cell, above: f64, y: &[f64]) -> CellNow {
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

impl Network {
    /// Pressures and compositions from the states.
    pub(super) fn close(&self, y: &[f64], work: &mut Workspace) {
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

    pub(super) fn close_vessel(&self, vessel: &Vessel, y: &[f64]) -> VesselNow {
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
}
