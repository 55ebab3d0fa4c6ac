//! The project's own text, as the house rules read it.

use std::path::Path;

/// A rule looks at one file, by its path from the top of the repository and its text, and returns
/// a sentence a violation.
pub type Rule = fn(path: &str, text: &str) -> Vec<String>;

/// A file of the repository.
pub struct File {
    /// Path from the top of the repository, with forward slashes.
    pub path: String,
    /// What it says.
    pub text: String,
}

/// Every file below some places (folders or files) whose name ends in one of `endings`, sorted.
/// A place that doesn't exist is empty.
pub fn files(places: &[&str], endings: &[&str]) -> Vec<File> {
    let mut found = Vec::new();
    for place in places {
        gather(place, endings, &mut found);
    }
    found.sort_by(|a, b| a.path.cmp(&b.path));
    found
}

fn gather(path: &str, endings: &[&str], found: &mut Vec<File>) {
    let full = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    if full.is_dir() {
        for entry in std::fs::read_dir(&full).unwrap() {
            let name = entry.unwrap().file_name();
            gather(&format!("{path}/{}", name.to_str().unwrap()), endings, found);
        }
    } else if full.is_file() && endings.iter().any(|e| path.ends_with(e)) {
        found.push(File { path: path.to_owned(), text: std::fs::read_to_string(&full).unwrap() });
    }
}

/// Holds a rule over files.
///
/// # Panics
/// With every violation, a line each.
pub fn hold(rule: Rule, files: &[File]) {
    assert!(!files.is_empty(), "no file to look at");
    let broken: Vec<_> =
        files.iter().flat_map(|f| rule(&f.path, &f.text).into_iter().map(|b| format!("{}: {b}", f.path))).collect();
    assert!(broken.is_empty(), "\n{}\n", broken.join("\n"));
}

/// The code alone: comments, the contents of strings and inline test modules become blanks, so
/// that lines keep their numbers.
pub fn code(text: &str) -> String {
    without_tests(&without_comments(text))
}

fn without_comments(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let mut out = String::with_capacity(text.len());
    let at = |i: usize| chars.get(i).copied().unwrap_or('\0');
    let mut i = 0;
    // copies or blanks up to `end`
    let put = |out: &mut String, from: usize, end: usize| {
        out.extend(chars[from..end.min(chars.len())].iter().map(|&c| if c == '\n' { '\n' } else { ' ' }));
    };
    while i < chars.len() {
        let start = i;
        match chars[i] {
            '/' if at(i + 1) == '/' => {
                while i < chars.len() && chars[i] != '\n' {
                    i += 1;
                }
            }
            '/' if at(i + 1) == '*' => {
                let mut depth = 0;
                loop {
                    match (at(i), at(i + 1)) {
                        ('/', '*') => (depth, i) = (depth + 1, i + 2),
                        ('*', '/') => (depth, i) = (depth - 1, i + 2),
                        _ => i += 1,
                    }
                    if depth == 0 || i >= chars.len() {
                        break;
                    }
                }
            }
            'r' if matches!(at(i + 1), '"' | '#') && !is_word(if i == 0 { ' ' } else { chars[i - 1] }) => {
                let hashes = chars[i + 1..].iter().take_while(|&&c| c == '#').count();
                if at(i + 1 + hashes) == '"' {
                    i += hashes + 2;
                    while i < chars.len() && !(chars[i] == '"' && (1..=hashes).all(|k| at(i + k) == '#')) {
                        i += 1;
                    }
                    i += hashes + 1;
                } else {
                    // a raw identifier
                    i += 1;
                    out.push('r');
                    continue;
                }
            }
            '"' => {
                i += 1;
                while i < chars.len() && chars[i] != '"' {
                    i += if chars[i] == '\\' { 2 } else { 1 };
                }
                i += 1;
            }
            '\'' if at(i + 1) == '\\' => {
                i += 3;
                while i < chars.len() && chars[i] != '\'' {
                    i += 1;
                }
                i += 1;
            }
            '\'' if at(i + 2) == '\'' => i += 3,
            c => {
                out.push(c);
                i += 1;
                continue;
            }
        }
        put(&mut out, start, i);
    }
    out
}

