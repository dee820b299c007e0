//! Which kind of tag an end gets: by its row's own wish, by a rule of job.toml, else the usual one.
//!
//! ```toml
//! [[kind]]                      # rules in order: of those whose conditions all hold, the first is taken
//! kind = "tie-on"               # flag, wrap, tie-on, sleeve or strip; a rule for work tags says nothing of final tags
//! connector = "G2"              # the end's connector, or the connector itself; marks along wires are at none
//! action = "reserve"            # what shall be done with the end
//! supply = "constant"           # how its circuit is fed; restraint and high-voltage also where words say so
//! thicker = 12                  # the wire is thicker than this
//! thinner = 1                   # the wire is thinner than this
//! ```

use std::collections::BTreeSet;

use super::problems::{NO_SLEEVE_PRINTER, NO_WRAP_STOCK, RULE_NEVER_HOLDS, UNKNOWN_RULE_CONNECTOR};
use crate::base::nearest::{did_you_mean, nearest};
use crate::base::settings::{Least, Reader, Table};
use crate::base::{ConnectorId, Length, Problem, Stated, TagKind};
use crate::circuits::{Action, Circuits, Supply};
use crate::labels::{Label, TagName};
use crate::layout::Diameter;

/// More than any wire or branch is thick.
const THICKEST: Length = Length::nm(500_000_000);

/// The actions that a rule may name, as the action column has them.
const ACTIONS: [(&str, &str); 8] = [
    word_of(&Action::Undecided),
    word_of(&Action::Keep),
    word_of(&Action::Remove),
    word_of(&Action::Cut),
    word_of(&Action::Move(None)),
    word_of(&Action::Add),
    word_of(&Action::Extend),
    word_of(&Action::Reserve),
];

const fn word_of(action: &Action) -> (&'static str, &'static str) {
    (action.word(), action.word())
}

/// A rule: the kind of the tags of all ends for which its conditions hold.
#[derive(Clone, Debug, PartialEq)]
pub struct KindRule {
    /// The kind.
    pub kind: Stated<TagKind>,
    /// Connector of the end.
    pub connector: Option<Stated<ConnectorId>>,
    action: Option<&'static str>,
    supply: Option<Supply>,
    thicker: Option<Length>,
    thinner: Option<Length>,
}

/// The kind of a tag, and who asks for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Chosen {
    pub(super) kind: TagKind,
    pub(super) by: ChosenBy,
}

/// Who asks for a kind of tag. What is asked for by row or rule is made or refused; for the usual kind another may stand in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum ChosenBy {
    Row,
    Rule,
    Usual,
}

impl KindRule {
    fn holds(&self, label: &Label, diameter: Diameter) -> bool {
        // A diameter that nobody knows is neither thicker nor thinner than anything.
        let known = match diameter {
            Diameter::Measured(length) | Diameter::Tabled(length, _) => Some(length),
            Diameter::Assumed(_) => None,
        };
        let connector = self.connector.as_ref().map(|connector| &connector.value);
        let is_at = |connector: &ConnectorId| {
            label.place.as_ref().is_some_and(|place| place.connector == *connector)
                && !matches!(label.name, TagName::Between { .. })
        };
        self.kind.value.purpose() == label.purpose
            && connector.is_none_or(is_at)
            && self.action.is_none_or(|action| label.action.as_ref().is_some_and(|known| known.word() == action))
            && self.supply.is_none_or(|supply| label.supply == Some(supply))
            && self.thicker.is_none_or(|least| known.is_some_and(|diameter| diameter > least))
            && self.thinner.is_none_or(|most| known.is_some_and(|diameter| diameter < most))
    }
}

/// The kind of a label's tag: its own wish goes before the rules, and these before what is usual.
pub(super) fn choose(label: &Label, diameter: Diameter, rules: &[KindRule], usual: TagKind) -> Chosen {
    if let Some(kind) = label.wish.filter(|kind| kind.purpose() == label.purpose) {
        return Chosen { kind, by: ChosenBy::Row };
    }
    match rules.iter().find(|rule| rule.holds(label, diameter)) {
        Some(rule) => Chosen { kind: rule.kind.value, by: ChosenBy::Rule },
        None => Chosen { kind: usual, by: ChosenBy::Usual },
    }
}

/// Reads the `[[kind]]` tables.
pub(super) fn read_rules(reader: &mut Reader, top: &Table<'_>) -> Vec<KindRule> {
    let tables = reader.tables(top, "kind").unwrap_or_default();
    tables.iter().filter_map(|table| read_rule(reader, table)).collect()
}

