//! After the finding: what is left to do until the vehicle is handed back, as a list that ticks itself off.

use bevy_egui::egui::{RichText, Ui, WidgetInfo, WidgetType};

use super::bridge::Intent;
use super::state::Tab;
use super::theme::{heading, regular, tokens};
use super::widgets::{self, Mark, Weight};
use crate::bay::action::{Action, Micros};
use crate::bay::observation::{Observation, SheetLine};
use crate::language::said;
use crate::tell;

/// What was done since the finding.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SinceFinding {
    /// When it was submitted, µs.
    pub at: Option<Micros>,
    /// A part was changed, cleaned or sealed.
    pub repaired: bool,
    /// The supply was bled.
    pub bled: bool,
    /// Joints were checked for leaks, and nothing was opened since.
    pub checked: bool,
}

impl SinceFinding {
    /// An action that was done at a time.
    pub fn done(&mut self, action: &Action, at: Micros) {
        match action {
            Action::Submit { .. } => *self = Self { at: Some(at), ..Self::default() },
            Action::Repair { .. } => (self.repaired, self.checked) = (true, false),
            Action::Bleed => (self.bled, self.checked) = (true, false),
            Action::FitTee { .. } | Action::RemoveTee { .. } | Action::Container { .. } => self.checked = false,
            Action::LeakCheck => self.checked = true,
            _ => {}
        }
    }

    /// Each step with whether it is done, in the order of the work.
    fn steps(&self, lines: &[SheetLine], seen: &Observation) -> [(&'static str, bool); 5] {
        let again = lines.iter().any(|line| line.state.is_some() && self.at.is_some_and(|at| line.at > at));
        [
            (said("left-repair"), self.repaired),
            (said("left-bleed"), self.bled),
            (said("left-again"), again),
            (said("left-tee"), seen.tee.is_none() && seen.container.is_none()),
            (said("left-leaks"), self.checked),
        ]
    }
}

/// Draws the list.
pub fn left_ui(
    since: &SinceFinding,
    lines: &[SheetLine],
    seen: &Observation,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    let t = tokens(ui);
    ui.add_space(12.0);
    ui.label(heading(said("left-title")));
    for (words, done) in since.steps(lines, seen) {
        ui.horizontal(|ui| {
            let (rect, _) = ui.allocate_exact_size([18.0, 22.0].into(), bevy_egui::egui::Sense::hover());
            if done {
                widgets::mark(ui.painter(), rect.center(), Mark::Tick, t);
            } else {
                ui.painter().circle_stroke(rect.center(), 5.0, bevy_egui::egui::Stroke::new(1.3, t.ink));
            }
            let ink = if done { t.second_ink } else { t.ink };
            let words_of = RichText::new(words).font(regular(14.0)).color(ink);
            let label = ui.add(bevy_egui::egui::Label::new(words_of).wrap());
            let aloud = if done { tell!("left-done", step = words) } else { tell!("left-to-do", step = words) };
            label.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, &aloud));
        });
    }
    ui.add_space(6.0);
    if widgets::button(ui, Weight::Primary, said("finding-to-workshop"), "", true, "").clicked() {
        intents.push(Intent::Turn(Tab::Workshop));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::action::{Finding, Remedy};

    #[test]
    fn whoever_opens_the_line_again_checks_it_again() {
        let mut since = SinceFinding::default();
        since.done(&Action::Repair { part: "filter".into(), remedy: Remedy::Replace }, 5);
        since.done(&Action::LeakCheck, 6);
        assert!(since.repaired && since.checked);
        since.done(&Action::RemoveTee { new_seals: true }, 7);
        assert!(since.repaired && !since.checked);
        // what was done before the finding proves nothing of it
        let finding = Finding {
            candidate: "plugged-filter".into(),
            confidence: 90,
            evidence: vec![],
            ruled_out: vec![],
            words: String::new(),
        };
        since.done(&Action::Submit { finding }, 8);
        assert_eq!(since, SinceFinding { at: Some(8), ..SinceFinding::default() });
    }
}
