//! Stock: what tags are printed on, by geometry and material facts. Checked once, when its file is read.

use std::fmt;
use std::sync::Arc;

use super::form::LabelForm;
use super::problems::{
    DIRECT_THERMAL_UNDER_SHRINK, PAPER_AS_FINAL_TAG, STOCK_NOT_FOR_PRINTER, STOCK_NOT_FOR_PURPOSE, TOO_COLD_TO_SHRINK,
    TUBE_IN_OFFICE_PRINTER,
};
use super::sheet::{Cut, Labels, Sheet};
use super::stock_file;
use crate::base::{Checked, Length, Problem, Purpose, Size, Source, TagKind};
use crate::layout::TubeSize;
use crate::layout::tie_on::Punching;

/// What shrinking brings to the surface of what lies under the tube: 90 to 120 degrees Celsius (common practice).
const SHRINKING: i32 = 120;

/// Label material, paper or tube that tags are printed on.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    // Written by `stock_file` alone, which checks them.
    pub(super) name: String,
    pub(super) geometry: Geometry,
    pub(super) thickness: Length,
    pub(super) surface: Surface,
    pub(super) printers: Vec<PrinterKind>,
    pub(super) highest_temperature: Option<i32>,
    pub(super) purposes: Vec<Purpose>,
}

/// The shape in which stock goes through the printer.
#[derive(Clone, Debug, PartialEq)]
pub enum Geometry {
    /// A sheet of labels, or of plain paper cut along printed lines.
    Sheet(Sheet),
    /// A roll: one label a page, the page is the label.
    Roll(Roll),
    /// Heat-shrink tube: a page is a strip of it, pressed flat.
    Tube(Tube),
    /// Paper or film from which strips are cut, each as large as its tag needs.
    Paper(Size),
}

/// A roll of equal labels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Roll {
    pub(super) label: Size,
    pub(super) corner_radius: Length,
    pub(super) form: LabelForm,
}

/// A tube as it is fed to the printer.
#[derive(Clone, Debug, PartialEq)]
pub struct Tube {
    pub(super) size: TubeSize,
    pub(super) piece: Length,
}

/// What the printed side is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Surface {
    /// Paper.
    Paper,
    /// Polyester or other plastic film.
    Film,
    /// Soft vinyl.
    Vinyl,
    /// Heat-shrink tube.
    Tube,
}

/// How a printer makes its mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PrinterKind {
    /// Toner, fused by heat.
    Laser,
    /// Ink.
    Inkjet,
    /// A ribbon, melted on.
    ThermalTransfer,
    /// Heat on paper that blackens.
    DirectThermal,
}

/// Words of stock files for the printed side.
pub(super) const SURFACES: [(&str, Surface); 4] =
    [("paper", Surface::Paper), ("film", Surface::Film), ("vinyl", Surface::Vinyl), ("tube", Surface::Tube)];

impl PrinterKind {
    /// Words of stock files and of job.toml.
    pub const WORDS: [(&str, Self); 4] = [
        ("laser", Self::Laser),
        ("inkjet", Self::Inkjet),
        ("thermal-transfer", Self::ThermalTransfer),
        ("direct-thermal", Self::DirectThermal),
    ];
}

impl Stock {
    /// Reads a stock file. The value is withheld while errors stand; each problem points into the file.
    pub fn from_toml(source: &Arc<Source>) -> Checked<Option<Self>> {
        stock_file::read(source)
    }

    /// The stock of this name that comes with the program.
    pub fn builtin(name: &str) -> Option<Self> {
        let (name, text) = super::catalogue::builtin().iter().find(|(known, _)| *known == name)?;
        Self::from_toml(&Source::new(format!("{name}.toml"), *text)).value
    }

    /// Its name, by geometry: `a4-65-38x21`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its shape.
    pub fn geometry(&self) -> &Geometry {
        &self.geometry
    }

    /// Whether its plates come with their holes: those of plain paper do not.
    pub fn punching(&self) -> Punching {
        match &self.geometry {
            Geometry::Sheet(sheet) if sheet.cut() == Cut::Lines => Punching::ToDo,
            _ => Punching::Done,
        }
    }

