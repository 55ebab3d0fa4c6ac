//! From raw shapes to the model: everything that a shape alone can't tell.
//!
//! Names must lead somewhere, fuel must find a way from the tank to the engine, numbers must be
//! such as a vehicle has, and a job must be one that can be solved and marked. Every check goes on
//! after a failure, so that an author sees all of them.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use super::library::{Kind, Library};
use super::model::{Candidate, FaultBand, Job, Limit, Look, Question, Rubric};
use super::parse;
use super::raw::{MOST_VEHICLES, RawBand, RawCandidate, RawFault, RawJob, RawLimit, RawPlant, RawRubric};
use super::source::{At, Source};
use crate::bay::action::State;
use crate::diag::{Diagnostic, Id, Report, id, nearest, quotable};
use crate::fault::{self, Fault, FaultInstance, KitFaults, Place};
use crate::plant::component::{Component, Resistance};
use crate::plant::{Node, Part, Plant};
use crate::units::{Length, Temperature, Volume};

/// Longest name, characters.
const LONGEST_NAME: usize = 40;
/// Longest single line, such as a title.
const LONGEST_LINE: usize = 160;
/// Longest paragraph, such as a complaint.
const LONGEST_TEXT: usize = 2000;

/// A file under check.
struct Page<'a> {
    file: &'a str,
    report: &'a mut Report,
}

impl Page<'_> {
    fn at(&self, id: Id, span: Range<usize>, message: impl Into<String>) -> Diagnostic {
        Diagnostic::new(id, self.file, span, message)
    }

    fn say(&mut self, diagnostic: Diagnostic) {
        self.report.push(diagnostic);
    }

    /// A text that people read.
    fn text(&mut self, at: At<'_>, what: &str, text: &str, most: usize) {
        let length = text.chars().count();
        let trouble = if text.trim().is_empty() {
            format!("{what} is empty")
        } else if length > most {
            format!("{what} has {length} characters; {most} are the most")
        } else if let Some(c) = text.chars().find(|c| c.is_control() && *c != '\n') {
            format!("{what} holds the control character {c:?}")
        } else {
            return;
        };
        self.say(self.at(id::BAD_TEXT, at.span(), trouble).label("here"));
    }

    /// A name that other places of files, actions and marks refer to.
    fn name(&mut self, at: At<'_>, what: &str, name: &str) {
        self.text(at, what, name, LONGEST_NAME);
        let odd = name.chars().find(|c| !(c.is_alphanumeric() || " -_.".contains(*c)));
        if let Some(c) = odd.filter(|c| !c.is_control()) {
            let message = format!("{what} can't hold {c:?}");
            self.say(
                self.at(id::BAD_TEXT, at.span(), message)
                    .label("here")
                    .help("names are made of letters, digits, spaces, hyphens, dots and low lines"),
            );
        } else if name != name.trim() {
            let message = format!("{what} begins or ends with a blank");
            self.say(self.at(id::BAD_TEXT, at.span(), message).label("here"));
        }
    }

    /// A number within a range, in the unit that the message names.
    fn number(&mut self, at: At<'_>, what: &str, value: f64, range: (f64, f64), unit: &str) {
        let (low, high) = range;
        if !(value >= low && value <= high) {
            let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
            let message = format!("{what} {value} is outside {low} … {high}{unit}");
            self.say(
                self.at(id::OUT_OF_RANGE, at.span(), message)
                    .label(format!("{low} … {high}{unit}"))
                    .instead_of(at.text(), format!("{low} … {high}{unit}")),
            );
        }
    }

    /// Names that occur twice in a list.
    fn unique<'n>(&mut self, list: At<'_>, field: &str, what: &str, names: impl Iterator<Item = &'n str>) {
        let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
        for (i, name) in names.enumerate() {
            if let Some(&first) = seen.get(name) {
                let here = list.item(i).field(field).span();
                let message = format!("two {what} are called {:?}", quotable(name));
                self.say(
                    self.at(id::DUPLICATE_NAME, here, message)
                        .label("again here")
                        .also(list.item(first).field(field).span(), "first here"),
                );
            } else {
                seen.insert(name, i);
            }
        }
    }
}

/// Reads and checks a plant.
pub(super) fn plant(file: &str, text: &str, name: &str, report: &mut Report) -> Option<Plant> {
    let before = report.errors();
    let raw = plant_file(file, text, report)?;
    (report.errors() == before).then(|| built(&raw, name, None, None))
}

fn plant_file(file: &str, text: &str, report: &mut Report) -> Option<RawPlant> {
    let read = parse::read::<RawPlant>(file, text, report)?;
    let mut found = Report::new();
    check_plant(&mut Page { file, report: &mut found }, &read.source, &read.value);
    report.merge_where(found, |d| read.whole || !from_a_lack(d.id));
    read.whole.then_some(read.value)
}

/// Whether a diagnostic may only be there because a piece of the file couldn't be read.
fn from_a_lack(id: Id) -> bool {
    [
        id::UNKNOWN_NODE,
        id::FLOATING_NODE,
        id::OFF_THE_PATH,
        id::ONE_TANK,
        id::ONE_PUMP,
        id::ONE_ENGINE,
        id::NO_JOINT,
        id::HEALTHY_CANDIDATE,
        id::UNCOVERED_FAULT,
        id::HEAVY_PRIOR,
        id::CARD_GAPS,
        id::NO_LOOK,
        id::FEW_CANDIDATES,
    ]
    .contains(&id)
}

