//! The whole window without a window: a sitting, the panels' state, one function that draws, one that
//! lets time pass. Tests drive this; the shell only calls it.

mod awaited;
mod pages;
mod projector;
mod teaching;
mod writing;

use std::path::PathBuf;

use bevy_egui::egui::{self, Rect, Stroke, Ui, vec2};

use super::bridge::{self, Intent};
use super::focus::Resting;
use super::hands::{self, HandsView};
use super::keys;
use super::messages::{self, Kind};
use super::opened::{Shown, Wall};
use super::plan::{LEAST, Way};
use super::session::{Begun, MarkProgress, Opening, Session, Shelf};
use super::settings::{self, Settings};
use super::shelf::{self, Taken};
use super::sound::synth::Voices;
use super::stage;
use super::state::{Armed, Pace, PanelState};
use super::theme::{self, tokens};
use super::top_line::{self, Out, TopLine};
use super::widgets;
use crate::bay::action::{Micros, SECOND};
use crate::bay::observation::EngineRun;
use crate::language::{Language, said};
use crate::tell;
use awaited::Awaited;
use pages::{chart_ui, frozen_ui, inside, over_all_ui, paper_ui, place_ui, plan_of, slip_ui, tabs_ui, views_ui};
use projector::projector_ui;
use teaching::{poll_revealed, teaching_ui};
pub use writing::Writing;

