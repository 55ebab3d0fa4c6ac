//! Recordings from elsewhere: what is understood, what is refused, and within which memory.

use faultbay::analysis::states::{Phase, Stretch, from_pressure, states};
use faultbay::bay::Bay;
use faultbay::bay::action::{Action, Key, SECOND, SafetyStep};
use faultbay::diag::pages::{self, Within};
use faultbay::recording::Recording;
use faultbay::recording::heading::Quantity;
use faultbay::recording::read::{MOST_SAMPLES, Options, read};
use faultbay::recording::write::{Form, continental, write};
use faultbay::scenario::{Library, example, load_job};
use faultbay::trace::{Tick, Trace};
use proptest::prelude::*;

use crate::shell::Folder;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/puff-logger.csv");

#[track_caller]
fn good(text: &str) -> Recording {
    with(text, &Options::default())
}

#[track_caller]
fn with(text: &str, options: &Options) -> Recording {
    let (recording, report) = read(text.as_bytes(), "rec.csv", options);
    recording.unwrap_or_else(|| panic!("{report}"))
}

fn ids(text: impl AsRef<[u8]>) -> Vec<&'static str> {
    let (recording, report) = read(text.as_ref(), "rec.csv", &Options::default());
    assert_eq!(recording.is_none(), report.has_errors(), "{report}");
    report.diagnostics().iter().map(|d| d.id.name).collect()
}

#[test]
fn every_page_about_recordings_shows_what_it_says() {
    let mut shown = 0;
    for page in pages::all() {
        let Some(sample) = page.example.as_ref().filter(|e| e.within == Within::Recording) else { continue };
        shown += 1;
        let wrong = ids(example::file(sample, true));
        assert!(wrong.contains(&page.id.name), "{} isn't in {wrong:?}", page.id);
        let right = ids(example::file(sample, false));
        assert!(right.is_empty(), "{}: {right:?}", page.id);
    }
    assert!(shown >= 19, "{shown}");
}

#[test]
fn a_table_made_by_hand() {
    let text = "\u{feff}Workshop logger, bay 2\n\
                # comment; with; cells\n\
                \n\
                Zeit (s);Druck [kPa abs];Drehzahl 1/min;Strom (mA);\"Tank, temperature [\u{b0}C]\";Lambda;State\n\
                0,0;98,4;0;5.100,5;21,5;1,0;rest\n\
                0,5;98,3;0;5100;21,5;1,0;\n\
                1,0;--;780;5100;21,5;1,0;tick-over\n\
                1,5;91,9;781,5;5100;21,5;1,0;\n";
    let r = with(text, &Options { barometer_mbar: Some(1003.0), ..Options::default() });
    assert_eq!(r.t, [0.0, 0.5, 1.0, 1.5]);
    let p = r.column(Quantity::Pressure).unwrap();
    assert!((p[0] + 19.0).abs() < 1e-9 && p[2].is_nan() && (p[3] + 84.0).abs() < 1e-9, "{p:?}");
    assert_eq!(r.column(Quantity::Speed).unwrap(), [0.0, 0.0, 780.0, 781.5]);
    assert!((r.column(Quantity::Current).unwrap()[0] - 5.1005).abs() < 1e-12);
    assert_eq!(r.column(Quantity::Temperature).unwrap()[0], 21.5);
    assert_eq!(r.ignored, ["Lambda"]);
    assert_eq!(r.words().unwrap(), ["rest", "", "tick-over", ""]);
    assert!(r.assumed[0].contains("1003.0 mbar"), "{:?}", r.assumed);
}

