//! Stated and justified belief over time, one small strip a candidate, on the time axis of the chart.

use bevy_egui::egui::{Align2, Painter, Pos2, Rect, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2};

use super::theme::{faded, figures, regular, semibold, tokens};
use super::tokens::Tokens;
use super::words::short_clock;
use crate::bay::action::Micros;
use crate::language::{named, said};
use crate::marking::model::{BeliefStep, Mark};
use crate::tell;

/// One candidate's strip: justified and stated as steps in time.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// Label.
    pub label: String,
    /// It was this.
    pub truth: bool,
    /// Justified, 0 … 1.
    pub justified: Vec<(Micros, f64)>,
    /// Stated, 0 … 1.
    pub stated: Vec<(Micros, f64)>,
}

/// The strips of a mark, one a label.
pub fn strips(mark: &Mark) -> Vec<Strip> {
    let column = |of: &dyn Fn(&BeliefStep) -> Option<f64>| -> Vec<(Micros, f64)> {
        mark.beliefs.iter().filter_map(|b| of(b).map(|v| (b.at, v))).collect()
    };
    mark.labels
        .iter()
        .enumerate()
        .map(|(i, label)| Strip {
            label: label.clone(),
            truth: *label == mark.truth.0,
            justified: column(&|b| b.justified.get(i).copied()),
            stated: column(&|b| b.stated.as_ref().and_then(|s| s.get(i).copied())),
        })
        .collect()
}

/// Draws the strips into what is left of `ui`; `window` is what the chart below shows.
pub fn belief_chart_ui(mark: &Mark, window: (Micros, Micros), here: Option<Micros>, ui: &mut Ui) {
    let t = tokens(ui);
    let rect = ui.available_rect_before_wrap();
    let head = rect.min + vec2(0.0, 12.0);
    let painter = ui.painter().clone();
    // the choice of pictures stands at the left; what has no room beside it is left out whole
    let mut x = rect.left() + super::opened::picture_width(ui) + 24.0;
    for (words, dashed) in [(said("belief-justified"), false), (said("belief-stated"), true)] {
        if x + 32.0 + super::widgets::widest(ui, [words], &regular(12.5)) > rect.right() {
            break;
        }
        let key = [pos2(x, head.y), pos2(x + 26.0, head.y)];
        line(&painter, key.to_vec(), dashed, t);
        x = painter.text(pos2(x + 32.0, head.y), Align2::LEFT_CENTER, words, regular(12.5), t.second_ink).right()
            + 18.0;
    }
    let all = strips(mark);
    let top = rect.top() + 26.0;
    let each = (rect.bottom() - top) / all.len().max(1) as f32;
    for (i, strip) in all.iter().enumerate() {
        let row = Rect::from_min_size(pos2(rect.left(), top + each * i as f32), vec2(rect.width(), each));
        let response = ui.interact(row, ui.id().with(("belief", i)), Sense::hover());
        let shown = |points: &[(Micros, f64)]| {
            held(points, here).map_or(said("belief-nothing").to_owned(), |v| format!("{:.0}", v * 100.0))
        };
        let was = if strip.truth { said("belief-was-true") } else { "" };
        let (justified, stated) = (shown(&strip.justified), shown(&strip.stated));
        let when =
            here.map_or(said("belief-in-the-end").to_owned(), |at| tell!("belief-at", time = short_clock(at)));
        let aloud = tell!(
            "belief-row-said",
            label = strip.label,
            was = was,
            when = when,
            justified = justified,
            stated = stated
        );
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, &aloud));
        row_ui(strip, row, window, here, &painter, t);
    }
    if let Some(at) = here.filter(|at| (window.0..=window.1).contains(at)) {
        // the same moment as on the chart below
        let share = (at - window.0) as f64 / (window.1 - window.0).max(1) as f64;
        let wide = rect.width() - MARGINS.0 - MARGINS.1;
        let x = rect.left() + MARGINS.0 + (share * f64::from(wide)) as f32;
        painter.vline(x, top..=rect.bottom(), Stroke::new(2.0, t.third_pen));
    }
}

/// Left and right margins of the strip chart below, so that both have one time axis.
pub const MARGINS: (f32, f32) = (52.0, 6.0);

