//! The readability trial: the rules by which a symbol is given its size, against pictures as a phone takes them.
//!
//! Each kind is printed at the very edge of its rule (smallest module; round a wire also the smallest diameter), photographed by the
//! model of `tests/camera`, and read the way `scan` reads a photograph. It must nearly always be read there, clearly less often
//! below the edge (or the trial could not fail), and no less often with a larger module.
//!
//! Below the edge, for every kind, is 0.7 of the module on the same printer, whose dots the modules then no longer meet; round a wire
//! with 0.7 of the diameter too, so that the symbol fills the same angle. Round a wire the diameter is tried on its own besides:
//! the same module, and more of an angle than the rule allows. The low Data Matrix stands that: its eight rows bend so little
//! that its rule is on the safe side, and only its module is asked about.
//!
//! At 600 dots an inch the module is as at 300 and its dots finer, which is easier: such a QR 2-M reads as well at the edge, and
//! 95 of a hundred at 0.7 of the module. A flat QR code is lost by dots that modules do not meet before it is lost by blur.
//!
//! Round a wire it matters that the tag is turned to the lens. With less blur, of 200 pictures at the edge these per cent were read
//! while the lens stood up to 5, 10 and 15 degrees off: 8x18 100, 99, 99; 14x14 98, 97, 89; QR 1-M 99, 96, 89.
//!
//! `cargo test --test all trial -- --nocapture` prints the percentages. With `LOOMTAG_TRIAL_PICTURES` set, the first pictures of
//! every series are written to `target/trial/`.

use std::fs;

use camera::{Ground, Picture, photograph};
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use loomtag::base::Length;
use loomtag::layout::symbol::{
    Symbol, SymbolKind, dots, is_readable_round, smallest_module_dots, smallest_round_diameter,
};
use loomtag::proof::read_image;
use rayon::prelude::*;

use crate::kit::project;

/// Pictures at the edge of a rule, and of each series that is compared with it.
const AT_THE_EDGE: u64 = 210;
const BESIDE_IT: u64 = 80;

/// Share that must be read at the edge, per cent.
const READ_AT_THE_EDGE: f64 = 96.0;

/// By how many of a hundred pictures fewer must be read below the edge.
const CLEARLY_FEWER: f64 = 15.0;

/// How far below the edge the trial goes.
const BELOW: f64 = 0.7;

/// Pictures of a series that are written down.
const SHOWN: u64 = 3;

/// A symbol on a printer, and where it stands.
struct Trial {
    symbol: Symbol,
    dpi: u16,
    stands: Stands,
}

#[derive(Clone, Copy, PartialEq)]
enum Stands {
    Flat,
    Round,
}

/// The symbol in one size.
struct Series<'a> {
    trial: &'a Trial,
    /// Dots of a module; not whole below the edge.
    module_dots: f64,
    diameter: Option<Length>,
    name: &'static str,
}

/// Percentages of one trial.
struct Outcome {
    edge: f64,
    larger: f64,
    less_module: f64,
    less_diameter: Option<f64>,
}

impl Trial {
    fn new(symbol: Option<Symbol>, dpi: u16, stands: Stands) -> Self {
        Self { symbol: symbol.expect("the text fits"), dpi, stands }
    }

    fn name(&self) -> String {
        let on = if self.stands == Stands::Flat { "flat" } else { "round" };
        format!("{} {on} {} dpi", self.symbol.kind, self.dpi)
    }

    fn module(&self, module_dots: f64) -> Length {
        dots(1, self.dpi).scaled(module_dots)
    }

    fn smallest_diameter(&self, module_dots: f64) -> Option<Length> {
        let smallest = smallest_round_diameter(self.symbol.kind, self.module(module_dots));
        (self.stands == Stands::Round).then_some(smallest)
    }

    /// The symbol at the edge of its rule, and the same with this module.
    fn series(&self, name: &'static str, module_dots: f64) -> Series<'_> {
        Series { trial: self, module_dots, diameter: self.smallest_diameter(module_dots), name }
    }

    fn run(&self) -> Outcome {
        let least = smallest_module_dots(self.dpi) as f64;
        let less_diameter = self.smallest_diameter(least).map(|smallest| {
            let diameter = smallest.scaled(BELOW);
            assert!(!is_readable_round(self.symbol.kind, self.module(least), diameter), "beyond the rule");
            let series = Series { diameter: Some(diameter), ..self.series("diameter-0.7", least) };
            series.percent_read(BESIDE_IT)
        });
        Outcome {
            edge: self.series("edge", least).percent_read(AT_THE_EDGE),
            larger: self.series("larger", least + 1.0).percent_read(BESIDE_IT),
            less_module: self.series("module-0.7", least * BELOW).percent_read(BESIDE_IT),
            less_diameter,
        }
    }
}

impl Series<'_> {
    fn percent_read(&self, pictures: u64) -> f64 {
        let read = (0..pictures).into_par_iter().filter(|&seed| self.is_read(seed)).count();
        read as f64 * 100.0 / pictures as f64
    }

