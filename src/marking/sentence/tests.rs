//! Sentences word by word.

use super::super::readings::score_reading;
use super::*;
use crate::bay::action::Verdict;
use crate::units::STANDARD_ATMOSPHERE_PA;

#[track_caller]
fn check(have: &Sentence, template: &str, text: &str) {
    assert_eq!((have.template, have.text.as_str()), (template, text));
}

#[test]
fn times_and_numbers() {
    assert_eq!(clock(0), "00:00");
    assert_eq!(clock(760 * SECOND + 999_999), "12:40");
    assert_eq!(clock(3599 * SECOND), "59:59");
    assert_eq!(clock(3600 * SECOND), "01:00:00");
    assert_eq!(clock((25 * 3600 + 61) * SECOND), "25:01:01");
    assert_eq!([number(-0.04, 1), number(-0.06, 1), number(12.5, 2)], ["0.0", "−0.1", "12.50"]);
    assert_eq!(pressure(-12_000.0, PressureUnit::Mbar), "−120 mbar");
    assert_eq!(pressure(250.0, PressureUnit::Mbar), "2.5 mbar");
    assert_eq!(pressure(350e3, PressureUnit::Bar), "3.50 bar");
    assert_eq!([0.005, 0.4751, 0.9949].map(in_100), ["1 in 100", "48 in 100", "99 in 100"]);
    assert_eq!([in_100(0.0), in_100(0.004), in_100(0.996), in_100(1.0)].map(|s| s.len()), [8, 18, 19, 19]);
}

#[test]
fn belief_that_rises_falls_and_stays() {
    let step = |a, b| justified_step(760 * SECOND, "idle reading", "−120 mbar", "a blocked filter", a, b);
    check(
        &step(0.25, 0.75),
        "justified.for",
        "At 12:40 the idle reading (−120 mbar) made a blocked filter 3.0 times as likely: from 25 in 100 to 75 in 100.",
    );
    check(
        &step(0.02, 0.9),
        "justified.for",
        "At 12:40 the idle reading (−120 mbar) made a blocked filter 45 times as likely: from 2 in 100 to 90 in 100.",
    );
    check(
        &step(0.94, 0.998),
        "justified.doubt",
        "At 12:40 the idle reading (−120 mbar) made the doubt about a blocked filter 30 times smaller: from 94 in 100 \
         to more than 99 in 100.",
    );
    check(
        &step(0.996, 0.9985),
        "justified.doubt",
        "At 12:40 the idle reading (−120 mbar) made the doubt about a blocked filter 2.7 times smaller: it stays at \
         more than 99 in 100.",
    );
    check(
        &step(0.004, 0.001),
        "justified.against",
        "At 12:40 the idle reading (−120 mbar) spoke against a blocked filter: it stays at less than 1 in 100.",
    );
    check(
        &step(0.75, 0.25),
        "justified.against",
        "At 12:40 the idle reading (−120 mbar) spoke against a blocked filter: from 75 in 100 to 25 in 100.",
    );
    check(
        &step(0.481, 0.483),
        "justified.unmoved",
        "At 12:40 the idle reading (−120 mbar) moved a blocked filter up, but by less than 1 in 100: it stays at 48 in 100.",
    );
    check(&justified_none("a weak pump"), "justified.none", "No reading you took bears on a weak pump.");
}

#[track_caller]
fn check_reading(written: Option<(f64, Option<PressureUnit>)>, template: &str, text: &str) {
    let score = score_reading(written, -12_000.0, 500.0, STANDARD_ATMOSPHERE_PA);
    check(&reading(760 * SECOND, "idle test", written, -12_000.0, &score), template, text);
}

