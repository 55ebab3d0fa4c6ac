//! Reads a recording from a stream.
//!
//! Separator (semicolon, tab, comma), decimal sign, heading and units are found in the first 64 KiB, lines
//! before the heading are passed over. After that one row at a time is read. Memory is bounded
//! whatever the length of the stream: at most [`MOST_SAMPLES`] samples of at most [`MOST_COLUMNS`] columns (at
//! most 110 MiB, 25 MiB for time and two columns), a row of at most 256 KiB, ten thousand events.

use std::cell::Cell as Shared;
use std::io::{self, Read};
use std::rc::Rc;

use super::Recording;
use super::heading::{Against, Heading, Quantity, UnknownUnit, meaning, unit_alone};
use super::number::{Cell, clock, number};
use super::plausible;
pub use super::store::{MOST_COLUMNS, MOST_SAMPLES};
use super::store::{Row, Store};
use crate::diag::{Diagnostic, Report, id, is_sealed, quotable};

/// What is looked at before the table is read.
const HEAD: usize = 64 << 10;
/// Longest row, bytes.
const LONGEST_ROW: u64 = 256 << 10;
/// Rows in which the heading is looked for.
const HEADING_WITHIN: usize = 60;
/// Most different words for states.
const MOST_WORDS: usize = 200;
/// Most events that are kept.
const MOST_EVENTS: usize = 10_000;
/// Standard air pressure, taken where none is told, mbar.
pub const STANDARD_AIR_MBAR: f64 = 1013.25;

/// What the reader can't find out by itself.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// Air pressure, mbar, for pressures against vacuum.
    pub barometer_mbar: Option<f64>,
    /// Heading of the column of states, when it isn't called so.
    pub state_column: Option<String>,
    /// Heading of the pressure that is meant, when there are several.
    pub pressure_column: Option<String>,
    /// Most samples to keep; [`MOST_SAMPLES`] when `None`.
    pub most_samples: Option<usize>,
}

/// Lets so many bytes through until it is filled again.
struct Metered<R> {
    inner: R,
    left: Rc<Shared<u64>>,
}

const TOO_LONG: &str = "a row is too long";

impl<R: Read> Read for Metered<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.left.get() == 0 {
            return Err(io::Error::other(TOO_LONG));
        }
        let n = self.inner.read(buffer)?;
        self.left.set(self.left.get().saturating_sub(n as u64));
        Ok(n)
    }
}

/// Place of a cell in the file, for a diagnostic.
struct Places<'a> {
    name: &'a str,
    /// The beginning of the file, byte order mark off.
    head: &'a str,
}

impl Places<'_> {
    /// A diagnostic about a line (from 1) and the cell in it; with the line itself when it lies in the head.
    fn at(&self, id: crate::diag::Id, line: u64, cell: &str, words: String) -> Diagnostic {
        let start =
            self.head.split_inclusive('\n').take(line.saturating_sub(1) as usize).map(str::len).sum::<usize>();
        let text = self.head[start..].lines().next().unwrap_or("");
        if text.is_empty() && start >= self.head.len() {
            return Diagnostic::new(id, &format!("{}:{line}", self.name), 0..0, words);
        }
        let within = if cell.is_empty() { None } else { text.find(cell) };
        let span = within.map_or(start..start + text.len(), |i| start + i..start + i + cell.len());
        Diagnostic::new(id, self.name, span, words)
    }
}

/// What was found in the head.
struct Table {
    delimiter: u8,
    headings: Vec<Heading>,
    ignored: Vec<String>,
    /// Rows before the first row of numbers.
    skip: usize,
    comma: bool,
    cells: usize,
    line: u64,
}

