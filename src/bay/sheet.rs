//! The paper: test sheet, notes, predictions, points and the finding.

use super::Bay;
use super::action::{
    Finding, Micros, Perceived, Prediction, Probe, Reading, SECOND, State, TestEntry, TestUnit, Verdict,
};
use super::drive::op::Op;
use super::observation::SheetLine;
use crate::instrument::display::Doubt;
use crate::language::said;
use crate::tell;

/// What a recorded line rests on.
#[derive(Clone, Debug, PartialEq)]
pub struct Evidence {
    /// Line of the sheet, from 1.
    pub line: usize,
    /// When it was written.
    pub at: Micros,
    /// What it is.
    pub kind: EvidenceKind,
}

/// The kinds of evidence.
#[derive(Clone, Debug, PartialEq)]
pub enum EvidenceKind {
    /// A pressure over a window of the trace.
    Level {
        /// The state the learner names.
        state: State,
        /// Start and end.
        window: (Micros, Micros),
        /// Joint at which the tee sat.
        joint: String,
        /// What was written: value and, if there was one, unit.
        written: (f64, Option<crate::units::PressureUnit>),
    },
    /// A number that a test showed.
    Number {
        /// What was read.
        probe: Probe,
        /// Which of the drive's numbers it is.
        index: usize,
        /// What was shown, in the quantity's own unit.
        shown: f64,
        /// How far the instrument may be off there.
        doubt: Doubt,
        /// What was written: value and, if there was one, unit.
        written: (f64, Option<TestUnit>),
    },
    /// Something perceived, as it really was at that moment.
    Word {
        /// What.
        what: Perceived,
        /// How it was.
        was: &'static str,
        /// What the learner wrote.
        written: String,
    },
}

/// Everything written so far.
#[derive(Default)]
pub(super) struct Sheet {
    lines: Vec<SheetLine>,
    evidence: Vec<Evidence>,
    predictions: Vec<(Micros, Prediction)>,
    beliefs: Vec<(Micros, Vec<u8>)>,
    finding: Option<(Micros, Finding)>,
}

impl Sheet {
    pub(super) fn lines(&self) -> &[SheetLine] {
        &self.lines
    }

    pub(super) fn evidence(&self) -> &[Evidence] {
        &self.evidence
    }

    pub(super) fn predictions(&self) -> &[(Micros, Prediction)] {
        &self.predictions
    }

    pub(super) fn beliefs(&self) -> &[(Micros, Vec<u8>)] {
        &self.beliefs
    }

    pub(super) fn finding(&self) -> Option<&(Micros, Finding)> {
        self.finding.as_ref()
    }
}

/// Most lines a sheet can hold; a guard against runaway scripts.
const MOST_LINES: usize = 500;

/// A number that somebody wrote, as it was written: no digit more and none less, with a true minus sign. What nobody could
/// have read off anything keeps its exponent.
pub fn as_written(value: f64) -> String {
    // nothing has no sign
    let value = if value == 0.0 { 0.0 } else { value };
    let text = match value.abs() {
        size if size != 0.0 && !(1e-6..1e9).contains(&size) => format!("{value:e}"),
        _ => value.to_string(),
    };
    crate::language::decimal(text.replace('-', "\u{2212}"))
}

/// A number that was reckoned, rounded to what is told of it, with a true minus sign.
pub fn number_on_paper(value: f64) -> String {
    let text =
        if value.abs() < 10.0 && value.fract() != 0.0 { format!("{value:.2}") } else { format!("{value:.0}") };
    let nothing = text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.');
    crate::language::decimal(if nothing {
        text.trim_start_matches('-').to_owned()
    } else {
        text.replace('-', "\u{2212}")
    })
}

impl Bay {
    /// Room on the sheet?
    fn room_on_sheet(&self) -> Result<(), String> {
        if self.sheet.lines.len() >= MOST_LINES {
            return Err(tell!("bay-paper-full", MOST_LINES = MOST_LINES));
        }
        Ok(())
    }

    fn window_of(&self, reading: &Reading) -> Result<(Micros, Micros), String> {
        let since = self.tee_since;
        let (from, to) = reading.window.unwrap_or((self.now().saturating_sub(SECOND), self.now()));
        if to > self.now() || from > to {
            return Err(said("bay-paper-window").into());
        }
        if to < since {
            return Err(said("bay-paper-tee-not-here").into());
        }
        let from = from.max(since);
        // left alone for long, the logger draws less often than once a second; what stands on the gauge then is its last point
        let drawn = |&i: &usize| self.trace.mbar[i].is_finite();
        if self.trace.range(from, to).any(|i| drawn(&i)) {
            return Ok((from, to));
        }
        let last = self.trace.range(since, to).rev().find(drawn);
        last.map(|i| (self.trace.at[i], to)).ok_or_else(|| said("bay-paper-nothing-drawn").into())
    }

