//! What the hands do: key, starter, speed, lever, cap, primer, kit, time.

use bevy_egui::egui::{
    self, Align2, EventFilter, Key as Press, Rect, Response, RichText, Sense, Shape, Stroke, Ui, WidgetInfo,
    WidgetType, pos2, vec2,
};

use super::bridge::{Intent, speeds};
use super::state::Pace;
use super::symbols;
use super::theme::{TARGET, bold_figures, regular, semibold, tokens};
use super::widgets::{self, Rail, cell_background, focus_ring};
use crate::bay::action::{Action, Key};
use crate::bay::observation::{EngineRun, Observation, PrimerFeel};
use crate::bay::words::offer::{Spot, why_not};
use crate::language::{named, said};
use crate::scenario::model::Job;
use crate::tell;

/// What the strip remembers.
#[derive(Clone, Debug, PartialEq)]
pub struct HandsState {
    /// Speed asked for, 1/min; none: idle.
    pub speed: Option<f64>,
    /// Speed under the finger.
    pub dragged_speed: Option<f64>,
    /// Load under the finger, in 100.
    pub dragged_load: Option<f64>,
    /// Where the hand put the lever last.
    pub lever: Option<f64>,
    /// Lever under the finger.
    pub dragged_valve: Option<f64>,
    /// Longest time on the starter, s.
    pub crank_secs: u8,
    /// Strokes of the primer at a time.
    pub strokes: u8,
    /// Where not all have room: the other half of the hands is out.
    pub other_half: bool,
}

impl Default for HandsState {
    fn default() -> Self {
        Self {
            speed: None,
            dragged_speed: None,
            dragged_load: None,
            lever: None,
            dragged_valve: None,
            crank_secs: 5,
            strokes: 5,
            other_half: false,
        }
    }
}

/// What the strip shows.
#[derive(Clone, Debug, PartialEq)]
pub struct HandsView {
    /// The key is on.
    pub key_on: bool,
    /// Why the starter can't be used, or nothing.
    pub no_start: &'static str,
    /// Why the speed can't be changed, or nothing.
    pub no_speed: &'static str,
    /// Idle and test speed.
    pub speeds: (f64, f64),
    /// Rev counter.
    pub rpm: f64,
    /// Load, 0 … 1.
    pub load: f64,
    /// Why there is no primer to work, or nothing.
    pub no_primer: String,
    /// Lever, if there is a tee.
    pub valve: Option<f64>,
    /// Cap open.
    pub cap_open: bool,
    /// What the cap did and how the primer felt, in words.
    pub cap: &'static str,
    /// In words.
    pub primer: String,
    /// How it felt.
    pub felt: Option<PrimerFeel>,
    /// The starter turns.
    pub cranks: bool,
    /// Why tee work can't be done, or nothing.
    pub no_tee: &'static str,
    /// Purged.
    pub purged: bool,
    /// Zeroed.
    pub zeroed: bool,
    /// Handed back.
    pub over: bool,
}

impl HandsView {
    /// From what can be perceived.
    pub fn of(job: &Job, seen: &Observation, over: bool) -> Self {
        let running = matches!(seen.engine, EngineRun::Steady | EngineRun::Uneven);
        let primer = match seen.primer {
            Some((feel, strokes)) => tell!("hands-felt-at", feel = feel.word(), strokes = strokes),
            None => said("hands-not-felt").to_owned(),
        };
        Self {
            key_on: seen.key == Key::On,
            no_start: if seen.key == Key::Off {
                said("hands-key-off")
            } else if running {
                said("hands-engine-runs")
            } else if seen.engine == EngineRun::Cranking {
                said("hands-starter-turns")
            } else {
                ""
            },
            no_speed: if running { "" } else { said("hands-engine-still") },
            speeds: speeds(job),
            rpm: seen.rpm,
            load: seen.load,
            no_primer: why_not(&Action::Prime { strokes: 5 }, job, seen),
            valve: seen.tee.as_ref().map(|t| t.valve_open),
            cap_open: seen.cap_open,
            cap: seen.cap.map_or(said("hands-cap-unopened"), |c| named(c.word())),
            primer,
            felt: seen.primer.map(|(feel, _)| feel),
            cranks: seen.engine == EngineRun::Cranking,
            no_tee: if seen.tee.is_some() { "" } else { said("hands-no-tee-fitted") },
            purged: seen.tee.as_ref().is_some_and(|t| t.purged_at.is_some()),
            zeroed: seen.gauge.is_some_and(|g| g.zeroed_at.is_some()),
            over,
        }
    }
}

