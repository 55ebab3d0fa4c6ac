//! What stands on the desk in a sitting, page by page: the place with its glass, the chart, the paper, and what lies over
//! them. Where each lies is said by [`crate::app::plan`].

use bevy_egui::egui::{self, Pos2, Rect, Shape, Stroke, Ui, UiBuilder, pos2, vec2};

use crate::app::bridge::{Intent, speeds};
use crate::app::chart::{self, ChartView};
use crate::app::dragging::{self, RACK};
use crate::app::opened::{self, Picture, Wall};
use crate::app::plan::{Plan, View, Wanted, Way};
use crate::app::scene::{self, SceneView};
use crate::app::session::Session;
use crate::app::sheet_form::Entry;
use crate::app::state::{PanelState, Tab};
use crate::app::test_sheet::{self, SheetView};
use crate::app::theme::{self, heading, tokens};
use crate::app::touch::{self, TouchState, TouchView};
use crate::app::widgets::{self, Mark as Sign, Weight};
use crate::app::{
    belief_chart, candidates, captions, coach, debrief, finding, job_card, keys, messages, reminders, sight_glass,
    twin, what_is_left, words, workshop,
};
use crate::bay::action::Reading;
use crate::bay::observation::Observation;
use crate::bay::words::offer::Spot;
use crate::language::{named, said};
use crate::tell;

/// Height of the picture after hand-back at which its parts don't run into each other, points.
const LEAST_PICTURE: f32 = 300.0;

/// Height of the sheet over which the points may lie under it, points: what was read and what is thought of it are seen at
/// once. Lower paper has the points in a line.
const SHEET_WITH_POINTS: f32 = 620.0;
/// Height of the paper from which it has room for that line, points.
const SHEET_WITH_LINE: f32 = 560.0;

/// The layout for what is open now; the quiet line is as high as what was said last.
pub(super) fn plan_of(session: &dyn Session, state: &PanelState, ui: &Ui) -> Plan {
    let wanted = Wanted {
        over: session.is_over(),
        view: state.view,
        on_paper: state.on_paper,
        hands: state.hands_out,
        ..Wanted::default()
    };
    let plan = Plan::of(ui.max_rect(), wanted);
    let line = messages::line_height(&state.messages, plan.line.width() - 20.0, plan.drawer, ui);
    Plan::of(ui.max_rect(), Wanted { line, ..wanted })
}

/// Sheets that lie over everything: words, looks, keys, a breach that is explained.
pub(super) fn over_all_ui(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    if state.twin {
        let words = twin_words(session, state, seen);
        if twin::twin_ui(&words, ui) {
            intents.push(Intent::Twin);
        }
    }
    if state.glass_card
        && sight_glass::card_ui(sight_glass::Tint::of(&session.job().plant), &state.glass, state.reduced_motion, ui)
    {
        intents.push(Intent::GlassCard);
    }
    if state.keys_open {
        keys::keys_ui(state.reduced_motion, ui, intents);
    }
}

/// Index tabs side by side; gives which was pressed.
pub(super) fn index_tabs(ui: &mut Ui, rect: Rect, titles: &[&str], on: impl Fn(usize) -> bool) -> Option<usize> {
    // as wide as its word asks, and what is left over in equal parts
    let font = theme::semibold(13.5);
    let asked: Vec<f32> = titles.iter().map(|title| widgets::widest(ui, [*title], &font) + 18.0).collect();
    let left = (rect.width() - asked.iter().sum::<f32>()) / titles.len().max(1) as f32;
    let mut x = rect.left();
    let mut pressed = None;
    for (i, (title, asked)) in titles.iter().zip(asked).enumerate() {
        let tab = Rect::from_min_size(pos2(x, rect.top()), vec2(asked + left - 2.0, rect.height()));
        x += asked + left;
        if widgets::index_tab(ui, tab, title, on(i)).clicked() {
            pressed = Some(i);
        }
    }
    pressed
}

