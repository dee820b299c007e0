//! What can be typed of tags: which, and how they are made.

use std::path::PathBuf;

use clap::Args as Arguments;

use super::args::Answer;
use super::which::ACTIONS;
use crate::base::{Length, TagKind};
use crate::codes::{MOST_BLANKS, SheetNumber};
use crate::pages::Order;
use crate::run::MOST_COPIES;
use crate::run::headers::Headers;
use crate::run::sheets::{Laying, SheetWish};

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
    #[command(flatten)]
    pub answer: Answer,
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

/// A stock of tube and the length of a piece that is left of it.
fn off_cut(typed: &str) -> Result<(String, Length), String> {
    let wanted = || "a stock and a length in mm are wanted, such as `tube-3.2-1.6=350`".to_owned();
    let (stock, length) = typed.rsplit_once('=').ok_or_else(wanted)?;
    let mm = length.trim().trim_end_matches("mm").trim().replace(',', ".").parse::<f64>().map_err(|_| wanted())?;
    let is_length = (10.0..=5_000.0).contains(&mm) && !stock.trim().is_empty();
    is_length.then(|| (stock.trim().to_owned(), Length::mm(mm))).ok_or_else(wanted)
}
