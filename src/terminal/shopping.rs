//! What a run takes and what to buy for it, in words and for programs.

use serde_json::{Value, json};

use super::table::columns;
use crate::base::Length;
use crate::paperwork::whole_job::ToBuy;
use crate::run::needs::to_buy;
use crate::run::sheets::TubeLaid;
use crate::run::shopping::{Need, OVER_PERCENT};

/// A line for each stock, under a heading.
pub fn needs_lines(needs: &[Need]) -> Vec<String> {
    if needs.is_empty() {
        return Vec::new();
    }
    let rows: Vec<Vec<String>> =
        to_buy(needs).into_iter().map(|ToBuy { what, amount, remark }| vec![what, amount, remark.into()]).collect();
    let mut lines = vec![format!("to have at hand or to buy, tube {OVER_PERCENT} % over:")];
    lines.extend(columns(&rows).into_iter().map(|line| format!("  {line}")));
    lines
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
            "waiting_sheets": waiting.iter().map(|one| one.number.get()).collect::<Vec<_>>(),
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
