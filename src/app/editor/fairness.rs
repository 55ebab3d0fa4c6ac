//! Whether the job is fair, in a teacher's words: can the cause be found, by what way, and what should be changed.

use bevy_egui::egui::{ProgressBar, RichText, ScrollArea, Ui, WidgetInfo, WidgetType};

use super::{Editor, Order};
use crate::app::theme::{heading, italic, quiet, regular, semibold, tokens};
use crate::app::widgets::{self, Mark};
use crate::authoring::diagnosability::{Diagnosability, Weight};
use crate::authoring::route::{Node, Step};

/// How many tests of the way of sound work are told.
const STEPS: usize = 6;

/// The verdict in a sentence.
pub fn verdict(found: &Diagnosability) -> &'static str {
    match found.gravest() {
        Some(Weight::Unfair) => "This job isn't fair as it is.",
        Some(Weight::NotForAssessment) => "Good for practice; not to assess with.",
        _ => "This job is fair.",
    }
}

fn in_100(share: f64) -> String {
    format!("{:.0} in 100", share * 100.0)
}

/// What there is to say, as sentences.
pub fn sentences(found: &Diagnosability) -> Vec<String> {
    let mut all = vec![];
    if let Some(truth) = found.truth {
        all.push(format!(
            "Somebody who makes every test can be sure of \u{201c}{}\u{201d} to {} (60 are needed).",
            found.labels[truth],
            in_100(found.attainable)
        ));
    }
    all.push(format!(
        "Par: {:.0} marked minutes and {:.0} credits, with the right part.",
        found.par.0, found.par.1
    ));
    let [random, middling, greedy] = found.skills;
    all.push(format!(
        "Of simulated learners, {} solve it who take any test, {} of middling ones, {} of those who choose well.",
        in_100(random),
        in_100(middling),
        in_100(greedy)
    ));
    all
}

/// Pairs that can't be told apart, and what would tell them.
pub fn alike(found: &Diagnosability) -> Vec<String> {
    let label = |c: usize| format!("\u{201c}{}\u{201d}", found.labels[c]);
    let one = |a: &crate::authoring::diagnosability::Alike| {
        let would =
            a.would.as_ref().map_or("No test that there is would tell.".to_owned(), |w| format!("The {w} would."));
        format!(
            "{} and {}: {} are mistaken for the other; {}. {would}",
            label(a.pair.0),
            label(a.pair.1),
            in_100(a.mistaken),
            a.because
        )
    };
    found.alike.iter().map(one).collect()
}

/// The way of sound work along its likeliest outcomes.
pub fn way(found: &Diagnosability) -> Vec<String> {
    let mut all = vec![];
    let mut node: &Node = &found.route.root;
    while let Some(Step { test, minutes, branches, .. }) = &node.next {
        let Some((outcome, next)) = branches.iter().max_by(|a, b| a.1.share.total_cmp(&b.1.share)) else { break };
        all.push(format!("{test} ({minutes:.0} min); most often: {outcome}"));
        node = next;
        if all.len() == STEPS {
            break;
        }
    }
    all
}

/// Draws it.
pub fn fairness_ui(editor: &Editor, ui: &mut Ui, orders: &mut Vec<Order>) {
    let state = &editor.fair;
    let t = tokens(ui);
    if let Some(task) = &state.task {
        let said = format!("Simulating learners and vehicles: {:.0} in 100 done", task.share() * 100.0);
        ui.label(heading("Is it fair?"));
        let bar = ui.add(ProgressBar::new(task.share()).desired_height(12.0));
        bar.widget_info(|| WidgetInfo::labeled(WidgetType::ProgressIndicator, true, &said));
        ui.label(said);
        ui.label(quiet(
            ui,
            "Half a minute for a van with diesel, longer for petrol. You can go on writing meanwhile.",
        ));
        if widgets::button(ui, widgets::Weight::Plain, "Stop", "Stop the check of fairness", true, "").clicked() {
            orders.push(Order::StopFair);
        }
        return;
    }
    if let Some(why) = &state.trouble {
        ui.label(RichText::new(why).font(regular(13.5)).color(t.critical));
    }
    let why = if editor.proof.job.is_some() { "" } else { "the job has an error" };
    let Some((of, found)) = &state.found else {
        ui.label(heading("Is it fair?"));
        ui.label("Several hundred vehicles and learners who don't exist are put through the job. It tells whether the cause can be \
                  found with what is allowed, what can't be told apart, and what to change.");
        let words = "Check fairness";
        if widgets::button(ui, widgets::Weight::Primary, words, "Check fairness now", why.is_empty(), why).clicked()
        {
            orders.push(Order::Fair);
        }
        return;
    };
    ScrollArea::vertical().id_salt("fairness").auto_shrink([false, false]).show(ui, |ui| {
        if *of != editor.draft.revision() {
            ui.label(quiet(ui, "The job was changed since this was found."));
            if widgets::small_button(ui, "Check it again", "Check fairness again", why.is_empty(), why).clicked() {
                orders.push(Order::Fair);
            }
        }
        found_ui(found, ui);
    });
}

fn found_ui(found: &Diagnosability, ui: &mut Ui) {
    let t = tokens(ui);
    ui.horizontal(|ui| {
        let sign = match found.gravest() {
            Some(Weight::Unfair) => Mark::Cross,
            Some(Weight::NotForAssessment) => Mark::Caution,
            _ => Mark::Tick,
        };
        widgets::mark_ui(sign, ui);
        ui.label(RichText::new(verdict(found)).font(semibold(16.0)));
    });
    for words in sentences(found) {
        ui.label(words);
    }
    ui.add_space(6.0);
    ui.label(heading("What to know and to change"));
    if found.lints.is_empty() {
        ui.label("Nothing.");
    }
    for lint in &found.lints {
        ui.horizontal_top(|ui| {
            widgets::mark_ui(if lint.weight == Weight::Unfair { Mark::Cross } else { Mark::Caution }, ui);
            ui.vertical(|ui| {
                ui.label(&lint.says);
                ui.label(RichText::new(&lint.advice).font(italic(13.5)).color(t.accent));
            });
        });
    }
    part_ui("What can't be told apart", &alike(found), "Every candidate can be told from every other.", ui);
    part_ui("The way of sound work, most often", &way(found), "No test tells anything.", ui);
    let mut tests: Vec<_> = found.tests.iter().collect();
    tests.sort_by(|a, b| (b.bits / b.minutes.max(0.1)).total_cmp(&(a.bits / a.minutes.max(0.1))));
    let best: Vec<String> =
        tests.iter().take(5).map(|t| format!("{}: {:.0} min from cold", t.words, t.minutes)).collect();
    part_ui("Tests that tell most for their minutes", &best, "None.", ui);
    ui.label(quiet(ui, format!("{} simulated vehicles. They know the model, not the trade.", found.vehicles)));
}

fn part_ui(title: &str, all: &[String], none: &str, ui: &mut Ui) {
    ui.add_space(6.0);
    ui.label(heading(title));
    if all.is_empty() {
        ui.label(none);
    }
    for words in all {
        ui.label(RichText::new(format!("–  {words}")).font(regular(13.5)));
    }
}
