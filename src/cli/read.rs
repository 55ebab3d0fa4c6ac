//! `faultbay read`: a recording that a logger made, in its states and features, with what can't be known.

use std::fmt::Write as _;
use std::fs::File;
use std::io::Write;
use std::path::Path;

use serde::Serialize;

use super::args;
use super::exit::Exit;
use super::job::Shelf;
use super::say::{plain, time};
use crate::analysis::features::{Signals, StateFeatures, What, features};
use crate::analysis::known::{Estimate, between};
use crate::analysis::level::level;
use crate::analysis::states::{Found, Phase, Stretch, states};
use crate::diag::{Diagnostic, Report, id, render};
use crate::diagnosis::ensemble::Unwatched;
use crate::diagnosis::recording::{Recorded, VEHICLES_A_BAND, Weighed, weigh};
use crate::marking::sentence::{in_100, number};
use crate::plant::Plant;
use crate::recording::Recording;
use crate::recording::heading::{Against, Quantity};
use crate::recording::read::{Options, read};
use crate::report::plot;
use crate::trace::Trace;

/// Warmer or colder than the plant by more than this, the belief isn't to be trusted, K.
const OTHER_TEMPERATURE_K: f64 = 8.0;

/// Most words of a column of states that are told as unknown.
const MOST_STRANGE: usize = 6;
/// A first time from which on it is a clock's and not the logger's own, s.
const CLOCK_FROM: f64 = 3600.0;

/// Everything that was found, for people and programs alike.
pub(super) struct Findings {
    pub(super) recording: Recording,
    pub(super) found: Found,
    pub(super) states: Vec<StateFeatures>,
    unknown: Vec<String>,
    weighed: Option<(String, Weighed, Vec<String>)>,
}

/// Reads, tells, draws.
pub fn run(
    typed: &args::Read,
    shelf: &impl Fn() -> anyhow::Result<Shelf>,
    out: &mut impl Write,
) -> anyhow::Result<Exit> {
    let name = plain(&typed.recording.display().to_string());
    // a plant that doesn't exist is told before a long recording is read
    let plant = typed.plant.as_ref().map(|p| shelf()?.plant(p)).transpose()?;
    let Some(mut f) = opened(&typed.recording, &typed.columns)? else { return Ok(Exit::Failed) };
    if let Some(plant) = plant {
        let recorded = Recorded { states: &f.states, joint: typed.joint.as_deref(), raised_rpm: raised_speed(&f) };
        let weighed = weigh(&plant, &recorded, VEHICLES_A_BAND, &Unwatched)
            .map_err(|why| anyhow::anyhow!("{name}: {why}"))?;
        let mut doubts = doubts(&f, &plant, &weighed.joint, typed.joint.is_none());
        if weighed.candidates.last().map_or(0.0, |c| c.2) > 0.2 {
            doubts.push(NO_SUCH_VEHICLE.to_owned());
        }
        f.weighed = Some((plant.title.clone(), weighed, doubts));
    }
    if let Some(file) = &typed.plot {
        let svg = drawn(&f);
        std::fs::write(file, svg).map_err(|why| anyhow::anyhow!("{}: {why}", file.display()))?;
        writeln!(std::io::stderr(), "The plot is in {}.", file.display())?;
    }
    if typed.json {
        writeln!(out, "{}", serde_json::to_string_pretty(&as_json(&f))?)?;
    } else {
        out.write_all(text(&name, &f).as_bytes())?;
    }
    out.flush()?;
    Ok(Exit::Done)
}

/// Reads a recording; what is wrong with it goes to standard error, and nothing comes back when it can't be used.
pub(super) fn opened(path: &Path, columns: &args::Columns) -> anyhow::Result<Option<Findings>> {
    let name = plain(&path.display().to_string());
    let options = Options {
        barometer_mbar: columns.barometer,
        state_column: columns.state_column.clone(),
        pressure_column: columns.pressure_column.clone(),
        most_samples: None,
    };
    let (recording, report) = match File::open(path) {
        Ok(file) => read(file, &name, &options),
        Err(why) => {
            let mut report = Report::new();
            report.push(Diagnostic::new(id::RECORDING_UNREADABLE, &name, 0..0, format!("can't be opened: {why}")));
            (None, report)
        }
    };
    if !report.is_empty() {
        write!(std::io::stderr(), "{}", render::text(&report))?;
    }
    Ok(recording.map(findings))
}