#[test]
fn other_habits() {
    let tabs = good("t [ms]\tP2 psig\n0\t-1.4\n50\t-1.5\n");
    assert!((tabs.t[1] - 0.05).abs() < 1e-12);
    assert!((tabs.column(Quantity::Pressure).unwrap()[0] + 96.5266).abs() < 1e-3);
    let vacuum = good("Time (s),Vacuum (inHg)\n0,3\n1,3\n");
    assert!((vacuum.column(Quantity::Pressure).unwrap()[0] + 101.59).abs() < 0.01);
    let below = good("Time;Pressure;Current\ns;bar gauge;A\n0.1;4.02;5\n0.2;4.01;5\n");
    assert!((below.column(Quantity::Pressure).unwrap()[0] - 4020.0).abs() < 1e-9);
    let clock = good("Time,Pressure [mbar gauge]\n23:59:59.5,-1\n23:59:59.9,-2\n00:00:00.4,-3\n");
    assert!((clock.span() - 0.9).abs() < 1e-6, "{:?}", clock.t);
    let air = good("time_s,pressure_mbar_abs,barometer_hPa\n0,1000,1010\n1,1000,1011\n");
    assert_eq!(air.column(Quantity::Pressure).unwrap(), [-10.0, -11.0]);
    let both = "time_s,tank_pressure_mbar_gauge,line_pressure_mbar_gauge\n0,1,2\n1,1,2\n";
    assert_eq!(good(both).column(Quantity::Pressure).unwrap(), [1.0, 1.0]);
    let second = Options { pressure_column: Some("line_pressure_mbar_gauge".into()), ..Options::default() };
    assert_eq!(with(both, &second).column(Quantity::Pressure).unwrap(), [2.0, 2.0]);
    let none = Options { pressure_column: Some("line_presure_mbar_gauge".into()), ..Options::default() };
    let report = read(both.as_bytes(), "rec.csv", &none).1.to_string();
    assert!(report.contains("did you mean \"line_pressure_mbar_gauge\"?"), "{report}");
}

#[test]
fn a_message_names_line_column_and_what_to_do() {
    let text = "time_s,pressure_mbar_gauge\n0,-30\n1,-31\n2,overload\n3,-31\n";
    let report = read(text.as_bytes(), "rec.csv", &Options::default()).1.to_string();
    assert!(report.contains("rec.csv:4:3"), "{report}");
    assert!(report.contains("FB-R101 bad-cells") && report.contains("line 4"), "{report}");
    // beyond the first 64 KiB there is no text to show, but a line to name
    let mut long = String::from("time_s,pressure_mbar_gauge\n");
    for i in 0..20_000 {
        long += &format!("{i},{}\n", if i == 15_000 { "?" } else { "-31" });
    }
    let report = read(long.as_bytes(), "rec.csv", &Options::default()).1.to_string();
    assert!(report.contains("rec.csv:15002"), "{report}");
}

#[test]
fn absurd_values_name_the_likely_unit() {
    for (heading, values, likely) in [
        ("pressure_kPa_gauge", ["-95", "-285", "-690"], "mbar"),
        ("pressure_bar_gauge", ["-95", "-285", "-690"], "mbar"),
        ("pressure_mbar_gauge,current_A", ["-95,5100", "-96,5200", "-95,5150"], "mA"),
        ("pressure_mbar_gauge,glass_gas_share", ["-95,3", "-96,4", "-95,12"], "%"),
        ("pressure_mbar", ["985", "915", "730"], "abs"),
    ] {
        let text = format!("time_s,{heading}\n0,{}\n1,{}\n2,{}\n", values[0], values[1], values[2]);
        let report = read(text.as_bytes(), "rec.csv", &Options::default()).1.to_string();
        assert!(report.contains("FB-R103") && report.contains(likely), "{heading}: {report}");
    }
}

