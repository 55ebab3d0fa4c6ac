//! What a fault shows: the standard run on a sound vehicle and on one with faults, side by side.
//!
//! Both are the same vehicle (one seed, so the same tolerances, instrument and noise) and are watched as a learner would
//! watch them. For authors: whoever reads this knows what is wrong.

use super::standard::{CANCELLED, Read, Standard};
use crate::analysis::window::window;
use crate::bay::action::{Micros, SECOND};
use crate::bay::drive::op::{Op, Timed};
use crate::bay::drive::{Drive, Fidelity};
use crate::bay::observation::{EngineRun, GlassLook};
use crate::diagnosis::ensemble::{Unwatched, Watch};
use crate::diagnosis::justify::Part;
use crate::diagnosis::recording::group;
use crate::fault::{CATALOGUE, FaultInstance, Place, apply_all, by_code, group_of};
use crate::language::said;
use crate::plant::Plant;
use crate::scenario::model::Job;
use crate::trace::{Tick, Trace};

/// Seed of the vehicle that is shown.
const SEED: u64 = 1;
/// The customer complains.
pub const SEVERITY: f64 = 3.0;
/// Looks while something happens, and in the hold.
const OFTEN: Micros = SECOND / 20;
const SELDOM: Micros = SECOND;
/// After the engine stops, so long nothing is missed.
const AFTER: Micros = 15 * SECOND;

/// Below this, two readings are one, mbar: as much as the usual mark scheme lets a written reading be off.
const ALIKE_MBAR: f64 = 8.0;

/// What is wrong with the vehicle that is shown: faults, at places of the plant.
#[derive(Clone, Debug, PartialEq)]
pub struct Wrong {
    /// What is wrong.
    pub(super) faults: Vec<FaultInstance>,
    /// In words.
    pub words: String,
}

/// What a reading shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// Mean over its window, mbar gauge.
    pub mbar: f64,
    /// Lowest and highest sample in it, mbar gauge.
    pub between: (f64, f64),
    /// In the glass.
    pub glass: &'static str,
    /// How the engine runs at its end.
    pub engine: &'static str,
}

/// A vehicle that went through the run.
pub struct Seen {
    /// What the instrument stored, from the fitted tee to the end.
    pub trace: Trace,
    /// What each reading shows, in the order of the run.
    pub readings: Vec<Shown>,
}

impl Wrong {
    /// Reads faults written as `F15@filter:3`: a code, its place where there is more than one, its severity (3 without).
    ///
    /// # Errors
    /// A sentence: unknown code, no such place, a severity out of range.
    pub fn read(plant: &Plant, texts: &[String]) -> Result<Self, String> {
        let mut faults = vec![];
        for text in texts {
            let (place, severity) = match text.rsplit_once(':') {
                Some((before, number)) => {
                    let number = number.trim().replace(',', ".");
                    let severity = number.parse().map_err(|_| {
                        format!("\u{201c}{text}\u{201d}: a severity from 1 to 5 is expected after the colon")
                    })?;
                    (before, severity)
                }
                None => (text.as_str(), SEVERITY),
            };
            let (code, at) = place.split_once('@').unwrap_or((place, ""));
            let code = code.trim().to_uppercase();
            if by_code(&code).is_none() {
                let codes: Vec<&str> = CATALOGUE.iter().map(|f| f.code).collect();
                return Err(format!(
                    "no fault has the code \u{201c}{code}\u{201d}; there are {}",
                    codes.join(", ")
                ));
            }
            faults.push(FaultInstance::new(&code, at.trim(), severity));
        }
        Self::of(plant, faults)
    }

    /// These faults.
    ///
    /// # Errors
    /// A sentence when one doesn't fit where it is said to sit.
    pub(super) fn of(plant: &Plant, faults: Vec<FaultInstance>) -> Result<Self, String> {
        apply_all(&mut plant.clone(), &faults)?;
        let one = |f: &FaultInstance| {
            let name = by_code(&f.fault).map_or("", |entry| entry.name.said());
            let at = if f.at.is_empty() { String::new() } else { format!(" at {}", f.at) };
            format!("{} {name}{at}, severity {}", f.fault, f.severity)
        };
        let words = if faults.is_empty() {
            "nothing wrong".to_owned()
        } else {
            faults.iter().map(one).collect::<Vec<_>>().join("; ")
        };
        Ok(Self { faults, words })
    }

    /// The faults.
    pub(super) fn faults(&self) -> &[FaultInstance] {
        &self.faults
    }

