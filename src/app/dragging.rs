//! The kit dragged to a joint: the test tee, the hose of the external container, the second transducer. They lie in a
//! rack under the drawing; dragged, every joint shows by a ring whether it can be fitted there, and the nearest one
//! says so in words. Dropped back in the rack it is taken out. By mouse or finger; the workshop does the same by
//! presses and keys.
//!
//! Whether it is really done the bay decides: a drop on a joint that can't have it is refused there, with the reason.

use bevy_egui::egui::{
    Align2, CursorIcon, Id, Key, Painter, Pos2, Rect, Response, Sense, Shape, Stroke, StrokeKind, Ui, Vec2,
    WidgetInfo, WidgetType, vec2,
};

use super::bridge::Intent;
use super::state::Tab;
use super::symbols::{self, Pen};
use super::theme::{RADIUS, regular, semibold, tokens};
use super::tokens::Tokens;
use super::widgets;
use crate::bay::action::Action;
use crate::bay::observation::Observation;
use crate::bay::words::offer::why_not;
use crate::language::said;
use crate::scenario::model::Job;
use crate::tell;

/// Width of the rack, points.
pub const RACK: f32 = 124.0;
/// How near a joint a finger has to let go, points.
const REACH: f32 = 30.0;
/// Radius of the ring round a joint while something is dragged, points.
const RING: f32 = 15.0;

/// A piece of the kit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Item {
    /// The test tee.
    Tee,
    /// The hose of the external container.
    Hose,
    /// The second transducer.
    Second,
}

impl Item {
    /// Every piece, in the order of the rack.
    pub const ALL: [Self; 3] = [Self::Tee, Self::Hose, Self::Second];

    /// What it is called.
    pub fn words(self) -> &'static str {
        match self {
            Self::Tee => said("tee"),
            Self::Hose => said("rack-hose"),
            Self::Second => said("bay-meter-second"),
        }
    }

    /// Where it sits, if it isn't in the rack.
    pub fn sits_at(self, seen: &Observation) -> Option<&str> {
        match self {
            Self::Tee => seen.tee.as_ref().map(|t| t.joint.as_str()),
            Self::Hose => seen.container.as_deref(),
            Self::Second => seen.second.as_ref().map(|(joint, _)| joint.as_str()),
        }
    }

    /// What letting go of it at a joint, or in the rack, asks for.
    pub fn dropped(self, joint: Option<&str>, old_seals: bool) -> Action {
        let to = joint.map(str::to_owned);
        match (self, to) {
            (Self::Tee, Some(joint)) => Action::FitTee { joint, new_seals: !old_seals },
            (Self::Tee, None) => Action::RemoveTee { new_seals: !old_seals },
            (Self::Hose, joint) => Action::Container { joint },
            (Self::Second, joint) => Action::SecondGauge { joint },
        }
    }
}

/// A piece under the finger.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Dragging {
    /// Which.
    pub item: Option<Item>,
    /// It was let go by the key Escape; the finger may still be down.
    pub given_up: bool,
}

/// What lies where: the rack, the drawing, and the joints on the screen.
pub struct Bench<'a> {
    /// The job.
    pub job: &'a Job,
    /// What is perceived.
    pub seen: &'a Observation,
    /// Old seals are to be used again.
    pub old_seals: bool,
    /// Joints by name, with where they are drawn.
    pub joints: &'a [(String, Pos2)],
    /// The rack.
    pub rack: Rect,
    /// The drawing: joints outside it aren't in sight.
    pub drawing: Rect,
}

