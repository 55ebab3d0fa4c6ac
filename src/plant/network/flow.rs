//! Flows through links, and the momentum of lines.

use super::*;

/// Width of the non-return valve's corner, Pa.
pub(super) const NON_RETURN_ROUNDING_PA: f64 = 25.0;

/// See [`crate::plant::component::NonReturnValve`].
pub(super) fn non_return_flow(
    a: f64,
    b: f64,
    cracking: f64,
    stuck_open: f64,
    lift: f64,
    seat_leak: f64,
    dp: f64,
) -> Slope {
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

impl Network {
    /// Flows of all links; pipes also put their own equations into `f`.
    pub(super) fn link_flows<S: Sink>(&self, y: &[f64], f: &mut [f64], work: &mut Workspace, sink: &mut S) {
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
    pub(super) fn end_pressure(&self, end: End, work: &Workspace) -> (f64, f64, Flow) {
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
    pub(super) fn drive(&self, link: &Link, work: &Workspace) -> Flow {
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
    pub(super) fn pipe<S: Sink>(&self, link: &Link, y: &[f64], f: &mut [f64], work: &Workspace, sink: &mut S) {
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
}
