//! A NEW JOB FOLDER: empty, as the example, or from lists that are already there.
//!
//! In: a folder's path and what to begin with. Out: the files written. Nothing that exists is ever overwritten, every file
//! gets its name only when it is whole, and job.toml comes last, so that a folder with a job.toml is complete.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::job::{JOB_FILE, folder_name};
use super::named_lists::{CONNECTORS_FILES, is_lock_file, lists_in};
use super::overlay::Overlay;
use super::proposal::{Place, Proposal, list_text, propose, quoted};
use super::whole_file;

/// What a new job begins with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beginning<'a> {
    /// A chart with its head row only, to be filled in; lists that already lie in the folder are taken instead.
    Empty,
    /// The example job.
    Example,
    /// These lists; what lies outside the folder is copied in.
    Lists(&'a [PathBuf]),
}

/// What was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewJob {
    /// The job folder.
    pub folder: PathBuf,
    /// Names of the files written into it, job.toml last.
    pub written: Vec<String>,
    /// Names of lists that lay there before and are part of the job now.
    pub found: Vec<String>,
    /// Names of files that were named and are no lists: a spreadsheet program puts them beside an open workbook.
    pub lock_files: Vec<String>,
    /// Its lists, as they were understood; empty where none were looked at.
    pub lists: Vec<Proposal>,
}

