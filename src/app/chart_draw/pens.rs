//! The pens of the strip chart: pressure and speed, and what is connected beside the tee. Every spike stays.

use bevy_egui::egui::{Align2, Pos2, Shape, Stroke, Ui, pos2, vec2};

use super::{LANE, Scale, step_for};
use crate::app::pyramid::Pyramid;
use crate::app::theme::{figures, tokens};
use crate::app::words::number;
use crate::bay::action::{Micros, SECOND};
use crate::trace::{Beside, Trace};

/// One pen as lines between lifted places; every spike stays.
pub(super) fn pen(
    trace: &Trace,
    blocks: &Pyramid,
    column: &[f64],
    scale: &Scale,
    y: impl Fn(f64) -> f32,
) -> Vec<Vec<Pos2>> {
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
        for dash in dashes(&run, scale.x(0), &[5.0, 2.0]) {
            painter.add(Shape::line(dash, Stroke::new(1.4, t.second_pen)));
        }
    }
    went
}

/// A line in dashes that are even along the paper and go with it: by the way of the pen a noisy trace would be all gaps and
/// dots. What is steep is drawn whole, so that no spike falls into a gap. `from` is a place where a dash begins, `pattern` how
/// long dashes and gaps are in turns.
pub fn dashes(run: &[Pos2], from: f32, pattern: &[f32]) -> Vec<Vec<Pos2>> {
    let whole: f32 = pattern.iter().sum();
    // whether something is drawn at a place, and how far to where that changes
    let piece = |x: f32| {
        let mut rest = (x - from).rem_euclid(whole);
        let k = pattern.iter().position(|long| {
            rest -= long;
            rest < 0.0
        });
        (k.unwrap_or(0) % 2 == 0, -rest)
    };
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
            let (drawn, far) = piece(x);
            let next = (x + far).max(x + 0.01).min(b.x);
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

/// Indices of the samples in a window.
pub(super) fn window(at: &[Micros], from: Micros, to: Micros) -> std::ops::Range<usize> {
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

/// The pen of the current, dash and dot: the engine's speed is dashed in the same ink.
const CURRENT: &[f32] = &[10.0, 3.0, 2.0, 3.0];

/// Something was shown beside the tee in a window.
pub fn drawn_beside(beside: &Beside, from: Micros, to: Micros) -> bool {
    window(&beside.at, from, to).any(|i| beside.amps[i].is_finite() || beside.second_mbar[i].is_finite())
}

/// Pens of what is connected beside the tee: current in dashes and dots on a scale of its own, the second transducer dotted
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
        for dash in dashes(&run, scale.x(0), CURRENT) {
            painter.add(Shape::line(dash, Stroke::new(1.5, t.second_pen)));
        }
    }
    for i in [1.0, 2.0, 3.0] {
        // beside the bracket of the healthy range, with a tick of its own at the edge
        let at = pos2(r.right() - 16.0, y(step * i));
        painter.hline(r.right() - 4.0..=r.right(), at.y, Stroke::new(1.5, t.second_pen));
        let galley = painter.layout_no_wrap(format!("{} A", number(step * i, 0)), figures(11.0), t.second_pen);
        let place = Align2::RIGHT_CENTER.anchor_size(at, galley.size());
        painter.rect_filled(place.expand2(vec2(3.0, 0.0)), 0, t.chart);
        painter.galley(place.min, galley, t.second_pen);
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{blocks, scale, trace};
    use super::*;

    #[test]
    fn dashes_are_even_along_the_paper_and_keep_a_spike() {
        // noise of half a point, and one spike that would fall into a gap
        let mut run: Vec<Pos2> = (0..90).map(|i| pos2(i as f32, 50.0 + 0.5 * (i % 2) as f32)).collect();
        run[7].y = 10.0;
        let all = dashes(&run, 0.0, &[6.0, 3.0]);
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
    fn current_and_speed_are_told_apart_without_their_colour() {
        let run: Vec<Pos2> = (0..=72).map(|i| pos2(i as f32, 50.0)).collect();
        let long = |pattern: &[f32]| -> Vec<f32> {
            dashes(&run, 0.0, pattern).iter().map(|d| (d[d.len() - 1].x - d[0].x).round()).collect()
        };
        assert_eq!(long(CURRENT), [10.0, 2.0, 10.0, 2.0, 10.0, 2.0, 10.0, 2.0]);
        assert!(long(&[5.0, 2.0]).iter().take(9).all(|d| *d == 5.0));
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
