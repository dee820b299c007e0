//! Heat-shrink tube by its dimensions.

use crate::base::Length;

/// A size of heat-shrink tube.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct TubeSize {
    /// Plain name of the size: `1/8 in 2:1`.
    pub name: String,
    /// Smallest inside diameter as supplied.
    pub expanded: Length,
    /// Largest inside diameter after free shrinking.
    pub recovered: Length,
    /// Nominal wall after free shrinking.
    pub recovered_wall: Length,
}
