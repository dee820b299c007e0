//! Natural order: runs of digits compare as numbers, so that J2 comes before J10 and `B7` before `B12`.

use std::cmp::Ordering;
use std::iter::Peekable;
use std::str::Chars;

/// Compares two designations in natural order.
///
/// Letters compare without case first and with case only to break a tie; so do leading zeros (`01` beside `1`). The
/// order is total: only equal texts compare equal.
pub fn compare(one: &str, other: &str) -> Ordering {
    let (mut a, mut b) = (one.chars().peekable(), other.chars().peekable());
    loop {
        let step = match (a.peek().copied(), b.peek().copied()) {
            (None, None) => return one.cmp(other),
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
            (Some(x), Some(y)) if x.is_ascii_digit() && y.is_ascii_digit() => {
                compare_numbers(&digits(&mut a), &digits(&mut b))
            }
            (Some(x), Some(y)) => {
                a.next();
                b.next();
                x.to_uppercase().cmp(y.to_uppercase())
            }
        };
        if step != Ordering::Equal {
            return step;
        }
    }
}

fn digits(chars: &mut Peekable<Chars<'_>>) -> String {
    let mut run = String::new();
    while let Some(digit) = chars.next_if(char::is_ascii_digit) {
        run.push(digit);
    }
    run
}

/// Compares digit runs of any length without turning them into machine numbers.
fn compare_numbers(one: &str, other: &str) -> Ordering {
    let (one, other) = (one.trim_start_matches('0'), other.trim_start_matches('0'));
    one.len().cmp(&other.len()).then_with(|| one.cmp(other))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_count_as_numbers() {
        let mut names = ["J10", "J2", "B12", "B7", "j2", "01", "1", "X3S", "X3P", ""];
        names.sort_by(|a, b| compare(a, b));
        assert_eq!(names, ["", "01", "1", "B7", "B12", "J2", "j2", "J10", "X3P", "X3S"]);
    }

    proptest! {
        #[test]
        fn order_is_total(a in "[a-cA-C0-2]{0,6}", b in "[a-cA-C0-2]{0,6}", c in "[a-cA-C0-2]{0,6}") {
            prop_assert_eq!(compare(&a, &b), compare(&b, &a).reverse());
            prop_assert_eq!(compare(&a, &b) == Ordering::Equal, a == b);
            if compare(&a, &b) != Ordering::Greater && compare(&b, &c) != Ordering::Greater {
                prop_assert_ne!(compare(&a, &c), Ordering::Greater);
            }
        }
    }
}
