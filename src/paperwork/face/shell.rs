//! What stands round the cavities: the shell with its latch, names of rows and columns, and where an area lies on the face.

use super::areas::{Area, extent};
use super::drawing::Paper;
use super::plan::{FacePlan, Standing};
use super::{Arrangement, PitchArea, Pitches};
use crate::base::{Length, Point, Rect, Turn};
use crate::circuits::View;
use crate::circuits::face::Side;
use crate::layout::frame::Dash;
use crate::layout::{Ink, Item, Stretch};
use crate::paperwork::pen::{self, Align, Look, Pen};

/// Stroke of the shell.
const STROKE: Length = Length::nm(600_000);
/// Radius of its corners.
const CORNER: Length = Length::nm(2_500_000);
/// Capitals of names of rows and columns, in millimetres.
const LETTERS: f64 = 2.2;
const WORDS: f64 = 1.6;

/// The shell of what is drawn of a face.
pub(super) struct Shell<'a> {
    pub(super) plan: &'a FacePlan,
    pub(super) view: View,
    pub(super) paper: &'a Paper,
    /// The box round the cavities that have a place on the face.
    pub(super) on_face: PitchArea,
    /// White round them.
    pub(super) padding: Length,
    /// How far a latch stands out.
    pub(super) latch_depth: Length,
}

impl Shell<'_> {
    fn area(&self) -> Rect {
        let cells = self.paper.rect(&self.on_face);
        cells.inset(-self.padding)
    }

    /// Which sides end here and are not cut by the area: top, bottom, left, right.
    fn ends(&self) -> [bool; 4] {
        let (width, height) = self.plan.extent();
        let near = Pitches::ONE;
        [
            self.on_face.top < near,
            self.on_face.bottom() > height - near,
            self.on_face.left < near,
            self.on_face.right() > width - near,
        ]
    }

    /// Draws shell, latch and names of columns.
    pub(super) fn draw(&self, pen: &mut Pen<'_>, columns: &[(Pitches, String)]) {
        let area = self.area();
        let ends = self.ends();
        if ends == [true; 4] {
            let radius = match self.plan.arrangement() {
                Arrangement::Rings => area.size.width.min(area.size.height).half(),
                _ => CORNER,
            };
            pen.items.push(Item::Outline { area, weight: STROKE, radius });
        } else {
            self.cut_shell(pen, area, ends);
        }
        self.latch(pen, area, ends);
        let look = Look::strong(LETTERS);
        let has_latch = self.plan.latch(self.view) == Some(Side::Top) && ends[0];
        let below = Length::mm(0.9) + if has_latch { self.latch_depth } else { Length::ZERO };
        for (across, name) in columns {
            let at = Point::new(self.paper.point(*across, self.on_face.top).x, area.top() - below);
            pen.words(at, name, look, Align::Middle);
        }
    }

    /// Sides that are cut are dashed: the face goes on there.
    fn cut_shell(&self, pen: &mut Pen<'_>, area: Rect, [top, bottom, left, right]: [bool; 4]) {
        let corner = |x: Length, y: Length| Point::new(x, y);
        let (west, east) = (area.left(), area.right());
        for (is_end, from, to) in [
            (top, corner(west, area.top()), corner(east, area.top())),
            (bottom, corner(west, area.bottom()), corner(east, area.bottom())),
            (left, corner(west, area.top()), corner(west, area.bottom())),
            (right, corner(east, area.top()), corner(east, area.bottom())),
        ] {
            let dash = if is_end { Dash::Solid } else { Dash::Dashed(Length::mm(1.2)) };
            let weight = if is_end { STROKE } else { STROKE.half() };
            pen.items.push(Item::Rule { from, to, weight, dash });
        }
    }

    fn latch(&self, pen: &mut Pen<'_>, area: Rect, [top, bottom, left, right]: [bool; 4]) {
        let Some(side) = self.plan.latch(self.view) else { return };
        let depth = self.latch_depth - Length::mm(0.8);
        let word = if self.plan.arrangement() == Arrangement::Rings { "key" } else { "latch" };
        let along = |whole: Length| whole.scaled(0.4).max(Length::mm(8.0)).min(whole.max(Length::mm(8.0)));
        let (wide, high) = (along(area.size.width), along(area.size.height));
        let across = area.left() + (area.size.width - wide).half();
        let down = area.top() + (area.size.height - high).half();
        let (is_here, tab) = match side {
            Side::Top => (top, Rect::new(across, area.top() - depth, wide, depth)),
            Side::Bottom => (bottom, Rect::new(across, area.bottom(), wide, depth)),
            Side::Left => (left, Rect::new(area.left() - depth, down, depth, high)),
            Side::Right => (right, Rect::new(area.right(), down, depth, high)),
        };
        if !is_here {
            return;
        }
        pen.items.push(Item::Fill { area: tab, ink: Ink::Black });
        let look = Look::strong(WORDS).white();
        let shaped = pen::shape(pen.fonts(), look.face, word);
        let length = pen.fonts().width(&shaped, look.cap);
        let middle = Point::new(tab.left() + tab.size.width.half(), tab.top() + tab.size.height.half());
        let (at, turn) = match side {
            Side::Top | Side::Bottom => {
                (Point::new(middle.x - length.half(), middle.y + look.cap.half()), Turn::Upright)
            }
            Side::Left | Side::Right => {
                (Point::new(middle.x + look.cap.half(), middle.y + length.half()), Turn::Anticlockwise)
            }
        };
        let items = pen.fonts().place(&shaped, look.cap, at, turn, Stretch::NONE, look.ink);
        pen.items.extend(items);
    }

    /// Names of the rows, left of the shell.
    pub(super) fn row_names(&self, pen: &mut Pen<'_>, area: &Area) {
        if self.plan.arrangement() != Arrangement::Grid || self.plan.row_names().len() < 2 {
            return;
        }
        let mut right = self.area().left() - Length::mm(1.2);
        if self.plan.latch(self.view) == Some(Side::Left) && self.ends()[2] {
            right -= self.latch_depth;
        }
        let mut last = None;
        for spot in area.spots.iter().filter(|spot| spot.standing == Standing::OnFace) {
            if last == Some(spot.row) {
                continue;
            }
            last = Some(spot.row);
            let (name, look) = row_name(self.plan, spot.row);
            let middle = self.paper.point(spot.area.left, spot.area.middle_down()).y;
            pen.words(Point::new(right, middle + look.cap.half()), &name, look, Align::Right);
        }
    }
}

