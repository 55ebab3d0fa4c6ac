//! What can be done at a place of the vehicle: lines of the table with their gaps filled from the plant,
//! and, where it is plain beforehand, why not now.
//!
//! A front end that can point at things asks here instead of keeping a list of its own, so that a word that
//! is new in the table is offered, or a test says that nobody offers it.

use super::print::{READ, name};
use super::{Group, Said, Terms, WORDS, read};
use crate::bay::action::{Action, Key, Probe, Remedy};
use crate::bay::observation::{EngineRun, Observation};
use crate::plant::component::{Component, ElectricPump, Line};
use crate::plant::{Part, Plant};
use crate::scenario::model::Job;

/// Where the hand points.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spot {
    /// A part, by name.
    Part(String),
    /// A joint, by name.
    Joint(String),
    /// The vehicle as a whole.
    Vehicle,
}

/// One thing that can be done there.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// The word of the table.
    pub verb: &'static str,
    /// What it is for.
    pub group: Group,
    /// What a hand would call it, in a few words.
    pub text: String,
    /// The action.
    pub action: Action,
    /// Why it can't be done now; empty when nothing speaks against it.
    pub why: String,
}

/// What makes sense at a spot, in the order of the table.
pub fn offers(job: &Job, seen: &Observation, spot: &Spot) -> Vec<Offer> {
    let terms = Terms::of(job);
    let mut all = Vec::new();
    for word in WORDS {
        for (rest, text) in filled(word.verb, word.syntax == word.verb, job, seen, spot) {
            let line = format!("{} {rest}", word.verb);
            if let Ok(Some(Said::Do(action))) = read(&line, &terms, seen.at) {
                let why = why_not(&action, job, seen);
                all.push(Offer { verb: word.verb, group: word.group, text, action, why });
            }
        }
    }
    all
}

/// The rest of the line and its name, for each way to fill the gaps of a word at a spot.
fn filled(verb: &str, bare: bool, job: &Job, seen: &Observation, spot: &Spot) -> Vec<(String, String)> {
    match spot {
        Spot::Part(part) => match job.plant.part(part) {
            Some(part) => at_part(verb, part, job),
            None => vec![],
        },
        Spot::Joint(joint) => at_joint(verb, joint, seen),
        Spot::Vehicle => at_vehicle(verb, bare, job, seen),
    }
}

fn way(rest: impl Into<String>, text: impl Into<String>) -> (String, String) {
    (rest.into(), text.into())
}

/// Lever positions of a valve.
const LEVER: [(&str, &str); 3] = [("open", "open"), ("0.5", "half"), ("shut", "shut")];

/// What hands can do at any place.
fn at_any(verb: &str, place: &str) -> Vec<(String, String)> {
    let text = match verb {
        "look" => "look, feel, smell",
        "wiggle" => "wiggle, tap and flex",
        "warm" => "warm air, 5 min",
        "cool" => "wet cloth, 5 min",
        "thermometer" => "contact thermometer",
        _ => return vec![],
    };
    vec![way(name(place), text)]
}

fn at_part(verb: &str, part: &Part, job: &Job) -> Vec<(String, String)> {
    let own = name(&part.name);
    let one = |text: &str| vec![way(own.clone(), text)];
    let both = |on: &str, off: &str| vec![way(format!("{own} on"), on), way(format!("{own} off"), off)];
    match (verb, &part.is) {
        ("repair", _) => {
            let new = format!("fit a new one: {:.0} credits, {:.0} min", part.price, part.minutes.max(5.0));
            vec![
                way(format!("{own} replace"), new),
                way(format!("{own} clean"), "clean it"),
                way(format!("{own} reseal"), "remake its joints"),
            ]
        }
        ("sample", Component::Tank(_)) if is_main_tank(part, &job.plant) => {
            vec![way("", "dip it and draw a sample")]
        }
        ("refuel", Component::Tank(_)) if is_main_tank(part, &job.plant) => {
            [5, 10, 20].into_iter().map(|l| way(l.to_string(), format!("pour in {l} l of clean fuel"))).collect()
        }
        ("read", Component::Tank(_)) if is_main_tank(part, &job.plant) => vec![way("dip", "read the dip stick")],
        ("cap", Component::Tank(_)) if is_main_tank(part, &job.plant) => {
            vec![way("open", "open the filler cap"), way("shut", "shut the filler cap")]
        }
        ("listen", Component::ElectricPump(_)) => one("listen to it, fuse and relay"),
        ("clamp", Component::ElectricPump(_)) => one("current clamp round its lead"),
        ("capture", Component::ElectricPump(_)) => vec![
            way(own.clone(), "record its current fast"),
            way(format!("{own} start"), "record it from the turn of the key"),
        ],
        ("bridge", Component::ElectricPump(_)) => both("test lead past its relay", "take the test lead off"),
        ("volts", Component::ElectricPump(pump)) => leads(pump),
        ("pinch", Component::Line(_)) => both("pinch it with smooth jaws", "take the jaws off"),
        ("tap", Component::ShutOffValve(_)) => {
            LEVER.into_iter().map(|(rest, text)| way(format!("{own} {rest}"), format!("lever {text}"))).collect()
        }
        ("prime", _) if has_primer(part) => {
            [5, 12].into_iter().map(|n| way(n.to_string(), format!("primer, {n} strokes"))).collect()
        }
        (_, Component::Engine(_)) if at_engine(verb).is_some() => at_engine(verb).unwrap_or_default(),
        _ => at_any(verb, &part.name),
    }
}

