//! The form of the circuit that feeds an electric pump: a row of resistances from the battery's plus over the motor to
//! its minus, each with the measuring point behind it.

use bevy_egui::egui::Ui;

use super::fields::{Form, Number};
use crate::app::theme::quiet;
use crate::language::said;
use crate::scenario::patch::number;
use crate::scenario::vehicle_form::{CIRCUIT, JointForm, PartForm};
use crate::tell;

/// Below this a resistance is written in milliohms, Ω.
const SMALL_OHM: f64 = 1.0;

/// A number of the part that this form shows.
pub fn shows(place: &str, at: &str) -> bool {
    CIRCUIT.iter().any(|side| place.strip_prefix(at).is_some_and(|rest| rest.starts_with(&format!(".is.{side}["))))
}

/// Both sides; nothing for a part that isn't fed.
pub fn circuit_ui(f: &mut Form<'_>, at: &str, part: &PartForm, ui: &mut Ui) {
    if part.kind != "ElectricPump" {
        return;
    }
    ui.label(said("circuit-title"));
    ui.label(quiet(ui, said("circuit-lead")));
    let taken: Vec<String> = part.circuit.iter().map(|j| j.name.clone()).collect();
    for (side, words) in CIRCUIT.into_iter().zip([said("circuit-feed"), said("circuit-earth")]) {
        let list = format!("{at}.is.{side}");
        let joints: Vec<&JointForm> = part.circuit.iter().filter(|j| j.list == list).collect();
        ui.label(quiet(ui, words));
        for joint in &joints {
            joint_ui(f, words, joint, joints.len(), ui);
        }
        let name = super::asking::free_name(if side == "feed" { "plug" } else { "earth point" }, &taken);
        let name = name.replace('-', " ");
        let (count, entry) = (joints.len(), JointForm::new_one(&name));
        let add = tell!("circuit-add", side = words);
        f.add(ui, &list, &add, count, &entry, Some(format!("{list}[{count}].name")));
        f.problems(ui, &list);
    }
}

fn joint_ui(f: &mut Form<'_>, side: &str, joint: &JointForm, count: usize, ui: &mut Ui) {
    let (at, n) = (joint.place(), joint.index + 1);
    ui.horizontal(|ui| {
        let place = format!("{at}.name");
        let name = tell!("circuit-name", side = side, n = n);
        f.bare_words(ui, &place, None, &name, &joint.name, said("circuit-name-hint"), 1, 190.0);
        let (place, name) = (format!("{at}.ohm"), tell!("circuit-ohm", side = side, n = n));
        let field = Number::part(&place, "", &name, (joint.ohm * 1e9).round() / 1e6);
        f.bare_number(ui, &field, None, written);
        ui.label(quiet(ui, "mΩ"));
        f.row_buttons(ui, &joint.list, said("circuit-row"), joint.index, count);
    });
    f.problems_inside(ui, &at);
}

/// So many milliohms as they are written.
fn written(milliohm: f64) -> String {
    if milliohm.abs() < SMALL_OHM * 1e3 {
        format!("mohm({})", number(milliohm))
    } else {
        format!("ohm({})", number(milliohm / 1e3))
    }
}
