//! The pressure at the tee over time: the whole sitting at a glance, and every stretch in which
//! something was done, with its actions, the windows that the mark rests on, and a twin in words.

use super::{Label, Scale, TimeAxis, lay, sentence};
use crate::analysis::window::{Window, window};
use crate::bay::action::{MINUTE, Micros, SECOND};
use crate::language::{named, said};
use crate::marking::sentence::{clock, number};
use crate::report::document::{Cell, Holds, Table};
use crate::report::figure::{Anchor, Figure, Ink, LETTER, Shape, WIDTH};
use crate::tell;
use crate::trace::Trace;

const LEFT: f64 = 52.0;
const RIGHT: f64 = WIDTH - 8.0;
/// One column a unit of width: no sample is lost, however many a column holds.
const COLUMNS: usize = (RIGHT - LEFT) as usize;
/// Farther apart than the slowest sampling of the logger: in between, nothing was measured.
const APART: Micros = 6 * SECOND;

/// A moment of the trace that something rests on, with what stands for it, such as the numbers of
/// ledger lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rests {
    /// Start and end.
    pub window: (Micros, Micros),
    /// Its name on the chart.
    pub name: String,
}

/// The stretches of a trace in which something was done. Pauses longer than two minutes without a tick
/// are cut out, so that the runs themselves can be seen.
pub fn stretches(trace: &Trace) -> Vec<(Micros, Micros)> {
    const AROUND: Micros = 15 * SECOND;
    const PAUSE: Micros = 2 * MINUTE;
    const FEWEST: usize = 50;
    let mut list: Vec<(Micros, Micros)> = vec![];
    let Some((&first, &last)) = trace.at.first().zip(trace.at.last()) else { return list };
    for tick in trace.ticks.iter().filter(|t| (first..=last).contains(&t.at)) {
        let (from, to) = (tick.at.saturating_sub(AROUND).max(first), (tick.at + 4 * AROUND).min(last));
        match list.last_mut() {
            Some((_, end)) if from <= *end + PAUSE => *end = to.max(*end),
            _ => list.push((from, to)),
        }
    }
    // a handful of samples before the tee comes out is no picture
    list.retain(|&(from, to)| window(trace, &trace.mbar, from, to).is_some_and(|w| w.samples >= FEWEST));
    list
}

/// How a window looks, in words: "−95 mbar, steady".
pub fn in_words(w: &Window, seconds: f64) -> String {
    let level = format!("{} mbar", number(w.level, 0));
    let moved = w.slope * seconds;
    if moved.abs() > 10.0 && w.slope.abs() > 4.0 * w.slope_error {
        let way = if moved > 0.0 { said("figure-rising") } else { said("figure-falling") };
        return format!("{level}, {way}");
    }
    let swing = w.highest - w.lowest;
    if swing > 30.0 {
        tell!("figure-swinging", level = level, swing = format!("{swing:.0}"))
    } else {
        tell!("figure-steady", level = level)
    }
}

/// What was seen between one action and the next.
#[derive(Clone, Debug, PartialEq)]
struct Spell {
    from: Micros,
    to: Micros,
    after: String,
    all: Window,
    end: String,
}

fn spells(trace: &Trace, from: Micros, to: Micros) -> Vec<Spell> {
    const LAST: Micros = 3 * SECOND;
    let mut bounds: Vec<(Micros, String)> = vec![(from, String::new())];
    for tick in trace.ticks.iter().filter(|t| (from..to).contains(&t.at)) {
        match bounds.last_mut() {
            Some((at, words)) if *at == tick.at && !words.is_empty() => {
                *words += &format!(", {}", named(&tick.word))
            }
            Some((at, words)) if *at == tick.at => named(&tick.word).clone_into(words),
            _ => bounds.push((tick.at, named(&tick.word).to_owned())),
        }
    }
    let ends: Vec<Micros> = bounds.iter().skip(1).map(|b| b.0).chain([to]).collect();
    bounds
        .into_iter()
        .zip(ends)
        .filter_map(|((start, after), end)| {
            let all = window(trace, &trace.mbar, start, end)?;
            // the sample at the end already belongs to the next action
            let last = start.max(end.saturating_sub(LAST));
            let w = window(trace, &trace.mbar, last, end.saturating_sub(1).max(last)).unwrap_or(all);
            let end_words = in_words(&w, (end - last) as f64 / SECOND as f64);
            Some(Spell { from: start, to: end, after, all, end: end_words })
        })
        .collect()
}

