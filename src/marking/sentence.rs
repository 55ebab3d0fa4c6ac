//! The sentences of the ledger: plain words, a time and a number.
//!
//! Each has a stable id, under which it may be translated or counted. Chances are told as "in 100",
//! never in bits. Pressures are shown in the unit that the learner wrote, otherwise in millibar.

use super::claims::ClaimVerdict;
use super::components::{Match, Severity};
use super::readings::{ReadingScore, ReadingVerdict};
use crate::bay::action::{Micros, SECOND};
use crate::bay::action::{Quantity, TestUnit, Verdict};
use crate::units::PressureUnit;

/// A sentence with the id of its template.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sentence {
    /// Stable id, such as `justified.for`.
    pub template: &'static str,
    /// The sentence.
    pub text: String,
}

fn sentence(template: &'static str, text: String) -> Sentence {
    Sentence { template, text }
}

/// A time since the card was handed over: `mm:ss`, from one hour on `hh:mm:ss`. Whole seconds that
/// have passed.
pub fn clock(at: Micros) -> String {
    let s = at / SECOND;
    let (h, m, s) = (s / 3600, s / 60 % 60, s % 60);
    if h == 0 { format!("{m:02}:{s:02}") } else { format!("{h:02}:{m:02}:{s:02}") }
}

/// A number with so many decimals and a true minus sign; no "−0".
pub fn number(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let nothing = text.bytes().all(|b| b == b'0' || b == b'.');
    if value < 0.0 && !nothing { format!("−{text}") } else { text }
}

/// A pressure as a gauge would be read: millibar whole (tenths below 10), bar in hundredths, the
/// others in tenths.
pub fn pressure(pa: f64, unit: PressureUnit) -> String {
    let value = pa / unit.pascal();
    let decimals = match unit {
        PressureUnit::Mbar if value.abs() >= 9.95 => 0,
        PressureUnit::Bar => 2,
        _ => 1,
    };
    format!("{} {}", number(value, decimals), unit.symbol())
}

/// A chance as "48 in 100", with words at both ends.
pub fn in_100(p: f64) -> String {
    if p > 0.0 && p < 0.005 {
        "less than 1 in 100".to_owned()
    } else if p >= 0.995 {
        "more than 99 in 100".to_owned()
    } else {
        format!("{:.0} in 100", (100.0 * p).round())
    }
}

fn points(points: f64) -> String {
    number(points, 2)
}

/// J: what one result did to belief in the finding `d`. `test` with its value, such as "idle
/// reading at the filter outlet", "−120 mbar".
pub fn justified_step(at: Micros, test: &str, value: &str, d: &str, before: f64, after: f64) -> Sentence {
    let (t, a, b) = (clock(at), in_100(before), in_100(after));
    let shrank = |before: f64, after: f64| before.max(1e-3) / after.max(1e-3);
    let moved = [(before, after), (1.0 - before, 1.0 - after)].map(|(x, y)| shrank(x, y).max(shrank(y, x)));
    if a == b && moved.iter().all(|&times| times < 1.5) {
        return sentence(
            "justified.unmoved",
            format!("At {t} the {test} ({value}) hardly moved {d}: it stays at {a}."),
        );
    }
    let way = if a == b { format!("it stays at {a}") } else { format!("from {a} to {b}") };
    let times = |ratio: f64| if ratio < 9.95 { number(ratio, 1) } else { number(ratio, 0) };
    if after > before && before >= 0.5 {
        // a belief near its end hardly grows any more; what shrinks is the doubt
        let ratio = times(shrank(1.0 - before, 1.0 - after));
        let text = format!("At {t} the {test} ({value}) made the doubt about {d} {ratio} times smaller: {way}.");
        return sentence("justified.doubt", text);
    }
    if after > before {
        let ratio = after / before;
        let times = times(ratio);
        let text = format!("At {t} the {test} ({value}) made {d} {times} times as likely: {way}.");
        return sentence("justified.for", text);
    }
    sentence("justified.against", format!("At {t} the {test} ({value}) spoke against {d}: {way}."))
}

/// J: nothing that was taken bears on the finding.
pub fn justified_none(d: &str) -> Sentence {
    sentence("justified.none", format!("No reading you took bears on {d}."))
}

/// J: the evidence went beyond what full points need.
pub fn justified_ceiling(d: &str, p_ref: f64) -> Sentence {
    let text = format!(
        "Full points need {} for {d}. Your readings went beyond it, which is no fault; it earns nothing more and is \
         taken off the steps above.",
        in_100(p_ref)
    );
    sentence("justified.ceiling", text)
}

