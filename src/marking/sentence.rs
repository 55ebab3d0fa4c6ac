//! The sentences of the ledger: plain words, a time and a number.
//!
//! Each has a stable id, under which it may be translated or counted. Chances are told as "in 100",
//! never in bits. Pressures are shown in the unit that the learner wrote, otherwise in millibar.

use std::cmp::Ordering;

use super::claims::ClaimVerdict;
use super::components::{Match, Severity};
use crate::bay::action::{Micros, SECOND};
use crate::language::{capital, said};
use crate::tell;
use crate::units::PressureUnit;

pub use reading::{
    contradicted, number_reading, other_state, other_word, reading, reading_none, reading_otherwise,
};

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

/// A number with so many decimals and a true minus sign, as the language spoken writes it; no "−0".
pub fn number(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let nothing = text.bytes().all(|b| b == b'0' || b == b'.');
    crate::language::decimal(if value < 0.0 && !nothing { format!("−{text}") } else { text })
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
        said("marking-less-than-1-in-100").to_owned()
    } else if p >= 0.995 {
        said("marking-more-than-99-in-100").to_owned()
    } else {
        tell!("marking-in-100", p = format!("{:.0}", (100.0 * p).round()))
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
    // "1.0 times as likely" says nothing
    let told = |ratio: f64| ratio >= 1.05;
    let moved = [(before, after), (1.0 - before, 1.0 - after)].map(|(x, y)| shrank(x, y).max(shrank(y, x)));
    if a == b && moved.iter().all(|&times| times < 1.5) {
        return sentence(
            "justified.unmoved",
            match after.total_cmp(&before) {
                Ordering::Less => {
                    tell!("marking-justified-unmoved-down", t = t, test = test, value = value, d = d, a = a)
                }
                Ordering::Equal => {
                    tell!("marking-justified-unmoved", t = t, test = test, value = value, d = d, a = a)
                }
                Ordering::Greater => {
                    tell!("marking-justified-unmoved-up", t = t, test = test, value = value, d = d, a = a)
                }
            },
        );
    }
    let way = if a == b { tell!("marking-way-stays", a = a) } else { tell!("marking-way-moves", a = a, b = b) };
    let times = |ratio: f64| if ratio < 9.95 { number(ratio, 1) } else { number(ratio, 0) };
    if after > before && before >= 0.5 && told(shrank(1.0 - before, 1.0 - after)) {
        // a belief near its end hardly grows any more; what shrinks is the doubt
        let ratio = times(shrank(1.0 - before, 1.0 - after));
        let text =
            tell!("marking-justified-doubt", t = t, test = test, value = value, d = d, ratio = ratio, way = way);
        return sentence("justified.doubt", text);
    }
    if after > before && !told(after / before) {
        let text = tell!("marking-justified-little", t = t, test = test, value = value, d = d, way = way);
        return sentence("justified.for", text);
    }
    if after > before {
        let ratio = after / before;
        let times = times(ratio);
        let text =
            tell!("marking-justified-for", t = t, test = test, value = value, d = d, times = times, way = way);
        return sentence("justified.for", text);
    }
    sentence(
        "justified.against",
        tell!("marking-justified-against", t = t, test = test, value = value, d = d, way = way),
    )
}

/// J: nothing that was taken bears on the finding.
pub fn justified_none(d: &str) -> Sentence {
    sentence("justified.none", tell!("marking-justified-none", d = d))
}

/// J: there is no finding that anything could bear on.
pub fn justified_absent() -> Sentence {
    sentence("justified.none", said("marking-justified-absent").to_owned())
}

/// J: the evidence went beyond what full points need.
pub fn justified_ceiling(d: &str, p_ref: f64) -> Sentence {
    let text = tell!("marking-justified-ceiling", needed = in_100(p_ref), d = d);
    sentence("justified.ceiling", text)
}

/// J: the evidence left the finding no likelier than before the first test.
pub fn justified_floor(d: &str) -> Sentence {
    sentence("justified.floor", tell!("marking-justified-floor", d = d))
}

/// J: an assessment's time was up, and what was read later.
pub fn time_up(at: Micros, minutes: f64, lines: &[usize]) -> Sentence {
    let text = tell!(
        "marking-time-up",
        t = clock(at),
        minutes = number(minutes, 0),
        lines = lines_in_words(lines),
        n = lines.len()
    );
    sentence("justified.time-up", text)
}

/// X: a line that says something else than what was to be seen there.
pub fn cited_slip(line: usize, test: &str, d: &str) -> Sentence {
    let text = tell!("marking-cited-slip", line = line, test = test, d = d);
    sentence("cited.slip", text)
}

/// P: the points before any breach is taken off.
pub fn procedure_start(broken: usize) -> Sentence {
    if broken == 0 {
        return sentence("procedure.clean", said("marking-procedure-clean").to_owned());
    }
    sentence("procedure.start", said("marking-procedure-start").to_owned())
}

