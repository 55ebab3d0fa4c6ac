//! The first page of the editor: a blank page, a job that there is, or what was left unsaved.

use bevy_egui::egui::{self, RichText, ScrollArea, Ui};

use super::files::{Author, Left};
use crate::app::theme::{heading, quiet, semibold, tokens};
use crate::app::widgets::{self, Weight};
use crate::authoring::draft::{file_name, name_trouble};

/// What is typed on the page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StartState {
    /// Title of a new job.
    pub title: String,
    /// What was left unsaved, as read when the page was opened.
    pub left: Vec<Left>,
    /// Jobs that there are: name and title.
    pub jobs: Vec<(String, String)>,
}

/// What was asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Begin {
    /// A blank page with this title.
    Blank(String),
    /// The job with this name, or a copy of it.
    From(String),
    /// A draft that was left, by its number.
    Recover(usize),
    /// It is thrown away.
    ThrowAway(usize),
    /// Back to the shelf.
    Back,
}

impl StartState {
    /// Reads what there is.
    pub fn read(author: &dyn Author) -> Self {
        Self { title: String::new(), left: author.left(), jobs: author.jobs() }
    }
}

/// Draws the page.
pub fn start_ui(state: &mut StartState, author: &dyn Author, ui: &mut Ui) -> Option<Begin> {
    let t = tokens(ui);
    let whole = ui.max_rect();
    ui.painter().rect_filled(whole, 0, t.ground);
    let width = whole.width().min(900.0) - 32.0;
    let column = egui::Rect::from_center_size(whole.center(), egui::vec2(width, whole.height() - 16.0));
    let mut begin = None;
    ui.scope_builder(egui::UiBuilder::new().max_rect(column), |ui| {
        ScrollArea::vertical().id_salt("start").auto_shrink([false, false]).show(ui, |ui| {
            ui.horizontal(|ui| {
                ui.label(RichText::new("Write a job").font(semibold(22.0)));
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                    if widgets::button(ui, Weight::Plain, "Back to the shelf", "Back to the shelf", true, "")
                        .clicked()
                    {
                        begin = Some(Begin::Back);
                    }
                });
            });
            ui.label(quiet(ui, format!("Jobs are text files. Yours are written to {}.", author.folder())));
            left_ui(state, &mut begin, ui);
            blank_ui(state, author, &mut begin, ui);
            ui.add_space(10.0);
            ui.label(heading("From a job that there is"));
            ui.label(quiet(
                ui,
                "One of your own is opened; of any other you get a copy. Both show what is hidden in it.",
            ));
            for (name, title) in &state.jobs {
                let (verb, own) = if author.is_own(name) { ("Open", "own") } else { ("Copy", "built in") };
                let words = format!("{title}  ·  {own}");
                let said = format!("{verb} the job: {title}");
                let width = ui.available_width() - 8.0;
                if widgets::row_button(ui, width, &words, &said, true, "").clicked() {
                    begin = Some(Begin::From(name.clone()));
                }
            }
        });
    });
    begin
}

fn left_ui(state: &StartState, begin: &mut Option<Begin>, ui: &mut Ui) {
    if state.left.is_empty() {
        return;
    }
    ui.add_space(10.0);
    ui.label(heading("Left unsaved"));
    for (i, left) in state.left.iter().enumerate() {
        ui.horizontal(|ui| {
            let said = format!("Go on with the draft: {}", left.name);
            if widgets::button(ui, Weight::Primary, "Go on", &said, true, "").clicked() {
                *begin = Some(Begin::Recover(i));
            }
            let said = format!("Throw the draft away: {}", left.name);
            if widgets::button(ui, Weight::Plain, "Throw away", &said, true, "").clicked() {
                *begin = Some(Begin::ThrowAway(i));
            }
            ui.label(&left.name);
        });
    }
}

fn blank_ui(state: &mut StartState, author: &dyn Author, begin: &mut Option<Begin>, ui: &mut Ui) {
    ui.add_space(10.0);
    ui.label(heading("From a blank page"));
    let width = ui.available_width() - 160.0;
    let name = file_name(&state.title);
    let why = if state.title.trim().is_empty() {
        "give it a title first".to_owned()
    } else if author.is_taken(&name) {
        "there is a job of that name: take another title".to_owned()
    } else if state.left.iter().any(|l| l.name == name) {
        "a draft of that name was left: go on with it, or throw it away".to_owned()
    } else {
        name_trouble(&name).unwrap_or_default()
    };
    ui.horizontal(|ui| {
        ui.vertical(|ui| {
            widgets::text_field(
                ui,
                &mut state.title,
                "title of the new job",
                "Coughs, then it's all right again",
                width,
            );
        });
        ui.vertical(|ui| {
            ui.add_space(22.0);
            if widgets::button(ui, Weight::Primary, "Begin", "Begin with a blank page", why.is_empty(), &why)
                .clicked()
            {
                *begin = Some(Begin::Blank(state.title.trim().to_owned()));
            }
        });
    });
    let words = if why.is_empty() { format!("Its file: {name}.ron") } else { format!("Not yet: {why}.") };
    ui.label(quiet(ui, words));
}
