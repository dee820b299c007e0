//! A number with its word, as a sentence has it.

/// `1 row`, `12 rows`, `2 boxes`, `3 cavities`.
pub fn counted(count: usize, thing: &str) -> String {
    if count == 1 {
        return format!("1 {thing}");
    }
    let ends_in = |ends: &[&str]| ends.iter().any(|end| thing.ends_with(end));
    match thing.strip_suffix('y') {
        Some(stem) if !ends_in(&["ay", "ey", "oy", "uy"]) => format!("{count} {stem}ies"),
        _ if ends_in(&["x", "s", "ch", "sh"]) => format!("{count} {thing}es"),
        _ => format!("{count} {thing}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::counted;

    #[test]
    fn words_are_told_as_they_are_spoken() {
        for (count, thing, told) in [
            (1, "row", "1 row"),
            (0, "row", "0 rows"),
            (2, "fuse box", "2 fuse boxes"),
            (1, "cavity", "1 cavity"),
            (60, "cavity", "60 cavities"),
            (2, "day", "2 days"),
            (3, "tie-on", "3 tie-ons"),
            (2, "run.json file", "2 run.json files"),
        ] {
            assert_eq!(counted(count, thing), told);
        }
    }
}
