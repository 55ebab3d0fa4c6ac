//! The strip chart: its window on time, its grid, and the controls over it. The pen itself is drawn
//! by [`super::chart_draw`].

use bevy_egui::egui::{
    self, Align, Align2, Label, Layout, PointerButton, Rect, RichText, Sense, Ui, WidgetInfo, WidgetType, pos2,
    vec2,
};

use super::bridge::Intent;
use super::chart_draw::{self, Scale};
use super::dividers::{self, Slip};
use super::pyramid::Pyramid;
use super::theme::{bold_figures, quiet, regular, semibold, tokens};
use super::widgets;
use super::words::{number, pressure};
use crate::analysis::ripple::ripple;
use crate::bay::action::{Micros, SECOND};
use crate::bay::observation::Gauge;
use crate::bay::words::offer::Spot;
use crate::language::said;
use crate::tell;
use crate::trace::{Beside, Trace};
use crate::units::PressureUnit;

/// Spans of time that the buttons step through, s.
const SPANS: [f64; 12] = [5.0, 10.0, 20.0, 40.0, 90.0, 180.0, 360.0, 720.0, 1500.0, 3600.0, 7200.0, 28_800.0];

/// Samples are never farther apart while something is drawn.
const SLOWEST: Micros = 6 * SECOND;

/// A ripple between the feet of the dividers: where they stood, how many samples there were, and what was found.
pub type Beat = ([Micros; 2], usize, Option<(f64, f64)>);

/// Which part of the trace is shown.
#[derive(Clone, Debug, PartialEq)]
pub struct ChartState {
    /// Seconds across the chart.
    pub span_s: f64,
    /// Time at the right edge; `None`: runs with the pen.
    pub end: Option<Micros>,
    /// Feet of the dividers.
    pub feet: Option<[Micros; 2]>,
    /// Blocks over pressure and engine speed.
    pub blocks: [Pyramid; 2],
    /// Beat between the feet that were measured last: feet, samples, Hz and mbar.
    pub beat: Option<Beat>,
}

impl Default for ChartState {
    fn default() -> Self {
        Self { span_s: 90.0, end: None, feet: None, blocks: [Pyramid::default(), Pyramid::default()], beat: None }
    }
}

impl ChartState {
    /// Start and end of what is shown. The pen has an eighth of the width ahead of it.
    pub fn window(&self, now: Micros) -> (Micros, Micros) {
        let span = (self.span_s * SECOND as f64) as Micros;
        let end = self.end.unwrap_or(now + span / 8).max(span);
        (end - span, end)
    }

    /// Runs with the pen again.
    pub fn follow(&mut self) {
        self.end = None;
    }

    /// Shows a time in the middle.
    pub fn show_time(&mut self, at: Micros) {
        self.end = Some(at + (self.span_s * 0.5 * SECOND as f64) as Micros);
    }

    /// Moves what is shown only when a time lies outside it.
    pub fn bring_into_sight(&mut self, at: Micros, now: Micros) {
        let (from, to) = self.window(now);
        if at < from || at > to {
            self.show_time(at);
        }
    }

    /// Shows the trace from its first reading to its last; without one, everything up to `now`.
    pub fn show_all(&mut self, trace: &Trace, now: Micros) {
        let now = trace.mbar.iter().rposition(|v| v.is_finite()).map_or(now, |i| trace.at[i]);
        let first = trace.mbar.iter().position(|v| v.is_finite()).map_or(0, |i| trace.at[i]);
        let wide = now.saturating_sub(first);
        self.span_s = (wide as f64 / SECOND as f64 * 1.08).max(SPANS[0]);
        self.end = Some(now + wide / 25);
    }

    /// Shows the stretch in which something was read: from before the engine first turned or the first `read` to after it
    /// last turned or the last one; what was long at rest before and after is found with "wider".
    pub fn show_work(&mut self, trace: &Trace, read: Option<(Micros, Micros)>, now: Micros) {
        self.show_all(trace, now);
        let turned = |rpm: &f64| *rpm > 50.0;
        let first = trace.rpm.iter().position(turned).map(|i| trace.at[i]);
        let last = trace.rpm.iter().rposition(turned).map(|i| trace.at[i]);
        let from = first.into_iter().chain(read.map(|r| r.0)).min();
        let to = last.into_iter().chain(read.map(|r| r.1)).max();
        let Some((from, to)) = from.zip(to) else { return };
        let beside = (to.saturating_sub(from) / 8).max(15 * SECOND);
        let (from, to) = (from.saturating_sub(beside), to + beside);
        let secs = to.saturating_sub(from) as f64 / SECOND as f64;
        if secs < self.span_s {
            self.span_s = secs.max(SPANS[0]);
            self.end = Some(to);
        }
    }

