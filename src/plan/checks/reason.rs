//! A check, worked out or not, and why not.

use crate::mechanics::{OutOfRange, Working};

/// Why a check was not worked out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NotWorked {
    /// The job does not say what it needs.
    #[error("{0}")]
    NotSet(&'static str),
    /// There is nothing to work out.
    #[error("{0}")]
    Nothing(&'static str),
    /// The formula does not hold there.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// One check of an item.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// What it is about.
    pub subject: &'static str,
    /// The working, or why there is none.
    pub worked: Result<Working, NotWorked>,
    /// What it comes to beside what is asked, where something is.
    pub verdict: Option<String>,
}

impl Check {
    /// A check without a verdict.
    pub fn new(subject: &'static str, worked: Result<Working, impl Into<NotWorked>>) -> Check {
        Check {
            subject,
            worked: worked.map_err(Into::into),
            verdict: None,
        }
    }

    /// The check with a verdict on its working; none where it was not worked out.
    pub fn judged(mut self, verdict: impl Fn(&Working) -> String) -> Check {
        self.verdict = self.worked.as_ref().ok().map(verdict);
        self
    }
}
