//! The whole window without a window: a sitting, the panels' state, one function that draws, one that
//! lets time pass. Tests drive this; the shell only calls it.

mod projector;
mod writing;

use std::path::PathBuf;

use bevy_egui::egui::{self, Pos2, Rect, Shape, Stroke, Ui, UiBuilder, pos2, vec2};

use super::belief_chart;
use super::bridge::{self, Intent};
use super::candidates;
use super::captions;
use super::chart::{self, ChartView};
use super::debrief;
use super::finding;
use super::hands::{self, HandsView};
use super::job_card;
use super::keys;
use super::messages::{self, Kind};
use super::opened::{self, Picture, Shown, Wall};
use super::plan::Plan;
use super::scene::{self, SceneView};
use super::session::{Begun, MarkProgress, Opening, Session, Shelf};
use super::settings::{self, Settings};
use super::sheet_form::Entry;
use super::shelf::{self, Taken};
use super::sight_glass;
use super::stage;
use super::state::{Pace, PanelState, Tab};
use super::test_sheet::{self, SheetView};
use super::theme::{self, heading, tokens};
use super::top_line::{self, TopLine};
use super::touch::{self, TouchState, TouchView};
use super::twin;
use super::widgets::{self, Mark as Sign, Weight};
use super::workshop;
use crate::bay::action::{Micros, SECOND};
use crate::bay::observation::Observation;
use crate::bay::words::offer::Spot;
use projector::projector_ui;
pub use writing::Writing;

/// Least size of the desk at which nothing is cut off, points.
const LEAST: egui::Vec2 = vec2(1180.0, 680.0);
/// How much larger a class sees it.
const LARGE: f32 = 1.4;
/// Longest step of simulated time a frame, s. A window that was moved or hidden doesn't leap.
const LONGEST_FRAME_S: f64 = 0.25;

/// A sitting on the desk.
pub struct Sitting {
    /// The sitting.
    pub session: Box<dyn Session>,
    /// The panels.
    pub state: PanelState,
}

/// Everything the window shows.
pub struct Desk {
    shelf: Box<dyn Shelf>,
    /// The sitting, when a job was taken.
    pub sitting: Option<Sitting>,
    trouble: Option<String>,
    settings: Settings,
    settings_open: bool,
    /// What was begun, as read when the shelf was turned to.
    begun: Option<Vec<Begun>>,
    /// What is looked for on the shelf.
    browsing: shelf::ShelfState,
    /// A picture of the chart is wanted in this file; the shell takes it.
    picture: Option<PathBuf>,
    /// Where the chart was drawn last.
    chart: Rect,
    themed: Option<(bool, bool, bool)>,
    fonts_asked: bool,
    /// How full the atlas of letters was, and at which scale.
    letters: Option<(f32, f32)>,
    /// Where jobs are written, when it was turned to.
    pub writing: Option<Writing>,
}

impl Desk {
    /// An empty desk before a shelf.
    pub fn new(shelf: Box<dyn Shelf>) -> Self {
        Self {
            settings: shelf.settings(),
            shelf,
            sitting: None,
            trouble: None,
            settings_open: false,
            begun: None,
            browsing: shelf::ShelfState::default(),
            picture: None,
            chart: Rect::NOTHING,
            themed: None,
            fonts_asked: false,
            letters: None,
            writing: None,
        }
    }

    /// Takes a job from the shelf.
    pub fn take(&mut self, index: usize) {
        let session = self.shelf.open(index);
        self.sit(session);
    }

    /// Goes on with a sitting that was begun.
    pub fn go_on(&mut self, index: usize) {
        if self.begun.is_none() {
            self.begun = Some(self.shelf.begun());
        }
        let session = self.shelf.go_on(index);
        self.sit(session);
    }

    fn sit(&mut self, session: Result<Box<dyn Session>, String>) {
        match session {
            Ok(session) => {
                let set = &self.settings;
                let mut state = PanelState {
                    dark: set.dark,
                    reduced_motion: set.reduced_motion,
                    units: set.units,
                    untimed: set.untimed,
                    captions: set.captions,
                    ..PanelState::default()
                };
                state.sheet.unit = Some(set.units.pressure());
                bridge::recall(&mut state, session.as_ref());
                self.sitting = Some(Sitting { session, state });
                self.trouble = None;
            }
            Err(why) => self.trouble = Some(why),
        }
    }

