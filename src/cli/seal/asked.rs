//! A passphrase asked for in the terminal: nothing of it is shown, and whoever leaves gets the terminal back as it was.

use std::io::{Error, ErrorKind, Result, Write};

use anyhow::{Context, bail};

/// How often a passphrase may be mistyped.
pub(super) const TRIES: usize = 3;
/// What a terminal sends when somebody presses Ctrl-C and it doesn't stop the program by itself.
#[cfg(unix)]
const CTRL_C: u8 = 3;

/// Asks until what was typed is taken, three times at most. `take` says what is wrong with it, to be told before it is asked
/// for again; nothing but the last of these is an error.
pub(super) fn in_three_tries<T>(
    ask: impl Fn(&str) -> Result<String>,
    mut take: impl FnMut(String) -> anyhow::Result<Taken<T>>,
    tell: impl Fn(&str),
) -> anyhow::Result<T> {
    for left in (0..TRIES).rev() {
        match take(typed(&ask, "Passphrase of the sealed pack: ")?)? {
            Taken::Right(taken) => return Ok(taken),
            Taken::Wrong(why) if left == 0 => bail!(why),
            Taken::Wrong(why) => {
                let tries = if left == 1 { "one more try" } else { "two more tries" };
                tell(&format!("{why}: {tries}"));
            }
        }
    }
    bail!("nothing was typed")
}

/// What became of a passphrase that was typed.
pub(super) enum Taken<T> {
    /// It will do.
    Right(T),
    /// It won't, for this reason; another may.
    Wrong(String),
}

/// One passphrase, or why there is none.
pub(super) fn typed(ask: impl Fn(&str) -> Result<String>, prompt: &str) -> anyhow::Result<String> {
    match ask(prompt) {
        Err(error) if error.kind() == ErrorKind::Interrupted => {
            bail!("stopped at the passphrase; nothing was done")
        }
        said => said.context("no passphrase: give --passphrase FILE, or run this in a terminal"),
    }
}

/// Says on standard error what was wrong with a try.
pub(super) fn told(why: &str) {
    // the next question follows whether or not this can be written
    let _ = writeln!(std::io::stderr(), "{why}");
}

/// Asks whoever sits at the terminal.
///
/// # Errors
/// There is no terminal, or somebody pressed Ctrl-C: [`ErrorKind::Interrupted`].
#[cfg(unix)]
pub(super) fn at_the_terminal(prompt: &str) -> Result<String> {
    let terminal = std::fs::File::options().read(true).write(true).open("/dev/tty")?;
    silent::line(terminal, prompt)
}

/// Asks whoever sits at the terminal.
///
/// # Errors
/// There is no terminal, or somebody pressed Ctrl-C.
#[cfg(not(unix))]
pub(super) fn at_the_terminal(prompt: &str) -> Result<String> {
    rpassword::prompt_password(prompt)
}

/// The terminal of a Unix.
///
/// `rpassword` by itself switches the echo off and, at Ctrl-C, sends its own process the signal that ends it before
/// anything is switched back. So the switching is done here, and it gets what is typed through a reader to which
/// Ctrl-C is an error.
#[cfg(unix)]
mod silent {
    use std::fs::File;
    use std::io::Read;

    use rustix::termios::{LocalModes, OptionalActions, SpecialCodeIndex, Termios, tcgetattr, tcsetattr};

    use super::{CTRL_C, Error, ErrorKind, Result, Write};

    /// A terminal that shows nothing of what is typed, until it is dropped.
    struct Silent {
        terminal: File,
        before: Termios,
    }

    impl Silent {
        fn new(terminal: File) -> Result<Self> {
            let before = tcgetattr(&terminal)?;
            let mut quiet = before.clone();
            quiet.local_modes.remove(LocalModes::ECHO | LocalModes::ECHONL | LocalModes::ICANON | LocalModes::ISIG);
            quiet.special_codes[SpecialCodeIndex::VMIN] = 1;
            quiet.special_codes[SpecialCodeIndex::VTIME] = 0;
            tcsetattr(&terminal, OptionalActions::Now, &quiet)?;
            Ok(Self { terminal, before })
        }
    }

    impl Drop for Silent {
        fn drop(&mut self) {
            // nobody is left to be told when the terminal has gone
            let _ = tcsetattr(&self.terminal, OptionalActions::Now, &self.before);
        }
    }

    /// What is typed, Ctrl-C being an error.
    struct Keys(File);

