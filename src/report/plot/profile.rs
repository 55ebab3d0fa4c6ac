//! The readings along the line: for every state that was read at two joints or more, the pressure over
//! the joints in the order of flow, against the ranges of the vehicle card.

use super::{Scale, capital, sentence};
use crate::bay::action::State;
use crate::language::{named, said};
use crate::marking::sentence::number;
use crate::report::document::{Cell, Holds, Table};
use crate::report::figure::{Anchor, Figure, Ink, LETTER, Shape, WIDTH};
use crate::scenario::model::Job;
use crate::tell;

const LEFT: f64 = 52.0;
const RIGHT: f64 = WIDTH - 8.0;

/// A reading of the sheet with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// In what state.
    pub state: State,
    /// Name of the joint.
    pub joint: String,
    /// What the gauge showed, mbar gauge.
    pub mbar: f64,
    /// After the finding or the first part that was touched.
    pub later: bool,
    /// Line of the sheet.
    pub line: usize,
}

/// The profile in one state; nothing when it was read at fewer than two joints.
pub fn profile(job: &Job, state: State, points: &[Point]) -> Option<Figure> {
    const PLOT: f64 = 150.0;
    let points: Vec<&Point> = points.iter().filter(|p| p.state == state).collect();
    let joints: Vec<&(String, String)> =
        job.joints.iter().filter(|(name, _)| points.iter().any(|p| p.joint == *name)).collect();
    if joints.len() < 2 {
        return None;
    }
    let limit = |joint: &str| job.limit(joint, state).map(|l| (l.low_mbar, l.high_mbar));
    let all = points.iter().map(|p| p.mbar);
    let ends = joints.iter().filter_map(|(name, _)| limit(name)).flat_map(|(low, high)| [low, high]);
    let (low, high) = all.chain(ends).fold((0.0_f64, 0.0_f64), |(low, high), v| (low.min(v), high.max(v)));
    let top = 0.8 * LETTER;
    let scale = Scale::over(low, high, top, top + PLOT, 6.0);
    let wide = (RIGHT - LEFT) / joints.len() as f64;
    let x = |i: usize| LEFT + wide * (i as f64 + 0.5);
    let mut figure = Figure {
        title: tell!("figure-profile-title", state = capital(named(state.word()))),
        words: String::new(),
        table: Table::new("", &[]),
        height: scale.bottom + 1.8 * LETTER,
        shapes: vec![],
    };
    figure.field((LEFT, top), (RIGHT, scale.bottom), Ink::Paper);
    for (i, (name, _)) in joints.iter().enumerate() {
        if let Some((low, high)) = limit(name) {
            figure.field((x(i) - 34.0, scale.y(low)), (x(i) + 34.0, scale.y(high)), Ink::Field);
        }
    }
    scale.draw(&mut figure, LEFT, RIGHT);
    for later in [false, true] {
        let way: Vec<(f64, f64)> = joints
            .iter()
            .enumerate()
            .filter_map(|(i, (name, _))| {
                let last = points.iter().rev().find(|p| p.joint == *name && p.later == later)?;
                Some((x(i), scale.y(last.mbar)))
            })
            .collect();
        if way.len() > 1 {
            let ink = if later { Ink::Stated } else { Ink::Measured };
            figure.shapes.push(Shape::Path { stretches: vec![way], ink });
        }
    }
    for (i, (name, label)) in joints.iter().enumerate() {
        figure.text((x(i), scale.bottom + 1.3 * LETTER), Anchor::Middle, Ink::Word, label);
        let here: Vec<&&Point> = points.iter().filter(|p| p.joint == *name).collect();
        let beside = apart(&here.iter().map(|p| scale.y(p.mbar)).collect::<Vec<_>>(), 1.15 * LETTER);
        for (p, y) in here.into_iter().zip(beside) {
            let ink = if p.later { Ink::Stated } else { Ink::Measured };
            figure.shapes.push(Shape::Dot { at: (x(i), scale.y(p.mbar)), filled: !p.later, ink });
            let at = (x(i) + 42.0, y + 0.35 * LETTER);
            let when = if p.later { said("figure-point-after") } else { "" };
            figure.text(at, Anchor::Start, Ink::Word, format!("{}{when}", number(p.mbar, 0)));
        }
    }
    (figure.words, figure.table) = twin(job, state, &joints, &points);
    Some(figure)
}

