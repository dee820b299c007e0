//! Faces on paper: a frame for every view and, where a face is too large to be read in one piece, for every area of it.
//!
//! From the top: connector and view, what the area shows, what was inferred, the latch, names of columns, the shell with its
//! cavities and names of rows, cavities without a place, and the legend.

use super::areas::{Area, LARGEST, Scale, extent, split};
use super::cell;
use super::filled::{FilledFace, Mark, Occupant};
use super::marks::Legend;
use super::plan::{Spot, Standing};
use super::shell::{self, Shell};
use super::{Arrangement, Certainty, PitchArea, Pitches};
use crate::base::{Length, Point, Rect, Size};
use crate::circuits::View;
use crate::circuits::face::Side;
use crate::labels::Band;
use crate::layout::Frame;
use crate::layout::text::Fonts;
use crate::paperwork::pen::{self, Align, Look, Pen};

/// Capitals of connector and view, in millimetres.
const TITLE: f64 = 3.4;
/// Capitals of what is said below it.
const WORDS: f64 = 1.7;
/// Capitals of the danger of the whole connector.
const STOP: f64 = 2.3;
/// No frame is narrower, so that its heading can be read.
const NARROWEST: Length = Length::nm(41_000_000);
/// Room for names of rows at the left.
const ROW_NAMES: Length = Length::nm(9_000_000);
/// Room for names of columns above.
const COLUMN_NAMES: Length = Length::nm(3_500_000);
/// Between the shell and its cavities.
const SHELL: Length = Length::nm(1_200_000);
/// The outer half of the shell's stroke.
const EDGE: Length = Length::nm(400_000);
/// How far a latch stands out.
const LATCH: Length = Length::nm(4_500_000);
/// White between the parts.
const GAP: Length = Length::nm(2_000_000);
/// Side of the small picture that shows where an area lies.
const KEY_MAP: Size = Size::new(Length::nm(24_000_000), Length::nm(11_000_000));

/// Draws a connector in these views, each piece no larger than `room`: at least 80 mm wide and 100 mm high. Nothing is drawn of a
/// stud or splice: it has no face.
pub fn drawings(face: &FilledFace, views: &[View], room: Size, fonts: &Fonts) -> Vec<Frame> {
    views.iter().flat_map(|view| drawn(face, *view, room, fonts)).map(|drawn| drawn.frame).collect()
}

/// A drawing, and where its cavities came to lie: for whoever wants to point at them.
#[derive(Clone, Debug)]
pub struct DrawnFace {
    /// What is drawn.
    pub frame: Frame,
    /// Each cavity with its place on the drawing.
    pub cavities: Vec<(Spot, Rect)>,
}

/// Draws a connector in one view, as [`drawings`] does.
pub fn drawn(face: &FilledFace, view: View, room: Size, fonts: &Fonts) -> Vec<DrawnFace> {
    match face.plan.arrangement() {
        Arrangement::Point => Vec::new(),
        _ => Drawing { face, view, room, fonts }.frames(),
    }
}

struct Drawing<'a> {
    face: &'a FilledFace,
    view: View,
    room: Size,
    fonts: &'a Fonts,
}

