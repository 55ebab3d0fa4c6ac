//! Does a line of the sheet say what was to be seen where it was read?
//!
//! Belief follows what the instruments showed, whatever was written. Written evidence is another matter: a line that
//! says something else than what was there bears nothing, and a reading under the name of a state in which the engine
//! wasn't is no reading of that state.

use super::readings::{ReadingScore, allowed_number, allowed_pa, score_number, score_reading};
use crate::analysis::window::window;
use crate::bay::action::{Micros, Perceived, State};
use crate::bay::{Bay, Evidence, EvidenceKind};
use crate::instrument::transducer::STEP_MBAR;
use crate::scenario::model::Job;
use crate::units::{AbsolutePressure, PA_PER_MBAR};

/// At or below this speed an engine stands, 1/min; a starter turns it twice as fast at least.
const STANDS: f64 = 50.0;
/// Share of idle speed from which an engine runs.
const RUNS: f64 = 0.5;
/// How far the test speed must lie above idle for the two to be told apart.
const APART: f64 = 1.5;

/// What is wrong with a line.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Slip {
    /// The number isn't what was shown, or its unit isn't.
    Number,
    /// Another word than what was to be perceived.
    Word {
        /// What was written.
        written: String,
        /// What it was.
        was: &'static str,
    },
    /// The engine wasn't in the state that the line names.
    State {
        /// The state that was written.
        state: State,
        /// The engine's speed there, 1/min.
        rpm: f64,
    },
}

/// A level against what the gauge showed.
pub(super) struct Level {
    /// What was shown, mbar gauge.
    pub(super) shown_mbar: f64,
    /// How it was written down.
    pub(super) score: ReadingScore,
}

/// A written level against the trace; `None` without a sample, or where the evidence is no level.
pub(super) fn level(job: &Job, bay: &Bay, evidence: &Evidence) -> Option<Level> {
    let EvidenceKind::Level { window: span, written, .. } = &evidence.kind else { return None };
    let w = window(bay.trace(), &bay.trace().mbar, span.0, span.1)?;
    let spread = (w.highest - w.lowest) / 2.0;
    let allowed = allowed_pa(
        job.rubric.reading_tolerance_mbar.max(spread) * PA_PER_MBAR,
        (w.level_error + STEP_MBAR) * PA_PER_MBAR,
    );
    let ambient = AbsolutePressure::at_altitude(job.plant.altitude).si();
    Some(Level {
        shown_mbar: w.level,
        score: score_reading(Some(*written), w.level * PA_PER_MBAR, allowed, ambient),
    })
}

/// What is wrong with a line, if anything that makes it another line than it says.
pub(super) fn slip(job: &Job, bay: &Bay, evidence: &Evidence) -> Option<Slip> {
    match &evidence.kind {
        EvidenceKind::Level { state, window: span, .. } => {
            let speeds = bay.card_speeds();
            if let Some(rpm) = other_state(*state, speed(bay, *span), speeds) {
                return Some(Slip::State { state: *state, rpm });
            }
            let nothing = level(job, bay, evidence).is_some_and(|l| l.score.share <= 0.0);
            nothing.then_some(Slip::Number)
        }
        EvidenceKind::Number { probe, shown, written, .. } => {
            let quantity = probe.quantity();
            let (_, share) = score_number(*written, quantity, *shown, allowed_number(quantity, *shown));
            (share <= 0.0).then_some(Slip::Number)
        }
        EvidenceKind::Word { what, was, written } => {
            let other = !same_look(*what, was, written);
            other.then(|| Slip::Word { written: written.clone(), was })
        }
    }
}

/// Two people may put the border between two looks of a glass elsewhere, or hear an engine a moment later; what a hand
/// or a nose tells has no such border.
fn same_look(what: Perceived, was: &str, written: &str) -> bool {
    if was == written {
        return true;
    }
    let words = Bay::words_for(what);
    let place = |word: &str| words.iter().position(|w| *w == word);
    let (Some(a), Some(b)) = (place(was), place(written)) else { return false };
    matches!(what, Perceived::Glass | Perceived::Engine) && a.abs_diff(b) <= 1
}

/// Slowest and fastest that the engine turned in a window, 1/min.
fn speed(bay: &Bay, (from, to): (Micros, Micros)) -> Option<(f64, f64)> {
    let trace = bay.trace();
    let rpm = trace.rpm[trace.range(from, to)].iter().copied();
    rpm.fold(None, |range, rpm| match range {
        None => Some((rpm, rpm)),
        Some((low, high)) => Some((f64::min(low, rpm), f64::max(high, rpm))),
    })
}

/// The engine's speed where the state that was named can't have been: it stood, it turned, or it turned at the other of
/// the card's two speeds all the time. `None` where the state may have been; what the valve did isn't asked.
fn other_state(state: State, speed: Option<(f64, f64)>, (idle, raised): (f64, f64)) -> Option<f64> {
    let (low, high) = speed?;
    let (middle, apart) = ((idle + raised) / 2.0, raised > APART * idle);
    match state {
        State::Rest | State::Prime | State::Hold => (low > STANDS).then_some(low),
        State::Crank => (high <= STANDS).then_some(high),
        State::Idle | State::DeadHead if apart && low > middle => Some(low),
        State::Raised if apart && high < middle => Some(high),
        State::Idle | State::DeadHead | State::Raised | State::Load => (high < RUNS * idle).then_some(high),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_state_is_another_only_where_it_cannot_have_been() {
        let of = |state, low, high| other_state(state, Some((low, high)), (800.0, 2500.0));
        assert_eq!(of(State::Idle, 2480.0, 2510.0), Some(2480.0), "raised, written as idle");
        assert_eq!(of(State::Idle, 0.0, 0.0), Some(0.0), "it stood");
        assert_eq!(of(State::Idle, 780.0, 2500.0), None, "on the way");
        assert_eq!(of(State::Raised, 790.0, 810.0), Some(810.0));
        assert_eq!(of(State::Raised, 2100.0, 2500.0), None);
        assert_eq!(of(State::Load, 1400.0, 1600.0), None, "pulled down by the load");
        assert_eq!(of(State::Rest, 780.0, 800.0), Some(780.0));
        assert_eq!(of(State::Hold, 0.0, 300.0), None, "it runs down");
        assert_eq!(of(State::Crank, 0.0, 0.0), Some(0.0));
        assert_eq!(of(State::Crank, 150.0, 900.0), None, "it fired");
        // a machine that has one speed
        assert_eq!(other_state(State::Raised, Some((1500.0, 1500.0)), (1500.0, 1500.0)), None);
        assert_eq!(other_state(State::Idle, None, (800.0, 2500.0)), None);
    }

    #[test]
    fn eyes_may_differ_by_a_border_and_hands_may_not() {
        assert!(same_look(Perceived::Glass, "bubbles", "mist"));
        assert!(!same_look(Perceived::Glass, "foam", "clear"));
        assert!(!same_look(Perceived::Primer, "firm", "soft"));
        assert!(!same_look(Perceived::Cap, "silent", "hiss"));
        assert!(same_look(Perceived::Sample, "clear", "clear"));
    }
}
