//! Slips of whoever writes a job or hands one round, each told by name: signs of other notations in a file, files that are
//! named wrongly or lie elsewhere, results that would be written over one another, and printed commands that are copied.

use faultbay::scenario::{self, Kind, example};

use crate::shell::Folder;

/// What the check says of the example job once something in it was written differently.
fn told(from: &str, to: &str) -> String {
    assert!(example::JOB.contains(from), "{from}");
    let text = example::JOB.replacen(from, to, 1);
    scenario::check_text(Some(Kind::Job), "job.ron", &text, &example::library()).to_string()
}

/// What is written in place of what, and what must be said of it.
const WRITTEN: &[(&str, &str, &[&str])] = &[
    ("minutes: 30", "minutes = 30", &["a colon stands between a field and its value, not ="]),
    ("minutes: 30", "minutes=30", &["a colon stands between a field and its value, not ="]),
    ("minutes: 30,", "minutes: 30;", &["a semicolon stands where a comma should"]),
    ("mode: practice,", "mode: practice;", &["a semicolon stands where a comma should"]),
    ("plant: \"bench\",", "plant: \"bench\";", &["a semicolon stands where a comma should"]),
    ("    minutes: 30,", "    # how long\n    minutes: 30,", &["a remark begins with //, not with #"]),
    ("    minutes: 30,", "    #long\n    minutes: 30,", &["a remark begins with //, not with #"]),
    ("    minutes: 30,", "    minutes: 30, # how long", &["a remark begins with //, not with #"]),
    ("    candidates: [", "    candidates: [ # these\n", &["a remark begins with //, not with #"]),
    (
        "    ],\n    candidates: [",
        "    candidates: [",
        &["the bracket [ opened in line", "a field begins before that"],
    ),
    ("minutes: 30", "minutes: min(30)", &["a bare number here", "did you mean \"30\"?"]),
    (
        "severity: 3.0",
        "severity: (3, 4)",
        &["a hidden fault has one severity; a band belongs to the vehicles of candidates"],
    ),
    (
        "severity: 3.0",
        "severity: 3.0, when: [AfterRunning(min(12))]",
        &["did you mean \"AfterRunning(for_time: min(12))\"?"],
    ),
    ("severity: 3.0", "severity: 3.0, when: [Level(0.2)]", &["did you mean \"Level(below: 0.2)\"?"]),
    (
        "severity: 3.0",
        "severity: 3.0, when: [Above(50)]",
        &["did you mean \"Temperature(when: Above(degC(50)))\"?"],
    ),
    (
        "severity: 3.0",
        "severity: 3.0, when: [Temperature(when: Above(50))]",
        &["did you mean \"Above(degC(50))\"?"],
    ),
    (
        "minutes: 30,",
        "minutes: 30, temperature: degC(\u{2212}5),",
        &["isn't the minus of the keyboard (it is U+2212)", "did you mean \"degC(-5)\"?"],
    ),
    ("minutes: 30", "minutes:\u{a0}30", &["a no-break space stands here (U+00A0)"]),
    ("minutes: 30,", "minutes: 30, fill: l(\u{a0}30),", &["a no-break space stands here (U+00A0)"]),
    ("    minutes: 30,", "\u{a0}   minutes: 30,", &["a no-break space stands here (U+00A0)"]),
    ("low: mbar(-50)", "low: mbar(-5000)", &["mbar(-5000) is outside mbar(-1100) … mbar(1000000)"]),
    ("minutes: 30,", "minutes: 30, stood: h(-2),", &["h(-2) is outside h(0) … h("]),
    ("plant: \"bench\"", "plant: a3-minibus", &["should be a text in quotes", "write \"a3-minibus\""]),
    (
        "(fault: \"F09\", at: \"filter in\",",
        "(fault: \"F09\",",
        &["say which in \"at\", such as at: \"", "possible: "],
    ),
];

#[test]
fn a_slip_of_notation_is_told_by_its_name() {
    let mut failures = String::new();
    for (from, to, expected) in WRITTEN {
        let said = told(from, to);
        for words in expected.iter().filter(|words| !said.contains(**words)) {
            failures += &format!("{to:?}: “{words}” isn't said in\n{said}\n");
        }
    }
    assert!(failures.is_empty(), "{failures}");
    let empty = scenario::check_text(None, "x.ron", "", &example::library()).to_string();
    assert!(empty.contains("Rubric( … ) or Course( … )"), "{empty}");
}

