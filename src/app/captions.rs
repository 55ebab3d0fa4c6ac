//! What is heard, written on the drawing: so that nobody needs loudspeakers and nobody needs ears.

use crate::tell;
use bevy_egui::egui::{Align2, Pos2, Rect, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2};

use super::theme::{italic, tokens};

/// Captions that are shown at most; the loudest come first.
pub const MOST: usize = 2;

/// What is written: the loudest, and that there is more.
pub fn lines(sounds: &[&str]) -> Vec<String> {
    let mut lines: Vec<String> = sounds.iter().take(MOST).map(|s| (*s).to_owned()).collect();
    if sounds.len() > MOST
        && let Some(last) = lines.last_mut()
    {
        *last = tell!("captions-fainter", last = last);
    }
    lines
}

/// Draws the captions into the upper left corner of a field.
pub fn captions_ui(sounds: &[&str], field: Rect, ui: &mut Ui) {
    let lines = lines(sounds);
    if lines.is_empty() {
        return;
    }
    let t = tokens(ui);
    let room = (field.width() - 60.0).max(120.0);
    let galley = ui.painter().layout(lines.join("\n"), italic(12.5), t.ink, room);
    let back = Rect::from_min_size(field.min + vec2(2.0, 2.0), galley.size() + vec2(38.0, 8.0));
    let response = ui.interact(back, ui.id().with("captions"), Sense::hover());
    response.widget_info(|| {
        WidgetInfo::labeled(WidgetType::Label, true, tell!("captions-heard", sounds = lines.join(" ")))
    });
    let painter = ui.painter();
    painter.rect_filled(back, 0, t.sheet);
    waves(&pos2(back.left() + 10.0, back.top() + 12.0), Stroke::new(1.5, t.accent), ui);
    painter.galley(back.min + vec2(30.0, 4.0), galley, t.ink);
    if response.hovered() {
        let rest = sounds.iter().skip(MOST).copied().collect::<Vec<_>>().join(" ");
        painter.text(back.left_bottom() + vec2(30.0, 2.0), Align2::LEFT_TOP, rest, italic(12.5), t.second_ink);
    }
}

/// A source and three waves.
fn waves(at: &Pos2, stroke: Stroke, ui: &Ui) {
    ui.painter().circle_filled(*at, 2.0, stroke.color);
    for r in [5.0, 9.0, 13.0] {
        let arc: Vec<Pos2> = (-4..=4)
            .map(|i| {
                let a = std::f32::consts::FRAC_PI_4 * i as f32 / 4.0;
                *at + r * vec2(a.cos(), a.sin())
            })
            .collect();
        ui.painter().add(Shape::line(arc, stroke));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_loudest_are_written_and_more_is_hinted_at() {
        assert!(lines(&[]).is_empty());
        assert_eq!(lines(&["A hum."]), ["A hum."]);
        assert_eq!(lines(&["A.", "B.", "C."]), ["A.", "B. And fainter sounds."]);
    }
}
