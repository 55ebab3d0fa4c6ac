//! The first page of the editor: what is to be written (a job, a vehicle, a mark scheme, a course), and from what: a blank
//! page, a file that there is, or what was left unsaved.

use bevy_egui::egui::{self, RichText, ScrollArea, Ui};

use super::files::{Author, Left};
use crate::app::theme::{heading, quiet, semibold, tokens};
use crate::app::widgets::{self, Weight};
use crate::authoring::draft::{file_name, name_trouble};
use crate::language::{Msg, said};
use crate::msg;
use crate::scenario::Kind;
use crate::tell;

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
const KINDS: [(Kind, Msg); 4] = [
    (Kind::Job, msg!("text-job")),
    (Kind::Plant, msg!("setting-vehicle-row")),
    (Kind::Rubric, msg!("marking-scheme")),
    (Kind::Course, msg!("start-kind-course")),
];

/// What a kind is called on the page.
pub fn kind_word(kind: Kind) -> &'static str {
    KINDS.iter().find(|k| k.0 == kind).map_or(said("start-kind-file"), |k| k.1.said())
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
                ui.label(RichText::new(tell!("edit-write", kind = kind_word(state.kind))).font(semibold(22.0)));
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                    if widgets::button(ui, Weight::Plain, said("to-shelf"), said("to-shelf"), true, "").clicked() {
                        begin = Some(Begin::Back);
                    }
                });
            });
            ui.label(quiet(ui, tell!("start-everything", folder = author.folder())));
            let labels: Vec<&str> = KINDS.iter().map(|k| k.1.said()).collect();
            let now = KINDS.iter().position(|k| k.0 == state.kind);
            let width = ui.available_width();
            if let Some(i) = widgets::choice(ui, width, said("start-what"), &labels, now) {
                *state =
                    StartState { title: std::mem::take(&mut state.title), ..StartState::read(author, KINDS[i].0) };
            }
            left_ui(state, &mut begin, ui);
            blank_ui(state, author, &mut begin, ui);
            ui.add_space(10.0);
            let word = kind_word(state.kind);
            ui.label(heading(tell!("start-from", word = word)));
            ui.label(quiet(
                ui,
                if state.kind == Kind::Job { said("start-from-job-lead") } else { said("start-from-lead") },
            ));
            for (name, title) in &state.files {
                let is_own = author.is_own(state.kind, name);
                let (verb, own) = if is_own {
                    (said("start-open"), said("start-own"))
                } else {
                    (said("start-copy"), said("start-built-in"))
                };
                let words = format!("{title}  ·  {own}");
                let aloud = tell!("start-verb", verb = verb, word = word, title = title);
                let width = ui.available_width() - 8.0;
                if widgets::row_button(ui, width, &words, &aloud, true, "").clicked() {
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
    ui.label(heading(said("start-unsaved")));
    for (i, left) in state.left.iter().enumerate() {
        ui.horizontal(|ui| {
            let aloud = tell!("start-go-on-draft", name = left.name);
            if widgets::button(ui, Weight::Primary, said("go-on"), &aloud, true, "").clicked() {
                *begin = Some(Begin::Recover(i));
            }
            let aloud = tell!("start-throw-draft", name = left.name);
            if widgets::button(ui, Weight::Plain, said("start-throw-away"), &aloud, true, "").clicked() {
                *begin = Some(Begin::ThrowAway(i));
            }
            ui.label(format!("{} ({})", left.name, left.kind().map_or(said("start-kind-file"), kind_word)));
        });
    }
}

fn blank_ui(state: &mut StartState, author: &dyn Author, begin: &mut Option<Begin>, ui: &mut Ui) {
    ui.add_space(10.0);
    ui.label(heading(said("start-blank")));
    let width = ui.available_width() - 160.0;
    let name = file_name(&state.title);
    let why = if state.title.trim().is_empty() {
        said("start-title-first").to_owned()
    } else if author.is_taken(state.kind, &name) {
        tell!("start-name-of-kind-taken", kind = kind_word(state.kind))
    } else if state.left.iter().any(|l| l.name == name && l.kind() == Some(state.kind)) {
        said("start-draft-left").to_owned()
    } else {
        name_trouble(&name).unwrap_or_default()
    };
    ui.horizontal(|ui| {
        ui.vertical(|ui| {
            widgets::text_field(
                ui,
                &mut state.title,
                &tell!("start-title-of-kind", kind = kind_word(state.kind)),
                match state.kind {
                    Kind::Job => said("card-title-hint"),
                    Kind::Plant => said("start-plant-hint"),
                    Kind::Rubric => said("start-rubric-hint"),
                    Kind::Course => said("course-title-hint"),
                },
                width,
            );
        });
        ui.vertical(|ui| {
            ui.add_space(22.0);
            if widgets::button(
                ui,
                Weight::Primary,
                said("start-begin"),
                said("start-begin-name"),
                why.is_empty(),
                &why,
            )
            .clicked()
            {
                *begin = Some(Begin::Blank(state.title.trim().to_owned()));
            }
        });
    });
    let words =
        if why.is_empty() { tell!("start-its-file", name = name) } else { tell!("start-not-yet", why = why) };
    ui.label(quiet(ui, words));
}
