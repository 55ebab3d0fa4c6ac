//! The table of words: reading, help and examples of each.

use std::collections::BTreeMap;

use super::cut::Line;
use super::{Group, Said, Unclear, View, Word, nearest, print, seen_words};
use crate::bay::action::{Action, Finding, Key, Prediction, Reading, State, Verdict};
use crate::units::PressureUnit;

/// Every word, in the order of the work.
pub static WORDS: &[Word] = &[
    Word {
        verb: "safe",
        syntax: "safe protection|ventilation|extinguisher|chocks|drip-tray|pressure-away",
        doc: "Takes a safety step. None of them costs marked minutes.",
        group: Group::Safe,
        example: "safe protection",
        read: |line| Ok(Said::Do(Action::MakeSafe { step: line.choice("a safety step", &print::STEPS)? })),
    },
    Word {
        verb: "ask",
        syntax: "ask QUESTION",
        doc: "Asks the customer one of the questions on the job card.",
        group: Group::Ask,
        example: "ask since-when",
        read: |line| Ok(Said::Do(Action::Ask { question: line.name("a question", &line.terms.questions)? })),
    },
    Word {
        verb: "look",
        syntax: "look PART",
        doc: "Looks at, feels and smells a part or a joint.",
        group: Group::Ask,
        example: "look filter",
        read: |line| Ok(Said::Do(Action::Look { part: line.name("a part", &line.terms.parts)? })),
    },
    Word {
        verb: "fit",
        syntax: "fit JOINT [old-seals]",
        doc: "Fits the test tee (glass, valve, gauge) at a joint, with new seals unless you say otherwise. \
              Moves it when it sits elsewhere.",
        group: Group::Tee,
        example: "fit pump-in",
        read: |line| {
            let joint = line.name("a joint", &line.terms.joints)?;
            Ok(Said::Do(Action::FitTee { joint, new_seals: !line.has("old-seals") }))
        },
    },
    Word {
        verb: "remove",
        syntax: "remove [old-seals]",
        doc: "Takes the tee out and remakes the joint, with new seals unless you say otherwise.",
        group: Group::Tee,
        example: "remove",
        read: |line| Ok(Said::Do(Action::RemoveTee { new_seals: !line.has("old-seals") })),
    },
    Word {
        verb: "purge",
        syntax: "purge",
        doc: "Lets the air out of the tee and its hose with the hand primer.",
        group: Group::Tee,
        example: "purge",
        read: |_| Ok(Said::Do(Action::Purge)),
    },
    Word {
        verb: "zero",
        syntax: "zero",
        doc: "Sets the gauge to zero with its hose open to the air, at the height of the tapping.",
        group: Group::Tee,
        example: "zero",
        read: |_| Ok(Said::Do(Action::Zero)),
    },
    Word {
        verb: "valve",
        syntax: "valve open|shut|SHARE",
        doc: "Moves the lever of the tee's valve: open, shut, or a share of the way such as 0.5.",
        group: Group::Tee,
        example: "valve 0.5",
        read: |line| {
            let open = if line.has("open") {
                1.0
            } else if line.has("shut") {
                0.0
            } else {
                line.number("open, shut or a share such as 0.5")?
            };
            Ok(Said::Do(Action::Valve { open }))
        },
    },
    Word {
        verb: "key",
        syntax: "key on|off",
        doc: "Turns the key. Off stops a running engine.",
        group: Group::Engine,
        example: "key on",
        read: |line| {
            Ok(Said::Do(Action::Key {
                to: line.choice("where to turn it", &[("on", Key::On), ("off", Key::Off)])?,
            }))
        },
    },
    Word {
        verb: "crank",
        syntax: "crank SECONDS",
        doc: "Turns the starter, for so long or until the engine runs.",
        group: Group::Engine,
        example: "crank 8",
        read: |line| Ok(Said::Do(Action::Crank { secs: line.seconds("how long at most, such as 8")? })),
    },
    Word {
        verb: "idle",
        syntax: "idle",
        doc: "Lets the engine idle.",
        group: Group::Engine,
        example: "idle",
        read: |line| Ok(Said::Do(Action::Speed { rpm: line.terms.speeds.map_or(0.0, |(idle, _)| idle) })),
    },
    Word {
        verb: "speed",
        syntax: "speed RPM|idle|raised",
        doc: "Holds the engine at a speed in turns a minute; “raised” is the test speed of the card.",
        group: Group::Engine,
        example: "speed 2500",
        read: |line| {
            let expected = "a speed in turns a minute, such as 2500";
            let rpm = match line.terms.speeds {
                Some((idle, raised)) => {
                    if line.has("idle") {
                        idle
                    } else if line.has("raised") {
                        raised
                    } else {
                        line.number(expected)?
                    }
                }
                None => line.number(expected)?,
            };
            Ok(Said::Do(Action::Speed { rpm }))
        },
    },
    Word {
        verb: "cap",
        syntax: "cap open|shut",
        doc: "Opens or shuts the filler cap; listen when it opens.",
        group: Group::Isolate,
        example: "cap open",
        read: |line| {
            let open = line.choice("how to leave it", &[("open", true), ("shut", false)])?;
            Ok(Said::Do(Action::Cap { open }))
        },
    },
    Word {
        verb: "container",
        syntax: "container JOINT|back",
        doc: "Feeds the engine from an external container at a joint; “back” goes back to the tank.",
        group: Group::Isolate,
        example: "container \"filter in\"",
        read: |line| {
            let joint =
                if line.has("back") { None } else { Some(line.name("a joint or “back”", &line.terms.joints)?) };
            Ok(Said::Do(Action::Container { joint }))
        },
    },
    Word {
        verb: "prime",
        syntax: "prime STROKES",
        doc: "Works the hand primer so many strokes and feels how hard it gets.",
        group: Group::Isolate,
        example: "prime 12",
        read: |line| Ok(Said::Do(Action::Prime { strokes: line.whole("a number of strokes, such as 12")? })),
    },
    Word {
        verb: "wait",
        syntax: "wait SECONDS | wait N min | wait N h",
        doc: "Lets time pass.",
        group: Group::Time,
        example: "wait 2min",
        read: |line| Ok(Said::Do(Action::Wait { secs: line.seconds("how long, such as 60 or 2min")? })),
    },
    Word {
        verb: "record",
        syntax: "record STATE VALUE [UNIT] VERDICT [from \"SOURCE\"] [window -SECONDS | FROM..TO] [remark \"WORDS\" | # WORDS]",
        doc: "Writes a line in the test sheet. The states are rest, crank, idle, raised, dead-head and hold; the \
              verdicts within, outside, not-proven and invalid. Depression is negative. Without a window the \
              last second is meant.",
        group: Group::Sheet,
        example: "record idle -95 mbar within from \"vehicle card\" window -3s",
        read: |line| Ok(Said::Do(Action::Record { reading: read_reading(line)? })),
    },
    Word {
        verb: "amend",
        syntax: "amend LINE STATE VALUE [UNIT] VERDICT [from \"SOURCE\"] [window …] [remark \"WORDS\" | # WORDS]",
        doc: "Corrects a line of the test sheet from the stored trace.",
        group: Group::Sheet,
        example: "amend 2 idle -95 mbar within",
        read: |line| {
            let number = line.whole("the number of a line of the sheet, such as 2")?;
            Ok(Said::Do(Action::Amend { line: number, reading: read_reading(line)? }))
        },
    },
    Word {
        verb: "note",
        syntax: "note glass|primer|cap|engine WORD",
        doc: "Writes down something perceived: glass clear, mist, bubbles, foam, slugs or empty; primer firm, \
              soft or slack; cap silent or hiss; engine off, cranking, steady, uneven or stalled.",
        group: Group::Sheet,
        example: "note glass clear",
        read: |line| {
            let what = line.choice("what was perceived", &print::PERCEIVED)?;
            if let Some(seen) = line.quoted() {
                return Ok(Said::Do(Action::Note { what, seen }));
            }
            let choices: Vec<(&str, &str)> = seen_words(what).into_iter().map(|word| (word, word)).collect();
            let seen = line.choice("how it was", &choices)?.to_owned();
            Ok(Said::Do(Action::Note { what, seen }))
        },
    },
    Word {
        verb: "predict",
        syntax: "predict STATE LOW..HIGH [UNIT] [if CANDIDATE]",
        doc: "Says beforehand what a test will show, as you expect it or as it would be under one candidate.",
        group: Group::Conclude,
        example: "predict idle -150..-40 mbar if plugged-filter",
        read: |line| {
            let state = read_state(line)?;
            let (low, high) = line.band()?;
            let (low_mbar, high_mbar) = match line.unit() {
                None | Some(PressureUnit::Mbar) => (low, high),
                Some(unit) => (low * unit.pascal() / 100.0, high * unit.pascal() / 100.0),
            };
            let candidate =
                if line.has("if") { Some(line.name("a candidate", &line.terms.candidates)?) } else { None };
            Ok(Said::Do(Action::Predict { prediction: Prediction { state, candidate, low_mbar, high_mbar } }))
        },
    },
    Word {
        verb: "believe",
        syntax: "believe CANDIDATE POINTS [CANDIDATE POINTS …]",
        doc: "Shares 100 points over the candidates. Those you leave out get none.",
        group: Group::Conclude,
        example: "believe plugged-filter 70 air 30",
        read: |line| {
            let mut points = BTreeMap::new();
            let mut sum = 0_u32;
            while line.more() {
                let candidate = line.name("a candidate", &line.terms.candidates)?;
                let share: u8 = line.whole("points from 0 to 100")?;
                sum += u32::from(share);
                if points.insert(candidate.clone(), share).is_some() {
                    return Err(Unclear::new(1, "each candidate once", &format!("“{candidate}” twice")));
                }
            }
            if sum != 100 {
                return Err(Unclear::new(1, "points that make 100 together", &format!("{sum}")));
            }
            Ok(Said::Do(Action::Believe { points }))
        },
    },
    Word {
        verb: "submit",
        syntax: "submit CANDIDATE CONFIDENCE [because LINE LINE …] [\"WORDS\"]",
        doc: "Submits the finding: the candidate, how sure you are (50 to 99 in 100), the lines of the sheet that \
              carry it, and the finding in your own words.",
        group: Group::Conclude,
        example: "submit plugged-filter 85 because 3 5 \"Suction at idle is far out; clear after the filter was bypassed.\"",
        read: |line| {
            let candidate = line.name("a candidate", &line.terms.candidates)?;
            let confidence = line.whole("how sure, from 50 to 99")?;
            let mut evidence = Vec::new();
            if line.has("because") {
                evidence.push(line.whole("the number of a line of the sheet, such as 3")?);
                while let Some(number) = line.maybe_whole() {
                    evidence.push(number);
                }
            }
            let words = line.quoted().unwrap_or_default();
            Ok(Said::Do(Action::Submit { finding: Finding { candidate, confidence, evidence, words } }))
        },
    },
    Word {
        verb: "repair",
        syntax: "repair PART replace|clean|reseal",
        doc: "Puts a part right: a new one, cleaned, or its joints remade with new seals.",
        group: Group::PutRight,
        example: "repair filter replace",
        read: |line| {
            let part = line.name("a part", &line.terms.parts)?;
            Ok(Said::Do(Action::Repair { part, remedy: line.choice("how", &print::REMEDIES)? }))
        },
    },
    Word {
        verb: "bleed",
        syntax: "bleed",
        doc: "Fills and bleeds the line by the plant's method.",
        group: Group::PutRight,
        example: "bleed",
        read: |_| Ok(Said::Do(Action::Bleed)),
    },
    Word {
        verb: "leakcheck",
        syntax: "leakcheck",
        doc: "Checks every disturbed joint, dry and under way.",
        group: Group::PutRight,
        example: "leakcheck",
        read: |_| Ok(Said::Do(Action::LeakCheck)),
    },
    Word {
        verb: "handback",
        syntax: "handback",
        doc: "Gives the vehicle back. Ends the sitting.",
        group: Group::PutRight,
        example: "handback",
        read: |_| Ok(Said::Do(Action::HandBack)),
    },
    Word {
        verb: "status",
        syntax: "status",
        doc: "Says what can be perceived now: time, engine, gauge, glass, cautions.",
        group: Group::Show,
        example: "status",
        read: |_| Ok(Said::Show(View::Status)),
    },
    Word {
        verb: "trace",
        syntax: "trace",
        doc: "Says what the gauge showed during the last half minute.",
        group: Group::Show,
        example: "trace",
        read: |_| Ok(Said::Show(View::Trace)),
    },
    Word {
        verb: "card",
        syntax: "card",
        doc: "Reads the job card and the vehicle card: complaint, questions, joints, limits, candidates.",
        group: Group::Show,
        example: "card",
        read: |_| Ok(Said::Show(View::Card)),
    },
    Word {
        verb: "sheet",
        syntax: "sheet",
        doc: "Reads the test sheet.",
        group: Group::Show,
        example: "sheet",
        read: |_| Ok(Said::Show(View::Sheet)),
    },
    Word {
        verb: "help",
        syntax: "help [WORD]",
        doc: "Lists the words, or explains one.",
        group: Group::Show,
        example: "help record",
        read: |line| Ok(Said::Show(View::Help(line.next().map(|piece| piece.text)))),
    },
    Word {
        verb: "quit",
        syntax: "quit",
        doc: "Leaves. The record keeps what was done, and the sitting can be resumed.",
        group: Group::Show,
        example: "quit",
        read: |_| Ok(Said::Show(View::Quit)),
    },
];