fn signals(r: &Recording) -> Signals<'_> {
    Signals {
        t: &r.t,
        mbar: r.column(Quantity::Pressure).unwrap_or(&[]),
        rpm: r.column(Quantity::Speed),
        gas: r.column(Quantity::Gas),
        amps: r.column(Quantity::Current),
        volts: r.column(Quantity::Voltage),
        thinned: r.thinned > 1,
    }
}

fn findings(recording: Recording) -> Findings {
    let s = signals(&recording);
    let words = recording.words();
    let (stretches, found) = states(s.t, s.mbar, s.rpm, words.as_deref());
    let states = features(&s, &stretches);
    let unknown = unknown(&recording, &states, found);
    Findings { recording, found, states, unknown, weighed: None }
}

/// What can't be known, in sentences.
fn unknown(r: &Recording, states: &[StateFeatures], found: Found) -> Vec<String> {
    let mut list = vec![];
    if states.is_empty() {
        list.push("No state can be told apart: nothing changes, or there are too few samples.".to_owned());
    }
    let missing: Vec<&str> = [Phase::Rest, Phase::Crank, Phase::Idle, Phase::Raised, Phase::DeadHead, Phase::Hold]
        .into_iter()
        .filter(|p| !states.iter().any(|s| s.stretch.phase == *p))
        .map(Phase::word)
        .collect();
    if !missing.is_empty() && !states.is_empty() {
        list.push(format!("Not recorded: {}.", missing.join(", ")));
    }
    let mut said: Vec<(&str, What)> = vec![];
    for s in states {
        for (what, known) in &s.list {
            let Err(why) = known else { continue };
            let key = (s.stretch.phase.word(), *what);
            // another stretch of the same state may show it
            let elsewhere = states.iter().any(|o| o.stretch.phase == s.stretch.phase && o.get(*what).is_ok());
            if !elsewhere && !said.contains(&key) {
                said.push(key);
                list.push(format!("{}, {}: {why}.", capital(key.0), what.words()));
            }
        }
    }
    if states.iter().any(|s| s.get(What::RippleFrequency).is_ok()) {
        list.push(format!(
            "Whether a ripple is quicker than {:.0} Hz: with a sample every {} it would show as a slower one.",
            0.5 / r.interval(),
            pace(r.interval())
        ));
    }
    let rest = states.iter().any(|s| s.stretch.phase == Phase::Rest);
    list.push(if rest {
        "Whether the level at rest is the standing column or an instrument that wasn't zeroed: it was or wasn't \
         seen at zero with its hose open."
            .to_owned()
    } else {
        "Whether the instrument was zeroed: there is no reading at rest.".to_owned()
    });
    if found == Found::FromPressure && !states.is_empty() {
        let column =
            if r.states.is_some() { "a column of states that can be understood" } else { "a column of states" };
        list.push(format!("Whether the states are named right: neither engine speed nor {column} is there."));
    }
    if r.column(Quantity::Gas).is_none() {
        list.push("Whether air passed in the glass: not recorded.".to_owned());
    }
    if r.column(Quantity::Temperature).is_none() {
        list.push("How warm the fuel was: not recorded; cold fuel draws deeper.".to_owned());
    }
    list.push("Where the tee sat, and which fuel is in the tank.".to_owned());
    list
}

pub(super) fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + letters.as_str())
}

/// Speed at which the engine was raised.
pub(super) fn raised_speed(f: &Findings) -> Option<f64> {
    let rpm = f.recording.column(Quantity::Speed)?;
    let raised = f.states.iter().filter(|s| s.stretch.phase == Phase::Raised);
    let s = raised.max_by(|a, b| a.stretch.length().total_cmp(&b.stretch.length()))?.stretch;
    let part = between(&f.recording.t, rpm, s.from + 0.4 * s.length(), s.to);
    level(&part).ok().map(|l| l.value)
}

