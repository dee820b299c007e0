//! What of a stock its printer cannot reach: known before a tag is placed and paper spent.
//!
//! In: a stock, and the printable area of its page on the paper. Out: the places of a sheet that take no tag, and problems that
//! tell of them; at last, ink that would not be printed.

use super::impose::Edges;
use super::problems::{LABELS_OUT_OF_REACH, STOCK_OUT_OF_REACH};
use super::{Geometry, LabelForm, Landing, Placed, Sheet, Stock};
use crate::base::{Length, Page, Point, Problem, Rect, Remedy, Size};
use crate::layout::{Item, LABEL_EDGE};

/// What is over the edge by no more than this is printed for all that an eye can tell: the width of a hairline.
const HAIRLINE: Length = Length::nm(100_000);

/// The places of a sheet whose tags would reach beyond the printable area, each with how far: what of a label takes print does not
/// lie inside it. In the order of their numbers.
pub fn unprintable_places(sheet: &Sheet, printable: Rect) -> Vec<(usize, Length)> {
    let beyond = |number| Some((number, beyond(content(sheet.place(number)?, sheet.form_of(number)), printable)));
    (0..sheet.places()).filter_map(beyond).filter(|(_, by)| *by > HAIRLINE).collect()
}

/// What of a label, or of its slice, tags print on: its free edges stay white, and so does the clear tail of a wrap.
fn content(place: Rect, form: LabelForm) -> Rect {
    let inside = place.inset(LABEL_EDGE);
    match form {
        LabelForm::Wrap { print } => {
            let height = (print - LABEL_EDGE).clamp(Length::ZERO, inside.size.height);
            Rect { size: Size::new(inside.size.width, height), ..inside }
        }
        LabelForm::Plain | LabelForm::Plate(_) => inside,
    }
}

/// How far an area reaches beyond another, on the side where it does most; zero inside it.
fn beyond(area: Rect, printable: Rect) -> Length {
    let sides = [
        printable.left() - area.left(),
        printable.top() - area.top(),
        area.right() - printable.right(),
        area.bottom() - printable.bottom(),
    ];
    sides.into_iter().fold(Length::ZERO, Length::max)
}

/// What a printer with these edges and this landing cannot reach of a stock: a warning where labels of a sheet are passed over, an
/// error where nothing is left of it. It names no place in a file: whoever asks knows which setting is at odds.
pub fn out_of_reach(stock: &Stock, edges: Edges, landing: &Landing) -> Option<Problem> {
    let (message, remedy) = match stock.geometry() {
        Geometry::Sheet(sheet) => {
            let unprintable = unprintable_places(sheet, edges.on_paper(sheet.page(), landing));
            let most = unprintable.iter().map(|(_, by)| *by).max()?;
            let (lost, all) = (unprintable.len(), sheet.places());
            if lost < all {
                let message = format!(
                    "the printer cannot reach {lost} of the {all} labels of `{}`, by up to {most:.1}: {}",
                    stock.name(),
                    numbers(&unprintable.iter().map(|(number, _)| number + 1).collect::<Vec<_>>())
                );
                let remedy = Remedy::from("they stay empty; ")
                    .and_by(format!("`loomtag stock trial {}`", stock.name()), Page::Terminal)
                    .words(" shows which edges and offset the printer truly has");
                return Some(LABELS_OUT_OF_REACH.says(message).remedy(remedy));
            }
            (format!("the printer reaches no label of `{}`, by up to {most:.1}", stock.name()), "")
        }
        Geometry::Roll(roll) => {
            let size = roll.label();
            let label = Rect { origin: Point::ORIGIN, size };
            let by = beyond(content(label, roll.form()), edges.on_paper(size, landing));
            let message = format!("the printer cannot reach {by:.1} of what tags on `{}` take", stock.name());
            (
                over_hairline(by).then_some(message)?,
                "set the printer's own offset, or move the guides, then measure again; ",
            )
        }
        Geometry::Tube(tube) => {
            let flat = tube.size().lay_flat();
            let room = tube.size().print_height();
            let page = Size::new(tube.piece(), flat);
            let band = Rect::new(Length::ZERO, (flat - room).half(), Length::ZERO, room);
            let printable = edges.on_paper(page, landing);
            let across = Rect { origin: Point::new(Length::ZERO, printable.top()), size: printable.size };
            let by = beyond(band, across);
            let message = format!("the printer cannot reach {by:.1} of what sleeves on `{}` take", stock.name());
            (over_hairline(by).then_some(message)?, "move the guides of the tube, then measure again; ")
        }
        // Strips are laid where they can be printed.
        Geometry::Paper(_) => return None,
    };
    let remedy = Remedy::from(remedy)
        .and_by(format!("`loomtag stock trial {}`", stock.name()), Page::Terminal)
        .words(" shows what the printer truly reaches");
    Some(STOCK_OUT_OF_REACH.says(message).remedy(remedy))
}

