//! Scripted sessions: a list of steps, one a line, that open jobs, do things and take pictures.
//!
//! ```text
//! take 0                                  # open the first job of the shelf
//! do {"do":"key","to":"on"}               # an action, as in an attempt file
//! instruct {"class":"clear"}              # what whoever teaches does to the vehicle
//! say fit "pump in"                       # the same in the words that are typed without a window
//! key V                                   # a shortcut
//! run 12.5                                # let so many seconds pass
//! tab Test sheet                          # turn the paper
//! page chart                              # where one page is seen at a time: place, chart; hands: out or away
//! coach                                   # ask what each candidate could show
//! dividers                                # set them, or put them away
//! claim 0 2 4                             # a cause and its lines in the form of the finding
//! rule 2 5 6                              # a rival there, and the lines that rule it out
//! feet 10 22.5                            # set the dividers, s
//! pace real                               # paused, real, tenfold
//! marked                                  # wait for the mark
//! frames 3                                # wait so many frames
//! set contrast on                         # a setting: dark, contrast, motion, captions: on, off; text: 100 … 200
//! measure bay 600                         # so many frames one after another: median and 99th percentile
//! idle bay 10                             # so many seconds in which nothing moves: how many frames are drawn
//! shot idle                               # writes idle.png
//! write Slow on the hill                  # a blank page in the editor
//! copy bypass-puff                        # a copy of a job in the editor
//! section Hidden fault                    # of its form
//! pane What it shows                      # beside the form
//! put minutes 4000                        # a value at a place of the text
//! rested                                  # wait until neither the editor nor the coach computes anything
//! exit
//! ```
//!
//! What is refused stops nothing, but it is told, and the run ends as a failure: pictures of something else than the script
//! says would be believed.

use super::bridge::Intent;
use super::desk::Desk;
use super::editor::start::Begin;
use super::editor::{Order, Pane, Section};
use super::messages::Kind;
use super::plan::View;
use super::settings::Settings;
use super::state::{Pace, Tab};
use crate::authoring::draft::Page;
use crate::bay::action::{Action, Micros, SECOND};
use crate::bay::words::offer::Spot;
use crate::bay::words::{self, Said, Terms};
use crate::language::Language;
use crate::scenario::patch::Edit;

/// A step.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// Open a job of the shelf.
    Take(usize),
    /// An intent.
    Ask(Intent),
    /// Say a line as it is typed without a window.
    Say(String),
    /// Let simulated time pass, s.
    Run(f64),
    /// Set the dividers.
    Feet(Micros, Micros),
    /// What the form of the sheet holds: value as typed and verdict by its word.
    Fill(String, String),
    /// What the form of the finding holds: the candidate by its place, from 0, and the lines that bear it.
    Claim(usize, Vec<usize>),
    /// What the form of the finding rules out: the candidate by its place, from 0, and the lines that do so.
    Rule(usize, Vec<usize>),
    /// Begin to write a job.
    Write(Begin),
    /// What is asked of the editor.
    Order(Order),
    /// Wait until neither the editor nor the coach computes anything.
    Rested,
    /// Wait for the mark.
    Marked,
    /// Wait so many frames.
    Frames(u32),
    /// Change a setting.
    Set(String, String),
    /// Measure so many frames under a name.
    Measure(String, usize),
    /// Count the frames of so many seconds under a name, as a window that rests draws them.
    Idle(String, f64),
    /// Take a picture.
    Shot(String),
    /// Close the window.
    Exit,
}

/// Reads a script.
///
/// # Errors
/// The line and what is wrong with it.
pub fn parse(text: &str) -> Result<Vec<Step>, String> {
    let mut steps = Vec::new();
    for (i, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let (word, rest) = line.split_once(' ').unwrap_or((line, ""));
        let step = step(word, rest.trim()).map_err(|why| format!("line {}: {why}", i + 1))?;
        steps.push(step);
    }
    Ok(steps)
}

