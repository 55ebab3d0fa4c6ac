//! Cuts a log of work into stretches: what was read with one fitting of the tee.
//!
//! Fitting the tee takes a quarter of an hour, and what follows takes minutes. Were the fitting charged
//! to the first line alone, taking the reading at rest before the one at idle would look like waste. So
//! a run at one joint is one stretch, judged by all that it told and all the minutes that it took; the
//! free checks without the tee are stretches of their own.

use super::menu::Standing;
use crate::bay::action::{Action, MINUTE, Micros, SECOND};
use crate::scenario::model::Preliminary;

/// Credits for the seals of an opened joint.
const SEALS_CREDITS: f64 = 2.0;

/// Something that was done.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// When it began.
    pub at: Micros,
    /// When it was done.
    pub until: Micros,
    /// What.
    pub action: Action,
}

impl Done {
    /// Whether it costs no marked minutes: safety steps, required steps of procedure, and what the
    /// author calls preliminary.
    pub fn is_exempt(&self, preliminaries: &[Preliminary]) -> bool {
        match self.action {
            Action::MakeSafe { .. } | Action::Purge | Action::Zero => true,
            Action::Ask { .. } => preliminaries.contains(&Preliminary::Ask),
            Action::Look { .. } => preliminaries.contains(&Preliminary::Look),
            _ => false,
        }
    }
}

/// One stretch of work.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// From the end of the stretch before to its last line.
    pub window: (Micros, Micros),
    /// Lines of the sheet, from 1.
    pub lines: Vec<usize>,
    /// Net minutes.
    pub minutes: f64,
    /// Credits for seals.
    pub credits: f64,
    /// Units of risk.
    pub risk: f64,
    /// How things stood at its start.
    pub standing: Standing,
    /// How they stood at its last line.
    pub left: Standing,
}

/// Net minutes between two times: everything but exempt steps.
pub fn net_minutes(log: &[Done], from: Micros, to: Micros, preliminaries: &[Preliminary]) -> f64 {
    let exempt: Micros = log
        .iter()
        .filter(|d| d.is_exempt(preliminaries))
        .map(|d| d.until.min(to).saturating_sub(d.at.max(from)))
        .sum();
    to.saturating_sub(from).saturating_sub(exempt) as f64 / MINUTE as f64
}

/// When so many net minutes had passed; `None` if the log ended before.
pub fn passed_at(log: &[Done], minutes: f64, preliminaries: &[Preliminary]) -> Option<Micros> {
    let last = log.iter().map(|d| d.until).max()?;
    let passed = |at: Micros| net_minutes(log, 0, at, preliminaries) >= minutes;
    if !passed(last) {
        return None;
    }
    // net minutes never fall: the earliest moment lies between a time before and one after
    let (mut before, mut after) = (0, last);
    while after - before > 1 {
        let middle = before + (after - before) / 2;
        if passed(middle) { after = middle } else { before = middle }
    }
    Some(after)
}

/// Whether an action begins another stretch.
fn changes(action: &Action, standing: &Standing) -> bool {
    match action {
        Action::FitTee { .. } | Action::RemoveTee { .. } | Action::Container { .. } => true,
        // tests that stand by themselves
        Action::Sample
        | Action::Battery
        | Action::Listen { .. }
        | Action::Deliver { .. }
        | Action::ReturnFlow { .. }
        | Action::VacuumTest
        | Action::AirTest
        | Action::Treat { .. }
        | Action::SecondGauge { .. }
        | Action::Pinch { .. }
        | Action::Blank { .. }
        | Action::Wiggle { .. }
        | Action::Tilt { .. }
        | Action::Measure { .. } => true,
        Action::Cap { .. } | Action::Prime { .. } | Action::Crank { .. } => standing.tee.is_none(),
        _ => false,
    }
}

