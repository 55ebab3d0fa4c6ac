//! The command line exactly as typed.

use std::path::PathBuf;

use clap::{Args as Group, Parser, Subcommand, ValueEnum};

use super::seal::Secret;

/// A training simulator for diagnosing the low-pressure fuel supply of vehicles.
///
/// Without a command the window opens. Training values: on a real machine use its maker's data.
#[derive(Debug, Parser)]
#[command(name = "faultbay", version, max_term_width = 100)]
pub struct Args {
    /// What to do; the window without it.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// Folder with `jobs`, `plants` and `rubrics`, or a pack, whose files come before those built in.
    #[arg(long, global = true, value_name = "PATH")]
    pub jobs: Option<PathBuf>,
    /// What opens a sealed pack.
    #[command(flatten)]
    pub secret: Secret,
    /// What only the window takes.
    #[command(flatten)]
    pub window: Window,
}

/// Options of the window.
#[derive(Debug, Group)]
#[group(id = "window")]
pub struct Window {
    /// Record attempts made in the window in this folder.
    #[arg(long, value_name = "DIR", default_value = "attempts")]
    pub attempts: Option<PathBuf>,
    /// Number that picks the vehicle in the window [default: another one each time].
    #[arg(long = "vehicle", value_name = "SEED")]
    pub seed: Option<u64>,
    /// Size of the window in points, such as 1366x768.
    #[arg(long, value_name = "WxH", value_parser = size)]
    pub size: Option<(u32, u32)>,
    /// Follow a script in the window and write its pictures to a folder.
    #[arg(long, hide = true, num_args = 2, value_names = ["SCRIPT", "DIR"])]
    pub shots: Option<Vec<PathBuf>>,
    /// Write down where everything in the window stands, for a check that works it with pointer or keys.
    #[arg(long, hide = true, value_name = "FILE")]
    pub places: Option<PathBuf>,
    /// Without a window: draw the script's frames into a picture, as on a machine with a graphics card and no display.
    #[arg(long, hide = true, requires = "shots")]
    pub offscreen: bool,
}

/// Reads `1366x768`.
fn size(text: &str) -> Result<(u32, u32), String> {
    let (width, height) = text.split_once(['x', '×']).ok_or("a size is written 1366x768")?;
    let number = |text: &str| text.trim().parse::<u32>().ok().filter(|n| (320..=16_384).contains(n));
    number(width).zip(number(height)).ok_or_else(|| "each side is 320 to 16384".to_owned())
}

/// A command.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// List the jobs.
    Jobs,
    /// Sit a job in this terminal: one action a line, answers in sentences.
    Sit(Sit),
    /// For authors: the fault, its severity and the tolerances with which a vehicle shows a recording made elsewhere.
    Fit(Fit),
    /// Replay a recorded attempt and mark it.
    Mark(Mark),
    /// Read a pressure recording that a logger made: its states, their levels, ripple, decay.
    Read(Read),
    /// Mark a recorded attempt and write its debrief: for the learner, the file and an appeal.
    Debrief(Debrief),
    /// Check plants, jobs and rubrics; without a file, those built in. Of a sealed pack, which --passphrase or --key opens, it
    /// is told how many errors there are and not which.
    Check {
        /// Files, packs, or folders that hold `plants`, `jobs` and `rubrics`.
        files: Vec<PathBuf>,
        /// How the report is written.
        #[arg(long, value_enum, default_value_t)]
        format: Format,
    },
    /// For authors: simulate whether a job's hidden cause can be found, by what way, and how hard it is; without a
    /// job, all of them in one table. Tells the answer.
    Fair(Fair),
    /// Make a key: for signing attempts, or for sealing packs.
    Key(Key),
    /// Sign a recorded attempt with the key that --key names, into a file beside it.
    Sign {
        /// File that `faultbay sit --attempt` or the window wrote.
        attempt: PathBuf,
    },
    /// Say whether a recorded attempt is as it was written, and as it was signed.
    Verify {
        /// File that `faultbay sit --attempt` or the window wrote.
        attempt: PathBuf,
        /// File with the public half of a key that is trusted; may be given again.
        #[arg(long, value_name = "FILE")]
        signed_by: Vec<PathBuf>,
    },
    /// Add an assessor's own decision to a mark, with name and reason; both are kept.
    Override(Override),
    /// Put jobs, with the plants and rubrics that they need, into one file to hand round.
    Pack(Pack),
    /// For authors: drive the standard run on a plant, sound and with faults, or on a job's vehicle, and show what they
    /// show. Of a job it tells the answer.
    Preview(Preview),
    /// For authors: measure on fresh vehicles how far belief may be trusted on a plant.
    Calibrate(Calibrate),
    /// For authors: write a commented file to begin with, which passes the check at once.
    New {
        /// What kind of file.
        #[arg(value_enum)]
        kind: NewKind,
        /// Its name: of the file, without ".ron".
        name: String,
        /// Folder that holds `plants`, `jobs`, `rubrics` and `courses`.
        #[arg(long, value_name = "DIR", default_value = ".")]
        into: PathBuf,
        /// For a job: the vehicle it is on, built in or of your own; its parts, joints, looks and what goes wrong with it
        /// then stand in the file [default: the van a1-van]. `faultbay plants` lists them.
        #[arg(long, value_name = "PLANT")]
        plant: Option<String>,
    },
    /// For authors: list the vehicles; of one that is named its parts, its joints and where which fault can sit.
    Plants {
        /// Name of the plant.
        plant: Option<String>,
    },
    /// For authors: make variants of a job with other numbers and words, and prove that they are as hard. Tells the
    /// answer.
    Vary(Vary),
    /// For authors: print the manual of scenario files.
    Manual,
    /// Explain an id that a check has named; without one, list them.
    Explain {
        /// Code or name, such as FB-S014; or `mark-schema` for the schema of a mark's JSON.
        id: Option<String>,
    },
}

