//! The catalogue of faults as data: complete, with the priors of the trade table, monotone in severity, blind to
//! the order in which faults are given.

use std::collections::{BTreeMap, BTreeSet};

use faultbay::fault::{
    CATALOGUE, Fault, FaultInstance, Group, KitFaults, Mode, Occasion, Place, apply_all, by_code, group_of, manual,
};
use faultbay::plant::Plant;
use faultbay::plant::assemble::{Detail, Rig, TeeFitting, assemble};
use faultbay::plant::component::Component;
use faultbay::units::{Temperature, Volume};

use crate::{physics, test_plants};

/// Weights in 1000 jobs: light diesel, petrol, truck and farm, genset and boat.
const WEIGHTS: [(&str, [f64; 4]); 32] = [
    ("F01", [30., 35., 30., 30.]),
    ("F02", [12., 20., 20., 40.]),
    ("F03", [25., 15., 50., 55.]),
    ("F04", [15., 15., 15., 15.]),
    ("F05", [40., 18., 75., 170.]),
    ("F06", [35., 30., 25., 20.]),
    ("F07", [15., 10., 25., 20.]),
    ("F08", [15., 5., 28., 22.]),
    ("F09", [120., 3., 120., 110.]),
    ("F10", [20., 30., 28., 22.]),
    ("F11", [30., 0., 45., 8.]),
    ("F12", [3., 22., 2., 5.]),
    ("F13", [50., 0., 45., 40.]),
    ("F14", [5., 2., 5., 25.]),
    ("F15", [110., 35., 140., 105.]),
    ("F16", [35., 10., 35., 30.]),
    ("F17", [25., 85., 8., 8.]),
    ("F18", [45., 145., 22., 22.]),
    ("F19", [25., 85., 8., 8.]),
    ("F20", [5., 5., 40., 32.]),
    ("F21", [5., 35., 8., 4.]),
    ("F22", [3., 20., 3., 2.]),
    ("F23", [10., 60., 3., 2.]),
    ("F24", [15., 45., 7., 2.]),
    ("F25", [8., 2., 18., 45.]),
    ("F26", [32., 2., 35., 12.]),
    ("F27", [0., 0., 0., 25.]),
    ("F28", [10., 8., 14., 12.]),
    ("F29", [52., 5., 46., 17.]),
    ("N1", [95., 55., 55., 22.]),
    ("N2", [85., 130., 35., 45.]),
    ("N3", [25., 68., 10., 25.]),
];

const GROUPS: [Group; 4] = [Group::LightDiesel, Group::Petrol, Group::Heavy, Group::Marine];

#[test]
fn every_entry_is_complete() {
    let codes: BTreeSet<&str> = CATALOGUE.iter().map(|f| f.code).collect();
    assert_eq!(codes.len(), CATALOGUE.len(), "a code stands twice");
    let names: BTreeSet<&str> = CATALOGUE.iter().map(|f| f.name.said()).collect();
    assert_eq!(names.len(), CATALOGUE.len(), "a name stands twice");
    let mut wanted: Vec<String> = (1..=29).map(|i| format!("F{i:02}")).collect();
    wanted.extend((1..=3).map(|i| format!("N{i}")));
    wanted.extend((1..=8).map(|i| format!("M{i}")));
    assert_eq!(codes, wanted.iter().map(String::as_str).collect());
    for f in CATALOGUE {
        let code = f.code;
        for (what, text) in [("name", f.name), ("about", f.about), ("reports", f.reports), ("shows", f.shows)] {
            assert!(text.len() > 5 && !text.contains("  "), "{code}: {what} is {text:?}");
        }
        for (what, text) in [("about", f.about), ("reports", f.reports), ("shows", f.shows)] {
            assert!(text.ends_with('.'), "{code}: {what} is no sentence: {text:?}");
        }
        assert!(!f.modes.is_empty() && !f.met_in.is_empty(), "{code}");
        assert!(f.met_in.iter().all(|a| group_of(*a).is_some()), "{code}");
        let (low, high) = f.severities;
        assert!(1 <= low && low <= high && high <= 5, "{code}");
        assert!(f.fix.minutes.0 <= f.fix.minutes.1 && f.fix.parts.0 <= f.fix.parts.1, "{code}");
        assert!(!f.separated_by.is_empty(), "{code}: nothing separates it");
        for s in f.separated_by {
            let number: u8 = s.test.strip_prefix('T').and_then(|n| n.parse().ok()).unwrap_or(0);
            assert!((1..=30).contains(&number) && s.shows.len() > 5, "{code}: {s:?}");
        }
        for other in f.confused_with {
            assert!(by_code(other).is_some() && *other != code, "{code} is confused with {other}");
        }
        let curable = matches!(f.place, Place::Part(_) | Place::Node | Place::Circuit);
        assert_eq!(curable, !f.remedies.is_empty(), "{code}: remedies");
    }
    assert!(by_code("F09").unwrap().modes.contains(&Mode::Ing));
}

