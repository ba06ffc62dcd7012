//! Devices side by side on one footing.

use super::super::{State, both_widths, download, json_file};
use super::{device_of, recording};
use crate::layout::{self, Part};
use crate::safety::working;
use crate::words;
use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_gear::{Catalogue, DeviceType};
use gainsay_picture::{Style, Width, usable_windows, usable_windows_inline, windows_text_twin};
use gainsay_plan::Draws;
use gainsay_plan::footing::{DeviceFooting, Measure, Recordings, footing};
use gainsay_plan::words::interval;
use maud::{Markup, html};
use std::sync::Arc;

/// More than anyone reads side by side.
const MOST: usize = 12;

const DRAWS: Draws = Draws { count: 2_000, seed: 1 };

/// `device=…` for each, `source` and `microphone` for a recording, and `as=svg` or `as=json` for a file.
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
        let of =
            |key: &str| asked.iter().find(|(known, _)| known == key).map_or("", |(_, value)| value.as_str());
        let (source, microphone) = (of("source"), of("microphone"));
        let recorded = (!source.is_empty() && !devices.is_empty())
            .then(|| recording::compare(&site, source, microphone, &devices));
        let kind_of_file = asked.iter().find(|(key, _)| key == "as").map(|(_, kind)| kind.as_str());
        Ok(match kind_of_file {
            Some("svg") => {
                download("image/svg+xml", "windows.svg", usable_windows(&footings, &Style::default()))
            }
            Some("json") => match &recorded {
                Some(Ok(recorded)) => json_file(
                    "compared.json",
                    &serde_json::json!({ "devices": footings, "recording": recorded }),
                ),
                _ => json_file("compared.json", &footings),
            },
            _ => {
                let content = content(&footings, &(source, microphone), recorded.as_ref());
                layout::page(Part::Gear, words::COMPARE, &content).into_response()
            }
        })
    })
    .await?
}

fn content(
    footings: &[DeviceFooting],
    asked: &(&str, &str),
    recorded: Option<&Result<Recordings, String>>,
) -> Markup {
    let draw = |width, prefix| {
        usable_windows_inline(footings, &Style { width, heading: false, prefix, ..Style::default() })
    };
    let file = |kind: &str| {
        let devices: Vec<String> = footings.iter().map(|footing| format!("device={}", footing.id)).collect();
        let (source, microphone) = asked;
        let recording = if source.is_empty() {
            String::new()
        } else {
            format!("&source={}&microphone={microphone}", source.replace(' ', "+"))
        };
        format!("/gear/compare?{}{recording}&as={kind}", devices.join("&"))
    };
    html! {
        p.above { a href="/gear" { (words::GEAR) } }
        h1 { (words::COMPARE) }
        @if footings.is_empty() { p { (words::CHOOSE_DEVICES) } }
        @else {
            (form(footings, asked))
            @match recorded {
                Some(Ok(recorded)) => (ranking(recorded)),
                Some(Err(why)) => p.warn { (why) },
                None => {},
            }
            @if has_windows(footings) {
                figure {
                    (both_widths(draw(Width::Wide, "wide"), draw(Width::Narrow, "narrow")))
                    figcaption {
                        (words::WINDOWS)
                        details { summary { (words::IN_WORDS) } pre.twin { (windows_text_twin(footings)) } }
                    }
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

/// What is recorded, with which microphone, by which of them.
fn form(footings: &[DeviceFooting], (source, microphone): &(&str, &str)) -> Markup {
    let catalogue = Catalogue::embedded();
    let microphones = catalogue.devices(DeviceType::Microphone);
    html! {
        form.compare method="get" action="/gear/compare" {
            ul.shelf {
                @for footing in footings {
                    li { label { input type="checkbox" name="device" value=(footing.id) checked; " " (footing.name) } }
                }
            }
            p.buttons {
                label for="compare-source" { (words::RECORDED) }
                select #compare-source name="source" {
                    option value="" { (words::NOTHING) }
                    @for kind in catalogue.sources() { option value=(kind.name) selected[kind.name == *source] { (kind.name) } }
                }
                label for="compare-microphone" { (words::WITH_MICROPHONE) }
                select #compare-microphone name="microphone" {
                    option value="" { (words::USUAL_ONE) }
                    @for device in &microphones { option value=(device.id) selected[device.id == *microphone] { (device.name) } }
                }
                button type="submit" { (words::COMPARE) }
            }
        }
    }
}

/// Who records it best, and whether anyone would hear the difference.
fn ranking(recorded: &Recordings) -> Markup {
    html! {
        section {
            h2 { (words::recorded_by_each(&recorded.source)) }
            p.first { (recorded.conclusion) }
            ol.ranking {
                @for recording in &recorded.recordings {
                    li value=(recording.place) {
                        strong { (recording.name) } ": " (recording.sentence) "."
                        @if let Some(result) = &recording.result { " " (layout::verdict(result.verdict)) }
                    }
                }
            }
        }
    }
}

/// Whether there is a gain along which a window could move.
fn has_windows(footings: &[DeviceFooting]) -> bool {
    let measures = footings.iter().flat_map(|f| &f.groups).flat_map(|group| &group.figures);
    measures.into_iter().any(|(measure, _)| *measure == Measure::Ein)
}
