//! The stocks and printers of a job, looked up and checked, and the fit of a tag to them.
//!
//! In: the settings of job.toml. Out: for each label a [`Made`] tag and the stock it goes on, or why there is none.

use std::fs;
use std::io;

use super::job::Job;
use super::problems::{
    BAD_LINK_BASE, FONT_NOT_FOUND, FONT_NOT_LICENSED, FONT_TOO_BIG, STOCK_NOT_A_TUBE, STOCK_NOT_FOR_FLAGS,
    STOCK_NOT_FOR_STRIPS, UNKNOWN_STOCK, UNKNOWN_WORDING, UNREADABLE_FONT, UNREADABLE_TEMPLATE, UNUSABLE_FONT,
    VARIABLE_FONT,
};
use super::settings::{FinalTag, FontName, Printer, SymbolText};
use crate::base::nearest::did_you_mean_or_choose;
use crate::base::{Checked, Insulation, Length, Problem, Purpose, Source, Stated};
use crate::codes::link::{LinkBase, Payload};
use crate::labels::{Label, Wording};
use crate::layout::flag::{self, FlagStock, Posture};
use crate::layout::sleeve::{self, SleeveStock};
use crate::layout::strip::{self, StripStock};
use crate::layout::text::Fonts;
use crate::layout::{Fitted, Fitting, Floors, FontFault, FontFile, Refusal, TubeSize, wire};
use crate::pages::{Geometry, Stock};
use crate::pdf;

/// A sleeve longer than this is hard to thread and to shrink evenly (common practice).
const LONGEST_SLEEVE: Length = Length::nm(60_000_000);
/// A strip longer than this is hard to slide under its tube (common practice).
const LONGEST_STRIP: Length = Length::nm(90_000_000);
/// A font file larger than this is not read; collections of all of East Asia are smaller.
const LARGEST_FONT: u64 = 64 << 20;

/// All that tags of a job are made with.
pub struct Equipment {
    fonts: Fonts,
    font_files: Vec<FontFile>,
    floors: Floors,
    sleeve_floors: Floors,
    payload: Payload,
    stocks: Vec<StockInUse>,
    work: FlagStock,
    sleeves: Option<SleeveStock>,
    strips: StripStock,
    wordings: Wordings,
    insulation: Option<Insulation>,
}

/// What tags say, by what they are.
struct Wordings {
    /// Flags, wraps and tie-ons.
    flat: Wording,
    /// Sleeves and strips.
    round: Wording,
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

/// A tag fitted, and the stock it goes on by its place in [`Equipment::stocks`].
#[derive(Clone, Debug, PartialEq)]
pub struct Made {
    /// Frame and facts.
    pub tag: Fitted,
    /// Index of the stock.
    pub stock: usize,
}

/// Places of the stocks in [`Equipment::stocks`]: flags first, strips second, tubes after them.
pub(super) const FLAGS: usize = 0;
const STRIPS: usize = 1;
const TUBES: usize = 2;

impl Equipment {
    /// Looks up all that job.toml names. Problems point into job.toml or into the job's own stock files.
    pub fn of(job: &Job) -> Checked<Option<Self>> {
        let mut lookup = Lookup { job, problems: Vec::new() };
        let tags = job.tags();
        let work = lookup.stock(&tags.work_stock, Purpose::Work, job.printer());
        let strips = lookup.stock(&tags.strip_stock, Purpose::Final, job.printer());
        let clear_tubes = lookup.tube_sizes(&tags.clear_tubes);
        let sleeve_printer = job.sleeve_printer().filter(|_| tags.final_tag.value == FinalTag::Sleeve);
        let tubes = sleeve_printer.map(|printer| (printer, lookup.tubes(&tags.tubes, printer)));
        let payload = lookup.payload();
        let named = job.wordings();
        let wordings = lookup.wording(&named.flat).zip(lookup.wording(&named.round));

        let font_files = lookup.fonts();

        let mut problems = lookup.problems;
        let (Some(work), Some(strips), Some((flat, round))) = (work, strips, wordings) else {
            return Checked { value: None, problems };
        };
        let wordings = Wordings { flat, round };
        let Some(label) = work.label() else {
            let message = format!("stock `{}` has no labels of its own for flags", work.name());
            let remedy = "name a sheet or roll of labels, or `a4-paper-33-60x24` for plain paper";
            problems.push(tags.work_stock.point(STOCK_NOT_FOR_FLAGS.says(message).remedy(remedy)));
            return Checked { value: None, problems };
        };
        if !matches!(strips.geometry(), Geometry::Paper(_)) {
            let message = format!("stock `{}` is not paper that strips are cut from", strips.name());
            let remedy = "name `a4-paper-strips` or `letter-paper-strips`";
            problems.push(tags.strip_stock.point(STOCK_NOT_FOR_STRIPS.says(message).remedy(remedy)));
            return Checked { value: None, problems };
        }

        let flag =
            FlagStock { label, thickness: work.thickness(), posture: Posture::Standing, dpi: dpi(job.printer()) };
        let strip =
            StripStock { thickness: strips.thickness(), clear_tubes, longest: LONGEST_STRIP, dpi: dpi(job.printer()) };
        let in_use = |stock, printer: &Printer, purpose| StockInUse { stock, printer: printer.clone(), purpose };
        let mut stocks =
            vec![in_use(work, job.printer(), Purpose::Work), in_use(strips, job.printer(), Purpose::Final)];
        let sleeves = tubes.map(|(printer, tubes)| {
            let sizes = tubes.iter().filter_map(|stock| stock.tube().map(|tube| tube.size().clone())).collect();
            stocks.extend(tubes.into_iter().map(|stock| in_use(stock, printer, Purpose::Final)));
            SleeveStock { tubes: sizes, longest: LONGEST_SLEEVE, dpi: dpi(printer) }
        });
        let fonts = Fonts::with_fallbacks(font_files.clone());
        let equipment = Self {
            floors: Floors::at(dpi(job.printer()), &fonts),
            sleeve_floors: Floors::at(dpi(job.sleeve_printer().unwrap_or(job.printer())), &fonts),
            fonts,
            font_files,
            payload,
            stocks,
            work: flag,
            sleeves,
            strips: strip,
            wordings,
            insulation: job.insulation(),
        };
        Checked { value: Some(equipment), problems }
    }