impl Drawing<'_> {
    fn frames(&self) -> Vec<DrawnFace> {
        let least = self.least();
        let padding = self.padding(least.width.max(least.height).max(LARGEST));
        let sides = LATCH * self.sides();
        // No frame is narrower than its cavities at their least size, so that no heading is higher than this.
        let across = Length::nm((least.width.as_nm() as f64 * self.face.plan.extent().0.count()) as i64);
        let narrowest = (ROW_NAMES + across).clamp(NARROWEST, self.room.width.max(NARROWEST));
        let heading = self.heading_height(narrowest);
        let above = heading + COLUMN_NAMES + LATCH + padding * 2 + GAP * 3 + self.legend(narrowest).height();
        let room = Size::new(
            self.room.width - ROW_NAMES - padding * 2 - EDGE - sides,
            (self.room.height - above).max(least.height),
        );
        let (scale, areas) = split(&self.face.plan, self.view, room, least);
        let count = areas.len();
        areas.iter().enumerate().map(|(index, area)| self.frame(area, scale, (index, count), &areas)).collect()
    }

    /// From the cavities to the shell: a round one goes clear of their corners.
    fn padding(&self, pitch: Length) -> Length {
        match self.face.plan.arrangement() {
            Arrangement::Rings => SHELL + pitch.scaled(0.22),
            _ => SHELL,
        }
    }

    /// How many latches stand out at the left or right.
    fn sides(&self) -> i64 {
        i64::from(matches!(self.face.plan.latch(self.view), Some(Side::Left | Side::Right)))
    }

    fn held(&self, spot: &Spot) -> &[Occupant] {
        self.face.held.get(&spot.cavity).map_or(&[], Vec::as_slice)
    }

    fn least(&self) -> Size {
        let of_spot = |spot: &Spot| cell::least_size(self.fonts, name(spot), self.held(spot));
        self.face
            .plan
            .spots(self.view)
            .iter()
            .map(of_spot)
            .fold(Size::default(), |most, size| Size::new(most.width.max(size.width), most.height.max(size.height)))
    }

    fn legend(&self, width: Length) -> Legend {
        let spots = self.face.plan.spots(self.view);
        let marks = spots.iter().flat_map(|spot| {
            let held = self.held(spot);
            let none = held.is_empty().then_some(Mark::Empty);
            let live = held.iter().any(|occupant| occupant.danger == Some(Band::Live)).then_some(Mark::Live);
            held.iter().map(|occupant| occupant.mark.clone()).chain(none).chain(live).collect::<Vec<_>>()
        });
        Legend::of(marks, width, self.fonts)
    }

    /// What stands below the title: the danger of the whole connector first, then the short name. That a face is a guess must not be
    /// overlooked.
    fn sentences(&self) -> Vec<(String, Look)> {
        let plan = &self.face.plan;
        let remarks = match plan.certainty() {
            Certainty::Told => Look::words(WORDS),
            Certainty::Guessed => Look::strong(WORDS),
        };
        let short_name = self.face.short_name.iter().map(|name| (name.clone(), Look::words(WORDS)));
        let stops = self.face.stops().into_iter().map(|band| (heading_of(band).to_owned(), Look::strong(STOP)));
        stops.chain(short_name).chain(plan.remarks().iter().map(|remark| (remark.clone(), remarks))).collect()
    }

    /// The most height that a heading of this width takes.
    fn heading_height(&self, width: Length) -> Length {
        let width = (width - KEY_MAP.width - GAP).max(Length::mm(20.0));
        let height = |(words, look): &(String, Look)| {
            let lines = pen::wrapped(self.fonts, *look, width, words).len();
            look.leading() * i64::try_from(lines).unwrap_or(i64::MAX)
        };
        let of_words: Length = self.sentences().iter().map(height).sum();
        // Two lines for what the area shows.
        Look::strong(TITLE).leading() * 2 + Look::words(WORDS).leading() * 2 + of_words
    }

    fn frame(&self, area: &Area, scale: Scale, (index, count): (usize, usize), areas: &[Area]) -> DrawnFace {
        let plan = &self.face.plan;
        let latch = plan.latch(self.view);
        let (drawn_across, drawn_down) =
            (scaled(area.extent.width, scale.across), scaled(area.extent.height, scale.down));
        let padding = self.padding(scale.across);
        let left = ROW_NAMES + padding + if latch == Some(Side::Left) { LATCH } else { Length::ZERO };
        let right = padding + EDGE + if latch == Some(Side::Right) { LATCH } else { Length::ZERO };
        // Areas of one face are alike.
        let narrowest = if count > 1 { self.room.width } else { NARROWEST };
        let width = (left + drawn_across + right).max(narrowest);
        let mut pen = Pen::new(self.fonts);
        let mut y = self.heading(&mut pen, width, (index, count), area, areas);
        y += GAP;
        if latch == Some(Side::Top) {
            y += LATCH;
        }
        let columns = shell::column_names(plan, self.view, area);
        if !columns.is_empty() {
            y += COLUMN_NAMES;
        }
        let origin = Point::new(left, y + padding);
        let paper = Paper { origin, scale, from: area.extent };
        let on_face =
            extent(&area.spots.iter().filter(|spot| spot.standing == Standing::OnFace).cloned().collect::<Vec<_>>());
        if let Some(on_face) = on_face {
            let shell = Shell { plan, view: self.view, paper: &paper, on_face, padding, latch_depth: LATCH };
            shell.draw(&mut pen, &columns);
            shell.row_names(&mut pen, area);
        }
        self.apart(&mut pen, area, &paper);
        for spot in &area.spots {
            cell::draw(&mut pen, paper.rect(&spot.area), name(spot), self.held(spot), spot.standing);
        }
        y = origin.y + drawn_down + padding;
        if latch == Some(Side::Bottom) {
            y += LATCH;
        }
        y += GAP;
        let legend = self.legend(width);
        legend.draw(&mut pen, Point::new(Length::ZERO, y));
        let cavities = area.spots.iter().map(|spot| (spot.clone(), paper.rect(&spot.area))).collect();
        DrawnFace { frame: pen.framed(Size::new(width, y + legend.height())), cavities }
    }

    /// Connector and view, what this area shows, and what was inferred; gives where it ends.
    fn heading(
        &self,
        pen: &mut Pen<'_>,
        width: Length,
        (index, count): (usize, usize),
        area: &Area,
        areas: &[Area],
    ) -> Length {
        let map_width = if count > 1 { KEY_MAP.width + GAP } else { Length::ZERO };
        let room = width - map_width;
        let (id, view) = (Look::code(TITLE), Look::strong(TITLE));
        let words = self.view.to_string().to_uppercase();
        let of_id = pen::width(self.fonts, id, self.face.id.as_str());
        let of_view = pen::width(self.fonts, view, &words);
        // Round letters rise a little above capitals.
        let mut baseline = id.cap.scaled(1.04);
        pen.words(Point::new(Length::ZERO, baseline), self.face.id.as_str(), id, Align::Left);
        if of_id + GAP * 2 + of_view <= room {
            pen.words(Point::new(of_id + GAP * 2, baseline), &words, view, Align::Left);
        } else {
            baseline += view.leading();
            pen.words(Point::new(Length::ZERO, baseline), &words, view, Align::Left);
        }
        let look = Look::words(WORDS);
        let mut y = baseline + look.cap;
        if count > 1 {
            let said = format!("area {} of {count}: {}", index + 1, shell::said_of(&self.face.plan, self.view, area));
            y += pen.paragraph(Point::new(Length::ZERO, y), room, &said, Look::strong(WORDS)) + look.cap.scaled(0.75);
            let map = Rect::new(width - KEY_MAP.width, Length::ZERO, KEY_MAP.width, KEY_MAP.height);
            shell::key_map(pen, map, index, areas);
        }
        for (sentence, look) in self.sentences() {
            y += pen.paragraph(Point::new(Length::ZERO, y), room, &sentence, look) + look.cap.scaled(0.75);
        }
        if count > 1 { y.max(KEY_MAP.height) } else { y }
    }

    /// The words above cavities that have no place.
    fn apart(&self, pen: &mut Pen<'_>, area: &Area, paper: &Paper) {
        let apart = area.spots.iter().filter(|spot| spot.standing == Standing::Apart);
        if let Some(top) = apart.map(|spot| spot.area.top).min() {
            let at = paper.point(area.extent.left, top);
            let at = Point::new(at.x, at.y - Length::mm(1.0));
            pen.words(at, "not on this face:", Look::strong(WORDS), Align::Left);
        }
    }
}

