//! Time stepping by a stiffly accurate, L-stable Rosenbrock method (`rosenbrock.rs`) with an embedded one for the error and
//! dense output, one exact Jacobian and one factorisation a step.
//!
//! Why: the eigenvalues run from 10⁻⁷ to 10⁶ 1/s and some lie close to the imaginary axis (fuel
//! columns on soft hoses), where multistep methods above order 2 aren't stable. A one-step method also
//! restarts for free at every turn of a lever.
//!
//! **Slicing.** The stepper chooses its own steps and looks ahead of whoever watches; samples come
//! from the dense output. Only an action bounds a step: the step under way is redone to end exactly
//! there. So the result depends on the actions and their times and on nothing else.
//!
//! Time is kept as integer microseconds at knots plus a short `f64` since the knot.

use super::network::{Network, Passengers, Workspace, factors};
use super::rosenbrock::Order;
use super::sparse::Lu;
use crate::lanes::Lanes;

/// How hard a stepper works.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// Order of the method.
    pub order: Order,
    /// Relative tolerance.
    pub relative: f64,
    /// Multiplies every state's absolute tolerance.
    pub absolute: f64,
    /// First step after a knot, s.
    pub first: f64,
    /// Longest step, s.
    pub longest: f64,
}

impl Effort {
    /// For a vehicle that a person watches: within 0.5 mbar of a very fine solution.
    pub const WATCHED: Self =
        Self { order: Order::Fourth, relative: 1e-5, absolute: 1.0, first: 1e-4, longest: 600.0 };
    /// For one of many vehicles, of which only means over windows are used.
    pub const ENSEMBLE: Self =
        Self { order: Order::Third, relative: 1e-3, absolute: 20.0, first: 1e-3, longest: 600.0 };
    /// For references in tests.
    pub const REFERENCE: Self =
        Self { order: Order::Fourth, relative: 1e-9, absolute: 1e-4, first: 1e-4, longest: 600.0 };
}

/// Work done so far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Work {
    /// Steps taken and kept.
    pub steps: u64,
    /// Steps thrown away because the error was too large.
    pub rejected: u64,
    /// Steps redone because an action fell inside.
    pub cut: u64,
    /// Right-hand sides.
    pub evaluations: u64,
    /// Jacobians.
    pub jacobians: u64,
    /// Factorisations.
    pub factorisations: u64,
    /// Steps kept at the smallest step in spite of their error; 0 in a sound run.
    pub forced: u64,
}

impl Work {
    /// The sum of two.
    pub fn and(self, other: Self) -> Self {
        Self {
            steps: self.steps + other.steps,
            rejected: self.rejected + other.rejected,
            cut: self.cut + other.cut,
            evaluations: self.evaluations + other.evaluations,
            jacobians: self.jacobians + other.jacobians,
            factorisations: self.factorisations + other.factorisations,
            forced: self.forced + other.forced,
        }
    }
}

/// Error from which on a state rules the step.
const RULES: f64 = 0.05;
/// After so many steps that led nowhere the next is cut by that.
const IDLE: u32 = 4;
const CUT: f64 = 0.1;
/// Smallest step, s. After so many on end that had to be kept in spite of their error it is twice as long, and so on: where
/// no step is right, time goes on all the same.
const SMALLEST_STEP: f64 = 1e-9;
const PATIENCE: u32 = 8;

