//! Names for the pieces of a pressure trace that comes without engine speed: a guess from the order of a
//! standard run.

use super::changepoint::change_points;
use super::known::{Point, finite};
use super::level::line;
use super::states::{Phase, Stretch};

/// Scatter that doesn't matter, mbar.
const QUIET: f64 = 0.4;
/// Levels closer than this are the same, mbar, or this share of the whole range.
const SAME_MBAR: f64 = 6.0;
const SAME_SHARE: f64 = 0.02;

struct Piece {
    from: f64,
    to: f64,
    level: f64,
    /// Change over the piece.
    drift: f64,
    farthest: f64,
}

fn pieces(points: &[Point]) -> Vec<Piece> {
    let cuts = change_points(points, QUIET);
    let Some((first, last)) = points.first().zip(points.last()) else { return vec![] };
    let mut edges = vec![first.0];
    edges.extend(&cuts);
    edges.push(last.0);
    edges
        .windows(2)
        .filter_map(|w| {
            let a = points.partition_point(|p| p.0 < w[0]);
            let b = points.partition_point(|p| p.0 <= w[1]).max(a);
            let some = &points[a..b];
            let (level, drift) = match line(some) {
                Ok(l) => (l.level.value, l.slope.value * (w[1] - w[0])),
                Err(_) => (some.iter().map(|p| p.1).sum::<f64>() / some.len().max(1) as f64, 0.0),
            };
            let farthest = some.iter().map(|p| p.1).fold(level, |m, v| if v.abs() > m.abs() { v } else { m });
            (!some.is_empty()).then_some(Piece { from: w[0], to: w[1], level, drift, farthest })
        })
        .collect()
}

/// Pieces of nearly one level and no slope in a row are one; moving ones go with what they lead to.
fn settled(pieces: Vec<Piece>, same: f64) -> Vec<Piece> {
    let mut out: Vec<Piece> = vec![];
    for p in pieces {
        match out.last_mut() {
            Some(last) if (last.level - p.level).abs() < same && p.drift.abs() < 4.0 * same => {
                let (a, b) = (last.to - last.from, p.to - p.from);
                last.level = (last.level * a + p.level * b) / (a + b);
                last.to = p.to;
                if p.farthest.abs() > last.farthest.abs() {
                    last.farthest = p.farthest;
                }
            }
            _ => out.push(p),
        }
    }
    out
}

/// Names of the states of a trace.
pub(super) fn named(points: &[Point]) -> Vec<Stretch> {
    let points = finite(points);
    if points.len() < 40 {
        return vec![];
    }
    let raw = pieces(&points);
    if raw.len() < 2 {
        return vec![];
    }
    let (low, high) = points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p.1), h.max(p.1)));
    let range = high - low;
    let same = SAME_MBAR.max(SAME_SHARE * range);
    let list = settled(raw, same);
    let whole = points[points.len() - 1].0 - points[0].0;
    let rest = list[0].level;
    let off = |p: &Piece| p.level - rest;
    // the level that takes longest away from rest is idle
    let calm = |p: &Piece| p.drift.abs() < 0.25 * off(p).abs().max(same) && p.to - p.from > 2.5;
    let inner = 1..list.len().max(2) - 1;
    let mut lengths: Vec<(f64, f64)> = vec![];
    for p in list[inner.clone()].iter().filter(|p| calm(p) && off(p).abs() > 2.0 * same.min(8.0)) {
        match lengths.iter_mut().find(|(level, _)| (*level - p.level).abs() < 2.0 * same) {
            Some(l) => l.1 += p.to - p.from,
            None => lengths.push((p.level, p.to - p.from)),
        }
    }
    // of two levels with about the same time the one nearer to rest idles
    lengths.sort_by(|a, b| (a.0 - rest).abs().total_cmp(&(b.0 - rest).abs()));
    let longest = lengths.iter().map(|l| l.1).fold(0.0, f64::max);
    let Some(&(idle, _)) = lengths.iter().find(|l| l.1 > 0.4 * longest) else {
        return vec![Stretch { phase: Phase::Other, from: points[0].0, to: points[points.len() - 1].0 }];
    };
    let up = |v: f64| (v - rest) / (idle - rest);
    let deepest = list.iter().map(|p| up(p.farthest)).fold(1.0, f64::max);
    let mut out: Vec<Stretch> = vec![];
    let mut ran = false;
    for (k, p) in list.iter().enumerate() {
        let (u, length) = (up(p.level), p.to - p.from);
        let moving = p.drift.abs() > 0.25 * (p.level - rest).abs().max(same);
        let far = up(p.farthest);
        let phase = if k == 0 {
            Phase::Rest
        } else if far > 0.6 * deepest
            && deepest > 2.5
            && (length < 15.0 || far > 0.9 * deepest)
            && (moving || length < 15.0)
        {
            Phase::DeadHead
        } else if (p.level - idle).abs() < 2.0 * same {
            Phase::Idle
        } else if u > 1.2 {
            if moving && length < 3.0 { Phase::Idle } else { Phase::Raised }
        } else if !ran {
            Phase::Crank
        } else if length < 5.0 && moving {
            Phase::RunDown
        } else {
            Phase::Hold
        };
        ran |= phase == Phase::Idle;
        match out.last_mut() {
            Some(last) if last.phase == phase => last.to = p.to,
            _ => out.push(Stretch { phase, from: p.from, to: p.to }),
        }
    }
    tidied(out, whole)
}

/// What passes through on the way (under 2.5 s) isn't a state of its own, but for crank, dead-head and run-down.
fn tidied(list: Vec<Stretch>, whole: f64) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = vec![];
    let count = list.len();
    for (k, s) in list.into_iter().enumerate() {
        let passing = s.length() < 2.5_f64.min(0.05 * whole)
            && matches!(s.phase, Phase::Idle | Phase::Raised | Phase::Hold)
            && k + 1 < count;
        match out.last_mut() {
            Some(last) if last.phase == s.phase || passing => last.to = s.to,
            _ => out.push(s),
        }
    }
    // a hold that is followed by running wasn't one
    for k in 0..out.len() {
        if matches!(out[k].phase, Phase::Hold | Phase::RunDown)
            && out[k + 1..].iter().any(|s| matches!(s.phase, Phase::Idle | Phase::Raised | Phase::DeadHead))
        {
            out[k].phase = Phase::Other;
        }
    }
    out
}
