//! Changes to the graph of a plant's text, as edits that leave the rest to its author: a part put into the way or beside
//! it, taken out, turned round; a node renamed with everything that names it.
//!
//! Each gives the edits of one change; made together they can be undone together. Whether the plant is a good one
//! afterwards is for the check to say.

use super::patch::{self, Edit, quoted};
use super::source::Source;
use super::vehicle_form::{PartForm, PlantForm, Says, least};
use crate::language::said;
use crate::tell;

/// Volume of the fittings at a node that is put in.
const FITTING: &str = "ml(5)";

/// How the name of a new part of a kind begins: a word of the file, so the same in every language.
fn stem(kind: &str) -> &'static str {
    match kind {
        "Tank" => "tank",
        "SwirlPot" => "swirl pot",
        "Strainer" => "strainer",
        "Line" => "line",
        "Restriction" => "restriction",
        "NonReturnValve" => "non-return valve",
        "ShutOffValve" => "shut-off valve",
        "Relief" => "relief valve",
        "Filter" => "filter",
        "SedimentBowl" => "sediment bowl",
        "HandPrimer" => "hand primer",
        "GearPump" => "gear pump",
        "DiaphragmPump" => "diaphragm pump",
        "ElectricPump" => "electric pump",
        "JetPump" => "jet pump",
        "Engine" => "engine",
        _ => "part",
    }
}

/// A name like this one that isn't taken.
pub fn free<'t>(stem: &str, taken: impl Iterator<Item = &'t str> + Clone) -> String {
    let named = |n: usize| if n == 1 { stem.to_owned() } else { format!("{stem} {n}") };
    (1..1000).map(named).find(|name| !taken.clone().any(|t| t == name)).unwrap_or_else(|| stem.to_owned())
}

/// A part with one end: it stands at a node and leads nowhere.
fn is_one_ended(kind: &str) -> bool {
    matches!(kind, "Tank" | "SwirlPot" | "Engine")
}

fn part_name(form: &PlantForm, kind: &str) -> String {
    free(stem(kind), form.parts.iter().map(|p| p.name.as_str()))
}

/// The outlet of the first tank.
fn first_tank(form: &PlantForm) -> Option<String> {
    form.parts.iter().find(|p| p.kind == "Tank").map(|p| p.ends[0].1.clone())
}

/// A new part as it is written: the least of its kind, with its ends, and what else it names led to the first tank or to
/// where it ends.
fn written_part(form: &PlantForm, kind: &str, name: &str, ends: &[&str]) -> Result<String, String> {
    let mut text =
        format!("(name: {}, label: {}, price: 0, minutes: 0, is: {})", quoted(name), quoted(name), least(kind));
    let last = ends.last().copied().unwrap_or_default().to_owned();
    let tank = first_tank(form).unwrap_or_else(|| last.clone());
    let fields: Vec<(String, String)> = {
        let source = Source::scan(text.as_str()).map_err(|_| said("plumb-no-kind"))?;
        let is = source.root().field("is");
        let names = |at: super::source::At<'_>, before: &str| {
            let found = at.fields().map(|(n, _, _)| (format!("is.{before}{n}"), n.to_owned()));
            found.collect::<Vec<_>>()
        };
        let mut all = names(is, "");
        if is.field("command").exists() {
            all.extend(names(is.field("command"), "command."));
        }
        all
    };
    let mut next = ends.iter();
    for (place, field) in fields {
        let node = match field.as_str() {
            "from" | "to" | "outlet" | "gallery" if !place.contains("command") => match next.next() {
                Some(end) => (*end).to_owned(),
                None => continue,
            },
            "tank" => tank.clone(),
            "sensor" => last.clone(),
            _ => continue,
        };
        text = patch::edit(&text, &Edit::text(place, &node))?;
    }
    Ok(text)
}

