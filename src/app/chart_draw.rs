//! Chart paper, pens, ticks and the slip. Draws only.

use bevy_egui::egui::{Align2, Pos2, Rect, Shape, Stroke, StrokeKind, Ui, pos2, vec2};

use super::dividers::Slip;
use super::pyramid::Pyramid;
use super::theme::{RADIUS, bold_figures, faded, figures, regular, tokens};
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

/// What was done, as ticks on the top edge with a word where there is room.
pub fn ticks(trace: &Trace, scale: &Scale, ui: &Ui) {
    let t = tokens(ui);
    let painter = ui.painter();
    let mut free_from = scale.paper.left();
    for tick in trace.ticks.iter().filter(|k| k.at >= scale.from && k.at <= scale.to) {
        let x = scale.x(tick.at);
        let top = scale.paper.top();
        painter.line_segment([pos2(x, top - 3.0), pos2(x, top + 7.0)], Stroke::new(1.5, t.ink));
        let galley = painter.layout_no_wrap(named(&tick.word).to_owned(), regular(11.5), t.second_ink);
        if x >= free_from && x + galley.size().x + 6.0 <= scale.paper.right() {
            free_from = x + galley.size().x + 12.0;
            painter.galley(pos2(x - 1.0, top - 17.0), galley, t.second_ink);
        }
    }
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

/// Pressure in the paper, engine speed in the lane below.
pub fn pens(trace: &Trace, blocks: &[Pyramid; 2], scale: &Scale, ui: &Ui) {
    let t = tokens(ui);
    let painter = ui.painter().with_clip_rect(scale.paper);
    for run in pen(trace, &blocks[0], &trace.mbar, scale, |v| scale.y(v)) {
        painter.add(Shape::line(run, Stroke::new(1.7, t.accent)));
    }
    let lane = scale.paper.with_min_y(scale.paper.bottom() - LANE + 3.0);
    let rpm_y = |v: f64| lane.bottom() - 2.0 - (v / 3500.0).clamp(0.0, 1.0) as f32 * (lane.height() - 4.0);
    for run in pen(trace, &blocks[1], &trace.rpm, scale, rpm_y) {
        painter.extend(Shape::dashed_line(&run, Stroke::new(1.4, t.second_pen), 5.0, 2.0));
    }
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
        painter.extend(Shape::dashed_line(&run, Stroke::new(1.5, t.second_pen), 6.0, 3.0));
    }
    for i in [1.0, 2.0, 3.0] {
        // beside the bracket of the healthy range
        let at = pos2(r.right() - 16.0, y(step * i));
        painter.text(at, Align2::RIGHT_CENTER, format!("{} A", number(step * i, 0)), figures(11.0), t.second_pen);
    }
}

/// The moment that is picked in a sitting that is over.
pub fn here_line(here: Micros, scale: &Scale, ui: &Ui) {
    if here < scale.from || here > scale.to {
        return;
    }
    let t = tokens(ui);
    let x = scale.x(here);
    ui.painter().vline(x, scale.paper.y_range(), Stroke::new(2.0, t.third_pen));
    let words = tell!("chart-here", time = short_clock(here));
    let right = x + 80.0 > scale.paper.right();
    let (at, align) = if right { (x - 5.0, Align2::RIGHT_BOTTOM) } else { (x + 5.0, Align2::LEFT_BOTTOM) };
    let at = pos2(at, scale.paper.bottom() - LANE - 4.0);
    let galley = ui.painter().layout_no_wrap(words, regular(12.0), t.third_pen);
    let back = align.anchor_size(at, galley.size());
    // the pens don't run through the words
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
pub fn slip(slip: Option<Slip>, feet: [Micros; 2], beat: Option<(f64, f64)>, scale: &Scale, ui: &Ui) {
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
    let right = xs[0].max(xs[1]) + 12.0;
    let left = if right + width < scale.paper.right() { right } else { xs[0].min(xs[1]) - 12.0 - width };
    let left =
        left.clamp(scale.paper.left() + 4.0, (scale.paper.right() - width - 4.0).max(scale.paper.left() + 4.0));
    // on a very low one over the lane rather than over the words of the ticks
    let top = (scale.paper.bottom() - LANE - size.y - 8.0).max(scale.paper.top() + 1.0);
    let paper = Rect::from_min_size(pos2(left, top), size);
    painter.rect(paper, RADIUS, t.sheet, Stroke::new(1.2, t.ink), StrokeKind::Inside);
    let mut y = paper.top() + 6.0;
    for galley in galleys {
        painter.galley(pos2(paper.left() + 9.0, y), galley, t.ink);
        y += 17.0;
    }
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
