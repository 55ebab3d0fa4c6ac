//! Fields of the form: a line, a number, a choice, a list; each with a label, its place in the text, and what is wrong
//! with it in words under it.

use bevy_egui::egui::{self, ComboBox, Id, Key, Response, RichText, TextEdit, Ui, vec2};

use super::{Order, Typing};
use crate::app::theme::{TARGET, heading, quiet, regular, tokens};
use crate::app::widgets::{self, Mark};
use crate::app::words::read_number;
use crate::authoring::draft::{Finding, Page, Proof, is_within};
use crate::language::said;
use crate::scenario::form::JobForm;
use crate::scenario::patch::{Edit, number, quoted};
use crate::tell;

/// What the sections of the form draw with.
pub struct Form<'a> {
    /// The fields as they stand.
    pub form: &'a JobForm,
    /// What the check says.
    pub proof: &'a Proof,
    /// A field with something that isn't a value yet.
    pub typing: &'a mut Option<Typing>,
    /// A field that is to get the keyboard.
    pub focus: &'a mut Option<String>,
    /// What was asked for.
    pub orders: &'a mut Vec<Order>,
}

/// A field for a number.
pub struct Number<'a> {
    /// Place whose value it is in.
    pub place: &'a str,
    /// Tells it from other numbers of the same value; empty where it is all of it.
    pub part: &'a str,
    /// As it is read, with the unit.
    pub name: &'a str,
    /// As it stands.
    pub value: Option<f64>,
    /// It can't be left out.
    pub is_needed: bool,
    /// Width, points.
    pub width: f32,
    /// What stands in it where it is left out.
    pub hint: &'static str,
}

impl<'a> Number<'a> {
    /// A value that is one number and can't be left out.
    pub fn needed(place: &'a str, name: &'a str, value: f64) -> Self {
        Self { place, part: "", name, value: Some(value), is_needed: true, width: 124.0, hint: "" }
    }

    /// A value that is one number and may be left out.
    pub fn optional(place: &'a str, name: &'a str, value: Option<f64>) -> Self {
        Self { place, part: "", name, value, is_needed: false, width: 124.0, hint: said("field-of-vehicle") }
    }

    /// One of several numbers of a value.
    pub fn part(place: &'a str, part: &'a str, name: &'a str, value: f64) -> Self {
        Self { place, part, name, value: Some(value), is_needed: true, width: 76.0, hint: "" }
    }
}

/// Rows of a text that takes as many as it needs, from one on.
pub const GROWS: usize = 0;
/// Width of the buttons behind a row, with the room before them.
pub fn row_buttons_width(ui: &Ui) -> f32 {
    let wide =
        |words: &str| widgets::widest(ui, [words], &regular(12.5)).ceil() + 2.0 * ui.spacing().button_padding.x;
    ui.spacing().item_spacing.x + wide(said("field-down")) + 4.0 + wide("\u{d7}")
}

/// The widget of a place.
pub fn id_of(place: &str) -> Id {
    Id::new(("field of the job", place))
}

