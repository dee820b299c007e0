//! What tests share: a temporary job folder, the program run in it, and its answer with whatever changes from run to run
//! taken out.

pub mod printer;
pub mod running;
pub mod served;
pub mod table;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use tempfile::TempDir;

/// Settings of the small job.
const SMALL_JOB: &str = r#"title = "Marsh Hen bench"

[payload]
base = "HTTP://MARSHHEN.LOCAL:7117"
"#;

/// List of the small job.
pub const SMALL_LIST: &str = "\
connector,cavity,circuit,function,colour,size,supply,fuse,action,length,diameter
J1,1,E65,glow plug supply,RD/BK,4.0,constant,F1 60 A,cut,,3.9
J1,2,E70,engine ground,BK,2.5,ground,,keep,,3.1
J1,14,E14,rail pressure signal,BU/WH,0.5,signal,,cut,680,2.4
J2,3,E14,,BU/WH,0.5,signal,,keep,680,2.4
J2,5,E33,exhaust flap,RD/BU,1.0,signal,,remove,1050,2
G2,,E70,,BK,2.5,ground,,keep,,3.1
J2,9,,,GY,0.5,,,,,
";

/// The folder of this project.
pub fn project() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A job folder that goes away with the test.
pub struct JobFolder {
    parent: TempDir,
}

/// What the program answered.
#[derive(Debug)]
pub struct Answer {
    /// Exit code.
    pub code: i32,
    /// Standard output, the folder's own path shown as `JOB`.
    pub out: String,
    /// Standard error, likewise.
    pub err: String,
}

impl JobFolder {
    /// An empty folder.
    pub fn empty() -> Self {
        let parent = TempDir::new().expect("a temporary folder");
        fs::create_dir(parent.path().join("job")).expect("made");
        Self { parent }
    }

    /// A folder with these files.
    pub fn with(files: &[(&str, &str)]) -> Self {
        files.iter().fold(Self::empty(), |folder, (name, text)| folder.and(name, text))
    }

    /// The example job, with its lists and settings only.
    pub fn example() -> Self {
        let folder = Self::empty();
        for entry in fs::read_dir(project().join("examples/marsh-hen")).expect("listed") {
            let path = entry.expect("listed").path();
            if path.extension().is_some_and(|end| end == "csv" || end == "toml") {
                let name = path.file_name().expect("a file has a name");
                fs::copy(&path, folder.path().join(name)).expect("copied");
            }
        }
        folder
    }

    /// A few circuits of the donor's loom: two connectors, a constant-fed end, a pulled end, a stud.
    pub fn small() -> Self {
        Self::with(&[("job.toml", SMALL_JOB), ("loom.csv", SMALL_LIST)])
    }

    /// The same folder with one file more, or with another text in it.
    pub fn and(self, name: &str, text: &str) -> Self {
        self.write(name, text);
        self
    }

    /// Writes a file, folders on the way to it included.
    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        let path = self.path().join(name);
        fs::create_dir_all(path.parent().expect("inside the folder")).expect("made");
        fs::write(path, bytes).expect("written");
    }

    /// Where it is.
    pub fn path(&self) -> PathBuf {
        self.parent.path().join("job")
    }

    /// The bytes of a file in it.
    pub fn bytes(&self, name: &str) -> Vec<u8> {
        fs::read(self.path().join(name)).unwrap_or_else(|error| panic!("`{name}` cannot be read: {error}"))
    }

    /// A JSON file in it.
    pub fn json(&self, name: &str) -> Value {
        serde_json::from_slice(&self.bytes(name)).unwrap_or_else(|error| panic!("`{name}` is not JSON: {error}"))
    }

    /// Names of all files and folders in it and below, sorted.
    pub fn names(&self) -> Vec<String> {
        let top = self.path();
        let mut names: Vec<String> = Vec::new();
        let mut open = vec![top.clone()];
        while let Some(folder) = open.pop() {
            for entry in fs::read_dir(folder).expect("listed") {
                let path = entry.expect("listed").path();
                names.push(path.strip_prefix(&top).expect("it is below").to_string_lossy().replace('\\', "/"));
                if path.is_dir() {
                    open.push(path);
                }
            }
        }
        names.sort();
        names
    }

    /// Runs the program in the folder.
    pub fn run(&self, arguments: &[&str]) -> Answer {
        let output = self.command(arguments).output().expect("the program starts");
        Answer {
            code: output.status.code().expect("the program was not killed"),
            out: self.normalised(&output.stdout),
            err: self.normalised(&output.stderr),
        }
    }

    /// Runs the program, which must end with 0.
    #[track_caller]
    pub fn done(&self, arguments: &[&str]) -> Answer {
        self.run(arguments).ends_with(0)
    }

    /// The program with these arguments, about to be run in the folder.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_loomtag"));
        command.current_dir(self.path()).args(arguments).env_remove("NO_COLOR");
        command.env("TERM", "dumb").env("COLUMNS", "120");
        command
    }

    /// The text with the folder's own path shown as `JOB` and line breaks of one kind.
    fn normalised(&self, bytes: &[u8]) -> String {
        let mut text = String::from_utf8_lossy(bytes).replace("\r\n", "\n");
        let path = self.path();
        for own in [path.canonicalize().expect("it is there"), path] {
            text = text.replace(&*own.to_string_lossy(), "JOB");
        }
        text
    }

    /// The tags of a run.json, in its order.
    pub fn tags(&self, run: &str) -> Vec<Tag> {
        let record = self.json(&format!("{run}/run.json"));
        let files = record["files"].as_array().expect("files");
        let tags = files.iter().flat_map(|file| {
            let tags = file["tags"].as_array().expect("tags");
            tags.iter().map(|tag| Tag { file: text(&file["file"]), json: tag.clone() })
        });
        tags.collect()
    }
}

