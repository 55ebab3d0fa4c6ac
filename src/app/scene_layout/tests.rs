//! Every vehicle, and one that nobody has thought of, draws itself: nothing lies on anything else.

use super::*;
use crate::language::{Language, within};
use crate::plant::Node;
use crate::scenario::{Kind, Library, load_plant};

fn built_in() -> Vec<Plant> {
    let library = Library::builtin();
    library.names(Kind::Plant).iter().map(|name| load_plant(&library, name).expect("a built-in plant").0).collect()
}

/// The truck with a stranger's wish for parts: filters, valves, lines and narrowings until there are forty, a relief
/// back to the tank among them.
fn forty_parts() -> Plant {
    let mut plant = load_plant(&Library::builtin(), "a7-truck").expect("a built-in plant").0;
    let model = |plant: &Plant, kind: &str| {
        plant.parts.iter().find(|p| p.is.kind() == kind).expect("the truck has one").clone()
    };
    let kinds = ["Filter", "Line", "Restriction", "NonReturnValve", "Line"];
    let last = plant.parts.iter().position(|p| p.name == "gallery line").expect("the truck's last line");
    let mut from = plant.parts[last].is.ends()[0].to_owned();
    let pattern = plant.node(&from).expect("a node").clone();
    let mut k = 0;
    while plant.parts.len() < 40 {
        let to = format!("extra {k}");
        if k != 11 {
            plant.nodes.push(Node {
                name: to.clone(),
                joint: (k % 3 == 0).then(|| format!("extra joint {k}")),
                ..pattern.clone()
            });
        }
        let mut part = model(&plant, if k == 11 { "Relief" } else { kinds[k % kinds.len()] });
        part.name = format!("{} number {k}", part.name);
        let (a, b) = if k == 11 { (from.clone(), "tank".to_owned()) } else { (from.clone(), to.clone()) };
        match &mut part.is {
            Component::Filter(c) => (c.from, c.to) = (a, b),
            Component::Line(c) => (c.from, c.to) = (a, b),
            Component::Restriction(c) => (c.from, c.to) = (a, b),
            Component::NonReturnValve(c) => (c.from, c.to) = (a, b),
            Component::Relief(c) => (c.from, c.to) = (a, b),
            _ => unreachable!("none of the kinds above"),
        }
        plant.parts.push(part);
        if k != 11 {
            from = to;
        }
        k += 1;
    }
    if let Component::Line(line) = &mut plant.parts[last].is {
        line.from = from;
    }
    plant
}

fn overlap(a: Field, b: Field) -> bool {
    const TOUCHES: f32 = 0.5;
    a.0 + TOUCHES < b.2 && b.0 + TOUCHES < a.2 && a.1 + TOUCHES < b.3 && b.1 + TOUCHES < a.3
}

/// Symbols, joints and labels with their names.
fn fields(layout: &Layout) -> Vec<(String, Field)> {
    let symbols = layout.parts.iter().filter(|p| p.kind != "Tank").map(|p| (p.name.clone(), p.symbol()));
    let labels = layout.parts.iter().filter_map(|p| Some((format!("label of {}", p.name), p.label_field()?)));
    let joints = layout.joints.iter().map(|j| (format!("joint {}", j.name), around(j.at, 6.0, 6.0)));
    symbols.chain(labels).chain(joints).collect()
}

#[test]
fn nothing_lies_on_anything_else_and_everything_is_in_the_frame() {
    for language in Language::ALL {
        within(language, nothing_lies_on_anything_else);
    }
}

