//! Chart paper, pens, ticks and the slip. Draws only.

use bevy_egui::egui::{Align2, Pos2, Rect, Shape, Stroke, StrokeKind, Ui, Vec2, pos2, vec2};

use super::dividers::Slip;
use super::pyramid::Pyramid;
use super::theme::{RADIUS, bold_figures, faded, figures, regular, tokens};
use super::widgets;
use super::words::{number, pressure, short_clock};
use crate::bay::action::{Micros, SECOND};
use crate::language::named;
use crate::tell;
use crate::trace::{Beside, Trace};
use crate::units::PressureUnit;

/// Height of the lane for engine speed at the foot of the paper.
const LANE: f32 = 26.0;

/// From time and pressure to the screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// The paper.
    pub paper: Rect,
    /// Time at its left edge.
    pub from: Micros,
    /// Time at its right edge.
    pub to: Micros,
    /// Pressure at the bottom of the pressure's part, mbar.
    pub low: f64,
    /// Pressure at its top, mbar.
    pub high: f64,
    /// Pressure between two strong lines.
    pub step: f64,
    /// Unit of the labels.
    pub unit: PressureUnit,
}

impl Scale {
    /// Fits the pressure that is to be seen, with zero always on the paper.
    pub fn of(
        trace: &Trace,
        blocks: &Pyramid,
        from: Micros,
        to: Micros,
        limit: Option<(f64, f64)>,
        paper: Rect,
    ) -> Self {
        let (mut low, mut high) = (-100.0f64, 20.0f64);
        for column in blocks.reduce(trace, &trace.mbar, from, to, 256).into_iter().flatten() {
            low = low.min(column.low);
            high = high.max(column.high);
        }
        // the nearer end of the range is always in sight, the farther one where it costs little
        if let Some((a, b)) = limit {
            low = low.min(b.max(-1000.0));
            high = high.max(a.min(500.0));
            if a >= low * 1.5 {
                low = low.min(a);
            }
            if b <= high * 1.5 {
                high = high.max(b);
            }
        }
        let step = step_for((high - low) / 6.0);
        let fine = step / 5.0;
        let room = 0.04 * (high - low);
        let low = ((low - room) / fine).floor() * fine;
        let high = ((high + room) / fine).ceil() * fine;
        Self { paper, from, to, low, high, step, unit: PressureUnit::Mbar }
    }

    /// The same with room for the second transducer.
    pub fn within(mut self, beside: Option<&Beside>) -> Self {
        let Some(beside) = beside else { return self };
        let (mut low, mut high) = (self.low, self.high);
        for i in window(&beside.at, self.from, self.to) {
            let v = beside.second_mbar[i];
            if v.is_finite() {
                (low, high) = (low.min(v - 5.0), high.max(v + 5.0));
            }
        }
        if low < self.low || high > self.high {
            self.step = step_for((high - low) / 6.0);
            let fine = self.step / 5.0;
            self.low = (low / fine).floor() * fine;
            self.high = (high / fine).ceil() * fine;
        }
        self
    }

    /// The same with strong lines at round values of a unit.
    pub fn in_unit(mut self, unit: PressureUnit) -> Self {
        self.unit = unit;
        if unit != PressureUnit::Mbar {
            let mbar = unit.pascal() / 100.0;
            // thousandths, so that steps below one are round too
            self.step = step_for((self.high - self.low) / 6.0 / mbar * 1000.0) / 1000.0 * mbar;
            let fine = self.step / 5.0;
            self.low = (self.low / fine).floor() * fine;
            self.high = (self.high / fine).ceil() * fine;
        }
        self
    }

    /// A label at a value.
    fn label(&self, mbar: f64) -> String {
        if self.unit == PressureUnit::Mbar {
            return number(mbar, 0);
        }
        let per = self.unit.pascal() / 100.0;
        let step = self.step / per;
        let digits = if step >= 1.0 {
            0
        } else if step >= 0.1 {
            1
        } else {
            2
        };
        number(mbar / per, digits)
    }

    /// The paper without the lane.
    fn pressure(&self) -> Rect {
        self.paper.with_max_y(self.paper.bottom() - LANE)
    }