/// Index tabs of drawing and chart, where only one of them is seen.
pub(super) fn views_ui(
    session: &dyn Session,
    state: &mut PanelState,
    plan: Plan,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    let Some(rect) = plan.views else { return };
    let over = session.is_over();
    let seen = |i: usize| View::ALL[i] == state.view && !(plan.way == Way::Pages && state.on_paper);
    if let Some(i) = index_tabs(ui, rect, &View::ALL.map(|v| v.title(over)), seen) {
        intents.push(Intent::See(View::ALL[i]));
        state.messages.open = false;
    }
}

/// Index tabs of the paper.
pub(super) fn tabs_ui(
    session: &dyn Session,
    state: &mut PanelState,
    plan: Plan,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    let shown = Tab::shown(session.is_over());
    let titles: Vec<&str> = shown.iter().map(|tab| tab.title()).collect();
    let on = |i: usize| shown[i] == state.tab && (state.on_paper || plan.way != Way::Pages);
    if plan.way == Way::Beside && state.touch.is_some() {
        // the slip lies on them
        return;
    }
    if let Some(i) = index_tabs(ui, plan.tabs, &titles, on) {
        intents.push(Intent::Turn(shown[i]));
        if plan.way == Way::Pages {
            (state.messages.open, state.touch) = (false, None);
        }
    }
}

/// Height over its width from which a place has the glass under the drawing: beside it the drawing would be small, with
/// nothing above and below it.
const TALL: f32 = 0.75;

/// Where the scene and the glass lie in the place, for a drawing of this size.
fn scene_and_glass(rect: Rect, size: (f32, f32)) -> [Rect; 2] {
    if rect.height() < TALL * rect.width() {
        let wide = sight_glass::width_in(rect.height());
        let glass =
            Rect::from_min_max(pos2(rect.right() - wide - 14.0, rect.top() + 6.0), rect.max - vec2(8.0, 4.0));
        return [
            Rect::from_min_max(rect.min + vec2(10.0, 6.0), pos2(glass.left() - 4.0, rect.bottom() - 2.0)),
            glass,
        ];
    }
    let inner = rect.shrink2(vec2(10.0, 6.0));
    let drawing = inner.width() * size.1 / size.0;
    // what is heard stands over the drawing; the glass isn't the smaller part
    let high = (drawing + scene::FOOT + 36.0).min(0.55 * inner.height());
    let (scene, glass) = inner.split_top_bottom_at_y(inner.top() + high);
    [scene, glass.with_min_y(glass.top() + 6.0)]
}

/// The scene with the glass, or after hand-back the beliefs over time.
///
/// Below [`LEAST_PICTURE`] the picture after hand-back is scrolled.
pub(super) fn place_ui(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
    rect: Rect,
    way: Way,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    widgets::sheet(ui, rect);
    if session.is_over() && (state.tab == Tab::Debrief || way != Way::Whole) {
        let inner = rect.shrink(10.0);
        if inner.height() >= LEAST_PICTURE {
            after_ui(session, state, inner, ui, intents);
            return;
        }
        inside(ui, inner, "low picture", |ui| {
            egui::ScrollArea::vertical().id_salt("picture").auto_shrink([false, false]).show(ui, |ui| {
                let size = vec2(ui.available_width() - 12.0, LEAST_PICTURE);
                let (whole, _) = ui.allocate_exact_size(size, egui::Sense::hover());
                after_ui(session, state, whole, ui, intents);
            });
        });
        return;
    }
    let touched = state.touch.as_ref().map(|t| &t.spot);
    let mut view = SceneView::of(session.job(), seen, state.workshop.joint.as_ref(), touched);
    // a class reads cautions on the quiet line; the drawing is the larger for it
    view.bare = state.projector;
    let [scene_rect, glass] = scene_and_glass(rect, view.layout.size);
    let (mut tee, mut touched) = (None, None);
    let still = state.reduced_motion;
    inside(ui, scene_rect, "scene", |ui| {
        (tee, touched) = scene::scene_ui(&view, &mut state.scene, &state.glass, still, ui, intents);
    });
    if let Some(tee) = tee {
        leader(ui, tee, glass);
    }
    if !session.is_over() && !state.projector {
        let drawing = scene_rect.with_max_y(scene_rect.bottom() - scene::FOOT);
        let drawing = drawing.with_min_y(drawing.top() + state.scene.head());
        let bench = dragging::Bench {
            job: session.job(),
            seen,
            old_seals: state.workshop.old_seals,
            joints: &state.scene.joints,
            rack: scene_rect.with_min_y(drawing.bottom()).with_min_x(scene_rect.right() - RACK),
            drawing,
        };
        dragging::rack_ui(&bench, &mut state.dragging, ui, intents);
    }
    if state.captions {
        // the filler cap is at the left, in every drawing
        let over_the_roof = scene_rect.with_min_x(scene_rect.left() + 0.3 * scene_rect.width());
        captions::captions_ui(&seen.sounds, over_the_roof, ui);
    }
    if let Some(at) = touched
        && way == Way::Whole
    {
        // the slip hangs on what it is about
        let t = tokens(ui);
        // under the words of the cautions, not over them
        let foot = scene_rect.bottom() - scene::FOOT;
        for ends in [[at, pos2(at.x, foot.max(at.y))], [pos2(at.x, rect.bottom()), pos2(at.x, rect.bottom() + 8.0)]]
        {
            ui.painter().extend(Shape::dashed_line(&ends, Stroke::new(1.0, t.accent), 4.0, 3.0));
        }
    }
    inside(ui, glass, "glass", |ui| {
        let picture = sight_glass::Picture::of(seen, sight_glass::Tint::of(&session.job().plant));
        sight_glass::sight_glass_ui(picture.as_ref(), &state.glass, state.reduced_motion, ui, intents);
    });
}

