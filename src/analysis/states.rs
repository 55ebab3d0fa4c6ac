//! The states of a run, found in a recording: rest, crank, idle, raised speed, dead-head, run-down, hold.
//!
//! Three ways, the surest that the recording allows: a column that names them; engine speed (with the
//! pressure for the dead-head); or the pressure's own pattern, which is a guess and says so.

use super::known::{Point, finite};
use super::pattern;
use super::robust::{median, quantile, spread};
use crate::language::said;

/// A state of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Phase {
    /// Engine off, before the first start.
    Rest,
    /// Starter turning.
    Crank,
    /// Running at idle.
    Idle,
    /// Running at raised speed.
    Raised,
    /// Idle with the valve at the tee shut.
    DeadHead,
    /// Speed and pressure falling after the key went off.
    RunDown,
    /// Engine off after a run.
    Hold,
    /// Something else, or nothing that can be named.
    Other,
}

impl Phase {
    /// Every state in the order of the standard run.
    pub const ALL: [Self; 8] =
        [Self::Rest, Self::Crank, Self::Idle, Self::Raised, Self::DeadHead, Self::RunDown, Self::Hold, Self::Other];

    /// The trade's word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Rest => "rest",
            Self::Crank => "crank",
            Self::Idle => "idle",
            Self::Raised => "raised",
            Self::DeadHead => "dead-head",
            Self::RunDown => "run-down",
            Self::Hold => "hold",
            Self::Other => "other",
        }
    }

    /// The state that a word in a file means; capitals, spaces and dashes don't matter.
    pub fn from_word(word: &str) -> Option<Self> {
        let plain: String = word.to_lowercase().chars().filter(char::is_ascii_alphanumeric).collect();
        Some(match plain.as_str() {
            "rest" | "off" | "standing" | "keyoff" | "before" | "keyon" => Self::Rest,
            "crank" | "cranking" | "starter" | "turnover" | "start" => Self::Crank,
            "idle" | "idling" | "tickover" => Self::Idle,
            "raised" | "raisedspeed" | "fastidle" | "speed" | "load" | "fullload" => Self::Raised,
            "deadhead" | "valveshut" | "blockedinlet" | "blockedoutlet" | "shutoff" => Self::DeadHead,
            "rundown" | "stopping" => Self::RunDown,
            "hold" | "decay" | "leakdown" | "stopped" | "after" => Self::Hold,
            _ => return None,
        })
    }
}

/// How the states were found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Found {
    /// A column of the recording names them.
    Named,
    /// From the engine's speed, and the pressure for the dead-head.
    FromSpeed,
    /// From the pattern of the pressure alone: a guess.
    FromPressure,
}

impl Found {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Named => said("analysis-found-named"),
            Self::FromSpeed => said("analysis-found-speed"),
            Self::FromPressure => said("analysis-found-pressure"),
        }
    }
}

/// A stretch of one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Which.
    pub phase: Phase,
    /// Beginning, s.
    pub from: f64,
    /// End, s.
    pub to: f64,
}

impl Stretch {
    /// How long, s.
    pub fn length(&self) -> f64 {
        self.to - self.from
    }
}

/// Below this speed the engine stands, 1/min.
const STANDS_BELOW: f64 = 60.0;
/// Above this speed it runs by itself, 1/min.
const RUNS_FROM: f64 = 430.0;
/// Raised speed is at least so many idle speeds.
const RAISED_FROM: f64 = 1.25;
/// Shortest stretch that counts, s.
const SHORTEST: f64 = 0.4;

