//! Invariants of the source tree: what may name what, what lies where, and how every file begins.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::kit::project;

/// All that may lie at the top of the project, besides dot files.
const TOP_LEVEL: [&str; 19] = [
    "CHANGELOG.md",
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "PROBLEMS.md",
    "README.md",
    "benches",
    "clippy.toml",
    "deny.toml",
    "examples",
    "fonts",
    "fuzz",
    "rustfmt.toml",
    "src",
    "target",
    "templates",
    "tests",
];

#[test]
fn folders_import_only_what_stands_above_them() {
    let folders = folders();
    let mut breaches = Vec::new();
    for path in files_below("src", &["rs"]) {
        let module = module_path(&path);
        if module.first().is_some_and(|folder| folders.contains(folder)) {
            let code = code_only(&read(&path));
            breaches.extend(
                breaches_in(&code, &module, &folders).iter().map(|breach| format!("{}: {breach}", shown(&path))),
            );
        }
    }
    assert!(breaches.is_empty(), "a folder uses only folders above it in the listing:\n{}", breaches.join("\n"));
}

/// The rule itself is tried on planted text: every way to name a folder below must be found, and no other text.
#[test]
fn a_planted_import_is_found() {
    let folders: Vec<String> = ["base", "circuits", "pages", "run"].map(String::from).to_vec();
    let found = |text: &str, module: &str| {
        let module: Vec<String> = module.split("::").map(String::from).collect();
        breaches_in(&code_only(text), &module, &folders).len()
    };
    for breach in [
        "use crate::pages::Page;",
        "use crate::{base::Length, pages::Page};",
        "use crate::{base::{Length, Rect}, run};",
        "fn f() { let page = crate::pages::Page::new(); }",
        "use super::super::pages::Page;",
        "use super::super::{base, pages::Page};",
        "use {crate::base, crate::run::Job};",
        "use crate :: pages;",
        "use crate::*;",
        "use crate as all;",
        "mod tests { use super::super::super::run::Job; }",
        "/* a comment */ pub use crate::run::Job;",
        "use crate::r#run::Job;",
    ] {
        assert_eq!(found(breach, "circuits::list"), 1, "{breach}");
    }
    for fair in [
        "use crate::base::Length;",
        "use crate::circuits::Circuit;",
        "use crate::{base::Length, circuits::List};",
        "use super::super::base::Length;",
        "use super::pages;",
        "mod tests { use super::super::run; use super::*; }",
        "// use crate::pages::Page;",
        "/// See [`crate::pages::Page`].",
        "/* use crate::pages::Page; /* and */ crate::run */",
        "const TEXT: &str = \"use crate::pages::Page;\";",
        "const RAW: &str = r#\"say \"crate::run\"\"#;",
        "const QUOTE: char = '\"'; // crate::pages",
        "fn f<'a>(text: &'a str) -> char { '\\'' } // crate::run",
        "pub(crate) fn f() {}",
    ] {
        assert_eq!(found(fair, "circuits::list"), 0, "{fair}");
    }
    assert_eq!(found("use super::pages::Page;", "circuits"), 1, "from mod.rs");
}

#[test]
fn lib_rs_lists_the_folders_in_order() {
    let lib = read(&project().join("src/lib.rs"));
    let listed: Vec<&str> = lib.lines().filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    assert_eq!(listed, folders());
}

#[test]
fn only_the_stated_names_lie_at_the_top() {
    let strangers: Vec<String> = fs::read_dir(project())
        .expect("listed")
        .map(|entry| entry.expect("listed").file_name().to_string_lossy().into_owned())
        .filter(|name| !name.starts_with('.') && !TOP_LEVEL.contains(&name.as_str()))
        .collect();
    assert_eq!(strangers, Vec::<String>::new());
}

#[test]
fn every_source_file_begins_with_what_it_is_for() {
    let silent: Vec<String> = ["src", "tests", "benches"]
        .iter()
        .flat_map(|folder| files_below(folder, &["rs"]))
        .filter(|path| !read(path).starts_with("//!"))
        .map(|path| shown(&path))
        .collect();
    assert_eq!(silent, Vec::<String>::new(), "begin each file with `//!`: its step, what comes in, what goes out");
}

#[test]
fn every_test_file_is_run() {
    let tests = project().join("tests");
    let is_ours = |path: &Path| path.extension().is_some_and(|end| end == "rs") || path.join("mod.rs").is_file();
    let inside = |folder: &Path| -> Vec<PathBuf> {
        let entries = fs::read_dir(folder).expect("listed").map(|entry| entry.expect("listed").path());
        entries.filter(|path| is_ours(path)).collect()
    };
    let folders =
        inside(&tests).into_iter().filter(|path| path.is_dir()).map(|folder| (folder.clone(), folder.join("mod.rs")));
    for (folder, root) in std::iter::once((tests.clone(), tests.join("main.rs"))).chain(folders) {
        let declared: BTreeSet<String> = read(&root)
            .lines()
            .filter_map(|line| line.trim_start_matches("pub ").strip_prefix("mod ")?.strip_suffix(';'))
            .map(str::to_owned)
            .collect();
        let there: BTreeSet<String> = inside(&folder)
            .iter()
            .filter(|path| **path != root)
            .map(|path| path.file_stem().expect("it has a name").to_string_lossy().into_owned())
            .collect();
        assert_eq!(declared, there, "{}", shown(&root));
    }
}

