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

#[test]
fn a_pack_from_a_stranger_is_believed_within_limits_only() {
    let folder = folder();
    folder.write("odd.pack", r#"{"faultbay-pack":1,"files":[{"kind":"job","name":"../x","text":""}]}"#);
    let jobs = folder.run("jobs --jobs odd.pack");
    assert_eq!(jobs.code, Some(2));
    assert!(jobs.err.contains("odd.pack") && jobs.err.contains("a name is 1 to 64 of a–z"), "{}", jobs.err);
    folder.write("odd.pack", b"\xff\xfe\x00");
    let jobs = folder.run("jobs --jobs odd.pack");
    assert_eq!(jobs.code, Some(2));
    assert!(jobs.err.contains("isn't text in UTF-8"), "{}", jobs.err);
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
}