/// States by a column of words, one for each time. A word that isn't known makes [`Phase::Other`]; an
/// empty one keeps the state that was.
pub fn named(t: &[f64], words: &[&str]) -> Vec<Stretch> {
    let mut list: Vec<Stretch> = vec![];
    let mut now: Option<Phase> = None;
    for (&at, word) in t.iter().zip(words) {
        let phase = if word.trim().is_empty() { now } else { Some(Phase::from_word(word).unwrap_or(Phase::Other)) };
        now = phase;
        let Some(phase) = phase else { continue };
        match list.last_mut() {
            Some(last) if last.phase == phase => last.to = at,
            Some(last) => {
                last.to = at;
                list.push(Stretch { phase, from: at, to: at });
            }
            None => list.push(Stretch { phase, from: at, to: at }),
        }
    }
    // "off" is the same word before and after a run
    let mut ran = false;
    for s in &mut list {
        ran |= matches!(s.phase, Phase::Idle | Phase::Raised | Phase::DeadHead | Phase::RunDown);
        if s.phase == Phase::Rest && ran {
            s.phase = Phase::Hold;
        }
    }
    list
}

/// States from speed (1/min) and pressure, both over the same times. Empty when the speed says nothing.
pub fn from_speed(t: &[f64], mbar: &[f64], rpm: &[f64]) -> Vec<Stretch> {
    let speed = finite(&t.iter().copied().zip(rpm.iter().copied()).collect::<Vec<Point>>());
    if speed.len() < 10 {
        return vec![];
    }
    let mut running: Vec<f64> = speed.iter().map(|p| p.1).filter(|v| *v >= RUNS_FROM).collect();
    let idle = quantile(&mut running, 0.15).unwrap_or(f64::INFINITY);
    // the least of the usual speeds: short sags under a dead-head don't count
    let class = |v: f64| match v {
        v if v < STANDS_BELOW => 0_u8,
        v if v < RUNS_FROM => 1,
        v if v < RAISED_FROM * idle => 2,
        _ => 3,
    };
    let mut runs: Vec<(u8, f64, f64)> = vec![];
    for (at, v) in &speed {
        match runs.last_mut() {
            Some(last) if last.0 == class(*v) => last.2 = *at,
            Some(last) => {
                last.2 = *at;
                runs.push((class(*v), *at, *at));
            }
            None => runs.push((class(*v), *at, *at)),
        }
    }
    merge_short(&mut runs);
    let mut list = phases(&runs);
    let pressure = finite(&t.iter().copied().zip(mbar.iter().copied()).collect::<Vec<Point>>());
    dead_heads(&mut list, &pressure);
    list
}

/// Runs shorter than [`SHORTEST`] go to the one before.
fn merge_short(runs: &mut Vec<(u8, f64, f64)>) {
    let mut kept: Vec<(u8, f64, f64)> = vec![];
    for run in runs.drain(..) {
        match kept.last_mut() {
            Some(last) if last.0 == run.0 || run.2 - run.1 < SHORTEST => last.2 = run.2,
            _ => kept.push(run),
        }
    }
    *runs = kept;
}

/// Names classes of speed: 0 stands, 1 slow, 2 idle, 3 raised.
fn phases(runs: &[(u8, f64, f64)]) -> Vec<Stretch> {
    let mut list: Vec<Stretch> = vec![];
    let mut ran = false;
    for (k, &(class, from, to)) in runs.iter().enumerate() {
        let next = runs.get(k + 1).map(|r| r.0);
        let phase = match class {
            0 if ran => Phase::Hold,
            0 => Phase::Rest,
            // slow between two runs: the engine sags, it isn't cranked
            1 if ran && next.is_some_and(|n| n >= 2) && list.last().is_some_and(|l| l.phase != Phase::Hold) => {
                Phase::Idle
            }
            1 if ran
                && next != Some(2)
                && next != Some(3)
                && list.last().is_some_and(|l| l.phase != Phase::Hold) =>
            {
                Phase::RunDown
            }
            1 => Phase::Crank,
            2 => Phase::Idle,
            _ => Phase::Raised,
        };
        ran |= class >= 2;
        match list.last_mut() {
            Some(last) if last.phase == phase => last.to = to,
            _ => list.push(Stretch { phase, from, to }),
        }
    }
    list
}

