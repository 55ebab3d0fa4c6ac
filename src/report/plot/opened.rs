//! The line with its wall opened at one moment: the true pressure from tank to engine against that of a sound
//! vehicle, where gas and water stood, and what a reading at the tee could see of it.

use super::{Scale, sentence};
use crate::bay::action::{Micros, SECOND};
use crate::bay::opened::{GRAINS, Gas, Moment, Opened, Spot, TeeSpot};
use crate::language::{named, said};
use crate::marking::sentence::{clock, number};
use crate::report::document::{Cell, Holds, Table};
use crate::report::figure::{Anchor, Figure, Ink, LETTER, Shape, WIDTH};
use crate::tell;

const LEFT: f64 = 52.0;
const RIGHT: f64 = WIDTH - 28.0;
/// Height of the plot.
const PLOT: f64 = 170.0;
/// Height of the pipe under it.
const PIPE: f64 = 16.0;
/// Half the gap that the tee's valve parts the line by, in distances from place to place.
pub const GAP: f64 = 0.05;
/// Difference from a sound vehicle that is worth a word, mbar: what a reading is in doubt by.
pub const WORTH_MBAR: f64 = 8.0;
/// A moment is settled when it looks the same so much earlier and later.
const SETTLED: Micros = SECOND;
/// Opening from which the tee's valve is as good as open.
const OPEN: f64 = 0.99;

/// What a place is called.
pub fn place_words(opened: &Opened, place: usize) -> &str {
    opened.places.get(place).map_or("", |p| p.joint.as_deref().unwrap_or(&p.node))
}

/// How many places, from the tank, are drawn to scale. Behind a pump that draws through a long line the pressure is
/// many times as large and stands as a number only.
pub fn to_scale(opened: &Opened) -> usize {
    match opened.parts.iter().position(|p| p.pumps) {
        Some(pump) if pump >= 3 => pump + 1,
        _ => opened.places.len(),
    }
}

/// Lowest and highest pressure of both vehicles at a moment, mbar, over the places to scale; zero is always among them.
pub fn span(opened: &Opened, (here, sound): (&Moment, &Moment)) -> (f64, f64) {
    let shown = to_scale(opened);
    let all = here.way().into_iter().chain(sound.way()).filter(|(place, _)| *place < shown);
    all.map(|(_, mbar)| mbar).filter(|v| v.is_finite()).fold((0.0, 0.0), |(low, high), v| (low.min(v), high.max(v)))
}

/// The pressure over the way, for a drawing: distance from the tank, counted in places, and mbar. Where a tee's valve
/// parts the line there are two points.
pub fn profile(moment: &Moment, shown: usize) -> Vec<(f64, f64)> {
    let mut list: Vec<(f64, f64)> = vec![];
    for (place, mbar) in moment.way().into_iter().filter(|(place, _)| *place < shown) {
        let at = place as f64;
        match list.last_mut() {
            Some(last) if last.0 == at => {
                last.0 -= GAP;
                list.push((at + GAP, mbar));
            }
            _ => list.push((at, mbar)),
        }
    }
    list
}

/// Where the glass of a tee stands, counted in places.
pub fn tee_at(tee: TeeSpot) -> f64 {
    tee.place as f64 + if tee.before { -GAP } else { GAP }
}

/// What a part drops more than in a sound vehicle, mbar; at a pump what it adds less.
fn excess(here: &Moment, sound: &Moment, part: usize) -> f64 {
    drop_over(here, part) - drop_over(sound, part)
}

/// Pressure lost over a part, from the spot after the tee before it to the spot before the tee behind it, mbar.
fn drop_over(moment: &Moment, part: usize) -> f64 {
    let way = moment.way();
    let last = |place| way.iter().rev().find(|(p, _)| *p == place).map_or(0.0, |w| w.1);
    let first = |place| way.iter().find(|(p, _)| *p == place).map_or(0.0, |w| w.1);
    last(part) - first(part + 1)
}

