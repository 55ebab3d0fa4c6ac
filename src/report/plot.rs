//! Plots as SVG text: the same bytes for the same data.

use std::fmt::Write;

use crate::bay::action::Micros;
use crate::marking::model::Mark;
use crate::marking::sentence::clock;
use crate::trace::Trace;

const WIDTH: f64 = 900.0;
const LEFT: f64 = 60.0;
const RIGHT: f64 = 12.0;

/// Text made safe for HTML and SVG.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() && c != '\n' => {}
            c => out.push(c),
        }
    }
    out
}

/// A round step that cuts a span into about `parts`.
fn step(span: f64, parts: f64) -> f64 {
    let raw = (span / parts).max(1e-9);
    let mut unit = 1.0;
    while unit * 10.0 <= raw {
        unit *= 10.0;
    }
    while unit > raw {
        unit /= 10.0;
    }
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * unit).find(|s| *s >= raw).unwrap_or(10.0 * unit)
}

/// The stretches of a trace in which something was measured: pauses longer than two minutes without a
/// tick are cut out, so that the runs themselves can be seen.
pub fn stretches(trace: &Trace) -> Vec<(Micros, Micros)> {
    const AROUND: Micros = 15_000_000;
    const PAUSE: Micros = 120_000_000;
    let mut list: Vec<(Micros, Micros)> = vec![];
    let Some((&first, &last)) = trace.at.first().zip(trace.at.last()) else { return list };
    for tick in trace.ticks.iter().filter(|t| (first..=last).contains(&t.at)) {
        let (from, to) = (tick.at.saturating_sub(AROUND).max(first), (tick.at + 4 * AROUND).min(last));
        match list.last_mut() {
            Some((_, end)) if from <= *end + PAUSE => *end = to.max(*end),
            _ => list.push((from, to)),
        }
    }
    list
}

/// Pressure at the tee over a stretch of the trace.
pub fn pressure(trace: &Trace, from: Micros, to: Micros) -> String {
    const HEIGHT: f64 = 220.0;
    const TOP: f64 = 30.0;
    let columns = 800;
    let reduced = trace.reduce(&trace.mbar, from, to, columns);
    let (mut low, mut high) = (0.0_f64, 0.0_f64);
    for c in reduced.iter().flatten() {
        low = low.min(c.low);
        high = high.max(c.high);
    }
    let grid = step((high - low).max(20.0), 6.0);
    let (low, high) = ((low / grid).floor() * grid, (high / grid).ceil() * grid + 0.2 * grid);
    let x = |i: f64| LEFT + (WIDTH - LEFT - RIGHT) * i / columns as f64;
    let y = |v: f64| TOP + (HEIGHT - TOP - 24.0) * (high - v) / (high - low);
    let mut svg = open(HEIGHT, &format!("Pressure at the tee from {} to {}", clock(from), clock(to)));
    let mut v = low;
    while v <= high {
        let _ = write!(
            svg,
            "<line class=\"grid\" x1=\"{LEFT}\" x2=\"{:.1}\" y1=\"{y:.1}\" y2=\"{y:.1}\"/><text class=\"n\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            WIDTH - RIGHT,
            LEFT - 6.0,
            y(v) + 4.0,
            crate::marking::sentence::number(v, 0),
            y = y(v)
        );
        v += grid;
    }
    let mut path = String::new();
    let mut down = false;
    for (i, column) in reduced.iter().enumerate() {
        match column {
            Some(c) => {
                let px = x(i as f64 + 0.5);
                let _ = write!(
                    path,
                    "{}{px:.1} {:.1}L{px:.1} {:.1}",
                    if down { "L" } else { "M" },
                    y(c.low),
                    y(c.high)
                );
                down = true;
            }
            None => down = false,
        }
    }
    let _ = write!(svg, "<path class=\"pen\" d=\"{path}\"/>");
    let mut last_word = -100.0;
    for tick in trace.ticks.iter().filter(|t| (from..=to).contains(&t.at)) {
        let px = x((tick.at - from) as f64 / (to - from).max(1) as f64 * columns as f64);
        let _ = write!(svg, "<line class=\"tick\" x1=\"{px:.1}\" x2=\"{px:.1}\" y1=\"18\" y2=\"{TOP}\"/>");
        if px - last_word > 62.0 {
            let _ = write!(svg, "<text x=\"{px:.1}\" y=\"14\">{}</text>", escaped(&tick.word));
            last_word = px;
        }
    }
    let base = HEIGHT - 6.0;
    let _ = write!(
        svg,
        "<text x=\"{LEFT}\" y=\"{base}\">{}</text><text class=\"n\" x=\"{:.1}\" y=\"{base}\">{}</text></svg>",
        clock(from),
        WIDTH - RIGHT,
        clock(to)
    );
    svg
}

