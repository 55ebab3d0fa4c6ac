//! A job written anew with other numbers and other words, everything else to the byte as its author left it.
//!
//! What may differ stands in the job's field `varies`, or follows from it where that is left out: a hidden severity
//! within its candidate's band, the fuel in the tank with the gauge that shows it, temperature, distances, words of
//! the papers. Which values are taken is for the caller; this knows the file.

use std::ops::Range;

use super::model::{FaultBand, Job};
use super::parse;
use super::raw::RawJob;
use super::source::{At, Source};
use crate::diag::Report;
use crate::fault::{FaultInstance, Modifier};
use crate::plant::component::Component;

/// How far a hidden severity may lie from what is written, where the author doesn't say.
const SEVERITY: f64 = 0.4;
/// The same for the fill, share of the tank: "a little over half" stays true.
const FILL_SHARE: f64 = 0.03;
/// The same for the temperature, °C.
const TEMPERATURE_C: f64 = 2.0;
/// Blanks that group digits.
const BLANKS: [char; 4] = [' ', '\u{a0}', '\u{202f}', '\u{2009}'];

/// What may differ between variants of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Leeway {
    /// Hidden severities in the order of the file: as written, lowest, highest; in tenths.
    pub severities: Vec<[f64; 3]>,
    /// Temperature as written, coldest, warmest; whole °C.
    pub temperature_c: [f64; 3],
    /// Fuel in the tank as written, least, most; whole litres but for what is written.
    pub fill_l: [f64; 3],
    /// Words of the papers: as written first, then what may stand there.
    pub wordings: Vec<Vec<String>>,
    /// Distances in the papers may differ by a tenth.
    pub mileage: bool,
    gauge: f64,
    capacity_l: f64,
}

/// One variant: values within a [`Leeway`].
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Hidden severities in the order of the file.
    pub severities: Vec<f64>,
    /// Temperature of fuel and surroundings, whole °C.
    pub temperature_c: f64,
    /// Fuel in the tank, l.
    pub fill_l: f64,
    /// For each wording, which; 0 as written.
    pub wordings: Vec<usize>,
    /// Factor on every distance in the papers.
    pub mileage: f64,
    /// Number that picks the vehicle.
    pub vehicle: u64,
    /// What the first line of the file says, without the signs of a comment.
    pub head: String,
}

impl Leeway {
    /// What may differ between variants of a job.
    ///
    /// # Errors
    /// The report, when the text can't be read.
    pub fn of(text: &str, job: &Job) -> Result<Self, Report> {
        let mut report = Report::new();
        let Some(read) = parse::read::<RawJob>(&job.name, text, &mut report) else { return Err(report) };
        let (raw, varies) = (&read.value, read.value.varies.clone());
        let by = varies.as_ref().and_then(|v| v.severity).unwrap_or(SEVERITY);
        let tank = job.plant.parts.iter().find_map(|p| if let Component::Tank(t) = &p.is { Some(t) } else { None });
        let (fill, capacity_l) = tank.map_or((0.0, 1.0), |t| (t.fill.si() * 1e3, t.capacity.si() * 1e3));
        let hidden = &job.hidden.0;
        // where the level is the matter, or the gauge lies about it, it stays as it is
        let matters = raw.gauge_lies == Some(true)
            || hidden
                .iter()
                .any(|f| f.fault == "F01" || f.modifiers.iter().any(|m| matches!(m, Modifier::Level { .. })));
        let fill_l = match varies.as_ref().and_then(|v| v.fill) {
            Some((low, high)) => [fill, (low.si() * 1e3).ceil(), (high.si() * 1e3).floor()],
            None if matters => [fill; 3],
            None => {
                let by = FILL_SHARE * capacity_l;
                [fill, (fill - by).ceil().max(1.0).min(fill), (fill + by).floor().min(capacity_l).max(fill)]
            }
        };
        let written = job.plant.temperature.celsius().round();
        let temperature_c = match varies.as_ref().and_then(|v| v.temperature) {
            Some((low, high)) => [written, low.celsius().round(), high.celsius().round()],
            // a job that gives its own means it
            None if raw.temperature.is_some() || hidden.iter().any(|f| !f.modifiers.is_empty()) => [written; 3],
            None => [written, written - TEMPERATURE_C, written + TEMPERATURE_C],
        };
        let wordings = varies.iter().flat_map(|v| &v.words);
        let wordings = wordings
            .map(|w| std::iter::once(&w.instead_of).chain(&w.one_of).cloned().collect::<Vec<_>>())
            .collect();
        Ok(Self {
            severities: hidden.iter().map(|f| severities(job, f, by)).collect(),
            temperature_c,
            fill_l,
            wordings,
            mileage: varies.and_then(|v| v.mileage).unwrap_or(true),
            gauge: job.fuel_gauge,
            capacity_l,
        })
    }
}

