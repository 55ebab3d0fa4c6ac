//! An action as the line that says it.

use super::Word;
use crate::bay::action::{
    Action, GaugeRange, Key, Micros, Perceived, Probe, Reading, Remedy, SECOND, SafetyStep, TestEntry, Verdict,
};
use crate::tell;

pub(super) const STEPS: [(&str, SafetyStep); 6] = [
    ("protection", SafetyStep::Protection),
    ("ventilation", SafetyStep::Ventilation),
    ("extinguisher", SafetyStep::Extinguisher),
    ("chocks", SafetyStep::Chocks),
    ("drip-tray", SafetyStep::DripTray),
    ("pressure-away", SafetyStep::PressureAway),
];
pub(super) const RANGES: [(&str, GaugeRange); 3] =
    [("suction", GaugeRange::Suction), ("pressure", GaugeRange::Pressure), ("absolute", GaugeRange::Absolute)];
/// What is read with nothing more to say about it.
pub(super) const READ: [(&str, Probe); 11] = [
    ("second", Probe::Second),
    ("jar", Probe::Jar),
    ("dip", Probe::Dip),
    ("sensor", Probe::OwnSensor),
    ("effort", Probe::Effort),
    ("battery", Probe::Battery),
    ("revs", Probe::Revs),
    ("mean", Probe::RecordMean),
    ("peak", Probe::RecordPeak),
    ("swing", Probe::RecordSwing),
    ("uneven", Probe::RecordUneven),
];
pub(super) const PERCEIVED: [(&str, Perceived); 6] = [
    ("glass", Perceived::Glass),
    ("primer", Perceived::Primer),
    ("cap", Perceived::Cap),
    ("engine", Perceived::Engine),
    ("sample", Perceived::Sample),
    ("pump", Perceived::Pump),
];
pub(super) const REMEDIES: [(&str, Remedy); 3] =
    [("replace", Remedy::Replace), ("clean", Remedy::Clean), ("reseal", Remedy::Reseal)];

pub(super) const VERDICTS: [(&str, Verdict); 4] = [
    ("within", Verdict::Within),
    ("outside", Verdict::Outside),
    ("not-proven", Verdict::NotProven),
    ("invalid", Verdict::Invalid),
];

