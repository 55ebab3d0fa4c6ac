//! Flows through links, and the momentum of lines.

use super::*;

/// Width of the non-return valve's corner, Pa.
pub(super) const NON_RETURN_ROUNDING_PA: f64 = 25.0;
/// Flow ahead at which a valve that sticks is half loose, mL/s, and the time in which it comes loose or sticks, s.
const LOOSE_ML_S: f64 = 1.0;
const COMES_LOOSE_S: f64 = 0.05;
/// Width of the corner of an electric pump's outlet valve, mL/s.
const OUTLET_VALVE_ROUNDING: f64 = 0.05;
/// Rounding of the flow through a diaphragm pump's valves, Pa.
const THROUGH_ROUNDING_PA: f64 = 100.0;
/// Difference below which a regulator's way out begins to push back, Pa.
const RETURN_ROUNDING_PA: f64 = 20_000.0;
/// Speed at which the manifold has half of its depression, 1/min.
const MANIFOLD_SPEED: f64 = 300.0;
/// Radians in a turn.
pub(super) const TURN: f64 = 2.0 * core::f64::consts::PI;

/// Pressure drop by friction and fittings at a flow (mL/s), Pa, and its slope.
///
/// `density` kg/m³, `viscosity` Pa·s, `length` and `bore` m, `roughness` ε/D, `fittings` ΣK.
#[inline]
pub fn pipe_friction<const L: usize>(
    density: Lanes<L>,
    viscosity: Lanes<L>,
    q: Lanes<L>,
    length: Lanes<L>,
    bore: Lanes<L>,
    roughness: Lanes<L>,
    fittings: Lanes<L>,
) -> Slope<L> {
    let per_ml = 1e-6 / (core::f64::consts::FRAC_PI_4 * bore * bore);
    let v = q * per_ml;
    let re_per_v = density * bore / viscosity;
    let re = (v.abs() * re_per_v).at_least(1e-3);
    let fre = friction_times_reynolds(re, roughness);
    let wall = viscosity * length / (2.0 * bore * bore);
    let loss = 0.5 * fittings * density;
    let speed = v.abs();
    Slope {
        value: fre.value * wall * v + loss * v * speed,
        slope: per_ml * (fre.value * wall + fre.slope * re_per_v * speed * wall + 2.0 * loss * speed),
    }
}

/// Filling of a pump's chambers: s/(1+s), s = (y/half)^m; with slopes against y and `half`.
#[inline(always)]
fn filling<const L: usize>(y: Lanes<L>, half: Lanes<L>, m: Lanes<L>) -> [Lanes<L>; 3] {
    let s = ((y / half).at_least(1e-6).ln() * m).exp();
    let filled = s / (s + 1.0);
    let slope = m * filled / (s + 1.0);
    [filled, slope / y, -slope / half]
}

impl<const L: usize> Network<L> {
    /// Flows of all links; pipes and filters also put their own equations into `f`.
    pub(super) fn link_flows<S: Sink<L>>(
        &self,
        y: &[Lanes<L>],
        f: &mut [Lanes<L>],
        work: &mut Workspace<L>,
        sink: &mut S,
    ) {
        for (i, link) in self.top.links.iter().enumerate() {
            let flow: Flow<L, S::Slopes> = match &link.law {
                Law::Pipe { q, .. } => {
                    self.pipe(link, y, f, work, sink);
                    Flow::new(y[*q]).with(*q, Lanes::ONE)
                }
                Law::Element { .. } => self.element::<S>(link, y, f, work, sink),
                Law::NonReturn { sticks: Some(_), .. } => self.sticking_valve::<S>(link, y, f, work, sink),
                Law::Gear { displacement, fill, speed } => {
                    self.gear::<S>(link, *displacement, *fill, *speed, y, work)
                }
                Law::Diaphragm { .. } => self.diaphragm::<S>(link, y, work),
                Law::Electric { displacement, slip, motor } => {
                    self.electric::<S>(link, *displacement, *slip, *motor, y, work)
                }
                Law::Jet { drive, ratio } => {
                    let ratio = self.at(*ratio);
                    let drive = Flow { value: work.flows[*drive], slopes: S::kept(&work.slopes, *drive) };
                    let ahead = drive.value.choose(|q| q > 0.0, ratio, Lanes::ZERO);
                    drive.through(Slope { value: ahead * drive.value, slope: ahead })
                }
                Law::Weir { reservoir, rim, rate } => {
                    let (v, rate) = (self.top.reservoirs[*reservoir].v, self.at(*rate));
                    let over = softplus(y[v] - self.at(*rim), 5.0);
                    Flow::new(rate * over.value).with(v, rate * over.slope)
                }
                Law::Demand => self.demand::<S>(y, work),
                Law::BackLeak => self.back_leak::<S>(y, work),
                law => self.algebraic::<S>(link, law, y, work),
            };
            work.flows[i] = flow.value;
            S::keep(&mut work.slopes, i, flow.slopes);
        }
    }