#[test]
fn each_slip_of_a_reading_has_its_own_words() {
    let unit = |u| Some(u);
    check_reading(
        Some((-118.0, unit(PressureUnit::Mbar))),
        "reading.right",
        "At 12:40 you wrote −118 mbar for the idle test; the gauge showed −120 mbar (allowed ± 5.0 mbar).",
    );
    check_reading(
        Some((-11.2, unit(PressureUnit::KiloPascal))),
        "reading.near",
        "At 12:40 you wrote −11.2 kPa for the idle test; the gauge showed −12.0 kPa (allowed ± 0.5 kPa): \
         close, but outside.",
    );
    check_reading(
        Some((-90.0, unit(PressureUnit::Mbar))),
        "reading.off",
        "At 12:40 you wrote −90 mbar for the idle test; the gauge showed −120 mbar (allowed ± 5.0 mbar).",
    );
    check_reading(
        Some((-120.0, None)),
        "reading.no-unit",
        "At 12:40 you wrote −120 for the idle test without a unit; the gauge showed −120 mbar.",
    );
    check_reading(
        Some((-120.0, unit(PressureUnit::KiloPascal))),
        "reading.wrong-unit",
        "At 12:40 you wrote −120 kPa for the idle test; the gauge showed −120 mbar: the right number in the wrong unit.",
    );
    check_reading(
        Some((120.0, unit(PressureUnit::Mbar))),
        "reading.sign",
        "At 12:40 you wrote 120 mbar for the idle test; the gauge showed −120 mbar: suction, with a minus.",
    );
    check_reading(
        Some((893.0, unit(PressureUnit::Mbar))),
        "reading.gauge-absolute",
        "At 12:40 you wrote 893 mbar for the idle test; the gauge showed −120 mbar against the air: \
         gauge and absolute pressure were mixed up.",
    );
    check_reading(
        None,
        "reading.missing",
        "At 12:40 the gauge showed −120 mbar for the idle test; it was not written down.",
    );
}

#[test]
fn the_other_components() {
    check(
        &procedure_breach(65 * SECOND, Severity::Major, "line opened before the pressure was away", false),
        "procedure.breach",
        "Major, at 01:05: line opened before the pressure was away.",
    );
    assert_ne!(procedure_start(0).template, procedure_start(1).template);
    check(&calibration(0.99, 0.8888, 5), "calibration", "You were 99 % sure; your evidence supports 89 %.");
    check(&calibration(0.99, 1.0, 5), "calibration", "You were 99 % sure; your evidence supports more than 99 %.");
    check(&calibration(0.90, 0.0, 5), "calibration", "You were 90 % sure; your evidence supports less than 1 %.");
    check(&calibration(0.99, 0.4, 0), "calibration.none", "You were 99 % sure, but no reading bears on it.");
    let of = |found, earned| {
        let d = if found == Match::SameGroup { "a blocked filter" } else { "a weak pump" };
        diagnosis(found, d, "a blocked filter", 0.55, earned, 20.0)
    };
    check(
        &diagnosis(Match::SameGroup, "a weak pump", "a blocked filter", 0.55, 20.0, 20.0),
        "diagnosis.right",
        "You named a weak pump; it was a blocked filter. In this job the one counts as the other.",
    );
    check(&of(Match::SameGroup, 20.0), "diagnosis.right", "Right: a blocked filter.");
    check(
        &of(Match::SameGroup, 7.5),
        "diagnosis.unsupported",
        "Right, but your evidence makes it likely to only 55 in 100, so only 7.50 of 20.00 points.",
    );
    check(
        &of(Match::SameGroup, 0.0),
        "diagnosis.unsupported",
        "Right, but no reading of yours speaks for it: it stands at 55 in 100, so none of the 20.00 points.",
    );
    check(
        &of(Match::Shared { both: 1, either: 2 }, 10.0),
        "diagnosis.shared",
        "You named a weak pump, it was a blocked filter: 1 of 2 causes agree; 10.00 of 20.00 points.",
    );
    check(&of(Match::Other, 0.0), "diagnosis.wrong", "You named a weak pump; it was a blocked filter.");
    check(&cap(83.85, 39.0), "total.cap", "A critical breach limits the total to 39.00; 83.85 had been earned.");
}

