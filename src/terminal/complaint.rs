//! What keeps a verb from being run, in words, with what to do about it.

use std::{fmt, io};

use thiserror::Error;

use crate::base::Remedy;
use crate::run::init::InitFailure;
use crate::run::{JobFailure, RunFailure};
use crate::send::SendFailure;

/// Why a verb could not be run.
#[derive(Debug, Error)]
pub enum Complaint {
    /// The run failed.
    #[error(transparent)]
    Run(#[from] RunFailure),
    /// The job folder could not be begun.
    #[error(transparent)]
    Init(#[from] InitFailure),
    /// The printer could not be reached, or refuses.
    #[error(transparent)]
    Send(#[from] SendFailure),
    /// What was typed names nothing.
    #[error("{what}")]
    Typed {
        /// What is wrong with it.
        what: String,
        /// What to type instead.
        remedy: String,
    },
    /// The answer could not be written.
    #[error("cannot write the answer: {0}")]
    Output(#[from] io::Error),
}

impl From<JobFailure> for Complaint {
    fn from(failure: JobFailure) -> Self {
        Self::Run(failure.into())
    }
}

/// A message and what to do about it, in one line.
pub fn with_remedy(what: impl fmt::Display, remedy: Option<Remedy>) -> String {
    match remedy {
        Some(remedy) => format!("{what}: {remedy}"),
        None => what.to_string(),
    }
}

impl Complaint {
    /// What to do about it.
    pub fn remedy(&self) -> Option<String> {
        match self {
            Self::Run(failure) => failure.remedy().map(String::from),
            Self::Send(failure) => failure.remedy().map(String::from),
            Self::Typed { remedy, .. } => Some(remedy.clone()),
            Self::Init(_) | Self::Output(_) => None,
        }
    }
}
