//! Settings out of a TOML file, each with the place that states it; what cannot be used becomes a problem at that place.
//!
//! In: a source, which may be job.toml, a stock file or a template. Out: [`Stated`] values and problems, with the nearest
//! known word where one is misspelt. Lengths are numbers of millimetres, or texts with their unit (`"1/8 in"`).

use std::ops::{Range, RangeInclusive};
use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::nearest::{did_you_mean, did_you_mean_or_choose, listed, nearest};
use super::problem::problem_kinds;
use super::{Checked, Length, Origin, Problem, Source, Stated};

problem_kinds! {
    TOML_SYNTAX Error "toml-syntax" "a settings file is not TOML";
    UNKNOWN_SETTING Error "unknown-setting" "a table has a key that means nothing there";
    MISSING_SETTING Error "missing-setting" "a table lacks a key or a table that it must have";
    EMPTY_SETTING Error "empty-setting" "a text or a list has nothing in it";
    WRONG_KIND_OF_SETTING Error "wrong-kind-of-setting" "a value is a text where a number belongs, or the like";
    UNKNOWN_WORD Error "unknown-word" "a value is not one of the words its key takes";
    NUMBER_OUT_OF_RANGE Error "number-out-of-range" "a number is smaller or larger than its key allows";
    NOT_A_LENGTH Error "not-a-length" "a text is not a number with a unit of length";
    LENGTH_OUT_OF_RANGE Error "length-out-of-range" "a length is shorter or longer than its key allows";
}

/// Parses a file and has it understood. The value is withheld where the file is not TOML: what syntax errors hide would only
/// be missed. The problems come in the order of the text.
pub fn read<T>(source: &Arc<Source>, understand: impl FnOnce(&mut Reader, &Table<'_>) -> T) -> Checked<Option<T>> {
    let (entries, errors) = DeTable::parse_recoverable(source.text());
    if !errors.is_empty() {
        let problems = errors.iter().map(|error| {
            let origin = error.span().map_or_else(|| Origin::whole(source), |span| Origin::new(source, span));
            let what = error.message().to_lowercase().replace('\n', ", ");
            let remedy = "write one setting a line, `name = value`, text in double quotes, tables as `[name]`";
            TOML_SYNTAX.says(format!("this is not TOML: {what}")).at(origin).remedy(remedy)
        });
        return Checked { value: None, problems: problems.collect() };
    }
    let mut reader = Reader { source: Arc::clone(source), problems: Vec::new() };
    let top = Table {
        heading: source.name().to_owned(),
        place: Place::Top,
        entries: entries.get_ref(),
        origin: Origin::whole(source),
    };
    let value = understand(&mut reader, &top);
    let mut problems = reader.problems;
    problems.sort_by_key(|problem| problem.origin.as_ref().map(|origin| (origin.line(), origin.column())));
    Checked { value: Some(value), problems }
}

/// A table of the file.
pub struct Table<'t> {
    /// As the file writes it: `[printer]`; the file's name at its top.
    heading: String,
    place: Place,
    entries: &'t DeTable<'t>,
    origin: Origin,
}

/// Where a table stands, which decides how the headings of the tables in it are written.
#[derive(Clone, Copy, PartialEq)]
enum Place {
    Top,
    Below,
}

impl<'t> Table<'t> {
    /// Whether the key is there.
    pub fn has(&self, key: &str) -> bool {
        self.get(key).is_some()
    }

    fn get(&self, key: &str) -> Option<&'t Spanned<DeValue<'t>>> {
        self.entries.get(key)
    }

    fn below(&self, heading: String, entries: &'t DeTable<'t>, origin: Origin) -> Self {
        Self { heading, place: Place::Below, entries, origin }
    }
}

/// The least that a length may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Least {
    /// Zero is allowed.
    Zero,
    /// It must be longer than nothing.
    AboveZero,
    /// It must be at least this.
    Of(Length),
}

