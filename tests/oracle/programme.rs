//! A list of lever movements that two integrators can be driven through alike, and where the
//! readings lie close enough to a movement to be left out of a comparison.

use faultbay::lanes::Lanes;
use faultbay::plant::Plant;
use faultbay::plant::assemble::{Assembly, Detail, Rig, TeeFitting, assemble};
use faultbay::plant::step::Effort;
use faultbay::plant::vehicle::Vehicle;
use faultbay::scenario::{self, Library};

/// A second in microseconds.
pub const S: u64 = 1_000_000;
/// Readings this soon after a knot aren't compared, µs.
pub const BLIND: u64 = 3 * S / 10;

/// One movement of a lever.
#[derive(Clone, Copy, Debug)]
pub struct Move {
    /// When it begins, µs.
    pub at: u64,
    /// State it moves.
    pub state: usize,
    /// Where it ends.
    pub target: f64,
    /// How long it takes, µs.
    pub over: u64,
}

/// A vehicle, how it is fitted, what is done with it and when it is looked at.
pub struct Run {
    /// The vehicle.
    pub plant: Plant,
    /// What is fitted.
    pub rig: Rig,
    /// The network at rest.
    pub assembly: Assembly<1>,
    /// Movements in order of time.
    pub moves: Vec<Move>,
    /// End, µs.
    pub end: u64,
}

/// A stretch without a knot inside.
#[derive(Clone, Debug)]
pub struct Segment {
    /// Begin and end, µs.
    pub from: u64,
    /// See `from`.
    pub to: u64,
    /// For every lever: state, where it is at `from`, how fast it moves.
    pub levers: Vec<(usize, f64, f64)>,
}

impl Run {
    /// Rest 5 s, crank, idle, raised, idle, dead-head, off, hold until `end`; long enough ramps to
    /// be smooth.
    pub fn new(plant: Plant, rig: Rig, detail: Detail, [idle, raised]: [f64; 2], end: u64) -> Self {
        let assembly = assemble(&plant, &rig, detail).unwrap();
        let n = assembly.net.top.engine.n;
        let (asked, starter, valve) = (n + 1, n + 2, assembly.handles.valve.unwrap());
        let moves = [
            (50, starter, 210.0, 1),
            (80, asked, idle, 1),
            (80, starter, 0.0, 1),
            (680, asked, raised, 10),
            (980, asked, idle, 10),
            (1100, valve, 0.0, 3),
            (1153, valve, 1.0, 3),
            (1250, asked, 0.0, 1),
        ];
        let mut moves: Vec<Move> = moves
            .into_iter()
            .map(|(at, state, target, over)| Move { at: at * S / 10, state, target, over: over * S / 10 })
            .collect();
        // electric pumps are fed from a second before the starter until the engine is switched off
        let volts = 13.6 * plant.service.battery.si() / 12.0;
        for motor in &assembly.net.top.motors {
            let state = motor.i + 2;
            moves.push(Move { at: 4 * S, state, target: volts, over: S / 10 });
            moves.push(Move { at: 125 * S, state, target: 0.0, over: S / 10 });
        }
        moves.sort_by_key(|m| m.at);
        Self { plant, rig, assembly, moves, end }
    }

    /// A built-in plant with the tee at a joint.
    pub fn of(name: &str, joint: &str, detail: Detail, end: u64) -> Self {
        let Ok((plant, _)) = scenario::load_plant(&Library::builtin(), name) else { panic!("no plant {name}") };
        let engine = plant.engine().unwrap();
        let speeds = [engine.idle.si(), engine.raised.si()];
        Self::new(plant, rig(joint), detail, speeds, end)
    }

    /// The state at the beginning.
    pub fn start(&self) -> Vec<f64> {
        plain(&self.assembly.clone().at_rest(&self.plant))
    }

