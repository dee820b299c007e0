//! CONNECTOR FACES: where each cavity lies, as seen against the mating face and from the wire side, and pictures of it.
//!
//! ```text
//! names     the names that the lists use       -> letters and numbers in them
//! scheme    connectors.csv and the names       -> how cavities are named, and how many there are
//! plan      the scheme                         -> every cavity with its place (grid, rings, relay lay them out; pitch: in what)
//! aid       the plan                           -> how to count to a cavity, in words
//! filled    the harness                        -> what every cavity holds
//! areas     the plan and the room              -> parts that can be read
//! drawing   all of these                       -> frames (cell: a cavity, marks: what to do, shell: what stands round them)
//! sheet     the frames                         -> a sheet
//! ```

mod aid;
mod areas;
mod cell;
mod drawing;
#[cfg(test)]
mod drawing_tests;
mod filled;
mod grid;
mod marks;
mod names;
mod pitch;
mod plan;
mod relay;
mod rings;
mod scheme;
mod sheet;
mod shell;
#[cfg(test)]
mod tests;

pub use drawing::{DrawnFace, drawings, drawn};
pub use filled::{FilledFace, Mark, Occupant, face_of, faces};
pub use pitch::{PitchArea, Pitches};
pub use plan::{Arrangement, Certainty, FacePlan, Spot, Standing};
pub use sheet::{passages, sheet};
