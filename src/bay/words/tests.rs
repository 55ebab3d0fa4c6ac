//! Properties of the words: every action can be said, nothing said can do harm, slips are named.

use proptest::prelude::*;

use super::*;
use crate::bay::action::{
    Finding, Key, Prediction, Probe, Quantity, Reading, Remedy, RuledOut, SECOND, SafetyStep, State, TestEntry,
    TestUnit, Verdict,
};
use crate::units::PressureUnit;

/// Text that people and hostile files write.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z]{1,8}",
        "[a-z]{1,6}[ -][a-z]{1,6}",
        any::<String>(),
        Just(String::new()),
        Just("back".to_owned()),
        Just("off".to_owned()),
        Just("free".to_owned()),
        Just("battery −".to_owned()),
        Just("old seals".to_owned()),
        Just("a \"b\" \\ # c\n\td\u{202e}".to_owned()),
        Just("5".to_owned()),
        Just("-3s".to_owned()),
    ]
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        (-3000_i32..3000).prop_map(f64::from),
        (-30_000_i32..30_000).prop_map(|n| f64::from(n) / 10.0),
        any::<f64>().prop_filter("finite", |x| x.is_finite()),
    ]
}

fn pick<T: Clone + std::fmt::Debug + 'static>(of: Vec<T>) -> impl Strategy<Value = T> {
    prop::sample::select(of)
}

fn reading() -> impl Strategy<Value = Reading> {
    let unit = prop::option::of(pick(PressureUnit::ALL.to_vec()));
    let window = prop::option::of((any::<u64>(), any::<u64>()));
    let state = pick(State::ALL.to_vec());
    (state, number(), unit, pick(Verdict::ALL.to_vec()), text(), window, text()).prop_map(
        |(state, value, unit, verdict, source, window, remark)| Reading {
            state,
            value,
            unit,
            verdict,
            source,
            window,
            remark,
        },
    )
}

fn probe() -> impl Strategy<Value = Probe> {
    prop_oneof![
        pick(print::READ.iter().map(|(_, probe)| probe.clone()).collect()),
        (text(), text()).prop_map(|(from, to)| Probe::Volts { from, to }),
        text().prop_map(|part| Probe::Clamp { part }),
        text().prop_map(|place| Probe::Thermometer { place }),
    ]
}

fn entry() -> impl Strategy<Value = TestEntry> {
    let unit = prop::option::of(pick(TestUnit::ALL.to_vec()));
    (pick(Quantity::ALL.to_vec()), number(), unit, pick(Verdict::ALL.to_vec()), text(), text()).prop_map(
        |(quantity, value, unit, verdict, source, remark)| TestEntry {
            quantity,
            value,
            unit,
            verdict,
            source,
            remark,
        },
    )
}

/// An action of a test that splits the supply.
fn isolation() -> impl Strategy<Value = Action> {
    let flag = any::<bool>;
    prop_oneof![
        number().prop_map(|share| Action::Load { share }),
        (text(), number()).prop_map(|(part, open)| Action::Tap { part, open }),
        pick(print::RANGES.iter().map(|(_, range)| *range).collect()).prop_map(|range| Action::Range { range }),
        text().prop_map(|joint| Action::SecondGauge { joint: Some(joint) }),
        text().prop_map(|part| Action::Listen { part }),
        probe().prop_map(|probe| Action::Measure { probe }),
        flag().prop_map(|large| Action::ZeroClamp { large }),
        (text(), flag()).prop_map(|(part, start)| Action::Capture { part, start }),
        entry().prop_map(|entry| Action::RecordTest { entry }),
        (text(), flag()).prop_map(|(part, on)| Action::Pinch { part, on }),
        text().prop_map(|joint| Action::Blank { joint: Some(joint) }),
        (text(), flag()).prop_map(|(part, on)| Action::Bridge { part, on }),
        (text(), number(), flag()).prop_map(|(joint, secs, throttled)| Action::Deliver { joint, secs, throttled }),
        number().prop_map(|secs| Action::ReturnFlow { secs }),
        (text(), flag()).prop_map(|(place, warm)| Action::Treat { place, warm }),
        text().prop_map(|place| Action::Wiggle { place }),
        number().prop_map(|degrees| Action::Tilt { degrees }),
        number().prop_map(|litres| Action::Refuel { litres }),
    ]
}

