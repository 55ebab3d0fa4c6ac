//! What a field takes that takes a number: how it is written, from where to where, an example, and what it means; for
//! messages about a value that is none.
//!
//! The ranges here are those that the checks hold files against. Numbers of components come from their own tables.

use core::fmt::Write as _;

use serde_path_to_error::{Path, Segment};

use super::parse::FieldShape;
use super::patch;
use super::raw::entry_fields;
use super::source::At;
use crate::diag::{Diagnostic, id};
use crate::plant::component::Component;
use crate::units::{
    Area, Displacement, GaugePressure, Length, Resistor, Span, Speed, Temperature, Voltage, Volume, VolumeFlow,
    WallStretch, Warming,
};

/// A number in a shape: the list or the kind of file that it stands in, its field, its range in the unit that people
/// read, and an example as it is written.
pub(super) struct Row {
    owner: &'static str,
    field: &'static str,
    pub(super) range: Option<(f64, f64)>,
    pub(super) symbol: &'static str,
    example: &'static str,
}

const fn row(
    owner: &'static str,
    field: &'static str,
    range: (f64, f64),
    symbol: &'static str,
    example: &'static str,
) -> Row {
    Row { owner, field, range: Some(range), symbol, example }
}

/// One whose range is a matter of other numbers.
const fn free(owner: &'static str, field: &'static str, example: &'static str) -> Row {
    Row { owner, field, range: None, symbol: "", example }
}

pub(super) const SHARE: (f64, f64) = (0.0, 1.0);
const POINTS: (f64, f64) = (0.0, 100.0);
/// Days that fuels are known for, °C, and heights, m.
pub(super) const TEMPERATURE: (f64, f64) = (-20.0, 80.0);
pub(super) const ALTITUDE: (f64, f64) = (-500.0, 4000.0);
const SEVERITY: (f64, f64) = (1.0, 5.0);
/// Longest time that a vehicle may have stood: thirty days, in hours.
pub(super) const STOOD_H: (f64, f64) = (0.0, 720.0);

const ROWS: &[Row] = &[
    row("Job", "minutes", (1.0, 480.0), "min", "40"),
    row("Job", "lookahead", (1.0, 2.0), "", "2"),
    row("Job", "fuel_gauge", SHARE, "", "0.6"),
    free("Job", "vehicle", "7"),
    free("Job", "fill", "l(40)"),
    row("Job", "stood", STOOD_H, "h", "h(12)"),
    row("Job", "temperature", TEMPERATURE, "°C", "degC(-5)"),
    row("Job", "altitude", ALTITUDE, "m", "m(500)"),
    row("Plant", "temperature", TEMPERATURE, "°C", "degC(20)"),
    row("Plant", "altitude", ALTITUDE, "m", "m(500)"),
    free("Rubric", "diagnosis", "30"),
    free("Rubric", "justified", "25"),
    free("Rubric", "cited", "10"),
    free("Rubric", "choice", "10"),
    free("Rubric", "measurement", "15"),
    free("Rubric", "procedure", "20"),
    free("Rubric", "calibration", "10"),
    free("Rubric", "economy", "5"),
    row("Rubric", "cut", POINTS, "points", "60"),
    row("Rubric", "reading_tolerance", (0.1, 500.0), "mbar", "mbar(15)"),
    row("Rubric", "diagnosis_floor", SHARE, "", "0.5"),
    row("Rubric", "justified_floor", SHARE, "", "0.5"),
    row("Rubric", "cited_floor", SHARE, "", "0.5"),
    row("Rubric", "choice_floor", SHARE, "", "0.5"),
    row("Rubric", "measurement_floor", SHARE, "", "0.5"),
    row("Rubric", "procedure_floor", SHARE, "", "0.5"),
    row("Rubric", "calibration_floor", SHARE, "", "0.5"),
    row("Rubric", "economy_floor", SHARE, "", "0.5"),
    row("Rubric", "critical_cap", POINTS, "points", "39"),
    row("Rubric", "enough_belief", (0.5, 0.99), "", "0.9"),
    row("Rubric", "minutes_per_credit", (0.0, 1000.0), "minutes a credit", "0.5"),
    row("Rubric", "minutes_per_risk", (0.0, 1000.0), "minutes", "2"),
    row("Rubric", "support_bans", (0.05, 2.0), "bans", "0.3"),
    row("Rubric", "rule_out_bans", (0.05, 2.0), "bans", "0.5"),
    row("Rubric", "false_claim", SHARE, "", "0.25"),
    row("Rubric", "neutral_claim", SHARE, "", "0.05"),
    row("Rubric", "hints", POINTS, "points", "(1, 2, 4)"),
    row("codes", "rpm", (0.0, 10_000.0), "1/min", "1800"),
    free("snares", "trap", "1"),
    row("varies", "severity", (0.0, 4.0), "", "0.4"),
    row("varies", "temperature", TEMPERATURE, "°C", "(degC(12), degC(22))"),
    free("varies", "fill", "(l(30), l(40))"),
    free("limits", "low", "mbar(-120)"),
    free("limits", "high", "mbar(-20)"),
    free("limits", "investigate", "mbar(-150)"),
    free("limits", "act", "mbar(-200)"),
    free("candidates", "weight", "3"),
    row("vehicles", "severity", SEVERITY, "", "(2.0, 4.5)"),
    row("with", "severity", SEVERITY, "", "(1.0, 2.0)"),
    row("hidden", "severity", SEVERITY, "", "3.2"),
    free("nodes", "height", "m(0.5)"),
    free("nodes", "volume", "ml(10)"),
    free("nodes", "wall", "per_Pa(4e-9)"),
    row("parts", "price", (0.0, 100_000.0), "credits", "40"),
    row("parts", "minutes", (0.0, 1000.0), "min", "30"),
    row("service", "battery", (6.0, 48.0), "V", "V(12)"),
    free("when", "for_time", "min(12)"),
    free("when", "after", "h(2)"),
    free("when", "dwell", "s(2)"),
    free("when", "lag", "min(5)"),
    row("when", "below", SHARE, "", "0.25"),
    row("when", "share", SHARE, "", "0.4"),
    free("when", "beyond", "10"),
    free("when", "per_hour", "0.5"),
];

