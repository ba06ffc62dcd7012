//! A device taken out of the folder: asked first, and brought back if that was a slip.

use super::super::State;
use super::super::file::Named;
use crate::layout::{self, Part};
use crate::safety::working;
use crate::{Site, words};
use axum::extract::{Form, Path};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use gainsay_folder::folder::{FileName, Place, Read, SaveError, Version};
use gainsay_folder::parse_device;
use gainsay_gear::Device;
use maud::html;
use serde::Deserialize;
use std::sync::Arc;
use std::time::SystemTime;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Base {
    base: String,
}

/// Asks whether it is meant.
pub(crate) async fn page(site: State, Path(stem): Path<String>) -> Result<Response, Response> {
    let named = Named::of("gear", &stem)?;
    let site = Arc::clone(&site.0);
    working(move || match site.shelf.folder().read(Place::Gear, &named.name) {
        Ok(read) => ask(&site, &named, &read, false),
        Err(_) => layout::not_found(),
    })
    .await
}

/// Removes the device, if its file is still the one that was shown.
pub(crate) async fn remove(
    site: State,
    Path(stem): Path<String>,
    Form(form): Form<Base>,
) -> Result<Response, Response> {
    let named = Named::of("gear", &stem)?;
    let site = Arc::clone(&site.0);
    working(move || {
        let Some(base) = Version::parse(&form.base) else { return layout::not_found() };
        match site.shelf.folder().delete(Place::Gear, &named.name, base, SystemTime::now()) {
            Ok(()) => Redirect::to(&format!("/gear?removed={}", named.name.stem())).into_response(),
            Err(SaveError::ChangedMeanwhile { theirs: Some(theirs) }) => ask(&site, &named, &theirs, true),
            Err(SaveError::ChangedMeanwhile { theirs: None }) => layout::not_found(),
            Err(error) => {
                layout::error(StatusCode::INSUFFICIENT_STORAGE, &format!("{}: {error}.", words::NOT_DELETED))
            }
        }
    })
    .await
}

fn ask(site: &Site, named: &Named, read: &Read, has_changed: bool) -> Response {
    let device = parse_device(std::path::Path::new(named.name.as_str()), &read.text).ok();
    let name = device.as_ref().map_or_else(|| named.name.stem(), |device| device.name.as_str());
    let cases = device.as_ref().map(|device| naming(site, device)).unwrap_or_default();
    let heading = words::remove(name);
    let content = html! {
        p.above { a href=(named.address()) { (words::TO_DEVICE) } }
        h1 { (heading) }
        @if has_changed { p.warn role="alert" { (words::CHANGED_SINCE_ASKED) } }
        p { (words::TEXTS_STAY) }
        @if !cases.is_empty() {
            p { (words::NAMED_BY) }
            ul { @for case in &cases { li { a href={ "/cases/" (case.stem()) } { (case.stem()) } } } }
        }
        form action={ (named.address()) "/remove" } method="post" {
            input type="hidden" name="base" value=(read.version);
            p.buttons { button type="submit" { (words::REMOVE_DEVICE) } a href=(named.address()) { (words::LET_IT_BE) } }
        }
    };
    let status = if has_changed { StatusCode::CONFLICT } else { StatusCode::OK };
    (status, layout::page(Part::Gear, &heading, &content)).into_response()
}

/// Cases in whose text the device stands by one of its names.
fn naming(site: &Site, device: &Device) -> Vec<FileName> {
    let folder = site.shelf.folder();
    let calls = [&device.name, &device.id].map(|name| [format!("\"{name}\""), format!("'{name}'")]);
    let names_it = |name: &FileName| {
        folder
            .read(Place::Case, name)
            .is_ok_and(|read| calls.iter().flatten().any(|call| read.text.contains(call.as_str())))
    };
    let cases = folder.cases().unwrap_or_default().into_iter().map(|case| case.name);
    cases.filter(names_it).collect()
}
