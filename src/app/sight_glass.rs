//! The sight glass, large enough to judge what passes. Real speed, real share of gas; the places of
//! single bubbles are made up (by a fixed rule, so that the picture is the same every time).

use bevy_egui::egui::{
    Align2, Color32, Painter, Pos2, Rect, Sense, Shape, Stroke, StrokeKind, Ui, Vec2, WidgetInfo, WidgetType, pos2,
    vec2,
};

use super::symbols;
use super::theme::{faded, italic, regular, semibold, tokens};
use super::tokens::Tokens;
use crate::bay::observation::{Glass, GlassLook};

/// Length of tube that is seen, m.
pub const TUBE_M: f64 = 0.12;
/// Bubbles that are drawn at most.
const MOST: usize = 420;

/// What moves in the glass.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct GlassState {
    /// Way the fuel has gone, m. Kept within a thousand tubes.
    pub gone_m: f64,
    /// Way in the last frame, m: how far a bubble smears.
    pub last_m: f64,
}

impl GlassState {
    /// Moves the fuel on by a span of simulated time.
    pub fn advance(&mut self, glass: Option<&Glass>, secs: f64) {
        let speed = glass.map_or(0.0, |g| g.speed_m_s);
        self.last_m = speed * secs;
        self.gone_m = (self.gone_m + self.last_m) % (1000.0 * TUBE_M);
    }
}

/// The picture in words.
pub fn words(glass: Option<&Glass>) -> String {
    let Some(glass) = glass else { return "no tee fitted".to_owned() };
    let speed = glass.speed_m_s;
    if speed.abs() < 0.005 {
        format!("{}, standing still", glass.look.word())
    } else if speed > 0.0 {
        format!("{}, towards the engine", glass.look.word())
    } else {
        format!("{}, back to the tank", glass.look.word())
    }
}

/// A number from 0 to 1 that depends on nothing but `i` and `k`.
fn fixed(i: usize, k: u32) -> f32 {
    let mut h = (i as u32).wrapping_mul(0x9E37_79B9) ^ k.wrapping_mul(0x85EB_CA6B);
    h ^= h >> 15;
    h = h.wrapping_mul(0x2C1B_3C6D);
    h ^= h >> 12;
    h = h.wrapping_mul(0x297A_2D39);
    h ^= h >> 15;
    (h >> 8) as f32 / (1u32 << 24) as f32
}

/// How many bubbles of which radius (share of the bore) stand for a look.
fn bubbles(glass: &Glass) -> (usize, f32, f32) {
    let g = glass.gas_share.clamp(0.0, 1.0) as f32;
    match glass.look {
        GlassLook::Clear | GlassLook::Empty => (0, 0.0, 0.0),
        GlassLook::Mist => (30 + (g * 6000.0) as usize, 0.012, 0.028),
        GlassLook::Bubbles => (14 + (g * 500.0) as usize, 0.035, 0.085),
        GlassLook::Foam => (170 + (g * 700.0) as usize, 0.04, 0.12),
        GlassLook::Slugs => (40, 0.03, 0.08),
    }
}

/// Draws glass and text twin into what is left of `ui`.
pub fn sight_glass_ui(glass: Option<&Glass>, state: &GlassState, petrol: bool, reduced_motion: bool, ui: &mut Ui) {
    let own = *tokens(ui);
    let t = &Tokens { diesel: if petrol { own.petrol } else { own.diesel }, ..own };
    let rect = ui.available_rect_before_wrap();
    let said = words(glass);
    let response = ui.allocate_rect(rect, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, format!("Sight glass: {said}")));
    let painter = ui.painter().clone();
    let centre = rect.center().x - 4.0;
    let tube =
        Rect::from_min_max(pos2(centre - 27.0, rect.top() + 20.0), pos2(centre + 27.0, rect.bottom() - 76.0));
    body(&painter.with_clip_rect(tube), tube, glass, state, reduced_motion, t);
    frame(&painter, tube, t);
    if let Some(glass) = glass {
        flow_arrow(&painter, pos2(rect.right() - 12.0, tube.center().y), tube.height() * 0.6, glass.speed_m_s, t);
    }
    painter.text(
        pos2(rect.center().x, rect.bottom() - 50.0),
        Align2::CENTER_CENTER,
        "sight glass",
        semibold(13.0),
        t.ink,
    );
    let mut job = bevy_egui::egui::text::LayoutJob::simple(said, regular(12.0), t.second_ink, rect.width());
    job.halign = bevy_egui::egui::Align::Center;
    let galley = painter.layout_job(job);
    painter.galley(pos2(rect.center().x, rect.bottom() - 41.0), galley, t.second_ink);
}