#[test]
fn what_no_logger_should_write_is_refused_or_told() {
    let head = "time_s,pressure_mbar_gauge\n";
    assert_eq!(ids(""), ["empty-recording"]);
    assert_eq!(ids(head), ["no-samples"]);
    assert_eq!(ids([head, "0,-3\n"].concat()), ["no-samples"]);
    assert_eq!(ids([head, "0,inf\n1,-3\n2,1e999\n3,-3\n4,nan\n5,3\n"].concat()), ["bad-cells"]);
    assert_eq!(ids([head, "\"0,-3\n1,-3\n2,-3"].concat()), ["no-samples", "not-numbers", "ragged-rows"]);
    assert_eq!(ids(b"\xFF\xFEt\0i\0m\0e\0"), ["not-a-text-table"]);
    assert_eq!(ids((0..5000_u32).map(|i| (i * 7919 % 256) as u8).collect::<Vec<u8>>()), ["not-a-text-table"]);
    assert!(!ids([head, &"0,-3\n".repeat(50)].concat()).is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_text_makes_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(bytes.as_slice(), "x", &Options::default());
    }

    #[test]
    fn no_table_makes_it_panic(
        rows in proptest::collection::vec("[-0-9.,;:\"eEinf \t]{0,24}", 0..40),
        heading in "(time|t|Zeit)( \\[(s|ms|min|q)\\])?[,;\t](pressure|Druck|P2)[ _](mbar|kPa abs|psig|x|)",
    ) {
        let text = format!("{heading}\n{}\n", rows.join("\n"));
        let (recording, report) = read(text.as_bytes(), "x", &Options::default());
        prop_assert_eq!(recording.is_none(), report.has_errors());
        if let Some(r) = recording {
            prop_assert!(r.t.windows(2).all(|w| w[0] <= w[1]) && r.t.iter().all(|t| t.is_finite()));
            prop_assert!(r.columns.iter().all(|c| c.1.len() == r.t.len()));
            let _ = r.to_trace();
        }
    }

    #[test]
    fn a_trace_of_ours_comes_back(
        values in proptest::collection::vec((-900.0_f64..3000.0, 0.0_f64..1.0, 0.0_f64..4000.0), 2..60),
        gap in 0_usize..60,
        word in "[a-z;,\" #é]{1,12}",
    ) {
        let mut trace = Trace::default();
        for (i, (p, g, n)) in values.iter().enumerate() {
            trace.at.push(i as u64 * 20_000 + 40_000);
            trace.mbar.push(if i == gap { f64::NAN } else { *p });
            trace.gas.push(*g);
            trace.rpm.push(*n);
        }
        trace.ticks.push(Tick { at: 60_000, word: word.clone() });
        let ours = Recording::of_trace(&trace);
        let plain = good(&write(&ours, &Form::default()));
        prop_assert_eq!(&plain.t, &ours.t);
        for (have, want) in plain.columns.iter().zip(&ours.columns) {
            prop_assert!(have.1.iter().zip(&want.1).all(|(a, b)| a.to_bits() == b.to_bits() || (a.is_nan() && b.is_nan())));
        }
        let told: Vec<&str> = plain.events.iter().map(|e| e.1.trim()).collect();
        prop_assert_eq!(told, if word.trim().is_empty() { vec![] } else { vec![word.trim()] });
        let back = plain.to_trace();
        prop_assert_eq!(back.len(), trace.len());
        let other = good(&write(&ours, &continental()));
        for (a, b) in other.column(Quantity::Pressure).unwrap().iter().zip(&trace.mbar) {
            prop_assert!((a - b).abs() < 1e-9 || (a.is_nan() && b.is_nan()), "{a} {b}");
        }
    }
}

/// Ten million rows that never exist at once.
struct Endless {
    row: u64,
    rows: u64,
    line: Vec<u8>,
    at: usize,
}

impl std::io::Read for Endless {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.at == self.line.len() {
            if self.row == self.rows {
                return Ok(0);
            }
            let p = if self.row == 7_654_321 { -905 } else { -100 - (self.row % 10) as i64 };
            self.line = format!("{}.{:02},{p},780\n", self.row / 100, self.row % 100).into_bytes();
            (self.row, self.at) = (self.row + 1, 0);
        }
        let n = buffer.len().min(self.line.len() - self.at);
        buffer[..n].copy_from_slice(&self.line[self.at..self.at + n]);
        self.at += n;
        Ok(n)
    }
}

#[test]
fn ten_million_rows_are_read_within_the_bound() {
    let head = b"time_s,line_pressure_mbar_gauge,engine_speed_rpm\n".to_vec();
    let input = Endless { row: 0, rows: 10_000_000, line: head, at: 0 };
    let (recording, report) = read(input, "long.csv", &Options::default());
    let r = recording.unwrap_or_else(|| panic!("{report}"));
    assert!(report.is_empty(), "{report}");
    assert_eq!((r.rows, r.thinned), (10_000_000, 16));
    assert!(r.t.len() <= MOST_SAMPLES && r.t.len() > MOST_SAMPLES / 2);
    assert!(r.columns.iter().all(|c| c.1.capacity() <= 2 * MOST_SAMPLES));
    // the only spike is there, at its time
    let p = r.column(Quantity::Pressure).unwrap();
    let spike = p.iter().position(|v| *v == -905.0).expect("the spike is lost");
    assert!((r.t[spike] - 76_543.21).abs() < 1e-6);
}

#[test]
fn a_stream_that_never_ends_its_row_is_given_up() {
    let start = std::io::Cursor::new(b"time_s,pressure_mbar_gauge\n0,\"".to_vec());
    let input = std::io::Read::chain(start, std::io::repeat(b'x'));
    let (recording, report) = read(input, "endless.csv", &Options::default());
    assert!(recording.is_none() && report.to_string().contains("FB-R011"), "{report}");
}

