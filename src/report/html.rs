//! The debrief as one HTML file.

use std::fmt::Write;

use super::plot;
use super::plot::escaped;
use crate::marking::model::{Component, Mark, Outcome};
use crate::marking::sentence::{clock, number};
use crate::scenario::model::Job;
use crate::trace::Trace;

const STYLE: &str = "body{font:16px/1.5 'Atkinson Hyperlegible Next',system-ui,sans-serif;color:#22313A;background:#FBF9F3;max-width:60rem;margin:2rem auto;padding:0 1rem}\
h1{font-size:1.6rem}h2{font-size:1.15rem;margin-top:2rem}table{border-collapse:collapse;width:100%}td,th{text-align:left;vertical-align:top;padding:.3rem .6rem .3rem 0;border-top:1px solid #DAD3C3}\
td.n,th.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}.total{font-size:2.4rem;font-weight:700}.second{color:#566269}.note{border:1.5px solid #A0530F;color:#A0530F;padding:.4rem .8rem;border-radius:4px}\
svg{width:100%;height:auto;background:#FBF6EC}svg text{font-size:12px;fill:#566269}svg text.n{text-anchor:end}.grid{stroke:#DDB79B;stroke-width:.6}.pen{fill:none;stroke:#0B5563;stroke-width:1.6}.stated{fill:none;stroke:#A6472B;stroke-width:1.6;stroke-dasharray:5 3}.tick{stroke:#22313A}\
.bar{display:inline-block;height:.6rem;background:#0B5563}.rail{display:inline-block;width:8rem;background:#DAD3C3;line-height:0}@media print{body{margin:0;max-width:none}h2{break-after:avoid}tr,svg{break-inside:avoid}}";

/// The debrief of a marked attempt.
///
/// `name` is who sat, as typed; `trace` the replayed trace. Everything that came from a file is
/// escaped.
pub fn debrief(job: &Job, mark: &Mark, trace: &Trace, name: Option<&str>) -> String {
    let mut out = format!(
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\">\
         <title>Debrief: {title}</title><style>{STYLE}</style></head><body>\n<h1>Debrief: {title}</h1>\n",
        title = escaped(&job.title)
    );
    heading(&mut out, job, mark, name);
    components(&mut out, mark);
    ledger(&mut out, mark);
    beliefs(&mut out, mark);
    traces(&mut out, trace);
    foot(&mut out, mark);
    out
}

fn heading(out: &mut String, job: &Job, mark: &Mark, name: Option<&str>) {
    let _ = writeln!(
        out,
        "<p class=\"second\">{}{} · {}</p>\n<p>\u{201c}{}\u{201d}</p>",
        name.map_or_else(String::new, |n| format!("Sat by {} (as typed) · ", escaped(n))),
        escaped(&job.customer),
        escaped(&job.plant.title),
        escaped(&job.complaint)
    );
    let words = match mark.outcome {
        Outcome::Reached => "The cut and every gate are reached.",
        Outcome::NotReached => "Not reached.",
        Outcome::Review => "For review: a person must look.",
    };
    let _ =
        writeln!(out, "<p><span class=\"total\">{:.1}</span> of 100. <strong>{words}</strong></p><ul>", mark.total);
    for reason in &mark.reasons {
        let _ = writeln!(out, "<li>{}</li>", escaped(reason));
    }
    out.push_str("</ul>\n<p class=\"note\">The tool reports evidence; a person decides competence.</p>\n");
    let submitted = mark.submitted.as_ref().map_or_else(
        || "No finding was submitted.".to_owned(),
        |(label, sure)| format!("Submitted: {}, {sure} in 100 sure.", escaped(label)),
    );
    let justified = mark.justified_in_finding.map_or_else(String::new, |(p, e)| {
        format!(" The recorded evidence justifies {:.0} in 100 (± {:.0}).", 100.0 * p, 100.0 * e)
    });
    let _ = writeln!(
        out,
        "<p>{submitted}{justified}<br>It was: {}. {}</p>",
        escaped(&mark.truth.0),
        escaped(&mark.truth.1)
    );
}