fn without_tests(code: &str) -> String {
    let mut out = String::with_capacity(code.len());
    let mut lines = code.lines().peekable();
    let mut inside = false;
    while let Some(line) = lines.next() {
        let opens =
            line == "#[cfg(test)]" && lines.peek().is_some_and(|l| l.starts_with("mod ") && l.ends_with('{'));
        if opens {
            inside = true;
        }
        if !inside {
            out.push_str(line);
        }
        if inside && line == "}" {
            inside = false;
        }
        out.push('\n');
    }
    out
}

/// Can be part of a name.
pub fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// Where `name` stands as a whole word: the line from 1 and what follows it.
pub fn mentions<'a>(code: &'a str, name: &'a str) -> impl Iterator<Item = (usize, &'a str)> {
    code.match_indices(name).filter_map(move |(i, _)| {
        let (before, after) = (&code[..i], &code[i + name.len()..]);
        let part = name.starts_with(is_word) && before.ends_with(is_word)
            || name.ends_with(is_word) && after.starts_with(is_word);
        (!part).then(|| (1 + before.matches('\n').count(), after))
    })
}

/// The paths that text beginning with a path or a `{group, of::paths}` stands for, and the rest.
pub fn expand(text: &str) -> (Vec<Vec<&str>>, &str) {
    let text = text.trim_start();
    if let Some(mut rest) = text.strip_prefix('{') {
        let mut all = Vec::new();
        loop {
            rest = rest.trim_start();
            if rest.is_empty() {
                return (all, rest);
            }
            if let Some(after) = rest.strip_prefix('}') {
                return (all, after);
            }
            let (paths, after) = expand(rest);
            if paths.is_empty() {
                // a comma or something that is no path
                rest = &rest[rest.chars().next().map_or(0, char::len_utf8)..];
                continue;
            }
            all.extend(paths);
            rest = after.trim_start();
            if let Some(renamed) = rest.strip_prefix("as ") {
                rest = renamed.trim_start().trim_start_matches(is_word);
            }
        }
    }
    if let Some(rest) = text.strip_prefix('*') {
        return (vec![vec!["*"]], rest);
    }
    let (name, rest) = text.split_at(text.find(|c| !is_word(c)).unwrap_or(text.len()));
    if name.is_empty() {
        return (Vec::new(), text);
    }
    if let Some(tail) = rest.strip_prefix("::") {
        let (mut paths, after) = expand(tail);
        if !paths.is_empty() {
            for path in &mut paths {
                path.insert(0, name);
            }
            return (paths, after);
        }
    }
    (vec![vec![name]], rest)
}

#[test]
fn code_is_what_is_left() {
    let text = "use a; // crate::b\nlet s = \"crate::c \\\" //\"; /* x /* y */ z */ let c = '\"'; f::<'a>(r#\"d\"#)\n\
                #[cfg(test)]\nmod tests {\n    use e;\n}\nuse f;\n";
    let left = code(text);
    assert_eq!(left.lines().count(), text.lines().count());
    for (word, expected) in [("a", 2), ("b", 0), ("crate", 0), ("x", 0), ("z", 0), ("d", 0), ("e", 0), ("f", 2)] {
        assert_eq!(mentions(&left, word).count(), expected, "{word} in {left}");
    }
}

#[test]
fn groups_expand() {
    let (paths, rest) = expand("{bay::{self, action::Micros as M}, trace::*};rest");
    assert_eq!(paths, [vec!["bay", "self"], vec!["bay", "action", "Micros"], vec!["trace", "*"]]);
    assert_eq!(rest, ";rest");
    assert_eq!(expand("ops::powf(x)").0, [["ops", "powf"]]);
}
