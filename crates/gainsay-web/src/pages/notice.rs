//! What a page says after a save: what it has changed, with a way back; and what it says of a file that is gone.

use super::State;
use super::file::{Named, not_saved};
use crate::layout;
use crate::safety::working;
use crate::shelf::Opened;
use crate::{Site, words};
use axum::extract::{Form, Path};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use gainsay_folder::folder::{Place, Version};
use gainsay_plan::{Answer, Verdict};
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;
use std::time::SystemTime;

/// Stands for a version where there is no file.
pub(crate) const NO_FILE: &str = "none";

/// What has just been saved, as it stands in an address: the version before it and that after it.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Saved {
    before: String,
    after: String,
    /// The tables of which one has been added.
    pub(super) added: String,
}

fn written(version: Option<Version>) -> String {
    version.map_or_else(|| NO_FILE.to_owned(), |version| version.to_string())
}

/// Goes to a page of a file that has just been saved, which then tells so.
pub(crate) fn go(named: &Named, page: &str, before: Option<Version>, after: Version) -> Response {
    let root = named.address();
    if before == Some(after) {
        return Redirect::to(&format!("{root}{page}")).into_response();
    }
    Redirect::to(&format!("{root}{page}?before={}&after={after}", written(before))).into_response()
}

/// Goes back to a form in which a button has changed the number or the order of tables; to the one that it has added, if so.
pub(crate) fn go_added(named: &Named, action: &str, before: Option<Version>, after: Version) -> Response {
    match action.strip_prefix("add ") {
        Some(array) if before != Some(after) => {
            let (root, before) = (named.address(), written(before));
            let address = format!("{root}/edit?before={before}&after={after}&added={array}#added");
            Redirect::to(&address).into_response()
        }
        _ => go(named, "/edit", before, after),
    }
}

/// Goes to where a file is looked at after a save.
pub(crate) fn go_home(named: &Named, before: Option<Version>, after: Version) -> Response {
    match named.place {
        Place::Case => go(named, "", before, after),
        Place::Gear => go(named, "/edit", before, after),
    }
}

/// That a file has just been saved, if it is still what was saved then.
pub(crate) fn notice(
    site: &Site,
    named: &Named,
    saved: &Saved,
    now: Option<Version>,
    opened: Option<&Opened>,
) -> Markup {
    if now.is_none() || Version::parse(&saved.after) != now {
        return html! {};
    }
    let earlier = Version::parse(&saved.before)
        .and_then(|version| site.shelf.folder().earlier(named.place, &named.name, version).ok());
    let is_new = saved.before == NO_FILE;
    if earlier.is_none() && !is_new {
        return html! {};
    }
    let before = earlier.and_then(|earlier| site.shelf.answer_with(&named.name, &earlier.text));
    html! {
        section.notice role="status" {
            p { strong { (words::SAVED) } }
            @if let (Some(before), Some(opened)) = (&before, opened) { (turned(before, &opened.answer)) }
            form action={ (named.address()) "/undo" } method="post" {
                input type="hidden" name="before" value=(saved.before);
                input type="hidden" name="after" value=(saved.after);
                button type="submit" { (words::UNDO) }
            }
        }
    }
}

/// Which verdicts are other ones than before.
fn turned(before: &Answer, after: &Answer) -> Markup {
    let of_source = |answer: &Answer, name: &str| -> Option<Verdict> {
        let source = answer.sources.iter().find(|source| source.name == name)?;
        Some(source.result.as_ref().map_or(Verdict::Short, |result| result.verdict))
    };
    let mut rows: Vec<(&str, Option<Verdict>, Option<Verdict>)> = vec![
        (words::INPUTS, Some(before.inputs.verdict), Some(after.inputs.verdict)),
        (words::LEVEL, before.level, after.level),
    ];
    for source in &before.sources {
        rows.push((&source.name, of_source(before, &source.name), of_source(after, &source.name)));
    }
    for source in after.sources.iter().filter(|source| of_source(before, &source.name).is_none()) {
        rows.push((&source.name, None, of_source(after, &source.name)));
    }
    rows.retain(|(_, before, after)| before != after);
    let shown = |verdict: Option<Verdict>| html! { @match verdict { Some(verdict) => (layout::verdict(verdict)), None => "not there" } };
    html! {
        @if rows.is_empty() { p { (words::NO_VERDICT_TURNED) } } @else {
            ul.turned {
                @for (what, before, after) in &rows {
                    li { (what) ": " (shown(*before)) " → " (shown(*after)) }
                }
            }
        }
    }
}

/// Brings back what stood there before a save, if it is still what was saved.
pub(crate) async fn undo(
    site: State,
    Path((place, stem)): Path<(String, String)>,
    Form(saved): Form<Saved>,
) -> Result<Response, Response> {
    let named = Named::of(&place, &stem)?;
    let site = Arc::clone(&site.0);
    working(move || {
        let folder = site.shelf.folder();
        let (before, after) = (Version::parse(&saved.before), Version::parse(&saved.after));
        match (before, after) {
            (Some(version), after) => {
                match folder.restore(named.place, &named.name, version, after, SystemTime::now()) {
                    Ok(now) => go_home(&named, after, now),
                    Err(error) => {
                        let text = folder.earlier(named.place, &named.name, version).map(|read| read.text);
                        not_saved(&named, &text.unwrap_or_default(), after, &error)
                    }
                }
            }
            (None, Some(after)) if saved.before == NO_FILE => delete_at(&site, &named, after),
            _ => layout::not_found(),
        }
    })
    .await
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Base {
    base: String,
}

/// Deletes a file; its texts stay.
pub(crate) async fn delete(
    site: State,
    Path((place, stem)): Path<(String, String)>,
    Form(form): Form<Base>,
) -> Result<Response, Response> {
    let named = Named::of(&place, &stem)?;
    let site = Arc::clone(&site.0);
    working(move || match Version::parse(&form.base) {
        Some(base) => delete_at(&site, &named, base),
        None => layout::not_found(),
    })
    .await
}

fn delete_at(site: &Site, named: &Named, base: Version) -> Response {
    match site.shelf.folder().delete(named.place, &named.name, base, SystemTime::now()) {
        Ok(()) => Redirect::to(&format!("{}/history", named.address())).into_response(),
        Err(error) => layout::error(StatusCode::CONFLICT, &format!("{}: {error}.", words::NOT_DELETED)),
    }
}

/// That a file is gone, with its last text to bring back; nothing of a file that never was.
pub(crate) fn gone(site: &Site, named: &Named) -> Option<Response> {
    let folder = site.shelf.folder();
    let last = folder.history(named.place, &named.name).ok()?.first().copied()?;
    if folder.read(named.place, &named.name).is_ok() {
        return None;
    }
    let content = html! {
        h1 { (named.name.stem()) }
        (bring_back(named, last.version))
        p { a href={ (named.address()) "/history" } { (words::EARLIER_TEXTS) } }
    };
    Some((StatusCode::GONE, layout::page(named.part(), named.name.stem(), &content)).into_response())
}

/// That a file has been deleted, and a way to bring it back.
pub(crate) fn bring_back(named: &Named, last: Version) -> Markup {
    html! {
        section.notice role="status" {
            p { strong { (words::GONE) } " " (words::GONE_HINT) }
            form action={ (named.address()) "/undo" } method="post" {
                input type="hidden" name="before" value=(last);
                input type="hidden" name="after" value=(NO_FILE);
                button type="submit" { (words::BRING_BACK) }
            }
        }
    }
}
