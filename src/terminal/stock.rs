//! `stock`: what tags are printed on, listed, shown and drawn.

use std::path::Path;

use jiff::Timestamp;
use serde_json::json;

use super::args::Answer;
use super::complaint::Complaint;
use super::output::Output;
use super::stock_args::{Stock as Asked, StockNew, StockShow, StockVerb};
use super::table::table;
use super::{Ending, picture, sheets, trial};
use crate::base::nearest::did_you_mean_or_choose;
use crate::base::{Checked, Purpose, Source};
use crate::layout::text::{self, Fonts};
use crate::pages::{Geometry, LabelForm, Labels, Stock, drawing};
use crate::run::new_stock::{Measured, NewStock, new_stock};
use crate::run::picture::{Format, write_page};
use crate::run::{Template, TemplateFile, Whose, sample};

/// Drawings of whole sheets are no finer: they are looked at.
const MOST_DRAWN_DPI: u16 = 200;

/// Lists all stocks, or shows one: its file, a pattern for stocks of one's own, or a tag on it; or tells of sheets of labels.
pub fn run(job: &Path, asked: &Asked, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    match &asked.what {
        None => list(job, asked.answer, output),
        Some(StockVerb::List(answer)) => list(job, *answer, output),
        Some(StockVerb::Show(asked)) => show(job, asked, output),
        Some(StockVerb::New(asked)) => new(job, asked, output),
        Some(StockVerb::Trial(asked)) => trial::write(job, asked, output),
        Some(StockVerb::Measured(asked)) => trial::measured(job, asked, output),
        Some(StockVerb::Sheets(asked)) => sheets::list(job, asked, output),
        Some(StockVerb::Spoilt(asked)) => sheets::spoil(job, asked, now, output),
        Some(StockVerb::Gone(asked)) => sheets::gone(job, asked, now, output),
        Some(StockVerb::Unprinted(asked)) => sheets::unprinted(job, asked, now, output),
    }
}

