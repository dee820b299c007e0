//! A value of a settings file with its place, so that a later step can still point at it.

use super::{Origin, Problem};

/// A value together with the place that states it; without one it is the program's default.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stated<T> {
    /// The value.
    pub value: T,
    /// Where it is written; `None` for a default.
    pub origin: Option<Origin>,
}

impl<T> Stated<T> {
    /// A value written in a file.
    pub const fn written(value: T, origin: Origin) -> Self {
        Self { value, origin: Some(origin) }
    }

    /// A default.
    pub const fn default(value: T) -> Self {
        Self { value, origin: None }
    }

    /// The same place with another value.
    pub fn map<U>(self, into: impl FnOnce(T) -> U) -> Stated<U> {
        Stated { value: into(self.value), origin: self.origin }
    }

    /// Points a problem at the place, if there is one.
    pub fn point(&self, problem: Problem) -> Problem {
        match &self.origin {
            Some(origin) => problem.at(origin.clone()),
            None => problem,
        }
    }
}
