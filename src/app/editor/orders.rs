//! The sections and panes of the editor, and what its views may ask for.

use crate::authoring::draft::{Page, is_within};
use crate::bay::words::offer::Spot;
use crate::language::said;
use crate::scenario::Kind;
use crate::scenario::patch::Edit;

/// A part of the form.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Section {
    /// Title, customer, complaint, facts.
    #[default]
    Card,
    /// Vehicle, level, minutes, mode, fuel and weather.
    Setting,
    /// Questions to the customer.
    Questions,
    /// What looking at parts shows.
    Looks,
    /// What is really wrong.
    Fault,
    /// What the learner may hold likely.
    Candidates,
    /// What the bay doesn't offer.
    Tests,
    /// Goals, hints, traps.
    Teaching,
    /// Limits on the vehicle card.
    Limits,
    /// What may differ between its variants.
    Variants,
    /// How it is marked.
    Marking,
    /// What vehicle it is: title, fuel, day, how it warms up, what its card permits.
    Machine,
    /// Its parts, joined.
    Parts,
    /// Where parts meet.
    Nodes,
    /// Title and aim of a course.
    Course,
    /// Its jobs.
    Stages,
}

impl Section {
    /// Every section of a job, in the order of work.
    pub const ALL: [Self; 11] = [
        Self::Card,
        Self::Setting,
        Self::Questions,
        Self::Looks,
        Self::Fault,
        Self::Candidates,
        Self::Tests,
        Self::Teaching,
        Self::Limits,
        Self::Variants,
        Self::Marking,
    ];

    /// The sections of a kind of file, in the order of work.
    pub const fn of_kind(kind: Kind) -> &'static [Self] {
        match kind {
            Kind::Job => &Self::ALL,
            Kind::Plant => &[Self::Machine, Self::Parts, Self::Nodes, Self::Limits],
            Kind::Rubric => &[Self::Marking],
            Kind::Course => &[Self::Course, Self::Stages],
        }
    }

    /// What is written on it.
    pub fn title(self) -> &'static str {
        match self {
            Self::Card => said("section-card"),
            Self::Setting => said("section-setting"),
            Self::Questions => said("section-questions"),
            Self::Looks => said("section-looks"),
            Self::Fault => said("section-hidden"),
            Self::Candidates => said("tab-candidates"),
            Self::Tests => said("section-tests"),
            Self::Teaching => said("section-teaching"),
            Self::Limits => said("vehicle-card"),
            Self::Variants => said("section-variants"),
            Self::Marking => said("section-marking"),
            Self::Machine => said("setting-vehicle"),
            Self::Parts => said("plant-parts"),
            Self::Nodes => said("section-nodes"),
            Self::Course => said("setting-course"),
            Self::Stages => said("section-stages"),
        }
    }

    /// Fields of the file that it shows.
    pub(super) fn fields(self) -> &'static [&'static str] {
        match self {
            Self::Card => &["title", "customer", "complaint", "facts", "pictures"],
            Self::Setting => &[
                "plant",
                "level",
                "minutes",
                "mode",
                "fuel_gauge",
                "gauge_lies",
                "fill",
                "stood",
                "temperature",
                "altitude",
                "fuel",
                "codes",
                "vehicle",
            ],
            Self::Questions => &["questions"],
            Self::Looks => &["looks"],
            Self::Fault => &["hidden"],
            Self::Candidates => &["candidates", "also_right"],
            Self::Tests => &["withheld"],
            Self::Teaching => &["goals", "hints", "traps", "snares"],
            Self::Limits => &["limits", "card"],
            Self::Variants => &["varies"],
            Self::Marking => &["rubric", "lookahead"],
            Self::Machine => &["title", "fuel", "temperature", "altitude", "service", "warmth"],
            Self::Parts => &["parts"],
            Self::Nodes => &["nodes"],
            Self::Course => &["title", "aim"],
            Self::Stages => &["jobs"],
        }
    }

    /// The section that shows a place of a kind of file.
    pub fn of(kind: Kind, place: &str) -> Option<Self> {
        if kind == Kind::Rubric {
            return Some(Self::Marking);
        }
        Self::of_kind(kind).iter().copied().find(|s| s.fields().iter().any(|f| is_within(place, f)))
    }
}

/// What stands beside the form.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Pane {
    /// The form itself, where the window is too narrow for both.
    Form,
    /// The text of the file.
    #[default]
    Text,
    /// What the fault shows.
    Preview,
    /// The vehicle, drawn.
    Vehicle,
    /// Whether the job is fair.
    Fairness,
    /// What a sound vehicle reads in each state.
    Readings,
}

impl Pane {
    /// The panes beside the form of a kind of file.
    pub const fn of_kind(kind: Kind) -> &'static [Self] {
        match kind {
            Kind::Job => &[Self::Text, Self::Preview, Self::Vehicle, Self::Fairness],
            Kind::Plant => &[Self::Text, Self::Vehicle, Self::Readings],
            Kind::Rubric | Kind::Course => &[Self::Text],
        }
    }

    /// What is written on it.
    pub fn title(self) -> &'static str {
        match self {
            Self::Form => said("pane-form"),
            Self::Text => said("pane-text"),
            Self::Preview => said("pane-preview"),
            Self::Vehicle => said("setting-vehicle"),
            Self::Fairness => said("pane-fairness"),
            Self::Readings => said("pane-readings"),
        }
    }
}

/// A change of the vehicle's graph.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Plumb {
    /// A part of a kind into the way at a node.
    Insert(String, String),
    /// A part of a kind between two nodes.
    Between(String, String, String),
    /// Out with a part; its ends become one, or the gap stays.
    Remove(usize, bool),
    /// A part the other way round.
    Turn(usize),
    /// A node by itself.
    AddNode,
    /// A node under another name.
    RenameNode(usize, String),
    /// Out with a node.
    RemoveNode(usize),
}

/// What a view asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Order {
    /// Changes of places of a text, together.
    Edit(Page, Vec<Edit>),
    /// A whole text as typed.
    Write(Page, String),
    /// The field was left: what comes next is a change of its own.
    Settle,
    /// A change back, or forth again.
    Undo,
    /// Forth again.
    Redo,
    /// Another section of the form.
    Turn(Section),
    /// Another pane.
    Show(Pane),
    /// Another text in the pane of texts.
    Open(Page),
    /// To what the check found, by its number.
    Jump(usize),
    /// To a field.
    Focus(String),
    /// A mark scheme of the job's own.
    OwnScheme,
    /// A mark scheme that others use, too.
    SharedScheme(String),
    /// Writes the files.
    Save,
    /// Looks into the folder of pictures again.
    Pictures,
    /// Asks for another name.
    SaveAs,
    /// Writes them under this name.
    SaveUnder(String),
    /// Closes the question.
    NotNow,
    /// Simulates whether the job is fair.
    Fair,
    /// Stops that.
    StopFair,
    /// Saves it and sits it.
    Sit,
    /// Leaves; asks when something isn't saved.
    Close,
    /// Leaves and keeps what isn't saved to go on with.
    KeepAndClose,
    /// Leaves and throws away what isn't saved.
    ThrowAway,
    /// Joint of the preview.
    Joint(Option<String>),
    /// The preview shows faults as if they showed always.
    Always(bool),
    /// Something was touched in the drawing.
    Touched(Spot),
    /// A change of the vehicle's graph.
    Plumb(Plumb),
    /// A part or a node of the vehicle is looked at, by name.
    Pick(Option<String>),
    /// The card is filled from what a sound vehicle reads.
    FillCard,
    /// The list of keys.
    Keys,
}
