//! A document as plain data: sections of headings, sentences, tables and figures. The HTML and the PDF
//! are written from the same one, so neither can say what the other doesn't.

use crate::language::{named, said};
use serde::Serialize;

use super::figure::Figure;

/// A whole document. Every text in it is plain: whoever writes a file form of it escapes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Document {
    /// Language of the words, as an RFC 5646 tag.
    pub lang: &'static str,
    /// Title.
    pub title: String,
    /// One line under it.
    pub subtitle: String,
    /// What the foot of every page says.
    pub foot: String,
    /// The parts, in reading order.
    pub sections: Vec<Section>,
}

/// A part under a heading of its own.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Section {
    /// Name for links and templates.
    pub id: &'static str,
    /// Heading.
    pub title: String,
    /// What stands under it.
    pub blocks: Vec<Block>,
    /// On paper it begins a page of its own.
    pub own_page: bool,
}

/// How loud something is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tone {
    /// As text.
    Plain,
    /// Smaller, in the second ink.
    Quiet,
    /// A remark, boxed.
    Note,
    /// A caution, boxed.
    Caution,
    /// A critical matter, boxed.
    Critical,
}

impl Tone {
    /// The word that stands before it, so that nothing is said by colour alone.
    pub fn word(self) -> &'static str {
        match self {
            Self::Plain | Self::Quiet => "",
            Self::Note => said("report-tone-note"),
            Self::Caution => said("report-tone-caution"),
            Self::Critical => said("report-tone-critical"),
        }
    }
}

/// Something in a section.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Block {
    /// A heading below the section's.
    Heading {
        /// The heading.
        text: String,
    },
    /// A paragraph.
    Text {
        /// How loud.
        tone: Tone,
        /// The word before a boxed one.
        word: &'static str,
        /// The words.
        text: String,
    },
    /// What something came to, large, with a sentence beside it.
    Result {
        /// The figure, such as "18.0".
        figure: String,
        /// Of what, such as "of 100".
        of: String,
        /// The sentence.
        text: String,
    },
    /// Sentences one under another.
    List {
        /// Each a sentence.
        items: Vec<String>,
    },
    /// Names with what they stand for.
    Facts {
        /// Name and value.
        rows: Vec<(String, String)>,
    },
    /// A table.
    Table(Table),
    /// A figure with its twin in words and numbers.
    Figure(Figure),
    /// Lines to be filled in by hand.
    Form {
        /// What is asked, and how many lines its answer gets.
        rows: Vec<(String, u8)>,
    },
}

/// A paragraph.
pub fn text(tone: Tone, text: impl Into<String>) -> Block {
    Block::Text { tone, word: tone.word(), text: text.into() }
}

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Holds {
    /// Words, left-aligned.
    Words,
    /// Numbers, right-aligned.
    Figures,
    /// A share of 1, drawn as a bar; its number stands in another column.
    Bar,
}

/// A column of a table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Column {
    /// Heading; never empty.
    pub title: String,
    /// What it holds.
    pub holds: Holds,
    /// Share of the width that it would like, in any unit common to the table's columns.
    pub width: f64,
}

/// A cell.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cell {
    /// The words.
    pub text: String,
    /// A sign beside them that says the same.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sign: Option<&'static str>,
    /// The share that a bar draws, 0 … 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bar: Option<f64>,
}

impl<T: Into<String>> From<T> for Cell {
    /// What has a word in the language spoken is said in it.
    fn from(text: T) -> Self {
        let text: String = text.into();
        Self { text: named(&text).to_owned(), sign: None, bar: None }
    }
}

impl Cell {
    /// A bar with its number in words.
    pub fn bar(share: f64) -> Self {
        let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
        Self { text: format!("{:.0} %", 100.0 * share), sign: None, bar: Some(share) }
    }

    /// Words with a sign before them.
    pub fn signed(sign: &'static str, text: impl Into<String>) -> Self {
        Self { text: text.into(), sign: Some(sign), bar: None }
    }
}

/// A table with headings over its columns; the first column names its row.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows, each as long as `columns`.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// An empty table. `columns`: heading, what it holds, width.
    pub fn new(caption: impl Into<String>, columns: &[(&str, Holds, f64)]) -> Self {
        let columns =
            columns.iter().map(|&(title, holds, width)| Column { title: title.to_owned(), holds, width }).collect();
        Self { caption: caption.into(), columns, rows: vec![] }
    }

    /// Adds a row; cells beyond the columns are dropped, missing ones are empty.
    pub fn row(&mut self, cells: impl IntoIterator<Item = Cell>) {
        let mut row: Vec<Cell> = cells.into_iter().take(self.columns.len()).collect();
        row.resize(self.columns.len(), Cell::from(""));
        self.rows.push(row);
    }
}