    /// The file and the place of a picture of the chart, once, when one is wanted.
    pub fn take_picture(&mut self) -> Option<(PathBuf, Rect)> {
        self.picture.take().map(|path| (path, self.chart))
    }

    /// Changes settings, as the sheet of settings does.
    pub fn change(&mut self, how: impl FnOnce(&mut Settings)) {
        how(&mut self.settings);
        self.shelf.keep_settings(&self.settings);
        self.set();
    }

    /// A class looks on.
    fn is_projected(&self) -> bool {
        self.sitting.as_ref().is_some_and(|s| s.state.projector)
    }

    /// Scale of everything that is drawn.
    pub fn scale(&self) -> f32 {
        f32::from(self.settings.text) / 100.0 * if self.is_projected() { LARGE } else { 1.0 }
    }

    /// Lets real time pass; simulated time follows at the chosen pace.
    pub fn tick(&mut self, real_seconds: f64) {
        if let (Some(Writing::Job(editor)), Some(author)) = (&mut self.writing, self.shelf.author()) {
            editor.tick(real_seconds, author);
        }
        let Some(Sitting { session, state }) = &mut self.sitting else { return };
        let seen = session.observe();
        if session.is_over() {
            state.glass.last_m = 0.0;
            poll_mark(session.as_mut(), state);
            poll_opening(session.as_mut(), state);
            return;
        }
        let secs = real_seconds.clamp(0.0, LONGEST_FRAME_S) * state.pace.factor();
        state.glass.advance(seen.glass.as_ref(), secs);
        if secs > 0.0 {
            session.advance((secs * SECOND as f64) as Micros);
        }
        let now = session.now();
        state.messages.caution_once(now, &seen.cautions);
        watch_record(session.as_ref(), state);
    }

    /// Simulated time runs, so the next frame is wanted at once.
    pub fn is_moving(&self) -> bool {
        self.sitting.as_ref().is_some_and(|s| s.state.pace != Pace::Paused && !s.session.is_over())
    }

    /// The mark is awaited.
    pub fn is_marking(&self) -> bool {
        let waits = |s: &Sitting| {
            let unmarked = s.state.mark.is_none() && s.state.unmarked.is_none();
            s.session.is_over() && (unmarked || s.state.wall == Wall::Shut)
        };
        self.sitting.as_ref().is_some_and(waits)
    }

    /// Letters are drawn beforehand ([`theme::warm`]) once more whenever the atlas was begun anew, as another theme makes
    /// it, or is wanted at another scale; and what came new is shown by one more frame.
    fn keep_letters_warm(&mut self, ctx: &egui::Context) {
        let filled = || ctx.fonts(|fonts| fonts.font_atlas_fill_ratio());
        let (now, scale) = (filled(), ctx.pixels_per_point());
        match self.letters {
            Some((before, of)) if now >= before && of == scale => {
                if now > before {
                    ctx.request_repaint_after(core::time::Duration::from_millis(50));
                }
            }
            _ => theme::warm(ctx),
        }
        self.letters = Some((filled(), scale));
    }