/// Reads a recording; `name` is what messages call it. The report may hold warnings beside a recording.
///
/// # Errors
/// None as a result: no recording comes with a report that says why.
pub fn read(mut input: impl Read, name: &str, options: &Options) -> (Option<Recording>, Report) {
    let mut report = Report::new();
    let mut head = Vec::with_capacity(HEAD);
    if let Err(why) = (&mut input).take(HEAD as u64).read_to_end(&mut head) {
        report.push(Diagnostic::new(id::RECORDING_UNREADABLE, name, 0..0, format!("can't be read: {why}")));
        return (None, report);
    }
    let whole = head.len() < HEAD;
    if !is_text(&head, name, &mut report) {
        return (None, report);
    }
    if head.starts_with(b"\xEF\xBB\xBF") {
        head.drain(..3);
    }
    let shown = {
        let end =
            if whole { head.len() } else { head.iter().rposition(|&b| b == b'\n').map_or(head.len(), |i| i + 1) };
        String::from_utf8_lossy(&head[..end]).into_owned()
    };
    report.add_file(name, &shown);
    let places = Places { name, head: &shown };
    let Some(table) = table(&shown, options, &places, &mut report) else { return (None, report) };
    let left = Rc::new(Shared::new(LONGEST_ROW));
    let stream = Metered { inner: io::Cursor::new(head).chain(input), left: Rc::clone(&left) };
    let recording = rows(stream, &left, table, options, &places, &mut report);
    (recording.filter(|_| !report.has_errors()), report)
}

/// Refuses what isn't text.
fn is_text(head: &[u8], name: &str, report: &mut Report) -> bool {
    let mut say = |words: &str, help: &str| {
        report.push(Diagnostic::new(id::RECORDING_NOT_TEXT, name, 0..0, words).help(help));
        false
    };
    if head.iter().all(u8::is_ascii_whitespace) {
        report.push(
            Diagnostic::new(id::RECORDING_EMPTY, name, 0..0, "there is nothing in this file")
                .help("export the recording as a table of text with a heading"),
        );
        return false;
    }
    if head.starts_with(b"\xFF\xFE") || head.starts_with(b"\xFE\xFF") {
        return say("this is text in UTF-16", "save it as UTF-8");
    }
    if head.starts_with(b"PK\x03\x04") {
        return say("this is a packed file, such as a spreadsheet", "save the sheet as CSV");
    }
    if is_sealed(head) {
        return say("this file is sealed, as packs of jobs are", "name the recording as the logger wrote it");
    }
    let odd = head.iter().filter(|&&b| b < 9 || (14..32).contains(&b)).count();
    if odd * 200 > head.len() {
        return say("this isn't text", "export the recording as a table of text (CSV)");
    }
    true
}

fn reader<R: Read>(input: R, delimiter: u8) -> csv::Reader<R> {
    csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .from_reader(input)
}

/// The first rows of the head under a separator, with their lines.
fn first_rows(head: &str, delimiter: u8, count: usize) -> Vec<(u64, Vec<String>)> {
    let mut csv = reader(head.as_bytes(), delimiter);
    let mut record = csv::ByteRecord::new();
    let mut rows = vec![];
    while rows.len() < count && csv.read_byte_record(&mut record).unwrap_or(false) {
        let line = record.position().map_or(0, csv::Position::line);
        rows.push((line, record.iter().map(|c| String::from_utf8_lossy(c).trim().to_owned()).collect()));
    }
    rows
}

/// How well a row serves as heading: quantities that are named in it, time and pressure counting more.
fn worth(row: &[String], state_column: Option<&str>) -> usize {
    let mut points = 0;
    for cell in row {
        points += match meaning(cell, 0) {
            Some(Ok(h)) if matches!(h.quantity, Quantity::Time | Quantity::Pressure) => 10,
            Some(Ok(_)) => 2,
            Some(Err(_)) => 5,
            None => usize::from(state_column == Some(cell.as_str())),
        };
    }
    // a sentence before the table may name a quantity, but in one cell
    if row.len() < 2 { 0 } else { points }
}

