//! The line with its wall opened, after hand-back: the pressure stands over the line as a height, the line is glass,
//! and time is scrubbed on a rail over the chart's own time axis.

use bevy_egui::egui::{
    self, Align, Align2, EventFilter, Painter, Pos2, Rect, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo,
    WidgetType, pos2, vec2,
};

use super::belief_chart::MARGINS;
use super::bridge::Intent;
use super::chart_draw::step_for;
use super::sight_glass::{Tint, fixed};
use super::symbols::{self, Pen};
use super::theme::{bold_figures, faded, figures, mixed, regular, semibold, tokens};
use super::tokens::{EDGE, LIGHT, Tokens};
use super::widgets;
use super::words::{number, short_clock};
use crate::bay::action::{Micros, SECOND};
use crate::bay::opened::{GRAINS, Gas, Moment, Opened};
use crate::language::{named, said};
use crate::plant::Plant;
use crate::report::plot::opened::{
    self as told, engine_words, in_two_lines, place_words, profile, tee_at, to_scale,
};
use crate::tell;

/// Height of the glass line.
const GLASS: f32 = 24.0;
/// Height of the rail of time.
const RAIL: f32 = 20.0;

/// What stands over the chart in the debrief.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Picture {
    /// The line opened.
    #[default]
    Line,
    /// Belief over time.
    Belief,
}

/// The wall, as the window knows it.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Wall {
    /// Shut: the vehicle wasn't handed back, or its attempt is being replayed.
    #[default]
    Shut,
    /// Opened.
    Open(Box<Shown>),
    /// It was left shut before it was open.
    Left,
    /// It can't be opened, and why.
    Never(String),
}

impl Wall {
    /// What is behind it.
    pub fn shown(&self) -> Option<&Shown> {
        if let Self::Open(shown) = self { Some(shown) } else { None }
    }
}

/// What is behind the wall, ready to be looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// The opened supply.
    pub opened: Opened,
    /// The moments that tell most.
    pub telling: Vec<Micros>,
}

impl Shown {
    /// Of an opened supply.
    pub fn of(opened: Opened, last_reading: Option<Micros>) -> Self {
        let telling = told::telling(&opened, last_reading).into_iter().map(|i| opened.moments[i].at).collect();
        Self { opened, telling }
    }

    /// The moment that is looked at when none was chosen: the first that tells something.
    pub fn first(&self) -> Micros {
        self.telling.first().copied().unwrap_or(0)
    }

    /// The next telling moment after a time; the first again after the last.
    pub fn next_telling(&self, after: Micros) -> Option<Micros> {
        self.telling.iter().copied().find(|at| *at > after).or_else(|| self.telling.first().copied())
    }

    /// A time so many steps on; a step is a hundredth of what the chart shows, and at least to the next moment.
    pub fn scrubbed(&self, at: Micros, steps: i32, span: Micros) -> Micros {
        let by = (span / 100).max(SECOND / 5) * u64::from(steps.unsigned_abs());
        let i = self.opened.index(at);
        let moments = &self.opened.moments;
        let end = moments.last().map_or(0, |m| m.at);
        if steps >= 0 {
            let next = moments.get(i + 1).map_or(end, |m| m.at);
            (at + by).max(next).min(end)
        } else {
            let before = i.checked_sub(1).and_then(|k| moments.get(k)).map_or(0, |m| m.at);
            at.saturating_sub(by).min(before)
        }
    }
}

/// A stretch of the line between two places.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Name of the part.
    pub name: String,
    /// Its kind in an author's words, for its symbol.
    pub kind: &'static str,
}

/// The opened line at one moment, ready to be drawn. Distances from the tank are counted in places.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenedView {
    /// Time and engine.
    pub head: String,
    /// What it tells, in sentences.
    pub words: Vec<String>,
    /// Pressure of this vehicle, mbar.
    pub here: Vec<(f64, f64)>,
    /// Pressure of the sound one, mbar.
    pub sound: Vec<(f64, f64)>,
    /// Where the fuel boils, mbar.
    pub boils: Vec<(f64, f64)>,
    /// Lowest and highest value of the scale, mbar.
    pub scale: (f64, f64),
    /// Glass of the tee: distance, mbar, label of its joint.
    pub tee: Option<(f64, f64, String)>,
    /// Pressure behind the pump, where it is beyond the scale, mbar.
    pub behind: Option<f64>,
    /// The parts between the places.
    pub stretches: Vec<Stretch>,
    /// Gas at each place, from upstream to downstream, 0 … 1.
    pub gas: Vec<[f64; GRAINS]>,
    /// What gas it is.
    pub kinds: Vec<Option<Gas>>,
    /// Water in the fuel.
    pub water: Vec<bool>,
}

