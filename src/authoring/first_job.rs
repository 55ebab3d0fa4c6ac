//! A job to begin with on any vehicle: the starter's text with that vehicle's joints, parts, looks and gauge, and with
//! candidates that show in its standard run. What is hidden is the commonest of them that its card calls unhealthy and that
//! nobody can hear.
//!
//! Which faults show on a vehicle no table knows, so the run is driven with each that such vehicles have.

use core::fmt::Write as _;

use super::preview::{Row, Seen, Wrong, drive, rows};
use super::standard::Standard;
use crate::diagnosis::recording::group;
use crate::fault::{Fault, FaultInstance, Place, by_code};
use crate::language::Language::English;
use crate::language::within;
use crate::marking::sentence::number;
use crate::plant::component::Component;
use crate::plant::{Part, Place as Where, Plant};
use crate::scenario::patch::{self, Edit, quoted};
use crate::scenario::starter::{self, ANSWER, WHOSE};
use crate::scenario::{Kind, Library};

/// Candidates besides "nothing wrong".
const MOST: usize = 5;
/// Places of one fault that are tried until it shows.
const MOST_PLACES: usize = 4;
/// What the hidden fault is made, and what a candidate is tried with: it shows somewhere in its band.
const HIDDEN: f64 = 3.2;
const TRIED: f64 = 4.0;
/// Cosine of the angle between what two faults move, above which they look alike; and what counts as moved, mbar.
const ALIKE: f64 = 0.98;
const MOVED: f64 = 4.0;
/// Cosine above which one may be taken for the other at a joint.
const COMPANY: f64 = 0.6;
/// Band of severities of a candidate, as far as the fault has them.
const BAND: (f64, f64) = (2.0, 4.5);
/// Faults that want more of a job than a line among the candidates: what lies in the tank and what the gauge says, what is to
/// be seen, frost or heat, a service.
const WANT_MORE: [&str; 8] = ["F01", "F04", "F05", "F06", "F10", "F11", "F12", "F16"];

/// A candidate.
struct Rival {
    fault: &'static Fault,
    at: String,
    band: (f64, f64),
    /// Where it shows most when it is bad: the reading, beside that of the sound vehicle. None when no reading moves.
    shows: Option<String>,
    /// Of the severity that would be hidden, the card calls a reading unhealthy.
    is_outside: bool,
    /// When it is bad the engine runs otherwise in a reading: who hears it stall needs no gauge.
    is_heard: bool,
    /// How far it moves each reading at each joint, mbar, when it is bad.
    moves: Vec<f64>,
}

impl Rival {
    /// It moves the same readings the same way as another one: which of the two it is, no run tells.
    fn is_alike(&self, other: &Self) -> bool {
        self.likeness(other) > ALIKE
    }

    /// Cosine of the angle between what the two move; 0 where one moves nothing.
    fn likeness(&self, other: &Self) -> f64 {
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let (a, b) = (&self.moves, &other.moves);
        let sizes = (dot(a, a) * dot(b, b)).sqrt();
        if sizes > 0.0 { dot(a, b) / sizes } else { 0.0 }
    }
}

/// The standard run at a joint, and what a sound vehicle shows in it.
struct Driven {
    run: Standard,
    sound: Seen,
}

/// The text of a job on a plant of a library. `name` becomes its title.
///
/// # Errors
/// A sentence: no such plant, or a sound vehicle refuses the run.
pub fn first_job(library: &Library, plant: &str, name: &str) -> Result<String, String> {
    // an author's file is English where its plant is
    within(English, || {
        let run = Standard::of(library, plant, None)?;
        let vehicle = &run.job.plant;
        let rivals = rivals(library, &run)?;
        let text = starter::starter(Kind::Job, name);
        let body = text.find("Job(").map_or(text.as_str(), |at| &text[at..]);
        let text = patch::edit_all(body, &edits(vehicle, &rivals))?;
        Ok(head(&run, &rivals) + &with_snare(&text, &rivals))
    })
}

/// The run at the usual joint, and at every other where a sound vehicle can be driven through it.
fn everywhere(library: &Library, usual: &Standard) -> Result<Vec<Driven>, String> {
    let plant = &usual.job.plant;
    let others = plant.joints().into_iter().filter(|(node, _)| *node != usual.joint);
    let others = others.filter_map(|(node, _)| Standard::of(library, &plant.name, Some(&node)).ok());
    let mut all = vec![];
    for run in others {
        let sound = drive(&run, &Wrong::nothing())?;
        all.push(Driven { run, sound });
    }
    Ok(all)
}