fn twin(list: &[Spell], title: &str) -> (String, Table) {
    let mut table = Table::new(
        tell!("figure-spells-caption", title = title),
        &[
            (said("figure-after"), Holds::Words, 3.0),
            (said("report-from"), Holds::Figures, 1.4),
            (said("figure-to"), Holds::Figures, 1.4),
            (said("figure-lowest"), Holds::Figures, 1.2),
            (said("figure-highest"), Holds::Figures, 1.2),
            (said("figure-at-the-end"), Holds::Words, 3.0),
        ],
    );
    let mut words = vec![];
    for spell in list {
        // a bare number is a speed that the engine was held at
        let speed = spell.after.parse::<f64>().is_ok();
        let after = match spell.after.as_str() {
            "" => said("figure-at-first").to_owned(),
            word if speed => format!("{word} 1/min"),
            words => words.to_owned(),
        };
        if spell.to - spell.from >= SECOND {
            words.push(format!("{after}: {}", spell.end));
        }
        table.row([
            Cell::from(after.as_str()),
            clock(spell.from).into(),
            clock(spell.to).into(),
            number(spell.all.lowest, 0).into(),
            number(spell.all.highest, 0).into(),
            spell.end.as_str().into(),
        ]);
    }
    (sentence(&words), table)
}

/// The pen's way over a stretch: for every column of the chart its lowest and highest value. Where the
/// value stays, one point does for many.
fn pen(trace: &Trace, axis: TimeAxis, scale: &Scale) -> Vec<Vec<(f64, f64)>> {
    let mut ways: Vec<Vec<(f64, f64)>> = vec![];
    let mut way: Vec<(f64, f64)> = vec![];
    let width = (axis.right - axis.left) / COLUMNS as f64;
    let tenth = |v: f64| (10.0 * v).round() / 10.0;
    // between samples far apart columns are empty, and the pen stays down
    let most_empty = (APART as u128 * COLUMNS as u128 / u128::from((axis.to - axis.from).max(1))) as usize;
    let mut empty = 0;
    for (i, column) in trace.reduce(&trace.mbar, axis.from, axis.to, COLUMNS).iter().enumerate() {
        let Some(c) = column else {
            empty += 1;
            if empty > most_empty {
                ways.extend((!way.is_empty()).then(|| std::mem::take(&mut way)));
            }
            continue;
        };
        empty = 0;
        let x = axis.left + width * (i as f64 + 0.5);
        let (low, high) = (tenth(scale.y(c.low)), tenth(scale.y(c.high)));
        // the pen goes on at the end that is nearer to where it is
        let near_low = way.last().is_none_or(|(_, y)| (y - low).abs() <= (y - high).abs());
        for y in if near_low { [low, high] } else { [high, low] } {
            if way.last() == Some(&(x, y)) {
                continue;
            }
            if let [.., (_, a), (_, b)] = way[..]
                && a == y
                && b == y
            {
                way.pop();
            }
            way.push((x, y));
        }
    }
    ways.extend((!way.is_empty()).then_some(way));
    ways
}

/// Lowest and highest value of a stretch, with the zero line, and no closer than would make a gauge's flicker look
/// like something that happened.
fn extent(trace: &Trace, from: Micros, to: Micros) -> (f64, f64) {
    const CLOSEST_MBAR: f64 = 60.0;
    let (low, high) =
        window(trace, &trace.mbar, from, to).map_or((0.0, 0.0), |w| (w.lowest.min(0.0), w.highest.max(0.0)));
    let wanting = (CLOSEST_MBAR - (high - low)).max(0.0) / 2.0;
    (low - wanting, high + wanting)
}

