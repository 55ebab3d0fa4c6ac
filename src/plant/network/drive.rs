//! What turns and what warms: engine, motors and their control, vents, temperatures.

use super::flow::TURN;
use super::*;

/// Rounding of the corner of a vent, Pa.
const VENT_ROUNDING_PA: f64 = 20.0;
/// A tank with less room than this runs over, mL; mL and mL/s for each mL, and for each mL squared: two litres a second before
/// the last of the room is gone, more than any line brings.
const BRIM_ML: f64 = 20.0;
const BRIM_ROUNDING_ML: f64 = 1.0;
const RUNS_OVER: [f64; 2] = [10.0, 5.0];
/// Current over which brush friction changes sign, A.
const BRUSH_ROUNDING: f64 = 0.2;
/// Speeds over which dry friction and load set in, rad/s.
const FRICTION_ROUNDING: f64 = 5.0;
const LOAD_ROUNDING: f64 = 20.0;
/// Supply voltage at which the relay counts as closed, and the width, V.
const RELAY: (f64, f64) = (3.0, 0.5);
/// Resistance of the open relay, Ω: a real break would only be a numerical nuisance.
const OPEN_RELAY: f64 = 2000.0;

impl<const L: usize> Network<L> {
    /// Share of the demand that is served at this pressure.
    pub(super) fn served(&self, work: &Workspace<L>) -> Slope<L> {
        let [half, width] = self.top.engine.starves.map(|p| self.at(p));
        let s = smooth_step((work.vessels[self.top.engine.supply].p - half) / width);
        Slope { value: s.value, slope: s.slope / width }
    }

    /// Fuel that the engine burns.
    pub(super) fn demand<S: Sink<L>>(&self, y: &[Lanes<L>], work: &Workspace<L>) -> Flow<L, S::Slopes> {
        let e = &self.top.engine;
        let (n, load) = (y[e.n], y[e.n + 5]);
        let [rest, with_speed] = e.demand.map(|p| self.at(p));
        let served = work.served;
        let rate = 1.0 / (n + 20.0);
        let turning = n * rate;
        let base = rest + with_speed * n;
        let with_load = self.at(e.with_load);
        let loaded = 1.0 + with_load * load;
        let d_wanted = with_speed * turning + base * 20.0 * rate * rate;
        // an engine whose fuel is held back turns without burning any
        let given = 1.0 - y[e.n + 6];
        let loaded = loaded * given;
        Flow::new(base * turning * loaded * served.value)
            .with(self.column_p(e.supply), base * turning * loaded * served.slope)
            .with(e.n, d_wanted * loaded * served.value)
            .with(e.n + 5, base * turning * with_load * given * served.value)
            .with(e.n + 6, -(base * turning * (1.0 + with_load * load) * served.value))
    }

    /// Fuel that the high-pressure side sends back.
    pub(super) fn back_leak<S: Sink<L>>(&self, y: &[Lanes<L>], work: &Workspace<L>) -> Flow<L, S::Slopes> {
        let e = &self.top.engine;
        let leak = self.at(e.back_leak);
        let served = work.served;
        Flow::new(leak * y[e.n] * served.value)
            .with(self.column_p(e.supply), leak * y[e.n] * served.slope)
            .with(e.n, leak * served.value)
    }

