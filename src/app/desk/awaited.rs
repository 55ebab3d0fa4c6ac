//! What takes longer than a moment and is asked of the shelf: a sitting that is done again, pages that are written. It is
//! done beside the window, which shows how far it is and lets it be left.

use core::time::Duration;

use bevy_egui::egui::Ui;

use super::{Desk, Sitting};
use crate::app::messages::Kind;
use crate::app::session::Coming;
use crate::app::state::Tab;
use crate::app::task::Task;
use crate::app::theme::{heading, quiet};
use crate::app::widgets::{self, Weight};
use crate::language::said;
use crate::tell;

/// What is there by then came at once: nothing is shown of its being awaited.
const AT_ONCE: Duration = Duration::from_millis(150);

/// What is awaited.
pub(super) enum Awaited {
    /// A sitting that goes on; with a branch, from a moment of another.
    Sitting { task: Task<Coming>, branched: bool },
    /// A file that is written, the debrief or a table, and the words for that.
    Written { task: Task<String>, words: &'static str },
}

impl Awaited {
    fn words(&self) -> &'static str {
        match self {
            Self::Sitting { .. } => said("awaited-sitting"),
            Self::Written { words, .. } => words,
        }
    }

    fn share(&self) -> f32 {
        match self {
            Self::Sitting { task, .. } => task.share(),
            Self::Written { task, .. } => task.share(),
        }
    }
}

impl Desk {
    /// Awaits it; what comes at once is there when this returns.
    pub(super) fn wait_for(&mut self, what: Result<Awaited, String>) {
        match what {
            Ok(awaited) => {
                self.awaited = Some(awaited);
                self.look_for_awaited(AT_ONCE);
            }
            Err(why) => self.say_refused(why),
        }
    }

    /// Something is awaited that wasn't there at once.
    pub fn is_waiting(&self) -> bool {
        self.awaited.is_some()
    }

    /// Stays until what is awaited is there: for a script, which nobody watches.
    pub fn wait_it_out(&mut self) {
        while self.is_waiting() {
            self.look_for_awaited(AT_ONCE);
        }
    }

    /// Takes what is awaited when it comes within a while.
    pub(super) fn look_for_awaited(&mut self, long: Duration) {
        match &self.awaited {
            None => {}
            Some(Awaited::Sitting { task, branched }) => {
                let (Some(answer), branched) = (task.within(long), *branched) else { return };
                self.awaited = None;
                match answer {
                    Ok(session) => self.go_on_in(session, branched),
                    Err(why) => self.say_refused(why),
                }
            }
            Some(Awaited::Written { task, .. }) => {
                let Some(answer) = task.within(long) else { return };
                self.awaited = None;
                match (answer, &mut self.sitting) {
                    (Ok(words), Some(Sitting { session, state })) => {
                        state.messages.push(session.now(), Kind::Said, words);
                    }
                    (Ok(_), None) => {}
                    (Err(why), _) => self.say_refused(why),
                }
            }
        }
    }

    fn go_on_in(&mut self, session: Coming, branched: bool) {
        self.sit(Ok(session));
        if branched && let Some(Sitting { session, state }) = &mut self.sitting {
            state.messages.push(session.now(), Kind::Said, said("desk-branched"));
            state.tab = Tab::Sheet;
        }
    }

    /// On the quiet line of a sitting, or on the shelf.
    fn say_refused(&mut self, why: String) {
        match &mut self.sitting {
            Some(Sitting { session, state }) => state.messages.push(session.now(), Kind::Refused, why),
            None => self.trouble = Some(why),
        }
    }

    /// How far it is, over everything else, and a way to leave it.
    pub(super) fn awaited_ui(&mut self, ui: &Ui) {
        let Some(awaited) = &self.awaited else { return };
        let (words, share) = (awaited.words(), awaited.share());
        let (left, away) = widgets::over_all(ui, "awaited", 420.0, |ui| {
            ui.label(heading(words));
            let aloud = tell!("awaited-share", share = format!("{:.0}", share * 100.0));
            widgets::progress(ui, share, &aloud);
            ui.label(quiet(ui, aloud));
            widgets::button(ui, Weight::Plain, said("awaited-leave"), said("awaited-leave-name"), true, "")
                .clicked()
        });
        if left || away {
            // dropping it stops it
            self.awaited = None;
        }
    }
}
