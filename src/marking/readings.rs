//! **M** measurement: is what was written what the gauge showed?
//!
//! `err = |r − v|`, `a = max(author's tolerance, 2·u_c)`: full share up to a, falling evenly to
//! none at 3a. Slips with a name of their own (no unit, wrong unit, wrong sign, gauge against
//! absolute, not recorded) earn nothing and are told apart, because each teaches something else.
//! Everything in pascal, gauge; below ambient is negative.
//!
//! A verdict that says the opposite of the card it quotes leaves half: the number is right, and what whoever reads
//! the sheet makes of it is wrong. It is ours, not in the theory that the rest of the mark follows.

use crate::bay::action::{Quantity, TestUnit, Verdict};
use crate::units::PressureUnit;

/// What is wrong with a written reading, or nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadingVerdict {
    /// Within what is allowed.
    Right,
    /// Beyond what is allowed, up to three times as far.
    Near,
    /// Farther off.
    Off,
    /// A number without unit.
    NoUnit,
    /// The number fits this unit, but another one was written.
    WrongUnit(PressureUnit),
    /// Suction for pressure or the other way round.
    WrongSign,
    /// Read against vacuum instead of against the air.
    GaugeForAbsolute,
    /// The number fits another unit of the same quantity.
    OtherUnit,
    /// The unit belongs to another quantity.
    OtherQuantity,
    /// Nothing was written, or no number.
    Missing,
}

/// A written reading, judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingScore {
    /// Share earned, 0 … 1.
    pub share: f64,
    /// What is wrong with it.
    pub verdict: ReadingVerdict,
    /// What was written, Pa gauge; absent without number or unit.
    pub written_pa: Option<f64>,
    /// Allowed error a, Pa.
    pub allowed_pa: f64,
}

/// Allowed error: `max(tolerance, 2·u_c)`, with u_c the combined standard uncertainty of the
/// instrument in use; both in pascal.
pub fn allowed_pa(tolerance_pa: f64, combined_uncertainty_pa: f64) -> f64 {
    tolerance_pa.max(2.0 * combined_uncertainty_pa)
}

/// Judges one entry of the sheet: `written` is the number and its unit as written, `true_pa` what
/// the gauge showed at that point (Pa gauge), `allowed_pa` the allowed error, `ambient_pa` the air
/// pressure of the day.
///
/// Named slips go first, the most telling before the others: within a → right; another unit's
/// factor brings it within a → wrong unit; off by the air pressure within a → gauge for absolute;
/// other sign → wrong sign. Unit and sign are only judged where |v| > a, for near zero they can't
/// be told.
pub fn score_reading(
    written: Option<(f64, Option<PressureUnit>)>,
    true_pa: f64,
    allowed_pa: f64,
    ambient_pa: f64,
) -> ReadingScore {
    let Some((number, unit)) = written.filter(|(number, _)| number.is_finite()) else {
        return ReadingScore { share: 0.0, verdict: ReadingVerdict::Missing, written_pa: None, allowed_pa };
    };
    let Some(unit) = unit else {
        return ReadingScore { share: 0.0, verdict: ReadingVerdict::NoUnit, written_pa: None, allowed_pa };
    };
    let pa = number * unit.pascal();
    let (verdict, share) = judge(number, unit, true_pa, allowed_pa, ambient_pa);
    ReadingScore { share, verdict, written_pa: Some(pa), allowed_pa }
}

