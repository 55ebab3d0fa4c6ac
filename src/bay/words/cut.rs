//! A line cut into words, and a hand that takes one after the other.

use super::{Terms, Unclear};
use crate::bay::action::{MINUTE, Micros, Quantity, SECOND, TestUnit};
use crate::units::PressureUnit;

/// Longest line that is read, bytes.
const LONGEST: usize = 64 << 10;

/// A word of the line.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Piece {
    /// Without its quotes.
    pub text: String,
    /// It stood in quotes.
    pub quoted: bool,
    /// Where it begins, in characters from 1.
    pub column: usize,
}

/// What is left of a line while it is read.
pub(super) struct Line<'a> {
    pieces: std::collections::VecDeque<Piece>,
    /// Words after `#`.
    pub remark: Option<String>,
    end: usize,
    /// Names that the job knows.
    pub terms: &'a Terms,
    /// Time at which the line is read.
    pub now: Micros,
}

impl<'a> Line<'a> {
    /// Cuts a line: words between spaces, text in double quotes, a remark after `#`.
    pub fn cut(text: &str, terms: &'a Terms, now: Micros) -> Result<Self, Unclear> {
        if text.len() > LONGEST {
            return Err(Unclear::new(1, "a line of at most 64 KiB", "a longer one"));
        }
        let mut pieces = std::collections::VecDeque::new();
        let mut remark = None;
        let mut chars = text.chars().enumerate().peekable();
        let mut end = 1;
        while let Some(&(i, c)) = chars.peek() {
            end = i + 2;
            if c.is_whitespace() {
                chars.next();
            } else if c == '#' {
                chars.next();
                let words: String = chars.by_ref().map(|(_, c)| c).collect();
                remark = Some(words.trim().to_owned()).filter(|words| !words.is_empty());
            } else if c == '"' {
                chars.next();
                let mut word = String::new();
                loop {
                    match chars.next() {
                        Some((_, '"')) => break,
                        Some((_, '\\')) => word.push(unescape(&mut chars, i + 1)?),
                        Some((_, c)) => word.push(c),
                        None => return Err(Unclear::new(i + 1, "a closing quotation mark", "the end of the line")),
                    }
                }
                pieces.push_back(Piece { text: word, quoted: true, column: i + 1 });
            } else {
                let mut word = String::new();
                while let Some((j, c)) = chars.next_if(|(_, c)| !c.is_whitespace() && *c != '"') {
                    word.push(c);
                    end = j + 2;
                }
                pieces.push_back(Piece { text: word, quoted: false, column: i + 1 });
            }
        }
        Ok(Self { pieces, remark, end, terms, now })
    }

    /// The next word.
    pub fn next(&mut self) -> Option<Piece> {
        let piece = self.pieces.pop_front();
        if let Some(piece) = &piece {
            self.end = self.end.max(piece.column + piece.text.chars().count() + 1);
        }
        piece
    }

    fn peek(&self) -> Option<&Piece> {
        self.pieces.front()
    }

    /// Words are left.
    pub fn more(&self) -> bool {
        !self.pieces.is_empty()
    }

    /// The next word, which must be there.
    pub fn word(&mut self, expected: &str) -> Result<Piece, Unclear> {
        let end = self.end;
        self.next().ok_or_else(|| Unclear::new(end, expected, "the end of the line"))
    }

    /// Text in quotes (or one bare word).
    pub fn text(&mut self, expected: &str) -> Result<String, Unclear> {
        self.word(expected).map(|piece| piece.text)
    }

    /// Takes the next word if it is this one, bare.
    pub fn has(&mut self, word: &str) -> bool {
        let found = self.peek().is_some_and(|p| !p.quoted && same(&p.text, word));
        if found {
            self.next();
        }
        found
    }

    /// Takes the next piece if it stands in quotes.
    pub fn quoted(&mut self) -> Option<String> {
        if self.peek().is_some_and(|p| p.quoted) { self.next().map(|p| p.text) } else { None }
    }

