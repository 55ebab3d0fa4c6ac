//! The finding: cause, how sure, which lines carry it, own words.

use std::collections::{BTreeMap, BTreeSet};

use bevy_egui::egui::{self, Align2, RichText, Sense, Stroke, Ui, UiBuilder, WidgetInfo, WidgetType, pos2, vec2};

use super::bridge::Intent;
use super::state::Armed;
use super::test_sheet::entry_words;
use super::theme::{TARGET, bold_figures, heading, quiet, regular, semibold, tokens};
use super::widgets::{self, Rail, Weight};
use crate::bay::action::{Action, Finding, RuledOut};
use crate::bay::observation::SheetLine;
use crate::language::{named, said};
use crate::scenario::model::Job;
use crate::tell;

/// Where words begin behind a box to tick, points.
const TICKED: f32 = 30.0;

/// The half-written finding.
#[derive(Clone, Debug, PartialEq)]
pub struct FindingForm {
    /// Candidate.
    pub candidate: Option<usize>,
    /// 50 … 99.
    pub confidence: f64,
    /// Lines that carry it, from 1.
    pub evidence: BTreeSet<usize>,
    /// Candidates that are ruled out, each with the lines that do so, from 1.
    pub ruled_out: BTreeMap<usize, BTreeSet<usize>>,
    /// Own words.
    pub words: String,
    /// "Submit" was pressed once.
    pub asked: Armed,
}

impl Default for FindingForm {
    fn default() -> Self {
        Self {
            candidate: None,
            confidence: 75.0,
            evidence: BTreeSet::new(),
            ruled_out: BTreeMap::new(),
            words: String::new(),
            asked: Armed::default(),
        }
    }
}

impl FindingForm {
    /// The finding, or why it isn't one yet.
    pub fn finding(&self, job: &Job) -> Result<Finding, &'static str> {
        let candidate = self.candidate.and_then(|i| job.candidates.get(i)).ok_or(said("finding-no-cause"))?;
        let rivals = self.ruled_out.iter().filter(|(i, _)| Some(**i) != self.candidate);
        let rivals: Vec<(&usize, &BTreeSet<usize>)> = rivals.collect();
        if rivals.iter().any(|(_, lines)| lines.is_empty()) {
            return Err(said("finding-rival-by-nothing"));
        }
        let ruled_out = rivals.into_iter().filter_map(|(i, lines)| {
            let candidate = job.candidates.get(*i)?.name.clone();
            Some(RuledOut { candidate, lines: lines.iter().copied().collect() })
        });
        Ok(Finding {
            candidate: candidate.name.clone(),
            confidence: self.confidence as u8,
            evidence: self.evidence.iter().copied().collect(),
            ruled_out: ruled_out.collect(),
            words: self.words.trim().to_owned(),
        })
    }
}

/// Draws the form, or the finding that was submitted.
pub fn finding_ui(
    job: &Job,
    lines: &[SheetLine],
    done: Option<&Finding>,
    form: &mut FindingForm,
    over: bool,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    if let Some(finding) = done {
        submitted_ui(job, finding, ui);
        return;
    }
    if over {
        ui.label(quiet(ui, said("finding-none")));
        return;
    }
    let height = ui.available_height() - 44.0;
    widgets::scrolled(ui, "finding", height, |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        ui.label(heading(said("finding-cause")));
        for (i, candidate) in job.candidates.iter().enumerate() {
            if radio(ui, named(&candidate.label), form.candidate == Some(i)) {
                form.candidate = Some(i);
                form.asked.disarm();
            }
        }
        ui.add_space(6.0);
        ui.horizontal(|ui| {
            ui.label(heading(said("finding-sure")));
            let width = ui.available_width() - 84.0;
            let rail =
                Rail { name: said("finding-sure-name"), low: 50.0, high: 99.0, step: 1.0, before: None, width };
            widgets::rail(ui, &mut form.confidence, &rail);
            ui.label(RichText::new(format!("{:.0}\u{a0}%", form.confidence)).font(bold_figures(16.0)));
        });
        evidence_ui(lines, form, ui);
        rivals_ui(job, lines.len(), form, ui);
        ui.add_space(6.0);
        ui.label(heading(said("finding-words")));
        let hint = said("finding-words-hint");
        let edit = egui::TextEdit::multiline(&mut form.words)
            .hint_text(hint)
            .desired_rows(3)
            .desired_width(f32::INFINITY)
            .margin(egui::Margin::symmetric(8, 7));
        let response = ui.add(edit);
        response.widget_info(|| WidgetInfo::labeled(WidgetType::TextEdit, true, said("finding-words")));
    });
    submit_ui(job, form, ui, intents);
}

