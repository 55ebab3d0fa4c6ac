//! Keys and signatures on disk.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::{Path, PathBuf};

use age::secrecy::ExposeSecret;
use anyhow::{Context, Result, anyhow, bail};

use super::beside;
use crate::attempt::signature::{CheckingKey, LARGEST, Signature, SigningKey};
use crate::attempt::{Attempt, MOST_BYTES, Warning};
use crate::cli::args;
use crate::cli::exit::Exit;
use crate::cli::job::read_file;
use crate::cli::say::plain;
use crate::diag::text_of;

/// Thirty-two bytes that nobody can guess. They come from the library that makes sealing keys, which asks the operating
/// system; the hash keeps the two kinds of keys apart.
fn secret() -> [u8; 32] {
    let identity = age::x25519::Identity::generate();
    blake3::derive_key("faultbay 2026 signing key", identity.to_string().expose_secret().as_bytes())
}

/// A new file that only its owner reads; one that exists isn't touched.
fn create(path: &Path, text: &str, is_secret: bool) -> Result<()> {
    let failed = || format!("can't write {}; a file that exists isn't overwritten", path.display());
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    if is_secret {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(0o600);
    }
    #[cfg(not(unix))]
    let _ = is_secret;
    let mut file = options.open(path).with_context(failed)?;
    file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).with_context(failed)
}

/// Makes a key: the half to keep in the file, the half to give away beside it.
///
/// # Errors
/// A file can't be written, or exists.
pub fn key(typed: &args::Key, out: &mut impl Write) -> Result<Exit> {
    let whose = typed.whose.as_deref().map_or_else(String::new, |w| format!(" of {}", plain(w)));
    let (kind, keep, give, name) = match typed.kind {
        args::KeyKind::Signing => {
            let key = SigningKey::from_secret(&secret());
            ("signing", key.line(), key.checking().line(), key.checking().name())
        }
        args::KeyKind::Sealing => {
            let key = age::x25519::Identity::generate();
            let give = key.to_public().to_string();
            ("sealing", key.to_string().expose_secret().to_owned(), give.clone(), give)
        }
    };
    let mut public = typed.out.as_os_str().to_owned();
    public.push(".public");
    let public = PathBuf::from(public);
    // nothing is half made
    if public.exists() {
        bail!("{} exists and isn't overwritten: take another name", public.display());
    }
    create(&typed.out, &format!("# The {kind} key{whose}. Keep it to yourself, and keep a copy.\n{keep}\n"), true)?;
    create(&public, &format!("# The {kind} key{whose}: the half to give away.\n{give}\n"), false)?;
    writeln!(out, "{} holds the {kind} key: keep it to yourself, and keep a copy.", typed.out.display())?;
    writeln!(out, "{} holds the half to give away: {name}", public.display())?;
    match typed.kind {
        args::KeyKind::Signing => {
            writeln!(out, "  faultbay sign ATTEMPT --key {}", typed.out.display())?;
            writeln!(out, "  faultbay verify ATTEMPT --signed-by {}", public.display())?;
        }
        args::KeyKind::Sealing => {
            writeln!(out, "  faultbay pack JOB --out FILE --to {give}")?;
            writeln!(out, "  faultbay sit JOB --jobs FILE --key {}", typed.out.display())?;
        }
    }
    Ok(Exit::Done)
}

fn text(path: &Path) -> Result<String> {
    let bytes = read_file(path, LARGEST)?;
    text_of(bytes).map_err(|why| anyhow!("{} {why}", path.display()))
}

/// The attempt's bytes, once it is found to be one that was only ever added to.
fn attempt_bytes(path: &Path) -> Result<(Attempt, Vec<u8>)> {
    let bytes = read_file(path, MOST_BYTES)?;
    let (attempt, warnings) = Attempt::read(&bytes).map_err(|error| anyhow!("{}, {error}", path.display()))?;
    if let Some(warning) =
        warnings.iter().find(|w| matches!(w, Warning::TornLine { .. } | Warning::NoLineEnd { .. }))
    {
        bail!("{}: {warning}; resume and end the sitting, or take the file as it was written", path.display());
    }
    Ok((attempt, bytes))
}

/// Signs an attempt into a file beside it.
///
/// # Errors
/// The attempt was changed, the key can't be read, or a signature is there already.
pub fn sign(attempt: &Path, key: Option<&Path>, out: &mut impl Write) -> Result<Exit> {
    let Some(key) = key else {
        bail!("no key: give --key FILE; `faultbay key signing --out FILE` makes one");
    };
    let lines = text(key)?;
    if lines.contains("AGE-SECRET-KEY") {
        bail!("{} is a sealing key; `faultbay key signing` makes one that signs", key.display());
    }
    let signing = SigningKey::read(&lines).map_err(|why| anyhow!("{}: {why}", key.display()))?;
    let (read, bytes) = attempt_bytes(attempt)?;
    let path = beside(attempt);
    create(&path, &signing.sign(&bytes).text(), false)?;
    writeln!(
        out,
        "{} signs {} with {} lines, by key {}.",
        path.display(),
        attempt.display(),
        read.entries().len() + 1,
        signing.checking().name()
    )?;
    Ok(Exit::Done)
}

/// The keys that are trusted.
fn keys(files: &[PathBuf]) -> Result<Vec<(CheckingKey, String)>> {
    let one = |file: &PathBuf| {
        let key = CheckingKey::read(&text(file)?).map_err(|why| anyhow!("{}: {why}", file.display()))?;
        Ok((key, file.display().to_string()))
    };
    files.iter().map(one).collect()
}

/// What is to be said of the signature beside an attempt; nothing when there is none and none is asked for.
///
/// # Errors
/// It doesn't fit, can't be read, or isn't of a key that is trusted.
pub fn told(attempt: &Path, trusted: &[PathBuf]) -> Result<Option<String>> {
    let path = beside(attempt);
    let keys = keys(trusted)?;
    if !path.exists() {
        if !keys.is_empty() {
            bail!("{} isn't signed: there is no {}", attempt.display(), path.display());
        }
        return Ok(None);
    }
    let failed = |why| anyhow!("{}: {why}", path.display());
    let signature = Signature::read(&text(&path)?).map_err(failed)?;
    signature.check(&read_file(attempt, MOST_BYTES)?).map_err(failed)?;
    let name = signature.key.name();
    match keys.iter().find(|(key, _)| *key == signature.key) {
        Some((_, file)) => Ok(Some(format!("Signed by key {name}, which is that of {}.", plain(file)))),
        None if keys.is_empty() => Ok(Some(format!(
            "Signed by key {name}. Whose that is, it doesn't say: compare it with the key that you trust, or give \
             --signed-by FILE."
        ))),
        None => bail!("{} is signed by key {name}, which is none of those that are trusted", attempt.display()),
    }
}

/// Says whether an attempt is as it was written and as it was signed.
///
/// # Errors
/// It isn't.
pub fn verify(attempt: &Path, trusted: &[PathBuf], out: &mut impl Write) -> Result<Exit> {
    let (read, _) = attempt_bytes(attempt)?;
    let signed = told(attempt, trusted)?;
    writeln!(out, "{}: {} lines, none changed.", attempt.display(), read.entries().len() + 1)?;
    let unsigned = || {
        "Not signed: lines may be missing at the end, and who knows the format can write another attempt."
            .to_owned()
    };
    writeln!(out, "{}", signed.unwrap_or_else(unsigned))?;
    Ok(Exit::Done)
}
