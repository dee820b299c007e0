//! Rules: the actions of many ends at once. After lists are joined, an end whose row says nothing, or `?`, gets the action of the first
//! rule that holds for it, else that of its connector in connectors.csv.

use super::{Action, Circuit, Connector, Decided, End, Supply};
use crate::base::{CircuitId, ConnectorId, Origin, WireColour};

/// A rule of job.toml. Every condition that is given must hold; of several values of one condition, one.
#[derive(Clone, Debug)]
pub struct ActionRule {
    /// What shall be done with the ends.
    pub action: Action,
    /// Connectors they sit in.
    pub connectors: Vec<ConnectorId>,
    /// Circuits they belong to.
    pub circuits: Vec<CircuitId>,
    /// Colours of their wires.
    pub colours: Vec<WireColour>,
    /// How their circuits are fed.
    pub supplies: Vec<Supply>,
    /// Words of function or note, each as it would be found by: `bilge pump`.
    pub words: Vec<String>,
    /// Legs of the harness they lie in.
    pub branches: Vec<String>,
    /// Where the rule stands.
    pub origin: Origin,
}

impl ActionRule {
    /// A rule without conditions, which holds for every end.
    pub const fn always(action: Action, origin: Origin) -> Self {
        Self {
            action,
            connectors: Vec::new(),
            circuits: Vec::new(),
            colours: Vec::new(),
            supplies: Vec::new(),
            words: Vec::new(),
            branches: Vec::new(),
            origin,
        }
    }

    /// Whether its conditions hold for an end of a circuit. Designations must be as the lists have them; in words and branches
    /// case does not matter.
    pub fn holds(&self, circuit: &Circuit, end: &End) -> bool {
        let is_colour = |colour: &WireColour| end.colour.as_ref().is_some_and(|own| own.same_as(colour));
        let is_supply = |supply: &Supply| circuit.supply == Some(*supply);
        let is_branch = |branch: &String| {
            let own = end.branch.as_deref().map(str::to_lowercase);
            own.is_some_and(|own| own == branch.to_lowercase())
        };
        let is_said = |words: &String| {
            [circuit.function.as_deref(), end.note_in_lists()]
                .into_iter()
                .flatten()
                .any(|text| holds_words(text, words))
        };
        any(&self.connectors, |connector| end.place.connector == *connector)
            && any(&self.circuits, |id| circuit.id() == id)
            && any(&self.colours, is_colour)
            && any(&self.supplies, is_supply)
            && any(&self.branches, is_branch)
            && any(&self.words, is_said)
    }
}

/// Whether one of the values fits, or none is asked for.
fn any<T>(values: &[T], fits: impl Fn(&T) -> bool) -> bool {
    values.is_empty() || values.iter().any(fits)
}

/// Whether a text holds these words, one behind the other; case and what stands between words do not matter.
fn holds_words(text: &str, words: &str) -> bool {
    let parts = |text: &str| -> Vec<String> {
        let lower = text.to_lowercase();
        lower.split(|c: char| !c.is_alphanumeric()).filter(|part| !part.is_empty()).map(str::to_owned).collect()
    };
    let (text, words) = (parts(text), parts(words));
    !words.is_empty() && text.windows(words.len()).any(|some| some == words)
}

/// Decides every end of a circuit of which its row says nothing. `described` knows what connectors.csv says of a connector.
pub(super) fn decide<'a>(
    circuit: &mut Circuit,
    rules: &[ActionRule],
    described: impl Fn(&ConnectorId) -> Option<&'a Connector>,
) {
    for at in 0..circuit.ends().len() {
        let end = &circuit.ends()[at];
        // A row that says `?` leaves it to the rules.
        if end.decided == Decided::Row && end.action != Action::Undecided {
            continue;
        }
        let by_rule = || {
            let (number, rule) = rules.iter().enumerate().find(|(_, rule)| rule.holds(circuit, end))?;
            Some((rule.action.clone(), Decided::Rule(number)))
        };
        let by_connector = || Some((described(&end.place.connector)?.action.clone()?, Decided::Connector));
        if let Some((action, decided)) = by_rule().or_else(by_connector) {
            circuit.decide(at, action, decided);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_found_whole_and_in_order() {
        for (text, words) in [
            ("Bilge pump", "bilge PUMP"),
            ("the bilge-pump, aft", "bilge pump"),
            ("Ölpumpe hinten", "ölpumpe"),
            ("pump", "pump"),
        ] {
            assert!(holds_words(text, words), "{text}: {words}");
        }
        for (text, words) in [("pumps", "pump"), ("pump bilge", "bilge pump"), ("bilge", "bilge pump"), ("pump", " - ")]
        {
            assert!(!holds_words(text, words), "{text}: {words}");
        }
    }
}
