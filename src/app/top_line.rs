//! The top line: which job, how late, how dear.

use bevy_egui::egui::{self, Align, Layout, RichText, Sense, Ui, WidgetInfo, WidgetType, vec2};

use super::bridge::Intent;
use super::symbols;
use super::theme::{bold_figures, figures, quiet, regular, semibold, tokens};
use super::widgets;
use super::words::{clock, number};
use crate::bay::action::Micros;
use crate::bay::observation::Observation;
use crate::language::{Msg, named, said};
use crate::msg;
use crate::scenario::model::{Job, Mode};
use crate::tell;

/// What the line says.
#[derive(Clone, Debug, PartialEq)]
pub struct TopLine {
    /// Title.
    pub title: String,
    /// Customer, surroundings, vehicle as far as there is room for it; all of it stands on the job card.
    pub about: String,
    /// Simulated clock.
    pub clock: String,
    /// About how long.
    pub of: String,
    /// Credits.
    pub credits: String,
    /// Mode.
    pub mode: &'static str,
    /// Where the way out leads.
    pub out: Out,
}

/// Where whoever leaves what is shown comes to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Out {
    /// To the shelf; the sitting is kept.
    #[default]
    Shelf,
    /// To the editor: an author sits the job that is being written.
    Editor,
    /// To the whole desk: a class looks on.
    Desk,
}

impl Out {
    /// What stands on the button, in full, and what it asks for.
    fn button(self) -> (Msg, Msg, Intent) {
        match self {
            Self::Shelf => (msg!("top-shelf"), msg!("top-shelf-name"), Intent::ToShelf),
            Self::Editor => (msg!("top-to-editor"), msg!("top-to-editor-name"), Intent::ToShelf),
            Self::Desk => (msg!("top-leave-class"), msg!("top-leave-class-name"), Intent::Projector),
        }
    }
}

impl TopLine {
    /// From job and observation.
    pub fn of(job: &Job, seen: &Observation, now: Micros, untimed: bool) -> Self {
        Self {
            title: named(&job.title).to_owned(),
            about: {
                let celsius = number(job.plant.temperature.celsius(), 0);
                let metres = number(job.plant.altitude.si(), 0);
                // at sea level the height tells nothing
                let day = match metres.as_str() {
                    "0" => tell!("top-fuel", celsius = celsius),
                    _ => tell!("top-fuel-high", celsius = celsius, metres = metres),
                };
                let vehicle = named(&job.plant.title).split(", ").take(2).collect::<Vec<_>>().join(", ");
                format!("{} · {day} · {vehicle}", named(&job.customer))
            },
            clock: clock(now),
            of: if untimed {
                String::new()
            } else {
                tell!("top-of-minutes", minutes = format!("{:.0}", job.minutes))
            },
            credits: tell!("top-credits", credits = number(seen.credits, 0)),
            mode: match job.mode {
                Mode::Practice => said("mode-practice"),
                Mode::Assessment => said("mode-assessment"),
            },
            out: Out::default(),
        }
    }
}

/// Room for the button that opens the others as a list, and for the switch of paper, points.
const AS_LIST: f32 = 72.0;
const SWITCH: f32 = 32.0;
const APART: f32 = 10.0;

/// Which of the less important pieces have room beside title, clock and credits, in the order of their importance.
/// `pieces` are their widths. Nothing is cut: a piece is there or isn't.
fn pieces_that_fit(mut room: f32, pieces: &[f32]) -> usize {
    pieces
        .iter()
        .take_while(|wide| {
            room -= **wide + APART;
            room >= 0.0
        })
        .count()
}

