//! What a job asks of the printer: the attributes that go with a document, chosen from what the printer supports.
//!
//! Nothing is asked that the printer does not list: what it would ignore in silence is told as a note instead.

use ipp::attribute::IppAttribute;
use ipp::value::{IppName, IppValue};

use super::exchange::{attribute, keyword, keywords};
use super::failure::SendFailure;
use super::media_name::MediaName;
use super::raster::PixelType;
use super::supported::{Supported, hundredths};
use crate::base::{Page, Remedy, Size};

const PDF: &str = "application/pdf";
const PWG_RASTER: &str = "image/pwg-raster";

/// What shall be printed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Wanted {
    /// Size of its pages.
    pub(super) size: Size,
    /// Whether the page is as wide as the medium is long: tube, which is fed lengthwise.
    pub(super) is_along: bool,
    /// Dots an inch of the printer it was made for.
    pub(super) dpi: u32,
    pub(super) copies: u16,
    pub(super) is_colour: bool,
}

/// How the pages are sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Format {
    Pdf,
    Raster(PixelType, u16),
}

impl Format {
    /// Its media type.
    pub(super) const fn media_type(self) -> &'static str {
        match self {
            Self::Pdf => PDF,
            Self::Raster(..) => PWG_RASTER,
        }
    }
}

/// How the size is told.
#[derive(Clone, Debug, PartialEq)]
enum Media {
    /// A name that the printer lists.
    Named(MediaName),
    /// `media-col` with the size in hundredths of a millimetre.
    Sized(i32, i32),
    /// A name for a size of our own.
    Custom(MediaName),
}

/// How a size lies to that of the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lie {
    /// They are the same.
    Upright,
    /// Width and height are exchanged: the page is turned.
    Turned,
}

/// What a job asks.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Ticket {
    pub(super) format: Format,
    media: Media,
    /// How the size that is asked for lies to that of the page.
    pub(super) lie: Lie,
    /// Name of the size, whether or not it is sent by name.
    pub(super) media_name: MediaName,
    is_unscaled: bool,
    copies: Option<u16>,
    colour_mode: Option<&'static str>,
    is_one_sided: bool,
    resolution: Option<u16>,
    /// What to know before paper is spent.
    pub(super) notes: Vec<String>,
}

impl Ticket {
    /// Chooses.
    pub(super) fn new(wanted: &Wanted, supported: &Supported) -> Result<Self, SendFailure> {
        let mut notes = supported.troubles();
        let has = |list: &[String], word: &str| list.iter().any(|known| known == word);
        let (media, lie) = media(wanted, supported)?;
        let format = format(wanted, lie, supported)?;
        let size = match lie {
            Lie::Turned => wanted.size.exchanged(),
            Lie::Upright => wanted.size,
        };
        let media_name = match &media {
            Media::Named(name) | Media::Custom(name) => name.clone(),
            Media::Sized(..) => MediaName::custom(size),
        };
        if lie == Lie::Turned && format == Format::Pdf {
            notes.push(
                "it feeds the pages turned by a quarter and must turn what is on them itself: look at the first before you cut"
                    .to_owned(),
            );
        }
        if supported.is_ready(size) == Some(false) {
            let ready: Vec<&str> = supported.ready.iter().map(MediaName::as_str).take(4).collect();
            notes
                .push(format!("the printer says that it holds {}, not {media_name}: lay that in", ready.join(" and ")));
        }
        let is_unscaled = has(&supported.scaling, "none");
        if !is_unscaled {
            notes.push(
                "it does not say that it prints without scaling: measure the ruler on the first page before you cut"
                    .to_owned(),
            );
        }
        let copies = match (&supported.copies, wanted.copies) {
            (_, 1) => None,
            (Some(range), copies) if range.contains(&i32::from(copies)) => Some(copies),
            (_, copies) => {
                let remedy = Remedy::from("send it once for each copy ")
                    .and_by("with --again", Page::Words("although it was printed already"))
                    .words(", or print tags several times with ")
                    .and_by("`loomtag tags --copies`", Page::Print);
                return Err(SendFailure::unfit(format!("the printer makes no {copies} copies of a job"), remedy));
            }
        };
        let colour_mode =
            if wanted.is_colour { &["color", "auto"][..] } else { &["monochrome", "bi-level", "auto-monochrome"] };
        let colour_mode = colour_mode.iter().find(|mode| has(&supported.colour_modes, mode)).copied();
        if wanted.is_colour && colour_mode.is_none_or(|mode| mode != "color") && !supported.colour_modes.is_empty() {
            notes.push("it prints no colours: bars in the colours of wires come out gray".to_owned());
        }
        let resolution = u16::try_from(wanted.dpi).ok();
        let resolution = resolution.filter(|dpi| supported.resolutions.contains(&(*dpi, *dpi)));
        let resolution = match format {
            Format::Pdf => resolution,
            Format::Raster(_, dpi) => Some(dpi).filter(|dpi| supported.resolutions.contains(&(*dpi, *dpi))),
        };
        let prints_at = match format {
            Format::Raster(_, dpi) => u32::from(dpi) == wanted.dpi,
            Format::Pdf => supported.resolutions.is_empty() || resolution.is_some(),
        };
        if !prints_at {
            notes.push(format!(
                "the tags were made for {} dots an inch, and it prints with others: put its `dpi` into job.toml and print again, so \
                 that squares of symbols are whole dots",
                wanted.dpi
            ));
        }
        let is_one_sided = has(&supported.sides, "one-sided");
        Ok(Self { format, media, lie, media_name, is_unscaled, copies, colour_mode, is_one_sided, resolution, notes })
    }

