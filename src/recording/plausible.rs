//! Values that no vehicle shows in their unit, and the unit that was probably meant.

use super::heading::{Against, Heading, Quantity, Unit};
use super::{Recording, heading};

/// Lowest and highest that a low-pressure fuel system or its logger shows, in the kept unit.
const fn range(quantity: Quantity) -> (f64, f64) {
    match quantity {
        Quantity::Pressure => (-1030.0, 20_000.0),
        Quantity::Speed => (-1.0, 12_000.0),
        Quantity::Current => (-100.0, 100.0),
        Quantity::Voltage => (-60.0, 60.0),
        Quantity::Temperature => (-60.0, 200.0),
        Quantity::Barometer => (500.0, 1100.0),
        Quantity::Gas => (-0.01, 1.01),
        _ => (f64::NEG_INFINITY, f64::INFINITY),
    }
}

/// Lowest and highest of a column, a thousandth at either end left aside.
fn ends(values: &[f64]) -> Option<(f64, f64)> {
    let mut some: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    if some.len() < 2 {
        return None;
    }
    some.sort_by(f64::total_cmp);
    let cut = some.len() / 1000;
    Some((some[cut], some[some.len() - 1 - cut]))
}

/// Reports each column whose values are absurd: heading, words, help.
pub(super) fn check(recording: &Recording, mut say: impl FnMut(&str, String, String)) {
    for (i, values) in &recording.columns {
        let h = &recording.headings[*i];
        let Some((low, high)) = ends(values) else { continue };
        let (least, most) = range(h.quantity);
        let kept = h.quantity.units()[0].symbol;
        if low < least || high > most {
            let below = h.quantity == Quantity::Pressure && low < least;
            let words = format!(
                "{:?} runs from {low:.0} to {high:.0} {kept}{}",
                h.name,
                if below { ", below an empty space" } else { ", more than any such column shows" }
            );
            let help = match likely(h, low, high) {
                Some(unit) => format!("the unit is probably {unit}"),
                None => "check the unit in the heading".to_owned(),
            };
            say(&h.name, words, help);
        } else if h.quantity == Quantity::Pressure && h.against == Against::Unstated && low > 200.0 && high < 1080.0
        {
            say(
                &h.name,
                format!("{:?} runs from {low:.0} to {high:.0} mbar, as the air itself does", h.name),
                "it is probably counted against vacuum: write abs into the heading".to_owned(),
            );
        } else if h.quantity == Quantity::Pressure
            && high - low < 2.0
            && low.abs().max(high.abs()) < 3.0
            && recording.span() > 20.0
            && let Some(unit) = likely_larger(h, low, high)
        {
            say(
                &h.name,
                format!("{:?} stays within {low:.3} and {high:.3} mbar all the time", h.name),
                format!("the unit is probably {unit}, unless nothing was connected"),
            );
        }
    }
    times(recording, say);
}

/// Symbol of the unit under which the values would lie where they can, the nearest in size.
fn likely(h: &Heading, low: f64, high: f64) -> Option<&'static str> {
    let now = h.unit?;
    let (least, most) = range(h.quantity);
    let as_other = |u: &Unit, v: f64| (v - now.summand) / now.factor * u.factor + u.summand;
    let mut fit: Vec<&Unit> = h
        .quantity
        .units()
        .iter()
        .filter(|u| u.factor < now.factor && as_other(u, low) >= least && as_other(u, high) <= most)
        .collect();
    // people mix up units of one system; inches of water are nobody's slip
    fit.retain(|u| ["mbar", "bar", "kPa", "Pa", "mA", "mV", "%", "psi", "°C", "K", "rpm"].contains(&u.symbol));
    fit.sort_by(|a, b| b.factor.total_cmp(&a.factor));
    let usual = fit.iter().find(|u| ["mbar", "mA", "mV", "%"].contains(&u.symbol));
    usual.or(fit.first()).map(|u| u.symbol)
}

/// The larger unit that would make more of the values than noise.
fn likely_larger(h: &Heading, low: f64, high: f64) -> Option<&'static str> {
    let now = h.unit?;
    let as_other = |u: &Unit, v: f64| v / now.factor * u.factor;
    ["bar", "kPa"].into_iter().find(|s| {
        heading::Quantity::Pressure.units().iter().find(|u| u.symbol == *s && u.factor > now.factor).is_some_and(
            |u| as_other(u, low) >= -1030.0 && as_other(u, high) <= 20_000.0 && as_other(u, high - low) > 20.0,
        )
    })
}

/// Times that fit another unit.
fn times(recording: &Recording, mut say: impl FnMut(&str, String, String)) {
    let Some(h) = recording.headings.iter().find(|h| h.quantity == Quantity::Time) else { return };
    let (gap, span) = (recording.interval(), recording.span());
    let symbol = h.unit.map_or("s", |u| u.symbol);
    if symbol == "s" && gap >= 4.0 && span > 20.0 * 3600.0 && recording.t.iter().all(|t| t.fract() == 0.0) {
        say(
            &h.name,
            format!("samples every {gap:.0} s over {:.0} hours", span / 3600.0),
            "the unit is probably ms".to_owned(),
        );
    } else if gap < 2e-6 {
        say(&h.name, format!("samples every {:.2} µs", gap * 1e6), "the unit is probably s".to_owned());
    }
}
