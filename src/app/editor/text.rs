//! The text of the file beside the form: the same job, to be typed in.

use std::ops::Range;
use std::sync::Arc;

use bevy_egui::egui::text::{CCursor, CCursorRange, LayoutJob, TextFormat};
use bevy_egui::egui::{self, Align, Align2, Galley, Id, ScrollArea, Stroke, TextBuffer, TextEdit, Ui, pos2, vec2};

use super::{Editor, Order};
use crate::app::theme::{figures, tokens};
use crate::app::tokens::Tokens;
use crate::app::widgets;
use crate::authoring::draft::Page;
use crate::language::said;

/// Room for the numbers of lines, points.
const MARGIN: f32 = 40.0;

/// A run of the text that looks alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// Names, brackets, numbers.
    Plain,
    /// In quotes.
    Quoted,
    /// Behind two strokes.
    Remark,
}

/// Cuts a text into runs. It goes by quotes and strokes only, so that a text on its way to being right looks sensible.
pub fn runs(text: &str) -> Vec<(Range<usize>, Look)> {
    let mut all: Vec<(Range<usize>, Look)> = vec![];
    let (mut start, mut look) = (0, Look::Plain);
    let mut letters = text.char_indices().peekable();
    while let Some((i, c)) = letters.next() {
        let ends = match look {
            Look::Plain if c == '"' => Some((i, Look::Quoted)),
            Look::Plain if c == '/' && text[i..].starts_with("//") => Some((i, Look::Remark)),
            Look::Remark if c == '\n' => Some((i, Look::Plain)),
            Look::Quoted if c == '\\' => {
                letters.next();
                None
            }
            Look::Quoted if c == '"' => Some((i + 1, Look::Plain)),
            _ => None,
        };
        if let Some((at, next)) = ends {
            if at > start {
                all.push((start..at, look));
            }
            (start, look) = (at, next);
        }
    }
    if start < text.len() {
        all.push((start..text.len(), look));
    }
    all
}

/// Cuts runs at the ends of what was found, so that it can be underlined.
fn job(text: &str, found: &[(Range<usize>, bool)], t: &Tokens) -> LayoutJob {
    let mut job = LayoutJob::default();
    for (run, look) in runs(text) {
        let mut cuts: Vec<usize> = vec![run.start, run.end];
        for (span, _) in found {
            cuts.extend(
                [span.start, span.end].into_iter().filter(|c| run.contains(c) && text.is_char_boundary(*c)),
            );
        }
        cuts.sort_unstable();
        cuts.dedup();
        for piece in cuts.windows(2) {
            let colour = match look {
                Look::Plain => t.ink,
                Look::Quoted => t.accent,
                Look::Remark => t.second_ink,
            };
            let mut format = TextFormat::simple(figures(13.0), colour);
            if let Some((_, is_error)) =
                found.iter().find(|(s, _)| s.start <= piece[0] && piece[1] <= s.end.max(s.start + 1))
            {
                format.underline = Stroke::new(2.0, if *is_error { t.critical } else { t.caution });
            }
            job.append(&text[piece[0]..piece[1]], 0.0, format);
        }
    }
    job
}

fn characters(text: &str, byte: usize) -> usize {
    text.char_indices().take_while(|(i, _)| *i < byte).count()
}

/// Draws it.
pub fn text_ui(editor: &mut Editor, ui: &mut Ui, orders: &mut Vec<Order>) {
    if editor.draft.text(Page::Scheme).is_some() {
        let width = ui.available_width();
        let now = Some(usize::from(editor.page == Page::Scheme));
        if let Some(i) =
            widgets::choice(ui, width, said("text-which"), &[said("text-job"), said("text-scheme")], now)
        {
            orders.push(Order::Open(if i == 0 { Page::File } else { Page::Scheme }));
        }
    }
    let page = editor.page;
    let Some(text) = editor.draft.text(page) else { return };
    let t = tokens(ui);
    let mut typed = text.to_owned();
    let found: Vec<(Range<usize>, bool)> = editor
        .proof
        .findings
        .iter()
        .filter(|f| f.page == Some(page))
        .map(|f| (f.span.clone(), f.is_error))
        .collect();
    let id = Id::new(("text of the file", page));
    let reveal = editor.reveal.take();
    if let Some(span) = &reveal {
        let mut state = TextEdit::load_state(ui.ctx(), id).unwrap_or_default();
        let (from, to) = (characters(text, span.start), characters(text, span.end));
        state.cursor.set_char_range(Some(CCursorRange::two(CCursor::new(from), CCursor::new(to))));
        state.store(ui.ctx(), id);
    }
    // long lines go on in the next row: what is written at their ends would be out of sight
    ScrollArea::vertical().id_salt(("text", page)).auto_shrink([false, false]).show(ui, |ui| {
        let mut layouter = |ui: &Ui, buffer: &dyn TextBuffer, width: f32| -> Arc<Galley> {
            let mut job = job(buffer.as_str(), &found, t);
            job.wrap.max_width = width;
            ui.fonts_mut(|f| f.layout_job(job))
        };
        let output = TextEdit::multiline(&mut typed)
            .id(id)
            .code_editor()
            .lock_focus(false)
            .desired_width(f32::INFINITY)
            .frame(egui::Frame::NONE.inner_margin(egui::Margin { left: MARGIN as i8, right: 8, top: 6, bottom: 6 }))
            .layouter(&mut layouter)
            .show(ui);
        let response = super::fields::named(ui, output.response.response, said("pane-text"));
        numbers_ui(ui, &output.galley, output.galley_pos);
        if let Some(span) = reveal {
            let cursor = CCursor::new(characters(&typed, span.start));
            let at = output.galley.pos_from_cursor(cursor).translate(output.galley_pos.to_vec2());
            ui.scroll_to_rect(at.expand2(vec2(20.0, 60.0)), Some(Align::Center));
        }
        if response.changed() {
            orders.push(Order::Write(page, typed.clone()));
        }
        if response.lost_focus() {
            orders.push(Order::Settle);
        }
    });
}

/// Numbers of the lines, as the check names them.
fn numbers_ui(ui: &Ui, galley: &Galley, at: egui::Pos2) {
    let t = tokens(ui);
    let painter = ui.painter();
    let mut line = 1;
    let mut begins = true;
    for row in &galley.rows {
        let y = at.y + row.pos.y;
        if begins && ui.clip_rect().y_range().contains(y) {
            let place = pos2(at.x - 8.0, y);
            painter.text(place, Align2::RIGHT_TOP, line.to_string(), figures(11.5), t.second_ink);
        }
        begins = row.ends_with_newline;
        if begins {
            line += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_belongs_to_one_run() {
        for text in ["a: \"b \\\" // c\", // d\n e", "\"open", "//", "", "é\"é\\", "1 / 2"] {
            let runs = runs(text);
            let whole: String = runs.iter().map(|(r, _)| &text[r.clone()]).collect();
            assert_eq!(whole, text);
        }
        let looks: Vec<Look> = runs("a: \"b \\\" // c\", // d\n e").iter().map(|r| r.1).collect();
        assert_eq!(looks, [Look::Plain, Look::Quoted, Look::Plain, Look::Remark, Look::Plain]);
    }
}
