//! Traces of vehicles with faults, each beside that of the sound one: strips of chart paper over one another, all in
//! one scale. After the engine stops the paper runs slower.

use super::{Label, Scale, TimeAxis, lay};
use crate::bay::action::{Micros, SECOND};
use crate::language::{named, said};
use crate::marking::sentence::number;
use crate::report::document::{Cell, Holds, Table};
use crate::report::figure::{Anchor, Figure, Ink, LETTER, Shape, WIDTH};
use crate::tell;
use crate::trace::Trace;

const LEFT: f64 = 52.0;
const RIGHT: f64 = WIDTH - 8.0;
/// Where the paper changes its speed.
const SLOWER: f64 = 592.0;
/// Height of a strip.
const STRIP: f64 = 96.0;
/// Width of a column of the chart; each keeps its lowest and highest sample.
const COLUMN: f64 = 1.6;
/// A pen's way may be simplified by so much.
const HAIR: f64 = 0.35;

/// A vehicle on the chart.
pub struct Pen<'a> {
    /// What is wrong with it, in words.
    pub name: &'a str,
    /// What the instrument stored; its ticks name what begins.
    pub trace: &'a Trace,
    /// What its readings show, mbar gauge, as [`Chart::readings`] names them.
    pub readings: &'a [f64],
}

/// What is drawn.
pub struct Chart<'a> {
    /// Title.
    pub title: &'a str,
    /// The sound vehicle.
    pub sound: Pen<'a>,
    /// The others.
    pub others: &'a [Pen<'a>],
    /// Names of the readings.
    pub readings: &'a [&'a str],
    /// Begin, where the paper changes its speed, end, µs.
    pub times: (Micros, Micros, Micros),
}

/// The chart: one strip for each of the others (for the sound one, when there is none).
pub fn chart(c: &Chart<'_>) -> Figure {
    let (from, slow, to) = c.times;
    let axes = [
        TimeAxis { from, to: slow, left: LEFT, right: SLOWER },
        TimeAxis { from: slow, to, left: SLOWER, right: RIGHT },
    ];
    let all = || std::iter::once(&c.sound).chain(c.others);
    let (mut low, mut high) = (0.0_f64, 0.0_f64);
    for v in all().flat_map(|p| &p.trace.mbar).filter(|v| v.is_finite()) {
        (low, high) = (low.min(*v), high.max(*v));
    }
    let mut figure = Figure {
        title: tell!("figure-traces-title", title = c.title),
        words: words(c),
        table: table(c),
        height: 0.0,
        shapes: vec![],
    };
    let mut top = marks(&mut figure, c, &axes);
    let strips = if c.others.is_empty() { std::slice::from_ref(&c.sound) } else { c.others };
    for strip in strips {
        figure.text((LEFT, top + LETTER), Anchor::Start, Ink::Word, strip.name);
        let scale = Scale::over(low, high, top + 1.5 * LETTER, top + 1.5 * LETTER + STRIP, 4.0);
        figure.field((LEFT, scale.top), (RIGHT, scale.bottom), Ink::Paper);
        scale.draw(&mut figure, LEFT, RIGHT);
        for tick in &c.sound.trace.ticks {
            let x = x_of(&axes, tick.at);
            figure.line((x, scale.top), (x, scale.bottom), Ink::Grid);
        }
        figure.line((SLOWER, scale.top), (SLOWER, scale.bottom), Ink::Moment);
        if !c.others.is_empty() {
            figure.shapes.push(Shape::Path { stretches: way(c.sound.trace, &axes, &scale), ink: Ink::Beside });
        }
        figure.shapes.push(Shape::Path { stretches: way(strip.trace, &axes, &scale), ink: Ink::Measured });
        top = scale.bottom + 0.7 * LETTER;
    }
    times(&mut figure, &axes, top);
    figure.height = top + 1.4 * LETTER;
    figure
}

fn x_of(axes: &[TimeAxis; 2], at: Micros) -> f64 {
    if at <= axes[0].to { axes[0].x(at) } else { axes[1].x(at) }
}

/// Names of what begins, over the strips; where they end.
fn marks(figure: &mut Figure, c: &Chart<'_>, axes: &[TimeAxis; 2]) -> f64 {
    let ticks = &c.sound.trace.ticks;
    let labels: Vec<Label> =
        ticks.iter().map(|t| Label { x: x_of(axes, t.at), text: named(&t.word).to_owned() }).collect();
    let placed = lay(&labels, 4, LEFT, WIDTH);
    let lanes = placed.iter().flatten().map(|p| p.lane + 1).max().unwrap_or(0) as f64;
    let foot = 1.25 * LETTER * lanes + 0.4 * LETTER;
    for (label, place) in labels.iter().zip(&placed) {
        let Some(place) = place else { continue };
        let y = foot - 0.3 * LETTER - 1.25 * LETTER * place.lane as f64;
        figure.line((label.x, y), (label.x, foot), Ink::Moment);
        let shift = if place.anchor == Anchor::Start { 3.0 } else { -3.0 };
        figure.text((label.x + shift, y), place.anchor, Ink::Quiet, &label.text);
    }
    foot
}