/// A plot as a file of its own: with its size, its style and a ground.
pub fn standalone(svg: &str) -> String {
    const STYLE: &str = "<style>svg{background:#FBF6EC;font-family:sans-serif}text{font-size:12px;fill:#566269}\
        text.n{text-anchor:end}.grid{stroke:#DDB79B;stroke-width:.6}.pen{fill:none;stroke:#0B5563;stroke-width:1.6}\
        .tick{stroke:#22313A}</style>";
    svg.replacen("<title>", &format!("{STYLE}<title>"), 1) + "\n"
}

/// Justified (solid) and stated (dashed) belief, a strip for every candidate, over the order of events.
pub fn beliefs(mark: &Mark) -> String {
    const STRIP: f64 = 34.0;
    let label_width = 330.0;
    let n = mark.beliefs.len().max(1) as f64;
    let height = STRIP * mark.labels.len() as f64 + 10.0;
    let x = |i: f64| label_width + (WIDTH - label_width - 50.0) * i / n;
    let mut svg = open(height, "Belief in each candidate, event by event");
    for (k, label) in mark.labels.iter().enumerate() {
        let bottom = STRIP * (k as f64 + 1.0);
        let y = |p: f64| bottom - (STRIP - 10.0) * p;
        let strip = |values: &dyn Fn(usize) -> Option<f64>| {
            let mut path = String::new();
            let mut down = false;
            for i in 0..mark.beliefs.len() {
                match values(i) {
                    Some(p) => {
                        let head = if down { "L" } else { "M" };
                        let _ = write!(
                            path,
                            "{head}{:.1} {:.1}L{:.1} {:.1}",
                            x(i as f64),
                            y(p),
                            x(i as f64 + 1.0),
                            y(p)
                        );
                        down = true;
                    }
                    None => down = false,
                }
            }
            path
        };
        let solid = strip(&|i| mark.beliefs[i].justified.get(k).copied());
        let dashed = strip(&|i| mark.beliefs[i].stated.as_ref().and_then(|s| s.get(k).copied()));
        let end = mark.beliefs.last().and_then(|b| b.justified.get(k)).copied().unwrap_or(0.0);
        let _ = write!(
            svg,
            "<line class=\"grid\" x1=\"{label_width}\" x2=\"{:.1}\" y1=\"{bottom:.1}\" y2=\"{bottom:.1}\"/>\
             <text x=\"0\" y=\"{:.1}\">{}</text><path class=\"pen\" d=\"{solid}\"/><path class=\"stated\" d=\"{dashed}\"/>\
             <text class=\"n\" x=\"{WIDTH}\" y=\"{:.1}\">{:.0}</text>",
            WIDTH - 50.0,
            bottom - 4.0,
            escaped(label),
            bottom - 4.0,
            100.0 * end
        );
    }
    svg.push_str("</svg>");
    svg
}

fn open(height: f64, title: &str) -> String {
    format!(
        "<svg role=\"img\" viewBox=\"0 0 {WIDTH} {height}\" xmlns=\"http://www.w3.org/2000/svg\"><title>{}</title>",
        escaped(title)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round_and_cover_the_span() {
        assert_eq!(step(700.0, 6.0), 200.0);
        assert_eq!(step(90.0, 6.0), 20.0);
        assert_eq!(step(5.0, 5.0), 1.0);
    }

    #[test]
    fn a_strangers_text_cannot_leave_its_place() {
        assert_eq!(escaped("<b a=\"1\">&\u{7}"), "&lt;b a=&quot;1&quot;&gt;&amp;");
    }

    #[test]
    fn a_spike_of_one_sample_is_drawn() {
        let mut trace = Trace::default();
        for i in 0..50_000_u64 {
            trace.at.push(i * 20_000);
            trace.mbar.push(if i == 31_234 { -600.0 } else { -90.0 });
            trace.gas.push(0.0);
            trace.rpm.push(0.0);
        }
        let svg = pressure(&trace, 0, 1_000_000_000);
        let flat = {
            trace.mbar[31_234] = -90.0;
            pressure(&trace, 0, 1_000_000_000)
        };
        assert!(svg.contains("−600") && !flat.contains("−600"));
    }
}
