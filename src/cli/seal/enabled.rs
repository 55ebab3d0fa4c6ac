//! Sealing and opening through the `age` library.

use std::io::Read as _;
use std::path::Path;

use age::secrecy::SecretString;
use age::{scrypt, x25519};
use anyhow::{Context, Result, anyhow, bail};

use super::Secret;
use super::asked::{Taken, at_the_terminal, in_three_tries, told, typed};
use crate::attempt::signature::{CHECKING, SIGNING};
use crate::cli::say::plain;
use crate::diag::{is_in_letters, text_of};
use crate::scenario::pack::LARGEST_PACK;

/// Shortest passphrase that seals, characters: shorter ones are guessed in an afternoon.
const SHORTEST: usize = 12;
/// Hardest passphrase work that is done for a stranger's file, as power of two: some seconds.
const MOST_WORK: u8 = 20;
/// Largest file with a secret, bytes.
const LARGEST_SECRET: u64 = 4096;

/// Opens a sealed pack.
///
/// # Errors
/// The secret is wrong or missing, or the file was changed.
pub fn open(bytes: &[u8], secret: &Secret) -> Result<String> {
    if bytes.len() > 2 * LARGEST_PACK {
        bail!("the sealed pack is larger than {} MiB", (2 * LARGEST_PACK) >> 20);
    }
    if is_in_letters(bytes) {
        bail!("the pack was written in letters after it was sealed: turn it into the plain form of age first");
    }
    let wrong = |error: age::DecryptError| match error {
        age::DecryptError::NoMatchingKeys
        | age::DecryptError::DecryptionFailed
        | age::DecryptError::InvalidMac
        | age::DecryptError::Io(_) => {
            anyhow!("the pack doesn't open: another passphrase or key sealed it, or the file was changed")
        }
        other => anyhow!("the pack doesn't open: {other}"),
    };
    let for_a_key = is_for_a_key(bytes);
    let text = match &secret.key {
        Some(file) if for_a_key == Some(false) => {
            bail!("the pack is sealed with a passphrase, and no key opens it: leave --key {} out", file.display());
        }
        Some(file) => {
            let lines = secret_file(file)?;
            let line = lines.lines().map(str::trim).find(|l| !l.is_empty() && !l.starts_with('#')).unwrap_or("");
            let key: x25519::Identity =
                line.parse().map_err(|_: &str| anyhow!("{} {}", file.display(), no_opening_key(line)))?;
            age::decrypt(&key, bytes).map_err(wrong)?
        }
        None => {
            if for_a_key == Some(true) {
                bail!(
                    "the pack is sealed for a key, and no passphrase opens it: give --key FILE, the half that was kept"
                );
            }
            let with = |said: String| {
                let mut identity = scrypt::Identity::new(SecretString::from(said));
                identity.set_max_work_factor(MOST_WORK);
                age::decrypt(&identity, bytes)
            };
            match &secret.passphrase {
                Some(file) => with(first_line(file)?).map_err(wrong)?,
                None => in_three_tries(
                    at_the_terminal,
                    |said| match with(said) {
                        Ok(text) => Ok(Taken::Right(text)),
                        // another passphrase may fit; whatever else is wrong stays so
                        Err(age::DecryptError::NoMatchingKeys | age::DecryptError::DecryptionFailed) => {
                            Ok(Taken::Wrong(
                                "the pack doesn't open: another passphrase sealed it, or the file was changed"
                                    .into(),
                            ))
                        }
                        Err(error) => Err(wrong(error)),
                    },
                    told,
                )?,
            }
        }
    };
    String::from_utf8(text).context("the opened pack isn't text")
}

/// Whether keys open a pack and no passphrase does, by the head of the file; none where that can't be read.
fn is_for_a_key(bytes: &[u8]) -> Option<bool> {
    age::Decryptor::new(bytes).ok().map(|closed| !closed.is_scrypt())
}

/// What stands in a file in place of the half of a key that opens.
fn no_opening_key(line: &str) -> &'static str {
    if line.starts_with("AGE-SECRET-KEY") {
        "holds a sealing key that isn't whole: a letter is missing or changed; take the copy that was kept"
    } else if line.starts_with("age1") {
        "holds the half of a sealing key that was given away and seals: what opens is the half that was kept, without .public"
    } else if line.starts_with(SIGNING) || line.starts_with(CHECKING) {
        "holds a key of signatures: a pack is opened with the sealing key that `faultbay key sealing` wrote"
    } else {
        "holds no sealing key: its line begins with AGE-SECRET-KEY, as `faultbay key sealing` writes it"
    }
}

