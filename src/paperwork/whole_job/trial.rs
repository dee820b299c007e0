//! Jobs to make sheets of: the example job, and small ones; and what is written on a sheet.

use crate::base::{CircuitId, Insulation};
use crate::circuits::list::{List, ListSettings};
use crate::circuits::{Circuits, JobLists, insulation, read};
use crate::codes::link::{LinkBase, Payload};
use crate::codes::{Issued, Register};
use crate::layout::Item;
use crate::layout::text::Fonts;
use crate::paperwork::letterhead::{Letterhead, Paper, pages};
use crate::paperwork::{Harness, Sheet};

/// All that a [`Harness`] borrows.
pub(super) struct Job {
    pub(super) circuits: Circuits,
    pub(super) issued: Issued,
    pub(super) payload: Payload,
}

impl Job {
    /// A job of one list, and what connectors.csv says.
    pub(super) fn of(rows: &str, connectors: &str) -> Self {
        Self::from_lists(&[list("loom.csv", rows.as_bytes())], connectors.as_bytes())
    }

    /// *Marsh Hen*, as its job.toml has her.
    pub(super) fn marsh_hen() -> Self {
        macro_rules! file {
            ($name:literal) => {
                list($name, include_bytes!(concat!("../../../examples/marsh-hen/", $name)))
            };
        }
        let mut helm = file!("helm.csv");
        helm.settings.size_unit = Some(crate::base::conductor::SizeUnit::Awg);
        helm.settings.insulation = boat_cable();
        helm.settings.columns.insert("circuit".to_owned(), "wire no.".to_owned());
        let lists = [
            file!("j1-engine-control.csv"),
            file!("j2-fahrzeugstecker.csv"),
            file!("engine-plugs.csv"),
            file!("x3-bulkhead.csv"),
            file!("x5-cab.csv"),
            file!("p7-instruments.csv"),
            file!("fb1-fuses-relays.csv"),
            helm,
            file!("wires.csv"),
        ];
        Self::from_lists(&lists, include_bytes!("../../../examples/marsh-hen/connectors.csv"))
    }

    fn from_lists(lists: &[List], connectors: &[u8]) -> Self {
        let connectors = list("connectors.csv", connectors);
        let circuits = read(&JobLists { connectors: Some(&connectors), ..JobLists::of(lists) });
        assert!(!crate::base::problem::has_errors(&circuits.problems), "{:?}", circuits.problems);
        let circuits = circuits.value;
        let issued = Register::in_memory().and_then(|register| register.preview(&circuits)).expect("there is memory");
        let base = LinkBase::from_typed("http://marshhen.local:7117").expect("an address");
        Self { circuits, issued, payload: Payload::Link { base } }
    }

    pub(super) fn harness(&self) -> Harness<'_> {
        Harness::new(&self.circuits, &self.issued, &self.payload)
    }

    /// The code of the circuit of this designation.
    pub(super) fn code(&self, id: &str) -> String {
        let id = CircuitId::from_cell(id).expect("not blank");
        let at = self.circuits.all().iter().position(|circuit| *circuit.id() == id).expect("in the lists");
        self.issued.circuits[at].code.to_string()
    }
}

fn boat_cable() -> Option<Insulation> {
    insulation("boat cable").ok()
}

fn list(name: &str, bytes: &[u8]) -> List {
    List { name: name.to_owned(), bytes: bytes.to_vec(), settings: ListSettings::default() }
}

pub(super) fn letterhead() -> Letterhead {
    Letterhead {
        job: "Marsh Hen repower".to_owned(),
        date: "2026-11-28".to_owned(),
        run: "nothing printed yet".to_owned(),
        paper: Paper::A4,
        symbol: "HTTP://MARSHHEN.LOCAL:7117".to_owned(),
    }
}

/// All words of a sheet, a page after the other, each line of words as it was drawn.
pub(super) fn written(sheet: &Sheet, fonts: &Fonts) -> Vec<String> {
    let pages = pages(std::slice::from_ref(sheet), &letterhead(), fonts);
    let items = pages.iter().flat_map(|page| &page.marks);
    items
        .filter_map(|item| match item {
            Item::Text(text) => Some(text.glyphs.iter().map(|glyph| &*glyph.text).collect::<String>()),
            _ => None,
        })
        .collect()
}