/// A hidden severity as written, and how far it may go: no further than its candidate's band.
fn severities(job: &Job, fault: &FaultInstance, by: f64) -> [f64; 3] {
    let s = fault.severity;
    let bands = || job.candidates.iter().flat_map(|c| &c.vehicles).flat_map(FaultBand::all);
    let placed = |b: &&FaultBand| b.fault == fault.fault && (b.at == fault.at || b.at.is_empty());
    let band = bands().filter(placed).map(|b| b.severity).find(|b| (b.0..=b.1).contains(&s)).unwrap_or((s, s));
    // the least tenths inside
    let low = ((s - by).max(band.0) * 10.0 - 1e-6).ceil() / 10.0;
    let high = ((s + by).min(band.1) * 10.0 + 1e-6).floor() / 10.0;
    [s, low.min(s), high.max(s)]
}

/// Places of the texts that people read, with their quotes.
fn papers(root: At<'_>) -> Vec<Range<usize>> {
    let mut places = vec![];
    let mut add = |at: At<'_>| {
        if at.exists() && at.text().starts_with('"') {
            places.push(at.span());
        }
    };
    for field in ["title", "customer", "complaint"] {
        add(root.field(field));
    }
    for field in ["facts", "goals", "traps", "hints"] {
        let list = root.field(field);
        (0..if list.exists() { list.len() } else { 0 }).for_each(|i| add(list.item(i)));
    }
    for (field, texts) in [("questions", ["ask", "answer"].as_slice()), ("looks", &["sees"])] {
        let list = root.field(field);
        for i in 0..if list.exists() { list.len() } else { 0 } {
            texts.iter().for_each(|text| add(list.item(i).field(text)));
        }
    }
    places
}

/// A text as it stands between quotes.
fn quoted(text: &str) -> String {
    text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n")
}

/// Whether these words stand in one of the texts that people read.
pub(super) fn stands_in_the_papers(root: At<'_>, words: &str) -> bool {
    // every place lies within the root, whose text begins where its span does
    let (whole, from) = (root.text(), root.span().start);
    papers(root).into_iter().any(|p| whole[p.start - from..p.end - from].contains(&quoted(words)))
}

/// The job's text with a variant's values in it. Comments and order stay; what allowed the variant is left out, and so
/// is nothing else.
///
/// # Errors
/// A sentence when the text isn't well formed.
pub fn written(text: &str, leeway: &Leeway, choice: &Choice) -> Result<String, String> {
    let source = Source::scan(text).map_err(|e| format!("the job can't be read: {e:?}"))?;
    let root = source.root();
    let mut edits: Vec<(Range<usize>, String)> = vec![(0..0, format!("// {}\n", choice.head))];
    for (i, severity) in choice.severities.iter().enumerate() {
        let at = root.field("hidden").item(i).field("severity");
        if (severity - leeway.severities[i][0]).abs() > 1e-9 && at.exists() {
            edits.push((at.span(), format!("{severity:.1}")));
        }
    }
    let mut fresh = String::new();
    let mut set = |edits: &mut Vec<(Range<usize>, String)>, field: &str, value: String| {
        let at = root.field(field);
        if at.exists() {
            edits.push((at.span(), value));
        } else {
            fresh += &format!("{field}: {value},\n    ");
        }
    };
    set(&mut edits, "vehicle", choice.vehicle.to_string());
    if (choice.fill_l - leeway.fill_l[0]).abs() > 1e-9 {
        set(&mut edits, "fill", format!("l({:.0})", choice.fill_l));
        let gauge = leeway.gauge + (choice.fill_l - leeway.fill_l[0]) / leeway.capacity_l;
        set(&mut edits, "fuel_gauge", format!("{:.2}", gauge.clamp(0.0, 1.0)));
    }
    if (choice.temperature_c - leeway.temperature_c[0]).abs() > 1e-9 {
        set(&mut edits, "temperature", format!("degC({:.0})", choice.temperature_c));
    }
    if !fresh.is_empty() {
        let before = root.key("fuel_gauge", 0).ok_or("the job has no fuel_gauge")?.start;
        edits.push((before..before, fresh));
    }
    for place in papers(root) {
        let old = &text[place.clone()];
        let new = reworded(old, leeway, choice);
        if new != old {
            edits.push((place, new));
        }
    }
    edits.extend(without(text, root, "varies").map(|place| (place, String::new())));
    Ok(applied(text, edits))
}