/// Puts a part into the way at a node: what left the node leaves the part's other end now. At the engine's gallery it
/// comes before. A part with one end gets a node of its own.
///
/// # Errors
/// A sentence when there is no such node or kind.
pub fn insert(text: &str, form: &PlantForm, kind: &str, node: &str) -> Result<Vec<Edit>, String> {
    let i = form.nodes.iter().position(|n| n.name == node).ok_or(said("plumb-no-node"))?;
    let name = part_name(form, kind);
    let node_names = form.nodes.iter().map(|n| n.name.as_str());
    if is_one_ended(kind) {
        let own = free(&format!("{name} outlet"), node_names);
        return Ok(vec![
            Edit::insert("nodes", form.nodes.len(), node_like(text, i, &own)),
            Edit::insert("parts", form.parts.len(), written_part(form, kind, &name, &[&own])?),
        ]);
    }
    let is_gallery = form.parts.iter().any(|p| p.kind == "Engine" && p.ends.iter().any(|e| e.1 == node));
    let other = free(&format!("{name} {}", if is_gallery { "in" } else { "out" }), node_names);
    // ends that move over to the new node
    let moved = if is_gallery { 1 } else { 0 };
    let mut edits = vec![];
    let mut beside = form.parts.len();
    for (k, part) in form.parts.iter().enumerate() {
        if part.ends.len() == 2 && part.ends[moved].1 == node {
            edits.push(Edit::text(format!("parts[{k}].is.{}", part.ends[moved].0), &other));
            beside = beside.min(if is_gallery { k + 1 } else { k });
        }
    }
    let ends = if is_gallery { [other.as_str(), node] } else { [node, other.as_str()] };
    edits.push(Edit::insert("nodes", if is_gallery { i } else { i + 1 }, node_like(text, i, &other)));
    edits.push(Edit::insert("parts", beside, written_part(form, kind, &name, &ends)?));
    Ok(edits)
}

/// Puts a part between two nodes that there are, beside whatever joins them already.
///
/// # Errors
/// A sentence when the kind has one end only, or both nodes are one.
pub fn between(form: &PlantForm, kind: &str, from: &str, to: &str) -> Result<Vec<Edit>, String> {
    if is_one_ended(kind) {
        return Err(said("plumb-one-end").to_owned());
    }
    if from == to {
        return Err(said("plumb-two-ends").to_owned());
    }
    let name = part_name(form, kind);
    let entry = written_part(form, kind, &name, &[from, to])?;
    Ok(vec![Edit::insert("parts", form.parts.len(), entry)])
}

/// A node at the same height and place as another.
fn node_like(text: &str, i: usize, name: &str) -> String {
    let field = |field: &str| patch::value(text, &format!("nodes[{i}].{field}"));
    let height = field("height").unwrap_or_else(|| "m(0)".to_owned());
    let place = field("place").map_or(String::new(), |p| format!(", place: {p}"));
    format!("(name: {}, height: {height}, volume: {FITTING}{place})", quoted(name))
}

/// A node by itself.
pub fn add_node(form: &PlantForm) -> Vec<Edit> {
    let name = free("node", form.nodes.iter().map(|n| n.name.as_str()));
    let entry = format!("(name: {}, height: m(0.5), volume: {FITTING})", quoted(&name));
    vec![Edit::insert("nodes", form.nodes.len(), entry)]
}

/// Takes a part out. With `close`, its two ends become one node where nothing else joins them, so that the way goes on.
pub fn remove(form: &PlantForm, i: usize, close: bool) -> Vec<Edit> {
    let Some(part) = form.parts.get(i) else { return vec![] };
    let mut edits = vec![];
    let merged = (if close { ends_to_merge(form, i, part) } else { None }).filter(|(kept, gone)| kept != gone);
    let mut going: Vec<String> = vec![];
    if let Some((kept, gone)) = &merged {
        edits.extend(renamed(form, gone, kept, Some(i)));
        going.push(gone.clone());
    } else {
        // what nothing else is joined to goes with the part
        let left_alone = part.ends.iter().map(|e| e.1.as_str()).filter(|n| form.at_node(n) == [i]);
        going.extend(left_alone.map(str::to_owned));
    }
    edits.push(Edit::remove(format!("parts[{i}]")));
    for name in going {
        // the card lines of a merged node now name the kept one; of a node that is gone they go, too
        if merged.is_none() {
            let lines = (0..form.card.len()).rev().filter(|&k| form.card[k].joint == name);
            edits.extend(lines.map(|k| Edit::remove(format!("card[{k}]"))));
        }
        if let Some(k) = form.nodes.iter().position(|n| n.name == name) {
            edits.push(Edit::remove(format!("nodes[{k}]")));
        }
    }
    in_order(edits)
}

/// Entries are taken out from the last to the first, after everything else.
fn in_order(edits: Vec<Edit>) -> Vec<Edit> {
    let index = |e: &Edit| {
        let open = e.at.rfind('[').unwrap_or(0);
        e.at[open..].trim_matches(['[', ']']).parse::<usize>().unwrap_or(0)
    };
    let (mut removed, mut all): (Vec<Edit>, Vec<Edit>) =
        edits.into_iter().partition(|e| e.change == patch::Change::Remove);
    removed.sort_by_key(|e| std::cmp::Reverse(index(e)));
    removed.dedup();
    all.extend(removed);
    all
}

