//! What the scene is drawn with: vehicle, tank, pipes, parts and joints, each in the drawing's units on a paper that
//! says where they lie on the screen.

use std::sync::Arc;

use bevy_egui::egui::{
    self, Align2, Color32, Galley, Pos2, Rect, Response, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2,
    vec2,
};

use super::{SceneView, seen};
use crate::app::bridge::Intent;
use crate::app::outlines;
use crate::app::scene_layout::{
    self as place, Carries, Field, PlacedJoint, PlacedPart, PlacedTank, container_field, second_field,
};
use crate::app::sight_glass::GlassState;
use crate::app::stage::{Flow, LINE_UNITS_A_METRE, TEE_HOSE, UNITS_A_METRE};
use crate::app::symbols::{self, Pen};
use crate::app::theme::{self, italic, regular, semibold};
use crate::app::tokens::Tokens;
use crate::app::widgets;
use crate::bay::observation::LeftOn;
use crate::bay::words::offer::Spot;
use crate::language::{named, said};
use crate::tell;

/// From the drawing's units to the screen.
#[derive(Clone, Copy)]
pub(super) struct Paper {
    /// Where the drawing's upper left corner lies on the screen.
    pub(super) origin: Pos2,
    /// Points a unit.
    pub(super) k: f32,
}

impl Paper {
    /// On the screen.
    pub(super) fn at(self, p: (f32, f32)) -> Pos2 {
        self.origin + vec2(p.0, p.1) * self.k
    }

    /// On the board, which knows nothing of where the drawing lies: it needn't be drawn anew when it is moved.
    fn on_board(self, p: (f32, f32)) -> Pos2 {
        pos2(p.0, p.1) * self.k
    }

    /// From the board to the screen.
    fn lies(self, p: Pos2) -> Pos2 {
        self.origin + p.to_vec2()
    }

    fn field(self, f: place::Field) -> Rect {
        Rect::from_min_max(self.on_board((f.0, f.1)), self.on_board((f.2, f.3)))
    }

    /// Letters of a label; in half points, as the letters that are drawn beforehand (`theme::warm`).
    fn font(self) -> f32 {
        ((23.0 * self.k).round() / 2.0).clamp(11.0, 22.0)
    }
}

/// What the drawing is done with: shapes go to the board, which bevy draws; letters are written on the screen.
pub(super) struct Sketch<'a> {
    pub(super) view: &'a SceneView,
    pub(super) paper: Paper,
    pub(super) t: &'static Tokens,
    pub(super) board: &'a egui::Painter,
    /// Fields that written names take, by part; the other names are shown on pointing.
    pub(super) names: Vec<Option<Field>>,
}