/// After hand-back: the line opened, or belief over time.
pub(super) fn after_ui(
    session: &dyn Session,
    state: &mut PanelState,
    rect: Rect,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    let window = state.chart.window(session.now());
    let head = rect.with_max_y(rect.top() + 26.0);
    match (state.picture, &state.wall, &state.mark) {
        (Picture::Line, Wall::Open(shown), _) => {
            let at = *state.here.get_or_insert_with(|| shown.first());
            let plant = &session.job().plant;
            inside(ui, rect, "opened", |ui| opened::opened_ui(shown, plant, window, at, ui, intents));
        }
        (Picture::Belief, _, Some(mark)) => {
            inside(ui, rect, "beliefs", |ui| belief_chart::belief_chart_ui(mark, window, state.here, ui));
        }
        (picture, wall, _) => {
            let (words, share) = (said("desk-opening"), state.opened_share);
            let waits = rect.with_min_y(head.bottom() + 20.0).with_max_x(rect.left() + rect.width().min(520.0));
            inside(ui, waits, "waits", |ui| match (picture, wall) {
                (Picture::Belief, _) => {
                    ui.label(said("desk-belief-later"));
                }
                (_, Wall::Never(why)) => {
                    ui.label(why);
                }
                (_, Wall::Left) => {
                    ui.label(said("opened-left"));
                    let name = said("opened-open-name");
                    if widgets::button(ui, Weight::Plain, said("opened-open"), name, true, "").clicked() {
                        intents.push(Intent::OpenLine);
                    }
                }
                _ => {
                    if widgets::working_ui(ui, words, share, said("opened-leave"), said("opened-leave-name")) {
                        intents.push(Intent::LeaveLine);
                    }
                }
            });
        }
    }
    opened::picture_ui(state.picture, head, ui, intents);
}

