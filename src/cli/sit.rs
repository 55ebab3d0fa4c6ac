//! `faultbay sit`: a sitting in a plain terminal or from a script.

use std::io::{BufRead, IsTerminal, Read, Write};

use anyhow::Context;

use super::exit::Exit;
use super::job::{Record, Script, Sit};
use super::script::{class_line, is_of_class};
use super::{again, fresh, say};
use crate::attempt::Sitting;
use crate::bay::action::{Action, Micros};
use crate::bay::instruct::Instruction;
use crate::bay::observation::Answer;
use crate::bay::words::{self, Said, Terms, View};

/// Longest line that is taken from a keyboard or a pipe, bytes.
const LONGEST_LINE: u64 = 64 << 10;

/// Whether to go on after a line.
#[derive(PartialEq)]
enum Next {
    Line,
    End,
}

struct Desk<'a, W> {
    sitting: Sitting,
    record: Option<Record>,
    terms: Terms,
    announced: usize,
    /// Cautions said last.
    cautions: Vec<&'static str>,
    /// Time of the status said last.
    told: Option<Micros>,
    /// What the next command needs to find the job again.
    options: String,
    out: &'a mut W,
}

/// Sits the job through.
pub fn run(sit: Sit, out: &mut impl Write) -> anyhow::Result<Exit> {
    let Sit { sitting, record, script, terms, trace, remarks, options } = sit;
    let announced = sitting.breaches().len();
    let mut desk = Desk { sitting, record, terms, announced, cautions: Vec::new(), told: None, options, out };
    for remark in remarks {
        writeln!(desk.out, "{remark}")?;
    }
    desk.save()?;
    desk.opening()?;
    let clear = match script {
        Script::Lines(lines) => desk.follow(&lines)?,
        Script::Typed => desk.listen()?,
    };
    desk.closing()?;
    if let Some(path) = trace {
        fresh::write(&path, desk.sitting.trace().to_csv().as_bytes())?;
    }
    Ok(match (clear, desk.sitting.is_over()) {
        (false, _) => Exit::Failed,
        (true, true) => Exit::Done,
        (true, false) => Exit::Unfinished,
    })
}

impl<W: Write> Desk<'_, W> {
    fn opening(&mut self) -> anyhow::Result<()> {
        let job = self.sitting.job();
        writeln!(
            self.out,
            "{}. Customer: {}. Complaint: “{}”",
            say::plain(&job.title),
            say::plain(&job.customer),
            say::plain(&job.complaint)
        )?;
        self.tell()?;
        Ok(self.out.flush()?)
    }

    /// What is new: the status when time has passed, and cautions that have begun.
    fn tell(&mut self) -> anyhow::Result<()> {
        let seen = self.sitting.observe();
        if self.told != Some(seen.at) {
            writeln!(self.out, "{}", say::status(&seen))?;
            self.told = Some(seen.at);
        }
        write!(self.out, "{}", say::cautions(&seen.cautions, &self.cautions))?;
        self.cautions = seen.cautions;
        Ok(())
    }

    /// Does the lines of a script, which are known to be clear.
    fn follow(&mut self, lines: &[String]) -> anyhow::Result<bool> {
        for (i, line) in lines.iter().enumerate() {
            if is_of_class(line) {
                writeln!(self.out, "> {}", say::plain(line.trim()))?;
                self.instruct(&class_line(line).map_err(anyhow::Error::msg)?)?;
                continue;
            }
            let said =
                words::read(line, &self.terms, self.sitting.now()).with_context(|| format!("line {}", i + 1))?;
            let Some(said) = said else { continue };
            writeln!(self.out, "> {}", say::plain(line.trim()))?;
            if self.heed(said)? == Next::End {
                let left =
                    lines[i + 1..].iter().filter(|line| !matches!(words::read(line, &self.terms, 0), Ok(None)));
                let left = left.count();
                if left > 0 {
                    writeln!(self.out, "Lines of the script left out after the end: {left}.")?;
                }
                break;
            }
        }
        Ok(true)
    }

    /// Answers line by line. Whether every line was clear; at a keyboard, a slip is no failure.
    fn listen(&mut self) -> anyhow::Result<bool> {
        let input = std::io::stdin();
        let keyboard = input.is_terminal();
        let mut input = input.lock();
        let mut clear = true;
        writeln!(
            self.out,
            "Say what to do, one action a line; “help” lists the words, “card” reads the job card."
        )?;
        loop {
            if keyboard {
                write!(self.out, "> ")?;
            }
            self.out.flush()?;
            let Some(line) = read_line(&mut input)? else { break };
            match words::read(&line, &self.terms, self.sitting.now()) {
                Ok(None) => {}
                Ok(Some(said)) => {
                    if self.heed(said)? == Next::End {
                        break;
                    }
                }
                Err(_) if is_of_class(&line) => match class_line(&line) {
                    Ok(what) => self.instruct(&what)?,
                    Err(why) => {
                        clear = false;
                        writeln!(self.out, "{why}")?;
                    }
                },
                Err(unclear) => {
                    clear = false;
                    writeln!(self.out, "{unclear}")?;
                }
            }
        }
        Ok(clear || keyboard)
    }

    fn heed(&mut self, said: Said) -> anyhow::Result<Next> {
        match said {
            Said::Do(action) => self.act(&action)?,
            Said::Show(View::Quit) => return Ok(Next::End),
            Said::Show(view) => {
                let text = self.show(&view);
                write!(self.out, "{text}")?;
            }
        }
        self.out.flush()?;
        Ok(if self.sitting.is_over() { Next::End } else { Next::Line })
    }

    fn act(&mut self, action: &Action) -> anyhow::Result<()> {
        let answer = self.sitting.act(action);
        // on the disk before anybody sees it
        self.save()?;
        writeln!(self.out, "{}", say::answer(&answer))?;
        let breaches = self.sitting.breaches();
        for words in breaches.iter().skip(self.announced).filter_map(say::critical) {
            writeln!(self.out, "{words}")?;
        }
        self.announced = breaches.len();
        self.tell()
    }

    /// What an instructor does, on record like everything else.
    fn instruct(&mut self, what: &Instruction) -> anyhow::Result<()> {
        let answer = self.sitting.instruct(what);
        self.save()?;
        writeln!(self.out, "{}", say::answer(&answer))?;
        if *what == Instruction::Reveal && matches!(answer, Answer::Done { .. }) {
            let shown = crate::attempt::reveal(self.sitting.job(), self.sitting.attempt());
            let (words, _) = shown.map_err(anyhow::Error::new)?;
            writeln!(self.out, "{}.", say::plain(words.trim_end_matches('.')))?;
        }
        self.out.flush()?;
        self.tell()
    }

    fn show(&self, view: &View) -> String {
        match view {
            View::Status => {
                let seen = self.sitting.observe();
                say::status(&seen) + "\n" + &say::cautions(&seen.cautions, &[])
            }
            View::Help(verb) => words::help(verb.as_deref()),
            View::Trace => say::trace(self.sitting.trace(), self.sitting.now()),
            View::Card => say::card(self.sitting.job()),
            View::Sheet => say::sheet(self.sitting.sheet()),
            View::Quit => String::new(),
        }
    }

    fn save(&mut self) -> anyhow::Result<()> {
        let lines = self.sitting.take_lines();
        match &mut self.record {
            Some(record) => record.write(&lines),
            None => Ok(()),
        }
    }

    fn closing(&mut self) -> anyhow::Result<()> {
        let seen = self.sitting.observe();
        let trace = self.sitting.trace();
        writeln!(
            self.out,
            "Marked time {:.1} min, credits {:.0}. Trace of {} samples, hash {}.",
            seen.charged_min,
            seen.credits,
            trace.len(),
            trace.hash()
        )?;
        let path = self.record.as_ref().map(|record| again::path(&record.path));
        let options = &self.options;
        match (self.sitting.is_over(), path) {
            (true, Some(path)) => {
                writeln!(self.out, "The job is done. Mark it with `faultbay mark {path}{options}`.")?
            }
            (true, None) => writeln!(self.out, "The job is done.")?,
            (false, Some(path)) => writeln!(
                self.out,
                "The job isn't done: the vehicle wasn't handed back. Go on with `faultbay sit {} --attempt {path} \
                 --resume{options}`.",
                again::word(&self.sitting.job().name)
            )?,
            (false, None) => writeln!(self.out, "The job isn't done: the vehicle wasn't handed back.")?,
        }
        Ok(self.out.flush()?)
    }
}

