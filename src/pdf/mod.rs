//! PAGES -> PDF, streamed.
//!
//! In come finished pages, one after the other; out go the bytes of a PDF 1.7 file (ISO 32000-1), each page's as soon as
//! it is drawn. What has to wait for the end (subset fonts, bookmarks, the list of object offsets) is small and does not
//! grow with what is drawn on a page.
//!
//! - `draw`: a page as a content stream
//! - `contour`: the dark modules of a symbol as one path
//! - `typeface`: the fonts, cut down to the glyphs that were drawn
//! - `sink`: where each object lies in the file
//! - `writer`: the document around the pages

mod contour;
mod draw;
mod sink;
mod typeface;
mod writer;

pub use typeface::can_embed;
pub use writer::{Document, PdfFailure, Writer, Written};

#[cfg(test)]
pub(crate) mod sample;
#[cfg(test)]
mod tests;
