//! Reading a TOML settings file so that every problem points at the text it speaks of.
//!
//! In: a source. Out: values with their spans, and problems: bad syntax, unknown keys with the nearest known one, values of the
//! wrong kind, lengths out of range. Lengths are numbers in millimetres, or texts with their unit (`"0.125 in"`).

use std::ops::{Range, RangeInclusive};
use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::base::nearest::{did_you_mean, listed, nearest};
use crate::base::{Length, Origin, Problem, Source};

/// Longest length that a settings file may name: a kilometre, so that no sum of lengths can overflow.
const LONGEST: Length = Length::nm(1_000_000_000_000);

/// A length from its number in some unit.
type FromNumber = fn(f64) -> Length;

/// Units that may stand behind a number.
const UNITS: [(&str, FromNumber); 3] = [("mm", Length::mm), ("in", Length::inch), ("pt", Length::pt)];

/// A value and where it stands.
pub(super) type At<T> = Spanned<T>;

/// A file being read, with the problems met so far.
pub(super) struct TomlFile<'s> {
    source: &'s Arc<Source>,
    problems: Vec<Problem>,
    /// Known keys for which another word stands, each with its section: they are not missed as well.
    misspelt: Vec<(&'static str, &'static str)>,
}

/// A table of the file.
pub(super) struct Section<'t> {
    /// Its name as messages give it; empty for the top of the file.
    name: &'static str,
    table: &'t DeTable<'t>,
    span: Option<Range<usize>>,
}

/// The least that a length may be.
#[derive(Clone, Copy)]
pub(super) enum Least {
    /// Zero is allowed.
    Zero,
    /// It must be longer than nothing.
    AboveZero,
}

impl<'s> TomlFile<'s> {
    /// Parses the source; syntax errors become problems, and what could be understood is still returned.
    pub(super) fn parse(source: &'s Arc<Source>) -> (Self, Spanned<DeTable<'s>>) {
        let (table, errors) = DeTable::parse_recoverable(source.text());
        let mut file = Self { source, problems: Vec::new(), misspelt: Vec::new() };
        for error in errors {
            let origin = match error.span() {
                Some(span) => Origin::new(source, span),
                None => Origin::whole(source),
            };
            let message = format!("this is not TOML: {}", error.message().replace('\n', " "));
            file.problems.push(Problem::error("toml-syntax", message).at(origin));
        }
        (file, table)
    }

    /// All problems, in the order of the text.
    pub(super) fn into_problems(mut self) -> Vec<Problem> {
        self.problems.sort_by_key(|problem| problem.origin.as_ref().and_then(|at| Some((at.line()?, at.column()?))));
        self.problems
    }

    /// Whether a problem was met.
    pub(super) fn has_problems(&self) -> bool {
        !self.problems.is_empty()
    }

    /// Notes a problem at a place of the file.
    pub(super) fn note(&mut self, problem: Problem, span: Range<usize>) {
        self.problems.push(problem.at(Origin::new(self.source, span)));
    }

    /// Notes a problem of a whole section.
    pub(super) fn note_section(&mut self, problem: Problem, section: &Section<'_>) {
        let origin = match &section.span {
            Some(span) => Origin::new(self.source, span.clone()),
            None => Origin::whole(self.source),
        };
        self.problems.push(problem.at(origin));
    }

    /// The table `key` of a section, which must be there.
    pub(super) fn section<'t>(&mut self, parent: &Section<'t>, key: &'static str) -> Option<Section<'t>> {
        let Some(value) = parent.get(key) else {
            if !self.misspelt.contains(&(parent.name, key)) {
                let problem = Problem::error("missing-table", format!("the table `[{key}]` is missing"));
                self.note_section(problem, parent);
            }
            return None;
        };
        match value.get_ref() {
            DeValue::Table(table) => Some(Section { name: key, table, span: Some(value.span()) }),
            _ => self.wrong_kind(key, value, "a table"),
        }
    }

