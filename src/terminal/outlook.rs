//! `check --with`: what would change with another list. Nothing is written.

use std::path::Path;

use super::Ending;
use super::args::Check;
use super::complaint::Complaint;
use super::output::Output;
use super::problems::one_line;
use crate::base::counted;
use crate::base::problem::has_errors;
use crate::run::difference::Changes;
use crate::run::outlook::{Outlook, outlook};
use crate::run::taking::{Sent, Wish};
use crate::run::{Reading, read_with};

/// As many of one sort are told one by one; of more, the others are counted.
const TOLD: usize = 40;

/// Compares and tells.
pub fn run(reading: &Reading, path: &Path, asked: &Check, output: &mut Output) -> Result<Ending, Complaint> {
    let job = &reading.job;
    let sent = Sent::from_disk(job.folder(), path)?;
    let is_list = |file: &String| job.list_names().any(|name| name.value == *file);
    if let Some(unknown) = asked.instead.as_ref().filter(|file| !is_list(file)) {
        let names: Vec<&str> = job.list_names().map(|name| name.value.as_str()).collect();
        let remedy = crate::base::nearest::did_you_mean_or_choose(unknown, &names);
        return Err(Complaint::Typed { what: format!("the job has no list `{unknown}`"), remedy });
    }
    let wish = Wish::first(job, sent, asked.instead.clone());
    let overlay = wish.overlay(job).map_err(|why| Complaint::Typed { what: why.what, remedy: why.remedy })?;
    let read = read_with(job.folder(), &overlay)?;
    let Some(after) = read.value else {
        output.problems(&read.problems);
        return Ok(Ending::Problems);
    };
    let found = outlook(reading, &after)?;
    for line in lines(&found, asked) {
        output.line(line)?;
    }
    output.line(format!(
        "nothing was written; `loomtag serve` takes lists, or put `{}` into the job folder",
        wish.sent.name
    ))?;
    Ok(if has_errors(&found.difference.new_problems) { Ending::Problems } else { Ending::Done })
}

fn lines(found: &Outlook, asked: &Check) -> Vec<String> {
    let Outlook { difference, stale, left, due, refused, likely, .. } = found;
    if found.is_empty() {
        return vec!["nothing would change".to_owned()];
    }
    let mut lines = Vec::new();
    for (what, changes) in
        [("circuit", &difference.circuits), ("end", &difference.ends), ("connector", &difference.connectors)]
    {
        if changes.is_empty() {
            continue;
        }
        let Changes { new, gone, changed } = changes;
        lines.push(format!("{what}s: {} new, {} changed, {} gone", new.len(), changed.len(), gone.len()));
        if !asked.brief {
            lines.extend(one_by_one(changes));
        }
    }
    let tags = stale.len() + left.iter().map(|left| left.tags.len()).sum::<usize>();
    if tags > 0 {
        lines.push(format!("{} on wires would no longer be true", counted(tags, "tag")));
    }
    if due.0 != due.1 {
        lines.push(format!("{} would be new or changed; {} are now", counted(due.1, "tag"), due.0));
    }
    if !refused.is_empty() {
        lines.push(format!("{} of them cannot be made", refused.len()));
        lines.extend(refused.iter().take(TOLD).map(|why| format!("  {why}")));
    }
    if difference.some_wait {
        lines.push("some checks wait until the errors are mended".to_owned());
    }
    for (words, problems) in [("come", &difference.new_problems), ("go", &difference.gone_problems)] {
        if !problems.is_empty() {
            lines.push(format!("problems that would {words}: {}", problems.len()));
        }
    }
    let told: Vec<_> = likely.iter().chain(&difference.new_problems).take(TOLD).cloned().collect();
    lines.extend(one_line(&told).lines().map(|line| format!("  {line}")));
    lines
}

fn one_by_one(changes: &Changes) -> Vec<String> {
    let changed = changes.changed.iter().map(|changed| {
        let said = |said: &str| if said.is_empty() { "nothing".to_owned() } else { said.to_owned() };
        let facts =
            changed.facts.iter().map(|fact| format!("{} {} -> {}", fact.what, said(&fact.before), said(&fact.after)));
        format!("  ~ {}: {}", changed.name, facts.collect::<Vec<_>>().join("; "))
    });
    let gone = changes.gone.iter().map(|gone| format!("  - {}: {}", gone.name, gone.words));
    let new = changes.new.iter().map(|new| format!("  + {}: {}", new.name, new.words));
    let mut lines: Vec<String> = changed.chain(gone).chain(new).take(TOLD).collect();
    if changes.count() > TOLD {
        lines.push(format!("  and {} more", changes.count() - TOLD));
    }
    lines
}