    /// Thickness of one layer as it lies on the wire, without liner; of a tube the wall as supplied.
    pub fn thickness(&self) -> Length {
        self.thickness
    }

    /// What its printed side is made of.
    pub fn surface(&self) -> Surface {
        self.surface
    }

    /// The kinds of printers it is made for.
    pub fn printers(&self) -> &[PrinterKind] {
        &self.printers
    }

    /// The highest temperature it stands, in degrees Celsius, where it is known.
    pub fn highest_temperature(&self) -> Option<i32> {
        self.highest_temperature
    }

    /// Whether it is good for tags of this purpose.
    pub fn is_good_for(&self, purpose: Purpose) -> bool {
        self.purposes.contains(&purpose)
    }

    /// Number of its groups of labels: 1 for a roll, 0 where the stock has no labels of its own.
    pub fn groups(&self) -> usize {
        match &self.geometry {
            Geometry::Sheet(sheet) => sheet.groups().len(),
            Geometry::Roll(_) => 1,
            Geometry::Tube(_) | Geometry::Paper(_) => 0,
        }
    }

    /// The first group of labels on which tags of this kind are made: flags on plain labels, wraps on those with a clear tail, tie-ons
    /// on plates with holes.
    pub fn labels_for(&self, kind: TagKind) -> Option<usize> {
        (0..self.groups()).find(|labels| self.form(*labels).takes(kind))
    }

    /// What the labels of a group are made for; plain where there is no such group.
    pub fn form(&self, labels: usize) -> LabelForm {
        match &self.geometry {
            Geometry::Sheet(sheet) => sheet.groups().get(labels).map_or(LabelForm::Plain, Labels::form),
            Geometry::Roll(roll) => roll.form,
            Geometry::Tube(_) | Geometry::Paper(_) => LabelForm::Plain,
        }
    }

    /// Size of the piece of a group that takes one tag (a slice of a split label), where the stock decides it.
    pub fn label(&self, labels: usize) -> Option<Size> {
        match &self.geometry {
            Geometry::Sheet(sheet) => sheet.groups().get(labels).map(Labels::slice),
            Geometry::Roll(roll) => Some(roll.label),
            Geometry::Tube(_) | Geometry::Paper(_) => None,
        }
    }

    /// Radius of the corners of whole labels of a group (slices have it at their outer corners only); zero where the stock decides none.
    pub fn corner_radius(&self, labels: usize) -> Length {
        match &self.geometry {
            Geometry::Sheet(sheet) => sheet.groups().get(labels).map_or(Length::ZERO, Labels::corner_radius),
            Geometry::Roll(roll) => roll.corner_radius,
            Geometry::Tube(_) | Geometry::Paper(_) => Length::ZERO,
        }
    }

    /// The tube, where the stock is one.
    pub fn tube(&self) -> Option<&Tube> {
        match &self.geometry {
            Geometry::Tube(tube) => Some(tube),
            _ => None,
        }
    }