fn radio(ui: &mut Ui, label: &str, on: bool) -> bool {
    let t = tokens(ui);
    let width = ui.available_width();
    let font = if on { semibold(13.5) } else { regular(13.5) };
    // laid out in the heavier letters it keeps its height when it is chosen
    let high = ui.painter().layout(label.to_owned(), semibold(13.5), t.ink, width - TICKED).size().y + 12.0;
    let galley = ui.painter().layout(label.to_owned(), font, t.ink, width - TICKED);
    let (rect, response) = ui.allocate_exact_size(vec2(width, high.max(TARGET)), Sense::click());
    response.widget_info(|| {
        WidgetInfo::selected(WidgetType::RadioButton, true, on, tell!("finding-cause-said", label = label))
    });
    let painter = ui.painter();
    if on || response.hovered() {
        painter.rect_filled(rect, 4, if on { t.highlight } else { t.ground });
    }
    let at = rect.left_center() + vec2(11.0, 0.0);
    painter.circle(at, 7.0, t.sheet, Stroke::new(1.5, t.ink));
    if on {
        painter.circle_filled(at, 4.0, t.accent);
    }
    painter.galley(pos2(rect.left() + TICKED, rect.center().y - galley.size().y / 2.0), galley, t.ink);
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    response.clicked()
}

fn evidence_ui(lines: &[SheetLine], form: &mut FindingForm, ui: &mut Ui) {
    ui.add_space(6.0);
    ui.label(heading(said("finding-rests")));
    if lines.is_empty() {
        ui.label(quiet(ui, said("finding-sheet-empty")));
    }
    for (i, line) in lines.iter().enumerate() {
        let on = form.evidence.contains(&(i + 1));
        if line_ui(i + 1, line, on, ui) {
            if on {
                form.evidence.remove(&(i + 1));
            } else {
                form.evidence.insert(i + 1);
            }
        }
    }
}

/// Columns of a line of the sheet, as shares of the width: what is written of it, where figures end, the verdict.
const LINE_COLUMNS: [f32; 3] = [0.42, 0.56, 0.72];

/// A line of the sheet that can be ticked: figures under one another, the verdict with its sign.
fn line_ui(number: usize, line: &SheetLine, on: bool, ui: &mut Ui) -> bool {
    let t = tokens(ui);
    let width = ui.available_width();
    let (entry, subject) = (entry_words(line), named(&line.subject));
    let at = LINE_COLUMNS.map(|share| share * width);
    let painter = ui.painter().clone();
    let subject_to = at[0] - TICKED - 4.0;
    let named_line = painter.layout(format!("{number}  {subject}"), regular(13.5), t.ink, subject_to);
    // figures stand in their column; what was seen is words, as wide as there is room
    let (figure, unit) = entry.split_once(' ').filter(|_| line.state.is_some()).unwrap_or((&entry, ""));
    let to = if line.verdict.is_some() { at[2] } else { width };
    let words = match line.state {
        Some(_) => painter.layout_no_wrap(figure.to_owned(), bold_figures(13.5), t.ink),
        None => painter.layout(entry.clone(), regular(13.5), t.ink, to - at[0]),
    };
    let high = named_line.size().y.max(words.size().y) + 12.0;
    let verdict = line.verdict.map_or("", |v| named(v.words()));
    let aloud = format!("{number}  {subject}  {entry}  {verdict}");
    let (rect, clicked) = ticked_row(ui, high, aloud.trim_end(), on);
    let y = rect.center().y;
    painter.galley(pos2(rect.left() + TICKED, y - named_line.size().y / 2.0), named_line, t.ink);
    if line.state.is_some() {
        let end = pos2(rect.left() + at[1], y);
        painter.galley(end - vec2(words.size().x, words.size().y / 2.0), words, t.ink);
        painter.text(end + vec2(5.0, 0.0), Align2::LEFT_CENTER, unit, regular(12.0), t.second_ink);
    } else {
        painter.galley(pos2(rect.left() + at[0], y - words.size().y / 2.0), words, t.ink);
    }
    if let Some(verdict) = line.verdict {
        let colour = widgets::verdict_colour(verdict, t);
        let sign = pos2(rect.left() + at[2] + 6.0, y);
        widgets::verdict_sign(&painter, sign, verdict, colour);
        let words = named(verdict.words());
        painter.text(sign + vec2(11.0, 0.0), Align2::LEFT_CENTER, words, regular(13.5), colour);
    }
    clicked
}

