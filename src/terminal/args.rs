//! What can be typed: the verbs, and the arguments of most. Those of tags, stocks and trial pages have files of their own; so have
//! verbs with much to ask.

use std::path::PathBuf;

use clap::{Args as Arguments, Parser, Subcommand};

use super::bench_sheets::Sheets;
use super::decide::Decide;
use super::reuse::Reuse;
use super::serve::Serve;
use super::site::Site;
use super::stock_args::Stock;
use super::tag_args::{Blanks, Reprint, Tags, Which};
use crate::send::COPIES;

/// Fitted, coded tags for every wire of a harness, printed before the first cut
#[derive(Debug, Parser)]
#[command(
    version,
    max_term_width = 100,
    after_help = "A tag is a record, not proof that a circuit is dead: test. \
    Mains, high voltage and restraint circuits belong to trained people; local codes come first."
)]
pub struct Args {
    /// The job folder
    #[arg(long, global = true, default_value = ".", value_name = "DIR")]
    pub job: PathBuf,

    #[command(subcommand)]
    pub verb: Verb,
}

#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Begin a job folder: empty, from lists, or as the example
    Init(Init),
    /// Show problems of the lists and how each tag fits; prints nothing
    Check(Check),
    /// Print tags: PDFs, one a stock, every symbol read back
    Tags(Tags),
    /// Print tags again, with the same codes
    Reprint(Reprint),
    /// Print coded tags for wires that are in no chart, or list those there are
    Blanks(Blanks),
    /// Tell what a blank proved to be
    Assign(Assign),
    /// Match wires to remove to wires that are wanted, before any is pulled
    Reuse(Reuse),
    /// Find circuits by code, place, colour or words
    Find(Find),
    /// Read tags from photographs or PDFs and show their records
    Scan(Scan),
    /// Write bench sheets: the paper that lies beside the connector, as one PDF
    Sheets(Sheets),
    /// Decide what shall be done with ends, beside the lists, which stay as they are
    Decide(Decide),
    /// Note what was done or found at an end, with the time; notes are never deleted
    Note(Note),
    /// Give a circuit another designation; its code stays
    Rename(Rename),
    /// Make one record of two codes that prove to be one circuit
    Join(Join),
    /// Read back the symbols of a PDF
    Proof(Proof),
    /// Write the whole register as CSV files, to keep elsewhere
    Export(Export),
    /// Put a lost or damaged register together again, from an export and the print runs
    Import(Import),
    /// Explain a problem that other commands tell of
    Explain(Explain),
    /// List, show and draw the stocks that tags are printed on
    Stock(Stock),
    /// Send the PDFs of a run to a printer by IPP, and follow the job to its end
    Send(Send),
    /// Serve the job to browsers: records, the notes of the bench, lists and printing
    Serve(Serve),
    /// Write the records as plain pages, for a web space or a memory stick
    Site(Site),
    /// List and show the wordings: what tags say, and what they give up first
    Wording(Wording),
}

#[derive(Debug, Arguments)]
#[command(after_help = "Examples:\n  loomtag init --job marsh-hen pinout-j1.csv pinout-x3.csv\n  \
    loomtag init --job marsh-hen pinouts.xlsx\n  \
    loomtag init --job example --example")]
pub struct Init {
    /// Circuit lists to begin with (CSV, XLSX, ODS); lists outside the folder are copied in
    #[arg(value_name = "LIST")]
    pub lists: Vec<PathBuf>,
    /// Write the example job: a workboat gets a donor's diesel
    #[arg(long, conflicts_with = "lists")]
    pub example: bool,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(after_help = "Examples:\n  loomtag check --job marsh-hen\n  loomtag check --connector J1 --json\n  \
    loomtag check --preview J1/14 --preview 7KF4/B --out pictures")]
