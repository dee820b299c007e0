//! Sheets of labels: how far each is used, what a person tells of them, and on which ones a run goes.

use std::collections::BTreeSet;
use std::path::Path;

use jiff::Timestamp;
use serde_json::{Value, json};

use super::Ending;
use super::complaint::Complaint;
use super::output::Output;
use super::stock_args::{Numbers, StockMark, StockSheets};
use super::table::table;
use crate::base::counted;
use crate::codes::{SheetNumber, Telling};
use crate::pages::{Geometry, PrinterKind, SheetStanding, Stock};
use crate::run::PrintedFile;
use crate::run::needs::{sheets_named, waiting_words};
use crate::run::sheets::{self, MOST_LASER_PASSES, Rest, SheetLaid, SheetState, SpoiltTag, Told};

/// Lists the sheets that still take tags, or shows those that are named, label by label.
pub fn list(job: &Path, asked: &StockSheets, output: &mut Output) -> Result<Ending, Complaint> {
    let states = sheets::sheets(job)?;
    let wanted = Numbers::all(&asked.sheets);
    let is_shown = |state: &&SheetState| match wanted.is_empty() {
        true => asked.all || (state.takes_tags() && !state.sheet.runs.is_empty()),
        false => wanted.contains(&state.sheet.number.get()),
    };
    let shown: Vec<&SheetState> = states.iter().filter(is_shown).collect();
    if let Some(unknown) = wanted.iter().find(|wanted| !states.iter().any(|state| state.sheet.number.get() == **wanted))
    {
        return Err(Complaint::Typed {
            what: format!("there is no sheet {unknown}"),
            remedy: "`loomtag stock sheets --all` lists all that were ever begun".to_owned(),
        });
    }
    if asked.answer.json {
        output.json(&shown.iter().map(|state| as_json(state)).collect::<Vec<_>>())?;
        return Ok(Ending::Done);
    }
    let worn_out: Vec<SheetNumber> = states
        .iter()
        .filter(|state| state.is_worn_out() && !state.free.is_empty() && !asked.all && wanted.is_empty())
        .map(|state| state.sheet.number)
        .collect();
    let worn_out = (!worn_out.is_empty()).then(|| {
        format!("{} went through the laser printer twice, with labels left: worn out", sheets_named(&worn_out))
    });
    if shown.is_empty() {
        output.line("no sheet of labels is begun and takes tags yet")?;
        worn_out.iter().try_for_each(|line| output.line(line))?;
        return Ok(Ending::Done);
    }
    let rows: Vec<Vec<String>> = shown.iter().map(|state| row(state)).collect();
    for line in table(&["sheet", "stock", "free labels", "used", "passes", "runs"], &rows) {
        output.line(line)?;
    }
    if wanted.is_empty() {
        output.line("")?;
        worn_out.iter().try_for_each(|line| output.line(line))?;
        output.line(
            "runs go on with these where they suit them, from the end of each (a laser printer takes each twice at most); \
             `loomtag stock sheets 1` shows sheet 1 label by label",
        )?;
    } else {
        for state in shown {
            output.line("")?;
            for line in map(state) {
                output.line(line)?;
            }
        }
    }
    Ok(Ending::Done)
}

fn row(state: &SheetState) -> Vec<String> {
    let sheet = &state.sheet;
    let free = match (sheet.is_gone, state.free.is_empty()) {
        (true, _) => "gone".to_owned(),
        (false, true) => "none".to_owned(),
        (false, false) if state.is_worn_out() => format!("worn out, {} lost", state.free.len()),
        (false, false) => format!("{} ({})", state.free.len(), ranges(&state.free)),
    };
    let passes = match state.printer {
        Some(PrinterKind::Laser) => format!("{} of {MOST_LASER_PASSES}", sheet.runs.len()),
        _ => sheet.runs.len().to_string(),
    };
    let mut used = sheet.labels.len().to_string();
    if !sheet.spoilt.is_empty() {
        used.push_str(&format!(", {} spoilt", sheet.spoilt.len()));
    }
    let runs: Vec<String> = sheet.runs.iter().map(ToString::to_string).collect();
    vec![sheet.number.to_string(), sheet.stock.clone(), free, used, passes, runs.join(", ")]
}