/// Ends of a scale that stay where they are while time is scrubbed, unless the pressure really changes.
fn ends((low, high): (f64, f64)) -> (f64, f64) {
    let outer = |v: f64, steps: &[f64]| {
        let v = v * 1.04;
        steps.iter().copied().find(|s| *s >= v).unwrap_or_else(|| step_for(v))
    };
    (
        -outer(-low, &[20.0, 100.0, 250.0, 500.0, 1000.0]),
        outer(high, &[20.0, 100.0, 300.0, 1000.0, 3000.0, 5000.0, 8000.0]),
    )
}

impl OpenedView {
    /// At a time.
    pub fn of(opened: &Opened, plant: &Plant, at: Micros) -> Option<Self> {
        let i = opened.index(at);
        let (here, sound): (&Moment, &Moment) = opened.moments.get(i).zip(opened.sound.get(i))?;
        let shown = to_scale(opened);
        let limit = |(k, s): (usize, &crate::bay::opened::Spot)| (k as f64, s.boils_mbar);
        let kind = |name: &str| plant.part(name).map_or("", |p| p.is.kind());
        Some(Self {
            head: format!("{} · {}", short_clock(at), engine_words(here)),
            words: told::words(opened, i),
            here: profile(here, shown),
            sound: profile(sound, shown),
            boils: here.spots.iter().take(shown).enumerate().map(limit).collect(),
            scale: ends(told::span(opened, (here, sound))),
            tee: here.tee.map(|t| (tee_at(t), t.spot.mbar, place_words(opened, t.place).to_owned())),
            behind: here.spots.last().filter(|_| shown < opened.places.len()).map(|s| s.mbar),
            stretches: opened.parts.iter().map(|p| Stretch { name: p.part.clone(), kind: kind(&p.part) }).collect(),
            gas: here.spots.iter().map(|s| s.gas).collect(),
            kinds: here.spots.iter().map(crate::bay::opened::Spot::kind).collect(),
            water: here.spots.iter().map(crate::bay::opened::Spot::is_clouded).collect(),
        })
    }
}

/// What the picture is drawn on.
struct Frame<'a> {
    painter: &'a Painter,
    t: &'a Tokens,
    plot: Rect,
    /// Top of the glass line.
    line: f32,
    places: usize,
    scale: (f64, f64),
}

impl Frame<'_> {
    fn x(&self, place: f64) -> f32 {
        let share = place / (self.places.max(2) - 1) as f64;
        self.plot.left() + 14.0 + (share * f64::from(self.plot.width() - 28.0)) as f32
    }

    fn y(&self, mbar: f64) -> f32 {
        let (low, high) = self.scale;
        let share = ((mbar - low) / (high - low)).clamp(0.0, 1.0);
        self.plot.bottom() - 4.0 - (share * f64::from(self.plot.height() - 8.0)) as f32
    }

    fn way(&self, points: &[(f64, f64)]) -> Vec<Pos2> {
        points.iter().map(|&(at, mbar)| pos2(self.x(at), self.y(mbar))).collect()
    }
}

