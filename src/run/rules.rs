//! Rules for the actions of many ends at once, as job.toml has them.
//!
//! ```toml
//! [[rule]]                      # rules in order: of those whose conditions all hold, the first decides; rows go before them
//! action = "remove"             # as the action column has it
//! connector = ["J5", "J6"]      # of several values, one must hold
//! colour = "GNYE"               # the wire's colour
//! supply = "ground"             # how its circuit is fed
//! word = "cruise"               # words of function or note
//! branch = "cab"                # the leg of the harness
//! circuit = "E14"               # its designation
//! ```

use std::collections::{BTreeMap, BTreeSet};

use super::problems::{RULE_FOR_ONE_PLACE, RULE_WITHOUT_EFFECT, UNKNOWN_RULE_CONNECTOR};
use crate::base::nearest::{did_you_mean, nearest};
use crate::base::settings::{Reader, Table};
use crate::base::{CircuitId, ConnectorId, Origin, Problem, Stated, WireColour};
use crate::circuits::{self, Action, ActionRule, Circuit, Circuits, Connector, Decided, End, Supply};

const ACTIONS: [&str; 7] = ["keep", "remove", "cut", "move", "add", "extend", "reserve"];

/// Reads the `[[rule]]` tables.
pub(super) fn read_rules(reader: &mut Reader, top: &Table<'_>) -> Vec<ActionRule> {
    let tables = reader.tables(top, "rule").unwrap_or_default();
    tables.iter().filter_map(|table| read_rule(reader, table)).collect()
}

fn read_rule(reader: &mut Reader, table: &Table<'_>) -> Option<ActionRule> {
    const CONDITIONS: [&str; 6] = ["connector", "circuit", "colour", "supply", "word", "branch"];
    reader.expect_keys(table, &["action"], &CONDITIONS);
    let action = reader.word_by(table, "action", circuits::action, &ACTIONS);
    let texts = |reader: &mut Reader, key: &str| match table.has(key) {
        true => reader.one_or_more(table, key),
        false => Some(Vec::new()),
    };
    let connectors = texts(reader, "connector");
    let ids = texts(reader, "circuit");
    let colours = texts(reader, "colour");
    let words = texts(reader, "word");
    let branches = texts(reader, "branch");
    let supplies = match table.has("supply") {
        true => read_supplies(reader, table),
        false => Some(Vec::new()),
    };
    let action = action?;
    if let Action::Move(Some(place)) = &action.value {
        let problem = RULE_FOR_ONE_PLACE.says(format!("a rule cannot move ends to one place, `{place}`"));
        let remedy = "write `action = \"move\"` here, and the places in the rows of the lists";
        reader.tell(action.point(problem.remedy(remedy)));
        return None;
    }
    let value = |text: Stated<String>| text.value;
    let origin = action.origin.clone().unwrap_or_else(|| reader.origin_of(table, "action"));
    // A condition that cannot be read must not widen the rule.
    Some(ActionRule {
        connectors: connectors?.into_iter().filter_map(|text| ConnectorId::from_cell(&text.value)).collect(),
        circuits: ids?.into_iter().filter_map(|text| CircuitId::from_cell(&text.value)).collect(),
        colours: colours?.into_iter().filter_map(|text| WireColour::from_cell(&text.value)).collect(),
        supplies: supplies?,
        words: words?.into_iter().map(value).collect(),
        branches: branches?.into_iter().map(value).collect(),
        ..ActionRule::always(action.value, origin)
    })
}

fn read_supplies(reader: &mut Reader, table: &Table<'_>) -> Option<Vec<Supply>> {
    let words = Supply::ALL.map(|supply| (supply.word(), supply));
    let texts = reader.one_or_more(table, "supply")?;
    let count = texts.len();
    let supplies: Vec<Supply> =
        texts.into_iter().filter_map(|text| Some(reader.meaning("supply", text, &words)?.value)).collect();
    (supplies.len() == count).then_some(supplies)
}

/// The rule in words: `connector J5 or J6, supply ground -> remove`.
pub fn in_words(rule: &ActionRule) -> String {
    fn all<T: ToString>(name: &str, values: &[T]) -> Option<String> {
        let values: Vec<String> = values.iter().map(ToString::to_string).collect();
        (!values.is_empty()).then(|| format!("{name} {}", values.join(" or ")))
    }
    let conditions = [
        all("connector", &rule.connectors),
        all("circuit", &rule.circuits),
        all("colour", &rule.colours),
        all("supply", &rule.supplies),
        all("word", &rule.words),
        all("branch", &rule.branches),
    ];
    let conditions: Vec<String> = conditions.into_iter().flatten().collect();
    let conditions = if conditions.is_empty() { "every end".to_owned() } else { conditions.join(", ") };
    format!("{conditions} -> {}", rule.action)
}