    /// Draws everything and carries out what was asked for.
    pub fn ui(&mut self, ui: &mut Ui) {
        if !self.fonts_asked {
            // fonts can be used one frame after they were handed over
            self.fonts_asked = true;
            theme::install_fonts(ui.ctx());
            theme::apply(ui.ctx(), (self.settings.dark, self.settings.high_contrast, false));
            ui.ctx().request_repaint();
            return;
        }
        if (ui.ctx().zoom_factor() - self.scale()).abs() > 1e-3 {
            ui.ctx().set_zoom_factor(self.scale());
        }
        let set = &self.settings;
        let want = (set.dark, set.high_contrast, set.reduced_motion);
        self.keep_letters_warm(ui.ctx());
        if self.themed != Some(want) {
            theme::apply(ui.ctx(), want);
            self.themed = Some(want);
        }
        let mut intents = Vec::new();
        // a window too small for its letters shows a part of the desk, to be scrolled
        let whole = ui.max_rect();
        let least = vec2(whole.width().max(LEAST.x), whole.height().max(LEAST.y));
        if self.sitting.is_none() && self.writing.is_some() {
            // the editor lays itself out in whatever there is
            self.writing_ui(ui);
        } else if self.is_projected() {
            // so does the projector view
            self.whole_ui(ui, &mut intents);
        } else if least.x > whole.width() + 0.5 || least.y > whole.height() + 0.5 {
            egui::ScrollArea::both().id_salt("desk").auto_shrink([false, false]).show(ui, |ui| {
                let (rect, _) = ui.allocate_exact_size(least, egui::Sense::hover());
                inside(ui, rect, "whole desk", |ui| self.whole_ui(ui, &mut intents));
            });
        } else {
            self.whole_ui(ui, &mut intents);
        }
        if self.settings_open && settings::settings_ui(&mut self.settings, ui) {
            self.settings_open = false;
            self.shelf.keep_settings(&self.settings);
            self.set();
        }
        self.carry_out(intents);
    }

    fn whole_ui(&mut self, ui: &mut Ui, intents: &mut Vec<Intent>) {
        match &mut self.sitting {
            None => {
                let begun = self.begun.get_or_insert_with(|| self.shelf.begun());
                let (cards, trouble) = (self.shelf.cards(), self.trouble.as_deref());
                let can_write = self.shelf.author().is_some();
                match shelf::shelf_ui(&cards, begun, can_write, trouble, &mut self.browsing, ui) {
                    Some(Taken::Write) => self.write(),
                    Some(Taken::Job(index)) => self.take(index),
                    Some(Taken::Begun(index)) => self.go_on(index),
                    Some(Taken::Settings) => self.settings_open = true,
                    None => {}
                }
            }
            Some(sitting) => {
                self.chart = Plan::of(ui.max_rect(), sitting.session.is_over()).chart;
                keys::shortcuts(ui, sitting.session.is_over(), intents);
                sitting_ui(sitting, self.writing.is_some(), ui, intents);
            }
        }
    }

    /// The settings hold for the sitting under way too.
    fn set(&mut self) {
        if let Some(Sitting { state, .. }) = &mut self.sitting {
            state.dark = self.settings.dark;
            state.reduced_motion = self.settings.reduced_motion;
            state.units = self.settings.units;
            state.untimed = self.settings.untimed;
            state.captions = self.settings.captions;
        }
    }

    /// Carries out intents: from views, keys or a script.
    pub fn carry_out(&mut self, intents: Vec<Intent>) {
        for intent in intents {
            match intent {
                Intent::Settings => self.settings_open = !self.settings_open,
                Intent::GoBackTo(at) => self.go_back_to(at),
                Intent::ExportDebrief | Intent::ExportTable | Intent::ExportPicture => self.export(&intent),
                Intent::ToShelf => {
                    // an author's trial can be left at any time
                    if self.writing.is_some() || self.sitting.as_ref().is_some_and(|s| s.session.is_over()) {
                        self.sitting = None;
                        self.begun = None;
                    }
                }
                intent => {
                    if let Some(Sitting { session, state }) = &mut self.sitting {
                        bridge::carry_out(intent, session.as_mut(), state);
                        let before = (self.settings.dark, self.settings.reduced_motion);
                        (self.settings.dark, self.settings.reduced_motion) = (state.dark, state.reduced_motion);
                        if before != (state.dark, state.reduced_motion) {
                            self.shelf.keep_settings(&self.settings);
                        }
                    }
                }
            }
        }
    }

