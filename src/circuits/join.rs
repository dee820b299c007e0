//! Mentions -> circuits: what several lists say of one end becomes one end, and the ends of one circuit become a circuit.
//!
//! Within one list every mention is an end of its own, so that two rows of one place and circuit are a doubled cavity. Two
//! lists that mention the same place in the same circuit speak of the same ends: mentions are paired first by the wire's
//! other place, then by colour, then where one of the two has no colour, at last in order. Values fill each other's blanks;
//! where both have one, the wire list's stands before the chart's and the earlier list's before the later's, and colours,
//! sizes, insulations, lengths, actions and kinds of tags that differ are told; so are functions, supplies and fuses of a circuit.

use std::collections::{BTreeMap, HashMap, VecDeque};

use super::alike::{differ_in_length, differ_in_size, differ_in_words};
use super::connectors::one_line;
use super::headers::Column;
use super::mention::{Mention, Mentions};
use super::naming::Named;
use super::problems::CHARTS_DISAGREE;
use super::wires::{self, Described};
use super::{Action, Circuit, Connector, Decided, End, FarEnd, Fuse, Naming, Supply, TagWish};
use crate::base::{ConnectorId, Insulation, Length, Problem, TagKind, WireColour};

/// An end as far as it is read: indices of mentions say who said what.
#[derive(Debug)]
struct Draft<'t> {
    first: usize,
    /// The place at the wire's other end, when a wire list names it.
    towards: Option<u32>,
    /// The mention of the wire's other end.
    other: Option<usize>,
    colour: Option<(u32, usize)>,
    size: Option<(u32, usize)>,
    insulation: Option<(Insulation, usize)>,
    action: Option<(Action, usize)>,
    work_tag: Option<(TagKind, usize)>,
    final_tag: Option<(TagKind, usize)>,
    length: Option<(Length, usize)>,
    diameter: Option<Length>,
    slides_over: Option<Length>,
    terminal: Option<&'t str>,
    extend_by: Option<Length>,
    branch: Option<&'t str>,
    partner: Option<&'t str>,
    notes: Vec<&'t str>,
    /// The last list that mentioned it.
    last_sheet: usize,
}

/// Joins all mentions.
pub(super) fn join(
    mentions: &Mentions<'_>,
    named: &Named,
    connectors: &BTreeMap<ConnectorId, Connector>,
    problems: &mut Vec<Problem>,
) -> Vec<Circuit> {
    let described: Described<'_> = connectors.values().map(|connector| (connector.id.as_str(), connector)).collect();
    // By circuit, then by place, wire lists before charts, then as read.
    let mut order: Vec<usize> = (0..mentions.all.len()).collect();
    order.sort_unstable_by_key(|&index| {
        let mention = &mentions.all[index];
        (named.circuit_of[index], named.place_of[index], !mentions.is_of_wire(mention), mention.sheet, index)
    });
    let draft_of = vec![0; order.len()];
    let mut joiner = Joiner { mentions, named, described: &described, problems, draft_of, letters: BTreeMap::new() };
    let of_circuit = order.chunk_by(|&a, &b| named.circuit_of[a] == named.circuit_of[b]);
    let circuits = of_circuit.filter_map(|all| joiner.circuit(all)).collect();
    joiner.tell_letters();
    circuits
}

struct Joiner<'t, 'r> {
    mentions: &'r Mentions<'t>,
    named: &'r Named,
    described: &'r Described<'r>,
    problems: &'r mut Vec<Problem>,
    /// For each mention, the number of its draft within its circuit.
    draft_of: Vec<u32>,
    /// Colours of one end in two lists that cannot be compared, as one of them is in letters of which nobody has said what
    /// they mean: by their indices, two mentions that have them and how many such ends there are.
    letters: BTreeMap<(u32, u32), (usize, usize, usize)>,
}