/// What kept a job folder from being written. Nothing is left behind of it.
#[derive(Debug, Error)]
pub enum InitFailure {
    /// The folder is a job already.
    #[error("`{}` is a job folder already: add lists to its {JOB_FILE}, or name another folder", .0.display())]
    IsAJob(PathBuf),
    /// A file of that name is there.
    #[error("`{}` exists and is not overwritten: move it away, or name another folder", .0.display())]
    Exists(PathBuf),
    /// A list to begin with is not there or not a file.
    #[error("there is no file `{}`: check its path", .0.display())]
    NoList(PathBuf),
    /// A folder was named where lists shall be.
    #[error(
        "`{folder}` is a folder: name the lists in it (`{folder}/*.csv`), or begin the job there: `loomtag init --job {folder}`",
        folder = .0.display()
    )]
    Folder(PathBuf),
    /// Two lists would get one name.
    #[error("two lists are called `{0}`: rename one of them")]
    SameName(String),
    /// A file name that job.toml cannot hold.
    #[error("the name of `{}` is not UTF-8 text: rename it", .0.display())]
    UnwritableName(PathBuf),
    /// The disk refused to give a file.
    #[error("cannot read `{}`: {source}", path.display())]
    Read {
        /// What was to be read.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
    /// The disk refused to take a file.
    #[error("cannot write `{}`: {source}", path.display())]
    Write {
        /// What was to be written.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
}

/// The files of the example job, job.toml last.
const EXAMPLE: [(&str, &str); 12] = [
    ("README.md", include_str!("../../examples/marsh-hen/README.md")),
    ("connectors.csv", include_str!("../../examples/marsh-hen/connectors.csv")),
    ("engine-plugs.csv", include_str!("../../examples/marsh-hen/engine-plugs.csv")),
    ("fb1-fuses-relays.csv", include_str!("../../examples/marsh-hen/fb1-fuses-relays.csv")),
    ("helm.csv", include_str!("../../examples/marsh-hen/helm.csv")),
    ("j1-engine-control.csv", include_str!("../../examples/marsh-hen/j1-engine-control.csv")),
    ("j2-fahrzeugstecker.csv", include_str!("../../examples/marsh-hen/j2-fahrzeugstecker.csv")),
    ("p7-instruments.csv", include_str!("../../examples/marsh-hen/p7-instruments.csv")),
    ("wires.csv", include_str!("../../examples/marsh-hen/wires.csv")),
    ("x3-bulkhead.csv", include_str!("../../examples/marsh-hen/x3-bulkhead.csv")),
    ("x5-cab.csv", include_str!("../../examples/marsh-hen/x5-cab.csv")),
    (JOB_FILE, include_str!("../../examples/marsh-hen/job.toml")),
];

/// Name of the chart that an empty job begins with.
const EMPTY_CHART: &str = "pinout.csv";
/// Its head row.
const CHART_HEAD: &str = "connector,cavity,circuit,function,colour,size,insulation,supply,fuse,action,tag,length,diameter,branch,with,note\n";

/// What job.toml says below its title and lists when nothing has been settled yet.
const UNSETTLED: &str = r##"
# [wires]
# insulation = "thin-wall"    # of rows that name none: size and insulation give the diameter where none is measured

# [rating]                    # compares fuses with conductors (AWG): only by a table named here, and local codes come first
# table = "33-cfr-183.425"    # Table 5: a fuse may have 150 % of it below 50 V; or "ac-43.13-1b-11-3" with protection = "fuse"
# insulation_temperature = 105  # degrees C that the insulation stands: 60, 75, 80, 90, 105, 125 or 200
# engine_space = true         # less in an engine space, by note 1 of the table

[payload]
symbol = "text"               # "text": any phone shows it; "link": opens an address, needs base; "code": the code alone
# base = "HTTP://TAGS.EXAMPLE"  # for links: an address that will last, in upper case
# site = "https://example.org/boat/"  # where the pages of `loomtag site` lie: the lid card and the sheets of the whole job lead there

[printer]                     # prints sheets and paper
kind = "laser"                # laser, inkjet, thermal-transfer, direct-thermal
dpi = 600
# address = "ipp://host/ipp/print"  # for `loomtag send`; `loomtag send --find` lists the printers of this network
# `loomtag stock trial` writes a page on which the printer is measured, `loomtag stock measured` puts here what it showed:
# edges = { left = 5, right = 5, top = 5, bottom = 5 }  # mm of the page it is sent that it cannot print
# offset = { x = 1.3, y = -0.8 }  # mm that it moves pages, to the right and down; pages are corrected by it
# scale = { x = 0.985, y = 1 }  # by which it stretches them, across and down

# [sleeve_printer]            # only with this table are heat-shrink sleeves offered
# kind = "thermal-transfer"   # never feed heat-shrink tube through a laser or inkjet printer
# dpi = 300
# address = "ipp://host/ipp/tube"  # tube is sent to this printer alone

[tags]
work = "flag"                 # the usual tag that goes on sideways before cutting: flag, wrap or tie-on; others stand in where it fails
final = "strip"               # the usual one that threads on at termination: strip (under clear tube) or sleeve
# connectors = "tie-on"       # the usual one on a connector that stays whole, if it shall be another kind
# posture = "hanging"         # of flags: where wires lie level and flags hang from them; else "standing"
# work_stock = "a4-24-64x34"  # of flags: a built-in stock, or one of your own in stock/NAME.toml; else plain paper
# wrap_stock = "a4-49-25x38-wrap13"  # of wraps: only with it are there any
# tie_on_stock = "a4-paper-27-60x30-hole"  # of tie-ons: else plain paper or card, to be cut and punched
setback = 150                 # mm back from the end where a work tag sits
# order = "least-waste"       # of sleeves on tube and strips on paper: nested to waste least; else "working", as the hand moves
# least_face = 12             # mm: a flag with shorter faces is refused; least_face_with_symbol = 14
# longest_sleeve = 60         # mm: before words are given up; longest_strip = 90

# [wording]                   # what tags say, and what they give up first: `loomtag wording show flat` explains it
# flat = "mine"               # of flags, wraps and tie-ons: templates/mine.toml in this folder
# round = "mine-round"        # of sleeves and strips; connector, along and blank likewise

# [[kind]]                    # rules for other kinds, the first that holds counts; a row's own wish (column tag) goes before them
# kind = "tie-on"             # flag, wrap, tie-on, sleeve or strip
# connector = "G2"            # also: action = "reserve", supply = "constant", thicker = 12, thinner = 1; all given must hold

# [[rule]]                    # decides the action of many ends, where their rows say nothing; the first rule that holds counts
# action = "remove"           # keep, remove, cut, move, add, extend or reserve
# connector = ["J1", "J2"]    # also: circuit, colour, supply, branch, word (of function or note); all given must hold

# [letters]                   # heights of capitals in mm: what is wanted, and below which nothing is printed
# code_wanted = 2.5           # the code on flags, wraps and tie-ons; code_least = 1.8
# line_wanted = 1.8           # other lines on them; line_least = 1.3
# round_wanted = 2.0          # anything on sleeves and strips, after shrinking; round_least = 1.3

# [words.action]              # words of your own in all lists; below a [[list]] as [list.words.action] for that list alone
# del = "remove"
# "" = "undecided"            # what blank cells mean, where neither a rule nor connectors.csv says anything

# [words.colour]              # also [words.supply], [words.insulation], [words.kind], [words.tag]
# BL = "BU"                   # letters of a maker, as the chart's legend explains them

# [fonts]                     # for words in other scripts than Latin, Greek and Cyrillic
# fallback = ["fonts/own.ttf"]  # font files in this folder (.ttf, .otf; .ttc with #0 for its first face), medium or bold
"##;

/// Writes a job folder; the folder itself is made where it is missing.
///
/// # Errors
/// [`InitFailure`]; files written before it are taken away again.
pub fn init(folder: &Path, beginning: Beginning<'_>) -> Result<NewJob, InitFailure> {
    if folder.join(JOB_FILE).exists() {
        return Err(InitFailure::IsAJob(folder.to_owned()));
    }
    let plan = match beginning {
        Beginning::Example => Plan {
            files: EXAMPLE.iter().map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec())).collect(),
            found: Vec::new(),
            lock_files: Vec::new(),
            lists: Vec::new(),
        },
        Beginning::Lists(lists) => plan_from_lists(folder, lists)?,
        Beginning::Empty => {
            let found: Vec<PathBuf> = lists_there(folder)?.iter().map(|name| folder.join(name)).collect();
            if found.is_empty() { empty_plan(folder) } else { plan_from_lists(folder, &found)? }
        }
    };
    if let Some((name, _)) = plan.files.iter().find(|(name, _)| folder.join(name).exists()) {
        return Err(InitFailure::Exists(folder.join(name)));
    }
    fs::create_dir_all(folder).map_err(|source| InitFailure::Write { path: folder.to_owned(), source })?;
    let mut written = Vec::new();
    for (name, bytes) in plan.files {
        if let Err(failure) = write_new(folder, &name, &bytes) {
            for name in &written {
                // What cannot be taken away stays; the first failure is the one worth telling.
                let _ = fs::remove_file(folder.join(name));
            }
            return Err(failure);
        }
        written.push(name);
    }
    Ok(NewJob { folder: folder.to_owned(), written, found: plan.found, lock_files: plan.lock_files, lists: plan.lists })
}