    /// A new sitting that goes on from a time of this one.
    fn go_back_to(&mut self, at: Micros) {
        let Some(Sitting { session, state }) = &mut self.sitting else { return };
        match self.shelf.branch(session.as_ref(), at) {
            Ok(branch) => {
                self.sit(Ok(branch));
                if let Some(Sitting { session, state }) = &mut self.sitting {
                    let words = "This is a sitting of its own, up to here as the one before. Try another test.";
                    state.messages.push(session.now(), Kind::Said, words);
                    state.tab = Tab::Sheet;
                }
            }
            Err(why) => state.messages.push(session.now(), Kind::Refused, why),
        }
    }

    /// Writes pages, a table or a picture, and says where.
    fn export(&mut self, what: &Intent) {
        let Some(Sitting { session, state }) = &mut self.sitting else { return };
        let stem = format!("chart-{}", session.job().name);
        let done = match what {
            Intent::ExportDebrief => match &state.mark {
                Some(mark) => self.shelf.export_debrief(session.as_ref(), mark),
                None => Err("There is no mark yet.".to_owned()),
            },
            Intent::ExportTable => self.shelf.export(&stem, "csv", session.trace().to_csv().as_bytes()),
            _ => self.shelf.picture(&stem).map(|path| {
                let words = format!("Written: {}", path.display());
                self.picture = Some(path);
                words
            }),
        };
        match done {
            Ok(words) => state.messages.push(session.now(), Kind::Said, words),
            Err(why) => state.messages.push(session.now(), Kind::Refused, why),
        }
    }
}

fn poll_mark(session: &mut dyn Session, state: &mut PanelState) {
    if state.mark.is_some() || state.unmarked.is_some() {
        return;
    }
    match session.mark() {
        MarkProgress::Working(share) => state.marked_share = share,
        MarkProgress::Failed(why) => state.unmarked = Some(why),
        MarkProgress::Done(mark) => state.mark = Some(mark),
    }
}

fn poll_opening(session: &mut dyn Session, state: &mut PanelState) {
    if state.wall != Wall::Shut {
        return;
    }
    match session.open() {
        Opening::Working => {}
        Opening::Failed(why) => state.wall = Wall::Never(why),
        Opening::Done(opened) => {
            let read = session.sheet().iter().filter(|l| l.state.is_some()).map(|l| l.window.1).next_back();
            state.wall = Wall::Open(Box::new(Shown::of(*opened, read)));
        }
    }
}

/// Says once when the record can't be written.
fn watch_record(session: &dyn Session, state: &mut PanelState) {
    if !state.record_told
        && let Err(why) = session.record()
    {
        state.record_told = true;
        state.messages.push(session.now(), Kind::Refused, why);
    }
}

fn inside(ui: &mut Ui, rect: Rect, name: &str, add: impl FnOnce(&mut Ui)) {
    ui.scope_builder(UiBuilder::new().max_rect(rect).id_salt(name), |ui| {
        ui.set_clip_rect(rect.expand(4.0).intersect(ui.clip_rect()));
        add(ui);
    });
}

fn sitting_ui(sitting: &mut Sitting, is_trial: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let Sitting { session, state } = sitting;
    let seen = session.observe();
    let window = ui.max_rect();
    if state.projector {
        projector_ui(session.as_ref(), state, &seen, ui, intents);
        return;
    }
    let plan = Plan::of(window, session.is_over());
    let t = tokens(ui);
    stage::ground(ui, window, t.ground);
    ui.painter().hline(window.x_range(), plan.top.bottom(), Stroke::new(1.0, t.rule));
    let mut line = TopLine::of(session.job(), &seen, session.now(), state.untimed);
    line.is_trial = is_trial;
    inside(ui, plan.top, "top", |ui| top_line::top_line_ui(&line, state.dark, ui, intents));
    place_ui(session.as_ref(), state, &seen, plan.scene, ui, intents);
    if state.touch.is_none() {
        chart_ui(session.as_ref(), state, &seen, plan.chart, ui, intents);
    }
    widgets::sheet(ui, plan.line);
    let line_rect = plan.line.shrink2(vec2(10.0, 2.0));
    inside(ui, line_rect, "line", |ui| messages::message_line_ui(&mut state.messages, ui));
    widgets::sheet(ui, plan.hands);
    let hands_view = HandsView::of(session.job(), &seen, session.is_over());
    inside(ui, plan.hands, "hands", |ui| hands::hands_ui(&hands_view, &mut state.hands, state.pace, ui, intents));
    paper_ui(session.as_ref(), state, &seen, plan, ui, intents);
    if let Some(touch) = state.touch.take() {
        state.touch = Some(slip_ui(session.as_ref(), state, touch, &seen, plan.chart, ui, intents));
    }
    if state.messages.open {
        messages::history_ui(&state.messages, plan.chart, ui);
    }
    if state.twin {
        let words = twin_words(session.as_ref(), state, &seen);
        if twin::twin_ui(&words, ui) {
            intents.push(Intent::Twin);
        }
    }
    if state.glass_card
        && sight_glass::card_ui(session.job().plant.is_petrol(), &state.glass, state.reduced_motion, ui)
    {
        intents.push(Intent::GlassCard);
    }
    if state.keys_open {
        keys::keys_ui(state.reduced_motion, ui, intents);
    }
    frozen_ui(state, session.is_over(), ui, intents);
}