/// P: the vehicle went back with its cause in it, after work on it or without any.
pub fn left_as_it_came(worked: bool) -> Sentence {
    let text = if worked { said("marking-left-still") } else { said("marking-left-as-it-came") };
    sentence("procedure.left", text.to_owned())
}

/// P: the cause was put right, and the engine never ran afterwards.
pub fn left_unproven() -> Sentence {
    sentence("procedure.unproven", said("marking-left-unproven").to_owned())
}

/// P: one broken rule, such as "line opened before the pressure was away".
///
/// `spent`: breaches before it have taken all the points that there were.
pub fn procedure_breach(at: Micros, severity: Severity, rule: &str, spent: bool) -> Sentence {
    let word = capital(severity.word());
    let rest = if spent { said("marking-procedure-spent") } else { "" };
    sentence(
        "procedure.breach",
        tell!("marking-procedure-breach", word = word, t = clock(at), rule = rule, rest = rest),
    )
}

/// C: stated confidence against what the evidence bears.
pub fn calibration(confidence: f64, p_d: f64, material_readings: usize) -> Sentence {
    let sure = tell!("marking-sure", percent = format!("{:.0}", 100.0 * confidence));
    if material_readings == 0 {
        return sentence("calibration.none", tell!("marking-calibration-none", sure = sure));
    }
    let supports = if p_d >= 0.995 {
        said("marking-more-than-99").to_owned()
    } else if p_d < 0.005 {
        said("marking-less-than-1").to_owned()
    } else {
        format!("{:.0}", 100.0 * p_d)
    };
    sentence("calibration", tell!("marking-calibration", sure = sure, supports = supports))
}

/// D: the finding `d` against the truth, with the points earned out of those to be had.
pub fn diagnosis(found: Match, d: &str, truth: &str, p_d: f64, earned: f64, full: f64) -> Sentence {
    let got = tell!("marking-of-points", earned = points(earned), full = points(full));
    match found {
        Match::SameGroup => {
            let whole = points(earned) == points(full);
            let (template, text) = if whole && d == truth {
                ("diagnosis.right", tell!("marking-diagnosis-right", truth = truth))
            } else if whole {
                ("diagnosis.right", String::new())
            } else if earned <= 0.0 {
                let text = tell!("marking-diagnosis-unsupported", belief = in_100(p_d), full = points(full));
                ("diagnosis.unsupported", text)
            } else {
                ("diagnosis.unsupported", tell!("marking-diagnosis-half", belief = in_100(p_d), got = got))
            };
            if d == truth {
                return sentence(template, text);
            }
            let text = tell!("marking-diagnosis-counts", d = d, truth = truth, rest = text);
            sentence(template, text.trim_end().to_owned())
        }
        Match::RightComponent => {
            let text = tell!("marking-diagnosis-component", d = d, truth = truth, got = got);
            sentence("diagnosis.component", text)
        }
        Match::Shared { both, either } if both > 0 => {
            let text =
                tell!("marking-diagnosis-shared", d = d, truth = truth, both = both, either = either, got = got);
            sentence("diagnosis.shared", text)
        }
        Match::Shared { .. } | Match::Other => {
            sentence("diagnosis.wrong", tell!("marking-diagnosis-wrong", d = d, truth = truth))
        }
    }
}

/// D: no finding was handed back.
pub fn diagnosis_absent(truth: &str) -> Sentence {
    sentence("diagnosis.absent", tell!("marking-diagnosis-absent", truth = truth))
}

/// How many times as likely a weight of evidence, bans, makes something; beyond a thousand nobody should say how many.
fn odds(bans: f64) -> String {
    match crate::ops::exp(bans.abs() * core::f64::consts::LN_10) {
        odds if odds < 9.95 => number(odds, 1),
        odds if odds < 1000.0 => number(odds, 0),
        _ => said("marking-over-thousand").to_owned(),
    }
}

/// "a", "a and b", "a, b and c".
fn listed(words: &[String]) -> String {
    let Some((last, first)) = words.split_last() else { return String::new() };
    if first.is_empty() { last.clone() } else { tell!("marking-and", first = first.join(", "), last = last) }
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
        let text = tell!("marking-cited-absent", line = line, d = d);
        return sentence("cited.absent", text);
    };
    let odds = odds(bans);
    let said = if out.0.is_empty() { String::new() } else { tell!("marking-rules-out", list = listed(out.0)) };
    let against = match out.1 {
        [] => said,
        unsaid => tell!("marking-rules-out-unsaid", said = said, list = listed(unsaid)),
    };
    if bans <= -0.3 {
        let text = tell!("marking-cited-false", line = line, test = test, d = d, odds = odds);
        return sentence("cited.false", text);
    }
    if !valid {
        let text = tell!("marking-cited-neutral", line = line, test = test, d = d);
        return sentence("cited.neutral", text);
    }
    if bans < 0.3 {
        return sentence(
            "cited.rules-out",
            tell!("marking-cited-rules-out", line = line, test = test, d = d, against = against),
        );
    }
    sentence(
        "cited.valid",
        tell!("marking-cited-valid", line = line, test = test, d = d, odds = odds, against = against),
    )
}

