//! The stocks and printers of a job, looked up and checked.
//!
//! In: the settings of job.toml. Out: [`Equipment`], with which `making` makes the tag of a label.

use std::fs;
use std::io;

use super::bounded;
use super::job::Job;
use super::kinds::KindRule;
use super::making::{AtHand, On};
use super::problems::{
    BAD_LINK_BASE, FONT_NOT_FOUND, FONT_NOT_LICENSED, FONT_TOO_BIG, STOCK_NOT_A_TUBE, STOCK_NOT_FOR_FLAGS,
    STOCK_NOT_FOR_STRIPS, STOCK_NOT_FOR_TIE_ONS, STOCK_NOT_FOR_WRAPS, UNKNOWN_STOCK, UNKNOWN_WORDING, UNREADABLE_FONT,
    UNREADABLE_TEMPLATE, UNUSABLE_FONT, VARIABLE_FONT,
};
use super::settings::{FontName, Printer, SymbolText, WordingSettings};
use super::template::Template;
use crate::base::nearest::did_you_mean_or_choose;
use crate::base::{Checked, Insulation, Problem, ProblemKind, Purpose, Size, Source, Stated, TagKind};
use crate::codes::link::{LinkBase, Payload};
use crate::labels::{Label, Wording};
use crate::layout::flag::FlagStock;
use crate::layout::sleeve::SleeveStock;
use crate::layout::strip::StripStock;
use crate::layout::text::Fonts;
use crate::layout::tie_on::TieOnStock;
use crate::layout::wrap::WrapStock;
use crate::layout::{FontFault, FontFile, TubeSize, wire};
use crate::pages::{self, Geometry, LabelForm, Stock};
use crate::pdf;

/// A font file larger than this is not read; collections of all of East Asia are smaller.
const LARGEST_FONT: u64 = 64 << 20;

/// All that tags of a job are made with.
pub struct Equipment {
    pub(super) fonts: Fonts,
    font_files: Vec<FontFile>,
    payload: Payload,
    stocks: Vec<StockInUse>,
    pub(super) at_hand: AtHand,
    pub(super) usual: Usual,
    pub(super) rules: Vec<KindRule>,
    pub(super) wordings: Wordings,
    pub(super) insulation: Option<Insulation>,
}

/// The usual kinds of tags.
pub(super) struct Usual {
    pub(super) work: TagKind,
    pub(super) connectors: TagKind,
    pub(super) finals: TagKind,
}

/// What tags say, by what they are.
pub(super) struct Wordings {
    /// Flags, wraps and tie-ons.
    pub(super) flat: Wording,
    /// Sleeves and strips.
    pub(super) round: Wording,
    /// Tags of connectors.
    pub(super) connector: Wording,
    /// Marks along a wire.
    pub(super) along: Wording,
    /// Blanks.
    pub(super) blank: Wording,
}

/// A stock of the job with the printer that prints it and what it is for.
#[derive(Clone, Debug)]
pub struct StockInUse {
    /// The stock.
    pub stock: Stock,
    /// The printer.
    pub printer: Printer,
    /// The tags that go on it.
    pub purpose: Purpose,
}

impl StockInUse {
    /// Resolution of the printer, in dots an inch.
    pub fn dpi(&self) -> u16 {
        dpi(&self.printer)
    }
}

fn dpi(printer: &Printer) -> u16 {
    u16::try_from(printer.dpi.value).unwrap_or(u16::MAX)
}

