//! Natural order: runs of digits compare as numbers, so that J2 comes before J10 and `B7` before `B12`.

use std::cmp::Ordering;

/// Compares two designations in natural order.
///
/// Letters compare without case first and with case only to break a tie; so do leading zeros (`01` beside `1`). The
/// order is total: only equal texts compare equal.
pub fn compare(one: &str, other: &str) -> Ordering {
    let (mut a, mut b) = (one, other);
    loop {
        let step = match (a.chars().next(), b.chars().next()) {
            (None, None) => return one.cmp(other),
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
            (Some(x), Some(y)) if x.is_ascii_digit() && y.is_ascii_digit() => {
                compare_numbers(take_digits(&mut a), take_digits(&mut b))
            }
            (Some(x), Some(y)) => {
                (a, b) = (&a[x.len_utf8()..], &b[y.len_utf8()..]);
                if x == y { Ordering::Equal } else { x.to_uppercase().cmp(y.to_uppercase()) }
            }
        };
        if step != Ordering::Equal {
            return step;
        }
    }
}

/// Takes the run of digits off the front of a text; it borrows, as sorting a large job compares millions of times.
fn take_digits<'a>(text: &mut &'a str) -> &'a str {
    let end = text.bytes().position(|byte| !byte.is_ascii_digit()).unwrap_or(text.len());
    let (digits, rest) = text.split_at(end);
    *text = rest;
    digits
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
