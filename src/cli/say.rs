//! What is perceived, done and written, in sentences.

use crate::bay::action::{Key, Micros, SECOND};
use crate::bay::observation::{Answer, Breach, BreachClass, EngineRun, Observation, PrimerFeel, SheetLine};
use crate::scenario::model::{Job, Mode};
use crate::trace::Trace;

/// Text from a file, fit for a terminal: control characters can't move the cursor or hide words.
pub fn plain(text: &str) -> String {
    let risky = |c: char| {
        c.is_control()
            || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
    };
    text.chars().map(|c| if risky(c) { ' ' } else { c }).collect()
}

/// A point in time or a span, such as `2 min 5.5 s`.
pub fn time(t: Micros) -> String {
    // tenths, rounded half up
    let tenths = t / 100_000 + u64::from(t % 100_000 >= 50_000);
    let (minutes, rest) = (tenths / 600, tenths % 600);
    let seconds = match rest % 10 {
        0 => format!("{} s", rest / 10),
        tenth => format!("{}.{tenth} s", rest / 10),
    };
    match (minutes / 60, minutes % 60) {
        (0, 0) => seconds,
        (0, m) if rest == 0 => format!("{m} min"),
        (0, m) => format!("{m} min {seconds}"),
        (h, m) if rest == 0 => format!("{h} h {m} min"),
        (h, m) => format!("{h} h {m} min {seconds}"),
    }
}

/// A pressure with the word for its sign, such as `-94.6 mbar, suction`.
pub fn pressure(mbar: f64) -> String {
    let rounded = (mbar * 10.0).round() / 10.0;
    if rounded < 0.0 {
        format!("{rounded:.1} mbar, suction")
    } else if rounded > 0.0 {
        format!("+{rounded:.1} mbar, pressure")
    } else {
        "0.0 mbar, even with the air".to_owned()
    }
}

/// An engine speed.
fn speed(rpm: f64) -> String {
    // no "-0" for an engine at rest
    format!("{:.0} 1/min", rpm.round() + 0.0)
}

/// What the colleague says to an action.
pub fn answer(answer: &Answer) -> String {
    match answer {
        Answer::Done { says, .. } => plain(says),
        Answer::Refused { because } => format!("Not done: {}", plain(because)),
    }
}

/// Announces a breach that stops the work; lesser ones wait for the debrief.
pub fn critical(breach: &Breach) -> Option<String> {
    (breach.class == BreachClass::Critical)
        .then(|| format!("CRITICAL at {}: {}", time(breach.at), plain(&breach.words)))
}

/// What can be perceived now, cautions apart.
pub fn status(o: &Observation) -> String {
    let mut out = format!("{}. ", time(o.at));
    out += match o.key {
        Key::Off => "Key off",
        Key::On => "Key on",
    };
    out += &match o.engine {
        EngineRun::Off => ", engine off".to_owned(),
        EngineRun::Stalled => ", engine stalled".to_owned(),
        EngineRun::Cranking => format!(", cranking at {}", speed(o.rpm)),
        EngineRun::Steady => format!(", engine steady at {}", speed(o.rpm)),
        EngineRun::Uneven => format!(", engine uneven at {}", speed(o.rpm)),
    };
    out += ". ";
    match &o.tee {
        None => out += "No tee fitted. ",
        Some(tee) => {
            out += &format!("Tee at {}, ", plain(&tee.joint));
            out += &match tee.valve_open {
                x if x >= 1.0 => "valve open".to_owned(),
                x if x <= 0.0 => "valve shut".to_owned(),
                x => format!("valve {:.0} % open", 100.0 * x),
            };
            out += match tee.purged_at {
                None => ", not purged. ",
                Some(_) => ". ",
            };
        }
    }
    if let Some(gauge) = &o.gauge {
        out += &format!("Gauge {}", pressure(gauge.mbar));
        if gauge.over_range {
            out += ", at the end of its range";
        }
        out += if gauge.zeroed_at.is_none() { ", not zeroed. " } else { ". " };
    }
    if let Some(glass) = &o.glass {
        out += &format!("Glass {}", glass.look.word());
        out += match glass.speed_m_s {
            v if v > 0.002 => ", fuel runs to the engine. ",
            v if v < -0.002 => ", fuel runs back to the tank. ",
            _ => ", fuel stands. ",
        };
    }
    if let Some((feel, strokes)) = o.primer {
        out += &match feel {
            PrimerFeel::Firm if strokes == 1 => "Primer firm at the first stroke. ".to_owned(),
            PrimerFeel::Firm => format!("Primer firm after {strokes} strokes. "),
            PrimerFeel::Soft | PrimerFeel::Slack => format!("Primer {} after {strokes} strokes. ", feel.word()),
        };
    }
    if let Some(joint) = &o.container {
        out += &format!("Fed from the container at {}. ", plain(joint));
    }
    if o.cap_open {
        out += "Filler cap open";
        out += &o.cap.map_or_else(|| ". ".to_owned(), |sound| format!(", {} when opened. ", sound.word()));
    }
    out += &tests_in_words(o);
    out.trim_end().to_owned()
}