fn step(word: &str, rest: &str) -> Result<Step, String> {
    let number = |text: &str| text.parse::<f64>().map_err(|_| format!("\"{text}\" isn't a number"));
    Ok(match word {
        "take" => Step::Take(number(rest)? as usize),
        "do" => Step::Ask(Intent::Do(serde_json::from_str::<Action>(rest).map_err(|e| e.to_string())?)),
        "say" => Step::Say(rest.to_owned()),
        "instruct" => Step::Ask(Intent::Instruct(serde_json::from_str(rest).map_err(|e| e.to_string())?)),
        "dividers" => Step::Ask(Intent::Dividers),
        "claim" | "rule" => {
            let mut parts = rest.split(' ');
            let cause = number(parts.next().unwrap_or_default())? as usize;
            let lines: Result<Vec<usize>, String> = parts.map(|line| number(line).map(|n| n as usize)).collect();
            if word == "claim" { Step::Claim(cause, lines?) } else { Step::Rule(cause, lines?) }
        }
        "theme" => Step::Ask(Intent::Theme),
        "keys" => Step::Ask(Intent::Keys),
        "joint" => Step::Ask(Intent::Touch(Spot::Joint(rest.to_owned()))),
        "touch" => Step::Ask(Intent::Touch(Spot::Part(rest.to_owned()))),
        "glasses" => Step::Ask(Intent::GlassCard),
        "words" => Step::Ask(Intent::Twin),
        "class" => Step::Ask(Intent::Projector),
        "teach" => Step::Ask(Intent::Class),
        "settings" => Step::Ask(Intent::Settings),
        "hands" => Step::Ask(Intent::Hands),
        "coach" => Step::Ask(Intent::Coach(true)),
        "page" => Step::Ask(Intent::See(match rest {
            "place" => View::Place,
            "chart" => View::Chart,
            other => return Err(format!("\"{other}\" isn't a page: place, chart")),
        })),
        "picture" => Step::Ask(Intent::OtherPicture),
        "telling" => Step::Ask(Intent::NextTelling),
        "scrub" => Step::Ask(Intent::Scrub(number(rest)? as i32)),
        "here" => Step::Ask(Intent::Here((number(rest)? * SECOND as f64) as Micros)),
        "back" => Step::Ask(Intent::GoBackTo((number(rest)? * SECOND as f64) as Micros)),
        "pages" => Step::Ask(Intent::ExportDebrief),
        "save" => Step::Ask(Intent::ExportPicture),
        "shelf" => Step::Ask(Intent::ToShelf),
        "around" => Step::Ask(Intent::Touch(Spot::Vehicle)),
        "untouch" => Step::Ask(Intent::Untouch),
        "zoom" => Step::Ask(Intent::SceneZoom(number(rest)? as f32)),
        "part" => Step::Ask(Intent::PickPart(rest.to_owned())),
        "show" => Step::Ask(Intent::ChartTo((number(rest)? * SECOND as f64) as Micros)),
        "pace" => Step::Ask(Intent::Pace(match rest {
            "paused" => Pace::Paused,
            "real" => Pace::Real,
            "tenfold" => Pace::Tenfold,
            other => return Err(format!("\"{other}\" isn't a pace: paused, real, tenfold")),
        })),
        "tab" => {
            let tabs = [Tab::Card, Tab::Sheet, Tab::Candidates, Tab::Workshop, Tab::Finding, Tab::Debrief];
            let tab = tabs
                .into_iter()
                .find(|t| t.title() == rest)
                .ok_or_else(|| format!("no tab is called \"{rest}\""))?;
            Step::Ask(Intent::Turn(tab))
        }
        "feet" => {
            let (a, b) = rest.split_once(' ').ok_or("feet needs two times in s")?;
            let micros = |text: &str| number(text.trim()).map(|s| (s * SECOND as f64) as Micros);
            Step::Feet(micros(a)?, micros(b)?)
        }
        "fill" => {
            let (value, verdict) = rest.split_once(' ').ok_or("fill needs a value and a verdict")?;
            Step::Fill(value.to_owned(), verdict.to_owned())
        }
        "set" => {
            let (what, to) = rest.split_once(' ').ok_or("set needs a setting and what it is set to")?;
            set(&mut Settings::default(), what, to)?;
            Step::Set(what.to_owned(), to.to_owned())
        }
        "measure" | "idle" => {
            let (name, how_long) = rest.split_once(' ').ok_or("a name and a number are needed")?;
            match word {
                "idle" => Step::Idle(name.to_owned(), number(how_long)?),
                _ => Step::Measure(name.to_owned(), number(how_long)? as usize),
            }
        }
        "write" => Step::Write(Begin::Blank(rest.to_owned())),
        "copy" => Step::Write(Begin::From(rest.to_owned())),
        "section" => Step::Order(Order::Turn(
            Section::ALL
                .into_iter()
                .find(|s| s.title() == rest)
                .ok_or_else(|| format!("no section is called \"{rest}\""))?,
        )),
        "pane" => {
            let all = [Pane::Form, Pane::Text, Pane::Preview, Pane::Vehicle, Pane::Fairness];
            let pane = all.into_iter().find(|p| p.title() == rest);
            Step::Order(Order::Show(pane.ok_or_else(|| format!("no pane is called \"{rest}\""))?))
        }
        "put" => {
            let (place, value) = rest.split_once(' ').ok_or("put needs a place and a value")?;
            Step::Order(Order::Edit(Page::File, vec![Edit::set(place, value)]))
        }
        "fair" => Step::Order(Order::Fair),
        "jump" => Step::Order(Order::Jump(number(rest)? as usize)),
        "rested" => Step::Rested,
        "run" => Step::Run(number(rest)?),
        "marked" => Step::Marked,
        "frames" => Step::Frames(number(rest)? as u32),
        "shot" => Step::Shot(rest.to_owned()),
        "exit" => Step::Exit,
        other => return Err(format!("\"{other}\" isn't a step")),
    })
}

