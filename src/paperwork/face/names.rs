//! The names that lists use for the cavities of a connector -> letters and numbers in them.

use crate::base::Cavity;

/// A letter code longer than this is a word.
const LONGEST_LETTERS: usize = 3;

/// What a cavity's name is made of.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Parts {
    /// `7`, `007`.
    Number(u64),
    /// `A`, `AA`.
    Letters(String),
    /// `B7`, `B-07`: letters, then a number.
    Pair(String, u64),
    /// `7B`: the number first.
    TurnedPair(String, u64),
    /// Anything else: `B+`, `3.1a`.
    Other,
}

impl Parts {
    pub(super) fn of(name: &str) -> Self {
        let is_between = |character: char| matches!(character, '-' | '.' | ' ' | '_');
        let is_digit = |character: char| character.is_ascii_digit();
        let is_letter = |character: char| character.is_ascii_alphabetic();
        let first_part = |is_part: &dyn Fn(char) -> bool| {
            let end = name.find(|character| !is_part(character)).unwrap_or(name.len());
            name.split_at(end)
        };
        let is_code = |letters: &str| (1..=LONGEST_LETTERS).contains(&letters.len());
        let (digits, after) = first_part(&is_digit);
        if let Ok(number) = digits.parse() {
            let rest = after.trim_start_matches(is_between);
            return match rest {
                "" if after.is_empty() => Self::Number(number),
                rest if is_code(rest) && rest.chars().all(is_letter) => Self::TurnedPair(rest.to_owned(), number),
                _ => Self::Other,
            };
        }
        let (letters, after) = first_part(&is_letter);
        let digits = after.trim_start_matches(is_between);
        match (is_code(letters), digits.parse()) {
            (true, _) if after.is_empty() => Self::Letters(letters.to_owned()),
            (true, Ok(number)) if digits.chars().all(is_digit) => Self::Pair(letters.to_owned(), number),
            _ => Self::Other,
        }
    }
}

/// What stands before the number in all of these names, where it is the same in all: `F` of `F1`, `F2`, `F12`.
pub(super) fn common_prefix(names: &[Cavity]) -> Option<&str> {
    let prefix = |name: &'_ Cavity| {
        let name = name.as_str();
        let digits = name.len() - name.trim_end_matches(|character: char| character.is_ascii_digit()).len();
        (digits > 0 && digits < name.len()).then(|| name.len() - digits)
    };
    let first = names.first()?;
    let prefix_of_first = &first.as_str()[..prefix(first)?];
    let has_it =
        |name: &Cavity| prefix(name).is_some_and(|end| name.as_str()[..end].eq_ignore_ascii_case(prefix_of_first));
    names.iter().all(has_it).then_some(prefix_of_first)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn names_as_lists_have_them() {
        let pair = |letters: &str, number| Parts::Pair(letters.to_owned(), number);
        for (name, parts) in [
            ("7", Parts::Number(7)),
            ("007", Parts::Number(7)),
            ("A", Parts::Letters("A".to_owned())),
            ("aa", Parts::Letters("aa".to_owned())),
            ("B7", pair("B", 7)),
            ("B-07", pair("B", 7)),
            ("B 7", pair("B", 7)),
            ("7B", Parts::TurnedPair("B".to_owned(), 7)),
            ("87a", Parts::TurnedPair("a".to_owned(), 87)),
            ("B+", Parts::Other),
            ("7-", Parts::Other),
            ("GROUND", Parts::Other),
            ("A1B", Parts::Other),
            ("99999999999999999999999", Parts::Other),
        ] {
            assert_eq!(Parts::of(name), parts, "{name}");
        }
    }

    #[test]
    fn prefixes() {
        let names = |names: &[&str]| names.iter().filter_map(|name| Cavity::from_cell(name)).collect::<Vec<_>>();
        assert_eq!(common_prefix(&names(&["F1", "f2", "F12"])), Some("F"));
        assert_eq!(common_prefix(&names(&["Pin 1", "Pin 2"])), Some("Pin "));
        assert_eq!(common_prefix(&names(&["A1", "B2"])), None);
        assert_eq!(common_prefix(&names(&["1", "2"])), None);
    }

    proptest! {
        #[test]
        fn any_name_is_answered(name in ".{1,8}") {
            let _ = Parts::of(&name);
            let _ = common_prefix(&Cavity::from_cell(&name).into_iter().collect::<Vec<_>>());
        }
    }
}
