//! Everything that can be pressed has a name that a screen reader can say.

use bevy_egui::egui::accesskit::Role;
use egui_kittest::Node;
use egui_kittest::kittest::NodeT;

use crate::bench::Bench;

pub fn nameless(node: Node<'_>, path: &mut Vec<String>) {
    let inner = node.accesskit_node();
    let pressable = matches!(
        inner.role(),
        Role::Button
            | Role::RadioButton
            | Role::CheckBox
            | Role::Slider
            | Role::TextInput
            | Role::MultilineTextInput
            | Role::ComboBox
    );
    let named = inner.label().is_some_and(|l| !l.trim().is_empty());
    if pressable && !named && !inner.is_hidden() {
        path.push(format!("{:?} at {:?}", inner.role(), node.rect()));
    }
    for child in node.children() {
        nameless(child, path);
    }
}

#[test]
fn every_control_of_every_tab_has_a_name() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    for tab in ["Job card", "Test sheet", "Candidates", "Workshop", "Finding"] {
        bench.turn(tab);
        let mut found = Vec::new();
        nameless(bench.harness.root(), &mut found);
        assert!(found.is_empty(), "{tab}: {found:#?}");
    }
}

#[test]
fn the_glass_the_chart_and_the_lever_have_a_text_twin() {
    let bench = Bench::at("Runs out of puff on the bypass");
    for words in
        ["Sight glass: no tee fitted", "Strip chart: no pressure on the part shown", "Valve at the tee (not now"]
    {
        assert!(bench.shows(words), "{words}");
    }
}