/// The plant as the model has it, with what a job puts in its place.
fn built(raw: &RawPlant, name: &str, fill: Option<Volume>, temperature: Option<Temperature>) -> Plant {
    let temperature = temperature.or(raw.temperature).unwrap_or(Temperature::from_celsius(20.0));
    let mut parts = raw.parts.clone();
    if let Some(fill) = fill {
        for part in &mut parts {
            if let Component::Tank(tank) = &mut part.is {
                tank.fill = fill;
            }
        }
    }
    Plant {
        name: name.to_owned(),
        title: raw.title.clone(),
        fuel: raw.fuel.at(temperature),
        temperature,
        altitude: raw.altitude.unwrap_or(Length::from_si(0.0)),
        nodes: raw.nodes.clone(),
        parts,
        leaks: Vec::new(),
    }
}

fn check_plant(page: &mut Page<'_>, source: &Source<'_>, raw: &RawPlant) {
    let root = source.root();
    page.text(root.field("title"), "the title", &raw.title, LONGEST_LINE);
    if let Some(t) = raw.temperature {
        check_temperature(page, root.field("temperature"), t);
    }
    if let Some(altitude) = raw.altitude {
        page.number(root.field("altitude"), "the altitude", altitude.si(), (-500.0, 4000.0), "m");
    }
    let nodes = root.field("nodes");
    let parts = root.field("parts");
    for (i, node) in raw.nodes.iter().enumerate() {
        check_node(page, nodes.item(i), node);
    }
    for (i, part) in raw.parts.iter().enumerate() {
        check_part(page, parts.item(i), part, &raw.nodes);
    }
    page.unique(nodes, "name", "nodes", raw.nodes.iter().map(|n| n.name.as_str()));
    page.unique(parts, "name", "parts", raw.parts.iter().map(|p| p.name.as_str()));
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
    one_of_each(page, parts, &raw.parts);
    check_paths(page, root, &raw.nodes, &raw.parts);
}

fn check_temperature(page: &mut Page<'_>, at: At<'_>, t: Temperature) {
    page.number(at, "the temperature", t.celsius(), (-20.0, 80.0), "°C");
}

fn check_node(page: &mut Page<'_>, at: At<'_>, node: &Node) {
    page.name(at.field("name"), "the name of a node", &node.name);
    page.number(at.field("height"), "the height", node.height.si(), (-3.0, 5.0), "m");
    page.number(at.field("volume"), "the volume", node.volume.si() * 1e6, (0.0, 20_000.0), "ml");
    if let Some(wall) = node.wall {
        page.number(at.field("wall"), "the stretch of the wall", wall.si(), (0.0, 1e-6), "1/Pa");
    }
    if let Some(joint) = &node.joint {
        page.text(at.field("joint"), "the label of a joint", joint, LONGEST_LINE);
    }
}

/// Names of the fields of a component that name nodes, in the order of [`Component::ends`].
fn end_fields(component: &Component) -> &'static [&'static str] {
    match component {
        Component::Tank(_) => &["outlet"],
        Component::Engine(_) => &["gallery"],
        Component::Strainer(_)
        | Component::Line(_)
        | Component::NonReturnValve(_)
        | Component::Filter(_)
        | Component::GearPump(_) => &["from", "to"],
    }
}

fn check_part(page: &mut Page<'_>, at: At<'_>, part: &Part, nodes: &[Node]) {
    page.name(at.field("name"), "the name of a part", &part.name);
    page.text(at.field("label"), "the label", &part.label, LONGEST_LINE);
    page.number(at.field("price"), "the price", part.price, (0.0, 100_000.0), "credits");
    page.number(at.field("minutes"), "the time", part.minutes, (0.0, 1000.0), "min");
    let is = at.field("is");
    let ends = part.is.ends();
    for (field, end) in end_fields(&part.is).iter().zip(&ends) {
        if !nodes.iter().any(|n| n.name == *end) {
            page.say(
                page.at(id::UNKNOWN_NODE, is.field(field).span(), format!("no node is called {:?}", quotable(end)))
                    .label("not in \"nodes\"")
                    .among(end, nodes.iter().map(|n| &n.name)),
            );
        }
    }
    if let [from, to] = ends[..]
        && from == to
    {
        page.say(
            page.at(
                id::SHORT_CIRCUIT,
                is.field("to").span(),
                format!("{:?} begins and ends at {from:?}", part.name),
            )
            .label("the same node again")
            .also(is.field("from").span(), "first here"),
        );
    }
    check_component(page, is, &part.is);
}

fn check_resistance(page: &mut Page<'_>, at: At<'_>, r: &Resistance) {
    page.number(at.field("drop"), "the drop", r.drop.si(), (0.1, 1e6), "Pa");
    page.number(at.field("at"), "the flow", r.at.si() * 3.6e6, (0.1, 10_000.0), "l/h");
    page.number(at.field("laminar"), "the laminar share", r.laminar, (0.0, 1.0), "");
}

