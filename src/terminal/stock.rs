//! `stock`: the stocks that come with the program.

use serde_json::json;

use super::Ending;
use super::args::Stock as Asked;
use super::complaint::Complaint;
use super::output::Output;
use super::table::table;
use crate::base::Purpose;
use crate::pages::{self, Geometry, Stock};

/// Lists all stocks, or shows the file of one: a pattern for stocks of one's own.
pub fn run(asked: &Asked, output: &mut Output) -> Result<Ending, Complaint> {
    if let Some(name) = &asked.name {
        let known = pages::builtin().iter().find(|(known, _)| known == name);
        let (_, text) = known.ok_or_else(|| Complaint::Typed {
            what: format!("there is no stock `{name}`"),
            remedy: "`loomtag stock` lists them all".to_owned(),
        })?;
        output.line(text.trim_end())?;
        return Ok(Ending::Done);
    }
    let stocks: Vec<Stock> = pages::builtin().iter().filter_map(|(name, _)| Stock::builtin(name)).collect();
    if asked.json {
        let all: Vec<_> = stocks
            .iter()
            .map(|stock| json!({ "name": stock.name(), "what": shape(stock), "for": purposes(stock) }))
            .collect();
        output.json(&all)?;
        return Ok(Ending::Done);
    }
    let rows: Vec<Vec<String>> = stocks
        .iter()
        .map(|stock| vec![stock.name().to_owned(), shape(stock), purposes(stock), printers(stock)])
        .collect();
    for line in table(&["name", "what", "tags", "printers"], &rows) {
        output.line(line)?;
    }
    output.line("")?;
    output.line("`loomtag stock NAME` shows a file; put one of your own as stock/NAME.toml into the job folder")?;
    Ok(Ending::Done)
}

fn shape(stock: &Stock) -> String {
    let shape = match stock.geometry() {
        Geometry::Sheet(sheet) => {
            let slice = sheet.slice();
            let split =
                if sheet.split() > 1 { format!(", each label cut in {}", sheet.split()) } else { String::new() };
            format!("{} tags of {} x {} a sheet{split}", sheet.places(), slice.width, slice.height)
        }
        Geometry::Roll(roll) => format!("roll of {} x {}", roll.label().width, roll.label().height),
        Geometry::Tube(tube) => format!("{} tube, {} pieces", tube.size().name, tube.piece()),
        Geometry::Paper(page) => format!("strips cut from {} x {}", page.width, page.height),
    };
    format!("{shape}{}", stock.form())
}

fn purposes(stock: &Stock) -> String {
    let good = [Purpose::Work, Purpose::Final].into_iter().filter(|&purpose| stock.is_good_for(purpose));
    good.map(|purpose| purpose.to_string()).collect::<Vec<_>>().join(", ")
}

fn printers(stock: &Stock) -> String {
    stock.printers().iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