/// J: the evidence left the finding no likelier than before the first test.
pub fn justified_floor(d: &str) -> Sentence {
    sentence(
        "justified.floor",
        format!("Taken together your readings made {d} no likelier; fewer than no points are not given."),
    )
}

/// J: an assessment's time was up, and what was read later.
pub fn time_up(at: Micros, minutes: f64, lines: &[usize]) -> Sentence {
    let text = format!(
        "At {} the time of this assessment was up ({} marked minutes); {} {} later and count{} for nothing.",
        clock(at),
        number(minutes, 0),
        lines_in_words(lines),
        if lines.len() == 1 { "was written" } else { "were written" },
        if lines.len() == 1 { "s" } else { "" }
    );
    sentence("justified.time-up", text)
}

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
    let plain = format!("At {t} you wrote {wrote} for the {test}; the gauge showed {showed} (allowed ± {allowed})");
    match score.verdict {
        ReadingVerdict::Right => sentence("reading.right", format!("{plain}.")),
        ReadingVerdict::Near => sentence("reading.near", format!("{plain}: close, but outside.")),
        ReadingVerdict::Off => sentence("reading.off", format!("{plain}.")),
        ReadingVerdict::NoUnit => {
            let text =
                format!("At {t} you wrote {wrote} for the {test} without a unit; the gauge showed {showed}.");
            sentence("reading.no-unit", text)
        }
        ReadingVerdict::WrongUnit(fits) => {
            let text = format!(
                "At {t} you wrote {wrote} for the {test}; the gauge showed {}: the right number in the wrong unit.",
                pressure(true_pa, fits)
            );
            sentence("reading.wrong-unit", text)
        }
        ReadingVerdict::WrongSign => {
            let side = if true_pa < 0.0 { "suction, with a minus" } else { "pressure, without a minus" };
            let text = format!("At {t} you wrote {wrote} for the {test}; the gauge showed {showed}: {side}.");
            sentence("reading.sign", text)
        }
        ReadingVerdict::GaugeForAbsolute => {
            let text = format!(
                "At {t} you wrote {wrote} for the {test}; the gauge showed {showed} against the air: \
                 gauge and absolute pressure were mixed up."
            );
            sentence("reading.gauge-absolute", text)
        }
        ReadingVerdict::OtherUnit | ReadingVerdict::OtherQuantity | ReadingVerdict::Missing => {
            let text = format!("At {t} the gauge showed {showed} for the {test}; it was not written down.");
            sentence("reading.missing", text)
        }
    }
}

