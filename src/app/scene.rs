//! The place: the supply drawn along the outline of the vehicle. Draws, and tells what was touched; where things
//! stand comes from [`super::scene_layout`], what can be done there from [`super::touch`].

use bevy_egui::egui::{
    self, Align2, Color32, Pos2, Rect, Response, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

use super::bridge::Intent;
use super::outlines;
use super::scene_layout::{self as place, Carries, Layout, PlacedJoint, PlacedPart, PlacedTank};
use super::sight_glass::GlassState;
use super::symbols::{self, Pen};
use super::theme::{self, italic, regular, semibold, tokens};
use super::tokens::Tokens;
use super::widgets;
use crate::bay::observation::{EngineRun, Observation};
use crate::bay::words::offer::Spot;
use crate::scenario::model::Job;

/// Height of the line under the drawing.
pub const FOOT: f32 = 36.0;
/// Below this size of the drawing's unit names would be too small to read; they are shown on pointing.
const NAMED: f32 = 0.86;
/// Units of the drawing a metre of way in the glass: a van of 4 m is 752 units long, and the fuel is 2.25 times
/// as fast in a line of 8 mm as in the glass of 12 mm.
const UNITS_A_METRE: f32 = 188.0 * 2.25;

/// How the drawing is looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct SceneState {
    /// 1: all of it is in sight.
    pub zoom: f32,
    /// How far it was moved, in its units.
    pub moved: (f32, f32),
}

impl Default for SceneState {
    fn default() -> Self {
        Self { zoom: 1.0, moved: (0.0, 0.0) }
    }
}

impl SceneState {
    /// Larger or smaller about the middle.
    pub fn zoom_by(&mut self, factor: f32) {
        self.zoom = (self.zoom * factor).clamp(1.0, 6.0);
        if self.zoom == 1.0 {
            self.moved = (0.0, 0.0);
        }
    }

    /// All of it.
    pub fn fit(&mut self) {
        *self = Self::default();
    }
}

/// What the scene shows.
pub struct SceneView {
    /// Places.
    pub layout: Layout,
    /// Joint of the tee, and how its lever stands.
    pub tee: Option<(String, f64)>,
    /// Joint of the external container.
    pub container: Option<String>,
    /// Joint of the second transducer.
    pub second: Option<String>,
    /// Electric pump in the clamp.
    pub clamp: Option<String>,
    /// Levers of the vehicle's own valves.
    pub taps: Vec<(String, f64)>,
    /// The filler cap stands open.
    pub cap_open: bool,
    /// The dashboard's fuel gauge, 0 … 1.
    pub fuel_gauge: f64,
    /// Petrol, not diesel.
    pub petrol: bool,
    /// The engine in words.
    pub engine: String,
    /// Text beside the tee's gauge: when it was zeroed.
    pub zeroed: String,
    /// Cautions that apply.
    pub cautions: Vec<&'static str>,
    /// Joint picked in the workshop.
    pub picked: Option<String>,
    /// What the open slip is about.
    pub touched: Option<Spot>,
    /// Places that are wet, by label, and how.
    pub wet: Vec<(String, &'static str)>,
    /// What is still on the vehicle, in words.
    pub left_on: Vec<String>,
}

impl SceneView {
    /// From what can be perceived.
    pub fn of(job: &Job, seen: &Observation, picked: Option<&String>, touched: Option<&Spot>) -> Self {
        let engine = match seen.engine {
            EngineRun::Off => "engine off".to_owned(),
            run => format!("{}, {:.0} 1/min", run.word(), seen.rpm),
        };
        let zeroed = match seen.gauge {
            Some(gauge) => match gauge.zeroed_at {
                Some(at) => format!("zeroed {}", super::words::clock(at)),
                None => "not zeroed".to_owned(),
            },
            None => String::new(),
        };
        Self {
            layout: place::lay_out(&job.plant, &job.joints),
            tee: seen.tee.as_ref().map(|t| (t.joint.clone(), t.valve_open)),
            container: seen.container.clone(),
            second: seen.second.as_ref().map(|(joint, _)| joint.clone()),
            clamp: seen.clamp.as_ref().map(|(part, _)| part.clone()),
            taps: seen.taps.clone(),
            cap_open: seen.cap_open,
            fuel_gauge: seen.fuel_gauge,
            petrol: job.plant.is_petrol(),
            engine,
            zeroed,
            cautions: seen.cautions.clone(),
            picked: picked.cloned(),
            touched: touched.cloned(),
            wet: seen.wet.iter().map(|w| (w.place.clone(), w.how)).collect(),
            left_on: seen.left_on.clone(),
        }
    }

