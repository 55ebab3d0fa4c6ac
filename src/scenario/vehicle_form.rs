//! A plant, and a course, as fields to fill in: what can be read of the text, however much of it is wrong.
//!
//! The sibling of [`super::form`], for whoever edits a vehicle's graph. Which numbers a part has, in which unit and
//! range, is said by the table beside its kind ([`Component::numbers`]); which fields may be left out is found out from
//! the sample of its kind, by leaving each out and reading the rest. Nothing here is checked.

use serde::de::DeserializeOwned;

use super::form::{LimitForm, limit, read, tidy};
use super::parse::options;
use super::patch::number;
use super::source::{At, Source};
use crate::plant::component::{Component, Number, Unit};
use crate::plant::{Node, Place};
use crate::units::{Length, Resistor, Temperature};

/// A number of a node or a part, with its range.
#[derive(Clone, Debug, PartialEq)]
pub struct NumberForm {
    /// Its place in the file, such as `parts[2].is.bore`.
    pub place: String,
    /// What it is, in words.
    pub words: &'static str,
    /// As it stands, in `unit`.
    pub value: f64,
    /// The unit.
    pub unit: Unit,
    /// Smallest and largest that a vehicle has, in `unit`.
    pub range: (f64, f64),
    /// It stands in the file; else it is what the file gets by leaving it out.
    pub is_written: bool,
}

impl NumberForm {
    fn of(at: At<'_>, place: &str, number: &Number) -> Self {
        let mut whole = place.to_owned();
        let mut there = at;
        for step in number.field.split('.') {
            match step.parse::<usize>() {
                Ok(index) => {
                    whole += &format!("[{index}]");
                    there = there.item(index);
                }
                Err(_) => {
                    whole += &format!(".{step}");
                    there = there.field(step);
                }
            }
        }
        Self {
            place: whole,
            words: number.words,
            value: digits(number.value),
            unit: number.unit,
            range: (number.low, number.high),
            is_written: there.exists(),
        }
    }

    /// A value as it is written in the file.
    pub fn written(&self, value: f64) -> String {
        match self.unit.written {
            "" => number(value),
            unit => format!("{unit}({})", number(value)),
        }
    }

    /// A value that a vehicle has.
    pub fn fits(&self, value: f64) -> bool {
        let give = 1e-12 * self.range.0.abs().max(self.range.1.abs());
        value >= self.range.0 - give && value <= self.range.1 + give
    }
}

/// Nine digits: without the dust of a unit's factor.
fn digits(value: f64) -> f64 {
    format!("{value:.8e}").parse().unwrap_or(value)
}

/// What stands in a field of a part that is no number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Says {
    /// The name of a node, another one than its ends.
    Node,
    /// Yes or no.
    Flag,
    /// A word, or a bracket that is changed in the text.
    Text,
}

/// A field of a part that is no number and no end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherForm {
    /// Its name in the file.
    pub field: String,
    /// Its place in the file.
    pub place: String,
    /// What it says.
    pub says: Says,
    /// As it is written; the name alone for a node.
    pub text: String,
}

/// The two sides of a pump's circuit, as they stand in the file.
pub const CIRCUIT: [&str; 2] = ["feed", "earth"];

/// A resistance of an electric pump's circuit in a form.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct JointForm {
    /// Its list's place, such as `parts[2].is.feed`.
    pub list: String,
    /// Its position in that list.
    pub index: usize,
    /// Measuring point behind it.
    pub name: String,
    /// Resistance, Ω.
    pub ohm: f64,
}

impl JointForm {
    /// Its place in the file.
    pub fn place(&self) -> String {
        format!("{}[{}]", self.list, self.index)
    }

    /// A new one as it is written: a good joint.
    pub fn new_one(name: &str) -> String {
        format!("(name: {}, ohm: mohm(20))", super::patch::quoted(name))
    }
}

/// A node in a form.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct NodeForm {
    /// Name.
    pub name: String,
    /// Height, volume, wall.
    pub numbers: Vec<NumberForm>,
    /// Where it lies.
    pub place: Place,
    /// Label of the joint, where the tee fits.
    pub joint: Option<String>,
}

