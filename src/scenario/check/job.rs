//! A job as a whole, held against the plant and the rubric that it names.

use super::candidates::{check_also_right, check_candidates};
use super::card::{bare_parts, card_gaps, check_limits, check_looks, lines};
use super::fits::{Answer, check_labels};
use super::page::{LONGEST_LINE, LONGEST_TEXT, Page};
use super::parts::check_fill;
use super::pictures::check_pictures;
use super::place::check_hidden;
use super::plant::{Day, built, check_altitude, check_temperature, plant_file};
use super::rubric::rubric;
use super::snares::check_snares;
use super::varies::check_varies;
use super::withheld::check_withheld;
use crate::diag::{Report, id, quotable};
use crate::fluid::{Blend, FuelClass};
use crate::instrument::codes::{CODES, find};
use crate::plant::component::Component;
use crate::scenario::library::{Kind, Library};
use crate::scenario::model::{Job, Look, Question, Shown};
use crate::scenario::parse;
use crate::scenario::raw::{RawCode, RawJob, RawPlant};
use crate::scenario::source::{At, Source};
use crate::scenario::takes;

/// Reads and checks a job with the plant and the rubric that it names.
pub(in crate::scenario) fn job(
    file: &str,
    text: &str,
    name: &str,
    library: &Library,
    report: &mut Report,
) -> Option<Job> {
    let read = parse::read::<RawJob>(file, text, report)?;
    let mut found = Report::new();
    let page = Page { file, report: &mut found };
    let job = check_job(page, name, text, library, read.value.clone(), &read.source);
    report.merge_where(found, |d| d.file != file || read.is_the_authors(d));
    job.filter(|_| read.whole)
}

fn check_job(
    mut page: Page<'_>,
    name: &str,
    text: &str,
    library: &Library,
    raw: RawJob,
    source: &Source<'_>,
) -> Option<Job> {
    let root = source.root();
    check_card(&mut page, root, &raw);

    let plant_entry = named(&mut page, root, Kind::Plant, &raw.plant, library);
    let rubric_entry = named(&mut page, root, Kind::Rubric, &raw.rubric, library);
    let plant_text = plant_entry.map_or("", |(_, text)| text);
    let rubric_text = rubric_entry.map_or("", |(_, text)| text);
    let rubric = rubric_entry.and_then(|(file, text)| rubric(file, text, &raw.rubric, page.report));
    let plant_before = page.report.errors();
    let raw_plant = plant_entry.and_then(|(file, text)| plant_file(file, text, page.report));
    // with a broken plant, only complaints about the plant itself are worth reading
    let raw_plant = raw_plant.filter(|_| page.report.errors() == plant_before)?;
    check_conditions(&mut page, root, &raw, &raw_plant);
    let day = Day { fuel: raw.fuel, fill: raw.fill, temperature: raw.temperature, altitude: raw.altitude };
    let plant = built(&raw_plant, &raw.plant, day);

    check_looks(&mut page, root.field("looks"), &raw, &plant);
    let limits = if raw.limits.is_empty() {
        lines(&raw_plant.card)
    } else {
        check_limits(&mut page, root.field("limits"), &raw.limits, &plant)
    };
    let candidates = check_candidates(&mut page, root.field("candidates"), &raw.candidates, &plant);
    let hidden = check_hidden(&mut page, root.field("hidden"), &raw.hidden, &candidates, &plant);
    let also_right = check_also_right(&mut page, root.field("also_right"), &raw.also_right, &candidates);
    let snares = check_snares(&mut page, root.field("snares"), &raw, &candidates, &plant);
    check_labels(&mut page, root.field("candidates"), &candidates, &plant);
    Answer { candidates: &candidates, hidden: &hidden, plant: &plant }.check(&mut page, root, &raw);
    let withheld = check_withheld(&mut page, root.field("withheld"), &raw.withheld);
    let pictures = check_pictures(&mut page, root.field("pictures"), &raw.pictures, library);
    check_codes(&mut page, root.field("codes"), &raw.codes);
    check_varies(&mut page, root, &raw, &plant);
    let card = root.field("limits");
    card_gaps(&mut page, if card.exists() { card } else { root }, &limits, &plant);
    bare_parts(&mut page, root.field("looks"), &raw, &candidates, &plant);

    if page.report.has_errors() {
        return None;
    }
    Some(Job {
        name: name.to_owned(),
        title: raw.title,
        customer: raw.customer,
        complaint: raw.complaint,
        facts: raw.facts,
        hash: hash_of(plant_text, text, rubric_text, &pictures),
        pictures,
        goals: raw.goals,
        traps: raw.traps,
        snares,
        hints: raw.hints,
        level: raw.level.unwrap_or_default(),
        minutes: raw.minutes,
        mode: raw.mode,
        joints: plant.joints(),
        plant,
        questions: raw
            .questions
            .into_iter()
            .map(|q| Question { name: q.name, ask: q.ask, answer: q.answer })
            .collect(),
        looks: raw.looks.into_iter().map(|l| Look { part: l.part, sees: l.sees }).collect(),
        limits,
        candidates,
        rubric: rubric?,
        lookahead: raw.lookahead.map_or(1, |tests| tests as u32),
        withheld,
        also_right,
        fuel_gauge: raw.fuel_gauge,
        codes: raw.codes.iter().map(|c| (c.number.clone(), c.rpm)).collect(),
        vehicle: raw.vehicle,
        stood_s: raw.stood.map_or(0.0, crate::units::Span::si).min(3600.0 * takes::STOOD_H.1),
        hidden: crate::scenario::model::Secret(hidden),
    })
}