/// A tag as run.json tells it.
#[derive(Clone, Debug)]
pub struct Tag {
    /// The PDF it is in.
    pub file: String,
    /// All of it.
    pub json: Value,
}

impl Tag {
    /// Its circuit's code.
    pub fn code(&self) -> String {
        text(&self.json["code"])
    }

    /// The connector, on the tag of one.
    pub fn connector(&self) -> Option<String> {
        self.json.get("connector").map(text)
    }

    /// Code and letters, as printed, or the connector.
    pub fn name(&self) -> String {
        let name = self.connector().unwrap_or_else(|| self.code());
        format!("{name} {}", text(&self.json["letters"])).trim_end().to_owned()
    }

    /// How far from which end it sits on its wire: `359 mm from J1/14`.
    pub fn position(&self) -> Option<String> {
        let at = self.json.get("at_mm")?.as_f64().expect("a number");
        Some(format!("{at:.0} mm from {}", text(&self.json["from"])))
    }

    /// The place it is for.
    pub fn place(&self) -> String {
        text(&self.json["place"])
    }

    /// Its lines, without the code.
    pub fn words(&self) -> Vec<String> {
        self.json["words"].as_array().expect("words").iter().map(text).collect()
    }

    /// What its symbols say; a flag may carry one on each face, and both say the same.
    pub fn says(&self) -> Option<String> {
        let symbols = self.json["symbols"].as_array().expect("symbols");
        assert!(symbols.iter().all(|symbol| symbol["says"] == symbols[0]["says"]), "{}", self.json);
        symbols.first().map(|symbol| text(&symbol["says"]))
    }

    /// How many symbols it carries.
    pub fn symbols(&self) -> usize {
        self.json["symbols"].as_array().expect("symbols").len()
    }

    /// Where its first symbol stands: `[left, top, width, height]` in mm from the page's top left corner.
    pub fn symbol_area(&self) -> String {
        self.json["symbols"][0]["area_mm"].to_string()
    }
}

/// What the head of a PNG says (PNG, third edition, 11.2.1 and 11.3.4.3).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Pixels a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Pixels a metre.
    pub a_metre: u32,
}

impl Picture {
    /// Reads the head.
    #[track_caller]
    pub fn of(png: &[u8]) -> Self {
        assert_eq!((&png[..8], &png[12..16]), (&b"\x89PNG\r\n\x1a\n"[..], &b"IHDR"[..]));
        let number = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().expect("four bytes"));
        let size = png.windows(4).position(|name| name == b"pHYs").expect("it says how large it is");
        assert_eq!(number(size + 4), number(size + 8), "pixels are square");
        Self { width: number(16), height: number(20), a_metre: number(size + 4) }
    }
}

/// A JSON text.
#[track_caller]
pub fn text(value: &Value) -> String {
    value.as_str().unwrap_or_else(|| panic!("{value} is no text")).to_owned()
}

impl Answer {
    /// The same answer, which must have ended with this code.
    #[track_caller]
    pub fn ends_with(self, code: i32) -> Self {
        assert_eq!(self.code, code, "out:\n{}\nerr:\n{}", self.out, self.err);
        self
    }

    /// Whether the words stand on either stream; a long line that goes on indented in the next counts as one.
    fn has(&self, words: &str) -> bool {
        let has = |text: &str| text.contains(words) || text.replace("\n  ", " ").contains(words);
        has(&self.out) || has(&self.err)
    }

    /// The same answer, in which the words must stand, on either stream.
    #[track_caller]
    pub fn says(self, words: &str) -> Self {
        let is_there = self.has(words);
        assert!(is_there, "`{words}` is missing\nout:\n{}\nerr:\n{}", self.out, self.err);
        self
    }

    /// The same answer, in which the words must not stand.
    #[track_caller]
    pub fn says_nothing_of(self, words: &str) -> Self {
        let is_there = self.has(words);
        assert!(!is_there, "`{words}` is there\nout:\n{}\nerr:\n{}", self.out, self.err);
        self
    }

    /// Standard output as JSON.
    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}:\n{}\n{}", self.out, self.err))
    }
}

/// What a program that is not ours prints on standard output; a missing one fails the test with its name and its source.
#[track_caller]
pub fn program(name: &str, arguments: &[&str]) -> String {
    let from = match name {
        "python3" => "python3",
        "qpdf" => "qpdf",
        "zbarimg" => "zbar-tools",
        _ => "poppler-utils",
    };
    let output = Command::new(name).args(arguments).output();
    let output =
        output.unwrap_or_else(|why| panic!("missing: {name} ({why}); apt-get install {from}, or sh tests/run"));
    let (out, err) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success(), "{name} {arguments:?} ended with {}:\n{out}{err}", output.status);
    out.into_owned()
}

/// What a script of `tests/outside` prints.
#[track_caller]
pub fn script(name: &str, arguments: &[&str]) -> String {
    let path = project().join("tests/outside").join(name);
    program("python3", &[&[&*path.to_string_lossy()], arguments].concat()).trim().to_owned()
}
