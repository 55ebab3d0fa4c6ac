//! The form of the hidden fault: which, where, how bad, and when it shows.

use bevy_egui::egui::{Align2, Rect, RichText, Sense, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2};

use super::fields::{Form, Number, text_value};
use crate::app::theme::{figures, italic, quiet, regular, semibold, tokens};
use crate::app::widgets::{self, Rail};
use crate::app::words;
use crate::fault::modifier::{Cause, Threshold};
use crate::fault::{CATALOGUE, Fault, Modifier, by_code};
use crate::language::{named, said};
use crate::plant::Plant;
use crate::scenario::form::{FaultForm, decimal, modifier_written};
use crate::scenario::patch::Edit;
use crate::tell;
use crate::units::{Span, Temperature};

/// What a severity means.
pub fn severity_words(severity: f64) -> &'static str {
    match severity.floor() as i64 {
        ..=1 => said("severity-trace"),
        2 => said("severity-marginal"),
        3 => said("severity-complaint"),
        4 => said("severity-limps"),
        _ => said("severity-no-start"),
    }
}

/// What is really wrong.
pub fn faults_ui(f: &mut Form<'_>, ui: &mut Ui) {
    let words = said("hidden-lead");
    f.heading(ui, said("section-hidden"), words);
    let count = f.form.wrong.len();
    for i in 0..count {
        let fault = f.form.wrong[i].clone();
        let at = format!("hidden[{i}]");
        ui.horizontal(|ui| {
            ui.label(RichText::new(tell!("hidden-n", n = i + 1)).font(semibold(13.5)));
            f.row_buttons(ui, "hidden", said("hidden-fault"), i, count);
        });
        fault_and_place_ui(f, &at, &fault, ui);
        about_ui(&fault, ui);
        severity_ui(f, &format!("{at}.severity"), fault.severity.0, ui);
        modifiers_ui(f, &at, &fault, ui);
        f.problems(ui, &at);
        ui.add_space(8.0);
    }
    let entry = match f.proof.plant.as_ref().and_then(first_fault) {
        Some((code, at)) => crate::scenario::form::fault_written(
            &FaultForm { fault: code, at, severity: (3.0, 3.0), ..FaultForm::default() },
            false,
        ),
        None => "(fault: \"F15\", severity: 3.0)".to_owned(),
    };
    f.add(ui, "hidden", said("hidden-add"), count, &entry, Some(format!("hidden[{count}].fault")));
    f.problems(ui, "hidden");
}

/// The commonest fault that fits a vehicle.
fn first_fault(plant: &Plant) -> Option<(String, String)> {
    let fault = by_code("F15").into_iter().chain(CATALOGUE).find(|f| fits(f, plant))?;
    Some((fault.code.to_owned(), fault.places(plant).first().cloned().unwrap_or_default()))
}

fn fits(fault: &Fault, plant: &Plant) -> bool {
    use crate::fault::Place;
    matches!(fault.place, Place::Kit | Place::Nowhere) || !fault.places(plant).is_empty()
}

/// Faults that a vehicle can have, by code.
pub fn fault_options(plant: Option<&Plant>) -> Vec<(String, String)> {
    CATALOGUE
        .iter()
        .filter(|f| plant.is_none_or(|p| fits(f, p)))
        .map(|f| (f.code.to_owned(), format!("{}  {}", f.code, f.name)))
        .collect()
}

/// Places of a fault in a vehicle, in trade words.
pub fn place_options(code: &str, plant: Option<&Plant>) -> Vec<(String, String)> {
    let Some((fault, plant)) = by_code(code).zip(plant) else { return vec![] };
    let label = |place: &String| {
        let part = plant.part(place).map(|p| p.label.clone());
        let joint = plant.joints().into_iter().find(|j| j.0 == *place).map(|j| j.1);
        part.or(joint).map_or_else(
            || place.clone(),
            |l| if l == *place { named(&l).to_owned() } else { format!("{} ({place})", named(&l)) },
        )
    };
    fault.places(plant).into_iter().map(|p| (p.clone(), label(&p))).collect()
}

