//! job.toml with other values for a printer, and nothing else changed.
//!
//! In: its text. Out: its text with the values put in or replaced; each comment, blank line and key keeps its place. What cannot be
//! changed so is not changed at all.

use std::collections::BTreeSet;

use toml_edit::{DocumentMut, InlineTable, Item, Table, TableLike, Value};

use super::PrinterTable;
use crate::base::Length;
use crate::pages::{Edges, Landing};

/// Lines that a file has lost and got.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lines {
    /// As they were.
    pub old: Vec<String>,
    /// As they are now.
    pub new: Vec<String>,
}

impl Lines {
    /// Whether the file is as it was.
    pub const fn is_empty(&self) -> bool {
        self.old.is_empty() && self.new.is_empty()
    }
}

/// A key of a printer's table with the numbers of the table that it holds.
type Setting = (&'static str, Vec<(&'static str, f64)>);

fn settings(landing: &Landing, edges: Option<&Edges>) -> Vec<Setting> {
    let (offset, (across, down)) = (landing.offset(), landing.scale());
    let mut settings = vec![
        ("offset", vec![("x", offset.x.as_mm()), ("y", offset.y.as_mm())]),
        ("scale", vec![("x", across), ("y", down)]),
    ];
    if let Some(Edges { top, right, bottom, left }) = edges {
        let sides = [("left", left), ("right", right), ("top", top), ("bottom", bottom)];
        settings.push(("edges", sides.map(|(side, length): (_, &Length)| (side, length.as_mm())).to_vec()));
    }
    settings
}

/// What is written, for a person to write it.
pub(super) fn as_lines(landing: &Landing, edges: Option<&Edges>) -> String {
    let table = |(key, numbers): Setting| {
        let inside: Vec<String> = numbers.iter().map(|(key, number)| format!("{key} = {number}")).collect();
        format!("{key} = {{ {} }}", inside.join(", "))
    };
    settings(landing, edges).into_iter().map(table).collect::<Vec<_>>().join("\n")
}

/// The text with these values in the printer's table.
///
/// # Errors
/// The lines to write by hand, where the text cannot be changed without losing something of it.
pub(super) fn with_values(
    text: &str,
    table: PrinterTable,
    landing: &Landing,
    edges: Option<&Edges>,
) -> Result<String, String> {
    let changed = || -> Option<String> {
        let (mark, text) = text.strip_prefix('\u{feff}').map_or(("", text), |rest| ("\u{feff}", rest));
        let mut document: DocumentMut = text.parse().ok()?;
        let printer = document.as_table_mut().entry(table.name()).or_insert_with(|| Item::Table(new_table(text)));
        let printer = printer.as_table_like_mut()?;
        for (key, numbers) in settings(landing, edges) {
            put(printer, key, &numbers)?;
        }
        let written = document.to_string();
        let has_windows_lines = text.contains("\r\n") && !text.replace("\r\n", "").contains('\n');
        let written = if has_windows_lines { written.replace("\r\n", "\n").replace('\n', "\r\n") } else { written };
        Some(format!("{mark}{written}"))
    };
    changed().filter(|new| keeps_all(text, new, table)).ok_or_else(|| as_lines(landing, edges))
}

fn new_table(text: &str) -> Table {
    let mut table = Table::new();
    if !text.trim().is_empty() {
        table.decor_mut().set_prefix("\n");
    }
    table
}

/// Puts numbers into the table under a key of the printer's; values that are there keep what stands round them.
fn put(printer: &mut dyn TableLike, key: &str, numbers: &[(&str, f64)]) -> Option<()> {
    if printer.get(key).is_none() {
        printer.insert(key, Item::Value(Value::InlineTable(line(numbers))));
        return Some(());
    }
    let item = printer.get_mut(key)?;
    // A line that lacks a number is written anew: what stands between the numbers would not suit.
    if let Some(inside) =
        item.as_inline_table_mut().filter(|inside| numbers.iter().any(|(key, _)| !inside.contains_key(key)))
    {
        let decor = inside.decor().clone();
        *inside = line(numbers);
        *inside.decor_mut() = decor;
        return Some(());
    }
    let inside = item.as_table_like_mut()?;
    for (key, number) in numbers {
        let value = written(*number);
        match inside.get_mut(key) {
            Some(Item::Value(old)) if same(old, *number) => {}
            Some(Item::Value(old)) => {
                let decor = old.decor().clone();
                *old = value;
                *old.decor_mut() = decor;
            }
            Some(_) => return None,
            None => {
                inside.insert(key, Item::Value(value));
            }
        }
    }
    Some(())
}

