//! A folder of its own for each test, and the executable run in it.

use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};

/// A folder that goes when the test does.
pub struct Folder(PathBuf);

/// What a run of the executable left.
pub struct Ran {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Folder {
    pub fn new() -> Self {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let name = format!("faultbay-it-{}-{}", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed));
        let path = std::env::temp_dir().join(name);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    pub fn write(&self, name: &str, text: impl AsRef<[u8]>) {
        std::fs::write(self.path(name), text).unwrap();
    }

    pub fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }

    pub fn has(&self, name: &str) -> bool {
        self.path(name).exists()
    }

    pub fn command(&self, line: &str) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_faultbay"));
        command.args(line.split_whitespace()).current_dir(&self.0);
        command
    }

    /// Runs `faultbay` with these words, nothing typed.
    pub fn run(&self, line: &str) -> Ran {
        self.typed(line, "")
    }

    /// Runs `faultbay` with these words and a last one that may hold blanks, nothing typed.
    pub fn run_with(&self, line: &str, last: &str) -> Ran {
        let mut command = self.command(line);
        command.arg(last);
        ran(command, b"")
    }

    /// Runs `faultbay` with these words and this input.
    pub fn typed(&self, line: &str, input: impl AsRef<[u8]>) -> Ran {
        ran(self.command(line), input.as_ref())
    }
}

fn ran(mut command: Command, input: &[u8]) -> Ran {
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    // it may have ended without reading
    let _ = child.stdin.take().unwrap().write_all(input);
    let output = child.wait_with_output().unwrap();
    let text = |bytes| String::from_utf8(bytes).expect("output isn't text");
    Ran { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

impl Ran {
    #[track_caller]
    pub fn ended(self, code: i32) -> Self {
        assert!(self.code == Some(code), "exit code {:?}, not {code}\n{}\n{}", self.code, self.out, self.err);
        assert!(!self.err.contains("panicked"), "{}", self.err);
        self
    }

    #[track_caller]
    pub fn says(self, words: &str) -> Self {
        assert!(self.out.contains(words), "no “{words}” in:\n{}\n{}", self.out, self.err);
        self
    }

    #[track_caller]
    pub fn complains(self, words: &str) -> Self {
        assert!(self.err.contains(words), "no “{words}” in:\n{}\n{}", self.err, self.out);
        self
    }
}

/// Two texts are equal; where not, the lines that differ are shown.
#[track_caller]
pub fn same(expected: &str, found: &str) {
    if expected == found {
        return;
    }
    let (mut e, mut f) = (expected.lines(), found.lines());
    let mut report = String::new();
    let mut shown = 0;
    for line in 1.. {
        match (e.next(), f.next()) {
            (None, None) => break,
            (a, b) if a == b => {}
            (a, b) => {
                report += &format!("line {line}\n- {}\n+ {}\n", a.unwrap_or("(end)"), b.unwrap_or("(end)"));
                shown += 1;
            }
        }
        if shown == 10 {
            report += "…\n";
            break;
        }
    }
    panic!("texts differ (- expected, + found)\n{report}");
}
