//! What a printer supports, from its answer to Get-Printer-Attributes (RFC 8011, 4.2.5). What is missing or of another type than the
//! standard says counts as not told.

use std::ops::RangeInclusive;

use ipp::model::DelimiterTag;
use ipp::value::IppValue;

use super::answer::{Answer, number, plain};
use super::media_name::{Bound, MediaName};
use super::raster::PixelType;
use super::states::printer_reason;
use crate::base::{Length, Size};

/// What is asked of a printer.
pub(super) const ASKED: [&str; 25] = [
    "printer-name",
    "printer-info",
    "printer-make-and-model",
    "printer-state",
    "printer-state-reasons",
    "printer-state-message",
    "printer-is-accepting-jobs",
    "ipp-versions-supported",
    "operations-supported",
    "document-format-supported",
    "media-supported",
    "media-ready",
    "media-size-supported",
    "media-col-database",
    "media-col-supported",
    "print-scaling-supported",
    "print-color-mode-supported",
    "sides-supported",
    "copies-supported",
    "printer-resolution-supported",
    "pwg-raster-document-type-supported",
    "pwg-raster-document-resolution-supported",
    "job-creation-attributes-supported",
    "multiple-document-handling-supported",
    "compression-supported",
];

/// The unit of `resolution` values: 3 is dots an inch, 4 dots a centimetre (RFC 8011, 5.1.16).
const DOTS_PER_INCH: i8 = 3;
const DOTS_PER_CM: i8 = 4;

/// Sizes are compared as closely as printers round them: half a millimetre.
pub(super) const NEAR: Length = Length::nm(500_000);

/// What a printer supports.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Supported {
    pub(super) name: String,
    pub(super) formats: Vec<String>,
    pub(super) media: Vec<MediaName>,
    /// What is laid in.
    pub(super) ready: Vec<MediaName>,
    pub(super) sizes: Vec<SizeRange>,
    pub(super) takes_media_size: bool,
    pub(super) scaling: Vec<String>,
    pub(super) colour_modes: Vec<String>,
    pub(super) sides: Vec<String>,
    pub(super) resolutions: Vec<(u16, u16)>,
    pub(super) copies: Option<RangeInclusive<i32>>,
    pub(super) pixels: Vec<PixelType>,
    pub(super) raster_resolutions: Vec<(u16, u16)>,
    pub(super) is_accepting: Option<bool>,
    pub(super) state: Option<i32>,
    pub(super) reasons: Vec<String>,
}

/// A size of `media-size-supported`: fixed, or from one to another.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct SizeRange {
    width: RangeInclusive<i32>,
    height: RangeInclusive<i32>,
}

impl SizeRange {
    fn holds(&self, (width, height): (i32, i32)) -> bool {
        let near = hundredths(NEAR);
        let within = |range: &RangeInclusive<i32>, value: i32| {
            value >= range.start().saturating_sub(near) && value <= range.end().saturating_add(near)
        };
        within(&self.width, width) && within(&self.height, height)
    }
}

/// A length in the unit of IPP: hundredths of a millimetre (PWG 5100.3, 3.13).
pub(super) fn hundredths(length: Length) -> i32 {
    (length.as_mm() * 100.0).round().clamp(0.0, f64::from(i32::MAX)) as i32
}

impl Supported {
    pub(super) fn of(answer: &Answer) -> Self {
        const PRINTER: DelimiterTag = DelimiterTag::PrinterAttributes;
        let words = |name: &str| answer.words(PRINTER, name);
        let names = |name: &str| words(name).iter().filter_map(|word| MediaName::read(word)).collect();
        let resolutions = |name: &str| answer.values(PRINTER, name).into_iter().filter_map(resolution).collect();
        let name = ["printer-info", "printer-make-and-model", "printer-name"];
        let name = name.iter().flat_map(|name| words(name)).map(|name| plain(&name)).find(|name| !name.is_empty());
        let pixels = words("pwg-raster-document-type-supported");
        let pixels = pixels.iter().filter_map(|word| PixelType::WORDS.iter().find(|(known, _)| known == word));
        let copies = answer.values(PRINTER, "copies-supported").into_iter().find_map(|value| match value {
            IppValue::RangeOfInteger { min, max } => Some(*min..=*max),
            other => number(other).map(|most| 1..=most),
        });
        let is_accepting =
            answer.values(PRINTER, "printer-is-accepting-jobs").into_iter().find_map(|value| match value {
                IppValue::Boolean(is_accepting) => Some(*is_accepting),
                _ => None,
            });
        // Some tell their sizes in the one, some in the other, some in both (PWG 5100.7).
        let mut sizes = answer.values(PRINTER, "media-size-supported");
        sizes.extend(
            answer.values(PRINTER, "media-col-database").into_iter().filter_map(|media| member(media, "media-size")),
        );
        Self {
            name: name.unwrap_or_else(|| "a printer without a name".to_owned()),
            formats: words("document-format-supported"),
            media: names("media-supported"),
            ready: names("media-ready"),
            sizes: sizes.into_iter().filter_map(size_range).collect(),
            takes_media_size: words("media-col-supported").iter().any(|member| member == "media-size"),
            scaling: words("print-scaling-supported"),
            colour_modes: words("print-color-mode-supported"),
            sides: words("sides-supported"),
            resolutions: resolutions("printer-resolution-supported"),
            copies,
            pixels: pixels.map(|(_, pixels)| *pixels).collect(),
            raster_resolutions: resolutions("pwg-raster-document-resolution-supported"),
            is_accepting,
            state: answer.number(PRINTER, "printer-state"),
            reasons: words("printer-state-reasons"),
        }
    }

