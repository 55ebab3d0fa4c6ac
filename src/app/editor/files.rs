//! The folder of own files (jobs, vehicles, mark schemes, courses), and drafts that survive a crash.

use std::collections::BTreeSet;
use std::fs;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::app::sitting::Watched;
use crate::authoring::diagnosability::{self, Diagnosability};
use crate::authoring::draft::{Draft, Page, name_trouble};
use crate::diag::text_of;
use crate::diagnosis::justify::VEHICLES;
use crate::diagnosis::store::Nowhere;
use crate::scenario::model::Job;
use crate::scenario::picture::{LARGEST_PICTURE, Picture};
use crate::scenario::{self, Kind, LARGEST_FILE, Library, PICTURES};
use crate::tell;

/// Files of a folder that are looked at, at most.
const MOST_FILES: usize = 1000;

/// Tells whether a job is fair: slow, so it runs on a thread of its own.
pub type Checker = Arc<dyn Fn(&Job, &Watched) -> Result<Diagnosability, String> + Send + Sync>;

/// The check of this engine; what it simulates isn't kept.
pub fn checker() -> Checker {
    Arc::new(|job, watched| diagnosability::check(job, VEHICLES, &Nowhere, watched))
}

/// A draft that was left unsaved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Left {
    /// What it is, by its word; a job where an older version left it out.
    #[serde(default = "job_word")]
    pub kind: String,
    /// Name of the file.
    pub name: String,
    /// Its text.
    pub job: String,
    /// Its own mark scheme.
    #[serde(default)]
    pub scheme: Option<String>,
}

fn job_word() -> String {
    Kind::Job.word().to_owned()
}

impl Left {
    /// What it is; none for a word of another version.
    pub fn kind(&self) -> Option<Kind> {
        Kind::ALL.into_iter().find(|k| k.word() == self.kind)
    }
}

/// What the editor needs of the outside world.
pub trait Author {
    /// Everything that jobs can name.
    fn library(&self) -> &Library;
    /// Files of a kind that one can begin from: name and title. Those of a sealed pack aren't among them.
    fn files(&self, kind: Kind) -> Vec<(String, String)>;
    /// A file that there is: to go on with when it is one's own, or else to begin another one from.
    fn open(&self, kind: Kind, name: &str) -> Option<Draft>;
    /// Drafts that were left unsaved.
    fn left(&self) -> Vec<Left>;
    /// Keeps a draft.
    ///
    /// # Errors
    /// A sentence when it can't be written.
    fn keep(&mut self, draft: &Draft) -> Result<(), String>;
    /// Keeps it no longer.
    ///
    /// # Errors
    /// A sentence when the file can't be removed.
    fn forget(&mut self, kind: Kind, name: &str) -> Result<(), String>;
    /// Writes a file, a job with its mark scheme; says where.
    ///
    /// # Errors
    /// A sentence when it can't be written.
    fn save(&mut self, draft: &Draft) -> Result<String, String>;
    /// Whether some file of the kind has the name.
    fn is_taken(&self, kind: Kind, name: &str) -> bool;
    /// Whether it is one of the folder's own.
    fn is_own(&self, kind: Kind, name: &str) -> bool;
    /// Folder that files are written to, each kind in a folder of its own in it.
    fn folder(&self) -> String;
    /// Folder that pictures of jobs lie in.
    fn pictures(&self) -> String;
    /// Looks into that folder again; gives how many can be shown.
    ///
    /// # Errors
    /// A sentence that names the ones that can't be.
    fn look_for_pictures(&mut self) -> Result<u32, String>;
    /// How fairness is checked.
    fn checker(&self) -> Checker;
}

/// Own jobs in a folder, laid over a library; drafts in another.
pub struct OwnJobs {
    library: Library,
    own: PathBuf,
    drafts: PathBuf,
    mine: BTreeSet<(Kind, String)>,
    checker: Checker,
}