/// Gas beyond that of a sound vehicle at the place with the most of it: place, share.
fn most_gas(here: &Moment, sound: &Moment) -> Option<(usize, f64)> {
    let more = |(i, (a, b)): (usize, (&Spot, &Spot))| (i, a.mean_gas() - b.mean_gas());
    let all = here.spots.iter().zip(&sound.spots).enumerate().map(more);
    all.max_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, more)| *more > 0.0)
}

/// The part whose drop departs most from a sound vehicle's, and by how much, mbar.
fn largest_excess(opened: &Opened, (here, sound): (&Moment, &Moment)) -> Option<(usize, f64)> {
    let shown = to_scale(opened).saturating_sub(1);
    let own = |part: usize| {
        let more = excess(here, sound, part);
        // a pump that adds more only makes up for what is lost elsewhere
        (part, if opened.parts[part].pumps { more.max(0.0) } else { more })
    };
    let all = (0..shown.min(opened.parts.len())).map(own);
    all.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
}

/// How much the tee's valve parts the line, mbar.
pub fn parted(moment: &Moment) -> Option<f64> {
    let tee = moment.tee.filter(|t| t.open < OPEN)?;
    Some(tee.spot.mbar - moment.spots.get(tee.place)?.mbar)
}

/// The moments that tell most, in order of time: where a part's drop departs most from a sound vehicle's, where most gas
/// stands that a sound one hasn't, and where the last reading of the sheet was taken. Each stands for something else:
/// moments within a few seconds of one another are one.
pub fn telling(opened: &Opened, last_reading: Option<Micros>) -> Vec<usize> {
    const APART: Micros = 5 * SECOND;
    let pairs = || opened.moments.iter().zip(&opened.sound).enumerate();
    let settled = |of: &dyn Fn(usize) -> f64| {
        let score = |(i, (m, _)): (usize, (&Moment, &Moment))| {
            let (before, after) = (opened.index(m.at.saturating_sub(SETTLED)), opened.index(m.at + SETTLED));
            (i, [before, i, after].into_iter().map(of).fold(f64::INFINITY, f64::min))
        };
        // the first of equals, so that nothing hangs on how finely time is cut
        pairs().map(score).fold(None, |best: Option<(usize, f64)>, (i, v)| match best {
            Some((_, top)) if v <= top + 1e-9 => best,
            _ => Some((i, v)),
        })
    };
    let pair = |i: usize| (&opened.moments[i], &opened.sound[i]);
    let drop = settled(&|i| {
        let runs = opened.moments[i].rpm > 0.0 && parted(&opened.moments[i]).is_none();
        if runs { largest_excess(opened, pair(i)).map_or(0.0, |(_, d)| d.abs()) } else { 0.0 }
    });
    let gas = settled(&|i| most_gas(pair(i).0, pair(i).1).map_or(0.0, |(_, g)| g));
    let fast = settled(&|i| opened.moments[i].rpm);
    let mut list: Vec<usize> = vec![];
    let departs = [
        drop.filter(|(_, d)| *d >= WORTH_MBAR),
        gas.filter(|(_, g)| *g >= 0.015),
        last_reading.map(|at| (opened.index(at), 1.0)).filter(|_| !opened.moments.is_empty()),
    ];
    // nothing departs and nothing was read: the engine at its fastest shows that
    let fast = fast.filter(|(_, rpm)| *rpm > 0.0 && departs.iter().all(Option::is_none));
    for (i, _) in departs.into_iter().chain([fast]).flatten() {
        let at = opened.moments[i].at;
        if list.iter().all(|&k| opened.moments[k].at.abs_diff(at) > APART) {
            list.push(i);
        }
    }
    list.sort_unstable();
    list
}

/// The opened line at a moment in sentences.
pub fn words(opened: &Opened, i: usize) -> Vec<String> {
    let Some((here, sound)) = opened.moments.get(i).zip(opened.sound.get(i)) else { return vec![] };
    let mut list = vec![];
    list.extend(step_words(opened, (here, sound)));
    list.extend(gas_words(opened, here));
    list.extend(water_words(opened, here));
    list.push(tee_words(opened, (here, sound)));
    if let Some(place) = here.fed_at {
        list.push(tell!("figure-fed-at", place = place_words(opened, place)));
    }
    list
}

