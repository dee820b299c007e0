//! What can be typed behind `stock trial` and `stock measured`.

use std::path::PathBuf;

use clap::Args as Arguments;

use super::args::Answer;

/// A stock and its printer.
#[derive(Debug, Arguments)]
pub struct OnPrinter {
    /// Name of a stock [default: that of flags]
    #[arg(value_name = "STOCK")]
    pub stock: Option<String>,
    /// Table of job.toml [default: that of the printer that prints this stock]
    #[arg(long, value_name = "TABLE", value_parser = ["printer", "sleeve_printer"])]
    pub printer: Option<String>,
}

#[derive(Debug, Arguments)]
#[command(
    after_help = "Print it at 100 % (actual size). Of a sheet of labels plain paper of the same size will do; hold it with a sheet \
    of labels against the light to see whether the outlines hit.\n\n\
    Examples:\n  loomtag stock trial                     the stock of flags, to measure its printer\n  \
    loomtag stock trial a4-65-38x21\n  loomtag stock trial tube-6.4-3.2 --printer sleeve_printer\n  \
    loomtag stock trial --corrected         to check what was measured"
)]
pub struct Trial {
    #[command(flatten)]
    pub on: OnPrinter,
    /// Correct it by what was measured
    #[arg(long)]
    pub corrected: bool,
    /// The PDF [default: a file of `trial` in the job folder]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    #[command(flatten)]
    pub answer: Answer,
}

#[derive(Debug, Arguments)]
#[command(
    allow_negative_numbers = true,
    after_help = "All in mm, as the trial page numbers them: 1 and 2 are the rulers, 3 and 4 lie from the paper's edges to the lines \
    with these numbers, 5 are the combs. In job.toml only offset, scale and edges of the printer change.\n\n\
    Examples:\n  loomtag stock measured --ruler-x 98.5 --ruler-y 98.6 --left 11.2 --top 9.1 --edges 4,4,5,5\n  \
    loomtag stock measured --ruler-x 99.9 --ruler-y 100 --left 10.2 --top 10 --corrected"
)]
pub struct Measured {
    #[command(flatten)]
    pub on: OnPrinter,
    /// 1: length of the ruler across, from 0 to 100
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub ruler_x: Option<f64>,
    /// 2: length of the ruler down, from 0 to 100
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub ruler_y: Option<f64>,
    /// 3: from the left edge of the paper to line 3
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub left: Option<f64>,
    /// 4: from the top edge of the paper to line 4
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub top: Option<f64>,
    /// 5: the smallest number of each comb whose line is there in full
    #[arg(long, value_name = "LEFT,RIGHT,TOP,BOTTOM", value_parser = four_edges)]
    pub edges: Option<Four>,
    /// Measured on the corrected page: what it is still off is added
    #[arg(long)]
    pub corrected: bool,
    /// It does lie so far off: it was measured again
    #[arg(long)]
    pub sure: bool,
    #[command(flatten)]
    pub answer: Answer,
}

/// Four numbers: left, right, top, bottom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Four(pub [f64; 4]);

/// A number of millimetres, with a decimal point or comma, perhaps with its unit.
pub(super) fn millimetres(typed: &str) -> Result<f64, String> {
    let number = typed.trim().trim_end_matches("mm").trim_end().replace(',', ".");
    let number = number.parse::<f64>().ok().filter(|number| number.is_finite());
    number.ok_or_else(|| "a number of millimetres is wanted, such as `98.5`".to_owned())
}

fn four_edges(typed: &str) -> Result<Four, String> {
    let numbers: Result<Vec<f64>, String> = typed.split(',').map(millimetres).collect();
    let four = numbers.ok().and_then(|numbers| numbers.try_into().ok());
    four.map(Four).ok_or_else(|| "four numbers are wanted, left, right, top and bottom, such as `4,4,5,12`".to_owned())
}
