//! Numbers and times as they stand on the screen.

use crate::bay::action::{Micros, SECOND};
use crate::language::Msg;
use crate::msg;
use crate::units::PressureUnit;

/// The sentence that goes with every limit.
pub const TRAINING_VALUES: Msg = msg!("training-values");

/// A number with a true minus sign, as the language spoken writes it.
pub fn number(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "\u{2013}".to_owned();
    }
    let text = format!("{value:.digits$}");
    let bare = text.trim_start_matches('-');
    // no "−0"
    let less = value < 0.0 && bare.bytes().any(|b| (b'1'..=b'9').contains(&b));
    crate::language::decimal(if less { format!("\u{2212}{bare}") } else { bare.to_owned() })
}

/// A healthy range in mbar. A limit at the end of what can be read is no limit.
pub fn range(low: f64, high: f64) -> String {
    if low <= crate::instrument::transducer::RANGE_LOW_MBAR {
        return format!("≤ {}", number(high, 0));
    }
    // 3 bar ends the suction range; a fed line has limits beyond it
    let ends =
        [crate::instrument::transducer::RANGE_HIGH_MBAR, crate::instrument::transducer::Range::FEED.high_mbar];
    if ends.iter().any(|end| (high - end).abs() < 1.0) {
        return format!("≥ {}", number(low, 0));
    }
    format!("{} … {}", number(low, 0), number(high, 0))
}

/// A pressure in a unit, with as many digits as its steps deserve.
pub fn pressure(mbar: f64, unit: PressureUnit) -> String {
    number(mbar * 100.0 / unit.pascal(), digits(unit))
}

const fn digits(unit: PressureUnit) -> usize {
    match unit {
        PressureUnit::Mbar => 0,
        PressureUnit::KiloPascal | PressureUnit::InchMercury => 1,
        PressureUnit::Psi => 2,
        PressureUnit::Bar => 3,
    }
}

/// A pressure as it is shown in a unit, mbar: what is reckoned from shown numbers agrees with them.
pub fn as_shown(mbar: f64, unit: PressureUnit) -> f64 {
    let step = [1.0, 0.1, 0.01, 0.001][digits(unit)] * unit.pascal() / 100.0;
    (mbar / step).round() * step
}

/// A healthy range in a unit. A limit at the end of what can be read is no limit.
pub fn range_in(low: f64, high: f64, unit: PressureUnit) -> String {
    match unit {
        PressureUnit::Mbar => range(low, high),
        unit => {
            let plain = range(low, high);
            match plain.chars().next() {
                Some('≤') => format!("≤ {}", pressure(high, unit)),
                Some('≥') => format!("≥ {}", pressure(low, unit)),
                _ => format!("{} … {}", pressure(low, unit), pressure(high, unit)),
            }
        }
    }
}

/// `00:12:41`.
pub fn clock(at: Micros) -> String {
    let s = at / SECOND;
    format!("{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
}

/// `12:41`, or with the hour when there is one.
pub fn short_clock(at: Micros) -> String {
    if at >= 3600 * SECOND { clock(at) } else { clock(at)[3..].to_owned() }
}

/// `12:41.3`.
pub fn fine_clock(at: Micros) -> String {
    format!("{}.{}", short_clock(at), at % SECOND / 100_000)
}

/// Reads a number as people write it: true or typed minus, point or comma.
pub fn read_number(text: &str) -> Option<f64> {
    let plain: String = text
        .trim()
        .chars()
        .map(|c| match c {
            '\u{2212}' | '\u{2013}' => '-',
            ',' => '.',
            c => c,
        })
        .filter(|c| !c.is_whitespace())
        .collect();
    plain.parse::<f64>().ok().filter(|v| v.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_carry_a_true_minus_and_never_minus_zero() {
        assert_eq!(number(-118.4, 0), "\u{2212}118");
        assert_eq!(number(-0.2, 0), "0");
        assert_eq!(number(12.34, 1), "12.3");
        assert_eq!(number(f64::NAN, 1), "\u{2013}");
    }

    #[test]
    fn german_writes_a_comma_and_reads_it_back() {
        use crate::language::{Language, within};
        within(Language::German, || {
            assert_eq!(number(-12.34, 1), "\u{2212}12,3");
            assert_eq!(read_number(&number(-12.34, 1)), Some(-12.3));
            assert_eq!(range_in(-150.0, -40.0, PressureUnit::KiloPascal), "\u{2212}15,0 … \u{2212}4,0");
            // in a sentence, beside its unit; a version and a name stay as they are
            let told = |value: &str| crate::tell!("sheet-correct-small", n = value);
            assert!(told("4.17 bar").contains("4,17 bar"));
            assert!(told("0.6.0").contains("0.6.0"));
            assert!(told("Motor 2.2").contains("Motor 2.2"));
        });
        assert_eq!(number(-12.34, 1), "\u{2212}12.3");
    }

    #[test]
    fn a_range_reads_the_same_in_every_unit() {
        assert_eq!(range_in(-150.0, -40.0, PressureUnit::KiloPascal), "\u{2212}15.0 … \u{2212}4.0");
        assert_eq!(range_in(-1000.0, -600.0, PressureUnit::Mbar), "≤ \u{2212}600");
        assert_eq!(range_in(-1000.0, -600.0, PressureUnit::InchMercury), "≤ \u{2212}17.7");
        assert_eq!(pressure(68.947_572_931_68, PressureUnit::Psi), "1.00");
    }

    #[test]
    fn clocks() {
        assert_eq!(clock(761 * SECOND), "00:12:41");
        assert_eq!(short_clock(761 * SECOND), "12:41");
        assert_eq!(short_clock(3661 * SECOND), "01:01:01");
        assert_eq!(fine_clock(761 * SECOND + 350_000), "12:41.3");
    }

    #[test]
    fn a_number_is_read_as_it_was_shown() {
        for v in [-118.0, 0.0, 12.0, -0.5] {
            assert_eq!(read_number(&number(v, 1)), Some(v));
        }
        assert_eq!(read_number(" -11,5 "), Some(-11.5));
        assert_eq!(read_number("1.2.3"), None);
        assert_eq!(read_number("inf"), None);
    }
}
