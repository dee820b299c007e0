//! What a photograph or PDF shows, whoever made it, and what this job knows of it.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::failure::RunFailure;
use super::reading::{Reading, register_path};
use super::recall::{Recall, Scanned};
use crate::base::{EndLetter, TagCode};
use crate::codes::{Issued, Payload, Register, link};
use crate::labels::{self, Doubled, Purpose, Reach};
use crate::proof::{self, Sighting};

/// A tag that was read.
#[derive(Clone, Debug)]
pub struct ReadTag {
    /// The file it was seen in.
    pub file: PathBuf,
    /// What its symbol says.
    pub text: String,
    /// How many symbols of the file say so: a flag has one on each face.
    pub symbols: usize,
    /// The code, when the text holds one.
    pub code: Option<TagCode>,
    /// What the job knows of it.
    pub answer: Scanned,
    /// Why the answer may be of another wire: the tag says something else than this job's would.
    pub doubt: Option<String>,
}

/// Reads the tags of photographs (PNG, JPEG) and PDFs, in the order of the files; tags that say the same are told once a file.
///
/// # Errors
/// [`RunFailure`] when a file cannot be read or is none of these, or the register cannot be read.
pub fn scan(reading: &Reading, files: &[PathBuf]) -> Result<Vec<ReadTag>, RunFailure> {
    let register = Register::open_to_read(&register_path(reading.job.folder()))?;
    let issued = register.preview(&reading.circuits)?;
    let recall = Recall::new(&reading.circuits, &issued, &register.records()?);
    let mut tags: Vec<ReadTag> = Vec::new();
    for file in files {
        for Sighting { text, .. } in symbols_in(file)? {
            if let Some(known) = tags.iter_mut().find(|tag| tag.file == *file && tag.text == text) {
                known.symbols += 1;
                continue;
            }
            let named = link::from_scanned(&text);
            let answer = recall.by_scanned(&text);
            let doubt = match (&answer, named) {
                (Scanned::Known(_), Some((code, letter))) => doubt(reading, &issued, &text, code, letter),
                _ => None,
            };
            let code = named.map(|(code, _)| code);
            tags.push(ReadTag { file: file.clone(), text, symbols: 1, code, answer, doubt });
        }
    }
    Ok(tags)
}

/// The symbols of a photograph (PNG, JPEG) or PDF.
#[expect(clippy::disallowed_methods, reason = "`run` reads the files it is asked for")]
fn symbols_in(file: &Path) -> Result<Vec<Sighting>, RunFailure> {
    let bytes = fs::read(file).map_err(RunFailure::disk("read", file))?;
    let unreadable = |source| RunFailure::Unreadable { path: file.to_owned(), source };
    if bytes.starts_with(b"%PDF") {
        proof::read_pdf(Arc::new(bytes)).map_err(unreadable)
    } else {
        proof::read_image(&bytes).map_err(unreadable)
    }
}

/// Every job issues its codes from the same row, so a tag of another job may bear a code of this one. Its address or its words
/// tell; a bare code cannot.
fn doubt(reading: &Reading, issued: &Issued, text: &str, code: TagCode, letter: Option<EndLetter>) -> Option<String> {
    let text = text.trim().to_uppercase();
    let payload = reading.equipment.payload();
    if let Some(base) = text.contains("://").then(|| base_of(&text, code)) {
        return match payload {
            Payload::Link { base: own } if own.to_string() == base => None,
            Payload::Link { base: own } => Some(format!(
                "this tag leads to `{base}`, those of this job lead to `{own}`: it may be another job's tag"
            )),
            _ => {
                Some(format!("this tag leads to `{base}`, those of this job lead nowhere: it may be another job's tag"))
            }
        };
    }
    let expected = expected_texts(reading, issued, code, letter?);
    let is_bare = text.split_whitespace().count() <= 2;
    if is_bare || expected.is_empty() || expected.contains(&text) {
        return None;
    }
    Some(format!(
        "the tag says `{text}`, this job's would say `{}` now: it is stale, or another job's tag",
        expected[0]
    ))
}

/// What stands before the code in a link.
fn base_of(link: &str, code: TagCode) -> String {
    let end = link.rfind(&format!("/{code}")).unwrap_or(link.len());
    link[..end].to_owned()
}

/// The texts that this job's tags of an end may bear: alone, or with the other wire of a doubled cavity.
fn expected_texts(reading: &Reading, issued: &Issued, code: TagCode, letter: EndLetter) -> Vec<String> {
    let Some(circuit) = issued.circuits.iter().position(|codes| codes.code == code) else { return Vec::new() };
    let mut texts = Vec::new();
    for doubled in [Doubled::Together, Doubled::Apart] {
        let tags = labels::select(&reading.circuits, Purpose::Work, Reach::All, doubled);
        let is_its = |end: usize| issued.circuits[circuit].letters[end] == letter;
        let tag = tags.into_iter().find(|tag| tag.circuit == circuit && tag.ends.clone().any(is_its));
        let label =
            tag.map(|tag| labels::label(&reading.circuits, issued, reading.equipment.payload(), Purpose::Work, &tag));
        texts.extend(label.and_then(|label| label.payload));
    }
    texts
}
