//! The first page: jobs to take from the shelf, and what this is not.

use bevy_egui::egui::{
    self, Align2, RichText, ScrollArea, Sense, Stroke, StrokeKind, Ui, WidgetInfo, WidgetType, vec2,
};

use super::session::Card;
use super::theme::{RADIUS, italic, quiet, regular, semibold, tokens};
use super::widgets;

/// What must be said before anything else.
pub const HABITS: &str = "Faultbay trains habits on invented vehicles. It is no procedure for a real machine: \
there, the law, your centre's risk assessment and the maker's data come first.";

/// Draws the shelf; returns the job that was taken.
pub fn shelf_ui(cards: &[Card], trouble: Option<&str>, ui: &mut Ui) -> Option<usize> {
    let t = tokens(ui);
    let rect = ui.max_rect();
    ui.painter().rect_filled(rect, 0, t.ground);
    let column = egui::Rect::from_center_size(rect.center(), vec2(rect.width().min(860.0), rect.height() - 24.0));
    let mut taken = None;
    ui.scope_builder(egui::UiBuilder::new().max_rect(column), |ui| {
        ui.add_space(12.0);
        ui.label(RichText::new("Faultbay").font(semibold(26.0)));
        ui.label(quiet(ui, "The low-pressure fuel supply, found out with a test tee, a pen and a clear head."));
        ui.add_space(8.0);
        widgets::caution_chip(ui, HABITS);
        ui.add_space(10.0);
        if let Some(trouble) = trouble {
            ui.label(RichText::new(trouble).font(regular(14.0)).color(t.critical));
        }
        if cards.is_empty() {
            ui.label("No job was found on the shelf.");
        }
        ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            for (i, card) in cards.iter().enumerate() {
                if card_ui(card, ui) {
                    taken = Some(i);
                }
            }
        });
    });
    taken
}

fn card_ui(card: &Card, ui: &mut Ui) -> bool {
    let t = tokens(ui);
    let width = ui.available_width() - 4.0;
    let said = ui.painter().layout(format!("“{}”", card.complaint), italic(14.0), t.ink, width - 32.0);
    let (rect, response) = ui.allocate_exact_size(vec2(width, 72.0 + said.size().y), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, format!("Take the job: {}", card.title)));
    let painter = ui.painter().with_clip_rect(rect.expand(3.0));
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
