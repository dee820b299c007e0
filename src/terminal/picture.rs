//! Pictures of tags, as they are told: where each lies, and what it shows.

use std::path::Path;

use super::complaint::Complaint;
use crate::base::TagKind;
use crate::layout::Facts;
use crate::run::picture::Drawn;

/// A picture's name must say that it is one, so that no list or job.toml is ever written over.
///
/// # Errors
/// What to type instead.
pub fn must_end_in_png(path: &Path) -> Result<(), Complaint> {
    if path.extension().is_some_and(|end| end.eq_ignore_ascii_case("png")) {
        return Ok(());
    }
    Err(Complaint::Typed {
        what: format!("`{}` is no name of a picture", path.display()),
        remedy: "name a file that ends in .png".to_owned(),
    })
}

/// `flag.png: flag of 63.5 mm x 33.9 mm for a wire of 2.4 mm, at 600 dots an inch`.
pub fn drawn_line(path: &Path, facts: &Facts, drawn: Drawn, dpi: u16) -> String {
    let (path, kind, width, height) = (path.display(), facts.kind, drawn.size.width, drawn.size.height);
    // A tie-on goes on any wire.
    let wire =
        if kind == TagKind::TieOn { String::new() } else { format!(" for a wire of {:.1}", facts.diameter.length()) };
    format!("{path}: {kind} of {width:.1} x {height:.1}{wire}, at {dpi} dots an inch")
}
