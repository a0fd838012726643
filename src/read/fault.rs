//! Where something is wrong, how bad it is, and what it is.

use super::Problem;
use crate::site::FeatureRef;
use std::{fmt, path::PathBuf};

/// The place a fault or error speaks of, as far as it is known.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Place {
    /// File.
    pub file: Option<PathBuf>,
    /// Layer (table).
    pub layer: Option<String>,
    /// Feature id.
    pub fid: Option<i64>,
    /// Column, as the layer calls it.
    pub column: Option<String>,
}

impl Place {
    /// A whole file.
    pub fn file(path: impl Into<PathBuf>) -> Place {
        Place {
            file: Some(path.into()),
            ..Place::default()
        }
    }

    /// A layer of this file.
    pub fn layer(mut self, name: &str) -> Place {
        self.layer = Some(name.to_string());
        self
    }

    /// A feature of this layer.
    pub fn fid(mut self, fid: i64) -> Place {
        self.fid = Some(fid);
        self
    }

    /// A column of this layer or feature.
    pub fn column(mut self, name: &str) -> Place {
        self.column = Some(name.to_string());
        self
    }

    /// The feature, where layer and id are known.
    pub fn feature(&self) -> Option<FeatureRef> {
        Some(FeatureRef {
            layer: self.layer.as_deref()?.into(),
            fid: self.fid?,
        })
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts = [
            self.file.as_ref().map(|p| p.display().to_string()),
            match (&self.layer, self.fid) {
                (Some(l), Some(i)) => Some(format!("{l} fid {i}")),
                (l, _) => l.clone(),
            },
            self.column.clone(),
        ];
        f.write_str(&parts.into_iter().flatten().collect::<Vec<_>>().join(": "))
    }
}

/// How bad a fault is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing; everything is used.
    Note,
    /// A value or feature could not be used as it is.
    Fault,
    /// Nothing can be planned until it is mended.
    Stop,
}

/// One thing wrong with the input.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// How bad.
    pub severity: Severity,
    /// Where.
    pub place: Place,
    /// What.
    pub problem: Problem,
}

impl Fault {
    /// What to do about it.
    pub fn remedy(&self) -> String {
        self.problem.remedy()
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.problem)
    }
}

/// The input cannot be used.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadError {
    /// Where.
    pub place: Box<Place>,
    /// Why.
    pub problem: Box<Problem>,
}

impl ReadError {
    pub(super) fn new(place: Place, problem: Problem) -> ReadError {
        ReadError {
            place: Box::new(place),
            problem: Box::new(problem),
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        self.problem.remedy()
    }

    /// The same as one of the faults of an inspection.
    pub(super) fn into_fault(self) -> Fault {
        Fault {
            severity: Severity::Stop,
            place: *self.place,
            problem: *self.problem,
        }
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; {}", self.place, self.problem, self.remedy())
    }
}

impl std::error::Error for ReadError {}

/// Faults in the order they were found.
#[derive(Debug, Default)]
pub(super) struct Faults(pub Vec<Fault>);

impl Faults {
    pub fn note(&mut self, place: Place, problem: Problem) {
        self.0.push(Fault {
            severity: Severity::Note,
            place,
            problem,
        });
    }

    pub fn fault(&mut self, place: Place, problem: Problem) {
        self.0.push(Fault {
            severity: Severity::Fault,
            place,
            problem,
        });
    }

    pub fn stop(&mut self, place: Place, problem: Problem) {
        self.0.push(Fault {
            severity: Severity::Stop,
            place,
            problem,
        });
    }

    /// The first fault that forbids going on.
    pub fn first_stop(&self) -> Option<ReadError> {
        let worst = self.0.iter().find(|f| f.severity == Severity::Stop)?;
        Some(ReadError::new(worst.place.clone(), worst.problem.clone()))
    }
}