/// The lever in words.
pub fn lever_words(open: f64) -> String {
    match open {
        o if o <= 0.0 => said("lever-shut").to_owned(),
        o if o >= 1.0 => said("lever-open").to_owned(),
        o => tell!("lever-part", percent = format!("{:.0}", o * 100.0)),
    }
}

/// Draws the strip into what is left of `ui`.
pub fn hands_ui(view: &HandsView, state: &mut HandsState, pace: Pace, ui: &mut Ui, intents: &mut Vec<Intent>) {
    if view.over {
        over_ui(ui, intents);
        return;
    }
    let rect = ui.available_rect_before_wrap().shrink2(vec2(12.0, 6.0));
    let shares = shares(ui);
    let groups: &[usize] = match (rect.width() >= shares.iter().sum::<f32>() + 6.0 * LEAST_GAP, state.other_half) {
        (true, _) => &[0, 1, 2, 3, 4, 5, 6],
        // the hands that are wanted while the pen is watched, and the others
        (false, false) => &[0, 1, 3, 6],
        (false, true) => &[2, 4, 5, 6],
    };
    let other = widgets::widest(ui, [said("hands-others")], &regular(13.5)) + 22.0;
    let switch = if groups.len() == shares.len() { 0.0 } else { other.max(60.0) };
    let total: f32 = groups.iter().map(|g| shares[*g]).sum();
    let between = groups.len() as f32 - 1.0;
    let room = rect.width() - switch;
    let gap = ((room - total) / between).clamp(LEAST_GAP, 40.0);
    // wider rails are finer rails; beyond twice the width they are only far apart
    let spread = ((room - gap * between) / total).min(2.2);
    let mut left = rect.left();
    for &i in groups {
        let width = shares[i] * spread;
        let group = Rect::from_min_size(pos2(left, rect.top()), vec2(width, rect.height()));
        left += width + gap;
        if i != groups[0] {
            // a hairline tells the groups apart where there is little room between them
            let x = group.left() - (gap / 2.0).round();
            ui.painter().vline(x, rect.y_range().shrink(2.0), Stroke::new(1.0, tokens(ui).rule));
        }
        ui.scope_builder(egui::UiBuilder::new().max_rect(group).id_salt(("hand", i)), |ui| {
            ui.spacing_mut().item_spacing = vec2(4.0, 4.0);
            ui.spacing_mut().button_padding.x = 4.0;
            match i {
                0 => key_ui(view, state, ui, intents),
                1 => speed_ui(view, state, ui, intents),
                2 => load_ui(view, state, ui, intents),
                3 => lever_ui(view, state, ui, intents),
                4 => cap_and_primer_ui(view, state, ui, intents),
                5 => kit_ui(view, ui, intents),
                _ => time_ui(pace, ui, intents),
            }
        });
    }
    if switch > 0.0 {
        let at = Rect::from_min_max(pos2(rect.right() - switch + 8.0, rect.top() + 20.0), rect.max);
        ui.scope_builder(egui::UiBuilder::new().max_rect(at).id_salt("other hands"), |ui| {
            let name = if state.other_half { said("hands-first-half") } else { said("hands-other-half") };
            if widgets::wide_button(ui, at.width(), said("hands-others"), name, true, "")
                .on_hover_text(name)
                .clicked()
            {
                state.other_half = !state.other_half;
            }
        });
    }
}

/// Least shares of the width: key, speed, load, valve, cap and primer, kit, time.
const SHARES: [f32; 7] = [84.0, 120.0, 84.0, 96.0, 112.0, 78.0, 134.0];
/// Least room between two of them, points.
const LEAST_GAP: f32 = 9.0;