/// Pairs of points that split a pump's circuit: the source, each side as a whole, then joint by joint.
fn leads(pump: &ElectricPump) -> Vec<(String, String)> {
    let feed: Vec<&str> = ["battery +"].into_iter().chain(pump.feed.iter().map(|j| j.name.as_str())).collect();
    let earth: Vec<&str> = pump.earth.iter().map(|j| j.name.as_str()).chain(["battery −"]).collect();
    let mut pairs = vec![("battery +", "battery −")];
    for side in [&feed, &earth] {
        let ends = (side[0], side[side.len() - 1]);
        let steps = side.windows(2).map(|w| (w[0], w[1]));
        if side.len() > 2 {
            pairs.push(ends);
        }
        pairs.extend(steps);
    }
    pairs.into_iter().map(|(a, b)| way(format!("{} {}", name(a), name(b)), format!("{a} to {b}"))).collect()
}

/// What the engine and its control give to read and to do.
fn at_engine(verb: &str) -> Option<Vec<(String, String)>> {
    Some(match verb {
        "crank" => vec![way("5", "starter, 5 s"), way("10", "starter, 10 s")],
        "idle" => vec![way("", "let it idle")],
        "speed" => vec![way("raised", "hold the test speed")],
        "load" => vec![way("0", "load off"), way("0.5", "half load"), way("1", "full load")],
        "snap" => vec![way("", "floor it for two seconds")],
        "codes" => vec![way("", "trouble codes and live data")],
        "battery" => vec![way("", "battery and cranking speed")],
        "read" => vec![
            way("sensor", "its own pressure sensor"),
            way("effort", "effort of its control"),
            way("revs", "rev counter"),
        ],
        "returnflow" => vec![way("30", "return into the jar, 30 s")],
        _ => return None,
    })
}

fn at_joint(verb: &str, joint: &str, seen: &Observation) -> Vec<(String, String)> {
    let own = name(joint);
    let here = seen.tee.as_ref().is_some_and(|t| t.joint == joint);
    let second = seen.second.as_ref().is_some_and(|(at, _)| at == joint);
    let fed = seen.container.as_deref() == Some(joint);
    let plugged = seen.left_on.contains(&format!("the plug at \"{joint}\""));
    match verb {
        "fit" if !here => vec![
            way(own.clone(), "fit the test tee here"),
            way(format!("{own} old-seals"), "fit it with the old seals"),
        ],
        "remove" if here => vec![way("", "take the tee out"), way("old-seals", "take it out, old seals again")],
        "purge" if here => vec![way("", "purge tee and hose")],
        "zero" if here => vec![way("", "zero the transducer")],
        "valve" if here => LEVER.into_iter().map(|(rest, text)| way(rest, format!("tee's valve {text}"))).collect(),
        "range" if here => vec![
            way("suction", "transducer \u{2212}1 to +3 bar"),
            way("pressure", "transducer 0 to 10 bar"),
            way("absolute", "transducer 0 to 4 bar absolute"),
        ],
        "drawdown" if here => vec![way("", "draw down and watch, 5 min")],
        "airtest" if here => vec![way("", "air and soapy water")],
        "second" if second => vec![way("off", "second transducer off")],
        "second" => vec![way(own, "second transducer here")],
        "read" if second => vec![way("second", "read the second transducer")],
        "container" if fed => vec![way("back", "feed from the tank again")],
        "container" => vec![way(own, "feed from a container here")],
        "plug" if plugged => vec![way("off", "take the plug out")],
        "plug" => vec![way(own, "plug the way on")],
        "deliver" => vec![
            way(format!("{own} 30"), "delivery 30 s, throttled"),
            way(format!("{own} 30 free"), "delivery 30 s, free"),
        ],
        "repair" => vec![way(format!("{own} reseal"), "remake this joint")],
        _ => at_any(verb, joint),
    }
}

