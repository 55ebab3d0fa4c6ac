//! The form of what may differ between the equivalent variants of a job.

use bevy_egui::egui::Ui;

use super::fields::{Form, Number};
use crate::app::theme::quiet;
use crate::app::widgets::{self, Weight};
use crate::language::said;
use crate::scenario::form::{VariesForm, WordingForm};
use crate::scenario::patch::{Edit, number};
use crate::tell;

/// How far a severity varies where nothing is said, severities; as the manual has it.
const USUAL_SEVERITY: f64 = 0.4;
/// Degrees to either side with which bounds of the temperature begin, °C.
const AROUND_C: f64 = 2.0;
/// Share to either side with which bounds of the fill begin.
const AROUND_FILL: f64 = 0.05;

/// What may differ.
pub fn variants_ui(f: &mut Form<'_>, ui: &mut Ui) {
    f.heading(ui, said("section-variants"), said("variants-lead"));
    let Some(varies) = f.form.varies.clone() else {
        ui.label(said("variants-usual"));
        let words = said("variants-begin");
        if widgets::button(ui, Weight::Plain, words, words, true, "").clicked() {
            f.edit(vec![Edit::set("varies", format!("(severity: {USUAL_SEVERITY})"))]);
        }
        f.problems_inside(ui, "varies");
        return;
    };
    let words = said("variants-leave-out");
    if widgets::button(ui, Weight::Plain, words, words, true, "").clicked() {
        f.edit(vec![Edit::remove("varies")]);
    }
    let mut far = Number::optional("varies.severity", said("variants-severity"), varies.severity);
    far.hint = "0.4";
    f.number(ui, &far, number);
    bounds_ui(f, &varies, ui);
    mileage_ui(f, &varies, ui);
    f.heading(ui, said("variants-words"), said("variants-words-lead"));
    for (i, wording) in varies.words.iter().enumerate() {
        wording_ui(f, i, varies.words.len(), wording, ui);
    }
    let (count, entry) = (varies.words.len(), "(instead_of: \"\", one_of: [\"\"])");
    let first = Some(format!("varies.words[{count}].instead_of"));
    f.add(ui, "varies.words", said("variants-add-words"), count, entry, first);
    f.problems(ui, "varies.words");
    f.problems(ui, "varies");
}

/// A range of a unit that may be left out.
struct Bounds<'a> {
    field: &'static str,
    name: &'static str,
    /// As the unit is written in a file.
    unit: &'static str,
    now: Option<(f64, f64)>,
    /// With what it begins.
    begins: (f64, f64),
    add: &'a str,
}

fn bounds_ui(f: &mut Form<'_>, varies: &VariesForm, ui: &mut Ui) {
    let celsius = f.form.temperature_c.unwrap_or(20.0);
    let fill = f.form.fill_l.unwrap_or(40.0);
    let all = [
        Bounds {
            field: "temperature",
            name: said("setting-temperature"),
            unit: "degC",
            now: varies.temperature_c,
            begins: (celsius - AROUND_C, celsius + AROUND_C),
            add: said("variants-add-temperature"),
        },
        Bounds {
            field: "fill",
            name: said("setting-fill"),
            unit: "l",
            now: varies.fill_l,
            begins: (rounded(fill * (1.0 - AROUND_FILL)), rounded(fill * (1.0 + AROUND_FILL))),
            add: said("variants-add-fill"),
        },
    ];
    for it in &all {
        bound_ui(f, it, ui);
    }
}

fn rounded(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn bound_ui(f: &mut Form<'_>, it: &Bounds<'_>, ui: &mut Ui) {
    let place = format!("varies.{}", it.field);
    let written =
        |(low, high): (f64, f64)| format!("({}({}), {}({}))", it.unit, number(low), it.unit, number(high));
    let Some((low, high)) = it.now else {
        if widgets::button(ui, Weight::Plain, it.add, it.add, true, "").clicked() {
            f.edit(vec![Edit::set(&place, written(it.begins))]);
        }
        f.problems_inside(ui, &place);
        return;
    };
    ui.label(quiet(ui, it.name));
    ui.horizontal(|ui| {
        ui.label(quiet(ui, said("limits-from")));
        let from = tell!("variants-from", name = it.name);
        f.bare_number(ui, &Number::part(&place, "from", &from, low), None, |v| written((v, high)));
        ui.label(quiet(ui, said("limits-to")));
        let to = tell!("variants-to", name = it.name);
        f.bare_number(ui, &Number::part(&place, "to", &to, high), None, |v| written((low, v)));
        let out = tell!("variants-remove", name = it.name);
        if widgets::small_button(ui, "×", &out, true, "").on_hover_text(&out).clicked() {
            f.edit(vec![Edit::remove(&place)]);
        }
    });
    f.problems_inside(ui, &place);
}

fn mileage_ui(f: &mut Form<'_>, varies: &VariesForm, ui: &mut Ui) {
    let mut may = varies.mileage.unwrap_or(true);
    if ui.checkbox(&mut may, said("variants-mileage")).changed() {
        f.edit(vec![match may {
            // yes is what it is when left out
            true => Edit::remove("varies.mileage"),
            false => Edit::set("varies.mileage", "false"),
        }]);
    }
    f.problems(ui, "varies.mileage");
}

fn wording_ui(f: &mut Form<'_>, i: usize, count: usize, wording: &WordingForm, ui: &mut Ui) {
    let at = format!("varies.words[{i}]");
    ui.horizontal(|ui| {
        ui.label(quiet(ui, tell!("variants-wording-n", n = i + 1)));
        f.row_buttons(ui, "varies.words", said("variants-wording-row"), i, count);
    });
    let (place, name) = (format!("{at}.instead_of"), tell!("variants-instead-of", n = i + 1));
    f.words(ui, &place, &name, &wording.instead_of, said("variants-instead-of-hint"), 1);
    ui.label(quiet(ui, said("variants-one-of")));
    let name = tell!("variants-one-of-row", n = i + 1);
    f.lines(ui, &format!("{at}.one_of"), &name, &wording.one_of, said("variants-one-of-hint"));
    f.problems(ui, &at);
    ui.add_space(6.0);
}