/// What "none of these" means.
pub(super) const NO_SUCH_VEHICLE: &str = "No vehicle of this plant with one of these faults shows such readings: look for another plant, fuel or joint, two \
     faults, or a fault that isn't in the list.";

/// Why the belief may be worth less than it looks.
pub(super) fn doubts(f: &Findings, plant: &Plant, joint: &str, joint_assumed: bool) -> Vec<String> {
    let mut list = vec![];
    if joint_assumed {
        list.push(format!(
            "The tee is taken to sit at “{joint}”, the plant's last joint; say otherwise with --joint."
        ));
    }
    let plant_c = plant.temperature.kelvin() - 273.15;
    match f.recording.column(Quantity::Temperature).map(|c| level(&with_times(&f.recording.t, c))) {
        Some(Ok(t)) if (t.value - plant_c).abs() > OTHER_TEMPERATURE_K => list.push(format!(
            "The recorded temperature of {:.0} °C isn't the plant's {plant_c:.0} °C: its drops are other ones.",
            t.value
        )),
        Some(Ok(_)) => {}
        _ => list.push(format!("The fuel is taken to have {plant_c:.0} °C, as the plant says.")),
    }
    list.push("The fuel is taken to be the plant's; another one draws differently.".to_owned());
    if f.found == Found::FromPressure {
        list.push("The states are guessed; a state that is named wrongly speaks for the wrong fault.".to_owned());
    }
    let phases: Vec<Phase> = f.states.iter().map(|s| s.stretch.phase).collect();
    if !phases.contains(&Phase::Idle) || phases.first() != Some(&Phase::Rest) {
        list.push(
            "The recording doesn't run from rest through idle: what happened before it is guessed.".to_owned(),
        );
    }
    list
}

fn with_times(t: &[f64], values: &[f64]) -> Vec<(f64, f64)> {
    t.iter().copied().zip(values.iter().copied()).collect()
}

/// The pressure with a tick for each state.
fn drawn(f: &Findings) -> String {
    let trace = ticked(f);
    plot::pressure::stretch(&trace, 0, trace.at.last().copied().unwrap_or(0), "The recording", &[]).standalone()
}

/// The recording as a trace, from 0, with a tick where each state begins.
pub(super) fn ticked(f: &Findings) -> Trace {
    let mut trace = f.recording.to_trace();
    let start = f.recording.t.first().copied().unwrap_or(0.0);
    trace.ticks = f
        .states
        .iter()
        .map(|s| crate::trace::Tick {
            at: ((s.stretch.from - start).max(0.0) * 1e6) as u64,
            word: s.stretch.phase.word().to_owned(),
        })
        .collect();
    trace
}

/// Decimals that a value deserves: two figures of its uncertainty.
fn decimals(error: f64) -> usize {
    if !(error > 0.0 && error.is_finite()) {
        return 2;
    }
    (0..5).find(|&d| error * crate::ops::powi(10.0, d) >= 9.5).map_or(5, |d| d as usize).min(4)
}

fn cells(e: &Estimate) -> (String, String) {
    let d = decimals(e.error);
    (number(e.value, d), number(e.error, d))
}

fn text(name: &str, f: &Findings) -> String {
    let mut out = format!("{name}\n\nUnderstood\n");
    understood(&mut out, &f.recording);
    table(&mut out, f);
    out += "\nCan't be known from this recording\n";
    for line in &f.unknown {
        let _ = writeln!(out, "  {line}");
    }
    if let Some((title, weighed, doubts)) = &f.weighed {
        belief(&mut out, title, weighed, doubts);
    }
    out + "\nTraining values. On a real machine use its maker's data.\n"
}

/// Shares of a power of ten at which loggers sample.
const USUAL: [f64; 6] = [1.0, 2.0, 2.5, 4.0, 5.0, 10.0];
/// A pace this near to one of those is that one: a logger's clock and its rounding.
const NEAR: f64 = 0.02;