/// Which fault, and where.
pub fn fault_and_place_ui(f: &mut Form<'_>, at: &str, fault: &FaultForm, ui: &mut Ui) {
    let plant = f.proof.plant.clone();
    let place = format!("{at}.fault");
    let width = ui.available_width();
    if let Some(code) =
        f.pick(ui, &place, said("hidden-fault"), &fault_options(plant.as_ref()), &fault.fault, width)
    {
        // the place of another fault rarely fits
        let mut edits = vec![text_value(&place, &code)];
        let places = place_options(&code, plant.as_ref());
        let at_field = format!("{at}.at");
        match places.first() {
            Some(_) if places.iter().any(|p| p.0 == fault.at) => {}
            Some(first) => edits.push(text_value(&at_field, &first.0)),
            None if !fault.at.is_empty() => edits.push(Edit::remove(at_field)),
            None => {}
        }
        f.edit(edits);
    }
    f.problems(ui, &place);
    let places = place_options(&fault.fault, plant.as_ref());
    let place = format!("{at}.at");
    if !places.is_empty() {
        ui.label(quiet(ui, said("hidden-where")));
        if let Some(picked) = f.pick(ui, &place, said("hidden-where"), &places, &fault.at, width) {
            f.edit(vec![text_value(&place, &picked)]);
        }
    }
    f.problems(ui, &place);
}

fn about_ui(fault: &FaultForm, ui: &mut Ui) {
    let Some(entry) = by_code(&fault.fault) else { return };
    let t = tokens(ui);
    for words in [
        entry.about.said().to_owned(),
        tell!("hidden-reports", reports = entry.reports),
        tell!("hidden-shows", shows = entry.shows),
    ] {
        ui.label(RichText::new(words).font(italic(12.5)).color(t.second_ink));
    }
    let (low, high) = entry.severities;
    ui.label(quiet(ui, tell!("hidden-met", low = low, high = high, names = mistaken_for(entry))));
}

fn mistaken_for(entry: &Fault) -> String {
    let names =
        entry.confused_with.iter().filter_map(|c| by_code(c)).map(|f| tell!("marking-quoted", label = f.name));
    let names: Vec<String> = names.collect();
    if names.is_empty() { said("hidden-nothing-else").to_owned() } else { names.join("; ") }
}

fn severity_ui(f: &mut Form<'_>, place: &str, severity: f64, ui: &mut Ui) {
    ui.label(quiet(
        ui,
        tell!("hidden-severity-said", severity = words::number(severity, 1), words = severity_words(severity)),
    ));
    let mut value = severity;
    let width = ui.available_width();
    let rail = Rail { name: said("hidden-severity"), low: 1.0, high: 5.0, step: 0.1, before: None, width };
    if widgets::rail(ui, &mut value, &rail).changed() {
        f.edit(vec![Edit::set(place, decimal((value * 10.0).round() / 10.0))]);
    }
    f.problems(ui, place);
}

/// A modifier in words.
pub fn modifier_words(modifier: &Modifier) -> String {
    let span = |s: Span| {
        let secs = s.si();
        if secs >= 3600.0 {
            format!("{} h", words::number(secs / 3600.0, 1))
        } else if secs >= 60.0 {
            format!("{} min", words::number(secs / 60.0, 0))
        } else {
            format!("{} s", words::number(secs, 1))
        }
    };
    match *modifier {
        Modifier::AfterRunning { for_time } => {
            tell!("when-after-running", span = span(for_time))
        }
        Modifier::SinceStop { after } => tell!("when-since-stop", span = span(after)),
        Modifier::Level { below } => tell!("when-level", share = format!("{:.0}", below * 100.0)),
        Modifier::Attitude { beyond } => {
            tell!("when-attitude", beyond = format!("{beyond:.0}"))
        }
        Modifier::Progressive { per_hour } => tell!("when-progressive", per_hour = per_hour),
        Modifier::Temperature { when: Threshold::Above(t), .. } => {
            tell!("when-above", celsius = words::number(t.celsius(), 0))
        }
        Modifier::Temperature { when: Threshold::Below(t), .. } => {
            tell!("when-below", celsius = words::number(t.celsius(), 0))
        }
        Modifier::Intermittent { by, share, dwell } => {
            let by = match by {
                Cause::Vibration => said("when-by-vibration"),
                Cause::Flex => said("when-by-flex"),
                Cause::Dwell => said("when-by-itself"),
            };
            tell!("when-intermittent", by = by, share = format!("{:.0}", share * 100.0), dwell = span(dwell))
        }
    }
}

