//! The place: the supply drawn along the outline of the vehicle. Draws, and tells what was pressed;
//! where things stand comes from [`super::scene_layout`].

use bevy_egui::egui::{
    self, Align2, Color32, Painter, Pos2, Rect, Response, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2,
    vec2,
};

use super::bridge::Intent;
use super::scene_layout::{self as place, Layout, PlacedJoint, PlacedPart};
use super::symbols;
use super::theme::{self, italic, regular, semibold, tokens};
use super::tokens::Tokens;
use super::widgets;
use crate::bay::observation::{EngineRun, Observation};
use crate::scenario::model::Job;

/// What the scene shows.
pub struct SceneView {
    /// Places.
    pub layout: Layout,
    /// Joint of the tee, and how its lever stands.
    pub tee: Option<(String, f64)>,
    /// Joint of the external container.
    pub container: Option<String>,
    /// The filler cap stands open.
    pub cap_open: bool,
    /// The dashboard's fuel gauge, 0 … 1.
    pub fuel_gauge: f64,
    /// The engine in words.
    pub engine: String,
    /// Text under the tee's gauge: when it was zeroed.
    pub zeroed: String,
    /// Cautions that apply.
    pub cautions: Vec<&'static str>,
    /// Joint picked in the workshop.
    pub picked: Option<String>,
}

impl SceneView {
    /// From what can be perceived.
    pub fn of(job: &Job, seen: &Observation, picked: Option<&String>) -> Self {
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
            cap_open: seen.cap_open,
            fuel_gauge: seen.fuel_gauge,
            engine,
            zeroed,
            cautions: seen.cautions.clone(),
            picked: picked.cloned(),
        }
    }
}

/// From the drawing's units to the screen.
#[derive(Clone, Copy)]
struct Paper {
    origin: Pos2,
    scale: f32,
}

impl Paper {
    fn at(self, p: (f32, f32)) -> Pos2 {
        self.origin + vec2(p.0, p.1) * self.scale
    }
}

/// Draws the scene into what is left of `ui`. Returns where the tee is drawn, for the leader to the glass.
pub fn scene_ui(view: &SceneView, ui: &mut Ui, intents: &mut Vec<Intent>) -> Option<Pos2> {
    let rect = ui.available_rect_before_wrap();
    let t = tokens(ui);
    let foot = 40.0;
    let drawing = Rect::from_min_max(rect.min, pos2(rect.right(), rect.bottom() - foot));
    let scale = (drawing.width() / place::SIZE.0).min(drawing.height() / place::SIZE.1);
    let spare = drawing.size() - vec2(place::SIZE.0, place::SIZE.1) * scale;
    let paper = Paper { origin: drawing.min + spare / 2.0, scale };
    vehicle(ui.painter(), paper, t);
    tank(view, ui.painter(), paper, t);
    pipes(view, ui.painter(), paper, t);
    for part in &view.layout.parts {
        part_ui(view, part, paper, ui, intents);
    }
    let mut tee_at = None;
    for joint in &view.layout.joints {
        let at = joint_ui(view, joint, paper, ui, intents);
        tee_at = tee_at.or(at);
    }
    let foot_rect = Rect::from_min_max(pos2(rect.left(), rect.bottom() - foot), rect.max);
    ui.scope_builder(egui::UiBuilder::new().max_rect(foot_rect), |ui| foot_ui(view, ui));
    tee_at
}

fn foot_ui(view: &SceneView, ui: &mut Ui) {
    ui.horizontal(|ui| {
        if view.cautions.is_empty() {
            let words = "Press a part to look at it, a joint to work on it. Lines are opaque: air is seen only in the sight glass.";
            ui.label(theme::remark(ui, words));
        }
        // the worst first; as many as have room
        for words in &view.cautions {
            let wide = ui.painter().layout_no_wrap((*words).to_owned(), regular(12.5), Color32::BLACK).size().x + 46.0;
            if wide > ui.available_width() && ui.cursor().left() > ui.max_rect().left() + 1.0 {
                ui.label(theme::quiet(ui, "more in the history"));
                break;
            }
            widgets::caution_chip(ui, words);
        }
    });
}