fn table(head: &str, options: &Options, places: &Places<'_>, report: &mut Report) -> Option<Table> {
    let state = options.state_column.as_deref();
    let mut best: Option<(usize, u8, usize)> = None;
    for delimiter in [b';', b'\t', b','] {
        for (k, (_, row)) in first_rows(head, delimiter, HEADING_WITHIN).iter().enumerate() {
            let points = worth(row, state);
            if points > 0 && best.is_none_or(|b| points > b.0) {
                best = Some((points, delimiter, k));
            }
        }
    }
    let Some((_, delimiter, k)) = best else {
        let line = 1 + head.lines().take_while(|l| l.trim().is_empty() || l.starts_with('#')).count() as u64;
        report.push(
            places
                .at(id::RECORDING_NO_HEADING, line, "", "no row names its columns".into())
                .help("the first row must name quantity and unit, such as: time_s,line_pressure_mbar_gauge"),
        );
        return None;
    };
    let rows = first_rows(head, delimiter, k + 300);
    let (line, names) = &rows[k];
    let (mut headings, ignored) = headings(names, *line, state, places, report);
    let mut skip = k + 1;
    if let Some((_, row)) = rows.get(k + 1).filter(|(_, r)| units_below(&mut headings.clone(), r)) {
        units_below(&mut headings, row);
        skip += 1;
    }
    let body = &rows[skip.min(rows.len())..];
    let comma = delimiter != b',' && decimal_comma(body, &headings);
    if delimiter == b',' && splits_numbers(body, names.len()) {
        report.push(
            places
                .at(
                    id::RECORDING_COMMAS,
                    body[0].0,
                    "",
                    "the rows have about twice as many cells as the heading: the comma separates cells and decimals"
                        .into(),
                )
                .help("export with semicolons between the cells, or with decimal points"),
        );
        return None;
    }
    let table = Table { delimiter, headings, ignored, skip, comma, cells: names.len(), line: *line };
    complete(&table, options, places, report).then_some(table)
}

/// Headings that mean something, and the others.
fn headings(
    names: &[String],
    line: u64,
    state: Option<&str>,
    places: &Places<'_>,
    report: &mut Report,
) -> (Vec<Heading>, Vec<String>) {
    let (mut found, mut ignored) = (vec![], vec![]);
    for (place, name) in names.iter().enumerate() {
        if state.is_some_and(|s| s.eq_ignore_ascii_case(name)) {
            found.push(Heading {
                name: name.clone(),
                quantity: Quantity::State,
                unit: None,
                against: Against::Air,
                place,
            });
            continue;
        }
        match meaning(name, place) {
            Some(Ok(h)) => {
                let twice = [Quantity::Time, Quantity::State, Quantity::Event, Quantity::Barometer]
                    .contains(&h.quantity)
                    && found.iter().any(|f: &Heading| f.quantity == h.quantity);
                let named = state.is_some() && h.quantity == Quantity::State;
                if twice || named { ignored.push(name.clone()) } else { found.push(h) }
            }
            Some(Err(UnknownUnit { found: unit, quantity })) if quantity <= Quantity::Pressure => {
                let words = format!("no unit of {} is called {:?}", quantity.words(), quotable(&unit));
                let known = quantity.units().iter().map(|u| u.symbol);
                report.push(places.at(id::RECORDING_UNKNOWN_UNIT, line, name, words).among(&unit, known));
            }
            Some(Err(_)) => ignored.push(quotable(name)),
            None if name.is_empty() => {}
            None => ignored.push(quotable(name)),
        }
    }
    (found, ignored)
}

/// Takes the units from the row below the heading, where it has some and no numbers; whether it did.
fn units_below(headings: &mut [Heading], row: &[String]) -> bool {
    let is_number = |c: &String| matches!(number(c.as_bytes(), true), Cell::Number(_));
    if row.iter().any(is_number) {
        return false;
    }
    let mut some = false;
    for h in headings.iter_mut().filter(|h| h.unit.is_none() && !h.quantity.is_words()) {
        if let Some((unit, against)) = row.get(h.place).and_then(|c| unit_alone(h.quantity, c)) {
            h.unit = Some(unit);
            if h.against == Against::Unstated {
                h.against = against;
            }
            some = true;
        }
    }
    some
}