/// M: the same where the verdict contradicts the card that it quotes: its range, mbar.
pub fn contradicted(reading: &Sentence, verdict: Verdict, (low, high): (f64, f64)) -> Sentence {
    let text = format!(
        "{} Your verdict, “{}”, is the opposite of what the card says: {} to {} mbar. Half of it is left.",
        reading.text,
        verdict.words(),
        number(low, 0),
        number(high, 0)
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
    let unit = written.1.map_or("without a unit", TestUnit::symbol);
    let plain = format!(
        "At {} you wrote {} {unit} for the {test}; it showed {} {own}",
        clock(at),
        digits(written.0),
        digits(shown)
    );
    let within = format!("(allowed ± {} {own})", digits(allowed));
    match verdict {
        ReadingVerdict::Right => sentence("reading.right", format!("{plain} {within}.")),
        ReadingVerdict::Near => sentence("reading.near", format!("{plain} {within}: close, but outside.")),
        ReadingVerdict::NoUnit => sentence("reading.no-unit", format!("{plain}.")),
        ReadingVerdict::OtherQuantity => {
            sentence("reading.other-quantity", format!("{plain}: that unit doesn't measure {}.", quantity.word()))
        }
        ReadingVerdict::OtherUnit | ReadingVerdict::WrongUnit(_) => {
            sentence("reading.wrong-unit", format!("{plain}: the right number in the wrong unit."))
        }
        ReadingVerdict::WrongSign => {
            sentence("reading.sign", format!("{plain}: the leads or the sign are turned."))
        }
        _ => sentence("reading.off", format!("{plain} {within}.")),
    }
}

/// M: nothing was measured.
pub fn reading_none() -> Sentence {
    sentence("reading.none", "No reading that tells anything was taken.".to_owned())
}

/// P: the points before any breach is taken off.
pub fn procedure_start(broken: usize) -> Sentence {
    if broken == 0 {
        return sentence("procedure.clean", "No rule of safety or procedure was broken.".to_owned());
    }
    sentence("procedure.start", "Safe and proper work counts in full until a rule is broken.".to_owned())
}

/// P: one broken rule, such as "line opened before the pressure was away".
///
/// `spent`: breaches before it have taken all the points that there were.
pub fn procedure_breach(at: Micros, severity: Severity, rule: &str, spent: bool) -> Sentence {
    let mut word = severity.word().to_owned();
    word[..1].make_ascii_uppercase();
    let rest = if spent { " No points were left for it to take." } else { "" };
    sentence("procedure.breach", format!("{word}, at {}: {rule}.{rest}", clock(at)))
}

/// C: stated confidence against what the evidence bears.
pub fn calibration(confidence: f64, p_d: f64, material_readings: usize) -> Sentence {
    let sure = format!("You were {:.0} % sure", 100.0 * confidence);
    if material_readings == 0 {
        return sentence("calibration.none", format!("{sure}, but no reading bears on it."));
    }
    let supports = if p_d >= 0.995 {
        "more than 99".to_owned()
    } else if p_d < 0.005 {
        "less than 1".to_owned()
    } else {
        format!("{:.0}", 100.0 * p_d)
    };
    sentence("calibration", format!("{sure}; your evidence supports {supports} %."))
}

/// D: the finding `d` against the truth, with the points earned out of those to be had.
pub fn diagnosis(found: Match, d: &str, truth: &str, p_d: f64, earned: f64, full: f64) -> Sentence {
    let got = format!("{} of {} points", points(earned), points(full));
    match found {
        Match::SameGroup if points(earned) == points(full) => {
            sentence("diagnosis.right", format!("Right: {truth}."))
        }
        Match::SameGroup if earned <= 0.0 => {
            let text = format!(
                "Right, but no reading of yours speaks for it: it stands at {}, so none of the {} points.",
                in_100(p_d),
                points(full)
            );
            sentence("diagnosis.unsupported", text)
        }
        Match::SameGroup => {
            let text = format!("Right, but your evidence reaches only {}, so only {got}.", in_100(p_d));
            sentence("diagnosis.unsupported", text)
        }
        Match::RightComponent => {
            let text =
                format!("The right component, but not the way it failed: you named {d}, it was {truth}; {got}.");
            sentence("diagnosis.component", text)
        }
        Match::Shared { both, either } if both > 0 => {
            let text = format!("You named {d}, it was {truth}: {both} of {either} causes agree; {got}.");
            sentence("diagnosis.shared", text)
        }
        Match::Shared { .. } | Match::Other => {
            sentence("diagnosis.wrong", format!("You named {d}; it was {truth}."))
        }
    }
}

/// D: no finding was handed back.
pub fn diagnosis_absent(truth: &str) -> Sentence {
    sentence("diagnosis.absent", format!("You handed back no finding; it was {truth}."))
}

/// A weight of evidence as odds to one.
fn odds(bans: f64) -> String {
    let odds = crate::ops::exp(bans.abs() * core::f64::consts::LN_10);
    if odds < 9.95 { number(odds, 1) } else { number(odds.min(1000.0), 0) }
}

/// "a", "a and b", "a, b and c".
fn listed(words: &[String]) -> String {
    let Some((last, first)) = words.split_last() else { return String::new() };
    if first.is_empty() { last.clone() } else { format!("{} and {last}", first.join(", ")) }
}

/// X: a line that was named for the finding. `bans` is its weight in favour: how much likelier the finding makes it
/// than its rivals do; `out` are the rivals that it rules out, those that the finding says so of and the others.
pub fn cited(
    line: usize,
    test: &str,
    d: &str,
    bans: Option<f64>,
    out: (&[String], &[String]),
    valid: bool,
) -> Sentence {
    let Some(bans) = bans else {
        let text = format!("You named line {line} for {d}, but no such line counts as evidence for it.");
        return sentence("cited.absent", text);
    };
    let odds = odds(bans);
    let said = if out.0.is_empty() { String::new() } else { format!(" It rules out {}.", listed(out.0)) };
    let against = match out.1 {
        [] => said,
        unsaid => format!("{said} It rules out {} without your saying so, which counts by half.", listed(unsaid)),
    };
    if bans <= -0.3 {
        let text = format!("You named line {line} ({test}) for {d}, but it speaks {odds} to 1 against it.");
        return sentence("cited.false", text);
    }
    if !valid {
        let text = format!("You named line {line} ({test}) for {d}, but its rivals would give much the same.");
        return sentence("cited.neutral", text);
    }
    if bans < 0.3 {
        return sentence("cited.rules-out", format!("You named line {line} ({test}) for {d}.{against}"));
    }
    sentence(
        "cited.valid",
        format!("You named line {line} ({test}) for {d}: it speaks {odds} to 1 for it.{against}"),
    )
}

/// X: a line that doesn't say whether it is the finding, but where.
pub fn cited_place(line: usize, test: &str, d: &str) -> Sentence {
    let text =
        format!("You named line {line} ({test}) for {d}: it tells where rather than whether, and costs nothing.");
    sentence("cited.place", text)
}

/// X: a line that came when it could change nothing any more.
pub fn cited_late(line: usize, test: &str, d: &str) -> Sentence {
    let text = format!(
        "You named line {line} ({test}) for {d}: after what you knew it could change nothing, so it earns and costs nothing."
    );
    sentence("cited.late", text)
}

/// What a finding says about a rival, judged.
pub struct RuledOutWords<'a> {
    /// The rival.
    pub rival: &'a str,
    /// The finding.
    pub d: &'a str,
    /// Lines named against it.
    pub lines: &'a [usize],
    /// How they bear it together.
    pub verdict: ClaimVerdict,
    /// Their weight together, bans; `None` where none of them is evidence.
    pub bans: Option<f64>,
    /// Whether it is a rival to be ruled out at all: at least 1 in 10 on the card.
    pub counts: bool,
    /// Lines that say nothing by themselves, and lines that speak for the rival.
    pub idle: (&'a [usize], &'a [usize]),
}

