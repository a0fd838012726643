//! `export`: planned layers for other programs.

mod files;
mod quality;

use super::{
    args::{Export, Format, Units},
    document,
    exit::{Exit, Failure},
    kept_job::kept_job,
    say,
};
use crate::{
    export::{self, Beside, Kind, Layer, Sheet, Unit},
    read::{Planned, Results, System, planned},
    site::CrsInfo,
    write,
};
use files::Drafts;
use quality::Qualities;
use std::path::PathBuf;

/// Scale of a drawing where none is asked for.
const SCALE: u32 = 500;

/// A file that was written.
pub struct Written {
    /// Where it is.
    pub file: PathBuf,
    /// Rows of each layer in it.
    pub layers: Vec<(String, usize)>,
}

/// What was written.
pub struct Exported<'a> {
    /// The file with the layers.
    pub site: &'a std::path::Path,
    /// In which system the coordinates are.
    pub crs: String,
    /// The files.
    pub files: Vec<Written>,
}

/// Exports the planned layers of a site.
pub fn export(args: &Export) -> Result<Exit, Failure> {
    fits(args)?;
    let system = match args.to {
        Format::Geojson | Format::Kml => System::Degrees,
        Format::Dxf | Format::Fgb | Format::Csv => System::Job,
    };
    let results = Results::open(&args.site.site)?;
    let (job, _) = kept_job(
        args.site.job.as_deref(),
        &args.site.site,
        &results,
        "proposed_bores",
    )?;
    let read = planned(&args.site.site, system)?;
    let Some(crs) = &read.crs else {
        return Err(nothing(args, "result layers"));
    };
    let mut drafts = Drafts::new(&args.output, args.replace)?;
    match args.to {
        Format::Geojson => geojson(&mut drafts, &read)?,
        Format::Kml => {
            let text = export::kml(&stem(args), &read.layers);
            drafts.text(&format!("{}.kml", stem(args)), text, rows(&read.layers))?;
        }
        Format::Dxf => {
            let text = export::drawing(&sheet(args, crs), &read.layers);
            let drawn = rows(&read.layers);
            drafts.text(&format!("{}.dxf", stem(args)), text, drawn)?;
        }
        Format::Fgb => flatgeobuf(&mut drafts, &read, crs)?,
        Format::Csv => {
            let quality = Qualities::of(&args.site.site, &job, &results)?;
            schedule(&mut drafts, args, &read, &quality)?;
        }
    }
    let done = Exported {
        site: &args.site.site,
        crs: match system {
            System::Degrees => "OGC:CRS84".to_string(),
            System::Job => crs.authority.clone().unwrap_or_else(|| crs.name.clone()),
        },
        files: drafts.publish()?,
    };
    if args.site.talk.json {
        say::document(&document::export(&done));
    } else if !args.site.talk.quiet {
        say::text(&say::export(&done));
    }
    Ok(Exit::Done)
}

/// Flags that only some formats have.
fn fits(args: &Export) -> Result<(), Failure> {
    let units = matches!(args.to, Format::Csv | Format::Dxf);
    let refused = match args {
        Export { units: Some(_), .. } if !units => {
            "--units goes with --to csv and --to dxf: the columns of layers are metres, as their names say"
        }
        Export { scale: Some(_), .. } if args.to != Format::Dxf => "--scale goes with --to dxf",
        _ => return Ok(()),
    };
    Err(Failure {
        exit: Exit::Usage,
        message: refused.to_string(),
        file: None,
        layer: None,
        fid: None,
        column: None,
    })
}

fn nothing(args: &Export, what: &str) -> Failure {
    let site = &args.site.site;
    let message = format!(
        "{}: holds no {what}; run pitwright plan first, or name the file that --out wrote",
        site.display()
    );
    Failure::of_file(Exit::Input, site, message)
}

/// Name of the site's file without its end, by which files of the whole plan are named.
fn stem(args: &Export) -> String {
    let stem = args.site.site.file_stem();
    stem.map_or_else(|| "site".into(), |s| s.to_string_lossy().into_owned())
}

fn unit(args: &Export) -> Unit {
    match args.units {
        None | Some(Units::M) => Unit::Metre,
        Some(Units::Ft) => Unit::Foot,
        Some(Units::UsFt) => Unit::SurveyFoot,
    }
}

fn rows(layers: &[Layer]) -> Vec<(String, usize)> {
    let row = |l: &Layer| (l.name.clone(), l.features.len());
    layers.iter().map(row).collect()
}

fn geojson(drafts: &mut Drafts, read: &Planned) -> Result<(), Failure> {
    for layer in &read.layers {
        let rows = rows(std::slice::from_ref(layer));
        let name = format!("{}.geojson", layer.name);
        drafts.text(&name, export::geojson(layer), rows)?;
    }
    Ok(())
}

fn flatgeobuf(drafts: &mut Drafts, read: &Planned, crs: &CrsInfo) -> Result<(), Failure> {
    for layer in &read.layers {
        let rows = rows(std::slice::from_ref(layer));
        let make = |file: &std::path::Path| write::flatgeobuf(file, layer, crs);
        drafts.made(&format!("{}.fgb", layer.name), rows, make)?;
    }
    Ok(())
}

fn sheet(args: &Export, crs: &CrsInfo) -> Sheet {
    let code = crs.authority.as_deref().unwrap_or("no code");
    Sheet {
        crs: format!("{} ({code}), {}", crs.name, crs.unit_name),
        unit_m: crs.unit_m,
        labels: unit(args),
        scale: args.scale.unwrap_or(SCALE).into(),
    }
}

fn schedule(
    drafts: &mut Drafts,
    args: &Export,
    read: &Planned,
    quality: &Qualities,
) -> Result<(), Failure> {
    let layer = |name: &str| read.layers.iter().find(|l| l.name == name);
    let needed = |name: &'static str| layer(name).ok_or_else(|| nothing(args, name));
    let (pits, bores) = (needed("proposed_pits")?, needed("proposed_bores")?);
    let none = Layer {
        name: String::new(),
        kind: Kind::Point,
        has_levels: false,
        columns: vec![],
        features: vec![],
    };
    // A local system that nothing leads from has no scale and no true north: their columns stay empty.
    let in_degrees = planned(&args.site.site, System::Degrees).map_or(vec![], |p| p.layers);
    let mut degrees = in_degrees.iter();
    let degrees = degrees.find(|l| l.name == "proposed_bores");
    let beside = Beside {
        degrees: degrees.unwrap_or(&none),
        conflicts: layer("bore_conflicts").unwrap_or(&none),
        holes: layer("test_holes").unwrap_or(&none),
        quality: &|layer, fid| quality.of_service(layer, fid),
    };
    let text = export::schedule(pits, bores, &beside, unit(args));
    let name = format!("{}-setting-out.csv", stem(args));
    drafts.text(&name, text, rows(std::slice::from_ref(bores)))
}