fn list(job: &Path, answer: Answer, output: &mut Output) -> Result<Ending, Complaint> {
    let (mut stocks, mut found) = (Vec::new(), Vec::new());
    for file in Template::Stock.all(job)? {
        let read = read(&file);
        found.extend(read.problems);
        stocks.extend(read.value.map(|stock| (file, stock)));
    }
    let ending = if found.is_empty() { Ending::Done } else { Ending::Problems };
    if answer.json {
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
    if let Some(path) = &asked.draw {
        return draw(&file, path, asked.dpi, output);
    }
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

/// Draws the stock itself.
fn draw(file: &TemplateFile, path: &Path, dpi: u16, output: &mut Output) -> Result<Ending, Complaint> {
    let end = path.extension().map(|end| end.to_string_lossy().to_ascii_lowercase());
    let format = match end.as_deref() {
        Some("png") => Format::Png(dpi.min(MOST_DRAWN_DPI)),
        Some("svg") => Format::Svg,
        Some("pdf") => Format::Pdf,
        _ => {
            return Err(Complaint::Typed {
                what: format!("`{}` is no name of a drawing", path.display()),
                remedy: "name a file that ends in .png, .svg or .pdf".to_owned(),
            });
        }
    };
    let read = read(file);
    output.problems(&read.problems);
    let Some(stock) = read.value else { return Ok(Ending::Problems) };
    let fonts = Fonts::new();
    let page = drawing(&stock, &|size, words| text::caption(&fonts, size, words));
    write_page(&page, stock.name(), format, &[], path)?;
    output.line(format!("{}: {}", path.display(), shape(&stock)))?;
    Ok(Ending::Done)
}

/// Writes the file of a stock of one's own.
fn new(job: &Path, asked: &StockNew, output: &mut Output) -> Result<Ending, Complaint> {
    let measured = measured(asked)?;
    match new_stock(job, &measured)? {
        NewStock::Written(path, stock) => {
            output.line(format!("{}: {}", path.display(), shape(&stock)))?;
            let key = match (stock.tube(), stock.form(0)) {
                (Some(_), _) => format!("tubes = [\"{}\"]", stock.name()),
                (None, LabelForm::Wrap { .. }) => format!("wrap_stock = \"{}\"", stock.name()),
                (None, _) => format!("work_stock = \"{}\"", stock.name()),
            };
            output.line(format!("to print on it, write into [tags] of job.toml: {key}"))?;
            output.line(format!(
                "`loomtag stock trial {0}` tells whether it was measured right; `loomtag stock show {0} --draw {0}.png` draws it",
                stock.name()
            ))?;
            Ok(Ending::Done)
        }
        NewStock::Problems(problems) => {
            output.problems(&problems);
            output.aside("nothing was written: measure once more");
            Ok(Ending::Problems)
        }
        NewStock::Exists(path) => Err(Complaint::Typed {
            what: format!("`{}` is there already and is not written over", path.display()),
            remedy: "change that file, or choose another name".to_owned(),
        }),
    }
}

/// The settings of a stock file that the flags say.
fn measured(asked: &StockNew) -> Result<Measured, Complaint> {
    let quoted = |word: &str| format!("\"{word}\"");
    let printers = match (&asked.printers[..], &asked.page) {
        ([], Some(_)) => vec!["laser".to_owned(), "inkjet".to_owned()],
        ([], None) => vec!["thermal-transfer".to_owned()],
        (named, _) => named.to_vec(),
    };
    let printers = printers.iter().map(|kind| quoted(kind)).collect::<Vec<_>>().join(", ");
    let face = if asked.tube.is_some() { "tube" } else { &asked.face };
    let good_for = if asked.tube.is_some() { "final" } else { "work" };
    let mut top = Vec::new();
    if asked.tube.is_none() {
        top.push(("thickness", asked.thickness.to_string()));
    }
    top.extend([
        ("face", quoted(face)),
        ("printers", format!("[{printers}]")),
        ("good-for", format!("[{}]", quoted(good_for))),
    ]);
    let labels = |size: (f64, f64)| vec![("width", size.0.to_string()), ("height", size.1.to_string())];
    let print = asked.print.map(|print| ("print", print.to_string()));
    let (geometry, tables) = if let Some(tube) = &asked.tube {
        let (expanded, recovered) = pair(tube, '/', "tube", "3.2/1.6")?;
        let size = quoted(&format!("{expanded}/{recovered} mm"));
        let tube = vec![
            ("size", size),
            ("expanded", expanded.to_string()),
            ("recovered", recovered.to_string()),
            ("recovered-wall", asked.wall.to_string()),
            ("piece", asked.piece.to_string()),
        ];
        ("tube", vec![("tube", tube)])
    } else if let Some(roll) = &asked.roll {
        let mut label = labels(pair(roll, 'x', "roll", "62x29")?);
        label.extend(print);
        ("roll", vec![("label", label)])
    } else {
        let page = match asked.page.as_deref().unwrap_or_default().to_ascii_lowercase().as_str() {
            "a4" => (210.0, 297.0),
            "letter" => (215.9, 279.4),
            other => pair(other, 'x', "page", "210x297")?,
        };
        let mut group = labels(pair(asked.label.as_deref().unwrap_or_default(), 'x', "label", "64x34")?);
        let whole = |count: Option<u32>| count.unwrap_or(1).to_string();
        group.extend([("columns", whole(asked.columns)), ("rows", whole(asked.rows))]);
        let told = [("left", asked.left), ("top", asked.top), ("pitch-x", asked.pitch_x), ("pitch-y", asked.pitch_y)];
        group.extend(told.into_iter().filter_map(|(key, value)| Some((key, value?.to_string()))));
        group.extend(asked.split.map(|split| ("split", split.to_string())));
        group.extend(asked.cut_lines.then(|| ("cut", quoted("lines"))));
        group.extend(print);
        ("sheet", vec![("page", labels(page)), ("labels", group)])
    };
    Ok(Measured { name: asked.name.clone(), geometry, top, tables })
}

/// Two lengths, in mm or with a decimal comma.
pub(super) fn pair(typed: &str, between: char, flag: &str, example: &str) -> Result<(f64, f64), Complaint> {
    let number = |text: &str| text.trim().trim_end_matches("mm").trim_end().replace(',', ".").parse::<f64>().ok();
    let both = typed.split_once(between).and_then(|(one, other)| Some((number(one)?, number(other)?)));
    both.filter(|(one, other)| one.is_finite() && other.is_finite()).ok_or_else(|| Complaint::Typed {
        what: format!("`--{flag}` cannot be `{typed}`"),
        remedy: format!("two lengths in mm are wanted, such as `{example}`"),
    })
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
