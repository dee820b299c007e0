//! Header labels: at the head of each connector's tags, what it is called and how many follow. They are no tags: they bear no code,
//! the journal does not know them, and they are counted apart.

use super::equipment::StockInUse;
use super::reading::Reading;
use crate::base::{ConnectorId, Length, Size};
use crate::layout::text::Fonts;
use crate::layout::{Frame, header};
use crate::pages::{Geometry, Imposing, Order, Piece};

/// Word of their kind, in run.json and in the register's sheets.
pub(super) const HEADER: &str = "header";

/// A head on tube is no longer than this: it is cut away.
const LONGEST_ON_TUBE: Length = Length::nm(60_000_000);

/// Whether connectors get a header label.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Headers {
    /// None.
    #[default]
    None,
    /// Each connector with at least two tags on a stock.
    EachConnector,
}

/// Makes the header labels of one stock.
pub(super) struct HeaderLabels<'a> {
    reading: &'a Reading,
    in_use: &'a StockInUse,
}

/// A piece without a name is a header label: every tag has one.
pub(super) const fn is_header(name: &str) -> bool {
    name.is_empty()
}

/// A group of tags and how many there are.
pub(super) type Group = (Option<String>, usize);

impl<'a> HeaderLabels<'a> {
    /// `None` where there are none: strips are sorted by height, and what is nested has no runs of one connector.
    pub(super) fn new(reading: &'a Reading, in_use: &'a StockInUse, headers: Headers, order: Order) -> Option<Self> {
        let is_in_order = match in_use.stock.geometry() {
            Geometry::Sheet(_) | Geometry::Roll(_) => true,
            Geometry::Tube(_) => order == Order::Working,
            Geometry::Paper(_) => false,
        };
        (headers == Headers::EachConnector && is_in_order).then_some(Self { reading, in_use })
    }

    /// Whether a group gets one.
    fn heads((group, count): &Group) -> bool {
        group.is_some() && *count > 1
    }

    /// The label before a group; its labels are those of the group's first tag.
    fn piece(&self, group: &Group, labels: usize) -> Option<Piece> {
        let connector = group.0.as_ref().filter(|_| Self::heads(group))?;
        let id = ConnectorId::from_cell(connector)?;
        let short_name = self.reading.circuits.connector(&id).and_then(|found| found.short_name.as_deref());
        let frame = self.frame(connector, short_name.unwrap_or_default(), group.1, labels)?;
        let (heading, group) = (Some(connector.clone()), group.0.clone());
        Some(Piece { frame, name: String::new(), heading, group, labels })
    }

    fn frame(&self, connector: &str, short_name: &str, count: usize, labels: usize) -> Option<Frame> {
        let fonts: &Fonts = self.reading.equipment.fonts();
        let follow = format!("{count} tags follow");
        let lines: Vec<&str> = [short_name, &follow].into_iter().filter(|line| !line.is_empty()).collect();
        match self.in_use.stock.geometry() {
            Geometry::Tube(tube) => {
                let most = Size::new(LONGEST_ON_TUBE.min(tube.piece() / 3), tube.size().print_height());
                let all = [&[connector], &lines[..]].concat().join(" · ");
                header::line(fonts, most, &all)
                    .or_else(|| header::line(fonts, most, &format!("{connector} · {count}")))
                    .or_else(|| header::line(fonts, most, connector))
            }
            _ => header::label(fonts, self.in_use.stock.label(labels)?, connector, &lines),
        }
    }
}

/// Puts the header labels before the groups; `groups` are those of the pieces in their order.
pub(super) fn with_headers<'p>(
    pieces: impl Iterator<Item = Piece> + 'p,
    groups: Vec<Group>,
    headers: Option<&'p HeaderLabels<'p>>,
) -> impl Iterator<Item = Piece> + 'p {
    let mut groups = groups.into_iter();
    let mut last: Option<Option<String>> = None;
    pieces.flat_map(move |piece| {
        let begins = headers.is_some() && last.as_ref() != Some(&piece.group);
        let header = begins.then(|| {
            last = Some(piece.group.clone());
            // Groups of which no tag could be made are passed over.
            let group = groups.by_ref().find(|(name, _)| *name == piece.group)?;
            headers?.piece(&group, piece.labels)
        });
        header.flatten().into_iter().chain([piece])
    })
}

/// The groups of pieces that come in this order.
pub(super) fn groups_of(each: impl Iterator<Item = Option<String>>) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for group in each {
        match groups.last_mut().filter(|(last, _)| *last == group) {
            Some((_, count)) => *count += 1,
            None => groups.push((group, 1)),
        }
    }
    groups
}

/// The groups with their headers counted in, as the pages are filled with them.
pub(super) fn counted(groups: &[Group], headers: Option<&HeaderLabels<'_>>) -> Vec<Group> {
    let count =
        |group: &Group| (group.0.clone(), group.1 + usize::from(headers.is_some() && HeaderLabels::heads(group)));
    groups.iter().map(count).collect()
}

/// How pages are filled with these groups.
pub(super) fn with_groups<'a>(
    settings: Imposing<'a>,
    groups: &[Group],
    headers: Option<&HeaderLabels<'_>>,
) -> Imposing<'a> {
    Imposing { groups: counted(groups, headers), ..settings }
}
