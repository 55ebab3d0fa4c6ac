//! The form of candidates: what the learner may hold likely before any test, and which vehicles stand behind each.

use bevy_egui::egui::{RichText, Ui};

use super::asking::free_name;
use super::faults::{fault_and_place_ui, severity_words};
use super::fellows;
use super::fields::{Form, Number};
use crate::app::theme::{quiet, semibold};
use crate::app::widgets::{self, Weight};
use crate::fault::by_code;
use crate::language::said;
use crate::scenario::form::{CandidateForm, FaultForm, decimal, fault_written};
use crate::scenario::patch::{Edit, number, quoted};
use crate::tell;

/// What counts as a vehicle of a new candidate: marginal to limping.
const BAND: (f64, f64) = (2.0, 4.5);

/// Candidates in the order of the sheet.
pub fn candidates_ui(f: &mut Form<'_>, ui: &mut Ui) {
    let words = said("candidates-lead");
    f.heading(ui, said("tab-candidates"), words);
    let count = f.form.candidates.len();
    let whole: f64 = f.form.candidates.iter().map(|c| c.weight.max(0.0)).sum();
    for i in 0..count {
        let candidate = f.form.candidates[i].clone();
        ui.add_space(4.0);
        ui.horizontal(|ui| {
            let share = if whole > 0.0 { candidate.weight / whole * 100.0 } else { 0.0 };
            let words = tell!("candidates-n", n = i + 1, share = format!("{share:.0}"));
            ui.label(RichText::new(words).font(semibold(13.5)));
            f.row_buttons(ui, "candidates", said("candidates-row"), i, count);
        });
        candidate_ui(f, i, &candidate, ui);
    }
    ui.add_space(6.0);
    add_ui(f, ui);
    f.problems(ui, "candidates");
    also_right_ui(f, ui);
}

/// Candidates that count as right besides the hidden one.
fn also_right_ui(f: &mut Form<'_>, ui: &mut Ui) {
    // no wider than what is seen, whatever stands above
    ui.set_max_width(ui.clip_rect().right() - ui.min_rect().left() - 10.0);
    f.heading(ui, said("also-right-title"), said("also-right-lead"));
    let form = f.form;
    let mut all = form.also_right.clone();
    for candidate in &form.candidates {
        let mut counts = all.contains(&candidate.name);
        let label = if candidate.label.is_empty() { &candidate.name } else { &candidate.label };
        if ui.checkbox(&mut counts, tell!("also-right", label = label)).changed() {
            all.retain(|n| *n != candidate.name);
            if counts {
                all.push(candidate.name.clone());
            }
            let list: Vec<String> = all.iter().map(|n| quoted(n)).collect();
            f.edit(vec![match list.is_empty() {
                true => Edit::remove("also_right"),
                false => Edit::set("also_right", format!("[{}]", list.join(", "))),
            }]);
        }
    }
    for name in form.also_right.iter().filter(|n| !form.candidates.iter().any(|c| c.name == **n)) {
        ui.label(quiet(ui, tell!("also-right-unknown", name = name)));
    }
    f.problems_inside(ui, "also_right");
}

fn candidate_ui(f: &mut Form<'_>, i: usize, candidate: &CandidateForm, ui: &mut Ui) {
    let at = format!("candidates[{i}]");
    let n = i + 1;
    f.words(
        ui,
        &format!("{at}.label"),
        &tell!("candidates-label", n = n),
        &candidate.label,
        said("candidates-label-hint"),
        1,
    );
    ui.horizontal(|ui| {
        let (place, name) = (format!("{at}.weight"), tell!("candidates-weight", n = n));
        f.number(ui, &Number::needed(&place, &name, candidate.weight), number);
        ui.vertical(|ui| {
            let name = tell!("candidates-short-name", n = n);
            f.words(ui, &format!("{at}.name"), &name, &candidate.name, "plugged-filter", 1);
        });
    });
    let list = format!("{at}.vehicles");
    if candidate.vehicles.is_empty() {
        ui.label(quiet(ui, said("candidates-sound")));
    }
    for (k, band) in candidate.vehicles.iter().enumerate() {
        band_ui(f, &list, k, candidate.vehicles.len(), band, ui);
    }
    let entry = fault_written(&band_of(&f.form.wrong.first().cloned().unwrap_or_default()), true);
    let words = tell!("candidates-add-vehicle", n = n);
    let then = format!("{list}[{}].fault", candidate.vehicles.len());
    f.add(ui, &list, &words, candidate.vehicles.len(), &entry, Some(then));
    f.problems(ui, &list);
    f.problems(ui, &at);
}

fn band_ui(f: &mut Form<'_>, list: &str, k: usize, count: usize, band: &FaultForm, ui: &mut Ui) {
    let at = format!("{list}[{k}]");
    ui.indent(&at, |ui| {
        ui.horizontal(|ui| {
            ui.label(quiet(ui, tell!("candidates-vehicle-n", n = k + 1)));
            f.row_buttons(ui, list, said("setting-vehicle-row"), k, count);
        });
        fault_and_place_ui(f, &at, band, ui);
        band_severity_ui(f, &at, band, ui);
        fellows::fellows_ui(f, &at, band, ui);
        f.problems(ui, &at);
    });
}

