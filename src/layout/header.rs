//! The label at the head of a connector's tags: its name as large as it fits, and below it what follows.
//!
//! In: words and the place they have. Out: a frame. A bar down its side tells it from a tag, and it bears no symbol.

use super::text::{self, Fonts};
use super::{Face, Frame, Ink, Item, LABEL_EDGE, Stretch};
use crate::base::{Length, Point, Rect, Size, Turn};

/// Letter height of the name, at most; smaller ones are tried down to that of captions.
const LARGEST_NAME: Length = Length::nm(6_000_000);
/// Steps of it.
const NAME_STEP: Length = Length::nm(500_000);
/// Below this the name is a caption.
const SMALLEST_NAME: Length = Length::nm(1_500_000);
/// Width of the bar.
const BAR: Length = Length::nm(1_500_000);
/// White between bar and words, and between lines.
const GAP: Length = Length::nm(1_000_000);

/// A label as large as the size; `None` where not even the name fits. Lines that do not fit are left out, the first ones first.
pub fn label(fonts: &Fonts, size: Size, name: &str, lines: &[&str]) -> Option<Frame> {
    let inner = Rect::new(
        LABEL_EDGE + BAR + GAP,
        LABEL_EDGE,
        size.width - LABEL_EDGE * 2 - BAR - GAP,
        size.height - LABEL_EDGE * 2,
    );
    let captions: Vec<Frame> = lines.iter().map(|line| text::caption(fonts, inner.size, line)).collect();
    let captions = captions.into_iter().filter(|caption| !caption.items.is_empty()).collect::<Vec<_>>();
    // What tells how many follow stands last, and goes last.
    let fitted = (0..=captions.len()).find_map(|from| {
        let below = captions[from..].iter().fold(Length::ZERO, |sum, line| sum + line.size.height + GAP);
        name_in(fonts, Size::new(inner.size.width, inner.size.height - below), name).map(|name| (name, from))
    });
    let (name, from) = fitted?;
    let bar = Rect::new(LABEL_EDGE, LABEL_EDGE, BAR, inner.size.height);
    let mut items = vec![Item::Fill { area: bar, ink: Ink::Black }];
    let mut top = inner.top();
    for line in std::iter::once(name).chain(captions.into_iter().skip(from)) {
        let by = Point::new(inner.left(), top);
        items.extend(line.items.into_iter().map(|item| item.placed(Turn::Upright, Size::default(), by)));
        top += line.size.height + GAP;
    }
    Some(Frame { size, items })
}

/// A short head in one line, as on tube: as long as its words; `None` where they do not fit.
pub fn line(fonts: &Fonts, most: Size, words: &str) -> Option<Frame> {
    let room = Size::new(most.width - BAR - GAP * 2, most.height);
    let caption = text::caption(fonts, room, words);
    let (width, height) = (caption.size.width + BAR + GAP * 2, caption.size.height);
    let bar = Rect::new(Length::ZERO, Length::ZERO, BAR, height);
    let fits = !caption.items.is_empty() && width <= most.width && height <= most.height;
    fits.then(|| {
        let words = caption
            .items
            .into_iter()
            .map(|item| item.placed(Turn::Upright, Size::default(), Point::new(BAR + GAP, Length::ZERO)));
        let items = std::iter::once(Item::Fill { area: bar, ink: Ink::Black }).chain(words).collect();
        Frame { size: Size::new(width, height), items }
    })
}

/// The name as large as it fits.
fn name_in(fonts: &Fonts, room: Size, name: &str) -> Option<Frame> {
    let shaped = fonts.shape(Face::Strong, name).ok()?;
    let mut cap = LARGEST_NAME;
    while cap >= SMALLEST_NAME {
        let (rise, fall) = (fonts.rise(&shaped, cap), fonts.fall(&shaped, cap));
        let extent = Size::new(fonts.width(&shaped, cap), rise + fall);
        if extent.width <= room.width && extent.height <= room.height {
            let baseline = Point::new(Length::ZERO, rise);
            let items = fonts.place(&shaped, cap, baseline, Turn::Upright, Stretch::NONE, Ink::Black);
            return Some(Frame { size: extent, items });
        }
        cap -= NAME_STEP;
    }
    let caption = text::caption(fonts, room, name);
    (!caption.items.is_empty()).then_some(caption)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(frame: &Frame) -> String {
        let text = frame.items.iter().filter_map(|item| match item {
            Item::Text(text) => Some(text.glyphs.iter().map(|glyph| &*glyph.text).collect::<String>()),
            _ => None,
        });
        text.collect::<Vec<_>>().join("|")
    }

    #[test]
    fn what_does_not_fit_is_left_out_the_name_never() {
        let (fonts, mm) = (Fonts::new(), Length::mm);
        let told = |width: f64, height: f64| {
            let size = Size::new(mm(width), mm(height));
            label(&fonts, size, "X3P", &["engine loom", "12 tags follow"]).map(|frame| {
                assert_eq!(frame.size, size);
                words(&frame)
            })
        };
        assert_eq!(told(64.0, 34.0).as_deref(), Some("X3P|engine loom|12 tags follow"));
        assert_eq!(told(64.0, 9.0).as_deref(), Some("X3P|12 tags follow"));
        assert_eq!(told(64.0, 6.0).as_deref(), Some("X3P"));
        assert_eq!(told(64.0, 3.0), None);
    }

    #[test]
    fn a_head_on_tube_is_as_long_as_its_words() {
        let (fonts, mm) = (Fonts::new(), Length::mm);
        let head = line(&fonts, Size::new(mm(60.0), mm(4.0)), "X3P · 12 tags follow").expect("fits");
        assert!(head.size.width < mm(60.0) && head.size.height < mm(4.0));
        assert_eq!(words(&head), "X3P · 12 tags follow");
        assert!(line(&fonts, Size::new(mm(10.0), mm(4.0)), "X3P · 12 tags follow").is_none());
    }
}
