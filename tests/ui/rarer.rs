//! Fields that few jobs have are filled in forms, too: signs of a trap, stored codes, what may vary, a pump's circuit,
//! the rarer fields of a mark scheme. Remarks stay, and each change can be taken back to the byte.

use bevy_egui::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use faultbay::language::{Language, named, said, within};
use faultbay::scenario::picture::EXAMPLE;
use faultbay::tell;

use crate::editor::Desktop;

#[test]
fn signs_of_a_trap_are_picked_and_go_along_with_it() {
    let mut d = Desktop::writing("snares", "Signs of a trap");
    d.section("Goals, hints, traps");
    let first = d.text().to_owned();
    d.press("How it is known that somebody stepped into it: not said");
    d.press("Say how it is known, for trap 1");
    d.pick("trap 1: The finding names", "Transfer pump worn");
    d.pick("trap 1: or one of these parts", "filter with hand primer");
    d.pick("trap 1: or one of these states", "hold");
    d.pick("trap 1: or a rule", "The starter was used for more than fifteen seconds without a rest");
    let signs = "named: [\"worn-pump\"], replaced: [\"filter\"], unread: [\"hold\"], broken: [\"long-crank\"]";
    assert!(d.text().contains(&format!("snares: [\n        (trap: 1, {signs}),\n    ],")), "{}", d.text());
    assert!(d.editor().proof.errors() == 0, "{:?}", d.editor().proof.findings);
    // a second trap before it: the signs stay with theirs
    d.press("Add a trap");
    d.fill("trap 2", "It runs well when it is cold");
    d.press("Move trap 1 down");
    assert!(d.text().contains(&format!("(trap: 2, {signs})")), "{}", d.text());
    d.press("Take out: hold");
    assert!(!d.text().contains("unread"), "{}", d.text());
    // the trap goes with its signs, the remark about them stays
    d.press("Remove trap 2");
    assert!(!d.text().contains("\n    snares:") && d.text().contains("// snares: [(trap: 1"), "{}", d.text());
    for _ in 0..40 {
        d.key(Modifiers::COMMAND, Key::Z);
    }
    assert_eq!(d.text(), first);
}

#[test]
fn codes_and_the_vehicle_for_everybody_are_filled_in() {
    let mut d = Desktop::writing("codes", "Stored codes");
    d.press("Vehicle and day");
    d.press("Add a stored code");
    d.fill("speed of the engine at code 1, 1/min", "2900");
    d.press("Add a stored code");
    let codes =
        "codes: [\n        (number: \"P0087\", rpm: 2900),\n        (number: \"P0088\", rpm: 2400),\n    ],";
    assert!(d.text().contains(codes), "{}", d.text());
    d.press("Remove stored code 2");
    assert!(!d.text().contains("P0088"), "{}", d.text());
    d.fill("number of the vehicle", "7");
    let job = d.editor().proof.job.as_ref().unwrap_or_else(|| panic!("{:?}", d.editor().proof.findings));
    assert_eq!((&job.codes[..], job.vehicle), (&[("P0087".to_owned(), 2900.0)][..], Some(7)));
    d.fill("speed of the engine at code 1, 1/min", "-3");
    assert!(d.editor().proof.job.is_none() && d.shows("It can't be used yet"));
}

