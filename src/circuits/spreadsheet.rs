//! A cell -> whether a spreadsheet has made something else of what was typed: `1-3` becomes `1-Mar`, `3E5` becomes `3.00E+05`,
//! `-X1` becomes `#NAME?`. What was typed cannot be told for sure afterwards, so it is never mended here.
//!
//! The forms are those that common spreadsheet programs show in English and German settings (common practice). Names that only
//! look alike, `MAR1`, `1E`, `A-03`, are no such forms: months count in the spreadsheet's own case only, and numbers of the
//! year where it pads them.

use super::problems::CHANGED_BY_SPREADSHEET;
use crate::base::{Problem, Severity};

/// What a cell has become.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Became {
    /// A date.
    Date,
    /// A time of day.
    Time,
    /// A number in scientific form.
    Number,
    /// An error value.
    Error,
    /// Nothing yet: it stands as typed, but a spreadsheet takes it for a number.
    MaybeNumber,
}

/// A cell that a spreadsheet has changed, or may.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Changed {
    pub(super) became: Became,
    /// What may have been typed, the likeliest first; empty where nothing can be told.
    pub(super) typed: Vec<String>,
}

impl Changed {
    /// What may have been typed, in words behind others; blank where nothing can be told.
    pub(super) fn may_have_been(&self) -> String {
        let shown: Vec<String> = self.typed.iter().map(|typed| format!("`{typed}`")).collect();
        match shown.as_slice() {
            [] => String::new(),
            [only] => format!(": it may have been {only}"),
            [first @ .., last] => format!(": it may have been {} or {last}", first.join(", ")),
        }
    }

    /// What is wrong with the cell, and what it may have been.
    pub(super) fn says(&self, cell: &str) -> Problem {
        let typed = self.may_have_been();
        let what = match self.became {
            Became::Date => format!("a spreadsheet has made the date `{cell}` of what was typed{typed}"),
            Became::Time => format!("a spreadsheet has made the time `{cell}` of what was typed{typed}"),
            Became::Number if self.typed.is_empty() => {
                format!("a spreadsheet has made `{cell}` of a longer number, whose last digits are lost")
            }
            Became::Number => format!("a spreadsheet has made the number `{cell}` of what was typed{typed}"),
            Became::Error => format!("`{cell}` is what a spreadsheet shows where it cannot calculate or has no room"),
            Became::MaybeNumber => format!("`{cell}` is read as it stands, but a spreadsheet takes it for a number"),
        };
        let problem = CHANGED_BY_SPREADSHEET.says(what);
        match self.became {
            Became::MaybeNumber => {
                let problem = problem.remedy("give the column the format text in your spreadsheet, so that it stays");
                Problem { severity: Severity::Warning, ..problem }
            }
            _ => problem.remedy("write what was meant; give the column the format text first, then it stays"),
        }
    }
}

/// Months as spreadsheets shorten them, English and German.
const MONTHS: [&[&str]; 12] = [
    &["Jan", "January", "Januar"],
    &["Feb", "February", "Februar"],
    &["Mar", "March", "Mrz", "Mär", "März"],
    &["Apr", "April"],
    &["May", "Mai"],
    &["Jun", "June", "Juni"],
    &["Jul", "July", "Juli"],
    &["Aug", "August"],
    &["Sep", "Sept", "September"],
    &["Oct", "Okt", "October", "Oktober"],
    &["Nov", "November"],
    &["Dec", "Dez", "December", "Dezember"],
];

const ERRORS: [&str; 12] = [
    "#NAME?", "#REF!", "#VALUE!", "#N/A", "#NUM!", "#DIV/0!", "#NULL!", "#WERT!", "#BEZUG!", "#NV", "#ZAHL!", "#SPILL!",
];

/// Looks at the cell of a designation.
pub(super) fn look(cell: &str) -> Option<Changed> {
    let first = cell.bytes().next()?;
    // Nearly all cells are dismissed here.
    if first == b'#' {
        return is_error(cell).then(|| Changed { became: Became::Error, typed: Vec::new() });
    }
    if !first.is_ascii_digit() && !first.is_ascii_uppercase() || cell.len() < 3 {
        return None;
    }
    number(cell).or_else(|| date(cell)).or_else(|| time(cell))
}