/// Those of the commonest faults that show, each otherwise than those before it, and after them those that don't show,
/// until there are enough.
fn rivals(library: &Library, run: &Standard) -> Result<Vec<Rival>, String> {
    let plant = &run.job.plant;
    let sound = drive(run, &Wrong::nothing())?;
    let others = everywhere(library, run)?;
    let (mut shown, mut silent): (Vec<Rival>, Vec<Rival>) = (vec![], vec![]);
    for wrong in Wrong::commonest(plant, usize::MAX)? {
        let Some(fault) = wrong.faults.first().and_then(|f| by_code(&f.fault)) else { continue };
        if WANT_MORE.contains(&fault.code) {
            continue;
        }
        let mut rival = rival(run, &sound, fault)?;
        if rival.shows.is_none() {
            silent.push(rival);
            continue;
        }
        for at in &others {
            let moves = moves(&read(&at.run, &at.sound, fault, &rival.at, TRIED)?);
            rival.moves.extend(moves);
        }
        if !shown.iter().any(|before| before.is_alike(&rival)) {
            shown.push(rival);
        }
        if shown.len() == MOST {
            break;
        }
    }
    silent.truncate(MOST - shown.len());
    shown.extend(silent);
    Ok(shown)
}

/// Severities that a candidate has, as far as its fault has them.
fn band(fault: &Fault) -> (f64, f64) {
    (BAND.0.max(f64::from(fault.severities.0)), BAND.1.min(f64::from(fault.severities.1)))
}

/// What a fault shows at a place, beside the sound vehicle.
fn read(run: &Standard, sound: &Seen, fault: &Fault, at: &str, severity: f64) -> Result<Vec<Row>, String> {
    let (low, high) = band(fault);
    let instance = FaultInstance::new(fault.code, at, severity.clamp(low, high));
    let seen = drive(run, &Wrong::of(&run.job.plant, vec![instance])?)?;
    Ok(rows(run, sound, &seen))
}

/// How far each reading moved; what is too little to be told is none.
fn moves(rows: &[Row]) -> Vec<f64> {
    let moved = rows.iter().map(|r| r.wrong.mbar - r.sound.mbar);
    moved.map(|mbar| if mbar.abs() < MOVED { 0.0 } else { mbar }).collect()
}

/// A fault at the first of its places where it shows.
fn rival(run: &Standard, sound: &Seen, fault: &'static Fault) -> Result<Rival, String> {
    let plant = &run.job.plant;
    // a hole deep in a pump or a tank is nothing to begin with
    let at_a_joint =
        |at: &String| fault.place != Place::Node || plant.node(at).is_some_and(|node| node.joint.is_some());
    let places: Vec<String> = fault.places(plant).into_iter().filter(at_a_joint).take(MOST_PLACES).collect();
    for at in &places {
        let bad = read(run, sound, fault, at, TRIED)?;
        if let Some(most) = bad.iter().filter(|r| !r.is_alike()).max_by(|a, b| a.moves().total_cmp(&b.moves())) {
            let usual = read(run, sound, fault, at, HIDDEN)?;
            return Ok(Rival {
                fault,
                at: at.clone(),
                band: band(fault),
                shows: Some(told(most)),
                is_outside: usual.iter().any(|row| row.is_outside() && !row.is_alike()),
                is_heard: bad.iter().any(|row| row.wrong.engine != row.sound.engine),
                moves: moves(&bad),
            });
        }
    }
    let at = places.into_iter().next().unwrap_or_default();
    Ok(Rival { fault, at, band: band(fault), shows: None, is_outside: false, is_heard: false, moves: vec![] })
}

fn told(row: &Row) -> String {
    let mbar = |shown: f64| number(shown, 0);
    let (sound, wrong) = (&row.sound, &row.wrong);
    let mut words = format!("{}: {} mbar, sound {}", row.state, mbar(wrong.mbar), mbar(sound.mbar));
    if wrong.glass != sound.glass {
        let _ = write!(words, "; glass {}, sound {}", wrong.glass, sound.glass);
    }
    if wrong.engine != sound.engine {
        let _ = write!(words, "; engine {}, sound {}", wrong.engine, sound.engine);
    }
    words
}

/// Which of them is hidden: the commonest that the card calls unhealthy, rather one that isn't heard. Where no card calls any so,
/// one that isn't heard and could be taken for another, else the first that shows.
fn hidden(rivals: &[Rival]) -> Option<&Rival> {
    let has_company = |r: &Rival| {
        let others = rivals.iter().filter(|other| other.fault.code != r.fault.code);
        others.map(|other| r.likeness(other)).fold(0.0, f64::max) > COMPANY
    };
    let quiet = rivals.iter().find(|r| r.is_outside && !r.is_heard);
    let outside = quiet.or_else(|| rivals.iter().find(|r| r.is_outside));
    let without_card = || rivals.iter().find(|r| r.shows.is_some() && !r.is_heard && has_company(r));
    let shown = || rivals.iter().find(|r| r.shows.is_some());
    outside.or_else(without_card).or_else(shown).or(rivals.first())
}