fn frame(painter: &Painter, tube: Rect, t: &Tokens) {
    painter.rect_stroke(tube, 0, Stroke::new(2.0, t.ink), StrokeKind::Outside);
    for (y, dy) in [(tube.top(), -7.0), (tube.bottom(), 7.0)] {
        let cap = Rect::from_center_size(pos2(tube.center().x, y + dy), vec2(tube.width() + 20.0, 12.0));
        painter.rect_filled(cap, 2, t.ink);
    }
    let shine = Rect::from_min_max(tube.min + vec2(7.0, 5.0), pos2(tube.left() + 11.0, tube.bottom() - 5.0));
    painter.rect_filled(shine, 2, faded(Color32::WHITE, 0.28));
}

fn body(painter: &Painter, tube: Rect, glass: Option<&Glass>, state: &GlassState, still: bool, t: &Tokens) {
    let Some(glass) = glass else {
        painter.rect_filled(tube, 0, t.ground);
        let at = tube.center();
        painter.text(at, Align2::CENTER_CENTER, "–", italic(14.0), t.second_ink);
        return;
    };
    if glass.look == GlassLook::Empty {
        painter.rect_filled(tube, 0, t.ground);
        film(painter, tube, t);
        return;
    }
    fuel(painter, tube, t.diesel);
    let tubes = if still { 0.0 } else { (state.gone_m / TUBE_M) as f32 };
    if glass.look == GlassLook::Slugs {
        slugs(painter, tube, glass.gas_share as f32, tubes, t);
    }
    let smear = if still { 0.0 } else { (state.last_m / TUBE_M) as f32 * tube.height() };
    let (count, least, most) = bubbles(glass);
    let edge = Stroke::new(0.8, faded(t.ink, 0.55));
    let fill = faded(Color32::from_rgb(0xFF, 0xF6, 0xDC), 0.85);
    for i in 0..count.min(MOST) {
        let r = tube.width() * (least + (most - least) * fixed(i, 1) * fixed(i, 2));
        // bubbles near the wall go slower than in the middle
        let side = fixed(i, 3) * 2.0 - 1.0;
        let pace = 1.25 - 0.55 * side * side;
        let up = (fixed(i, 4) + tubes * pace).rem_euclid(1.0);
        let at = pos2(
            tube.center().x + side * (tube.width() / 2.0 - r - 1.0),
            tube.bottom() + r - up * (tube.height() + 2.0 * r),
        );
        bubble(painter, at, r, (smear * pace).abs().min(60.0), fill, edge);
    }
}

fn bubble(painter: &Painter, at: Pos2, r: f32, smear: f32, fill: Color32, edge: Stroke) {
    if smear < r {
        painter.circle(at, r, fill, if r > 1.6 { edge } else { Stroke::NONE });
    } else {
        // what the eye sees of a fast bubble: a streak as long as its way in a frame
        let streak = Rect::from_center_size(at, Vec2::new(2.0 * r, 2.0 * r + smear));
        painter.rect_filled(streak, r, faded(fill, 0.75));
    }
}

fn fuel(painter: &Painter, tube: Rect, diesel: Color32) {
    let side = Color32::from_rgb(
        (f32::from(diesel.r()) * 0.74) as u8,
        (f32::from(diesel.g()) * 0.70) as u8,
        (f32::from(diesel.b()) * 0.6) as u8,
    );
    let third = tube.width() * 0.4;
    let left = Rect::from_min_max(tube.min, pos2(tube.left() + third, tube.bottom()));
    let right = Rect::from_min_max(pos2(tube.right() - third, tube.top()), tube.max);
    painter.rect_filled(tube, 0, diesel);
    let across = bevy_egui::egui::Direction::LeftToRight;
    painter.add(Shape::gradient_rect(left, across, [side, diesel]));
    painter.add(Shape::gradient_rect(right, across, [diesel, side]));
}