fn step_words(opened: &Opened, (here, sound): (&Moment, &Moment)) -> Vec<String> {
    let mut list = vec![];
    if let Some(mbar) = parted(here) {
        list.push(tell!("figure-tee-valve-shut", mbar = number(mbar.abs(), 0)));
    }
    let Some((part, more)) = largest_excess(opened, (here, sound)) else { return list };
    if more.abs() < WORTH_MBAR {
        list.push(said("figure-nothing-departs").to_owned());
        return list;
    }
    let is = &opened.parts[part];
    let (a, b) = (drop_over(here, part), drop_over(sound, part));
    // what a part drops is told as a loss, what it adds as a gain; standing fuel has its column in both
    list.push(if is.pumps {
        tell!("figure-pump-adds", part = is.label, adds = number(-a, 0), sound = number(-b, 0))
    } else {
        // the difference is of the numbers that stand beside it
        let less = if more < 0.0 { said("figure-less") } else { said("figure-more") };
        tell!(
            "figure-over-part",
            part = is.label,
            drop = number(-a, 0),
            off = number((a.round() - b.round()).abs(), 0),
            less = less,
            sound = number(-b, 0)
        )
    });
    list
}

fn gas_words(opened: &Opened, here: &Moment) -> Vec<String> {
    let mut list = vec![];
    for kind in [Gas::LetIn, Gas::Vapour, Gas::CameOut] {
        let places: Vec<(usize, f64)> = here
            .spots
            .iter()
            .enumerate()
            .filter(|(_, s)| s.kind() == Some(kind))
            .map(|(place, s)| (place, s.mean_gas()))
            .collect();
        // what stands in the tee's glass is told with the tee
        let Some(&(most, share)) = places.iter().max_by(|a, b| a.1.total_cmp(&b.1)) else { continue };
        let more = match places.len() {
            1 => String::new(),
            2 => said("figure-gas-one-more").to_owned(),
            n => tell!("figure-gas-places-more", places = n - 1),
        };
        let words = tell!(
            "figure-gas-at",
            gas = kind.words(),
            share = share_words(share),
            place = place_words(opened, most),
            more = more
        );
        list.push(sentence(&[words]));
    }
    let boils: Vec<&str> = here
        .spots
        .iter()
        .enumerate()
        .filter(|(_, s)| s.mbar <= s.boils_mbar + 2.0)
        .map(|(place, _)| place_words(opened, place))
        .collect();
    if let Some(first) = boils.first() {
        list.push(tell!("figure-boils-at", first = first));
    }
    list
}

fn water_words(opened: &Opened, here: &Moment) -> Option<String> {
    let clouded: Vec<&str> = here
        .spots
        .iter()
        .enumerate()
        .filter(|(_, s)| s.is_clouded())
        .map(|(place, _)| place_words(opened, place))
        .collect();
    let first = clouded.first()?;
    Some(tell!("figure-water-from", first = first, clouded = clouded.len(), places = here.spots.len()))
}

