//! What was done to the learner's vehicle, done to many vehicles.
//!
//! Each reference vehicle goes through the same ops at the same times, several of them together. From
//! each comes a row of features: one level (and, for long windows, one slope) for every recorded
//! reading, one word for every note. Tests that weren't recorded have no feature.

use std::ops::Range;

use crate::analysis::window::window;
use crate::bay::action::{Micros, Perceived, Quantity, SECOND};
use crate::bay::drive::op::{Op, Timed};
use crate::bay::drive::{Drive, Fidelity};
use crate::bay::{Bay, Evidence, EvidenceKind};
use crate::instrument::display::Doubt;
use crate::language::said;
use crate::scenario::model::Job;
use crate::trace::Trace;

use super::hypothesis::Draw;

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

/// What a line of the sheet asks of a vehicle.
#[derive(Clone, Debug)]
enum Asked {
    /// A level over a window.
    Level(Micros, Micros),
    /// The next word of this kind.
    Word(Perceived),
    /// The number of this place that tests showed.
    Number(Quantity, usize),
}

/// What was done in a sitting and what its lines ask: all that it takes to put another vehicle through
/// the same.
#[derive(Clone, Debug)]
pub struct Course {
    ops: Vec<Timed>,
    asked: Vec<Asked>,
    probes: Vec<Micros>,
    ends: Micros,
}

impl Course {
    /// The course of a sitting as far as its lines written up to `until` need it.
    pub fn of(bay: &Bay, until: Micros) -> Self {
        let (mut asked, mut probes, mut ends) = (vec![], vec![], 0);
        for evidence in bay.evidence().iter().filter(|e| e.at <= until) {
            ends = ends.max(evidence.at);
            asked.push(match evidence.kind {
                EvidenceKind::Level { window: (from, to), .. } => {
                    probes.extend((0..=PROBES).map(|i| from + (to - from) * i / PROBES));
                    // a corrected line may mean a later window than the one it was written from
                    ends = ends.max(to);
                    Asked::Level(from, to)
                }
                EvidenceKind::Word { what, .. } => Asked::Word(what),
                EvidenceKind::Number { ref probe, index, .. } => Asked::Number(probe.quantity(), index),
            });
        }
        probes.sort_unstable();
        probes.dedup();
        let ops = bay.ops();
        Self { ops: ops[..ops.partition_point(|o| o.at <= ends)].to_vec(), asked, probes, ends }
    }

    /// The same without some of what the hands did.
    pub(crate) fn without(&self, leaves_out: impl Fn(&Op) -> bool) -> Self {
        let ops = self.ops.iter().filter(|timed| !leaves_out(&timed.op)).cloned().collect();
        Self { ops, ..self.clone() }
    }

    /// How many lines it asks for.
    pub fn lines(&self) -> usize {
        self.asked.len()
    }

    /// Everything that decides what a vehicle shows on it, as text for a hash.
    pub fn fingerprint(&self) -> String {
        format!("{self:?}")
    }
}