/// A field with its comma and the rest of its lines.
fn without(text: &str, root: At<'_>, field: &str) -> Option<Range<usize>> {
    let key = root.key(field, 0)?;
    let value = root.field(field).span();
    let indented = text[..key.start].trim_end_matches([' ', '\t']).len();
    let rest = text[value.end..].trim_start();
    let mut end = text.len() - rest.strip_prefix(',').map_or_else(|| text[value.end..].len(), str::len);
    let after = text[end..].trim_start_matches([' ', '\t']);
    // whole lines only: what stands beside it stays
    let whole = indented == 0 || text[..indented].ends_with('\n');
    if whole && after.starts_with('\n') {
        end = text.len() - after.len() + 1;
        return Some(indented..end);
    }
    Some(key.start..end)
}

/// Puts other text in the place of stretches that don't overlap.
fn applied(text: &str, mut edits: Vec<(Range<usize>, String)>) -> String {
    edits.sort_by_key(|(place, _)| (place.start, place.end));
    let (mut out, mut at) = (String::with_capacity(text.len()), 0);
    for (place, new) in edits {
        out += &text[at..place.start];
        out += &new;
        at = place.end;
    }
    out + &text[at..]
}

/// A text of the papers with other words, distances and temperature.
fn reworded(old: &str, leeway: &Leeway, choice: &Choice) -> String {
    let mut text = old.to_owned();
    for (words, &which) in leeway.wordings.iter().zip(&choice.wordings) {
        if which > 0 {
            text = text.replace(&quoted(&words[0]), &quoted(&words[which]));
        }
    }
    if (choice.mileage - 1.0).abs() > 1e-9 {
        text = with_distances(&text, choice.mileage);
    }
    let [written, ..] = leeway.temperature_c;
    if (choice.temperature_c - written).abs() > 1e-9 {
        for sign in if written < 0.0 { ["-", "\u{2212}"].as_slice() } else { &[""] } {
            let new = if choice.temperature_c < 0.0 { "\u{2212}" } else { "" };
            text = number_replaced(
                &text,
                &format!("{sign}{:.0} °C", written.abs()),
                &format!("{new}{:.0} °C", choice.temperature_c.abs()),
            );
        }
    }
    text
}

/// Replaces a number where it isn't the end of a longer one.
fn number_replaced(text: &str, old: &str, new: &str) -> String {
    let (mut out, mut at) = (String::new(), 0);
    for (i, _) in text.match_indices(old) {
        let longer = text[..i].ends_with(|c: char| c.is_ascii_digit() || ".,-\u{2212}".contains(c));
        out += &text[at..i];
        out += if longer { old } else { new };
        at = i + old.len();
    }
    out + &text[at..]
}

/// Whether the papers of a job speak of distances at all.
pub fn speaks_of_distances(job: &Job) -> bool {
    let answers = job.questions.iter().flat_map(|q| [&q.ask, &q.answer]);
    let looks = job.looks.iter().map(|l| &l.sees);
    let lists = [&job.facts, &job.goals, &job.traps, &job.hints].into_iter().flatten();
    let mut papers =
        [&job.title, &job.customer, &job.complaint].into_iter().chain(lists).chain(answers).chain(looks);
    papers.any(|text| with_distances(text, 2.0) != *text)
}

/// Multiplies every distance in km, to as many figures as it was given in.
fn with_distances(text: &str, factor: f64) -> String {
    let (mut out, mut rest) = (String::new(), text);
    while let Some(start) = rest.find(|c: char| c.is_ascii_digit()) {
        let (before, number) = rest.split_at(start);
        out += before;
        let (end, blank, value) = grouped_number(number);
        let after = number[end..].trim_start_matches(BLANKS);
        let unit = after.strip_prefix("km");
        let is_distance = unit.is_some_and(|u| !u.starts_with(|c: char| c.is_alphanumeric() || c == '/'));
        let joined = before.ends_with(|c: char| c.is_alphanumeric() || ".,-".contains(c));
        if is_distance && !joined && value > 0 {
            let mut step = 1_u64;
            while value.is_multiple_of(10 * step) {
                step *= 10;
            }
            let new = ((value as f64 * factor / step as f64).round() as u64).max(1) * step;
            out += &grouped_text(new, blank);
        } else {
            out += &number[..end];
        }
        rest = &number[end..];
    }
    out + rest
}

