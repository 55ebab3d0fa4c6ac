//! The standard run of the van: ten simulated minutes from rest over crank, idle, raised speed and
//! dead-head to a long hold. Prints a table first, then lets divan time the parts.
//!
//! Figures are printed, never asserted. With the feature `oracle` an independent integrator makes the
//! same run on the same equations at the tolerance of a watched vehicle, in turns with ours (a method that takes over two
//! seconds is timed once only); its error norm is a
//! mean over the states where ours takes the worst, so the deviation reached stands beside each time.

#[path = "../tests/oracle/programme.rs"]
#[cfg_attr(
    not(feature = "oracle"),
    allow(dead_code, reason = "stretches between knots are for the other integrator")
)]
mod programme;
#[cfg(feature = "oracle")]
#[path = "../tests/oracle/rival.rs"]
mod rival;

use std::time::{Duration, Instant};

use faultbay::plant::assemble::Detail;
use faultbay::plant::step::Effort;
use faultbay::plant::vehicle::Vehicle;

use programme::{Run, S, apart};

/// A name and what is timed.
type Candidate<'c> = (String, Box<dyn FnMut() + 'c>);

const MINUTES_10: u64 = 600 * S;
const HOURS_4: u64 = 4 * 3600 * S;
const ROUNDS: usize = 3;

fn main() {
    if !std::env::args().any(|a| a == "--list" || a == "--test") {
        table();
    }
    divan::main();
}

/// The run, looked at nowhere.
fn drive(run: &Run, detail: Detail, effort: Effort) -> Vehicle {
    run.ours(detail, effort, &[], |_, _| {})
}

/// 64 vehicles whose filters differ.
fn ensemble() -> Vec<Run> {
    (0..64)
        .map(|i| {
            let mut run = Run::van(Detail::COARSE, MINUTES_10);
            for part in &mut run.plant.parts {
                if let faultbay::plant::component::Component::Filter(filter) = &mut part.is {
                    filter.clogged = 0.9 * f64::from(i) / 63.0;
                }
            }
            run
        })
        .collect()
}