/// One of each kind that can be added: label, and as it begins.
fn kinds() -> [(&'static str, Modifier); 9] {
    let min = |m: f64| Span::from_si(m * 60.0);
    let warm = |when| Modifier::Temperature { when, lag: min(5.0) };
    let shaken = |by| Modifier::Intermittent { by, share: 0.4, dwell: Span::from_si(2.0) };
    [
        (said("when-kind-running"), Modifier::AfterRunning { for_time: min(12.0) }),
        (said("when-kind-standing"), Modifier::SinceStop { after: min(20.0) }),
        (said("when-kind-hot"), warm(Threshold::Above(Temperature::from_celsius(50.0)))),
        (said("when-kind-cold"), warm(Threshold::Below(Temperature::from_celsius(0.0)))),
        (said("when-kind-low"), Modifier::Level { below: 0.25 }),
        (said("when-kind-leaning"), Modifier::Attitude { beyond: 8.0 }),
        (said("when-kind-shaken"), shaken(Cause::Vibration)),
        (said("when-kind-bent"), shaken(Cause::Flex)),
        (said("when-kind-growing"), Modifier::Progressive { per_hour: 0.5 }),
    ]
}

/// When it shows: conditions, their numbers, and a line of time.
pub fn modifiers_ui(f: &mut Form<'_>, at: &str, fault: &FaultForm, ui: &mut Ui) {
    ui.label(quiet(ui, said("when-title")));
    let list = format!("{at}.when");
    if fault.when.is_empty() {
        ui.label(said("when-always"));
    }
    for (i, modifier) in fault.when.iter().enumerate() {
        let place = format!("{list}[{i}]");
        ui.horizontal(|ui| {
            ui.label(modifier_words(modifier));
        });
        ui.horizontal_wrapped(|ui| {
            numbers_ui(f, &place, modifier, ui);
            let out = tell!("when-remove", words = modifier_words(modifier));
            if widgets::small_button(ui, "×", &out, true, "").on_hover_text(&out).clicked() {
                let last = fault.when.len() == 1;
                f.edit(vec![Edit::remove(if last { list.clone() } else { place.clone() })]);
            }
        });
    }
    timeline_ui(&fault.when, ui);
    let options: Vec<(String, String)> =
        kinds().iter().map(|(label, m)| (modifier_written(m), (*label).to_owned())).collect();
    let width = ui.available_width();
    let name = said("when-add-name");
    let mut all = vec![(String::new(), said("when-add").to_owned())];
    all.extend(options);
    if let Some(written) = f.pick(ui, &format!("{list} new"), name, &all, "", width)
        && !written.is_empty()
    {
        f.edit(vec![Edit::insert(&list, fault.when.len(), written)]);
    }
    f.problems_inside(ui, &list);
}

/// Minutes that a line of time shows.
const SHOWN_MIN: f64 = 60.0;

/// Stretch of minutes in which a modifier lets the fault show, and what passes in them; none where time doesn't rule it.
pub fn stretch(modifier: &Modifier) -> Option<(&'static str, f64)> {
    match modifier {
        Modifier::AfterRunning { for_time } => Some((said("when-engine-running"), for_time.si() / 60.0)),
        Modifier::SinceStop { after } => Some((said("when-engine-off"), after.si() / 60.0)),
        _ => None,
    }
}

/// A line of time for each modifier that time rules: where it is thick, the fault shows.
fn timeline_ui(when: &[Modifier], ui: &mut Ui) {
    let t = tokens(ui);
    for (words, from) in when.iter().filter_map(stretch) {
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width() - 8.0, 44.0), Sense::hover());
        let whole = if from < SHOWN_MIN * 0.8 { SHOWN_MIN } else { from * 1.5 };
        let said = tell!("when-timeline", words = words, from = words::number(from, 0));
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, &said));
        let line = rect.with_max_y(rect.top() + 16.0).shrink2(vec2(6.0, 0.0));
        let x = |min: f64| line.left() + (min / whole).clamp(0.0, 1.0) as f32 * line.width();
        let painter = ui.painter();
        painter.hline(line.x_range(), line.center().y, Stroke::new(1.0, t.ink));
        let shows =
            Rect::from_min_max(pos2(x(from), line.center().y - 4.0), pos2(line.right(), line.center().y + 4.0));
        painter.rect_filled(shows, 2, t.second_pen);
        for i in 0..=6 {
            let min = whole * f64::from(i) / 6.0;
            painter.vline(x(min), line.bottom() - 4.0..=line.bottom(), Stroke::new(1.0, t.ink));
            let align =
                [Align2::LEFT_TOP, Align2::CENTER_TOP, Align2::RIGHT_TOP][usize::from(i > 0) + usize::from(i == 6)];
            let font = figures(11.0);
            painter.text(pos2(x(min), line.bottom() + 1.0), align, words::number(min, 0), font, t.second_ink);
        }
        painter.text(rect.left_bottom() + vec2(6.0, 2.0), Align2::LEFT_BOTTOM, words, regular(11.5), t.second_ink);
    }
}