/// What a reading at the tee could see of it.
fn tee_words(opened: &Opened, (here, sound): (&Moment, &Moment)) -> String {
    let Some(tee) = here.tee else { return said("figure-no-tee").to_owned() };
    let at = place_words(opened, tee.place);
    let other = sound.tee.map_or(f64::NAN, |t| t.spot.mbar);
    let shown = to_scale(opened);
    let beside = here.spots.iter().zip(&sound.spots).enumerate().take(shown);
    let farthest = beside.map(|(i, (a, b))| (i, a.mbar - b.mbar)).max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    let (place, away) = farthest.unwrap_or((tee.place, 0.0));
    let own = tee.spot.mbar - other;
    let read = tell!("figure-tee-read", here = number(tee.spot.mbar, 0), sound = number(other, 0));
    let pressure = if parted(here).is_some() {
        tell!("figure-tee-against-valve", at = at, read = read)
    } else if away.abs() < WORTH_MBAR && own.abs() < WORTH_MBAR {
        tell!("figure-tee-nothing", at = at, read = read)
    } else if own.abs() >= 0.7 * away.abs() {
        tell!("figure-tee-sees", at = at, read = read)
    } else if own.abs() >= WORTH_MBAR {
        tell!(
            "figure-tee-sees-part",
            at = at,
            read = read,
            place = place_words(opened, place),
            mbar = number(away, 0)
        )
    } else {
        tell!(
            "figure-tee-sees-none",
            at = at,
            read = read,
            place = place_words(opened, place),
            mbar = number(away, 0)
        )
    };
    let anywhere = here.spots.iter().any(|s| s.kind().is_some());
    match tee.spot.kind() {
        Some(kind) => {
            tell!(
                "figure-glass-gas",
                pressure = pressure,
                share = share_words(tee.spot.mean_gas()),
                gas = kind.words()
            )
        }
        None if anywhere => tell!("figure-glass-none", pressure = pressure),
        None => tell!("figure-glass-clear", pressure = pressure),
    }
}

/// How the engine turned at a moment.
pub fn engine_words(moment: &Moment) -> String {
    match (moment.rpm / 10.0).round() * 10.0 {
        rpm if rpm > 0.0 => tell!("figure-engine-at", rpm = number(rpm, 0)),
        _ => said("figure-engine-off").to_owned(),
    }
}

/// A share of gas as people say it.
pub fn share_words(share: f64) -> String {
    let percent = 100.0 * share;
    if percent < 1.0 { format!("{} %", number(percent, 1)) } else { format!("{} %", number(percent, 0)) }
}

/// Text in lines of at most so many letters, at most two of them; what doesn't fit ends in an ellipsis.
pub fn in_two_lines(text: &str, letters: usize) -> Vec<String> {
    let letters = letters.max(4);
    let mut lines: Vec<String> = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        let long = lines[last].chars().count() + 1 + word.chars().count();
        if lines[last].is_empty() {
            lines[last].push_str(word);
        } else if long <= letters {
            lines[last] = format!("{} {word}", lines[last]);
        } else {
            lines.push(word.to_owned());
        }
    }
    let cut = lines.len() > 2;
    lines.truncate(2);
    let last = lines.len() - 1;
    for (i, line) in lines.iter_mut().enumerate() {
        if line.chars().count() > letters || (cut && i == last) {
            *line = line.chars().take(letters - 1).collect::<String>() + "…";
        }
    }
    lines
}

/// The figure of one moment.
pub fn figure(opened: &Opened, i: usize) -> Option<Figure> {
    let (here, sound) = opened.moments.get(i).zip(opened.sound.get(i))?;
    let places = opened.places.len();
    if places < 2 {
        return None;
    }
    let wide = (RIGHT - LEFT) / (places - 1) as f64;
    let x = |place: usize| LEFT + wide * place as f64;
    let shown = to_scale(opened);
    let (low, high) = span(opened, (here, sound));
    // the legend, and below it what the tee reads
    let top = 3.3 * LETTER;
    let scale = Scale::over(low, high, top, top + PLOT, 6.0);
    let mut figure = Figure {
        title: tell!("figure-opened-title", time = clock(here.at), engine = engine_words(here)),
        words: words(opened, i).join(" "),
        table: table(opened, (here, sound)),
        height: 0.0,
        shapes: vec![],
    };
    figure.field((LEFT, top), (RIGHT, scale.bottom), Ink::Paper);
    scale.draw(&mut figure, LEFT, RIGHT);
    let drawn = boiling(&mut figure, here, &scale, &x, shown);
    legend(&mut figure, drawn);
    let way = |moment: &Moment| -> Vec<(f64, f64)> {
        profile(moment, shown).into_iter().map(|(at, mbar)| (LEFT + wide * at, scale.y(mbar))).collect()
    };
    figure.shapes.push(Shape::Path { stretches: vec![way(sound)], ink: Ink::Beside });
    figure.shapes.push(Shape::Path { stretches: vec![way(here)], ink: Ink::Measured });
    if let Some(last) = here.spots.get(places - 1).filter(|_| shown < places) {
        // in the stretch of the pump itself, where no curve runs
        let foot = scale.bottom - 5.0;
        figure.text((RIGHT - 4.0, foot - 1.15 * LETTER), Anchor::End, Ink::Quiet, said("figure-behind-pump"));
        figure.text((RIGHT - 4.0, foot), Anchor::End, Ink::Quiet, number(last.mbar, 0));
    }
    if let Some(tee) = here.tee {
        let at = (LEFT + wide * tee_at(tee), scale.y(tee.spot.mbar));
        figure.line((x(tee.place), top - 2.0), (x(tee.place), scale.bottom + PIPE + 8.0), Ink::Moment);
        let anchor = if tee.place + 1 == places { Anchor::End } else { Anchor::Middle };
        figure.text(
            (x(tee.place), top - 6.0),
            anchor,
            Ink::Word,
            tell!("figure-tee", mbar = number(tee.spot.mbar, 0)),
        );
        figure.shapes.push(Shape::Dot { at, filled: true, ink: Ink::Measured });
    }
    let foot = pipe(&mut figure, here, scale.bottom + 8.0, &x);
    figure.height = labels(&mut figure, opened, foot, wide, &x) + 0.4 * LETTER;
    Some(figure)
}