/// Changes a setting by its word.
fn set(settings: &mut Settings, what: &str, to: &str) -> Result<(), String> {
    let on = || match to {
        "on" => Ok(true),
        "off" => Ok(false),
        other => Err(format!("\"{other}\" is neither on nor off")),
    };
    match what {
        "dark" => settings.dark = on()?,
        "contrast" => settings.high_contrast = on()?,
        "motion" => settings.reduced_motion = !on()?,
        "captions" => settings.captions = on()?,
        "language" => {
            settings.language = Language::of(to).ok_or_else(|| format!("\"{to}\" isn't a language spoken here"))?;
        }
        "text" => settings.text = to.parse().map_err(|_| format!("\"{to}\" isn't a size"))?,
        other => return Err(format!("no setting is called \"{other}\"")),
    }
    Ok(())
}

/// Frames that are being watched.
struct Watch {
    name: String,
    /// Frames still to come; none: seconds count.
    frames: Option<usize>,
    seconds: f64,
    /// How long each took, s.
    took: Vec<f64>,
}

impl Watch {
    /// A frame that took so long; what is to be said when it was the last.
    fn frame(&mut self, delta_s: f64) -> Option<String> {
        self.took.push(delta_s);
        self.seconds -= delta_s;
        let over = self.frames.map_or(self.seconds <= 0.0, |n| self.took.len() >= n);
        over.then(|| self.words())
    }

    fn words(&self) -> String {
        let mut sorted = self.took.clone();
        sorted.sort_by(f64::total_cmp);
        let at =
            |share: f64| 1000.0 * sorted.get(((sorted.len() - 1) as f64 * share) as usize).copied().unwrap_or(0.0);
        match self.frames {
            Some(n) => {
                format!("{}: {n} frames, median {:.1} ms, 99th percentile {:.1} ms", self.name, at(0.5), at(0.99))
            }
            None => {
                let all: f64 = self.took.iter().sum();
                format!("{}: at rest {} frames in {all:.1} s", self.name, self.took.len())
            }
        }
    }
}

/// A script on its way.
pub struct Runner {
    steps: std::vec::IntoIter<Step>,
    wait: u32,
    marking: bool,
    resting: bool,
    shot: Option<String>,
    watch: Option<Watch>,
}

/// What the shell has to do for a script.
#[derive(Clone, Debug, PartialEq)]
pub enum Wish {
    /// Nothing this frame.
    Nothing,
    /// A picture with this name.
    Shot(String),
    /// A line to be written down.
    Note(String),
    /// A step that wasn't done, and why.
    Refused(String),
    /// Close the window.
    Exit,
}

