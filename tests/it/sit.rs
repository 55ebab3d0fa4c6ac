//! Sittings through the executable.

use std::io::{BufRead, BufReader, Read, Write};
use std::process::Stdio;

use crate::shell::{Folder, same};

const JOB: &str = "nothing-wrong";

/// A whole job, not well done.
const SCRIPT: &str = "\
# make safe
safe protection
safe ventilation
safe extinguisher
safe chocks
safe drip-tray
safe pressure-away

ask whine            # customers know more than they say
look filter
believe air-ingress 60 non-return 40
fit pump-in
purge
zero
predict idle -150..-40 mbar
key on
crank 10
wait 30
record idle -85 mbar within from \"vehicle card\" window -2s # glass not clear
note glass bubbles
speed raised
wait 20
trace
idle
wait 10
valve shut
wait 3
valve open
wait 10
key off
wait 2min
sheet
submit air-ingress 85 because 1 2 \"bubbles at every speed\"
repair \"filter in\" reseal
remove
bleed
leakcheck
handback
";

fn numbered(n: usize) -> String {
    SCRIPT.lines().take(n).map(|line| line.to_owned() + "\n").collect()
}

/// The words after `hash ` at the end of a sitting.
fn trace_hash(out: &str) -> &str {
    out.rsplit_once("samples, hash ").expect(out).1.split('.').next().unwrap()
}

#[test]
fn a_whole_job_from_a_script() {
    let folder = Folder::new();
    folder.write("job.txt", SCRIPT);
    let ran = folder
        .run(&format!("sit {JOB} --actions job.txt --seed 5 --attempt a.jsonl --trace t.csv --name Ada"))
        .ended(0)
        .says("> fit pump-in\n")
        .says("engine steady at 780 1/min")
        .says("mbar, suction")
        .says("The job is done. Mark it with `faultbay mark a.jsonl`.");
    assert!(!ran.out.contains("Not done:"), "{}", ran.out);
    assert!(!ran.out.contains(['\x1b', '\t', '|']), "a screen reader would stumble:\n{}", ran.out);
    assert_eq!(ran.err, "");
    let lines = folder.read("a.jsonl");
    assert!(
        lines.starts_with("{\"format\":\"faultbay-attempt\",\"version\":1,\"job\":\"nothing-wrong\","),
        "{lines}"
    );
    assert!(lines.lines().next().unwrap().contains("\"name\":\"Ada\""));
    let actions = SCRIPT.lines().filter(|line| !line.is_empty() && !line.starts_with('#')).count() - 2;
    assert_eq!(lines.lines().count(), 1 + actions, "trace and sheet aren't actions, everything else is");
    let csv = folder.read("t.csv");
    assert!(csv.starts_with("time_s,"), "{csv}");
    assert!(ran.out.contains(&format!("Trace of {} samples", csv.lines().count() - 1)), "{}", ran.out);
}

#[test]
fn the_same_script_and_seed_give_the_same_to_the_byte() {
    let folder = Folder::new();
    folder.write("job.txt", SCRIPT);
    let once = |name: &str, seed: u32| {
        folder
            .run(&format!("sit {JOB} --actions job.txt --seed {seed} --attempt {name}.jsonl --trace {name}.csv"))
            .ended(0)
            .out
    };
    let (a, b, c) = (once("a", 5), once("b", 5), once("c", 6));
    same(&a, &b.replace("b.jsonl", "a.jsonl"));
    same(&folder.read("a.jsonl"), &folder.read("b.jsonl"));
    same(&folder.read("a.csv"), &folder.read("b.csv"));
    assert_ne!(trace_hash(&a), trace_hash(&c), "another seed is another vehicle");
}

#[test]
fn a_script_that_ends_early_says_so() {
    let folder = Folder::new();
    folder.write("half.txt", numbered(16));
    folder.run(&format!("sit {JOB} --actions half.txt")).ended(1).says("the vehicle wasn't handed back");
    folder.write("quit.txt", "safe protection\nquit\npurge\n");
    folder.run(&format!("sit {JOB} --actions quit.txt")).ended(1).says("left out after the end: 1");
}

#[test]
fn an_unclear_script_does_nothing() {
    let folder = Folder::new();
    folder.write("bad.txt", "safe protection\nlok filter\nfit fliter-in\nbelieve air-ingress 20\n");
    let ran = folder
        .run(&format!("sit {JOB} --actions bad.txt --attempt a.jsonl"))
        .ended(2)
        .complains("bad.txt, line 2: ")
        .complains("Did you mean “look”?")
        .complains("bad.txt, line 3: ")
        .complains("Did you mean “filter in”?")
        .complains("bad.txt, line 4: ");
    assert_eq!(ran.out, "");
    assert!(!folder.has("a.jsonl"), "nothing was done, nothing is recorded");
}

