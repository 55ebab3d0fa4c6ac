//! What stands on a page, as plain data, and what each piece of it is to a reader.

use super::letters::Face;

/// Something drawn. Points of 1/72 inch from the top left corner; colours 0xRRGGBB.
#[derive(Clone, Debug, PartialEq)]
pub enum Draw {
    /// A text on one line, from the left end of its base line.
    Text {
        /// Where it begins.
        at: (f64, f64),
        /// Weight.
        face: Face,
        /// Size.
        size: f64,
        /// Colour.
        colour: u32,
        /// The words.
        text: String,
    },
    /// Lines through points.
    Pen {
        /// Stretches of at least two points.
        stretches: Vec<Vec<(f64, f64)>>,
        /// Colour.
        colour: u32,
        /// Width of the pen.
        width: f64,
        /// Broken into dashes.
        dashed: bool,
    },
    /// A filled rectangle.
    Field {
        /// Left and top.
        at: (f64, f64),
        /// Width and height, both above 0.
        size: (f64, f64),
        /// Colour.
        colour: u32,
    },
    /// A dot.
    Dot {
        /// Middle.
        at: (f64, f64),
        /// Radius.
        radius: f64,
        /// Colour of the ring.
        colour: u32,
        /// Colour inside.
        inside: u32,
    },
}

/// A piece of a page with the leaf of the structure that it belongs to; without one it is ornament.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Number of the leaf.
    pub leaf: Option<usize>,
    /// What is drawn.
    pub draw: Draw,
}

/// What a part of the document is.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// A section.
    Section,
    /// A heading of a level from 1, with its words.
    Heading(u16, String),
    /// A paragraph.
    Paragraph,
    /// A list.
    List,
    /// An item of it.
    Item,
    /// What names the item.
    Label,
    /// What the item says.
    Body,
    /// A table with its caption.
    Table(String),
    /// Its heading rows.
    Head,
    /// Its other rows.
    Rows,
    /// A row.
    Row,
    /// The heading of a column.
    ColumnHead,
    /// The heading of a row.
    RowHead,
    /// A cell.
    Cell,
    /// A figure: words for those who don't see it, its page, left, top, right and bottom.
    Figure(String, usize, [f64; 4]),
}

/// The structure of the document.
#[derive(Clone, Debug, PartialEq)]
pub enum Node {
    /// Parts within a part.
    Group(Kind, Vec<Node>),
    /// A piece that is drawn.
    Leaf(usize),
}

/// A place that a bookmark leads to.
#[derive(Clone, Debug, PartialEq)]
pub struct Bookmark {
    /// 2 for a section, 3 for a heading in it.
    pub level: u16,
    /// Its words.
    pub text: String,
    /// Page from 0.
    pub page: usize,
    /// Distance from the top.
    pub y: f64,
}

/// A document laid out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Laid {
    /// Its pages.
    pub pages: Vec<Vec<Item>>,
    /// Its structure.
    pub tree: Vec<Node>,
    /// Number of leaves.
    pub leaves: usize,
    /// Bookmarks in order.
    pub bookmarks: Vec<Bookmark>,
}