/// From how severe to how severe.
pub(super) fn band_severity_ui(f: &mut Form<'_>, at: &str, band: &FaultForm, ui: &mut Ui) {
    let (low, high) = band.severity;
    let place = format!("{at}.severity");
    ui.horizontal_wrapped(|ui| {
        ui.label(quiet(ui, said("candidates-severity-from")));
        let from = Number::part(&place, "from", said("candidates-severity-from"), low);
        f.bare_number(ui, &from, None, |v| pair((v, high)));
        ui.label(quiet(ui, said("limits-to")));
        let to = Number::part(&place, "to", said("candidates-severity-to"), high);
        f.bare_number(ui, &to, None, |v| pair((low, v)));
        let said = format!("{} … {}", severity_words(low), severity_words(high));
        ui.label(quiet(ui, said));
    });
    f.problems_inside(ui, &place);
}

pub(super) fn pair((low, high): (f64, f64)) -> String {
    format!("({}, {})", decimal(low), decimal(high))
}

/// A band round a hidden fault.
fn band_of(fault: &FaultForm) -> FaultForm {
    let code = if fault.fault.is_empty() { "F15".to_owned() } else { fault.fault.clone() };
    let severity = (BAND.0.min(fault.severity.0), BAND.1.max(fault.severity.1));
    let severity = if fault.fault.is_empty() { BAND } else { severity };
    FaultForm { fault: code, severity, with: vec![], ..fault.clone() }
}

/// A candidate made of a fault: its name, its label, one vehicle.
fn candidate_of(fault: &FaultForm, weight: f64, taken: &[String]) -> String {
    let label = by_code(&fault.fault).map_or_else(|| fault.fault.clone(), |e| e.name.said().to_owned());
    let name = free_name(&label, taken);
    format!(
        "(name: {}, label: {}, weight: {}, vehicles: [{}])",
        quoted(&name),
        quoted(&label),
        number(weight),
        fault_written(&band_of(fault), true)
    )
}

fn add_ui(f: &mut Form<'_>, ui: &mut Ui) {
    let count = f.form.candidates.len();
    let taken: Vec<String> = f.form.candidates.iter().map(|c| c.name.clone()).collect();
    let stands_for = |fault: &FaultForm| {
        let mut bands = f.form.candidates.iter().flat_map(|c| &c.vehicles);
        bands.any(|b| b.fault == fault.fault && (b.at == fault.at || b.at.is_empty() || fault.at.is_empty()))
    };
    let lacking: Vec<FaultForm> = f.form.wrong.iter().filter(|w| !stands_for(w)).cloned().collect();
    let why = if f.form.wrong.is_empty() { said("candidates-nothing-hidden") } else { said("candidates-among") };
    let words = said("candidates-add-hidden");
    if widgets::button(ui, Weight::Plain, words, words, !lacking.is_empty(), why).clicked() {
        let edits = lacking.iter().enumerate();
        let edits: Vec<Edit> =
            edits.map(|(k, w)| Edit::insert("candidates", count + k, candidate_of(w, 2.0, &taken))).collect();
        f.edit(edits);
    }
    let rivals = rivals(f, &taken);
    let words = tell!("candidates-add-confused", n = rivals.len());
    let why = said("candidates-none-missing");
    if widgets::button(ui, Weight::Plain, &words, &words, !rivals.is_empty(), why).clicked() {
        let edits = rivals.into_iter().enumerate();
        f.edit(edits.map(|(k, entry)| Edit::insert("candidates", count + k, entry)).collect());
    }
    let sound = f.form.candidates.iter().any(|c| c.vehicles.is_empty());
    let words = said("candidates-add-sound");
    if widgets::button(ui, Weight::Plain, words, words, !sound, said("candidates-among")).clicked() {
        let name = free_name("nothing wrong", &taken);
        let label = quoted(said("candidates-sound-label"));
        let entry = format!("(name: {}, label: {label}, weight: 2, vehicles: [])", quoted(&name));
        f.edit(vec![Edit::insert("candidates", count, entry)]);
    }
    let blank = "(name: \"new\", label: \"\", weight: 1, vehicles: [])";
    f.add(ui, "candidates", said("candidates-add-blank"), count, blank, Some(format!("candidates[{count}].label")));
}

/// Candidates for what the hidden faults are mistaken for, as the catalogue says, where they fit the vehicle.
fn rivals(f: &Form<'_>, taken: &[String]) -> Vec<String> {
    let Some(plant) = f.proof.plant.as_ref() else { return vec![] };
    let here = |code: &str| f.form.candidates.iter().flat_map(|c| &c.vehicles).any(|b| b.fault == code);
    let mut all: Vec<String> = vec![];
    let mut codes: Vec<&str> = vec![];
    for wrong in &f.form.wrong {
        let Some(entry) = by_code(&wrong.fault) else { continue };
        for code in entry.confused_with {
            let Some(rival) = by_code(code).filter(|r| r.code.starts_with('F')) else { continue };
            let places = rival.places(plant);
            if here(code) || codes.contains(code) || places.is_empty() {
                continue;
            }
            codes.push(code);
            let at = places[0].clone();
            let fault = FaultForm { fault: (*code).to_owned(), at, severity: BAND, ..FaultForm::default() };
            all.push(candidate_of(&fault, 1.0, taken));
        }
    }
    all
}