/// Features of a window of a trace.
fn level(trace: &Trace, from: Micros, to: Micros) -> Option<Vec<Feature>> {
    let w = window(trace, &trace.mbar, from, to)?;
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

/// How far a number may lie from the described plant's for reasons that aren't modelled: where leads are held,
/// when a jar is taken away, what else hangs on the circuit. In the quantity's own unit; engineering estimate.
fn doubt(quantity: Quantity) -> f64 {
    match quantity {
        Quantity::Pressure => MODEL_MBAR,
        Quantity::Voltage => 0.03,
        Quantity::Current => 0.15,
        Quantity::Volume => 10.0,
        Quantity::Temperature => 1.0,
        Quantity::Level => 5.0,
        Quantity::Speed => 10.0,
        Quantity::Duty => 2.0,
    }
}

/// The feature of a number that a test showed: as good as its instrument says, to what isn't modelled around it, and
/// to one hundredth of itself.
fn number(quantity: Quantity, shown: f64, meter: Doubt) -> Vec<Feature> {
    let random = [meter.combined(), doubt(quantity), 0.01 * shown].iter().map(|d| d * d).sum::<f64>().sqrt();
    vec![Feature::Number { value: shown, random, resolution: meter.step }]
}

/// The feature of a word.
fn word(what: Perceived, was: &str) -> Option<Vec<Feature>> {
    let words = Bay::words_for(what);
    let index = words.iter().position(|w| *w == was)?;
    Some(vec![Feature::Word { index, of: words.len() }])
}

/// Features of what a bay recorded, by line.
pub fn features(bay: &Bay) -> Option<Row> {
    let of = |e: &Evidence| match e.kind {
        EvidenceKind::Level { window: (from, to), .. } => level(bay.trace(), from, to),
        EvidenceKind::Word { what, was, .. } => word(what, was),
        EvidenceKind::Number { ref probe, shown, doubt, .. } => Some(number(probe.quantity(), shown, doubt)),
    };
    bay.evidence().iter().map(of).collect()
}

/// Features of one vehicle of a drive that went through a course. `None` when it can't give every one.
fn row<const L: usize>(drive: &Drive<L>, lane: usize, course: &Course) -> Option<Row> {
    let trace = Trace { at: drive.looked().to_vec(), mbar: drive.levels(lane).to_vec(), ..Trace::default() };
    let mut words = drive.words(lane).iter();
    course
        .asked
        .iter()
        .map(|asked| match *asked {
            Asked::Level(from, to) => level(&trace, from, to),
            Asked::Word(what) => word(what, (*words.next()?)?),
            Asked::Number(quantity, index) => {
                drive.numbers(lane).get(index)?.map(|m| number(quantity, m.shown.value, m.doubt))
            }
        })
        .collect()
}

/// Vehicles that are driven together.
const LANES: usize = 4;

/// Drives `L` vehicles through a course.
///
/// # Errors
/// A sentence when one of them can't be built.
pub(super) fn drive<const L: usize>(job: &Job, draws: [&Draw; L], course: &Course) -> Result<Drive<L>, String> {
    drive_at(Fidelity::Reference, job, draws, course)
}

fn drive_at<const L: usize>(
    fidelity: Fidelity,
    job: &Job,
    draws: [&Draw; L],
    course: &Course,
) -> Result<Drive<L>, String> {
    let vehicles = draws.map(|d| (d.seed, d.faults.as_slice()));
    let mut drive = Drive::new(&job.plant, job.stood_s, vehicles, fidelity, course.probes.clone())?;
    drive.go_through(&course.ops)?;
    drive.advance_to(course.ends);
    Ok(drive)
}

/// Whether two vehicles have the same parts and holes, of whatever size: only such go together.
fn built_alike(a: &Draw, b: &Draw) -> bool {
    let holes = |d: &Draw| d.faults.iter().map(|f| (f.fault.clone(), f.at.clone())).collect::<Vec<_>>();
    (a.candidate, a.band) == (b.candidate, b.band) && holes(a) == holes(b)
}

/// Cuts draws into stretches of at most [`LANES`] vehicles that are built alike.
fn batches(draws: &[Draw]) -> Vec<Range<usize>> {
    let mut batches = vec![];
    let mut from = 0;
    for group in draws.chunk_by(built_alike) {
        let to = from + group.len();
        batches.extend((from..to).step_by(LANES).map(|first| first..to.min(first + LANES)));
        from = to;
    }
    batches
}

/// How many of these vehicles are driven together first: with fewer, they would be in other company.
pub(super) fn first_batch(draws: &[Draw]) -> usize {
    batches(draws).first().map_or(0, |batch| batch.end)
}

/// Rows of at most [`LANES`] vehicles. Lanes that are left over repeat the last vehicle.
fn rows(job: &Job, draws: &[Draw], course: &Course) -> Vec<Option<Row>> {
    let Some(last) = draws.last() else { return vec![] };
    let lanes: [&Draw; LANES] = std::array::from_fn(|lane| draws.get(lane).unwrap_or(last));
    match drive(job, lanes, course) {
        Ok(drive) => (0..draws.len()).map(|lane| row(&drive, lane, course)).collect(),
        Err(_) => vec![None; draws.len()],
    }
}

/// Puts all vehicles through a course, on all cores where the feature `parallel` is on; the order of
/// the result is that of the draws whatever the number of threads.
///
/// # Errors
/// `None` when cancelled.
pub fn run(job: &Job, draws: &[Draw], course: &Course, watch: &dyn Watch) -> Option<Vec<Option<Row>>> {
    in_batches(batches(draws), draws.len(), watch, |batch| rows(job, &draws[batch], course))
}

/// What the vehicles show to somebody who watches each by itself: full detail, ripple, and the noise of
/// the gauge. As [`run`] otherwise.
///
/// # Errors
/// `None` when cancelled.
pub fn run_watched(job: &Job, draws: &[Draw], course: &Course, watch: &dyn Watch) -> Option<Vec<Option<Row>>> {
    let each = (0..draws.len()).map(|i| i..i + 1).collect();
    in_batches(each, draws.len(), watch, |one| {
        let drive = drive_at(Fidelity::Watched, job, [&draws[one.start]], course);
        vec![drive.ok().and_then(|drive| row(&drive, 0, course))]
    })
}

/// Does work in batches and puts what comes out together again in their order.
fn in_batches(
    batches: Vec<Range<usize>>,
    all: usize,
    watch: &dyn Watch,
    work: impl Fn(Range<usize>) -> Vec<Option<Row>> + Sync,
) -> Option<Vec<Option<Row>>> {
    let done = std::sync::atomic::AtomicUsize::new(0);
    let one = |batch: Range<usize>| {
        if watch.cancelled() {
            return vec![];
        }
        let rows = work(batch);
        let so_far = done.fetch_add(rows.len(), std::sync::atomic::Ordering::Relaxed) + rows.len();
        watch.progress(so_far as f64 / all as f64);
        rows
    };
    #[cfg(feature = "parallel")]
    let rows: Vec<Vec<Option<Row>>> = {
        use rayon::prelude::*;
        batches.into_par_iter().map(one).collect()
    };
    #[cfg(not(feature = "parallel"))]
    let rows: Vec<Vec<Option<Row>>> = batches.into_iter().map(one).collect();
    (!watch.cancelled()).then(|| rows.concat())
}

/// Name of a perceived thing for sentences.
pub fn perceived_word(what: Perceived) -> &'static str {
    match what {
        Perceived::Glass => said("diagnosis-look-glass"),
        Perceived::Primer => said("diagnosis-feel-primer"),
        Perceived::Cap => said("diagnosis-filler-cap"),
        Perceived::Engine => said("diagnosis-engine-running"),
        Perceived::Sample => said("diagnosis-sample-tank"),
        Perceived::Pump => said("diagnosis-sound-pump"),
    }
}

