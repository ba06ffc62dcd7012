//! The library: the devices of the folder and those that are built in, to find, to compare, to keep.

use super::super::file::Named;
use super::super::notice::NO_FILE;
use super::super::{State, problems};
use super::library_of;
use crate::layout::{self, Part};
use crate::safety::working;
use crate::{Site, words};
use axum::extract::Query;
use axum::response::{IntoResponse, Response};
use gainsay_folder::LoadError;
use gainsay_folder::folder::{FileName, Place};
use gainsay_folder::library::Library;
use gainsay_gear::{Catalogue, Device, DeviceType, Search};
use gainsay_plan::footing::{Class, Known};
use gainsay_plan::words::price_words;
use gainsay_units::Problem;
use maud::{Markup, html};
use std::sync::Arc;

/// Sorts of devices, in the order in which sound meets them.
pub(super) const KINDS: [DeviceType; 6] = [
    DeviceType::Microphone,
    DeviceType::Cable,
    DeviceType::Booster,
    DeviceType::Preamp,
    DeviceType::Interface,
    DeviceType::Converter,
];

/// What is looked for.
#[derive(Debug, Default)]
struct Asked {
    /// Words and conditions.
    find: String,
    /// Only devices of this type.
    kind: Option<DeviceType>,
    /// Devices that have a tick.
    ticked: Vec<String>,
    /// The file that has just been removed.
    removed: String,
}

/// What has been found.
struct Found {
    own: Vec<Device>,
    built_in: Vec<Device>,
    /// Devices with a tick that are not among them.
    ticked: Vec<Device>,
}

impl Asked {
    fn of(query: Vec<(String, String)>) -> Self {
        let mut asked = Self::default();
        for (name, value) in query {
            match name.as_str() {
                "find" => asked.find = value,
                "kind" => asked.kind = KINDS.into_iter().find(|kind| kind.word() == value),
                "device" if !asked.ticked.contains(&value) => asked.ticked.push(value),
                "removed" => asked.removed = value,
                _ => {}
            }
        }
        asked
    }

    const fn is_narrowed(&self) -> bool {
        !self.find.is_empty() || self.kind.is_some()
    }

    fn find(&self, library: &Library) -> Result<Found, Problem> {
        let search = Search::parse(&self.find)?;
        let fits = |device: &Device| self.kind.is_none_or(|kind| kind == device.device_type());
        let own: Vec<Device> =
            library.found(&search).into_iter().map(|held| held.device.clone()).filter(fits).collect();
        let mut near: Vec<(usize, Device)> = KINDS
            .iter()
            .flat_map(|kind| Catalogue::embedded().devices(*kind))
            .filter(|device| fits(device) && library.held.iter().all(|held| held.device.id != device.id))
            .filter_map(|device| Some((search.distance(&device)?, device)))
            .collect();
        near.sort_by_key(|(distance, _)| *distance);
        let built_in: Vec<Device> = near.into_iter().map(|(_, device)| device).collect();
        let is_found = |id: &String| own.iter().chain(&built_in).any(|device| device.id == *id);
        let ticked = self
            .ticked
            .iter()
            .filter(|id| !is_found(id))
            .filter_map(|id| super::chosen(library, id))
            .map(|chosen| chosen.device)
            .collect();
        Ok(Found { own, built_in, ticked })
    }
}

pub(crate) async fn page(
    site: State,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let asked = Asked::of(query);
        let library = library_of(&site)?;
        let content = html! {
            (removed(&site, &asked))
            h1 { (words::GEAR) }
            p { a href="/gear/sheet" { (words::PASTE_SHEET) } }
            (form(&asked, &library))
            // Buttons beside built-in devices send this form.
            form #copy action="/gear/copy" method="post" {}
            (wrong(&library))
            (deleted(&site))
        };
        Ok(layout::page(Part::Gear, words::GEAR, &content).into_response())
    })
    .await?
}

fn form(asked: &Asked, library: &Library) -> Markup {
    let found = asked.find(library);
    html! {
        form.library method="get" action="/gear" hx-get="/gear" hx-trigger="input delay:250ms from:#gear-find, change from:#gear-kind"
            hx-target="#found" hx-select="#found" hx-select-oob="#count:innerHTML" hx-swap="outerHTML" hx-replace-url="true"
            hx-sync="this:replace" {
            div.buttons role="search" {
                label for="gear-find" { (words::FIND) }
                input #gear-find type="text" name="find" value=(asked.find) maxlength="200" autocomplete="off" aria-describedby="find-hint";
                label for="gear-kind" { (words::AMONG) }
                select #gear-kind name="kind" {
                    option value="" selected[asked.kind.is_none()] { (words::ALL_KINDS) }
                    @for kind in KINDS { option value=(kind.word()) selected[asked.kind == Some(kind)] { (words::several(kind).to_lowercase()) } }
                }
                button type="submit" { (words::FIND_THEM) }
            }
            p.hint #find-hint { (words::FIND_HINT) " " (words::TICK_SOME) }
            p.quiet #count role="status" {
                @if let Ok(found) = &found { (words::found(found.own.len(), found.built_in.len(), asked.is_narrowed())) }
            }
            div #found {
                @match &found {
                    Err(problem) => section.problem role="alert" {
                        p { (words::capital(&problem.message)) "." }
                        p.quiet { (words::capital(&problem.mend)) "." }
                    },
                    Ok(found) => {
                        @for kind in KINDS { (own(kind, found, asked)) }
                        (built_in(found, asked))
                        @if !found.ticked.is_empty() {
                            h2 { (words::TICKED_TOO) }
                            table.gear { tbody { @for device in &found.ticked { tr { (named(device, asked)) } } } }
                        }
                    },
                }
            }
            p.buttons.compare-bar {
                button type="submit" formaction="/gear/compare" { (words::COMPARE_TICKED) }
            }
        }
    }
}

