//! The first page of the editor: what is to be written (a job, a vehicle, a mark scheme, a course), and from what: a blank
//! page, a file that there is, or what was left unsaved.

use bevy_egui::egui::{self, RichText, ScrollArea, Ui};

use super::files::{Author, Left};
use crate::app::theme::{heading, quiet, semibold, tokens};
use crate::app::widgets::{self, Weight};
use crate::authoring::draft::{file_name, name_trouble};
use crate::scenario::Kind;

/// What is typed on the page.
#[derive(Clone, Debug, PartialEq)]
pub struct StartState {
    /// What is to be written.
    pub kind: Kind,
    /// Title of a new one.
    pub title: String,
    /// What was left unsaved, as read when the page was opened.
    pub left: Vec<Left>,
    /// Files of the kind that there are: name and title.
    pub files: Vec<(String, String)>,
}

/// Kinds in the order of the page, and what each is called there.
const KINDS: [(Kind, &str); 4] =
    [(Kind::Job, "job"), (Kind::Plant, "vehicle"), (Kind::Rubric, "mark scheme"), (Kind::Course, "course")];

/// What a kind is called on the page.
pub fn kind_word(kind: Kind) -> &'static str {
    KINDS.iter().find(|k| k.0 == kind).map_or("file", |k| k.1)
}

/// What was asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Begin {
    /// A blank page with this title.
    Blank(String),
    /// The file of the kind with this name, or a copy of it.
    From(String),
    /// A draft that was left, by its number.
    Recover(usize),
    /// It is thrown away.
    ThrowAway(usize),
    /// Back to the shelf.
    Back,
}

impl StartState {
    /// Reads what there is of a kind.
    pub fn read(author: &dyn Author, kind: Kind) -> Self {
        Self { kind, title: String::new(), left: author.left(), files: author.files(kind) }
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
                ui.label(RichText::new(format!("Write a {}", kind_word(state.kind))).font(semibold(22.0)));
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                    if widgets::button(ui, Weight::Plain, "Back to the shelf", "Back to the shelf", true, "")
                        .clicked()
                    {
                        begin = Some(Begin::Back);
                    }
                });
            });
            ui.label(quiet(
                ui,
                format!("Everything here is a text file. Yours are written to {}.", author.folder()),
            ));
            let labels: Vec<&str> = KINDS.iter().map(|k| k.1).collect();
            let now = KINDS.iter().position(|k| k.0 == state.kind);
            let width = ui.available_width();
            if let Some(i) = widgets::choice(ui, width, "what is written", &labels, now) {
                *state =
                    StartState { title: std::mem::take(&mut state.title), ..StartState::read(author, KINDS[i].0) };
            }
            left_ui(state, &mut begin, ui);
            blank_ui(state, author, &mut begin, ui);
            ui.add_space(10.0);
            let word = kind_word(state.kind);
            ui.label(heading(format!("From a {word} that there is")));
            ui.label(quiet(
                ui,
                if state.kind == Kind::Job {
                    "One of your own is opened; of any other you get a copy. Both show what is hidden in it."
                } else {
                    "One of your own is opened; of any other you get a copy."
                },
            ));
            for (name, title) in &state.files {
                let is_own = author.is_own(state.kind, name);
                let (verb, own) = if is_own { ("Open", "own") } else { ("Copy", "built in") };
                let words = format!("{title}  ·  {own}");
                let said = format!("{verb} the {word}: {title}");
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
            ui.label(format!("{} ({})", left.name, left.kind().map_or("file", kind_word)));
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
    } else if author.is_taken(state.kind, &name) {
        format!("there is a {} of that name: take another title", kind_word(state.kind))
    } else if state.left.iter().any(|l| l.name == name && l.kind() == Some(state.kind)) {
        "a draft of that name was left: go on with it, or throw it away".to_owned()
    } else {
        name_trouble(&name).unwrap_or_default()
    };
    ui.horizontal(|ui| {
        ui.vertical(|ui| {
            widgets::text_field(
                ui,
                &mut state.title,
                &format!("title of the new {}", kind_word(state.kind)),
                match state.kind {
                    Kind::Job => "Coughs, then it's all right again",
                    Kind::Plant => "Light van, 2 l diesel, tank 60 l",
                    Kind::Rubric => "First term",
                    Kind::Course => "Second year: air and restrictions",
                },
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
