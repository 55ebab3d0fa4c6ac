//! A recording beside the vehicle that was fitted to it, and what is left between the two.

use super::{Scale, TimeAxis};
use crate::bay::action::Micros;
use crate::language::said;
use crate::marking::sentence::number;
use crate::report::document::{Cell, Holds, Table};
use crate::report::figure::{Anchor, Figure, Ink, LETTER, Shape, WIDTH};
use crate::tell;
use crate::trace::Trace;

const LEFT: f64 = 52.0;
const RIGHT: f64 = WIDTH - 8.0;
/// Heights of the two strips.
const PRESSURE: f64 = 190.0;
const LEFT_OVER: f64 = 90.0;
/// Columns of the chart; each keeps its lowest and highest sample.
const COLUMNS: usize = ((RIGHT - LEFT) / 1.6) as usize;

/// A number that was compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// State and what.
    pub words: String,
    /// Unit.
    pub unit: &'static str,
    /// Recorded, and of the fitted vehicle.
    pub values: (f64, f64),
    /// Difference in doubts.
    pub off: f64,
}

/// The chart. Times of both traces count from the same moment.
pub fn chart(title: &str, recorded: &Trace, fitted: &Trace, pairs: &[Pair]) -> Figure {
    let to = recorded.at.last().copied().unwrap_or(0).max(1);
    let axis = TimeAxis { from: recorded.at.first().copied().unwrap_or(0), to, left: LEFT, right: RIGHT };
    let mut figure = Figure {
        title: tell!("figure-residual-title", title = title),
        words: words(pairs),
        table: table(title, pairs),
        height: 0.0,
        shapes: vec![],
    };
    let both = recorded.mbar.iter().chain(&fitted.mbar).filter(|v| v.is_finite());
    let (low, high) = both.fold((0.0_f64, 0.0_f64), |(a, b), v| (a.min(*v), b.max(*v)));
    figure.text((LEFT, LETTER), Anchor::Start, Ink::Word, said("figure-recorded-fitted"));
    let scale = Scale::over(low, high, 1.5 * LETTER, 1.5 * LETTER + PRESSURE, 5.0);
    strip(&mut figure, &scale, recorded, &axis);
    let thin = way(&fitted.at, &fitted.mbar, &axis, &scale);
    figure.shapes.push(Shape::Path { stretches: thin, ink: Ink::Beside });
    let solid = reduced(recorded, &axis, &scale);
    figure.shapes.push(Shape::Path { stretches: vec![solid], ink: Ink::Measured });
    let left = left_over(recorded, fitted);
    let (low, high) = left.iter().fold((0.0_f64, 0.0_f64), |(a, b), v| (a.min(v.1), b.max(v.1)));
    let top = scale.bottom + 2.2 * LETTER;
    figure.text((LEFT, top), Anchor::Start, Ink::Word, said("figure-recorded-less-fitted"));
    let scale = Scale::over(low, high, top + 0.5 * LETTER, top + 0.5 * LETTER + LEFT_OVER, 3.0);
    strip(&mut figure, &scale, recorded, &axis);
    let (at, values): (Vec<Micros>, Vec<f64>) = left.into_iter().unzip();
    figure.shapes.push(Shape::Path { stretches: way(&at, &values, &axis, &scale), ink: Ink::Measured });
    axis.draw(&mut figure, (scale.top, scale.bottom), scale.bottom);
    figure.height = scale.bottom + 1.8 * LETTER;
    figure
}

/// Paper, scale and the moments at which a state begins.
fn strip(figure: &mut Figure, scale: &Scale, recorded: &Trace, axis: &TimeAxis) {
    figure.field((LEFT, scale.top), (RIGHT, scale.bottom), Ink::Paper);
    scale.draw(figure, LEFT, RIGHT);
    for tick in &recorded.ticks {
        figure.line((axis.x(tick.at), scale.top), (axis.x(tick.at), scale.bottom), Ink::Moment);
    }
}

fn way(at: &[Micros], values: &[f64], axis: &TimeAxis, scale: &Scale) -> Vec<Vec<(f64, f64)>> {
    let finite = at.iter().zip(values).filter(|(t, v)| v.is_finite() && (axis.from..=axis.to).contains(*t));
    vec![finite.map(|(t, v)| (axis.x(*t), scale.y(*v))).collect()]
}

