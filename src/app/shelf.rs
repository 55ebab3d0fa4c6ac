//! The first page: jobs to take from the shelf, what was begun, what is set, and what this is not.

use bevy_egui::egui::{
    self, Align, Align2, Layout, Rect, RichText, ScrollArea, Sense, Stroke, StrokeKind, Ui, WidgetInfo, WidgetType,
    pos2, vec2,
};

use super::session::{Begun, Card};
use super::theme::{RADIUS, heading, italic, quiet, regular, semibold, tokens};
use super::widgets;

/// What must be said before anything else.
pub const HABITS: &str = "Faultbay trains habits on invented vehicles. It is no procedure for a real machine: \
there, the law, your centre's risk assessment and the maker's data come first.";

/// What was asked for on the first page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taken {
    /// This job.
    Job(usize),
    /// This sitting that was begun.
    Begun(usize),
    /// The settings.
    Settings,
    /// The editor.
    Write,
}

/// Draws the shelf; returns what was taken.
pub fn shelf_ui(
    cards: &[Card],
    begun: &[Begun],
    can_write: bool,
    trouble: Option<&str>,
    ui: &mut Ui,
) -> Option<Taken> {
    let t = tokens(ui);
    let rect = ui.max_rect();
    ui.painter().rect_filled(rect, 0, t.ground);
    let column = Rect::from_center_size(rect.center(), vec2(rect.width().min(1180.0) - 24.0, rect.height() - 16.0));
    let mut taken = None;
    ui.scope_builder(egui::UiBuilder::new().max_rect(column), |ui| {
        ui.add_space(8.0);
        ui.horizontal(|ui| {
            ui.label(RichText::new("Faultbay").font(semibold(26.0)));
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                if widgets::small_button(ui, "settings", "Settings", true, "").clicked() {
                    taken = Some(Taken::Settings);
                }
                let why = "there is no folder to write to";
                if widgets::small_button(ui, "write a job", "Write a job", can_write, why).clicked() {
                    taken = Some(Taken::Write);
                }
            });
        });
        ui.label(quiet(ui, "The low-pressure fuel supply, found out with a test tee, a pen and a clear head."));
        ui.add_space(6.0);
        widgets::caution_chip(ui, HABITS);
        ui.add_space(8.0);
        if let Some(trouble) = trouble {
            ui.label(RichText::new(trouble).font(regular(14.0)).color(t.critical));
        }
        let rest = ui.available_rect_before_wrap();
        let beside = if begun.is_empty() || rest.width() < 900.0 { 0.0 } else { 340.0 };
        let jobs = rest.with_max_x(rest.right() - if beside > 0.0 { beside + 20.0 } else { 0.0 });
        ui.scope_builder(egui::UiBuilder::new().max_rect(jobs).id_salt("jobs"), |ui| {
            ScrollArea::vertical().id_salt("cards").auto_shrink([false, false]).show(ui, |ui| {
                if beside == 0.0 {
                    begun_ui(begun, &mut taken, ui);
                }
                jobs_ui(cards, &mut taken, ui);
            });
        });
        if beside > 0.0 {
            let side = rest.with_min_x(rest.right() - beside);
            ui.scope_builder(egui::UiBuilder::new().max_rect(side).id_salt("begun"), |ui| {
                ScrollArea::vertical().id_salt("kept").auto_shrink([false, false]).show(ui, |ui| {
                    begun_ui(begun, &mut taken, ui);
                });
            });
        }
    });
    taken
}

/// The jobs by the vehicle that they are about.
fn jobs_ui(cards: &[Card], taken: &mut Option<Taken>, ui: &mut Ui) {
    if cards.is_empty() {
        ui.label("No job was found on the shelf.");
    }
    let mut groups: Vec<&str> = Vec::new();
    for card in cards {
        if !groups.contains(&card.group.as_str()) {
            groups.push(&card.group);
        }
    }
    for group in groups {
        ui.add_space(4.0);
        ui.label(heading(group));
        for (i, card) in cards.iter().enumerate().filter(|(_, c)| c.group == group) {
            if card_ui(card, ui) {
                *taken = Some(Taken::Job(i));
            }
        }
    }
}

fn card_ui(card: &Card, ui: &mut Ui) -> bool {
    let t = tokens(ui);
    let width = ui.available_width() - 4.0;
    let said = ui.painter().layout(format!("“{}”", card.complaint), italic(14.0), t.ink, width - 32.0);
    let (rect, response) = ui.allocate_exact_size(vec2(width, 72.0 + said.size().y), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, format!("Take the job: {}", card.title)));
    let painter = ui.painter().with_clip_rect(rect.expand(3.0).intersect(ui.clip_rect()));
    let edge = if response.hovered() { t.ink } else { t.rule };
    painter.rect(rect, RADIUS, t.sheet, Stroke::new(1.0, edge), StrokeKind::Inside);
    let at = rect.min + vec2(16.0, 12.0);
    painter.text(at, Align2::LEFT_TOP, &card.title, semibold(17.0), t.ink);
    painter.text(at + vec2(0.0, 25.0), Align2::LEFT_TOP, &card.vehicle, regular(13.0), t.second_ink);
    painter.galley(at + vec2(0.0, 46.0), said, t.ink);
    let right = rect.right_top() + vec2(-16.0, 14.0);
    let words = format!("about {:.0} min · {}", card.minutes, card.mode);
    painter.text(right, Align2::RIGHT_TOP, words, regular(13.0), t.second_ink);
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    response.clicked()
}

/// Sittings to go on with, then those that are over.
fn begun_ui(begun: &[Begun], taken: &mut Option<Taken>, ui: &mut Ui) {
    for (over, title) in [(false, "Go on with"), (true, "Handed back")] {
        let mut any = false;
        for (i, sitting) in begun.iter().enumerate().filter(|(_, b)| b.over == over) {
            if !std::mem::replace(&mut any, true) {
                ui.add_space(4.0);
                ui.label(heading(title));
            }
            if row_ui(sitting, ui) {
                *taken = Some(Taken::Begun(i));
            }
        }
    }
}

fn row_ui(sitting: &Begun, ui: &mut Ui) -> bool {
    let t = tokens(ui);
    let width = ui.available_width() - 4.0;
    let (rect, response) = ui.allocate_exact_size(vec2(width, 48.0), Sense::click());
    let verb = if sitting.over { "See the result" } else { "Go on" };
    let said = format!("{verb}: {}, {}", sitting.title, sitting.about);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &said));
    let edge = if response.hovered() { t.ink } else { t.rule };
    let painter = ui.painter().with_clip_rect(rect.intersect(ui.clip_rect()));
    painter.rect(rect, RADIUS, t.sheet, Stroke::new(1.0, edge), StrokeKind::Inside);
    painter.text(rect.min + vec2(12.0, 7.0), Align2::LEFT_TOP, &sitting.title, semibold(13.5), t.ink);
    painter.text(
        pos2(rect.left() + 12.0, rect.bottom() - 7.0),
        Align2::LEFT_BOTTOM,
        &sitting.about,
        regular(12.5),
        t.second_ink,
    );
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    response.on_hover_text(said).clicked()
}
