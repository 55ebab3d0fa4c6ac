//! The forms of the card: what the customer says, the vehicle and the day, what it teaches, what the bay doesn't offer.

use bevy_egui::egui::Ui;

use super::fields::{Form, Number, text_value};
use super::{codes, shown, snares};
use crate::app::theme::{quiet, remark};
use crate::app::widgets::{self, Rail};
use crate::bay::words;
use crate::language::{named, said};
use crate::scenario::form::span_written;
use crate::scenario::model::{Level, Mode, WITHHOLDABLE};
use crate::scenario::patch::{Edit, number, quoted};
use crate::scenario::{Kind, Library};
use crate::tell;

/// Title, customer, complaint, facts.
pub fn card_ui(f: &mut Form<'_>, library: &Library, folder: &str, ui: &mut Ui) {
    let form = f.form;
    f.heading(ui, said("section-card"), said("card-lead"));
    f.words(ui, "title", said("card-title"), &form.title, said("card-title-hint"), 1);
    f.words(ui, "customer", said("card-customer"), &form.customer, said("card-customer-hint"), 1);
    let hint = said("card-complaint-hint");
    f.words(ui, "complaint", said("card-complaint"), &form.complaint, hint, 3);
    f.heading(ui, said("card-facts"), said("card-facts-lead"));
    f.lines(ui, "facts", said("card-fact-row"), &form.facts, said("card-fact-hint"));
    shown::shown_ui(f, library, folder, ui);
}

/// Goals, hints, traps.
pub fn teaching_ui(f: &mut Form<'_>, ui: &mut Ui) {
    let form = f.form;
    f.heading(ui, said("teach-goals"), said("teach-goals-lead"));
    f.lines(ui, "goals", said("teach-goal-row"), &form.goals, said("teach-goal-hint"));
    f.heading(ui, said("teach-hints"), said("teach-hints-lead"));
    f.lines(ui, "hints", said("teach-hint-row"), &form.hints, said("teach-hint-hint"));
    snares::traps_ui(f, ui);
}

/// Vehicle, level, minutes, mode, fuel and weather.
pub fn setting_ui(f: &mut Form<'_>, library: &Library, ui: &mut Ui) {
    let form = f.form;
    f.heading(ui, said("setting-vehicle"), said("setting-vehicle-lead"));
    let width = ui.available_width();
    let plants = titles(library, Kind::Plant);
    if let Some(name) = f.pick(ui, "plant", said("setting-vehicle-row"), &plants, &form.plant, width) {
        f.edit(vec![text_value("plant", &name)]);
    }
    f.problems(ui, "plant");
    f.heading(ui, said("setting-course"), "");
    let levels: Vec<(&str, &str)> = Level::ALL.iter().map(|l| (l.word(), named(l.word()))).collect();
    f.choice(ui, "level", said("level"), &levels, form.level.word());
    let mode = match form.mode {
        Some(Mode::Practice) => "practice",
        Some(Mode::Assessment) => "assessment",
        None => "",
    };
    let modes = [("practice", said("setting-practice")), ("assessment", said("setting-assessment"))];
    f.choice(ui, "mode", said("setting-mode"), &modes, mode);
    f.number(ui, &Number::needed("minutes", said("setting-minutes"), form.minutes), number);
    f.heading(ui, said("setting-fuel"), "");
    gauge_ui(f, ui);
    let fill = Number::optional("fill", said("setting-fill"), form.fill_l);
    f.number(ui, &fill, |v| format!("l({})", number(v)));
    let now = form.fuel.clone().unwrap_or_default();
    super::fuel::fuel_ui(f, "fuel", said("setting-season"), &now, Some(said("setting-as-vehicle")), ui);
    f.heading(ui, said("setting-day"), said("setting-day-lead"));
    ui.horizontal_top(|ui| {
        let field = Number::optional("temperature", said("setting-temperature"), form.temperature_c);
        f.number(ui, &field, |v| format!("degC({})", number(v)));
        let field = Number::optional("altitude", said("setting-altitude"), form.altitude_m);
        f.number(ui, &field, |v| format!("m({})", number(v)));
        let field = Number::optional("stood", said("setting-stood"), form.stood_h);
        f.number(ui, &field, |v| span_written(v * 3600.0));
    });
    codes::codes_ui(f, ui);
    f.heading(ui, said("setting-same-vehicle"), said("setting-same-vehicle-lead"));
    let mut field = Number::optional("vehicle", said("setting-vehicle-number"), form.vehicle);
    field.hint = said("setting-any-vehicle");
    f.number(ui, &field, |v| format!("{}", v.max(0.0).round() as u64));
}

fn gauge_ui(f: &mut Form<'_>, ui: &mut Ui) {
    let mut value = f.form.fuel_gauge;
    ui.label(quiet(ui, tell!("setting-gauge", share = format!("{:.0}", value * 100.0))));
    let width = ui.available_width();
    let rail = Rail { name: said("setting-gauge-name"), low: 0.0, high: 1.0, step: 0.01, before: None, width };
    if widgets::rail(ui, &mut value, &rail).changed() {
        f.edit(vec![Edit::number("fuel_gauge", (value * 100.0).round() / 100.0)]);
    }
    f.problems(ui, "fuel_gauge");
    let mut lies = f.form.gauge_lies;
    if ui.checkbox(&mut lies, said("setting-gauge-wrong")).changed() {
        let edit = if lies { Edit::set("gauge_lies", "true") } else { Edit::remove("gauge_lies") };
        f.edit(vec![edit]);
    }
    f.problems(ui, "gauge_lies");
}

/// Names and titles of a kind of file.
pub fn titles(library: &Library, kind: Kind) -> Vec<(String, String)> {
    let title = |name: &String| {
        let text = library.text(kind, name).unwrap_or_default();
        let title = crate::scenario::patch::value(text, "title")?;
        Some(title.trim_matches('"').to_owned()).filter(|t| !t.is_empty())
    };
    let mut all: Vec<(String, String)> =
        library.names(kind).into_iter().map(|n| (n.clone(), title(&n).unwrap_or(n))).collect();
    all.sort_by(|a, b| a.1.cmp(&b.1));
    all
}

/// What the bay doesn't offer.
pub fn tests_ui(f: &mut Form<'_>, ui: &mut Ui) {
    f.heading(ui, said("section-tests"), said("tests-lead"));
    for word in WITHHOLDABLE {
        let at = f.form.withheld.iter().position(|(w, _)| w == word);
        let mut allowed = at.is_none();
        let doc = words::word(word).map_or("", |w| w.doc.said());
        // the word of the file is for who writes it as text
        let ticked = ui.checkbox(&mut allowed, first_sentence(doc)).on_hover_text(*word);
        if ticked.changed() {
            f.edit(vec![match at {
                Some(i) => Edit::remove(format!("withheld[{i}]")),
                None => {
                    let entry = format!("(word: {}, because: {})", quoted(word), quoted(said("tests-not-at-hand")));
                    Edit::insert("withheld", f.form.withheld.len(), entry)
                }
            }]);
        }
        if let Some(i) = at {
            let place = format!("withheld[{i}].because");
            let because = f.form.withheld[i].1.clone();
            f.words(ui, &place, said("tests-because"), &because, said("tests-because-hint"), 1);
        }
    }
    f.problems_inside(ui, "withheld");
    ui.label(remark(ui, said("tests-never")));
}

fn first_sentence(words: &str) -> &str {
    words.split_once(". ").map_or(words, |(first, _)| first).trim_end_matches('.')
}