/// A part in a form.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct PartForm {
    /// Name.
    pub name: String,
    /// As people call it.
    pub label: String,
    /// Price of a new one, credits.
    pub price: f64,
    /// Minutes to change or clean it.
    pub minutes: f64,
    /// Kind in an author's words.
    pub kind: String,
    /// Ends: name of the field and of the node.
    pub ends: Vec<(String, String)>,
    /// Numbers; none while the part can't be read.
    pub numbers: Vec<NumberForm>,
    /// What else stands there.
    pub others: Vec<OtherForm>,
    /// The circuit that feeds it, from the battery's plus over the motor to its minus.
    pub circuit: Vec<JointForm>,
    /// What may be added: field, and how it is written.
    pub may_add: Vec<(String, String)>,
    /// Fields that stand there and may be left out.
    pub may_go: Vec<String>,
}

/// A plant in a form.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct PlantForm {
    /// What vehicle it is.
    pub title: String,
    /// The fuel as it is written.
    pub fuel: String,
    /// Temperature of fuel and surroundings, °C.
    pub temperature_c: Option<f64>,
    /// Height above the sea, m.
    pub altitude_m: Option<f64>,
    /// Voltage of the battery; none where the file leaves it out.
    pub battery_v: Option<f64>,
    /// What the card permits: shut on the suction side, shut on the pressure side, compressed air; none where left out.
    pub permits: [Option<bool>; 3],
    /// The fuel is dyed; none where left out.
    pub dyed: Option<bool>,
    /// How it warms up.
    pub warmth: Vec<NumberForm>,
    /// Nodes.
    pub nodes: Vec<NodeForm>,
    /// Parts.
    pub parts: Vec<PartForm>,
    /// The vehicle card. Training values.
    pub card: Vec<LimitForm>,
}

/// Fields of the service that say yes or no, as they stand in the file.
pub const PERMITS: [&str; 3] = ["blocked_inlet", "blocked_outlet", "air_decay"];

impl PlantForm {
    /// Names of the nodes.
    pub fn node_names(&self) -> Vec<String> {
        self.nodes.iter().map(|n| n.name.clone()).collect()
    }

    /// Parts that are joined to a node, by their position.
    pub fn at_node(&self, node: &str) -> Vec<usize> {
        let is_there = |p: &PartForm| {
            p.ends.iter().any(|e| e.1 == node) || p.others.iter().any(|o| o.says == Says::Node && o.text == node)
        };
        (0..self.parts.len()).filter(|&i| is_there(&self.parts[i])).collect()
    }
}

fn written<T: DeserializeOwned + Default>(at: At<'_>) -> T {
    read(at).unwrap_or_default()
}

/// The sample of a kind, as it is written; empty for a word that is no kind.
pub fn sample(kind: &str) -> &'static str {
    // walked afresh each time: it is a few kilobytes
    let text = Component::sample_text();
    let Ok(source) = Source::scan(text) else { return "" };
    let root = source.root();
    let found = (0..root.len()).map(|i| root.item(i)).find(|at| at.word() == kind).map(At::span);
    found.map_or("", |span| &text[span])
}

/// The ways of running an electric pump, each as it begins, with what it names led to these nodes.
pub fn commands(sensor: &str, tank: &str) -> Vec<String> {
    let Ok(source) = Source::scan(Component::sample_text()) else { return vec![] };
    let root = source.root();
    let pumps = (0..root.len()).map(|i| root.item(i)).filter(|at| at.word() == "ElectricPump");
    let led = |text: &str| {
        let mut text = format!("X(command: {text})");
        for (field, node) in [("sensor", sensor), ("tank", tank)] {
            let place = format!("command.{field}");
            if super::patch::value(&text, &place).is_some() {
                text = super::patch::edit(&text, &super::patch::Edit::text(place, node)).unwrap_or(text);
            }
        }
        // a float that sticks is a fault, not how a pump is run
        let stuck = super::patch::Edit::remove("command.stuck");
        text = super::patch::edit(&text, &stuck).unwrap_or(text);
        super::patch::value(&text, "command").unwrap_or_default()
    };
    pumps.map(|at| led(at.field("command").text())).collect()
}

