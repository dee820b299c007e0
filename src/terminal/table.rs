//! Text set for a terminal: a table, its columns as wide as their widest cell, two blanks between them; and long lines broken.

/// Columns that a terminal surely has room for, as the help has it.
pub const COLUMNS: usize = 100;

/// Sets rows under a heading.
pub fn table(heading: &[&str], rows: &[Vec<String>]) -> Vec<String> {
    let heading = heading.iter().map(|&cell| cell.to_owned()).collect();
    columns(&[&[heading], rows].concat())
}

/// Sets rows; trailing blanks are left out.
pub fn columns(rows: &[Vec<String>]) -> Vec<String> {
    let width = |column: usize| rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max();
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> = (0..count).map(|column| width(column).unwrap_or(0)).collect();
    let line = |row: &Vec<String>| {
        let cells = row.iter().zip(&widths).map(|(cell, &width)| format!("{cell:width$}"));
        cells.collect::<Vec<_>>().join("  ").trim_end().to_owned()
    };
    rows.iter().map(line).collect()
}

/// Breaks a line between words; all lines but the first are indented. A word longer than a line stays whole.
pub fn wrapped(line: &str, indent: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut width = 0;
    for (index, word) in line.split(' ').enumerate() {
        let length = word.chars().count();
        let is_first = index == 0 || width == indent && lines.len() > 1;
        if !is_first && width + 1 + length > COLUMNS {
            lines.push(" ".repeat(indent));
            width = indent;
        } else if !is_first {
            lines.last_mut().expect("never empty").push(' ');
            width += 1;
        }
        lines.last_mut().expect("never empty").push_str(word);
        width += length;
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_break_between_words() {
        let line = format!("  1  {}", ["eleven chars"; 20].join(" "));
        let lines = wrapped(&line, 5);
        assert!(lines.iter().all(|line| line.chars().count() <= COLUMNS), "{lines:#?}");
        assert!(lines[0].starts_with("  1  eleven") && lines[1].starts_with("     "), "{lines:#?}");
        let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
        assert_eq!(words(&lines.join(" ")), words(&line));
        let long = "x".repeat(200);
        assert_eq!(wrapped(&format!("a {long} b"), 2), ["a".to_owned(), format!("  {long}"), "  b".to_owned()]);
    }

    #[test]
    fn columns_align() {
        let rows = [vec!["7KF4 A".to_owned(), "J1/14".to_owned()], vec!["9C3M".to_owned(), "X3P/7".to_owned()]];
        assert_eq!(table(&["tag", "place"], &rows), ["tag     place", "7KF4 A  J1/14", "9C3M    X3P/7"]);
    }
}
