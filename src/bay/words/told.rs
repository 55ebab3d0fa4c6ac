//! An action as people are told of it: what was done, in the language spoken. `super::print` gives the line
//! that says it to the bay, which is the same in every language.

use crate::bay::action::{Action, GaugeRange, Key, Probe, Remedy, SafetyStep};
use crate::language::{named, said};
use crate::scenario::model::Job;
use crate::tell;

/// What people call a part or joint of the job's vehicle.
fn label(job: &Job, place: &str) -> String {
    match place {
        "tee" => said("tee").to_owned(),
        "container" => said("scene-container").to_owned(),
        _ => {
            let joint = job.joints.iter().find(|(name, _)| name == place).map(|(_, label)| label.as_str());
            let part = job.plant.part(place).map(|p| p.label.as_str());
            joint.or(part).unwrap_or(place).to_owned()
        }
    }
}

/// A safety step.
pub fn step(step: SafetyStep) -> &'static str {
    match step {
        SafetyStep::Protection => said("safety-protection"),
        SafetyStep::Ventilation => said("safety-ventilation"),
        SafetyStep::Extinguisher => said("safety-extinguisher"),
        SafetyStep::Chocks => said("safety-chocks"),
        SafetyStep::DripTray => said("safety-drip-tray"),
        SafetyStep::PressureAway => said("safety-pressure-away"),
    }
}

/// What is read; `label` says what people call a part or joint.
pub fn probe(probe: &Probe, label: impl Fn(&str) -> String) -> String {
    match probe {
        Probe::Volts { from, to } => tell!("bay-meter-volts", from = from, to = to),
        Probe::Clamp { part } => tell!("bay-meter-clamp", part = label(part)),
        Probe::Thermometer { place } => tell!("bay-meter-temperature", place = label(place)),
        Probe::Second => said("bay-meter-second").to_owned(),
        Probe::Jar => said("bay-meter-jar").to_owned(),
        Probe::Dip => said("bay-meter-dip").to_owned(),
        Probe::OwnSensor => said("bay-meter-own-sensor").to_owned(),
        Probe::Effort => said("bay-meter-effort").to_owned(),
        Probe::Battery => said("bay-meter-battery").to_owned(),
        Probe::Revs => said("bay-meter-revs").to_owned(),
        Probe::RecordMean => said("bay-meter-mean").to_owned(),
        Probe::RecordPeak => said("bay-meter-peak").to_owned(),
        Probe::RecordSwing => said("bay-meter-swing").to_owned(),
        Probe::RecordUneven => said("bay-meter-uneven").to_owned(),
    }
}

/// Where a lever stands: 0 shut … 1 open.
fn lever(open: f64) -> String {
    match open {
        o if o <= 0.0 => said("bay-lever-shut").to_owned(),
        o if o >= 1.0 => said("bay-lever-open").to_owned(),
        o => tell!("bay-did-lever-part", share = format!("{:.0}", 100.0 * o)),
    }
}

fn span(secs: f64) -> String {
    match secs {
        s if s >= 3600.0 => format!("{:.1} h", s / 3600.0),
        s if s >= 120.0 => format!("{:.0} min", s / 60.0),
        s => format!("{s:.0} s"),
    }
}