/// Whether a part is still one with this field left out.
fn may_be_left_out(sample: &str, field: &str) -> bool {
    let whole = format!("X(is: {sample})");
    let without = super::patch::edit(&whole, &super::patch::Edit::remove(format!("is.{field}")));
    let part = without.ok().and_then(|t| super::patch::value(&t, "is"));
    part.is_some_and(|t| options().from_str::<Component>(&t).is_ok())
}

/// The least that a part of a kind needs, as it is written: its sample without what may be left out.
pub fn least(kind: &str) -> String {
    let whole = sample(kind);
    let Ok(source) = Source::scan(whole) else { return String::new() };
    let extras: Vec<&str> = source.root().fields().map(|f| f.0).filter(|f| may_be_left_out(whole, f)).collect();
    let mut text = format!("X(is: {whole})");
    for field in extras {
        text = super::patch::edit(&text, &super::patch::Edit::remove(format!("is.{field}"))).unwrap_or(text);
    }
    let bare = super::patch::value(&text, "is").unwrap_or_default();
    bare.split_whitespace().collect::<Vec<_>>().join(" ").replace("( ", "(").replace(", )", ")").replace(",)", ")")
}

fn part(at: At<'_>, place: &str) -> PartForm {
    let is = at.field("is");
    let there = format!("{place}.is");
    let component: Option<Component> = read(is);
    let kind = is.word().to_owned();
    let model = sample(&kind);
    let end_fields = options().from_str::<Component>(model).map_or(&[][..], |c| c.end_fields());
    let numbers: Vec<NumberForm> =
        component.iter().flat_map(Component::numbers).map(|n| NumberForm::of(is, &there, &n)).collect();
    let top = |n: &NumberForm| n.place[there.len() + 1..].split(['.', '[']).next().unwrap_or_default().to_owned();
    let of_numbers: Vec<String> = numbers.iter().map(top).collect();
    let mut others = vec![];
    let fields: Vec<(&str, At<'_>)> = is.fields().map(|(name, _, value)| (name, value)).collect();
    for (name, value) in &fields {
        let is_bracket = value.has_fields() || value.is_list();
        if !end_fields.contains(name) && (!of_numbers.iter().any(|n| n == name) || is_bracket && *name == "command")
        {
            others.push(other(name, *value, &there));
        }
    }
    let mut may_add = vec![];
    if let Ok(source) = Source::scan(model) {
        for (name, _, value) in source.root().fields() {
            // a number that has a value without being written needs no adding
            let is_there = fields.iter().any(|f| f.0 == name) || of_numbers.iter().any(|n| n == name);
            if !is_there && !end_fields.contains(&name) && component.is_some() {
                may_add.push((name.to_owned(), value.text().to_owned()));
            }
        }
    }
    let circuit = CIRCUIT.iter().flat_map(|side| {
        let list = format!("{there}.{side}");
        each(is.field(side), &list, |at, _| (written(at.field("name")), read::<Resistor>(at.field("ohm"))))
            .into_iter()
            .enumerate()
            .map(move |(index, (name, ohm))| JointForm {
                list: list.clone(),
                index,
                name,
                ohm: ohm.map_or(0.0, |r| digits(r.si())),
            })
    });
    let circuit = circuit.collect();
    let may_go = fields.iter().map(|f| f.0).filter(|f| may_be_left_out(model, f)).map(str::to_owned).collect();
    PartForm {
        name: written(at.field("name")),
        label: written(at.field("label")),
        price: written(at.field("price")),
        minutes: written(at.field("minutes")),
        ends: end_fields.iter().map(|f| ((*f).to_owned(), written(is.field(f)))).collect(),
        kind,
        numbers,
        others,
        circuit,
        may_add,
        may_go,
    }
}

fn other(name: &str, value: At<'_>, there: &str) -> OtherForm {
    let says = match (value.text(), name) {
        (_, "returns_to" | "overflows_to" | "tank") => Says::Node,
        ("true" | "false", _) => Says::Flag,
        _ => Says::Text,
    };
    let text = if says == Says::Node { written(value) } else { value.text().to_owned() };
    OtherForm { field: name.to_owned(), place: format!("{there}.{name}"), says, text }
}

fn node(at: At<'_>, place: &str) -> NodeForm {
    let whole: Option<Node> = read(at);
    NodeForm {
        name: written(at.field("name")),
        numbers: whole.iter().flat_map(Node::numbers).map(|n| NumberForm::of(at, place, &n)).collect(),
        place: written(at.field("place")),
        joint: read(at.field("joint")),
    }
}

fn each<T>(list: At<'_>, name: &str, one: impl Fn(At<'_>, &str) -> T) -> Vec<T> {
    if !list.exists() || !list.text().starts_with('[') {
        return vec![];
    }
    (0..list.len()).map(|i| one(list.item(i), &format!("{name}[{i}]"))).collect()
}