/// The sheet as it lies before one: a sign for each label.
fn map(state: &SheetState) -> Vec<String> {
    let sheet = &state.sheet;
    let Some(Geometry::Sheet(labels)) = state.stock.as_ref().map(Stock::geometry) else {
        return vec![format!("sheet {}: there is no stock `{}` any more", sheet.number, sheet.stock)];
    };
    let places = 1..=u32::try_from(labels.places()).unwrap_or(u32::MAX);
    // Labels of one row of the sheet begin at one height; slices of a split label stand below one another.
    let mut rows: Vec<(crate::base::Length, Vec<(crate::base::Length, u32)>)> = Vec::new();
    for place in places {
        let Some(area) = labels.place(place as usize - 1) else { continue };
        match rows.iter_mut().find(|(top, _)| *top == area.top()) {
            Some((_, row)) => row.push((area.left(), place)),
            None => rows.push((area.top(), vec![(area.left(), place)])),
        }
    }
    rows.sort_by_key(|(top, _)| *top);
    let sign = |place: u32| {
        if sheet.spoilt.contains(&place) {
            'x'
        } else if sheet.labels.contains_key(&place) {
            '#'
        } else if place < sheet.begun_at || sheet.is_gone || state.is_worn_out() {
            '-'
        } else {
            '.'
        }
    };
    let mut lines = vec![format!("sheet {}, {}: . free, # printed, x spoilt, - gone", sheet.number, sheet.stock)];
    lines.extend(rows.into_iter().map(|(_, mut row)| {
        row.sort_unstable();
        let signs: Vec<String> = row.iter().map(|(_, place)| sign(*place).to_string()).collect();
        let first = row.first().map_or(0, |(_, place)| *place);
        format!("  {first:>4}  {}", signs.join(" "))
    }));
    lines
}

fn as_json(state: &SheetState) -> Value {
    let sheet = &state.sheet;
    let labels: Vec<Value> = sheet
        .labels
        .iter()
        .map(|(place, used)| json!({ "label": place, "tag": used.tag, "kind": used.kind, "run": used.run.get() }))
        .collect();
    json!({
        "sheet": sheet.number.get(),
        "stock": sheet.stock,
        "gone": sheet.is_gone,
        "begun_at": sheet.begun_at,
        "free": state.free,
        "passes": sheet.runs.len(),
        "worn_out": state.is_worn_out(),
        "spoilt": sheet.spoilt,
        "labels": labels,
    })
}

/// Labels that are spoilt.
pub fn spoil(job: &Path, asked: &StockMark, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let parted = asked.numbers.split_first().filter(|(_, places)| !places.is_empty());
    let Some((Numbers(sheet), places)) = parted.filter(|(Numbers(sheet), _)| sheet.len() == 1) else {
        return Err(Complaint::Typed {
            what: "a sheet and at least one label are wanted".to_owned(),
            remedy: "the number in the margin first, then the labels, counted from the top left: \
                     `loomtag stock spoilt 12 17 20-22`"
                .to_owned(),
        });
    };
    let (number, places) = (sheet_number(sheet[0])?, Numbers::all(places));
    let telling = asked.telling();
    sheets::tell(job, &Told::Spoilt(number, places.clone()), telling, now)?;
    if telling == Telling::TakenBack {
        output.line(format!("sheet {number}: {} not spoilt after all", labels(&places)))?;
        return Ok(Ending::Done);
    }
    let spoilt = sheets::spoilt(job)?;
    let told: Vec<&SpoiltTag> =
        spoilt.iter().filter(|tag| tag.sheet == number && places.contains(&tag.place)).collect();
    for tag in &told {
        output.line(spoilt_line(tag))?;
    }
    match told.iter().filter(|tag| tag.tag.is_some() && tag.again.is_none()).count() {
        0 => {}
        1 => output.line("`loomtag reprint --spoilt` prints it again")?,
        _ => output.line("`loomtag reprint --spoilt` prints them again")?,
    }
    Ok(Ending::Done)
}

fn spoilt_line(tag: &SpoiltTag) -> String {
    let was = match (&tag.tag, tag.again) {
        (None, _) if !tag.kind.is_empty() => format!("a {} label", tag.kind),
        (None, _) => "nothing was printed on it".to_owned(),
        (Some(name), None) => format!("{} {name}", tag.kind),
        (Some(name), Some(run)) => format!("{} {name}, printed again in run {run}", tag.kind),
    };
    format!("sheet {}, label {}: spoilt; {was}", tag.sheet, tag.place)
}

/// Sheets that are gone.
pub fn gone(job: &Path, asked: &StockMark, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let numbers = Numbers::all(&asked.numbers).into_iter().map(sheet_number).collect::<Result<Vec<_>, _>>()?;
    sheets::tell(job, &Told::Gone(numbers.clone()), asked.telling(), now)?;
    let states = sheets::sheets(job)?;
    for number in numbers {
        if asked.undo {
            output.line(format!("sheet {number} is there after all"))?;
            continue;
        }
        output.line(format!("sheet {number} is gone: no run goes on it any more"))?;
        let state = states.iter().find(|state| state.sheet.number == number);
        let tagged: BTreeSet<u32> = state
            .into_iter()
            .flat_map(|state| &state.sheet.labels)
            .filter(|(_, used)| !used.tag.is_empty())
            .map(|(place, _)| *place)
            .collect();
        if !tagged.is_empty() {
            let (they, them) = if tagged.len() == 1 { ("it", "it") } else { ("they", "them") };
            let tags = counted(tagged.len(), "tag");
            let listed = ranges(&tagged).replace(", ", ",");
            output.line(format!(
                "{tags} printed on it: if {they} went with the sheet, `loomtag stock spoilt {number} {listed}` and then \
                 `loomtag reprint --spoilt` print {them} again"
            ))?;
        }
    }
    Ok(Ending::Done)
}