/// `faultbay pack`
#[derive(Debug, Group)]
pub struct Pack {
    /// Names of the jobs.
    #[arg(required = true, value_name = "JOB")]
    pub names: Vec<String>,
    /// File to write.
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Seal it with a passphrase: its jobs are seen only by who knows it.
    #[arg(long)]
    pub seal: bool,
    /// Seal it for the holder of a key, by the key's public half or the file that holds it; may be given several times.
    #[arg(long, value_name = "PUBLIC-KEY")]
    pub to: Vec<String>,
}

/// A kind of file to begin with.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum NewKind {
    /// A complaint with a hidden cause.
    Job,
    /// A vehicle's supply.
    Plant,
    /// How attempts are marked.
    Rubric,
    /// Jobs in order.
    Course,
}

impl From<NewKind> for crate::scenario::Kind {
    fn from(kind: NewKind) -> Self {
        match kind {
            NewKind::Job => Self::Job,
            NewKind::Plant => Self::Plant,
            NewKind::Rubric => Self::Rubric,
            NewKind::Course => Self::Course,
        }
    }
}

/// How a report is written.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
pub enum Format {
    /// For people.
    #[default]
    Text,
    /// For editors and scripts.
    Json,
}

impl From<Format> for super::check::Format {
    fn from(format: Format) -> Self {
        match format {
            Format::Text => Self::Text,
            Format::Json => Self::Json,
        }
    }
}

/// `faultbay key`
#[derive(Debug, Group)]
pub struct Key {
    /// What it is for.
    #[arg(value_enum)]
    pub kind: KeyKind,
    /// File for the half to keep; the half to give away goes beside it, with ".public" behind its name.
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Whose it is, as a remark in both files.
    #[arg(long, value_name = "WHO")]
    pub whose: Option<String>,
}

/// What a key is for.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum KeyKind {
    /// Signing attempts.
    Signing,
    /// Opening packs that were sealed for it.
    Sealing,
}

/// `faultbay sit`
#[derive(Debug, Group)]
pub struct Sit {
    /// Name of the job.
    pub job: String,
    /// File with one action a line; `-` reads what is typed and answers line by line.
    #[arg(long, value_name = "FILE", default_value = "-")]
    pub actions: PathBuf,
    /// Number that picks the vehicle among its equivalents [default: the job's, else 1].
    #[arg(long)]
    pub seed: Option<u64>,
    /// Write the instrument's memory to this file when the sitting ends, as CSV.
    #[arg(long, value_name = "OUT.csv")]
    pub trace: Option<PathBuf>,
    /// Record the attempt in this file as it goes.
    #[arg(long, value_name = "OUT.jsonl")]
    pub attempt: Option<PathBuf>,
    /// Go on where the recorded attempt ends.
    #[arg(long, requires = "attempt", conflicts_with_all = ["seed", "name"])]
    pub resume: bool,
    /// Who sits, for the record.
    #[arg(long, value_name = "WHO")]
    pub name: Option<String>,
}