fn vehicle(painter: &Painter, paper: Paper, t: &Tokens) {
    let stroke = Stroke::new(1.2, t.faint);
    let p = |x, y| paper.at((x, y));
    let mut body = vec![p(52.0, 222.0), p(52.0, 84.0)];
    body.extend(symbols::bend(p(52.0, 84.0), p(54.0, 56.0), p(84.0, 56.0)));
    body.push(p(552.0, 56.0));
    body.extend(symbols::bend(p(552.0, 56.0), p(588.0, 56.0), p(610.0, 82.0)));
    body.push(p(660.0, 140.0));
    body.push(p(722.0, 156.0));
    body.extend(symbols::bend(p(722.0, 156.0), p(746.0, 164.0), p(748.0, 196.0)));
    body.push(p(748.0, 222.0));
    painter.add(Shape::line(body, stroke));
    let window = vec![p(582.0, 76.0), p(596.0, 76.0), p(642.0, 136.0), p(582.0, 136.0)];
    painter.add(Shape::closed_line(window, stroke));
    let floor = p(0.0, 252.0).y;
    let wheels = [160.0, 654.0];
    let mut x = 52.0;
    for wheel in wheels {
        painter.line_segment([p(x, 222.0), p(wheel - 38.0, 222.0)], stroke);
        painter.circle_stroke(p(wheel, 218.0), 34.0 * paper.scale, stroke);
        painter.circle_stroke(p(wheel, 218.0), 15.0 * paper.scale, stroke);
        x = wheel + 38.0;
    }
    painter.line_segment([p(x, 222.0), p(748.0, 222.0)], stroke);
    painter.hline(p(16.0, 0.0).x..=p(752.0, 0.0).x, floor, Stroke::new(1.0, t.rule));
}

fn tank(view: &SceneView, painter: &Painter, paper: Paper, t: &Tokens) {
    let (l, top, r, b) = place::TANK;
    let ink = Stroke::new(2.0, t.ink);
    let p = |x, y| paper.at((x, y));
    // what is behind the tank doesn't show through it
    painter.rect_filled(Rect::from_min_max(p(l, top + 16.0), p(r, b)), 0, t.sheet);
    // the level the dashboard claims: the wall itself is opaque
    let level = b - 3.0 - (b - top - 8.0) * view.fuel_gauge.clamp(0.0, 1.0) as f32;
    let fuel = Rect::from_min_max(p(l + 2.0, level), p(r - 2.0, b - 2.0));
    painter.rect_filled(fuel, 0, theme::mixed(t.sheet, t.diesel, 0.55));
    painter.hline(fuel.x_range(), fuel.top(), Stroke::new(1.0, t.diesel));
    painter.add(Shape::line(vec![p(l, top), p(l, b), p(r, b), p(r, top)], ink));
    let gauge = format!("gauge: {:.0} %", view.fuel_gauge * 100.0);
    painter.text(p(l + 8.0, b - 12.0), Align2::LEFT_CENTER, gauge, regular(11.5), t.ink);
    // vent
    painter.add(Shape::line(vec![p(104.0, 158.0), p(104.0, 138.0), p(120.0, 138.0)], Stroke::new(1.5, t.ink)));
    symbols::arrow_head(painter, p(131.0, 138.0), vec2(1.0, 0.0), 7.0, t.sheet, Stroke::new(1.3, t.ink));
    painter.text(p(138.0, 138.0), Align2::LEFT_CENTER, "vent", regular(11.5), t.second_ink);
    // filler
    painter.add(Shape::line(vec![p(84.0, 170.0), p(64.0, 156.0), p(56.0, 116.0)], Stroke::new(1.5, t.ink)));
    let cap = if view.cap_open { p(38.0, 102.0) } else { p(55.0, 110.0) };
    painter.rect(
        Rect::from_center_size(cap, vec2(16.0, 10.0)),
        2,
        t.sheet,
        Stroke::new(1.5, t.ink),
        egui::StrokeKind::Middle,
    );
    let words = if view.cap_open { "cap open" } else { "cap shut" };
    painter.text(p(62.0, 96.0), Align2::LEFT_CENTER, words, regular(11.5), t.second_ink);
}