    /// The drawing in sentences, for a reader who doesn't see it: from the tank to the engine.
    pub fn words(&self) -> Vec<String> {
        let way: Vec<&str> =
            self.layout.parts.iter().filter(|p| p.kind != "Line").map(|p| p.name.as_str()).collect();
        let joints: Vec<&str> = self.layout.joints.iter().map(|j| j.label.as_str()).collect();
        let label = |name: &str| {
            self.layout.joints.iter().find(|j| j.name == name).map_or(name.to_owned(), |j| j.label.clone())
        };
        let mut all = vec![
            format!("From the tank to the engine: {}.", way.join(", ")),
            format!("Joints: {}.", joints.join("; ")),
            format!("Engine: {}. Fuel gauge: {:.0} %.", self.engine, self.fuel_gauge * 100.0),
        ];
        all.push(match &self.tee {
            Some((joint, open)) => {
                format!(
                    "Test tee at the {}, valve {}, {}.",
                    label(joint),
                    super::hands::lever_words(*open),
                    self.zeroed
                )
            }
            None => "No test tee is fitted.".to_owned(),
        });
        all.extend(self.container.as_ref().map(|j| format!("A container feeds the engine at the {}.", label(j))));
        all.extend(self.second.as_ref().map(|j| format!("A second transducer sits at the {}.", label(j))));
        all.extend(self.clamp.as_ref().map(|p| format!("The current clamp hangs at the {p}.")));
        all.extend(
            self.taps.iter().map(|(tap, open)| format!("The {tap} is {}.", super::hands::lever_words(*open))),
        );
        if self.cap_open {
            all.push("The filler cap is open.".to_owned());
        }
        all.extend(self.wet.iter().map(|(place, how)| format!("It is {how} at the {place}.")));
        all
    }
}

/// From the drawing's units to the screen.
#[derive(Clone, Copy)]
struct Paper {
    origin: Pos2,
    k: f32,
}

impl Paper {
    fn at(self, p: (f32, f32)) -> Pos2 {
        self.origin + vec2(p.0, p.1) * self.k
    }

    fn field(self, f: place::Field) -> Rect {
        Rect::from_min_max(self.at((f.0, f.1)), self.at((f.2, f.3)))
    }

    /// Letters of a label.
    fn font(self) -> f32 {
        (11.5 * self.k).clamp(11.0, 22.0)
    }

    fn named(self) -> bool {
        self.k >= NAMED
    }
}

/// What the drawing is done with.
struct Sketch<'a> {
    view: &'a SceneView,
    paper: Paper,
    t: &'a Tokens,
}

