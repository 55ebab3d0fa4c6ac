//! What an instructor does while a class looks on, in practice only: stop time, put a fault in, make the vehicle sound, show
//! what is wrong with the line opened, and let the sitting go on.
//!
//! Nothing of it knows what is wrong: the list of faults is the catalogue's, and what is shown comes through
//! [`Session::reveal`](super::session::Session::reveal), which fails until it was shown on record.

use bevy_egui::egui::{self, ComboBox, RichText, Ui, vec2};

use super::bridge::Intent;
use super::opened::{self, Shown};
use super::state::Pace;
use super::theme::{heading, quiet, semibold, tokens};
use super::widgets::{self, Rail, Weight};
use super::words::number;
use crate::bay::action::Micros;
use crate::bay::instruct::{Instructed, Instruction};
use crate::fault::{CATALOGUE, Fault, Place, by_code};
use crate::language::{named, said};
use crate::scenario::model::{Job, Mode};
use crate::tell;

/// What was shown.
#[derive(Clone, Debug, PartialEq)]
pub struct Revealed {
    /// What is wrong, in words.
    pub words: String,
    /// The line opened.
    pub shown: Shown,
    /// Moment that is looked at.
    pub at: Micros,
}

/// What the page remembers.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassState {
    /// It is open.
    pub open: bool,
    /// Fault that is about to be put in: code, place, severity.
    pub fault: (String, String, f64),
    /// It was pressed once to show what is wrong; the second press does it.
    pub sure: bool,
    /// What was shown last.
    pub revealed: Option<Revealed>,
    /// Why it can't be shown.
    pub trouble: Option<String>,
    /// It is to be shown as it is now.
    pub wants: bool,
    /// Share of that which is done, 0 … 1.
    pub share: f32,
}

impl Default for ClassState {
    fn default() -> Self {
        let fault = ("F15".to_owned(), String::new(), 3.0);
        Self { open: false, fault, sure: false, revealed: None, trouble: None, wants: false, share: 0.0 }
    }
}

/// Faults of the supply that a vehicle can have, with their places.
fn offered(job: &Job) -> Vec<(&'static Fault, Vec<String>)> {
    let sits = |f: &&Fault| f.code.starts_with('F') && !matches!(f.place, Place::Kit | Place::Nowhere);
    let all = CATALOGUE.iter().filter(sits).map(|f| (f, f.places(&job.plant)));
    all.filter(|(_, places)| !places.is_empty()).collect()
}

/// A place in trade words.
fn place_words(job: &Job, place: &str) -> String {
    let part = job.plant.part(place).map(|p| p.label.clone());
    let joint = job.joints.iter().find(|j| j.0 == place).map(|j| j.1.clone());
    named(&part.or(joint).unwrap_or_else(|| place.to_owned())).to_owned()
}

/// Draws it over everything else.
pub fn class_ui(
    state: &mut ClassState,
    job: &Job,
    done: Instructed,
    (pace, now): (Pace, Micros),
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    let width = (ui.ctx().content_rect().width() - 80.0).clamp(420.0, 900.0);
    let modal = widgets::sheet_over_all(ui, "teaching").show(ui.ctx(), |ui| {
        ui.set_width(width);
        ui.label(heading(said("class-title")));
        if job.mode == Mode::Assessment {
            ui.label(said("bay-instruct-not-in-assessment"));
        } else {
            teaching_ui(state, job, done, pace, ui, intents);
            if let Some(revealed) = &state.revealed {
                revealed_ui(revealed, job, now, width, ui, intents);
            }
        }
        if widgets::button(ui, Weight::Plain, said("class-close"), said("class-close-name"), true, "").clicked() {
            intents.push(Intent::Class);
        }
    });
    if modal.should_close() {
        intents.push(Intent::Class);
    }
}

