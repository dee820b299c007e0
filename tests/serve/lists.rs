//! Lists brought in by a browser: looked at, put right, compared, taken; and nothing of the job lost or changed before that.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use axum::http::StatusCode;
use loomtag::run;

use crate::kit::served::{Came, Served};
use crate::kit::{JobFolder, SMALL_LIST, script};

/// Sends a file, and where its draft is.
fn sent(served: &Served, name: &str, bytes: &[u8]) -> String {
    let came = served.upload("/lists/-/send", &[], &[("file", name, bytes)]);
    assert_eq!(came.status, StatusCode::SEE_OTHER, "{}", came.text());
    let to = came.to.expect("leads on");
    assert!(to.starts_with("/lists/-/"), "{to}");
    to
}

fn page(served: &Served, path: &str) -> String {
    let came = served.get(path);
    assert_eq!(came.status, StatusCode::OK, "{path}: {}", came.text());
    came.text()
}

/// The value of a field of a page.
fn field(page: &str, name: &str) -> String {
    let mark = format!("name=\"{name}\" value=\"");
    let at = page.find(&mark).unwrap_or_else(|| panic!("no field `{name}` in {page}")) + mark.len();
    page[at..].split('"').next().expect("closed").to_owned()
}

/// Takes what a page of changes shows.
fn agreed(served: &Served, changes: &str, path: &str) -> Came {
    let (job, files) = (field(changes, "job"), field(changes, "files"));
    served.post(path, &[("job", &job), ("files", &files)])
}

fn take(served: &Served, draft: &str) -> Came {
    let changes = page(served, &format!("{draft}/changes"));
    agreed(served, &changes, &format!("{draft}/take"))
}

/// All files of a job but its register, by name.
fn files(job: &JobFolder) -> BTreeMap<String, Vec<u8>> {
    let names =
        job.names().into_iter().filter(|name| !name.starts_with("register.db") && job.path().join(name).is_file());
    names.map(|name| (name.clone(), job.bytes(&name))).collect()
}

const NEW_LIST: &str = "connector,cavity,circuit,colour,action\nX9,1,N1,RD,keep\nX9,2,N2,BU,cut\n";

#[test]
fn a_list_is_looked_at_compared_and_only_then_taken() {
    let job = JobFolder::small();
    let before = files(&job);
    let served = Served::unlocked(&job.path());
    let draft = sent(&served, "extra.csv", NEW_LIST.as_bytes());
    let shown = page(&served, &draft);
    assert!(shown.contains("a chart, one row per cavity; 2 rows, commas, UTF-8") && shown.contains("X9/1"), "{shown}");
    let changes = page(&served, &format!("{draft}/changes"));
    for told in ["<strong>2</strong> circuits new", "<strong>2</strong> ends new", "N2 at X9/2"] {
        assert!(changes.contains(told), "{told}: {changes}");
    }
    assert_eq!(files(&job), before, "nothing is written before it is taken");
    let came = agreed(&served, &changes, &format!("{draft}/take"));
    assert_eq!((came.status, came.to.as_deref()), (StatusCode::SEE_OTHER, Some("/lists/extra.csv?taken=1")));
    let mut after = files(&job);
    assert_eq!(after.remove("extra.csv").as_deref(), Some(NEW_LIST.as_bytes()));
    assert_eq!(after, before, "job.toml names no lists, and need not name this one");
    let done = page(&served, "/lists/extra.csv?taken=1");
    assert!(done.contains("written: extra.csv") && done.contains("What to do next"), "{done}");
    assert!(page(&served, "/lists").contains("extra.csv"));
    assert_eq!(served.get(&draft).status, StatusCode::NOT_FOUND, "a draft is used up");
}

