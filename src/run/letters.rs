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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::Source;

    fn read(text: &str) -> (Floors, Vec<String>) {
        let read = crate::base::settings::read(&Source::new("job.toml", text), read_letters);
        let told = read.problems.iter().map(|problem| {
            let at = problem.origin.as_ref().map(ToString::to_string).unwrap_or_default();
            format!("{at} {} {} | {}", problem.id, problem.message, problem.remedy.as_deref().unwrap_or("-"))
        });
        let told = told.collect();
        (read.value.unwrap(), told)
    }

    #[test]
    fn heights_are_set_one_by_one() {
        let usual = Floors::default();
        assert_eq!(read(""), (usual, Vec::new()));
        let (floors, told) = read("[letters]\ncode_wanted = 4\nline_least = \"0.06 in\"\nround_least = 2.4\n");
        assert_eq!(told, Vec::<String>::new());
        let (code_wanted, line_least, round) = (Length::mm(4.0), Length::inch(0.06), Length::mm(2.4));
        // A least height above the usual wanted one lifts it.
        assert_eq!(floors, Floors { code_wanted, line_least, round_least: round, round_wanted: round, ..usual });
    }

    #[test]
    fn a_least_height_is_not_above_the_wanted_one() {
        let (floors, told) =
            read("[letters]\ncode_wanted = 1.5\nline_wanted = 2\nline_least = 2.1\nround_least = 0.5\nsize = 2\n");
        assert_eq!(floors, Floors::default());
        assert_eq!(
            told,
            [
                "job.toml:2:15 letters-least-above-wanted `code_wanted` is 1.5 mm, but `code_least` is usually 1.8 mm | make \
                 `code_least` no more than `code_wanted`",
                "job.toml:3:15 letters-least-above-wanted `line_wanted` is 2 mm, but `line_least` is 2.1 mm | make `line_least` \
                 no more than `line_wanted`",
                "job.toml:5:15 length-out-of-range `round_least` cannot be 0.5 mm | write a length from 0.8 mm to 20 mm",
                "job.toml:6:1 unknown-setting [letters] has no setting `size` | choose from `code_wanted`, `code_least`, \
                 `line_wanted`, `line_least`, `round_wanted`, `round_least`",
            ]
        );
    }
}
