//! What can be typed.

use std::path::PathBuf;

use clap::{Args as Arguments, Parser, Subcommand};

use super::bench_sheets::Sheets;
use super::decide::Decide;
use super::reuse::Reuse;
use super::serve::Serve;
use super::site::Site;
use super::stock_args::{StockNew, StockShow};
use super::trial_args::{Measured, Trial};
use super::which::ACTIONS;
use crate::base::{Length, TagKind};
use crate::codes::{MOST_BLANKS, SheetNumber};
use crate::pages::Order;
use crate::run::MOST_COPIES;
use crate::run::headers::Headers;
use crate::run::sheets::{Laying, SheetWish, numbers_from_typed};
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
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
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
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "Examples:\n  loomtag tags --job marsh-hen\n  loomtag tags --work --connector J1 --connector X3P\n  \
    loomtag tags --final --out to-print\n  loomtag tags --changed\n  loomtag tags --branch ENG-LOOM --action cut,move --this-end\n  \
    loomtag tags --connector J1 --preview\n  loomtag tags --from-file lost.txt --copies 2"
)]
pub struct Tags {
    #[command(flatten)]
    pub which: Which,
    #[command(flatten)]
    pub making: Making,
    /// Print each tag so many times, side by side
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u16).range(1..=i64::from(MOST_COPIES)))]
    pub copies: u16,
    /// Only tags that are new, or whose words or symbol changed since they were printed
    #[arg(long)]
    pub changed: bool,
    /// Draw the pages as PNG files, into `preview` in the job folder or into --out; issue no code and print nothing
    #[arg(long, conflicts_with = "dry_run")]
    pub preview: bool,
    /// Tell what would be made, refused and needed; issue no code and write no file
    #[arg(long)]
    pub dry_run: bool,
    /// Print although lists have errors: ends they concern get no tag, live ones too, and are told
    #[arg(long)]
    pub skip_problems: bool,
}

/// Which tags.
#[derive(Debug, Default, Arguments)]
pub struct Which {
    /// Work tags only: they go on sideways before cutting
    #[arg(long)]
    pub work: bool,
    /// Final tags only: they are threaded on at termination
    #[arg(long = "final")]
    pub final_tags: bool,
    /// Every end, not only those that lose their housing and their far ends
    #[arg(long)]
    pub all: bool,
    /// Removed ends too, because their wires shall be used again
    #[arg(long, conflicts_with = "all")]
    pub removed: bool,
    /// Two tags for a doubled cavity, one a wire, instead of one tag with both letters
    #[arg(long)]
    pub apart: bool,
    /// No tags for connectors that stay whole
    #[arg(long)]
    pub no_connectors: bool,
    /// Marks along the wires too, at most 381 mm apart, and where on its wire each tag sits; for work tags
    #[arg(long)]
    pub along: bool,
    /// Only ends in these connectors, and their own tags
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub connector: Vec<String>,
    /// Only ends in these legs of the harness
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub branch: Vec<String>,
    /// Only ends with these actions: undecided, keep, remove, cut, move, add, extend, reserve
    #[arg(long, value_name = "WORD,…", value_delimiter = ',', value_parser = ACTIONS, hide_possible_values = true)]
    pub action: Vec<String>,
    /// Only tags of these kinds: flag, wrap, tie-on, sleeve, strip
    #[arg(long, value_name = "WORD,…", value_delimiter = ',', value_parser = TagKind::WORDS.map(|(word, _)| word),
        hide_possible_values = true)]
    pub kind: Vec<String>,
    /// Only these circuits, by their designations
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub circuit: Vec<String>,
    /// Only what these codes (`7KF4`, `7KF4/A`) or places (`J1/14`) name
    #[arg(long, value_name = "CODE,…", value_delimiter = ',')]
    pub code: Vec<String>,
    /// Only what a text file names: a code, place, connector or designation on each line (`-`: standard input)
    #[arg(long, value_name = "FILE")]
    pub from_file: Option<PathBuf>,
    /// Not the far ends of what these choose: tags go on both sides of a wire, unless this is given
    #[arg(long)]
    pub this_end: bool,
}

