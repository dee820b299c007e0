//! What job.toml settles about symbols, printers and tags, with the defaults of all that it leaves out.
//!
//! In: its tables. Out: [`PayloadSettings`], [`Printer`], [`TagSettings`], [`WordingSettings`] and [`FontSettings`].

use std::path::{Component, Path};

use super::problems::{
    BAD_LINK_BASE, BAD_PRINTER_ADDRESS, FONT_OUTSIDE_JOB, LINK_WITHOUT_BASE, TOO_MANY_FONTS, UNFIT_SLEEVE_PRINTER,
};
use crate::base::printer_address::{NotAnAddress, PrinterAddress};
use crate::base::settings::{Least, Reader, Table};
use crate::base::{Length, Point, Problem, ProblemKind, Stated, TagKind};
use crate::layout::Floors;
use crate::layout::flag::Posture;
use crate::pages::{Edges, Geometry, Landing, Order, PrinterKind, Stock};

const SYMBOLS: [(&str, SymbolText); 3] =
    [("link", SymbolText::Link), ("text", SymbolText::Text), ("code", SymbolText::Code)];
const WORK_TAGS: [(&str, TagKind); 3] = [("flag", TagKind::Flag), ("wrap", TagKind::Wrap), ("tie-on", TagKind::TieOn)];
const FINAL_TAGS: [(&str, TagKind); 2] = [("sleeve", TagKind::Sleeve), ("strip", TagKind::Strip)];
const POSTURES: [(&str, Posture); 2] = [("standing", Posture::Standing), ("hanging", Posture::Hanging)];

/// Stock of work tags when the job names none: flags on plain paper with cut lines.
const DEFAULT_WORK_STOCK: &str = "a4-paper-33-60x24";
/// Stock of strips when the job names none.
const DEFAULT_STRIP_STOCK: &str = "a4-paper-strips";
/// Stock of tie-ons when the job names none: plates of plain paper with cut lines.
const DEFAULT_TIE_ON_STOCK: &str = "a4-paper-27-60x30-hole";
/// A sleeve longer than this is hard to thread and to shrink evenly (common practice).
pub(super) const LONGEST_SLEEVE: Length = Length::nm(60_000_000);
/// A strip longer than this is hard to slide under its tube (common practice).
pub(super) const LONGEST_STRIP: Length = Length::nm(90_000_000);
/// A face, sleeve or strip shorter than this holds no code.
const SHORTEST: Length = Length::nm(5_000_000);
/// Longer than any of them.
const LONGEST: Length = Length::nm(1_000_000_000);
/// How far back from an end a work tag sits, clear of strip and crimp (common practice).
const DEFAULT_SETBACK: Length = Length::nm(150_000_000);
/// Further from its end a work tag is out of sight.
const LONGEST_SETBACK: Length = Length::nm(1_000_000_000);
/// More than any printer leaves white.
const WIDEST_EDGE: Length = Length::nm(50_000_000);

/// More font files than any list has scripts; every character that is missed is looked up in all of them.
const MOST_FONTS: usize = 16;

/// What the symbol of a tag says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SymbolText {
    /// A link under the job's base address.
    Link,
    /// Short text, code first, that any phone shows without a network.
    Text,
    /// The code alone.
    Code,
}

/// A printer.
#[derive(Clone, Debug, PartialEq)]
pub struct Printer {
    /// How it makes its mark.
    pub kind: Stated<PrinterKind>,
    /// Dots an inch.
    pub dpi: Stated<u32>,
    /// What it cannot print on.
    pub edges: Edges,
    /// The same on labels of a roll and across tube: what is stated alone, for label printers print to the edge, or near it.
    pub edges_of_rolls: Edges,
    /// Where it puts what it is sent.
    pub landing: Landing,
    /// Where it is reached: `ipp://host/ipp/print`.
    pub address: Option<Stated<PrinterAddress>>,
}

/// What the symbols of a job carry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PayloadSettings {
    /// Link, text or code.
    pub symbol: Stated<SymbolText>,
    /// Base address of links, as written; its syntax is not checked here.
    pub base: Option<Stated<String>>,
    /// Where the pages of `loomtag site` lie: what the lid card and sheets of the whole job lead to.
    pub site: Option<Stated<String>>,
}