/// A chart as many hands leave it: Windows-1252, semicolons, decimal commas, titles, headers in two rows.
#[test]
fn a_messy_list_is_understood_and_taken_byte_for_byte() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let text = "Marsh Hen;;;;;\r\nKabelbaum Führerstand;;;;;\r\nVon;;Nach;;;\r\nStecker;Kammer;Stecker;Kammer;Farbe;Querschnitt\r\n\
                J2;3;K7;1;grün;0,75\r\nJ2;4;K7;2;BU;1,5\r\n";
    let bytes: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).expect("Latin")).collect();
    let draft = sent(&served, "führerstand.csv", &bytes);
    let shown = page(&served, &draft);
    assert!(shown.contains("a wire list, one row per wire; 2 rows, semicolons, Windows-1252"), "{shown}");
    for told in ["<strong>J2/3</strong>", "<strong>K7/1</strong>", "grün", "1,5"] {
        assert!(shown.contains(told), "{told}: {shown}");
    }
    assert_eq!(take(&served, &draft).status, StatusCode::SEE_OTHER);
    assert_eq!(job.bytes("führerstand.csv"), bytes);
}

#[test]
fn columns_are_put_right_by_hand() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let text = "Plug,Nr,Bezug,Color,Lage\nX9,1,N1,RD,a\nX9,2,N2,BU,b\n";
    let draft = sent(&served, "loose.csv", text.as_bytes());
    let shown = page(&served, &draft);
    let ignored = "aria-label=\"what Bezug is read as\"><option value=\"\" selected>ignore</option>";
    assert!(shown.contains(ignored), "{shown}");
    let came = served
        .post(&draft, &[("c0-1", "cavity"), ("c0-2", "circuit"), ("c0-3", ""), ("unit0", "awg"), ("form0", "chart")]);
    assert_eq!(came.to.as_deref(), Some(&*draft));
    let shown = page(&served, &draft);
    assert!(shown.contains("<strong>X9/1</strong> circuit N1"), "{shown}");
    assert!(!shown.contains("N1, <span class=\"colour\""), "the colour is ignored: {shown}");
    let changes = page(&served, &format!("{draft}/changes"));
    assert!(changes.contains("N2 at X9/2"), "{changes}");
    assert_eq!(take(&served, &draft).status, StatusCode::SEE_OTHER);
    let settings = String::from_utf8(job.bytes("job.toml")).expect("UTF-8");
    // It named no lists, and so the one that was read by itself is named too.
    assert!(settings.contains("file = \"loom.csv\"\n"), "{settings}");
    for line in ["file = \"loose.csv\"", "form = \"chart\"", "size_unit = \"awg\"", "ignore = [\"Color\"]"] {
        assert!(settings.contains(line), "{line}: {settings}");
    }
    let reading = run::read(&job.path()).expect("reads").value.expect("a job");
    let circuits: BTreeSet<String> = reading.circuits.all().iter().map(|circuit| circuit.id().to_string()).collect();
    assert!(["N1", "N2", "E65", "J2/9"].iter().all(|id| circuits.contains(*id)), "{circuits:?}");
}

