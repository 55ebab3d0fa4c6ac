//! The one way from a view to the sitting: intents become actions, answers become messages.

use super::messages::Kind;
use super::opened::{Picture, Wall};
use super::plan::View;
use super::session::Session;
use super::state::{Pace, PanelState, Tab};
use super::touch::{self, TouchState};
use crate::attempt::{Attempt, Event};
use crate::bay::action::{Action, Key, Micros, Reading, Remedy, SECOND, SafetyStep};
use crate::bay::instruct::Instruction;
use crate::bay::look_words;
use crate::bay::observation::{Answer, BreachClass, EngineRun, Observation};
use crate::bay::words::offer::Spot;
use crate::language::{named, said};
use crate::plant::component::Component;
use crate::scenario::model::{Candidate, Job, Mode};

/// What a view, a key or a script asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Intent {
    /// Something the bay knows.
    Do(Action),
    /// Turn the key the other way.
    TurnKey,
    /// What an instructor does.
    Instruct(Instruction),
    /// The page for whoever teaches, open or shut.
    Class,
    /// This moment of what was shown to a class.
    ClassHere(Micros),
    /// Starter.
    Start,
    /// More or less speed, 1/min.
    SpeedBy(f64),
    /// Valve shut, or open when it is shut.
    SwingValve,
    /// Filler cap the other way.
    TurnCap,
    /// Strokes of the primer.
    Prime,
    /// Pace of time.
    Pace(Pace),
    /// Pause, or go on at real pace.
    PauseOrGo,
    /// Turn to a tab.
    Turn(Tab),
    /// Turn to a page of the place.
    See(View),
    /// Take the hands out, or put them away: where the window has no room for them all the time.
    Hands,
    /// Turn to the sheet and into the field of the value.
    WriteReading,
    /// Paper or blueprint.
    Theme,
    /// Motion on or off.
    Motion,
    /// List of keys.
    Keys,
    /// Set the dividers on the chart, or take them away.
    Dividers,
    /// Show this time on the chart.
    ChartTo(Micros),
    /// Let the chart run with the pen.
    Follow,
    /// Ask the coach what each candidate could show, or leave him and stop his work.
    Coach(bool),
    /// Put the dividers' reading into the form of the sheet.
    UseSlip,
    /// Look at a part and pick it in the workshop.
    PickPart(String),
    /// Touch something in the drawing: its slip opens.
    Touch(Spot),
    /// Close the slip.
    Untouch,
    /// Do what stands on the slip.
    Offered(Action),
    /// Go back to a time of a sitting that is over: a new one goes on from there.
    GoBackTo(Micros),
    /// Look at this time of a sitting that is over.
    Here(Micros),
    /// What stands over the chart of a finished sitting.
    Picture(Picture),
    /// The other picture.
    OtherPicture,
    /// Leave the line shut that is being opened.
    LeaveLine,
    /// Open it after all.
    OpenLine,
    /// Don't work out the cheapest way.
    LeaveWay,
    /// Don't show what an instructor wanted shown.
    LeaveShown,
    /// So many steps on in time of a finished sitting.
    Scrub(i32),
    /// To the next moment of the opened line that tells most.
    NextTelling,
    /// The debrief as pages.
    ExportDebrief,
    /// The trace as a table.
    ExportTable,
    /// The chart as a picture.
    ExportPicture,
    /// Open the settings.
    Settings,
    /// Scene, glass and trace in words.
    Twin,
    /// The card of what is seen in a glass.
    GlassCard,
    /// Large, and only what a class may see; or all of it again.
    Projector,
    /// Drawing larger or smaller.
    SceneZoom(f32),
    /// The whole drawing.
    SceneFit,
    /// The explanation of a critical breach was read.
    Understood,
    /// Back to the shelf; a sitting that isn't over is kept.
    ToShelf,
    /// What lies over the desk goes away: the history, the view for a class.
    Away,
    /// The ring of the keyboard goes to where the page begins.
    IntoPage,
}

/// Idle and test speed of the plant's engine, 1/min.
pub fn speeds(job: &Job) -> (f64, f64) {
    for part in &job.plant.parts {
        if let Component::Engine(engine) = &part.is {
            return (engine.idle.si(), engine.raised.si());
        }
    }
    (800.0, 2500.0)
}

