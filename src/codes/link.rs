//! stand-in
use crate::base::{EndLetter, TagCode};
/// x
pub struct Payload;
/// x
pub struct Wording<'a> {
    /// x
    pub function: &'a str,
    /// x
    pub here: &'a str,
    /// x
    pub there: &'a str,
}
impl Payload {
    /// x
    pub fn text(&self, _c: TagCode, _l: Option<EndLetter>, _w: &Wording<'_>, _n: usize) -> Option<String> {
        None
    }
}
