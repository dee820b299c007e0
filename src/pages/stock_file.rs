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
//!
//! [label]                       # roll: width, height, corner-radius
//!
//! [tube]                        # size, expanded, recovered, recovered-wall, piece
//! ```

use std::sync::Arc;

use super::sheet::{Axis, AxisFault, Cut, MOST_LABELS, MOST_SLICES, Margin, Sheet, Spacing};
use super::stock::{Geometry, PrinterKind, Roll, SURFACES, Stock, Surface, Tube};
use super::toml_file::{Least, Section, TomlFile};
use crate::base::{Checked, Length, Problem, Size, Source};
use crate::labels::Purpose;
use crate::layout::TubeSize;

/// Longest name of a stock: names become file names.
const LONGEST_NAME: usize = 60;

/// Longest page, 5 m, and so also the longest piece of tube: more than printers take.
const LONGEST_PAGE: Length = Length::nm(5_000_000_000);

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
const CUTS: [(&str, Cut); 2] = [("die", Cut::Die), ("lines", Cut::Lines)];

/// Keys of an axis of the labels.
struct AxisKeys {
    label: &'static str,
    count: &'static str,
    gap: &'static str,
    pitch: &'static str,
    margin: &'static str,
    leading: &'static str,
}

const ACROSS: AxisKeys =
    AxisKeys { label: "width", count: "columns", gap: "gap-x", pitch: "pitch-x", margin: "margin-x", leading: "left" };
const DOWN: AxisKeys =
    AxisKeys { label: "height", count: "rows", gap: "gap-y", pitch: "pitch-y", margin: "margin-y", leading: "top" };

impl AxisKeys {
    fn all(&self) -> [&'static str; 6] {
        [self.label, self.count, self.gap, self.pitch, self.margin, self.leading]
    }
}

/// Reads a stock file; the value is withheld while errors stand.
pub(super) fn read(source: &Arc<Source>) -> Checked<Option<Stock>> {
    let (mut file, table) = TomlFile::parse(source);
    if file.has_problems() {
        // What syntax errors hide would only be missed.
        return Checked { value: None, problems: file.into_problems() };
    }
    let stock = read_top(&mut file, &Section::top(&table));
    let value = stock.filter(|_| !file.has_problems());
    Checked { value, problems: file.into_problems() }
}

fn read_top(file: &mut TomlFile<'_>, top: &Section<'_>) -> Option<Stock> {
    let name = read_name(file, top);
    let kind = file.choice(top, "geometry", &KINDS).map(toml::Spanned::into_inner);
    let mut known = vec!["name", "geometry", "face", "printers", "highest-temperature", "good-for"];
    match kind {
        Some(Kind::Sheet) => known.extend(["thickness", "page", "labels"]),
        Some(Kind::Roll) => known.extend(["thickness", "label"]),
        Some(Kind::Tube) => known.push("tube"),
        Some(Kind::Paper) => known.extend(["thickness", "page"]),
        None => known.extend(["thickness", "page", "labels", "label", "tube"]),
    }
    file.check_keys(top, &known);
    let surface = file.choice(top, "face", &SURFACES);
    let printers = file.choices(top, "printers", &PrinterKind::WORDS);
    // From the coldest to the hottest that any label material is made for.
    let highest_temperature = file.whole_if_any(top, "highest-temperature", -50..=1_000);
    let purposes = file.choices(top, "good-for", &PURPOSES);
    let geometry = match kind? {
        Kind::Sheet => read_sheet(file, top).map(Geometry::Sheet),
        Kind::Roll => read_roll(file, top).map(Geometry::Roll),
        Kind::Tube => read_tube(file, top).map(Geometry::Tube),
        Kind::Paper => read_page(file, top).map(Geometry::Paper),
    };
    // A tube's thickness is its wall.
    let thickness = match &geometry {
        Some(Geometry::Tube(tube)) => Some(tube.size().wall_at(tube.size().expanded)),
        None if kind == Some(Kind::Tube) => None,
        _ => file.length(top, "thickness", Least::AboveZero).map(toml::Spanned::into_inner),
    };
    let surface = surface?;
    if (*surface.get_ref() == Surface::Tube) != (kind == Some(Kind::Tube)) {
        let message = "face and geometry disagree: a tube's face is `tube`, and no other stock's is";
        file.note(Problem::error("face-and-geometry", message), surface.span());
    }
    Some(Stock {
        name: name?,
        geometry: geometry?,
        thickness: thickness?,
        surface: surface.into_inner(),
        printers: printers?,
        highest_temperature,
        purposes: purposes?,
    })
}

