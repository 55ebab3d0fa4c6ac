//! A figure as shapes with a meaning, its words and its numbers; and the figure as SVG text: the same
//! bytes for the same shapes.

use std::fmt::Write;

use serde::ser::{Serialize, SerializeStruct, Serializer};

use super::document::Table;
use crate::language::named;

/// Width of every figure, in its own units; about a pixel of a screen page.
pub const WIDTH: f64 = 760.0;
/// Height of the letters, in the same units.
pub const LETTER: f64 = 12.0;

/// What a shape stands for. Line style tells pens apart as well as colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ink {
    /// Chart paper under everything.
    Paper,
    /// A stretch that something rests on, or a card's range.
    Field,
    /// The grid.
    Grid,
    /// A frame or an axis.
    Axis,
    /// A moment: something done.
    Moment,
    /// What something is held against, thin.
    Beside,
    /// What was measured, solid.
    Measured,
    /// What was stated or comes later, dashed.
    Stated,
    /// What the evidence justifies, solid.
    Justified,
    /// Words.
    Word,
    /// Words of less weight.
    Quiet,
}

impl Ink {
    /// Name in the stylesheet.
    pub const fn class(self) -> &'static str {
        match self {
            Self::Paper => "paper",
            Self::Field => "field",
            Self::Grid => "grid",
            // thin and grey, too
            Self::Axis | Self::Beside => "axis",
            Self::Moment => "moment",
            Self::Measured => "measured",
            Self::Stated => "stated",
            Self::Justified => "justified",
            Self::Word => "word",
            Self::Quiet => "quiet",
        }
    }
}

/// Which end of a text its place is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// It begins there.
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// A shape. Units as [`WIDTH`]; y grows downwards.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A straight line from one point to another.
    Line {
        /// From.
        from: (f64, f64),
        /// To.
        to: (f64, f64),
        /// What it stands for.
        ink: Ink,
    },
    /// Lines through points, each stretch by itself.
    Path {
        /// The stretches.
        stretches: Vec<Vec<(f64, f64)>>,
        /// What it stands for.
        ink: Ink,
    },
    /// A filled rectangle.
    Field {
        /// Left and top.
        at: (f64, f64),
        /// Width and height.
        size: (f64, f64),
        /// What it stands for.
        ink: Ink,
    },
    /// A dot; an open one is only outlined.
    Dot {
        /// Middle.
        at: (f64, f64),
        /// Filled?
        filled: bool,
        /// What it stands for.
        ink: Ink,
    },
    /// A text on one line.
    Text {
        /// Its anchor on the base line.
        at: (f64, f64),
        /// Which end that is.
        anchor: Anchor,
        /// What it says.
        text: String,
        /// Its weight.
        ink: Ink,
    },
}

/// A figure with its twin in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// What it shows, in a few words.
    pub title: String,
    /// The same in sentences: what a person sees in it.
    pub words: String,
    /// The numbers behind it.
    pub table: Table,
    /// Height; the width is [`WIDTH`].
    pub height: f64,
    /// The shapes, those in front last.
    pub shapes: Vec<Shape>,
}

/// Width that a text will hardly exceed in any of the fonts a reader may have.
pub fn width_of(text: &str) -> f64 {
    0.6 * LETTER * text.chars().count() as f64
}

/// Text made safe for SVG.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// A coordinate: at most one decimal, no "-0". What isn't finite is drawn at 0 rather than breaking the
/// picture.
fn n(value: f64) -> String {
    let tenths = if value.is_finite() { (10.0 * value).round() as i64 } else { 0 };
    let sign = if tenths < 0 { "-" } else { "" };
    match (tenths.abs() / 10, tenths.abs() % 10) {
        (whole, 0) => format!("{sign}{whole}"),
        (whole, tenth) => format!("{sign}{whole}.{tenth}"),
    }
}

fn path(stretches: &[Vec<(f64, f64)>]) -> String {
    let mut d = String::new();
    for stretch in stretches {
        for (i, (x, y)) in stretch.iter().enumerate() {
            let _ = write!(d, "{}{} {}", if i == 0 { 'M' } else { 'L' }, n(*x), n(*y));
        }
    }
    d
}

/// Inks of a figure that stands alone: those of the light page.
const ALONE: &str = "<style>svg{background:#FBF9F3;font-family:sans-serif}text{font-size:12px;fill:#22313A}.quiet{fill:#566269}\
    rect.paper{fill:#FBF6EC}rect.field{fill:#F3E2B8}path{fill:none}.grid{stroke:#DDB79B;stroke-width:.5}\
    .axis{stroke:#566269;stroke-width:.8}.moment{stroke:#22313A;stroke-width:.8}.measured{stroke:#0B5563;stroke-width:1.4}\
    .justified{stroke:#5B4B8A;stroke-width:1.8}.stated{stroke:#A6472B;stroke-width:1.6;stroke-dasharray:5 3}</style>";

