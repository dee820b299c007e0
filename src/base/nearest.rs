//! The known word nearest to one that is not known: what a remedy offers.

/// What the slips of a typing or reading person cost, as [`distance`] adds them up.
#[derive(Clone, Copy, Debug)]
pub struct Costs {
    /// One character missing or superfluous.
    pub missing: u32,
    /// Two neighbours exchanged.
    pub exchanged: u32,
    /// The first character in the place of the second; 0 where they are the same.
    pub replaced: fn(char, char) -> u32,
}

/// Every slip alike.
const EQUAL: Costs = Costs { missing: 1, exchanged: 1, replaced: |one, other| if one == other { 0 } else { 1 } };

/// No longer text is compared: names of settings, columns, actions and stocks are shorter, and the work grows with the square.
const LONGEST: usize = 64;

/// ``did you mean `laser`?``
pub fn did_you_mean(word: &str) -> String {
    format!("did you mean `{word}`?")
}

/// ``did you mean `laser`?``, or all the words there are.
pub fn did_you_mean_or_choose(typed: &str, known: &[&str]) -> String {
    nearest(typed, known.iter().copied()).map_or_else(|| format!("choose from {}", listed(known)), did_you_mean)
}

/// Words in backticks, for a message: `` `laser`, `inkjet` ``.
pub fn listed(words: &[&str]) -> String {
    words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ")
}

/// The known word with the fewest slips, at most a third of what was typed, or one that begins with the three or more
/// characters typed. Case does not matter, nor which of space, `-` and `_` parts the words. The first of equals.
pub fn nearest<'w>(typed: &str, known: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    let typed: Vec<char> = compared(typed).collect();
    if typed.is_empty() || typed.len() > LONGEST {
        return None;
    }
    let allowed = (typed.len() / 3).max(1) as u32;
    let own = typed.iter().fold(0_u128, |marks, &character| marks | 1 << (u32::from(character) % 128));
    let mut best: Option<(u32, &str)> = None;
    for word in known {
        // A slip puts at most one character in order: most words need no closer look.
        let (others, length) = glance(word);
        let least = (own & !others).count_ones().max((others & !own).count_ones());
        let is_far = least.max(typed.len().abs_diff(length) as u32) > allowed;
        if is_far && own & !others != 0 {
            continue;
        }
        let characters: Vec<char> = compared(word).collect();
        let begins = typed.len() >= 3 && characters.starts_with(&typed);
        if is_far && !begins {
            continue;
        }
        let slips = if begins { 1 } else { distance(&typed, &characters, &EQUAL) };
        // Where no character is left of the shorter word, it was not meant.
        let is_near = begins || (slips <= allowed && (slips as usize) < typed.len().max(characters.len()));
        if is_near && best.is_none_or(|(fewest, _)| slips < fewest) {
            best = Some((slips, word));
        }
    }
    best.map(|(_, word)| word)
}

fn compared(word: &str) -> impl Iterator<Item = char> {
    let lower = word.trim().chars().flat_map(char::to_lowercase).take(LONGEST + 1);
    lower.map(|character| if matches!(character, '-' | '_') { ' ' } else { character })
}

/// Which characters a word has, a bit each (some share theirs), and how many.
fn glance(word: &str) -> (u128, usize) {
    let add = |(marks, count): (u128, usize), mark: u32| (marks | 1 << (mark % 128), count + 1);
    if !word.is_ascii() {
        return compared(word).map(u32::from).fold((0, 0), add);
    }
    let lower = word.trim().bytes().take(LONGEST + 1).map(|byte| byte.to_ascii_lowercase());
    lower.map(|byte| if matches!(byte, b'-' | b'_') { b' ' } else { byte }).map(u32::from).fold((0, 0), add)
}