/// Looks at the cell of a measure, where `1.5` is typed and never `1-3`.
pub(super) fn look_at_measure(cell: &str) -> Option<Changed> {
    let mut changed = look(cell).filter(|changed| changed.became != Became::MaybeNumber)?;
    if changed.became == Became::Date {
        // `1/0` is a size.
        changed.typed.retain(|typed| typed.contains('.') || typed.ends_with("/0"));
    }
    if changed.became == Became::Number {
        changed.typed.clear();
    }
    Some(changed)
}

fn is_error(cell: &str) -> bool {
    // A column that is too narrow shows `####`.
    ERRORS.contains(&cell) || (cell.len() > 2 && cell.bytes().all(|byte| byte == b'#'))
}

/// `3.00E+05`, `3E+05`, and `3E5` as it is typed.
fn number(cell: &str) -> Option<Changed> {
    let (mantissa, exponent) = cell.split_once(['E', 'e'])?;
    let (whole, decimals) = mantissa.split_once(['.', ',']).unwrap_or((mantissa, ""));
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(whole) || !(decimals.is_empty() || digits(decimals)) {
        return None;
    }
    let is_plain = decimals.is_empty() && mantissa.len() == whole.len();
    let (sign, power) = match exponent.strip_prefix(['+', '-']) {
        Some(power) => (&exponent[..1], power),
        None => ("", exponent),
    };
    if !digits(power) || power.len() > 3 {
        return None;
    }
    if sign.is_empty() {
        // A spreadsheet always shows the sign.
        let typed = vec![cell.to_owned()];
        return is_plain.then_some(Changed { became: Became::MaybeNumber, typed });
    }
    if power.len() < 2 {
        return None;
    }
    let power: usize = power.parse().ok()?;
    let decimals = decimals.trim_end_matches('0');
    let minus = if sign == "-" { "-" } else { "" };
    let mut typed = Vec::new();
    // A long number is rounded, and what it was is lost.
    if decimals.len() <= 2 || power < 11 {
        if decimals.is_empty() {
            typed.push(format!("{whole}E{minus}{power}"));
        } else {
            typed.push(format!("{whole}.{decimals}E{minus}{power}"));
            let shifted = power.checked_sub(decimals.len()).filter(|_| minus.is_empty());
            typed.extend(shifted.map(|power| format!("{whole}{decimals}E{power}")));
        }
    }
    Some(Changed { became: Became::Number, typed })
}

/// `1-Mar`, `03. Mai`, `Mrz 01`, `01.03.2024`, `2024-03-01`, any of them with a time behind it.
fn date(cell: &str) -> Option<Changed> {
    let day = without_time(cell);
    let (one, rest) = token(day)?;
    let (gap, rest) = gap(rest);
    let (two, rest) = token(rest)?;
    let (second_gap, rest) = self::gap(rest);
    let three = if rest.is_empty() { None } else { Some(token(rest).filter(|(_, rest)| rest.is_empty())?.0) };
    if three.is_none() && !matches!(second_gap, "" | ".") {
        return None;
    }
    let is_gap = |gap: &str| matches!(gap, "-" | " " | "." | ". " | "/");
    if !is_gap(gap) {
        return None;
    }
    let has_time = day.len() < cell.len();
    let (first, second) = match (number_of(one), month(two), three) {
        // `1-Mar`, `03. Mai`, `1-Mar-24`.
        (Some(day), Some(month), None) if day <= 31 => (day, month),
        (Some(day), Some(month), Some(year)) if day <= 31 && is_gap(second_gap) && is_year(year, 2) => (day, month),
        (None, ..) => {
            // `Mrz 01`, `Jan 75`: a month of a year, or without one a day of it.
            let (month, number) = (month(one)?, number_of(two)?);
            let is_short = two.len() == 2 && month_is_short(one) && matches!(gap, "-" | " " | ". ") && three.is_none();
            let is_long = two.len() == 4 && is_year(two, 4) && three.is_none();
            if is_short {
                return Some(Changed { became: Became::Date, typed: of_month_and_year(month, number) });
            }
            return is_long.then(|| Changed { became: Became::Date, typed: of_month_and_year(month, number % 100) });
        }
        (Some(_), None, Some(_)) if gap == second_gap && matches!(gap, "-" | "." | "/") => {
            let (one, two, three) = (one, two, three?);
            let is_padded = one.len() == 2 && two.len() == 2;
            let (a, b) = match (gap, one.len(), three.len()) {
                // 2024-03-01
                ("-", 4, 2) if two.len() == 2 && is_year(one, 4) => (number_of(three)?, number_of(two)?),
                // 01.03.2024, 3/1/2024
                ("." | "/" | "-", 1 | 2, 4) if is_year(three, 4) => (number_of(one)?, number_of(two)?),
                // 01.03.24: typed by hand it may be a number in steps unless it is padded.
                ("." | "/", 2, 2) if is_padded => (number_of(one)?, number_of(two)?),
                _ => return None,
            };
            let is_date =
                (1..=31).contains(&a) && (1..=12).contains(&b) || (1..=31).contains(&b) && (1..=12).contains(&a);
            if !is_date {
                return None;
            }
            // Where a slash parts them the month may stand first.
            if b > 12 { (b, a) } else { (a, b) }
        }
        _ => return None,
    };
    if first == 0 || has_time && three.is_none() {
        return None;
    }
    let year = three.filter(|three| three.len() == 2 && month(two).is_some()).and_then(number_of);
    let mut typed = vec![format!("{first}-{second}"), format!("{first}/{second}")];
    if first <= 12 && first != second {
        typed.push(format!("{second}/{first}"));
    }
    typed.push(format!("{first}.{second}"));
    if let Some(year) = year {
        typed = vec![format!("{first}-{second}-{year}"), format!("{first}/{second}/{year}")];
    }
    Some(Changed { became: Became::Date, typed })
}