#[test]
fn only_the_command_line_prints() {
    let mut loud = Vec::new();
    for path in files_below("src", &["rs"]) {
        // `trials.rs` and `tests.rs` are compiled for tests only.
        let module = module_path(&path);
        let is_test = module.last().is_some_and(|name| name == "trials" || name == "tests");
        if is_test || module.first().is_some_and(|folder| folder == "terminal") {
            continue;
        }
        let tokens = tokens(&code_only(&read(&path)));
        let prints = |pair: &[String]| {
            ["print", "println", "eprint", "eprintln", "dbg"].contains(&pair[0].as_str()) && pair[1] == "!"
        };
        if tokens.windows(2).any(prints) {
            loud.push(shown(&path));
        }
    }
    assert_eq!(loud, Vec::<String>::new());
}

#[test]
fn no_file_knows_the_machine_it_was_written_on() {
    let places = [
        concat!("/ro", "ot/"),
        concat!("/ho", "me/"),
        concat!("/Us", "ers/"),
        concat!("/wo", "rk/"),
        concat!("/tm", "p/"),
    ];
    let mut found = Vec::new();
    for folder in ["src", "tests", "examples", "benches", "templates", ".ci", "fuzz", "fonts"] {
        let ends = ["rs", "toml", "csv", "md", "py", "sh", "txt", "snap", ""];
        for path in files_below(folder, &ends) {
            let text = String::from_utf8_lossy(&fs::read(&path).expect("read")).into_owned();
            found.extend(
                places.iter().filter(|place| text.contains(**place)).map(|place| format!("{}: {place}", shown(&path))),
            );
        }
    }
    assert_eq!(found, Vec::<String>::new());
}

/// A register that is lost, or older than what was printed, must not be taken for an empty one: it is opened where that is
/// looked at.
#[test]
fn registers_of_jobs_are_opened_in_one_place() {
    let mut elsewhere = Vec::new();
    for path in files_below("src/run", &["rs"]) {
        let looks = ["register.rs", "import.rs"].iter().any(|name| path.ends_with(Path::new("run").join(name)));
        let text = code_only(&read(&path));
        if !looks && ["Register::open(", "Register::open_to_read("].iter().any(|open| text.contains(open)) {
            elsewhere.push(shown(&path));
        }
    }
    assert_eq!(elsewhere, Vec::<String>::new(), "use `run::register::open` or `open_to_read`");
}

/// The folders of `src`, in the order of the listing.
fn folders() -> Vec<String> {
    let mut folders: Vec<String> = fs::read_dir(project().join("src"))
        .expect("listed")
        .map(|entry| entry.expect("listed").path())
        .filter(|path| path.is_dir())
        .map(|path| path.file_name().expect("it has a name").to_string_lossy().into_owned())
        .collect();
    folders.sort();
    folders
}