    /// After a long wait the chart is opened wide enough to show it.
    pub fn waited(&mut self, by: Micros) {
        let secs = by as f64 / SECOND as f64;
        if secs > self.span_s * 0.8 {
            self.span_s = SPANS.into_iter().find(|s| *s >= secs * 1.3).unwrap_or(SPANS[SPANS.len() - 1]);
        }
        self.end = None;
    }

    /// Sets the dividers into the middle of what is shown, or takes them away.
    pub fn toggle_dividers(&mut self, now: Micros) {
        self.feet = match self.feet {
            Some(_) => None,
            None => {
                let (from, to) = self.window(now);
                let to = to.min(now).max(from);
                let wide = to - from;
                Some([from + wide * 6 / 10, from + wide * 9 / 10])
            }
        };
    }

    /// What the dividers say.
    pub fn slip(&self, trace: &Trace) -> Option<Slip> {
        self.feet.and_then(|[a, b]| dividers::measure(trace, a, b))
    }

    /// The next wider (1) or closer (−1) span, about the middle of what is shown.
    pub fn zoom(&mut self, steps: i32, now: Micros) {
        let (from, to) = self.window(now);
        let old = self.span_s;
        self.span_s = if steps > 0 {
            SPANS.into_iter().find(|s| *s > old * 1.01).unwrap_or(SPANS[SPANS.len() - 1])
        } else {
            SPANS.into_iter().rev().find(|s| *s < old * 0.99).unwrap_or(SPANS[0])
        };
        if self.end.is_some() {
            let half = (self.span_s * 0.5 * SECOND as f64) as Micros;
            self.end = Some((from + to) / 2 + half);
        }
    }
}

/// What the chart shows besides the trace.
pub struct ChartView<'a> {
    /// The trace.
    pub trace: &'a Trace,
    /// Now.
    pub now: Micros,
    /// The display of the transducer.
    pub gauge: Option<Gauge>,
    /// Healthy range of the state that is being written, mbar.
    pub limit: Option<(f64, f64)>,
    /// Unit in which pressure is shown.
    pub unit: PressureUnit,
    /// Pump in the clamp and its current, A.
    pub amps: Option<(String, f64)>,
    /// Joint of the second transducer and what it shows, mbar.
    pub second: Option<(String, f64)>,
    /// What both showed so far.
    pub beside: Option<&'a Beside>,
    /// The joint with the tee.
    pub joint: Option<&'a str>,
    /// The vehicle was handed back: a moment can be picked.
    pub over: bool,
    /// The moment that is picked.
    pub here: Option<Micros>,
    /// A class looks on: nothing of the kit is at hand.
    pub projected: bool,
}

impl ChartView<'_> {
    /// The moment that is picked, after hand-back.
    fn picked(&self) -> Option<Micros> {
        self.here.filter(|_| self.over)
    }

    /// What stands large over the paper: the display, or after hand-back what was drawn at the moment that is picked.
    fn reading(&self) -> Option<Gauge> {
        let Some(here) = self.picked() else { return self.gauge };
        let drawn = !self.trace.range(here.saturating_sub(SLOWEST), here + SLOWEST).is_empty();
        let mbar = dividers::value_at(self.trace, here).filter(|_| drawn)?;
        Some(Gauge { mbar, over_range: false, zeroed_at: None })
    }

    /// Current and second transducer, each behind the stroke of its pen: now, or after hand-back at the moment that is picked.
    fn beside_words(&self) -> [Option<String>; 2] {
        let unit = self.unit.symbol();
        let [amps, second] = match (self.picked(), self.beside) {
            (Some(here), Some(beside)) => {
                let i = beside.at.partition_point(|at| *at <= here).checked_sub(1);
                let i = i.filter(|i| here - beside.at[*i] <= SLOWEST);
                [&beside.amps, &beside.second_mbar].map(|of| i.map(|i| of[i]).filter(|v| v.is_finite()))
            }
            _ => [self.amps.as_ref(), self.second.as_ref()].map(|shown| shown.map(|(_, value)| *value)),
        };
        let amps = amps.map(|amps| format!("– · –  {}", tell!("chart-current", amps = number(amps, 1))));
        [amps, second.map(|mbar| format!("···  P2 {} {unit}", pressure(mbar, self.unit)))]
    }
}

