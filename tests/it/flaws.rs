//! What `assemble` refuses and why: graphs that are no plant, numbers that no part can have, fittings that have no
//! place. The check of scenario files asks the same search (`scenario_files.rs` has its places in the text).

use faultbay::plant::assemble::{Detail, Rig, TeeFitting, assemble};
use faultbay::plant::component::Component;
use faultbay::plant::flaw::{Flaw, Unfit, flaws};
use faultbay::plant::{Leak, Plant};
use faultbay::units::{Area, Length, Temperature};

use crate::small::{DIESEL, ENGINE, plant};
use crate::test_plants;

const NODES: &str = r#"(name: "tank", height: m(0)), (name: "inlet", height: m(0), volume: ml(20), joint: "inlet"),
    (name: "gallery", height: m(0)),"#;
const TANK: &str = r#"(name: "tank", label: "", is: Tank(outlet: "tank", capacity: l(60), fill: l(30), area: m2(0.2),
    pickup: mm(10), vent: l_per_min(30))),"#;
const LINE: &str = r#"(name: "line", label: "", is: Line(from: "tank", to: "inlet", length: m(3), bore: mm(8),
    wall: per_Pa(4e-9))),"#;

fn gear(name: &str, from: &str, to: &str) -> String {
    format!(
        r#"(name: "{name}", label: "", is: GearPump(from: "{from}", to: "{to}", displacement: ml_per_turn(1), slip: 3e-6,
        slip_at_rest: 4e-12, filling: mbar(360), filling_with_speed: mbar(4))),"#
    )
}

/// Tank, line, pump, engine: nothing is wrong with it.
fn sound() -> String {
    [TANK, LINE, &gear("pump", "inlet", "gallery"), ENGINE].concat()
}

fn built(plant: &Plant) -> Result<(), Flaw> {
    assemble(plant, &Rig::default(), Detail::FULL).map(drop)
}

fn refused(nodes: &str, parts: &str) -> Flaw {
    built(&plant(DIESEL, nodes, parts)).expect_err(parts)
}

#[test]
fn legal_graphs_are_built() {
    let benches = [
        (NODES.to_owned(), sound()),
        // an engine that stands by: a bench of tank and pipe, whose end is blank
        (NODES.to_owned(), [TANK, LINE, ENGINE].concat()),
        // two pumps into one gallery, which the engine draws from
        (NODES.to_owned(), sound() + &gear("second", "inlet", "gallery")),
    ];
    for (nodes, parts) in benches {
        built(&plant(DIESEL, &nodes, &parts)).unwrap_or_else(|flaw| panic!("{flaw}: {parts}"));
    }
    for (_, plant) in test_plants::all() {
        assert_eq!(flaws(&plant.nodes, &plant.parts), [], "{}", plant.name);
    }
}

