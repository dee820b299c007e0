//! The stocks that come with the program. To add one: a file in `templates/stock`, named as the stock, and its line here.

/// Name and stock file (TOML) of every stock that comes with the program.
pub fn builtin() -> &'static [(&'static str, &'static str)] {
    &BUILTIN
}

/// The text of one file of `templates/stock`, beside its name.
macro_rules! stock {
    ($name:literal) => {
        ($name, include_str!(concat!("../../templates/stock/", $name, ".toml")))
    };
}

const BUILTIN: [(&str, &str); 68] = [
    stock!("a4-14-99x38"),
    stock!("a4-14-99x38-split2"),
    stock!("a4-16-90x32-film-holes"),
    stock!("a4-189-25x10"),
    stock!("a4-21-64x38"),
    stock!("a4-24-64x34"),
    stock!("a4-24-70x36"),
    stock!("a4-24-70x37"),
    stock!("a4-40-46x25"),
    stock!("a4-40-53x30"),
    stock!("a4-48-46x21"),
    stock!("a4-49-25x38-wrap13"),
    stock!("a4-65-38x21"),
    stock!("a4-8-99x68"),
    stock!("a4-8-99x68-split4"),
    stock!("a4-paper-27-60x30-hole"),
    stock!("a4-paper-33-60x24"),
    stock!("a4-paper-strips"),
    stock!("letter-10-102x51"),
    stock!("letter-10-102x51-split2"),
    stock!("letter-14-102x34"),
    stock!("letter-20-102x25"),
    stock!("letter-28-25x64-wrap19"),
    stock!("letter-30-67x25"),
    stock!("letter-6-102x85"),
    stock!("letter-60-44x17"),
    stock!("letter-80-44x13"),
    stock!("letter-paper-24-60x30-hole"),
    stock!("letter-paper-30-60x24"),
    stock!("letter-paper-strips"),
    stock!("roll-102x51"),
    stock!("roll-25x38-wrap13"),
    stock!("roll-38x102-wrap32"),
    stock!("roll-50x25"),
    stock!("roll-50x25-film"),
    stock!("roll-50x25-vinyl"),
    stock!("roll-54x17"),
    stock!("roll-54x25"),
    stock!("roll-60x12"),
    stock!("roll-60x24"),
    stock!("roll-62x29"),
    stock!("roll-70x30-film-hole"),
    stock!("roll-76x25-film"),
    stock!("roll-90x29"),
    stock!("roll-90x38"),
    stock!("tape-50x9-film"),
    stock!("tape-60x12-film"),
    stock!("tape-60x18-film"),
    stock!("tape-70x24-film"),
    stock!("tape-80x36-film"),
    stock!("tube-1.6-0.8"),
    stock!("tube-2.4-1.2"),
    stock!("tube-3.2-1.6"),
    stock!("tube-4.8-2.4"),
    stock!("tube-6.4-3.2"),
    stock!("tube-9.5-4.8"),
    stock!("tube-12.7-6.4"),
    stock!("tube-19-9.5"),
    stock!("tube-25.4-12.7"),
    stock!("tube-38.1-19"),
    stock!("tube-50.8-25.4"),
    stock!("tube-3-1-lined"),
    stock!("tube-6-2-lined"),
    stock!("tube-9-3-lined"),
    stock!("tube-12-4-lined"),
    stock!("tube-18-6-lined"),
    stock!("tube-24-8-lined"),
    stock!("tube-39-13-lined"),
];

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::base::{Checked, Length, Rect, Source};
    use crate::pages::sheet::CLOSES_WITHIN;
    use crate::pages::{Cut, Geometry, Stock};

    #[test]
    fn every_builtin_stock_is_sound_and_named_as_its_file() {
        for (name, text) in builtin() {
            let Checked { value, problems } = Stock::from_toml(&Source::new(*name, *text));
            assert_eq!(problems, [], "{name}");
            let stock = value.expect("no problems");
            assert_eq!(stock.name(), *name);
            assert!(text.starts_with("# ") && (text.contains("from memory") || text.contains("Source")), "{name}");
        }
        let names: BTreeSet<_> = builtin().iter().map(|(name, _)| name).collect();
        assert_eq!(names.len(), builtin().len());
        assert!(Stock::builtin("a4-66-38x21").is_none());
    }

    /// Every file of the folder is in the table.
    #[test]
    fn no_stock_file_is_forgotten() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/stock");
        let files =
            std::fs::read_dir(folder).expect("the folder is there").map(|entry| entry.expect("readable").file_name());
        let files: BTreeSet<_> = files.map(|name| name.to_string_lossy().into_owned()).collect();
        let table: BTreeSet<_> = builtin().iter().map(|(name, _)| format!("{name}.toml")).collect();
        assert_eq!(files, table);
    }

    /// Flags and plates cut by hand keep clear of the edges printers leave white: 5 mm, inkjet bottom 13 (common practice).
    #[test]
    fn plain_paper_tags_keep_off_the_edges() {
        let names =
            ["a4-paper-27-60x30-hole", "a4-paper-33-60x24", "letter-paper-24-60x30-hole", "letter-paper-30-60x24"];
        for name in names {
            let stock = Stock::builtin(name).expect("builtin");
            let Geometry::Sheet(sheet) = stock.geometry() else { panic!("a sheet") };
            assert_eq!(sheet.cut(), Cut::Lines);
            let (page, mm) = (sheet.page(), Length::mm);
            let printable = Rect::new(mm(5.0), mm(5.0), page.width - mm(10.0), page.height - mm(18.0));
            assert!(printable.holds(&sheet.block()));
        }
    }

    /// `tests/data/label_sheets.csv`: 18 sheets, the sum of margins, labels and gaps is the page.
    #[test]
    fn reference_sheets_close() {
        let table = include_str!("../../tests/data/label_sheets.csv");
        let mut sheets = 0;
        for row in table.lines().filter(|line| line.starts_with("A4,") || line.starts_with("Letter,")) {
            let c: Vec<_> = row.split(',').collect();
            let (width, height) = if c[0] == "A4" { (210.0, 297.0) } else { (215.9, 279.4) };
            let text = |margins: bool| {
                let margins = if margins { format!("margin-x = {}\nmargin-y = {}", c[8], c[9]) } else { String::new() };
                format!(
                    "name = \"x\"\ngeometry = \"sheet\"\nthickness = 0.1\nface = \"paper\"\nprinters = [\"laser\"]\n\
                     good-for = [\"work\"]\n[page]\nwidth = {width}\nheight = {height}\n[labels]\ncolumns = {}\nrows = {}\n\
                     width = {}\nheight = {}\ngap-x = {}\ngap-y = {}\n{margins}\n",
                    c[2], c[3], c[4], c[5], c[6], c[7]
                )
            };
            for margins in [true, false] {
                let read = Stock::from_toml(&Source::new("row.toml", text(margins)));
                assert_eq!(read.problems, [], "{row}");
                let stock = read.value.expect("no problems");
                let Geometry::Sheet(sheet) = stock.geometry() else { panic!("a sheet") };
                assert_eq!(sheet.places().to_string(), c[1], "{row}");
                let tabled = |cell: &str| Length::mm(cell.parse().expect("a number"));
                let block = sheet.block();
                assert!((block.left() - tabled(c[8])).abs() <= CLOSES_WITHIN, "{row}");
                assert!((block.top() - tabled(c[9])).abs() <= CLOSES_WITHIN, "{row}");
                assert!((sheet.page().width - block.right() - tabled(c[8])).abs() <= CLOSES_WITHIN, "{row}");
            }
            sheets += 1;
        }
        assert_eq!(sheets, 18);
    }

    fn rows(table: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
        let rows = table.lines().filter(|line| !line.starts_with('#')).skip(1);
        rows.map(|line| line.split(',').collect())
    }

    fn is_near(one: Length, tabled: &str) -> bool {
        (one - Length::mm(tabled.parse().expect("a number"))).abs() <= CLOSES_WITHIN
    }

    /// `tests/data/label_sheets.csv`: each sheet comes with the program, under the name of its geometry, with its numbers.
    #[test]
    fn reference_sheets_are_in_the_catalogue() {
        for c in rows(include_str!("../../tests/data/label_sheets.csv")) {
            let round = |cell: &str| cell.parse::<f64>().expect("a number").round();
            let name = format!("{}-{}-{}x{}", c[0].to_lowercase(), c[1], round(c[4]), round(c[5]));
            let stock = Stock::builtin(&name).unwrap_or_else(|| panic!("{name}"));
            let Geometry::Sheet(sheet) = stock.geometry() else { panic!("a sheet") };
            let labels = &sheet.groups()[0];
            assert_eq!([labels.columns().to_string(), labels.rows().to_string()], [c[2], c[3]], "{name}");
            let (label, block, pitch) = (labels.label(), labels.block(), labels.pitch());
            let own = [label.width, label.height, block.left(), block.top(), pitch.width, pitch.height];
            let tabled = [c[4], c[5], c[8], c[9], c[10], c[11]];
            assert!(own.iter().zip(tabled).all(|(own, tabled)| is_near(*own, tabled)), "{name}: {own:?}");
        }
    }

    /// `tests/data/roll_and_tape_widths.csv`: a roll or tape of each width, but for tapes too narrow for a flag.
    #[test]
    fn rolls_and_tapes_of_the_common_widths_are_in_the_catalogue() {
        for c in rows(include_str!("../../tests/data/roll_and_tape_widths.csv")) {
            let prefix = if c[0].contains("tape") { "tape-" } else { "roll-" };
            let is_as_wide = |name: &&str| {
                let label = Stock::builtin(name).and_then(|stock| stock.label(0)).expect("a label");
                is_near(label.width, c[1]) || is_near(label.height, c[1])
            };
            let mut names = builtin().iter().map(|(name, _)| *name).filter(|name| name.starts_with(prefix));
            assert_eq!(names.any(|name| is_as_wide(&name)), !["3.5", "6"].contains(&c[1]), "{c:?}");
        }
    }

    /// `tests/data/heat_shrink.csv`: each size of tube comes with the program, but for the finest, which has no room for letters.
    #[test]
    fn reference_tubes_are_in_the_catalogue() {
        let tubes: Vec<_> = builtin().iter().filter_map(|(name, _)| Stock::builtin(name)?.tube().cloned()).collect();
        let mut count = 0;
        for c in rows(include_str!("../../tests/data/heat_shrink.csv")).filter(|c| c[0] != "3/64") {
            let tube = tubes.iter().map(|tube| tube.size()).find(|size| {
                is_near(size.expanded, c[4]) && is_near(size.recovered, c[5]) && is_near(size.recovered_wall, c[9])
            });
            assert!(
                tube.is_some_and(|tube| tube.name.starts_with(c[0]) && tube.name.ends_with(c[1])),
                "{c:?}: {tube:?}"
            );
            count += 1;
        }
        assert_eq!(count, tubes.len());
    }
}
