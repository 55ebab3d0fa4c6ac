//! What a vehicle looks like from the side, in a few lines of our own: chosen by the words of its title, drawn for
//! the least size of the drawing and stretched to the real one. Pure.

use crate::plant::BOATS;

/// Kind of vehicle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Outline {
    /// A stand in the workshop: no vehicle that we know.
    #[default]
    Stand,
    /// Van.
    Van,
    /// Minibus: a van with windows.
    Minibus,
    /// Car with a tailgate.
    Car,
    /// Car with a boot.
    Saloon,
    /// Truck.
    Truck,
    /// Tractor.
    Tractor,
    /// Boat.
    Boat,
    /// Generating set.
    Genset,
}

/// Words of titles and what they mean; the first that is found counts.
const WORDS: [(&str, Outline); 13] = [
    ("minibus", Outline::Minibus),
    ("van", Outline::Van),
    ("tractor", Outline::Tractor),
    ("truck", Outline::Truck),
    ("lorry", Outline::Truck),
    ("generating set", Outline::Genset),
    ("genset", Outline::Genset),
    ("saloon", Outline::Saloon),
    ("coupé", Outline::Saloon),
    ("hatchback", Outline::Car),
    ("estate", Outline::Car),
    ("car", Outline::Car),
    ("pick-up", Outline::Truck),
];

/// The outline for a title.
pub fn of(title: &str) -> Outline {
    let title = title.to_lowercase();
    let words: Vec<&str> = title.split(|c: char| !c.is_alphanumeric() && c != '-').collect();
    let has = |word: &str| if word.contains(' ') { title.contains(word) } else { words.contains(&word) };
    if BOATS.into_iter().any(has) {
        return Outline::Boat;
    }
    WORDS.into_iter().find(|(word, _)| has(word)).map_or(Outline::Stand, |(_, outline)| outline)
}

/// A stroke of the outline.
#[derive(Clone, Debug, PartialEq)]
pub enum Stroke {
    /// From point to point.
    Line(Vec<(f32, f32)>),
    /// A circle: middle and radius.
    Circle((f32, f32), f32),
}

/// A stroke in the making, with round corners.
struct Pencil(Vec<(f32, f32)>);

impl Pencil {
    fn at(x: f32, y: f32) -> Self {
        Self(vec![(x, y)])
    }

    fn to(mut self, x: f32, y: f32) -> Self {
        self.0.push((x, y));
        self
    }

    /// Bends round a corner to a point.
    fn bend(mut self, over: (f32, f32), to: (f32, f32)) -> Self {
        let from = self.0[self.0.len() - 1];
        for i in 1..=10 {
            let s = i as f32 / 10.0;
            let r = 1.0 - s;
            let of = |a: f32, b: f32, c: f32| a * r * r + 2.0 * b * r * s + c * s * s;
            self.0.push((of(from.0, over.0, to.0), of(from.1, over.1, to.1)));
        }
        self
    }

    fn done(self) -> Stroke {
        Stroke::Line(self.0)
    }
}

/// Where the ground is, from the top of the least drawing.
pub const GROUND: f32 = 252.0;

fn wheel(x: f32, r: f32) -> [Stroke; 2] {
    [Stroke::Circle((x, GROUND - r), r), Stroke::Circle((x, GROUND - r), r * 0.45)]
}

/// Strokes for the least size of the drawing.
fn drawn(outline: Outline) -> Vec<Stroke> {
    match outline {
        Outline::Stand => vec![
            Pencil::at(24.0, 232.0).to(728.0, 232.0).done(),
            Pencil::at(70.0, 232.0).to(54.0, GROUND).done(),
            Pencil::at(90.0, 232.0).to(106.0, GROUND).done(),
            Pencil::at(650.0, 232.0).to(634.0, GROUND).done(),
            Pencil::at(670.0, 232.0).to(686.0, GROUND).done(),
        ],
        Outline::Van | Outline::Minibus => van(outline == Outline::Minibus),
        Outline::Car | Outline::Saloon => car(outline == Outline::Saloon),
        Outline::Truck => truck(),
        Outline::Tractor => tractor(),
        Outline::Boat => boat(),
        Outline::Genset => genset(),
    }
}

