//! Devices side by side on one footing, and what each would really record.

mod form;
mod table;
mod trial;

use super::super::question::in_address;
use super::super::{State, both_widths, download, json_file};
use super::device::DRAWS;
use super::{Chosen, chosen, library_of};
use crate::layout::{self, Part};
use crate::safety::working;
use crate::{Site, words};
use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_folder::library::Library;
use gainsay_gear::{Catalogue, Device};
use gainsay_picture::{Style, Width, usable_windows, usable_windows_inline, windows_text_twin};
use gainsay_plan::Draws;
use gainsay_plan::footing::{Class, Compared, DeviceFooting, Recordings, footing, spreadsheet};
use maud::{Markup, html};
use std::sync::Arc;

/// More than anyone reads side by side.
const MOST: usize = 12;

/// What is asked for, as it stands in the address.
#[derive(Debug, Default)]
struct Asked {
    devices: Vec<String>,
    source: String,
    microphone: String,
    into: String,
    distance: String,
    room: String,
}

impl Asked {
    fn of(query: Vec<(String, String)>) -> Self {
        let mut asked = Self::default();
        for (name, value) in query {
            let value = value.trim().to_owned();
            match name.as_str() {
                "device" if asked.devices.len() < MOST && !asked.devices.contains(&value) => {
                    asked.devices.push(value);
                }
                "source" => asked.source = value,
                "microphone" => asked.microphone = value,
                "into" => asked.into = value,
                "distance" => asked.distance = value,
                "room" => asked.room = value,
                _ => {}
            }
        }
        asked
    }

    /// The query of an address that asks for the same, of these devices.
    fn query<'a>(&self, devices: impl Iterator<Item = &'a str>) -> String {
        let rest = [
            ("source", &self.source),
            ("microphone", &self.microphone),
            ("into", &self.into),
            ("distance", &self.distance),
            ("room", &self.room),
        ];
        let rest = rest.into_iter().filter(|(_, value)| !value.is_empty());
        let all = devices.map(|id| ("device", id)).chain(rest.map(|(name, value)| (name, value.as_str())));
        let all: Vec<String> = all.map(|(name, value)| format!("{name}={}", in_address(value))).collect();
        all.join("&")
    }
}

/// Why devices stand in no common table.
enum Apart {
    /// They have nothing in common, or one has nothing to compare: in a sentence, and what to do.
    Incomparable(String, &'static str),
    /// A figure is missing.
    Missing(String),
}

/// What has come of it.
struct Outcome {
    library: Library,
    chosen: Vec<Chosen>,
    /// Names that are no device's.
    unknown: Vec<String>,
    compared: Result<(Class, Vec<DeviceFooting>), Apart>,
    /// In the same recording, where one is asked for; or why not, in sentences.
    recorded: Option<Result<Recordings, Vec<String>>>,
}

fn compare(site: &Site, asked: &Asked, draws: Draws) -> Result<Outcome, Response> {
    let library = library_of(site)?;
    let mut unknown = Vec::new();
    let mut all = Vec::new();
    for id in &asked.devices {
        match chosen(&library, id) {
            Some(one) => all.push(one),
            None => unknown.push(id.clone()),
        }
    }
    let compared = on_footing(all.iter().map(|chosen| &chosen.device), draws);
    let recorded = match &compared {
        Ok((class, _)) if !asked.source.is_empty() => {
            Some(trial::recorded(&library, asked, *class, &all, draws))
        }
        _ => None,
    };
    Ok(Outcome { library, chosen: all, unknown, compared, recorded })
}

fn on_footing<'a>(
    devices: impl Iterator<Item = &'a Device> + Clone,
    draws: Draws,
) -> Result<(Class, Vec<DeviceFooting>), Apart> {
    let class =
        Class::of_all(devices.clone()).map_err(|wrong| Apart::Incomparable(wrong.message, wrong.mend))?;
    let footings =
        devices.map(|device| footing(device, Catalogue::embedded(), draws)).collect::<Result<_, _>>();
    Ok((class, footings.map_err(|missing| Apart::Missing(missing.to_string()))?))
}

pub(crate) async fn page(
    site: State,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let asked = Asked::of(query);
        let result = compare(&site, &asked, DRAWS)?;
        Ok(layout::page(Part::Gear, words::COMPARE, &content(&asked, &result)).into_response())
    })
    .await?
}

fn content(asked: &Asked, result: &Outcome) -> Markup {
    html! {
        p.above { a href="/gear" { (words::GEAR) } }
        h1 { (words::COMPARE) }
        @for id in &result.unknown { p.warn { (words::no_device(id)) } }
        @if result.chosen.is_empty() { p { a href="/gear" { (words::CHOOSE_DEVICES) } (words::ON_ONE_FOOTING) } }
        @else {
            @match &result.compared {
                Ok((class, footings)) => {
                    (form::form(asked, result, Some(*class)))
                    (compared(asked, *class, footings, result.recorded.as_ref()))
                },
                Err(apart) => {
                    (why(apart, asked, &result.chosen))
                    (form::form(asked, result, None))
                },
            }
        }
    }
}