/// How they are made.
#[derive(Debug, Arguments)]
pub struct Making {
    /// Folder for the PDFs [default: a folder of the run's own under `prints` in the job folder]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Do not read the symbols back
    #[arg(long)]
    pub no_proof: bool,
    /// Go on with this sheet of labels, by the number in its margin [default: those that are begun, as they suit]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pub sheet: Option<u32>,
    /// The first sheet has lost its labels before this one already, counted from the top left
    #[arg(long, value_name = "N", conflicts_with = "sheet", value_parser = clap::value_parser!(u32).range(1..))]
    pub start_at: Option<u32>,
    /// New sheets of labels, although others are begun
    #[arg(long, conflicts_with = "sheet")]
    pub new_sheet: bool,
    /// Order on tube and paper: `working`, as the hand moves, or `least-waste` [default: as job.toml has it, else working]
    #[arg(long, value_name = "ORDER", value_parser = Order::WORDS.map(|(word, _)| word), hide_possible_values = true)]
    pub order: Option<String>,
    /// A label before the tags of each connector, on sheets, rolls and tube: its name, and how many tags follow
    #[arg(long)]
    pub headers: bool,
    /// Use up an off-cut of tube first, by stock and length in mm; may be repeated
    #[arg(long, value_name = "STOCK=MM", value_parser = off_cut)]
    pub off_cut: Vec<(String, Length)>,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

/// A stock of tube and the length of a piece that is left of it.
fn off_cut(typed: &str) -> Result<(String, Length), String> {
    let wanted = || "a stock and a length in mm are wanted, such as `tube-3.2-1.6=350`".to_owned();
    let (stock, length) = typed.rsplit_once('=').ok_or_else(wanted)?;
    let mm = length.trim().trim_end_matches("mm").trim().replace(',', ".").parse::<f64>().map_err(|_| wanted())?;
    let is_length = (10.0..=5_000.0).contains(&mm) && !stock.trim().is_empty();
    is_length.then(|| (stock.trim().to_owned(), Length::mm(mm))).ok_or_else(wanted)
}

impl Making {
    /// The stock to go on, and in which order.
    pub fn laying(&self) -> Laying {
        let typed = self.order.as_deref();
        let order =
            typed.and_then(|typed| Order::WORDS.iter().find(|(word, _)| *word == typed)).map(|(_, order)| *order);
        let headers = if self.headers { Headers::EachConnector } else { Headers::None };
        Laying { sheets: self.sheets(), order, headers, off_cuts: self.off_cut.clone() }
    }

    fn sheets(&self) -> SheetWish {
        match (self.sheet.and_then(SheetNumber::new), self.start_at) {
            (Some(number), _) => SheetWish::Number(number),
            (None, Some(place)) => SheetWish::StartAt(place),
            (None, None) if self.new_sheet => SheetWish::New,
            (None, None) => SheetWish::Usual,
        }
    }
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "Examples:\n  loomtag reprint 7KF4\n  loomtag reprint 7KF4/A J1/14\n  loomtag reprint J1/14 --final\n  loomtag reprint --spoilt"
)]
pub struct Reprint {
    /// Codes (`7KF4`, or one end of it, `7KF4/A`), places (`J1/14`), or connectors that stay whole (`J1`)
    #[arg(required_unless_present = "spoilt", value_name = "CODE|PLACE|CONNECTOR")]
    pub what: Vec<String>,
    /// The tags of labels that were told to be spoilt, as long as no run has printed them again
    #[arg(long)]
    pub spoilt: bool,
    /// Work tags too, when --final is given [default: work tags]
    #[arg(long)]
    pub work: bool,
    /// Final tags
    #[arg(long = "final")]
    pub final_tags: bool,
    /// The marks along its wires too
    #[arg(long)]
    pub along: bool,
    /// Print each tag so many times, side by side
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u16).range(1..=i64::from(MOST_COPIES)))]
    pub copies: u16,
    #[command(flatten)]
    pub making: Making,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "Examples:\n  loomtag blanks 24            24 tags with codes, symbols and lines to write on\n  \
    loomtag blanks 6 --kind tie-on\n  loomtag blanks 10 --list     10 codes for a marker pen\n  \
    loomtag blanks               the blanks there are, and what they proved to be"
)]
pub struct Blanks {
    /// How many, 1 to 500; without it the blanks there are get listed
    #[arg(value_name = "N", value_parser = clap::value_parser!(u32).range(1..=i64::from(MOST_BLANKS)))]
    pub count: Option<u32>,
    /// Print no tags: list the codes, to be written by hand
    #[arg(long, requires = "count", conflicts_with_all = ["kind", "diameter", "out", "no_proof"])]
    pub list: bool,
    /// Kind of tag: flag, wrap or tie-on [default: the usual work tag]
    #[arg(long, value_name = "KIND", requires = "count", value_parser = ["flag", "wrap", "tie-on"])]
    pub kind: Option<String>,
    /// Outside diameter of the wires they are for, which wraps need, and flags on thick wires
    #[arg(long, value_name = "MM", requires = "count")]
    pub diameter: Option<f64>,
    #[command(flatten)]
    pub making: Making,
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
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "Examples:\n  loomtag find 7kf4\n  loomtag find J1/14\n  loomtag find brown white rail pressure"
)]
pub struct Find {
    /// A code, a place, a colour, a designation, or words; all must match
    #[arg(required = true, value_name = "WORDS")]
    pub words: Vec<String>,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
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
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
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
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
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
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
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
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  loomtag proof marsh-hen/prints/run-0001/work-a4-24-64x34.pdf")]
pub struct Proof {
    /// PDFs, those of the last run by their bare names; with the run.json beside them every symbol is compared with what its tag
    /// should carry
    #[arg(required = true, value_name = "PDF")]
    pub files: Vec<PathBuf>,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Arguments)]
