//! A job under trouble while it is served: pages tell it, and go on when it is mended, without a restart.

use std::fs;

use axum::http::StatusCode;

use crate::kit::served::Served;
use crate::kit::{JobFolder, SMALL_LIST};

#[track_caller]
fn tells(served: &Served, path: &str, status: u16, words: &str) {
    let came = served.get(path);
    assert_eq!(came.status, StatusCode::from_u16(status).expect("a status"), "{path}: {}", came.text());
    assert!(came.text().contains(words), "`{words}` is missing on {path}:\n{}", came.text());
}

#[test]
fn settings_are_broken_and_mended() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    let settings = job.bytes("job.toml");
    tells(&served, "/", 200, "Marsh Hen bench");
    job.write("job.toml", "title = \"Marsh Hen\nlist = [");
    for _ in 0..2 {
        tells(&served, "/problems", 500, "job.toml cannot be used");
    }
    job.write("job.toml", &settings);
    tells(&served, "/problems", 200, "Marsh Hen bench");
}

#[test]
fn a_list_goes_and_comes_back() {
    let job = JobFolder::small().and("job.toml", "title = \"Hen\"\n[[list]]\nfile = \"loom.csv\"\n");
    let served = Served::of(&job.path());
    tells(&served, "/", 200, "5 circuits");
    fs::remove_file(job.path().join("loom.csv")).expect("removed");
    tells(&served, "/problems", 200, "the job folder holds no");
    job.write("loom.csv", SMALL_LIST);
    tells(&served, "/", 200, "5 circuits");
    job.write("loom.csv", SMALL_LIST.replace("glow plug supply", "bilge pump"));
    tells(&served, "/rows?at=loom.csv:2", 200, "bilge pump");
}

#[test]
fn the_folder_goes_and_comes_back() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    tells(&served, "/", 200, "5 circuits");
    let aside = job.path().with_file_name("aside");
    fs::rename(job.path(), &aside).expect("moved");
    tells(&served, "/", 500, "The job cannot be read");
    fs::rename(&aside, job.path()).expect("moved back");
    tells(&served, "/", 200, "5 circuits");
}

#[test]
fn a_register_is_lost_and_put_together_again() {
    let job = JobFolder::small();
    job.done(&["tags", "--no-proof"]);
    let served = Served::of(&job.path());
    tells(&served, "/", 200, ">run 1</a>");
    for beside in ["register.db", "register.db-wal", "register.db-shm"] {
        let _ = fs::remove_file(job.path().join(beside));
    }
    tells(&served, "/", 500, "loomtag import");
    job.done(&["import"]);
    tells(&served, "/", 200, ">run 1</a>");
    job.done(&["note", "J1/14", "done", "cut"]);
    tells(&served, "/", 200, "done cut");
}

#[test]
fn a_register_that_another_program_writes_to_is_read_all_the_same() {
    let job = JobFolder::small();
    job.done(&["tags", "--no-proof"]);
    let served = Served::of(&job.path());
    let connection = rusqlite::Connection::open(job.path().join("register.db")).expect("opens");
    connection.execute_batch("BEGIN IMMEDIATE").expect("locks");
    tells(&served, "/", 200, ">run 1</a>");
    connection.execute_batch("ROLLBACK").expect("lets go");
    tells(&served, "/", 200, ">run 1</a>");
}

#[test]
fn a_register_that_is_none_is_told_of() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    tells(&served, "/", 200, "5 circuits");
    job.write("register.db", "this is no database, whatever its name says, and is long enough to be looked at");
    tells(&served, "/", 500, "The job cannot be read");
    fs::remove_file(job.path().join("register.db")).expect("removed");
    tells(&served, "/", 200, "5 circuits");
}