    /// Across.
    pub fn x(&self, at: Micros) -> f32 {
        let share = (at as f64 - self.from as f64) / (self.to - self.from) as f64;
        self.paper.left() + (share * f64::from(self.paper.width())) as f32
    }

    /// Up.
    pub fn y(&self, mbar: f64) -> f32 {
        let r = self.pressure();
        let share = (mbar - self.low) / (self.high - self.low);
        r.bottom() - (share.clamp(-0.02, 1.02) * f64::from(r.height())) as f32
    }

    /// Time under a place.
    pub fn time(&self, x: f32) -> Micros {
        let share = f64::from((x - self.paper.left()) / self.paper.width()).clamp(0.0, 1.0);
        self.from + (share * (self.to - self.from) as f64) as Micros
    }
}

/// A round step not smaller than asked for.
pub fn step_for(least: f64) -> f64 {
    let mut decade = 1.0;
    while decade * 10.0 < least {
        decade *= 10.0;
    }
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|f| f * decade).find(|s| *s >= least).unwrap_or(decade * 10.0)
}

/// Seconds between labels on the time axis.
fn time_step(span_s: f64, width: f32) -> f64 {
    let least = span_s * 92.0 / f64::from(width);
    [1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0, 1800.0, 3600.0, 7200.0]
        .into_iter()
        .find(|s| *s >= least)
        .unwrap_or(14_400.0)
}

/// Paper, grid and labels.
pub fn paper(scale: &Scale, ui: &Ui) {
    let t = tokens(ui);
    let painter = ui.painter();
    let r = scale.pressure();
    painter.rect_filled(scale.paper, 0, t.chart);
    let (fine, strong) = (Stroke::new(1.0, t.fine_grid), Stroke::new(1.0, t.strong_grid));
    let unit = scale.step / 5.0;
    let first = (scale.low / unit).round() as i64;
    let last = (scale.high / unit).round() as i64;
    // fine lines only where they don't run together
    let spread = (scale.y(0.0) - scale.y(unit)).abs();
    // and labels only where they don't lie on one another
    let mut free_above = r.bottom() - 4.0;
    for i in first..=last {
        if i % 5 != 0 && spread < 4.5 {
            continue;
        }
        let y = scale.y(i as f64 * unit);
        painter.hline(r.x_range(), y, if i % 5 == 0 { strong } else { fine });
        if i % 5 == 0 && y < free_above {
            free_above = y - 14.0;
            let words = scale.label(i as f64 * unit);
            painter.text(pos2(r.left() - 8.0, y), Align2::RIGHT_CENTER, words, figures(12.0), t.second_ink);
        }
    }
    painter.hline(r.x_range(), scale.y(0.0), Stroke::new(1.4, t.second_ink));
    let span_s = (scale.to - scale.from) as f64 / SECOND as f64;
    let step = (time_step(span_s, scale.paper.width()) * SECOND as f64) as Micros;
    let mut at = scale.from / step * step;
    while at <= scale.to {
        for k in 0..5 {
            let x = scale.x(at + k * step / 5);
            if scale.paper.x_range().contains(x) {
                painter.vline(x, scale.paper.y_range(), if k == 0 { strong } else { fine });
            }
        }
        let x = scale.x(at);
        if x >= scale.paper.left() - 1.0 && x <= scale.paper.right() - 14.0 {
            let below = pos2(x, scale.paper.bottom() + 10.0);
            painter.text(below, Align2::CENTER_CENTER, short_clock(at), figures(12.0), t.second_ink);
        }
        at += step;
    }
    painter.hline(scale.paper.x_range(), r.bottom(), Stroke::new(1.2, t.faint));
    painter.rect_stroke(scale.paper, 0, Stroke::new(1.0, t.strong_grid), StrokeKind::Inside);
    let lane = pos2(scale.paper.left() - 8.0, scale.paper.bottom() - LANE / 2.0);
    painter.text(lane, Align2::RIGHT_CENTER, "1/min", regular(11.0), t.second_pen);
}

