//! What a run takes and what to buy for it, in words and for programs.

use serde_json::{Value, json};

use super::output::plural;
use super::sheets::waiting_words;
use super::table::columns;
use crate::base::Length;
use crate::paperwork::whole_job::ToBuy;
use crate::run::sheets::TubeLaid;
use crate::run::shopping::{Need, OVER_PERCENT};

/// A line for each stock, under a heading.
pub fn needs_lines(needs: &[Need]) -> Vec<String> {
    if needs.is_empty() {
        return Vec::new();
    }
    let rows: Vec<Vec<String>> = needs.iter().map(|need| row(need).to_vec()).collect();
    let mut lines = vec![format!("to have at hand or to buy, tube {OVER_PERCENT} % over:")];
    lines.extend(columns(&rows).into_iter().map(|line| format!("  {line}")));
    lines
}

/// The same lines for paper.
pub fn to_buy(needs: &[Need]) -> Vec<ToBuy> {
    let line = |need: &Need| {
        let [what, amount, remark] = row(need);
        ToBuy { what, amount, remark }
    };
    needs.iter().map(line).collect()
}

/// What, how much, and why as much.
fn row(need: &Need) -> [String; 3] {
    let over = |need: &Need| need.to_buy().map(metres).unwrap_or_default();
    match need {
        Need::Sheets { stock, tags, sheets, begun, part, lost, waiting, .. } => {
            let (left, waste) = (need.left_over().unwrap_or(0), need.waste_percent().unwrap_or(0.0));
            let numbers: Vec<String> = begun.iter().map(|(number, _)| number.to_string()).collect();
            let first = match (&numbers[..], part) {
                ([], None) => String::new(),
                ([], Some((from, _))) => format!(", a sheet from label {from} on first"),
                ([one], _) => format!(", sheet {one} first"),
                (several, _) => format!(", sheets {} first", several.join(", ")),
            };
            let mut of = format!("{tags} of {} labels{first}, {left} left over ({waste:.0} %)", tags + left);
            if *lost > 0 {
                of.push_str(&format!(", {lost} of them lost: a last pass"));
            }
            if let Some(waiting) = waiting_words(waiting) {
                of.push_str(&format!("; {waiting}"));
            }
            let is_plain = begun.is_empty() && part.is_none();
            let sheets = if is_plain { plural(*sheets, "sheet") } else { plural(*sheets, "new sheet") };
            [stock.clone(), sheets, of]
        }
        Need::Roll { stock, labels } => [stock.clone(), plural(*labels, "label"), String::new()],
        Need::Tube { stock, size, sleeves, laid, .. } => {
            let made = format!(
                "{size}: {}, {} in all, printed on {}",
                plural(*sleeves, "sleeve"),
                metres_exact(laid.used),
                tube_line(laid)
            );
            [stock.clone(), over(need), made]
        }
        Need::Paper { stock, strips, sheets, full_percent } => {
            let made =
                format!("{}, which cover {full_percent:.0} % of the paper that is for them", plural(*strips, "strip"));
            [stock.clone(), plural(*sheets, "sheet"), made]
        }
        Need::ClearTube { size, cuts, used } => {
            let made = format!("{}, {} in all", plural(*cuts, "cut"), metres_exact(*used));
            [format!("clear {size} tube"), over(need), made]
        }
    }
}

/// Up to so many off-cuts are told one by one.
const OFF_CUTS_TOLD: usize = 4;

/// An off-cut that is shorter is no use (common practice).
const SHORTEST_OFF_CUT: Length = Length::nm(20_000_000);

/// `2 pieces of 1.00 m (310 mm and 25 mm left over; at the least 1: try --order least-waste)`
pub fn tube_line(laid: &TubeLaid) -> String {
    let mut kinds: Vec<(Length, usize)> = Vec::new();
    for piece in &laid.pieces {
        match kinds.last_mut().filter(|(length, _)| length == piece) {
            Some((_, count)) => *count += 1,
            None => kinds.push((*piece, 1)),
        }
    }
    let kinds: Vec<String> = kinds
        .into_iter()
        .map(|(length, count)| format!("{} of {}", plural(count, "piece"), metres_exact(length)))
        .collect();
    let least = laid.least.filter(|least| *least < laid.pieces.len());
    let least = least.map(|least| format!("; at the least {least}: try --order least-waste")).unwrap_or_default();
    let mut line = format!("{} ({}{least})", kinds.join(" and "), left_over(laid));
    for off_cut in &laid.too_short {
        line.push_str(&format!("; the off-cut of {} is too short for these sleeves and not used", whole_mm(*off_cut)));
    }
    line
}