/// Kinds and stocks of the tags.
#[derive(Clone, Debug, PartialEq)]
pub struct TagSettings {
    /// Usual kind of work tag.
    pub work: Stated<TagKind>,
    /// Usual kind of the tags of connectors; without one, that of work tags.
    pub connectors: Option<Stated<TagKind>>,
    /// Usual kind of final tag.
    pub final_tag: Stated<TagKind>,
    /// How wires run when flags are read.
    pub posture: Posture,
    /// Name of the stock of flags: a built-in one, or `stock/NAME.toml` of the job folder.
    pub work_stock: Stated<String>,
    /// Name of the stock of wraps; without one there are none.
    pub wrap_stock: Option<Stated<String>>,
    /// Name of the stock of tie-ons.
    pub tie_on_stock: Stated<String>,
    /// Name of the stock of strips.
    pub strip_stock: Stated<String>,
    /// Names of the tube sizes at hand for sleeves; empty: all that are built in.
    pub tubes: Vec<Stated<String>>,
    /// Names of the clear tube sizes at hand for strips; empty: all that are built in.
    pub clear_tubes: Vec<Stated<String>>,
    /// How far back from the end a work tag sits.
    pub setback: Stated<Length>,
    /// In which order they are placed on tube and paper, where a run does not say.
    pub order: Order,
    /// Length of a flag's face, at least.
    pub least_face: Length,
    /// Length of a flag's face that carries a symbol, at least.
    pub least_face_with_symbol: Length,
    /// Longest sleeve, before words are given up.
    pub longest_sleeve: Length,
    /// Longest strip, before words are given up.
    pub longest_strip: Length,
}

/// Names of the wordings of tags: built-in ones, or `templates/NAME.toml` of the job folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WordingSettings {
    /// Of flags, wraps and tie-ons.
    pub flat: Stated<String>,
    /// Of sleeves and strips.
    pub round: Stated<String>,
    /// Of the tags of connectors.
    pub connector: Stated<String>,
    /// Of marks along a wire.
    pub along: Stated<String>,
    /// Of blanks.
    pub blank: Stated<String>,
}

pub(super) fn read_wordings(reader: &mut Reader, table: Option<&Table<'_>>) -> WordingSettings {
    const KEYS: [&str; 5] = ["flat", "round", "connector", "along", "blank"];
    if let Some(table) = table {
        reader.expect_keys(table, &[], &KEYS);
    }
    let [flat, round, connector, along, blank] = KEYS.map(|key| {
        let stated = table.and_then(|table| reader.text(table, key));
        stated.unwrap_or_else(|| Stated::default(key.to_owned()))
    });
    WordingSettings { flat, round, connector, along, blank }
}

/// Font files for characters that the faces of the program lack.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FontSettings {
    /// In the order in which they are asked for a character.
    pub fallback: Vec<Stated<FontName>>,
}

/// A font file of the job folder, as job.toml names it: `fonts/own.ttf`, or `fonts/own.ttc#1` for a face of a collection.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FontName {
    /// Path from the job folder on.
    pub file: String,
    /// Number of the face in a collection, from 0.
    pub number: u32,
}

impl FontName {
    fn from_typed(typed: &str) -> Self {
        let number = typed.rsplit_once('#').and_then(|(file, number)| Some((file, number.parse().ok()?)));
        let (file, number) = number.unwrap_or((typed, 0));
        Self { file: file.to_owned(), number }
    }
}

pub(super) fn read_fonts(reader: &mut Reader, top: &Table<'_>) -> FontSettings {
    let Some(table) = reader.table(top, "fonts") else { return FontSettings::default() };
    reader.expect_keys(&table, &[], &["fallback"]);
    let mut fallback = Vec::new();
    for (index, typed) in reader.texts(&table, "fallback").unwrap_or_default().into_iter().enumerate() {
        let name = FontName::from_typed(&typed.value);
        if index >= MOST_FONTS {
            let message = format!("`{}` is font number {}", typed.value, index + 1);
            let remedy = format!("name at most {MOST_FONTS} font files, those first that have most of the words");
            reader.tell(typed.point(TOO_MANY_FONTS.says(message).remedy(remedy)));
            break;
        }
        match outside(&FONT_OUTSIDE_JOB, "font file", &name.file) {
            Some(problem) => reader.tell(typed.point(problem)),
            None => fallback.push(typed.map(|_| name)),
        }
    }
    FontSettings { fallback }
}

/// What is wrong with a file that does not lie in the job folder or below it; the folder is moved and shared as a whole.
pub(super) fn outside(kind: &ProblemKind, what: &str, file: &str) -> Option<Problem> {
    let is_inside = Path::new(file).components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
    let is_portable = !file.contains('\\') && !file.contains('\0') && file.as_bytes().get(1) != Some(&b':');
    let remedy = format!("copy the {what} into the job folder and name it from there, with `/` between folders");
    let problem = || kind.says(format!("`{file}` is not inside the job folder")).remedy(remedy);
    (!is_inside || !is_portable).then(problem)
}