/// The healthy range of the state that is being written, as two brackets at the right edge.
pub fn limit_band(scale: &Scale, (low, high): (f64, f64), ui: &Ui) {
    let t = tokens(ui);
    let r = scale.pressure();
    let (top, bottom) = (scale.y(high).max(r.top()), scale.y(low).min(r.bottom()));
    let x = r.right() - 5.0;
    let stroke = Stroke::new(2.0, t.accent);
    ui.painter().line_segment([pos2(x, top), pos2(x, bottom)], stroke);
    for y in [top, bottom] {
        ui.painter().line_segment([pos2(x - 7.0, y), pos2(x, y)], stroke);
    }
}

/// What was done, as ticks on the top edge with a word; the words of those that stand close share a place, in their order.
pub fn ticks(trace: &Trace, scale: &Scale, ui: &Ui) {
    let t = tokens(ui);
    let painter = ui.painter();
    let top = scale.paper.top();
    let shown: Vec<(f32, &str)> = (trace.ticks.iter())
        .filter(|k| k.at >= scale.from && k.at <= scale.to)
        .map(|k| (scale.x(k.at), named(&k.word)))
        .collect();
    for (x, _) in &shown {
        painter.line_segment([pos2(*x, top - 3.0), pos2(*x, top + 7.0)], Stroke::new(1.5, t.ink));
    }
    let wide = |words: &str| widgets::widest(ui, [words], &regular(11.5));
    for (x, words) in tick_words(&shown, scale.paper.right(), wide) {
        let galley = painter.layout_no_wrap(words, regular(11.5), t.second_ink);
        painter.galley(pos2(x - 1.0, top - 17.0), galley, t.second_ink);
    }
}

/// Most points that the words of ticks which stand close take together.
const TOGETHER: f32 = 190.0;

/// Where the words of the ticks stand: each at its tick; what would lie on the words before it joins them, while there is
/// room up to `right` and within [`TOGETHER`]; else it is left out.
fn tick_words(ticks: &[(f32, &str)], right: f32, wide: impl Fn(&str) -> f32) -> Vec<(f32, String)> {
    let mut out: Vec<(f32, String)> = Vec::new();
    for &(x, word) in ticks {
        match out.last_mut() {
            Some((from, words)) if x < *from + wide(words) + 12.0 => {
                let joined = format!("{words} · {word}");
                let width = wide(&joined);
                if width <= TOGETHER && *from + width + 6.0 <= right {
                    *words = joined;
                }
            }
            _ if x + wide(word) + 6.0 <= right => out.push((x, word.to_owned())),
            _ => {}
        }
    }
    out
}

/// One pen as lines between lifted places; every spike stays.
fn pen(trace: &Trace, blocks: &Pyramid, column: &[f64], scale: &Scale, y: impl Fn(f64) -> f32) -> Vec<Vec<Pos2>> {
    let columns = scale.paper.width().max(1.0) as usize;
    let mut runs = Vec::new();
    let mut run: Vec<Pos2> = Vec::new();
    let mut lifted = 0;
    // a gap of a few columns is only a slow sampling rate
    let per_column = (scale.to - scale.from) / columns as u64;
    let bridge = if per_column < 400_000 { (400_000 / per_column.max(1)) as usize + 1 } else { 1 };
    for (k, c) in blocks.reduce(trace, column, scale.from, scale.to, columns).into_iter().enumerate() {
        let x = scale.paper.left() + k as f32 + 0.5;
        match c {
            Some(c) => {
                if lifted > bridge && !run.is_empty() {
                    runs.push(std::mem::take(&mut run));
                }
                lifted = 0;
                let (top, bottom, last) = (y(c.high), y(c.low), y(c.last));
                if bottom - top > 0.8 {
                    let nearer_top = run.last().is_none_or(|p| (p.y - top).abs() < (p.y - bottom).abs());
                    let (first, second) = if nearer_top { (top, bottom) } else { (bottom, top) };
                    run.push(pos2(x, first));
                    run.push(pos2(x, second));
                }
                run.push(pos2(x, last));
            }
            None => lifted += 1,
        }
    }
    if !run.is_empty() {
        runs.push(run);
    }
    runs
}

