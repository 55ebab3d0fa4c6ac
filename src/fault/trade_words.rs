//! What the trade calls a fault besides its name, from `trade-words.txt`: for finding papers that tell the answer.
//!
//! Where it stops: words that are said with other words between than `BETWEEN` allows, with a denial before them or as a
//! question aren't found, and who describes a fault without any of these words isn't either.

use std::collections::BTreeMap;
use std::sync::OnceLock;

/// The table as it is edited.
const TABLE: &str = include_str!("trade-words.txt");
/// So many words may stand between a thing and what ails it.
const BETWEEN: usize = 3;
/// Who says one of these within so many words before it, or between, doesn't say that it is so.
const DENIALS: [(&str, usize); 22] = [
    ("not", 3),
    ("isn", 4),
    ("wasn", 4),
    ("aren", 4),
    ("weren", 4),
    ("doesn", 4),
    ("didn", 4),
    ("never", 3),
    ("if", 4),
    ("whether", 4),
    ("no", 1),
    ("nothing", 1),
    ("without", 1),
    ("nicht", 3),
    ("nie", 3),
    ("ob", 4),
    ("wenn", 4),
    ("falls", 4),
    ("kein", 1),
    ("keine", 1),
    ("keinen", 1),
    ("ohne", 1),
];

/// A word, or the beginning of one where a star ends it.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Word {
    Whole(String),
    Begins(String),
}

impl Word {
    fn is(&self, word: &str) -> bool {
        match self {
            Self::Whole(own) => own == word,
            Self::Begins(own) => word.starts_with(own.as_str()),
        }
    }
}

type Phrase = Vec<Word>;

/// A line of the table: phrases by themselves, or things with what ails them.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Saying {
    language: String,
    things: Vec<Phrase>,
    ails: Vec<Phrase>,
}

/// Where a phrase stands in words: from and up to.
fn places(words: &[String], phrase: &Phrase) -> Vec<(usize, usize)> {
    let n = phrase.len();
    let starts = words.windows(n).enumerate().filter(|(_, w)| w.iter().zip(phrase).all(|(w, p)| p.is(w)));
    starts.map(|(i, _)| (i, i + n)).collect()
}

impl Saying {
    /// The words that say it, in a part of a sentence.
    fn said_in(&self, words: &[String]) -> Option<String> {
        let of =
            |phrases: &[Phrase]| -> Vec<(usize, usize)> { phrases.iter().flat_map(|p| places(words, p)).collect() };
        let things = of(&self.things);
        let is_meant = |&(from, to): &(usize, usize)| !is_denied(words, from, to);
        if self.ails.is_empty() {
            return things.into_iter().find(is_meant).map(|(from, to)| words[from..to].join(" "));
        }
        let ails = of(&self.ails);
        let near = |a: (usize, usize), b: (usize, usize)| {
            let ((_, end), (begin, _)) = if a.0 < b.0 { (a, b) } else { (b, a) };
            begin >= end && begin - end <= BETWEEN
        };
        let both = |t: &(usize, usize), a: &(usize, usize)| (t.0.min(a.0), t.1.max(a.1));
        let pairs = things.iter().flat_map(|t| ails.iter().filter(|a| near(*t, **a)).map(move |a| both(t, a)));
        pairs.into_iter().find(is_meant).map(|(from, to)| words[from..to].join(" "))
    }
}

/// A denial stands before what is said, near enough to belong to it, or within.
fn is_denied(words: &[String], from: usize, to: usize) -> bool {
    let denies =
        |i: usize| DENIALS.iter().any(|&(denial, reach)| words[i] == denial && (i >= from || from - i <= reach));
    (0..to).any(denies)
}

/// The table, by code.
fn table() -> &'static BTreeMap<String, Vec<Saying>> {
    static READ: OnceLock<BTreeMap<String, Vec<Saying>>> = OnceLock::new();
    READ.get_or_init(|| {
        let mut all: BTreeMap<String, Vec<Saying>> = BTreeMap::new();
        for line in TABLE.lines().filter(|l| !l.starts_with('#') && !l.trim().is_empty()) {
            let Some((head, rest)) = line.split_once(':') else { continue };
            let Some((code, language)) = head.split_once(' ') else { continue };
            let (things, ails) = rest.split_once('+').unwrap_or((rest, ""));
            all.entry(code.to_owned()).or_default().push(Saying {
                language: language.trim().to_owned(),
                things: phrases(things),
                ails: phrases(ails),
            });
        }
        all
    })
}

