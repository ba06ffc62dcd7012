//! The gear of the folder.

use super::State;
use crate::layout::{self, Part};
use crate::safety::working;
use crate::words;
use axum::extract::Path;
use axum::response::{IntoResponse, Response};
use gainsay_gear::{Catalogue, Device};
use gainsay_plan::Draws;
use gainsay_plan::footing::footing;
use gainsay_plan::words::interval;
use maud::{Markup, html};
use std::sync::Arc;

pub(crate) async fn page(site: State) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    let gear = working(move || site.shelf.gear()).await?;
    let content = html! {
        h1 { (words::GEAR) }
        ul.shelf {
            @for device in &gear {
                li {
                    a href={ "/gear/" (device.id) } { (device.name) }
                    " " span.quiet { (device.device_type().word()) @if let Some(price) = device.price { ", " (price) } }
                }
            }
        }
    };
    Ok(layout::page(Part::Gear, words::GEAR, &content).into_response())
}

pub(crate) async fn device(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let own = site.shelf.gear().into_iter().find(|device| device.id == name);
        match own.or_else(|| Catalogue::embedded().device(&name)) {
            Some(device) => layout::page(Part::Gear, &device.name, &content(&device)).into_response(),
            None => layout::not_found(),
        }
    })
    .await
}

fn content(device: &Device) -> Markup {
    let footing = footing(device, Catalogue::embedded(), Draws { count: 2_000, ..Draws::default() });
    html! {
        p.above { a href="/gear" { (words::GEAR) } }
        h1 { (device.name) }
        @if let Some(note) = &device.note { p.question { (note) } }
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
                        (layout::list("Doubts", &group.doubts))
                    }
                }
            },
            Err(missing) => p.warn { (missing) },
        }
    }
}