/// The action behind an intent, where there is one. Pure.
pub fn action_for(intent: &Intent, seen: &Observation, job: &Job, state: &PanelState) -> Option<Action> {
    Some(match intent {
        Intent::Do(action) => action.clone(),
        Intent::TurnKey => Action::Key { to: if seen.key == Key::Off { Key::On } else { Key::Off } },
        Intent::Start => Action::Crank { secs: f64::from(state.hands.crank_secs) },
        Intent::SpeedBy(by) => {
            let (idle, raised) = speeds(job);
            let from = state.hands.speed.unwrap_or(seen.rpm);
            Action::Speed { rpm: (from + by).clamp(idle, raised * 1.2) }
        }
        Intent::SwingValve => {
            // the lever is where the hand put it, though the valve takes a moment
            let lever = state.hands.lever.unwrap_or(seen.tee.as_ref()?.valve_open);
            Action::Valve { open: if lever > 0.0 { 0.0 } else { 1.0 } }
        }
        Intent::TurnCap => Action::Cap { open: !seen.cap_open },
        Intent::Prime => Action::Prime { strokes: u32::from(state.hands.strokes) },
        Intent::PickPart(part) => Action::Look { part: part.clone() },
        Intent::Offered(action) => action.clone(),
        _ => return None,
    })
}

/// Carries out one intent.
pub fn carry_out(intent: Intent, session: &mut dyn Session, state: &mut PanelState) {
    if let Intent::SwingValve = intent
        && session.observe().tee.is_none()
    {
        state.messages.push(session.now(), Kind::Refused, said("bridge-no-valve"));
        return;
    }
    match &intent {
        Intent::Instruct(what) => return instruct(what, session, state),
        Intent::LeaveLine if state.wall == Wall::Shut => {
            session.leave_opening();
            (state.wall, state.opened_share) = (Wall::Left, 0.0);
        }
        Intent::OpenLine if state.wall == Wall::Left => state.wall = Wall::Shut,
        Intent::LeaveWay => state.way.task = None,
        Intent::LeaveShown => {
            session.leave_opening();
            state.class.wants = false;
        }
        _ => {}
    }
    let action = action_for(&intent, &session.observe(), session.job(), state);
    change_panels(&intent, session, state);
    if let Some(action) = action {
        act(&action, session, state);
    }
}

/// The paper turned to a tab, and on top where one page is seen at a time.
fn turn(tab: Tab, state: &mut PanelState) {
    state.tab = tab;
    state.on_paper = true;
}

/// The part of an intent that only concerns the screen.
fn change_panels(intent: &Intent, session: &dyn Session, state: &mut PanelState) {
    match intent {
        Intent::Pace(pace) if state.frozen.is_none() => state.pace = *pace,
        Intent::PauseOrGo if state.frozen.is_none() => {
            state.pace = if state.pace == Pace::Paused { Pace::Real } else { Pace::Paused };
        }
        Intent::Turn(tab) => turn(*tab, state),
        Intent::See(view) => {
            state.view = *view;
            state.on_paper = false;
            state.touch = None;
        }
        Intent::Coach(true) if session.job().mode == Mode::Practice => {
            state.coach.open = true;
            state.coach.ask(session.job(), session.coach());
        }
        Intent::Coach(_) => {
            state.coach.open = false;
            state.coach.leave();
        }
        Intent::Hands => state.hands_out = Some(!state.hands_out.unwrap_or(false)),
        Intent::WriteReading => {
            turn(Tab::Sheet, state);
            state.sheet.wants_focus = true;
        }
        Intent::Theme => state.dark = !state.dark,
        Intent::Motion => state.reduced_motion = !state.reduced_motion,
        Intent::Keys => state.keys_open = !state.keys_open,
        Intent::Dividers => state.chart.toggle_dividers(session.now()),
        Intent::ChartTo(at) => {
            state.chart.show_time(*at);
            state.here = Some(*at);
        }
        Intent::Follow => state.chart.follow(),
        Intent::UseSlip => {
            if let Some(slip) = state.chart.slip(session.trace()) {
                state.sheet.take_slip(&slip);
                turn(Tab::Sheet, state);
            }
        }
        Intent::Touch(spot) => {
            match spot {
                Spot::Joint(joint) => {
                    state.workshop.joint = Some(joint.clone());
                    state.tab = Tab::Workshop;
                }
                Spot::Part(part) => state.workshop.part = Some(part.clone()),
                Spot::Vehicle => {}
            }
            state.messages.open = false;
            state.touch = Some(TouchState { spot: spot.clone(), fresh: true });
        }
        Intent::Here(at) => state.here = Some(*at),
        Intent::Picture(picture) => state.picture = *picture,
        Intent::OtherPicture => {
            state.picture = if state.picture == Picture::Line { Picture::Belief } else { Picture::Line };
        }
        Intent::Scrub(steps) => scrub(*steps, session.now(), state),
        Intent::NextTelling => {
            if let Some(shown) = state.wall.shown()
                && let Some(at) = shown.next_telling(state.here.unwrap_or(0))
            {
                state.here = Some(at);
                state.picture = Picture::Line;
                state.chart.bring_into_sight(at, session.now());
            }
        }
        Intent::Untouch => state.touch = None,
        Intent::IntoPage => state.into_page = true,
        // a slip goes first, and by itself
        Intent::Away if state.touch.is_none() => {
            let history = std::mem::take(&mut state.messages.open);
            state.projector &= history;
        }
        Intent::Twin => state.twin = !state.twin,
        Intent::GlassCard => state.glass_card = !state.glass_card,
        Intent::Class => {
            state.class.open = !state.class.open;
            state.class.sure = false;
            state.touch = None;
        }
        Intent::ClassHere(at) => {
            if let Some(revealed) = &mut state.class.revealed {
                revealed.at = *at;
            }
        }
        Intent::Projector => {
            state.projector = !state.projector;
            state.touch = None;
        }
        Intent::Offered(action) if !touch::stays_open(action) => state.touch = None,
        Intent::SceneZoom(factor) => state.scene.zoom_by(*factor),
        Intent::SceneFit => state.scene.fit(),
        Intent::PickPart(part) => state.workshop.part = Some(part.clone()),
        Intent::Understood => state.frozen = None,
        _ => {}
    }
}

