//! What was measured on a trial page -> offset, scale and edges of the printer in job.toml.
//!
//! In: the numbers that were typed, and the trial page's own. Out: the printer's table with its new values, everything else of the
//! user's file as it was, down to comments and their places. A line that was sent to lie at `n` and lies at `m` tells the offset
//! `m - s n`, with the scale `s` that the ruler tells: what it measures by what it should.

mod edit;

use std::io::Write as _;
use std::path::Path;

use super::failure::RunFailure;
use super::job::{JOB_FILE, Job};
use super::trying::{PrinterTable, Tried, Untried};
use super::{bounded, whole_file};
use crate::base::problem::has_errors;
use crate::base::{Length, Point, Problem};
use crate::pages::{self, Edges, Gauges, Landing};

pub use edit::Lines;
use edit::{changed_lines, with_values};

/// No printer moves a page further; a paper of another size does.
const FURTHEST: Length = Length::nm(12_000_000);
/// Printers seldom move a page further (common practice); a number that was typed wrongly does.
const FAR: Length = Length::nm(5_000_000);

/// What was read on a trial page, in millimetres; what was not read is `None`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Measures {
    /// Ruler 1, across.
    pub ruler_x: Option<f64>,
    /// Ruler 2, down.
    pub ruler_y: Option<f64>,
    /// From the paper's left edge to line 3.
    pub left: Option<f64>,
    /// From its upper edge to line 4.
    pub top: Option<f64>,
    /// On combs 5, left, right, top, bottom: the first number that is printed.
    pub edges: Option<[f64; 4]>,
    /// Which page they were read on.
    pub on: Read,
    /// Whether a page that is moved far is taken for what it is.
    pub far: Far,
}

/// What an offset of more than 5 mm is taken for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Far {
    /// A number that was typed wrongly.
    #[default]
    Doubted,
    /// What the printer does: it was measured again.
    Meant,
}

/// Which page was read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Read {
    /// The page that was sent as it stands: what it tells takes the place of what was known.
    #[default]
    Uncorrected,
    /// The page that was sent corrected: what it is still off is added.
    Corrected,
}

/// What became of the measures.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// Whose they are.
    pub table: PrinterTable,
    /// Where the printer puts what it is sent.
    pub landing: Landing,
    /// Its edges, where they were read.
    pub edges: Option<Edges>,
    /// The lines of job.toml that went and came.
    pub lines: Lines,
    /// What the printer, as it is known now, cannot reach of the stock.
    pub out_of_reach: Option<Problem>,
}

/// Works out what the measures say of the printer and writes it into job.toml.
///
/// # Errors
/// [`RunFailure`] when job.toml cannot be read or written; inside it, why the measures tell nothing.
pub fn measured(job: &Job, tried: &Tried, measures: &Measures) -> Result<Result<Measured, Untried>, RunFailure> {
    let gauges = Gauges::of(&tried.stock);
    let (landing, edges) = match worked_out(&gauges, tried, measures) {
        Ok(found) => found,
        Err(untried) => return Ok(Err(untried)),
    };
    let old = job.source().text();
    let new = match with_values(old, tried.table, &landing, edges.as_ref()) {
        Ok(new) => new,
        Err(lines) => {
            let what = format!("{JOB_FILE} is written in a way that is not changed safely, and stays as it is");
            return Ok(Err(Untried::typed(what, format!("write into its table [{}]: {lines}", tried.table.name()))));
        }
    };
    let lines = changed_lines(old, &new);
    let mut printer = tried.printer.clone();
    if !lines.is_empty() {
        // The text must be a job that says just that.
        let read = Job::from_text(job.folder(), &new);
        let found = read.value.as_ref().and_then(|job| tried.table.of(job));
        let says =
            found.is_some_and(|printer| printer.landing == landing && edges.is_none_or(|edges| printer.edges == edges));
        if has_errors(&read.problems) || !says {
            let what = format!("{JOB_FILE} would not say what was measured, and stays as it is");
            let remedy =
                format!("write into its table [{}]: {}", tried.table.name(), edit::as_lines(&landing, edges.as_ref()));
            return Ok(Err(Untried::typed(what, remedy)));
        }
        printer = found.map_or(printer, |found| found.on(&tried.stock));
        replace(job.folder(), old, &new)?;
    }
    let out_of_reach = pages::out_of_reach(&tried.stock, printer.edges, &printer.landing);
    Ok(Ok(Measured { table: tried.table, landing, edges, lines, out_of_reach }))
}

