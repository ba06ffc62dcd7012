//! The gear: the devices of the folder, and those that are built in.

pub(crate) mod compare;
pub(crate) mod copy;
pub(crate) mod device;
pub(crate) mod library;
pub(crate) mod remove;
pub(crate) mod sheet;

use crate::{Site, layout, words};
use axum::http::StatusCode;
use axum::response::Response;
use gainsay_folder::folder::{FileName, Place};
use gainsay_folder::library::Library;
use gainsay_gear::{Catalogue, Device};
use gainsay_plan::footing::{Footed, GroupFooting, GroupKind, Measure, Written};
use maud::{Markup, html};
use std::path::Path;

/// Files of one name, numbered, that are tried before another name has to be found.
const MOST_OF_A_NAME: usize = 100;

/// Names in the gear's addresses that are pages, not devices.
const PAGES: [&str; 3] = ["sheet", "compare", "copy"];

/// A device that is asked for.
#[derive(Debug, Clone)]
struct Chosen {
    /// As its file has it: what is not stated is not filled in.
    device: Device,
    /// Text of its file; none of a built-in device.
    text: Option<String>,
}

/// The devices of the folder.
///
/// # Errors
/// The answer that the folder can't be read.
pub(super) fn library_of(site: &Site) -> Result<Library, Response> {
    Library::read(site.shelf.folder(), Path::new("gear"))
        .map_err(|error| layout::error(StatusCode::INTERNAL_SERVER_ERROR, &error.message))
}

/// A device of the folder by the name of its file, or a built-in one.
fn chosen(library: &Library, id: &str) -> Option<Chosen> {
    let own = library.held.iter().find(|held| held.device.id == id);
    let own = own.map(|held| Chosen { device: held.device.clone(), text: Some(held.text.clone()) });
    own.or_else(|| Some(Chosen { device: Catalogue::embedded().device(id)?, text: None }))
}

/// Whether a name is that of a page, so that no device of it could be looked at.
fn is_page(stem: &str) -> bool {
    PAGES.contains(&stem)
}

/// A name that no file of the gear has, without its ending: the wanted one, or the same with a number behind it.
fn free_name(site: &Site, wanted: &FileName) -> Option<String> {
    let folder = site.shelf.folder();
    let numbered = (2..MOST_OF_A_NAME)
        .filter_map(|number| FileName::parse(&format!("{}-{number}.toml", wanted.stem())).ok());
    std::iter::once(wanted.clone())
        .chain(numbered)
        .find(|name| !is_page(name.stem()) && folder.read(Place::Gear, name).is_err())
        .map(|name| name.stem().to_owned())
}

/// What stands above the figures of a group of inputs; none where the group is the device itself.
fn group_heading(group: &GroupFooting) -> Option<String> {
    let sort = match group.kind {
        GroupKind::MicrophoneInput => words::MICROPHONE_INPUTS,
        GroupKind::LineInput => words::LINE_INPUTS,
        GroupKind::Booster | GroupKind::Microphone => return None,
    };
    Some(group.label.as_ref().map_or_else(|| sort.to_owned(), |label| format!("{sort}: {label}")))
}

/// A figure in the unit that suits its size, with its interval and the weakest origin that it rests on.
fn figure(measure: Measure, footed: &Footed) -> Markup {
    let written = Written::of(measure, footed);
    html! {
        (written.value) " " (written.unit)
        @if let Some(interval) = written.interval { " (" (interval) ")" }
        " " span.quiet { "(" (footed.from.word()) ")" }
    }
}