impl Sketch<'_> {
    /// Everything has room to be named.
    fn named(&self) -> bool {
        self.paper.k >= super::NAMED
    }

    /// Which parts can be named. In a small drawing letters keep their size, so that some names would lie on others, on
    /// symbols or joints: as many are written as have room.
    pub(super) fn name_parts(&mut self, ui: &Ui) {
        let parts = &self.view.layout.parts;
        if self.named() {
            self.names = parts.iter().map(PlacedPart::label_field).collect();
            return;
        }
        let k = self.paper.k;
        let mut taken: Vec<Field> = self.view.layout.joints.iter().map(|j| place::around(j.at, 7.0, 7.0)).collect();
        taken.extend(self.engine_field(ui));
        taken.extend(self.kit_fields());
        taken.extend(self.view.layout.pipe_fields());
        let tee = self.view.tee.as_ref().map(|(name, _)| name);
        taken.extend(self.view.layout.joints.iter().find(|j| Some(&j.name) == tee).map(place::tee_field));
        let written = |part: &PlacedPart| -> Option<Field> {
            let field = part.label_field()?;
            let font = regular(self.paper.font());
            let lines = part
                .short
                .iter()
                .map(|line| ui.painter().layout_no_wrap(line.clone(), font.clone(), self.t.second_ink).size());
            let (wide, high) =
                lines.fold((0.0_f32, 0.0), |(w, h), size| (w.max(size.x), h + (size.y - 1.0).max(place::LINE * k)));
            let half = wide / k / 2.0 + 2.0;
            let x = part.label_at.0;
            let (right, bottom) = self.view.layout.size;
            let written = (x - half, field.1, x + half, field.1 + high / k);
            (written.0 >= 0.0 && written.2 <= right && written.3 <= bottom).then_some(written)
        };
        self.names = vec![None; parts.len()];
        for (i, part) in parts.iter().enumerate() {
            let Some(field) = written(part) else { continue };
            let symbols = parts.iter().enumerate().filter(|(j, p)| *j != i && p.kind != "Tank" && p.kind != "Line");
            let on_symbol = symbols.map(|(_, p)| p.symbol()).any(|s| place::overlaps(field, s));
            if !on_symbol && !taken.iter().any(|t| place::overlaps(field, *t)) {
                self.names[i] = Some(field);
                taken.push(field);
            }
        }
    }

    fn is_named(&self, part: &PlacedPart) -> bool {
        let at = self.view.layout.parts.iter().position(|p| p.name == part.name);
        at.and_then(|i| self.names.get(i)).is_some_and(Option::is_some)
    }

    fn line(&self, width: f32) -> f32 {
        (width * self.paper.k).clamp(1.0, 2.0 * width)
    }

    fn fuel(&self) -> Color32 {
        self.view.tint.colour(self.t)
    }

    pub(super) fn vehicle(&self) {
        let stroke = Stroke::new(self.line(1.2), self.t.faint);
        let size = self.view.layout.size;
        let ground = self.paper.on_board((0.0, outlines::GROUND * size.1 / place::SIZE.1)).y;
        if self.view.layout.outline != outlines::Outline::Boat {
            let ends = self.paper.on_board((4.0, 0.0)).x..=self.paper.on_board((size.0 - 4.0, 0.0)).x;
            self.board.hline(ends, ground, Stroke::new(1.0, self.t.rule));
        }
        for drawn in outlines::strokes(self.view.layout.outline, size) {
            match drawn {
                outlines::Stroke::Line(points) => {
                    let points = points.into_iter().map(|p| self.paper.on_board(p)).collect();
                    self.board.add(Shape::line(points, stroke));
                }
                outlines::Stroke::Circle(at, r) => {
                    self.board.circle_stroke(self.paper.on_board(at), r * self.paper.k, stroke);
                }
            }
        }
    }

    /// How the vehicle stands on a slope, under its middle: it is drawn level all the same.
    pub(super) fn slope(&self, ui: &Ui) {
        if self.view.slope.is_empty() {
            return;
        }
        let (wide, high) = self.view.layout.size;
        let galley =
            ui.painter().layout_no_wrap(self.view.slope.clone(), semibold(self.paper.font()), self.t.caution);
        let at = self.paper.at((wide / 2.0, high - 4.0)) - vec2(galley.size().x / 2.0, galley.size().y);
        ui.painter().rect_filled(Rect::from_min_size(at, galley.size()).expand(2.0), 0, self.t.sheet);
        ui.painter().galley(at, galley, self.t.caution);
    }

    pub(super) fn tank(&self, tank: &PlacedTank, ui: &Ui) {
        let (t, k, painter) = (self.t, self.paper.k, self.board);
        let walls = self.paper.field(tank.field);
        // what is behind the tank doesn't show through it
        painter.rect_filled(walls, 0, t.sheet);
        let ink = Stroke::new(self.line(2.0), t.ink);
        if tank.main {
            // the level the dashboard claims: the wall itself is opaque
            let high = (walls.height() - 10.0 * k) * self.view.fuel_gauge.clamp(0.0, 1.0) as f32;
            let inner = walls.shrink(2.0 * k);
            let fuel = inner.with_min_y(inner.bottom() - high);
            painter.rect_filled(fuel, 0, theme::mixed(t.sheet, self.fuel(), 0.55));
            painter.hline(fuel.x_range(), fuel.top(), Stroke::new(1.0, self.fuel()));
        } else {
            // how full it is nothing says from outside: there is fuel in it, and no level
            painter.rect_filled(walls.shrink(2.0 * k), 0, theme::mixed(t.sheet, self.fuel(), 0.22));
        }
        painter.rect_stroke(walls, 2, ink, egui::StrokeKind::Middle);
        if !tank.main {
            return;
        }
        let thin = Stroke::new(self.line(1.5), t.ink);
        let by = |x: f32, y: f32| walls.left_top() + vec2(x, y) * k;
        // vent
        painter.add(Shape::line(vec![by(22.0, 0.0), by(22.0, -12.0), by(30.0, -12.0)], thin));
        symbols::arrow_head(painter, by(40.0, -12.0), vec2(1.0, 0.0), 5.5 * k, t.sheet, thin);
        // filler
        painter.add(Shape::line(vec![by(0.0, 12.0), by(-20.0, -2.0), by(-26.0, -34.0)], thin));
        let cap = if self.view.cap_open { by(-42.0, -46.0) } else { by(-27.0, -40.0) };
        let cap = Rect::from_center_size(cap, vec2(16.0, 9.0) * k);
        painter.rect(cap, 2, t.sheet, thin, egui::StrokeKind::Middle);
        let gauge = tell!("scene-fuel-gauge", percent = format!("{:.0}", self.view.fuel_gauge * 100.0));
        let font = || regular(self.paper.font());
        let by = |x: f32, y: f32| self.paper.lies(by(x, y));
        let painter = ui.painter();
        if widgets::widest(ui, [gauge.as_str()], &font()) < walls.width() - 10.0 * k {
            // the level doesn't run through it
            let full = (walls.height() / k - 10.0) * self.view.fuel_gauge.clamp(0.0, 1.0) as f32;
            let level = walls.height() / k - 2.0 - full;
            let y = if (level - 11.0).abs() < 10.0 { level + 11.0 } else { 11.0 };
            painter.text(by(7.0, y), Align2::LEFT_CENTER, gauge, font(), t.ink);
        }
        if self.named() {
            // a line that goes back to the tank may pass here
            let galley = painter.layout_no_wrap(said("scene-vent").to_owned(), font(), t.second_ink);
            let back = Align2::LEFT_CENTER.anchor_size(by(45.0, -12.0), galley.size());
            painter.rect_filled(back.shrink2(vec2(0.0, 2.0)), 0, t.sheet);
            painter.galley(back.min, galley, t.second_ink);
            let words = if self.view.cap_open { said("scene-cap-open") } else { said("scene-cap-shut") };
            let at = by(-15.0, -42.0);
            let at = pos2(at.x, at.y.max(ui.clip_rect().top() + 8.0));
            painter.text(at, Align2::LEFT_CENTER, words, font(), t.second_ink);
        }
    }

    pub(super) fn pipes(&self) {
        let (t, k) = (self.t, self.paper.k);
        let on_paper =
            |points: &[(f32, f32)]| -> Vec<Pos2> { points.iter().map(|p| self.paper.on_board(*p)).collect() };
        for pipe in &self.view.layout.pipes {
            let way = on_paper(&pipe.points);
            match pipe.carries {
                Carries::Feed => {
                    self.board.add(Shape::line(way.clone(), Stroke::new(6.0 * k, t.ink)));
                    self.board.add(Shape::line(way, Stroke::new(3.4 * k, self.fuel())));
                }
                Carries::Back => {
                    self.board.add(Shape::line(way.clone(), Stroke::new(self.line(1.5), t.ink)));
                    if let [.., before, tip] = way[..]
                        && pipe.arrow
                    {
                        let along = (tip - before).normalized();
                        symbols::arrow_head(self.board, tip, along, 4.5 * k, t.ink, Stroke::NONE);
                    }
                }
            }
        }
    }

    /// The line either side of the tee, where what moves in it can be seen.
    pub(super) fn flow(&self, glass: &GlassState, still: bool) -> Option<Flow> {
        let (tee, _) = self.view.tee.as_ref()?;
        let joint = self.view.layout.joints.iter().find(|j| j.name == *tee)?;
        let way = seen::beside(&self.view.layout.pipes, joint.at, seen::FAR)?;
        let way = way.into_iter().map(|(p, s)| (self.paper.on_board(p), s)).collect();
        let state = if still { GlassState::default() } else { *glass };
        let base = self.base_flow();
        Some(Flow { way, picture: self.view.glass, state, ..base })
    }

    fn base_flow(&self) -> Flow {
        Flow {
            way: vec![],
            k: self.paper.k,
            clear: TEE_HOSE,
            arrows: seen::FAR,
            a_metre: UNITS_A_METRE,
            picture: None,
            state: GlassState::default(),
            tokens: self.t,
        }
    }

    /// The vehicle's own lines as far as they are transparent: half a line each, as what comes in and what leaves may look
    /// different.
    pub(super) fn clear_lines(&self, moved: &[(String, GlassState)], still: bool) -> Vec<Flow> {
        let mut all = vec![];
        for (name, halves) in &self.view.clear {
            let layout = &self.view.layout;
            let Some(part) = layout.parts.iter().find(|p| p.name == *name) else { continue };
            let Some((way, clear)) = seen::clear_of_others(layout, part) else { continue };
            let state = moved.iter().find(|(line, _)| line == name).map_or(GlassState::default(), |(_, s)| *s);
            let state = if still { GlassState::default() } else { state };
            for (half, picture) in seen::halves(&way).into_iter().zip(halves) {
                let way = half.into_iter().map(|(p, s)| (self.paper.on_board(p), s)).collect();
                let (arrows, a_metre) = (0.0, LINE_UNITS_A_METRE);
                all.push(Flow { way, clear, arrows, a_metre, picture: Some(*picture), state, ..self.base_flow() });
            }
        }
        all
    }

    /// Chevrons in the line either side of the tee, as fast as the fuel in the glass: where no shader draws it.
    pub(super) fn chevrons(&self, flow: &Flow) {
        let back = flow.picture.is_some_and(|p| p.speed_m_s < 0.0);
        for (at, along, s) in seen::steps(&flow.way, flow.gone()) {
            let along = if back { -along } else { along };
            let wing = |side: f32| at + (along.rot90() * side * 1.7 - along * 2.6) * flow.k;
            let ink = Stroke::new(1.3 * flow.k, theme::faded(self.t.ink, 0.75 * (1.0 - s.abs() / 130.0)));
            self.board.add(Shape::line(vec![wing(1.0), at, wing(-1.0)], ink));
        }
    }

    fn pen(&self, hovered: bool, along: (f32, f32)) -> Pen<'_> {
        Pen {
            painter: self.board,
            k: self.paper.k,
            ink: Stroke::new(self.line(1.6), if hovered { self.t.accent } else { self.t.ink }),
            fill: self.t.sheet,
            accent: self.t.accent,
            along: vec2(along.0, along.1),
        }
    }

    pub(super) fn part(&self, part: &PlacedPart, ui: &mut Ui, intents: &mut Vec<Intent>) -> Pos2 {
        let t = self.t;
        let (at, on_board) = (self.paper.at(part.at), self.paper.on_board(part.at));
        let half = part.half * self.paper.k;
        let size = match part.kind {
            "Tank" => vec2(44.0, 32.0) * self.paper.k.max(0.8),
            // a line may be thin, its target isn't
            _ => vec2(1.0, 1.0) * (2.0 * half).max(if part.kind == "Line" { 18.0 } else { 32.0 }).min(64.0),
        };
        let rect = Rect::from_center_size(at, if part.kind == "Line" { vec2(size.x, 32.0) } else { size });
        let response = pressable(ui, rect, ("part", &part.name), &tell!("scene-part", part = part.label));
        let on = self.view.touched == Some(Spot::Part(part.name.clone()));
        let pen = self.pen(response.hovered() || on, part.along);
        let open = self.view.taps.iter().find(|(tap, _)| *tap == part.name).map_or(1.0, |(_, open)| *open as f32);
        match part.kind {
            "Engine" => self.engine(on_board, &pen, ui),
            kind => symbols::part(&pen, kind, on_board, part.half, open),
        }
        if part.primer {
            symbols::primer(&pen, on_board + vec2(0.0, -24.0) * self.paper.k);
        }
        if self.view.left_on.contains(&LeftOn::Jaws(part.name.clone())) {
            jaws(&pen, on_board);
        }
        if self.view.clamp.as_ref() == Some(&part.name) {
            let ring = on_board + vec2(24.0, -20.0) * self.paper.k;
            self.board.circle_stroke(ring, 7.0 * self.paper.k, Stroke::new(self.line(2.0), t.second_pen));
            let at = self.paper.lies(ring);
            ui.painter().text(at, Align2::CENTER_CENTER, "A", semibold(self.paper.font()), t.second_pen);
        }
        if on {
            self.board.circle_stroke(on_board, (part.half + 6.0) * self.paper.k, Stroke::new(1.5, t.accent));
        }
        self.name(part, &response, ui);
        if response.clicked() {
            intents.push(Intent::Touch(Spot::Part(part.name.clone())));
        }
        at
    }

    /// The name under a symbol; lines, and everything in a small drawing, are named when they are pointed at.
    fn name(&self, part: &PlacedPart, response: &Response, ui: &Ui) {
        let pointed = response.hovered() || response.has_focus();
        match part.label_field() {
            Some(field) if self.is_named(part) => {
                let font = regular(self.paper.font());
                let mut y = self.paper.at((0.0, field.1)).y;
                let x = self.paper.at(part.label_at).x;
                for line in &part.short {
                    let galley = ui.painter().layout_no_wrap(line.clone(), font.clone(), self.t.second_ink);
                    // in a small drawing letters keep their size, and their lines are as far apart as they need
                    let tall = galley.size().y - 1.0;
                    let pitch = (place::LINE * self.paper.k).max(tall);
                    let middle = pos2(x, y + pitch / 2.0);
                    let back = Rect::from_center_size(middle, vec2(galley.size().x + 2.0, tall));
                    let on_board = back.center() - self.paper.origin.to_vec2();
                    let tanks = &self.view.layout.tanks;
                    let inside_tank = tanks.iter().any(|t| self.paper.field(t.field).contains(on_board));
                    if !inside_tank {
                        ui.painter().rect_filled(back, 0, self.t.sheet);
                    }
                    let at = back.center() - galley.size() / 2.0;
                    if inside_tank {
                        // on fuel only the stronger ink is legible
                        ui.painter().galley_with_override_text_color(at, galley, self.t.ink);
                    } else {
                        ui.painter().galley(at, galley, self.t.second_ink);
                    }
                    y += pitch;
                }
            }
            _ if pointed && part.kind != "Tank" => {
                tag(
                    ui,
                    named(&part.label),
                    self.paper.at(part.at),
                    (part.half + 14.0) * self.paper.k + 8.0,
                    self.t,
                );
            }
            _ => {}
        }
    }

    fn engine(&self, at: Pos2, pen: &Pen<'_>, ui: &Ui) {
        let (k, t, painter) = (self.paper.k, self.t, ui.painter());
        let body = Rect::from_center_size(at, vec2(38.0, 36.0) * k);
        self.board.rect(body, 2, t.sheet, Stroke::new(self.line(2.0), pen.ink.color), egui::StrokeKind::Middle);
        let at = self.paper.lies(at);
        let letters = self.view.layout.engine;
        let size = if letters.len() > 3 { 11.0 } else { 13.0 };
        painter.text(at, Align2::CENTER_CENTER, letters, semibold(size * k.max(0.7)), t.ink);
        let (galley, back) = self.engine_words(at, ui);
        painter.rect_filled(back, 0, t.sheet);
        painter.galley(back.min, galley, t.ink);
    }

    /// How the engine runs, and where that is written under it.
    fn engine_words(&self, at: Pos2, ui: &Ui) -> (Arc<Galley>, Rect) {
        let words = self.view.engine.replace(", ", "\n");
        let galley = ui.painter().layout_no_wrap(words, semibold(self.paper.font()), self.t.ink);
        let edge = self.paper.at(self.view.layout.size).x;
        let left = (at.x - galley.size().x / 2.0).min(edge - galley.size().x);
        let back = Rect::from_min_size(pos2(left, at.y + 22.0 * self.paper.k), galley.size());
        (galley, back)
    }

    /// The field of the drawing that those words take: in a small one letters keep their size.
    fn engine_field(&self, ui: &Ui) -> Option<Field> {
        let engine = self.view.layout.parts.iter().find(|part| part.kind == "Engine")?;
        let (_, back) = self.engine_words(self.paper.at(engine.at), ui);
        let [a, b] = [back.min, back.max].map(|p| (p - self.paper.origin) / self.paper.k);
        Some((a.x, a.y, b.x, b.y))
    }

    pub(super) fn joint(&self, joint: &PlacedJoint, ui: &mut Ui, intents: &mut Vec<Intent>) -> Option<Pos2> {
        let (t, k) = (self.t, self.paper.k);
        let (at, on_board) = (self.paper.at(joint.at), self.paper.on_board(joint.at));
        let here = self.view.tee.as_ref().filter(|(name, _)| *name == joint.name);
        let name = match here {
            Some(_) => tell!("scene-joint-tee", joint = joint.label),
            None => tell!("scene-joint", joint = joint.label),
        };
        let rect = Rect::from_center_size(at, vec2(32.0, 32.0));
        let response = pressable(ui, rect, ("joint", &joint.name), &name);
        let touched = self.view.touched == Some(Spot::Joint(joint.name.clone()));
        let on = touched || self.view.picked.as_ref() == Some(&joint.name);
        let pen = self.pen(response.hovered() || on, (1.0, 0.0));
        if let Some((_, open)) = here {
            self.tee(joint, *open, &pen, ui);
        } else {
            self.board.circle(on_board, 5.5 * k, t.sheet, pen.ink);
            if on {
                self.board.circle_stroke(on_board, 9.0 * k, Stroke::new(1.5, t.accent));
            }
        }
        if self.view.container.as_ref() == Some(&joint.name) {
            self.container(on_board, ui);
        }
        if self.view.second.as_ref() == Some(&joint.name) {
            let head = on_board + vec2(0.0, 30.0 * k);
            self.board.line_segment([on_board, head], Stroke::new(self.line(1.5), t.ink));
            self.board.circle(head, 10.0 * k, t.sheet, Stroke::new(self.line(1.6), t.third_pen));
            let head = self.paper.lies(head);
            ui.painter().text(head, Align2::CENTER_CENTER, "P2", semibold(self.paper.font()), t.third_pen);
        }
        if self.view.left_on.contains(&LeftOn::Plug(joint.name.clone())) {
            let x = 8.0 * k;
            for y in [-9.0, 9.0] {
                self.board.line_segment(
                    [on_board + vec2(x - 3.0 * k, y * k), on_board + vec2(x + 3.0 * k, -y * k)],
                    Stroke::new(3.0 * k, t.caution),
                );
            }
            let over = at + vec2(x, -16.0 * k);
            ui.painter().text(
                over,
                Align2::CENTER_CENTER,
                said("scene-plug"),
                regular(self.paper.font()),
                t.caution,
            );
        }
        if (response.hovered() || response.has_focus() || on || here.is_some()) && !touched {
            let words = if here.is_some() {
                tell!("scene-tee-at", joint = joint.label)
            } else {
                named(&joint.label).to_owned()
            };
            self.joint_tag(joint, &words, ui);
        }
        if response.clicked() {
            intents.push(Intent::Touch(Spot::Joint(joint.name.clone())));
        }
        here.map(|_| at)
    }

    /// The name of a joint on a tag, where nothing else is written.
    fn joint_tag(&self, joint: &PlacedJoint, words: &str, ui: &Ui) {
        let font = regular(self.paper.font().max(12.0));
        let galley = ui.painter().layout_no_wrap(words.to_owned(), font, self.t.ink);
        let size = galley.size() + vec2(12.0, 6.0);
        let mut kit = self.kit_fields();
        kit.extend(self.engine_field(ui));
        kit.extend(self.names.iter().flatten());
        let middle = self.view.layout.tag_at(joint, (size.x / self.paper.k, size.y / self.paper.k), &kit);
        let middle = self.paper.at(middle);
        let back = Rect::from_center_size(middle, size);
        let at = self.paper.at(joint.at);
        let foot = pos2(
            at.x.clamp(back.left() + 4.0, back.right() - 4.0),
            if middle.y > at.y { back.top() } else { back.bottom() },
        );
        let stem = at + (foot - at).normalized() * 9.0;
        ui.painter().line_segment([stem, foot], Stroke::new(1.0, self.t.faint));
        ui.painter().rect_filled(back, theme::RADIUS, self.t.highlight);
        ui.painter().galley(back.min + vec2(6.0, 3.0), galley, self.t.ink);
    }

    /// Where container and second transducer hang.
    fn kit_fields(&self) -> Vec<Field> {
        let at = |name: &Option<String>| {
            self.view.layout.joints.iter().find(|j| name.as_ref() == Some(&j.name)).map(|j| j.at)
        };
        let container = at(&self.view.container).map(container_field);
        container.into_iter().chain(at(&self.view.second).map(second_field)).collect()
    }

    fn container(&self, joint: Pos2, ui: &Ui) {
        let (t, k, painter) = (self.t, self.paper.k, self.board);
        let by = |x: f32, y: f32| joint + vec2(x, y) * k;
        let body = Rect::from_min_size(by(-58.0, 26.0), vec2(40.0, 32.0) * k);
        painter.rect(body, 3, t.sheet, Stroke::new(self.line(1.5), t.ink), egui::StrokeKind::Middle);
        let fuel = body.shrink(3.0 * k).with_min_y(body.top() + 12.0 * k);
        painter.rect_filled(fuel, 1, theme::mixed(t.sheet, self.fuel(), 0.6));
        let hose = vec![joint, by(-8.0, 18.0), by(-38.0, 12.0), by(-38.0, 46.0)];
        painter.add(Shape::line(hose, Stroke::new(3.0 * k, t.ink)));
        let under = self.paper.lies(body.center_bottom() + vec2(0.0, 8.0 * k));
        ui.painter().text(under, Align2::CENTER_CENTER, said("scene-container"), regular(self.paper.font()), t.ink);
    }

    /// The tee with its valve on the side away from the pump, and its transducer above.
    fn tee(&self, joint: &PlacedJoint, open: f64, pen: &Pen<'_>, ui: &Ui) {
        let (t, k, painter) = (self.t, self.paper.k, self.board);
        let at = self.paper.on_board(joint.at);
        let side = if joint.pushed { 21.0 } else { -21.0 };
        symbols::valve(pen, at + vec2(side, 0.0) * k, open as f32);
        painter.circle_filled(at, 5.0 * k, t.ink);
        let head = at + vec2(0.0, -38.0) * k;
        painter.line_segment([at, head], Stroke::new(self.line(1.5), t.ink));
        painter.circle(head, 12.0 * k, t.sheet, Stroke::new(self.line(1.6), t.ink));
        let (head, painter) = (self.paper.lies(head), ui.painter());
        painter.text(head, Align2::CENTER_CENTER, "P", semibold(13.0 * k.max(0.8)), t.ink);
        if self.named() {
            let galley = painter.layout_no_wrap(self.view.zeroed.clone(), italic(self.paper.font()), t.second_ink);
            let size = galley.size();
            let (wide, high) = (size.x / k, size.y / k);
            let (x, y) = joint.at;
            let field = |left: f32, top: f32| (left, top, left + wide, top + high);
            // over the gauge where no lane runs, else beside it, on the side that the lever leaves free
            let over = field(x - wide / 2.0, y - 53.0 - high);
            let right = field(x + 17.0, y - 38.0 - high / 2.0);
            let left = field(x - 17.0 - wide, y - 38.0 - high / 2.0);
            let beside = if joint.pushed { [left, right] } else { [right, left] };
            let aside = [field(x + 2.0 - wide, y - 55.0 - high), field(x - 2.0, y - 55.0 - high)];
            let first = if y > 140.0 { [over, beside[0]] } else { [beside[0], over] };
            let wanted = [first[0], first[1], aside[0], aside[1], beside[1]];
            let free = self.view.layout.free(joint, &wanted);
            let back = Rect::from_min_size(self.paper.at((free.0, free.1)), size);
            painter.rect_filled(back.expand(1.0), 0, t.sheet);
            painter.galley(back.min, galley, t.second_ink);
        }
    }
}