/// A standard run on a built-in job's vehicle, from twenty seconds before the start.
fn sitting(job: &str, seed: u64) -> Trace {
    let job = load_job(&Library::builtin(), job).unwrap_or_else(|r| panic!("{r}")).0;
    let mut bay = Bay::new(&job, seed).unwrap();
    let wait = |bay: &mut Bay, s: u64| bay.advance_to(bay.now() + s * SECOND);
    for step in [SafetyStep::Protection, SafetyStep::Ventilation, SafetyStep::Chocks] {
        bay.act(&Action::MakeSafe { step });
    }
    bay.act(&Action::FitTee { joint: "pump in".into(), new_seals: true });
    bay.act(&Action::Purge);
    bay.act(&Action::Zero);
    let start = bay.now();
    wait(&mut bay, 20);
    bay.act(&Action::Key { to: Key::On });
    bay.act(&Action::Crank { secs: 8.0 });
    wait(&mut bay, 60);
    bay.act(&Action::Speed { rpm: 2500.0 });
    wait(&mut bay, 30);
    bay.act(&Action::Speed { rpm: bay.idle_speed() });
    wait(&mut bay, 20);
    bay.act(&Action::Valve { open: 0.0 });
    bay.advance_to(bay.now() + 46 * SECOND / 10);
    bay.act(&Action::Valve { open: 1.0 });
    wait(&mut bay, 15);
    bay.act(&Action::Key { to: Key::Off });
    wait(&mut bay, 120);
    let mut trace = bay.trace().clone();
    let from = trace.at.partition_point(|&t| t < start);
    for column in [&mut trace.mbar, &mut trace.gas, &mut trace.rpm] {
        column.drain(..from);
    }
    trace.at.drain(..from);
    trace.ticks.clear();
    trace
}

/// As a logger of another country would have written it: psi, semicolons, decimal comma, ten samples a
/// second, neither glass nor events.
fn logged(trace: &Trace) -> String {
    let mut r = Recording::of_trace(trace);
    let start = r.t[0];
    let keep = |c: &[f64]| c.iter().copied().step_by(5).collect::<Vec<f64>>();
    r.t = keep(&r.t).into_iter().map(|t| t - start).collect();
    let (pressure, speed) = (keep(&r.columns[0].1), keep(&r.columns[2].1));
    r.headings = vec![r.headings[0].clone(), r.headings[1].clone(), r.headings[3].clone()];
    r.columns = vec![(1, pressure), (2, speed)];
    r.events.clear();
    let form = Form {
        delimiter: ';',
        decimal_comma: true,
        pressure: "psi",
        digits: Some(3),
        brackets: true,
        ..Form::default()
    };
    format!("# workshop logger, channel 1 at the pump inlet\n{}", write(&r, &form))
}

fn order(list: &[Stretch]) -> Vec<Phase> {
    list.iter().map(|s| s.phase).collect()
}

/// `UPDATE_DEMO=1` writes the demo anew; otherwise it stays as it is, whatever becomes of the simulator.
#[test]
fn a_simulated_run_falls_into_its_states_with_and_without_speed() {
    let trace = sitting("bypass-puff", 7);
    let text = logged(&trace);
    if std::env::var_os("UPDATE_DEMO").is_some() {
        std::fs::write(DEMO, &text).unwrap();
    }
    let r = good(&text);
    let (p, n) = (r.column(Quantity::Pressure).unwrap(), r.column(Quantity::Speed).unwrap());
    let (list, _) = states(&r.t, p, Some(n), None);
    use Phase::{Crank, DeadHead, Hold, Idle, Raised, Rest, RunDown};
    assert_eq!(order(&list), [Rest, Crank, Idle, Raised, Idle, DeadHead, Idle, RunDown, Hold], "{list:#?}");
    let guessed = from_pressure(&r.t, p);
    let long: Vec<Stretch> = guessed.iter().copied().filter(|s| !matches!(s.phase, Crank | RunDown)).collect();
    assert_eq!(order(&long), [Rest, Idle, Raised, Idle, DeadHead, Idle, Hold], "{guessed:#?}");
}

