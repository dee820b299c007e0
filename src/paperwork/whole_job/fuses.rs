//! Circuits -> what each fuse feeds: a card for the lid of every fuse box that connectors.csv describes, and a list of the fuses
//! that sit elsewhere.
//!
//! The fuse column names a fuse as the box does (`F12 15 A`, `12`, `FB1/12`); where it gives a rating alone, the fuse is the
//! position in which the circuit ends. A position that no list names is told as such: somebody has to look.

use std::collections::{BTreeMap, BTreeSet};

use super::{card, gravest};
use crate::base::{Cavity, ConnectorId, Length, Point, Size, counted, natural};
use crate::circuits::{Circuit, Connector, ConnectorKind, Fuse, Supply, View};
use crate::layout::Frame;
use crate::layout::text::Fonts;
use crate::paperwork::face::FacePlan;
use crate::paperwork::flow::flow;
use crate::paperwork::pen::Align;
use crate::paperwork::{Binding, Cell, Column, Harness, Letterhead, Look, Passage, Pen, Row, Sheet, Table};

/// A face of the card, where nobody asks for another size.
pub const FACE: Size = Size::new(Length::nm(140_000_000), Length::nm(90_000_000));

/// The least face, in which a few rows have room.
pub const LEAST_FACE: Size = Size::new(Length::nm(100_000_000), Length::nm(50_000_000));

/// Most of a symbol on a card.
const SYMBOL: Length = Length::nm(16_000_000);
/// Longer words are cut off.
const MOST_CHARACTERS: usize = 60;
/// Height of the line at the foot of a face.
const FOOT: Length = Length::nm(4_000_000);
/// Height of capitals there, in millimetres.
const FOOT_CAP: f64 = 1.4;

/// A card for each fuse box, then the fuses that sit elsewhere; where connectors are named, the cards of these alone.
pub fn sheets(
    harness: &Harness<'_>,
    named: &[ConnectorId],
    face: Size,
    letterhead: &Letterhead,
    fonts: &Fonts,
) -> Vec<Sheet> {
    let legends = Legends::of(harness);
    let is_wanted = |fuse_box: &Connector| named.is_empty() || named.contains(&fuse_box.id);
    let boxes = legends.boxes.iter().filter(|(fuse_box, positions)| is_wanted(fuse_box) && !positions.is_empty());
    let mut sheets: Vec<Sheet> =
        boxes.map(|(fuse_box, positions)| lid(harness, fuse_box, positions, face, letterhead, fonts)).collect();
    if named.is_empty() {
        sheets.extend(elsewhere(harness, &legends.elsewhere, letterhead, fonts));
    }
    sheets
}

/// A position of a fuse box.
#[derive(Debug, Default)]
struct Position {
    /// The circuits that its fuse feeds.
    fed: Vec<usize>,
    /// Circuits that end in it and have their fuse elsewhere, or none.
    passing: Vec<usize>,
}

/// Positions of a fuse box by their names, in natural order.
type Positions = Vec<(String, Position)>;

struct Legends<'a> {
    boxes: Vec<(&'a Connector, Positions)>,
    /// Circuits with a fuse of which no described fuse box is known to hold it.
    elsewhere: Vec<usize>,
}