impl<'t> Joiner<'t, '_> {
    /// One circuit from all its mentions, sorted by place.
    fn circuit(&mut self, all: &[usize]) -> Option<Circuit> {
        let mut drafts: Vec<Draft<'t>> = Vec::with_capacity(all.len());
        for here in all.chunk_by(|&a, &b| self.named.place_of[a] == self.named.place_of[b]) {
            self.ends_of_place(here, &mut drafts);
        }
        let mut ends: Vec<(End, usize)> =
            drafts.iter().enumerate().filter_map(|(index, draft)| Some((self.end(draft)?, index))).collect();
        // A colour's text need only be made where two ends share a place.
        ends.sort_by(|(a, at), (b, bt)| {
            let colour = |end: &End| end.colour.as_ref().map(ToString::to_string);
            a.place.cmp(&b.place).then_with(|| colour(a).cmp(&colour(b))).then(at.cmp(bt))
        });
        let mut position = vec![0; drafts.len()];
        for (at, (_, draft)) in ends.iter().enumerate() {
            position[*draft] = at;
        }
        let mut wired: Vec<Option<usize>> = vec![None; ends.len()];
        for (at, (_, draft)) in ends.iter().enumerate() {
            if let Some(other) = drafts[*draft].other {
                let other = position[self.draft_of[other] as usize];
                // Where two lists number parallel wires differently, the first pairing stands.
                if wired[at].is_none() && wired[other].is_none() && at != other {
                    wired[at] = Some(other);
                    wired[other] = Some(at);
                }
            }
        }
        let (mut ends, of_draft): (Vec<End>, Vec<usize>) = ends.into_iter().unzip();
        number_alike(&mut ends);
        let far = wires::far_ends(&ends, &wired, self.described);
        for (at, far) in far.iter().enumerate() {
            if let FarEnd::End(other) = *far
                && at < other
            {
                self.compare_lengths(&ends[at], &ends[other], [of_draft[at], of_draft[other]].map(|at| &drafts[at]));
            }
        }
        let (id, naming) = &self.named.circuits[self.named.circuit_of[*all.first()?] as usize];
        let mut circuit = Circuit::new(id.clone(), *naming, ends, far)?;
        self.describe(&mut circuit, all);
        Some(circuit)
    }

    /// What is said of the circuit as a whole: the first word stands.
    fn describe(&mut self, circuit: &mut Circuit, all: &[usize]) {
        let mut in_order: Vec<usize> = all.to_vec();
        in_order.sort_unstable();
        let mentions = self.mentions;
        let said = || in_order.iter().map(|&index| &mentions.all[index]);
        let function = said().find_map(|mention| Some((mention.function?, mention)));
        circuit.function = function.map(|(function, _)| one_line(function));
        let supply = said().find_map(|mention| Some((mention.supply?, mention)));
        let of_list = || said().find_map(|mention| self.mentions.sheets[mention.sheet].settings().supply);
        circuit.supply = supply.map(|(supply, _)| supply).or_else(of_list);
        // The returns of many devices are one ground, and each may well say whose it is; so may wires that only meet in a place.
        let has_one_function = circuit.naming() == Naming::Designated && circuit.supply != Some(Supply::Ground);
        let is_comparable = |one: &Mention<'_>, other: &Mention<'_>| {
            has_one_function || one.place.cavity.is_some() && one.place == other.place
        };
        if let Some((function, first)) = function
            && let Some((other, mention)) = said()
                .filter(|mention| is_comparable(first, mention))
                .find_map(|mention| Some((mention.function.filter(|other| differ_in_words(function, other))?, mention)))
        {
            let (function, other) = (one_line(function), one_line(other));
            let texts = (function.as_str(), other.as_str());
            self.tell(&format!("circuit `{}`", circuit.id()), Column::Function, first, mention, texts);
        }
        if let Some((supply, first)) = supply
            && let Some((other, mention)) = said().find_map(|m| Some((m.supply.filter(|s| *s != supply)?, m)))
        {
            let texts = (supply.word(), other.word());
            self.tell(&format!("circuit `{}`", circuit.id()), Column::Supply, first, mention, texts);
        }
        let fuse = said().find_map(|mention| Some((Fuse::from_cell(mention.fuse?)?, mention)));
        if let Some((fuse, first)) = &fuse
            && let Some(rating) = fuse.amperes()
            && let Some((other, mention)) = said().filter(|m| m.fuse != first.fuse).find_map(|mention| {
                let other = Fuse::from_cell(mention.fuse?)?;
                other.amperes().is_some_and(|other| other != rating).then_some((other, mention))
            })
        {
            let texts = (fuse.to_string(), other.to_string());
            let texts = (texts.0.as_str(), texts.1.as_str());
            self.tell(&format!("circuit `{}`", circuit.id()), Column::Fuse, first, mention, texts);
        }
        circuit.fuse_at = fuse.as_ref().map(|(_, mention)| mentions.origin_of(mention, Column::Fuse));
        circuit.fuse = fuse.map(|(fuse, _)| fuse);
    }

    /// Tells where the two ends of a wire give it different lengths.
    fn compare_lengths(&mut self, one: &End, other: &End, drafts: [&Draft<'t>; 2]) {
        let [Some((length, first)), Some((far_length, second))] = drafts.map(|draft| draft.length) else { return };
        if !differ_in_length(length, far_length) {
            return;
        }
        let mentions = self.mentions;
        let at = |mention: usize| mentions.origin_of(&mentions.all[mention], Column::Length);
        let what = format!(
            "the wire from `{}` to `{}` has length `{far_length}` here and `{length}` there",
            other.place, one.place
        );
        let problem = CHARTS_DISAGREE.says(what).at(at(second)).see(format!("`{length}` here"), at(first));
        self.problems
            .push(problem.remedy("measure it, and write one length; or a connector lies between that no list names"));
    }

    /// Tells that two mentions differ in a value of which the first stands.
    fn tell(&mut self, what: &str, column: Column, first: &Mention<'_>, second: &Mention<'_>, texts: (&str, &str)) {
        let (sheets, name) = (self.mentions.sheets, column.name());
        let message = format!("{what} has {name} `{}` here and `{}` elsewhere", texts.1, texts.0);
        let problem = CHARTS_DISAGREE.says(message).at(self.mentions.origin_of(second, column));
        let problem = problem.see(format!("`{}` here", texts.0), self.mentions.origin_of(first, column));
        let file = sheets[first.sheet].name();
        self.problems
            .push(problem.remedy(format!("`{}` of {file} is used: look at the wire and mend the other", texts.0)));
    }

    /// The ends in one place from all mentions of it, those of one list together.
    fn ends_of_place(&mut self, here: &[usize], drafts: &mut Vec<Draft<'t>>) {
        let start = drafts.len();
        for of_list in here.chunk_by(|&a, &b| self.mentions.all[a].sheet == self.mentions.all[b].sheet) {
            let mut unpaired: Vec<usize> = of_list.to_vec();
            if drafts.len() > start {
                for pass in PASSES {
                    if !unpaired.is_empty() {
                        self.pair(pass, &mut unpaired, &mut drafts[start..], start);
                    }
                }
            }
            for index in unpaired {
                self.draft_of[index] = drafts.len() as u32;
                drafts.push(self.draft(index));
            }
        }
    }

    /// Pairs mentions of one list with ends that earlier lists mentioned and this one has not yet, where both give the
    /// same key in this pass.
    fn pair(&mut self, pass: Pass, unpaired: &mut Vec<usize>, drafts: &mut [Draft<'t>], start: usize) {
        let sheet = self.mentions.all[unpaired[0]].sheet;
        let mut waiting: HashMap<Key, VecDeque<usize>> = HashMap::new();
        for (at, draft) in drafts.iter().enumerate().filter(|(_, draft)| draft.last_sheet != sheet) {
            let colour = draft.colour.map(|(colour, _)| self.colour_key(colour));
            if let Some(key) = pass.key_of_end(draft.towards, colour) {
                waiting.entry(key).or_default().push_back(at);
            }
        }
        if waiting.is_empty() {
            return;
        }
        let mut rest = Vec::new();
        for &index in unpaired.iter() {
            let mention = &self.mentions.all[index];
            let towards = mention.other.map(|other| self.named.place_of[other]);
            let colour = mention.colour.map(|colour| self.colour_key(colour));
            let keys = pass.keys_of_mention(towards, colour);
            match keys.into_iter().flatten().find_map(|key| waiting.get_mut(&key)?.pop_front()) {
                Some(at) => {
                    self.draft_of[index] = (start + at) as u32;
                    self.merge(&mut drafts[at], index);
                }
                None => rest.push(index),
            }
        }
        *unpaired = rest;
    }

    /// One number for all spellings of a colour.
    fn colour_key(&self, colour: u32) -> u32 {
        self.mentions.colour_key(colour)
    }

    fn draft(&self, index: usize) -> Draft<'t> {
        let mention = &self.mentions.all[index];
        Draft {
            first: index,
            towards: mention.other.map(|other| self.named.place_of[other]),
            other: mention.other,
            colour: mention.colour.map(|colour| (colour, index)),
            size: mention.size.map(|size| (size, index)),
            insulation: mention.insulation.map(|insulation| (insulation, index)),
            action: mention.action.clone().map(|action| (action, index)),
            work_tag: mention.tag.work.map(|kind| (kind, index)),
            final_tag: mention.tag.final_tag.map(|kind| (kind, index)),
            length: mention.length.map(|length| (length, index)),
            diameter: mention.diameter,
            slides_over: mention.slides_over,
            terminal: mention.terminal,
            extend_by: mention.extend_by,
            branch: mention.branch,
            partner: mention.partner,
            notes: mention.note.into_iter().collect(),
            last_sheet: mention.sheet,
        }
    }

    /// Adds what another list says of an end.
    fn merge(&mut self, draft: &mut Draft<'t>, index: usize) {
        let mentions = self.mentions;
        let mention = &mentions.all[index];
        let place = || match mention.place.cavity {
            Some(cavity) => format!("`{}/{cavity}`", mention.place.connector),
            None => format!("`{}`", mention.place.connector),
        };
        if let (Some((key, first)), Some(other_key)) = (draft.colour, mention.colour) {
            let (one, other) = (mentions.colour(key), mentions.colour(other_key));
            if one.same_as(other) {
                // Nothing to tell.
            } else if one.base().is_some() && other.base().is_some() {
                let texts = (letters(one), letters(other));
                self.tell(&place(), Column::Colour, &mentions.all[first], mention, (&texts.0, &texts.1));
            } else {
                self.letters.entry((key, other_key)).or_insert((first, index, 0)).2 += 1;
            }
        }
        if let (Some((one, first)), Some(other)) = (draft.size, mention.size) {
            let (one, other) = (mentions.size(one), mentions.size(other));
            if differ_in_size(one.size(), other.size()) {
                self.tell(&place(), Column::Size, &mentions.all[first], mention, (one.typed(), other.typed()));
            }
        }
        if let (Some((one, first)), Some(other)) = (&draft.action, &mention.action)
            && one != other
        {
            let texts = (one.to_string(), other.to_string());
            self.tell(&place(), Column::Action, &mentions.all[*first], mention, (&texts.0, &texts.1));
        }
        if let (Some((one, first)), Some(other)) = (draft.insulation, mention.insulation)
            && one != other
        {
            let texts = (one.word(), other.word());
            self.tell(&place(), Column::Insulation, &mentions.all[first], mention, texts);
        }
        for (one, other) in [(draft.work_tag, mention.tag.work), (draft.final_tag, mention.tag.final_tag)] {
            if let (Some((one, first)), Some(other)) = (one, other)
                && one != other
            {
                self.tell(&place(), Column::Tag, &mentions.all[first], mention, (one.word(), other.word()));
            }
        }
        draft.colour = draft.colour.or(mention.colour.map(|colour| (colour, index)));
        draft.size = draft.size.or(mention.size.map(|size| (size, index)));
        draft.action = draft.action.take().or(mention.action.clone().map(|action| (action, index)));
        draft.insulation = draft.insulation.or(mention.insulation.map(|insulation| (insulation, index)));
        draft.work_tag = draft.work_tag.or(mention.tag.work.map(|kind| (kind, index)));
        draft.final_tag = draft.final_tag.or(mention.tag.final_tag.map(|kind| (kind, index)));
        if let (Some((one, first)), Some(other)) = (draft.length, mention.length)
            && differ_in_length(one, other)
        {
            let texts = (one.to_string(), other.to_string());
            self.tell(&place(), Column::Length, &mentions.all[first], mention, (&texts.0, &texts.1));
        }
        draft.length = draft.length.or(mention.length.map(|length| (length, index)));
        draft.diameter = draft.diameter.or(mention.diameter);
        draft.slides_over = draft.slides_over.or(mention.slides_over);
        draft.terminal = draft.terminal.or(mention.terminal);
        draft.extend_by = draft.extend_by.or(mention.extend_by);
        draft.branch = draft.branch.or(mention.branch);
        draft.partner = draft.partner.or(mention.partner);
        draft.notes.extend(mention.note.filter(|note| !draft.notes.contains(note)));
        if draft.other.is_none() {
            draft.other = mention.other;
            draft.towards = mention.other.map(|other| self.named.place_of[other]);
        }
        draft.last_sheet = mention.sheet;
    }

    /// Tells once of letters for which two lists have others: whole columns have them.
    fn tell_letters(&mut self) {
        for ((one, other), (first, second, count)) in std::mem::take(&mut self.letters) {
            let (one, other) = (self.mentions.colour(one).typed(), self.mentions.colour(other).typed());
            let (first, second) = (&self.mentions.all[first], &self.mentions.all[second]);
            let ends = if count == 1 { String::new() } else { format!(" ({count} such ends)") };
            let what = format!(
                "colour `{other}` here is `{one}` elsewhere for the same end{ends}: whether they agree is not known"
            );
            let problem = CHARTS_DISAGREE.says(what).at(self.mentions.origin_of(second, Column::Colour));
            let problem = problem.see(format!("`{one}` here"), self.mentions.origin_of(first, Column::Colour));
            let remedy = "say in job.toml what a list's letters mean, below its [[list]]: [list.words.colour]";
            self.problems.push(problem.remedy(remedy));
        }
    }

    /// An end with the defaults of its connector.
    fn end(&self, draft: &Draft<'t>) -> Option<End> {
        let mention = &self.mentions.all[draft.first];
        let connector = self.described.get(mention.place.connector);
        // What describes the connector goes before what holds for a whole list.
        let list = self.mentions.sheets[mention.sheet].settings();
        let default_branch =
            || connector.and_then(|connector| connector.branch.clone()).or_else(|| list.branch.clone());
        // The size and what is round it are of one wire, so the list that gives the size gives its insulation too.
        let default_insulation = || {
            let of = draft.size.map_or(draft.first, |(_, mention)| mention);
            self.mentions.sheets[self.mentions.all[of].sheet].insulation()
        };
        Some(End {
            place: mention.place.to_place()?,
            ordinal: 0,
            colour: draft.colour.map(|(colour, _)| self.mentions.colour(colour).clone()),
            conductor: draft.size.map(|(size, _)| self.mentions.size(size).clone()),
            insulation: draft.insulation.map(|(insulation, _)| insulation).or_else(default_insulation),
            diameter: draft.diameter,
            slides_over: draft.slides_over,
            terminal: draft.terminal.map(one_line),
            extend_by: draft.extend_by,
            length: draft.length.map(|(length, _)| length),
            action: draft
                .action
                .as_ref()
                .map(|(action, _)| action.clone())
                .or_else(|| list.action.clone())
                .unwrap_or_default(),
            decided: match (&draft.action, &list.action) {
                (Some(_), _) => Decided::Row,
                (None, Some(_)) => Decided::List,
                (None, None) => Decided::Nobody,
            },
            is_marked_undecided: matches!(draft.action, Some((Action::Undecided, _))),
            tag: TagWish {
                work: draft.work_tag.map(|(kind, _)| kind),
                final_tag: draft.final_tag.map(|(kind, _)| kind),
            },
            branch: draft.branch.map(one_line).or_else(default_branch),
            partner: draft.partner.map(one_line),
            note: (!draft.notes.is_empty())
                .then(|| draft.notes.iter().map(|note| one_line(note)).collect::<Vec<_>>().join("; ")),
            edited: None,
            origin: self.mentions.origin(mention),
        })
    }
}

