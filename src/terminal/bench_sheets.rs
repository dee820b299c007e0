//! `sheets`: bench sheets, and how it is told what was written.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use clap::Args as Arguments;
use jiff::Timestamp;
use serde_json::json;

use super::Ending;
use super::args::Answer;
use super::complaint::Complaint;
use super::output::Output;
use super::stock::pair;
use super::tags::{left_out, warn, withhold};
use crate::base::nearest::did_you_mean_or_choose;
use crate::base::{ConnectorId, Length, Size, counted};
use crate::paperwork::Paper;
use crate::paperwork::as_built::{Difference, Group};
use crate::paperwork::whole_job::{SortedBy, fuses};
use crate::run::bench_sheets::{SheetsWish, SheetsWritten, Shown, Sort};
use crate::run::face_pictures::DPI;
use crate::run::named::{connector_moved_to, connector_of};
use crate::run::picture::Format;
use crate::run::{self, Reading};

#[derive(Debug, Arguments)]
#[command(after_help = "Examples:\n  loomtag sheets --job marsh-hen\n  loomtag sheets --connector J1,X3P\n  \
    loomtag sheets --only overview --paper letter --out overview.pdf\n  \
    loomtag sheets --only schedule --sort function\n  loomtag sheets --only fuses --legend-size 100x60\n  \
    loomtag sheets --connector J1 --pictures svg\n  loomtag sheets --as-built --charts as-built")]
pub struct Sheets {
    /// Only sheets of these connectors
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub connector: Vec<String>,
    /// Only these sorts of sheets
    #[arg(long, value_name = "SORT,…", value_delimiter = ',', value_parser = Sort::WORDS.map(|(word, _)| word))]
    pub only: Vec<String>,
    /// Show what is, by the notes of the bench, instead of what is planned, and where the two differ
    #[arg(long)]
    pub as_built: bool,
    /// Write the charts of what is, too: a CSV file for each connector, into a folder that is not there yet
    #[arg(long, value_name = "DIR", requires = "as_built")]
    pub charts: Option<PathBuf>,
    /// The paper: `a4` or `letter`
    #[arg(long, value_name = "PAPER", default_value = "a4", value_parser = Paper::WORDS.map(|(word, _)| word), hide_possible_values = true)]
    pub paper: String,
    /// How the circuit schedule is sorted: by `circuit`, `function` or `connector`
    #[arg(long, value_name = "BY", default_value = "circuit", value_parser = SortedBy::WORDS.map(|(word, _)| word), hide_possible_values = true)]
    pub sort: String,
    /// Size of a fuse legend in mm when it is folded
    #[arg(long, value_name = "WxH", default_value = "140x90")]
    pub legend_size: String,
    /// The PDF to write [default: a file under `sheets` in the job folder, which is replaced]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Draw the face of each connector as a picture too, `svg` or `png`, into `faces` beside the PDF
    #[arg(long, value_name = "FORMAT", value_parser = ["svg", "png"], hide_possible_values = true)]
    pub pictures: Option<String>,
    /// Write sheets although lists have errors: the rows they concern are left out, and told
    #[arg(long)]
    pub skip_problems: bool,
    #[command(flatten)]
    pub answer: Answer,
}

/// Writes and tells.
pub fn run(job: &Path, asked: &Sheets, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let read = run::read(job)?;
    let Some(mut reading) = read.value else {
        return withhold(&read.problems, asked.answer, output);
    };
    let renames = run::likely_renames(&reading)?;
    reading.problems.splice(0..0, renames);
    if reading.has_errors() && !asked.skip_problems {
        return withhold(&reading.problems, asked.answer, output);
    }
    let wish = wish(asked, &reading)?;
    if !asked.answer.json {
        if reading.has_errors() {
            output.problems(&reading.problems);
            output.aside(format!("left out of all sheets: {}", left_out(&reading.problems)));
        } else {
            warn(&reading.problems, output);
        }
    }
    let written = run::bench_sheets(&reading, &wish, now)?;
    if asked.answer.json {
        output.json(&as_json(&written))?;
    } else {
        tell(&written, &wish, output)?;
    }
    // That nothing is open or differs is good news; that there is nothing at all is not.
    Ok(if written.sheets.is_empty() && wish.sorts.is_empty() { Ending::Problems } else { Ending::Done })
}

