//! A stock file (TOML) -> stock, or the problems in it.
//!
//! ```toml
//! name = "a4-65-38x21"
//! geometry = "sheet"            # sheet, roll, tube or paper
//! thickness = 0.1               # millimetres, or "0.004 in"
//! face = "paper"                # paper, film, vinyl or tube
//! printers = ["laser"]          # laser, inkjet, thermal-transfer, direct-thermal
//! highest-temperature = 70      # degrees Celsius; may be left out
//! good-for = ["work"]           # work, final
//!
//! [page]                        # sheet, paper
//! width = 210
//! height = 297
//!
//! [labels]                      # sheet
//! width = 38.1
//! height = 21.2
//! columns = 5
//! rows = 13
//! gap-x = 2.54                  # or pitch-x; without either, no gap
//! margin-x = 4.67               # both sides alike, the sum is checked; or left alone; without either, centred
//! top = 10.7                    # the same downwards: gap-y, pitch-y, margin-y, top
//! corner-radius = 2
//! split = 2                     # slices that knife lines make of each label
//! cut = "die"                   # die, or lines: printed on plain paper
//! print = 13                    # wraps: the printed block, from the upper edge on; the rest is clear
//! holes = { diameter = 5, inset = 6, count = 1 }  # plates to tie on: in the middle of one short side, or of both (2)
//!
//! # several sorts of labels on one sheet: [[labels]] tables, each with its `left` and `top`
//!
//! [label]                       # roll: width, height, corner-radius, print, holes
//!
//! [tube]                        # size, expanded, recovered, recovered-wall, piece
//! ```

use std::sync::Arc;

use super::form::LabelForm;
use super::problems::{
    CORNER_RADIUS, FACE_AND_GEOMETRY, HOLE_OFF_PLATE, NO_CLEAR_TAIL, SAID_TWICE, STOCK_NAME, TUBE_DOES_NOT_SHRINK,
};
use super::stock::{Geometry, PrinterKind, Roll, SURFACES, Stock, Surface, Tube};
use crate::base::settings::{self, Least, Reader, Table};
use crate::base::{Checked, Length, Purpose, Size, Source};
use crate::layout::TubeSize;
use crate::layout::tie_on::{HoleCount, Holes};

mod labels;

use labels::read_sheet;

/// Longest name of a stock: names become file names.
const LONGEST_NAME: usize = 60;

/// Longest page, 5 m, and so also the longest label and piece of tube: more than printers take.
const LONGEST: Length = Length::nm(5_000_000_000);

/// The geometries a file may name, each with the tables that belong to it.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Sheet,
    Roll,
    Tube,
    Paper,
}

const KINDS: [(&str, Kind); 4] =
    [("sheet", Kind::Sheet), ("roll", Kind::Roll), ("tube", Kind::Tube), ("paper", Kind::Paper)];
const PURPOSES: [(&str, Purpose); 2] = [("work", Purpose::Work), ("final", Purpose::Final)];

/// Reads a stock file; the value is withheld while errors stand.
pub(super) fn read(source: &Arc<Source>) -> Checked<Option<Stock>> {
    let Checked { value, problems } = settings::read(source, read_top);
    Checked { value: value.flatten().filter(|_| problems.is_empty()), problems }
}

fn read_top(reader: &mut Reader, top: &Table<'_>) -> Option<Stock> {
    let kind = reader.word(top, "geometry", &KINDS).map(|kind| kind.value);
    let mut required = vec!["name", "geometry", "face", "printers", "good-for"];
    let mut optional = vec!["highest-temperature"];
    match kind {
        Some(Kind::Sheet) => required.extend(["thickness", "page", "labels"]),
        Some(Kind::Roll) => required.extend(["thickness", "label"]),
        Some(Kind::Tube) => required.push("tube"),
        Some(Kind::Paper) => required.extend(["thickness", "page"]),
        None => optional.extend(["thickness", "page", "labels", "label", "tube"]),
    }
    reader.expect_keys(top, &required, &optional);
    let name = read_name(reader, top);
    let surface = reader.word(top, "face", &SURFACES);
    let printers = reader.words(top, "printers", &PrinterKind::WORDS);
    // From the coldest to the hottest that any label material is made for.
    let highest_temperature = reader.whole(top, "highest-temperature", -50..=1_000).map(|celsius| celsius.value);
    let purposes = reader.words(top, "good-for", &PURPOSES);
    let thickness = reader.length(top, "thickness", Least::AboveZero, LONGEST).map(|thickness| thickness.value);
    let geometry = match kind? {
        Kind::Sheet => read_sheet(reader, top).map(Geometry::Sheet),
        Kind::Roll => read_roll(reader, top).map(Geometry::Roll),
        Kind::Tube => read_tube(reader, top).map(Geometry::Tube),
        Kind::Paper => read_page(reader, top).map(Geometry::Paper),
    };
    let surface = surface?;
    if (surface.value == Surface::Tube) != (kind == Some(Kind::Tube)) {
        let problem =
            FACE_AND_GEOMETRY.says("face and geometry disagree: a tube's face is `tube`, and no other stock's is");
        reader.tell(surface.point(problem));
    }
    let geometry = geometry?;
    let thickness = match &geometry {
        // A tube's thickness is its wall.
        Geometry::Tube(tube) => tube.size().wall_at(tube.size().expanded),
        Geometry::Sheet(_) | Geometry::Roll(_) | Geometry::Paper(_) => thickness?,
    };
    Some(Stock {
        name: name?,
        geometry,
        thickness,
        surface: surface.value,
        printers: printers?,
        highest_temperature,
        purposes: purposes?,
    })
}