impl<'a> Legends<'a> {
    fn of(harness: &Harness<'a>) -> Self {
        let described: Vec<&Connector> =
            harness.circuits.connectors().filter(|connector| connector.kind == ConnectorKind::FuseBox).collect();
        let at = |circuit: &Circuit, of: &Connector| -> Vec<Cavity> {
            let here = circuit.ends().iter().filter(|end| end.place.connector == of.id);
            here.filter_map(|end| end.place.cavity.clone()).collect()
        };
        let of_box = |fuse_box: &&Connector| {
            let ends: Vec<Cavity> = harness.circuits.all().iter().flat_map(|circuit| at(circuit, fuse_box)).collect();
            positions_of(fuse_box, &ends)
        };
        let names: Vec<BTreeSet<String>> = described.iter().map(of_box).collect();
        let mut found: Vec<BTreeMap<String, Position>> =
            names.iter().map(|names| names.iter().map(|name| (name.clone(), Position::default())).collect()).collect();
        let mut elsewhere = Vec::new();
        for (index, circuit) in harness.circuits.all().iter().enumerate() {
            let ends: Vec<Vec<String>> = described
                .iter()
                .map(|fuse_box| at(circuit, fuse_box).iter().map(ToString::to_string).collect())
                .collect();
            let held = circuit.fuse.as_ref().and_then(|fuse| held_in(fuse, &described, &names, &ends));
            match &held {
                Some((fuse_box, name)) => found[*fuse_box].entry(name.clone()).or_default().fed.push(index),
                None if circuit.fuse.is_some() => elsewhere.push(index),
                None => {}
            }
            for (fuse_box, ends) in ends.into_iter().enumerate() {
                for name in ends {
                    let passing = &mut found[fuse_box].entry(name.clone()).or_default().passing;
                    if held.as_ref() != Some(&(fuse_box, name)) && !passing.contains(&index) {
                        passing.push(index);
                    }
                }
            }
        }
        let boxes = described.into_iter().zip(found).map(|(fuse_box, positions)| {
            let mut positions: Positions = positions.into_iter().collect();
            positions.sort_by(|a, b| natural::compare(&a.0, &b.0));
            (fuse_box, positions)
        });
        Self { boxes: boxes.collect(), elsewhere }
    }
}

/// The positions that a fuse box is said to have, and those that lists name; `ends` are these.
fn positions_of(fuse_box: &Connector, ends: &[Cavity]) -> BTreeSet<String> {
    let spots = match fuse_box.face.count() {
        Some(_) => FacePlan::new(Some(fuse_box), None, ends).spots(View::MatingFace),
        None => Vec::new(),
    };
    let described = spots.into_iter().filter_map(|spot| spot.cavity);
    described.chain(ends.iter().cloned()).map(|cavity| cavity.as_str().to_owned()).collect()
}

/// The fuse box by its place among these, and the position in it, that holds a fuse; `None` where that is not known.
fn held_in(
    fuse: &Fuse,
    described: &[&Connector],
    names: &[BTreeSet<String>],
    ends: &[Vec<String>],
) -> Option<(usize, String)> {
    let Some(name) = name_of(fuse) else {
        // A rating alone: the circuit's one position in a fuse box, if it is one.
        let mut all = ends.iter().enumerate().flat_map(|(at, ends)| ends.iter().map(move |name| (at, name.clone())));
        let first = all.next()?;
        return all.all(|other| other == first).then_some(first);
    };
    for (at, fuse_box) in described.iter().enumerate() {
        let id = fuse_box.id.as_str();
        let rest = name.get(..id.len()).filter(|start| start.eq_ignore_ascii_case(id)).map(|_| &name[id.len()..]);
        let position = rest.and_then(|rest| rest.strip_prefix(['/', ':', '.', '-', ' ']));
        if let Some(position) = position.map(str::trim).filter(|position| !position.is_empty()) {
            return Some((at, known(position, &names[at]).unwrap_or_else(|| position.to_owned())));
        }
    }
    let of_ends: Vec<usize> = (0..described.len()).filter(|at| !ends[*at].is_empty()).collect();
    // A box in which it merely ends holds its fuse where it has a position of that name: a feed has its fuse before the box.
    if let [at] = of_ends[..]
        && let Some(position) = known(&name, &names[at])
    {
        return Some((at, position));
    }
    let mut all = (0..described.len()).filter_map(|at| Some((at, known(&name, &names[at])?)));
    let first = all.next()?;
    all.next().is_none().then_some(first)
}

/// The words of the fuse column that are no rating: `F12`, `FB1/12`.
fn name_of(fuse: &Fuse) -> Option<String> {
    let is_rating = |word: &str| Fuse::from_cell(word).is_some_and(|fuse| fuse.milliamperes().is_some());
    let is_unit = |word: &str| word.eq_ignore_ascii_case("A");
    let mut words = Vec::new();
    let mut before = "";
    for word in fuse.typed().split_whitespace() {
        let is_of_a_number = is_unit(word) && is_rating(before) && !before.ends_with(['A', 'a']);
        if !is_rating(word) && !is_of_a_number {
            words.push(word);
        }
        before = word;
    }
    (!words.is_empty()).then(|| words.join(" "))
}

