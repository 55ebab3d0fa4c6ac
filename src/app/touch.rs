//! The slip that opens when something in the drawing is touched: everything that can be done there, by mouse or
//! key. What stands on it comes from [`crate::bay::words::offer`], which fills the table of words; a row that
//! can't be done now says why.

use bevy_egui::egui::{self, Align, Key, Layout, Rect, RichText, ScrollArea, Ui, vec2};

use super::bridge::Intent;
use super::theme::{heading, italic, quiet, regular, semibold, tokens};
use super::widgets;
use crate::bay::action::{Action, Probe};
use crate::bay::observation::Observation;
use crate::bay::words::Group;
use crate::bay::words::offer::{Offer, Spot, offers};
use crate::language::{named, said};
use crate::scenario::model::Job;
use crate::tell;

/// The open slip.
#[derive(Clone, Debug, PartialEq)]
pub struct TouchState {
    /// What it is about.
    pub spot: Spot,
    /// It has just been opened: the first row wants the focus.
    pub fresh: bool,
}

/// What the slip shows.
pub struct TouchView {
    /// What it is about, as people call it.
    pub title: String,
    /// What was seen when it was looked at.
    pub seen: String,
    /// What can be done, in the order of the work.
    pub offers: Vec<Offer>,
}

impl TouchView {
    /// For a spot of the drawing.
    pub fn of(job: &Job, seen: &Observation, spot: &Spot, looked: Option<&String>) -> Self {
        let title = match spot {
            Spot::Part(name) => named(job.plant.part(name).map_or(name.as_str(), |p| &p.label)).to_owned(),
            Spot::Joint(name) => {
                let label = job.joints.iter().find(|(n, _)| n == name).map_or(name.as_str(), |(_, l)| l.as_str());
                tell!("joint-named", label = label)
            }
            Spot::Vehicle => said("touch-vehicle").to_owned(),
        };
        Self { title, seen: looked.cloned().unwrap_or_default(), offers: offers(job, seen, spot) }
    }
}

/// Draws the slip over `rect`.
pub fn touch_ui(view: &TouchView, state: &mut TouchState, rect: Rect, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    widgets::sheet(ui, rect);
    ui.painter().hline(rect.x_range().shrink(4.0), rect.top() + 1.0, egui::Stroke::new(2.0, t.accent));
    if ui.input(|i| i.key_pressed(Key::Escape)) {
        intents.push(Intent::Untouch);
    }
    let inner = rect.shrink2(vec2(12.0, 6.0));
    ui.scope_builder(egui::UiBuilder::new().max_rect(inner).id_salt("slip"), |ui| {
        ui.allocate_ui_with_layout(vec2(inner.width(), 32.0), Layout::right_to_left(Align::Center), |ui| {
            if widgets::small_button(ui, said("close"), said("touch-close"), true, "").clicked() {
                intents.push(Intent::Untouch);
            }
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                ui.add(egui::Label::new(heading(&view.title)).truncate());
                let what = said("touch-what");
                let wide = widgets::widest(ui, [what], &regular(13.0));
                if view.seen.is_empty() && ui.available_width() > wide + 12.0 {
                    ui.label(quiet(ui, what));
                }
            });
        });
        let shown = ScrollArea::vertical().id_salt("rows").auto_shrink([false, false]).show(ui, |ui| {
            if view.seen.is_empty() {
                // the ring of what has the focus has room
                ui.add_space(4.0);
            } else {
                ui.label(RichText::new(&view.seen).font(italic(13.0)).color(t.accent));
            }
            rows_ui(view, state, ui, intents);
        });
        widgets::edges(&shown, ui);
    });
}

fn rows_ui(view: &TouchView, state: &mut TouchState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    const GAP: f32 = 6.0;
    const SIDE: f32 = 58.0;
    let room = ui.available_width() - SIDE - GAP;
    ui.spacing_mut().item_spacing = vec2(GAP, 3.0);
    let mut begin = 0;
    // each group of the table begins a line of its own
    while begin < view.offers.len() {
        let this = beginning(&view.offers[begin]);
        let end = (view.offers[begin..].iter().position(|o| beginning(o) != this))
            .map_or(view.offers.len(), |n| begin + n);
        let group = &view.offers[begin..end];
        // as many side by side as the longest of them lets
        let longest = widgets::widest(ui, group.iter().map(|o| o.text.as_str()), &regular(13.5));
        let columns = (((room + GAP) / (longest.max(150.0) + 22.0 + GAP)).floor() as usize).clamp(1, 4);
        let width = (room - GAP * (columns as f32 - 1.0)) / columns as f32;
        for (row, offers) in group.chunks(columns).enumerate() {
            ui.horizontal(|ui| {
                let (side, _) = ui.allocate_exact_size(vec2(SIDE, 32.0), egui::Sense::hover());
                if row == 0 {
                    let (font, ink) = (semibold(12.0), tokens(ui).second_ink);
                    ui.painter().text(side.left_center(), egui::Align2::LEFT_CENTER, this, font, ink);
                }
                for offer in offers {
                    let shown = widgets::row_button(ui, width, &offer.text, "", offer.why.is_empty(), &offer.why);
                    if offer.why.is_empty() && std::mem::take(&mut state.fresh) {
                        shown.request_focus();
                    }
                    if shown.clicked() {
                        intents.push(Intent::Offered(offer.action.clone()));
                    }
                }
            });
        }
        begin = end;
    }
}

/// What stands before a line: its group, or what is read where two places alone don't say it.
fn beginning(offer: &Offer) -> &'static str {
    match offer.action {
        Action::Measure { probe: Probe::Volts { .. } } => said("touch-volts"),
        _ => short(offer.group),
    }
}

/// A group in a word.
fn short(group: Group) -> &'static str {
    match group {
        Group::Safe => said("touch-safety"),
        Group::Ask => said("touch-look"),
        Group::Tee => said("tee"),
        Group::Engine => said("engine"),
        Group::Isolate => said("touch-test"),
        Group::Time => said("touch-time"),
        Group::PutRight => said("touch-put-right"),
        Group::Sheet | Group::Conclude | Group::Show => "paper",
    }
}

/// After this the slip stays: what was seen is read there.
pub const fn stays_open(action: &Action) -> bool {
    matches!(action, Action::Look { .. })
}