#[test]
fn the_old_list_is_kept_and_job_toml_keeps_its_comments() {
    let job = JobFolder::small();
    let text = "# the boat\ntitle = \"Marsh Hen\"   # on every page\n\n# lists of the donor\n[[list]]\nfile = \"loom.csv\"   # from May\n\
                insulation = \"thin-wall\" # all of it\n# columns = { circuit = \"no.\" }\n\n[printer] # office\nkind = \"laser\"\n# end\n";
    job.write("job.toml", text);
    let served = Served::unlocked(&job.path());
    let new = SMALL_LIST
        .replace("connector,cavity,circuit", "connector,cavity,Kennung")
        .replace("BU/WH", "BU/YE")
        .replace("J2,9,,,GY,0.5,,,,,\n", "");
    let draft = sent(&served, "loom.csv", new.as_bytes());
    assert!(page(&served, &draft).contains("in place of loom.csv"));
    served.post(&draft, &[("c0-2", "circuit")]);
    let changes = page(&served, &format!("{draft}/changes"));
    assert!(changes.contains("<del>BU/WH</del> → <ins>BU/YE</ins>"), "{changes}");
    assert!(changes.contains("<strong>1</strong> circuit gone"), "{changes}");
    assert_eq!(take(&served, &draft).status, StatusCode::SEE_OTHER);
    assert_eq!(job.bytes("loom.csv"), new.as_bytes());
    assert_eq!(job.bytes("lists-before/loom-2026-11-28T12-00-00Z.csv"), SMALL_LIST.as_bytes());
    assert_eq!(job.bytes("lists-before/job-2026-11-28T12-00-00Z.toml"), text.as_bytes());
    let now = String::from_utf8(job.bytes("job.toml")).expect("UTF-8");
    let expected = text.replace("# all of it\n", "# all of it\ncolumns = { circuit = \"Kennung\" }\n");
    assert_eq!(now, expected);
    // The same once more at the same moment: nothing that is kept is written over.
    let draft = sent(&served, "loom.csv", SMALL_LIST.as_bytes());
    served.post(&draft, &[("c0-2", "circuit")]);
    assert_eq!(take(&served, &draft).status, StatusCode::SEE_OTHER);
    assert_eq!(job.bytes("lists-before/loom-2026-11-28T12-00-00Z-2.csv"), new.as_bytes());
}

#[test]
fn names_from_a_browser_stay_in_the_folder() {
    let job = JobFolder::small();
    let before = files(&job);
    let served = Served::unlocked(&job.path());
    for (sent_as, name) in [
        ("../../outside.csv", "outside.csv"),
        ("C:\\lists\\back.csv", "back.csv"),
        ("job.toml", "job.toml.csv"),
        ("register.db", "register.db.csv"),
        ("Nul.csv", "list-Nul.csv"),
    ] {
        let draft = sent(&served, sent_as, NEW_LIST.as_bytes());
        let shown = page(&served, &draft);
        assert!(shown.contains(&format!("What is {name}?")) && shown.contains("would be called"), "{sent_as}: {shown}");
        let came = take(&served, &draft);
        assert_eq!(came.status, StatusCode::SEE_OTHER, "{sent_as}");
        assert!(job.path().join(name).is_file(), "{sent_as}");
        served.post(&format!("/lists/{name}/remove"), &[("job", ""), ("files", "")]);
        fs::remove_file(job.path().join(name)).expect("removed");
    }
    assert_eq!(files(&job), before);
    assert!(!job.path().parent().expect("a parent").join("outside.csv").exists());
}

#[test]
fn two_drafts_at_once_and_a_job_that_changes_meanwhile() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let came = served.upload(
        "/lists/-/send",
        &[],
        &[
            ("file", "one.csv", NEW_LIST.as_bytes()),
            ("file", "two.csv", NEW_LIST.replace("X9", "X8").replace('N', "M").as_bytes()),
        ],
    );
    assert_eq!(came.to.as_deref(), Some("/lists"));
    let listed = page(&served, "/lists");
    let drafts: Vec<String> = listed
        .match_indices("/lists/-/")
        .map(|(at, _)| listed[at..].split('"').next().expect("closed").to_owned())
        .collect();
    let drafts: Vec<String> =
        drafts.into_iter().filter(|path| !path.ends_with("send") && !path.ends_with("paste")).collect();
    assert_eq!(drafts.len(), 2, "{listed}");
    let seen = page(&served, &format!("{}/changes", drafts[1]));
    assert_eq!(take(&served, &drafts[0]).to.as_deref(), Some("/lists/one.csv?taken=1"));
    let came = agreed(&served, &seen, &format!("{}/take", drafts[1]));
    assert_eq!(came.to, Some(format!("{}/changes", drafts[1])), "compared anew");
    assert!(!job.path().join("two.csv").exists());
    let anew = page(&served, &format!("{}/changes", drafts[1]));
    assert!(anew.contains("has changed since this was compared"), "{anew}");
    assert_eq!(agreed(&served, &anew, &format!("{}/take", drafts[1])).to.as_deref(), Some("/lists/two.csv?taken=1"));
    assert!(job.path().join("two.csv").exists());
}

