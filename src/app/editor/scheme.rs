//! The rarer fields of a mark scheme: when enough is known, what costs minutes, what a citation is worth, hints.

use bevy_egui::egui::{CollapsingHeader, Ui};

use super::fields::{Form, Number};
use super::limits::{read, scheme_problems};
use crate::app::theme::quiet;
use crate::authoring::draft::Page;
use crate::language::{Msg, said};
use crate::msg;
use crate::scenario::form::{SchemeForm, scheme_rest};
use crate::scenario::patch::{Edit, number};
use crate::tell;

/// Plain numbers, with what they are where they are left out.
const RARER: [(&str, Msg, &str); 7] = [
    ("enough_belief", msg!("rubric-enough-belief"), "0.9"),
    ("minutes_per_credit", msg!("rubric-minutes-per-credit"), "0"),
    ("minutes_per_risk", msg!("rubric-minutes-per-risk"), "0"),
    ("support_bans", msg!("rubric-support-bans"), "0.3"),
    ("rule_out_bans", msg!("rubric-rule-out-bans"), "0.5"),
    ("false_claim", msg!("rubric-false-claim"), "0.25"),
    ("neutral_claim", msg!("rubric-neutral-claim"), "0.05"),
];

/// What a hint of each level takes where nothing is said, points.
const USUAL_HINTS: (f64, f64, f64) = (1.0, 2.0, 4.0);
/// Allowed error of a reading with which a scheme that lacks it begins, mbar.
const USUAL_TOLERANCE: f64 = 8.0;
/// What may be declared to cost no marked minutes.
const PRELIMINARIES: [(&str, Msg); 2] =
    [("ask", msg!("rubric-preliminary-ask")), ("look", msg!("rubric-preliminary-look"))];

/// Draws them, folded. The edits are of the text that is shown; whoever calls says which page that is.
pub fn rarer_ui(f: &mut Form<'_>, text: &str, page: Page, ui: &mut Ui) {
    let Ok(rest) = scheme_rest(text) else { return };
    ui.add_space(6.0);
    let field = "reading_tolerance";
    ui.horizontal(|ui| {
        let value = rest.reading_tolerance_mbar.unwrap_or(USUAL_TOLERANCE);
        let name = tell!("rubric-field", words = said("rubric-tolerance"));
        let mut it = Number::needed(field, &name, value);
        (it.part, it.width) = ("scheme", 76.0);
        f.bare_number(ui, &it, None, |v| format!("mbar({})", number(v)));
        ui.label(said("rubric-tolerance"));
    });
    scheme_problems(f, field, page, ui);
    CollapsingHeader::new(said("rubric-rarer")).id_salt("rarer fields").show(ui, |ui| {
        ui.label(quiet(ui, said("rubric-rarer-lead")));
        let names: Vec<(&str, Msg)> = RARER.iter().map(|r| (r.0, r.1)).collect();
        for ((field, words, usual), value) in RARER.into_iter().zip(read(text, &names)) {
            ui.horizontal(|ui| {
                let name = tell!("rubric-field", words = words);
                let mut it = Number::optional(field, &name, value);
                (it.part, it.width, it.hint) = ("scheme", 76.0, usual);
                f.bare_number(ui, &it, None, number);
                ui.label(words.said());
            });
            scheme_problems(f, field, page, ui);
        }
        hints_ui(f, &rest, ui);
        scheme_problems(f, "hints", page, ui);
        preliminaries_ui(f, &rest, ui);
        scheme_problems(f, "preliminaries", page, ui);
        let mut may = rest.parts_as_evidence.unwrap_or(false);
        if ui.checkbox(&mut may, said("rubric-parts-as-evidence")).changed() {
            f.edit(vec![match may {
                true => Edit::set("parts_as_evidence", "true"),
                false => Edit::remove("parts_as_evidence"),
            }]);
        }
    });
}

fn hints_ui(f: &mut Form<'_>, rest: &SchemeForm, ui: &mut Ui) {
    ui.label(quiet(ui, said("rubric-hints")));
    let (a, b, c) = rest.hints.unwrap_or(USUAL_HINTS);
    let written = |(a, b, c): (f64, f64, f64)| format!("({}, {}, {})", number(a), number(b), number(c));
    ui.horizontal(|ui| {
        for (level, value) in [(1, a), (2, b), (3, c)] {
            let name = tell!("rubric-hint-level", level = level);
            let part = ["first", "second", "third"][level as usize - 1];
            f.bare_number(ui, &Number::part("hints", part, &name, value), None, |v| {
                written(match level {
                    1 => (v, b, c),
                    2 => (a, v, c),
                    _ => (a, b, v),
                })
            });
        }
    });
}

fn preliminaries_ui(f: &mut Form<'_>, rest: &SchemeForm, ui: &mut Ui) {
    ui.label(quiet(ui, said("rubric-preliminaries")));
    for (word, words) in PRELIMINARIES {
        let mut free = rest.preliminaries.iter().any(|p| p == word);
        if ui.checkbox(&mut free, words.said()).changed() {
            let mut all: Vec<&str> = rest.preliminaries.iter().map(String::as_str).filter(|p| *p != word).collect();
            if free {
                all.push(word);
            }
            f.edit(vec![match all.is_empty() {
                true => Edit::remove("preliminaries"),
                false => Edit::set("preliminaries", format!("[{}]", all.join(", "))),
            }]);
        }
    }
}
