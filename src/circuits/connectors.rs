//! connectors.csv -> connectors: kind, face, mates, branch and the action for all cavities of each.

use std::collections::BTreeMap;

use super::face;
use super::headers::{Column, TableKind};
use super::problems::{
    BAD_DESIGNATION, DUPLICATE_CONNECTOR, MATES_DISAGREE, MISSING_PLACE, UNKNOWN_ACTION, UNKNOWN_CASE,
    UNKNOWN_CONNECTOR_KIND,
};
use super::sheet::Sheet;
use super::words;
use super::{Connector, ConnectorKind, List, inputs};
use crate::base::nearest::did_you_mean;
use crate::base::{ConnectorId, Origin, Problem};

/// What connectors.csv says.
#[derive(Debug, Default)]
pub(super) struct Connectors {
    /// The connectors by designation.
    pub(super) all: BTreeMap<ConnectorId, Connector>,
    /// Where the other half of each is named.
    pub(super) mates_at: BTreeMap<ConnectorId, Origin>,
}

/// Reads connectors.csv. A row with an error describes no connector.
pub(super) fn read(list: &List, problems: &mut Vec<Problem>) -> Connectors {
    let mut connectors = Connectors::default();
    for input in inputs::read(std::slice::from_ref(list), TableKind::Connectors, problems) {
        if let Some(sheet) = input.open(TableKind::Connectors, problems) {
            read_rows(&sheet, &mut connectors, problems);
        }
    }
    settle_mates(&list.name, &mut connectors, problems);
    connectors
}

fn read_rows(sheet: &Sheet<'_>, connectors: &mut Connectors, problems: &mut Vec<Problem>) {
    for row in sheet.rows(problems) {
        let Some(connector) = connector(sheet, row, problems) else { continue };
        match connectors.all.get(&connector.id) {
            None => {
                if connector.mates.is_some() {
                    let origin = sheet.origin(row, Column::Mates);
                    connectors.mates_at.insert(connector.id.clone(), origin);
                }
                connectors.all.insert(connector.id.clone(), connector);
            }
            Some(first) => {
                let what = format!("`{}` is described twice", connector.id);
                let problem =
                    DUPLICATE_CONNECTOR.says(what).at(connector.origin).see("described first", first.origin.clone());
                problems.push(problem.remedy("keep one of the two rows"));
            }
        }
    }
}

fn connector(sheet: &Sheet<'_>, row: usize, problems: &mut Vec<Problem>) -> Option<Connector> {
    let origin = |column| sheet.origin(row, column);
    let Some(id) = sheet.get(row, Column::Connector).and_then(ConnectorId::from_cell) else {
        let remedy = "write its designation as the lists have it: `J1`";
        problems.push(MISSING_PLACE.says("this row names no connector").at(origin(Column::Connector)).remedy(remedy));
        return None;
    };
    let before = problems.len();
    if id.as_str().chars().any(char::is_control) {
        let what = format!("the designation `{}` holds a line break", id.as_str().escape_debug());
        problems.push(BAD_DESIGNATION.says(what).at(origin(Column::Connector)).remedy("write it on one line"));
    }
    let kind = sheet.get(row, Column::Kind).map_or(Some(ConnectorKind::default()), |cell| {
        let tell = |near: Option<&str>| {
            let problem =
                UNKNOWN_CONNECTOR_KIND.says(format!("`{cell}` is no kind of connector")).at(origin(Column::Kind));
            let all = || "write plug, inline, relay, fuse box, stud or splice".to_owned();
            problems.push(problem.remedy(near.map_or_else(all, did_you_mean)));
        };
        words::kind(cell, sheet.words()).map_err(tell).ok()
    });
    let case = sheet.get(row, Column::Case).and_then(|cell| {
        let tell = |near: Option<&str>| {
            let problem = UNKNOWN_CASE.says(format!("`{cell}` does not say what case means")).at(origin(Column::Case));
            let all = || "write `matters` where `a` and `A` are two cavities, `same` where they are one".to_owned();
            problems.push(problem.remedy(near.map_or_else(all, did_you_mean)));
        };
        words::case(cell).map_err(tell).ok()
    });
    let face = face::row::read(sheet, row, problems);
    let action = sheet.get(row, Column::Action).and_then(|cell| match words::action_with(cell, sheet.words()) {
        Ok(action) => Some(action),
        Err(near) => {
            problems.push(unknown_action(cell, near).at(origin(Column::Action)));
            None
        }
    });
    if problems.len() > before {
        return None;
    }
    let words = |column| sheet.get(row, column).map(one_line);
    Some(Connector {
        id,
        kind: kind?,
        short_name: words(Column::ShortName),
        face,
        mates: sheet.get(row, Column::Mates).and_then(ConnectorId::from_cell),
        branch: words(Column::Branch),
        plug_type: words(Column::PlugType),
        action,
        case,
        origin: origin(Column::Connector),
    })
}