/// Seconds from the begin, below the strips.
fn times(figure: &mut Figure, axes: &[TimeAxis; 2], y: f64) {
    let from = axes[0].from;
    for (axis, every) in [(axes[0], 30), (axes[1], 120)] {
        let first = (axis.from - from).div_ceil(every * SECOND);
        for k in first..=(axis.to - from) / (every * SECOND) {
            let at = from + k * every * SECOND;
            // the words at the change of speed would lie on one another
            if axis.left > LEFT && axis.x(at) < SLOWER + 30.0 {
                continue;
            }
            figure.text((axis.x(at), y + 0.5 * LETTER), Anchor::Middle, Ink::Quiet, format!("{} s", k * every));
        }
    }
}

/// The pen's way: for every column its lowest and highest value, without points that a hair's breadth makes up for.
fn way(trace: &Trace, axes: &[TimeAxis; 2], scale: &Scale) -> Vec<Vec<(f64, f64)>> {
    let mut way: Vec<(f64, f64)> = vec![];
    for axis in axes {
        let columns = ((axis.right - axis.left) / COLUMN) as usize;
        let width = (axis.right - axis.left) / columns as f64;
        for (i, column) in trace.reduce(&trace.mbar, axis.from, axis.to, columns).iter().enumerate() {
            let Some(c) = column else { continue };
            let x = axis.left + width * (i as f64 + 0.5);
            let (low, high) = (scale.y(c.low), scale.y(c.high));
            if (low - high).abs() < 1.0 {
                way.push((x, 0.5 * (low + high)));
                continue;
            }
            let near_low = way.last().is_none_or(|(_, y)| (y - low).abs() <= (y - high).abs());
            way.extend(if near_low { [(x, low), (x, high)] } else { [(x, high), (x, low)] });
        }
    }
    vec![thinned(&way)]
}

/// A way without points that lie within a hair of the line between those that stay (Ramer, 1972; Douglas and Peucker,
/// 1973).
fn thinned(way: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut stays = vec![false; way.len()];
    let mut open = vec![(0, way.len().saturating_sub(1))];
    while let Some((a, b)) = open.pop() {
        if way.is_empty() {
            break;
        }
        (stays[a], stays[b]) = (true, true);
        let (from, to) = (way[a], way[b]);
        let length = ((to.0 - from.0) * (to.0 - from.0) + (to.1 - from.1) * (to.1 - from.1)).sqrt().max(1e-9);
        let off =
            |p: (f64, f64)| ((to.0 - from.0) * (from.1 - p.1) - (from.0 - p.0) * (to.1 - from.1)).abs() / length;
        let far = (a + 1..b).map(|i| (i, off(way[i]))).max_by(|x, y| x.1.total_cmp(&y.1));
        if let Some((i, d)) = far
            && d > HAIR
        {
            open.extend([(a, i), (i, b)]);
        }
    }
    way.iter().zip(stays).filter(|(_, stays)| *stays).map(|(p, _)| *p).collect()
}

fn table(c: &Chart<'_>) -> Table {
    let mut columns = vec![(said("report-vehicle"), Holds::Words, 3.0)];
    columns.extend(c.readings.iter().map(|r| (*r, Holds::Figures, 1.0)));
    let mut table = Table::new(tell!("figure-traces-caption", title = c.title), &columns);
    for pen in std::iter::once(&c.sound).chain(c.others) {
        let cells = pen.readings.iter().map(|v| Cell::from(number(*v, 0)));
        table.row(std::iter::once(Cell::from(pen.name)).chain(cells));
    }
    table
}

fn words(c: &Chart<'_>) -> String {
    let one = |pen: &Pen<'_>| {
        let readings: Vec<String> =
            c.readings.iter().zip(pen.readings).map(|(name, v)| format!("{name} {}", number(*v, 0))).collect();
        format!("{}: {}.", pen.name, readings.join(", "))
    };
    std::iter::once(&c.sound).chain(c.others).map(one).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::Tick;

    fn trace(level: f64, spike: f64) -> Trace {
        let mut t = Trace::default();
        for i in 0..6000_u64 {
            t.at.push(i * SECOND / 20);
            t.mbar.push(if i == 1234 { spike } else { level });
        }
        t.ticks.push(Tick { at: 5 * SECOND, word: "crank".into() });
        t
    }

    fn drawn(spike: f64) -> Figure {
        let (a, b) = (trace(-50.0, -50.0), trace(-200.0, spike));
        let others = [Pen { name: "plugged", trace: &b, readings: &[-200.0] }];
        let sound = Pen { name: "sound", trace: &a, readings: &[-50.0] };
        chart(&Chart {
            title: "Van",
            sound,
            others: &others,
            readings: &["idle"],
            times: (0, 100 * SECOND, 300 * SECOND),
        })
    }

    #[test]
    fn a_flat_pen_needs_two_points_and_a_spike_stays() {
        let points = |f: &Figure| {
            f.shapes
                .iter()
                .filter_map(|s| if let Shape::Path { stretches, .. } = s { Some(stretches[0].len()) } else { None })
                .collect::<Vec<_>>()
        };
        assert_eq!(points(&drawn(-200.0)), [2, 2]);
        let spiky = points(&drawn(-350.0));
        assert!(spiky[1] >= 4, "{spiky:?}");
    }

    #[test]
    fn the_twin_has_every_vehicle() {
        let f = drawn(-200.0);
        assert_eq!(f.words, "sound: idle −50. plugged: idle −200.");
        assert_eq!(f.table.rows.len(), 2);
        assert!(f.standalone().contains(">crank</text>"));
    }
}