#[test]
fn what_may_vary_is_bounded_and_checked() {
    let mut d = Desktop::writing("varies", "Variants");
    let first = d.text().to_owned();
    d.press("Variants");
    d.press("Say what may differ");
    d.fill("how far the hidden severity may move", "0.3");
    d.press("Say how cold and how warm it may be");
    d.fill("from, fuel and air, °C", "15");
    d.press("Say how much fuel there may be");
    d.press("distances in km may differ, together, by a tenth");
    d.press("Add words that may differ");
    d.fill("words 1 as they stand in the papers", "van 1");
    d.fill("wording for words 1 1", "van 8");
    let bounds = "severity: 0.3, temperature: (degC(15), degC(22)), fill: (l(38), l(42)), mileage: false";
    let words = "words: [(instead_of: \"van 1\", one_of: [\"van 8\"])]";
    assert!(d.text().contains(&format!("varies: ({bounds}, {words})")), "{}", d.text());
    assert!(d.editor().proof.errors() == 0, "{:?}", d.editor().proof.findings);
    // words that stand nowhere are told at their field
    d.fill("words 1 as they stand in the papers", "lorry");
    assert!(d.shows("These words stand nowhere in the job's papers"), "{:?}", d.editor().proof.findings);
    // the warmer one below the colder
    d.fill("to, fuel and air, °C", "10");
    assert!(d.shows("The colder temperature comes second"), "{:?}", d.editor().proof.findings);
    d.press("Leave it to the usual bounds");
    assert_eq!(d.text(), first);
}

#[test]
fn the_circuit_of_a_pump_is_put_together_in_a_form() {
    let mut d = Desktop::new("circuit");
    d.press("Write a job");
    d.press("what is written: vehicle");
    d.press("Copy the vehicle: Generating set, 60 kW diesel, bulk tank 900 l and day tank 100 l");
    let first = d.text().to_owned();
    d.press("Parts");
    d.press("Part: transfer pump");
    let feed = "from the battery's plus to the motor";
    d.fill(&format!("resistance 2 in mΩ, {feed}"), "80");
    assert!(d.text().contains("(name: \"float switch\", ohm: mohm(80))"), "{}", d.text());
    d.press(&format!("Add a joint ({feed})"));
    d.fill(&format!("measuring point 4, {feed}"), "spade terminal");
    assert!(d.text().contains("                (name: \"spade terminal\", ohm: mohm(20)),"), "{}", d.text());
    assert!(d.editor().proof.plant.is_some(), "{:?}", d.editor().proof.findings);
    // a fault can sit at it now
    let plant = d.editor().proof.plant.clone().unwrap();
    let places = faultbay::fault::by_code("F18").unwrap().places(&plant);
    assert!(places.contains(&"transfer pump/spade terminal".to_owned()), "{places:?}");
    // two of one name can't be told apart
    d.fill(&format!("measuring point 4, {feed}"), "fuse");
    assert!(d.editor().proof.plant.is_none(), "two measuring points of one name pass");
    for _ in 0..20 {
        d.key(Modifiers::COMMAND, Key::Z);
    }
    assert_eq!(d.text(), first);
}

#[test]
fn the_rarer_fields_of_a_scheme_are_filled_in() {
    let mut d = Desktop::new("scheme");
    d.press("Write a job");
    d.press("what is written: mark scheme");
    d.fill("title of the new mark scheme", "Third term");
    d.press("Begin with a blank page");
    d.fill("field: allowed error of a written reading, mbar", "12");
    d.press("Rarer fields");
    d.fill("field: belief at which enough is known, 0.5 to 0.99; it sets the par time", "0.8");
    d.fill("points that a hint of level 2 takes", "3");
    d.press("asking the customer");
    d.press("readings taken after a part was changed may bear the finding");
    let rubric = d.editor().proof.rubric.clone().unwrap_or_else(|| panic!("{:?}", d.editor().proof.findings));
    assert_eq!((rubric.reading_tolerance_mbar, rubric.enough_belief), (12.0, 0.8));
    assert_eq!((rubric.hints, rubric.parts_as_evidence), ([1.0, 3.0, 4.0], true));
    assert_eq!(rubric.preliminaries.len(), 1);
    assert!(d.text().contains("// how far a written reading may lie from the gauge"), "{}", d.text());
    // a job's own scheme has the same fields, and its own text is what changes
    d.press("Save, Ctrl S");
    d.press("Close the editor");
    d.press("Write a job");
    d.press("what is written: job");
    d.fill("title of the new job", "With a scheme");
    d.press("Begin with a blank page");
    d.press("Mark scheme");
    d.press("Give this job its own scheme");
    let job = d.text().to_owned();
    d.fill("field: allowed error of a written reading, mbar", "20");
    assert_eq!(d.text(), job);
    assert_eq!(d.editor().proof.job.as_ref().map(|j| j.rubric.reading_tolerance_mbar), Some(20.0));
}

