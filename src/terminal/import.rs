//! `import`: the register put together again, and what that took.

use std::path::Path;

use jiff::Timestamp;
use serde_json::json;

use super::args::Import;
use super::complaint::Complaint;
use super::output::Output;
use super::{Ending, problems};
use crate::base::counted;
use crate::run;
use crate::run::import::Imported;

/// Imports and tells.
pub fn run(job: &Path, asked: &Import, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let read = run::import(job, &asked.from, now)?;
    let Some(imported) = read.value else {
        if asked.answer.json {
            output.json(&json!({ "problems": problems::records(&read.problems) }))?;
        } else {
            output.problems(&read.problems);
            output.aside("nothing was changed");
        }
        return Ok(Ending::Problems);
    };
    if asked.answer.json {
        let learnt = imported.learnt.iter().map(
            |(path, run, learnt)| json!({ "file": path, "run": run, "codes": learnt.codes, "letters": learnt.letters }),
        );
        output.json(&json!({
            "changed": imported.is_changed,
            "aside": imported.aside.as_ref().map(|(path, _)| path),
            "export": imported.export.as_ref().map(|(path, _)| path),
            "runs_learnt": learnt.collect::<Vec<_>>(),
            "codes": imported.codes,
            "runs": imported.runs,
            "left_out": imported.left_out,
            "next": imported.next.map(|code| code.to_string()),
            "problems": problems::records(&read.problems),
        }))?;
    } else {
        output.problems(&read.problems);
        for line in lines(&imported) {
            output.line(line)?;
        }
    }
    Ok(if read.problems.is_empty() { Ending::Done } else { Ending::Problems })
}

fn lines(imported: &Imported) -> Vec<String> {
    let holds = format!("{}, {}", counted(imported.codes, "code"), counted(imported.runs, "print run"));
    if !imported.is_changed {
        return vec![format!("nothing to do: register.db is in order and holds {holds}")];
    }
    let mut lines = Vec::new();
    if let Some((aside, what)) = &imported.aside {
        lines.push(format!("register.db was damaged ({what}); it lies as `{}` now", aside.display()));
    }
    match &imported.export {
        Some((folder, time)) => lines.push(format!("read the export `{}` of {time:.0}", folder.display())),
        None => lines.push("no export was read".to_owned()),
    }
    for (path, run, learnt) in &imported.learnt {
        let more = format!("{} and {}", counted(learnt.codes, "new code"), counted(learnt.letters, "new letter"));
        lines.push(format!("learnt of run {run} from `{}`: {more}", path.display()));
    }
    if imported.known > 0 {
        lines.push(format!("{} told nothing new", counted(imported.known, "run.json file")));
    }
    lines.push(format!("register.db holds {holds}"));
    if !imported.learnt.is_empty() {
        lines.push(
            "what was noted, joined, renamed or assigned since the last export and not printed again is not known"
                .to_owned(),
        );
    }
    if imported.left_out > 0 {
        lines.push(format!(
            "{} left out, because they may have been issued already and are not known",
            match imported.left_out {
                1 => "1 code is".to_owned(),
                many => format!("{many} codes are"),
            }
        ));
    }
    if let Some(next) = imported.next {
        lines.push(format!("the next code is {next}"));
    }
    lines
}