/// Frames that a view gets to settle before its picture.
const SETTLE: u32 = 6;

impl Runner {
    /// From the first step.
    pub fn new(steps: Vec<Step>) -> Self {
        Self { steps: steps.into_iter(), wait: SETTLE, marking: false, resting: false, shot: None, watch: None }
    }

    /// The window is left alone to see how often it draws.
    pub fn rests(&self) -> bool {
        self.watch.as_ref().is_some_and(|w| w.frames.is_none())
    }

    /// One frame, so long after the one before: carries out steps until something has to be waited for.
    pub fn frame(&mut self, desk: &mut Desk, delta_s: f64) -> Wish {
        if self.wait == 0
            && let Some(watch) = &mut self.watch
        {
            let Some(words) = watch.frame(delta_s) else { return Wish::Nothing };
            self.watch = None;
            return Wish::Note(words);
        }
        if self.marking {
            self.marking = desk.is_marking();
            return Wish::Nothing;
        }
        if self.resting {
            self.resting = desk.is_writing() || desk.is_asking();
            return Wish::Nothing;
        }
        if self.wait > 0 {
            self.wait -= 1;
            return Wish::Nothing;
        }
        if let Some(name) = self.shot.take() {
            self.wait = SETTLE;
            return Wish::Shot(name);
        }
        for step in self.steps.by_ref() {
            match step {
                Step::Take(index) => desk.take(index),
                Step::Ask(intent) => {
                    let told = told(&intent);
                    if let Err(why) = ask(desk, intent) {
                        return Wish::Refused(format!("{told}: {why}"));
                    }
                }
                Step::Say(line) => {
                    if let Err(why) = say(desk, &line) {
                        return Wish::Refused(format!("{line}: {why}"));
                    }
                }
                Step::Write(begin) => {
                    desk.write();
                    if begin != Begin::Blank(String::new()) {
                        desk.begin(begin);
                    }
                }
                Step::Order(order) => desk.write_on(vec![order]),
                Step::Rested => {
                    self.resting = true;
                    return Wish::Nothing;
                }
                Step::Run(secs) => run(desk, secs),
                Step::Feet(a, b) => {
                    if let Some(sitting) = &mut desk.sitting {
                        sitting.state.chart.feet = Some([a, b]);
                    }
                }
                Step::Fill(value, verdict) => {
                    if let Some(sitting) = &mut desk.sitting {
                        let verdicts = crate::bay::action::Verdict::ALL;
                        sitting.state.sheet.value = value;
                        sitting.state.sheet.verdict = verdicts.into_iter().find(|v| v.words() == verdict);
                    }
                }
                Step::Claim(cause, lines) => {
                    if let Some(sitting) = &mut desk.sitting {
                        sitting.state.finding.candidate = Some(cause);
                        sitting.state.finding.evidence = lines.into_iter().collect();
                    }
                }
                Step::Rule(rival, lines) => {
                    if let Some(sitting) = &mut desk.sitting {
                        sitting.state.finding.ruled_out.insert(rival, lines.into_iter().collect());
                    }
                }
                Step::Set(what, to) => desk.change(|settings| {
                    // it was tried when the script was read
                    let _ = set(settings, &what, &to);
                }),
                Step::Measure(name, frames) => {
                    self.watch = Some(Watch { name, frames: Some(frames.max(1)), seconds: 0.0, took: vec![] });
                    self.wait = SETTLE;
                    return Wish::Nothing;
                }
                Step::Idle(name, seconds) => {
                    self.watch = Some(Watch { name, frames: None, seconds, took: vec![] });
                    self.wait = SETTLE;
                    return Wish::Nothing;
                }
                Step::Marked => {
                    self.marking = true;
                    return Wish::Nothing;
                }
                Step::Frames(n) => {
                    self.wait = n;
                    return Wish::Nothing;
                }
                Step::Shot(name) => {
                    // the view of the steps before is drawn first
                    self.shot = Some(name);
                    self.wait = SETTLE;
                    return Wish::Nothing;
                }
                Step::Exit => return Wish::Exit,
            }
        }
        Wish::Nothing
    }
}

