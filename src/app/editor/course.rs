//! The form of a course: what it is called, for whom, and its jobs in the order in which they are sat.

use bevy_egui::egui::{RichText, Ui};

use super::card::titles;
use super::fields::{Form, text_value};
use crate::app::theme::{quiet, semibold};
use crate::app::widgets;
use crate::language::said;
use crate::scenario::patch::{Edit, quoted};
use crate::scenario::vehicle_form::CourseForm;
use crate::scenario::{Kind, Library};
use crate::tell;

/// Title and aim.
pub fn course_ui(f: &mut Form<'_>, course: &CourseForm, ui: &mut Ui) {
    f.heading(ui, said("setting-course"), said("course-lead"));
    f.words(ui, "title", said("course-title"), &course.title, said("course-title-hint"), 1);
    let hint = said("course-aim-hint");
    f.words(ui, "aim", said("course-aim"), &course.aim, hint, 4);
}

/// Its jobs.
pub fn stages_ui(f: &mut Form<'_>, course: &CourseForm, library: &Library, ui: &mut Ui) {
    f.heading(ui, said("section-stages"), said("stages-lead"));
    let jobs = titles(library, Kind::Job);
    let label = |name: &str| jobs.iter().find(|j| j.0 == name).map_or(name.to_owned(), |j| j.1.clone());
    let count = course.stages.len();
    for (i, stage) in course.stages.iter().enumerate() {
        let at = format!("jobs[{i}]");
        ui.add_space(4.0);
        ui.horizontal(|ui| {
            ui.label(RichText::new(tell!("stages-n", n = i + 1)).font(semibold(13.5)));
            f.row_buttons(ui, "jobs", said("text-job"), i, count);
        });
        let width = ui.available_width();
        let place = format!("{at}.job");
        if let Some(picked) = f.pick(ui, &place, &tell!("stages-job-name", n = i + 1), &jobs, &stage.job, width) {
            f.edit(vec![text_value(&place, &picked)]);
        }
        f.problems(ui, &place);
        let name = tell!("stages-why-name", n = i + 1);
        f.words(ui, &format!("{at}.aim"), &name, &stage.aim, said("stages-why-hint"), 1);
        let place = format!("{at}.after");
        for earlier in &course.stages[..i] {
            let mut needed = stage.after.contains(&earlier.job);
            if ui.checkbox(&mut needed, tell!("stages-after", job = label(&earlier.job))).changed() {
                let kept = stage.after.iter().filter(|a| **a != earlier.job).cloned();
                let after: Vec<String> = kept.chain(needed.then(|| earlier.job.clone())).collect();
                let list: Vec<String> = after.iter().map(|a| quoted(a)).collect();
                f.edit(vec![match list.is_empty() {
                    true => Edit::remove(&place),
                    false => Edit::set(&place, format!("[{}]", list.join(", "))),
                }]);
            }
        }
        f.problems_inside(ui, &place);
        f.problems(ui, &at);
    }
    ui.add_space(6.0);
    let free = jobs.iter().find(|j| !course.stages.iter().any(|s| s.job == j.0));
    let Some((job, _)) = free else {
        ui.label(quiet(ui, said("stages-all-there")));
        return;
    };
    let entry = format!("(job: {}, aim: {})", quoted(job), quoted("Say why it comes here."));
    let words = said("stages-add");
    if widgets::button(ui, widgets::Weight::Plain, words, words, true, "").clicked() {
        f.edit(vec![Edit::insert("jobs", count, entry)]);
        f.orders.push(super::Order::Focus(format!("jobs[{count}].aim")));
    }
    f.problems(ui, "jobs");
}