fn read_rule(reader: &mut Reader, table: &Table<'_>) -> Option<KindRule> {
    reader.expect_keys(table, &["kind"], &["connector", "action", "supply", "thicker", "thinner"]);
    let supplies = Supply::ALL.map(|supply| (supply.word(), supply));
    let connector = reader.text(table, "connector").and_then(|text| {
        let id = ConnectorId::from_cell(&text.value)?;
        Some(text.map(|_| id))
    });
    let action = reader.word(table, "action", &ACTIONS).map(|action| action.value);
    let supply = reader.word(table, "supply", &supplies).map(|supply| supply.value);
    let thicker = reader.length(table, "thicker", Least::Zero, THICKEST);
    let thinner = reader.length(table, "thinner", Least::AboveZero, THICKEST);
    if let (Some(thicker), Some(thinner)) = (&thicker, &thinner)
        && thicker.value >= thinner.value
    {
        let message = format!("no wire is thicker than {} and thinner than {}", thicker.value, thinner.value);
        let problem = RULE_NEVER_HOLDS.says(message).remedy("leave one of the two out, or make two rules of it");
        reader.tell(thinner.point(problem));
    }
    // A condition that cannot be read must not widen the rule.
    let is_read = |key: &str, read: bool| read || !table.has(key);
    let all = is_read("connector", connector.is_some())
        && is_read("action", action.is_some())
        && is_read("supply", supply.is_some())
        && is_read("thicker", thicker.is_some())
        && is_read("thinner", thinner.is_some());
    let kind = reader.word(table, "kind", &TagKind::WORDS)?;
    let value = |length: Option<Stated<Length>>| length.map(|length| length.value);
    all.then_some(KindRule { kind, connector, action, supply, thicker: value(thicker), thinner: value(thinner) })
}

/// Tells of connectors that rules name and that stand in no list.
pub(super) fn unknown_connectors(rules: &[KindRule], circuits: &Circuits) -> Vec<Problem> {
    let ends = circuits.all().iter().flat_map(|circuit| circuit.ends());
    let known: BTreeSet<&str> = ends.map(|end| end.place.connector.as_str()).collect();
    let named = rules.iter().filter_map(|rule| rule.connector.as_ref());
    let unknown = named.filter(|connector| !known.contains(connector.value.as_str()));
    let tell = |connector: &Stated<ConnectorId>| {
        let name = connector.value.as_str();
        let problem = UNKNOWN_RULE_CONNECTOR.says(format!("no list has a connector `{name}`"));
        let remedy = nearest(name, known.iter().copied())
            .map_or_else(|| "write it as the lists do, or leave the rule out".to_owned(), did_you_mean);
        connector.point(problem.remedy(remedy))
    };
    unknown.map(tell).collect()
}

/// What job.toml names that kinds of tags are made with.
#[derive(Clone, Copy)]
pub(super) struct AtHand {
    /// A stock for wraps.
    pub(super) wraps: bool,
    /// A printer of sleeves.
    pub(super) sleeves: bool,
}