/// The row of a field.
pub(super) fn known(owner: &str, field: &str) -> Option<&'static Row> {
    let owner = if owner == "card" { "limits" } else { owner };
    ROWS.iter().find(|r| r.owner == owner && r.field == field)
}

/// What is measured, and the units in which files may write it.
const QUANTITIES: &[(&str, &[&str])] = &[
    ("a length", Length::UNITS),
    ("an area", Area::UNITS),
    ("a volume", Volume::UNITS),
    ("a flow", VolumeFlow::UNITS),
    ("a pressure", GaugePressure::UNITS),
    ("a time", Span::UNITS),
    ("a speed", Speed::UNITS),
    ("a displacement", Displacement::UNITS),
    ("the stretch of a wall", WallStretch::UNITS),
    ("a resistance", Resistor::UNITS),
    ("a voltage", Voltage::UNITS),
    ("a warming", Warming::UNITS),
    ("a temperature", Temperature::UNITS),
];

/// What a unit measures, for a unit that belongs elsewhere.
pub(super) fn measures(unit: &str) -> Option<&'static str> {
    QUANTITIES.iter().find(|(_, units)| units.contains(&unit)).map(|(what, _)| *what)
}

/// Units as people write them, and as files do.
const SPELT: &[(&str, &str)] = &[
    ("litre", "l"),
    ("litres", "l"),
    ("liter", "l"),
    ("L", "l"),
    ("l/h", "l_per_h"),
    ("l/min", "l_per_min"),
    ("ml/s", "ml_per_s"),
    ("°C", "degC"),
    ("C", "degC"),
    ("celsius", "degC"),
    ("Celsius", "degC"),
    ("µm", "um"),
    ("1/min", "rpm"),
    ("Ω", "ohm"),
    ("hour", "h"),
    ("hours", "h"),
    ("Std", "h"),
    ("sec", "s"),
    ("minutes", "min"),
    ("metre", "m"),
    ("metres", "m"),
    ("mBar", "mbar"),
    ("hPa", "mbar"),
    ("volt", "V"),
];

