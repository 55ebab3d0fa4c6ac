//! Pump, gallery, engine and the tank's vent.

use super::*;

/// Rounding of the corner of the overflow valve, Pa.
pub(super) const OVERFLOW_ROUNDING_PA: f64 = 3000.0;

/// Rounding of the corner of the vent, Pa.
pub(super) const VENT_ROUNDING_PA: f64 = 20.0;

/// Rows that a pump's draw touches: (row, sign, part).
pub(super) struct Entries([(usize, f64, Part); 6], usize);

pub(super) fn vec_of_entries(x_in: usize, x_out: usize, cell: Option<usize>, air_out: usize) -> Entries {
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
    pub(super) fn drain(&mut self) -> impl Iterator<Item = (usize, f64, Part)> + '_ {
        self.0[..self.1].iter().copied()
    }
}

impl Network {
    /// The pump draws a mixture; fuel goes on to the gallery, gas leaves with it through the engine.
    pub(super) fn run_pump<S: Sink>(&self, y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
        let pump = &self.pump;
        let inlet = End::Outlet(pump.inlet);
        let draw = work.draw;
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
            f[row] += factor * work.slip.value;
            if S::WANTED {
                for &(column, slope) in work.slip.parts() {
                    sink.add(row, column, factor * slope);
                }
            }
        }
        self.gas_to_engine(y, f, &draw, &donor, sink);
    }

    /// What the pump draws and what slips back through its gaps, laminar: ∝ Δp/μ.
    pub(super) fn pump_flows(&self, y: &[f64], work: &mut Workspace) {
        let pump = &self.pump;
        let speed = y[self.engine.n];
        work.draw = self.pump_draw(speed, work);
        let over = work.vessels[pump.gallery].p - work.vessels[pump.inlet].p;
        let n = speed.max(0.0);
        let thin = self.medium.thinness;
        let gap = (pump.slip * n / (n + 60.0) + pump.slip_at_rest) * thin;
        work.slip = Flow::new(gap * over)
            .with(self.column_p(pump.gallery), gap)
            .with(self.column_p(pump.inlet), -gap)
            .with(self.engine.n, pump.slip * 60.0 / ((n + 60.0) * (n + 60.0)) * thin * over);
    }

    /// Mixture that the pump draws: displacement × speed × filling.
    pub(super) fn pump_draw(&self, speed: f64, work: &Workspace) -> Flow {
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
    pub(super) fn gas_to_engine<S: Sink>(
        &self,
        y: &[f64],
        f: &mut [f64],
        draw: &Flow,
        donor: &Donor,
        sink: &mut S,
    ) {
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
    pub(super) fn run_engine<S: Sink>(&self, y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
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
    pub(super) fn breathe<S: Sink>(&self, _y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
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
}
