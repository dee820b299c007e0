//! What there are pages of -> which file each is, by names that every file system and web space takes.

use std::collections::{BTreeMap, BTreeSet};

use super::issued_codes;
use crate::base::{TagCode, is_device_name};
use crate::run::Snapshot;
use crate::serve::address::{connector_path, place_path};

/// The first page.
pub const FIRST: &str = "index.html";
/// The list of all codes.
pub const CODES: &str = "codes.html";
/// Longest name of a folder, in characters: less than any file system takes.
const LONGEST: usize = 100;

/// The paths of pages, as they are asked for, with their files.
#[derive(Debug, Default)]
pub struct Paths {
    files: BTreeMap<String, String>,
    /// Paths of places, with the files of the ends there.
    places: BTreeMap<String, String>,
}

impl Paths {
    /// All pages of a job.
    pub fn of(job: &Snapshot) -> Self {
        let (mut files, mut places) = (BTreeMap::new(), BTreeMap::new());
        files.insert("/connectors".to_owned(), "connectors.html".to_owned());
        // Those whose names are in capitals come first: their printed links lead to them.
        let in_capitals = |name: &str| name == name.to_uppercase();
        let (first, then): (Vec<_>, Vec<_>) =
            job.connectors().iter().map(|one| &one.id).partition(|id| in_capitals(id.as_str()));
        let mut taken = BTreeSet::new();
        for id in first.into_iter().chain(then) {
            let folder = free_name(&folder_name(id.as_str()), &mut taken);
            let path = connector_path(id.as_str());
            files.insert(format!("{path}?view=mating"), format!("C/{folder}/mating.html"));
            files.insert(path, format!("C/{folder}/index.html"));
        }
        // Where several circuits end, a page says so.
        let mut of_place: BTreeMap<&str, usize> = BTreeMap::new();
        for (record, _) in job.recall.all_words() {
            let here: BTreeSet<&str> = record.ends.iter().map(|end| end.here.as_str()).collect();
            here.into_iter().for_each(|place| *of_place.entry(place).or_default() += 1);
        }
        let mut taken = BTreeSet::new();
        for (place, _) in of_place.into_iter().filter(|(_, count)| *count > 1) {
            let folder = free_name(&folder_name(place), &mut taken);
            files.insert(place_path(place), format!("at/{folder}/index.html"));
        }
        for code in issued_codes(job) {
            let Ok(typed) = TagCode::from_typed(&code) else { continue };
            files.insert(format!("/{code}"), format!("{code}/index.html"));
            let found = job.recall.by_code(typed, None);
            let ends = found.iter().flat_map(|found| &found.record.ends);
            let is_own = found.as_ref().is_some_and(|found| found.record.code.as_deref() == Some(&code));
            for end in ends {
                let own = end.letter.iter().filter(|_| is_own).map(String::as_str);
                let also = end.also.iter().filter_map(|also| also.strip_prefix(&code)?.strip_prefix(' '));
                for letter in own.chain(also) {
                    places.entry(place_path(&end.here)).or_insert_with(|| format!("{code}/{letter}/index.html"));
                    files.insert(format!("/{code}/{letter}"), format!("{code}/{letter}/index.html"));
                }
            }
        }
        Self { files, places }
    }

    /// The pages that are asked for as they are served, with their files.
    pub fn asked(&self) -> impl Iterator<Item = (&str, &str)> {
        self.files.iter().map(|(path, file)| (path.as_str(), file.as_str()))
    }

    /// The file of a path, with its query; `None` where there is none.
    pub fn file(&self, path: &str) -> Option<&str> {
        match path {
            "/" => Some(FIRST),
            "/codes" => Some(CODES),
            _ => self.files.get(path).or_else(|| self.places.get(path)).map(String::as_str),
        }
    }

    /// The code that a path is the record of.
    pub fn code_of(&self, path: &str) -> Option<String> {
        let code = path.strip_prefix('/')?.split('/').next()?;
        TagCode::from_typed(code).ok().map(|_| code.to_owned())
    }
}

/// A designation as the name of a folder, in capitals as in its printed link. What some file system does not take is `=` and its number.
fn folder_name(id: &str) -> String {
    let name = id.to_uppercase();
    let last = name.chars().count().saturating_sub(1);
    let is_device = is_device_name(&name);
    let mut folder = String::new();
    for (nth, character) in name.chars().enumerate() {
        let is_letter = character.is_alphanumeric() && u32::from(character) < 0x250;
        let is_inner = matches!(character, '.' | ' ') && nth > 0 && nth < last && !folder.ends_with('.');
        if (is_letter || is_inner || matches!(character, '+' | '-' | '_' | '$')) && !(is_device && nth == 0) {
            folder.push(character);
        } else {
            folder.push_str(&format!("={:X}=", u32::from(character)));
        }
    }
    folder.chars().take(LONGEST).collect::<String>().trim_end_matches(['.', ' ']).to_owned()
}

/// The name, or where it is taken, on file systems that do not tell case, one with a number.
fn free_name(name: &str, taken: &mut BTreeSet<String>) -> String {
    let numbered = (2_u32..).map(|number| format!("{name}={number}"));
    let mut all = std::iter::once(name.to_owned()).chain(numbered);
    let free = all.find(|name| taken.insert(name.to_lowercase()));
    free.unwrap_or_else(|| name.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn names_of_folders() {
        for (id, folder) in [
            ("J1", "J1"),
            ("x3p", "X3P"),
            ("B+", "B+"),
            ("pump 2", "PUMP 2"),
            ("A/B", "A=2F=B"),
            ("..", "=2E==2E="),
            ("a.", "A=2E="),
            ("a..b", "A.=2E=B"),
            ("CON", "=43=ON"),
            ("com1", "=43=OM1"),
            ("COMPASS", "COMPASS"),
            ("Kühler", "KÜHLER"),
            ("x=2", "X=3D=2"),
        ] {
            assert_eq!(folder_name(id), folder);
        }
    }

    proptest! {
        #[test]
        fn no_name_leaves_its_folder_or_is_that_of_another(ids in prop::collection::btree_set("[ -~äß]{1,12}|[jJ]1", 1..9)) {
            let mut taken = BTreeSet::new();
            let folders: BTreeSet<String> =
                ids.iter().map(|id| free_name(&folder_name(id), &mut taken).to_lowercase()).collect();
            prop_assert_eq!(folders.len(), ids.len());
            for folder in folders {
                prop_assert!(!folder.is_empty() && !folder.contains(['/', '\\', ':', '*', '?', '"', '<', '>', '|']));
                prop_assert!(!folder.ends_with(['.', ' ']) && !folder.starts_with(['.', ' ']));
            }
        }
    }
}
