//! Projected coordinate reference systems that fit a place, to name in an error.

use super::shape::Bounds;
use rusqlite::{Connection, OpenFlags};
use std::path::PathBuf;

/// A projected coordinate reference system that fits the data.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fitting {
    /// Code, such as `EPSG:32632`.
    pub code: String,
    /// Name.
    pub name: String,
}

/// The UTM zone, and up to five others of small area of use that holds `b` (degrees) whole.
pub(super) fn fitting(b: &Bounds) -> Vec<Fitting> {
    let mut all = vec![utm(b)];
    all.extend(
        national(b)
            .unwrap_or_default()
            .into_iter()
            .filter(|f| f.code != utm(b).code),
    );
    all
}

/// UTM zone of the middle of `b`, on WGS 84.
fn utm(b: &Bounds) -> Fitting {
    let (lon, lat) = ((b.min[0] + b.max[0]) / 2.0, (b.min[1] + b.max[1]) / 2.0);
    let zone = (((lon + 180.0) / 6.0).floor() as i32 + 1).clamp(1, 60);
    let (hundreds, side) = if lat < 0.0 { (327, 'S') } else { (326, 'N') };
    Fitting {
        code: format!("EPSG:{hundreds}{zone:02}"),
        name: format!("WGS 84 / UTM zone {zone}{side}"),
    }
}

/// From PROJ's own database those meant for engineering survey, smallest area of use first; none where it is not found.
fn national(b: &Bounds) -> Option<Vec<Fitting>> {
    let db = Connection::open_with_flags(proj_db()?, OpenFlags::SQLITE_OPEN_READ_ONLY).ok()?;
    let mut rows = db
        .prepare(
            "SELECT DISTINCT CAST(c.code AS TEXT), c.name FROM projected_crs c
             JOIN usage u ON u.object_table_name = 'projected_crs' AND u.object_auth_name = c.auth_name AND u.object_code = c.code
             JOIN extent e ON e.auth_name = u.extent_auth_name AND e.code = u.extent_code
             JOIN scope s ON s.auth_name = u.scope_auth_name AND s.code = u.scope_code
             WHERE c.auth_name = 'EPSG' AND NOT c.deprecated
               AND s.scope LIKE '%engineering survey%' AND s.scope NOT LIKE '%railway%' AND c.name NOT LIKE 'WGS 72%'
               AND c.name NOT LIKE '%zE%' AND c.coordinate_system_code NOT IN (
                 SELECT coordinate_system_code FROM axis
                 WHERE coordinate_system_auth_name = 'EPSG' AND orientation NOT IN ('east', 'north'))
               AND e.west_lon <= ?1 AND e.south_lat <= ?2 AND e.east_lon >= ?3 AND e.north_lat >= ?4
             ORDER BY (e.east_lon - e.west_lon) * (e.north_lat - e.south_lat), CAST(c.code AS INTEGER) DESC LIMIT 5",
        )
        .ok()?;
    let found = rows.query_map((b.min[0], b.min[1], b.max[0], b.max[1]), |r| {
        Ok(Fitting {
            code: format!("EPSG:{}", r.get::<_, String>(0)?),
            name: r.get(1)?,
        })
    });
    found.ok()?.collect::<Result<_, _>>().ok()
}

fn proj_db() -> Option<PathBuf> {
    let said = ["PROJ_DATA", "PROJ_LIB"]
        .into_iter()
        .filter_map(std::env::var_os)
        .map(PathBuf::from);
    let usual = [
        "/usr/share/proj",
        "/usr/local/share/proj",
        "/opt/homebrew/share/proj",
    ]
    .map(PathBuf::from);
    said.chain(usual)
        .map(|d| d.join("proj.db"))
        .find(|p| p.is_file())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_utm_zone_is_that_of_the_middle() {
        let at = |x: f64, y: f64| {
            utm(&Bounds {
                min: [x, y],
                max: [x + 0.1, y + 0.1],
            })
            .code
        };
        assert_eq!(at(9.9, 53.5), "EPSG:32632");
        assert_eq!(at(174.7, -36.9), "EPSG:32760");
        assert_eq!(at(-180.0, 10.0), "EPSG:32601");
    }

    #[test]
    fn the_national_system_is_among_them_where_the_database_is_there() {
        let at = Bounds {
            min: [4.88, 52.36],
            max: [4.9, 52.38],
        };
        let codes: Vec<String> = fitting(&at).into_iter().map(|f| f.code).collect();
        assert_eq!(codes[0], "EPSG:32631");
        if proj_db().is_none() {
            return println!("skipped: proj.db was not found");
        }
        assert!(codes.contains(&"EPSG:28992".to_string()), "{codes:?}");
    }
}
