//! One quiet line: what the colleague says, what was refused, which rule was broken. With a history.

use std::sync::Arc;

use bevy_egui::egui::{self, Align, Layout, Rect, ScrollArea, Ui};

use super::bridge::Intent;
use super::theme::{self, quiet, regular, tokens};
use super::tokens::Tokens;
use super::widgets::{self, Mark};
use super::words::clock;
use crate::bay::action::{Micros, SECOND};
use crate::bay::observation::{Answer, Breach, BreachClass, EngineRun};
use crate::language::said;

/// What kind of message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Something happened; a colleague says so.
    Said,
    /// Not done, and why.
    Refused,
    /// A rule was broken.
    Breach,
    /// A rule was broken that people die of.
    Critical,
    /// A caution that began to apply.
    Caution,
}

impl Kind {
    /// The word before the message.
    pub fn word(self) -> &'static str {
        match self {
            Self::Said => "",
            Self::Refused => said("message-refused"),
            Self::Breach => said("message-breach"),
            Self::Critical => said("message-critical"),
            Self::Caution => said("message-caution"),
        }
    }
}

/// A message.
#[derive(Clone, Debug, PartialEq)]
pub struct Message {
    /// When.
    pub at: Micros,
    /// Kind.
    pub kind: Kind,
    /// The word before it, in the language of the words: they stay as they were said.
    pub before: &'static str,
    /// Words.
    pub words: String,
}

/// All messages of a sitting.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Messages {
    /// Oldest first.
    pub all: Vec<Message>,
    /// The history is open.
    pub open: bool,
    /// Cautions stand in the drawing, too, and it is in sight.
    pub in_drawing: bool,
    cautioned: Vec<&'static str>,
}

/// How long an answer stays on the line when a caution comes after it, simulated time.
const FRESH: Micros = 15 * SECOND;

impl Messages {
    /// Adds one.
    pub fn push(&mut self, at: Micros, kind: Kind, words: impl Into<String>) {
        self.all.push(Message { at, kind, before: kind.word(), words: words.into() });
    }

    /// Adds what came of something that was asked of the bay: what a colleague says, or why it wasn't done.
    pub fn answer(&mut self, at: Micros, answer: &Answer) {
        match answer {
            Answer::Refused { because } => self.push(at, Kind::Refused, because),
            Answer::Done { says, .. } if !says.is_empty() => self.push(at, Kind::Said, says),
            Answer::Done { .. } => {}
        }
    }

    /// Adds a rule that was broken.
    pub fn breach(&mut self, at: Micros, breach: &Breach) {
        let kind = if breach.class == BreachClass::Critical { Kind::Critical } else { Kind::Breach };
        self.push(at, kind, &breach.words);
    }

    /// Adds what the engine did by itself; what a hand did with it is told where it did so.
    pub fn engine(&mut self, at: Micros, was: EngineRun, is: EngineRun) {
        use EngineRun::{Cranking, Off, Stalled, Steady, Uneven};
        let words = match (was, is) {
            (Cranking, Steady | Uneven) => said("engine-started"),
            (Cranking, Off) => said("engine-not-started"),
            (Cranking | Steady | Uneven, Stalled) => said("engine-died"),
            _ => return,
        };
        self.push(at, Kind::Said, words);
    }

    /// What stands on the line: what was said last. The one caution with which a sitting begins is in the drawing already.
    fn on_line(&self) -> Option<&Message> {
        match self.all.as_slice() {
            [only] if self.in_drawing && only.kind == Kind::Caution => None,
            all => all.last(),
        }
    }

