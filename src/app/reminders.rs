//! What another page of the paper holds, in a few lines at the foot of this one: the points under the sheet, the lines under
//! the points. What was read and what is thought of it are so seen together where there is no room for both pages.

use std::sync::Arc;

use bevy_egui::egui::{Align2, Galley, Sense, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2};

use super::bridge::Intent;
use super::state::Tab;
use super::test_sheet::entry_words;
use super::theme::{bold_figures, heading, regular, tokens};
use super::widgets;
use super::words::read_number;
use crate::bay::observation::SheetLine;
use crate::language::{named, said};
use crate::scenario::model::Job;
use crate::tell;

/// Height of the points in one line, with what stands over them, points.
pub const POINTS_LINE: f32 = 44.0;
/// Height of a line of the sheet, points.
const ROW: f32 = 24.0;

/// The candidates that were given most, the first first, each with its points.
fn leading(points: &[u8]) -> Vec<(usize, u8)> {
    let mut all: Vec<(usize, u8)> = points.iter().copied().enumerate().filter(|(_, p)| *p > 0).collect();
    all.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
    all
}

/// The points as they were stated last: who has most by name, all of them as parts of a bar. Pressed, it turns to their page.
pub fn points_ui(job: &Job, stated: Option<&[u8]>, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), POINTS_LINE - 6.0), Sense::click());
    let ranked = leading(stated.unwrap_or_default());
    let names = |(i, p): &(usize, u8)| format!("{p} {}", job.candidates.get(*i).map_or("", |c| named(&c.label)));
    let all: Vec<String> = ranked.iter().map(names).collect();
    let aloud = match all.is_empty() {
        true => said("reminder-no-points").to_owned(),
        false => tell!("reminder-points-said", points = all.join(" · ")),
    };
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &aloud));
    let painter = ui.painter();
    if response.hovered() {
        painter.rect_filled(rect, 2, t.highlight);
    }
    painter.hline(rect.x_range(), rect.top(), Stroke::new(1.0, t.rule));
    let font = regular(12.5);
    let text_y = rect.top() + 14.0;
    if all.is_empty() {
        painter.text(pos2(rect.left() + 4.0, text_y), Align2::LEFT_CENTER, &aloud, font, t.second_ink);
    } else {
        // as many names as have room, whole
        let label = said("reminder-points");
        let start = rect.left() + 4.0;
        painter.text(pos2(start, text_y), Align2::LEFT_CENTER, label, font.clone(), t.second_ink);
        let mut x = start + widgets::widest(ui, [label], &font) + 10.0;
        for ((i, p), words) in ranked.iter().zip(&all) {
            let figure = p.to_string();
            let wide = widgets::widest(ui, [figure.as_str()], &bold_figures(12.5));
            let name = named(&job.candidates[*i].label);
            if x + widgets::widest(ui, [words.as_str()], &font) + 16.0 > rect.right() {
                break;
            }
            painter.text(pos2(x, text_y), Align2::LEFT_CENTER, figure, bold_figures(12.5), t.ink);
            painter.text(pos2(x + wide + 5.0, text_y), Align2::LEFT_CENTER, name, font.clone(), t.ink);
            x += wide + 5.0 + widgets::widest(ui, [name], &font) + 16.0;
        }
        let bar = rect.with_min_y(rect.bottom() - 10.0).with_max_y(rect.bottom() - 4.0).shrink2(vec2(4.0, 0.0));
        painter.rect_filled(bar, 3, t.rule);
        let mut left = bar.left();
        for (rank, (_, p)) in ranked.iter().enumerate() {
            let right = left + bar.width() * f32::from(*p) / 100.0;
            let part = bar.with_min_x(left).with_max_x((right - 1.5).max(left + 0.5));
            // the first is filled, the others step back
            let ink = if rank == 0 { t.accent } else { t.faint };
            painter.rect_filled(part, 1, ink);
            left = right;
        }
    }
    widgets::focus_ring(ui, &response, rect.shrink(2.0));
    if response.on_hover_text(said("reminder-to-points")).clicked() {
        intents.push(Intent::Turn(Tab::Candidates));
    }
}

/// A line of the sheet as it is laid out: its subject goes on under itself where what was read begins.
struct Row {
    subject: Arc<Galley>,
    is_figure: bool,
    high: f32,
}

impl Row {
    fn of(number: usize, line: &SheetLine, ui: &Ui) -> Self {
        let entry = entry_words(line);
        let is_figure = line.state.is_some() || entry.split(' ').next().and_then(read_number).is_some();
        let width = ui.available_width();
        let to = match is_figure {
            true => 0.58 * width - widgets::widest(ui, [entry.as_str()], &bold_figures(13.0)) - 10.0,
            false => 0.36 * width - 10.0,
        };
        let words = format!("{number}  {}", named(&line.subject));
        let subject = ui.painter().layout(words, regular(13.0), tokens(ui).ink, to);
        let high = ROW.max(subject.size().y + 8.0);
        Self { subject, is_figure, high }
    }
}

/// The last lines of the sheet, as many as have room. Pressed, a line shows its moment on the chart.
pub fn lines_ui(lines: &[SheetLine], ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    let mut room = ui.available_height() - 40.0;
    let rows: Vec<Row> = (lines.iter().enumerate().rev())
        .map(|(i, line)| Row::of(i + 1, line, ui))
        .take_while(|row| {
            room -= row.high;
            room >= 0.0
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    ui.add_space(8.0);
    ui.label(heading(said("reminder-lines")));
    ui.spacing_mut().item_spacing.y = 0.0;
    let first = lines.len() - rows.len();
    for ((i, line), row) in lines.iter().enumerate().skip(first).zip(rows.into_iter().rev()) {
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), row.high), Sense::click());
        let verdict = line.verdict.map_or("", |v| named(v.words()));
        let entry = entry_words(line);
        let aloud = tell!(
            "sheet-line-said",
            line = i + 1,
            subject = line.subject,
            entry = entry,
            verdict = verdict,
            remark = line.remark
        );
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, aloud.trim()));
        let painter = ui.painter();
        if response.hovered() {
            painter.rect_filled(rect, 2, t.highlight);
        }
        let x = |share: f32| rect.left() + 4.0 + share * rect.width();
        let y = rect.center().y;
        painter.galley(pos2(x(0.0), y - row.subject.size().y / 2.0), row.subject, t.ink);
        if row.is_figure {
            painter.text(pos2(x(0.58), y), Align2::RIGHT_CENTER, entry, bold_figures(13.0), t.ink);
        } else {
            painter.text(pos2(x(0.36), y), Align2::LEFT_CENTER, entry, regular(13.0), t.ink);
        }
        if let Some(which) = line.verdict {
            let colour = widgets::verdict_colour(which, t);
            widgets::verdict_sign(painter, pos2(x(0.66), y), which, colour);
            painter.text(pos2(x(0.66) + 12.0, y), Align2::LEFT_CENTER, verdict, regular(13.0), colour);
        }
        painter.hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, t.rule));
        widgets::focus_ring(ui, &response, rect.shrink(2.0));
        if response.on_hover_text(said("sheet-show-on-chart")).clicked() {
            intents.push(Intent::ChartTo(line.window.1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_has_most_stands_first_and_who_has_nothing_isnt_named() {
        assert_eq!(leading(&[4, 0, 62, 4, 30]), [(2, 62), (4, 30), (0, 4), (3, 4)]);
        assert!(leading(&[]).is_empty());
    }
}
