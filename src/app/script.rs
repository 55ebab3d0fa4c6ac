//! Scripted sessions: a list of steps, one a line, that open jobs, do things and take pictures.
//!
//! ```text
//! take 0                                  # open the first job of the shelf
//! do {"do":"key","to":"on"}               # an action, as in an attempt file
//! key V                                   # a shortcut
//! run 12.5                                # let so many seconds pass
//! tab Test sheet                          # turn the paper
//! feet 10 22.5                            # set the dividers, s
//! pace real                               # paused, real, tenfold
//! marked                                  # wait for the mark
//! frames 3                                # wait so many frames
//! shot idle                               # writes idle.png
//! write Slow on the hill                  # a blank page in the editor
//! copy bypass-puff                        # a copy of a job in the editor
//! section Hidden fault                    # of its form
//! pane What it shows                      # beside the form
//! put minutes 4000                        # a value at a place of the text
//! rested                                  # wait until the editor computes nothing
//! exit
//! ```

use super::bridge::Intent;
use super::desk::Desk;
use super::editor::start::Begin;
use super::editor::{Order, Pane, Section};
use super::state::{Pace, Tab};
use crate::authoring::draft::Page;
use crate::bay::action::{Action, Micros, SECOND};
use crate::bay::words::offer::Spot;
use crate::scenario::patch::Edit;

/// A step.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// Open a job of the shelf.
    Take(usize),
    /// An intent.
    Ask(Intent),
    /// Let simulated time pass, s.
    Run(f64),
    /// Set the dividers.
    Feet(Micros, Micros),
    /// What the form of the sheet holds: value as typed and verdict by its word.
    Fill(String, String),
    /// Begin to write a job.
    Write(Begin),
    /// What is asked of the editor.
    Order(Order),
    /// Wait until the editor computes nothing.
    Rested,
    /// Wait for the mark.
    Marked,
    /// Wait so many frames.
    Frames(u32),
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
        "theme" => Step::Ask(Intent::Theme),
        "keys" => Step::Ask(Intent::Keys),
        "joint" => Step::Ask(Intent::Touch(Spot::Joint(rest.to_owned()))),
        "touch" => Step::Ask(Intent::Touch(Spot::Part(rest.to_owned()))),
        "words" => Step::Ask(Intent::Twin),
        "class" => Step::Ask(Intent::Projector),
        "settings" => Step::Ask(Intent::Settings),
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
            Step::Order(Order::Edit(Page::Job, vec![Edit::set(place, value)]))
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

/// A script on its way.
pub struct Runner {
    steps: std::vec::IntoIter<Step>,
    wait: u32,
    marking: bool,
    resting: bool,
    shot: Option<String>,
}

/// What the shell has to do for a script.
#[derive(Clone, Debug, PartialEq)]
pub enum Wish {
    /// Nothing this frame.
    Nothing,
    /// A picture with this name.
    Shot(String),
    /// Close the window.
    Exit,
}

/// Frames that a view gets to settle before its picture.
const SETTLE: u32 = 6;

impl Runner {
    /// From the first step.
    pub fn new(steps: Vec<Step>) -> Self {
        Self { steps: steps.into_iter(), wait: SETTLE, marking: false, resting: false, shot: None }
    }

    /// One frame: carries out steps until something has to be waited for.
    pub fn frame(&mut self, desk: &mut Desk) -> Wish {
        if self.marking {
            self.marking = desk.is_marking();
            return Wish::Nothing;
        }
        if self.resting {
            self.resting = desk.is_writing();
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
                Step::Ask(intent) => desk.carry_out(vec![intent]),
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
    fn a_wrong_line_is_named() {
        assert_eq!(parse("take 0\ndance").unwrap_err(), "line 2: \"dance\" isn't a step");
        assert!(parse("tab Nowhere").unwrap_err().contains("Nowhere"));
        assert!(parse("do {\"do\":\"fly\"}").is_err());
    }
}
