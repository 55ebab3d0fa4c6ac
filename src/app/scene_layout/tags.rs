//! Where the tag of a joint finds room: below it where nothing is in the way, else nearby, never on a name, a symbol, a
//! joint or a pipe.

use super::{Field, Layout, PlacedJoint, Spot, around};

/// Width and height of what the tee carries above its joint: stem and gauge.
const GAUGE: Spot = (28.0, 52.0);
/// Half the width that a pipe takes.
const PIPE: f32 = 4.0;
/// What letters may reach beyond their field.
const LETTERS: f32 = 4.0;
/// Step of the search, units.
const STEP: f32 = 4.0;

/// The external container at a joint, its hose and its name included.
pub fn container_field(joint: Spot) -> Field {
    (joint.0 - 64.0, joint.1 + 8.0, joint.0 - 4.0, joint.1 + 74.0)
}

/// Valve, stem and gauge of a tee at a joint.
pub fn tee_field(joint: &PlacedJoint) -> Field {
    let (x, y) = joint.at;
    let (left, right) = if joint.pushed { (14.0, 32.0) } else { (32.0, 14.0) };
    (x - left, y - GAUGE.1, x + right, y + 10.0)
}

/// The second transducer at a joint.
pub fn second_field(joint: Spot) -> Field {
    around((joint.0, joint.1 + 26.0), 12.0, 16.0)
}

/// Whether two fields have something in common.
pub fn overlaps(a: Field, b: Field) -> bool {
    a.0 < b.2 && b.0 < a.2 && a.1 < b.3 && b.1 < a.3
}

impl Layout {
    /// Where pipes run.
    pub fn pipe_fields(&self) -> impl Iterator<Item = Field> {
        self.pipes.iter().flat_map(|p| p.points.windows(2)).map(|w| {
            let (a, b) = (w[0], w[1]);
            (a.0.min(b.0) - PIPE, a.1.min(b.1) - PIPE, a.0.max(b.0) + PIPE, a.1.max(b.1) + PIPE)
        })
    }

    /// Everything that a tag of this joint must not lie on.
    pub fn taken(&self, joint: &PlacedJoint) -> Vec<Field> {
        let symbols =
            self.parts.iter().filter(|p| p.kind != "Tank" && p.kind != "Line").map(super::PlacedPart::symbol);
        // in a small drawing letters stay legible, and are larger than their field
        let labels = self.parts.iter().filter_map(super::PlacedPart::label_field);
        let labels = labels.map(|l| (l.0, l.1 - LETTERS, l.2, l.3 + LETTERS));
        let joints = self.joints.iter().map(|j| around(j.at, 8.0, 8.0));
        // the engine says in two lines below it how it runs
        let engines = self.parts.iter().filter(|p| p.kind == "Engine");
        let engines = engines.map(|p| (p.at.0 - 40.0, p.at.1 + 18.0, p.at.0 + 40.0, p.at.1 + 52.0));
        let gauge = (joint.at.0 - GAUGE.0 / 2.0, joint.at.1 - GAUGE.1, joint.at.0 + GAUGE.0 / 2.0, joint.at.1);
        symbols.chain(labels).chain(joints).chain(engines).chain(self.pipe_fields()).chain([gauge]).collect()
    }

    /// The first of some fields near a joint on which nothing lies; the first of all where each has something on it.
    pub fn free(&self, joint: &PlacedJoint, fields: &[Field]) -> Field {
        let taken = self.taken(joint);
        let inside = |f: &Field| f.0 >= 0.0 && f.1 >= 0.0 && f.2 <= self.size.0 && f.3 <= self.size.1;
        let free = |f: &&Field| inside(f) && taken.iter().all(|t| !overlaps(**f, *t));
        fields.iter().find(free).or(fields.first()).copied().unwrap_or_default()
    }

    /// Middle of a tag of this size: as near below the joint as nothing is in the way, sideways where that is nearer.
    /// Where there is no room at all, far below it. `kit`: fields of what was fitted to the vehicle.
    pub fn tag_at(&self, joint: &PlacedJoint, (wide, high): Spot, kit: &[Field]) -> Spot {
        let mut taken = self.taken(joint);
        taken.extend(kit);
        let fits = |at: Spot| {
            let field = around(at, wide / 2.0 + 1.0, high / 2.0 + 1.0);
            let inside = field.0 >= 0.0 && field.1 >= 0.0 && field.2 <= self.size.0 && field.3 <= self.size.1;
            inside && taken.iter().all(|t| !overlaps(field, *t))
        };
        let below = 58.0_f32.max(high / 2.0 + 12.0);
        let inside = |x: f32| x.clamp(wide / 2.0 + 1.0, (self.size.0 - wide / 2.0 - 1.0).max(wide / 2.0 + 1.0));
        let steps = (self.size.1 / STEP) as i32;
        let sideways = (wide / STEP) as i32;
        let rows = (0..steps).flat_map(|k| [below + k as f32 * STEP, below - k as f32 * STEP]);
        let mut best: Option<(f32, Spot)> = None;
        for dy in rows {
            if best.is_some_and(|(least, _)| (dy - below).abs() > least) {
                break;
            }
            for k in -sideways..=sideways {
                let dx = k as f32 * STEP;
                let at = (inside(joint.at.0 + dx), joint.at.1 + dy);
                // far up or down is worse than a little aside
                let cost = (dy - below).abs() * if dy > 0.0 { 1.0 } else { 1.6 } + 0.4 * (at.0 - joint.at.0).abs();
                if best.is_none_or(|(least, _)| cost < least) && fits(at) {
                    best = Some((cost, at));
                }
            }
        }
        best.map_or((inside(joint.at.0), joint.at.1 + below), |(_, at)| at)
    }
}