/// Time of a finished sitting, so many steps on; the chart follows.
fn scrub(steps: i32, now: Micros, state: &mut PanelState) {
    let (from, to) = state.chart.window(now);
    if let Some(shown) = state.wall.shown() {
        let at = shown.scrubbed(state.here.unwrap_or_else(|| shown.first()), steps, to - from);
        state.here = Some(at);
        state.chart.bring_into_sight(at, now);
    }
}

/// Does what an instructor wants done, and says so.
fn instruct(what: &Instruction, session: &mut dyn Session, state: &mut PanelState) {
    let answer = session.instruct(what);
    if matches!(answer, Answer::Refused { .. }) {
        state.class.wants = false;
    }
    state.messages.answer(session.now(), &answer);
}

/// Does something in the bay and writes down what came of it.
fn act(action: &Action, session: &mut dyn Session, state: &mut PanelState) {
    let tee = session.observe().tee.map(|t| t.joint);
    let was_over = session.is_over();
    let answer = session.act(action);
    let now = session.now();
    if matches!(answer, Answer::Done { .. }) {
        remember(action, tee, state, session);
        state.since.done(action, now);
    }
    state.messages.answer(now, &answer);
    tell_breaches(session, state);
    if session.is_over() && !was_over {
        state.pace = Pace::Paused;
        turn(Tab::Debrief, state);
        state.touch = None;
        state.chart.feet = None;
        state.chart.show_work(session.trace(), read_between(session), now);
    }
}

/// In practice each rule is told when it is broken, whatever broke it; what people die of stops time until it was read. In
/// an assessment nothing is said of it before the mark.
pub fn tell_breaches(session: &dyn Session, state: &mut PanelState) {
    let all = session.breaches();
    let told = std::mem::replace(&mut state.breaches_told, all.len());
    if session.job().mode != Mode::Practice {
        return;
    }
    for breach in all.iter().skip(told) {
        state.messages.breach(session.now(), breach);
        if breach.class == BreachClass::Critical {
            state.pace = Pace::Paused;
            state.frozen = Some(breach.clone());
        }
    }
}

/// From the first line of the sheet to the last.
fn read_between(session: &dyn Session) -> Option<(Micros, Micros)> {
    let lines = session.sheet();
    Some((lines.first()?.at, lines.last()?.at))
}

/// At which joint each line of the sheet was written, and as what.
fn recall_lines(state: &mut PanelState, attempt: &Attempt, lines: usize) {
    let mut tee: Option<&String> = None;
    let mut written: Vec<(Option<String>, Option<Reading>)> = Vec::new();
    for entry in attempt.entries() {
        match &entry.event {
            Event::Act(Action::FitTee { joint, .. }) => tee = Some(joint),
            Event::Act(Action::RemoveTee { .. }) => tee = None,
            Event::Act(Action::Record { reading }) => written.push((tee.cloned(), Some(reading.clone()))),
            Event::Act(Action::RecordTest { .. } | Action::Note { .. }) => written.push((None, None)),
            Event::Act(Action::Amend { line, reading }) => {
                if let Some(was) = line.checked_sub(1).and_then(|i| written.get_mut(i)) {
                    was.1 = Some(reading.clone());
                }
            }
            _ => {}
        }
    }
    // something was refused: then it isn't known which line is whose, and nothing is better than something wrong
    if written.len() == lines {
        (state.line_joints, state.line_readings) = written.into_iter().unzip();
    }
}

