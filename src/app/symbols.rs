//! Symbols after the rules of ISO 1219-1, drawn by ourselves on one grid with one stroke.

use bevy_egui::egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, vec2};

use super::tokens::Tokens;

/// What a symbol is drawn with: brush, size of the drawing's unit on the screen, colours.
pub struct Pen<'a> {
    /// Draws.
    pub painter: &'a Painter,
    /// Size of one unit on the screen.
    pub k: f32,
    /// Lines.
    pub ink: Stroke,
    /// Inside.
    pub fill: Color32,
    /// Levers and what can be moved.
    pub accent: Color32,
    /// Direction of flow on the screen, of length 1.
    pub along: Vec2,
}

impl Pen<'_> {
    /// A point beside `at`: so far along the flow, so far across it (to the right hand), in units.
    fn by(&self, at: Pos2, along: f32, across: f32) -> Pos2 {
        at + (self.along * along + self.along.rot90() * across) * self.k
    }

    fn line(&self, points: Vec<Pos2>) {
        self.painter.add(Shape::line(points, self.ink));
    }

    fn closed(&self, points: Vec<Pos2>, fill: Color32) {
        self.painter.add(Shape::convex_polygon(points, fill, self.ink));
    }

    fn circle(&self, at: Pos2, r: f32) {
        self.painter.circle(at, r * self.k, self.fill, self.ink);
    }

    fn dashed(&self, points: [Pos2; 2]) {
        let thin = Stroke::new(self.ink.width * 0.75, self.ink.color);
        self.painter.extend(Shape::dashed_line(&points, thin, 3.0 * self.k, 2.5 * self.k));
    }
}

/// The symbol of a part, by the kind in an author's words; `half` is half its size, `open` the lever of a valve.
pub fn part(pen: &Pen<'_>, kind: &str, at: Pos2, half: f32, open: f32) {
    match kind {
        "Strainer" | "Filter" => filter(pen, at, half),
        "SedimentBowl" => bowl(pen, at, half),
        "NonReturnValve" => non_return(pen, at),
        "ShutOffValve" => valve(pen, at, open),
        "Relief" => relief(pen, at),
        "HandPrimer" => bulb(pen, at),
        "GearPump" => pump(pen, at, half),
        "DiaphragmPump" => diaphragm(pen, at, half),
        "ElectricPump" => electric(pen, at, half),
        "JetPump" => jet(pen, at),
        "Restriction" => narrowing(pen, at),
        "SwirlPot" => pot(pen, at),
        // a cuff on the line: to press, without looking like a joint
        "Line" => {
            let corner = |a: f32, b: f32| pen.by(at, a, b);
            pen.closed(vec![corner(-4.5, -5.5), corner(4.5, -5.5), corner(4.5, 5.5), corner(-4.5, 5.5)], pen.fill);
        }
        _ => {}
    }
}

/// Filter or strainer: a diamond with a dashed line across the flow.
fn filter(pen: &Pen<'_>, at: Pos2, r: f32) {
    pen.closed(vec![pen.by(at, -r, 0.0), pen.by(at, 0.0, -r), pen.by(at, r, 0.0), pen.by(at, 0.0, r)], pen.fill);
    pen.dashed([pen.by(at, 0.0, -r + 2.0), pen.by(at, 0.0, r - 2.0)]);
}

/// Separator: a diamond with what settles at its foot, and a drain.
fn bowl(pen: &Pen<'_>, at: Pos2, r: f32) {
    pen.closed(vec![pen.by(at, -r, 0.0), pen.by(at, 0.0, -r), pen.by(at, r, 0.0), pen.by(at, 0.0, r)], pen.fill);
    let foot = at + vec2(0.0, r * pen.k);
    let level = 0.45 * r * pen.k;
    pen.closed(vec![foot + vec2(-level, -level), foot + vec2(level, -level), foot], pen.ink.color);
    pen.line(vec![foot, foot + vec2(0.0, 3.0 * pen.k)]);
}

/// Non-return valve: a ball in its seat, free to leave it along the flow.
fn non_return(pen: &Pen<'_>, at: Pos2) {
    pen.circle(at, 12.0);
    pen.line(vec![pen.by(at, -1.0, -8.0), pen.by(at, -8.0, 0.0), pen.by(at, -1.0, 8.0)]);
    pen.circle(pen.by(at, -0.5, 0.0), 4.0);
}

