//! PDF OR PHOTO -> WHAT THE SYMBOLS SAY.
//!
//! Two questions are answered. Of a PDF we made: does every symbol read back as what its tag should carry ([`check()`])? Of
//! a PDF or photograph we know nothing about: what do its symbols say ([`read_pdf`], [`read_image`])? The reading is
//! independent of the writing: other libraries render the page and decode the symbol. The same rendering shows a page to a person
//! ([`picture()`]).
//!
//! - `render`: parts of a page as gray pixels
//! - `gray`: gray pixels
//! - `decode`: gray pixels to words
//! - `check`: a finished PDF against what it should say
//! - `picture`, `vector`: a page for the eye
//! - `dots`: pages as dots of a printer, band by band
//! - `sight`: PDFs and photographs nothing is known of

mod check;
mod contain;
mod decode;
mod dots;
mod gray;
mod picture;
mod render;
mod sight;
mod vector;

pub use check::{Expected, Fault, Miss, Proof, check};
pub use decode::Search;
pub use dots::PageDots;
pub use picture::{Picture, picture};
pub use sight::{Patience, Sighting, Spot, read_image, read_image_within, read_pdf, read_pdf_within};
pub use vector::svg;

/// Why a proof could not be made or a picture not be read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ProofFailure {
    /// The bytes are no PDF, or a damaged one.
    #[error("this is not a PDF that can be read")]
    NotPdf,
    /// The PDF wants a password.
    #[error("the PDF is locked with a password: save it without one")]
    Locked,
    /// A tag should stand on a page that the PDF does not have.
    #[error("the PDF has {pages} pages, but a tag should stand on page {page}")]
    NoSuchPage {
        /// The missing page, from 1.
        page: usize,
        /// How many there are.
        pages: usize,
    },
    /// The bytes are no PNG or JPEG picture, or a damaged one.
    #[error("this is not a PNG or JPEG picture that can be read: {0}")]
    NotPicture(#[from] image::ImageError),
    /// The bytes are a picture or film of a sort that is not read.
    #[error(
        "this is a {sort} file: PNG and JPEG pictures and PDFs are read; save it as JPEG, or set the camera to JPEG"
    )]
    OtherSort {
        /// What it is.
        sort: &'static str,
    },
    /// The file is beyond what is read at all.
    #[error("the file has {bytes} bytes, more than the {} MiB that are read: make it smaller", MOST_BYTES >> 20)]
    TooManyBytes {
        /// Size of the file.
        bytes: usize,
    },
    /// The picture is beyond what is read at all.
    #[error(
        "the picture has {width} x {height} pixels, more than the {} megapixels that are read: make it smaller",
        most / 1_000_000
    )]
    TooManyPixels {
        /// Its width.
        width: u32,
        /// Its height.
        height: u32,
        /// The most that are read.
        most: u64,
    },
    /// A picture that shall be drawn has more pixels than one picture takes.
    #[error("the picture would have {width} x {height} pixels at {dpi} dots an inch: take fewer dots")]
    PictureTooLarge {
        /// Its width.
        width: u64,
        /// Its height.
        height: u64,
        /// Dots an inch.
        dpi: u16,
    },
    /// A page that is not looked at: it has no extent, or several metres on both sides.
    #[error("page {page} of the PDF has no size that can be read: print it to a PDF of its true size")]
    PageSize {
        /// Number of the page, from 1.
        page: usize,
    },
    /// A reading library gave up on the file in the middle.
    #[error("the file is damaged in a way that cannot be read")]
    Damaged,
}

/// Largest file that is read. A phone's photograph has 3 to 15 MiB.
pub const MOST_BYTES: usize = 64 << 20;

/// Largest picture that is read, in pixels. A phone's photograph has 12 to 50 million.
pub const MOST_PIXELS: u64 = 100_000_000;

#[cfg(test)]
mod tests;
