//! Workbooks by writers that are not ours (openpyxl, XlsxWriter, odfpy) beside the CSV lists they were made from: the same
//! circuits, codes, tags and messages, each at the same row.

use std::fs;

use serde_json::Value;

use crate::kit::{JobFolder, script, text};

const WRITERS: [(&str, &str); 3] = [("openpyxl", "xlsx"), ("xlsxwriter", "xlsx"), ("odfpy", "ods")];

/// Charts with mistakes, a title above the header, leading zeros, decimal commas, words over two lines and German headers.
const MISTAKEN: [(&str, &str); 3] = [
    (
        "ecu",
        "Marsh Hen bench,,,,,,,,,,\n\
         connector,cavity,circuit,function,colour,size,supply,fuse,action,length,diameter\n\
         J1,1,E65,glow plug supply,RD/BK,4.0,constant,F1 60 A,chop,,3.9\n\
         J1,02,E70,engine ground,BK,2.5,grond,,keep,,three\n\
         J1,14,E14,\"rail pressure, signal\",BU/WH,0.5,signal,,cut,680,2.4\n\
         J1,14,E15,rail pressure,BU/WH,0.75,signal,,cut,680,2.4\n\
         X3,2,E14,,BU/WH,16,signal,,keep,680,2.4\n\
         X3,4,E16,\"words over\ntwo lines\",BU,0.5,,,,1200,\n",
    ),
    (
        "fahrzeug",
        "Stecker;Kammer;Stromkreis;Farbe;Querschnitt;Maßnahme;Länge\n\
         J2;3;C03;VT/GN;0,5;bleibt;2100\nJ2;04;C04;WH/YE;1,5;entfernen;1.200\nJ2;5;E65;RD/BK;;bleibt;\n",
    ),
    ("helm", "connector,circuit,function\nH1,M1,horn\nH1,M2,7\n"),
];

/// The same lists as a workbook, with job.toml naming a sheet where it named a list.
fn as_workbook(folder: &JobFolder, writer: &str, end: &str) -> JobFolder {
    let path = |folder: &JobFolder| folder.path().to_string_lossy().into_owned();
    let settings = String::from_utf8(folder.bytes("job.toml")).expect("UTF-8");
    let named = |line: &str| match line.strip_prefix("file = \"").and_then(|rest| rest.split_once(".csv\"")) {
        Some((name, _)) => format!("file = \"lists.{end}\"\nsheet = \"{name}\"\n"),
        None => format!("{line}\n"),
    };
    let workbook = JobFolder::with(&[("job.toml", &settings.lines().map(named).collect::<String>())]);
    let said = script("workbooks.py", &[writer, &path(folder), &path(&workbook)]);
    assert!(said.ends_with("sheets"), "{said}");
    assert_eq!(workbook.names().iter().filter(|name| name.ends_with(".csv")).count(), 0);
    workbook
}

/// Every problem as `sheet row id message | remedy | related rows`; files and sheets by the name of the list.
fn problems(folder: &JobFolder) -> Vec<String> {
    let answer = folder.run(&["check", "--json"]).json();
    let place = |place: &Value| {
        let file = text(&place["file"]);
        let list = place.get("sheet").map_or_else(|| file.replace(".csv", ""), text);
        format!("{list} {}", place["line"])
    };
    let told = |problem: &Value| {
        let related: Vec<String> =
            problem["related"].as_array().into_iter().flatten().map(|other| place(&other["place"])).collect();
        let words = format!("{} {} | {}", problem["id"], problem["message"], problem["remedy"]);
        format!("{} {words} | {related:?}", place(&problem["place"]))
    };
    answer["problems"].as_array().expect("problems").iter().map(told).collect()
}

/// All tags of a run as run.json tells them.
fn tags(folder: &JobFolder) -> Vec<Value> {
    folder.done(&["tags", "--all", "--no-proof", "--skip-problems", "--out", "out"]);
    folder.tags("out").into_iter().map(|tag| tag.json).collect()
}