fn reduced(trace: &Trace, axis: &TimeAxis, scale: &Scale) -> Vec<(f64, f64)> {
    let width = (RIGHT - LEFT) / COLUMNS as f64;
    let columns = trace.reduce(&trace.mbar, axis.from, axis.to, COLUMNS);
    let placed = columns.iter().enumerate().filter_map(|(i, c)| Some((i, c.as_ref()?)));
    placed
        .flat_map(|(i, c)| {
            let x = LEFT + width * (i as f64 + 0.5);
            [(x, scale.y(c.low)), (x, scale.y(c.high))]
        })
        .collect()
}

/// At each moment at which the fitted vehicle was looked at, the recording's mean there less it.
fn left_over(recorded: &Trace, fitted: &Trace) -> Vec<(Micros, f64)> {
    let mut left = vec![];
    for (i, (&at, &there)) in fitted.at.iter().zip(&fitted.mbar).enumerate() {
        let before = i.checked_sub(1).map_or(at, |k| fitted.at[k].midpoint(at));
        let after = fitted.at.get(i + 1).map_or(at, |&next| at.midpoint(next));
        let here = recorded.at.partition_point(|&t| t < before)..recorded.at.partition_point(|&t| t <= after);
        let values: Vec<f64> = recorded.mbar[here].iter().copied().filter(|v| v.is_finite()).collect();
        if !values.is_empty() && there.is_finite() {
            left.push((at, values.iter().sum::<f64>() / values.len() as f64 - there));
        }
    }
    left
}

fn digits(unit: &str) -> usize {
    if unit.is_empty() { 3 } else { 1 }
}

fn table(title: &str, pairs: &[Pair]) -> Table {
    let mut table = Table::new(
        tell!("figure-compared-caption", title = title),
        &[
            (said("report-what"), Holds::Words, 3.0),
            (said("figure-recorded"), Holds::Figures, 1.2),
            (said("figure-fitted"), Holds::Figures, 1.2),
            (said("figure-unit"), Holds::Words, 1.0),
            (said("figure-apart-doubts"), Holds::Figures, 1.2),
        ],
    );
    for p in pairs {
        let d = digits(p.unit);
        table.row([
            Cell::from(p.words.as_str()),
            Cell::from(number(p.values.0, d)),
            Cell::from(number(p.values.1, d)),
            Cell::from(p.unit),
            Cell::from(number(p.off, 1)),
        ]);
    }
    table
}

fn words(pairs: &[Pair]) -> String {
    let worst = pairs.iter().max_by(|a, b| a.off.abs().total_cmp(&b.off.abs()));
    worst.map_or_else(String::new, |p| {
        tell!("figure-compared-words", numbers = pairs.len(), worst = p.words, doubts = number(p.off, 1))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::action::SECOND;

    fn trace(every: u64, level: impl Fn(u64) -> f64) -> Trace {
        let at: Vec<u64> = (0..600 * 20 / every).map(|i| i * every * SECOND / 20).collect();
        Trace { mbar: at.iter().map(|&t| level(t)).collect(), at, ..Trace::default() }
    }

    #[test]
    fn what_is_left_is_the_recording_less_the_fitted_one() {
        let recorded = trace(2, |t| -100.0 - if t > 300 * SECOND { 30.0 } else { 0.0 });
        let fitted = trace(20, |_| -100.0);
        let left = left_over(&recorded, &fitted);
        assert_eq!(left.len(), fitted.at.len());
        assert!(
            left[..290].iter().all(|l| l.1.abs() < 1e-9) && left[310..].iter().all(|l| (l.1 + 30.0).abs() < 1e-9)
        );
        let pair = Pair { words: "idle, level".into(), unit: "mbar", values: (-130.0, -100.0), off: -3.1 };
        let f = chart("Van", &recorded, &fitted, &[pair]);
        assert!(f.words.contains("idle, level, −3.1 doubts") && f.table.rows.len() == 1, "{}", f.words);
        assert!(f.standalone().starts_with("<svg"));
    }
}
