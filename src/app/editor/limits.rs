//! The forms of the vehicle card and of the mark scheme.

use bevy_egui::egui::{self, Grid, RichText, Ui};

use super::Order;
use super::card::titles;
use super::fields::{Form, GROWS, Number, problem, row_buttons_width, text_value};
use super::scheme;
use crate::app::theme::{figures, quiet, remark};
use crate::app::widgets::{self, Weight};
use crate::app::words::{TRAINING_VALUES, range};
use crate::authoring::draft::{Finding, Page};
use crate::bay::action::State;
use crate::language::{Msg, named, said};
use crate::msg;
use crate::scenario::form::{LimitForm, limit_written};
use crate::scenario::model::Limit;
use crate::scenario::patch::{Edit, number};
use crate::scenario::vehicle_form::PlantForm;
use crate::scenario::{Kind, Library, load_card};
use crate::tell;

/// Weights of a mark scheme: field and words.
const WEIGHTS: [(&str, Msg); 8] = [
    ("diagnosis", msg!("rubric-diagnosis")),
    ("justified", msg!("rubric-justified")),
    ("cited", msg!("rubric-cited")),
    ("choice", msg!("rubric-choice")),
    ("measurement", msg!("rubric-measurement")),
    ("procedure", msg!("rubric-procedure")),
    ("calibration", msg!("rubric-calibration")),
    ("economy", msg!("rubric-economy")),
];

/// What a pass needs.
const GATES: [(&str, Msg); 10] = [
    ("cut", msg!("rubric-cut")),
    ("diagnosis_floor", msg!("rubric-least-diagnosis")),
    ("justified_floor", msg!("rubric-least-justified")),
    ("cited_floor", msg!("rubric-least-cited")),
    ("choice_floor", msg!("rubric-least-choice")),
    ("measurement_floor", msg!("rubric-least-measurement")),
    ("procedure_floor", msg!("rubric-least-procedure")),
    ("calibration_floor", msg!("rubric-least-calibration")),
    ("economy_floor", msg!("rubric-least-economy")),
    ("critical_cap", msg!("rubric-critical-cap")),
];

/// Limits on the vehicle card.
pub fn limits_ui(f: &mut Form<'_>, library: &Library, ui: &mut Ui) {
    f.heading(ui, said("vehicle-card"), TRAINING_VALUES.said());
    if f.form.limits.is_empty() {
        shared_card_ui(f, library, ui);
    } else {
        let words = said("limits-vehicle-again");
        if widgets::button(ui, Weight::Plain, words, words, true, "").clicked() {
            f.edit(vec![Edit::remove("limits")]);
        }
        let joints = f.proof.plant.as_ref().map(|p| p.joints()).unwrap_or_default();
        let form = f.form;
        lines_ui(f, "limits", &form.limits, &joints, ui);
    }
    f.problems(ui, "limits");
}

/// The card of a vehicle that is written.
pub fn card_ui(f: &mut Form<'_>, vehicle: &PlantForm, ui: &mut Ui) {
    f.heading(ui, said("vehicle-card"), TRAINING_VALUES.said());
    ui.label(quiet(ui, said("card-of-vehicle-lead")));
    let of_nodes = |n: &crate::scenario::vehicle_form::NodeForm| Some((n.name.clone(), n.joint.clone()?));
    let joints: Vec<(String, String)> = vehicle.nodes.iter().filter_map(of_nodes).collect();
    lines_ui(f, "card", &vehicle.card, &joints, ui);
    f.problems(ui, "card");
}

fn shared_card_ui(f: &mut Form<'_>, library: &Library, ui: &mut Ui) {
    ui.label(said("limits-lead"));
    let card = load_card(library, &f.form.plant).map(|c| c.0).unwrap_or_default();
    let joints = f.proof.plant.as_ref().map(|p| p.joints()).unwrap_or_default();
    let words = if card.is_empty() { said("limits-first") } else { said("limits-own") };
    if card.is_empty() {
        ui.label(quiet(ui, said("limits-no-card")));
    }
    if widgets::button(ui, Weight::Plain, words, words, true, "").clicked() {
        let lines = if card.is_empty() { vec![first_line(&joints)] } else { card.iter().map(form_of).collect() };
        let entries: Vec<String> = lines.iter().map(limit_written).collect();
        let list = format!("[\n        {},\n    ]", entries.join(",\n        "));
        f.edit(vec![Edit::set("limits", list)]);
    }
    Grid::new("the vehicle's card").num_columns(3).spacing([14.0, 2.0]).min_row_height(18.0).show(ui, |ui| {
        for limit in &card {
            let label = joints.iter().find(|j| j.0 == limit.joint).map_or(&limit.joint, |j| &j.1);
            ui.label(named(label));
            ui.label(named(limit.state.word()));
            let text = format!("{} mbar", range(limit.low_mbar, limit.high_mbar));
            ui.label(RichText::new(text).font(figures(13.0)));
            ui.end_row();
        }
    });
}

