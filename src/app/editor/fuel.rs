//! A fuel: a class by its name, or a blend of classes with shares and water.

use bevy_egui::egui::{RichText, Ui};

use super::fields::{Form, Number};
use super::part_words::fuel_words;
use crate::app::theme::quiet;
use crate::app::widgets::{self, Weight};
use crate::fluid::FuelClass;
use crate::language::said;
use crate::scenario::patch::{Edit, number};
use crate::tell;

/// The word of water in a blend.
const WATER: &str = "Water";

/// Shares of a blend as they are written; none where it isn't one.
pub fn shares(text: &str) -> Option<Vec<(String, f64)>> {
    let inner = text.trim().strip_prefix("Blend")?.trim_start().strip_prefix('(')?.strip_suffix(')')?.trim();
    let list = inner.strip_prefix('[')?.strip_suffix(']')?;
    let mut all = vec![];
    for entry in list.split('(').skip(1) {
        let (entry, _) = entry.split_once(')')?;
        let (class, share) = entry.split_once(',')?;
        all.push((class.trim().to_owned(), share.trim().trim_end_matches(',').parse().ok()?));
    }
    Some(all)
}

/// A blend as it is written.
pub fn written(shares: &[(String, f64)]) -> String {
    let one = |(class, share): &(String, f64)| format!("({class}, {})", number(*share));
    format!("Blend([{}])", shares.iter().map(one).collect::<Vec<_>>().join(", "))
}

/// Picks a fuel. `left_out` says what the file gets without it; none where it must be there.
pub fn fuel_ui(f: &mut Form<'_>, place: &str, name: &str, now: &str, left_out: Option<&str>, ui: &mut Ui) {
    ui.label(quiet(ui, name.to_owned()));
    let mut options: Vec<(String, String)> = left_out.iter().map(|w| (String::new(), (*w).to_owned())).collect();
    options.extend(FuelClass::ALL.iter().map(|c| (format!("{c:?}"), fuel_words(*c).to_owned())));
    let blend = shares(now);
    let first =
        options.iter().find(|o| o.0 == now && !now.is_empty()).map_or("Diesel", |o| o.0.as_str()).to_owned();
    match &blend {
        Some(_) => options.push((now.to_owned(), said("fuel-blend").to_owned())),
        None => {
            let other = if first == "Biodiesel" { "Diesel" } else { "Biodiesel" };
            let to_begin = written(&[(first, 0.9), (other.to_owned(), 0.1)]);
            options.push((to_begin, said("fuel-blend-begin").to_owned()));
        }
    }
    if !now.is_empty() && !options.iter().any(|o| o.0 == now) {
        options.push((now.to_owned(), tell!("setting-as-text", now = now)));
    }
    let width = ui.available_width();
    if let Some(picked) = f.pick(ui, place, name, &options, now, width) {
        let edit = if picked.is_empty() { Edit::remove(place) } else { Edit::set(place, picked) };
        f.edit(vec![edit]);
    }
    if let Some(blend) = blend {
        blend_ui(f, place, &blend, ui);
    }
    f.problems_inside(ui, place);
}

/// Shares by volume at 15 °C, which add up to a whole; water comes on top.
fn blend_ui(f: &mut Form<'_>, place: &str, blend: &[(String, f64)], ui: &mut Ui) {
    let classes: Vec<(String, String)> =
        FuelClass::ALL.iter().map(|c| (format!("{c:?}"), fuel_words(*c).to_owned())).collect();
    let mut classes_and_water = classes;
    classes_and_water.push((WATER.to_owned(), said("bay-sample-water").to_owned()));
    for (i, (class, share)) in blend.iter().enumerate() {
        ui.horizontal(|ui| {
            let with = |class: &str, share: f64| {
                let mut all = blend.to_vec();
                all[i] = (class.to_owned(), share);
                written(&all)
            };
            let name = tell!("fuel-part", n = i + 1);
            let field = Number::part(place, &name, &name, round(share * 100.0));
            f.bare_number(ui, &field, None, |v| with(class, round(v) / 100.0));
            ui.label(quiet(ui, said("fuel-in-100")));
            let width = (ui.available_width() - 60.0).max(120.0);
            let key = format!("{place} part {i}");
            if let Some(picked) =
                f.pick(ui, &key, &tell!("fuel-class", n = i + 1), &classes_and_water, class, width)
            {
                f.edit(vec![Edit::set(place, with(&picked, *share))]);
            }
            let out = tell!("fuel-remove", n = i + 1);
            if widgets::small_button(ui, "×", &out, blend.len() > 1, said("field-last")).clicked() {
                let rest: Vec<(String, f64)> =
                    (0..blend.len()).filter(|k| *k != i).map(|k| blend[k].clone()).collect();
                f.edit(vec![Edit::set(place, written(&rest))]);
            }
        });
    }
    let whole: f64 = blend.iter().filter(|b| b.0 != WATER).map(|b| b.1).sum();
    ui.horizontal(|ui| {
        let words = said("fuel-add");
        if widgets::button(ui, Weight::Plain, words, words, true, "").clicked() {
            let class = FuelClass::ALL.iter().map(|c| format!("{c:?}")).find(|c| !blend.iter().any(|b| b.0 == *c));
            let mut all = blend.to_vec();
            all.push((class.unwrap_or_else(|| WATER.to_owned()), round((1.0 - whole).max(0.0) * 100.0) / 100.0));
            f.edit(vec![Edit::set(place, written(&all))]);
        }
        ui.label(RichText::new(tell!("fuel-sum", share = number(round(whole * 100.0)))));
    });
}

/// Without the dust of binary fractions.
fn round(v: f64) -> f64 {
    (v * 1e4).round() / 1e4
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_blend_is_read_and_written_back() {
        let text = "Blend([(Diesel, 0.93), (Biodiesel, 0.07), (Water, 0.01)])";
        let read = shares(text).unwrap();
        assert_eq!((read.len(), read[2].0.as_str(), read[0].1), (3, "Water", 0.93));
        assert_eq!(written(&read), text);
        assert_eq!(shares(" Blend ( [ (Diesel,1.0,), ] )").unwrap(), [("Diesel".to_owned(), 1.0)]);
        for other in ["Diesel", "", "Blend", "Blend([(Diesel)])", "Blend([(Diesel, much)])"] {
            assert_eq!(shares(other), None, "{other}");
        }
    }
}