/// Where pitches come to lie on paper.
pub(super) struct Paper {
    origin: Point,
    pub(super) scale: Scale,
    /// What is drawn, of the face.
    pub(super) from: PitchArea,
}

impl Paper {
    pub(super) fn point(&self, across: Pitches, down: Pitches) -> Point {
        Point::new(
            self.origin.x + scaled(across - self.from.left, self.scale.across),
            self.origin.y + scaled(down - self.from.top, self.scale.down),
        )
    }

    pub(super) fn rect(&self, area: &PitchArea) -> Rect {
        let (corner, other) = (self.point(area.left, area.top), self.point(area.right(), area.bottom()));
        Rect::new(corner.x, corner.y, other.x - corner.x, other.y - corner.y)
    }
}

fn scaled(pitches: Pitches, pitch: Length) -> Length {
    pitch.scaled(pitches.count())
}

/// The danger of the whole connector, to somebody about to open it.
const fn heading_of(stop: Band) -> &'static str {
    match stop {
        Band::HighVoltage => "HIGH VOLTAGE: DO NOT OPEN",
        _ => "RESTRAINT: DO NOT OPEN",
    }
}

/// What a cavity is called on paper; a place without cavities bears the name of the connector above it.
fn name(spot: &Spot) -> &str {
    spot.cavity.as_ref().map_or("", crate::base::Cavity::as_str)
}
