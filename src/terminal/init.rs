//! `init`: begins a job folder, and shows how its lists were understood.

use std::path::Path;

use serde_json::{Value, json};

use super::args::Init;
use super::complaint::Complaint;
use super::output::Output;
use super::table::{table, wrapped};
use super::{Ending, problems};
use crate::base::{Problem, counted};
use crate::circuits::{Form, Looked};
use crate::run;
use crate::run::init::{self, Beginning, NewJob};
use crate::run::proposal::{Proposal, ProposedEnd, in_words, mapped, unit_words};

/// Writes the folder, tells how its lists were understood and what is wrong in them, and what to do next.
pub fn run(job: &Path, asked: &Init, output: &mut Output) -> Result<Ending, Complaint> {
    let beginning = match (asked.example, asked.lists.is_empty()) {
        (true, _) => Beginning::Example,
        (false, true) => Beginning::Empty,
        (false, false) => Beginning::Lists(&asked.lists),
    };
    let new = init::init(job, beginning)?;
    // The job is written whatever is wrong in its lists; `check` tells the same again.
    let found = if new.lists.is_empty() {
        Vec::new()
    } else {
        let read = run::read(&new.folder)?;
        read.value.map_or(read.problems, |reading| reading.problems)
    };
    if asked.answer.json {
        let lists: Vec<Value> = new.lists.iter().map(list_json).collect();
        output.json(&json!({
            "folder": new.folder.display().to_string(),
            "written": new.written,
            "found": new.found,
            "lock_files": new.lock_files,
            "lists": lists,
            "problems": problems::records(&found),
        }))?;
        return Ok(Ending::Done);
    }
    tell(&new, output)?;
    // Columns that are not read have been told list by list.
    let of_lists = |problem: &Problem| problem.id == "unused-column" && problem.origin.is_some();
    let others: Vec<Problem> = found.into_iter().filter(|problem| !of_lists(problem)).collect();
    output.problems(&others);
    let folder = if job == Path::new(".") { String::new() } else { format!(" --job {}", job.display()) };
    output.line(format!("next: loomtag check{folder}, then loomtag tags{folder}"))?;
    Ok(Ending::Done)
}

fn tell(new: &NewJob, output: &mut Output) -> Result<(), Complaint> {
    output.line(format!("wrote {} in {}", new.written.join(", "), new.folder.display()))?;
    if !new.found.is_empty() {
        output.line(format!("part of the job now: {}", new.found.join(", ")))?;
    }
    for name in &new.lock_files {
        output.line(format!(
            "left out: {name}, which a spreadsheet program keeps beside an open workbook: save and close it"
        ))?;
    }
    for list in &new.lists {
        output.line("")?;
        for line in list_lines(list) {
            output.line(line)?;
        }
    }
    if !new.lists.is_empty() {
        output.line("")?;
        output.line("what was not read, or not rightly, can be said in job.toml: its lines explain themselves")?;
    }
    Ok(())
}

/// What a list was understood as, and its first ends.
fn list_lines(list: &Proposal) -> Vec<String> {
    let mut lines = understood_lines(list);
    if !list.sheets_not_read.is_empty() {
        let sheets = list.sheets_not_read.join(", ");
        lines.push(String::new());
        lines.extend(wrapped(&format!("{}: hidden, or no lists: {sheets}", list.file), 4));
    }
    lines
}

