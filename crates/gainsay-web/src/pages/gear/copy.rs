//! A built-in device kept as a file of the folder.

use super::super::file::Named;
use super::super::{State, notice, problems};
use super::{free_name, is_page, library_of};
use crate::layout::{self, Part};
use crate::safety::working;
use crate::words;
use axum::extract::Form;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_folder::edit::{Edit, EditError, FieldPath, Value, apply_all};
use gainsay_folder::folder::{FileName, Place, SaveError};
use gainsay_folder::library::Library;
use gainsay_folder::{LoadError, parse_device};
use gainsay_gear::Catalogue;
use maud::{Markup, html};
use serde::Deserialize;
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

/// Devices of one name, numbered, that are tried before another name has to be found.
const MOST_OF_A_NAME: usize = 100;

/// What is to be kept, and under which names; those of the built-in device where they are empty.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Asked {
    of: String,
    name: String,
    file: String,
}

/// Keeps a copy. Nothing is overwritten: where a name is taken, another is proposed.
pub(crate) async fn keep(site: State, Form(asked): Form<Asked>) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let catalogue = Catalogue::embedded();
        let (Some(kind), Some(text)) = (catalogue.device(&asked.of), catalogue.device_text(&asked.of)) else {
            return Err(layout::not_found());
        };
        let library = library_of(&site)?;
        let folder = site.shelf.folder();
        let or = |typed: &str, usual: &str| {
            let typed = typed.trim();
            if typed.is_empty() { usual.to_owned() } else { typed.to_owned() }
        };
        let name = or(&asked.name, &kind.name);
        let file = or(&asked.file, &asked.of);
        let stem = file.strip_suffix(".toml").unwrap_or(&file);
        let file_name = match FileName::parse(&format!("{stem}.toml")) {
            Ok(file_name) => file_name,
            Err(error) => {
                let why = html! { p.warn { (words::capital(&error.message)) ". " (words::capital(&error.mend)) "." } };
                return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, &asked.of, &kind.name, (&name, stem), &why));
            }
        };
        let taken = |library: &Library| {
            let why = html! { p.warn { (words::NAME_TAKEN) " " (words::ANOTHER_NAME) } };
            let file = free_name(&site, &file_name).unwrap_or_default();
            again(StatusCode::CONFLICT, &asked.of, &kind.name, (&free_title(library, &name), &file), &why)
        };
        // Two devices of one name can't be told apart by a case.
        if is_name_taken(&library, &name)
            || is_page(file_name.stem())
            || folder.read(Place::Gear, &file_name).is_ok()
        {
            return Ok(taken(&library));
        }
        let text = copy(text, (name != kind.name).then_some(name.as_str()))
            .map_err(|error| layout::error(StatusCode::INTERNAL_SERVER_ERROR, &error.message()))?;
        if let Err(report) = parse_device(Path::new(file_name.as_str()), &text) {
            let why = html! { p.warn { (words::NOT_KEPT) } (problems(&LoadError { files: vec![report] })) };
            return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, &asked.of, &kind.name, (&name, stem), &why));
        }
        Ok(match folder.save(Place::Gear, &file_name, &text, None, SystemTime::now()) {
            Ok(version) => notice::go(&Named { place: Place::Gear, name: file_name }, "", None, version),
            Err(SaveError::ChangedMeanwhile { .. }) => taken(&library),
            Err(error) => layout::error(StatusCode::INSUFFICIENT_STORAGE, &error.to_string()),
        })
    })
    .await?
}

/// The text of a built-in device as a file of its own. What is typical in the catalogue does not become a sheet's figure by being
/// copied.
fn copy(text: &str, name: Option<&str>) -> Result<String, EditError> {
    let set = |field: &str, value: &str| -> Result<Edit, EditError> {
        Ok(Edit::Set { path: FieldPath::parse(field)?, value: Value::from(value) })
    };
    let mut edits = Vec::new();
    if !text.lines().any(|line| line.starts_with("from =")) {
        edits.push(set("from", "typical")?);
    }
    if let Some(name) = name {
        edits.push(set("name", name)?);
    }
    apply_all(text, &edits)
}

fn is_name_taken(library: &Library, name: &str) -> bool {
    let name = name.trim().to_lowercase();
    library.held.iter().any(|held| held.device.name.to_lowercase() == name)
}

/// A name of a device that no other of the folder has.
fn free_title(library: &Library, name: &str) -> String {
    let numbered = (2..MOST_OF_A_NAME).map(|number| format!("{name} ({number})"));
    let mut all = std::iter::once(name.to_owned()).chain(numbered);
    all.find(|name| !is_name_taken(library, name)).unwrap_or_default()
}

/// Asks for names.
fn again(status: StatusCode, of: &str, kind: &str, (name, file): (&str, &str), why: &Markup) -> Response {
    let content = html! {
        p.above { a href="/gear" { (words::GEAR) } }
        h1 { (words::KEEP_COPY) }
        p { (kind) }
        div role="alert" { (why) }
        form.fields action="/gear/copy" method="post" {
            input type="hidden" name="of" value=(of);
            div.grid {
                p.entry {
                    label for="copy-name" { (words::DEVICE_NAME) }
                    input #copy-name type="text" name="name" value=(name) maxlength="200" autocomplete="off";
                }
                p.entry {
                    label for="copy-file" { (words::NAME_IT) }
                    input #copy-file type="text" name="file" value=(file) maxlength="69" autocomplete="off" aria-describedby="copy-hint";
                    span.hint #copy-hint { (words::COPY_FILE_HINT) }
                }
            }
            p.buttons { button type="submit" { (words::KEEP_COPY) } a href="/gear" { (words::LET_IT_BE) } }
        }
    };
    (status, layout::page(Part::Gear, words::KEEP_COPY, &content)).into_response()
}

#[cfg(test)]
mod tests {
    use super::super::library::KINDS;
    use super::*;
    use gainsay_gear::Device;
    use gainsay_plan::footing::Known;

    // A copy knows no more than what it was copied from.
    #[test]
    fn a_copy_states_nothing_that_its_kind_does_not() {
        let catalogue = Catalogue::embedded();
        let kinds: Vec<Device> = KINDS.into_iter().flat_map(|kind| catalogue.devices(kind)).collect();
        assert!(kinds.len() > 20, "only {} built-in devices", kinds.len());
        for kind in kinds {
            let id = &kind.id;
            let text = copy(catalogue.device_text(id).unwrap(), Some("A copy")).unwrap();
            let copied = parse_device(Path::new("copy.toml"), &text).unwrap();
            assert_eq!(copied.name, "A copy");
            assert_eq!(Known::of(&copied, catalogue), Known::of(&kind, catalogue), "{id}");
        }
    }
}