#[test]
fn a_graph_that_is_no_plant_is_refused_with_the_reason() {
    let with = |node: &str, part: &str| refused(&format!("{NODES}{node}"), &(sound() + part));
    let pipe = |name: &str, from: &str, to: &str| {
        format!(
            r#"(name: "{name}", label: "", is: Line(from: "{from}", to: "{to}", length: m(3), bore: mm(8),
            wall: per_Pa(4e-9))),"#
        )
    };
    let a = r#"(name: "a", height: m(0), volume: ml(10)),"#;
    let ab = format!(r#"{a}(name: "b", height: m(0), volume: ml(10)),"#);
    let cases: Vec<(Flaw, &str)> = vec![
        (with(a, ""), "no part is joined to the node \"a\""),
        (with(&ab, &pipe("loose", "a", "b")), "no part joins the node \"a\" to a tank"),
        (with(a, &pipe("stub", "inlet", "nowhere")), "\"stub\": no node is called \"nowhere\" (\"to\")"),
        (with("", &pipe("round", "inlet", "inlet")), "\"round\" begins and ends at \"inlet\""),
        (with(r#"(name: "inlet", height: m(0)),"#, ""), "two nodes are called \"inlet\""),
        (with(a, &pipe("line", "inlet", "a")), "two parts are called \"line\""),
        (with(r#"(name: "test tee", height: m(0)),"#, ""), "the name \"test tee\" belongs to the test kit"),
        (with("", &TANK.replace("\"tank\", label", "\"twin\", label")), "\"tank\" and \"twin\" have one outlet"),
        (with("", &gear("straight", "tank", "gallery")), "can't draw straight from an open tank"),
        (with("", &gear("back", "inlet", "tank")), "can't deliver straight into an open tank"),
        // pumps that push against each other into a space that nothing leaves, and two with nothing between
        (
            with(a, &(gear("one", "inlet", "a") + &gear("other", "gallery", "a"))),
            "\"one\" and \"other\" push against each other",
        ),
        (
            with(
                r#"(name: "a", height: m(0), volume: ml(1)),"#,
                &(gear("one", "inlet", "a") + &gear("two", "a", "gallery")),
            ),
            "between \"one\" and \"two\" there are 1 ml",
        ),
        (refused(NODES, &[LINE, &gear("pump", "inlet", "gallery"), ENGINE].concat()), "the plant has no tank"),
        (refused(NODES, &[TANK, LINE, &gear("pump", "inlet", "gallery")].concat()), "the plant has no engine"),
        (with("", &ENGINE.replace("\"engine\"", "\"more\"")), "more than one engine: \"more\", after \"engine\""),
        (
            refused(
                NODES,
                &sound().replace("gallery: \"gallery\",", "gallery: \"gallery\", returns_to: \"gallery\","),
            ),
            "the engine would send its fuel back to where it comes from",
        ),
        (
            refused(NODES, &sound().replace("pickup: mm(10),", "pickup: mm(10), overflows_to: \"inlet\",")),
            "\"overflows_to\" must name a tank's outlet",
        ),
        (
            refused(NODES, &sound().replace("pickup: mm(10),", "pickup: mm(10), overflows_to: \"tank\",")),
            "\"tank\" would run over into itself",
        ),
    ];
    for (flaw, words) in cases {
        assert!(flaw.to_string().contains(words), "{flaw:?} says \"{flaw}\", not \"{words}\"");
    }
    let jet = with(
        a,
        r#"(name: "jet", label: "", is: JetPump(from: "gallery", to: "a", ratio: 2, nozzle: (drop: bar(3), at: ml_per_s(5), laminar: 0.1))),"#,
    );
    assert!(matches!(jet, Flaw::UnfitEnd { unfit: Unfit::JetWithoutPot, .. }), "{jet}");
}

#[test]
fn every_flaw_is_found_and_not_only_the_first() {
    let nodes = format!(r#"{NODES}(name: "a", height: m(0)), (name: "b", height: m(0)),"#);
    let plant = plant(DIESEL, &nodes, &[TANK, LINE].concat());
    let found = flaws(&plant.nodes, &plant.parts);
    assert_eq!(found.iter().filter(|f| matches!(f, Flaw::Floating(_))).count(), 3, "{found:?}");
    assert!(found.contains(&Flaw::NoEngine), "{found:?}");
}

#[test]
fn a_number_that_no_part_can_have_is_refused() {
    let sound = || plant(DIESEL, NODES, &sound());
    let line = |change: fn(&mut faultbay::plant::component::Line)| {
        let mut p = sound();
        let Component::Line(line) = &mut p.part_mut("line").unwrap().is else { panic!() };
        change(line);
        built(&p).unwrap_err().to_string()
    };
    assert_eq!(line(|l| l.bore = Length::from_si(0.0)), "line: the bore can't be 0");
    assert_eq!(line(|l| l.length = Length::from_si(-2.0)), "line: the length can't be -2");
    assert_eq!(line(|l| l.fittings = f64::NAN), "line: the loss factor can't be NaN");
    // what lies outside of what vehicles have is not refused: a check of the equations may want it
    let mut long = sound();
    let Component::Line(pipe) = &mut long.part_mut("line").unwrap().is else { panic!() };
    (pipe.length, pipe.damping) = (Length::from_si(5000.0), 0.0);
    built(&long).unwrap();
    let of = |change: fn(&mut Plant)| {
        let mut p = sound();
        change(&mut p);
        built(&p).unwrap_err().to_string()
    };
    let hole = |along: f64, mm2: f64| Leak { node: "inlet".into(), along, area: Area::from_si(mm2 * 1e-6) };
    assert_eq!(
        of(|p| p.temperature = Temperature::from_celsius(f64::INFINITY)),
        "the plant: the temperature can't be inf"
    );
    assert!(
        of(|p| p.fuel = faultbay::plant::Filling::Fixed(faultbay::fluid::Fuel { density: 0.0, ..DIESEL }))
            .contains("the fuel: the density can't be 0")
    );
    let mut holed = sound();
    for (leak, words) in [(hole(1.5, 0.1), "along"), (hole(0.5, -1.0), "area"), (hole(0.5, f64::NAN), "area")] {
        holed.leaks = vec![leak];
        assert!(built(&holed).unwrap_err().to_string().contains(words));
    }
    let mut brimmed = sound();
    let Component::Tank(tank) = &mut brimmed.part_mut("tank").unwrap().is else { panic!() };
    tank.fill = faultbay::units::Volume::from_si(0.061);
    assert_eq!(built(&brimmed).unwrap_err().to_string(), "tank: the fuel in it can't be 61");
}

#[test]
fn what_has_no_place_is_not_fitted() {
    let sound = plant(DIESEL, NODES, &sound());
    let tee = |joint: &str| Rig {
        tee: Some(TeeFitting { joint: joint.into(), hose_air: 0.0, valve_reach: 1.0 }),
        container: None,
    };
    let fit = |rig: &Rig| assemble(&sound, rig, Detail::FULL).map(drop);
    assert_eq!(fit(&tee("inlet")), Ok(()));
    assert_eq!(fit(&tee("gallery")), Err(Flaw::NotAJoint("gallery".into())));
    assert_eq!(fit(&tee("outlet")), Err(Flaw::NoJoint("outlet".into())));
    assert_eq!(fit(&Rig { tee: None, container: Some("tank".into()) }), Err(Flaw::NotAJoint("tank".into())));
    let holed = |node: &str| {
        let mut p = sound.clone();
        p.leaks = vec![Leak { node: node.into(), along: 0.5, area: Area::from_si(1e-8) }];
        built(&p)
    };
    assert_eq!(holed("inlet"), Ok(()));
    assert_eq!(holed("tank"), Err(Flaw::HoleInTheOpen("tank".into())));
    assert_eq!(holed("elsewhere"), Err(Flaw::HoleNowhere("elsewhere".into())));
}