/// Whether a stretch has something to tell: the engine turned, the pressure moved, or one of these windows of readings
/// lies in it. A line that is loosened with the engine still does none of it.
pub fn tells(trace: &Trace, (from, to): (Micros, Micros), read: &[(Micros, Micros)]) -> bool {
    const MOVED_MBAR: f64 = 20.0;
    let turns = window(trace, &trace.rpm, from, to).is_some_and(|w| w.highest > 0.0);
    let moves = window(trace, &trace.mbar, from, to).is_some_and(|w| w.highest - w.lowest > MOVED_MBAR);
    turns || moves || read.iter().any(|w| w.1 >= from && w.0 <= to)
}

/// One stretch: actions above, the curve, time and the windows that something rests on below.
pub fn stretch(trace: &Trace, from: Micros, to: Micros, name: &str, rests: &[Rests]) -> Figure {
    const LANES: usize = 4;
    const PLOT: f64 = 190.0;
    let axis = TimeAxis { from, to, left: LEFT, right: RIGHT };
    let ticks: Vec<_> = trace.ticks.iter().filter(|t| (from..=to).contains(&t.at)).collect();
    let labels: Vec<Label> =
        ticks.iter().map(|t| Label { x: axis.x(t.at), text: named(&t.word).to_owned() }).collect();
    let placed = lay(&labels, LANES, LEFT, WIDTH);
    let used = placed.iter().flatten().map(|p| p.lane + 1).max().unwrap_or(0) as f64;
    let top = 1.25 * LETTER * used + 0.6 * LETTER;
    let (low, high) = extent(trace, from, to);
    let scale = Scale::over(low, high, top, top + PLOT, 6.0);
    let base = scale.bottom;

    let list = spells(trace, from, to);
    let title = tell!("figure-pressure-title", name = name, from = clock(from), to = clock(to));
    let (words, table) = twin(&list, name);
    let mut figure = Figure { title, words, table, height: base, shapes: vec![] };
    figure.field((LEFT, top), (RIGHT, base), Ink::Paper);
    let here: Vec<&Rests> = rests.iter().filter(|r| r.window.1 >= from && r.window.0 <= to).collect();
    for rest in &here {
        // a moment without length is still to be seen
        let (a, b) = (axis.x(rest.window.0), axis.x(rest.window.1));
        figure.field((a.min(b - 1.5), top), (b, base), Ink::Field);
    }
    scale.draw(&mut figure, LEFT, RIGHT);
    let lowest = base + below(&mut figure, axis, &here, base);
    axis.draw(&mut figure, (top, base), lowest);
    for (label, place) in labels.iter().zip(&placed) {
        let lane = place.as_ref().map_or(0, |p| p.lane);
        let y = top - 0.5 * LETTER - 1.25 * LETTER * lane as f64;
        let from = if place.is_some() { y } else { top };
        figure.line((label.x, from), (label.x, top + 5.0), Ink::Moment);
        if let Some(place) = place {
            let shift = if place.anchor == Anchor::Start { 3.0 } else { -3.0 };
            figure.text((label.x + shift, y + 0.1 * LETTER), place.anchor, Ink::Word, &label.text);
        }
    }
    figure.shapes.push(Shape::Path { stretches: pen(trace, axis, &scale), ink: Ink::Measured });
    figure.height = lowest + 1.8 * LETTER;
    figure
}