/// The position of this name: as it is, or the number behind `F`.
fn known(name: &str, positions: &BTreeSet<String>) -> Option<String> {
    let number = |name: &str| -> Option<String> {
        let digits = name.strip_prefix(['F', 'f']).unwrap_or(name).trim_start_matches('0');
        let is_number = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
        is_number.then(|| digits.to_owned())
    };
    let same = positions.iter().find(|position| position.eq_ignore_ascii_case(name));
    let same = same.or_else(|| {
        let wanted = number(name)?;
        positions.iter().find(|position| number(position).as_ref() == Some(&wanted))
    });
    same.cloned()
}

/// Ratings that circuits give their fuse; several where they do not agree.
fn ratings(harness: &Harness<'_>, circuits: &[usize]) -> Cell {
    let mut told: Vec<f64> =
        circuits.iter().filter_map(|at| harness.circuit(*at).fuse.as_ref().and_then(Fuse::amperes)).collect();
    told.sort_by(f64::total_cmp);
    told.dedup();
    let words: Vec<String> = told.iter().map(|amperes| format!("{amperes} A")).collect();
    if words.is_empty() { Cell::Write } else { Cell::Strong(words.join(" or ")) }
}

/// Whether it is fed with the switch off. What has no mark is not dead.
fn switched_off(harness: &Harness<'_>, index: usize) -> Cell {
    match gravest(harness.circuits, index) {
        Some(Supply::Constant) => Cell::Strong("LIVE".to_owned()),
        Some(Supply::HighVoltage) => Cell::Strong("HIGH VOLTAGE".to_owned()),
        Some(Supply::Restraint) => Cell::Strong("RESTRAINT".to_owned()),
        _ => Cell::Words("test".to_owned()),
    }
}

/// Words that a small face has room for.
fn short(words: &str) -> String {
    match words.char_indices().nth(MOST_CHARACTERS) {
        Some((end, _)) => format!("{}…", words[..end].trim_end()),
        None => words.to_owned(),
    }
}

/// What a circuit does, its designation, its code, and whether it is fed with the switch off.
fn circuit_cells(harness: &Harness<'_>, index: usize) -> [Cell; 4] {
    let circuit = harness.circuit(index);
    [
        Cell::words(circuit.function.as_deref().map(short)),
        Cell::Words(short(circuit.id().as_str())),
        Cell::Code(harness.issued.circuits[index].code.to_string()),
        switched_off(harness, index),
    ]
}

/// The table of a fuse box.
fn legend(harness: &Harness<'_>, positions: &Positions) -> Table {
    let mut table = Table::new(vec![
        Column::new("position"),
        Column::new("fuse").wide(16.0),
        Column::new("feeds").growing(),
        Column::new("circuit"),
        Column::new("code"),
        Column::new("switch off"),
    ]);
    for (name, position) in positions {
        let circuits: Vec<usize> = position.fed.iter().chain(&position.passing).copied().collect();
        let fuse = match (position.fed.is_empty(), position.passing.is_empty()) {
            (false, _) => ratings(harness, &position.fed),
            (true, false) => Cell::Words(passing_fuse(harness, &position.passing)),
            (true, true) => Cell::Write,
        };
        let mut lead = vec![Cell::Code(name.clone()), fuse];
        if circuits.is_empty() {
            lead.push(Cell::Words("spare: not in any list, look".to_owned()));
            table.row(lead);
            continue;
        }
        for (nth, circuit) in circuits.iter().enumerate() {
            let mut cells = std::mem::take(&mut lead);
            cells.resize(2, Cell::Empty);
            cells.extend(circuit_cells(harness, *circuit));
            let is_last = nth + 1 == circuits.len();
            table.rows.push(if is_last { Row::Cells(cells) } else { Row::Part(cells) });
        }
    }
    table
}