fn head(run: &Standard, rivals: &[Rival]) -> String {
    let plant = &run.job.plant;
    let list = |names: Vec<String>| wrapped(&names.join(", "));
    let joints = plant.joints().into_iter().map(|(node, label)| format!("{node} ({label})")).collect();
    let parts = plant.parts.iter().map(|p| p.name.clone()).collect();
    let mut t = format!(
        "// A complaint with a hidden cause. The vehicle: {}.\n// Change one thing at a time and run `faultbay check FILE` \
         after each; `faultbay fair JOB` simulates whether the cause can be\n// found. `faultbay manual` lists every field, \
         fault, modifier and word.\n//\n// Its joints, where the tee fits:\n{}// Its parts:\n{}//\n// What the candidates show \
         with the tee at the {}, severity {TRIED:.0}, where it shows most:\n",
        plant.title,
        list(joints),
        list(parts),
        run.label
    );
    for r in rivals {
        let shows = r.shows.as_deref().unwrap_or("no reading moves; other tests must find it");
        let _ = writeln!(t, "// {} {}: {shows}", r.fault.code, label(plant, r));
    }
    t
}

/// Words in lines of remarks.
fn wrapped(words: &str) -> String {
    let mut lines = vec![String::from("//  ")];
    for word in words.split(' ') {
        if lines.last().is_some_and(|line| line.chars().count() + word.chars().count() > 112) {
            lines.push(String::from("//  "));
        }
        if let Some(line) = lines.last_mut() {
            line.push(' ');
            line.push_str(word);
        }
    }
    lines.join("\n") + "\n"
}

fn edits(plant: &Plant, rivals: &[Rival]) -> Vec<Edit> {
    let tank = plant.parts.iter().find_map(|p| if let Component::Tank(tank) = &p.is { Some(tank) } else { None });
    let (fill, share) = tank.map_or((0.0, 0.5), |t| (1000.0 * t.fill.si(), t.fill.si() / t.capacity.si()));
    let celsius = plant.temperature.kelvin() - 273.15;
    let facts = format!(
        "[\n        {},\n        {},\n    ]",
        quoted(&format!("Fuel gauge at {} in 100", number(100.0 * share, 0))),
        quoted(&format!("Dry, {} °C", number(celsius, 0)))
    );
    vec![
        Edit::text("customer", WHOSE),
        Edit::set("facts", facts),
        Edit::text("plant", &plant.name),
        Edit::set("fill", format!("l({})", patch::number((10.0 * fill).round() / 10.0))),
        Edit::set("fuel_gauge", format!("{share:.2}")),
        Edit::text("questions[0].answer", ANSWER),
        Edit::text("questions[1].answer", ANSWER),
        Edit::set("looks", looks(plant)),
        Edit::set("candidates", candidates(plant, rivals)),
        Edit::set("hidden", hidden_list(rivals)),
    ]
}

fn looks(plant: &Plant) -> String {
    let look =
        |part: &Part| format!("        (part: {}, sees: {}),\n", quoted(&part.name), quoted(seen(plant, part)));
    format!("[\n{}    ]", plant.parts.iter().map(look).collect::<String>())
}

/// What a look at a part shows whatever hides in it: nothing that would be a lie with one of the candidates.
fn seen(plant: &Plant, part: &Part) -> &'static str {
    let ends = part.is.ends();
    let within_tank = ends.iter().any(|end| plant.node(end).is_some_and(|n| n.place == Where::Tank));
    match &part.is {
        Component::Tank(_) => "Clean outside, no dents, the cap tight.",
        Component::Strainer(_) | Component::SwirlPot(_) | Component::JetPump(_) => {
            "Inside the tank. Nothing to see from outside."
        }
        Component::ElectricPump(_) if within_tank => "Inside the tank. Nothing to see from outside.",
        Component::ElectricPump(_) => "Dry, its plug sits tight.",
        Component::Line(_) => "Dry as far as it can be seen.",
        Component::SedimentBowl(_) => "Dry, the glass clear.",
        Component::Engine(_) => "Nothing loose, nothing wet.",
        _ => "Dry outside.",
    }
}

/// As a learner reads it; with the place where there could be several.
fn label(plant: &Plant, rival: &Rival) -> String {
    let name = rival.fault.name.said();
    if rival.fault.places(plant).len() < 2 {
        return name.to_owned();
    }
    let place = match (plant.node(&rival.at), rival.at.rsplit_once('/')) {
        (Some(node), _) if rival.fault.place == Place::Node => node.joint.as_deref().unwrap_or(&node.name),
        (_, Some((_, joint))) => joint,
        _ => &rival.at,
    };
    format!("{name}: {place}")
}