/// `faultbay mark`
#[derive(Debug, Group)]
pub struct Mark {
    /// File that `faultbay sit --attempt` or the window wrote.
    pub attempt: PathBuf,
    /// Print the mark as JSON.
    #[arg(long)]
    pub json: bool,
    /// Replay and mark it again, whatever mark of it was kept.
    #[arg(long)]
    pub anew: bool,
    /// Mark it only when it is signed by the key whose public half this file holds; may be given again.
    #[arg(long, value_name = "FILE")]
    pub signed_by: Vec<PathBuf>,
    /// Also write the debrief as one HTML file, with its plots.
    #[arg(long, value_name = "OUT.html")]
    pub html: Option<PathBuf>,
}

/// `faultbay fair`
#[derive(Debug, Group)]
pub struct Fair {
    /// Names of jobs.
    pub job: Vec<String>,
    /// How the report is written.
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
    /// Only how simulated learners fare, as a page.
    #[arg(long, conflicts_with = "format")]
    pub learners: bool,
    /// The table of all the jobs that are named, or of every job, as a page.
    #[arg(long, conflicts_with_all = ["format", "learners"])]
    pub page: bool,
    /// Reference vehicles a candidate [default: as many as marks are made with].
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(16..=2000))]
    pub vehicles: Option<u32>,
}

/// `faultbay vary`
#[derive(Debug, Group)]
pub struct Vary {
    /// Name of the job.
    pub job: String,
    /// Equivalent variants wanted.
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u8).range(1..=crate::authoring::vary::MOST as i64))]
    pub count: u8,
    /// Number that decides every draw: the same one gives the same files.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Folder into whose `jobs` they are written, for `--jobs`; nothing in it is overwritten.
    #[arg(long, value_name = "DIR")]
    pub into: PathBuf,
    /// How the report is written.
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
    /// Reference vehicles a candidate [default: as many as marks are made with].
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(16..=2000))]
    pub vehicles: Option<u32>,
}

/// `faultbay override`
#[derive(Debug, Group)]
pub struct Override {
    /// A recorded attempt, which is marked first, or a mark's JSON.
    pub from: PathBuf,
    /// Who decides, as it shall stand in the debrief.
    #[arg(long, value_name = "WHO")]
    pub assessor: String,
    /// In what capacity, such as "assessor" or "appeal panel".
    #[arg(long, value_name = "ROLE")]
    pub role: String,
    /// Why, in a sentence.
    #[arg(long, value_name = "TEXT")]
    pub reason: String,
    /// The job counts as reached, or not.
    #[arg(long, value_enum)]
    pub outcome: Option<Verdict>,
    /// Share of a component in the assessor's view, such as S=0.8; may be given again.
    #[arg(long, value_name = "LETTER=SHARE", value_parser = component)]
    pub component: Vec<(char, f64)>,
    /// Where the mark with both is written.
    #[arg(long, value_name = "OUT.json")]
    pub json: PathBuf,
}

/// A decision.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Verdict {
    /// The job was reached.
    Reached,
    /// It wasn't.
    NotReached,
}

/// Reads `S=0.8`.
fn component(text: &str) -> Result<(char, f64), String> {
    let wrong = || "write the component's letter and a share, such as S=0.8".to_owned();
    let (letter, share) = text.split_once('=').ok_or_else(wrong)?;
    let letter = letter.trim().to_uppercase();
    let mut chars = letter.chars();
    let (Some(letter), None) = (chars.next().filter(|c| "DJXSMPCR".contains(*c)), chars.next()) else {
        return Err("the components are D, J, X, S, M, P, C and R".into());
    };
    let share: f64 = share.trim().replace(',', ".").parse().map_err(|_| wrong())?;
    (0.0..=1.0).contains(&share).then_some((letter, share)).ok_or_else(|| "a share lies between 0 and 1".into())
}