/// Shut-off valve: two triangles tip to tip, with a lever that lies along the line when open.
pub fn valve(pen: &Pen<'_>, at: Pos2, open: f32) {
    let (w, h) = (11.0, 9.0);
    let fill = if open <= 0.0 { pen.ink.color } else { pen.fill };
    for side in [-w, w] {
        pen.closed(vec![pen.by(at, side, -h), at, pen.by(at, side, h)], fill);
    }
    let pivot = at + vec2(0.0, -16.0 * pen.k);
    pen.painter.line_segment([at, pivot], Stroke::new(2.0 * pen.k, pen.ink.color));
    // along the line when open, across it when shut
    let a = std::f32::consts::FRAC_PI_2 * (1.0 - open.clamp(0.0, 1.0));
    let tip = pivot + 18.0 * pen.k * vec2(a.cos(), -a.sin());
    pen.painter.line_segment([pivot, tip], Stroke::new(3.5 * pen.k, pen.accent));
}

/// Relief valve or regulator: a box with an arrow that a spring holds off the line.
fn relief(pen: &Pen<'_>, at: Pos2) {
    let corner = |a: f32, b: f32| pen.by(at, a, b);
    pen.closed(vec![corner(-9.0, -9.0), corner(9.0, -9.0), corner(9.0, 9.0), corner(-9.0, 9.0)], pen.fill);
    pen.line(vec![corner(-9.0, 3.0), corner(4.0, 3.0)]);
    arrow_head(pen.painter, corner(8.5, 3.0), pen.along, 3.4 * pen.k, pen.ink.color, Stroke::NONE);
    // the spring stands on the side away from the arrow
    let spring = (0..=6).map(|i| corner(if i % 2 == 0 { -3.0 } else { 3.0 }, -9.0 - i as f32 * 1.1)).collect();
    pen.line(spring);
}

/// Primer bulb in the line.
fn bulb(pen: &Pen<'_>, at: Pos2) {
    let round = (0..24)
        .map(|i| {
            let a = std::f32::consts::TAU * i as f32 / 24.0;
            pen.by(at, 14.0 * a.cos(), 8.0 * a.sin())
        })
        .collect();
    pen.closed(round, pen.fill);
    arrow_head(pen.painter, pen.by(at, 5.0, 0.0), pen.along, 3.4 * pen.k, pen.ink.color, Stroke::NONE);
}

/// Pump: a circle with a full triangle in the direction of flow.
fn pump(pen: &Pen<'_>, at: Pos2, r: f32) {
    pen.circle(at, r);
    arrow_head(pen.painter, pen.by(at, r * 0.55, 0.0), pen.along, r * 0.62 * pen.k, pen.ink.color, Stroke::NONE);
}

/// Diaphragm pump: the pump with its skin and the lever that moves it.
fn diaphragm(pen: &Pen<'_>, at: Pos2, r: f32) {
    pen.circle(at, r);
    arrow_head(pen.painter, pen.by(at, r * 0.8, 0.0), pen.along, r * 0.42 * pen.k, pen.ink.color, Stroke::NONE);
    let skin = (0..=8)
        .map(|i| {
            let v = i as f32 / 4.0 - 1.0;
            pen.by(at, -3.0 - 5.0 * (1.0 - v * v), v * r * 0.86)
        })
        .collect();
    pen.line(skin);
    let top = at + vec2(0.0, -r * pen.k);
    pen.line(vec![top, top + vec2(0.0, -7.0 * pen.k), top + vec2(12.0 * pen.k, -9.0 * pen.k)]);
}

/// Electric pump: the pump with its motor.
fn electric(pen: &Pen<'_>, at: Pos2, r: f32) {
    let motor = at + vec2(0.0, -(r + 6.0) * pen.k);
    pen.line(vec![motor, at]);
    pen.circle(motor, 6.0);
    pump(pen, at, r);
    let m = [(-2.6, 2.6), (-2.6, -2.4), (0.0, 1.0), (2.6, -2.4), (2.6, 2.6)];
    let m = m.into_iter().map(|(x, y)| motor + vec2(x, y) * pen.k).collect();
    pen.painter.add(Shape::line(m, Stroke::new(1.1 * pen.k, pen.ink.color)));
}

