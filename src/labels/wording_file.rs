//! A wording file (TOML) -> a [`Wording`], every setting checked.
//!
//! ```toml
//! symbol = "full"          # full: what [payload] of job.toml says · code: the code alone · none
//! faces = "any"            # flags: any · same: both hold the whole tag · split: words on one, symbol and code on the other
//!
//! [[line]]                 # a line below the code, in the order of printing
//! fields = ["function"]    # what it tells: `Field::WORDS`
//! lead = "fn"              # a small word before it
//! letters = "strong"       # words · strong · code
//! size = 1.2               # height of its letters, as a multiple of the tag's line height
//! shorten = true           # may lose words from its end
//! worth = "vital"          # vital · useful · extra: what is given up first is extra
//! bar = true               # the bar in the wire's colours before it
//! write = true             # a line to write on where nothing is known
//! ```

use std::collections::BTreeSet;
use std::sync::Arc;

use super::field::Field;
use super::line::{Lettering, Look, Worth};
use super::problems::FIELD_TWICE;
use super::wording::{Faces, LineRule, Shorten, SymbolWish, Unknown, Wording};
use crate::base::problem::has_errors;
use crate::base::settings::{self, Reader, Table};
use crate::base::{Checked, Source};

const SYMBOLS: [(&str, SymbolWish); 3] =
    [("full", SymbolWish::Full), ("code", SymbolWish::Code), ("none", SymbolWish::None)];
const FACES: [(&str, Faces); 3] = [("any", Faces::Any), ("same", Faces::Same), ("split", Faces::Split)];
const LETTERS: [(&str, Lettering); 3] =
    [("words", Lettering::Words), ("strong", Lettering::Strong), ("code", Lettering::Code)];
const WORTHS: [(&str, Worth); 3] = [("vital", Worth::Vital), ("useful", Worth::Useful), ("extra", Worth::Extra)];

/// How much larger or smaller than the others a line's letters may be.
const SIZES: std::ops::RangeInclusive<f64> = 0.7..=2.0;

/// Reads a file; the value is withheld while errors stand.
pub(super) fn read(source: &Arc<Source>) -> Checked<Option<Wording>> {
    let file = source.name().rsplit('/').next().unwrap_or_default();
    let name = file.strip_suffix(".toml").unwrap_or(file);
    let read = settings::read(source, |reader, top| {
        reader.expect_keys(top, &[], &["symbol", "faces", "line"]);
        let symbol = reader.word(top, "symbol", &SYMBOLS).map_or_else(SymbolWish::default, |wish| wish.value);
        let faces = reader.word(top, "faces", &FACES).map_or_else(Faces::default, |faces| faces.value);
        let mut told = BTreeSet::new();
        let tables = reader.tables(top, "line").unwrap_or_default();
        let lines = tables.iter().filter_map(|table| read_line(reader, table, &mut told)).collect();
        Wording { name: name.to_owned(), symbol, faces, lines }
    });
    let value = read.value.filter(|_| !has_errors(&read.problems));
    Checked { value, problems: read.problems }
}