    /// Nothing at all.
    pub fn nothing() -> Self {
        Self { faults: vec![], words: "nothing wrong".to_owned() }
    }

    /// The faults of the supply that are met most often in vehicles like this one, by the priors of its group, the
    /// commonest first; each at one place, leaks at a joint.
    ///
    /// # Errors
    /// A sentence when a fault doesn't fit where the catalogue says it does.
    pub fn commonest(plant: &Plant, count: usize) -> Result<Vec<Self>, String> {
        let group = group(plant);
        let of_group = |f: &&crate::fault::Fault| f.met_in.iter().any(|a| group_of(*a) == Some(group));
        let mut list: Vec<(f64, FaultInstance)> = vec![];
        for fault in CATALOGUE.iter().filter(of_group) {
            let places = fault.places(plant);
            let is_joint = |node: &&String| plant.node(node).is_some_and(|n| n.joint.is_some());
            let at = match fault.place {
                Place::Kit | Place::Nowhere => continue,
                // inside the tank or a pump there is nothing to let air in
                Place::Node => places.iter().find(is_joint),
                Place::Part(_) | Place::Circuit => places.first(),
            };
            let Some(at) = at.filter(|_| fault.code.starts_with('F')) else { continue };
            list.push((fault.weight(group, &[]), FaultInstance::new(fault.code, at, SEVERITY)));
        }
        // a stable order: equal weights by code
        list.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.fault.cmp(&b.1.fault)));
        list.truncate(count);
        list.into_iter().map(|(_, fault)| Self::of(plant, vec![fault])).collect()
    }
}

/// Whether an op of the run isn't done: whoever left the instrument unzeroed or the hose full of air hasn't done these.
pub(super) fn leaves_out(faults: &[FaultInstance], op: &Op) -> bool {
    let has = |code: &str| faults.iter().any(|f| f.fault == code);
    (*op == Op::Zero && has("M2")) || (*op == Op::PurgeHose && has("M6"))
}

/// Times at which the instrument is looked at.
fn looks(run: &Standard) -> Vec<Micros> {
    let slow = (run.stops + AFTER).min(run.ends);
    let often = (run.begins..slow).step_by(OFTEN as usize);
    let seldom = (slow..run.ends).step_by(SELDOM as usize);
    let mut looks: Vec<Micros> = often.chain(seldom).chain([run.ends]).collect();
    for read in &run.reads {
        looks.extend((0..=20).map(|i| read.window.0 + (read.window.1 - read.window.0) * i / 20));
    }
    looks.sort_unstable();
    looks.dedup();
    looks
}

/// Lets time pass in slices, which change no bit.
fn go_on(drive: &mut Drive<1>, to: Micros, watch: &dyn Watch) -> Result<(), String> {
    while drive.now() < to {
        if watch.cancelled() {
            return Err(CANCELLED.said().to_owned());
        }
        drive.advance_to((drive.now() + 5 * SECOND).min(to));
    }
    Ok(())
}

/// A row of a preview: what a state reads on a sound vehicle and on the job's.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The state in words.
    pub state: &'static str,
    /// Range of the card, mbar gauge. A training value.
    pub limit: Option<(f64, f64)>,
    /// On the sound vehicle.
    pub sound: Shown,
    /// On the job's.
    pub wrong: Shown,
}

impl Shown {
    /// The card, if it says anything, calls this reading unhealthy.
    pub fn is_outside(&self, limit: Option<(f64, f64)>) -> bool {
        limit.is_some_and(|(low, high)| self.mbar < low || self.mbar > high)
    }
}

impl Row {
    /// The card calls the job's reading unhealthy.
    pub fn is_outside(&self) -> bool {
        self.wrong.is_outside(self.limit)
    }

    /// How far the pressure lies from the sound vehicle's, mbar.
    pub(super) fn moves(&self) -> f64 {
        (self.wrong.mbar - self.sound.mbar).abs()
    }

    /// Nothing of what a learner could write down differs from the sound vehicle, by more than a written reading may
    /// be off.
    pub fn is_alike(&self) -> bool {
        self.moves() < ALIKE_MBAR && (self.wrong.glass, self.wrong.engine) == (self.sound.glass, self.sound.engine)
    }
}

