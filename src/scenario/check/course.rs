//! A course, held against the jobs that it names.

use super::page::{LONGEST_LINE, LONGEST_TEXT, Page};
use crate::diag::{Report, id, quotable};
use crate::scenario::library::{Kind, Library};
use crate::scenario::model::{Course, Stage};
use crate::scenario::parse;
use crate::scenario::raw::RawCourse;
use crate::scenario::source::At;

/// Reads and checks a course.
pub(in crate::scenario) fn course(
    file: &str,
    text: &str,
    name: &str,
    library: &Library,
    report: &mut Report,
) -> Option<Course> {
    let read = parse::read::<RawCourse>(file, text, report)?;
    let mut found = Report::new();
    let mut page = Page { file, report: &mut found };
    let (root, raw) = (read.source.root(), read.value.clone());
    page.text(root.field("title"), "the title", &raw.title, LONGEST_LINE);
    page.text(root.field("aim"), "the aim", &raw.aim, LONGEST_TEXT);
    let jobs = root.field("jobs");
    if raw.jobs.is_empty() {
        page.say(page.at(id::COURSE_ORDER, jobs.head(), "a course without jobs").label("nothing to sit"));
    }
    let names: Vec<&str> = raw.jobs.iter().map(|s| s.job.as_str()).collect();
    page.unique(jobs, "job", "jobs of the course", names.iter().copied());
    let mut levels = vec![];
    for (i, stage) in raw.jobs.iter().enumerate() {
        let here = jobs.item(i);
        page.text(here.field("aim"), "the aim", &stage.aim, LONGEST_TEXT);
        levels.push(known(&mut page, here, &stage.job, library));
        order(&mut page, here.field("after"), &stage.after, &names, i);
    }
    for (i, pair) in levels.windows(2).enumerate() {
        if let [Some(before), Some(after)] = pair
            && after < before
        {
            let here = jobs.item(i + 1);
            let message = format!("{:?} ({}) comes after a job for {}s", names[i + 1], after.word(), before.word());
            page.say(
                page.at(id::LEVEL_DROPS, here.field("job").span(), message)
                    .label("easier than the one before")
                    .help("put it earlier, or give one of the two another level"),
            );
        }
    }
    report.merge_where(found, |d| read.is_the_authors(d));
    let stages = raw.jobs.into_iter().map(|s| Stage { job: s.job, aim: s.aim, after: s.after }).collect();
    let course = Course { name: name.to_owned(), title: raw.title, aim: raw.aim, stages };
    (read.whole && !report.has_errors()).then_some(course)
}

/// The job's level, where it can be read.
fn known(page: &mut Page<'_>, at: At<'_>, name: &str, library: &Library) -> Option<crate::scenario::model::Level> {
    let Some((file, text)) = library.entry(Kind::Job, name) else {
        page.say(
            page.at(id::UNKNOWN_JOB, at.field("job").span(), format!("no job is called {:?}", quotable(name)))
                .label("no file of that name in \"jobs\"")
                .among(name, library.names(Kind::Job)),
        );
        return None;
    };
    // whether the job itself is sound is told when the job is checked
    let job = parse::read::<crate::scenario::raw::RawJob>(file, text, &mut Report::new())?;
    Some(job.value.level.unwrap_or_default())
}

/// What comes before a job stands before it in the list.
fn order(page: &mut Page<'_>, at: At<'_>, after: &[String], names: &[&str], own: usize) {
    for (k, before) in after.iter().enumerate() {
        let words = match names.iter().position(|n| n == before) {
            Some(place) if place < own => continue,
            Some(place) if place == own => "a job can't come after itself",
            Some(_) => "this job comes later in the course",
            None => "this job isn't in the course",
        };
        page.say(
            page.at(id::COURSE_ORDER, at.item(k).span(), format!("{words}: {:?}", quotable(before)))
                .label("can't be sat before")
                .among(before, names[..own].iter().copied()),
        );
    }
}
