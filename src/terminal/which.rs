//! Which tags were asked for: the flags of `check` and `tags` come in, a choice goes out, or what they name in vain.

use std::fs;
use std::io::Read as _;
use std::path::Path;

use serde_json::json;

use super::args::Answer;
use super::complaint::Complaint;
use super::output::Output;
use super::tag_args::Which;
use crate::run::wanted::{InVain, Wanted};
use crate::run::{Choice, Reading};

pub use crate::run::wanted::ACTIONS;

/// Longest list of what to choose that is read, in bytes: a hundred thousand places are shorter.
const LONGEST_LIST: u64 = 4 << 20;

/// What the flags choose; `None` when some name nothing, which is told.
pub fn chosen(
    which: &Which,
    reading: &Reading,
    answer: Answer,
    output: &mut Output,
) -> Result<Option<Choice>, Complaint> {
    let mut in_vain = Vec::new();
    let listed = which.from_file.as_deref().map(|path| listed(path, &mut in_vain)).transpose()?;
    match (Wanted { listed, ..wanted(which) }).chosen(reading)? {
        Ok(choice) if in_vain.is_empty() => return Ok(Some(choice)),
        Ok(_) => {}
        Err(found) => in_vain.splice(0..0, found).for_each(drop),
    }
    if answer.json {
        let one = |found: &InVain| json!({ "at": found.at, "why": found.why, "remedy": &*found.remedy });
        output.json(&json!({ "unknown": in_vain.iter().map(one).collect::<Vec<_>>() }))?;
    } else {
        for InVain { at, why, remedy } in in_vain {
            let at = at.map(|at| format!("{at}: ")).unwrap_or_default();
            output.line(format!("{at}{why}; {remedy}"))?;
        }
    }
    Ok(None)
}

/// What the flags choose that name nothing of the lists.
pub fn choice(which: &Which, reading: &Reading) -> Choice {
    wanted(which).choice(reading)
}

/// The flags as words; the list that they name is not read.
fn wanted(which: &Which) -> Wanted {
    Wanted {
        work: which.work,
        final_tags: which.final_tags,
        all: which.all,
        removed: which.removed,
        apart: which.apart,
        no_connectors: which.no_connectors,
        along: which.along,
        this_end: which.this_end,
        connector: which.connector.clone(),
        branch: which.branch.clone(),
        action: which.action.clone(),
        kind: which.kind.clone(),
        circuit: which.circuit.clone(),
        code: which.code.clone(),
        listed: None,
    }
}

/// What a list names, one a line, each with where it stands: its first cell, where it is a table; `#` begins a comment.
#[expect(clippy::disallowed_methods, reason = "`terminal` reads what it is told to")]
fn listed(path: &Path, in_vain: &mut Vec<InVain>) -> Result<Vec<(String, String)>, Complaint> {
    let unread = |error: std::io::Error| Complaint::Typed {
        what: format!("cannot read `{}`: {error}", path.display()),
        remedy: "name a text file with a code, place, connector or designation on each line, or `-` for standard input"
            .to_owned(),
    };
    let mut bytes = Vec::new();
    if path == Path::new("-") {
        std::io::stdin().take(LONGEST_LIST + 1).read_to_end(&mut bytes).map_err(unread)?;
    } else {
        fs::File::open(path).map_err(unread)?.take(LONGEST_LIST + 1).read_to_end(&mut bytes).map_err(unread)?;
    }
    let text = String::from_utf8(bytes).ok().filter(|text| text.len() as u64 <= LONGEST_LIST);
    let Some(text) = text else {
        let error = std::io::Error::new(std::io::ErrorKind::InvalidData, "it is no UTF-8 text, or too long");
        return Err(unread(error));
    };
    let mut listed = Vec::new();
    for (line, typed) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        let cell = typed.split(['\t', ';', ',']).next().unwrap_or_default().trim().trim_matches('"').trim();
        if cell.is_empty() || cell.starts_with('#') {
            continue;
        }
        let before = typed.find(cell).map_or(0, |at| typed[..at].chars().count());
        listed.push((format!("{}:{}:{}", path.display(), line + 1, before + 1), cell.to_owned()));
    }
    if listed.is_empty() {
        in_vain.push(InVain {
            at: Some(path.display().to_string()),
            why: "it names nothing".to_owned(),
            remedy: "write a code, place, connector or designation on each line".into(),
        });
    }
    Ok(listed)
}