/// Scene, glass and trace as sentences.
pub(super) fn twin_words(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
) -> Vec<(&'static str, Vec<String>)> {
    let view = SceneView::of(session.job(), seen, None, None);
    let glass = seen.glass_words.clone().unwrap_or_else(|| said("twin-no-tee").to_owned());
    let (from, to) = state.chart.window(session.now());
    let chart = ChartView {
        trace: session.trace(),
        now: session.now(),
        gauge: seen.gauge,
        limit: None,
        unit: state.units.pressure(),
        amps: seen.clamp.clone(),
        second: seen.second.clone(),
        beside: session.beside(),
        joint: seen.tee.as_ref().map(|tee| tee.joint.as_str()),
        over: session.is_over(),
        here: state.here,
        projected: state.projector,
    };
    state.chart.blocks[0].grow(&session.trace().mbar);
    let unit = state.units.pressure();
    let gauge = seen
        .gauge
        .map(|gauge| tell!("twin-gauge", reading = words::pressure(gauge.mbar, unit), unit = unit.symbol()));
    let mut trace: Vec<String> = gauge.into_iter().collect();
    trace.push(format!("{}.", chart::words(&chart, &state.chart.blocks[0], from, to)));
    let shown = session.trace().ticks.iter().filter(|t| t.at >= from && t.at <= to);
    trace.extend(shown.map(|t| format!("{}: {}", words::short_clock(t.at), named(&t.word))));
    let heard = seen.sounds.iter().map(|s| (*s).to_owned()).collect();
    vec![
        (said("twin-place"), view.words()),
        (said("twin-glass"), vec![glass]),
        (said("twin-chart"), trace),
        (said("twin-heard"), heard),
    ]
}

/// The slip of what was touched, over the chart.
pub(super) fn slip_ui(
    session: &dyn Session,
    state: &PanelState,
    mut touch: TouchState,
    seen: &Observation,
    rect: Rect,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) -> TouchState {
    let looked = match &touch.spot {
        Spot::Part(name) | Spot::Joint(name) => state.workshop.looked.get(name),
        Spot::Vehicle => None,
    };
    let view = TouchView::of(session.job(), seen, &touch.spot, looked);
    touch::touch_ui(&view, &mut touch, rect, ui, intents);
    touch
}

/// The dashed line from the tee to the glass: the one is a detail of the other.
pub(super) fn leader(ui: &Ui, tee: Pos2, glass: Rect) {
    let t = tokens(ui);
    let to = sight_glass::leader_end(glass);
    ui.painter().extend(Shape::dashed_line(&[tee + vec2(8.0, -6.0), to], Stroke::new(1.0, t.faint), 4.0, 4.0));
}

pub(super) fn chart_ui(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
    rect: Rect,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    widgets::sheet(ui, rect);
    let writing = state.tab == Tab::Sheet && matches!(state.sheet.entry, Entry::Reading | Entry::Prediction);
    let limit =
        seen.tee.as_ref().filter(|_| writing).and_then(|tee| session.job().limit(&tee.joint, state.sheet.state));
    let view = ChartView {
        trace: session.trace(),
        now: session.now(),
        gauge: seen.gauge,
        limit: limit.map(|l| (l.low_mbar, l.high_mbar)),
        unit: state.units.pressure(),
        amps: seen.clamp.clone(),
        second: seen.second.clone(),
        beside: session.beside(),
        joint: seen.tee.as_ref().map(|tee| tee.joint.as_str()),
        over: session.is_over(),
        here: state.here,
        projected: state.projector,
    };
    inside(ui, rect.shrink2(vec2(10.0, 4.0)), "chart", |ui| chart::chart_ui(&view, &mut state.chart, ui, intents));
}

pub(super) fn paper_ui(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
    paper: Rect,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    let over = session.is_over();
    let job = session.job();
    let points = candidates::height_beside(ui, job, paper.width() - 28.0) + 20.0;
    if state.tab == Tab::Sheet && !over && paper.height() - points >= SHEET_WITH_POINTS {
        let split = paper.bottom() - points;
        let (upper, lower) = (paper.with_max_y(split - 8.0), paper.with_min_y(split));
        widgets::sheet(ui, lower);
        inside(ui, lower.shrink2(vec2(14.0, 10.0)), "points", |ui| {
            candidates::beside_ui(job, &mut state.candidates, ui, intents);
        });
        widgets::sheet(ui, upper);
        one_paper_ui(session, state, seen, upper, ui, intents);
    } else if state.tab == Tab::Sheet && !over && paper.height() >= SHEET_WITH_LINE {
        widgets::sheet(ui, paper);
        let foot = paper.bottom() - reminders::POINTS_LINE;
        one_paper_ui(session, state, seen, paper.with_max_y(foot), ui, intents);
        let line = paper.with_min_y(foot).shrink2(vec2(14.0, 0.0));
        inside(ui, line, "points stated", |ui| reminders::points_ui(job, session.points(), ui, intents));
    } else {
        widgets::sheet(ui, paper);
        one_paper_ui(session, state, seen, paper, ui, intents);
    }
}

