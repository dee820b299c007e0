//! The document around the pages: page tree, bookmarks, how a viewer shall print it.

use std::io::{self, Write};

use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::{Filter, Finish, Name, Rect, Ref, TextStr};

use super::draw::{Typefaces, page_content, points};
use super::sink::Sink;
use super::typeface::Typeface;
use crate::base::Length;
use crate::layout::FontFile;
use crate::pages::{Landing, Page};

/// What holds for the whole document.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Document {
    /// Shown in the viewer's title bar.
    pub title: String,
    /// The font files of [`Face::Fallback`](crate::layout::Face::Fallback), in the order that the pages were made with.
    pub fallbacks: Vec<FontFile>,
    /// Where the printer puts what it is sent: pages are drawn so that all lands where they have it.
    pub landing: Landing,
}

/// Why a PDF could not be written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PdfFailure {
    /// The file could not be written to: a full disk, a closed pipe.
    #[error("cannot write the PDF: {0}")]
    Write(#[from] io::Error),
    /// A font could not be cut down to the glyphs in use.
    #[error("cannot embed a font: {0}")]
    Font(subsetter::Error),
    /// A page that viewers and printers refuse.
    #[error(
        "page {page} measures {width} x {height}: a PDF page is between 1.1 mm and 5 m on each side; cut the stock shorter"
    )]
    PageSize {
        /// Number of the page, from 1.
        page: usize,
        /// Its width.
        width: Length,
        /// Its height.
        height: Length,
    },
}

/// What has been written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Written {
    /// Number of pages.
    pub pages: usize,
    /// Size of the file.
    pub bytes: u64,
}

/// Smallest and largest side of a page in points (ISO 32000-1, table C.1).
const PAGE_SIDE: std::ops::RangeInclusive<f32> = 3.0..=14_400.0;

/// Pages under one node of the page tree: the tree stays two levels deep, its parts small enough to read.
const PAGES_A_NODE: usize = 128;

/// Level of compression, by measurement on sheets of 24 flags (zlib-rs 0.6, milliseconds and kilobytes a page): level 2
/// 0.27 ms 13.9 kB, 4 0.48 ms 10.3 kB, 5 0.57 ms 9.0 kB, 6 0.87 ms 8.6 kB, 9 2.8 ms 8.0 kB.
const LEVEL: Compression = Compression::new(5);

/// Writes a PDF page by page. The same pages give the same bytes.
pub struct Writer<W: Write> {
    sink: Sink<W>,
    document: Document,
    typefaces: Typefaces,
    root: Ref,
    resources: Ref,
    /// Nodes of the page tree that are full.
    nodes: Vec<Ref>,
    /// The node being filled and its pages.
    node: Ref,
    node_pages: Vec<Ref>,
    /// Bookmarks: the words, the page, the place on it in points.
    headings: Vec<(String, Ref, (f32, f32))>,
    pages: usize,
}

impl<W: Write> Writer<W> {
    /// Begins a document.
    pub fn new(out: W, document: &Document) -> Result<Self, PdfFailure> {
        let mut sink = Sink::new(out)?;
        let (root, resources, node) = (sink.reserve(), sink.reserve(), sink.reserve());
        Ok(Self {
            sink,
            document: document.clone(),
            typefaces: Typefaces::new(&document.fallbacks),
            root,
            resources,
            nodes: Vec::new(),
            node,
            node_pages: Vec::new(),
            headings: Vec::new(),
            pages: 0,
        })
    }

    /// Draws a page and writes it at once.
    pub fn page(&mut self, page: &Page) -> Result<(), PdfFailure> {
        let (width, height) = (points(page.size.width), points(page.size.height));
        if !PAGE_SIDE.contains(&width) || !PAGE_SIDE.contains(&height) {
            let (width, height) = (page.size.width, page.size.height);
            return Err(PdfFailure::PageSize { page: self.pages + 1, width, height });
        }
        if self.node_pages.len() == PAGES_A_NODE {
            self.close_node()?;
            self.node = self.sink.reserve();
        }
        let (id, contents) = (self.sink.reserve(), self.sink.reserve());
        let (parent, resources) = (self.node, self.resources);
        self.sink.object(id, |chunk| {
            let mut object = chunk.page(id);
            object.parent(parent).media_box(Rect::new(0.0, 0.0, width, height)).contents(contents);
            object.pair(Name(b"Resources"), resources);
        })?;
        let content = squeezed(&page_content(page, &self.document.landing, &mut self.typefaces));
        self.sink.object(contents, |chunk| {
            chunk.stream(contents, &content).filter(Filter::FlateDecode);
        })?;
        self.node_pages.push(id);
        self.pages += 1;
        for heading in &page.headings {
            let at = self.document.landing.sent_for(heading.at);
            self.headings.push((heading.words.clone(), id, (points(at.x), height - points(at.y))));
        }
        Ok(())
    }

