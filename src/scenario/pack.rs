//! A pack: several scenario files in one, with the pictures that jobs show, to hand round. Plain text (JSON), so that
//! a college can look into what it was given; nothing in it is executed, and every limit is checked before a file of it
//! is believed.
//!
//! ```
//! use faultbay::scenario::pack::Pack;
//! use faultbay::scenario::{Kind, Library};
//!
//! let pack = Pack::of_job(&Library::builtin(), "primer-air").unwrap();
//! let read = Pack::read(&pack.text()).unwrap();
//! let mut library = Library::empty();
//! read.lay_over(&mut library, "friday.pack");
//! assert_eq!(library.names(Kind::Plant), ["a1-van"]);
//! ```

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::picture::{LARGEST_PICTURE, Picture, PictureError, from_letters, to_letters};
use super::raw::{RawCourse, RawJob};
use super::{Kind, LARGEST_FILE, Library, parse};
use crate::diag::Report;

/// Largest pack, bytes.
pub const LARGEST_PACK: usize = 16 << 20;
/// Most files in a pack.
pub const MOST_FILES: usize = 200;
/// Most pictures in a pack.
pub const MOST_PICTURES: usize = 60;
/// Longest name of a file in a pack, characters.
const LONGEST_NAME: usize = 64;
/// The form that this program writes and reads.
const FORM: u32 = 1;
/// Field by which a pack is known, and within how many bytes of its beginning it stands.
const KNOWN_BY: &str = "\"faultbay-pack\"";
const KNOWN_WITHIN: usize = 200;

/// A file in a pack.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Packed {
    kind: String,
    name: String,
    text: String,
}

/// A picture in a pack: a PNG file in letters (base 64).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PackedPicture {
    name: String,
    png: String,
}

/// Several scenario files in one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pack {
    #[serde(rename = "faultbay-pack")]
    form: u32,
    files: Vec<Packed>,
    /// A pack without pictures reads as it did before there were any.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pictures: Vec<PackedPicture>,
}

/// Why a pack can't be read or made.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum PackError {
    /// Too many bytes.
    #[error("the pack is larger than {} MiB", LARGEST_PACK >> 20)]
    TooLarge,
    /// Not JSON, or other fields than a pack has.
    #[error("this isn't a pack: {0}")]
    NotAPack(String),
    /// Written by a later version.
    #[error("the pack has form {0}; this version reads form {FORM}")]
    Form(u32),
    /// Too many files.
    #[error("the pack holds {0} files; at most {MOST_FILES} are read")]
    TooMany(usize),
    /// Too many pictures.
    #[error("the pack holds {0} pictures; at most {MOST_PICTURES} are read")]
    TooManyPictures(usize),
    /// A picture that isn't taken.
    #[error("picture {place} of the pack can't be shown: {why}")]
    Picture {
        /// Place in the pack, from 1.
        place: usize,
        /// Why not.
        why: PictureError,
    },
    /// A picture that isn't written in letters of base 64.
    #[error("picture {place} of the pack isn't written in base 64")]
    Letters {
        /// Place in the pack, from 1.
        place: usize,
    },
    /// A name of a picture that could lead out of a folder, or couldn't be typed.
    #[error(
        "picture {place} of the pack is named {name:?}; a name is 1 to {LONGEST_NAME} letters, digits and hyphens"
    )]
    PictureName {
        /// Place in the pack, from 1.
        place: usize,
        /// The name, shortened.
        name: String,
    },
    /// A kind of file that doesn't exist.
    #[error("file {place} of the pack is called a {kind:?}; possible: {known}")]
    Kind {
        /// Place in the pack, from 1.
        place: usize,
        /// What stands there.
        kind: String,
        /// What may stand there.
        known: String,
    },
    /// A name that could lead out of a folder, or couldn't be typed.
    #[error(
        "file {place} of the pack is named {name:?}; a name is 1 to {LONGEST_NAME} letters, digits and hyphens"
    )]
    Name {
        /// Place in the pack, from 1.
        place: usize,
        /// The name, shortened.
        name: String,
    },
    /// A file that is too large by itself.
    #[error("file {place} of the pack is larger than {} KiB", LARGEST_FILE >> 10)]
    FileTooLarge {
        /// Place in the pack, from 1.
        place: usize,
    },
    /// The same file twice.
    #[error("the pack holds the {kind} {name:?} twice")]
    Twice {
        /// Its kind.
        kind: String,
        /// Its name.
        name: String,
    },
    /// What was to be packed is broken.
    #[error("the job {0:?} can't be read; `faultbay check` says why")]
    Unreadable(String),
    /// What was to be packed isn't there.
    #[error("no {kind} is called {name:?}")]
    Missing {
        /// Its kind.
        kind: &'static str,
        /// Its name.
        name: String,
    },
}