fn judge(number: f64, unit: PressureUnit, true_pa: f64, allowed: f64, ambient_pa: f64) -> (ReadingVerdict, f64) {
    let pa = number * unit.pascal();
    // conversion of units rounds: a reading exactly on the edge is allowed
    let edge = allowed + 1e-9 * (allowed + true_pa.abs());
    let fits = |pa: f64| (pa - true_pa).abs() <= edge;
    let told = true_pa.abs() > allowed;
    if fits(pa) {
        return (ReadingVerdict::Right, 1.0);
    }
    let other = PressureUnit::ALL.into_iter().find(|u| *u != unit && fits(number * u.pascal()));
    if let Some(other) = other.filter(|_| told) {
        return (ReadingVerdict::WrongUnit(other), 0.0);
    }
    if fits(pa - ambient_pa) || fits(pa + ambient_pa) {
        return (ReadingVerdict::GaugeForAbsolute, 0.0);
    }
    if told && pa * true_pa < 0.0 {
        return (ReadingVerdict::WrongSign, 0.0);
    }
    let error = (pa - true_pa).abs();
    if error < 3.0 * allowed {
        (ReadingVerdict::Near, ((3.0 * allowed - error) / (2.0 * allowed)).clamp(0.0, 1.0))
    } else {
        (ReadingVerdict::Off, 0.0)
    }
}

/// Share of a reading that is left when its verdict contradicts the card.
pub const CONTRADICTED: f64 = 0.5;

/// Whether "within" or "outside" contradicts the card's range for what the gauge showed, all in one unit. A verdict
/// is held against the *shown* number, for a slip in writing it down was marked already, and only where that lies
/// more than the allowed error on the other side of a limit: at the limit both are sound, and so is "not proven"
/// everywhere.
pub fn contradicts_card(verdict: Verdict, shown: f64, allowed: f64, (low, high): (f64, f64)) -> bool {
    match verdict {
        Verdict::Within => shown < low - allowed || shown > high + allowed,
        Verdict::Outside => shown > low + allowed && shown < high - allowed,
        Verdict::NotProven | Verdict::Invalid => false,
    }
}

/// Allowed error of a number that a meter, a stick or a jar showed, in the quantity's own unit: what reading and
/// rounding it costs (training values), or two hundredths of it.
pub fn allowed_number(quantity: Quantity, shown: f64) -> f64 {
    let least = match quantity {
        Quantity::Pressure => 8.0,
        Quantity::Voltage => 0.05,
        Quantity::Current => 0.2,
        Quantity::Volume => 10.0,
        Quantity::Temperature => 1.0,
        Quantity::Level => 5.0,
        Quantity::Speed => 20.0,
        Quantity::Duty => 2.0,
    };
    f64::max(least, 0.02 * shown.abs())
}

/// Judges a number that a test showed as [`score_reading`] does a pressure: verdict and share. `shown` and
/// `allowed` in the quantity's own unit.
pub fn score_number(
    (number, unit): (f64, Option<TestUnit>),
    quantity: Quantity,
    shown: f64,
    allowed: f64,
) -> (ReadingVerdict, f64) {
    if !number.is_finite() {
        return (ReadingVerdict::Missing, 0.0);
    }
    let Some(unit) = unit else { return (ReadingVerdict::NoUnit, 0.0) };
    if unit.quantity() != quantity {
        return (ReadingVerdict::OtherQuantity, 0.0);
    }
    let edge = allowed + 1e-9 * (allowed + shown.abs());
    let (error, told) = ((number * unit.factor() - shown).abs(), shown.abs() > allowed);
    if error <= edge {
        return (ReadingVerdict::Right, 1.0);
    }
    let others = TestUnit::ALL.into_iter().filter(|u| *u != unit && u.quantity() == quantity);
    if told && others.into_iter().any(|u| (number * u.factor() - shown).abs() <= edge) {
        return (ReadingVerdict::OtherUnit, 0.0);
    }
    if told && number * shown < 0.0 {
        return (ReadingVerdict::WrongSign, 0.0);
    }
    if error < 3.0 * allowed {
        return (ReadingVerdict::Near, ((3.0 * allowed - error) / (2.0 * allowed)).clamp(0.0, 1.0));
    }
    (ReadingVerdict::Off, 0.0)
}

