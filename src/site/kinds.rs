//! The closed word lists of the input columns.

use serde::{Deserialize, Serialize};
use std::{fmt, str::FromStr};

/// A word that is not in the list asked for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{word}' is none of {known}")]
pub struct UnknownWord {
    /// The word as read.
    pub word: String,
    /// The words that are known.
    pub known: String,
}

macro_rules! words {
    ($(#[$m:meta])* $name:ident { $($(#[$vm:meta])* $var:ident = $word:literal),+ $(,)? }) => {
        $(#[$m])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum $name { $($(#[$vm])* #[serde(rename = $word)] $var),+ }

        impl $name {
            /// Every word of the list, in the order of the interface.
            pub const ALL: &'static [$name] = &[$($name::$var),+];

            /// The word as layers and job files write it.
            pub fn word(self) -> &'static str {
                match self { $($name::$var => $word),+ }
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result { f.write_str(self.word()) }
        }

        impl FromStr for $name {
            type Err = UnknownWord;
            fn from_str(s: &str) -> Result<Self, UnknownWord> {
                Self::ALL.iter().copied().find(|k| k.word().eq_ignore_ascii_case(s.trim())).ok_or_else(|| UnknownWord {
                    word: s.to_string(),
                    known: Self::ALL.iter().map(|k| k.word()).collect::<Vec<_>>().join(", "),
                })
            }
        }
    };
}

words! {
    /// What a buried service carries.
    Kind {
        /// Drinking water.
        Water = "water",
        /// Gas.
        Gas = "gas",
        /// Power cables.
        Electricity = "electricity",
        /// Telephone and data cables.
        Telecom = "telecom",
        /// Foul sewer.
        Sewer = "sewer",
        /// Storm drain.
        Stormwater = "stormwater",
        /// Recycled water.
        RecycledWater = "recycled-water",
        /// Fuel and oil.
        Fuel = "fuel",
        /// Anything else, and anything not known.
        Other = "other",
    }
}

words! {
    /// Location quality level of a service record. B is split into B1 to B4 by schemes that grade detection.
    Quality {
        /// Exposed and measured.
        A = "A",
        /// Detected.
        B = "B",
        /// Detected by more than one method.
        B1 = "B1",
        /// Detected by one method.
        B2 = "B2",
        /// Detected in plan only.
        B3 = "B3",
        /// Looked for and not detected: its place is assumed.
        B4 = "B4",
        /// From surface features.
        C = "C",
        /// From records.
        D = "D",
        /// Not stated.
        Unknown = "unknown",
    }
}

words! {
    /// What lies on the ground and must be put back.
    Surface {
        /// Asphalt.
        Asphalt = "asphalt",
        /// Concrete.
        Concrete = "concrete",
        /// Paving blocks or slabs.
        Paving = "paving",
        /// Lawn.
        Lawn = "lawn",
        /// Planted garden.
        Garden = "garden",
        /// Gravel.
        Gravel = "gravel",
        /// Bare earth; also where nothing is mapped.
        Bare = "bare",
    }
}