    /// Speed, turns, gas that arrives, warmth.
    pub(super) fn run_engine<S: Sink<L>>(
        &self,
        y: &[Lanes<L>],
        f: &mut [Lanes<L>],
        work: &Workspace<L>,
        sink: &mut S,
    ) {
        let e = &self.top.engine;
        let [n, asked, starter, gas] = core::array::from_fn(|i| y[e.n + i]);
        let column_p = self.column_p(e.supply);
        let served = work.served;
        let alive = smooth_step((n - 150.0) * (1.0 / 40.0));
        let [limit, width] = e.bears.map(|p| self.at(p));
        let bears = smooth_step((limit - gas) / width);
        let lag = 1.0 / self.at(e.lag);
        let stop = y[e.n + 6];
        let runs = bears.value * (1.0 - stop);
        let most = self.at(e.most);
        let within = (most - asked).choose(|d| d >= 0.0, Lanes::ONE, Lanes::ZERO);
        let asked = within * asked + (1.0 - within) * most;
        let own = asked * served.value * alive.value * runs;
        // 1 where the starter is faster than the engine itself
        let on_starter = (starter - own).choose(|d| d >= 0.0, Lanes::ONE, Lanes::ZERO);
        let by_itself = lag * (1.0 - on_starter);
        f[e.n] = lag * on_starter * starter + by_itself * own - lag * n;
        f[e.n + 4] = n * (1.0 / 60.0);
        let rate = 1.0 / (n.at_least(0.0) + 20.0);
        let turning = n.at_least(0.0) * rate;
        let [warms, cools] = e.warms.map(|p| self.at(p));
        let heat = y[e.n + 7];
        f[e.n + 7] = warms * turning * (1.0 - heat) - cools * (1.0 - turning) * heat;
        if S::WANTED {
            let d_turning = n.choose(|n| n > 0.0, 20.0 * rate * rate, Lanes::ZERO);
            sink.add(e.n + 7, e.n, (warms * (1.0 - heat) + cools * heat) * d_turning);
            sink.add(e.n + 7, e.n + 7, -warms * turning - cools * (1.0 - turning));
            sink.add(e.n + 4, e.n, Lanes::all(1.0 / 60.0));
            sink.add(e.n, e.n, by_itself * asked * served.value * alive.slope * (1.0 / 40.0) * runs - lag);
            sink.add(e.n, e.n + 1, within * by_itself * served.value * alive.value * runs);
            sink.add(e.n, e.n + 2, lag * on_starter);
            sink.add(e.n, column_p, by_itself * asked * served.slope * alive.value * runs);
            let by_gas = -bears.slope / width * (1.0 - stop);
            sink.add(e.n, e.n + 3, by_itself * asked * served.value * alive.value * by_gas);
            sink.add(e.n, e.n + 6, -by_itself * asked * served.value * alive.value * bears.value);
        }
        for &i in &e.fed_by {
            self.gas_to_engine(i, gas, f, work, sink);
        }
    }

    /// Share of gas (at standard pressure) in what reaches the engine, mixed in a volume on the way.
    fn gas_to_engine<S: Sink<L>>(
        &self,
        i: usize,
        gas: Lanes<L>,
        f: &mut [Lanes<L>],
        work: &Workspace<L>,
        sink: &mut S,
    ) {
        let state = self.top.engine.n + 3;
        let (link, flow) = (&self.top.links[i], work.flows[i]);
        let donor = self.donor::<S::Slopes>(link.from, work);
        let mixing = 1.0 / self.at(self.top.engine.mixing);
        let wet = donor.liquid.at_least(1e-6);
        let ratio = donor.gas * donor.density / wet;
        let rest = 1.0 / (1.0 + ratio);
        let arriving = ratio * rest;
        let q = flow.at_least(0.0);
        f[state] += q * mixing * (arriving - gas);
        if S::WANTED {
            let ahead = flow.choose(|q| q >= 0.0, Lanes::ONE, Lanes::ZERO);
            sink.add(state, state, -q * mixing);
            for &(column, slope) in S::kept_of(&work.slopes, i) {
                sink.add(state, column as usize, ahead * slope * mixing * (arriving - gas));
            }
            let by_ratio = q * mixing * rest * rest / wet;
            let by_wet = donor.liquid.choose(|w| w > 1e-6, ratio, Lanes::ZERO);
            for (column, [dl, dg, dn, _]) in donor.parts() {
                let d = *dg * donor.density + donor.gas * *dn - by_wet * *dl;
                sink.add(state, *column as usize, by_ratio * d);
            }
        }
    }