/// Reads the tables of one file and gathers what is wrong in them.
///
/// Every reading of a key gives `None` both where the key is not there and where its value cannot be used; the second is told
/// at once, the first by [`Reader::expect_keys`].
pub struct Reader {
    source: Arc<Source>,
    problems: Vec<Problem>,
}

impl Reader {
    /// Adds a problem that the reader cannot see by itself.
    pub fn tell(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Where the value of a key stands; the table where there is no such key.
    pub fn origin_of(&self, table: &Table<'_>, key: &str) -> Origin {
        table.get(key).map_or_else(|| table.origin.clone(), |value| self.origin(value.span()))
    }

    /// Tells of every key that a table must have and has not, and of every key that is in neither list. A required key that
    /// stands there misspelt is not missed as well.
    pub fn expect_keys(&mut self, table: &Table<'_>, required: &[&str], optional: &[&str]) {
        let known = [required, optional].concat();
        let heading = &table.heading;
        let mut misspelt = Vec::new();
        for key in table.entries.keys().filter(|key| !known.contains(&key.get_ref().as_ref())) {
            let typed: &str = key.get_ref();
            let near = nearest(typed, known.iter().copied()).filter(|near| !table.has(near));
            misspelt.extend(near);
            let remedy = near.map_or_else(|| format!("choose from {}", listed(&known)), did_you_mean);
            let problem = UNKNOWN_SETTING.says(format!("{heading} has no setting `{typed}`"));
            self.tell(problem.at(self.origin(key.span())).remedy(remedy));
        }
        for key in required.iter().filter(|key| !table.has(key) && !misspelt.contains(key)) {
            let problem = MISSING_SETTING.says(format!("`{key}` is missing in {heading}"));
            self.tell(problem.at(table.origin.clone()).remedy(format!("add `{key}` to {heading}")));
        }
    }

    /// A text, without blanks at its ends.
    pub fn text(&mut self, table: &Table<'_>, key: &str) -> Option<Stated<String>> {
        let value = table.get(key)?;
        match value.get_ref() {
            DeValue::String(text) if !text.trim().is_empty() => {
                Some(Stated::written(text.trim().to_owned(), self.origin(value.span())))
            }
            DeValue::String(_) => {
                let problem = EMPTY_SETTING.says(format!("`{key}` is empty"));
                let remedy = format!("write a value between the quotes, or leave `{key}` out");
                self.tell(problem.at(self.origin(value.span())).remedy(remedy));
                None
            }
            _ => self.wrong_kind(key, value, "text in quotes"),
        }
    }

    /// A list of texts, each with its own place.
    pub fn texts(&mut self, table: &Table<'_>, key: &str) -> Option<Vec<Stated<String>>> {
        const EXPECTED: &str = "a list of texts: [\"one\", \"another\"]";
        let value = table.get(key)?;
        let DeValue::Array(items) = value.get_ref() else {
            return self.wrong_kind(key, value, EXPECTED);
        };
        let text = |item: &Spanned<DeValue<'_>>| match item.get_ref() {
            DeValue::String(text) => Some(Stated::written(text.trim().to_owned(), self.origin(item.span()))),
            _ => self.wrong_kind(key, item, EXPECTED),
        };
        Some(items.iter().filter_map(text).collect())
    }

    /// A text, or a list of texts, none of them blank.
    pub fn one_or_more(&mut self, table: &Table<'_>, key: &str) -> Option<Vec<Stated<String>>> {
        if !matches!(table.get(key)?.get_ref(), DeValue::Array(_)) {
            return self.text(table, key).map(|text| vec![text]);
        }
        let texts = self.texts(table, key)?;
        let blank = texts.iter().find(|text| text.value.is_empty()).map(|text| text.origin.clone());
        if texts.is_empty() || blank.is_some() {
            let origin = blank.flatten().unwrap_or_else(|| self.origin_of(table, key));
            let problem = EMPTY_SETTING.says(format!("`{key}` names nothing"));
            self.tell(problem.at(origin).remedy(format!("write a value between the quotes, or leave `{key}` out")));
            return None;
        }
        Some(texts)
    }

