//! Symbols after the rules of ISO 1219-1, drawn by ourselves on one grid with one stroke.

use bevy_egui::egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, vec2};

/// Filter or strainer: a diamond with a dashed line across the flow.
pub fn filter(painter: &Painter, at: Pos2, r: f32, fill: Color32, stroke: Stroke) {
    let points = vec![at + vec2(-r, 0.0), at + vec2(0.0, -r), at + vec2(r, 0.0), at + vec2(0.0, r)];
    painter.add(Shape::convex_polygon(points, fill, stroke));
    let across = [at + vec2(0.0, -r + 2.0), at + vec2(0.0, r - 2.0)];
    painter.extend(Shape::dashed_line(&across, Stroke::new(1.2, stroke.color), 3.0, 2.5));
}

/// Non-return valve: a ball in its seat, open towards the engine.
pub fn non_return(painter: &Painter, at: Pos2, fill: Color32, stroke: Stroke) {
    painter.circle(at, 12.0, fill, stroke);
    painter.add(Shape::line(vec![at + vec2(-2.0, -9.0), at + vec2(-9.0, 0.0), at + vec2(-2.0, 9.0)], stroke));
    painter.circle(at + vec2(-1.0, 0.0), 4.0, fill, stroke);
}

/// Pump: a circle with a full triangle in the direction of flow.
pub fn pump(painter: &Painter, at: Pos2, r: f32, fill: Color32, stroke: Stroke, ink: Color32) {
    painter.circle(at, r, fill, stroke);
    arrow_head(painter, at + vec2(r * 0.55, 0.0), vec2(1.0, 0.0), r * 0.62, ink, Stroke::NONE);
}

/// Hand primer: an arc over the filter.
pub fn primer(painter: &Painter, at: Pos2, stroke: Stroke) {
    let points = (0..=10)
        .map(|i| {
            let a = std::f32::consts::PI * (1.15 + 0.7 * i as f32 / 10.0);
            at + vec2(13.0 * a.cos(), 5.0 + 10.0 * a.sin())
        })
        .collect();
    painter.add(Shape::line(points, Stroke::new(2.0, stroke.color)));
}

/// Shut-off valve: two triangles tip to tip, with a lever that lies along the line when open.
pub fn valve(painter: &Painter, at: Pos2, open: f32, fill: Color32, stroke: Stroke, lever: Color32) {
    let (w, h) = (11.0, 9.0);
    let left = vec![at + vec2(-w, -h), at, at + vec2(-w, h)];
    let right = vec![at + vec2(w, -h), at, at + vec2(w, h)];
    let fill = if open <= 0.0 { stroke.color } else { fill };
    painter.add(Shape::convex_polygon(left, fill, stroke));
    painter.add(Shape::convex_polygon(right, fill, stroke));
    let pivot = at + vec2(0.0, -16.0);
    painter.line_segment([at, pivot], Stroke::new(2.0, stroke.color));
    // along the line when open, across it when shut
    let a = std::f32::consts::FRAC_PI_2 * (1.0 - open.clamp(0.0, 1.0));
    let tip = pivot + 20.0 * vec2(a.cos(), -a.sin());
    painter.line_segment([pivot, tip], Stroke::new(4.0, lever));
}

/// A filled head of an arrow with its tip at `tip`.
pub fn arrow_head(painter: &Painter, tip: Pos2, along: Vec2, r: f32, fill: Color32, stroke: Stroke) {
    let across = along.rot90();
    let base = tip - along * r * 1.6;
    painter.add(Shape::convex_polygon(vec![tip, base + across * r, base - across * r], fill, stroke));
}

/// Points of a quadratic bend.
pub fn bend(from: Pos2, over: Pos2, to: Pos2) -> Vec<Pos2> {
    (1..=12)
        .map(|i| {
            let s = i as f32 / 12.0;
            let r = 1.0 - s;
            let v = from.to_vec2() * (r * r) + over.to_vec2() * (2.0 * r * s) + to.to_vec2() * (s * s);
            v.to_pos2()
        })
        .collect()
}

/// Two bars.
pub fn pause(painter: &Painter, at: Pos2, ink: Color32) {
    for x in [-4.5, 1.5] {
        painter.rect_filled(Rect::from_min_size(at + vec2(x, -6.0), vec2(3.0, 12.0)), 0, ink);
    }
}

/// One or more triangles.
pub fn play(painter: &Painter, at: Pos2, heads: usize, ink: Color32) {
    let wide = 8.0;
    let left = at.x - wide * heads as f32 / 2.0;
    for i in 0..heads {
        let x = left + wide * i as f32;
        let points = vec![pos2(x, at.y - 6.0), pos2(x + wide, at.y), pos2(x, at.y + 6.0)];
        painter.add(Shape::convex_polygon(points, ink, Stroke::NONE));
    }
}

/// A page, half dark: paper or blueprint.
pub fn half_page(painter: &Painter, at: Pos2, ink: Color32, fill: Color32) {
    let page = Rect::from_center_size(at, vec2(12.0, 15.0));
    painter.rect(page, 1, fill, Stroke::new(1.5, ink), StrokeKind::Middle);
    painter.rect_filled(page.with_min_x(at.x), 0, ink);
}
