//! `reuse`: which removed wire is for what, in words and for programs.

use std::path::Path;

use clap::Args as Arguments;
use serde_json::{Value, json};

use super::Ending;
use super::args::Answer;
use super::bench_sheets::near_connectors;
use super::complaint::Complaint;
use super::output::Output;
use super::problems::records;
use super::table::{columns, wrapped};
use super::trial_args::millimetres;
use crate::base::nearest::did_you_mean_or_choose;
use crate::base::{Conductor, Length, counted};
use crate::labels::along::WireEnds;
use crate::paperwork::reuse::words::{Words, look, of_purchase};
use crate::paperwork::reuse::{HeldBack, MOST_WIRES, Match, Possible, Purchase, Route, Spare, Standing, Wanted};
use crate::run::named::connector_of;
use crate::run::reuse::{MOST_SLACK, ReuseWish, Reused};
use crate::run::{self, Reading};

#[derive(Debug, Arguments)]
#[command(
    after_help = "Wires with the action `remove` at all their ends are matched to ends with `add` or `extend`: long enough with \
    slack at both ends, the conductor at least as large, the insulation not worse. Lengths stand in the columns `length` and, \
    for ends to extend, `extend by`. Nothing is written.\n\n\
    Examples:\n  loomtag reuse --job marsh-hen\n  loomtag reuse --slack 150 --branch HELM\n  loomtag reuse --connector H1 --json"
)]
pub struct Reuse {
    /// Millimetres a wire is cut longer than its way, at each end [default: `slack` of `[reuse]` in job.toml, else 100]
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub slack: Option<f64>,
    /// Only wires wanted in these connectors
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub connector: Vec<String>,
    /// Only wires wanted in these branches
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub branch: Vec<String>,
    #[command(flatten)]
    pub answer: Answer,
}

/// Matches and tells.
pub fn run(job: &Path, asked: &Reuse, output: &mut Output) -> Result<Ending, Complaint> {
    let read = run::read(job)?;
    let problems = match &read.value {
        Some(reading) if !reading.has_errors() => &[][..],
        Some(reading) => &reading.problems,
        None => &read.problems,
    };
    let Some(reading) = read.value.as_ref().filter(|_| problems.is_empty()) else {
        if asked.answer.json {
            output.json(&json!({ "problems": records(problems) }))?;
        } else {
            output.problems(problems);
            output.aside("nothing is matched while errors stand: a row that cannot be read may be a wire's other end");
        }
        return Ok(Ending::Problems);
    };
    let wish = wish(asked, reading)?;
    let issued = run::reuse::codes(reading)?;
    let reused = run::reuse::reuse(reading, &issued, &wish)?;
    if asked.answer.json {
        output.json(&as_json(&reused))?;
    } else {
        for line in lines(&reused) {
            output.line(line)?;
        }
    }
    Ok(Ending::Done)
}

fn wish(asked: &Reuse, reading: &Reading) -> Result<ReuseWish, Complaint> {
    let typed = |what: String, remedy: String| Complaint::Typed { what, remedy };
    let slack = asked.slack.map(Length::mm);
    if slack.is_some_and(|slack| slack < Length::ZERO || slack > MOST_SLACK) {
        let what = format!("no wire has a slack of {} mm", asked.slack.unwrap_or_default());
        return Err(typed(what, format!("write a number of millimetres from 0 to {}", MOST_SLACK.as_mm())));
    }
    let connector = |word: &String| {
        connector_of(&reading.circuits, word)
            .ok_or_else(|| typed(format!("no list names a connector `{word}`"), near_connectors(reading, word)))
    };
    let known: std::collections::BTreeSet<&str> = {
        let ends = reading.circuits.all().iter().flat_map(|circuit| circuit.ends());
        ends.filter_map(|end| end.branch.as_deref()).collect()
    };
    for word in &asked.branch {
        if !known.iter().any(|branch| branch.eq_ignore_ascii_case(word)) {
            let near = did_you_mean_or_choose(word, &known.iter().copied().collect::<Vec<_>>());
            let remedy =
                if known.is_empty() { "no row has a branch: fill the column `branch`".to_owned() } else { near };
            return Err(typed(format!("no list names a branch `{word}`"), remedy));
        }
    }
    Ok(ReuseWish {
        slack,
        connectors: asked.connector.iter().map(connector).collect::<Result<_, _>>()?,
        branches: asked.branch.clone(),
    })
}