fn check_component(page: &mut Page<'_>, at: At<'_>, component: &Component) {
    let mut number = |field: &str, what: &str, value: f64, low: f64, high: f64, unit: &str| {
        page.number(at.field(field), what, value, (low, high), unit);
    };
    match component {
        Component::Tank(c) => {
            number("capacity", "the capacity", c.capacity.si() * 1e3, 0.5, 5000.0, "l");
            number("area", "the surface", c.area.si(), 1e-3, 20.0, "m²");
            number("pickup", "the height of the pick-up", c.pickup.si(), 0.0, 2.0, "m");
            number("vent", "the vent's flow", c.vent.si() * 6e4, 0.0, 10_000.0, "l/min");
            number("air_space", "the pressure in the air space", c.air_space.mbar(), -400.0, 400.0, "mbar");
            check_fill(page, at.field("fill"), c.fill, c.capacity);
        }
        Component::Strainer(c) => {
            check_resistance(page, at.field("clean"), &c.clean);
            if let Some(dirt) = &c.dirt {
                check_resistance(page, at.field("dirt"), dirt);
            }
        }
        Component::Line(c) => {
            number("length", "the length", c.length.si(), 0.01, 50.0, "m");
            number("bore", "the bore", c.bore.si() * 1e3, 0.5, 60.0, "mm");
            number("roughness", "the roughness", c.roughness.si() * 1e3, 0.0, 1.0, "mm");
            number("fittings", "the loss factor", c.fittings, 0.0, 1e5, "");
            number("wall", "the stretch of the wall", c.wall.si(), 0.0, 1e-6, "1/Pa");
            number("damping", "the damping", c.damping, 1.0, 200.0, "");
            number("cells", "the number of cells", f64::from(c.cells), 1.0, 16.0, "");
        }
        Component::NonReturnValve(c) => {
            number("cracking", "the cracking pressure", c.cracking.si() / 100.0, 0.0, 1000.0, "mbar");
            number("seat_leak", "the leak of the seat", c.seat_leak, 0.0, 1e-2, "mL/s a Pa");
            number("stuck_open", "the share stuck open", c.stuck_open, 0.0, 1.0, "");
            number("lift", "the lift", c.lift, 0.0, 1.0, "");
            check_resistance(page, at.field("open"), &c.open);
        }
        Component::Filter(c) => {
            number("bowl", "the bowl", c.bowl.si() * 1e6, 1.0, 10_000.0, "ml");
            number("clean_side", "the clean side", c.clean_side.si() * 1e6, 1.0, 10_000.0, "ml");
            number("cushion", "the cushion of air", c.cushion.si() * 1e6, 0.0, c.bowl.si() * 1e6, "ml");
            if let Some(stroke) = c.primer_stroke {
                number("primer_stroke", "the stroke", stroke.si() * 1e6, 0.1, 500.0, "ml");
            }
            number("clogged", "the clogged share", c.clogged, 0.0, 0.95, "");
            check_resistance(page, at.field("new"), &c.new);
        }
        Component::GearPump(c) => {
            number("displacement", "the displacement", c.displacement.si() * 1e6, 0.01, 200.0, "ml a turn");
            number("slip", "the slip", c.slip, 0.0, 1e-2, "mL/s a Pa");
            number("slip_at_rest", "the slip at rest", c.slip_at_rest, 0.0, 1e-2, "mL/s a Pa");
            number("filling", "the filling pressure", c.filling.si(), 100.0, 1e5, "Pa");
            number("filling_with_speed", "its growth with speed", c.filling_with_speed.si(), 0.0, 1e5, "Pa");
            number("filling_steepness", "the steepness", c.filling_steepness, 1.0, 20.0, "");
            number("teeth", "the number of teeth", f64::from(c.teeth), 2.0, 60.0, "");
        }
        Component::Engine(c) => {
            number("volume", "the volume", c.volume.si() * 1e6, 1.0, 10_000.0, "ml");
            number("wall", "the stretch of the wall", c.wall.si(), 0.0, 1e-6, "1/Pa");
            number("overflow_opens", "the opening pressure", c.overflow_opens.si() / 1e5, 0.0, 50.0, "bar");
            number("overflow_slope", "the slope of the overflow valve", c.overflow_slope, 1e-7, 10.0, "mL/s a Pa");
            number("overflow_leak", "its leak", c.overflow_leak, 0.0, 1.0, "mL/s a Pa");
            number("demand", "the demand", c.demand.si() * 1e6, 0.0, 200.0, "ml/s");
            number(
                "demand_with_speed",
                "its growth with speed",
                c.demand_with_speed.si() * 1e6,
                0.0,
                200.0,
                "ml/s",
            );
            number("back_leak", "the back-leak", c.back_leak.si() * 1e6, 0.0, 200.0, "ml/s");
            number("starves_at", "the pressure of starving", c.starves_at.si() / 100.0, 10.0, 20_000.0, "mbar");
            number("starves_over", "the width of starving", c.starves_over.si() / 100.0, 1.0, 10_000.0, "mbar");
            number("lag", "the lag", c.lag.si(), 0.01, 20.0, "s");
            number("starter", "the starter's speed", c.starter.si(), 30.0, 600.0, "1/min");
            number("idle", "the idle speed", c.idle.si(), 200.0, 3000.0, "1/min");
            number("raised", "the raised speed", c.raised.si(), c.idle.si(), 10_000.0, "1/min");
            if let Some(share) = c.stopped_by_gas {
                number("stopped_by_gas", "the share of gas", share, 0.001, 1.0, "");
            }
        }
    }
}

fn check_fill(page: &mut Page<'_>, at: At<'_>, fill: Volume, capacity: Volume) {
    if fill.si() <= 0.0 || fill.si() > capacity.si() {
        let (fill, capacity) = (fill.si() * 1e3, capacity.si() * 1e3);
        let message = format!("{fill} l of fuel in a tank of {capacity} l");
        page.say(
            page.at(id::FILL, at.span(), message)
                .label("here")
                .instead_of(at.text(), format!("up to l({capacity})")),
        );
    }
}