/// Any action that can be said.
pub(crate) fn action() -> impl Strategy<Value = Action> {
    let steps = print::STEPS.iter().map(|(_, step)| *step).collect::<Vec<SafetyStep>>();
    let remedies = print::REMEDIES.iter().map(|(_, remedy)| *remedy).collect::<Vec<Remedy>>();
    let perceived = print::PERCEIVED.iter().map(|(_, what)| *what).collect::<Vec<Perceived>>();
    let state = || pick(State::ALL.to_vec());
    let simple = pick(vec![
        Action::Purge,
        Action::Zero,
        Action::Key { to: Key::On },
        Action::Key { to: Key::Off },
        Action::Cap { open: true },
        Action::Cap { open: false },
        Action::Container { joint: None },
        Action::Bleed,
        Action::LeakCheck,
        Action::HandBack,
        Action::Snap,
        Action::Sample,
        Action::Codes,
        Action::Battery,
        Action::VacuumTest,
        Action::AirTest,
        Action::SecondGauge { joint: None },
        Action::Blank { joint: None },
    ]);
    let prediction =
        (state(), prop::option::of(text()), number(), number()).prop_map(|(state, candidate, low, high)| {
            Action::Predict { prediction: Prediction { state, candidate, low_mbar: low, high_mbar: high } }
        });
    let believe = prop::collection::btree_map(text(), 0_u8..=100, 1..6).prop_map(|mut points| {
        // cut the shares to 100 together
        let mut left = 100;
        for share in points.values_mut() {
            *share = (*share).min(left);
            left -= *share;
        }
        if let Some(mut last) = points.last_entry() {
            *last.get_mut() += left;
        }
        Action::Believe { points }
    });
    let out = (text(), prop::collection::vec(any::<usize>(), 1..4))
        .prop_map(|(candidate, lines)| RuledOut { candidate, lines });
    let lines = prop::collection::vec(any::<usize>(), 0..4);
    let finding = (text(), any::<u8>(), lines, prop::collection::vec(out, 0..3), text()).prop_map(
        |(candidate, confidence, evidence, ruled_out, words)| Action::Submit {
            finding: Finding { candidate, confidence, evidence, ruled_out, words },
        },
    );
    prop_oneof![
        6 => isolation(),
        3 => simple,
        1 => pick(steps).prop_map(|step| Action::MakeSafe { step }),
        1 => text().prop_map(|question| Action::Ask { question }),
        1 => text().prop_map(|part| Action::Look { part }),
        1 => (text(), any::<bool>()).prop_map(|(joint, new_seals)| Action::FitTee { joint, new_seals }),
        1 => any::<bool>().prop_map(|new_seals| Action::RemoveTee { new_seals }),
        1 => number().prop_map(|secs| Action::Crank { secs }),
        1 => number().prop_map(|rpm| Action::Speed { rpm }),
        1 => prop_oneof![number(), Just(0.0), Just(-0.0), Just(1.0)].prop_map(|open| Action::Valve { open }),
        1 => text().prop_map(|joint| Action::Container { joint: Some(joint) }),
        1 => any::<u32>().prop_map(|strokes| Action::Prime { strokes }),
        1 => number().prop_map(|secs| Action::Wait { secs }),
        2 => reading().prop_map(|reading| Action::Record { reading }),
        1 => (any::<usize>(), reading()).prop_map(|(line, reading)| Action::Amend { line, reading }),
        1 => (pick(perceived), text()).prop_map(|(what, seen)| Action::Note { what, seen }),
        1 => prediction,
        1 => believe,
        1 => any::<u8>().prop_map(|level| Action::Hint { level }),
        1 => finding,
        1 => (text(), pick(remedies)).prop_map(|(part, remedy)| Action::Repair { part, remedy }),
    ]
}

fn terms() -> Terms {
    let pairs = |names: &[(&str, &str)]| names.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
    Terms {
        joints: pairs(&[
            ("tank out", "Tank outlet"),
            ("filter in", "Before the filter"),
            ("pump-in", "Pump inlet"),
        ]),
        points: pairs(&[("battery +", ""), ("pump +", ""), ("pump −", "")]),
        parts: pairs(&[("filter", "Fuel filter"), ("pump", "Transfer pump"), ("back", "Back wall")]),
        questions: pairs(&[("since-when", "Since when?")]),
        candidates: pairs(&[
            ("plugged-filter", "Filter plugged"),
            ("air", "Air gets in"),
            ("nothing", "Nothing wrong"),
        ]),
        speeds: Some((850.0, 2500.0)),
    }
}

