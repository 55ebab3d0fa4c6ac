//! What is open, selected and half-typed: plain data, apart from the sitting.

use std::collections::BTreeSet;

use super::bridge::Intent;
use super::candidates::CandidatesState;
use super::chart::ChartState;
use super::class::ClassState;
use super::coach::CoachState;
use super::dragging::Dragging;
use super::finding::FindingForm;
use super::hands::HandsState;
use super::messages::Messages;
use super::opened::{Picture, Wall};
use super::plan::View;
use super::scene::SceneState;
use super::settings::Units;
use super::sheet_form::SheetForm;
use super::sight_glass::GlassState;
use super::touch::TouchState;
use super::what_is_left::SinceFinding;
use super::workshop::WorkshopState;
use crate::bay::action::{Micros, Reading};
use crate::bay::observation::{Breach, EngineRun};
use crate::language::said;
use crate::marking::model::Mark;

/// An index tab of the paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tab {
    /// Complaint, facts, questions, vehicle card.
    #[default]
    Card,
    /// Readings, things seen, predictions.
    Sheet,
    /// Points.
    Candidates,
    /// Make safe, tee, container, repair.
    Workshop,
    /// The conclusion.
    Finding,
    /// After hand-back.
    Debrief,
}

impl Tab {
    /// The tabs to show.
    pub const fn shown(over: bool) -> &'static [Self] {
        if over {
            &[Self::Card, Self::Sheet, Self::Candidates, Self::Finding, Self::Debrief]
        } else {
            &[Self::Card, Self::Sheet, Self::Candidates, Self::Workshop, Self::Finding]
        }
    }

    /// What is written on it.
    pub fn title(self) -> &'static str {
        match self {
            Self::Card => said("tab-card"),
            Self::Sheet => said("tab-sheet"),
            Self::Candidates => said("tab-candidates"),
            Self::Workshop => said("tab-workshop"),
            Self::Finding => said("tab-finding"),
            Self::Debrief => said("tab-debrief"),
        }
    }
}

/// How fast simulated time runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Pace {
    /// Stands still: nobody is hurried by a form.
    #[default]
    Paused,
    /// As on a clock.
    Real,
    /// Ten times as fast.
    Tenfold,
}

impl Pace {
    /// Simulated seconds a real second.
    pub const fn factor(self) -> f64 {
        match self {
            Self::Paused => 0.0,
            Self::Real => 1.0,
            Self::Tenfold => 10.0,
        }
    }
}

/// What is done at its second press: asked for until anything else is done, or for some seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Armed {
    /// Seconds for which it is still asked.
    left_s: f64,
}

impl Armed {
    /// How long the second press is waited for, s of a real clock: by the keyboard it may be some way off.
    const LONG: f64 = 30.0;

    /// It was pressed once.
    pub fn arm(&mut self) {
        self.left_s = Self::LONG;
    }

    /// Something else was done.
    pub fn disarm(&mut self) {
        self.left_s = 0.0;
    }

    /// The next press does it.
    pub fn is_armed(self) -> bool {
        self.left_s > 0.0
    }

    /// Real time goes by.
    pub fn pass(&mut self, secs: f64) {
        self.left_s = (self.left_s - secs).max(0.0);
    }
}

