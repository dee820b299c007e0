//! CONNECTOR FACES: a connector as connectors.csv describes it, and the names that the lists use for its cavities -> where
//! each cavity lies, as seen against the mating face and from the wire side.
//!
//! `names` reads the names, `scheme` finds out how they are made, `grid`, `rings` and `relay` lay the cavities out, `aid` says how to count to one.

mod aid;
mod grid;
mod names;
mod pitch;
mod plan;
mod relay;
mod rings;
mod scheme;
#[cfg(test)]
mod tests;

pub use pitch::{PitchArea, Pitches};
pub use plan::{Arrangement, Certainty, FacePlan, Spot, Standing};
