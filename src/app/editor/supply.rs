//! The forms of a vehicle's graph: parts that are put in, joined, turned round and taken out, each with its numbers in
//! units and ranges; and the nodes where they meet.

use bevy_egui::egui::{RichText, TextEdit, Ui, vec2};

use super::fields::{Form, Number, id_of, problem, text_value};
use super::part_words::{field_words, kind_words};
use super::{Order, Plumb, Typing, circuit};
use crate::app::theme::{TARGET, quiet, semibold, tokens};
use crate::app::widgets::{self, Mark, Weight};
use crate::language::{named, said};
use crate::plant::Place;
use crate::plant::component::Component;
use crate::scenario::patch::{Edit, number};
use crate::scenario::vehicle_form::{NodeForm, NumberForm, OtherForm, PartForm, PlantForm, Says, commands};
use crate::tell;

/// What the next part will be, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewPart {
    /// Kind in an author's words.
    pub kind: String,
    /// Node at which it goes in, or from which it leads.
    pub from: String,
    /// Node to which it leads.
    pub to: String,
}

impl Default for NewPart {
    fn default() -> Self {
        Self { kind: "Line".to_owned(), from: String::new(), to: String::new() }
    }
}

/// A node that is a part's end, as a list offers it.
fn node_options(vehicle: &PlantForm) -> Vec<(String, String)> {
    let label = |n: &NodeForm| match &n.joint {
        Some(joint) => tell!("node-with-joint", node = n.name, joint = joint),
        None => n.name.clone(),
    };
    vehicle.nodes.iter().map(|n| (n.name.clone(), label(n))).collect()
}

/// A number with its unit and range; one that the file leaves out says so.
pub fn number_ui(f: &mut Form<'_>, n: &NumberForm, may_go: bool, ui: &mut Ui) {
    ui.horizontal(|ui| {
        let words = named(n.words);
        let name = format!("{words}, {}", n.place.rsplit('.').next().unwrap_or_default());
        let field = Number {
            place: &n.place,
            part: "",
            name: &name,
            value: Some(n.value),
            is_needed: !(may_go && n.is_written),
            width: 104.0,
            hint: said("number-usual"),
        };
        f.bare_number(ui, &field, None, |v| n.written(v));
        let unit = if n.unit.symbol.is_empty() { String::new() } else { format!(" {}", named(n.unit.symbol)) };
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = 0.0;
            ui.label(format!("{words}{}", if unit.is_empty() { String::new() } else { format!(",{unit}") }));
            let usual = if n.is_written { "" } else { said("number-left-out") };
            ui.label(quiet(ui, format!("{} … {}{unit}{usual}", number(n.range.0), number(n.range.1))));
        });
    });
    f.problems(ui, &n.place);
}

/// Parts: a new one, and those that there are.
pub fn parts_ui(f: &mut Form<'_>, vehicle: &PlantForm, picked: &Option<String>, new: &mut NewPart, ui: &mut Ui) {
    f.heading(ui, said("plant-parts"), said("parts-lead"));
    new_part_ui(f, vehicle, new, ui);
    ui.add_space(6.0);
    let marked = f.proof.marked();
    for (i, part) in vehicle.parts.iter().enumerate() {
        let is_open = picked.as_deref() == Some(part.name.as_str());
        let ends: Vec<&str> = part.ends.iter().map(|e| e.1.as_str()).collect();
        let words = format!("{}  ·  {}  ·  {}", part.name, kind_words(&part.kind), ends.join(said("part-ends-to")));
        row_ui(f, ui, &words, &tell!("parts-part", name = part.name), &part.name, is_open, &marked);
        if is_open {
            ui.indent(("part", i), |ui| part_ui(f, vehicle, i, part, ui));
            ui.add_space(8.0);
        } else {
            f.problems_inside(ui, &format!("parts[{i}]"));
        }
    }
    f.problems(ui, "parts");
}