/// The cheapest way from one text to the other by replaced, missing, superfluous and exchanged characters (the distance of
/// optimal string alignment, with costs).
pub fn distance(one: &[char], other: &[char], costs: &Costs) -> u32 {
    let width = other.len() + 1;
    let mut cheapest = vec![0; (one.len() + 1) * width];
    for i in 0..=one.len() {
        for j in 0..=other.len() {
            let at = |i: usize, j: usize| cheapest[i * width + j];
            cheapest[i * width + j] = match (i, j) {
                (0, j) => j as u32 * costs.missing,
                (i, 0) => i as u32 * costs.missing,
                (i, j) => {
                    let replaced = at(i - 1, j - 1) + (costs.replaced)(one[i - 1], other[j - 1]);
                    let mut best = replaced.min(at(i - 1, j) + costs.missing).min(at(i, j - 1) + costs.missing);
                    if i > 1 && j > 1 && one[i - 1] == other[j - 2] && one[i - 2] == other[j - 1] {
                        best = best.min(at(i - 2, j - 2) + costs.exchanged);
                    }
                    best
                }
            };
        }
    }
    cheapest[cheapest.len() - 1]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn slips(one: &str, other: &str) -> u32 {
        let characters = |text: &str| text.chars().collect::<Vec<_>>();
        distance(&characters(one), &characters(other), &EQUAL)
    }

    #[test]
    fn slips_are_counted() {
        // Three replaced or added: the usual textbook example. Two neighbours exchanged are one slip.
        assert_eq!(slips("kitten", "sitting"), 3);
        assert_eq!((slips("ab", "ba"), slips("abcd", "badc")), (1, 2));
        assert_eq!((slips("", "abc"), slips("abc", ""), slips("abc", "abc")), (3, 3, 0));
    }

    #[test]
    fn near_but_not_too_near() {
        assert_eq!(nearest("conector", ["cavity", "connector"]), Some("connector"));
        assert_eq!(nearest("colums", ["columns", "rows"]), Some("columns"));
        assert_eq!(nearest("Width", ["width", "height"]), Some("width"));
        assert_eq!(nearest("from_conector", ["from connector", "to connector"]), Some("from connector"));
        assert_eq!(nearest("ink", ["laser", "inkjet"]), Some("inkjet"));
        assert_eq!(nearest("zzz", ["columns", "rows"]), None);
        assert_eq!(nearest("x", ["a", "b"]), None);
        assert_eq!(nearest("", ["a"]), None);
        assert_eq!(nearest("x", []), None);
    }

    #[test]
    fn what_is_far_is_answered_with_all_there_is() {
        let told = |typed| did_you_mean_or_choose(typed, &["laser", "thermal-transfer"]);
        assert_eq!(told("lazer"), "did you mean `laser`?");
        assert_eq!(told("thermal transfer"), "did you mean `thermal-transfer`?");
        assert_eq!(told("plotter"), "choose from `laser`, `thermal-transfer`");
        assert_eq!(told(""), "choose from `laser`, `thermal-transfer`");
    }

    proptest! {
        /// A first look saves time and changes nothing.
        #[test]
        fn every_word_that_is_near_is_looked_at(typed in "[a-eé_ -]{0,7}", known in prop::collection::vec("[a-eéA-C_ -]{0,8}", 0..8)) {
            let own: Vec<char> = compared(&typed).collect();
            let allowed = (own.len() / 3).max(1) as u32;
            let near = |word: &&String| {
                let other: Vec<char> = compared(word).collect();
                let begins = own.len() >= 3 && other.starts_with(&own);
                let slips = if begins { 1 } else { distance(&own, &other, &EQUAL) };
                let is_near = begins || (slips <= allowed && (slips as usize) < own.len().max(other.len()));
                (!own.is_empty() && is_near).then_some(slips)
            };
            let best = known.iter().filter(|word| near(word).is_some()).min_by_key(|word| near(word));
            prop_assert_eq!(nearest(&typed, known.iter().map(String::as_str)), best.map(String::as_str));
        }
    }

    proptest! {
        #[test]
        fn a_distance_is_one(one in "[abc]{0,6}", other in "[abc]{0,6}") {
            prop_assert_eq!(slips(&one, &other), slips(&other, &one));
            prop_assert_eq!(slips(&one, &other) == 0, one == other);
            prop_assert!(slips(&one, &other) as usize <= one.len().max(other.len()));
        }

        #[test]
        fn any_text_is_answered(typed in ".{0,80}", known in prop::collection::vec(".{0,80}", 0..4)) {
            let known: Vec<&str> = known.iter().map(String::as_str).collect();
            let _ = did_you_mean_or_choose(&typed, &known);
        }
    }
}