impl Pack {
    /// A pack with nothing in it yet.
    pub fn empty() -> Self {
        Self { form: FORM, files: Vec::new(), pictures: Vec::new() }
    }

    /// A job with the plant and the rubric that it names, so that it stands alone.
    ///
    /// # Errors
    /// [`PackError::Missing`] when one of them isn't in the library.
    pub fn of_job(library: &Library, job: &str) -> Result<Self, PackError> {
        let mut pack = Self::empty();
        pack.add(library, job)?;
        Ok(pack)
    }

    /// Adds another job; what is in the pack already is left as it is.
    ///
    /// # Errors
    /// As [`Pack::of_job`].
    pub fn add(&mut self, library: &Library, job: &str) -> Result<(), PackError> {
        let text = self.take(library, Kind::Job, job)?;
        let read = parse::read::<RawJob>(job, &text, &mut Report::new());
        let raw = read.filter(|r| r.whole).ok_or_else(|| PackError::Unreadable(job.to_owned()))?.value;
        for (kind, name) in [(Kind::Plant, raw.plant), (Kind::Rubric, raw.rubric)] {
            self.take(library, kind, &name)?;
        }
        raw.pictures.iter().try_for_each(|shown| self.take_picture(library, &shown.name))
    }

    /// Adds a course with its jobs and what they need.
    ///
    /// # Errors
    /// As [`Pack::of_job`].
    pub fn add_course(&mut self, library: &Library, course: &str) -> Result<(), PackError> {
        let text = self.take(library, Kind::Course, course)?;
        let read = parse::read::<RawCourse>(course, &text, &mut Report::new());
        let raw = read.filter(|r| r.whole).ok_or_else(|| PackError::Unreadable(course.to_owned()))?.value;
        raw.jobs.iter().try_for_each(|stage| self.add(library, &stage.job))
    }

    fn take(&mut self, library: &Library, kind: Kind, name: &str) -> Result<String, PackError> {
        let missing = || PackError::Missing { kind: kind.word(), name: name.to_owned() };
        let text = library.text(kind, name).ok_or_else(missing)?.to_owned();
        if !self.files.iter().any(|f| f.kind == kind.word() && f.name == name) {
            let file = Packed { kind: kind.word().to_owned(), name: name.to_owned(), text: text.clone() };
            // what couldn't be read again isn't packed
            file.check(self.files.len() + 1)?;
            if self.files.len() == MOST_FILES {
                return Err(PackError::TooMany(MOST_FILES + 1));
            }
            self.files.push(file);
        }
        Ok(text)
    }

    fn take_picture(&mut self, library: &Library, name: &str) -> Result<(), PackError> {
        let missing = || PackError::Missing { kind: "picture", name: name.to_owned() };
        let picture = library.picture(name).ok_or_else(missing)?;
        if self.pictures.iter().any(|p| p.name == name) {
            return Ok(());
        }
        let place = self.pictures.len() + 1;
        if place > MOST_PICTURES {
            return Err(PackError::TooManyPictures(place));
        }
        let packed = PackedPicture { name: name.to_owned(), png: to_letters(picture.png()) };
        packed.read(place)?;
        self.pictures.push(packed);
        Ok(())
    }

    /// Whether a file that begins with these bytes means to be a pack.
    pub fn is_begun_by(bytes: &[u8]) -> bool {
        let begins = String::from_utf8_lossy(&bytes[..bytes.len().min(KNOWN_WITHIN)]);
        begins.trim_start().starts_with('{') && begins.contains(KNOWN_BY)
    }

