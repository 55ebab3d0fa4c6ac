//! Keys of the whole window. Every control can also be reached with Tab; these are shortcuts.

use bevy_egui::egui::{self, Event, Key, Modifiers, Ui, vec2};

use super::bridge::Intent;
use super::plan::View;
use super::state::Tab;
use super::theme::{bold_figures, heading};
use super::widgets::{self, Weight};
use crate::bay::words::offer::Spot;
use crate::language::{Msg, said};
use crate::msg;

/// Width of the column of keys, points.
const KEY_COLUMN: f32 = 132.0;

/// A shortcut: key, what is written on the list.
pub const LIST: &[(Msg, Msg)] = &[
    (msg!("keys-tab-key"), msg!("keys-tab")),
    (msg!("keys-enter-key"), msg!("keys-enter")),
    (msg!("keys-arrows-key"), msg!("keys-arrows")),
    (Msg::new("K"), msg!("keys-key")),
    (Msg::new("S"), msg!("keys-starter")),
    (Msg::new("+  \u{2212}"), msg!("keys-speed")),
    (Msg::new("V"), msg!("keys-valve")),
    (Msg::new("C"), msg!("filler-cap")),
    (Msg::new("P"), msg!("keys-primer")),
    (Msg::new("R"), msg!("keys-reading")),
    (Msg::new("D"), msg!("keys-dividers")),
    (Msg::new("F"), msg!("keys-follow")),
    (msg!("keys-space-key"), msg!("keys-space")),
    (Msg::new("1 … 5"), msg!("keys-tabs")),
    (Msg::new("6  7  H"), msg!("keys-large")),
    (msg!("keys-debrief-key"), msg!("keys-debrief")),
    (Msg::new("O"), msg!("keys-vehicle")),
    (Msg::new("W"), msg!("keys-twin")),
    (Msg::new("G"), msg!("keys-glass")),
    (msg!("keys-esc-key"), msg!("keys-esc")),
    (Msg::new("F2"), msg!("keys-shelf")),
    (msg!("keys-zoom-key"), msg!("keys-zoom")),
    (Msg::new("F9"), msg!("keys-teach")),
    (Msg::new("F11"), msg!("keys-projector")),
    (Msg::new("B"), msg!("keys-theme")),
    (Msg::new("F1"), msg!("keys-list")),
];

/// What a key asks for.
fn intent_of(key: Key, over: bool) -> Option<Intent> {
    let tabs = Tab::shown(over);
    Some(match key {
        Key::K => Intent::TurnKey,
        Key::S => Intent::Start,
        Key::Plus | Key::Equals => Intent::SpeedBy(100.0),
        Key::Minus => Intent::SpeedBy(-100.0),
        Key::V => Intent::SwingValve,
        Key::C => Intent::TurnCap,
        Key::P => Intent::Prime,
        Key::R => Intent::WriteReading,
        Key::D => Intent::Dividers,
        Key::F => Intent::Follow,
        Key::O => Intent::Touch(Spot::Vehicle),
        Key::W => Intent::Twin,
        Key::G => Intent::GlassCard,
        Key::L if over => Intent::OtherPicture,
        Key::N if over => Intent::NextTelling,
        Key::H => Intent::Hands,
        Key::PageUp => Intent::SceneZoom(1.4),
        Key::PageDown => Intent::SceneZoom(1.0 / 1.4),
        Key::Home => Intent::SceneFit,
        Key::B => Intent::Theme,
        Key::F1 => Intent::Keys,
        Key::F2 => Intent::ToShelf,
        Key::Escape => Intent::Away,
        Key::F9 if !over => Intent::Class,
        Key::F11 => Intent::Projector,
        Key::Num1 => Intent::Turn(tabs[0]),
        Key::Num2 => Intent::Turn(tabs[1]),
        Key::Num3 => Intent::Turn(tabs[2]),
        Key::Num4 => Intent::Turn(tabs[3]),
        Key::Num5 => Intent::Turn(tabs[4]),
        Key::Num6 => Intent::See(View::Place),
        Key::Num7 => Intent::See(View::Chart),
        _ => return None,
    })
}