const UNREADABLE: &str = "The text can't be read: put its brackets and quotes right first.";

/// Reads what can be read of a plant.
///
/// # Errors
/// A sentence when the text's brackets or quotes don't match; then nothing in it has a place.
pub fn plant_form(text: &str) -> Result<PlantForm, String> {
    let source = Source::scan(text).map_err(|_| UNREADABLE)?;
    let root = source.root();
    let service = root.field("service");
    let warmth: Option<crate::plant::Warmth> = read(root.field("warmth"));
    let of_warmth = warmth.map(|w| w.numbers()).unwrap_or_default();
    Ok(PlantForm {
        title: written(root.field("title")),
        fuel: if root.field("fuel").exists() { root.field("fuel").text().to_owned() } else { String::new() },
        temperature_c: read::<Temperature>(root.field("temperature")).map(|t| tidy(t.celsius())),
        altitude_m: read::<Length>(root.field("altitude")).map(|l| tidy(l.si())),
        battery_v: read::<crate::units::Voltage>(service.field("battery")).map(|v| tidy(v.si())),
        permits: PERMITS.map(|p| read(service.field(p))),
        dyed: read(service.field("dyed")),
        warmth: of_warmth.iter().map(|n| NumberForm::of(root.field("warmth"), "warmth", n)).collect(),
        nodes: each(root.field("nodes"), "nodes", node),
        parts: each(root.field("parts"), "parts", part),
        card: each(root.field("card"), "card", |at, _| limit(at)),
    })
}

/// A job of a course in a form.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct StageForm {
    /// Name of the job.
    pub job: String,
    /// Why it comes here.
    pub aim: String,
    /// Jobs that come before it.
    pub after: Vec<String>,
}

/// A course in a form.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct CourseForm {
    /// What it is called.
    pub title: String,
    /// For whom.
    pub aim: String,
    /// Its jobs.
    pub stages: Vec<StageForm>,
}