/// What is connected, shut, wet and heard beyond the tee.
fn tests_in_words(o: &Observation) -> String {
    let mut out = String::new();
    if o.load > 0.005 {
        out += &format!("Loaded to {:.0} in 100. ", 100.0 * o.load);
    }
    if let Some((joint, mbar)) = &o.second {
        out += &format!("Second transducer at {}: {}. ", plain(joint), pressure(*mbar));
    }
    if let Some((pump, amps)) = &o.clamp {
        out += &format!("Clamp at {}: {amps:.2} A. ", plain(pump));
    }
    for (tap, open) in o.taps.iter().filter(|(_, open)| *open < 0.995) {
        out += &format!("Lever of {} at {:.0} in 100. ", plain(tap), 100.0 * open);
    }
    for what in &o.left_on {
        out += &format!("Still on: {}. ", what.words(&plain(what.place())));
    }
    if o.slope != 0.0 {
        out += &format!("On a slope of {:.0} degrees. ", o.slope);
    }
    for wet in &o.wet {
        out += &format!("Fuel {} at {}. ", wet.how, plain(&wet.place));
    }
    // the engine itself is said already
    for sound in o.sounds.iter().filter(|s| !s.contains("engine") && !s.contains("starter")) {
        out += &format!("{sound} ");
    }
    out
}

/// Cautions that weren't said yet.
pub fn cautions(now: &[&'static str], said: &[&'static str]) -> String {
    let new = now.iter().filter(|caution| !said.contains(caution));
    new.map(|caution| format!("Caution: {}\n", sentence(caution))).collect()
}

/// With a full stop at its end.
fn sentence(text: &str) -> String {
    let text = plain(text);
    let text = text.trim();
    if text.ends_with(['.', '!', '?']) { text.to_owned() } else { format!("{text}.") }
}

