//! Packs of jobs on disk, open and sealed, as an instructor and a candidate use them.

use crate::shell::Folder;

const SIT: &str = "sit primer-air --seed 3 --actions hands.txt";

fn folder() -> Folder {
    let folder = Folder::new();
    folder.write("hands.txt", "safe protection\nwait 5\n");
    folder
}

#[test]
fn a_pack_serves_jobs_like_a_folder() {
    let folder = folder();
    let packed = folder.run("pack primer-air bypass-puff --out friday.pack");
    assert_eq!(packed.code, Some(0), "{}", packed.err);
    assert!(packed.out.contains("holds 4 files with primer-air, bypass-puff"), "{}", packed.out);
    // the pack comes first: a changed title in it is what is listed
    let changed = folder.read("friday.pack").replace("Shakes herself awake", "Shakes at the gate");
    folder.write("friday.pack", changed);
    let jobs = folder.run("jobs --jobs friday.pack");
    assert!(jobs.out.contains("Shakes at the gate"), "{}", jobs.out);
    let sat = folder.run(&format!("{SIT} --jobs friday.pack"));
    assert_ne!(sat.code, Some(2), "{}", sat.err);
}

/// Nobody hands a job round without being told what the check warns of, and that nobody looked whether it is fair.
#[test]
fn who_packs_a_job_is_told_what_is_doubtful_about_it() {
    let folder = folder();
    folder.run("new job half-done --into mine").ended(0);
    let packed = folder.run("pack half-done primer-air --jobs mine --out mine.pack").ended(0);
    packed.says("the check warns of 4 things in half-done").says("whether half-done is fair wasn\u{2019}t checked");
    // what is built in was looked at already
    let packed = folder.run("pack primer-air --out built-in.pack").ended(0);
    assert!(!packed.out.contains("Mind"), "{}", packed.out);
}