/// These heights moved just so far that each lies at least `distance` from the next, in the same order.
fn apart(heights: &[f64], distance: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..heights.len()).collect();
    order.sort_by(|a, b| heights[*a].total_cmp(&heights[*b]));
    // crowds of neighbours, each spread about its own middle; two that touch become one
    let middle = |crowd: &[usize]| crowd.iter().map(|&k| heights[k]).sum::<f64>() / crowd.len().max(1) as f64;
    let half = |crowd: &[usize]| 0.5 * distance * (crowd.len() as f64 - 1.0);
    let mut crowds: Vec<Vec<usize>> = vec![];
    for k in order {
        let mut crowd = vec![k];
        while let Some(above) = crowds.last() {
            if middle(&crowd) - half(&crowd) - middle(above) - half(above) >= distance {
                break;
            }
            crowd.splice(0..0, crowds.pop().unwrap_or_default());
        }
        crowds.push(crowd);
    }
    let mut moved = heights.to_vec();
    for crowd in &crowds {
        let top = middle(crowd) - half(crowd);
        for (place, &k) in crowd.iter().enumerate() {
            moved[k] = top + distance * place as f64;
        }
    }
    moved
}

fn twin(job: &Job, state: State, joints: &[&(String, String)], points: &[&Point]) -> (String, Table) {
    let mut table = Table::new(
        tell!("figure-profile-caption", state = capital(named(state.word()))),
        &[
            (said("figure-joint"), Holds::Words, 2.0),
            (said("report-line"), Holds::Figures, 0.8),
            (said("report-gauge"), Holds::Figures, 1.0),
            (said("report-card"), Holds::Figures, 1.6),
            (said("report-when"), Holds::Words, 2.0),
        ],
    );
    let mut words = vec![];
    for (name, label) in joints {
        let range = job.limit(name, state).map_or(said("report-none").to_owned(), |l| {
            tell!("report-range", from = number(l.low_mbar, 0), to = number(l.high_mbar, 0))
        });
        for p in points.iter().filter(|p| p.joint == *name) {
            let when = if p.later { said("figure-after-finding") } else { said("figure-before-finding") };
            words.push(tell!(
                "figure-profile-words",
                label = label,
                mbar = number(p.mbar, 0),
                when = when,
                range = range
            ));
            table.row([
                Cell::from(label.as_str()),
                p.line.to_string().into(),
                number(p.mbar, 0).into(),
                range.as_str().into(),
                when.into(),
            ]);
        }
    }
    (sentence(&words), table)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Library, load_job};

    fn point(joint: &str, mbar: f64, later: bool) -> Point {
        Point { state: State::Raised, joint: joint.to_owned(), mbar, later, line: 1 }
    }

    #[test]
    fn words_beside_dots_that_lie_close_keep_their_distance_and_order() {
        assert_eq!(apart(&[10.0, 50.0], 12.0), [10.0, 50.0]);
        assert_eq!(apart(&[52.0, 50.0], 12.0), [57.0, 45.0]);
        let crowd = apart(&[30.0, 31.0, 32.0, 80.0], 12.0);
        assert_eq!(crowd, [19.0, 31.0, 43.0, 80.0]);
        // a crowd that spreads onto its neighbour takes it in
        let pulled = apart(&[0.0, 13.0, 14.0, 15.0], 12.0);
        assert!(pulled.windows(2).all(|w| w[1] - w[0] >= 12.0 - 1e-9), "{pulled:?}");
        assert!(apart(&[], 12.0).is_empty());
    }

    #[test]
    fn a_profile_needs_two_joints_and_follows_the_flow() {
        let (job, _) = load_job(&Library::builtin(), "bypass-puff").unwrap_or_else(|_| unreachable!());
        let one = [point("pump in", -353.0, false), point("pump in", -201.0, true)];
        assert_eq!(profile(&job, State::Raised, &one), None);
        let two = [one[0].clone(), point("filter in", -129.0, false), one[1].clone()];
        let figure = profile(&job, State::Raised, &two).unwrap();
        assert_eq!(profile(&job, State::Idle, &two), None);
        let joints: Vec<&str> = figure.table.rows.iter().map(|r| r[2].text.as_str()).collect();
        assert_eq!(joints, ["−129", "−353", "−201"], "the filter's inlet comes before the pump's");
        assert!(figure.words.contains("−353 mbar before the finding (card −250 to −150)"), "{}", figure.words);
    }
}