fn nothing_lies_on_anything_else() {
    let mut plants = built_in();
    plants.push(forty_parts());
    for plant in plants {
        let joints = plant.joints();
        let layout = lay_out(&plant, &joints);
        let name = if plant.parts.len() >= 40 { "forty parts" } else { &plant.name };
        assert_eq!(layout.parts.len(), plant.parts.len(), "{name}: every part is drawn once");
        assert_eq!(layout.joints.len(), joints.len(), "{name}: every joint is drawn once");
        let all = fields(&layout);
        for (i, (what, a)) in all.iter().enumerate() {
            let inside = a.0 >= 0.0 && a.1 >= 0.0 && a.2 <= layout.size.0 && a.3 <= layout.size.1;
            assert!(inside, "{name}: {what} at {a:?} in {:?}", layout.size);
            for (other, b) in &all[i + 1..] {
                assert!(!overlap(*a, *b), "{name}: {what} {a:?} lies on {other} {b:?}");
            }
        }
        for pipe in &layout.pipes {
            let inside = |p: &Spot| p.0 >= 0.0 && p.0 <= layout.size.0 && p.1 >= 0.0 && p.1 <= layout.size.1;
            assert!(pipe.points.iter().all(inside), "{name}: {:?}", pipe.points);
            // drawn square
            assert!(
                pipe.points.windows(2).all(|w| w[0].0 == w[1].0 || w[0].1 == w[1].1),
                "{name}: {:?}",
                pipe.points
            );
        }
    }
}

#[test]
fn the_built_in_vehicles_fit_without_shrinking_their_letters_much() {
    for plant in built_in() {
        // words of other languages are longer
        for (language, wide) in Language::ALL.map(|l| (l, if l == Language::English { 1.14 } else { 1.17 })) {
            let size = within(language, || lay_out(&plant, &plant.joints()).size);
            assert!(size.0 <= SIZE.0 * wide && size.1 <= SIZE.1 * 1.2, "{}, {language:?}: {size:?}", plant.name);
        }
    }
}

#[test]
fn the_main_way_runs_to_the_engine() {
    for plant in built_in() {
        let layout = lay_out(&plant, &plant.joints());
        let engine = layout.parts.iter().find(|p| p.kind == "Engine").expect("an engine");
        let ends: Vec<Spot> = layout
            .pipes
            .iter()
            .filter(|p| p.carries == Carries::Feed)
            .map(|p| p.points[p.points.len() - 1])
            .collect();
        assert_eq!(ends.last(), Some(&engine.at), "{}", plant.name);
    }
}

#[test]
fn a_long_way_is_folded() {
    let plant = forty_parts();
    let layout = lay_out(&plant, &plant.joints());
    assert!(layout.size.1 > SIZE.1 + 90.0, "{:?}", layout.size);
    assert!(layout.size.0 < SIZE.0 * 1.2, "{:?}", layout.size);
}

#[test]
fn names_break_where_both_lines_are_short() {
    assert_eq!(in_two("non-return valve"), ["non-return", "valve"]);
    assert_eq!(in_two("filter"), ["filter"]);
    assert_eq!(in_two("a very long name"), ["a very", "long name"]);
    assert_eq!(in_two("undifferentiated"), ["undifferentiated"]);
    within(Language::German, || {
        assert_eq!(in_two("Kraftstoffpumpe"), ["Kraftstoff-", "pumpe"]);
        assert_eq!(in_two("Rückschlagventil"), ["Rückschlag-", "ventil"]);
        assert_eq!(in_two("Ansaugsieb"), ["Ansaug-", "sieb"]);
        assert_eq!(in_two("Filterausgang"), ["Filterausgang"]);
    });
}

#[test]
fn the_tag_of_a_joint_lies_on_no_name_and_no_symbol() {
    let mut plants = built_in();
    plants.push(forty_parts());
    for plant in plants {
        let layout = lay_out(&plant, &plant.joints());
        for joint in &layout.joints {
            let size = (7.0 * ("tee: ".len() + joint.label.chars().count()) as f32 + 12.0, 21.0);
            let at = layout.tag_at(joint, size, &[]);
            let tag = around(at, size.0 / 2.0, size.1 / 2.0);
            assert!(
                tag.0 >= 0.0 && tag.2 <= layout.size.0 && tag.3 <= layout.size.1,
                "{}: {}",
                plant.name,
                joint.name
            );
            for (what, field) in fields(&layout) {
                let line = layout.parts.iter().any(|p| p.kind == "Line" && p.name == what);
                assert!(line || !overlap(tag, field), "{}: tag of {} lies on {what}", plant.name, joint.name);
            }
        }
    }
}

