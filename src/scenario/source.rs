//! Where in a file a value stands.
//!
//! After parsing, a value no longer knows its place; a check that fails later ("no part is called
//! so") has to find it again. [`Source::scan`] walks the text once and keeps the place of every
//! value and field. It judges nothing but brackets: what isn't well formed otherwise is left to the
//! parser. It runs first and keeps the limits on nesting and number of values, so that nothing
//! later meets a text that could exhaust memory or stack.

use std::borrow::Cow;
use std::ops::Range;

/// Deepest nesting of brackets; a job needs six.
pub const DEEPEST: usize = 24;
/// Most values in a file; a large job has a thousand.
pub const MOST_VALUES: usize = 20_000;

/// Why a text couldn't be walked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ScanError {
    /// More than [`DEEPEST`] brackets open at this byte.
    TooDeep(usize),
    /// More than [`MOST_VALUES`] values.
    TooMany(usize),
    /// A bracket that is never closed, or by the wrong one.
    Bracket {
        /// Byte of the opening bracket.
        opened: usize,
        /// Byte where its end was expected.
        missing: usize,
    },
    /// A text or a comment begins at this byte and never ends.
    Unclosed(usize),
    /// A sign at this byte that can't stand there; and the byte where the last text before it began
    /// that ran over the end of a line, often because its quote is missing.
    Stray {
        /// Byte of the sign.
        at: usize,
        /// Byte of the text before it.
        text: Option<usize>,
    },
}

#[derive(Clone, Debug, PartialEq)]
enum Kind {
    Leaf,
    Items,
    Fields,
}

/// A value: its place, the word before its bracket, and what the bracket holds.
#[derive(Clone, Debug, PartialEq)]
struct Node {
    span: Range<usize>,
    word: Range<usize>,
    kind: Kind,
    keys: Vec<Range<usize>>,
    values: Vec<Node>,
}

/// A walked text.
#[derive(Clone, Debug, PartialEq)]
pub struct Source<'t> {
    text: Cow<'t, str>,
    root: Node,
}

impl<'t> Source<'t> {
    /// Walks a text.
    ///
    /// # Errors
    /// See [`ScanError`].
    pub fn scan(text: impl Into<Cow<'t, str>>) -> Result<Self, ScanError> {
        let owned = text.into();
        let text: &str = &owned;
        let mut scanner = Scanner::of(text);
        scanner.attributes()?;
        let root = scanner.value(0)?;
        scanner.gap()?;
        if scanner.at < text.len() {
            return Err(scanner.stray(scanner.at));
        }
        Ok(Self { text: owned, root })
    }

    /// Where the last of the file's fields ends that is whole before the text breaks, its comma included; none where none is.
    pub fn whole_until(text: &str, broken: &ScanError) -> Option<usize> {
        let before = match *broken {
            // a text whose quote is missing runs to the next one, so it looks whole and isn't
            ScanError::Unclosed(at) | ScanError::Stray { text: Some(at), .. } => at,
            _ => text.len(),
        };
        let mut scanner = Scanner::of(text);
        scanner.opened().ok().filter(|opened| *opened)?;
        let mut ends = vec![];
        while scanner.at < text.len() {
            if !scanner.key().unwrap_or(false) {
                // where no field follows, the one before may be all that is left of a list whose bracket is missing
                ends.pop();
                break;
            }
            if !scanner.rest_of_field().unwrap_or(false) || scanner.at > before {
                break;
            }
            ends.push(scanner.at);
        }
        ends.pop()
    }

    /// The whole value of the file.
    pub fn root(&self) -> At<'_> {
        At { text: &self.text, node: &self.root, missed: false }
    }
}

/// A place in a walked text. Going to a field that isn't there stays at the value that lacks it.
#[derive(Clone, Copy, Debug)]
pub struct At<'s> {
    text: &'s str,
    node: &'s Node,
    missed: bool,
}

