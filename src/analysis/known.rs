//! A value with its uncertainty, or the reason why there is none.

use crate::language::said;
use crate::tell;
/// A point: time in s, value in the unit of its channel. A value that is no number is a gap.
pub type Point = (f64, f64);

/// What was found out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The value, in the unit that the function names.
    pub value: f64,
    /// Its standard uncertainty (one standard deviation), same unit.
    pub error: f64,
    /// Samples that it rests on.
    pub samples: usize,
}

/// Why something can't be known from these samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unknown {
    /// The recording has no such channel.
    NotRecorded,
    /// The recording has no such state.
    NoSuchState,
    /// Too few samples, all gaps included.
    FewSamples {
        /// How many there are.
        have: usize,
        /// How many it takes.
        need: usize,
    },
    /// Too short a stretch, s.
    Short {
        /// How long it is.
        have_s: f64,
        /// How long it must be.
        need_s: f64,
    },
    /// Sampled too slowly, s between samples.
    Coarse {
        /// Time between samples.
        have_s: f64,
        /// Longest that would do.
        need_s: f64,
    },
    /// What there is can't be told from the scatter.
    Scatter,
    /// Nothing jumps.
    NoStep,
    /// The level asked for isn't reached.
    NotReached,
    /// Nothing decays, so it has no time constant.
    NoDecay,
    /// It hasn't come to an end within the stretch, so its end can't be told.
    NotSettled,
    /// Neighbouring samples were left out in a long recording.
    Thinned,
}

impl std::fmt::Display for Unknown {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotRecorded => f.write_str(said("analysis-not-recorded")),
            Self::NoSuchState => f.write_str(said("analysis-no-such-state")),
            Self::FewSamples { have, need } => {
                write!(f, "{}", tell!("analysis-few-samples", have = have, need = need))
            }
            Self::Short { have_s, need_s } => write!(
                f,
                "{}",
                tell!("analysis-short", have_s = format!("{have_s:.1}"), need_s = format!("{need_s:.1}"))
            ),
            Self::Coarse { have_s, need_s } => {
                write!(
                    f,
                    "{}",
                    tell!("analysis-coarse", have_s = format!("{have_s:.3}"), need_s = format!("{need_s:.3}"))
                )
            }
            Self::Scatter => f.write_str(said("analysis-scatter")),
            Self::NoStep => f.write_str(said("analysis-no-step")),
            Self::NotReached => f.write_str(said("analysis-not-reached")),
            Self::NoDecay => f.write_str(said("analysis-no-decay")),
            Self::NotSettled => f.write_str(said("analysis-not-settled")),
            Self::Thinned => f.write_str(said("analysis-thinned")),
        }
    }
}

/// An estimate, or why there is none.
pub type Known = Result<Estimate, Unknown>;

/// The points that are numbers.
pub fn finite(points: &[Point]) -> Vec<Point> {
    points.iter().copied().filter(|(t, v)| t.is_finite() && v.is_finite()).collect()
}

/// At least `need` points that are numbers.
pub(super) fn at_least(points: &[Point], need: usize) -> Result<Vec<Point>, Unknown> {
    let kept = finite(points);
    if kept.len() < need { Err(Unknown::FewSamples { have: kept.len(), need }) } else { Ok(kept) }
}

/// Points of a channel between two times, both included. `t` must not fall.
pub fn between(t: &[f64], values: &[f64], from: f64, to: f64) -> Vec<Point> {
    let a = t.partition_point(|&x| x < from);
    let b = t.partition_point(|&x| x <= to).max(a);
    t[a..b].iter().copied().zip(values[a..b].iter().copied()).collect()
}

/// From the first to the last point, s.
pub(super) fn span(points: &[Point]) -> f64 {
    points.last().map_or(0.0, |l| l.0) - points.first().map_or(0.0, |f| f.0)
}

/// Median time between neighbouring points, s; infinite for fewer than two.
pub(super) fn interval(points: &[Point]) -> f64 {
    let mut gaps: Vec<f64> = points.windows(2).map(|w| w[1].0 - w[0].0).collect();
    super::robust::median(&mut gaps).unwrap_or(f64::INFINITY)
}
