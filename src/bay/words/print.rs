//! An action as the line that says it.

use super::Word;
use crate::bay::action::{Action, Key, Micros, Perceived, Reading, Remedy, SECOND, SafetyStep};

pub(super) const STEPS: [(&str, SafetyStep); 6] = [
    ("protection", SafetyStep::Protection),
    ("ventilation", SafetyStep::Ventilation),
    ("extinguisher", SafetyStep::Extinguisher),
    ("chocks", SafetyStep::Chocks),
    ("drip-tray", SafetyStep::DripTray),
    ("pressure-away", SafetyStep::PressureAway),
];
pub(super) const PERCEIVED: [(&str, Perceived); 4] = [
    ("glass", Perceived::Glass),
    ("primer", Perceived::Primer),
    ("cap", Perceived::Cap),
    ("engine", Perceived::Engine),
];
pub(super) const REMEDIES: [(&str, Remedy); 3] =
    [("replace", Remedy::Replace), ("clean", Remedy::Clean), ("reseal", Remedy::Reseal)];

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
        Action::Valve { open } if *open == 1.0 => "valve open".to_owned(),
        Action::Valve { open } if *open == 0.0 && open.is_sign_positive() => "valve shut".to_owned(),
        Action::Valve { open } => format!("valve {open}"),
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
        Action::Submit { finding: f } => {
            let mut line = format!("submit {} {}", name(&f.candidate), f.confidence);
            if !f.evidence.is_empty() {
                line += " because";
                for n in &f.evidence {
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
fn name(text: &str) -> String {
    let first = text.chars().next().is_some_and(char::is_alphabetic);
    let plain = first && text.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.'));
    let reserved = ["back", "old-seals", "old_seals", "if", "because"];
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
    format!("{}\n  Write: {}\n  For example: {}\n", word.doc, word.syntax, word.example)
}