/// The chart in words: what a reader who doesn't see it gets.
pub fn words(view: &ChartView<'_>, blocks: &Pyramid, from: Micros, to: Micros) -> String {
    let whole = blocks.reduce(view.trace, &view.trace.mbar, from, to, 1);
    let Some(Some(shown)) = whole.first() else {
        return said("chart-empty").to_owned();
    };
    let ends = tell!("span-from-to", from = super::words::short_clock(from), to = super::words::short_clock(to));
    tell!("chart-words", ends = ends, low = number(shown.low, 0), high = number(shown.high, 0))
}

/// Draws the chart into what is left of `ui`.
pub fn chart_ui(view: &ChartView<'_>, state: &mut ChartState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let rect = ui.available_rect_before_wrap();
    let header = rect.with_max_y(rect.top() + widgets::HEADER);
    ui.scope_builder(egui::UiBuilder::new().max_rect(header).layout(Layout::left_to_right(Align::Center)), |ui| {
        header_ui(view, state, ui, intents);
    });
    let paper = Rect::from_min_max(pos2(rect.left() + 52.0, header.bottom() + 16.0), rect.max - vec2(6.0, 18.0));
    let (from, to) = state.window(view.now);
    state.blocks[0].grow(&view.trace.mbar);
    state.blocks[1].grow(&view.trace.rpm);
    let scale =
        Scale::of(view.trace, &state.blocks[0], from, to, view.limit, paper).within(view.beside).in_unit(view.unit);
    let response = ui.interact(paper, ui.id().with("paper"), Sense::click_and_drag());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, words(view, &state.blocks[0], from, to)));
    pan_and_zoom(&response, state, view.now, paper, ui);
    chart_draw::paper(&scale, ui);
    if let Some(limit) = view.limit {
        chart_draw::limit_band(&scale, limit, ui);
    }
    chart_draw::ticks(view.trace, &scale, ui);
    let went = chart_draw::pens(view.trace, &state.blocks, &scale, ui);
    if let Some(beside) = view.beside {
        chart_draw::beside(beside, &scale, ui);
    }
    chart_draw::now_line(view.now, &scale, ui);
    if view.over {
        if response.clicked()
            && let Some(at) = response.interact_pointer_pos()
        {
            intents.push(Intent::Here(scale.time(at.x).min(view.now)));
        }
        if let Some(here) = view.here {
            if let Some(at) = here_handle(here, &scale, ui) {
                intents.push(Intent::Here(at.min(view.now)));
            }
            chart_draw::here_line(here, &went, &scale, ui);
        }
    }
    if let Some(feet) = &mut state.feet {
        feet_ui(view.trace, feet, view.now, &scale, ui);
        let feet = *feet;
        let slip = dividers::measure(view.trace, feet[0], feet[1]);
        let beat = if slip.is_some() { beat_between(view.trace, feet, &mut state.beat, ui) } else { None };
        chart_draw::slip(slip, feet, beat, &went, &scale, ui);
    }
    if let Some((why, how)) = why_empty(view, &state.blocks[0], from, to) {
        written_on(paper.center(), why, super::theme::italic(13.0), ui);
        // and how it is put down, for whoever sits here for the first time
        let font = super::theme::italic(12.5);
        if !how.is_empty() && widgets::widest(ui, [how], &font) + 16.0 < paper.width() && paper.height() > 110.0 {
            written_on(paper.center() + vec2(0.0, 20.0), how, font, ui);
        }
    }
}