fn legend(figure: &mut Figure, boiling: bool) {
    let y = 0.9 * LETTER;
    let mut x = LEFT;
    let pens = [
        (Ink::Measured, said("figure-this-vehicle")),
        (Ink::Beside, said("figure-a-sound-one")),
        (Ink::Stated, said("figure-boils-below-line")),
    ];
    for (ink, words) in pens.into_iter().filter(|(ink, _)| boiling || *ink != Ink::Stated) {
        figure.shapes.push(Shape::Path { stretches: vec![vec![(x, y - 4.0), (x + 24.0, y - 4.0)]], ink });
        figure.text((x + 30.0, y), Anchor::Start, Ink::Quiet, words);
        x += 40.0 + 7.0 * words.chars().count() as f64;
    }
}

/// The limit of boiling, where it lies on the chart; else its number at the foot. Whether it was drawn.
fn boiling(figure: &mut Figure, here: &Moment, scale: &Scale, x: &dyn Fn(usize) -> f64, shown: usize) -> bool {
    let limits: Vec<f64> = here.spots.iter().take(shown).map(|s| s.boils_mbar).collect();
    let inside = limits.iter().all(|v| (scale.low..=scale.high).contains(v));
    if inside {
        let way = limits.iter().enumerate().map(|(i, v)| (x(i), scale.y(*v))).collect();
        figure.shapes.push(Shape::Path { stretches: vec![way], ink: Ink::Stated });
    } else if let Some(highest) = limits.iter().copied().reduce(f64::max) {
        let at = (LEFT + 6.0, scale.bottom - 5.0);
        figure.text(at, Anchor::Start, Ink::Quiet, tell!("figure-boils-below-chart", mbar = number(highest, 0)));
    }
    inside
}

/// The pipe as glass: fuel with the gas in it as bubbles, more of them for more gas.
fn pipe(figure: &mut Figure, here: &Moment, top: f64, x: &dyn Fn(usize) -> f64) -> f64 {
    let places = here.spots.len();
    figure.field((x(0), top), (x(places - 1), top + PIPE), Ink::Field);
    for (place, spot) in here.spots.iter().enumerate() {
        let half = 0.5 * (x(1) - x(0));
        let (left, right) = ((x(place) - half).max(x(0)), (x(place) + half).min(x(places - 1)));
        for (k, share) in spot.gas.iter().enumerate().filter(|(_, s)| **s >= 0.002) {
            let (a, b) = (
                left + (right - left) * k as f64 / GRAINS as f64,
                left + (right - left) * (k + 1) as f64 / GRAINS as f64,
            );
            if *share > 0.8 {
                figure.field((a, top), (b, top + PIPE), Ink::Paper);
                continue;
            }
            let bubbles = 1 + (share * 8.0) as usize;
            for n in 0..bubbles.min(4) {
                let at = (
                    a + (b - a) * (n as f64 + 0.5) / bubbles.min(4) as f64,
                    top + PIPE * if n % 2 == 0 { 0.35 } else { 0.65 },
                );
                figure.shapes.push(Shape::Dot { at, filled: false, ink: Ink::Axis });
            }
        }
    }
    for y in [top, top + PIPE] {
        figure.line((x(0), y), (x(places - 1), y), Ink::Axis);
    }
    top + PIPE
}