/// Whether cells under headings of numbers hold commas and no points beside them.
fn decimal_comma(rows: &[(u64, Vec<String>)], headings: &[Heading]) -> bool {
    let cells = || {
        rows.iter().flat_map(|(_, r)| {
            headings
                .iter()
                .filter(|h| !h.quantity.is_words())
                .filter_map(|h| r.get(h.place))
                .filter(|c| !c.contains(':'))
        })
    };
    let commas =
        cells().filter(|c| matches!(number(c.as_bytes(), true), Cell::Number(_)) && c.contains(',')).count();
    let points =
        cells().filter(|c| matches!(number(c.as_bytes(), false), Cell::Number(_)) && c.contains('.')).count();
    commas > points
}

/// Whether most rows have about twice the cells of the heading, all of them whole numbers.
fn splits_numbers(rows: &[(u64, Vec<String>)], cells: usize) -> bool {
    let twice = |r: &&(u64, Vec<String>)| {
        r.1.len() >= 2 * cells - 1
            && r.1.iter().all(|c| c.is_empty() || c.trim_start_matches('-').bytes().all(|b| b.is_ascii_digit()))
    };
    cells >= 2 && !rows.is_empty() && rows.iter().filter(twice).count() * 2 > rows.len()
}

/// Checks that the columns that are needed are there, with units.
fn complete(table: &Table, options: &Options, places: &Places<'_>, report: &mut Report) -> bool {
    let line = table.line;
    let has = |q: Quantity| table.headings.iter().any(|h| h.quantity == q);
    if !has(Quantity::Time) {
        report.push(
            places
                .at(id::RECORDING_NO_TIME, line, "", "no column is a time".into())
                .help("name one of them time_s, or say its unit: \"Time (ms)\""),
        );
    }
    if !has(Quantity::Pressure) && !report.has_errors() {
        report.push(
            places
                .at(id::RECORDING_NO_PRESSURE, line, "", "no column is a pressure".into())
                .help("name it with its unit and what it is counted against, such as \"Pressure [mbar gauge]\""),
        );
    }
    for h in table.headings.iter().filter(|h| h.quantity == Quantity::Pressure && h.unit.is_none()) {
        report.push(
            places
                .at(
                    id::RECORDING_NO_UNIT,
                    line,
                    &h.name,
                    format!("the pressure {:?} has no unit", quotable(&h.name)),
                )
                .help("write the unit into the heading: mbar, bar, kPa, psi or inHg"),
        );
    }
    for (wanted, quantity) in
        [(&options.state_column, Quantity::State), (&options.pressure_column, Quantity::Pressure)]
    {
        let Some(wanted) = wanted else { continue };
        if table.headings.iter().any(|h| h.quantity == quantity && h.name.eq_ignore_ascii_case(wanted)) {
            continue;
        }
        let known = table.headings.iter().map(|h| &h.name).chain(&table.ignored);
        let words = format!("no column is called {:?}", quotable(wanted));
        report.push(places.at(id::RECORDING_NO_COLUMN, line, "", words).among(wanted, known));
    }
    let numbers = table.headings.iter().filter(|h| !h.quantity.is_words()).count();
    if numbers > MOST_COLUMNS + 1 {
        let words =
            format!("{} columns of numbers that are known; at most {} can be read", numbers - 1, MOST_COLUMNS);
        report.push(places.at(id::RECORDING_TOO_MANY, line, "", words).help("leave out the others"));
    }
    !report.has_errors()
}

/// Counts of what isn't as it should be, each with its first place.
#[derive(Default)]
struct Trouble {
    bad: u64,
    first_bad: Option<(u64, String, String)>,
    bad_by_column: Vec<u64>,
    ragged: u64,
    first_ragged: Option<(u64, usize)>,
    no_time: u64,
    first_no_time: Option<(u64, String)>,
    back: u64,
    first_back: Option<(u64, f64, f64)>,
    same_time: u64,
    lost_events: u64,
    lost_words: u64,
}