    /// Attributes of the operation, beside those of every request.
    pub(super) fn operation_attributes(&self) -> Vec<IppAttribute> {
        let format = IppValue::new_mime_media_type(self.format.media_type()).ok();
        let format = format.and_then(|format| attribute("document-format", format));
        // A printer that cannot do what is asked shall refuse and not print something else on labels.
        format.into_iter().chain(attribute("ipp-attribute-fidelity", IppValue::Boolean(true))).collect()
    }

    /// Attributes of the job.
    pub(super) fn job_attributes(&self) -> Vec<IppAttribute> {
        let media = match &self.media {
            Media::Named(name) | Media::Custom(name) => keyword("media", name.as_str()),
            Media::Sized(width, height) => {
                let size = [("x-dimension", IppValue::Integer(*width)), ("y-dimension", IppValue::Integer(*height))];
                let size = collection(size).map(|size| [("media-size", size)]);
                size.and_then(collection).and_then(|media| attribute("media-col", media))
            }
        };
        let copies = self.copies.and_then(|copies| attribute("copies", IppValue::Integer(copies.into())));
        let scaling = self.is_unscaled.then(|| keyword("print-scaling", "none")).flatten();
        let colour = self.colour_mode.and_then(|mode| keyword("print-color-mode", mode));
        let sides = self.is_one_sided.then(|| keyword("sides", "one-sided")).flatten();
        let resolution = self.resolution.map(i32::from);
        let resolution = resolution
            .map(|dpi| IppValue::Resolution { cross_feed: dpi, feed: dpi, units: 3 })
            .and_then(|resolution| attribute("printer-resolution", resolution));
        [media, scaling, copies, colour, sides, resolution].into_iter().flatten().collect()
    }

    /// All of them as they are shown: a line each.
    pub(super) fn lines(&self) -> Vec<String> {
        let all = self.operation_attributes().into_iter().chain(self.job_attributes());
        all.map(|attribute| format!("{} = {}", attribute.name().as_str(), shown(attribute.value()))).collect()
    }
}

/// A value as it is shown.
fn shown(value: &IppValue) -> String {
    match value {
        IppValue::Collection(members) => {
            let members = members.iter().map(|(name, value)| format!("{} = {}", name.as_str(), shown(value)));
            format!("{{ {} }}", members.collect::<Vec<_>>().join(", "))
        }
        IppValue::Resolution { cross_feed, feed, .. } => format!("{cross_feed} x {feed} dots an inch"),
        other => other.to_string(),
    }
}