impl Bench<'_> {
    /// The joint within reach of the finger.
    fn nearest(&self, finger: Pos2) -> Option<(&str, Pos2)> {
        let in_sight = self.joints.iter().filter(|(_, at)| self.drawing.expand(4.0).contains(*at));
        let near = in_sight.map(|(name, at)| (name.as_str(), *at, at.distance(finger)));
        let nearest = near.filter(|(_, _, far)| *far <= REACH).min_by(|a, b| a.2.total_cmp(&b.2));
        nearest.map(|(name, at, _)| (name, at))
    }

    /// The place of a piece in the rack.
    fn slot(&self, item: Item) -> Rect {
        let cell = vec2((self.rack.width() - 8.0) / 3.0, 32.0);
        let i = Item::ALL.iter().position(|each| *each == item).unwrap_or(0);
        let at = self.rack.left_top() + vec2((cell.x + 4.0) * i as f32, (self.rack.height() - cell.y) / 2.0);
        Rect::from_min_size(at, cell)
    }

    /// Why a piece can't go to a joint; empty when nothing is known against it.
    fn why(&self, item: Item, joint: &str) -> String {
        why_not(&item.dropped(Some(joint), self.old_seals), self.job, self.seen)
    }

    fn label<'b>(&'b self, joint: &'b str) -> &'b str {
        self.job.joints.iter().find(|(name, _)| name == joint).map_or(joint, |(_, label)| label)
    }
}

/// Draws the rack and what is dragged, over the drawing.
pub fn rack_ui(bench: &Bench<'_>, state: &mut Dragging, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let mut held = None;
    for item in Item::ALL {
        let response = slot_ui(bench, item, bench.slot(item), ui);
        if response.clicked() {
            intents.push(Intent::Turn(Tab::Workshop));
        }
        held = held.or(Some((item, response)).filter(|(_, r)| r.dragged() || r.drag_stopped()));
    }
    for item in Item::ALL {
        let Some(joint) = item.sits_at(bench.seen) else { continue };
        let Some((_, at)) = bench.joints.iter().find(|(name, _)| name == joint) else { continue };
        if bench.drawing.contains(*at) {
            let grip = Rect::from_center_size(grip_of(item, *at), vec2(32.0, 32.0));
            let response = ui.interact(grip, Id::new(("kit at its joint", item)), Sense::drag());
            held = held.or(Some((item, response)).filter(|(_, r)| r.dragged() || r.drag_stopped()));
        }
    }
    follow(bench, state, held, ui, intents);
}

/// Where a fitted piece is taken: the tee at its gauge, the others below the joint.
fn grip_of(item: Item, joint: Pos2) -> Pos2 {
    match item {
        Item::Tee => joint - vec2(0.0, 36.0),
        Item::Hose => joint + vec2(-36.0, 40.0),
        Item::Second => joint + vec2(0.0, 30.0),
    }
}

/// A place of the rack, with its piece or empty.
fn slot_ui(bench: &Bench<'_>, item: Item, rect: Rect, ui: &Ui) -> Response {
    let t = tokens(ui);
    let response = ui.interact(rect, Id::new(("rack", item)), Sense::click_and_drag());
    let aloud = match item.sits_at(bench.seen) {
        Some(joint) => tell!("rack-sits", item = item.words(), joint = bench.label(joint)),
        None => tell!("rack-drag", item = item.words()),
    };
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &aloud));
    let painter = ui.painter();
    widgets::cell_background(ui, &response, rect, false);
    let out = item.sits_at(bench.seen).is_some();
    picture(painter, item, rect.center(), if out { t.faint } else { t.ink }, t);
    widgets::focus_ring(ui, &response, rect);
    response.on_hover_cursor(CursorIcon::Grab).on_hover_text(aloud)
}

/// A piece as a small drawing.
fn picture(painter: &Painter, item: Item, at: Pos2, ink: bevy_egui::egui::Color32, t: &Tokens) {
    let line = Stroke::new(1.6, ink);
    match item {
        Item::Tee => {
            let pen = Pen { painter, k: 0.62, ink: line, fill: t.sheet, accent: ink, along: vec2(1.0, 0.0) };
            symbols::valve(&pen, at + vec2(-7.0, 5.0), 1.0);
            painter.line_segment([at + vec2(7.0, 5.0), at + vec2(7.0, -2.0)], line);
            painter.circle(at + vec2(7.0, -6.0), 5.0, t.sheet, line);
            painter.hline(at.x..=at.x + 12.0, at.y + 5.0, line);
        }
        Item::Hose => {
            let body = Rect::from_min_size(at + vec2(-11.0, -4.0), vec2(12.0, 12.0));
            painter.rect(body, 2, t.sheet, line, StrokeKind::Middle);
            let hose: Vec<Pos2> = [(-5.0, -4.0), (-4.0, -9.0), (5.0, -9.0), (9.0, -2.0), (9.0, 8.0)]
                .map(|(x, y)| at + vec2(x, y))
                .to_vec();
            painter.add(Shape::line(hose, Stroke::new(2.4, ink)));
        }
        Item::Second => {
            painter.circle(at + vec2(0.0, -3.0), 8.0, t.sheet, line);
            painter.line_segment([at + vec2(0.0, 5.0), at + vec2(0.0, 11.0)], line);
            painter.text(at + vec2(0.0, -3.0), Align2::CENTER_CENTER, "P2", semibold(11.0), ink);
        }
    }
}

