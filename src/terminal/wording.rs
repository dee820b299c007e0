//! `wording`: what tags say, listed and shown.

use std::path::Path;

use serde_json::json;

use super::Ending;
use super::args::{Answer, Wording as Asked, WordingShow, WordingVerb};
use super::complaint::Complaint;
use super::output::Output;
use super::table::table;
use crate::base::Source;
use crate::base::nearest::did_you_mean_or_choose;
use crate::labels::Wording;
use crate::run::{Template, TemplateFile, Whose};

/// Lists all wordings, or shows the file of one: a pattern for wordings of one's own.
pub fn run(job: &Path, asked: &Asked, output: &mut Output) -> Result<Ending, Complaint> {
    match &asked.what {
        None => list(job, asked.answer, output),
        Some(WordingVerb::List(answer)) => list(job, *answer, output),
        Some(WordingVerb::Show(asked)) => show(job, asked, output),
    }
}

fn list(job: &Path, answer: Answer, output: &mut Output) -> Result<Ending, Complaint> {
    let files = Template::Wording.all(job)?;
    if answer.json {
        let one =
            |file: &TemplateFile| json!({ "name": file.name, "what": what(file), "own": file.whose == Whose::Job });
        output.json(&files.iter().map(one).collect::<Vec<_>>())?;
        return Ok(Ending::Done);
    }
    let name = |file: &TemplateFile| match file.whose {
        Whose::Job => format!("{} (own)", file.name),
        Whose::Program => file.name.clone(),
    };
    let rows: Vec<Vec<String>> = files.iter().map(|file| vec![name(file), what(file).to_owned()]).collect();
    for line in table(&["name", "what"], &rows) {
        output.line(line)?;
    }
    output.line("")?;
    output.line(
        "`loomtag wording show NAME` shows a file; put one of your own as templates/NAME.toml into the job folder",
    )?;
    output.line("and name it in job.toml: [wording] flat = \"NAME\" (or round, connector, along, blank)")?;
    Ok(Ending::Done)
}

/// The first line of the file, where it is a comment.
fn what(file: &TemplateFile) -> &str {
    file.text.lines().next().and_then(|line| line.strip_prefix('#')).unwrap_or_default().trim()
}

fn show(job: &Path, asked: &WordingShow, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(file) = Template::Wording.named(job, &asked.name)? else {
        let files = Template::Wording.all(job)?;
        let known: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        return Err(Complaint::Typed {
            what: format!("there is no wording `{}`", asked.name),
            remedy: did_you_mean_or_choose(&asked.name, &known),
        });
    };
    output.line(file.text.trim_end())?;
    let problems = Wording::from_toml(&Source::new(file.file, file.text)).problems;
    output.problems(&problems);
    Ok(if problems.is_empty() { Ending::Done } else { Ending::Problems })
}
