//! How tags are laid on a stock: counts, lengths, what to buy, and the sheets as they lie before one.

use maud::{Markup, html};

use super::asked::Asked;
use super::sheets::{Mark, SheetMap};
use crate::base::counted;
use crate::pages::Geometry;
use crate::run::needs::metres_exact;
use crate::run::sheets::{Rest, SheetLaid, Waiting, sheets};
use crate::run::shopping::{Need, OVER_PERCENT};
use crate::serve::screen::Screen;
use crate::serve::trouble::Trouble;

/// So many sheets of one stock are drawn.
const MAPS: usize = 4;
/// So many begun sheets are offered: the cheapest.
const CHOICES: usize = 6;

/// How many pages it makes.
pub fn pages_of(need: &Need) -> usize {
    match need {
        Need::Sheets { laid, sheets, .. } if laid.is_empty() => *sheets,
        Need::Sheets { laid, .. } => laid.len(),
        Need::Roll { labels, .. } => *labels,
        Need::Tube { laid, .. } => laid.pieces.len(),
        Need::Paper { sheets, .. } => *sheets,
        Need::ClearTube { .. } => 0,
    }
}

/// What goes on a stock, and how it is laid.
pub fn stock(screen: &Screen<'_>, asked: &Asked, need: &Need) -> Result<Markup, Trouble> {
    Ok(match need {
        Need::Sheets { stock, tags, sheets, begun, lost, on_new, waiting, laid, unreached, .. } => {
            let left = need.left_over().unwrap_or(0);
            html! {
                article.card {
                    h3 { (stock) }
                    p {
                        (counted(*tags, "label")) ", "
                        @if !begun.is_empty() { "on what is begun first, " }
                        (counted(*sheets, "new sheet")) "; " (left) " left over"
                        @if *lost > 0 { ", " (lost) " of them lost: a laser printer takes the sheet for the last time" }
                    }
                    @if let Some(new) = on_new {
                        @let link = screen.desk.link(&format!("/print?{}", asked.on_new_sheets()));
                        p {
                            "Or none is lost: " a.button.second href=(link) { "On new sheets" } " " (counted(*new, "new sheet"))
                            ", and what is begun waits for a run that fills more of it."
                        }
                    }
                    (choices(screen, asked, waiting))
                    @if !unreached.is_empty() {
                        p.mind { (counted(unreached.len(), "label")) " of each sheet lie out of the printer's reach" }
                    }
                    div.maps { (maps(screen, stock, laid, unreached)?) }
                    @if laid.len() > MAPS { p.soft { (counted(laid.len() - MAPS, "more sheet")) } }
                }
            }
        }
        Need::Roll { stock, labels } => {
            html! { article.card { h3 { (stock) } p { (counted(*labels, "label")) " of the roll" } } }
        }
        Need::Tube { stock, size, sleeves, laid, .. } => html! {
            article.card {
                h3 { (stock) }
                p { (counted(*sleeves, "sleeve")) " of " (size) ", " (metres_exact(laid.used)) " in all" }
                p {
                    (counted(laid.pieces.len(), "piece")) " of tube ("
                    (laid.pieces.iter().map(|piece| format!("{:.0} mm", piece.as_mm())).collect::<Vec<_>>().join(", ")) ")"
                    @if let Some(least) = laid.least.filter(|least| *least < laid.pieces.len()) {
                        "; at the least " (least) ", in the order of least waste"
                    }
                }
                @if let Some(buy) = need.to_buy() { p { "to buy: " (metres_exact(buy)) ", " (OVER_PERCENT) " % over" } }
            }
        },
        Need::Paper { stock, strips, sheets, full_percent } => html! {
            article.card {
                h3 { (stock) }
                p {
                    (counted(*strips, "strip")) " on " (counted(*sheets, "sheet")) " of paper, which they cover by "
                    (format!("{full_percent:.0} %"))
                }
            }
        },
        Need::ClearTube { size, cuts, used } => html! {
            article.card {
                h3 { "clear " (size) " tube" }
                p { (counted(*cuts, "cut")) ", " (metres_exact(*used)) " in all" }
                @if let Some(buy) = need.to_buy() { p { "to buy: " (metres_exact(buy)) ", " (OVER_PERCENT) " % over" } }
            }
        },
    })
}

/// Begun sheets that wait for a run that suits them better: this one may go on with each all the same.
fn choices(screen: &Screen<'_>, asked: &Asked, waiting: &[Waiting]) -> Markup {
    html! {
        @if !waiting.is_empty() {
            p {
                @if waiting.len() == 1 { "A begun sheet waits" } @else { (waiting.len()) " begun sheets wait" }
                " for a run that fills more of them. To go on with one all the same:"
            }
            ul.plain.sheets {
                @for one in waiting.iter().take(CHOICES) {
                    @let link = screen.desk.link(&format!("/print?{}", asked.on_sheet(Some(one.number))));
                    li { a.button.second href=(link) { "Sheet " (one.number) } " " (one.costs()) }
                }
                @if waiting.len() > CHOICES {
                    li { a href=(screen.desk.link("/print/sheets")) { (waiting.len() - CHOICES) " more" } }
                }
            }
        }
    }
}

fn maps(screen: &Screen<'_>, stock: &str, laid: &[SheetLaid], unreached: &[u32]) -> Result<Markup, Trouble> {
    let in_use = screen.job.reading.equipment.stocks().iter().find(|in_use| in_use.stock.name() == stock);
    let Some(Geometry::Sheet(sheet)) = in_use.map(|in_use| in_use.stock.geometry()) else { return Ok(html! {}) };
    let known = sheets(screen.desk.folder())?;
    let map = |laid: &SheetLaid| {
        let before = known.iter().find(|state| state.sheet.number == laid.number).map(|state| &state.sheet);
        let mark = |place: u32| {
            if laid.places.contains(&place) {
                Mark::Now
            } else if before.is_some_and(|sheet| sheet.spoilt.contains(&place)) {
                Mark::Spoilt
            } else if place < laid.begun_at || before.is_some_and(|sheet| sheet.is_taken(place)) {
                Mark::Taken
            } else if unreached.contains(&place) {
                Mark::Unreached
            } else {
                Mark::Free
            }
        };
        // Runs go on from the trailing end.
        let next = (1..=u32::try_from(laid.of).unwrap_or(0)).rev().find(|place| mark(*place) == Mark::Free);
        let mark = |place: u32| match (mark(place), laid.rest) {
            (Mark::Free, Rest::Lost) => Mark::Lost,
            (Mark::Free, Rest::Kept) if next == Some(place) => Mark::Next,
            (mark, _) => mark,
        };
        html! {
            figure {
                (SheetMap { sheet, mark: &mark }.draw(&format!("sheet {}", laid.number)))
                figcaption {
                    "sheet " (laid.number) @if before.is_none() { ", new" } @else { ", begun" } ": "
                    (laid.places.len()) " now, "
                    @if laid.lost() > 0 { (laid.left) " lost of " (laid.of) ": its last pass" } @else { (laid.left) " free of " (laid.of) }
                }
            }
        }
    };
    Ok(html! { @for laid in laid.iter().take(MAPS) { (map(laid)) } })
}
