//! The vehicle of the job, drawn: its parts and joints by name, with those that the job speaks of.

use bevy_egui::egui::{RichText, ScrollArea, Ui, UiBuilder};

use super::{Editor, Order};
use crate::app::bridge::Intent;
use crate::app::scene::{self, SceneView};
use crate::app::scene_layout;
use crate::app::sight_glass::GlassState;
use crate::app::theme::{heading, quiet, regular, tokens};
use crate::bay::words::offer::Spot;
use crate::plant::Plant;

/// Height of the list under the drawing.
const WORDS: f32 = 190.0;

/// The same in words: what the drawing has no room to name.
fn words_ui(plant: &Plant, joints: &[(String, String)], ui: &mut Ui) {
    let parts: Vec<&str> = plant.parts.iter().map(|p| p.label.as_str()).collect();
    let joints: Vec<&str> = joints.iter().map(|j| j.1.as_str()).collect();
    ScrollArea::vertical().id_salt("vehicle in words").auto_shrink([false, false]).show(ui, |ui| {
        ui.label(heading("Parts"));
        ui.label(parts.join("; "));
        ui.label(heading("Joints where the tee fits, in the order of flow"));
        ui.label(joints.join("; "));
    });
}

/// Draws it.
pub fn vehicle_ui(editor: &mut Editor, ui: &mut Ui, orders: &mut Vec<Order>) {
    let Some(plant) = &editor.proof.plant else {
        let words = "The vehicle can't be drawn: the one that the job names isn't there, or has an error.";
        ui.label(RichText::new(words).font(regular(13.5)).color(tokens(ui).critical));
        return;
    };
    let form = editor.proof.form.as_ref().ok();
    let fault = form.and_then(|f| f.wrong.first()).map(|f| f.at.split('/').next().unwrap_or_default().to_owned());
    let joints = plant.joints();
    let view = SceneView {
        layout: scene_layout::lay_out(plant, &joints),
        tee: None,
        container: None,
        second: None,
        clamp: None,
        taps: vec![],
        cap_open: false,
        fuel_gauge: form.map_or(0.5, |f| f.fuel_gauge),
        petrol: plant.is_petrol(),
        engine: "engine off".to_owned(),
        zeroed: String::new(),
        cautions: vec![],
        picked: editor.preview.joint.clone(),
        touched: fault.filter(|f| plant.part(f).is_some()).map(Spot::Part),
        wet: vec![],
        left_on: vec![],
        glass: None,
    };
    let plant = &plant.clone();
    ui.label(RichText::new(&plant.title).font(regular(14.0)));
    ui.label(quiet(
        ui,
        "Press a part to write what looking at it shows; press a joint to see what the tee would read there.",
    ));
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
    ui.scope_builder(UiBuilder::new().max_rect(below).id_salt("in words"), |ui| words_ui(plant, &joints, ui));
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