/// Median time of several rounds of each candidate, taken in turns.
fn in_turns(candidates: &mut [Candidate<'_>]) -> Vec<Duration> {
    let mut times = vec![vec![]; candidates.len()];
    for _ in 0..ROUNDS {
        for ((_, candidate), times) in candidates.iter_mut().zip(&mut times) {
            let start = Instant::now();
            candidate();
            times.push(start.elapsed());
        }
    }
    times
        .into_iter()
        .map(|mut t| {
            t.sort();
            t[ROUNDS / 2]
        })
        .collect()
}

fn table() {
    let (full, coarse) = (Run::van(Detail::FULL, MINUTES_10), Run::van(Detail::COARSE, MINUTES_10));
    let times = full.times(S / 20);
    let readings = |run: &Run, detail: Detail, effort: Effort| {
        let mut seen = vec![];
        run.ours(detail, effort, &times, |_, y| seen.push(run.watched(y)));
        seen
    };
    let fine = readings(&full, Detail::FULL, Effort::REFERENCE);
    let fine_coarse = readings(&coarse, Detail::COARSE, Effort::REFERENCE);
    println!(
        "standard run of the van, {} simulated seconds; deviation in mbar over {} readings later than 0.3 s after a \
         movement begins or ends, from a 1e-9 reference of the same equations; median of {ROUNDS} rounds in turns",
        MINUTES_10 / S,
        times.len()
    );
    println!("full {} states, coarse {} states", full.assembly.net.states(), coarse.assembly.net.states());
    println!(
        "{:<44} {:>8} {:>8} {:>9} {:>9} {:>10} {:>9} {:>12}",
        "", "steps", "rejected", "Jacobians", "LU", "deviation", "ms", "sim. s / s"
    );
    let mut rows: Vec<(String, [u64; 4], f64)> = vec![];
    let mut candidates: Vec<Candidate<'_>> = vec![];
    for (name, run, detail, effort, fine) in [
        ("watched, full", &full, Detail::FULL, Effort::WATCHED, &fine),
        ("ensemble, full", &full, Detail::FULL, Effort::ENSEMBLE, &fine),
        ("ensemble, coarse", &coarse, Detail::COARSE, Effort::ENSEMBLE, &fine_coarse),
        ("reference, full", &full, Detail::FULL, Effort::REFERENCE, &fine),
    ] {
        let work = drive(run, detail, effort).work();
        let off = apart(&readings(run, detail, effort), fine);
        rows.push((name.to_owned(), [work.steps, work.rejected, work.jacobians, work.factorisations], off));
        candidates.push((name.to_owned(), Box::new(move || drop(divan::black_box(drive(run, detail, effort))))));
    }
    println!("(the coarse row deviates from the full detail by {:.2} mbar besides)", apart(&fine_coarse, &fine));
    #[cfg(feature = "oracle")]
    rivals(&full, &coarse, &times, [&fine, &fine_coarse], &mut rows, &mut candidates);
    let durations = in_turns(&mut candidates);
    for ((name, [steps, rejected, jacobians, factorisations], off), took) in rows.iter().zip(&durations) {
        let seconds = took.as_secs_f64();
        println!(
            "{name:<44} {steps:>8} {rejected:>8} {jacobians:>9} {factorisations:>9} {off:>10.4} {:>9.2} {:>12.0}",
            1e3 * seconds,
            (MINUTES_10 / S) as f64 / seconds
        );
    }
    for ours in ["watched, full", "ensemble, coarse"] {
        let tag = if ours.starts_with("watched") { "1e-5, full" } else { "1e-5, coarse" };
        let place = |name: &str| rows.iter().position(|r| r.0 == name);
        let best = (0..rows.len()).filter(|&i| rows[i].0.starts_with("rival") && rows[i].0.ends_with(tag));
        if let (Some(own), Some(best)) = (place(ours), best.min_by_key(|&i| durations[i])) {
            println!(
                "{ours}: {:.2} × as fast as the rival's fastest method ({})",
                durations[best].as_secs_f64() / durations[own].as_secs_f64(),
                rows[best].0
            );
        }
    }
    let start = Instant::now();
    let runs = ensemble();
    let built = start.elapsed();
    let start = Instant::now();
    let work: u64 = runs.iter().map(|r| drive(r, Detail::COARSE, Effort::ENSEMBLE).work().steps).sum();
    println!(
        "64 vehicles, ensemble, coarse, one thread: {:.1} ms, {work} steps (reading the plants: {:.1} ms)",
        1e3 * start.elapsed().as_secs_f64(),
        1e3 * built.as_secs_f64()
    );
    let stopped = drive(&Run::van(Detail::FULL, 126 * S), Detail::FULL, Effort::WATCHED);
    let hold = || {
        let mut car = stopped.clone();
        car.cover(126 * S + HOURS_4);
        car
    };
    let steps = hold().work().steps - stopped.work().steps;
    let took = in_turns(&mut [(String::new(), Box::new(|| drop(divan::black_box(hold()))))])[0];
    println!("four hours of hold after the run: {:.2} ms, {steps} steps", 1e3 * took.as_secs_f64());
}

/// The independent integrator at the tolerance of a watched vehicle.
#[cfg(feature = "oracle")]
fn rivals<'r>(
    full: &'r Run,
    coarse: &'r Run,
    times: &[u64],
    fine: [&[[f64; 3]]; 2],
    rows: &mut Vec<(String, [u64; 4], f64)>,
    candidates: &mut Vec<Candidate<'r>>,
) {
    use diffsol::{NalgebraLU, NalgebraMat};
    use rival::{Method, rival};
    type Look<'l> = &'l mut dyn FnMut(u64, &[f64]);
    type Try = fn(&Run, Method, (f64, f64), &[u64], Look<'_>) -> Result<rival::Effort, String>;
    let attempt: Try = |run, method, (relative, absolute), times, look| {
        rival::<NalgebraMat<f64>, NalgebraLU<f64>>(run, method, relative, absolute, times, look)
    };
    // At 1e-3 (all methods) and 1e-4 (all but ESDIRK34, which didn't come to an end) with coarse detail it gave
    // up in the dead-head or the hold, after a thousand failures of Newton's iteration in a stretch.
    for (run, fine, tolerance, tag) in
        [(full, fine[0], (1e-5, 1.0), "1e-5, full"), (coarse, fine[1], (1e-5, 1.0), "1e-5, coarse")]
    {
        for method in [Method::Esdirk34, Method::TrBdf2, Method::Bdf] {
            let name = format!("rival {method:?}, {tag}");
            let mut seen = vec![];
            let start = Instant::now();
            match attempt(run, method, tolerance, times, &mut |_, y| seen.push(run.watched(y))) {
                Ok(e) => {
                    let once = 1e3 * start.elapsed().as_secs_f64();
                    println!("{name}: once, looking on: {once:.0} ms");
                    if once > 2e3 {
                        continue;
                    }
                    let work = [e.steps, e.rejected, e.jacobians, e.factorisations].map(|w| w as u64);
                    rows.push((name.clone(), work, apart(&seen, fine)));
                    candidates.push((
                        name,
                        Box::new(move || {
                            let done = attempt(run, method, tolerance, &[], &mut |_, _| {});
                            divan::black_box(done).ok();
                        }),
                    ));
                }
                Err(why) => println!("{name:<44} gives up: {why}"),
            }
        }
    }
}

#[divan::bench]
fn watched_full(bencher: divan::Bencher<'_, '_>) {
    let run = Run::van(Detail::FULL, MINUTES_10);
    bencher.bench_local(|| drive(&run, Detail::FULL, Effort::WATCHED));
}

#[divan::bench]
fn ensemble_coarse(bencher: divan::Bencher<'_, '_>) {
    let run = Run::van(Detail::COARSE, MINUTES_10);
    bencher.bench_local(|| drive(&run, Detail::COARSE, Effort::ENSEMBLE));
}
