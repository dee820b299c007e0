//! What every page loads: style, script, icon and the face of the codes. They are in the program, and may be kept for ever: their
//! addresses name its version.

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

use crate::base::Fingerprint;

/// The style: of every page, then of single ones.
const STYLE: &str = concat!(
    include_str!("style.css"),
    include_str!("circuits/style.css"),
    include_str!("connectors/style.css"),
    include_str!("find/style.css"),
    include_str!("lists/style.css"),
    include_str!("overview/style.css"),
    include_str!("papers/style.css"),
    include_str!("print/style.css"),
    include_str!("problems/style.css"),
    include_str!("record/style.css"),
    include_str!("scan/style.css"),
    include_str!("site/style.css"),
);

/// The script: of every page, then of single ones.
const SCRIPT: &str = concat!(
    include_str!("script.js"),
    include_str!("circuits/script.js"),
    include_str!("connectors/script.js"),
    include_str!("lists/script.js"),
    include_str!("overview/script.js"),
    include_str!("print/script.js"),
    include_str!("record/script.js"),
    include_str!("scan/script.js"),
);

const ICON: &str = include_str!("icon.svg");

/// The face that codes are printed in.
const CODE_FACE: &[u8] = include_bytes!("../../fonts/AtkinsonHyperlegibleNext_700Bold.ttf");

/// The address of one of them.
pub fn link(name: &str) -> String {
    format!("/-/{name}?{}", version(name))
}

/// A number that changes with what stands in it, so that no browser shows the one of an older program.
fn version(name: &str) -> String {
    let (_, bytes) = named(name).unwrap_or_default();
    Fingerprint::of(bytes).to_string()
}

/// Its bytes, where there is one of this name.
pub fn bytes(name: &str) -> &'static [u8] {
    named(name).map_or(&[], |(_, bytes)| bytes)
}

fn named(name: &str) -> Option<(&'static str, &'static [u8])> {
    Some(match name {
        "style.css" => ("text/css; charset=utf-8", STYLE.as_bytes()),
        "script.js" => ("text/javascript; charset=utf-8", SCRIPT.as_bytes()),
        "icon.svg" => ("image/svg+xml", ICON.as_bytes()),
        "code.ttf" => ("font/ttf", CODE_FACE),
        _ => return None,
    })
}

/// One of them.
pub async fn asset(Path(name): Path<String>) -> Response {
    match named(&name) {
        Some((sort, bytes)) => {
            ([(header::CONTENT_TYPE, sort), (header::CACHE_CONTROL, "public, max-age=31536000, immutable")], bytes)
                .into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}