/// Integrates L vehicles of one topology with common steps. The workspace parts could be thrown away
/// between steps.
#[derive(Clone, Debug)]
pub struct Stepper<const L: usize> {
    effort: Effort,
    work: Work,
    scratch: Workspace<L>,
    lu: Lu<L>,
    k: Vec<Vec<Lanes<L>>>,
    f: Vec<Lanes<L>>,
    y_stage: Vec<Lanes<L>>,
    /// State at the start of the step under way.
    y0: Vec<Lanes<L>>,
    /// State at its end.
    y1: Vec<Lanes<L>>,
    dense2: Vec<Lanes<L>>,
    dense3: Vec<Lanes<L>>,
    /// Time of the last knot, µs.
    knot: u64,
    /// Start and end of the step under way, s since the knot. Equal: none is under way.
    t0: f64,
    t1: f64,
    /// Proposed next step, s.
    h: f64,
    /// A step must not pass this, s since the knot.
    fence: f64,
    /// What the fuel carries, as it was at the start of the step under way; none: nobody asks.
    passengers: Option<Passengers<L>>,
    /// Length of the step that ended in the settled state and over which they haven't been carried yet, s.
    owed: f64,
    /// How large each state is in the step under way: what it may be wrong by goes with that.
    size: Vec<Lanes<L>>,
    /// How far each state moved in the step before.
    moved: Vec<Lanes<L>>,
    /// State and lane with the worst error of the step under way.
    ruler: (usize, usize),
    /// How many steps on end led nowhere.
    idle: u32,
    /// How many steps on end were kept in spite of their error.
    forced: u32,
}

impl<const L: usize> Stepper<L> {
    /// Starts at time `t` (µs) from state `y`.
    pub fn new(net: &Network<L>, y: Vec<Lanes<L>>, t: u64, effort: Effort) -> Self {
        let n = net.states();
        let none = || vec![Lanes::ZERO; n];
        Self {
            effort,
            work: Work::default(),
            scratch: net.workspace(),
            lu: factors(net),
            k: vec![none(); effort.order.stages()],
            f: none(),
            y_stage: none(),
            y1: y.clone(),
            y0: y,
            dense2: none(),
            dense3: none(),
            knot: t,
            t0: 0.0,
            t1: 0.0,
            h: effort.first,
            fence: f64::INFINITY,
            passengers: None,
            owed: 0.0,
            size: none(),
            moved: none(),
            ruler: (0, 0),
            idle: 0,
            forced: 0,
        }
    }

    /// Lets passengers get on: from now on they are carried.
    pub fn board(&mut self, passengers: Passengers<L>) {
        self.passengers = Some(passengers);
    }

    /// Passengers at a covered time; none when nobody asked for them.
    pub fn passengers_at(&self, net: &Network<L>, t: u64) -> Option<Passengers<L>> {
        let mut load = self.passengers.clone()?;
        let h = self.share(t) * (self.t1 - self.t0);
        if h > 0.0 {
            let mut y = vec![Lanes::ZERO; self.y0.len()];
            self.at(t, &mut y);
            net.carry_passengers(&mut load, &y, h, &mut vec![Lanes::ZERO; y.len()], &mut net.workspace());
        }
        Some(load)
    }

    /// Memory held, bytes.
    pub fn bytes(&self) -> usize {
        let states: [&[Lanes<L>]; 8] =
            [&self.f, &self.y_stage, &self.y0, &self.y1, &self.dense2, &self.dense3, &self.size, &self.moved];
        let vectors = states.iter().map(|v| size_of_val(*v)).chain(self.k.iter().map(|k| size_of_val(&**k)));
        let passengers = self.passengers.as_ref().map_or(0, Passengers::bytes);
        vectors.sum::<usize>() + self.scratch.bytes() + self.lu.bytes() + passengers
    }

    /// Work done so far.
    pub fn work(&self) -> Work {
        self.work
    }

    /// Takes steps until `t` (µs) lies within the step under way.
    pub fn cover(&mut self, net: &mut Network<L>, t: u64) {
        let target = t.saturating_sub(self.knot) as f64 * 1e-6;
        if self.t1 < target {
            while self.t1 < target {
                self.go_on();
                self.step(net, self.fence);
            }
            // nobody asks within the steps before
            self.finish_dense_output();
        }
    }

    /// How far into the step under way a covered time lies, 0 … 1.
    fn share(&self, t: u64) -> f64 {
        let span = self.t1 - self.t0;
        if span > 0.0 {
            ((t.saturating_sub(self.knot) as f64 * 1e-6 - self.t0) / span).clamp(0.0, 1.0)
        } else {
            1.0
        }
    }

