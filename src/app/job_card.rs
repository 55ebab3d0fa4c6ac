//! The job card: complaint, facts, questions to the customer, the vehicle card with its limits.

use std::collections::BTreeSet;

use bevy_egui::egui::{Grid, RichText, Ui};

use super::bridge::Intent;
use super::theme::{figures, heading, italic, quiet, regular, remark, semibold, tokens};
use super::widgets;
use super::words::{TRAINING_VALUES, range_in};
use crate::bay::action::Action;
use crate::scenario::model::{Job, Limit};
use crate::units::PressureUnit;

/// Draws the card.
pub fn job_card_ui(
    job: &Job,
    asked: &BTreeSet<String>,
    unit: PressureUnit,
    over: bool,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    ui.label(RichText::new(&job.title).font(semibold(18.0)));
    ui.label(quiet(ui, format!("{} · {}", job.customer, job.plant.title)));
    ui.add_space(4.0);
    ui.label(RichText::new(format!("“{}”", job.complaint)).font(italic(15.5)));
    ui.add_space(4.0);
    for fact in &job.facts {
        ui.label(RichText::new(format!("–  {fact}")).font(regular(13.5)));
    }
    questions_ui(job, asked, over, ui, intents);
    limits_ui(job, unit, ui);
    if !job.goals.is_empty() {
        ui.add_space(8.0);
        ui.label(heading("What this job is for"));
        for goal in &job.goals {
            ui.label(RichText::new(goal).font(regular(13.5)));
        }
    }
}

fn questions_ui(job: &Job, asked: &BTreeSet<String>, over: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    if job.questions.is_empty() {
        return;
    }
    ui.add_space(8.0);
    ui.label(heading("Ask the customer"));
    for question in &job.questions {
        if asked.contains(&question.name) {
            ui.label(RichText::new(&question.ask).font(regular(13.5)));
            ui.label(RichText::new(format!("“{}”", question.answer)).font(italic(13.5)).color(tokens(ui).accent));
        } else {
            let width = ui.available_width();
            let name = format!("Ask: {}", question.ask);
            if widgets::row_button(ui, width, &question.ask, &name, !over, "the vehicle was handed back").clicked()
            {
                intents.push(Intent::Do(Action::Ask { question: question.name.clone() }));
            }
        }
    }
}

fn limits_ui(job: &Job, unit: PressureUnit, ui: &mut Ui) {
    if job.limits.is_empty() {
        return;
    }
    ui.add_space(8.0);
    ui.label(heading("Vehicle card"));
    for (name, label) in &job.joints {
        let here: Vec<&Limit> = job.limits.iter().filter(|l| l.joint == *name).collect();
        if here.is_empty() {
            continue;
        }
        ui.label(RichText::new(label).font(semibold(13.0)));
        Grid::new(("limits", name)).num_columns(3).spacing([14.0, 2.0]).min_row_height(18.0).show(ui, |ui| {
            for limit in here {
                ui.label(RichText::new(limit.state.word()).font(regular(13.0)));
                let range = range_in(limit.low_mbar, limit.high_mbar, unit);
                ui.label(RichText::new(format!("{range} {}", unit.symbol())).font(figures(13.0)));
                ui.label(quiet(ui, &limit.words));
                ui.end_row();
            }
        });
    }
    ui.label(remark(ui, TRAINING_VALUES));
}
