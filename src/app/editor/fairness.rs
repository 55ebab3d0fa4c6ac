//! Whether the job is fair, in a teacher's words: can the cause be found, by what way, and what should be changed.

use bevy_egui::egui::{RichText, ScrollArea, Ui};

use super::{Editor, Order};
use crate::app::theme::{heading, italic, quiet, regular, semibold, tokens};
use crate::app::widgets::{self, Mark};
use crate::authoring::diagnosability::{Diagnosability, Weight};
use crate::authoring::route::{Node, Step};
use crate::language::said;
use crate::tell;

/// How many tests of the way of sound work are told.
const STEPS: usize = 6;

/// The verdict in a sentence.
pub fn verdict(found: &Diagnosability) -> &'static str {
    match found.gravest() {
        Some(Weight::Unfair) => said("fair-verdict-unfair"),
        Some(Weight::NotForAssessment) => said("fair-verdict-practice"),
        _ => said("fair-verdict-fair"),
    }
}

fn in_100(share: f64) -> String {
    tell!("fair-in-100", share = format!("{:.0}", share * 100.0))
}

/// What there is to say, as sentences.
pub fn sentences(found: &Diagnosability) -> Vec<String> {
    let mut all = vec![];
    if let Some(truth) = found.truth {
        let (label, alone) = (&found.labels[truth], in_100(found.alone));
        let others = found.counts_as_hidden();
        if others.len() + 1 == found.labels.len() {
            all.push(tell!("fair-all-one", label = label, alone = alone));
        } else {
            all.push(tell!("fair-attainable", label = label, share = in_100(found.attainable)));
            if !others.is_empty() {
                let quoted = |c: &usize| tell!("marking-quoted", label = found.labels[*c]);
                let others = others.iter().map(quoted).collect::<Vec<_>>().join(", ");
                all.push(tell!("fair-counts", others = others, label = label, alone = alone));
            }
        }
    }
    all.push(tell!("fair-par", minutes = format!("{:.0}", found.par.0), credits = format!("{:.0}", found.par.1)));
    let [random, middling, greedy] = found.skills;
    all.push(tell!("fair-skills", random = in_100(random), middling = in_100(middling), greedy = in_100(greedy)));
    all
}

/// Pairs that can't be told apart, and what would tell them.
pub fn alike(found: &Diagnosability) -> Vec<String> {
    let label = |c: usize| tell!("marking-quoted", label = found.labels[c]);
    let one = |a: &crate::authoring::diagnosability::Alike| {
        let mut would = a.would.as_ref().map_or(said("fair-would-none").to_owned(), |w| tell!("fair-would", w = w));
        if let Some(from) = a.from {
            would = format!("{would} {}", tell!("fair-told-from", severity = from.to_string()));
        }
        tell!(
            "fair-alike-row",
            a = label(a.pair.0),
            b = label(a.pair.1),
            share = in_100(a.mistaken),
            because = a.because,
            would = would
        )
    };
    found.alike.iter().map(one).collect()
}

/// Whole minutes; less than half of one isn't none.
fn whole(minutes: f64) -> String {
    if minutes < 0.5 { said("fair-under-one").to_owned() } else { format!("{minutes:.0}") }
}

/// The way of sound work along its likeliest outcomes.
pub fn way(found: &Diagnosability) -> Vec<String> {
    let mut all = vec![];
    let mut node: &Node = &found.route.root;
    while let Some(Step { test, minutes, branches, .. }) = &node.next {
        let Some((outcome, next)) = branches.iter().max_by(|a, b| a.1.share.total_cmp(&b.1.share)) else { break };
        all.push(tell!("fair-way-row", test = test, minutes = whole(*minutes), outcome = outcome));
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
        let aloud = tell!("fair-share", share = format!("{:.0}", task.share() * 100.0));
        ui.label(heading(said("fair-title")));
        widgets::progress(ui, task.share(), &aloud);
        ui.label(aloud);
        ui.label(quiet(ui, said("fair-meanwhile")));
        if widgets::button(ui, widgets::Weight::Plain, said("fair-stop"), said("fair-stop-name"), true, "")
            .clicked()
        {
            orders.push(Order::StopFair);
        }
        return;
    }
    if let Some(why) = &state.trouble {
        ui.label(RichText::new(why).font(regular(13.5)).color(t.critical));
    }
    let why = if editor.proof.job.is_some() { "" } else { said("fair-job-error") };
    let Some((of, found)) = &state.found else {
        ui.label(heading(said("fair-title")));
        ui.label(said("fair-lead"));
        let words = said("fair-check");
        if widgets::button(ui, widgets::Weight::Primary, words, said("fair-check-now"), why.is_empty(), why)
            .clicked()
        {
            orders.push(Order::Fair);
        }
        return;
    };
    ScrollArea::vertical().id_salt("fairness").auto_shrink([false, false]).show(ui, |ui| {
        if *of != editor.draft.revision() {
            ui.label(quiet(ui, said("fair-changed")));
            if widgets::small_button(ui, said("fair-again"), said("fair-again-name"), why.is_empty(), why).clicked()
            {
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
    ui.label(heading(said("fair-lints")));
    if found.lints.is_empty() {
        ui.label(said("fair-no-lints"));
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
    part_ui(said("fair-alike"), &alike(found), said("fair-no-alike"), ui);
    part_ui(said("fair-way"), &way(found), said("fair-nothing-tells"), ui);
    let mut tests: Vec<_> = found.tests.iter().collect();
    tests.sort_by(|a, b| (b.bits / b.minutes.max(0.1)).total_cmp(&(a.bits / a.minutes.max(0.1))));
    let best: Vec<String> =
        tests.iter().take(5).map(|t| tell!("fair-best-row", test = t.words, minutes = whole(t.minutes))).collect();
    part_ui(said("fair-best"), &best, said("fair-no-best"), ui);
    ui.label(quiet(ui, tell!("fair-vehicles", n = found.vehicles)));
}

fn part_ui(title: &str, all: &[String], none: &str, ui: &mut Ui) {
    ui.add_space(6.0);
    ui.label(heading(title));
    if all.is_empty() {
        ui.label(none);
    }
    for words in all {
        widgets::listed_ui(words, ui);
    }
}