/// All files below a folder of the project whose names end so, sorted. Built files are left out.
fn files_below(folder: &str, ends: &[&str]) -> Vec<PathBuf> {
    let (mut files, mut open) = (Vec::new(), vec![project().join(folder)]);
    while let Some(folder) = open.pop() {
        let Ok(entries) = fs::read_dir(&folder) else { continue };
        for entry in entries {
            let path = entry.expect("listed").path();
            if path.is_dir() {
                if path.file_name().is_some_and(|name| name != "target" && name != "__pycache__") {
                    open.push(path);
                }
            } else if ends.contains(&path.extension().map_or("", |end| end.to_str().unwrap_or("?"))) {
                files.push(path);
            }
        }
    }
    files.sort();
    files
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn shown(path: &Path) -> String {
    path.strip_prefix(project()).unwrap_or(path).display().to_string()
}

/// `src/run/job.rs` is `run::job`, `src/run/mod.rs` is `run`.
fn module_path(path: &Path) -> Vec<String> {
    let below = path.strip_prefix(project().join("src")).expect("a source file").with_extension("");
    let mut module: Vec<String> = below.iter().map(|part| part.to_string_lossy().into_owned()).collect();
    if module.last().is_some_and(|last| last == "mod") {
        module.pop();
    }
    module
}

/// Every folder below its own that the code of a module names, and every import of all folders at once.
fn breaches_in(code: &str, module: &[String], folders: &[String]) -> Vec<String> {
    let tokens = tokens(code);
    let token = |at: usize| tokens.get(at).map_or("", String::as_str);
    let own = folders.iter().position(|folder| *folder == module[0]).expect("the module is in a folder");
    let (mut breaches, mut depth, mut inner) = (Vec::new(), 0_usize, Vec::new());
    let mut at = 0;
    while at < tokens.len() {
        match token(at) {
            "{" => {
                depth += 1;
                if at >= 2 && token(at - 2) == "mod" {
                    inner.push(depth);
                }
            }
            "}" => {
                if inner.last() == Some(&depth) {
                    inner.pop();
                }
                depth = depth.saturating_sub(1);
            }
            "crate" if token(at + 1) == "as" => breaches.push("names the whole crate".to_owned()),
            "crate" if token(at + 1) == "::" => name_check(&tokens, at + 2, own, folders, &mut breaches),
            "super" if at == 0 || token(at - 1) != "::" || token(at - 2) == "self" => {
                let mut up = 1;
                while token(at + 1) == "::" && token(at + 2) == "super" {
                    up += 1;
                    at += 2;
                }
                if up == module.len() + inner.len() && token(at + 1) == "::" {
                    name_check(&tokens, at + 2, own, folders, &mut breaches);
                }
            }
            _ => {}
        }
        at += 1;
    }
    breaches
}

/// Looks at what follows the crate's root: one name, or a group of them.
fn name_check(tokens: &[String], at: usize, own: usize, folders: &[String], breaches: &mut Vec<String>) {
    let mut names = Vec::new();
    if tokens.get(at).is_some_and(|token| token == "{") {
        let mut depth = 0;
        for pair in tokens[at..].windows(2) {
            match pair[0].as_str() {
                "{" => depth += 1,
                "}" => depth -= 1,
                _ => {}
            }
            if depth == 0 {
                break;
            }
            if depth == 1 && (pair[0] == "{" || pair[0] == ",") {
                names.push(pair[1].as_str());
            }
        }
    } else {
        names.extend(tokens.get(at).map(String::as_str));
    }
    for name in names {
        if name == "*" || name == "self" {
            breaches.push("names the whole crate".to_owned());
        } else if folders.iter().position(|folder| folder == name).is_some_and(|position| position > own) {
            breaches.push(format!("names `{name}`"));
        }
    }
}

/// Words, `::` and single signs.
fn tokens(code: &str) -> Vec<String> {
    let characters: Vec<char> = code.chars().collect();
    let (mut tokens, mut at) = (Vec::new(), 0);
    let is_word = |c: char| c.is_alphanumeric() || c == '_';
    while at < characters.len() {
        let start = at;
        if is_word(characters[at]) {
            while at < characters.len() && is_word(characters[at]) {
                at += 1;
            }
            let word: String = characters[start..at].iter().collect();
            // A raw identifier is the word behind its mark.
            if word == "r" && characters.get(at) == Some(&'#') && characters.get(at + 1).is_some_and(|c| is_word(*c)) {
                at += 1;
            } else {
                tokens.push(word);
            }
        } else if characters[at..].starts_with(&[':', ':']) {
            tokens.push("::".to_owned());
            at += 2;
        } else {
            if !characters[at].is_whitespace() {
                tokens.push(characters[at].to_string());
            }
            at += 1;
        }
    }
    tokens
}

/// The code without its comments and without the contents of its texts and characters.
fn code_only(source: &str) -> String {
    let characters: Vec<char> = source.chars().collect();
    let next = |at: usize, text: &str| text.chars().enumerate().all(|(i, c)| characters.get(at + i) == Some(&c));
    let (mut code, mut at) = (String::new(), 0);
    while at < characters.len() {
        if next(at, "//") {
            while at < characters.len() && characters[at] != '\n' {
                at += 1;
            }
        } else if next(at, "/*") {
            let mut depth = 0;
            while at < characters.len() {
                if next(at, "/*") {
                    depth += 1;
                    at += 2;
                } else if next(at, "*/") {
                    depth -= 1;
                    at += 2;
                } else {
                    at += 1;
                }
                if depth == 0 {
                    break;
                }
            }
            code.push(' ');
        } else if let Some(end) = raw_text_end(&characters, at) {
            code.push(' ');
            at = end;
        } else if characters[at] == '"' {
            at += 1;
            while at < characters.len() && characters[at] != '"' {
                at += if characters[at] == '\\' { 2 } else { 1 };
            }
            at += 1;
            code.push(' ');
        } else if next(at, "'\\") {
            at += 3;
            while at < characters.len() && characters[at] != '\'' {
                at += 1;
            }
            at += 1;
        } else if characters[at] == '\'' && characters.get(at + 2) == Some(&'\'') {
            at += 3;
        } else {
            code.push(characters[at]);
            at += 1;
        }
    }
    code
}

/// Where a raw text that begins here ends, if one does.
fn raw_text_end(characters: &[char], at: usize) -> Option<usize> {
    let after_word =
        at > 0 && (characters[at - 1].is_alphanumeric() || characters[at - 1] == '_') && characters[at - 1] != 'b';
    if characters[at] != 'r' || after_word {
        return None;
    }
    let hashes = characters[at + 1..].iter().take_while(|c| **c == '#').count();
    let open = at + 1 + hashes;
    if characters.get(open) != Some(&'"') {
        return None;
    }
    let closes = |end: usize| {
        characters[end] == '"'
            && characters.get(end + 1..=end + hashes).is_some_and(|tail| tail.iter().all(|c| *c == '#'))
    };
    let end = (open + 1..characters.len()).find(|&end| closes(end))?;
    Some(end + 1 + hashes)
}