/// Reads the rows.
fn rows(
    stream: impl Read,
    left: &Shared<u64>,
    table: Table,
    options: &Options,
    places: &Places<'_>,
    report: &mut Report,
) -> Option<Recording> {
    let time = table.headings.iter().position(|h| h.quantity == Quantity::Time)?;
    let numbers: Vec<usize> =
        (0..table.headings.len()).filter(|&i| !table.headings[i].quantity.is_words() && i != time).collect();
    let is_pressure = |i: &&usize| table.headings[**i].quantity == Quantity::Pressure;
    let wanted = |i: &&usize| {
        options.pressure_column.as_ref().is_none_or(|w| table.headings[**i].name.eq_ignore_ascii_case(w))
    };
    let meant = numbers.iter().find(|i| is_pressure(i) && wanted(i))?;
    let pressure = numbers.iter().position(|i| i == meant)?;
    let word_at = |q: Quantity| table.headings.iter().find(|h| h.quantity == q).map(|h| h.place);
    let (state, event) = (word_at(Quantity::State), word_at(Quantity::Event));
    let mut store = Store::new(
        numbers.len(),
        pressure,
        state.is_some(),
        options.most_samples.unwrap_or(MOST_SAMPLES).min(MOST_SAMPLES),
    );
    let mut trouble = Trouble { bad_by_column: vec![0; numbers.len()], ..Trouble::default() };
    let mut vocabulary = vec![String::new()];
    let mut events: Vec<(f64, String)> = vec![];
    let factor = table.headings[time].unit.map_or(1.0, |u| u.factor);
    let mut csv = reader(stream, table.delimiter);
    let mut record = csv::ByteRecord::new();
    let (mut count, mut last, mut day) = (0_u64, f64::NEG_INFINITY, 0.0);
    let mut clocked = false;
    for k in 0_u64.. {
        left.set(LONGEST_ROW + HEAD as u64);
        match csv.read_byte_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(why) => {
                let line = csv.position().line();
                let d = if why.to_string().contains(TOO_LONG) {
                    places
                        .at(id::RECORDING_LONG_ROW, line, "", format!("line {line}: a row of more than 256 KiB"))
                        .help("a quote that isn't closed swallows all that follows")
                } else {
                    Diagnostic::new(id::RECORDING_UNREADABLE, places.name, 0..0, format!("can't be read on: {why}"))
                };
                report.push(d);
                return None;
            }
        }
        if k < table.skip as u64 || record.iter().all(|c| c.trim_ascii().is_empty()) {
            continue;
        }
        count += 1;
        let line = record.position().map_or(0, csv::Position::line);
        // many loggers end each row with a separator
        let ended = record.len() == table.cells + 1 && record[table.cells].trim_ascii().is_empty();
        if record.len() != table.cells && !ended {
            trouble.ragged += 1;
            trouble.first_ragged.get_or_insert((line, record.len()));
        }
        let cell = record.get(table.headings[time].place).unwrap_or(b"");
        let t = match number(cell, table.comma) {
            Cell::Number(v) => Some(v * factor),
            _ => clock(cell).map(|s| {
                clocked = true;
                // past midnight
                if s + day < last - 43_200.0 {
                    day += 86_400.0;
                }
                s + day
            }),
        };
        let Some(t) = t else {
            trouble.no_time += 1;
            trouble.first_no_time.get_or_insert((line, String::from_utf8_lossy(cell).trim().to_owned()));
            continue;
        };
        if t < last {
            trouble.back += 1;
            trouble.first_back.get_or_insert((line, last, t));
            continue;
        }
        trouble.same_time += u64::from(t == last);
        last = t;
        let mut row = Row { t, values: [f64::NAN; MOST_COLUMNS], word: 0 };
        for (j, &i) in numbers.iter().enumerate() {
            let h = &table.headings[i];
            let cell = record.get(h.place).unwrap_or(b"");
            match number(cell, table.comma) {
                Cell::Gap => {}
                Cell::Number(v) => {
                    let (factor, summand) = h.unit.map_or((1.0, 0.0), |u| (u.factor, u.summand));
                    row.values[j] = v * factor + summand;
                }
                Cell::Bad => {
                    trouble.bad += 1;
                    trouble.bad_by_column[j] += 1;
                    trouble.first_bad.get_or_insert_with(|| {
                        (line, String::from_utf8_lossy(cell).trim().to_owned(), h.name.clone())
                    });
                }
            }
        }
        if let Some(cell) = state.and_then(|s| record.get(s)).map(<[u8]>::trim_ascii).filter(|c| !c.is_empty()) {
            let word = quotable(&String::from_utf8_lossy(cell));
            row.word = match vocabulary.iter().position(|w| *w == word) {
                Some(at) => at as u16,
                None if vocabulary.len() < MOST_WORDS => {
                    vocabulary.push(word);
                    (vocabulary.len() - 1) as u16
                }
                None => {
                    trouble.lost_words += 1;
                    0
                }
            };
        }
        if let Some(cell) = event.and_then(|e| record.get(e)).map(<[u8]>::trim_ascii).filter(|c| !c.is_empty()) {
            if events.len() < MOST_EVENTS {
                events.push((t, quotable(&String::from_utf8_lossy(cell))));
            } else {
                trouble.lost_events += 1;
            }
        }
        store.push(row);
    }
    store.flush();
    tell(&trouble, count, &table, &numbers, places, report);
    if store.t.len() < 2 {
        let words =
            format!("{} with a time under the heading; at least two are needed", plural(store.t.len(), "sample"));
        report.push(places.at(id::RECORDING_NO_SAMPLES, table.line, "", words));
    }
    if report.has_errors() {
        return None;
    }
    let mut recording = Recording {
        t: store.t,
        columns: numbers.iter().copied().zip(store.columns).collect(),
        states: store.words,
        vocabulary,
        events,
        rows: count,
        thinned: store.stride,
        pressure,
        ignored: table.ignored,
        headings: table.headings,
        assumed: vec![],
    };
    spread_equal_times(&mut recording.t);
    if recording.headings[time].unit.is_none() && !clocked {
        recording.assumed.push("The time has no unit: seconds.".into());
    }
    against_air(&mut recording, options, places, table.line, report);
    plausible::check(&recording, |name, words, help| {
        report.push(places.at(id::RECORDING_UNLIKELY_UNIT, table.line, name, words).help(help));
    });
    Some(recording)
}