/// What happens while a piece is under the finger, and when it is let go.
fn follow(
    bench: &Bench<'_>,
    state: &mut Dragging,
    held: Option<(Item, Response)>,
    ui: &Ui,
    intents: &mut Vec<Intent>,
) {
    let Some((item, response)) = held else {
        *state = Dragging::default();
        return;
    };
    if ui.input(|i| i.key_pressed(Key::Escape)) {
        state.given_up = true;
    }
    state.item = (!state.given_up).then_some(item);
    if state.given_up {
        return;
    }
    let Some(finger) = ui.ctx().pointer_latest_pos() else { return };
    let nearest = bench.nearest(finger);
    if response.drag_stopped() {
        let in_rack = bench.rack.expand(8.0).contains(finger);
        if let Some((joint, _)) = nearest {
            intents.push(Intent::Do(item.dropped(Some(joint), bench.old_seals)));
        } else if in_rack && item.sits_at(bench.seen).is_some() {
            intents.push(Intent::Do(item.dropped(None, bench.old_seals)));
        }
        *state = Dragging::default();
        return;
    }
    ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
    dragged_ui(bench, item, finger, nearest, ui);
}

/// Rings on every joint, the piece under the finger with a line to where it came from, and what would happen here.
fn dragged_ui(bench: &Bench<'_>, item: Item, finger: Pos2, nearest: Option<(&str, Pos2)>, ui: &Ui) {
    let t = tokens(ui);
    let painter = ui.painter();
    for (name, at) in bench.joints.iter().filter(|(_, at)| bench.drawing.expand(4.0).contains(*at)) {
        let free = bench.why(item, name).is_empty();
        let near = nearest.is_some_and(|(n, _)| n == name);
        // what can have it: a full ring; what can't: a broken one, which is told without its colour
        let ring = Stroke::new(if near { 3.5 } else { 2.0 }, if free { t.accent } else { t.caution });
        if free {
            if near {
                painter.circle_filled(*at, RING, t.accent.gamma_multiply(0.2));
            }
            painter.circle_stroke(*at, RING, ring);
        } else {
            let round: Vec<Pos2> =
                (0..=24).map(|k| at_angle(*at, RING, std::f32::consts::TAU * k as f32 / 24.0)).collect();
            painter.extend(Shape::dashed_line(&round, ring, 4.0, 4.0));
        }
    }
    let from = item
        .sits_at(bench.seen)
        .and_then(|joint| bench.joints.iter().find(|(name, _)| name == joint))
        .map_or_else(|| bench.slot(item).center(), |(_, at)| *at);
    painter.extend(Shape::dashed_line(&[from, finger], Stroke::new(1.0, t.second_ink), 5.0, 4.0));
    let piece = Rect::from_center_size(finger, vec2(36.0, 32.0));
    painter.rect(piece, RADIUS, t.sheet, Stroke::new(1.4, t.accent), StrokeKind::Inside);
    picture(painter, item, finger, t.ink, t);
    let (words, colour) = match nearest {
        Some((joint, _)) => match bench.why(item, joint) {
            why if why.is_empty() => (tell!("rack-fit", joint = bench.label(joint)), t.ink),
            why => (tell!("rack-not-here", joint = bench.label(joint), why = why), t.caution),
        },
        None if bench.rack.expand(8.0).contains(finger) && item.sits_at(bench.seen).is_some() => {
            (said("rack-take-out").to_owned(), t.ink)
        }
        None => (said("rack-let-go").to_owned(), t.second_ink),
    };
    let joints: Vec<Pos2> = bench.joints.iter().map(|(_, at)| *at).collect();
    slip(painter, &words, colour, finger, &joints, bench.drawing, t);
}

