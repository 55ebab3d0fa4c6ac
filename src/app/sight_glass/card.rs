//! The card of looks: every word of the note with its picture, so that two people mean the same.

use std::sync::Arc;

use bevy_egui::egui::layers::ShapeIdx;
use bevy_egui::egui::text::LayoutJob;
use bevy_egui::egui::{Align, Align2, Galley, Rect, Sense, Shape, Ui, Vec2, WidgetInfo, WidgetType, pos2, vec2};

use super::{GlassState, Picture, Tint, drawn};
use crate::app::stage::{self, Drawing, Slot, Tube};
use crate::app::theme::{heading, quiet, regular, semibold, tokens};
use crate::app::widgets::{self, Weight};
use crate::instrument::sight::{InTube, Solid, look};
use crate::language::Msg;
use crate::language::{named, said};
use crate::msg;
use crate::tell;

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
    /// How to tell it, and the sheet's word for it where that is another one.
    fn words(&self) -> String {
        let seen = look(self.tube);
        let word = named(seen.gas.glass_word());
        match self.tell.said() {
            // the sheet's word is for gas: what floats in fuel is another matter
            tell if word == self.word.said() || seen.solid != Solid::None || seen.beads => tell.to_owned(),
            tell => format!("{tell}\n{}", tell!("look-one-word", word = word)),
        }
    }

    /// As a picture of this kind of fuel.
    pub fn picture(&self, tint: Tint) -> Picture {
        Picture { sight: look(self.tube), gas: self.tube.gas as f32, speed_m_s: self.tube.speed_m_s, tint }
    }
}

/// Width of the card where there is room, and the least of a look, points.
const WIDE: f32 = 900.0;
/// See [`WIDE`].
const LOOK: f32 = 128.0;
/// Heights of a tube with its caps, points: as low as it may get in a low window, and as high as it is elsewhere.
const TUBE: (f32, f32) = (104.0, 186.0);
/// Letters of a look's words.
const LETTERS: f32 = 12.0;

/// Draws the card; gives whether it is to be closed.
pub fn card_ui(tint: Tint, state: &GlassState, reduced_motion: bool, ui: &mut Ui) -> bool {
    let window = ui.ctx().content_rect();
    let (close, away) = widgets::over_all(ui, "glass card", WIDE, |ui| {
        ui.label(heading(said("look-title")));
        ui.label(quiet(ui, said("look-rule")));
        ui.add_space(6.0);
        let still = GlassState { age_s: 0.32, ..GlassState::default() };
        let state = if reduced_motion { &still } else { state };
        let under = ui.painter().add(Shape::Noop);
        let mut tubes = vec![];
        let columns = widgets::columns(ui.available_width(), SHOWN.len(), LOOK, 0.0, 0.0).min(6);
        let wide = ui.available_width() / columns as f32;
        let rows = SHOWN.len().div_ceil(columns) as f32;
        // in a low window tubes are shorter before anything has to be scrolled
        let high = ((window.height() - 166.0) / rows - 74.0).clamp(TUBE.0, TUBE.1);
        for row in SHOWN.chunks(columns) {
            let tells = row.iter().map(|shown| tell_of(shown, wide, ui)).collect::<Vec<_>>();
            let words = tells.iter().map(|galley| galley.size().y).fold(0.0, f32::max);
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 0.0;
                for (shown, tell) in row.iter().zip(tells) {
                    tubes.push(look_ui(shown, tint, (vec2(wide, high + 24.0 + words), high), tell, ui));
                }
            });
            ui.add_space(6.0);
        }
        tubes_ui(tubes, state, under, ui);
        widgets::button(ui, Weight::Plain, said("close-button"), said("look-close"), true, "").clicked()
    });
    close || away
}

/// How to tell a look, laid out in the middle of its column.
fn tell_of(shown: &Shown, wide: f32, ui: &Ui) -> Arc<Galley> {
    let mut job = LayoutJob::simple(shown.words(), regular(LETTERS), tokens(ui).second_ink, wide - 10.0);
    job.halign = Align::Center;
    ui.painter().layout_job(job)
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

/// Writes a look's words into a field of this size, under a tube of this height; gives where the tube belongs.
fn look_ui(
    shown: &Shown,
    tint: Tint,
    (size, high): (Vec2, f32),
    tell: Arc<Galley>,
    ui: &mut Ui,
) -> (Rect, Picture) {
    let t = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response
        .widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, format!("{}: {}", shown.word, shown.words())));
    let painter = ui.painter();
    let picture = shown.picture(tint);
    let top = rect.top() + 11.0;
    let tube =
        Rect::from_min_max(pos2(rect.center().x - 27.0, top), pos2(rect.center().x + 27.0, top + high - 22.0));
    drawn::motion(painter, pos2(tube.right() + 18.0, tube.center().y), &picture, t);
    let word = pos2(rect.center().x, rect.top() + high + 11.0);
    painter.text(word, Align2::CENTER_CENTER, shown.word, semibold(13.5), t.ink);
    painter.galley(word + vec2(0.0, 9.0), tell, t.second_ink);
    (tube, picture)
}
