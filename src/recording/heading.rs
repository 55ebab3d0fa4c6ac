//! What the heading of a column means: quantity, unit, and what a pressure is counted against.
//!
//! `line_pressure_mbar_gauge`, `Pressure [kPa abs]`, `Druck (bar)`, `Time (s)`, `n 1/min`: words in any order
//! and spelling of brackets. Names of quantities in English and German, because a decimal comma
//! often comes with the latter.

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Quantity {
    /// Time; kept in s.
    Time,
    /// Pressure in the line; kept in mbar gauge.
    Pressure,
    /// Engine speed; kept in 1/min.
    Speed,
    /// Current of the pump; kept in A.
    Current,
    /// Voltage at the pump; kept in V.
    Voltage,
    /// A temperature; kept in °C.
    Temperature,
    /// Pressure of the air; kept in mbar.
    Barometer,
    /// Share of gas in the glass; kept as 0 … 1.
    Gas,
    /// Words that name the state.
    State,
    /// Words on what was done.
    Event,
}

impl Quantity {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Pressure => "pressure",
            Self::Speed => "engine speed",
            Self::Current => "current",
            Self::Voltage => "voltage",
            Self::Temperature => "temperature",
            Self::Barometer => "air pressure",
            Self::Gas => "gas in the glass",
            Self::State => "state",
            Self::Event => "event",
        }
    }

    /// Whether it is made of words.
    pub const fn is_words(self) -> bool {
        matches!(self, Self::State | Self::Event)
    }

    /// Units that may be written: symbol, factor and summand to the unit that is kept.
    pub const fn units(self) -> &'static [Unit] {
        const fn u(symbol: &'static str, factor: f64) -> Unit {
            Unit { symbol, factor, summand: 0.0 }
        }
        match self {
            Self::Time => const { &[u("s", 1.0), u("ms", 1e-3), u("µs", 1e-6), u("min", 60.0), u("h", 3600.0)] },
            Self::Pressure | Self::Barometer => {
                const {
                    &[
                        u("mbar", 1.0),
                        u("hPa", 1.0),
                        u("bar", 1000.0),
                        u("kPa", 10.0),
                        u("Pa", 0.01),
                        u("MPa", 1e4),
                        u("psi", 68.947_572_931_68),
                        u("inHg", 33.863_89),
                        u("mmHg", 1.333_223_9),
                        u("inH2O", 2.490_889),
                    ]
                }
            }
            Self::Speed => const { &[u("rpm", 1.0), u("Hz", 60.0)] },
            Self::Current => const { &[u("A", 1.0), u("mA", 1e-3)] },
            Self::Voltage => const { &[u("V", 1.0), u("mV", 1e-3)] },
            Self::Temperature => {
                const {
                    &[
                        u("°C", 1.0),
                        Unit { symbol: "K", factor: 1.0, summand: -273.15 },
                        Unit { symbol: "°F", factor: 5.0 / 9.0, summand: -160.0 / 9.0 },
                    ]
                }
            }
            Self::Gas => const { &[u("share", 1.0), u("%", 0.01)] },
            Self::State | Self::Event => &[],
        }
    }
}

/// A unit: kept value = factor · written value + summand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As written.
    pub symbol: &'static str,
    /// Factor to the kept unit.
    pub factor: f64,
    /// Summand to the kept unit.
    pub summand: f64,
}

/// What a pressure is counted against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Against {
    /// The surrounding air; below it is negative.
    Air,
    /// The surrounding air, suction written as a positive number.
    AirReversed,
    /// Vacuum.
    Vacuum,
    /// The heading doesn't say.
    Unstated,
}

/// A heading and what it means.
#[derive(Clone, Debug, PartialEq)]
pub struct Heading {
    /// As it stands in the file.
    pub name: String,
    /// What the column holds.
    pub quantity: Quantity,
    /// Its unit; `None` when none is written.
    pub unit: Option<Unit>,
    /// For pressures.
    pub against: Against,
    /// Place of the column in the file, from 0.
    pub place: usize,
}

impl Heading {
    /// A heading in the unit that is kept.
    pub fn plain(name: &str, quantity: Quantity) -> Self {
        let unit = quantity.units().first().copied();
        Self { name: name.to_owned(), quantity, unit, against: Against::Air, place: 0 }
    }
}

/// Why a heading that names a quantity can't be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownUnit {
    /// The words where the unit should stand.
    pub found: String,
    /// The quantity.
    pub quantity: Quantity,
}

/// Letters and figures in a row, in lower case; `°` and `%` count as letters.
fn tokens(name: &str) -> Vec<String> {
    let low = name.to_lowercase().replace('\u{fffd}', "°").replace(['µ', 'μ'], "u");
    low.split(|c: char| !(c.is_alphanumeric() || c == '°' || c == '%'))
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect()
}