/// Draws the opened line into what is left of `ui`. `window` is what the chart shows, `at` the moment looked at.
pub fn opened_ui(
    shown: &Shown,
    plant: &Plant,
    window: (Micros, Micros),
    at: Micros,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    let Some(view) = OpenedView::of(&shown.opened, plant, at) else { return };
    let rect = ui.available_rect_before_wrap();
    let t = tokens(ui);
    let head = rect.with_max_y(rect.top() + 26.0);
    // what the strokes mean stands in the head, or where there is no room below it
    let beside = head.with_min_x(head.left() + picture_width(ui) + 16.0);
    let left = head_ui(&view, beside, ui);
    let low = left - beside.left() + 16.0 < keys_width(ui);
    let keys = if low {
        head.translate(vec2(0.0, 20.0)).with_max_y(head.bottom() + 18.0)
    } else {
        beside.with_max_x(left)
    };
    keys_ui(keys, ui);
    let top = if low { keys.bottom() } else { head.bottom() };
    let words = ui.painter().layout(view.words.join(" "), regular(12.5), t.ink, rect.width() - 8.0);
    let rail_top = rect.bottom() - RAIL;
    let words_top = rail_top - words.size().y - 4.0;
    let places = view.gas.len();
    let rows = name_lines(&view, rect.width() - MARGINS.0 - MARGINS.1);
    let names_top = words_top - 2.0 - 13.5 * rows as f32 - 4.0;
    let line = names_top - GLASS - 4.0;
    let plot =
        Rect::from_min_max(pos2(rect.left() + MARGINS.0, top + 14.0), pos2(rect.right() - MARGINS.1, line - 6.0));
    let response = ui.allocate_rect(rect.with_max_y(rail_top), Sense::hover());
    let aloud = tell!("opened-said", head = view.head, words = view.words.join(" "));
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, &aloud));
    let painter = ui.painter().clone();
    let frame = Frame { painter: &painter, t, plot, line, places, scale: view.scale };
    grid(&frame);
    profile_of(&view, &frame);
    glass_line(&view, &frame, Tint::of(plant));
    tee(&view, &frame);
    names(&view, &frame, names_top);
    painter.galley(pos2(rect.left() + 4.0, words_top), words, t.ink);
    let rail = Rect::from_min_max(pos2(plot.left(), rail_top), pos2(plot.right(), rect.bottom()));
    if let Some(to) = rail_ui(shown, window, at, rail, ui) {
        intents.push(Intent::Here(to));
    }
}

/// Time and engine, at the right end; gives where the room for something else ends.
fn head_ui(view: &OpenedView, rect: Rect, ui: &Ui) -> f32 {
    let at = pos2(rect.right() - 4.0, rect.center().y);
    let words = ui.painter().text(at, Align2::RIGHT_CENTER, &view.head, bold_figures(13.0), tokens(ui).ink);
    words.left() - 22.0
}

/// Width of what the strokes mean, points.
fn keys_width(ui: &Ui) -> f32 {
    let words = [said("opened-boils"), said("opened-sound"), said("opened-this")];
    words.into_iter().map(|words| widgets::widest(ui, [words], &regular(12.0)) + 46.0).sum()
}

/// What the strokes mean.
fn keys_ui(rect: Rect, ui: &Ui) {
    let t = tokens(ui);
    let painter = ui.painter();
    let mut x = rect.right() - 4.0;
    let keys: [(&str, Stroke, f32); 3] = [
        (said("opened-boils"), Stroke::new(1.4, t.second_pen), 4.0),
        (said("opened-sound"), Stroke::new(1.2, t.second_ink), 0.0),
        (said("opened-this"), Stroke::new(2.6, t.accent), 0.0),
    ];
    // what has no room is left out whole, this vehicle's last: the words below tell the same
    let mut room = x - rect.left() + 16.0;
    let has_room = [2, 1, 0].map(|i| {
        room -= widgets::widest(ui, [keys[i].0], &regular(12.0)) + 46.0;
        room >= 0.0
    });
    for (i, (words, stroke, dash)) in keys.into_iter().enumerate() {
        if !has_room[2 - i] {
            continue;
        }
        x = painter.text(pos2(x, rect.center().y), Align2::RIGHT_CENTER, words, regular(12.0), t.second_ink).left();
        let line = [pos2(x - 30.0, rect.center().y), pos2(x - 6.0, rect.center().y)];
        if dash > 0.0 {
            painter.extend(Shape::dashed_line(&line, stroke, dash, dash));
        } else {
            painter.line_segment(line, stroke);
        }
        x -= 46.0;
    }
}

fn grid(f: &Frame<'_>) {
    let (t, r) = (f.t, f.plot);
    f.painter.rect_filled(r, 0, t.chart);
    let step = step_for((f.scale.1 - f.scale.0) / 5.0);
    let first = (f.scale.0 / step).ceil() as i64;
    for i in first..=(f.scale.1 / step).floor() as i64 {
        let value = i as f64 * step;
        let y = f.y(value);
        let stroke = if i == 0 { Stroke::new(1.4, t.second_ink) } else { Stroke::new(1.0, t.fine_grid) };
        f.painter.hline(r.x_range(), y, stroke);
        f.painter.text(
            pos2(r.left() - 8.0, y),
            Align2::RIGHT_CENTER,
            number(value, 0),
            figures(12.0),
            t.second_ink,
        );
    }
    for place in 0..f.places {
        f.painter.vline(f.x(place as f64), r.y_range(), Stroke::new(1.0, t.fine_grid));
    }
    f.painter.text(r.left_top() - vec2(8.0, 12.0), Align2::RIGHT_CENTER, "mbar", regular(11.0), t.second_ink);
    f.painter.rect_stroke(r, 0, Stroke::new(1.0, t.strong_grid), StrokeKind::Inside);
}

