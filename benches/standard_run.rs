//! The standard run of three vehicles (suction diesel van A1, petrol hatchback A4, truck A7): ten simulated minutes from
//! rest over crank, idle, raised speed and dead-head to a long hold; one vehicle, and an ensemble of 1 024 side by
//! side. Prints tables first, then lets divan time the parts and count the bytes.
//!
//! Figures are printed, never asserted; times are of the processor where the system tells them, so that "all threads" says
//! what a member costs in company and not how soon all are done. `PLANT=a4` looks at one vehicle only. With the feature `oracle` an independent
//! integrator makes the same run on the same equations at the tolerance of a watched vehicle, in turns with ours (a
//! method that takes over two seconds is timed once only); its error norm is a mean over the states where ours takes
//! the worst, so the deviation reached stands beside each time.

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

use faultbay::plant::Plant;
use faultbay::plant::assemble::{Detail, Rig};
use faultbay::plant::component::Component;
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
        let chosen = std::env::var("PLANT").unwrap_or_default();
        for (name, joint) in PLANTS.iter().filter(|p| p.0.contains(&chosen)) {
            table(name, joint);
            ensembles(name, joint);
        }
    }
    divan::main();
}

/// Vehicles of the ensemble.
const MEMBERS: usize = 1024;
/// Plants and where the tee sits.
const PLANTS: [(&str, &str); 3] = [("a1-van", "pump in"), ("a4-hatchback", "rail in"), ("a7-truck", "pump in")];

/// Counts bytes for divan.
#[global_allocator]
static COUNTED: divan::AllocProfiler = divan::AllocProfiler::system();

/// The run, looked at nowhere.
fn drive(run: &Run, detail: Detail, effort: Effort) -> Vehicle {
    run.ours(detail, effort, &[], |_, _| {})
}

/// The plant of one member: filters from new to nearly plugged, so neighbours are alike, as in a reference set.
fn member(run: &Run, i: usize) -> Plant {
    let mut plant = run.plant.clone();
    for part in &mut plant.parts {
        if let Component::Filter(filter) = &mut part.is {
            filter.clogged = 0.9 * i as f64 / (MEMBERS - 1) as f64;
        }
    }
    plant
}

/// L members side by side through the run.
fn side_by_side<const L: usize>(run: &Run, first: usize) -> Vehicle<L> {
    let plants: [Plant; L] = std::array::from_fn(|lane| member(run, first + lane));
    let rigs: [&Rig; L] = std::array::from_fn(|_| &run.rig);
    let mut cars = Vehicle::side_by_side(plants.each_ref(), rigs, Detail::COARSE, Effort::ENSEMBLE).unwrap();
    for m in &run.moves {
        cars.ramp(m.at, m.state, m.target, m.over);
    }
    cars.cover(run.end);
    cars
}

/// The ensemble with L lanes on the pool's threads; steps of all batches.
fn ensemble<const L: usize>(run: &Run) -> u64 {
    use rayon::prelude::*;
    let steps = |batch: usize| side_by_side::<L>(run, batch * L).work().steps;
    (0..MEMBERS / L).into_par_iter().map(steps).sum()
}

/// Where two runs lie furthest apart, how long they lie apart by more than a millibar, and how far apart a feature would
/// see them: means over a second.
fn worst(times: &[u64], a: &[[f64; 3]], b: &[[f64; 3]]) -> String {
    let off = |i: usize, k: usize| (a[i][k] - b[i][k]).abs();
    let all = || (0..a.len()).flat_map(|i| (0..3).map(move |k| (i, k)));
    let Some((i, k)) = all().max_by(|&(i, k), &(j, l)| off(i, k).total_cmp(&off(j, l))) else {
        return String::new();
    };
    let far = (0..a.len()).filter(|&i| (0..3).any(|k| off(i, k) > 1.0)).count();
    let window = |i: usize| times[i..].iter().take_while(|&&t| t < times[i] + S).count();
    let mean = |i: usize, k: usize, n: usize| ((i..i + n).map(|j| a[j][k] - b[j][k]).sum::<f64>() / n as f64).abs();
    let mean = all().map(|(i, k)| mean(i, k, window(i))).fold(0.0, f64::max);
    format!(
        "{:.2} mbar at {:.2} s, the {}; {far} of {} readings by more than 1 mbar; means over a second by {mean:.2} at most",
        off(i, k),
        times[i] as f64 / S as f64,
        ["pump's inlet", "tee", "tank side of the valve"][k],
        a.len()
    )
}

/// Processor time of all threads of this program so far, where the system tells it: other programs count little then.
fn processor() -> Option<Duration> {
    let tasks = std::fs::read_dir("/proc/self/task").ok()?;
    let of = |task: std::io::Result<std::fs::DirEntry>| -> Option<u64> {
        let text = std::fs::read_to_string(task.ok()?.path().join("schedstat")).ok()?;
        text.split_whitespace().next()?.parse().ok()
    };
    tasks.map(of).sum::<Option<u64>>().map(Duration::from_nanos)
}