#[test]
fn what_is_ruled_out_is_told_with_its_odds() {
    let words = |verdict, bans, lines: &'static [usize], counts, idle| RuledOutWords {
        rival: "“Pump worn”",
        d: "“Filter plugged”",
        lines,
        verdict,
        bans,
        counts,
        idle,
    };
    check(
        &ruled_out(&words(ClaimVerdict::Valid, Some(1.0), &[7], true, (&[], &[]))),
        "rival.valid",
        "You said that line 7 rules out “Pump worn”: what it shows is 10 times as likely with “Filter plugged” as with \
         “Pump worn”.",
    );
    check(
        &ruled_out(&words(ClaimVerdict::Valid, Some(0.6), &[4, 6, 9], true, (&[9], &[]))),
        "rival.valid",
        "You said that lines 4, 6 and 9 rule out “Pump worn”: what they show together is 4.0 times as likely with \
         “Filter plugged” as with “Pump worn”. By itself line 9 says nothing about it.",
    );
    check(
        &ruled_out(&words(ClaimVerdict::Neutral, Some(0.1), &[7], true, (&[], &[]))),
        "rival.neutral",
        "You said that line 7 rules out “Pump worn”, but what it shows is much the same with “Pump worn” \
         as with “Filter plugged”.",
    );
    check(
        &ruled_out(&words(ClaimVerdict::False, Some(-0.5), &[7], true, (&[], &[]))),
        "rival.false",
        "You said that line 7 rules out “Pump worn”, but what it shows is 3.2 times as likely with “Pump worn” \
         as with “Filter plugged”.",
    );
    assert_eq!(ruled_out(&words(ClaimVerdict::False, None, &[7], true, (&[], &[]))).template, "rival.absent");
    let needless = ruled_out(&words(ClaimVerdict::Valid, Some(2.0), &[7], false, (&[], &[])));
    assert!(needless.template == "rival.needless" && needless.text.ends_with("earns nothing."));
}

#[test]
fn a_contrary_verdict_and_a_late_line_are_told() {
    let right = Sentence { template: "reading.right", text: "At 01:05 you wrote −120 mbar.".into() };
    check(
        &contradicted(&right, Verdict::Outside, (-150.0, -40.0)),
        "reading.verdict",
        "At 01:05 you wrote −120 mbar. Your verdict, “outside”, is the opposite of what the card says: −150 to −40 mbar. \
         Half of it is left.",
    );
    check(
        &time_up(3 * 3600 * SECOND, 72.5, &[9, 10]),
        "justified.time-up",
        "At 03:00:00 the time of this assessment was up (72 marked minutes); lines 9 and 10 were written later and \
         count for nothing.",
    );
}

#[test]
fn a_contrast_says_of_which_two_it_speaks() {
    let own = ("\u{201c}Filter element plugged\u{201d}", (-190.6, -150.0));
    let rival = ("\u{201c}Transfer pump worn\u{201d}", (-300.0, -219.8));
    assert_eq!(
        contrast("raised reading at the pump inlet", own, rival),
        "Of what you did not read, the raised reading at the pump inlet would best have told \u{201c}Filter element \
         plugged\u{201d} from its strongest rival, \u{201c}Transfer pump worn\u{201d}: 8 in 10 vehicles with the first show \
         −191 to −150 mbar, with the second −300 to −220 mbar."
    );
}

#[test]
fn where_nothing_would_have_told_them_apart_that_is_said() {
    let d = "\u{201c}Pump relay sticks\u{201d}";
    assert_eq!(
        no_contrast(d, true),
        "There is no contrasting case here: no pressure reading that you left out would have told \
         \u{201c}Pump relay sticks\u{201d} clearly from its strongest rival."
    );
    assert_eq!(
        no_contrast(d, false),
        "There is no contrasting case: it needs a reading that counts, and before \
         \u{201c}Pump relay sticks\u{201d} was found there was none."
    );
}