#[test]
fn a_list_leaves_the_job_and_is_kept() {
    let job = JobFolder::small().and("extra.csv", NEW_LIST);
    let text = "[[list]]\nfile = \"loom.csv\"\n# of the loom\n\n[[list]] # later\nfile = \"extra.csv\"\n\n[printer]\nkind = \"laser\"\n";
    job.write("job.toml", text);
    let served = Served::unlocked(&job.path());
    let changes = page(&served, "/lists/extra.csv/remove");
    assert!(changes.contains("<strong>2</strong> ends gone"), "{changes}");
    assert!(job.path().join("extra.csv").exists());
    let came = agreed(&served, &changes, "/lists/extra.csv/remove");
    assert_eq!(came.to.as_deref(), Some("/lists"));
    assert!(!job.path().join("extra.csv").exists());
    assert_eq!(job.bytes("lists-before/extra-2026-11-28T12-00-00Z.csv"), NEW_LIST.as_bytes());
    let now = String::from_utf8(job.bytes("job.toml")).expect("UTF-8");
    assert!(
        now.starts_with("[[list]]\nfile = \"loom.csv\"\n") && now.contains("# of the loom") && !now.contains("extra"),
        "{now}"
    );
}

#[test]
fn what_is_no_list_is_told_and_not_taken() {
    let job = JobFolder::small();
    let before = files(&job);
    let served = Served::unlocked(&job.path());
    let endless = "x".repeat(20_000);
    for (name, bytes, told) in [
        ("empty.csv", &b""[..], "is empty"),
        ("nothing.csv", b"one\ntwo\n", "No header is known here"),
        ("zip.xlsx", b"PK\x03\x04 but no more", "damaged"),
        ("old.xls", b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", "older kind"),
        ("long.csv", endless.as_bytes(), "nothing is read"),
    ] {
        let draft = sent(&served, name, bytes);
        let shown = page(&served, &draft);
        assert!(shown.contains(told) && shown.contains("it cannot be taken"), "{name}: {shown}");
        assert!(!shown.contains("See what would change"), "{name}");
    }
    let picture = served.upload("/lists/-/send", &[], &[("file", "photo.csv", b"\x89PNG\r\n\x1a\n\0\0")]);
    assert_eq!(picture.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(picture.text().contains("a picture"), "{}", picture.text());
    let nothing = served.upload("/lists/-/send", &[], &[("file", "", b"")]);
    assert_eq!(nothing.status, StatusCode::UNPROCESSABLE_ENTITY);
    let large = vec![b'a'; 64 << 20];
    let large = served.upload("/lists/-/send", &[], &[("file", "large.csv", &large)]);
    assert!(large.text().contains("larger than 64 MiB"), "{}", large.text());
    assert_eq!(files(&job), before);
}

#[test]
fn cells_with_ill_will_are_text() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let text = "connector,cavity,circuit,function,<img src=x onerror=a>\nX9,1,N1,\"<script>alert(1)</script>\",\"=cmd|' /C calc'!A0\"\n\
                X9,2,\"\"\"><b>\",\u{202e}desrever,x\n";
    let draft = sent(&served, "ill.csv", text.as_bytes());
    for path in [draft.clone(), format!("{draft}/changes")] {
        let shown = page(&served, &path);
        assert!(
            !shown.contains("<script>alert") && !shown.contains("<img src=x") && !shown.contains("\"><b>"),
            "{shown}"
        );
    }
    assert_eq!(take(&served, &draft).status, StatusCode::SEE_OTHER);
    let file = served.get("/lists/ill.csv/file");
    assert_eq!(file.bytes, text.as_bytes());
    assert_eq!(file.headers["content-type"], "application/octet-stream");
    assert!(file.headers["content-disposition"].to_str().expect("text").starts_with("attachment"));
}

#[test]
fn cells_are_pasted() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let cells = "connector\tcavity\tcircuit\tcolour\r\nX9\t1\tN1\tRD\r\n";
    let came = served.post("/lists/-/paste", &[("name", "from the office"), ("cells", cells)]);
    let draft = came.to.expect("a draft");
    assert!(page(&served, &draft).contains("1 row, tabs, UTF-8"));
    assert_eq!(take(&served, &draft).to.as_deref(), Some("/lists/from%20the%20office.csv?taken=1"));
    assert_eq!(job.bytes("from the office.csv"), cells.as_bytes());
}