/// A row that opens what it names; a sign where the check has something to say.
fn row_ui(
    f: &mut Form<'_>,
    ui: &mut Ui,
    words: &str,
    aloud: &str,
    name: &str,
    is_open: bool,
    marked: &[(String, bool)],
) {
    ui.horizontal(|ui| {
        if let Some((_, is_error)) = marked.iter().find(|m| m.0 == name) {
            widgets::mark_ui(if *is_error { Mark::Cross } else { Mark::Caution }, ui);
        }
        let width = ui.available_width() - 8.0;
        let words = if is_open { format!("\u{2212} {words}") } else { format!("+ {words}") };
        if widgets::row_button(ui, width, &words, aloud, true, "").clicked() {
            f.orders.push(Order::Pick((!is_open).then(|| name.to_owned())));
        }
    });
}

fn new_part_ui(f: &mut Form<'_>, vehicle: &PlantForm, new: &mut NewPart, ui: &mut Ui) {
    let kinds: Vec<(String, String)> =
        Component::KINDS.iter().map(|k| ((*k).to_owned(), kind_words(k).to_owned())).collect();
    let nodes = node_options(vehicle);
    let first = |fallback: usize| nodes.get(fallback.min(nodes.len().saturating_sub(1))).map(|n| n.0.clone());
    let is_known = |name: &str| nodes.iter().any(|n| n.0 == name);
    if !is_known(&new.from) {
        new.from = first(1).unwrap_or_default();
    }
    if !is_known(&new.to) {
        new.to = first(2).unwrap_or_default();
    }
    let width = ui.available_width();
    ui.horizontal(|ui| {
        ui.label(quiet(ui, said("parts-new")));
        if let Some(kind) = f.pick(ui, "new part", said("parts-new-kind"), &kinds, &new.kind, 150.0) {
            new.kind = kind;
        }
        ui.label(quiet(ui, said("parts-new-at")));
        let width = ui.available_width();
        if let Some(node) = f.pick(ui, "new part at", said("parts-new-node"), &nodes, &new.from, width) {
            new.from = node;
        }
    });
    let words = said("parts-insert");
    if widgets::button(ui, Weight::Plain, words, words, !nodes.is_empty(), said("parts-no-node")).clicked() {
        f.orders.push(Order::Plumb(Plumb::Insert(new.kind.clone(), new.from.clone())));
    }
    ui.horizontal(|ui| {
        let words = said("parts-between");
        let why = if new.from == new.to { said("parts-same-node") } else { "" };
        if widgets::button(ui, Weight::Plain, words, words, why.is_empty(), why).clicked() {
            let (kind, from, to) = (new.kind.clone(), new.from.clone(), new.to.clone());
            f.orders.push(Order::Plumb(Plumb::Between(kind, from, to)));
        }
        let width = (ui.available_width()).min(width);
        if let Some(node) = f.pick(ui, "new part to", said("parts-new-other-end"), &nodes, &new.to, width) {
            new.to = node;
        }
    });
}

fn part_ui(f: &mut Form<'_>, vehicle: &PlantForm, i: usize, part: &PartForm, ui: &mut Ui) {
    let at = format!("parts[{i}]");
    f.words(ui, &format!("{at}.label"), said("part-label"), &part.label, said("part-label-hint"), 1);
    f.words(ui, &format!("{at}.name"), said("part-name"), &part.name, said("part-name-hint"), 1);
    ui.horizontal_top(|ui| {
        let (price, minutes) = (format!("{at}.price"), format!("{at}.minutes"));
        f.number(ui, &Number::needed(&price, said("part-price"), part.price), number);
        f.number(ui, &Number::needed(&minutes, said("part-minutes"), part.minutes), number);
    });
    let nodes = node_options(vehicle);
    for (field, node) in &part.ends {
        let place = format!("{at}.is.{field}");
        ui.horizontal(|ui| {
            ui.label(quiet(ui, end_words(field)));
            let width = ui.available_width();
            if let Some(picked) = f.pick(
                ui,
                &place,
                &tell!("part-field", field = end_words(field), part = part.name),
                &nodes,
                node,
                width,
            ) {
                f.edit(vec![text_value(&place, &picked)]);
            }
        });
        f.problems(ui, &place);
    }
    if part.numbers.is_empty() {
        ui.label(quiet(ui, said("part-numbers-wait")));
    }
    for n in part.numbers.iter().filter(|n| !circuit::shows(&n.place, &at)) {
        let field = n.place.strip_prefix(&format!("{at}.is.")).unwrap_or_default();
        number_ui(f, n, part.may_go.iter().any(|g| g == field), ui);
    }
    for other in &part.others {
        other_ui(f, part, other, &nodes, ui);
    }
    circuit::circuit_ui(f, &at, part, ui);
    extras_ui(f, vehicle, &at, part, ui);
    ways_ui(f, i, part, ui);
    for place in [at.clone(), format!("{at}.is")] {
        f.problems(ui, &place);
    }
}

