//! A device: on one footing, with what its figures rest on, its doubts, and its files.

use super::super::file::Named;
use super::super::notice::{self, Saved};
use super::super::question::in_address;
use super::super::{State, download, json_file, problems};
use super::compare;
use super::library::copy_button;
use super::{Chosen, chosen, figure, group_heading, library_of};
use crate::layout::{self, Part};
use crate::safety::working;
use crate::{Site, words};
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_folder::LoadError;
use gainsay_folder::folder::Place;
use gainsay_gear::{Catalogue, Device, DeviceType};
use gainsay_plan::Draws;
use gainsay_plan::footing::{Basis, Class, DeviceFooting, GroupFooting, Known, Shown, figure_rows, footing};
use gainsay_plan::words::price_words;
use maud::{Markup, html};
use std::sync::Arc;

/// Draws for a page: its rounding hides what more of them would change.
pub(super) const DRAWS: Draws = Draws { count: 2_000, seed: 1 };

pub(crate) async fn page(
    site: State,
    Path(name): Path<String>,
    Query(saved): Query<Saved>,
) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let library = library_of(&site)?;
        let named = Named::of("gear", &name).ok();
        if let Some(named) = &named
            && let Some(report) =
                library.broken.iter().find(|report| report.path.ends_with(named.name.as_str()))
        {
            return Ok(broken(named, LoadError { files: vec![report.clone()] }));
        }
        let Some(chosen) = chosen(&library, &name) else {
            return Ok(named.and_then(|named| notice::gone(&site, &named)).unwrap_or_else(layout::not_found));
        };
        let notice = named.filter(|_| chosen.text.is_some()).map(|named| told(&site, &named, &saved));
        let content = content(&chosen, &notice.unwrap_or_default());
        Ok(layout::page(Part::Gear, &chosen.device.name, &content).into_response())
    })
    .await?
}

/// That the file has just been saved.
fn told(site: &Site, named: &Named, saved: &Saved) -> Markup {
    let now = site.shelf.folder().read(Place::Gear, &named.name).ok().map(|read| read.version);
    notice::notice(site, named, saved, now, None)
}

/// What is wrong with a file, and where its text is.
fn broken(named: &Named, error: LoadError) -> Response {
    let content = html! {
        p.above { a href="/gear" { (words::GEAR) } }
        h1 { (named.name.stem()) }
        p { (words::WRONG_FILE) ". " a href={ (named.address()) "/file" } { (words::ITS_TEXT) } }
        (problems(&error))
    };
    (StatusCode::UNPROCESSABLE_ENTITY, layout::page(Part::Gear, named.name.stem(), &content)).into_response()
}

