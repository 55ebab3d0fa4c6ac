//! The form of traps: what leads astray, and how it is known that somebody stepped into it.

use bevy_egui::egui::{self, CollapsingHeader, Ui};

use super::fields::{Form, GROWS, row_buttons_width};
use crate::app::theme::quiet;
use crate::app::widgets;
use crate::bay::action::State;
use crate::bay::rule_words;
use crate::language::{named, said};
use crate::scenario::form::SnareForm;
use crate::scenario::model::RULE_NAMES;
use crate::scenario::patch::{Edit, quoted};
use crate::tell;

/// A value and how a list calls it.
type Options = Vec<(String, String)>;

/// Traps, each with its signs.
pub fn traps_ui(f: &mut Form<'_>, ui: &mut Ui) {
    f.heading(ui, said("teach-traps"), said("teach-traps-lead"));
    let (form, name) = (f.form, said("teach-trap-row"));
    let count = form.traps.len();
    for (i, words) in form.traps.iter().enumerate() {
        let place = format!("traps[{i}]");
        ui.horizontal(|ui| {
            let width = ui.available_width() - row_buttons_width(ui);
            let aloud = format!("{name} {}", i + 1);
            f.bare_words(ui, &place, None, &aloud, words, said("teach-trap-hint"), GROWS, width);
            row_buttons_ui(f, ui, i, count);
        });
        f.problems(ui, &place);
        signs_ui(f, i, ui);
    }
    let first = Some(format!("traps[{count}]"));
    f.add(ui, "traps", &tell!("field-add", name = name), count, "\"\"", first);
    f.problems(ui, "traps");
    let strays = form.snares.iter().enumerate().filter(|(_, s)| s.trap == 0 || s.trap as usize > count);
    for (k, snare) in strays {
        ui.label(quiet(ui, tell!("snares-stray", trap = snare.trap)));
        f.problems_inside(ui, &format!("snares[{k}]"));
    }
    f.problems(ui, "snares");
}

/// Down and out. Signs name their trap by its number, so they go along.
fn row_buttons_ui(f: &mut Form<'_>, ui: &mut Ui, i: usize, count: usize) {
    ui.spacing_mut().item_spacing.x = 4.0;
    let (name, last) = (said("teach-trap-row"), i + 1 == count);
    let down = tell!("field-move", name = name, n = i + 1);
    if widgets::small_button(ui, said("field-down"), &down, !last, said("field-last"))
        .on_hover_text(&down)
        .clicked()
    {
        f.edit(moved_down(&f.form.snares, i));
    }
    let out = tell!("field-remove", name = name, n = i + 1);
    if widgets::small_button(ui, "×", &out, true, "").on_hover_text(&out).clicked() {
        f.edit(taken_out(&f.form.snares, i));
    }
}

/// Trap `i`, from 0, and the next one change places.
fn moved_down(snares: &[SnareForm], i: usize) -> Vec<Edit> {
    let own = i as u32 + 1;
    let renumbered = snares.iter().enumerate().filter_map(|(k, s)| {
        let to = match s.trap {
            t if t == own => own + 1,
            t if t == own + 1 => own,
            _ => return None,
        };
        Some(Edit::set(format!("snares[{k}].trap"), to.to_string()))
    });
    renumbered.chain([Edit::swap("traps", i)]).collect()
}

/// Trap `i`, from 0, goes with its signs.
fn taken_out(snares: &[SnareForm], i: usize) -> Vec<Edit> {
    let own = i as u32 + 1;
    let mut edits = vec![];
    // from the end, so that the numbers of the others stay what they were
    for (k, snare) in snares.iter().enumerate().rev() {
        match snare.trap {
            t if t == own => edits.push(Edit::remove(format!("snares[{k}]"))),
            t if t > own => edits.push(Edit::set(format!("snares[{k}].trap"), (t - 1).to_string())),
            _ => {}
        }
    }
    edits.push(Edit::remove(format!("traps[{i}]")));
    if !snares.is_empty() && snares.iter().all(|s| s.trap == own) {
        edits.push(Edit::remove("snares"));
    }
    edits
}

/// How it is known: folded where nothing says so yet.
fn signs_ui(f: &mut Form<'_>, trap: usize, ui: &mut Ui) {
    let form = f.form;
    let mine = form.snares.iter().enumerate().filter(|(_, s)| s.trap as usize == trap + 1);
    let mine: Vec<(usize, &SnareForm)> = mine.collect();
    let title = if mine.is_empty() { said("snares-title-none") } else { said("snares-title") };
    // a trap that has got signs since, by undoing or moving, shows them
    let state = ("signs of trap", trap, mine.len());
    CollapsingHeader::new(title).id_salt(state).default_open(!mine.is_empty()).show(ui, |ui| {
        ui.label(quiet(ui, said("snares-lead")));
        let all = Signs::of(f);
        for (k, snare) in &mine {
            for (field, words, options, chosen) in all.rows(snare) {
                let place = format!("snares[{k}].{field}");
                let name = tell!("snares-row", trap = trap + 1, words = words);
                chosen_ui(f, ui, &place, words, &name, options, chosen);
            }
            let out = tell!("snares-remove", trap = trap + 1);
            if widgets::small_button(ui, said("snares-out"), &out, true, "").clicked() {
                let whole = if form.snares.len() == 1 { "snares".to_owned() } else { format!("snares[{k}]") };
                f.edit(vec![Edit::remove(whole)]);
            }
            f.problems(ui, &format!("snares[{k}]"));
            f.problems(ui, &format!("snares[{k}].trap"));
        }
        if mine.is_empty() {
            let words = tell!("snares-add", trap = trap + 1);
            let count = form.snares.len();
            f.add(ui, "snares", &words, count, &format!("(trap: {})", trap + 1), None);
        }
    });
}

