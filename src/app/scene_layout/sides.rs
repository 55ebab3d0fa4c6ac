//! Side ways: in lanes above the main way, inside the tank, or as a riser between both.

use super::{
    Carries, Component, Draft, End, FLOOR, LANE, LANES, LINE, Side, Spot, Stop, broken, in_two, up, widest,
};
use crate::language::named;

impl Draft<'_> {
    pub(super) fn side_ways(&mut self) {
        let graph = self.graph;
        let risers: Vec<f32> = graph
            .sides
            .iter()
            .filter(|s| self.is_riser(s))
            .filter_map(|s| if let End::Main(n) = &s.from { self.anchors.get(n).map(|a| a.0) } else { None })
            .collect();
        let right_end = risers.into_iter().fold(f32::INFINITY, f32::min);
        let mut returns = 0;
        for side in &graph.sides {
            if self.is_riser(side) {
                self.riser(side);
            } else if self.tank_stops(side) == 0 && !side.stops.is_empty() {
                self.in_the_tank(side, None);
            } else {
                self.in_a_lane(side, right_end, &mut returns);
            }
        }
        self.overflows();
    }

    fn is_riser(&self, side: &Side) -> bool {
        matches!((&side.from, &side.to), (End::Main(_), End::Side(_))) && side.stops.len() == 1
    }

    /// One part between the main way and a lane.
    fn riser(&mut self, side: &Side) {
        let (End::Main(from), End::Side(to), Stop::Part(i)) = (&side.from, &side.to, &side.stops[0]) else {
            return;
        };
        let Some(&(x, y)) = self.anchors.get(from) else { return };
        let lane = self.side_lane.get(to).copied().unwrap_or(LANE);
        let middle = if y - lane > 90.0 { lane + (y - lane) * 0.44 } else { (y + lane) / 2.0 };
        let at = (x, middle);
        let short = in_two(named(&self.part(*i).name));
        let label = (x + 18.0 + widest(&short) / 2.0, at.1 - LINE * short.len() as f32 / 2.0);
        self.push_part(*i, at, short, label, (0.0, -1.0));
        self.pipe(vec![(x, y)], Carries::Back, true, (x, lane + 2.0));
    }

    /// The part of a side way that hangs in the tank; `from` is where it comes down.
    fn in_the_tank(&mut self, side: &Side, from: Option<Vec<Spot>>) {
        let stops = &side.stops[self.tank_stops(side)..];
        let (_, top, r, _) = self.tank;
        let y = self.inside_lane;
        let mut x = r - 30.0;
        let mut way = from.unwrap_or_else(|| match &side.from {
            End::Main(n) => self.anchors.get(n).map(|a| (a.0.min(r - 14.0), y)).into_iter().collect(),
            _ => vec![(r - 14.0, y)],
        });
        if way.is_empty() {
            way.push((r - 14.0, y));
        }
        if let Some(last) = way.last().copied()
            && last.1 < top
        {
            way.push((x, last.1));
            way.push((x, y));
        }
        for stop in stops {
            match stop {
                Stop::Part(i) => {
                    let short = broken(named(&self.part(*i).name));
                    let wide = widest(&short) + 16.0;
                    let at = (x - wide / 2.0, y);
                    let label = self.above(*i, at, &short);
                    self.push_part(*i, at, short, label, (-1.0, 0.0));
                    x -= wide;
                }
                Stop::Node(node) => {
                    self.anchors.insert(node.clone(), (x, y));
                    if self.joint_label(node).is_some() {
                        self.push_joint(node, (x - 10.0, y));
                        x -= 26.0;
                    }
                }
            }
        }
        let to = match &side.to {
            End::Tank(i) => self
                .layout
                .parts
                .iter()
                .find(|p| p.name == self.part(*i).name && p.kind == "SwirlPot")
                .map(|p| (p.at.0, p.at.1 - p.half)),
            _ => None,
        };
        match to {
            Some(pot) => {
                way.push((pot.0.min(x), y));
                self.pipe(way, Carries::Back, true, (pot.0.min(x), pot.1));
            }
            None => self.pipe(way, Carries::Back, true, (x - 6.0, y)),
        }
    }

    /// Where the name of a part stands above it.
    fn above(&self, part: usize, at: Spot, short: &[String]) -> Spot {
        (at.0, at.1 - up(self.part(part).is.kind()) - LINE * short.len() as f32 - 1.0)
    }

    fn point_of(&self, end: &End, returns: &mut usize) -> Option<Spot> {
        match end {
            End::Engine => Some((self.engine.0, self.engine.1 - 19.0)),
            End::Main(n) | End::Side(n) => self.anchors.get(n).copied(),
            End::Tank(i) => {
                let name = &self.part(*i).name;
                match self.layout.tanks.iter().find(|t| t.name == *name) {
                    Some(t) if !t.main => Some(((t.field.0 + t.field.2) / 2.0 + 12.0, t.field.1 + 4.0)),
                    _ => {
                        *returns += 1;
                        let x = self.tank.2 - 30.0 - 16.0 * *returns as f32;
                        Some((x.max(self.tank.0 + 40.0), self.tank.1 + 8.0))
                    }
                }
            }
            End::Open => None,
        }
    }

    fn in_a_lane(&mut self, side: &Side, right_end: f32, returns: &mut usize) {
        let cut = self.tank_stops(side);
        let from = self.point_of(&side.from, returns);
        let into_tank = cut < side.stops.len();
        let to = if into_tank { Some((self.tank.2 - 30.0, self.tank.1)) } else { self.point_of(&side.to, returns) };
        let (from, to) = match (from, to) {
            (Some(f), Some(t)) => (f, t),
            (Some(f), None) => (f, ((f.0 - 120.0).max(20.0), f.1)),
            (None, Some(t)) => ((t.0 + 120.0, t.1), t),
            (None, None) => return,
        };
        let wide = |stop: &Stop| match stop {
            Stop::Part(i) if matches!(self.part(*i).is, Component::Line(_)) => 20.0,
            Stop::Part(i) => (widest(&broken(named(&self.part(*i).name))) + 14.0).max(36.0),
            Stop::Node(n) if self.joint_label(n).is_some() => 44.0,
            Stop::Node(_) => 0.0,
        };
        let widths: Vec<f32> = side.stops[..cut].iter().map(wide).collect();
        let need: f32 = widths.iter().sum();
        let (left, right) = (from.0.min(to.0), from.0.max(to.0));
        let end = if matches!(side.from, End::Engine) { right.min(right_end) } else { right };
        let middle = (left + end) / 2.0;
        let half_way = ((end - left) / 2.0 - 14.0).max(need / 2.0);
        let (a, b) = (middle - half_way, middle + half_way);
        let push = (8.0 - a).max(0.0) - (b - self.layout.size.0 + 8.0).max(0.0);
        let (a, b) = (a + push, b + push);
        // round one part of the main way: a small loop close to it
        let near = matches!((&side.from, &side.to), (End::Main(_), End::Main(_)))
            && from.1 == to.1
            && from.1 > FLOOR + self.down + 20.0
            && need < right - left + 50.0;
        let y = if near { from.1 - 50.0 } else { self.lane(a.min(left), b.max(right)) };
        let spare = if widths.is_empty() { 0.0 } else { ((b - a) - need).max(0.0) / widths.len() as f32 };
        let backwards = to.0 < from.0;
        let mut x = if backwards { b } else { a };
        for (stop, wide) in side.stops[..cut].iter().zip(&widths) {
            let step = (wide + if *wide > 0.0 { spare } else { 0.0 }) * if backwards { -1.0 } else { 1.0 };
            let at = (x + step / 2.0, y);
            x += step;
            match stop {
                Stop::Part(i) => {
                    let part = self.part(*i);
                    let line = matches!(part.is, Component::Line(_));
                    let short = if line { vec![] } else { broken(named(&part.name)) };
                    let label = self.above(*i, at, &short);
                    self.push_part(*i, at, short, label, (if backwards { -1.0 } else { 1.0 }, 0.0));
                }
                Stop::Node(node) => {
                    self.anchors.insert(node.clone(), at);
                    self.side_lane.insert(node.clone(), y);
                    if self.joint_label(node).is_some() {
                        self.push_joint(node, at);
                    }
                }
            }
        }
        let mut way = vec![from, (from.0, y)];
        if into_tank {
            self.in_the_tank(side, Some(way));
        } else {
            way.push((to.0, y));
            self.pipe(way, Carries::Back, true, to);
        }
    }

    /// The lowest lane that is free between two places.
    fn lane(&mut self, from: f32, to: f32) -> f32 {
        let free = |lane: usize| !self.taken.iter().any(|(l, a, b)| *l == lane && from < *b && to > *a);
        let lane = (0..).find(|l| free(*l)).unwrap_or(0);
        self.taken.push((lane, from, to));
        LANE + self.down - LANES * lane as f32
    }

    /// Tanks on the way run over into the one below.
    fn overflows(&mut self) {
        let Some(main) = self.layout.tanks.first().cloned() else { return };
        for tank in self.layout.tanks.clone().into_iter().filter(|t| !t.main) {
            let part = self.plant.part(&tank.name);
            let over = matches!(part.map(|p| &p.is), Some(Component::Tank(t)) if t.overflows_to.is_some());
            if over {
                let y = tank.field.1 + 3.0;
                let x = main.field.2 - 46.0;
                self.pipe(vec![(tank.field.0, y), (x, y)], Carries::Back, true, (x, main.field.1 + 14.0));
            }
        }
    }
}
