//! The words in which a script or a person at a plain terminal says what to do.
//!
//! One action a line. `#` begins a comment; empty lines say nothing. Names of more than one word are
//! written with hyphens (`pump-in`) or in quotes (`"pump in"`). [`WORDS`] is the only list: reading,
//! help and the nearest word all come from it. [`print()`] is the way back: every action has a line
//! that reads as that action.

mod cut;
pub mod offer;
mod print;
mod table;
#[cfg(test)]
pub(crate) mod tests;
pub mod told;

use crate::bay::action::{Action, Micros, Perceived};
use crate::bay::observation::{CapSound, EngineRun, GlassLook, PrimerFeel, PumpSound, SampleLook};
use crate::language::{Msg, said};
use crate::plant::component::{Component, ElectricPump};
use crate::scenario::model::Job;
use crate::tell;
use cut::{Line, Piece};
pub use print::print;
pub use table::WORDS;

/// What a line says.
#[derive(Clone, Debug, PartialEq)]
pub enum Said {
    /// Something to do in the bay.
    Do(Action),
    /// Something to show; the bay doesn't notice.
    Show(View),
}

/// What a front end can be asked to show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum View {
    /// What can be perceived now.
    Status,
    /// All words, or one.
    Help(Option<String>),
    /// The last seconds of the trace, in words.
    Trace,
    /// Job card and vehicle card.
    Card,
    /// The test sheet.
    Sheet,
    /// Leave; the record keeps what was done.
    Quit,
}

/// What a word is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Make safe.
    Safe,
    /// Ask and look.
    Ask,
    /// The test tee.
    Tee,
    /// Key and engine.
    Engine,
    /// Isolate.
    Isolate,
    /// Let time pass.
    Time,
    /// Write down.
    Sheet,
    /// Think and conclude.
    Conclude,
    /// Put right and give back.
    PutRight,
    /// See.
    Show,
}

impl Group {
    /// Every group in the order of the work.
    pub const ALL: [Self; 10] = [
        Self::Safe,
        Self::Ask,
        Self::Tee,
        Self::Engine,
        Self::Isolate,
        Self::Time,
        Self::Sheet,
        Self::Conclude,
        Self::PutRight,
        Self::Show,
    ];

    /// Heading in the help.
    pub fn title(self) -> &'static str {
        match self {
            Self::Safe => said("bay-group-safe"),
            Self::Ask => said("bay-group-ask"),
            Self::Tee => said("bay-group-tee"),
            Self::Engine => said("bay-group-engine"),
            Self::Isolate => said("bay-group-isolate"),
            Self::Time => said("bay-group-time"),
            Self::Sheet => said("bay-group-sheet"),
            Self::Conclude => said("bay-group-conclude"),
            Self::PutRight => said("bay-group-put-right"),
            Self::Show => said("bay-group-show"),
        }
    }
}

/// A word of the language.
pub struct Word {
    /// The word that begins the line.
    pub verb: &'static str,
    /// How the line goes on.
    pub syntax: &'static str,
    /// What it does, in a sentence or two.
    pub doc: Msg,
    /// What it is for.
    pub group: Group,
    /// A line that reads.
    pub example: &'static str,
    read: fn(&mut Line) -> Result<Said, Unclear>,
}

/// Why a line can't be understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unclear {
    /// Where, in characters from 1.
    pub column: usize,
    /// What was found there.
    pub found: String,
    /// What should have been there.
    pub expected: String,
    /// The nearest word that would do.
    pub nearest: Option<String>,
    /// How a line with this verb is written.
    pub syntax: Option<&'static str>,
}