/// The unit that a word stands for, among those that fit.
pub(super) fn unit_meant(word: &str, units: &[impl AsRef<str>]) -> Option<String> {
    let is = |name: &str| units.iter().find(|u| u.as_ref() == name).map(|u| u.as_ref().to_owned());
    is(word).or_else(|| SPELT.iter().find(|(spelt, _)| *spelt == word).and_then(|(_, unit)| is(unit)))
}

/// What a field takes.
pub(super) struct Takes {
    /// Its name.
    field: String,
    /// Units that fit; none for a bare number.
    units: &'static [&'static str],
    /// How many numbers it is.
    numbers: usize,
    range: Option<(f64, f64)>,
    symbol: &'static str,
    whole: bool,
    example: String,
    words: String,
}

impl Takes {
    /// Where a path leads, below a field of a kind of file; none where no number stands.
    pub(super) fn at(
        opening: &str,
        fields: &'static [FieldShape],
        below: Option<&str>,
        path: Option<&Path>,
    ) -> Option<Self> {
        let mut names: Vec<&str> = below.into_iter().collect();
        let mut kind = None;
        for segment in path.into_iter().flat_map(Path::iter) {
            match segment {
                Segment::Map { key } => names.push(key),
                Segment::Enum { variant } if names.last() == Some(&"is") => kind = Some(variant.as_str()),
                _ => {}
            }
        }
        if let (Some(kind), Some(is)) = (kind, names.iter().position(|n| *n == "is")) {
            return Self::of_component(kind, &names[is + 1..]);
        }
        let (field, before) = names.split_last()?;
        let owner = before.last().copied().unwrap_or(opening);
        let row = known(owner, field)?;
        let (words, read_as) = match before.last() {
            None => fields.iter().find(|f| f.name == *field).map(|f| (f.words, f.read_as)),
            Some(list) => entry_fields(list)
                .and_then(|all| all.iter().find(|f| f.name == *field))
                .map(|f| (f.words, f.read_as)),
        }
        .unwrap_or_default();
        let whole = read_as.contains("u32") || read_as.contains("u64");
        Some(Self { whole, words: words.trim().to_owned(), ..Self::of_row(row) })
    }

    /// What a field of this name takes: of a kind of file, or wherever it stands; none where fields of that name differ.
    pub(super) fn named(opening: Option<&str>, field: &str) -> Option<Self> {
        if let Some(row) = opening.and_then(|opening| known(opening, field)) {
            return Some(Self::of_row(row));
        }
        let mut rows = ROWS.iter().filter(|r| r.field == field);
        let first = rows.next()?;
        let is_alike = |r: &Row| (r.range, r.example) == (first.range, first.example);
        rows.all(is_alike).then(|| Self::of_row(first))
    }

    /// What a row says by itself.
    fn of_row(row: &Row) -> Self {
        Self {
            field: row.field.to_owned(),
            units: units_like(row.example.trim_start_matches('(')),
            numbers: if row.example.starts_with('(') { row.example.split(',').count() } else { 1 },
            range: row.range,
            symbol: row.symbol,
            whole: false,
            example: row.example.to_owned(),
            words: String::new(),
        }
    }

    fn of_component(kind: &str, names: &[&str]) -> Option<Self> {
        let samples = Component::samples();
        let numbers = samples.iter().filter(|c| c.kind() == kind).flat_map(|c| c.numbers());
        let is_named =
            |field: &str| field.split('.').filter(|step| step.parse::<usize>().is_err()).eq(names.iter().copied());
        let number = numbers.into_iter().find(|n| is_named(&n.field))?;
        // pascals are for equations
        let (written, symbol, scale) = match number.unit.written {
            "Pa" => ("mbar", "mbar", 0.01),
            written => (written, number.unit.symbol, 1.0),
        };
        let bare = patch::number(rounded(scale * number.value));
        let example = if written.is_empty() { bare } else { format!("{written}({bare})") };
        Some(Self {
            field: (*names.last()?).to_owned(),
            units: units_like(&example),
            numbers: 1,
            range: Some((rounded(scale * number.low), rounded(scale * number.high))),
            symbol,
            whole: false,
            example,
            words: String::new(),
        })
    }