/// Which of a part's two ends is kept, and which becomes the same, when the part goes.
fn ends_to_merge(form: &PlantForm, i: usize, part: &PartForm) -> Option<(String, String)> {
    let [(_, from), (_, to)] = &part.ends[..] else { return None };
    let is_node = |n: &String| form.nodes.iter().any(|x| x.name == *n);
    let joins = |p: &PartForm| {
        p.ends.len() == 2 && p.ends.iter().any(|e| e.1 == *from) && p.ends.iter().any(|e| e.1 == *to)
    };
    if !is_node(from) || !is_node(to) || form.parts.iter().enumerate().any(|(k, p)| k != i && joins(p)) {
        return None;
    }
    let is_anchor = |n: &String| form.parts.iter().any(|p| p.ends.len() == 1 && p.ends[0].1 == *n);
    let has_joint = |n: &String| form.nodes.iter().any(|x| x.name == *n && x.joint.is_some());
    match (is_anchor(from), is_anchor(to)) {
        // a tank can't become the engine
        (true, true) => None,
        (true, false) => Some((from.clone(), to.clone())),
        (false, true) => Some((to.clone(), from.clone())),
        // where the tee fits is worth keeping
        _ if has_joint(to) && !has_joint(from) => Some((to.clone(), from.clone())),
        _ => Some((from.clone(), to.clone())),
    }
}

/// Everything that names a node names another one.
fn renamed(form: &PlantForm, old: &str, new: &str, but_part: Option<usize>) -> Vec<Edit> {
    let mut edits = vec![];
    for (k, part) in form.parts.iter().enumerate().filter(|(k, _)| Some(*k) != but_part) {
        for (field, node) in &part.ends {
            if node == old {
                edits.push(Edit::text(format!("parts[{k}].is.{field}"), new));
            }
        }
        for other in part.others.iter().filter(|o| o.says == Says::Node && o.text == old) {
            edits.push(Edit::text(&other.place, new));
        }
        for other in part.others.iter().filter(|o| o.field == "command") {
            edits.extend(command_names(other.text.as_str(), &other.place, old, new));
        }
    }
    let lines = form.card.iter().enumerate().filter(|(_, l)| l.joint == old);
    edits.extend(lines.map(|(k, _)| Edit::text(format!("card[{k}].joint"), new)));
    edits
}

fn command_names(command: &str, place: &str, old: &str, new: &str) -> Vec<Edit> {
    let Ok(source) = Source::scan(command) else { return vec![] };
    let names = ["sensor", "tank"].into_iter().filter(|f| source.root().field(f).text() == quoted(old));
    names.map(|f| Edit::text(format!("{place}.{f}"), new)).collect()
}

/// Gives a node another name, and everything that names it with it. Jobs that name its joint must be changed by hand.
///
/// # Errors
/// A sentence when the name is taken.
pub fn rename_node(form: &PlantForm, i: usize, name: &str) -> Result<Vec<Edit>, String> {
    let old = &form.nodes.get(i).ok_or(said("plumb-no-node"))?.name;
    if form.nodes.iter().enumerate().any(|(k, n)| k != i && n.name == name) {
        return Err(said("plumb-name-taken").to_owned());
    }
    let mut edits = renamed(form, old, name, None);
    edits.push(Edit::text(format!("nodes[{i}].name"), name));
    Ok(edits)
}

/// Takes a node out that nothing is joined to, and what the card says of it.
///
/// # Errors
/// A sentence when something is joined to it.
pub fn remove_node(form: &PlantForm, i: usize) -> Result<Vec<Edit>, String> {
    let name = &form.nodes.get(i).ok_or(said("plumb-no-node"))?.name;
    if let Some(&k) = form.at_node(name).first() {
        return Err(tell!("plumb-joined", part = form.parts[k].name));
    }
    let lines = (0..form.card.len()).rev().filter(|&k| form.card[k].joint == *name);
    let mut edits: Vec<Edit> = lines.map(|k| Edit::remove(format!("card[{k}]"))).collect();
    edits.push(Edit::remove(format!("nodes[{i}]")));
    Ok(edits)
}