#[test]
fn a_workbook_gives_its_sheets() {
    let parts = JobFolder::with(&[
        ("job.toml", "[[list]]\nfile = \"j1.csv\"\n[[list]]\nfile = \"wires.csv\"\n"),
        ("j1.csv", "cavity,circuit,colour\n1,N1,RD\n2,N2,BU\n"),
        ("wires.csv", "from connector,from cavity,to connector,to cavity\nX1,1,X2,1\n"),
    ]);
    let made = JobFolder::empty();
    let path = |folder: &JobFolder| folder.path().to_string_lossy().into_owned();
    script("workbooks.py", &["openpyxl", &path(&parts), &path(&made)]);
    let bytes = made.bytes("lists.xlsx");
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let draft = sent(&served, "charts.xlsx", &bytes);
    let shown = page(&served, &draft);
    for told in ["Sheet j1", "Sheet wires", "<strong>J1/1</strong>", "<strong>X2/1</strong>"] {
        assert!(shown.contains(told), "{told}: {shown}");
    }
    // The second sheet is left out, and the first is of another connector.
    served.post(&draft, &[("s0", "1"), ("r0", "1"), ("connector0", "J7"), ("s1", "1")]);
    let shown = page(&served, &draft);
    assert!(shown.contains("<strong>J7/1</strong>") && !shown.contains("<strong>X2/1</strong>"), "{shown}");
    assert_eq!(take(&served, &draft).status, StatusCode::SEE_OTHER);
    assert_eq!(job.bytes("charts.xlsx"), bytes);
    let settings = String::from_utf8(job.bytes("job.toml")).expect("UTF-8");
    assert!(settings.contains("file = \"charts.xlsx\"\nsheet = \"j1\"\nconnector = \"J7\"\n"), "{settings}");
    assert_eq!(settings.matches("charts.xlsx").count(), 1);
    let reading = run::read(&job.path()).expect("reads").value.expect("a job");
    assert!(reading.circuits.all().iter().any(|circuit| circuit.id().as_str() == "N2"));
}

#[test]
fn connectors_come_in_likewise() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let draft = sent(&served, "Connectors.CSV", b"connector,kind,short name,rows,columns\nJ1,plug,engine,2,7\n");
    let shown = page(&served, &draft);
    assert!(shown.contains("What is connectors.csv?") && shown.contains("plug, engine, 14 cavities"), "{shown}");
    let changes = page(&served, &format!("{draft}/changes"));
    assert!(changes.contains("connector otherwise"), "{changes}");
    assert_eq!(take(&served, &draft).status, StatusCode::SEE_OTHER);
    assert!(page(&served, "/lists/connectors.csv").contains("short name"));
}

#[test]
fn reading_otherwise_writes_job_toml_alone() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let came = served.post("/lists/loom.csv/otherwise", &[]);
    let draft = came.to.expect("a draft");
    let same = page(&served, &format!("{draft}/changes"));
    assert!(same.contains("there is nothing to take"), "{same}");
    served.post(&draft, &[("c0-3", "note")]);
    assert_eq!(take(&served, &draft).status, StatusCode::SEE_OTHER);
    assert_eq!(job.bytes("loom.csv"), SMALL_LIST.as_bytes());
    let names: Vec<String> = job.names().into_iter().filter(|name| name.starts_with("lists-before/")).collect();
    assert_eq!(names, ["lists-before/job-2026-11-28T12-00-00Z.toml"]);
}