    /// Our own vehicle, driven through all movements and looked at in between: `look` gets the time
    /// and the state.
    pub fn ours(
        &self,
        detail: Detail,
        effort: Effort,
        times: &[u64],
        mut look: impl FnMut(u64, &[f64]),
    ) -> Vehicle {
        let mut car = Vehicle::new(&self.plant, &self.rig, detail, effort).unwrap();
        let mut y = vec![Lanes::ZERO; self.assembly.net.states()];
        let mut times = times.iter().copied().peekable();
        for (i, m) in self.moves.iter().enumerate() {
            car.ramp(m.at, m.state, m.target, m.over);
            let next = self.moves.get(i + 1).map_or(self.end, |m| m.at);
            while let Some(t) = times.next_if(|&t| t < next || (t == next && next == self.end)) {
                car.cover(t);
                car.at(t, &mut y);
                look(t, &plain(&y));
            }
        }
        car.cover(self.end);
        car
    }

    /// The same movements as stretches between knots.
    pub fn segments(&self) -> Vec<Segment> {
        let mut knots: Vec<u64> = self.moves.iter().flat_map(|m| [m.at, m.at + m.over]).collect();
        knots.extend([0, self.end]);
        knots.sort_unstable();
        knots.dedup();
        let start = self.start();
        let mut levers: Vec<(usize, f64, f64)> =
            self.assembly.net.top.inputs.iter().map(|&state| (state, start[state], 0.0)).collect();
        let mut segments = vec![];
        for pair in knots.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            for lever in &mut levers {
                for m in self.moves.iter().filter(|m| m.state == lever.0) {
                    if m.at + m.over == from {
                        (lever.1, lever.2) = (m.target, 0.0);
                    }
                    if m.at == from {
                        lever.2 = (m.target - lever.1) / (m.over as f64 * 1e-6);
                    }
                }
            }
            segments.push(Segment { from, to, levers: levers.clone() });
            for lever in &mut levers {
                lever.1 += lever.2 * (to - from) as f64 * 1e-6;
            }
        }
        segments
    }

    /// Times to look at: every `fine` µs for the first three minutes, then every five seconds; none
    /// within [`BLIND`] after a knot.
    pub fn times(&self, fine: u64) -> Vec<u64> {
        let early = self.end.min(180 * S);
        let all = (1..=early / fine)
            .map(|i| i * fine)
            .chain((1..).map(|i| early + i * 5 * S).take_while(|&t| t <= self.end));
        let knots: Vec<u64> = self.moves.iter().flat_map(|m| [m.at, m.at + m.over]).collect();
        all.filter(|&t| !knots.iter().any(|&k| (k..k + BLIND).contains(&t))).collect()
    }

    /// Gauge pressures looked at, mbar: pump inlet, tee, and the tank side of the tee's valve.
    pub fn watched(&self, y: &[f64]) -> [f64; 3] {
        let net = &self.assembly.net;
        let y = lanes(y);
        let joint = self.rig.tee.as_ref().and_then(|t| net.top.vessel(&t.joint)).unwrap();
        let inlet = self.assembly.handles.bleed;
        [inlet, self.assembly.handles.tee.unwrap(), joint].map(|v| net.gauge(v, &y).0[0] / 100.0)
    }
}

/// A state as plain numbers.
pub fn plain(y: &[Lanes<1>]) -> Vec<f64> {
    y.iter().map(|v| v.0[0]).collect()
}

/// A state as the network takes it.
pub fn lanes(y: &[f64]) -> Vec<Lanes<1>> {
    y.iter().map(|&v| Lanes([v])).collect()
}

/// A tee at a joint, its valve open.
pub fn rig(joint: &str) -> Rig {
    Rig { tee: Some(TeeFitting { joint: joint.into(), hose_air: 0.0, valve_reach: 1.0 }), container: None }
}

/// Largest difference over all readings.
pub fn apart(a: &[[f64; 3]], b: &[[f64; 3]]) -> f64 {
    assert_eq!(a.len(), b.len());
    a.iter().flatten().zip(b.iter().flatten()).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}