#[command(after_help = "Examples:\n  loomtag explain\n  loomtag explain far-end-removed")]
pub struct Explain {
    /// The name of a problem, as it stands in brackets: `error[unknown-action]`; without one all are listed
    #[arg(value_name = "NAME")]
    pub id: Option<String>,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
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
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
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
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Arguments)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "Examples:\n  loomtag stock\n  loomtag stock show a4-65-38x21\n  \
    loomtag stock show tube-6.4-3.2 --png sleeve.png --dpi 300\n  loomtag stock trial a4-24-64x34\n  \
    loomtag stock sheets"
)]
pub struct Stock {
    #[command(subcommand)]
    pub what: Option<StockVerb>,
    #[command(flatten)]
    pub list: List,
}

#[derive(Debug, Subcommand)]
pub enum StockVerb {
    /// List the stocks of the job folder and those that come with the program
    List(List),
    /// Show the file of a stock, draw it, or draw a tag on it
    Show(StockShow),
    /// Write the file of a stock of your own, from a few measured numbers
    New(StockNew),
    /// Write a trial page: what the printer does to a page is measured on it, and a wire too
    Trial(Trial),
    /// Tell what was measured on a trial page: job.toml keeps it, and every page is corrected by it
    Measured(Measured),
    /// Sheets of labels that are begun, and how far
    Sheets(StockSheets),
    /// Labels of a sheet are spoilt: their tags can be printed again
    Spoilt(StockMark),
    /// Sheets were thrown away or lost: no run goes on them any more
    Gone(StockMark),
    /// The paper of a run never went through the printer: its labels are free again
    Unprinted(StockMark),
}

#[derive(Debug, Arguments)]
#[command(after_help = "Examples:\n  loomtag stock sheets\n  loomtag stock sheets 12     sheet 12, label by label")]
pub struct StockSheets {
    /// Numbers in the margins of sheets, to be shown label by label; also `3-5` and `3,5`
    #[arg(value_name = "SHEET", value_parser = numbers)]
    pub sheets: Vec<Numbers>,
    /// Those that are used up or gone too
    #[arg(long)]
    pub all: bool,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Arguments)]
#[command(after_help = "Labels are counted from the top left, row by row, slices of a label each for itself.\n\n\
    Examples:\n  loomtag stock spoilt 12 17 20-22  labels 17 and 20 to 22 of sheet 12\n  loomtag stock gone 12\n  \
    loomtag stock unprinted 7         print run 7\n  loomtag stock gone 12 --undo      it was found again")]
pub struct StockMark {
    /// `spoilt`: the sheet, then its labels; `gone`: sheets; `unprinted`: print runs; also `17-19` and `5,6`
    #[arg(value_name = "NUMBER", required = true, value_parser = numbers)]
    pub numbers: Vec<Numbers>,
    /// Take back what was told before
    #[arg(long)]
    pub undo: bool,
}

/// Numbers that were typed as one word: `17`, `17-19`, `5,6`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Numbers(pub Vec<u32>);

impl Numbers {
    /// All of several words, in their order.
    pub fn all(words: &[Self]) -> Vec<u32> {
        words.iter().flat_map(|word| word.0.iter().copied()).collect()
    }
}

fn numbers(typed: &str) -> Result<Numbers, String> {
    numbers_from_typed(typed).map(Numbers)
}

/// How a list is told.
#[derive(Debug, Arguments)]
pub struct List {
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
    pub list: List,
}

#[derive(Debug, Subcommand)]
pub enum WordingVerb {
    /// List the wordings of the job folder and those that come with the program
    List(List),
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
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}