    /// Links whose flow follows from the pressures at their ends.
    #[inline]
    fn algebraic<S: Sink<L>>(
        &self,
        link: &Link,
        law: &Law,
        y: &[Lanes<L>],
        work: &Workspace<L>,
    ) -> Flow<L, S::Slopes> {
        let drive = self.drive::<S::Slopes>(link, work);
        let dp = drive.value;
        let thick = || self.at(self.top.zones[link.zone].thick);
        match *law {
            Law::Resistance { a, b } => drive.through(resistance_flow(self.at(a) * thick(), self.at(b), dp)),
            Law::Seep { g } => drive.through(Slope { value: self.at(g) * dp, slope: self.at(g) }),
            Law::NonReturn { .. } => drive.through(self.non_return(link, dp, Lanes::ZERO).0),
            Law::Valve { k_max, opening, reach, leak, rounding } => {
                let reach = self.at(reach);
                let k = valve_coefficient(self.at(k_max), y[opening] * reach);
                let unit = orifice_flow(Lanes::ONE, rounding, dp);
                let open = k.value + self.at(leak);
                drive
                    .through(Slope { value: open * unit.value, slope: open * unit.slope })
                    .with(opening, k.slope * reach * unit.value)
            }
            Law::Relief { g, set, leak, series, reference, rounding } => {
                let (g, leak) = (self.at(g), self.at(leak));
                let e = &self.top.engine;
                let (lift, by_n, by_load) = match reference {
                    Some(manifold) => {
                        let (n, load) = (y[e.n].at_least(0.0), y[e.n + 5]);
                        let rate = 1.0 / (n * n + MANIFOLD_SPEED * MANIFOLD_SPEED);
                        let drawn = self.at(manifold) * n * n * rate;
                        let by_n = self.at(manifold) * 2.0 * n * (MANIFOLD_SPEED * MANIFOLD_SPEED) * rate * rate;
                        (drawn * (1.0 - load), by_n * (1.0 - load), -drawn)
                    }
                    None => (Lanes::ZERO, Lanes::ZERO, Lanes::ZERO),
                };
                // a diaphragm joined to the manifold weighs against the air there, not against its way out
                let (_, from) = self.end_pressure::<S::Slopes>(link.from, work);
                let (weighed, own) = match reference {
                    Some(_) => (from.value - self.at(self.top.common.air), from.parts().len()),
                    None => (dp, drive.parts().len()),
                };
                let over = softplus(weighed - self.at(set) - lift, rounding);
                let through = g / (1.0 + g * self.at(series));
                // with a return that pushes back as hard, an open regulator passes nothing
                let (passes, by_dp) = match reference {
                    Some(_) => {
                        let ahead = dp.at_least(0.0);
                        let size = ahead * ahead + RETURN_ROUNDING_PA * RETURN_ROUNDING_PA;
                        let root = size.sqrt();
                        let slope = (RETURN_ROUNDING_PA * RETURN_ROUNDING_PA) / (size * root);
                        (ahead / root, dp.choose(|d| d > 0.0, slope, Lanes::ZERO))
                    }
                    None => (Lanes::ONE, Lanes::ZERO),
                };
                let by_over = through * over.slope * passes;
                let by_drive = leak + through * over.value * by_dp;
                let mut flow = Flow::new(through * over.value * passes + leak * dp);
                for (i, &(column, slope)) in drive.parts().iter().enumerate() {
                    let opens = if i < own { by_over } else { Lanes::ZERO };
                    flow = flow.with(column as usize, (opens + by_drive) * slope);
                }
                if reference.is_some() {
                    flow.with(e.n, -by_over * by_n).with(e.n + 5, -by_over * by_load)
                } else {
                    flow
                }
            }
            Law::Slip { turning, rest, speed } => {
                let n = y[speed].at_least(0.0);
                let rate = 1.0 / (n + 60.0);
                let turning = self.at(turning);
                let thin = 1.0 / thick();
                let gap = (turning * n * rate + self.at(rest)) * thin;
                drive
                    .through(Slope { value: gap * dp, slope: gap })
                    .with(speed, turning * 60.0 * rate * rate * thin * dp)
            }
            _ => Flow::ZERO,
        }
    }