/// The readings of a vehicle beside those of the sound one.
pub(super) fn rows(run: &Standard, sound: &Seen, wrong: &Seen) -> Vec<Row> {
    let pairs = run.reads.iter().zip(&sound.readings).zip(&wrong.readings);
    pairs
        .map(|((read, sound), wrong)| Row {
            state: read.words,
            limit: run.limit(read).map(|l| (l.low_mbar, l.high_mbar)),
            sound: sound.clone(),
            wrong: wrong.clone(),
        })
        .collect()
}

/// What an author sees of a job before anybody sits it.
#[derive(Clone, Debug, PartialEq)]
pub struct Preview {
    /// Joint of the tee, in trade words.
    pub joint: String,
    /// What is wrong, in words.
    pub words: String,
    /// What each state reads.
    pub rows: Vec<Row>,
    /// The sound vehicle's trace, from the fitted tee to the end; its ticks name what begins.
    pub sound: Trace,
    /// The job's.
    pub wrong: Trace,
    /// Begin, engine off, end, µs.
    pub times: (Micros, Micros, Micros),
    /// The fault shows only at times, so that this run needn't have met it.
    pub is_at_times: bool,
    /// Neither this run nor any other test of the job shows anything: said by [`silent`](super::silent), not here.
    pub silent: bool,
}

/// Shows a job's hidden faults in the standard run on its vehicle as the job has it, at a joint (the usual one when none
/// is named). With `always`, as if they showed all the time.
///
/// # Errors
/// A sentence: the vehicle can't be built, it refuses a step, there is no such joint, or it was cancelled.
pub fn of_job(job: &Job, joint: Option<&str>, always: bool, watch: &dyn Watch) -> Result<Preview, String> {
    let run = Standard::on(&job.plant, &job.limits, joint, &Part { whole: watch, from: 0.0, span: 0.4 })?;
    watch.progress(0.4);
    let mut faults = job.hidden.0.clone();
    let is_at_times = faults.iter().any(|f| !f.modifiers.is_empty());
    if always {
        faults.iter_mut().for_each(|f| f.modifiers.clear());
    }
    let wrong = Wrong::of(&job.plant, faults)?;
    let sound = drive_watched(&run, &Wrong::nothing(), watch)?;
    watch.progress(0.7);
    let seen = drive_watched(&run, &wrong, watch)?;
    watch.progress(1.0);
    Ok(Preview {
        joint: run.label.clone(),
        words: wrong.words,
        rows: rows(&run, &sound, &seen),
        sound: sound.trace,
        wrong: seen.trace,
        times: (run.begins, run.stops, run.ends),
        is_at_times,
        silent: false,
    })
}

/// Drives a vehicle through the run.
///
/// # Errors
/// A sentence when it can't be built.
pub fn drive(run: &Standard, wrong: &Wrong) -> Result<Seen, String> {
    drive_watched(run, wrong, &Unwatched)
}

