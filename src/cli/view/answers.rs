//! What is answered to each path. Everything else is not there; no path names a file.

use super::{
    http::Answer,
    load::{Loaded, load},
};
use crate::{
    cli::{args::View as Args, exit::Failure},
    view::{answer, page},
};
use geo::Coord;
use std::{
    collections::BTreeMap,
    fs,
    path::PathBuf,
    sync::{Arc, Mutex, PoisonError},
    time::SystemTime,
};

const HTML: &str = "text/html; charset=utf-8";
const CSS: &str = "text/css; charset=utf-8";
const JS: &str = "text/javascript; charset=utf-8";
const JSON: &str = "application/json";

/// The report's looks, and what the map adds to them.
const STYLE: &str = concat!(
    include_str!("../../report/page.css"),
    include_str!("../../report/drawing.css"),
    include_str!("../../view/view.css")
);

/// When each file was last written, by which a new plan is noticed.
type Stamps = BTreeMap<PathBuf, Option<(SystemTime, u64)>>;

/// Answers about files as they stand at the moment.
pub struct Answers<'a> {
    args: &'a Args,
    kept: Mutex<(Stamps, Arc<Loaded>)>,
}

impl<'a> Answers<'a> {
    /// Reads the files a first time.
    pub fn new(args: &'a Args) -> Result<Answers<'a>, Failure> {
        let named = [Some(&args.site), args.around.as_ref()];
        let stamps = stamps(named.into_iter().flatten());
        Ok(Answers {
            args,
            kept: Mutex::new(read(args, stamps)?),
        })
    }

    /// What was read, read anew where a file was written since.
    pub fn loaded(&self) -> Result<Arc<Loaded>, Failure> {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let now = stamps(kept.0.keys());
        if kept.0 != now {
            *kept = read(self.args, now)?;
        }
        Ok(kept.1.clone())
    }

    /// The answer to a path.
    pub fn to(&self, target: &str) -> Answer {
        match target {
            "/view.css" => Answer::of(CSS, STYLE),
            "/view.js" => Answer::of(JS, include_str!("../../view/view.js")),
            "/leaflet.css" => Answer::of(CSS, include_str!("../../view/leaflet/leaflet.css")),
            "/leaflet.js" => Answer::of(JS, include_str!("../../view/leaflet/leaflet.js")),
            _ => self
                .of_file(target)
                .unwrap_or_else(|failure| Answer::refused(500, &failure.message)),
        }
    }

    fn of_file(&self, target: &str) -> Result<Answer, Failure> {
        let nothing = || Answer::refused(404, "nothing is here");
        if target == "/" {
            return Ok(Answer::of(HTML, page(&self.loaded()?.about)));
        }
        if let Some(window) = target.strip_prefix("/map/").and_then(window) {
            let loaded = self.loaded()?;
            let origin = loaded.origin();
            let window = window.map(|p| p + origin);
            let seen = loaded.seen(window)?;
            return Ok(Answer::of(JSON, answer(&seen, origin).to_string()));
        }
        match target.strip_prefix("/bore/").and_then(number) {
            Some(fid) => {
                let page = self.loaded()?.bore(fid)?;
                Ok(page.map_or_else(nothing, |p| Answer::of(HTML, p)))
            }
            None => Ok(nothing()),
        }
    }
}

/// `x0,y0,x1,y1`, in metres from the origin.
fn window(text: &str) -> Option<[Coord<f64>; 2]> {
    let numbers: Option<Vec<f64>> = text.split(',').map(|n| n.parse().ok()).collect();
    let [x0, y0, x1, y1] = numbers?.try_into().ok()?;
    let fits = [x0, y0, x1, y1].iter().all(|v: &f64| v.abs() < 1e8);
    (fits && x0 <= x1 && y0 <= y1).then_some([Coord { x: x0, y: y0 }, Coord { x: x1, y: y1 }])
}

/// Digits alone.
fn number(text: &str) -> Option<i64> {
    let digits = text.bytes().all(|b| b.is_ascii_digit());
    digits.then(|| text.parse().ok())?
}

/// Stamps are of before the reading: what is written in the meantime is read again. Which files a job names is known only after it.
fn read(args: &Args, before: Stamps) -> Result<(Stamps, Arc<Loaded>), Failure> {
    let loaded = load(args)?;
    let mut all = stamps(&loaded.files());
    all.extend(before);
    Ok((all, Arc::new(loaded)))
}

fn stamps<'p>(files: impl IntoIterator<Item = &'p PathBuf>) -> Stamps {
    let of = |path: &PathBuf| {
        let about = fs::metadata(path).ok()?;
        Some((about.modified().ok()?, about.len()))
    };
    files.into_iter().map(|f| (f.clone(), of(f))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_is_four_numbers_in_order() {
        let corners = [Coord { x: -1.5, y: 0.0 }, Coord { x: 2.0, y: 3.0 }];
        assert_eq!(window("-1.5,0,2,3"), Some(corners));
        for odd in [
            "",
            "1,2,3",
            "1,2,3,4,5",
            "2,0,1,3",
            "0,nan,1,2",
            "0,0,inf,1",
            "0,0,1e300,1",
            "a,b,c,d",
        ] {
            assert_eq!(window(odd), None, "{odd}");
        }
    }

    #[test]
    fn a_bore_is_asked_for_by_digits() {
        assert_eq!(number("12"), Some(12));
        for odd in ["", "+1", "-1", "1/..", "99999999999999999999", "%31", "1?x"] {
            assert_eq!(number(odd), None, "{odd}");
        }
    }
}
