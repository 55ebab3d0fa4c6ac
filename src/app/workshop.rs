//! Work on the vehicle: make safe, tee, external container, looking, putting right, handing back.

use std::collections::{BTreeMap, BTreeSet};

use bevy_egui::egui::{self, Align2, ComboBox, RichText, Sense, Ui, WidgetInfo, WidgetType, vec2};

use super::bridge::Intent;
use super::state::Armed;
use super::theme::{heading, italic, quiet, regular, remark, tokens};
use super::widgets::{self, Mark, Weight, cell_background, focus_ring};
use crate::bay::action::{Action, Remedy, SafetyStep};
use crate::bay::observation::Observation;
use crate::language::{Msg, named, said};
use crate::msg;
use crate::plant::Part;
use crate::scenario::model::Job;
use crate::tell;

/// What is picked and what was done.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WorkshopState {
    /// Joint picked.
    pub joint: Option<String>,
    /// Part picked.
    pub part: Option<String>,
    /// Old seals are to be used again.
    pub old_seals: bool,
    /// Remedy picked.
    pub remedy: usize,
    /// Safety steps taken.
    pub safe: BTreeSet<SafetyStep>,
    /// What looking at parts showed.
    pub looked: BTreeMap<String, String>,
    /// Parts that were replaced or cleaned.
    pub put_right: BTreeMap<String, Remedy>,
    /// "Hand back" was pressed once.
    pub asked: Armed,
}

const STEPS: [(SafetyStep, Msg); 6] = [
    (SafetyStep::Protection, msg!("safety-protection")),
    (SafetyStep::Ventilation, msg!("safety-ventilation")),
    (SafetyStep::Extinguisher, msg!("safety-extinguisher")),
    (SafetyStep::Chocks, msg!("safety-chocks")),
    (SafetyStep::DripTray, msg!("safety-drip-tray")),
    (SafetyStep::PressureAway, msg!("safety-pressure-away")),
];

const REMEDIES: [(Remedy, Msg); 3] = [
    (Remedy::Replace, msg!("remedy-replace")),
    (Remedy::Clean, msg!("remedy-clean")),
    (Remedy::Reseal, msg!("remedy-reseal")),
];

/// Draws the workshop.
pub fn workshop_ui(
    job: &Job,
    seen: &Observation,
    submitted: bool,
    state: &mut WorkshopState,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    widgets::scrolled(ui, "workshop", f32::INFINITY, |ui| {
        ui.spacing_mut().item_spacing.y = 5.0;
        make_safe_ui(state, ui, intents);
        tee_ui(job, seen, state, ui, intents);
        look_ui(job, state, ui, intents);
        put_right_ui(job, submitted, state, ui, intents);
        close_ui(seen, state, ui, intents);
    });
}

fn make_safe_ui(state: &WorkshopState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ui.label(heading(said("workshop-safe")));
    let widest = widgets::widest(ui, STEPS.map(|(_, words)| words.said()), &regular(13.0));
    let columns = widgets::columns(ui.available_width(), STEPS.len(), widest, 36.0, 6.0).min(3);
    let width = (ui.available_width() - 6.0 * (columns as f32 - 1.0)) / columns as f32;
    for pair in STEPS.chunks(columns) {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 6.0;
            for (step, words) in pair {
                let done = state.safe.contains(step);
                if step_ui(ui, width, words, done) && !done {
                    intents.push(Intent::Do(Action::MakeSafe { step: *step }));
                }
            }
        });
    }
}

fn step_ui(ui: &mut Ui, width: f32, words: &str, done: bool) -> bool {
    let t = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(width, 32.0), Sense::click());
    response.widget_info(|| WidgetInfo::selected(WidgetType::Checkbox, ui.is_enabled(), done, words));
    cell_background(ui, &response, rect, false);
    let at = rect.left_center() + vec2(15.0, 0.0);
    let painter = ui.painter();
    if done {
        widgets::mark(painter, at, Mark::Tick, t);
    } else {
        let square = egui::Rect::from_center_size(at, vec2(12.0, 12.0));
        painter.rect_stroke(square, 1, egui::Stroke::new(1.3, t.ink), egui::StrokeKind::Middle);
    }
    let colour = if done { t.second_ink } else { t.ink };
    painter.with_clip_rect(rect).text(at + vec2(14.0, 0.0), Align2::LEFT_CENTER, words, regular(13.0), colour);
    focus_ring(ui, &response, rect);
    response.clicked()
}