/// The scene with the glass, or after hand-back the beliefs over time.
fn place_ui(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
    rect: Rect,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    widgets::sheet(ui, rect);
    if state.tab == Tab::Debrief && session.is_over() {
        after_ui(session, state, rect.shrink(10.0), ui, intents);
        return;
    }
    let glass = Rect::from_min_max(pos2(rect.right() - 122.0, rect.top() + 6.0), rect.max - vec2(8.0, 4.0));
    let scene_rect = Rect::from_min_max(rect.min + vec2(10.0, 6.0), pos2(glass.left() - 4.0, rect.bottom() - 2.0));
    let touched = state.touch.as_ref().map(|t| &t.spot);
    let view = SceneView::of(session.job(), seen, state.workshop.joint.as_ref(), touched);
    let (mut tee, mut touched) = (None, None);
    let still = state.reduced_motion;
    inside(ui, scene_rect, "scene", |ui| {
        (tee, touched) = scene::scene_ui(&view, &mut state.scene, &state.glass, still, ui, intents);
    });
    if let Some(tee) = tee {
        leader(ui, tee, glass);
    }
    if state.captions {
        captions::captions_ui(&seen.sounds, scene_rect, ui);
    }
    if let Some(at) = touched {
        // the slip hangs on what it is about
        let t = tokens(ui);
        let from = at + vec2(0.0, 22.0);
        ui.painter().extend(Shape::dashed_line(
            &[from, pos2(at.x, rect.bottom() + 8.0)],
            Stroke::new(1.0, t.accent),
            4.0,
            3.0,
        ));
    }
    inside(ui, glass, "glass", |ui| {
        let picture = sight_glass::Picture::of(seen, session.job().plant.is_petrol());
        sight_glass::sight_glass_ui(picture.as_ref(), &state.glass, state.reduced_motion, ui, intents);
    });
}

/// After hand-back: the line opened, or belief over time.
fn after_ui(session: &dyn Session, state: &mut PanelState, rect: Rect, ui: &mut Ui, intents: &mut Vec<Intent>) {
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
            let words = match (picture, wall) {
                (Picture::Belief, _) => "Belief over time comes with the mark.",
                (_, Wall::Never(why)) => why.as_str(),
                _ => "The sitting is being replayed to open the line …",
            };
            inside(ui, rect.with_min_y(head.bottom() + 20.0), "waits", |ui| {
                ui.label(words);
            });
        }
    }
    opened::picture_ui(state.picture, head, ui, intents);
}

/// Scene, glass and trace as sentences.
fn twin_words(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
) -> Vec<(&'static str, Vec<String>)> {
    let view = SceneView::of(session.job(), seen, None, None);
    let glass = seen.glass_words.clone().unwrap_or_else(|| "No tee is fitted.".to_owned());
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
        over: session.is_over(),
        here: state.here,
    };
    state.chart.blocks[0].grow(&session.trace().mbar);
    let mut trace = vec![format!("{}.", chart::words(&chart, &state.chart.blocks[0], from, to))];
    let shown = session.trace().ticks.iter().filter(|t| t.at >= from && t.at <= to);
    trace.extend(shown.map(|t| format!("{}: {}", super::words::short_clock(t.at), t.word)));
    let heard = seen.sounds.iter().map(|s| (*s).to_owned()).collect();
    vec![("The place", view.words()), ("Sight glass", vec![glass]), ("Chart", trace), ("Heard", heard)]
}

