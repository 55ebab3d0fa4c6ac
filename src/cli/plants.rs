//! `faultbay plants`: the vehicles, and of one its parts, its joints and where which fault can sit. For authors, who need the
//! names for a job.

use std::io::Write;

use super::exit::Exit;
use super::job::Shelf;
use super::say::plain;
use crate::fault::{CATALOGUE, Place};
use crate::plant::Plant;
use crate::scenario::Kind;

/// Lists them, or says what one consists of.
pub fn run(name: Option<&str>, shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<Exit> {
    match name {
        Some(name) => out.write_all(one(&shelf.plant(name)?).as_bytes())?,
        None => all(shelf, out)?,
    }
    out.flush()?;
    Ok(Exit::Done)
}

fn all(shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<()> {
    for name in shelf.library().names(Kind::Plant) {
        // one that can't be used is listed all the same: its name is taken
        let title = shelf.plant(&name).map_or_else(|_| "can't be used: faultbay check".to_owned(), |p| p.title);
        writeln!(out, "{}: {}", plain(&name), plain(&title))?;
    }
    writeln!(out, "\nParts, joints and faults of one: faultbay plants PLANT")?;
    Ok(())
}

fn one(plant: &Plant) -> String {
    let mut t =
        format!("{}: {}\n\nParts, from the tank on: name, kind, label\n", plain(&plant.name), plain(&plant.title));
    for part in &plant.parts {
        t += &format!("  {}  {}  {}\n", plain(&part.name), part.is.kind(), plain(&part.label));
    }
    t += "\nJoints, where the tee fits: name, label\n";
    for (name, label) in plant.joints() {
        t += &format!("  {}  {}\n", plain(&name), plain(&label));
    }
    t += "\nFaults, and what \"at\" can be: code, name, places\n";
    for fault in CATALOGUE {
        let places = match fault.place {
            Place::Kit => "the tester's own kit; \"at\" is left out".to_owned(),
            Place::Nowhere => "nowhere; \"at\" is left out".to_owned(),
            _ => match &fault.places(plant)[..] {
                [] => continue,
                [only] => format!("{}; \"at\" may be left out", plain(only)),
                several => plain(&several.join(", ")),
            },
        };
        t += &format!("  {}  {}  {places}\n", fault.code, fault.name);
    }
    t
}