fn read_name(file: &mut TomlFile<'_>, top: &Section<'_>) -> Option<String> {
    let name = file.text(top, "name")?;
    let text = name.get_ref();
    let is_plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '-' | '.');
    let bounds = text.len() <= LONGEST_NAME && text.starts_with(|c: char| c.is_ascii_alphanumeric());
    if bounds && text.chars().all(is_plain) && !text.ends_with('.') {
        return Some(name.into_inner());
    }
    let message = format!("`{}` cannot be the name of a stock", text.chars().take(LONGEST_NAME).collect::<String>());
    let remedy = "use small letters, digits, `-` and `.`, as in `a4-65-38x21`: files are named after it";
    file.note(Problem::error("stock-name", message).remedy(remedy), name.span());
    None
}

fn read_page(file: &mut TomlFile<'_>, top: &Section<'_>) -> Option<Size> {
    let page = file.section(top, "page")?;
    file.check_keys(&page, &["width", "height"]);
    let width = read_extent(file, &page, "width");
    let height = read_extent(file, &page, "height");
    Some(Size::new(width?, height?))
}

/// An extent of a page or label.
fn read_extent(file: &mut TomlFile<'_>, section: &Section<'_>, key: &'static str) -> Option<Length> {
    let extent = file.length(section, key, Least::AboveZero)?;
    let length = *extent.get_ref();
    if length > LONGEST_PAGE {
        let message = format!("`{key}` is {length}, the longest is {LONGEST_PAGE}");
        file.note(Problem::error("length-out-of-range", message), extent.span());
        return None;
    }
    Some(length)
}

fn read_roll(file: &mut TomlFile<'_>, top: &Section<'_>) -> Option<Roll> {
    let label = file.section(top, "label")?;
    file.check_keys(&label, &["width", "height", "corner-radius"]);
    let width = read_extent(file, &label, "width");
    let height = read_extent(file, &label, "height");
    let size = Size::new(width?, height?);
    let corner_radius = read_corner_radius(file, &label, size)?;
    Some(Roll { label: size, corner_radius })
}

fn read_corner_radius(file: &mut TomlFile<'_>, section: &Section<'_>, label: Size) -> Option<Length> {
    if !section.has("corner-radius") {
        return Some(Length::ZERO);
    }
    let radius = file.length_if_any(section, "corner-radius", Least::Zero)?;
    let most = label.width.min(label.height).half();
    if *radius.get_ref() > most {
        let message = format!("a corner radius of {} is more than half the label, {most}", radius.get_ref());
        file.note(Problem::error("corner-radius", message), radius.span());
        return None;
    }
    Some(radius.into_inner())
}

fn read_tube(file: &mut TomlFile<'_>, top: &Section<'_>) -> Option<Tube> {
    let tube = file.section(top, "tube")?;
    file.check_keys(&tube, &["size", "expanded", "recovered", "recovered-wall", "piece"]);
    let name = file.text(&tube, "size").map(toml::Spanned::into_inner);
    let expanded = read_extent(file, &tube, "expanded");
    let recovered = read_extent(file, &tube, "recovered");
    let recovered_wall = read_extent(file, &tube, "recovered-wall");
    let piece = read_extent(file, &tube, "piece");
    let (expanded, recovered) = (expanded?, recovered?);
    if recovered >= expanded {
        let message = format!("the tube does not shrink: {recovered} recovered, {expanded} expanded");
        file.note(Problem::error("tube-does-not-shrink", message), tube.span_of("recovered"));
        return None;
    }
    let size = TubeSize { name: name?, expanded, recovered, recovered_wall: recovered_wall? };
    Some(Tube { size, piece: piece? })
}

fn read_sheet(file: &mut TomlFile<'_>, top: &Section<'_>) -> Option<Sheet> {
    let page = read_page(file, top);
    let labels = file.section(top, "labels")?;
    let keys: Vec<_> = ACROSS.all().into_iter().chain(DOWN.all()).chain(["corner-radius", "split", "cut"]).collect();
    file.check_keys(&labels, &keys);
    let across = read_axis(file, &labels, &ACROSS, page.map(|page| page.width));
    let down = read_axis(file, &labels, &DOWN, page.map(|page| page.height));
    let split = match labels.has("split") {
        true => file.whole(&labels, "split", 1..=MOST_SLICES),
        false => Some(1),
    };
    let cut = match labels.has("cut") {
        true => file.choice(&labels, "cut", &CUTS).map(toml::Spanned::into_inner),
        false => Some(Cut::Die),
    };
    let (across, down) = (across?, down?);
    let radius = read_corner_radius(file, &labels, Size::new(across.label, down.label));
    match Sheet::new(across, down, split?.unsigned_abs(), radius?, cut?) {
        Ok(sheet) => Some(sheet),
        Err((across, down)) => {
            note_fault(file, &labels, &ACROSS, across);
            note_fault(file, &labels, &DOWN, down);
            None
        }
    }
}

