//! Which room may know which. The table is the design; the rules compare `src` with it.
//!
//! A rule reads text, not types: it catches slips, not somebody who wants to get round it.

use crate::source::{self, code, expand, hold, mentions};

/// A room of `src` and what it may know besides itself, [`ANYONE`]'s rooms and other crates.
struct Room {
    name: &'static str,
    /// Rooms; `x..` means x and every room below it in the table.
    may: &'static [&'static str],
}

/// The actions a learner can take: plain words that depend on [`ANYONE`]'s rooms only. They live
/// with the bay, whose interface they are, and lower rooms quote them: the trace and the
/// instrument count in `Micros`, a fault names its `Remedy`, a job gives limits by `State`. Hence
/// this file is a room of its own, below those that quote it.
const ACTION: &str = "bay::action";

/// Rooms that every other room may know.
const ANYONE: &[&str] = &["units", "random", "ops", "lanes", "language"];

/// From the top down. No arrow points up.
const ROOMS: &[Room] = &[
    Room { name: "main", may: &["cli.."] },
    Room { name: "cli", may: &["app.."] },
    Room { name: "app", may: &["report.."] },
    Room { name: "report", may: &["marking.."] },
    Room { name: "authoring", may: &["marking.."] },
    Room { name: "marking", may: &["diagnosis.."] },
    Room { name: "diagnosis", may: &["analysis", "bay.."] },
    Room { name: "analysis", may: &["trace", ACTION] },
    Room { name: "recording", may: &["diag", "trace", ACTION] },
    Room { name: "attempt", may: &["bay.."] },
    Room { name: "bay", may: &["scenario.."] },
    Room { name: "scenario", may: &["diag", "instrument", "fault.."] },
    Room { name: "diag", may: &[] },
    Room { name: "instrument", may: &["trace", ACTION] },
    Room { name: "trace", may: &[ACTION] },
    Room { name: "fault", may: &[ACTION, "plant.."] },
    Room { name: ACTION, may: &[] },
    Room { name: "plant", may: &["fluid"] },
    Room { name: "fluid", may: &[] },
    Room { name: "units", may: &["ops"] },
    Room { name: "random", may: &["ops"] },
    Room { name: "lanes", may: &[] },
    Room { name: "ops", may: &[] },
    Room { name: "language", may: &[] },
];

/// Rooms that touch the outside world: files, clocks, threads, the environment.
const RIM: &[&str] = &["main", "cli", "app", "report"];

/// Words that belong to the hidden state of a vehicle.
const HIDDEN: &[&str] = &[".hidden", "FaultInstance", "bay::drive", "Bay::filmed"];

/// The crates that draw.
const SCREEN: &[&str] = &["bevy", "bevy_egui", "egui", "egui_kittest", "winit", "wgpu"];

/// Does the table have a room of this name, and in which place?
fn place(name: &str) -> Option<usize> {
    ROOMS.iter().position(|r| r.name == name)
}

/// May code in room `from` know room `to`?
fn allowed(from: &Room, to: &str) -> bool {
    from.name == to
        || (ANYONE.contains(&to) && !ANYONE.contains(&from.name))
        || from.may.iter().any(|may| match may.strip_suffix("..") {
            Some(top) => place(to) >= place(top),
            None => *may == to,
        })
}

/// The module that a file is: `src/bay/action.rs` is `bay`, `action`.
fn module(path: &str) -> Vec<&str> {
    let inner = path.trim_start_matches("src/").trim_end_matches(".rs").trim_end_matches("/mod");
    inner.split('/').collect()
}

/// The room that a module path lies in.
fn room<'a>(module: &[&'a str]) -> &'a str {
    match module {
        ["bay", "action", ..] => ACTION,
        [first, ..] => first,
        [] => "lib",
    }
}

/// The table's entry for a file; `lib.rs`, which only lists the rooms, has none.
fn room_of(path: &str) -> Option<&'static Room> {
    place(room(&module(path))).map(|i| &ROOMS[i])
}

fn arrows_point_down(path: &str, text: &str) -> Vec<String> {
    let Some(from) = room_of(path) else { return Vec::new() };
    let code = code(text);
    let own = module(path);
    let mut known = Vec::new();
    for (line, rest) in mentions(&code, "crate::") {
        known.extend(expand(rest).0.into_iter().map(|to| (line, to)));
    }
    for (line, mut rest) in mentions(&code, "super::") {
        // `super::super::x` is met twice; the second time as less than it is, which does no harm
        let mut above = own.len().saturating_sub(1);
        while let Some(further) = rest.strip_prefix("super::") {
            (above, rest) = (above.saturating_sub(1), further);
        }
        known.extend(expand(rest).0.into_iter().map(|to| (line, [&own[..above], &to[..]].concat())));
    }
    known
        .into_iter()
        .filter(|(_, to)| place(room(to)).is_some() && !allowed(from, room(to)))
        .map(|(line, to)| {
            let (to_room, may) = (room(&to), from.may.join(", "));
            format!("{line}: `{}` may not know `{to_room}` ({}), only: {may}", from.name, to.join("::"))
        })
        .collect()
}

fn every_room_is_in_the_table(path: &str, _text: &str) -> Vec<String> {
    match room_of(path) {
        None if path != "src/lib.rs" => vec!["its room is not in the table of tests/it/arrows.rs".to_owned()],
        _ => Vec::new(),
    }
}