fn collection<const N: usize>(members: [(&str, IppValue); N]) -> Option<IppValue> {
    let named = members.into_iter().map(|(name, value)| Some((IppName::new(name).ok()?, value)));
    Some(IppValue::Collection(named.collect::<Option<_>>()?))
}

fn format(wanted: &Wanted, lie: Lie, supported: &Supported) -> Result<Format, SendFailure> {
    // Raster is turned here, and not by a guess of the printer's.
    if supported.takes(PDF) && !(lie == Lie::Turned && supported.takes(PWG_RASTER)) {
        return Ok(Format::Pdf);
    }
    if !supported.takes(PWG_RASTER) {
        let known = supported.formats.iter().map(|format| super::answer::plain(format)).take(6).collect::<Vec<_>>();
        let known = if known.is_empty() { "it tells none".to_owned() } else { known.join(", ") };
        return Err(SendFailure::unfit(
            format!("the printer takes neither PDF nor PWG raster ({known})"),
            "print the PDF from a computer that has the maker's driver, at 100 %",
        ));
    }
    let order = match wanted.is_colour {
        true => [PixelType::Rgb8, PixelType::Gray8, PixelType::Black1],
        // Black dots as the pages were made for; a printer that is sent grays would screen the edges.
        false => [PixelType::Black1, PixelType::Gray8, PixelType::Rgb8],
    };
    // Every printer of PWG raster takes gray (PWG 5100.14, 5.4.3).
    let pixels = order.into_iter().find(|pixels| supported.pixels.contains(pixels)).unwrap_or(PixelType::Gray8);
    let lists = [&supported.raster_resolutions, &supported.resolutions];
    let square: Vec<u16> = lists
        .into_iter()
        .map(|list| list.iter().filter(|(across, down)| across == down).map(|(dpi, _)| *dpi).collect::<Vec<_>>())
        .find(|list| !list.is_empty())
        .unwrap_or_default();
    let wanted_dpi = u16::try_from(wanted.dpi).unwrap_or(u16::MAX);
    let finer = || square.iter().copied().filter(|dpi| *dpi >= wanted_dpi).min();
    match finer().or_else(|| square.iter().copied().max()) {
        Some(dpi) => Ok(Format::Raster(pixels, dpi)),
        None => Err(SendFailure::unfit(
            "the printer takes PWG raster, but tells no resolution for it that is the same across and down",
            "print the PDF from a computer that has the maker's driver, at 100 %",
        )),
    }
}

/// How the size is told, and whether the page is turned for it.
fn media(wanted: &Wanted, supported: &Supported) -> Result<(Media, Lie), SendFailure> {
    let size = wanted.size;
    let told = |size: Size| {
        if let Some(name) = supported.named(size) {
            return Some(Media::Named(name.clone()));
        }
        supported.takes_size(size).then(|| match supported.takes_media_size {
            true => Media::Sized(hundredths(size.width), hundredths(size.height)),
            false => Media::Custom(MediaName::custom(size)),
        })
    };
    let turned = || told(size.exchanged()).map(|media| (media, Lie::Turned));
    let upright = || told(size).map(|media| (media, Lie::Upright));
    let found = match wanted.is_along {
        true => turned().or_else(upright),
        // Sheets and labels lie in a printer as their stock says, unless it names this very size the other way round.
        false => upright().or_else(|| turned().filter(|(media, _)| matches!(media, Media::Named(_)))),
    };
    if let Some(found) = found {
        return Ok(found);
    }
    let shown = format!("{:.1} x {:.1} mm", size.width.as_mm(), size.height.as_mm());
    let sizes: Vec<&str> = supported.media.iter().map(MediaName::as_str).take(8).collect();
    let known = if sizes.is_empty() { "it tells no sizes".to_owned() } else { format!("it has {}", sizes.join(", ")) };
    Err(SendFailure::unfit(
        format!("the printer takes no paper or labels of {shown}; {known}"),
        "set this size in the printer's own menu, or name a stock in job.toml that it takes",
    ))
}

/// What is asked for when the printer is asked of itself.
pub(super) fn requested(names: &[&str]) -> Vec<IppAttribute> {
    keywords("requested-attributes", names).into_iter().collect()
}