/// First 32 hexadecimal digits of BLAKE3 over the three texts and the pictures, each after its length.
fn hash_of(plant: &str, job: &str, rubric: &str, pictures: &[Shown]) -> String {
    let mut hasher = blake3::Hasher::new();
    let texts = [plant, job, rubric].map(str::as_bytes);
    for bytes in texts.into_iter().chain(pictures.iter().map(|p| p.picture.png())) {
        hasher.update(&(bytes.len() as u64).to_le_bytes());
        hasher.update(bytes);
    }
    hasher.finalize().to_hex()[..32].to_owned()
}

fn named<'l>(
    page: &mut Page<'_>,
    root: At<'_>,
    kind: Kind,
    name: &str,
    library: &'l Library,
) -> Option<(&'l str, &'l str)> {
    let entry = library.entry(kind, name);
    if entry.is_none() {
        let id = if kind == Kind::Plant { id::UNKNOWN_PLANT } else { id::UNKNOWN_RUBRIC };
        let message = format!("no {} is called {:?}", kind.word(), quotable(name));
        page.say(
            page.at(id, root.field(kind.word()).span(), message)
                .label(format!("no file of that name in \"{}\"", kind.folder()))
                .among(name, library.names(kind)),
        );
    }
    entry
}

/// What stands on the job card, and the questions.
fn check_card(page: &mut Page<'_>, root: At<'_>, raw: &RawJob) {
    page.text(root.field("title"), "the title", &raw.title, LONGEST_LINE);
    page.text(root.field("customer"), "the customer", &raw.customer, LONGEST_LINE);
    page.text(root.field("complaint"), "the complaint", &raw.complaint, LONGEST_TEXT);
    let lists = [
        ("facts", &raw.facts, "a fact"),
        ("goals", &raw.goals, "a goal"),
        ("traps", &raw.traps, "a trap"),
        ("hints", &raw.hints, "a hint"),
    ];
    for (field, lines, what) in lists {
        for (i, line) in lines.iter().enumerate() {
            page.text(root.field(field).item(i), what, line, LONGEST_TEXT);
        }
    }
    page.known(root, "Job", "minutes", "the time", raw.minutes);
    if let Some(stood) = raw.stood {
        page.known(root, "Job", "stood", "how long it stood", stood.si() / 3600.0);
    }
    if let Some(tests) = raw.lookahead {
        page.known(root, "Job", "lookahead", "how many tests ahead are judged", tests as f64);
    }
    page.known(root, "Job", "fuel_gauge", "the fuel gauge", raw.fuel_gauge);
    let questions = root.field("questions");
    for (i, question) in raw.questions.iter().enumerate() {
        let at = questions.item(i);
        page.name(at.field("name"), "the name of a question", &question.name);
        page.text(at.field("ask"), "the question", &question.ask, LONGEST_TEXT);
        page.text(at.field("answer"), "the answer", &question.answer, LONGEST_TEXT);
    }
    page.unique(questions, "name", "questions", raw.questions.iter().map(|q| q.name.as_str()));
}