#[test]
fn a_picture_comes_onto_the_card_with_the_same_in_words() {
    let mut d = Desktop::writing("picture", "With a picture");
    let folder = d.folder.join("own/pictures");
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("grey.png"), EXAMPLE).unwrap();
    std::fs::write(folder.join("odd.png"), b"GIF89a").unwrap();
    d.press("Look for pictures again");
    assert!(d.shows("odd.png: it isn't a PNG file"), "{:?}", d.editor().note);
    std::fs::remove_file(folder.join("odd.png")).unwrap();
    d.press("Look for pictures again");
    assert!(d.shows("One picture is there."), "{:?}", d.editor().note);
    d.press("Add a picture");
    // without words it isn't taken, and a word is none
    assert!(d.editor().proof.job.is_none());
    d.fill("what picture 1 shows, in words", "Filter");
    assert!(d.editor().proof.job.is_none() && d.shows("This says too little of what the picture shows"));
    d.fill("what picture 1 shows, in words", "A filter housing, grey and dry.");
    assert!(d.editor().proof.job.is_some(), "{:?}", d.editor().proof.findings);
    d.press("Save it and sit it now, F6");
    assert!(d.shows("With a picture") && d.shows("A filter housing, grey and dry."));
    let sitting = d.window.state().sitting.as_ref().expect("a sitting");
    assert_eq!(sitting.session.job().pictures.len(), 1);
}

/// What is written must not hang on the language that is spoken.
#[test]
fn a_card_is_filled_in_in_german_too() {
    within(Language::German, || {
        let mut d = Desktop::new("german");
        d.press(said("edit-title"));
        let word = said("setting-vehicle-row");
        d.press(&format!("{}: {word}", said("start-what")));
        let title = "Light van, 2.2 l diesel, suction supply, tank 70 l";
        d.press(&tell!("start-verb", verb = said("start-copy"), word = word, title = title));
        let before = d.text().matches("(joint: ").count();
        d.press(said("vehicle-card"));
        d.press(said("limits-add"));
        assert_eq!(d.text().matches("(joint: ").count(), before + 1, "{}", d.text());
    });
}

/// What the preview shows is said in the language spoken: states, glass and how the engine runs.
#[test]
fn what_a_fault_shows_is_told_in_german_too() {
    within(Language::German, || {
        let mut d = Desktop::new("german-preview");
        d.press(said("edit-title"));
        d.fill(&tell!("start-title-of-kind", kind = said("text-job")), "Zieht nicht");
        d.press(said("start-begin-name"));
        d.press(said("pane-preview"));
        d.wait();
        assert!(d.editor().preview.shown.is_some());
        for (english, german) in [("idle", named("idle")), ("raised", named("raised")), ("clear", named("clear"))] {
            assert_ne!(english, german);
            assert!(d.shows(german), "{german}");
            assert!(d.window.query_all_by_label(english).next().is_none(), "{english}");
        }
    });
}

/// That fuel is dyed stands in a field of a list that the file may leave out.
#[test]
fn dyed_fuel_is_ticked_and_taken_back_to_the_byte() {
    let mut d = Desktop::new("dyed");
    d.press("Write a job");
    d.press("what is written: vehicle");
    d.press("Copy the vehicle: Light van, 2.2 l diesel, suction supply, tank 70 l");
    let (first, dyed) = (d.text().to_owned(), said("machine-dyed"));
    d.press(dyed);
    assert!(d.text().contains("dyed: true"), "{}", d.text());
    assert!(d.editor().proof.plant.as_ref().is_some_and(|p| p.service.dyed), "{:?}", d.editor().proof.findings);
    d.press(dyed);
    assert!(d.text().contains("dyed: false"), "{}", d.text());
    for _ in 0..2 {
        d.key(Modifiers::COMMAND, Key::Z);
    }
    assert_eq!(d.text(), first);
}
