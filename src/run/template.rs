//! Stock files and wordings at hand: the job folder's own come before those of the program.
//!
//! In: a job folder, and perhaps a name. Out: the texts of files. What they say is read by `pages` and `labels`.

use std::fs;
use std::io;
use std::path::Path;

use super::bounded;
use super::failure::RunFailure;
use crate::labels::Wording;
use crate::pages;

const NOT_TEXT: &str = "it is not UTF-8 text";

/// A sort of file that a job may have its own of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Template {
    /// What tags are printed on.
    Stock,
    /// What tags say.
    Wording,
}

/// A file of a sort.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TemplateFile {
    /// What job.toml calls it.
    pub name: String,
    /// Its path in the job folder, or the file's name where it comes with the program; for messages.
    pub file: String,
    /// What stands in it.
    pub text: String,
    /// Who wrote it.
    pub whose: Whose,
}

/// Who wrote a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Whose {
    /// It lies in the job folder.
    Job,
    /// It comes with the program.
    Program,
}

impl Template {
    /// The folder in a job folder.
    pub const fn folder(self) -> &'static str {
        match self {
            Self::Stock => "stock",
            Self::Wording => "templates",
        }
    }

    /// Name and text of all files that come with the program.
    pub fn builtin(self) -> &'static [(&'static str, &'static str)] {
        match self {
            Self::Stock => pages::builtin(),
            Self::Wording => Wording::builtins(),
        }
    }

    /// The job's own file of this name; `None` where it has none.
    ///
    /// # Errors
    /// When the disk refuses to give the file, or it is not UTF-8 text.
    pub fn own(self, job: &Path, name: &str) -> io::Result<Option<TemplateFile>> {
        let is_plain = name.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '.' | '_'));
        if !is_plain {
            return Ok(None);
        }
        let file = format!("{}/{name}.toml", self.folder());
        let text = |bytes| String::from_utf8(bytes).map_err(|_| io::Error::new(io::ErrorKind::InvalidData, NOT_TEXT));
        match bounded::read_settings(&job.join(&file)).and_then(text) {
            Ok(text) => Ok(Some(TemplateFile { name: name.to_owned(), file, text, whose: Whose::Job })),
            Err(error) if matches!(error.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory) => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// The file of this name: the job's own, else the program's.
    ///
    /// # Errors
    /// [`RunFailure`] when the job has one and the disk refuses to give it.
    pub fn named(self, job: &Path, name: &str) -> Result<Option<TemplateFile>, RunFailure> {
        let path = job.join(self.folder()).join(format!("{name}.toml"));
        let own = self.own(job, name).map_err(RunFailure::disk("read", &path))?;
        let builtin = || self.builtin().iter().find(|(known, _)| *known == name).map(of_program);
        Ok(own.or_else(builtin))
    }

    /// All files there are: the job's own in order of their names, then those of the program that it has not replaced.
    ///
    /// # Errors
    /// [`RunFailure`] when the disk refuses to give one.
    pub fn all(self, job: &Path) -> Result<Vec<TemplateFile>, RunFailure> {
        let folder = job.join(self.folder());
        let mut names = Vec::new();
        if folder.is_dir() {
            for entry in fs::read_dir(&folder).map_err(RunFailure::disk("list", &folder))? {
                let entry = entry.map_err(RunFailure::disk("list", &folder))?;
                let name = entry.file_name();
                names.extend(name.to_str().and_then(|name| name.strip_suffix(".toml")).map(str::to_owned));
            }
        }
        names.sort_unstable();
        let mut files = Vec::new();
        for name in names {
            let path = folder.join(format!("{name}.toml"));
            files.extend(self.own(job, &name).map_err(RunFailure::disk("read", &path))?);
        }
        let replaced: Vec<String> = files.iter().map(|file| file.name.clone()).collect();
        let builtin = self.builtin().iter().filter(|(name, _)| !replaced.iter().any(|own| own == name));
        files.extend(builtin.map(of_program));
        Ok(files)
    }
}

fn of_program((name, text): &(&'static str, &'static str)) -> TemplateFile {
    TemplateFile {
        name: (*name).to_owned(),
        file: format!("{name}.toml"),
        text: (*text).to_owned(),
        whose: Whose::Program,
    }
}
