//! The page for whoever teaches, on the desk: drawn over everything else, and filled once what was shown is there.

use bevy_egui::egui::Ui;

use crate::app::bridge::Intent;
use crate::app::class::{self, Revealed};
use crate::app::opened::Shown;
use crate::app::session::{Revealing, Session};
use crate::app::state::PanelState;

/// What an instructor has shown, once it is there.
pub(super) fn poll_revealed(session: &mut dyn Session, state: &mut PanelState) {
    if !state.class.wants || !session.instructed().revealed {
        return;
    }
    match session.reveal() {
        Revealing::Working(share) => {
            state.class.share = share;
            return;
        }
        Revealing::Failed(why) => state.class.trouble = Some(why),
        Revealing::Done(words, opened) => {
            let at = opened.moments.last().map_or(0, |m| m.at);
            state.class.revealed = Some(Revealed { words, shown: Shown::of(*opened, None), at });
            state.class.trouble = None;
        }
    }
    state.class.wants = false;
}

/// The page for whoever teaches, over everything else.
pub(super) fn teaching_ui(session: &dyn Session, state: &mut PanelState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    if state.class.open && !session.is_over() {
        let when = (state.pace, session.now());
        class::class_ui(&mut state.class, session.job(), session.instructed(), when, ui, intents);
    }
}