impl OwnJobs {
    /// Lays the jobs of `own` over a library. Nothing is written before something is saved.
    pub fn of(library: &Library, own: PathBuf, drafts: PathBuf, checker: Checker) -> Self {
        let mut jobs = Self { library: library.clone(), own, drafts, mine: BTreeSet::new(), checker };
        for kind in Kind::ALL {
            for path in files(&jobs.own.join(kind.folder()), "ron") {
                let Some((name, text)) = path.file_stem().and_then(|s| s.to_str()).zip(read(&path)) else {
                    continue;
                };
                jobs.library.insert(kind, name, &path.display().to_string(), &text);
                jobs.mine.insert((kind, name.to_owned()));
            }
        }
        // what can't be shown is told by the check of the job that names it
        let _ = jobs.read_pictures();
        jobs
    }

    fn read_pictures(&mut self) -> Result<u32, String> {
        let (mut good, mut bad) = (0, vec![]);
        for path in files(&self.own.join(PICTURES), "png") {
            let Some(name) = path.file_stem().and_then(|s| s.to_str()) else { continue };
            match picture(&path) {
                Ok(picture) => {
                    self.library.insert_picture(name, picture);
                    good += 1;
                }
                Err(why) => bad.push(format!("{name}.png: {why}")),
            }
        }
        if bad.is_empty() { Ok(good) } else { Err(bad.join("; ")) }
    }

    fn draft_path(&self, kind: Kind, name: &str) -> PathBuf {
        match kind {
            Kind::Job => self.drafts.join(format!("{name}.draft.json")),
            other => self.drafts.join(format!("{name}.{}.draft.json", other.word())),
        }
    }
}

/// Files of a folder with this ending, by name.
fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return vec![] };
    let is_meant = |p: &PathBuf| p.extension().is_some_and(|x| x == ending) && p.is_file();
    let mut all: Vec<PathBuf> = entries.flatten().map(|e| e.path()).filter(is_meant).take(MOST_FILES).collect();
    all.sort();
    all
}

/// A picture, of which no more is read than it may have, and one byte.
fn picture(path: &Path) -> Result<Picture, String> {
    let mut bytes = Vec::new();
    let file = fs::File::open(path).map_err(|e| e.to_string())?;
    file.take(LARGEST_PICTURE as u64 + 1).read_to_end(&mut bytes).map_err(|e| e.to_string())?;
    Picture::read(&bytes).map_err(|why| why.to_string())
}

/// A text that isn't larger than a file may be, with a little room for the frame of a draft.
fn read(path: &Path) -> Option<String> {
    let mut bytes = Vec::new();
    let most = 4 * LARGEST_FILE as u64;
    fs::File::open(path).ok()?.take(most).read_to_end(&mut bytes).ok()?;
    text_of(bytes).ok()
}

/// Writes beside the place and moves into it, so that a cut leaves the old file or the new one.
fn write(path: &Path, text: &str) -> Result<(), String> {
    let why = |e: std::io::Error| format!("{}: {e}", path.display());
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(why)?;
    }
    let beside = path.with_extension("new");
    fs::write(&beside, text).map_err(why)?;
    fs::rename(&beside, path).map_err(why)
}

impl Author for OwnJobs {
    fn library(&self) -> &Library {
        &self.library
    }

    fn files(&self, kind: Kind) -> Vec<(String, String)> {
        let mut names: BTreeSet<String> = Library::builtin().names(kind).into_iter().collect();
        names.extend(self.mine.iter().filter(|m| m.0 == kind).map(|m| m.1.clone()));
        let title = |name: &str| {
            let text = self.library.text(kind, name)?;
            Some(scenario::form::form(text).ok()?.title).filter(|t| !t.is_empty())
        };
        let mut all: Vec<(String, String)> =
            names.into_iter().map(|name| (name.clone(), title(&name).unwrap_or(name))).collect();
        // one's own first
        all.sort_by(|a, b| (!self.is_own(kind, &a.0), &a.1).cmp(&(!self.is_own(kind, &b.0), &b.1)));
        all
    }