/// A joint misspelt in every line is one thing to say about the card, not one for each joint that has no range now.
#[test]
fn gaps_of_a_card_are_told_at_once() {
    let text = example::JOB
        .replace("(joint: \"pump in\"", "(joint: \"pmp in\"")
        .replace("(joint: \"filter in\"", "(joint: \"fliter in\"");
    let report = scenario::check_text(Some(Kind::Job), "job.ron", &text, &example::library());
    let gaps = report.diagnostics().into_iter().filter(|d| d.id.name == "card-gaps").count();
    assert_eq!(gaps, 1, "{report}");
}

#[test]
fn a_mark_before_a_text_is_skipped_wherever_people_write_one() {
    let folder = Folder::new();
    folder.run("new job first --into mine").ended(0);
    let marked = |name: &str| folder.write(name, [b"\xEF\xBB\xBF", folder.read(name).as_bytes()].concat());
    marked("mine/jobs/first.ron");
    folder.run("check mine/jobs/first.ron").ended(0).says("placeholder");
    folder.write("hands.txt", b"\xEF\xBB\xBFsafe protection\nwait 5\n");
    folder.run("sit first --jobs mine --actions hands.txt").ended(1);
    // the same text as an editor of long ago saves it
    let wide: Vec<u8> = [0xFEFF].into_iter().chain("Job(\n)".encode_utf16()).flat_map(u16::to_le_bytes).collect();
    folder.write("wide.ron", wide);
    folder.run("check wide.ron").ended(2).says("is text in UTF-16: save the file as UTF-8");
    folder.write("latin.ron", b"Job(\n  title: \"Gr\xFCn\",\n)");
    folder.run("check latin.ron").ended(2).says("in line 2 is written in another way): save the file as UTF-8");
    let log = std::fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/puff-logger.csv")).unwrap();
    folder.write("log.csv", [b"\xEF\xBB\xBF".as_slice(), &log].concat());
    folder.run("read log.csv").ended(0);
}

#[test]
fn results_are_never_written_over() {
    let folder = Folder::new();
    folder.write("hands.txt", "safe protection\nwait 5\n");
    let mark = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/filter-lucky.mark.json");
    let log = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/puff-logger.csv");
    for (line, file) in [
        ("pack primer-air --out exam.pack".to_owned(), "exam.pack"),
        ("sit primer-air --actions hands.txt --trace t.csv".to_owned(), "t.csv"),
        (format!("override {mark} --json o.json --assessor A --role B --reason C --outcome reached"), "o.json"),
        (format!("fit {log} --plant a1-van --plot p.svg"), "p.svg"),
    ] {
        folder.write(file, "kept");
        folder
            .run(&line)
            .ended(2)
            .complains(&format!("{file} exists and isn’t overwritten: remove it, or name another file"));
        assert_eq!(folder.read(file), "kept", "{line}");
    }
}

#[test]
fn what_lies_or_is_named_wrongly_is_told() {
    let folder = Folder::new();
    folder.run("new job first --into mine").ended(0);
    let text = folder.read("mine/jobs/first.ron");
    folder.write("mine/jobs/second.ron.txt", &text);
    folder.write("mine/jobs/third.RON", &text);
    let listed = folder.run("jobs --jobs mine").ended(0).says("first: ");
    let listed =
        listed.complains("second.ron.txt is left out, as its name doesn't end in .ron: rename it to second.ron");
    assert!(listed.err.contains("rename it to third.ron") && !listed.out.contains("second:"), "{}", listed.err);
    folder.run("check mine").ended(2).says("rename it to second.ron").says("rename it to third.ron");
    folder.run("jobs --jobs mine/jobs").ended(2).complains("give the folder above it, --jobs mine");
    folder.run("sit first --jobs mine/jobs/first.ron").ended(2).complains("first --jobs mine");
    for command in ["fair", "preview", "sit"] {
        let ran = folder.run(&format!("{command} mine/jobs/first.ron")).ended(2);
        ran.complains("is a file").complains("first --jobs mine");
    }
    folder.run("new job bypass-puff --into mine").ended(0).says("a job called bypass-puff is built in");
    folder.write("log.csv", "time_s,line_pressure_mbar_gauge\n0,1\n1,2\n");
    folder.run("check log.csv").ended(2).says("this is a recording").says("faultbay read log.csv");
}