fn pipes(view: &SceneView, painter: &Painter, paper: Paper, t: &Tokens) {
    let way = [
        place::PICKUP,
        (place::PICKUP.0, place::FLOOR),
        (view.layout.turn, place::FLOOR),
        (view.layout.turn, place::BAY),
        (place::ENGINE, place::BAY),
    ];
    let way: Vec<Pos2> = way.iter().map(|&p| paper.at(p)).collect();
    painter.add(Shape::line(way.clone(), Stroke::new(6.0, t.ink)));
    painter.add(Shape::line(way, Stroke::new(3.2, t.diesel)));
    // the return, back to the tank
    let back = [(place::ENGINE, place::BAY - 20.0), (place::ENGINE, 74.0), (226.0, 74.0), (226.0, 168.0)];
    painter.add(Shape::line(back.iter().map(|&p| paper.at(p)).collect(), Stroke::new(1.5, t.ink)));
    symbols::arrow_head(painter, paper.at((226.0, 172.0)), vec2(0.0, 1.0), 6.0, t.ink, Stroke::NONE);
    painter.text(paper.at((238.0, 66.0)), Align2::LEFT_CENTER, "return", regular(11.5), t.second_ink);
    if let Some(name) = &view.container
        && let Some(joint) = view.layout.joints.iter().find(|j| j.name == *name)
    {
        container(painter, paper.at(joint.at), t);
    }
}

fn container(painter: &Painter, joint: Pos2, t: &Tokens) {
    let body = Rect::from_min_size(joint + vec2(-52.0, 34.0), vec2(40.0, 34.0));
    painter.rect(body, 3, t.sheet, Stroke::new(1.5, t.ink), egui::StrokeKind::Middle);
    painter.rect_filled(body.shrink(3.0).with_min_y(body.top() + 12.0), 1, theme::mixed(t.sheet, t.diesel, 0.6));
    let hose = vec![joint, joint + vec2(-8.0, 24.0), joint + vec2(-32.0, 18.0), joint + vec2(-32.0, 52.0)];
    painter.add(Shape::line(hose, Stroke::new(3.0, t.ink)));
    painter.text(body.center_bottom() + vec2(0.0, 8.0), Align2::CENTER_CENTER, "container", regular(11.5), t.ink);
}

fn part_ui(view: &SceneView, part: &PlacedPart, paper: Paper, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    let at = paper.at(part.at);
    let size = if part.kind == "Tank" { vec2(76.0, 32.0) } else { vec2(36.0, 36.0) };
    let rect = Rect::from_center_size(at, size);
    let response = pressable(ui, rect, ("part", &part.name), &format!("Look at: {}", part.label));
    let painter = ui.painter();
    let ink = Stroke::new(1.6, if response.hovered() { t.accent } else { t.ink });
    let below = at + vec2(0.0, 29.0);
    match part.kind {
        "Strainer" => symbols::filter(painter, at, 10.0, t.sheet, ink),
        "NonReturnValve" => symbols::non_return(painter, at, t.sheet, ink),
        "Filter" => {
            symbols::filter(painter, at, 17.0, t.sheet, ink);
            if part.primer {
                symbols::primer(painter, at + vec2(0.0, -24.0), ink);
            }
        }
        "GearPump" => symbols::pump(painter, at, 17.0, t.sheet, ink, t.ink),
        "Engine" => {
            let body = Rect::from_center_size(at, vec2(38.0, 36.0));
            painter.rect(body, 2, t.sheet, Stroke::new(2.0, ink.color), egui::StrokeKind::Middle);
            painter.text(at, Align2::CENTER_CENTER, "HP", semibold(13.0), t.ink);
        }
        "Line" => {
            // a cuff on the line: to press, without looking like a joint
            let cuff = Rect::from_center_size(at, vec2(9.0, 11.0));
            painter.rect(cuff, 1, t.sheet, Stroke::new(1.2, ink.color), egui::StrokeKind::Middle);
        }
        _ => {}
    }
    match part.kind {
        "Tank" => {}
        "Strainer" => {
            // under the tank: beside the symbol its wall would run through the word
            painter.text(at + vec2(0.0, 43.0), Align2::CENTER_CENTER, &part.short, regular(11.5), t.second_ink);
        }
        "Engine" => {
            let words = view.engine.replace(", ", "\n");
            painter.text(at + vec2(0.0, 23.0), Align2::CENTER_TOP, words, semibold(11.5), t.ink);
        }
        // lines are named when they are pointed at: there are many
        "Line" if !(response.hovered() || response.has_focus()) => {}
        "Line" => tag(ui, &part.label, at, 34.0, t),
        _ => label(painter, &part.short, below, t),
    }
    if response.clicked() {
        intents.push(Intent::PickPart(part.name.clone()));
    }
}

