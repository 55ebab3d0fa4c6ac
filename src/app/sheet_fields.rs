//! What the forms of the test sheet have in common: the field of a value, the unit beside it, verdict, source and remark,
//! and the button that says why it can't be pressed yet.

use bevy_egui::egui::{self, Align, ComboBox, Response, Ui, vec2};

use super::theme::{TARGET, bold_figures, quiet, regular};
use super::widgets::{self, Weight};
use crate::bay::action::Verdict;
use crate::language::said;

/// The field of a value: figures, right-aligned.
pub fn value_ui(ui: &mut Ui, value: &mut String, name: &str) -> Response {
    let field = egui::TextEdit::singleline(value)
        .font(bold_figures(16.0))
        .horizontal_align(Align::RIGHT)
        .desired_width(92.0)
        .margin(egui::Margin::symmetric(8, 6));
    let label = name_ui(ui, name);
    ui.add(field).labelled_by(label.id)
}

/// The name of a field, in a column of one width, so that the fields begin under one another.
fn name_ui(ui: &mut Ui, name: &str) -> Response {
    let all = [said("sheet-value"), said("sheet-test-value"), said("sheet-source"), said("sheet-remark")];
    let column = vec2(widgets::widest(ui, all, &regular(12.5)) + 4.0, TARGET);
    let layout = egui::Layout::left_to_right(Align::Center);
    ui.allocate_ui_with_layout(column, layout, |ui| {
        ui.set_min_width(column.x);
        ui.label(quiet(ui, name))
    })
    .inner
}

/// A field of text behind its name.
fn text_ui(ui: &mut Ui, text: &mut String, name: &str, hint: &str, width: f32) {
    let edit = egui::TextEdit::singleline(text)
        .hint_text(hint.to_owned())
        .desired_width(width)
        .margin(egui::Margin::symmetric(8, 7))
        .min_size(vec2(0.0, TARGET));
    let label = name_ui(ui, name);
    ui.add(edit).labelled_by(label.id);
}

/// The unit of a value, or none. `said` is what a screen reader calls it.
pub fn unit_ui<U: Copy + PartialEq>(
    ui: &mut Ui,
    aloud: &str,
    unit: &mut Option<U>,
    all: impl IntoIterator<Item = U>,
    symbol: impl Fn(U) -> &'static str,
) {
    let shown = unit.map_or(said("sheet-no-unit"), &symbol);
    let combo = ComboBox::from_id_salt(aloud).width(72.0).selected_text(shown).show_ui(ui, |ui| {
        for each in all {
            widgets::option(ui, unit, Some(each), symbol(each));
        }
        widgets::option(ui, unit, None, said("sheet-no-unit"));
    });
    widgets::list_named(&combo.response, &format!("{aloud}: {shown}"));
}

/// What is held of a value: verdict, where its limit comes from, a remark.
pub fn judged_ui(ui: &mut Ui, verdict: &mut Option<Verdict>, source: &mut String, remark: &mut String) {
    let width = ui.available_width();
    if let Some(chosen) = widgets::verdict_choice(ui, width, *verdict) {
        *verdict = Some(chosen);
    }
    let names = [said("sheet-value"), said("sheet-test-value"), said("sheet-source"), said("sheet-remark")];
    let rest = width - widgets::widest(ui, names, &regular(12.5)) - 12.0;
    let padding = 2.0 * ui.spacing().button_padding.x + ui.spacing().item_spacing.x;
    let button = widgets::widest(ui, [said("sheet-source-card")], &regular(12.5)).ceil() + padding;
    ui.horizontal_wrapped(|ui| {
        // where the button has no room beside it the field is as long as the one below
        let field = if rest - button < 120.0 { rest } else { (rest - button).floor() };
        text_ui(ui, source, said("sheet-source"), said("sheet-source-hint"), field);
        if widgets::small_button(ui, said("sheet-source-card"), said("sheet-source-card-name"), true, "").clicked()
        {
            "vehicle card".clone_into(source);
        }
    });
    ui.horizontal(|ui| {
        text_ui(ui, remark, said("sheet-remark"), "", rest);
    });
}

/// The button that writes what a form holds, with the reason beside it when it can't yet; gives what is to be written.
pub fn write_ui<T>(
    ui: &mut Ui,
    text: &str,
    entry: Result<T, &'static str>,
    beside: impl FnOnce(&mut Ui),
) -> Option<T> {
    let why = entry.as_ref().err().copied().unwrap_or("");
    let (pressed, beside) = ui
        .horizontal_wrapped(|ui| {
            let pressed = widgets::button(ui, Weight::Primary, text, "", why.is_empty(), why).clicked();
            beside(ui);
            let room = widgets::widest(ui, [why], &regular(13.0)) + 24.0 < ui.available_size_before_wrap().x;
            if room && !why.is_empty() {
                ui.label(quiet(ui, why));
            }
            (pressed, room)
        })
        .inner;
    // a reason that has no room beside the button stands under it, whole
    if !beside && !why.is_empty() {
        ui.label(quiet(ui, why));
    }
    entry.ok().filter(|_| pressed)
}
