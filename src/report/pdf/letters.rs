//! The letters of the PDF: fonts that are embedded, their widths, lines broken to a width.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider};

use super::PdfError;

/// The face for text, as a file: the window uses the same, so that it is in the program once.
pub static REGULAR: &[u8] = include_bytes!("../../../assets/fonts/AtkinsonHyperlegibleNext-Regular.ttf");
/// That of weight.
pub static SEMI_BOLD: &[u8] = include_bytes!("../../../assets/fonts/AtkinsonHyperlegibleNext-SemiBold.ttf");

/// Weight of the letters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// Text.
    Regular,
    /// Headings and what weighs more.
    SemiBold,
}

struct Cut {
    font: Font,
    file: FontRef<'static>,
}

impl Cut {
    fn read(bytes: &'static [u8]) -> Result<Self, PdfError> {
        let font = Font::new(bytes.into(), 0).ok_or(PdfError::Font)?;
        let file = FontRef::new(bytes).map_err(|_| PdfError::Font)?;
        Ok(Self { font, file })
    }
}

/// Both cuts, ready to measure and to draw.
pub struct Letters {
    cuts: [Cut; 2],
}

impl Letters {
    /// Reads the fonts that are built in.
    pub fn new() -> Result<Self, PdfError> {
        Ok(Self { cuts: [Cut::read(REGULAR)?, Cut::read(SEMI_BOLD)?] })
    }

    fn cut(&self, face: Face) -> &Cut {
        match face {
            Face::Regular => &self.cuts[0],
            Face::SemiBold => &self.cuts[1],
        }
    }

    /// The font of a face.
    pub fn font(&self, face: Face) -> Font {
        self.cut(face).font.clone()
    }

    /// The glyphs of a text with their advances, in parts of the size. What the font lacks is drawn as a
    /// question mark; the text behind it stays what it was.
    pub fn glyphs(&self, face: Face, text: &str) -> Vec<KrillaGlyph> {
        let file = &self.cut(face).file;
        let (map, metrics) = (file.charmap(), file.glyph_metrics(Size::new(1.0), LocationRef::default()));
        let known = |c: char| map.map(c).filter(|id| id.to_u32() != 0);
        text.char_indices()
            .filter_map(|(at, c)| {
                let plain = if c.is_whitespace() { ' ' } else { c };
                let id = known(plain).or_else(|| known('?'))?;
                let advance = metrics.advance_width(id).unwrap_or(0.5);
                let range = at..at + c.len_utf8();
                Some(KrillaGlyph::new(GlyphId::new(id.to_u32()), advance, 0.0, 0.0, 0.0, range, None))
            })
            .collect()
    }

    /// Width of a text on one line.
    pub fn width(&self, face: Face, size: f64, text: &str) -> f64 {
        size * self.glyphs(face, text).iter().map(|g| f64::from(g.x_advance)).sum::<f64>()
    }

    /// The text in lines no wider than `width`: broken between words, and within a word that is longer
    /// than a line. Each line but the last ends in the space that it was broken at, for whoever reads the
    /// text aloud or copies it. Never empty.
    pub fn lines(&self, face: Face, size: f64, text: &str, width: f64) -> Vec<String> {
        let space = self.width(face, size, " ");
        let mut lines: Vec<String> = vec![];
        let (mut line, mut taken) = (String::new(), 0.0);
        for word in text.split_whitespace() {
            let mut word = word;
            let mut wide = self.width(face, size, word);
            if !line.is_empty() && taken + space + wide > width {
                line.push(' ');
                lines.push(std::mem::take(&mut line));
                taken = 0.0;
            }
            while wide > width {
                let cut = self.fitting(face, size, word, width);
                lines.push(word[..cut].to_owned());
                word = &word[cut..];
                wide = self.width(face, size, word);
            }
            if !line.is_empty() {
                line.push(' ');
                taken += space;
            }
            line.push_str(word);
            taken += wide;
        }
        if lines.is_empty() && line.is_empty() {
            // something must stand in an empty cell, or it isn't a cell
            line.push(' ');
        }
        if !line.is_empty() {
            lines.push(line);
        }
        lines
    }

    /// Bytes of a word that fit, at least one character.
    fn fitting(&self, face: Face, size: f64, word: &str, width: f64) -> usize {
        let mut taken = 0.0;
        let mut end = 0;
        for (at, c) in word.char_indices() {
            taken += self.width(face, size, c.encode_utf8(&mut [0; 4]));
            if taken > width && at > 0 {
                break;
            }
            end = at + c.len_utf8();
        }
        end
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_font_has_every_letter_that_we_write() {
        let letters = Letters::new().unwrap();
        for face in [Face::Regular, Face::SemiBold] {
            let map = letters.cut(face).file.charmap();
            for c in "AZaz09 −–×±·“”‘’°%&()[]/,.;:?!<>é".chars() {
                assert!(map.map(c).is_some(), "{face:?} lacks {c:?}");
            }
        }
    }

    proptest! {
        #[test]
        fn no_line_is_too_wide_and_no_letter_is_lost(text in "[a-zA-Z0-9−“ ]{0,200}", width in 20.0..300.0_f64) {
            let letters = Letters::new().unwrap();
            let lines = letters.lines(Face::Regular, 9.0, &text, width);
            for line in &lines {
                prop_assert!(letters.width(Face::Regular, 9.0, line.trim_end()) <= width + 1e-6, "{line:?}");
            }
            let strip = |t: &str| t.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            prop_assert_eq!(strip(&lines.concat()), strip(&text));
        }
    }
}
