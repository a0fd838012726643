//! GDAL prints its errors itself unless told not to.

use std::sync::{Mutex, Once, PoisonError};

static QUIET: Once = Once::new();
static LAST: Mutex<Option<String>> = Mutex::new(None);

/// Keeps GDAL from writing to standard error; its words are kept for [`last_words`]. Once is enough.
pub fn hush() {
    QUIET.call_once(|| {
        gdal::config::set_error_handler(|class, _, text| {
            if class != gdal::errors::CplErrType::Warning
                && class != gdal::errors::CplErrType::Debug
            {
                *LAST.lock().unwrap_or_else(PoisonError::into_inner) = Some(text.to_string());
            }
        });
    });
}

/// What GDAL last complained of, taken away by asking; empty where it said nothing.
pub fn last_words() -> String {
    LAST.lock()
        .unwrap_or_else(PoisonError::into_inner)
        .take()
        .unwrap_or_default()
}
