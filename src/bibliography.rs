//! Every source cited, one entry each.
//!
//! A rule set names its sources by these entries' names; a doc comment links to them.

use std::fmt;

macro_rules! sources {
    ($($(#[$doc:meta])* $name:ident { title: $title:literal, edition: $edition:literal, place: $place:literal }),+ $(,)?) => {
        /// A source.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Source { $($(#[$doc])* $name),+ }

        impl Source {
            /// Every source, in alphabetical order of their names.
            pub const ALL: &'static [Source] = &[$(Source::$name),+];

            /// Name of the entry, as rule sets write it.
            pub fn name(self) -> &'static str {
                match self { $(Source::$name => stringify!($name)),+ }
            }

            /// Author and title.
            pub fn title(self) -> &'static str {
                match self { $(Source::$name => $title),+ }
            }

            /// Edition or year.
            pub fn edition(self) -> &'static str {
                match self { $(Source::$name => $edition),+ }
            }

            /// Publisher, or address where it can be read.
            pub fn place(self) -> &'static str {
                match self { $(Source::$name => $place),+ }
            }
        }
    };
}

sources! {
    /// Spacings and least depths of services, a complete matrix.
    AmaravatiUtilities {
        title: "Amaravati utility code, matrix of spacings between utilities",
        edition: "as stored",
        place: "https://www.scribd.com/document/377558722/"
    },
    /// Drainage of buildings in England.
    ApprovedDocumentH {
        title: "The Building Regulations 2010, Approved Document H: Drainage and waste disposal",
        edition: "2015",
        place: "HM Government"
    },
    /// Root zones of trees that stay.
    As4970 {
        title: "AS 4970 Protection of trees on development sites",
        edition: "2009",
        place: "Standards Australia"
    },
    /// Location quality of services.
    As5488Part1 {
        title: "AS 5488.1 Classification of subsurface utility information, part 1",
        edition: "edition not seen",
        place: "Standards Australia"
    },
    /// Location quality of services in the United States.
    Asce38 {
        title: "ASCE/UESI/CI 38 Standard guideline for investigating and documenting existing utilities, as quoted in a survey contract",
        edition: "22",
        place: "http://weblink.sanmarcostx.gov/WebLink/0/doc/1920363/Page49.aspx"
    },
    /// Grades of house drains.
    AsNzs3500Part2 {
        title: "AS/NZS 3500.2 Plumbing and drainage, part 2: Sanitary plumbing and drainage",
        edition: "edition not seen",
        place: "Standards Australia, Standards New Zealand"
    },
    /// Cover of sewers in roads and lots, a local rule.
    AuLocalCover {
        title: "Australian local practice on cover of sewers: 900 mm in roads, 600 mm in lots and footways",
        edition: "as restated in a secondary page",
        place: "address not kept"
    },
    /// PVC-U sewer pipe.
    En1401Part1 {
        title: "EN 1401-1 Plastics piping systems for non-pressure underground drainage and sewerage: PVC-U",
        edition: "edition not seen",
        place: "CEN"
    },
    /// Trench widths.
    En1610 {
        title: "EN 1610 Construction and testing of drains and sewers",
        edition: "2015, as reproduced by BG BAU",
        place: "https://bgbau-medien.de/handlungshilfen_gb/daten/bausteine/h_906/h_906.htm"
    },
    /// Vitrified clay jacking pipe.
    En295Part7 {
        title: "EN 295-7 Vitrified clay pipe systems, part 7: pipes and joints for pipe jacking",
        edition: "edition not seen",
        place: "CEN"
    },
    /// Map projections and radii of curvature.
    EpsgGuidance7Part2 {
        title: "IOGP Geomatics Guidance Note 373-7-2: Coordinate conversions and transformations including formulas",
        edition: "edition not seen",
        place: "https://epsg.org/guidance-notes.html"
    },
    /// GeoPackage files that say they are 1.3.
    GeoPackage13 {
        title: "OGC GeoPackage Encoding Standard, 12-128r18",
        edition: "1.3.1",
        place: "https://www.geopackage.org/spec131/"
    },
    /// GeoPackage files that say they are 1.4.
    GeoPackage14 {
        title: "OGC GeoPackage Encoding Standard, 12-128r19",
        edition: "1.4",
        place: "https://www.geopackage.org/spec140/"
    },
    /// Digging near services.
    Hsg47 {
        title: "HSG47 Avoiding danger from underground services",
        edition: "2014",
        place: "Health and Safety Executive"
    },
    /// Tolerance zone of marks on the ground, Mississippi.
    Mississippi811 {
        title: "Mississippi 811, colour code and tolerance zone",
        edition: "as stored",
        place: "https://www.ms811.org/ms-apwa-color-code-tolerance-zone/"
    },
    /// Support of trenches.
    NtWhsRegulations {
        title: "Work Health and Safety (National Uniform Legislation) Regulations, Northern Territory",
        edition: "2011",
        place: "https://classic.austlii.edu.au/au/legis/nt/num_reg/whasulr59o2011652/s306.html"
    },
    /// Sewers and water lines of manufactured home parks in Ohio.
    OhioManufacturedHomeParks {
        title: "Ohio Administrative Code 4781-12-13 Location of lines",
        edition: "2012",
        place: "http://codes.ohio.gov/oac/4781-12-13v1"
    },
    /// Support of trenches in the United States.
    Osha1926P {
        title: "29 CFR 1926 subpart P Excavations, as restated by Indiana Constructors",
        edition: "as stored",
        place: "https://indianaconstructors.org/excavation-by-the-numbers/"
    },
    /// Location quality of services in the United Kingdom.
    Pas128 {
        title: "PAS 128 Specification for underground utility detection, verification and location",
        edition: "as restated in a secondary page",
        place: "address not kept"
    },
    /// Skin friction of jacked pipes.
    PipeJackingAssociation {
        title: "Pipe Jacking Association, An introduction to pipe jacking and microtunnelling",
        edition: "edition not seen",
        place: "http://www.pipejacking.org/assets/pj/static/flipbook/inc/html/23.html"
    },
    /// Sewers near buildings.
    SewerageSectorGuidance {
        title: "Sewerage Sector Guidance, appendix C: Design and construction guidance",
        edition: "2.1",
        place: "https://www.scribd.com/document/722807601/"
    },
    /// Tolerance zone of marks on the ground, Florida.
    Sunshine811 {
        title: "Sunshine 811, tolerance zone",
        edition: "as stored",
        place: "https://my.sunshine811.com/tolerance-zone"
    },
    /// Pit sizes.
    Thomson1993 {
        title: "J. Thomson, Pipejacking and Microtunnelling",
        edition: "1993",
        place: "https://www.taylorfrancis.com/chapters/mono/10.4324/9780203860564-11/"
    },
    /// Separation of sewers and water mains.
    TolonoIl {
        title: "Code of Ordinances of Tolono, Illinois, separation of water mains and sewers",
        edition: "as stored",
        place: "https://codelibrary.amlegal.com/codes/tolonoil/latest/tolono_il/0-0-0-5656"
    },
    /// Manholes of public sewers in Virginia.
    VirginiaSewage {
        title: "Virginia Administrative Code 9VAC25-790 Sewage collection and treatment regulations",
        edition: "as stored",
        place: "https://law.lis.virginia.gov/admincode/title9/agency25/chapter790/section350/"
    },
    /// Grades and cover of sewers.
    WaverlyOh {
        title: "Codified Ordinances of Waverly, Ohio",
        edition: "as stored",
        place: "https://codelibrary.amlegal.com/codes/waverly/latest/waverly_oh/0-0-0-16230"
    },
    /// Clearances of sewers to other services.
    Wsa02 {
        title: "WSA 02 Gravity sewerage code of Australia",
        edition: "edition not seen",
        place: "Water Services Association of Australia"
    },
}

impl Source {
    /// The source of that name.
    pub fn named(name: &str) -> Option<Source> {
        Source::ALL.iter().copied().find(|s| s.name() == name)
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.title(), self.edition())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_is_found_by_its_name() {
        assert!(
            Source::ALL
                .iter()
                .all(|s| Source::named(s.name()) == Some(*s))
        );
        assert_eq!(Source::named("Nobody"), None);
    }

    #[test]
    fn entries_stand_in_alphabetical_order() {
        let names: Vec<String> = Source::ALL
            .iter()
            .map(|s| s.name().to_lowercase())
            .collect();
        let mut sorted = names.clone();
        sorted.sort();
        assert_eq!(names, sorted);
    }
}
