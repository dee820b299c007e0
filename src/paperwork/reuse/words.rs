//! What is said of removed and wanted wires, for the terminal and the bench sheet alike.

use super::fit::{ColourMatch, Route};
use super::spare::{HeldBack, Spare, Standing, Why, area};
use super::wanted::{Wanted, What};
use super::{Match, Possible, Purchase, Reuse};
use crate::base::{Conductor, ConductorSize, Length, counted};
use crate::circuits::{Action, Circuit, FarEnd};
use crate::labels::along::WireEnds;
use crate::paperwork::Harness;

/// Names wires of a harness.
#[derive(Clone, Copy, Debug)]
pub struct Words<'h> {
    /// What they are of.
    pub harness: &'h Harness<'h>,
    /// What was matched.
    pub reuse: &'h Reuse,
}

impl Words<'_> {
    fn circuit(&self, circuit: usize) -> &Circuit {
        &self.harness.circuits.all()[circuit]
    }

    fn place(&self, circuit: usize, end: usize) -> String {
        self.circuit(circuit).ends()[end].place.to_string()
    }

    /// The tag of a wire with the letters of its ends: `7KF4 A-B`.
    pub fn tag(&self, circuit: usize, ends: impl Iterator<Item = usize>) -> String {
        let codes = &self.harness.issued.circuits[circuit];
        let letters: Vec<String> = ends.map(|end| codes.letters[end].to_string()).collect();
        format!("{} {}", codes.code, letters.join("-"))
    }

    /// Where a wire goes: `J1/33 to M37/1`, `X5P/4 to ?`.
    pub fn way(&self, wire: WireEnds) -> String {
        let other = match (wire.other, self.circuit(wire.circuit).far_end(wire.first)) {
            (Some(other), _) => self.place(wire.circuit, other),
            (None, FarEnd::ImpliedSplice) => "splice".to_owned(),
            (None, _) => "?".to_owned(),
        };
        format!("{} to {other}", self.place(wire.circuit, wire.first))
    }

    /// Where a wanted wire goes; a piece that makes an end longer `on from XB4/G to K2/86`.
    pub fn wanted_way(&self, wanted: &Wanted) -> String {
        match wanted.what {
            What::New(wire) => self.way(wire),
            What::Extension { circuit, end, on_to } => {
                let to = on_to.map(|to| format!(" to {}", self.place(circuit, to))).unwrap_or_default();
                format!("on from {}{to}", self.place(circuit, end))
            }
        }
    }

    /// What removed wires are proposed for, at each of their ends: whoever pulls them must know it.
    pub fn proposals(&self) -> Vec<((usize, usize), String)> {
        let of_match = |one: &Match| {
            let (spare, wanted) = (&self.reuse.spares[one.spare], &self.reuse.wanted[one.wanted]);
            let first = self.of_match(one).into_iter().next().filter(|words| words.starts_with("leave"));
            let how = first.unwrap_or_else(|| "keep it in one piece".to_owned());
            let way = self.wanted_way(wanted);
            let words = match wanted.what {
                What::New(_) => format!("REUSE proposes it for {way}: {how}"),
                What::Extension { .. } => format!("REUSE proposes it to lead {way}: {how}"),
            };
            let wire = spare.wire;
            wire.ends().map(move |end| ((wire.circuit, end), words.clone())).collect::<Vec<_>>()
        };
        self.reuse.matches.iter().flat_map(of_match).collect()
    }

    /// What a circuit does, or its designation.
    pub fn function(&self, circuit: usize) -> String {
        let circuit = self.circuit(circuit);
        circuit.function.clone().unwrap_or_else(|| circuit.id().to_string())
    }

    /// What the hand must know of a match, one sentence each, the most important first.
    pub fn of_match(&self, one: &Match) -> Vec<String> {
        let (spare, wanted) = (&self.reuse.spares[one.spare], &self.reuse.wanted[one.wanted]);
        let mut told = self.of_spare(spare);
        match &one.route {
            Route::Loom(from, to) => {
                told.insert(0, format!("leave this one in: it lies between {from} and {to}, only its cavities change"));
            }
            Route::Place(place) => {
                told.insert(0, format!("leave this one in: its end in {place} need not be pulled, only the other"));
            }
            Route::Connector(connector) => {
                told.insert(0, format!("leave this one in at {connector}: there it moves to the wanted cavity"));
            }
            Route::Branch(branch) => told.push(format!("lies in {branch}, where it is wanted")),
            Route::Elsewhere => {}
        }
        if spare.length.is_some_and(|length| length > one.from) {
            told.push("cut from what the piece above leaves".to_owned());
        }
        match one.colour {
            ColourMatch::Base => told.push("base colour as wanted, other stripe".to_owned()),
            ColourMatch::Other => told.push("another colour than wanted: its tag must tell".to_owned()),
            ColourMatch::Same | ColourMatch::NotAsked => {}
        }
        if let (Some(has), Some(asked)) = (&spare.conductor, &wanted.conductor) {
            told.extend(compared(has, asked));
        }
        for family in &one.terminals {
            told.push(format!("has a {family} terminal on already"));
        }
        if spare.insulation.is_none() && wanted.insulation.is_some() {
            told.push("its insulation is in no list: look at it".to_owned());
        }
        told
    }

    /// What the hand must know of a removed wire.
    pub fn of_spare(&self, spare: &Spare) -> Vec<String> {
        let mut told = Vec::new();
        match spare.standing {
            Standing::In => {}
            Standing::Pulled => {
                let places: Vec<String> = spare.pulled.iter().map(|&end| self.place(spare.wire.circuit, end)).collect();
                told.push(format!("pulled already at {}", places.join(" and ")));
            }
            Standing::Cut => told.push("cut already: its length in the list is no longer its own".to_owned()),
        }
        if spare.is_untraced(self.harness.circuits) {
            told.push("its other end is in no list: trace it first".to_owned());
        }
        if let Some(partner) = &spare.partner {
            told.push(format!("lies in one cable or pair with {partner}: part them, or use both"));
        }
        told
    }

    /// What must be measured, and when the wire does.
    pub fn of_possible(&self, possible: &Possible) -> String {
        let mut told = Vec::new();
        if let Some(length) = possible.length_at_least {
            told.push(format!("measure the wire: it does from {length} on"));
        }
        if let Some(way) = possible.way_at_most {
            told.push(format!("measure the way: the wire does for up to {way}"));
        }
        if possible.is_neither_length_known {
            told.push("measure both, the wire and the way".to_owned());
        }
        if let Some(size) = &possible.size_at_least {
            told.push(format!("find out its size: it does from {size} on"));
        }
        if let Some(size) = &possible.size_at_most {
            told.push(format!("say in the list which size is wanted: it does for up to {size}"));
        }
        if possible.is_neither_size_known {
            told.push("find out both sizes".to_owned());
        }
        told.join("; ")
    }

    /// Why a wire is left out.
    pub fn why(&self, held: &HeldBack) -> String {
        let place = |end: usize| self.place(held.wire.circuit, end);
        match &held.why {
            Why::Restraint => {
                "restraint: only the maker's own harness; nothing of it is used elsewhere, nor anything else for it"
                    .to_owned()
            }
            Why::HeavyOrange => "heavy orange cable: stop until the maker's diagram says what it is".to_owned(),
            Why::HighVoltage => "high voltage: for trained persons, with the maker's own parts only".to_owned(),
            Why::OtherEnd(end, Action::Undecided) => {
                format!("its end in {} is undecided: it is free once that one is removed too", place(*end))
            }
            Why::OtherEnd(end, action) => format!("its end in {} stays ({action})", place(*end)),
            Why::Partner(partner) => format!("one cable or pair with {partner}, which stays or is in no list"),
            Why::WantedPair(partner) => {
                format!("wanted as one cable or pair with {partner}: a single wire does not do; see for it by hand")
            }
            Why::Damaged(note) => format!("found damaged (note {note})"),
            Why::FoundEmpty(note) => format!("its cavity was found empty (note {note})"),
        }
    }
}