/// `faultbay read`
#[derive(Debug, Group)]
pub struct Read {
    /// Table of text with a heading that names quantity and unit, such as `time_s,pressure_mbar_gauge`.
    pub recording: PathBuf,
    /// Weigh the recording against the faults of this plant.
    #[arg(long)]
    pub plant: Option<String>,
    /// Joint of the plant that the tee was fitted at [default: its last].
    #[arg(long, requires = "plant")]
    pub joint: Option<String>,
    /// How its columns are meant.
    #[command(flatten)]
    pub columns: Columns,
    /// Print what was found as JSON.
    #[arg(long)]
    pub json: bool,
    /// Also draw the pressure with its states.
    #[arg(long, value_name = "OUT.svg")]
    pub plot: Option<PathBuf>,
}

/// How the columns of a recording are meant.
#[derive(Debug, Group)]
#[group(id = "columns")]
pub struct Columns {
    /// Heading of the column that names the states.
    #[arg(long, value_name = "HEADING")]
    pub state_column: Option<String>,
    /// Heading of the pressure that is meant, when there are several.
    #[arg(long, value_name = "HEADING")]
    pub pressure_column: Option<String>,
    /// Air pressure of the day, for pressures counted against vacuum.
    #[arg(long, value_name = "HPA", value_parser = air)]
    pub barometer: Option<f64>,
}

/// `faultbay fit`
#[derive(Debug, Group)]
pub struct Fit {
    /// Table of text with a heading that names quantity and unit, such as `time_s,pressure_mbar_gauge`.
    pub recording: PathBuf,
    /// Plant that the vehicle is one of.
    #[arg(long)]
    pub plant: String,
    /// Joint of the plant that the tee was fitted at [default: its last].
    #[arg(long, value_name = "JOINT")]
    pub at: Option<String>,
    /// How its columns are meant.
    #[command(flatten)]
    pub columns: Columns,
    /// Print what was fitted as JSON.
    #[arg(long)]
    pub json: bool,
    /// Also draw the recording, the fitted vehicle and what is left between them.
    #[arg(long, value_name = "OUT.svg")]
    pub plot: Option<PathBuf>,
    /// Also write a job to begin with, whose hidden cause is what was fitted.
    #[arg(long, value_name = "OUT.ron")]
    pub job: Option<PathBuf>,
}

/// Reads an air pressure in hPa.
fn air(text: &str) -> Result<f64, String> {
    let value: f64 = text.replace(',', ".").parse().map_err(|_| "a number of hPa is expected".to_owned())?;
    (500.0..=1100.0).contains(&value).then_some(value).ok_or_else(|| "air has 500 to 1100 hPa".to_owned())
}

/// `faultbay calibrate`
#[derive(Debug, Group)]
pub struct Calibrate {
    /// Name of the plant; `all` for every one.
    pub plant: String,
    /// Reference vehicles a cause.
    #[arg(long, value_name = "COUNT", default_value_t = crate::diagnosis::justify::VEHICLES)]
    pub vehicles: usize,
    /// Fresh vehicles a cause.
    #[arg(long, value_name = "COUNT", default_value_t = 24)]
    pub fresh: usize,
    /// Joint that the tee is fitted at [default: the last through which fuel is drawn, else the last before the engine].
    #[arg(long)]
    pub joint: Option<String>,
    /// Write a page with tables.
    #[arg(long, value_name = "OUT.md")]
    pub page: Option<PathBuf>,
}

/// `faultbay preview`
#[derive(Debug, Group)]
pub struct Preview {
    /// Name of the plant, `all` for every one, or of a job, whose hidden faults are shown on its vehicle as it comes in.
    pub plant: String,
    /// A fault, its place where there is more than one, its severity (3 without): F15@filter:3. Several go into one
    /// vehicle.
    #[arg(long, value_name = "FAULT[@PLACE][:1-5]")]
    pub fault: Vec<String>,
    /// Instead, so many faults of the supply that such vehicles have most often, each in a vehicle of its own.
    #[arg(long, value_name = "COUNT", conflicts_with = "fault", value_parser = clap::value_parser!(u8).range(1..=12))]
    pub commonest: Option<u8>,
    /// Joint that the tee is fitted at [default: the last through which fuel is drawn, else the last before the engine].
    #[arg(long)]
    pub joint: Option<String>,
    /// Instead, a card for a plant of your own: a range round what the sound vehicle reads at every joint, to be put into
    /// its file and looked at line by line.
    #[arg(long, conflicts_with_all = ["fault", "commonest", "joint", "svg", "page"])]
    pub card: bool,
    /// Also draw the traces.
    #[arg(long, value_name = "OUT.svg", conflicts_with = "page")]
    pub svg: Option<PathBuf>,
    /// Write a page with pictures and tables, the pictures into a folder of its name beside it.
    #[arg(long, value_name = "OUT.md")]
    pub page: Option<PathBuf>,
}