#[test]
fn the_tag_of_a_joint_lies_on_no_kit_that_hangs_there() {
    for plant in built_in() {
        let layout = lay_out(&plant, &plant.joints());
        for joint in &layout.joints {
            let size = (7.0 * joint.label.chars().count() as f32 + 12.0, 21.0);
            for kit in [container_field(joint.at), second_field(joint.at)] {
                let at = layout.tag_at(joint, size, &[kit]);
                let tag = around(at, size.0 / 2.0, size.1 / 2.0);
                assert!(!overlap(tag, kit), "{}: tag of {} lies on {kit:?}", plant.name, joint.name);
            }
        }
    }
}

#[test]
fn a_plant_in_the_making_is_drawn_whatever_is_wrong_with_it() {
    use crate::scenario::patch::{Edit, edit_all};
    use crate::scenario::vehicle_form::plant_form;
    use crate::scenario::{Kind, Library, drawable, plumbing};
    let library = Library::builtin();
    let mut drawn = 0;
    for name in library.names(Kind::Plant) {
        let text = library.text(Kind::Plant, &name).unwrap();
        let form = plant_form(text).unwrap();
        let mut changes: Vec<Vec<Edit>> = vec![];
        for i in 0..form.parts.len() {
            changes.extend([
                plumbing::remove(&form, i, false),
                plumbing::remove(&form, i, true),
                plumbing::turn(&form, i),
            ]);
            // an end that leads nowhere, and one that leads to itself
            let (field, node) = &form.parts[i].ends[0];
            changes.push(vec![Edit::text(format!("parts[{i}].is.{field}"), "nowhere")]);
            if let Some((other, _)) = form.parts[i].ends.get(1) {
                changes.push(vec![Edit::text(format!("parts[{i}].is.{other}"), node)]);
            }
            // a loop
            let last = form.nodes.last().map_or("", |n| n.name.as_str());
            changes.push(vec![Edit::text(format!("parts[{i}].is.{field}"), last)]);
        }
        changes.push(
            (0..form.parts.len())
                .rev()
                .map(|i| Edit::remove(format!("parts[{i}]")))
                .take(form.parts.len() - 1)
                .collect(),
        );
        changes.push(vec![Edit::set("nodes", "[]")]);
        changes.push(plumbing::add_node(&form));
        for edits in changes {
            let changed = edit_all(text, &edits).unwrap();
            let Some(plant) = drawable(&name, &changed) else { continue };
            let nodes: Vec<(String, String)> =
                plant.nodes.iter().map(|n| (n.name.clone(), n.name.clone())).collect();
            let layout = lay_out(&plant, &nodes);
            drawn += 1;
            assert!(layout.size.0 >= SIZE.0 && layout.size.1.is_finite(), "{name}: {edits:?}");
        }
    }
    assert!(drawn > 300, "{drawn} were drawn only");
}

#[test]
fn a_vehicle_of_forty_parts_is_sat_like_any_other() {
    use crate::app::scene::SceneView;
    use crate::attempt::Sitting;
    use crate::bay::action::{Action, Key, SECOND, SafetyStep};
    use crate::bay::observation::Answer;
    let mut job = crate::scenario::load_job(&Library::builtin(), "nothing-wrong").expect("a built-in job").0;
    job.plant = forty_parts();
    job.joints = job.plant.joints();
    let joint =
        job.joints.iter().find(|(name, _)| name.starts_with("extra")).expect("a stranger's joint").0.clone();
    let mut sitting = Sitting::begin(job.clone(), 7, None).expect("it can be built");
    for action in [
        Action::MakeSafe { step: SafetyStep::PressureAway },
        Action::FitTee { joint, new_seals: true },
        Action::Purge,
        Action::Key { to: Key::On },
        Action::Crank { secs: 8.0 },
        Action::Wait { secs: 30.0 },
    ] {
        let answer = sitting.act(&action);
        assert!(matches!(answer, Answer::Done { .. }), "{action:?}: {answer:?}");
    }
    let seen = sitting.observe();
    assert!(sitting.now() > 38 * SECOND && seen.gauge.is_some_and(|g| g.mbar.is_finite()), "{:?}", seen.gauge);
    assert!(sitting.trace().mbar.iter().filter(|p| p.is_finite()).count() > 1000, "the pen draws");
    let view = SceneView::of(&job, &seen, None, None);
    assert_eq!(view.layout.parts.len(), 40);
    assert!(view.tee.is_some() && view.words().iter().any(|w| w.contains("extra joint")), "{:?}", view.words());
}
