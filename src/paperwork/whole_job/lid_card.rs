//! The job -> a card for the lid of a fuse box, a locker or the manual: how the records are opened without the computer that they
//! were written on, years later, by whoever finds a tag.

use super::card;
use crate::base::code::{ALPHABET, LONGEST, SHORTEST};
use crate::base::{Length, Point, Rect, Size, counted};
use crate::codes::link::Payload;
use crate::layout::text::Fonts;
use crate::paperwork::pen::Align;
use crate::paperwork::{Binding, Harness, Letterhead, Look, Passage, Pen, Sheet};

/// Size of the card: A6, half of A5 (ISO 216).
pub const CARD: Size = Size::new(Length::nm(148_000_000), Length::nm(105_000_000));

/// Most of the symbol.
const SYMBOL: Length = Length::nm(30_000_000);
/// Height of capitals, in millimetres.
const CAP: f64 = 2.0;
/// Between parts of the card.
const GAP: Length = Length::nm(2_600_000);

/// The card; `None` where there is no circuit.
pub fn sheet(harness: &Harness<'_>, letterhead: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
    let code = harness.issued.circuits.first()?.code.to_string();
    let face = card::inner(CARD);
    let mut pen = Pen::new(fonts);
    let words = Look::words(CAP);
    let symbol = pen.symbol(Point::new(face.width, Length::ZERO), SYMBOL, &letterhead.symbol);
    let beside = face.width - symbol.unwrap_or_default() - GAP;
    let mut top = pen.paragraph(Point::ORIGIN, beside, &letterhead.job, Look::strong(4.2)) + GAP;
    let circuits = harness.circuits.all();
    let ends: usize = circuits.iter().map(|circuit| circuit.ends().len()).sum();
    let counts = format!(
        "Wiring records of {}, {}: {}, {}.",
        letterhead.date,
        letterhead.run,
        counted(circuits.len(), "circuit"),
        counted(ends, "end")
    );
    top += pen.paragraph(Point::new(Length::ZERO, top), beside, &counts, words) + GAP;
    let opening = opening(harness.payload, &code);
    top += pen.paragraph(Point::new(Length::ZERO, top), beside, &opening, words) + GAP;
    top = top.max(symbol.unwrap_or_default());
    top += sample(&mut pen, top, face.width, &code) + GAP;
    let warning = "No mark on a wire does not mean that it is dead: test. A tag is a record, no proof.";
    top += pen.paragraph(Point::new(Length::ZERO, top), face.width, warning, Look::strong(CAP)) + GAP;
    let asked = ["The records lie at", "A copy is kept at", "Printed lists are kept at", "Who may be asked"];
    let lines = i64::try_from(asked.len()).unwrap_or(1);
    let apart = ((face.height - top) / lines).min(Length::mm(10.0));
    for (nth, asked) in (1i64..).zip(asked) {
        let baseline = top + apart * nth - Length::mm(0.5);
        pen.words(Point::new(Length::ZERO, baseline), asked, words, Align::Left);
        let from = Point::new(Length::mm(40.0), baseline);
        pen.rule(from, Point::new(face.width, baseline), Length::mm(0.1));
    }
    let note = super::words(fonts, letterhead.paper.room().width, "Cut out at the marks.", Binding::WithNext);
    let card = card::folded(fonts, CARD, &[pen.items]);
    Some(Sheet {
        title: letterhead.job.clone(),
        subtitle: "opens the records without the computer".to_owned(),
        sort: "lid card".to_owned(),
        symbol: None,
        passages: vec![note, Passage::of(card, Length::ZERO, Binding::Free)],
    })
}

/// How a tag's symbol is used.
fn opening(payload: &Payload, code: &str) -> String {
    let symbol = match payload {
        Payload::Link { base } => {
            format!(
                "Scan the symbol of a tag with a phone: it opens {base}/ with the code behind it. Nothing answers there?"
            )
        }
        Payload::Text => {
            "Scan the symbol of a tag with a phone: it says what the wire is, without a network. More:".to_owned()
        }
        Payload::Code => "The symbol of a tag holds its code and no more.".to_owned(),
    };
    format!("{symbol} Look the code up in the printed lists, or in the job folder: loomtag find {code}.")
}

