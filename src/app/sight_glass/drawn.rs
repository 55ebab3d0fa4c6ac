//! The tube and what is in it. Draws only; the fuel goes upwards to the engine.
//!
//! Colours are mixed beforehand and drawn opaque: the window blends in linear light, where a translucent white over amber
//! comes out grey. Light on the glass only adds.

use bevy_egui::egui::{Color32, Mesh, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, vec2};

use super::{Feature, GlassState, Picture, TUBE_M, fixed};
use crate::app::symbols;
use crate::app::theme::mixed;
use crate::app::tokens::{LIGHT, Tokens};
use crate::instrument::sight::{Gas, Grain, Motion};

/// Bubbles that are drawn at most.
const MOST: usize = 460;
/// Strips of the mesh that shades the fuel across the tube.
const STRIPS: usize = 12;
/// Width at which the sizes below are as they are given.
const WIDTH: f32 = 60.0;

/// What a tube is drawn with.
struct Tube<'a> {
    painter: &'a Painter,
    rect: Rect,
    t: &'a Tokens,
    fuel: Color32,
    picture: &'a Picture,
    /// Tubes that the fuel has gone through.
    gone: f32,
    /// Way of the fuel in a frame, on the screen.
    smear: f32,
    age: f32,
}

/// Shapes for a falling level: it is the one thing that a picture which doesn't move wouldn't show.
pub fn falling(painter: &Painter, rect: Rect, picture: &Picture, t: &Tokens) {
    if !picture.sight.falling {
        return;
    }
    let k = rect.width() / WIDTH;
    let y = rect.top() + picture.gas.clamp(0.06, 0.95) * rect.height();
    let at = pos2(rect.center().x, y - 14.0 * k);
    symbols::arrow_head(painter, at + vec2(0.0, 7.0 * k), vec2(0.0, 1.0), 6.0 * k, t.ink, Stroke::NONE);
    painter.line_segment([at - vec2(0.0, 10.0 * k), at], Stroke::new(1.6, t.ink));
}

/// Draws the tube with its caps; without a picture it stays dry.
pub fn tube(painter: &Painter, rect: Rect, picture: Option<&Picture>, state: &GlassState, t: &Tokens) {
    let clip = painter.with_clip_rect(rect.intersect(painter.clip_rect()));
    match picture {
        None => {
            clip.rect_filled(rect, 0, t.ground);
        }
        Some(picture) => {
            let tube = Tube {
                painter: &clip,
                rect,
                t,
                fuel: milky(picture.tint.colour(t), picture),
                picture,
                gone: (state.gone_m / TUBE_M) as f32,
                smear: (state.last_m.abs() / TUBE_M) as f32 * rect.height(),
                age: state.age_s as f32,
            };
            tube.fill();
        }
    }
    frame(painter, rect, t);
}

/// The fuel's own colour, clouded by what is too fine to be drawn one by one.
fn milky(fuel: Color32, picture: &Picture) -> Color32 {
    let mut cloud: f32 = match picture.features()[0] {
        Feature::Mist => 0.16,
        Feature::Foam => 0.45,
        _ => 0.0,
    };
    if picture.features().contains(&Feature::Haze) {
        cloud = cloud.max(0.5);
    }
    mixed(fuel, LIGHT, cloud)
}

/// Wall, caps, marks at every centimetre and the light on the glass.
fn frame(painter: &Painter, rect: Rect, t: &Tokens) {
    let k = rect.width() / WIDTH;
    for side in [rect.left(), rect.right()] {
        painter.vline(side, rect.y_range(), Stroke::new(2.2 * k, t.ink));
    }
    let centimetres = (TUBE_M * 100.0).round() as usize;
    for i in 1..centimetres {
        let y = rect.bottom() - rect.height() * i as f32 / centimetres as f32;
        let long = if i % 5 == 0 { 11.0 } else { 6.0 };
        painter.line_segment([pos2(rect.left(), y), pos2(rect.left() + long * k, y)], Stroke::new(1.0, t.ink));
    }
    for (x, wide, strength) in [(0.20, 0.08, 0.16), (0.85, 0.03, 0.10)] {
        let left = rect.left() + rect.width() * x;
        let light = Rect::from_min_max(
            pos2(left, rect.top() + 6.0 * k),
            pos2(left + rect.width() * wide, rect.bottom() - 6.0 * k),
        );
        painter.rect_filled(light, 2, glow(strength));
    }
    for (y, dy) in [(rect.top(), -6.0), (rect.bottom(), 6.0)] {
        let cap =
            Rect::from_center_size(pos2(rect.center().x, y + dy * k), vec2(rect.width() + 18.0 * k, 12.0 * k));
        painter.rect_filled(cap, 2, t.ink);
        let ring = Rect::from_center_size(
            pos2(rect.center().x, y + dy.signum() * k),
            vec2(rect.width() + 6.0 * k, 3.0 * k),
        );
        painter.rect_filled(ring, 0, mixed(t.ink, t.faint, 0.5));
    }
}