    /// Writes what had to wait for the last page: fonts, bookmarks, the tree, the offsets.
    pub fn finish(mut self) -> Result<Written, PdfFailure> {
        self.close_node()?;
        let (root, nodes, pages) = (self.root, &self.nodes, self.pages);
        self.sink.object(root, |chunk| {
            let mut tree = chunk.pages(root);
            tree.kids(nodes.iter().copied()).count(pages as i32);
        })?;
        self.write_fonts()?;
        let outline = self.write_bookmarks()?;
        let (catalog, info) = (self.sink.reserve(), self.sink.reserve());
        self.sink.object(catalog, |chunk| {
            let mut object = chunk.indirect(catalog).start::<pdf_writer::writers::Catalog>();
            object.pages(root);
            if let Some(outline) = outline {
                object.outlines(outline);
            }
            let mut preferences = object.viewer_preferences();
            preferences.display_doc_title(true);
            // At its own size and on the paper of its own size (table 150): a tag that is scaled does not fit its wire.
            preferences.pair(Name(b"PrintScaling"), Name(b"None"));
            preferences.pair(Name(b"PickTrayByPDFSize"), true);
        })?;
        let title = &self.document.title;
        self.sink.object(info, |chunk| {
            let mut object = chunk.indirect(info).start::<pdf_writer::writers::DocumentInfo>();
            if !title.is_empty() {
                object.title(TextStr(title));
            }
            object.producer(TextStr("loomtag"));
        })?;
        let bytes = self.sink.finish(catalog, info, squeezed)?;
        Ok(Written { pages: self.pages, bytes })
    }

    fn close_node(&mut self) -> Result<(), PdfFailure> {
        let (node, root, pages) = (self.node, self.root, std::mem::take(&mut self.node_pages));
        self.sink.object(node, |chunk| {
            let mut tree = chunk.pages(node);
            tree.parent(root).kids(pages.iter().copied()).count(pages.len() as i32);
        })?;
        self.nodes.push(node);
        Ok(())
    }

    fn write_fonts(&mut self) -> Result<(), PdfFailure> {
        let mut fonts = Vec::new();
        for (face, typeface) in self.typefaces.used() {
            let id = self.sink.reserve();
            typeface.write(&mut self.sink, id)?;
            fonts.push((Typeface::resource(face), id));
        }
        let resources = self.resources;
        self.sink.object(resources, |chunk| {
            let mut object = chunk.indirect(resources).start::<pdf_writer::writers::Resources>();
            if !fonts.is_empty() {
                object.fonts().pairs(fonts.iter().map(|(name, id)| (Name(name.as_bytes()), *id)));
            }
        })?;
        Ok(())
    }

    fn write_bookmarks(&mut self) -> Result<Option<Ref>, PdfFailure> {
        if self.headings.is_empty() {
            return Ok(None);
        }
        let outline = self.sink.reserve();
        let ids: Vec<Ref> = self.headings.iter().map(|_| self.sink.reserve()).collect();
        let (first, last) = (ids[0], ids[ids.len() - 1]);
        self.sink.object(outline, |chunk| {
            chunk.outline(outline).first(first).last(last).count(ids.len() as i32).finish();
        })?;
        for (i, (heading, page, (left, top))) in self.headings.iter().enumerate() {
            self.sink.object(ids[i], |chunk| {
                let mut item = chunk.outline_item(ids[i]);
                item.parent(outline).title(TextStr(heading));
                if i > 0 {
                    item.prev(ids[i - 1]);
                }
                if let Some(&next) = ids.get(i + 1) {
                    item.next(next);
                }
                item.dest().page(*page).xyz(*left, *top, None);
            })?;
        }
        Ok(Some(outline))
    }
}

/// Deflated with the header that PDF wants (RFC 1950).
pub fn squeezed(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::with_capacity(bytes.len() / 4 + 64), LEVEL);
    encoder.write_all(bytes).expect("a vector takes all bytes");
    encoder.finish().expect("a vector takes all bytes")
}