/// How much each group asks for in the language spoken; the same whatever stands on its buttons at the moment.
fn shares(ui: &Ui) -> [f32; 7] {
    let wide = |words: &[&str], size: f32| widgets::widest(ui, words.iter().copied(), &regular(size));
    let cells = |words: &[&str], count: f32| count * (wide(words, 13.5) + 12.0) + 4.0 * (count - 1.0);
    let titled = |words: &str, value: f32| wide(&[words], 12.0) + value;
    let lever = [lever_words(0.0), lever_words(1.0), lever_words(0.55)];
    let lever = widgets::widest(ui, lever.iter().map(String::as_str), &semibold(13.0)) + 8.0;
    let felt = PrimerFeel::ALL.map(|f| {
        let felt = tell!("hands-felt-at", feel = f.word(), strokes = 20);
        tell!("hands-prime", strokes = 5, felt = felt)
    });
    let prime = felt.iter().map(String::as_str).chain([said("hands-no-primer")]).collect::<Vec<_>>();
    let asked = [
        cells(&[said("hands-off"), said("hands-on")], 2.0).max(cells(&[said("hands-start")], 1.0) + 44.0),
        titled(said("hands-speed"), 46.0).max(cells(&[said("hands-idle"), "2500"], 2.0)),
        titled(said("hands-load"), 38.0).max(cells(&[said("hands-snap"), said("hands-more")], 2.0)),
        titled(said("hands-valve"), lever),
        titled(said("hands-cap-primer"), 0.0)
            .max(cells(&[said("hands-cap-open"), said("hands-cap-shut")], 1.0))
            .max(cells(&prime, 1.0)),
        titled(said("tee"), 0.0).max(cells(&[said("hands-purge-again"), said("hands-zero-again")], 1.0)),
        titled(said("hands-time"), 0.0),
    ];
    core::array::from_fn(|i| asked[i].ceil().max(SHARES[i]))
}

/// After hand-back the hands rest.
fn over_ui(ui: &mut Ui, intents: &mut Vec<Intent>) {
    let rect = ui.available_rect_before_wrap().shrink2(vec2(12.0, 8.0));
    ui.scope_builder(egui::UiBuilder::new().max_rect(rect), |ui| {
        let words = said("hands-again");
        let wide = widgets::widest(ui, [words], &regular(12.5)) + 400.0;
        ui.horizontal(|ui| {
            ui.label(super::theme::heading(said("hands-over")));
            ui.add_space(10.0);
            let back = widgets::button(ui, widgets::Weight::Primary, said("to-shelf"), "", true, "");
            if back.on_hover_text(words).clicked() {
                intents.push(Intent::ToShelf);
            }
            if wide < rect.width() {
                ui.label(super::theme::quiet(ui, words));
            }
        });
    });
}

fn title(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).font(regular(12.0)).color(tokens(ui).second_ink));
}

fn key_ui(view: &HandsView, state: &mut HandsState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    title(ui, said("hands-key"));
    let width = ui.available_width();
    let turned = if view.cranks { 2 } else { usize::from(view.key_on) };
    symbols::lock(
        ui.painter(),
        pos2(ui.min_rect().left() + width - 9.0, ui.min_rect().center().y),
        turned,
        tokens(ui),
    );
    let now = Some(usize::from(view.key_on));
    if let Some(i) = widgets::choice(ui, width, said("hands-key"), &[said("hands-off"), said("hands-on")], now) {
        intents.push(Intent::Do(Action::Key { to: if i == 0 { Key::Off } else { Key::On } }));
    }
    let start = widgets::wide_button(
        ui,
        width - 44.0,
        said("hands-start"),
        said("hands-start-name"),
        view.no_start.is_empty(),
        view.no_start,
    );
    if start.clicked() {
        intents.push(Intent::Start);
    }
    let beside = Rect::from_min_max(
        pos2(start.rect.right() + 4.0, start.rect.top()),
        pos2(start.rect.right() + 44.0, start.rect.bottom()),
    );
    // at most: it is let go as soon as the engine runs
    let text = format!("\u{2264} {} s", state.crank_secs);
    let longer = small_cell(ui, beside, &text, said("hands-crank-time"));
    if longer.clicked() {
        state.crank_secs = match state.crank_secs {
            3 => 5,
            5 => 10,
            _ => 3,
        };
    }
}