/// The files to write, job.toml last, and the lists that are there.
struct Plan {
    files: Vec<(String, Vec<u8>)>,
    found: Vec<String>,
    lock_files: Vec<String>,
    lists: Vec<Proposal>,
}

fn lists_there(folder: &Path) -> Result<Vec<String>, InitFailure> {
    if !folder.exists() {
        return Ok(Vec::new());
    }
    match fs::read_dir(folder) {
        Ok(_) => Ok(lists_in(folder, &Overlay::default())
            .map(|lists| lists.into_iter().map(|list| list.file.value).collect())
            .unwrap_or_default()),
        Err(source) => Err(InitFailure::Read { path: folder.to_owned(), source }),
    }
}

fn empty_plan(folder: &Path) -> Plan {
    let lists = propose(EMPTY_CHART, CHART_HEAD.as_bytes().to_vec());
    Plan {
        files: vec![
            (EMPTY_CHART.to_owned(), CHART_HEAD.as_bytes().to_vec()),
            (JOB_FILE.to_owned(), settings_text(folder, &lists).into_bytes()),
        ],
        found: Vec::new(),
        lock_files: Vec::new(),
        lists: Vec::new(),
    }
}

/// Names lists that lie in the folder or below it, copies the others.
#[expect(clippy::disallowed_methods, reason = "`run` is where lists are read, and what is copied is copied whole")]
fn plan_from_lists(folder: &Path, lists: &[PathBuf]) -> Result<Plan, InitFailure> {
    let inside = folder.canonicalize().ok();
    let (mut files, mut found, mut named) = (Vec::new(), Vec::new(), Vec::<String>::new());
    let (mut lock_files, mut proposals) = (Vec::new(), Vec::new());
    for path in lists {
        if path.is_dir() {
            return Err(InitFailure::Folder(path.clone()));
        }
        let own_name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        if is_lock_file(own_name) {
            lock_files.push(own_name.to_owned());
            continue;
        }
        if !path.is_file() {
            return Err(InitFailure::NoList(path.clone()));
        }
        let read = |source| InitFailure::Read { path: path.clone(), source };
        let whole = path.canonicalize().map_err(read)?;
        let below = inside.as_deref().and_then(|folder| whole.strip_prefix(folder).ok());
        let name = match below {
            Some(below) => in_job_toml(below),
            None => path.file_name().and_then(|name| name.to_str()).map(str::to_owned),
        };
        let name = name.ok_or_else(|| InitFailure::UnwritableName(path.clone()))?;
        if named.contains(&name) {
            return Err(InitFailure::SameName(name));
        }
        let bytes = fs::read(path).map_err(read)?;
        if !CONNECTORS_FILES.contains(&name.as_str()) {
            proposals.extend(propose(&name, bytes.clone()));
        }
        if below.is_none() {
            files.push((name.clone(), bytes));
        } else {
            found.push(name.clone());
        }
        named.push(name);
    }
    files.push((JOB_FILE.to_owned(), settings_text(folder, &proposals).into_bytes()));
    Ok(Plan { files, found, lock_files, lists: proposals })
}