impl Form<'_> {
    /// Changes of the file's text, together.
    pub fn edit(&mut self, edits: Vec<Edit>) {
        self.orders.push(Order::Edit(Page::File, edits));
    }

    /// A heading, with a sentence that says what belongs here.
    pub fn heading(&self, ui: &mut Ui, title: &str, words: &str) {
        ui.add_space(6.0);
        ui.label(heading(title));
        if !words.is_empty() {
            ui.label(quiet(ui, words));
        }
    }

    /// A text in one line, in several that grow, or in one that grows ([`GROWS`]).
    pub fn words(&mut self, ui: &mut Ui, place: &str, name: &str, value: &str, hint: &str, rows: usize) {
        let width = ui.available_width();
        let label = ui.label(RichText::new(name).font(regular(12.5)).color(tokens(ui).second_ink));
        self.bare_words(ui, place, Some(label.id), name, value, hint, rows, width);
        self.problems(ui, place);
    }

    /// A text without a label of its own; `name` is what a screen reader says. Whether Enter was pressed in it.
    #[expect(clippy::too_many_arguments, reason = "each is plain and they change independently")]
    pub fn bare_words(
        &mut self,
        ui: &mut Ui,
        place: &str,
        label: Option<Id>,
        name: &str,
        value: &str,
        hint: &str,
        rows: usize,
        width: f32,
    ) -> bool {
        let mut text = value.to_owned();
        let edit = match rows {
            // a sentence is read whole: one row that grows, and no line of its own begins in it
            GROWS => TextEdit::multiline(&mut text).desired_rows(1).return_key(None),
            1 => TextEdit::singleline(&mut text),
            rows => TextEdit::multiline(&mut text).desired_rows(rows),
        };
        let edit = edit
            .id(id_of(place))
            .hint_text(hint.to_owned())
            .desired_width(width)
            .margin(egui::Margin::symmetric(8, 7))
            .min_size(vec2(0.0, TARGET));
        let response = ui.add(edit);
        let response = match label {
            Some(label) => response.labelled_by(label),
            None => named(ui, response, name),
        };
        self.take_focus(&response, place);
        if response.changed() {
            if rows == GROWS {
                text = text.replace(['\n', '\r'], " ");
            }
            self.edit(vec![Edit::text(place, &text)]);
        }
        if response.lost_focus() {
            self.orders.push(Order::Settle);
        }
        response.has_focus() && ui.input(|i| i.key_pressed(Key::Enter))
    }

    fn take_focus(&mut self, response: &Response, place: &str) {
        if self.focus.as_deref().is_some_and(|f| is_within(f, place)) {
            *self.focus = None;
            response.request_focus();
            response.scroll_to_me(Some(egui::Align::Center));
        }
    }

    /// A number as somebody types it, with its label above. A field that may be left out is taken out when it is
    /// emptied.
    pub fn number(&mut self, ui: &mut Ui, number: &Number<'_>, write: impl Fn(f64) -> String) {
        ui.vertical(|ui| {
            let label = ui.label(RichText::new(number.name).font(regular(12.5)).color(tokens(ui).second_ink));
            self.bare_number(ui, number, Some(label.id), write);
            self.problems(ui, number.place);
        });
    }

    /// A number without a label of its own. `write` makes the value of the file.
    pub fn bare_number(&mut self, ui: &mut Ui, it: &Number<'_>, label: Option<Id>, write: impl Fn(f64) -> String) {
        let key = format!("{} {}", it.place, it.part);
        let key = key.trim_end();
        let typed = self.typing.as_ref().filter(|t| t.place == key).map(|t| t.text.clone());
        let mut text = typed.unwrap_or_else(|| it.value.map(number).unwrap_or_default());
        let edit = TextEdit::singleline(&mut text)
            .id(id_of(key))
            .hint_text(it.hint)
            .desired_width(it.width - 16.0)
            .font(egui::TextStyle::Monospace)
            .margin(egui::Margin::symmetric(8, 7))
            .min_size(vec2(0.0, TARGET));
        let response = ui.add(edit);
        let response = match label {
            Some(label) => response.labelled_by(label),
            None => named(ui, response, it.name),
        };
        self.take_focus(&response, it.place);
        if response.changed() {
            match read_number(&text) {
                Some(v) => self.edit(vec![Edit::set(it.place, write(v))]),
                None if text.trim().is_empty() && !it.is_needed && it.value.is_some() => {
                    self.edit(vec![Edit::remove(it.place)]);
                }
                None => {}
            }
            *self.typing = Some(Typing { place: key.to_owned(), text: text.clone() });
        }
        let is_typed = self.typing.as_ref().is_some_and(|t| t.place == key);
        if is_typed && read_number(&text).is_none() && (it.is_needed || !text.trim().is_empty()) {
            problem(ui, false, said("field-no-number"));
        }
        if response.lost_focus() && is_typed {
            *self.typing = None;
            self.orders.push(Order::Settle);
        }
    }

    /// One of a few words in a row.
    pub fn choice(&mut self, ui: &mut Ui, place: &str, name: &str, options: &[(&str, &str)], now: &str) {
        ui.label(quiet(ui, name));
        let labels: Vec<&str> = options.iter().map(|o| o.1).collect();
        let chosen = options.iter().position(|o| o.0 == now);
        let width = ui.available_width();
        if let Some(i) = widgets::choice(ui, width, name, &labels, chosen) {
            self.edit(vec![Edit::set(place, options[i].0)]);
        }
        self.problems(ui, place);
    }

    /// One of many, from a list: value and label. Gives what was picked.
    pub fn pick(
        &mut self,
        ui: &mut Ui,
        place: &str,
        name: &str,
        options: &[(String, String)],
        now: &str,
        width: f32,
    ) -> Option<String> {
        let known = options.iter().find(|o| o.0 == now).map(|o| o.1.clone());
        let shown =
            known.unwrap_or_else(|| if now.is_empty() { said("field-pick").to_owned() } else { now.to_owned() });
        let mut picked = None;
        let put = now.to_owned();
        // the list is as wide as its text unless there is no more room: what stands behind it would be pushed out
        let alone = width >= ui.available_width() - 0.5;
        let wide = if alone { width } else { width - 8.0 };
        let bounded = ui.scope(|ui| {
            ui.set_max_width(wide);
            ComboBox::from_id_salt(("pick", place)).width(wide).height(320.0).wrap().selected_text(&shown).show_ui(
                ui,
                |ui| {
                    for (value, label) in options {
                        if widgets::entry(ui, put == *value, label) && value != now {
                            picked = Some(value.clone());
                        }
                    }
                },
            )
        });
        let combo = bounded.inner;
        let response = combo.response.on_hover_text(&shown);
        widgets::list_named(&response, &format!("{name}: {shown}"));
        widgets::focus_ring(ui, &response, response.rect);
        self.take_focus(&response, place);
        picked
    }

    /// A list of lines with buttons to move and to remove each, and one to add.
    pub fn lines(&mut self, ui: &mut Ui, list: &str, name: &str, all: &[String], hint: &str) {
        for (i, line) in all.iter().enumerate() {
            let place = format!("{list}[{i}]");
            ui.horizontal(|ui| {
                let width = ui.available_width() - row_buttons_width(ui);
                if self.bare_words(ui, &place, None, &format!("{name} {}", i + 1), line, hint, GROWS, width) {
                    self.next_line(list, i, all);
                }
                self.row_buttons(ui, list, name, i, all.len());
            });
            self.problems(ui, &place);
        }
        self.add(
            ui,
            list,
            &tell!("field-add", name = name),
            all.len(),
            "\"\"",
            Some(format!("{list}[{}]", all.len())),
        );
        self.problems(ui, list);
    }

    /// Enter leads on to the line below: a new one, unless one stands there empty. An empty line leads nowhere, so that
    /// pressing Enter twice leaves no empty lines behind.
    fn next_line(&mut self, list: &str, i: usize, all: &[String]) {
        if all[i].trim().is_empty() {
            return;
        }
        if !all.get(i + 1).is_some_and(|next| next.trim().is_empty()) {
            self.edit(vec![Edit::insert(list, i + 1, "\"\"")]);
        }
        self.orders.push(Order::Focus(format!("{list}[{}]", i + 1)));
    }

    /// Moves an entry down, or takes it out.
    pub fn row_buttons(&mut self, ui: &mut Ui, list: &str, name: &str, i: usize, count: usize) {
        ui.spacing_mut().item_spacing.x = 4.0;
        let (last, why) = (i + 1 == count, said("field-last"));
        let down = tell!("field-move", name = name, n = i + 1);
        if widgets::small_button(ui, said("field-down"), &down, !last, why).on_hover_text(&down).clicked() {
            self.edit(vec![Edit::swap(list, i)]);
        }
        let out = tell!("field-remove", name = name, n = i + 1);
        if widgets::small_button(ui, "×", &out, true, "").on_hover_text(&out).clicked() {
            self.edit(vec![Edit::remove(format!("{list}[{i}]"))]);
        }
    }

    /// A button that puts an entry at the end of a list and leads to it.
    pub fn add(&mut self, ui: &mut Ui, list: &str, words: &str, count: usize, entry: &str, then: Option<String>) {
        if widgets::button(ui, widgets::Weight::Plain, words, words, true, "").clicked() {
            self.edit(vec![Edit::insert(list, count, entry)]);
            self.orders.extend(then.map(Order::Focus));
        }
    }

    /// What is wrong at exactly this place.
    pub fn problems(&mut self, ui: &mut Ui, place: &str) {
        let found: Vec<Finding> = self.proof.at(place).filter(|f| f.place == place).cloned().collect();
        found.iter().for_each(|f| self.told(ui, f));
    }

    /// What is wrong at this place and inside it.
    pub fn problems_inside(&mut self, ui: &mut Ui, place: &str) {
        let found: Vec<Finding> = self.proof.at(place).cloned().collect();
        found.iter().for_each(|f| self.told(ui, f));
    }

    fn told(&mut self, ui: &mut Ui, found: &Finding) {
        problem(ui, found.is_error, &format!("{} {}", found.message, found.help));
        if let Some((word, edit)) = &found.mend {
            let words = tell!("field-put-in", word = word);
            if widgets::small_button(ui, &words, &words, true, "").clicked() {
                self.edit(vec![edit.clone()]);
            }
        }
    }
}

/// A sentence under a field, with its sign.
pub fn problem(ui: &mut Ui, is_error: bool, words: &str) {
    let t = tokens(ui);
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        widgets::mark_ui(if is_error { Mark::Cross } else { Mark::Caution }, ui);
        let colour = if is_error { t.critical } else { t.caution };
        ui.add(egui::Label::new(RichText::new(words.trim()).font(regular(12.5)).color(colour)).wrap());
    });
}

/// Says a field's name where no label stands beside it.
pub fn named(ui: &Ui, response: Response, name: &str) -> Response {
    let id = response.id;
    ui.ctx().accesskit_node_builder(id, |node| node.set_label(name.to_owned()));
    response
}

/// A text of a file for a value picked from a list.
pub fn text_value(place: &str, value: &str) -> Edit {
    Edit::set(place, quoted(value))
}