    /// Duty of a controller, and its slopes against the measured pressure and its integral.
    fn duty(&self, c: &Controller, y: &[Lanes<L>], work: &Workspace<L>) -> (Lanes<L>, Lanes<L>, Slope<L>) {
        let shown = work.vessels[c.vessel].p - self.at(self.top.common.air) + self.at(c.bias);
        let short = y[c.s + 1] - shown;
        let u = self.at(c.gain) * short + y[c.s];
        let s = smooth_step(2.0 * u - 1.0);
        (short, u, Slope { value: s.value, slope: 2.0 * s.slope })
    }

    /// Integral parts of the controllers.
    pub(super) fn control<S: Sink<L>>(
        &self,
        y: &[Lanes<L>],
        f: &mut [Lanes<L>],
        work: &Workspace<L>,
        sink: &mut S,
    ) {
        for c in &self.top.controllers {
            let (short, _, duty) = self.duty(c, y, work);
            // at either end of its range the integral stands nearly still
            let free = 4.0 * duty.value * (1.0 - duty.value) + 0.05;
            let d_free = 4.0 * (1.0 - 2.0 * duty.value) * duty.slope;
            let integral = self.at(c.integral);
            f[c.s] = integral * short * free;
            if S::WANTED {
                let by_short = integral * (free + short * d_free * self.at(c.gain));
                sink.add(c.s, self.column_p(c.vessel), -by_short);
                sink.add(c.s, c.s + 1, by_short);
                sink.add(c.s, c.s, integral * short * d_free);
            }
        }
    }

    /// Current and speed of the motors.
    pub(super) fn run_motors<S: Sink<L>>(
        &self,
        y: &[Lanes<L>],
        f: &mut [Lanes<L>],
        work: &Workspace<L>,
        sink: &mut S,
    ) {
        for m in &self.top.motors {
            let (i, omega, supply) = (m.i, m.i + 1, m.i + 2);
            let u = y[supply];
            let duty = m.controller.map(|c| self.duty(&self.top.controllers[c], y, work).2);
            let share = duty.map_or(Lanes::ONE, |d| d.value);
            let relay = smooth_step((u - RELAY.0) * (1.0 / RELAY.1));
            let path = self.at(m.winding) + self.at(m.circuit) + OPEN_RELAY * (1.0 - relay.value);
            let brushes = (y[i] * (1.0 / BRUSH_ROUNDING)).tanh();
            let (drop, constant) = (self.at(m.brushes), self.at(m.constant));
            let per_h = 1.0 / self.at(m.inductance);
            f[i] = per_h * (u * share - path * y[i] - constant * y[omega] - drop * brushes);
            let dry = (y[omega] * (1.0 / FRICTION_ROUNDING)).tanh();
            let loaded = (y[omega] * (1.0 / LOAD_ROUNDING)).tanh();
            let (dry_friction, wet) = (self.at(m.dry_friction), self.at(m.wet_friction));
            let link = &self.top.links[m.link];
            let (_, from) = self.end_pressure::<S::Slopes>(link.from, work);
            let (_, to) = self.end_pressure::<S::Slopes>(link.to, work);
            let over = to.less(&from);
            let donor = self.pump_donor::<S::Slopes>(link.from, work);
            let Law::Electric { displacement, .. } = link.law else { continue };
            let per_pa = self.at(displacement) * (1e-6 / TURN);
            let load = per_pa * over.value * donor.liquid;
            let inertia = 1.0 / self.at(m.inertia);
            f[omega] = inertia * (constant * y[i] - dry_friction * dry - wet * y[omega] - load * loaded);
            f[i + 3] = y[omega] * (1.0 / TURN);
            if S::WANTED {
                sink.add(i + 3, omega, Lanes::all(1.0 / TURN));
                let d_brushes = drop * (1.0 - brushes * brushes) * (1.0 / BRUSH_ROUNDING);
                sink.add(i, i, -per_h * (path + d_brushes));
                sink.add(i, omega, -per_h * constant);
                sink.add(i, supply, per_h * (share + OPEN_RELAY * relay.slope * (1.0 / RELAY.1) * y[i]));
                if let (Some(c), Some(d)) = (m.controller, duty) {
                    let c = &self.top.controllers[c];
                    let by_u = per_h * u * d.slope;
                    sink.add(i, c.s, by_u);
                    sink.add(i, c.s + 1, by_u * self.at(c.gain));
                    sink.add(i, self.column_p(c.vessel), -by_u * self.at(c.gain));
                }
                sink.add(omega, i, inertia * constant);
                let d_dry = dry_friction * (1.0 - dry * dry) * (1.0 / FRICTION_ROUNDING);
                let d_load = load * (1.0 - loaded * loaded) * (1.0 / LOAD_ROUNDING);
                sink.add(omega, omega, -inertia * (d_dry + wet + d_load));
                let by_over = -inertia * loaded * per_pa * donor.liquid;
                for &(column, slope) in over.parts() {
                    sink.add(omega, column as usize, by_over * slope);
                }
                let by_liquid = -inertia * loaded * per_pa * over.value;
                for (column, [dl, ..]) in donor.parts() {
                    sink.add(omega, *column as usize, by_liquid * *dl);
                }
            }
        }
    }