/// Words for one answer.
struct Telling<'r> {
    reused: &'r Reused<'r>,
    words: Words<'r>,
}

impl Telling<'_> {
    /// The tag of a wire, or nothing while its code is not issued.
    fn tag(&self, circuit: usize, ends: impl Iterator<Item = usize>) -> String {
        if self.reused.is_issued(circuit) { self.words.tag(circuit, ends) } else { String::new() }
    }

    fn wire(&self, wire: WireEnds) -> [String; 2] {
        [self.tag(wire.circuit, wire.ends()), self.words.way(wire)]
    }

    fn spare(&self, spare: &Spare) -> [String; 4] {
        let [tag, way] = self.wire(spare.wire);
        let length = match (spare.length, spare.at_most) {
            (Some(length), _) => length.to_string(),
            (None, Some(was)) => format!("cut, was {was}"),
            (None, None) => "length ?".to_owned(),
        };
        [tag, way, look(spare.colour.as_ref(), spare.conductor.as_ref(), None::<&String>), length]
    }

    fn wanted(&self, wanted: &Wanted) -> [String; 3] {
        let tag = self.tag(wanted.what.circuit(), wanted.what.ends());
        let look = look(wanted.colour.as_ref(), wanted.conductor.as_ref(), None::<&String>);
        [tag, self.words.wanted_way(wanted), look]
    }
}

/// The whole answer.
fn lines(reused: &Reused<'_>) -> Vec<String> {
    let telling = Telling { reused, words: Words { harness: &reused.harness, reuse: &reused.reuse } };
    let reuse = &reused.reuse;
    let mut lines = Vec::new();
    if reuse.wanted.is_empty() {
        lines.push(
            "no wire is wanted: no end has the action `add` or `extend`, or all that have it are done".to_owned(),
        );
    } else {
        let met = reuse.matches.len();
        let of = counted(reuse.wanted.len(), "wanted wire");
        lines.push(format!(
            "{met} of {of} can be had from {} to remove, with {} slack at each end",
            counted(reuse.spares.len(), "wire"),
            reused.slack
        ));
    }
    if !reuse.matches.is_empty() {
        lines.extend([String::new(), "use again, and do not pull before this is settled:".to_owned()]);
        lines.extend(matches(&telling));
    }
    if !reuse.measure_first.is_empty() {
        lines.extend([String::new(), "measure these first, then write the lengths into the lists:".to_owned()]);
        lines.extend(possible(&telling));
    }
    if !reuse.to_buy.is_empty() {
        lines.extend([String::new(), "to buy, slack counted:".to_owned()]);
        lines.extend(indented(table(&["wire", "how much", "for"], purchases(&telling)), &[]));
    }
    let stock: Vec<(Vec<String>, Vec<String>)> = reuse
        .left_for_stock()
        .map(|(_, spare)| (telling.spare(spare).to_vec(), telling.words.of_spare(spare)))
        .collect();
    if !stock.is_empty() {
        let (rows, notes): (Vec<_>, Vec<_>) = stock.into_iter().unzip();
        lines.extend([String::new(), "left for stock:".to_owned()]);
        lines.extend(indented(table(&["tag", "removed wire", "is", "length"], rows), &notes));
    }
    if !reuse.held_back.is_empty() {
        let row = |held: &HeldBack| [&telling.wire(held.wire)[..], &[telling.words.why(held)]].concat();
        lines.extend([String::new(), "left out:".to_owned()]);
        let rows: Vec<Vec<String>> = reuse.held_back.iter().map(row).collect();
        lines.extend(indented(table(&["tag", "wire", "why"], rows), &[]));
    }
    let (spares, wanted) = reuse.not_compared;
    if spares + wanted > 0 {
        lines.push(String::new());
        lines.push(format!(
            "not compared: {} and {}, as at most {MOST_WIRES} of each are; ask for less with --connector or --branch",
            counted(spares, "removed wire"),
            counted(wanted, "wanted wire")
        ));
    }
    if !reuse.matches.is_empty() {
        lines.push(String::new());
        lines.push(
            "tag them while they are still known: `loomtag tags --removed` prints tags for ends to remove too"
                .to_owned(),
        );
    }
    lines
}