#[test]
fn an_attempt_is_not_overwritten() {
    let folder = Folder::new();
    folder.write("job.txt", numbered(4));
    folder.write("a.jsonl", "precious");
    folder
        .run(&format!("sit {JOB} --actions job.txt --attempt a.jsonl"))
        .ended(2)
        .complains("a.jsonl exists and isn't overwritten: go on with --resume");
    assert_eq!(folder.read("a.jsonl"), "precious");
}

#[test]
fn a_sitting_cut_off_anywhere_goes_on_as_if_nothing_had_been() {
    let folder = Folder::new();
    folder.write("job.txt", SCRIPT);
    let whole = folder.run(&format!("sit {JOB} --actions job.txt --seed 9 --attempt whole.jsonl")).ended(0).out;
    let record = folder.read("whole.jsonl");
    let ends: Vec<usize> = record.match_indices('\n').map(|(i, _)| i + 1).collect();
    // after a line, before its line end, within a line, after the header
    for (cut, kept) in [(ends[12], 12), (ends[12] - 1, 12), (ends[20] - 17, 19), (ends[0], 0), (ends[0] + 3, 0)] {
        folder.write("cut.jsonl", &record[..cut]);
        let actions = SCRIPT.lines().filter(|line| !line.is_empty() && !line.starts_with('#'));
        let actions = actions.filter(|line| !matches!(*line, "trace" | "sheet"));
        folder.write("rest.txt", actions.skip(kept).map(|line| line.to_owned() + "\n").collect::<String>());
        let ran = folder.run(&format!("sit {JOB} --actions rest.txt --attempt cut.jsonl --resume")).ended(0);
        same(&record, &folder.read("cut.jsonl"));
        assert_eq!(trace_hash(&ran.out), trace_hash(&whole), "cut at byte {cut}");
        assert_eq!(ran.out.contains("cut off while it was written"), cut != ends[kept] && cut != ends[kept] - 1);
    }
}

#[test]
fn what_cannot_be_resumed_is_left_alone() {
    let folder = Folder::new();
    folder.write("job.txt", numbered(6));
    folder.run(&format!("sit {JOB} --actions job.txt --attempt a.jsonl")).ended(1);
    let record = folder.read("a.jsonl");
    let resume = |job: &str| folder.run(&format!("sit {job} --actions job.txt --attempt b.jsonl --resume"));
    resume(JOB).ended(2).complains("can't read b.jsonl");
    for (text, words) in [
        (record.replace("ventilation", "Ventilation"), "b.jsonl, line 3: "),
        (record.replacen("\"n\":3", "\"n\":7", 1), "b.jsonl, line 4: "),
        (record.lines().skip(1).map(|line| line.to_owned() + "\n").collect(), "b.jsonl, line 1: "),
        ("hello\n".to_owned(), "b.jsonl, line 1: "),
        (String::new(), "b.jsonl, line 1: "),
    ] {
        folder.write("b.jsonl", &text);
        resume(JOB).ended(2).complains(words).complains("Expected: ");
        same(&text, &folder.read("b.jsonl"));
    }
    folder.write("b.jsonl", &record);
    resume("primer-air").ended(2).complains("made at the job “nothing-wrong”");
    same(&record, &folder.read("b.jsonl"));
}