fn own(kind: DeviceType, found: &Found, asked: &Asked) -> Markup {
    let devices: Vec<&Device> = found.own.iter().filter(|device| device.device_type() == kind).collect();
    html! {
        @if !devices.is_empty() {
            h2 { (words::several(kind)) }
            table.gear {
                thead { tr { (head()) th.n scope="col" { (words::PRICE) } th.n scope="col" { (words::DOUBTS) } } }
                tbody {
                    @for device in devices {
                        @let doubts = gainsay_sheet::doubts_of(device).len();
                        tr {
                            (named(device, asked))
                            td.n { (device.price.map_or_else(|| "–".to_owned(), price_words)) }
                            td.n { @if doubts == 0 { "–" } @else { a href={ "/gear/" (device.id) "#doubts" } { (doubts) } } }
                        }
                    }
                }
            }
        }
    }
}

fn built_in(found: &Found, asked: &Asked) -> Markup {
    html! {
        @if !found.built_in.is_empty() {
            details open[asked.is_narrowed() || found.own.is_empty()] {
                summary { h2 { (words::BUILT_IN) " (" (found.built_in.len()) ")" } }
                p.quiet.small { (words::BUILT_IN_HOW) }
                @for kind in KINDS {
                    @let devices: Vec<&Device> = found.built_in.iter().filter(|device| device.device_type() == kind).collect();
                    @if !devices.is_empty() {
                        h3 { (words::several(kind)) }
                        table.gear {
                            thead { tr { (head()) th.n scope="col" { (words::PRICE) } th scope="col" { span.unseen { (words::KEEP_COPY) } } } }
                            tbody {
                                @for device in devices {
                                    tr {
                                        (named(device, asked))
                                        td.n { (device.price.map_or_else(|| "–".to_owned(), price_words)) }
                                        td.n { (copy_button(device, true)) }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Keeps a copy of a built-in device. Its form stands elsewhere on the page.
pub(super) fn copy_button(device: &Device, short: bool) -> Markup {
    html! {
        button.small type="submit" form="copy" name="of" value=(device.id) aria-label={ (words::KEEP_COPY) ": " (device.name) } {
            @if short { (words::COPY) } @else { (words::KEEP_COPY) }
        }
    }
}

fn head() -> Markup {
    html! { td {} th scope="col" { (words::NAME_OF_IT) } }
}

/// A box to tick, where there is something to compare, and the name with what is known of it.
fn named(device: &Device, asked: &Asked) -> Markup {
    let known = Known::of(device, Catalogue::embedded());
    html! {
        td.tick {
            @if Class::of(device.device_type()).is_some() {
                input type="checkbox" name="device" value=(device.id) checked[asked.ticked.contains(&device.id)]
                    aria-label={ (words::COMPARE) ": " (device.name) };
            }
        }
        th scope="row" {
            a href={ "/gear/" (device.id) } { (device.name) }
            div.small.quiet { (words::known(&known)) }
        }
    }
}

/// Files with something wrong in them, each with a way to its text.
fn wrong(library: &Library) -> Markup {
    let reports = library.wrong();
    html! {
        @if !reports.is_empty() {
            section {
                h2 { (words::WRONG_FILES) }
                p { (words::WRONG_FILES_HOW) }
                @for report in reports {
                    @let name = report.path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
                    (problems(&LoadError { files: vec![report] }))
                    @if let Ok(name) = FileName::parse(&name) {
                        p { a href={ (Named { place: Place::Gear, name }.address()) "/file" } { (words::ITS_TEXT) } }
                    }
                }
            }
        }
    }
}

/// That a device has just been removed, with a way back.
fn removed(site: &Site, asked: &Asked) -> Markup {
    let folder = site.shelf.folder();
    let last = FileName::parse(&format!("{}.toml", asked.removed)).ok().and_then(|name| {
        let gone = folder.read(Place::Gear, &name).is_err();
        let last = folder.history(Place::Gear, &name).ok()?.first().copied()?;
        gone.then_some((name, last.version))
    });
    html! {
        @if let Some((name, version)) = last {
            section.notice role="status" {
                p { strong { (words::REMOVED) } " " (name.stem()) ". " (words::TEXTS_STAY) }
                form action={ (Named { place: Place::Gear, name }.address()) "/undo" } method="post" {
                    input type="hidden" name="before" value=(version);
                    input type="hidden" name="after" value=(NO_FILE);
                    button type="submit" { (words::UNDO) }
                }
            }
        }
    }
}

/// Devices that have been removed, with their texts.
fn deleted(site: &Site) -> Markup {
    let deleted = site.shelf.folder().deleted().unwrap_or_default();
    let deleted: Vec<_> = deleted.iter().filter(|(place, _, _)| *place == Place::Gear).collect();
    html! {
        @if !deleted.is_empty() {
            details {
                summary { (words::DELETED) }
                ul.shelf { @for (_, name, _) in &deleted { li { a href={ "/gear/" (name.stem()) "/history" } { (name.stem()) } } } }
            }
        }
    }
}
