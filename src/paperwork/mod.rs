//! BENCH SHEETS: the paper that lies beside the connector.
//!
//! In: circuits with their codes, and what is known of each end from the bench ([`Harness`]). Out: pages, of the same items as those
//! of the tags. Every sheet is a heading and passages, one below the other:
//!
//! ```text
//! harness     what sheets are made from
//! pen         words, bars and boxes at their places
//! table       columns and rows of cells -> a passage
//! flow        passages              -> what stands on each page
//! letterhead  sheets                -> pages, with head, foot and symbol
//!
//! as_built    plan and notes        -> what is, and where it differs
//! face        connectors           -> where each cavity lies, and pictures of their faces
//! overview    what there is to do in every connector
//! reuse       which removed wire is for what
//! whole_job   schedule, fuse legends, shopping list, open questions, safety page, lid card
//! work_list   what there is to do at every end of a connector
//! ```

pub mod as_built;
pub mod face;
pub mod flow;
pub mod harness;
pub mod letterhead;
pub mod overview;
pub mod pen;
pub mod reuse;
pub mod table;
pub mod whole_job;
pub mod work_list;

pub use flow::{Binding, Passage, Strip};
pub use harness::{Found, Harness, OnBench};
pub use letterhead::{Letterhead, Paper, Sheet};
pub use pen::{Look, Pen};
pub use table::{Cell, Column, Row, Table, Tick};
