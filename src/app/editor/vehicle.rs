//! The vehicle, drawn: that of a job with the parts and joints that the job speaks of, or the one that is written, each of
//! its nodes and what the check says of them.

use bevy_egui::egui::{RichText, ScrollArea, Ui, UiBuilder};

use super::{Editor, Order};
use crate::app::bridge::Intent;
use crate::app::scene::{self, SceneView};
use crate::app::scene_layout;
use crate::app::sight_glass::{GlassState, Tint};
use crate::app::theme::{heading, quiet, regular, tokens};
use crate::bay::words::offer::Spot;
use crate::language::{named, said};
use crate::plant::Plant;
use crate::scenario::Kind;

/// Height of the list under the drawing.
const WORDS: f32 = 190.0;

/// The same in words: what the drawing has no room to name.
fn words_ui(plant: &Plant, joints: &[(String, String)], is_written: bool, ui: &mut Ui) {
    let parts: Vec<&str> = plant.parts.iter().map(|p| named(&p.label)).collect();
    let joints: Vec<&str> = joints.iter().map(|j| named(&j.1)).collect();
    ScrollArea::vertical().id_salt("vehicle in words").auto_shrink([false, false]).show(ui, |ui| {
        ui.label(heading(said("vehicle-parts-by-name")));
        ui.label(parts.join("; "));
        ui.label(heading(match is_written {
            true => said("vehicle-nodes-by-label"),
            false => said("plant-joints"),
        }));
        ui.label(joints.join("; "));
    });
}

/// Draws it.
pub fn vehicle_ui(editor: &mut Editor, ui: &mut Ui, orders: &mut Vec<Order>) {
    let is_written = editor.draft.kind() == Kind::Plant;
    let drawn = if is_written { &editor.proof.drawn } else { &editor.proof.plant };
    let Some(plant) = drawn else {
        let words = match is_written {
            true => said("plant-not-drawn-yet"),
            false => said("plant-not-drawn"),
        };
        ui.label(RichText::new(words).font(regular(13.5)).color(tokens(ui).critical));
        return;
    };
    let form = editor.proof.form.as_ref().ok().filter(|_| !is_written);
    let fault = form.and_then(|f| f.wrong.first()).map(|f| f.at.split('/').next().unwrap_or_default().to_owned());
    // whoever writes a vehicle sees each of its nodes, not those alone where the tee fits
    let joints = match is_written {
        true => plant
            .nodes
            .iter()
            .map(|n| (n.name.clone(), n.joint.clone().unwrap_or_else(|| n.name.clone())))
            .collect(),
        false => plant.joints(),
    };
    let layout = scene_layout::lay_out(plant, &joints);
    let (picked, touched) = match (is_written, &editor.picked) {
        (true, Some(name)) if plant.part(name).is_some() => (None, Some(Spot::Part(name.clone()))),
        (true, Some(name)) => (Some(name.clone()), Some(Spot::Joint(name.clone()))),
        (true, None) => (None, None),
        (false, _) => (editor.preview.joint.clone(), fault.filter(|f| plant.part(f).is_some()).map(Spot::Part)),
    };
    let view = SceneView {
        bare: false,
        layout,
        tee: None,
        container: None,
        second: None,
        clamp: None,
        taps: vec![],
        cap_open: false,
        fuel_gauge: form.map_or(0.5, |f| f.fuel_gauge),
        tint: Tint::of(plant),
        engine: said("scene-engine-off").to_owned(),
        zeroed: String::new(),
        cautions: vec![],
        picked,
        touched,
        wet: vec![],
        left_on: vec![],
        marked: if is_written { editor.proof.marked() } else { vec![] },
        glass: None,
        clear: vec![],
        clear_words: vec![],
        slope: String::new(),
    };
    let plant = &plant.clone();
    ui.label(RichText::new(&plant.title).font(regular(14.0)));
    ui.label(quiet(ui, if is_written { said("plant-press-to-change") } else { said("plant-press") }));
    if let Some(vehicle) = editor.proof.vehicle.as_ref().filter(|_| is_written) {
        super::supply::loose_ui(vehicle, ui, orders);
    }
    let mut intents = vec![];
    let whole = ui.available_rect_before_wrap();
    let drawing = whole.with_max_y(whole.top() + (whole.height() - WORDS).max(140.0));
    // the line under the drawing speaks to a learner: it is left outside
    let with_foot = drawing.with_max_y(drawing.bottom() + scene::FOOT);
    ui.scope_builder(UiBuilder::new().max_rect(with_foot).id_salt("drawing"), |ui| {
        ui.set_clip_rect(drawing.intersect(ui.clip_rect()));
        scene::scene_ui(&view, &mut editor.scene, &GlassState::default(), true, ui, &mut intents);
    });
    let below = whole.with_min_y(drawing.bottom() + 8.0);
    ui.scope_builder(UiBuilder::new().max_rect(below).id_salt("in words"), |ui| {
        words_ui(plant, &joints, is_written, ui)
    });
    for intent in intents {
        match intent {
            Intent::Touch(spot) => orders.push(Order::Touched(spot)),
            Intent::SceneZoom(factor) => editor.scene.zoom_by(factor),
            Intent::SceneFit => editor.scene.fit(),
            Intent::PickPart(part) | Intent::Do(crate::bay::action::Action::Look { part }) => {
                orders.push(Order::Touched(Spot::Part(part)));
            }
            _ => {}
        }
    }
}
