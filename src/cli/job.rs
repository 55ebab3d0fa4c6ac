//! What the program means by what was typed: the job found, files read and opened, defaults filled in.

use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};

use super::say::plain;
use super::seal::Secret;
use super::{again, args, folder, fresh, pack};
use crate::attempt::{Attempt, MOST_BYTES, Sitting, Warning};
use crate::bay::words::Terms;
use crate::diag::{id, is_sealed, render, text_of};
use crate::plant::Plant;
use crate::scenario::model::Job;
use crate::scenario::{self, Kind, Library};

/// Seed when neither the job nor anybody gives one.
const SEED: u64 = 1;
/// Largest script, bytes.
const LARGEST_SCRIPT: usize = 4 << 20;

/// Where jobs come from: the folder that was named, then one beside the executable, then what is
/// built in.
pub struct Shelf {
    library: Library,
    sealed: Vec<String>,
    named: Option<PathBuf>,
    options: String,
}

impl Shelf {
    /// The shelf with this folder or pack before all others.
    pub fn new(named: Option<&Path>, secret: &Secret) -> anyhow::Result<Self> {
        let mut library = Library::builtin();
        let mut sealed = vec![];
        let beside = std::env::current_exe().ok().and_then(|exe| Some(exe.parent()?.join("scenarios")));
        for folder in beside.iter().map(PathBuf::as_path).filter(|folder| folder.is_dir()).chain(named) {
            if !folder.is_dir()
                && let Some(help) = folder::named_by_file(&folder.display().to_string(), Kind::Job)
            {
                bail!("{} is one file, and --jobs wants the folder of all: {help}", folder.display());
            }
            if folder.is_file() {
                sealed.extend(pack::lay_over(&mut library, folder, secret)?);
                continue;
            }
            if !folder.is_dir() {
                bail!("{} is neither a folder nor a pack", folder.display());
            }
            if let Some(why) = folder::misplaced(folder) {
                bail!(why);
            }
            for (file, why) in folder::left_out(folder) {
                // to the side: what is printed may be for a program
                let _ = writeln!(std::io::stderr(), "{} {why}", file.display());
            }
            let report = folder::lay_over(&mut library, folder);
            if report.has_errors() {
                bail!("not every file of {} can be used\n{}", folder.display(), render::text(&report));
            }
        }
        let options = again::options(named, secret);
        Ok(Self { library, sealed, named: named.map(Path::to_owned), options })
    }

    /// What a command that is printed to be copied needs to find the same files: options with a blank before each.
    pub fn options(&self) -> &str {
        &self.options
    }

    /// The file that a check of a job takes: its own, or the pack it came in.
    pub fn file_of(&self, job: &str) -> String {
        match &self.named {
            Some(pack) if pack.is_file() => again::path(pack),
            _ => again::word(self.library.entry(Kind::Job, job).map_or(job, |(file, _)| file)),
        }
    }

    /// The files behind it.
    pub fn library(&self) -> &Library {
        &self.library
    }

    /// Names of the jobs.
    pub fn names(&self) -> Vec<String> {
        self.library.jobs()
    }

    /// Whether a job was opened from a sealed pack.
    pub fn came_sealed(&self, name: &str) -> bool {
        self.sealed.iter().any(|s| s == name)
    }

    /// Refuses what tells the answer of a job that came sealed: it is opened to be sat and marked, and for nothing else.
    ///
    /// # Errors
    /// It came sealed.
    pub fn tells_answers_of(&self, name: &str) -> anyhow::Result<()> {
        if self.came_sealed(name) {
            bail!(
                "{} came sealed: it is opened to be sat and marked, and this would tell its answer. Who wrote it has \
                 the file that it was made from.",
                plain(name)
            );
        }
        Ok(())
    }

    /// Refuses a file where a name is wanted.
    fn is_name(&self, kind: Kind, name: &str) -> anyhow::Result<()> {
        if self.library.entry(kind, name).is_none()
            && let Some(help) = folder::named_by_file(name, kind)
        {
            bail!("“{}” is a file: {help}", plain(name));
        }
        Ok(())
    }

    /// The plant with this name.
    pub fn plant(&self, name: &str) -> anyhow::Result<Plant> {
        self.is_name(Kind::Plant, name)?;
        match scenario::load_plant(&self.library, name) {
            Ok((plant, _)) => Ok(plant),
            Err(report) => bail!("the plant “{}” can't be used\n{}", plain(name), render::text(&report)),
        }
    }

    /// The job with this name.
    pub fn job(&self, name: &str) -> anyhow::Result<Job> {
        self.is_name(Kind::Job, name)?;
        match scenario::load_job(&self.library, name) {
            Ok((job, _)) => Ok(job),
            Err(report) => bail!("the job “{}” can't be used\n{}", plain(name), render::text(&report)),
        }
    }
}

/// Where the lines of a sitting come from.
pub enum Script {
    /// A file, read and understood beforehand.
    Lines(Vec<String>),
    /// Whoever types, line by line.
    Typed,
}

/// `faultbay sit` as meant.
pub struct Sit {
    /// The bay and its record.
    pub sitting: Sitting,
    /// The file that the record goes to.
    pub record: Option<Record>,
    /// The lines.
    pub script: Script,
    /// Names that the lines may use.
    pub terms: Terms,
    /// Where to write the trace.
    pub trace: Option<PathBuf>,
    /// What to say about the record that is resumed.
    pub remarks: Vec<String>,
    /// What a command that goes on with it needs besides.
    pub options: String,
}