/// A letter stands for itself; a number is told to be of a row, so that nobody takes it for a cavity.
fn row_name(plan: &FacePlan, row: usize) -> (String, Look) {
    let name = plan.row_names().get(row).cloned().unwrap_or_default();
    match name.bytes().all(|byte| byte.is_ascii_digit()) {
        true => (format!("row {name}"), Look::words(WORDS)),
        false => (name, Look::strong(LETTERS)),
    }
}

/// Where the columns of an area lie, with their names; none where columns have no names.
pub(super) fn column_names(plan: &FacePlan, view: View, area: &Area) -> Vec<(Pitches, String)> {
    let names = plan.column_names(view);
    let mut columns: Vec<(Pitches, String)> = Vec::new();
    let first = area.spots.iter().find(|spot| spot.standing == Standing::OnFace).map(|spot| spot.row);
    for spot in area.spots.iter().filter(|spot| Some(spot.row) == first) {
        if let Some(name) = names.get(spot.place) {
            columns.push((spot.area.middle_across(), name.clone()));
        }
    }
    columns
}

/// Which rows and places an area shows: `rows 1 to 4, places 16 to 30`.
pub(super) fn said_of(plan: &FacePlan, view: View, area: &Area) -> String {
    let on_face: Vec<_> = area.spots.iter().filter(|spot| spot.standing == Standing::OnFace).collect();
    let Some((first, last)) = on_face.first().zip(on_face.last()) else {
        return "cavities that have no place on the face".to_owned();
    };
    let name = |row: usize| plan.row_names().get(row).cloned().unwrap_or_default();
    if plan.arrangement() != Arrangement::Grid {
        return "a part of the face, as the small picture shows".to_owned();
    }
    let rows = match first.row == last.row {
        true => format!("row {}", name(first.row)),
        false => format!("rows {} to {}", name(first.row), name(last.row)),
    };
    let places = || on_face.iter().map(|spot| spot.place);
    let (from, to) = (places().min().unwrap_or_default(), places().max().unwrap_or_default());
    let columns = plan.column_names(view);
    let columns = match columns.get(from).zip(columns.get(to)) {
        Some((from, to)) if from == to => format!("column {from}"),
        Some((from, to)) => format!("columns {from} to {to}"),
        None if from == to => format!("place {} from left", from + 1),
        None => format!("places {} to {} from left", from + 1, to + 1),
    };
    format!("{rows}, {columns}")
}

/// The areas of a face in small, this one black.
pub(super) fn key_map(pen: &mut Pen<'_>, room: Rect, index: usize, areas: &[Area]) {
    let all: Vec<_> = areas.iter().flat_map(|area| area.spots.iter().cloned()).collect();
    let Some(whole) = extent(&all) else { return };
    let room = room.inset(Length::mm(0.2));
    let (across, down) = (whole.width.count().max(1.0), whole.height.count().max(1.0));
    let pitch = room.size.width.scaled(1.0 / across).min(room.size.height.scaled(1.0 / down));
    let left = room.right() - pitch.scaled(across);
    for (at, area) in areas.iter().enumerate() {
        let corner = Point::new(
            left + pitch.scaled((area.extent.left - whole.left).count()),
            room.top() + pitch.scaled((area.extent.top - whole.top).count()),
        );
        let size = (pitch.scaled(area.extent.width.count()), pitch.scaled(area.extent.height.count()));
        let area = Rect::new(corner.x, corner.y, size.0, size.1);
        match at == index {
            true => pen.fill(area, Ink::Black),
            false => pen.outline(area, Length::mm(0.2)),
        }
    }
}
