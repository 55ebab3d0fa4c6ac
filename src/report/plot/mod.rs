//! Figures from data: axes with their units, words that never lie on one another, a twin in numbers.

pub mod belief;
pub mod opened;
pub mod pressure;
pub mod profile;
pub mod residual;
pub mod traces;

use super::figure::{Anchor, Figure, Ink, LETTER, WIDTH, width_of};
use crate::bay::action::{MINUTE, Micros, SECOND};
use crate::marking::sentence::{clock, number};

/// A round step that cuts a span into at most about `parts`.
pub fn step(span: f64, parts: f64) -> f64 {
    let raw = (span / parts).max(1e-9);
    let mut unit = 1.0;
    while unit * 10.0 <= raw {
        unit *= 10.0;
    }
    while unit > raw {
        unit /= 10.0;
    }
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * unit).find(|s| *s >= raw).unwrap_or(10.0 * unit)
}

/// A word as it begins a sentence.
fn capital(word: &str) -> String {
    let mut chars = word.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// Parts as one sentence; nothing of nothing.
fn sentence(parts: &[String]) -> String {
    if parts.is_empty() { String::new() } else { capital(&parts.join("; ")) + "." }
}

/// Moments at round times within a span, at most `most`.
pub fn round_times(from: Micros, to: Micros, most: u64) -> Vec<Micros> {
    const STEPS: [Micros; 14] = [
        SECOND,
        2 * SECOND,
        5 * SECOND,
        10 * SECOND,
        15 * SECOND,
        30 * SECOND,
        MINUTE,
        2 * MINUTE,
        5 * MINUTE,
        10 * MINUTE,
        15 * MINUTE,
        30 * MINUTE,
        60 * MINUTE,
        240 * MINUTE,
    ];
    let span = to.saturating_sub(from);
    let mut step = STEPS.into_iter().find(|s| span / s < most).unwrap_or(240 * MINUTE);
    while span / step >= most {
        step *= 2;
    }
    (from.div_ceil(step)..=to / step).map(|k| k * step).collect()
}

/// A label that wants to stand at a place along a line.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// Where.
    pub x: f64,
    /// What it says.
    pub text: String,
}

/// A label that found a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// Lane, from the one nearest to the data.
    pub lane: usize,
    /// Which end of the text stands at its x.
    pub anchor: Anchor,
}

/// Lays labels, sorted by place, into lanes so that no word touches another, no word lies on another's
/// tick, and none leaves the figure. A tick reaches to its word's lane; so a word stands in a higher lane
/// than every tick that it passes over. One that finds no room gets `None`: its tick stays short, its
/// word is in the table.
pub fn lay(labels: &[Label], lanes: usize, left: f64, right: f64) -> Vec<Option<Placed>> {
    const GAP: f64 = 8.0;
    let mut placed: Vec<Option<Placed>> = vec![None; labels.len()];
    // lane, span and tick of each word that stands
    let mut standing: Vec<(usize, (f64, f64), f64)> = vec![];
    // words go to the right of their tick, so the last one can't be in the way of any other
    for (i, label) in labels.iter().enumerate().rev() {
        let width = width_of(&label.text) + GAP;
        let anchor = if label.x + width <= right { Anchor::Start } else { Anchor::End };
        let span = if anchor == Anchor::Start { (label.x, label.x + width) } else { (label.x - width, label.x) };
        let free = |lane: usize| {
            standing.iter().all(|&(other, (from, to), tick)| {
                let beside = span.1 <= from || to <= span.0;
                let over_its_tick = tick > span.0 + 1.0 && tick < span.1;
                let under_my_tick = label.x > from + 1.0 && label.x < to;
                (lane != other || beside) && (lane > other || !over_its_tick) && (lane < other || !under_my_tick)
            })
        };
        if span.0 < left {
            continue;
        }
        if let Some(lane) = (0..lanes).find(|lane| free(*lane)) {
            standing.push((lane, span, label.x));
            placed[i] = Some(Placed { lane, anchor });
        }
    }
    placed
}

/// Upright axis: a scale of values beside a plot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Lowest value on it.
    pub low: f64,
    /// Highest.
    pub high: f64,
    /// Distance of its lines.
    pub step: f64,
    /// y of the highest value.
    pub top: f64,
    /// y of the lowest.
    pub bottom: f64,
}

impl Scale {
    /// A scale that covers these values in round steps.
    pub fn over(low: f64, high: f64, top: f64, bottom: f64, parts: f64) -> Self {
        let step = step((high - low).max(20.0), parts);
        let low = (low / step).floor() * step;
        let high = ((high / step).ceil() * step).max(low + step);
        Self { low, high, step, top, bottom }
    }