impl Equipment {
    /// Looks up all that job.toml names. Problems point into job.toml or into the job's own stock files.
    pub fn of(job: &Job) -> Checked<Option<Self>> {
        let mut lookup = Lookup { job, problems: Vec::new() };
        let tags = job.tags();
        let flags = lookup.labels(&tags.work_stock).and_then(|on| lookup.flags(&tags.work_stock, on));
        let wraps = tags.wrap_stock.as_ref().map(|name| {
            let on = lookup.labels(name)?;
            lookup.wraps(name, on)
        });
        let tie_ons_stand_in = tags.tie_on_stock.origin.is_some() || lookup.prints_cleanly(&tags.tie_on_stock);
        let tie_ons = if tie_ons_stand_in || lookup.asks_for(TagKind::TieOn) {
            lookup.labels(&tags.tie_on_stock)
        } else {
            // Nobody named it and nobody asks for it: that it suits no printer is no one's concern.
            lookup.named(&tags.tie_on_stock).map(|stock| (stock, job.printer()))
        };
        let tie_ons = tie_ons.and_then(|on| lookup.tie_ons(&tags.tie_on_stock, on));
        let strips = lookup.stock(&tags.strip_stock, Purpose::Final, job.printer()).and_then(|stock| {
            let is_paper = matches!(stock.geometry(), Geometry::Paper(_));
            if !is_paper {
                let message = format!("stock `{}` is not paper that strips are cut from", stock.name());
                let remedy = "name `a4-paper-strips` or `letter-paper-strips`";
                lookup.refuse(&tags.strip_stock, &STOCK_NOT_FOR_STRIPS, message, remedy);
            }
            is_paper.then_some(stock)
        });
        let clear_tubes = lookup.tube_sizes(&tags.clear_tubes);
        let tubes = job.sleeve_printer().map(|printer| (printer, lookup.tubes(&tags.tubes, printer)));
        let payload = lookup.payload();
        let wordings = lookup.wordings(job.wordings());
        let font_files = lookup.fonts();

        let problems = lookup.problems;
        let (Some(flags), Some(tie_ons), Some(strips), Some(wordings)) = (flags, tie_ons, strips, wordings) else {
            return Checked { value: None, problems };
        };
        let wraps = match wraps {
            Some(None) => return Checked { value: None, problems },
            Some(Some(wraps)) => Some(wraps),
            None => None,
        };
        let fonts = Fonts::with_fallbacks(font_files.clone());
        let mut stocks = Stocks { fonts: &fonts, job, in_use: Vec::new() };
        let strip = StripStock {
            thickness: strips.thickness(),
            clear_tubes,
            longest: tags.longest_strip,
            dpi: dpi(job.printer()),
        };
        let at_hand = AtHand {
            flags: stocks.put(flags, Purpose::Work),
            wraps: wraps.map(|wraps| stocks.put(wraps, Purpose::Work)),
            tie_ons: stocks.put(tie_ons, Purpose::Work),
            tie_ons_stand_in,
            strips: stocks.put((strip, 0, strips, job.printer()), Purpose::Final),
            sleeves: tubes.map(|(printer, tubes)| stocks.put_tubes(tubes, printer)),
        };
        let stocks = stocks.in_use;
        let equipment = Self {
            fonts,
            font_files,
            payload,
            stocks,
            at_hand,
            usual: Usual {
                work: tags.work.value,
                connectors: tags.connectors.as_ref().unwrap_or(&tags.work).value,
                finals: tags.final_tag.value,
            },
            rules: job.kind_rules().to_vec(),
            wordings,
            insulation: job.insulation(),
        };
        Checked { value: Some(equipment), problems }
    }

    /// What the table of diameters has near to a wire of this label of which nobody knows the diameter.
    pub fn near(&self, label: &Label) -> Option<String> {
        wire::near(&label.wires, self.insulation)
    }

    /// All stocks, in the order in which their PDFs are written.
    pub fn stocks(&self) -> &[StockInUse] {
        &self.stocks
    }

    /// What symbols say.
    pub const fn payload(&self) -> &Payload {
        &self.payload
    }

    /// The faces.
    pub const fn fonts(&self) -> &Fonts {
        &self.fonts
    }

    /// The job's own font files, in the order of the fallbacks of [`Equipment::fonts`].
    pub fn font_files(&self) -> &[FontFile] {
        &self.font_files
    }
}

/// The stocks of a job as they are put in order.
struct Stocks<'a> {
    fonts: &'a Fonts,
    job: &'a Job,
    in_use: Vec<StockInUse>,
}

/// What a kind of tag is made of: its measures, the group of labels, the stock and its printer.
type Of<'a, T> = (T, usize, Stock, &'a Printer);