/// Why there is no line on the part that is shown, and what brings one; none where there is one, or once had been.
fn why_empty(
    view: &ChartView<'_>,
    blocks: &Pyramid,
    from: Micros,
    to: Micros,
) -> Option<(&'static str, &'static str)> {
    let drawn =
        |from, to| blocks.reduce(view.trace, &view.trace.mbar, from, to, 1).into_iter().flatten().next().is_some();
    // what is connected beside the tee has pens of its own
    let beside = view.beside.is_some_and(|beside| chart_draw::drawn_beside(beside, from, to));
    if drawn(from, to) || beside {
        return None;
    }
    match view.joint {
        None if view.projected => Some((said("chart-pen-lifted"), "")),
        None if !view.over => Some((said("chart-pen-lifted"), said("chart-fit-tee"))),
        None => (!drawn(0, view.now)).then(|| (said("chart-pen-lifted"), "")),
        // it has just been fitted and no time has passed
        Some(_) => (view.gauge.is_none()).then(|| (said("chart-pen-waits"), said("chart-let-pass"))),
    }
}

/// Words on the empty paper; its rules end before them.
fn written_on(middle: egui::Pos2, words: &str, font: egui::FontId, ui: &Ui) {
    let t = tokens(ui);
    let galley = ui.painter().layout_no_wrap(words.to_owned(), font, t.second_ink);
    let back = Rect::from_center_size(middle, galley.size());
    ui.painter().rect_filled(back.expand2(vec2(8.0, 1.0)), 0, t.chart);
    ui.painter().galley(back.min, galley, t.second_ink);
}

/// The ripple between the feet, measured once they rest.
fn beat_between(trace: &Trace, feet: [Micros; 2], known: &mut Option<Beat>, ui: &Ui) -> Option<(f64, f64)> {
    let range = trace.range(feet[0].min(feet[1]), feet[0].max(feet[1]));
    match known {
        Some((of, samples, beat)) if *of == feet && *samples == range.len() => return *beat,
        Some((_, _, beat)) if ui.input(|i| i.pointer.any_down()) => return *beat,
        _ => {}
    }
    let samples = range.len();
    let points: Vec<(f64, f64)> =
        range.map(|i| (trace.at[i] as f64 / SECOND as f64, trace.mbar[i])).filter(|p| p.1.is_finite()).collect();
    let beat = ripple(&points, 0.5, 22.0).ok().map(|r| (r.frequency.value, r.amplitude.value));
    *known = Some((feet, samples, beat));
    beat
}

/// How much of the header has room: whole title or short, the remark on signs, buttons or a list.
struct Header {
    title: String,
    remark: bool,
    as_list: bool,
    /// Width of the buttons side by side, points.
    buttons: f32,
}

impl Header {
    fn of(view: &ChartView<'_>, state: &ChartState, ui: &Ui) -> Self {
        let unit = view.unit.symbol();
        let titles = [tell!("chart-title", unit = unit), tell!("chart-title-short", unit = unit)];
        let wide = |words: &str| widgets::widest(ui, [words], &semibold(13.5));
        let apart = ui.spacing().item_spacing.x;
        let beside: f32 = view.beside_words().iter().flatten().map(|words| wide(words) + apart).sum();
        let small = |words: &str| widgets::widest(ui, [words], &regular(12.5));
        let over_range = small(said("chart-end-of-range")) + 32.0;
        let reading = reading_width(view.unit, ui) + small(unit) + 2.0 * ui.spacing().item_spacing.x + 8.0;
        let end = view.reading().map_or(0.0, |g| reading + if g.over_range { over_range } else { 0.0 });
        let left = ui.available_width() - beside - end - 16.0;
        let padding = 2.0 * ui.spacing().button_padding.x + ui.spacing().item_spacing.x;
        let mut words = vec![said("save"), said("chart-wider"), said("chart-closer")];
        words.extend(state.end.map(|_| said("chart-to-pen")));
        words.extend(match state.feet {
            Some(_) => vec![said("chart-dividers-away"), said("chart-mean")],
            None => vec![said("chart-dividers")],
        });
        let buttons: f32 = words.into_iter().map(|w| small(w) + padding).sum();
        let as_list = left - buttons < wide(&titles[1]);
        let left = left - if as_list { small(said("twin-chart")) + padding } else { buttons };
        let long = left >= wide(&titles[0]);
        let remark = state.feet.is_none() && left >= wide(&titles[0]) + small(said("chart-below-zero")) + 16.0;
        let [whole, short] = titles;
        Self { title: if long { whole } else { short }, remark, as_list, buttons }
    }
}

