//! Devices side by side on one footing.

use super::super::{State, both_widths, download, json_file};
use super::device_of;
use crate::layout::{self, Part};
use crate::safety::working;
use crate::words;
use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_gear::Catalogue;
use gainsay_picture::{Style, Width, usable_windows, usable_windows_inline};
use gainsay_plan::Draws;
use gainsay_plan::footing::{DeviceFooting, Measure, footing};
use gainsay_plan::words::interval;
use maud::{Markup, html};
use std::sync::Arc;

/// More than anyone reads side by side.
const MOST: usize = 12;

const DRAWS: Draws = Draws { count: 2_000, seed: 1 };

/// `device=…` for each, and `as=svg` or `as=json` for a file.
pub(crate) async fn page(
    site: State,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let ids: Vec<&String> =
            asked.iter().filter(|(key, _)| key == "device").map(|(_, id)| id).take(MOST).collect();
        let devices: Vec<_> = ids.iter().filter_map(|id| device_of(&site, id)).collect();
        let footings: Result<Vec<DeviceFooting>, _> =
            devices.iter().map(|device| footing(device, Catalogue::embedded(), DRAWS)).collect();
        let footings = footings
            .map_err(|missing| layout::error(StatusCode::UNPROCESSABLE_ENTITY, &missing.to_string()))?;
        let kind_of_file = asked.iter().find(|(key, _)| key == "as").map(|(_, kind)| kind.as_str());
        Ok(match kind_of_file {
            Some("svg") => {
                download("image/svg+xml", "windows.svg", usable_windows(&footings, &Style::default()))
            }
            Some("json") => json_file("compared.json", &footings),
            _ => layout::page(Part::Gear, words::COMPARE, &content(&footings)).into_response(),
        })
    })
    .await?
}

fn content(footings: &[DeviceFooting]) -> Markup {
    let draw = |width, prefix| {
        usable_windows_inline(footings, &Style { width, heading: false, prefix, ..Style::default() })
    };
    let file = |kind: &str| {
        let devices: Vec<String> = footings.iter().map(|footing| format!("device={}", footing.id)).collect();
        format!("/gear/compare?{}&as={kind}", devices.join("&"))
    };
    html! {
        p.above { a href="/gear" { (words::GEAR) } }
        h1 { (words::COMPARE) }
        @if footings.is_empty() { p { (words::CHOOSE_DEVICES) } }
        @else {
            @if has_windows(footings) {
                figure {
                    (both_widths(draw(Width::Wide, "wide"), draw(Width::Narrow, "narrow")))
                    figcaption { (words::WINDOWS) }
                }
            }
            @for footing in footings {
                section {
                    h2 { (footing.name) }
                    @for group in &footing.groups {
                        @if footing.name_of(group) != footing.name { h3 { (footing.name_of(group)) } }
                        dl.figures {
                            @for (measure, footed) in &group.figures {
                                div { dt { (measure.words()) } dd { (interval(&footed.estimate)) " " (measure.unit()) } }
                            }
                        }
                        (layout::list(words::TO_DOUBT, &group.doubts))
                    }
                }
            }
            p.files { a href=(file("svg")) { "SVG" } " " a href=(file("json")) { "JSON" } }
        }
    }
}

/// Whether there is a gain along which a window could move.
fn has_windows(footings: &[DeviceFooting]) -> bool {
    let measures = footings.iter().flat_map(|f| &f.groups).flat_map(|group| &group.figures);
    measures.into_iter().any(|(measure, _)| *measure == Measure::Ein)
}