/// Time between samples, s. Of a thinned recording the mean, since the kept ones lie anywhere; else the mean where a logger
/// could have that pace, since rounded times make the gap in the middle too short or too long; else that one, since a
/// logger may slow down while nothing happens.
fn usual_gap(r: &Recording) -> f64 {
    let mean = r.span() / r.rows.saturating_sub(1).max(1) as f64;
    if r.thinned > 1 || !r.is_uneven() && as_usual(mean).is_some() { mean } else { r.interval() }
}

/// The power of ten below a time, s.
fn power_below(s: f64) -> f64 {
    let mut power = 1e-9;
    while 10.0 * power <= s {
        power *= 10.0;
    }
    power
}

/// The pace of loggers that a time between samples is, s; none when it is none of them.
fn as_usual(s: f64) -> Option<f64> {
    let power = power_below(s);
    USUAL.into_iter().find(|u| (s / power - u).abs() <= NEAR * u).map(|u| u * power)
}

/// A time between samples as people say it: a usual one, else two figures.
fn pace(s: f64) -> String {
    if !(s > 0.0 && s.is_finite()) {
        return "moment".to_owned();
    }
    let power = power_below(s);
    let shown = as_usual(s).unwrap_or_else(|| (10.0 * s / power).round() / 10.0 * power);
    let plain = format!("{shown:.9}");
    format!("{} s", plain.trim_end_matches('0').trim_end_matches('.'))
}

fn understood(out: &mut String, r: &Recording) {
    let width = r.headings.iter().map(|h| h.name.chars().count()).max().unwrap_or(0);
    for h in &r.headings {
        let unit = h.unit.map_or(String::new(), |u| format!(", {}", u.symbol));
        let against = match (h.quantity, h.against) {
            (Quantity::Pressure, Against::Vacuum) => " against vacuum",
            (Quantity::Pressure, Against::AirReversed) => " of suction",
            (Quantity::Pressure, _) => " gauge",
            _ => "",
        };
        let _ = writeln!(out, "  {:<width$}  {}{unit}{against}", plain(&h.name), h.quantity.words());
    }
    if !r.ignored.is_empty() {
        let _ = writeln!(out, "  Left alone: {}.", plain(&r.ignored.join(", ")));
    }
    let span = time((r.span() * 1e6) as u64);
    let gaps = r.column(Quantity::Pressure).map_or(0, |p| p.iter().filter(|v| !v.is_finite()).count());
    let uneven = r.thinned == 1 && r.is_uneven();
    let _ = writeln!(
        out,
        "  {} samples over {span}, {}one every {}{}.",
        r.rows,
        if uneven { "unevenly, mostly " } else { "" },
        pace(usual_gap(r)),
        if gaps > 0 { format!("; {gaps} without a pressure") } else { String::new() }
    );
    if r.thinned > 1 {
        let _ = writeln!(
            out,
            "  Of every {} samples the lowest and the highest were kept: spikes are all there, ripple isn't.",
            2 * r.thinned
        );
    }
    for line in &r.assumed {
        let _ = writeln!(out, "  {}", plain(line));
    }
    let strange: Vec<&str> = r
        .vocabulary
        .iter()
        .map(String::as_str)
        .filter(|w| !w.trim().is_empty() && Phase::from_word(w).is_none())
        .collect();
    if r.states.is_some() && !strange.is_empty() {
        let shown: Vec<String> =
            strange.iter().take(MOST_STRANGE).map(|w| format!("\u{201c}{w}\u{201d}")).collect();
        let more = if strange.len() > MOST_STRANGE { " and others" } else { "" };
        let known: Vec<&str> = Phase::ALL.iter().take(7).map(|p| p.word()).collect();
        let _ = writeln!(
            out,
            "  No state that is known here: {}{more}. Understood are {} and words like them.",
            plain(&shown.join(", ")),
            known.join(", ")
        );
    }
}

/// When the recording begins, if its clock doesn't begin at nought: a time of day of five figures tells nobody anything.
fn begins(r: &Recording) -> f64 {
    r.t.first().copied().filter(|t| t.abs() >= CLOCK_FROM).unwrap_or(0.0)
}