#[cfg(test)]
mod tests {
    use super::super::hypothesis::draws;
    use super::*;
    use crate::bay::words::{Said, Terms, read};
    use crate::scenario::{Library, load_job};

    /// A short course at the pump: levels with and without a slope, and two words.
    const COURSE: &str = "\
fit pump-in
purge
zero
key on
crank 8
wait 12
record idle -80 mbar not-proven window -4s
note glass clear
speed raised
wait 5
record raised -150 mbar not-proven
note engine steady
";

    fn bay(job: &Job) -> Bay {
        let mut bay = Bay::new(job, 3).unwrap();
        for line in COURSE.lines() {
            let Ok(Some(Said::Do(action))) = read(line, &Terms::of(job), bay.now()) else { panic!("{line}") };
            bay.act(&action);
        }
        bay
    }

    /// A few vehicles of every second hypothesis, some batches not full.
    fn some(job: &Job) -> Vec<Draw> {
        draws(job, 16).chunk_by(built_alike).step_by(2).flat_map(|group| group[..5].to_vec()).collect()
    }

    /// Two rows show the same within what company may move (vehicles driven together share steps).
    fn alike(a: &Option<Row>, b: &Option<Row>) -> bool {
        let (Some(a), Some(b)) = (a, b) else { return a.is_none() == b.is_none() };
        a.iter().flatten().zip(b.iter().flatten()).all(|pair| match pair {
            (Feature::Number { value: a, .. }, Feature::Number { value: b, .. }) => (a - b).abs() < 1.0,
            (a, b) => a == b,
        })
    }

    #[test]
    fn a_row_depends_on_its_vehicle_and_hardly_on_its_company() {
        let (job, _) = load_job(&Library::builtin(), "primer-air").unwrap_or_else(|_| unreachable!());
        let bay = bay(&job);
        let course = Course::of(&bay, Micros::MAX);
        let draws = some(&job);
        let all = run(&job, &draws, &course, &Unwatched).unwrap();
        assert_eq!(all.len(), draws.len());
        let shape = |row: &Row| row.iter().map(Vec::len).collect::<Vec<_>>();
        assert!(all.iter().flatten().all(|row| shape(row) == [2, 1, 1, 1]));
        assert!(all.iter().flatten().count() > draws.len() / 2);
        // each in company of others, or of none
        for stride in [1, 3] {
            for (i, draw) in draws.iter().enumerate().step_by(7) {
                let company: Vec<Draw> = std::iter::once(draw)
                    .chain(draws[i..].iter().skip(1).step_by(stride).take(stride - 1))
                    .cloned()
                    .collect();
                let row = &run(&job, &company, &course, &Unwatched).unwrap()[0];
                assert!(alike(row, &all[i]), "{draw:?}: {row:?} and {:?}", all[i]);
            }
        }
    }

    #[cfg(feature = "parallel")]
    #[test]
    fn the_number_of_threads_changes_nothing() {
        let (job, _) = load_job(&Library::builtin(), "primer-air").unwrap_or_else(|_| unreachable!());
        let bay = bay(&job);
        let course = Course::of(&bay, Micros::MAX);
        let draws = &some(&job)[..15];
        let on = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| run(&job, draws, &course, &Unwatched)).unwrap()
        };
        assert_eq!(on(1), on(3));
    }

    #[test]
    fn a_course_ends_with_the_last_line_that_counts() {
        let (job, _) = load_job(&Library::builtin(), "primer-air").unwrap_or_else(|_| unreachable!());
        let bay = bay(&job);
        let first = bay.evidence()[0].at;
        let course = Course::of(&bay, first);
        assert_eq!((course.asked.len(), course.ends), (2, first));
        assert!(course.ops.iter().all(|o| o.at <= first) && course.ops.len() < bay.ops().len());
        assert_eq!(course.probes.len() as u64, PROBES + 1);
        assert!(Course::of(&bay, 0).asked.is_empty());
    }
}