fn read_axis(file: &mut TomlFile<'_>, labels: &Section<'_>, keys: &AxisKeys, page: Option<Length>) -> Option<Axis> {
    let label = read_extent(file, labels, keys.label);
    let count = file.whole(labels, keys.count, 1..=MOST_LABELS);
    let gap = read_either(file, labels, (keys.gap, Least::Zero), (keys.pitch, Least::AboveZero));
    let margin = read_either(file, labels, (keys.margin, Least::Zero), (keys.leading, Least::Zero));
    let spacing = match gap? {
        Either::First(gap) => Spacing::Gap(gap),
        Either::Second(pitch) => Spacing::Pitch(pitch),
        Either::Neither => Spacing::Gap(Length::ZERO),
    };
    let margin = match margin? {
        Either::First(margin) => Margin::Both(margin),
        Either::Second(leading) => Margin::Leading(leading),
        Either::Neither => Margin::Centred,
    };
    Some(Axis { page: page?, label: label?, count: count?.unsigned_abs(), spacing, margin })
}

/// One of two keys that exclude each other.
enum Either {
    First(Length),
    Second(Length),
    Neither,
}

fn read_either(
    file: &mut TomlFile<'_>,
    section: &Section<'_>,
    first: (&'static str, Least),
    second: (&'static str, Least),
) -> Option<Either> {
    match (section.has(first.0), section.has(second.0)) {
        (true, true) => {
            let message = format!("`{}` and `{}` say the same twice: one must go", first.0, second.0);
            file.note(Problem::error("said-twice", message), section.span_of(second.0));
            None
        }
        (true, false) => file.length_if_any(section, first.0, first.1).map(|one| Either::First(one.into_inner())),
        (false, true) => file.length_if_any(section, second.0, second.1).map(|two| Either::Second(two.into_inner())),
        (false, false) => Some(Either::Neither),
    }
}

fn note_fault(file: &mut TomlFile<'_>, labels: &Section<'_>, keys: &AxisKeys, fault: Option<AxisFault>) {
    let Some(fault) = fault else { return };
    let spacing = if labels.has(keys.pitch) { keys.pitch } else { keys.gap };
    let (id, key, remedy) = match fault {
        AxisFault::Nothing => ("labels-of-no-size", keys.label, None),
        AxisFault::Overlap { label, .. } => {
            ("labels-overlap", spacing, Some(format!("the least pitch of these labels is {label}")))
        }
        AxisFault::Sum { closing: Some(margin), .. } => {
            // Three decimals: Letter sheets are made in fractions of an inch.
            let margin = (margin.as_mm() * 1000.0).round() / 1000.0;
            ("sheet-sum", keys.margin, Some(format!("with the other measures `{} = {margin}` closes it", keys.margin)))
        }
        AxisFault::Sum { closing: None, .. } | AxisFault::OffPage { .. } => {
            ("labels-off-page", keys.count, Some("measure the sheet once more".to_owned()))
        }
    };
    let problem = Problem::error(id, fault.to_string());
    let problem = match remedy {
        Some(remedy) => problem.remedy(remedy),
        None => problem,
    };
    file.note(problem, labels.span_of(key));
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const SHEET: &str = include_str!("../../templates/stock/a4-65-38x21.toml");
    const TUBE: &str = include_str!("../../templates/stock/tube-3.2-1.6.toml");

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
            ["unknown-key:19:1 `colums` has no meaning in `[labels]` -> did you mean `columns`?", "labels-off-page"]
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
        let expected = ["missing-key", "stock-name", "unknown-word", "unknown-word", "not-a-length"];
        assert_eq!(ids.into_iter().flatten().collect::<Vec<_>>(), expected);
    }

    #[test]
    fn what_belongs_to_another_geometry_is_unknown() {
        let text = TUBE.replace("[tube]", "thickness = 0.1\n[page]\nwidth = 1\n[tube]");
        let shown = problems(&text);
        assert_eq!(shown.len(), 2, "{shown:?}");
        assert!(shown.iter().all(|shown| shown.starts_with("unknown-key")), "{shown:?}");
        let grown = TUBE.replace("recovered = \"0.062 in\"", "recovered = 4");
        assert_eq!(
            problems(&grown),
            ["tube-does-not-shrink:14:13 the tube does not shrink: 4 mm recovered, 3.18 mm expanded"]
        );
        let paper = TUBE.replace("face = \"tube\"", "face = \"film\"");
        assert!(problems(&paper)[0].starts_with("face-and-geometry:6:8 "));
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
