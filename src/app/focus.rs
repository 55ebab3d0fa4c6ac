//! Where the keyboard was: when a field was left by Enter or Esc, Tab goes on from there and not from the head of the window.

use bevy_egui::egui::{Context, FocusDirection, Id, Key};

/// What had the ring last.
#[derive(Default)]
pub struct Resting {
    last: Option<Id>,
    /// It got the ring back in the frame before; who still has it then is no longer there.
    again: Option<Id>,
}

impl Resting {
    /// Before anything of a frame is drawn.
    pub fn frame(&mut self, ctx: &Context) {
        let (tab, back) = ctx.input(|i| (i.key_pressed(Key::Tab), i.modifiers.shift));
        match (ctx.memory(|m| m.focused()), self.again.take()) {
            (Some(id), Some(again)) if id == again && !tab => {
                self.last = None;
                ctx.memory_mut(|m| {
                    m.surrender_focus(id);
                    m.move_focus(if back { FocusDirection::Previous } else { FocusDirection::Next });
                });
            }
            (Some(id), _) => self.last = Some(id),
            (None, _) if tab => {
                if let Some(id) = self.last.take() {
                    ctx.memory_mut(|m| m.request_focus(id));
                    self.again = Some(id);
                    ctx.request_repaint();
                }
            }
            (None, _) => {}
        }
    }
}