/// This version simulates one tank, one pump and one engine.
fn one_of_each(page: &mut Page<'_>, at: At<'_>, parts: &[Part]) {
    for (id, kind, what) in
        [(id::ONE_TANK, "Tank", "tank"), (id::ONE_PUMP, "GearPump", "pump"), (id::ONE_ENGINE, "Engine", "engine")]
    {
        let found: Vec<usize> = (0..parts.len()).filter(|&i| parts[i].is.kind() == kind).collect();
        match found[..] {
            [_] => {}
            [] => page.say(
                page.at(id, at.head(), format!("the plant has no {what}"))
                    .label("none of these parts")
                    .help(format!("add a part with is: {kind}( … )")),
            ),
            [first, ref more @ ..] => {
                for &i in more {
                    let message = format!("the plant has more than one {what}");
                    page.say(
                        page.at(id, at.item(i).field("is").head(), message)
                            .label("one more here")
                            .also(at.item(first).field("is").head(), "the first"),
                    );
                }
            }
        }
    }
}

/// Every node must lie on a way that fuel can take from the tank to the engine.
fn check_paths(page: &mut Page<'_>, root: At<'_>, nodes: &[Node], parts: &[Part]) {
    let at = root.field("nodes");
    let joined: BTreeSet<&str> = parts.iter().flat_map(|p| p.is.ends()).collect();
    let unknown: Vec<&str> = joined.iter().copied().filter(|end| !nodes.iter().any(|n| n.name == *end)).collect();
    let meant: BTreeSet<String> =
        unknown.iter().filter_map(|end| nearest(end, nodes.iter().map(|n| n.name.as_str()))).collect();
    for (i, node) in nodes.iter().enumerate() {
        // a node whose name was only misspelt elsewhere hangs in nothing
        if !joined.contains(node.name.as_str()) && !meant.contains(&node.name) {
            let message = format!("no part is joined to the node {:?}", node.name);
            page.say(
                page.at(id::FLOATING_NODE, at.item(i).field("name").span(), message)
                    .label("hangs in the air")
                    .help("let a part begin or end here, or leave the node out"),
            );
        }
    }
    let ends = |tank: bool| -> Vec<&str> {
        let wanted = |p: &&Part| if tank { p.is.kind() == "Tank" } else { p.is.kind() == "Engine" };
        parts.iter().filter(wanted).flat_map(|p| p.is.ends()).collect()
    };
    let (start, goal) = (ends(true), ends(false));
    if start.is_empty() || goal.is_empty() || !unknown.is_empty() {
        return; // said already, and the way can't be known before
    }
    let downstream = reached(parts, &start, true);
    if !goal.iter().any(|g| downstream.contains(g)) {
        page.say(no_way(page, root, nodes, parts, &downstream));
        return;
    }
    let upstream = reached(parts, &goal, false);
    for (i, node) in nodes.iter().enumerate() {
        let name = node.name.as_str();
        if !joined.contains(name) || (downstream.contains(name) && upstream.contains(name)) {
            continue;
        }
        let label = if downstream.contains(name) {
            "from here nothing leads to the engine"
        } else {
            "no fuel comes here from the tank"
        };
        let message = format!("the node {name:?} isn't on a way from the tank to the engine");
        page.say(
            page.at(id::OFF_THE_PATH, at.item(i).field("name").span(), message)
                .label(label)
                .help("\"from\" is the end towards the tank, \"to\" the end towards the engine"),
        );
    }
}

/// The one diagnostic for a plant in which no way leads from the tank to the engine: at the part
/// that seems to be the wrong way round, or else at the last node that fuel comes to.
fn no_way(
    page: &Page<'_>,
    root: At<'_>,
    nodes: &[Node],
    parts: &[Part],
    downstream: &BTreeSet<&str>,
) -> Diagnostic {
    let words = "no way leads from the tank to the engine";
    let turned = parts.iter().position(
        |p| matches!(p.is.ends()[..], [from, to] if downstream.contains(to) && !downstream.contains(from)),
    );
    if let Some(i) = turned {
        let is = root.field("parts").item(i).field("is");
        return page
            .at(id::OFF_THE_PATH, is.field("from").span(), words)
            .label(format!("{:?} may be the wrong way round", parts[i].name))
            .also(is.field("to").span(), "fuel comes to this end")
            .help("\"from\" is the end towards the tank, \"to\" the end towards the engine");
    }
    let last = (0..nodes.len()).rev().find(|&i| downstream.contains(nodes[i].name.as_str())).unwrap_or(0);
    page.at(id::OFF_THE_PATH, root.field("nodes").item(last).field("name").span(), words)
        .label("fuel comes as far as this, and no part leads on")
        .help("let a part begin here")
}