/// Tells of kinds that job.toml asks for, each under its key, and that cannot be made with what it names.
pub(super) fn check_at_hand<'k>(
    reader: &mut Reader,
    asked: impl Iterator<Item = (&'static str, &'k Stated<TagKind>)>,
    at_hand: AtHand,
) {
    for (key, kind) in asked {
        let problem = match kind.value {
            TagKind::Wrap if !at_hand.wraps => NO_WRAP_STOCK
                .says(format!("`{key}` is `wrap`, but the job names no stock for wraps"))
                .remedy("add `wrap_stock` to [tags], such as \"a4-49-25x38-wrap13\""),
            TagKind::Sleeve if !at_hand.sleeves => NO_SLEEVE_PRINTER
                .says(format!("`{key}` is `sleeve`, but the job names no sleeve printer"))
                .remedy("add a table [sleeve_printer], or choose `strip`, which an office printer can make"),
            _ => continue,
        };
        reader.tell(kind.point(problem));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::{Place, Purpose, Source, TagCode};

    /// The rules of a text, and its problems as `line:column id message`.
    fn read(text: &str) -> (Vec<KindRule>, Vec<String>) {
        let read = crate::base::settings::read(&Source::new("job.toml", text), read_rules);
        let told = read.problems.iter().map(|problem| {
            let at = problem.origin.as_ref().map(ToString::to_string).unwrap_or_default();
            format!("{} {} {}", at.replace("job.toml:", ""), problem.id, problem.message)
        });
        let told = told.collect();
        (read.value.unwrap(), told)
    }

    fn label(purpose: Purpose, place: &str, action: Action, supply: Option<Supply>) -> Label {
        Label {
            name: TagName::Ends { code: TagCode::from_typed("7KF4").unwrap(), letters: Vec::new() },
            purpose,
            place: Place::from_typed(place),
            at: None,
            payload: None,
            fields: Vec::new(),
            colour: None,
            bands: Vec::new(),
            wires: Vec::new(),
            wish: None,
            action: Some(action),
            supply,
        }
    }

    #[test]
    fn the_first_rule_that_holds_counts() {
        let (rules, told) = read(
            "[[kind]]\nkind = \"wrap\"\nconnector = \"J1\"\naction = \"cut\"\nthicker = 2\nthinner = \"0.25 in\"\n\
             [[kind]]\nkind = \"tie-on\"\nsupply = \"constant\"\n\
             [[kind]]\nkind = \"strip\"\nconnector = \"J1\"\n",
        );
        assert_eq!(told, Vec::<String>::new());
        let on = |label: &Label, diameter: Diameter| {
            let usual = if label.purpose == Purpose::Work { TagKind::Flag } else { TagKind::Sleeve };
            let chosen = choose(label, diameter, &rules, usual);
            (chosen.kind, chosen.by)
        };
        let measured = |mm| Diameter::Measured(Length::mm(mm));
        let cut = label(Purpose::Work, "J1/3", Action::Cut, Some(Supply::Constant));
        assert_eq!(on(&cut, measured(3.0)), (TagKind::Wrap, ChosenBy::Rule));
        // Neither as thick as the one bound nor as thin as the other, and not known at all.
        for diameter in [measured(2.0), measured(6.35), Diameter::Assumed(Length::mm(3.0))] {
            assert_eq!(on(&cut, diameter), (TagKind::TieOn, ChosenBy::Rule), "{diameter:?}");
        }
        let moved = label(Purpose::Work, "J1/3", Action::Move(None), Some(Supply::Signal));
        assert_eq!(on(&moved, measured(3.0)), (TagKind::Flag, ChosenBy::Usual));
        let elsewhere = label(Purpose::Work, "J2/3", Action::Cut, None);
        assert_eq!(on(&elsewhere, measured(3.0)), (TagKind::Flag, ChosenBy::Usual));
        // A rule for work tags says nothing of final tags.
        let finished = label(Purpose::Final, "J1/3", Action::Cut, Some(Supply::Constant));
        assert_eq!(on(&finished, measured(3.0)), (TagKind::Strip, ChosenBy::Rule));
        // A mark along the wire is not at the connector.
        let TagName::Ends { code, letters } = finished.name.clone() else { panic!("it is of an end") };
        let mark = Label { name: TagName::Between { code, letters }, ..finished.clone() };
        assert_eq!(on(&mark, measured(3.0)), (TagKind::Sleeve, ChosenBy::Usual));
        // The row's own wish goes first, if it is for this tag.
        let wished = Label { wish: Some(TagKind::Flag), ..cut };
        assert_eq!(on(&wished, measured(3.0)), (TagKind::Flag, ChosenBy::Row));
        let wished = Label { wish: Some(TagKind::Flag), ..finished };
        assert_eq!(on(&wished, measured(3.0)), (TagKind::Strip, ChosenBy::Rule));
    }

    #[test]
    fn a_rule_that_cannot_be_read_is_told_and_left_out() {
        let (rules, told) = read(
            "[[kind]]\nconnector = \"J1\"\n[[kind]]\nkind = \"flagg\"\n[[kind]]\nkind = \"wrap\"\naction = \"chop\"\n\
             [[kind]]\nkind = \"wrap\"\nsupply = \"30\"\n[[kind]]\nkind = \"wrap\"\nthicker = \"thick\"\n\
             [[kind]]\nkind = \"wrap\"\nthicker = 12\nthinner = 10\n",
        );
        assert_eq!(
            told,
            [
                "1:1 missing-setting `kind` is missing in [[kind]]",
                "4:8 unknown-word `kind` cannot be `flagg`",
                "7:10 unknown-word `action` cannot be `chop`",
                "10:10 unknown-word `supply` cannot be `30`",
                "13:11 not-a-length `thicker` is `thick`, which is not a length",
                "17:11 rule-never-holds no wire is thicker than 12 mm and thinner than 10 mm",
            ]
        );
        assert_eq!(rules.len(), 1, "a condition that cannot be read does not widen its rule");
    }
}
