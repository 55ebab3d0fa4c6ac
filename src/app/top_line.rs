//! The top line: which job, how late, how dear.

use bevy_egui::egui::{self, Align, Layout, RichText, Sense, Ui, WidgetInfo, WidgetType, vec2};

use super::bridge::Intent;
use super::symbols;
use super::theme::{bold_figures, figures, quiet, semibold, tokens};
use super::widgets;
use super::words::{clock, number};
use crate::bay::action::Micros;
use crate::bay::observation::Observation;
use crate::scenario::model::{Job, Mode};

/// What the line says.
#[derive(Clone, Debug, PartialEq)]
pub struct TopLine {
    /// Title.
    pub title: String,
    /// Customer, surroundings, vehicle as far as there is room for it; all of it stands on the job card.
    pub about: String,
    /// Simulated clock.
    pub clock: String,
    /// About how long.
    pub of: String,
    /// Credits.
    pub credits: String,
    /// Mode.
    pub mode: &'static str,
    /// An author sits the job that is being written, and may leave at any time.
    pub is_trial: bool,
}

impl TopLine {
    /// From job and observation.
    pub fn of(job: &Job, seen: &Observation, now: Micros, untimed: bool) -> Self {
        Self {
            title: job.title.clone(),
            about: format!(
                "{} · {} °C, {} m · {}",
                job.customer,
                number(job.plant.temperature.celsius(), 0),
                number(job.plant.altitude.si(), 0),
                job.plant.title.split(", ").take(2).collect::<Vec<_>>().join(", ")
            ),
            clock: clock(now),
            of: if untimed { String::new() } else { format!("of about {:.0} min", job.minutes) },
            credits: format!("{} credits", number(seen.credits, 0)),
            mode: match job.mode {
                Mode::Practice => "Practice",
                Mode::Assessment => "Assessment",
            },
            is_trial: false,
        }
    }
}

/// Draws it into what is left of `ui`.
pub fn top_line_ui(line: &TopLine, dark: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let rect = ui.available_rect_before_wrap().shrink2(vec2(14.0, 0.0));
    ui.scope_builder(egui::UiBuilder::new().max_rect(rect).layout(Layout::right_to_left(Align::Center)), |ui| {
        ui.spacing_mut().item_spacing.x = 10.0;
        if widgets::small_button(ui, "keys", "List of keys, F1", true, "").clicked() {
            intents.push(Intent::Keys);
        }
        if widgets::small_button(ui, "class", "Projector view, key F11", true, "").clicked() {
            intents.push(Intent::Projector);
        }
        if line.mode == "Practice"
            && widgets::small_button(ui, "teach", "For whoever teaches, key F9", true, "").clicked()
        {
            intents.push(Intent::Class);
        }
        if widgets::small_button(ui, "words", "Drawing, glass and chart in words, key W", true, "").clicked() {
            intents.push(Intent::Twin);
        }
        if widgets::small_button(ui, "settings", "Settings", true, "").clicked() {
            intents.push(Intent::Settings);
        }
        theme_switch(dark, ui, intents);
        if line.is_trial
            && widgets::small_button(ui, "back to the editor", "Back to the editor", true, "").clicked()
        {
            intents.push(Intent::ToShelf);
        }
        ui.label(quiet(ui, line.mode).size(13.0));
        ui.label(RichText::new(&line.credits).font(figures(13.5)));
        ui.label(quiet(ui, &line.of));
        let shown = ui.label(RichText::new(&line.clock).font(bold_figures(15.5)));
        shown.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, format!("Clock {}", line.clock)));
        ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
            ui.style_mut().wrap_mode = Some(egui::TextWrapMode::Truncate);
            ui.label(RichText::new(&line.title).font(semibold(16.5)));
            ui.label(quiet(ui, &line.about).size(13.0));
        });
    });
}

fn theme_switch(dark: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(32.0, 32.0), Sense::click());
    let name = if dark { "Paper, key B" } else { "Blueprint, key B" };
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, name));
    widgets::cell_background(ui, &response, rect, false);
    symbols::half_page(ui.painter(), rect.center(), t.ink, t.sheet);
    widgets::focus_ring(ui, &response, rect.shrink(1.0));
    if response.on_hover_text(name).clicked() {
        intents.push(Intent::Theme);
    }
}