pub(super) fn read_payload(reader: &mut Reader, top: &Table<'_>) -> PayloadSettings {
    let Some(table) = reader.table(top, "payload") else {
        return PayloadSettings { symbol: Stated::default(SymbolText::Text), base: None, site: None };
    };
    reader.expect_keys(&table, &[], &["symbol", "base", "site"]);
    let base = reader.text(&table, "base");
    let site = reader.text(&table, "site").filter(|site| is_web_address(reader, site));
    let usual = if base.is_some() { SymbolText::Link } else { SymbolText::Text };
    let symbol = reader.word(&table, "symbol", &SYMBOLS).unwrap_or(Stated::default(usual));
    if symbol.value == SymbolText::Link && base.is_none() {
        let problem = LINK_WITHOUT_BASE
            .says("`symbol` is `link`, but there is no base address")
            .remedy("add `base = \"HTTP://…\"`, an address that will last, or choose `text`");
        reader.tell(symbol.point(problem));
        return PayloadSettings { symbol: Stated::default(SymbolText::Text), base, site };
    }
    PayloadSettings { symbol, base, site }
}

/// Longest address of a site, in bytes: a symbol of a sheet holds more, and nobody types as much.
const LONGEST_ADDRESS: usize = 200;

fn is_web_address(reader: &mut Reader, site: &Stated<String>) -> bool {
    let lower = site.value.to_lowercase();
    let rest = ["http://", "https://"].iter().find_map(|scheme| lower.strip_prefix(scheme));
    let is_one = rest.is_some_and(|rest| !rest.is_empty() && rest.bytes().all(|byte| byte.is_ascii_graphic()));
    let fits = is_one && site.value.len() <= LONGEST_ADDRESS;
    if !fits {
        let what = format!("`{}` is no address of a web page", site.value);
        let remedy = "write where the pages of `loomtag site` lie: `https://example.org/marsh-hen/`";
        reader.tell(site.point(BAD_LINK_BASE.says(what).remedy(remedy)));
    }
    fits
}

pub(super) fn read_printer(reader: &mut Reader, table: Option<&Table<'_>>, usual: (PrinterKind, u32)) -> Printer {
    let (mut kind, mut dpi) = (Stated::default(usual.0), Stated::default(usual.1));
    let (mut edges, mut landing, mut address) = (None, Landing::TRUE, None);
    if let Some(table) = table {
        reader.expect_keys(table, &[], &["kind", "dpi", "edges", "offset", "scale", "address"]);
        kind = reader.word(table, "kind", &PrinterKind::WORDS).unwrap_or(kind);
        dpi = reader
            .number(table, "dpi", 100.0..=4800.0, "dots an inch")
            .map_or(dpi, |dpi| dpi.map(|n| n.round() as u32));
        edges = reader.table(table, "edges");
        landing = read_landing(reader, table);
        address = reader.text(table, "address").and_then(|typed| read_address(reader, &typed));
    }
    let Edges { top, right, bottom, left } = Edges::common(kind.value);
    let usual = [left, right, top, bottom];
    let names = ["left", "right", "top", "bottom"];
    if let Some(table) = &edges {
        reader.expect_keys(table, &[], &names);
    }
    let stated: [Option<Length>; 4] = std::array::from_fn(|side| {
        let stated = edges.as_ref().and_then(|table| reader.length(table, names[side], Least::Zero, WIDEST_EDGE));
        stated.map(|stated| stated.value)
    });
    let with = |usual: [Length; 4]| {
        let [left, right, top, bottom] = std::array::from_fn(|side| stated[side].unwrap_or(usual[side]));
        Edges { left, right, top, bottom }
    };
    let (edges, edges_of_rolls) = (with(usual), with([Length::ZERO; 4]));
    Printer { kind, dpi, edges, edges_of_rolls, landing, address }
}

fn read_address(reader: &mut Reader, typed: &Stated<String>) -> Option<Stated<PrinterAddress>> {
    match PrinterAddress::from_typed(&typed.value) {
        Ok(address) => Some(typed.clone().map(|_| address)),
        Err(NotAnAddress { what, remedy }) => {
            let message = format!("`{}` is no address of a printer: {what}", typed.value);
            reader.tell(typed.point(BAD_PRINTER_ADDRESS.says(message).remedy(remedy)));
            None
        }
    }
}

impl Printer {
    /// The printer as it prints on a stock: its edges are those that it has there.
    pub fn on(&self, stock: &Stock) -> Self {
        let (usual, rolls) = (self.edges, self.edges_of_rolls);
        let edges = match stock.geometry() {
            Geometry::Sheet(_) | Geometry::Paper(_) => usual,
            Geometry::Roll(_) => rolls,
            Geometry::Tube(_) => Edges { top: rolls.top, bottom: rolls.bottom, ..usual },
        };
        Self { edges, ..self.clone() }
    }
}

