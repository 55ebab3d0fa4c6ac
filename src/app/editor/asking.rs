//! The forms of questions to the customer and of looks at parts.

use bevy_egui::egui::{RichText, Ui};

use super::Order;
use super::fields::{Form, GROWS, row_buttons_width, text_value};
use crate::app::theme::{quiet, semibold};
use crate::app::widgets;
use crate::authoring::draft::file_name;
use crate::language::{named, said};
use crate::scenario::patch::{Edit, quoted};
use crate::tell;

/// Questions and answers.
pub fn questions_ui(f: &mut Form<'_>, ui: &mut Ui) {
    f.heading(ui, said("asking-title"), said("asking-lead"));
    let count = f.form.questions.len();
    for i in 0..count {
        let question = f.form.questions[i].clone();
        let at = format!("questions[{i}]");
        ui.add_space(4.0);
        ui.horizontal(|ui| {
            ui.label(RichText::new(tell!("asking-question-n", n = i + 1)).font(semibold(13.5)));
            f.row_buttons(ui, "questions", said("asking-question-row"), i, count);
        });
        f.words(
            ui,
            &format!("{at}.ask"),
            &tell!("asking-question-name", n = i + 1),
            &question.ask,
            said("asking-question-hint"),
            1,
        );
        let hint = said("asking-answer-hint");
        f.words(ui, &format!("{at}.answer"), &tell!("asking-answer-name", n = i + 1), &question.answer, hint, 2);
        let name = tell!("asking-short-name", n = i + 1);
        f.words(ui, &format!("{at}.name"), &name, &question.name, "since", 1);
        f.problems(ui, &at);
    }
    ui.add_space(4.0);
    let entry = format!("(name: {}, ask: \"\", answer: \"\")", quoted(&free_name("question", &names(f))));
    f.add(ui, "questions", said("asking-add"), count, &entry, Some(format!("questions[{count}].ask")));
    f.problems(ui, "questions");
}

fn names(f: &Form<'_>) -> Vec<String> {
    f.form.questions.iter().map(|q| q.name.clone()).collect()
}

/// A name that isn't among those taken.
pub fn free_name(stem: &str, taken: &[String]) -> String {
    let stem = file_name(stem);
    let free = |n: usize| if n == 1 { stem.clone() } else { format!("{stem}-{n}") };
    (1..1000).map(free).find(|n| !taken.contains(n)).unwrap_or(stem.clone())
}

/// What looking at each part shows.
pub fn looks_ui(f: &mut Form<'_>, ui: &mut Ui) {
    let words = said("looks-lead");
    f.heading(ui, said("looks-title"), words);
    let Some(plant) = f.proof.plant.as_ref() else {
        ui.label(said("looks-vehicle-first"));
        return;
    };
    let mut places: Vec<(String, String)> =
        plant.parts.iter().map(|p| (p.name.clone(), named(&p.label).to_owned())).collect();
    places.extend(plant.joints().into_iter().map(|(name, label)| (name, tell!("joint-named", label = label))));
    let (count, parts) = (f.form.looks.len(), plant.parts.len());
    for i in 0..count {
        let (part, sees) = f.form.looks[i].clone();
        let place = format!("looks[{i}].part");
        ui.horizontal(|ui| {
            let width = ui.available_width() - row_buttons_width(ui);
            if let Some(picked) = f.pick(ui, &place, &tell!("looks-part", n = i + 1), &places, &part, width) {
                f.edit(vec![text_value(&place, &picked)]);
            }
            f.row_buttons(ui, "looks", said("looks-row"), i, count);
        });
        f.problems(ui, &place);
        let place = format!("looks[{i}].sees");
        let name = tell!("looks-sees", n = i + 1);
        let width = ui.available_width();
        f.bare_words(ui, &place, None, &name, &sees, said("looks-hint"), GROWS, width);
        f.problems(ui, &place);
        f.problems(ui, &format!("looks[{i}]"));
        ui.add_space(6.0);
    }
    // a part wants a look, a joint may have one
    let bare: Vec<&(String, String)> =
        places.iter().take(parts).filter(|(name, _)| !f.form.looks.iter().any(|(p, _)| p == name)).collect();
    let why = if bare.is_empty() { said("looks-complete") } else { "" };
    let words = tell!("looks-add-all", n = bare.len());
    if widgets::button(ui, widgets::Weight::Plain, &words, &words, !bare.is_empty(), why).clicked() {
        let entry = |name: &str| format!("(part: {}, sees: {})", quoted(name), quoted(said("look-nothing")));
        let edits = bare.iter().enumerate().map(|(k, (name, _))| Edit::insert("looks", count + k, entry(name)));
        let edits: Vec<Edit> = edits.collect();
        f.edit(edits);
        f.orders.push(Order::Focus(format!("looks[{count}].sees")));
    }
    f.problems(ui, "looks");
    ui.label(quiet(ui, said("looks-from-drawing")));
}
