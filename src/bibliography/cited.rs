//! Where in a source a value stands, and how far it may be trusted.

use super::Source;
use std::fmt;

/// How far a value may be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tag {
    /// Read in the source named.
    Published,
    /// Read in a page that restates the source named.
    Secondary,
    /// Follows from geometry or from the words' meaning; needs no source.
    Derived,
    /// What the trade does, with no source.
    CommonPractice,
    /// No source was at hand.
    FromMemory,
    /// Chosen for this program.
    ProjectDefault,
}

/// A source, the place in it, and whether it was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cited {
    /// The source, where there is one.
    pub source: Option<Source>,
    /// Where in it; without a source, what it rests on.
    pub at: &'static str,
    /// Whether it was read.
    pub tag: Tag,
}

impl Tag {
    /// Every tag, most to be trusted first.
    pub const ALL: [Tag; 6] = [
        Tag::Published,
        Tag::Secondary,
        Tag::Derived,
        Tag::CommonPractice,
        Tag::FromMemory,
        Tag::ProjectDefault,
    ];

    /// The tag as rule sets and listings write it.
    pub fn word(self) -> &'static str {
        match self {
            Tag::Published => "published",
            Tag::Secondary => "secondary",
            Tag::Derived => "derived",
            Tag::CommonPractice => "common practice",
            Tag::FromMemory => "from memory",
            Tag::ProjectDefault => "project default",
        }
    }

    /// The tag of that word.
    pub fn of(word: &str) -> Option<Tag> {
        Tag::ALL.into_iter().find(|t| t.word() == word)
    }
}

impl Cited {
    /// Read in the source itself.
    pub const fn read(source: Source, at: &'static str) -> Cited {
        Cited::new(source, at, Tag::Published)
    }

    /// Read in a page that restates the source.
    pub const fn restated(source: Source, at: &'static str) -> Cited {
        Cited::new(source, at, Tag::Secondary)
    }

    /// Known to stand in the source, which was not at hand.
    pub const fn from_memory(source: Source, at: &'static str) -> Cited {
        Cited::new(source, at, Tag::FromMemory)
    }

    /// Without a source.
    pub const fn unsourced(at: &'static str, tag: Tag) -> Cited {
        Cited {
            source: None,
            at,
            tag,
        }
    }

    const fn new(source: Source, at: &'static str, tag: Tag) -> Cited {
        Cited {
            source: Some(source),
            at,
            tag,
        }
    }
}

impl fmt::Display for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl fmt::Display for Cited {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.source {
            Some(source) => write!(f, "{source}, {} [{}]", self.at, self.tag),
            None => write!(f, "{} [{}]", self.at, self.tag),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_citation_says_source_place_and_tag() {
        let rankin = Cited::from_memory(Source::En1610, "table 2");
        assert!(rankin.to_string().ends_with(", table 2 [from memory]"));
        let plain = Cited::unsourced("geometry", Tag::Derived);
        assert_eq!(plain.to_string(), "geometry [derived]");
    }

    #[test]
    fn every_tag_is_found_by_its_word() {
        assert!(Tag::ALL.into_iter().all(|t| Tag::of(t.word()) == Some(t)));
    }
}