/// The stretches of a log up to `until`. `lines` are the lines that count with their times, rising.
pub fn stretches(
    log: &[Done],
    lines: &[(usize, Micros)],
    until: Micros,
    preliminaries: &[Preliminary],
) -> Vec<Stretch> {
    let mut all: Vec<Stretch> = vec![];
    let mut begun: Micros = 0;
    let (mut standing, mut at_start) = (Standing::default(), Standing::default());
    let (mut credits, mut risk) = (0.0, 0.0);
    let mut open: Option<Stretch> = None;
    let mut next = 0;
    for done in log.iter().filter(|d| d.at <= until) {
        if changes(&done.action, &standing)
            && let Some(stretch) = open.take()
        {
            begun = stretch.window.1;
            all.push(stretch);
            at_start = standing.clone();
            (credits, risk) = (0.0, 0.0);
        }
        standing.after(&done.action);
        match done.action {
            Action::FitTee { new_seals: true, .. }
            | Action::RemoveTee { new_seals: true }
            | Action::Container { .. }
            | Action::Blank { .. }
            | Action::SecondGauge { .. } => credits += SEALS_CREDITS,
            Action::Deliver { .. } => {
                credits += SEALS_CREDITS;
                risk += 1.0;
            }
            Action::Valve { open } if open <= 0.0 => risk += 1.0,
            _ => {}
        }
        if !matches!(done.action, Action::Record { .. } | Action::Note { .. } | Action::RecordTest { .. }) {
            continue;
        }
        // a refused or amended line isn't among those that count
        let Some(&(line, at)) = lines.get(next).filter(|(_, at)| *at >= done.at && *at <= done.until + SECOND)
        else {
            continue;
        };
        next += 1;
        let stretch = open.get_or_insert_with(|| Stretch {
            window: (begun, at),
            lines: vec![],
            minutes: 0.0,
            credits: 0.0,
            risk: 0.0,
            standing: at_start.clone(),
            left: Standing::default(),
        });
        stretch.left = standing.clone();
        stretch.lines.push(line);
        stretch.window.1 = at;
        stretch.minutes = net_minutes(log, begun, at, preliminaries);
        (stretch.credits, stretch.risk) = (credits, risk);
    }
    all.extend(open);
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::action::{Key, Perceived, SafetyStep};

    fn log(items: &[(u64, u64, Action)]) -> Vec<Done> {
        items
            .iter()
            .map(|(at, until, action)| Done { at: at * SECOND, until: until * SECOND, action: action.clone() })
            .collect()
    }

    fn note() -> Action {
        Action::Note { what: Perceived::Glass, seen: "clear".into() }
    }

    #[test]
    fn lines_of_one_fitting_are_one_stretch_with_its_set_up() {
        let fit = Action::FitTee { joint: "a".into(), new_seals: true };
        let log = log(&[
            (0, 30, Action::MakeSafe { step: SafetyStep::Protection }),
            (30, 90, Action::Ask { question: "when".into() }),
            (90, 990, fit),
            (990, 1170, Action::Purge),
            (1170, 1230, Action::Zero),
            (1230, 1230, Action::Key { to: Key::On }),
            (1230, 1230, Action::Crank { secs: 5.0 }),
            (1290, 1290, note()),
            (1290, 1290, note()),
            (1290, 1290, Action::Speed { rpm: 2500.0 }),
            (1320, 1320, note()),
            (1320, 2040, Action::FitTee { joint: "b".into(), new_seals: true }),
            (2040, 2040, note()),
        ]);
        let lines = [(1, 1290 * SECOND), (2, 1290 * SECOND), (3, 1320 * SECOND), (4, 2040 * SECOND)];
        let cut = stretches(&log, &lines, Micros::MAX, &[Preliminary::Ask]);
        assert_eq!(cut.iter().map(|s| s.lines.clone()).collect::<Vec<_>>(), [vec![1, 2, 3], vec![4]]);
        // 1290 s less 30 s safety, 60 s asking, 240 s purging and zeroing
        assert!((cut[0].minutes - 16.5).abs() < 1e-12 && (cut[1].minutes - 12.0).abs() < 1e-12);
        assert_eq!(cut[0].standing, Standing::default());
        assert_eq!(cut[1].standing, Standing { tee: Some("a".into()), running: true, container: false });
        assert_eq!(cut[0].left, cut[1].standing);
        assert_eq!(cut[1].left, Standing { tee: Some("b".into()), running: false, container: false });
        assert_eq!([cut[0].credits, cut[1].credits], [2.0, 2.0]);
        // 30 s safety and 60 s of asking are exempt: the first net minute is over at 150 s
        let asked = &[Preliminary::Ask];
        assert_eq!(passed_at(&log, 1.0, asked), Some(150 * SECOND));
        assert_eq!(passed_at(&log, 1.0, &[]), Some(90 * SECOND));
        // purging and zeroing pass without counting
        assert_eq!(passed_at(&log, 15.5, asked), Some(1260 * SECOND));
        assert_eq!(passed_at(&log, 100.0, asked), None);
        let with_asking = stretches(&log, &lines, Micros::MAX, &[]);
        assert!((with_asking[0].minutes - 17.5).abs() < 1e-12);
        assert_eq!(stretches(&log, &lines[..1], 1000 * SECOND, &[]), []);
    }
}
