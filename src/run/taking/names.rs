//! The name that a file was sent with -> a name for it in the job folder: plain, of the folder itself, and one that is read as a list.

use std::fs;
use std::path::Path;

use crate::base::is_device_name;
use crate::run::named_lists::{CONNECTORS_FILES, LIST_ENDS};

/// Most characters of a name.
const LONGEST: usize = 100;

/// A name in the job folder for a file that was sent. A file that is there and whose name differs in case only keeps its spelling.
pub(super) fn safe(folder: &Path, sent: &str, bytes: &[u8]) -> String {
    let last = sent.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain = |c: char| {
        let is_odd = c.is_control()
            || r#"<>:"|?*%#&"#.contains(c)
            || matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}');
        if is_odd { '-' } else { c }
    };
    let name: String = last.chars().map(plain).collect();
    let name = name.trim_start_matches(|c: char| c.is_whitespace() || ".~$-".contains(c));
    let name = name.trim_end_matches(|c: char| c.is_whitespace() || c == '.');
    let (stem, end) = ending(name, bytes);
    let stem: String = stem.chars().take(LONGEST).collect();
    let stem = stem.trim();
    let name = match stem {
        "" => format!("list.{end}"),
        stem if is_device_name(stem) => format!("list-{stem}.{end}"),
        stem => format!("{stem}.{end}"),
    };
    if let Some(connectors) = CONNECTORS_FILES.iter().find(|known| known.eq_ignore_ascii_case(&name)) {
        return (*connectors).to_owned();
    }
    in_folder(folder, &name).unwrap_or(name)
}

/// The stem and the ending that it is to have: its own where that is one of a list.
fn ending<'n>(name: &'n str, bytes: &[u8]) -> (&'n str, String) {
    if let Some((stem, end)) = name.rsplit_once('.') {
        if LIST_ENDS.iter().any(|known| known.eq_ignore_ascii_case(end)) {
            return (stem, end.to_owned());
        }
        if ["txt", "tsv", "tab"].iter().any(|known| known.eq_ignore_ascii_case(end)) {
            return (stem, "csv".to_owned());
        }
    }
    let is_ods = bytes.get(..200).is_some_and(|start| start.windows(13).any(|part| part == b"opendocument."));
    let end = match bytes.starts_with(b"PK\x03\x04") {
        true if is_ods => "ods",
        true => "xlsx",
        false => "csv",
    };
    (name, end.to_owned())
}

/// The file of the folder that has this name but for upper and lower case.
fn in_folder(folder: &Path, name: &str) -> Option<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let names = entries.filter_map(|entry| entry.file_name().into_string().ok());
    let mut alike: Vec<String> = names.filter(|known| known.to_lowercase() == name.to_lowercase()).collect();
    alike.sort();
    let own = alike.iter().position(|known| known == name).unwrap_or(0);
    (!alike.is_empty()).then(|| alike.swap_remove(own))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn names_stay_in_the_folder_and_are_lists() {
        let safe = |sent: &str| safe(Path::new("/nowhere/at-all"), sent, b"a,b\n");
        for (sent, name) in [
            ("loom.csv", "loom.csv"),
            ("../../etc/passwd", "passwd.csv"),
            ("C:\\boat\\engine loom.XLSX", "engine loom.XLSX"),
            ("job.toml", "job.toml.csv"),
            ("register.db", "register.db.csv"),
            ("CONNECTORS.CSV", "connectors.csv"),
            ("charts/connectors.csv", "connectors.csv"),
            ("..", "list.csv"),
            ("", "list.csv"),
            (".csv", "csv.csv"),
            (".hidden.csv", "hidden.csv"),
            ("~$loom.xlsx", "loom.xlsx"),
            ("nul.csv", "list-nul.csv"),
            ("COM1.v2.csv", "list-COM1.v2.csv"),
            ("pinout.tsv", "pinout.csv"),
            ("a\u{0}b\nc.csv", "a-b-c.csv"),
            ("loom\u{202e}vsc.csv", "loom-vsc.csv"),
            ("Kabelbaum Führerstand.csv", "Kabelbaum Führerstand.csv"),
        ] {
            assert_eq!(safe(sent), name, "{sent:?}");
        }
        assert_eq!(super::safe(Path::new("/nowhere"), "wires", b"PK\x03\x04"), "wires.xlsx");
    }

    proptest! {
        #[test]
        fn whatever_is_sent_is_a_plain_name(sent in any::<String>()) {
            let name = safe(Path::new("/nowhere/at-all"), &sent, b"");
            prop_assert!(!name.contains(['/', '\\', '\0']) && !name.starts_with('.') && !name.chars().any(char::is_control));
            let end = name.rsplit('.').next().unwrap_or_default().to_lowercase();
            prop_assert!(LIST_ENDS.contains(&end.as_str()), "{name}");
            prop_assert_eq!(safe(Path::new("/nowhere/at-all"), &name, b""), name);
        }
    }
}