/// A row for each match, and below it what the hand must know.
fn matches(telling: &Telling<'_>) -> Vec<String> {
    let reuse = &telling.reused.reuse;
    let mut rows = Vec::new();
    let mut notes = Vec::new();
    for one in &reuse.matches {
        let [tag, way, is, _] = telling.spare(&reuse.spares[one.spare]);
        let [for_tag, wanted, _] = telling.wanted(&reuse.wanted[one.wanted]);
        let (from, cut, rest) = (one.from.to_string(), one.piece.to_string(), one.rest().to_string());
        rows.push(vec![tag, way, is, from, for_tag, wanted, cut, rest]);
        notes.push(telling.words.of_match(one));
    }
    let heading = ["tag", "removed wire", "is", "long", "for", "wanted", "cut to", "left"];
    indented(table(&heading, rows), &notes)
}

/// Rows of what may do, by what is wanted.
fn possible(telling: &Telling<'_>) -> Vec<String> {
    let reuse = &telling.reused.reuse;
    let mut lines = Vec::new();
    for of_want in reuse.measure_first.chunk_by(|one, other| one.wanted == other.wanted) {
        let Some(first) = of_want.first() else { continue };
        let wanted = &reuse.wanted[first.wanted];
        let [tag, way, is] = telling.wanted(wanted);
        let length = wanted.length.map_or_else(|| "length ?".to_owned(), |length| length.to_string());
        let tag = if tag.is_empty() { tag } else { format!("{tag}  ") };
        lines.push(format!("  {tag}{way}, {is}, {length}; may be:"));
        let row = |one: &Possible| {
            let [tag, way, is, length] = telling.spare(&reuse.spares[one.spare]);
            vec![tag, way, is, length, telling.words.of_possible(one)]
        };
        let rows: Vec<Vec<String>> = of_want.iter().map(row).collect();
        lines.extend(table(&[""; 5], rows).into_iter().map(|line| format!("    {line}")));
    }
    lines
}

fn purchases(telling: &Telling<'_>) -> Vec<Vec<String>> {
    let reuse = &telling.reused.reuse;
    let row = |buy: &Purchase| {
        let wants: Vec<String> = buy.wanted.iter().map(|&at| telling.words.wanted_way(&reuse.wanted[at])).collect();
        let mut wanted = wants.join(", ");
        if buy.may_be_served > 0 {
            wanted.push_str("; measure first");
        }
        vec![look(buy.colour.as_ref(), buy.conductor.as_ref(), buy.insulation.as_ref()), of_purchase(buy), wanted]
    };
    reuse.to_buy.iter().map(row).collect()
}

/// Sets rows below a heading, without the columns in which no row has anything: there are no tags before codes are issued.
fn table(heading: &[&str], mut rows: Vec<Vec<String>>) -> Vec<String> {
    let mut heading: Vec<String> = heading.iter().map(|&cell| cell.to_owned()).collect();
    for column in (0..heading.len()).rev() {
        if rows.iter().all(|row| row.get(column).is_none_or(String::is_empty)) {
            heading.remove(column);
            rows.iter_mut().filter(|row| column < row.len()).for_each(|row| drop(row.remove(column)));
        }
    }
    let is_headed = heading.iter().any(|cell| !cell.is_empty());
    columns(&is_headed.then_some(heading).into_iter().chain(rows).collect::<Vec<_>>())
}

/// Lines of a table moved in, each row followed by its notes.
fn indented(table: Vec<String>, notes: &[Vec<String>]) -> Vec<String> {
    let mut lines = Vec::new();
    for (at, line) in table.into_iter().enumerate() {
        lines.push(format!("  {line}"));
        let of_row = at.checked_sub(1).and_then(|row| notes.get(row));
        for note in of_row.into_iter().flatten() {
            lines.extend(wrapped(&format!("      {note}"), 8));
        }
    }
    lines
}