impl Figure {
    /// The figure as a file of its own.
    pub fn standalone(&self) -> String {
        self.svg().replacen("<title>", &format!("{ALONE}<title>"), 1) + "\n"
    }

    /// The figure as an SVG element for an HTML page, named and described for those who don't see it.
    pub fn svg(&self) -> String {
        let mut svg = format!(
            "<svg role=\"img\" viewBox=\"0 0 {} {}\" xmlns=\"http://www.w3.org/2000/svg\"><title>{}</title><desc>{}</desc>",
            n(WIDTH),
            n(self.height),
            escaped(&self.title),
            escaped(&self.words)
        );
        for shape in &self.shapes {
            let _ = match shape {
                Shape::Line { from, to, ink } => write!(
                    svg,
                    "<path class=\"{}\" d=\"M{} {}L{} {}\"/>",
                    ink.class(),
                    n(from.0),
                    n(from.1),
                    n(to.0),
                    n(to.1)
                ),
                Shape::Path { stretches, ink } => {
                    write!(svg, "<path class=\"{}\" d=\"{}\"/>", ink.class(), path(stretches))
                }
                Shape::Field { at, size, ink } => write!(
                    svg,
                    "<rect class=\"{}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
                    ink.class(),
                    n(at.0),
                    n(at.1),
                    n(size.0),
                    n(size.1)
                ),
                Shape::Dot { at, filled, ink } => write!(
                    svg,
                    "<circle class=\"{} {}\" cx=\"{}\" cy=\"{}\" r=\"4\"/>",
                    ink.class(),
                    if *filled { "full" } else { "open" },
                    n(at.0),
                    n(at.1)
                ),
                Shape::Text { at, anchor, text, ink } => {
                    let end = match anchor {
                        Anchor::Start => "",
                        Anchor::Middle => " text-anchor=\"middle\"",
                        Anchor::End => " text-anchor=\"end\"",
                    };
                    write!(
                        svg,
                        "<text class=\"{}\" x=\"{}\" y=\"{}\"{end}>{}</text>",
                        ink.class(),
                        n(at.0),
                        n(at.1),
                        escaped(text)
                    )
                }
            };
        }
        svg.push_str("</svg>");
        svg
    }

    /// Adds a line.
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), ink: Ink) {
        self.shapes.push(Shape::Line { from, to, ink });
    }

    /// Adds a text; what has a word in the language spoken is said in it.
    pub fn text(&mut self, at: (f64, f64), anchor: Anchor, ink: Ink, text: impl Into<String>) {
        let text = named(&text.into()).to_owned();
        self.shapes.push(Shape::Text { at, anchor, text, ink });
    }

    /// Adds a filled rectangle between two corners.
    pub fn field(&mut self, from: (f64, f64), to: (f64, f64), ink: Ink) {
        let at = (from.0.min(to.0), from.1.min(to.1));
        let size = ((to.0 - from.0).abs(), (to.1 - from.1).abs());
        self.shapes.push(Shape::Field { at, size, ink });
    }
}

impl Serialize for Figure {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("Figure", 4)?;
        fields.serialize_field("title", &self.title)?;
        fields.serialize_field("words", &self.words)?;
        fields.serialize_field("table", &self.table)?;
        fields.serialize_field("svg", &self.svg())?;
        fields.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strangers_text_cannot_leave_its_place() {
        assert_eq!(escaped("<b a=\"1\">&\u{7}"), "&lt;b a=&quot;1&quot;&gt;&amp;");
    }

    #[test]
    fn coordinates_are_short_and_have_one_text() {
        let texts = [0.04, -0.04, 12.0, -3.25, 7.96, f64::NAN].map(n);
        assert_eq!(texts, ["0", "0", "12", "-3.3", "8", "0"]);
    }

    #[test]
    fn a_figure_is_named_and_described() {
        let mut figure = Figure {
            title: "A <line>".into(),
            words: "It falls.".into(),
            table: Table::new("numbers", &[]),
            height: 10.0,
            shapes: vec![],
        };
        figure.line((0.0, 0.0), (5.5, 10.0), Ink::Measured);
        assert_eq!(
            figure.svg(),
            "<svg role=\"img\" viewBox=\"0 0 760 10\" xmlns=\"http://www.w3.org/2000/svg\">\
             <title>A &lt;line&gt;</title><desc>It falls.</desc><path class=\"measured\" d=\"M0 0L5.5 10\"/></svg>"
        );
    }
}
