//! The form of pictures on the job card: which, and the same in words.

use bevy_egui::egui::Ui;

use super::Order;
use super::fields::{Form, row_buttons_width, text_value};
use crate::app::pictures::pictures_ui;
use crate::app::theme::quiet;
use crate::app::widgets;
use crate::language::said;
use crate::scenario::Library;
use crate::scenario::model::Shown;
use crate::scenario::patch::quoted;
use crate::tell;

/// Pictures, each with what it shows.
pub fn shown_ui(f: &mut Form<'_>, library: &Library, folder: &str, ui: &mut Ui) {
    f.heading(ui, said("shown-title"), said("shown-lead"));
    ui.label(quiet(ui, tell!("shown-where", folder = folder)));
    let words = said("shown-look-again");
    if widgets::button(ui, widgets::Weight::Plain, words, words, true, "").clicked() {
        f.orders.push(Order::Pictures);
    }
    let form = f.form;
    let options: Vec<(String, String)> = library.pictures().into_iter().map(|n| (n.clone(), n)).collect();
    let count = form.pictures.len();
    for (i, (name, shows)) in form.pictures.iter().enumerate() {
        let place = format!("pictures[{i}].name");
        ui.horizontal(|ui| {
            let width = ui.available_width() - row_buttons_width(ui);
            if let Some(picked) = f.pick(ui, &place, &tell!("shown-file", n = i + 1), &options, name, width) {
                f.edit(vec![text_value(&place, &picked)]);
            }
            f.row_buttons(ui, "pictures", said("shown-row"), i, count);
        });
        f.problems(ui, &place);
        if let Some(picture) = library.picture(name) {
            pictures_ui(&[Shown { name: name.clone(), shows: shows.clone(), picture: picture.clone() }], ui);
        }
        let place = format!("pictures[{i}].shows");
        f.words(ui, &place, &tell!("shown-words", n = i + 1), shows, said("shown-words-hint"), 2);
        f.problems(ui, &format!("pictures[{i}]"));
    }
    let is_left = |name: &&(String, String)| !form.pictures.iter().any(|(n, _)| *n == name.0);
    let next = options.iter().find(is_left).map(|o| o.0.clone());
    let why = if next.is_some() { "" } else { said("shown-none-left") };
    let words = said("shown-add");
    if widgets::button(ui, widgets::Weight::Plain, words, words, why.is_empty(), why).clicked() {
        let entry = format!("(name: {}, shows: \"\")", quoted(&next.unwrap_or_default()));
        f.edit(vec![crate::scenario::patch::Edit::insert("pictures", count, entry)]);
        f.orders.push(Order::Focus(format!("pictures[{count}].shows")));
    }
    f.problems(ui, "pictures");
}
