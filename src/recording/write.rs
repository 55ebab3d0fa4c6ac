//! Writes a recording as text, in any of the forms that [`super::read`] takes.
//!
//! Numbers are written so that reading gives the same bits where factor and unit allow: in the kept unit
//! always, in another to the last digit or two.

use super::Recording;
use super::heading::{Heading, Quantity, Unit};
use super::read::STANDARD_AIR_MBAR;

/// The form of the text.
#[derive(Clone, Debug)]
pub struct Form {
    /// Between cells: `,`, `;` or a tab.
    pub delimiter: char,
    /// Decimal comma; never with `,` between cells.
    pub decimal_comma: bool,
    /// Unit of pressures, by its symbol.
    pub pressure: &'static str,
    /// Pressures against vacuum, with this air pressure in mbar.
    pub absolute: Option<f64>,
    /// Unit of time, by its symbol.
    pub time: &'static str,
    /// Digits after the decimal sign; as many as are needed when `None`.
    pub digits: Option<usize>,
    /// `Pressure [kPa abs]` rather than `pressure_kPa_abs`.
    pub brackets: bool,
}

impl Default for Form {
    fn default() -> Self {
        Self {
            delimiter: ',',
            decimal_comma: false,
            pressure: "mbar",
            absolute: None,
            time: "s",
            digits: None,
            brackets: false,
        }
    }
}

impl Form {
    fn unit(&self, h: &Heading) -> Option<Unit> {
        let symbol = match h.quantity {
            Quantity::Pressure => Some(self.pressure),
            Quantity::Time => Some(self.time),
            _ => None,
        };
        let units = h.quantity.units();
        symbol.and_then(|s| units.iter().copied().find(|u| u.symbol == s)).or(units.first().copied())
    }

    fn heading(&self, h: &Heading) -> String {
        let unit = self.unit(h).map_or("", |u| u.symbol);
        let against = match (h.quantity, self.absolute) {
            (Quantity::Pressure, Some(_)) => " abs",
            (Quantity::Pressure, None) => " gauge",
            _ => "",
        };
        let name = match h.quantity {
            Quantity::Pressure => "pressure",
            q => q.words(),
        };
        // what isn't plain stays out of the heading, or reading it would give another name
        match (unit.is_empty(), self.brackets) {
            (true, _) => name.to_owned(),
            (false, true) => format!("{name} [{unit}{against}]"),
            (false, false) => format!("{name} {unit}{against}").replace(' ', "_"),
        }
    }

    fn number(&self, v: f64) -> String {
        if !v.is_finite() {
            return String::new();
        }
        let text = match self.digits {
            Some(digits) => format!("{v:.digits$}"),
            None => format!("{v}"),
        };
        if self.decimal_comma { text.replace('.', ",") } else { text }
    }
}

/// A cell of words that can't end its cell or row early.
fn cell(words: &str, delimiter: char) -> String {
    let plain: String = words.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if plain.contains([delimiter, '"', '#']) { format!("\"{}\"", plain.replace('"', "\"\"")) } else { plain }
}

/// The recording as text.
pub fn write(recording: &Recording, form: &Form) -> String {
    let comma = form.decimal_comma && form.delimiter != ',';
    let form = &Form { decimal_comma: comma, ..form.clone() };
    let d = form.delimiter;
    let mut out: Vec<String> = recording.headings.iter().map(|h| cell(&form.heading(h), d)).collect();
    let mut text = out.join(&d.to_string()) + "\n";
    let mut events = recording.events.iter().peekable();
    for (i, t) in recording.t.iter().enumerate() {
        out.clear();
        for (k, h) in recording.headings.iter().enumerate() {
            let unit = form.unit(h).unwrap_or(Unit { symbol: "", factor: 1.0, summand: 0.0 });
            let back = |v: f64| (v - unit.summand) / unit.factor;
            out.push(match h.quantity {
                Quantity::Time => form.number(back(*t)),
                Quantity::State => {
                    let word = recording.states.as_ref().map_or(0, |s| usize::from(s[i]));
                    cell(recording.vocabulary.get(word).map_or("", String::as_str), d)
                }
                Quantity::Event => {
                    let mut words = String::new();
                    while let Some((_, word)) = events.next_if(|e| e.0 <= *t) {
                        words += if words.is_empty() { "" } else { "; " };
                        words += word;
                    }
                    cell(&words, d)
                }
                q => {
                    let v = recording.columns.iter().find(|c| c.0 == k).map_or(f64::NAN, |c| c.1[i]);
                    let air = if q == Quantity::Pressure { form.absolute.unwrap_or(0.0) } else { 0.0 };
                    form.number(back(v + air))
                }
            });
        }
        text += &out.join(&d.to_string());
        text.push('\n');
    }
    text
}

/// A form that most loggers of one country write: semicolons, decimal comma, kPa against vacuum.
pub fn continental() -> Form {
    Form {
        delimiter: ';',
        decimal_comma: true,
        pressure: "kPa",
        absolute: Some(STANDARD_AIR_MBAR),
        brackets: true,
        ..Form::default()
    }
}