    impl Read for Keys {
        fn read(&mut self, buffer: &mut [u8]) -> Result<usize> {
            let n = self.0.read(buffer)?;
            if buffer[..n].contains(&CTRL_C) {
                return Err(Error::new(ErrorKind::Interrupted, "Ctrl-C"));
            }
            Ok(n)
        }
    }

    /// One line that isn't shown.
    pub(super) fn line(terminal: File, prompt: &str) -> Result<String> {
        let mut silent = Silent::new(terminal)?;
        silent.terminal.write_all(prompt.as_bytes())?;
        let keys = Keys(silent.terminal.try_clone()?);
        let config = rpassword::ConfigBuilder::new().input_reader(keys).output_discard().build();
        let line = rpassword::read_password_with_config(config);
        silent.terminal.write_all(b"\n")?;
        line
    }

    #[cfg(test)]
    mod tests {
        use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};

        use super::*;

        /// Both ends of a terminal: the keyboard's and the program's.
        fn terminal() -> (File, File) {
            let keyboard = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
            grantpt(&keyboard).unwrap();
            unlockpt(&keyboard).unwrap();
            let name = ptsname(&keyboard, Vec::new()).unwrap().into_string().unwrap();
            (File::from(keyboard), File::options().read(true).write(true).open(name).unwrap())
        }

        fn echoes(terminal: &File) -> bool {
            tcgetattr(terminal)
                .unwrap()
                .local_modes
                .contains(LocalModes::ECHO | LocalModes::ICANON | LocalModes::ISIG)
        }

        /// What a line read from these keys is, whether the terminal echoes meanwhile, and what it shows.
        fn after(keys: &[u8]) -> (Result<String>, bool, String) {
            let (mut keyboard, program) = terminal();
            let other = program.try_clone().unwrap();
            assert!(echoes(&other));
            let asking = std::thread::spawn(move || line(program, "Passphrase: "));
            let mut shown = vec![0; 64];
            // once the prompt stands there, the echo is off
            let n = keyboard.read(&mut shown).unwrap();
            let meanwhile = echoes(&other);
            keyboard.write_all(keys).unwrap();
            let line = asking.join().unwrap();
            assert!(echoes(&other), "the terminal is as it was");
            let m = keyboard.read(&mut shown[n..]).unwrap();
            (line, meanwhile, String::from_utf8_lossy(&shown[..n + m]).into_owned())
        }

        #[test]
        fn what_is_typed_is_read_and_not_shown() {
            let (line, echoed, shown) = after(b"four words\x7fs nobody guesses\r");
            assert_eq!(line.unwrap(), "four words nobody guesses");
            assert!(!echoed && !shown.contains("words"), "{shown:?}");
        }

        #[test]
        fn ctrl_c_gives_the_terminal_back() {
            let (line, echoed, shown) = after(b"four wo\x03");
            assert_eq!(line.unwrap_err().kind(), ErrorKind::Interrupted);
            assert!(!echoed && !shown.contains("four"), "{shown:?}");
        }
    }
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use super::*;

    /// What comes of lines that are typed one after the other, with what is told in between.
    fn tried(lines: &[&str]) -> (anyhow::Result<String>, Vec<String>) {
        let (left, told) = (RefCell::new(lines.iter()), RefCell::new(vec![]));
        let ask = |_: &str| match left.borrow_mut().next() {
            Some(&"^C") => Err(Error::from(ErrorKind::Interrupted)),
            Some(line) => Ok((*line).to_owned()),
            None => Err(Error::from(ErrorKind::NotFound)),
        };
        let take = |said: String| {
            Ok(if said == "right" { Taken::Right(said) } else { Taken::Wrong("it doesn't open".to_owned()) })
        };
        let found = in_three_tries(ask, take, |why| told.borrow_mut().push(why.to_owned()));
        (found, told.into_inner())
    }

    #[test]
    fn a_passphrase_may_be_mistyped_twice() {
        assert_eq!(tried(&["right"]).0.unwrap(), "right");
        let (found, told) = tried(&["wrong", "wrong", "right"]);
        assert_eq!(found.unwrap(), "right");
        assert_eq!(told, ["it doesn't open: two more tries", "it doesn't open: one more try"]);
        let (found, told) = tried(&["wrong", "wrong", "wrong", "right"]);
        assert_eq!((found.unwrap_err().to_string().as_str(), told.len()), ("it doesn't open", 2));
    }

    #[test]
    fn ctrl_c_ends_the_asking() {
        let (found, told) = tried(&["wrong", "^C", "right"]);
        assert!(found.unwrap_err().to_string().contains("stopped"), "{told:?}");
        assert!(tried(&[]).0.unwrap_err().to_string().contains("--passphrase FILE"));
    }
}