/// A list to pick from; the shown text names it for a screen reader.
fn pick(ui: &mut Ui, what: &str, width: f32, all: &[(String, String)], picked: &mut Option<String>) {
    let label = |name: &str| all.iter().find(|(n, _)| n == name).map_or("", |(_, l)| named(l)).to_owned();
    let shown =
        picked.as_deref().map(label).filter(|l| !l.is_empty()).unwrap_or(tell!("workshop-pick", what = what));
    let combo = ComboBox::from_id_salt(what).width(width).selected_text(&shown).show_ui(ui, |ui| {
        for (name, label) in all {
            widgets::option(ui, picked, Some(name.clone()), named(label));
        }
    });
    widgets::list_named(&combo.response, &format!("{what}: {shown}"));
}

fn tee_ui(job: &Job, seen: &Observation, state: &mut WorkshopState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ui.add_space(5.0);
    ui.label(heading(said("workshop-tee")));
    ui.horizontal(|ui| {
        let beside = widgets::widest(ui, [said("workshop-old-seals")], &regular(14.0)) + 56.0;
        pick(ui, said("joint"), ui.available_width() - beside, &job.joints, &mut state.joint);
        ui.checkbox(&mut state.old_seals, said("workshop-old-seals"));
    });
    let fitted = seen.tee.as_ref();
    let joint = state.joint.clone();
    let here = fitted.map(|t| &t.joint) == joint.as_ref() && joint.is_some();
    let why = match (&joint, here) {
        (None, _) => said("workshop-joint-first"),
        (_, true) => said("workshop-tee-here"),
        _ => "",
    };
    ui.horizontal_wrapped(|ui| {
        let fit = if fitted.is_some() { said("workshop-move-tee") } else { said("workshop-fit-tee") };
        if widgets::button(ui, Weight::Plain, fit, "", why.is_empty(), why).clicked()
            && let Some(joint) = joint.clone()
        {
            intents.push(Intent::Do(Action::FitTee { joint, new_seals: !state.old_seals }));
        }
        let none = said("hands-no-tee-fitted");
        if widgets::button(
            ui,
            Weight::Plain,
            said("workshop-take-out"),
            said("workshop-take-out-name"),
            fitted.is_some(),
            none,
        )
        .clicked()
        {
            intents.push(Intent::Do(Action::RemoveTee { new_seals: !state.old_seals }));
        }
        match &seen.container {
            Some(_) => {
                if widgets::button(ui, Weight::Plain, said("workshop-feed-tank"), "", true, "").clicked() {
                    intents.push(Intent::Do(Action::Container { joint: None }));
                }
            }
            None => {
                let why = if joint.is_some() { "" } else { said("workshop-joint-first") };
                let name = said("workshop-feed-container-name");
                if widgets::button(ui, Weight::Plain, said("workshop-feed-container"), name, why.is_empty(), why)
                    .clicked()
                {
                    intents.push(Intent::Do(Action::Container { joint }));
                }
            }
        }
    });
}