/// Why there is no table, and what could be compared instead.
fn why(apart: &Apart, asked: &Asked, all: &[Chosen]) -> Markup {
    let of = |class: Class| -> Vec<&str> {
        let same = all.iter().filter(|chosen| Class::of(chosen.device.device_type()) == Some(class));
        same.map(|chosen| chosen.device.id.as_str()).collect()
    };
    let sorts = [Class::Inputs, Class::Microphones, Class::Boosters].map(|class| (class, of(class)));
    let some: Vec<_> = sorts.iter().filter(|(_, ids)| !ids.is_empty()).collect();
    html! {
        section.problem role="alert" {
            @match apart {
                Apart::Incomparable(message, mend) => {
                    p { (words::capital(message)) "." }
                    p.quiet { (words::capital(mend)) "." }
                },
                Apart::Missing(message) => p { (words::capital(message)) "." },
            }
            @if matches!(apart, Apart::Incomparable(..)) && some.len() > 1 {
                ul {
                    @for (class, ids) in some {
                        li { a href={ "/gear/compare?" (asked.query(ids.iter().copied())) } { (words::only(*class)) } }
                    }
                }
            }
        }
    }
}

fn compared(
    asked: &Asked,
    class: Class,
    footings: &[DeviceFooting],
    recorded: Option<&Result<Recordings, Vec<String>>>,
) -> Markup {
    let query = asked.query(footings.iter().map(|footing| footing.id.as_str()));
    let file = |kind: &str| format!("/gear/compare.{kind}?{query}");
    html! {
        @match recorded {
            Some(Ok(recorded)) => (table::ranking(recorded)),
            Some(Err(why)) => @for why in why { p.warn { (why) } },
            None => {},
        }
        (table::side_by_side(footings))
        (windows(footings, &format!("{}{}", words::windows(class), words::IN_THE_TABLE)))
        (table::every_figure(footings))
        p.keep { (words::DOWNLOAD) ": "
            a href=(file("csv")) { (words::TABLE_FILE) } ", "
            a href=(file("svg")) { (words::PICTURE_FILE) } ", "
            a href=(file("json")) { (words::DATA_FILE) }
        }
    }
}

/// The usable windows of devices, where any of them has one, with a caption.
pub(super) fn windows(footings: &[DeviceFooting], caption: &str) -> Markup {
    let draw = |width, prefix| {
        usable_windows_inline(footings, &Style { width, heading: false, prefix, ..Style::default() })
    };
    html! {
        @if footings.iter().flat_map(DeviceFooting::compared).any(|group| !group.window.is_empty()) { figure {
            (both_widths(draw(Width::Wide, "wide"), draw(Width::Narrow, "narrow")))
            figcaption {
                (caption)
                details { summary { (words::IN_WORDS) } pre.twin { (windows_text_twin(footings)) } }
            }
        } }
    }
}

/// A file of a comparison.
async fn file(
    site: State,
    query: Vec<(String, String)>,
    write: impl FnOnce(&[DeviceFooting], Option<&Recordings>) -> Response + Send + 'static,
) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let result = compare(&site, &Asked::of(query), Draws::default())?;
        let refused = |why: &str| layout::error(StatusCode::UNPROCESSABLE_ENTITY, why);
        if let Some(id) = result.unknown.first() {
            return Err(refused(&words::no_device(id)));
        }
        let recorded = match &result.recorded {
            Some(Err(why)) => return Err(refused(&why.join(" "))),
            Some(Ok(recorded)) => Some(recorded),
            None => None,
        };
        match &result.compared {
            Ok((_, footings)) => Ok(write(footings, recorded)),
            Err(Apart::Incomparable(why, _) | Apart::Missing(why)) => {
                Err(refused(&format!("{}.", words::capital(why))))
            }
        }
    })
    .await?
}

/// A row for each group of inputs.
pub(crate) async fn csv(
    site: State,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Response, Response> {
    file(site, query, |footings, recorded| {
        download("text/csv; charset=utf-8", "compared.csv", spreadsheet(footings, recorded))
    })
    .await
}

/// The usable windows.
pub(crate) async fn svg(
    site: State,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Response, Response> {
    file(site, query, |footings, _| {
        download("image/svg+xml", "windows.svg", usable_windows(footings, &Style::default()))
    })
    .await
}

/// All of it, as the command line prints it.
pub(crate) async fn json(
    site: State,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Response, Response> {
    file(site, query, |footings, recorded| {
        json_file("compared.json", &Compared::new(footings, recorded, Draws::default()))
    })
    .await
}