impl<'s> At<'s> {
    /// The value of a field.
    pub fn field(self, name: &str) -> Self {
        if self.missed {
            return self;
        }
        // `Some((…))` and `Line((…))`: look through the outer bracket
        if self.node.kind == Kind::Items && self.node.values.len() == 1 && !self.node.word.is_empty() {
            return At { node: &self.node.values[0], ..self }.field(name);
        }
        match self.node.keys.iter().position(|key| &self.text[key.clone()] == name) {
            Some(i) if self.node.kind == Kind::Fields => At { node: &self.node.values[i], ..self },
            _ => At { missed: true, ..self },
        }
    }

    /// An entry of a list, from 0.
    pub fn item(self, index: usize) -> Self {
        match self.node.values.get(index) {
            Some(node) if !self.missed && self.node.kind == Kind::Items => At { node, ..self },
            _ => At { missed: true, ..self },
        }
    }

    /// Whether every step so far led somewhere.
    pub fn exists(self) -> bool {
        !self.missed
    }

    /// Bytes of the value.
    pub fn span(self) -> Range<usize> {
        self.node.span.clone()
    }

    /// Bytes of the sign that opens the value and the word before it; all of a plain value.
    pub fn head(self) -> Range<usize> {
        match self.node.kind {
            Kind::Leaf => self.span(),
            _ => self.node.span.start..self.node.word.end.max(self.node.span.start) + 1,
        }
    }

    /// Everything that stands before the value in its file.
    pub fn before(self) -> &'s str {
        &self.text[..self.node.span.start]
    }

    /// Number of the line that holds a byte of the file, from 1.
    pub fn line_of(self, byte: usize) -> usize {
        self.text.bytes().take(byte).filter(|b| *b == b'\n').count() + 1
    }

    /// Text of the value.
    pub fn text(self) -> &'s str {
        &self.text[self.node.span.clone()]
    }

    /// The word before the bracket; empty when there is none.
    pub fn word(self) -> &'s str {
        &self.text[self.node.word.clone()]
    }

    /// Whether the value is a list (or a bracket without field names).
    pub fn is_list(self) -> bool {
        self.node.kind == Kind::Items
    }

    /// Whether the value is a bracket with field names, or an empty one.
    pub fn has_fields(self) -> bool {
        self.node.kind == Kind::Fields
            || (self.node.kind == Kind::Items && self.node.values.is_empty() && self.text().ends_with(')'))
    }

    /// Number of entries or fields.
    pub fn len(self) -> usize {
        self.node.values.len()
    }

    /// Field names with their places, in the order of the text, and the values.
    pub fn fields(self) -> impl Iterator<Item = (&'s str, Range<usize>, Self)> {
        let text = self.text;
        self.node
            .keys
            .iter()
            .zip(&self.node.values)
            .map(move |(key, node)| (&text[key.clone()], key.clone(), At { text, node, missed: false }))
    }

    /// Place of the name of a field; of the second one of that name with `nth` 1.
    pub fn key(self, name: &str, nth: usize) -> Option<Range<usize>> {
        self.fields().filter(|(key, _, _)| *key == name).nth(nth).map(|(_, span, _)| span)
    }
}

struct Scanner<'t> {
    text: &'t str,
    bytes: &'t [u8],
    at: usize,
    values: usize,
    over_lines: Option<usize>,
}

impl<'t> Scanner<'t> {
    fn of(text: &'t str) -> Self {
        Self { text, bytes: text.as_bytes(), at: 0, values: 0, over_lines: None }
    }
}