    /// One of these words.
    pub fn choice<T: Copy>(&mut self, what: &str, of: &[(&str, T)]) -> Result<T, Unclear> {
        let words: Vec<&str> = of.iter().map(|(word, _)| *word).collect();
        let expected = format!("{what} ({})", words.join(", "));
        let piece = self.word(&expected)?;
        // "not proven" may be written as two words
        if let Some(next) = self.peek().filter(|next| !next.quoted && !piece.quoted) {
            let both = format!("{} {}", piece.text, next.text);
            if let Some((_, value)) = of.iter().find(|(word, _)| word.contains('-') && same(word, &both)) {
                self.next();
                return Ok(*value);
            }
        }
        match of.iter().find(|(word, _)| same(word, &piece.text)) {
            Some((_, value)) => Ok(*value),
            None => Err(Unclear::at(&piece, &expected).near(super::nearest(&piece.text, words.iter().copied()))),
        }
    }

    /// A name of the job, written with hyphens or quotes where it has spaces; its label will do too.
    pub fn name(&mut self, what: &str, known: &[(String, String)]) -> Result<String, Unclear> {
        let list: Vec<&str> = known.iter().map(|(name, _)| name.as_str()).collect();
        let expected = if list.is_empty() { what.to_owned() } else { format!("{what} ({})", list.join(", ")) };
        let piece = self.word(&expected)?;
        if known.is_empty() {
            return Ok(piece.text);
        }
        let find = |text: &str| {
            let exact = known.iter().find(|(name, _)| name == text);
            let alike = || known.iter().find(|(name, _)| same(name, text));
            exact.or_else(alike).or_else(|| known.iter().find(|(_, label)| same(label, text)))
        };
        if !piece.quoted {
            // a name of several words without hyphens: the longest that fits
            let bare = self.pieces.iter().take_while(|p| !p.quoted).take(5).count();
            for count in (1..=bare).rev() {
                let more = self.pieces.iter().take(count).map(|p| p.text.as_str());
                let text = std::iter::once(piece.text.as_str()).chain(more).collect::<Vec<_>>().join(" ");
                if let Some((name, _)) = find(&text) {
                    for _ in 0..count {
                        self.next();
                    }
                    return Ok(name.clone());
                }
            }
        }
        match find(&piece.text) {
            Some((name, _)) => Ok(name.clone()),
            None => Err(Unclear::at(&piece, &expected).near(super::nearest(&piece.text, list.iter().copied()))),
        }
    }

    /// A number, decimal point or comma, with the letters that follow it at once.
    fn number_with_tail(&mut self, expected: &str) -> Result<(f64, String, Piece), Unclear> {
        let piece = self.word(expected)?;
        match split_number(&piece.text).filter(|_| !piece.quoted) {
            Some((value, tail)) => Ok((value, tail.to_owned(), piece)),
            None => Err(Unclear::at(&piece, expected)),
        }
    }

    /// A number without a unit.
    pub fn number(&mut self, expected: &str) -> Result<f64, Unclear> {
        let (value, tail, piece) = self.number_with_tail(expected)?;
        if tail.is_empty() { Ok(value) } else { Err(Unclear::at(&piece, expected)) }
    }

    /// A whole number.
    pub fn whole<T: std::str::FromStr>(&mut self, expected: &str) -> Result<T, Unclear> {
        let piece = self.word(expected)?;
        piece.text.parse().ok().filter(|_| !piece.quoted).ok_or_else(|| Unclear::at(&piece, expected))
    }

    /// Numbers of lines of the sheet, one at least.
    pub fn lines(&mut self) -> Result<Vec<usize>, Unclear> {
        let mut lines = vec![self.whole("the number of a line of the sheet, such as 3")?];
        while let Some(number) = self.maybe_whole() {
            lines.push(number);
        }
        Ok(lines)
    }

    /// The next word, if it is a whole number.
    pub fn maybe_whole<T: std::str::FromStr>(&mut self) -> Option<T> {
        let value = self.peek().filter(|p| !p.quoted)?.text.parse().ok()?;
        self.next();
        Some(value)
    }