/// Light on glass: it only adds.
fn glow(strength: f32) -> Color32 {
    let part = (255.0 * strength) as u8;
    Color32::from_rgba_premultiplied(part, part, (0.85 * 255.0 * strength) as u8, 0)
}

/// Direction and pace: one, two or three arrow heads on a line; a bar where it stands.
pub fn motion(painter: &Painter, at: Pos2, picture: &Picture, t: &Tokens) {
    let pace = picture.pace();
    if pace == 0 {
        painter.line_segment([at - vec2(5.0, 0.0), at + vec2(5.0, 0.0)], Stroke::new(2.0, t.ink));
        return;
    }
    let up = if picture.sight.motion == Motion::ToEngine { -1.0 } else { 1.0 };
    let half = 22.0 + 10.0 * pace as f32;
    let (tail, tip) = (at - vec2(0.0, up * half), at + vec2(0.0, up * half));
    painter.line_segment([tail, tip], Stroke::new(1.5, t.ink));
    for n in 0..pace {
        let head = tip - vec2(0.0, up * 10.0 * n as f32);
        symbols::arrow_head(painter, head, vec2(0.0, up), 5.0, t.ink, Stroke::NONE);
    }
}

impl Tube<'_> {
    fn k(&self) -> f32 {
        self.rect.width() / WIDTH
    }

    fn fill(&self) {
        let features = self.picture.features();
        let main = features[0];
        if main == Feature::Empty {
            self.painter.rect_filled(self.rect, 0, self.t.ground);
            self.wet_wall(self.rect, 16);
            let puddle = self.rect.with_min_y(self.rect.bottom() - 4.0 * self.k());
            self.shaded(puddle);
            return;
        }
        let wet = if main == Feature::Level { self.level() } else { self.rect };
        self.shaded(wet);
        match main {
            Feature::Motes => self.motes(),
            Feature::PinHeads => self.specks(26, 0.9, 1.3),
            Feature::Mist => {
                self.specks(120 + (self.picture.gas * 14_000.0) as usize, 0.7, 1.2);
            }
            Feature::Bubbles => self.bubbles(),
            Feature::Foam => self.foam(self.rect),
            Feature::Slugs => self.slugs(),
            _ => {}
        }
        if features.contains(&Feature::Flakes) {
            self.flakes(wet);
        }
        if features.contains(&Feature::Beads) {
            self.beads();
        }
    }

    /// Fuel: dark towards the walls, as a round tube looks.
    fn shaded(&self, rect: Rect) {
        let mut mesh = Mesh::default();
        for i in 0..=STRIPS {
            let share = i as f32 / STRIPS as f32;
            // 0 in the middle, 1 at the wall
            let off = (2.0 * share - 1.0).abs();
            let dark = 0.62 * off * off * off;
            let colour = Color32::from_rgb(
                (f32::from(self.fuel.r()) * (1.0 - 0.55 * dark)) as u8,
                (f32::from(self.fuel.g()) * (1.0 - 0.68 * dark)) as u8,
                (f32::from(self.fuel.b()) * (1.0 - 0.85 * dark)) as u8,
            );
            let x = rect.left() + rect.width() * share;
            mesh.colored_vertex(pos2(x, rect.top()), colour);
            mesh.colored_vertex(pos2(x, rect.bottom()), colour);
        }
        for i in 0..STRIPS as u32 {
            mesh.add_triangle(2 * i, 2 * i + 1, 2 * i + 2);
            mesh.add_triangle(2 * i + 1, 2 * i + 2, 2 * i + 3);
        }
        self.painter.add(Shape::mesh(mesh));
    }

    /// The fuel with so much light in it.
    fn tint(&self, light: f32) -> Color32 {
        mixed(self.fuel, LIGHT, light)
    }

    fn rim(&self) -> Color32 {
        Color32::from_rgb(
            (f32::from(self.fuel.r()) * 0.42) as u8,
            (f32::from(self.fuel.g()) * 0.38) as u8,
            (f32::from(self.fuel.b()) * 0.32) as u8,
        )
    }

    /// Where the `i`th thing that floats is: across, along (both 0 … 1), and how fast against the mean.
    fn adrift(&self, i: usize) -> (f32, f32, f32) {
        let side = fixed(i, 3) * 2.0 - 1.0;
        // near the wall it goes slower than in the middle
        let pace = 1.3 - 0.65 * side * side;
        (side, (fixed(i, 4) + self.gone * pace).rem_euclid(1.0), pace)
    }

    fn place(&self, (side, up): (f32, f32), r: f32) -> Pos2 {
        pos2(
            self.rect.center().x + side * (self.rect.width() / 2.0 - r - 2.0),
            self.rect.bottom() + r - up * (self.rect.height() + 2.0 * r),
        )
    }

    /// Hardly anything: enough to see that clear fuel moves.
    fn motes(&self) {
        if self.picture.sight.motion == Motion::Still {
            return;
        }
        let long = (4.0 + 30.0 * self.picture.speed_m_s.abs() as f32).min(22.0) * self.k();
        for i in 0..9 {
            let (side, up, _) = self.adrift(i);
            let at = self.place((side * 0.9, up), 1.0);
            let line = [at - vec2(0.0, long / 2.0), at + vec2(0.0, long / 2.0)];
            self.painter.line_segment(line, Stroke::new(1.0, self.tint(0.45)));
        }
    }

    /// Bubbles as fine as pin heads.
    fn specks(&self, count: usize, least: f32, most: f32) {
        for i in 0..count.min(MOST) {
            let r = (least + (most - least) * fixed(i, 1)) * self.k();
            let (side, up, pace) = self.adrift(i);
            let at = self.place((side, up), r);
            self.grain(at, r, self.smear * pace, false);
        }
    }

    fn bubbles(&self) {
        let gas = self.picture.gas;
        let still = self.picture.sight.motion == Motion::Still;
        let grain = self.picture.sight.grain.unwrap_or(Grain::Fine);
        let (count, least, most) = match grain {
            Grain::Fine => (34.0 + 900.0 * gas, 2.0, 2.9),
            Grain::Uneven => (12.0 + 300.0 * gas, 1.6, 8.6),
            Grain::Boiling => (12.0 + 320.0 * gas, 2.4, 6.4),
        };
        for i in 0..(count as usize).min(MOST) {
            let size = if grain == Grain::Uneven { fixed(i, 1) * fixed(i, 2) } else { fixed(i, 1) };
            let mut r = (least + (most - least) * size) * self.k();
            let (side, mut up, pace) = self.adrift(i);
            if still {
                // they have risen under the cap
                up = 1.0 - 0.30 * fixed(i, 4) * fixed(i, 6) - r / self.rect.height();
            }
            let boils = grain == Grain::Boiling;
            if boils {
                // grows from nothing and collapses again, each at a time of its own
                let beat = (self.age * 0.9 + fixed(i, 5)).fract();
                r *= 0.35 + 1.3 * (1.0 - (2.0 * beat - 1.0).abs());
            }
            self.grain(self.place((side, up), r), r, self.smear * pace, boils);
        }
    }

    /// One bubble: light inside, dark below, a spot of light above; vapour only as a ring. Fast ones are streaks.
    fn grain(&self, at: Pos2, r: f32, smear: f32, ring: bool) {
        let rim = self.rim();
        let edge = mixed(rim, self.fuel, 0.25);
        if smear > r.max(1.5) {
            let streak = Rect::from_center_size(at, Vec2::new(2.0 * r, 2.0 * r + smear.min(26.0 * self.k())));
            let edge = if r < 1.6 { Stroke::NONE } else { Stroke::new(0.6, mixed(rim, self.fuel, 0.5)) };
            self.painter.rect(streak, r, self.tint(if ring { 0.3 } else { 0.6 }), edge, StrokeKind::Inside);
            return;
        }
        if ring {
            self.painter.circle(at, r, self.tint(0.22), Stroke::new(1.4, edge));
            return;
        }
        if r < 1.6 {
            self.painter.circle_filled(at, r, self.tint(0.9));
            return;
        }
        self.painter.circle(at, r, self.tint(0.72), Stroke::new(0.9, edge));
        if r > 2.4 {
            self.painter.circle_filled(at + vec2(r * 0.22, r * 0.28), r * 0.52, self.tint(0.5));
            self.painter.circle_filled(at - vec2(r * 0.32, r * 0.36), r * 0.22, Color32::WHITE);
        }
    }

    /// Bubbles side by side, a grid that is pushed about, coarser for less gas.
    fn foam(&self, rect: Rect) {
        let pitch = (9.5 - 9.0 * (self.picture.gas - 0.08).clamp(0.0, 0.25)) * self.k();
        let columns = (rect.width() / pitch).ceil() as i32;
        let rows = (rect.height() / pitch).ceil() as i32 + 2;
        let moved = (self.gone * rect.height() / pitch).rem_euclid(rows as f32);
        let boils = self.picture.sight.grain == Some(Grain::Boiling);
        let rim = Stroke::new(0.9, mixed(self.rim(), self.fuel, 0.45));
        for row in 0..rows {
            for column in 0..=columns {
                let i = (row * 64 + column) as usize;
                let jump = vec2(fixed(i, 31) - 0.5, fixed(i, 32) - 0.5) * pitch * 0.55;
                let up = (row as f32 + moved).rem_euclid(rows as f32) - 1.0;
                let shift = if row % 2 == 0 { 0.0 } else { 0.5 };
                let at = pos2(rect.left() + (column as f32 + shift) * pitch, rect.bottom() - up * pitch) + jump;
                let mut r = pitch * (0.34 + 0.36 * fixed(i, 33));
                if boils {
                    r *= 0.55 + 0.7 * (1.0 - (2.0 * (self.age * 0.8 + fixed(i, 34)).fract() - 1.0).abs());
                }
                self.painter.circle(at, r, self.tint(if boils { 0.25 } else { 0.8 }), rim);
                if !boils && r > 2.2 {
                    self.painter.circle_filled(at - vec2(r * 0.3, r * 0.35), r * 0.2, Color32::WHITE);
                }
            }
        }
    }

    /// Plugs of gas that fill the bore, as long as the share of gas asks for: a round nose ahead, froth behind.
    fn slugs(&self) {
        let pitch = 0.64;
        let long = self.picture.gas.clamp(0.15, 0.9) * pitch * self.rect.height();
        let up = if self.picture.sight.motion == Motion::ToTank { 1.0 } else { -1.0 };
        for n in 0..4 {
            let along = (n as f32 * pitch + self.gone).rem_euclid(4.0 * pitch) - pitch;
            let tail = self.rect.bottom() - along * self.rect.height();
            self.plug(tail, tail + up * long, up);
        }
    }

    fn plug(&self, tail: f32, nose: f32, up: f32) {
        let half = self.rect.width() / 2.0 - 3.5 * self.k();
        let centre = self.rect.center().x;
        let round = (0.9 * half).min((nose - tail).abs());
        let mut outline = vec![pos2(centre - half, tail), pos2(centre - half, nose - up * round)];
        for i in 1..12 {
            let a = std::f32::consts::PI * (1.0 - i as f32 / 12.0);
            outline.push(pos2(centre + half * a.cos(), nose - up * round + up * round * a.sin()));
        }
        outline.extend([pos2(centre + half, nose - up * round), pos2(centre + half, tail)]);
        self.painter.add(Shape::convex_polygon(outline.clone(), self.t.ground, Stroke::new(1.4, self.rim())));
        for i in 0..14 {
            let at = pos2(
                centre + (fixed(i, 41) - 0.5) * 1.8 * half,
                tail - up * (2.0 + 15.0 * fixed(i, 42) * fixed(i, 43)) * self.k(),
            );
            self.grain(at, (1.4 + 2.0 * fixed(i, 44)) * self.k(), 0.0, false);
        }
    }

    /// Gas above, fuel below: the fuel that is left, and the wall above it.
    fn level(&self) -> Rect {
        let k = self.k();
        let share = self.picture.gas.clamp(0.06, 0.95);
        let y = self.rect.top() + share * self.rect.height();
        let dry = self.rect.with_max_y(y);
        self.painter.rect_filled(dry, 0, self.t.ground);
        self.wet_wall(dry, if self.picture.sight.falling { 14 } else { 5 });
        // fuel climbs a little at the wall
        let climb = 4.0 * k;
        for side in [-1.0, 1.0] {
            let wall = self.rect.center().x + side * self.rect.width() / 2.0;
            let corner = vec![pos2(wall, y - climb), pos2(wall, y), pos2(wall - side * 9.0 * k, y)];
            self.painter.add(Shape::convex_polygon(corner, self.fuel, Stroke::NONE));
        }
        self.painter.hline(self.rect.x_range().shrink(5.0 * k), y, Stroke::new(1.6, self.rim()));
        falling(self.painter, self.rect, self.picture, self.t);
        self.rect.with_min_y(y)
    }

    /// Drops that run down the wall.
    fn wet_wall(&self, rect: Rect, drops: usize) {
        let k = self.k();
        for i in 0..drops {
            let x = rect.left() + rect.width() * (0.06 + 0.88 * fixed(i, 51));
            let y = rect.top() + rect.height() * fixed(i, 52);
            let r = (1.2 + 1.4 * fixed(i, 53)) * k;
            let tail = (4.0 + 18.0 * fixed(i, 54)) * k;
            self.painter.line_segment(
                [pos2(x, (y - tail).max(rect.top())), pos2(x, y)],
                Stroke::new(r, mixed(self.t.ground, self.fuel, 0.45)),
            );
            self.painter.circle_filled(pos2(x, y), r, self.fuel);
        }
    }

    /// Wax: pale scraps at every angle.
    fn flakes(&self, rect: Rect) {
        for i in 0..46 {
            let (side, up, _) = self.adrift(i + 700);
            let at = self.place((side * 0.95, up), 2.0);
            if !rect.contains(at) {
                continue;
            }
            let a = std::f32::consts::TAU * fixed(i, 61) + self.gone;
            let (long, wide) = ((3.0 + 3.5 * fixed(i, 62)) * self.k(), (1.2 + 1.2 * fixed(i, 63)) * self.k());
            let (u, v) = (vec2(a.cos(), a.sin()) * long, vec2(-a.sin(), a.cos()) * wide);
            let scrap = vec![at - u, at + v * 0.9 - u * 0.2, at + u, at - v];
            self.painter.add(Shape::convex_polygon(
                scrap,
                LIGHT,
                Stroke::new(0.7, mixed(self.rim(), self.fuel, 0.4)),
            ));
        }
    }

    /// Water: heavier than fuel, so its beads lie at the foot; a few are carried along.
    fn beads(&self) {
        let k = self.k();
        let rim = Stroke::new(1.1, mixed(self.t.water, Color32::BLACK, 0.45));
        for i in 0..17 {
            let r = (2.4 + 3.4 * fixed(i, 71)) * k;
            let carried = i % 4 == 0 && self.picture.sight.gas != Gas::Empty;
            let at = if carried {
                let (side, up, _) = self.adrift(i + 900);
                self.place((side * 0.85, up), r)
            } else {
                let across = (fixed(i, 72) - 0.5) * (self.rect.width() - 2.0 * r - 6.0);
                let heap = 1.0 - (2.0 * across / self.rect.width()).abs();
                pos2(self.rect.center().x + across, self.rect.bottom() - r - 1.0 - 12.0 * k * heap * fixed(i, 73))
            };
            self.painter.circle(at, r, self.t.water, rim);
            self.painter.circle_filled(at - vec2(r * 0.3, r * 0.35), r * 0.28, Color32::WHITE);
        }
    }
}
