//! The forms of the card: what the customer says, the vehicle and the day, what it teaches, what the bay doesn't offer.

use bevy_egui::egui::Ui;

use super::fields::{Form, Number, text_value};
use crate::app::theme::{quiet, remark};
use crate::app::widgets::{self, Rail};
use crate::bay::words;
use crate::scenario::form::span_written;
use crate::scenario::model::{Level, Mode, WITHHOLDABLE};
use crate::scenario::patch::{Edit, number, quoted};
use crate::scenario::{Kind, Library};

/// Title, customer, complaint, facts.
pub fn card_ui(f: &mut Form<'_>, ui: &mut Ui) {
    let form = f.form;
    f.heading(ui, "Complaint", "What stands on the job card before anybody has touched the vehicle.");
    f.words(ui, "title", "title of the job", &form.title, "Coughs, then it's all right again", 1);
    f.words(ui, "customer", "whose vehicle", &form.customer, "Dunholt Contracting, tractor 3", 1);
    let hint = "What they noticed, in their own words; not what is wrong.";
    f.words(ui, "complaint", "complaint, in the customer's voice", &form.complaint, hint, 3);
    f.heading(ui, "Facts", "What the card says besides: fuel, weather, history.");
    f.lines(ui, "facts", "fact", &form.facts, "Filter changed last Friday");
}

/// Goals, hints, traps.
pub fn teaching_ui(f: &mut Form<'_>, ui: &mut Ui) {
    let form = f.form;
    f.heading(ui, "Learning goals", "What the learner should take away. Shown on the card.");
    f.lines(ui, "goals", "goal", &form.goals, "Read one run at two joints");
    f.heading(ui, "Hints", "The gentlest first. While practising they cost points, and never give the answer.");
    f.lines(ui, "hints", "hint", &form.hints, "What grows with the flow, and what is there at rest?");
    f.heading(ui, "Traps", "What leads astray, for whoever teaches with it. Learners don't see these.");
    f.lines(ui, "traps", "trap", &form.traps, "The bowl is dirty, but not the cause");
}

/// Vehicle, level, minutes, mode, fuel and weather.
pub fn setting_ui(f: &mut Form<'_>, library: &Library, ui: &mut Ui) {
    let form = f.form;
    f.heading(ui, "Vehicle", "The plants that are at hand. Faults and joints below follow from it.");
    let width = ui.available_width();
    let plants = titles(library, Kind::Plant);
    if let Some(name) = f.pick(ui, "plant", "vehicle", &plants, &form.plant, width) {
        f.edit(vec![text_value("plant", &name)]);
    }
    f.problems(ui, "plant");
    f.heading(ui, "Course", "");
    let levels: Vec<(&str, &str)> = Level::ALL.iter().map(|l| (l.word(), l.word())).collect();
    f.choice(ui, "level", "level", &levels, form.level.word());
    let mode = match form.mode {
        Some(Mode::Practice) => "practice",
        Some(Mode::Assessment) => "assessment",
        None => "",
    };
    let modes = [("practice", "practice: coached"), ("assessment", "assessment: no word before the end")];
    f.choice(ui, "mode", "mode", &modes, mode);
    f.number(ui, &Number::needed("minutes", "about how long, min", form.minutes), number);
    f.heading(ui, "Fuel", "");
    gauge_ui(f, ui);
    let fill = Number::optional("fill", "fuel in the tank, l", form.fill_l);
    f.number(ui, &fill, |v| format!("l({})", number(v)));
    let now = form.fuel.clone().unwrap_or_default();
    super::fuel::fuel_ui(f, "fuel", "fuel of the season", &now, Some("as the vehicle has it"), ui);
    f.heading(ui, "Day", "Left empty, it is as the vehicle has it.");
    ui.horizontal_top(|ui| {
        let field = Number::optional("temperature", "fuel and air, °C", form.temperature_c);
        f.number(ui, &field, |v| format!("degC({})", number(v)));
        let field = Number::optional("altitude", "above the sea, m", form.altitude_m);
        f.number(ui, &field, |v| format!("m({})", number(v)));
        let field = Number::optional("stood", "stood before, h", form.stood_h);
        f.number(ui, &field, |v| span_written(v * 3600.0));
    });
}

fn gauge_ui(f: &mut Form<'_>, ui: &mut Ui) {
    let mut value = f.form.fuel_gauge;
    ui.label(quiet(ui, format!("fuel gauge on the dashboard: {:.0} in 100", value * 100.0)));
    let width = ui.available_width();
    let rail = Rail { name: "fuel gauge, share", low: 0.0, high: 1.0, step: 0.01, before: None, width };
    if widgets::rail(ui, &mut value, &rail).changed() {
        f.edit(vec![Edit::number("fuel_gauge", (value * 100.0).round() / 100.0)]);
    }
    f.problems(ui, "fuel_gauge");
    let mut lies = f.form.gauge_lies;
    if ui.checkbox(&mut lies, "the gauge is meant to be wrong").changed() {
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
    f.heading(
        ui,
        "Tests and tools",
        "Everything is allowed that is ticked. What isn't offered needs a reason, which the learner is told.",
    );
    for word in WITHHOLDABLE {
        let at = f.form.withheld.iter().position(|(w, _)| w == word);
        let mut allowed = at.is_none();
        let doc = words::word(word).map_or("", |w| w.doc);
        let ticked = ui.checkbox(&mut allowed, format!("{word}: {}", first_sentence(doc)));
        if ticked.changed() {
            f.edit(vec![match at {
                Some(i) => Edit::remove(format!("withheld[{i}]")),
                None => {
                    let entry = format!("(word: {}, because: {})", quoted(word), quoted("It isn't at hand today."));
                    Edit::insert("withheld", f.form.withheld.len(), entry)
                }
            }]);
        }
        if let Some(i) = at {
            let place = format!("withheld[{i}].because");
            let because = f.form.withheld[i].1.clone();
            f.words(ui, &place, "what is said instead", &because, "No approved container is at hand.", 1);
        }
    }
    f.problems_inside(ui, "withheld");
    ui.label(remark(ui, "Safety steps, the key, the sheet and handing back can't be withheld."));
}

fn first_sentence(words: &str) -> &str {
    words.split_once(". ").map_or(words, |(first, _)| first).trim_end_matches('.')
}

/// `WinterDiesel` as two words.
pub(super) fn apart(word: &str) -> String {
    let mut words = String::new();
    for c in word.chars() {
        if c.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(c.to_lowercase());
    }
    words
}
