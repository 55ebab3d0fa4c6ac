//! The job card: complaint, facts, questions to the customer, the vehicle card with its limits.

use std::collections::BTreeSet;

use bevy_egui::egui::{RichText, Sense, Ui, WidgetInfo, WidgetType, vec2};

use super::bridge::Intent;
use super::pictures::pictures_ui;
use super::theme::{figures, heading, italic, quiet, regular, remark, semibold, tokens};
use super::widgets::{self, listed_ui};
use super::words::{TRAINING_VALUES, range_in};
use crate::bay::action::Action;
use crate::language::{named, said};
use crate::scenario::model::{Job, Limit};
use crate::tell;
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
    ui.label(RichText::new(named(&job.title)).font(semibold(18.0)));
    ui.label(quiet(ui, format!("{} · {}", named(&job.customer), named(&job.plant.title))));
    ui.add_space(4.0);
    ui.label(RichText::new(tell!("quoted", words = job.complaint)).font(italic(15.5)));
    ui.add_space(4.0);
    for fact in &job.facts {
        listed_ui(named(fact), ui);
    }
    pictures_ui(&job.pictures, ui);
    questions_ui(job, asked, over, ui, intents);
    limits_ui(job, unit, ui);
    if !job.goals.is_empty() {
        ui.add_space(8.0);
        ui.label(heading(said("card-goals")));
        for goal in &job.goals {
            listed_ui(named(goal), ui);
        }
    }
}

fn questions_ui(job: &Job, asked: &BTreeSet<String>, over: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    if job.questions.is_empty() {
        return;
    }
    ui.add_space(8.0);
    ui.label(heading(said("card-ask-heading")));
    for question in &job.questions {
        if asked.contains(&question.name) {
            ui.label(RichText::new(named(&question.ask)).font(regular(13.5)));
            ui.label(
                RichText::new(tell!("quoted", words = question.answer)).font(italic(13.5)).color(tokens(ui).accent),
            );
        } else {
            let width = ui.available_width();
            let name = tell!("card-ask", question = question.ask);
            if widgets::row_button(ui, width, named(&question.ask), &name, !over, said("card-over")).clicked() {
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
    ui.label(heading(said("vehicle-card")));
    for (name, label) in &job.joints {
        let here: Vec<&Limit> = job.limits.iter().filter(|l| l.joint == *name).collect();
        if here.is_empty() {
            continue;
        }
        ui.label(RichText::new(named(label)).font(semibold(13.0)));
        for limit in here {
            limit_ui(limit, unit, ui);
        }
    }
    ui.label(remark(ui, TRAINING_VALUES));
}

/// A limit: state, range, and in words what it means; the words go on under themselves where there is little room.
fn limit_ui(limit: &Limit, unit: PressureUnit, ui: &mut Ui) {
    let t = tokens(ui);
    let width = ui.available_width();
    let range = format!("{} {}", range_in(limit.low_mbar, limit.high_mbar, unit), unit.symbol());
    let state = ui.painter().layout_no_wrap(named(limit.state.word()).to_owned(), regular(13.0), t.ink);
    let range = ui.painter().layout_no_wrap(range, figures(13.0), t.ink);
    let at = [0.0, 86.0, 86.0 + range.size().x.max(130.0) + 14.0];
    let words =
        ui.painter().layout(named(&limit.words).to_owned(), regular(12.5), t.second_ink, (width - at[2]).max(60.0));
    let aloud = format!("{}: {} {}", named(limit.state.word()), range.text(), named(&limit.words));
    let (rect, response) = ui.allocate_exact_size(vec2(width, words.size().y.max(18.0)), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, aloud.trim()));
    for (x, galley) in at.into_iter().zip([state, range, words]) {
        ui.painter().galley(rect.min + vec2(x, 0.0), galley, t.second_ink);
    }
}
