//! What an author with a terminal begins with: a file of each kind, a job on any vehicle, the names they need for it, and
//! what the hidden fault shows.

use faultbay::scenario::{Kind, Library};

use crate::shell::Folder;

#[test]
fn a_job_begins_on_any_vehicle_and_passes_the_check_at_once() {
    let folder = Folder::new();
    let plants = Library::builtin().names(Kind::Plant);
    for plant in &plants {
        let told = folder.run(&format!("new job on-{plant} --plant {plant} --into mine")).ended(0).out;
        assert!(told.contains(&format!("preview on-{plant} --jobs mine")), "{told}");
        let text = folder.read(&format!("mine/jobs/on-{plant}.ron"));
        assert!(text.contains(&format!("plant: {plant:?}")), "{text}");
    }
    let checked = folder.run("check mine").ended(0).out;
    let warnings = 7 * plants.len();
    assert!(checked.contains(&format!("0 errors, {warnings} warnings")), "{checked}");
    assert_eq!(checked.matches("FB-S122").count(), warnings, "{checked}");
}

#[test]
fn a_job_begins_on_a_vehicle_of_ones_own() {
    let folder = Folder::new();
    folder.run("new plant little-van --into mine").ended(0);
    folder.run("new job hard-start --plant little-van --into mine").ended(0);
    let text = folder.read("mine/jobs/hard-start.ron");
    assert!(text.contains("filter in (filter inlet)") && text.contains("fill: l(40)"), "{text}");
    folder.run("check mine").ended(0);
    let shown = folder.run("preview hard-start --jobs mine").ended(0).out;
    assert!(shown.contains("Hard start (hard-start)") && shown.contains("Nothing wrong"), "{shown}");
}

#[test]
fn what_cannot_be_begun_is_told_and_leaves_nothing() {
    let folder = Folder::new();
    folder.run("new job x --plant a7-truk --into mine").ended(2).complains("did you mean \"a7-truck\"?");
    folder.run("new course x --plant a7-truck --into mine").ended(2).complains("only a job is on a vehicle");
    folder.run("new job stalls! --into mine").ended(2).complains("“stalls” could");
    assert!(!folder.has("mine"));
    folder.run("new job twice --into mine").ended(0);
    folder.run("new job twice --plant a7-truck --into mine").ended(2).complains("isn’t overwritten");
    assert!(folder.read("mine/jobs/twice.ron").contains("a1-van"), "the first one stays");
}

#[test]
fn vehicles_are_listed_with_what_a_job_may_name() {
    let folder = Folder::new();
    let all = folder.run("plants").ended(0).out;
    for plant in Library::builtin().names(Kind::Plant) {
        assert!(all.contains(&format!("{plant}: ")), "{all}");
    }
    let one = folder.run("plants a8-genset").ended(0).out;
    for words in [
        "  lift pump  GearPump  lift pump on the engine",
        "  pump in  inlet of the lift pump",
        "F02  Tank vent blocked  bulk tank, day tank",
        "F26  Transfer pump worn  lift pump; \"at\" may be left out",
        "transfer pump/earth point",
    ] {
        assert!(one.contains(words), "no {words:?} in\n{one}");
    }
    // it has no diaphragm pump
    assert!(!one.contains("F20"), "{one}");
    folder.run("plants genset").ended(2).complains("did you mean \"a8-genset\"?");
}

#[test]
fn a_card_is_proposed_that_the_check_takes_and_the_sound_vehicle_keeps() {
    let folder = Folder::new();
    folder.run("new plant little-van --into mine").ended(0);
    let card = folder.run("preview little-van --jobs mine --card").ended(0).out;
    let text = folder.read("mine/plants/little-van.ron");
    let end = text.trim_end().strip_suffix(')').unwrap();
    folder.write("mine/plants/little-van.ron", format!("{end}{card})\n"));
    folder.run("new job on-it --plant little-van --into mine").ended(0);
    let checked = folder.run("check mine").ended(0).out;
    assert!(!checked.contains("card-gaps"), "{checked}");
    let sound = folder.run("preview little-van --jobs mine").ended(0).out;
    assert!(sound.contains("card") && !sound.contains("outside"), "{sound}");
}

/// What a job's own vehicle shows, and that a fault which shows nowhere in the run is said to.
#[test]
fn a_preview_says_when_nothing_moves() {
    let folder = Folder::new();
    let job = folder.run("preview bypass-puff").ended(0).out;
    assert!(job.contains("F15 Filter element plugged") && job.contains("outside"), "{job}");
    assert!(!job.contains("runs steadily all through"), "{job}");
    folder.run("preview second-pump").ended(0).says("runs steadily all through the run");
    folder.run("preview bypass-puff --fault F15@filter").ended(2).complains("want a plant");
    let silent = folder.run("preview a5-coupe --fault F15").ended(0).out;
    assert!(silent.contains("Nothing of this differs from the sound vehicle"), "{silent}");
    let plain = folder.run("preview a5-coupe --fault F21").ended(0).out;
    assert!(!plain.contains("Nothing of this differs"), "{plain}");
    folder.run("preview a9-boat --fault F09").ended(2).complains("valve out, primary in");
    folder.run("preview a5-coupe --fault F18@relay").ended(2).complains("fuel pump/relay");
}
