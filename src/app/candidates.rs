//! Candidates: 100 points shared over what may be the cause.

use std::collections::BTreeMap;

use bevy_egui::egui::{Align, Align2, Layout, Rect, RichText, ScrollArea, Sense, Ui, UiBuilder, pos2, vec2};

use super::bridge::Intent;
use super::theme::{bold_figures, figures, heading, quiet, regular, remark, tokens};
use super::widgets::{self, Rail, Weight};
use crate::bay::action::Action;
use crate::language::{named, said};
use crate::scenario::model::Job;

/// Points on the rails.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CandidatesState {
    /// Points as they stand on the rails; they always sum to 100.
    pub points: Vec<u8>,
    /// Points of the last statement.
    pub last: Option<Vec<u8>>,
}

impl CandidatesState {
    /// Equal shares, when nothing stands there yet.
    pub fn ready(&mut self, count: usize) {
        if self.points.len() != count {
            self.points = equal(count);
        }
    }

    /// These points were stated.
    pub fn stated(&mut self, points: Vec<u8>) {
        self.last = Some(points.clone());
        self.points = points;
    }
}

/// 100 points in shares as equal as whole numbers allow.
pub fn equal(count: usize) -> Vec<u8> {
    if count == 0 {
        return Vec::new();
    }
    (0..count).map(|i| (100 / count + usize::from(i < 100 % count)) as u8).collect()
}

/// Gives candidate `i` the points `new`; the others give or take in proportion to what they have, so
/// that the sum stays 100.
pub fn share(points: &mut [u8], i: usize, new: u8) {
    if points.len() < 2 || i >= points.len() {
        return;
    }
    let new = new.min(100);
    let rest = 100 - u32::from(new);
    let others: u32 = points.iter().enumerate().filter(|(k, _)| *k != i).map(|(_, p)| u32::from(*p)).sum();
    points[i] = new;
    let count = points.len() as u32 - 1;
    let mut given = 0;
    // largest remainder, ties to the earlier candidate
    let mut remainders: Vec<(u32, usize)> = Vec::new();
    for (k, p) in points.iter_mut().enumerate() {
        if k == i {
            continue;
        }
        let part = u32::from(*p) * rest;
        let (whole, left) = match (part.checked_div(others), part.checked_rem(others)) {
            (Some(whole), Some(left)) => (whole, left),
            // nobody else has a point: what is left is shared alike
            _ => (rest / count, rest % count),
        };
        *p = whole as u8;
        given += whole;
        remainders.push((left, k));
    }
    remainders.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    for (_, k) in remainders.into_iter().take((rest - given) as usize) {
        points[k] += 1;
    }
}

/// Draws rails and statement.
pub fn candidates_ui(job: &Job, state: &mut CandidatesState, over: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    state.ready(job.candidates.len());
    // a low page is scrolled as a whole
    let height = ui.available_height();
    let part = if height < 300.0 { height } else { height - 120.0 };
    let low = height < 300.0;
    let area = ScrollArea::vertical().id_salt("rails").max_height(part).auto_shrink([false, !low]);
    let shown = area.show(ui, |ui| {
        ui.set_max_width(ui.available_width().min(widgets::LONGEST_LINES));
        ui.label(quiet(ui, said("candidates-share")));
        ui.add_space(4.0);
        ui.add_enabled_ui(!over, |ui| {
            for (i, candidate) in job.candidates.iter().enumerate() {
                ui.horizontal(|ui| rail_ui(i, named(&candidate.label), false, state, ui));
            }
        });
        if low {
            state_ui(job, state, over, ui, intents);
        }
    });
    widgets::edges(&shown, ui);
    if !low {
        state_ui(job, state, over, ui, intents);
    }
}

/// The sum, and what is done with the points.
fn state_ui(job: &Job, state: &mut CandidatesState, over: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    ui.set_max_width(ui.available_width().min(widgets::LONGEST_LINES));
    ui.horizontal(|ui| sum_ui(state, ui));
    if !over {
        ui.horizontal_wrapped(|ui| state_buttons(job, state, ui, intents));
    }
}

/// What the dashed ticks are, and the sum at the right edge.
fn sum_ui(state: &CandidatesState, ui: &mut Ui) {
    let sum: u32 = state.points.iter().map(|p| u32::from(*p)).sum();
    // before anything was stated no tick is dashed
    let words = if state.last.is_some() { said("candidates-dashed") } else { "" };
    ui.label(remark(ui, words));
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        ui.add_space(6.0);
        ui.label(RichText::new(format!("{sum}")).font(figures(14.0)).color(tokens(ui).second_ink));
    });
}

fn state_buttons(job: &Job, state: &mut CandidatesState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let same = state.last.as_ref() == Some(&state.points);
    let why = said("candidates-stated-already");
    if widgets::button(ui, Weight::Primary, said("candidates-state"), "", !same, why).clicked() {
        let points: BTreeMap<String, u8> =
            job.candidates.iter().zip(&state.points).map(|(c, p)| (c.name.clone(), *p)).collect();
        intents.push(Intent::Do(Action::Believe { points }));
    }
    if widgets::button(ui, Weight::Plain, said("candidates-equal"), "", true, "").clicked() {
        state.points = equal(job.candidates.len());
    }
}