/// Pressure in the paper, engine speed in the lane below. Gives where the pressure's pen went.
pub fn pens(trace: &Trace, blocks: &[Pyramid; 2], scale: &Scale, ui: &Ui) -> Vec<Pos2> {
    let t = tokens(ui);
    let painter = ui.painter().with_clip_rect(scale.paper);
    let runs = pen(trace, &blocks[0], &trace.mbar, scale, |v| scale.y(v));
    let went = runs.concat();
    for run in runs {
        painter.add(Shape::line(run, Stroke::new(1.7, t.accent)));
    }
    let lane = scale.paper.with_min_y(scale.paper.bottom() - LANE + 3.0);
    let rpm_y = |v: f64| lane.bottom() - 2.0 - (v / 3500.0).clamp(0.0, 1.0) as f32 * (lane.height() - 4.0);
    for run in pen(trace, &blocks[1], &trace.rpm, scale, rpm_y) {
        for dash in dashes(&run, scale.x(0), (5.0, 2.0)) {
            painter.add(Shape::line(dash, Stroke::new(1.4, t.second_pen)));
        }
    }
    went
}

/// A line in dashes that are even along the paper and go with it: by the way of the pen a noisy trace would be all gaps and
/// dots. What is steep is drawn whole, so that no spike falls into a gap. `from` is a place where a dash begins.
fn dashes(run: &[Pos2], from: f32, (on, off): (f32, f32)) -> Vec<Vec<Pos2>> {
    let phase = |x: f32| (x - from).rem_euclid(on + off);
    let mut out: Vec<Vec<Pos2>> = Vec::new();
    let mut dash: Vec<Pos2> = Vec::new();
    let mut lift = |dash: &mut Vec<Pos2>| {
        let done = std::mem::take(dash);
        if done.len() > 1 {
            out.push(done);
        }
    };
    for ends in run.windows(2) {
        let [a, b] = [ends[0], ends[1]];
        let steep = (b.y - a.y).abs() > 3.0 * (b.x - a.x).abs().max(1.0);
        if steep {
            if dash.last() != Some(&a) {
                lift(&mut dash);
                dash.push(a);
            }
            dash.push(b);
            continue;
        }
        // from border to border of the dashes
        let mut x = a.x;
        while x < b.x {
            let at = phase(x);
            let drawn = at < on;
            let next = (x + if drawn { on - at } else { on + off - at }).max(x + 0.01).min(b.x);
            let point = |x: f32| pos2(x, a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x));
            if drawn {
                if dash.is_empty() {
                    dash.push(point(x));
                }
                dash.push(point(next));
            } else {
                lift(&mut dash);
            }
            x = next;
        }
    }
    lift(&mut dash);
    out
}

/// Of these places the one with the least ink of the pen under it, the earlier of equal ones.
fn clear_of(went: &[Pos2], places: impl IntoIterator<Item = Rect>) -> Option<Rect> {
    let ink = |place: &Rect| {
        let place = place.expand(3.0);
        went.windows(2).filter(|p| place.intersects(Rect::from_two_pos(p[0], p[1]).expand(0.5))).count()
    };
    places.into_iter().min_by_key(ink)
}

/// Indices of the samples in a window.
fn window(at: &[Micros], from: Micros, to: Micros) -> std::ops::Range<usize> {
    at.partition_point(|t| *t < from)..at.partition_point(|t| *t <= to)
}

/// Least and greatest of each pixel column as one line, broken at gaps of two seconds.
fn thin(at: &[Micros], values: &[f64], scale: &Scale, y: impl Fn(f64) -> f32) -> Vec<Vec<Pos2>> {
    let mut runs: Vec<Vec<Pos2>> = Vec::new();
    let mut run: Vec<Pos2> = Vec::new();
    let mut last: Option<Micros> = None;
    for i in window(at, scale.from, scale.to) {
        if !values[i].is_finite() || last.is_some_and(|t| at[i] - t > 6 * SECOND) {
            if run.len() > 1 {
                runs.push(std::mem::take(&mut run));
            }
            run.clear();
        }
        if values[i].is_finite() {
            let here = pos2(scale.x(at[i]), y(values[i]));
            // within a pixel only what goes beyond the last point
            match run.last() {
                Some(p) if here.x - p.x < 0.7 && (here.y - p.y).abs() < 0.7 => {}
                _ => run.push(here),
            }
            last = Some(at[i]);
        }
    }
    if run.len() > 1 {
        runs.push(run);
    }
    runs
}