fn teaching_ui(
    state: &mut ClassState,
    job: &Job,
    done: Instructed,
    pace: Pace,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    let words = said("class-lead");
    ui.label(quiet(ui, words));
    if let Some(why) = done.no_mark() {
        ui.label(RichText::new(why).font(semibold(13.5)).color(tokens(ui).caution));
    }
    ui.horizontal(|ui| {
        let (words, to) = match pace {
            Pace::Paused => (said("class-time-on"), Pace::Real),
            _ => (said("class-time-stop"), Pace::Paused),
        };
        if widgets::button(ui, Weight::Plain, words, words, true, "").clicked() {
            intents.push(Intent::Pace(to));
        }
        let after = if pace == Pace::Paused { said("class-time-stopped") } else { said("class-time-goes-on") };
        ui.label(quiet(ui, after));
    });
    inject_ui(state, job, ui, intents);
    ui.horizontal(|ui| {
        let words = said("class-clear");
        if widgets::button(ui, Weight::Plain, words, words, true, "").clicked() {
            intents.push(Intent::Instruct(Instruction::Clear));
        }
        if done.revealed {
            let words = said("class-show-now");
            if widgets::button(ui, Weight::Plain, words, words, !state.wants, said("class-opening-why")).clicked() {
                (state.wants, state.revealed, state.share) = (true, None, 0.0);
            }
        } else if state.sure {
            ui.label(said("class-sure"));
            if widgets::button(ui, Weight::Primary, said("class-yes"), said("class-yes-name"), true, "").clicked() {
                intents.push(Intent::Instruct(Instruction::Reveal));
                (state.wants, state.sure) = (true, false);
            }
            if widgets::button(ui, Weight::Plain, said("class-no"), said("class-no-name"), true, "").clicked() {
                state.sure = false;
            }
        } else if widgets::button(ui, Weight::Plain, said("class-show"), said("class-show-name"), true, "")
            .clicked()
        {
            state.sure = true;
        }
    });
    let (leave, name) = (said("opened-leave"), said("opened-leave-name"));
    if state.wants
        && state.trouble.is_none()
        && widgets::working_ui(ui, said("desk-opening"), state.share, leave, name)
    {
        intents.push(Intent::LeaveShown);
    }
    if let Some(why) = &state.trouble {
        ui.label(RichText::new(why).color(tokens(ui).critical));
    }
}

fn inject_ui(state: &mut ClassState, job: &Job, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let all = offered(job);
    let Some(known) = all.iter().find(|(f, _)| f.code == state.fault.0).or(all.first()) else { return };
    let (code, at, severity) = &mut state.fault;
    if *code != known.0.code {
        known.0.code.clone_into(code);
    }
    if !known.1.contains(at) {
        known.1[0].clone_into(at);
    }
    ui.horizontal(|ui| {
        let words = |code: &str| by_code(code).map_or(code.to_owned(), |f| format!("{}  {}", f.code, f.name));
        let shown = words(code);
        let combo = ComboBox::from_id_salt("fault of the class").width(300.0).height(320.0).selected_text(&shown);
        let combo = combo.show_ui(ui, |ui| {
            for (fault, _) in &all {
                if widgets::entry(ui, *code == fault.code, &words(fault.code)) {
                    fault.code.clone_into(code);
                }
            }
        });
        widgets::list_named(&combo.response, &tell!("class-fault-name", shown = shown));
        let shown = place_words(job, at);
        let combo = ComboBox::from_id_salt("place of the class").width(240.0).selected_text(&shown).truncate();
        let combo = combo.show_ui(ui, |ui| {
            for place in &known.1 {
                if widgets::entry(ui, at == place, &place_words(job, place)) {
                    place.clone_into(at);
                }
            }
        });
        widgets::list_named(&combo.response, &tell!("class-place-name", shown = shown));
    });
    ui.horizontal(|ui| {
        let rail =
            Rail { name: said("class-severity-name"), low: 1.0, high: 5.0, step: 0.1, before: None, width: 300.0 };
        widgets::rail(ui, severity, &rail);
        ui.label(tell!("class-severity", severity = number(*severity, 1)));
        if widgets::button(ui, Weight::Plain, said("class-put-in"), said("class-put-in-name"), true, "").clicked() {
            let severity = (*severity * 10.0).round() / 10.0;
            intents.push(Intent::Instruct(Instruction::Inject { fault: code.clone(), at: at.clone(), severity }));
        }
    });
}

fn revealed_ui(revealed: &Revealed, job: &Job, now: Micros, width: f32, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ui.label(RichText::new(&revealed.words).font(semibold(15.0)));
    let (rect, _) = ui.allocate_exact_size(vec2(width, 300.0), egui::Sense::hover());
    let mut asked = vec![];
    ui.scope_builder(egui::UiBuilder::new().max_rect(rect).id_salt("opened for a class"), |ui| {
        let from = revealed.shown.opened.moments.first().map_or(0, |m| m.at);
        opened::opened_ui(&revealed.shown, &job.plant, (from, now), revealed.at, ui, &mut asked);
    });
    intents.extend(asked.into_iter().filter_map(|intent| match intent {
        Intent::Here(at) => Some(Intent::ClassHere(at)),
        _ => None,
    }));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Library, load_job};

    #[test]
    fn faults_that_a_vehicle_can_have_are_offered_and_none_is_told_to_be_there() {
        let job = load_job(&Library::builtin(), "bypass-puff").unwrap().0;
        let all = offered(&job);
        assert!(all.iter().any(|(f, places)| f.code == "F15" && places == &["filter"]));
        assert!(all.iter().all(|(f, places)| f.code.starts_with('F') && !places.is_empty()));
        assert_eq!(place_words(&job, "filter"), "filter with hand primer");
        assert_eq!(ClassState::default().fault.0, "F15");
    }
}