fn table(out: &mut String, f: &Findings) {
    if f.states.is_empty() {
        return;
    }
    let start = begins(&f.recording);
    let clock = if start == 0.0 { "from the recording" } else { "after its first sample" };
    let _ = writeln!(out, "\nStates, {}; times in s {clock}", f.found.words());
    let _ = writeln!(
        out,
        "  {:>9} {:>9}  {:<10} {:<26} {:>10} {:>9}  {:<9} {:>7}",
        "from", "to", "state", "what", "value", "±", "unit", "samples"
    );
    for s in &f.states {
        let mut head = format!(
            "  {:>9} {:>9}  {:<10}",
            number(s.stretch.from - start, 1),
            number(s.stretch.to - start, 1),
            s.stretch.phase.word()
        );
        let blank = " ".repeat(head.chars().count());
        let mut said = false;
        for (what, known) in &s.list {
            let Ok(e) = known else { continue };
            let (value, error) = cells(e);
            let _ = writeln!(
                out,
                "{head} {:<26} {value:>10} {error:>9}  {:<9} {:>7}",
                what.words(),
                what.unit(),
                e.samples
            );
            head.clone_from(&blank);
            said = true;
        }
        if let Some(shape) = s.shape {
            let _ = writeln!(out, "{head} {:<26} {:>10}", "decay", shape.words());
            said = true;
        }
        if !said {
            let _ = writeln!(out, "{head} nothing that can be told");
        }
    }
}

fn belief(out: &mut String, title: &str, w: &Weighed, doubts: &[String]) {
    let _ = writeln!(out, "\nHeld against {} simulated vehicles: {}", w.vehicles, plain(title));
    let mut order: Vec<usize> = (0..w.candidates.len()).collect();
    order.sort_by(|&a, &b| w.candidates[b].2.total_cmp(&w.candidates[a].2));
    for k in order {
        let (label, before, after, error) = &w.candidates[k];
        let error = if *error < 0.005 { String::new() } else { format!(" ± {:.0}", 100.0 * error) };
        let _ = writeln!(out, "  {:<34} {}{error} (before: {:.0})", plain(label), in_100(*after), 100.0 * before);
    }
    let _ = writeln!(out, "  What speaks: recorded, and usual for a sound vehicle");
    for (phase, what, value, usual) in &w.evidence {
        let d = if *what == What::Gas { 3 } else { 1 };
        let words = format!("{}, {}", phase.word(), what.words());
        let _ = writeln!(out, "    {words:<36} {:>9} {:>9}  {}", number(*value, d), number(*usual, d), what.unit());
    }
    let _ = writeln!(out, "  Would tell more, the most for its time first");
    let worth: Vec<_> = w.further.iter().filter(|f| f.bits >= 0.02).take(4).collect();
    if worth.is_empty() {
        let _ = writeln!(out, "    nothing among the tests known here");
    }
    for f in worth {
        let _ = writeln!(out, "    {}: {:.2} bits in about {:.0} min", capital(&plain(&f.test)), f.bits, f.minutes);
    }
    out.push_str("  Mind\n");
    for line in doubts {
        let _ = writeln!(out, "    {}", plain(line));
    }
    out.push_str(
        "    The belief is that of somebody who holds this model for true and knows these faults only. It proves \
         nothing; isolate before changing a part.\n",
    );
}

#[derive(Serialize)]
struct JsonColumn<'a> {
    heading: &'a str,
    quantity: &'static str,
    unit: Option<&'static str>,
}

#[derive(Serialize)]
struct JsonFeature {
    what: &'static str,
    unit: &'static str,
    value: Option<f64>,
    uncertainty: Option<f64>,
    samples: Option<usize>,
    unknown_because: Option<String>,
}

#[derive(Serialize)]
struct JsonState {
    state: &'static str,
    from_s: f64,
    to_s: f64,
    decay: Option<&'static str>,
    features: Vec<JsonFeature>,
}

#[derive(Serialize)]
struct JsonCandidate<'a> {
    label: &'a str,
    before: f64,
    after: f64,
    uncertainty: f64,
}

#[derive(Serialize)]
struct JsonFurther<'a> {
    test: &'a str,
    minutes: f64,
    bits: f64,
}