#[test]
fn the_example_as_a_workbook_is_the_same_job() {
    let folder = JobFolder::example();
    let (told, made) = (problems(&folder), tags(&folder));
    assert!(made.len() > 250, "{} tags", made.len());
    for (writer, end) in WRITERS {
        let workbook = as_workbook(&folder, writer, end);
        assert_eq!(problems(&workbook), told, "{writer}");
        assert_eq!(tags(&workbook), made, "{writer}");
    }
}

#[test]
fn mistakes_are_told_alike() {
    let mut settings = "title = \"Marsh Hen bench\"\n".to_owned();
    let folder = JobFolder::empty();
    for (name, list) in MISTAKEN {
        settings += &format!("[[list]]\nfile = \"{name}.csv\"\n");
        folder.write(&format!("{name}.csv"), list);
    }
    folder.write("job.toml", &settings);
    let (told, made) = (problems(&folder), tags(&folder));
    assert!(told.len() > 8, "{told:#?}");
    // A message may name the file, which for a workbook has another name.
    let renamed = |told: &[String], end: &str| -> Vec<String> {
        let name = |line: &String| {
            MISTAKEN
                .iter()
                .fold(line.clone(), |line, (name, _)| line.replace(&format!("`{name}.csv`"), &format!("`lists.{end}`")))
        };
        told.iter().map(name).collect()
    };
    for (writer, end) in WRITERS {
        let workbook = as_workbook(&folder, writer, end);
        assert_eq!(problems(&workbook), renamed(&told, end), "{writer}");
        assert_eq!(tags(&workbook), made, "{writer}");
    }
    // Without any [[list]] the workbook of the folder is taken, with all its sheets.
    let workbook = as_workbook(&folder, "openpyxl", "xlsx");
    workbook.write("job.toml", "");
    workbook.write("~$lists.xlsx", "the lock file of an open workbook");
    assert_eq!(problems(&workbook), renamed(&told, "xlsx"));
}

#[test]
fn dates_in_workbooks_are_told_with_their_cells() {
    for (writer, end) in [("openpyxl", "xlsx"), ("odfpy", "ods")] {
        let folder = JobFolder::with(&[("job.toml", "")]);
        let file = folder.path().join(format!("pins.{end}"));
        script("dates.py", &[writer, &file.to_string_lossy()]);
        let answer = folder.run(&["check"]).ends_with(1);
        let at = |cell: &str| format!("--> pins.{end}:'engine plugs'!{cell}\n");
        for (severity, cell) in [("error", "B3"), ("error", "C4"), ("warning", "G5")] {
            let head = format!("{severity}[changed-by-spreadsheet]: `");
            let told = answer.out.split("\n\n").any(|told| told.starts_with(&head) && told.contains(&at(cell)));
            assert!(told, "{writer} {cell}:\n{}", answer.out);
        }
        let may_have_been = "a spreadsheet program made it of what was typed: it may have been `";
        assert!(answer.out.contains(may_have_been), "{writer}:\n{}", answer.out);
        let answer = folder.run(&["check", "--json"]).json();
        let problems = answer["problems"].as_array().expect("problems");
        let place = &problems.iter().find(|told| told["id"] == "changed-by-spreadsheet").expect("told")["place"];
        assert_eq!((text(&place["sheet"]), text(&place["cell"])), ("engine plugs".to_owned(), "B3".to_owned()));
        assert_eq!((&place["line"], &place["column"]), (&Value::from(3), &Value::from(2)));
    }
}

#[test]
fn a_new_job_from_a_workbook() {
    let lists = JobFolder::with(&[("job.toml", "")]);
    script("dates.py", &["openpyxl", &lists.path().join("pins.xlsx").to_string_lossy()]);
    let folder = JobFolder::empty();
    let list = lists.path().join("pins.xlsx");
    folder.done(&["init", "--job", "new", &list.to_string_lossy()]);
    assert_eq!(folder.bytes("new/pins.xlsx"), fs::read(list).expect("it is there"));
    folder.run(&["check", "--job", "new"]).ends_with(1).says("changed-by-spreadsheet");
}