fn reached<'p>(parts: &'p [Part], from: &[&'p str], with_the_flow: bool) -> BTreeSet<&'p str> {
    let mut seen: BTreeSet<&str> = from.iter().copied().collect();
    let mut open: Vec<&str> = from.to_vec();
    while let Some(node) = open.pop() {
        for part in parts {
            let next = match part.is.ends()[..] {
                [a, b] if with_the_flow && a == node => b,
                [a, b] if !with_the_flow && b == node => a,
                _ => continue,
            };
            if seen.insert(next) {
                open.push(next);
            }
        }
    }
    seen
}

/// Reads and checks a rubric.
pub(super) fn rubric(file: &str, text: &str, name: &str, report: &mut Report) -> Option<Rubric> {
    let read = parse::read::<RawRubric>(file, text, report)?;
    let rubric = check_rubric(file, name, &read.value, &read.source, report);
    rubric.filter(|_| read.whole)
}

fn check_rubric(
    file: &str,
    name: &str,
    raw: &RawRubric,
    source: &Source<'_>,
    report: &mut Report,
) -> Option<Rubric> {
    let root = source.root();
    let before = report.errors();
    let mut page = Page { file, report };
    let weights = [
        ("diagnosis", raw.diagnosis),
        ("justified", raw.justified),
        ("measurement", raw.measurement),
        ("procedure", raw.procedure),
        ("calibration", raw.calibration),
    ];
    for (field, weight) in weights {
        if !(0.0..=1e6).contains(&weight) {
            let at = root.field(field);
            page.say(
                page.at(id::WEIGHT, at.span(), format!("the weight {weight} of \"{field}\" can't be used"))
                    .label("zero or more")
                    .instead_of(at.text(), "a number from 0"),
            );
        }
    }
    let sum: f64 = weights.iter().map(|(_, w)| w).sum();
    if page.report.errors() == before && sum <= 0.0 {
        page.say(page.at(id::WEIGHT, root.head(), "every weight is zero").label("nothing would be marked"));
    }
    page.number(root.field("cut"), "the cut", raw.cut, (0.0, 100.0), "points");
    page.number(
        root.field("reading_tolerance"),
        "the tolerance",
        raw.reading_tolerance.si() / 100.0,
        (0.1, 500.0),
        "mbar",
    );
    let share = 100.0 / sum;
    (page.report.errors() == before).then(|| Rubric {
        name: name.to_owned(),
        diagnosis: raw.diagnosis * share,
        justified: raw.justified * share,
        measurement: raw.measurement * share,
        procedure: raw.procedure * share,
        calibration: raw.calibration * share,
        cut: raw.cut,
        reading_tolerance_mbar: raw.reading_tolerance.si() / 100.0,
    })
}

/// Reads and checks a job with the plant and the rubric that it names.
pub(super) fn job(file: &str, text: &str, name: &str, library: &Library, report: &mut Report) -> Option<Job> {
    let read = parse::read::<RawJob>(file, text, report)?;
    let mut found = Report::new();
    let page = Page { file, report: &mut found };
    let job = check_job(page, name, text, library, read.value, &read.source);
    report.merge_where(found, |d| read.whole || d.file != file || !from_a_lack(d.id));
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
    let plant = built(&raw_plant, &raw.plant, raw.fill, raw.temperature);

    check_looks(&mut page, root.field("looks"), &raw, &plant);
    let limits = check_limits(&mut page, root.field("limits"), &raw.limits, &plant);
    let candidates = check_candidates(&mut page, root.field("candidates"), &raw.candidates, &plant);
    let hidden = check_hidden(&mut page, root.field("hidden"), &raw.hidden, &candidates, &plant);
    card_gaps(&mut page, root.field("limits"), &limits, &plant);
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
        goals: raw.goals,
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
        fuel_gauge: raw.fuel_gauge,
        hash: hash_of(plant_text, text, rubric_text),
        hidden,
    })
}