fn end_words(field: &str) -> &'static str {
    match field {
        "from" => said("end-from"),
        "to" => said("end-to"),
        "outlet" => said("end-outlet"),
        "gallery" => said("end-gallery"),
        _ => said("end-node"),
    }
}

fn other_ui(f: &mut Form<'_>, part: &PartForm, other: &OtherForm, nodes: &[(String, String)], ui: &mut Ui) {
    let words = field_words(&part.kind, &other.field);
    let name = tell!("part-field", field = words, part = part.name);
    match (other.says, other.field.as_str()) {
        (Says::Node, _) => {
            ui.horizontal(|ui| {
                ui.label(quiet(ui, words.clone()));
                let width = ui.available_width();
                if let Some(picked) = f.pick(ui, &other.place, &name, nodes, &other.text, width) {
                    f.edit(vec![text_value(&other.place, &picked)]);
                }
            });
        }
        (Says::Flag, _) => {
            let mut on = other.text == "true";
            if ui.checkbox(&mut on, words.clone()).changed() {
                f.edit(vec![Edit::set(&other.place, on.to_string())]);
            }
        }
        (Says::Text, "stage") => {
            let all = [("Turbine", said("pump-turbine")), ("RollerCell", said("pump-roller-cell"))];
            f.choice(ui, &other.place, &name, &all, &other.text);
        }
        (Says::Text, "command") => command_ui(f, part, other, ui),
        (Says::Text, _) => {
            ui.label(quiet(ui, tell!("part-in-text", field = words, text = short(&other.text))));
        }
    }
    if other.says != Says::Text || other.field != "stage" {
        f.problems_inside(ui, &other.place);
    }
}

/// When an electric pump runs: one of the ways that there are, as it begins.
fn command_ui(f: &mut Form<'_>, part: &PartForm, other: &OtherForm, ui: &mut Ui) {
    let end = |field: &str| part.ends.iter().find(|e| e.0 == field).map_or("", |e| e.1.as_str());
    let tank = part.others.iter().find(|o| o.field == "tank").map_or("", |o| o.text.as_str());
    let words = [
        ("KeyAndEngine", said("pump-key-and-engine")),
        ("Demand", said("pump-demand")),
        ("Float", said("pump-float")),
    ];
    let word = |text: &str| text.split('(').next().unwrap_or_default().trim().to_owned();
    let now = word(&other.text);
    let options: Vec<(String, String)> = commands(end("to"), tank)
        .into_iter()
        .map(|text| {
            let w = word(&text);
            let label = words.iter().find(|x| x.0 == w).map_or(w.clone(), |x| x.1.to_owned());
            (if w == now { other.text.clone() } else { text }, label)
        })
        .collect();
    ui.label(quiet(ui, said("pump-when")));
    let width = ui.available_width();
    if let Some(picked) = f.pick(ui, &other.place, said("pump-when"), &options, &other.text, width) {
        f.edit(vec![Edit::set(&other.place, picked)]);
    }
}

fn short(text: &str) -> String {
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if flat.chars().count() > 60 { flat.chars().take(59).chain(['\u{2026}']).collect() } else { flat }
}

