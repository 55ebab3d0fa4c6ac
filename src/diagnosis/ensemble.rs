//! The learner's own actions on many vehicles.
//!
//! Each reference vehicle goes through the same actions at the same times. From each comes a row of
//! features: one level (and, for long windows, one slope) for every recorded reading, one word for
//! every note. Tests that weren't recorded have no feature.

use crate::analysis::window::window;
use crate::bay::action::{Action, Micros, Perceived, SECOND};
use crate::bay::{Bay, EvidenceKind};
use crate::scenario::model::Job;

use super::hypothesis::Draw;

/// An action and when it was done.
pub type Script = [(Micros, Action)];

/// Lets long work be watched and stopped.
pub trait Watch: Sync {
    /// So much of it is done, 0 … 1.
    fn progress(&self, done: f64);
    /// Nobody wants the answer any more.
    fn cancelled(&self) -> bool {
        false
    }
}

/// Watches nothing.
pub struct Unwatched;

impl Watch for Unwatched {
    fn progress(&self, _: f64) {}
}

/// Windows at least this long also give a slope.
const SLOPE_FROM: Micros = 3 * SECOND;
/// How far a level may lie from the described plant's for reasons that aren't modelled (what priming
/// left in the line, the exact height of the tapping), mbar. Engineering estimate; it keeps a
/// difference within the error that a written reading is allowed from settling anything.
const MODEL_MBAR: f64 = 8.0;
/// Looks at the gauge in each window.
const PROBES: u64 = 12;

/// What one piece of evidence shows in a vehicle.
#[derive(Clone, Debug, PartialEq)]
pub enum Feature {
    /// A number with its measuring uncertainty.
    Number {
        /// Value: mbar or mbar/s.
        value: f64,
        /// Standard deviation of the random part.
        random: f64,
        /// Step of the display; 0 where it averages out.
        resolution: f64,
    },
    /// A word out of a vocabulary.
    Word {
        /// Which.
        index: usize,
        /// How many there are.
        of: usize,
    },
}

/// Features of one vehicle: for each line of the sheet, its features.
pub type Row = Vec<Vec<Feature>>;

/// Times at which the gauge must be looked at for the evidence of a bay.
pub fn probes(bay: &Bay) -> Vec<Micros> {
    let mut times = vec![];
    for evidence in bay.evidence() {
        if let EvidenceKind::Level { window: (from, to), .. } = evidence.kind {
            times.extend((0..=PROBES).map(|i| from + (to - from) * i / PROBES));
        }
    }
    times.sort_unstable();
    times.dedup();
    times
}

/// Features of what a bay recorded, by line.
pub fn features(bay: &Bay) -> Option<Row> {
    bay.evidence()
        .iter()
        .map(|e| match &e.kind {
            EvidenceKind::Level { window: (from, to), .. } => {
                let w = window(bay.trace(), &bay.trace().mbar, *from, *to)?;
                let mut list = vec![Feature::Number {
                    value: w.level,
                    random: (w.level_error * w.level_error + MODEL_MBAR * MODEL_MBAR).sqrt(),
                    resolution: crate::instrument::transducer::STEP_MBAR,
                }];
                if to - from >= SLOPE_FROM {
                    let span = (to - from) as f64 * 1e-6;
                    let least = MODEL_MBAR / span;
                    let random = if w.slope_error.is_finite() { w.slope_error.max(least) } else { 10.0 * least };
                    list.push(Feature::Number { value: w.slope, random, resolution: 0.0 });
                }
                Some(list)
            }
            EvidenceKind::Word { what, was, .. } => {
                let words = Bay::words_for(*what);
                let index = words.iter().position(|w| w == was)?;
                Some(vec![Feature::Word { index, of: words.len() }])
            }
        })
        .collect()
}

/// Runs one reference vehicle through a script. `None` when it can't give every feature.
fn run_one(job: &Job, draw: &Draw, script: &Script, probes: &[Micros]) -> Option<Row> {
    let mut bay = Bay::hypothetical(job, draw.seed, &draw.faults, probes.to_vec()).ok()?;
    for (at, action) in script {
        bay.advance_to(*at);
        bay.act(action);
        if let Action::Note { what, .. } = action {
            // a note that had nothing to look at on this vehicle still takes its line
            bay.fill_missing_note(*what);
        }
    }
    features(&bay)
}

/// Runs all vehicles, on all cores where the feature `parallel` is on; the order of the result is
/// that of the draws whatever the number of threads.
///
/// # Errors
/// `None` when cancelled.
pub fn run(
    job: &Job,
    draws: &[Draw],
    script: &Script,
    probes: &[Micros],
    watch: &dyn Watch,
) -> Option<Vec<Option<Row>>> {
    let done = std::sync::atomic::AtomicUsize::new(0);
    let one = |draw: &Draw| {
        if watch.cancelled() {
            return None;
        }
        let row = run_one(job, draw, script, probes);
        let so_far = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1;
        if so_far.is_multiple_of(16) {
            watch.progress(so_far as f64 / draws.len() as f64);
        }
        row
    };
    #[cfg(feature = "parallel")]
    let rows: Vec<Option<Row>> = {
        use rayon::prelude::*;
        draws.par_iter().map(one).collect()
    };
    #[cfg(not(feature = "parallel"))]
    let rows: Vec<Option<Row>> = draws.iter().map(one).collect();
    (!watch.cancelled()).then_some(rows)
}

/// The actions up to and including the last recorded line that counts, and no further.
pub fn relevant(script: &Script, until: Micros) -> Vec<(Micros, Action)> {
    let last = script
        .iter()
        .rposition(|(at, action)| *at <= until && matches!(action, Action::Record { .. } | Action::Note { .. }));
    script[..last.map_or(0, |i| i + 1)].to_vec()
}

/// Name of a perceived thing for sentences.
pub const fn perceived_word(what: Perceived) -> &'static str {
    match what {
        Perceived::Glass => "look at the glass",
        Perceived::Primer => "feel of the primer",
        Perceived::Cap => "filler cap",
        Perceived::Engine => "running of the engine",
    }
}