    /// A value that is no number where one should be, or isn't written as one.
    pub(super) fn missed(&self, file: &str, place: At<'_>) -> Diagnostic {
        let found = place.text();
        let label = match found.chars().next() {
            Some('"') => "a text in quotes",
            Some('[') => "a list",
            Some('(') if self.numbers > 1 => "not so many numbers",
            Some('0'..='9' | '+' | '-' | '.') if self.numbers > 1 => "one number",
            Some('0'..='9' | '+' | '-' | '.') if self.units.is_empty() => "not such a number",
            Some('0'..='9' | '+' | '-' | '.') => "a bare number",
            _ if self.is_band(place) => "a band",
            _ if place.len() > 1 => "a comma in a number",
            _ if place.len() == 1 && self.units.is_empty() && measures(place.word()).is_some() => {
                "a bare number here"
            }
            _ if place.len() == 1 => "no number in the brackets",
            _ => "a word",
        };
        let mut diagnostic = Diagnostic::new(
            id::WRONG_VALUE,
            file,
            if found.contains('\n') { place.head() } else { place.span() },
            format!("\"{}\" should be {}", self.field, self.expected()),
        )
        .label(label)
        .instead_of(found, self.expected());
        diagnostic.nearest = self.meant(found);
        diagnostic.help = self.help();
        if self.is_band(place) {
            diagnostic.help =
                Some("a hidden fault has one severity; a band belongs to the vehicles of candidates".to_owned());
        }
        diagnostic
    }

    /// Two severities where a hidden fault has one.
    fn is_band(&self, place: At<'_>) -> bool {
        self.field == "severity" && self.numbers == 1 && place.word().is_empty() && place.len() == 2
    }

    /// What should stand there, in words.
    pub(super) fn expected(&self) -> String {
        let one = match (self.units.is_empty(), self.whole) {
            (false, _) => "number in a unit",
            (true, true) => "whole number",
            (true, false) => "number",
        };
        let mut words = match self.numbers {
            1 => format!("a {one}"),
            n if self.units.is_empty() => format!("{n} numbers in brackets"),
            n => format!("{n} numbers in brackets, each in a unit,"),
        };
        if let Some((low, high)) = self.range {
            let each = if self.numbers > 1 { ", each" } else { "" };
            let _ = write!(words, "{each} from {} to {}", patch::number(low), patch::number(high));
            if !self.symbol.is_empty() {
                let _ = write!(words, " {}", self.symbol);
            }
        }
        let _ = write!(words, ", such as {}", self.example);
        words
    }

    /// What else helps: the units, and what the field means.
    fn help(&self) -> Option<String> {
        let units = match self.units {
            [] => String::new(),
            units => format!("units that fit: {}", units.join(", ")),
        };
        let parts: Vec<&str> =
            [self.words.trim_end_matches('.'), &units].into_iter().filter(|w| !w.is_empty()).collect();
        (!parts.is_empty()).then(|| parts.join("; "))
    }

    /// The value that was probably meant: a comma for the point, quotes round a number, a unit behind it, a per cent.
    pub(super) fn meant(&self, found: &str) -> Option<String> {
        let found = found.trim().trim_matches('"').trim();
        if self.numbers > 1 {
            return self.several_meant(found);
        }
        let (word, inner) = match found.split_once('(') {
            Some((word, rest)) => (word.trim(), rest.trim_end_matches(')').trim().trim_matches('"').trim()),
            None => ("", found),
        };
        let end = inner.find(|c: char| !(c.is_ascii_digit() || "+-.,".contains(c))).unwrap_or(inner.len());
        let (number, behind) = (decimal(&inner[..end])?, inner[end..].trim());
        if self.units.is_empty() {
            let value: f64 = number.parse().ok()?;
            return match behind {
                "" if word.is_empty() || word == self.symbol => Some(number),
                "%" if self.range == Some(SHARE) => Some(patch::number(rounded(value / 100.0))),
                _ => (behind == self.symbol || unit_meant(behind, &[self.symbol]).is_some()).then_some(number),
            };
        }
        let unit = unit_meant(if behind.is_empty() { word } else { behind }, self.units)?;
        Some(format!("{unit}({number})"))
    }

    /// Decimal commas in a bracket of bare numbers make twice as many.
    fn several_meant(&self, found: &str) -> Option<String> {
        let pieces: Vec<&str> = found.strip_prefix('(')?.strip_suffix(')')?.split(',').map(str::trim).collect();
        let digits = |s: &&str| !s.is_empty() && s.chars().all(|c| c.is_ascii_digit());
        if pieces.len() != 2 * self.numbers || !pieces.iter().all(digits) {
            return None;
        }
        let numbers: Vec<String> = pieces.chunks(2).map(|pair| pair.join(".")).collect();
        Some(format!("({})", numbers.join(", ")))
    }
}

