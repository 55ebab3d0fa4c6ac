//! The card of looks: every word of the note with its picture, so that two people mean the same.

use bevy_egui::egui::layers::ShapeIdx;
use bevy_egui::egui::{self, Align2, Rect, Sense, Shape, Ui, WidgetInfo, WidgetType, pos2, vec2};

use super::{GlassState, Picture, drawn};
use crate::app::stage::{self, Drawing, Slot, Tube};
use crate::app::theme::{heading, quiet, regular, semibold, tokens};
use crate::app::widgets::{self, Weight};
use crate::instrument::sight::{InTube, look};
use crate::language::Msg;
use crate::language::said;
use crate::msg;

/// A look on the card: its word, what is in the tube, and what to look for.
pub struct Shown {
    /// The word to write.
    pub word: Msg,
    /// What is drawn.
    pub tube: InTube,
    /// How to tell it.
    pub tell: Msg,
}

const CLEAR: InTube =
    InTube { gas: 0.0, from_outside: 0.0, vapour: 0.0, wax: 0.0, water: 0.0, speed_m_s: 0.12, colour: "amber" };

/// Every word, from clear to empty, and what floats in fuel.
pub const SHOWN: [Shown; 12] = [
    Shown { word: msg!("look-clear"), tube: CLEAR, tell: msg!("look-clear-tell") },
    Shown { word: msg!("look-pin-heads"), tube: InTube { gas: 0.004, ..CLEAR }, tell: msg!("look-pin-heads-tell") },
    Shown { word: msg!("look-mist"), tube: InTube { gas: 0.012, ..CLEAR }, tell: msg!("look-mist-tell") },
    Shown { word: msg!("look-bubbles"), tube: InTube { gas: 0.03, ..CLEAR }, tell: msg!("look-bubbles-fine-tell") },
    Shown {
        word: msg!("look-bubbles"),
        tube: InTube { gas: 0.04, from_outside: 0.9, ..CLEAR },
        tell: msg!("look-bubbles-uneven-tell"),
    },
    Shown {
        word: msg!("look-bubbles"),
        tube: InTube { gas: 0.04, vapour: 0.9, ..CLEAR },
        tell: msg!("look-bubbles-boiling-tell"),
    },
    Shown {
        word: msg!("look-foam"),
        tube: InTube { gas: 0.2, from_outside: 0.9, ..CLEAR },
        tell: msg!("look-foam-tell"),
    },
    Shown {
        word: msg!("look-slugs"),
        tube: InTube { gas: 0.55, from_outside: 0.9, ..CLEAR },
        tell: msg!("look-slugs-tell"),
    },
    Shown {
        word: msg!("look-falling"),
        tube: InTube { gas: 0.5, from_outside: 0.9, speed_m_s: -0.02, ..CLEAR },
        tell: msg!("look-falling-tell"),
    },
    Shown { word: msg!("look-haze"), tube: InTube { wax: 0.1, ..CLEAR }, tell: msg!("look-haze-tell") },
    Shown { word: msg!("look-flakes"), tube: InTube { wax: 0.6, ..CLEAR }, tell: msg!("look-flakes-tell") },
    Shown { word: msg!("look-beads"), tube: InTube { water: 0.02, ..CLEAR }, tell: msg!("look-beads-tell") },
];

impl Shown {
    /// As a picture of this kind of fuel.
    pub fn picture(&self, petrol: bool) -> Picture {
        Picture { sight: look(self.tube), gas: self.tube.gas as f32, speed_m_s: self.tube.speed_m_s, petrol }
    }
}

/// Draws the card; gives whether it is to be closed.
pub fn card_ui(petrol: bool, state: &GlassState, reduced_motion: bool, ui: &mut Ui) -> bool {
    let mut close = false;
    let modal = egui::Modal::new(egui::Id::new("glass card")).show(ui.ctx(), |ui| {
        ui.set_width(900.0);
        ui.label(heading(said("look-title")));
        ui.label(quiet(ui, said("look-rule")));
        let still = GlassState { age_s: 0.32, ..GlassState::default() };
        let state = if reduced_motion { &still } else { state };
        let under = ui.painter().add(Shape::Noop);
        let mut tubes = vec![];
        for row in SHOWN.chunks(6) {
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 0.0;
                for shown in row {
                    tubes.push(look_ui(shown, petrol, ui));
                }
            });
        }
        tubes_ui(tubes, state, under, ui);
        if widgets::button(ui, Weight::Plain, said("close-button"), said("look-close"), true, "").clicked() {
            close = true;
        }
    });
    close || modal.should_close()
}

/// Draws all tubes under what was written beside them.
fn tubes_ui(tubes: Vec<(Rect, Picture)>, state: &GlassState, under: ShapeIdx, ui: &Ui) {
    let t = tokens(ui);
    let field = tubes.iter().fold(Rect::NOTHING, |all, (rect, _)| all.union(super::with_caps(*rect, ui)));
    let tube = |(rect, picture): &(Rect, Picture)| Tube {
        rect: rect.translate(-field.min.to_vec2()),
        picture: Some(*picture),
        state: *state,
        tokens: t,
    };
    let drawing = Drawing::Tubes(tubes.iter().map(tube).collect());
    match stage::picture(ui.ctx(), Slot::Card, field, t.sheet, drawing) {
        Ok(shape) => {
            ui.painter().set(under, shape);
            for (rect, picture) in &tubes {
                drawn::falling(ui.painter(), *rect, picture, t);
            }
        }
        Err(_) => {
            for (rect, picture) in &tubes {
                drawn::tube(ui.painter(), *rect, Some(picture), state, t);
            }
        }
    }
}

/// Writes a look's words; gives where its tube belongs.
fn look_ui(shown: &Shown, petrol: bool, ui: &mut Ui) -> (Rect, Picture) {
    let t = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(150.0, 236.0), Sense::hover());
    response
        .widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, format!("{}: {}", shown.word, shown.tell)));
    let painter = ui.painter();
    let picture = shown.picture(petrol);
    let tube = Rect::from_min_max(
        pos2(rect.center().x - 27.0, rect.top() + 18.0),
        pos2(rect.center().x + 27.0, rect.bottom() - 56.0),
    );
    drawn::motion(painter, pos2(tube.right() + 18.0, tube.center().y), &picture, t);
    painter.text(
        pos2(rect.center().x, rect.bottom() - 32.0),
        Align2::CENTER_CENTER,
        shown.word,
        semibold(13.5),
        t.ink,
    );
    let galley = painter.layout(shown.tell.said().to_owned(), regular(12.0), t.second_ink, rect.width() - 6.0);
    painter.galley(pos2(rect.center().x - galley.size().x / 2.0, rect.bottom() - 23.0), galley, t.second_ink);
    (tube, picture)
}
