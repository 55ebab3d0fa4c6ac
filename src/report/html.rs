//! A document as one HTML file that needs nothing beside it: style and figures inside, no script, no
//! address anywhere.
//!
//! The page is made by templates, so that a college can put its letterhead on it, or another order, without
//! building the program anew. Text in them is escaped; what a template may do is bounded.

use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, Value, context};
use thiserror::Error;

use super::document::Document;
use super::look;
use crate::language::said;

/// The templates that make the page, by file name: those built in.
pub const TEMPLATES: [(&str, &str); 4] = [
    ("debrief.html", include_str!("../../assets/report/debrief.html")),
    ("letterhead.html", include_str!("../../assets/report/letterhead.html")),
    ("blocks.html", include_str!("../../assets/report/blocks.html")),
    ("debrief.css", include_str!("../../assets/report/debrief.css")),
];

/// Largest template, bytes.
pub const LARGEST_TEMPLATE: usize = 1 << 20;

/// Instructions that a page may take: some thousand times what ours take, and soon over.
const FUEL: u64 = 20_000_000;

/// Why a page couldn't be made. Only templates from outside can be at fault.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("{file}{}: {what}\n  {hint}", line.map_or(String::new(), |l| format!(", line {l}")))]
pub struct TemplateError {
    /// The template.
    pub file: String,
    /// Line in it, from 1.
    pub line: Option<usize>,
    /// What was found.
    pub what: String,
    /// What to do.
    pub hint: String,
}

/// Templates of the house, some of them replaced.
#[derive(Clone, Debug)]
pub struct Templates {
    texts: Vec<(String, String)>,
}

impl Default for Templates {
    fn default() -> Self {
        let owned = |(name, text): (&str, &str)| (name.to_owned(), text.to_owned());
        Self { texts: TEMPLATES.into_iter().map(owned).collect() }
    }
}

impl Templates {
    /// Puts a text in the place of the template of this name.
    ///
    /// # Errors
    /// When there is no template of this name, or the text is too large.
    pub fn replace(&mut self, name: &str, text: &str) -> Result<(), TemplateError> {
        let wrong = |what: String, hint: String| TemplateError { file: name.to_owned(), line: None, what, hint };
        if text.len() > LARGEST_TEMPLATE {
            return Err(wrong(
                format!("{} bytes are too many for a template", text.len()),
                format!("At most {LARGEST_TEMPLATE} bytes; put pictures in as small SVG."),
            ));
        }
        let names: Vec<String> = self.texts.iter().map(|t| t.0.clone()).collect();
        match self.texts.iter_mut().find(|(known, _)| known == name) {
            Some(slot) => {
                text.clone_into(&mut slot.1);
                Ok(())
            }
            None => Err(wrong("no template has this name".to_owned(), format!("Those are: {}.", names.join(", ")))),
        }
    }

    /// The document as an HTML page.
    ///
    /// # Errors
    /// When a replaced template can't be read, names something that isn't there, or never ends.
    pub fn page(&self, document: &Document) -> Result<String, TemplateError> {
        let mut env = Environment::new();
        env.set_auto_escape_callback(|name| match name.ends_with(".html") {
            true => AutoEscape::Html,
            false => AutoEscape::None,
        });
        env.set_fuel(Some(FUEL));
        env.set_recursion_limit(32);
        env.set_undefined_behavior(minijinja::UndefinedBehavior::SemiStrict);
        for (name, text) in &self.texts {
            env.add_template(name, text).map_err(|e| told(&e, name))?;
        }
        let page = env.get_template("debrief.html").map_err(|e| told(&e, "debrief.html"))?;
        let colours = look::style_variables();
        let doc = Value::from(Serde(document));
        let words = words();
        page.render(context! { doc, colours, words }).map_err(|e| told(&e, "debrief.html"))
    }
}

/// The page by the house's own templates.
///
/// # Errors
/// None that a document could cause; a template of ours that fails is a bug, and says where.
pub fn page(document: &Document) -> Result<String, TemplateError> {
    Templates::default().page(document)
}

/// What the templates themselves say, in the language spoken.
fn words() -> Value {
    context! {
        letterhead => said("page-letterhead"),
        to_result => said("page-to-result"),
        contents => said("page-contents"),
        in_numbers => said("page-in-numbers"),
        by_hand => said("page-by-hand"),
    }
}