/// A colour as it is typed, with its meaning where only job.toml says it.
fn letters(colour: &WireColour) -> String {
    colour.own_letters().map_or_else(|| colour.typed().to_owned(), |letters| format!("{letters} ({colour})"))
}

/// Numbers the ends that share place and colour; `ends` are sorted by both.
fn number_alike(ends: &mut [End]) {
    let colour = |end: &End| end.colour.as_ref().map(ToString::to_string);
    for index in 1..ends.len() {
        let (above, this) = (&ends[index - 1], &ends[index]);
        if above.place == this.place && colour(above) == colour(this) {
            ends[index].ordinal = above.ordinal.saturating_add(1);
        }
    }
}

/// What a mention and an end must have in common: the wire's other place and the colour, as far as the pass asks for them.
type Key = (Option<u32>, Option<u32>);

/// A rule for pairing a mention with an end. Where both name the wire's other place, only the same one will do.
#[derive(Clone, Copy)]
enum Pass {
    /// The same other place and the same colour.
    WireAndColour,
    /// The same other place.
    Wire,
    /// The same colour.
    Colour,
    /// The end has no colour yet.
    ColourOfMention,
    /// The mention has no colour.
    ColourOfEnd,
    /// What is left, in order.
    Order,
}

const PASSES: [Pass; 6] =
    [Pass::WireAndColour, Pass::Wire, Pass::Colour, Pass::ColourOfMention, Pass::ColourOfEnd, Pass::Order];