/// Draws it into what is left of `ui`. Where there is less room the buttons become a list and what stands on the job
/// card anyway is left out, piece by piece.
pub fn top_line_ui(line: &TopLine, dark: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let rect = ui.available_rect_before_wrap().shrink2(vec2(14.0, 0.0));
    let wide = |words: &str, font: egui::FontId| widgets::widest(ui, [words], &font);
    let about: Vec<&str> = line.about.split(" · ").collect();
    let (title, clock) = (wide(&line.title, semibold(16.5)), wide(&line.clock, bold_figures(15.5)));
    let credits = wide(&line.credits, figures(13.5));
    // the way out of what isn't the desk itself is always in sight
    let out = line.out.button();
    let padding = 2.0 * ui.spacing().button_padding.x + APART;
    let out_wide = if line.out == Out::Shelf { 0.0 } else { wide(out.0.said(), regular(12.5)) + padding };
    let mut pieces = vec![wide(&line.of, regular(12.5)), wide(line.mode, regular(13.0))];
    pieces.extend(about.iter().map(|w| wide(w, regular(13.0)) + 10.0));
    let left = rect.width() - title - clock - credits - 4.0 * APART - out_wide;
    let in_a_row =
        buttons(line).map(|(text, ..)| wide(text.said(), regular(12.5)) + padding).sum::<f32>() + SWITCH + APART;
    let as_list = left < in_a_row + pieces[0] + pieces[1] + 2.0 * APART;
    let shown = pieces_that_fit(left - if as_list { AS_LIST } else { in_a_row }, &pieces);
    ui.scope_builder(egui::UiBuilder::new().max_rect(rect).layout(Layout::right_to_left(Align::Center)), |ui| {
        ui.spacing_mut().item_spacing.x = APART;
        if as_list {
            ui.menu_button(RichText::new(said("hands-more")).font(regular(12.5)), |ui| {
                list_ui(line, dark, ui, intents)
            });
        } else {
            widgets::at_right(ui, in_a_row - APART, |ui| buttons_ui(line, dark, ui, intents));
        }
        if line.out != Out::Shelf && widgets::small_button(ui, out.0.said(), out.1.said(), true, "").clicked() {
            intents.push(out.2);
        }
        if shown > 1 {
            ui.label(quiet(ui, line.mode).size(13.0));
        }
        ui.label(RichText::new(&line.credits).font(figures(13.5)));
        if shown > 0 {
            ui.label(quiet(ui, &line.of));
        }
        let clock = ui.label(RichText::new(&line.clock).font(bold_figures(15.5)));
        clock.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, tell!("top-clock", clock = line.clock)));
        ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
            // a title that is wider than all there is goes on in a second row
            let size = if title > ui.available_width() { 13.0 } else { 16.5 };
            ui.add(egui::Label::new(RichText::new(&line.title).font(semibold(size))).wrap());
            if shown > 2 {
                ui.label(quiet(ui, about[..shown - 2].join(" · ")).size(13.0));
            }
        });
    });
}

/// What the buttons at the right ask for: on the button, in full, what happens.
const BUTTON_LIST: [(Msg, Msg, Intent); 5] = [
    (msg!("settings"), msg!("settings-title"), Intent::Settings),
    (msg!("top-words"), msg!("top-words-name"), Intent::Twin),
    (msg!("top-teach"), msg!("top-teach-name"), Intent::Class),
    (msg!("top-class"), msg!("top-class-name"), Intent::Projector),
    (msg!("top-keys"), msg!("keys-list-name"), Intent::Keys),
];

/// The way to the shelf first. Nobody is taught in an assessment, and what leads out is no switch beside it.
fn buttons(line: &TopLine) -> impl Iterator<Item = (Msg, Msg, Intent)> {
    let practice = line.mode == said("mode-practice");
    let out = line.out;
    let asked = move |intent: &Intent| match intent {
        Intent::Class => practice,
        Intent::Projector => out != Out::Desk,
        _ => true,
    };
    let shelf = (out == Out::Shelf).then(|| out.button());
    shelf.into_iter().chain(BUTTON_LIST.into_iter().filter(move |(_, _, intent)| asked(intent)))
}

/// Side by side, each reached by the keyboard in the order in which it is seen.
fn buttons_ui(line: &TopLine, dark: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ui.spacing_mut().item_spacing.x = APART;
    for (text, name, intent) in buttons(line) {
        if widgets::quiet_button(ui, text.said(), name.said(), true, "").clicked() {
            intents.push(intent);
        }
    }
    theme_switch(dark, ui, intents);
}

/// The same as a list with full names.
fn list_ui(line: &TopLine, dark: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ui.set_min_width(260.0);
    let theme = if dark { msg!("top-paper") } else { msg!("top-blueprint") };
    for (name, intent) in buttons(line).map(|(_, name, intent)| (name, intent)).chain([(theme, Intent::Theme)]) {
        if widgets::row_button(ui, ui.available_width(), name.said(), "", true, "").clicked() {
            intents.push(intent);
            ui.close();
        }
    }
}

fn theme_switch(dark: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(32.0, 32.0), Sense::click());
    let name = if dark { said("top-paper") } else { said("top-blueprint") };
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, name));
    widgets::cell_background(ui, &response, rect, false);
    symbols::half_page(ui.painter(), rect.center(), t.ink, t.sheet);
    widgets::focus_ring(ui, &response, rect.shrink(1.0));
    if response.on_hover_text(name).clicked() {
        intents.push(Intent::Theme);
    }
}
