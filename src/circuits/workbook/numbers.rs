//! Numbers of a workbook as people see them: without the noise of binary fractions, dates as dates.

/// How a cell shows its number, as far as it matters here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shown {
    /// As a number.
    Plain,
    /// With zeros in front, so many digits in all.
    Padded(usize),
    /// With at least so many decimals: `4.0`.
    Decimals(usize),
    /// With an exponent: `3E+05`.
    Exponent,
    /// As a date or time.
    Date,
}

impl Shown {
    /// The formats that need no definition, by their number (ECMA-376 part 1, 18.8.30).
    pub(super) const fn by_number(number: u32) -> Self {
        match number {
            2 | 4 | 39 | 40 => Self::Decimals(2),
            11 | 48 => Self::Exponent,
            14..=22 | 27..=36 | 45..=47 | 50..=58 => Self::Date,
            _ => Self::Plain,
        }
    }

    /// A format from its definition: `yyyy-mm-dd`, `0.00E+00`, `00`.
    pub(super) fn by_definition(definition: &str) -> Self {
        // Texts in quotes, escaped characters, colours and conditions say nothing of the number.
        let mut code = String::new();
        let mut characters = definition.split(';').next().unwrap_or_default().chars();
        while let Some(character) = characters.next() {
            match character {
                '"' => _ = characters.find(|inside| *inside == '"'),
                '\\' | '_' | '*' => _ = characters.next(),
                '[' => {
                    let inside: String = characters.by_ref().take_while(|inside| *inside != ']').collect();
                    // Hours, minutes or seconds that run on: `[h]:mm`.
                    let letters = inside.to_ascii_lowercase();
                    if !letters.is_empty() && letters.chars().all(|letter| matches!(letter, 'h' | 'm' | 's')) {
                        return Self::Date;
                    }
                }
                _ => code.push(character.to_ascii_lowercase()),
            }
        }
        let code = code.trim();
        if code == "general" {
            return Self::Plain;
        }
        if code.contains("e+") || code.contains("e-") {
            return Self::Exponent;
        }
        if code.contains(['y', 'm', 'd', 'h', 's']) {
            return Self::Date;
        }
        if let Some((whole, decimals)) = code.split_once('.') {
            let is_number = whole.chars().all(|place| matches!(place, '#' | '0' | '?' | ','));
            let fixed = decimals.bytes().take_while(|place| *place == b'0').count();
            let is_number = is_number && decimals[fixed..].trim().chars().all(|place| matches!(place, '#' | '?'));
            return if is_number && fixed > 0 { Self::Decimals(fixed) } else { Self::Plain };
        }
        if code.len() > 1 && code.bytes().all(|digit| digit == b'0') { Self::Padded(code.len()) } else { Self::Plain }
    }
}

/// A number with at most 15 digits, as spreadsheets show them: `14`, `0.75`, `0.3` for 0.30000000000000004.
pub(super) fn plain(number: f64) -> String {
    if !number.is_finite() || number == 0.0 {
        return if number == 0.0 { "0".to_owned() } else { number.to_string() };
    }
    if !(1e-9..1e15).contains(&number.abs()) {
        let exponential = format!("{number:.14E}");
        let Some((digits, exponent)) = exponential.split_once('E') else { return exponential };
        let digits = digits.trim_end_matches('0').trim_end_matches('.');
        let sign = if exponent.starts_with('-') { "" } else { "+" };
        return format!("{digits}E{sign}{exponent}");
    }
    let whole_digits = number.abs().log10().floor() as i32 + 1;
    let decimals = usize::try_from(15 - whole_digits).unwrap_or(0);
    let text = format!("{number:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// From when a workbook counts days.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum DaysFrom {
    /// From the last day of 1899, as most do.
    #[default]
    Year1900,
    /// From the first day of 1904.
    Year1904,
}

/// A number as a cell shows it.
pub(super) fn shown(number: f64, shown: Shown, days: DaysFrom) -> String {
    let text = plain(number);
    match shown {
        Shown::Padded(digits) if !text.contains(['.', 'E', '-']) => format!("{text:0>digits$}"),
        Shown::Decimals(least) if !text.contains('E') => with_decimals(text, least),
        Shown::Exponent => exponential(number),
        Shown::Date => date(number, days).unwrap_or(text),
        Shown::Plain | Shown::Padded(_) | Shown::Decimals(_) => text,
    }
}

/// Zeros added behind a number up to so many decimals; nothing is rounded away, as what is told must be what is known.
fn with_decimals(mut text: String, least: usize) -> String {
    const MOST: usize = 15;
    let decimals = text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    if decimals == 0 {
        text.push('.');
    }
    text.extend(std::iter::repeat_n('0', least.min(MOST).saturating_sub(decimals)));
    text
}

fn exponential(number: f64) -> String {
    let text = format!("{number:E}");
    match text.split_once('E') {
        Some((digits, exponent)) if !exponent.starts_with('-') => format!("{digits}E+{exponent}"),
        _ => text,
    }
}

/// Days and parts of days since the last day of 1899, or since 1904, as a date, a time or both.
fn date(number: f64, days: DaysFrom) -> Option<String> {
    const LAST: f64 = 2_958_466.0; // the end of the year 9999
    if !(0.0..LAST).contains(&number) {
        return None;
    }
    let minutes = ((number.fract() * 24.0 * 60.0).round() as u32).min(24 * 60 - 1);
    let time = format!("{:02}:{:02}", minutes / 60, minutes % 60);
    let mut day = number.floor() as i64;
    if day == 0 {
        return Some(time);
    }
    match days {
        DaysFrom::Year1904 => day += 1462,
        // The first two months count one day less: spreadsheets take 1900 for a leap year.
        DaysFrom::Year1900 if day < 60 => day += 1,
        DaysFrom::Year1900 => {}
    }
    // Day 25569 is 1970-01-01; from there the civil calendar by eras of 400 years, which begin in March.
    let day = day - 25_569 + 719_468;
    let (era, of_era) = (day.div_euclid(146_097), day.rem_euclid(146_097));
    let year = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year + year / 4 - year / 100);
    let month = (5 * of_year + 2) / 153;
    let of_month = of_year - (153 * month + 2) / 5 + 1;
    let month = if month < 10 { month + 3 } else { month - 9 };
    let year = year + era * 400 + i64::from(month <= 2);
    let date = format!("{year:04}-{month:02}-{of_month:02}");
    Some(if minutes == 0 { date } else { format!("{date} {time}") })
}