/// What a sign may name.
struct Signs {
    candidates: Options,
    parts: Options,
    states: Options,
    rules: Options,
}

impl Signs {
    fn of(f: &Form<'_>) -> Self {
        let label = |name: &String, label: &String| if label.is_empty() { name.clone() } else { label.clone() };
        let parts = f.proof.plant.iter().flat_map(|p| &p.parts);
        Self {
            candidates: f.form.candidates.iter().map(|c| (c.name.clone(), label(&c.name, &c.label))).collect(),
            parts: parts.map(|p| (p.name.clone(), label(&p.name, &p.label))).collect(),
            states: State::ALL.iter().map(|s| (s.word().to_owned(), named(s.word()).to_owned())).collect(),
            rules: RULE_NAMES
                .iter()
                .map(|n| ((*n).to_owned(), first_sentence(rule_words(n).unwrap_or(n))))
                .collect(),
        }
    }

    fn rows<'a>(&'a self, snare: &'a SnareForm) -> [(&'static str, &'static str, &'a Options, &'a Vec<String>); 4] {
        [
            ("named", said("snares-named"), &self.candidates, &snare.named),
            ("replaced", said("snares-replaced"), &self.parts, &snare.replaced),
            ("unread", said("snares-unread"), &self.states, &snare.unread),
            ("broken", said("snares-broken"), &self.rules, &snare.broken),
        ]
    }
}

/// The first sentence of what a rule says is as much as a list holds.
fn first_sentence(words: &str) -> String {
    words.split_once(". ").map_or(words, |(first, _)| first).trim_end_matches('.').to_owned()
}

/// A list of names: those that are in it, each with a button that takes it out, and a list of those that could be.
fn chosen_ui(
    f: &mut Form<'_>,
    ui: &mut Ui,
    place: &str,
    words: &str,
    name: &str,
    options: &Options,
    chosen: &[String],
) {
    ui.label(quiet(ui, words));
    for (i, value) in chosen.iter().enumerate() {
        let label = options.iter().find(|o| o.0 == *value).map_or(value.as_str(), |o| o.1.as_str());
        ui.horizontal(|ui| {
            let out = tell!("snares-take-out", label = label);
            if widgets::small_button(ui, "×", &out, true, "").on_hover_text(&out).clicked() {
                let whole = if chosen.len() == 1 { place.to_owned() } else { format!("{place}[{i}]") };
                f.edit(vec![Edit::remove(whole)]);
            }
            ui.add(egui::Label::new(label).wrap());
        });
        f.problems(ui, &format!("{place}[{i}]"));
    }
    let mut left: Options = vec![(String::new(), said("snares-pick").to_owned())];
    left.extend(options.iter().filter(|o| !chosen.contains(&o.0)).cloned());
    let width = ui.available_width();
    if left.len() > 1
        && let Some(picked) = f.pick(ui, place, name, &left, "", width)
        && !picked.is_empty()
    {
        f.edit(vec![Edit::insert(place, chosen.len(), quoted(&picked))]);
    }
    f.problems(ui, place);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::form::form;
    use crate::scenario::patch::edit_all;

    const TEXT: &str = r#"Job(
    traps: ["one", "two", "three"],
    snares: [
        (trap: 1, named: ["a"]), // of the first
        (trap: 3, broken: ["no-zero"]),
        (trap: 2, unread: ["hold"]),
    ],
)
"#;

    fn traps(text: &str) -> Vec<(String, u32, String)> {
        let form = form(text).unwrap();
        let first = |s: &SnareForm| [&s.named, &s.unread, &s.broken].into_iter().flatten().next().cloned();
        let one = |s: &SnareForm| (form.traps[s.trap as usize - 1].clone(), s.trap, first(s).unwrap());
        form.snares.iter().map(one).collect()
    }

    #[test]
    fn signs_go_along_with_their_trap() {
        let of = |s: &str, n: u32, what: &str| (s.to_owned(), n, what.to_owned());
        let snares = form(TEXT).unwrap().snares;
        let down = edit_all(TEXT, &moved_down(&snares, 0)).unwrap();
        assert_eq!(traps(&down), [of("one", 2, "a"), of("three", 3, "no-zero"), of("two", 1, "hold")]);
        assert!(down.contains("// of the first"), "{down}");
        let out = edit_all(TEXT, &taken_out(&snares, 1)).unwrap();
        assert_eq!(traps(&out), [of("one", 1, "a"), of("three", 2, "no-zero")]);
        let only = "Job(traps: [\"one\"], snares: [(trap: 1, named: [\"a\"])])";
        let bare = edit_all(only, &taken_out(&form(only).unwrap().snares, 0)).unwrap();
        assert_eq!(bare, "Job(traps: [])");
    }
}