/// Cuts dead-heads out of the idling stretches: the pressure leaves the level of idle by more than any
/// change of speed moves it, for at most a minute.
fn dead_heads(list: &mut Vec<Stretch>, pressure: &[Point]) {
    let level = |from: f64, to: f64| {
        let a = pressure.partition_point(|p| p.0 < from);
        let b = pressure.partition_point(|p| p.0 <= to).max(a);
        let mut v: Vec<f64> = pressure[a..b].iter().map(|p| p.1).collect();
        let middle = median(&mut v)?;
        Some((middle, spread(&v, middle)))
    };
    let idles = list.iter().filter(|s| s.phase == Phase::Idle && s.length() >= 3.0);
    let Some(longest) = idles.max_by(|a, b| a.length().total_cmp(&b.length())) else { return };
    let Some((idle, scatter)) = level(longest.from, longest.to) else { return };
    let raised = list
        .iter()
        .filter(|s| s.phase == Phase::Raised && s.length() >= 3.0)
        .filter_map(|s| level(s.from + 0.4 * s.length(), s.to))
        .map(|l| (l.0 - idle).abs())
        .fold(0.0, f64::max);
    let deep = (0.6 * idle.abs()).max(1.3 * raised).max(8.0 * scatter.min(20.0)).max(100.0);
    let near = (4.0 * scatter.min(20.0)).max(0.06 * deep);
    let mut out = vec![];
    for s in list.drain(..) {
        if s.phase != Phase::Idle {
            out.push(s);
            continue;
        }
        let a = pressure.partition_point(|p| p.0 < s.from);
        let b = pressure.partition_point(|p| p.0 <= s.to).max(a);
        let points = &pressure[a..b];
        // slowing down from raised speed isn't a dead-head: the level of idle must come first
        let mut from = s.from;
        let mut settled = false;
        let mut i = 0;
        while i < points.len() {
            let off = |k: usize| (points[k].1 - idle).abs();
            settled |= off(i) < deep * 0.5;
            if !settled || off(i) < deep {
                i += 1;
                continue;
            }
            let start = (0..i).rev().take_while(|&k| points[k].0 >= from && off(k) > near).last().unwrap_or(i);
            let end = (i..points.len()).find(|&k| off(k) < 0.5 * deep).unwrap_or(points.len() - 1);
            let (x, y) = (points[start].0, points[end].0);
            if y - x >= SHORTEST && y - x <= 60.0 {
                if x - from > SHORTEST {
                    out.push(Stretch { phase: Phase::Idle, from, to: x });
                }
                // its end is where the farthest point is: afterwards the valve opens
                let far = (i..=end).max_by(|&p, &q| off(p).total_cmp(&off(q))).unwrap_or(end);
                let shut = (far..=end).take_while(|&k| off(k) > 0.85 * off(far)).last().unwrap_or(far);
                out.push(Stretch { phase: Phase::DeadHead, from: x, to: points[shut].0 });
                from = y;
            }
            i = end + 1;
        }
        if s.to - from > SHORTEST {
            out.push(Stretch { phase: Phase::Idle, from, to: s.to });
        }
    }
    *list = out;
}

/// States from the pressure alone: change points, then their pattern. Empty when nothing changes.
pub fn from_pressure(t: &[f64], mbar: &[f64]) -> Vec<Stretch> {
    pattern::named(&t.iter().copied().zip(mbar.iter().copied()).collect::<Vec<Point>>())
}

