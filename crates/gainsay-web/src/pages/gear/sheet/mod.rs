//! A specification sheet that is pasted: read, looked over, corrected, and kept as a device of the folder.

mod typed;
mod view;

use super::super::file::Named;
use super::super::{State, notice};
use super::{free_name, is_page};
use crate::safety::working;
use crate::{Site, layout, words};
use axum::extract::Form;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_folder::folder::{FileName, FolderError, Place, SaveError};
use gainsay_folder::{LoadError, parse_device};
use gainsay_gear::DeviceType;
use gainsay_sheet::Reading;
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;
use typed::Typed;
use view::Wrong;

/// What a sheet can be of, and how it is said.
const KINDS: [(&str, DeviceType); 5] = [
    ("preamp", DeviceType::Preamp),
    ("microphone", DeviceType::Microphone),
    ("interface", DeviceType::Interface),
    ("converter", DeviceType::Converter),
    ("booster", DeviceType::Booster),
];

/// Largest request with a sheet: more than a sheet can have, so that whoever pastes too much gets it back with the reason. Escaping
/// makes three bytes of one.
pub(crate) const LARGEST_REQUEST: usize = 8 * gainsay_sheet::LARGEST_SHEET;

/// Fields of a form: three for each figure of a device with more groups than anyone builds.
const MOST_FIELDS: usize = 4_000;

/// An empty field.
pub(crate) async fn page() -> Response {
    view::page(&Typed::default(), None, None).into_response()
}

/// Reads what was pasted; keeps it, where that is asked for.
pub(crate) async fn read(site: State, Form(form): Form<Vec<(String, String)>>) -> Result<Response, Response> {
    if form.len() > MOST_FIELDS {
        return Err(layout::error(StatusCode::PAYLOAD_TOO_LARGE, words::TOO_MANY_FIELDS));
    }
    let site = Arc::clone(&site.0);
    working(move || {
        let mut typed = Typed::of(form);
        match typed.read() {
            Err(error) => refused(&typed, None, &Wrong::text(error.message(), error.mend())),
            Ok(reading) => match typed.corrected(&reading) {
                Err((path, wrong)) => refused(&typed, Some(&reading), &Wrong::Field(path, wrong)),
                Ok(corrected) => {
                    // Beside each field stands what the sheet says, and what there is to doubt about what the field says now.
                    let shown = Reading { doubts: corrected.doubts.clone(), ..reading };
                    if typed.keep {
                        keep(&site, &mut typed, &shown, &corrected)
                    } else {
                        view::page(&typed, Some(&shown), None).into_response()
                    }
                }
            },
        }
    })
    .await
}

/// Keeps what is `corrected` as a device of the folder; the page has what is `shown`.
fn keep(site: &Site, typed: &mut Typed, shown: &Reading, corrected: &Reading) -> Response {
    let refused = |typed: &Typed, wrong: &Wrong| refused(typed, Some(shown), wrong);
    let name = match file_name(typed, corrected) {
        Ok(name) => name,
        Err(error) => return refused(typed, &Wrong::text(&error.message, &error.mend)),
    };
    let text = corrected.to_toml_with_remarks();
    if let Err(report) = parse_device(Path::new(name.as_str()), &text) {
        return refused(typed, &Wrong::File(LoadError { files: vec![report] }));
    }
    let folder = site.shelf.folder();
    let saved = if is_page(name.stem()) {
        Err(SaveError::ChangedMeanwhile { theirs: None })
    } else {
        folder.save(Place::Gear, &name, &text, None, SystemTime::now())
    };
    match saved {
        Ok(version) => notice::go_home(&Named { place: Place::Gear, name }, None, version),
        Err(SaveError::ChangedMeanwhile { .. }) => {
            typed.file = free_name(site, &name).unwrap_or_default();
            refused(typed, &Wrong::Taken)
        }
        Err(SaveError::Folder(error)) => refused(typed, &Wrong::text(&error.message, &error.mend)),
    }
}

/// The file that was named, or one after the device's name.
fn file_name(typed: &Typed, reading: &Reading) -> Result<FileName, FolderError> {
    match typed.file.strip_suffix(".toml").unwrap_or(&typed.file) {
        "" => FileName::from_title(&reading.name),
        stem => FileName::parse(&format!("{stem}.toml")),
    }
}

fn refused(typed: &Typed, reading: Option<&Reading>, wrong: &Wrong) -> Response {
    let status = match wrong {
        Wrong::Taken => StatusCode::CONFLICT,
        _ => StatusCode::UNPROCESSABLE_ENTITY,
    };
    (status, view::page(typed, reading, Some(wrong))).into_response()
}