fn line(numbers: &[(&str, f64)]) -> InlineTable {
    let mut inside = InlineTable::new();
    for (key, number) in numbers {
        inside.insert(*key, written(*number));
    }
    inside
}

fn same(old: &Value, number: f64) -> bool {
    old.as_float().or_else(|| old.as_integer().map(|whole| whole as f64)) == Some(number)
}

/// A number as a person writes it: whole ones without a point.
fn written(number: f64) -> Value {
    if number.fract() == 0.0 && number.abs() < 1e6 { Value::from(number as i64) } else { Value::from(number) }
}

/// Whether the new text says all that the old one did, the printer's own values apart, and has all its comments.
fn keeps_all(old: &str, new: &str, table: PrinterTable) -> bool {
    let rest = |text: &str| -> Option<toml::Table> {
        let mut top: toml::Table = text.strip_prefix('\u{feff}').unwrap_or(text).parse().ok()?;
        if let Some(toml::Value::Table(printer)) = top.get_mut(table.name()) {
            for key in ["offset", "scale", "edges"] {
                printer.remove(key);
            }
        } else {
            top.insert(table.name().to_owned(), toml::Value::Table(toml::Table::new()));
        }
        Some(top)
    };
    let Lines { old: lost, new: got } = changed_lines(old, new);
    // A line that stands elsewhere now was moved; of one that changed, the comment must be there.
    let is_kept = |line: &String| {
        let comment = line.rsplit_once('#').map_or("", |(_, comment)| comment);
        !line.trim().is_empty() && !got.contains(line) && got.iter().any(|line| line.contains(comment))
    };
    rest(old).is_some() && rest(old) == rest(new) && lost.iter().all(is_kept)
}

/// The lines by which two texts differ: what they have in common, in order, is left out.
pub(super) fn changed_lines(old: &str, new: &str) -> Lines {
    let (old, new): (Vec<&str>, Vec<&str>) = (old.lines().collect(), new.lines().collect());
    let same = |pairs: &mut dyn Iterator<Item = (&&str, &&str)>| pairs.take_while(|(old, new)| old == new).count();
    let before = same(&mut old.iter().zip(&new));
    let (old, new) = (&old[before..], &new[before..]);
    let behind = same(&mut old.iter().rev().zip(new.iter().rev()));
    let (old, new) = (&old[..old.len() - behind], &new[..new.len() - behind]);
    let kept = longest_in_common(old, new);
    let without = |lines: &[&str], kept: &mut dyn Iterator<Item = usize>| -> Vec<String> {
        let kept: BTreeSet<usize> = kept.collect();
        let changed = lines.iter().enumerate().filter(|(index, _)| !kept.contains(index));
        changed.map(|(_, line)| (*line).to_owned()).collect()
    };
    Lines {
        old: without(old, &mut kept.iter().map(|(old, _)| *old)),
        new: without(new, &mut kept.iter().map(|(_, new)| *new)),
    }
}

