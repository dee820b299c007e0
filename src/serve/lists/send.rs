//! Files from a browser -> drafts. Nothing of the job changes.

use axum::extract::multipart::MultipartError;
use axum::extract::{Form, Multipart, Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;

use super::table;
use crate::circuits::LARGEST_FILE;
use crate::run::taking::{self, Sent, Wish};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::fields::Fields;
use crate::serve::kept::or_again;
use crate::serve::trouble::Trouble;

/// Most files at once.
const MOST_FILES: usize = 12;

/// Several files, as a form with a field for files sends them.
pub async fn files(State(desk): State<Desk>, visitor: Visitor, mut form: Multipart) -> Response {
    let mut sent: Vec<(String, Vec<u8>)> = Vec::new();
    let mut instead = None;
    loop {
        let field = match form.next_field().await {
            Ok(Some(field)) => field,
            Ok(None) => break,
            Err(error) => return not_whole(&error).on(&desk),
        };
        let (name, file) = (field.name().unwrap_or_default().to_owned(), field.file_name().map(str::to_owned));
        let bytes = match field.bytes().await {
            Ok(bytes) => bytes.to_vec(),
            Err(error) => return not_whole(&error).on(&desk),
        };
        match (name.as_str(), file) {
            // A browser sends one without a name where none was chosen.
            ("file", Some(file)) if !file.is_empty() || !bytes.is_empty() => sent.push((file, bytes)),
            ("instead", _) => instead = String::from_utf8(bytes).ok().filter(|file| !file.is_empty()),
            _ => {}
        }
        if sent.len() > MOST_FILES {
            let what = format!("more than {MOST_FILES} files at once are not taken");
            return Trouble::refused(what, "send them in several goes").on(&desk);
        }
    }
    desk.work(move |desk| drafts(desk, &visitor, sent, instead)).await
}

fn not_whole(error: &MultipartError) -> Trouble {
    match error.status().as_u16() {
        413 => {
            let what = format!("these files are larger than {} MiB together", LARGEST_FILE >> 20);
            Trouble::refused(what, "send fewer at once, or split the list")
        }
        _ => Trouble::refused("the files did not arrive whole", "send them again"),
    }
}

/// Cells copied from a spreadsheet, that were pasted into the page.
pub async fn pasted(State(desk): State<Desk>, visitor: Visitor, Form(fields): Form<Fields>) -> Response {
    desk.work(move |desk| {
        let (name, cells) = (fields.given("name").unwrap_or("pasted.csv"), fields.sent("cells").unwrap_or_default());
        let came = match cells.trim() {
            "" => Err(Trouble::refused("nothing was pasted", "copy the cells, headers included, and paste them")),
            _ => drafts(desk, &visitor, vec![(name.to_owned(), cells.as_bytes().to_vec())], None),
        };
        let action = desk.link("/lists/-/paste");
        or_again(came, (desk, &visitor), (&action, &fields), |screen| Ok(table::shown(screen)))
    })
    .await
}

/// A list that was put aside when another took its place.
#[derive(Deserialize)]
pub struct Kept {
    kept: String,
}

/// A list as it was before, to be put back: a draft as any.
pub async fn put_back(State(desk): State<Desk>, Form(Kept { kept }): Form<Kept>) -> Response {
    desk.look(move |desk, job| {
        let job = &job.reading.job;
        let gone = || Trouble::NotFound(format!("there is no list `{kept}` that was put aside"));
        let sent = taking::put_back(job, &kept)?.ok_or_else(gone)?;
        // Where the list is still there, this one comes in its place.
        let instead = job.list_names().map(|name| &name.value).find(|name| **name == sent.name).cloned();
        let wish = Wish::first(job, sent, instead);
        let id = desk.shared().drafts.add(desk.folder(), wish, desk.now()).map_err(|_| Trouble::Broken)?;
        Ok(Redirect::to(&desk.link(&format!("/lists/-/{id}"))))
    })
    .await
}

/// What a file is that can be no list, by how it begins (the signatures of PNG, JPEG, GIF, WebP and PDF as their standards have them).
fn no_list(bytes: &[u8]) -> Option<&'static str> {
    let pictures: [&[u8]; 4] = [b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"GIF8", b"RIFF"];
    if bytes.starts_with(b"%PDF-") {
        return Some("a PDF");
    }
    let is_picture =
        |start: &&[u8]| bytes.starts_with(start) && (**start != *b"RIFF" || bytes.get(8..12) == Some(b"WEBP"));
    pictures.iter().any(is_picture).then_some("a picture")
}

fn drafts(
    desk: &Desk,
    visitor: &Visitor,
    sent: Vec<(String, Vec<u8>)>,
    instead: Option<String>,
) -> Result<Response, Trouble> {
    let held = desk.snapshot()?;
    let job = &held.reading.job;
    let mut last = None;
    let count = sent.len();
    if let Some((name, sort)) = sent.iter().find_map(|(name, bytes)| Some((name, no_list(bytes)?))) {
        let what = format!("`{name}` is {sort}, not a list: nothing was kept of what was sent");
        return Err(Trouble::refused(what, "send a spreadsheet (.xlsx, .ods) or a list in text form (.csv)"));
    }
    for (name, bytes) in sent {
        let wish = Wish::first(job, Sent::new(desk.folder(), &name, bytes), instead.clone());
        last = Some(desk.shared().drafts.add(desk.folder(), wish, desk.now()).map_err(|_| Trouble::Broken)?);
    }
    match last {
        None => Err(Trouble::refused("no file was chosen", "choose one or several, or drop them on the page")),
        Some(id) if count == 1 => Ok(Redirect::to(&desk.link(&format!("/lists/-/{id}"))).into_response()),
        Some(_) => {
            visitor.tell(format!("{count} files were sent: look at each before it is taken"));
            Ok(Redirect::to(&desk.link("/lists")).into_response())
        }
    }
}

/// A list of the job, to be read otherwise.
pub async fn of_job(State(desk): State<Desk>, Path(file): Path<String>) -> Response {
    desk.look(move |desk, job| {
        let job = &job.reading.job;
        let sent =
            Sent::of_job(job, &file).ok_or_else(|| Trouble::NotFound(format!("the job has no list `{file}`")))?;
        let wish = Wish::first(job, sent, None);
        let id = desk.shared().drafts.add(desk.folder(), wish, desk.now()).map_err(|_| Trouble::Broken)?;
        Ok(Redirect::to(&desk.link(&format!("/lists/-/{id}"))).into_response())
    })
    .await
}