    /// Names every key that this section does not know.
    pub(super) fn check_keys(&mut self, section: &Section<'_>, known: &[&'static str]) {
        for key in section.table.keys() {
            let name: &str = key.get_ref();
            if known.contains(&name) {
                continue;
            }
            let place = if section.name.is_empty() { "here".to_owned() } else { format!("in `[{}]`", section.name) };
            let problem = Problem::error("unknown-key", format!("`{name}` has no meaning {place}"));
            let near = nearest(name, known.iter().copied()).filter(|near| !section.has(near));
            self.misspelt.extend(near.map(|near| (section.name, near)));
            let remedy = match near {
                Some(near) => did_you_mean(near),
                None => format!("known {place}: {}", listed(known)),
            };
            self.note(problem.remedy(remedy), key.span());
        }
    }

    /// A text that must be there.
    pub(super) fn text(&mut self, section: &Section<'_>, key: &'static str) -> Option<At<String>> {
        let value = self.required(section, key)?;
        match value.get_ref().as_str() {
            Some(text) => Some(Spanned::new(value.span(), text.to_owned())),
            None => self.wrong_kind(key, value, "a text in quotes"),
        }
    }

    /// One of the listed words, which must be there.
    pub(super) fn choice<T: Copy>(
        &mut self,
        section: &Section<'_>,
        key: &'static str,
        words: &[(&'static str, T)],
    ) -> Option<At<T>> {
        let value = self.required(section, key)?;
        self.word(key, value, words)
    }

    /// A list of the listed words, which must be there and name at least one.
    pub(super) fn choices<T: Copy>(
        &mut self,
        section: &Section<'_>,
        key: &'static str,
        words: &[(&'static str, T)],
    ) -> Option<Vec<T>> {
        let value = self.required(section, key)?;
        let Some(entries) = value.get_ref().as_array() else {
            return self.wrong_kind(key, value, "a list in square brackets");
        };
        let read: Vec<_> = entries.iter().map(|entry| self.word(key, entry, words)).collect();
        let chosen: Vec<T> = read.into_iter().flatten().map(Spanned::into_inner).collect();
        if entries.is_empty() {
            let known: Vec<_> = words.iter().map(|(word, _)| *word).collect();
            let problem = Problem::error("empty-list", format!("`{key}` names nothing"));
            self.note(problem.remedy(format!("name at least one of {}", listed(&known))), value.span());
        }
        (!chosen.is_empty()).then_some(chosen)
    }

    /// A length that must be there.
    pub(super) fn length(&mut self, section: &Section<'_>, key: &'static str, least: Least) -> Option<At<Length>> {
        self.required(section, key)?;
        self.length_if_any(section, key, least)
    }

    /// A length that may be left out.
    pub(super) fn length_if_any(
        &mut self,
        section: &Section<'_>,
        key: &'static str,
        least: Least,
    ) -> Option<At<Length>> {
        let value = section.get(key)?;
        let length = match value.get_ref() {
            DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix()).ok().map(|mm| mm as f64),
            DeValue::Float(number) => number.as_str().parse().ok(),
            DeValue::String(text) => return self.length_in_words(key, value.span(), text, least),
            _ => return self.wrong_kind(key, value, "a number of millimetres"),
        };
        self.bounded(key, value.span(), length.unwrap_or(f64::INFINITY), Length::mm, least)
    }

    /// A whole number between two bounds that must be there.
    pub(super) fn whole(
        &mut self,
        section: &Section<'_>,
        key: &'static str,
        bounds: RangeInclusive<i32>,
    ) -> Option<i32> {
        self.required(section, key)?;
        self.whole_if_any(section, key, bounds)
    }

    /// A whole number between two bounds that may be left out.
    pub(super) fn whole_if_any(
        &mut self,
        section: &Section<'_>,
        key: &'static str,
        bounds: RangeInclusive<i32>,
    ) -> Option<i32> {
        let value = section.get(key)?;
        let DeValue::Integer(number) = value.get_ref() else {
            return self.wrong_kind(key, value, "a whole number");
        };
        match i32::from_str_radix(number.as_str(), number.radix()) {
            Ok(whole) if bounds.contains(&whole) => Some(whole),
            _ => {
                let (least, most) = (bounds.start(), bounds.end());
                let message = format!("`{key}` is `{number}`: it must lie between {least} and {most}");
                self.note(Problem::error("number-out-of-range", message), value.span());
                None
            }
        }
    }

    fn required<'t>(&mut self, section: &Section<'t>, key: &'static str) -> Option<&'t Spanned<DeValue<'t>>> {
        let value = section.get(key);
        if value.is_none() && !self.misspelt.contains(&(section.name, key)) {
            self.note_section(Problem::error("missing-key", format!("`{key}` is missing")), section);
        }
        value
    }

    fn word<T: Copy>(&mut self, key: &str, value: &Spanned<DeValue<'_>>, words: &[(&'static str, T)]) -> Option<At<T>> {
        let known: Vec<_> = words.iter().map(|(word, _)| *word).collect();
        let Some(typed) = value.get_ref().as_str() else {
            return self.wrong_kind(key, value, &format!("one of {}", listed(&known)));
        };
        if let Some((_, meaning)) = words.iter().find(|(word, _)| *word == typed) {
            return Some(Spanned::new(value.span(), *meaning));
        }
        let problem = Problem::error("unknown-word", format!("`{key}` cannot be `{typed}`"));
        let remedy = match nearest(typed, known.iter().copied()) {
            Some(near) => did_you_mean(near),
            None => format!("write one of {}", listed(&known)),
        };
        self.note(problem.remedy(remedy), value.span());
        None
    }

    fn length_in_words(&mut self, key: &str, span: Range<usize>, text: &str, least: Least) -> Option<At<Length>> {
        let read = UNITS.iter().find_map(|(unit, of)| {
            let number = text.trim().strip_suffix(unit)?.trim();
            let number = match number.split_once('/') {
                Some((above, below)) => above.trim().parse::<f64>().ok()? / below.trim().parse::<f64>().ok()?,
                None => number.parse().ok()?,
            };
            Some((number, *of))
        });
        match read {
            Some((number, of)) => self.bounded(key, span, number, of, least),
            None => {
                let problem = Problem::error("not-a-length", format!("`{key}` is `{text}`, which is not a length"));
                let remedy = "write a number of millimetres (`3.2`) or a number with its unit (`\"1/8 in\"`)";
                self.note(problem.remedy(remedy), span);
                None
            }
        }
    }

    fn bounded(
        &mut self,
        key: &str,
        span: Range<usize>,
        number: f64,
        of: FromNumber,
        least: Least,
    ) -> Option<At<Length>> {
        // `as` casts saturate and NaN becomes zero, so the number itself is looked at first.
        let length = of(number);
        let fault = match least {
            _ if !number.is_finite() || length.abs() > LONGEST => Some("cannot be that long"),
            Least::Zero if length < Length::ZERO => Some("cannot be negative"),
            Least::AboveZero if length <= Length::ZERO => Some("must be more than nothing"),
            _ => None,
        };
        let Some(fault) = fault else { return Some(Spanned::new(span, length)) };
        let message = format!("`{key}` {fault}: `{number}`");
        self.note(Problem::error("length-out-of-range", message), span);
        None
    }

    fn wrong_kind<T>(&mut self, key: &str, value: &Spanned<DeValue<'_>>, wanted: &str) -> Option<T> {
        let kind = value.get_ref().type_str();
        let problem = Problem::error("wrong-kind-of-value", format!("`{key}` must be {wanted}, not of kind {kind}"));
        self.note(problem, value.span());
        None
    }
}