/// Runs whose paper never went through the printer.
pub fn unprinted(job: &Path, asked: &StockMark, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let runs = Numbers::all(&asked.numbers);
    sheets::tell(job, &Told::Unprinted(runs.clone()), asked.telling(), now)?;
    for run in &runs {
        output.line(match asked.undo {
            true => format!("run {run} was printed after all: its labels are used"),
            false => format!(
                "run {run} never went through the printer: its labels are free; do not print its files any more"
            ),
        })?;
    }
    Ok(Ending::Done)
}

fn sheet_number(number: u32) -> Result<SheetNumber, Complaint> {
    SheetNumber::new(number).ok_or_else(|| Complaint::Typed {
        what: "there is no sheet 0".to_owned(),
        remedy: "the number stands in the margin of the sheet; `loomtag stock sheets` lists them".to_owned(),
    })
}

/// What of a run to lay into the printer, where it is more than a pile of new sheets that are used up.
pub fn laid_lines(file: &PrintedFile) -> Vec<String> {
    let is_plain = |laid: &SheetLaid| laid.standing == SheetStanding::Numbered && laid.left == 0;
    if file.sheets.iter().all(is_plain) {
        return Vec::new();
    }
    let mut lines = vec![format!("lay in {}, in this order:", file.stock)];
    for group in file.sheets.chunk_by(|one, other| is_plain(one) && is_plain(other)) {
        lines.push(format!("  {}", group_line(group)));
    }
    // What a laser printer takes no more is not gone on with.
    if file.sheets.iter().any(|laid| laid.left > 0 && laid.rest == Rest::Kept) {
        lines.push("  keep what is left over: the next run goes on there; `loomtag stock sheets` lists it".to_owned());
    }
    lines.extend(second_pass(file).map(|line| format!("  {line}")));
    lines.extend(waiting_words(&file.waiting).map(|line| format!("  {line}")));
    lines
}

fn group_line(group: &[SheetLaid]) -> String {
    let (first, last) = match group {
        [first, .., last] => (first, last),
        [only] => (only, only),
        [] => return String::new(),
    };
    if group.len() > 1 {
        return format!(
            "pages {} to {}: new sheets, numbered {} to {}",
            first.page, last.page, first.number, last.number
        );
    }
    let mut line = format!("page {}: ", first.page);
    line.push_str(&match first.standing {
        SheetStanding::Begun => format!("sheet {}, which is begun, the same way round as before", first.number),
        SheetStanding::Numbered => format!("a new sheet, numbered {}", first.number),
        SheetStanding::Unnumbered => {
            format!("a new sheet: write {} on its edge, there is no room to print the number", first.number)
        }
    });
    line.push_str(&format!(
        "; {} used, {} free",
        labels(&first.places.iter().copied().collect::<Vec<_>>()),
        first.left
    ));
    line
}

/// What to mind with sheets that go through a laser printer again.
fn second_pass(file: &PrintedFile) -> Option<String> {
    let last: Vec<&SheetLaid> = file.sheets.iter().filter(|laid| laid.rest == Rest::Lost).collect();
    let numbers: Vec<SheetNumber> = last.iter().map(|laid| laid.number).collect();
    let lost: usize = last.iter().map(|laid| laid.left).sum();
    let lost = match lost {
        0 => String::new(),
        lost => format!(" {} left free {} lost;", counted(lost, "label"), if lost == 1 { "is" } else { "are" }),
    };
    let go = if last.len() == 1 { "goes" } else { "go" };
    (!last.is_empty()).then(|| {
        format!(
            "{} {go} through the laser printer for the second and last time:{lost} press down what is loose, and see that no \
             liner is peeled open at the leading edge",
            sheets_named(&numbers)
        )
    })
}

/// `label 17`, `labels 48 to 65`, `labels 3, 5 to 9`.
fn labels(places: &[u32]) -> String {
    let set: BTreeSet<u32> = places.iter().copied().collect();
    format!("{} {}", if set.len() == 1 { "label" } else { "labels" }, ranges(&set))
}

/// `3, 5-9`
fn ranges(places: &BTreeSet<u32>) -> String {
    let places: Vec<u32> = places.iter().copied().collect();
    let runs = places.chunk_by(|one, next| one + 1 == *next);
    let run = |run: &[u32]| match run {
        [first, _, .., last] => format!("{first}-{last}"),
        few => few.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
    };
    runs.map(run).collect::<Vec<_>>().join(", ")
}

/// The sheets of a file for programs.
pub fn laid_json(file: &PrintedFile) -> Vec<Value> {
    let one = |laid: &SheetLaid| {
        json!({
            "page": laid.page,
            "sheet": laid.number.get(),
            "new": laid.standing != SheetStanding::Begun,
            "numbered": laid.standing != SheetStanding::Unnumbered,
            "labels": laid.places,
            "free": laid.left,
            "pass": laid.pass,
            "lost": laid.lost(),
        })
    };
    file.sheets.iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_in_words() {
        assert_eq!(labels(&[17]), "label 17");
        assert_eq!(labels(&[3, 4]), "labels 3, 4");
        assert_eq!(labels(&[9, 3, 7, 8]), "labels 3, 7-9");
    }
}
