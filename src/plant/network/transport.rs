//! What flows carry: liquid, free and dissolved gas; release and holes.

use super::*;

/// Rounding of the corner of a hole that weeps, Pa.
pub(super) const LEAK_ROUNDING_PA: f64 = 100.0;

/// What flows out of an end: composition with derivatives. Columns are extended.
#[derive(Clone, Copy)]
pub(super) struct Donor {
    pub(super) alpha: f64,
    /// Gas density against standard: y/p₀.
    pub(super) gas: f64,
    pub(super) c: f64,
    /// (column, dα, dgas, dc).
    pub(super) parts: [(usize, f64, f64, f64); 3],
    pub(super) len: usize,
}

impl Network {
    pub(super) fn boundary_cell(&self, end: End) -> Option<usize> {
        match end {
            End::Inlet(v) => (self.vessels[v].cells > 0).then_some(self.vessels[v].first_cell),
            End::Outlet(v) => {
                (self.vessels[v].cells > 0).then_some(self.vessels[v].first_cell + self.vessels[v].cells - 1)
            }
            End::Tank | End::Container => None,
        }
    }

    pub(super) fn donor(&self, end: End, work: &Workspace) -> Donor {
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

    pub(super) fn cell_donor(&self, k: usize, work: &Workspace) -> Donor {
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
    pub(super) fn pass<S: Sink>(
        &self,
        from: End,
        to: End,
        flow: &Flow,
        f: &mut [f64],
        work: &Workspace,
        sink: &mut S,
    ) {
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
    pub(super) fn credit<S: Sink>(
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
    pub(super) fn advect<S: Sink>(&self, _y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
        for (v, vessel) in self.vessels.iter().enumerate() {
            if vessel.cells < 2 {
                continue;
            }
            for face in 1..vessel.cells {
                let mut value = 0.0;
                self.for_side_flows(v, face, work, |weight, flow| value += weight * flow.value);
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
                            self.for_side_flows(v, face, work, |weight, flow| {
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

    /// The flow at an inner face as a weighted sum: what enters upstream and leaves downstream in
    /// proportion to the face's place, less what cells before the face have lost to the outside.
    pub(super) fn for_side_flows(
        &self,
        v: usize,
        face: usize,
        work: &Workspace,
        mut visit: impl FnMut(f64, &Flow),
    ) {
        let vessel = &self.vessels[v];
        let share = face as f64 / vessel.cells as f64;
        for (i, link) in self.links.iter().enumerate() {
            for (end, sign) in [(link.from, -1.0), (link.to, 1.0)] {
                match end {
                    End::Inlet(w) if w == v => visit(sign * (1.0 - share), &work.flows[i]),
                    End::Outlet(w) if w == v => visit(-sign * share, &work.flows[i]),
                    _ => {}
                }
            }
        }
        if v == self.pump.inlet {
            visit(share, &work.draw);
            visit(-share, &work.slip);
        }
        for (site, weep) in self.leaks.iter().zip(&work.weeps) {
            if self.cells[site.cell].vessel == v {
                let before = if site.cell < vessel.first_cell + face { 1.0 } else { 0.0 };
                visit(share - before, weep);
            }
        }
    }

    /// Fuel that weeps out of each hole above air pressure.
    pub(super) fn weeping(&self, work: &mut Workspace) {
        for (i, site) in self.leaks.iter().enumerate() {
            let v = self.cells[site.cell].vessel;
            let over = (work.vessels[v].p - self.medium.air).max(0.0);
            // mm²·√(2/ρ) gives mL/s/√Pa directly
            let out = orifice_flow(site.area * (2.0 / self.medium.density).sqrt(), LEAK_ROUNDING_PA, over);
            let slope = if over > 0.0 { out.slope } else { 0.0 };
            work.weeps[i] = Flow::new(out.value).with(self.column_p(v), slope);
        }
    }

    /// Release of dissolved air and its way back.
    pub(super) fn exchange_gas<S: Sink>(&self, y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
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
    pub(super) fn leak<S: Sink>(&self, f: &mut [f64], work: &Workspace, sink: &mut S) {
        for (i, site) in self.leaks.iter().enumerate() {
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
            let flow = work.weeps[i];
            if flow.value > 0.0 || S::PATTERN {
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
}