/// Turns key presses into intents, unless somebody is typing. Under a sheet that lies over all only what closes it is heard
/// (`heard`): nobody works a vehicle that he doesn't see.
pub fn shortcuts(ui: &Ui, over: bool, heard: Option<&[Intent]>, intents: &mut Vec<Intent>) {
    let ctx = ui.ctx();
    // a list that is open takes the keys, too
    if ctx.text_edit_focused() || egui::Popup::is_any_open(ctx) {
        return;
    }
    if let Some(heard) = heard {
        let pressed = |key: &Key| ctx.input(|i| i.modifiers.is_none() && i.key_pressed(*key));
        let own = Key::ALL.iter().filter(|key| pressed(key)).filter_map(|key| intent_of(*key, over));
        intents.extend(own.filter(|intent| heard.contains(intent)));
        return;
    }
    // where a page begins nothing can be pressed
    let nothing_focused = ctx.memory(|m| m.focused().is_none_or(|id| id == widgets::page_start()));
    ctx.input(|i| {
        for event in &i.events {
            if let Event::Key { key, pressed: true, repeat, modifiers, .. } = event {
                let plain = *modifiers == Modifiers::NONE || *modifiers == Modifiers::SHIFT;
                if !plain {
                    continue;
                }
                match key {
                    Key::Space if nothing_focused && !repeat => intents.push(Intent::PauseOrGo),
                    Key::ArrowLeft | Key::ArrowRight if over && nothing_focused => {
                        let steps = if modifiers.shift { 10 } else { 1 };
                        intents.push(Intent::Scrub(if *key == Key::ArrowRight { steps } else { -steps }));
                    }
                    key => {
                        // holding a key only repeats what is a matter of more or less
                        let again = matches!(key, Key::Plus | Key::Equals | Key::Minus);
                        if !repeat || again {
                            let intent = intent_of(*key, over);
                            // whoever turns a page by a key goes on in it
                            let into = matches!(intent, Some(Intent::Turn(_))).then_some(Intent::IntoPage);
                            intents.extend(intent.into_iter().chain(into));
                        }
                    }
                }
            }
        }
    });
}

/// Width from which the list has two columns, points.
const TWO_COLUMNS: f32 = 900.0;

/// The list of keys.
pub fn keys_ui(reduced_motion: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let wide = ui.ctx().content_rect().width() >= TWO_COLUMNS + 56.0;
    let (closed, away) = widgets::over_all(ui, "keys", if wide { TWO_COLUMNS } else { 560.0 }, |ui| {
        ui.label(heading(said("keys-title")));
        ui.add_space(4.0);
        if wide {
            let half = LIST.len().div_ceil(2);
            ui.columns(2, |columns| {
                for (column, part) in columns.iter_mut().zip([&LIST[..half], &LIST[half..]]) {
                    rows_ui(part, column);
                }
            });
        } else {
            rows_ui(LIST, ui);
        }
        ui.add_space(4.0);
        let mut still = reduced_motion;
        if ui.checkbox(&mut still, said("settings-still")).changed() {
            intents.push(Intent::Motion);
        }
        widgets::button(ui, Weight::Plain, said("close-button"), said("keys-close"), true, "").clicked()
    });
    if closed || away {
        intents.push(Intent::Keys);
    }
}

/// Keys and what they do, one under the other; the words of a narrow window go on under themselves, not under the key.
fn rows_ui(list: &[(Msg, Msg)], ui: &mut Ui) {
    for (key, words) in list {
        ui.horizontal_top(|ui| {
            let room = vec2(KEY_COLUMN, 18.0);
            ui.allocate_ui_with_layout(room, egui::Layout::left_to_right(egui::Align::Min), |ui| {
                ui.set_min_width(KEY_COLUMN);
                ui.label(egui::RichText::new(key.said()).font(bold_figures(13.0)));
            });
            ui.vertical(|ui| ui.label(words.said()));
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_number_turns_to_its_tab() {
        for over in [false, true] {
            for (key, tab) in
                [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num5].into_iter().zip(Tab::shown(over))
            {
                assert_eq!(intent_of(key, over), Some(Intent::Turn(*tab)));
            }
        }
        assert_eq!(intent_of(Key::Q, false), None);
    }
}