fn only_the_rim_touches_the_world(path: &str, text: &str) -> Vec<String> {
    if room_of(path).is_none_or(|r| RIM.contains(&r.name)) {
        return Vec::new();
    }
    let code = code(text);
    mentions(&code, "std::")
        .flat_map(|(line, rest)| expand(rest).0.into_iter().map(move |p| (line, p[0])))
        .filter(|(_, first)| ["time", "fs", "thread", "env", "net", "process"].contains(first))
        .map(|(line, first)| format!("{line}: std::{first} below `report`"))
        .collect()
}

fn front_ends_do_not_name_the_hidden_state(path: &str, text: &str) -> Vec<String> {
    if room_of(path).is_none_or(|r| !RIM.contains(&r.name)) {
        return Vec::new();
    }
    let code = code(text);
    HIDDEN
        .iter()
        .flat_map(|word| {
            mentions(&code, word).map(move |(line, _)| format!("{line}: names {word}, the hidden state"))
        })
        .collect()
}

fn only_the_app_draws(path: &str, text: &str) -> Vec<String> {
    if room_of(path).is_some_and(|r| r.name == "app") {
        return Vec::new();
    }
    let code = code(text);
    SCREEN
        .iter()
        .flat_map(|krate| {
            mentions(&code, krate).map(move |(line, _)| format!("{line}: names {krate} outside `app`"))
        })
        .collect()
}

#[test]
fn arrows() {
    hold(arrows_point_down, &source::files(&["src"], &[".rs"]));
}

#[test]
fn rooms() {
    hold(every_room_is_in_the_table, &source::files(&["src"], &[".rs"]));
}

#[test]
fn world() {
    hold(only_the_rim_touches_the_world, &source::files(&["src"], &[".rs"]));
}

#[test]
fn wall() {
    hold(front_ends_do_not_name_the_hidden_state, &source::files(&["src"], &[".rs"]));
}

#[test]
fn screen() {
    hold(only_the_app_draws, &source::files(&["src"], &[".rs"]));
}

#[test]
fn the_table_itself_points_down() {
    for (i, room) in ROOMS.iter().enumerate() {
        for may in room.may {
            let to = place(may.trim_end_matches(".."));
            assert!(to.is_some_and(|to| to > i), "{} lists {may}, which is no room below it", room.name);
        }
    }
}

#[test]
fn an_arrow_up_is_caught() {
    let count = |path, text| arrows_point_down(path, text).len();
    assert_eq!(count("src/plant/step.rs", "use crate::fault::Fault;"), 1);
    assert_eq!(count("src/plant/step.rs", "use crate::{bay, fluid::Fuel, marking::{Mark, model}};"), 3);
    assert_eq!(count("src/plant/step.rs", "fn f() { crate::bay::action::SECOND; }"), 1);
    assert_eq!(count("src/plant/component/tank.rs", "use super::super::super::fault::Fault;"), 1);
    assert_eq!(count("src/bay/action.rs", "use super::observation::Glass;"), 1);
    assert_eq!(count("src/trace.rs", "use crate::bay::Bay;"), 1);
    assert_eq!(count("src/units.rs", "use crate::random::normal;"), 1);
    assert_eq!(count("src/marking/mod.rs", "use crate::authoring::par;"), 1);
}

#[test]
fn an_arrow_down_is_not() {
    for (path, text) in [
        ("src/trace.rs", "use crate::bay::action::Micros;"),
        ("src/plant/component/tank.rs", "use super::{Resistance, super::law};\nuse crate::units::Area;"),
        ("src/diagnosis/belief.rs", "use crate::{analysis::Level, bay::Bay, ops, scenario::model::Job};"),
        ("src/plant/step.rs", "// use crate::bay::Bay;\n#[cfg(test)]\nmod tests {\n    use crate::bay::Bay;\n}\n"),
        ("src/cli/mod.rs", "use crate::app;"),
    ] {
        assert_eq!(arrows_point_down(path, text), [""; 0], "{text}");
    }
}

#[test]
fn a_room_without_an_entry_is_caught() {
    assert_eq!(every_room_is_in_the_table("src/helpers.rs", "").len(), 1);
    assert_eq!(every_room_is_in_the_table("src/bay/mod.rs", "").len(), 0);
}

#[test]
fn a_clock_in_the_core_is_caught() {
    let text = "use std::{fs, fmt, time::Instant};\nfn f() { std::env::args(); }";
    assert_eq!(only_the_rim_touches_the_world("src/bay/mod.rs", text).len(), 3);
    assert_eq!(only_the_rim_touches_the_world("src/cli/mod.rs", text).len(), 0);
}

#[test]
fn a_look_behind_the_wall_is_caught() {
    let text = "fn f(j: &Job) { j.hidden.len(); j.hidden_count(); let x: FaultInstance; }";
    assert_eq!(front_ends_do_not_name_the_hidden_state("src/app/bridge.rs", text).len(), 2);
    let text = "let bay = Bay::filmed(job, 7)?;";
    assert_eq!(front_ends_do_not_name_the_hidden_state("src/app/sitting.rs", text).len(), 1);
    let text = "use crate::bay::drive::Drive;";
    assert_eq!(front_ends_do_not_name_the_hidden_state("src/app/bridge.rs", text).len(), 1);
    assert_eq!(front_ends_do_not_name_the_hidden_state("src/bay/mod.rs", text).len(), 0);
}

#[test]
fn a_widget_in_the_core_is_caught() {
    let text = "use bevy::prelude::*;\nfn f(ui: &mut egui::Ui) { let beveyed = \"bevy\"; }";
    assert_eq!(only_the_app_draws("src/report/html.rs", text).len(), 2);
    assert_eq!(only_the_app_draws("src/app/scene.rs", text).len(), 0);
}