    /// A span of time in seconds.
    pub fn seconds(&mut self, expected: &str) -> Result<f64, Unclear> {
        let (value, mut tail, piece) = self.number_with_tail(expected)?;
        if tail.is_empty()
            && let Some(next) = self.peek().filter(|p| !p.quoted && time_unit(&p.text).is_some())
        {
            tail = next.text.clone();
            self.next();
        }
        match tail.as_str() {
            "" => Ok(value),
            unit => match time_unit(unit) {
                Some(micros) => Ok(value * (micros / SECOND) as f64),
                None => Err(Unclear::at(&piece, expected)),
            },
        }
    }

    /// A unit of pressure, if one follows.
    pub fn unit(&mut self) -> Option<PressureUnit> {
        let unit = PressureUnit::from_symbol(&self.peek().filter(|p| !p.quoted)?.text)?;
        self.next();
        Some(unit)
    }

    /// A pressure, with or without its unit.
    pub fn pressure(&mut self) -> Result<(f64, Option<PressureUnit>), Unclear> {
        let expected = "a pressure, such as -95 mbar";
        let (value, tail, piece) = self.number_with_tail(expected)?;
        if tail.is_empty() {
            return Ok((value, self.unit()));
        }
        match PressureUnit::from_symbol(&tail) {
            Some(unit) => Ok((value, Some(unit))),
            None => {
                let symbols = PressureUnit::ALL.map(PressureUnit::symbol);
                Err(Unclear::at(&piece, &format!("a pressure in one of {}", symbols.join(", ")))
                    .near(super::nearest(&tail, symbols)))
            }
        }
    }

    /// A quantity's word, if one comes next.
    pub fn quantity(&mut self) -> Option<Quantity> {
        let piece = self.peek().filter(|p| !p.quoted)?;
        let found = Quantity::ALL.into_iter().find(|q| same(q.word(), &piece.text))?;
        self.next();
        Some(found)
    }

    /// A number of a quantity, with or without its unit.
    pub fn measured(&mut self, quantity: Quantity) -> Result<(f64, Option<TestUnit>), Unclear> {
        let expected = format!("a {}, such as 12 {}", quantity.word(), quantity.unit().symbol());
        let (value, tail, piece) = self.number_with_tail(&expected)?;
        if tail.is_empty() {
            let follows = self.peek().filter(|p| !p.quoted).and_then(|p| TestUnit::from_symbol(&p.text));
            if follows.is_some() {
                self.next();
            }
            return Ok((value, follows));
        }
        match TestUnit::from_symbol(&tail) {
            Some(unit) => Ok((value, Some(unit))),
            None => {
                let symbols = TestUnit::ALL.map(TestUnit::symbol);
                Err(Unclear::at(&piece, &format!("a {} in a unit of it", quantity.word()))
                    .near(super::nearest(&tail, symbols)))
            }
        }
    }

    /// Where to leave a lever: open, shut or a share.
    pub fn lever(&mut self) -> Result<f64, Unclear> {
        if self.has("open") {
            Ok(1.0)
        } else if self.has("shut") {
            Ok(0.0)
        } else {
            self.number("open, shut or a share such as 0.5")
        }
    }

    /// Two numbers with `..` between them.
    pub fn band(&mut self) -> Result<(f64, f64), Unclear> {
        let expected = "the lowest and the highest reading, such as -150..-40";
        let piece = self.word(expected)?;
        let both = piece.text.split_once("..").filter(|_| !piece.quoted).and_then(|(low, high)| {
            let (low, a) = split_number(low)?;
            let (high, b) = split_number(high)?;
            (a.is_empty() && b.is_empty()).then_some((low, high))
        });
        both.ok_or_else(|| Unclear::at(&piece, expected))
    }

