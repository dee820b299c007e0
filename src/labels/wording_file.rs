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
//! ```

use std::collections::BTreeSet;
use std::sync::Arc;

use super::field::Field;
use super::line::{Lettering, Look, Worth};
use super::problems::FIELD_TWICE;
use super::wording::{Faces, LineRule, Shorten, SymbolWish, Wording};
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
    reader.expect_keys(table, &["fields"], &["lead", "letters", "size", "shorten", "worth", "bar"]);
    let fields = reader.words(table, "fields", &Field::WORDS)?;
    for &field in &fields {
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
    Some(LineRule {
        fields,
        look,
        worth: reader.word(table, "worth", &WORTHS).map_or_else(Worth::default, |worth| worth.value),
        shorten: if may_shorten { Shorten::ByWords } else { Shorten::Never },
    })
}