impl std::fmt::Display for Unclear {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Expected {} at character {}, but found {}.", self.expected, self.column, self.found)?;
        if let Some(nearest) = &self.nearest {
            write!(f, " Did you mean “{nearest}”?")?;
        }
        if let Some(syntax) = self.syntax {
            write!(f, " Write: {syntax}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Unclear {}

impl Unclear {
    fn new(column: usize, expected: &str, found: &str) -> Self {
        Self { column, found: found.to_owned(), expected: expected.to_owned(), nearest: None, syntax: None }
    }

    fn at(piece: &Piece, expected: &str) -> Self {
        let mut shown: String = piece.text.chars().filter(|c| !c.is_control()).take(40).collect();
        if shown.len() < piece.text.len() {
            shown.push('…');
        }
        Self::new(piece.column, expected, &format!("“{shown}”"))
    }

    fn near(mut self, nearest: Option<&str>) -> Self {
        self.nearest = nearest.map(str::to_owned);
        self
    }
}

/// The names that a job knows, each with its label, so that a slip is noticed before it is done.
/// An empty list takes any name.
#[derive(Clone, Debug, Default)]
pub struct Terms {
    /// Joints where the tee fits.
    pub joints: Vec<(String, String)>,
    /// Points of the electric circuits, with no label.
    pub points: Vec<(String, String)>,
    /// Parts and places to look at or to put right.
    pub parts: Vec<(String, String)>,
    /// Questions to the customer.
    pub questions: Vec<(String, String)>,
    /// Candidates.
    pub candidates: Vec<(String, String)>,
    /// Idle speed and the test speed of the card, 1/min.
    pub speeds: Option<(f64, f64)>,
}

impl Terms {
    /// The names of a job.
    pub fn of(job: &Job) -> Self {
        let mut parts: Vec<(String, String)> =
            job.plant.parts.iter().map(|part| (part.name.clone(), part.label.clone())).collect();
        let places = job.plant.nodes.iter().map(|n| (n.name.clone(), n.joint.clone().unwrap_or_default()));
        let looks = job.looks.iter().map(|look| (look.part.clone(), String::new()));
        let own = super::work::KIT.into_iter().map(|name| (name.to_owned(), String::new()));
        for (name, label) in places.chain(looks).chain(own) {
            if !parts.iter().any(|(known, _)| *known == name) {
                parts.push((name, label));
            }
        }
        let engine = job.plant.parts.iter().find_map(|part| match &part.is {
            Component::Engine(engine) => Some((engine.idle.si(), engine.raised.si())),
            _ => None,
        });
        let joints_of = |pump: &ElectricPump| pump.feed.iter().chain(&pump.earth).map(|j| j.name.clone()).collect();
        let posts: Vec<String> =
            job.plant.electric_pumps().flat_map(|(_, pump)| -> Vec<String> { joints_of(pump) }).collect();
        let points = ["battery +", "battery −"].map(str::to_owned).into_iter().chain(posts);
        Self {
            joints: job.joints.clone(),
            points: points.map(|name| (name, String::new())).collect(),
            parts,
            questions: job.questions.iter().map(|q| (q.name.clone(), q.ask.clone())).collect(),
            candidates: job.candidates.iter().map(|c| (c.name.clone(), c.label.clone())).collect(),
            speeds: engine,
        }
    }
}

/// Reads a line. `None` for a comment or an empty line.
///
/// `now` is the simulated time at which the line is said; windows such as `-3s` count back from it.
///
/// # Errors
/// What was expected where, and the nearest word.
pub fn read(text: &str, terms: &Terms, now: Micros) -> Result<Option<Said>, Unclear> {
    let mut line = Line::cut(text, terms, now)?;
    let Some(piece) = line.next() else { return Ok(None) };
    let Some(word) = word(&piece.text).filter(|_| !piece.quoted) else {
        let nearest = nearest(&piece.text, WORDS.iter().map(|word| word.verb));
        return Err(Unclear::at(&piece, "a word such as “look” or “help”").near(nearest));
    };
    let with_syntax = |mut unclear: Unclear| {
        unclear.syntax = Some(word.syntax);
        unclear
    };
    let said = (word.read)(&mut line).map_err(with_syntax)?;
    line.end("nothing more").map_err(with_syntax)?;
    Ok(Some(said))
}

/// The word with this verb; capitals and hyphens make no difference.
pub fn word(verb: &str) -> Option<&'static Word> {
    let fold = |text: &str| text.replace(['-', '_'], "").to_lowercase();
    let verb = fold(verb);
    WORDS.iter().find(|word| word.verb == verb)
}

/// The word that this one is most likely meant to be, if any is near.
pub fn nearest<'a>(text: &str, of: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let short: String = text.chars().take(64).collect::<String>().to_lowercase();
    let letters = short.chars().count();
    let far = (letters / 2).clamp(1, 3);
    let distances = of.into_iter().filter_map(|word| {
        let whole = word.to_lowercase();
        // "suction" of "suction line": the rest was forgotten, or said otherwise
        if short.len() >= 3 && whole.split(' ').any(|part| part == short) {
            return Some((1, word));
        }
        // as many letters more or fewer are as many changes: nothing to work out
        let near = whole.chars().count().abs_diff(letters) <= far;
        near.then(|| (strsim::osa_distance(&short, &whole), word))
    });
    distances.filter(|(distance, _)| *distance <= far).min_by_key(|(distance, _)| *distance).map(|(_, word)| word)
}

/// Verbs that begin with these letters, for completion.
pub fn complete(beginning: &str) -> impl Iterator<Item = &'static str> {
    let beginning = beginning.to_lowercase();
    WORDS.iter().map(|word| word.verb).filter(move |verb| verb.starts_with(&beginning))
}

/// Help on one word, or all of them by group.
pub fn help(verb: Option<&str>) -> String {
    match verb {
        Some(verb) => match word(verb) {
            Some(word) => print::explain(word),
            None => match nearest(verb, WORDS.iter().map(|word| word.verb)) {
                Some(nearest) => tell!("bay-help-did-you-mean", nearest = nearest),
                None => said("bay-help-no-such-word").to_owned(),
            },
        },
        None => {
            let mut out = String::new();
            for group in Group::ALL {
                out += group.title();
                out += ":\n";
                for word in WORDS.iter().filter(|word| word.group == group) {
                    out += &format!("  {}\n", word.syntax);
                }
            }
            out + said("bay-help-foot")
        }
    }
}

/// The words in which this can be noted.
pub fn seen_words(what: Perceived) -> Vec<&'static str> {
    match what {
        Perceived::Glass => GlassLook::ALL.map(GlassLook::word).to_vec(),
        Perceived::Primer => PrimerFeel::ALL.map(PrimerFeel::word).to_vec(),
        Perceived::Cap => CapSound::ALL.map(CapSound::word).to_vec(),
        Perceived::Engine => EngineRun::ALL.map(EngineRun::word).to_vec(),
        Perceived::Sample => SampleLook::ALL.map(SampleLook::word).to_vec(),
        Perceived::Pump => PumpSound::ALL.map(PumpSound::word).to_vec(),
    }
}