/// What was done.
pub fn told(action: &Action, job: &Job) -> String {
    let at = |place: &str| label(job, place);
    match action {
        Action::MakeSafe { step: which } => step(*which).to_owned(),
        Action::Ask { question } => {
            let asked = job.questions.iter().find(|q| q.name == *question).map_or(question, |q| &q.ask);
            tell!("marking-quoted", label = asked)
        }
        Action::Look { part } => named(&at(part)).to_owned(),
        Action::Key { to: Key::On } => said("bay-did-key-on").to_owned(),
        Action::Key { to: Key::Off } => said("bay-did-key-off").to_owned(),
        Action::Crank { secs } => tell!("bay-did-crank", secs = format!("{secs:.0}")),
        Action::Speed { rpm } => tell!("bay-did-speed", rpm = format!("{rpm:.0}")),
        Action::Load { share } => tell!("bay-did-load", share = format!("{:.0}", 100.0 * share)),
        Action::Snap => said("bay-offer-snap").to_owned(),
        Action::Wait { secs } => tell!("bay-offer-wait", text = span(*secs)),
        Action::Prime { strokes } => tell!("bay-offer-primer", n = strokes.to_string()),
        Action::Cap { open: true } => said("bay-offer-cap-open").to_owned(),
        Action::Cap { open: false } => said("bay-offer-cap-shut").to_owned(),
        Action::Refuel { litres } => tell!("bay-offer-refuel", l = format!("{litres}")),
        Action::Tilt { degrees: d } if *d > 0.0 && job.plant.is_boat() => {
            tell!("bay-did-bow-up", d = format!("{d:.0}"))
        }
        Action::Tilt { degrees: d } if *d < 0.0 && job.plant.is_boat() => {
            tell!("bay-did-bow-down", d = format!("{:.0}", -d))
        }
        Action::Tilt { degrees: d } if *d > 0.0 => tell!("bay-did-tilt-up", d = format!("{d:.0}")),
        Action::Tilt { degrees: d } if *d < 0.0 => tell!("bay-did-tilt-down", d = format!("{:.0}", -d)),
        Action::Tilt { .. } => said("bay-offer-tilt-level").to_owned(),
        Action::Repair { part, remedy } => {
            let remedy = match remedy {
                Remedy::Replace => said("remedy-replace"),
                Remedy::Clean => said("remedy-clean"),
                Remedy::Reseal => said("remedy-reseal"),
            };
            tell!("bay-did-at", label = at(part), what = remedy)
        }
        Action::Bleed => said("bay-offer-bleed").to_owned(),
        Action::LeakCheck => said("bay-offer-leakcheck").to_owned(),
        Action::HandBack => said("report-work-hand-back").to_owned(),
        _ => tee(action, job).or_else(|| measured(action, job)).unwrap_or_else(|| written(action)),
    }
}

/// What is done with the tee, its instrument and the way that it sits in.
fn tee(action: &Action, job: &Job) -> Option<String> {
    let at = |place: &str| label(job, place);
    Some(match action {
        Action::FitTee { joint, new_seals: true } => tell!("bay-did-fit", label = at(joint)),
        Action::FitTee { joint, new_seals: false } => tell!("bay-did-fit-old-seals", label = at(joint)),
        Action::RemoveTee { new_seals: true } => said("bay-offer-remove").to_owned(),
        Action::RemoveTee { new_seals: false } => said("bay-offer-remove-old-seals").to_owned(),
        Action::Purge => said("bay-offer-purge").to_owned(),
        Action::Zero => said("bay-offer-zero").to_owned(),
        Action::Valve { open } => tell!("bay-offer-valve", text = lever(*open)),
        Action::Tap { part, open } => tell!("bay-offer-lever-of", label = at(part), text = lever(*open)),
        Action::Range { range: GaugeRange::Suction } => said("bay-offer-range-suction").to_owned(),
        Action::Range { range: GaugeRange::Pressure } => said("bay-offer-range-pressure").to_owned(),
        Action::Range { range: GaugeRange::Absolute } => said("bay-offer-range-absolute").to_owned(),
        Action::SecondGauge { joint: Some(joint) } => tell!("bay-did-second", label = at(joint)),
        Action::SecondGauge { joint: None } => said("bay-offer-second-off").to_owned(),
        Action::Pinch { part, on: true } => {
            tell!("bay-did-at", label = at(part), what = said("bay-offer-pinch-on"))
        }
        Action::Pinch { part, on: false } => {
            tell!("bay-did-at", label = at(part), what = said("bay-offer-pinch-off"))
        }
        Action::Blank { joint: Some(joint) } => {
            tell!("bay-did-at", label = at(joint), what = said("bay-offer-plug"))
        }
        Action::Blank { joint: None } => said("bay-offer-plug-off").to_owned(),
        Action::Bridge { part, on: true } => {
            tell!("bay-did-at", label = at(part), what = said("bay-offer-bridge-on"))
        }
        Action::Bridge { on: false, .. } => said("bay-offer-bridge-off").to_owned(),
        Action::Container { joint: Some(joint) } => tell!("bay-did-container", label = at(joint)),
        Action::Container { joint: None } => said("bay-offer-container-back").to_owned(),
        _ => return None,
    })
}

