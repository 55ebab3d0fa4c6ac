//! A job to begin with, made from a recording: the fitted cause is hidden, what fits as well and what is met most often
//! stand beside it as candidates, and the papers say what is to be written there.

use core::fmt::Write as _;

use super::first_job::short_name;
use super::preview::Wrong;
use crate::diagnosis::recording::fit::{Fit, Fitted, Verdict};
use crate::diagnosis::recording::group;
use crate::fault::by_code;
use crate::plant::Plant;
use crate::plant::component::Component;

/// Candidates besides "nothing wrong".
const MOST: usize = 6;
const COMMON: usize = 5;
/// Band of severities that a candidate has unless what was fitted lies outside, as far as its fault has them.
const BAND: (f64, f64) = (2.0, 4.5);

/// Why there is no job where nothing fits.
const NOTHING_TO_HIDE: &str = "nothing fits, so a job made from it would hide what wasn't recorded";

/// A candidate to be written.
struct Rival {
    code: String,
    places: Vec<String>,
    band: (f64, f64),
}

/// The text of the job. `from` names the recording, for a remark.
///
/// # Errors
/// A sentence: nothing fits, so that what would be hidden isn't what was recorded; or a fault doesn't fit where the catalogue
/// says it does.
pub fn starting_job(plant: &Plant, fitted: &Fitted, from: &str) -> Result<String, String> {
    if fitted.verdict == Verdict::NothingFits {
        return Err(NOTHING_TO_HIDE.into());
    }
    let leader = fitted.fits.first().ok_or("nothing was fitted")?;
    let mut rivals: Vec<Rival> = vec![];
    for fit in fitted.fits.iter().filter(|f| !f.code.is_empty()) {
        add(&mut rivals, &fit.code, &fit.at, fit.severity[0]);
    }
    for wrong in Wrong::commonest(plant, COMMON)? {
        for fault in &wrong.faults {
            if rivals.len() < MOST || rivals.iter().any(|r| r.code == fault.fault) {
                add(&mut rivals, &fault.fault, &fault.at, 3.0);
            }
        }
    }
    let mut t = head(plant, fitted, from);
    papers(&mut t, plant, &rivals).map_err(|e| e.to_string())?;
    candidates(&mut t, plant, &rivals).map_err(|e| e.to_string())?;
    hidden(&mut t, leader).map_err(|e| e.to_string())?;
    Ok(t)
}

fn tenths(x: f64) -> f64 {
    (10.0 * x).round() / 10.0
}

/// A severity that the fault has, nearest to one that fits: a curve is fitted from 1 to 5 for each.
fn own(code: &str, severity: f64) -> f64 {
    let (low, high) = by_code(code).map_or((1, 5), |fault| fault.severities);
    tenths(severity).clamp(low.into(), high.into())
}

fn add(rivals: &mut Vec<Rival>, code: &str, at: &str, severity: f64) {
    let severity = own(code, severity);
    let wide = |band: (f64, f64)| (own(code, band.0.min(severity)), own(code, band.1.max(severity)));
    if let Some(known) = rivals.iter_mut().find(|r| r.code == code) {
        known.band = wide(known.band);
        if !known.places.iter().any(|p| p == at) {
            known.places.push(at.to_owned());
        }
    } else {
        rivals.push(Rival { code: code.into(), places: vec![at.into()], band: wide(BAND) });
    }
}

/// What was fitted, as remarks: the author knows the answer.
fn head(plant: &Plant, fitted: &Fitted, from: &str) -> String {
    let line = |text: &str| text.replace(['\n', '\r'], " ");
    let mut t = format!(
        "// Made by `faultbay fit` from {}, tee at \u{201c}{}\u{201d}. Values are training values.\n",
        line(from),
        fitted.joint
    );
    for (i, f) in fitted.fits.iter().enumerate() {
        let [s, low, high] = f.severity;
        let what = if i == 0 { "Fits best" } else { "Fits as well" };
        let place = if f.at.is_empty() { String::new() } else { format!(" at \u{201c}{}\u{201d}", f.at) };
        let severe =
            if f.code.is_empty() { String::new() } else { format!(", severity {s:.1} ({low:.1} to {high:.1})") };
        t += &format!("// {what}: {}{place}{severe}.\n", f.label);
    }
    t += "// Change what stands in square brackets, then run `faultbay check` and `faultbay fair`.\n";
    let title: String = plant.title.chars().take(80).collect();
    t + &format!("Job(\n    title: {:?},\n", format!("[Title] {title}"))
}

fn papers(t: &mut String, plant: &Plant, rivals: &[Rival]) -> core::fmt::Result {
    let tank = plant.parts.iter().find_map(|p| if let Component::Tank(tank) = &p.is { Some(tank) } else { None });
    let gauge = tank.map_or(0.5, |tank| tank.fill.si() / tank.capacity.si());
    write!(
        t,
        "    customer: \"[Whose vehicle]\",\n    complaint: \"[What the customer says, in their own words.]\",\n    \
         facts: [\n        \"[Fuel gauge, weather, what was done lately]\",\n    ],\n    \
         goals: [\n        \"[What the learner should take away]\",\n    ],\n    \
         hints: [\n        \"[The gentlest first]\",\n    ],\n    minutes: 45,\n    mode: practice,\n    \
         plant: {:?},\n    rubric: \"standard\",\n    fuel_gauge: {gauge:.2},\n\n    questions: [\n        \
         (name: \"when\", ask: \"When does it happen?\", answer: \"[Answer]\"),\n    ],\n\n    looks: [\n",
        plant.name
    )?;
    let mut blamed: Vec<&str> = rivals.iter().flat_map(|r| &r.places).map(String::as_str).collect();
    blamed.sort_unstable();
    blamed.dedup();
    for part in blamed.into_iter().filter(|at| plant.part(at).is_some()) {
        writeln!(t, "        (part: {part:?}, sees: \"[What is seen and felt there]\"),")?;
    }
    writeln!(t, "    ],\n\n    // Without \"limits\" the learner sees the card of the plant: training values.\n")
}

