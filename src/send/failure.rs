//! What can keep tags from being sent: the network, the printer, the disk. All in words for whoever stands at the printer.

use std::io;

use thiserror::Error;

use crate::base::{Page, PrinterAddress, Remedy};
use crate::proof::ProofFailure;
use crate::run::RunFailure;

/// Why something could not be sent.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SendFailure {
    /// A file of the run.
    #[error(transparent)]
    Run(#[from] RunFailure),
    /// A page could not be rendered for a printer that takes no PDF.
    #[error("the pages cannot be drawn for the printer: {0}")]
    Pages(#[from] ProofFailure),
    /// Nobody knows the host.
    #[error("there is no host `{}` in this network", .0.host())]
    NoHost(PrinterAddress),
    /// The host takes no connection there.
    #[error("{0} refuses the connection: nothing answers there")]
    Refused(PrinterAddress),
    /// The network fails.
    #[error("{address} cannot be reached: {source}")]
    Unreachable {
        /// The printer.
        address: PrinterAddress,
        /// What the network says.
        source: io::Error,
    },
    /// No answer in time.
    #[error("{0} does not answer")]
    Silent(PrinterAddress),
    /// The encrypted connection did not come about.
    #[error("{address} makes no encrypted connection: {why}")]
    NotEncrypted {
        /// The printer.
        address: PrinterAddress,
        /// What is said of it.
        why: String,
    },
    /// Something else than a printer answers.
    #[error("{address} answers, but not as a printer that speaks IPP: {why}")]
    NotIpp {
        /// The address.
        address: PrinterAddress,
        /// How it answers.
        why: String,
    },
    /// The printer is not at this path.
    #[error("{0} is there, but no printer has the path `{path}`", path = .0.path())]
    WrongPath(PrinterAddress),
    /// The printer wants to know who sends.
    #[error("{0} wants a user name and a password, or lets only some computers print")]
    Locked(PrinterAddress),
    /// The printer refuses what it is asked.
    #[error("the printer refuses to {what}: {why}")]
    Refuses {
        /// What it was asked.
        what: &'static str,
        /// Its reason in plain words.
        why: String,
        /// Whether it may take it later.
        is_passing: bool,
    },
    /// What shall be sent does not suit the printer.
    #[error("{what}")]
    Unfit {
        /// What does not.
        what: String,
        /// What to do instead.
        remedy: Remedy,
    },
    /// Printers cannot be looked for.
    #[error("the network cannot be searched for printers: {0}")]
    NoSearch(String),
}

impl SendFailure {
    pub(super) fn unfit(what: impl Into<String>, remedy: impl Into<Remedy>) -> Self {
        Self::Unfit { what: what.into(), remedy: remedy.into() }
    }

    /// Whether the printer may be heard again in a moment.
    pub(super) const fn may_pass(&self) -> bool {
        matches!(
            self,
            Self::NoHost(_)
                | Self::Refused(_)
                | Self::Unreachable { .. }
                | Self::Silent(_)
                | Self::NotIpp { .. }
                | Self::Refuses { is_passing: true, .. }
        )
    }

    /// What to do about it.
    pub fn remedy(&self) -> Option<Remedy> {
        let find = || Remedy::by("`loomtag send --find`", Page::Here("Look for printers"));
        Some(match self {
            Self::Run(failure) => return failure.remedy(),
            Self::Unfit { remedy, .. } => remedy.clone(),
            Self::Pages(_) => "print the PDF by hand, at 100 %".into(),
            Self::NoHost(_) => Remedy::from("look at the printer's own menu for its name or number; ")
                .and(&find())
                .words(" shows printers that tell of themselves"),
            Self::Refused(_) => {
                "is printing by IPP switched on in the printer's menu? and is the port right, which is 631 unless told".into()
            }
            Self::Unreachable { .. } | Self::Silent(_) => {
                "is the printer switched on, awake and in this network? nothing was marked as printed".into()
            }
            Self::NotEncrypted { .. } => "try `ipp://` in place of `ipps://`".into(),
            Self::NotIpp { .. } => "check host and port: IPP is at port 631 as a rule, `ipp://host/ipp/print`".into(),
            Self::WrongPath(_) => {
                Remedy::from("try the path `/ipp/print`; ").and(&find()).words(" shows what printers tell of themselves")
            }
            Self::Locked(_) => {
                "allow printing without a password in the printer's settings, for this computer at least; passwords are not sent"
                    .into()
            }
            Self::Refuses { is_passing: true, .. } => "try again when the printer is ready".into(),
            Self::Refuses { .. } => Remedy::by("`--dry-run`", Page::Here("Ask the printer first"))
                .words(" shows what would be sent and what the printer takes"),
            Self::NoSearch(_) => "look at the printer's own menu for its address".into(),
        })
    }
}