/// "line 4", "lines 4 and 6".
fn lines_in_words(lines: &[usize]) -> String {
    let numbers: Vec<String> = lines.iter().map(usize::to_string).collect();
    format!("line{} {}", if lines.len() == 1 { "" } else { "s" }, listed(&numbers))
}

/// X: a rival that the finding says is ruled out.
pub fn ruled_out(words: &RuledOutWords<'_>) -> Sentence {
    let RuledOutWords { rival, d, lines, .. } = *words;
    let one = lines.len() == 1;
    let named = lines_in_words(lines);
    let mut text = format!("You said that {named} rule{} out {rival}", if one { "s" } else { "" });
    let (it, together) = if one { ("it", "") } else { ("they", " together") };
    let template = match (words.verdict, words.bans) {
        (ClaimVerdict::Valid, Some(bans)) => {
            text +=
                &format!(": {it} speak{}{together} {} to 1 against it.", if one { "s" } else { "" }, odds(bans));
            if words.counts {
                "rival.valid"
            } else {
                text += " It was never likely enough to have to be ruled out, so that earns nothing.";
                "rival.needless"
            }
        }
        (ClaimVerdict::False, Some(bans)) => {
            text += &format!(
                ", but {it} speak{}{together} {} to 1 for it against {d}.",
                if one { "s" } else { "" },
                odds(bans)
            );
            "rival.false"
        }
        (_, None) => {
            text += ", but no such line counts as evidence.";
            "rival.absent"
        }
        (_, Some(_)) => {
            text += &format!(", but {it} would have shown much the same with it as with {d}.");
            "rival.neutral"
        }
    };
    let (silent, contrary) = words.idle;
    if !silent.is_empty() {
        let says = if silent.len() == 1 { "says" } else { "say" };
        text += &format!(" By itself {} {says} nothing about it.", lines_in_words(silent));
    }
    if !contrary.is_empty() {
        let speaks = if contrary.len() == 1 { "speaks" } else { "speak" };
        text += &format!(" By itself {} {speaks} for it.", lines_in_words(contrary));
    }
    sentence(template, text)
}

/// X: no line was named.
pub fn cited_none(d: &str) -> Sentence {
    sentence("cited.none", format!("You named no line of the sheet for {d}."))
}

/// X: more than full, or less than nothing.
pub fn cited_limit(over: bool) -> Sentence {
    if over {
        let text =
            "Together the lines that you named bear more than full points need; the rest earns nothing more.";
        sentence("cited.ceiling", text.to_owned())
    } else {
        sentence("cited.floor", "Fewer than no points are not given for naming lines.".to_owned())
    }
}

/// S and R: how far the work came.
pub fn progress(template: &'static str, progress: f64) -> Sentence {
    let text = format!(
        "Your tests found out {:.0} % of what all tests together could; sparing time counts only as far as that.",
        100.0 * progress
    );
    sentence(template, text)
}