/// X: a line that doesn't say whether it is the finding, but where.
pub fn cited_place(line: usize, test: &str, d: &str) -> Sentence {
    let text = tell!("marking-cited-place", line = line, test = test, d = d);
    sentence("cited.place", text)
}

/// X: a line that came when it could change nothing any more.
pub fn cited_late(line: usize, test: &str, d: &str) -> Sentence {
    let text = tell!("marking-cited-late", line = line, test = test, d = d);
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
    tell!("marking-lines", n = lines.len(), lines = listed(&numbers))
}

/// X: a rival that the finding says is ruled out.
pub fn ruled_out(words: &RuledOutWords<'_>) -> Sentence {
    let RuledOutWords { rival, d, .. } = *words;
    let (n, lines) = (words.lines.len(), lines_in_words(words.lines));
    let (template, mut text) = match (words.verdict, words.bans) {
        (ClaimVerdict::Valid, Some(bans)) => {
            let template = if words.counts { "rival.valid" } else { "rival.needless" };
            let odds = odds(bans);
            (template, tell!("marking-ruled-out-valid", lines = lines, n = n, rival = rival, d = d, odds = odds))
        }
        (ClaimVerdict::False, Some(bans)) => {
            let odds = odds(bans);
            (
                "rival.false",
                tell!("marking-ruled-out-false", lines = lines, n = n, rival = rival, d = d, odds = odds),
            )
        }
        (_, None) => ("rival.absent", tell!("marking-ruled-out-absent", lines = lines, n = n, rival = rival)),
        (_, Some(_)) => {
            ("rival.neutral", tell!("marking-ruled-out-neutral", lines = lines, n = n, rival = rival, d = d))
        }
    };
    if template == "rival.needless" {
        text += said("marking-rival-needless");
    }
    let (silent, contrary) = words.idle;
    if !silent.is_empty() {
        text += &tell!("marking-silent", lines = lines_in_words(silent), n = silent.len());
    }
    if !contrary.is_empty() {
        text += &tell!("marking-contrary", lines = lines_in_words(contrary), n = contrary.len());
    }
    sentence(template, text)
}

/// X: no line was named.
pub fn cited_none(d: &str) -> Sentence {
    sentence("cited.none", tell!("marking-cited-none", d = d))
}

/// X: more than full, or less than nothing; `full` where all the points are left in the end.
pub fn cited_limit(over: bool, full: bool) -> Sentence {
    match (over, full) {
        (true, true) => sentence("cited.ceiling", said("marking-cited-ceiling").to_owned()),
        (true, false) => sentence("cited.ceiling", said("marking-cited-ceiling-part").to_owned()),
        (false, _) => sentence("cited.floor", said("marking-cited-floor").to_owned()),
    }
}

/// S and R: how far the work came. `placed` is given where a candidate of the job has several places, which count as
/// something to find out; with the likeliest candidate at the end, its likeliest place and the chance of that, where it has several.
pub fn progress(template: &'static str, progress: f64, placed: Option<Option<(&str, &str, f64)>>) -> Sentence {
    let percent = format!("{:.0}", 100.0 * progress);
    let text = match placed {
        None => tell!("marking-progress", percent = percent),
        Some(None) => tell!("marking-progress-placed", percent = percent, at = ""),
        Some(Some((cause, place, share))) => {
            let at = tell!("marking-progress-where", cause = cause, place = place, share = in_100(share));
            tell!("marking-progress-placed", percent = percent, at = at)
        }
    };
    sentence(template, text)
}

/// S: the points before any waste is taken off, and by which yardstick it is judged where that isn't one test ahead.
pub fn choice_start(wasted: usize, lookahead: u32) -> Sentence {
    let (template, words) = match wasted {
        0 => ("choice.clean", said("marking-choice-clean")),
        _ => ("choice.start", said("marking-choice-start")),
    };
    let yardstick = if lookahead > 1 { said("marking-choice-two-ahead") } else { "" };
    sentence(template, format!("{words}{yardstick}"))
}

/// S: nothing was tested.
pub fn choice_none() -> Sentence {
    sentence("choice.none", said("marking-choice-none").to_owned())
}

