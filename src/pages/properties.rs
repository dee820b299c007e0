//! What holds for every stock and any run of pieces.

use std::collections::BTreeSet;

use proptest::prelude::*;

use super::*;
use crate::base::{Length, Point, Rect, Size, Source, Turn};
use crate::layout::frame::Dash;
use crate::layout::{Frame, Ink, Item};

/// Words as a filled box half as wide as high for each character; larger than the room when they do not fit.
fn boxed_words(room: Size, text: &str) -> Frame {
    let height = room.height.min(Length::mm(2.5));
    let size = Size::new(height.half() * text.chars().count() as i64, height);
    Frame { size, items: vec![Item::Fill { area: Rect { origin: Point::ORIGIN, size }, ink: Ink::Black }] }
}

fn imposing() -> Imposing<'static> {
    Imposing::new("Marsh Hen", "run 12", &boxed_words)
}

fn piece(number: usize, size: Size) -> Piece {
    let heading = Some(format!("J{}", number / 10));
    Piece { frame: Frame { size, items: Vec::new() }, name: number.to_string(), heading, group: None, labels: 0 }
}

/// Where an item's middle lines lie, strokes without their width.
fn extent(item: &Item) -> Rect {
    let between = |from: Point, to: Point| {
        let (left, top) = (from.x.min(to.x), from.y.min(to.y));
        Rect::new(left, top, (from.x - to.x).abs(), (from.y - to.y).abs())
    };
    match item {
        Item::Rule { from, to, .. } => between(*from, *to),
        Item::Fill { area, .. } | Item::Outline { area, .. } => *area,
        Item::Text(text) => text.bounds,
        Item::Symbol(symbol) => symbol.area,
        Item::Dot { centre, radius, .. } => Rect::new(centre.x - *radius, centre.y - *radius, *radius * 2, *radius * 2),
    }
}

/// What must hold on every page, on any stock.
fn check_page(stock: &Stock, page: &Page) {
    let whole = Rect { origin: Point::ORIGIN, size: page.size };
    let areas: Vec<_> = page.placed.iter().map(Placed::area).collect();
    assert!(!areas.is_empty(), "no empty pages");
    for (index, area) in areas.iter().enumerate() {
        assert!(whole.holds(area), "{}: {area:?} leaves the page", stock.name());
        assert!(areas[..index].iter().all(|other| !other.overlaps(area)), "{}: tags overlap", stock.name());
    }
    let labels: Vec<_> = match stock.geometry() {
        // Knife lines cross labels, and must not cross their slices.
        Geometry::Sheet(sheet) => (0..sheet.places()).filter_map(|number| sheet.place(number)).collect(),
        _ => areas.clone(),
    };
    for mark in &page.marks {
        let extent = extent(mark);
        assert!(whole.holds(&extent), "{}: {mark:?} leaves the page", stock.name());
        let crossed = areas.iter().find(|area| area.overlaps(&extent));
        assert_eq!(crossed, None, "{}: {mark:?} crosses a tag", stock.name());
        if matches!(stock.geometry(), Geometry::Sheet(sheet) if sheet.cut() == Cut::Die) {
            assert!(labels.iter().all(|label| !label.overlaps(&extent)), "{}: {mark:?} crosses a label", stock.name());
        }
    }
    // Nothing is printed twice: no two level or upright lines share a stretch.
    let lines: Vec<_> = page.marks.iter().filter(|mark| matches!(mark, Item::Rule { .. })).map(extent).collect();
    let lines: Vec<_> = lines.iter().map(|line| (line, line.size.width == Length::ZERO)).collect();
    for (index, (line, upright)) in lines.iter().enumerate() {
        for (other, _) in lines[..index].iter().filter(|(_, other)| other == upright) {
            let shared = match upright {
                true => line.left() == other.left() && line.top() < other.bottom() && other.top() < line.bottom(),
                false => line.top() == other.top() && line.left() < other.right() && other.left() < line.right(),
            };
            assert!(!shared, "{}: {line:?} and {other:?}", stock.name());
        }
    }
}

/// Sizes of frames that the stock takes, from numbers between 0 and 1.
fn size_for(stock: &Stock, along: f64, across: f64) -> Size {
    match stock.geometry() {
        Geometry::Sheet(_) | Geometry::Roll(_) => {
            let label = stock.label(0).expect("sheets and rolls have labels");
            let size = Size::new(label.width.scaled(1.0 - along / 3.0), label.height.scaled(1.0 - across / 3.0));
            if along + across > 1.6 { size.exchanged() } else { size }
        }
        Geometry::Tube(tube) => {
            Size::new(Length::mm(10.0 + 80.0 * along), tube.size().print_height().scaled(1.0 - across / 2.0))
        }
        Geometry::Paper(_) => Size::new(Length::mm(10.0 + 150.0 * along), Length::mm(2.0 + (across * 5.0).round())),
    }
}

