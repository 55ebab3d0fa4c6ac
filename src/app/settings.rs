//! What somebody sets once and finds again: units, size of text, paper or blueprint, motion, the clock.

use bevy_egui::egui::{self, Ui};
use serde::{Deserialize, Serialize};

use super::sound;
use super::theme::{heading, quiet, remark};
use super::widgets::{self, Rail, Weight};
use crate::language::{Language, said};
use crate::tell;
use crate::units::PressureUnit;

/// Which units the instrument shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// mbar.
    #[default]
    Eu,
    /// psi.
    Uk,
    /// inHg.
    Us,
    /// kPa.
    Si,
}

impl Units {
    /// Every profile, in menu order.
    pub const ALL: [Self; 4] = [Self::Eu, Self::Uk, Self::Us, Self::Si];

    /// Its name and what it shows.
    pub fn words(self) -> &'static str {
        match self {
            Self::Eu => said("settings-eu"),
            Self::Uk => said("settings-uk"),
            Self::Us => said("settings-us"),
            Self::Si => said("settings-si"),
        }
    }

    /// The unit of pressure.
    pub const fn pressure(self) -> PressureUnit {
        match self {
            Self::Eu => PressureUnit::Mbar,
            Self::Uk => PressureUnit::Psi,
            Self::Us => PressureUnit::InchMercury,
            Self::Si => PressureUnit::KiloPascal,
        }
    }
}

/// The settings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Units.
    pub units: Units,
    /// Size of text, in 100.
    pub text: u16,
    /// Blueprint instead of paper.
    pub dark: bool,
    /// Stronger colours.
    pub high_contrast: bool,
    /// Sounds are written down as they are heard.
    pub captions: bool,
    /// Only the pen moves.
    pub reduced_motion: bool,
    /// No clock is held against the learner: the expected minutes aren't shown.
    pub untimed: bool,
    /// Volume of sounds, in 100; of use with the feature `sound` only.
    pub volume: u8,
    /// No sound at all.
    pub mute: bool,
    /// What the program speaks.
    pub language: Language,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            units: Units::default(),
            text: 100,
            dark: false,
            high_contrast: false,
            captions: true,
            reduced_motion: false,
            untimed: false,
            volume: 60,
            mute: false,
            language: Language::default(),
        }
    }
}

/// Sizes of text that can be chosen, in 100.
pub const SIZES: [u16; 5] = [100, 125, 150, 175, 200];

impl Settings {
    /// From a file's text; what can't be read is as it was made.
    pub fn read(text: &str) -> Self {
        let mut settings: Self = serde_json::from_str(text).unwrap_or_default();
        settings.text = SIZES.into_iter().min_by_key(|s| s.abs_diff(settings.text)).unwrap_or(100);
        settings
    }

    /// For a file.
    pub fn text(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default()
    }
}

/// Volume and mute, in a build that can be heard; `trouble` says why it isn't.
fn sound_ui(settings: &mut Settings, trouble: Option<&str>, ui: &mut Ui) {
    ui.label(quiet(ui, tell!("settings-volume", volume = settings.volume)));
    let mut volume = f64::from(settings.volume);
    let rail = Rail {
        name: said("settings-volume-name"),
        low: 0.0,
        high: 100.0,
        step: 5.0,
        before: None,
        width: ui.available_width(),
    };
    widgets::rail(ui, &mut volume, &rail);
    settings.volume = volume as u8;
    ui.checkbox(&mut settings.mute, said("settings-mute"));
    if let Some(why) = trouble {
        ui.label(remark(ui, why));
    }
}

/// Draws the settings; gives whether the sheet is to be closed. `no_sound` says why nothing is heard.
pub fn settings_ui(settings: &mut Settings, no_sound: Option<&str>, ui: &mut Ui) -> bool {
    let (closed, away) = widgets::over_all(ui, "settings", 460.0, |ui| {
        let width = ui.available_width();
        // what closes the sheet is at hand however long it is
        let keep = ui.horizontal(|ui| {
            ui.label(heading(said("settings-title")));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                widgets::button(ui, Weight::Primary, said("settings-keep"), said("settings-keep-name"), true, "")
                    .clicked()
            })
            .inner
        });
        ui.label(quiet(ui, said("settings-language")));
        let now = Language::ALL.iter().position(|l| *l == settings.language);
        let names = Language::ALL.map(Language::own_name);
        if let Some(i) = widgets::choice(ui, width, said("settings-language"), &names, now) {
            settings.language = Language::ALL[i];
        }
        ui.label(quiet(ui, said("settings-units")));
        let now = Units::ALL.iter().position(|u| *u == settings.units);
        if let Some(i) = widgets::choice(ui, width, said("settings-units-name"), &Units::ALL.map(Units::words), now)
        {
            settings.units = Units::ALL[i];
        }
        ui.label(remark(ui, said("settings-sign")));
        ui.label(quiet(ui, said("settings-size")));
        let now = SIZES.iter().position(|s| *s == settings.text);
        if let Some(i) = widgets::choice(
            ui,
            width,
            said("settings-size-name"),
            &["100 %", "125 %", "150 %", "175 %", "200 %"],
            now,
        ) {
            settings.text = SIZES[i];
        }
        ui.label(quiet(ui, said("paper")));
        let now = Some(usize::from(settings.dark));
        if let Some(i) =
            widgets::choice(ui, width, said("paper"), &[said("settings-paper"), said("settings-blueprint")], now)
        {
            settings.dark = i == 1;
        }
        ui.horizontal_wrapped(|ui| {
            ui.checkbox(&mut settings.high_contrast, said("settings-contrast"));
            ui.checkbox(&mut settings.captions, said("settings-captions"));
            ui.checkbox(&mut settings.reduced_motion, said("settings-still"));
            ui.checkbox(&mut settings.untimed, said("settings-untimed"));
        });
        if sound::IS_HEARD {
            sound_ui(settings, no_sound, ui);
        }
        keep.inner
    });
    closed || away
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_come_back_as_they_were_kept() {
        let kept = Settings {
            units: Units::Us,
            text: 175,
            dark: true,
            high_contrast: true,
            captions: false,
            reduced_motion: true,
            untimed: true,
            volume: 35,
            mute: true,
            language: Language::German,
        };
        assert_eq!(Settings::read(&kept.text()), kept);
    }

    #[test]
    fn what_cant_be_read_is_as_it_was_made() {
        assert_eq!(Settings::read("not json"), Settings::default());
        assert_eq!(Settings::read("{\"text\": 9000}").text, 200);
        assert_eq!(Settings::read("{\"units\": \"si\"}").units, Units::Si);
    }
}
