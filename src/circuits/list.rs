//! What comes in: the lists of a job as bytes, with what the job says about reading them.

use std::collections::BTreeMap;

use super::{Action, OwnWords, Supply};
use crate::base::conductor::SizeUnit;
use crate::base::{ConnectorId, Insulation, Stated};

/// How the rows of a list are meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Form {
    /// One row per cavity: a pinout chart.
    Chart,
    /// One row per wire: from a place to a place.
    Wire,
}

/// What job.toml says about reading a list; everything may be left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ListSettings {
    /// The sheet that is the list, in a workbook; otherwise all its sheets that are lists.
    pub sheet: Option<Stated<String>>,
    /// The form; otherwise recognised from the columns.
    pub form: Option<Form>,
    /// The connector of all rows that name none.
    pub connector: Option<ConnectorId>,
    /// Whether rows that name no connector are of the one in the rows above, as where its cells were merged.
    pub connector_above: bool,
    /// Our column name to the list's own header.
    pub columns: BTreeMap<String, String>,
    /// Headers of the list that are not read, whatever they name.
    pub ignored: Vec<String>,
    /// The unit of bare whole numbers in the size column.
    pub size_unit: Option<SizeUnit>,
    /// The insulation of wires whose rows name none.
    pub insulation: Option<Insulation>,
    /// The branch of ends of which neither row nor connectors.csv name one.
    pub branch: Option<String>,
    /// The action of ends of which neither row nor connectors.csv say one.
    pub action: Option<Action>,
    /// The supply of circuits of which no row says one.
    pub supply: Option<Supply>,
    /// The user's own words: the list's, and the job's for all else.
    pub words: OwnWords,
}

/// A list as it lies in the job folder.
#[derive(Clone, Debug)]
pub struct List {
    /// Its file name as messages give it.
    pub name: String,
    /// The file's bytes.
    pub bytes: Vec<u8>,
    /// What the job says about it.
    pub settings: ListSettings,
}
