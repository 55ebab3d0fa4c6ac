//! The total, and how it came out.
//!
//! `total = Σ w·share / Σ w · 100`, less hints taken while practising, at most 39 after a critical
//! breach. Reached ⇔ total ≥ cut and J ≥ 0.60 and p_d ≥ 0.50 and match ≥ 0.5 and every floor of the
//! author and no critical breach. A gate within two standard errors is never decided by the
//! program: a person must look.

use super::components::JUSTIFIED_PASS;
use super::model::{Component, ComponentMark, Outcome};
use super::sentence::in_100;
use crate::language::said;
use crate::tell;

/// Highest total after a critical breach, points.
pub const CRITICAL_CAP: f64 = 39.0;
/// Belief in the finding that a pass needs.
pub const BELIEF_PASS: f64 = 0.50;
/// Share of the match that a pass needs.
pub const MATCH_PASS: f64 = 0.5;
/// Below this belief in the true cause the model itself is in doubt.
const MODEL_DOUBT: f64 = 0.05;

/// A total and what was taken from it, in points of 100.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Total {
    /// What the components earn together.
    pub earned: f64,
    /// Taken for hints.
    pub hints: f64,
    /// Taken by the cap after a critical breach.
    pub capped: f64,
    /// What remains, 0 … 100.
    pub total: f64,
}

/// `Σ w·share / Σ w · 100` over (share, weight), points of 100; 0 when no weight is positive.
pub fn weighted(parts: &[(f64, f64)]) -> f64 {
    let whole: f64 = parts.iter().map(|(_, w)| w).sum();
    if whole > 0.0 { 100.0 * (parts.iter().map(|(s, w)| s * w).sum::<f64>() / whole) } else { 0.0 }
}

/// Points of 100 that a component can earn: its weight over the sum of weights.
pub fn full_points(marks: &[ComponentMark], component: Component) -> f64 {
    let own: f64 = marks.iter().filter(|m| m.component == component).map(|m| m.weight).sum();
    let whole: f64 = marks.iter().map(|m| m.weight).sum();
    if whole > 0.0 { 100.0 * own / whole } else { 0.0 }
}

/// Points that one hint of level 1, 2 or 3 costs while practising.
pub fn hint_points(level: u8) -> f64 {
    match level {
        0 => 0.0,
        1 => 1.0,
        2 => 2.0,
        _ => 4.0,
    }
}

/// The total of the components in whatever order they come.
pub fn total(marks: &[ComponentMark], hints: &[u8], critical: bool) -> Total {
    let points = hints.iter().map(|&level| hint_points(level)).sum();
    total_with(marks, points, critical.then_some(CRITICAL_CAP))
}

/// The total less `hint_points`, at most `cap` where there is one.
pub fn total_with(marks: &[ComponentMark], hint_points: f64, cap: Option<f64>) -> Total {
    let mut sorted: Vec<&ComponentMark> = marks.iter().collect();
    sorted.sort_by_key(|m| m.component);
    let earned = weighted(&sorted.iter().map(|m| (m.share, m.weight)).collect::<Vec<_>>());
    let hints = hint_points.min(earned);
    let left = earned - hints;
    let total = cap.map_or(left, |cap| left.min(cap));
    Total { earned, hints, capped: left - total, total }
}

/// A number held against a gate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gated {
    /// The number.
    pub value: f64,
    /// Its standard error from the reference vehicles, 0 when exact.
    pub error: f64,
}

impl Gated {
    /// Whether it reaches the gate. Rounding noise of the sum doesn't fail anyone.
    fn reaches(self, gate: f64) -> bool {
        self.value >= gate - 1e-9
    }

    fn touches(self, gate: f64) -> bool {
        self.error > 0.0 && (self.value - gate).abs() <= 2.0 * self.error
    }
}