/// Rivals and what rules them out: said here it counts in full, left unsaid by half.
fn rivals_ui(job: &Job, lines: usize, form: &mut FindingForm, ui: &mut Ui) {
    if lines == 0 || form.candidate.is_none() {
        return;
    }
    ui.add_space(8.0);
    ui.label(heading(said("finding-rule-out")));
    for (i, rival) in job.candidates.iter().enumerate().filter(|(i, _)| Some(*i) != form.candidate) {
        let was = form.ruled_out.contains_key(&i);
        if rival_ui(named(&rival.label), was, ui) {
            if was {
                form.ruled_out.remove(&i);
            } else {
                form.ruled_out.insert(i, BTreeSet::new());
            }
        }
        let Some(by) = form.ruled_out.get_mut(&i) else { continue };
        // its lines stand under its name, however many there are
        let whole = ui.available_rect_before_wrap();
        ui.scope_builder(UiBuilder::new().max_rect(whole.with_min_x(whole.left() + TICKED)), |ui| {
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing = vec2(4.0, 4.0);
                ui.label(quiet(ui, said("finding-by-line")));
                for line in 1..=lines {
                    let chosen = by.contains(&line);
                    let name = tell!("finding-line-rules-out", line = line, rival = rival.label);
                    if widgets::toggle_cell(ui, &line.to_string(), &name, chosen) && !by.remove(&line) {
                        by.insert(line);
                    }
                }
            });
        });
        ui.add_space(4.0);
    }
}

/// A candidate that can be ticked as ruled out.
fn rival_ui(label: &str, on: bool, ui: &mut Ui) -> bool {
    let t = tokens(ui);
    let width = ui.available_width();
    let galley = ui.painter().layout(label.to_owned(), regular(13.5), t.ink, width - TICKED);
    let aloud = tell!("finding-ruled-out", rival = label);
    let (rect, clicked) = ticked_row(ui, galley.size().y + 12.0, &aloud, on);
    ui.painter().galley(pos2(rect.left() + TICKED, rect.center().y - galley.size().y / 2.0), galley, t.ink);
    clicked
}

/// A row as wide as the form with a box to tick, and whether it was pressed.
fn ticked_row(ui: &mut Ui, high: f32, aloud: &str, on: bool) -> (egui::Rect, bool) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), high.max(TARGET)), Sense::click());
    response.widget_info(|| WidgetInfo::selected(WidgetType::Checkbox, ui.is_enabled(), on, aloud));
    if response.hovered() {
        ui.painter().rect_filled(rect, 4, tokens(ui).ground);
    }
    widgets::tick_box(ui, pos2(rect.left() + 11.0, rect.center().y), on, response.hovered());
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    (rect, response.clicked())
}

fn submit_ui(job: &Job, form: &mut FindingForm, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let finding = form.finding(job);
    let why = finding.as_ref().err().copied().unwrap_or("");
    ui.horizontal_wrapped(|ui| {
        if !form.asked.is_armed() {
            if widgets::button(ui, Weight::Primary, said("finding-submit"), "", why.is_empty(), why).clicked() {
                form.asked.arm();
            }
            ui.label(quiet(ui, if why.is_empty() { said("finding-final") } else { why }));
            return;
        }
        if form.evidence.is_empty() {
            widgets::mark_ui(widgets::Mark::Caution, ui);
            ui.label(RichText::new(said("finding-no-lines")).font(regular(13.0)).color(tokens(ui).caution));
        }
        if widgets::button(ui, Weight::Primary, said("finding-submit-yes"), "", why.is_empty(), why).clicked()
            && let Ok(finding) = finding
        {
            form.asked.disarm();
            intents.push(Intent::Do(Action::Submit { finding }));
        }
        if widgets::button(ui, Weight::Plain, said("not-yet"), "", true, "").clicked() {
            form.asked.disarm();
        }
        ui.ctx().request_repaint_after(core::time::Duration::from_secs(1));
    });
}

fn submitted_ui(job: &Job, finding: &Finding, ui: &mut Ui) {
    let label = job.candidate(&finding.candidate).map_or(finding.candidate.as_str(), |c| named(&c.label));
    ui.label(heading(said("finding-submitted")));
    ui.label(RichText::new(label).font(semibold(16.0)));
    ui.label(quiet(ui, tell!("finding-sure-said", sure = finding.confidence)));
    if !finding.evidence.is_empty() {
        let lines: Vec<String> = finding.evidence.iter().map(usize::to_string).collect();
        ui.label(quiet(ui, tell!("finding-rests-on", count = lines.len(), lines = lines.join(", "))));
    }
    for rival in &finding.ruled_out {
        let label = job.candidate(&rival.candidate).map_or(rival.candidate.as_str(), |c| named(&c.label));
        let lines: Vec<String> = rival.lines.iter().map(usize::to_string).collect();
        ui.label(quiet(
            ui,
            tell!("finding-rules-out", count = lines.len(), label = label, lines = lines.join(", ")),
        ));
    }
    if !finding.words.is_empty() {
        ui.label(&finding.words);
    }
}