/// The fuse of what ends in a position without one: elsewhere, or none that a list tells.
fn passing_fuse(harness: &Harness<'_>, circuits: &[usize]) -> String {
    let told = circuits.iter().find_map(|at| harness.circuit(*at).fuse.as_ref());
    told.map_or_else(|| "none told".to_owned(), |fuse| format!("by {fuse}"))
}

/// The card of a fuse box.
fn lid(
    harness: &Harness<'_>,
    fuse_box: &Connector,
    positions: &Positions,
    face: Size,
    letterhead: &Letterhead,
    fonts: &Fonts,
) -> Sheet {
    let paper = letterhead.paper.room();
    let name = fuse_box.short_name.clone().unwrap_or_else(|| "fuse box".to_owned());
    let note = "Cut out at the marks, fold at the dashed line, put into the lid.";
    let note = super::words(fonts, paper.width, note, Binding::WithNext);
    let above = note.strips.iter().fold(Length::ZERO, |sum, strip| sum + strip.frame.size.height);
    let (face, on_a_card) = card::within(face, Size::new(paper.width, paper.height - above));
    let inner = card::inner(face);
    let symbol = harness.payload.connector_text(&fuse_box.id, &[&name], 60);
    let head = head(fonts, inner.width, &format!("{} {name}", fuse_box.id), letterhead, &symbol);
    let table = legend(harness, positions).passage(fonts, inner.width, Length::ZERO);
    let mut faces = flow(&[Passage::of(head, Length::ZERO, Binding::WithNext), table], inner.height - FOOT);
    let count = faces.len();
    for (nth, items) in faces.iter_mut().enumerate() {
        let mut pen = Pen::new(fonts);
        let baseline = Point::new(Length::ZERO, inner.height);
        let warning = "No mark does not mean dead: test. The rating protects the wire: never put in a larger fuse.";
        pen.words(baseline, warning, Look::words(FOOT_CAP), Align::Left);
        let number = format!("{}, {} of {count}", fuse_box.id, nth + 1);
        let at = Point::new(inner.width, inner.height);
        pen.words(at, &number, Look::words(FOOT_CAP), Align::Right);
        items.extend(pen.items);
    }
    let cards = faces.chunks(on_a_card).map(|faces| card::folded(fonts, face, faces));
    let mut passages = vec![note];
    passages.extend(cards.map(|card| Passage::of(card, Length::ZERO, Binding::Free)));
    let spare = positions.iter().filter(|(_, position)| position.fed.is_empty() && position.passing.is_empty()).count();
    Sheet {
        title: fuse_box.id.to_string(),
        subtitle: format!("{name}: {}, {spare} in no list", counted(positions.len(), "position")),
        sort: "fuse legend".to_owned(),
        symbol: None,
        passages,
    }
}

/// The head of a card: what it is of, and of which day.
fn head(fonts: &Fonts, width: Length, title: &str, letterhead: &Letterhead, symbol: &str) -> Frame {
    let mut pen = Pen::new(fonts);
    let taken = pen.symbol(Point::new(width, -Length::mm(1.0)), SYMBOL, symbol);
    let room = width - taken.unwrap_or_default();
    let mut top = pen.paragraph(Point::ORIGIN, room, title, Look::strong(3.6)) + Length::mm(2.5);
    let job = format!("{} · {} · {}", letterhead.job, letterhead.date, letterhead.run);
    top += pen.paragraph(Point::new(Length::ZERO, top), room, &job, Look::words(1.6)) + Length::mm(2.0);
    let height = top.max(taken.unwrap_or_default() - Length::mm(2.0));
    pen.framed(Size::new(width, height))
}

