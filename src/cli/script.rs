//! The script of a sitting as text: one action a line, understood as a whole before anything is done.

use crate::authoring::preview::SEVERITY;
use crate::bay::instruct::Instruction;
use crate::bay::words::{self, Terms};

/// Lines that can't be understood after which a script isn't read on: looking for the nearest words takes a while, and a
/// file of another kind has thousands.
const MOST_FAULTS: usize = 20;

/// The lines of a script. A mark at the beginning that says how the text is encoded isn't part of it.
///
/// # Errors
/// What can't be understood, each with its line from 1; at most twenty.
pub fn lines(text: &str, terms: &Terms) -> Result<Vec<String>, Vec<(usize, String)>> {
    let lines: Vec<String> = text.trim_start_matches('\u{feff}').lines().map(str::to_owned).collect();
    let why_not = |line: &String| {
        if is_of_class(line) {
            return class_line(line).err();
        }
        words::read(line, terms, 0).err().map(|unclear| unclear.to_string())
    };
    let faults: Vec<(usize, String)> =
        (1..).zip(&lines).filter_map(|(n, line)| Some((n, why_not(line)?))).take(MOST_FAULTS).collect();
    if faults.is_empty() { Ok(lines) } else { Err(faults) }
}

/// Whether a line is an instructor's: `class …`.
pub fn is_of_class(line: &str) -> bool {
    line.split_whitespace().next() == Some("class")
}

/// Reads an instructor's line: `class inject F15@filter:3`, `class clear`, `class reveal`.
///
/// # Errors
/// A sentence that says what an instructor can say.
pub fn class_line(line: &str) -> Result<Instruction, String> {
    let rest = line.trim().strip_prefix("class").unwrap_or_default().trim();
    match rest.split_once(' ').map_or((rest, ""), |(word, more)| (word, more.trim())) {
        ("clear", "") => Ok(Instruction::Clear),
        ("reveal", "") => Ok(Instruction::Reveal),
        ("inject", fault) if !fault.is_empty() => {
            let (place, severity) = match fault.rsplit_once(':') {
                Some((place, number)) => (place, number.trim().replace(',', ".").parse().ok()),
                None => (fault, Some(SEVERITY)),
            };
            let severity = severity.ok_or("A severity from 1 to 5 is expected after the colon: class inject F15@filter:3")?;
            let (code, at) = place.split_once('@').unwrap_or((place, ""));
            Ok(Instruction::Inject { fault: code.trim().to_uppercase(), at: at.trim().to_owned(), severity })
        }
        _ => Err("An instructor says: class inject F15@filter:3, class clear, or class reveal. Practice only; no mark is \
                  given then."
            .to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Library, load_job};

    #[test]
    fn a_file_of_another_kind_is_not_read_to_its_end() {
        let (job, _) = load_job(&Library::builtin(), "primer-air").unwrap();
        let terms = Terms::of(&job);
        let faults = lines(&"ask whne\n".repeat(100_000), &terms).unwrap_err();
        assert_eq!((faults.len(), faults[0].0, faults[19].0), (20, 1, 20));
        assert_eq!(lines("ask when\n\n# why\n", &terms).unwrap().len(), 3);
    }
}