#[track_caller]
fn reads(line: &str) -> Action {
    match read(line, &terms(), 100 * SECOND) {
        Ok(Some(Said::Do(action))) => action,
        other => panic!("{line}: {other:?}"),
    }
}

#[track_caller]
fn unclear(line: &str) -> String {
    read(line, &terms(), 0).expect_err(line).to_string()
}

proptest! {
    #[test]
    fn every_action_prints_to_one_line_that_reads_as_it(action in action()) {
        let line = print(&action);
        prop_assert!(!line.contains(['\n', '\r']), "{line:?}");
        prop_assert_eq!(read(&line, &Terms::default(), 0), Ok(Some(Said::Do(action))), "{}", line);
    }

    #[test]
    fn no_line_is_a_disaster(line in ".{0,60}", now in any::<u64>()) {
        let _ = read(&line, &terms(), now);
    }

    #[test]
    fn nor_is_one_made_of_the_words(
        parts in prop::collection::vec(prop_oneof![
            pick(WORDS.iter().flat_map(|w| w.example.split(' ').chain([w.verb])).collect::<Vec<_>>()).prop_map(str::to_owned),
            "[-0-9.,]{0,30}[a-z%]{0,3}",
            "\\PC{0,6}",
        ], 0..9),
        now in any::<u64>(),
    ) {
        let line = parts.join(" ");
        let _ = read(&line, &terms(), now);
        let _ = read(&line, &Terms::default(), now);
    }
}

#[test]
fn every_word_has_what_the_help_needs_and_an_example_that_reads() {
    for (i, word) in WORDS.iter().enumerate() {
        assert!(word.syntax.starts_with(word.verb), "{}", word.verb);
        assert!(word.doc.ends_with('.'), "{}", word.verb);
        assert!(WORDS[..i].iter().all(|other| other.verb != word.verb), "{} twice", word.verb);
        assert!(help(None).contains(word.syntax) && help(Some(word.verb)).contains(word.example));
        match read(word.example, &Terms::default(), 10 * SECOND) {
            Ok(Some(Said::Do(action))) => {
                assert_ne!(word.group, Group::Show, "{}", word.verb);
                let line = print(&action);
                let again = read(&line, &Terms::default(), 10 * SECOND);
                assert_eq!(again, Ok(Some(Said::Do(action))), "{line}");
            }
            Ok(Some(Said::Show(_))) => assert_eq!(word.group, Group::Show, "{}", word.verb),
            other => panic!("{}: {other:?}", word.example),
        }
    }
}

#[test]
fn words_of_the_trade_are_read_as_meant() {
    assert_eq!(reads("safe drip tray"), Action::MakeSafe { step: SafetyStep::DripTray });
    assert_eq!(reads("SAFE Drip-Tray  # done"), Action::MakeSafe { step: SafetyStep::DripTray });
    let fit = |joint: &str, new_seals| Action::FitTee { joint: joint.to_owned(), new_seals };
    for line in ["fit tank-out", "fit \"tank out\"", "fit tank out", "fit tank-outlet", "fit Tank Outlet"] {
        assert_eq!(reads(line), fit("tank out", true), "{line}");
    }
    assert_eq!(reads("fit pump in old-seals"), fit("pump-in", false));
    assert_eq!(reads("container back"), Action::Container { joint: None });
    assert_eq!(reads("look back"), Action::Look { part: "back".to_owned() });
    assert_eq!(reads("wait 2min"), Action::Wait { secs: 120.0 });
    assert_eq!(reads("wait 1,5 h"), Action::Wait { secs: 5400.0 });
    assert_eq!(reads("crank 8 s"), Action::Crank { secs: 8.0 });
    assert_eq!(reads("idle"), Action::Speed { rpm: 850.0 });
    assert_eq!(reads("speed raised"), Action::Speed { rpm: 2500.0 });
    assert_eq!(reads("leak-check"), Action::LeakCheck);
    assert_eq!(
        reads("volts battery + pump +"),
        Action::Measure { probe: Probe::Volts { from: "battery +".into(), to: "pump +".into() } }
    );
    assert_eq!(reads("second off"), Action::SecondGauge { joint: None });
    assert_eq!(reads("plug tank out"), Action::Blank { joint: Some("tank out".into()) });
    assert_eq!(
        reads("deliver pump-in 30s free"),
        Action::Deliver { joint: "pump-in".into(), secs: 30.0, throttled: false }
    );
    let Action::RecordTest { entry } = reads("record voltage 0,61V outside from \"card\" # at idle") else {
        panic!()
    };
    assert_eq!((entry.quantity, entry.value, entry.unit), (Quantity::Voltage, 0.61, Some(TestUnit::Volt)));
    assert_eq!((entry.source.as_str(), entry.remark.as_str()), ("card", "at idle"));
    assert_eq!(reads("note glass foam"), Action::Note { what: Perceived::Glass, seen: "foam".to_owned() });
}