fn phrases(list: &str) -> Vec<Phrase> {
    let word = |w: &str| match w.strip_suffix('*') {
        Some(begin) => Word::Begins(begin.to_owned()),
        None => Word::Whole(w.to_owned()),
    };
    let phrase = |p: &str| -> Phrase { p.split_whitespace().map(word).collect() };
    list.split(',').map(phrase).filter(|p| !p.is_empty()).collect()
}

/// The parts of a text that say something by themselves, in small letters word by word; questions are left out.
fn parts(text: &str) -> Vec<Vec<String>> {
    let mut all = vec![];
    let mut rest = text;
    while !rest.is_empty() {
        let end = rest.find(['.', ',', ';', '!', '?', '\n', '\u{2013}', '\u{2014}']).unwrap_or(rest.len());
        let (part, behind) = rest.split_at(end);
        if !behind.starts_with('?') {
            let words = part.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty());
            all.push(words.map(str::to_lowercase).collect());
        }
        rest = behind.chars().next().map_or("", |c| &behind[c.len_utf8()..]);
    }
    all
}

/// The words of a text that say, in the trade's own way, that a vehicle has this fault.
pub fn told_by(code: &str, text: &str) -> Option<String> {
    let sayings = table().get(code)?;
    parts(text).iter().find_map(|words| sayings.iter().find_map(|s| s.said_in(words)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fault::CATALOGUE;

    #[test]
    fn every_fault_has_its_words_in_every_language() {
        for fault in CATALOGUE.iter().filter(|f| !f.code.starts_with('N')) {
            let own = &table()[fault.code];
            for language in ["en", "de"] {
                let count: usize =
                    own.iter().filter(|s| s.language == language).map(|s| s.things.len() + s.ails.len()).sum();
                assert!(count >= 2, "{} has no words in {language}", fault.code);
            }
            assert!(own.iter().all(|s| !s.things.is_empty()), "{}", fault.code);
        }
        let known = |code: &String| CATALOGUE.iter().any(|f| f.code == *code);
        assert!(table().keys().all(known), "{:?}", table().keys());
        let lines = TABLE.lines().filter(|l| !l.starts_with('#') && !l.is_empty()).count();
        assert_eq!(table().values().map(Vec::len).sum::<usize>(), lines, "a line that can't be read");
    }

    #[test]
    fn what_the_trade_says_is_found() {
        for (code, text, said) in [
            ("F15", "Pulls like a tractor. I'd say the filter is choked.", "filter is choked"),
            ("F15", "Ein Bekannter meint: der Dieselfilter ist dicht.", "dieselfilter ist dicht"),
            ("F09", "It must be sucking air somewhere", "sucking air"),
            ("F09", "Der zieht Luft, sagt der Nachbar.", "zieht luft"),
            ("F26", "A dying pump on the bypass", "dying pump"),
            ("F13", "It all drains back to the tank overnight.", "drains back"),
            ("F02", "Bunged-up breather, I bet", "bunged up breather"),
            ("F15", "No pull because the filter got blocked", "filter got blocked"),
            ("F09", "Mir scheint, dass er Luft zieht.", "luft zieht"),
        ] {
            assert_eq!(told_by(code, text).as_deref(), Some(said), "{code}: {text}");
        }
    }

    #[test]
    fn what_is_denied_asked_or_said_of_something_else_isnt() {
        for (code, text) in [
            ("F15", "The filter isn't blocked, we cut it open."),
            ("F15", "Is the filter blocked?"),
            ("F15", "No blocked filter, they said."),
            ("F15", "We'd like to know whether the filter is blocked."),
            ("F15", "New filter in spring, and the road was blocked for a week."),
            ("F15", "The filter was changed by a lad who drives a van with a blocked exhaust."),
            ("F15", "The strainer is plugged."),
            ("F09", "Ob er Luft zieht, weiß ich nicht."),
            ("F26", "The pump was changed, and since then it's been going well."),
            ("N3", "There is nothing wrong with it."),
        ] {
            assert_eq!(told_by(code, text), None, "{code}: {text}");
        }
    }
}