    fn open(&self, kind: Kind, name: &str) -> Option<Draft> {
        let text = self.library.text(kind, name)?;
        // a scheme that a job brought along; of one that others use, too, a copy is made first
        let brought = |r: &String| r.ends_with("-scheme") && Library::builtin().text(Kind::Rubric, r).is_none();
        let scheme = match kind {
            Kind::Job => scenario::form::form(text).ok().map(|f| f.rubric).filter(brought),
            _ => None,
        };
        let scheme = scheme.and_then(|r| self.library.text(Kind::Rubric, &r));
        if self.is_own(kind, name) {
            return Some(Draft::of_kind(kind, name, text, scheme, true));
        }
        let free = (1..).map(|n| if n == 1 { format!("{name}-copy") } else { format!("{name}-copy-{n}") });
        let free = free.into_iter().find(|n| !self.is_taken(kind, n))?;
        Some(Draft::of_kind(kind, &free, text, scheme, false))
    }

    fn left(&self) -> Vec<Left> {
        let texts = files(&self.drafts, "json").into_iter().filter_map(|p| read(&p));
        texts
            .filter_map(|t| serde_json::from_str::<Left>(&t).ok())
            .filter(|left| left.kind().is_some() && name_trouble(&left.name).is_none())
            .collect()
    }

    fn keep(&mut self, draft: &Draft) -> Result<(), String> {
        if let Some(why) = name_trouble(draft.name()) {
            return Err(why);
        }
        let left = Left {
            kind: draft.kind().word().to_owned(),
            name: draft.name().to_owned(),
            job: draft.text(Page::File).unwrap_or_default().to_owned(),
            scheme: draft.text(Page::Scheme).map(str::to_owned),
        };
        let text = serde_json::to_string_pretty(&left).map_err(|e| e.to_string())?;
        write(&self.draft_path(draft.kind(), draft.name()), &text)
    }

    fn forget(&mut self, kind: Kind, name: &str) -> Result<(), String> {
        match fs::remove_file(self.draft_path(kind, name)) {
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(e.to_string()),
            _ => Ok(()),
        }
    }

    fn save(&mut self, draft: &Draft) -> Result<String, String> {
        if let Some(why) = name_trouble(draft.name()) {
            return Err(why);
        }
        if let (Some(text), Some(name)) = (draft.text(Page::Scheme), draft.scheme_name()) {
            // the name stands in the text, where anything can be typed
            if let Some(why) = name_trouble(&name) {
                return Err(tell!("edit-scheme-why", why = why));
            }
            let path = self.own.join(Kind::Rubric.folder()).join(format!("{name}.ron"));
            write(&path, text)?;
            self.library.insert(Kind::Rubric, &name, &path.display().to_string(), text);
        }
        let text = draft.text(Page::File).unwrap_or_default();
        let kind = draft.kind();
        let path = self.own.join(kind.folder()).join(format!("{}.ron", draft.name()));
        write(&path, text)?;
        self.library.insert(kind, draft.name(), &path.display().to_string(), text);
        self.mine.insert((kind, draft.name().to_owned()));
        Ok(tell!("edit-saved-to", path = path.display()))
    }

    fn is_taken(&self, kind: Kind, name: &str) -> bool {
        self.library.text(kind, name).is_some()
    }

    fn is_own(&self, kind: Kind, name: &str) -> bool {
        self.mine.contains(&(kind, name.to_owned()))
    }

    fn pictures(&self) -> String {
        self.own.join(PICTURES).display().to_string()
    }

    fn look_for_pictures(&mut self) -> Result<u32, String> {
        self.read_pictures()
    }

    fn folder(&self) -> String {
        self.own.display().to_string()
    }

