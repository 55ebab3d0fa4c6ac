//! What stands along the line of one vehicle now: for the opened supply, never for a front end.

use super::Drive;
use crate::bay::opened::{GRAINS, Spot};
use crate::lanes::Lanes;
use crate::plant::component::Component;
use crate::plant::network::Passengers;
use crate::units::{GRAVITY, PA_PER_MBAR};

impl<const L: usize> Drive<L> {
    /// The glass of the tee lies before its valve, seen from the tank.
    pub(in crate::bay) fn tee_glass_is_before(&self, lane: usize) -> bool {
        self.tee_really_at(lane).is_some_and(|joint| self.proper.is_under_pressure(&joint))
    }

    /// The line of one vehicle as it stands now: looked at once for all of its places.
    pub(in crate::bay) fn standing(&self, lane: usize) -> Standing<'_, L> {
        Standing { drive: self, lane, y: self.states(), load: self.passengers() }
    }
}

/// States and passengers of one moment, which cost a good deal to work out.
pub(in crate::bay) struct Standing<'a, const L: usize> {
    drive: &'a Drive<L>,
    lane: usize,
    y: Vec<Lanes<L>>,
    load: Option<Passengers<L>>,
}

impl<const L: usize> Standing<'_, L> {
    /// What stands in the glass of the tee.
    pub(in crate::bay) fn in_glass(&self) -> Option<Spot> {
        self.drive.tee_vessel().map(|v| self.spot(v))
    }

    /// What stands at a node; at a tank's mouth the fuel that stands over it.
    pub(in crate::bay) fn at(&self, node: &str) -> Spot {
        match self.drive.net().top.vessel(node) {
            Some(v) => self.spot(v),
            None => self.at_the_bottom(node),
        }
    }

    fn spot(&self, v: usize) -> Spot {
        let (net, y, lane) = (self.drive.net(), &self.y, self.lane);
        let vessel = &net.top.vessels[v];
        let vapour = net.vapour(vessel.zone, y).0[lane];
        let cell = |i: usize| vessel.first_cell + (i * vessel.cells / GRAINS).min(vessel.cells.saturating_sub(1));
        let gas = |i: usize| if vessel.cells > 0 { net.cell_gas(cell(i), y).0[lane] } else { 0.0 };
        let load = self.load.as_ref().filter(|_| vessel.cells > 0);
        // of the cell with the most gas
        let most = vessel.cell_range().max_by(|&a, &b| {
            let of = |k: usize| y[net.top.cells[k].g].0[lane];
            of(a).total_cmp(&of(b))
        });
        let cells = vessel.cells.max(1) as f64;
        Spot {
            mbar: net.gauge(v, y).0[lane] / PA_PER_MBAR,
            boils_mbar: vapour / PA_PER_MBAR - self.drive.air_mbar(lane),
            gas: core::array::from_fn(gas),
            outside: load.zip(most).map_or(0.0, |(l, k)| net.foreign_share(l, k, y).0[lane]),
            vapour: net.vapour_share(v, y).0[lane],
            water: load.map_or(0.0, |l| {
                vessel.cell_range().map(|k| net.water_share(l, k, y).0[lane]).sum::<f64>() / cells
            }),
        }
    }

    fn at_the_bottom(&self, node: &str) -> Spot {
        let (drive, y, lane) = (self.drive, &self.y, self.lane);
        let net = drive.net();
        let is_it = |c: &Component| matches!(c, Component::Tank(_) | Component::SwirlPot(_)) && c.ends()[0] == node;
        let tank = drive.proper.parts.iter().find(|p| is_it(&p.is)).map(|p| p.name.as_str());
        let Some(r) = net.top.reservoirs.iter().position(|r| Some(r.name.as_str()) == tank) else {
            return Spot { boils_mbar: -drive.air_mbar(lane), ..Spot::default() };
        };
        let reservoir = &net.top.reservoirs[r];
        let zone = &net.top.zones[reservoir.zone];
        let level = y[reservoir.v].0[lane] / net.at(reservoir.area).0[lane];
        let column = net.at(zone.density).0[lane] * GRAVITY * level.max(0.0);
        let air = net.air_space(reservoir.parent.unwrap_or(r), y).0[lane] / PA_PER_MBAR - drive.air_mbar(lane);
        Spot {
            mbar: air + column / PA_PER_MBAR,
            boils_mbar: net.vapour(reservoir.zone, y).0[lane] / PA_PER_MBAR - drive.air_mbar(lane),
            ..Spot::default()
        }
    }
}
