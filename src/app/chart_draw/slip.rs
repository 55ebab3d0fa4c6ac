//! The slip of the dividers: legs, bow, and what is read between the feet, where it hides nothing of the trace.

use bevy_egui::egui::{Pos2, Rect, Stroke, StrokeKind, Ui, Vec2, pos2, vec2};

use super::{LANE, Scale, ink_under};
use crate::app::dividers::Slip;
use crate::app::theme::{RADIUS, bold_figures, faded, figures, tokens};
use crate::app::words::{number, pressure};
use crate::bay::action::Micros;
use crate::tell;
use crate::units::PressureUnit;

/// Legs, bow and slip of the dividers.
pub fn slip(
    slip: Option<Slip>,
    feet: [Micros; 2],
    beat: Option<(f64, f64)>,
    went: &[Pos2],
    scale: &Scale,
    ui: &Ui,
) {
    let t = tokens(ui);
    let painter = ui.painter();
    let ink = Stroke::new(1.5, t.ink);
    let in_sight = |at: Micros| at >= scale.from && at <= scale.to;
    if !feet.into_iter().any(in_sight) {
        return;
    }
    let clip = |x: f32| x.clamp(scale.paper.left(), scale.paper.right());
    let xs = [clip(scale.x(feet[0])), clip(scale.x(feet[1]))];
    let bow = scale.paper.top() + 22.0;
    let hinge = pos2((xs[0] + xs[1]) / 2.0, scale.paper.top() + 9.0);
    for x in xs {
        painter.line_segment(
            [pos2(x, bow), pos2(x, scale.paper.bottom() - LANE)],
            Stroke::new(1.0, faded(t.ink, 0.45)),
        );
        painter.line_segment([hinge, pos2(x, bow)], ink);
    }
    painter.circle_filled(hinge, 4.0, t.ink);
    let Some(slip) = slip else { return };
    for (x, at) in xs.into_iter().zip(feet).filter(|(_, at)| in_sight(*at)) {
        let y = scale.y(slip_value(&slip, at));
        painter.circle(pos2(x, y), 5.0, t.sheet, ink);
    }
    let mut lines = slip.lines_in(scale.unit);
    lines.extend(beat.and_then(|beat| ripple_words(beat, scale.unit)));
    // on a low chart only what has room without hiding the trace: the difference comes first
    let room = ((scale.paper.height() - LANE - 24.0) / 17.0).floor().max(1.0) as usize;
    let mut galleys: Vec<_> = lines
        .into_iter()
        .take(room)
        .enumerate()
        .map(|(i, l)| painter.layout_no_wrap(l, if i == 0 { bold_figures(13.0) } else { figures(12.0) }, t.ink))
        .collect();
    let paper = loop {
        let width = galleys.iter().map(|g| g.size().x).fold(0.0, f32::max) + 18.0;
        let size = vec2(width, 9.0 + 17.0 * galleys.len() as f32);
        let place = slip_place(size, xs, went, scale);
        if galleys.len() == 1 || ink_under(went, place) == 0 {
            break place;
        }
        galleys.pop();
    };
    painter.rect(paper, RADIUS, t.sheet, Stroke::new(1.2, t.ink), StrokeKind::Inside);
    let mut y = paper.top() + 6.0;
    for galley in galleys {
        painter.galley(pos2(paper.left() + 9.0, y), galley, t.ink);
        y += 17.0;
    }
}

/// What is said of a ripple; nothing of one that is smaller than the last digit.
fn ripple_words((hz, mbar): (f64, f64), unit: PressureUnit) -> Option<String> {
    let size = pressure(mbar, unit);
    let seen = size.chars().any(|c| c.is_ascii_digit() && c != '0');
    seen.then(|| tell!("dividers-ripple", hz = number(hz, 1), pressure = size, unit = unit.symbol()))
}

/// Where the slip lies: beside the feet or between them, low or high, where it hides least of the trace.
fn slip_place(size: Vec2, xs: [f32; 2], went: &[Pos2], scale: &Scale) -> Rect {
    let paper = scale.paper;
    let [first, last] = [xs[0].min(xs[1]), xs[0].max(xs[1])];
    let most = (paper.right() - size.x - 4.0).max(paper.left() + 4.0);
    let lefts = [last + 12.0, first - 12.0 - size.x, (first + last - size.x) / 2.0, paper.left() + 4.0, most]
        .map(|left| left.clamp(paper.left() + 4.0, most));
    // on a very low paper over the lane rather than over the words of the ticks
    let low = (paper.bottom() - LANE - size.y - 8.0).max(paper.top() + 1.0);
    let high = (paper.top() + 28.0).min(low);
    let places = [low, (low + high) / 2.0, high]
        .into_iter()
        .flat_map(|top| lefts.map(|left| Rect::from_min_size(pos2(left, top), size)));
    let feet = |place: &Rect| xs.into_iter().filter(|x| place.x_range().expand(8.0).contains(*x)).count();
    // a leg may be hidden in part, but only where there is no other place
    let mut places: Vec<Rect> = places.collect();
    places.sort_by_key(feet);
    super::clear_of(went, places).unwrap_or_else(|| Rect::from_min_size(pos2(lefts[0], low), size))
}

fn slip_value(slip: &Slip, at: Micros) -> f64 {
    if at == slip.from { slip.first } else { slip.last }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{blocks, scale, trace};
    use super::*;
    use crate::bay::action::SECOND;

    #[test]
    fn a_ripple_that_rounds_to_nothing_is_none() {
        assert_eq!(ripple_words((8.4, 0.3), PressureUnit::Mbar), None);
        assert!(ripple_words((8.4, 3.2), PressureUnit::Mbar).is_some_and(|words| words.contains('3')));
        assert!(ripple_words((8.4, 0.6), PressureUnit::Bar).is_some(), "0.001 bar is read");
    }

    #[test]
    fn the_slip_lies_where_the_trace_isnt() {
        let t = trace(|i| if i < 2500 { -20.0 } else { -600.0 });
        let s = scale(&t);
        let went = super::super::pens::pen(&t, &blocks(&t), &t.mbar, &s, |v| s.y(v)).concat();
        let ink = |r: Rect| went.iter().filter(|p| r.contains(**p)).count();
        for feet in [(10, 20), (40, 60), (70, 95), (5, 95)] {
            let xs = [s.x(feet.0 * SECOND), s.x(feet.1 * SECOND)];
            let place = slip_place(vec2(230.0, 94.0), xs, &went, &s);
            assert_eq!(ink(place), 0, "{feet:?}: {place:?}");
            assert!(s.paper.contains_rect(place));
        }
    }
}