/// The page whose tab is in front.
fn one_paper_ui(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
    paper: Rect,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    let over = session.is_over();
    let job = session.job();
    let page = paper.shrink2(vec2(14.0, 10.0));
    widgets::begin_page_in(ui, page, state.tab.title(), std::mem::take(&mut state.into_page));
    inside(ui, page, state.tab.title(), |ui| match state.tab {
        Tab::Card => {
            widgets::scrolled(ui, "card", f32::INFINITY, |ui| {
                job_card::job_card_ui(job, &state.asked, state.units.pressure(), over, ui, intents);
            });
        }
        Tab::Sheet => {
            state.sheet.follow(seen, speeds(job));
            let view = SheetView {
                job,
                lines: session.sheet(),
                joints: &state.line_joints,
                readings: &state.line_readings,
                predictions: session.predictions(),
                tee: seen.tee.as_ref().map(|t| t.joint.as_str()),
                meters: &seen.meters,
                unit: state.units.pressure(),
                over,
            };
            test_sheet::test_sheet_ui(&view, &mut state.sheet, ui, intents);
        }
        Tab::Candidates if state.coach.open && !over => {
            let written: Vec<(Option<&str>, &Reading)> = (state.line_joints.iter().zip(&state.line_readings))
                .filter_map(|(joint, reading)| Some((joint.as_deref(), reading.as_ref()?)))
                .collect();
            let tee = seen.tee.as_ref().map(|t| t.joint.as_str());
            coach::coach_ui(job, &mut state.coach, tee, &written, state.units.pressure(), ui, intents);
        }
        Tab::Candidates => {
            coach::ask_ui(job, over, ui, intents);
            candidates::candidates_ui(job, &mut state.candidates, over, ui, intents);
            if !over {
                reminders::lines_ui(session.sheet(), ui, intents);
            }
        }
        Tab::Workshop => {
            let submitted = session.finding().is_some();
            workshop::workshop_ui(job, seen, submitted, &mut state.workshop, ui, intents);
        }
        Tab::Finding => {
            finding::finding_ui(job, session.sheet(), session.finding(), &mut state.finding, over, ui, intents);
            if session.finding().is_some() && !over {
                what_is_left::left_ui(&state.since, session.sheet(), seen, ui, intents);
            }
        }
        Tab::Debrief => debrief::debrief_ui(
            state.mark.as_deref(),
            &state.way,
            state.unmarked.as_deref().ok_or(state.marked_share),
            &session.record().unwrap_or_default(),
            state.here,
            ui,
            intents,
        ),
    });
}

/// A critical breach in practice: time stands, and it is explained.
pub(super) fn frozen_ui(state: &PanelState, over: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let Some(breach) = &state.frozen else { return };
    let (read, _) = widgets::over_all(ui, "frozen", 440.0, |ui| {
        ui.horizontal(|ui| {
            widgets::mark_ui(Sign::Cross, ui);
            ui.label(heading(said("frozen-title")));
        });
        ui.label(&breach.words);
        let goes_on = if over { said("frozen-recorded") } else { said("frozen-go-on") };
        ui.label(theme::remark(ui, tell!("frozen-real", goes_on = goes_on)));
        widgets::button(ui, Weight::Primary, said("frozen-read"), "", true, "").clicked()
    });
    if read {
        intents.push(Intent::Understood);
    }
}

pub(super) fn inside(ui: &mut Ui, rect: Rect, name: &str, add: impl FnOnce(&mut Ui)) {
    ui.scope_builder(UiBuilder::new().max_rect(rect).id_salt(name), |ui| {
        ui.set_clip_rect(rect.expand(4.0).intersect(ui.clip_rect()));
        add(ui);
    });
}
