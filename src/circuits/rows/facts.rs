//! What the cells of a row say of its wire and its end: action, kinds of tags, supply, insulation, colour, size, lengths. Each
//! text is understood once for a list, which repeats few of them many times.

use super::Reader;
use crate::base::conductor::NotASize;
use crate::base::nearest::{did_you_mean, listed};
use crate::base::{Conductor, Insulation, Length, ProblemKind, TagKind, WireColour};
use crate::circuits::connectors::unknown_action;
use crate::circuits::headers::Column;
use crate::circuits::mention::{Side, TO};
use crate::circuits::problems::{
    BAD_SIZE, TWO_TAGS_OF_ONE_PURPOSE, UNKNOWN_COLOUR, UNKNOWN_INSULATION, UNKNOWN_SUPPLY, UNKNOWN_TAG,
};
use crate::circuits::values::{self, Bounds, NotALength};
use crate::circuits::words::{self, NotATagWish};
use crate::circuits::{Action, Supply, TagWish, blurred};

impl<'t> Reader<'t, '_> {
    /// The action of one side; a wire list's plain action column is of both.
    pub(super) fn action(&mut self, side: &'static Side) -> Option<Action> {
        let own = self.get(side.action).map(|cell| (side.action, cell));
        let (column, cell) = own.or_else(|| Some((Column::Action, self.get(Column::Action)?)))?;
        match self.actions.entry(cell).or_insert_with(|| words::action_with(cell, self.sheet.words())).clone() {
            Ok(action) => Some(action),
            Err(near) => {
                // The column for both sides is told once.
                if column != Column::Action || !std::ptr::eq(side, &TO) {
                    let origin = self.sheet.origin(self.row, column);
                    self.problems.push(unknown_action(cell, near).at(origin));
                }
                None
            }
        }
    }

    /// The kinds of tags of one side; a wire list's plain tag column is of both.
    pub(super) fn tag(&mut self, side: &'static Side) -> TagWish {
        let own = self.get(side.tag).map(|cell| (side.tag, cell));
        let Some((column, cell)) = own.or_else(|| Some((Column::Tag, self.get(Column::Tag)?))) else {
            return TagWish::default();
        };
        let (kind, what, remedy) =
            match self.tags.entry(cell).or_insert_with(|| words::tag_wish(cell, self.sheet.words())) {
                Ok(wish) => return *wish,
                Err(NotATagWish::Unknown(word, near)) => {
                    let all = || format!("choose from {}", listed(&TagKind::WORDS.map(|(word, _)| word)));
                    (UNKNOWN_TAG, format!("`{word}` is no kind of tag"), near.as_deref().map_or_else(all, did_you_mean))
                }
                Err(NotATagWish::TwoOfOnePurpose(first, second)) => (
                    TWO_TAGS_OF_ONE_PURPOSE,
                    format!("`{first}` and `{second}` are both {} tags", first.purpose()),
                    "an end has at most one work tag (flag, wrap, tie-on) and one final tag (sleeve, strip)".to_owned(),
                ),
            };
        // The column for both sides is told once.
        if column != Column::Tag || !std::ptr::eq(side, &TO) {
            self.tell(kind, column, what, remedy);
        }
        TagWish::default()
    }

    pub(super) fn supply(&mut self) -> Option<Supply> {
        let cell = self.get(Column::Supply)?;
        match *self.supplies.entry(cell).or_insert_with(|| words::supply_with(cell, self.sheet.words())) {
            Ok(supply) => supply,
            Err(near) => {
                let all = || format!("write {}", Supply::ALL.map(Supply::word).join(", "));
                let remedy = near.map_or_else(all, did_you_mean);
                self.tell(UNKNOWN_SUPPLY, Column::Supply, format!("`{cell}` is no supply"), remedy);
                None
            }
        }
    }

    pub(super) fn insulation(&mut self) -> Option<Insulation> {
        let cell = self.get(Column::Insulation)?;
        let insulation =
            *self.insulations.entry(cell).or_insert_with(|| words::insulation_with(cell, self.sheet.words()));
        if insulation.is_err() {
            self.unknown_insulations.entry(cell).or_insert((self.row, 0)).1 += 1;
        }
        insulation.ok()
    }

    /// Unknown insulations once for each text, as makers' type letters fill whole columns.
    pub(super) fn tell_unknown_insulations(&mut self) {
        for (cell, (row, count)) in std::mem::take(&mut self.unknown_insulations) {
            let rows = if count == 1 { String::new() } else { format!(" (in {count} rows)") };
            let what = format!("`{cell}` is no insulation whose wall is known: the diameter must be measured{rows}");
            let all = || format!("choose from {}", listed(&Insulation::ALL.map(Insulation::word)));
            let remedy =
                words::insulation_with(cell, self.sheet.words()).err().flatten().map_or_else(all, did_you_mean);
            self.row = row;
            self.tell(UNKNOWN_INSULATION, Column::Insulation, what, remedy);
        }
    }

    pub(super) fn colour(&mut self) -> Option<u32> {
        let cell = self.get(Column::Colour)?;
        let index = match self.colours.get(cell) {
            Some(&(index, _)) => index,
            None => {
                let colours = &mut self.mentions.colours;
                let own = &self.sheet.words().colour;
                let colour = WireColour::from_cell_with(cell, &|word| own.meaning(word).copied())?;
                let index = colours.len() as u32;
                let meaning = colour.to_string().to_lowercase();
                self.mentions.colour_keys.push(*self.meanings.entry(meaning).or_insert(index));
                colours.push(colour);
                self.colours.insert(cell, (index, self.row));
                index
            }
        };
        if self.mentions.colour(index).base().is_none() {
            self.unknown_colours.push((index, self.row));
        }
        Some(index)
    }

    /// Unknown colours once for each text, as makers' letters fill whole columns.
    pub(super) fn tell_unknown_colours(&mut self) {
        let mut unknown = std::mem::take(&mut self.unknown_colours);
        unknown.sort_unstable();
        for run in unknown.chunk_by(|a, b| a.0 == b.0) {
            let (colour, row) = run[0];
            let typed = self.mentions.colour(colour).typed();
            let rows = if run.len() == 1 { String::new() } else { format!(" (in {} rows)", run.len()) };
            let what = format!("`{typed}` is no colour of IEC 60757: it is printed as typed{rows}");
            self.row = row;
            let remedy = "base first, then stripe: `BN/WH` or `brown/white`; makers' own letters may stay, or job.toml says in \
                          [words.colour] what they mean";
            self.tell(UNKNOWN_COLOUR, Column::Colour, what, remedy);
        }
    }

    /// Own words that make one colour of two of this list's.
    pub(super) fn tell_blurred_colours(&mut self) {
        let mut cells: Vec<(&str, usize)> = self.colours.iter().map(|(cell, (_, row))| (*cell, *row)).collect();
        cells.sort_unstable_by_key(|&(cell, row)| (row, cell));
        let place = |cell: &str| {
            let row = self.colours.get(cell).map_or(0, |&(_, row)| row);
            self.sheet.origin(row, Column::Colour)
        };
        let own = &self.sheet.words().colour;
        let found = blurred::find(cells.iter().map(|(cell, _)| *cell), own, &place, self.blurred);
        self.problems.extend(found);
    }

    pub(super) fn size(&mut self) -> Option<u32> {
        let cell = self.get(Column::Size)?;
        let size = match self.sizes.get(cell) {
            Some(size) => *size,
            None => {
                let sizes = &mut self.mentions.sizes;
                let size = Conductor::from_cell(cell, self.sheet.size_unit()).map(|conductor| {
                    sizes.push(conductor);
                    (sizes.len() - 1) as u32
                });
                self.sizes.insert(cell, size);
                size
            }
        };
        if size == Err(NotASize::Unreadable) && self.is_changed_measure(Column::Size, cell) {
            return None;
        }
        let (what, remedy) = match size {
            Ok(index) => return Some(index),
            Err(NotASize::AmbiguousUnit) => (
                format!("`{cell}` may be mm² or AWG"),
                format!("write `{cell} AWG` or `{cell} mm²`, or give the list its `size_unit` in job.toml"),
            ),
            Err(NotASize::Unreadable) => {
                (format!("`{cell}` is no conductor size"), "write it like `0.75 mm²` or `18 AWG`".to_owned())
            }
            Err(NotASize::OutOfRange) => (
                format!("`{cell}` is no size that wires have"),
                "sizes go from 0.01 to 1000 mm² and from 4/0 to 44 AWG".to_owned(),
            ),
        };
        self.tell(BAD_SIZE, Column::Size, what, remedy);
        None
    }

    pub(super) fn length(&mut self, column: Column, bounds: Bounds, kind: ProblemKind) -> Option<Length> {
        let cell = self.get(column)?;
        let is_length = matches!(column, Column::Length | Column::ExtendBy);
        let what = if is_length { Column::Length.name() } else { column.name() };
        let (message, remedy) = match values::length(cell, self.sheet.length_unit(column), bounds) {
            Ok(length) => return Some(length),
            Err(NotALength::Unreadable) if self.is_changed_measure(column, cell) => return None,
            Err(NotALength::Unreadable) => {
                let example = if is_length { "`1200`, `1.2 m` or `47 in`" } else { "`2.4` or `0.095 in`" };
                (format!("`{cell}` is no {what}"), format!("write it like {example}; a bare number is millimetres"))
            }
            Err(NotALength::MaybeThousands) => {
                let bare = cell.replace(['.', ','], "");
                (
                    format!("`{cell}` may be thousands or a fraction of a millimetre"),
                    format!("write `{bare}`, or round it"),
                )
            }
            Err(NotALength::OutOfRange) => {
                let range = if is_length { "1 mm to 1000 m" } else { "0.1 to 100 mm" };
                (
                    format!("`{cell}` is no {what} that wires have"),
                    format!("a {what} is {range}; leave it blank while it is not known"),
                )
            }
        };
        self.tell(kind, column, message, remedy);
        None
    }
}
