//! Small complete files, and the examples of `faultbay explain` put into them.
//!
//! A page of [`crate::diag::pages`] shows one field of a file, wrong and right. To prove that the
//! wrong one is found and the right one passes, the field takes its place in a whole file.

use std::ops::Range;

use super::picture::{EXAMPLE, Picture};
use super::source::Source;
use super::{Kind, Library};
use crate::diag::pages::{Example, Within};

/// A plant with one of everything that a plant needs.
pub const PLANT: &str = r#"Plant(
    title: "Bench plant",
    fuel: Diesel,
    nodes: [
        (name: "tank", height: m(0)),
        (name: "foot", height: mm(30)),
        (name: "filter in", height: m(0.5), joint: "filter inlet"),
        (name: "pump in", height: m(0.5), joint: "pump inlet"),
        (name: "gallery", height: m(0.5)),
    ],
    parts: [
        (name: "tank", label: "tank", is: Tank(outlet: "tank", capacity: l(60), fill: l(40), area: m2(0.15), pickup: mm(20), vent: l_per_min(36))),
        (name: "strainer", label: "strainer", is: Strainer(from: "tank", to: "foot", clean: (drop: mbar(12), at: l_per_h(160), laminar: 0.35))),
        (name: "line", label: "line", is: Line(from: "foot", to: "filter in", length: m(3), bore: mm(8), wall: per_Pa(4e-9))),
        (name: "filter", label: "filter", is: Filter(from: "filter in", to: "pump in", new: (drop: mbar(40), at: l_per_h(160), laminar: 0.85), bowl: ml(190), clean_side: ml(90))),
        (name: "pump", label: "pump", is: GearPump(from: "pump in", to: "gallery", displacement: ml_per_turn(1.1), slip: 3e-6, slip_at_rest: 4e-12, filling: Pa(36000), filling_with_speed: Pa(400))),
        (name: "engine", label: "engine", is: Engine(gallery: "gallery", volume: ml(45), wall: per_Pa(2.5e-9), overflow: (opens: bar(4.8), slope: 0.0006), demand: ml_per_s(0.35), demand_with_speed: ml_per_s(1.1), starves_at: Pa(45000), starves_over: Pa(18000), lag: s(0.35), starter: rpm(210), idle: rpm(780), raised: rpm(2500))),
    ],
)
"#;

/// A job on that plant.
pub const JOB: &str = r#"Job(
    title: "Bench job",
    customer: "Dunholt Contracting",
    complaint: "It has no pull.",
    minutes: 30,
    mode: practice,
    plant: "bench",
    rubric: "bench",
    fuel_gauge: 0.67,
    questions: [
        (name: "since", ask: "Since when?", answer: "A week."),
    ],
    looks: [
        (part: "strainer", sees: "Inside the tank."),
        (part: "filter", sees: "Dusty and dry."),
        (part: "pump", sees: "Dry."),
    ],
    limits: [
        (joint: "filter in", state: "rest", low: mbar(-50), high: mbar(10)),
        (joint: "filter in", state: "crank", low: mbar(-70), high: mbar(-5)),
        (joint: "filter in", state: "idle", low: mbar(-100), high: mbar(-30)),
        (joint: "filter in", state: "raised", low: mbar(-200), high: mbar(-60)),
        (joint: "filter in", state: "dead-head", low: mbar(-1000), high: mbar(-600), words: "at idle, within 5 s"),
        (joint: "filter in", state: "hold", low: mbar(-70), high: mbar(5)),
        (joint: "pump in", state: "rest", low: mbar(-50), high: mbar(10)),
        (joint: "pump in", state: "crank", low: mbar(-80), high: mbar(-5)),
        (joint: "pump in", state: "idle", low: mbar(-150), high: mbar(-30)),
        (joint: "pump in", state: "raised", low: mbar(-250), high: mbar(-60)),
        (joint: "pump in", state: "dead-head", low: mbar(-1000), high: mbar(-600), words: "at idle, within 5 s"),
        (joint: "pump in", state: "hold", low: mbar(-80), high: mbar(5)),
    ],
    candidates: [
        (name: "plugged-filter", label: "Filter plugged", weight: 3, vehicles: [(fault: "F15", severity: (2.0, 4.5))]),
        (name: "air-ingress", label: "Air gets in", weight: 3, vehicles: [(fault: "F09", at: "filter in", severity: (1.5, 4.5))]),
        (name: "plugged-strainer", label: "Strainer plugged", weight: 2, vehicles: [(fault: "F03", severity: (2.0, 4.5))]),
        (name: "worn-pump", label: "Pump worn", weight: 1, vehicles: [(fault: "F26", severity: (2.0, 4.5))]),
        (name: "nothing-wrong", label: "Nothing wrong", weight: 2, vehicles: []),
    ],
    hidden: [
        (fault: "F15", severity: 3.0),
    ],
)
"#;

/// A rubric.
pub const RUBRIC: &str = "Rubric(
    diagnosis: 30,
    justified: 25,
    measurement: 15,
    procedure: 20,
    calibration: 10,
    cut: 60,
    reading_tolerance: mbar(15),
)
";

/// A course.
pub const COURSE: &str = r#"Course(
    title: "Bench course",
    aim: "Whoever has sat it can read a supply at two joints.",
    jobs: [
        (job: "bench", aim: "One restriction, found by two readings."),
    ],
)
"#;

/// A library with nothing but these, all named `bench`.
pub fn library() -> Library {
    let mut library = Library::empty();
    library.insert(Kind::Plant, "bench", "bench-plant.ron", PLANT);
    library.insert(Kind::Job, "bench", "bench-job.ron", JOB);
    library.insert(Kind::Rubric, "bench", "bench-rubric.ron", RUBRIC);
    let hard = JOB.replacen("minutes: 30,", "minutes: 30,\n    level: advanced,", 1);
    library.insert(Kind::Job, "hard", "hard-job.ron", &hard);
    library.insert(Kind::Course, "bench", "bench-course.ron", COURSE);
    if let Ok(picture) = Picture::read(EXAMPLE) {
        library.insert_picture("grey", picture);
    }
    library
}

/// The complete file of an example: wrong, or right.
pub fn file(example: &Example, wrong: bool) -> String {
    let shown = if wrong { example.wrong } else { example.right };
    let grown = match example.grown {
        Some(grow) if wrong => grow(shown),
        _ => shown.to_owned(),
    };
    let base = match example.within {
        Within::File | Within::Recording => return grown,
        Within::Course(_) => COURSE,
        Within::Plant(_) => PLANT,
        Within::Job(_) => JOB,
        Within::Rubric(_) => RUBRIC,
    };
    let (Within::Plant(field) | Within::Job(field) | Within::Rubric(field) | Within::Course(field)) =
        example.within
    else {
        return grown;
    };
    let Some(place) = field_place(base, field) else { return grown };
    format!("{}{grown}{}", &base[..place.start], &base[place.end..])
}

/// Bytes of a field of a whole file, from its name to the comma after it; where the file lacks it,
/// the place behind the opening bracket.
fn field_place(text: &str, field: &str) -> Option<Range<usize>> {
    let source = Source::scan(text).ok()?;
    let Some(key) = source.root().key(field, 0) else {
        let head = source.root().head().end;
        return Some(head..head);
    };
    let end = source.root().field(field).span().end;
    Some(key.start..end + usize::from(text[end..].starts_with(',')))
}