#[test]
fn who_has_not_typed_the_pin_sends_nothing() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    let came = served.upload("/lists/-/send", &[], &[("file", "extra.csv", NEW_LIST.as_bytes())]);
    assert_eq!(came.status, StatusCode::UNAUTHORIZED);
    for path in ["/lists", "/lists/loom.csv"] {
        assert!(page(&served, path).contains("Unlock writing"));
    }
    for path in ["/lists/job.toml", "/lists/..%2Fjob%2Fjob.toml/file", "/lists/register.db/file", "/lists/-/0123"] {
        assert_eq!(served.get(path).status, StatusCode::NOT_FOUND, "{path}");
    }
}

/// The ends that change, beside a count by sets of places that knows nothing of the program's own comparison.
#[test]
fn what_would_change_beside_sets_of_rows() {
    let job = JobFolder::with(&[("job.toml", "")]);
    let list = |rows: &[(u32, &str)]| -> String {
        let rows: String = rows.iter().map(|(cavity, colour)| format!("J1,{cavity},C{cavity},{colour}\n")).collect();
        format!("connector,cavity,circuit,colour\n{rows}")
    };
    let before = [(1, "RD"), (2, "BU"), (3, "GN"), (4, "YE")];
    let after = [(2, "BU"), (3, "GY"), (4, "BN"), (5, "RD"), (6, "RD"), (7, "RD")];
    job.write("loom.csv", list(&before));
    let served = Served::unlocked(&job.path());
    let draft = sent(&served, "loom.csv", list(&after).as_bytes());
    let changes = page(&served, &format!("{draft}/changes"));
    let (old, new): (BTreeMap<_, _>, BTreeMap<_, _>) = (before.into_iter().collect(), after.into_iter().collect());
    let came = new.keys().filter(|cavity| !old.contains_key(cavity)).count();
    let gone = old.keys().filter(|cavity| !new.contains_key(cavity)).count();
    let changed = new.iter().filter(|(cavity, colour)| old.get(cavity).is_some_and(|known| known != *colour)).count();
    for (count, words) in [(came, "new"), (changed, "changed"), (gone, "gone")] {
        let ends = if count == 1 { "end" } else { "ends" };
        assert!(changes.contains(&format!("<strong>{count}</strong> {ends} {words}")), "{count} {words}: {changes}");
    }
}

/// Tags that hang already, and a circuit that is only called otherwise: both are told before the list is taken.
#[test]
fn tags_on_wires_and_likely_renamings_are_told() {
    let job = JobFolder::small();
    assert_eq!(job.run(&["tags"]).code, 0);
    let served = Served::unlocked(&job.path());
    let new = SMALL_LIST.replace("rail pressure signal", "boost pressure signal").replace("E65", "S65");
    let draft = sent(&served, "loom.csv", new.as_bytes());
    let changes = page(&served, &format!("{draft}/changes"));
    for told in [
        "on wires no longer true",
        "boost pressure",
        "likely renamed or moved",
        "is new to the register",
        "<del>E65</del> → <ins>S65</ins>",
    ] {
        assert!(changes.contains(told), "{told}: {changes}");
    }
    let answer = {
        job.write("../new.csv", &new);
        let path = job.path().join("../new.csv");
        job.run(&["check", "--with", &path.to_string_lossy(), "--instead", "loom.csv"])
    };
    for told in ["~ S65 at J1/1: circuit E65 -> S65", "on wires would no longer be true", "nothing was written"] {
        assert!(answer.out.contains(told), "{told}: {}", answer.out);
    }
    assert!(!job.path().join("new.csv").exists() && job.bytes("loom.csv") == SMALL_LIST.as_bytes());
}