fn imposed(stock: &Stock, sizes: &[Size]) -> Vec<Page> {
    let pieces = sizes.iter().enumerate().map(|(number, size)| piece(number, *size));
    let settings = imposing();
    let pages: Result<Vec<_>, Misfit> = impose(stock, pieces, &settings).collect();
    pages.expect("all fit")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn every_piece_has_its_place_once_and_in_order(
        stock in prop::sample::select(builtin()),
        numbers in prop::collection::vec((0.0..1.0, 0.0..1.0), 0..150),
    ) {
        let stock = Stock::builtin(stock.0).expect("builtin");
        let sizes: Vec<_> = numbers.iter().map(|(along, across)| size_for(&stock, *along, *across)).collect();
        let pages = imposed(&stock, &sizes);
        for page in &pages {
            check_page(&stock, page);
        }
        let placed: Vec<_> = pages.iter().flat_map(|page| &page.placed).collect();
        let names: Vec<usize> = placed.iter().map(|placed| placed.name.parse().expect("a number")).collect();
        let mut expected: Vec<_> = (0..sizes.len()).collect();
        if matches!(stock.geometry(), Geometry::Paper(_)) {
            expected.sort_by_key(|number| sizes[*number].height);
        }
        prop_assert_eq!(names, expected);
        for placed in &placed {
            let number: usize = placed.name.parse().expect("a number");
            prop_assert_eq!(placed.frame.size, sizes[number]);
        }
        // Each heading has one bookmark.
        let bookmarks: Vec<_> = pages.iter().flat_map(|page| &page.headings).map(|heading| &heading.words).collect();
        let distinct: BTreeSet<_> = bookmarks.iter().collect();
        prop_assert_eq!(distinct.len(), bookmarks.len());
        prop_assert_eq!(bookmarks.len(), sizes.len().div_ceil(10));
        // It leads to the first tag under it.
        let mut begun = BTreeSet::new();
        for page in &pages {
            let first = |placed: &&super::Placed| begun.insert(placed.name.parse::<usize>().expect("a number") / 10);
            let firsts: Vec<_> = page.placed.iter().filter(first).map(|placed| placed.at).collect();
            prop_assert_eq!(page.headings.iter().map(|heading| heading.at).collect::<Vec<_>>(), firsts);
        }
    }

    #[test]
    fn labels_take_the_fewest_pages(stock in prop::sample::select(builtin()), count in 0_usize..400) {
        let stock = Stock::builtin(stock.0).expect("builtin");
        let Some(label) = stock.label(0) else { return Ok(()) };
        let per_page = match stock.geometry() {
            Geometry::Sheet(sheet) => {
                sheet.places() - unprintable_places(sheet, Edges::default().printable(sheet.page())).len()
            }
            _ => 1,
        };
        let pages = imposed(&stock, &vec![label; count]);
        prop_assert_eq!(pages.len(), count.div_ceil(per_page));
        for (index, page) in pages.iter().enumerate() {
            prop_assert_eq!(page.placed.len(), per_page.min(count - index * per_page));
            prop_assert!(page.placed.iter().all(|placed| placed.turn == Turn::Upright));
        }
    }

    /// A piece that fits no place is told, and the others keep their places.
    #[test]
    fn a_misfit_costs_no_other_piece_its_place(stock in prop::sample::select(builtin()), at in 0_usize..60) {
        let stock = Stock::builtin(stock.0).expect("builtin");
        let sizes = vec![size_for(&stock, 0.5, 0.0); 60];
        let large = Size::new(Length::mm(2000.0), Length::mm(2000.0));
        let mut pieces: Vec<_> = sizes.iter().enumerate().map(|(number, size)| piece(number, *size)).collect();
        pieces.insert(at, Piece { name: "7KF4 A".to_owned(), ..piece(0, large) });
        let settings = imposing();
        let results: Vec<_> = impose(&stock, pieces.into_iter(), &settings).collect();
        let misfits: Vec<_> = results.iter().filter_map(|result| result.as_ref().err()).collect();
        prop_assert_eq!(misfits.len(), 1);
        prop_assert!(misfits[0].to_string().starts_with("tag `7KF4 A` is 2000 mm x 2000 mm, but stock `"));
        let pages: Vec<_> = results.into_iter().flatten().collect();
        prop_assert_eq!(pages, imposed(&stock, &sizes));
    }

    /// Any measures that make a sheet, with any edges: pages hold what they must.
    #[test]
    fn sheets_of_any_measures_hold(
        columns in 1_u32..6, rows in 1_u32..9, split in 1_u32..4, gap in (0_u32..30, 0_u32..30), left in 0_u32..200,
        edge in 0_u32..150, cut in prop::sample::select(vec!["die", "lines"]), count in 1_usize..60,
    ) {
        let tenths = |value: u32| f64::from(value) / 10.0;
        let text = format!(
            "name = \"own\"\ngeometry = \"sheet\"\nthickness = 0.1\nface = \"paper\"\nprinters = [\"laser\"]\n\
             good-for = [\"work\"]\n[page]\nwidth = 210\nheight = 297\n[labels]\nwidth = 31\nheight = 30\ncolumns = {columns}\n\
             rows = {rows}\ngap-x = {}\ngap-y = {}\nleft = {}\nsplit = {split}\ncut = \"{cut}\"\n",
            tenths(gap.0), tenths(gap.1), tenths(left)
        );
        let Some(stock) = Stock::from_toml(&Source::new("own.toml", text)).value else { return Ok(()) };
        let settings = Imposing { edges: Edges::all(Length::mm(tenths(edge))), ..imposing() };
        let slice = stock.label(0).expect("a sheet");
        let pieces = (0..count).map(|number| piece(number, slice));
        for page in impose(&stock, pieces, &settings) {
            match page {
                Ok(page) => check_page(&stock, &page),
                Err(misfit) => prop_assert!(matches!(misfit, Misfit::OutOfReach { .. }), "{misfit}"),
            }
        }
    }
}

