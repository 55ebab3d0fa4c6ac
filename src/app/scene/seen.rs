//! How far the line is seen into: at the tee, which is clear, and a little either side of it, where arrows tell what is
//! seen there. Everywhere else the lines of the vehicle are opaque. Pure.

use bevy_egui::egui::{Pos2, Vec2};

use crate::app::scene_layout::{Carries, Layout, Pipe, PlacedPart, Spot};

/// Way either side of the tee on which the flow is told, units of the drawing.
pub(super) const FAR: f32 = 110.0;
/// From chevron to chevron, units.
pub(super) const APART: f32 = 16.0;

/// Points of the line that feeds the engine either side of a joint, each with its way from there: units, positive with
/// the flow. None where the joint lies on no such line.
pub(super) fn beside(pipes: &[Pipe], joint: Spot, far: f32) -> Option<Vec<(Spot, f32)>> {
    let dist = |a: Spot, b: Spot| ((a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)).sqrt();
    for pipe in pipes.iter().filter(|p| p.carries == Carries::Feed) {
        let mut gone = 0.0;
        let mut here = None;
        for pair in pipe.points.windows(2) {
            let (to, from) = (dist(pair[0], joint), dist(joint, pair[1]));
            let long = dist(pair[0], pair[1]);
            if here.is_none() && to + from < long + 0.5 {
                here = Some(gone + to);
            }
            gone += long;
        }
        if let Some(here) = here {
            return Some(cut(&pipe.points, here, far));
        }
    }
    None
}

/// A stretch of a line: points, each with its way from the middle, units, positive with the flow.
pub(super) type Stretch = Vec<(Spot, f32)>;

/// Longest half of a clear line, units.
const LONG: f32 = 60.0;
/// What is left free between a clear line and its neighbours, units.
const FREE: f32 = 5.0;

/// The stretch of a line's own either side of its symbol, up to what sits on the same pipe, and half of its length.
pub(super) fn clear_of_others(layout: &Layout, line: &PlacedPart) -> Option<(Stretch, f32)> {
    let whole = beside(&layout.pipes, line.at, LONG)?;
    let others = layout.parts.iter().filter(|p| p.name != line.name).map(|p| (p.at, p.half));
    let others = others.chain(layout.joints.iter().map(|j| (j.at, 6.0)));
    // how far a neighbour's edge is, along the pipe
    let near = others.filter_map(|(at, half)| on_way(&whole, at).map(|s| s.abs() - half - FREE));
    let ends = [whole.first()?.1.abs(), whole.last()?.1.abs()];
    let clear = near.chain(ends).fold(LONG, f32::min);
    (clear > 6.0).then(|| beside(&layout.pipes, line.at, clear)).flatten().map(|way| (way, clear))
}

/// Where a place lies on a stretch; none: beside it.
fn on_way(way: &[(Spot, f32)], at: Spot) -> Option<f32> {
    let dist = |a: Spot, b: Spot| ((a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)).sqrt();
    way.windows(2).find_map(|pair| {
        let ((a, from), (b, _)) = (pair[0], pair[1]);
        let (to, off) = (dist(a, at), dist(at, b));
        (to + off < dist(a, b) + 0.5).then_some(from + to)
    })
}

/// What lies before the middle of a stretch and what lies behind it.
pub(super) fn halves(way: &[(Spot, f32)]) -> [Stretch; 2] {
    let mut both = [vec![], vec![]];
    for pair in way.windows(2) {
        let ((a, from), (b, to)) = (pair[0], pair[1]);
        let at = |s: f32| {
            let share = (s - from) / (to - from);
            ((a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share), s)
        };
        for (half, low, high) in [(0, from, to.min(0.0)), (1, from.max(0.0), to)] {
            if low < high {
                if both[half].is_empty() {
                    both[half].push(at(low));
                }
                both[half].push(at(high));
            }
        }
    }
    both
}

/// The stretch of a line from so far before a place to so far behind it.
fn cut(points: &[Spot], here: f32, far: f32) -> Vec<(Spot, f32)> {
    let mut way = vec![];
    let mut gone = -here;
    for pair in points.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let long = ((b.0 - a.0).powi(2) + (b.1 - a.1).powi(2)).sqrt();
        let (from, to) = (gone.max(-far), (gone + long).min(far));
        if from < to {
            let at = |s: f32| {
                let share = (s - gone) / long;
                ((a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share), s)
            };
            if way.is_empty() {
                way.push(at(from));
            }
            way.push(at(to));
        }
        gone += long;
    }
    way
}