    /// Pressure, height of reference and derivative columns of an end.
    #[inline]
    pub(super) fn end_pressure<P: Slopes<L>>(&self, end: End, work: &Workspace<L>) -> (Lanes<L>, Flow<L, P>) {
        let top = &*self.top;
        match end {
            End::Vessel(v) | End::Cell(v, _) => {
                let p = work.vessels[v].p;
                (self.at(top.vessels[v].height), Flow::new(p).with(self.column_p(v), Lanes::ONE))
            }
            End::Pickup(k) => self.reservoir_pressure(top.pickups[k].reservoir, false, work),
            End::Bottom(r) => self.reservoir_pressure(r, false, work),
            End::Top(r) => self.reservoir_pressure(r, true, work),
            End::Container(level) => (self.at(level), Flow::new(self.at(top.common.air))),
            End::Burned => (Lanes::ZERO, Flow::new(self.at(top.common.air))),
        }
    }

    fn reservoir_pressure<P: Slopes<L>>(
        &self,
        r: usize,
        above: bool,
        work: &Workspace<L>,
    ) -> (Lanes<L>, Flow<L, P>) {
        let (reservoir, now) = (&self.top.reservoirs[r], &work.reservoirs[r]);
        let space = self.top.air_space_of(reservoir);
        let (p, by_v) = if above {
            (now.p - now.dp_dv * now.level * self.at(reservoir.area), Lanes::ZERO)
        } else {
            (now.p, now.dp_dv)
        };
        let zone = &self.top.zones[reservoir.zone];
        let flow = Flow::new(p).with(space.m, now.dy_dm).with(zone.t, self.at(zone.vapour_rise));
        let flow = if reservoir.parent.is_none() {
            flow.with(reservoir.v, by_v + now.dy_dv)
        } else {
            flow.with(reservoir.v, by_v).with(space.v, now.dy_dv)
        };
        (self.at(reservoir.base), flow)
    }

    /// Difference that drives a link without inertia: p₁ − p₂ + ρg(z₁ − z₂)(1 − α₁). What falls into a
    /// reservoir from above, or is burned, knows no height.
    #[inline]
    pub(super) fn drive<P: Slopes<L>>(&self, link: &Link, work: &Workspace<L>) -> Flow<L, P> {
        let (z1, from) = self.end_pressure::<P>(link.from, work);
        let (z2, to) = self.end_pressure::<P>(link.to, work);
        let mut drive = from.less(&to);
        let level = |end: End| matches!(end, End::Top(_) | End::Burned);
        if level(link.from) || level(link.to) {
            return drive;
        }
        let head = self.at(self.top.zones[link.zone].density) * GRAVITY * (z1 - z2);
        drive.value += head;
        if let End::Cell(_, k) = link.from {
            drive.value -= head * work.cells[k].alpha;
            drive = drive.with(self.column_a(k), -head);
        }
        drive
    }