/// Landing and edges from the measures.
fn worked_out(gauges: &Gauges, tried: &Tried, measures: &Measures) -> Result<(Landing, Option<Edges>), Untried> {
    missing(gauges, measures)?;
    let known = match measures.on {
        Read::Uncorrected => Landing::TRUE,
        Read::Corrected => tried.printer.landing,
    };
    // An axis without a ruler keeps the scale that it has.
    let kept = match measures.on {
        Read::Uncorrected => tried.printer.landing.scale(),
        Read::Corrected => (1.0, 1.0),
    };
    let across = scale(1, "--ruler-x", gauges.across, measures.ruler_x)?.unwrap_or(kept.0);
    let down = scale(2, "--ruler-y", gauges.down, measures.ruler_y)?.unwrap_or(kept.1);
    let x = offset("3", "left", gauges.left, measures.left, across, measures.far)?;
    let y = offset("4", "top", gauges.top, measures.top, down, measures.far)?;
    let rest = Landing::new(Point::new(x, y), across, down);
    let landing = rounded(&known.then(&rest));
    let Point { x, y } = landing.offset();
    if x.abs().max(y.abs()) > FAR && measures.far == Far::Doubted {
        let what = format!("with what is in job.toml already the printer would move pages by {x:.1} and {y:.1}");
        return Err(Untried::typed(
            what,
            "leave `--corrected` out where the page said that it is not corrected; if it does move so far, add `--sure`",
        ));
    }
    let (x, y) = landing.scale();
    if !Landing::SCALES.contains(&x) || !Landing::SCALES.contains(&y) {
        return Err(Untried::typed(
            "the printer would stretch by more than any printer does",
            "print the trial page again",
        ));
    }
    Ok((landing, edges(gauges, measures)?))
}

/// Tells of all that the trial page shows and was not typed.
fn missing(gauges: &Gauges, measures: &Measures) -> Result<(), Untried> {
    let wanted = [
        (gauges.across.is_some(), measures.ruler_x, "--ruler-x", "1, the ruler across, from its 0 to its end"),
        (gauges.down.is_some(), measures.ruler_y, "--ruler-y", "2, the ruler down, from its 0 to its end"),
        (true, measures.left, "--left", "3, from the left edge of the paper to line 3"),
        (true, measures.top, "--top", "4, from the top edge of the paper to line 4"),
    ];
    let missing: Vec<_> = wanted.iter().filter(|(is_there, typed, ..)| *is_there && typed.is_none()).collect();
    if missing.is_empty() {
        return Ok(());
    }
    let options: Vec<String> = missing.iter().map(|(.., option, _)| format!("`{option}`")).collect();
    let verb = if options.len() == 1 { "is" } else { "are" };
    let where_to: Vec<String> = missing.iter().map(|(.., option, place)| format!("{option}: {place}")).collect();
    Err(Untried::typed(
        format!("{} {verb} missing", options.join(", ")),
        format!("measure on the trial page, in mm; {}", where_to.join("; ")),
    ))
}

/// The scale that a ruler tells.
fn scale(number: u8, option: &str, should: Option<Length>, typed: Option<f64>) -> Result<Option<f64>, Untried> {
    let Some(typed) = typed else { return Ok(None) };
    let Some(should) = should.map(Length::as_mm) else {
        let what = format!("the trial page of this stock has no ruler {number}");
        return Err(Untried::typed(what, format!("leave `{option}` out")));
    };
    let scale = typed / should;
    if Landing::SCALES.contains(&scale) {
        return Ok(Some(scale));
    }
    let what = format!("ruler {number} is {typed} mm long instead of {should} mm, which no printer does by itself");
    let remedy = if scale < 1.0 && scale > 0.5 {
        "the page was fitted to the paper: print the trial page again at 100 % (actual size, no scaling), or measure again"
    } else {
        "measure again from its 0 to its end, in mm; print at 100 % (actual size, no scaling)"
    };
    Err(Untried::typed(what, remedy))
}