    /// Vents and open caps, and fuel that runs out at them: what comes back from the engine may be another container's.
    pub(super) fn breathe<S: Sink<L>>(
        &self,
        y: &[Lanes<L>],
        f: &mut [Lanes<L>],
        work: &Workspace<L>,
        sink: &mut S,
    ) {
        for (r, reservoir) in self.top.reservoirs.iter().enumerate() {
            if reservoir.parent.is_some() {
                continue;
            }
            let now = &work.reservoirs[r];
            let zone = &self.top.zones[reservoir.zone];
            let open = self.at(reservoir.vent) + self.at(reservoir.cap);
            let flow = orifice_flow(open, VENT_ROUNDING_PA, self.at(self.top.common.air) - now.y - now.vapour);
            for row in [reservoir.m, self.top.ledgers.air_in] {
                f[row] += flow.value;
                if S::WANTED {
                    sink.add(row, reservoir.v, -flow.slope * now.dy_dv);
                    sink.add(row, reservoir.m, -flow.slope * now.dy_dm);
                    sink.add(row, zone.t, -flow.slope * self.at(zone.vapour_rise));
                }
            }
            let over = y[reservoir.v] - (self.at(reservoir.capacity) - BRIM_ML);
            if S::PATTERN || over.any(|over| over > -BRIM_ML) {
                let spill = positive_part(over, Lanes::all(BRIM_ROUNDING_ML));
                let [little, much] = RUNS_OVER;
                let flow = spill.value * (little + much * spill.value);
                let slope = spill.slope * (little + 2.0 * much * spill.value);
                for (row, sign) in [(reservoir.v, -1.0), (self.top.ledgers.lost, 1.0)] {
                    f[row] += sign * flow;
                    if S::WANTED {
                        sink.add(row, reservoir.v, sign * slope);
                    }
                }
            }
        }
    }

    /// Temperatures of the zones.
    pub(super) fn warm<S: Sink<L>>(&self, y: &[Lanes<L>], f: &mut [Lanes<L>], sink: &mut S) {
        let e = &self.top.engine;
        let n = y[e.n].at_least(0.0);
        let rate = 1.0 / (n + 20.0);
        let (turning, heat) = (n * rate, y[e.n + 7]);
        for zone in &self.top.zones {
            let (running, stopped) = (self.at(zone.rise_running), self.at(zone.rise_stopped));
            let rise = running * turning + stopped * (1.0 - turning);
            let follow = self.at(zone.follow);
            f[zone.t] = follow * (self.at(zone.ambient) + rise * heat - y[zone.t]);
            if S::WANTED {
                sink.add(zone.t, zone.t, -follow);
                sink.add(zone.t, e.n + 7, follow * rise);
                let d_turning = y[e.n].choose(|n| n > 0.0, 20.0 * rate * rate, Lanes::ZERO);
                sink.add(zone.t, e.n, follow * heat * (running - stopped) * d_turning);
            }
        }
    }
}