    /// State at a time covered by the step under way, by dense output.
    pub fn at(&self, t: u64, out: &mut [Lanes<L>]) {
        let s = self.share(t);
        for (i, o) in out.iter_mut().enumerate() {
            *o = self.dense(s, i);
        }
    }

    /// One state of the dense output.
    pub fn state_at(&self, t: u64, i: usize) -> Lanes<L> {
        self.dense(self.share(t), i)
    }

    fn dense(&self, s: f64, i: usize) -> Lanes<L> {
        let r = 1.0 - s;
        r * self.y0[i] + s * (self.y1[i] + r * (self.dense2[i] + s * self.dense3[i]))
    }

    /// Ends the step under way exactly at `t` (µs) and makes that a knot, where parameters may be
    /// changed. Returns the state there.
    pub fn stop_at(&mut self, net: &mut Network<L>, t: u64) -> &mut Vec<Lanes<L>> {
        self.cover(net, t);
        let target = t.saturating_sub(self.knot) as f64 * 1e-6;
        if self.t1 > target {
            // redo from the start of the step under way, up to the knot and no further
            self.work.cut += 1;
            self.t1 = self.t0;
            self.y1.copy_from_slice(&self.y0);
            self.h = self.h.min(target - self.t0).max(SMALLEST_STEP);
            while self.t1 < target {
                self.go_on();
                self.step(net, target);
            }
        }
        self.keep();
        if self.owed > 0.0 {
            net.rhs(&self.y0, &mut self.f, &mut self.scratch);
            self.carry(net);
        }
        self.knot = t;
        self.t0 = 0.0;
        self.t1 = 0.0;
        self.h = self.effort.first;
        self.moved.fill(Lanes::ZERO);
        self.idle = 0;
        self.fence = f64::INFINITY;
        &mut self.y0
    }

    /// After a knot: the state was changed from outside, or a ramp ends at `fence` (µs).
    pub fn restart(&mut self, fence: Option<u64>) {
        self.y1.copy_from_slice(&self.y0);
        self.fence = fence.map_or(f64::INFINITY, |t| (t - self.knot) as f64 * 1e-6);
    }

    /// Makes the end of the step under way the settled state.
    fn keep(&mut self) {
        self.go_on();
        self.y1.copy_from_slice(&self.y0);
    }

    /// As [`keep`](Self::keep), before a step that finds another end anyway.
    fn go_on(&mut self) {
        if self.passengers.is_some() {
            self.owed += self.t1 - self.t0;
        }
        self.t0 = self.t1;
        std::mem::swap(&mut self.y0, &mut self.y1);
    }

    /// Carries passengers over the step that ended in the settled state, which was evaluated last: the next step evaluates it
    /// anyway.
    fn carry(&mut self, net: &Network<L>) {
        if self.owed > 0.0
            && let Some(load) = &mut self.passengers
        {
            net.carry_evaluated(load, &self.y0, self.owed, &self.scratch);
        }
        self.owed = 0.0;
    }

