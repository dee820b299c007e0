//! What stands in the address of a page, or in a form: which tags are asked for, and on what they go. The names are those of the options
//! of `loomtag tags`.

use super::press::ONCE;
use crate::base::Remedy;
use crate::codes::SheetNumber;
use crate::pages::Order;
use crate::run::headers::Headers;
use crate::run::sheets::{Laying, SheetWish};
use crate::run::wanted::{InVain, Wanted};
use crate::run::{Again, Choice, MOST_COPIES, Reading, RunFailure};
use crate::serve::address::encoded;
use crate::serve::fields::Fields;

/// So many fields are looked at.
const MOST_FIELDS: usize = 10_000;
/// So many codes, places, connectors and other words are looked up at once.
pub const MOST_WORDS: usize = 500;

/// The fields that choose sheets of labels.
const SHEETS: [&str; 3] = ["sheet", "new_sheet", "start_at"];
/// What they ask for.
const SHEETS_IN_WORDS: [&str; 3] = ["a begun sheet", "new sheets", "a first sheet that has lost labels"];

/// Tags as they are asked for.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// Which tags.
    pub wanted: Wanted,
    /// Only what is new or would say something else now.
    pub changed: bool,
    /// Rows with errors are left out.
    pub skip_problems: bool,
    /// How often each is made.
    pub copies: usize,
    /// On what they go.
    pub laying: Laying,
    /// What of it cannot be meant: what is wrong, and the remedy.
    pub refused: Vec<(String, Remedy)>,
    /// The fields as they came, without those that are empty.
    pub fields: Fields,
}

impl Asked {
    /// What fields ask for; those that nobody knows are passed over.
    pub fn of(fields: &Fields) -> Self {
        let mut asked = Self { copies: 1, ..Self::default() };
        let fields = fields.iter().take(MOST_FIELDS).filter(|(name, value)| {
            // The number of a page is no part of the choice, nor is which showing of the form was sent.
            !value.trim().is_empty() && *name != "n" && *name != ONCE
        });
        asked.fields = fields.collect();
        for (name, value) in asked.fields.clone().iter() {
            asked.take(name, value.trim());
        }
        let sheets: Vec<&str> = SHEETS
            .into_iter()
            .zip(SHEETS_IN_WORDS)
            .filter(|(name, _)| asked.fields.has(name))
            .map(|(_, words)| words)
            .collect();
        if sheets.len() > 1 {
            asked.refuse(
                format!("{} cannot be asked for together", sheets.join(" and ")),
                "leave one of them: what a begun sheet has lost already is known, and told under Sheets where it is not",
            );
        }
        let wanted = &mut asked.wanted;
        let words = [&wanted.connector, &wanted.branch, &wanted.action, &wanted.kind, &wanted.circuit, &wanted.code];
        let count: usize = words.iter().map(|words| words.len()).sum();
        if count > MOST_WORDS {
            *wanted = Wanted::default();
            asked.refuse(
                format!(
                    "{count} codes, places and other words are more than the {MOST_WORDS} that are looked up at once"
                ),
                "choose by connectors, branches or actions, or print them in several runs",
            );
        }
        asked
    }

    fn take(&mut self, name: &str, value: &str) {
        let words = || value.split([',', ';', '\n']).map(str::trim).filter(|word| !word.is_empty()).map(str::to_owned);
        let wanted = &mut self.wanted;
        match name {
            "purpose" => match value {
                "work" => wanted.work = true,
                "final" => wanted.final_tags = true,
                "both" => {}
                _ => self.refuse(format!("there is no purpose `{value}`"), "ask for `work` or `final`"),
            },
            "connector" => wanted.connector.extend(words()),
            "branch" => wanted.branch.extend(words()),
            "action" => wanted.action.extend(words()),
            "kind" => wanted.kind.extend(words()),
            "circuit" => wanted.circuit.extend(words()),
            "code" | "place" => wanted.code.extend(words()),
            "all" => wanted.all = true,
            "removed" => wanted.removed = true,
            "apart" => wanted.apart = true,
            "no_connectors" => wanted.no_connectors = true,
            "along" => wanted.along = true,
            "this_end" => wanted.this_end = true,
            "changed" => self.changed = true,
            "skip_problems" => self.skip_problems = true,
            "headers" => self.laying.headers = Headers::EachConnector,
            "copies" => match value.parse() {
                Ok(copies @ 1..=MOST_COPIES) => self.copies = copies.into(),
                _ => self.refuse(format!("there cannot be `{value}` copies"), &format!("ask for 1 to {MOST_COPIES}")),
            },
            "order" => match Order::WORDS.iter().find(|(word, _)| *word == value) {
                Some((_, order)) => self.laying.order = Some(*order),
                None => self.refuse(format!("there is no order `{value}`"), "ask for `working` or `least-waste`"),
            },
            "new_sheet" => self.laying.sheets = SheetWish::New,
            "sheet" => match value.parse().ok().and_then(SheetNumber::new) {
                Some(number) => self.laying.sheets = SheetWish::Number(number),
                None => self.refuse(format!("`{value}` is no sheet"), "its number stands in its margin"),
            },
            "start_at" => match value.parse() {
                Ok(place @ 1..) => self.laying.sheets = SheetWish::StartAt(place),
                _ => self.refuse(format!("`{value}` is no label"), "labels are counted from 1, from the top left"),
            },
            _ => {}
        }
    }

