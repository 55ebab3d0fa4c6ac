//! `faultbay fit`: the vehicle that comes nearest to a recording made elsewhere, how sure that is, and a job to begin with.

use std::fmt::Write as _;
use std::io::{IsTerminal, Write};
use std::sync::atomic::AtomicU8;

use serde::Serialize;

use super::exit::Exit;
use super::fair::Progress;
use super::job::Shelf;
use super::read::{Findings, NO_SUCH_VEHICLE, capital, doubts, opened, raised_speed, ticked};
use super::say::plain;
use super::{again, args, fresh};
use crate::analysis::features::What;
use crate::authoring::from_recording::starting_job;
use crate::diagnosis::recording::Recorded;
use crate::diagnosis::recording::fit::{Compared, Fit, Fitted, Verdict, fit};
use crate::marking::sentence::number;
use crate::plant::Plant;
use crate::report::plot::residual::{Pair, chart};

/// Off by more than this, a number is pointed at, doubts.
const ODD: f64 = 2.0;

/// Reads, fits, tells, draws, writes.
pub fn run(typed: &args::Fit, shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<Exit> {
    let name = plain(&typed.recording.display().to_string());
    for file in typed.plot.iter().chain(&typed.job) {
        fresh::is_free(file)?;
    }
    // a plant that doesn't exist is told before a long recording is read
    let plant = shelf.plant(&typed.plant)?;
    let Some(f) = opened(&typed.recording, &typed.columns)? else { return Ok(Exit::Failed) };
    let recorded = Recorded { states: &f.states, joint: typed.at.as_deref(), raised_rpm: raised_speed(&f) };
    let watch = Progress(AtomicU8::new(0), std::io::stderr().is_terminal());
    let fitted = fit(&plant, &recorded, &watch).map_err(|why| anyhow::anyhow!("{name}: {why}"))?;
    if watch.1 {
        writeln!(std::io::stderr())?;
    }
    if let Some(file) = &typed.plot {
        let svg = drawn(&f, &plant, &fitted);
        fresh::write(file, svg.as_bytes())?;
        writeln!(std::io::stderr(), "The plot is in {}.", file.display())?;
    }
    let refused = typed.job.as_ref().filter(|_| fitted.verdict == Verdict::NothingFits);
    if let Some(file) = typed.job.as_ref().filter(|_| refused.is_none()) {
        let text = starting_job(&plant, &fitted, &name).map_err(|why| anyhow::anyhow!("{name}: {why}"))?;
        fresh::write(file, text.as_bytes())?;
        writeln!(
            std::io::stderr(),
            "A job to begin with is in {}: faultbay check {}",
            file.display(),
            again::path(file)
        )?;
    }
    let mut doubts = doubts(&f, &plant, &fitted.joint, typed.at.is_none());
    doubts.iter_mut().for_each(|d| *d = d.replace("--joint", "--at"));
    if fitted.verdict == Verdict::NothingFits {
        doubts.push(NO_SUCH_VEHICLE.to_owned());
    }
    if let Some(e) = &fitted.elsewhere {
        doubts.push(format!(
            "With the tee at \u{201c}{}\u{201d} the recording is explained more than a thousand times better (\u{201c}{}\u{201d}) \
             than at \u{201c}{}\u{201d}: was it there? Then say so with --at.",
            e.joint, e.label, fitted.joint
        ));
    }
    if typed.json {
        writeln!(out, "{}", serde_json::to_string_pretty(&as_json(&plant, &fitted, &doubts))?)?;
    } else {
        out.write_all(text(&name, &plant, &fitted, &doubts).as_bytes())?;
    }
    out.flush()?;
    if let Some(file) = refused {
        writeln!(std::io::stderr(), "{}", no_job(file, &typed.plant, &fitted, shelf))?;
        return Ok(Exit::Failed);
    }
    Ok(Exit::Done)
}

/// Why no job was written, and how to go on.
fn no_job(file: &std::path::Path, plant: &str, fitted: &Fitted, shelf: &Shelf) -> String {
    let elsewhere = fitted.elsewhere.as_ref().map_or_else(
        || "Try another joint (--at) or vehicle (--plant)".to_owned(),
        |e| format!("Try it with --at {}", again::word(&e.joint)),
    );
    format!(
        "No job is in {}: nothing fits, so it would hide what wasn't recorded. {elsewhere}, or begin with a job on this \
         vehicle and hide in it what you know was wrong: faultbay new job NAME --plant {}{}",
        file.display(),
        again::word(plant),
        shelf.options()
    )
}

fn pairs(fitted: &Fitted) -> Vec<Pair> {
    let pair = |c: &Compared| Pair {
        words: format!("{}, {}", c.phase.word(), c.what.words()),
        unit: c.what.unit(),
        values: c.values,
        off: c.off,
    };
    fitted.compared.iter().map(pair).collect()
}

fn drawn(f: &Findings, plant: &Plant, fitted: &Fitted) -> String {
    let start = f.recording.t.first().copied().unwrap_or(0.0);
    let first = f.states.first().map_or(start, |s| s.stretch.from);
    let mut there = fitted.trace.clone();
    let late = ((first - start).max(0.0) * 1e6) as u64;
    there.at.iter_mut().for_each(|t| *t += late);
    chart(&plant.title, &ticked(f), &there, &pairs(fitted)).standalone()
}

/// What can be said, in a sentence.
fn verdict(fitted: &Fitted) -> String {
    let label = |f: &Fit| format!("\u{201c}{}\u{201d}", f.label);
    match fitted.verdict {
        Verdict::Found => {
            format!("{} fits; every other cause fits less than a tenth as well.", label(&fitted.fits[0]))
        }
        Verdict::CantTell => {
            let mut labels: Vec<String> = vec![];
            for f in &fitted.fits {
                if !labels.contains(&label(f)) {
                    labels.push(label(f));
                }
            }
            format!("Can't tell: {} fit about as well as one another.", labels.join(" and "))
        }
        Verdict::NothingFits => "Nothing fits: what comes nearest lies further off than doubts allow.".to_owned(),
    }
}

fn text(name: &str, plant: &Plant, fitted: &Fitted, doubts: &[String]) -> String {
    let mut out = format!(
        "{name}, held against {} simulated vehicles: {}, tee at \u{201c}{}\u{201d}\n\n{}\n\nFits\n",
        fitted.vehicles,
        plain(&plant.title),
        fitted.joint,
        verdict(fitted)
    );
    for f in &fitted.fits {
        let [s, low, high] = f.severity;
        let code = if f.code.is_empty() { String::new() } else { format!(" ({})", f.code) };
        let place = if f.at.is_empty() { String::new() } else { format!(" at \u{201c}{}\u{201d}", f.at) };
        let severe = match f.code.is_empty() {
            true => String::new(),
            false => {
                format!(", severity {}, nine times in ten {} to {}", number(s, 1), number(low, 1), number(high, 1))
            }
        };
        let _ = writeln!(
            out,
            "  {}{code}{place}{severe}; {} of the best{}",
            plain(&f.label),
            number(f.against_best, 2),
            if f.against_best < 1.0 {
                format!(", mistaken for it {:.0} in 100", 100.0 * f.mistaken)
            } else {
                String::new()
            }
        );
    }
    if !fitted.unseen.is_empty() {
        let one = |(label, at, most): &(String, String, f64)| {
            let place = if at.is_empty() { String::new() } else { format!(" at \u{201c}{at}\u{201d}") };
            let most = if *most < 4.95 { format!(" up to severity {}", number(*most, 1)) } else { String::new() };
            format!("{}{place}{most}", plain(label))
        };
        let all: Vec<String> = fitted.unseen.iter().map(one).collect();
        let _ = writeln!(out, "\nCould be there without leaving a trace in this recording\n  {}.", all.join("; "));
    }
    let _ = writeln!(out, "\nRecorded beside fitted, and how far apart in doubts of measuring and model");
    for c in &fitted.compared {
        let d = if c.what == What::Gas { 3 } else { 1 };
        let odd = if c.off.abs() > ODD { "  !" } else { "" };
        let words = format!("{}, {}", c.phase.word(), c.what.words());
        let _ = writeln!(
            out,
            "  {words:<36} {:>9} {:>9}  {:<9} {:>5}{odd}",
            number(c.values.0, d),
            number(c.values.1, d),
            c.what.unit(),
            number(c.off, 1)
        );
    }
    let most = fitted.tolerances.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    let _ = writeln!(
        out,
        "\nThe fitted vehicle's {} tolerances lie within {} standard deviations.\nMind",
        fitted.tolerances.len(),
        number(most, 1)
    );
    for line in doubts {
        let _ = writeln!(out, "  {}", capital(&plain(line)));
    }
    out + "  A fit proves nothing; isolate before changing a part.\n\nTraining values. On a real machine use its maker's data.\n"
}

#[derive(Serialize)]
struct JsonCompared {
    state: &'static str,
    what: &'static str,
    unit: &'static str,
    recorded: f64,
    fitted: f64,
    apart_in_doubts: f64,
}

#[derive(Serialize)]
struct JsonUnseen<'a> {
    label: &'a str,
    at: &'a str,
    up_to: f64,
}

#[derive(Serialize)]
struct Json<'a> {
    plant: &'a str,
    joint: &'a str,
    verdict: Verdict,
    fits: &'a [Fit],
    unseen: Vec<JsonUnseen<'a>>,
    compared: Vec<JsonCompared>,
    tolerances: &'a [f64],
    vehicles: usize,
    doubts: &'a [String],
    note: &'static str,
}

fn as_json<'a>(plant: &'a Plant, fitted: &'a Fitted, doubts: &'a [String]) -> Json<'a> {
    let compared = |c: &Compared| JsonCompared {
        state: c.phase.word(),
        what: c.what.words(),
        unit: c.what.unit(),
        recorded: c.values.0,
        fitted: c.values.1,
        apart_in_doubts: c.off,
    };
    Json {
        plant: &plant.name,
        joint: &fitted.joint,
        verdict: fitted.verdict,
        fits: &fitted.fits,
        unseen: fitted.unseen.iter().map(|(label, at, up_to)| JsonUnseen { label, at, up_to: *up_to }).collect(),
        compared: fitted.compared.iter().map(compared).collect(),
        tolerances: &fitted.tolerances,
        vehicles: fitted.vehicles,
        doubts,
        note: "Training values. On a real machine use its maker's data.",
    }
}