/// The innermost place and its words.
fn told(error: &minijinja::Error, file: &str) -> TemplateError {
    let mut inner = error;
    while let Some(source) = std::error::Error::source(inner).and_then(|s| s.downcast_ref::<minijinja::Error>()) {
        inner = source;
    }
    let hint = match inner.kind() {
        minijinja::ErrorKind::SyntaxError => {
            "Tags are written {% … %}, values {{ … }}; every {% if %}, {% for %} and {% macro %} needs its end."
        }
        minijinja::ErrorKind::TemplateNotFound => {
            "A template may use debrief.html, letterhead.html, blocks.html and debrief.css, and no other file."
        }
        minijinja::ErrorKind::UndefinedError => {
            "There are: doc (title, subtitle, lang, foot, sections), words and colours; a section has id, title, blocks."
        }
        minijinja::ErrorKind::OutOfFuel => "The page takes too many steps: is there a loop in a loop?",
        _ => "Compare it with the template that is built in.",
    };
    TemplateError {
        file: inner.name().unwrap_or(file).to_owned(),
        line: inner.line(),
        what: inner.detail().map_or_else(|| inner.kind().to_string(), str::to_owned),
        hint: hint.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::document::{Block, Cell, Holds, Section, Table, Tone, text};
    use super::*;

    fn document() -> Document {
        let mut table = Table::new("Readings", &[("Line", Holds::Figures, 1.0), ("What <b>", Holds::Words, 3.0)]);
        table.row([Cell::from("1"), Cell::signed("●", "within")]);
        let blocks = vec![
            text(Tone::Caution, "Mind <script>alert(1)</script> & \"quotes\""),
            Block::Facts { rows: vec![("a".into(), "b".into())] },
            Block::List { items: vec!["one".into()] },
            Block::Table(table),
            Block::Form { rows: vec![("Reason".into(), 4)] },
        ];
        Document {
            lang: "en-GB",
            title: "T <i>".into(),
            subtitle: "s".into(),
            foot: "f".into(),
            sections: vec![Section { id: "result", title: "Result".into(), blocks, own_page: false }],
        }
    }

    #[test]
    fn strangers_words_stay_words() {
        let page = page(&document()).unwrap();
        assert!(!page.contains("<script") && page.contains("&lt;script&gt;"), "{page}");
        assert!(page.contains("<title>T &lt;i&gt;</title>"));
        assert!(page.contains("What &lt;b&gt;"));
    }

    #[test]
    fn every_kind_of_block_is_written() {
        let page = page(&document()).unwrap();
        for part in
            ["<p class=\"note caution\">", "<dt>a</dt><dd>b</dd>", "<li>one</li>", "<caption>Readings</caption>"]
        {
            assert!(page.contains(part), "no {part}: {page}");
        }
        for part in ["<th scope=\"col\"", "<th scope=\"row\"", "class=\"lines-4\"", "lang=\"en-GB\""] {
            assert!(page.contains(part), "no {part}: {page}");
        }
    }

    #[test]
    fn a_letterhead_takes_the_place_of_ours() {
        let mut templates = Templates::default();
        templates.replace("letterhead.html", "<p>Brackmoor College, {{ doc.title }}</p>").unwrap();
        let page = templates.page(&document()).unwrap();
        assert!(page.contains("Brackmoor College, T &lt;i&gt;") && !page.contains("class=\"letterhead\""));
    }

    #[track_caller]
    fn refused(name: &str, text: &str) -> TemplateError {
        let mut templates = Templates::default();
        match templates.replace(name, text) {
            Ok(()) => templates.page(&document()).unwrap_err(),
            Err(error) => error,
        }
    }

    #[test]
    fn a_broken_template_is_told_with_its_place() {
        let error = refused("letterhead.html", "<p>\n{% if doc.title %}\n</p>");
        assert_eq!((error.file.as_str(), error.line), ("letterhead.html", Some(2)), "{error}");
        let error = refused("letterhead.html", "<p>\n{{ dok.title }}</p>");
        assert_eq!((error.file.as_str(), error.line), ("letterhead.html", Some(2)), "{error}");
        let error = refused("debrief.html", "{% include \"../secret\" %}");
        assert!(error.hint.contains("no other file"), "{error}");
        assert!(refused("letterhed.html", "").hint.contains("letterhead.html"));
        assert!(refused("debrief.css", &" ".repeat(LARGEST_TEMPLATE + 1)).what.contains("too many"));
    }

    #[test]
    fn a_template_that_never_ends_is_stopped() {
        let error = refused(
            "letterhead.html",
            "{% for a in range(9999) %}{% for b in range(9999) %}{% for c in range(9999) %}{% endfor %}{% endfor %}{% endfor %}",
        );
        assert!(error.hint.contains("too many steps"), "{error}");
    }
}
