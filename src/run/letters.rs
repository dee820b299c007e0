//! The letter heights of job.toml: what is wanted, and below which nothing is printed.
//!
//! ```toml
//! [letters]                     # heights of capitals, in mm
//! code_wanted = 2.5             # the code on flags, wraps and tie-ons
//! code_least = 1.8
//! line_wanted = 1.8             # other lines on them
//! line_least = 1.3
//! round_wanted = 2.0            # anything on sleeves and strips, after shrinking
//! round_least = 1.3
//! ```

use super::problems::LETTERS_LEAST_ABOVE_WANTED;
use crate::base::Length;
use crate::base::settings::{Least, Reader, Table};
use crate::layout::Floors;

/// Below this nobody reads anything.
const LOWEST: Length = Length::nm(800_000);
/// No tag has room for more.
const HIGHEST: Length = Length::nm(20_000_000);

/// Reads `[letters]`; what it leaves out has its usual height.
pub(super) fn read_letters(reader: &mut Reader, top: &Table<'_>) -> Floors {
    let usual = Floors::default();
    let Some(table) = reader.table(top, "letters") else { return usual };
    let keys = [("code_wanted", "code_least"), ("line_wanted", "line_least"), ("round_wanted", "round_least")];
    reader.expect_keys(&table, &[], &keys.map(|(wanted, least)| [wanted, least]).concat());
    let (code_wanted, code_least) = read_pair(reader, &table, keys[0], (usual.code_wanted, usual.code_least));
    let (line_wanted, line_least) = read_pair(reader, &table, keys[1], (usual.line_wanted, usual.line_least));
    let (round_wanted, round_least) = read_pair(reader, &table, keys[2], (usual.round_wanted, usual.round_least));
    Floors { code_wanted, code_least, line_wanted, line_least, round_wanted, round_least, ..usual }
}

/// A height that is wanted and its least. A least one above the usual wanted one lifts that with it.
fn read_pair(
    reader: &mut Reader,
    table: &Table<'_>,
    (wanted_key, least_key): (&str, &str),
    usual: (Length, Length),
) -> (Length, Length) {
    let wanted = reader.length(table, wanted_key, Least::Of(LOWEST), HIGHEST);
    let least = reader.length(table, least_key, Least::Of(LOWEST), HIGHEST);
    let least_value = least.as_ref().map_or(usual.1, |least| least.value);
    let Some(wanted) = wanted else { return (usual.0.max(least_value), least_value) };
    if least_value <= wanted.value {
        return (wanted.value, least_value);
    }
    let is = if least.is_some() { "is" } else { "is usually" };
    let message = format!("`{wanted_key}` is {}, but `{least_key}` {is} {least_value}", wanted.value);
    let remedy = format!("make `{least_key}` no more than `{wanted_key}`");
    reader.tell(wanted.point(LETTERS_LEAST_ABOVE_WANTED.says(message).remedy(remedy)));
    usual
}