    /// Momentum of a line: fills rows q and q_s.
    fn pipe<S: Sink<L>>(&self, link: &Link, y: &[Lanes<L>], f: &mut [Lanes<L>], work: &Workspace<L>, sink: &mut S) {
        let Law::Pipe {
            inertance,
            length,
            bore,
            roughness,
            fittings,
            pinch,
            unsteady,
            unsteady_rate,
            collapse,
            collapse_width,
            q: row,
            ref column,
        } = link.law
        else {
            return;
        };
        let zone = &self.top.zones[link.zone];
        let (z1, from) = self.end_pressure::<S::Slopes>(link.from, work);
        let (z2, to) = self.end_pressure::<S::Slopes>(link.to, work);
        let falls = matches!(link.to, End::Top(_));
        let (q, slow) = (y[row], y[row + 1]);
        let inverse = 1.0 / self.at(inertance);
        let density = self.at(zone.density);
        let head = if falls { Lanes::ZERO } else { density * GRAVITY * (z2 - z1) };
        let mut full = Lanes::ONE;
        for &(k, share) in column {
            full -= share * work.cells[k].alpha;
            if S::WANTED {
                sink.add(row, self.column_a(k), inverse * head * share);
            }
        }
        let bore_m = self.at(bore);
        let (squeeze, by_p) = self.squeeze(to.value, self.at(collapse), self.at(collapse_width));
        let loss = self.at(fittings) + squeeze;
        let friction =
            pipe_friction(density, self.at(zone.viscosity), q, self.at(length), bore_m, self.at(roughness), loss);
        let (pinch, unsteady, rate) = (self.at(pinch), self.at(unsteady), self.at(unsteady_rate));
        let lost = friction.value + pinch * q;
        f[row] = inverse * (from.value - to.value - head * full - lost - unsteady * (q - slow));
        f[row + 1] = rate * (q - slow);
        if S::WANTED {
            for &(column, slope) in from.parts() {
                sink.add(row, column as usize, inverse * slope);
            }
            for &(column, slope) in to.parts() {
                sink.add(row, column as usize, -inverse * slope);
            }
            sink.add(row, row, -inverse * (friction.slope + pinch + unsteady));
            sink.add(row, row + 1, inverse * unsteady);
            sink.add(row + 1, row, rate);
            sink.add(row + 1, row + 1, -rate);
            if let End::Cell(v, _) | End::Vessel(v) = link.to
                && (S::PATTERN || by_p.any(|s| s != 0.0))
            {
                let v_m_s = q * (1e-6 / (core::f64::consts::FRAC_PI_4 * bore_m * bore_m));
                let by_loss = 0.5 * density * v_m_s * v_m_s.abs();
                sink.add(row, self.column_p(v), -inverse * by_loss * by_p);
            }
        }
    }

    /// Extra loss factor of a soft hose that its own suction squeezes: the bore's share that is left is
    /// β = 0.05 + 0.95·½[1 + tanh((p − p_c)/w)], the loss that of a narrowing to β², (1/β² − 1)².
    #[inline]
    fn squeeze(&self, p: Lanes<L>, half: Lanes<L>, width: Lanes<L>) -> (Lanes<L>, Lanes<L>) {
        let u = (p - half) / width;
        if !u.any(|u| u < 9.0) {
            return (Lanes::ZERO, Lanes::ZERO);
        }
        let step = smooth_step(u);
        let beta = 0.05 + 0.95 * step.value;
        let ratio = 1.0 / (beta * beta);
        let over = ratio - 1.0;
        let by_beta = 2.0 * over * (-2.0 * ratio / beta);
        (over * over, by_beta * 0.95 * step.slope / width)
    }