fn candidates(t: &mut String, plant: &Plant, rivals: &[Rival]) -> core::fmt::Result {
    writeln!(
        t,
        "    // Only the proportions of the weights count: how often it is met, times how well it fits the complaint."
    )?;
    writeln!(t, "    candidates: [")?;
    for r in rivals {
        let Some(fault) = by_code(&r.code) else { continue };
        let name = short_name(fault);
        let weight = fault.weight(group(plant), &[]).sqrt().round().clamp(1.0, 3.0);
        writeln!(t, "        (name: {name:?}, label: {:?}, weight: {weight:.0}, vehicles: [", fault.name.said())?;
        for at in &r.places {
            let place = if at.is_empty() { String::new() } else { format!(" at: {at:?},") };
            writeln!(t, "            (fault: {:?},{place} severity: ({:.1}, {:.1})),", r.code, r.band.0, r.band.1)?;
        }
        writeln!(t, "        ]),")?;
    }
    writeln!(
        t,
        "        (name: \"nothing-wrong\", label: \"Fuel supply sound; look elsewhere\", weight: 2, vehicles: []),\n    ],\n"
    )
}

fn hidden(t: &mut String, leader: &Fit) -> core::fmt::Result {
    writeln!(t, "    hidden: [")?;
    if !leader.code.is_empty() {
        let place = if leader.at.is_empty() { String::new() } else { format!(" at: {:?},", leader.at) };
        writeln!(
            t,
            "        (fault: {:?},{place} severity: {:.1}),",
            leader.code,
            own(&leader.code, leader.severity[0])
        )?;
    }
    writeln!(t, "    ],\n)")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::id;
    use crate::scenario::{Kind, Library, check_text, load_plant};
    use crate::trace::Trace;

    fn fit(code: &str, at: &str, severity: f64) -> Fit {
        let label = by_code(code).map_or("Nothing wrong", |f| f.name.said()).to_owned();
        let severity = [severity, severity - 0.3, severity + 0.3];
        Fit { code: code.into(), label, at: at.into(), severity, against_best: 1.0, mistaken: 0.5 }
    }

    fn fitted(verdict: Verdict, fits: Vec<Fit>) -> Fitted {
        Fitted {
            joint: "pump in".into(),
            verdict,
            fits,
            unseen: vec![],
            compared: vec![],
            tolerances: vec![],
            trace: Trace::default(),
            vehicles: 0,
            elsewhere: None,
        }
    }

    /// Whatever fits, on whatever plant: the check names what is to be written, and nothing else.
    #[test]
    fn a_starting_job_passes_the_check() {
        let library = Library::builtin();
        let cases: [(&str, Vec<Fit>); 6] = [
            ("a1-van", vec![fit("F15", "filter", 1.3), fit("F16", "filter", 4.9), fit("F05", "filter", 3.0)]),
            ("a1-van", vec![fit("F09", "filter in", 2.2), fit("F09", "pump in", 2.8)]),
            ("a1-van", vec![fit("", "", 0.0), fit("M2", "", 1.6)]),
            ("a7-truck", vec![fit("F26", "lift pump", 3.3)]),
            ("a4-hatchback", vec![fit("", "", 0.0)]),
            // worse, and milder, than these faults are
            ("a1-van", vec![fit("F13", "non-return valve", 4.8), fit("F05", "filter", 1.2)]),
        ];
        for (name, fits) in cases {
            let plant = load_plant(&library, name).unwrap_or_else(|r| panic!("{r}")).0;
            let fitted = fitted(Verdict::CantTell, fits);
            let text = starting_job(&plant, &fitted, "log.csv\n); hidden: [").unwrap();
            let report = check_text(Some(Kind::Job), "new.ron", &text, &library);
            assert!(report.diagnostics().iter().all(|d| d.id == id::PLACEHOLDER), "{name}\n{report}\n{text}");
            assert_eq!(report.warnings(), text.matches("\"[").count(), "{name}\n{report}\n{text}");
        }
    }

    #[test]
    fn what_nothing_fits_makes_no_job() {
        let plant = load_plant(&Library::builtin(), "a1-van").unwrap_or_else(|r| panic!("{r}")).0;
        let of = |verdict| fitted(verdict, vec![fit("F15", "filter", 3.0)]);
        assert_eq!(starting_job(&plant, &of(Verdict::NothingFits), "log.csv").unwrap_err(), NOTHING_TO_HIDE);
        assert!(starting_job(&plant, &of(Verdict::Found), "log.csv").is_ok());
    }
}
