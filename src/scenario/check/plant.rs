//! A plant as a whole: what it says of itself, and that it can be simulated.

use super::card::{check_limits, lines};
use super::ends::check_ends;
use super::flaws::check_flaws;
use super::page::{LONGEST_LINE, Page};
use super::parts::{check_node, check_number, check_part};
use super::path::check_paths;
use super::pumps::check_pumps;
use crate::diag::{Report, id};
use crate::fluid::Blend;
use crate::plant::assemble::{Detail, Rig, TeeFitting, assemble};
use crate::plant::component::Component;
use crate::plant::flaw::Flaw;
use crate::plant::graph::Graph;
use crate::plant::{Filling, Plant};
use crate::scenario::model::Limit;
use crate::scenario::parse;
use crate::scenario::raw::RawPlant;
use crate::scenario::source::{At, Source};
use crate::scenario::takes;
use crate::units::{Length, Temperature, Volume};

/// Reads and checks a plant.
pub(in crate::scenario) fn plant(file: &str, text: &str, name: &str, report: &mut Report) -> Option<Plant> {
    let before = report.errors();
    let raw = plant_file(file, text, report)?;
    (report.errors() == before).then(|| built(&raw, name, Day::default()))
}

/// A plant as far as it can be read, unchecked: for a drawing.
pub(in crate::scenario) fn drawable(text: &str, name: &str) -> Option<Plant> {
    let read = parse::read::<RawPlant>("", text, &mut Report::new())?;
    (!read.value.parts.is_empty()).then(|| built(&read.value, name, Day::default()))
}

/// Reads and checks a plant for its card.
pub(in crate::scenario) fn card(file: &str, text: &str, report: &mut Report) -> Option<Vec<Limit>> {
    let before = report.errors();
    let raw = plant_file(file, text, report)?;
    (report.errors() == before).then(|| lines(&raw.card))
}

pub(super) fn plant_file(file: &str, text: &str, report: &mut Report) -> Option<RawPlant> {
    let read = parse::read::<RawPlant>(file, text, report)?;
    let mut found = Report::new();
    check_plant(&mut Page { file, report: &mut found }, &read.source, &read.value);
    report.merge_where(found, |d| read.is_the_authors(d));
    read.whole.then_some(read.value)
}

/// What a job puts in the place of the plant's own.
#[derive(Clone, Copy, Default)]
pub(super) struct Day {
    /// The season's fuel.
    pub(super) fuel: Option<Blend>,
    /// How much is in the tank.
    pub(super) fill: Option<Volume>,
    /// Temperature of fuel and surroundings.
    pub(super) temperature: Option<Temperature>,
    /// Height above the sea.
    pub(super) altitude: Option<Length>,
}

/// The plant as the model has it, with what a job puts in its place.
pub(super) fn built(raw: &RawPlant, name: &str, day: Day) -> Plant {
    let Day { fuel, fill, temperature, altitude } = day;
    let temperature = temperature.or(raw.temperature).unwrap_or(Temperature::from_celsius(20.0));
    let mut parts = raw.parts.clone();
    if let Some(fill) = fill {
        for part in &mut parts {
            // what the tank can't hold is told at the job's own field, and nothing else shall follow from it
            if let Component::Tank(tank) = &mut part.is
                && fill <= tank.capacity
            {
                tank.fill = fill;
            }
        }
    }
    Plant {
        name: name.to_owned(),
        title: raw.title.clone(),
        fuel: Filling::Of(fuel.unwrap_or(raw.fuel)),
        temperature,
        altitude: altitude.or(raw.altitude).unwrap_or(Length::from_si(0.0)),
        warmth: raw.warmth,
        nodes: raw.nodes.clone(),
        parts,
        leaks: Vec::new(),
        service: raw.service.unwrap_or_default(),
    }
}

fn check_plant(page: &mut Page<'_>, source: &Source<'_>, raw: &RawPlant) {
    let root = source.root();
    page.text(root.field("title"), "the title", &raw.title, LONGEST_LINE);
    if let Some(t) = raw.temperature {
        check_temperature(page, root.field("temperature"), t);
    }
    if let Some(altitude) = raw.altitude {
        check_altitude(page, root.field("altitude"), altitude);
    }
    let nodes = root.field("nodes");
    let parts = root.field("parts");
    for (i, node) in raw.nodes.iter().enumerate() {
        check_node(page, nodes.item(i), node);
    }
    for (i, part) in raw.parts.iter().enumerate() {
        check_part(page, parts.item(i), part);
    }
    let labels: Vec<(usize, &str)> =
        raw.nodes.iter().enumerate().filter_map(|(i, n)| n.joint.as_deref().map(|j| (i, j))).collect();
    if labels.is_empty() {
        page.say(
            page.at(id::NO_JOINT, nodes.head(), "the tee fits nowhere in this plant")
                .label("none of these nodes has a joint")
                .help("give a node where the line can be opened a joint, such as joint: \"filter inlet\""),
        );
    }
    for (k, (i, label)) in labels.iter().enumerate() {
        if let Some((first, _)) = labels[..k].iter().find(|(_, l)| l == label) {
            page.say(
                page.at(
                    id::DUPLICATE_NAME,
                    nodes.item(*i).field("joint").span(),
                    format!("two joints are called {label:?}"),
                )
                .label("again here")
                .also(nodes.item(*first).field("joint").span(), "first here"),
            );
        }
    }
    if let Some(warmth) = &raw.warmth {
        for number in warmth.numbers() {
            check_number(page, root.field("warmth"), &number);
        }
    }
    if let Some(service) = &raw.service {
        let at = root.field("service");
        page.known(at, "service", "battery", "the voltage of the battery", service.battery.si());
    }
    let graph = Graph::new(&raw.nodes, &raw.parts);
    check_flaws(page, root, &graph);
    check_ends(page, root, &graph);
    check_pumps(page, parts, &graph);
    check_paths(page, root, &graph);
    let plant = built(raw, "", Day::default());
    check_limits(page, root.field("card"), &raw.card, &plant);
    if !page.report.has_errors()
        && let Err(flaw) = assembled(&plant)
    {
        page.say(page.at(id::NOT_BUILT, root.head(), flaw.to_string()).label("this plant"));
    }
}

/// Tries to put the equations of a plant together: as it is, and with the tee at each joint.
fn assembled(plant: &Plant) -> Result<(), Flaw> {
    assemble(plant, &Rig::default(), Detail::COARSE)?;
    for (joint, _) in plant.joints() {
        let tee = TeeFitting { joint, hose_air: 0.0, valve_reach: 1.0 };
        assemble(plant, &Rig { tee: Some(tee), container: None }, Detail::COARSE)?;
    }
    Ok(())
}

pub(super) fn check_altitude(page: &mut Page<'_>, at: At<'_>, altitude: Length) {
    page.number(at, "the altitude", altitude.si(), takes::ALTITUDE, "m");
}

pub(super) fn check_temperature(page: &mut Page<'_>, at: At<'_>, t: Temperature) {
    page.number(at, "the temperature", t.celsius(), takes::TEMPERATURE, "°C");
}