fn plural(n: usize, word: &str) -> String {
    if n == 1 { format!("1 {word}") } else { format!("{n} {word}s") }
}

/// Samples that share a time stamp are spread until the next one.
fn spread_equal_times(t: &mut [f64]) {
    let mut i = 0;
    let mut usual = 0.0;
    while i < t.len() {
        let mut j = i + 1;
        while j < t.len() && t[j] == t[i] {
            j += 1;
        }
        let next = if j < t.len() { t[j] - t[i] } else { usual };
        usual = next;
        let (start, n) = (t[i], (j - i) as f64);
        for (k, at) in t[i..j].iter_mut().enumerate() {
            *at = start + next * k as f64 / n;
        }
        i = j;
    }
}

/// Brings every pressure against the surrounding air.
fn against_air(recording: &mut Recording, options: &Options, places: &Places<'_>, line: u64, report: &mut Report) {
    let air = recording
        .columns
        .iter()
        .find(|c| recording.headings[c.0].quantity == Quantity::Barometer)
        .map(|c| c.1.clone());
    for (i, column) in &mut recording.columns {
        let h = &recording.headings[*i];
        if h.quantity != Quantity::Pressure {
            continue;
        }
        match h.against {
            Against::Air => {}
            Against::AirReversed => {
                column.iter_mut().for_each(|v| *v = -*v);
                recording
                    .assumed
                    .push(format!("{:?} is suction written as a positive number: its sign is turned.", h.name));
            }
            Against::Unstated => recording
                .assumed
                .push(format!("{:?} doesn't say what it is counted against: the surrounding air (gauge).", h.name)),
            Against::Vacuum => match (options.barometer_mbar, &air) {
                (Some(air), _) => {
                    column.iter_mut().for_each(|v| *v -= air);
                    recording.assumed.push(format!("{:?} less an air pressure of {air:.1} mbar, as told.", h.name));
                }
                (None, Some(air)) => {
                    column.iter_mut().zip(air).for_each(|(v, a)| *v -= a);
                    recording.assumed.push(format!("{:?} less the recorded air pressure.", h.name));
                }
                (None, None) => {
                    column.iter_mut().for_each(|v| *v -= STANDARD_AIR_MBAR);
                    recording
                        .assumed
                        .push(format!("{:?} less the standard air pressure of {STANDARD_AIR_MBAR} mbar.", h.name));
                    report.push(
                        places
                            .at(
                                id::RECORDING_NO_BAROMETER,
                                line,
                                &h.name,
                                "a pressure against vacuum without the air pressure of the day; 1013.25 mbar were taken".into(),
                            )
                            .help("each mbar that the air differs shifts all readings by one: give --barometer HPA"),
                    );
                }
            },
        }
    }
}