    /// Fits a label to the stock of its purpose: work tags are flags; final tags are sleeves where the job has a printer for
    /// them and a tube that fits, else strips.
    ///
    /// # Errors
    /// The [`Refusal`] of the last kind that was tried.
    pub fn make(&self, label: &Label) -> Result<Made, Refusal> {
        let wording = match label.purpose {
            Purpose::Work => &self.wordings.flat,
            Purpose::Final => &self.wordings.round,
        };
        let diameter = wire::diameter(&label.wires, self.insulation);
        let fitting = Fitting { fonts: &self.fonts, floors: &self.floors, label, wording, diameter };
        match label.purpose {
            Purpose::Work => {
                let tag = flag::fit(&fitting, &self.work)?;
                Ok(Made { tag, stock: FLAGS })
            }
            Purpose::Final => {
                if let Some(sleeves) = &self.sleeves
                    && let Ok(sleeve) = sleeve::fit(&Fitting { floors: &self.sleeve_floors, ..fitting }, sleeves)
                {
                    return Ok(Made { tag: sleeve.tag, stock: TUBES + sleeve.tube });
                }
                let tag = strip::fit(&fitting, &self.strips)?;
                Ok(Made { tag, stock: STRIPS })
            }
        }
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

struct Lookup<'a> {
    job: &'a Job,
    problems: Vec<Problem>,
}

impl Lookup<'_> {
    /// A stock by name: one of the job's own, or one that comes with the program.
    fn named(&mut self, name: &Stated<String>) -> Option<Stock> {
        if let Some((file, text)) = self.own_file("stock", name) {
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

    /// The job's own file of this name in a folder of its own, with its path in the job folder.
    #[expect(clippy::disallowed_methods, reason = "`run` reads the job folder")]
    fn own_file(&mut self, folder: &str, name: &Stated<String>) -> Option<(String, String)> {
        let is_plain = name.value.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '.' | '_'));
        if !is_plain {
            return None;
        }
        let file = format!("{folder}/{}.toml", name.value);
        match fs::read_to_string(self.job.folder().join(&file)) {
            Ok(text) => Some((file, text)),
            Err(error) if error.kind() == io::ErrorKind::NotFound => None,
            Err(error) => {
                let problem = UNREADABLE_TEMPLATE.says(format!("`{file}` cannot be read: {error}"));
                self.problems.push(name.point(problem.remedy("make it a readable file of UTF-8 text")));
                None
            }
        }
    }

    /// A wording by name: one of the job's own, or one that comes with the program.
    fn wording(&mut self, name: &Stated<String>) -> Option<Wording> {
        if let Some((file, text)) = self.own_file("templates", name) {
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

    #[expect(clippy::disallowed_methods, reason = "`run` reads the job folder")]
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
        let file = FontFile::open(fs::read(&path).map_err(refused)?, name.number).map_err(|fault| {
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
        self.problems.extend(complaints.into_iter().map(|problem| name.point(problem)));
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

fn all_tubes() -> Vec<Stated<String>> {
    let names = crate::pages::builtin().iter().map(|(name, _)| *name);
    names.filter(|name| name.starts_with("tube-")).map(|name| Stated::default(name.to_owned())).collect()
}