    /// Adds each caution the first time that it applies.
    pub fn caution_once(&mut self, at: Micros, cautions: &[&'static str]) {
        for &words in cautions {
            if !self.cautioned.contains(&words) {
                self.cautioned.push(words);
                // an answer that was just given stays the one on the line: what a hand felt isn't pushed away by what
                // stands in the drawing as well
                let place = match self.all.last() {
                    Some(last) if at.saturating_sub(last.at) <= FRESH && last.kind != Kind::Caution => {
                        self.all.len() - 1
                    }
                    _ => self.all.len(),
                };
                let (kind, words) = (Kind::Caution, words.to_owned());
                self.all.insert(place, Message { at, kind, before: kind.word(), words });
            }
        }
    }
}

fn kind_mark(kind: Kind) -> Option<Mark> {
    match kind {
        Kind::Said => None,
        Kind::Refused => Some(Mark::Stop),
        Kind::Breach | Kind::Caution => Some(Mark::Caution),
        Kind::Critical => Some(Mark::Cross),
    }
}

/// What is written: the word of its kind and the words.
fn text_of(message: &Message) -> String {
    match message.before {
        "" => message.words.clone(),
        word => format!("{word} {}", message.words),
    }
}

fn colour_of(kind: Kind, t: &Tokens) -> egui::Color32 {
    match kind {
        Kind::Said | Kind::Refused => t.ink,
        Kind::Breach | Kind::Caution => t.caution,
        Kind::Critical => t.critical,
    }
}

fn message_ui(message: &Message, size: f32, ui: &mut Ui) {
    if let Some(mark) = kind_mark(message.kind) {
        widgets::mark_ui(mark, ui);
    }
    let colour = colour_of(message.kind, tokens(ui));
    ui.label(egui::RichText::new(text_of(message)).font(regular(size)).color(colour));
}

/// Least height of the line: two rows have room, so that the desk stays where it is, points.
const LINE: f32 = 38.0;
/// What stands beside the words of the line: clock and sign; buttons at its right, with and without that of the hands.
const BESIDE: f32 = 96.0;
const BUTTONS: [f32; 2] = [78.0, 164.0];
/// Letters of the line, and of one that needs more than a row.
const LETTERS: [f32; 2] = [13.5, 12.5];

/// The words of the line as they are laid out, and whether in the smaller letters.
fn laid_out(messages: &Messages, width: f32, drawer: bool, ui: &Ui) -> Option<Arc<egui::Galley>> {
    let last = messages.on_line()?;
    let room = (width - BESIDE - BUTTONS[usize::from(drawer)]).max(120.0);
    let lay = |size: f32| ui.painter().layout(text_of(last), regular(size), colour_of(last.kind, tokens(ui)), room);
    let large = lay(LETTERS[0]);
    Some(if large.rows.len() > 1 { lay(LETTERS[1]) } else { large })
}

/// Height of the line for what was said last: nothing of it is cut off, points.
pub fn line_height(messages: &Messages, width: f32, drawer: bool, ui: &Ui) -> f32 {
    laid_out(messages, width, drawer, ui).map_or(LINE, |galley| (galley.size().y + 6.0).clamp(LINE, 120.0))
}

/// The line under the chart. `drawer` tells whether there are hands to be taken out, and whether they are.
pub fn message_line_ui(messages: &mut Messages, drawer: Option<bool>, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let rect = ui.available_rect_before_wrap();
    ui.scope_builder(egui::UiBuilder::new().max_rect(rect).layout(Layout::right_to_left(Align::Center)), |ui| {
        let label = if messages.open { said("close") } else { said("message-history") };
        let hands = drawer.map(|out| if out { said("chart-dividers-away") } else { said("message-hands") });
        let wide = widgets::small_buttons_width(ui, hands.into_iter().chain([label]));
        widgets::at_right(ui, wide, |ui| {
            let any = !messages.all.is_empty();
            if widgets::small_button(ui, label, said("message-history-name"), any, "").clicked() {
                messages.open = !messages.open;
            }
            let asked = hands.map(|text| widgets::small_button(ui, text, said("message-hands-name"), true, ""));
            if asked.is_some_and(|hands| hands.clicked()) {
                intents.push(Intent::Hands);
            }
        });
        ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
            let Some(message) = messages.on_line() else {
                // for whoever sits here for the first time
                let hint = if messages.in_drawing { said("scene-touch") } else { said("message-none") };
                ui.label(quiet(ui, hint));
                return;
            };
            ui.label(quiet(ui, clock(message.at)).font(theme::figures(12.0)));
            if let Some(mark) = kind_mark(message.kind) {
                widgets::mark_ui(mark, ui);
            }
            if let Some(galley) = laid_out(messages, rect.width(), drawer.is_some(), ui) {
                ui.add(egui::Label::new(galley));
            }
        });
    });
}

/// The history, over the chart.
pub fn history_ui(messages: &Messages, rect: Rect, ui: &mut Ui) {
    widgets::sheet(ui, rect);
    ui.scope_builder(egui::UiBuilder::new().max_rect(rect.shrink(12.0)), |ui| {
        ui.label(theme::heading(said("message-said")));
        ScrollArea::vertical().auto_shrink(false).stick_to_bottom(true).show(ui, |ui| {
            for message in &messages.all {
                ui.horizontal_wrapped(|ui| {
                    ui.label(quiet(ui, clock(message.at)).font(theme::figures(12.0)));
                    message_ui(message, 13.5, ui);
                });
            }
        });
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_caution_is_said_once() {
        let mut messages = Messages::default();
        messages.caution_once(1, &["Fans may start by themselves."]);
        messages.caution_once(2, &["Fans may start by themselves."]);
        assert_eq!(messages.all.len(), 1);
    }

    #[test]
    fn what_was_said_keeps_the_word_before_it_in_its_language() {
        use crate::language::{Language, within};
        let mut messages = Messages::default();
        within(Language::German, || messages.caution_once(1, &["Unter Druck."]));
        assert_eq!(text_of(&messages.all[0]), "Vorsicht: Unter Druck.");
    }

    #[test]
    fn the_first_caution_leaves_the_line_to_a_hint_where_it_stands_in_the_drawing() {
        let mut messages = Messages { in_drawing: true, ..Messages::default() };
        messages.caution_once(0, &["Never feel for leaks."]);
        assert_eq!(messages.on_line(), None);
        // a second one has perhaps no room there
        messages.caution_once(0, &["Vapour burns."]);
        assert_eq!(messages.on_line().unwrap().words, "Vapour burns.");
        let mut elsewhere = Messages::default();
        elsewhere.caution_once(0, &["Never feel for leaks."]);
        assert!(elsewhere.on_line().is_some());
    }

    #[test]
    fn an_answer_stays_on_the_line_when_a_caution_comes_with_it() {
        let mut messages = Messages::default();
        messages.push(5, Kind::Said, "It runs.");
        messages.caution_once(5, &["Keep clear."]);
        assert_eq!(messages.all.last().unwrap().words, "It runs.");
        messages.caution_once(5 + 10 * SECOND, &["Under pressure."]);
        assert_eq!(messages.all.last().unwrap().words, "It runs.");
        messages.caution_once(5 + 20 * SECOND, &["Hot."]);
        assert_eq!(messages.all.last().unwrap().words, "Hot.");
    }
}
