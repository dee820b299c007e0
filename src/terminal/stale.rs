//! Tags that no longer tell the truth, and tags that are due, in words and for programs.

use serde_json::{Value, json};

use super::table::{columns, wrapped};
use crate::base::{Purpose, counted};
use crate::run::stale::{Change, Due, LeftCode, Remedy, Stale, StaleTag};

/// As many are told one by one; of more, the others are counted.
const TOLD: usize = 20;

/// What is told when nothing is due.
pub const NOTHING_CHANGED: &str =
    "nothing has changed: every tag that can be made is printed, and says what it would say now";

/// The table of stale tags: what hangs there, what is true now, and what to do.
pub fn lines(stale: &Stale) -> Vec<String> {
    if stale.is_empty() {
        return Vec::new();
    }
    let heading = ["tag", "place", "what to do", "what it says -> what is true"].map(str::to_owned).to_vec();
    let all = stale.tags.iter().map(tag_row).chain(stale.left.iter().map(code_row));
    let rows: Vec<Vec<String>> = std::iter::once(heading).chain(all.take(TOLD)).collect();
    let (told, of_all) = (rows.len() - 1, stale.tags.len() + stale.left.len());
    // What it says is as long as it is; the columns before it are set.
    let before: Vec<Vec<String>> = rows.iter().map(|row| row[..3].to_vec()).collect();
    let before = columns(&before);
    let indent = before.iter().map(|line| line.chars().count()).max().unwrap_or(0) + 2;
    let mut lines = vec![format!("{}:", summary(stale))];
    for (before, row) in before.iter().zip(&rows) {
        let width = indent - 2;
        lines.extend(wrapped(&format!("{before:width$}  {}", row[3]), 2));
    }
    if told < of_all {
        lines.push(format!("and {} more; `loomtag check --json` tells all", of_all - told));
    }
    lines
}

/// That nothing is said of tags whose rows may be among those that cannot be read.
pub fn not_known(stale: &Stale) -> String {
    let tags = counted(stale.not_known, "printed tag");
    format!("{tags} of ends in no row that could be read: leave them on until all lists are read")
}

/// `3 tags on wires no longer tell the truth, and 1 code has no circuit in the lists`.
pub fn summary(stale: &Stale) -> String {
    let tags = || {
        let verb = if stale.tags.len() == 1 { "tells" } else { "tell" };
        format!("{} on wires no longer {verb} the truth", counted(stale.tags.len(), "printed tag"))
    };
    let codes = || {
        let (verb, whose) = if stale.left.len() == 1 { ("has", "its") } else { ("have", "their") };
        format!("{} {verb} printed tags, and {whose} circuit has left the lists", counted(stale.left.len(), "code"))
    };
    match (stale.tags.is_empty(), stale.left.is_empty()) {
        (false, true) => tags(),
        (true, false) => codes(),
        _ => format!("{}; {}", tags(), codes()),
    }
}

fn tag_row(tag: &StaleTag) -> Vec<String> {
    let says = format!("{}{}", changes(&tag.changes), tag.standing.in_words());
    vec![named(&tag.tag, &tag.purpose), tag.place.clone(), remedy(&tag.remedy), says]
}

fn code_row(left: &LeftCode) -> Vec<String> {
    const PLACES: usize = 4;
    let mut places: Vec<&str> = left.tags.iter().map(|tag| tag.place.as_str()).collect();
    places.dedup();
    let more = if places.len() > PLACES { ", ..." } else { "" };
    let places = format!("{}{more}", places[..places.len().min(PLACES)].join(", "));
    let says = left.tags.first().and_then(|tag| tag.says.first()).map(|line| format!("`{line}`")).unwrap_or_default();
    let names = left.designations.join(" = ");
    let (what_to_do, is_true) = match (&left.likely_renamed, &left.designations[..]) {
        (Some(new), [old]) => (format!("rename {old} {new}"), format!("circuit {names} is likely {new} now")),
        (Some(new), _) => ("rename".to_owned(), format!("circuit {names} is likely {new} now")),
        (None, _) => ("take off".to_owned(), format!("circuit {names} has left the lists")),
    };
    vec![left.code.clone(), places, what_to_do, format!("{says} -> {is_true}").trim_start().to_owned()]
}

/// `7KF4 A`, `7KF4 A final`: an end may have both.
fn named(tag: &str, purpose: &str) -> String {
    if purpose == Purpose::Final.to_string() { format!("{tag} {purpose}") } else { tag.to_owned() }
}

fn changes(changes: &[Change]) -> String {
    changes.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

fn remedy(remedy: &Remedy) -> String {
    match remedy {
        Remedy::Changed => "tags --changed".to_owned(),
        Remedy::Reprint(what) => format!("reprint {what}"),
        Remedy::TakeOff => "take off".to_owned(),
    }
}

/// All of them, for programs.
pub fn stale_json(stale: &Stale) -> Value {
    let tag = |tag: &StaleTag| {
        json!({
            "tag": tag.tag,
            "code": tag.code,
            "place": tag.place,
            "purpose": tag.purpose,
            "run": tag.run,
            "standing": tag.standing,
            "changes": tag.changes,
            "what_to_do": remedy(&tag.remedy),
        })
    };
    json!({ "tags": stale.tags.iter().map(tag).collect::<Vec<_>>(), "left_the_lists": stale.left, "not_known": stale.not_known })
}

/// Which tags are due: how many are new, and what the others said.
pub fn due_lines(due: &[Due]) -> Vec<String> {
    let changed: Vec<&Due> = due.iter().filter(|tag| !tag.is_new()).collect();
    let new = due.len() - changed.len();
    let mut lines = vec![format!("{} new, {} changed since it was printed", counted(new, "tag"), changed.len())];
    for tag in changed.iter().take(TOLD) {
        lines.extend(wrapped(
            &format!("{} at {}: {}", named(&tag.tag, &tag.purpose), tag.place, changes(&tag.changes)),
            2,
        ));
    }
    if changed.len() > TOLD {
        lines.push(format!("and {} more changed", changed.len() - TOLD));
    }
    lines
}

/// The same for programs.
pub fn due_json(due: &[Due]) -> Value {
    let one = |tag: &Due| {
        json!({
            "tag": tag.tag,
            "place": tag.place,
            "purpose": tag.purpose,
            "standing": if tag.is_new() { "new" } else { "changed" },
            "changes": tag.changes,
        })
    };
    due.iter().map(one).collect()
}
