//! Signed attempts, as a college collects them.

use crate::shell::Folder;

/// A sitting that was recorded, and a key.
fn collected() -> Folder {
    let folder = Folder::new();
    folder.write("hands.txt", "safe protection\nwait 5\nask when\nsubmit nothing-wrong 60\nhandback\n");
    folder.run("sit bypass-puff --seed 3 --actions hands.txt --attempt a.jsonl").ended(0);
    let made = folder.run("key signing --out desk.key --whose Examinations").ended(0);
    let secret = folder.read("desk.key");
    assert!(secret.starts_with("# The signing key of Examinations"), "{secret}");
    // what is to be kept isn't said
    assert!(!made.out.contains(secret.lines().nth(1).unwrap()), "{}", made.out);
    folder
}

#[test]
fn a_signature_fits_the_whole_attempt_and_nothing_else() {
    let folder = collected();
    folder.run("verify a.jsonl").ended(0);
    folder.run("verify a.jsonl --signed-by desk.key.public").ended(2).complains("isn't signed");
    let signed = folder.run("sign a.jsonl --key desk.key").ended(0);
    assert!(signed.out.contains("by key "), "{}", signed.out);
    folder.run("sign a.jsonl --key desk.key").ended(2).complains("isn't overwritten");
    let seen = folder.run("verify a.jsonl --signed-by desk.key.public").ended(0);
    assert!(seen.out.contains("none changed") && seen.out.contains("that of desk.key.public"), "{}", seen.out);
    // without its last line the chain still holds; the signature doesn't
    let whole = folder.read("a.jsonl");
    let short = &whole[..whole.trim_end().rfind('\n').unwrap() + 1];
    folder.write("a.jsonl", short);
    folder.run("verify a.jsonl").ended(2).complains("doesn't fit");
    folder.run("mark a.jsonl").ended(2).complains("doesn't fit");
    let without = Folder::new();
    without.write("a.jsonl", short);
    without.run("verify a.jsonl").ended(0);
    // somebody else's signature under the whole attempt fits, and is nobody's whom one trusts
    folder.write("a.jsonl", &whole);
    folder.run("key signing --out other.key").ended(0);
    std::fs::remove_file(folder.path("a.jsonl.signature")).unwrap();
    folder.run("sign a.jsonl --key other.key").ended(0);
    folder.run("verify a.jsonl").ended(0);
    folder.run("mark a.jsonl --signed-by desk.key.public").ended(2).complains("none of those that are trusted");
    folder.run("verify a.jsonl --signed-by desk.key.public --signed-by other.key.public").ended(0);
}

#[test]
fn a_mark_says_by_which_key_the_attempt_was_signed() {
    let folder = collected();
    folder.run("sign a.jsonl --key desk.key").ended(0);
    let marked = folder.run("mark a.jsonl --signed-by desk.key.public").ended(0);
    assert!(
        marked.out.contains("Signed by key ") && marked.out.contains("that of desk.key.public"),
        "{}",
        marked.out
    );
    let json = folder.run("mark a.jsonl --json").ended(0);
    assert!(serde_json::from_str::<serde_json::Value>(&json.out).is_ok() && json.err.contains("Signed by key "));
}

#[test]
fn slips_with_keys_are_told() {
    let folder = collected();
    folder.run("sign a.jsonl").ended(2).complains("faultbay key signing");
    folder.run("sign a.jsonl --key desk.key.public").ended(2).complains("no line holds a key");
    folder.run("sign nothing.jsonl --key desk.key").ended(2).complains("nothing.jsonl");
    let key = folder.read("desk.key");
    let end = if key.trim_end().ends_with('0') { "1" } else { "0" };
    folder.write("slip.key", format!("{}{end}\n", &key.trim_end()[..key.trim_end().len() - 1]));
    folder.run("sign a.jsonl --key slip.key").ended(2).complains("copied wrongly");
    folder.write("a.jsonl", folder.read("a.jsonl").trim_end());
    folder.run("sign a.jsonl --key desk.key").ended(2).complains("lacks its line end");
    assert!(!folder.has("a.jsonl.signature"));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let mode = std::fs::metadata(folder.path("desk.key")).unwrap().permissions().mode();
        assert_eq!(mode & 0o077, 0, "{mode:o}");
    }
}