/// The numbers of a modifier. Each writes the whole modifier, so that what is in it stays together.
fn numbers_ui(f: &mut Form<'_>, place: &str, modifier: &Modifier, ui: &mut Ui) {
    let one = |f: &mut Form<'_>, ui: &mut Ui, name: &str, value: f64, make: &dyn Fn(f64) -> Modifier| {
        ui.label(quiet(ui, name));
        f.bare_number(ui, &Number::part(place, name, name, value), None, |v| modifier_written(&make(v)));
    };
    let minutes = |v: f64| Span::from_si(v.max(0.0) * 60.0);
    match *modifier {
        Modifier::AfterRunning { for_time } => one(f, ui, said("when-running"), for_time.si() / 60.0, &|v| {
            Modifier::AfterRunning { for_time: minutes(v) }
        }),
        Modifier::SinceStop { after } => {
            one(f, ui, said("when-standing"), after.si() / 60.0, &|v| Modifier::SinceStop { after: minutes(v) });
        }
        Modifier::Level { below } => {
            one(f, ui, said("when-share-tank"), below * 100.0, &|v| Modifier::Level { below: v / 100.0 });
        }
        Modifier::Attitude { beyond } => {
            one(f, ui, said("when-leaning"), beyond, &|v| Modifier::Attitude { beyond: v })
        }
        Modifier::Progressive { per_hour } => {
            one(f, ui, said("when-growth"), per_hour, &|v| Modifier::Progressive { per_hour: v });
        }
        Modifier::Temperature { when, lag } => {
            let (t, is_above) = match when {
                Threshold::Above(t) => (t, true),
                Threshold::Below(t) => (t, false),
            };
            one(
                f,
                ui,
                if is_above { said("when-above-field") } else { said("when-below-field") },
                t.celsius(),
                &|v| {
                    let t = Temperature::from_celsius(v);
                    Modifier::Temperature {
                        when: if is_above { Threshold::Above(t) } else { Threshold::Below(t) },
                        lag,
                    }
                },
            );
            one(f, ui, said("when-lag"), lag.si() / 60.0, &|v| Modifier::Temperature { when, lag: minutes(v) });
        }
        Modifier::Intermittent { by, share, dwell } => {
            one(f, ui, said("when-share-time"), share * 100.0, &|v| Modifier::Intermittent {
                by,
                share: v / 100.0,
                dwell,
            });
            one(f, ui, said("when-dwell"), dwell.si(), &|v| Modifier::Intermittent {
                by,
                share,
                dwell: Span::from_si(v.max(0.0)),
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Library;

    #[test]
    fn every_condition_that_can_be_added_is_good_and_told_in_words() {
        for (label, modifier) in kinds() {
            assert_eq!(modifier.check(), Ok(()), "{label}");
            assert!(modifier_words(&modifier).ends_with('.'));
        }
        let late = Modifier::AfterRunning { for_time: Span::from_si(720.0) };
        assert_eq!(modifier_words(&late), "Shows once the engine has run for 12 min in all.");
        assert_eq!(stretch(&late), Some(("engine running, min", 12.0)));
    }

    #[test]
    fn only_faults_that_fit_a_vehicle_are_offered_each_with_its_places() {
        let library = Library::builtin();
        let (van, _) = crate::scenario::load_plant(&library, "a1-van").unwrap();
        let offered = fault_options(Some(&van));
        assert!(offered.iter().any(|o| o.0 == "F15") && !offered.iter().any(|o| o.0 == "F18"), "{offered:?}");
        assert_eq!(
            place_options("F15", Some(&van)),
            [("filter".to_owned(), "filter with hand primer (filter)".to_owned())]
        );
        for (code, _) in offered {
            let places = place_options(&code, Some(&van));
            let at = places.first().map_or(String::new(), |p| p.0.clone());
            let form = FaultForm { fault: code.clone(), at, severity: (3.0, 3.0), ..FaultForm::default() };
            let written = format!("Job(hidden: [{}])", crate::scenario::form::fault_written(&form, false));
            assert_eq!(crate::scenario::form::form(&written).unwrap().wrong, [form], "{code}");
        }
    }
}