/// **M**: the mean over distinct material readings, 0 when there is none.
pub fn measurement(scores: &[f64]) -> f64 {
    if scores.is_empty() { 0.0 } else { scores.iter().sum::<f64>() / scores.len() as f64 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::worked::close;
    use crate::units::{PressureUnit as U, STANDARD_ATMOSPHERE_PA};
    use proptest::prelude::*;

    fn check(number: f64, unit: U, true_pa: f64, allowed_pa: f64) -> (ReadingVerdict, f64) {
        let score = score_reading(Some((number, Some(unit))), true_pa, allowed_pa, STANDARD_ATMOSPHERE_PA);
        (score.verdict, score.share)
    }

    #[test]
    fn an_error_costs_nothing_then_evenly_then_all() {
        // 3 bar, allowed ± 5 kPa
        assert_eq!(check(3.05, U::Bar, 300e3, 5e3), (ReadingVerdict::Right, 1.0));
        let (verdict, half) = check(3.10, U::Bar, 300e3, 5e3);
        assert_eq!(verdict, ReadingVerdict::Near);
        close(half, 0.5, 1e-9);
        assert_eq!(check(3.16, U::Bar, 300e3, 5e3), (ReadingVerdict::Off, 0.0));
        assert_eq!(check(2.84, U::Bar, 300e3, 5e3), (ReadingVerdict::Off, 0.0));
        assert_eq!(allowed_pa(500.0, 300.0), 600.0);
        assert_eq!(allowed_pa(500.0, 200.0), 500.0);
    }

    #[test]
    fn three_and_a_half_bar_are_350_kilopascal() {
        assert_eq!(check(3.5, U::Bar, 350e3, 1.0), check(350.0, U::KiloPascal, 350e3, 1.0));
        assert_eq!(check(3.6, U::Bar, 350e3, 5e3), check(360.0, U::KiloPascal, 350e3, 5e3));
    }

    #[test]
    fn named_slips_have_their_own_verdict_and_earn_nothing() {
        let suction = -12_000.0;
        assert_eq!(check(-120.0, U::Mbar, suction, 500.0), (ReadingVerdict::Right, 1.0));
        assert_eq!(check(-120.0, U::KiloPascal, suction, 500.0), (ReadingVerdict::WrongUnit(U::Mbar), 0.0));
        assert_eq!(check(120.0, U::Mbar, suction, 500.0), (ReadingVerdict::WrongSign, 0.0));
        assert_eq!(check(893.0, U::Mbar, suction, 500.0), (ReadingVerdict::GaugeForAbsolute, 0.0));
        // and the other way round: 101.3 kPa taken off a reading that was gauge already
        assert_eq!(check(1.987, U::Bar, 300e3, 500.0), (ReadingVerdict::GaugeForAbsolute, 0.0));
        let judge = |written| score_reading(written, suction, 500.0, STANDARD_ATMOSPHERE_PA).verdict;
        assert_eq!(judge(Some((-120.0, None))), ReadingVerdict::NoUnit);
        assert_eq!(judge(None), ReadingVerdict::Missing);
        assert_eq!(judge(Some((f64::NAN, Some(U::Bar)))), ReadingVerdict::Missing);
    }

    #[test]
    fn sign_and_unit_cannot_be_told_near_zero() {
        assert_eq!(check(3.0, U::Mbar, -200.0, 500.0), (ReadingVerdict::Right, 1.0));
        let (verdict, part) = check(8.0, U::Mbar, -200.0, 500.0);
        assert_eq!(verdict, ReadingVerdict::Near);
        close(part, 0.5, 1e-9);
        assert_eq!(check(1.0, U::KiloPascal, 300.0, 500.0).0, ReadingVerdict::Near);
    }

    #[test]
    fn high_up_the_mix_up_is_smaller() {
        let score = score_reading(Some((725.6, Some(U::Mbar))), -12_000.0, 500.0, 84_560.0);
        assert_eq!(score.verdict, ReadingVerdict::GaugeForAbsolute);
    }

    #[test]
    fn numbers_of_other_instruments_are_judged_alike() {
        use ReadingVerdict as V;
        let of = |number, unit| score_number((number, Some(unit)), Quantity::Voltage, 12.6, 0.252);
        assert_eq!(of(12.6, TestUnit::Volt), (V::Right, 1.0));
        assert_eq!(of(12_600.0, TestUnit::Millivolt), (V::Right, 1.0));
        assert_eq!(of(12.6, TestUnit::Millivolt), (V::OtherUnit, 0.0));
        assert_eq!(of(12.6, TestUnit::Ampere), (V::OtherQuantity, 0.0));
        assert_eq!(of(-12.6, TestUnit::Volt), (V::WrongSign, 0.0));
        assert_eq!(of(20.0, TestUnit::Volt), (V::Off, 0.0));
        let (verdict, half) = of(13.104, TestUnit::Volt);
        assert_eq!(verdict, V::Near);
        close(half, 0.5, 1e-9);
        assert_eq!(score_number((12.6, None), Quantity::Voltage, 12.6, 0.3).0, V::NoUnit);
        // 0.02 V on a good earth: neither sign nor unit can be told
        assert_eq!(score_number((-0.01, Some(TestUnit::Volt)), Quantity::Voltage, 0.02, 0.05).0, V::Right);
        assert_eq!([allowed_number(Quantity::Voltage, 0.3), allowed_number(Quantity::Volume, 900.0)], [0.05, 18.0]);
    }

    #[test]
    fn a_verdict_may_be_careful_and_not_contrary() {
        use Verdict::{Invalid, NotProven, Outside, Within};
        // card −150 to −40 mbar, allowed ± 10
        let of = |verdict, shown| contradicts_card(verdict, shown, 10.0, (-150.0, -40.0));
        assert_eq!(
            [-161.0, -160.0, -100.0, -30.0, -29.0].map(|x| of(Within, x)),
            [true, false, false, false, true]
        );
        assert_eq!(
            [-200.0, -140.0, -139.0, -51.0, -50.0].map(|x| of(Outside, x)),
            [false, false, true, true, false]
        );
        assert!([-500.0, -100.0, 20.0].iter().all(|&x| !of(NotProven, x) && !of(Invalid, x)));
        // three right numbers, one of them judged against its card: (1 + 1 + ½)/3
        close(measurement(&[1.0, 1.0, CONTRADICTED]), 0.8333, 1e-4);
    }

    #[test]
    fn example_3_mean_of_four_readings() {
        assert_eq!(measurement(&[0.0, 0.5, 1.0, 1.0]), 0.625);
        assert_eq!(measurement(&[]), 0.0);
    }

    proptest! {
        #[test]
        fn a_share_whatever_is_written(
            number in -1e4..1e4_f64,
            unit in 0..5_usize,
            true_pa in -9e4..6e5_f64,
            a in 0.0..5e3_f64,
        ) {
            let unit = U::ALL[unit];
            let (verdict, share) = check(number, unit, true_pa, a);
            prop_assert!((0.0..=1.0).contains(&share));
            prop_assert_eq!(share == 1.0, verdict == ReadingVerdict::Right);
            prop_assert!((share > 0.0) == matches!(verdict, ReadingVerdict::Right | ReadingVerdict::Near));
        }

        #[test]
        fn the_unit_chosen_does_not_matter(error in -4.0..4.0_f64, true_pa in 2e4..6e5_f64, unit in 0..5_usize) {
            let (a, unit) = (500.0, U::ALL[unit]);
            let pa = true_pa + error * a;
            let (_, share) = check(pa / unit.pascal(), unit, true_pa, a);
            prop_assert!((share - ((3.0 - error.abs()) / 2.0).clamp(0.0, 1.0)).abs() < 1e-6);
        }
    }
}