fn read_name(reader: &mut Reader, top: &Table<'_>) -> Option<String> {
    let name = reader.text(top, "name")?;
    let text = &name.value;
    let is_plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '-' | '.');
    let bounds = text.len() <= LONGEST_NAME && text.starts_with(|c: char| c.is_ascii_alphanumeric());
    if bounds && text.chars().all(is_plain) && !text.ends_with('.') {
        return Some(name.value);
    }
    let shortened: String = text.chars().take(LONGEST_NAME).collect();
    let remedy = "use small letters, digits, `-` and `.`, as in `a4-65-38x21`: files are named after it";
    let problem = STOCK_NAME.says(format!("`{shortened}` cannot be the name of a stock")).remedy(remedy);
    reader.tell(name.point(problem));
    None
}

fn read_page(reader: &mut Reader, top: &Table<'_>) -> Option<Size> {
    let page = reader.table(top, "page")?;
    reader.expect_keys(&page, &["width", "height"], &[]);
    read_size(reader, &page)
}

fn read_roll(reader: &mut Reader, top: &Table<'_>) -> Option<Roll> {
    let label = reader.table(top, "label")?;
    reader.expect_keys(&label, &["width", "height"], &["corner-radius", "print", "holes"]);
    let size = read_size(reader, &label)?;
    let corner_radius = read_corner_radius(reader, &label, size)?;
    let form = read_form(reader, &label, size)?;
    Some(Roll { label: size, corner_radius, form })
}

/// What labels of this size are made for.
fn read_form(reader: &mut Reader, labels: &Table<'_>, size: Size) -> Option<LabelForm> {
    match (labels.has("print"), labels.has("holes")) {
        (false, false) => Some(LabelForm::Plain),
        (true, false) => {
            let print = reader.length(labels, "print", Least::AboveZero, LONGEST)?;
            if print.value < size.height {
                return Some(LabelForm::Wrap { print: print.value });
            }
            let message =
                format!("a printed block of {} leaves a label {} high no clear tail", print.value, size.height);
            let remedy = "`print` is measured from the upper edge to where the label becomes clear";
            reader.tell(print.point(NO_CLEAR_TAIL.says(message).remedy(remedy)));
            None
        }
        (false, true) => read_holes(reader, labels, size).map(LabelForm::Plate),
        (true, true) => {
            let message = "`print` and `holes` exclude each other: a label is wound round the wire or tied on";
            reader.tell(SAID_TWICE.says(message).at(reader.origin_of(labels, "holes")));
            None
        }
    }
}

fn read_holes(reader: &mut Reader, labels: &Table<'_>, plate: Size) -> Option<Holes> {
    let table = reader.table(labels, "holes")?;
    reader.expect_keys(&table, &["diameter", "inset", "count"], &[]);
    let diameter = read_extent(reader, &table, "diameter");
    let inset = read_extent(reader, &table, "inset");
    let count = reader.whole(&table, "count", 1..=2).map(|count| match count.value {
        1 => HoleCount::One,
        _ => HoleCount::Two,
    });
    let holes = Holes { diameter: diameter?, inset: inset?, count: count? };
    if let Some((key, message)) = off_plate(&holes, plate) {
        let problem = HOLE_OFF_PLATE.says(message).remedy("`inset` goes from the short side to the middle of the hole");
        reader.tell(problem.at(reader.origin_of(&table, key)));
        return None;
    }
    Some(holes)
}

/// What is wrong with holes that do not lie inside their plate, and the key that says it.
fn off_plate(holes: &Holes, plate: Size) -> Option<(&'static str, String)> {
    let (long, short) = (plate.width.max(plate.height), plate.width.min(plate.height));
    let Holes { diameter, inset, count } = *holes;
    if diameter >= short {
        return Some(("diameter", format!("a hole of {diameter} parts a plate that is {short} wide")));
    }
    let last = match count {
        HoleCount::One => long,
        HoleCount::Two => long.half(),
    };
    if inset < diameter.half() || inset + diameter.half() >= last {
        return Some(("inset", format!("a hole of {diameter}, {inset} from the side, leaves its half of the plate")));
    }
    None
}