/// What becomes `Mar 01` or `Jan 75`.
fn of_month_and_year(month: u32, number: u32) -> Vec<String> {
    vec![format!("{month}-{number}"), format!("{month}/{number}"), format!("{month}.{number:02}")]
}

/// `01:14:00`: `1:14` was typed.
fn time(cell: &str) -> Option<Changed> {
    let mut parts = cell.split(':');
    let (hours, minutes, seconds) = (parts.next()?, parts.next()?, parts.next()?);
    let is_two = |part: &str| part.len() == 2 && number_of(part).is_some_and(|number| number < 60);
    let is_time = parts.next().is_none() && seconds == "00" && is_two(minutes) && matches!(hours.len(), 1 | 2);
    let hours = number_of(hours).filter(|hours| is_time && *hours < 24)?;
    let minutes = number_of(minutes)?;
    Some(Changed { became: Became::Time, typed: vec![format!("{hours}:{minutes:02}")] })
}

/// A date without the time of day behind it.
fn without_time(cell: &str) -> &str {
    let parted = cell.split_once([' ', 'T']).filter(|(date, _)| date.len() >= 8);
    match parted {
        Some((date, time)) if time.starts_with(|c: char| c.is_ascii_digit()) && time.contains(':') => date,
        _ => cell,
    }
}

/// A run of digits or of letters at the start, and what is behind it.
fn token(text: &str) -> Option<(&str, &str)> {
    let first = text.chars().next()?;
    let is_same = |c: char| if first.is_ascii_digit() { c.is_ascii_digit() } else { c.is_alphabetic() };
    if !is_same(first) {
        return None;
    }
    let end = text.find(|c: char| !is_same(c)).unwrap_or(text.len());
    (end <= 12).then(|| text.split_at(end))
}

/// What stands between two of them.
fn gap(text: &str) -> (&str, &str) {
    text.split_at(text.find(char::is_alphanumeric).unwrap_or(text.len()))
}

fn number_of(token: &str) -> Option<u32> {
    if token.bytes().all(|byte| byte.is_ascii_digit()) { token.parse().ok() } else { None }
}

fn is_year(token: &str, least_digits: usize) -> bool {
    let number = number_of(token);
    match token.len() {
        2 => least_digits <= 2 && number.is_some(),
        4 => number.is_some_and(|year| (1900..2100).contains(&year)),
        _ => false,
    }
}

fn month(token: &str) -> Option<u32> {
    MONTHS.iter().position(|names| names.contains(&token)).map(|at| at as u32 + 1)
}