/// The fuses that no described fuse box holds, each circuit a row.
fn elsewhere(harness: &Harness<'_>, circuits: &[usize], letterhead: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
    let mut rows: Vec<(String, usize)> = circuits
        .iter()
        .filter_map(|at| Some((name_of(harness.circuit(*at).fuse.as_ref()?).unwrap_or_default(), *at)))
        .collect();
    rows.sort_by(|a, b| natural::compare(&a.0, &b.0).then(a.1.cmp(&b.1)));
    let mut table = Table::new(vec![
        Column::new("fuse").wide(20.0),
        Column::new("rating"),
        Column::new("feeds"),
        Column::new("circuit"),
        Column::new("code"),
        Column::new("switch off"),
        Column::new("where it sits").growing(),
    ]);
    for (name, circuit) in rows {
        let name = if name.is_empty() { Cell::Write } else { Cell::Code(name) };
        let mut cells = vec![name, ratings(harness, &[circuit])];
        cells.extend(circuit_cells(harness, circuit));
        cells.push(Cell::Write);
        table.row(cells);
    }
    let width = letterhead.paper.room().width;
    let note =
        "A fuse protects the wire, so it sits near the source: look for it there. No mark does not mean dead: test.";
    (!circuits.is_empty()).then(|| Sheet {
        title: letterhead.job.clone(),
        subtitle: format!("{} whose fuse sits in no fuse box of the lists", counted(circuits.len(), "circuit")),
        sort: "fuses elsewhere".to_owned(),
        symbol: None,
        passages: vec![
            super::words(fonts, width, note, Binding::WithNext),
            table.passage(fonts, width, Length::mm(1.0)),
        ],
    })
}

#[cfg(test)]
mod tests {
    use super::super::trial::{Job, letterhead, written};
    use super::*;
    use crate::base::Rect;
    use crate::layout::Item;

    /// `4: C64 C65`, a line for each position.
    fn told(job: &Job) -> Vec<String> {
        let (harness, circuits) = (job.harness(), job.circuits.all());
        let legends = Legends::of(&harness);
        let ids = |all: &[usize]| all.iter().map(|at| format!(" {}", circuits[*at].id())).collect::<String>();
        let of_box = |(fuse_box, positions): &(&Connector, Positions)| -> Vec<String> {
            let line = |(name, position): &(String, Position)| {
                let passing =
                    if position.passing.is_empty() { String::new() } else { format!(" |{}", ids(&position.passing)) };
                format!("{}/{name}:{}{passing}", fuse_box.id, ids(&position.fed))
            };
            positions.iter().map(line).collect()
        };
        let mut lines: Vec<String> = legends.boxes.iter().flat_map(of_box).collect();
        lines.push(format!("elsewhere:{}", ids(&legends.elsewhere)));
        lines
    }

    /// FB1 has 2 x 8 positions; its list leaves out 8, 11, 13, 15 and 16. What is behind a relay names the same fuse.
    #[test]
    fn marsh_hens_fuse_box() {
        let job = Job::marsh_hen();
        assert_eq!(
            told(&job),
            [
                "FB1/1: E65",
                "FB1/2: C60 E47",
                "FB1/3: C61 E61",
                "FB1/4: C64 C65",
                "FB1/5: C02",
                "FB1/6: C44",
                "FB1/7: C45",
                "FB1/8:",
                "FB1/9: C48",
                "FB1/10: C67",
                "FB1/11:",
                "FB1/12: C01",
                "FB1/13:",
                "FB1/14: M11",
                "FB1/15:",
                "FB1/16:",
                "FB1/B: | E70",
                "FB1/S: | C65",
                "elsewhere: M01 M03 M04 M05 M06 M08 M09 M10 M13 M14 M17 M22 M27",
            ]
        );
        let fonts = Fonts::new();
        let sheets = sheets(&job.harness(), &[], FACE, &letterhead(), &fonts);
        let titles: Vec<&str> = sheets.iter().map(|sheet| sheet.title.as_str()).collect();
        assert_eq!(titles, ["FB1", "Marsh Hen repower"]);
        let words = written(&sheets[0], &fonts);
        assert_eq!(words.iter().filter(|words| words.starts_with("spare: not in any list")).count(), 5);
        // Fed with the switch off: counted from the supply column of the list of FB1 and of E47, E61.
        assert_eq!(words.iter().filter(|words| *words == "LIVE").count(), 8);
        assert!(words.contains(&job.code("C01")) && words.contains(&"15 A".to_owned()));
    }

