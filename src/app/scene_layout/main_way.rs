//! The main way: what hangs in the tank, the rows outside it, the engine, and the pipe through all of them.

use super::{
    BAY, BELOW, Carries, Component, Draft, ENGINE, End, FLOOR, Field, LANES, LETTER, LINE, Pipe, Place, PlacedTank,
    ROWS, SIZE, Side, Spot, Stop, at_a_space, half, in_tank, in_two, widest,
};
use crate::language::named;

/// What stands in a row outside the tank.
enum What {
    Part(usize),
    Joint(String),
    /// A tank in the middle of the way.
    Tank,
}

struct Item {
    what: What,
    wide: f32,
    at: Spot,
    row: usize,
}

impl Draft<'_> {
    pub(super) fn main_way(&mut self) {
        let stops = &self.graph.main[..];
        let begin = usize::from(matches!(stops.first(), Some(Stop::Part(i)) if self.is_tank(*i)));
        // what hangs in the tank comes first
        let mut cut = begin;
        for (k, stop) in stops.iter().enumerate().skip(begin) {
            match stop {
                Stop::Part(i) if in_tank(self.part(*i), self.plant) => cut = k + 1,
                Stop::Node(n) if self.joint_label(n).is_none() => {}
                _ => break,
            }
        }
        self.lanes_above();
        self.place_tank(&stops[..begin], &stops[begin..cut]);
        let mut riser = self.place_inside(&stops[begin..cut]);
        let mut items = self.items(&stops[cut..]);
        let rows = self.place_rows(&mut items);
        self.engine_at(rows);
        self.pipe_through(&mut riser, &items);
        self.put(&stops[cut..], &items);
    }

    fn is_tank(&self, i: usize) -> bool {
        matches!(self.part(i).is, Component::Tank(_))
    }

    /// Counts the lanes that side ways will want over the main way, on the safe side.
    fn lanes_above(&mut self) {
        let wants = |s: &&Side| !(matches!(s.to, End::Side(_)) && s.stops.len() == 1) && self.tank_stops(s) > 0;
        let local = |s: &&Side| matches!((&s.from, &s.to), (End::Main(_), End::Main(_)));
        let engine = self.graph.sides.iter().filter(wants).filter(|s| !local(s)).count();
        self.down = LANES * engine.saturating_sub(1) as f32;
        self.layout.size.1 += self.down;
    }

    fn place_tank(&mut self, tank: &[Stop], inside: &[Stop]) {
        let parts = |stops: &[Stop]| -> Vec<usize> {
            stops.iter().filter_map(|s| if let Stop::Part(i) = s { Some(*i) } else { None }).collect()
        };
        let hung = parts(inside);
        let main: f32 = hung.iter().map(|i| self.wide(*i) + 4.0).sum();
        let lane = |s: &Side| -> f32 {
            let stops = parts(&s.stops[self.tank_stops(s)..]);
            stops.iter().map(|i| named(&self.part(*i).name).chars().count() as f32 * LETTER + 16.0).sum()
        };
        let lanes = self.graph.sides.iter().map(lane).fold(0.0, f32::max);
        let has_lane = lanes > 0.0;
        let wide = (main + 44.0).max(lanes + 76.0).max(132.0);
        let d = self.down;
        let (top, bottom) = match (self.above, has_lane, hung.len() > 1) {
            (true, _, false) => (84.0, 140.0),
            (true, false, true) => (74.0, 152.0),
            (true, true, true) => (74.0, 196.0),
            (false, true, _) => (98.0, 216.0),
            (false, false, true) => (150.0, 216.0),
            (false, false, false) => (158.0, 216.0),
        };
        self.tank = (56.0, top + d, 56.0 + wide, bottom + d);
        self.inside = match (self.above, hung.len() > 1) {
            (true, true) => self.tank.3 - 50.0,
            (true, false) => self.tank.3 - 14.0,
            (false, _) => self.tank.3 - 26.0,
        };
        self.inside_lane = self.inside - 42.0;
        if let Some(Stop::Part(i)) = tank.first() {
            let part = self.part(*i);
            self.layout.tanks.push(PlacedTank {
                name: part.name.clone(),
                label: part.label.clone(),
                field: self.tank,
                main: true,
            });
            let at = (self.tank.0 + 26.0, (self.tank.1 + self.tank.3) / 2.0);
            self.push_part(*i, at, vec![], (0.0, 0.0), (1.0, 0.0));
        }
    }

    /// Places what hangs in the tank; gives the way of the fuel from there to the wall.
    fn place_inside(&mut self, stops: &[Stop]) -> Vec<Spot> {
        let hung: Vec<usize> =
            stops.iter().filter_map(|s| if let Stop::Part(i) = s { Some(*i) } else { None }).collect();
        let (l, _, r, b) = self.tank;
        let y = self.inside;
        let mut x = l + 14.0;
        let mut way = Vec::new();
        if let [only] = hung[..] {
            let at = (r - 28.0, y);
            let name = named(&self.part(only).name);
            let short = if self.above { at_a_space(name) } else { in_two(name) };
            let label = if self.above { (at.0 - 18.0 - widest(&short) / 2.0, at.1 - 7.0) } else { (at.0, b + 4.0) };
            let along = if self.above { (0.0, 1.0) } else { (0.0, -1.0) };
            self.push_part(only, at, short, label, along);
            way.push(at);
        } else {
            for &i in &hung {
                let wide = self.wide(i) + 4.0;
                let at = (x + wide / 2.0, y);
                let short = in_two(named(&self.part(i).name));
                let under = if self.above { y + half(self.part(i).is.kind()) + 3.0 } else { b + 4.0 };
                self.push_part(i, at, short, (at.0, under), (1.0, 0.0));
                way.push(at);
                x += wide;
                let node = self.part(i).is.ends().last().map(|n| (*n).to_owned()).unwrap_or_default();
                self.anchors.insert(node, (x, y));
            }
        }
        if way.is_empty() {
            way.push((r - 28.0, b - 10.0));
        }
        way
    }

    /// What stands in rows outside the tank, without the engine.
    fn items(&self, stops: &[Stop]) -> Vec<Item> {
        let item = |what, wide| Item { what, wide, at: (0.0, 0.0), row: 0 };
        let mut hung = false;
        stops
            .iter()
            .filter_map(|stop| match stop {
                Stop::Part(i) => match &self.part(*i).is {
                    Component::Engine(_) => None,
                    Component::Tank(_) => {
                        hung = true;
                        Some(item(What::Tank, 116.0))
                    }
                    // the gauze of a tank on the way is drawn in that tank
                    Component::Strainer(_) if std::mem::take(&mut hung) => None,
                    _ => Some(item(What::Part(*i), self.wide(*i))),
                },
                Stop::Node(n) => self.joint_label(n).map(|_| item(What::Joint(n.clone()), 42.0)),
            })
            .collect()
    }

    /// From which item on things stand in the engine bay.
    fn bay(&self, items: &[Item]) -> usize {
        if let Some(k) = items.iter().rposition(|i| matches!(i.what, What::Tank)) {
            return k + 1;
        }
        let under = |node: &str| self.plant.node(node).is_some_and(|n| n.place == Place::Bonnet);
        let known = self.plant.nodes.iter().any(|n| n.place == Place::Bonnet);
        let begins = |item: &Item| match &item.what {
            What::Joint(node) => known && under(node),
            What::Part(i) => {
                let part = self.part(*i);
                let line = matches!(part.is, Component::Line(_));
                match known {
                    true => !line && part.is.ends().get(1).is_some_and(|to| under(to)),
                    false => matches!(part.is, Component::Filter(_) | Component::GearPump(_)),
                }
            }
            What::Tank => false,
        };
        items.iter().position(begins).unwrap_or(items.len())
    }

    /// Gives each item its place; returns the number of rows.
    fn place_rows(&mut self, items: &mut [Item]) -> usize {
        let total: f32 = items.iter().map(|i| i.wide).sum();
        let left = if self.above { self.tank.2 - 8.0 } else { self.tank.2 + 12.0 };
        // a very wide tank leaves no room beside it: the drawing grows
        let most = (SIZE.0 - ENGINE - 28.0 - left).max(420.0);
        let rows = if total <= most * 1.25 { 1 } else { (total / most).ceil() as usize };
        let room = if rows == 1 { total.max(most) } else { most };
        self.layout.size.0 = SIZE.0.max(left + room + 28.0 + ENGINE);
        self.layout.size.1 += ROWS * (rows - 1) as f32;
        let bay = self.bay(items);
        let share = total / rows as f32;
        let (mut row, mut sum) = (0, 0.0);
        for item in items.iter_mut() {
            // a row ends where its share does, and before it runs over
            if row + 1 < rows && sum > 0.0 && (sum + item.wide / 2.0 > share || sum + item.wide > room) {
                row += 1;
                sum = 0.0;
            }
            item.row = row;
            sum += item.wide;
        }
        for r in 0..rows {
            let count = items.iter().filter(|i| i.row == r).count().max(1);
            let wide: f32 = items.iter().filter(|i| i.row == r).map(|i| i.wide).sum();
            let spare = ((room - wide) / count as f32).max(0.0);
            let mut x = left;
            for (k, item) in items.iter_mut().enumerate().filter(|(_, i)| i.row == r) {
                let wide = item.wide + spare;
                let y = if rows > 1 {
                    BAY + ROWS * r as f32
                } else if self.above {
                    BELOW
                } else if k < bay {
                    FLOOR
                } else {
                    BAY
                };
                item.at = (x + wide / 2.0, y + self.down);
                item.wide = wide;
                x += wide;
            }
        }
        rows
    }

    fn engine_at(&mut self, rows: usize) {
        let y = if rows > 1 {
            BAY + ROWS * (rows - 1) as f32
        } else if self.above {
            BELOW
        } else {
            BAY
        };
        self.engine = (self.layout.size.0 - ENGINE, y + self.down);
    }

    /// The pipe from the tank through all items to the engine.
    fn pipe_through(&mut self, way: &mut Vec<Spot>, items: &[Item]) {
        let r = self.tank.2;
        let first = items.first().map_or(self.engine, |i| i.at);
        let from = way.last().copied().unwrap_or(first);
        if from.0 < r - 20.0 && from.1 != first.1 && way.len() > 1 {
            way.push((r - 14.0, from.1));
        }
        let rises = way.last().map_or(first.0, |p| p.0);
        way.push((rises, first.1));
        let mut last = first;
        let mut row = 0;
        for item in items {
            if item.row != row {
                // on to the next row, as a text goes on
                let right = self.layout.size.0 - 16.0;
                let between = item.at.1 - 36.0;
                let left = self.tank.2 + 4.0;
                way.extend([(right, last.1), (right, between), (left, between), (left, item.at.1)]);
                row = item.row;
            } else if item.at.1 != last.1 {
                let turn = item.at.0 - item.wide / 2.0;
                way.extend([(turn, last.1), (turn, item.at.1)]);
            }
            if let What::Tank = item.what {
                // into the tank, and out of its bottom
                let (l, _, r, b) = mid_tank(item);
                self.pipe(std::mem::take(way), Carries::Feed, false, (l, last.1));
                way.extend([(r - 20.0, b - 12.0), (r - 20.0, BAY + self.down)]);
                last = (r - 20.0, BAY + self.down);
            } else {
                last = item.at;
            }
        }
        if last.1 != self.engine.1 {
            let turn = (last.0 + 24.0).min(self.engine.0 - 26.0);
            way.extend([(turn, last.1), (turn, self.engine.1)]);
        }
        let engine = self.engine;
        self.pipe(std::mem::take(way), Carries::Feed, false, engine);
    }

    pub(super) fn pipe(&mut self, mut points: Vec<Spot>, carries: Carries, arrow: bool, to: Spot) {
        points.push(to);
        points.dedup();
        self.layout.pipes.push(Pipe { points, carries, arrow });
    }

    /// Puts the items and the nodes between them into the drawing.
    fn put(&mut self, stops: &[Stop], items: &[Item]) {
        let mut k = 0;
        let mut edge = items.first().map_or((self.tank.2, self.engine.1), |i| (i.at.0 - i.wide / 2.0, i.at.1));
        let mut mid: Option<Field> = None;
        for stop in stops {
            match stop {
                Stop::Node(node) => {
                    if self.joint_label(node).is_some() {
                        let item = &items[k];
                        k += 1;
                        self.push_joint(node, item.at);
                        edge = (item.at.0 + item.wide / 2.0, item.at.1);
                    }
                    self.anchors.insert(node.clone(), edge);
                }
                Stop::Part(i) if matches!(self.part(*i).is, Component::Engine(_)) => {
                    self.push_part(*i, self.engine, vec![], (0.0, 0.0), (1.0, 0.0));
                }
                Stop::Part(i) if mid.is_some() && matches!(self.part(*i).is, Component::Strainer(_)) => {
                    let (_, _, r, b) = mid.take().unwrap_or_default();
                    let short = at_a_space(named(&self.part(*i).name));
                    let at = (r - 20.0, b - 12.0);
                    let label =
                        (at.0 - 18.0 - widest(&short) / 2.0, at.1 - 7.0 - LINE * (short.len() as f32 - 1.0) / 2.0);
                    self.push_part(*i, at, short, label, (0.0, 1.0));
                }
                Stop::Part(i) => {
                    let item = &items[k];
                    k += 1;
                    edge = (item.at.0 + item.wide / 2.0, item.at.1);
                    if let What::Tank = item.what {
                        let field = mid_tank(item);
                        let part = self.part(*i);
                        self.layout.tanks.push(PlacedTank {
                            name: part.name.clone(),
                            label: part.label.clone(),
                            field,
                            main: false,
                        });
                        let label = ((field.0 + field.2) / 2.0 - 10.0, field.1 + 6.0);
                        self.push_part(
                            *i,
                            (field.0 + 18.0, field.3 - 14.0),
                            vec![named(&part.name).to_owned()],
                            label,
                            (1.0, 0.0),
                        );
                        mid = Some(field);
                        edge = (field.2 - 4.0, BAY + self.down);
                    } else {
                        self.push_named(*i, item.at);
                    }
                }
            }
        }
    }
}

/// Walls of a tank that stands in a row.
fn mid_tank(item: &Item) -> Field {
    (item.at.0 - 54.0, item.at.1 - 36.0, item.at.0 + 54.0, item.at.1 + 18.0)
}
