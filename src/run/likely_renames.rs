//! Likely renamings, told before a new code is issued: the lists call a circuit by a new designation, and the register knows
//! its cavities under another.

use super::failure::RunFailure;
use super::problems::{LIKELY_MOVED, LIKELY_RENAME};
use super::reading::Reading;
use super::register;
use crate::base::Problem;
use crate::base::nearest::listed;
use crate::codes::{LikelyMove, LikelyRename};

/// Cavities that a message names, at most.
const NAMED_AT_MOST: usize = 4;

/// A problem for each likely renaming, to be told before all others: printing would give the circuit a second code.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn likely_renames(reading: &Reading) -> Result<Vec<Problem>, RunFailure> {
    let register = register::open_to_read(reading.job.folder())?;
    let renames = register.likely_renames(&reading.circuits)?;
    Ok(likely(reading, &renames, &register.likely_moves(&reading.circuits)?))
}

/// The same of what is likely.
pub(super) fn likely(reading: &Reading, renames: &[LikelyRename], moves: &[LikelyMove]) -> Vec<Problem> {
    let renamed = renames.iter().map(|rename| told(rename, reading));
    renamed.chain(moves.iter().map(|moved| told_moved(moved, reading))).collect()
}

fn told_moved(moved: &LikelyMove, reading: &Reading) -> Problem {
    let circuit = &reading.circuits.all()[moved.circuit];
    let end = &circuit.ends()[moved.end];
    let (old, new, (code, letter)) = (&moved.old, &end.place, moved.mark);
    let what = format!(
        "`{new}` of circuit `{}` is new to the register, and `{old}` ({code} {letter}), alike in colour and far end, has left the lists",
        circuit.id()
    );
    let command = format!("loomtag rename {} {}", typed(&old.to_string()), typed(&new.to_string()));
    let remedy = format!("if it is the same wire, `{command}` keeps its letter; else printing issues a new one");
    LIKELY_MOVED.says(what).at(end.origin.clone()).remedy(remedy)
}

fn told(rename: &LikelyRename, reading: &Reading) -> Problem {
    let LikelyRename { old, code, new, places } = rename;
    let named: Vec<String> = places.iter().take(NAMED_AT_MOST).map(ToString::to_string).collect();
    let mut named = listed(&named.iter().map(String::as_str).collect::<Vec<_>>());
    if places.len() > NAMED_AT_MOST {
        named = format!("{named} and {} more", places.len() - NAMED_AT_MOST);
    }
    let what = format!(
        "circuit `{new}` is new to the register, and sits where `{old}` ({code}) was, which has left the lists: {named}"
    );
    let problem = LIKELY_RENAME.says(what);
    let end = reading.circuits.get(new).and_then(|circuit| {
        circuit.ends().iter().find(|end| places.contains(&end.place)).or_else(|| circuit.ends().first())
    });
    let problem = match end {
        Some(end) => problem.at(end.origin.clone()),
        None => problem,
    };
    let command = format!("loomtag rename {} {}", typed(old.as_str()), typed(new.as_str()));
    problem.remedy(format!("if they are one circuit, `{command}` keeps its code; else printing issues a new one"))
}

/// A designation as an argument of a command.
fn typed(designation: &str) -> String {
    let is_plain = designation.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/' | '+' | ':'));
    if is_plain && !designation.starts_with('-') { designation.to_owned() } else { format!("\"{designation}\"") }
}