    /// Whether the symbol is read in the picture of this seed. Anything that is read and wrong ends the trial.
    fn is_read(&self, seed: u64) -> bool {
        let symbol = &self.trial.symbol;
        let printed = camera::Symbol {
            columns: symbol.modules.columns.into(),
            rows: symbol.modules.rows.into(),
            dark: &symbol.modules.dark,
            quiet: symbol.kind.quiet_modules() as usize,
            module: self.trial.module(self.module_dots).as_mm(),
            module_dots: self.module_dots,
        };
        let ground = self.diameter.map_or(Ground::Flat, |diameter| Ground::Round { diameter: diameter.as_mm() });
        let png = png(&photograph(&printed, ground, seed));
        if seed < SHOWN && std::env::var_os("LOOMTAG_TRIAL_PICTURES").is_some() {
            self.show(&png, seed);
        }
        let sightings = read_image(&png).expect("a picture");
        for sighting in &sightings {
            assert_eq!(sighting.text, symbol.payload, "{}, {}, seed {seed}", self.trial.name(), self.name);
        }
        !sightings.is_empty()
    }

    fn show(&self, png: &[u8], seed: u64) {
        let folder = project().join("target/trial");
        fs::create_dir_all(&folder).expect("a folder");
        let name = format!("{} {} {seed}.png", self.trial.name(), self.name).replace(' ', "-");
        fs::write(folder.join(name), png).expect("written");
    }
}

/// Not compressed: that would take longer than reading.
fn png(picture: &Picture) -> Vec<u8> {
    let mut bytes = Vec::new();
    let side = |pixels: usize| u32::try_from(pixels).expect("a small picture");
    PngEncoder::new_with_quality(&mut bytes, CompressionType::Uncompressed, FilterType::NoFilter)
        .write_image(&picture.luma, side(picture.width), side(picture.height), ExtendedColorType::L8)
        .expect("memory takes it");
    bytes
}

#[test]
#[expect(clippy::print_stdout, reason = "the percentages are the outcome of the trial")]
fn trial_of_every_kind_at_the_edge_of_its_rule() {
    let qr = |dpi, stands, payload| Trial::new(Symbol::qr(payload), dpi, stands);
    let matrix = |kind, stands| Trial::new(Symbol::data_matrix("7KF4 A", kind), 300, stands);
    let link = "HTTP://TAGS.EXAMPLE/7KF4/A";
    let trials = [
        qr(300, Stands::Flat, "7KF4 A"),
        qr(300, Stands::Flat, link),
        qr(203, Stands::Flat, link),
        qr(300, Stands::Flat, "7KF4 A RAIL PRESSURE SIGNAL J1/14-X3/2 BU/WH"),
        matrix(SymbolKind::DataMatrixSquare, Stands::Flat),
        matrix(SymbolKind::DataMatrixLow, Stands::Flat),
        matrix(SymbolKind::DataMatrixLow, Stands::Round),
        matrix(SymbolKind::DataMatrixSquare, Stands::Round),
        qr(300, Stands::Round, "7KF4 A"),
    ];
    println!("read of a hundred                 module  diameter   edge  larger  module 0.7  diameter 0.7");
    let mut faults = Vec::new();
    for trial in &trials {
        let outcome = trial.run();
        let least = smallest_module_dots(trial.dpi) as f64;
        let diameter =
            trial.smallest_diameter(least).map_or_else(|| "flat".to_owned(), |it| format!("{:.1}", it.as_mm()));
        let less_diameter = outcome.less_diameter.map_or_else(String::new, |percent| format!("{percent:.1}"));
        println!(
            "{:<32} {:>7.3} {diameter:>9} {:>6.1} {:>7.1} {:>11.1} {less_diameter:>13}",
            trial.name(),
            trial.module(least).as_mm(),
            outcome.edge,
            outcome.larger,
            outcome.less_module,
        );
        faults.extend(outcome.faults(trial.symbol.kind).into_iter().map(|fault| format!("{}: {fault}", trial.name())));
    }
    assert!(faults.is_empty(), "{faults:#?}");
}

impl Outcome {
    fn faults(&self, kind: SymbolKind) -> Vec<&'static str> {
        let is_fewer = |percent: f64| percent <= self.edge - CLEARLY_FEWER;
        let is_bend_asked = kind != SymbolKind::DataMatrixLow;
        let checks = [
            (self.edge >= READ_AT_THE_EDGE, "too few are read at the edge"),
            // A picture or two of a hundred may go either way.
            (self.larger >= self.edge - 2.0, "fewer are read with a larger module"),
            (is_fewer(self.less_module), "as many are read with a smaller module"),
            (!is_bend_asked || self.less_diameter.is_none_or(is_fewer), "as many are read round a smaller diameter"),
        ];
        checks.into_iter().filter_map(|(holds, fault)| (!holds).then_some(fault)).collect()
    }
}