/// Jet pump: a nozzle before a throat.
fn jet(pen: &Pen<'_>, at: Pos2) {
    for side in [-1.0, 1.0] {
        pen.line(vec![
            pen.by(at, -3.0, side * 9.0),
            pen.by(at, 2.0, side * 3.5),
            pen.by(at, 7.0, side * 3.5),
            pen.by(at, 12.0, side * 7.0),
        ]);
    }
    pen.closed(vec![pen.by(at, -12.0, -5.0), pen.by(at, -1.0, 0.0), pen.by(at, -12.0, 5.0)], pen.ink.color);
}

/// Narrowing: two arcs that leave little between them.
fn narrowing(pen: &Pen<'_>, at: Pos2) {
    let corner = |a: f32, b: f32| pen.by(at, a, b);
    let ground = vec![corner(-9.0, -9.0), corner(9.0, -9.0), corner(9.0, 9.0), corner(-9.0, 9.0)];
    pen.painter.add(Shape::convex_polygon(ground, pen.fill, Stroke::NONE));
    pen.line(vec![corner(-10.0, 0.0), corner(10.0, 0.0)]);
    for side in [-1.0, 1.0] {
        let arc = (0..=10)
            .map(|i| {
                let v = i as f32 / 5.0 - 1.0;
                corner(v * 9.0, side * (9.0 - 6.0 * (1.0 - v * v)))
            })
            .collect();
        pen.line(arc);
    }
}

/// Swirl pot: a cup.
fn pot(pen: &Pen<'_>, at: Pos2) {
    let up = |x: f32, y: f32| at + vec2(x, y) * pen.k;
    pen.painter.rect_filled(Rect::from_min_max(up(-11.0, -8.0), up(11.0, 12.0)), 0, pen.fill);
    pen.line(vec![up(-12.0, -12.0), up(-12.0, 12.0), up(12.0, 12.0), up(12.0, -12.0)]);
    let turn = (0..=14)
        .map(|i| {
            let a = 0.6 + 5.2 * i as f32 / 14.0;
            up(6.5 * a.cos(), 1.0 + 5.0 * a.sin())
        })
        .collect();
    pen.line(turn);
}

/// Hand primer: an arc over the filter.
pub fn primer(pen: &Pen<'_>, at: Pos2) {
    let points = (0..=10)
        .map(|i| {
            let a = std::f32::consts::PI * (1.15 + 0.7 * i as f32 / 10.0);
            at + vec2(13.0 * a.cos(), 5.0 + 10.0 * a.sin()) * pen.k
        })
        .collect();
    pen.painter.add(Shape::line(points, Stroke::new(2.0 * pen.k, pen.ink.color)));
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

/// A lock with its slot: off, on, start.
pub fn lock(painter: &Painter, at: Pos2, turned: usize, t: &Tokens) {
    painter.circle(at, 7.5, t.sheet, Stroke::new(1.4, t.ink));
    let a = std::f32::consts::FRAC_PI_4 * turned as f32;
    let arm = 4.5 * vec2(a.sin(), -a.cos());
    painter.line_segment([at - arm, at + arm], Stroke::new(2.2, if turned == 0 { t.ink } else { t.accent }));
}

/// A filler neck with its cap on it, or beside it.
pub fn cap(painter: &Painter, at: Pos2, open: bool, t: &Tokens) {
    let line = Stroke::new(1.4, t.ink);
    for x in [-3.5, 3.5] {
        painter.line_segment([at + vec2(x, -1.0), at + vec2(x, 7.0)], line);
    }
    let middle = if open { at + vec2(4.5, -5.5) } else { at + vec2(0.0, -3.0) };
    let lid = Rect::from_center_size(middle, vec2(11.0, 4.0));
    painter.rect(lid, 2, if open { t.sheet } else { t.ink }, line, StrokeKind::Middle);
}

/// A hand primer's bulb: `firm` 1 is full, 0 flat; before anything was felt it is drawn empty.
pub fn hand_bulb(painter: &Painter, at: Pos2, firm: f32, felt: bool, t: &Tokens) {
    let (long, high) = (10.0, 2.0 + 4.5 * firm);
    let arc = |up: f32| {
        (0..=12).map(move |i| {
            let x = -1.0 + i as f32 / 6.0;
            at + vec2(long * x, up * high * (1.0 - x * x))
        })
    };
    let outline: Vec<Pos2> = arc(-1.0).chain(arc(1.0).rev()).collect();
    if felt {
        painter.add(Shape::convex_polygon(outline.clone(), t.highlight, Stroke::NONE));
    }
    painter.add(Shape::closed_line(outline, Stroke::new(1.4, t.ink)));
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