#[test]
fn a_pack_from_a_stranger_is_believed_within_limits_only() {
    let folder = folder();
    folder.write("odd.pack", r#"{"faultbay-pack":1,"files":[{"kind":"job","name":"../x","text":""}]}"#);
    let jobs = folder.run("jobs --jobs odd.pack");
    assert_eq!(jobs.code, Some(2));
    assert!(jobs.err.contains("odd.pack") && jobs.err.contains("a name is 1 to 64 letters"), "{}", jobs.err);
    folder.write("odd.pack", b"\xff\xfe\x00");
    let jobs = folder.run("jobs --jobs odd.pack");
    assert_eq!(jobs.code, Some(2));
    assert!(jobs.err.contains("odd.pack is text in UTF-16: save the file as UTF-8"), "{}", jobs.err);
}

/// What a file says of its place in a pack is what it would say alone, and a pack that breaks a limit is told as one.
#[test]
fn a_pack_is_checked_file_by_file() {
    let folder = folder();
    folder.run("pack primer-air bypass-puff --out friday.pack").ended(0);
    folder.run("check friday.pack").ended(0).says("4 files checked, nothing to report");
    let broken = folder.read("friday.pack").replace("fault: \\\"F15\\\"", "fault: \\\"F99\\\"");
    folder.write("friday.pack", broken);
    let checked = folder.run("check friday.pack").ended(2);
    checked.says("FB-S017 unknown-fault").says("friday.pack:jobs/bypass-puff.ron");
    folder.write("friday.pack", r#"{"faultbay-pack":1,"files":[{"kind":"job","name":"../x","text":""}]}"#);
    folder.run("check friday.pack").ended(2).says("FB-S011 unreadable").says("a name is 1 to 64 letters");
}

/// Whoever hands a sealed file to something that reads is told that it is sealed, and what to do; nothing is asked or opened.
#[test]
fn a_sealed_file_is_told_as_one() {
    let folder = folder();
    let text = "age-encryption.org/v1\n-> scrypt x 10\n";
    folder.write("exam.pack", [text.as_bytes(), b"\xff\xfe\x00"].concat());
    folder.write("letters.ron", "-----BEGIN AGE ENCRYPTED FILE-----\nYWdlLWVuY3J5cHRpb24=\n");
    std::fs::create_dir_all(folder.path("mine/jobs")).unwrap();
    folder.write("mine/jobs/exam.ron", [text.as_bytes(), b"\xff\xfe\x00"].concat());
    for file in ["exam.pack", "letters.ron", "mine"] {
        let checked = folder.run(&format!("check {file}")).ended(2);
        let checked =
            checked.says("FB-S068 sealed").says("without its passphrase or its key").says("--passphrase SECRET");
        assert_eq!(checked.out.matches("error[").count(), 1, "{}", checked.out);
    }
    folder.run("jobs --jobs mine").ended(2).complains("FB-S068 sealed");
    folder.run("mark exam.pack").ended(2).complains("is sealed, as packs of jobs are, so it is not an attempt");
    folder.run("sit primer-air --actions exam.pack").ended(2).complains("so it is not a script");
    folder.run("read exam.pack").ended(2).complains("this file is sealed, as packs of jobs are");
    folder.run("explain sealed").ended(0).says("exam.pack --passphrase FILE");
}

#[cfg(not(feature = "seal"))]
#[test]
fn without_the_feature_a_sealed_pack_is_refused_by_name() {
    let folder = folder();
    folder.write("exam.pack", "age-encryption.org/v1\n-> scrypt x 10\n");
    let jobs = folder.run("jobs --jobs exam.pack");
    assert_eq!(jobs.code, Some(2));
    assert!(jobs.err.contains("without the feature “seal”"), "{}", jobs.err);
}

#[cfg(feature = "seal")]
mod sealed {
    use super::{SIT, folder};
    use crate::shell::Folder;

    fn exam() -> Folder {
        let folder = folder();
        folder.write("secret", "four words nobody guesses\n");
        let packed = folder.run("pack primer-air --seal --passphrase secret --out exam.pack");
        assert_eq!(packed.code, Some(0), "{}", packed.err);
        folder
    }

    #[test]
    fn a_sealed_pack_shows_nothing_and_opens_with_its_passphrase() {
        let folder = exam();
        let bytes = std::fs::read(folder.path("exam.pack")).unwrap();
        for word in ["primer-air", "hidden", "F09", "Quillan"] {
            assert!(!bytes.windows(word.len()).any(|w| w == word.as_bytes()), "{word} can be read");
        }
        let sat = folder.run(&format!("{SIT} --jobs exam.pack --passphrase secret"));
        assert_ne!(sat.code, Some(2), "{}", sat.err);
    }

    #[test]
    fn a_wrong_passphrase_and_a_changed_file_are_told_alike() {
        let folder = exam();
        folder.write("other", "four words nobody guessed\n");
        let jobs = folder.run("jobs --jobs exam.pack --passphrase other");
        assert_eq!(jobs.code, Some(2));
        assert!(jobs.err.contains("another passphrase or key sealed it"), "{}", jobs.err);
        let mut bytes = std::fs::read(folder.path("exam.pack")).unwrap();
        let last = bytes.len() - 1;
        bytes[last] ^= 1;
        folder.write("exam.pack", bytes);
        let jobs = folder.run("jobs --jobs exam.pack --passphrase secret");
        assert_eq!(jobs.code, Some(2));
        assert!(jobs.err.contains("doesn't open"), "{}", jobs.err);
    }

    /// What a check of a sealed pack says is how much is wrong and not what, so it tells nothing of what is sealed.
    #[test]
    fn a_sealed_pack_is_checked_with_what_opens_it() {
        let folder = exam();
        folder.run("check exam.pack --passphrase secret").ended(0).says("3 files checked, nothing to report");
        folder.write("other", "four words nobody guessed\n");
        let wrong = folder.run("check exam.pack --passphrase other").ended(2);
        wrong.says("FB-S068 sealed").says("another passphrase or key sealed it");
        // a pack from elsewhere, whose files nobody looked at before they were sealed
        folder.run("new job half-done --into mine").ended(0);
        let open = folder.run("pack half-done --jobs mine --out mine.pack").ended(0);
        assert!(open.out.contains("holds 3 files"), "{}", open.out);
        let broken = folder.read("mine.pack").replace("at: \\\"filter\\\"", "at: \\\"fliter\\\"");
        let sealed = age::encrypt(
            &age::scrypt::Recipient::new("four words nobody guesses".to_owned().into()),
            broken.as_bytes(),
        );
        folder.write("mine.pack", sealed.unwrap());
        let told = folder.run("check mine.pack --passphrase secret").ended(2);
        let told =
            told.says("of this sealed pack has 2 errors").says("FB-S128 sealed-remarks").says("has 4 warnings");
        assert!(!told.out.contains("fliter") && !told.out.contains("F15"), "{}", told.out);
    }

    #[test]
    fn a_short_passphrase_seals_nothing() {
        let folder = folder();
        folder.write("secret", "short\n");
        let packed = folder.run("pack primer-air --seal --passphrase secret --out exam.pack");
        assert_eq!(packed.code, Some(2));
        assert!(packed.err.contains("at least 12 characters"), "{}", packed.err);
        assert!(!folder.has("exam.pack"));
    }

    #[test]
    fn a_college_seals_for_its_own_key() {
        use age::secrecy::ExposeSecret;
        let folder = folder();
        let key = age::x25519::Identity::generate();
        folder.write("college.key", format!("# the college's\n{}\n", key.to_string().expose_secret()));
        let packed = folder.run(&format!("pack primer-air --to {} --out exam.pack", key.to_public()));
        assert_eq!(packed.code, Some(0), "{}", packed.err);
        let jobs = folder.run("jobs --jobs exam.pack --key college.key");
        assert_eq!(jobs.code, Some(0), "{}", jobs.err);
    }

    #[test]
    fn keys_that_were_made_here_seal_and_open() {
        let folder = folder();
        let made = folder.run("key sealing --out college.key --whose Brackmoor").ended(0);
        let public = folder.read("college.key.public");
        let public = public.lines().nth(1).unwrap();
        assert!(made.out.contains(public) && public.starts_with("age1"), "{}", made.out);
        folder.run(&format!("pack primer-air --to {public} --out exam.pack")).ended(0);
        folder.run("jobs --jobs exam.pack --key college.key").ended(0);
        folder.run("key sealing --out college.key").ended(2).complains("isn't overwritten");
    }

    /// A candidate's sitting in an examination: everything that it leaves behind, on the screen and on the disk.
    #[test]
    fn what_an_examination_leaves_with_the_candidate_shows_nothing_of_the_cause() {
        let folder = exam();
        folder.write(
            "hands.txt",
            "safe protection\nsafe ventilation\nsafe extinguisher\nsafe chocks\nsafe pressure-away\nlook filter\n\
             ask when\nfit \"pump in\"\npurge\nzero\nkey on\ncrank 8\nwait 30\nnote glass bubbles\nkey off\nwait 60\n\
             believe plugged-filter 50 nothing-wrong 50\nsubmit nothing-wrong 55\nremove\nhandback\n",
        );
        let line = "sit primer-air --seed 3 --actions hands.txt --attempt a.jsonl --trace a.csv --jobs exam.pack";
        let sat = folder.run(&format!("{line} --passphrase secret")).ended(0);
        let left = [folder.read("a.jsonl"), folder.read("a.csv"), sat.out, sat.err];
        assert!(left[0].contains("submit") && left[1].lines().count() > 100);
        let code = |text: &str| {
            let bytes = text.as_bytes();
            let digit = |i: usize| bytes.get(i).is_some_and(u8::is_ascii_digit);
            let word = |i: usize| i == 0 || !bytes[i - 1].is_ascii_alphanumeric();
            (0..bytes.len())
                .find(|&i| {
                    b"FNM".contains(&bytes[i])
                        && word(i)
                        && digit(i + 1)
                        && !bytes.get(i + 3).is_some_and(u8::is_ascii_alphanumeric)
                })
                .map(|i| text[i..].chars().take(3).collect::<String>())
        };
        let fault = faultbay::fault::by_code("F09").unwrap().name.to_lowercase();
        for text in &left {
            assert_eq!(code(text), None, "{text}");
            let lower = text.to_lowercase();
            // the cause, its place, how bad it is, what puts it right
            for word in [
                fault.as_str(),
                "air-ingress",
                "lets air in",
                "filter in",
                "filter inlet",
                "severity",
                "hidden",
                "reseal",
            ] {
                assert!(!lower.contains(word), "{word} is told in\n{text}");
            }
        }
        // two sealings of one job can't be told by their hash to be the same, so no cause can be tried against it
        let hash = |attempt: &str| {
            let head: serde_json::Value = serde_json::from_str(attempt.lines().next().unwrap()).unwrap();
            head["job_hash"].as_str().unwrap().to_owned()
        };
        folder.run("pack primer-air --seal --passphrase secret --out again.pack").ended(0);
        let line = line.replace("a.jsonl", "b.jsonl").replace("a.csv", "b.csv").replace("exam.pack", "again.pack");
        folder.run(&format!("{line} --passphrase secret")).ended(0);
        assert_ne!(hash(&left[0]), hash(&folder.read("b.jsonl")));
    }

    /// The half to give away is a word or the file that holds it; the half to keep isn't taken for it.
    #[test]
    fn a_pack_is_sealed_for_a_key_by_its_file() {
        let folder = folder();
        folder.run("key sealing --out board.key").ended(0);
        folder.run("pack primer-air --to board.key.public --out exam.pack").ended(0);
        let line = format!("{SIT} --jobs exam.pack --key board.key");
        assert_ne!(folder.run(&line).code, Some(2), "it opens with the other half");
        folder.run("pack primer-air --to board.key --out slip.pack").ended(2).complains("is the half to keep");
        folder.run("pack primer-air --to bored.key --out slip.pack").ended(2).complains("begins with age1");
        assert!(!folder.has("slip.pack"));
        folder.run(&format!("{SIT} --attempt a.jsonl"));
        folder.run("sign a.jsonl --key board.key").ended(2).complains("is a sealing key");
    }

    #[test]
    fn a_sealed_job_is_opened_to_be_sat_and_marked_and_for_nothing_else() {
        let folder = exam();
        for line in [
            "fair primer-air",
            "preview primer-air",
            "vary primer-air --count 1 --into out",
            "pack primer-air --out open.pack",
        ] {
            folder.run(&format!("{line} --jobs exam.pack --passphrase secret")).ended(2).complains("came sealed");
        }
        assert!(!folder.has("open.pack") && !folder.has("out"));
        // what is not in the pack is not secret
        folder.run("pack bypass-puff --out open.pack --jobs exam.pack --passphrase secret").ended(0);
        folder.run("sit primer-air --actions hands.txt --jobs exam.pack").ended(2);
    }
}