fn understood_lines(list: &Proposal) -> Vec<String> {
    const INDENT: usize = 4;
    let Some(looked) = &list.looked else { return vec![format!("{}: cannot be read as it is", list.file)] };
    let name = match &looked.sheet {
        Some(sheet) => format!("{}, sheet {sheet}", list.file),
        None => list.file.clone(),
    };
    let mut lines = vec![format!("{name}: {}", in_words(looked))];
    let mut tell = |words: &str, facts: Vec<String>| {
        if !facts.is_empty() {
            lines.extend(wrapped(&format!("  {words} {}", facts.join(", ")), INDENT));
        }
    };
    let plain = |header: &str| header.split_whitespace().collect::<Vec<_>>().join(" ");
    tell("read:", looked.read.iter().map(|(header, column)| mapped(header, " as ", column)).collect());
    let unread = looked.unread.iter().map(|(header, guess)| match guess {
        Some(guess) => format!("{} (as {guess}?)", plain(header)),
        None => plain(header),
    });
    tell("not read:", unread.collect());
    if let Some(connector) = &list.connector {
        tell("connector:", vec![format!("{connector}, as its name says; put it right in job.toml if it is another")]);
    } else if looked.lacks_connector {
        tell("connector:", vec!["no column and no name tells which one it is: say so in job.toml".to_owned()]);
    }
    if looked.connector_above {
        tell(
            "connector:",
            vec!["rows that name none are taken for the one above (blank_connector in job.toml)".to_owned()],
        );
    }
    match looked.likely_unit().map(unit_words) {
        Some((unit, other)) => {
            tell(
                "size unit:",
                vec![format!("{unit}, as the bare numbers look; put it right in job.toml if they are {other}")],
            );
        }
        None if !looked.bare_sizes.is_empty() => {
            tell("size unit:", vec!["bare numbers may be mm² or AWG: say so in job.toml (size_unit)".to_owned()]);
        }
        None => {}
    }
    if list.ends.is_empty() {
        return lines;
    }
    lines.push(String::new());
    const HEADING: [&str; 7] = ["place", "circuit", "function", "colour", "size", "supply", "action"];
    let rows: Vec<Vec<String>> = list.ends.iter().map(row).collect();
    lines.extend(table(&HEADING, &rows).into_iter().map(|line| format!("  {line}")));
    let shown = list.ends.len();
    let all = match shown < list.count {
        true => format!("the first {shown} of {} as they are understood", counted(list.count, "end")),
        false => format!("{} as understood", counted(shown, "end")),
    };
    let without = if list.has_errors { "; rows with errors are left out" } else { "" };
    lines.push(format!("  {all}{without}"));
    lines
}

fn row(end: &ProposedEnd) -> Vec<String> {
    const LONGEST: usize = 30;
    let cell = |text: &String| match text.chars().count() <= LONGEST {
        true => text.clone(),
        false => text.chars().take(LONGEST - 1).chain(['…']).collect(),
    };
    let ProposedEnd { place, circuit, function, colour, size, supply, action } = end;
    [place, circuit, function, colour, size, supply, action].map(cell).to_vec()
}

fn list_json(list: &Proposal) -> Value {
    let end = |end: &ProposedEnd| {
        json!({
            "place": end.place,
            "circuit": end.circuit,
            "function": end.function,
            "colour": end.colour,
            "size": end.size,
            "supply": end.supply,
            "action": end.action,
        })
    };
    let looked = list.looked.as_ref();
    let columns = looked.map(|looked| {
        looked.read.iter().map(|(header, column)| json!({ "header": header, "column": column })).collect::<Vec<_>>()
    });
    let unread = looked.map(|looked| {
        looked.unread.iter().map(|(header, guess)| json!({ "header": header, "perhaps": guess })).collect::<Vec<_>>()
    });
    json!({
        "file": list.file,
        "sheet": looked.and_then(|looked| looked.sheet.as_ref()),
        "form": looked.map(|looked| if looked.form == Form::Chart { "chart" } else { "wire" }),
        "encoding": looked.and_then(|looked| looked.text).map(|(encoding, _)| encoding),
        "separator": looked.and_then(|looked| looked.text).map(|(_, separator)| separator),
        "rows": looked.map(|looked| looked.rows),
        "size_unit": looked.and_then(Looked::likely_unit).map(|unit| unit_words(unit).0),
        "connector": list.connector.as_ref().map(ToString::to_string),
        "columns": columns,
        "not_read": unread,
        "sheets_not_read": list.sheets_not_read,
        "ends": list.count,
        "first_ends": list.ends.iter().map(end).collect::<Vec<_>>(),
    })
}