/// The heights: between the vehicle and the sound one the difference is hatched, so that it is seen without its colour.
fn profile_of(view: &OpenedView, f: &Frame<'_>) {
    let t = f.t;
    let (here, sound) = (f.way(&view.here), f.way(&view.sound));
    let between = |points: &[Pos2], x: f32| {
        let k = points.windows(2).find(|w| w[0].x <= x && x <= w[1].x && w[1].x > w[0].x)?;
        Some(k[0].y + (k[1].y - k[0].y) * (x - k[0].x) / (k[1].x - k[0].x))
    };
    let (from, to) = (f.x(0.0), here.last().map_or(f.x(0.0), |p| p.x));
    let mut x = from + 3.0;
    while x < to {
        if let Some((a, b)) = between(&here, x).zip(between(&sound, x))
            && (a - b).abs() > 2.0
        {
            f.painter.vline(x, a.min(b)..=a.max(b), Stroke::new(1.0, faded(t.accent, 0.35)));
        }
        x += 5.0;
    }
    let lowest = view.boils.iter().map(|b| b.1).fold(f64::MIN, f64::max);
    if view.boils.iter().all(|b| b.1 >= f.scale.0) {
        f.painter.extend(Shape::dashed_line(&f.way(&view.boils), Stroke::new(1.4, t.second_pen), 4.0, 4.0));
    } else {
        let words = tell!("opened-boils-under", mbar = number(lowest, 0));
        let galley = f.painter.layout_no_wrap(words, regular(11.5), t.second_pen);
        let low = Rect::from_min_size(f.plot.left_bottom() + vec2(8.0, -4.0 - galley.size().y), galley.size());
        // at the foot, unless a height runs there
        let runs_there = |way: &[Pos2]| {
            let heights = (0..=12).filter_map(|i| between(way, low.left() + low.width() * i as f32 / 12.0));
            heights.into_iter().any(|y| low.expand(3.0).y_range().contains(y))
        };
        let at = if runs_there(&here) || runs_there(&sound) { f.plot.left_top() + vec2(8.0, 4.0) } else { low.min };
        f.painter.galley(at, galley, t.second_pen);
    }
    f.painter.add(Shape::line(sound, Stroke::new(1.2, t.second_ink)));
    for p in &here {
        f.painter.circle_filled(*p, 2.4, t.accent);
    }
    f.painter.add(Shape::line(here, Stroke::new(2.6, t.accent)));
    if let Some(behind) = view.behind {
        // in the stretch of the pump itself, where no curve runs
        let at = f.plot.right_bottom() + vec2(-6.0, -4.0);
        let words = tell!("opened-behind-pump", mbar = number(behind, 0));
        let mut job = egui::text::LayoutJob::simple(words, regular(11.5), t.second_ink, f32::INFINITY);
        job.halign = Align::RIGHT;
        let galley = f.painter.layout_job(job);
        f.painter.galley(at - vec2(0.0, galley.size().y), galley, t.second_ink);
    }
}

