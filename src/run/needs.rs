//! What a run takes of each stock, in words: for the shopping list, for whoever prints, and for the overview.

use super::check::check;
use super::failure::RunFailure;
use super::reading::Reading;
use super::sheets::{Laying, TubeLaid, Waiting};
use super::shopping::Need;
use super::wanted::Wanted;
use crate::base::{Length, Page, Remedy, counted};
use crate::codes::SheetNumber;
use crate::paperwork::whole_job::ToBuy;

/// What is to be bought for all tags of a job, as the sheet for the shop has it.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn to_buy_for(reading: &Reading) -> Result<Vec<ToBuy>, RunFailure> {
    Ok(to_buy(&check(reading, &Wanted::default().choice(reading), &Laying::default())?.needs))
}

/// A line for each stock: what, how much, and why as much.
pub fn to_buy(needs: &[Need]) -> Vec<ToBuy> {
    let row = |need| {
        let (what, amount, remark) = row(need);
        ToBuy { what, amount, remark }
    };
    needs.iter().map(row).collect()
}

/// What, how much, and why as much.
fn row(need: &Need) -> (String, String, Remedy) {
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
            let mut of =
                Remedy::from(format!("{tags} of {} labels{first}, {left} left over ({waste:.0} %)", tags + left));
            if *lost > 0 {
                of = of.words(format!(", {lost} of them lost: a last pass"));
            }
            for one in waiting.iter().take(WAITING_TOLD) {
                of = of.words("; ").and(&one.in_words());
            }
            let is_plain = begun.is_empty() && part.is_none();
            let sheets = if is_plain { counted(*sheets, "sheet") } else { counted(*sheets, "new sheet") };
            (stock.clone(), sheets, of)
        }
        Need::Roll { stock, labels } => (stock.clone(), counted(*labels, "label"), Remedy::default()),
        Need::Tube { stock, size, sleeves, laid, .. } => {
            let (sleeves, used) = (counted(*sleeves, "sleeve"), metres_exact(laid.used));
            let made = Remedy::from(format!("{size}: {sleeves}, {used} in all, printed on ")).and(&tube_line(laid));
            (stock.clone(), over(need), made)
        }
        Need::Paper { stock, strips, sheets, full_percent } => {
            let made =
                format!("{}, which cover {full_percent:.0} % of the paper that is for them", counted(*strips, "strip"));
            (stock.clone(), counted(*sheets, "sheet"), made.into())
        }
        Need::ClearTube { size, cuts, used } => {
            let made = format!("{}, {} in all", counted(*cuts, "cut"), metres_exact(*used));
            (format!("clear {size} tube"), over(need), made.into())
        }
    }
}

/// Up to so many off-cuts are told one by one.
const OFF_CUTS_TOLD: usize = 4;

/// An off-cut that is shorter is no use (common practice).
const SHORTEST_OFF_CUT: Length = Length::nm(20_000_000);

/// `2 pieces of 1.00 m (310 mm and 25 mm left over; at the least 1: try --order least-waste)`
pub fn tube_line(laid: &TubeLaid) -> Remedy {
    let mut kinds: Vec<(Length, usize)> = Vec::new();
    for piece in &laid.pieces {
        match kinds.last_mut().filter(|(length, _)| length == piece) {
            Some((_, count)) => *count += 1,
            None => kinds.push((*piece, 1)),
        }
    }
    let kinds: Vec<String> = kinds
        .into_iter()
        .map(|(length, count)| format!("{} of {}", counted(count, "piece"), metres_exact(length)))
        .collect();
    let least = laid.least.filter(|least| *least < laid.pieces.len());
    let mut line = Remedy::from(format!("{} ({}", kinds.join(" and "), left_over(laid)));
    if let Some(least) = least {
        let order = Page::Words(" in the order of least waste");
        line = line.words(format!("; at the least {least}")).and_by(": try --order least-waste", order);
    }
    line = line.words(")");
    for off_cut in &laid.too_short {
        let off_cut = whole_mm(*off_cut);
        line = line.words(format!("; the off-cut of {off_cut} is too short for these sleeves and not used"));
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

/// A length of tube: `1.28 m`.
pub fn metres_exact(length: Length) -> String {
    format!("{:.2} m", length.as_mm() / 1000.0)
}

/// `sheet 4`, `sheets 1, 2, 4`
pub fn sheets_named(numbers: &[SheetNumber]) -> String {
    let list: Vec<String> = numbers.iter().map(ToString::to_string).collect();
    format!("{} {}", if list.len() == 1 { "sheet" } else { "sheets" }, list.join(", "))
}

/// So many begun sheets are told that a run could go on with: the cheapest.
const WAITING_TOLD: usize = 2;

impl Waiting {
    /// That it waits, how it is taken all the same, and what that costs.
    fn in_words(&self) -> Remedy {
        let (number, free) = (self.number, counted(self.free, "label"));
        Remedy::from(format!("sheet {number} ({free} free) waits for a run that fills more of it; "))
            .and_by(format!("with `--sheet {number}`"), Page::Words("where it is asked for"))
            .words(format!(" {}", self.costs()))
    }

    /// What becomes of it where the run goes on with it: `3 of its 21 labels are used and 18 lost: its last pass`.
    pub fn costs(&self) -> String {
        let Self { free, used, lost, new, .. } = *self;
        let used_up = match free - used {
            0 if free == 1 => "its one label is used".to_owned(),
            0 => format!("all of its {free} labels are used"),
            _ if lost > 0 => {
                format!("{used} of its {free} labels are used and {lost} lost: its last pass through the laser printer")
            }
            left => format!("{used} of its {free} labels are used, {left} stay for later"),
        };
        if new > 0 { format!("{used_up}; the rest goes on {}", counted(new, "new sheet")) } else { used_up }
    }
}

/// Which begun sheets a new one was begun in spite of, and how they are taken all the same.
pub fn waiting_words(waiting: &[(SheetNumber, usize)]) -> Option<String> {
    let (first, _) = waiting.first()?;
    let numbers: Vec<SheetNumber> = waiting.iter().map(|(number, _)| *number).collect();
    let wait = if waiting.len() == 1 { "waits" } else { "wait" };
    let free: usize = waiting.iter().map(|(_, free)| free).sum();
    Some(format!(
        "{} ({} free) {wait} for a run that fills more of them in one pass; `--sheet {first}` takes sheet {first} now",
        sheets_named(&numbers),
        counted(free, "label")
    ))
}