fn content(chosen: &Chosen, notice: &Markup) -> Markup {
    let device = &chosen.device;
    let root = format!("/gear/{}", device.id);
    let doubts: Vec<String> = gainsay_sheet::doubts_of(device).iter().map(ToString::to_string).collect();
    let catalogue = Catalogue::embedded();
    html! {
        p.above { a href="/gear" { (words::GEAR) } }
        h1 { (device.name) }
        (notice)
        @if let Some(note) = &device.note { p.question { (note) } }
        p.quiet { (about(device)) }
        @if chosen.text.is_some() {
            nav.parts aria-label=(words::WAYS_OF_CHANGING) {
                a href={ (root) "/edit" } { (words::FORM) }
                a href={ (root) "/file" } { (words::TEXT) }
                a href={ (root) "/history" } { (words::EARLIER) }
                a href={ (root) "/remove" } { (words::REMOVE) }
            }
        } @else {
            p { (words::IS_BUILT_IN) }
            form #copy action="/gear/copy" method="post" { p.buttons { (copy_button(device, false)) } }
        }
        @if device.device_type() == DeviceType::Cable {
            (cable(device))
        } @else {
            @match footing(device, catalogue, DRAWS) {
                Ok(footing) => {
                    @for group in &footing.groups { (group_on_footing(&footing, group)) }
                    @if let Some(class) = Class::of(device.device_type()) {
                        h2 { (words::WINDOW) }
                        (compare::windows(std::slice::from_ref(&footing), words::windows(class)))
                        p { a href={ "/gear/compare?device=" (in_address(&device.id)) } { (words::BESIDE_OTHERS) } }
                    }
                },
                Err(missing) => p.warn { (words::capital(&missing.to_string())) "." },
            }
        }
        @if !doubts.is_empty() { section #doubts { h2 { (words::DOUBTED_ON_THE_SHEET) } ul { @for doubt in &doubts { li { (doubt) } } } } }
        p.keep { (words::DOWNLOAD) ": "
            a href={ (root) "/device.toml" } { (words::DEVICE_FILE) } ", "
            a href={ (root) "/device.json" } { (words::DATA_FILE) }
        }
    }
}

/// What it is, what it costs, what it is like, and how much is known of it.
fn about(device: &Device) -> String {
    let mut parts = vec![words::capital(device.device_type().word())];
    parts.extend(device.price.map(|price| format!("{} {}", words::PRICE.to_lowercase(), price_words(price))));
    let like = device.like.as_ref().and_then(|like| Catalogue::embedded().device(&like.value));
    parts.extend(like.map(|kind| words::like(&kind.name)));
    parts.push(words::known(&Known::of(device, Catalogue::embedded())));
    parts.join("; ")
}

/// The figures of a cable: there is no footing to put them on.
fn cable(device: &Device) -> Markup {
    let mut filled = device.clone();
    Catalogue::embedded().fill(&mut filled);
    html! {
        @for group in figure_rows(&filled) {
            dl.figures {
                @for row in &group.rows {
                    div { dt { (row.field.replace('_', " ")) } dd { (row.written) " " span.quiet { "(" (row.origin.word()) ")" } } }
                }
            }
        }
    }
}

fn group_on_footing(footing: &DeviceFooting, group: &GroupFooting) -> Markup {
    html! {
        section {
            h2 { (group_heading(group).unwrap_or_else(|| words::capital(footing.device_type.word()))) }
            dl.figures {
                @for (measure, footed) in &group.figures {
                    div { dt { (measure.words()) } dd { (figure(*measure, footed)) } }
                }
            }
            (rests_on(&group.basis))
            @if !group.doubts.is_empty() { h3 { (words::TO_DOUBT) } ul { @for doubt in &group.doubts { li { (words::capital(doubt)) "." } } } }
        }
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

/// The file of a device.
pub(crate) async fn toml(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let library = library_of(&site)?;
        let chosen = chosen(&library, &name).ok_or_else(layout::not_found)?;
        let text = chosen.text.as_deref().or_else(|| Catalogue::embedded().device_text(&chosen.device.id));
        let text = text.ok_or_else(layout::not_found)?;
        Ok(download(
            "application/toml; charset=utf-8",
            &format!("{}.toml", chosen.device.id),
            text.to_owned(),
        ))
    })
    .await?
}

/// All that is known of a device, as the command line prints it.
pub(crate) async fn json(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let library = library_of(&site)?;
        let Chosen { device, .. } = chosen(&library, &name).ok_or_else(layout::not_found)?;
        let catalogue = Catalogue::embedded();
        let mut filled = device.clone();
        catalogue.fill(&mut filled);
        let groups = figure_rows(&filled);
        let on_footing =
            match device.device_type() {
                DeviceType::Cable => None,
                _ => Some(footing(&device, catalogue, Draws::default()).map_err(|missing| {
                    layout::error(StatusCode::UNPROCESSABLE_ENTITY, &missing.to_string())
                })?),
            };
        let doubts = doubts_with_fields(&device);
        let shown = Shown::new(&device, &groups, on_footing.as_ref(), &doubts);
        Ok(json_file(&format!("{}.json", device.id), &shown))
    })
    .await?
}

/// What a careful reader doubts, each with its field.
fn doubts_with_fields(device: &Device) -> Vec<String> {
    let said = |doubt: gainsay_sheet::Doubt| {
        doubt.field.as_ref().map_or_else(|| doubt.to_string(), |field| format!("{field}: {doubt}"))
    };
    gainsay_sheet::doubts_of(device).into_iter().map(said).collect()
}
