//! Self-describing names of media sizes (PWG 5101.1-2023): `iso_a4_210x297mm`, `custom_tag_62x29mm`.

use std::fmt;

use crate::base::{Length, Size};

/// Classes whose sizes are in inches, and those whose sizes are in millimetres (PWG 5101.1, ABNF).
const INCH_CLASSES: [&str; 6] = ["custom", "na", "asme", "roc", "oe", "roll"];
const MM_CLASSES: [&str; 7] = ["custom", "iso", "jis", "jpn", "prc", "om", "roll"];
/// No name is longer: it is a `keyword` of IPP (RFC 8011, 5.1.4).
const LONGEST: usize = 255;
/// Larger than any medium; what printers say beyond it is not meant.
const LARGEST_MM: f64 = 1_000_000.0;

/// A name that keeps to the grammar, taken apart.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct MediaName {
    text: String,
    class: String,
    name: String,
    size: Size,
}

impl MediaName {
    /// Takes a name apart; `None` for what does not keep to the grammar.
    pub fn read(text: &str) -> Option<Self> {
        if text.len() > LONGEST {
            return None;
        }
        let (class, rest) = text.split_once('_')?;
        let (name, size) = rest.rsplit_once('_')?;
        let is_word = |sign: u8| sign.is_ascii_lowercase() || sign.is_ascii_digit() || b"-.".contains(&sign);
        if name.is_empty() || !name.bytes().all(|sign| is_word(sign) || sign == b'_') {
            return None;
        }
        let (numbers, classes, unit): (&str, &[&str], fn(f64) -> Length) = match size.strip_suffix("mm") {
            Some(numbers) => (numbers, &MM_CLASSES, Length::mm),
            None => (size.strip_suffix("in")?, &INCH_CLASSES, Length::inch),
        };
        if !classes.contains(&class) {
            return None;
        }
        let (width, height) = numbers.split_once('x')?;
        let size = Size { width: unit(number(width)?), height: unit(number(height)?) };
        Some(Self { text: text.to_owned(), class: class.to_owned(), name: name.to_owned(), size })
    }

    /// The name of a size that has none of its own: `custom_62x29mm_62x29mm`.
    pub fn custom(size: Size) -> Self {
        let shown = format!("{}x{}mm", as_number(size.width), as_number(size.height));
        Self { text: format!("custom_{shown}_{shown}"), class: "custom".to_owned(), name: shown, size }
    }

    /// Its size.
    pub const fn size(&self) -> Size {
        self.size
    }

    /// Whether it is the smallest or the largest size that a printer takes of any: `custom_min_…`, `roll_max_…`.
    pub fn bound(&self) -> Option<Bound> {
        if !["custom", "roll"].contains(&self.class.as_str()) {
            return None;
        }
        let begins = |word: &str| self.name == word || self.name.starts_with(&format!("{word}-"));
        if begins("min") { Some(Bound::Least) } else { begins("max").then_some(Bound::Most) }
    }

    /// The name as it is sent.
    pub fn as_str(&self) -> &str {
        &self.text
    }
}

/// Which end of a range of sizes a name tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// The smallest.
    Least,
    /// The largest.
    Most,
}

impl fmt::Display for MediaName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// A number without zeros before or behind it: `0`, `62`, `8.5`, `0.5`.
fn number(text: &str) -> Option<f64> {
    let (whole, fraction) = text.split_once('.').map_or((text, None), |(whole, fraction)| (whole, Some(fraction)));
    let is_digits = |digits: &str| !digits.is_empty() && digits.bytes().all(|digit| digit.is_ascii_digit());
    let is_plain = is_digits(whole) && (whole == "0" || !whole.starts_with('0'));
    let ends_well = fraction.is_none_or(|fraction| is_digits(fraction) && !fraction.ends_with('0'));
    (is_plain && ends_well).then_some(())?;
    text.parse().ok().filter(|number| *number <= LARGEST_MM)
}

/// Millimetres to hundredths, without zeros behind them.
fn as_number(length: Length) -> String {
    let text = format!("{:.2}", length.as_mm());
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// PWG 5101.1-2023: cases checked against its ABNF, with their standing.
    #[test]
    fn names_of_the_standard() {
        let cases = include_str!("../../tests/data/pwg_media_names.csv");
        let mut count = 0;
        for line in cases.lines().filter(|line| !line.starts_with('#')).skip(1) {
            let mut cells = line.split(',');
            let (name, valid) = (cells.next().expect("a name"), cells.next().expect("a verdict"));
            assert_eq!(MediaName::read(name).is_some(), valid == "yes", "{name}");
            count += 1;
        }
        assert_eq!(count, 14);
    }

    #[test]
    fn sizes_and_bounds() {
        let size = |name: &str| {
            let size = MediaName::read(name).expect("a name").size();
            (size.width.as_mm(), size.height.as_mm())
        };
        assert_eq!(size("iso_a4_210x297mm"), (210.0, 297.0));
        assert_eq!(size("na_letter_8.5x11in"), (215.9, 279.4));
        assert_eq!(size("roll_current_62x0mm"), (62.0, 0.0));
        let bound = |name: &str| MediaName::read(name).expect("a name").bound();
        assert_eq!(bound("custom_min_10x10mm"), Some(Bound::Least));
        assert_eq!(bound("roll_max_62x1000mm"), Some(Bound::Most));
        assert_eq!(bound("custom_minute_62x100mm"), None);
        assert_eq!(bound("iso_a4_210x297mm"), None);
    }

    proptest! {
        #[test]
        fn a_size_without_a_name_gets_one_that_reads_back(width in 1_i64..60_000, height in 1_i64..90_000) {
            let size = Size { width: Length::nm(width * 10_000), height: Length::nm(height * 10_000) };
            let name = MediaName::custom(size);
            let read = MediaName::read(name.as_str()).expect("it keeps to the grammar");
            prop_assert!((read.size().width - size.width).abs() <= Length::nm(10));
            prop_assert!((read.size().height - size.height).abs() <= Length::nm(10));
        }

        #[test]
        fn nothing_that_a_printer_says_stops_it(text in "[a-z0-9_.x]{0,40}(mm|in)?") {
            let _ = MediaName::read(&text);
        }
    }
}