/// Trouble codes that are stored beforehand.
fn check_codes(page: &mut Page<'_>, at: At<'_>, raw: &[RawCode]) {
    for (i, code) in raw.iter().enumerate() {
        let here = at.item(i);
        page.known(here, "codes", "rpm", "the speed of the engine", code.rpm);
        if find(&code.number).is_none() {
            let message = format!("no vehicle here stores a trouble code {:?}", quotable(&code.number));
            page.say(
                page.at(id::UNKNOWN_CODE, here.field("number").span(), message)
                    .label("not one of them")
                    .among(&code.number, CODES.iter().map(|c| c.number)),
            );
        }
    }
    page.unique(at, "number", "stored codes", raw.iter().map(|c| c.number.as_str()));
}

/// A job's fuel is that of the season, which belongs into the vehicle: a wrong one is a fault that somebody can find.
fn check_fuel(page: &mut Page<'_>, at: At<'_>, fuel: Blend, plant: &RawPlant) {
    let is_petrol = |blend: Blend| matches!(blend.mainly(), FuelClass::Petrol | FuelClass::WinterPetrol);
    let (is, was) = (is_petrol(fuel), is_petrol(plant.fuel));
    if is == was {
        return;
    }
    let word = |petrol: bool| if petrol { "petrol" } else { "diesel" };
    let message = format!("the vehicle runs on {}, and this says that {} belongs into it", word(was), word(is));
    page.say(page.at(id::OTHER_FUEL, at.span(), message).label(format!("{}, and not as a fault", word(is))).help(
        "\"fuel\" is the right fuel of the season; that somebody filled up with the wrong one is the fault F06",
    ));
}

/// Fuel and temperature that the job puts in the place of the plant's.
fn check_conditions(page: &mut Page<'_>, root: At<'_>, raw: &RawJob, plant: &RawPlant) {
    if let Some(t) = raw.temperature {
        check_temperature(page, root.field("temperature"), t);
    }
    if let Some(altitude) = raw.altitude {
        check_altitude(page, root.field("altitude"), altitude);
    }
    if let Some(fuel) = raw.fuel {
        check_fuel(page, root.field("fuel"), fuel, plant);
    }
    let tank = plant.parts.iter().find_map(|p| match &p.is {
        Component::Tank(tank) => Some(tank),
        _ => None,
    });
    let Some(tank) = tank else { return };
    if let Some(fill) = raw.fill {
        check_fill(page, root.field("fill"), fill, tank.capacity);
    }
    let share = raw.fill.unwrap_or(tank.fill).si() / tank.capacity.si();
    let low_on_purpose = raw.hidden.iter().any(|h| h.fault == "F01");
    let apart = (raw.fuel_gauge - share).abs() > 0.1;
    let lies = raw.gauge_lies == Some(true);
    if lies && !apart && !low_on_purpose {
        let at = root.field("gauge_lies");
        let message =
            format!("the gauge shows {:.2} and the tank is {share:.2} full: it tells the truth", raw.fuel_gauge);
        page.say(
            page.at(id::HONEST_GAUGE, at.span(), message)
                .label("no lie")
                .help("move fuel_gauge or fill, or leave gauge_lies out"),
        );
    }
    if (0.0..=1.0).contains(&raw.fuel_gauge) && apart && !lies {
        let at = root.field("fuel_gauge");
        let message = format!("the gauge shows {:.2}, the tank is {share:.2} full", raw.fuel_gauge);
        page.say(
            page.at(id::GAUGE, at.span(), message)
                .label("more than a tenth apart")
                .help("when a lying gauge is part of the job, say so: gauge_lies: true"),
        );
    }
}
