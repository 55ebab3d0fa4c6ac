//! Texts of plants, jobs, rubrics and courses by name, and pictures that jobs show.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::picture::Picture;

/// What a file describes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A vehicle's supply.
    Plant,
    /// A complaint with a hidden cause.
    Job,
    /// How attempts are marked.
    Rubric,
    /// Jobs in the order in which they are sat.
    Course,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 4] = [Self::Plant, Self::Job, Self::Rubric, Self::Course];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Plant => "plant",
            Self::Job => "job",
            Self::Rubric => "rubric",
            Self::Course => "course",
        }
    }

    /// The word that opens such a file.
    pub const fn opening(self) -> &'static str {
        match self {
            Self::Plant => "Plant",
            Self::Job => "Job",
            Self::Rubric => "Rubric",
            Self::Course => "Course",
        }
    }

    /// The folder that such files lie in.
    pub const fn folder(self) -> &'static str {
        match self {
            Self::Plant => "plants",
            Self::Job => "jobs",
            Self::Rubric => "rubrics",
            Self::Course => "courses",
        }
    }
}

#[derive(Clone, Debug)]
struct Entry {
    file: Cow<'static, str>,
    text: Cow<'static, str>,
}

/// Texts by kind and name: those built in, and those laid over them. It lives in memory; whoever
/// reads a folder puts its files in with [`insert`](Self::insert).
#[derive(Clone, Debug, Default)]
pub struct Library {
    entries: BTreeMap<(Kind, String), Entry>,
    pictures: BTreeMap<String, Picture>,
}

/// The folder that pictures lie in, beside those of the files that name them.
pub const PICTURES: &str = "pictures";

impl Library {
    /// A library without anything in it.
    pub fn empty() -> Self {
        Self::default()
    }

    /// Everything that is built into the program.
    pub fn builtin() -> Self {
        let mut library = Self::empty();
        for &(kind, name, file, text) in super::builtin::FILES {
            let entry = Entry { file: Cow::Borrowed(file), text: Cow::Borrowed(text) };
            library.entries.insert((kind, name.to_owned()), entry);
        }
        library
    }

    /// Puts a text in, in the place of any that had the same kind and name. `file` is what reports
    /// call it.
    pub fn insert(&mut self, kind: Kind, name: &str, file: &str, text: &str) {
        let entry = Entry { file: Cow::Owned(file.to_owned()), text: Cow::Owned(text.to_owned()) };
        self.entries.insert((kind, name.to_owned()), entry);
    }

    /// A text.
    pub fn text(&self, kind: Kind, name: &str) -> Option<&str> {
        self.entry(kind, name).map(|(_, text)| text)
    }

    /// A text with the name of its file.
    pub fn entry(&self, kind: Kind, name: &str) -> Option<(&str, &str)> {
        self.entries.get(&(kind, name.to_owned())).map(|e| (&*e.file, &*e.text))
    }

    /// Names of a kind in alphabetical order.
    pub fn names(&self, kind: Kind) -> Vec<String> {
        self.entries.keys().filter(|(k, _)| *k == kind).map(|(_, name)| name.clone()).collect()
    }

    /// Puts a picture in, in the place of any that had the same name.
    pub fn insert_picture(&mut self, name: &str, picture: Picture) {
        self.pictures.insert(name.to_owned(), picture);
    }

    /// A picture.
    pub fn picture(&self, name: &str) -> Option<&Picture> {
        self.pictures.get(name)
    }

    /// Names of the pictures in alphabetical order.
    pub fn pictures(&self) -> Vec<String> {
        self.pictures.keys().cloned().collect()
    }

    /// Names of the jobs in alphabetical order.
    pub fn jobs(&self) -> Vec<String> {
        self.names(Kind::Job)
    }
}