const WORDS: &[(Quantity, &[&str])] = &[
    (
        Quantity::Barometer,
        &["barometer", "barometric", "baro", "ambient", "atmosphere", "atmospheric", "luftdruck"],
    ),
    (Quantity::State, &["state", "phase", "zustand"]),
    (Quantity::Event, &["event", "events", "note", "remark", "comment", "ereignis", "bemerkung"]),
    (Quantity::Temperature, &["temperature", "temp", "temperatur"]),
    (Quantity::Current, &["current", "amps", "amperage", "strom", "stromstärke"]),
    (Quantity::Voltage, &["voltage", "volts", "spannung"]),
    (Quantity::Speed, &["rpm", "rev", "revs", "drehzahl", "engine", "crankshaft"]),
    (
        Quantity::Pressure,
        &["pressure", "druck", "depression", "unterdruck", "vacuum", "p", "p0", "p1", "p2", "p3", "p4", "p5"],
    ),
    (Quantity::Gas, &["gas", "air", "aeration", "glass"]),
    (Quantity::Time, &["time", "zeit", "timestamp", "elapsed", "clock", "t", "seconds", "uhrzeit"]),
];

/// The quantity that words name, with what each unit alone would tell.
fn quantity(words: &[String]) -> Option<Quantity> {
    let named = WORDS.iter().find(|(_, list)| words.iter().any(|w| list.contains(&w.as_str())));
    match named {
        // "ambient temperature" and "air temperature" are temperatures
        Some((Quantity::Barometer | Quantity::Gas, _)) if words.iter().any(|w| w.starts_with("temp")) => {
            Some(Quantity::Temperature)
        }
        Some((q, _)) => Some(*q),
        None if pressure_unit(words).is_some() => Some(Quantity::Pressure),
        None => None,
    }
}

/// A unit of pressure with what its last letter says about the reference.
fn pressure_unit(words: &[String]) -> Option<(Unit, Against)> {
    let units = Quantity::Pressure.units();
    let plain = |w: &str| units.iter().copied().find(|u| u.symbol.eq_ignore_ascii_case(w));
    for (k, w) in words.iter().enumerate().rev() {
        if let Some(unit) = plain(w) {
            return Some((unit, Against::Unstated));
        }
        let joined = k.checked_sub(1).map(|b| format!("{}{w}", words[b]));
        if let Some(unit) = joined.as_deref().and_then(plain).filter(|_| w == "hg" || w == "h2o") {
            return Some((unit, Against::Unstated));
        }
        let cut = w.char_indices().last().map_or(0, |c| c.0);
        let against = match &w[cut..] {
            "g" => Against::Air,
            "a" => Against::Vacuum,
            _ => continue,
        };
        if let Some(unit) = plain(&w[..cut]) {
            return Some((unit, against));
        }
    }
    None
}

fn reference(words: &[String], by_unit: Against) -> Against {
    let has = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    if has(&["vacuum", "vac", "depression", "unterdruck"]) {
        Against::AirReversed
    } else if has(&["abs", "absolute", "absolut", "a"]) {
        Against::Vacuum
    } else if has(&["gauge", "gage", "g", "rel", "relative", "relativ"]) {
        Against::Air
    } else {
        by_unit
    }
}

fn unit(quantity: Quantity, words: &[String], low: &str) -> Option<Unit> {
    let units = quantity.units();
    let named = |symbol: &str| units.iter().copied().find(|u| u.symbol == symbol);
    match quantity {
        Quantity::Speed => {
            let compact: String = low.chars().filter(|c| !c.is_whitespace()).collect();
            if ["1/min", "min-1", "min⁻¹", "r/min", "u/min", "/min"].iter().any(|s| compact.contains(s)) {
                return named("rpm");
            }
        }
        Quantity::Temperature => {
            let compact: String = low.chars().filter(|c| c.is_alphanumeric() || *c == '°').collect();
            if compact.ends_with("degc") || words.iter().any(|w| w == "c" || w == "degc" || w == "celsius") {
                return named("°C");
            }
            if compact.ends_with("degf") || words.iter().any(|w| w == "f" || w == "degf") {
                return named("°F");
            }
        }
        Quantity::Gas if words.iter().any(|w| w == "percent") => return named("%"),
        Quantity::Time if words.iter().any(|w| w == "sec" || w == "secs" || w == "seconds") => return named("s"),
        Quantity::Time if words.iter().any(|w| w == "us") => return named("µs"),
        _ => {}
    }
    words.iter().rev().find_map(|w| units.iter().copied().find(|u| u.symbol.eq_ignore_ascii_case(w)))
}

/// What stands in the last pair of brackets.
fn bracketed(name: &str) -> Option<&str> {
    let close = name.rfind([')', ']'])?;
    let open = name[..close].rfind(['(', '['])?;
    Some(name[open + 1..close].trim()).filter(|w| !w.is_empty())
}