/// Everything the panels remember.
#[derive(Default)]
pub struct PanelState {
    /// Tab on top.
    pub tab: Tab,
    /// Page of the place, where only one is seen.
    pub view: View,
    /// The paper is on top, where one page is seen at a time.
    pub on_paper: bool,
    /// Hands out or put away, once somebody said; else as there is room.
    pub hands_out: Option<bool>,
    /// Pace of time.
    pub pace: Pace,
    /// Blueprint instead of paper.
    pub dark: bool,
    /// Only the pen moves.
    pub reduced_motion: bool,
    /// Units of the instrument.
    pub units: Units,
    /// The expected minutes aren't shown.
    pub untimed: bool,
    /// What is heard is written on the drawing.
    pub captions: bool,
    /// Scene, glass and trace in words are open.
    pub twin: bool,
    /// Large, and only what a class may see.
    pub projector: bool,
    /// The page for whoever teaches.
    pub class: ClassState,
    /// Time of a finished sitting that is looked at.
    pub here: Option<Micros>,
    /// List of keys is open.
    pub keys_open: bool,
    /// Chart.
    pub chart: ChartState,
    /// Sheet.
    pub sheet: SheetForm,
    /// Candidates.
    pub candidates: CandidatesState,
    /// Coach.
    pub coach: CoachState,
    /// Finding.
    pub finding: FindingForm,
    /// What was done since it was submitted.
    pub since: SinceFinding,
    /// Workshop.
    pub workshop: WorkshopState,
    /// Hands.
    pub hands: HandsState,
    /// The card of looks is open.
    pub glass_card: bool,
    /// Glass.
    pub glass: GlassState,
    /// How the drawing is looked at.
    pub scene: SceneState,
    /// A piece of the kit under the finger.
    pub dragging: Dragging,
    /// The slip of what was touched.
    pub touch: Option<TouchState>,
    /// What was said.
    pub messages: Messages,
    /// A critical breach that is being explained.
    pub frozen: Option<Breach>,
    /// What the engine did when it was last looked at.
    pub engine: EngineRun,
    /// Questions asked.
    pub asked: BTreeSet<String>,
    /// Joint of the tee when each line of the sheet was written.
    pub line_joints: Vec<Option<String>>,
    /// Each line of the sheet as it was typed; the sheet itself rounds.
    pub line_readings: Vec<Option<Reading>>,
    /// What stands over the chart after hand-back.
    pub picture: Picture,
    /// The line behind the wall, after hand-back.
    pub wall: Wall,
    /// The mark, once there.
    pub mark: Option<Box<Mark>>,
    /// Share of the marking that is done, 0 … 1.
    pub marked_share: f32,
    /// Share of the opening that is done, 0 … 1.
    pub opened_share: f32,
    /// The cheapest way, under way and once known.
    pub way: super::worth::WayState,
    /// Why it couldn't be marked.
    pub unmarked: Option<String>,
    /// The record's trouble was told.
    pub record_told: bool,
    /// Rules broken that were told.
    pub breaches_told: usize,
    /// A sitting that nobody records was to be left.
    pub leaving: Armed,
    /// The ring of the keyboard is wanted where the page begins.
    pub into_page: bool,
}

impl PanelState {
    /// What is heard of keys while a sheet lies over all: what closes it. None where none does.
    pub fn heard(&self, over: bool) -> Option<Vec<Intent>> {
        if self.frozen.is_some() {
            return Some(vec![]);
        }
        let sheets = [
            (self.keys_open, Intent::Keys),
            (self.twin, Intent::Twin),
            (self.glass_card, Intent::GlassCard),
            (self.class.open && !over, Intent::Class),
        ];
        let open: Vec<Intent> = sheets.into_iter().filter(|(open, _)| *open).map(|(_, intent)| intent).collect();
        (!open.is_empty()).then_some(open)
    }

    /// Everything that waits for a second press.
    pub fn armed(&mut self) -> [&mut Armed; 3] {
        [&mut self.workshop.asked, &mut self.finding.asked, &mut self.leaving]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_over_all_leaves_only_its_own_key() {
        let mut state = PanelState::default();
        assert_eq!(state.heard(false), None);
        state.twin = true;
        assert_eq!(state.heard(false), Some(vec![Intent::Twin]));
        state.frozen = Some(Breach {
            at: 0,
            class: crate::bay::observation::BreachClass::Critical,
            rule: "petrol-spray".into(),
            words: String::new(),
        });
        assert_eq!(state.heard(false), Some(vec![]), "nothing before it was read");
        // the page for whoever teaches isn't drawn any longer
        let over =
            PanelState { class: ClassState { open: true, ..ClassState::default() }, ..PanelState::default() };
        assert_eq!((over.heard(true), over.heard(false)), (None, Some(vec![Intent::Class])));
    }

    #[test]
    fn what_waits_for_a_second_press_doesnt_wait_for_ever() {
        let mut armed = Armed::default();
        armed.arm();
        armed.pass(5.0);
        assert!(armed.is_armed());
        armed.pass(40.0);
        assert!(!armed.is_armed());
        armed.arm();
        armed.disarm();
        assert!(!armed.is_armed());
    }
}