fn wish(asked: &Sheets, reading: &Reading) -> Result<SheetsWish, Complaint> {
    let connectors = asked.connector.iter().map(|typed| {
        let ends_there = connector_of(&reading.circuits, typed);
        ends_there.or_else(|| connector_moved_to(&reading.circuits, typed)).ok_or_else(|| Complaint::Typed {
            what: format!("no list names a connector `{typed}`"),
            remedy: near_connectors(reading, typed),
        })
    });
    let sorts = Sort::WORDS.iter().filter(|(word, _)| asked.only.iter().any(|typed| typed == word));
    let of_job = sorts.clone().find(|(_, sort)| !sort.takes_connectors());
    if let Some((word, _)) = of_job.filter(|_| !asked.connector.is_empty()) {
        return Err(Complaint::Typed {
            what: format!("`{word}` shows the whole job, and --connector names a part of it"),
            remedy: "leave one of the two out; faces, work-lists and fuses are made for connectors".to_owned(),
        });
    }
    let sorted_by = SortedBy::WORDS.iter().find(|(word, _)| *word == asked.sort).map(|(_, by)| *by);
    let paper = Paper::WORDS.iter().find(|(word, _)| *word == asked.paper).map(|(_, paper)| *paper);
    Ok(SheetsWish {
        shown: if asked.as_built { Shown::AsBuilt } else { Shown::Plan },
        charts: asked.charts.clone(),
        sorts: sorts.map(|(_, sort)| *sort).collect(),
        connectors: connectors.collect::<Result<_, _>>()?,
        paper: paper.unwrap_or_default(),
        out: asked.out.clone(),
        sorted_by: sorted_by.unwrap_or_default(),
        legend: legend_size(&asked.legend_size)?,
        pictures: asked.pictures.as_deref().map(|word| if word == "png" { Format::Png(DPI) } else { Format::Svg }),
    })
}

/// A size that words have room on.
fn legend_size(typed: &str) -> Result<Size, Complaint> {
    let (width, height) = pair(typed, 'x', "legend-size", "140x90")?;
    let size = Size::new(Length::mm(width), Length::mm(height));
    if size.width < fuses::LEAST_FACE.width || size.height < fuses::LEAST_FACE.height {
        let least = fuses::LEAST_FACE;
        return Err(Complaint::Typed {
            what: format!("a fuse legend of `{typed}` mm is too small to be read"),
            remedy: format!("it has at least {:.0} x {:.0} mm", least.width.as_mm(), least.height.as_mm()),
        });
    }
    Ok(size)
}

/// The connectors that may have been meant.
pub(super) fn near_connectors(reading: &Reading, typed: &str) -> String {
    let ends = reading.circuits.all().iter().flat_map(|circuit| circuit.ends());
    let names: BTreeSet<&ConnectorId> = ends.map(|end| &end.place.connector).collect();
    did_you_mean_or_choose(typed, &names.into_iter().map(ConnectorId::as_str).collect::<Vec<_>>())
}

fn tell(written: &SheetsWritten, wish: &SheetsWish, output: &mut Output) -> Result<(), Complaint> {
    match (&written.sheets[..], &wish.sorts[..]) {
        ([], []) => output.line("no sheets: the lists name no end that they could show")?,
        ([], sorts) => {
            for sort in sorts {
                output.line(format!("no sheet: {}", sort.why_none()))?;
            }
        }
        _ => output.line(format!("{}: {}", written.path.display(), counted(written.pages(), "page")))?,
    }
    for (title, sort, pages) in &written.sheets {
        output.line(format!("  {sort}: {title}, {}", counted(*pages, "page")))?;
    }
    if let Some(folder) = written.pictures.first().and_then(|path| path.parent()) {
        output.line(format!("{}: {}", folder.display(), counted(written.pictures.len(), "picture")))?;
    }
    if !written.differences.is_empty() {
        let counted = Group::ALL.into_iter().filter_map(|group| {
            let count = written.differences.iter().filter(|difference| difference.group == group).count();
            (count > 0).then(|| format!("{count} {}", group.word()))
        });
        output.line(format!("differences to the plan: {}", counted.collect::<Vec<_>>().join(", ")))?;
    }
    if let Some(charts) = &written.charts {
        output.line(format!("{}: {}", charts.folder.display(), counted(charts.files.len(), "file")))?;
        for untold in &charts.untold {
            output.aside(format!("not in the charts: {untold}"));
        }
        output.line("your own lists are as they were; a row that you put right there keeps its code and letter")?;
        output.line(
            "a job that is begun from these charts gives its own codes, unless it has this job's register first: \
             `loomtag export` here, `loomtag import` there, then `tags`",
        )?;
    }
    Ok(())
}

fn difference(difference: &Difference) -> serde_json::Value {
    let notes = difference.notes.iter().map(|(number, at)| json!({ "number": number, "at": at.to_string() }));
    json!({
        "group": difference.group.word(),
        "tag": difference.tag,
        "circuit": difference.circuit.as_ref().map(ToString::to_string),
        "planned": difference.planned,
        "is": difference.is,
        "notes": notes.collect::<Vec<_>>(),
        "row": difference.origin.as_ref().map(ToString::to_string),
        "put_right": difference.put_right,
    })
}

fn as_json(written: &SheetsWritten) -> serde_json::Value {
    let sheet =
        |(title, sort, pages): &(String, String, usize)| json!({ "title": title, "sort": sort, "pages": pages });
    json!({
        "file": (!written.sheets.is_empty()).then_some(&written.path),
        "pages": written.pages(),
        "sheets": written.sheets.iter().map(sheet).collect::<Vec<_>>(),
        "pictures": written.pictures,
        "differences": written.differences.iter().map(difference).collect::<Vec<_>>(),
        "charts": written.charts.as_ref().map(|charts| json!({
            "folder": charts.folder,
            "files": charts.files.iter().map(|(name, rows)| json!({ "name": name, "rows": rows })).collect::<Vec<_>>(),
            "untold": charts.untold,
        })),
    })
}
