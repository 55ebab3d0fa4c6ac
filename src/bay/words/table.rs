//! The table of words: reading, help and examples of each.

use std::collections::BTreeMap;

use super::cut::Line;
use super::{Group, Said, Unclear, View, Word, nearest, print, seen_words};
use crate::bay::action::{Action, Finding, Key, Prediction, Probe, Quantity, Reading, RuledOut, State, TestEntry};
use crate::msg;
use crate::units::PressureUnit;

/// Every word, in the order of the work.
pub static WORDS: &[Word] = &[
    Word {
        verb: "safe",
        syntax: "safe protection|ventilation|extinguisher|chocks|drip-tray|pressure-away",
        doc: msg!("bay-doc-safe"),
        group: Group::Safe,
        example: "safe protection",
        read: |line| Ok(Said::Do(Action::MakeSafe { step: line.choice("a safety step", &print::STEPS)? })),
    },
    Word {
        verb: "ask",
        syntax: "ask QUESTION",
        doc: msg!("bay-doc-ask"),
        group: Group::Ask,
        example: "ask since-when",
        read: |line| Ok(Said::Do(Action::Ask { question: line.name("a question", &line.terms.questions)? })),
    },
    Word {
        verb: "look",
        syntax: "look PART",
        doc: msg!("bay-doc-look"),
        group: Group::Ask,
        example: "look filter",
        read: |line| Ok(Said::Do(Action::Look { part: line.name("a part", &line.terms.parts)? })),
    },
    Word {
        verb: "fit",
        syntax: "fit JOINT [old-seals]",
        doc: msg!("bay-doc-fit"),
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
        doc: msg!("bay-doc-remove"),
        group: Group::Tee,
        example: "remove",
        read: |line| Ok(Said::Do(Action::RemoveTee { new_seals: !line.has("old-seals") })),
    },
    Word {
        verb: "purge",
        syntax: "purge",
        doc: msg!("bay-doc-purge"),
        group: Group::Tee,
        example: "purge",
        read: |_| Ok(Said::Do(Action::Purge)),
    },
    Word {
        verb: "zero",
        syntax: "zero",
        doc: msg!("bay-doc-zero"),
        group: Group::Tee,
        example: "zero",
        read: |_| Ok(Said::Do(Action::Zero)),
    },
    Word {
        verb: "valve",
        syntax: "valve open|shut|SHARE",
        doc: msg!("bay-doc-valve"),
        group: Group::Tee,
        example: "valve 0.5",
        read: |line| Ok(Said::Do(Action::Valve { open: line.lever()? })),
    },
    Word {
        verb: "range",
        syntax: "range suction|pressure|absolute",
        doc: msg!("bay-doc-range"),
        group: Group::Tee,
        example: "range pressure",
        read: |line| Ok(Said::Do(Action::Range { range: line.choice("a range", &print::RANGES)? })),
    },
    Word {
        verb: "second",
        syntax: "second JOINT|off",
        doc: msg!("bay-doc-second"),
        group: Group::Tee,
        example: "second \"filter in\"",
        read: |line| Ok(Said::Do(Action::SecondGauge { joint: joint_or_off(line)? })),
    },
    Word {
        verb: "key",
        syntax: "key on|off",
        doc: msg!("bay-doc-key"),
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
        doc: msg!("bay-doc-crank"),
        group: Group::Engine,
        example: "crank 8",
        read: |line| Ok(Said::Do(Action::Crank { secs: line.seconds("how long at most, such as 8")? })),
    },
    Word {
        verb: "idle",
        syntax: "idle",
        doc: msg!("bay-doc-idle"),
        group: Group::Engine,
        example: "idle",
        read: |line| Ok(Said::Do(Action::Speed { rpm: line.terms.speeds.map_or(0.0, |(idle, _)| idle) })),
    },
    Word {
        verb: "speed",
        syntax: "speed RPM|idle|raised",
        doc: msg!("bay-doc-speed"),
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
        verb: "load",
        syntax: "load SHARE",
        doc: msg!("bay-doc-load"),
        group: Group::Engine,
        example: "load 0.8",
        read: |line| Ok(Said::Do(Action::Load { share: line.number("a share from 0 to 1")? })),
    },
    Word {
        verb: "snap",
        syntax: "snap",
        doc: msg!("bay-doc-snap"),
        group: Group::Engine,
        example: "snap",
        read: |_| Ok(Said::Do(Action::Snap)),
    },
    Word {
        verb: "tap",
        syntax: "tap VALVE open|shut|SHARE",
        doc: msg!("bay-doc-tap"),
        group: Group::Engine,
        example: "tap \"fuel tap\" shut",
        read: |line| {
            let part = line.name("a shut-off valve", &line.terms.parts)?;
            Ok(Said::Do(Action::Tap { part, open: line.lever()? }))
        },
    },
    Word {
        verb: "tilt",
        syntax: "tilt DEGREES",
        doc: msg!("bay-doc-tilt"),
        group: Group::Engine,
        example: "tilt 10",
        read: |line| Ok(Said::Do(Action::Tilt { degrees: line.number("degrees, such as 10")? })),
    },
    Word {
        verb: "sample",
        syntax: "sample",
        doc: msg!("bay-doc-sample"),
        group: Group::Ask,
        example: "sample",
        read: |_| Ok(Said::Do(Action::Sample)),
    },
    Word {
        verb: "codes",
        syntax: "codes",
        doc: msg!("bay-doc-codes"),
        group: Group::Ask,
        example: "codes",
        read: |_| Ok(Said::Do(Action::Codes)),
    },
    Word {
        verb: "listen",
        syntax: "listen PUMP",
        doc: msg!("bay-doc-listen"),
        group: Group::Ask,
        example: "listen pump",
        read: |line| Ok(Said::Do(Action::Listen { part: line.name("a pump", &line.terms.parts)? })),
    },
    Word {
        verb: "battery",
        syntax: "battery",
        doc: msg!("bay-doc-battery"),
        group: Group::Ask,
        example: "battery",
        read: |_| Ok(Said::Do(Action::Battery)),
    },
    Word {
        verb: "volts",
        syntax: "volts POINT POINT",
        doc: msg!("bay-doc-volts"),
        group: Group::Isolate,
        example: "volts \"battery +\" \"pump +\"",
        read: |line| {
            let from = line.name("a point of the circuit", &line.terms.points)?;
            let to = line.name("a point of the circuit", &line.terms.points)?;
            Ok(Said::Do(Action::Measure { probe: Probe::Volts { from, to } }))
        },
    },
    Word {
        verb: "clamp",
        syntax: "clamp PART",
        doc: msg!("bay-doc-clamp"),
        group: Group::Isolate,
        example: "clamp pump",
        read: |line| {
            let part = line.name("a part", &line.terms.parts)?;
            Ok(Said::Do(Action::Measure { probe: Probe::Clamp { part } }))
        },
    },
    Word {
        verb: "clampzero",
        syntax: "clampzero [large]",
        doc: msg!("bay-doc-clampzero"),
        group: Group::Isolate,
        example: "clampzero",
        read: |line| Ok(Said::Do(Action::ZeroClamp { large: line.has("large") })),
    },
    Word {
        verb: "capture",
        syntax: "capture PUMP [start]",
        doc: msg!("bay-doc-capture"),
        group: Group::Isolate,
        example: "capture pump start",
        read: |line| {
            let part = line.name("a pump", &line.terms.parts)?;
            Ok(Said::Do(Action::Capture { part, start: line.has("start") }))
        },
    },
    Word {
        verb: "thermometer",
        syntax: "thermometer PLACE",
        doc: msg!("bay-doc-thermometer"),
        group: Group::Isolate,
        example: "thermometer filter",
        read: |line| {
            let place = line.name("a part or joint", &line.terms.parts)?;
            Ok(Said::Do(Action::Measure { probe: Probe::Thermometer { place } }))
        },
    },
    Word {
        verb: "read",
        syntax: "read second|jar|dip|sensor|effort|battery|revs|mean|peak|swing|uneven",
        doc: msg!("bay-doc-read"),
        group: Group::Isolate,
        example: "read second",
        read: |line| {
            let words = print::READ.each_ref().map(|(word, _)| (*word, *word));
            let word = line.choice("what to read", &words)?;
            let probe = print::READ.into_iter().find(|(w, _)| *w == word).map_or(Probe::Second, |(_, probe)| probe);
            Ok(Said::Do(Action::Measure { probe }))
        },
    },
    Word {
        verb: "bridge",
        syntax: "bridge PUMP on|off",
        doc: msg!("bay-doc-bridge"),
        group: Group::Isolate,
        example: "bridge pump on",
        read: |line| {
            let part = line.name("a pump", &line.terms.parts)?;
            Ok(Said::Do(Action::Bridge { part, on: on_or_off(line)? }))
        },
    },
    Word {
        verb: "pinch",
        syntax: "pinch HOSE on|off",
        doc: msg!("bay-doc-pinch"),
        group: Group::Isolate,
        example: "pinch hose on",
        read: |line| {
            let part = line.name("a hose", &line.terms.parts)?;
            Ok(Said::Do(Action::Pinch { part, on: on_or_off(line)? }))
        },
    },
    Word {
        verb: "plug",
        syntax: "plug JOINT|off",
        doc: msg!("bay-doc-plug"),
        group: Group::Isolate,
        example: "plug pump-in",
        read: |line| Ok(Said::Do(Action::Blank { joint: joint_or_off(line)? })),
    },
    Word {
        verb: "deliver",
        syntax: "deliver JOINT SECONDS [free]",
        doc: msg!("bay-doc-deliver"),
        group: Group::Isolate,
        example: "deliver pump-out 30",
        read: |line| {
            let joint = line.name("a joint", &line.terms.joints)?;
            let secs = line.seconds("how long, such as 30")?;
            Ok(Said::Do(Action::Deliver { joint, secs, throttled: !line.has("free") }))
        },
    },
    Word {
        verb: "returnflow",
        syntax: "returnflow SECONDS",
        doc: msg!("bay-doc-returnflow"),
        group: Group::Isolate,
        example: "returnflow 30",
        read: |line| Ok(Said::Do(Action::ReturnFlow { secs: line.seconds("how long, such as 30")? })),
    },
    Word {
        verb: "drawdown",
        syntax: "drawdown",
        doc: msg!("bay-doc-drawdown"),
        group: Group::Isolate,
        example: "drawdown",
        read: |_| Ok(Said::Do(Action::VacuumTest)),
    },
    Word {
        verb: "airtest",
        syntax: "airtest",
        doc: msg!("bay-doc-airtest"),
        group: Group::Isolate,
        example: "airtest",
        read: |_| Ok(Said::Do(Action::AirTest)),
    },
    Word {
        verb: "warm",
        syntax: "warm PLACE",
        doc: msg!("bay-doc-warm"),
        group: Group::Isolate,
        example: "warm filter",
        read: |line| Ok(Said::Do(Action::Treat { place: read_place(line)?, warm: true })),
    },
    Word {
        verb: "cool",
        syntax: "cool PLACE",
        doc: msg!("bay-doc-cool"),
        group: Group::Isolate,
        example: "cool filter",
        read: |line| Ok(Said::Do(Action::Treat { place: read_place(line)?, warm: false })),
    },
    Word {
        verb: "wiggle",
        syntax: "wiggle PLACE",
        doc: msg!("bay-doc-wiggle"),
        group: Group::Isolate,
        example: "wiggle filter",
        read: |line| Ok(Said::Do(Action::Wiggle { place: read_place(line)? })),
    },
    Word {
        verb: "cap",
        syntax: "cap open|shut",
        doc: msg!("bay-doc-cap"),
        group: Group::Isolate,
        example: "cap open",
        read: |line| {
            let open = line.choice("how to leave it", &[("open", true), ("shut", false)])?;
            Ok(Said::Do(Action::Cap { open }))
        },
    },
    Word {
        verb: "refuel",
        syntax: "refuel LITRES",
        doc: msg!("bay-doc-refuel"),
        group: Group::Isolate,
        example: "refuel 10",
        read: |line| Ok(Said::Do(Action::Refuel { litres: line.number("litres, such as 10")? })),
    },
    Word {
        verb: "container",
        syntax: "container JOINT|back",
        doc: msg!("bay-doc-container"),
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
        doc: msg!("bay-doc-prime"),
        group: Group::Isolate,
        example: "prime 12",
        read: |line| Ok(Said::Do(Action::Prime { strokes: line.whole("a number of strokes, such as 12")? })),
    },
    Word {
        verb: "wait",
        syntax: "wait SECONDS | wait N min | wait N h",
        doc: msg!("bay-doc-wait"),
        group: Group::Time,
        example: "wait 2min",
        read: |line| Ok(Said::Do(Action::Wait { secs: line.seconds("how long, such as 60 or 2min")? })),
    },
    Word {
        verb: "record",
        syntax: "record STATE|QUANTITY VALUE [UNIT] VERDICT [from \"SOURCE\"] [window -SECONDS | FROM..TO] [remark \"WORDS\" | # WORDS]",
        doc: msg!("bay-doc-record"),
        group: Group::Sheet,
        example: "record idle -95 mbar within from \"vehicle card\" window -3s",
        read: |line| match line.quantity() {
            Some(quantity) => Ok(Said::Do(Action::RecordTest { entry: read_entry(line, quantity)? })),
            None => Ok(Said::Do(Action::Record { reading: read_reading(line)? })),
        },
    },
    Word {
        verb: "amend",
        syntax: "amend LINE STATE VALUE [UNIT] VERDICT [from \"SOURCE\"] [window …] [remark \"WORDS\" | # WORDS]",
        doc: msg!("bay-doc-amend"),
        group: Group::Sheet,
        example: "amend 2 idle -95 mbar within",
        read: |line| {
            let number = line.whole("the number of a line of the sheet, such as 2")?;
            Ok(Said::Do(Action::Amend { line: number, reading: read_reading(line)? }))
        },
    },
    Word {
        verb: "note",
        syntax: "note glass|primer|cap|engine|sample|pump WORD",
        doc: msg!("bay-doc-note"),
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
        doc: msg!("bay-doc-predict"),
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
        doc: msg!("bay-doc-believe"),
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
        verb: "hint",
        syntax: "hint 1|2|3",
        doc: msg!("bay-doc-hint"),
        group: Group::Conclude,
        example: "hint 1",
        read: |line| Ok(Said::Do(Action::Hint { level: line.whole("a level: 1, 2 or 3")? })),
    },
    Word {
        verb: "submit",
        syntax: "submit CANDIDATE CONFIDENCE [because LINE LINE …] [not CANDIDATE LINE LINE …] … [\"WORDS\"]",
        doc: msg!("bay-doc-submit"),
        group: Group::Conclude,
        example: "submit plugged-filter 85 because 3 5 not worn-pump 6 \"Suction at idle is far out; clear after the filter was bypassed.\"",
        read: |line| {
            let candidate = line.name("a candidate", &line.terms.candidates)?;
            let confidence = line.whole("how sure, from 50 to 99")?;
            let evidence = if line.has("because") { line.lines()? } else { vec![] };
            let mut ruled_out = vec![];
            while line.has("not") {
                let candidate = line.name("the candidate that is ruled out", &line.terms.candidates)?;
                ruled_out.push(RuledOut { candidate, lines: line.lines()? });
            }
            let words = line.quoted().unwrap_or_default();
            Ok(Said::Do(Action::Submit { finding: Finding { candidate, confidence, evidence, ruled_out, words } }))
        },
    },
    Word {
        verb: "repair",
        syntax: "repair PART replace|clean|reseal",
        doc: msg!("bay-doc-repair"),
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
        doc: msg!("bay-doc-bleed"),
        group: Group::PutRight,
        example: "bleed",
        read: |_| Ok(Said::Do(Action::Bleed)),
    },
    Word {
        verb: "leakcheck",
        syntax: "leakcheck",
        doc: msg!("bay-doc-leakcheck"),
        group: Group::PutRight,
        example: "leakcheck",
        read: |_| Ok(Said::Do(Action::LeakCheck)),
    },
    Word {
        verb: "handback",
        syntax: "handback",
        doc: msg!("bay-doc-handback"),
        group: Group::PutRight,
        example: "handback",
        read: |_| Ok(Said::Do(Action::HandBack)),
    },
    Word {
        verb: "status",
        syntax: "status",
        doc: msg!("bay-doc-status"),
        group: Group::Show,
        example: "status",
        read: |_| Ok(Said::Show(View::Status)),
    },
    Word {
        verb: "trace",
        syntax: "trace",
        doc: msg!("bay-doc-trace"),
        group: Group::Show,
        example: "trace",
        read: |_| Ok(Said::Show(View::Trace)),
    },
    Word {
        verb: "card",
        syntax: "card",
        doc: msg!("bay-doc-card"),
        group: Group::Show,
        example: "card",
        read: |_| Ok(Said::Show(View::Card)),
    },
    Word {
        verb: "sheet",
        syntax: "sheet",
        doc: msg!("bay-doc-sheet"),
        group: Group::Show,
        example: "sheet",
        read: |_| Ok(Said::Show(View::Sheet)),
    },
    Word {
        verb: "help",
        syntax: "help [WORD]",
        doc: msg!("bay-doc-help"),
        group: Group::Show,
        example: "help record",
        read: |line| Ok(Said::Show(View::Help(line.next().map(|piece| piece.text)))),
    },
    Word {
        verb: "quit",
        syntax: "quit",
        doc: msg!("bay-doc-quit"),
        group: Group::Show,
        example: "quit",
        read: |_| Ok(Said::Show(View::Quit)),
    },
];