    #[test]
    fn fuses_are_found_by_every_name() {
        let connectors =
            "connector,kind,rows,columns,cavities,numbering\nFB1,fuse box,,,3,\nFB2,fuse box,1,2,,rows lettered\n";
        let rows = "connector,cavity,circuit,fuse\nJ1,1,A,F2 15 A\nJ1,2,B,FB2/A1 5A\nJ1,3,C,7.5 A\nFB1,3,C,7.5 A\n\
                    J1,4,D,F9 10 A\nFB1,9,D,F9 10 A\nJ1,5,E,a2 1 A\nJ1,6,F,FB1-02 15 A\nJ1,7,G,20\n";
        assert_eq!(
            told(&Job::of(rows, connectors)),
            ["FB1/1:", "FB1/2: A F", "FB1/3: C", "FB1/9: D", "FB2/A1: B", "FB2/A2: E", "elsewhere: G"]
        );
    }

    /// The feed of a box ends in it, and has its fuse at the battery: the box has no position of that name.
    #[test]
    fn a_box_has_no_position_but_its_own() {
        let rows = "connector,cavity,circuit,fuse\nFB1,B,feed,ANL at battery 200 A\nFB1,1,A,F7 15 A\nFB1,2,C,F1 5 A\n";
        let job = Job::of(rows, "connector,kind,cavities\nFB1,fuse box,2\n");
        assert_eq!(told(&job), ["FB1/1: C | A", "FB1/2: | C", "FB1/B: | feed", "elsewhere: A feed"]);
    }

    /// Only an `A` behind a number is the unit.
    #[test]
    fn names_keep_their_words() {
        let name = |typed: &str| Fuse::from_cell(typed).and_then(|fuse| name_of(&fuse));
        for (typed, told) in [
            ("Panel A 15 A", Some("Panel A")),
            ("ANL at battery 200 a", Some("ANL at battery")),
            ("F12 7,5 A", Some("F12")),
            ("15A A", Some("A")),
            ("7.5", None),
            ("15 A", None),
            ("15A", None),
        ] {
            assert_eq!(name(typed).as_deref(), told, "{typed}");
        }
    }

    /// Two boxes that both have a position 2: nobody can tell in which the fuse is.
    #[test]
    fn a_name_that_two_boxes_have_is_told_elsewhere() {
        let connectors = "connector,kind,cavities\nFB1,fuse box,2\nFB2,fuse box,2\n";
        let job = Job::of("connector,cavity,circuit,fuse\nJ1,1,A,F2 15 A\n", connectors);
        assert_eq!(told(&job), ["FB1/1:", "FB1/2:", "FB2/1:", "FB2/2:", "elsewhere: A"]);
    }

    /// Long words and a fuse of many circuits on the least face: nothing leaves its card.
    #[test]
    fn nothing_leaves_the_least_card() {
        let long = "ignition switched feed of everything that is anywhere behind the dashboard ".repeat(9);
        let rows: String = (0..30).map(|n| format!("J1,{n},{}{n},{long},F1 10 A\n", "W".repeat(70))).collect();
        let rows = format!("connector,cavity,circuit,function,fuse\n{rows}FB1,1,X,{long},F1 10 A\n");
        let job = Job::of(&rows, "connector,kind,cavities,short name\nFB1,fuse box,4,box under the port seat\n");
        let fonts = Fonts::new();
        let sheets = sheets(&job.harness(), &[], LEAST_FACE, &letterhead(), &fonts);
        let cards: Vec<&Frame> = sheets[0].passages[1..].iter().map(|passage| &passage.strips[0].frame).collect();
        assert!(cards.len() > 1);
        for card in cards {
            for item in &card.items {
                if let Item::Text(text) = item {
                    let whole = Rect { origin: Point::ORIGIN, size: card.size };
                    assert!(whole.holds(&text.bounds), "{:?} leaves {:?}", text.bounds, card.size);
                }
            }
        }
    }

    #[test]
    fn a_job_without_fuses_has_no_legend() {
        let job = Job::of("connector,cavity,circuit\nJ1,1,A\n", "connector\n");
        assert!(sheets(&job.harness(), &[], FACE, &letterhead(), &Fonts::new()).is_empty());
    }
}
