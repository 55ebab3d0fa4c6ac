//! Chart paper, its scale and its ticks; the pens and the slip of the dividers lie below it. Draws only.

mod pens;
mod slip;

use bevy_egui::egui::{Align2, Pos2, Rect, Shape, Stroke, StrokeKind, Ui, pos2, vec2};

use super::pyramid::Pyramid;
use super::theme::{figures, regular, tokens};
use super::widgets;
use super::words::{number, short_clock};
use crate::bay::action::{Micros, SECOND};
use crate::language::named;
use crate::tell;
use crate::trace::{Beside, Trace};
use crate::units::PressureUnit;
pub use pens::{beside, dashes, drawn_beside, pens};
pub use slip::slip;

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
        for i in pens::window(&beside.at, self.from, self.to) {
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

/// Of strong lines so far apart, each which has a label: all, or every other and so on where labels would lie on one another;
/// counted from zero, which so has one.
fn labelled_each(apart: f32) -> i64 {
    (14.0 / apart.max(0.5)).ceil().max(1.0) as i64
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
    let apart = (scale.y(0.0) - scale.y(scale.step)).abs();
    let each = 5 * labelled_each(apart);
    for i in first..=last {
        if i % 5 != 0 && spread < 4.5 {
            continue;
        }
        let y = scale.y(i as f64 * unit);
        painter.hline(r.x_range(), y, if i % 5 == 0 { strong } else { fine });
        if i % each == 0 && y < r.bottom() - 4.0 {
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
        let galley = painter.layout_no_wrap(short_clock(at), figures(12.0), t.second_ink);
        let half = galley.size() / 2.0;
        // with hours in it a time is wider: one that has no room before the edge is left out
        if x >= scale.paper.left() - 1.0 && x + half.x <= scale.paper.right() + 4.0 {
            painter.galley(pos2(x, scale.paper.bottom() + 10.0) - half, galley, t.second_ink);
        }
        at += step;
    }
    painter.hline(scale.paper.x_range(), r.bottom(), Stroke::new(1.2, t.faint));
    painter.rect_stroke(scale.paper, 0, Stroke::new(1.0, t.strong_grid), StrokeKind::Inside);
    let lane = pos2(scale.paper.left() - 8.0, scale.paper.bottom() - LANE / 2.0);
    painter.text(lane, Align2::RIGHT_CENTER, "1/min", regular(11.0), t.second_pen);
}

/// The healthy range of the state that is being written, as a bracket at the right edge.
pub fn limit_band(scale: &Scale, (low, high): (f64, f64), ui: &Ui) {
    let t = tokens(ui);
    let r = scale.pressure();
    let x = r.right() - 5.0;
    let stroke = Stroke::new(2.0, t.accent);
    // all of it above or below what is shown: an arrow says where
    if low >= scale.high || high <= scale.low {
        let (tip, back) =
            if low >= scale.high { (r.top() + 4.0, r.top() + 12.0) } else { (r.bottom() - 4.0, r.bottom() - 12.0) };
        let arrow = vec![pos2(x - 9.0, back), pos2(x - 4.0, tip), pos2(x + 1.0, back)];
        ui.painter().add(Shape::line(arrow, stroke));
        return;
    }
    let (top, bottom) = (scale.y(high).max(r.top()), scale.y(low).min(r.bottom()));
    ui.painter().line_segment([pos2(x, top), pos2(x, bottom)], stroke);
    // an end that lies beyond the paper has no bar
    for (y, is_shown) in [(top, high <= scale.high), (bottom, low >= scale.low)] {
        if is_shown {
            ui.painter().line_segment([pos2(x - 7.0, y), pos2(x, y)], stroke);
        }
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

/// Where the words of the ticks stand: each at its tick, or before it where the edge `right` is too near; what would lie on
/// the words before it joins them, while there is room within [`TOGETHER`]; else it is left out.
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
            last => {
                let free = last.map_or(f32::NEG_INFINITY, |(from, words)| *from + wide(words) + 12.0);
                let left = x.min(right - 6.0 - wide(word));
                if left >= free {
                    out.push((left, word.to_owned()));
                }
            }
        }
    }
    out
}

/// How much of the pen's way lies under a place.
fn ink_under(went: &[Pos2], place: Rect) -> usize {
    let place = place.expand(3.0);
    went.windows(2).filter(|p| place.intersects(Rect::from_two_pos(p[0], p[1]).expand(0.5))).count()
}

/// Of these places the one with the least ink of the pen under it, the earlier of equal ones.
fn clear_of(went: &[Pos2], places: impl IntoIterator<Item = Rect>) -> Option<Rect> {
    places.into_iter().min_by_key(|place| ink_under(went, *place))
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
    ui.painter().rect_filled(back.expand2(vec2(2.0, 0.0)), 0, t.chart);
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

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn blocks(trace: &Trace) -> Pyramid {
        let mut blocks = Pyramid::default();
        blocks.grow(&trace.mbar);
        blocks
    }

    pub(super) fn scale(trace: &Trace) -> Scale {
        let paper = Rect::from_min_size(pos2(50.0, 10.0), vec2(800.0, 226.0));
        Scale::of(trace, &blocks(trace), 0, 100 * SECOND, None, paper)
    }

    pub(super) fn trace(values: impl Fn(usize) -> f64) -> Trace {
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
    fn labels_dont_lie_on_one_another_and_zero_has_one() {
        assert_eq!(labelled_each(40.0), 1);
        assert_eq!(labelled_each(13.0), 2);
        assert_eq!(labelled_each(3.0), 5);
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
    fn the_words_of_ticks_share_a_place_and_never_lie_on_one_another() {
        let wide = |words: &str| 6.0 * words.chars().count() as f32;
        let ticks = [(100.0, "zeroed"), (112.0, "crank"), (120.0, "runs"), (400.0, "idle"), (560.0, "stop")];
        let all = tick_words(&ticks, 580.0, wide);
        let words: Vec<&str> = all.iter().map(|(_, w)| w.as_str()).collect();
        // the last has no room behind its tick
        assert_eq!(words, ["zeroed · crank · runs", "idle", "stop"]);
        assert_eq!(all.last().unwrap().0, 580.0 - 6.0 - wide("stop"));
        // and none at all where other words stand before it
        assert_eq!(tick_words(&[(530.0, "idle"), (570.0, "stop")], 580.0, wide).len(), 1);
        for pair in all.windows(2) {
            assert!(pair[0].0 + wide(&pair[0].1) < pair[1].0);
        }
    }
}