fn word_of<T: Copy + PartialEq>(value: T, list: &[(&'static str, T)]) -> &'static str {
    list.iter().find(|(_, v)| *v == value).map_or("", |(word, _)| word)
}

/// The line that says this action; [`read`](super::read) gives the action back.
pub fn print(action: &Action) -> String {
    match action {
        Action::MakeSafe { step } => format!("safe {}", word_of(*step, &STEPS)),
        Action::Ask { question } => format!("ask {}", name(question)),
        Action::Look { part } => format!("look {}", name(part)),
        Action::FitTee { joint, new_seals } => format!("fit {}{}", name(joint), seals(*new_seals)),
        Action::RemoveTee { new_seals } => format!("remove{}", seals(*new_seals)),
        Action::Purge => "purge".to_owned(),
        Action::Zero => "zero".to_owned(),
        Action::Key { to: Key::On } => "key on".to_owned(),
        Action::Key { to: Key::Off } => "key off".to_owned(),
        Action::Crank { secs } => format!("crank {secs}"),
        Action::Speed { rpm } => format!("speed {rpm}"),
        Action::Load { share } => format!("load {share}"),
        Action::Snap => "snap".to_owned(),
        Action::Tap { part, open } => format!("tap {} {}", name(part), lever(*open)),
        Action::Range { range } => format!("range {}", word_of(*range, &RANGES)),
        Action::SecondGauge { joint } => format!("second {}", name_or_off(joint.as_deref())),
        Action::Sample => "sample".to_owned(),
        Action::Codes => "codes".to_owned(),
        Action::Listen { part } => format!("listen {}", name(part)),
        Action::ZeroClamp { large } => format!("clampzero{}", if *large { " large" } else { "" }),
        Action::Capture { part, start } => format!("capture {}{}", name(part), if *start { " start" } else { "" }),
        Action::Battery => "battery".to_owned(),
        Action::Measure { probe } => print_probe(probe),
        Action::RecordTest { entry } => format!("record {}", print_entry(entry)),
        Action::Pinch { part, on } => format!("pinch {} {}", name(part), on_off(*on)),
        Action::Blank { joint } => format!("plug {}", name_or_off(joint.as_deref())),
        Action::Bridge { part, on } => format!("bridge {} {}", name(part), on_off(*on)),
        Action::Deliver { joint, secs, throttled } => {
            format!("deliver {} {secs}{}", name(joint), if *throttled { "" } else { " free" })
        }
        Action::ReturnFlow { secs } => format!("returnflow {secs}"),
        Action::VacuumTest => "drawdown".to_owned(),
        Action::AirTest => "airtest".to_owned(),
        Action::Treat { place, warm: true } => format!("warm {}", name(place)),
        Action::Treat { place, warm: false } => format!("cool {}", name(place)),
        Action::Wiggle { place } => format!("wiggle {}", name(place)),
        Action::Refuel { litres } => format!("refuel {litres}"),
        Action::Tilt { degrees } => format!("tilt {degrees}"),
        Action::Valve { open } => format!("valve {}", lever(*open)),
        Action::Cap { open: true } => "cap open".to_owned(),
        Action::Cap { open: false } => "cap shut".to_owned(),
        Action::Container { joint: Some(joint) } => format!("container {}", name(joint)),
        Action::Container { joint: None } => "container back".to_owned(),
        Action::Prime { strokes } => format!("prime {strokes}"),
        Action::Wait { secs } => format!("wait {secs}"),
        Action::Record { reading } => format!("record {}", print_reading(reading)),
        Action::Amend { line, reading } => format!("amend {line} {}", print_reading(reading)),
        Action::Note { what, seen } => {
            let known = super::seen_words(*what).contains(&seen.as_str());
            format!("note {} {}", word_of(*what, &PERCEIVED), if known { seen.clone() } else { quote(seen) })
        }
        Action::Predict { prediction: p } => {
            let given = p.candidate.as_ref().map(|c| format!(" if {}", name(c))).unwrap_or_default();
            format!("predict {} {}..{} mbar{given}", p.state.word(), p.low_mbar, p.high_mbar)
        }
        Action::Believe { points } => {
            let shares = points.iter().map(|(candidate, points)| format!(" {} {points}", name(candidate)));
            format!("believe{}", shares.collect::<String>())
        }
        Action::Hint { level } => format!("hint {level}"),
        Action::Submit { finding: f } => {
            let mut line = format!("submit {} {}", name(&f.candidate), f.confidence);
            if !f.evidence.is_empty() {
                line += " because";
                for n in &f.evidence {
                    line += &format!(" {n}");
                }
            }
            for out in &f.ruled_out {
                line += &format!(" not {}", name(&out.candidate));
                for n in &out.lines {
                    line += &format!(" {n}");
                }
            }
            if !f.words.is_empty() {
                line = line + " " + &quote(&f.words);
            }
            line
        }
        Action::Repair { part, remedy } => format!("repair {} {}", name(part), word_of(*remedy, &REMEDIES)),
        Action::Bleed => "bleed".to_owned(),
        Action::LeakCheck => "leakcheck".to_owned(),
        Action::HandBack => "handback".to_owned(),
    }
}

/// Where a lever stands.
fn lever(open: f64) -> String {
    match open {
        1.0 => "open".to_owned(),
        o if o == 0.0 && o.is_sign_positive() => "shut".to_owned(),
        o => o.to_string(),
    }
}

const fn on_off(on: bool) -> &'static str {
    if on { "on" } else { "off" }
}

fn name_or_off(text: Option<&str>) -> String {
    text.map_or_else(|| "off".to_owned(), name)
}

fn print_probe(probe: &Probe) -> String {
    match probe {
        Probe::Volts { from, to } => format!("volts {} {}", name(from), name(to)),
        Probe::Clamp { part } => format!("clamp {}", name(part)),
        Probe::Thermometer { place } => format!("thermometer {}", name(place)),
        simple => {
            let word = READ.iter().find(|(_, p)| p == simple).map_or("", |(word, _)| word);
            format!("read {word}")
        }
    }
}

fn print_entry(e: &TestEntry) -> String {
    let mut line = format!("{} {}", e.quantity.word(), e.value);
    if let Some(unit) = e.unit {
        line = line + " " + unit.symbol();
    }
    line = line + " " + &e.verdict.words().replace(' ', "-");
    if !e.source.is_empty() {
        line = line + " from " + &quote(&e.source);
    }
    if !e.remark.is_empty() {
        line = line + " remark " + &quote(&e.remark);
    }
    line
}

fn seals(new: bool) -> &'static str {
    if new { "" } else { " old-seals" }
}

fn print_reading(r: &Reading) -> String {
    let mut line = format!("{} {}", r.state.word(), r.value);
    if let Some(unit) = r.unit {
        line = line + " " + unit.symbol();
    }
    line = line + " " + &r.verdict.words().replace(' ', "-");
    if !r.source.is_empty() {
        line = line + " from " + &quote(&r.source);
    }
    if let Some((from, to)) = r.window {
        line += &format!(" window {}..{}", exact(from), exact(to));
    }
    if !r.remark.is_empty() {
        line = line + " remark " + &quote(&r.remark);
    }
    line
}

/// Seconds to the microsecond.
fn exact(t: Micros) -> String {
    match t % SECOND {
        0 => format!("{}s", t / SECOND),
        part => format!("{}.{}s", t / SECOND, format!("{part:06}").trim_end_matches('0')),
    }
}

/// A name, in quotes unless it is one plain word that can't be taken for another.
pub(super) fn name(text: &str) -> String {
    let first = text.chars().next().is_some_and(char::is_alphabetic);
    let plain = first && text.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.'));
    let reserved = [
        "back",
        "old-seals",
        "old_seals",
        "if",
        "because",
        "not",
        "off",
        "on",
        "free",
        "open",
        "shut",
        "large",
        "start",
    ];
    if plain && !reserved.iter().any(|word| super::cut::same(word, text)) { text.to_owned() } else { quote(text) }
}

fn quote(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out += "\\\"",
            '\\' => out += "\\\\",
            '\n' => out += "\\n",
            '\t' => out += "\\t",
            '\r' => out += "\\r",
            c if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') => out += &format!("\\u{{{:x}}}", c as u32),
            c => out.push(c),
        }
    }
    out + "\""
}

/// Everything known about a verb, as a paragraph.
pub(super) fn explain(word: &Word) -> String {
    tell!("bay-help-explain", doc = word.doc, syntax = word.syntax, example = word.example)
}