    /// Reads a pack and checks its limits; whether its files are right is for the checks of files.
    ///
    /// # Errors
    /// The first limit that it breaks.
    pub fn read(text: &str) -> Result<Self, PackError> {
        if text.len() > LARGEST_PACK {
            return Err(PackError::TooLarge);
        }
        let pack: Self = serde_json::from_str(text).map_err(|why| PackError::NotAPack(why.to_string()))?;
        if pack.form != FORM {
            return Err(PackError::Form(pack.form));
        }
        if pack.files.len() > MOST_FILES {
            return Err(PackError::TooMany(pack.files.len()));
        }
        let mut seen = BTreeSet::new();
        for (place, file) in (1..).zip(&pack.files) {
            file.check(place)?;
            if !seen.insert((&file.kind, &file.name)) {
                return Err(PackError::Twice { kind: file.kind.clone(), name: file.name.clone() });
            }
        }
        if pack.pictures.len() > MOST_PICTURES {
            return Err(PackError::TooManyPictures(pack.pictures.len()));
        }
        let mut seen = BTreeSet::new();
        for (place, picture) in (1..).zip(&pack.pictures) {
            picture.read(place)?;
            if !seen.insert(&picture.name) {
                return Err(PackError::Twice { kind: "picture".to_owned(), name: picture.name.clone() });
            }
        }
        Ok(pack)
    }

    /// Adds a remark to every job. An attempt names its job by a hash; with something in the job that nobody can guess,
    /// who knows all of it but the hidden cause can't try causes until the hash fits.
    pub fn salt(&mut self, salt: &str) {
        let plain: String = salt.chars().filter(char::is_ascii_alphanumeric).collect();
        for file in self.files.iter_mut().filter(|f| f.kind == Kind::Job.word()) {
            file.text += &format!("\n// Sealed with {plain}.\n");
        }
    }

    /// The pack as text.
    pub fn text(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).unwrap_or_default();
        text.push('\n');
        text
    }

    /// Names of the jobs in it.
    pub fn jobs(&self) -> Vec<&str> {
        self.files.iter().filter(|f| f.kind == Kind::Job.word()).map(|f| f.name.as_str()).collect()
    }

    /// Kind and name of each file in it, in its order.
    pub fn files(&self) -> impl Iterator<Item = (Kind, &str)> {
        self.files.iter().filter_map(|f| Some((kind_called(&f.kind)?, f.name.as_str())))
    }

    /// How many files it holds.
    pub fn len(&self) -> usize {
        self.files.len()
    }

    /// Whether it holds none.
    pub fn is_empty(&self) -> bool {
        self.files.is_empty()
    }

    /// Lays its files over a library; `from` is what messages call the pack.
    pub fn lay_over(&self, library: &mut Library, from: &str) {
        for file in &self.files {
            if let Some(kind) = kind_called(&file.kind) {
                let place = format!("{from}:{}/{}.ron", kind.folder(), file.name);
                library.insert(kind, &file.name, &place, &file.text);
            }
        }
        for packed in &self.pictures {
            // it was read before
            if let Ok(picture) = packed.read(0) {
                library.insert_picture(&packed.name, picture);
            }
        }
    }

    /// How many pictures it holds.
    pub fn pictures(&self) -> usize {
        self.pictures.len()
    }
}

fn short(text: &str) -> String {
    text.chars().take(LONGEST_NAME).collect()
}

/// The names that the editor gives: no dot and no stroke, so that none leads out of a folder.
fn is_plain(name: &str) -> bool {
    let plain = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    !name.is_empty() && name.chars().count() <= LONGEST_NAME && name.chars().all(plain)
}

impl PackedPicture {
    fn read(&self, place: usize) -> Result<Picture, PackError> {
        if !is_plain(&self.name) {
            return Err(PackError::PictureName { place, name: short(&self.name) });
        }
        // four letters for three bytes: nothing larger is made than may be
        if self.png.len() > LARGEST_PICTURE.div_ceil(3) * 4 {
            return Err(PackError::Picture { place, why: PictureError::TooLarge });
        }
        let bytes = from_letters(&self.png).ok_or(PackError::Letters { place })?;
        Picture::read(&bytes).map_err(|why| PackError::Picture { place, why })
    }
}