/// A whole number at the start of a text: its length, the blank that groups its digits, its value.
fn grouped_number(text: &str) -> (usize, Option<char>, u64) {
    let digits = |t: &str| t.len() - t.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let (mut end, mut blank) = (digits(text), None);
    while let Some(c) = text[end..].chars().next().filter(|c| BLANKS.contains(c)) {
        let from = end + c.len_utf8();
        if digits(&text[from..]) != 3 || blank.is_some_and(|b| b != c) || end > 12 {
            break;
        }
        (end, blank) = (from + 3, Some(c));
    }
    let plain: String = text[..end].chars().filter(char::is_ascii_digit).take(15).collect();
    (end, blank, plain.parse().unwrap_or(0))
}

fn grouped_text(value: u64, blank: Option<char>) -> String {
    let plain = value.to_string();
    let Some(blank) = blank else { return plain };
    let mut out = String::new();
    for (i, c) in plain.chars().enumerate() {
        if i > 0 && (plain.len() - i).is_multiple_of(3) {
            out.push(blank);
        }
        out.push(c);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Kind, Library, check_text, load_job};

    #[test]
    fn distances_keep_their_figures_and_nothing_else_moves() {
        for (old, new) in [
            ("46 000 km ago", "51 000 km ago"),
            ("112\u{a0}400 km", "123\u{a0}600 km"),
            ("9 km, then 90 km/h", "10 km, then 90 km/h"),
            ("at 3.5 km and 20 °C", "at 3.5 km and 20 °C"),
            ("46 000", "46 000"),
        ] {
            assert_eq!(with_distances(old, 1.1), new);
        }
        assert_eq!(number_replaced("20 °C, not 120 °C or -20 °C", "20 °C", "21 °C"), "21 °C, not 120 °C or -20 °C");
    }

    #[test]
    fn a_variant_differs_where_it_may_and_nowhere_else() {
        let library = Library::builtin();
        let (_, text) = library.entry(Kind::Job, "bypass-puff").unwrap();
        let varies = "    varies: (words: [(instead_of: \"van 14\", one_of: [\"van \\\"9\\\"\"])]),\n";
        let text = text.replacen("    minutes: 40,\n", &format!("    minutes: 40,\n{varies}"), 1);
        let mut library = library.clone();
        library.insert(Kind::Job, "bypass-puff", "bypass-puff.ron", &text);
        let job = load_job(&library, "bypass-puff").unwrap_or_else(|r| panic!("{r}")).0;
        let leeway = Leeway::of(&text, &job).unwrap_or_else(|r| panic!("{r}"));
        assert_eq!(leeway.severities, [[3.4, 3.0, 3.8]]);
        assert_eq!((leeway.temperature_c, leeway.fill_l[0]), ([20.0, 18.0, 22.0], 40.0));
        let choice = Choice {
            severities: vec![3.1],
            temperature_c: 21.0,
            fill_l: 38.0,
            wordings: vec![1],
            mileage: 0.95,
            vehicle: 77,
            head: "A variant.".into(),
        };
        let new = written(&text, &leeway, &choice).unwrap();
        let plain: Vec<&str> = text.lines().filter(|l| !l.contains("varies:")).collect();
        let fresh = |l: &&str| l.trim().starts_with("vehicle:") || l.trim().starts_with("temperature:");
        let lines: Vec<&str> = new.lines().skip(1).filter(|l| !fresh(l)).collect();
        let differ: Vec<(&str, &str)> =
            plain.iter().zip(&lines).filter(|(a, b)| a != b).map(|(a, b)| (a.trim(), b.trim())).collect();
        let expected = [
            ("customer: \"Quillan Vale Parcels, van 14\",", "customer: \"Quillan Vale Parcels, van \\\"9\\\"\","),
            ("\"Dry, 18 °C, workshop at 20 °C\",", "\"Dry, 18 °C, workshop at 21 °C\","),
            (
                "\"Last full service 46 000 km ago; one interim oil change since\",",
                "\"Last full service 44 000 km ago; one interim oil change since\",",
            ),
            ("fill: l(40),", "fill: l(38),"),
            (
                "(fault: \"F15\", at: \"filter\", severity: 3.4),",
                "(fault: \"F15\", at: \"filter\", severity: 3.1),",
            ),
        ];
        let gauge = differ.iter().position(|d| d.0.starts_with("fuel_gauge"));
        assert!(gauge.is_some() && differ.len() == expected.len() + 1, "{differ:#?}");
        assert!(expected.iter().all(|e| differ.contains(e)), "{differ:#?}");
        let report = check_text(Some(Kind::Job), "v.ron", &new, &library);
        assert!(!report.has_errors(), "{report}");
    }
}