/// What a rule, or a connector's action in connectors.csv, decided.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decision {
    /// Where it stands.
    pub origin: Origin,
    /// What it says.
    pub says: String,
    /// How many ends it decides in each connector, in natural order.
    pub decided: BTreeMap<ConnectorId, usize>,
    /// How many ends it holds for that their own rows decide.
    pub by_rows: usize,
    /// How many ends it holds for that a rule above decides.
    pub by_rules: usize,
}

impl Decision {
    /// How many ends it decides.
    pub fn count(&self) -> usize {
        self.decided.values().sum()
    }
}

/// What each rule decided, in the order of the rules; then what connectors.csv decided for whole connectors.
pub fn decisions(rules: &[ActionRule], circuits: &Circuits) -> Vec<Decision> {
    let blank = |origin: &Origin, says: String| Decision {
        origin: origin.clone(),
        says,
        decided: BTreeMap::new(),
        by_rows: 0,
        by_rules: 0,
    };
    let mut by_rule: Vec<Decision> = rules.iter().map(|rule| blank(&rule.origin, in_words(rule))).collect();
    let mut by_connector: BTreeMap<&ConnectorId, Decision> = BTreeMap::new();
    for Connector { id, action, origin, .. } in circuits.connectors() {
        if let Some(action) = action {
            by_connector.insert(id, blank(origin, format!("connector {id} -> {action}")));
        }
    }
    for (circuit, end) in ends(circuits) {
        let connector = &end.place.connector;
        for (number, rule) in rules.iter().enumerate() {
            match end.decided_in_lists() {
                Decided::Rule(decider) if decider == number => {
                    *by_rule[number].decided.entry(connector.clone()).or_default() += 1;
                }
                Decided::Rule(decider) if decider < number && rule.holds(circuit, end) => by_rule[number].by_rules += 1,
                Decided::Row if rule.holds(circuit, end) => by_rule[number].by_rows += 1,
                _ => {}
            }
        }
        if let Some(decision) = by_connector.get_mut(connector) {
            match end.decided_in_lists() {
                Decided::Connector => *decision.decided.entry(connector.clone()).or_default() += 1,
                Decided::Rule(_) => decision.by_rules += 1,
                Decided::Row => decision.by_rows += 1,
                Decided::Nobody | Decided::List | Decided::Person => {}
            }
        }
    }
    by_rule.into_iter().chain(by_connector.into_values()).collect()
}

fn ends(circuits: &Circuits) -> impl Iterator<Item = (&Circuit, &End)> {
    circuits.all().iter().flat_map(|circuit| circuit.ends().iter().map(move |end| (circuit, end)))
}

