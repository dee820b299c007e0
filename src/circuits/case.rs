//! Cavities whose names differ in case or in leading zeros only. On round connectors `a` and `A` are two cavities, elsewhere somebody was careless:
//! connectors.csv says which, and as long as it does not they stay two and are told. `01` in one list and `1` in another
//! are two, and told.

use std::collections::{BTreeMap, HashMap};

use super::mention::{Mentions, PlaceRef};
use super::problems::{DIFFER_BY_CASE, DIFFER_BY_ZEROS};
use super::{Action, Case, Connector};
use crate::base::{Cavity, ConnectorId, Place, Problem, ProblemKind};

/// Spellings of one cavity that differ in case, in the order of the lists, each with the first mention that has it.
type Spellings<'t> = Vec<(&'t str, usize)>;

/// Gives cavities of connectors whose case does not matter the spelling that stands first, and tells of those of which nobody
/// has said whether it matters.
pub(super) fn settle(
    mentions: &mut Mentions<'_>,
    connectors: &BTreeMap<ConnectorId, Connector>,
    problems: &mut Vec<Problem>,
) {
    let cases: HashMap<&str, Case> =
        connectors.values().filter_map(|connector| Some((connector.id.as_str(), connector.case?))).collect();
    let mut all: HashMap<(&str, String), Spellings<'_>> = HashMap::new();
    for (index, mention) in mentions.all.iter().enumerate() {
        let PlaceRef { connector, cavity: Some(cavity) } = mention.place else { continue };
        if !cavity.chars().any(char::is_alphabetic) || cases.get(connector) == Some(&Case::Matters) {
            continue;
        }
        let spellings = all.entry((connector, cavity.to_lowercase())).or_default();
        if spellings.iter().all(|(known, _)| *known != cavity) {
            spellings.push((cavity, index));
        }
    }
    let is_same = |connector: &str| cases.get(connector) == Some(&Case::Same);
    let mut open: BTreeMap<&str, Vec<&Spellings<'_>>> = BTreeMap::new();
    for ((connector, _), spellings) in all.iter().filter(|(_, spellings)| spellings.len() > 1) {
        if !is_same(connector) {
            open.entry(connector).or_default().push(spellings);
        }
    }
    for (connector, pairs) in open {
        let problem = told(mentions, connector, pairs, &DIFFER_BY_CASE, "case");
        problems.push(problem.remedy(format!(
            "in connectors.csv give `{connector}` the `case` `matters` where they are two, `same` where they are one"
        )));
    }
    tell_zeros(mentions, problems);
    if cases.values().all(|case| *case == Case::Matters) {
        return;
    }
    for mention in &mut mentions.all {
        let first = |connector: &str, cavity: &str| {
            let spellings = all.get(&(connector, cavity.to_lowercase())).filter(|_| is_same(connector))?;
            Some(spellings.first()?.0)
        };
        let PlaceRef { connector, cavity } = mention.place;
        mention.place.cavity = cavity.map(|cavity| first(connector, cavity).unwrap_or(cavity));
        if let Some(Action::Move(Some(Place { connector, cavity: Some(cavity) }))) = &mut mention.action
            && let Some(spelling) = first(connector.as_str(), cavity.as_str()).and_then(Cavity::from_cell)
        {
            *cavity = spelling;
        }
    }
}

/// Tells of cavities such as `01` and `1` of one connector.
fn tell_zeros(mentions: &Mentions<'_>, problems: &mut Vec<Problem>) {
    let mut padded: HashMap<(&str, &str), Spellings<'_>> = HashMap::new();
    for (index, mention) in mentions.all.iter().enumerate() {
        if let PlaceRef { connector, cavity: Some(cavity) } = mention.place
            && cavity.len() > 1
            && cavity.starts_with('0')
        {
            let spellings = padded.entry((connector, cavity.trim_start_matches('0'))).or_default();
            if spellings.iter().all(|(known, _)| *known != cavity) {
                spellings.push((cavity, index));
            }
        }
    }
    if padded.is_empty() {
        return;
    }
    for (index, mention) in mentions.all.iter().enumerate() {
        let PlaceRef { connector, cavity: Some(cavity) } = mention.place else { continue };
        if let Some(spellings) = padded.get_mut(&(connector, cavity))
            && spellings.iter().all(|(known, _)| *known != cavity)
        {
            spellings.push((cavity, index));
        }
    }
    // One list that has both means two.
    let is_of_two_lists = |spellings: &Spellings<'_>| match spellings.as_slice() {
        [(_, one), (_, other), ..] => mentions.all[*one].sheet != mentions.all[*other].sheet,
        _ => false,
    };
    padded.values_mut().for_each(|spellings| spellings.sort_unstable_by_key(|(_, index)| *index));
    let mut open: BTreeMap<&str, Vec<&Spellings<'_>>> = BTreeMap::new();
    for ((connector, _), spellings) in padded.iter().filter(|(_, spellings)| is_of_two_lists(spellings)) {
        open.entry(connector).or_default().push(spellings);
    }
    for (connector, pairs) in open {
        let problem = told(mentions, connector, pairs, &DIFFER_BY_ZEROS, "leading zeros");
        problems
            .push(problem.remedy("write them alike; give the column the format text first, or the zeros are dropped"));
    }
}

/// One problem for all such cavities of a connector: a round one has many.
fn told(
    mentions: &Mentions<'_>,
    connector: &str,
    mut pairs: Vec<&Spellings<'_>>,
    kind: &ProblemKind,
    what: &str,
) -> Problem {
    const SHOWN: usize = 3;
    pairs.sort_unstable_by_key(|spellings| spellings[1].1);
    let both = |spellings: &&Spellings<'_>| format!("`{}` and `{}`", spellings[0].0, spellings[1].0);
    let mut shown: Vec<String> = pairs.iter().take(SHOWN).map(both).collect();
    if pairs.len() > SHOWN {
        shown.push(format!("{} more", pairs.len() - SHOWN));
    }
    let what = format!("cavities of `{connector}` differ in {what} only and count as two: {}", shown.join(", "));
    let ((first, at), (second, other)) = (pairs[0][0], pairs[0][1]);
    let problem = kind.says(what).at(mentions.origin(&mentions.all[other]));
    problem.see(format!("`{first}` stands here, `{second}` there"), mentions.origin(&mentions.all[at]))
}
