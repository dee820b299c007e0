//! What tests share: a temporary job folder, the program run in it, and its answer with whatever changes from run to run
//! taken out.

use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

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

#[expect(dead_code, reason = "a kit holds what tests to come need")]
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

    /// The same folder with one file more, or with another text in it.
    pub fn and(self, name: &str, text: &str) -> Self {
        let path = self.path().join(name);
        fs::create_dir_all(path.parent().expect("inside the folder")).expect("made");
        fs::write(path, text).expect("written");
        self
    }

    /// Where it is.
    pub fn path(&self) -> PathBuf {
        self.parent.path().join("job")
    }

    /// The bytes of a file in it.
    pub fn bytes(&self, name: &str) -> Vec<u8> {
        fs::read(self.path().join(name)).unwrap_or_else(|error| panic!("`{name}` cannot be read: {error}"))
    }

    /// Names of all files and folders in it, sorted.
    pub fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(self.path()).expect("listed");
        let mut names: Vec<String> =
            entries.map(|entry| entry.expect("listed").file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    /// Runs the program in the folder.
    pub fn run(&self, arguments: &[&str]) -> Answer {
        let output = assert_cmd::Command::new(env!("CARGO_BIN_EXE_loomtag"))
            .current_dir(self.path())
            .args(arguments)
            .env_remove("NO_COLOR")
            .env("TERM", "dumb")
            .env("COLUMNS", "120")
            .output()
            .expect("the program starts");
        Answer {
            code: output.status.code().expect("the program was not killed"),
            out: self.normalised(&output.stdout),
            err: self.normalised(&output.stderr),
        }
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
}

impl Answer {
    /// The same answer, which must have ended with this code.
    #[track_caller]
    #[expect(dead_code, reason = "a kit holds what tests to come need")]
    pub fn ends_with(self, code: i32) -> Self {
        assert_eq!(self.code, code, "out:\n{}\nerr:\n{}", self.out, self.err);
        self
    }
}