#[test]
fn priors_are_those_of_the_trade_table() {
    for (code, row) in WEIGHTS {
        let fault = by_code(code).unwrap();
        for (group, expected) in GROUPS.into_iter().zip(row) {
            assert_eq!(fault.weight(group, &[]), expected, "{code} {group:?}");
        }
    }
    for (i, group) in GROUPS.into_iter().enumerate() {
        let total: f64 = CATALOGUE.iter().filter(|f| f.place != Place::Kit).map(|f| f.weight(group, &[])).sum();
        assert_eq!(total, WEIGHTS.iter().map(|(_, row)| row[i]).sum::<f64>());
    }
    let weight = |code: &str, occasion| by_code(code).unwrap().weight(Group::LightDiesel, &[occasion]);
    assert_eq!(weight("F11", Occasion::Frost), 150.0);
    assert_eq!(weight("F12", Occasion::Heat), 12.0);
    assert_eq!(weight("F16", Occasion::SinceService), 210.0);
    assert_eq!(weight("M2", Occasion::SinceService), 60.0);
    assert_eq!(weight("F11", Occasion::Heat), 30.0);
}

#[test]
fn the_manual_tells_of_every_entry() {
    let text = manual();
    for f in CATALOGUE {
        assert!(text.contains(&format!("## {} {} (", f.code, f.name)), "{}", f.code);
        assert!(text.contains(f.about.said()) && text.contains(f.shows.said()), "{}", f.code);
    }
    assert!(text.contains("training values"));
    assert!(text.lines().all(|l| !l.ends_with(' ')), "a space at the end of a line");
}

/// Every number of a plant by its path, so that plants can be compared.
fn numbers(plant: &Plant, kit: &KitFaults) -> BTreeMap<String, f64> {
    fn walk(path: &str, value: &serde_json::Value, out: &mut BTreeMap<String, f64>) {
        use serde_json::Value as V;
        match value {
            V::Bool(b) => drop(out.insert(path.to_owned(), f64::from(u8::from(*b)))),
            V::Number(n) => drop(out.insert(path.to_owned(), n.as_f64().unwrap())),
            V::Array(list) => list.iter().enumerate().for_each(|(i, v)| walk(&format!("{path}.{i}"), v, out)),
            V::Object(map) => map.iter().for_each(|(k, v)| walk(&format!("{path}.{k}"), v, out)),
            V::Null | V::String(_) => {}
        }
    }
    let mut out = BTreeMap::new();
    for part in &plant.parts {
        walk(&part.name, &serde_json::to_value(part).unwrap(), &mut out);
    }
    for leak in &plant.leaks {
        *out.entry(format!("leak {}", leak.node)).or_insert(0.0) += leak.area.si();
    }
    out.insert("temperature".into(), plant.temperature.celsius());
    let fuel = plant.fuel.at(Temperature::from_celsius(20.0));
    for (name, value) in [
        ("density", fuel.density),
        ("viscosity", fuel.viscosity),
        ("vapour", fuel.vapour_pressure),
        // the size of an offset: its sign may be either
        ("kit offset", kit.offset_mbar.abs()),
        ("kit valve", kit.valve_short_of_open),
        ("kit air", kit.trapped_air_ml),
        ("kit steps", kit.steps_mbar),
        ("kit clips", kit.clips_at_mbar.unwrap_or(1e9)),
        ("kit side", f64::from(u8::from(kit.other_side))),
        ("kit hose", kit.hose_resistance),
        ("kit container", kit.container_up_m),
    ] {
        out.insert(name.into(), value);
    }
    out
}