/// The answer for programs.
fn as_json(reused: &Reused<'_>) -> Value {
    let telling = Telling { reused, words: Words { harness: &reused.harness, reuse: &reused.reuse } };
    let (reuse, words) = (&reused.reuse, &telling.words);
    let mm = |length: Option<Length>| length.map(Length::as_mm);
    let size = |conductor: Option<&Conductor>| conductor.map(ToString::to_string);
    let named = |circuit: usize, ends: &mut dyn Iterator<Item = usize>, way: String| {
        let all = reused.harness.circuits.all()[circuit].ends();
        let ends: Vec<usize> = ends.collect();
        let tag = reused.is_issued(circuit).then(|| words.tag(circuit, ends.iter().copied()));
        json!({
            "circuit": reused.harness.circuits.all()[circuit].id().to_string(),
            "function": words.function(circuit),
            "tag": tag,
            "places": ends.iter().map(|&end| all[end].place.to_string()).collect::<Vec<_>>(),
            "way": way,
        })
    };
    let wire = |wire: WireEnds| named(wire.circuit, &mut wire.ends(), words.way(wire));
    let spare = |spare: &Spare| {
        json!({
            "wire": wire(spare.wire),
            "length_mm": mm(spare.length),
            "length_before_cut_mm": mm(spare.at_most.filter(|_| spare.standing == Standing::Cut)),
            "size": size(spare.conductor.as_ref()),
            "colour": spare.colour.as_ref().map(ToString::to_string),
            "insulation": spare.insulation.map(|insulation| insulation.to_string()),
            "notes": words.of_spare(spare),
        })
    };
    let wanted = |wanted: &Wanted| {
        json!({
            "wire": named(wanted.what.circuit(), &mut wanted.what.ends(), words.wanted_way(wanted)),
            "length_mm": mm(wanted.length),
            "size": size(wanted.conductor.as_ref()),
            "colour": wanted.colour.as_ref().map(ToString::to_string),
            "insulation": wanted.insulation.map(|insulation| insulation.to_string()),
        })
    };
    let one = |one: &Match| {
        json!({
            "removed": spare(&reuse.spares[one.spare]),
            "wanted": wanted(&reuse.wanted[one.wanted]),
            "from_mm": one.from.as_mm(),
            "cut_mm": one.piece.as_mm(),
            "left_mm": one.rest().as_mm(),
            "leave_in": one.route.leaves_it_in(),
            "stays_in": match &one.route {
                Route::Place(place) => Some(place.to_string()),
                _ => None,
            },
            "notes": words.of_match(one),
        })
    };
    let may = |one: &Possible| {
        json!({
            "removed": spare(&reuse.spares[one.spare]),
            "wanted": wanted(&reuse.wanted[one.wanted]),
            "length_at_least_mm": mm(one.length_at_least),
            "way_at_most_mm": mm(one.way_at_most),
            "size_at_least": size(one.size_at_least.as_ref()),
            "size_at_most": size(one.size_at_most.as_ref()),
            "what": words.of_possible(one),
        })
    };
    let buy = |buy: &Purchase| {
        json!({
            "size": size(buy.conductor.as_ref()),
            "colour": buy.colour.as_ref().map(ToString::to_string),
            "insulation": buy.insulation.map(|insulation| insulation.to_string()),
            "length_mm": buy.length.as_mm(),
            "of_unknown_length": buy.unmeasured,
            "may_be_served": buy.may_be_served,
            "for": buy.wanted.iter().map(|&at| wanted(&reuse.wanted[at])).collect::<Vec<_>>(),
        })
    };
    json!({
        "slack_mm": reused.slack.as_mm(),
        "matches": reuse.matches.iter().map(one).collect::<Vec<_>>(),
        "measure_first": reuse.measure_first.iter().map(may).collect::<Vec<_>>(),
        "to_buy": reuse.to_buy.iter().map(buy).collect::<Vec<_>>(),
        "left_for_stock": reuse.left_for_stock().map(|(_, left)| spare(left)).collect::<Vec<_>>(),
        "left_out": reuse.held_back.iter().map(|held| json!({ "wire": wire(held.wire), "why": words.why(held) })).collect::<Vec<_>>(),
        "not_compared": { "removed": reuse.not_compared.0, "wanted": reuse.not_compared.1 },
    })
}