/// That two sizes of different systems were compared: what is AWG is computed, and nothing is converted in the lists.
fn compared(has: &Conductor, asked: &Conductor) -> Option<String> {
    let (metric, awg) = match (has.size(), asked.size()) {
        (ConductorSize::Awg(_), ConductorSize::CrossSection(_)) => (asked, has),
        (ConductorSize::CrossSection(_), ConductorSize::Awg(_)) => (has, asked),
        _ => return None,
    };
    Some(format!("{metric} beside {awg}, which is {:.2} mm² (ASTM B258)", area(awg)))
}

/// Colour, size and insulation in one line: `BN/WH 0.75 mm² thin-wall`.
pub fn look(colour: Option<&impl ToString>, size: Option<&Conductor>, insulation: Option<&impl ToString>) -> String {
    let parts = [colour.map(ToString::to_string), size.map(ToString::to_string), insulation.map(ToString::to_string)];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() { "size and colour not told".to_owned() } else { parts.join(" ") }
}

/// `2.6 m`, rounded up: wire is bought by the tenth of a metre.
pub fn metres(length: Length) -> String {
    format!("{:.1} m", (length.as_mm() / 100.0).ceil() / 10.0)
}

/// What is to be bought of one sort, and what stands open.
pub fn of_purchase(buy: &Purchase) -> String {
    let mut told = Vec::new();
    if buy.length > Length::ZERO {
        told.push(metres(buy.length));
    }
    let wires = |count: usize| counted(count, "wire");
    if buy.unmeasured > 0 {
        told.push(format!("{} of a length that is in no list", wires(buy.unmeasured)));
    }
    told.join(" and ")
}