impl Scanner<'_> {
    /// Walks up to the first field of the file; false where no bracket opens.
    fn opened(&mut self) -> Result<bool, ScanError> {
        self.attributes()?;
        self.word();
        self.gap()?;
        let opens = self.peek() == b'(';
        self.at += usize::from(opens);
        self.gap()?;
        Ok(opens)
    }

    /// Walks over the name of a field and its colon; false where none stands here.
    fn key(&mut self) -> Result<bool, ScanError> {
        let is_named = !self.word().is_empty();
        self.gap()?;
        let is_key = is_named && self.peek() == b':';
        self.at += usize::from(is_key);
        Ok(is_key)
    }

    /// Walks over the value of a field with the comma behind it, and to what follows; false where neither comma nor end does.
    fn rest_of_field(&mut self) -> Result<bool, ScanError> {
        self.gap()?;
        self.value(1)?;
        self.gap()?;
        let is_apart = self.peek() == b',';
        self.at += usize::from(is_apart);
        self.gap()?;
        Ok(is_apart || self.at >= self.bytes.len())
    }

    fn peek(&self) -> u8 {
        self.bytes.get(self.at).copied().unwrap_or(0)
    }

    fn starts(&self, word: &str) -> bool {
        self.bytes[self.at..].starts_with(word.as_bytes())
    }

    /// Blanks and comments.
    fn gap(&mut self) -> Result<(), ScanError> {
        loop {
            let rest = &self.text[self.at..];
            let trimmed = rest.trim_start();
            self.at += rest.len() - trimmed.len();
            if self.starts("//") {
                self.at = trimmed.find('\n').map_or(self.bytes.len(), |i| self.at + i);
            } else if self.starts("/*") {
                self.block_comment()?;
            } else {
                return Ok(());
            }
        }
    }

    fn block_comment(&mut self) -> Result<(), ScanError> {
        let start = self.at;
        let mut depth = 0_usize;
        while self.at < self.bytes.len() {
            if self.starts("/*") {
                depth += 1;
                self.at += 2;
            } else if self.starts("*/") {
                depth -= 1;
                self.at += 2;
                if depth == 0 {
                    return Ok(());
                }
            } else {
                self.at += 1;
            }
        }
        Err(ScanError::Unclosed(start))
    }

    /// `#![enable(…)]` at the head of the file.
    fn attributes(&mut self) -> Result<(), ScanError> {
        self.gap()?;
        while self.starts("#!") {
            match self.text[self.at..].find(']') {
                Some(i) => self.at += i + 1,
                None => return Err(self.stray(self.at)),
            }
            self.gap()?;
        }
        Ok(())
    }

    /// A word of letters, digits and low lines; empty when none stands here.
    fn word(&mut self) -> Range<usize> {
        let start = self.at;
        if self.starts("r#") && self.bytes.get(self.at + 2).is_some_and(|b| b.is_ascii_alphabetic() || *b == b'_') {
            self.at += 2;
        }
        let rest = &self.text[self.at..];
        if rest.starts_with(|c: char| c.is_alphabetic() || c == '_') {
            let end = rest.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(rest.len());
            self.at += end;
        }
        start..self.at
    }

    fn value(&mut self, depth: usize) -> Result<Node, ScanError> {
        if depth > DEEPEST {
            return Err(ScanError::TooDeep(self.at));
        }
        self.values += 1;
        if self.values > MOST_VALUES {
            return Err(ScanError::TooMany(self.at));
        }
        let start = self.at;
        if let Some(end) = self.quoted()? {
            return Ok(leaf(start..end, start..start));
        }
        let word = self.word();
        let after_word = self.at;
        if !word.is_empty() {
            self.gap()?;
        }
        match self.peek() {
            open @ (b'(' | b'[' | b'{') if word.is_empty() || open == b'(' => self.bracket(start, word, depth),
            _ if !word.is_empty() => {
                self.at = after_word;
                // a word runs into digits and signs only by mistake; take them all
                self.plain();
                Ok(leaf(start..self.at, word))
            }
            _ => {
                self.plain();
                if self.at == start {
                    return Err(self.stray(start));
                }
                Ok(leaf(start..self.at, start..start))
            }
        }
    }

    /// Runs to the next blank, bracket, comma, colon or comment.
    fn plain(&mut self) {
        while self.at < self.bytes.len() {
            let b = self.bytes[self.at];
            if b.is_ascii_whitespace() || b"()[]{},:\"'/".contains(&b) {
                break;
            }
            self.at += 1;
        }
        // never stop inside a character
        while !self.text.is_char_boundary(self.at) {
            self.at += 1;
        }
    }

    /// The end of a text or a character, when one starts here.
    fn quoted(&mut self) -> Result<Option<usize>, ScanError> {
        let start = self.at;
        let skip = match (self.peek(), self.bytes.get(self.at + 1).copied().unwrap_or(0)) {
            (b'b', b'"' | b'\'') => 1,
            (b'b', b'r') => 2,
            (b'r', b'"' | b'#') => 1,
            (b'"' | b'\'', _) => 0,
            _ => return Ok(None),
        };
        let rest = &self.bytes[start + skip..];
        let raw = skip > 0 && self.bytes[start + skip - 1] == b'r';
        if raw {
            let hashes = rest.iter().take_while(|&&b| b == b'#').count();
            if rest.get(hashes) != Some(&b'"') {
                return Ok(None); // a word such as `r#in`
            }
            let close: Vec<u8> = std::iter::once(b'"').chain(std::iter::repeat_n(b'#', hashes)).collect();
            let body = start + skip + hashes + 1;
            let end = find(&self.bytes[body..], &close).ok_or(ScanError::Unclosed(start))?;
            self.at = body + end + close.len();
            return Ok(Some(self.at));
        }
        let quote = rest[0];
        let mut i = start + skip + 1;
        while i < self.bytes.len() {
            match self.bytes[i] {
                b'\\' => i += 2,
                b if b == quote => {
                    self.at = i + 1;
                    if self.bytes[start..i].contains(&b'\n') {
                        self.over_lines = Some(start);
                    }
                    return Ok(Some(self.at));
                }
                _ => i += 1,
            }
        }
        Err(ScanError::Unclosed(start))
    }

    fn stray(&self, at: usize) -> ScanError {
        ScanError::Stray { at, text: self.over_lines }
    }

    fn bracket(&mut self, start: usize, word: Range<usize>, depth: usize) -> Result<Node, ScanError> {
        let opened = self.at;
        let close = match self.peek() {
            b'(' => b')',
            b'[' => b']',
            _ => b'}',
        };
        self.at += 1;
        let mut node = Node { span: start..start, word, kind: Kind::Items, keys: Vec::new(), values: Vec::new() };
        loop {
            self.gap()?;
            if self.peek() == close && self.at < self.bytes.len() {
                self.at += 1;
                node.span.end = self.at;
                return Ok(node);
            }
            if self.at >= self.bytes.len() || b")]}".contains(&self.peek()) {
                return Err(ScanError::Bracket { opened, missing: self.at });
            }
            if close == b')' {
                let before = self.at;
                let key = if self.quoted_ahead() { before..before } else { self.word() };
                self.gap()?;
                if !key.is_empty() && self.peek() == b':' {
                    if node.kind == Kind::Items && !node.values.is_empty() {
                        return Err(self.stray(before));
                    }
                    self.at += 1;
                    self.gap()?;
                    node.kind = Kind::Fields;
                    node.keys.push(key);
                } else {
                    self.at = before;
                    if node.kind == Kind::Fields {
                        return Err(self.stray(before));
                    }
                }
            }
            node.values.push(self.value(depth + 1)?);
            self.gap()?;
            if close == b'}' && self.peek() == b':' {
                self.at += 1;
                continue;
            }
            if self.peek() == b',' {
                self.at += 1;
            } else if self.at < self.bytes.len() && !b")]}".contains(&self.peek()) {
                return Err(self.unclosed(opened, node.values.last()).unwrap_or_else(|| self.stray(self.at)));
            }
        }
    }

    /// A field that begins within a list, on a line of its own: the list's bracket is missing before it.
    fn unclosed(&self, opened: usize, last: Option<&Node>) -> Option<ScanError> {
        let name = last.filter(|n| self.bytes[opened] == b'[' && self.peek() == b':' && n.span == n.word)?;
        let line = self.text[..name.span.start].rfind('\n').map_or(0, |i| i + 1);
        let stands_first = self.text[line..name.span.start].trim().is_empty();
        stands_first.then_some(ScanError::Bracket { opened, missing: name.span.start })
    }

    /// Whether a text rather than a word starts here (`r"…"` looks like both).
    fn quoted_ahead(&self) -> bool {
        matches!(
            (self.peek(), self.bytes.get(self.at + 1)),
            (b'"' | b'\'', _) | (b'b', Some(b'"' | b'\'')) | (b'r', Some(b'"'))
        )
    }
}