/// Pens of what is connected beside the tee: current dashed on a scale of its own, the second transducer dotted
/// on the paper's.
pub fn beside(beside: &Beside, scale: &Scale, ui: &Ui) {
    let t = tokens(ui);
    let r = scale.pressure();
    let painter = ui.painter().with_clip_rect(scale.paper);
    for run in thin(&beside.at, &beside.second_mbar, scale, |v| scale.y(v)) {
        painter.extend(Shape::dotted_line(&run, t.third_pen, 4.0, 1.1));
    }
    let shown = window(&beside.at, scale.from, scale.to);
    let most = shown.map(|i| beside.amps[i]).filter(|v| v.is_finite()).fold(0.0, f64::max);
    if most <= 0.0 {
        return;
    }
    let step = step_for(most * 1.15 / 4.0);
    let top = step * 4.0;
    let y = |v: f64| r.bottom() - (v / top).clamp(0.0, 1.0) as f32 * r.height();
    for run in thin(&beside.at, &beside.amps, scale, y) {
        for dash in dashes(&run, scale.x(0), (6.0, 3.0)) {
            painter.add(Shape::line(dash, Stroke::new(1.5, t.second_pen)));
        }
    }
    for i in [1.0, 2.0, 3.0] {
        // beside the bracket of the healthy range
        let at = pos2(r.right() - 16.0, y(step * i));
        painter.text(at, Align2::RIGHT_CENTER, format!("{} A", number(step * i, 0)), figures(11.0), t.second_pen);
    }
}

/// The moment that is picked in a sitting that is over.
pub fn here_line(here: Micros, went: &[Pos2], scale: &Scale, ui: &Ui) {
    if here < scale.from || here > scale.to {
        return;
    }
    let t = tokens(ui);
    let x = scale.x(here);
    ui.painter().vline(x, scale.paper.y_range(), Stroke::new(2.0, t.third_pen));
    let words = tell!("chart-here", time = short_clock(here));
    let galley = ui.painter().layout_no_wrap(words, regular(12.0), t.third_pen);
    let r = scale.pressure();
    let ends = [(x + 5.0, Align2::LEFT_BOTTOM), (x - 5.0, Align2::RIGHT_BOTTOM)];
    let places = [r.bottom() - 4.0, r.center().y, r.top() + 36.0]
        .into_iter()
        .flat_map(|y| ends.map(|(x, align)| align.anchor_size(pos2(x, y), galley.size())))
        .filter(|place| r.x_range().contains(place.left()) && r.x_range().contains(place.right()));
    let Some(back) = clear_of(went, places) else { return };
    ui.painter().rect_filled(back.expand2(vec2(2.0, 0.0)), 2, t.chart);
    ui.painter().galley(back.min, galley, t.third_pen);
}

/// Where the pen stands.
pub fn now_line(now: Micros, scale: &Scale, ui: &Ui) {
    if now < scale.from || now > scale.to {
        return;
    }
    let x = scale.x(now);
    let points = [pos2(x, scale.paper.top()), pos2(x, scale.paper.bottom())];
    ui.painter().extend(Shape::dashed_line(&points, Stroke::new(1.0, tokens(ui).ink), 3.0, 3.0));
}

