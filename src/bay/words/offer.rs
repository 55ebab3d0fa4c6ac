//! What can be done at a place of the vehicle: lines of the table with their gaps filled from the plant,
//! and, where it is plain beforehand, why not now.
//!
//! A front end that can point at things asks here instead of keeping a list of its own, so that a word that
//! is new in the table is offered, or a test says that nobody offers it.

use super::print::{READ, name};
use super::{Group, Said, Terms, WORDS, read};
use crate::bay::action::{Action, Key, Probe, Remedy};
use crate::bay::observation::{EngineRun, LeftOn, Observation};
use crate::language::{Msg, said};
use crate::msg;
use crate::plant::component::{Component, ElectricPump, Line};
use crate::plant::{Part, Plant};
use crate::scenario::model::Job;
use crate::tell;

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
const LEVER: [(&str, Msg); 3] =
    [("open", msg!("bay-lever-open")), ("0.5", msg!("bay-lever-half")), ("shut", msg!("bay-lever-shut"))];

/// What hands can do at any place.
fn at_any(verb: &str, place: &str) -> Vec<(String, String)> {
    let text = match verb {
        "look" => said("bay-offer-look"),
        "wiggle" => said("bay-offer-wiggle"),
        "warm" => said("bay-offer-warm"),
        "cool" => said("bay-offer-cool"),
        "thermometer" => said("bay-offer-thermometer"),
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
            let new = tell!(
                "bay-offer-replace",
                credits = format!("{:.0}", part.price),
                minutes = format!("{:.0}", part.minutes.max(5.0))
            );
            vec![
                way(format!("{own} replace"), new),
                way(format!("{own} clean"), said("bay-offer-clean")),
                way(format!("{own} reseal"), said("bay-offer-reseal")),
            ]
        }
        ("sample", Component::Tank(_)) if is_main_tank(part, &job.plant) => {
            vec![way("", said("bay-offer-sample"))]
        }
        ("refuel", Component::Tank(_)) if is_main_tank(part, &job.plant) => {
            [5, 10, 20].into_iter().map(|l| way(l.to_string(), tell!("bay-offer-refuel", l = l))).collect()
        }
        ("read", Component::Tank(_)) if is_main_tank(part, &job.plant) => vec![way("dip", said("bay-offer-dip"))],
        ("cap", Component::Tank(_)) if is_main_tank(part, &job.plant) => {
            vec![way("open", said("bay-offer-cap-open")), way("shut", said("bay-offer-cap-shut"))]
        }
        ("listen", Component::ElectricPump(_)) => one(said("bay-offer-listen")),
        ("clamp", Component::ElectricPump(_)) => one(said("bay-offer-clamp")),
        ("clamp", Component::Filter(filter)) if filter.heater.si() > 0.0 => one(said("bay-offer-clamp")),
        ("capture", Component::ElectricPump(_)) => vec![
            way(own.clone(), said("bay-offer-capture")),
            way(format!("{own} start"), said("bay-offer-capture-start")),
        ],
        ("bridge", Component::ElectricPump(_)) => both(said("bay-offer-bridge-on"), said("bay-offer-bridge-off")),
        ("volts", Component::ElectricPump(pump)) => leads(pump),
        ("pinch", Component::Line(_)) => both(said("bay-offer-pinch-on"), said("bay-offer-pinch-off")),
        ("tap", Component::ShutOffValve(_)) => LEVER
            .into_iter()
            .map(|(rest, text)| way(format!("{own} {rest}"), tell!("bay-offer-lever", text = text)))
            .collect(),
        ("prime", _) if has_primer(part) => {
            [5, 12].into_iter().map(|n| way(n.to_string(), tell!("bay-offer-primer", n = n))).collect()
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
    pairs
        .into_iter()
        .map(|(a, b)| way(format!("{} {}", name(a), name(b)), tell!("bay-offer-volts", a = a, b = b)))
        .collect()
}

/// What the engine and its control give to read and to do.
fn at_engine(verb: &str) -> Option<Vec<(String, String)>> {
    Some(match verb {
        "crank" => vec![way("5", said("bay-offer-crank-5")), way("10", said("bay-offer-crank-10"))],
        "idle" => vec![way("", said("bay-offer-idle"))],
        "speed" => vec![way("raised", said("bay-offer-speed-raised"))],
        "load" => vec![
            way("0", said("bay-offer-load-off")),
            way("0.5", said("bay-offer-load-half")),
            way("1", said("bay-offer-load-full")),
        ],
        "snap" => vec![way("", said("bay-offer-snap"))],
        "codes" => vec![way("", said("bay-offer-codes"))],
        "battery" => vec![way("", said("bay-offer-battery"))],
        "read" => vec![
            way("sensor", said("bay-offer-own-sensor")),
            way("effort", said("bay-offer-effort")),
            way("revs", said("bay-meter-revs")),
        ],
        "returnflow" => vec![way("30", said("bay-offer-return"))],
        _ => return None,
    })
}

fn at_joint(verb: &str, joint: &str, seen: &Observation) -> Vec<(String, String)> {
    let own = name(joint);
    let here = seen.tee.as_ref().is_some_and(|t| t.joint == joint);
    let second = seen.second.as_ref().is_some_and(|(at, _)| at == joint);
    let fed = seen.container.as_deref() == Some(joint);
    let plugged = seen.left_on.contains(&LeftOn::Plug(joint.to_owned()));
    match verb {
        "fit" if !here => vec![
            way(own.clone(), said("bay-offer-fit")),
            way(format!("{own} old-seals"), said("bay-offer-fit-old-seals")),
        ],
        "remove" if here => {
            vec![way("", said("bay-offer-remove")), way("old-seals", said("bay-offer-remove-old-seals"))]
        }
        "purge" if here => vec![way("", said("bay-offer-purge"))],
        "zero" if here => vec![way("", said("bay-offer-zero"))],
        "valve" if here => {
            LEVER.into_iter().map(|(rest, text)| way(rest, tell!("bay-offer-valve", text = text))).collect()
        }
        "range" if here => vec![
            way("suction", said("bay-offer-range-suction")),
            way("pressure", said("bay-offer-range-pressure")),
            way("absolute", said("bay-offer-range-absolute")),
        ],
        "drawdown" if here => vec![way("", said("bay-offer-drawdown"))],
        "airtest" if here => vec![way("", said("bay-offer-airtest"))],
        "second" if second => vec![way("off", said("bay-offer-second-off"))],
        "second" => vec![way(own, said("bay-offer-second"))],
        "read" if second => vec![way("second", said("bay-offer-second-read"))],
        "container" if fed => vec![way("back", said("bay-offer-container-back"))],
        "container" => vec![way(own, said("bay-offer-container"))],
        "plug" if plugged => vec![way("off", said("bay-offer-plug-off"))],
        "plug" => vec![way(own, said("bay-offer-plug"))],
        "deliver" => vec![
            way(format!("{own} 30"), said("bay-offer-deliver-throttled")),
            way(format!("{own} 30 free"), said("bay-offer-deliver-free")),
        ],
        "repair" => vec![way(format!("{own} reseal"), said("bay-offer-reseal-joint"))],
        _ => at_any(verb, joint),
    }
}

fn at_vehicle(verb: &str, bare: bool, job: &Job, seen: &Observation) -> Vec<(String, String)> {
    match verb {
        "cap" => vec![way("open", said("bay-offer-cap-open")), way("shut", said("bay-offer-cap-shut"))],
        "tilt" if job.plant.is_boat() => vec![
            way("10", said("bay-offer-bow-up")),
            way("-10", said("bay-offer-bow-down")),
            way("0", said("bay-offer-tilt-level")),
        ],
        "tilt" => vec![
            way("10", said("bay-offer-tilt-up")),
            way("-10", said("bay-offer-tilt-down")),
            way("0", said("bay-offer-tilt-level")),
        ],
        "clampzero" => vec![way("", said("bay-offer-clampzero")), way("large", said("bay-offer-clampzero-large"))],
        "hint" => {
            vec![
                way("1", said("bay-offer-hint-1")),
                way("2", said("bay-offer-hint-2")),
                way("3", said("bay-offer-hint-3")),
            ]
        }
        "key" => vec![way("on", said("bay-did-key-on")), way("off", said("bay-did-key-off"))],
        "prime" => vec![way("5", said("bay-offer-primer-5")), way("12", said("bay-offer-primer-12"))],
        "wait" => {
            [("10", "10 s"), ("60", "1 min"), ("5min", "5 min"), ("20min", "20 min"), ("1h", "1 h"), ("8h", "8 h")]
                .into_iter()
                .map(|(rest, text)| way(rest, tell!("bay-offer-wait", text = text)))
                .collect()
        }
        "read" => READ.into_iter().map(|(rest, probe)| way(rest, probe_words(&probe))).collect(),
        "second" => vec![way("off", said("bay-offer-second-off"))],
        "container" => vec![way("back", said("bay-offer-container-back"))],
        "plug" => vec![way("off", said("bay-offer-plug-off"))],
        "tap" => {
            let lever = |(tap, open): &(String, f64)| {
                let (rest, text) = if *open > 0.5 { ("shut", "shut") } else { ("open", "open") };
                let label = job.plant.part(tap).map_or(tap.as_str(), |p| p.label.as_str());
                way(format!("{} {rest}", name(tap)), tell!("bay-offer-lever-of", text = text, label = label))
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
        "sample" => said("bay-offer-sample-bare"),
        "bleed" => said("bay-offer-bleed"),
        "leakcheck" => said("bay-offer-leakcheck"),
        other => other,
    }
}

fn probe_words(probe: &Probe) -> &'static str {
    match probe {
        Probe::Second => "second transducer",
        Probe::Jar => "measuring jar",
        Probe::Dip => "dip stick",
        Probe::OwnSensor => said("bay-meter-own-sensor"),
        Probe::Effort => said("bay-offer-effort"),
        Probe::Battery => "battery",
        Probe::Revs => said("bay-meter-revs"),
        Probe::RecordMean | Probe::RecordPeak | Probe::RecordSwing | Probe::RecordUneven => {
            said("bay-offer-record")
        }
        Probe::Volts { .. } | Probe::Clamp { .. } | Probe::Thermometer { .. } => said("bay-offer-meter"),
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
    let still = if turns { said("bay-why-engine-turning") } else { "" };
    let tee = if seen.tee.is_none() { said("bay-why-no-tee") } else { "" };
    let left = |what: LeftOn| seen.left_on.contains(&what);
    let first = |reasons: &[&str]| reasons.iter().find(|r| !r.is_empty()).map_or("", |r| r).to_owned();
    let when = |is: bool, words: &'static str| if is { words } else { "" };
    match action {
        Action::FitTee { joint, .. } => {
            let here = seen.tee.as_ref().is_some_and(|t| t.joint == *joint);
            first(&[still, when(here, said("bay-why-tee-here"))])
        }
        Action::RemoveTee { .. } | Action::Purge | Action::Zero => first(&[tee, still]),
        Action::Valve { .. } => first(&[tee]),
        Action::Range { range } => first(&[when(*range == seen.range, said("bay-why-on-hose")), still]),
        Action::Key { to } => first(&[when(*to == seen.key, said("bay-why-key-there"))]),
        Action::Crank { .. } => first(&[
            when(seen.key == Key::Off, said("bay-why-key-off")),
            when(turns, said("bay-why-engine-turning")),
        ]),
        Action::Speed { .. } | Action::Load { .. } | Action::Snap => {
            first(&[when(!runs, said("bay-why-engine-not-running"))])
        }
        Action::SecondGauge { joint } => {
            let now = seen.second.as_ref().map(|(at, _)| at);
            let tee_here = joint.is_some() && seen.tee.as_ref().map(|t| &t.joint) == joint.as_ref();
            first(&[
                when(joint.is_none() && now.is_none(), said("bay-why-none-fitted")),
                when(joint.is_some() && now == joint.as_ref(), said("bay-why-sits-here")),
                when(tee_here, said("bay-why-tee-sits-here")),
                still,
            ])
        }
        Action::Sample | Action::Measure { probe: Probe::Dip } => first(&[still]),
        Action::Measure { probe: Probe::Second } => {
            first(&[when(seen.second.is_none(), said("bay-why-none-fitted"))])
        }
        Action::Pinch { part, on } => {
            let soft = matches!(job.plant.part(part).map(|p| &p.is), Some(Component::Line(line)) if is_soft(line));
            let pinched = left(LeftOn::Jaws(part.clone()));
            first(&[
                when(!soft, said("bay-why-not-soft")),
                when(pinched && *on, said("bay-why-pinched")),
                when(!pinched && !*on, said("bay-why-not-pinched")),
                still,
            ])
        }
        Action::Blank { joint } => {
            let any = seen.left_on.iter().any(|what| matches!(what, LeftOn::Plug(_)));
            let here = joint.as_ref().is_some_and(|j| left(LeftOn::Plug(j.clone())));
            first(&[
                still,
                when(joint.is_none() && !any, said("bay-why-nothing-plugged")),
                when(here, said("bay-why-plugged")),
            ])
        }
        Action::Bridge { part, on } => {
            let bridged = left(LeftOn::Lead(part.clone()));
            first(&[when(bridged && *on, said("bay-why-lead-on")), when(!bridged && !*on, said("bay-why-no-lead"))])
        }
        Action::Deliver { .. } => first(&[still]),
        Action::ReturnFlow { .. } => {
            let engine = job.plant.engine();
            let none = engine.is_none_or(|e| e.overflow.is_none() && e.back_leak.si() == 0.0);
            first(&[when(none, said("bay-why-no-return")), when(!runs, said("bay-why-must-run"))])
        }
        Action::VacuumTest | Action::AirTest => decay(matches!(action, Action::AirTest), job, seen, still),
        Action::Cap { open } => first(&[when(*open == seen.cap_open, said("bay-why-stands-so"))]),
        Action::Container { joint } => {
            first(&[still, when(*joint == seen.container, said("bay-why-connected-so"))])
        }
        Action::Prime { .. } => {
            let none = !job.plant.parts.iter().any(has_primer);
            first(&[when(none, said("bay-why-no-primer")), still])
        }
        Action::Bleed => first(&[still]),
        Action::Repair { part, remedy } => {
            let joint = job.plant.part(part).is_none();
            first(&[when(joint && *remedy != Remedy::Reseal, said("bay-why-joint-only-resealed")), still])
        }
        _ => String::new(),
    }
}

/// Why a closed section can't be put under vacuum or air.
fn decay(air: bool, job: &Job, seen: &Observation, still: &str) -> String {
    let Some(tee) = &seen.tee else { return said("bay-why-no-tee").to_owned() };
    let words = if air && !job.plant.service.air_decay {
        said("bay-why-not-switched-on")
    } else if job.plant.is_petrol() {
        said("bay-why-not-on-petrol")
    } else if job.plant.is_under_pressure(&tee.joint) {
        said("bay-why-pressure-side")
    } else if !still.is_empty() {
        still
    } else if tee.valve_open > 0.05 {
        said("bay-why-shut-valve")
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
                    "clamp" => {
                        let heated = |p: &Part| matches!(&p.is, Component::Filter(f) if f.heater.si() > 0.0);
                        job.plant.electric_pumps().next().is_some() || job.plant.parts.iter().any(heated)
                    }
                    "listen" | "bridge" | "volts" | "capture" => job.plant.electric_pumps().next().is_some(),
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