impl Stocks<'_> {
    /// Labels of several groups on one sheet are one stock: what goes on them shares its pages.
    fn put<T>(&mut self, (measures, labels, stock, printer): Of<'_, T>, purpose: Purpose) -> On<T> {
        let is_it = |known: &StockInUse| known.stock == stock && known.purpose == purpose && stock.groups() > 1;
        let index = self.in_use.iter().position(is_it).unwrap_or_else(|| {
            let printer = printer.on(&stock);
            self.in_use.push(StockInUse { stock, printer, purpose });
            self.in_use.len() - 1
        });
        On { stock: measures, index, labels, floors: self.job.floors().at(dpi(printer), self.fonts) }
    }

    fn put_tubes(&mut self, tubes: Vec<Stock>, printer: &Printer) -> On<SleeveStock> {
        let index = self.in_use.len();
        let sizes = tubes.iter().filter_map(|stock| stock.tube().map(|tube| tube.size().clone())).collect();
        let in_use = |stock| StockInUse { printer: printer.on(&stock), stock, purpose: Purpose::Final };
        self.in_use.extend(tubes.into_iter().map(in_use));
        let stock = SleeveStock { tubes: sizes, longest: self.job.tags().longest_sleeve, dpi: dpi(printer) };
        On { stock, index, labels: 0, floors: self.job.floors().at(dpi(printer), self.fonts) }
    }
}

struct Lookup<'a> {
    job: &'a Job,
    problems: Vec<Problem>,
}

impl<'a> Lookup<'a> {
    /// Stock of work tags with the printer that prints it: the one of sheets, unless the stock is declared for the one of tube
    /// alone.
    fn labels(&mut self, name: &Stated<String>) -> Option<(Stock, &'a Printer)> {
        let stock = self.named(name)?;
        let printer = self.job.printer_of(&stock);
        let complaints = stock.suits(Purpose::Work, printer.kind.value);
        self.problems.extend(complaints.into_iter().chain(reach(&stock, printer)).map(|problem| name.point(problem)));
        Some((stock, printer))
    }

    /// Whether a stock of the program suits its printer.
    fn prints_cleanly(&self, name: &Stated<String>) -> bool {
        let stock = Stock::builtin(&name.value);
        stock.is_some_and(|stock| stock.suits(Purpose::Work, self.job.printer_of(&stock).kind.value).is_empty())
    }

    /// Whether job.toml asks for tags of a kind.
    fn asks_for(&self, kind: TagKind) -> bool {
        let tags = self.job.tags();
        let usual = [&tags.work, &tags.final_tag].into_iter().chain(&tags.connectors);
        let rules = self.job.kind_rules().iter().map(|rule| &rule.kind);
        usual.chain(rules).any(|asked| asked.value == kind)
    }