/// A path as job.toml writes it: `/` between folders on every system.
fn in_job_toml(path: &Path) -> Option<String> {
    let parts: Option<Vec<&str>> = path.iter().map(|part| part.to_str()).collect();
    parts.map(|parts| parts.join("/"))
}

fn settings_text(folder: &Path, lists: &[Proposal]) -> String {
    let mut text = format!("title = {}\n", quoted(&folder_name(folder)));
    for (index, list) in lists.iter().enumerate() {
        let place = if index + 1 == lists.len() { Place::Last } else { Place::Earlier };
        text.push_str(&list_text(list, place));
    }
    text.push_str(UNSETTLED);
    text
}

/// Writes a file under a temporary name and gives it its own only when it is whole and that name is free.
fn write_new(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), InitFailure> {
    let path = folder.join(name);
    let write = |source| InitFailure::Write { path: path.clone(), source };
    let mut file = whole_file::temporary_in(folder).map_err(write)?;
    file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(write)?;
    file.persist_noclobber(&path).map_err(|error| match error.error.kind() {
        io::ErrorKind::AlreadyExists => InitFailure::Exists(path.clone()),
        _ => write(error.error),
    })?;
    Ok(())
}

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "tests set up the folders they read")]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::run::Job;

    fn names(folder: &Path) -> BTreeSet<String> {
        let entries = fs::read_dir(folder).expect("listed");
        entries.map(|entry| entry.expect("listed").file_name().into_string().expect("UTF-8")).collect()
    }

    fn checked(folder: &Path) -> Job {
        let job = Job::read(folder).expect("read");
        assert_eq!(job.problems, []);
        job.value.expect("understood")
    }

    #[test]
    fn the_example_inside_the_program_is_the_one_in_the_folder() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/marsh-hen");
        let kept = |name: &String| [".csv", ".md", ".toml"].iter().any(|end| name.ends_with(end));
        let there: BTreeSet<String> = names(&folder).into_iter().filter(kept).collect();
        assert_eq!(there, EXAMPLE.iter().map(|(name, _)| (*name).to_owned()).collect());
        assert_eq!(EXAMPLE.last().map(|file| file.0), Some(JOB_FILE));
    }

    #[test]
    fn the_example_is_written_whole_and_reads_without_problems() {
        let parent = tempfile::tempdir().expect("a temporary folder");
        let folder = parent.path().join("new/marsh-hen");
        let new = init(&folder, Beginning::Example).expect("written");
        assert_eq!(new.written.len(), EXAMPLE.len());
        assert_eq!(names(&folder).len(), EXAMPLE.len(), "no temporary file is left");
        let job = checked(&folder);
        assert!(job.lists().problems.is_empty());
        assert!(job.connectors().value.is_some());
        assert!(matches!(init(&folder, Beginning::Example), Err(InitFailure::IsAJob(_))));
    }

    #[test]
    fn an_empty_job_has_a_chart_to_fill_in() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let new = init(folder.path(), Beginning::Empty).expect("written");
        assert_eq!(new.written, [EMPTY_CHART, JOB_FILE]);
        assert_eq!(checked(folder.path()).lists().value[0].bytes, CHART_HEAD.as_bytes());
    }

    #[test]
    fn lists_that_lie_in_the_folder_are_taken_in() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        std::fs::write(folder.path().join("mine.csv"), "connector,cavity\n").expect("written");
        let new = init(folder.path(), Beginning::Empty).expect("written");
        assert_eq!((new.written, new.found), (vec![JOB_FILE.to_owned()], vec!["mine.csv".to_owned()]));
        let listed: Vec<String> = checked(folder.path()).list_names().map(|name| name.value.clone()).collect();
        assert_eq!(listed, ["mine.csv"]);
    }

    #[test]
    fn lists_from_elsewhere_are_copied_and_nothing_is_overwritten() {
        let parent = tempfile::tempdir().expect("a temporary folder");
        let elsewhere = parent.path().join("say \"J1\".csv");
        std::fs::write(&elsewhere, "cavity\n1\n").expect("written");
        let folder = parent.path().join("job");
        let new = init(&folder, Beginning::Lists(std::slice::from_ref(&elsewhere))).expect("written");
        assert_eq!(new.written, ["say \"J1\".csv", JOB_FILE]);
        assert_eq!(checked(&folder).lists().value[0].bytes, b"cavity\n1\n");

        let twice = [elsewhere.clone(), elsewhere.clone()];
        let other = parent.path().join("other");
        assert!(matches!(init(&other, Beginning::Lists(&twice)), Err(InitFailure::SameName(_))));
        let missing = [parent.path().join("none.csv")];
        assert!(matches!(init(&other, Beginning::Lists(&missing)), Err(InitFailure::NoList(_))));
        assert!(!other.exists());

        let folders = [parent.path().to_owned()];
        let failure = init(&other, Beginning::Lists(&folders)).expect_err("a folder is no list");
        assert!(failure.to_string().contains("is a folder: name the lists in it"), "{failure}");
        assert!(!other.exists());
        let open = [elsewhere.clone(), parent.path().join("~$pins.xlsx"), parent.path().join(".~lock.pins.ods#")];
        let with_open = parent.path().join("with-open");
        let new = init(&with_open, Beginning::Lists(&open)).expect("written");
        assert_eq!((new.written.len(), new.lock_files.len()), (2, 2));

        fs::create_dir(&other).expect("made");
        std::fs::write(other.join("say \"J1\".csv"), "mine").expect("written");
        assert!(matches!(init(&other, Beginning::Lists(&[elsewhere])), Err(InitFailure::Exists(_))));
        assert_eq!(names(&other).len(), 1);
    }
}
