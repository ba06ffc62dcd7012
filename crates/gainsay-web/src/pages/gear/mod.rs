//! The gear of the folder.

pub(super) mod compare;
mod recording;
pub(crate) mod sheet;

use super::State;
use crate::Site;
use crate::layout::{self, Part};
use crate::safety::working;
use crate::words;
use axum::extract::Path;
use axum::response::{IntoResponse, Response};
use gainsay_gear::{Catalogue, Device};
use gainsay_plan::Draws;
use gainsay_plan::footing::{Basis, footing};
use gainsay_plan::words::interval;
use maud::{Markup, html};
use std::sync::Arc;

pub(crate) async fn page(site: State) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    let gear = working(move || site.shelf.gear()).await?;
    let built_in: Vec<Device> = sheet::KINDS
        .iter()
        .flat_map(|(_, kind)| Catalogue::embedded().devices(*kind))
        .filter(|built_in| !gear.iter().any(|device| device.id == built_in.id))
        .collect();
    let content = html! {
        h1 { (words::GEAR) }
        p { a href="/gear/sheet" { (words::PASTE_SHEET) } }
        form.choose method="get" action="/gear/compare" {
            ul.shelf {
                @for device in &gear { (row(device)) }
            }
            details {
                summary { (words::BUILT_IN) }
                ul.shelf { @for device in &built_in { (row(device)) } }
            }
            p.buttons { button type="submit" { (words::COMPARE) } }
        }
    };
    Ok(layout::page(Part::Gear, words::GEAR, &content).into_response())
}

/// A device with a box to choose it for comparing.
fn row(device: &Device) -> Markup {
    html! {
        li {
            input type="checkbox" name="device" value=(device.id) aria-label={ (words::COMPARE) ": " (device.name) };
            " " a href={ "/gear/" (device.id) } { (device.name) }
            " " span.quiet { (device.device_type().word()) @if let Some(price) = device.price { ", " (price) } }
        }
    }
}

/// A device of the folder, or a built-in one.
fn device_of(site: &Site, name: &str) -> Option<Device> {
    let own = site.shelf.gear().into_iter().find(|device| device.id == name);
    own.or_else(|| Catalogue::embedded().device(name))
}

pub(crate) async fn device(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || match device_of(&site, &name) {
        Some(device) => {
            let is_own = site.shelf.gear().iter().any(|own| own.id == device.id);
            layout::page(Part::Gear, &device.name, &content(&device, is_own)).into_response()
        }
        None => layout::not_found(),
    })
    .await
}

/// A device on one footing: what each figure rests on unfolds; what a careful reader doubts stands below.
fn content(device: &Device, is_own: bool) -> Markup {
    let root = format!("/gear/{}", device.id);
    let doubts: Vec<String> = gainsay_sheet::doubts_of(device).iter().map(ToString::to_string).collect();
    let footing = footing(device, Catalogue::embedded(), Draws { count: 2_000, ..Draws::default() });
    html! {
        p.above { a href="/gear" { (words::GEAR) } }
        h1 { (device.name) }
        @if let Some(note) = &device.note { p.question { (note) } }
        @if is_own {
            nav.parts aria-label=(words::WAYS_OF_CHANGING) {
                a href={ (root) "/edit" } { (words::FORM) }
                a href={ (root) "/file" } { (words::TEXT) }
                a href={ (root) "/history" } { (words::EARLIER) }
            }
        }
        @match &footing {
            Ok(footing) => {
                @for group in &footing.groups {
                    section {
                        h2 { (footing.name_of(group)) }
                        dl.figures {
                            @for (measure, footed) in &group.figures {
                                div { dt { (measure.words()) } dd { (interval(&footed.estimate)) " " (measure.unit()) " " span.quiet { "(" (footed.from.word()) ")" } } }
                            }
                        }
                        (rests_on(&group.basis))
                        (layout::list(words::TO_DOUBT, &group.doubts))
                    }
                }
            },
            Err(missing) => p.warn { (missing) },
        }
        (layout::list(words::DOUBTED_ON_THE_SHEET, &doubts))
    }
}

/// What the figures of a group rest on: as it was stated, where it comes from, and what the sheet says where a measurement has
/// taken its place.
fn rests_on(basis: &[Basis]) -> Markup {
    html! {
        @if !basis.is_empty() {
            details {
                summary { (words::RESTS_ON) }
                dl.reasons {
                    @for one in basis {
                        dt { (one.figure) ": " (one.value) " " span.quiet { "(" (one.from.word()) ")" } }
                        dd {
                            @if let Some(sheet) = &one.sheet { p { (words::THE_SHEET_SAYS) " " (sheet) "." } }
                            @if let Some(note) = &one.note { p.small.quiet { (note) } }
                        }
                    }
                }
            }
        }
    }
}
