//! Every source cited, one entry each.
//!
//! A rule set names its sources by these entries' names; a doc comment links to them.

mod cited;

pub use cited::{Cited, Tag};

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
    /// Bores and pits near trees, a county's rule.
    ArlingtonTrees {
        title: "Arlington County, Virginia: Utility damage prevention, working near trees",
        edition: "as stored",
        place: "https://arlingtonva.us/Government/Programs/Building/Permits/Utility-Damage-Prevention/Near-Trees"
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
    /// Clay jacking pipe, American.
    AstmC1208 {
        title: "ASTM C1208 Vitrified clay pipe and joints for use in microtunneling, sliplining, pipe bursting, and tunnels",
        edition: "edition not seen",
        place: "ASTM International"
    },
    /// Soil load on jacked pipes.
    AtvA161 {
        title: "ATV-A 161 Structural calculation of driven pipes",
        edition: "1990",
        place: "Abwassertechnische Vereinigung"
    },
    /// Cover of sewers in roads and lots, a local rule.
    AuLocalCover {
        title: "Australian local practice on cover of sewers: 900 mm in roads, 600 mm in lots and footways",
        edition: "as restated in a secondary page",
        place: "address not kept"
    },
    /// Tunnelling near trees, a town's rule.
    AvonLakeOh {
        title: "Codified Ordinances of Avon Lake, Ohio",
        edition: "as stored",
        place: "https://codelibrary.amlegal.com/codes/avonlake/latest/avonlake_oh/0-0-0-62329"
    },
    /// Jacking loads of microtunnels.
    Bennett1998 {
        title: "R. D. Bennett, Jacking loads and ground deformations associated with microtunneling",
        edition: "1998",
        place: "University of Illinois"
    },
    /// Root protection areas.
    Bs5837 {
        title: "BS 5837 Trees in relation to design, demolition and construction",
        edition: "2012",
        place: "BSI"
    },
    /// Grades of house drains, a city's rule.
    ChicagoPlumbing {
        title: "Chicago plumbing code, table 18-29-704.1",
        edition: "as stored",
        place: "https://codelibrary.amlegal.com/codes/chicago/latest/chicago_il/0-0-0-2691996"
    },
    /// Jacking forces after a stop.
    ChuStoppage {
        title: "V. T. H. Chu, notes on pipe jacking",
        edition: "as restated",
        place: "https://engineeringcivil.com/tag/vincent-t-h-chu/page/13"
    },
    /// Flow in pipes between smooth and rough.
    ColebrookWhite1939 {
        title: "C. F. Colebrook, Turbulent flow in pipes, with particular reference to the transition region between the smooth and rough pipe laws",
        edition: "Journal of the ICE 11, 1939",
        place: "https://www.scribd.com/document/678799402/"
    },
    /// Digging near trees, a town's rule.
    DanburyCt {
        title: "Code of Ordinances of Danbury, Connecticut, § 42-161",
        edition: "as stored",
        place: "http://danbury-ct.elaws.us/code/coor_ch42_artiv_sec42-161"
    },
    /// Self-cleansing of adopted sewers.
    DesignConstructionGuidance {
        title: "Design and Construction Guidance for foul and surface water sewers (Sewers for Adoption)",
        edition: "edition not seen",
        place: "Water UK"
    },
    /// Slopes and working space of pits and trenches.
    Din4124 {
        title: "DIN 4124 Excavations and trenches: slopes, planking and strutting, breadths of working spaces",
        edition: "as reproduced by BFGA",
        place: "https://www.bfga.de/arbeitsschutz-lexikon-von-a-bis-z/fachbegriffe-a-b/baugruben-graeben-fachbegriff/"
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
    /// Self-cleansing of drains and sewers.
    En752 {
        title: "EN 752 Drain and sewer systems outside buildings, with EN 16933-2",
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
    /// Resistance of a cutting edge.
    Herzog1985 {
        title: "M. Herzog, Die Pressenkräfte bei Schildvortrieb und Rohrvorpressung, as quoted by D. Stein",
        edition: "Baumaschine und Bautechnik 32, 1985",
        place: "not at hand"
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
    /// Flow in open channels and pipes.
    Manning1891 {
        title: "R. Manning, On the flow of water in open channels and pipes",
        edition: "Transactions of the ICEI 20, 1891",
        place: "not at hand"
    },
    /// Digging near trees.
    NjugVolume4 {
        title: "NJUG Volume 4, Guidelines for the planning, installation and maintenance of utility apparatus in proximity to trees, operatives' handout",
        edition: "Issue 2",
        place: "https://scribd.com/document/724662885/V4-Trees-Issue-2-Operatives-Handout"
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
    /// Location quality of services in the United Kingdom.
    Pas128 {
        title: "PAS 128 Specification for underground utility detection, verification and location",
        edition: "as restated in a secondary page",
        place: "address not kept"
    },
    /// Grades of sewers in subdivisions.
    Nzs4404 {
        title: "NZS 4404 Land development and subdivision infrastructure",
        edition: "2010",
        place: "Standards New Zealand"
    },
    /// Width of the settlement trough.
    OReillyNew1982 {
        title: "M. P. O'Reilly and B. M. New, Settlements above tunnels in the United Kingdom",
        edition: "Tunnelling '82",
        place: "http://www.tunnel-online.info/en/artikel/settlement-predictions-for-tbm-tunnelling-in-soft-ground-on-the-basis-of-empirical-values-4092239.html"
    },
    /// Excavations, American.
    OshaSubpartP {
        title: "29 CFR 1926 subpart P, Excavations",
        edition: "as restated by Indiana Constructors",
        place: "https://indianaconstructors.org/excavation-by-the-numbers/"
    },
    /// Shape of the settlement trough.
    Peck1969 {
        title: "R. B. Peck, Deep excavations and tunneling in soft ground",
        edition: "7th ICSMFE, 1969",
        place: "http://www.tunnel-online.info/en/artikel/settlement-predictions-for-tbm-tunnelling-in-soft-ground-on-the-basis-of-empirical-values-4092239.html"
    },
    /// Friction on jacked pipes.
    PelletKastner2002 {
        title: "A.-L. Pellet-Beaucour and R. Kastner, Experimental and analytical study of friction forces during microtunneling operations",
        edition: "Tunnelling and Underground Space Technology 17, 2002",
        place: "not at hand"
    },
    /// A worked flow in a long pipe.
    PipeFlowExercise {
        title: "Worked problem: water flows through a 1.2 m diameter pipeline of smooth concrete pipes",
        edition: "as stored",
        place: "https://holooly.com/solutions-v2-1/water-flows-through-a-1-2-m-diameter-pipeline-constructed-from-smooth-concrete-pipes-for-which-k-0-60-mm-the-hydraulic-gradient-sf-is-1-in-250-and-n-is-1-005-x-10-6-m%c2%b2-s-calculate-th"
    },
    /// Flow of full pipes, Colebrook-White.
    PipeFlowTable {
        title: "Table of velocities and discharges of full pipes, ks 0.6 mm",
        edition: "as stored",
        place: "https://vi.scribd.com/document/344934976/"
    },
    /// Skin friction of jacked pipes.
    PipeJackingAssociation {
        title: "Pipe Jacking Association, An introduction to pipe jacking and microtunnelling",
        edition: "edition not seen",
        place: "http://www.pipejacking.org/assets/pj/static/flipbook/inc/html/23.html"
    },
    /// Grades of sewers, an enacted copy with a misprint.
    PurcellOk {
        title: "Code of Ordinances of Purcell, Oklahoma",
        edition: "as stored",
        place: "https://codelibrary.amlegal.com/codes/purcellok/latest/purcell_ok/0-0-0-6429"
    },
    /// Settlements that buildings bear.
    Rankin1988 {
        title: "W. J. Rankin, Ground movements resulting from urban tunnelling: predictions and effects",
        edition: "Engineering Geology of Underground Movements, 1988",
        place: "not at hand"
    },
    /// Passive earth pressure.
    Rankine1857 {
        title: "W. J. M. Rankine, On the stability of loose earth",
        edition: "Philosophical Transactions 147, 1857",
        place: "not at hand"
    },
    /// Misclosure of levelling.
    SaLevelling {
        title: "South Australian convention for the Australian height datum survey control network",
        edition: "as stored",
        place: "https://www.dhud.sa.gov.au/what-we-do/office-of-the-surveyor-general/surveying/permanent-survey-marks/sa-convention-for-the-australian-height-datum-ahd-survey-control-network"
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
    /// Flow of full pipes, Colebrook-White.
    SewerFlowTable {
        title: "Sewerage manual with worked table of pipe flow, ks 0.6 mm",
        edition: "as stored",
        place: "https://www.scribd.com/document/678799402/"
    },
    /// Interface friction of jacked pipes.
    Staheli2006 {
        title: "K. Staheli, Jacking force prediction: an interface friction approach based on pipe surface roughness",
        edition: "Georgia Institute of Technology, 2006",
        place: "https://smartech.gatech.edu/handle/1853/11565"
    },
    /// Swell of soils when dug.
    SwellFactors {
        title: "Swell factors for various soils, projectengineer.net",
        edition: "as stored",
        place: "https://projectengineer.net/swell-factors-for-various-soils"
    },
    /// Tolerance of sewers in line and level.
    TaurangaIdc {
        title: "Tauranga City Infrastructure Development Code, CS-9.4 and CS-13",
        edition: "as stored",
        place: "https://idc.tauranga.govt.nz/construction-standards/cs-9-pipework/cs-9_4-tolerances"
    },
    /// Arching over a yielding strip.
    Terzaghi1943 {
        title: "K. Terzaghi, Theoretical soil mechanics",
        edition: "1943",
        place: "not at hand"
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
    /// Grades of laterals, a village's rule.
    TolonoIlLaterals {
        title: "Code of Ordinances of Tolono, Illinois, § 153.186",
        edition: "as stored",
        place: "https://codelibrary.amlegal.com/codes/tolonoil/latest/tolono_il/0-0-0-5781"
    },
    /// A worked settlement over a tunnel.
    TroughExercise {
        title: "Worked problem: an 8 m diameter tunnel is to be excavated in soft silt clay",
        edition: "as stored",
        place: "https://askfilo.com/user-question-answers-smart-solutions/an-8m-diameter-tunnel-is-to-be-excavated-in-soft-silt-clay-3431303239343338"
    },
    /// Carbon of diesel.
    UkGreenhouseGas2025 {
        title: "UK Government greenhouse gas conversion factors for company reporting",
        edition: "2025, as restated in a secondary page",
        place: "address not kept"
    },
    /// Velocity and grade of sewers, a state's rule.
    VirginiaSewers {
        title: "Virginia Administrative Code, 9VAC25-790-320 and -350",
        edition: "as stored",
        place: "https://law.lis.virginia.gov/admincode/title9/agency25/chapter790/section320/"
    },
    /// Building near sewers.
    WatercareNearSewers {
        title: "Watercare, Auckland: building close to sewers",
        edition: "as restated",
        place: "https://www.scribd.com/document/402596335/Watercare-Building-Close-to-Sewer"
    },
    /// Grades and cover of sewers; steepest grade without anchors.
    WaverlyOh {
        title: "Codified Ordinances of Waverly, Ohio",
        edition: "as stored",
        place: "https://codelibrary.amlegal.com/codes/waverly/latest/waverly_oh/0-0-0-16230"
    },
    /// Velocity and grade of sewers, a state's rule.
    WisconsinNr110 {
        title: "Wisconsin Administrative Code, NR 110.13",
        edition: "as stored",
        place: "https://docs-preview.legis.wisconsin.gov/exec_review/admin_code/nr/100/110/13/3/b/2?up=1"
    },
    /// Cost of delay at road works.
    WorkZoneDelay {
        title: "Work zone travel delay cost, formula",
        edition: "as stored",
        place: "address not kept"
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
