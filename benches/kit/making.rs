//! Tags of a harness made with the library alone, as a print run makes them: labels, layout, pages, PDF.

use std::io::{self, Write};

use loomtag::base::{Purpose, Size};
use loomtag::circuits::Circuits;
use loomtag::codes::{Issued, LinkBase, Payload};
use loomtag::labels::{self, Doubled, Label, Reach, Wording};
use loomtag::layout::flag::{self, FlagStock, Posture};
use loomtag::layout::text::{Fonts, caption};
use loomtag::layout::{Fitted, Fitting, Floors, Frame, wire};
use loomtag::pages::{self, Imposing, Page, Piece, Stock};
use loomtag::pdf::{Document, Writer, Written};

/// Sheets of 24 labels, 63.5 x 33.9 mm.
const STOCK: &str = "a4-24-64x34";
/// Resolution of the printer, in dots an inch.
pub const DPI: u16 = 600;

/// Circuits with their codes, and what tags are made with.
pub struct Making<'a> {
    circuits: &'a Circuits,
    issued: &'a Issued,
    payload: Payload,
    stock: Stock,
    flag: FlagStock,
    floors: Floors,
    pub wording: Wording,
    pub fonts: Fonts,
}

impl<'a> Making<'a> {
    pub fn new(circuits: &'a Circuits, issued: &'a Issued) -> Self {
        let stock = Stock::builtin(STOCK).expect("comes with the program");
        let label = stock.label(0).expect("a sheet of labels");
        let flag = FlagStock { label, thickness: stock.thickness(), posture: Posture::Standing, dpi: DPI };
        let base = LinkBase::from_typed("HTTP://MARSHHEN.LOCAL:7117").expect("an address");
        let (floors, fonts) = (Floors::default(), Fonts::new());
        let wording = Wording::builtin("flat").expect("comes with the program");
        Self { circuits, issued, payload: Payload::Link { base }, stock, flag, floors, wording, fonts }
    }

    /// A label for every end.
    pub fn labels(&self) -> impl Iterator<Item = Label> {
        let selected = labels::select(self.circuits, Purpose::Work, Reach::Needed, Doubled::Together).into_iter();
        selected.map(|one| labels::label(self.circuits, self.issued, &self.payload, Purpose::Work, &one))
    }

    pub fn fit(&self, label: &Label) -> Fitted {
        let Self { fonts, floors, wording, .. } = self;
        let diameter = wire::diameter(&label.wires, None);
        flag::fit(&Fitting { fonts, floors, label, wording, diameter }, &self.flag)
            .expect("this stock takes every tag of this harness")
    }

    pub fn piece(label: &Label, frame: Frame) -> Piece {
        let connector = label.place.as_ref().map(|place| place.connector.to_string());
        Piece { frame, name: label.name.to_string(), heading: connector.clone(), group: connector, labels: 0 }
    }

    /// Hands the pages on, one by one.
    pub fn impose(&self, pieces: impl Iterator<Item = Piece>, mut page: impl FnMut(Page)) {
        let head = |size: Size, words: &str| caption(&self.fonts, size, words);
        let settings = Imposing::new("Marsh Hen repower", "bench", &head);
        for placed in pages::impose(&self.stock, pieces, &settings) {
            page(placed.expect("frames are made for this stock"));
        }
    }

    /// All the tags as a PDF. Nothing is kept of a page that is written.
    pub fn pdf(&self, out: impl Write) -> Written {
        let mut writer = writer(out);
        let pieces = self.labels().map(|label| Self::piece(&label, self.fit(&label).frame));
        self.impose(pieces, |page| writer.page(&page).expect("the sink takes all"));
        writer.finish().expect("the sink takes all")
    }
}

/// A PDF that begins.
pub fn writer<W: Write>(out: W) -> Writer<W> {
    Writer::new(out, &Document { title: "Marsh Hen repower".to_owned(), ..Document::default() })
        .expect("the sink takes all")
}

/// Where bytes go to be forgotten.
pub struct Discard;

impl Write for Discard {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