/// Off-cuts that can be used again, the longest first.
fn left_over(laid: &TubeLaid) -> String {
    let mut left: Vec<Length> = laid.left.iter().copied().filter(|left| *left >= SHORTEST_OFF_CUT).collect();
    left.sort_unstable_by(|one, other| other.cmp(one));
    let told: Vec<String> = left.iter().take(OFF_CUTS_TOLD).map(|length| whole_mm(*length)).collect();
    match (&told[..], left.len().saturating_sub(OFF_CUTS_TOLD)) {
        ([], _) => "nothing worth keeping left over".to_owned(),
        ([one], _) => format!("{one} left over"),
        ([first @ .., last], 0) => format!("{} and {last} left over", first.join(", ")),
        (several, more) => format!("{} and {more} shorter ones left over", several.join(", ")),
    }
}

fn whole_mm(length: Length) -> String {
    format!("{} mm", length.as_mm().floor())
}

/// A length to buy, in tenths of a metre.
fn metres(length: Length) -> String {
    format!("{:.1} m", length.as_mm() / 1000.0)
}

fn metres_exact(length: Length) -> String {
    format!("{:.2} m", length.as_mm() / 1000.0)
}

/// The same for programs.
pub fn needs_json(needs: &[Need]) -> Value {
    let tube = |need: &Need| (need.taken().map(Length::as_mm), need.to_buy().map(Length::as_mm));
    let one = |need: &Need| match need {
        Need::Sheets { stock, tags, sheets, a_sheet, begun, part, lost, waiting, .. } => json!({
            "what": "sheets",
            "stock": stock,
            "tags": tags,
            "sheets": sheets,
            "labels_a_sheet": a_sheet,
            "part_of_a_sheet": part.map(|(from, labels)| json!({ "from": from, "labels": labels })),
            "labels_lost": lost,
            "waiting_sheets": waiting.iter().map(|(number, _)| number.get()).collect::<Vec<_>>(),
            "begun_sheets": begun.iter().map(|(number, _)| number.get()).collect::<Vec<_>>(),
            "labels_left_over": need.left_over(),
            "waste_percent": need.waste_percent(),
        }),
        Need::Roll { stock, labels } => json!({ "what": "roll", "stock": stock, "labels": labels }),
        Need::Tube { stock, size, sleeves, piece, laid } => json!({
            "what": "tube",
            "stock": stock,
            "size": size,
            "sleeves": sleeves,
            "pieces": laid.pieces.len(),
            "piece_mm": piece.as_mm(),
            "pieces_mm": laid.pieces.iter().map(|piece| piece.as_mm()).collect::<Vec<_>>(),
            "least_pieces": laid.least,
            "sleeves_mm": laid.used.as_mm(),
            "left_mm": laid.left.iter().map(|left| left.as_mm()).collect::<Vec<_>>(),
            "too_short_mm": laid.too_short.iter().map(|off_cut| off_cut.as_mm()).collect::<Vec<_>>(),
            "waste_percent": need.waste_percent(),
            "taken_mm": tube(need).0,
            "over_percent": OVER_PERCENT,
            "buy_mm": tube(need).1,
        }),
        Need::Paper { stock, strips, sheets, .. } => {
            let waste = need.waste_percent();
            json!({ "what": "paper", "stock": stock, "strips": strips, "sheets": sheets, "waste_percent": waste })
        }
        Need::ClearTube { size, cuts, .. } => json!({
            "what": "clear tube",
            "size": size,
            "cuts": cuts,
            "taken_mm": tube(need).0,
            "over_percent": OVER_PERCENT,
            "buy_mm": tube(need).1,
        }),
    };
    needs.iter().map(one).collect()
}

/// The tube of a file for programs.
pub fn tube_json(laid: &TubeLaid) -> Value {
    json!({
        "pieces_mm": laid.pieces.iter().map(|piece| piece.as_mm()).collect::<Vec<_>>(),
        "sleeves_mm": laid.used.as_mm(),
        "left_mm": laid.left.iter().map(|left| left.as_mm()).collect::<Vec<_>>(),
        "too_short_mm": laid.too_short.iter().map(|off_cut| off_cut.as_mm()).collect::<Vec<_>>(),
        "waste_percent": laid.waste_percent(),
        "least_pieces": laid.least,
    })
}