/// Width of the longest reading, so that nothing beside it moves while the pen does.
fn reading_width(unit: PressureUnit, ui: &Ui) -> f32 {
    let longest = [pressure(-1000.0, unit), pressure(2000.0, unit)];
    widgets::widest(ui, longest.iter().map(String::as_str), &bold_figures(18.0)).ceil()
}

fn header_ui(view: &ChartView<'_>, state: &mut ChartState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    let unit = view.unit.symbol();
    let header = Header::of(view, state, ui);
    ui.label(RichText::new(&header.title).font(semibold(13.5)).color(t.accent));
    if header.remark {
        ui.label(quiet(ui, said("chart-below-zero")));
    }
    for (words, ink) in view.beside_words().into_iter().zip([t.second_pen, t.third_pen]) {
        if let Some(words) = words {
            ui.label(RichText::new(words).font(semibold(13.0)).color(ink));
        }
    }
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        if let Some(gauge) = view.reading() {
            ui.label(quiet(ui, unit));
            let text = pressure(gauge.mbar, view.unit);
            let wide = reading_width(view.unit, ui).max(widgets::widest(ui, [text.as_str()], &bold_figures(18.0)));
            let (rect, shown) = ui.allocate_exact_size(vec2(wide, widgets::HEADER), Sense::hover());
            ui.painter().text(rect.right_center(), Align2::RIGHT_CENTER, text, bold_figures(18.0), t.ink);
            let aloud = tell!("chart-transducer", pressure = pressure(gauge.mbar, view.unit), unit = unit);
            shown.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, &aloud));
            if gauge.over_range {
                // where another range is put on: at the joint with the tee
                let words = RichText::new(said("chart-end-of-range")).font(semibold(12.0)).color(t.caution);
                let pressed =
                    ui.add(Label::new(words).sense(Sense::click())).on_hover_text(said("chart-other-range"));
                pressed.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, said("chart-other-range")));
                widgets::focus_ring(ui, &pressed, pressed.rect.expand(1.0));
                if pressed.clicked()
                    && let Some(joint) = view.joint
                {
                    intents.push(Intent::Touch(Spot::Joint(joint.to_owned())));
                }
                widgets::mark_ui(widgets::Mark::Caution, ui);
            }
        }
        if header.as_list {
            ui.menu_button(RichText::new(said("twin-chart")).font(regular(12.5)), |ui| {
                ui.set_min_width(150.0);
                buttons_ui(view, state, true, ui, intents);
            });
        } else {
            // drawn from the left, so that the keyboard reaches them in the order in which they are seen
            widgets::at_right(ui, header.buttons, |ui| buttons_ui(view, state, false, ui, intents));
        }
    });
}

/// What is done with the chart: in a list the first thing is at the top, side by side it is at the right end.
fn buttons_ui(view: &ChartView<'_>, state: &mut ChartState, as_list: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    type Draw = fn(&ChartView<'_>, &mut ChartState, &mut Ui, &mut Vec<Intent>);
    let mut all: [Draw; 3] = [save_ui, spans_ui, dividers_ui];
    if !as_list {
        all.reverse();
    }
    for draw in all {
        draw(view, state, ui, intents);
    }
}

fn save_ui(view: &ChartView<'_>, _: &mut ChartState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let any = !view.trace.is_empty();
    let name = said("chart-save-name");
    if widgets::quiet_button(ui, said("save"), name, any, said("chart-nothing-measured"))
        .on_hover_text(name)
        .clicked()
    {
        intents.push(Intent::ExportTable);
        intents.push(Intent::ExportPicture);
    }
}

fn spans_ui(view: &ChartView<'_>, state: &mut ChartState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    if state.end.is_some()
        && widgets::quiet_button(ui, said("chart-to-pen"), said("chart-to-pen-name"), true, "").clicked()
    {
        intents.push(Intent::Follow);
    }
    if widgets::quiet_button(ui, said("chart-closer"), said("chart-closer-name"), true, "").clicked() {
        state.zoom(-1, view.now);
    }
    if widgets::quiet_button(ui, said("chart-wider"), said("chart-wider-name"), true, "").clicked() {
        state.zoom(1, view.now);
    }
}