/// Turns a part round.
pub fn turn(form: &PlantForm, i: usize) -> Vec<Edit> {
    let Some([(a, from), (b, to)]) = form.parts.get(i).map(|p| &p.ends[..]) else { return vec![] };
    vec![Edit::text(format!("parts[{i}].is.{a}"), to), Edit::text(format!("parts[{i}].is.{b}"), from)]
}

#[cfg(test)]
mod tests {
    use super::super::vehicle_form::plant_form;
    use super::*;
    use crate::plant::component::Component;
    use crate::scenario::starter::starter;
    use crate::scenario::{Kind, Library, check_text};

    fn made(text: &str, edits: &[Edit]) -> String {
        patch::edit_all(text, edits).unwrap_or_else(|e| panic!("{e}: {edits:?}"))
    }

    fn errors(text: &str) -> String {
        let report = check_text(Some(Kind::Plant), "x.ron", text, &Library::builtin());
        if report.has_errors() { report.to_string() } else { String::new() }
    }

    #[test]
    fn what_lies_in_a_line_can_be_put_in_anywhere_and_taken_out_again() {
        for name in ["a1-van", "a5-coupe"] {
            let library = Library::builtin();
            let text = library.text(Kind::Plant, name).unwrap();
            let form = plant_form(text).unwrap();
            for node in form.node_names() {
                for kind in ["Line", "Restriction", "Filter", "SedimentBowl", "HandPrimer", "ShutOffValve"] {
                    let with = made(text, &insert(text, &form, kind, &node).unwrap());
                    let grown = plant_form(&with).unwrap();
                    assert_eq!(grown.parts.len(), form.parts.len() + 1);
                    let new =
                        grown.parts.iter().position(|p| !form.parts.iter().any(|q| q.name == p.name)).unwrap();
                    assert!(grown.parts[new].ends.iter().any(|e| e.1 == node));
                    let without = made(&with, &remove(&grown, new, true));
                    assert_eq!(plant_form(&without).unwrap(), form, "{kind} at {node}");
                }
            }
        }
    }

    #[test]
    fn a_line_put_into_a_sound_van_leaves_it_one_that_passes() {
        let library = Library::builtin();
        let text = library.text(Kind::Plant, "a1-van").unwrap();
        let form = plant_form(text).unwrap();
        for node in ["foot", "tank line end", "filter in", "pump in", "gallery"] {
            let with = made(text, &insert(text, &form, "Line", node).unwrap());
            assert_eq!(errors(&with), "", "{node}");
        }
    }

    #[test]
    fn a_starter_can_be_taken_apart_and_put_together_by_hand() {
        let mut text = starter(Kind::Plant, "my-van");
        let form = plant_form(&text).unwrap();
        let pump = form.parts.iter().position(|p| p.kind == "GearPump").unwrap();
        text = made(&text, &remove(&form, pump, false));
        assert!(errors(&text).contains("FB-S"), "an engine that nothing feeds passes");
        let form = plant_form(&text).unwrap();
        text = made(&text, &between(&form, "GearPump", "pump in", "gallery").unwrap());
        assert_eq!(errors(&text), "");
        let form = plant_form(&text).unwrap();
        let edits = rename_node(&form, form.nodes.iter().position(|n| n.name == "pump in").unwrap(), "inlet");
        text = made(&text, &edits.unwrap());
        assert_eq!(errors(&text), "");
        assert!(!text.contains("\"pump in\""), "{text}");
        let form = plant_form(&text).unwrap();
        text = made(&text, &add_node(&form));
        assert!(errors(&text).contains("\"node\""), "a node that nothing is joined to passes");
        let form = plant_form(&text).unwrap();
        assert!(remove_node(&form, 0).unwrap_err().contains("tank"));
        text = made(&text, &remove_node(&form, form.nodes.len() - 1).unwrap());
        assert_eq!(errors(&text), "");
        let form = plant_form(&text).unwrap();
        text = made(&text, &turn(&form, pump - 1));
        assert_ne!(errors(&text), "");
    }

    #[test]
    fn one_of_every_kind_can_be_put_in() {
        let library = Library::builtin();
        let text = library.text(Kind::Plant, "a1-van").unwrap();
        let form = plant_form(text).unwrap();
        for kind in Component::KINDS {
            let with = made(text, &insert(text, &form, kind, "pump in").unwrap());
            let report = check_text(Some(Kind::Plant), "x.ron", &with, &library).to_string();
            for bad in ["no node is called", "wrong-value", "missing-field", "unknown-field"] {
                assert!(!report.contains(bad), "{kind}: {report}");
            }
        }
    }
}