/// What was still open most when a test was chosen.
#[derive(Clone, Copy)]
pub enum Open<'a> {
    /// Which of two candidates it is.
    Between(&'a str, &'a str),
    /// Where the likeliest candidate sits.
    Place(&'a str),
    /// Little: the evidence bore the first candidate, with this belief, all but alone; the second was its rival.
    Little(&'a str, f64, &'a str),
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
    /// The better test was made, too: then how many minutes of those spent it takes.
    pub made: Option<f64>,
    /// What was still open.
    pub open: Open<'a>,
    /// Whether the result could matter at all.
    pub material: bool,
    /// The minutes lost are few enough to be forgiven: no points were taken.
    pub forgiven: bool,
}

/// S: minutes that could have told more.
pub fn choice(words: &ChoiceWords<'_>) -> Sentence {
    let (t, test) = (clock(words.at), words.test);
    let spent = format!("{} min", number(words.minutes, 1));
    let end = if words.forgiven { said("marking-choice-forgiven") } else { "" };
    if !words.material {
        let text = tell!("marking-choice-immaterial", t = t, spent = spent, test = test, end = end);
        return sentence("choice.immaterial", text);
    }
    if let Some(takes) = words.made {
        let takes = format!("{} min", number(takes, 1));
        let text = tell!(
            "marking-choice-slow",
            t = t,
            spent = spent,
            test = test,
            best = words.best,
            takes = takes,
            end = end
        );
        return sentence("choice.slow", text);
    }
    let more = match words.times {
        Some(k) if k < 20.0 => tell!("marking-times-a-minute", times = number(k, 1)),
        _ => said("marking-far-more-a-minute").to_owned(),
    };
    let (template, why) = match words.open {
        Open::Between(a, b) => ("choice.better", tell!("marking-choice-alike", a = a, b = b)),
        Open::Place(d) => ("choice.place", tell!("marking-choice-place", d = d)),
        Open::Little(d, belief, rival) => {
            let why = tell!("marking-choice-little", d = d, belief = in_100(belief), rival = rival);
            ("choice.little", why)
        }
    };
    let text = tell!(
        "marking-choice-better",
        t = t,
        spent = spent,
        test = test,
        best = words.best,
        more = more,
        why = why,
        end = end
    );
    sentence(template, text)
}

/// R: the points before anything is taken off.
pub fn economy_start() -> Sentence {
    sentence("economy.start", said("marking-economy-start").to_owned())
}

/// R: nothing was found out.
pub fn economy_none() -> Sentence {
    sentence("economy.none", said("marking-economy-none").to_owned())
}

/// R: a part that was replaced. `early` says that the evidence didn't support it then.
pub fn part(at: Micros, part: &str, price: f64, sound: bool, early: bool, again: bool) -> Sentence {
    let (price, t) = (number(price, 0), clock(at));
    let mut text = if again {
        tell!("marking-part-again", part = part, price = price, t = t)
    } else if sound {
        tell!("marking-part-sound", part = part, price = price, t = t)
    } else {
        tell!("marking-part-faulty", part = part, price = price, t = t)
    };
    if early {
        text += said("marking-part-early");
    }
    sentence(if sound { "economy.needless" } else { "economy.part" }, text)
}

/// R: minutes against par.
pub fn minutes(net: f64, par: f64) -> Sentence {
    let text = tell!("marking-economy-minutes", minutes = number(net, 0), par = number(par, 0));
    sentence("economy.minutes", text)
}

/// The finding follows from what was written, not from what the gauge showed.
pub fn follow_through(d: &str, slip: Option<(Micros, &str)>) -> String {
    match slip {
        Some((at, test)) => tell!("marking-follow-through-slip", d = d, test = test, t = clock(at)),
        None => tell!("marking-follow-through", d = d),
    }
}

/// A pair of ranges that would have told finding and rival apart, mbar.
pub fn contrast(test: &str, (d, own): (&str, (f64, f64)), (rival, other): (&str, (f64, f64))) -> String {
    let range = |(low, high): (f64, f64)| {
        tell!(
            "report-range",
            from = number(low, 0),
            to = pressure(high * crate::units::PA_PER_MBAR, PressureUnit::Mbar)
        )
    };
    tell!("marking-contrast-unread", test = test, d = d, rival = rival, own = range(own), other = range(other))
}

/// Why there is no pair of ranges that would have told the finding from its strongest rival. `counted`: some reading of
/// the sitting did count.
pub fn no_contrast(d: &str, counted: bool) -> String {
    if counted { tell!("marking-contrast-none", d = d) } else { tell!("marking-contrast-nothing-read", d = d) }
}

/// The total was cut after a critical breach.
pub fn cap(earned: f64, cap: f64) -> Sentence {
    let text = tell!("marking-cap", cap = points(cap), earned = points(earned));
    sentence("total.cap", text)
}

/// A hint was taken while practising.
pub fn hint(at: Micros, level: u8) -> Sentence {
    sentence("total.hint", tell!("marking-hint", level = level, t = clock(at)))
}

mod reading;
#[cfg(test)]
mod tests;