/// Plugs of gas that fill the bore, as long as the share of gas asks for.
fn slugs(painter: &Painter, tube: Rect, gas: f32, tubes: f32, t: &Tokens) {
    let pitch = 0.62;
    let long = (gas.clamp(0.1, 0.95) * pitch) * tube.height();
    for i in -1..4 {
        let up = (i as f32 * pitch + tubes).rem_euclid(2.0 * pitch + 1.0) - pitch;
        let bottom = tube.bottom() - up * tube.height();
        let plug = Rect::from_min_max(pos2(tube.left() + 3.0, bottom - long), pos2(tube.right() - 3.0, bottom));
        painter.rect(plug, 14, t.ground, Stroke::new(1.0, faded(t.ink, 0.5)), StrokeKind::Inside);
    }
}

/// The wet wall of an empty tube.
fn film(painter: &Painter, tube: Rect, t: &Tokens) {
    for i in 0..9 {
        let x = tube.left() + tube.width() * fixed(i, 7);
        let y = tube.top() + tube.height() * fixed(i, 8);
        painter.circle_filled(pos2(x, y), 1.0 + 1.6 * fixed(i, 9), faded(t.diesel, 0.8));
    }
    let puddle = Rect::from_min_max(pos2(tube.left(), tube.bottom() - 5.0), tube.max);
    painter.rect_filled(puddle, 0, t.diesel);
}

fn flow_arrow(painter: &Painter, at: Pos2, length: f32, speed: f64, t: &Tokens) {
    if speed.abs() < 0.005 {
        return;
    }
    // the picture flows upwards towards the engine
    let up = if speed > 0.0 { -1.0 } else { 1.0 };
    let (tail, tip) = (at - vec2(0.0, up * length / 2.0), at + vec2(0.0, up * length / 2.0));
    painter.line_segment([tail, tip], Stroke::new(1.5, t.ink));
    symbols::arrow_head(painter, tip, vec2(0.0, up), 5.0, t.ink, Stroke::NONE);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn glass(look: GlassLook, gas_share: f64, speed_m_s: f64) -> Glass {
        Glass { look, gas_share, speed_m_s }
    }

    #[test]
    fn the_words_say_look_and_direction() {
        assert_eq!(words(None), "no tee fitted");
        assert_eq!(words(Some(&glass(GlassLook::Foam, 0.2, 0.4))), "foam, towards the engine");
        assert_eq!(words(Some(&glass(GlassLook::Clear, 0.0, 0.0))), "clear, standing still");
        assert_eq!(words(Some(&glass(GlassLook::Slugs, 0.5, -0.1))), "slugs, back to the tank");
    }

    #[test]
    fn fuel_goes_as_far_as_its_speed_says() {
        let mut state = GlassState::default();
        let g = glass(GlassLook::Clear, 0.0, 0.5);
        for _ in 0..60 {
            state.advance(Some(&g), 1.0 / 60.0);
        }
        assert!((state.gone_m - 0.5).abs() < 1e-9, "{}", state.gone_m);
        state.advance(None, 1.0);
        assert_eq!(state.last_m, 0.0);
    }

    #[test]
    fn more_gas_never_shows_fewer_bubbles_within_a_look() {
        for (look, low, high) in
            [(GlassLook::Mist, 0.003, 0.014), (GlassLook::Bubbles, 0.016, 0.07), (GlassLook::Foam, 0.09, 0.29)]
        {
            assert!(bubbles(&glass(look, low, 0.0)).0 < bubbles(&glass(look, high, 0.0)).0);
        }
        assert_eq!(bubbles(&glass(GlassLook::Clear, 0.0, 0.0)).0, 0);
    }
}
