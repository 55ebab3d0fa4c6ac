//! The catalogue as a text to read, in markdown.

use core::fmt::Write as _;

use super::catalogue::{CATALOGUE, Class, Fault, Group, Occasion, Place};

/// The catalogue for a manual: one section a fault.
pub fn manual() -> String {
    let mut text = String::from(
        "# What can be wrong\n\n\
         Severities run from 1, a trace, over 3, the customer complains, to 5, no start. Frequencies are teaching\n\
         values in 1000 jobs in which the supply is suspected: light diesel, petrol, truck and farm, genset and boat.\n\
         All values are training values. On a real machine use its maker's data.\n",
    );
    for fault in CATALOGUE {
        // writing to a string can't fail
        let _ = section(&mut text, fault);
    }
    text
}

fn section(text: &mut String, fault: &Fault) -> core::fmt::Result {
    let letters: Vec<&str> = fault.modes.iter().map(|m| m.letters()).collect();
    writeln!(text, "\n## {} {} ({})\n", fault.code, fault.name, letters.join("/"))?;
    writeln!(text, "{}\n", fault.about)?;
    writeln!(text, "- Reports: {}", fault.reports)?;
    writeln!(text, "- Shows: {}", fault.shows)?;
    writeln!(text, "- Sits: {}; severities {} to {}", place(fault), fault.severities.0, fault.severities.1)?;
    writeln!(text, "- Met in: {}", archetypes(fault.met_in))?;
    writeln!(text, "- Frequency: {}", frequency(fault))?;
    if !fault.confused_with.is_empty() {
        writeln!(text, "- Mistaken for: {}", fault.confused_with.join(", "))?;
    }
    for separation in fault.separated_by {
        writeln!(text, "- {}: {}", separation.test, separation.shows)?;
    }
    let (from, to) = fault.fix.minutes;
    let (cheap, dear) = fault.fix.parts;
    let minutes = if from < to { format!("{from} to {to}") } else { format!("{from}") };
    let parts = if cheap < dear { format!("{} to {}", words(cheap), words(dear)) } else { words(cheap).to_owned() };
    writeln!(text, "- Fix: {minutes} minutes, parts {parts}")
}

impl Fault {
    /// Where it can sit, for an author.
    pub fn place_in_words(&self) -> String {
        place(self)
    }
}

fn place(fault: &Fault) -> String {
    match fault.place {
        Place::Part(kinds) => kinds.join(" or "),
        Place::Circuit => "a joint of an electric pump's circuit".to_owned(),
        Place::Node => "any joint of that side".to_owned(),
        Place::Kit => "the tester's own kit".to_owned(),
        Place::Nowhere => "nowhere".to_owned(),
    }
}

fn archetypes(met_in: &[u8]) -> String {
    if met_in.len() == 10 {
        return "all plants".to_owned();
    }
    let names: Vec<String> = met_in.iter().map(|a| format!("A{a}")).collect();
    names.join(", ")
}

fn frequency(fault: &Fault) -> String {
    let groups = [Group::LightDiesel, Group::Petrol, Group::Heavy, Group::Marine];
    let usual: Vec<String> = groups.iter().map(|g| format!("{}", fault.weight(*g, &[]))).collect();
    let mut text = usual.join(" / ");
    for (occasion, factor) in fault.multipliers {
        let when = match occasion {
            Occasion::Frost => "in frost",
            Occasion::Heat => "in heat",
            Occasion::SinceService => "since a service",
        };
        let _ = write!(text, "; {factor} times {when}");
    }
    text
}

const fn words(class: Class) -> &'static str {
    match class {
        Class::C0 => "nothing",
        Class::C1 => "below 20 credits",
        Class::C2 => "20 to 80 credits",
        Class::C3 => "80 to 250 credits",
        Class::C4 => "more than 250 credits",
    }
}