    /// A text that must be one of the words.
    pub fn word<T: Copy>(&mut self, table: &Table<'_>, key: &str, words: &[(&'static str, T)]) -> Option<Stated<T>> {
        let text = self.text(table, key)?;
        self.meaning(key, text, words)
    }

    /// A list of texts that must be among the words; an empty list is a problem.
    pub fn words<T: Copy>(&mut self, table: &Table<'_>, key: &str, words: &[(&'static str, T)]) -> Option<Vec<T>> {
        let texts = self.texts(table, key)?;
        if texts.is_empty() {
            let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            let problem = EMPTY_SETTING.says(format!("`{key}` names nothing"));
            let remedy = format!("name at least one of {}", listed(&known));
            self.tell(problem.at(self.origin_of(table, key)).remedy(remedy));
        }
        let chosen: Vec<T> = texts.into_iter().filter_map(|text| Some(self.meaning(key, text, words)?.value)).collect();
        (!chosen.is_empty()).then_some(chosen)
    }

    /// `true` or `false`.
    pub fn yes(&mut self, table: &Table<'_>, key: &str) -> Option<Stated<bool>> {
        let value = table.get(key)?;
        match value.get_ref() {
            DeValue::Boolean(yes) => Some(Stated::written(*yes, self.origin(value.span()))),
            _ => self.wrong_kind(key, value, "`true` or `false`, without quotes"),
        }
    }

    /// A number, whole or not, inside `range`; `unit` is named in the message.
    pub fn number(
        &mut self,
        table: &Table<'_>,
        key: &str,
        range: RangeInclusive<f64>,
        unit: &str,
    ) -> Option<Stated<f64>> {
        let value = table.get(key)?;
        let Some((number, typed)) = plain_number(value.get_ref()) else {
            return self.wrong_kind(key, value, &format!("a number of {unit}, without quotes"));
        };
        let origin = self.origin(value.span());
        if range.contains(&number) {
            return Some(Stated::written(number, origin));
        }
        let remedy = format!("write a number from {} to {}", range.start(), range.end());
        self.tell(NUMBER_OUT_OF_RANGE.says(format!("`{key}` cannot be {typed} {unit}")).at(origin).remedy(remedy));
        None
    }

    /// A whole number inside `range`.
    pub fn whole(&mut self, table: &Table<'_>, key: &str, range: RangeInclusive<i32>) -> Option<Stated<i32>> {
        let value = table.get(key)?;
        let DeValue::Integer(number) = value.get_ref() else {
            return self.wrong_kind(key, value, "a whole number, without quotes");
        };
        let origin = self.origin(value.span());
        match i32::from_str_radix(number.as_str(), number.radix()) {
            Ok(whole) if range.contains(&whole) => Some(Stated::written(whole, origin)),
            _ => {
                let remedy = format!("write a whole number from {} to {}", range.start(), range.end());
                self.tell(NUMBER_OUT_OF_RANGE.says(format!("`{key}` cannot be {number}")).at(origin).remedy(remedy));
                None
            }
        }
    }

    /// A length: a number of millimetres, or a text with its unit. `most` bounds it, so that no sum of lengths overflows.
    pub fn length(&mut self, table: &Table<'_>, key: &str, least: Least, most: Length) -> Option<Stated<Length>> {
        let value = table.get(key)?;
        let origin = self.origin(value.span());
        let (read, typed) = match value.get_ref() {
            DeValue::String(text) => match length_with_unit(text) {
                Some(length) => (length, text.trim().to_owned()),
                None => {
                    let problem = NOT_A_LENGTH.says(format!("`{key}` is `{text}`, which is not a length"));
                    let remedy = "write a number of mm (`3.2`), or a number with its unit in quotes (`\"1/8 in\"`)";
                    self.tell(problem.at(origin).remedy(remedy));
                    return None;
                }
            },
            other => match plain_number(other) {
                Some((number, typed)) => ((number, Length::mm as FromNumber), format!("{typed} mm")),
                None => return self.wrong_kind(key, value, "a number of mm, or a text with its unit: \"1/8 in\""),
            },
        };
        let (number, of) = read;
        // The making of a length saturates and takes what is no number for zero, so the number is looked at first.
        let length = of(number);
        let is_long_enough = match least {
            Least::Zero => length >= Length::ZERO,
            Least::AboveZero => length > Length::ZERO,
            Least::Of(least) => length >= least,
        };
        if number.is_finite() && is_long_enough && length <= most {
            return Some(Stated::written(length, origin));
        }
        let remedy = match least {
            Least::Zero => format!("write a length from 0 mm to {most}"),
            Least::AboveZero => format!("write a length of more than 0 mm, at most {most}"),
            Least::Of(least) => format!("write a length from {least} to {most}"),
        };
        self.tell(LENGTH_OUT_OF_RANGE.says(format!("`{key}` cannot be {typed}")).at(origin).remedy(remedy));
        None
    }

    /// A table in this one.
    pub fn table<'t>(&mut self, table: &Table<'t>, key: &str) -> Option<Table<'t>> {
        let value = table.get(key)?;
        let heading = match table.place {
            Place::Top => format!("[{key}]"),
            Place::Below => key.to_owned(),
        };
        match value.get_ref() {
            DeValue::Table(entries) => Some(table.below(heading, entries, self.origin(value.span()))),
            _ => self.wrong_kind(key, value, &format!("a table: {heading}")),
        }
    }

    /// The tables of `[[key]]`, in the order of the file.
    pub fn tables<'t>(&mut self, table: &Table<'t>, key: &str) -> Option<Vec<Table<'t>>> {
        let value = table.get(key)?;
        let heading = format!("[[{key}]]");
        let expected = format!("written as {heading} with its settings below");
        let DeValue::Array(items) = value.get_ref() else {
            return self.wrong_kind(key, value, &expected);
        };
        let below = |item: &'t Spanned<DeValue<'t>>| match item.get_ref() {
            DeValue::Table(entries) => Some(table.below(heading.clone(), entries, self.origin(item.span()))),
            _ => self.wrong_kind(key, item, &expected),
        };
        Some(items.iter().filter_map(below).collect())
    }

    /// The table `[key]`, or those of `[[key]]`, of which there is at least one.
    pub fn one_or_more_tables<'t>(&mut self, table: &Table<'t>, key: &str) -> Option<Vec<Table<'t>>> {
        let value = table.get(key)?;
        match value.get_ref() {
            DeValue::Array(items) if items.is_empty() => {
                self.wrong_kind(key, value, &format!("a table: [{key}], or several: [[{key}]]"))
            }
            DeValue::Array(_) => self.tables(table, key),
            _ => self.table(table, key).map(|table| vec![table]),
        }
    }

    fn origin(&self, span: Range<usize>) -> Origin {
        Origin::new(&self.source, span)
    }

    /// A word that `read` understands as lists have it; its error names the nearest known word. Without one, `known` are told.
    pub fn word_by<T>(
        &mut self,
        table: &Table<'_>,
        key: &str,
        read: impl Fn(&str) -> Result<T, Option<&'static str>>,
        known: &[&str],
    ) -> Option<Stated<T>> {
        let text = self.text(table, key)?;
        match read(&text.value) {
            Ok(meaning) => Some(text.map(|_| meaning)),
            Err(near) => {
                let remedy = near.map_or_else(|| format!("choose from {}", listed(known)), did_you_mean);
                let problem = UNKNOWN_WORD.says(format!("`{key}` cannot be `{}`", text.value)).remedy(remedy);
                self.tell(text.point(problem));
                None
            }
        }
    }

    /// A table whose keys are the user's own words, each with what it stands for: `take` understands both, or says what to
    /// write instead.
    pub fn own_words(
        &mut self,
        table: &Table<'_>,
        key: &str,
        mut take: impl FnMut(&Stated<String>, &str) -> Result<(), String>,
    ) {
        let Some(words) = self.table(table, key) else { return };
        for own in words.entries.keys() {
            let word = Stated::written(own.get_ref().trim().to_owned(), self.origin(own.span()));
            let Some(meaning) = self.text(&words, own.get_ref()) else { continue };
            if let Err(remedy) = take(&word, &meaning.value) {
                let problem = UNKNOWN_WORD.says(format!("`{}` cannot be `{}`", word.value, meaning.value));
                self.tell(meaning.point(problem.remedy(remedy)));
            }
        }
    }

    /// What a text that was read means, if it is one of the words.
    pub fn meaning<T: Copy>(
        &mut self,
        key: &str,
        text: Stated<String>,
        words: &[(&'static str, T)],
    ) -> Option<Stated<T>> {
        if let Some((_, meaning)) = words.iter().find(|(word, _)| *word == text.value) {
            return Some(text.map(|_| *meaning));
        }
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let problem = UNKNOWN_WORD.says(format!("`{key}` cannot be `{}`", text.value));
        self.tell(text.point(problem.remedy(did_you_mean_or_choose(&text.value, &known))));
        None
    }

    fn wrong_kind<T>(&mut self, key: &str, value: &Spanned<DeValue<'_>>, expected: &str) -> Option<T> {
        let found = match value.get_ref() {
            DeValue::String(_) => "text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let problem = WRONG_KIND_OF_SETTING.says(format!("`{key}` is {found}"));
        self.tell(problem.at(self.origin(value.span())).remedy(format!("`{key}` is {expected}")));
        None
    }
}

/// A number and how it is typed.
fn plain_number(value: &DeValue<'_>) -> Option<(f64, String)> {
    match value {
        // What no i64 holds is out of every range.
        DeValue::Integer(whole) => {
            let number = i64::from_str_radix(whole.as_str(), whole.radix()).map_or(f64::INFINITY, |whole| whole as f64);
            Some((number, whole.to_string()))
        }
        DeValue::Float(float) => Some((float.as_str().parse().unwrap_or(f64::INFINITY), float.to_string())),
        _ => None,
    }
}

type FromNumber = fn(f64) -> Length;

/// Units that may stand behind a number.
const UNITS: [(&str, FromNumber); 3] = [("mm", Length::mm), ("in", Length::inch), ("pt", Length::pt)];

/// Reads `0.125 in`, `1/8 in`, `3.2mm`.
fn length_with_unit(text: &str) -> Option<(f64, FromNumber)> {
    UNITS.iter().find_map(|(unit, of)| {
        let number = text.trim().strip_suffix(unit)?.trim();
        let number = match number.split_once('/') {
            Some((above, below)) => above.trim().parse::<f64>().ok()? / below.trim().parse::<f64>().ok()?,
            None => number.parse().ok()?,
        };
        Some((number, *of))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Reads with `understand` and returns its value and the problems, as `line:column id message | remedy`.
    fn told<T>(text: &str, understand: impl FnOnce(&mut Reader, &Table<'_>) -> T) -> (T, Vec<String>) {
        let checked = read(&Source::new("own.toml", text), understand);
        let shown = checked.problems.iter().map(|problem| {
            let origin = problem.origin.as_ref().expect("points into the file").to_string();
            let remedy = problem.remedy.as_deref().expect("says what to do");
            format!("{origin} {} {} | {remedy}", problem.id, problem.message)
        });
        (checked.value.expect("is TOML"), shown.collect())
    }

    #[test]
    fn keys_are_unknown_misspelt_or_missing() {
        let text = "titel = 1\nzzz = 2\n[page]\nwidth = 1\nwitdh = 2\n";
        let (_, shown) = told(text, |reader, top| {
            reader.expect_keys(top, &["title", "page", "name"], &[]);
            let page = reader.table(top, "page").expect("is there");
            reader.expect_keys(&page, &["width", "height"], &[]);
        });
        assert_eq!(
            shown,
            [
                "own.toml missing-setting `name` is missing in own.toml | add `name` to own.toml",
                "own.toml:1:1 unknown-setting own.toml has no setting `titel` | did you mean `title`?",
                "own.toml:2:1 unknown-setting own.toml has no setting `zzz` | choose from `title`, `page`, `name`",
                "own.toml:3:1 missing-setting `height` is missing in [page] | add `height` to [page]",
                // `width` is there, so another `width` is not what was meant.
                "own.toml:5:1 unknown-setting [page] has no setting `witdh` | choose from `width`, `height`",
            ]
        );
    }

    #[test]
    fn words_and_texts() {
        const KINDS: [(&str, u8); 2] = [("laser", 1), ("inkjet", 2)];
        let text =
            "a = \" inkjet \"\nb = \"lazer\"\nc = [\"laser\", \"plotter\"]\nd = []\ne = \" \"\nf = [1]\ng = \"x\"";
        let (read, shown) = told(text, |reader, top| {
            let word = |reader: &mut Reader, key| reader.word(top, key, &KINDS).map(|word| word.value);
            assert_eq!((word(reader, "a"), word(reader, "b"), word(reader, "none")), (Some(2), None, None));
            assert_eq!(reader.words(top, "c", &KINDS), Some(vec![1]));
            assert_eq!(reader.words(top, "d", &KINDS), None);
            assert_eq!(reader.text(top, "e"), None);
            assert_eq!(reader.texts(top, "f"), Some(vec![]));
            reader.texts(top, "g")
        });
        assert_eq!(read, None);
        let list = "is a list of texts: [\"one\", \"another\"]";
        assert_eq!(
            shown,
            [
                "own.toml:2:5 unknown-word `b` cannot be `lazer` | did you mean `laser`?".to_owned(),
                "own.toml:3:15 unknown-word `c` cannot be `plotter` | choose from `laser`, `inkjet`".to_owned(),
                "own.toml:4:5 empty-setting `d` names nothing | name at least one of `laser`, `inkjet`".to_owned(),
                "own.toml:5:5 empty-setting `e` is empty | write a value between the quotes, or leave `e` out"
                    .to_owned(),
                format!("own.toml:6:6 wrong-kind-of-setting `f` is a number | `f` {list}"),
                format!("own.toml:7:5 wrong-kind-of-setting `g` is text | `g` {list}"),
            ]
        );
    }

    #[test]
    fn numbers_keep_to_their_range() {
        let text = "a = 6\nb = 0x1F4\nc = 2.5\nd = 99999999999999999999\ne = nan\nf = \"1\"";
        let (_, shown) = told(text, |reader, top| {
            let number = |reader: &mut Reader, key| reader.number(top, key, 100.0..=4800.0, "dots an inch");
            assert_eq!(number(reader, "b").map(|number| number.value), Some(500.0));
            assert!(["a", "d", "e", "f"].iter().all(|key| number(reader, key).is_none()));
            assert_eq!(reader.whole(top, "a", 1..=6).map(|whole| whole.value), Some(6));
            assert!(["b", "c", "d", "f"].iter().all(|key| reader.whole(top, key, 1..=6).is_none()));
        });
        assert_eq!(
            shown[0],
            "own.toml:1:5 number-out-of-range `a` cannot be 6 dots an inch | write a number from 100 to 4800"
        );
        assert_eq!(shown[1], "own.toml:2:5 number-out-of-range `b` cannot be 0x1F4 | write a whole number from 1 to 6");
        assert_eq!(shown.len(), 8);
    }

    #[test]
    fn lengths_come_in_millimetres_or_with_their_unit() {
        let text = "a = 3\nb = 3.25\nc = \"1/8 in\"\nd = \"0.25in\"\ne = \"72 pt\"\nf = 0x10\ng = 1_000.5";
        let (read, shown) = told(text, |reader, top| {
            ["a", "b", "c", "d", "e", "f", "g"]
                .map(|key| reader.length(top, key, Least::AboveZero, Length::mm(2000.0)).expect(key).value.as_mm())
        });
        assert_eq!((read, shown), ([3.0, 3.25, 3.175, 6.35, 25.4, 16.0, 1000.5], vec![]));
    }

    #[test]
    fn what_is_no_length_is_said_at_its_place() {
        let text = "a = -1\nb = 0\nc = nan\nd = inf\ne = 1e300\nf = \"3 feet\"\ng = \"1/0 in\"\nh = true\ni = \"mm\"\nj = \"\"";
        let (_, shown) = told(text, |reader, top| {
            for key in ["a", "b", "c", "d", "e", "f", "g", "h", "i", "j", "k"] {
                assert!(reader.length(top, key, Least::AboveZero, Length::mm(1000.0)).is_none(), "{key}");
            }
            assert!(reader.length(top, "b", Least::Zero, Length::mm(1000.0)).is_some());
        });
        assert_eq!(shown.len(), 10);
        assert!(shown.iter().zip(1..).all(|(shown, line)| shown.starts_with(&format!("own.toml:{line}:5 "))));
        let remedy = "write a length of more than 0 mm, at most 1000 mm";
        assert_eq!(shown[0], format!("own.toml:1:5 length-out-of-range `a` cannot be -1 mm | {remedy}"));
        assert_eq!(shown[6], format!("own.toml:7:5 length-out-of-range `g` cannot be 1/0 in | {remedy}"));
    }

    #[test]
    fn tables_are_called_as_the_file_writes_them() {
        let text = "edges = 5\n[[list]]\ncolumns = { x = 1 }\n[printer]\nx = 1\n";
        let (_, shown) = told(text, |reader, top| {
            let lists = reader.tables(top, "list").expect("is there");
            let columns = reader.table(&lists[0], "columns").expect("is there");
            let printer = reader.table(top, "printer").expect("is there");
            reader.expect_keys(&columns, &[], &["note"]);
            reader.expect_keys(&printer, &[], &["kind"]);
            assert!(reader.table(top, "edges").is_none() && reader.tables(top, "printer").is_none());
        });
        assert_eq!(
            shown,
            [
                "own.toml:1:9 wrong-kind-of-setting `edges` is a number | `edges` is a table: [edges]",
                "own.toml:3:13 unknown-setting columns has no setting `x` | choose from `note`",
                "own.toml:4:1 wrong-kind-of-setting `printer` is a table | `printer` is written as [[printer]] with its \
                 settings below",
                "own.toml:5:1 unknown-setting [printer] has no setting `x` | choose from `kind`",
            ]
        );
    }

    #[test]
    fn syntax_errors_withhold_the_value() {
        let checked = read(&Source::new("own.toml", "a = 1\n[page\n"), |_, _| ());
        assert!(checked.value.is_none());
        assert_eq!(checked.problems[0].id, "toml-syntax");
        assert_eq!(checked.problems[0].origin.as_ref().and_then(Origin::line), Some(2));
    }

    proptest! {
        #[test]
        fn any_text_is_answered(text in "(\\[\\[?(a|b)\\]\\]?|[ab]|=|\"|\\.|[0-9]|\n|\\{|\\}|ä| |nan|in){0,20}") {
            let _ = read(&Source::new("own.toml", text), |reader, top| {
                reader.expect_keys(top, &["a"], &["c"]);
                let tables = [reader.table(top, "a"), reader.table(top, "b")];
                let lists = reader.tables(top, "a").unwrap_or_default();
                for table in tables.iter().flatten().chain(&lists).chain([top]) {
                    reader.length(table, "a", Least::Zero, Length::mm(1.0));
                    reader.number(table, "b", 0.0..=1.0, "mm");
                    reader.whole(table, "b", 0..=1);
                    reader.words(table, "a", &[("b", ())]);
                }
            });
        }
    }
}
