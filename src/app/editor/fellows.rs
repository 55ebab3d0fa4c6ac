//! What a candidate's vehicle has besides its fault: conditions under which it shows, and faults that it comes with.

use bevy_egui::egui::{CollapsingHeader, Ui};

use super::faults::{fault_and_place_ui, modifiers_ui};
use super::fields::Form;
use super::rivals::band_severity_ui;
use crate::app::theme::quiet;
use crate::language::said;
use crate::scenario::form::{FaultForm, fault_written};
use crate::scenario::patch::Edit;
use crate::tell;

/// Severities with which a companion begins: a trace to a complaint.
const BAND: (f64, f64) = (1.0, 3.0);

/// Draws it, folded where there is nothing yet.
pub fn fellows_ui(f: &mut Form<'_>, at: &str, band: &FaultForm, ui: &mut Ui) {
    let count = band.with.len() + band.when.len();
    let title = match count {
        0 => said("fellows-title").to_owned(),
        n => tell!("fellows-title-n", n = n),
    };
    CollapsingHeader::new(title).id_salt(("fellows", at)).default_open(count > 0).show(ui, |ui| {
        modifiers_ui(f, at, band, ui);
        let list = format!("{at}.with");
        for (k, fellow) in band.with.iter().enumerate() {
            let here = format!("{list}[{k}]");
            ui.horizontal(|ui| {
                ui.label(quiet(ui, tell!("fellows-n", n = k + 1)));
                f.row_buttons(ui, &list, said("fellows-row"), k, band.with.len());
            });
            fault_and_place_ui(f, &here, fellow, ui);
            band_severity_ui(f, &here, fellow, ui);
            modifiers_ui(f, &here, fellow, ui);
            f.problems(ui, &here);
        }
        if band.with.is_empty() {
            ui.label(quiet(ui, said("fellows-none")));
        }
        let entry = fault_written(&companion(f, band), true);
        let then = format!("{list}[{}].fault", band.with.len());
        f.add(ui, &list, &tell!("fellows-add", at = at), band.with.len(), &entry, Some(then));
        if band.with.len() == 1 && f.orders.iter().any(|o| removes_last(o, &list)) {
            f.edit(vec![Edit::remove(&list)]);
        }
        f.problems(ui, &list);
    });
}

/// The last companion was taken out: the empty list goes, too.
fn removes_last(order: &super::Order, list: &str) -> bool {
    matches!(order, super::Order::Edit(_, edits)
        if edits.iter().any(|e| e.change == crate::scenario::patch::Change::Remove && e.at == format!("{list}[0]")))
}

/// A second hidden fault of the job, or else the first that the fault is mistaken for.
fn companion(f: &Form<'_>, band: &FaultForm) -> FaultForm {
    let hidden = f.form.wrong.iter().find(|w| w.fault != band.fault);
    let fault = hidden.cloned().unwrap_or_else(|| {
        let plant = f.proof.plant.as_ref();
        let entry = crate::fault::by_code(&band.fault);
        let fits = |code: &&&str| {
            crate::fault::by_code(code)
                .zip(plant)
                .is_some_and(|(e, p)| e.code.starts_with('F') && !e.places(p).is_empty())
        };
        let code = entry.and_then(|e| e.confused_with.iter().find(fits)).map_or("F15", |c| *c);
        let at = crate::fault::by_code(code).zip(plant).and_then(|(e, p)| e.places(p).first().cloned());
        FaultForm { fault: code.to_owned(), at: at.unwrap_or_default(), ..FaultForm::default() }
    });
    FaultForm { severity: BAND, when: vec![], with: vec![], ..fault }
}