/// A small pressable cell at a place.
fn small_cell(ui: &mut Ui, rect: Rect, text: &str, name: &str) -> Response {
    let response = ui.interact(rect, ui.id().with(name), Sense::click()).on_hover_text(name);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, ui.is_enabled(), name));
    cell_background(ui, &response, rect, false);
    ui.painter().text(rect.center(), Align2::CENTER_CENTER, text, regular(13.0), tokens(ui).ink);
    focus_ring(ui, &response, rect);
    response
}

fn speed_ui(view: &HandsView, state: &mut HandsState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let width = ui.available_width();
    let line = ui.label(RichText::new(said("hands-speed")).font(regular(12.0)).color(tokens(ui).second_ink)).rect;
    let right = pos2(line.left() + width, line.center().y);
    ui.painter().text(right, Align2::RIGHT_CENTER, format!("{:.0}", view.rpm), bold_figures(15.0), tokens(ui).ink);
    let (idle, raised) = view.speeds;
    ui.add_enabled_ui(view.no_speed.is_empty(), |ui| {
        let mut value = state.dragged_speed.or(state.speed).unwrap_or(idle);
        let rail =
            Rail { name: said("hands-speed-name"), low: idle, high: raised * 1.2, step: 50.0, before: None, width };
        let response = widgets::rail(ui, &mut value, &rail);
        if response.dragged() {
            state.dragged_speed = Some(value);
        } else if response.changed() || response.drag_stopped() {
            state.dragged_speed = None;
            intents.push(Intent::Do(Action::Speed { rpm: value.round() }));
        }
        ui.horizontal(|ui| {
            let half = (width - 4.0) / 2.0;
            if widgets::wide_button(ui, half, said("hands-idle"), said("hands-idle-name"), true, "").clicked() {
                intents.push(Intent::Do(Action::Speed { rpm: idle }));
            }
            let text = format!("{raised:.0}");
            if widgets::wide_button(ui, half, &text, said("hands-test-speed"), true, "").clicked() {
                intents.push(Intent::Do(Action::Speed { rpm: raised }));
            }
        });
    });
}

/// Load at the speed that is held; the throttle floored; everything else.
fn load_ui(view: &HandsView, state: &mut HandsState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let width = ui.available_width();
    let line = ui.label(RichText::new(said("hands-load")).font(regular(12.0)).color(tokens(ui).second_ink)).rect;
    let right = pos2(line.left() + width, line.center().y);
    let shown = format!("{:.0}", state.dragged_load.unwrap_or(view.load * 100.0));
    ui.painter().text(right, Align2::RIGHT_CENTER, shown, bold_figures(15.0), tokens(ui).ink);
    ui.add_enabled_ui(view.no_speed.is_empty(), |ui| {
        let mut value = state.dragged_load.unwrap_or(view.load * 100.0);
        let rail = Rail { name: said("hands-load-name"), low: 0.0, high: 100.0, step: 10.0, before: None, width };
        let response = widgets::rail(ui, &mut value, &rail);
        if response.dragged() {
            state.dragged_load = Some(value);
        } else if response.changed() || response.drag_stopped() {
            state.dragged_load = None;
            intents.push(Intent::Do(Action::Load { share: value.round() / 100.0 }));
        }
    });
    ui.horizontal(|ui| {
        let half = (width - 4.0) / 2.0;
        let name = said("hands-snap-name");
        if widgets::wide_button(ui, half, said("hands-snap"), name, view.no_speed.is_empty(), view.no_speed)
            .clicked()
        {
            intents.push(Intent::Do(Action::Snap));
        }
        if widgets::wide_button(ui, half, said("hands-more"), said("hands-more-name"), true, "").clicked() {
            intents.push(Intent::Touch(Spot::Vehicle));
        }
    });
}

