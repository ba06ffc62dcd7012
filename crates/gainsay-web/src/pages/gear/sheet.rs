//! A pasted specification, read into a device file.

use super::super::file::Named;
use super::super::{State, notice, problems};
use crate::layout::{self, Part};
use crate::safety::working;
use crate::words;
use axum::extract::Form;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_folder::folder::{FileName, Place, SaveError};
use gainsay_folder::{LoadError, parse_device};
use gainsay_gear::DeviceType;
use gainsay_sheet::{Reading, Why};
use maud::{Markup, html};
use serde::Deserialize;
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

/// What a sheet can be of, and how it is said.
pub(super) const KINDS: [(&str, DeviceType); 5] = [
    ("preamp", DeviceType::Preamp),
    ("microphone", DeviceType::Microphone),
    ("interface", DeviceType::Interface),
    ("converter", DeviceType::Converter),
    ("booster", DeviceType::Booster),
];

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Pasted {
    /// What was pasted.
    text: String,
    /// One of [`KINDS`]; anything else leaves it to the text.
    kind: String,
    /// The device file as it was read and corrected; nothing before it is read.
    device: Option<String>,
    /// The file's name to be.
    name: String,
}

pub(crate) async fn page() -> Response {
    layout::page(Part::Gear, words::PASTE_SHEET, &form(&Pasted::default(), None)).into_response()
}

pub(crate) async fn read(site: State, Form(pasted): Form<Pasted>) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || match pasted.device.as_deref() {
        None => answer(&pasted),
        Some(device) => {
            let name = FileName::from_title(&pasted.name)
                .map_err(|error| again(&pasted, StatusCode::BAD_REQUEST, &html! { (error) }))?;
            if let Err(wrong) = parse_device(Path::new(name.as_str()), device) {
                return Err(again(
                    &pasted,
                    StatusCode::UNPROCESSABLE_ENTITY,
                    &problems(&LoadError { files: vec![wrong] }),
                ));
            }
            match site.shelf.folder().save(Place::Gear, &name, device, None, SystemTime::now()) {
                Ok(version) => Ok(notice::go_home(&Named { place: Place::Gear, name }, None, version)),
                Err(SaveError::ChangedMeanwhile { .. }) => {
                    Err(again(&pasted, StatusCode::CONFLICT, &html! { (words::NAME_TAKEN) }))
                }
                Err(error) => Err(again(&pasted, StatusCode::INSUFFICIENT_STORAGE, &html! { (error) })),
            }
        }
    })
    .await?
}

fn answer(pasted: &Pasted) -> Result<Response, Response> {
    let kind = KINDS.iter().find(|(name, _)| *name == pasted.kind).map(|(_, kind)| *kind);
    let read =
        gainsay_sheet::text_of(pasted.text.as_bytes()).and_then(|text| gainsay_sheet::read(text, kind));
    let reading = read.map_err(|error| {
        let why = html! { (error.message()) " " span.quiet { (error.mend()) } };
        again(pasted, StatusCode::UNPROCESSABLE_ENTITY, &why)
    })?;
    let pasted = Pasted {
        device: Some(reading.to_toml()),
        name: if pasted.name.trim().is_empty() { reading.name.clone() } else { pasted.name.clone() },
        ..pasted.clone()
    };
    let content = html! { (form(&pasted, None)) (remarks(&reading)) };
    Ok(layout::page(Part::Gear, words::PASTE_SHEET, &content).into_response())
}

/// The form as it was filled in, with what is in the way.
fn again(pasted: &Pasted, status: StatusCode, why: &Markup) -> Response {
    (status, layout::page(Part::Gear, words::PASTE_SHEET, &form(pasted, Some(why)))).into_response()
}

fn form(pasted: &Pasted, why: Option<&Markup>) -> Markup {
    html! {
        p.above { a href="/gear" { (words::GEAR) } }
        h1 { (words::PASTE_SHEET) }
        @if let Some(why) = why { div.warn role="alert" { (why) } }
        @if pasted.device.is_none() { p { (words::PASTE_HOW) } }
        form.file method="post" action="/gear/sheet" {
            label for="sheet-text" { (words::SHEET_TEXT) }
            textarea #sheet-text name="text" rows=(if pasted.device.is_some() { 8 } else { 18 }) spellcheck="false" required { "\n" (pasted.text) }
            label for="sheet-kind" { (words::SHEET_KIND) }
            select #sheet-kind name="kind" {
                option value="" { (words::TEXT_DECIDES) }
                @for (name, _) in KINDS { option value=(name) selected[pasted.kind == name] { (name) } }
            }
            p.buttons { button type="submit" { (words::READ_SHEET) } }
        }
        @if let Some(device) = &pasted.device {
            form.file method="post" action="/gear/sheet" {
                input type="hidden" name="text" value=(pasted.text);
                input type="hidden" name="kind" value=(pasted.kind);
                label for="device-text" { (words::AS_READ) }
                textarea #device-text name="device" rows=(device.lines().count().clamp(12, 40)) spellcheck="false" { "\n" (device) }
                label for="device-name" { (words::NAME_IT) }
                input #device-name name="name" value=(pasted.name) required maxlength="80";
                p.buttons { button type="submit" { (words::KEEP_DEVICE) } a href="/gear/sheet" { (words::LET_IT_BE) } }
            }
        }
    }
}

/// What is to be doubted, and what found no place.
fn remarks(reading: &Reading) -> Markup {
    let doubts: Vec<String> = reading.doubts.iter().map(|doubt| reading.doubt_line(doubt)).collect();
    let lines = reading.unplaced_lines();
    let of = |wanted: fn(&Why) -> bool| -> Vec<String> {
        let both = reading.unplaced.iter().zip(&lines);
        both.filter(|(unplaced, _)| wanted(&unplaced.why)).map(|(_, line)| line.clone()).collect()
    };
    html! {
        (layout::list(words::TO_DOUBT, &doubts))
        (layout::list(words::NOT_UNDERSTOOD, &of(|why| matches!(why, Why::NotUnderstood(_)))))
        (layout::list(words::NO_FIELD_FOR_IT, &of(|why| matches!(why, Why::NoField(_)))))
    }
}