/// A label of one or two short lines under a symbol.
fn label(painter: &Painter, words: &str, at: Pos2, t: &Tokens) {
    let mut job = egui::text::LayoutJob::simple(words.to_owned(), regular(11.5), t.second_ink, 66.0);
    job.halign = egui::Align::Center;
    let shown = painter.layout_job(job);
    painter.galley(at - vec2(0.0, 7.0), shown, t.second_ink);
}

fn joint_ui(
    view: &SceneView,
    joint: &PlacedJoint,
    paper: Paper,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) -> Option<Pos2> {
    let t = tokens(ui);
    let at = paper.at(joint.at);
    let here = view.tee.as_ref().filter(|(name, _)| *name == joint.name);
    let name = match here {
        Some(_) => format!("Joint: {}. The tee is fitted here", joint.label),
        None => format!("Joint: {}", joint.label),
    };
    let response = pressable(ui, Rect::from_center_size(at, vec2(32.0, 32.0)), ("joint", &joint.name), &name);
    let painter = ui.painter();
    let on = view.picked.as_ref() == Some(&joint.name);
    if let Some((_, open)) = here {
        tee(view, *open, painter, at, t);
    } else {
        let edge = if response.hovered() || on { t.accent } else { t.ink };
        painter.circle(at, 5.5, t.sheet, Stroke::new(1.6, edge));
        if on {
            painter.circle_stroke(at, 9.0, Stroke::new(1.5, t.accent));
        }
    }
    if response.hovered() || response.has_focus() || on || here.is_some() {
        let words = if here.is_some() { format!("tee: {}", joint.label) } else { joint.label.clone() };
        tag(ui, &words, at, if joint.at.1 < place::FLOOR + 1.0 { 62.0 } else { 66.0 }, t);
    }
    if response.clicked() {
        intents.push(Intent::PickJoint(joint.name.clone()));
    }
    here.map(|_| at)
}

/// A name on a highlighted tag below what it names.
fn tag(ui: &Ui, words: &str, at: Pos2, below: f32, t: &Tokens) {
    let painter = ui.painter();
    let galley = painter.layout_no_wrap(words.to_owned(), regular(12.0), t.ink);
    let mut back = Rect::from_center_size(at + vec2(0.0, below), galley.size() + vec2(12.0, 6.0));
    let over = back.right() - ui.max_rect().right();
    if over > 0.0 {
        back = back.translate(vec2(-over, 0.0));
    }
    painter.line_segment([at + vec2(0.0, 10.0), pos2(at.x, back.top())], Stroke::new(1.0, t.faint));
    painter.rect_filled(back, theme::RADIUS, t.highlight);
    painter.galley(back.min + vec2(6.0, 3.0), galley, t.ink);
}

/// The tee with its valve on the tank's side of the tapping and its transducer above.
fn tee(view: &SceneView, open: f64, painter: &Painter, at: Pos2, t: &Tokens) {
    let ink = Stroke::new(1.6, t.ink);
    symbols::valve(painter, at + vec2(-21.0, 0.0), open as f32, t.sheet, ink, t.accent);
    painter.circle_filled(at, 5.0, t.ink);
    painter.line_segment([at, at + vec2(0.0, -44.0)], Stroke::new(1.5, t.ink));
    let head = at + vec2(0.0, -57.0);
    painter.circle(head, 13.0, t.sheet, ink);
    painter.text(head, Align2::CENTER_CENTER, "P", semibold(13.0), t.ink);
    let words = format!("transducer\n{}", view.zeroed);
    let galley = painter.layout_no_wrap(words, italic(11.5), t.second_ink);
    let back = Rect::from_min_size(head + vec2(18.0, -galley.size().y / 2.0), galley.size());
    painter.rect_filled(back.expand(2.0), 2, t.sheet);
    painter.galley(back.min, galley, t.second_ink);
}

fn pressable(ui: &mut Ui, rect: Rect, salt: (&str, &str), name: &str) -> Response {
    let response =
        ui.interact(rect, ui.id().with(salt), Sense::click()).on_hover_cursor(egui::CursorIcon::PointingHand);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, ui.is_enabled(), name));
    widgets::focus_ring(ui, &response, rect.shrink(1.0));
    response
}