/// Reads what can be read of a course.
///
/// # Errors
/// As [`plant_form`].
pub fn course_form(text: &str) -> Result<CourseForm, String> {
    let source = Source::scan(text).map_err(|_| UNREADABLE)?;
    let root = source.root();
    let stage = |at: At<'_>, _: &str| StageForm {
        job: written(at.field("job")),
        aim: written(at.field("aim")),
        after: written(at.field("after")),
    };
    Ok(CourseForm {
        title: written(root.field("title")),
        aim: written(root.field("aim")),
        stages: each(root.field("jobs"), "jobs", stage),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::patch::{self, Edit};
    use crate::scenario::{Kind, Library};

    #[test]
    fn every_number_of_every_vehicle_has_its_place_and_is_written_back_as_it_was() {
        let library = Library::builtin();
        for name in library.names(Kind::Plant) {
            let text = library.text(Kind::Plant, &name).unwrap();
            let form = plant_form(text).unwrap();
            let (plant, _) = crate::scenario::load_plant(&library, &name).unwrap();
            assert_eq!((form.nodes.len(), form.parts.len()), (plant.nodes.len(), plant.parts.len()));
            let nodes = form.nodes.iter().flat_map(|n| &n.numbers);
            let mut seen = 0;
            for n in nodes.chain(form.parts.iter().flat_map(|p| &p.numbers)) {
                assert!(n.fits(n.value), "{name}: {n:?}");
                seen += 1;
                let changed = patch::edit(text, &Edit::set(&n.place, n.written(n.value))).unwrap();
                if n.is_written {
                    assert!(patch::value(&changed, &n.place).is_some());
                    let again = plant_form(&changed).unwrap();
                    assert_eq!(again.parts.len(), form.parts.len(), "{name}: {}", n.place);
                }
            }
            assert!(seen > 60, "{name} has {seen} numbers only");
        }
    }

    #[test]
    fn the_least_of_every_kind_is_a_part_and_what_may_be_added_can_be() {
        for kind in Component::KINDS {
            let text = least(kind);
            let part: Component = options().from_str(&text).unwrap_or_else(|e| panic!("{kind}: {e}\n{text}"));
            assert_eq!(part.kind(), *kind);
            let mut file = format!("Plant(parts: [(name: \"x\", label: \"x\", is: {text})])");
            let form = plant_form(&file).unwrap();
            for (field, value) in &form.parts[0].may_add {
                file = patch::edit(&file, &Edit::set(format!("parts[0].is.{field}"), value)).unwrap();
                let grown: Option<Component> =
                    options().from_str(&patch::value(&file, "parts[0].is").unwrap()).ok();
                assert!(grown.is_some(), "{kind}: {field}: {value}");
            }
            assert!(plant_form(&file).unwrap().parts[0].may_add.is_empty(), "{kind}");
        }
    }

    #[test]
    fn the_circuit_of_a_pump_is_read_from_plus_to_minus() {
        let library = Library::builtin();
        let form = plant_form(library.text(Kind::Plant, "a8-genset").unwrap()).unwrap();
        let pump = form.parts.iter().find(|p| p.kind == "ElectricPump").unwrap();
        let names: Vec<&str> = pump.circuit.iter().map(|j| j.name.as_str()).collect();
        assert_eq!(names, ["fuse", "float switch", "pump plug feed side", "pump plug earth side", "earth point"]);
        assert_eq!((pump.circuit[1].ohm, pump.circuit[4].index), (0.06, 1));
        let line = form.parts.iter().find(|p| p.kind == "Line").unwrap();
        assert!(line.circuit.is_empty());
    }

    #[test]
    fn every_way_of_running_a_pump_is_one_that_can_be_read() {
        use crate::plant::component::Command;
        let all: Vec<Command> = commands("rail", "t").iter().map(|t| options().from_str(t).unwrap()).collect();
        assert_eq!(all.len(), 3);
        assert!(all.iter().any(|c| matches!(c, Command::Demand { sensor, .. } if sensor == "rail")));
        assert!(all.iter().any(|c| matches!(c, Command::Float { tank, stuck: false, .. } if tank == "t")));
    }

    #[test]
    fn half_a_plant_fills_half_a_form() {
        let text = "Plant(title: \"x\", nodes: [(name: \"a\"), 3], parts: [(name: \"p\", is: Line(from: \"a\"))])";
        let form = plant_form(text).unwrap();
        assert_eq!((form.nodes[0].name.as_str(), form.nodes[0].numbers.len()), ("a", 0));
        assert_eq!(form.parts[0].ends, [("from".to_owned(), "a".to_owned()), ("to".to_owned(), String::new())]);
        assert!(form.parts[0].numbers.is_empty() && form.parts[0].may_add.is_empty());
        assert!(plant_form("Plant(").is_err());
        assert_eq!(course_form("Course(title: \"t\")").unwrap().stages, []);
    }
}