#[test]
fn the_executable_reads_a_logger() {
    let folder = Folder::new();
    folder.write("log.csv", std::fs::read(DEMO).unwrap());
    let ran = folder.run("read log.csv --plot out.svg").ended(0);
    for words in ["pressure, psi gauge", "by engine speed", "dead-head", "Can't be known", "Training values."] {
        assert!(ran.out.contains(words), "no {words:?} in\n{}", ran.out);
    }
    assert!(ran.out.lines().all(|l| l.chars().count() <= 180), "{}", ran.out);
    let svg = folder.read("out.svg");
    assert!(svg.starts_with("<svg") && svg.contains(">raised</text>") && svg.contains("<style>"), "{svg:.400}");
    let json = folder.run("read log.csv --json").ended(0).out;
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let idle = json["states"].as_array().unwrap().iter().find(|s| s["state"] == "idle").unwrap();
    let level = idle["features"].as_array().unwrap().iter().find(|f| f["what"] == "level").unwrap();
    // −136 mbar in the bay that made it
    assert!((level["value"].as_f64().unwrap() + 136.0).abs() < 6.0, "{level}");
    folder.run("read log.csv --barometer 12").ended(2);
    folder.run("read log.csv --state-column Phase").ended(2).complains("FB-R013");
    folder.run("read log.csv --plant a1-wan").ended(2).complains("a1-van");
    folder.run("read nothing.csv").ended(2).complains("FB-R015");
    folder.write("bad.csv", "time_s,pressure\n0,1\n1,2\n");
    folder.run("read bad.csv").ended(2).complains("bad.csv:1:8");
}

/// A logger from elsewhere: the day's clock, samples at times of their own, decimal commas, states in words that aren't
/// ours. Each is told instead of being passed over.
#[test]
fn what_is_not_understood_of_a_logger_is_said() {
    let folder = Folder::new();
    let mut text = String::from("Zeit;Druck mbar rel;Drehzahl 1/min;Phase\n");
    for i in 0..900 {
        // gaps of 0.04, 0.16, 0.10 s in turn
        let t = 0.3 * f64::from(i / 3) + [0.0, 0.04, 0.20][i as usize % 3];
        let (p, n, word) = match t {
            t if t < 20.0 => (-4.0, 0, "Ruhe"),
            t if t < 22.0 => (-40.0, 220, "Anlassen"),
            _ => (-110.0, 790, "Leerlauf"),
        };
        let p = p + 0.3 * f64::from(i % 7 - 3);
        let row = format!("09:{:02}:{:06.3};{p:.1};{n};{word}\n", 30 + (t / 60.0) as u32, t % 60.0);
        text += &row.replace('.', ",");
    }
    folder.write("clock.csv", text.replace(" ,", ","));
    let out = folder.run("read clock.csv").ended(0).out;
    for words in [
        "unevenly, mostly one every 0.1",
        "times in s after its first sample",
        "No state that is known here: \u{201c}Ruhe\u{201d}",
    ] {
        assert!(out.contains(words), "no {words:?} in\n{out}");
    }
    assert!(!out.contains("34200"), "{out}");
    // with words that are known nothing is said of it, and an even recording isn't called uneven
    let known = text.replace("Ruhe", "rest").replace("Anlassen", "crank").replace("Leerlauf", "idle");
    folder.write("known.csv", known);
    let out = folder.run("read known.csv").ended(0).out;
    assert!(out.contains("as the recording names them") && !out.contains("No state that is known"), "{out}");
    assert!(!folder.run(&format!("read {DEMO}")).ended(0).out.contains("unevenly"));
}

/// Said to come from a joint where nothing of the vehicle reads so: no job is made of it, and the joint that explains it is named.
#[test]
fn a_recording_that_nothing_fits_makes_no_job_and_another_joint_is_named() {
    let folder = Folder::new();
    let fit = |at: &str| folder.run_with(&format!("fit {DEMO} --plant a1-van --job new.ron --at"), at);
    let wrong = fit("tank line end").ended(2).says("Nothing fits");
    let wrong =
        wrong.says("With the tee at “pump in” the recording is explained more than a thousand times better");
    wrong
        .complains("No job is in new.ron: nothing fits")
        .complains("--at 'pump in'")
        .complains("faultbay new job NAME --plant a1-van");
    assert!(!folder.has("new.ron"));
    let right = fit("pump in").ended(0).complains("A job to begin with is in new.ron");
    assert!(!right.out.contains("With the tee at"), "{}", right.out);
    assert!(folder.has("new.ron"));
}