/// Median time of several rounds of each candidate, taken in turns.
fn in_turns(candidates: &mut [Candidate<'_>]) -> Vec<Duration> {
    let mut times = vec![vec![]; candidates.len()];
    for _ in 0..ROUNDS {
        for ((_, candidate), times) in candidates.iter_mut().zip(&mut times) {
            let (start, before) = (Instant::now(), processor());
            candidate();
            let worked = processor().zip(before).map(|(now, before)| now.saturating_sub(before));
            times.push(worked.unwrap_or_else(|| start.elapsed()));
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

fn table(name: &str, joint: &str) {
    let of = |detail: Detail| Run::of(name, joint, detail, MINUTES_10);
    let (full, coarse) = (of(Detail::FULL), of(Detail::COARSE));
    let times = full.times(S / 20);
    let readings = |run: &Run, detail: Detail, effort: Effort| {
        let mut seen = vec![];
        run.ours(detail, effort, &times, |_, y| seen.push(run.watched(y)));
        seen
    };
    let fine = readings(&full, Detail::FULL, Effort::REFERENCE);
    let fine_coarse = readings(&coarse, Detail::COARSE, Effort::REFERENCE);
    println!(
        "\nstandard run of {name}, tee at {joint}, {} simulated seconds; deviation in mbar over {} readings later than 0.3 s after a \
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
        let seen = readings(run, detail, effort);
        let off = apart(&seen, fine);
        println!("({name}: {})", worst(&times, &seen, fine));
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
    let stopped = drive(&Run::of(name, joint, Detail::FULL, 126 * S), Detail::FULL, Effort::WATCHED);
    let hold = || {
        let mut car = stopped.clone();
        car.cover(126 * S + HOURS_4);
        car
    };
    let steps = hold().work().steps - stopped.work().steps;
    let took = in_turns(&mut [(String::new(), Box::new(|| drop(divan::black_box(hold()))))])[0];
    println!("four hours of hold after the run: {:.2} ms, {steps} steps", 1e3 * took.as_secs_f64());
}

/// Ensembles with four and eight lanes, on one thread and on all; beside them one member by itself, in the same turns.
fn ensembles(name: &str, joint: &str) {
    let run = Run::of(name, joint, Detail::COARSE, MINUTES_10);
    let pool = |threads: usize| rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
    let (one, all) = (pool(1), pool(0));
    let cores = all.current_num_threads();
    println!("ensemble of {MEMBERS}, coarse, {cores} threads; compiled for {}", compiled_for());
    let held =
        Vehicle::side_by_side([&run.plant; 8], [&run.rig; 8], Detail::COARSE, Effort::ENSEMBLE).unwrap().bytes()
            / 8;
    println!("memory held for a member: {:.1} KiB", held as f64 / 1024.0);
    let single = || {
        (0..MEMBERS).step_by(MEMBERS / 16).for_each(|i| drop(divan::black_box(side_by_side::<1>(&run, i))));
    };
    let mut candidates: Vec<Candidate<'_>> = vec![
        ("16 of them by themselves, one thread".into(), Box::new(single)),
        ("four lanes, one thread".into(), Box::new(|| _ = divan::black_box(one.install(|| ensemble::<4>(&run))))),
        ("eight lanes, one thread".into(), Box::new(|| _ = divan::black_box(one.install(|| ensemble::<8>(&run))))),
        ("four lanes, all threads".into(), Box::new(|| _ = divan::black_box(all.install(|| ensemble::<4>(&run))))),
    ];
    let durations = in_turns(&mut candidates);
    for (k, ((name, _), took)) in candidates.iter().zip(&durations).enumerate() {
        let members = if k == 0 { 16 } else { MEMBERS };
        let ms = 1e3 * took.as_secs_f64() / members as f64;
        println!("{name:<44} {ms:>8.3} ms a member {:>12.0} sim. s / s", 1e3 * (MINUTES_10 / S) as f64 / ms);
    }
}

/// Vector instructions that the compiler was allowed.
const fn compiled_for() -> &'static str {
    if cfg!(target_feature = "avx512f") {
        "AVX-512"
    } else if cfg!(target_feature = "avx2") {
        "AVX2"
    } else {
        "the plain architecture"
    }
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
        // the tighter one: where its error is nearer to ours
        [
            (full, fine[0], (1e-5, 1.0), "1e-5, full"),
            (full, fine[0], (1e-6, 0.1), "1e-6, full"),
            (coarse, fine[1], (1e-5, 1.0), "1e-5, coarse"),
        ]
    {
        // a hundred times as long on the van: only who asks for it waits for it
        let slow = std::env::var_os("ALL_METHODS").is_some();
        for method in [Method::Esdirk34, Method::TrBdf2, Method::Bdf].into_iter().take(if slow { 3 } else { 2 }) {
            let name = format!("rival {method:?}, {tag}");
            let mut seen = vec![];
            let (start, before) = (Instant::now(), processor());
            match attempt(run, method, tolerance, times, &mut |_, y| seen.push(run.watched(y))) {
                Ok(e) => {
                    let worked = processor().zip(before).map(|(now, before)| now.saturating_sub(before));
                    let once = 1e3 * worked.unwrap_or_else(|| start.elapsed()).as_secs_f64();
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

#[divan::bench(args = PLANTS.map(|p| p.0))]
fn watched_full(bencher: divan::Bencher<'_, '_>, name: &str) {
    let run = Run::of(name, joint_of(name), Detail::FULL, MINUTES_10);
    bencher.bench_local(|| drive(&run, Detail::FULL, Effort::WATCHED));
}

/// A batch of four members: divan prints the most bytes that were held at once; a quarter is a member's.
#[divan::bench(args = PLANTS.map(|p| p.0))]
fn four_members_coarse(bencher: divan::Bencher<'_, '_>, name: &str) {
    let run = Run::of(name, joint_of(name), Detail::COARSE, MINUTES_10);
    bencher.bench_local(|| side_by_side::<4>(&run, 0));
}

fn joint_of(name: &str) -> &'static str {
    PLANTS.iter().find(|p| p.0 == name).map_or("", |p| p.1)
}