    /// Non-return valve that needs `more` Pa than its cracking pressure; beside the law its slope against what more it
    /// needs.
    #[inline(always)]
    fn non_return(&self, link: &Link, dp: Lanes<L>, more: Lanes<L>) -> (Slope<L>, Lanes<L>) {
        let Law::NonReturn { a, b, cracking, stuck_open, lift, seat_leak, .. } = link.law else {
            return (Slope { value: Lanes::ZERO, slope: Lanes::ZERO }, Lanes::ZERO);
        };
        let (a, b) = (self.at(a) * self.at(self.top.zones[link.zone].thick), self.at(b));
        let (stuck, lift, seat) = (self.at(stuck_open), self.at(lift), self.at(seat_leak));
        let ahead = softplus(dp - self.at(cracking) * (1.0 - stuck) - more, NON_RETURN_ROUNDING_PA);
        let forward = resistance_flow(a, b, ahead.value);
        let by_ahead = lift * forward.slope * ahead.slope;
        let mut law = Slope { value: lift * forward.value + seat * dp, slope: by_ahead + seat };
        if stuck.any(|s| s > 0.0) {
            let behind = softplus(-dp, NON_RETURN_ROUNDING_PA);
            let back = resistance_flow(a, b, behind.value);
            law.value -= lift * stuck * back.value;
            law.slope += lift * stuck * back.slope * behind.slope;
        }
        (law, -by_ahead)
    }

    /// A non-return valve that sticks to its seat until fuel has flowed ahead for a moment.
    fn sticking_valve<S: Sink<L>>(
        &self,
        link: &Link,
        y: &[Lanes<L>],
        f: &mut [Lanes<L>],
        work: &Workspace<L>,
        sink: &mut S,
    ) -> Flow<L, S::Slopes> {
        let Law::NonReturn { sticks: Some((loose, sticks)), .. } = link.law else { return Flow::ZERO };
        let (drive, sticks) = (self.drive::<S::Slopes>(link, work), self.at(sticks));
        let (law, by_more) = self.non_return(link, drive.value, sticks * (1.0 - y[loose]));
        let out = drive.through(law).with(loose, -by_more * sticks);
        let q = law.value.at_least(0.0) * (1.0 / LOOSE_ML_S);
        let still = 1.0 / (1.0 + q * q);
        f[loose] = (1.0 - still - y[loose]) * (1.0 / COMES_LOOSE_S);
        if S::WANTED {
            let by_flow = 2.0 * q * still * still * (1.0 / (LOOSE_ML_S * COMES_LOOSE_S));
            for &(column, slope) in out.parts() {
                sink.add(loose, column as usize, by_flow * slope);
            }
            sink.add(loose, loose, Lanes::all(-1.0 / COMES_LOOSE_S));
        }
        out
    }

    /// Filter element with wax and primer.
    fn element<S: Sink<L>>(
        &self,
        link: &Link,
        y: &[Lanes<L>],
        f: &mut [Lanes<L>],
        work: &Workspace<L>,
        sink: &mut S,
    ) -> Flow<L, S::Slopes> {
        let Law::Element { a, b, flow, stall, on, wax, wax_gain, wax_per_ml, wax_melts, .. } = link.law else {
            return Flow::ZERO;
        };
        let drive = self.drive::<S::Slopes>(link, work);
        let clean = self.at(a) * self.at(self.top.zones[link.zone].thick);
        let gain = clean * self.at(wax_gain);
        let settled = wax.map_or(Lanes::ZERO, |w| y[w]);
        let (stall, flow) = (self.at(stall), self.at(flow));
        let hand = on.map_or(Lanes::ZERO, |on| y[on]);
        let stiff = clean + gain * settled + hand * stall / flow;
        let (law, by_stiff) = resistance(stiff, self.at(b), drive.value + hand * stall);
        let mut out = drive.through(law);
        if let Some(on) = on {
            out = out.with(on, law.slope * stall + by_stiff * stall / flow);
        }
        if let Some(w) = wax {
            out = out.with(w, by_stiff * gain);
            let (build, melts) = (self.at(wax_per_ml), self.at(wax_melts));
            let ahead = law.value.choose(|q| q > 0.0, build, Lanes::ZERO);
            f[w] = ahead * law.value * (1.0 - settled) - melts * settled;
            if S::WANTED {
                for &(column, slope) in out.parts() {
                    sink.add(w, column as usize, ahead * (1.0 - settled) * slope);
                }
                sink.add(w, w, -ahead * law.value - melts);
            }
        }
        out
    }