/// What is believed at the moment that is picked, or in the end.
fn held(points: &[(Micros, f64)], here: Option<Micros>) -> Option<f64> {
    points.iter().rev().find(|(at, _)| here.is_none_or(|here| *at <= here)).map(|p| p.1)
}

fn row_ui(
    strip: &Strip,
    row: Rect,
    (from, to): (Micros, Micros),
    here: Option<Micros>,
    painter: &Painter,
    t: &Tokens,
) {
    let plot = Rect::from_min_max(
        pos2(row.left() + MARGINS.0, row.top() + 2.0),
        pos2(row.right() - MARGINS.1, row.bottom() - 2.0),
    );
    painter.rect_filled(plot, 0, t.chart);
    painter.hline(plot.x_range(), plot.bottom(), Stroke::new(1.0, t.strong_grid));
    let place = |(at, v): (Micros, f64)| {
        let share = (at as f64 - from as f64) / (to - from).max(1) as f64;
        let x = plot.left() + (share.clamp(0.0, 1.0) * f64::from(plot.width())) as f32;
        pos2(x, plot.bottom() - 1.0 - v.clamp(0.0, 1.0) as f32 * (plot.height() - 3.0))
    };
    let justified = steps(&strip.justified, to, place);
    // a height is seen more easily than a line among nine
    for ends in justified.windows(2).filter(|w| w[1].x > w[0].x) {
        let under = Rect::from_x_y_ranges(ends[0].x..=ends[1].x, ends[0].y..=plot.bottom() - 1.0);
        painter.rect_filled(under, 0, faded(t.third_pen, 0.16));
    }
    line(painter, justified, false, t);
    line(painter, steps(&strip.stated, to, place), true, t);
    let font = if strip.truth { semibold(11.5) } else { regular(11.5) };
    let words =
        if strip.truth { tell!("belief-row-true", label = strip.label) } else { named(&strip.label).to_owned() };
    let galley = painter.layout_no_wrap(words, font, t.ink);
    let back = Rect::from_min_size(pos2(plot.left() + 6.0, plot.top() + 1.0), galley.size());
    // square: round corners in the colour of the paper leave specks on it
    painter.rect_filled(back.expand2(vec2(4.0, 1.0)), 0, if strip.truth { t.highlight } else { t.chart });
    painter.galley(back.min, galley, t.ink);
    if let Some(v) = held(&strip.justified, here) {
        let text = format!("{:.0}", v * 100.0);
        painter.text(
            pos2(plot.left() - 8.0, row.center().y),
            Align2::RIGHT_CENTER,
            text,
            figures(12.5),
            t.third_pen,
        );
    }
}

/// A staircase: a belief holds until the next one.
fn steps(points: &[(Micros, f64)], to: Micros, place: impl Fn((Micros, f64)) -> Pos2) -> Vec<Pos2> {
    let mut out: Vec<Pos2> = Vec::new();
    for &(at, v) in points {
        let here = place((at, v));
        if let Some(last) = out.last().copied() {
            out.push(pos2(here.x, last.y));
        }
        out.push(here);
    }
    if let Some(&(_, v)) = points.last() {
        out.push(place((to, v)));
    }
    out
}

fn line(painter: &Painter, points: Vec<Pos2>, dashed: bool, t: &Tokens) {
    if dashed {
        painter.extend(Shape::dashed_line(&points, Stroke::new(1.6, t.second_pen), 5.0, 3.0));
    } else {
        painter.add(Shape::line(points, Stroke::new(2.0, t.third_pen)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_is_that_of_the_moment_that_is_picked() {
        let points = [(10, 0.2), (20, 0.6)];
        assert_eq!(
            [None, Some(5), Some(10), Some(19), Some(25)].map(|here| held(&points, here)),
            [Some(0.6), None, Some(0.2), Some(0.2), Some(0.6)]
        );
    }

    #[test]
    fn a_belief_holds_until_the_next_one() {
        let place = |(at, v): (Micros, f64)| pos2(at as f32, v as f32);
        let stairs = steps(&[(0, 0.2), (10, 0.6)], 30, place);
        assert_eq!(stairs, [pos2(0.0, 0.2), pos2(10.0, 0.2), pos2(10.0, 0.6), pos2(30.0, 0.6)]);
        assert!(steps(&[], 30, place).is_empty());
    }
}