/// `faultbay debrief`
#[derive(Debug, Group)]
#[group(id = "written", required = true, multiple = true, args = ["html", "pdf", "json", "xapi"])]
pub struct Debrief {
    /// File that `faultbay sit --attempt` or the window wrote.
    pub attempt: PathBuf,
    /// Mark with an assessor's decision that `faultbay override` wrote for this attempt.
    #[arg(long, value_name = "MARK.json")]
    pub mark: Option<PathBuf>,
    /// Write one HTML file with everything inside.
    #[arg(long, value_name = "OUT.html")]
    pub html: Option<PathBuf>,
    /// Write a tagged PDF for print and archive.
    #[arg(long, value_name = "OUT.pdf")]
    pub pdf: Option<PathBuf>,
    /// Write the mark as JSON (`faultbay explain mark-schema` says what is in it).
    #[arg(long, value_name = "OUT.json")]
    pub json: Option<PathBuf>,
    /// Write statements for a learning record store (xAPI), one a line.
    #[arg(long, value_name = "OUT.jsonl")]
    pub xapi: Option<PathBuf>,
    /// Folder with templates that take the place of those of the page, such as letterhead.html.
    #[arg(long, value_name = "FOLDER", requires = "html")]
    pub template: Option<PathBuf>,
    /// Date of the sitting, as it shall stand in the debrief.
    #[arg(long, value_name = "TEXT")]
    pub date: Option<String>,
    /// Options of the statements.
    #[command(flatten)]
    pub statements: Statements,
}

/// What only the statements for a learning record store take.
#[derive(Debug, Group)]
#[group(id = "statements")]
pub struct Statements {
    /// Pseudonym of the learner; never a name or an address [default: one for this attempt alone].
    #[arg(long, value_name = "PSEUDONYM", requires = "xapi")]
    pub learner: Option<String>,
    /// Address under which the college's own identifiers lie.
    #[arg(long, value_name = "IRI", requires = "xapi", default_value = crate::report::xapi::BASE)]
    pub base: Option<String>,
    /// When the sitting began, in UTC, such as 2026-03-14T09:00:00Z; statements have no time without it.
    #[arg(long, value_name = "TIME", requires = "xapi")]
    pub started: Option<String>,
    /// The assessment is over: right and wrong may be told.
    #[arg(long, requires = "xapi")]
    pub released: bool,
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definition_holds_together() {
        Args::command().debug_assert();
    }

    #[track_caller]
    fn refused(line: &str) {
        assert!(Args::try_parse_from(line.split(' ')).is_err(), "{line}");
    }

    #[test]
    fn a_debrief_goes_somewhere() {
        refused("faultbay debrief a.jsonl");
        refused("faultbay debrief a.jsonl --pdf b --template c");
        refused("faultbay debrief a.jsonl --html b --learner L4");
        assert!(
            Args::try_parse_from("faultbay debrief a.jsonl --html b --template c --date today".split(' ')).is_ok()
        );
        assert!(
            Args::try_parse_from("faultbay debrief a.jsonl --xapi b --learner L4 --released".split(' ')).is_ok()
        );
    }

    #[test]
    fn a_resumed_sitting_has_its_seed_and_name_already() {
        refused("faultbay sit job --resume");
        refused("faultbay sit job --resume --attempt a --seed 3");
        refused("faultbay sit job --resume --attempt a --name N");
        refused("faultbay sit job --seed -1");
        assert!(Args::try_parse_from("faultbay sit job --attempt a --resume --jobs d".split(' ')).is_ok());
    }
}