/// What is named as the largest frame has a place, and a hair more has none.
#[test]
fn the_largest_frame_just_fits() {
    for (name, _) in builtin() {
        let stock = Stock::builtin(name).expect("builtin");
        let settings = imposing();
        let largest = largest_frame(&stock, &settings);
        check_page(&stock, &imposed(&stock, &[largest])[0]);
        let hair = Length::nm(1);
        for more in [Size::new(largest.width + hair, largest.height), Size::new(largest.width, largest.height + hair)] {
            assert!(
                impose(&stock, std::iter::once(piece(0, more)), &settings).next().is_some_and(|page| page.is_err()),
                "{name}"
            );
        }
    }
}

fn pages_of(name: &str, count: usize, along: f64) -> (Stock, Vec<Page>) {
    let stock = Stock::builtin(name).expect("builtin");
    let sizes = vec![size_for(&stock, along, 0.0); count];
    let pages = imposed(&stock, &sizes);
    (stock, pages)
}

#[test]
fn split_labels_bear_knife_lines_between_slices() {
    let (stock, pages) = pages_of("a4-8-99x68-split4", 6, 0.0);
    let is_dashed = |mark: &&Item| matches!(mark, Item::Rule { dash: Dash::Dashed(_), .. });
    let knives: Vec<_> = pages[0].marks.iter().filter(is_dashed).map(extent).collect();
    // The last two labels are begun, each has three lines.
    assert_eq!(knives.len(), 6);
    let label = stock.label(0).expect("a sheet");
    assert_eq!(knives[0].size, Size::new(label.width, Length::ZERO));
    assert_eq!(knives[0].top(), Length::mm(13.1 + 3.0 * 67.7 + 16.925));
}

/// Sheet after sheet of a tray: what is gone stays untouched, what is printed is used up from the trailing end, no place twice.
#[test]
fn begun_sheets_go_first_and_from_their_trailing_end() {
    let stock = Stock::builtin("a4-65-38x21").expect("builtin");
    let begun = |number, taken: std::ops::Range<usize>| BegunSheet { number, taken: taken.collect(), passes: 1 };
    let begun = vec![begun(3, 10..65), begun(7, 0..65), begun(8, 2..64), begun(10, 0..65)];
    let tray = Tray { begun, taking: Taking::InOrder, blank: vec![9], next: Some(11), gone: 0 };
    let settings = Imposing { tray, ..imposing() };
    let pieces = (0..85).map(|number| piece(number, size_for(&stock, 0.0, 0.0)));
    let pages: Vec<Page> = impose(&stock, pieces, &settings).collect::<Result<_, _>>().expect("all fit");
    let told = |page: &Page| {
        let places: Vec<usize> = page.placed.iter().filter_map(|placed| placed.place).collect();
        let sheet = page.sheet.clone().expect("numbered");
        (sheet.number, sheet.standing, sheet.left, places)
    };
    let places = |places: std::ops::Range<usize>| places.collect::<Vec<_>>();
    assert_eq!(
        pages.iter().map(told).collect::<Vec<_>>(),
        [
            (3, SheetStanding::Begun, 0, places(0..10)),
            (8, SheetStanding::Begun, 0, vec![0, 1, 64]),
            (9, SheetStanding::Numbered, 0, places(0..65)),
            (11, SheetStanding::Numbered, 58, places(58..65)),
        ]
    );
    // The title and the rulers are printed once; the second pass says run and page, where nothing stands yet.
    let marked = |page: &Page| -> Vec<Rect> { page.marks.iter().map(extent).collect() };
    let (first, again) = (marked(&pages[2]), marked(&pages[0]));
    assert!(again.len() == 1 && first.len() > again.len(), "{again:?} {first:?}");
    assert!(first.iter().all(|mark| !mark.overlaps(&again[0])), "{again:?}");
}