impl Sit {
    /// Finds, reads, checks and opens everything, before anything is done in the bay.
    pub fn meant(typed: args::Sit, shelf: &Shelf) -> anyhow::Result<Self> {
        // told before anything is done in the bay
        typed.trace.as_deref().map_or(Ok(()), fresh::is_free)?;
        let job = shelf.job(&typed.job)?;
        let terms = Terms::of(&job);
        let script = match typed.actions.as_os_str() == "-" {
            true => Script::Typed,
            false => Script::Lines(read_script(&typed.actions, &terms)?),
        };
        let (sitting, record, remarks) = match (&typed.attempt, typed.resume) {
            (Some(path), true) => resume(job, path)?,
            (path, _) => {
                let seed = typed.seed.or(job.vehicle).unwrap_or(SEED);
                let sitting = Sitting::begin(job, seed, typed.name.as_deref())
                    .map_err(|why| anyhow::anyhow!("the vehicle can't be built: {why}"))?;
                (sitting, path.as_deref().map(Record::create).transpose()?, Vec::new())
            }
        };
        let options = shelf.options().to_owned();
        Ok(Self { sitting, record, script, terms, trace: typed.trace, remarks, options })
    }
}

fn resume(job: Job, path: &Path) -> anyhow::Result<(Sitting, Option<Record>, Vec<String>)> {
    let (attempt, warnings) = read_attempt(path)?;
    let sitting = Sitting::resume(job, &attempt).with_context(|| format!("{} can't be resumed", path.display()))?;
    if sitting.is_over() {
        bail!("{} is complete: the vehicle was handed back", path.display());
    }
    let record = Record::append(path, &warnings)?;
    Ok((sitting, Some(record), warnings.iter().map(ToString::to_string).collect()))
}

/// Reads and verifies an attempt file.
pub fn read_attempt(path: &Path) -> anyhow::Result<(Attempt, Vec<Warning>)> {
    let bytes = read_file(path, MOST_BYTES)?;
    is_open(path, &bytes, "an attempt")?;
    Attempt::read(bytes).map_err(|error| anyhow::anyhow!("{}, {error}", path.display()))
}

/// Refuses a sealed file in place of one that is read as it is.
fn is_open(path: &Path, bytes: &[u8], wanted: &str) -> anyhow::Result<()> {
    if is_sealed(bytes) {
        bail!(
            "{} is sealed, as packs of jobs are, so it is not {wanted}\n  A sealed pack is named with --jobs; see \
             `faultbay explain {}`.",
            path.display(),
            id::SEALED.code
        );
    }
    Ok(())
}

/// A whole file, unless it is larger than `most` bytes.
pub fn read_file(path: &Path, most: usize) -> anyhow::Result<Vec<u8>> {
    let failed = || format!("can't read {}", path.display());
    let file = File::open(path).with_context(failed)?;
    let mut bytes = Vec::new();
    file.take(most as u64 + 1).read_to_end(&mut bytes).with_context(failed)?;
    if bytes.len() > most {
        bail!("{} is larger than {most} bytes", path.display());
    }
    Ok(bytes)
}

/// The lines of a script, each of which can be understood; all that can't are reported together.
fn read_script(path: &Path, terms: &Terms) -> anyhow::Result<Vec<String>> {
    let bytes = read_file(path, LARGEST_SCRIPT)?;
    is_open(path, &bytes, "a script")?;
    let text = text_of(bytes).map_err(|why| anyhow::anyhow!("{} {why}", path.display()))?;
    super::script::lines(&text, terms).map_err(|faults| {
        let told: Vec<String> =
            faults.iter().map(|(n, why)| format!("{}, line {n}: {why}", path.display())).collect();
        anyhow::anyhow!("nothing was done, because not every line is clear\n{}", told.join("\n"))
    })
}

/// An attempt file that grows.
pub struct Record {
    /// Its path, for messages.
    pub path: PathBuf,
    file: File,
}

impl Record {
    /// A new file; one that exists isn't touched.
    fn create(path: &Path) -> anyhow::Result<Self> {
        let file = OpenOptions::new().write(true).create_new(true).open(path);
        let file = file.map_err(|error| match error.kind() {
            std::io::ErrorKind::AlreadyExists => anyhow::anyhow!(
                "{} exists and isn't overwritten: go on with --resume, or name another file",
                path.display()
            ),
            _ => anyhow::Error::from(error).context(format!("can't create {}", path.display())),
        })?;
        Ok(Self { path: path.to_owned(), file })
    }

    /// A file that was read, ready for further lines: a torn line at its end is cut off.
    fn append(path: &Path, warnings: &[Warning]) -> anyhow::Result<Self> {
        let failed = || format!("can't write {}", path.display());
        let mut file = OpenOptions::new().write(true).open(path).with_context(failed)?;
        for warning in warnings {
            if let Warning::TornLine { keep, .. } | Warning::NoLineEnd { keep, .. } = warning {
                file.set_len(*keep as u64).with_context(failed)?;
            }
        }
        file.seek(SeekFrom::End(0)).with_context(failed)?;
        if warnings.iter().any(|warning| matches!(warning, Warning::NoLineEnd { .. })) {
            file.write_all(b"\n").with_context(failed)?;
        }
        Ok(Self { path: path.to_owned(), file })
    }

    /// Writes lines, down to the disk.
    pub fn write(&mut self, lines: &[String]) -> anyhow::Result<()> {
        if lines.is_empty() {
            return Ok(());
        }
        let text: String = lines.iter().flat_map(|line| [line.as_str(), "\n"]).collect();
        let written = self.file.write_all(text.as_bytes()).and_then(|()| self.file.sync_data());
        written.map_err(|error| anyhow::anyhow!("can't write {}: {error}", self.path.display()))
    }
}
