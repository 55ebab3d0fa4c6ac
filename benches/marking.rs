//! How long a belief and a mark take: the belief of a ten-minute attempt over 30 hypotheses of 64 vehicles from cold
//! (budget 5 s on two cores), a whole mark from cold, and re-marks with everything cached (budget 10 s for 1 000 on two
//! cores), with and without a replay, and what a replay alone takes of that. The report of one attempt has its own bench.
//!
//! Figures are printed, never asserted.

use std::time::{Duration, Instant};

use faultbay::attempt::{Attempt, replay};
use faultbay::bay::Bay;
use faultbay::bay::action::Micros;
use faultbay::bay::words::{Said, Terms, read};
use faultbay::diagnosis::belief::posterior;
use faultbay::diagnosis::ensemble::{Course, Unwatched, run};
use faultbay::diagnosis::hypothesis::{Causes, draws};
use faultbay::diagnosis::likelihood::log_likelihoods;
use faultbay::diagnosis::rows::{Reference, Strata, evidence};
use faultbay::diagnosis::store::Memory;
use faultbay::marking::kept::mark_kept;
use faultbay::marking::mark::mark_with;
use faultbay::scenario::model::Job;
use faultbay::scenario::{Library, load_job};

const HYPOTHESES: usize = 30;
const VEHICLES: usize = 64;
/// Re-marks that are timed, twenty times as many where they are kept; the figure for a thousand follows from them.
const REMARKS: usize = 60;
const THREADS: usize = 2;
const DEMOS: [&str; 4] = ["filter-careful", "air-careful", "healthy-careful", "air-careless"];

/// Ten minutes from the turn of the key to the end of the hold, the tee fitted before.
const TEN_MINUTES: &str = "\
fit pump-in
purge
zero
wait 5
record rest -4 mbar not-proven
key on
crank 8
wait 120
record idle -80 mbar not-proven window -3s
note glass clear
speed raised
wait 120
record raised -150 mbar not-proven window -3s
note engine steady
idle
wait 20
valve shut
wait 4
valve open
record dead-head -700 mbar not-proven
wait 60
key off
wait 260
record hold -20 mbar not-proven window -10s
";

fn main() {
    if std::env::args().any(|a| a == "--list" || a == "--test") {
        return;
    }
    // a word says which part alone: `-- belief` or `-- marks`
    let asked: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with('-')).collect();
    for (name, part) in [("belief", belief_from_cold as fn()), ("marks", marks)] {
        if asked.is_empty() || asked.iter().any(|a| a == name) {
            part();
        }
    }
}

fn job(name: &str) -> Job {
    let Ok((job, _)) = load_job(&Library::builtin(), name) else { panic!("the job {name}") };
    job
}

fn secs(of: Duration) -> f64 {
    of.as_secs_f64()
}

/// The van's job with its candidates cut into narrower bands of severity until there are thirty.
fn thirty() -> Job {
    let mut job = job("bypass-puff");
    let faulty: Vec<_> = job.candidates.iter().filter(|c| !c.vehicles.is_empty()).cloned().collect();
    job.candidates.retain(|c| c.vehicles.is_empty());
    let each = (HYPOTHESES - job.candidates.len()).div_ceil(faulty.len());
    'all: for k in 0..each {
        for candidate in &faulty {
            if job.candidates.len() == HYPOTHESES {
                break 'all;
            }
            let mut one = candidate.clone();
            one.name = format!("{} {k}", candidate.name);
            let mut band = candidate.vehicles[k % candidate.vehicles.len()].clone();
            let (low, high) = band.severity;
            let step = (high - low) / each as f64;
            band.severity = (low + step * k as f64, low + step * (k + 1) as f64);
            one.vehicles = vec![band];
            job.candidates.push(one);
        }
    }
    for c in &mut job.candidates {
        c.weight = 1.0 / HYPOTHESES as f64;
    }
    job
}

fn belief_from_cold() {
    let job = thirty();
    let mut bay = Bay::new(&job, 3).expect("a vehicle");
    for line in TEN_MINUTES.lines() {
        let Ok(Some(Said::Do(action))) = read(line, &Terms::of(&job), bay.now()) else { panic!("{line}") };
        bay.act(&action);
    }
    let course = Course::of(&bay, Micros::MAX);
    let draws = draws(&job, VEHICLES);
    let begun = Instant::now();
    let rows = run(&job, &draws, &course, &Unwatched).expect("nobody cancels");
    let simulated = begun.elapsed();
    let prior = faultbay::diagnosis::justify::prior(&job);
    let causes = Causes::new(&draws, &prior);
    let like = rows.iter().flatten().next().expect("a row").clone();
    let Strata { causes: strata, pooled } =
        Reference::fine(&causes, &draws, &rows, &like).strata(None).expect("strata");
    let lines: Vec<usize> = (0..course.lines()).collect();
    let mut top = 0.0_f64;
    for n in 1..=lines.len() {
        let log_like = log_likelihoods(&strata, &pooled, &evidence(&like, &lines[..n])).expect("evidence");
        top = posterior(&causes.prior, &log_like).into_iter().fold(0.0, f64::max);
    }
    let all = begun.elapsed();
    println!(
        "belief from cold: {} vehicles in {:.2} s, {} beliefs in {:.3} s, together {:.2} s (budget 5 s); top {top:.2}",
        draws.len(),
        secs(simulated),
        lines.len(),
        secs(all - simulated),
        secs(all)
    );
}

fn marks() {
    let demos: Vec<(Job, Attempt)> = DEMOS
        .iter()
        .map(|name| {
            let path = format!("{}/demo-data/{name}.jsonl", env!("CARGO_MANIFEST_DIR"));
            let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
            let (attempt, _) = Attempt::read(text).expect("a demo");
            (job(&attempt.header().job), attempt)
        })
        .collect();
    let store = Memory::default();
    for ((job, attempt), name) in demos.iter().zip(DEMOS) {
        let begun = Instant::now();
        mark_with(job, attempt, &store, &Unwatched).expect("a mark");
        let cold = begun.elapsed();
        let begun = Instant::now();
        mark_with(job, attempt, &store, &Unwatched).expect("a mark");
        let warm = begun.elapsed();
        let begun = Instant::now();
        replay(job, attempt).expect("a replay");
        let again = begun.elapsed();
        println!(
            "{name}: first mark {:.2} s, re-mark {:.1} ms, of that the replay {:.1} ms",
            secs(cold),
            1e3 * secs(warm),
            1e3 * secs(again)
        );
    }
    remarks("re-marks, each replayed", &demos, REMARKS, |job, attempt| {
        mark_with(job, attempt, &store, &Unwatched).expect("a mark");
    });
    remarks("re-marks, kept", &demos, 20 * REMARKS, |job, attempt| {
        mark_kept(job, attempt, &store, &Unwatched).expect("a mark");
    });
}

/// Marks the demos in turn, on [`THREADS`] threads.
fn remarks(what: &str, demos: &[(Job, Attempt)], count: usize, mark: impl Fn(&Job, &Attempt) + Sync) {
    let begun = Instant::now();
    std::thread::scope(|scope| {
        for thread in 0..THREADS {
            let mark = &mark;
            scope.spawn(move || {
                for i in (thread..count).step_by(THREADS) {
                    let (job, attempt) = &demos[i % demos.len()];
                    mark(job, attempt);
                }
            });
        }
    });
    let each = secs(begun.elapsed()) / count as f64;
    println!(
        "{what}, on {THREADS} threads: {:.2} ms each, {:.1} s for 1 000 (budget 10 s)",
        1e3 * each,
        1e3 * each
    );
}