fn at_vehicle(verb: &str, bare: bool, job: &Job, seen: &Observation) -> Vec<(String, String)> {
    match verb {
        "cap" => vec![way("open", "open the filler cap"), way("shut", "shut the filler cap")],
        "tilt" => vec![
            way("10", "nose up on the ramp, 10°"),
            way("-10", "nose down on the ramp, 10°"),
            way("0", "level again"),
        ],
        "clampzero" => vec![way("", "zero the clamp, 20 A range"), way("large", "zero the clamp, 200 A range")],
        "hint" => {
            vec![way("1", "hint: how to compare"), way("2", "hint: where to look"), way("3", "hint: what to test")]
        }
        "key" => vec![way("on", "key on"), way("off", "key off")],
        "prime" => vec![way("5", "primer, 5 strokes"), way("12", "primer, 12 strokes")],
        "wait" => {
            [("10", "10 s"), ("60", "1 min"), ("5min", "5 min"), ("20min", "20 min"), ("1h", "1 h"), ("8h", "8 h")]
                .into_iter()
                .map(|(rest, text)| way(rest, format!("let {text} pass")))
                .collect()
        }
        "read" => READ.into_iter().map(|(rest, probe)| way(rest, probe_words(&probe))).collect(),
        "second" => vec![way("off", "second transducer off")],
        "container" => vec![way("back", "feed from the tank again")],
        "plug" => vec![way("off", "take the plug out")],
        "tap" => {
            let lever = |(tap, open): &(String, f64)| {
                let (rest, text) = if *open > 0.5 { ("shut", "shut") } else { ("open", "open") };
                let label = job.plant.part(tap).map_or(tap.as_str(), |p| p.label.as_str());
                way(format!("{} {rest}", name(tap)), format!("{text} the {label}"))
            };
            seen.taps.iter().map(lever).collect()
        }
        // tests of the tee and paper have their own place; other words that need nothing more are offered as they are
        "zero" | "drawdown" | "airtest" | "handback" | "remove" | "purge" => vec![],
        _ => at_engine(verb).unwrap_or_else(|| if bare { vec![way("", bare_words(verb))] } else { vec![] }),
    }
}

fn bare_words(verb: &str) -> &str {
    match verb {
        "sample" => "dip and draw a sample",
        "bleed" => "fill and bleed the line",
        "leakcheck" => "check every disturbed joint",
        other => other,
    }
}

const fn probe_words(probe: &Probe) -> &'static str {
    match probe {
        Probe::Second => "second transducer",
        Probe::Jar => "measuring jar",
        Probe::Dip => "dip stick",
        Probe::OwnSensor => "the vehicle's own sensor",
        Probe::Effort => "effort of its control",
        Probe::Battery => "battery",
        Probe::Revs => "rev counter",
        Probe::RecordMean | Probe::RecordPeak | Probe::RecordSwing | Probe::RecordUneven => {
            "fast record of the current"
        }
        Probe::Volts { .. } | Probe::Clamp { .. } | Probe::Thermometer { .. } => "meter",
    }
}

/// It is the tank that the vehicle is filled at.
fn is_main_tank(part: &Part, plant: &Plant) -> bool {
    plant.parts.iter().find(|p| matches!(p.is, Component::Tank(_))).is_some_and(|p| p.name == part.name)
}

/// A hand can pump at it.
fn has_primer(part: &Part) -> bool {
    match &part.is {
        Component::Filter(f) => f.primer_stroke.is_some(),
        Component::HandPrimer(_) => true,
        Component::DiaphragmPump(pump) => pump.hand_stroke.is_some(),
        _ => false,
    }
}

fn is_soft(line: &Line) -> bool {
    line.squeezed_at.is_some()
}