/// A line as typed; `None` at the end. What is longer than any line is cut, and bytes that aren't
/// text become question marks, so that reading it says what is wrong.
fn read_line(input: &mut impl BufRead) -> std::io::Result<Option<String>> {
    let mut bytes = Vec::new();
    input.by_ref().take(LONGEST_LINE + 2).read_until(b'\n', &mut bytes)?;
    if bytes.is_empty() {
        return Ok(None);
    }
    if bytes.last() != Some(&b'\n') {
        // skip the rest of the line without keeping it
        loop {
            let chunk = input.fill_buf()?;
            let (used, ended) = match chunk.iter().position(|&b| b == b'\n') {
                Some(end) => (end + 1, true),
                None => (chunk.len(), chunk.is_empty()),
            };
            input.consume(used);
            if ended {
                break;
            }
        }
    }
    // a shell may put the mark of its encoding before what it pipes
    Ok(Some(String::from_utf8_lossy(&bytes).trim_start_matches('\u{feff}').to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_instructors_lines_are_read() {
        let read = |line: &str| class_line(line).ok();
        let plug = Instruction::Inject { fault: "F15".into(), at: "filter".into(), severity: 3.5 };
        assert_eq!(read(" class inject f15@filter:3,5"), Some(plug));
        assert_eq!(read("class clear"), Some(Instruction::Clear));
        assert_eq!(read("class  reveal"), Some(Instruction::Reveal));
        for bad in ["class", "class inject", "class inject F15:much", "class reveal it", "class clear all"] {
            assert!(is_of_class(bad) && read(bad).is_none(), "{bad}");
        }
        assert!(!is_of_class("classic") && !is_of_class(""));
    }

    #[test]
    fn lines_of_any_length_and_kind_are_read_one_by_one() {
        let long = "x".repeat(200_000);
        let input = [b"\xEF\xBB\xBFpurge\n\xff\xfe\n\n".as_slice(), long.as_bytes(), b"\nzero"].concat();
        let mut input = std::io::BufReader::with_capacity(7, &input[..]);
        let mut next = || read_line(&mut input).unwrap();
        assert_eq!(next().unwrap(), "purge\n");
        assert_eq!(next().unwrap(), "\u{fffd}\u{fffd}\n");
        assert_eq!(next().unwrap(), "\n");
        assert!(words::read(&next().unwrap(), &Terms::default(), 0).is_err());
        assert_eq!(next().unwrap(), "zero");
        assert_eq!(next(), None);
    }
}
