//! Which of several tags are one circuit, in words: of tags that were scanned together, or named together.

use super::recall::Tag;

/// As many tags are told in one sentence.
const SENTENCE: usize = 5;

/// What several tags are to each other, a line each; nothing of a single tag. The tags come as
/// [`one_circuit`](super::recall::Recall::one_circuit) puts them together.
pub fn in_words(circuits: &[Vec<Tag>]) -> Vec<String> {
    let tags: usize = circuits.iter().map(Vec::len).sum();
    match (circuits, tags) {
        (_, 0 | 1) => Vec::new(),
        ([_], 2) => vec!["both tags: the same circuit".to_owned()],
        ([_], _) => vec![format!("all {tags} tags: the same circuit")],
        (_, 2) => vec!["the two tags are different circuits, as far as is known".to_owned()],
        (_, _) if tags <= SENTENCE => vec![sentence(circuits)],
        _ => {
            // Of many tags only what belongs together is told.
            let (alone, together): (Vec<&Vec<Tag>>, Vec<_>) = circuits.iter().partition(|circuit| circuit.len() == 1);
            let mut lines: Vec<String> =
                together.iter().map(|circuit| format!("one circuit: {}", names(circuit))).collect();
            if !alone.is_empty() {
                let which = if together.is_empty() { "all of them" } else { "all others" };
                lines.push(format!("{which}: circuits of their own, as far as is known"));
            }
            lines
        }
    }
}

/// `8GMK A and 8GMK B are one circuit; KKZA A is another`.
fn sentence(circuits: &[Vec<Tag>]) -> String {
    if circuits.iter().all(|circuit| circuit.len() == 1) {
        return format!("{} are different circuits, as far as is known", names(&circuits.concat()));
    }
    // What belongs together is what was asked for.
    let mut circuits = circuits.to_vec();
    circuits.sort_by_key(|circuit| std::cmp::Reverse(circuit.len()));
    let say = |(index, circuit): (usize, &Vec<Tag>)| match (index, circuit.len()) {
        (0, _) => format!("{} are one circuit", names(circuit)),
        (_, 1) => format!("{} is another", names(circuit)),
        _ => format!("{} are another", names(circuit)),
    };
    circuits.iter().enumerate().map(say).collect::<Vec<_>>().join("; ")
}

/// `8GMK A, 8GMK B and KKZA A`.
fn names(tags: &[Tag]) -> String {
    let names: Vec<String> = tags.iter().map(name).collect();
    match names.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    }
}

/// A tag as it is named: `8GMK A`, or `8GMK` of one without a letter.
pub fn name((code, letter): &Tag) -> String {
    letter.map_or_else(|| code.to_string(), |letter| format!("{code} {letter}"))
}