/// Names of what rests on the curve, between it and its times; the height they take.
fn below(figure: &mut Figure, axis: TimeAxis, rests: &[&Rests], from: f64) -> f64 {
    let mut sorted = rests.to_vec();
    sorted.sort_by_key(|r| (r.window.1, r.window.0));
    let labels: Vec<Label> = sorted.iter().map(|r| Label { x: axis.x(r.window.1), text: r.name.clone() }).collect();
    let placed = lay(&labels, 4, LEFT, WIDTH);
    let mut lanes = 0;
    for (label, place) in labels.iter().zip(&placed) {
        let Some(place) = place else { continue };
        lanes = lanes.max(place.lane + 1);
        let y = from + 1.25 * LETTER * (place.lane as f64 + 1.0);
        figure.line((label.x, from), (label.x, y), Ink::Moment);
        let shift = if place.anchor == Anchor::Start { 3.0 } else { -3.0 };
        figure.text((label.x + shift, y), place.anchor, Ink::Word, &label.text);
    }
    1.25 * LETTER * lanes as f64
}

/// The whole sitting at a glance, with the names of its stretches.
pub fn whole(trace: &Trace, end: Micros, named: &[(String, (Micros, Micros))]) -> Figure {
    const PLOT: f64 = 130.0;
    let axis = TimeAxis { from: 0, to: end.max(1), left: LEFT, right: RIGHT };
    let top = 1.9 * LETTER;
    let (low, high) = extent(trace, 0, end);
    let scale = Scale::over(low, high, top, top + PLOT, 5.0);
    let mut table = Table::new(
        said("figure-stretches-caption"),
        &[
            (said("figure-stretch"), Holds::Words, 1.0),
            (said("report-from"), Holds::Figures, 1.0),
            (said("figure-to"), Holds::Figures, 1.0),
            (said("figure-lowest"), Holds::Figures, 1.0),
            (said("figure-highest"), Holds::Figures, 1.0),
        ],
    );
    let mut words = vec![];
    let mut figure = Figure {
        title: tell!("figure-whole-title", from = clock(0), to = clock(end)),
        words: String::new(),
        table: Table::new("", &[]),
        height: scale.bottom + 1.9 * LETTER,
        shapes: vec![],
    };
    figure.field((LEFT, top), (RIGHT, scale.bottom), Ink::Paper);
    for (_, (from, to)) in named {
        figure.field((axis.x(*from), top), (axis.x(*to), scale.bottom), Ink::Field);
    }
    scale.draw(&mut figure, LEFT, RIGHT);
    axis.draw(&mut figure, (top, scale.bottom), scale.bottom);
    figure.shapes.push(Shape::Path { stretches: pen(trace, axis, &scale), ink: Ink::Measured });
    let labels: Vec<Label> =
        named.iter().map(|(name, (from, _))| Label { x: axis.x(*from), text: name.clone() }).collect();
    let placed = lay(&labels, 1, LEFT, WIDTH);
    for (((name, (from, to)), label), place) in named.iter().zip(&labels).zip(placed) {
        let Some(w) = window(trace, &trace.mbar, *from, *to) else { continue };
        table.row([
            Cell::from(name.as_str()),
            clock(*from).into(),
            clock(*to).into(),
            number(w.lowest, 0).into(),
            number(w.highest, 0).into(),
        ]);
        let (lowest, highest) = (number(w.lowest, 0), number(w.highest, 0));
        words.push(tell!(
            "figure-stretch-words",
            name = name,
            from = clock(*from),
            to = clock(*to),
            lowest = lowest,
            highest = highest
        ));
        if let Some(place) = place {
            figure.text((label.x, top - 0.6 * LETTER), place.anchor, Ink::Word, &label.text);
        }
    }
    figure.words = sentence(&words);
    figure.table = table;
    figure
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::Tick;

    /// A trace at 50 samples a second: a level a second.
    fn trace(levels: &[f64], ticks: &[(u64, &str)]) -> Trace {
        let mut trace = Trace::default();
        for i in 0..levels.len() * 50 {
            trace.at.push((i as u64 + 1) * 20_000);
            trace.mbar.push(levels[i / 50]);
            trace.gas.push(0.0);
            trace.rpm.push(0.0);
        }
        trace.ticks = ticks.iter().map(|(at, word)| Tick { at: at * SECOND, word: (*word).to_owned() }).collect();
        trace
    }

    #[test]
    fn a_spike_of_one_sample_is_drawn() {
        let mut spiky = trace(&[-90.0; 1000], &[]);
        let to = 1000 * SECOND;
        spiky.mbar[31_234] = -600.0;
        let svg = stretch(&spiky, 0, to, "Run 1", &[]).svg();
        spiky.mbar[31_234] = -90.0;
        let flat = stretch(&spiky, 0, to, "Run 1", &[]).svg();
        assert!(svg.contains("−600") && !flat.contains("−600"));
    }

    #[test]
    fn a_level_pen_needs_few_points_and_a_gap_lifts_it() {
        let mut level = trace(&[-90.0; 100], &[]);
        let axis = TimeAxis { from: 0, to: 100 * SECOND, left: LEFT, right: RIGHT };
        let scale = Scale::over(-90.0, 0.0, 10.0, 100.0, 5.0);
        let ways = pen(&level, axis, &scale);
        assert_eq!(ways.iter().map(Vec::len).collect::<Vec<_>>(), [2]);
        level.mbar[2000..3000].fill(f64::NAN);
        assert_eq!(pen(&level, axis, &scale).len(), 2);
    }

    #[test]
    fn the_twin_says_what_the_curve_shows() {
        let mut levels = vec![-4.0; 10];
        levels.extend([-95.0; 20]);
        levels.extend((0..10).map(|i| -95.0 - 40.0 * f64::from(i)));
        let trace = trace(&levels, &[(10, "idle"), (30, "valve shut")]);
        let figure = stretch(&trace, 0, 40 * SECOND, "Run 1", &[]);
        assert_eq!(
            figure.words,
            "At first: −4 mbar, steady; idle: −95 mbar, steady; valve shut: −415 mbar, falling."
        );
        assert_eq!(figure.table.rows.len(), 3);
        assert_eq!(figure.table.rows[1][3].text, "−95");
    }

    #[test]
    fn the_same_trace_gives_the_same_text() {
        let trace = trace(&[-4.0, -95.0, -353.0, -353.0], &[(1, "idle"), (2, "speed 2500")]);
        let rests = [Rests { window: (2 * SECOND, 3 * SECOND), name: "5, 11".to_owned() }];
        let one = stretch(&trace, 0, 4 * SECOND, "Run 1", &rests);
        assert_eq!(one.svg(), stretch(&trace, 0, 4 * SECOND, "Run 1", &rests).svg());
        assert!(one.svg().contains(">5, 11</text>") && one.svg().contains(">speed 2500</text>"));
    }

    #[test]
    fn flicker_of_a_still_line_stays_small_and_tells_nothing_unless_it_was_read() {
        let levels: Vec<f64> = (0..60).map(|i| f64::from(i % 5)).collect();
        let still = trace(&levels, &[(20, "relieved")]);
        let (low, high) = extent(&still, 0, 60 * SECOND);
        assert!(high - low >= 60.0 && low < 0.0 && high > 4.0, "{low} to {high}");
        let span = (0, 60 * SECOND);
        assert!(!tells(&still, span, &[]) && !tells(&still, span, &[(70 * SECOND, 80 * SECOND)]));
        assert!(tells(&still, span, &[(10 * SECOND, 12 * SECOND)]));
        let mut turned = still.clone();
        turned.rpm[1000] = 200.0;
        assert!(tells(&turned, span, &[]));
        assert!(tells(&trace(&[-4.0, -95.0], &[]), (0, 2 * SECOND), &[]));
    }

    #[test]
    fn an_empty_trace_has_no_stretch_and_no_panic() {
        assert_eq!(stretches(&Trace::default()), []);
        assert_eq!(whole(&Trace::default(), 0, &[]).table.rows.len(), 0);
    }
}
