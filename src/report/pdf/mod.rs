//! A document as a tagged PDF (PDF/UA-1) on A4: bookmarks, language, alternative texts, tables with
//! headings, fonts inside. The same bytes for the same document: nothing here knows what day it is.
//!
//! `sheet` lays the document out and notes what each piece is; `emit` writes the file.

mod draw;
mod emit;
pub mod letters;
mod sheet;

use thiserror::Error;

use super::document::Document;

/// Why a PDF couldn't be written. None of it can be caused by an attempt.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum PdfError {
    /// A built-in font can't be read.
    #[error("a font that is built in can't be read; the program is damaged")]
    Font,
    /// The file would break a rule of accessible documents.
    #[error("the PDF can't be written: {0}")]
    Rules(String),
}

/// The document as the bytes of a PDF file.
///
/// # Errors
/// When the file would break a rule of accessible documents, which is a bug of ours.
pub fn write(document: &Document) -> Result<Vec<u8>, PdfError> {
    let letters = letters::Letters::new()?;
    let laid = sheet::lay_out(document, &letters);
    emit::emit(document, &laid, &letters)
}

#[cfg(test)]
mod tests {
    use super::super::document::{Block, Cell, Holds, Section, Table, Tone, text};
    use super::*;

    fn document(rows: usize, words: &str) -> Document {
        let mut table = Table::new(
            "Readings",
            &[("Line", Holds::Figures, 1.0), ("What", Holds::Words, 3.0), ("Share", Holds::Bar, 1.0)],
        );
        for i in 0..rows {
            table.row([Cell::from(i.to_string()), words.into(), Cell::bar(0.5)]);
        }
        let blocks = vec![
            text(Tone::Caution, "Training values."),
            Block::Heading { text: "Below".into() },
            Block::Facts { rows: vec![("Reason".into(), words.into())] },
            Block::List { items: vec![words.into()] },
            Block::Table(table),
            Block::Form { rows: vec![("Reason".into(), 4)] },
        ];
        Document {
            lang: "en-GB",
            title: "Debrief: a test".into(),
            subtitle: "s".into(),
            foot: "f".into(),
            sections: vec![Section { id: "result", title: "Result".into(), blocks, own_page: false }],
        }
    }

    fn holds(bytes: &[u8], text: &str) -> bool {
        bytes.windows(text.len()).any(|w| w == text.as_bytes())
    }

    #[test]
    fn it_is_tagged_and_says_its_title_and_language() {
        let pdf = write(&document(3, "words")).unwrap();
        assert!(pdf.starts_with(b"%PDF-1.7"));
        for part in [
            "/StructTreeRoot",
            "/Lang",
            "en-GB",
            "/Marked true",
            "pdfuaid",
            "/Outlines",
            "/DisplayDocTitle true",
            "/FontFile2",
        ] {
            assert!(holds(&pdf, part), "no {part}");
        }
        for tag in ["/S/H1", "/S/H2", "/S/H3", "/S/Table", "/S/TR", "/S/TH", "/S/TD", "/S/LI", "/Scope/Column"] {
            assert!(holds(&pdf, tag), "no {tag}");
        }
        assert!(holds(&pdf, "Debrief: a test"));
    }

    #[test]
    fn the_same_document_gives_the_same_bytes() {
        let one = write(&document(80, "some words that go on for a while, over the end of their line")).unwrap();
        assert_eq!(
            one,
            write(&document(80, "some words that go on for a while, over the end of their line")).unwrap()
        );
        assert_ne!(one, write(&document(80, "other words")).unwrap());
    }

    #[test]
    fn text_longer_than_a_page_goes_on_over_it() {
        let long = "word ".repeat(4000);
        let pdf = write(&document(2, &long)).unwrap();
        let pages = pdf.windows(11).filter(|w| w == b"/Type/Page/").count();
        assert!(pages > 10, "{pages}");
    }

    #[test]
    fn letters_that_no_font_has_do_no_harm() {
        write(&document(1, "漢字 \u{0} \u{202e} ●▲◐✕ \u{feff}😀")).unwrap();
        write(&document(0, "")).unwrap();
    }
}
