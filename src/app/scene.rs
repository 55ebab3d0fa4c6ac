//! The place: the supply drawn along the outline of the vehicle. Draws, and tells what was touched; where things
//! stand comes from [`super::scene_layout`], what can be done there from [`super::touch`]; `sketch` draws.

mod seen;
mod sketch;

use bevy_egui::egui::{
    self, Color32, LayerId, Order, Painter, Pos2, Rect, Response, Sense, Shape, Stroke, StrokeKind, Ui, pos2, vec2,
};

use super::bridge::Intent;
use super::dragging::RACK;
use super::scene_layout::{self as place, Layout};
use super::sight_glass::{self, GlassState, Tint};
use super::stage::{self, Drawing, Place, Slot};
use super::theme::{self, regular, tokens};
use super::widgets;
use crate::bay::action::Action;
use crate::bay::observation::{ClearLine, EngineRun, LeftOn, Observation};
use crate::bay::words::{offer::Spot, told};
use crate::language::{named, said};
use crate::scenario::model::Job;
use crate::tell;
use sketch::{Paper, Sketch};

/// Height of the line under the drawing.
pub const FOOT: f32 = 36.0;
/// Height of the strip over a drawing that is seen larger than it fits: what is heard is written there, and the buttons of
/// the corner stand in it, so that neither lies on the drawing. Over a whole drawing nothing is drawn there anyhow.
const HEAD: f32 = 44.0;

/// How the drawing is looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct SceneState {
    /// 1: all of it is in sight.
    pub zoom: f32,
    /// How far it was moved, in its units.
    pub moved: (f32, f32),
    /// Where the joints were drawn last, by name: what is dragged is let go there.
    pub joints: Vec<(String, Pos2)>,
    /// What has moved in the vehicle's own clear lines, by part.
    pub clear: Vec<(String, GlassState)>,
}