fn with(plant: &Plant, faults: &[FaultInstance]) -> (Plant, KitFaults) {
    let mut sick = plant.clone();
    let kit = apply_all(&mut sick, faults).unwrap_or_else(|e| panic!("{}: {e}", plant.name));
    (sick, kit)
}

/// Places at which a fault is tried in a plant.
fn places(fault: &Fault, plant: &Plant) -> Vec<String> {
    match fault.place {
        Place::Kit | Place::Nowhere => vec![String::new()],
        _ => fault.places(plant),
    }
}

#[test]
fn every_fault_sits_somewhere_and_can_be_built_there() {
    let plants = test_plants::all();
    for fault in CATALOGUE {
        let mut somewhere = false;
        for (_, plant) in &plants {
            for at in places(fault, plant) {
                somewhere = true;
                for severity in [1.0, 3.0, 5.0] {
                    let (sick, _) = with(plant, &[FaultInstance::new(fault.code, &at, severity)]);
                    if let Err(e) = assemble(&sick, &Rig::default(), Detail::COARSE) {
                        panic!("{} at {at:?} of {}: {e}", fault.code, plant.name);
                    }
                }
            }
        }
        assert!(somewhere, "{} sits in none of the plants", fault.code);
    }
}

#[test]
fn parameters_move_one_way_with_severity() {
    // these only write down what the learner does, and one has nothing to change
    let unchanging = ["N3", "M5", "M7"];
    for fault in CATALOGUE {
        let mut moved = unchanging.contains(&fault.code);
        for (_, plant) in &test_plants::all() {
            for at in places(fault, plant) {
                let series: Vec<BTreeMap<String, f64>> = (0..=16)
                    .map(|i| {
                        let instance = FaultInstance::new(fault.code, &at, 1.0 + 0.25 * f64::from(i));
                        let (sick, kit) = with(plant, &[instance]);
                        numbers(&sick, &kit)
                    })
                    .collect();
                for key in series[0].keys() {
                    let values: Vec<f64> = series.iter().map(|s| s[key]).collect();
                    let steps: Vec<f64> = values.windows(2).map(|w| w[1] - w[0]).collect();
                    let up = steps.iter().all(|d| *d >= 0.0);
                    let down = steps.iter().all(|d| *d <= 0.0);
                    assert!(up || down, "{} at {at:?} of {}: {key} goes {values:?}", fault.code, plant.name);
                    moved |= steps.iter().all(|d| *d != 0.0);
                }
            }
        }
        assert!(moved, "{}: severity changes nothing", fault.code);
    }
}

#[test]
fn every_fault_has_a_place_on_the_archetypes_it_is_met_in() {
    let plants = test_plants::all();
    let mut missing = vec![];
    for fault in CATALOGUE {
        for archetype in fault.met_in {
            let mut of_it = plants.iter().filter(|(number, _)| number == archetype).peekable();
            let found = of_it.peek().is_none() || of_it.any(|(_, plant)| !places(fault, plant).is_empty());
            if !found {
                missing.push(format!("{} on A{archetype}", fault.code));
            }
        }
    }
    // these plants of ours have no such part, others of their kind do
    assert_eq!(missing, ["F03 on A9", "F13 on A10", "F25 on A7", "F25 on A9"]);
}

#[test]
fn the_order_of_faults_does_not_matter() {
    let van = test_plants::van();
    let list = [
        FaultInstance::new("F15", "filter", 2.5),
        FaultInstance::new("F05", "filter", 3.0),
        FaultInstance::new("F16", "filter", 2.0),
        FaultInstance::new("F09", "filter in", 1.5),
        FaultInstance::new("F09", "filter in", 2.5),
        FaultInstance::new("F03", "strainer", 3.0),
        FaultInstance::new("F06", "tank", 3.0),
        FaultInstance::new("N1", "engine", 2.0),
        FaultInstance::new("N2", "engine", 3.0),
        FaultInstance::new("M2", "", 2.0),
    ];
    let first = with(&van, &list);
    for turn in 1..list.len() {
        let mut other = list.to_vec();
        other.rotate_left(turn);
        other.swap(0, 3);
        assert_eq!(with(&van, &other), first);
    }
    let petrol = test_plants::petrol_return();
    let list = [
        FaultInstance::new("F17", "pump", 3.0),
        FaultInstance::new("F18", "pump/plug", 3.0),
        FaultInstance::new("F19", "pump", 2.0),
        FaultInstance::new("F23", "pump", 2.0),
    ];
    let back: Vec<FaultInstance> = list.iter().rev().cloned().collect();
    assert_eq!(with(&petrol, &list), with(&petrol, &back));
}