    /// Where stock, purpose and printer disagree. The problems name no place: whoever asks knows which setting is at odds.
    pub fn suits(&self, purpose: Purpose, printer: PrinterKind) -> Vec<Problem> {
        let name = &self.name;
        let office = matches!(printer, PrinterKind::Laser | PrinterKind::Inkjet);
        let is_strip_paper = matches!(self.geometry, Geometry::Paper(_));
        let mut problems = Vec::new();
        if self.surface == Surface::Tube && office {
            let message = format!("heat-shrink tube `{name}` must never go through a printer of kind {printer}");
            let remedy = "print sleeves on a thermal transfer printer, or strips under clear tube on paper";
            problems.push(TUBE_IN_OFFICE_PRINTER.says(message).remedy(remedy));
        } else if !self.printers.contains(&printer) {
            let message = format!("stock `{name}` is not declared for a printer of kind {printer}");
            let declared: Vec<_> = self.printers.iter().map(PrinterKind::to_string).collect();
            let remedy = format!("it is declared for {}", declared.join(", "));
            problems.push(STOCK_NOT_FOR_PRINTER.says(message).remedy(remedy));
        }
        if purpose == Purpose::Final && self.surface == Surface::Paper && !is_strip_paper {
            let message = format!("stock `{name}` is paper, which does not last as a final tag");
            let remedy = "use sleeves, strips under clear tube, or film";
            problems.push(PAPER_AS_FINAL_TAG.says(message).remedy(remedy));
        } else {
            if !self.is_good_for(purpose) {
                let message = format!("stock `{name}` is not declared for {} tags", purpose);
                problems.push(STOCK_NOT_FOR_PURPOSE.says(message));
            }
            let highest = self.highest_temperature.filter(|&highest| highest < SHRINKING);
            if let Some(highest) = highest.filter(|_| purpose == Purpose::Final) {
                let message =
                    format!("stock `{name}` stands {highest} °C, and shrinking brings 90 to {SHRINKING} °C to it");
                let remedy = "use paper, or polyester film that stands the heat";
                problems.push(TOO_COLD_TO_SHRINK.says(message).remedy(remedy));
            }
        }
        if purpose == Purpose::Final && printer == PrinterKind::DirectThermal {
            let message = format!("direct thermal print on `{name}` blackens under a heat gun");
            let remedy = "use a thermal transfer printer for what will be shrunk";
            problems.push(DIRECT_THERMAL_UNDER_SHRINK.says(message).remedy(remedy));
        }
        problems
    }
}

impl Roll {
    /// Size of a label, and so of a page.
    pub fn label(&self) -> Size {
        self.label
    }

    /// Radius of its corners.
    pub fn corner_radius(&self) -> Length {
        self.corner_radius
    }

    /// What it is made for.
    pub fn form(&self) -> LabelForm {
        self.form
    }
}

impl Tube {
    /// The size of the tube.
    pub fn size(&self) -> &TubeSize {
        &self.size
    }

    /// Length of one piece fed to the printer.
    pub fn piece(&self) -> Length {
        self.piece
    }
}

/// In the words of stock files: `thermal-transfer`.
impl fmt::Display for PrinterKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = Self::WORDS.iter().find(|(_, kind)| kind == self).map_or("", |(word, _)| word);
        f.pad(word)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::Severity;

    #[test]
    fn stock_and_use_may_disagree() {
        let ids = |name: &str, purpose, printer| -> Vec<(&str, Severity)> {
            let stock = Stock::builtin(name).expect("comes with the program");
            stock.suits(purpose, printer).iter().map(|problem| (problem.id, problem.severity)).collect()
        };
        let (error, warning) = (Severity::Error, Severity::Warning);
        assert_eq!(ids("a4-65-38x21", Purpose::Work, PrinterKind::Laser), []);
        assert_eq!(ids("a4-65-38x21", Purpose::Final, PrinterKind::Laser), [("paper-as-final-tag", warning)]);
        assert_eq!(ids("tube-3.2-1.6", Purpose::Final, PrinterKind::ThermalTransfer), []);
        assert_eq!(ids("tube-3.2-1.6", Purpose::Final, PrinterKind::Inkjet), [("tube-in-office-printer", error)]);
        assert_eq!(
            ids("tube-3.2-1.6", Purpose::Work, PrinterKind::ThermalTransfer),
            [("stock-not-for-purpose", warning)]
        );
        assert_eq!(ids("a4-paper-strips", Purpose::Final, PrinterKind::Inkjet), []);
        assert_eq!(ids("roll-62x29", Purpose::Work, PrinterKind::Laser), [("stock-not-for-printer", warning)]);
        assert_eq!(
            ids("roll-62x29", Purpose::Final, PrinterKind::DirectThermal),
            [("paper-as-final-tag", warning), ("direct-thermal-under-shrink", warning)]
        );
        assert_eq!(
            ids("a4-49-25x38-wrap13", Purpose::Final, PrinterKind::Laser),
            [("stock-not-for-purpose", warning), ("too-cold-to-shrink", warning)]
        );
        assert_eq!(ids("roll-76x25-film", Purpose::Final, PrinterKind::ThermalTransfer), []);
    }
}
