//! The editor on the desk: turned to from the shelf, left for the shelf or for a sitting, kept when the window closes.

use bevy_egui::egui::Ui;

use super::Desk;
use crate::app::editor::files::{Author, Left};
use crate::app::editor::start::{self, Begin, StartState};
use crate::app::editor::{Editor, Leave, Order, layout};
use crate::authoring::draft::{Draft, Page, file_name};
use crate::scenario::Kind;

/// The editor: its first page, or a file.
pub enum Writing {
    /// What to begin with.
    Start(StartState),
    /// A file.
    Job(Box<Editor>),
}

/// A draft that was left. Undoing it gives what stands in the file, when it has one.
fn recovered(left: &Left, author: &dyn Author) -> Draft {
    let kind = left.kind().unwrap_or(Kind::Job);
    match author.open(kind, &left.name).filter(|draft| draft.name() == left.name) {
        Some(mut draft) => {
            draft.write(Page::File, &left.job);
            draft.settle();
            if let Some(scheme) = &left.scheme {
                draft.write(Page::Scheme, scheme);
                draft.settle();
            }
            draft
        }
        None => Draft::of_kind(kind, &left.name, &left.job, left.scheme.as_deref(), false),
    }
}

impl Drop for Desk {
    /// A window that is closed loses nothing.
    fn drop(&mut self) {
        if let (Some(Writing::Job(editor)), Some(author)) = (&mut self.writing, self.shelf.author()) {
            editor.keep(author);
        }
    }
}

impl Desk {
    /// The editor computes something or is about to.
    pub fn is_writing(&self) -> bool {
        matches!(&self.writing, Some(Writing::Job(editor)) if editor.is_busy())
    }

    /// Turns to the editor's first page.
    pub fn write(&mut self) {
        if let Some(author) = self.shelf.author() {
            self.writing = Some(Writing::Start(StartState::read(author, Kind::Job)));
        }
    }

    /// Begins to write; drafts that were left are known by their number.
    pub fn begin(&mut self, begin: Begin) {
        let (Some(author), Some(writing)) = (self.shelf.author(), &mut self.writing) else { return };
        let Writing::Start(state) = writing else { return };
        let draft = match begin {
            Begin::Blank(title) => Some(Draft::blank_of(state.kind, &file_name(&title), &title)),
            Begin::From(name) => match state.left.iter().find(|l| l.name == name && l.kind() == Some(state.kind)) {
                // what was left of it unsaved comes first
                Some(left) => Some(recovered(left, author)),
                None => author.open(state.kind, &name),
            },
            Begin::Recover(i) => state.left.get(i).map(|left| recovered(left, author)),
            Begin::ThrowAway(i) => {
                if let Some(left) = state.left.get(i) {
                    let _ = author.forget(left.kind().unwrap_or(Kind::Job), &left.name);
                }
                let kind = state.kind;
                *state = StartState { title: std::mem::take(&mut state.title), ..StartState::read(author, kind) };
                None
            }
            Begin::Back => {
                self.writing = None;
                self.shelf.look_again();
                return;
            }
        };
        if let Some(draft) = draft {
            *writing = Writing::Job(Box::new(Editor::open(draft, author)));
        }
    }

    /// Carries out what is asked of the editor.
    pub fn write_on(&mut self, orders: Vec<Order>) {
        let (Some(author), Some(Writing::Job(editor))) = (self.shelf.author(), &mut self.writing) else { return };
        match editor.carry_out(orders, author) {
            None => {}
            Some(Leave::Shelf) => {
                self.writing = None;
                self.shelf.look_again();
                self.begun = None;
            }
            Some(Leave::Sit(name)) => {
                self.shelf.look_again();
                let session = self.shelf.open_named(&name);
                self.sit(session);
                if let (Some(why), Some(Writing::Job(editor))) = (self.trouble.take(), &mut self.writing) {
                    editor.note = (why, true);
                }
            }
        }
    }

    pub(super) fn writing_ui(&mut self, ui: &mut Ui) {
        let Some(author) = self.shelf.author() else { return };
        match &mut self.writing {
            None => {}
            Some(Writing::Start(state)) => {
                let begin = start::start_ui(state, author, ui);
                if let Some(begin) = begin {
                    self.begin(begin);
                }
            }
            Some(Writing::Job(editor)) => {
                let orders = layout::editor_ui(editor, author.library(), ui);
                self.write_on(orders);
            }
        }
    }
}
