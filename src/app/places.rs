//! Where everything that has a name stands in the window, written to a file for a program that has hands but no eyes: a check that
//! works a whole job with the pointer, and one with the keys. What is written is the tree that screen readers get, no more.

use std::fmt::Write as _;
use std::path::PathBuf;

use bevy::prelude::*;
use bevy_egui::EguiOutput;
use bevy_egui::egui::accesskit::{Node, TreeUpdate};

/// The file, and what was written to it last.
#[derive(Resource)]
pub(super) struct Places {
    file: PathBuf,
    last: String,
}

impl Places {
    /// To be written to a file.
    pub(super) fn to(file: PathBuf) -> Self {
        Self { file, last: String::new() }
    }
}

/// Writes the places down whenever they have changed. The file is put in place whole: who reads it never sees half of it.
pub(super) fn write_places(mut places: ResMut<Places>, outputs: Query<&EguiOutput>) {
    for output in &outputs {
        let Some(update) = &output.platform_output.accesskit_update else { continue };
        let now = lines(update, output.pixels_per_point);
        if now == places.last {
            continue;
        }
        let beside = places.file.with_extension("new");
        let written = std::fs::write(&beside, &now).and_then(|()| std::fs::rename(&beside, &places.file));
        match written {
            Ok(()) => places.last = now,
            Err(why) => error!("{}: {why}", places.file.display()),
        }
    }
}

/// One line for each: left, top, width and height in pixels, `on` or `off`, `focus` or `-`, what it is, its name.
fn lines(update: &TreeUpdate, per_point: f32) -> String {
    let mut all = String::new();
    for (id, node) in &update.nodes {
        let (Some(bounds), Some(name)) = (node.bounds(), name(node)) else { continue };
        let [x, y, right, low] = [bounds.x0, bounds.y0, bounds.x1, bounds.y1].map(|v| v * f64::from(per_point));
        let state = if node.is_disabled() { "off" } else { "on" };
        let focus = if *id == update.focus { "focus" } else { "-" };
        let _ = writeln!(
            all,
            "{x:.0} {y:.0} {:.0} {:.0} {state} {focus} {:?} {}",
            right - x,
            low - y,
            node.role(),
            name.replace('\n', " ")
        );
    }
    all
}

/// What it is called, or else what stands in it.
fn name(node: &Node) -> Option<&str> {
    node.label().or_else(|| node.value()).filter(|name| !name.trim().is_empty())
}

#[cfg(test)]
mod tests {
    use bevy_egui::egui::accesskit::{NodeId, Rect, Role, Tree, TreeId};

    use super::*;

    #[test]
    fn a_line_says_where_a_thing_stands_whether_it_can_be_used_and_what_it_is() {
        let mut button = Node::new(Role::Button);
        button.set_bounds(Rect { x0: 10.0, y0: 20.0, x1: 50.0, y1: 36.0 });
        button.set_label("Purge the tee");
        button.set_disabled();
        let update = TreeUpdate {
            nodes: vec![(NodeId(1), Node::new(Role::Window)), (NodeId(2), button)],
            tree: Some(Tree::new(NodeId(1))),
            tree_id: TreeId::ROOT,
            focus: NodeId(2),
        };
        assert_eq!(lines(&update, 2.0), "20 40 80 32 off focus Button Purge the tee\n");
    }
}