    /// What a printer of the usual kind supports, where none tells: PDF, every size, no scaling, one side, black.
    pub(super) fn assumed(size: Size, dpi: u32) -> Self {
        let words = |words: &[&str]| words.iter().map(|word| (*word).to_owned()).collect();
        let around = |length: Length| {
            let exact = hundredths(length);
            exact..=exact
        };
        let fixed = |size: Size| SizeRange { width: around(size.width), height: around(size.height) };
        let dpi = u16::try_from(dpi).unwrap_or(u16::MAX);
        Self {
            formats: words(&["application/pdf"]),
            media: ["iso_a4_210x297mm", "na_letter_8.5x11in"].into_iter().filter_map(MediaName::read).collect(),
            sizes: vec![fixed(size), fixed(size.exchanged())],
            takes_media_size: true,
            scaling: words(&["none"]),
            colour_modes: words(&["monochrome", "color"]),
            sides: words(&["one-sided"]),
            resolutions: vec![(dpi, dpi)],
            copies: Some(1..=i32::from(u16::MAX)),
            ..Self::default()
        }
    }

    /// What the printer says of itself that somebody should know, in words.
    pub(super) fn troubles(&self) -> Vec<String> {
        self.reasons.iter().filter_map(|reason| printer_reason(reason)).collect()
    }

    /// Whether it takes this kind of document.
    pub(super) fn takes(&self, format: &str) -> bool {
        self.formats.iter().any(|known| known.eq_ignore_ascii_case(format))
    }

    /// The nearest size with a name of its own, of those that are laid in first.
    pub(super) fn named(&self, size: Size) -> Option<&MediaName> {
        let off = |name: &MediaName| {
            let (width, height) = (name.size().width - size.width, name.size().height - size.height);
            width.abs().max(height.abs())
        };
        let near = |names: &'_ [MediaName]| {
            let fixed = names.iter().enumerate().filter(|(_, name)| name.bound().is_none() && off(name) <= NEAR);
            fixed.min_by_key(|(_, name)| off(name)).map(|(index, _)| index)
        };
        near(&self.ready).map(|index| &self.ready[index]).or_else(|| near(&self.media).map(|index| &self.media[index]))
    }

    /// Whether it takes any size between two, and this is one of them.
    pub(super) fn takes_size(&self, size: Size) -> bool {
        let wanted = (hundredths(size.width), hundredths(size.height));
        self.sizes.iter().any(|range| range.holds(wanted)) || self.between_bounds(size)
    }

    /// Whether the size lies between the names of the smallest and the largest custom size.
    fn between_bounds(&self, size: Size) -> bool {
        let of = |bound| self.media.iter().filter(move |name| name.bound() == Some(bound)).map(MediaName::size);
        let least =
            of(Bound::Least).any(|least| least.width <= size.width + NEAR && least.height <= size.height + NEAR);
        least && of(Bound::Most).any(|most| most.width + NEAR >= size.width && most.height + NEAR >= size.height)
    }

    /// Whether this size is laid in, as far as the printer tells.
    pub(super) fn is_ready(&self, size: Size) -> Option<bool> {
        let is_near = |name: &MediaName| {
            let is_endless = name.size().height == Length::ZERO;
            (name.size().width - size.width).abs() <= NEAR
                && (is_endless || (name.size().height - size.height).abs() <= NEAR)
        };
        (!self.ready.is_empty()).then(|| self.ready.iter().any(is_near))
    }
}

fn resolution(value: &IppValue) -> Option<(u16, u16)> {
    let IppValue::Resolution { cross_feed, feed, units } = value else { return None };
    let as_dpi = |dots: i32| {
        let dots = match *units {
            DOTS_PER_INCH => f64::from(dots),
            DOTS_PER_CM => f64::from(dots) * 2.54,
            _ => return None,
        };
        (50.0..=9600.0).contains(&dots).then(|| dots.round() as u16)
    };
    Some((as_dpi(*cross_feed)?, as_dpi(*feed)?))
}

/// A member of a collection.
fn member<'a>(value: &'a IppValue, name: &str) -> Option<&'a IppValue> {
    let IppValue::Collection(members) = value else { return None };
    members.iter().find(|(known, _)| known.as_str() == name).map(|(_, value)| value)
}

fn size_range(value: &IppValue) -> Option<SizeRange> {
    let range = |name: &str| match member(value, name)? {
        IppValue::RangeOfInteger { min, max } => Some(*min..=*max),
        other => number(other).map(|length| length..=length),
    };
    Some(SizeRange { width: range("x-dimension")?, height: range("y-dimension")? })
}