fn on_or_off(line: &mut Line) -> Result<bool, Unclear> {
    line.choice("on or off", &[("on", true), ("off", false)])
}

fn joint_or_off(line: &mut Line) -> Result<Option<String>, Unclear> {
    if line.has("off") { Ok(None) } else { line.name("a joint or “off”", &line.terms.joints).map(Some) }
}

fn read_place(line: &mut Line) -> Result<String, Unclear> {
    line.name("a part or joint", &line.terms.parts)
}

fn read_entry(line: &mut Line, quantity: Quantity) -> Result<TestEntry, Unclear> {
    let (value, unit) = line.measured(quantity)?;
    let verdict = line.choice("a verdict", &print::VERDICTS)?;
    let mut entry = TestEntry { quantity, value, unit, verdict, source: String::new(), remark: String::new() };
    while line.more() {
        if line.has("from") {
            entry.source = line.text("where the limit comes from, in quotes")?;
        } else if line.has("remark") {
            entry.remark = line.text("the remark, in quotes")?;
        } else {
            let piece = line.word("")?;
            return Err(Unclear::at(&piece, "“from” or “remark”").near(nearest(&piece.text, ["from", "remark"])));
        }
    }
    if entry.remark.is_empty() {
        entry.remark = line.remark.take().unwrap_or_default();
    }
    Ok(entry)
}

fn read_state(line: &mut Line) -> Result<State, Unclear> {
    line.choice("a state", &State::ALL.map(|state| (state.word(), state)))
}

fn read_reading(line: &mut Line) -> Result<Reading, Unclear> {
    let state = read_state(line)?;
    let (value, unit) = line.pressure()?;
    let verdict = line.choice("a verdict", &print::VERDICTS).map_err(|mut unclear| {
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