fn over_hairline(by: Length) -> bool {
    by > HAIRLINE
}

/// `number 61 to 65`, `numbers 1, 4 and 61 to 65`: the first few stretches.
fn numbers(places: &[usize]) -> String {
    let stretches: Vec<String> = places
        .chunk_by(|one, next| one + 1 == *next)
        .map(|stretch| match stretch {
            [one] => one.to_string(),
            [first, .., last] => format!("{first} to {last}"),
            [] => String::new(),
        })
        .collect();
    let word = if places.len() == 1 { "number" } else { "numbers" };
    match &stretches[..] {
        [] => String::new(),
        [one] => format!("{word} {one}"),
        [first @ .., last] if first.len() < 6 => format!("{word} {} and {last}", first.join(", ")),
        [first @ .., _] => format!("{word} {} and so on", first[..6].join(", ")),
    }
}

/// How far ink of a tag on its place lies beyond the printable area. Ticks and lines are left out: they may reach the label's very
/// edge, and a tag without one of them still says what it says.
pub(super) fn ink_beyond(placed: &Placed, printable: Rect) -> Length {
    let inks = placed.frame.items.iter().filter_map(|item| match item {
        Item::Text(text) => Some(text.bounds),
        Item::Symbol(symbol) => Some(symbol.area),
        Item::Fill { area, .. } | Item::Outline { area, .. } => Some(*area),
        Item::Dot { centre, radius, .. } => {
            Some(Rect::new(centre.x - *radius, centre.y - *radius, *radius * 2, *radius * 2))
        }
        Item::Rule { .. } => None,
    });
    let on_page = |ink: Rect| placed.turn.turned_rect(ink, placed.frame.size).moved(placed.at);
    let by = inks.map(|ink| beyond(on_page(ink), printable)).fold(Length::ZERO, Length::max);
    if over_hairline(by) { by } else { Length::ZERO }
}

#[cfg(test)]
mod tests {
    use super::super::{Imposing, Piece, PrinterKind, impose};
    use super::*;
    use crate::base::Severity;
    use crate::layout::{Frame, Ink};

    fn told(name: &str, edges: Edges, offset: (f64, f64), scale: f64) -> Option<(&'static str, String)> {
        let stock = Stock::builtin(name).expect("it comes with the program");
        let landing = Landing::new(Point::new(Length::mm(offset.0), Length::mm(offset.1)), scale, scale);
        out_of_reach(&stock, edges, &landing).map(|problem| (problem.id, problem.message))
    }

    /// A foot of 13 mm takes the last row of a sheet whose labels begin to print 12.2 mm above its edge.
    #[test]
    fn labels_beyond_the_edges_are_told() {
        let inkjet = Edges::common(PrinterKind::Inkjet);
        let (id, message) = told("a4-65-38x21", inkjet, (0.0, 0.0), 1.0).expect("told");
        assert_eq!(id, "labels-out-of-reach");
        assert_eq!(
            message,
            "the printer cannot reach 5 of the 65 labels of `a4-65-38x21`, by up to 0.8 mm: numbers 61 to 65"
        );
        assert_eq!(told("a4-65-38x21", Edges::default(), (0.0, 0.0), 1.0), None);
    }

    /// 5 mm of edge moved by 1.5 mm: what begins at 6.17 mm is cut by 0.33 mm.
    #[test]
    fn an_offset_takes_the_edges_with_it() {
        let (id, message) = told("a4-65-38x21", Edges::default(), (1.5, 0.0), 1.0).expect("told");
        assert_eq!(id, "labels-out-of-reach");
        assert!(message.contains("13 of the 65 labels") && message.contains("by up to 0.3 mm"), "{message}");
        assert!(message.ends_with("numbers 1, 6, 11, 16, 21, 26 and so on"), "{message}");
        // Shrunk by 2 %, the page ends 4.2 mm before the paper.
        let (_, message) = told("a4-65-38x21", Edges::default(), (0.0, 0.0), 0.98).expect("told");
        assert!(message.contains("13 of the 65 labels"), "{message}");
    }

    #[test]
    fn a_sheet_without_a_label_left_is_an_error() {
        let (id, _) = told("a4-24-64x34", Edges::all(Length::mm(140.0)), (0.0, 0.0), 1.0).expect("told");
        assert_eq!(id, "stock-out-of-reach");
    }

    #[test]
    fn rolls_and_tubes_are_reached_or_not() {
        let none = Edges::all(Length::ZERO);
        for name in ["roll-62x29", "roll-25x38-wrap13", "tube-6.4-3.2"] {
            assert_eq!(told(name, none, (0.0, 0.0), 1.0), None, "{name}");
            assert_eq!(told(name, none, (0.0, 0.4), 1.0), None, "{name}");
            assert_eq!(told(name, none, (0.0, 2.5), 1.0).map(|(id, _)| id), Some("stock-out-of-reach"), "{name}");
        }
    }