/// What is tested without the tee's gauge.
fn measured(action: &Action, job: &Job) -> Option<String> {
    let at = |place: &str| label(job, place);
    Some(match action {
        Action::Sample => said("bay-offer-sample-bare").to_owned(),
        Action::Codes => said("bay-offer-codes").to_owned(),
        Action::Listen { part } => tell!("bay-did-at", label = at(part), what = said("bay-offer-listen")),
        Action::Battery => said("bay-offer-battery").to_owned(),
        Action::Measure { probe: what } => probe(what, at),
        Action::ZeroClamp { large: false } => said("bay-offer-clampzero").to_owned(),
        Action::ZeroClamp { large: true } => said("bay-offer-clampzero-large").to_owned(),
        Action::Capture { part, start: false } => {
            tell!("bay-did-at", label = at(part), what = said("bay-offer-capture"))
        }
        Action::Capture { part, start: true } => {
            tell!("bay-did-at", label = at(part), what = said("bay-offer-capture-start"))
        }
        Action::Deliver { joint, secs, throttled } => {
            let how = if *throttled { said("bay-deliver-throttled") } else { said("bay-deliver-freely") };
            tell!("bay-did-deliver", label = at(joint), secs = format!("{secs:.0}"), how = how)
        }
        Action::ReturnFlow { secs } => tell!("bay-did-return", secs = format!("{secs:.0}")),
        Action::VacuumTest => said("bay-offer-drawdown").to_owned(),
        Action::AirTest => said("bay-offer-airtest").to_owned(),
        Action::Treat { place, warm: true } => {
            tell!("bay-did-at", label = at(place), what = said("bay-offer-warm"))
        }
        Action::Treat { place, warm: false } => {
            tell!("bay-did-at", label = at(place), what = said("bay-offer-cool"))
        }
        Action::Wiggle { place } => tell!("bay-did-at", label = at(place), what = said("bay-offer-wiggle")),
        _ => return None,
    })
}

/// What was put on paper.
fn written(action: &Action) -> String {
    match action {
        Action::Amend { line, .. } => tell!("sheet-correct", line = line.to_string()),
        Action::Hint { level } => tell!("coach-hint", level = level.to_string()),
        Action::Note { .. } => said("bay-did-note").to_owned(),
        Action::Predict { .. } => said("sheet-write-prediction").to_owned(),
        Action::Believe { .. } => said("candidates-state").to_owned(),
        Action::Submit { .. } => said("finding-submit").to_owned(),
        _ => said("sheet-record").to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::words::{Said, Terms, read};
    use crate::language::{Language, within};
    use crate::scenario::{Library, load_job};

    /// One line for every kind of action that is told in its own words.
    const LINES: &str = "safe chocks\nlook filter\nfit filter-in\nfit filter-in old-seals\nremove\nremove old-seals\npurge\nzero\n\
        key on\nkey off\ncrank 8\nload 0.5\nsnap\nrange pressure\nsecond pump-in\nsecond off\nsample\ncodes\nbattery\n\
        thermometer filter\nread jar\nread battery\nclampzero\nclampzero large\npinch tank-line on\npinch tank-line off\n\
        plug filter-in\nplug off\ndeliver filter-in 30\nreturnflow 30\ndrawdown\nairtest\nwarm filter\ncool filter\n\
        wiggle filter\ntilt 10\ntilt -10\ntilt 0\nvalve shut\nvalve 0.5\nrefuel 10\ncap open\ncap shut\n\
        container filter-in\ncontainer back\nprime 12\nwait 4\nhint 1\nrepair filter replace\nbleed\nleakcheck\nhandback";

    #[test]
    fn what_was_done_is_told_in_each_language_and_never_as_it_is_typed() {
        let (job, _) = load_job(&Library::builtin(), "bypass-puff").unwrap_or_else(|_| unreachable!());
        let terms = Terms::of(&job);
        for line in LINES.lines() {
            let Ok(Some(Said::Do(action))) = read(line, &terms, 60_000_000) else {
                panic!("{line} isn't an action")
            };
            let english = told(&action, &job);
            let german = within(Language::German, || told(&action, &job));
            assert_ne!(english, german, "{line}");
            // what is typed for these is what people say
            let plain = matches!(line, "key on" | "key off" | "hint 1");
            assert!(!english.is_empty() && (plain || english != line), "{line}");
        }
        let of = |line: &str| match read(line, &terms, 60_000_000) {
            Ok(Some(Said::Do(action))) => within(Language::German, || told(&action, &job)),
            _ => panic!("{line}"),
        };
        assert_eq!(of("fit filter-in"), "Prüf-T einbauen an „Filtereingang“");
        assert_eq!(of("valve 0.5"), "Hahn am Prüf-T auf 50 von 100");
    }
}