    /// A window of the trace: `-3s` (so long, up to now) or `12.5s..15.5s` (from the beginning of the job).
    pub fn window(&mut self) -> Result<(Micros, Micros), Unclear> {
        let expected = "a window, such as -3s or 62s..65s";
        let piece = self.word(expected)?;
        let text = piece.text.replace('\u{2212}', "-");
        let window = match text.split_once("..") {
            Some((from, to)) => exact_time(from).zip(exact_time(to)),
            None => {
                text.strip_prefix('-').and_then(exact_time).map(|span| (self.now.saturating_sub(span), self.now))
            }
        };
        window.filter(|_| !piece.quoted).ok_or_else(|| Unclear::at(&piece, expected))
    }

    /// Nothing may follow.
    pub fn end(mut self, allowed: &str) -> Result<(), Unclear> {
        match self.next() {
            None => Ok(()),
            Some(piece) => Err(Unclear::at(&piece, allowed)),
        }
    }
}

/// Two spellings of one word: capitals, and hyphen, underscore or space, make no difference.
pub(super) fn same(a: &str, b: &str) -> bool {
    let fold = |text: &str| {
        text.split(|c: char| c.is_whitespace() || c == '-' || c == '_')
            .filter(|part| !part.is_empty())
            .map(str::to_lowercase)
            .collect::<Vec<_>>()
    };
    let (a, b) = (fold(a), fold(b));
    !a.is_empty() && a == b
}

fn unescape(chars: &mut impl Iterator<Item = (usize, char)>, column: usize) -> Result<char, Unclear> {
    let wrong =
        |column, found: &str| Unclear::new(column, r#"\", \\, \n, \t, \r or \u{…} after a backslash"#, found);
    match chars.next() {
        Some((_, c @ ('"' | '\\'))) => Ok(c),
        Some((_, 'n')) => Ok('\n'),
        Some((_, 't')) => Ok('\t'),
        Some((_, 'r')) => Ok('\r'),
        Some((i, 'u')) => {
            let code: String = chars.take(8).map(|(_, c)| c).take_while(|&c| c != '}').collect();
            let digits = code.strip_prefix('{').unwrap_or_default();
            u32::from_str_radix(digits, 16).ok().and_then(char::from_u32).ok_or_else(|| wrong(i + 1, &code))
        }
        Some((i, c)) => Err(wrong(i + 1, &c.to_string())),
        None => Err(wrong(column, "the end of the line")),
    }
}

/// A number and what follows it. Point or comma; hyphen or minus sign.
fn split_number(text: &str) -> Option<(f64, &str)> {
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+' | '\u{2212}');
    let end = text.find(|c: char| !is_number(c)).unwrap_or(text.len());
    let (number, tail) = text.split_at(end);
    let number = number.replace('\u{2212}', "-").replace(',', ".");
    // letters only: "12e4" and "0x9" are slips rather than numbers
    let plain = tail.chars().all(|c| c.is_alphabetic() || c == '%');
    let value: f64 = number.parse().ok()?;
    (plain && value.is_finite()).then_some((value, tail))
}

fn time_unit(word: &str) -> Option<Micros> {
    match word.to_ascii_lowercase().as_str() {
        "s" | "sec" | "secs" | "second" | "seconds" => Some(SECOND),
        "min" | "mins" | "minute" | "minutes" => Some(MINUTE),
        "h" | "hour" | "hours" => Some(60 * MINUTE),
        _ => None,
    }
}

/// A time or span to the microsecond, without a detour over binary fractions.
fn exact_time(text: &str) -> Option<Micros> {
    let end = text.find(|c: char| c.is_alphabetic()).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let unit = if unit.is_empty() { SECOND } else { time_unit(unit)? };
    let number = number.replace(',', ".");
    let (whole, part) = number.split_once('.').unwrap_or((&number, ""));
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || whole.len() > 14 || part.len() > 6 || !digits(whole) || !digits(part) {
        return None;
    }
    let millionths: u128 = format!("{whole}{part:0<6}").parse().ok()?;
    (millionths * u128::from(unit / SECOND)).try_into().ok()
}