/// Legs, bow and slip of the dividers.
pub fn slip(
    slip: Option<Slip>,
    feet: [Micros; 2],
    beat: Option<(f64, f64)>,
    went: &[Pos2],
    scale: &Scale,
    ui: &Ui,
) {
    let t = tokens(ui);
    let painter = ui.painter();
    let ink = Stroke::new(1.5, t.ink);
    let in_sight = |at: Micros| at >= scale.from && at <= scale.to;
    if !feet.into_iter().any(in_sight) {
        return;
    }
    let clip = |x: f32| x.clamp(scale.paper.left(), scale.paper.right());
    let xs = [clip(scale.x(feet[0])), clip(scale.x(feet[1]))];
    let bow = scale.paper.top() + 22.0;
    let hinge = pos2((xs[0] + xs[1]) / 2.0, scale.paper.top() + 9.0);
    for x in xs {
        painter.line_segment(
            [pos2(x, bow), pos2(x, scale.paper.bottom() - LANE)],
            Stroke::new(1.0, faded(t.ink, 0.45)),
        );
        painter.line_segment([hinge, pos2(x, bow)], ink);
    }
    painter.circle_filled(hinge, 4.0, t.ink);
    let Some(slip) = slip else { return };
    for (x, at) in xs.into_iter().zip(feet).filter(|(_, at)| in_sight(*at)) {
        let y = scale.y(slip_value(&slip, at));
        painter.circle(pos2(x, y), 5.0, t.sheet, ink);
    }
    let mut lines = slip.lines_in(scale.unit);
    if let Some((hz, mbar)) = beat {
        lines.push(tell!(
            "dividers-ripple",
            hz = number(hz, 1),
            pressure = pressure(mbar, scale.unit),
            unit = scale.unit.symbol()
        ));
    }
    // on a low chart only what has room: the difference comes first
    let room = ((scale.paper.height() - LANE - 24.0) / 17.0).floor().max(1.0) as usize;
    let galleys: Vec<_> = lines
        .into_iter()
        .take(room)
        .enumerate()
        .map(|(i, l)| painter.layout_no_wrap(l, if i == 0 { bold_figures(13.0) } else { figures(12.0) }, t.ink))
        .collect();
    let width = galleys.iter().map(|g| g.size().x).fold(0.0, f32::max) + 18.0;
    let size = vec2(width, 9.0 + 17.0 * galleys.len() as f32);
    let paper = slip_place(size, xs, went, scale);
    painter.rect(paper, RADIUS, t.sheet, Stroke::new(1.2, t.ink), StrokeKind::Inside);
    let mut y = paper.top() + 6.0;
    for galley in galleys {
        painter.galley(pos2(paper.left() + 9.0, y), galley, t.ink);
        y += 17.0;
    }
}

/// Where the slip lies: beside the feet or between them, low or high, where it hides least of the trace.
fn slip_place(size: Vec2, xs: [f32; 2], went: &[Pos2], scale: &Scale) -> Rect {
    let paper = scale.paper;
    let [first, last] = [xs[0].min(xs[1]), xs[0].max(xs[1])];
    let most = (paper.right() - size.x - 4.0).max(paper.left() + 4.0);
    let lefts = [last + 12.0, first - 12.0 - size.x, (first + last - size.x) / 2.0, paper.left() + 4.0, most]
        .map(|left| left.clamp(paper.left() + 4.0, most));
    // on a very low paper over the lane rather than over the words of the ticks
    let low = (paper.bottom() - LANE - size.y - 8.0).max(paper.top() + 1.0);
    let high = (paper.top() + 28.0).min(low);
    let places = [low, (low + high) / 2.0, high]
        .into_iter()
        .flat_map(|top| lefts.map(|left| Rect::from_min_size(pos2(left, top), size)));
    let feet = |place: &Rect| xs.into_iter().filter(|x| place.x_range().expand(8.0).contains(*x)).count();
    // a leg may be hidden in part, but only where there is no other place
    let mut places: Vec<Rect> = places.collect();
    places.sort_by_key(feet);
    clear_of(went, places).unwrap_or_else(|| Rect::from_min_size(pos2(lefts[0], low), size))
}