/// What may be added to a part, and what may be left out again.
fn extras_ui(f: &mut Form<'_>, vehicle: &PlantForm, at: &str, part: &PartForm, ui: &mut Ui) {
    if !part.may_add.is_empty() {
        let mut options = vec![(String::new(), said("part-add").to_owned())];
        options.extend(part.may_add.iter().map(|(field, _)| (field.clone(), field_words(&part.kind, field))));
        let width = ui.available_width().min(240.0);
        let key = format!("{at} add");
        if let Some(field) = f.pick(ui, &key, &tell!("part-add-name", part = part.name), &options, "", width)
            && let Some((_, value)) = part.may_add.iter().find(|a| a.0 == field)
        {
            // a node of the sample is led to one that there is
            let tank = vehicle.parts.iter().find(|p| p.kind == "Tank" && p.name != part.name);
            let node = tank.or(vehicle.parts.iter().find(|p| p.kind == "Tank")).and_then(|p| p.ends.first());
            let place = format!("{at}.is.{field}");
            f.edit(vec![match (value.starts_with('"'), node) {
                (true, Some((_, node))) => text_value(&place, node),
                _ => Edit::set(place, value),
            }]);
        }
    }
    let is_plain = |field: &&String| !part.numbers.iter().any(|n| n.place == format!("{at}.is.{field}"));
    let may_go: Vec<&String> = part.may_go.iter().filter(is_plain).collect();
    if !may_go.is_empty() {
        ui.horizontal_wrapped(|ui| {
            ui.label(quiet(ui, said("part-leave-out")));
            for field in may_go {
                let words = field_words(&part.kind, field);
                let aloud = tell!("part-leave-out-name", field = words, part = part.name);
                if widgets::small_button(ui, &words, &aloud, true, "").clicked() {
                    f.edit(vec![Edit::remove(format!("{at}.is.{field}"))]);
                }
            }
        });
    }
}

/// Turned round, taken out.
fn ways_ui(f: &mut Form<'_>, i: usize, part: &PartForm, ui: &mut Ui) {
    ui.horizontal_wrapped(|ui| {
        let two = part.ends.len() == 2;
        let why = said("part-one-end");
        let mut all = vec![(said("part-remove-gap"), Plumb::Remove(i, false), true)];
        if two {
            all.insert(0, (said("part-remove-close"), Plumb::Remove(i, true), two));
            all.insert(0, (said("part-turn"), Plumb::Turn(i), two));
        }
        for (words, change, enabled) in all {
            let aloud = format!("{words}: {}", part.name);
            if widgets::small_button(ui, words, &aloud, enabled, why).clicked() {
                f.orders.push(Order::Plumb(change));
            }
        }
    });
}

/// Nodes: a new one, and those that there are.
pub fn nodes_ui(f: &mut Form<'_>, vehicle: &PlantForm, picked: &Option<String>, ui: &mut Ui) {
    let words = said("nodes-lead");
    f.heading(ui, said("section-nodes"), words);
    let words = said("nodes-add");
    if widgets::button(ui, Weight::Plain, words, words, true, "").clicked() {
        f.orders.push(Order::Plumb(Plumb::AddNode));
    }
    let marked = f.proof.marked();
    for (i, node) in vehicle.nodes.iter().enumerate() {
        let is_open = picked.as_deref() == Some(node.name.as_str());
        let joint = node.joint.as_ref().map_or(String::new(), |j| tell!("nodes-row-joint", j = j));
        let alone = if vehicle.at_node(&node.name).is_empty() { said("nodes-row-alone") } else { "" };
        let words = format!("{}{joint}{alone}", node.name);
        row_ui(f, ui, &words, &tell!("nodes-node", name = node.name), &node.name, is_open, &marked);
        if is_open {
            ui.indent(("node", i), |ui| node_ui(f, vehicle, i, node, ui));
            ui.add_space(8.0);
        } else {
            f.problems_inside(ui, &format!("nodes[{i}]"));
        }
    }
    f.problems(ui, "nodes");
}

