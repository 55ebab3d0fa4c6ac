//! What the forms of the test sheet have in common: the field of a value, the unit beside it, verdict, source and remark,
//! and the button that says why it can't be pressed yet.

use bevy_egui::egui::{self, Align, ComboBox, Response, Ui, WidgetInfo, WidgetType};

use super::theme::{bold_figures, quiet};
use super::widgets::{self, Weight};
use crate::bay::action::Verdict;
use crate::language::said;

/// The field of a value: figures, right-aligned.
pub fn value_ui(ui: &mut Ui, value: &mut String, name: &str) -> Response {
    let field = egui::TextEdit::singleline(value)
        .font(bold_figures(16.0))
        .horizontal_align(Align::RIGHT)
        .desired_width(78.0)
        .margin(egui::Margin::symmetric(8, 6));
    let label = ui.label(quiet(ui, name));
    ui.add(field).labelled_by(label.id)
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
            ui.selectable_value(unit, Some(each), symbol(each));
        }
        ui.selectable_value(unit, None, said("sheet-no-unit"));
    });
    combo.response.widget_info(|| WidgetInfo::labeled(WidgetType::ComboBox, true, format!("{aloud}: {shown}")));
}

/// What is held of a value: verdict, where its limit comes from, a remark.
pub fn judged_ui(ui: &mut Ui, verdict: &mut Option<Verdict>, source: &mut String, remark: &mut String) {
    let width = ui.available_width();
    if let Some(chosen) = widgets::verdict_choice(ui, width, *verdict) {
        *verdict = Some(chosen);
    }
    ui.horizontal_wrapped(|ui| {
        widgets::text_field(ui, source, said("sheet-source"), said("sheet-source-hint"), 210.0);
        if widgets::small_button(ui, said("sheet-source-card"), said("sheet-source-card-name"), true, "").clicked()
        {
            "vehicle card".clone_into(source);
        }
    });
    ui.horizontal(|ui| {
        let rest = ui.available_width() - 60.0;
        widgets::text_field(ui, remark, said("sheet-remark"), "", rest);
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
    let row = ui.horizontal_wrapped(|ui| {
        let pressed = widgets::button(ui, Weight::Primary, text, "", why.is_empty(), why).clicked();
        beside(ui);
        if !why.is_empty() {
            ui.label(quiet(ui, why));
        }
        pressed
    });
    entry.ok().filter(|_| row.inner)
}