/// Job card and vehicle card.
pub fn card(job: &Job) -> String {
    let mut out = format!("{}\nCustomer: {}\n", plain(&job.title), plain(&job.customer));
    out += &format!("Complaint: “{}”\n", plain(&job.complaint));
    out += &format!("Vehicle: {}. Fuel gauge {:.0} %.\n", plain(&job.plant.title), 100.0 * job.fuel_gauge);
    for fact in &job.facts {
        out += &format!("{}\n", sentence(fact));
    }
    for shown in &job.pictures {
        out += &format!("A picture shows: {}\n", sentence(&shown.shows));
    }
    out += match job.mode {
        Mode::Practice => "Practice.",
        Mode::Assessment => "Assessment: no feedback before the finding is submitted.",
    };
    out += &format!(" About {:.0} min.\n", job.minutes);
    if job.mode == Mode::Assessment {
        out += "Readings count for as long as the card says, at least; far beyond, they no longer do.\n";
    }
    let listed = |title: &str, items: Vec<String>| match items.is_empty() {
        true => String::new(),
        false => format!("{title}:\n{}", items.iter().map(|item| format!("  {item}\n")).collect::<String>()),
    };
    let pair = |name: &str, words: &str| format!("{}: {}", plain(name), sentence(words));
    out += &listed("You may ask", job.questions.iter().map(|q| pair(&q.name, &q.ask)).collect());
    out += &listed("You may look at", job.looks.iter().map(|l| sentence(&l.part)).collect());
    out += &listed("The tee fits at", job.joints.iter().map(|(name, label)| pair(name, label)).collect());
    let limits = job.limits.iter().map(|l| {
        let condition = if l.words.is_empty() { String::new() } else { format!(" {}", sentence(&l.words)) };
        let state = l.state.word();
        format!("{}, {state}: {} to {} mbar.{condition}", plain(&l.joint), l.low_mbar, l.high_mbar)
    });
    out += &listed("Healthy readings", limits.collect());
    out += &listed("Candidates", job.candidates.iter().map(|c| pair(&c.name, &c.label)).collect());
    out + "Training values. On a real machine use its maker's data.\n"
}

/// The test sheet.
pub fn sheet(lines: &[SheetLine]) -> String {
    if lines.is_empty() {
        return "The sheet is empty.\n".to_owned();
    }
    let line = |(i, line): (usize, &SheetLine)| {
        let mut out = format!("Line {}, {}: {} {}", i + 1, time(line.at), plain(&line.subject), plain(&line.entry));
        if let Some(verdict) = line.verdict {
            out += &format!(", {}", verdict.words());
        }
        if !line.source.is_empty() {
            out += &format!(", from {}", plain(&line.source));
        }
        if !line.remark.is_empty() {
            out += &format!(". Remark: {}", plain(&line.remark));
        }
        out + ".\n"
    };
    lines.iter().enumerate().map(line).collect()
}