impl<'t> Section<'t> {
    /// The top of the file.
    pub(super) fn top(table: &'t Spanned<DeTable<'t>>) -> Self {
        Self { name: "", table: table.get_ref(), span: None }
    }

    fn get(&self, key: &str) -> Option<&'t Spanned<DeValue<'t>>> {
        self.table.get(key)
    }

    /// Where the value of a key stands; the section where there is no such key.
    pub(super) fn span_of(&self, key: &str) -> Range<usize> {
        self.get(key).map(Spanned::span).or_else(|| self.span.clone()).unwrap_or(0..0)
    }

    /// Whether the key is there.
    pub(super) fn has(&self, key: &str) -> bool {
        self.get(key).is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_come_in_millimetres_or_with_their_unit() {
        let text = "a = 3\nb = 3.25\nc = \"1/8 in\"\nd = \"0.25in\"\ne = \"72 pt\"\nf = 0x10\ng = 1_000.5";
        let source = Source::new("lengths.toml", text);
        let (mut file, table) = TomlFile::parse(&source);
        let top = Section::top(&table);
        let mut read = |key| file.length(&top, key, Least::AboveZero).expect(key).into_inner();
        assert_eq!(read("a"), Length::mm(3.0));
        assert_eq!(read("b"), Length::mm(3.25));
        assert_eq!(read("c"), Length::mm(3.175));
        assert_eq!(read("d"), Length::mm(6.35));
        assert_eq!(read("e"), Length::mm(25.4));
        assert_eq!(read("f"), Length::mm(16.0));
        assert_eq!(read("g"), Length::mm(1000.5));
    }

    #[test]
    fn what_is_no_length_is_said_at_its_place() {
        let text = "a = -1\nb = 0\nc = nan\nd = inf\ne = 1e300\nf = \"3 feet\"\ng = \"1/0 in\"\nh = true\ni = \"mm\"\nj = \"\"";
        let source = Source::new("lengths.toml", text);
        let (mut file, table) = TomlFile::parse(&source);
        let top = Section::top(&table);
        for key in ["a", "b", "c", "d", "e", "f", "g", "h", "i", "j", "k"] {
            assert!(file.length(&top, key, Least::AboveZero).is_none(), "{key}");
        }
        let problems = file.into_problems();
        assert_eq!(problems.len(), 11);
        let lines: Vec<_> = problems.iter().map(|problem| problem.origin.as_ref().and_then(Origin::line)).collect();
        assert_eq!(
            lines,
            [None, Some(1), Some(2), Some(3), Some(4), Some(5), Some(6), Some(7), Some(8), Some(9), Some(10)]
        );
    }
}