    fn line_of(&self, reading: &Reading, at: Micros, window: (Micros, Micros)) -> SheetLine {
        SheetLine {
            at,
            subject: reading.state.word().into(),
            state: Some(reading.state),
            entry: format!(
                "{} {}",
                as_written(reading.value),
                reading.unit.map_or(said("bay-paper-no-unit"), crate::units::PressureUnit::symbol)
            ),
            verdict: Some(reading.verdict),
            source: reading.source.clone(),
            remark: reading.remark.clone(),
            window,
        }
    }

    pub(super) fn record(&mut self, reading: &Reading) -> Result<String, String> {
        self.room_on_sheet()?;
        let Some(joint) = self.drive.tee().map(str::to_owned) else {
            return Err(said("bay-paper-no-instrument").into());
        };
        if !reading.value.is_finite() {
            return Err(said("bay-paper-not-a-number").into());
        }
        let window = self.window_of(reading)?;
        if self.zeroed_at.is_none() {
            self.breach("no-zero");
        }
        if reading.source.trim().is_empty() && matches!(reading.verdict, Verdict::Within | Verdict::Outside) {
            self.breach("no-source");
        }
        let line = self.line_of(reading, self.now(), window);
        let says = tell!(
            "bay-paper-line-written",
            line = self.sheet.lines.len() + 1,
            subject = line.subject,
            entry = line.entry
        );
        self.sheet.lines.push(line);
        self.sheet.evidence.push(Evidence {
            line: self.sheet.lines.len(),
            at: self.now(),
            kind: EvidenceKind::Level {
                state: reading.state,
                window,
                joint,
                written: (reading.value, reading.unit),
            },
        });
        Ok(says)
    }

    /// Writes down what the last test of a quantity showed.
    pub(super) fn record_test(&mut self, entry: &TestEntry) -> Result<String, String> {
        self.room_on_sheet()?;
        if !entry.value.is_finite() {
            return Err(said("bay-paper-not-a-number").into());
        }
        let word = entry.quantity.word();
        let Some(last) = self.shown.iter().rev().find(|s| s.probe.quantity() == entry.quantity) else {
            return Err(tell!("bay-paper-not-measured", word = word));
        };
        let (probe, index, shown, doubt) = (last.probe.clone(), last.index, last.meter.value, last.doubt);
        let (at, what) = (last.meter.at, last.meter.what.clone());
        if entry.source.trim().is_empty() && matches!(entry.verdict, Verdict::Within | Verdict::Outside) {
            self.breach("no-source");
        }
        let unit = entry.unit.map_or(said("bay-paper-no-unit"), TestUnit::symbol);
        let written = format!("{} {unit}", as_written(entry.value));
        self.sheet.lines.push(SheetLine {
            at: self.now(),
            subject: what.clone(),
            state: None,
            entry: written.clone(),
            verdict: Some(entry.verdict),
            source: entry.source.clone(),
            remark: entry.remark.clone(),
            window: (at, at),
        });
        let line = self.sheet.lines.len();
        let kind = EvidenceKind::Number { probe, index, shown, doubt, written: (entry.value, entry.unit) };
        self.sheet.evidence.push(Evidence { line, at: self.now(), kind });
        Ok(tell!("bay-paper-test-written", line = line, what = what, written = written))
    }

    /// Rewrites a line. What it rests on (its window) stays unless the learner names another one.
    pub(super) fn amend(&mut self, line: usize, reading: &Reading) -> Result<String, String> {
        if self.sheet.finding.is_some() {
            return Err(said("bay-paper-closed").into());
        }
        let Some(at) = line.checked_sub(1).and_then(|i| self.sheet.lines.get(i)).map(|l| l.at) else {
            return Err(tell!("bay-paper-no-line", line = line));
        };
        if !reading.value.is_finite() {
            return Err(said("bay-paper-not-a-number").into());
        }
        let window = match reading.window {
            Some(_) => self.window_of(reading)?,
            None => self.sheet.lines[line - 1].window,
        };
        let Some(Evidence { kind: EvidenceKind::Level { state, window: was, written, .. }, .. }) =
            self.sheet.evidence.iter_mut().find(|e| e.line == line)
        else {
            return Err(tell!("bay-paper-line-is-note", line = line));
        };
        *state = reading.state;
        *was = window;
        *written = (reading.value, reading.unit);
        self.sheet.lines[line - 1] = self.line_of(reading, at, window);
        Ok(tell!("bay-paper-line-now-says", line = line, entry = self.sheet.lines[line - 1].entry))
    }