fn form_of(limit: &Limit) -> LimitForm {
    LimitForm {
        joint: limit.joint.clone(),
        state: limit.state.word().to_owned(),
        range_mbar: (limit.low_mbar, limit.high_mbar),
        investigate_mbar: limit.investigate_mbar,
        act_mbar: limit.act_mbar,
        words: limit.words.clone(),
    }
}

/// A line to begin with.
fn first_line(joints: &[(String, String)]) -> LimitForm {
    let joint = joints.first().map_or("", |j| j.0.as_str()).to_owned();
    LimitForm { joint, state: "idle".into(), range_mbar: (-150.0, -30.0), ..LimitForm::default() }
}

/// The lines of a card, which stand in the list of this name.
fn lines_ui(f: &mut Form<'_>, list: &str, limits: &[LimitForm], joints: &[(String, String)], ui: &mut Ui) {
    let states: Vec<(String, String)> =
        State::ALL.iter().map(|s| (s.word().to_owned(), named(s.word()).to_owned())).collect();
    let count = limits.len();
    for (i, limit) in limits.iter().enumerate() {
        let at = format!("{list}[{i}]");
        ui.add_space(4.0);
        ui.horizontal(|ui| {
            let width = (ui.available_width() - row_buttons_width(ui) - 16.0) / 2.0;
            for (field, name, options, now, width) in [
                ("joint", said("joint"), joints, &limit.joint, width * 1.2),
                ("state", said("state"), &states[..], &limit.state, width * 0.8),
            ] {
                let place = format!("{at}.{field}");
                if let Some(picked) = f.pick(ui, &place, &format!("{name} {}", i + 1), options, now, width) {
                    f.edit(vec![text_value(&place, &picked)]);
                }
            }
            f.row_buttons(ui, list, said("limits-row"), i, count);
        });
        ui.horizontal(|ui| {
            let (low, high) = limit.range_mbar;
            for (field, words, value) in [("low", said("limits-from"), low), ("high", said("limits-to"), high)] {
                ui.label(quiet(ui, words));
                let (place, name) = (format!("{at}.{field}"), format!("{words}, mbar {}", i + 1));
                let mut field = Number::needed(&place, &name, value);
                field.width = 84.0;
                f.bare_number(ui, &field, None, |v| format!("mbar({})", number(v)));
            }
            ui.label(quiet(ui, "mbar"));
            let (place, width) = (format!("{at}.words"), ui.available_width());
            let name = tell!("limits-condition", n = i + 1);
            f.bare_words(ui, &place, None, &name, &limit.words, said("limits-condition-hint"), GROWS, width);
        });
        outer_ui(f, &at, i, limit, ui);
        f.problems_inside(ui, &at);
    }
    let entry = limit_written(&first_line(joints));
    f.add(ui, list, said("limits-add"), count, &entry, Some(format!("{list}[{count}].low")));
}

/// The two outer limits: from where one looks closer, and from where one acts.
fn outer_ui(f: &mut Form<'_>, at: &str, i: usize, limit: &LimitForm, ui: &mut Ui) {
    let is_there = limit.investigate_mbar.is_some() || limit.act_mbar.is_some();
    let title = if is_there { said("limits-outer") } else { said("limits-outer-none") };
    egui::CollapsingHeader::new(quiet(ui, title)).id_salt(("outer", at)).default_open(is_there).show(ui, |ui| {
        ui.horizontal(|ui| {
            let both = [
                ("investigate", said("limits-investigate"), limit.investigate_mbar),
                ("act", said("limits-act"), limit.act_mbar),
            ];
            for (field, words, value) in both {
                ui.label(quiet(ui, words));
                let (place, name) = (format!("{at}.{field}"), format!("{words}, mbar {}", i + 1));
                let mut field = Number::optional(&place, &name, value);
                (field.width, field.hint) = (84.0, said("report-none"));
                f.bare_number(ui, &field, None, |v| format!("mbar({})", number(v)));
            }
            ui.label(quiet(ui, "mbar"));
        });
    });
}

/// A mark scheme that is written by itself.
pub fn scheme_ui(f: &mut Form<'_>, text: &str, ui: &mut Ui) {
    f.heading(ui, said("section-marking"), said("scheme-lead"));
    weights_ui(f, text, Page::File, ui);
    ui.label(remark(ui, said("person-decides")));
}