fn read_size(reader: &mut Reader, table: &Table<'_>) -> Option<Size> {
    let width = read_extent(reader, table, "width");
    let height = read_extent(reader, table, "height");
    Some(Size::new(width?, height?))
}

fn read_extent(reader: &mut Reader, table: &Table<'_>, key: &str) -> Option<Length> {
    reader.length(table, key, Least::AboveZero, LONGEST).map(|extent| extent.value)
}

fn read_corner_radius(reader: &mut Reader, table: &Table<'_>, label: Size) -> Option<Length> {
    if !table.has("corner-radius") {
        return Some(Length::ZERO);
    }
    let radius = reader.length(table, "corner-radius", Least::Zero, LONGEST)?;
    let most = label.width.min(label.height).half();
    if radius.value > most {
        let message = format!("a corner radius of {} is more than half the label, {most}", radius.value);
        reader.tell(radius.point(CORNER_RADIUS.says(message)));
        return None;
    }
    Some(radius.value)
}

fn read_tube(reader: &mut Reader, top: &Table<'_>) -> Option<Tube> {
    let tube = reader.table(top, "tube")?;
    reader.expect_keys(&tube, &["size", "expanded", "recovered", "recovered-wall", "piece"], &[]);
    let name = reader.text(&tube, "size").map(|name| name.value);
    let expanded = read_extent(reader, &tube, "expanded");
    let recovered = read_extent(reader, &tube, "recovered");
    let recovered_wall = read_extent(reader, &tube, "recovered-wall");
    let piece = read_extent(reader, &tube, "piece");
    let (expanded, recovered) = (expanded?, recovered?);
    if recovered >= expanded {
        let message = format!("the tube does not shrink: {recovered} recovered, {expanded} expanded");
        reader.tell(TUBE_DOES_NOT_SHRINK.says(message).at(reader.origin_of(&tube, "recovered")));
        return None;
    }
    let size = TubeSize { name: name?, expanded, recovered, recovered_wall: recovered_wall? };
    Some(Tube { size, piece: piece? })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const SHEET: &str = include_str!("../../../templates/stock/a4-65-38x21.toml");
    const TUBE: &str = include_str!("../../../templates/stock/tube-3.2-1.6.toml");

    /// Problems of a text as `id line:column message -> remedy`.
    fn problems(text: &str) -> Vec<String> {
        let read = read(&Source::new("own.toml", text));
        assert_eq!(read.value.is_none(), read.has_errors());
        let shown = read.problems.into_iter().map(|problem| {
            let origin = problem.origin.expect("points into the file");
            let place = origin.to_string().replace("own.toml", "");
            let remedy = problem.remedy.map(|remedy| format!(" -> {remedy}")).unwrap_or_default();
            format!("{}{place} {}{remedy}", problem.id, problem.message)
        });
        shown.collect()
    }

    #[test]
    fn a_misspelt_key_has_its_nearest_known_one() {
        let text = SHEET.replace("columns", "colums");
        assert_eq!(
            problems(&text),
            ["unknown-setting:19:1 [labels] has no setting `colums` -> did you mean `columns`?", "labels-off-page"]
                [..1]
        );
    }

    #[test]
    fn sums_are_checked_on_both_axes_at_once() {
        let text = SHEET.replace("margin-x = 4.67", "margin-x = 4.6").replace("margin-y = 10.7", "margin-y = 11");
        let sum = "labels, the gaps between them and two margins make 209.86 mm, but the page has 210 mm";
        let down = "labels, the gaps between them and two margins make 297.6 mm, but the page has 297 mm";
        assert_eq!(
            problems(&text),
            [
                format!("sheet-sum:22:12 {sum} -> with the other measures `margin-x = 4.67` closes it"),
                format!("sheet-sum:23:12 {down} -> with the other measures `margin-y = 10.7` closes it"),
            ]
        );
    }

    #[test]
    fn corners_are_not_rounder_than_the_label() {
        let round = SHEET.replace("corner-radius = 2", "corner-radius = 12");
        assert!(problems(&round)[0].starts_with("corner-radius:"), "{:?}", problems(&round));
    }

    #[test]
    fn overlapping_labels_and_labels_off_the_page() {
        let text = SHEET.replace("gap-x = 2.54", "pitch-x = 30").replace("rows = 13", "rows = 15");
        let shown = problems(&text);
        assert_eq!(shown.len(), 2, "{shown:?}");
        assert!(shown[0].starts_with("labels-off-page:20:8 "), "{shown:?}");
        assert!(shown[1].starts_with("labels-overlap:21:11 labels overlap: the pitch of 30 mm is less"), "{shown:?}");
    }

    #[test]
    fn all_problems_are_told_together() {
        let text = SHEET
            .replace("\"a4-65-38x21\"", "\"A4/65\"")
            .replace("\"paper\"", "\"papper\"")
            .replace("\"inkjet\"", "\"ink\"")
            .replace("thickness = 0.1", "")
            .replace("corner-radius = 2", "corner-radius = 12")
            .replace("width = 210", "width = \"wide\"");
        let ids: Vec<_> =
            problems(&text).iter().map(|shown| shown.split([' ', ':']).next().map(str::to_owned)).collect();
        let expected = ["missing-setting", "stock-name", "unknown-word", "unknown-word", "not-a-length"];
        assert_eq!(ids.into_iter().flatten().collect::<Vec<_>>(), expected);
    }

    #[test]
    fn what_belongs_to_another_geometry_is_unknown() {
        let text = TUBE.replace("[tube]", "thickness = 0.1\n[page]\nwidth = 1\n[tube]");
        let shown = problems(&text);
        assert_eq!(shown.len(), 2, "{shown:?}");
        assert!(shown.iter().all(|shown| shown.starts_with("unknown-setting")), "{shown:?}");
        let grown = TUBE.replace("recovered = \"0.062 in\"", "recovered = 4");
        assert_eq!(
            problems(&grown),
            ["tube-does-not-shrink:14:13 the tube does not shrink: 4 mm recovered, 3.18 mm expanded"]
        );
        let paper = TUBE.replace("face = \"tube\"", "face = \"film\"");
        assert!(problems(&paper)[0].starts_with("face-and-geometry:6:8 "));
    }

    #[test]
    fn blocks_and_holes_lie_on_their_label() {
        let sheet = |more: &str| problems(&SHEET.replace("corner-radius = 2", more));
        assert_eq!(sheet("print = 13"), Vec::<String>::new());
        assert_eq!(sheet("holes = { diameter = 5, inset = 6, count = 2 }"), Vec::<String>::new());
        assert_eq!(
            sheet("print = 21.2"),
            [
                "no-clear-tail:24:9 a printed block of 21.2 mm leaves a label 21.2 mm high no clear tail -> `print` is measured \
                 from the upper edge to where the label becomes clear"
            ]
        );
        let remedy = "`inset` goes from the short side to the middle of the hole";
        assert_eq!(
            sheet("holes = { diameter = 22, inset = 12, count = 1 }"),
            [format!("hole-off-plate:24:22 a hole of 22 mm parts a plate that is 21.2 mm wide -> {remedy}")]
        );
        assert_eq!(
            sheet("holes = { diameter = 5, inset = 2, count = 1 }"),
            [format!(
                "hole-off-plate:24:33 a hole of 5 mm, 2 mm from the side, leaves its half of the plate -> {remedy}"
            )]
        );
        assert_eq!(sheet("holes = { diameter = 5, inset = 17, count = 2 }").len(), 1);
        assert_eq!(
            sheet("print = 9\nholes = { diameter = 5, inset = 6, count = 1 }")[0].split(':').next(),
            Some("said-twice")
        );
        assert_eq!(sheet("holes = { diameter = 5, inset = 6, count = 3 }").len(), 1);
    }

    #[test]
    fn syntax_is_told_at_its_place() {
        let shown = problems(&SHEET.replace("[page]", "[page"));
        assert!(shown[0].starts_with("toml-syntax:12:"), "{shown:?}");
        assert!(problems("").iter().all(|shown| shown.starts_with("missing-")));
        let twice = SHEET.replace("gap-x = 2.54", "gap-x = 2.54\npitch-x = 40.64");
        assert_eq!(problems(&twice), ["said-twice:22:11 `gap-x` and `pitch-x` say the same twice: one must go"]);
    }

    proptest! {
        #[test]
        fn any_text_is_answered(text in "\\PC{0,200}") {
            read(&Source::new("own.toml", text));
        }

        /// A sound file with one stretch of it replaced by anything.
        #[test]
        fn any_change_is_answered(
            start in 0.0..1.0, length in 0_usize..20, put in "[-a-z0-9=\"\\[\\]., \n]{0,20}",
            file in prop::sample::select(crate::pages::builtin()),
        ) {
            let mut text = file.1.to_owned();
            let start = (text.len() as f64 * start) as usize;
            text.replace_range(start..(start + length).min(file.1.len()), &put);
            let checked = read(&Source::new("own.toml", text));
            prop_assert_eq!(checked.value.is_none(), checked.has_errors());
        }
    }
}