fn components(out: &mut String, mark: &Mark) {
    out.push_str("<h2>Components</h2>\n<table><tr><th>Component</th><th></th><th class=\"n\">Points</th></tr>\n");
    for part in &mark.components {
        let _ = writeln!(
            out,
            "<tr><td>{}</td><td><span class=\"rail\"><span class=\"bar\" style=\"width:{:.0}%\"></span></span></td><td class=\"n\">{:.2} of {:.0}</td></tr>",
            part.component.title(),
            100.0 * part.share,
            part.share * part.weight,
            part.weight
        );
    }
    out.push_str("</table>\n");
}

fn ledger(out: &mut String, mark: &Mark) {
    out.push_str(
        "<h2>Why, point by point</h2>\n<table><tr><th class=\"n\">Time</th><th class=\"n\">Points</th><th></th><th>Why</th></tr>\n",
    );
    for line in &mark.ledger {
        let _ = writeln!(
            out,
            "<tr><td class=\"n\">{}</td><td class=\"n\">{}</td><td>{}</td><td>{}</td></tr>",
            clock(line.window.1),
            number(line.hundredths as f64 / 100.0, 2),
            line.component.map_or('·', Component::letter),
            escaped(&line.sentence)
        );
    }
    out.push_str("</table>\n");
}

fn beliefs(out: &mut String, mark: &Mark) {
    if mark.beliefs.is_empty() {
        return;
    }
    out.push_str("<h2>Belief, event by event</h2>\n<p class=\"second\">Solid: what the recorded evidence justified. Dashed: what was stated. The number is the justified belief at the end, in 100.</p>\n");
    out.push_str(&plot::beliefs(mark));
    out.push_str("\n<details><summary>The same in numbers</summary><table><tr><th class=\"n\">Time</th><th>Event</th><th>Likeliest by the evidence</th><th>Likeliest as stated</th></tr>\n");
    let leader = |values: &[f64]| {
        values
            .iter()
            .enumerate()
            .max_by(|a, b| a.1.total_cmp(b.1))
            .and_then(|(i, p)| mark.labels.get(i).map(|l| format!("{}, {:.0} in 100", escaped(l), 100.0 * p)))
            .unwrap_or_default()
    };
    for step in &mark.beliefs {
        let _ = writeln!(
            out,
            "<tr><td class=\"n\">{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
            clock(step.at),
            escaped(&step.event),
            leader(&step.justified),
            step.stated.as_deref().map(leader).unwrap_or_default()
        );
    }
    out.push_str("</table></details>\n");
}

fn traces(out: &mut String, trace: &Trace) {
    let stretches = plot::stretches(trace);
    if stretches.is_empty() {
        return;
    }
    out.push_str("<h2>Pressure at the tee, mbar gauge</h2>\n<p class=\"second\">Below the zero line is depression (suction). Pauses are cut out.</p>\n");
    for (from, to) in stretches {
        out.push_str(&plot::pressure(trace, from, to));
        let words = crate::analysis::window::window(trace, &trace.mbar, from, to).map_or_else(
            || "nothing was measured".to_owned(),
            |w| format!("lowest {} mbar, highest {} mbar", number(w.lowest, 0), number(w.highest, 0)),
        );
        let _ = writeln!(out, "<p class=\"second\">From {} to {}: {words}.</p>", clock(from), clock(to));
    }
}

fn foot(out: &mut String, mark: &Mark) {
    let _ = writeln!(
        out,
        "<h2>What this rests on</h2>\n<p class=\"second\">Job {} ({}), vehicle {}, attempt {}, trace {}, engine {}. \
         Anyone can replay the attempt and get the same samples and the same mark.</p>\n\
         <p class=\"note\">Training values. On a real machine use its maker's data, local codes and licensed practice.</p>\n</body></html>",
        escaped(&mark.job),
        escaped(&mark.job_hash),
        mark.seed,
        escaped(&mark.attempt_hash),
        escaped(&mark.trace_hash),
        escaped(&mark.engine)
    );
}