/// The slip of what was touched, over the chart.
fn slip_ui(
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
fn leader(ui: &Ui, tee: Pos2, glass: Rect) {
    let t = tokens(ui);
    let to = pos2(glass.left() + 14.0, glass.top() + 26.0);
    ui.painter().extend(Shape::dashed_line(&[tee + vec2(8.0, -6.0), to], Stroke::new(1.0, t.faint), 4.0, 4.0));
}

fn chart_ui(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
    rect: Rect,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    widgets::sheet(ui, rect);
    let writing = state.tab == Tab::Sheet && state.sheet.entry != Entry::Seen;
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
        over: session.is_over(),
        here: state.here,
    };
    inside(ui, rect.shrink2(vec2(10.0, 4.0)), "chart", |ui| chart::chart_ui(&view, &mut state.chart, ui, intents));
}

fn paper_ui(
    session: &dyn Session,
    state: &mut PanelState,
    seen: &Observation,
    plan: Plan,
    ui: &mut Ui,
    intents: &mut Vec<Intent>,
) {
    widgets::sheet(ui, plan.paper);
    let over = session.is_over();
    let shown = Tab::shown(over);
    let width = plan.tabs.width() / shown.len() as f32;
    for (i, tab) in shown.iter().enumerate() {
        let at = pos2(plan.tabs.left() + width * i as f32, plan.tabs.top());
        let rect = Rect::from_min_size(at, vec2(width - 2.0, plan.tabs.height()));
        if widgets::index_tab(ui, rect, tab.title(), state.tab == *tab).clicked() {
            intents.push(Intent::Turn(*tab));
        }
    }
    let job = session.job();
    inside(ui, plan.paper.shrink2(vec2(14.0, 10.0)), state.tab.title(), |ui| match state.tab {
        Tab::Card => {
            egui::ScrollArea::vertical().id_salt("card").auto_shrink([false, false]).show(ui, |ui| {
                job_card::job_card_ui(job, &state.asked, state.units.pressure(), over, ui, intents);
            });
        }
        Tab::Sheet => {
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
        Tab::Candidates => candidates::candidates_ui(job, &mut state.candidates, over, ui, intents),
        Tab::Workshop => {
            let submitted = session.finding().is_some();
            workshop::workshop_ui(job, seen, submitted, &mut state.workshop, ui, intents);
        }
        Tab::Finding => {
            finding::finding_ui(job, session.sheet(), session.finding(), &mut state.finding, over, ui, intents);
        }
        Tab::Debrief => debrief::debrief_ui(
            state.mark.as_deref(),
            state.unmarked.as_deref().ok_or(state.marked_share),
            &session.record().unwrap_or_default(),
            state.here,
            ui,
            intents,
        ),
    });
}

/// A critical breach in practice: time stands, and it is explained.
fn frozen_ui(state: &PanelState, over: bool, ui: &mut Ui, intents: &mut Vec<Intent>) {
    let Some(breach) = &state.frozen else { return };
    egui::Modal::new(egui::Id::new("frozen")).show(ui.ctx(), |ui| {
        ui.set_width(440.0);
        ui.horizontal(|ui| {
            widgets::mark_ui(Sign::Cross, ui);
            ui.label(heading("Stop. Time stands still."));
        });
        ui.label(&breach.words);
        let goes_on = if over { "It stays in the record." } else { "Here you may go on; it stays in the record." };
        ui.label(theme::remark(ui, format!("On a real job this ends the work at once. {goes_on}")));
        if widgets::button(ui, Weight::Primary, "I have read this", "", true, "").clicked() {
            intents.push(Intent::Understood);
        }
    });
}