fn van(windows: bool) -> Vec<Stroke> {
    let body = Pencil::at(122.0, 222.0)
        .to(20.0, 222.0)
        .to(20.0, 68.0)
        .bend((22.0, 36.0), (56.0, 36.0))
        .to(560.0, 36.0)
        .bend((594.0, 36.0), (616.0, 66.0))
        .to(664.0, 132.0)
        .to(716.0, 146.0)
        .bend((742.0, 154.0), (744.0, 192.0))
        .to(744.0, 222.0)
        .to(664.0, 222.0)
        .done();
    let mut all = vec![
        body,
        Pencil::at(198.0, 222.0).to(588.0, 222.0).done(),
        Pencil::at(586.0, 58.0).to(600.0, 58.0).to(646.0, 126.0).to(586.0, 126.0).to(586.0, 58.0).done(),
    ];
    if windows {
        for x in [210.0, 330.0, 450.0] {
            all.push(Pencil::at(x, 58.0).to(x + 100.0, 58.0).to(x + 100.0, 104.0).to(x, 104.0).to(x, 58.0).done());
        }
    }
    all.extend(wheel(160.0, 34.0));
    all.extend(wheel(626.0, 34.0));
    all
}

fn car(boot: bool) -> Vec<Stroke> {
    let mut body = Pencil::at(118.0, 222.0).to(22.0, 218.0).to(20.0, 156.0);
    body = if boot {
        body.bend((20.0, 130.0), (52.0, 128.0)).to(128.0, 124.0).bend((190.0, 44.0), (270.0, 42.0))
    } else {
        body.to(34.0, 112.0).bend((60.0, 46.0), (150.0, 42.0))
    };
    let body = body
        .to(400.0, 42.0)
        .bend((470.0, 44.0), (548.0, 122.0))
        .to(690.0, 138.0)
        .bend((738.0, 146.0), (744.0, 196.0))
        .to(742.0, 222.0)
        .to(666.0, 222.0)
        .done();
    let rear = if boot { 176.0 } else { 84.0 };
    let mut all = vec![
        body,
        Pencil::at(194.0, 222.0).to(590.0, 222.0).done(),
        Pencil::at(rear, 116.0)
            .bend((rear + 46.0, 56.0), (rear + 100.0, 56.0))
            .to(398.0, 56.0)
            .bend((456.0, 60.0), (510.0, 116.0))
            .to(rear, 116.0)
            .done(),
        Pencil::at(330.0, 56.0).to(330.0, 116.0).done(),
    ];
    all.extend(wheel(156.0, 34.0));
    all.extend(wheel(628.0, 34.0));
    all
}

fn truck() -> Vec<Stroke> {
    let cab = Pencil::at(706.0, 222.0)
        .to(744.0, 222.0)
        .to(744.0, 110.0)
        .to(730.0, 34.0)
        .bend((726.0, 22.0), (706.0, 22.0))
        .to(566.0, 22.0)
        .to(560.0, 222.0)
        .to(626.0, 222.0)
        .done();
    let mut all = vec![
        cab,
        Pencil::at(666.0, 44.0).to(714.0, 44.0).to(726.0, 104.0).to(666.0, 104.0).to(666.0, 44.0).done(),
        Pencil::at(8.0, 208.0).to(560.0, 208.0).done(),
        Pencil::at(8.0, 220.0).to(560.0, 220.0).done(),
        Pencil::at(8.0, 208.0).to(8.0, 22.0).to(540.0, 22.0).to(540.0, 208.0).done(),
    ];
    for x in [236.0, 318.0] {
        all.extend(wheel(x, 36.0));
    }
    all.extend(wheel(666.0, 36.0));
    all
}

fn tractor() -> Vec<Stroke> {
    let mut all = vec![
        Pencil::at(216.0, 64.0)
            .to(690.0, 72.0)
            .bend((730.0, 76.0), (734.0, 118.0))
            .to(734.0, 226.0)
            .to(690.0, 226.0)
            .done(),
        Pencil::at(574.0, 226.0).to(216.0, 226.0).done(),
        Pencil::at(44.0, 96.0).to(62.0, 16.0).to(206.0, 16.0).to(222.0, 96.0).done(),
        Pencil::at(262.0, 64.0).to(262.0, 30.0).to(274.0, 30.0).to(274.0, 64.0).done(),
    ];
    all.extend(wheel(116.0, 84.0));
    all.extend(wheel(632.0, 46.0));
    all
}

