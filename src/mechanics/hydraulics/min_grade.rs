//! Flattest grades by nominal diameter, as rule books print them.

use crate::bibliography::{Cited, Source};

/// A rule book's table of flattest grades.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MinGrades {
    /// Name, for people.
    pub name: &'static str,
    /// Nominal diameter (mm; inches times 25.4) and flattest grade (m/m), by rising diameter.
    pub rows: &'static [(f64, f64)],
    /// Where it is from.
    pub cited: Cited,
}

const IN: f64 = 25.4;

/// Tables there are. What a job asks is `rules.min_grade`; these stand beside it.
pub const MIN_GRADES: [MinGrades; 8] = [
    MinGrades {
        name: "Ten States family",
        // The copy read prints 0.67 % for 27 in; a table that rises with diameter is a misprint, and 0.067 is meant.
        rows: &[
            (6.0 * IN, 0.0060),
            (8.0 * IN, 0.0040),
            (10.0 * IN, 0.0028),
            (12.0 * IN, 0.0022),
            (14.0 * IN, 0.0017),
            (15.0 * IN, 0.0015),
            (16.0 * IN, 0.0014),
            (18.0 * IN, 0.0012),
            (21.0 * IN, 0.0010),
            (24.0 * IN, 0.0008),
            (27.0 * IN, 0.00067),
            (30.0 * IN, 0.00058),
            (36.0 * IN, 0.00046),
        ],
        cited: Cited::read(Source::WaverlyOh, "§ 937.10, minimum slopes"),
    },
    MinGrades {
        name: "Wisconsin, with the owner's reasons",
        rows: &[(8.0 * IN, 0.0030)],
        cited: Cited::read(Source::WisconsinNr110, "NR 110.13(2)(c), 8 in"),
    },
    MinGrades {
        name: "laterals of 6 in, Illinois and Ohio",
        rows: &[(6.0 * IN, 0.125 / 12.0)],
        cited: Cited::read(Source::TolonoIlLaterals, "1/8 in a foot"),
    },
    MinGrades {
        name: "plumbing code, Chicago",
        rows: &[
            (2.5 * IN, 0.25 / 12.0),
            (6.0 * IN, 0.125 / 12.0),
            (8.0 * IN, 0.0625 / 12.0),
        ],
        cited: Cited::read(Source::ChicagoPlumbing, "table 18-29-704.1"),
    },
    MinGrades {
        name: "house drains, AS/NZS 3500.2",
        rows: &[
            (65.0, 0.025),
            (80.0, 0.0165),
            (100.0, 0.0165),
            (150.0, 0.01),
            (225.0, 0.0065),
        ],
        cited: Cited::from_memory(
            Source::AsNzs3500Part2,
            "minimum grades of drains; DN 65 and DN 100 as restated",
        ),
    },
    MinGrades {
        name: "sewers, NZS 4404",
        rows: &[
            (150.0, 0.0055),
            (200.0, 0.0033),
            (225.0, 0.0033),
            (300.0, 0.0025),
        ],
        cited: Cited::from_memory(Source::Nzs4404, "table 5.4"),
    },
    MinGrades {
        name: "property connections, NZS 4404",
        rows: &[(100.0, 0.0165), (150.0, 0.012)],
        cited: Cited::from_memory(Source::Nzs4404, "table 5.5"),
    },
    MinGrades {
        name: "drains of more than 1 l/s, Approved Document H",
        rows: &[
            (75.0, 1.0 / 80.0),
            (100.0, 1.0 / 80.0),
            (150.0, 1.0 / 150.0),
        ],
        cited: Cited::from_memory(Source::ApprovedDocumentH, "table 6"),
    },
];

impl MinGrades {
    /// Grades may not rise with diameter; one that does is a misprint. The diameter at which the first rises, if any.
    pub fn misprint(rows: &[(f64, f64)]) -> Option<f64> {
        let rises = |pair: &&[(f64, f64)]| pair[1].0 <= pair[0].0 || pair[1].1 > pair[0].1;
        rows.windows(2).find(rises).map(|pair| pair[1].0)
    }

    /// Flattest grade at the greatest diameter of the table that is not above this one; none below the table.
    pub fn at(&self, dn_mm: f64) -> Option<f64> {
        let row = self.rows.iter().rev().find(|(dn, _)| *dn <= dn_mm + 1e-6);
        row.map(|(_, grade)| *grade)
    }
}

/// The table of that name.
pub fn min_grade(name: &str) -> Option<&'static MinGrades> {
    MIN_GRADES.iter().find(|t| t.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_table_rises_with_diameter() {
        for table in MIN_GRADES {
            assert_eq!(MinGrades::misprint(table.rows), None, "{}", table.name);
        }
    }

    #[test]
    fn misprints_of_enacted_copies_are_found() {
        let ten_states = MIN_GRADES[0].rows;
        let with = |inches: f64, percent: f64| {
            let mut rows = ten_states.to_vec();
            let row = rows.iter_mut().find(|r| r.0 == inches * IN).unwrap();
            row.1 = percent / 100.0;
            MinGrades::misprint(&rows)
        };
        assert_eq!(with(27.0, 0.67), Some(27.0 * IN));
        assert_eq!(with(10.0, 0.20), Some(12.0 * IN));
    }

    #[test]
    fn a_diameter_between_rows_takes_the_smaller_ones() {
        let drains = min_grade("house drains, AS/NZS 3500.2").unwrap();
        assert_eq!(drains.at(125.0), Some(0.0165));
        assert_eq!(drains.at(150.0), Some(0.01));
        assert_eq!(drains.at(50.0), None);
        assert!(min_grade("nobody").is_none());
    }
}
