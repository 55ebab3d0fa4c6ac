//! The form of what a vehicle is: title, fuel, day, what its card permits, how it warms up.

use bevy_egui::egui::Ui;

use super::fields::{Form, Number};
use super::supply::number_ui;
use crate::app::theme::quiet;
use crate::app::widgets::{self, Weight};
use crate::app::words::TRAINING_VALUES;
use crate::language::{Msg, named, said};
use crate::msg;
use crate::scenario::patch::{Edit, number};
use crate::scenario::vehicle_form::{PERMITS, PlantForm};

/// What each permission says.
const PERMIT_WORDS: [Msg; 3] = [msg!("permit-suction"), msg!("permit-pressure"), msg!("permit-air")];

/// A vehicle that warms up as vehicles do: within half an hour.
const WARMTH: &str = "(\n        tank: K(12), running: K(25), stopped: K(40),\n        block_warms: s(600), block_cools: \
                      s(5400), tank_follows: s(3600), bonnet_follows: s(300),\n    )";

/// Draws it.
pub fn machine_ui(f: &mut Form<'_>, vehicle: &PlantForm, ui: &mut Ui) {
    f.heading(ui, said("setting-vehicle"), TRAINING_VALUES.said());
    f.words(ui, "title", said("machine-title"), &vehicle.title, said("machine-title-hint"), 1);
    super::fuel::fuel_ui(f, "fuel", said("machine-fuel"), &vehicle.fuel, None, ui);
    let mut dyed = vehicle.dyed.unwrap_or(false);
    if ui.checkbox(&mut dyed, said("machine-dyed")).changed() {
        f.edit(vec![service_edit(vehicle, "dyed", dyed.to_string())]);
    }
    ui.horizontal_top(|ui| {
        let mut field = Number::optional("temperature", said("setting-temperature"), vehicle.temperature_c);
        field.hint = "20";
        f.number(ui, &field, |v| format!("degC({})", number(v)));
        let mut field = Number::optional("altitude", said("setting-altitude"), vehicle.altitude_m);
        field.hint = "0";
        f.number(ui, &field, |v| format!("m({})", number(v)));
    });
    service_ui(f, vehicle, ui);
    warmth_ui(f, vehicle, ui);
}

/// Sets a field of the service, which a file may leave out as a whole.
fn service_edit(vehicle: &PlantForm, field: &str, value: String) -> Edit {
    let mut said = vehicle.permits.iter().chain([&vehicle.dyed]);
    match vehicle.battery_v.is_some() || said.any(Option::is_some) {
        true => Edit::set(format!("service.{field}"), value),
        false => Edit::set("service", format!("({field}: {value})")),
    }
}

fn service_ui(f: &mut Form<'_>, vehicle: &PlantForm, ui: &mut Ui) {
    f.heading(ui, said("service-title"), said("service-lead"));
    let volts = [("V(12)", "12 V"), ("V(24)", "24 V")];
    let now = if vehicle.battery_v.unwrap_or(12.0) > 18.0 { 1 } else { 0 };
    let battery = named("battery");
    ui.label(quiet(ui, battery));
    let width = ui.available_width().min(240.0);
    if let Some(i) = widgets::choice(ui, width, battery, &[volts[0].1, volts[1].1], Some(now)) {
        f.edit(vec![service_edit(vehicle, "battery", volts[i].0.to_owned())]);
    }
    for (i, words) in PERMIT_WORDS.iter().enumerate() {
        let mut allowed = vehicle.permits[i].unwrap_or(i < 2);
        if ui.checkbox(&mut allowed, words.said()).changed() {
            f.edit(vec![service_edit(vehicle, PERMITS[i], allowed.to_string())]);
        }
    }
    f.problems_inside(ui, "service");
}

fn warmth_ui(f: &mut Form<'_>, vehicle: &PlantForm, ui: &mut Ui) {
    f.heading(ui, said("warmth-title"), "");
    if vehicle.warmth.is_empty() {
        ui.label(said("warmth-none"));
        let words = said("warmth-add");
        if widgets::button(ui, Weight::Plain, words, words, true, "").clicked() {
            f.edit(vec![Edit::set("warmth", WARMTH)]);
        }
    } else {
        for n in &vehicle.warmth {
            number_ui(f, n, false, ui);
        }
        let words = said("warmth-remove");
        if widgets::button(ui, Weight::Plain, words, words, true, "").clicked() {
            f.edit(vec![Edit::remove("warmth")]);
        }
    }
    f.problems_inside(ui, "warmth");
}