fn candidates(plant: &Plant, rivals: &[Rival]) -> String {
    let mut t = String::from("[\n");
    let often = |r: &Rival| r.fault.weight(group(plant), &[]);
    let most = rivals.iter().map(often).fold(1e-9, f64::max);
    for r in rivals {
        // in three steps, as an author would weigh them
        let weight = (3.0 * (often(r) / most).sqrt()).round().clamp(1.0, 3.0);
        let _ = write!(
            t,
            "        (name: {}, label: {}, weight: {weight:.0}, vehicles: [\n            (fault: {}, at: {}, severity: \
             ({:.1}, {:.1})),\n        ]),\n",
            quoted(&short_name(r.fault)),
            quoted(&label(plant, r)),
            quoted(r.fault.code),
            quoted(&r.at),
            r.band.0,
            r.band.1
        );
    }
    t + "        (name: \"nothing-wrong\", label: \"Fuel supply sound; look elsewhere\", weight: 2, vehicles: []),\n    ]"
}

fn hidden_list(rivals: &[Rival]) -> String {
    let entry = |r: &Rival| {
        let severity = HIDDEN.clamp(r.band.0, r.band.1);
        format!("        (fault: {}, at: {}, severity: {severity:.1}),\n", quoted(r.fault.code), quoted(&r.at))
    };
    format!("[\n{}    ]", hidden(rivals).map(entry).unwrap_or_default())
}

/// The remark that shows how a snare is written, with names of this job.
fn with_snare(text: &str, rivals: &[Rival]) -> String {
    let wrong = rivals.iter().find(|r| hidden(rivals).is_none_or(|h| h.fault.code != r.fault.code));
    let lines = text.lines().filter_map(|line| match (line.trim_start().strip_prefix("// snares:"), wrong) {
        (None, _) => Some(line.to_owned()),
        (Some(_), None) => None,
        (Some(_), Some(r)) => {
            let names = quoted(&short_name(r.fault));
            Some(format!("    // snares: [(trap: 1, named: [{names}])],"))
        }
    });
    lines.map(|line| line + "\n").collect()
}

/// A name for files and actions, from the fault's own: names hold forty characters; the code keeps them apart.
pub(super) fn short_name(fault: &Fault) -> String {
    let name = fault.name.to_lowercase().replace(['\'', '\u{2019}'], "");
    let name: String = name.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    let words: Vec<&str> = name.split('-').filter(|w| !w.is_empty()).collect();
    let name = words.join("-");
    if name.chars().count() <= 34 {
        return name;
    }
    let short: String = name.chars().take(30).collect();
    format!("{}-{}", short.trim_end_matches('-'), fault.code.to_lowercase())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::authoring::preview::of_job;
    use crate::diag::id;
    use crate::diagnosis::ensemble::Unwatched;
    use crate::scenario::{check_text, load_job};

    /// On every built-in vehicle: it can be used at once, the check names only what is left to write, it can be sat on
    /// that vehicle, and what is hidden is outside the card.
    #[test]
    fn a_first_job_fits_every_vehicle() {
        let mut library = Library::builtin();
        for plant in library.names(Kind::Plant) {
            let text = first_job(&library, &plant, "hard-start").unwrap_or_else(|why| panic!("{plant}: {why}"));
            let report = check_text(Some(Kind::Job), "new.ron", &text, &library);
            assert!(report.diagnostics().iter().all(|d| d.id == id::PLACEHOLDER), "{plant}\n{report}\n{text}");
            // customer, complaint, goal, trap, hint and two answers
            assert_eq!(report.warnings(), 7, "{plant}\n{report}");
            assert!(!text.contains("a1-van") || plant == "a1-van", "{plant}\n{text}");
            library.insert(Kind::Job, "new", "new.ron", &text);
            let (job, _) = load_job(&library, "new").unwrap();
            assert_eq!(job.plant.name, plant);
            assert!(job.candidates.len() >= 5, "{plant}: {:?}", job.candidates);
            if plant == "a10-petrol" {
                // strainer and tap throttle the same way into the same joint
                let codes: Vec<&str> =
                    job.candidates.iter().flat_map(|c| &c.vehicles).map(|v| v.fault.as_str()).collect();
                assert!(codes.contains(&"F03") && !codes.contains(&"F25"), "{codes:?}");
            }
            let shown = of_job(&job, None, false, &Unwatched).unwrap();
            assert!(shown.rows.iter().any(|r| r.is_outside() && !r.is_alike()), "{plant}: {:?}", shown.rows);
            // and isn't heard: whoever takes any test would know it
            assert!(shown.rows.iter().all(|r| r.wrong.engine == r.sound.engine), "{plant}: {:?}", shown.rows);
        }
    }

    #[test]
    fn what_is_no_vehicle_is_told() {
        let why = first_job(&Library::builtin(), "a7-truk", "x").unwrap_err();
        assert!(why.contains("a7-truck"), "{why}");
    }
}