/// Places of chevrons along a way, when the fuel has gone so far: place, direction and way from the tee, units.
pub(super) fn steps(way: &[(Pos2, f32)], gone: f32) -> Vec<(Pos2, Vec2, f32)> {
    let mut all = vec![];
    for pair in way.windows(2) {
        let ((a, from), (b, to)) = (pair[0], pair[1]);
        let along = (b - a).normalized();
        let mut s = from + (gone - from).rem_euclid(APART);
        while s < to {
            // none across a corner
            if s - from > 3.0 && to - s > 3.0 {
                all.push((a + (b - a) * ((s - from) / (to - from)), along, s));
            }
            s += APART;
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use bevy_egui::egui::pos2;

    use super::*;

    fn line() -> Vec<Pipe> {
        let feed = Pipe {
            points: vec![(0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (300.0, 50.0)],
            carries: Carries::Feed,
            arrow: false,
        };
        vec![Pipe { carries: Carries::Back, ..feed.clone() }, feed]
    }

    #[test]
    fn the_line_is_seen_so_far_either_side_round_its_corners() {
        let way = beside(&line(), (100.0, 20.0), 60.0).unwrap();
        let expected = [((60.0, 0.0), -60.0), ((100.0, 0.0), -20.0), ((100.0, 50.0), 30.0), ((130.0, 50.0), 60.0)];
        assert_eq!(way.len(), expected.len());
        for (((x, y), s), ((ex, ey), es)) in way.into_iter().zip(expected) {
            let off = (x - ex).abs() + (y - ey).abs() + (s - es).abs();
            assert!(off < 1e-3, "({x}, {y}) at {s}");
        }
        // where the line ends, nothing more is seen
        assert_eq!(beside(&line(), (10.0, 0.0), 60.0).unwrap()[0], ((0.0, 0.0), -10.0));
        assert_eq!(beside(&line(), (10.0, 30.0), 60.0), None, "not on the line");
    }

    #[test]
    fn a_clear_line_ends_before_its_neighbours_and_is_seen_in_two_halves() {
        let part = |name: &str, x: f32, half: f32| PlacedPart {
            name: name.into(),
            label: name.into(),
            short: vec![],
            label_at: (x, 0.0),
            kind: "Line",
            primer: false,
            at: (x, 50.0),
            half,
            along: (1.0, 0.0),
        };
        let mut layout = Layout { pipes: line(), ..Layout::default() };
        layout.parts = vec![part("clear", 160.0, 5.5), part("pump", 215.0, 17.0)];
        let (way, long) = clear_of_others(&layout, &layout.parts[0]).unwrap();
        assert_eq!(long, 55.0 - 17.0 - FREE);
        let [from, to] = halves(&way);
        assert_eq!((from[0].1, from[from.len() - 1].1), (-long, 0.0));
        assert_eq!((to[0].0, to[to.len() - 1].1), ((160.0, 50.0), long));
        // a neighbour so near leaves no room to see anything
        layout.parts[1].at.0 = 180.0;
        assert_eq!(clear_of_others(&layout, &layout.parts[0]), None);
    }

    #[test]
    fn chevrons_go_as_far_as_the_fuel_and_point_along_the_line() {
        let way = [(pos2(0.0, 0.0), -50.0), (pos2(100.0, 0.0), 50.0)];
        let at = |gone| steps(&way, gone).iter().map(|s| s.0.x).collect::<Vec<_>>();
        // whatever enters behind, each stands five points further on
        let on = at(5.0);
        assert!(
            at(0.0)
                .iter()
                .filter(|x| **x + 5.0 <= on[on.len() - 1])
                .all(|x| on.iter().any(|y| (x + 5.0 - y).abs() < 1e-3)),
            "{on:?}"
        );
        assert_eq!(at(0.0), at(APART));
        assert!(steps(&way, 3.0).iter().all(|s| s.1 == Vec2::new(1.0, 0.0) && (s.0.x - 50.0 - s.2).abs() < 1e-3));
    }
}