fn month_is_short(token: &str) -> bool {
    token.chars().count() <= 4
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn shown(cell: &str) -> Option<String> {
        look(cell).map(|changed| format!("{:?} {}", changed.became, changed.typed.join(" ")))
    }

    #[test]
    fn dates_that_were_designations() {
        for (cell, typed) in [
            ("1-Mar", "1-3 1/3 3/1 1.3"),
            ("01-Mar", "1-3 1/3 3/1 1.3"),
            ("14-Jan", "14-1 14/1 14.1"),
            ("03. Mai", "3-5 3/5 5/3 3.5"),
            ("3. Mai", "3-5 3/5 5/3 3.5"),
            ("1. Mrz.", "1-3 1/3 3/1 1.3"),
            ("01. Mär", "1-3 1/3 3/1 1.3"),
            ("1-Mar-24", "1-3-24 1/3/24"),
            ("Mrz 01", "3-1 3/1 3.01"),
            ("Mar-01", "3-1 3/1 3.01"),
            ("Jan 75", "1-75 1/75 1.75"),
            ("01.03.2024", "1-3 1/3 3/1 1.3"),
            ("1.3.2024", "1-3 1/3 3/1 1.3"),
            ("01.03.24", "1-3 1/3 3/1 1.3"),
            ("2024-03-01", "1-3 1/3 3/1 1.3"),
            ("3/14/2024", "14-3 14/3 14.3"),
            ("2024-03-01 00:00:00", "1-3 1/3 3/1 1.3"),
            ("2024-03-01T00:00:00", "1-3 1/3 3/1 1.3"),
            ("01.03.2024 00:00", "1-3 1/3 3/1 1.3"),
            ("März 2024", "3-24 3/24 3.24"),
        ] {
            assert_eq!(shown(cell), Some(format!("Date {typed}")), "{cell}");
        }
        assert_eq!(shown("01:14:00").as_deref(), Some("Time 1:14"));
    }

    #[test]
    fn numbers_that_were_designations() {
        for (cell, shown_as) in [
            ("3.00E+05", "Number 3E5"),
            ("1,00E+05", "Number 1E5"),
            ("3E+05", "Number 3E5"),
            ("1.20E+05", "Number 1.2E5 12E4"),
            ("1.23457E+11", "Number "),
            ("1,00E-03", "Number 1E-3"),
            ("3E5", "MaybeNumber 3E5"),
            ("12e4", "MaybeNumber 12e4"),
            ("#NAME?", "Error "),
            ("#WERT!", "Error "),
            ("####", "Error "),
        ] {
            assert_eq!(shown(cell).as_deref(), Some(shown_as), "{cell}");
        }
    }

    /// Names of cavities, connectors and circuits that only look like dates and numbers.
    #[test]
    fn names_are_left_alone() {
        for cell in [
            "MAR1",
            "Mar1",
            "MAR-1",
            "MAR-01",
            "DEC 12",
            "Mar-1",
            "May 5",
            "A1",
            "1E",
            "E1",
            "1E5A",
            "E1E5",
            "1-3",
            "1/3",
            "1.3",
            "J1-3",
            "J1/14",
            "01",
            "1",
            "A-03",
            "X3P",
            "1-MAR",
            "12-AUX",
            "5-Mark",
            "1.3.24",
            "1-3-24",
            "3-14-2",
            "10.12.B",
            "2024",
            "2024-03",
            "1:14",
            "01:14",
            "30-Amp",
            "K-12",
            "#5",
            "#",
            "##",
            "C#",
            "1.5E",
            "3EA",
            "2E+",
            "E+05",
            "3.E5",
            "Mai",
            "März",
            "1 Mär Licht",
            "32-Jan",
            "0-Jan",
            "99.99.2024",
            "1.13.9999",
            "SEP-1",
            "Sept",
            "DEZ 24",
            "",
            "e",
            "-",
            "Juni-Stecker",
            "9-1-1",
            "3E+5",
        ] {
            assert_eq!(shown(cell), None, "{cell}");
        }
    }

    #[test]
    fn measures() {
        for (cell, typed) in
            [("01. Mai", "1.5"), ("1. Mai", "1.5"), ("Jan 75", "1.75"), ("02.05.2024", "2.5"), ("1-May", "1.5")]
        {
            assert_eq!(look_at_measure(cell).map(|changed| changed.typed), Some(vec![typed.to_owned()]), "{cell}");
        }
        assert_eq!(
            look_at_measure("Apr-00").map(|changed| changed.typed),
            Some(vec!["4/0".to_owned(), "4.00".to_owned()])
        );
        for cell in ["0.75", "1,5", "1.5 mm²", "18 AWG", "3E5", "47 in"] {
            assert_eq!(look_at_measure(cell), None, "{cell}");
        }
    }

    proptest! {
        #[test]
        fn any_cell_is_answered(cell in ".{0,20}", like in "[0-9]{0,4}[-./ :E+]{0,2}(Mar|Mai|Mrz|[0-9]{0,2})[-./ ]{0,2}[0-9]{0,4}( 00:00)?") {
            let _ = (look(&cell), look(&like), look_at_measure(&cell), look_at_measure(&like));
        }
    }
}