    fn pump_inlet(&self, end: End) -> Option<usize> {
        match end {
            End::Cell(v, _) | End::Vessel(v) => Some(v),
            _ => None,
        }
    }

    /// Mixture that a gear pump draws: displacement × speed × filling.
    fn gear<S: Sink<L>>(
        &self,
        link: &Link,
        displacement: Param,
        [a, b, m]: [Param; 3],
        speed: usize,
        y: &[Lanes<L>],
        work: &Workspace<L>,
    ) -> Flow<L, S::Slopes> {
        let Some(v) = self.pump_inlet(link.from) else { return Flow::ZERO };
        let per_speed = self.at(displacement) * (1.0 / 60.0);
        let n = y[speed];
        let b = self.at(b) * 1e-6;
        let [filled, by_y, by_half] = filling(work.vessels[v].y, self.at(a) + b * n * n, self.at(m));
        Flow::new(per_speed * n * filled)
            .with(self.column_p(v), per_speed * n * by_y)
            .with(self.column_t(v), -per_speed * n * by_y * self.vapour_rise(v))
            .with(speed, per_speed * (filled + n * by_half * 2.0 * b * n))
    }

    /// Mean flow of a diaphragm pump.
    fn diaphragm<S: Sink<L>>(&self, link: &Link, y: &[Lanes<L>], work: &Workspace<L>) -> Flow<L, S::Slopes> {
        let Law::Diaphragm {
            displacement,
            spring,
            spring_width,
            fill: [a, b, m],
            through,
            leak,
            speed,
            hand,
            stroke,
        } = link.law
        else {
            return Flow::ZERO;
        };
        let (Some(v), Some(w)) = (self.pump_inlet(link.from), self.pump_inlet(link.to)) else { return Flow::ZERO };
        let n = y[speed].at_least(0.0);
        let per_speed = self.at(displacement) * (1.0 / 60.0);
        let stroke = self.at(stroke);
        let swept = per_speed * n + stroke * y[hand];
        let b = self.at(b) * 1e-6;
        let [filled, by_y, by_half] = filling(work.vessels[v].y, self.at(a) + b * n * n, self.at(m));
        let (p_in, p_out) = (work.vessels[v].p, work.vessels[w].p);
        let width = self.at(spring_width);
        let back = smooth_step((self.at(spring) + self.at(self.top.common.air) - p_out) / width);
        let lifted = filled * back.value;
        // pressure from the inlet opens both valves; what leaks goes back
        let dp = p_in - p_out;
        let open = softplus(dp, THROUGH_ROUNDING_PA);
        let passed = orifice_flow(self.at(through), THROUGH_ROUNDING_PA, open.value);
        let leak = self.at(leak);
        let by_dp = passed.slope * open.slope + leak;
        Flow::new(swept * lifted + passed.value + leak * dp)
            .with(self.column_p(v), swept * by_y * back.value + by_dp)
            .with(self.column_t(v), -swept * by_y * back.value * self.vapour_rise(v))
            .with(self.column_p(w), -swept * filled * back.slope / width - by_dp)
            .with(speed, per_speed * lifted + swept * by_half * 2.0 * b * n * back.value)
            .with(hand, stroke * lifted)
    }

    /// What an electric pump delivers through its outlet valve.
    fn electric<S: Sink<L>>(
        &self,
        link: &Link,
        displacement: Param,
        slip: Param,
        motor: usize,
        y: &[Lanes<L>],
        work: &Workspace<L>,
    ) -> Flow<L, S::Slopes> {
        let omega = self.top.motors[motor].i + 1;
        let (_, from) = self.end_pressure::<S::Slopes>(link.from, work);
        let (_, to) = self.end_pressure::<S::Slopes>(link.to, work);
        let per_turn = self.at(displacement) * (1.0 / TURN);
        let slip = self.at(slip) / self.at(self.top.zones[link.zone].thick);
        let over = to.less(&from);
        let law = softplus(per_turn * y[omega] - slip * over.value, OUTLET_VALVE_ROUNDING);
        over.through(Slope { value: law.value, slope: -slip * law.slope }).with(omega, per_turn * law.slope)
    }
}