/// The line as glass: fuel, and the gas that stands in it. Air is round and uneven, vapour an open ring.
fn glass_line(view: &OpenedView, f: &Frame<'_>, tint: Tint) {
    let t = f.t;
    let tube = Rect::from_min_max(pos2(f.x(0.0), f.line), pos2(f.x((f.places - 1) as f64), f.line + GLASS));
    let fuel = tint.colour(t);
    f.painter.rect_filled(tube, 0, fuel);
    let shine = Rect::from_min_max(tube.min + vec2(0.0, 3.0), pos2(tube.right(), tube.top() + 6.0));
    f.painter.rect_filled(shine, 0, mixed(fuel, LIGHT, 0.3));
    let clip = f.painter.with_clip_rect(tube);
    for (place, gas) in view.gas.iter().enumerate() {
        for (k, share) in gas.iter().enumerate() {
            let edge = |n: usize| {
                let at = place as f64 - 0.5 + n as f64 / GRAINS as f64;
                f.x(at.clamp(0.0, (f.places - 1) as f64))
            };
            let cell = Rect::from_min_max(pos2(edge(k), tube.top()), pos2(edge(k + 1), tube.bottom()));
            if cell.width() > 0.5 {
                grains(&clip, cell, *share, view.kinds[place], (place * GRAINS + k) * 64, t);
            }
        }
        if view.water[place] {
            let blue = mixed(t.water, t.ink, 0.15);
            for n in 0..5 {
                let at = pos2(
                    f.x(place as f64) + 34.0 * (fixed(place * 9 + n, 21) - 0.5),
                    tube.bottom() - 3.0 - 5.0 * fixed(place * 9 + n, 22),
                );
                clip.circle(at, 2.6, t.water, Stroke::new(1.0, blue));
            }
        }
    }
    for y in [tube.top(), tube.bottom()] {
        f.painter.hline(tube.x_range(), y, Stroke::new(1.6, t.ink));
    }
    for (i, stretch) in view.stretches.iter().enumerate() {
        if stretch.kind != "Line" {
            let at = pos2(f.x(i as f64 + 0.5), tube.center().y);
            let pen = Pen {
                painter: f.painter,
                k: 0.82,
                ink: Stroke::new(1.5, t.ink),
                fill: t.sheet,
                accent: t.accent,
                along: vec2(1.0, 0.0),
            };
            symbols::part(&pen, stretch.kind, at, 14.0, 1.0);
        }
    }
}

/// Bubbles of one piece of the line.
fn grains(painter: &Painter, cell: Rect, share: f64, kind: Option<Gas>, seed: usize, t: &Tokens) {
    let share = share as f32;
    if share > 0.85 {
        painter.rect_filled(cell, 0, t.ground);
        return;
    }
    if share > 0.3 {
        // gas lies on top
        painter.rect_filled(cell.with_max_y(cell.top() + cell.height() * share), 0, t.ground);
        return;
    }
    if share < 0.001 {
        return;
    }
    let least = cell.width() * cell.height() / 900.0;
    let count = (least * (1.0 + share * 40.0)).ceil().clamp(1.0, 24.0) as usize;
    for n in 0..count {
        let i = seed + n;
        let at = pos2(
            cell.left() + cell.width() * fixed(i, 11),
            cell.top() + cell.height() * (0.12 + 0.76 * fixed(i, 12)),
        );
        let r = 1.2 + (1.0 + 6.0 * share) * fixed(i, 13);
        match kind {
            Some(Gas::Vapour) => painter.circle_stroke(at, r + 0.6, Stroke::new(1.2, EDGE)),
            _ => painter.circle(at, r, LIGHT, Stroke::new(0.8, EDGE)),
        };
    }
}

/// Where the tee stands, what it reads, and that only this was seen.
fn tee(view: &OpenedView, f: &Frame<'_>) {
    let Some((at, mbar, _)) = &view.tee else { return };
    let t = f.t;
    let x = f.x(*at);
    let top = f.plot.top();
    f.painter.vline(x, top - 2.0..=f.line + GLASS + 3.0, Stroke::new(1.6, t.third_pen));
    f.painter.circle(pos2(x, f.y(*mbar)), 5.0, t.sheet, Stroke::new(2.0, t.third_pen));
    let words = tell!("opened-tee", mbar = number(*mbar, 0));
    let galley = f.painter.layout_no_wrap(words, semibold(12.0), t.third_pen);
    let left = (x - galley.size().x / 2.0).clamp(f.plot.left(), f.plot.right() - galley.size().x);
    f.painter.galley(pos2(left, top - 15.0), galley, t.third_pen);
}

/// Width of a letter of a name, on the safe side.
const LETTER: f32 = 6.2;

/// Names of the parts on the lines below the glass: in two lanes where they are many, else in as many lines as they need.
fn name_rows(view: &OpenedView, width: f32) -> Vec<Vec<String>> {
    let wide = (width - 28.0) / view.stretches.len().max(1) as f32;
    let crowded = wide < 84.0;
    let room = ((if crowded { 2.0 } else { 1.0 }) * wide / LETTER) as usize;
    let broken = |(i, s): (usize, &Stretch)| {
        let mut lines = in_two_lines(named(&s.name), room);
        if crowded {
            lines.truncate(1);
            if i % 2 == 1 {
                lines.insert(0, String::new());
            }
        }
        lines
    };
    view.stretches.iter().enumerate().map(broken).collect()
}