/// Everything that decides how an attempt came out.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// Total, points of 100.
    pub total: Gated,
    /// Points that a pass needs.
    pub cut: f64,
    /// J.
    pub justified: Gated,
    /// Belief p_d that the evidence bears in the finding; 0 without finding.
    pub belief: Gated,
    /// Share of the match with the truth, 0 … 1; 0 without finding.
    pub matched: f64,
    /// Whether a critical rule was broken.
    pub critical: bool,
    /// Author's floors: component, share earned, share needed.
    pub floors: Vec<(Component, f64, f64)>,
    /// Belief that the evidence bears in the true cause.
    pub truth_belief: f64,
    /// Whether there are readings and all of them were written down right.
    pub readings_right: bool,
    /// Whether "none of these" is the likeliest of all.
    pub none_leads: bool,
}

/// How it came out, and why: a sentence for each gate missed, each gate too close to call and each
/// doubt about the model. A critical breach decides alone, whatever else is in doubt; so does a gate that is missed beyond
/// any doubt where the only doubt is how close another is: a person who looked could change nothing.
pub fn outcome(standing: &Standing) -> (Outcome, Vec<String>) {
    let missed = missed_gates(standing);
    let is_certain = missed.iter().any(|(is_certain, _)| *is_certain);
    let missed: Vec<String> = missed.into_iter().map(|(_, words)| words).collect();
    if standing.critical {
        return (Outcome::NotReached, missed);
    }
    let (close, doubts) = (close_gates(standing), doubts(standing));
    if !doubts.is_empty() || !close.is_empty() && !is_certain {
        return (Outcome::Review, close.into_iter().chain(doubts).chain(missed).collect());
    }
    if missed.is_empty() {
        return (Outcome::Reached, vec![said("marking-every-gate").to_owned()]);
    }
    (Outcome::NotReached, missed)
}

/// What was missed, each with whether it was for certain: by more than its value is uncertain by.
fn missed_gates(s: &Standing) -> Vec<(bool, String)> {
    let mut missed = Vec::new();
    if s.critical {
        missed.push((true, said("marking-critical-broken").to_owned()));
    }
    if !s.total.reaches(s.cut) {
        let words =
            tell!("marking-below-cut", total = format!("{:.2}", s.total.value), cut = format!("{:.2}", s.cut));
        missed.push((!s.total.touches(s.cut), words));
    }
    if !s.justified.reaches(JUSTIFIED_PASS) {
        let words = tell!(
            "marking-justified-short",
            earned = format!("{:.0}", 100.0 * s.justified.value),
            needed = format!("{:.0}", 100.0 * JUSTIFIED_PASS)
        );
        missed.push((!s.justified.touches(JUSTIFIED_PASS), words));
    }
    if !s.belief.reaches(BELIEF_PASS) {
        let words = tell!("marking-belief-short", belief = in_100(s.belief.value), needed = in_100(BELIEF_PASS));
        missed.push((!s.belief.touches(BELIEF_PASS), words));
    }
    if s.matched < MATCH_PASS {
        missed.push((true, said("marking-finding-wrong").to_owned()));
    }
    for (component, share, floor) in &s.floors {
        if share < floor {
            let words = tell!(
                "marking-floor-short",
                component = component.title(),
                earned = format!("{:.0}", 100.0 * share),
                needed = format!("{:.0}", 100.0 * floor)
            );
            missed.push((true, words));
        }
    }
    missed
}

fn close_gates(s: &Standing) -> Vec<String> {
    let gates = [
        (s.total, s.cut, said("marking-gate-total")),
        (s.justified, JUSTIFIED_PASS, said("marking-gate-justified")),
        (s.belief, BELIEF_PASS, said("marking-gate-belief")),
    ];
    let close = gates.into_iter().filter(|(value, gate, _)| value.touches(*gate));
    close.map(|(_, _, name)| tell!("marking-too-close", name = name)).collect()
}

/// What makes it doubtful that the model judges this attempt well.
fn doubts(s: &Standing) -> Vec<String> {
    let mut doubts = Vec::new();
    if s.belief.reaches(BELIEF_PASS) && s.matched < MATCH_PASS {
        doubts.push(said("marking-misled").to_owned());
    }
    if s.truth_belief < MODEL_DOUBT && s.readings_right {
        doubts.push(said("marking-model-doubt").to_owned());
    }
    if s.none_leads {
        doubts.push(said("marking-none-explains").to_owned());
    }
    doubts
}

#[cfg(test)]
mod tests;
