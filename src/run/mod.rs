//! THE WHOLE RUN.

pub mod recall;