/// The last half minute of the trace, in steps of five seconds.
pub fn trace(trace: &Trace, now: Micros) -> String {
    const STEP: Micros = 5 * SECOND;
    let mut out = String::new();
    for back in (0..6).rev() {
        let Some(from) = now.checked_sub((back + 1) * STEP) else { continue };
        let to = from + STEP;
        // a sample on the border belongs to the step before
        let range = trace.range(from + 1, to);
        let seen = || trace.mbar[range.clone()].iter().copied().filter(|v| v.is_finite());
        let Some(mean) = trace.mean(&trace.mbar, from + 1, to) else { continue };
        let (low, high) = seen().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        out += &format!("{} to {}: {}, between {low:.1} and {high:.1}.", time(from), time(to), pressure(mean));
        if let Some(rpm) = trace.mean(&trace.rpm, from + 1, to) {
            out += &format!(" {}.", speed(rpm));
        }
        out.push('\n');
    }
    if out.is_empty() {
        out = "The instrument has stored nothing in the last half minute.\n".to_owned();
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::action::{MINUTE, State, Verdict};
    use crate::bay::observation::{Gauge, Glass, GlassLook, Tee};

    fn bare() -> Observation {
        Observation {
            at: 125_500_000,
            key: Key::On,
            engine: EngineRun::Steady,
            rpm: 801.6,
            gauge: None,
            glass: None,
            tee: None,
            container: None,
            cap_open: false,
            cap: None,
            primer: None,
            fuel_gauge: 0.5,
            charged_min: 3.0,
            ..Observation::default()
        }
    }

    #[test]
    fn times_read_like_a_clock_on_the_wall() {
        for (t, words) in [
            (0, "0 s"),
            (1_500_000, "1.5 s"),
            (59_960_000, "1 min"),
            (MINUTE, "1 min"),
            (125 * SECOND, "2 min 5 s"),
            (3 * 60 * MINUTE, "3 h 0 min"),
            (u64::MAX, "5124095576 h 1 min 49.6 s"),
        ] {
            assert_eq!(time(t), words);
        }
    }

    #[test]
    fn the_sign_has_a_word() {
        assert_eq!(pressure(-94.61), "-94.6 mbar, suction");
        assert_eq!(pressure(-0.04), "0.0 mbar, even with the air");
        assert_eq!(pressure(4800.0), "+4800.0 mbar, pressure");
    }

    #[test]
    fn the_status_says_what_is_there_and_no_more() {
        let mut o = bare();
        assert_eq!(status(&o), "2 min 5.5 s. Key on, engine steady at 802 1/min. No tee fitted.");
        o.tee = Some(Tee { joint: "pump in".to_owned(), valve_open: 0.25, purged_at: None });
        o.gauge = Some(Gauge { mbar: -94.6, over_range: false, zeroed_at: None });
        o.glass = Some(Glass { look: GlassLook::Mist, gas_share: 0.01, speed_m_s: 0.2 });
        assert_eq!(
            status(&o),
            "2 min 5.5 s. Key on, engine steady at 802 1/min. Tee at pump in, valve 25 % open, not purged. \
             Gauge -94.6 mbar, suction, not zeroed. Glass mist, fuel runs to the engine."
        );
        o.engine = EngineRun::Cranking;
        o.rpm = -0.2;
        assert!(status(&o).contains("cranking at 0 1/min"), "{}", status(&o));
    }

    #[test]
    fn a_caution_is_said_when_it_begins() {
        assert_eq!(cautions(&["Keep clear", "Hot."], &["Hot."]), "Caution: Keep clear.\n");
        assert_eq!(cautions(&["Hot."], &["Hot."]), "");
    }

    #[test]
    fn a_hostile_name_cannot_steer_the_terminal() {
        let o = Observation { container: Some("\x1b[2J\u{202e}x".to_owned()), ..bare() };
        assert!(!status(&o).contains(['\x1b', '\u{202e}']));
    }

    #[test]
    fn only_a_critical_breach_is_announced() {
        let breach = |class| Breach { at: SECOND, class, rule: "r".to_owned(), words: "Fire.".to_owned() };
        assert_eq!(critical(&breach(BreachClass::Critical)).unwrap(), "CRITICAL at 1 s: Fire.");
        assert_eq!(critical(&breach(BreachClass::Major)), None);
    }

    #[test]
    fn the_sheet_reads_line_by_line() {
        let line = SheetLine {
            at: MINUTE,
            subject: "idle".to_owned(),
            state: Some(State::Idle),
            entry: "-95 mbar".to_owned(),
            verdict: Some(Verdict::Within),
            source: "vehicle card".to_owned(),
            remark: String::new(),
            window: (0, 0),
        };
        assert_eq!(sheet(&[line]), "Line 1, 1 min: idle -95 mbar, within, from vehicle card.\n");
        assert_eq!(sheet(&[]), "The sheet is empty.\n");
    }

    #[test]
    fn the_trace_is_told_in_steps_and_a_gap_is_left_out() {
        let mut t = Trace::default();
        for i in 0..=1000_u64 {
            t.at.push(i * 20_000);
            t.mbar.push(if i <= 500 { f64::NAN } else { -90.0 - (i % 2) as f64 });
            t.gas.push(0.0);
            t.rpm.push(800.0);
        }
        let told = trace(&t, 20 * SECOND);
        assert_eq!(told.lines().count(), 2, "{told}");
        assert!(
            told.starts_with("10 s to 15 s: -90.5 mbar, suction, between -91.0 and -90.0. 800 1/min."),
            "{told}"
        );
        assert!(trace(&Trace::default(), 0).contains("nothing"));
    }
}
