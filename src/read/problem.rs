//! Everything that can be wrong with an input, and what to do about each.

use super::Fitting;

/// What is wrong.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs)]
pub enum Problem {
    // Files, layers, columns
    #[error("there is no such file")]
    NoFile,
    #[error("cannot be opened{}", said(.gdal))]
    CannotOpen { gdal: String },
    #[error("another program has locked it")]
    Locked,
    #[error("cannot be read{}", said(.gdal))]
    Unreadable { gdal: String },
    #[error("no layer fills the role {role}")]
    RoleEmpty {
        role: &'static str,
        known: Vec<String>,
    },
    #[error("there is no layer '{table}' for the role {role}")]
    NoLayer {
        role: &'static str,
        table: String,
        known: Vec<String>,
    },
    #[error("is a result layer and cannot be the {role} of a job")]
    OwnLayer { role: &'static str },
    #[error("there is no column '{column}', which the job names for {meaning}")]
    NoColumn {
        column: String,
        meaning: String,
        known: Vec<String>,
    },
    #[error("{role} have no column '{meaning}'")]
    NoMeaning {
        role: &'static str,
        meaning: String,
        known: Vec<String>,
    },
    #[error("the column '{column}' is required of {role} and is not there")]
    RequiredColumn {
        role: &'static str,
        column: &'static str,
        known: Vec<String>,
    },
    #[error("{key} is '{value}'")]
    BadSetting {
        key: &'static str,
        value: String,
        expected: &'static str,
    },

    // Earlier checks
    #[error("no run has the number {run_id}")]
    NoSuchRun { run_id: i64, known: Vec<String> },
    #[error("run {run_id} is a '{command}' and no check")]
    NotACheck {
        run_id: i64,
        command: String,
        known: Vec<String>,
    },
    #[error(
        "the rows of run {run_id} are not there any more: run {by} has written bore_conflicts anew"
    )]
    RunOverwritten { run_id: i64, by: i64 },
    #[error("holds no bore_conflicts of an earlier check")]
    NoEarlierRows,

    // Coordinate systems
    #[error("the coordinate reference system is not defined")]
    NoCrs,
    #[error("the coordinate reference system is not defined; taken as the job's")]
    AssumedCrs,
    #[error("'{crs}' is no coordinate reference system that is known here{}", said(.gdal))]
    BadCrs { crs: String, gdal: String },
    #[error("{name} is in degrees, and a plan needs a projected coordinate reference system")]
    Geographic { name: String, fitting: Vec<Fitting> },
    #[error("{name} is not true to scale, so no length or clearance would be right")]
    NotTrueToScale { name: String, fitting: Vec<Fitting> },
    #[error("{name} is not a projected coordinate reference system")]
    NotProjected { name: String },
    #[error("a metre on this grid is {scale:.5} m on the ground")]
    Scale { scale: f64 },
    #[error("the axes of {name} do not point east and north")]
    Axes { name: String },
    #[error(
        "heights of this coordinate reference system are in {unit}, and no z_unit is given; taken as metres"
    )]
    HeightUnit { unit: String },
    #[error("cannot be carried into the job's coordinate reference system{}", said(.gdal))]
    NoTransform { gdal: String },

    // Geometry
    #[error("has no geometry")]
    NoGeometry,
    #[error("has an empty geometry")]
    EmptyGeometry,
    #[error("its geometry cannot be read ({why})")]
    BadGeometry { why: String },
    #[error(
        "has a coordinate that is not a number, or that the job's coordinate reference system cannot hold"
    )]
    NotFinite,
    #[error("is not made of {wanted}")]
    WrongGeometry { wanted: &'static str },
    #[error("a line of fewer than two points")]
    TooShort,
    #[error("has {parts} parts, and a route is one line")]
    RouteParts { parts: usize },
    #[error("is not a valid polygon; was made valid")]
    MadeValid,
    #[error("is not a valid polygon, and nothing is left of it when it is made valid")]
    NothingLeft,
    #[error("polygons are not checked: this GDAL is built without GEOS")]
    NoGeos,
    #[error("its Z is partly missing or all 0, and is not used")]
    NoUsableZ,

    // Values
    #[error("'{value}' is not {expected}")]
    BadValue {
        value: String,
        expected: &'static str,
    },
    #[error("'{value}' is none of {known}; taken as {taken}")]
    UnknownWord {
        value: String,
        known: String,
        taken: &'static str,
    },
    #[error("no value; taken as {taken}")]
    Missing { taken: &'static str },

    // Routes
    #[error("the route_id '{id}' is also that of fid {other}")]
    DuplicateId { id: String, other: i64 },
    #[error("there is no route '{name}' to join")]
    JoinsUnknown { name: String, known: Vec<String> },
    #[error("the route '{name}' joins itself")]
    JoinsItself { name: String },
    #[error("the routes join in a circle: {}", .names.join(" > "))]
    JoinsCircle { names: Vec<String> },
    #[error("'{value}' is not LAYER/FID of a service")]
    FollowsForm { value: String },
    #[error("there is no service {layer} fid {fid} to follow")]
    FollowsMissing {
        layer: String,
        fid: i64,
        known: Vec<String>,
    },
    #[error(
        "the service {layer} fid {fid} that is followed is left out or lies far from the routes"
    )]
    FollowsFar { layer: String, fid: i64 },

    // Ground
    #[error("there is no source of ground levels")]
    NoGround,
    #[error("gives no ground levels: {why}")]
    BadGround { why: String },

    // Streets
    #[error(
        "no street is known, so nothing is known of the way to a pit: every pit counts as dug by machine"
    )]
    NoStreets { known: Vec<String> },

    // What only an inspection looks for
    #[error("is the same as fid {of}")]
    Duplicate { of: i64 },
    #[error("a line of no length")]
    ZeroLength,
    #[error("{count} of {total} have no {what}")]
    Lacking {
        count: usize,
        total: usize,
        what: &'static str,
    },
    #[error("no ground level at its {end} end")]
    NoGroundAt { end: &'static str },
    #[error("the ground rises by {rise_m:.2} m in the direction of flow")]
    Uphill { rise_m: f64 },
}