/// How many lines they take.
fn name_lines(view: &OpenedView, width: f32) -> usize {
    name_rows(view, width).iter().map(Vec::len).max().unwrap_or(0)
}

fn names(view: &OpenedView, f: &Frame<'_>, top: f32) {
    for (i, lines) in name_rows(view, f.plot.width()).into_iter().enumerate() {
        let x = f.x(i as f64 + 0.5);
        for (k, line) in lines.into_iter().enumerate() {
            let at = pos2(x, top + 7.0 + 13.5 * k as f32);
            f.painter.text(at, Align2::CENTER_CENTER, line, regular(11.5), f.t.second_ink);
        }
    }
}

/// The rail of time over what the chart shows, with the telling moments as diamonds.
fn rail_ui(shown: &Shown, (from, to): (Micros, Micros), at: Micros, rect: Rect, ui: &Ui) -> Option<Micros> {
    let t = tokens(ui);
    let response = ui.interact(rect, ui.id().with("moment"), Sense::click_and_drag());
    let span = (to - from).max(1);
    let x_of = |time: Micros| {
        let share = (time as f64 - from as f64) / span as f64;
        rect.left() + (share.clamp(0.0, 1.0) * f64::from(rect.width())) as f32
    };
    let mut wanted = None;
    if (response.dragged() || response.clicked())
        && let Some(p) = response.interact_pointer_pos()
    {
        let share = f64::from((p.x - rect.left()) / rect.width()).clamp(0.0, 1.0);
        let end = shown.opened.moments.last().map_or(0, |m| m.at);
        wanted = Some((from + (share * span as f64) as Micros).min(end));
        response.request_focus();
    }
    if response.has_focus() {
        let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
        let steps = widgets::arrow_steps(ui) as i32;
        if steps != 0 {
            wanted = Some(shown.scrubbed(at, steps, span));
        }
    }
    let seconds = at as f64 / SECOND as f64;
    response.widget_info(|| {
        let mut info = WidgetInfo::slider(true, seconds, said("opened-moment"));
        info.current_text_value = Some(short_clock(at));
        info
    });
    let painter = ui.painter();
    let y = rect.center().y;
    painter.hline(rect.x_range(), y, Stroke::new(3.0, t.rule));
    for moment in shown.telling.iter().filter(|m| (from..=to).contains(m)) {
        let c = pos2(x_of(*moment), y);
        let d = 5.0;
        let diamond = vec![c - vec2(d, 0.0), c - vec2(0.0, d), c + vec2(d, 0.0), c + vec2(0.0, d)];
        painter.add(Shape::convex_polygon(diamond, t.highlight, Stroke::new(1.4, t.ink)));
    }
    let knob = Rect::from_center_size(pos2(x_of(at), y), vec2(9.0, 18.0));
    let edge = if response.hovered() || response.dragged() { t.accent } else { t.third_pen };
    painter.rect(knob, 2, t.sheet, Stroke::new(2.0, edge), StrokeKind::Inside);
    widgets::focus_ring(ui, &response, rect.shrink2(vec2(0.0, 1.0)));
    wanted.filter(|w| *w != at)
}

/// How wide the words are that choose between the pictures, points.
pub fn picture_width(ui: &Ui) -> f32 {
    let words = [said("opened-picture-line"), said("opened-picture-belief")];
    words.into_iter().map(|w| widgets::widest(ui, [w], &semibold(13.5)) + 8.0 + ui.spacing().item_spacing.x).sum()
}