fn dividers_ui(view: &ChartView<'_>, state: &mut ChartState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    if state.feet.is_some() {
        let readable = state.slip(view.trace).is_some();
        let why = said("chart-foot-nowhere");
        let name = said("chart-mean-name");
        if widgets::small_button(ui, said("chart-mean"), name, readable, why).clicked() {
            intents.push(Intent::UseSlip);
        }
    }
    let words = if state.feet.is_some() { said("chart-dividers-away") } else { said("chart-dividers") };
    if widgets::small_button(ui, words, said("chart-dividers-name"), true, "").clicked() {
        intents.push(Intent::Dividers);
    }
}

fn pan_and_zoom(response: &egui::Response, state: &mut ChartState, now: Micros, paper: Rect, ui: &Ui) {
    let (from, to) = state.window(now);
    let per_px = (to - from) as f64 / f64::from(paper.width());
    if response.dragged_by(PointerButton::Primary) {
        let moved = f64::from(response.drag_delta().x) * per_px;
        if moved != 0.0 {
            state.end = Some((to as f64 - moved).max(0.0) as Micros);
        }
    }
    if response.hovered() {
        let (wheel, pinch) = ui.input(|i| (i.smooth_scroll_delta().y, i.zoom_delta()));
        if (wheel != 0.0 || pinch != 1.0)
            && let Some(at) = response.hover_pos()
        {
            // the time under the pointer stays under it; two fingers do as the wheel does
            let factor =
                zoom_factor(f64::from((-wheel * 0.004).clamp(-0.5, 0.5))) / f64::from(pinch.clamp(0.5, 2.0));
            let under = from as f64 + f64::from(at.x - paper.left()) * per_px;
            state.span_s = (state.span_s * factor).clamp(SPANS[0], SPANS[SPANS.len() - 1]);
            if state.end.is_some() {
                let right = 1.0 - f64::from((at.x - paper.left()) / paper.width());
                state.end = Some((under + right * state.span_s * SECOND as f64).max(0.0) as Micros);
            }
        }
    }
}

/// 1 + x, or its inverse for negative x, so that a turn and its reverse cancel.
fn zoom_factor(x: f64) -> f64 {
    if x >= 0.0 { 1.0 + x } else { 1.0 / (1.0 - x) }
}

/// The line of the moment can be taken and moved; keys move it from the rail above.
fn here_handle(here: Micros, scale: &Scale, ui: &Ui) -> Option<Micros> {
    if here < scale.from || here > scale.to {
        return None;
    }
    let rect =
        Rect::from_center_size(pos2(scale.x(here), scale.paper.center().y), vec2(14.0, scale.paper.height()));
    let response = ui.interact(rect, ui.id().with("here"), Sense::drag());
    if response.hovered() || response.dragged() {
        ui.ctx().set_cursor_icon(egui::CursorIcon::ResizeHorizontal);
    }
    let at = response.interact_pointer_pos().filter(|_| response.dragged())?;
    Some(scale.time(at.x))
}