/// The lever: an arc with an arm. Drag it, press it to swing it over, or use the arrows.
fn lever_ui(view: &HandsView, state: &mut HandsState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    let width = ui.available_width();
    let line = ui.label(RichText::new(said("hands-valve")).font(regular(12.0)).color(t.second_ink)).rect;
    let open = state.dragged_valve.or(view.valve.map(|seen| state.lever.unwrap_or(seen)));
    let area = ui.available_rect_before_wrap();
    let rect = area.with_max_y(area.top() + 68.0);
    let enabled = view.valve.is_some() && ui.is_enabled();
    let mut response =
        ui.interact(rect, ui.id().with("lever"), if enabled { Sense::click_and_drag() } else { Sense::hover() });
    let pivot = pos2((rect.left() + 46.0).max(rect.center().x - 14.0), rect.bottom() - 12.0);
    let aloud = match open {
        Some(open) => tell!("hands-valve-said", lever = lever_words(open)),
        None => said("hands-valve-none").to_owned(),
    };
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, enabled, &aloud));
    let arc: Vec<_> = (0..=24).map(|i| pivot + 38.0 * direction(i as f32 / 24.0)).collect();
    let painter = ui.painter();
    painter.add(Shape::line(arc, Stroke::new(3.0, t.rule)));
    painter.text(
        pivot + vec2(-14.0, -44.0),
        Align2::CENTER_CENTER,
        said("lever-shut"),
        regular(11.0),
        t.second_ink,
    );
    let colour = if enabled { t.accent } else { t.faint };
    let shown = open.unwrap_or(1.0);
    painter.line_segment([pivot, pivot + 34.0 * direction(shown as f32)], Stroke::new(5.0, colour));
    painter.circle_filled(pivot, 6.0, t.ink);
    let words = open.map_or("–".to_owned(), lever_words);
    let right = pos2(line.left() + width, line.center().y);
    painter.text(right, Align2::RIGHT_CENTER, words, semibold(13.0), t.ink);
    focus_ring(ui, &response, rect.shrink2(vec2(2.0, 2.0)));
    if !enabled {
        response = response.on_hover_text(said("hands-no-tee-fitted"));
    }
    if response.dragged()
        && let Some(at) = response.interact_pointer_pos()
    {
        let v = at - pivot;
        let angle = (-v.y).atan2(v.x).clamp(0.0, std::f32::consts::FRAC_PI_2);
        let open = 1.0 - f64::from(angle / std::f32::consts::FRAC_PI_2);
        // the ends catch
        let open = if open < 0.06 {
            0.0
        } else if open > 0.94 {
            1.0
        } else {
            (open * 50.0).round() / 50.0
        };
        state.dragged_valve = Some(open);
    } else if response.clicked() {
        state.dragged_valve = None;
        intents.push(Intent::SwingValve);
    } else if let Some(open) = state.dragged_valve.take() {
        intents.push(Intent::Do(Action::Valve { open }));
    }
    if response.has_focus() {
        lever_keys(view, &response, ui, intents);
    }
}

/// Where the arm points: up when shut, across when open.
fn direction(open: f32) -> egui::Vec2 {
    let a = std::f32::consts::FRAC_PI_2 * (1.0 - open);
    vec2(a.cos(), -a.sin())
}

fn lever_keys(view: &HandsView, response: &Response, ui: &Ui, intents: &mut Vec<Intent>) {
    let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
    let (left, right) = ui.input(|i| (i.key_pressed(Press::ArrowLeft), i.key_pressed(Press::ArrowRight)));
    if let Some(open) = view.valve
        && left != right
    {
        let to = (open * 10.0 + if right { 1.0 } else { -1.0 }).round() / 10.0;
        intents.push(Intent::Do(Action::Valve { open: to.clamp(0.0, 1.0) }));
    }
}