#[test]
fn a_reading_is_read_in_any_usual_spelling() {
    let expected = Reading {
        state: State::Idle,
        value: -95.0,
        unit: Some(PressureUnit::Mbar),
        verdict: Verdict::NotProven,
        source: "vehicle card".to_owned(),
        window: Some((97 * SECOND, 100 * SECOND)),
        remark: "glass clear".to_owned(),
    };
    for line in [
        "record idle -95 mbar not-proven from \"vehicle card\" window -3s remark \"glass clear\"",
        "record idle \u{2212}95mbar not proven window 97..100s from \"vehicle card\" # glass clear",
        "record Idle -95,0 MBAR not-proven window -3 from \"vehicle card\" # glass clear",
    ] {
        assert_eq!(reads(line), Action::Record { reading: expected.clone() }, "{line}");
    }
    let Action::Record { reading } = reads("record dead head -40 within") else { panic!() };
    assert_eq!((reading.state, reading.unit, reading.window), (State::DeadHead, None, None));
    // more time back than there was
    let Action::Record { reading } = reads("record rest 0 mbar within window -10min") else { panic!() };
    assert_eq!(reading.window, Some((0, 100 * SECOND)));
}

#[test]
fn what_is_unclear_is_said_with_the_place_and_the_nearest_word() {
    for (line, part) in [
        ("lok filter", "Did you mean “look”?"),
        (
            "look fliter",
            "Expected a part (filter, pump, back) at character 6, but found “fliter”. Did you mean “filter”?",
        ),
        ("fit filtr-in", "Did you mean “filter in”?"),
        ("key onn", "Did you mean “on”?"),
        ("record idel -95 mbar within", "Did you mean “idle”?"),
        ("record idle -95 mbr within", "Did you mean “mbar”?"),
        ("record idle -95mbr within", "Did you mean “mbar”?"),
        ("record idle low mbar within", "a pressure, such as -95 mbar at character 13"),
        ("record idle -95 mbar", "the end of the line"),
        ("record idle -95 mbar within fom card", "Did you mean “from”?"),
        ("record idle -95 mbar within window 3s", "a window"),
        ("believe air 60 nothing 30", "100 together at character 1, but found 90"),
        ("believe air 60 air 40", "each candidate once"),
        ("believe air 300", "points from 0 to 100"),
        ("submit air", "how sure"),
        ("wait nan", "how long"),
        ("wait inf", "how long"),
        ("wait 1e9", "how long"),
        ("wait 5 parsecs", "nothing more"),
        ("purge twice", "nothing more at character 7"),
        ("note glass blue", "how it was (clear, mist"),
        ("look \"filter", "closing quotation mark"),
        ("look \"fil\\qter\"", "after a backslash"),
        ("\"look\" filter", "a word such as"),
        ("prime -2", "a number of strokes"),
    ] {
        let message = unclear(line);
        assert!(message.contains(part), "{line}\n{message}");
    }
    assert!(unclear("key").ends_with("Write: key on|off"), "{}", unclear("key"));
}

#[test]
fn comments_and_empty_lines_say_nothing() {
    for line in ["", "   ", "# purge", "  # purge"] {
        assert_eq!(read(line, &terms(), 0), Ok(None));
    }
}

#[test]
fn completion_and_help_know_every_word() {
    assert_eq!(complete("re").collect::<Vec<_>>(), ["remove", "read", "returnflow", "refuel", "record", "repair"]);
    assert!(help(Some("recrd")).contains("“record”"));
    assert!(help(Some("xyzzyxyzzy")).contains("Say “help”"));
}

/// One word of a name is as good as a slip of the pen.
#[test]
fn a_name_is_found_by_one_of_its_words() {
    assert_eq!(nearest("suction", ["tank", "suction line", "strainer"]), Some("suction line"));
    assert_eq!(nearest("hose", ["tank", "suction line", "strainer"]), None);
}