/// Names of the parts under their stretches, in two lanes where they are many; gives where they end.
fn labels(figure: &mut Figure, opened: &Opened, top: f64, wide: f64, x: &dyn Fn(usize) -> f64) -> f64 {
    let lanes = if wide < 92.0 { 2 } else { 1 };
    let letters = (wide * lanes as f64 / (0.6 * LETTER)) as usize;
    for place in 0..opened.places.len() {
        figure.line((x(place), top), (x(place), top + 5.0), Ink::Axis);
    }
    for (i, part) in opened.parts.iter().enumerate() {
        let lane = i % lanes;
        let y = top + 5.0 + LETTER * 1.1 + lane as f64 * 2.4 * LETTER;
        let half = letters as f64 * 0.3 * LETTER;
        let centre = (0.5 * (x(i) + x(i + 1))).clamp(half, WIDTH - half);
        for (k, line) in in_two_lines(named(&part.part), letters).into_iter().enumerate() {
            figure.text((centre, y + k as f64 * 1.15 * LETTER), Anchor::Middle, Ink::Word, line);
        }
    }
    top + 5.0 + LETTER * 2.4 * lanes as f64
}

fn table(opened: &Opened, (here, sound): (&Moment, &Moment)) -> Table {
    let mut table = Table::new(
        tell!("figure-opened-caption", time = clock(here.at)),
        &[
            (said("figure-place"), Holds::Words, 3.4),
            (said("figure-mbar-gauge"), Holds::Figures, 1.2),
            (said("figure-sound-vehicle"), Holds::Figures, 1.4),
            (said("figure-boils-below"), Holds::Figures, 1.2),
            (said("figure-gas"), Holds::Figures, 1.0),
            (said("figure-which"), Holds::Words, 2.4),
        ],
    );
    let mut row = |name: String, a: &Spot, b: f64| {
        table.row([
            Cell::from(name),
            number(a.mbar, 0).into(),
            number(b, 0).into(),
            number(a.boils_mbar, 0).into(),
            share_words(a.mean_gas()).into(),
            a.kind().map_or("–", Gas::words).into(),
        ]);
    };
    for (i, (a, b)) in here.spots.iter().zip(&sound.spots).enumerate() {
        row(place_words(opened, i).to_owned(), a, b.mbar);
        if let Some(tee) = here.tee.filter(|t| t.place == i) {
            row(said("figure-test-tee").to_owned(), &tee.spot, sound.tee.map_or(f64::NAN, |t| t.spot.mbar));
        }
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::opened::{Between, Place};

    fn spot(mbar: f64, gas: f64) -> Spot {
        Spot { mbar, boils_mbar: -1010.0, gas: [gas; GRAINS], outside: 1.0, ..Spot::default() }
    }

    fn moment(at: Micros, levels: [f64; 4], gas: f64, tee: usize) -> Moment {
        let spots: Vec<Spot> = levels.into_iter().map(|v| spot(v, gas)).collect();
        let tee = Some(TeeSpot { place: tee, before: false, open: 1.0, spot: spots[tee] });
        Moment { at, spots, tee, rpm: 2500.0, fed_at: None }
    }

    fn opened(tee: usize) -> Opened {
        let place = |node: &str| Place { node: node.to_owned(), joint: None };
        let part = |name: &str, pumps| Between { part: name.to_owned(), label: name.to_owned(), pumps };
        let times = || (0..60).map(|k| k * SECOND);
        let gas = |at: Micros| if at > 40 * SECOND { 0.1 } else { 0.0 };
        let drop = |at: Micros| if (10 * SECOND..20 * SECOND).contains(&at) { 150.0 } else { 0.0 };
        Opened {
            places: ["tank", "filter in", "filter out", "pump in"].map(place).to_vec(),
            parts: vec![part("line", false), part("filter", false), part("short line", false)],
            moments: times()
                .map(|at| moment(at, [5.0, -20.0, -60.0 - drop(at), -70.0 - drop(at)], gas(at), tee))
                .collect(),
            sound: times().map(|at| moment(at, [5.0, -20.0, -60.0, -70.0], 0.0, tee)).collect(),
        }
    }

    #[test]
    fn the_telling_moments_are_where_something_departs() {
        let o = opened(3);
        let at: Vec<Micros> = telling(&o, None).into_iter().map(|i| o.moments[i].at / SECOND).collect();
        assert_eq!(at.len(), 2, "{at:?}");
        assert!((11..19).contains(&at[0]) && at[1] > 40, "{at:?}");
        let read: Vec<usize> = telling(&o, Some(30 * SECOND));
        assert_eq!(read.len(), 3, "the last reading has a picture of its own");
        let sound = Opened { moments: o.sound.clone(), ..o.clone() };
        assert_eq!(telling(&sound, None), [0], "where nothing departs, the engine at its fastest");
    }

    #[test]
    fn a_tee_behind_the_filter_sees_it_and_one_before_it_does_not() {
        let behind = words(&opened(3), 15).join(" ");
        assert!(
            behind.contains("Over the filter: −190 mbar from end to end, 150 more than in a sound vehicle (−40)."),
            "{behind}"
        );
        assert!(behind.contains("The tee at the pump in sees it: −220 mbar, in a sound vehicle −70."), "{behind}");
        let before = words(&opened(1), 15).join(" ");
        assert!(before.contains("sees nothing of it: −20 mbar, in a sound vehicle −20"), "{before}");
        let calm = words(&opened(1), 2).join(" ");
        assert!(calm.contains("nothing departs that it could see") && calm.contains("glass is clear"), "{calm}");
    }

    #[test]
    fn a_pump_that_makes_up_for_a_loss_isnt_blamed() {
        let mut o = opened(1);
        o.parts[2].pumps = true;
        for m in o.moments.iter_mut().chain(&mut o.sound) {
            m.spots[3].mbar = 4000.0;
        }
        let said = words(&o, 15).join(" ");
        assert!(said.contains("Over the filter: −190 mbar"), "{said}");
        o.moments[15].spots[3].mbar = 3000.0;
        let said = words(&o, 15).join(" ");
        assert!(said.contains("The short line adds 3210 mbar; a sound one adds 4060."), "{said}");
    }

    #[test]
    fn gas_is_told_with_where_it_came_from() {
        let air = words(&opened(1), 50).join(" ");
        assert!(air.contains("Air from outside: 10 % of the bore at the"), "{air}");
        assert!(air.contains("Its glass shows 10 % of the bore as air from outside."), "{air}");
    }

    #[test]
    fn the_figure_keeps_inside_its_frame() {
        let f = figure(&opened(1), 15).unwrap();
        for shape in &f.shapes {
            if let Shape::Text { at, text, .. } = shape {
                assert!(at.0 >= 0.0 && at.0 <= WIDTH && at.1 > 0.0 && at.1 <= f.height, "{text} at {at:?}");
            }
        }
        assert_eq!(f.table.rows.len(), 5, "four places and the tee");
    }

    #[test]
    fn a_long_name_takes_two_lines_and_no_more() {
        assert_eq!(in_two_lines("non-return valve", 12), ["non-return", "valve"]);
        assert_eq!(in_two_lines("a b c d e f g h i", 5), ["a b c", "d e …"]);
        assert_eq!(in_two_lines("x", 1), ["x"]);
    }
}