fn at_angle(middle: Pos2, r: f32, a: f32) -> Pos2 {
    middle + r * vec2(a.cos(), a.sin())
}

/// Where words of a size stand beside the finger: within the drawing, not under the hand, and off the joints with their
/// rings as long as that can be, for those are what one aims at.
fn place_of_slip(size: Vec2, finger: Pos2, joints: &[Pos2], within: Rect) -> Rect {
    let far = vec2(size.x / 2.0 + 26.0, size.y / 2.0 + 30.0);
    let sides = [vec2(0.0, -far.y), vec2(far.x, 0.0), vec2(-far.x, 0.0), vec2(0.0, far.y)];
    let corners = [vec2(far.x, -far.y), vec2(-far.x, -far.y)];
    let lies = |by: Vec2| {
        let middle = finger + by;
        let half = size / 2.0;
        let most = (within.max - half).max(within.min + half);
        Rect::from_center_size(middle.clamp(within.min + half, most), size)
    };
    let covers = |rect: &Rect| joints.iter().filter(|at| rect.distance_to_pos(**at) < RING + 2.0).count();
    let under_hand = |rect: &Rect| usize::from(rect.distance_to_pos(finger) < 16.0);
    let all = sides.into_iter().chain(corners).map(lies);
    // of equals the first
    all.min_by_key(|rect| 10 * under_hand(rect) + covers(rect)).unwrap_or(within)
}

/// Words beside the finger.
fn slip(
    painter: &Painter,
    words: &str,
    colour: bevy_egui::egui::Color32,
    finger: Pos2,
    joints: &[Pos2],
    within: Rect,
    t: &Tokens,
) {
    let galley = painter.layout(words.to_owned(), regular(13.0), colour, within.width().min(300.0) - 16.0);
    let back = place_of_slip(galley.size() + vec2(16.0, 8.0), finger, joints, within);
    painter.rect(back, RADIUS, t.sheet, Stroke::new(1.2, colour), StrokeKind::Inside);
    painter.galley(back.min + vec2(8.0, 4.0), galley, colour);
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy_egui::egui::pos2;

    #[test]
    fn the_words_beside_the_finger_cover_no_joint_that_one_aims_at() {
        let within = Rect::from_min_max(pos2(10.0, 50.0), pos2(760.0, 300.0));
        let joints = [pos2(277.0, 162.0), pos2(442.0, 162.0), pos2(585.0, 206.0)];
        let size = vec2(102.0, 24.0);
        for x in (20..750).step_by(5) {
            for y in (60..295).step_by(5) {
                let finger = pos2(x as f32, y as f32);
                let slip = place_of_slip(size, finger, &joints, within);
                assert!(within.expand(0.1).contains_rect(slip), "{finger:?}: {slip:?}");
                assert!(slip.distance_to_pos(finger) >= 16.0, "under the hand at {finger:?}: {slip:?}");
                let covered = joints.iter().find(|at| slip.distance_to_pos(**at) < RING);
                assert_eq!(covered, None, "the finger at {finger:?}");
            }
        }
    }

    #[test]
    fn what_is_let_go_at_a_joint_is_fitted_and_in_the_rack_taken_out() {
        let joint = Some("filter in");
        assert_eq!(Item::Tee.dropped(joint, false), Action::FitTee { joint: "filter in".into(), new_seals: true });
        assert_eq!(Item::Tee.dropped(None, true), Action::RemoveTee { new_seals: false });
        assert_eq!(Item::Hose.dropped(joint, false), Action::Container { joint: Some("filter in".into()) });
        assert_eq!(Item::Hose.dropped(None, false), Action::Container { joint: None });
        assert_eq!(Item::Second.dropped(None, false), Action::SecondGauge { joint: None });
    }
}