/// What the panels would remember of a sitting that goes on from a record.
pub fn recall(state: &mut PanelState, session: &dyn Session) {
    let lines = session.sheet().len();
    state.line_joints.resize(lines, None);
    state.line_readings.resize(lines, None);
    state.engine = session.observe().engine;
    // the chart has a word of it whether a tee was fitted or not
    state.sheet.has_run = session.trace().ticks.iter().any(|tick| tick.word == "runs");
    state.breaches_told = session.breaches().len();
    let Some(attempt) = session.attempt() else { return };
    recall_lines(state, attempt, lines);
    for entry in attempt.entries() {
        let Event::Act(action) = &entry.event else { continue };
        state.since.done(action, entry.at);
        match action {
            Action::MakeSafe { .. }
            | Action::Ask { .. }
            | Action::Look { .. }
            | Action::Repair { .. }
            | Action::Believe { .. }
            | Action::Crank { .. }
            | Action::Key { .. }
            | Action::Speed { .. }
            | Action::Valve { .. }
            | Action::FitTee { .. }
            | Action::RemoveTee { .. } => remember(action, None, state, session),
            _ => {}
        }
    }
    // what was asked of an engine that doesn't run, or of a valve that isn't there, was refused
    let seen = session.observe();
    state.hands.speed = state.hands.speed.filter(|_| seen.engine != EngineRun::Off);
    state.hands.lever = state.hands.lever.filter(|_| seen.tee.is_some());
    state.pace = Pace::Paused;
    if session.is_over() {
        turn(Tab::Debrief, state);
        state.chart.show_work(session.trace(), read_between(session), session.now());
    }
}

/// What the panels keep of an action that was done.
fn remember(action: &Action, tee: Option<String>, state: &mut PanelState, session: &dyn Session) {
    let lines = session.sheet().len();
    state.line_joints.resize(lines, None);
    state.line_readings.resize(lines, None);
    match action {
        Action::Record { reading } => {
            if let (Some(joint), Some(typed)) = (state.line_joints.last_mut(), state.line_readings.last_mut()) {
                *joint = tee;
                *typed = Some(reading.clone());
            }
            // what comes next follows what was written, whoever wrote it
            state.sheet.state = reading.state;
            state.sheet.written();
        }
        Action::Amend { line, reading } => {
            if let Some(typed) = line.checked_sub(1).and_then(|i| state.line_readings.get_mut(i)) {
                *typed = Some(reading.clone());
            }
            state.sheet.written();
        }
        Action::RecordTest { .. } => state.sheet.test.written(),
        Action::Predict { .. } => state.sheet.predicted(),
        Action::Ask { question } => {
            state.asked.insert(question.clone());
        }
        Action::MakeSafe { step } => {
            state.workshop.safe.insert(*step);
        }
        Action::Speed { rpm } => state.hands.speed = Some(*rpm),
        Action::Valve { open } => state.hands.lever = Some(*open),
        Action::FitTee { .. } | Action::RemoveTee { .. } => state.hands.lever = None,
        Action::Key { to: Key::Off } => state.hands.speed = None,
        Action::Crank { .. } => {
            state.hands.speed = None;
            // what has run is hot and under pressure again
            state.workshop.safe.remove(&SafetyStep::PressureAway);
            // a turning engine wants watching: let time run
            if session.observe().engine != EngineRun::Off && state.pace == Pace::Paused {
                state.pace = Pace::Real;
            }
        }
        // what is heard when the key is turned is over in two seconds: let time run
        Action::Key { to: Key::On } if state.pace == Pace::Paused => state.pace = Pace::Real,
        Action::Believe { points } => {
            let of = |c: &Candidate| points.get(&c.name).copied().unwrap_or(0);
            state.candidates.stated(session.job().candidates.iter().map(of).collect());
        }
        Action::Look { part } => {
            let job = session.job();
            let label = job.plant.part(part).map_or(part.as_str(), |p| named(&p.label));
            let sees = look_words(job, part, label, state.workshop.put_right.get(part).copied());
            state.workshop.looked.insert(part.clone(), sees);
        }
        Action::Repair { part, remedy } if *remedy != Remedy::Reseal => {
            // what was seen, was seen of the old one
            state.workshop.looked.remove(part);
            state.workshop.put_right.insert(part.clone(), *remedy);
        }
        Action::Wait { secs } => state.chart.waited((secs * SECOND as f64) as Micros),
        _ => {}
    }
}