/// A text on one line: line breaks and repeated spaces become single spaces.
pub(super) fn one_line(cell: &str) -> String {
    let is_plain = !cell.contains("  ") && !cell.chars().any(char::is_control);
    if is_plain {
        cell.to_owned()
    } else {
        cell.split(|c: char| c.is_whitespace() || c.is_control())
            .filter(|word| !word.is_empty())
            .collect::<Vec<_>>()
            .join(" ")
    }
}

/// The problem of an action that is none, with the nearest one.
pub(super) fn unknown_action(cell: &str, near: Option<&str>) -> Problem {
    let all = "write keep, remove, cut, move, move to J4/7, add, extend or reserve, or nothing while undecided";
    let remedy = near.map_or_else(|| all.to_owned(), did_you_mean);
    UNKNOWN_ACTION.says(format!("`{cell}` is no action")).remedy(remedy)
}

/// Makes mating mutual: where only one half names the other, both know. Halves that name different ones are told, and
/// mate with nothing.
fn settle_mates(file: &str, connectors: &mut Connectors, problems: &mut Vec<Problem>) {
    let pairs: Vec<(ConnectorId, ConnectorId)> = connectors
        .all
        .values()
        .filter_map(|connector| Some((connector.id.clone(), connector.mates.clone()?)))
        .collect();
    for (one, other) in pairs {
        let its_own = match connectors.all.get(&other) {
            _ if one == other => Some(one.clone()),
            Some(half) => half.mates.clone(),
            None => continue,
        };
        match its_own {
            None => {
                if let Some(half) = connectors.all.get_mut(&other) {
                    half.mates = Some(one);
                }
            }
            Some(back) if back == one && one != other => {}
            Some(back) => {
                let Some(half) = connectors.all.get_mut(&one) else { continue };
                half.mates = None;
                let what = match one == other {
                    true => format!("`{one}` mates with itself"),
                    false => format!("`{one}` mates with `{other}`, but `{other}` with `{back}`"),
                };
                let problem =
                    MATES_DISAGREE.says(what).at(connectors.mates_at.get(&one).unwrap_or(&half.origin).clone());
                let problem = match connectors.all.get(&other) {
                    Some(half) if one != other => {
                        problem.see(format!("`{other}` is described here"), half.origin.clone())
                    }
                    _ => problem,
                };
                let remedy = format!("in `{file}` name the other half in both rows, or in one of them only");
                problems.push(problem.remedy(remedy));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuits::face::{Latch, Side};
    use crate::circuits::{Action, ListSettings};

    fn read_text(text: &str) -> (BTreeMap<ConnectorId, Connector>, Vec<Problem>) {
        let list = List {
            name: "connectors.csv".to_owned(),
            bytes: text.as_bytes().to_vec(),
            settings: ListSettings::default(),
        };
        let mut problems = Vec::new();
        (read(&list, &mut problems).all, problems)
    }

    fn id(name: &str) -> ConnectorId {
        ConnectorId::from_cell(name).expect("not empty")
    }

    #[test]
    fn marsh_hen_connectors() {
        let (connectors, problems) = read_text(
            "connector,kind,short name,rows,columns,numbering,latch,mates,branch,plug type,action\n\
             J1,plug,engine ECU,4,14,by rows,top,,engine,round 2.8,remove\n\
             X3P,inline,,,,,,X3S,engine,,\n\
             X3S,Kupplung,,,,,,,helm,,\n\
             FB,Sicherungskasten,,,,,,,,,\n\
             G1,stud,,,,,,,,,keep\n",
        );
        assert_eq!(problems, []);
        let ecu = &connectors[&id("J1")];
        assert_eq!((ecu.face.row_lengths(), ecu.action.as_ref()), (Some(vec![14; 4]), Some(&Action::Remove)));
        assert_eq!(connectors[&id("X3S")].mates, Some(id("X3P")));
        assert_eq!(connectors[&id("FB")].kind, ConnectorKind::FuseBox);
        assert_eq!(connectors[&id("G1")].kind, ConnectorKind::Stud);
    }

    #[test]
    fn what_is_wrong_is_told_and_left_out() {
        let (connectors, problems) = read_text(
            "connector,kind,rows,mates,action\nJ1,plugg,,,\nJ2,,many,,\nJ3,,,,keeep\n,plug,,,\nJ4,,,,\nJ4,,,,\n\
             A,inline,,B,\nB,inline,,C,\nC,inline,,C,\n",
        );
        let shown: Vec<_> = problems.iter().map(|p| (p.id, p.message.as_str())).collect();
        assert_eq!(
            shown,
            [
                ("unknown-connector-kind", "`plugg` is no kind of connector"),
                ("bad-count", "`many` is no number of rows"),
                ("unknown-action", "`keeep` is no action"),
                ("missing-place", "this row names no connector"),
                ("duplicate-connector", "`J4` is described twice"),
                ("mates-disagree", "`A` mates with `B`, but `B` with `C`"),
                ("mates-disagree", "`B` mates with `C`, but `C` with `C`"),
                ("mates-disagree", "`C` mates with itself"),
            ]
        );
        assert_eq!(problems[0].remedy.as_deref(), Some("did you mean `plug`?"));
        assert_eq!(connectors.len(), 4);
    }

    #[test]
    fn faces_that_are_not_understood_are_told_at_their_cells() {
        let (connectors, problems) = read_text(
            "connector,rows,columns,numbering,latch,view,stagger\nJ1,2,3,by rowes,,,\nJ2,2,3,as in the book,,,\n\
             J3,2,3,by rows by columns,,,\nJ4,2,8 7 8,,,,\nJ5,,8 x,,,,\nJ6,999,999,,,,\nJ7,,,,beside,,\nJ8,,,,,behind,\nJ9,,,,,,half\n\
             J10,3,8 7 8,\"rows lettered, from bottom right\",\"left, wire side\",,right\n",
        );
        let shown: Vec<_> = problems
            .iter()
            .map(|p| format!("{} {}: {}", p.origin.as_ref().unwrap(), p.message, p.remedy.as_deref().unwrap()))
            .collect();
        assert_eq!(
            shown,
            [
                "connectors.csv:2:8 `by rowes` says nothing of a numbering that is understood: did you mean `by rows`?",
                "connectors.csv:3:8 `as in the book` says nothing of a numbering that is understood: write by rows, by columns, \
                 back and forth, rows lettered, columns lettered, lettered or rings, or nothing",
                "connectors.csv:4:8 a numbering cannot be `by rows` and `by columns`: leave one of the two",
                "connectors.csv:5:6 `8 7 8` gives cavities of 3 rows, and there are 2: mend `rows` or `columns`, or leave `rows` \
                 blank",
                "connectors.csv:6:5 `8 x` is no number of columns: write a whole number, 1 to 999, or the cavities of each row \
                 from the top: `8 7 8`",
                "connectors.csv:7:8 rows and columns make 998001 cavities: a connector may have 9999; mend `rows` or `columns`",
                "connectors.csv:8:7 `beside` says nothing of a latch that is understood: write top, bottom, left, right or none, \
                 or nothing",
                "connectors.csv:9:8 `behind` says nothing of a view that is understood: write mating face or wire side, or nothing",
                "connectors.csv:10:9 `half` says nothing of a stagger that is understood: write `right` or `left`, the way the \
                 second row is shifted, or `no`, or nothing",
            ]
        );
        let face = &connectors[&id("J10")].face;
        assert_eq!((face.count(), face.latch), (Some(23), Some(Latch::At(Side::Right))), "told in the view of the row");
    }
}