/// How much larger a class sees it, and up to which size of letters.
const LARGE: (f32, f32) = (1.4, 2.0);
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
    /// Language of the frame before.
    spoke: Option<Language>,
    /// Where jobs are written, when it was turned to.
    pub writing: Option<Writing>,
    /// What the shelf was asked for and takes longer than a moment.
    awaited: Option<Awaited>,
    /// Why nothing is heard, in a build that could be.
    pub no_sound: Option<String>,
    /// Where the keyboard was.
    resting: Resting,
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
            spoke: None,
            writing: None,
            awaited: None,
            no_sound: None,
            resting: Resting::default(),
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
        let task = self.shelf.go_on(index);
        self.wait_for(task.map(|task| Awaited::Sitting { task, branched: false }));
    }

    fn sit(&mut self, session: Result<Box<dyn Session>, String>) {
        match session {
            Ok(mut session) => {
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
                state.messages = session.take_told();
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
        let text = f32::from(self.settings.text) / 100.0;
        if self.is_projected() { (text * LARGE.0).min(LARGE.1).max(text) } else { text }
    }

    /// Lets real time pass; simulated time follows at the chosen pace.
    pub fn tick(&mut self, real_seconds: f64) {
        self.look_for_awaited(core::time::Duration::ZERO);
        if let (Some(Writing::Job(editor)), Some(author)) = (&mut self.writing, self.shelf.author()) {
            editor.tick(real_seconds, author);
        }
        let stands = self.time_stands();
        let Some(Sitting { session, state }) = &mut self.sitting else { return };
        let seen = session.observe();
        state.coach.poll();
        state.armed().into_iter().for_each(|armed| armed.pass(real_seconds));
        if session.is_over() {
            state.glass.last_m = 0.0;
            poll_mark(session.as_mut(), state);
            state.way.poll();
            poll_opening(session.as_mut(), state);
            return;
        }
        if state.frozen.is_some() {
            // whatever let it run
            state.pace = Pace::Paused;
        }
        let factor = if stands { 0.0 } else { state.pace.factor() };
        let secs = real_seconds.clamp(0.0, LONGEST_FRAME_S) * factor;
        state.glass.advance(seen.glass.as_ref(), secs);
        state.scene.advance(&seen.clear_lines, secs);
        if secs > 0.0 {
            session.advance((secs * SECOND as f64) as Micros);
        }
        poll_revealed(session.as_mut(), state);
        let now = session.now();
        let was = std::mem::replace(&mut state.engine, seen.engine);
        state.messages.engine(now, was, seen.engine);
        state.sheet.has_run |= seen.engine != EngineRun::Off;
        bridge::tell_breaches(session.as_ref(), state);
        state.messages.caution_once(now, &seen.cautions);
        watch_record(session.as_ref(), state);
    }

    /// Simulated time stands, whatever its pace: it isn't passing, or what lies over the bay has nothing to do with it.
    /// Words and looks that lie over it tell of it, and time goes on under them.
    fn time_stands(&self) -> bool {
        let covered = |state: &PanelState| state.keys_open || state.class.open || state.pace == Pace::Paused;
        self.settings_open || self.sitting.as_ref().is_none_or(|s| covered(&s.state))
    }

    /// Simulated time runs, or something is about to be shown, so the next frame is wanted at once.
    pub fn is_moving(&self) -> bool {
        self.sitting.as_ref().is_some_and(|s| s.state.class.wants || !self.time_stands() && !s.session.is_over())
    }

    /// The mark is awaited.
    pub fn is_marking(&self) -> bool {
        let waits = |s: &Sitting| {
            let unmarked = s.state.mark.is_none() && s.state.unmarked.is_none();
            s.session.is_over() && (unmarked || s.state.wall == Wall::Shut)
        };
        self.sitting.as_ref().is_some_and(waits)
    }

    /// What is to be heard now: nothing while time stands still.
    pub fn voices(&self) -> Voices {
        let Some(Sitting { session, .. }) = &self.sitting else { return Voices::default() };
        let volume = if self.settings.mute { 0.0 } else { f64::from(self.settings.volume) / 100.0 };
        let voices = Voices::of(&session.observe(), volume);
        if self.time_stands() || session.is_over() { voices.silent() } else { voices }
    }

    /// The coach's reference vehicles are being driven, or the cheapest way is being worked out.
    pub fn is_asking(&self) -> bool {
        self.sitting.as_ref().is_some_and(|s| s.state.coach.task.is_some() || s.state.way.task.is_some())
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
        crate::language::speak(set.language);
        // a mark is made of sentences
        let other = self.spoke.replace(set.language).is_some_and(|before| before != set.language);
        if other && let Some(Sitting { session, state }) = self.sitting.as_mut().filter(|s| s.session.is_over()) {
            session.mark_again();
            (state.mark, state.unmarked, state.marked_share) = (None, None, 0.0);
        }
        let want = (set.dark, set.high_contrast, set.reduced_motion);
        self.keep_letters_warm(ui.ctx());
        if self.themed != Some(want) {
            theme::apply(ui.ctx(), want);
            self.themed = Some(want);
        }
        self.resting.frame(ui.ctx());
        let mut intents = Vec::new();
        // a window smaller than any that is supported shows a part of the desk, to be scrolled
        let whole = ui.max_rect();
        let least = vec2(whole.width().max(LEAST.x), whole.height().max(LEAST.y));
        if self.sitting.is_none() && self.writing.is_some() {
            // the editor lays itself out in whatever there is
            self.writing_ui(ui);
        } else if least.x > whole.width() + 0.5 || least.y > whole.height() + 0.5 {
            egui::ScrollArea::both().id_salt("desk").auto_shrink([false, false]).show(ui, |ui| {
                let (rect, _) = ui.allocate_exact_size(least, egui::Sense::hover());
                inside(ui, rect, "whole desk", |ui| self.whole_ui(ui, &mut intents));
            });
        } else {
            self.whole_ui(ui, &mut intents);
        }
        if self.settings_open && settings::settings_ui(&mut self.settings, self.no_sound.as_deref(), ui) {
            self.settings_open = false;
            self.shelf.keep_settings(&self.settings);
            self.set();
        }
        self.awaited_ui(ui);
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
                let over = sitting.session.is_over();
                let covered = self.settings_open || self.awaited.is_some();
                let heard = if covered { Some(vec![]) } else { sitting.state.heard(over) };
                keys::shortcuts(ui, over, heard.as_deref(), intents);
                if let Some(chart) = sitting_ui(sitting, self.writing.is_some(), ui, intents) {
                    self.chart = chart;
                }
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
            if let Some(Sitting { state, .. }) = &mut self.sitting {
                let keep = (intent == Intent::ToShelf).then_some(state.leaving);
                state.armed().into_iter().for_each(Armed::disarm);
                state.leaving = keep.unwrap_or_default();
            }
            match intent {
                Intent::Settings => self.settings_open = !self.settings_open,
                Intent::GoBackTo(at) => self.go_back_to(at),
                Intent::ExportDebrief | Intent::ExportTable | Intent::ExportPicture => self.export(&intent),
                Intent::ToShelf => self.leave_for_shelf(),
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

    /// Leaves the sitting; the shelf offers to go on with it. One that isn't over and that nobody records is gone then:
    /// it is left at the second press.
    fn leave_for_shelf(&mut self) {
        let Some(Sitting { session, state }) = &mut self.sitting else { return };
        let kept = session.is_over() || session.record().is_ok_and(|words| !words.is_empty());
        // an author's trial is nothing to be kept
        if !kept && self.writing.is_none() && !state.leaving.is_armed() {
            state.leaving.arm();
            state.messages.push(session.now(), Kind::Refused, said("desk-leave-unrecorded"));
            return;
        }
        self.sitting = None;
        self.begun = None;
    }

    /// A new sitting that goes on from a time of this one.
    fn go_back_to(&mut self, at: Micros) {
        let Some(Sitting { session, .. }) = &self.sitting else { return };
        let task = self.shelf.branch(session.as_ref(), at);
        self.wait_for(task.map(|task| Awaited::Sitting { task, branched: true }));
    }

    /// Writes pages, a table or a picture, and says where.
    fn export(&mut self, what: &Intent) {
        let Some(Sitting { session, state }) = &mut self.sitting else { return };
        if let Intent::ExportDebrief = what {
            let pages = match &state.mark {
                Some(mark) => self.shelf.export_debrief(session.as_ref(), mark),
                None => Err(said("desk-no-mark").to_owned()),
            };
            return self.wait_for(pages.map(|task| Awaited::Written { task, words: said("awaited-pages") }));
        }
        let stem = format!("chart-{}", session.job().name);
        if let Intent::ExportTable = what {
            let table = self.shelf.export_table(stem, session.trace());
            return self.wait_for(table.map(|task| Awaited::Written { task, words: said("awaited-table") }));
        }
        match self.shelf.picture(&stem) {
            Ok(path) => {
                state.messages.push(session.now(), Kind::Said, tell!("written-to", path = path.display()));
                self.picture = Some(path);
            }
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
        MarkProgress::Done(mark) => {
            state.way.ask(session.job(), &mark, session.guide());
            state.mark = Some(mark);
        }
    }
}

fn poll_opening(session: &mut dyn Session, state: &mut PanelState) {
    if state.wall != Wall::Shut {
        return;
    }
    match session.open() {
        Opening::Working(share) => state.opened_share = share,
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

/// Draws a sitting; gives where the chart is, when it is in sight.
fn sitting_ui(sitting: &mut Sitting, is_trial: bool, ui: &mut Ui, intents: &mut Vec<Intent>) -> Option<Rect> {
    let Sitting { session, state } = sitting;
    let seen = session.observe();
    let window = ui.max_rect();
    if state.projector {
        state.messages.in_drawing = false;
        return projector_ui(session.as_ref(), state, &seen, ui, intents);
    }
    state.messages.in_drawing = Way::of(window.size()) == Way::Whole && !session.is_over();
    let plan = plan_of(session.as_ref(), state, ui);
    let t = tokens(ui);
    stage::ground(ui, window, t.ground);
    ui.painter().hline(window.x_range(), plan.top.bottom(), Stroke::new(1.0, t.rule));
    let mut line = TopLine::of(session.job(), &seen, session.now(), state.untimed);
    line.out = if is_trial { Out::Editor } else { Out::Shelf };
    inside(ui, plan.top, "top", |ui| top_line::top_line_ui(&line, state.dark, ui, intents));
    views_ui(session.as_ref(), state, plan, ui, intents);
    // the slip lies on what it covers
    let covers = |page: Rect| state.touch.is_some() && plan.slip.contains_rect(page);
    let [scene, chart, paper] = [plan.scene, plan.chart, plan.paper].map(|p| p.filter(|page| !covers(*page)));
    if let Some(scene) = scene {
        place_ui(session.as_ref(), state, &seen, scene, plan.way, ui, intents);
    }
    if let Some(chart) = chart {
        chart_ui(session.as_ref(), state, &seen, chart, ui, intents);
    }
    widgets::sheet(ui, plan.line);
    let line_rect = plan.line.shrink2(vec2(10.0, 2.0));
    let drawer = plan.drawer.then_some(plan.hands.is_some());
    inside(ui, line_rect, "line", |ui| messages::message_line_ui(&mut state.messages, drawer, ui, intents));
    if let Some(hands) = plan.hands {
        widgets::sheet(ui, hands);
        let view = HandsView::of(session.job(), &seen, session.is_over());
        inside(ui, hands, "hands", |ui| hands::hands_ui(&view, &mut state.hands, state.pace, ui, intents));
    }
    tabs_ui(session.as_ref(), state, plan, ui, intents);
    if let Some(paper) = paper {
        paper_ui(session.as_ref(), state, &seen, paper, ui, intents);
    }
    if let Some(touch) = state.touch.take() {
        state.touch = Some(slip_ui(session.as_ref(), state, touch, &seen, plan.slip, ui, intents));
    }
    if state.messages.open {
        messages::history_ui(&state.messages, plan.history, ui);
    }
    over_all_ui(session.as_ref(), state, &seen, ui, intents);
    teaching_ui(session.as_ref(), state, ui, intents);
    frozen_ui(state, session.is_over(), ui, intents);
    chart
}