/// First 32 hexadecimal digits of BLAKE3 over the three texts, each after its length.
fn hash_of(plant: &str, job: &str, rubric: &str) -> String {
    let mut hasher = blake3::Hasher::new();
    for text in [plant, job, rubric] {
        hasher.update(&(text.len() as u64).to_le_bytes());
        hasher.update(text.as_bytes());
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
    for (field, lines, what) in [("facts", &raw.facts, "a fact"), ("goals", &raw.goals, "a goal")] {
        for (i, line) in lines.iter().enumerate() {
            page.text(root.field(field).item(i), what, line, LONGEST_TEXT);
        }
    }
    page.number(root.field("minutes"), "the time", raw.minutes, (1.0, 480.0), "min");
    page.number(root.field("fuel_gauge"), "the fuel gauge", raw.fuel_gauge, (0.0, 1.0), "");
    let questions = root.field("questions");
    for (i, question) in raw.questions.iter().enumerate() {
        let at = questions.item(i);
        page.name(at.field("name"), "the name of a question", &question.name);
        page.text(at.field("ask"), "the question", &question.ask, LONGEST_TEXT);
        page.text(at.field("answer"), "the answer", &question.answer, LONGEST_TEXT);
    }
    page.unique(questions, "name", "questions", raw.questions.iter().map(|q| q.name.as_str()));
}

/// Fuel and temperature that the job puts in the place of the plant's.
fn check_conditions(page: &mut Page<'_>, root: At<'_>, raw: &RawJob, plant: &RawPlant) {
    if let Some(t) = raw.temperature {
        check_temperature(page, root.field("temperature"), t);
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
    if (0.0..=1.0).contains(&raw.fuel_gauge) && (raw.fuel_gauge - share).abs() > 0.1 {
        let at = root.field("fuel_gauge");
        let message = format!("the gauge shows {:.2}, the tank is {share:.2} full", raw.fuel_gauge);
        page.say(
            page.at(id::GAUGE, at.span(), message)
                .label("more than a tenth apart")
                .help("leave it so only when a lying gauge is part of the job"),
        );
    }
}

fn check_looks(page: &mut Page<'_>, at: At<'_>, raw: &RawJob, plant: &Plant) {
    for (i, look) in raw.looks.iter().enumerate() {
        page.text(at.item(i).field("sees"), "what is seen", &look.sees, LONGEST_TEXT);
        if plant.part(&look.part).is_none() && plant.node(&look.part).is_none_or(|n| n.joint.is_none()) {
            let known =
                plant.parts.iter().map(|p| p.name.clone()).chain(plant.joints().into_iter().map(|(name, _)| name));
            page.say(
                page.at(
                    id::UNKNOWN_PART,
                    at.item(i).field("part").span(),
                    format!("no part or joint is called {:?}", quotable(&look.part)),
                )
                .label(format!("not in the plant {:?}", plant.name))
                .among(&look.part, known),
            );
        }
    }
    page.unique(at, "part", "looks", raw.looks.iter().map(|l| l.part.as_str()));
}

fn check_limits(page: &mut Page<'_>, at: At<'_>, raw: &[RawLimit], plant: &Plant) -> Vec<Limit> {
    let mut limits: Vec<Limit> = Vec::new();
    let mut seen: BTreeMap<(&str, State), usize> = BTreeMap::new();
    for (i, limit) in raw.iter().enumerate() {
        let here = at.item(i);
        if !limit.words.is_empty() {
            page.text(here.field("words"), "the condition", &limit.words, LONGEST_LINE);
        }
        if plant.node(&limit.joint).is_none_or(|n| n.joint.is_none()) {
            let mut diagnostic = page
                .at(
                    id::UNKNOWN_JOINT,
                    here.field("joint").span(),
                    format!("no joint is called {:?}", quotable(&limit.joint)),
                )
                .label(format!("not in the plant {:?}", plant.name))
                .among(&limit.joint, plant.joints().into_iter().map(|(name, _)| name));
            if plant.node(&limit.joint).is_some() {
                diagnostic.nearest = None;
                diagnostic = diagnostic.label("a node without a joint: the tee doesn't fit here");
            }
            page.say(diagnostic);
        }
        let (low, high) = (limit.low.mbar(), limit.high.mbar());
        if low > high {
            page.say(
                page.at(
                    id::LIMITS_REVERSED,
                    here.field("low").span(),
                    format!("the low end {low} mbar is above the high end {high} mbar"),
                )
                .label("low")
                .also(here.field("high").span(), "high")
                .help(
                    "below air pressure the larger number is the lower reading: mbar(-150) is lower than mbar(-40)",
                ),
            );
        }
        let Some(state) = State::ALL.into_iter().find(|s| s.word() == limit.state) else {
            page.say(
                page.at(
                    id::UNKNOWN_STATE,
                    here.field("state").span(),
                    format!("no state is called {:?}", quotable(&limit.state)),
                )
                .label("not a state of the standard run")
                .among(&limit.state, State::ALL.map(State::word)),
            );
            continue;
        };
        if let Some(&first) = seen.get(&(limit.joint.as_str(), state)) {
            page.say(
                page.at(
                    id::REPEATED_LIMIT,
                    here.head(),
                    format!("{} at {:?} has a range already", state.word(), limit.joint),
                )
                .label("again here")
                .also(at.item(first).head(), "first here"),
            );
        } else {
            seen.insert((&limit.joint, state), i);
        }
        if state == State::DeadHead && !limit.words.contains(|c: char| c.is_ascii_digit()) {
            page.say(
                page.at(
                    id::NO_CAUTION,
                    here.head(),
                    "the card allows the dead-head test without saying for how long",
                )
                .label("no time in \"words\"")
                .help("say it in \"words\", such as \"at idle, within 5 s, once a run\""),
            );
        }
        limits.push(Limit {
            joint: limit.joint.clone(),
            state,
            low_mbar: low,
            high_mbar: high,
            words: limit.words.clone(),
        });
    }
    limits
}

/// Joints for which the card has no range in some state.
fn card_gaps(page: &mut Page<'_>, at: At<'_>, limits: &[Limit], plant: &Plant) {
    for (joint, _) in plant.joints() {
        let missing: Vec<&str> = State::ALL
            .into_iter()
            .filter(|s| !limits.iter().any(|l| l.joint == joint && l.state == *s))
            .map(State::word)
            .collect();
        if !missing.is_empty() {
            let message = format!("the vehicle card has no range at {joint:?} for: {}", missing.join(", "));
            page.say(
                page.at(id::CARD_GAPS, at.head(), message)
                    .label("no such entry here")
                    .help("a learner can't judge a reading that has no limit"),
            );
        }
    }
}

fn check_candidates(page: &mut Page<'_>, at: At<'_>, raw: &[RawCandidate], plant: &Plant) -> Vec<Candidate> {
    let mut candidates = Vec::new();
    for (i, candidate) in raw.iter().enumerate() {
        let here = at.item(i);
        page.name(here.field("name"), "the name of a candidate", &candidate.name);
        page.text(here.field("label"), "the label", &candidate.label, LONGEST_LINE);
        if !(candidate.weight > 0.0 && candidate.weight <= 1e6) {
            let weight = here.field("weight");
            page.say(
                page.at(id::WEIGHT, weight.span(), format!("the weight {} can't be used", candidate.weight))
                    .label("above zero")
                    .instead_of(weight.text(), "a number above zero")
                    .help("a cause that can't be is left out; one that hardly is gets a small weight"),
            );
        }
        let list = here.field("vehicles");
        if candidate.vehicles.len() > MOST_VEHICLES {
            page.say(
                page.at(
                    id::TOO_MANY,
                    list.head(),
                    format!("\"vehicles\" has {} entries", candidate.vehicles.len()),
                )
                .instead_of(candidate.vehicles.len().to_string(), format!("at most {MOST_VEHICLES}")),
            );
        }
        let vehicles = candidate
            .vehicles
            .iter()
            .take(MOST_VEHICLES)
            .enumerate()
            .filter_map(|(k, band)| check_band(page, list.item(k), band, plant))
            .collect();
        candidates.push(Candidate {
            name: candidate.name.clone(),
            label: candidate.label.clone(),
            weight: candidate.weight,
            vehicles,
        });
    }
    page.unique(at, "name", "candidates", raw.iter().map(|c| c.name.as_str()));
    one_healthy(page, at, raw);
    check_overlaps(page, at, raw, &candidates);
    if raw.len() < 3 {
        page.say(
            page.at(
                id::FEW_CANDIDATES,
                at.head(),
                format!("with {} candidates there is little to reason about", raw.len()),
            )
            .label("three to ten are usual"),
        );
    }
    let sum: f64 = candidates.iter().map(|c| c.weight).sum();
    if sum.is_finite() && sum > 0.0 {
        for (i, candidate) in candidates.iter_mut().enumerate() {
            candidate.weight /= sum;
            if candidate.weight > 0.5 {
                let message = format!(
                    "{:?} is likelier than all other candidates together ({:.2})",
                    candidate.name, candidate.weight
                );
                page.say(
                    page.at(id::HEAVY_PRIOR, at.item(i).field("weight").span(), message)
                        .label("more than half of all weights")
                        .help("a learner who tests nothing would be right too often"),
                );
            }
        }
    }
    candidates
}

fn one_healthy(page: &mut Page<'_>, at: At<'_>, raw: &[RawCandidate]) {
    let healthy: Vec<usize> = (0..raw.len()).filter(|&i| raw[i].vehicles.is_empty()).collect();
    match healthy[..] {
        [_] => {}
        [] => page.say(
            page.at(id::HEALTHY_CANDIDATE, at.head(), "no candidate stands for \"nothing wrong\"")
                .label("none of these")
                .help("add one with vehicles: []: a sound supply must be a possible finding"),
        ),
        [first, ref more @ ..] => {
            for &i in more {
                page.say(
                    page.at(
                        id::HEALTHY_CANDIDATE,
                        at.item(i).field("vehicles").span(),
                        "a second candidate has no vehicles",
                    )
                    .label("empty")
                    .also(at.item(first).field("vehicles").span(), "empty too")
                    .help("one candidate, \"nothing wrong\", has none; every other says which faults it means"),
                );
            }
        }
    }
}

/// Two candidates mustn't mean the same vehicle: no finding could be right.
fn check_overlaps(page: &mut Page<'_>, at: At<'_>, raw: &[RawCandidate], candidates: &[Candidate]) {
    for (i, candidate) in candidates.iter().enumerate() {
        for (j, other) in candidates[..i].iter().enumerate() {
            let same = candidate.vehicles.iter().find(|band| {
                other.vehicles.iter().any(|b| {
                    b.fault == band.fault
                        && b.at == band.at
                        && b.severity.0 <= band.severity.1
                        && band.severity.0 <= b.severity.1
                })
            });
            if let Some(band) = same {
                let k = raw[i]
                    .vehicles
                    .iter()
                    .position(|b| b.fault == band.fault && (b.at == band.at || b.at.is_empty()))
                    .unwrap_or(0);
                let message = format!("{:?} and {:?} both stand for {}", other.name, candidate.name, band.fault);
                page.say(
                    page.at(id::OVERLAP, at.item(i).field("vehicles").item(k).head(), message)
                        .label("the same fault at the same place")
                        .also(at.item(j).field("vehicles").head(), "and here")
                        .help("give each fault to one candidate, or part the bands of severity"),
                );
            }
        }
    }
}

fn check_band(page: &mut Page<'_>, at: At<'_>, band: &RawBand, plant: &Plant) -> Option<FaultBand> {
    let (low, high) = band.severity;
    let span = at.field("severity").span();
    let good = (1.0..=5.0).contains(&low) && (1.0..=5.0).contains(&high);
    if !good {
        page.say(
            page.at(id::SEVERITY, span.clone(), format!("the severities {low} … {high} aren't within 1 … 5"))
                .label("1 trace … 3 complaint … 5 no start"),
        );
    } else if low > high {
        page.say(
            page.at(
                id::SEVERITY,
                span.clone(),
                format!("the band of severity {low} … {high} is the wrong way round"),
            )
            .label("lower end first"),
        );
    }
    let place = check_place(page, at, &band.fault, &band.at, plant)?;
    let good = good && low <= high;
    good.then(|| FaultBand { fault: band.fault.clone(), at: place, severity: (low, high) })
}

/// Where a fault sits, as the name that the plant has for it. Empty in the tester's own kit.
fn check_place(page: &mut Page<'_>, at: At<'_>, code: &str, place: &str, plant: &Plant) -> Option<String> {
    let Some(fault) = fault::by_code(code) else {
        page.say(
            page.at(
                id::UNKNOWN_FAULT,
                at.field("fault").span(),
                format!("no fault has the code {:?}", quotable(code)),
            )
            .label("not in the catalogue")
            .among(code, fault::CATALOGUE.iter().map(|f| f.code)),
        );
        return None;
    };
    let span = if place.is_empty() { at.field("fault").span() } else { at.field("at").span() };
    let wrong = |label: String| {
        Diagnostic::new(
            id::FAULT_PLACE,
            page.file,
            span.clone(),
            format!("{code} ({}) can't sit {}", fault.name, spoken(place)),
        )
        .label(label)
    };
    let places = fault.places(plant);
    let elsewhere = plant
        .part(place)
        .map(|p| format!("this is a {}", p.is.kind()))
        .or_else(|| plant.node(place).map(|_| "this is a node".to_owned()));
    let trouble = match (fault.place, places.as_slice()) {
        (Place::Kit, _) if place.is_empty() => return Some(String::new()),
        (Place::Kit, _) => wrong("it sits in the tester's own kit".to_owned()).help("leave \"at\" out"),
        (Place::Part(kind), []) => wrong(format!("the plant {:?} has no {kind}", plant.name)),
        (Place::Part(_), [only]) if place.is_empty() => return proven(page, span, fault, only, plant),
        (Place::Part(kind), _) if place.is_empty() => {
            wrong(format!("there is more than one {kind}")).help("say which in \"at\"")
        }
        (Place::Node, _) if place.is_empty() => wrong("it needs a node".to_owned()).help("say where in \"at\""),
        _ if places.iter().any(|p| p == place) => return proven(page, span, fault, place, plant),
        (Place::Part(kind), _) => match elsewhere {
            Some(label) => wrong(label).help(format!("it sits at a {kind}")).among(place, &places),
            None => page
                .at(id::UNKNOWN_PART, span, format!("no part is called {:?}", quotable(place)))
                .label(format!("not in the plant {:?}", plant.name))
                .among(place, &places),
        },
        (Place::Node, _) => match elsewhere {
            Some(label) => wrong(label).help("it sits at a node, such as a joint").among(place, &places),
            None => page
                .at(id::UNKNOWN_NODE, span, format!("no node is called {:?}", quotable(place)))
                .label(format!("not in the plant {:?}", plant.name))
                .among(place, &places),
        },
    };
    page.say(trouble);
    None
}

fn spoken(place: &str) -> String {
    if place.is_empty() { "just anywhere".to_owned() } else { format!("at {:?}", quotable(place)) }
}

/// Puts the fault into a copy of the plant, mildest and worst, to be sure that it can be done.
fn proven(page: &mut Page<'_>, span: Range<usize>, fault: &Fault, place: &str, plant: &Plant) -> Option<String> {
    for severity in [1.0, 5.0] {
        let instance = FaultInstance { fault: fault.code.to_owned(), at: place.to_owned(), severity };
        if let Err(words) = fault.apply(&mut plant.clone(), &mut KitFaults::default(), &instance) {
            page.say(page.at(id::FAULT_PLACE, span, words).label("here"));
            return None;
        }
    }
    Some(place.to_owned())
}

fn check_hidden(
    page: &mut Page<'_>,
    at: At<'_>,
    raw: &[RawFault],
    candidates: &[Candidate],
    plant: &Plant,
) -> Vec<FaultInstance> {
    let mut hidden: Vec<FaultInstance> = Vec::new();
    let mut cause: Option<&str> = None;
    for (i, fault) in raw.iter().enumerate() {
        let here = at.item(i);
        let good = (1.0..=5.0).contains(&fault.severity);
        if !good {
            page.say(
                page.at(
                    id::SEVERITY,
                    here.field("severity").span(),
                    format!("the severity {} isn't within 1 … 5", fault.severity),
                )
                .label("1 trace … 3 complaint … 5 no start"),
            );
        }
        let Some(place) = check_place(page, here, &fault.fault, &fault.at, plant) else { continue };
        if hidden.iter().any(|h| h.fault == fault.fault && h.at == place) {
            page.say(
                page.at(
                    id::DUPLICATE_NAME,
                    here.head(),
                    format!("{} is hidden twice at the same place", fault.fault),
                )
                .label("again here"),
            );
        }
        if !good {
            continue;
        }
        let bands = |c: &&Candidate| {
            c.vehicles.iter().any(|b| {
                b.fault == fault.fault && b.at == place && (b.severity.0..=b.severity.1).contains(&fault.severity)
            })
        };
        match candidates.iter().find(bands) {
            None => {
                let near = candidates
                    .iter()
                    .flat_map(|c| c.vehicles.iter().map(move |b| (c, b)))
                    .find(|(_, b)| b.fault == fault.fault);
                let help = match near {
                    Some((c, b)) if b.at == place => {
                        format!("{:?} stands for it from severity {} to {}", c.name, b.severity.0, b.severity.1)
                    }
                    Some((c, b)) => format!("{:?} stands for it at {:?} only", c.name, b.at),
                    None => "add it to the vehicles of a candidate".to_owned(),
                };
                page.say(
                    page.at(
                        id::UNCOVERED_FAULT,
                        here.head(),
                        format!(
                            "no candidate stands for {} of severity {}{}",
                            fault.fault,
                            fault.severity,
                            if place.is_empty() { String::new() } else { format!(" at {place:?}") }
                        ),
                    )
                    .label("nobody could find this")
                    .help(help),
                );
            }
            Some(candidate) => {
                if cause.is_some_and(|c| c != candidate.name) {
                    page.say(
                        page.at(id::TWO_CAUSES, here.head(), "a second cause is hidden, and another candidate stands for it")
                            .label(format!("{:?}", candidate.name))
                            .help("a finding names one candidate in this version: let one stand for both, or hide one fault"),
                    );
                }
                cause = Some(&candidate.name);
            }
        }
        hidden.push(FaultInstance { fault: fault.fault.clone(), at: place, severity: fault.severity });
    }
    hidden
}

/// Parts that a candidate blames and that show nothing when looked at.
fn bare_parts(page: &mut Page<'_>, at: At<'_>, raw: &RawJob, candidates: &[Candidate], plant: &Plant) {
    let blamed: BTreeSet<&str> = candidates.iter().flat_map(|c| c.vehicles.iter().map(|b| b.at.as_str())).collect();
    let bare: Vec<&str> = plant
        .parts
        .iter()
        .map(|p| p.name.as_str())
        .filter(|name| blamed.contains(name) && !raw.looks.iter().any(|l| l.part == *name))
        .collect();
    if !bare.is_empty() {
        let message = format!("there is nothing to see at parts that a candidate blames: {}", bare.join(", "));
        page.say(
            page.at(id::NO_LOOK, at.head(), message)
                .label("no such entry here")
                .help("a look that shows nothing unusual is an answer too"),
        );
    }
}