#[test]
fn faults_at_the_same_parameter_add_up() {
    let van = test_plants::van();
    let clogged = |faults: &[FaultInstance]| {
        let (sick, kit) = with(&van, faults);
        numbers(&sick, &kit)["filter.is.Filter.clogged"]
    };
    let (one, two) = (FaultInstance::new("F15", "", 3.0), FaultInstance::new("F05", "", 3.0));
    let both = clogged(&[one.clone(), two.clone()]);
    assert!(both > clogged(&[one]) && both > clogged(&[two]));
    let petrol = test_plants::petrol_return();
    let ohms = |at: &str| {
        let (sick, kit) = with(&petrol, &[FaultInstance::new("F18", at, 3.0)]);
        let all = numbers(&sick, &kit);
        ["feed.0", "feed.1", "earth.0"].map(|j| all[&format!("pump.is.ElectricPump.{j}.ohm.ohm")])
    };
    assert_eq!(ohms("pump/earth strap"), [0.04, 0.04, 0.29]);
    assert_eq!(ohms("pump"), [0.04, 0.29, 0.04], "the last joint before the motor");
}

#[test]
fn wrong_places_are_told_in_words() {
    let mut van = test_plants::van();
    let mut told = |code: &str, at: &str, severity: f64| {
        apply_all(&mut van, &[FaultInstance::new(code, at, severity)]).unwrap_err()
    };
    assert!(told("F17", "", 3.0).contains("no ElectricPump for F17"));
    assert!(told("F07", "", 3.0).contains("say which"));
    assert!(told("F15", "strainer", 3.0).contains("it can at filter"));
    assert!(told("F15", "filter", 5.5).contains("outside 1 … 5"));
    assert!(told("M2", "filter", 2.0).contains("kit"));
    assert!(told("N3", "engine", 1.0).contains("nowhere"));
    assert!(told("F99", "", 1.0).contains("no fault has the code F99"));
    let mut petrol = test_plants::petrol_return();
    let error = apply_all(&mut petrol, &[FaultInstance::new("F18", "pump/strap", 2.0)]).unwrap_err();
    assert!(error.contains("pump/earth strap"), "{error}");
}

#[test]
fn derivatives_hold_with_a_crack_and_a_limited_engine() {
    let mut van = test_plants::van();
    if let Component::Tank(tank) = &mut van.part_mut("tank").unwrap().is {
        // the level stands at the crack
        tank.fill = Volume::from_si(0.5 * tank.capacity.si());
    }
    apply_all(&mut van, &[FaultInstance::new("F04", "tank", 4.0), FaultInstance::new("N1", "engine", 3.0)])
        .unwrap();
    let tee = TeeFitting { joint: "pump in".into(), hose_air: 0.0, valve_reach: 1.0 };
    physics::check_jacobian(&van, &Rig { tee: Some(tee), container: None });
}

#[test]
fn a_plugged_filter_drops_what_its_severity_says_at_its_rated_flow() {
    let van = test_plants::van();
    let drop = |plant: &Plant| {
        let Component::Filter(f) = &plant.part("filter").unwrap().is else { panic!("no filter") };
        let (a, b) = f.new.coefficients();
        let (q, open) = (f.new.at.si() * 1e6, 1.0 - f.clogged);
        (a * q / (open * open * open) + b * q * q / (open * open * open * open)) / 100.0
    };
    for (severity, extra) in [(1.0, 30.0), (2.0, 80.0), (3.0, 200.0), (4.0, 350.0)] {
        let (sick, _) = with(&van, &[FaultInstance::new("F15", "filter", severity)]);
        let found = drop(&sick) - drop(&van);
        // at the raised speed the van draws less than the rated flow, and a starved pump less again
        assert!((found - extra).abs() < 1.0, "severity {severity}: {found} mbar");
    }
}