/// A number written with a point or with one comma.
fn decimal(text: &str) -> Option<String> {
    let number = if text.contains('.') { text.to_owned() } else { text.replacen(',', ".", 1) };
    number.parse::<f64>().ok().filter(|v| v.is_finite()).map(|_| number.trim_start_matches('+').to_owned())
}

/// To six figures: a value that went through SI has lost its last ones.
fn rounded(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

/// The units of the quantity that an example is written in.
fn units_like(example: &str) -> &'static [&'static str] {
    let Some((unit, _)) = example.split_once('(') else { return &[] };
    QUANTITIES.iter().find(|(_, units)| units.contains(&unit)).map_or(&[], |(_, units)| units)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::parse::Shape as _;
    use crate::scenario::raw::{ENTRY_LISTS, RawJob, RawPlant, RawRubric};

    /// Who adds a number to a shape adds its row, or the message about it says less than it could.
    #[test]
    fn every_number_of_a_shape_has_a_row() {
        let is_number = |read_as: &str| {
            let single = read_as.trim_start_matches("Option<");
            ["f64", "(f64", "u32", "u64", "Volume", "(Volume", "Length", "Span", "Temperature", "(Temperature"]
                .iter()
                .chain(&["GaugePressure", "PressureDifference"])
                .any(|start| single.starts_with(start))
        };
        let mut seen = 0;
        for (opening, fields) in
            [("Job", RawJob::FIELDS), ("Plant", RawPlant::FIELDS), ("Rubric", RawRubric::FIELDS)]
        {
            for field in fields.iter().filter(|f| is_number(f.read_as)) {
                assert!(known(opening, field.name).is_some(), "{opening}.{}", field.name);
                seen += 1;
            }
        }
        for (list, fields) in ENTRY_LISTS {
            for field in fields.iter().filter(|f| is_number(f.read_as)) {
                assert!(known(list, field.name).is_some(), "{list}[].{}", field.name);
                seen += 1;
            }
        }
        assert!(seen > 40, "only {seen}");
    }

    #[test]
    fn an_example_is_one_of_what_is_expected() {
        for r in ROWS {
            let units = units_like(r.example.trim_start_matches('('));
            assert_eq!(units.is_empty(), !r.example.contains(char::is_alphabetic), "{}", r.example);
            let value: f64 = r
                .example
                .split(['(', ')', ','])
                .find_map(|piece| piece.trim().parse().ok())
                .unwrap_or_else(|| panic!("{}", r.example));
            if let Some((low, high)) = r.range {
                assert!((low..=high).contains(&value), "{}.{}: {value}", r.owner, r.field);
            }
        }
    }

    #[test]
    fn what_was_meant_is_found_and_nothing_is_guessed() {
        let of = |owner: &str, field: &str| Takes::of_row(known(owner, field).unwrap());
        let cases = [
            ("Job", "minutes", "\"40\"", Some("40")),
            ("Job", "minutes", "\"40 min\"", Some("40")),
            ("Job", "minutes", "forty", None),
            ("Job", "fuel_gauge", "\"57 %\"", Some("0.57")),
            ("Job", "fuel_gauge", "\"0,57\"", Some("0.57")),
            ("Job", "fill", "l(38,5)", Some("l(38.5)")),
            ("Job", "fill", "l(\"38\")", Some("l(38)")),
            ("Job", "fill", "\"38 litres\"", Some("l(38)")),
            ("Job", "fill", "38", None),
            ("Job", "temperature", "\"-5 °C\"", Some("degC(-5)")),
            ("vehicles", "severity", "(2,0, 4,5)", Some("(2.0, 4.5)")),
            ("vehicles", "severity", "(2, 4, 5)", None),
            ("Job", "fill", "l(much)", None),
            ("Job", "fill", "", None),
        ];
        for (owner, field, found, meant) in cases {
            assert_eq!(of(owner, field).meant(found).as_deref(), meant, "{field}: {found}");
        }
    }
}