/// Most lines that two texts have in common in one order, as pairs of their numbers. Of very long texts none are.
fn longest_in_common(old: &[&str], new: &[&str]) -> Vec<(usize, usize)> {
    const MOST: usize = 4_000_000;
    if old.len().saturating_mul(new.len()) > MOST {
        return Vec::new();
    }
    let wide = new.len() + 1;
    // How many lines the ends from here on have in common.
    let mut common = vec![0_u32; (old.len() + 1) * wide];
    for one in (0..old.len()).rev() {
        for other in (0..new.len()).rev() {
            common[one * wide + other] = if old[one] == new[other] {
                common[(one + 1) * wide + other + 1] + 1
            } else {
                common[(one + 1) * wide + other].max(common[one * wide + other + 1])
            };
        }
    }
    let (mut one, mut other, mut pairs) = (0, 0, Vec::new());
    while one < old.len() && other < new.len() {
        if old[one] == new[other] {
            pairs.push((one, other));
            (one, other) = (one + 1, other + 1);
        } else if common[(one + 1) * wide + other] >= common[one * wide + other + 1] {
            one += 1;
        } else {
            other += 1;
        }
    }
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::Point;
    use proptest::prelude::*;

    fn landing() -> Landing {
        Landing::new(Point::new(Length::mm(1.3), Length::mm(-0.8)), 0.985, 1.0)
    }

    fn edges() -> Edges {
        let [left, right, top, bottom] = [4.0, 4.5, 5.0, 12.0].map(Length::mm);
        Edges { top, right, bottom, left }
    }

    fn changed(text: &str) -> String {
        with_values(text, PrinterTable::Sheets, &landing(), Some(&edges())).expect("it can be changed")
    }

    #[test]
    fn values_are_added_behind_those_of_the_table() {
        let text = "title = \"Marsh Hen\"  # the boat\n\n[printer]   # office\nkind = \"laser\"      # laser, inkjet\ndpi = 600\n\
                    # edges = { left = 5 }  # mm\n\n# [sleeve_printer]\n[tags]\nwork = \"flag\"\n# the end\n";
        assert_eq!(
            changed(text),
            "title = \"Marsh Hen\"  # the boat\n\n[printer]   # office\nkind = \"laser\"      # laser, inkjet\ndpi = 600\n\
             offset = { x = 1.3, y = -0.8 }\nscale = { x = 0.985, y = 1 }\nedges = { left = 4, right = 4.5, top = 5, bottom = 12 }\n\
             # edges = { left = 5 }  # mm\n\n# [sleeve_printer]\n[tags]\nwork = \"flag\"\n# the end\n"
        );
    }

    #[test]
    fn values_that_are_there_are_replaced_where_they_stand() {
        let text = "[printer]\noffset = { y = 0.5, x = 2 } # from May\nedges = { left = 4 }\nkind = \"laser\"\n[printer.scale]\nx = 0.99 # ruler 1\n";
        let new = changed(text);
        assert_eq!(
            new,
            "[printer]\noffset = { y = -0.8, x = 1.3 } # from May\nedges = { left = 4, right = 4.5, top = 5, bottom = 12 }\n\
             kind = \"laser\"\n[printer.scale]\nx = 0.985 # ruler 1\ny = 1\n"
        );
        assert_eq!(changed(&new), new);
        let lines = changed_lines(text, &new);
        assert_eq!(lines.old.len(), 3);
        assert_eq!(lines.new.len(), 4);
    }

    #[test]
    fn a_table_that_is_not_there_is_added() {
        let new = changed("title = \"Marsh Hen\"\n# [fonts]\n");
        assert!(new.starts_with("title = \"Marsh Hen\"\n"), "{new}");
        assert!(new.contains("\n[printer]\noffset = { x = 1.3, y = -0.8 }\n") && new.contains("# [fonts]\n"), "{new}");
        assert_eq!(changed("").lines().next(), Some("[printer]"));
    }

    #[test]
    fn other_ways_to_write_it_keep_their_form() {
        assert_eq!(
            changed("printer = { kind = \"inkjet\", dpi = 600 } # one line\n").lines().count(),
            1,
            "an inline table stays in its line"
        );
        let dotted = changed("printer.kind = \"laser\"\nprinter.dpi = 600\ntitle = \"x\"\n");
        assert!(dotted.starts_with("printer.kind = \"laser\"\nprinter.dpi = 600\nprinter.offset"), "{dotted}");
        let windows = changed("\u{feff}[printer]\r\nkind = \"laser\"\r\n# end\r\n");
        assert!(windows.starts_with("\u{feff}[printer]\r\nkind = \"laser\"\r\noffset"), "{windows:?}");
        assert_eq!(windows.matches('\n').count(), windows.matches("\r\n").count());
    }

    proptest! {
        /// Whatever stands in the file, either every line of it is there again, or nothing is changed at all.
        #[test]
        fn nothing_is_lost(
            lines in prop::collection::vec(prop::sample::select(vec![
                "", "# a comment", "title = \"Marsh Hen\" # t", "[printer]", "[printer] # p", "kind = \"laser\"", "dpi = 600 # dots",
                "[tags]", "work = \"flag\"", "[[list]]", "file = 'a.csv'", "edges = { left = 4 } # seen", "  offset = { x = 1 }",
                "[printer.offset]", "x = 2 # right", "printer.dpi = 300", "text = \"\"\"a", "b # no comment\"\"\"", "[sleeve_printer]",
                "scale.x = 0.99 # once", "scale.y = 1.0",
            ]), 0..14),
            end in prop::sample::select(vec!["\n", "\r\n"]),
        ) {
            let text = lines.join(end) + end;
            if let Ok(new) = with_values(&text, PrinterTable::Sheets, &landing(), None) {
                let lost = changed_lines(&text, &new).old;
                prop_assert!(lost.iter().all(|line| {
                    let key = line.trim_start();
                    ["x", "y", "offset", "scale", "printer"].iter().any(|own| key.starts_with(own))
                }), "{lost:?}\n{text}\n--\n{new}");
                let comments = |text: &str| text.lines().filter_map(|line| line.split_once('#')).count();
                prop_assert_eq!(comments(&text), comments(&new));
            }
        }
    }
}
