//! Was the tee where it is said to have been? Whoever writes down the wrong joint gets a fault that isn't there.
//!
//! Only where what comes nearest at the joint that was named lies further off than doubts usually do: what fits well can't be
//! explained far better anywhere else. The other joints are tried with every cause at a few severities, which rather
//! underrates them.

use super::{Bench, Column, Curve, Recorded, Watch, bench, coarse};
use crate::ops;
use crate::scenario::model::Job;

/// Squares of the doubts beyond their number by so many of their standard deviations, the fit is poor.
const POOR: f64 = 1.0;
/// A joint that makes the recording so many times likelier was the one, rather than that which was named.
const FAR: f64 = 1000.0;

/// How near the best cause comes at a joint.
pub(super) struct Nearness {
    /// Squares of the doubts beyond their number, in their standard deviations.
    pub(super) beyond: f64,
    /// How likely it makes the recording, natural logarithm.
    pub(super) whole: f64,
}

impl Nearness {
    pub(super) fn is_poor(&self) -> bool {
        self.beyond > POOR
    }
}

/// Another joint than the named one, with what would show the recording there.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Elsewhere {
    /// Name of the joint.
    pub joint: String,
    /// Its cause in words.
    pub label: String,
    /// So many times likelier it makes the recording.
    pub times: f64,
}

/// The joint that explains a recording best, if it does so far better than the named one; and the vehicles that it took.
pub(super) fn better_elsewhere(
    job: &Job,
    named: &str,
    recorded: &Recorded<'_>,
    observed: &[(Column, f64, f64)],
    there: &Nearness,
    watch: &dyn Watch,
) -> Result<(Option<Elsewhere>, usize), String> {
    let mut best: Option<(f64, Elsewhere)> = None;
    let mut vehicles = 0;
    for (joint, _) in job.joints.iter().filter(|(name, _)| name != named) {
        let bench = bench(job, joint, recorded, observed, watch)?;
        // where no vehicle goes through the states, the recording wasn't made
        let Ok((curves, tried)) = coarse(&bench) else {
            if watch.cancelled() {
                return Err(crate::language::said("diagnosis-cancelled").into());
            }
            continue;
        };
        vehicles += tried;
        let Some((whole, curve)) = likeliest(&bench, &curves) else { continue };
        let times = ops::exp((whole - there.whole).min(700.0));
        if times >= FAR && best.as_ref().is_none_or(|b| whole > b.0) {
            best = Some((whole, Elsewhere { joint: joint.clone(), label: curve.label.clone(), times }));
        }
    }
    Ok((best.map(|b| b.1), vehicles))
}

/// The cause that makes the recording likeliest, over its severities.
fn likeliest<'c>(bench: &Bench<'_>, curves: &'c [Curve]) -> Option<(f64, &'c Curve)> {
    let scored = curves.iter().map(|curve| (bench.score(curve).whole, curve));
    scored.filter(|(whole, _)| whole.is_finite()).max_by(|a, b| a.0.total_cmp(&b.0))
}
