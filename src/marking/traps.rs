//! Traps of the job that were stepped into: said after hand-back, worth no points. What they led to is marked where
//! it shows, and marking the same slip twice would not be fair.

use super::case::Case;
use super::mark::quoted;
use super::model::TrapCheck;
use super::sentence::clock;
use crate::bay::EvidenceKind;
use crate::bay::action::{Micros, State};
use crate::scenario::model::Snare;
use crate::tell;

/// Every trap that was stepped into, once, in the order of the job.
pub(super) fn traps(case: &Case<'_>) -> Vec<TrapCheck> {
    let mut all: Vec<(usize, TrapCheck)> = vec![];
    for snare in &case.job.snares {
        let Some((at, how)) = stepped_into(case, snare) else { continue };
        let Some(trap) = case.job.traps.get(snare.trap) else { continue };
        if all.iter().any(|(index, _)| *index == snare.trap) {
            continue;
        }
        let sentence = tell!("marking-trap", trap = trap.trim_end_matches('.'), how = how);
        all.push((snare.trap, TrapCheck { at, trap: trap.clone(), sentence }));
    }
    all.sort_by_key(|(index, _)| *index);
    all.into_iter().map(|(_, check)| check).collect()
}

/// When, and by what.
fn stepped_into(case: &Case<'_>, snare: &Snare) -> Option<(Micros, String)> {
    let end = case.end_window().0;
    if let Some((_, d)) = case.finding.filter(|(_, d)| snare.named.contains(d)) {
        return Some((end, tell!("marking-trap-finding", finding = quoted(&case.job.candidates[d].label))));
    }
    let replaced = case.parts.iter().find(|p| p.sound && snare.replaced.contains(&p.name));
    if let Some(part) = replaced {
        return Some((part.at, tell!("marking-trap-part", part = part.label, t = clock(part.at))));
    }
    let rule = case.bay().breaches().iter().find(|b| snare.broken.contains(&b.rule));
    if let Some(breach) = rule {
        return Some((breach.at, tell!("marking-trap-breach", t = clock(breach.at), words = breach.words)));
    }
    // who hands back no finding has stepped past nothing
    case.finding?;
    let read = |state: State| {
        case.bay()
            .evidence()
            .iter()
            .any(|e| e.at <= end && matches!(&e.kind, EvidenceKind::Level { state: s, .. } if *s == state))
    };
    let state = snare.unread.iter().find(|s| !read(**s))?;
    Some((end, tell!("marking-trap-unread", state = state.of_reading())))
}
