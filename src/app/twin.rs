//! Scene, glass and trace in words: the same for a reader who doesn't see the pictures.

use crate::language::said;
use bevy_egui::egui::Ui;

use super::theme::heading;
use super::widgets::{self, Weight};

/// Draws the sheet of words; gives whether it is to be closed.
pub fn twin_ui(words: &[(&'static str, Vec<String>)], ui: &mut Ui) -> bool {
    let (closed, away) = widgets::over_all(ui, "twin", 560.0, |ui| {
        for (title, lines) in words.iter().filter(|(_, lines)| !lines.is_empty()) {
            ui.label(heading(*title));
            for line in lines {
                ui.label(line);
            }
            ui.add_space(6.0);
        }
        widgets::button(ui, Weight::Plain, said("close-button"), said("twin-close"), true, "").clicked()
    });
    closed || away
}