fn slip_value(slip: &Slip, at: Micros) -> f64 {
    if at == slip.from { slip.first } else { slip.last }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blocks(trace: &Trace) -> Pyramid {
        let mut blocks = Pyramid::default();
        blocks.grow(&trace.mbar);
        blocks
    }

    fn scale(trace: &Trace) -> Scale {
        let paper = Rect::from_min_size(pos2(50.0, 10.0), vec2(800.0, 226.0));
        Scale::of(trace, &blocks(trace), 0, 100 * SECOND, None, paper)
    }

    fn trace(values: impl Fn(usize) -> f64) -> Trace {
        let mut trace = Trace::default();
        for i in 0..5000 {
            trace.at.push(i as u64 * 20_000);
            trace.mbar.push(values(i));
            trace.gas.push(0.0);
            trace.rpm.push(0.0);
        }
        trace
    }

    #[test]
    fn steps_are_round() {
        assert_eq!(step_for(0.3), 1.0);
        assert_eq!(step_for(13.0), 20.0);
        assert_eq!(step_for(51.0), 100.0);
        assert_eq!(step_for(200.0), 200.0);
    }

    #[test]
    fn everything_measured_lies_on_the_paper() {
        let s = scale(&trace(|i| -630.0 + i as f64 / 10.0));
        assert!(s.low <= -630.0 && s.high >= 0.0);
        assert!(s.y(-630.0) <= s.paper.bottom() - LANE && s.y(0.0) >= s.paper.top());
        assert!(s.time(s.x(42 * SECOND)).abs_diff(42 * SECOND) < 10_000);
    }

    #[test]
    fn dashes_are_even_along_the_paper_and_keep_a_spike() {
        // noise of half a point, and one spike that would fall into a gap
        let mut run: Vec<Pos2> = (0..90).map(|i| pos2(i as f32, 50.0 + 0.5 * (i % 2) as f32)).collect();
        run[7].y = 10.0;
        let all = dashes(&run, 0.0, (6.0, 3.0));
        let top = all.iter().flatten().map(|p| p.y).fold(f32::MAX, f32::min);
        assert_eq!(top, 10.0);
        // the others begin where a dash begins and are as long as one
        let plain: Vec<_> = all.iter().filter(|d| d.iter().all(|p| p.y > 40.0)).collect();
        assert!(plain.len() >= 8, "{}", plain.len());
        for dash in &plain[1..] {
            assert!(dash[0].x.rem_euclid(9.0) < 0.02, "{dash:?}");
            let long = dash[dash.len() - 1].x - dash[0].x;
            assert!(long <= 6.05 && (long > 5.9 || dash[dash.len() - 1].x > 88.0), "{dash:?}");
        }
    }

    #[test]
    fn the_words_of_ticks_share_a_place_and_never_lie_on_one_another() {
        let wide = |words: &str| 6.0 * words.chars().count() as f32;
        let ticks = [(100.0, "zeroed"), (112.0, "crank"), (120.0, "runs"), (400.0, "idle"), (560.0, "stop")];
        let all = tick_words(&ticks, 580.0, wide);
        let words: Vec<&str> = all.iter().map(|(_, w)| w.as_str()).collect();
        // the last has no room before the edge
        assert_eq!(words, ["zeroed · crank · runs", "idle"]);
        for pair in all.windows(2) {
            assert!(pair[0].0 + wide(&pair[0].1) < pair[1].0);
        }
    }

    #[test]
    fn the_slip_lies_where_the_trace_isnt() {
        let t = trace(|i| if i < 2500 { -20.0 } else { -600.0 });
        let s = scale(&t);
        let went = pen(&t, &blocks(&t), &t.mbar, &s, |v| s.y(v)).concat();
        let ink = |r: Rect| went.iter().filter(|p| r.contains(**p)).count();
        for feet in [(10, 20), (40, 60), (70, 95), (5, 95)] {
            let xs = [s.x(feet.0 * SECOND), s.x(feet.1 * SECOND)];
            let place = slip_place(vec2(230.0, 94.0), xs, &went, &s);
            assert_eq!(ink(place), 0, "{feet:?}: {place:?}");
            assert!(s.paper.contains_rect(place));
        }
    }

    #[test]
    fn the_pen_lifts_at_a_gap_and_keeps_a_spike() {
        let mut t = trace(|_| -100.0);
        t.mbar[1000] = -500.0;
        t.mbar[2000..3000].fill(f64::NAN);
        let s = scale(&t);
        let runs = pen(&t, &blocks(&t), &t.mbar, &s, |v| s.y(v));
        assert_eq!(runs.len(), 2);
        let deepest = runs[0].iter().map(|p| p.y).fold(0.0, f32::max);
        assert!((deepest - s.y(-500.0)).abs() < 0.01);
    }
}
