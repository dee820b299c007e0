//! The tables of `tests/data`: comma separated, comments begin with `#`, the first other line names the columns.

use std::collections::BTreeMap;

/// A row by the names of its columns.
pub type Row = BTreeMap<String, String>;

/// The rows of a table.
pub fn rows(text: &str) -> Vec<Row> {
    let mut lines = text.lines().filter(|line| !line.starts_with('#') && !line.is_empty());
    let heads = cells(lines.next().expect("it names its columns"));
    lines.map(|line| heads.iter().cloned().zip(cells(line)).collect()).collect()
}

/// The cells of a line; quotes are doubled inside quotes.
fn cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut is_quoted = false;
    let mut characters = line.chars().peekable();
    while let Some(character) = characters.next() {
        let last = cells.last_mut().expect("there is one");
        match character {
            '"' if is_quoted && characters.peek() == Some(&'"') => {
                last.push('"');
                characters.next();
            }
            '"' => is_quoted = !is_quoted,
            ',' if !is_quoted => cells.push(String::new()),
            _ => last.push(character),
        }
    }
    cells
}
