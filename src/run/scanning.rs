//! What a photograph or PDF shows, whoever made it, and what this job knows of it.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::bounded;
use super::failure::RunFailure;
use super::job::Job;
use super::recall::{Recall, Scanned, Tag};
use crate::codes::link::{self, Meaning};
use crate::proof::{self, Patience, ProofFailure, Search, Sighting};

/// A tag that was read.
#[derive(Clone, Debug)]
pub struct ReadTag {
    /// The file it was seen in.
    pub file: PathBuf,
    /// What its symbol says.
    pub text: String,
    /// How many symbols of the file say so: a flag has one on each face.
    pub symbols: usize,
    /// What the job knows of it.
    pub answer: Scanned,
}

impl ReadTag {
    /// Why the answer may be of another wire: the tag says something else than this job's would.
    pub fn doubt(&self) -> Option<&str> {
        match &self.answer {
            Scanned::Known(found) => found.doubt.as_deref(),
            Scanned::Connector { doubt, .. } | Scanned::Blank { doubt, .. } => doubt.as_deref(),
            Scanned::Unknown { .. } | Scanned::Nothing { .. } => None,
        }
    }

    /// Whether it is known and not in doubt.
    pub fn is_sure(&self) -> bool {
        match &self.answer {
            Scanned::Known(found) => found.doubt.is_none(),
            Scanned::Connector { doubt, found, .. } => doubt.is_none() && !found.is_empty(),
            Scanned::Blank { doubt, .. } => doubt.is_none(),
            Scanned::Unknown { .. } | Scanned::Nothing { .. } => false,
        }
    }

    /// The name of a circuit's tag.
    pub fn named(&self) -> Option<Tag> {
        let is_circuit = matches!(self.answer, Scanned::Known(_));
        link::from_scanned(&self.text).filter(|_| is_circuit).and_then(Meaning::circuit)
    }

    /// The name of a circuit's tag that is sure.
    pub fn sure(&self) -> Option<Tag> {
        self.named().filter(|_| self.is_sure())
    }
}

/// Said of a photograph without any symbol.
pub const NO_SYMBOL: &str = "no symbol can be read; go closer, or hold the light aslant";
/// Said of several tags one of which is in doubt.
pub const IN_DOUBT: &str = "a tag is in doubt: which of them are one circuit is not told";

/// What tags that were read together are to each other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Together {
    /// Whether all of them are known and not in doubt.
    pub is_sure: bool,
    /// Those of one circuit together; none while one of them may be another job's.
    pub circuits: Vec<Vec<Tag>>,
}

/// Puts tags together that name one circuit, perhaps with one that is held beside them.
pub fn together(recall: &Recall, tags: &[ReadTag], held: Option<Tag>) -> Together {
    let sure: BTreeSet<Tag> = tags.iter().filter_map(ReadTag::sure).filter(|tag| held != Some(*tag)).collect();
    let is_sure = !tags.is_empty() && tags.iter().all(ReadTag::is_sure);
    let sure: Vec<Tag> = held.into_iter().chain(sure).collect();
    Together { is_sure, circuits: if is_sure { recall.one_circuit(&sure) } else { Vec::new() } }
}

/// Reads the tags of photographs (PNG, JPEG) and PDFs, in the order of the files; tags that say the same are told once a file.
///
/// # Errors
/// [`RunFailure`] when a file cannot be read or is none of these.
pub fn scan(recall: &Recall, files: &[PathBuf]) -> Result<Vec<ReadTag>, RunFailure> {
    let mut tags: Vec<ReadTag> = Vec::new();
    for file in files {
        // A file that is named twice is read once.
        if !tags.iter().any(|tag| tag.file == *file) {
            let bytes = bounded::read(file).map_err(RunFailure::disk("read", file))?;
            tags.extend(scan_bytes(recall, file, bytes, &Patience::LONG)?.0);
        }
    }
    Ok(tags)
}

/// Reads the tags of one photograph (PNG, JPEG) or PDF, of which `file` is the name, with so much patience, and whether it was looked
/// through to the end; tags that say the same are told once.
///
/// # Errors
/// [`RunFailure::Unreadable`] when it is none of these, or damaged, or too large.
pub fn scan_bytes(
    recall: &Recall,
    file: &Path,
    bytes: Vec<u8>,
    patience: &Patience<'_>,
) -> Result<(Vec<ReadTag>, Search), RunFailure> {
    let (texts, search) = texts_in(file, bytes, patience)?;
    let tag = |SymbolText { text, symbols }| ReadTag { file: file.to_owned(), symbols, ..scan_text(recall, &text) };
    Ok((texts.into_iter().map(tag).collect(), search))
}

/// What symbols say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SymbolText {
    /// Their text.
    pub text: String,
    /// How many say so.
    pub symbols: usize,
}

/// The texts of the symbols in a photograph (PNG, JPEG) or PDF, whichever job they are of; what says the same is told once.
///
/// # Errors
/// As [`scan_bytes`].
pub fn texts_in(file: &Path, bytes: Vec<u8>, patience: &Patience<'_>) -> Result<(Vec<SymbolText>, Search), RunFailure> {
    let unreadable = |source| RunFailure::Unreadable { path: file.to_owned(), source };
    let (sightings, search) = symbols_in(bytes, patience).map_err(unreadable)?;
    let mut texts: Vec<SymbolText> = Vec::new();
    for Sighting { text, .. } in sightings {
        match texts.iter_mut().find(|known| known.text == text) {
            Some(known) => known.symbols += 1,
            None => texts.push(SymbolText { text, symbols: 1 }),
        }
    }
    Ok((texts, search))
}

/// Whether the text of a symbol begins with the address that a job's tags bear. Symbols are upper case, and so case is left aside.
pub fn bears_address_of(job: &Job, text: &str) -> bool {
    let base = job.payload().base.as_ref().map(|base| base.value.trim_end_matches('/'));
    let rest = base.filter(|base| !base.is_empty()).and_then(|base| {
        let start = text.get(..base.len())?;
        start.eq_ignore_ascii_case(base).then(|| &text[base.len()..])
    });
    rest.is_some_and(|rest| rest.starts_with('/'))
}

/// What the job knows of the text of a symbol, read by another reader or typed.
pub fn scan_text(recall: &Recall, text: &str) -> ReadTag {
    ReadTag { file: PathBuf::new(), text: text.to_owned(), symbols: 0, answer: recall.by_scanned(text) }
}

/// The symbols of a photograph (PNG, JPEG) or PDF.
fn symbols_in(bytes: Vec<u8>, patience: &Patience<'_>) -> Result<(Vec<Sighting>, Search), ProofFailure> {
    match bytes.starts_with(b"%PDF") {
        true => proof::read_pdf_within(Arc::new(bytes), patience),
        false => proof::read_image_within(&bytes, patience),
    }
}