/// What a heading means; `None` when it means nothing here.
///
/// # Errors
/// It names a quantity and a unit that isn't known.
pub fn meaning(name: &str, place: usize) -> Option<Result<Heading, UnknownUnit>> {
    let name = name.trim();
    if name.is_empty() || name.len() > 200 {
        return None;
    }
    let words = tokens(name);
    let quantity = quantity(&words)?;
    let low = name.to_lowercase();
    // a speed of the vehicle or of the wind is none of the engine
    if quantity == Quantity::Speed && words.iter().any(|w| w == "km" || w == "kmh" || w == "mph") {
        return None;
    }
    let (unit, against) = match quantity {
        Quantity::Pressure | Quantity::Barometer => match pressure_unit(&words) {
            Some((unit, by_unit)) => (Some(unit), reference(&words, by_unit)),
            None => (None, reference(&words, Against::Unstated)),
        },
        q => (unit(q, &words, &low), Against::Air),
    };
    if unit.is_none()
        && !quantity.is_words()
        && let Some(found) = bracketed(name)
    {
        return Some(Err(UnknownUnit { found: found.to_owned(), quantity }));
    }
    Some(Ok(Heading { name: name.to_owned(), quantity, unit, against, place }))
}

/// The unit that a cell under a heading consists of, as in tables with a row of units.
pub fn unit_alone(quantity: Quantity, cell: &str) -> Option<(Unit, Against)> {
    let low = cell.trim().trim_matches(['[', ']', '(', ')']).to_lowercase();
    let words = tokens(&low);
    if words.is_empty() || words.len() > 3 || words.iter().all(|w| w.parse::<f64>().is_ok()) {
        return None;
    }
    match quantity {
        Quantity::Pressure | Quantity::Barometer => pressure_unit(&words).map(|(u, r)| (u, reference(&words, r))),
        q => unit(q, &words, &low).map(|u| (u, Against::Air)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(name: &str, quantity: Quantity, symbol: &str, against: Against) {
        let h = meaning(name, 0).unwrap_or_else(|| panic!("{name} means nothing")).unwrap();
        let found = (h.quantity, h.unit.map_or("", |u| u.symbol), h.against);
        assert_eq!(found, (quantity, symbol, against), "{name}");
    }

    #[test]
    fn headings_of_many_hands() {
        check("time_s", Quantity::Time, "s", Against::Air);
        check("Time (ms)", Quantity::Time, "ms", Against::Air);
        check("Zeit [min]", Quantity::Time, "min", Against::Air);
        check("t", Quantity::Time, "", Against::Air);
        check("line_pressure_mbar_gauge", Quantity::Pressure, "mbar", Against::Air);
        check("tee_pressure_mbar_gauge", Quantity::Pressure, "mbar", Against::Air);
        check("Pressure [kPa abs]", Quantity::Pressure, "kPa", Against::Vacuum);
        check("Druck (bar)", Quantity::Pressure, "bar", Against::Unstated);
        check("P2 psig", Quantity::Pressure, "psi", Against::Air);
        check("P4 bar(a)", Quantity::Pressure, "bar", Against::Vacuum);
        check("suction vacuum in Hg", Quantity::Pressure, "inHg", Against::AirReversed);
        check("mbar", Quantity::Pressure, "mbar", Against::Unstated);
        check("Current (A)", Quantity::Current, "A", Against::Air);
        check("pump_current_mA", Quantity::Current, "mA", Against::Air);
        check("Spannung V", Quantity::Voltage, "V", Against::Air);
        check("Engine speed 1/min", Quantity::Speed, "rpm", Against::Air);
        check("engine_speed_rpm", Quantity::Speed, "rpm", Against::Air);
        check("Fuel temperature [°C]", Quantity::Temperature, "°C", Against::Air);
        check("fuel temp \u{fffd}C", Quantity::Temperature, "°C", Against::Air);
        check("Ambient hPa", Quantity::Barometer, "hPa", Against::Unstated);
        check("Ambient temperature degF", Quantity::Temperature, "°F", Against::Air);
        check("glass_gas_share", Quantity::Gas, "share", Against::Air);
        check("Glass gas (%)", Quantity::Gas, "%", Against::Air);
        check("State", Quantity::State, "", Against::Air);
    }

    #[test]
    fn what_means_nothing_and_what_is_wrong() {
        for name in ["", "Vehicle speed km/h", "lambda", "42.0", "-3,5"] {
            assert!(!matches!(meaning(name, 0), Some(Ok(h)) if h.quantity != Quantity::Speed), "{name}");
        }
        let wrong = meaning("Pressure (furlong)", 0).unwrap().unwrap_err();
        assert_eq!((wrong.found.as_str(), wrong.quantity), ("furlong", Quantity::Pressure));
        assert_eq!(unit_alone(Quantity::Pressure, "[kPa]").unwrap().0.symbol, "kPa");
        assert!(unit_alone(Quantity::Pressure, "-4.5").is_none());
    }
}
