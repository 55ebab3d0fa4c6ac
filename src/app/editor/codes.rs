//! The form of trouble codes that are stored when the vehicle comes in.

use bevy_egui::egui::Ui;

use super::fields::{Form, Number, row_buttons_width, text_value};
use crate::app::theme::quiet;
use crate::instrument::codes::CODES;
use crate::language::said;
use crate::scenario::patch::number;
use crate::tell;

/// Speed with which a new one begins, 1/min.
const USUAL_RPM: f64 = 2400.0;

/// Codes, each with the speed of the engine when it was stored.
pub fn codes_ui(f: &mut Form<'_>, ui: &mut Ui) {
    f.heading(ui, said("codes-title"), said("codes-lead"));
    let form = f.form;
    let options: Vec<(String, String)> =
        CODES.iter().map(|c| (c.number.to_owned(), format!("{}  {}", c.number, c.about))).collect();
    let count = form.codes.len();
    for (i, code) in form.codes.iter().enumerate() {
        let place = format!("codes[{i}].number");
        ui.horizontal(|ui| {
            let width = ui.available_width() - row_buttons_width(ui);
            let name = tell!("codes-number", n = i + 1);
            if let Some(picked) = f.pick(ui, &place, &name, &options, &code.number, width) {
                f.edit(vec![text_value(&place, &picked)]);
            }
            f.row_buttons(ui, "codes", said("codes-row"), i, count);
        });
        ui.horizontal(|ui| {
            let (place, name) = (format!("codes[{i}].rpm"), tell!("codes-rpm", n = i + 1));
            f.bare_number(ui, &Number::part(&place, "", &name, code.rpm), None, number);
            ui.label(quiet(ui, said("codes-rpm-unit")));
        });
        f.problems_inside(ui, &format!("codes[{i}]"));
    }
    let taken = |number: &str| form.codes.iter().any(|c| c.number == number);
    let next = CODES.iter().find(|c| !taken(c.number)).map_or("P0087", |c| c.number);
    let entry = format!("(number: \"{next}\", rpm: {})", number(USUAL_RPM));
    f.add(ui, "codes", said("codes-add"), count, &entry, Some(format!("codes[{count}].number")));
    f.problems(ui, "codes");
}