/// The byte at which blanks and comments behind a value end. `from` is such a value's end in a text that was walked.
pub fn behind(text: &str, from: usize) -> usize {
    let mut scanner = Scanner { text, bytes: text.as_bytes(), at: from, values: 0, over_lines: None };
    // a comment that never ends isn't in a text that was walked
    let _ = scanner.gap();
    scanner.at
}

fn leaf(span: Range<usize>, word: Range<usize>) -> Node {
    Node { span, word, kind: Kind::Leaf, keys: Vec::new(), values: Vec::new() }
}

fn find(hay: &[u8], needle: &[u8]) -> Option<usize> {
    hay.windows(needle.len()).position(|w| w == needle)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_value_is_found_again() {
        let text = r##"
            // a comment with ( brackets
            Job(
                title: "a \" quote ) and more", /* nested /* comment ( */ ] */
                list: [1, -2.5e3, mbar(-120), Some("x"),],
                raw: r#"with " and ("#,
                inner: Line(from: "a", to: "b"),
                pair: (2.0, 4.5),
                none: None,
            )
        "##;
        let source = Source::scan(text).unwrap();
        let root = source.root();
        assert_eq!(root.word(), "Job");
        assert_eq!(root.field("title").text(), r#""a \" quote ) and more""#);
        assert_eq!(root.field("list").len(), 4);
        assert_eq!(root.field("list").item(1).text(), "-2.5e3");
        assert_eq!(root.field("list").item(2).text(), "mbar(-120)");
        assert_eq!(root.field("raw").text(), r##"r#"with " and ("#"##);
        assert_eq!(root.field("inner").field("to").text(), "\"b\"");
        assert_eq!(root.field("inner").word(), "Line");
        assert_eq!(root.field("pair").item(1).text(), "4.5");
        assert_eq!(root.field("none").text(), "None");
        assert_eq!(&text[root.key("inner", 0).unwrap()], "inner");
        assert_eq!(&text[root.field("inner").head()], "Line(");
    }

    #[test]
    fn a_step_that_leads_nowhere_stays_where_it_was() {
        let source = Source::scan("(a: (b: 1))").unwrap();
        let lost = source.root().field("a").field("x").item(3).field("y");
        assert!(!lost.exists());
        assert_eq!(lost.text(), "(b: 1)");
    }

    #[test]
    fn brackets_that_do_not_match_are_told_with_both_places() {
        assert_eq!(Source::scan("(a: [1, 2)"), Err(ScanError::Bracket { opened: 4, missing: 9 }));
        assert_eq!(Source::scan("(a: [1, 2]"), Err(ScanError::Bracket { opened: 0, missing: 10 }));
        assert_eq!(Source::scan("(a: \"x)"), Err(ScanError::Unclosed(4)));
        let stray = |at| Err(ScanError::Stray { at, text: None });
        assert_eq!(Source::scan("(a: 1 b: 2)"), stray(6));
        assert_eq!(Source::scan(""), stray(0));
        assert_eq!(Source::scan("(a: 1))"), stray(6));
        // values without and with a name in one bracket
        assert_eq!(Source::scan("(1, b: 2)"), stray(4));
        assert_eq!(Source::scan("(b: 2, 1)"), stray(7));
        assert_eq!(Source::scan("[\"x,\n\"y\"]"), Err(ScanError::Stray { at: 6, text: Some(1) }));
    }

    #[test]
    fn depth_and_number_are_bounded() {
        let deep = "(".repeat(100_000);
        assert!(matches!(Source::scan(deep), Err(ScanError::TooDeep(_))));
        let many = format!("[{}]", "1,".repeat(MOST_VALUES + 1));
        assert!(matches!(Source::scan(many), Err(ScanError::TooMany(_))));
        let comment = "/*".repeat(100_000);
        assert_eq!(Source::scan(comment), Err(ScanError::Unclosed(0)));
    }
}