fn look_ui(job: &Job, state: &mut WorkshopState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ui.add_space(5.0);
    ui.label(heading(said("workshop-look-heading")));
    let parts: Vec<(String, String)> = job.plant.parts.iter().map(|p| (p.name.clone(), p.label.clone())).collect();
    ui.horizontal(|ui| {
        let beside = widgets::widest(ui, [said("workshop-look")], &regular(14.0)) + 44.0;
        pick(ui, said("part"), ui.available_width() - beside, &parts, &mut state.part);
        let why = if state.part.is_some() { "" } else { said("workshop-part-first") };
        if widgets::button(
            ui,
            Weight::Plain,
            said("workshop-look"),
            said("workshop-look-name"),
            why.is_empty(),
            why,
        )
        .clicked()
            && let Some(part) = state.part.clone()
        {
            intents.push(Intent::PickPart(part));
        }
    });
    if let Some(sees) = state.part.as_ref().and_then(|p| state.looked.get(p)) {
        ui.label(RichText::new(sees).font(italic(13.5)).color(tokens(ui).accent));
    }
}

/// What a remedy asks for: only a new part has its price.
fn about_words(part: &Part, remedy: Remedy) -> String {
    let minutes = format!("{:.0}", part.minutes);
    if remedy == Remedy::Replace {
        tell!("workshop-price", part = part.label, credits = format!("{:.0}", part.price), minutes = minutes)
    } else {
        tell!("workshop-work", part = part.label, minutes = minutes)
    }
}

fn put_right_ui(job: &Job, submitted: bool, state: &mut WorkshopState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ui.add_space(5.0);
    ui.label(heading(said("workshop-put-right")));
    if !submitted {
        ui.label(quiet(ui, said("workshop-finding-first")));
    }
    let width = ui.available_width();
    let words: Vec<&str> = REMEDIES.iter().map(|(_, w)| w.said()).collect();
    if let Some(i) = widgets::choice(ui, width, said("workshop-remedy"), &words, Some(state.remedy)) {
        state.remedy = i;
    }
    let part = state.part.as_ref().and_then(|name| job.plant.part(name));
    let about = part.map_or(said("workshop-pick-above").to_owned(), |p| about_words(p, REMEDIES[state.remedy].0));
    ui.label(quiet(ui, about));
    ui.horizontal(|ui| {
        let why = if part.is_some() { "" } else { said("workshop-part-first") };
        if widgets::button(
            ui,
            Weight::Plain,
            said("workshop-repair"),
            said("workshop-repair-name"),
            why.is_empty(),
            why,
        )
        .clicked()
            && let Some(part) = part
        {
            let remedy = REMEDIES[state.remedy.min(2)].0;
            intents.push(Intent::Do(Action::Repair { part: part.name.clone(), remedy }));
        }
        if widgets::button(ui, Weight::Plain, said("workshop-bleed"), said("workshop-bleed-name"), true, "")
            .clicked()
        {
            intents.push(Intent::Do(Action::Bleed));
        }
        if widgets::button(
            ui,
            Weight::Plain,
            said("workshop-leak-check"),
            said("workshop-leak-check-name"),
            true,
            "",
        )
        .clicked()
        {
            intents.push(Intent::Do(Action::LeakCheck));
        }
    });
}

fn close_ui(seen: &Observation, state: &mut WorkshopState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ui.add_space(5.0);
    ui.label(heading(said("workshop-close")));
    ui.horizontal_wrapped(|ui| {
        if !state.asked.is_armed() {
            if widgets::button(ui, Weight::Plain, said("workshop-hand-back"), "", true, "").clicked() {
                state.asked.arm();
            }
            let still = match (&seen.tee, &seen.container, seen.cap_open) {
                (Some(_), _, _) => said("workshop-tee-still"),
                (_, Some(_), _) => said("workshop-container-still"),
                (_, _, true) => said("cap-is-open"),
                _ => said("workshop-ends"),
            };
            ui.label(quiet(ui, still));
            return;
        }
        if widgets::button(ui, Weight::Primary, said("workshop-hand-back-yes"), "", true, "").clicked() {
            state.asked.disarm();
            intents.push(Intent::Do(Action::HandBack));
        }
        if widgets::button(ui, Weight::Plain, said("not-yet"), "", true, "").clicked() {
            state.asked.disarm();
        }
        // it is taken back by itself
        ui.ctx().request_repaint_after(core::time::Duration::from_secs(1));
    });
    ui.label(remark(ui, said("workshop-habits")));
}