/// Tells what wasn't as it should be.
fn tell(t: &Trouble, rows: u64, table: &Table, numbers: &[usize], places: &Places<'_>, report: &mut Report) {
    let many = |n: u64| 10 * n > rows;
    if let Some((line, before, now)) = t.first_back {
        let words = format!(
            "line {line}: time goes back from {before:.3} s to {now:.3} s; {} left out",
            plural(t.back as usize, "row")
        );
        let id = if many(t.back) { id::RECORDING_TIME_BACK } else { id::RECORDING_ROWS_OUT_OF_ORDER };
        report.push(places.at(id, line, "", words).help("two recordings in one file must be read one by one"));
    }
    if let Some((line, cell)) = &t.first_no_time {
        let words =
            format!("line {line}: no time ({:?}); {} left out", quotable(cell), plural(t.no_time as usize, "row"));
        let id = if many(t.no_time) { id::RECORDING_NOT_NUMBERS } else { id::RECORDING_BAD_CELLS };
        report.push(places.at(id, *line, cell, words).instead_of(cell, "a number"));
    }
    if let Some((line, cell, column)) = &t.first_bad {
        let worst = t.bad_by_column.iter().copied().max().unwrap_or(0);
        let id = if 2 * worst > rows { id::RECORDING_NOT_NUMBERS } else { id::RECORDING_BAD_CELLS };
        let words = format!(
            "line {line}, {:?}: {} of {} no numbers and are taken as gaps",
            quotable(column),
            if t.bad == 1 { "1 cell".to_owned() } else { format!("{} cells", t.bad) },
            rows * numbers.len() as u64,
        )
        .replace(
            " no numbers and are",
            if t.bad == 1 { " is no number and is" } else { " are no numbers and are" },
        );
        report.push(places.at(id, *line, cell, words).instead_of(cell, "a number"));
    }
    if let Some((line, cells)) = t.first_ragged {
        let words = format!(
            "line {line} has {cells} cells, the heading {}; {} like it, missing cells are gaps",
            table.cells,
            plural(t.ragged as usize, "row")
        );
        report.push(places.at(id::RECORDING_RAGGED, line, "", words));
    }
    if t.lost_words > 0 {
        let words = format!("more than {MOST_WORDS} different words for states; the others are left out");
        report.push(places.at(id::RECORDING_BAD_CELLS, table.line, "", words));
    }
    if t.lost_events > 0 {
        let words = format!("more than {MOST_EVENTS} events; {} left out", t.lost_events);
        report.push(places.at(id::RECORDING_BAD_CELLS, table.line, "", words));
    }
    if 4 * t.same_time > rows {
        let words = "samples share their time stamps; they were spread evenly until the next one";
        report.push(places.at(id::RECORDING_COARSE_TIME, table.line, "", words.into()));
    }
}
