//! Commands that are printed to be copied: with the options that the run itself was given, quoted as a shell wants it.

use std::path::Path;

use super::seal::Secret;

/// A word as a shell takes it: in quotes where it holds a sign that means something there.
pub fn word(text: &str) -> String {
    let is_plain = |c: char| c.is_alphanumeric() || "-_./:@+,=%".contains(c) || cfg!(windows) && "\\~".contains(c);
    if !text.is_empty() && text.chars().all(is_plain) {
        text.to_owned()
    } else if cfg!(windows) {
        format!("\"{text}\"")
    } else {
        format!("'{}'", text.replace('\'', r"'\''"))
    }
}

/// The same of a path.
pub fn path(path: &Path) -> String {
    word(&path.display().to_string())
}

/// The options by which the same files are found again, each with a blank before it; empty where there were none.
pub fn options(jobs: Option<&Path>, secret: &Secret) -> String {
    let Some(jobs) = jobs else { return String::new() };
    let mut all = format!(" --jobs {}", path(jobs));
    // a folder isn't sealed; there the key is for something else
    let opens = [("passphrase", &secret.passphrase), ("key", &secret.key)];
    for (name, file) in opens.into_iter().filter(|_| jobs.is_file()) {
        if let Some(file) = file {
            all += &format!(" --{name} {}", path(file));
        }
    }
    all
}

#[cfg(all(test, not(windows)))]
mod tests {
    use super::*;

    #[test]
    fn what_a_shell_would_take_apart_is_quoted() {
        assert_eq!(word("mine/jobs-2_a.ron"), "mine/jobs-2_a.ron");
        assert_eq!(word("größe"), "größe");
        assert_eq!(word("my jobs"), "'my jobs'");
        assert_eq!(word("it's"), r"'it'\''s'");
        assert_eq!(word("$HOME"), "'$HOME'");
        assert_eq!(word(""), "''");
    }

    #[test]
    fn a_folder_needs_no_key() {
        let secret = Secret { key: Some("a.key".into()), ..Secret::default() };
        assert_eq!(options(None, &secret), "");
        assert_eq!(options(Some(Path::new("my jobs")), &secret), " --jobs 'my jobs'");
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml");
        assert_eq!(options(Some(&file), &secret), format!(" --jobs {} --key a.key", path(&file)));
    }
}
