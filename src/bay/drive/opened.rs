//! What stands along the line of one vehicle now: for the opened supply, never for a front end.

use super::Drive;
use crate::bay::opened::{GRAINS, Spot};
use crate::plant::component::Component;
use crate::units::{GRAVITY, PA_PER_MBAR};

impl<const L: usize> Drive<L> {
    /// The glass of the tee lies before its valve, seen from the tank.
    pub(in crate::bay) fn tee_glass_is_before(&self, lane: usize) -> bool {
        self.tee_really_at(lane).is_some_and(|joint| self.proper.is_under_pressure(&joint))
    }

    /// What stands in the glass of the tee.
    pub(in crate::bay) fn spot_in_glass(&self, lane: usize) -> Option<Spot> {
        self.tee_vessel().map(|v| self.spot(lane, v))
    }

    /// What stands at a node; at a tank's mouth the fuel that stands over it.
    pub(in crate::bay) fn spot_at(&self, lane: usize, node: &str) -> Spot {
        match self.net().top.vessel(node) {
            Some(v) => self.spot(lane, v),
            None => self.at_the_bottom(lane, node),
        }
    }

    fn spot(&self, lane: usize, v: usize) -> Spot {
        let (net, y) = (self.net(), self.states());
        let vessel = &net.top.vessels[v];
        let vapour = net.vapour(vessel.zone, &y).0[lane];
        let cell = |i: usize| vessel.first_cell + (i * vessel.cells / GRAINS).min(vessel.cells.saturating_sub(1));
        let gas = |i: usize| if vessel.cells > 0 { net.cell_gas(cell(i), &y).0[lane] } else { 0.0 };
        let load = self.passengers().filter(|_| vessel.cells > 0);
        // of the cell with the most gas
        let most = vessel.cell_range().max_by(|&a, &b| {
            let of = |k: usize| y[net.top.cells[k].g].0[lane];
            of(a).total_cmp(&of(b))
        });
        let cells = vessel.cells.max(1) as f64;
        Spot {
            mbar: net.gauge(v, &y).0[lane] / PA_PER_MBAR,
            boils_mbar: vapour / PA_PER_MBAR - self.air_mbar(lane),
            gas: core::array::from_fn(gas),
            outside: load.as_ref().zip(most).map_or(0.0, |(l, k)| net.foreign_share(l, k, &y).0[lane]),
            vapour: net.vapour_share(v, &y).0[lane],
            water: load.as_ref().map_or(0.0, |l| {
                vessel.cell_range().map(|k| net.water_share(l, k, &y).0[lane]).sum::<f64>() / cells
            }),
        }
    }

    fn at_the_bottom(&self, lane: usize, node: &str) -> Spot {
        let net = self.net();
        let is_it = |c: &Component| matches!(c, Component::Tank(_) | Component::SwirlPot(_)) && c.ends()[0] == node;
        let tank = self.proper.parts.iter().find(|p| is_it(&p.is)).map(|p| p.name.as_str());
        let Some(r) = net.top.reservoirs.iter().position(|r| Some(r.name.as_str()) == tank) else {
            return Spot { boils_mbar: -self.air_mbar(lane), ..Spot::default() };
        };
        let reservoir = &net.top.reservoirs[r];
        let zone = &net.top.zones[reservoir.zone];
        let level = self.state(lane, reservoir.v) / net.at(reservoir.area).0[lane];
        let column = net.at(zone.density).0[lane] * GRAVITY * level.max(0.0);
        let air = net.air_space(reservoir.parent.unwrap_or(r), &self.states()).0[lane] / PA_PER_MBAR
            - self.air_mbar(lane);
        Spot {
            mbar: air + column / PA_PER_MBAR,
            boils_mbar: net.vapour(reservoir.zone, &self.states()).0[lane] / PA_PER_MBAR - self.air_mbar(lane),
            ..Spot::default()
        }
    }
}