/// A date or time as files may write it, without what is zero in it: `2026-03-01` of `2026-03-01T00:00:00`.
pub(super) fn iso_date(written: &str) -> String {
    let written = written.trim();
    written.strip_suffix("T00:00:00").unwrap_or(written).replacen('T', " ", 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_people_see_them() {
        let cases = [
            (14.0, "14"),
            (0.75, "0.75"),
            (0.1 + 0.2, "0.3"),
            (-2.5, "-2.5"),
            (1e15, "1E+15"),
            (123_456_789_012_345.0, "123456789012345"),
            (1.0 / 3.0, "0.333333333333333"),
            (999.999_999_999_999_9, "1000"),
            (4.1e-12, "4.1E-12"),
            (0.0, "0"),
            (1200.0, "1200"),
        ];
        for (number, text) in cases {
            assert_eq!(plain(number), text);
        }
    }

    /// Numbers and meanings of the formats: ECMA-376 part 1, 18.8.30 and 18.8.31.
    #[test]
    fn formats() {
        let cases = [
            ("General", Shown::Plain),
            ("0.00", Shown::Decimals(2)),
            ("#,##0.0##", Shown::Decimals(1)),
            ("0.#", Shown::Plain),
            ("0.0%", Shown::Plain),
            ("00", Shown::Padded(2)),
            ("0", Shown::Plain),
            ("0.00E+00", Shown::Exponent),
            ("yyyy\\-mm\\-dd", Shown::Date),
            ("d-mmm", Shown::Date),
            ("[h]:mm", Shown::Date),
            ("[Red]0.0", Shown::Decimals(1)),
            ("0.0\" mm²\"", Shown::Decimals(1)),
            ("[$-407]d/ mmm/ yy;@", Shown::Date),
            ("@", Shown::Plain),
            ("#,##0.00 \"Ft\"", Shown::Decimals(2)),
        ];
        for (definition, format) in cases {
            assert_eq!(Shown::by_definition(definition), format, "{definition}");
        }
        assert_eq!((Shown::by_number(14), Shown::by_number(0)), (Shown::Date, Shown::Plain));
        assert_eq!(shown(7.0, Shown::Padded(3), DaysFrom::Year1900), "007");
        assert_eq!(shown(3e5, Shown::Exponent, DaysFrom::Year1900), "3E+5");
        assert_eq!(shown(4.0, Shown::Decimals(1), DaysFrom::Year1900), "4.0");
        assert_eq!(shown(0.75, Shown::Decimals(1), DaysFrom::Year1900), "0.75");
    }

    #[test]
    fn dates() {
        let from_1900 = |number| shown(number, Shown::Date, DaysFrom::Year1900);
        assert_eq!(from_1900(1.0), "1900-01-01");
        assert_eq!(from_1900(59.0), "1900-02-28");
        assert_eq!(from_1900(61.0), "1900-03-01");
        assert_eq!(from_1900(25_569.0), "1970-01-01");
        assert_eq!(from_1900(46_082.5), "2026-03-01 12:00");
        assert_eq!(from_1900(0.75), "18:00");
        assert_eq!(shown(44_620.0, Shown::Date, DaysFrom::Year1904), "2026-03-01");
        assert_eq!(from_1900(-1.0), "-1");
    }
}