/// Why an action would be refused now, as far as that can be told from what is seen; empty when nothing
/// speaks against it. The bay has the last word.
pub fn why_not(action: &Action, job: &Job, seen: &Observation) -> String {
    let runs = matches!(seen.engine, EngineRun::Steady | EngineRun::Uneven);
    let turns = runs || seen.engine == EngineRun::Cranking;
    let still = if turns { "the engine is turning" } else { "" };
    let tee = if seen.tee.is_none() { "no tee is fitted" } else { "" };
    let left = |words: String| seen.left_on.contains(&words);
    let first = |reasons: &[&str]| reasons.iter().find(|r| !r.is_empty()).map_or("", |r| r).to_owned();
    let when = |is: bool, words: &'static str| if is { words } else { "" };
    match action {
        Action::FitTee { joint, .. } => {
            let here = seen.tee.as_ref().is_some_and(|t| t.joint == *joint);
            first(&[still, when(here, "the tee sits here already")])
        }
        Action::RemoveTee { .. } | Action::Purge | Action::Zero => first(&[tee, still]),
        Action::Valve { .. } => first(&[tee]),
        Action::Range { range } => first(&[when(*range == seen.range, "it is on the hose already"), still]),
        Action::Key { to } => first(&[when(*to == seen.key, "the key stands there already")]),
        Action::Crank { .. } => {
            first(&[when(seen.key == Key::Off, "the key is off"), when(turns, "the engine is turning")])
        }
        Action::Speed { .. } | Action::Load { .. } | Action::Snap => {
            first(&[when(!runs, "the engine doesn't run")])
        }
        Action::SecondGauge { joint } => {
            let now = seen.second.as_ref().map(|(at, _)| at);
            let tee_here = joint.is_some() && seen.tee.as_ref().map(|t| &t.joint) == joint.as_ref();
            first(&[
                when(joint.is_none() && now.is_none(), "none is fitted"),
                when(joint.is_some() && now == joint.as_ref(), "it sits here already"),
                when(tee_here, "the tee sits here"),
                still,
            ])
        }
        Action::Sample | Action::Measure { probe: Probe::Dip } => first(&[still]),
        Action::Measure { probe: Probe::Second } => first(&[when(seen.second.is_none(), "none is fitted")]),
        Action::Pinch { part, on } => {
            let soft = matches!(job.plant.part(part).map(|p| &p.is), Some(Component::Line(line)) if is_soft(line));
            let pinched = left(format!("the clamp on \"{part}\""));
            first(&[
                when(!soft, "it isn't a soft hose"),
                when(pinched && *on, "it is pinched already"),
                when(!pinched && !*on, "it isn't pinched"),
                still,
            ])
        }
        Action::Blank { joint } => {
            let any = seen.left_on.iter().any(|words| words.starts_with("the plug at"));
            let here = joint.as_ref().is_some_and(|j| left(format!("the plug at \"{j}\"")));
            first(&[
                still,
                when(joint.is_none() && !any, "nothing is plugged"),
                when(here, "it is plugged already"),
            ])
        }
        Action::Bridge { part, on } => {
            let bridged = left(format!("the test lead at \"{part}\""));
            first(&[when(bridged && *on, "it is on already"), when(!bridged && !*on, "no test lead is on")])
        }
        Action::Deliver { .. } => first(&[still]),
        Action::ReturnFlow { .. } => {
            let engine = job.plant.engine();
            let none = engine.is_none_or(|e| e.overflow.is_none() && e.back_leak.si() == 0.0);
            first(&[when(none, "nothing comes back from this engine"), when(!runs, "the engine must run for this")])
        }
        Action::VacuumTest | Action::AirTest => decay(matches!(action, Action::AirTest), job, seen, still),
        Action::Cap { open } => first(&[when(*open == seen.cap_open, "it stands so already")]),
        Action::Container { joint } => {
            first(&[still, when(*joint == seen.container, "it is connected like that already")])
        }
        Action::Prime { .. } => {
            let none = !job.plant.parts.iter().any(has_primer);
            first(&[when(none, "this vehicle has no hand primer"), still])
        }
        Action::Bleed => first(&[still]),
        Action::Repair { part, remedy } => {
            let joint = job.plant.part(part).is_none();
            first(&[when(joint && *remedy != Remedy::Reseal, "a joint can only be remade"), still])
        }
        _ => String::new(),
    }
}