/// The name of a candidate, its rail and its points; beside the rail, or over it where columns are narrow.
fn rail_ui(i: usize, label: &str, over: bool, state: &mut CandidatesState, ui: &mut Ui) {
    let t = tokens(ui);
    let width = ui.available_width();
    let text_width = if over { width } else { (width * 0.46).min(230.0) };
    let galley = ui.painter().layout(label.to_owned(), regular(13.5), t.ink, text_width - 4.0);
    let high = if over { galley.size().y } else { galley.size().y.max(38.0) };
    let (rect, _) = ui.allocate_exact_size(vec2(text_width, high), Sense::hover());
    ui.painter().galley(rect.left_center() - vec2(0.0, galley.size().y / 2.0), galley, t.ink);
    let rail_width = if over { width - 60.0 } else { width - text_width - 60.0 };
    ui.horizontal(|ui| {
        let mut value = f64::from(state.points[i]);
        let before = state.last.as_ref().and_then(|p| p.get(i)).map(|p| f64::from(*p));
        let rail = Rail { name: label, low: 0.0, high: 100.0, step: 1.0, before, width: rail_width };
        if widgets::rail(ui, &mut value, &rail).changed() {
            share(&mut state.points, i, value as u8);
        }
        let (rect, _) = ui.allocate_exact_size(vec2(36.0, 32.0), Sense::hover());
        let shown = state.points[i].to_string();
        ui.painter().text(rect.right_center(), Align2::RIGHT_CENTER, shown, bold_figures(15.0), t.ink);
    });
}

/// Room between the two columns of points under the sheet, points.
const BETWEEN: f32 = 24.0;
/// Height of the points under the sheet without what is shared, points.
const HEAD_AND_FOOT: f32 = 78.0;

/// Rows of two candidates, in the order of the job: down the left column, then down the right one.
fn row_heights(ui: &Ui, job: &Job, width: f32) -> Vec<f32> {
    let column = (width - BETWEEN) / 2.0;
    let high = |i: usize| {
        let label = job.candidates.get(i).map_or("", |c| named(&c.label));
        ui.painter().layout(label.to_owned(), regular(13.5), tokens(ui).ink, column - 4.0).size().y
    };
    let rows = job.candidates.len().div_ceil(2);
    (0..rows).map(|i| high(i).max(high(i + rows)) + 34.0).collect()
}

/// How high the points are that lie under the sheet, points.
pub fn height_beside(ui: &Ui, job: &Job, width: f32) -> f32 {
    HEAD_AND_FOOT + row_heights(ui, job, width).iter().map(|row| row + 4.0).sum::<f32>()
}

/// The points under the sheet, in two columns.
pub fn beside_ui(job: &Job, state: &mut CandidatesState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    state.ready(job.candidates.len());
    ui.spacing_mut().item_spacing.y = 4.0;
    let whole = ui.available_rect_before_wrap();
    ui.horizontal_wrapped(|ui| {
        ui.label(heading(said("tab-candidates")));
        let words = said("candidates-share");
        if widgets::widest(ui, [words], &regular(13.0)) + 16.0 < ui.available_size_before_wrap().x {
            ui.label(quiet(ui, words));
        }
    });
    let column = (whole.width() - BETWEEN) / 2.0;
    let heights = row_heights(ui, job, whole.width());
    let mut top = whole.top() + 30.0;
    for (row, high) in heights.iter().enumerate() {
        for (i, left) in [(row, whole.left()), (row + heights.len(), whole.left() + column + BETWEEN)] {
            let Some(candidate) = job.candidates.get(i) else { continue };
            let cell = Rect::from_min_size(pos2(left, top), vec2(column, *high));
            ui.scope_builder(UiBuilder::new().max_rect(cell).id_salt(("share", i)), |ui| {
                ui.spacing_mut().item_spacing.y = 0.0;
                rail_ui(i, named(&candidate.label), true, state, ui);
            });
        }
        top += high + 4.0;
    }
    let foot = Rect::from_min_max(pos2(whole.left(), top + 4.0), whole.max);
    ui.scope_builder(UiBuilder::new().max_rect(foot).id_salt("shared"), |ui| {
        ui.horizontal(|ui| {
            state_buttons(job, state, ui, intents);
            sum_ui(state, ui);
        });
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sum(points: &[u8]) -> u32 {
        points.iter().map(|p| u32::from(*p)).sum()
    }

    #[test]
    fn equal_shares_sum_to_a_hundred() {
        for count in 1..20 {
            assert_eq!(sum(&equal(count)), 100, "{count}");
        }
        assert!(equal(0).is_empty());
    }

    #[test]
    fn all_on_one_and_back() {
        let mut points = equal(7);
        share(&mut points, 2, 100);
        assert_eq!(points, [0, 0, 100, 0, 0, 0, 0]);
        share(&mut points, 2, 40);
        assert_eq!(points, [10, 10, 40, 10, 10, 10, 10]);
    }

    proptest! {
        #[test]
        fn the_sum_stays_a_hundred(count in 2usize..12, moves in prop::collection::vec((0usize..12, 0u8..=120), 1..30)) {
            let mut points = equal(count);
            for (i, new) in moves {
                let before = points.clone();
                share(&mut points, i, new);
                prop_assert_eq!(sum(&points), 100);
                if i < count {
                    prop_assert_eq!(points[i], new.min(100));
                    // nobody gains while others give
                    if new.min(100) >= before[i] {
                        for k in (0..count).filter(|k| *k != i) {
                            prop_assert!(points[k] <= before[k] + 1);
                        }
                    }
                }
            }
        }
    }
}