pub struct Check {
    #[command(flatten)]
    pub which: Which,
    /// Draw the tags of a place (`J1/14`) or code (`7KF4`, `7KF4/A`) as PNG files; may be repeated
    #[arg(long, value_name = "PLACE|CODE", conflicts_with_all = ["brief", "all", "removed", "connector", "branch", "action", "kind", "circuit",
            "code", "from_file", "this_end"])]
    pub preview: Vec<String>,
    /// Folder for the pictures [default: `preview` in the job folder]
    #[arg(long, value_name = "DIR", requires = "preview")]
    pub out: Option<PathBuf>,
    /// Tell what would change with a list that is not in the job yet, or in place of the one of its name; nothing is written
    #[arg(long, value_name = "FILE", conflicts_with_all = ["preview", "json"])]
    pub with: Option<PathBuf>,
    /// With --with: the list of the job that it takes the place of
    #[arg(long, value_name = "LIST", requires = "with")]
    pub instead: Option<String>,
    /// One line a problem, no fit table, and nothing of what to buy
    #[arg(long, conflicts_with = "json")]
    pub brief: bool,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "The circuit keeps the code that is printed for it, and the blank's names it as well; nothing is printed again. \
    A circuit that has no code yet takes the blank's.\n\n\
    Examples:\n  loomtag assign 7KF4 J1/14      the end in that cavity\n  \
    loomtag assign 7KF4 9C3M/B     the end that another tag names\n  \
    loomtag assign 7KF4 E14        the circuit, whichever end\n  \
    loomtag assign 7KF4 --new \"bilge alarm\"\n  loomtag assign 7KF4 J9/3 --new \"bilge alarm\""
)]
pub struct Assign {
    /// The code of the blank
    #[arg(value_name = "CODE")]
    pub code: String,
    /// What it proved to be: a designation, a place, or another code, with its letter where one end is meant
    #[arg(value_name = "CIRCUIT|PLACE", required_unless_present = "new")]
    pub what: Option<String>,
    /// A circuit that no list has yet, by its designation or its place
    #[arg(long, value_name = "NAME")]
    pub new: Option<String>,
    /// What was told before was wrong: this instead
    #[arg(long)]
    pub instead: bool,
    /// Assign although something speaks against it
    #[arg(long)]
    pub sure: bool,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "Examples:\n  loomtag find 7kf4\n  loomtag find J1/14\n  loomtag find brown white rail pressure"
)]
pub struct Find {
    /// A code, a place, a colour, a designation, or words; all must match
    #[arg(required = true, value_name = "WORDS")]
    pub words: Vec<String>,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "Every job issues the same codes in the same order. The address or the words in a symbol are compared with \
    this job's, and an answer in doubt says so and ends with 1; a code alone does not tell which job it is of.\n\n\
    Examples:\n  loomtag scan photo.jpg\n  loomtag scan one-end.jpg other-end.jpg"
)]
pub struct Scan {
    /// Photographs (PNG, JPEG) or PDFs; of two tags or more the answer tells which are one circuit
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "done: tagged, cut, pulled, moved, added, extended, spliced, sealed, capped, terminated, tested; several at once.\n\
    found: empty, colour BN/WH, size 0.75, place J1/15, damaged, unlisted, or your own words.\n\
    A remark behind steps stands in quotes. Words may be English or German.\n\n\
    Examples:\n  loomtag note J1/14 done cut sealed\n  loomtag note 7kf4/a J1/2 J1/3 done pulled \"seal was torn\"\n  \
    loomtag note J1/9 found colour BN/WH\n  loomtag note 7KF4 text runs behind the fuel filter\n  \
    loomtag note --instead 12 done pulled          note 12 was wrong: this instead\n  \
    loomtag note 7KF4/A undone cut --with 9C3M/B \"butt splice under tube\"\n  loomtag note --list J1/14"
)]
pub struct Note {
    /// Codes (`7KF4`, `7KF4/A`) or places (`J1/14`), then `done`, `undone`, `found` or `text`, and what
    #[arg(value_name = "CODE|PLACE... done|undone|found|text WORDS", required_unless_present = "list")]
    pub words: Vec<String>,
    /// This note stands in the place of that number, which stays and is shown as superseded
    #[arg(long, visible_alias = "supersedes", value_name = "N", conflicts_with = "list",
        value_parser = clap::value_parser!(u32).range(1..))]
    pub instead: Option<u32>,
    /// The other stub that a cut wire is joined to again
    #[arg(long, value_name = "CODE", conflicts_with = "list")]
    pub with: Option<String>,
    /// List the notes there are, all or those of a code or place
    #[arg(long)]
    pub list: bool,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "The lists have the last word: change the designation there too, before or after. Where they have the new one \
    already and a code was issued for it, both codes become one record, and what is printed stays the first.\n\n\
    Examples:\n  loomtag rename E14 E14A\n  loomtag rename J1/17 RPS"
)]
pub struct Rename {
    /// The circuit: its designation, code, or the place of one of its ends; or the place or tag (`7KF4/A`) of one end
    #[arg(value_name = "OLD")]
    pub old: String,
    /// Its new designation; or the place where that end sits in truth
    #[arg(value_name = "NEW")]
    pub new: String,
    /// Rename although the two circuits have no place in common
    #[arg(long)]
    pub sure: bool,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  loomtag join 7KF4 9C3M     what is printed stays 7KF4; both are valid for ever")]
pub struct Join {
    /// The code that stays the printed one
    #[arg(value_name = "CODE")]
    pub keep: String,
    /// The code that proves to be the same circuit
    #[arg(value_name = "CODE")]
    pub other: String,
    /// Join although the lists speak against it; joining is for ever
    #[arg(long)]
    pub sure: bool,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  loomtag proof marsh-hen/prints/run-0001/work-a4-24-64x34.pdf")]
pub struct Proof {
    /// PDFs, those of the last run by their bare names; with the run.json beside them every symbol is compared with what its tag
    /// should carry
    #[arg(required = true, value_name = "PDF")]
    pub files: Vec<PathBuf>,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(after_help = "Examples:\n  loomtag explain\n  loomtag explain far-end-removed")]
pub struct Explain {
    /// The name of a problem, as it stands in brackets: `error[unknown-action]`; without one all are listed
    #[arg(value_name = "NAME")]
    pub id: Option<String>,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "A folder is written whole or not at all, and never over another one. Cells that a spreadsheet would run as \
    formulas begin with an apostrophe; `import` takes it away again.\n\n\
    Examples:\n  loomtag export --job marsh-hen                      into a folder of its own under `exports`\n  \
    loomtag export --job marsh-hen /media/stick/marsh-hen"
)]
pub struct Export {
    /// Folder for the files [default: a folder of its own under `exports` in the job folder]
    #[arg(value_name = "DIR")]
    pub folder: Option<PathBuf>,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "Without arguments: from the last export in the job folder and from the run.json of every print run. The \
    print runs are looked at in any case. A damaged register is put aside, never deleted; one that is in order stays as it is. \
    Codes come out the same; where it is not certain which were issued last, some are left out.\n\n\
    Examples:\n  loomtag import --job marsh-hen\n  loomtag import --job marsh-hen /media/stick/marsh-hen\n  \
    loomtag import --job marsh-hen old/prints"
)]
pub struct Import {
    /// The folder of an export; a run.json; or a folder of print runs
    #[arg(value_name = "FROM")]
    pub from: Vec<PathBuf>,
    #[command(flatten)]
    pub answer: Answer,
}