/// The choice of pictures, at the left of the head.
pub fn picture_ui(picture: Picture, rect: Rect, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let builder = egui::UiBuilder::new().max_rect(rect).layout(egui::Layout::left_to_right(egui::Align::Center));
    ui.scope_builder(builder, |ui| {
        for (to, words, name) in [
            (Picture::Line, said("opened-picture-line"), said("opened-picture-line-name")),
            (Picture::Belief, said("opened-picture-belief"), said("opened-picture-belief-name")),
        ] {
            let on = to == picture;
            let font = if on { semibold(13.5) } else { regular(13.5) };
            let colour = if on { tokens(ui).accent } else { tokens(ui).second_ink };
            let galley = ui.painter().layout_no_wrap(words.to_owned(), font, colour);
            let (cell, response) = ui.allocate_exact_size(vec2(galley.size().x + 8.0, 26.0), Sense::click());
            response.widget_info(|| WidgetInfo::selected(WidgetType::RadioButton, true, on, name));
            ui.painter().galley(pos2(cell.left() + 4.0, cell.center().y - galley.size().y / 2.0), galley, colour);
            if on {
                let line = Stroke::new(2.0, tokens(ui).accent);
                ui.painter().hline(cell.x_range().shrink(4.0), cell.bottom() - 2.0, line);
            }
            widgets::focus_ring(ui, &response, cell.shrink(2.0));
            if response.clicked() {
                intents.push(Intent::Picture(to));
            }
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::opened::{Between, Place, Spot, TeeSpot};

    fn shown() -> (Shown, Plant) {
        let library = crate::scenario::Library::builtin();
        let plant = crate::scenario::load_plant(&library, "a1-van").expect("a built-in plant").0;
        let spot = |mbar: f64| Spot { mbar, boils_mbar: -1010.0, ..Spot::default() };
        let moment = |at: Micros, filter: f64| {
            let spots = vec![spot(10.0), spot(-30.0), spot(-30.0 - filter), spot(4800.0)];
            let tee = Some(TeeSpot { place: 1, before: false, open: 1.0, spot: spots[1] });
            Moment { at, spots, tee, rpm: 2500.0, fed_at: None }
        };
        let place = |node: &str, joint: Option<&str>| Place { node: node.into(), joint: joint.map(str::to_owned) };
        let part = |name: &str, pumps| Between { part: name.into(), label: name.into(), pumps };
        let times = (0..20).map(|k| k * SECOND);
        let opened = Opened {
            places: vec![
                place("tank", None),
                place("filter in", Some("filter inlet")),
                place("filter out", None),
                place("gallery", None),
            ],
            parts: vec![part("tank line", false), part("filter", false), part("transfer pump", true)],
            moments: times.clone().map(|at| moment(at, if at > 9 * SECOND { 200.0 } else { 40.0 })).collect(),
            sound: times.map(|at| moment(at, 40.0)).collect(),
        };
        (Shown::of(opened, None), plant)
    }

    #[test]
    fn the_view_says_what_is_drawn() {
        let (shown, plant) = shown();
        let view = OpenedView::of(&shown.opened, &plant, 15 * SECOND).unwrap();
        assert_eq!(view.head, "00:15 · engine at 2500 1/min");
        assert_eq!(view.tee, Some((1.05, -30.0, "filter inlet".to_owned())));
        assert_eq!(view.stretches[1], Stretch { name: "filter".into(), kind: "Filter" });
        assert_eq!(
            view.words.join("\n"),
            "Over the filter: −200 mbar from end to end, 160 more than in a sound vehicle (−40).\n\
             The tee at the filter inlet sees nothing of it: −30 mbar, in a sound vehicle −30; at the filter out it \
             departs by −160 mbar. Its glass is clear."
        );
        // the pump is the third part: what it makes is a fifth of a metre's scale off, so all is drawn
        assert_eq!(view.behind, None);
    }

    #[test]
    fn scrubbing_goes_from_moment_to_moment_and_stops_at_the_ends() {
        let (shown, _) = shown();
        assert_eq!(
            shown.scrubbed(5 * SECOND, 1, 10 * SECOND),
            6 * SECOND,
            "the next moment is farther than a step"
        );
        assert_eq!(shown.scrubbed(5 * SECOND, 10, 100 * SECOND), 15 * SECOND);
        assert_eq!(shown.scrubbed(5 * SECOND, -10, 100 * SECOND), 0);
        assert_eq!(shown.scrubbed(19 * SECOND, 1, 100 * SECOND), 19 * SECOND);
    }

    #[test]
    fn telling_moments_follow_one_another_in_a_ring() {
        let (shown, _) = shown();
        let first = shown.first();
        assert!(first > 9 * SECOND, "{:?}", shown.telling);
        let last = *shown.telling.last().unwrap();
        assert_eq!(shown.next_telling(last), Some(first));
    }

    #[test]
    fn the_scale_holds_still_and_holds_everything() {
        for (low, high) in [(-30.0, 10.0), (-353.0, 12.0), (-731.0, 20.0), (-20.0, 3900.0), (0.0, 0.0)] {
            let (a, b) = ends((low, high));
            assert!(a <= low && b >= high && a < b, "{low} {high}: {a} {b}");
        }
        assert_eq!(ends((-110.0, 4.0)), ends((-220.0, 4.0)), "small changes leave it");
    }
}