#[derive(Serialize)]
struct JsonBelief<'a> {
    plant: &'a str,
    joint: &'a str,
    vehicles: usize,
    candidates: Vec<JsonCandidate<'a>>,
    further: Vec<JsonFurther<'a>>,
    doubts: &'a [String],
}

#[derive(Serialize)]
struct Json<'a> {
    columns: Vec<JsonColumn<'a>>,
    left_alone: &'a [String],
    rows: u64,
    span_s: f64,
    thinned: u64,
    assumed: &'a [String],
    states_found: &'static str,
    states: Vec<JsonState>,
    unknown: &'a [String],
    belief: Option<JsonBelief<'a>>,
    note: &'static str,
}

fn as_json(f: &Findings) -> Json<'_> {
    let r = &f.recording;
    let feature = |(what, known): &(What, crate::analysis::known::Known)| {
        let e = known.ok().filter(|e| e.value.is_finite() && e.error.is_finite());
        JsonFeature {
            what: what.words(),
            unit: what.unit(),
            value: e.map(|e| e.value),
            uncertainty: e.map(|e| e.error),
            samples: e.map(|e| e.samples),
            unknown_because: known.err().map(|why| why.to_string()),
        }
    };
    let state = |s: &StateFeatures| {
        let Stretch { phase, from, to } = s.stretch;
        JsonState {
            state: phase.word(),
            from_s: from,
            to_s: to,
            decay: s.shape.map(|shape| shape.words()),
            features: s.list.iter().map(feature).collect(),
        }
    };
    Json {
        columns: r
            .headings
            .iter()
            .map(|h| JsonColumn { heading: &h.name, quantity: h.quantity.words(), unit: h.unit.map(|u| u.symbol) })
            .collect(),
        left_alone: &r.ignored,
        rows: r.rows,
        span_s: r.span(),
        thinned: r.thinned,
        assumed: &r.assumed,
        states_found: f.found.words(),
        states: f.states.iter().map(state).collect(),
        unknown: &f.unknown,
        belief: f.weighed.as_ref().map(|(title, w, doubts)| JsonBelief {
            plant: title,
            joint: &w.joint,
            vehicles: w.vehicles,
            candidates: w
                .candidates
                .iter()
                .map(|(label, before, after, uncertainty)| JsonCandidate {
                    label,
                    before: *before,
                    after: *after,
                    uncertainty: *uncertainty,
                })
                .collect(),
            further: w
                .further
                .iter()
                .map(|f| JsonFurther { test: &f.test, minutes: f.minutes, bits: f.bits })
                .collect(),
            doubts,
        }),
        note: "Training values. On a real machine use its maker's data.",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pace_is_said_as_people_say_it() {
        let cases = [
            (0.1, "0.1 s"),
            (0.009_987, "0.01 s"),
            (0.02, "0.02 s"),
            (0.0401, "0.04 s"),
            (1.0, "1 s"),
            (0.996, "1 s"),
            (60.0, "60 s"),
            (0.009, "0.009 s"),
            (0.0333, "0.033 s"),
            (1.2e-5, "0.000012 s"),
        ];
        for (s, words) in cases {
            assert_eq!(pace(s), words, "{s}");
        }
        assert_eq!(pace(f64::INFINITY), "moment");
    }

    /// A hundred a second with times rounded to milliseconds and a jitter of one, and a logger that slows down at rest.
    #[test]
    fn the_gap_is_the_loggers_and_not_that_of_rounded_times() {
        let of = |times: Vec<f64>| Recording { rows: times.len() as u64, t: times, ..Recording::default() };
        let jitter = of((0..1000).map(|i| f64::from(10 * i - i % 2) / 1000.0).collect());
        assert!((jitter.interval() - 0.01).abs() > 5e-4, "{}", jitter.interval());
        assert_eq!(pace(usual_gap(&jitter)), "0.01 s");
        let slow = (0..200).map(|i| 0.3 * f64::from(i));
        let quick = (0..9000).map(|i| 60.0 + 0.02 * f64::from(i));
        assert_eq!(pace(usual_gap(&of(slow.chain(quick).collect()))), "0.02 s");
    }
}