/// The offset that a line tells.
fn offset(
    number: &str,
    edge: &str,
    should: Length,
    typed: Option<f64>,
    scale: f64,
    far: Far,
) -> Result<Length, Untried> {
    let typed = typed.unwrap_or_default();
    let lies = Length::mm(typed);
    let offset = lies - should.scaled(scale);
    // On small labels, whose lines lie near the edge, half of the way is far already: centimetres are less.
    let most = FAR.min(should.half());
    if offset.abs() <= most || (offset.abs() <= FURTHEST && far == Far::Meant) {
        return Ok(offset);
    }
    let what = format!("line {number} lies {lies} from the {edge} edge instead of {should}");
    let likely = |typed: f64| (Length::mm(typed) - should.scaled(scale)).abs() <= most;
    // What may be meant: how far it is off, or where it lies in another unit.
    let others = [
        (should.as_mm() + typed, "if it is off by so much, type where it lies"),
        (typed * 10.0, "if these are centimetres, type"),
        (typed * 25.4, "if these are inches, type"),
    ];
    let mut meant: Vec<String> = Vec::new();
    for (value, words) in others.into_iter().filter(|(value, _)| likely(*value)) {
        meant.push(format!("{words} `--{edge} {}`", (value * 100.0).round() / 100.0));
    }
    if meant.is_empty() {
        meant.push(
            "measure to the paper's own edge; the paper must be of the page's size and lie at its guides; print at 100 %"
                .to_owned(),
        );
    }
    if offset.abs() <= FURTHEST {
        meant.push("if it does lie there, add `--sure`".to_owned());
    }
    Err(Untried::typed(what, meant.join("; ")))
}

/// The edges that combs tell: the numbers themselves, for they are distances on the page that is sent.
fn edges(gauges: &Gauges, measures: &Measures) -> Result<Option<Edges>, Untried> {
    let Some(typed) = measures.edges else { return Ok(None) };
    if measures.on == Read::Corrected {
        let remedy = "read them on the trial page without `--corrected`, which has the combs";
        return Err(Untried::typed("edges are not read on the corrected page", remedy));
    }
    let Some(count) = gauges.combs else {
        let what = "the trial page of this stock has no combs";
        return Err(Untried::typed(what, "leave `--edges` out, or read them on the trial page of a sheet"));
    };
    if let Some(wrong) = typed.iter().find(|number| !(0.0..=f64::from(count)).contains(*number)) {
        let what = format!("no comb of the trial page has the number {wrong}");
        let remedy = format!(
            "they go from 1 to {count}; type the smallest number whose line is there in full, or 0 where print reaches the very edge"
        );
        return Err(Untried::typed(what, remedy));
    }
    let [left, right, top, bottom] = typed.map(Length::mm);
    Ok(Some(Edges { top, right, bottom, left }))
}

/// To what can be measured: hundredths of a millimetre, and four digits of a scale.
fn rounded(landing: &Landing) -> Landing {
    let to = |value: f64, per_unit: f64| (value * per_unit).round() / per_unit;
    let length = |length: Length| Length::mm(to(length.as_mm(), 1e2));
    let (Point { x, y }, (across, down)) = (landing.offset(), landing.scale());
    Landing::new(Point::new(length(x), length(y)), to(across, 1e4), to(down, 1e4))
}

/// Writes job.toml whole in the place of the old one, unless somebody else has changed that meanwhile.
fn replace(folder: &Path, old: &str, new: &str) -> Result<(), RunFailure> {
    let named = folder.join(JOB_FILE);
    // Where the name is a link, the file behind it is changed and the link stays.
    let path = named.canonicalize().map_err(RunFailure::disk("find", &named))?;
    let failed = || RunFailure::disk("write", &named);
    let now = bounded::read_settings(&path).map_err(RunFailure::disk("read", &named))?;
    if now != old.as_bytes() {
        return Err(failed()(std::io::Error::other("it was changed meanwhile: run the command again")));
    }
    let permissions = path.metadata().map_err(failed())?.permissions();
    if permissions.readonly() {
        return Err(failed()(std::io::ErrorKind::PermissionDenied.into()));
    }
    let beside = path.parent().unwrap_or(Path::new("."));
    let mut temporary = whole_file::temporary_in(beside).map_err(failed())?;
    temporary.write_all(new.as_bytes()).map_err(failed())?;
    temporary.as_file().set_permissions(permissions).map_err(failed())?;
    temporary.as_file().sync_all().map_err(failed())?;
    temporary.persist(&path).map_err(|error| failed()(error.error))?;
    Ok(())
}