/// Drives a vehicle through the run, for somebody who may not wait for its end.
///
/// # Errors
/// A sentence when it can't be built or the run was cancelled.
pub fn drive_watched(run: &Standard, wrong: &Wrong, watch: &dyn Watch) -> Result<Seen, String> {
    let vehicle = [(SEED, wrong.faults.as_slice())];
    let mut drive = Drive::<1>::new(&run.job.plant, run.job.stood_s, vehicle, Fidelity::Watched, looks(run))?;
    let mut engine = vec![];
    let mut reads = run.reads.iter().peekable();
    for Timed { at, op } in &run.ops {
        while let Some(read) = reads.next_if(|r| r.window.1 <= *at) {
            go_on(&mut drive, read.window.1, watch)?;
            engine.push(drive.engine_run(0));
        }
        go_on(&mut drive, *at, watch)?;
        if !leaves_out(&wrong.faults, op) {
            drive.apply(op)?;
        }
    }
    for read in reads {
        go_on(&mut drive, read.window.1, watch)?;
        engine.push(drive.engine_run(0));
    }
    go_on(&mut drive, run.ends, watch)?;
    let trace = Trace {
        at: drive.looked().to_vec(),
        mbar: drive.levels(0).to_vec(),
        gas: drive.gas_seen(0).to_vec(),
        rpm: vec![],
        ticks: run.marks.iter().map(|m| Tick { at: m.at, word: m.word.to_owned() }).collect(),
    };
    let shown = |(read, engine): (&Read, EngineRun)| {
        let (from, to) = read.window;
        let w = window(&trace, &trace.mbar, from, to)?;
        let glass = GlassLook::of_gas_share(trace.mean(&trace.gas, from, to)?).word();
        Some(Shown { mbar: w.level, between: (w.lowest, w.highest), glass, engine: engine.word() })
    };
    let readings: Option<Vec<Shown>> = run.reads.iter().zip(engine).map(shown).collect();
    Ok(Seen { readings: readings.ok_or(said("preview-no-sample"))?, trace })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Library;

    fn van() -> Standard {
        Standard::of(&Library::builtin(), "a1-van", None).unwrap()
    }

    #[test]
    fn a_plugged_filter_draws_deeper_and_holds_less_flow() {
        let run = van();
        let plant = run.job.plant.clone();
        let sound = drive(&run, &Wrong::nothing()).unwrap();
        let bad = drive(&run, &Wrong::read(&plant, &["f15@filter:4".into()]).unwrap()).unwrap();
        let at = |seen: &Seen, words: &str| {
            let k = run.reads.iter().position(|r| r.words == words).unwrap();
            seen.readings[k].mbar
        };
        assert!(at(&bad, "idle") < at(&sound, "idle") - 40.0);
        assert!((at(&bad, "rest") - at(&sound, "rest")).abs() < 5.0);
        assert_eq!(sound.readings.len(), run.reads.len());
        assert_eq!(sound.readings[3].engine, EngineRun::Steady.word());
    }

    #[test]
    fn who_forgot_to_zero_reads_an_offset_at_rest() {
        let run = van();
        let wrong = Wrong::read(&run.job.plant, &["M2:5".into()]).unwrap();
        let (sound, bad) = (drive(&run, &Wrong::nothing()).unwrap(), drive(&run, &wrong).unwrap());
        assert!((bad.readings[0].mbar - sound.readings[0].mbar).abs() > 5.0, "{:?}", bad.readings[0]);
    }

    #[test]
    fn what_is_written_wrongly_is_told() {
        let plant = van().job.plant;
        let why = |text: &str| Wrong::read(&plant, &[text.to_owned()]).unwrap_err();
        assert!(why("F99").contains("F15"), "{}", why("F99"));
        assert!(why("F15@roof").contains("filter"), "{}", why("F15@roof"));
        assert!(why("F15:much").contains("severity"), "{}", why("F15:much"));
        assert!(why("F15:9").contains("outside"), "{}", why("F15:9"));
        let both = Wrong::read(&plant, &["F15".into(), "F01:2".into()]).unwrap();
        assert_eq!(both.faults.len(), 2);
    }

    #[test]
    fn a_job_shows_its_own_fault_and_what_hides_it() {
        let (mut job, _) = crate::scenario::load_job(&Library::builtin(), "bypass-puff").unwrap();
        let shown = of_job(&job, Some("pump in"), false, &Unwatched).unwrap();
        let idle = shown.rows.iter().find(|r| r.state == "idle").unwrap();
        assert!(idle.wrong.mbar < idle.sound.mbar - 20.0, "{idle:?}");
        assert!(!idle.is_alike() && !shown.is_at_times);
        assert!(shown.rows[0].is_alike(), "nothing flows at rest: {:?}", shown.rows[0]);
        // a fault that waits until the engine has run for an hour isn't met in the run
        let late = crate::units::Span::from_si(3600.0);
        job.hidden.0[0].modifiers = vec![crate::fault::Modifier::AfterRunning { for_time: late }];
        let hid = of_job(&job, Some("pump in"), false, &Unwatched).unwrap();
        assert!(hid.is_at_times && hid.rows.iter().all(Row::is_alike));
        let always = of_job(&job, Some("pump in"), true, &Unwatched).unwrap();
        assert_eq!(always.rows, shown.rows);
    }

    #[test]
    fn who_does_not_wait_gets_no_preview() {
        struct Gone;
        impl Watch for Gone {
            fn progress(&self, _: f64) {}
            fn cancelled(&self) -> bool {
                true
            }
        }
        let (job, _) = crate::scenario::load_job(&Library::builtin(), "bypass-puff").unwrap();
        assert_eq!(of_job(&job, None, false, &Gone).unwrap_err(), CANCELLED.said());
    }

    #[test]
    fn the_commonest_come_first_and_fit() {
        let plant = van().job.plant;
        let five = Wrong::commonest(&plant, 5).unwrap();
        let weight = |w: &Wrong| by_code(&w.faults[0].fault).unwrap().weight(group(&plant), &[]);
        assert_eq!(five.len(), 5);
        assert!(five.windows(2).all(|w| weight(&w[0]) >= weight(&w[1])));
    }
}