/// How it is marked.
pub fn marking_ui(f: &mut Form<'_>, library: &Library, scheme: Option<&str>, ui: &mut Ui) {
    f.heading(ui, said("section-marking"), said("marking-lead"));
    let width = ui.available_width();
    if let Some(text) = scheme {
        ui.label(said("marking-own"));
        let words = said("marking-standard-again");
        if widgets::button(ui, Weight::Plain, words, words, true, "").clicked() {
            f.orders.push(Order::SharedScheme("standard".to_owned()));
        }
        weights_ui(f, text, Page::Scheme, ui);
    } else {
        let schemes: Vec<(String, String)> =
            titles(library, Kind::Rubric).into_iter().map(|(name, _)| (name.clone(), name)).collect();
        if let Some(name) = f.pick(ui, "rubric", said("marking-scheme"), &schemes, &f.form.rubric, width) {
            f.orders.push(Order::SharedScheme(name));
        }
        f.problems(ui, "rubric");
        let words = said("marking-give-own");
        let why = if f.proof.rubric.is_some() { "" } else { said("marking-unusable") };
        if widgets::button(ui, Weight::Plain, words, words, why.is_empty(), why).clicked() {
            f.orders.push(Order::OwnScheme);
        }
        if let Some(text) = library.text(Kind::Rubric, &f.form.rubric) {
            shares_ui(text, ui);
        }
    }
    f.heading(ui, said("marking-ahead"), said("marking-ahead-lead"));
    let now = f.form.lookahead.unwrap_or(1).to_string();
    let tests = [("1", said("marking-ahead-one")), ("2", said("marking-ahead-two"))];
    f.choice(ui, "lookahead", said("marking-ahead-name"), &tests, &now);
    ui.label(remark(ui, said("person-decides")));
}

pub(super) fn read(text: &str, fields: &[(&str, Msg)]) -> Vec<Option<f64>> {
    let names: Vec<&str> = fields.iter().map(|f| f.0).collect();
    crate::scenario::form::scheme(text, &names).unwrap_or_else(|_| vec![None; fields.len()])
}

fn weights(text: &str) -> Vec<f64> {
    read(text, &WEIGHTS).into_iter().map(Option::unwrap_or_default).collect()
}

fn shares_ui(text: &str, ui: &mut Ui) {
    let weights = weights(text);
    let whole: f64 = weights.iter().sum();
    Grid::new("weights").num_columns(2).spacing([14.0, 2.0]).min_row_height(18.0).show(ui, |ui| {
        for ((_, words), weight) in WEIGHTS.iter().zip(&weights) {
            ui.label(RichText::new(format!("{:>3.0}", weight / whole.max(1e-9) * 100.0)).font(figures(13.0)));
            ui.label(words.said());
            ui.end_row();
        }
    });
    ui.label(quiet(ui, said("mark-of-100")));
}

/// Numbers of a scheme: of the file itself, or of the text that a job brings.
fn weights_ui(f: &mut Form<'_>, text: &str, page: Page, ui: &mut Ui) {
    let before = f.orders.len();
    let weights = weights(text);
    let whole: f64 = weights.iter().sum();
    for ((field, words), weight) in WEIGHTS.iter().zip(&weights) {
        ui.horizontal(|ui| {
            let name = tell!("marking-weight", words = words);
            let mut number_field = Number::needed(field, &name, *weight);
            (number_field.part, number_field.width) = ("scheme", 76.0);
            f.bare_number(ui, &number_field, None, number);
            ui.label(tell!(
                "marking-share",
                words = words,
                share = format!("{:.0}", weight / whole.max(1e-9) * 100.0)
            ));
        });
        scheme_problems(f, field, page, ui);
    }
    f.heading(ui, said("marking-pass"), "");
    for ((field, words), value) in GATES.iter().zip(read(text, &GATES)) {
        ui.horizontal(|ui| {
            let name = tell!("marking-gate", words = words);
            let mut number_field = Number::optional(field, &name, value);
            number_field.is_needed = *field == "cut";
            (number_field.part, number_field.width, number_field.hint) = ("scheme", 76.0, said("gate-left-out"));
            f.bare_number(ui, &number_field, None, number);
            ui.label(words.said());
        });
        scheme_problems(f, field, page, ui);
    }
    scheme::rarer_ui(f, text, page, ui);
    for order in &mut f.orders[before..] {
        if let Order::Edit(of, _) = order {
            *of = page;
        }
    }
}

pub(super) fn scheme_problems(f: &Form<'_>, field: &str, page: Page, ui: &mut Ui) {
    let here = |x: &&Finding| x.page == Some(page) && x.place == field;
    for found in f.proof.findings.iter().filter(here) {
        problem(ui, found.is_error, &format!("{} {}", found.message, found.help));
    }
}