impl Packed {
    fn check(&self, place: usize) -> Result<(), PackError> {
        if kind_called(&self.kind).is_none() {
            let known = Kind::ALL.map(Kind::word).join(", ");
            return Err(PackError::Kind { place, kind: short(&self.kind), known });
        }
        if !is_plain(&self.name) {
            return Err(PackError::Name { place, name: short(&self.name) });
        }
        if self.text.len() > LARGEST_FILE {
            return Err(PackError::FileTooLarge { place });
        }
        Ok(())
    }
}

fn kind_called(word: &str) -> Option<Kind> {
    Kind::ALL.into_iter().find(|kind| kind.word() == word)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::picture::EXAMPLE;

    fn of(files: &[(&str, &str, &str)]) -> String {
        let files = files.iter().map(|&(kind, name, text)| Packed {
            kind: kind.into(),
            name: name.into(),
            text: text.into(),
        });
        Pack { form: FORM, files: files.collect(), pictures: vec![] }.text()
    }

    #[test]
    fn a_job_travels_with_what_it_needs() {
        let pack = Pack::of_job(&Library::builtin(), "primer-air").unwrap();
        let read = Pack::read(&pack.text()).unwrap();
        assert_eq!(read, pack);
        assert_eq!(read.jobs(), ["primer-air"]);
        let mut alone = Library::empty();
        read.lay_over(&mut alone, "friday.pack");
        let (job, report) = super::super::load_job(&alone, "primer-air").unwrap();
        assert!(report.is_empty());
        assert_eq!(job.hash, super::super::load_job(&Library::builtin(), "primer-air").unwrap().0.hash);
    }

    #[test]
    fn a_course_travels_with_its_jobs_and_a_job_of_any_language_can_be_read_again() {
        let mut library = Library::builtin();
        let mut pack = Pack::empty();
        pack.add_course(&library, "first-steps").unwrap();
        let read = Pack::read(&pack.text()).unwrap();
        let mut alone = Library::empty();
        read.lay_over(&mut alone, "term.pack");
        let (course, report) = super::super::load_course(&alone, "first-steps").unwrap();
        assert!(report.is_empty(), "{report}");
        assert_eq!(course.stages.len(), alone.jobs().len());
        let text = library.text(Kind::Job, "primer-air").unwrap().to_owned();
        library.insert(Kind::Job, "ärger-am-morgen", "x.ron", &text);
        assert!(Pack::read(&Pack::of_job(&library, "ärger-am-morgen").unwrap().text()).is_ok());
        library.insert(Kind::Job, "so.so", "x.ron", &text);
        assert!(matches!(Pack::of_job(&library, "so.so"), Err(PackError::Name { .. })));
    }

    /// A library with a job that shows a picture.
    fn with_a_picture() -> Library {
        let mut library = super::super::example::library();
        let shows = "(name: \"grey\", shows: \"A filter housing, grey and dry.\")";
        let text =
            library.text(Kind::Job, "bench").unwrap().replacen("Job(", &format!("Job(pictures: [{shows}],"), 1);
        library.insert(Kind::Job, "shown", "shown.ron", &text);
        library
    }

    #[test]
    fn a_picture_travels_with_its_job_and_is_part_of_what_an_attempt_names() {
        let mut library = with_a_picture();
        let pack = Pack::of_job(&library, "shown").unwrap();
        assert_eq!((pack.len(), pack.pictures()), (3, 1));
        let read = Pack::read(&pack.text()).unwrap();
        assert_eq!(read, pack);
        let mut alone = Library::empty();
        read.lay_over(&mut alone, "friday.pack");
        let (job, report) = super::super::load_job(&alone, "shown").unwrap();
        assert!(!report.has_errors(), "{report}");
        assert_eq!(job.pictures[0].picture.png(), EXAMPLE);
        assert_eq!(job.hash, super::super::load_job(&library, "shown").unwrap().0.hash);
        let other = [&EXAMPLE[..8], &EXAMPLE[8..33], &EXAMPLE[33..55], &EXAMPLE[33..]].concat();
        library.insert_picture("grey", Picture::read(&other).unwrap());
        assert_ne!(job.hash, super::super::load_job(&library, "shown").unwrap().0.hash);
        // without the picture the job isn't one
        let mut bare: serde_json::Value = serde_json::from_str(&pack.text()).unwrap();
        bare["pictures"] = serde_json::json!([]);
        let mut alone = Library::empty();
        Pack::read(&bare.to_string()).unwrap().lay_over(&mut alone, "friday.pack");
        let report = super::super::load_job(&alone, "shown").unwrap_err().to_string();
        assert!(report.contains("FB-S067"), "{report}");
        // and one without pictures is written as before there were any
        assert!(!Pack::of_job(&library, "bench").unwrap().text().contains("pictures"));
    }

    #[test]
    fn pictures_from_a_stranger_are_held_to_their_limits() {
        let good = to_letters(EXAMPLE);
        let of = |all: &[(&str, &str)]| {
            let all = all.iter().map(|(name, png)| PackedPicture { name: (*name).into(), png: (*png).into() });
            Pack { form: FORM, files: vec![], pictures: all.collect() }.text()
        };
        let many: Vec<(&str, &str)> = vec![("x", &good); MOST_PICTURES + 1];
        let large = "A".repeat(LARGEST_PICTURE.div_ceil(3) * 4 + 4);
        let cases = [
            (of(&many), "the pack holds 61 pictures"),
            (of(&[("../x", &good)]), "picture 1 of the pack is named \"../x\""),
            (of(&[("x", &good), ("x.png", &good)]), "picture 2 of the pack is named \"x.png\""),
            (of(&[("x", &good), ("x", &good)]), "the pack holds the picture \"x\" twice"),
            (of(&[("x", "not letters")]), "picture 1 of the pack isn't written in base 64"),
            (
                of(&[("x", &to_letters(b"<svg onload=\"x\">"))]),
                "picture 1 of the pack can't be shown: it isn't a PNG",
            ),
            (of(&[("x", &large)]), "picture 1 of the pack can't be shown: it is larger than 512 KiB"),
            (of(&[("x", "")]), "picture 1 of the pack can't be shown: it isn't a PNG file"),
        ];
        for (text, words) in cases {
            let error = Pack::read(&text).unwrap_err().to_string();
            assert!(error.starts_with(words), "{error}");
        }
        let odd = of(&[("x", &good)]).replace("\"png\"", "\"run\": \"me\", \"png\"");
        assert!(Pack::read(&odd).unwrap_err().to_string().contains("unknown field `run`"));
    }

    #[test]
    fn two_jobs_share_a_plant() {
        let mut pack = Pack::of_job(&Library::builtin(), "primer-air").unwrap();
        pack.add(&Library::builtin(), "bypass-puff").unwrap();
        assert_eq!(pack.len(), 4, "two jobs, one plant, one rubric");
    }

    #[test]
    fn what_breaks_a_limit_is_refused_with_the_reason() {
        let many: Vec<(&str, &str, &str)> = vec![("job", "x", ""); MOST_FILES + 1];
        let large = "x".repeat(LARGEST_FILE + 1);
        let cases: [(String, &str); 11] = [
            ("{".into(), "this isn't a pack: EOF"),
            (r#"{"faultbay-pack":1,"files":[],"run":"me"}"#.into(), "this isn't a pack: unknown field `run`"),
            (r#"{"faultbay-pack":2,"files":[]}"#.into(), "the pack has form 2"),
            (of(&many), "the pack holds 201 files"),
            (of(&[("programme", "x", "")]), "file 1 of the pack is called a \"programme\"; possible: plant, job"),
            (of(&[("job", "../../x", "")]), "file 1 of the pack is named \"../../x\""),
            (of(&[("job", "c:x", "")]), "file 1 of the pack is named \"c:x\""),
            (of(&[("job", "x\u{202e}y", "")]), "file 1 of the pack is named"),
            (of(&[("job", "x", ""), ("job", "x", "")]), "the pack holds the job \"x\" twice"),
            (of(&[("job", "x", &large)]), "file 1 of the pack is larger than 1024 KiB"),
            (" ".repeat(LARGEST_PACK + 1), "the pack is larger than 16 MiB"),
        ];
        for (text, words) in cases {
            let error = Pack::read(&text).unwrap_err().to_string();
            assert!(error.starts_with(words), "{error}");
        }
        let deep = format!(r#"{{"faultbay-pack":1,"files":{}"#, "[".repeat(100_000));
        assert!(Pack::read(&deep).is_err(), "nesting ends before the stack does");
    }
}
