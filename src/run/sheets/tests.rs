//! Whatever the order of runs, marks and kills: no label is used twice.

use jiff::Timestamp;
use proptest::prelude::*;

use super::*;
use crate::base::{Point, Purpose, Rect, Size, Stated};
use crate::codes::{RegisterFailure, SheetMark, Telling};
use crate::layout::Frame;
use crate::pages::{Edges, Landing, Piece, impose};
use crate::run::settings::Printer;

const NOW: Timestamp = Timestamp::UNIX_EPOCH;

/// What somebody does with the sheets of a job.
#[derive(Clone, Debug)]
enum Deed {
    /// A run of so many tags on one of the stocks, and how it ends.
    Run {
        stock: usize,
        tags: usize,
        wish: SheetWish,
        ends: Ends,
    },
    Mark {
        mark: SheetMark,
        telling: Telling,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Ends {
    Done,
    Failed,
    /// It is killed after its labels were written down.
    Killed,
}

fn deed() -> impl Strategy<Value = Deed> {
    let sheet = || (1_u32..6).prop_map(|number| SheetNumber::new(number).expect("from 1"));
    let wish = prop_oneof![
        6 => Just(SheetWish::Usual),
        1 => Just(SheetWish::New),
        1 => sheet().prop_map(SheetWish::Number),
        1 => (1_u32..14).prop_map(SheetWish::StartAt),
    ];
    let ends = prop_oneof![6 => Just(Ends::Done), 1 => Just(Ends::Failed), 1 => Just(Ends::Killed)];
    let run = |number: u32| (0..number).fold(RunNumber::FIRST, |run, _| run.next());
    let mark = prop_oneof![
        (sheet(), 1_u32..33).prop_map(|(sheet, place)| SheetMark::Spoilt(sheet, place)),
        sheet().prop_map(SheetMark::Gone),
        (0_u32..12).prop_map(move |number| SheetMark::Unprinted(run(number))),
    ];
    prop_oneof![
        3 => (0..2_usize, 1..45_usize, wish, ends)
            .prop_map(|(stock, tags, wish, ends)| Deed::Run { stock, tags, wish, ends }),
        2 => (mark, prop::bool::weighted(0.7)).prop_map(|(mark, holds)| Deed::Mark {
            mark,
            telling: if holds { Telling::Holds } else { Telling::TakenBack },
        }),
    ]
}

fn in_use(stock: &str, kind: PrinterKind) -> StockInUse {
    let (edges, landing) = (Edges::all(Length::ZERO), Landing::TRUE);
    let (kind, dpi) = (Stated::default(kind), Stated::default(600));
    let printer = Printer { kind, dpi, edges, edges_of_rolls: edges, landing, address: None };
    StockInUse { stock: Stock::builtin(stock).expect("builtin"), printer, purpose: Purpose::Work }
}

fn no_words(_: Size, _: &str) -> Frame {
    let area = Rect { origin: Point::ORIGIN, size: Size::default() };
    Frame { size: area.size, items: Vec::new() }
}

/// An empty tag for a place of a stock.
fn piece(on: &StockInUse, number: usize) -> Piece {
    let size = on.stock.label(0).expect("a sheet");
    Piece { frame: Frame { size, items: Vec::new() }, name: number.to_string(), heading: None, group: None, labels: 0 }
}

/// The pages of a run, as `files` makes and writes them down; `None` where its wish cannot be met.
fn print(register: &mut Register, on: &StockInUse, tags: usize, wish: SheetWish, ends: Ends) -> Option<Vec<SheetLaid>> {
    let laying = Laying { sheets: wish, ..Laying::default() };
    let mut trays = Trays::new(register, &laying, std::iter::once(on)).ok()?;
    let run = register.begin_run(NOW, "tags").expect("begins");
    let (edges, landing, tray) = (on.printer.edges, on.printer.landing, trays.tray(on));
    let groups = vec![(None, tags)];
    let settings = Imposing { edges, landing, tray, groups, ..Imposing::new("", format!("run {run}"), &no_words) };
    let piece = |number: usize| piece(on, number);
    let mut laid = Vec::new();
    for (at, page) in impose(&on.stock, (0..tags).map(piece), &settings).enumerate() {
        laid.extend(trays.laid(&page.expect("all fit"), at + 1, on, run));
    }
    let name = on.stock.name();
    let uses: Vec<SheetUse> = laid.iter().map(|sheet| used(sheet, name)).collect();
    register.use_sheets(run, &uses, NOW).expect("nobody else prints");
    match ends {
        Ends::Done => register.end_run(run, crate::codes::Outcome::Done, NOW).expect("ends"),
        Ends::Failed => register.end_run(run, crate::codes::Outcome::Failed, NOW).expect("ends"),
        Ends::Killed => {}
    }
    assert_eq!(laid.iter().map(|sheet| sheet.places.len()).sum::<usize>(), tags, "every tag has its label");
    Some(laid)
}

fn used(sheet: &SheetLaid, stock: &str) -> SheetUse {
    SheetUse {
        number: sheet.number,
        stock: stock.to_owned(),
        begun_at: (sheet.standing != SheetStanding::Begun).then_some(sheet.begun_at),
        labels: sheet.places.iter().map(|place| (*place, place.to_string(), "flag".to_owned())).collect(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Whatever the order of runs, marks and kills: no label is printed on twice, nor one that is spoilt; tags go on the last
    /// free labels; a sheet goes through a laser printer twice at most; its number is printed when it is first laid in.
    #[test]
    fn every_label_is_used_once(deeds in prop::collection::vec(deed(), 1..40), is_laser in any::<bool>()) {
        let kind = if is_laser { PrinterKind::Laser } else { PrinterKind::Inkjet };
        // One whole, one split.
        let stocks = [in_use("a4-24-64x34", kind), in_use("a4-8-99x68-split4", kind)];
        let mut register = Register::in_memory().expect("in memory");
        for deed in deeds {
            match deed {
                Deed::Run { stock, tags, wish, ends } => {
                    let on = &stocks[stock];
                    let before = register.sheets().expect("reads");
                    let Some(laid) = print(&mut register, on, tags, wish, ends) else { continue };
                    for page in &laid {
                        let known = before.iter().find(|sheet| sheet.number == page.number);
                        let is_free = |place: &u32| {
                            *place >= page.begun_at && known.is_none_or(|sheet| !sheet.is_taken(*place))
                        };
                        let free: Vec<u32> = (1..=page.of as u32).filter(is_free).collect();
                        let last = &free[free.len() - page.places.len()..];
                        prop_assert_eq!(page.places.iter().copied().collect::<Vec<_>>(), last);
                        let passes = known.map_or(0, |sheet| sheet.runs.len());
                        prop_assert_eq!(page.standing == SheetStanding::Begun, passes > 0 || known.is_some_and(|sheet| sheet.begun_at > 1 || !sheet.spoilt.is_empty()));
                        prop_assert!(!is_laser || passes < MOST_LASER_PASSES);
                        prop_assert!(known.is_none_or(|sheet| !sheet.is_gone && sheet.stock == on.stock.name()));
                    }
                }
                Deed::Mark { mark, telling } => {
                    // What is told of a sheet or run that is not there, `tell` refuses.
                    let is_known = match mark {
                        SheetMark::Spoilt(sheet, place) => register.sheets().expect("reads").iter().any(|known| {
                            let stock = stocks.iter().find(|on| on.stock.name() == known.stock);
                            let places = stock.and_then(|on| labels_on(&on.stock)).unwrap_or(0);
                            known.number == sheet && place as usize <= places
                        }),
                        SheetMark::Gone(sheet) => {
                            register.sheets().expect("reads").iter().any(|known| known.number == sheet)
                        }
                        SheetMark::Unprinted(run) => register.last_run().expect("reads") >= Some(run),
                    };
                    if is_known {
                        let marked = register.mark_sheet(mark, telling, NOW);
                        let is_sound = matches!(marked, Ok(_) | Err(RegisterFailure::LabelsUsedSince { .. }));
                        prop_assert!(is_sound, "{:?}", marked);
                    }
                }
            }
        }
    }

    /// A run that was printed after all never gets a label back that another one has.
    #[test]
    fn no_two_runs_that_count_share_a_label(deeds in prop::collection::vec(deed(), 1..40)) {
        let stock = in_use("a4-24-64x34", PrinterKind::Inkjet);
        let mut register = Register::in_memory().expect("in memory");
        let mut printed: BTreeMap<RunNumber, BTreeSet<(SheetNumber, u32)>> = BTreeMap::new();
        for deed in deeds {
            match deed {
                Deed::Run { tags, wish, ends, .. } => {
                    let Some(laid) = print(&mut register, &stock, tags, wish, ends) else { continue };
                    let run = register.last_run().expect("reads").expect("there");
                    let labels = laid.iter().flat_map(|page| page.places.iter().map(|place| (page.number, *place)));
                    printed.insert(run, labels.collect());
                }
                Deed::Mark { mark: mark @ SheetMark::Unprinted(run), telling } if printed.contains_key(&run) => {
                    let _ = register.mark_sheet(mark, telling, NOW);
                }
                Deed::Mark { .. } => {}
            }
            let mut labels = BTreeSet::new();
            for run in register.runs().expect("reads").iter().filter(|run| run.may_be_there()) {
                for label in &printed[&run.number] {
                    prop_assert!(labels.insert(*label), "run {} on {:?}", run.number, label);
                }
            }
        }
    }
}

/// What a sheet that waits would cost is what a run that asks for it does.
#[test]
fn the_cost_of_a_sheet_that_waits_is_that_of_the_run() {
    let on = in_use("a4-24-64x34", PrinterKind::Laser);
    let mut register = Register::in_memory().expect("in memory");
    print(&mut register, &on, 3, SheetWish::Usual, Ends::Done).expect("prints");
    print(&mut register, &on, 20, SheetWish::New, Ends::Done).expect("prints");
    let piece = |number: usize| piece(&on, number);
    for (tags, sheets) in [(1, SheetWish::Usual), (8, SheetWish::Usual), (30, SheetWish::Usual), (8, SheetWish::New)] {
        let laying = Laying { sheets, ..Laying::default() };
        let mut trays = Trays::new(&register, &laying, std::iter::once(&on)).expect("as usual");
        let begun = trays.begun(&on);
        let (edges, landing, tray) = (on.printer.edges, on.printer.landing, trays.tray(&on));
        let groups = vec![(None, tags)];
        let mut settings = Imposing { edges, landing, tray, groups, ..Imposing::new("", "", &no_words) };
        let pieces: Vec<Piece> = (0..tags).map(piece).collect();
        let run = register.last_run().expect("reads").expect("there").next();
        let pages: Vec<Page> =
            impose(&on.stock, pieces.iter().cloned(), &settings).map(|page| page.expect("fits")).collect();
        let laid: Vec<SheetLaid> =
            pages.iter().enumerate().filter_map(|(at, page)| trays.laid(page, at + 1, &on, run)).collect();
        let waits = waiting(&on.stock, &settings, &begun, &laid);
        let told = going_on(&on, &mut settings, &pieces, &begun, &waits);
        assert_eq!(told.is_empty(), waits.is_empty());
        assert!(sheets == SheetWish::Usual || told.len() == 2, "they wait where new sheets are asked for too");
        assert_eq!(on_new(&on.stock, &mut settings, &pieces), tags.div_ceil(24));
        for one in told {
            let laying = Laying { sheets: SheetWish::Number(one.number), ..Laying::default() };
            let mut asked = Trays::new(&register, &laying, std::iter::once(&on)).expect("it is there");
            let settings = Imposing {
                tray: asked.tray(&on),
                groups: vec![(None, tags)],
                edges,
                landing,
                ..Imposing::new("", "", &no_words)
            };
            let pages: Vec<Page> =
                impose(&on.stock, pieces.iter().cloned(), &settings).map(|page| page.expect("fits")).collect();
            let laid: Vec<SheetLaid> =
                pages.iter().enumerate().filter_map(|(at, page)| asked.laid(page, at + 1, &on, run)).collect();
            let own = laid.iter().find(|laid| laid.number == one.number).expect("it is laid in");
            assert_eq!((one.used, one.lost, one.new), (own.places.len(), own.lost(), laid.len() - 1), "{tags} tags");
        }
    }
}

/// A sheet that is asked for is of one stock: those of others go on as usual.
#[test]
fn a_sheet_that_is_asked_for_burns_none_of_another_stock() {
    let (labels, slices) = (in_use("a4-24-64x34", PrinterKind::Laser), in_use("a4-8-99x68-split4", PrinterKind::Laser));
    let mut register = Register::in_memory().expect("in memory");
    print(&mut register, &labels, 3, SheetWish::Usual, Ends::Done).expect("prints");
    print(&mut register, &slices, 3, SheetWish::Usual, Ends::Done).expect("prints");
    let laying = Laying { sheets: SheetWish::Number(SheetNumber::FIRST), ..Laying::default() };
    let trays = Trays::new(&register, &laying, [&labels, &slices].into_iter()).expect("it is there");
    let numbers = |on: &StockInUse| trays.tray(on).begun.iter().map(|begun| begun.number).collect::<Vec<_>>();
    assert_eq!((numbers(&labels), numbers(&slices)), (vec![1], vec![2]));
    assert_eq!((trays.tray(&labels).taking, trays.tray(&slices).taking), (Taking::InOrder, Taking::LastPass));
}
