//! How far the line is seen into: at the tee, which is clear, and a little either side of it, where arrows tell what is
//! seen there. Everywhere else the lines of the vehicle are opaque. Pure.

use bevy_egui::egui::{Pos2, Vec2};

use crate::app::scene_layout::{Carries, Pipe, Spot};

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