    /// One accepted step from (t0, y0), not past `fence`.
    fn step(&mut self, net: &mut Network<L>, fence: f64) {
        net.follow_temperature(&self.y0);
        let net = &*net;
        self.work.jacobians += 1;
        self.work.evaluations += 1;
        net.rhs_and_entries(&self.y0, &mut self.f, &mut self.scratch);
        self.carry(net);
        let mut rejected = false;
        loop {
            let room = fence - self.t0;
            let mut h = self.h.min(self.effort.longest);
            // the last two steps before a fence share what is left
            if h >= room {
                h = room;
            } else if h > 0.5 * room {
                h = 0.5 * room;
            }
            let error = self.try_step(net, h);
            let factor = if error > 0.0 { (0.9 / self.effort.order.root(error)).clamp(0.2, 6.0) } else { 6.0 };
            let smallest = SMALLEST_STEP * f64::from(1 << (self.forced / PATIENCE).min(30));
            if error <= 1.0 || h <= smallest {
                if error > 1.0 || !error.is_finite() {
                    self.work.forced += 1;
                    self.forced += 1;
                } else {
                    self.forced = 0;
                }
                self.work.steps += 1;
                self.t1 = if h >= room { fence } else { self.t0 + h };
                self.h = h * if rejected { factor.min(1.0) } else { factor };
                if self.leads_nowhere(error) {
                    self.h = self.h.min(CUT * h);
                }
                self.h = self.h.max(smallest);
                return;
            }
            self.work.rejected += 1;
            rejected = true;
            self.h = (h * if error.is_finite() { factor.min(0.9) } else { 0.1 }).max(smallest);
        }
    }

    /// Whether several steps on end threw the state that rules them to and fro, or held it where it isn't at rest.
    ///
    /// A linearly implicit method may do that where a flow goes with the root of a pressure and the step is far longer
    /// than the settling: each step lands on the other side, as far away, or the stages cancel. The error is within
    /// the tolerance and the step never grows. A shorter step sees the way to rest. In a sound step a state moves by
    /// more than its error, and a real oscillation takes more than two steps a turn.
    fn leads_nowhere(&mut self, error: f64) -> bool {
        let (state, lane) = self.ruler;
        let moved = self.y1[state].0[lane] - self.y0[state].0[lane];
        let turned = moved * self.moved[state].0[lane] < 0.0;
        let stands = moved.abs() < self.error()[state].0[lane].abs();
        self.idle = if error > RULES && (turned || stands) { self.idle + 1 } else { 0 };
        for ((moved, &after), &before) in self.moved.iter_mut().zip(&self.y1).zip(&self.y0) {
            *moved = after - before;
        }
        let nowhere = self.idle >= IDLE;
        if nowhere {
            // the next one is cut at once
            self.idle = IDLE - 1;
        }
        nowhere
    }

    /// Stages of a step of length `h`; the scaled error, or infinity when something isn't finite.
    fn try_step(&mut self, net: &Network<L>, h: f64) -> f64 {
        let (plan, method) = (&net.sparsity.plan, self.effort.order.method());
        self.work.factorisations += 1;
        if !self.lu.factorise(plan, 1.0 / (h * method.gamma), &self.scratch.entries) {
            return f64::INFINITY;
        }
        let (inverse_h, last) = (1.0 / h, self.effort.order.stages() - 1);
        for (stage, (&a, &c)) in method.a.iter().zip(method.c).enumerate() {
            let (before, now) = self.k.split_at_mut(stage);
            let now = &mut now[0];
            if a.is_empty() {
                // at the start of the step, which was evaluated
                add(now, Some(&self.f), c, inverse_h, before);
            } else {
                if stage == last {
                    // begins where the stage before began, moved by what that found
                    add(&mut self.y_stage, None, &a[stage - 1..], 1.0, &before[stage - 1..]);
                } else {
                    add(&mut self.y_stage, Some(&self.y0), a, 1.0, before);
                }
                self.work.evaluations += 1;
                net.rhs(&self.y_stage, now, &mut self.scratch);
                add(now, None, c, inverse_h, before);
            }
            self.lu.solve(plan, now);
        }
        self.weigh(net)
    }

    /// The last stage, which is the error.
    fn error(&self) -> &[Lanes<L>] {
        &self.k[self.effort.order.stages() - 1]
    }