    fn flags(&mut self, name: &Stated<String>, (stock, printer): (Stock, &'a Printer)) -> Option<Of<'a, FlagStock>> {
        if let Some((labels, label)) = labels_for(&stock, TagKind::Flag) {
            let (thickness, posture) = (stock.thickness(), self.job.tags().posture);
            return Some((FlagStock { label, thickness, posture, dpi: dpi(printer) }, labels, stock, printer));
        }
        let message = match (stock.label(0), stock.form(0)) {
            (Some(_), LabelForm::Wrap { .. }) => format!("the labels of `{}` are made for wraps", stock.name()),
            (Some(_), LabelForm::Plate(_)) => format!("the labels of `{}` are plates to tie on", stock.name()),
            (Some(_), LabelForm::Plain) | (None, _) => {
                format!("stock `{}` has no labels of its own for flags", stock.name())
            }
        };
        let remedy = "name a sheet or roll of labels, or `a4-paper-33-60x24` for plain paper";
        self.refuse(name, &STOCK_NOT_FOR_FLAGS, message, remedy);
        None
    }

    fn wraps(&mut self, name: &Stated<String>, (stock, printer): (Stock, &'a Printer)) -> Option<Of<'a, WrapStock>> {
        if let Some((labels, label)) = labels_for(&stock, TagKind::Wrap)
            && let LabelForm::Wrap { print } = stock.form(labels)
        {
            let thickness = stock.thickness();
            return Some((WrapStock { label, print, thickness, dpi: dpi(printer) }, labels, stock, printer));
        }
        let message = format!("stock `{}` has no labels with a clear tail", stock.name());
        let remedy = "name one such as `a4-49-25x38-wrap13`, or add `print` to a stock file of your own";
        self.refuse(name, &STOCK_NOT_FOR_WRAPS, message, remedy);
        None
    }

    fn tie_ons(&mut self, name: &Stated<String>, (stock, printer): (Stock, &'a Printer)) -> Option<Of<'a, TieOnStock>> {
        if let Some((labels, plate)) = labels_for(&stock, TagKind::TieOn)
            && let LabelForm::Plate(holes) = stock.form(labels)
        {
            let punching = stock.punching();
            return Some((TieOnStock { plate, holes, punching, dpi: dpi(printer) }, labels, stock, printer));
        }
        let message = format!("stock `{}` has no plates with holes", stock.name());
        let remedy = "name one such as `a4-paper-27-60x30-hole`, or add `holes` to a stock file of your own";
        self.refuse(name, &STOCK_NOT_FOR_TIE_ONS, message, remedy);
        None
    }

    fn refuse(&mut self, name: &Stated<String>, kind: &ProblemKind, message: String, remedy: &str) {
        self.problems.push(name.point(kind.says(message).remedy(remedy)));
    }

    /// A stock by name: one of the job's own, or one that comes with the program.
    fn named(&mut self, name: &Stated<String>) -> Option<Stock> {
        if let Some((file, text)) = self.own_file(Template::Stock, name) {
            let read = Stock::from_toml(&Source::new(file, text));
            self.problems.extend(read.problems);
            return read.value;
        }
        let stock = Stock::builtin(&name.value);
        if stock.is_none() {
            let known: Vec<&str> = crate::pages::builtin().iter().map(|(known, _)| *known).collect();
            let message = format!("there is no stock `{}`", name.value);
            let remedy = did_you_mean_or_choose(&name.value, &known);
            self.problems.push(name.point(UNKNOWN_STOCK.says(message).remedy(remedy)));
        }
        stock
    }

    /// The job's own file of this name, with its path in the job folder.
    fn own_file(&mut self, sort: Template, name: &Stated<String>) -> Option<(String, String)> {
        match sort.own(self.job.folder(), &name.value) {
            Ok(file) => file.map(|file| (file.file, file.text)),
            Err(error) => {
                let file = format!("{}/{}.toml", sort.folder(), name.value);
                let problem = UNREADABLE_TEMPLATE.says(format!("`{file}` cannot be read: {error}"));
                self.problems.push(name.point(problem.remedy("make it a readable file of UTF-8 text")));
                None
            }
        }
    }

    fn wordings(&mut self, named: &WordingSettings) -> Option<Wordings> {
        let WordingSettings { flat, round, connector, along, blank } = named;
        let all = [flat, round, connector, along, blank].map(|name| self.wording(name));
        let [flat, round, connector, along, blank] = all;
        Some(Wordings { flat: flat?, round: round?, connector: connector?, along: along?, blank: blank? })
    }

    /// A wording by name: one of the job's own, or one that comes with the program.
    fn wording(&mut self, name: &Stated<String>) -> Option<Wording> {
        if let Some((file, text)) = self.own_file(Template::Wording, name) {
            let read = Wording::from_toml(&Source::new(file, text));
            self.problems.extend(read.problems);
            return read.value;
        }
        let wording = Wording::builtin(&name.value);
        if wording.is_none() {
            let known: Vec<&str> = Wording::builtins().iter().map(|(known, _)| *known).collect();
            let message = format!("there is no wording `{}`", name.value);
            let remedy = did_you_mean_or_choose(&name.value, &known);
            self.problems.push(name.point(UNKNOWN_WORDING.says(message).remedy(remedy)));
        }
        wording
    }

    /// The font files that job.toml names, without those that cannot be used.
    fn fonts(&mut self) -> Vec<FontFile> {
        let mut files = Vec::new();
        for name in &self.job.fonts().fallback {
            match self.font(&name.value) {
                Ok(file) => {
                    if file.is_variable() {
                        let problem = VARIABLE_FONT
                            .says(format!("`{}` has axes such as weight, and is drawn as it stands", name.value.file))
                            .remedy("name a font file without axes, of medium or bold weight");
                        self.problems.push(name.point(problem));
                    }
                    files.push(file);
                }
                Err(problem) => self.problems.push(name.point(*problem)),
            }
        }
        files
    }

    fn font(&self, name: &FontName) -> Result<FontFile, Box<Problem>> {
        let path = self.job.folder().join(&name.file);
        let refused = |error: io::Error| match error.kind() {
            io::ErrorKind::NotFound => {
                let problem = FONT_NOT_FOUND.says(format!("the job folder holds no `{}`", name.file));
                Box::new(problem.remedy("copy the font file there, or mend its path"))
            }
            _ => {
                let problem = UNREADABLE_FONT.says(format!("`{}` cannot be read: {error}", name.file));
                Box::new(problem.remedy("check that it is a file and that you may read it"))
            }
        };
        let size = fs::metadata(&path).map_err(refused)?.len();
        if size > LARGEST_FONT {
            let message = format!("`{}` is {} MiB large", name.file, size >> 20);
            return Err(Box::new(FONT_TOO_BIG.says(message).remedy("name a font file of one language, below 64 MiB")));
        }
        let file = FontFile::open(bounded::read(&path).map_err(refused)?, name.number).map_err(|fault| {
            let message = format!("`{}` {fault}", name.file);
            Box::new(match fault {
                FontFault::Restricted => FONT_NOT_LICENSED.says(message).remedy("name a font under an open licence"),
                FontFault::NoSuchFace(_) => {
                    UNUSABLE_FONT.says(message).remedy("name a face that is there: `#0` is the first")
                }
                FontFault::NotAFont | FontFault::NoOutlines => {
                    UNUSABLE_FONT.says(message).remedy("name a .ttf or .otf file with outlines and without axes")
                }
            })
        })?;
        pdf::can_embed(&file).map_err(|failure| {
            let problem = UNUSABLE_FONT.says(format!("`{}` is broken: {failure}", name.file));
            Box::new(problem.remedy("name another font file"))
        })?;
        Ok(file)
    }

    fn stock(&mut self, name: &Stated<String>, purpose: Purpose, printer: &Printer) -> Option<Stock> {
        let stock = self.named(name)?;
        let complaints = stock.suits(purpose, printer.kind.value);
        self.problems.extend(complaints.into_iter().chain(reach(&stock, printer)).map(|problem| name.point(problem)));
        Some(stock)
    }

    /// The tubes of these names; all that come with the program when none is named.
    fn tubes(&mut self, names: &[Stated<String>], printer: &Printer) -> Vec<Stock> {
        let names = if names.is_empty() { &all_tubes()[..] } else { names };
        let mut tubes = Vec::new();
        for name in names {
            let Some(stock) = self.stock(name, Purpose::Final, printer) else { continue };
            if stock.tube().is_some() {
                tubes.push(stock);
            } else {
                self.not_a_tube(name);
            }
        }
        tubes
    }

    fn tube_sizes(&mut self, names: &[Stated<String>]) -> Vec<TubeSize> {
        let names = if names.is_empty() { &all_tubes()[..] } else { names };
        let mut sizes = Vec::new();
        for name in names {
            let Some(stock) = self.named(name) else { continue };
            match stock.tube() {
                Some(tube) => sizes.push(tube.size().clone()),
                None => self.not_a_tube(name),
            }
        }
        sizes
    }

    fn not_a_tube(&mut self, name: &Stated<String>) {
        let problem = STOCK_NOT_A_TUBE
            .says(format!("stock `{}` is not a tube", name.value))
            .remedy("name tubes here, such as `tube-3.2-1.6`");
        self.problems.push(name.point(problem));
    }

    fn payload(&mut self) -> Payload {
        let settings = self.job.payload();
        match (settings.symbol.value, &settings.base) {
            (SymbolText::Code, _) => Payload::Code,
            (SymbolText::Link, Some(base)) => match LinkBase::from_typed(&base.value) {
                Ok(base) => Payload::Link { base },
                Err(fault) => {
                    let problem = BAD_LINK_BASE.says(fault.to_string()).remedy(fault.remedy());
                    self.problems.push(base.point(problem));
                    Payload::Text
                }
            },
            (SymbolText::Text | SymbolText::Link, _) => Payload::Text,
        }
    }
}

/// What the printer cannot reach of the stock.
fn reach(stock: &Stock, printer: &Printer) -> Option<Problem> {
    pages::out_of_reach(stock, printer.on(stock).edges, &printer.landing)
}

/// The group of labels that a kind of tag goes on, and their size.
fn labels_for(stock: &Stock, kind: TagKind) -> Option<(usize, Size)> {
    let labels = stock.labels_for(kind)?;
    Some((labels, stock.label(labels)?))
}

/// The tubes that sleeves are made of when job.toml names none: not those with a lining, which are bought for a purpose.
fn all_tubes() -> Vec<Stated<String>> {
    let names = crate::pages::builtin().iter().map(|(name, _)| *name);
    names
        .filter(|name| name.starts_with("tube-") && !name.ends_with("-lined"))
        .map(|name| Stated::default(name.to_owned()))
        .collect()
}