/// States by the surest way that there is.
pub fn states(t: &[f64], mbar: &[f64], rpm: Option<&[f64]>, words: Option<&[&str]>) -> (Vec<Stretch>, Found) {
    if let Some(words) = words {
        let list = named(t, words);
        if list.iter().any(|s| s.phase != Phase::Other) {
            return (list, Found::Named);
        }
    }
    if let Some(rpm) = rpm {
        let list = from_speed(t, mbar, rpm);
        if list.iter().any(|s| matches!(s.phase, Phase::Idle | Phase::Crank)) {
            return (list, Found::FromSpeed);
        }
    }
    (from_pressure(t, mbar), Found::FromPressure)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ops;
    use crate::random::{Purpose, normal};

    /// A whole run at 20 Hz: (time, pressure, speed).
    pub fn run(seed: u64) -> (Vec<f64>, Vec<f64>, Vec<f64>) {
        let (mut t, mut p, mut n) = (vec![], vec![], vec![]);
        let mut at = -12.0;
        for i in 0..4400_u64 {
            let x = 0.05 * i as f64;
            let (goal, speed, lag): (f64, f64, f64) = match x {
                x if x < 15.0 => (-12.0, 0.0, 0.2),
                x if x < 17.0 => (-45.0, 210.0, 0.2),
                x if x < 80.0 => (-90.0, 780.0, 0.3),
                x if x < 110.0 => (-230.0, 2500.0, 0.4),
                x if x < 125.0 => (-90.0, 780.0, 0.3),
                x if x < 130.0 => (-720.0, 700.0, 1.2),
                x if x < 145.0 => (-90.0, 780.0, 0.1),
                x if x < 146.2 => (-60.0, 300.0, 0.3),
                _ => (-38.0, 0.0, 0.3),
            };
            at += (goal - at) * (1.0 - ops::exp(-0.05 / lag));
            let ripple = if speed > 100.0 { 2.0 * ops::sin(19.0 * x) } else { 0.0 };
            t.push(x);
            p.push(at + ripple + 0.6 * normal(seed, Purpose::PressureNoise, i));
            n.push(speed + 8.0 * normal(seed, Purpose::Instrument, i) * f64::from(u8::from(speed > 0.0)));
        }
        (t, p, n)
    }

    #[track_caller]
    fn near(list: &[Stretch], expected: &[(Phase, f64)], within: f64) {
        assert_eq!(
            list.iter().map(|s| s.phase).collect::<Vec<_>>(),
            expected.iter().map(|e| e.0).collect::<Vec<_>>(),
            "{list:#?}"
        );
        for (s, (_, from)) in list.iter().zip(expected) {
            assert!((s.from - from).abs() <= within, "{list:#?}");
        }
    }

    const RUN: [(Phase, f64); 9] = [
        (Phase::Rest, 0.0),
        (Phase::Crank, 15.0),
        (Phase::Idle, 17.0),
        (Phase::Raised, 80.0),
        (Phase::Idle, 110.0),
        (Phase::DeadHead, 125.0),
        (Phase::Idle, 130.0),
        (Phase::RunDown, 145.0),
        (Phase::Hold, 146.2),
    ];

    #[test]
    fn a_run_with_speed_falls_into_its_states() {
        for seed in 0..10 {
            let (t, p, n) = run(seed);
            near(&from_speed(&t, &p, &n), &RUN, 0.6);
        }
    }

    #[test]
    fn a_run_without_speed_is_guessed() {
        for seed in 0..10 {
            let (t, p, _) = run(seed);
            let list = from_pressure(&t, &p);
            // crank and run-down take a second or two; the rest must be there in order
            let long: Vec<Stretch> =
                list.into_iter().filter(|s| !matches!(s.phase, Phase::Crank | Phase::RunDown)).collect();
            let expected: Vec<(Phase, f64)> =
                RUN.iter().copied().filter(|e| !matches!(e.0, Phase::Crank | Phase::RunDown)).collect();
            near(&long, &expected, 2.0);
        }
    }

    #[test]
    fn a_column_of_words_is_taken_at_its_word() {
        let t: Vec<f64> = (0..8).map(f64::from).collect();
        let words = ["Off", "", "Tick-over", "tick over", "VALVE SHUT", "warp", "off", ""];
        let list = named(&t, &words);
        let found: Vec<Phase> = list.iter().map(|s| s.phase).collect();
        assert_eq!(found, [Phase::Rest, Phase::Idle, Phase::DeadHead, Phase::Other, Phase::Hold]);
        assert_eq!((list[1].from, list[1].to, list[4].to), (2.0, 4.0, 7.0));
    }

    #[test]
    fn nothing_has_no_states() {
        assert!(states(&[], &[], None, None).0.is_empty());
        assert!(states(&[0.0], &[f64::NAN], Some(&[f64::NAN]), None).0.is_empty());
        let t: Vec<f64> = (0..500).map(f64::from).collect();
        let nan = vec![f64::NAN; 500];
        assert!(states(&t, &nan, Some(&nan), None).0.is_empty());
    }
}