#[test]
fn a_long_frame_is_turned_on_a_portrait_label() {
    let text = "name = \"own\"\ngeometry = \"roll\"\nthickness = 0.1\nface = \"film\"\nprinters = [\"thermal-transfer\"]\n\
                good-for = [\"work\"]\n[label]\nwidth = 25\nheight = 76\n";
    let stock = Stock::from_toml(&Source::new("own.toml", text)).value.expect("sound");
    let pages = imposed(&stock, &[Size::new(Length::mm(70.0), Length::mm(25.0))]);
    let placed = &pages[0].placed[0];
    assert_eq!((placed.turn, placed.at), (Turn::Clockwise, Point::new(Length::ZERO, Length::mm(3.0))));
    assert_eq!(pages[0].size, Size::new(Length::mm(25.0), Length::mm(76.0)));
}

#[test]
fn tube_pages_have_a_head_and_end_with_their_last_sleeve() {
    // 50 mm sleeves on pieces of 1 m: head, then 18 of them.
    let (stock, pages) = pages_of("tube-6.4-3.2", 30, 0.5);
    let tube = stock.tube().expect("a tube");
    assert_eq!(pages.iter().map(|page| page.placed.len()).collect::<Vec<_>>(), [18, 12]);
    for page in &pages {
        assert_eq!(page.size.height, tube.size().lay_flat());
        assert!(page.size.width <= tube.piece());
        let end = page.placed.iter().map(|placed| placed.area().right()).max().expect("sleeves");
        assert_eq!(page.size.width, end + Length::mm(5.0));
        // A cut before the first sleeve and behind each.
        let cuts = page.marks.iter().filter(|mark| matches!(mark, Item::Rule { .. })).count();
        assert_eq!(cuts, page.placed.len() + 1);
        assert!(page.marks.iter().any(|mark| matches!(mark, Item::Fill { .. })), "a head");
    }
}

/// Which sheets have room for what in their margins, with 5 mm of unprintable edge.
#[test]
fn margins_tell_the_page_where_there_is_room() {
    let words = |name: &str| {
        let (stock, pages) = pages_of(name, 1, 0.0);
        check_page(&stock, &pages[0]);
        pages[0].marks.iter().filter(|mark| matches!(mark, Item::Fill { .. })).count()
    };
    // Title, two numbers and the ruler's words; two more numbers where the upright ruler has room for them.
    assert_eq!(words("a4-65-38x21"), 4);
    assert_eq!(words("a4-24-64x34"), 4);
    assert_eq!(words("letter-30-67x25"), 4);
    assert_eq!(words("a4-paper-33-60x24"), 6);
    assert_eq!(words("letter-paper-30-60x24"), 6);
    assert_eq!(words("a4-paper-strips"), 4);
    assert_eq!(words("roll-62x29"), 0);
}

#[test]
fn rulers_are_100_mm_long() {
    let (_, pages) = pages_of("a4-paper-33-60x24", 1, 0.0);
    let long = |mark: &&Item| matches!(mark, Item::Rule { from, to, .. } if (from.x - to.x).abs().max((from.y - to.y).abs()) == Length::mm(100.0));
    let rulers: Vec<_> = pages[0].marks.iter().filter(long).map(extent).collect();
    assert_eq!(rulers.len(), 2);
    assert_eq!(rulers.iter().filter(|ruler| ruler.size.width == Length::mm(100.0)).count(), 1);
}

/// Frames that fill a plain sheet share their cut lines: one more line than rows and columns.
#[test]
fn a_full_plain_sheet_is_cut_along_shared_lines() {
    let (_, pages) = pages_of("a4-paper-33-60x24", 33, 0.0);
    let lines: Vec<_> = pages[0].marks.iter().map(extent).collect();
    let count = |size: Size| lines.iter().filter(|line| line.size == size).count();
    assert_eq!(count(Size::new(Length::mm(180.0), Length::ZERO)), 12);
    assert_eq!(count(Size::new(Length::ZERO, Length::mm(264.0))), 4);
    let ticks = count(Size::new(Length::mm(3.0), Length::ZERO)) + count(Size::new(Length::ZERO, Length::mm(3.0)));
    assert_eq!(ticks, 2 * (12 + 4));
}