    pub(super) fn note(&mut self, what: Perceived, seen: &str) -> Result<String, String> {
        self.room_on_sheet()?;
        let words = Self::words_for(what);
        if !words.contains(&seen) {
            return Err(tell!("bay-paper-no-such-word", seen = seen, words = words.join(", ")));
        }
        let was = self.perceived(what)?;
        self.hands(Op::Look { what })?;
        let subject = match what {
            Perceived::Glass => "glass",
            Perceived::Primer => "primer",
            Perceived::Cap => said("bay-subject-filler-cap"),
            Perceived::Engine => "engine",
            Perceived::Sample => "sample",
            Perceived::Pump => said("bay-subject-electric-pump"),
        };
        self.sheet.lines.push(SheetLine {
            at: self.now(),
            subject: subject.into(),
            state: None,
            entry: seen.into(),
            verdict: None,
            source: String::new(),
            remark: String::new(),
            window: (self.now().saturating_sub(SECOND), self.now()),
        });
        self.sheet.evidence.push(Evidence {
            line: self.sheet.lines.len(),
            at: self.now(),
            kind: EvidenceKind::Word { what, was, written: seen.into() },
        });
        Ok(tell!("bay-paper-note-written", line = self.sheet.lines.len(), subject = subject, seen = seen))
    }

    pub(super) fn predict(&mut self, prediction: &Prediction) -> Result<String, String> {
        if let Some(name) = &prediction.candidate
            && self.job.candidate(name).is_none()
        {
            return Err(tell!("bay-paper-no-candidate", name = name));
        }
        if !(prediction.low_mbar.is_finite() && prediction.high_mbar.is_finite())
            || prediction.low_mbar > prediction.high_mbar
        {
            return Err(said("bay-predict-low-high").into());
        }
        if self.sheet.predictions.len() >= MOST_LINES {
            return Err(said("bay-predict-enough").into());
        }
        self.sheet.predictions.push((self.now(), prediction.clone()));
        Ok(tell!(
            "bay-predict-noted",
            state = prediction.state.word(),
            low = as_written(prediction.low_mbar),
            high = as_written(prediction.high_mbar)
        ))
    }

    pub(super) fn believe(&mut self, points: &std::collections::BTreeMap<String, u8>) -> Result<String, String> {
        if let Some(stranger) = points.keys().find(|name| self.job.candidate(name).is_none()) {
            return Err(tell!("bay-believe-no-candidate", stranger = stranger));
        }
        let shared: Vec<u8> =
            self.job.candidates.iter().map(|c| points.get(&c.name).copied().unwrap_or(0)).collect();
        let sum: u32 = shared.iter().map(|&p| u32::from(p)).sum();
        if sum != 100 {
            return Err(tell!("bay-believe-sum", sum = sum));
        }
        self.sheet.beliefs.push((self.now(), shared));
        Ok(said("bay-believe-noted").into())
    }

    /// Rivals that a finding rules out: each once, not the finding itself, by lines that there are.
    fn check_ruled_out(&self, finding: &Finding) -> Result<(), String> {
        for (i, out) in finding.ruled_out.iter().enumerate() {
            let Some(rival) = self.job.candidate(&out.candidate) else {
                return Err(tell!("bay-finding-no-candidate", candidate = out.candidate));
            };
            if out.candidate == finding.candidate {
                return Err(tell!("bay-finding-both", rival = rival.label));
            }
            if finding.ruled_out[..i].iter().any(|before| before.candidate == out.candidate) {
                return Err(tell!("bay-finding-twice", rival = rival.label));
            }
            if out.lines.is_empty() {
                return Err(tell!("bay-finding-which-line", rival = rival.label));
            }
            if let Some(line) = out.lines.iter().find(|&&l| l == 0 || l > self.sheet.lines.len()) {
                return Err(tell!("bay-finding-no-line-to-rule-out", line = line, rival = rival.label));
            }
        }
        Ok(())
    }

    pub(super) fn submit(&mut self, finding: &Finding) -> Result<String, String> {
        if self.sheet.finding.is_some() {
            return Err(said("bay-finding-already").into());
        }
        let Some(candidate) = self.job.candidate(&finding.candidate) else {
            return Err(tell!("bay-finding-no-candidate", candidate = finding.candidate));
        };
        if !(50..=99).contains(&finding.confidence) {
            return Err(said("bay-finding-how-sure").into());
        }
        if let Some(line) = finding.evidence.iter().find(|&&l| l == 0 || l > self.sheet.lines.len()) {
            return Err(tell!("bay-finding-no-line", line = line));
        }
        self.check_ruled_out(finding)?;
        let says = tell!("bay-finding-submitted", label = candidate.label, sure = finding.confidence);
        self.sheet.finding = Some((self.now(), finding.clone()));
        self.mark("finding");
        Ok(says)
    }
}

#[cfg(test)]
mod tests {
    use super::as_written;

    #[test]
    fn what_was_written_stands() {
        let table = [
            (0.115, "0.115"),
            (-0.118, "\u{2212}0.118"),
            (12.25, "12.25"),
            (-118.0, "\u{2212}118"),
            (3.0, "3"),
            (0.004, "0.004"),
            (-0.0, "0"),
            (1e300, "1e300"),
        ];
        for (value, words) in table {
            assert_eq!(as_written(value), words);
        }
        let german = crate::language::Language::German;
        assert_eq!(crate::language::within(german, || as_written(0.115)), "0,115");
    }
}
