//! Sentences about one line of the sheet: what was written, and what was there to be read.

use super::{Sentence, clock, number, pressure, sentence};
use crate::bay::action::{Micros, Quantity, TestUnit, Verdict};
use crate::language::{named, said};
use crate::marking::readings::{ReadingScore, ReadingVerdict};
use crate::tell;
use crate::units::PressureUnit;

/// M: one reading of the sheet against what the gauge showed. `written` is the number and unit as
/// written, `test` what was read.
pub fn reading(
    at: Micros,
    test: &str,
    written: Option<(f64, Option<PressureUnit>)>,
    true_pa: f64,
    score: &ReadingScore,
) -> Sentence {
    let t = clock(at);
    let unit = written.and_then(|(_, unit)| unit).unwrap_or(PressureUnit::Mbar);
    let (showed, allowed) = (pressure(true_pa, unit), pressure(score.allowed_pa, unit));
    let wrote = written.map_or(String::new(), |(value, unit)| {
        unit.map_or(format!("{value}").replace('-', "−"), |u| {
            format!("{} {}", format!("{value}").replace('-', "−"), u.symbol())
        })
    });
    let plain =
        tell!("marking-reading-wrote", t = t, wrote = wrote, test = test, showed = showed, allowed = allowed);
    match score.verdict {
        ReadingVerdict::Right => sentence("reading.right", format!("{plain}.")),
        ReadingVerdict::Near => sentence("reading.near", tell!("marking-reading-near", plain = plain)),
        ReadingVerdict::Off => sentence("reading.off", format!("{plain}.")),
        ReadingVerdict::NoUnit => {
            let text = tell!("marking-reading-no-unit", t = t, wrote = wrote, test = test, showed = showed);
            sentence("reading.no-unit", text)
        }
        ReadingVerdict::WrongUnit(fits) => {
            let text = tell!(
                "marking-reading-wrong-unit",
                t = t,
                wrote = wrote,
                test = test,
                showed = pressure(true_pa, fits)
            );
            sentence("reading.wrong-unit", text)
        }
        ReadingVerdict::WrongSign => {
            let side = if true_pa < 0.0 { said("marking-side-suction") } else { said("marking-side-pressure") };
            let text =
                tell!("marking-reading-sign", t = t, wrote = wrote, test = test, showed = showed, side = side);
            sentence("reading.sign", text)
        }
        ReadingVerdict::GaugeForAbsolute => {
            let text = tell!("marking-reading-gauge-absolute", t = t, wrote = wrote, test = test, showed = showed);
            sentence("reading.gauge-absolute", text)
        }
        ReadingVerdict::OtherUnit | ReadingVerdict::OtherQuantity | ReadingVerdict::Missing => {
            let text = tell!("marking-reading-missing", t = t, showed = showed, test = test);
            sentence("reading.missing", text)
        }
    }
}

/// M: the same where the verdict contradicts the card that it quotes: its range, mbar.
pub fn contradicted(reading: &Sentence, verdict: Verdict, (low, high): (f64, f64)) -> Sentence {
    let text = tell!(
        "marking-reading-verdict",
        reading = reading.text,
        verdict = verdict.words(),
        low = number(low, 0),
        high = number(high, 0)
    );
    sentence("reading.verdict", text)
}

/// M: one number of the sheet that another instrument showed. `shown` and `allowed` in the quantity's own unit.
pub fn number_reading(
    at: Micros,
    test: &str,
    written: (f64, Option<TestUnit>),
    (quantity, shown, allowed): (Quantity, f64, f64),
    verdict: ReadingVerdict,
) -> Sentence {
    let digits = |x: f64| format!("{}", (x * 100.0).round() / 100.0 + 0.0).replace('-', "\u{2212}");
    let own = quantity.unit().symbol();
    let unit = written.1.map_or(said("marking-without-unit"), TestUnit::symbol);
    let plain = tell!(
        "marking-number-wrote",
        t = clock(at),
        wrote = digits(written.0),
        unit = unit,
        test = test,
        showed = digits(shown),
        own = own
    );
    let within = tell!("marking-number-allowed", allowed = digits(allowed), own = own);
    match verdict {
        ReadingVerdict::Right => sentence("reading.right", format!("{plain} {within}.")),
        ReadingVerdict::Near => {
            sentence("reading.near", tell!("marking-number-near", plain = plain, within = within))
        }
        ReadingVerdict::NoUnit => sentence("reading.no-unit", format!("{plain}.")),
        ReadingVerdict::OtherQuantity => sentence(
            "reading.other-quantity",
            tell!("marking-other-quantity", plain = plain, quantity = quantity.word()),
        ),
        ReadingVerdict::OtherUnit | ReadingVerdict::WrongUnit(_) => {
            sentence("reading.wrong-unit", tell!("marking-number-wrong-unit", plain = plain))
        }
        ReadingVerdict::WrongSign => sentence("reading.sign", tell!("marking-number-sign", plain = plain)),
        _ => sentence("reading.off", format!("{plain} {within}.")),
    }
}

/// A reading that bears the name of a state in which the engine wasn't.
pub fn reading_otherwise(rpm: f64, label: &str) -> String {
    if rpm < 1.0 {
        tell!("marking-reading-stood", label = label)
    } else {
        tell!("marking-reading-turned", rpm = number(rpm, 0), label = label)
    }
}

/// M: the engine wasn't in the state that the line names.
pub fn other_state(at: Micros, test: &str, rpm: f64) -> Sentence {
    let text = if rpm < 1.0 {
        tell!("marking-state-stood", t = clock(at), test = test)
    } else {
        tell!("marking-state-turned", t = clock(at), test = test, rpm = number(rpm, 0))
    };
    sentence("reading.other-state", text)
}

/// M: another word than what was to be perceived.
pub fn other_word(at: Micros, test: &str, written: &str, was: &str) -> Sentence {
    let text = tell!("marking-word-other", t = clock(at), test = test, wrote = named(written), was = named(was));
    sentence("reading.other-word", text)
}

/// M: nothing was measured.
pub fn reading_none() -> Sentence {
    sentence("reading.none", said("marking-reading-none").to_owned())
}