impl Default for SceneState {
    fn default() -> Self {
        Self { zoom: 1.0, moved: (0.0, 0.0), joints: vec![], clear: vec![] }
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

    /// Height of the strip over the drawing that belongs to what is written there.
    pub fn head(&self) -> f32 {
        if self.zoom > 1.0 { HEAD } else { 0.0 }
    }

    /// All of it.
    pub fn fit(&mut self) {
        (self.zoom, self.moved) = (1.0, (0.0, 0.0));
    }

    /// Moves the fuel in clear lines on by a span of simulated time, s.
    pub fn advance(&mut self, lines: &[ClearLine], secs: f64) {
        for line in lines {
            let known = self.clear.iter().position(|(part, _)| *part == line.part);
            let i = known.unwrap_or_else(|| {
                self.clear.push((line.part.clone(), GlassState::default()));
                self.clear.len() - 1
            });
            self.clear[i].1.advance_at(line.speed_m_s, secs);
        }
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
    /// Colour of the fuel.
    pub tint: Tint,
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
    /// What must be off again before the vehicle leaves.
    pub left_on: Vec<LeftOn>,
    /// Parts and nodes that a check has something to say of, by name, and whether it is an error: for an author.
    pub marked: Vec<(String, bool)>,
    /// What passes in the tee.
    pub glass: Option<sight_glass::Picture>,
    /// What passes in the vehicle's own clear lines, by part: where it comes in and where it leaves.
    pub clear: Vec<(String, [sight_glass::Picture; 2])>,
    /// The same in sentences.
    pub clear_words: Vec<String>,
    /// How it stands on a slope; empty when it stands level.
    pub slope: String,
    /// Nothing is written under the drawing, which takes its room.
    pub bare: bool,
}

impl SceneView {
    /// From what can be perceived.
    pub fn of(job: &Job, seen: &Observation, picked: Option<&String>, touched: Option<&Spot>) -> Self {
        let engine = match seen.engine {
            EngineRun::Off => said("scene-engine-off").to_owned(),
            run => format!("{}, {:.0} 1/min", named(run.word()), seen.rpm),
        };
        let zeroed = match seen.gauge {
            Some(gauge) => match gauge.zeroed_at {
                Some(at) => tell!("scene-zeroed", time = super::words::clock(at)),
                None => said("scene-not-zeroed").to_owned(),
            },
            None => String::new(),
        };
        let (tint, lines) = (Tint::of(&job.plant), seen.clear_lines.iter());
        Self {
            layout: place::lay_out(&job.plant, &job.joints),
            tee: seen.tee.as_ref().map(|t| (t.joint.clone(), t.valve_open)),
            container: seen.container.clone(),
            second: seen.second.as_ref().map(|(joint, _)| joint.clone()),
            clamp: seen.clamp.as_ref().map(|(part, _)| part.clone()),
            taps: seen.taps.clone(),
            cap_open: seen.cap_open,
            fuel_gauge: seen.fuel_gauge,
            tint,
            engine,
            zeroed,
            cautions: seen.cautions.clone(),
            picked: picked.cloned(),
            touched: touched.cloned(),
            wet: seen.wet.iter().map(|w| (w.place.clone(), w.how)).collect(),
            left_on: seen.left_on.clone(),
            marked: vec![],
            glass: sight_glass::Picture::of(seen, tint),
            clear: lines.map(|l| (l.part.clone(), sight_glass::Picture::of_line(l, tint))).collect(),
            clear_words: seen.clear_lines.iter().map(ClearLine::words).collect(),
            slope: match seen.slope {
                0.0 => String::new(),
                degrees => told::told(&Action::Tilt { degrees }, job),
            },
            bare: false,
        }
    }

    /// The drawing in sentences, for a reader who doesn't see it: from the tank to the engine.
    pub fn words(&self) -> Vec<String> {
        let parts = self.layout.parts.iter().filter(|p| p.kind != "Line");
        let way: Vec<&str> = parts.map(|p| named(&p.name)).collect();
        let joints: Vec<&str> = self.layout.joints.iter().map(|j| named(&j.label)).collect();
        let label = |name: &str| {
            self.layout.joints.iter().find(|j| j.name == name).map_or(name.to_owned(), |j| j.label.clone())
        };
        let mut all = vec![
            tell!("scene-way", parts = way.join(", ")),
            tell!("scene-joints", joints = joints.join("; ")),
            tell!("scene-engine", engine = self.engine, percent = format!("{:.0}", self.fuel_gauge * 100.0)),
        ];
        all.push(match &self.tee {
            Some((joint, open)) => {
                tell!(
                    "scene-tee",
                    joint = label(joint),
                    lever = super::hands::lever_words(*open),
                    zeroed = self.zeroed
                )
            }
            None => said("scene-no-tee").to_owned(),
        });
        all.extend(self.container.as_ref().map(|j| tell!("scene-fed", joint = label(j))));
        all.extend(self.second.as_ref().map(|j| tell!("scene-second", joint = label(j))));
        all.extend(self.clamp.as_ref().map(|p| tell!("scene-clamp", p = p)));
        all.extend(
            self.taps
                .iter()
                .map(|(tap, open)| tell!("scene-tap", tap = tap, lever = super::hands::lever_words(*open))),
        );
        // the second transducer is told above
        let others = self.left_on.iter().filter(|what| !matches!(what, LeftOn::Second(_)));
        all.extend(others.map(|what| {
            let part = self.layout.parts.iter().find(|p| p.name == what.place()).map(|p| p.label.clone());
            tell!("scene-left-on", what = what.words(&part.unwrap_or_else(|| label(what.place()))))
        }));
        if self.cap_open {
            all.push(said("cap-is-open").to_owned());
        }
        if !self.slope.is_empty() {
            all.push(tell!("scene-slope", slope = self.slope));
        }
        all.extend(self.clear_words.iter().cloned());
        all.extend(self.wet.iter().map(|(place, how)| tell!("scene-wet", how = how, place = place)));
        all
    }
}

/// From the middle of what was touched down to where the leader to its slip begins, points.
const LEADER: f32 = 22.0;
/// Points a unit from which a drawing with everything on it has room for names in any language.
const NAMED: f32 = 0.86;

/// Draws the scene into what is left of `ui`. Returns where the tee is drawn, for the leader to the glass, and
/// where the leader from the touched thing to its slip begins.
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
    let drawing = rect.with_max_y(rect.bottom() - if view.bare { 0.0 } else { FOOT });
    let size = view.layout.size;
    let fit = (drawing.width() / size.0).min(drawing.height() / size.1);
    let ground = ui.interact(drawing, ui.id().with("ground"), Sense::drag());
    let paper = look(&ground, state, drawing, size, fit, ui);
    // only what is seen of it gets smaller: where it lies must not leap when it is first zoomed
    let whole_drawing = drawing;
    let drawing = drawing.with_min_y(drawing.top() + state.head());
    state.joints = view.layout.joints.iter().map(|j| (j.name.clone(), paper.at(j.at))).collect();
    // shapes are gathered on a board of their own and shown under everything that is written
    let board = LayerId::new(Order::Background, ui.id().with("board"));
    let board = Painter::new(ui.ctx().clone(), board, Rect::EVERYTHING);
    let mut sketch = Sketch { view, paper, t, board: &board, names: vec![] };
    sketch.name_parts(ui);
    let whole = ui.clip_rect();
    let seen = if state.head() > 0.0 { drawing.expand2(vec2(3.0, 0.0)) } else { drawing.expand(3.0) };
    ui.set_clip_rect(seen.intersect(whole));
    let lies = ui.painter().add(Shape::Noop);
    sketch.vehicle();
    sketch.slope(ui);
    for tank in &view.layout.tanks {
        sketch.tank(tank, ui);
    }
    sketch.pipes();
    let under = take_off(&board);
    let mut touched = None;
    for part in &view.layout.parts {
        let at = sketch.part(part, ui, intents);
        if view.touched == Some(Spot::Part(part.name.clone())) {
            // under its name, when that stands under it
            let name = part.label_field().filter(|f| f.1 > part.at.1 && (f.0..f.2).contains(&part.at.0));
            let under_name = name.map_or(0.0, |f| paper.at((part.at.0, f.3)).y + 2.0);
            touched = Some(pos2(at.x, (at.y + LEADER).max(under_name)));
        }
    }
    let mut tee_at = None;
    for joint in &view.layout.joints {
        let at = sketch.joint(joint, ui, intents);
        if view.touched == Some(Spot::Joint(joint.name.clone())) {
            touched = Some(paper.at(joint.at) + vec2(0.0, LEADER));
        }
        tee_at = tee_at.or(at);
    }
    let over = take_off(&board);
    let mut flows = sketch.clear_lines(&state.clear, still);
    flows.extend(sketch.flow(glass, still));
    let field = stage::on_pixels(ui.ctx(), ui.clip_rect());
    let place = Place { under, flows: flows.clone(), over, origin: paper.origin - field.min.to_vec2() };
    let shape = stage::picture(ui.ctx(), Slot::Scene, field, Color32::TRANSPARENT, Drawing::Place(place));
    let shape = shape.unwrap_or_else(|drawing| {
        flows.iter().for_each(|flow| sketch.chevrons(flow));
        plain(drawing, take_off(&board), paper.origin)
    });
    ui.painter().set(lies, shape);
    marked_ui(view, paper, ui);
    ui.set_clip_rect(whole);
    if state.zoom > 1.0 {
        // a window on the drawing: what is cut there goes on beyond it
        ui.painter().rect_stroke(seen.intersect(whole), 2, Stroke::new(1.0, t.rule), StrokeKind::Inside);
    }
    // the rack of the kit lies at its right end
    let foot = Rect::from_min_max(pos2(rect.left(), rect.bottom() - FOOT), rect.max - vec2(RACK, 0.0));
    if !view.bare {
        ui.scope_builder(egui::UiBuilder::new().max_rect(foot), |ui| ui.horizontal(|ui| cautions_ui(view, ui)));
    }
    let corner = Rect::from_min_size(pos2(drawing.right() - 130.0, whole_drawing.top()), vec2(130.0, 32.0));
    ui.scope_builder(egui::UiBuilder::new().max_rect(corner), |ui| corner_ui(state, ui));
    let inside = |p: &Pos2| drawing.expand(4.0).contains(*p);
    let touched = touched.filter(|at| inside(&(*at - vec2(0.0, LEADER))) || inside(at));
    (tee_at.filter(inside), touched)
}

/// A ring and a sign at what a check has something to say of.
fn marked_ui(view: &SceneView, paper: Paper, ui: &Ui) {
    let t = tokens(ui);
    for (name, is_error) in &view.marked {
        let part = view.layout.parts.iter().find(|p| p.name == *name).map(|p| (p.at, p.half));
        let joint = view.layout.joints.iter().find(|j| j.name == *name).map(|j| (j.at, 5.0));
        let tank = view.layout.tanks.iter().find(|k| k.name == *name);
        let tank = tank.map(|k| (((k.field.0 + k.field.2) / 2.0, (k.field.1 + k.field.3) / 2.0), 12.0));
        let Some((at, half)) = part.or(joint).or(tank) else { continue };
        let (at, radius) = (paper.at(at), (half + 5.0) * paper.k);
        let colour = if *is_error { t.critical } else { t.caution };
        ui.painter().circle_stroke(at, radius, egui::Stroke::new(2.0, colour));
        let sign = if *is_error { widgets::Mark::Cross } else { widgets::Mark::Caution };
        widgets::mark(ui.painter(), at + vec2(radius * 0.75, -radius * 0.75), sign, t);
    }
}

/// The shapes that lie on a board; it is empty afterwards.
fn take_off(board: &Painter) -> Vec<Shape> {
    board
        .ctx()
        .graphics_mut(|all| std::mem::take(all.entry(board.layer_id())))
        .all_entries()
        .map(|e| e.shape.clone())
        .collect()
}

/// The drawing as egui's own shapes, where nobody else draws it.
fn plain(drawing: Drawing, flow: Vec<Shape>, origin: Pos2) -> Shape {
    let Drawing::Place(place) = drawing else { return Shape::Noop };
    let mut whole = Shape::Vec([place.under, flow, place.over].concat());
    whole.translate(origin.to_vec2());
    whole
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
    // its upper edge comes out from under the strip
    let head = state.head() / (fit * state.zoom);
    state.moved = (state.moved.0.clamp(-x, x), state.moved.1.clamp(-y, y + head));
    // corners on pixels: straight lines stay sharp, and the same when moved
    let per = ui.ctx().pixels_per_point();
    let paper = of(state);
    let on_pixel = |v: f32| (v * per).round() / per;
    Paper { origin: pos2(on_pixel(paper.origin.x), on_pixel(paper.origin.y)), k: paper.k }
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
        if widgets::small_button(ui, "+", said("scene-larger"), true, "").clicked() {
            state.zoom_by(1.4);
        }
        if state.zoom > 1.0 {
            if widgets::small_button(ui, "\u{2212}", said("scene-smaller"), true, "").clicked() {
                state.zoom_by(1.0 / 1.4);
            }
            if widgets::small_button(ui, said("scene-all"), said("scene-all-name"), true, "").clicked() {
                state.fit();
            }
        }
    });
}

fn cautions_ui(view: &SceneView, ui: &mut Ui) {
    if view.cautions.is_empty() {
        ui.label(theme::remark(ui, said("scene-touch")));
    }
    // the worst first; as many as have room
    for words in &view.cautions {
        let wide = ui.painter().layout_no_wrap((*words).to_owned(), regular(12.5), Color32::BLACK).size().x + 46.0;
        if wide > ui.available_width() && ui.cursor().left() > ui.max_rect().left() + 1.0 {
            let more = said("scene-more");
            if ui.available_width() > 130.0 {
                ui.label(theme::quiet(ui, more));
            }
            break;
        }
        widgets::caution_chip(ui, words);
    }
}