fn node_ui(f: &mut Form<'_>, vehicle: &PlantForm, i: usize, node: &NodeForm, ui: &mut Ui) {
    let at = format!("nodes[{i}]");
    rename_ui(f, vehicle, i, node, ui);
    for n in &node.numbers {
        let may_go = n.place.ends_with(".wall") || n.place.ends_with(".volume");
        number_ui(f, n, may_go, ui);
    }
    if !node.numbers.is_empty() && !node.numbers.iter().any(|n| n.place.ends_with(".wall")) {
        let words = said("node-wall-add");
        if widgets::small_button(ui, words, words, true, "").clicked() {
            f.edit(vec![Edit::set(format!("{at}.wall"), "per_Pa(4e-9)")]);
        }
    }
    let places = [("Tank", said("place-tank")), ("Line", said("place-line")), ("Bonnet", said("place-bonnet"))];
    let now = match node.place {
        Place::Tank => "Tank",
        Place::Line => "Line",
        Place::Bonnet => "Bonnet",
    };
    f.choice(ui, &format!("{at}.place"), &tell!("node-where", node = node.name), &places, now);
    let place = format!("{at}.joint");
    let mut is_joint = node.joint.is_some();
    if ui.checkbox(&mut is_joint, said("node-tee-fits")).changed() {
        f.edit(vec![match is_joint {
            true => Edit::text(&place, &node.name),
            false => Edit::remove(&place),
        }]);
    }
    if let Some(joint) = &node.joint {
        f.words(ui, &place, said("node-joint"), joint, said("node-joint-hint"), 1);
    } else {
        f.problems(ui, &place);
    }
    let joined = vehicle.at_node(&node.name);
    let names: Vec<&str> = joined.iter().map(|&k| vehicle.parts[k].name.as_str()).collect();
    let words = if names.is_empty() {
        said("node-nothing-joined").to_owned()
    } else {
        tell!("node-joined", parts = names.join(", "))
    };
    ui.label(quiet(ui, words));
    let (words, aloud) = (said("node-remove"), tell!("node-remove-name", node = node.name));
    if widgets::small_button(ui, words, &aloud, names.is_empty(), said("node-has-parts")).clicked() {
        f.orders.push(Order::Plumb(Plumb::RemoveNode(i)));
    }
    f.problems(ui, &at);
}

/// The name of a node, which parts and the card name, too: changed with them when the field is left.
fn rename_ui(f: &mut Form<'_>, vehicle: &PlantForm, i: usize, node: &NodeForm, ui: &mut Ui) {
    let place = format!("nodes[{i}].name");
    let name = said("node-name");
    let label = ui.label(quiet(ui, name));
    let typed = f.typing.as_ref().filter(|t| t.place == place).map(|t| t.text.clone());
    let mut text = typed.clone().unwrap_or_else(|| node.name.clone());
    let field = TextEdit::singleline(&mut text).id(id_of(&place)).desired_width(ui.available_width() - 16.0);
    let response = ui.add(field.margin(bevy_egui::egui::Margin::symmetric(8, 7)).min_size(vec2(0.0, TARGET)));
    let response = response.labelled_by(label.id);
    if response.changed() {
        *f.typing = Some(Typing { place: place.clone(), text: text.clone() });
    }
    let is_taken = vehicle.nodes.iter().enumerate().any(|(k, n)| k != i && n.name == text.trim());
    if typed.is_some() && is_taken {
        problem(ui, false, said("node-name-taken"));
    }
    if response.lost_focus() && typed.is_some() {
        *f.typing = None;
        let new = text.trim().to_owned();
        if new != node.name && !new.is_empty() && !is_taken {
            f.orders.push(Order::Plumb(Plumb::RenameNode(i, new)));
        }
    }
    f.problems(ui, &place);
}

/// Nodes that nothing is joined to, in words, for the line under the drawing.
pub fn loose_ui(vehicle: &PlantForm, ui: &mut Ui, orders: &mut Vec<Order>) {
    let loose: Vec<&NodeForm> = vehicle.nodes.iter().filter(|n| vehicle.at_node(&n.name).is_empty()).collect();
    if loose.is_empty() {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        widgets::mark_ui(Mark::Cross, ui);
        ui.label(RichText::new(said("nodes-loose")).font(semibold(13.0)).color(tokens(ui).critical));
        for node in loose {
            let aloud = tell!("nodes-loose-name", node = node.name);
            if widgets::small_button(ui, &node.name, &aloud, true, "").clicked() {
                orders.push(Order::Touched(crate::bay::words::offer::Spot::Joint(node.name.clone())));
            }
        }
    });
}