/// How an answer is given.
#[derive(Clone, Copy, Debug, Arguments)]
pub struct Answer {
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Arguments)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "Examples:\n  loomtag wording\n  loomtag wording show flat\n\n\
    To have tags say what you want: put a file of your own as templates/NAME.toml into the job folder, name it in job.toml \
    (`[wording] flat = \"NAME\"`), and look at it with `loomtag check --preview`."
)]
pub struct Wording {
    #[command(subcommand)]
    pub what: Option<WordingVerb>,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Subcommand)]
pub enum WordingVerb {
    /// List the wordings of the job folder and those that come with the program
    List(Answer),
    /// Show the file of a wording: a pattern for one of your own
    Show(WordingShow),
}

#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  loomtag wording show flat > my-boat/templates/mine.toml")]
pub struct WordingShow {
    /// Name of a wording: flat, round, connector, along, blank, or one of the job folder's own
    #[arg(value_name = "NAME")]
    pub name: String,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "Ctrl-C leaves the job to the printer: cancel it there. A job that fails leaves the run and its codes as they are.\n\n\
    Examples:\n  loomtag send --find\n  loomtag send --job marsh-hen --dry-run\n  \
    loomtag send 3 --printer ipp://10.0.0.7/ipp/print\n  loomtag send prints/run-0001/work-a4-24-64x34.pdf --again"
)]
pub struct Send {
    /// Number or folder of a run, or a PDF [default: the last run]
    #[arg(value_name = "RUN|PDF")]
    pub what: Option<String>,
    /// The printer, ipp:// or ipps:// [default: `address` of the printer in job.toml]
    #[arg(long, value_name = "ADDRESS")]
    pub printer: Option<String>,
    /// Have the printer make so many copies
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u16).range(i64::from(*COPIES.start())..=i64::from(*COPIES.end())))]
    pub copies: u16,
    /// Print colours, such as bars in the colours of wires; else black alone
    #[arg(long)]
    pub colour: bool,
    /// Send once more what was printed already
    #[arg(long)]
    pub again: bool,
    /// Ask the printer, and show what it takes and what would be sent; nothing is printed
    #[arg(long)]
    pub dry_run: bool,
    /// Leave the job to the printer when nothing has moved for so many minutes
    #[arg(long, value_name = "MINUTES", default_value_t = 10, value_parser = clap::value_parser!(u16).range(0..=600))]
    pub wait: u16,
    /// List the printers that tell of themselves in this network
    #[arg(long, conflicts_with_all = ["what", "printer", "copies", "colour", "again", "dry_run", "wait"])]
    pub find: bool,
    #[command(flatten)]
    pub answer: Answer,
}