#[test]
fn a_picture_is_refused_at_once() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let came = served.upload("/lists/-/send", &[], &[("file", "face.csv", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR")]);
    assert_eq!(came.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(came.text().contains("is a picture, not a list"), "{}", came.text());
    assert!(!page(&served, "/lists").contains("face.csv"), "no draft is kept of it");
}

/// A list with one error keeps some checks waiting: what they found before is not told as gone.
#[test]
fn an_error_is_not_told_as_problems_gone() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let draft = sent(&served, "extra.csv", b"connector,cavity,circuit,colour,action\nX9,1,N1,RD,remove\n");
    assert_eq!(take(&served, &draft).status, StatusCode::SEE_OTHER);
    let draft = sent(&served, "more.csv", b"connector,cavity,circuit,colour,action\nX8,1,N2,RD,chop\n");
    let changes = page(&served, &format!("{draft}/changes"));
    assert!(changes.contains("Some checks wait until the errors are mended"), "{changes}");
    assert!(!changes.contains("#solved"), "{changes}");
    // Nothing can be printed then: what comes next is another thing.
    assert_eq!(take(&served, &draft).status, StatusCode::SEE_OTHER);
    let next = page(&served, "/lists/more.csv?taken=1");
    assert!(next.contains("Put the errors right") && !next.contains("Print new and changed tags"), "{next}");
}

/// Tags that cannot be made are left out of both counts: a list that takes nothing away looks as if it did otherwise.
#[test]
fn what_is_to_be_printed_is_counted_alike_before_and_after() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let draft = sent(&served, "extra.csv", b"connector,cavity,circuit,colour,action\nX9,1,N1,RD,cut\n");
    let changes = page(&served, &format!("{draft}/changes"));
    let (_, to_print) = changes.split_once("To print</h2><p>").expect("it is told");
    let (counts, refused) = to_print.split_once("</p><p>").expect("some cannot be made");
    assert_eq!(counts, "6 tags, new or changed; as the lists are now, 5.");
    assert!(refused.contains("cannot be made as it is"), "{refused}");
}

/// A list that another took the place of is put back as any list is taken: compared first, and what it takes the place of is kept too.
#[test]
fn a_list_is_put_back_as_it_was() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let before = job.bytes("loom.csv");
    let draft = sent(&served, "loom.csv", NEW_LIST.as_bytes());
    assert_eq!(take(&served, &draft).status, StatusCode::SEE_OTHER);
    assert_eq!(job.bytes("loom.csv"), NEW_LIST.as_bytes());
    // What was not put aside by taking a list is none.
    for other in ["job-2026-11-28T12-00-00Z.toml", "notes.csv", "loom-yesterday.csv", ".csv"] {
        job.write(&format!("lists-before/{other}"), "a,b\n");
    }
    let lists = page(&served, "/lists");
    assert_eq!(lists.matches("name=\"kept\"").count(), 1, "{lists}");
    let kept = field(&lists, "kept");
    assert_eq!(kept, "loom-2026-11-28T12-00-00Z.csv");
    let back = served.post("/lists/-/before", &[("kept", &kept)]).to.expect("a draft");
    let changes = page(&served, &format!("{back}/changes"));
    assert!(changes.contains("takes the place of the one that is there"), "{changes}");
    assert_eq!(job.bytes("loom.csv"), NEW_LIST.as_bytes(), "nothing is written before it is taken");
    assert_eq!(agreed(&served, &changes, &format!("{back}/take")).status, StatusCode::SEE_OTHER);
    assert_eq!(job.bytes("loom.csv"), before);
    for none in ["../loom.csv", "notes.csv", ""] {
        assert_eq!(served.post("/lists/-/before", &[("kept", none)]).status, StatusCode::NOT_FOUND, "{none}");
    }
    let refused = served.post("/lists/-/paste", &[("name", "helm.csv"), ("cells", " ")]);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("value=\"helm.csv\""), "what was typed is kept");
}