/// Does what is asked for; an error with the words of the bay when it was refused.
fn ask(desk: &mut Desk, intent: Intent) -> Result<(), String> {
    if desk.sitting.is_none() && matches!(intent, Intent::Do(_) | Intent::Instruct(_)) {
        return Err("no job was taken".to_owned());
    }
    let before = desk.sitting.as_ref().map_or(0, |s| s.state.messages.all.len());
    desk.carry_out(vec![intent]);
    desk.wait_it_out();
    let said = desk.sitting.as_ref().and_then(|s| s.state.messages.all.get(before..)).unwrap_or_default();
    match said.iter().find(|m| m.kind == Kind::Refused) {
        Some(refused) => Err(refused.words.clone()),
        None => Ok(()),
    }
}

/// An intent as it is told when it was refused: an action as the script writes it.
fn told(intent: &Intent) -> String {
    match intent {
        Intent::Do(action) => serde_json::to_string(action).unwrap_or_default(),
        other => format!("{other:?}"),
    }
}

/// Does what a line says.
fn say(desk: &mut Desk, line: &str) -> Result<(), String> {
    let sitting = desk.sitting.as_ref().ok_or("no job was taken")?;
    let terms = Terms::of(sitting.session.job());
    match words::read(line, &terms, sitting.session.now()) {
        Ok(Some(Said::Do(action))) => ask(desk, Intent::Do(action)),
        Ok(_) => Err("it does nothing".to_owned()),
        Err(why) => Err(why.to_string()),
    }
}

/// Lets simulated time pass in slices of a frame.
fn run(desk: &mut Desk, secs: f64) {
    let Some(sitting) = &mut desk.sitting else { return };
    let pace = std::mem::replace(&mut sitting.state.pace, Pace::Real);
    let slices = (secs * 20.0).round() as u32;
    for _ in 0..slices {
        desk.tick(0.05);
    }
    if let Some(sitting) = &mut desk.sitting {
        sitting.state.pace = pace;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_script_is_read_line_by_line() {
        let steps =
            parse("# open\ntake 0\n\ndo {\"do\":\"purge\"}\nrun 1.5\ntab Test sheet\nfeet 1 2.5\nshot a\nexit\n");
        assert_eq!(
            steps.unwrap(),
            [
                Step::Take(0),
                Step::Ask(Intent::Do(Action::Purge)),
                Step::Run(1.5),
                Step::Ask(Intent::Turn(Tab::Sheet)),
                Step::Feet(SECOND, 2_500_000),
                Step::Shot("a".into()),
                Step::Exit,
            ]
        );
    }

    #[test]
    fn frames_are_counted_and_sorted() {
        let mut watch = Watch { name: "bay".into(), frames: Some(4), seconds: 0.0, took: vec![] };
        assert_eq!(watch.frame(0.010), None);
        assert_eq!(watch.frame(0.030), None);
        assert_eq!(watch.frame(0.020), None);
        let words = watch.frame(0.012).unwrap();
        assert_eq!(words, "bay: 4 frames, median 12.0 ms, 99th percentile 20.0 ms");
        let mut rest = Watch { name: "bay".into(), frames: None, seconds: 3.0, took: vec![] };
        assert_eq!(rest.frame(2.0), None);
        assert_eq!(rest.frame(2.0).unwrap(), "bay: at rest 2 frames in 4.0 s");
    }

    #[test]
    fn a_setting_is_tried_when_the_script_is_read() {
        assert_eq!(parse("set contrast on").unwrap(), [Step::Set("contrast".into(), "on".into())]);
        assert!(parse("set contrast perhaps").is_err());
        assert!(parse("set volume on").unwrap_err().contains("volume"));
        assert_eq!(parse("measure bay 600").unwrap(), [Step::Measure("bay".into(), 600)]);
    }

    #[test]
    fn a_wrong_line_is_named() {
        assert_eq!(parse("take 0\ndance").unwrap_err(), "line 2: \"dance\" isn't a step");
        assert!(parse("rule filter 2").is_err());
        assert!(parse("tab Nowhere").unwrap_err().contains("Nowhere"));
        assert!(parse("do {\"do\":\"fly\"}").is_err());
    }
}