    fn checker(&self) -> Checker {
        self.checker.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Folder(PathBuf);

    impl Folder {
        fn new(name: &str) -> Self {
            let path = std::env::temp_dir().join(format!("faultbay-own-{name}-{}", std::process::id()));
            let _ = fs::remove_dir_all(&path);
            Self(path)
        }
        fn jobs(&self) -> OwnJobs {
            OwnJobs::of(&Library::builtin(), self.0.join("own"), self.0.join("drafts"), checker())
        }
    }

    impl Drop for Folder {
        fn drop(&mut self) {
            let _ = fs::remove_dir_all(&self.0);
        }
    }

    #[test]
    fn what_is_saved_is_there_again_with_its_scheme() {
        let folder = Folder::new("saved");
        let mut jobs = folder.jobs();
        let mut draft = Draft::blank("a-cold-start", "A cold start");
        draft.own_scheme(jobs.library()).unwrap();
        assert!(jobs.save(&draft).unwrap().contains("a-cold-start.ron"));
        let again = folder.jobs();
        let job = Kind::Job;
        assert!(again.is_own(job, "a-cold-start") && again.is_taken(job, "bypass-puff"));
        assert!(!again.is_own(job, "bypass-puff") && !again.is_own(Kind::Plant, "a-cold-start"));
        let opened = again.open(job, "a-cold-start").unwrap();
        assert!(opened.is_saved());
        assert_eq!(opened.text(Page::File), draft.text(Page::File));
        assert_eq!(opened.text(Page::Scheme), draft.text(Page::Scheme));
        assert!(scenario::load_job(again.library(), "a-cold-start").is_ok());
        let copy = again.open(job, "bypass-puff").unwrap();
        assert_eq!((copy.name(), copy.is_saved()), ("bypass-puff-copy", false));
    }

    #[test]
    fn a_draft_survives_and_goes_when_it_is_no_longer_needed() {
        let folder = Folder::new("kept");
        let mut jobs = folder.jobs();
        let draft = Draft::blank("half", "Half");
        jobs.keep(&draft).unwrap();
        let left = folder.jobs().left();
        assert_eq!((left[0].name.as_str(), Some(left[0].job.as_str())), ("half", draft.text(Page::File)));
        jobs.forget(Kind::Job, "half").unwrap();
        jobs.forget(Kind::Job, "half").unwrap();
        assert!(folder.jobs().left().is_empty());
    }

    #[test]
    fn vehicles_courses_and_schemes_are_kept_and_saved_in_folders_of_their_own() {
        let folder = Folder::new("kinds");
        let mut jobs = folder.jobs();
        for kind in [Kind::Plant, Kind::Rubric, Kind::Course] {
            let draft = Draft::blank_of(kind, "mine", "Mine");
            jobs.keep(&draft).unwrap();
            assert!(jobs.save(&draft).unwrap().contains(kind.folder()));
        }
        let left: Vec<Option<Kind>> = folder.jobs().left().iter().map(Left::kind).collect();
        assert_eq!(left.len(), 3);
        assert!([Kind::Plant, Kind::Rubric, Kind::Course].iter().all(|k| left.contains(&Some(*k))));
        let again = folder.jobs();
        assert!(scenario::load_plant(again.library(), "mine").is_ok());
        assert!(scenario::load_course(again.library(), "mine").is_ok());
        assert_eq!(again.open(Kind::Plant, "mine").map(|d| (d.kind(), d.is_saved())), Some((Kind::Plant, true)));
        assert!(!again.is_taken(Kind::Job, "mine"));
    }

    #[test]
    fn nothing_is_written_outside_the_folder() {
        let folder = Folder::new("outside");
        let mut jobs = folder.jobs();
        assert!(jobs.save(&Draft::of("../out", "Job()", None, false)).is_err());
        let scheme = Draft::of("in", "Job(rubric: \"../out\")", Some("Rubric()"), false);
        assert!(jobs.save(&scheme).is_err());
        assert!(!folder.0.join("out.ron").exists() && !folder.0.join("own/out.ron").exists());
    }
}