/// What is wrong with a word that should be the half of a key to seal for.
fn no_public_key(key: &str) -> &'static str {
    if key.starts_with("age1") {
        "isn't whole: a letter is missing or changed"
    } else if key.starts_with(SIGNING) || key.starts_with(CHECKING) {
        "is a key of signatures"
    } else {
        "is none"
    }
}

/// A public key as it was given: itself, or a file that holds it.
fn public_key(word: &str) -> Result<String> {
    let path = std::path::Path::new(word);
    if !path.is_file() {
        return Ok(word.to_owned());
    }
    let text = secret_file(path)?;
    let key = text.lines().map(str::trim).find(|line| !line.is_empty() && !line.starts_with('#'));
    match key {
        // the half that opens isn't given away by a slip
        Some(key) if key.starts_with("AGE-SECRET-KEY") => {
            bail!("{} is the half to keep; name the one that ends in .public", path.display())
        }
        key => Ok(key.unwrap_or_default().to_owned()),
    }
}

/// Seals a pack for the other halves of keys, or with a passphrase when there are none.
///
/// # Errors
/// A key that isn't one, or a passphrase that is too short.
pub fn close(text: &str, to: &[String], secret: &Secret) -> Result<Vec<u8>> {
    if to.is_empty() {
        let passphrase = new_passphrase(secret)?;
        return age::encrypt(&scrypt::Recipient::new(passphrase), text.as_bytes()).context("sealing failed");
    }
    let recipients: Vec<x25519::Recipient> = to
        .iter()
        .map(|word| {
            let key = public_key(word)?;
            key.parse().map_err(|_: &str| {
                anyhow!(
                    "“{}” should be a key to seal for, and {}: it begins with age1, or is the file ending in .public that \
                     `faultbay key sealing` wrote",
                    plain(word),
                    no_public_key(&key)
                )
            })
        })
        .collect::<Result<_>>()?;
    let each = recipients.iter().map(|r| r as &dyn age::Recipient);
    let closed = age::Encryptor::with_recipients(each).context("sealing failed")?;
    let mut bytes = Vec::new();
    let mut writer = closed.wrap_output(&mut bytes).context("sealing failed")?;
    std::io::Write::write_all(&mut writer, text.as_bytes())?;
    writer.finish()?;
    Ok(bytes)
}

/// Letters that nobody can guess.
pub fn salt() -> String {
    // a key that is thrown away: asking the library for one is asking the operating system for randomness
    x25519::Identity::generate().to_public().to_string()
}

/// A passphrase to seal with: long enough, and typed twice where it is typed.
fn new_passphrase(secret: &Secret) -> Result<SecretString> {
    let too_short = |said: &str| {
        (said.chars().count() < SHORTEST).then(|| {
            format!(
                "the passphrase is too short: at least {SHORTEST} characters, such as four words that nobody would guess"
            )
        })
    };
    let said = match &secret.passphrase {
        Some(file) => {
            let said = first_line(file)?;
            if let Some(why) = too_short(&said) {
                bail!(why);
            }
            said
        }
        None => in_three_tries(
            at_the_terminal,
            |said| {
                if let Some(why) = too_short(&said) {
                    return Ok(Taken::Wrong(why));
                }
                Ok(if typed(at_the_terminal, "The same again: ")? == said {
                    Taken::Right(said)
                } else {
                    Taken::Wrong("the two passphrases differ; nothing was sealed".into())
                })
            },
            told,
        )?,
    };
    Ok(SecretString::from(said))
}

fn first_line(file: &Path) -> Result<String> {
    Ok(secret_file(file)?.lines().next().unwrap_or("").to_owned())
}

fn secret_file(file: &Path) -> Result<String> {
    let failed = || format!("can't read {}", file.display());
    let mut bytes = Vec::new();
    let opened = std::fs::File::open(file).with_context(failed)?;
    opened.take(LARGEST_SECRET).read_to_end(&mut bytes).with_context(failed)?;
    text_of(bytes).map_err(|why| anyhow!("{} {why}", file.display()))
}