fn cap_and_primer_ui(view: &HandsView, state: &HandsState, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let width = ui.available_width();
    title(ui, said("hands-cap-primer"));
    let text = if view.cap_open { said("hands-cap-shut") } else { said("hands-cap-open") };
    let name = tell!("hands-cap-said", text = text, last = view.cap);
    let cap = widgets::wide_button(ui, width, text, &name, true, "")
        .on_hover_text(tell!("hands-cap-last", last = view.cap));
    let sign = |rect: Rect| rect.left_center() + vec2(16.0, 0.0);
    let roomy = |ui: &Ui, text: &str| widgets::widest(ui, [text], &regular(13.5)) + 2.0 * 30.0 <= width;
    if roomy(ui, text) {
        symbols::cap(ui.painter(), sign(cap.rect), view.cap_open, tokens(ui));
    }
    if cap.clicked() {
        intents.push(Intent::TurnCap);
    }
    // before anything was felt there is nothing to say of it
    let text = if view.primer == said("hands-not-felt") {
        tell!("hands-prime-unfelt", strokes = state.strokes)
    } else {
        tell!("hands-prime", strokes = state.strokes, felt = view.primer)
    };
    let name = tell!("hands-prime-said", strokes = state.strokes, felt = view.primer);
    let text = if view.no_primer == said("bay-why-no-primer") { said("hands-no-primer").to_owned() } else { text };
    let prime = widgets::wide_button(ui, width, &text, &name, view.no_primer.is_empty(), &view.no_primer);
    if roomy(ui, &text) && view.no_primer != said("bay-why-no-primer") {
        let firm = match view.felt {
            Some(PrimerFeel::Firm) => 1.0,
            Some(PrimerFeel::Soft) => 0.55,
            Some(PrimerFeel::Slack) => 0.2,
            None => 0.75,
        };
        symbols::hand_bulb(ui.painter(), sign(prime.rect), firm, view.felt.is_some(), tokens(ui));
    }
    if prime.clicked() {
        intents.push(Intent::Prime);
    }
}

fn kit_ui(view: &HandsView, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let width = ui.available_width();
    title(ui, said("tee"));
    let ready = view.no_tee.is_empty();
    let purge = if view.purged { said("hands-purge-again") } else { said("hands-purge") };
    if widgets::wide_button(ui, width, purge, said("hands-purge-name"), ready, view.no_tee).clicked() {
        intents.push(Intent::Do(Action::Purge));
    }
    let zero = if view.zeroed { said("hands-zero-again") } else { said("hands-zero") };
    if widgets::wide_button(ui, width, zero, said("hands-zero-name"), ready, view.no_tee).clicked() {
        intents.push(Intent::Do(Action::Zero));
    }
}

fn time_ui(pace: Pace, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let t = tokens(ui);
    title(ui, said("hands-time"));
    let width = (ui.available_width() - 8.0) / 3.0;
    ui.horizontal(|ui| {
        for (this, name) in [
            (Pace::Paused, said("hands-pause")),
            (Pace::Real, said("hands-real-time")),
            (Pace::Tenfold, said("hands-tenfold")),
        ] {
            let (rect, response) = ui.allocate_exact_size(vec2(width, TARGET), Sense::click());
            let on = pace == this;
            response.widget_info(|| WidgetInfo::selected(WidgetType::RadioButton, true, on, name));
            cell_background(ui, &response, rect, on);
            match this {
                Pace::Paused => symbols::pause(ui.painter(), rect.center(), t.ink),
                Pace::Real => symbols::play(ui.painter(), rect.center(), 1, t.ink),
                Pace::Tenfold => symbols::play(ui.painter(), rect.center(), 2, t.ink),
            }
            if on {
                ui.painter().hline(rect.x_range().shrink(6.0), rect.bottom() - 2.0, Stroke::new(2.0, t.accent));
            }
            focus_ring(ui, &response, rect);
            if response.on_hover_text(name).clicked() {
                intents.push(Intent::Pace(this));
            }
        }
    });
    ui.horizontal(|ui| {
        for (text, secs) in [("10 s", 10.0), ("1 min", 60.0), ("5 min", 300.0)] {
            let name = tell!("hands-let-pass", text = text);
            if widgets::wide_button(ui, width, text, &name, true, "").clicked() {
                intents.push(Intent::Do(Action::Wait { secs }));
            }
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lever_points_up_when_shut_and_across_when_open() {
        assert!((direction(0.0) - vec2(0.0, -1.0)).length() < 1e-6);
        assert!((direction(1.0) - vec2(1.0, 0.0)).length() < 1e-6);
        assert_eq!(lever_words(0.0), "shut");
        assert_eq!(lever_words(1.0), "open");
        assert_eq!(lever_words(0.4), "40 % open");
    }
}