#[test]
fn how_far_the_work_came_names_what_it_speaks_of() {
    let placed = ("\u{201c}Air enters before the tee\u{201d}", "pump inlet", 0.7);
    check(
        &progress("choice.progress", 0.4, Some(Some(placed))),
        "choice.progress",
        "Your tests found out 40 % of what all tests together could have, where it sits included (at the end the evidence \
         put \u{201c}Air enters before the tee\u{201d} at the pump inlet, with 70 in 100); minutes saved count only to \
         that share.",
    );
}

#[test]
fn what_hardly_moves_is_told_with_its_way_for_it_moves_points() {
    let step = |a, b| justified_step(760 * SECOND, "idle reading", "−120 mbar", "a blocked filter", a, b);
    check(
        &step(0.983, 0.9805),
        "justified.unmoved",
        "At 12:40 the idle reading (−120 mbar) moved a blocked filter down, but by less than 1 in 100: it stays at 98 in 100.",
    );
    check(
        &step(0.48, 0.48),
        "justified.unmoved",
        "At 12:40 the idle reading (−120 mbar) didn't move a blocked filter: it stays at 48 in 100.",
    );
}

#[test]
fn nobody_is_told_how_many_times_beyond_a_thousand() {
    assert_eq!([0.3, 1.0, 2.9, 3.01, 6.0].map(odds), ["2.0", "10", "794", "more than 1000", "more than 1000"]);
}

#[test]
fn a_better_choice_says_what_was_still_open() {
    let choose = |open, made| {
        choice(&ChoiceWords {
            at: 65 * SECOND,
            minutes: 13.5,
            test: "the idle reading",
            best: "the crank reading",
            times: Some(4.9),
            made,
            open,
            material: true,
            forgiven: false,
        })
    };
    let told = |open| choose(open, None);
    let begins = "At 01:05 you had spent 13.5 min on the idle reading; the crank reading would have told you about 4.9 times \
                  as much a minute";
    let alike = format!("{begins}; what was open then was above all: a leak or a plug.");
    check(&told(Open::Between("a leak", "a plug")), "choice.better", &alike);
    let place = format!("{begins}: what was still open was above all where a leak sits.");
    check(&told(Open::Place("a leak")), "choice.place", &place);
    let little = format!(
        "{begins}. The evidence bore a leak with 97 in 100 by then; what little was open lay between it and a plug."
    );
    check(&told(Open::Little("a leak", 0.97, "a plug")), "choice.little", &little);
    let slow = "At 01:05 you had spent 13.5 min on the idle reading. Of that the crank reading takes about 1.2 min and told \
                the most a minute; the rest of the time told little for its length.";
    check(&choose(Open::Place("a leak"), Some(1.2)), "choice.slow", slow);
}

#[test]
fn german_sentences_bend_with_their_number() {
    use crate::language::{Language, within};
    let words = |lines: &'static [usize]| RuledOutWords {
        rival: "„Pumpe“",
        d: "„Filter“",
        lines,
        verdict: ClaimVerdict::Valid,
        bans: Some(1.0),
        counts: true,
        idle: (&[], &[]),
    };
    within(Language::German, || {
        assert_eq!(
            ruled_out(&words(&[7])).text,
            "Angegeben wurde: Zeile 7 schließt „Pumpe“ aus. Was sie zeigt, ist mit „Filter“ 10-mal so wahrscheinlich wie mit \
             „Pumpe“."
        );
        assert_eq!(
            ruled_out(&words(&[4, 6])).text,
            "Angegeben wurde: Zeilen 4 und 6 schließen „Pumpe“ aus. Was sie zusammen zeigen, ist mit „Filter“ 10-mal so \
             wahrscheinlich wie mit „Pumpe“."
        );
        let breach = procedure_breach(65 * SECOND, Severity::Major, "Regel", true);
        assert!(breach.text.starts_with("Schwer, bei 01:05: Regel."), "{}", breach.text);
    });
}