/// Draws the scene into what is left of `ui`. Returns where the tee is drawn, for the leader to the glass, and
/// where the touched thing is, for the leader to its slip.
pub fn scene_ui(
    view: &SceneView,
    state: &mut SceneState,
    glass: &GlassState,
    still: bool,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) -> (Option<Pos2>, Option<Pos2>) {
    let rect = ui.available_rect_before_wrap();
    let t = tokens(ui);
    let drawing = Rect::from_min_max(rect.min, pos2(rect.right(), rect.bottom() - FOOT));
    let size = view.layout.size;
    let fit = (drawing.width() / size.0).min(drawing.height() / size.1);
    let ground = ui.interact(drawing, ui.id().with("ground"), Sense::drag());
    let paper = look(&ground, state, drawing, size, fit, ui);
    let sketch = Sketch { view, paper, t };
    let whole = ui.clip_rect();
    ui.set_clip_rect(drawing.expand(3.0).intersect(whole));
    sketch.vehicle(ui);
    for tank in &view.layout.tanks {
        sketch.tank(tank, ui);
    }
    sketch.pipes(glass, still, ui);
    let mut touched = None;
    for part in &view.layout.parts {
        let at = sketch.part(part, ui, intents);
        if view.touched == Some(Spot::Part(part.name.clone())) {
            touched = Some(at);
        }
    }
    let mut tee_at = None;
    for joint in &view.layout.joints {
        let at = sketch.joint(joint, ui, intents);
        if view.touched == Some(Spot::Joint(joint.name.clone())) {
            touched = Some(paper.at(joint.at));
        }
        tee_at = tee_at.or(at);
    }
    ui.set_clip_rect(whole);
    let foot = Rect::from_min_max(pos2(rect.left(), rect.bottom() - FOOT), rect.max);
    ui.scope_builder(egui::UiBuilder::new().max_rect(foot), |ui| ui.horizontal(|ui| cautions_ui(view, ui)));
    let corner = Rect::from_min_size(pos2(drawing.right() - 130.0, drawing.top()), vec2(130.0, 32.0));
    ui.scope_builder(egui::UiBuilder::new().max_rect(corner), |ui| corner_ui(state, ui));
    let inside = |p: &Pos2| drawing.expand(4.0).contains(*p);
    (tee_at.filter(inside), touched.filter(inside))
}

/// Moves and zooms by hand; gives the paper as it lies now.
fn look(ground: &Response, state: &mut SceneState, drawing: Rect, size: (f32, f32), fit: f32, ui: &Ui) -> Paper {
    let of = |state: &SceneState| {
        let k = fit * state.zoom;
        let middle = vec2(size.0 / 2.0 - state.moved.0, size.1 / 2.0 - state.moved.1);
        Paper { origin: drawing.center() - middle * k, k }
    };
    if ground.dragged() && state.zoom > 1.0 {
        let by = ground.drag_delta() / (fit * state.zoom);
        state.moved = (state.moved.0 + by.x, state.moved.1 + by.y);
    }
    if let Some(at) = ui.input(|i| i.pointer.hover_pos()).filter(|p| drawing.contains(*p)) {
        let turned = ui.input(|i| zoom_of(i.smooth_scroll_delta().y) * i.zoom_delta());
        if (turned - 1.0).abs() > 1e-4 && ui.rect_contains_pointer(drawing) {
            let before = of(state);
            let under = (at - before.origin) / before.k;
            state.zoom = (state.zoom * turned).clamp(1.0, 6.0);
            let after = of(state);
            // what was under the pointer stays under it
            let now = (at - after.origin) / after.k;
            state.moved = (state.moved.0 + now.x - under.x, state.moved.1 + now.y - under.y);
        }
    }
    // not out of sight
    let most = |size: f32, seen: f32| (size - seen / (fit * state.zoom)).max(0.0) / 2.0;
    let (x, y) = (most(size.0, drawing.width()), most(size.1, drawing.height()));
    state.moved = (state.moved.0.clamp(-x, x), state.moved.1.clamp(-y, y));
    of(state)
}

/// A turn of the wheel and its reverse cancel.
fn zoom_of(wheel: f32) -> f32 {
    let x = (wheel * 0.004).clamp(-0.5, 0.5);
    if x >= 0.0 { 1.0 + x } else { 1.0 / (1.0 - x) }
}

/// Smaller, larger, whole: in the corner of the drawing.
fn corner_ui(state: &mut SceneState, ui: &mut Ui) {
    ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
        ui.spacing_mut().item_spacing.x = 3.0;
        ui.spacing_mut().button_padding.x = 9.0;
        if widgets::small_button(ui, "+", "Drawing larger, Page up", true, "").clicked() {
            state.zoom_by(1.4);
        }
        if state.zoom > 1.0 {
            if widgets::small_button(ui, "\u{2212}", "Drawing smaller, Page down", true, "").clicked() {
                state.zoom_by(1.0 / 1.4);
            }
            if widgets::small_button(ui, "all", "The whole drawing, Home", true, "").clicked() {
                state.fit();
            }
        }
    });
}

