//! The table of words: reading, help and examples of each.

use std::collections::BTreeMap;

use super::cut::Line;
use super::{Group, Said, Unclear, View, Word, nearest, print, seen_words};
use crate::bay::action::{Action, Finding, Key, Prediction, Probe, Quantity, Reading, RuledOut, State, TestEntry};
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
        doc: "Looks at, feels and smells a part or a joint; or one's own \"tee\" or \"container\", and puts right what is \
              seen there.",
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
        read: |line| Ok(Said::Do(Action::Valve { open: line.lever()? })),
    },
    Word {
        verb: "range",
        syntax: "range suction|pressure|absolute",
        doc: "Changes the transducer: suction for \u{2212}1 to +3 bar, pressure for 0 to 10 bar, absolute for 0 to 4 bar \
              against vacuum. Each wants zeroing.",
        group: Group::Tee,
        example: "range pressure",
        read: |line| Ok(Said::Do(Action::Range { range: line.choice("a range", &print::RANGES)? })),
    },
    Word {
        verb: "second",
        syntax: "second JOINT|off",
        doc: "Fits a second transducer at a joint, for the drop between two places or the pressure in the return; \
              “read second” reads it.",
        group: Group::Tee,
        example: "second \"filter in\"",
        read: |line| Ok(Said::Do(Action::SecondGauge { joint: joint_or_off(line)? })),
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
        verb: "load",
        syntax: "load SHARE",
        doc: "Loads the engine at the speed at which it is held, from 0 to 1.",
        group: Group::Engine,
        example: "load 0.8",
        read: |line| Ok(Said::Do(Action::Load { share: line.number("a share from 0 to 1")? })),
    },
    Word {
        verb: "snap",
        syntax: "snap",
        doc: "Floors the throttle for two seconds and lets go; listen whether it picks up.",
        group: Group::Engine,
        example: "snap",
        read: |_| Ok(Said::Do(Action::Snap)),
    },
    Word {
        verb: "tap",
        syntax: "tap VALVE open|shut|SHARE",
        doc: "Moves the lever of one of the vehicle's own shut-off valves.",
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
        doc: "Stands the vehicle on a slope, nose up, or down with a negative number; 0 is level again.",
        group: Group::Engine,
        example: "tilt 10",
        read: |line| Ok(Said::Do(Action::Tilt { degrees: line.number("degrees, such as 10")? })),
    },
    Word {
        verb: "sample",
        syntax: "sample",
        doc: "Dips the tank and draws a sample from its bottom into a clear jar.",
        group: Group::Ask,
        example: "sample",
        read: |_| Ok(Said::Do(Action::Sample)),
    },
    Word {
        verb: "codes",
        syntax: "codes",
        doc: "Reads stored trouble codes and what the vehicle's own sensor in the supply reports.",
        group: Group::Ask,
        example: "codes",
        read: |_| Ok(Said::Do(Action::Codes)),
    },
    Word {
        verb: "listen",
        syntax: "listen PUMP",
        doc: "Listens to and feels an electric pump, its fuse and its relay, as the key is turned or with the engine \
              running.",
        group: Group::Ask,
        example: "listen pump",
        read: |line| Ok(Said::Do(Action::Listen { part: line.name("a pump", &line.terms.parts)? })),
    },
    Word {
        verb: "battery",
        syntax: "battery",
        doc: "Reads the battery at rest and under the starter, and how fast that turns the engine; its fuel is held \
              back.",
        group: Group::Ask,
        example: "battery",
        read: |_| Ok(Said::Do(Action::Battery)),
    },
    Word {
        verb: "volts",
        syntax: "volts POINT POINT",
        doc: "Voltage between two points of the pump's circuit, live: red lead first. A bad joint shows only with \
              current.",
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
        syntax: "clamp PUMP",
        doc: "Current of an electric pump, by a clamp round its lead; the clamp stays there.",
        group: Group::Isolate,
        example: "clamp pump",
        read: |line| {
            let part = line.name("a pump", &line.terms.parts)?;
            Ok(Said::Do(Action::Measure { probe: Probe::Clamp { part } }))
        },
    },
    Word {
        verb: "clampzero",
        syntax: "clampzero [large]",
        doc: "Takes the clamp in hand, in its 20 A range or the large one of 200 A, and sets it to zero with empty jaws.",
        group: Group::Isolate,
        example: "clampzero",
        read: |line| Ok(Said::Do(Action::ZeroClamp { large: line.has("large") })),
    },
    Word {
        verb: "capture",
        syntax: "capture PUMP [start]",
        doc: "Records a pump's current fast, as it runs or from the turn of the key: mean, peak, swing, evenness.",
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
        doc: "Temperature at a part or joint, by a contact thermometer.",
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
        doc: "Reads what is connected or at hand: the second transducer, the measuring jar, the dip stick, the \
              vehicle's own pressure sensor and the effort of its control, the battery, the rev counter; mean, peak, \
              swing and unevenness of the last fast record.",
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
        doc: "Feeds an electric pump through a fused test lead past its relay, or takes the lead off.",
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
        doc: "Closes a soft hose with smooth jaws, or opens it again. Never plastic, braided or high-pressure lines.",
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
        doc: "Plugs the way on from a joint, or joins it again. Don't forget the plug.",
        group: Group::Isolate,
        example: "plug pump-in",
        read: |line| Ok(Said::Do(Action::Blank { joint: joint_or_off(line)? })),
    },
    Word {
        verb: "deliver",
        syntax: "deliver JOINT SECONDS [free]",
        doc: "Lets a joint deliver into a measuring jar for so long with the pump at work, through a throttle that \
              keeps about working pressure, or freely.",
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
        doc: "Leads the return into a measuring jar for so long while the engine runs.",
        group: Group::Isolate,
        example: "returnflow 30",
        read: |line| Ok(Said::Do(Action::ReturnFlow { secs: line.seconds("how long, such as 30")? })),
    },
    Word {
        verb: "drawdown",
        syntax: "drawdown",
        doc: "Draws the section behind the tee's shut valve down to \u{2212}600 mbar by a hand pump and watches it for \
              five minutes. Diesel only.",
        group: Group::Isolate,
        example: "drawdown",
        read: |_| Ok(Said::Do(Action::VacuumTest)),
    },
    Word {
        verb: "airtest",
        syntax: "airtest",
        doc: "Puts 0.3 bar of air on the section behind the tee's shut valve and goes over its joints with soapy \
              water. Diesel only, and only where the centre has switched it on.",
        group: Group::Isolate,
        example: "airtest",
        read: |_| Ok(Said::Do(Action::AirTest)),
    },
    Word {
        verb: "warm",
        syntax: "warm PLACE",
        doc: "Warms a part for five minutes with warm air; never with a flame.",
        group: Group::Isolate,
        example: "warm filter",
        read: |line| Ok(Said::Do(Action::Treat { place: read_place(line)?, warm: true })),
    },
    Word {
        verb: "cool",
        syntax: "cool PLACE",
        doc: "Cools a part for five minutes with a wet cloth.",
        group: Group::Isolate,
        example: "cool filter",
        read: |line| Ok(Said::Do(Action::Treat { place: read_place(line)?, warm: false })),
    },
    Word {
        verb: "wiggle",
        syntax: "wiggle PLACE",
        doc: "Wiggles, taps and flexes a part for ten seconds and watches what changes.",
        group: Group::Isolate,
        example: "wiggle filter",
        read: |line| Ok(Said::Do(Action::Wiggle { place: read_place(line)? })),
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
        verb: "refuel",
        syntax: "refuel LITRES",
        doc: "Pours known, clean fuel of the vehicle's grade into the tank; what doesn't go in stays in the can.",
        group: Group::Isolate,
        example: "refuel 10",
        read: |line| Ok(Said::Do(Action::Refuel { litres: line.number("litres, such as 10")? })),
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
        syntax: "record STATE|QUANTITY VALUE [UNIT] VERDICT [from \"SOURCE\"] [window -SECONDS | FROM..TO] [remark \"WORDS\" | # WORDS]",
        doc: "Writes a line in the test sheet. The states are rest, prime, crank, idle, raised, load, dead-head and \
              hold; the verdicts within, outside, not-proven and invalid. Depression is negative. Without a window \
              the last second is meant. With a quantity (pressure, voltage, current, volume, temperature, level, \
              speed, duty) in the state's place it writes what the last test of that quantity showed.",
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
        syntax: "note glass|primer|cap|engine|sample|pump WORD",
        doc: "Writes down something perceived: glass clear, mist, bubbles, foam, slugs or empty; primer firm, \
              soft or slack; cap silent or hiss; engine off, cranking, steady, uneven or stalled; sample clear, hazy, \
              water, dirty or wrong-fuel; pump silent, hum, whine, ragged, labouring or stuck.",
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
        verb: "hint",
        syntax: "hint 1|2|3",
        doc: "Asks for a hint while practising: 1 how to compare, 2 where to look, 3 what to test. It costs points and \
              is recorded; none names the cause.",
        group: Group::Conclude,
        example: "hint 1",
        read: |line| Ok(Said::Do(Action::Hint { level: line.whole("a level: 1, 2 or 3")? })),
    },
    Word {
        verb: "submit",
        syntax: "submit CANDIDATE CONFIDENCE [because LINE LINE …] [not CANDIDATE LINE LINE …] … [\"WORDS\"]",
        doc: "Submits the finding: the candidate, how sure you are (50 to 99 in 100), the lines of the sheet that \
              carry it, rivals that you hold to be ruled out, each with the lines that do so, and the finding in \
              your own words.",
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