    /// Where a value lies.
    pub fn y(&self, value: f64) -> f64 {
        self.bottom - (self.bottom - self.top) * (value - self.low) / (self.high - self.low)
    }

    /// Draws its lines and numbers from `left` to `right`.
    pub fn draw(&self, figure: &mut Figure, left: f64, right: f64) {
        let lines = ((self.high - self.low) / self.step).round() as i64;
        for i in 0..=lines {
            let value = self.low + self.step * i as f64;
            let ink = if value.abs() < 1e-9 { Ink::Axis } else { Ink::Grid };
            figure.line((left, self.y(value)), (right, self.y(value)), ink);
            let at = (left - 6.0, self.y(value) + 0.35 * LETTER);
            figure.text(at, Anchor::End, Ink::Quiet, number(value, 0));
        }
    }
}

/// Level axis: time under a plot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimeAxis {
    /// First moment.
    pub from: Micros,
    /// Last moment.
    pub to: Micros,
    /// x of the first.
    pub left: f64,
    /// x of the last.
    pub right: f64,
}

impl TimeAxis {
    /// Where a moment lies.
    pub fn x(&self, at: Micros) -> f64 {
        let share = (at.clamp(self.from, self.to) - self.from) as f64 / (self.to - self.from).max(1) as f64;
        self.left + (self.right - self.left) * share
    }

    /// Draws its moments below `y` and lines over the plot, from its top to its foot.
    pub fn draw(&self, figure: &mut Figure, plot: (f64, f64), y: f64) {
        for at in round_times(self.from, self.to, 9) {
            let x = self.x(at);
            figure.line((x, plot.0), (x, plot.1), Ink::Grid);
            let half = width_of(&clock(at)) / 2.0;
            let anchor = if x + half > WIDTH { Anchor::End } else { Anchor::Middle };
            figure.text((x, y + 1.25 * LETTER), anchor, Ink::Quiet, clock(at));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn steps_are_round_and_cover_the_span() {
        assert_eq!(step(700.0, 6.0), 200.0);
        assert_eq!(step(90.0, 6.0), 20.0);
        assert_eq!(step(5.0, 5.0), 1.0);
    }

    #[test]
    fn times_on_an_axis_are_round() {
        let clocks = |from, to| round_times(from, to, 9).into_iter().map(clock).collect::<Vec<_>>();
        assert_eq!(clocks(31 * SECOND, 78 * SECOND), ["00:40", "00:50", "01:00", "01:10"]);
        assert_eq!(clocks(0, 150 * MINUTE), ["00:00", "30:00", "01:00:00", "01:30:00", "02:00:00", "02:30:00"]);
        assert!(round_times(0, 30 * 24 * 60 * MINUTE, 9).len() <= 9);
    }

    #[test]
    fn a_scale_covers_its_values() {
        let scale = Scale::over(-353.0, 12.0, 10.0, 210.0, 6.0);
        assert_eq!((scale.low, scale.high, scale.step), (-400.0, 100.0, 100.0));
        assert_eq!((scale.y(100.0), scale.y(-400.0)), (10.0, 210.0));
    }

    proptest! {
        #[test]
        fn no_word_lies_on_another_or_leaves_the_figure(
            mut places in prop::collection::vec((60.0..752.0_f64, 1..28_usize), 1..40),
            lanes in 1..4_usize,
        ) {
            places.sort_by(|a, b| a.0.total_cmp(&b.0));
            let labels: Vec<Label> = places.iter().map(|&(x, n)| Label { x, text: "m".repeat(n) }).collect();
            let placed = lay(&labels, lanes, 52.0, 760.0);
            let mut spans: Vec<Vec<(f64, f64)>> = vec![vec![]; lanes];
            for (label, place) in labels.iter().zip(&placed) {
                let Some(place) = place else { continue };
                let width = width_of(&label.text);
                let start = if place.anchor == Anchor::Start { label.x } else { label.x - width };
                prop_assert!(start >= 52.0 && start + width <= 760.0 + 1e-9);
                for (a, b) in &spans[place.lane] {
                    prop_assert!(start >= *b || start + width <= *a, "{label:?}");
                }
                spans[place.lane].push((start, start + width));
                // a tick that reaches as high passes beside the word
                for (other, its) in labels.iter().zip(&placed) {
                    let reaches = its.as_ref().is_some_and(|its| its.lane >= place.lane);
                    let through = other.x > start + 1.0 && other.x < start + width;
                    prop_assert!(!(reaches && through) || other.x == label.x, "{label:?} lies on {other:?}");
                }
            }
            // the last always finds room
            let last = labels.len() - 1;
            prop_assert!(placed[last].is_some() || labels[last].x - 60.0 < width_of(&labels[last].text));
        }
    }
}