/// Why a closed section can't be put under vacuum or air.
fn decay(air: bool, job: &Job, seen: &Observation, still: &str) -> String {
    let Some(tee) = &seen.tee else { return "no tee is fitted".to_owned() };
    let words = if air && !job.plant.service.air_decay {
        "this centre hasn't switched it on"
    } else if job.plant.is_petrol() {
        "not on petrol"
    } else if job.plant.is_under_pressure(&tee.joint) {
        "the tee sits on the pressure side"
    } else if !still.is_empty() {
        still
    } else if tee.valve_open > 0.05 {
        "shut the tee's valve first"
    } else {
        ""
    };
    words.to_owned()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::bay::Bay;
    use crate::bay::observation::Answer;
    use crate::scenario::{Kind, Library, load_job, load_plant};

    fn jobs() -> Vec<Job> {
        let library = Library::builtin();
        let van = load_job(&library, "nothing-wrong").expect("a built-in job").0;
        let plants = library.names(Kind::Plant).into_iter();
        let loaded = plants.map(|name| load_plant(&library, &name).expect("a built-in plant").0);
        loaded.map(|plant| Job { joints: plant.joints(), plant, stood_s: 600.0, ..van.clone() }).collect()
    }

    fn spots(job: &Job) -> Vec<Spot> {
        let parts = job.plant.parts.iter().map(|p| Spot::Part(p.name.clone()));
        let joints = job.joints.iter().map(|(name, _)| Spot::Joint(name.clone()));
        parts.chain(joints).chain([Spot::Vehicle]).collect()
    }

    /// Words whose place is the paper, not the vehicle.
    const ON_PAPER: [&str; 9] =
        ["safe", "ask", "record", "amend", "note", "predict", "believe", "submit", "handback"];

    #[test]
    fn every_word_that_does_something_is_offered_somewhere_at_every_vehicle() {
        for job in jobs() {
            let mut bay = Bay::new(&job, 3).expect("a vehicle");
            let mut offered = BTreeSet::new();
            let mut look = |bay: &Bay| {
                for spot in spots(&job) {
                    offered.extend(offers(&job, &bay.observe(), &spot).into_iter().map(|o| o.verb));
                }
            };
            look(&bay);
            // what is offered at the tee, and to take off again, comes with it
            let joint = job.joints[0].0.clone();
            bay.act(&Action::FitTee { joint, new_seals: true });
            look(&bay);
            for word in WORDS.iter().filter(|w| w.group != Group::Show && !ON_PAPER.contains(&w.verb)) {
                let needs = match word.verb {
                    "listen" | "clamp" | "bridge" | "volts" | "capture" => {
                        job.plant.electric_pumps().next().is_some()
                    }
                    "tap" => job.plant.parts.iter().any(|p| matches!(p.is, Component::ShutOffValve(_))),
                    _ => true,
                };
                assert_eq!(offered.contains(word.verb), needs, "{} at {}", word.verb, job.plant.name);
            }
        }
    }

    /// Whatever is held to be impossible is refused by the bay, in every state of the vehicle.
    #[test]
    fn a_reason_not_to_is_the_bays_own() {
        let mut tried = 0;
        for job in jobs() {
            let mut bay = Bay::new(&job, 3).expect("a vehicle");
            let joint = job.joints[job.joints.len() - 1].0.clone();
            let steps = [
                Action::Wait { secs: 1.0 },
                Action::FitTee { joint, new_seals: true },
                Action::Valve { open: 0.0 },
                Action::Valve { open: 1.0 },
                Action::Key { to: Key::On },
                Action::Crank { secs: 8.0 },
                Action::Wait { secs: 12.0 },
                Action::Key { to: Key::Off },
            ];
            for step in steps {
                bay.act(&step);
                for spot in spots(&job) {
                    let seen = bay.observe();
                    for offer in offers(&job, &seen, &spot).into_iter().filter(|o| !o.why.is_empty()) {
                        let answer = bay.act(&offer.action);
                        let (what, why) = (&offer.text, &offer.why);
                        let refused = matches!(answer, Answer::Refused { .. });
                        assert!(refused, "{}, after {step:?}: {what} was done though {why}", job.plant.name);
                        tried += 1;
                    }
                }
            }
        }
        assert!(tried > 1000, "{tried}");
    }
}