#[test]
fn somebody_who_types_is_answered_line_by_line() {
    let folder = Folder::new();
    let mut child = folder
        .command(&format!("sit {JOB}"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut keys = child.stdin.take().unwrap();
    let mut heard = BufReader::new(child.stdout.take().unwrap());
    // the answer must come before the next line is typed
    let mut until = |words: &str| {
        let mut line = String::new();
        while !line.contains(words) {
            line.clear();
            assert_ne!(heard.read_line(&mut line).unwrap(), 0, "the end came before “{words}”");
        }
    };
    until("Say what to do");
    for (typed, words) in [
        ("status\n", "Key off, engine off."),
        ("help fit\n", "fit JOINT"),
        ("card\n", "Training values."),
        ("fti pump in\n", "Did you mean “fit”?"),
        ("key on\n", "Key on: lamps on"),
    ] {
        keys.write_all(typed.as_bytes()).unwrap();
        until(words);
    }
    drop(keys);
    let mut rest = String::new();
    heard.read_to_string(&mut rest).unwrap();
    assert!(rest.contains("wasn't handed back"), "{rest}");
    // one line wasn't clear, and nobody sat at a keyboard
    assert_eq!(child.wait().unwrap().code(), Some(2));
}

#[test]
fn no_input_is_a_disaster() {
    let folder = Folder::new();
    let long = "x".repeat(300_000);
    let input = [
        &b"\xff\xfe\0\n\n#\n\"\nwait 1e300\nwait -5\nwait nan\ncrank 99999999999999\nspeed -0\n"[..],
        long.as_bytes(),
    ];
    folder.typed(&format!("sit {JOB} --attempt a.jsonl"), input.concat()).ended(2);
    folder.run(&format!("sit {JOB} --actions missing.txt")).ended(2).complains("can't read missing.txt");
    folder.write("bytes.txt", [0xff, 0x00]);
    folder.run(&format!("sit {JOB} --actions bytes.txt")).ended(2).complains("bytes.txt isn't text");
    folder.write("bytes.txt", [0xff, 0xfe]);
    folder.run(&format!("sit {JOB} --actions bytes.txt")).ended(2).complains("bytes.txt is text in UTF-16");
    folder.run("sit nothing-wrogn").ended(2).complains("nothing-wrong");
    folder.run("sit ../../etc").ended(2);
    folder.run(&format!("sit {JOB} --trace nowhere/t.csv")).ended(2).complains("nowhere");
    folder.run(&format!("sit {JOB} --attempt nowhere/a.jsonl")).ended(2).complains("nowhere");
    folder.run("sit").ended(2);
    folder.run("juggle").ended(2);
    folder.run("mark .").ended(2);
    folder.run("mark missing.jsonl").ended(2).complains("missing.jsonl");
    folder.run("--help").ended(0).says("faultbay");
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let folder = Folder::new();
    folder.write("job.txt", SCRIPT);
    let mut child = folder
        .command(&format!("sit {JOB} --actions job.txt"))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()), (Some(0), ""));
}

#[test]
fn what_cannot_be_marked_is_said_and_nothing_is_printed() {
    let folder = Folder::new();
    folder.write("half.txt", numbered(12));
    folder.run(&format!("sit {JOB} --actions half.txt --attempt half.jsonl")).ended(1);
    let record = folder.read("half.jsonl");
    let mark = |text: &str| {
        folder.write("m.jsonl", text);
        let ran = folder.run("mark m.jsonl").ended(2);
        assert_eq!(ran.out, "");
        ran
    };
    mark(&record).complains("never handed back");
    mark(&record.replace("chocks", "Chocks")).complains("m.jsonl, line 5: ").complains("Expected: ");
    // another job's name, or a changed job, with a chain that doesn't hold any more
    mark(&record.replacen(JOB, "primer-air", 1)).complains("m.jsonl, line 1: ");
}

#[test]
fn jobs_are_listed() {
    let folder = Folder::new();
    folder.run("jobs").ended(0).says("primer-air: ").says("nothing-wrong: ");
}

#[cfg(not(feature = "app"))]
#[test]
fn without_a_window_the_terminal_is_named() {
    Folder::new().run("").ended(0).says("faultbay sit");
}

#[test]
fn an_instructor_changes_and_shows_the_vehicle_on_record_and_no_mark_is_given() {
    let folder = Folder::new();
    folder.write(
        "hands.txt",
        "safe protection\nclass inject F15@filter:3\nwait 5\nclass reveal\nwait 5\nclass clear\nhandback\n",
    );
    let sat = folder.run("sit nothing-wrong --seed 3 --actions hands.txt --attempt a.jsonl").ended(0);
    assert!(
        sat.out.contains("Filter element plugged at filter with hand primer, severity 3.0 of 5"),
        "{}",
        sat.out
    );
    let record = folder.read("a.jsonl");
    assert!(
        record.contains(r#""class":{"class":"inject","fault":"F15","at":"filter","severity":3.0}"#),
        "{record}"
    );
    folder.run("mark a.jsonl").ended(2).complains("was shown in the middle of this sitting");
    // a script with a line that isn't one does nothing at all
    folder.write("hands.txt", "wait 5\nclass inject\n");
    folder.run("sit nothing-wrong --seed 3 --actions hands.txt").ended(2).complains("class inject F15@filter:3");
}
