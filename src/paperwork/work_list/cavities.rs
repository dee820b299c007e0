//! What becomes of each cavity: taken now, taken when the work is done, or in need of a plug.

use std::collections::BTreeMap;

use super::At;
use super::contents::Content;
use super::task::is_stopped;
use crate::base::{Cavity, Step};
use crate::circuits::{Action, Connector, ConnectorKind};
use crate::paperwork::Harness;

/// Of the cavities that no list names, as many are named.
const MOST_UNNAMED: usize = 60;

/// What becomes of one cavity.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Fate {
    /// The lists have a wire in it now.
    is_listed: bool,
    /// A wire is really there now.
    is_taken: bool,
    /// One is there when the work is done, as far as is decided.
    stays_taken: bool,
    /// One that is there then is a reserved one, which may as well come out.
    is_reserved: bool,
    /// Nobody has decided about one that is there.
    is_undecided: bool,
    /// By notes it is closed.
    is_sealed: bool,
}

impl Fate {
    const fn needs_plug(&self) -> bool {
        self.is_listed && !self.stays_taken
    }
}

/// The cavities of a connector of which lists or moves know.
pub(super) struct Cavities<'a> {
    by_name: BTreeMap<&'a Cavity, Fate>,
    /// No wire stays in the connector: its housing goes, and needs no plugs.
    all_go: bool,
    takes_plugs: bool,
    plug_type: Option<&'a str>,
}

impl<'a> Cavities<'a> {
    /// From the ends in a connector and those that move there. Reserved and undecided ends count as staying in their cavities, and so do those
    /// at which the work is stopped. Fuse
    /// boxes and relay sockets take plugs where connectors.csv names some; studs and splices have no cavities to close.
    pub(super) fn of(harness: &Harness<'a>, content: Content<'_>, connector: Option<&'a Connector>) -> Self {
        let mut by_name: BTreeMap<&Cavity, Fate> = BTreeMap::new();
        for &at in content.ends {
            let end = harness.end(at);
            let Some(cavity) = &end.place.cavity else { continue };
            let fate = by_name.entry(cavity).or_default();
            let is_there = end.action != Action::Add && !harness.is_missing(at);
            let is_stopped = is_there && is_stopped(harness.circuits, at);
            let stays = (end.action.stays_in_its_cavity() && !harness.is_missing(at)) || is_stopped;
            fate.is_listed |= end.action != Action::Add;
            fate.is_taken |= is_there;
            fate.stays_taken |= stays;
            fate.is_reserved |= stays && end.action == Action::Reserve;
            fate.is_undecided |= (stays && end.action == Action::Undecided) || is_stopped;
            fate.is_sealed |= harness.on_bench(at).done.contains(&Step::Sealed);
        }
        let arrives = |at: &&At| !harness.is_missing(**at) && !is_stopped(harness.circuits, **at);
        for &at in content.arrivals.iter().filter(arrives) {
            if let Action::Move(Some(to)) = &harness.end(at).action
                && let Some(cavity) = &to.cavity
            {
                by_name.entry(cavity).or_default().stays_taken = true;
            }
        }
        let kind = connector.map_or(ConnectorKind::Plug, |connector| connector.kind);
        let plug_type = connector.and_then(|connector| connector.plug_type.as_deref());
        let has_housing = !matches!(kind, ConnectorKind::Stud | ConnectorKind::Splice);
        let is_open = matches!(kind, ConnectorKind::Relay | ConnectorKind::FuseBox);
        let takes_plugs = has_housing && (plug_type.is_some() || !is_open);
        let is_any_listed = by_name.values().any(|fate| fate.is_listed);
        let all_go = has_housing && is_any_listed && by_name.values().all(|fate| !fate.stays_taken);
        Self { by_name, all_go, takes_plugs, plug_type }
    }

    /// The cavities that are closed with a plug when the work is done.
    pub(super) fn to_seal(&self) -> Vec<&'a Cavity> {
        if !self.takes_plugs || self.all_go {
            return Vec::new();
        }
        self.by_name.iter().filter(|(_, fate)| fate.needs_plug()).map(|(cavity, _)| *cavity).collect()
    }

    /// Whether this end is the one at whose row the plug of its cavity is ticked: the last of the cavity.
    pub(super) fn is_sealed_at(&self, harness: &Harness<'_>, content_of_cavity: &[At], at: At) -> bool {
        let Some(cavity) = &harness.end(at).place.cavity else { return false };
        let needs_plug = self.by_name.get(cavity).is_some_and(Fate::needs_plug);
        self.takes_plugs && !self.all_go && needs_plug && content_of_cavity.last() == Some(&at)
    }

    /// What there is to say of cavities, a paragraph each: those that no list names, and what is closed.
    pub(super) fn told(&self, unnamed: &[Cavity]) -> Vec<String> {
        let mut told = Vec::new();
        if !unnamed.is_empty() {
            let names: Vec<&str> = unnamed.iter().take(MOST_UNNAMED).map(Cavity::as_str).collect();
            let more = match unnamed.len() - names.len() {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            told.push(format!("Cavities that no list names: {}{more}.", names.join(" ")));
        }
        if self.all_go {
            let unless = if unnamed.is_empty() { "" } else { ", unless a wire sits in a cavity that no list names" };
            told.push(format!("Nothing that the lists name stays: the connector goes, and needs no plugs{unless}."));
            return told;
        }
        let to_seal = self.to_seal();
        if to_seal.is_empty() {
            return told;
        }
        let named: Vec<String> = to_seal.iter().map(ToString::to_string).collect();
        let (count, named) = (named.len(), named.join(" "));
        told.push(match self.plug_type {
            Some(plug_type) => format!("Cavity plugs: {count} of {plug_type}, for {named}."),
            None => format!("Cavity plugs: {count}, type not named in connectors.csv, for {named}."),
        });
        let of_these =
            |is_so: fn(&Fate) -> bool| to_seal.iter().filter(|cavity| is_so(&self.by_name[**cavity])).count();
        let of_all = |is_so: fn(&Fate) -> bool| self.by_name.values().filter(|fate| is_so(fate)).count();
        let empty = of_these(|fate| !fate.is_taken);
        let sealed = of_these(|fate| fate.is_sealed);
        let (reserved, undecided) = (of_all(|fate| fate.is_reserved), of_all(|fate| fate.is_undecided));
        let more: Vec<String> = [
            ("Found empty, so open now", empty),
            ("Sealed by notes", sealed),
            ("Undecided cavities, not counted", undecided),
            ("Reserved, counted as staying in their cavities", reserved),
        ]
        .into_iter()
        .filter(|(_, count)| *count > 0)
        .map(|(what, count)| format!("{what}: {count}."))
        .collect();
        if !more.is_empty() {
            told.push(more.join(" "));
        }
        told
    }
}