fn read_state(line: &mut Line) -> Result<State, Unclear> {
    line.choice("a state", &State::ALL.map(|state| (state.word(), state)))
}

fn read_reading(line: &mut Line) -> Result<Reading, Unclear> {
    const VERDICTS: [(&str, Verdict); 4] = [
        ("within", Verdict::Within),
        ("outside", Verdict::Outside),
        ("not-proven", Verdict::NotProven),
        ("invalid", Verdict::Invalid),
    ];
    let state = read_state(line)?;
    let (value, unit) = line.pressure()?;
    let verdict = line.choice("a verdict", &VERDICTS).map_err(|mut unclear| {
        if unit.is_none() && unclear.nearest.is_none() {
            // perhaps a slip in the unit
            let found = unclear.found.trim_matches(['“', '”']).to_owned();
            unclear.nearest = nearest(&found, PressureUnit::ALL.map(PressureUnit::symbol)).map(str::to_owned);
        }
        unclear
    })?;
    let mut reading =
        Reading { state, value, unit, verdict, source: String::new(), window: None, remark: String::new() };
    while line.more() {
        if line.has("from") {
            reading.source = line.text("where the limit comes from, in quotes")?;
        } else if line.has("window") {
            reading.window = Some(line.window()?);
        } else if line.has("remark") {
            reading.remark = line.text("the remark, in quotes")?;
        } else {
            let piece = line.word("")?;
            let words = ["from", "window", "remark"];
            return Err(Unclear::at(&piece, "“from”, “window” or “remark”").near(nearest(&piece.text, words)));
        }
    }
    if reading.remark.is_empty() {
        reading.remark = line.remark.take().unwrap_or_default();
    }
    Ok(reading)
}