/// `offset = { x = 1.3, y = -0.8 }` in millimetres, `scale = { x = 0.985, y = 1 }`: what a trial page has shown.
fn read_landing(reader: &mut Reader, printer: &Table<'_>) -> Landing {
    const AXES: [&str; 2] = ["x", "y"];
    let [offset, scale] = ["offset", "scale"].map(|key| reader.table(printer, key));
    for table in [&offset, &scale].into_iter().flatten() {
        reader.expect_keys(table, &[], &AXES);
    }
    let most = WIDEST_EDGE.as_mm();
    let [x, y] = AXES.map(|axis| {
        let stated = offset.as_ref().and_then(|table| reader.number(table, axis, -most..=most, "millimetres"));
        Length::mm(stated.map_or(0.0, |stated| stated.value))
    });
    let [across, down] = AXES.map(|axis| {
        let stated = scale.as_ref().and_then(|table| reader.number(table, axis, Landing::SCALES, "of its size"));
        stated.map_or(1.0, |stated| stated.value)
    });
    Landing::new(Point::new(x, y), across, down)
}

/// Heat-shrink tube must never go through a fuser, and print that darkens with heat does not survive the heat gun.
pub(super) fn check_sleeve_printer(reader: &mut Reader, printer: &Printer) {
    let problem = match printer.kind.value {
        PrinterKind::ThermalTransfer => return,
        PrinterKind::DirectThermal => UNFIT_SLEEVE_PRINTER.says("direct-thermal print blackens under a heat gun"),
        PrinterKind::Laser | PrinterKind::Inkjet => {
            UNFIT_SLEEVE_PRINTER.says("never feed heat-shrink tube through a laser or inkjet printer")
        }
    };
    let problem = problem.remedy("name a thermal-transfer printer, or choose `final = \"strip\"` and leave it out");
    reader.tell(printer.kind.point(problem));
}

pub(super) fn read_tags(reader: &mut Reader, table: Option<&Table<'_>>) -> TagSettings {
    const KEYS: [&str; 16] = [
        "work",
        "connectors",
        "final",
        "posture",
        "work_stock",
        "wrap_stock",
        "tie_on_stock",
        "strip_stock",
        "tubes",
        "clear_tubes",
        "setback",
        "order",
        "least_face",
        "least_face_with_symbol",
        "longest_sleeve",
        "longest_strip",
    ];
    let floors = Floors::default();
    let mut tags = TagSettings {
        work: Stated::default(TagKind::Flag),
        connectors: None,
        final_tag: Stated::default(TagKind::Strip),
        posture: Posture::default(),
        work_stock: Stated::default(DEFAULT_WORK_STOCK.to_owned()),
        wrap_stock: None,
        tie_on_stock: Stated::default(DEFAULT_TIE_ON_STOCK.to_owned()),
        strip_stock: Stated::default(DEFAULT_STRIP_STOCK.to_owned()),
        tubes: Vec::new(),
        clear_tubes: Vec::new(),
        setback: Stated::default(DEFAULT_SETBACK),
        order: Order::default(),
        least_face: floors.face,
        least_face_with_symbol: floors.face_with_symbol,
        longest_sleeve: LONGEST_SLEEVE,
        longest_strip: LONGEST_STRIP,
    };
    let Some(table) = table else { return tags };
    reader.expect_keys(table, &[], &KEYS);
    if let Some(work) = reader.word(table, "work", &WORK_TAGS) {
        tags.work = work;
    }
    tags.connectors = reader.word(table, "connectors", &WORK_TAGS);
    if let Some(final_tag) = reader.word(table, "final", &FINAL_TAGS) {
        tags.final_tag = final_tag;
    }
    if let Some(posture) = reader.word(table, "posture", &POSTURES) {
        tags.posture = posture.value;
    }
    tags.wrap_stock = reader.text(table, "wrap_stock");
    for (key, stock) in [
        ("work_stock", &mut tags.work_stock),
        ("tie_on_stock", &mut tags.tie_on_stock),
        ("strip_stock", &mut tags.strip_stock),
    ] {
        if let Some(named) = reader.text(table, key) {
            *stock = named;
        }
    }
    tags.tubes = reader.texts(table, "tubes").unwrap_or_default();
    tags.clear_tubes = reader.texts(table, "clear_tubes").unwrap_or_default();
    if let Some(order) = reader.word(table, "order", &Order::WORDS) {
        tags.order = order.value;
    }
    if let Some(setback) = reader.length(table, "setback", Least::Zero, LONGEST_SETBACK) {
        tags.setback = setback;
    }
    for (key, length) in [
        ("least_face", &mut tags.least_face),
        ("least_face_with_symbol", &mut tags.least_face_with_symbol),
        ("longest_sleeve", &mut tags.longest_sleeve),
        ("longest_strip", &mut tags.longest_strip),
    ] {
        if let Some(stated) = reader.length(table, key, Least::Of(SHORTEST), LONGEST) {
            *length = stated.value;
        }
    }
    tags
}