fn boat() -> Vec<Stroke> {
    let water = |y: f32, from: f32, to: f32| {
        let mut line = Pencil::at(from, y);
        let mut x = from;
        while x + 24.0 <= to {
            line = line.bend((x + 6.0, y - 5.0), (x + 12.0, y)).bend((x + 18.0, y + 5.0), (x + 24.0, y));
            x += 24.0;
        }
        line.done()
    };
    vec![
        Pencil::at(14.0, 52.0)
            .bend((300.0, 66.0), (560.0, 44.0))
            .to(749.0, 22.0)
            .bend((752.0, 196.0), (716.0, 240.0))
            .to(96.0, 242.0)
            .bend((30.0, 240.0), (14.0, 52.0))
            .done(),
        Pencil::at(300.0, 58.0).to(322.0, 14.0).to(470.0, 8.0).to(520.0, 46.0).done(),
        water(GROUND, 6.0, 92.0),
        water(GROUND, 722.0, 750.0),
    ]
}

fn genset() -> Vec<Stroke> {
    vec![
        Pencil::at(370.0, 226.0)
            .to(370.0, 40.0)
            .bend((370.0, 30.0), (382.0, 30.0))
            .to(734.0, 30.0)
            .bend((746.0, 30.0), (746.0, 40.0))
            .to(746.0, 226.0)
            .to(370.0, 226.0)
            .done(),
        Pencil::at(356.0, 226.0).to(750.0, 226.0).to(750.0, 240.0).to(356.0, 240.0).to(356.0, 226.0).done(),
        Pencil::at(386.0, 240.0).to(386.0, GROUND).done(),
        Pencil::at(722.0, 240.0).to(722.0, GROUND).done(),
        Pencil::at(690.0, 46.0).to(690.0, 84.0).done(),
        Pencil::at(702.0, 46.0).to(702.0, 84.0).done(),
        Pencil::at(714.0, 46.0).to(714.0, 84.0).done(),
        Pencil::at(726.0, 46.0).to(726.0, 84.0).done(),
    ]
}

/// Strokes for a drawing of a size.
pub fn strokes(outline: Outline, size: (f32, f32)) -> Vec<Stroke> {
    let (x, y) = (size.0 / super::scene_layout::SIZE.0, size.1 / super::scene_layout::SIZE.1);
    let to = |p: (f32, f32)| (p.0 * x, p.1 * y);
    drawn(outline)
        .into_iter()
        .map(|stroke| match stroke {
            Stroke::Line(points) => Stroke::Line(points.into_iter().map(to).collect()),
            // wheels stay round and on the ground
            Stroke::Circle(at, r) => Stroke::Circle((at.0 * x, GROUND * y - (GROUND - at.1)), r),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Kind, Library, load_plant};

    #[test]
    fn every_built_in_vehicle_is_known_and_a_strangers_stands_on_a_stand() {
        let library = Library::builtin();
        for name in library.names(Kind::Plant) {
            let plant = load_plant(&library, &name).expect("a built-in plant").0;
            assert_ne!(of(&plant.title), Outline::Stand, "{name}: {}", plant.title);
        }
        assert_eq!(of("Advanced caravanserai"), Outline::Stand, "words count, not their pieces");
        assert_eq!(of("Minibus, 2.3 l"), Outline::Minibus);
    }

    #[test]
    fn every_stroke_stays_in_the_drawing() {
        for (_, outline) in WORDS {
            for stroke in strokes(outline, (900.0, 400.0)) {
                let inside = |p: &(f32, f32)| (0.0..=900.0).contains(&p.0) && (0.0..=400.0).contains(&p.1);
                match stroke {
                    Stroke::Line(points) => assert!(points.iter().all(inside), "{outline:?}: {points:?}"),
                    Stroke::Circle(at, r) => assert!(inside(&(at.0, at.1 + r - 0.5)), "{outline:?}: {at:?} {r}"),
                }
            }
        }
    }
}