    /// Finishes the solution at the end of a step; the worst error of any state in any lane.
    fn weigh(&mut self, net: &Network<L>) -> f64 {
        self.finish(net);
        let (mut worst, mut finite) = (0.0_f64, true);
        for (i, (&tolerance, &weighed)) in net.top.tolerance.iter().zip(&net.top.weighed).enumerate() {
            if !weighed {
                continue;
            }
            let error = self.error()[i];
            for lane in 0..L {
                let scale = self.effort.absolute * tolerance + self.effort.relative * self.size[i].0[lane];
                let share = (error.0[lane] / scale).abs();
                if share > worst {
                    (worst, self.ruler) = (share, (i, lane));
                }
                finite &= error.0[lane].is_finite();
            }
        }
        if finite && self.is_admissible(net) { self.effort.order.method().weight * worst } else { f64::INFINITY }
    }

    /// Ends the step, and finds how large each state is. Excess fuel is a difference that warmth moves anywhere, so
    /// its own size says nothing: a share of it would be a bar in a small stiff vessel. What counts is the gas that it
    /// presses; then a relative error is one of the pressure, and without gas the absolute tolerance holds alone.
    fn finish(&mut self, net: &Network<L>) {
        // y_stage is the solution without the last stage
        let stages = self.y_stage.iter().zip(&self.k[self.effort.order.stages() - 1]);
        let ends = self.y1.iter_mut().zip(&mut self.size);
        for (((after, size), &before), (&y, &error)) in ends.zip(&self.y0).zip(stages) {
            *after = y + error;
            *size = Lanes(core::array::from_fn(|lane| before.0[lane].abs().max(after.0[lane].abs())));
        }
        for (vessel, gas) in net.top.vessels.iter().zip(self.scratch.gas_volumes()) {
            self.size[vessel.x] = gas;
        }
    }

    /// No reservoir is emptied below nothing or filled beyond its walls.
    fn is_admissible(&self, net: &Network<L>) -> bool {
        net.top.reservoirs.iter().all(|r| {
            let (v, capacity) = (self.y1[r.v], net.at(r.capacity));
            let room = capacity - v;
            !(v.any(|v| v <= 0.0)
                || room.any(|r| r <= 0.0)
                || (r.parent.is_none() && self.y1[r.m].any(|m| m <= 0.0)))
        })
    }

    fn finish_dense_output(&mut self) {
        let [d2, d3] = self.effort.order.method().dense;
        for (dense, d) in [(&mut self.dense2, d2), (&mut self.dense3, d3)] {
            dense.fill(Lanes::ZERO);
            add(dense, None, d, 1.0, &self.k);
        }
    }
}

/// Adds stages to `base`, or where there is none to what `sum` holds, each times its factor and all times `scale`, in their
/// order and in one pass over the states.
fn add<const L: usize>(
    sum: &mut [Lanes<L>],
    base: Option<&[Lanes<L>]>,
    factors: &[f64],
    scale: f64,
    stages: &[Vec<Lanes<L>>],
) {
    fn of<const L: usize, const N: usize>(
        sum: &mut [Lanes<L>],
        base: Option<&[Lanes<L>]>,
        factors: &[f64],
        scale: f64,
        stages: &[Vec<Lanes<L>>],
    ) {
        let n = sum.len();
        let factors: [f64; N] = core::array::from_fn(|j| factors[j] * scale);
        let stages: [&[Lanes<L>]; N] = core::array::from_fn(|j| &stages[j][..n]);
        let all = |i: usize, mut v: Lanes<L>| {
            for j in 0..N {
                v += factors[j] * stages[j][i];
            }
            v
        };
        match base {
            Some(base) => sum.iter_mut().zip(base).enumerate().for_each(|(i, (sum, &base))| *sum = all(i, base)),
            None => sum.iter_mut().enumerate().for_each(|(i, sum)| *sum = all(i, *sum)),
        }
    }
    match factors.len() {
        0 => of::<L, 0>(sum, base, factors, scale, stages),
        1 => of::<L, 1>(sum, base, factors, scale, stages),
        2 => of::<L, 2>(sum, base, factors, scale, stages),
        3 => of::<L, 3>(sum, base, factors, scale, stages),
        4 => of::<L, 4>(sum, base, factors, scale, stages),
        _ => of::<L, 5>(sum, base, factors, scale, stages),
    }
}