/// GDAL's own words, last.
fn said(gdal: &str) -> String {
    if gdal.is_empty() {
        String::new()
    } else {
        format!(" ({gdal})")
    }
}

fn there_are(what: &str, known: &[String]) -> String {
    if known.is_empty() {
        format!("there are no {what}")
    } else {
        format!("{what} there: {}", known.join(", "))
    }
}

fn reproject(fitting: &[Fitting]) -> String {
    let codes = fitting
        .iter()
        .map(|f| format!("{} ({})", f.code, f.name))
        .collect::<Vec<_>>()
        .join(", ");
    let fit = if codes.is_empty() {
        String::new()
    } else {
        format!("; fitting here: {codes}")
    };
    format!("set [job] crs to a projected one, or reproject the layer{fit}")
}

impl Problem {
    /// What to do about it.
    pub fn remedy(&self) -> String {
        use Problem::*;
        match self {
            NoFile | CannotOpen { .. } => "check the path and that it is a file GDAL reads".into(),
            Locked => "close it in the other program and try again".into(),
            Unreadable { .. } => "check the file with its own program; restore it from a copy if it is damaged".into(),
            RoleEmpty { role, known } => {
                format!("name one under [layers.{role}] table; {}", there_are("layers", known))
            }
            NoLayer { known, .. } => format!("mend the name in the job or on the command line; {}", there_are("layers", known)),
            OwnLayer { .. } => "name a layer of your own".into(),
            NoColumn { known, .. } | NoMeaning { known, .. } => {
                format!("mend the name in the job or on the command line; {}", there_are("columns", known))
            }
            RequiredColumn { role, column, known } => {
                format!("add it, or name another under [layers.{role}] {column} = \"…\"; {}", there_are("columns", known))
            }
            BadSetting { expected, .. } => format!("use {expected}"),
            NoCrs => "give the layer its coordinate reference system, or set [job] crs".into(),
            AssumedCrs => "give the layer its coordinate reference system".into(),
            BadCrs { .. } => "use a code such as EPSG:25832".into(),
            Geographic { fitting, .. } | NotTrueToScale { fitting, .. } => reproject(fitting),
            NotProjected { .. } => "set [job] crs to a projected one".into(),
            Scale { .. } => "set [job] crs to one made for this place".into(),
            Axes { .. } => "use the east-north variant; left and right, and bearings, are mirrored or turned here".into(),
            HeightUnit { .. } => "set z_unit to \"m\", \"ft\" or \"us-ft\"".into(),
            NoTransform { .. } => "reproject the layer to the routes' coordinate reference system".into(),
            NoGeometry | EmptyGeometry => "draw it, or delete the feature".into(),
            BadGeometry { .. } | NotFinite => "draw it anew, or delete the feature".into(),
            WrongGeometry { .. } => "move it to a layer of its own kind".into(),
            TooShort | ZeroLength => "give it a length, or delete it".into(),
            RouteParts { .. } => "merge the parts into one line, or give each a route of its own and `joins`".into(),
            MadeValid | NothingLeft => "mend the outline where it crosses itself".into(),
            NoGeos => "mend the outlines with another program first".into(),
            NoUsableZ => "give every vertex its level".into(),
            BadValue { expected, .. } => format!("write {expected}"),
            UnknownWord { .. } => "use one of them".into(),
            Missing { .. } => "fill it in".into(),
            DuplicateId { .. } => "give each route an id of its own".into(),
            JoinsUnknown { known, .. } => format!("mend the name; {}", there_are("routes", known)),
            JoinsItself { .. } | JoinsCircle { .. } => "let the last route of the tree join none".into(),
            FollowsForm { .. } => "write for instance services/17".into(),
            FollowsMissing { known, .. } => {
                format!("mend the layer or fid; {}", there_are("service layers", known))
            }
            NoSuchRun { known, .. } | NotACheck { known, .. } => {
                format!("name one of pitwright_runs; {}", there_are("checks", known))
            }
            RunOverwritten { .. } => {
                "keep each check in a file of its own (--out FILE.gpkg) and compare with --against FILE.gpkg".into()
            }
            NoEarlierRows => "name a file that `check` (or `plan`) has written".into(),
            FollowsFar { .. } => "check the fid and the status of the service".into(),
            NoGround => "add a `ground` raster or points, give the routes Z, or name a raster under [layers.ground] file".into(),
            BadGround { .. } => "check the file and [layers.ground]".into(),
            NoStreets { known } => {
                format!("draw the streets' lines, or name a layer under [layers.streets] table; {}", there_are("layers", known))
            }
            Duplicate { .. } => "delete one of the two".into(),
            Lacking { .. } => "fill in what is known; what is not stays unknown, never clear".into(),
            NoGroundAt { .. } => "extend the ground model; no pit can stand there".into(),
            Uphill { .. } => "check that the route is digitised downstream".into(),
        }
    }
}
