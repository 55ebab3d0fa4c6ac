//! Belief in each candidate over the events of the sitting: what the evidence justified beside what was
//! stated.

use crate::language::{named, said};
use crate::marking::mark::STATED;
use crate::marking::model::{BeliefStep, Mark};
use crate::marking::sentence::{clock, in_100};
use crate::report::document::{Cell, Holds, Table};
use crate::report::figure::{Anchor, Figure, Ink, LETTER, Shape, WIDTH, width_of};
use crate::tell;

const LABELS: f64 = 262.0;
const RIGHT: f64 = WIDTH - 128.0;
/// Where the numbers of what is justified end.
const JUSTIFIED: f64 = RIGHT + 70.0;
const STRIP: f64 = 50.0;
const TOP: f64 = 2.0 * LETTER;

/// A chance in 100, whole.
fn whole(p: f64) -> String {
    match p {
        p if p > 0.0 && p < 0.005 => "<1".to_owned(),
        p if (0.995..1.0).contains(&p) => ">99".to_owned(),
        p => format!("{:.0}", 100.0 * p.clamp(0.0, 1.0)),
    }
}

/// Words on as many lines as their width needs.
fn broken(text: &str, width: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        if !lines[last].is_empty() && width_of(&lines[last]) + width_of(word) + width_of(" ") > width {
            lines.push(word.to_owned());
        } else {
            if !lines[last].is_empty() {
                lines[last].push(' ');
            }
            lines[last].push_str(word);
        }
    }
    lines
}

/// The strips of all candidates; none without a step.
pub fn beliefs(mark: &Mark) -> Option<Figure> {
    let (first, last) = mark.beliefs.first().zip(mark.beliefs.last())?;
    let mut figure = Figure {
        title: said("figure-belief-title").to_owned(),
        words: words(mark, first, last),
        table: table(mark),
        height: TOP + STRIP * mark.labels.len() as f64 + 2.2 * LETTER,
        shapes: vec![],
    };
    let steps = mark.beliefs.len() as f64;
    let x = |i: usize| LABELS + (RIGHT - LABELS) * i as f64 / steps;
    figure.text((JUSTIFIED, TOP - 0.6 * LETTER), Anchor::End, Ink::Justified, said("figure-justified"));
    figure.text((WIDTH - 2.0, TOP - 0.6 * LETTER), Anchor::End, Ink::Stated, said("figure-stated"));
    for (k, label) in mark.labels.iter().enumerate() {
        strip(&mut figure, mark, k, label, &x);
    }
    let bottom = TOP + STRIP * mark.labels.len() as f64;
    let mut end = f64::NEG_INFINITY;
    for (i, step) in mark.beliefs.iter().enumerate() {
        let moved = i == 0 || mark.beliefs[i - 1].at != step.at;
        let text = clock(step.at);
        if moved && x(i) > end && x(i) + width_of(&text) < RIGHT + 40.0 {
            figure.line((x(i), TOP), (x(i), bottom + 4.0), Ink::Grid);
            figure.text((x(i), bottom + 1.5 * LETTER), Anchor::Start, Ink::Quiet, &text);
            end = x(i) + width_of(&text) + 8.0;
        }
    }
    Some(figure)
}

fn strip(figure: &mut Figure, mark: &Mark, k: usize, label: &str, x: &dyn Fn(usize) -> f64) {
    let top = TOP + STRIP * k as f64;
    let bottom = top + STRIP - 8.0;
    let y = |p: f64| bottom - (bottom - top - 2.0) * p.clamp(0.0, 1.0);
    figure.field((LABELS, top), (RIGHT, bottom), Ink::Paper);
    figure.line((LABELS, bottom), (RIGHT, bottom), Ink::Axis);
    let way = |of: &dyn Fn(&BeliefStep) -> Option<f64>| {
        let mut ways: Vec<Vec<(f64, f64)>> = vec![vec![]];
        for (i, step) in mark.beliefs.iter().enumerate() {
            match (of(step), ways.last_mut()) {
                (Some(p), Some(way)) => way.extend([(x(i), y(p)), (x(i + 1), y(p))]),
                _ => ways.push(vec![]),
            }
        }
        ways.retain(|w| !w.is_empty());
        ways
    };
    let stated = |s: &BeliefStep| s.stated.as_ref().and_then(|s| s.get(k).copied());
    let justified = |s: &BeliefStep| s.justified.get(k).copied();
    figure.shapes.push(Shape::Path { stretches: way(&justified), ink: Ink::Justified });
    figure.shapes.push(Shape::Path { stretches: way(&stated), ink: Ink::Stated });
    let mut lines = broken(named(label), LABELS - 12.0);
    if mark.truth.0 == label {
        lines.push(said("report-was-this").to_owned());
    }
    for (i, line) in lines.iter().take(3).enumerate() {
        let ink = if line == said("report-was-this") { Ink::Quiet } else { Ink::Word };
        figure.text((0.0, top + LETTER * (1.0 + 1.15 * i as f64)), Anchor::Start, ink, line);
    }
    let middle = bottom - 0.5 * (bottom - top) + 0.4 * LETTER;
    let last = mark.beliefs.last();
    if let Some(p) = last.and_then(justified) {
        figure.text((JUSTIFIED, middle), Anchor::End, Ink::Word, whole(p));
    }
    let said = last.and_then(stated).map_or("–".to_owned(), whole);
    figure.text((WIDTH - 2.0, middle), Anchor::End, Ink::Quiet, said);
}

fn leader(mark: &Mark, values: &[f64]) -> String {
    let best = values.iter().enumerate().fold(None::<(usize, f64)>, |best, (i, p)| match best {
        Some((_, top)) if top >= *p => best,
        _ => Some((i, *p)),
    });
    best.and_then(|(i, p)| mark.labels.get(i).map(|l| format!("{}, {}", named(l), in_100(p)))).unwrap_or_default()
}

fn words(mark: &Mark, first: &BeliefStep, last: &BeliefStep) -> String {
    let mut words =
        tell!("figure-belief-words", first = leader(mark, &first.justified), last = leader(mark, &last.justified));
    match &last.stated {
        Some(stated) => words += &tell!("figure-belief-stated-last", leader = leader(mark, stated)),
        None => words += said("figure-belief-none-stated"),
    }
    words
}

fn table(mark: &Mark) -> Table {
    let mut table = Table::new(
        said("figure-belief-caption"),
        &[
            (said("figure-event"), Holds::Words, 3.2),
            (said("report-time"), Holds::Figures, 1.0),
            (said("figure-likeliest-evidence"), Holds::Words, 3.0),
            (said("figure-likeliest-stated"), Holds::Words, 3.0),
        ],
    );
    for step in &mark.beliefs {
        let stated = step.stated.as_deref().map_or(said("figure-nothing-stated").to_owned(), |s| leader(mark, s));
        let event = match step.event.as_str() {
            "card" => said("figure-card-read"),
            STATED => said("figure-points-stated"),
            event => event,
        };
        table.row([Cell::from(event), clock(step.at).into(), leader(mark, &step.justified).into(), stated.into()]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_labels_are_broken_between_words() {
        assert_eq!(broken("one two three", width_of("one two")), ["one two", "three"]);
        assert_eq!(broken("", 10.0), [""]);
    }
}