/// Tells of rules that decide nothing, and why; and of connectors they name that stand in no list.
pub(super) fn without_effect(rules: &[ActionRule], circuits: &Circuits) -> Vec<Problem> {
    let known: BTreeSet<&str> = ends(circuits).map(|(_, end)| end.place.connector.as_str()).collect();
    let mut problems = Vec::new();
    for (rule, decision) in rules.iter().zip(decisions(rules, circuits)) {
        let unknown = rule.connectors.iter().filter(|connector| !known.contains(connector.as_str()));
        let before = problems.len();
        for connector in unknown {
            let near = nearest(connector.as_str(), known.iter().copied());
            let otherwise = || "write it as the lists do, or leave it out of the rule".to_owned();
            let problem = UNKNOWN_RULE_CONNECTOR.says(format!("no list has a connector `{connector}`"));
            problems.push(problem.at(rule.origin.clone()).remedy(near.map_or_else(otherwise, did_you_mean)));
        }
        if decision.count() > 0 || problems.len() > before {
            continue;
        }
        let (why, remedy) = match (decision.by_rows, decision.by_rules) {
            (0, 0) => ("it holds for no end", "write its conditions as the lists do, or leave the rule out"),
            (_, 0) => ("every end it holds for is decided in its own row", "leave the rule out, or empty these cells"),
            _ => ("rows and rules above it decide every end it holds for", "put it above them, or leave it out"),
        };
        let problem = RULE_WITHOUT_EFFECT.says(format!("the rule `{}` decides nothing: {why}", decision.says));
        problems.push(problem.at(rule.origin.clone()).remedy(remedy));
    }
    problems
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::Source;
    use crate::circuits::{JobLists, List, ListSettings};

    const CHART: &str = "connector,cavity,circuit,function,colour,supply,action,branch,note\n\
        J5,1,C1,cruise set,GN,signal,,cab,\n\
        J5,2,C2,horn feed,RD,30,keep,cab,\n\
        J5,3,C3,shield,GNYE,,,cab,\n\
        J6,1,C4,Horn relay,RD/WH,,,dash,\n\
        J6,2,C5,spare,BK,31,undecided,dash,cruise control wire\n";

    fn list(name: &str, text: &str) -> List {
        List { name: name.to_owned(), bytes: text.as_bytes().to_vec(), settings: ListSettings::default() }
    }

    /// The actions of the chart's ends, what decided, and the problems as `line:column id message`.
    fn decided(rules: &str) -> (Vec<String>, Vec<String>, Vec<String>) {
        let read = crate::base::settings::read(&Source::new("job.toml", rules), read_rules);
        let rules = read.value.unwrap();
        let (lists, connectors) = ([list("ecu.csv", CHART)], list("connectors.csv", "connector,action\nJ6,reserve\n"));
        let circuits = circuits::read(&JobLists { lists: &lists, connectors: Some(&connectors), rules: &rules }).value;
        let actions = ends(&circuits).map(|(_, end)| format!("{} {}", end.place, end.action)).collect();
        let decisions = decisions(&rules, &circuits).into_iter().map(|decision| {
            let Decision { origin, says, by_rows, by_rules, .. } = &decision;
            format!("{origin} {says}: {} ({by_rows}, {by_rules})", decision.count())
        });
        let problems = read.problems.into_iter().chain(without_effect(&rules, &circuits)).map(|problem| {
            let at = problem.origin.as_ref().map(ToString::to_string).unwrap_or_default();
            format!("{} {} {}", at.replace("job.toml:", ""), problem.id, problem.message)
        });
        (actions, decisions.collect(), problems.collect())
    }

    #[test]
    fn the_first_rule_decides_and_rows_go_before_rules_and_rules_before_the_connector() {
        let (actions, decisions, problems) = decided(
            "[[rule]]\naction = \"cut\"\nword = \"cruise\"\n\
             [[rule]]\naction = \"remove\"\nconnector = [\"J5\", \"J6\"]\ncolour = [\"green\", \"RD\", \"GNYE\"]\n",
        );
        assert_eq!(problems, Vec::<String>::new());
        assert_eq!(actions, ["J5/1 cut", "J5/2 keep", "J5/3 remove", "J6/1 reserve", "J6/2 cut"]);
        assert_eq!(
            decisions,
            [
                "job.toml:2:10 word cruise -> cut: 2 (0, 0)",
                "job.toml:5:10 connector J5 or J6, colour GN or RD or GNYE -> remove: 1 (1, 1)",
                "connectors.csv:2:1 connector J6 -> reserve: 1 (0, 1)",
            ]
        );
    }

    #[test]
    fn a_rule_without_conditions_holds_for_every_end() {
        let (actions, _, problems) = decided(
            "[[rule]]\naction = \"entfernen\"\nsupply = [\"signal\"]\nbranch = \"CAB\"\n[[rule]]\naction = \"keep\"\n",
        );
        assert_eq!(problems, Vec::<String>::new());
        assert_eq!(actions, ["J5/1 remove", "J5/2 keep", "J5/3 keep", "J6/1 keep", "J6/2 keep"]);
    }

    #[test]
    fn rules_that_decide_nothing_or_cannot_be_read_are_told() {
        let (actions, _, problems) = decided(
            "[[rule]]\naction = \"cutt\"\n[[rule]]\naction = \"cut\"\nsupply = \"groound\"\n\
             [[rule]]\naction = \"move to J9/1\"\nconnector = \"J5\"\n[[rule]]\naction = \"cut\"\nword = []\n\
             [[rule]]\naction = \"cut\"\nconnector = \"J55\"\n[[rule]]\naction = \"cut\"\nword = \"winch\"\n\
             [[rule]]\naction = \"cut\"\ncircuit = \"C2\"\n",
        );
        assert_eq!(
            problems,
            [
                "2:10 unknown-word `action` cannot be `cutt`",
                "5:10 unknown-word `supply` cannot be `groound`",
                "7:10 rule-for-one-place a rule cannot move ends to one place, `J9/1`",
                "11:8 empty-setting `word` names nothing",
                "13:10 unknown-rule-connector no list has a connector `J55`",
                "16:10 rule-without-effect the rule `word winch -> cut` decides nothing: it holds for no end",
                "19:10 rule-without-effect the rule `circuit C2 -> cut` decides nothing: every end it holds for is \
                 decided in its own row",
            ]
        );
        assert!(actions.iter().all(|action| !action.ends_with("cut")), "{actions:?}");
    }
}