/// Stands for an end that names its wire's other place, where any will do.
const ANYWHERE: Option<u32> = Some(u32::MAX);

impl Pass {
    fn key_of_end(self, towards: Option<u32>, colour: Option<u32>) -> Option<Key> {
        let somewhere = towards.and(ANYWHERE);
        match self {
            Self::WireAndColour => towards.map(|_| (towards, colour)),
            Self::Wire => towards.map(|_| (towards, None)),
            Self::Colour => colour.map(|_| (somewhere, colour)),
            Self::ColourOfMention => colour.is_none().then_some((somewhere, None)),
            Self::ColourOfEnd | Self::Order => Some((somewhere, None)),
        }
    }

    /// The keys a mention may be paired by, the better first: one that names no other place may be any wire's.
    fn keys_of_mention(self, towards: Option<u32>, colour: Option<u32>) -> [Option<Key>; 2] {
        let any = |colour: Option<u32>| match towards {
            Some(_) => [Some((None, colour)), None],
            None => [Some((ANYWHERE, colour)), Some((None, colour))],
        };
        match self {
            Self::WireAndColour => [towards.map(|_| (towards, colour)), None],
            Self::Wire => [towards.map(|_| (towards, None)), None],
            Self::Colour if colour.is_some() => any(colour),
            Self::ColourOfMention | Self::Order => any(None),
            Self::ColourOfEnd if colour.is_none() => any(None),
            Self::Colour | Self::ColourOfEnd => [None, None],
        }
    }
}