fn read_line(reader: &mut Reader, table: &Table<'_>, told: &mut BTreeSet<Field>) -> Option<LineRule> {
    reader.expect_keys(table, &["fields"], &["lead", "letters", "size", "shorten", "worth", "bar", "write"]);
    let fields = reader.words(table, "fields", &Field::WORDS);
    for &field in fields.iter().flatten() {
        if !told.insert(field) {
            let problem = FIELD_TWICE.says(format!("field `{field}` stands on the tag twice"));
            let origin = reader.origin_of(table, "fields");
            reader.tell(problem.at(origin).remedy("leave it out of one of the lines"));
        }
    }
    let look = Look {
        lead: reader.text(table, "lead").map(|lead| lead.value),
        lettering: reader.word(table, "letters", &LETTERS).map_or_else(Lettering::default, |letters| letters.value),
        size: reader.number(table, "size", SIZES, "times the line height").map_or(1.0, |size| size.value),
        colour_bar: reader.yes(table, "bar").is_some_and(|bar| bar.value),
    };
    let may_shorten = reader.yes(table, "shorten").is_some_and(|shorten| shorten.value);
    let worth = reader.word(table, "worth", &WORTHS).map_or_else(Worth::default, |worth| worth.value);
    let shorten = if may_shorten { Shorten::ByWords } else { Shorten::Never };
    let is_written = reader.yes(table, "write").is_some_and(|write| write.value);
    let unknown = if is_written { Unknown::Written } else { Unknown::LeftOut };
    Some(LineRule { fields: fields?, look, worth, shorten, unknown })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::base::Problem;

    fn wording(text: &str) -> Checked<Option<Wording>> {
        Wording::from_toml(&Source::new("templates/mine.toml", text))
    }

    fn told(problem: &Problem) -> (Option<usize>, Option<usize>, &str, &str, &str) {
        let origin = problem.origin.as_ref().unwrap();
        let remedy = problem.remedy.as_deref().unwrap_or_default();
        (origin.line(), origin.column(), problem.id, &problem.message, remedy)
    }

    #[test]
    fn every_key_is_read() {
        let text = "symbol = \"none\"\nfaces = \"split\"\n[[line]]\nfields = [\"colour\", \"size\"]\nlead = \" of \"\n\
                    letters = \"code\"\nsize = 1.5\nshorten = true\nworth = \"extra\"\nbar = true\nwrite = true\n\
                    [[line]]\nfields = [\"note\"]\n";
        let Checked { value, problems } = wording(text);
        assert_eq!(problems, []);
        let wording = value.unwrap();
        assert_eq!((wording.name(), wording.symbol(), wording.faces()), ("mine", SymbolWish::None, Faces::Split));
        let look = Look { lead: Some("of".to_owned()), lettering: Lettering::Code, size: 1.5, colour_bar: true };
        let fields = vec![Field::Colour, Field::Size];
        let first =
            LineRule { fields, look, worth: Worth::Extra, shorten: Shorten::ByWords, unknown: Unknown::Written };
        // What is left out: words, of plain size, whole, useful, without a bar.
        let usual = LineRule {
            fields: vec![Field::Note],
            look: Look { lead: None, lettering: Lettering::Words, size: 1.0, colour_bar: false },
            worth: Worth::Useful,
            shorten: Shorten::Never,
            unknown: Unknown::LeftOut,
        };
        assert_eq!(wording.lines, [first, usual]);
    }

    /// A file that says nothing is a wording: the code alone, with its symbol.
    #[test]
    fn nothing_is_a_wording_too() {
        let Checked { value, problems } = wording("# the code is enough\n");
        assert_eq!(problems, []);
        let wording = value.unwrap();
        assert_eq!((wording.symbol(), wording.faces(), wording.lines.len()), (SymbolWish::Full, Faces::Any, 0));
    }

    #[test]
    fn every_word_is_understood() {
        for (word, field) in Field::WORDS {
            let read = wording(&format!("[[line]]\nfields = [\"{word}\"]\n")).value.unwrap();
            assert_eq!(read.lines[0].fields, [field]);
        }
        let symbol = |word: &str| wording(&format!("symbol = \"{word}\"\n")).value.unwrap().symbol();
        assert_eq!(["full", "code", "none"].map(symbol), [SymbolWish::Full, SymbolWish::Code, SymbolWish::None]);
        let faces = |word: &str| wording(&format!("faces = \"{word}\"\n")).value.unwrap().faces();
        assert_eq!(["any", "same", "split"].map(faces), [Faces::Any, Faces::Same, Faces::Split]);
        let line = |setting: &str| {
            let text = format!("[[line]]\nfields = [\"here\"]\n{setting}\n");
            wording(&text).value.unwrap().lines.remove(0)
        };
        let worth = |word: &str| line(&format!("worth = \"{word}\"")).worth;
        assert_eq!(["vital", "useful", "extra"].map(worth), [Worth::Vital, Worth::Useful, Worth::Extra]);
        let letters = |word: &str| line(&format!("letters = \"{word}\"")).look.lettering;
        assert_eq!(["words", "strong", "code"].map(letters), [Lettering::Words, Lettering::Strong, Lettering::Code]);
        for (size, read) in [("0.7", 0.7), ("1", 1.0), ("2", 2.0)] {
            assert_eq!(line(&format!("size = {size}")).look.size, read);
        }
    }

    /// Each mistake: its line and column, its kind, what is said of it, and what to write instead.
    #[test]
    fn every_problem_points_into_the_file() {
        let line = "[[line]]\nfields = [\"here\"]\n";
        let in_line = |setting: &str| format!("{line}{setting}\n");
        for (text, line, column, id, message, remedy) in [
            (
                "symbols = \"full\"\n".to_owned(),
                1,
                1,
                "unknown-setting",
                "templates/mine.toml has no setting `symbols`",
                "did you mean `symbol`?",
            ),
            (
                "symbol = \"non\"\n".to_owned(),
                1,
                10,
                "unknown-word",
                "`symbol` cannot be `non`",
                "did you mean `none`?",
            ),
            (
                "symbol = true\n".to_owned(),
                1,
                10,
                "wrong-kind-of-setting",
                "`symbol` is true or false",
                "`symbol` is text in quotes",
            ),
            (
                "faces = \"both\"\n".to_owned(),
                1,
                9,
                "unknown-word",
                "`faces` cannot be `both`",
                "choose from `any`, `same`, `split`",
            ),
            (
                "line = \"here\"\n".to_owned(),
                1,
                8,
                "wrong-kind-of-setting",
                "`line` is text",
                "`line` is written as [[line]] with its settings below",
            ),
            (
                "[line]\nfields = [\"here\"]\n".to_owned(),
                1,
                1,
                "wrong-kind-of-setting",
                "`line` is a table",
                "`line` is written as [[line]] with its settings below",
            ),
            (
                "[[line]]\nlead = \"x\"\n".to_owned(),
                1,
                1,
                "missing-setting",
                "`fields` is missing in [[line]]",
                "add `fields` to [[line]]",
            ),
            (
                "[[line]]\nfield = [\"here\"]\n".to_owned(),
                2,
                1,
                "unknown-setting",
                "[[line]] has no setting `field`",
                "did you mean `fields`?",
            ),
            (
                "[[line]]\nfields = \"here\"\n".to_owned(),
                2,
                10,
                "wrong-kind-of-setting",
                "`fields` is text",
                "`fields` is a list of texts: [\"one\", \"another\"]",
            ),
            (
                "[[line]]\nfields = []\n".to_owned(),
                2,
                10,
                "empty-setting",
                "`fields` names nothing",
                "name at least one of `function`, `here`",
            ),
            (
                "[[line]]\nfields = [\"here\", \"thre\"]\n".to_owned(),
                2,
                19,
                "unknown-word",
                "`fields` cannot be `thre`",
                "did you mean `there`?",
            ),
            (
                "[[line]]\nfields = [\"here\", 3]\n".to_owned(),
                2,
                19,
                "wrong-kind-of-setting",
                "`fields` is a number",
                "a list of texts",
            ),
            (
                "[[line]]\nfields = [\"serial\"]\n".to_owned(),
                2,
                11,
                "unknown-word",
                "`fields` cannot be `serial`",
                "choose from `function`, `here`, `there`",
            ),
            (
                in_line("[[line]]\nfields = [\"note\", \"here\"]"),
                4,
                10,
                "field-twice",
                "field `here` stands on the tag twice",
                "leave it out of one of the lines",
            ),
            (
                in_line("size = 2.5"),
                3,
                8,
                "number-out-of-range",
                "`size` cannot be 2.5 times the line height",
                "write a number from 0.7 to 2",
            ),
            (
                in_line("size = 0.1"),
                3,
                8,
                "number-out-of-range",
                "`size` cannot be 0.1 times the line height",
                "write a number from 0.7 to 2",
            ),
            (
                in_line("size = nan"),
                3,
                8,
                "number-out-of-range",
                "`size` cannot be nan times the line height",
                "write a number from 0.7 to 2",
            ),
            (
                in_line("size = \"1.5\""),
                3,
                8,
                "wrong-kind-of-setting",
                "`size` is text",
                "`size` is a number of times the line height, without quotes",
            ),
            (in_line("lead = \"\""), 3, 8, "empty-setting", "`lead` is empty", "or leave `lead` out"),
            (
                in_line("letters = \"bold\""),
                3,
                11,
                "unknown-word",
                "`letters` cannot be `bold`",
                "choose from `words`, `strong`, `code`",
            ),
            (in_line("worth = \"vitl\""), 3, 9, "unknown-word", "`worth` cannot be `vitl`", "did you mean `vital`?"),
            (
                in_line("shorten = \"yes\""),
                3,
                11,
                "wrong-kind-of-setting",
                "`shorten` is text",
                "`true` or `false`, without quotes",
            ),
            (
                in_line("bar = 1"),
                3,
                7,
                "wrong-kind-of-setting",
                "`bar` is a number",
                "`true` or `false`, without quotes",
            ),
            (
                in_line("color = true"),
                3,
                1,
                "unknown-setting",
                "[[line]] has no setting `color`",
                "choose from `fields`, `lead`",
            ),
        ] {
            let Checked { value, problems } = wording(&text);
            assert_eq!(value, None, "{text}");
            assert_eq!(problems.len(), 1, "{text}: {problems:#?}");
            let (at, column_at, kind, said, helped) = told(&problems[0]);
            assert_eq!((at, column_at, kind, said), (Some(line), Some(column), id, message), "{text}");
            assert!(helped.contains(remedy), "{text}{helped}");
        }
    }

    #[test]
    fn all_problems_are_told_at_once_in_the_order_of_the_file() {
        let text = "faces = 1\nsymbol = \"ful\"\n[[line]]\nfields = [\"not\"]\nsize = 9\n[[line]]\nworth = \"x\"\n";
        let lines: Vec<_> = wording(text).problems.iter().map(|problem| told(problem).0).collect();
        assert_eq!(lines, [1, 2, 4, 5, 6, 7].map(Some));
    }

    #[test]
    fn what_is_no_toml_is_told_where_it_breaks_off() {
        for (text, line) in
            [("symbol = full\n", 1), ("symbol = \"full\"\n[[line]\n", 2), ("a = 1\na = 2\n", 2), ("\u{0}", 1)]
        {
            let Checked { value, problems } = wording(text);
            assert!(value.is_none() && !problems.is_empty(), "{text}");
            let (at, _, id, _, remedy) = told(&problems[0]);
            assert_eq!((at, id), (Some(line), "toml-syntax"), "{text}");
            assert!(!remedy.is_empty());
        }
    }

    /// Every wording that comes with the program is sound, and says of itself what it is for.
    #[test]
    fn builtin_wordings_are_sound() {
        for (name, text) in Wording::builtins() {
            let Checked { value, problems } = wording(text);
            assert_eq!(problems, [], "{name}");
            assert!(!value.unwrap().lines.is_empty() && text.starts_with("# What "), "{name}");
        }
        let (_, flat) = Wording::builtins()[0];
        for (word, _) in Field::WORDS {
            assert!(flat.contains(&format!("\n#   {word} ")), "`flat` explains `{word}`");
        }
        for key in ["symbol", "faces", "fields", "lead", "letters", "size", "shorten", "worth", "bar"] {
            let is_explained = |line: &str| line.trim_start_matches("# ").starts_with(key) && line.contains(" # ");
            assert!(flat.lines().any(is_explained), "`flat` explains `{key}`");
        }
    }

    /// Texts that are nearly wordings: keys and values of all sorts, in any order.
    fn nearly() -> impl Strategy<Value = String> {
        let key =
            "(symbol|faces|line|\\[line\\]|\\[\\[line\\]\\]|fields|lead|letters|size|shorten|worth|bar|[a-z]{1,5})";
        let value = "(\"[a-zé \\\\\"]{0,8}\"|\\[\"here\", ?\"note\"\\]|\\[\\]|true|-?[0-9.e]{1,9}|nan|1979-05-27|\\{ a = 1 \\}|\\[\\[)";
        prop::collection::vec((key, prop::bool::ANY, value), 0..9).prop_map(|lines| {
            lines
                .into_iter()
                .map(
                    |(key, has_value, value)| if has_value { format!("{key} = {value}\n") } else { format!("{key}\n") },
                )
                .collect()
        })
    }

    proptest! {
        #[test]
        fn any_text_is_answered(text in prop_oneof![any::<String>(), nearly()]) {
            let Checked { value, problems } = wording(&text);
            prop_assert_eq!(value.is_none(), has_errors(&problems));
            for problem in &problems {
                let origin = problem.origin.as_ref().expect("each points into the file");
                prop_assert!(origin.line().is_none_or(|line| line <= text.lines().count().max(1) + 1));
            }
        }
    }
}
