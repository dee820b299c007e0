//! The bench in a browser, by its router: what pages say and what writes do.

mod access;
mod circuits;
mod connectors;
mod crawl;
mod find;
pub mod hostile;
mod jobs;
mod lists;
mod load;
mod overview;
mod print;
mod problems;
mod record;
mod scan;
mod site;
mod trouble;