fn feet_ui(trace: &Trace, feet: &mut [Micros; 2], now: Micros, scale: &Scale, ui: &mut Ui) {
    for (i, foot) in feet.iter_mut().enumerate() {
        let x = scale.x(*foot).clamp(scale.paper.left(), scale.paper.right());
        let y = dividers::value_at(trace, *foot).map_or(scale.paper.center().y, |v| scale.y(v));
        let rect = Rect::from_center_size(pos2(x, y), vec2(32.0, 32.0));
        let response = ui.interact(rect, ui.id().with(("foot", i)), Sense::drag());
        if response.dragged()
            && let Some(at) = response.interact_pointer_pos()
        {
            *foot = scale.time(at.x).min(now);
        }
        if response.clicked() || response.drag_started() {
            response.request_focus();
        }
        if response.has_focus() {
            let filter = egui::EventFilter { horizontal_arrows: true, ..egui::EventFilter::default() };
            ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
            let by = widgets::arrow_steps(ui) * 0.1 * SECOND as f64;
            *foot = ((*foot as f64 + by).max(0.0) as Micros).min(now);
        }
        let side = if i == 0 { said("chart-foot-first") } else { said("chart-foot-second") };
        let value = dividers::value_at(trace, *foot)
            .map_or(said("chart-no-reading").to_owned(), |v| format!("{} mbar", number(v, 0)));
        let aloud = tell!("chart-foot-said", side = side, value = value, time = super::words::fine_clock(*foot));
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Slider, true, &aloud));
        widgets::focus_ring(ui, &response, rect.shrink(7.0));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_window_runs_with_the_pen_until_it_is_moved() {
        let mut state = ChartState { span_s: 80.0, ..Default::default() };
        assert_eq!(state.window(0), (0, 80 * SECOND));
        assert_eq!(state.window(200 * SECOND), (130 * SECOND, 210 * SECOND));
        state.show_time(100 * SECOND);
        assert_eq!(state.window(500 * SECOND), (60 * SECOND, 140 * SECOND));
        state.follow();
        assert_eq!(state.window(200 * SECOND).1, 210 * SECOND);
    }

    #[test]
    fn zooming_out_and_in_again_comes_back() {
        let mut state = ChartState { end: Some(500 * SECOND), ..Default::default() };
        let before = state.window(900 * SECOND);
        state.zoom(1, 900 * SECOND);
        assert_eq!(state.span_s, 180.0);
        state.zoom(-1, 900 * SECOND);
        assert_eq!(state.window(900 * SECOND), before);
        for _ in 0..40 {
            state.zoom(-1, 0);
        }
        assert_eq!(state.span_s, SPANS[0]);
    }

    #[test]
    fn a_long_wait_stays_in_sight() {
        let mut state = ChartState::default();
        state.waited(300 * SECOND);
        let (from, to) = state.window(400 * SECOND);
        assert!(from <= 100 * SECOND && to >= 400 * SECOND);
        let mut trace = Trace::default();
        for s in [0u64, 2000, 5000] {
            trace.at.push(s * SECOND);
            trace.mbar.push(if s == 0 { f64::NAN } else { -20.0 });
        }
        state.show_all(&trace, 5000 * SECOND);
        let (from, to) = state.window(5000 * SECOND);
        assert!(from > 1500 * SECOND && from <= 2000 * SECOND && to >= 5000 * SECOND, "{from} {to}");
    }

    #[test]
    fn after_hand_back_the_work_is_in_sight_and_not_the_rest() {
        let mut trace = Trace::default();
        for s in 0..3000u64 {
            trace.at.push(s * SECOND);
            trace.mbar.push(-20.0);
            trace.gas.push(0.0);
            trace.rpm.push(if (1000..1100).contains(&s) { 780.0 } else { 0.0 });
        }
        let mut state = ChartState::default();
        state.show_work(&trace, Some((990 * SECOND, 1160 * SECOND)), 3000 * SECOND);
        let (from, to) = state.window(3000 * SECOND);
        assert!(from < 990 * SECOND && from > 900 * SECOND, "{from}");
        assert!(to > 1160 * SECOND && to < 1300 * SECOND, "{to}");
        // nothing turned and nothing was read: all of it
        trace.rpm.fill(0.0);
        state.show_work(&trace, None, 3000 * SECOND);
        assert!(state.span_s > 2900.0);
    }

    #[test]
    fn after_hand_back_the_number_is_that_of_the_moment_that_is_picked() {
        let mut trace = Trace::default();
        for s in 100..200u64 {
            trace.at.push(s * SECOND);
            trace.mbar.push(-(s as f64));
        }
        let view = |over, here: Option<u64>| {
            let gauge = Some(Gauge { mbar: -7.0, over_range: false, zeroed_at: None });
            let view = ChartView {
                trace: &trace,
                now: 300 * SECOND,
                gauge,
                limit: None,
                unit: PressureUnit::Mbar,
                amps: None,
                second: None,
                beside: None,
                joint: None,
                over,
                here: here.map(|s| s * SECOND),
                projected: false,
            };
            view.reading().map(|gauge| gauge.mbar)
        };
        assert_eq!(
            [view(false, Some(150)), view(true, Some(150)), view(true, None)],
            [Some(-7.0), Some(-150.0), Some(-7.0)]
        );
        assert_eq!(view(true, Some(50)), None, "nothing was drawn then");
    }

    #[test]
    fn dividers_land_on_what_was_drawn() {
        let mut state = ChartState::default();
        state.toggle_dividers(30 * SECOND);
        let [a, b] = state.feet.unwrap();
        assert!(a < b && b <= 30 * SECOND);
        state.toggle_dividers(30 * SECOND);
        assert_eq!(state.feet, None);
    }
}
