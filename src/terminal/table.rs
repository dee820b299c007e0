//! A table of text: columns as wide as their widest cell, two blanks between them.

/// Sets rows under a heading; trailing blanks are left out.
pub fn table(heading: &[&str], rows: &[Vec<String>]) -> Vec<String> {
    let heading: Vec<String> = heading.iter().map(|&cell| cell.to_owned()).collect();
    let all = || std::iter::once(&heading).chain(rows);
    let width = |column: usize| all().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max();
    let widths: Vec<usize> = (0..heading.len()).map(|column| width(column).unwrap_or(0)).collect();
    let line = |row: &Vec<String>| {
        let cells = row.iter().zip(&widths).map(|(cell, &width)| format!("{cell:width$}"));
        cells.collect::<Vec<_>>().join("  ").trim_end().to_owned()
    };
    all().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_align() {
        let rows = [vec!["7KF4 A".to_owned(), "J1/14".to_owned()], vec!["9C3M".to_owned(), "X3P/7".to_owned()]];
        assert_eq!(table(&["tag", "place"], &rows), ["tag     place", "7KF4 A  J1/14", "9C3M    X3P/7"]);
    }
}
