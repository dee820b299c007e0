//! What can be typed of stocks.

use std::path::PathBuf;

use clap::{Args as Arguments, Subcommand};

use super::args::Answer;
use super::trial_args::{Measured, Trial};
use crate::codes::Telling;
use crate::run::sheets::numbers_from_typed;

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
    pub answer: Answer,
}

#[derive(Debug, Subcommand)]
pub enum StockVerb {
    /// List the stocks of the job folder and those that come with the program
    List(Answer),
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
#[command(
    after_help = "Examples:\n  loomtag stock show a4-24-64x34 > my-boat/stock/mine.toml     a pattern for one of your own\n  \
    loomtag stock show a4-24-64x34 --draw sheet.svg     .png, .svg or .pdf\n  \
    loomtag stock show a4-24-64x34 --png flag.png       a tag on it"
)]
pub struct StockShow {
    /// Name of a stock: one of the job folder's own, or one that comes with the program
    #[arg(value_name = "NAME")]
    pub name: String,
    /// Draw the stock itself with its measures, at its true size, as PNG, SVG or PDF
    #[arg(long, value_name = "FILE", conflicts_with = "png")]
    pub draw: Option<PathBuf>,
    /// Draw a tag with words of the example on this stock, at its true size
    #[arg(long, value_name = "FILE")]
    pub png: Option<PathBuf>,
    /// Dots an inch of a PNG, as the printer has
    #[arg(long, value_name = "DPI", default_value_t = 600, value_parser = clap::value_parser!(u16).range(100..=2400))]
    pub dpi: u16,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "All in mm, measured on the sheet; `top` and `left` go from the paper's edge to the first label, a pitch from the \
    start of one label to the start of the next. Without top and left the labels lie in the middle.\n\n\
    Examples:\n  loomtag stock new a4-24-own --page a4 --label 64x34 --columns 3 --rows 8 --left 7 --top 13 --pitch-x 66\n  \
    loomtag stock new roll-own --roll 62x29 --printers direct-thermal\n  \
    loomtag stock new tube-own --tube 3.2/1.6 --wall 0.5"
)]
pub struct StockNew {
    /// Its name: small letters, digits, `-` and `.`
    #[arg(value_name = "NAME")]
    pub name: String,
    /// A sheet: a4, letter, or width x height
    #[arg(long, value_name = "SIZE", required_unless_present_any = ["roll", "tube"], requires_all = ["label", "columns", "rows"])]
    pub page: Option<String>,
    /// Width x height of a label of the sheet
    #[arg(long, value_name = "WxH", requires = "page")]
    pub label: Option<String>,
    /// How many labels lie side by side
    #[arg(long, value_name = "N", requires = "page")]
    pub columns: Option<u32>,
    /// How many lie below one another
    #[arg(long, value_name = "N", requires = "page")]
    pub rows: Option<u32>,
    /// From the left edge to the first label
    #[arg(long, value_name = "MM", requires = "page")]
    pub left: Option<f64>,
    /// From the upper edge to the first label
    #[arg(long, value_name = "MM", requires = "page")]
    pub top: Option<f64>,
    /// From the start of a label to the start of the one beside it
    #[arg(long, value_name = "MM", requires = "page")]
    pub pitch_x: Option<f64>,
    /// From the start of a label to the start of the one below
    #[arg(long, value_name = "MM", requires = "page")]
    pub pitch_y: Option<f64>,
    /// Slices that knife lines make of each label
    #[arg(long, value_name = "N", requires = "page")]
    pub split: Option<u32>,
    /// Plain paper: cut lines are printed
    #[arg(long, requires = "page")]
    pub cut_lines: bool,
    /// A roll of labels: width x height of one
    #[arg(long, value_name = "WxH", conflicts_with_all = ["page", "tube"])]
    pub roll: Option<String>,
    /// Wraps: length of the printed block; the rest of the label is clear
    #[arg(long, value_name = "MM", conflicts_with = "tube")]
    pub print: Option<f64>,
    /// Heat-shrink tube: inside diameters as supplied and recovered
    #[arg(long, value_name = "D/D", conflicts_with = "page")]
    pub tube: Option<String>,
    /// Wall of the recovered tube
    #[arg(long, value_name = "MM", requires = "tube", default_value_t = 0.5)]
    pub wall: f64,
    /// Length of a piece of tube
    #[arg(long, value_name = "MM", requires = "tube", default_value_t = 1000.0)]
    pub piece: f64,
    /// Thickness of a label as it lies on the wire, without liner
    #[arg(long, value_name = "MM", default_value_t = 0.1)]
    pub thickness: f64,
    /// What its printed side is
    #[arg(long, value_name = "FACE", default_value = "paper", value_parser = ["paper", "film", "vinyl"])]
    pub face: String,
    /// Printers it is made for [default: laser, of rolls and tube thermal-transfer]
    #[arg(long, value_name = "KIND,…", value_delimiter = ',', value_parser = ["laser", "inkjet", "thermal-transfer", "direct-thermal"])]
    pub printers: Vec<String>,
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
    #[command(flatten)]
    pub answer: Answer,
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

impl StockMark {
    /// Whether what is told holds from now on.
    pub const fn telling(&self) -> Telling {
        if self.undo { Telling::TakenBack } else { Telling::Holds }
    }
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