fn cautions_ui(view: &SceneView, ui: &mut Ui) {
    if view.cautions.is_empty() {
        ui.label(theme::remark(ui, "Touch a part or a joint: what can be done there opens below."));
    }
    // the worst first; as many as have room
    for words in &view.cautions {
        let wide = ui.painter().layout_no_wrap((*words).to_owned(), regular(12.5), Color32::BLACK).size().x + 46.0;
        if wide > ui.available_width() && ui.cursor().left() > ui.max_rect().left() + 1.0 {
            let more = "more in the history";
            if ui.available_width() > 130.0 {
                ui.label(theme::quiet(ui, more));
            }
            break;
        }
        widgets::caution_chip(ui, words);
    }
}

impl Sketch<'_> {
    fn line(&self, width: f32) -> f32 {
        (width * self.paper.k).clamp(1.0, 2.0 * width)
    }

    fn fuel(&self) -> Color32 {
        if self.view.petrol { self.t.petrol } else { self.t.diesel }
    }

    fn vehicle(&self, ui: &Ui) {
        let painter = ui.painter();
        let stroke = Stroke::new(self.line(1.2), self.t.faint);
        let size = self.view.layout.size;
        let ground = self.paper.at((0.0, outlines::GROUND * size.1 / place::SIZE.1)).y;
        if self.view.layout.outline != outlines::Outline::Boat {
            let ends = self.paper.at((4.0, 0.0)).x..=self.paper.at((size.0 - 4.0, 0.0)).x;
            painter.hline(ends, ground, Stroke::new(1.0, self.t.rule));
        }
        for drawn in outlines::strokes(self.view.layout.outline, size) {
            match drawn {
                outlines::Stroke::Line(points) => {
                    painter.add(Shape::line(points.into_iter().map(|p| self.paper.at(p)).collect(), stroke));
                }
                outlines::Stroke::Circle(at, r) => {
                    painter.circle_stroke(self.paper.at(at), r * self.paper.k, stroke);
                }
            }
        }
    }

    fn tank(&self, tank: &PlacedTank, ui: &Ui) {
        let (t, k, painter) = (self.t, self.paper.k, ui.painter());
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
            painter.rect_filled(
                walls.shrink(2.0 * k).with_min_y(walls.center().y),
                0,
                theme::mixed(t.sheet, self.fuel(), 0.55),
            );
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
        if self.paper.named() {
            let font = || regular(self.paper.font());
            painter.text(by(45.0, -12.0), Align2::LEFT_CENTER, "vent", font(), t.second_ink);
            let words = if self.view.cap_open { "cap open" } else { "cap shut" };
            let at = by(-15.0, -42.0);
            let at = pos2(at.x, at.y.max(ui.clip_rect().top() + 8.0));
            painter.text(at, Align2::LEFT_CENTER, words, font(), t.second_ink);
            let gauge = format!("gauge {:.0} %", self.view.fuel_gauge * 100.0);
            painter.text(by(7.0, 11.0), Align2::LEFT_CENTER, gauge, font(), t.ink);
        }
    }

    fn pipes(&self, glass: &GlassState, still: bool, ui: &Ui) {
        let (t, k, painter) = (self.t, self.paper.k, ui.painter());
        let on_paper = |points: &[(f32, f32)]| -> Vec<Pos2> { points.iter().map(|p| self.paper.at(*p)).collect() };
        for pipe in &self.view.layout.pipes {
            let way = on_paper(&pipe.points);
            match pipe.carries {
                Carries::Feed => {
                    painter.add(Shape::line(way.clone(), Stroke::new(6.0 * k, t.ink)));
                    painter.add(Shape::line(way, Stroke::new(3.4 * k, self.fuel())));
                }
                Carries::Back => {
                    painter.add(Shape::line(way.clone(), Stroke::new(self.line(1.5), t.ink)));
                    if let [.., before, tip] = way[..]
                        && pipe.arrow
                    {
                        let along = (tip - before).normalized();
                        symbols::arrow_head(painter, tip, along, 4.5 * k, t.ink, Stroke::NONE);
                    }
                }
            }
        }
        if let Some((tee, _)) = &self.view.tee {
            self.moving(tee, if still { 0.0 } else { glass.gone_m as f32 * UNITS_A_METRE }, ui);
        }
    }

    /// Chevrons in the line either side of the glass, as fast as the fuel in it.
    fn moving(&self, joint: &str, gone: f32, ui: &Ui) {
        const APART: f32 = 16.0;
        let Some(joint) = self.view.layout.joints.iter().find(|j| j.name == joint) else { return };
        let feed = self.view.layout.pipes.iter().filter(|p| p.carries == Carries::Feed);
        for pipe in feed {
            for pair in pipe.points.windows(2) {
                let (a, b) = (pair[0], pair[1]);
                let long = ((b.0 - a.0).powi(2) + (b.1 - a.1).powi(2)).sqrt();
                if long < 4.0 {
                    continue;
                }
                let along = ((b.0 - a.0) / long, (b.1 - a.1) / long);
                let mut s = gone.rem_euclid(APART);
                while s < long - 3.0 {
                    let at = (a.0 + along.0 * s, a.1 + along.1 * s);
                    let far = ((at.0 - joint.at.0).powi(2) + (at.1 - joint.at.1).powi(2)).sqrt();
                    if far < 110.0 && s > 3.0 {
                        let (x, y) = along;
                        let wing =
                            |side: f32| self.paper.at((at.0 - x * 2.6 - y * side, at.1 - y * 2.6 + x * side));
                        let shape = vec![wing(1.7), self.paper.at(at), wing(-1.7)];
                        let ink =
                            Stroke::new(1.3 * self.paper.k, theme::faded(self.t.ink, 0.75 * (1.0 - far / 130.0)));
                        ui.painter().add(Shape::line(shape, ink));
                    }
                    s += APART;
                }
            }
        }
    }

    fn pen<'p>(&self, painter: &'p egui::Painter, hovered: bool, along: (f32, f32)) -> Pen<'p> {
        Pen {
            painter,
            k: self.paper.k,
            ink: Stroke::new(self.line(1.6), if hovered { self.t.accent } else { self.t.ink }),
            fill: self.t.sheet,
            accent: self.t.accent,
            along: vec2(along.0, along.1),
        }
    }

    fn part(&self, part: &PlacedPart, ui: &mut Ui, intents: &mut Vec<Intent>) -> Pos2 {
        let t = self.t;
        let at = self.paper.at(part.at);
        let half = part.half * self.paper.k;
        let size = match part.kind {
            "Tank" => vec2(44.0, 32.0) * self.paper.k.max(0.8),
            // a line may be thin, its target isn't
            _ => vec2(1.0, 1.0) * (2.0 * half).max(if part.kind == "Line" { 18.0 } else { 32.0 }).min(64.0),
        };
        let rect = Rect::from_center_size(at, if part.kind == "Line" { vec2(size.x, 32.0) } else { size });
        let response = pressable(ui, rect, ("part", &part.name), &format!("Look at: {}", part.label));
        let on = self.view.touched == Some(Spot::Part(part.name.clone()));
        let painter = ui.painter().clone();
        let pen = self.pen(&painter, response.hovered() || on, part.along);
        let open = self.view.taps.iter().find(|(tap, _)| *tap == part.name).map_or(1.0, |(_, open)| *open as f32);
        match part.kind {
            "Engine" => self.engine(at, &pen, ui),
            kind => symbols::part(&pen, kind, at, part.half, open),
        }
        if part.primer {
            symbols::primer(&pen, at + vec2(0.0, -24.0) * self.paper.k);
        }
        if self.view.left_on.contains(&format!("the clamp on \"{}\"", part.name)) {
            jaws(&pen, at);
        }
        if self.view.clamp.as_ref() == Some(&part.name) {
            let ring = at + vec2(24.0, -20.0) * self.paper.k;
            painter.circle_stroke(ring, 7.0 * self.paper.k, Stroke::new(self.line(2.0), t.second_pen));
            painter.text(ring, Align2::CENTER_CENTER, "A", semibold(self.paper.font()), t.second_pen);
        }
        if on {
            painter.circle_stroke(at, (part.half + 6.0) * self.paper.k, Stroke::new(1.5, t.accent));
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
            Some(field) if self.paper.named() => {
                let font = regular(self.paper.font());
                let mut y = self.paper.at((0.0, field.1)).y;
                let x = self.paper.at(part.label_at).x;
                for line in &part.short {
                    let galley = ui.painter().layout_no_wrap(line.clone(), font.clone(), self.t.second_ink);
                    let back = Rect::from_center_size(
                        pos2(x, y + place::LINE * self.paper.k / 2.0),
                        vec2(galley.size().x + 2.0, galley.size().y - 1.0),
                    );
                    let inside_tank =
                        self.view.layout.tanks.iter().any(|t| self.paper.field(t.field).contains(back.center()));
                    if !inside_tank {
                        ui.painter().rect_filled(back, 0, self.t.sheet);
                    }
                    ui.painter().galley(back.center() - galley.size() / 2.0, galley, self.t.second_ink);
                    y += place::LINE * self.paper.k;
                }
            }
            _ if pointed && part.kind != "Tank" => {
                tag(ui, &part.label, self.paper.at(part.at), (part.half + 14.0) * self.paper.k + 8.0, self.t);
            }
            _ => {}
        }
    }

    fn engine(&self, at: Pos2, pen: &Pen<'_>, ui: &Ui) {
        let (k, t, painter) = (self.paper.k, self.t, ui.painter());
        let body = Rect::from_center_size(at, vec2(38.0, 36.0) * k);
        painter.rect(body, 2, t.sheet, Stroke::new(self.line(2.0), pen.ink.color), egui::StrokeKind::Middle);
        let letters = self.view.layout.engine;
        let size = if letters.len() > 3 { 11.0 } else { 13.0 };
        painter.text(at, Align2::CENTER_CENTER, letters, semibold(size * k.max(0.7)), t.ink);
        let words = self.view.engine.replace(", ", "\n");
        let galley = painter.layout_no_wrap(words, semibold(self.paper.font()), t.ink);
        let edge = self.paper.at(self.view.layout.size).x;
        let left = (at.x - galley.size().x / 2.0).min(edge - galley.size().x);
        let back = Rect::from_min_size(pos2(left, at.y + 22.0 * k), galley.size());
        painter.rect_filled(back, 0, t.sheet);
        painter.galley(back.min, galley, t.ink);
    }

    fn joint(&self, joint: &PlacedJoint, ui: &mut Ui, intents: &mut Vec<Intent>) -> Option<Pos2> {
        let (t, k) = (self.t, self.paper.k);
        let at = self.paper.at(joint.at);
        let here = self.view.tee.as_ref().filter(|(name, _)| *name == joint.name);
        let name = match here {
            Some(_) => format!("Joint: {}. The tee is fitted here", joint.label),
            None => format!("Joint: {}", joint.label),
        };
        let rect = Rect::from_center_size(at, vec2(32.0, 32.0));
        let response = pressable(ui, rect, ("joint", &joint.name), &name);
        let touched = self.view.touched == Some(Spot::Joint(joint.name.clone()));
        let on = touched || self.view.picked.as_ref() == Some(&joint.name);
        let painter = ui.painter().clone();
        let pen = self.pen(&painter, response.hovered() || on, (1.0, 0.0));
        if let Some((_, open)) = here {
            self.tee(joint, *open, &pen, ui);
        } else {
            painter.circle(at, 5.5 * k, t.sheet, pen.ink);
            if on {
                painter.circle_stroke(at, 9.0 * k, Stroke::new(1.5, t.accent));
            }
        }
        if self.view.container.as_ref() == Some(&joint.name) {
            self.container(at, ui);
        }
        if self.view.second.as_ref() == Some(&joint.name) {
            let head = at + vec2(0.0, 30.0 * k);
            painter.line_segment([at, head], Stroke::new(self.line(1.5), t.ink));
            painter.circle(head, 10.0 * k, t.sheet, Stroke::new(self.line(1.6), t.third_pen));
            painter.text(head, Align2::CENTER_CENTER, "P2", semibold(self.paper.font()), t.third_pen);
        }
        if self.view.left_on.contains(&format!("the plug at \"{}\"", joint.name)) {
            let x = 8.0 * k;
            for y in [-9.0, 9.0] {
                painter.line_segment(
                    [at + vec2(x - 3.0 * k, y * k), at + vec2(x + 3.0 * k, -y * k)],
                    Stroke::new(3.0 * k, t.caution),
                );
            }
            painter.text(
                at + vec2(x, -16.0 * k),
                Align2::CENTER_CENTER,
                "plug",
                regular(self.paper.font()),
                t.caution,
            );
        }
        if (response.hovered() || response.has_focus() || on || here.is_some()) && !touched {
            let words = if here.is_some() { format!("tee: {}", joint.label) } else { joint.label.clone() };
            tag(ui, &words, at, 58.0 * k.max(0.8), t);
        }
        if response.clicked() {
            intents.push(Intent::Touch(Spot::Joint(joint.name.clone())));
        }
        here.map(|_| at)
    }

    fn container(&self, joint: Pos2, ui: &Ui) {
        let (t, k, painter) = (self.t, self.paper.k, ui.painter());
        let by = |x: f32, y: f32| joint + vec2(x, y) * k;
        let body = Rect::from_min_size(by(-58.0, 26.0), vec2(40.0, 32.0) * k);
        painter.rect(body, 3, t.sheet, Stroke::new(self.line(1.5), t.ink), egui::StrokeKind::Middle);
        let fuel = body.shrink(3.0 * k).with_min_y(body.top() + 12.0 * k);
        painter.rect_filled(fuel, 1, theme::mixed(t.sheet, self.fuel(), 0.6));
        let hose = vec![joint, by(-8.0, 18.0), by(-38.0, 12.0), by(-38.0, 46.0)];
        painter.add(Shape::line(hose, Stroke::new(3.0 * k, t.ink)));
        let under = body.center_bottom() + vec2(0.0, 8.0 * k);
        painter.text(under, Align2::CENTER_CENTER, "container", regular(self.paper.font()), t.ink);
    }

    /// The tee with its valve on the side away from the pump, and its transducer above.
    fn tee(&self, joint: &PlacedJoint, open: f64, pen: &Pen<'_>, ui: &Ui) {
        let (t, k, painter) = (self.t, self.paper.k, ui.painter());
        let at = self.paper.at(joint.at);
        let side = if joint.pushed { 21.0 } else { -21.0 };
        symbols::valve(pen, at + vec2(side, 0.0) * k, open as f32);
        painter.circle_filled(at, 5.0 * k, t.ink);
        let head = at + vec2(0.0, -38.0) * k;
        painter.line_segment([at, head], Stroke::new(self.line(1.5), t.ink));
        painter.circle(head, 12.0 * k, t.sheet, Stroke::new(self.line(1.6), t.ink));
        painter.text(head, Align2::CENTER_CENTER, "P", semibold(13.0 * k.max(0.8)), t.ink);
        if self.paper.named() {
            let galley = painter.layout_no_wrap(self.view.zeroed.clone(), italic(self.paper.font()), t.second_ink);
            let size = galley.size();
            // over the gauge where no lane runs, else beside it
            let (x, y) = if joint.at.1 > 140.0 {
                (head.x - size.x / 2.0, head.y - 14.0 * k - size.y)
            } else if joint.pushed {
                (head.x - 17.0 * k - size.x, head.y - size.y / 2.0)
            } else {
                (head.x + 17.0 * k, head.y - size.y / 2.0)
            };
            let back = Rect::from_min_size(pos2(x, y), size);
            painter.rect_filled(back.expand(1.0), 2, t.sheet);
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
