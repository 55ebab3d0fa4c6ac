//! `faultbay new KIND NAME`: a file to begin with.

use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::Path;

use anyhow::{Context, bail};

use super::exit::Exit;
use super::say::plain;
use crate::scenario::{Kind, starter};

/// Writes it where the check and `--jobs` look for it. A file that exists isn't touched.
pub fn run(kind: Kind, name: &str, into: &Path, out: &mut impl Write) -> anyhow::Result<Exit> {
    let odd = name.chars().find(|c| !(c.is_alphanumeric() || "-_".contains(*c)));
    if name.is_empty() || name.chars().count() > 60 || odd.is_some() {
        bail!("a name is made of letters, digits and hyphens, at most 60: “{}” can\u{2019}t be one", plain(name));
    }
    let folder = into.join(kind.folder());
    let path = folder.join(format!("{name}.ron"));
    fs::create_dir_all(&folder).with_context(|| format!("can\u{2019}t create {}", folder.display()))?;
    let file = OpenOptions::new().write(true).create_new(true).open(&path);
    let mut file = match file {
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {
            bail!("{} exists and isn\u{2019}t overwritten: take another name", path.display())
        }
        other => other.with_context(|| format!("can\u{2019}t write {}", path.display()))?,
    };
    file.write_all(starter::starter(kind, name).as_bytes())?;
    let shown = path.display();
    writeln!(out, "{shown} is written and can be used as it stands. Make it yours; what is left to write says")?;
    writeln!(out, "  faultbay check {shown}")?;
    if kind == Kind::Job {
        writeln!(out, "  faultbay sit {name} --jobs {}", into.display())?;
        writeln!(out, "  faultbay fair {name} --jobs {}", into.display())?;
    }
    Ok(Exit::Done)
}