    fn refuse(&mut self, what: String, remedy: &str) {
        self.refused.push((what, remedy.into()));
    }

    /// What is chosen; or all that names nothing.
    ///
    /// # Errors
    /// [`RunFailure`] when the register cannot be read.
    pub fn choice(&self, reading: &Reading) -> Result<Result<Choice, Vec<InVain>>, RunFailure> {
        let chosen = self.wanted.chosen(reading)?;
        let again = if self.changed { Again::Changed } else { Again::All };
        Ok(chosen.map(|choice| Choice { again, copies: self.copies, ..choice }))
    }

    /// As it stands in an address, behind the question mark.
    pub fn query(&self) -> String {
        self.query_of(|_| true).join("&")
    }

    /// The same on this sheet, or on the usual ones.
    pub fn on_sheet(&self, number: Option<SheetNumber>) -> String {
        let mut pairs = self.query_of(|name| !SHEETS.contains(&name));
        pairs.extend(number.map(|number| format!("sheet={number}")));
        pairs.join("&")
    }

    /// The same on new sheets.
    pub fn on_new_sheets(&self) -> String {
        let mut pairs = self.query_of(|name| !SHEETS.contains(&name));
        pairs.push("new_sheet=1".to_owned());
        pairs.join("&")
    }

    fn query_of(&self, is_kept: impl Fn(&str) -> bool) -> Vec<String> {
        let kept = self.fields.iter().filter(|(name, _)| is_kept(name));
        kept.map(|(name, value)| format!("{}={}", encoded(name), encoded(value))).collect()
    }

    /// All that was typed into a field.
    pub fn typed(&self, name: &str) -> String {
        self.fields.all(name).collect::<Vec<_>>().join(", ")
    }

    /// Whether a field has this value.
    pub fn has(&self, name: &str, value: &str) -> bool {
        self.fields.all(name).flat_map(|own| own.split(',')).any(|own| own.trim() == value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_the_options_of_the_command() {
        let fields = [
            ("purpose", "work"),
            ("code", "7KF4/A"),
            ("code", "J1/2, J1/3"),
            ("connector", ""),
            ("copies", "2"),
            ("sheet", "3"),
        ];
        let asked = Asked::of(&fields.into_iter().collect());
        assert!(asked.wanted.work && !asked.wanted.final_tags && asked.refused.is_empty());
        assert_eq!(asked.wanted.code, ["7KF4/A", "J1/2", "J1/3"]);
        assert!(asked.wanted.connector.is_empty());
        assert_eq!(
            (asked.copies, asked.laying.sheets),
            (2, SheetNumber::new(3).map(SheetWish::Number).expect("a number"))
        );
        assert_eq!(asked.query(), "purpose=work&code=7KF4%2FA&code=J1%2F2%2C%20J1%2F3&copies=2&sheet=3");
        assert_eq!(asked.on_sheet(SheetNumber::new(9)), asked.query().replace("sheet=3", "sheet=9"));
        assert_eq!(asked.on_sheet(None), asked.query().replace("&sheet=3", ""));
        let refused = Asked::of(&[("copies", "0"), ("sheet", "x"), ("order", "odd")].into_iter().collect());
        assert_eq!(refused.refused.len(), 3);
        let many = |count: usize| Asked::of(&[("code", vec!["J1/2"; count].join(","))].into_iter().collect());
        assert!(many(MOST_WORDS).refused.is_empty() && many(MOST_WORDS).wanted.code.len() == MOST_WORDS);
        assert!(many(MOST_WORDS + 1).refused[0].0.starts_with("501 codes, places and other words"));
    }
}