/// The name of a tag, large, and how it is read; gives the height.
fn sample(pen: &mut Pen<'_>, top: Length, width: Length, code: &str) -> Length {
    let (large, words) = (Look::code(5.0), Look::words(CAP));
    let name = format!("{code} A");
    let inside = Length::mm(2.5);
    let wide = crate::paperwork::pen::width(pen.fonts(), large, &name) + inside * 2;
    let area = Rect::new(Length::ZERO, top, wide, large.cap + inside * 2);
    pen.outline(area, Length::mm(0.25));
    pen.words(Point::new(inside, area.bottom() - inside), &name, large, Align::Left);
    let left = area.right() + Length::mm(3.0);
    let how = format!(
        "{code} is the circuit: the same on all its wires, and for ever. A is the end: A and B are the two ends of a wire, more \
         letters mean more ends. Codes have {SHORTEST} to {LONGEST} characters; the last one is a check, so that a code that was \
         misread fits none. In no code and no letter: {}. Small letters are the same as large ones.",
        left_out()
    );
    let height = pen.paragraph(Point::new(left, top), width - left, &how, words);
    height.max(area.size.height)
}

/// The digits and letters that no code has.
fn left_out() -> String {
    let all = ('0'..='9').chain('A'..='Z');
    let missing: Vec<String> = all.filter(|c| !ALPHABET.contains(&(*c as u8))).map(|c| c.to_string()).collect();
    missing.join(" ")
}

#[cfg(test)]
mod tests {
    use super::super::trial::{Job, letterhead, written};
    use super::*;
    use crate::layout::Item;

    fn symbols(sheet: &Sheet) -> Vec<String> {
        let items = sheet.passages.iter().flat_map(|passage| &passage.strips).flat_map(|strip| &strip.frame.items);
        items
            .filter_map(|item| match item {
                Item::Symbol(symbol) => Some(symbol.payload.clone()),
                _ => None,
            })
            .collect()
    }

    #[test]
    fn the_card_says_how_a_tag_is_read() {
        let (mut job, fonts) = (Job::marsh_hen(), Fonts::new());
        let card = sheet(&job.harness(), &letterhead(), &fonts).expect("there are circuits");
        assert_eq!(symbols(&card), ["HTTP://MARSHHEN.LOCAL:7117"]);
        let words = written(&card, &fonts).join(" ");
        let ends: usize = job.circuits.all().iter().map(|circuit| circuit.ends().len()).sum();
        assert!(words.contains(&format!("{} circuits, {ends} ends", job.circuits.all().len())), "{words}");
        assert!(words.contains("0 1 5 I L O S"), "{words}");
        assert!(words.contains(&format!("{} A", job.issued.circuits[0].code)));
        job.payload = Payload::Text;
        let symbol = Letterhead::symbol_of_job(&job.payload, "Marsh Hen repower", "2026-11-28");
        let letterhead = Letterhead { symbol, ..letterhead() };
        let card = sheet(&job.harness(), &letterhead, &fonts).expect("there are circuits");
        assert_eq!(symbols(&card), ["MARSH HEN REPOWER, 2026-11-28"]);
    }

    /// Whatever the title's length and the payload, nothing leaves the card.
    #[test]
    fn all_of_it_lies_on_the_card() {
        let (mut job, fonts) = (Job::marsh_hen(), Fonts::new());
        for payload in [job.payload.clone(), Payload::Text, Payload::Code] {
            job.payload = payload;
            for title in ["Boat", "A very long title of a job that goes on and on over more than one line of the card"]
            {
                let letterhead = Letterhead { job: title.to_owned(), ..letterhead() };
                let sheet = sheet(&job.harness(), &letterhead, &fonts).expect("there are circuits");
                let frame = &sheet.passages[1].strips[0].frame;
                let whole = Rect { origin: Point::ORIGIN, size: frame.size };
                for item in &frame.items {
                    match item {
                        Item::Text(text) => assert!(whole.holds(&text.bounds), "{:?} in {title}", text.bounds),
                        Item::Rule { to, .. } => assert!(to.y <= frame.size.height, "{to:?}"),
                        _ => {}
                    }
                }
            }
        }
    }
}