    /// A tag that prints on all that a tag of the stock may print on.
    fn full(stock: &Stock, number: usize) -> Piece {
        let ink = Ink::Black;
        let (size, area) = match (stock.label(0), stock.tube()) {
            (Some(size), _) => (size, content(Rect { origin: Point::ORIGIN, size }, stock.form(0))),
            (None, tube) => {
                let height = tube.map_or(Length::mm(4.0), |tube| tube.size().print_height());
                let size = Size::new(Length::mm(40.0), height);
                (size, Rect { origin: Point::ORIGIN, size })
            }
        };
        let frame = Frame { size, items: vec![Item::Fill { area, ink }] };
        Piece { frame, name: number.to_string(), heading: None, group: None, labels: 0 }
    }

    /// Words as a filled box.
    fn boxed(room: Size, text: &str) -> Frame {
        let size = Size::new((room.height / 3) * text.chars().count() as i64, room.height);
        Frame { size, items: vec![Item::Fill { area: Rect { origin: Point::ORIGIN, size }, ink: Ink::Black }] }
    }

    proptest::proptest! {
        /// Whatever the printer, no ink of tags, titles and heads lies where it cannot put it.
        #[test]
        fn no_ink_lies_out_of_reach(
            stock in proptest::sample::select(super::super::builtin()), count in 1_usize..60,
            offset in (-6.0..6.0_f64, -6.0..6.0_f64), scale in (0.975..1.025_f64, 0.975..1.025_f64), edge in 0.0..12.0_f64,
        ) {
            let stock = Stock::builtin(stock.0).expect("it comes with the program");
            let landing = Landing::new(Point::new(Length::mm(offset.0), Length::mm(offset.1)), scale.0, scale.1);
            let edges = Edges { top: Length::mm(edge / 2.0), ..Edges::all(Length::mm(edge)) };
            let settings = Imposing { edges, landing, ..Imposing::new("Marsh Hen", "run 12", &boxed) };
            for page in impose(&stock, (0..count).map(|number| full(&stock, number)), &settings) {
                let page = match page {
                    Ok(page) => page,
                    Err(misfit) => {
                        proptest::prop_assert!(
                            out_of_reach(&stock, edges, &landing).is_some_and(|problem| problem.severity == Severity::Error)
                                || stock.label(0).is_none(),
                            "{misfit}"
                        );
                        continue;
                    }
                };
                let taken = edges.printable(page.size).inset(-HAIRLINE.scaled(1.1));
                let of_tags = page.placed.iter().flat_map(|placed| {
                    placed.frame.items.iter().map(|item| item.placed(placed.turn, placed.frame.size, placed.at))
                });
                for item in of_tags.chain(page.marks.iter().cloned()) {
                    let Item::Fill { area, .. } = item else { continue };
                    let sent = [area.origin, Point::new(area.right(), area.bottom())].map(|p| landing.sent_for(p));
                    let is_taken = |p: &Point| taken.holds(&Rect { origin: *p, size: Size::default() });
                    proptest::prop_assert!(sent.iter().all(is_taken), "{}: {area:?} is sent as {sent:?}", stock.name());
                }
            }
        }

        /// Whatever the printer, a place that is not passed over takes print nowhere beyond what the printer reaches.
        #[test]
        fn places_left_lie_within_reach(
            stock in proptest::sample::select(super::super::builtin()),
            offset in (-8.0..8.0_f64, -8.0..8.0_f64), scale in 0.975..1.025_f64, edge in 0.0..15.0_f64,
        ) {
            let stock = Stock::builtin(stock.0).expect("it comes with the program");
            let Geometry::Sheet(sheet) = stock.geometry() else { return Ok(()) };
            let landing = Landing::new(Point::new(Length::mm(offset.0), Length::mm(offset.1)), scale, scale);
            let edges = Edges::all(Length::mm(edge));
            let printable = edges.on_paper(sheet.page(), &landing);
            let lost = unprintable_places(sheet, printable);
            for number in (0..sheet.places()).filter(|number| lost.iter().all(|(lost, _)| lost != number)) {
                let content = content(sheet.place(number).expect("there"), sheet.form_of(number)).inset(HAIRLINE + Length::nm(2));
                // What must be sent for it lies within what the printer takes of a page.
                let sent = [content.origin, Point::new(content.right(), content.bottom())].map(|p| landing.sent_for(p));
                let taken = edges.printable(sheet.page());
                let is_taken = |p: &Point| taken.holds(&Rect { origin: *p, size: Size::default() });
                proptest::prop_assert!(sent.iter().all(is_taken));
            }
        }
    }
}
