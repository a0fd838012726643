//! What is wrong with a job file.

/// A job file or rule set that cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{file}{}: {fault}", at_line(*.line))]
pub struct JobError {
    /// File, as named by whoever read it.
    pub file: String,
    /// Line, counted from 1, where the fault has one.
    pub line: Option<usize>,
    /// What is wrong.
    pub fault: Box<JobFault>,
}

/// What is wrong.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum JobFault {
    /// The text is not TOML.
    #[error("not a TOML file: {0}")]
    Syntax(String),
    /// A key that no job has.
    #[error("unknown key {key}; the nearest known one is {nearest}")]
    UnknownKey {
        /// As typed, with its tables.
        key: String,
        /// Known key most like it.
        nearest: String,
    },
    /// A table named after something that is not there: a kind of service, a role.
    #[error(
        "unknown key {key}: '{word}' is no {what}; the nearest known one is {nearest} (known: {known})"
    )]
    UnknownWord {
        /// As typed, with its tables.
        key: String,
        /// The part that is not known.
        word: String,
        /// What it should name.
        what: &'static str,
        /// Known word most like it.
        nearest: String,
        /// Every word that would do.
        known: String,
    },
    /// A value of the wrong type or out of range.
    #[error("{key} is {seen}, expected {expected}")]
    BadValue {
        /// Key with its tables.
        key: String,
        /// Value as typed.
        seen: String,
        /// What would do.
        expected: String,
    },
    /// A rule set that is not built in.
    #[error("rules.base is \"{base}\", which is no rule set; known are: {known}")]
    UnknownRuleSet {
        /// As typed.
        base: String,
        /// Every rule set there is.
        known: String,
    },
    /// A scheme of location quality that is not built in.
    #[error("rules.quality_scheme is \"{scheme}\", which is no scheme; known are: {known}")]
    UnknownScheme {
        /// As typed.
        scheme: String,
        /// Every scheme there is.
        known: String,
    },
    /// Numbers that no source gives and the job does not state.
    #[error(
        "the job must state {}: no source gives them, and pitwright invents none. {}",
        .keys.join(", "),
        .why.join("; ")
    )]
    Asked {
        /// Every key that is missing.
        keys: Vec<String>,
        /// Why the rule set gives no number, one reason each.
        why: Vec<String>,
    },
    /// Values that are each possible but not together.
    #[error("{key}: {why}")]
    Inconsistent {
        /// Key with its tables.
        key: String,
        /// What does not fit what.
        why: String,
    },
}

impl JobError {
    /// A fault of a file at a line.
    pub fn new(file: &str, line: Option<usize>, fault: JobFault) -> JobError {
        JobError {
            file: file.to_string(),
            line,
            fault: Box::new(fault),
        }
    }
}

fn at_line(line: Option<usize>) -> String {
    line.map_or(String::new(), |n| format!(" line {n}"))
}
