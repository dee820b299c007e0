//! `stock`: what tags are printed on, listed, shown and drawn.

use std::path::Path;

use jiff::Timestamp;
use serde_json::json;

use super::args::{Stock as Asked, StockShow, StockVerb};
use super::complaint::Complaint;
use super::output::Output;
use super::table::table;
use super::{Ending, picture, sheets, trial};
use crate::base::nearest::did_you_mean_or_choose;
use crate::base::{Checked, Purpose, Source};
use crate::pages::{Geometry, Labels, Stock};
use crate::run::{Template, TemplateFile, Whose, sample};

/// Lists all stocks, or shows one: its file, a pattern for stocks of one's own, or a tag on it; or tells of sheets of labels.
pub fn run(job: &Path, asked: &Asked, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    match &asked.what {
        None => list(job, asked.list.json, output),
        Some(StockVerb::List(asked)) => list(job, asked.json, output),
        Some(StockVerb::Show(asked)) => show(job, asked, output),
        Some(StockVerb::Trial(asked)) => trial::write(job, asked, output),
        Some(StockVerb::Measured(asked)) => trial::measured(job, asked, output),
        Some(StockVerb::Sheets(asked)) => sheets::list(job, asked, output),
        Some(StockVerb::Spoilt(asked)) => sheets::spoil(job, asked, now, output),
        Some(StockVerb::Gone(asked)) => sheets::gone(job, asked, now, output),
        Some(StockVerb::Unprinted(asked)) => sheets::unprinted(job, asked, now, output),
    }
}

fn list(job: &Path, json: bool, output: &mut Output) -> Result<Ending, Complaint> {
    let (mut stocks, mut found) = (Vec::new(), Vec::new());
    for file in Template::Stock.all(job)? {
        let read = read(&file);
        found.extend(read.problems);
        stocks.extend(read.value.map(|stock| (file, stock)));
    }
    let ending = if found.is_empty() { Ending::Done } else { Ending::Problems };
    if json {
        let all: Vec<_> = stocks
            .iter()
            .map(|(file, stock)| {
                let own = file.whose == Whose::Job;
                json!({ "name": file.name, "what": shape(stock), "for": purposes(stock), "own": own })
            })
            .collect();
        output.json(&all)?;
        return Ok(ending);
    }
    output.problems(&found);
    let name = |file: &TemplateFile| match file.whose {
        Whose::Job => format!("{} (own)", file.name),
        Whose::Program => file.name.clone(),
    };
    let rows: Vec<Vec<String>> =
        stocks.iter().map(|(file, stock)| vec![name(file), shape(stock), purposes(stock), printers(stock)]).collect();
    for line in table(&["name", "what", "tags", "printers"], &rows) {
        output.line(line)?;
    }
    output.line("")?;
    output.line(
        "`loomtag stock show NAME` shows a file; put one of your own as stock/NAME.toml into the job folder, and \
         `loomtag stock show NAME --png FILE` draws a tag on it",
    )?;
    Ok(ending)
}

fn show(job: &Path, asked: &StockShow, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(file) = Template::Stock.named(job, &asked.name)? else {
        let files = Template::Stock.all(job)?;
        let known: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        return Err(Complaint::Typed {
            what: format!("there is no stock `{}`", asked.name),
            remedy: format!("{}; `loomtag stock` lists them all", did_you_mean_or_choose(&asked.name, &known)),
        });
    };
    let Some(path) = &asked.png else {
        output.line(file.text.trim_end())?;
        return Ok(Ending::Done);
    };
    picture::must_end_in_png(path)?;
    let read = read(&file);
    output.problems(&read.problems);
    let Some(stock) = read.value else { return Ok(Ending::Problems) };
    match sample::draw(&stock, asked.dpi, path)? {
        Ok(sample) => {
            output.line(picture::drawn_line(path, &sample.facts, sample.drawn, asked.dpi))?;
            Ok(Ending::Done)
        }
        Err(refusal) => {
            output.line(format!("no tag on `{}`: {refusal}", asked.name))?;
            Ok(Ending::Problems)
        }
    }
}

fn read(file: &TemplateFile) -> Checked<Option<Stock>> {
    Stock::from_toml(&Source::new(file.file.clone(), file.text.clone()))
}

fn shape(stock: &Stock) -> String {
    match stock.geometry() {
        Geometry::Sheet(sheet) => {
            let one = |(at, labels): (usize, &Labels)| {
                let (slice, places) = (labels.slice(), sheet.places_of(at).len());
                let split =
                    if labels.split() > 1 { format!(", each label cut in {}", labels.split()) } else { String::new() };
                format!("{places} tags of {} x {} a sheet{split}{}", slice.width, slice.height, labels.form())
            };
            sheet.groups().iter().enumerate().map(one).collect::<Vec<_>>().join("; ")
        }
        Geometry::Roll(roll) => {
            format!("roll of {} x {}{}", roll.label().width, roll.label().height, roll.form())
        }
        Geometry::Tube(tube) => format!("{} tube, {} pieces", tube.size().name, tube.piece()),
        Geometry::Paper(page) => format!("strips cut from {} x {}", page.width, page.height),
    }
}

fn purposes(stock: &Stock) -> String {
    let good = [Purpose::Work, Purpose::Final].into_iter().filter(|&purpose| stock.is_good_for(purpose));
    good.map(|purpose| purpose.to_string()).collect::<Vec<_>>().join(", ")
}

fn printers(stock: &Stock) -> String {
    stock.printers().iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