/// S: the points before any waste is taken off.
pub fn choice_start(wasted: usize) -> Sentence {
    if wasted == 0 {
        return sentence("choice.clean", "Every test was worth its minutes when you made it.".to_owned());
    }
    sentence("choice.start", "Each test counts in full unless a better one was at hand.".to_owned())
}

/// S: nothing was tested.
pub fn choice_none() -> Sentence {
    sentence("choice.none", "You made no test that could be judged.".to_owned())
}

/// A step whose choice is judged.
pub struct ChoiceWords<'a> {
    /// When it was done.
    pub at: Micros,
    /// Minutes spent.
    pub minutes: f64,
    /// What was read.
    pub test: &'a str,
    /// The better test.
    pub best: &'a str,
    /// How many times as much the better one would have told a minute; `None` when this told nothing.
    pub times: Option<f64>,
    /// The two candidates that still looked alike.
    pub between: (&'a str, &'a str),
    /// Whether the result could matter at all.
    pub material: bool,
    /// The minutes lost are few enough to be forgiven: no points were taken.
    pub forgiven: bool,
}

/// S: minutes that could have told more.
pub fn choice(words: &ChoiceWords<'_>) -> Sentence {
    let (t, test) = (clock(words.at), words.test);
    let spent = format!("{} min", number(words.minutes, 1));
    let end = if words.forgiven { " What that lost is little enough to be forgiven." } else { "" };
    if !words.material {
        let text =
            format!("At {t} you had spent {spent} on {test}: after what you knew it could change nothing.{end}");
        return sentence("choice.immaterial", text);
    }
    let more = match words.times {
        Some(k) if k < 20.0 => format!("about {} times as much a minute", number(k, 1)),
        _ => "far more a minute".to_owned(),
    };
    let text = format!(
        "At {t} you had spent {spent} on {test}; {best} would have told you {more}, because {a} and {b} still looked alike.{end}",
        best = words.best,
        a = words.between.0,
        b = words.between.1,
    );
    sentence("choice.better", text)
}

/// R: the points before anything is taken off.
pub fn economy_start() -> Sentence {
    sentence("economy.start", "Minutes and parts count in full until they are wasted.".to_owned())
}

/// R: nothing was found out.
pub fn economy_none() -> Sentence {
    sentence("economy.none", "Spending little earns nothing where nothing was found out.".to_owned())
}

/// R: a part that was replaced. `early` says that the evidence didn't support it then.
pub fn part(at: Micros, part: &str, price: f64, sound: bool, early: bool) -> Sentence {
    let mut text = format!("The {part} ({} credits) was replaced at {}", number(price, 0), clock(at));
    text += if sound { "; it was sound." } else { "; it carried the fault." };
    if early {
        text += " It was replaced before the evidence supported it.";
    }
    sentence(if sound { "economy.needless" } else { "economy.part" }, text)
}

/// R: minutes against par.
pub fn minutes(net: f64, par: f64) -> Sentence {
    let text = format!("You took {} marked minutes up to the finding; par is {}.", number(net, 0), number(par, 0));
    sentence("economy.minutes", text)
}

/// The finding follows from what was written, not from what the gauge showed.
pub fn follow_through(d: &str, slip: Option<(Micros, &str)>) -> String {
    let slip = slip.map_or_else(String::new, |(at, test)| format!("; the slip was the {test} at {}", clock(at)));
    format!("Your conclusion, {d}, follows from the values that you wrote, not from those the gauge showed{slip}.")
}

/// A pair of ranges that would have told finding and rival apart, mbar.
pub fn contrast(test: &str, (d, own): (&str, (f64, f64)), (rival, other): (&str, (f64, f64))) -> String {
    let range = |(low, high): (f64, f64)| {
        format!("{} to {}", number(low, 0), pressure(high * crate::units::PA_PER_MBAR, PressureUnit::Mbar))
    };
    format!(
        "Of what you did not read, the {test} would best have told {d} from its strongest rival, {rival}: 8 in 10 vehicles \
         with the first show {}, with the second {}.",
        range(own),
        range(other)
    )
}

/// The total was cut after a critical breach.
pub fn cap(earned: f64, cap: f64) -> Sentence {
    let text =
        format!("A critical breach limits the total to {}; {} had been earned.", points(cap), points(earned));
    sentence("total.cap", text)
}

/// A hint was taken while practising.
pub fn hint(at: Micros, level: u8) -> Sentence {
    sentence("total.hint", format!("You took a hint of level {level} at {}.", clock(at)))
}

#[cfg(test)]
mod tests;