/// A printed command finds what the run itself found.
#[test]
fn a_printed_command_can_be_copied() {
    let folder = Folder::new();
    folder.write("hands.txt", "safe protection\nwait 5\n");
    folder.run("new job first --into mine").ended(0);
    let packed = folder.run("pack first --jobs mine --out mine.pack").ended(0);
    packed.says("faultbay fair first --jobs mine").says("`faultbay check mine/jobs/first.ron`");
    let sat = folder.run("sit first --jobs mine --actions hands.txt --attempt a.jsonl").ended(1);
    sat.says("Go on with `faultbay sit first --attempt a.jsonl --resume --jobs mine`.");
    folder.write("end.txt", "submit nothing-wrong 55\nhandback\n");
    let sat = folder.run("sit first --jobs mine --actions end.txt --attempt a.jsonl --resume").ended(0);
    sat.says("Mark it with `faultbay mark a.jsonl --jobs mine`.");
}

#[test]
fn a_card_that_calls_the_sound_vehicle_faulty_is_told_by_the_check() {
    let folder = Folder::new();
    let library = scenario::Library::builtin();
    let job = library.text(Kind::Job, "bypass-puff").unwrap();
    let line = job.lines().find(|l| l.contains("\"pump in\", state: \"idle\"")).unwrap();
    let wrong = "        (joint: \"pump in\", state: \"idle\", low: mbar(2000), high: mbar(3000)),";
    folder.write("card.ron", job.replacen(line, wrong, 1));
    let told = folder.run("check card.ron").ended(0);
    told.says("FB-S130 card-misses-sound").says("in idle, the card says 2000 … 3000");
    std::fs::create_dir_all(folder.path("mine/jobs")).unwrap();
    folder.write("mine/jobs/card.ron", folder.read("card.ron"));
    folder.run("pack card --jobs mine --out card.pack").ended(0).says("the check warns of something in card");
}

#[cfg(feature = "seal")]
#[test]
fn slips_with_what_opens_a_pack_are_told_in_plain_words() {
    let folder = Folder::new();
    folder.write("hands.txt", "safe protection\nwait 5\n");
    folder.run("key sealing --out board.key").ended(0);
    folder.run("key signing --out sign.key").ended(0);
    folder.write("secret", b"\xEF\xBB\xBFfour words nobody guesses\r\n");
    folder.write("plain", "four words nobody guesses\n");
    folder.run("pack primer-air --to board.key.public --out keyed.pack").ended(0);
    folder.run("pack primer-air --seal --passphrase secret --out worded.pack").ended(0);
    folder.run("jobs --jobs worded.pack --passphrase plain").ended(0);
    folder
        .run("jobs --jobs keyed.pack")
        .ended(2)
        .complains("is sealed for a key, and no passphrase opens it: give --key FILE");
    folder.run("jobs --jobs worded.pack --key board.key").ended(2).complains("is sealed with a passphrase");
    let with = |key: &str| folder.run(&format!("jobs --jobs keyed.pack --key {key}")).ended(2);
    with("board.key.public").complains("was given away and seals");
    with("sign.key").complains("sign.key holds a key of signatures");
    with("plain").complains("holds no sealing key");
    folder.write("cut.key", folder.read("board.key").replace("AGE-SECRET-KEY-1", "AGE-SECRET-KEY-1Q"));
    with("cut.key").complains("isn't whole");
    let to = folder.run("pack primer-air --to sign.key.public --out slip.pack").ended(2);
    to.complains("is a key of signatures");
    for told in [with("sign.key"), with("cut.key")] {
        assert!(!told.err.contains("Bech32") && !told.err.contains("HRP"), "{}", told.err);
    }
    // a byte order mark before a key is no part of it
    folder.write("marked.key", [b"\xEF\xBB\xBF", folder.read("board.key").as_bytes()].concat());
    folder.run("jobs --jobs keyed.pack --key marked.key").ended(0);
}

/// An author's own files aren't the job that a candidate sat from the sealed pack.
#[cfg(feature = "seal")]
#[test]
fn who_marks_by_the_wrong_files_is_sent_to_the_pack() {
    let folder = Folder::new();
    folder.write("secret", "four words nobody guesses\n");
    folder.write("hands.txt", "safe protection\nsubmit nothing-wrong 55\nhandback\n");
    folder.run("pack primer-air --seal --passphrase secret --out exam.pack").ended(0);
    let pack = "--jobs exam.pack --passphrase secret";
    let sat = folder.run(&format!("sit primer-air --actions hands.txt --attempt a.jsonl {pack}")).ended(0);
    sat.says(&format!("`faultbay mark a.jsonl {pack}`"));
    folder.run("mark a.jsonl").ended(2).complains("What was sat from a sealed pack needs that very pack");
}
