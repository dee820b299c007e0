//! The typefaces of the repository's `fonts` folder.

use super::Face;

impl Face {
    /// Every face, in order.
    pub const ALL: [Self; 3] = [Self::Words, Self::Strong, Self::Code];

    /// The font file.
    pub fn bytes(self) -> &'static [u8] {
        match self {
            Self::Words => include_bytes!("../../fonts/FiraSansCondensed-Medium.ttf"),
            Self::Strong => include_bytes!("../../fonts/FiraSansCondensed-Bold.ttf"),
            Self::Code => include_bytes!("../../fonts/AtkinsonHyperlegibleNext_700Bold.ttf"),
        }
    }
}