/// Smooth jaws on a hose.
fn jaws(pen: &Pen<'_>, at: Pos2) {
    for side in [-1.0, 1.0] {
        let by = |x: f32, y: f32| at + vec2(x, y * side) * pen.k;
        pen.painter.add(Shape::line(
            vec![by(-9.0, 14.0), by(0.0, 3.0), by(9.0, 14.0)],
            Stroke::new(2.5 * pen.k, pen.accent),
        ));
    }
}

/// A name on a highlighted tag below what it names.
fn tag(ui: &Ui, words: &str, at: Pos2, below: f32, t: &Tokens) {
    let painter = ui.painter();
    let galley = painter.layout_no_wrap(words.to_owned(), regular(12.0), t.ink);
    let mut back = Rect::from_center_size(at + vec2(0.0, below), galley.size() + vec2(12.0, 6.0));
    let over = (back.right() - ui.max_rect().right()).max(0.0);
    back = back.translate(vec2(-over, 0.0));
    let under = (ui.max_rect().left() - back.left()).max(0.0);
    back = back.translate(vec2(under, 0.0));
    painter.line_segment([at + vec2(0.0, 10.0), pos2(at.x, back.top())], Stroke::new(1.0, t.faint));
    painter.rect_filled(back, theme::RADIUS, t.highlight);
    painter.galley(back.min + vec2(6.0, 3.0), galley, t.ink);
}

fn pressable(ui: &mut Ui, rect: Rect, salt: (&str, &str), name: &str) -> Response {
    let response =
        ui.interact(rect, ui.id().with(salt), Sense::click()).on_hover_cursor(egui::CursorIcon::PointingHand);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, ui.is_enabled(), name));
    widgets::focus_ring(ui, &response, rect.shrink(1.0));
    response
}
