//! A file's own text: to look at, to change, with what is wrong at its line; its earlier texts.

use super::notice::{bring_back, go_home, gone};
use super::{State, problems};
use crate::layout::{self, Part};
use crate::safety::working;
use crate::{Site, words};
use axum::extract::{Form, Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_folder::folder::{FileName, Place, SaveError, Version};
use gainsay_folder::{LoadError, load, parse_device};
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

/// A file of the folder, as an address names it.
#[derive(Debug, Clone)]
pub(crate) struct Named {
    pub(crate) place: Place,
    pub(crate) name: FileName,
}

impl Named {
    /// # Errors
    /// The answer that there is none such.
    pub(crate) fn of(place: &str, stem: &str) -> Result<Self, Response> {
        let place = match place {
            "cases" => Place::Case,
            "gear" => Place::Gear,
            _ => return Err(layout::not_found()),
        };
        let name = FileName::parse(&format!("{stem}.toml")).map_err(|_| layout::not_found())?;
        Ok(Self { place, name })
    }

    /// Where its page is.
    pub(crate) fn address(&self) -> String {
        let place = match self.place {
            Place::Case => "cases",
            Place::Gear => "gear",
        };
        format!("/{place}/{}", self.name.stem())
    }

    pub(crate) const fn part(&self) -> Part {
        match self.place {
            Place::Case => Part::Cases,
            Place::Gear => Part::Gear,
        }
    }

    /// What is wrong with a text in the place of this file.
    pub(crate) fn check(&self, site: &Site, text: &str) -> Result<(), LoadError> {
        let name = std::path::Path::new(self.name.as_str());
        match self.place {
            Place::Case => {
                let draft = site.shelf.folder().with_draft(self.place, &self.name, text);
                load(&draft, name).map(|_| ())
            }
            Place::Gear => {
                parse_device(name, text).map(|_| ()).map_err(|report| LoadError { files: vec![report] })
            }
        }
    }
}

/// Where a form of a file is sent. A browser that sends a form to the address of its own page, and gets no answer, puts its error
/// in the place of that page, and what was typed is gone; so no two pages have the same.
pub(crate) fn send_to(named: &Named, what: &str) -> String {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_millis());
    format!("{}/{what}?at={now}", named.address())
}

/// Ways of looking at a file.
pub(crate) fn ways(named: &Named, here: &str) -> Markup {
    let root = named.address();
    let link = |address: String, name: &str| {
        html! { a href=(address) aria-current=[(here == name).then_some("page")] { (name) } }
    };
    html! {
        p.above { a href=(root) { @match named.place { Place::Case => (words::TO_CASE), Place::Gear => (words::TO_DEVICE) } } }
        h1 { (named.name.stem()) }
        nav.parts aria-label="Ways of changing it" {
            (link(format!("{root}/edit"), words::FORM))
            (link(format!("{root}/file"), words::TEXT))
            (link(format!("{root}/history"), words::EARLIER))
        }
    }
}

pub(crate) async fn page(
    site: State,
    Path((place, stem)): Path<(String, String)>,
) -> Result<Response, Response> {
    let named = Named::of(&place, &stem)?;
    let site = Arc::clone(&site.0);
    working(move || match site.shelf.folder().read(named.place, &named.name) {
        Ok(read) => {
            let wrong = named.check(&site, &read.text).err();
            text_page(&named, &read.text, Some(read.version), wrong.as_ref(), None).into_response()
        }
        Err(_) => gone(&site, &named).unwrap_or_else(layout::not_found),
    })
    .await
}

#[derive(Debug, Deserialize)]
pub(crate) struct Text {
    text: String,
    /// The version that the text was made from; empty for a new file.
    #[serde(default)]
    base: String,
    /// Whether it is to be saved although something is wrong with it.
    #[serde(default)]
    anyway: String,
    /// Whether both texts are to be shown rather than anything saved.
    #[serde(default)]
    both: String,
}

pub(crate) async fn save(
    site: State,
    Path((place, stem)): Path<(String, String)>,
    Form(form): Form<Text>,
) -> Result<Response, Response> {
    let named = Named::of(&place, &stem)?;
    let site = Arc::clone(&site.0);
    working(move || {
        // Browsers send line breaks as two characters.
        let text = form.text.replace("\r\n", "\n");
        let base = Version::parse(&form.base);
        // What has changed meanwhile is looked at first: a text that is wrong may be right with it.
        if let Some(meanwhile) = meanwhile(&site, &named, &text, base, !form.both.is_empty()) {
            return meanwhile;
        }
        if let (Err(wrong), true) = (named.check(&site, &text), form.anyway.is_empty()) {
            let page = text_page(&named, &text, base, Some(&wrong), None);
            return (StatusCode::UNPROCESSABLE_ENTITY, page).into_response();
        }
        match site.shelf.folder().save(named.place, &named.name, &text, base, SystemTime::now()) {
            Ok(version) => go_home(&named, base, version),
            Err(error) => not_saved(&named, &text, base, &error),
        }
    })
    .await
}

/// Both texts, where a file is no longer what a change was made to, or where both are asked for.
pub(crate) fn meanwhile(
    site: &Site,
    named: &Named,
    text: &str,
    base: Option<Version>,
    asked: bool,
) -> Option<Response> {
    let theirs = site.shelf.folder().read(named.place, &named.name).ok();
    let same = theirs.as_ref().map(|theirs| theirs.version) == base;
    let saved = theirs.as_ref().is_some_and(|theirs| theirs.text == text);
    ((!same && !saved) || asked)
        .then(|| not_saved(named, text, base, &SaveError::ChangedMeanwhile { theirs }))
}

/// The page after a save that was not made: nothing that was typed is lost.
pub(crate) fn not_saved(named: &Named, text: &str, base: Option<Version>, error: &SaveError) -> Response {
    match error {
        SaveError::ChangedMeanwhile { theirs } => {
            let base = theirs.as_ref().map(|theirs| theirs.version);
            let other = theirs.as_ref().map_or("", |theirs| theirs.text.as_str());
            (StatusCode::CONFLICT, text_page(named, text, base, None, Some((other, &error.to_string()))))
                .into_response()
        }
        SaveError::Folder(fault) => {
            let page = text_page(named, text, base, None, Some(("", &fault.to_string())));
            (StatusCode::INSUFFICIENT_STORAGE, page).into_response()
        }
    }
}

/// The text in a field, with what is wrong, or with the other text that stands there meanwhile.
fn text_page(
    named: &Named,
    text: &str,
    base: Option<Version>,
    wrong: Option<&LoadError>,
    meanwhile: Option<(&str, &str)>,
) -> Markup {
    let content = html! {
        (ways(named, words::TEXT))
        @if let Some((other, why)) = meanwhile {
            section.problem role="alert" {
                p { strong { (words::NOT_SAVED) } " " (words::capital(why)) "." }
                @if !other.is_empty() { p { (words::SAVE_OVER) } }
            }
        }
        @if let Some(wrong) = wrong { div role="alert" { (problems(wrong)) } }
        @let other = meanwhile.map(|(other, _)| other).filter(|other| !other.is_empty());
        div.both[other.is_some()] {
            @if let Some(other) = other {
                section aria-labelledby="theirs" {
                    h2 #theirs { (words::THEIRS) }
                    (beside(other, text))
                }
            }
            form.text-form data-typed="both=yes" action=(send_to(named, "file")) method="post" {
                input type="hidden" name="base" value=(base.map(|version| version.to_string()).unwrap_or_default());
                label for="file-text" { @if other.is_some() { (words::YOURS) } @else { (words::TEXT_OF_FILE) } }
                textarea #file-text name="text" rows=(text.lines().count().clamp(12, 40)) spellcheck="false" { "\n" (text) }
                p.buttons {
                    button type="submit" { @if other.is_some() { (words::SAVE_MINE) } @else { (words::SAVE) } }
                    @if wrong.is_some() { button type="submit" name="anyway" value="yes" { (words::SAVE_ANYWAY) } }
                    a href=(named.address()) { @if other.is_some() { (words::KEEP_THEIRS) } @else { (words::LET_IT_BE) } }
                }
            }
        }
    };
    layout::page(named.part(), named.name.as_str(), &content)
}

/// A text, with the lines marked that another does not have.
fn beside(text: &str, other: &str) -> Markup {
    let known: std::collections::HashSet<&str> = other.lines().collect();
    html! {
        pre.text tabindex="0" {
            @for line in text.lines() {
                @if known.contains(line) { (line) } @else { mark { (line) } }
                "\n"
            }
        }
    }
}

pub(crate) async fn history(
    site: State,
    Path((place, stem)): Path<(String, String)>,
    Query(shown): Query<Shown>,
) -> Result<Response, Response> {
    let named = Named::of(&place, &stem)?;
    let site = Arc::clone(&site.0);
    working(move || {
        let folder = site.shelf.folder();
        let all = match folder.history(named.place, &named.name) {
            Ok(all) => all,
            Err(error) => return layout::error(StatusCode::INTERNAL_SERVER_ERROR, &error.to_string()),
        };
        let now = folder.read(named.place, &named.name).ok();
        let version = Version::parse(&shown.version);
        let text = version.and_then(|version| folder.earlier(named.place, &named.name, version).ok());
        let base = now.as_ref().map(|read| read.version);
        let content = html! {
            (ways(&named, words::EARLIER))
            @if let (None, Some(last)) = (base, all.first()) { (bring_back(&named, last.version)) }
            @if all.is_empty() { p { (words::NO_EARLIER) } }
            ul.shelf {
                @for earlier in &all {
                    li {
                        a href={ (named.address()) "/history?version=" (earlier.version) } { (date(earlier.time)) }
                        @if base == Some(earlier.version) { " " span.quiet { "(as it is)" } }
                    }
                }
            }
            @if let Some(text) = &text {
                h2 { "The text of " (all.iter().find(|earlier| earlier.version == text.version).map(|earlier| date(earlier.time)).unwrap_or_default()) }
                (beside(&text.text, now.as_ref().map_or("", |now| now.text.as_str())))
                p.quiet.small { (words::MARKED_LINES) }
                @if base != Some(text.version) {
                    form action={ (named.address()) "/history" } method="post" {
                        input type="hidden" name="version" value=(text.version);
                        input type="hidden" name="base" value=(base.map(|version| version.to_string()).unwrap_or_default());
                        button type="submit" { (words::RESTORE) }
                    }
                }
            }
            @if let Some(base) = base {
                form.delete action={ (named.address()) "/delete" } method="post" {
                    input type="hidden" name="base" value=(base);
                    button type="submit" { (words::DELETE) }
                }
            }
        };
        layout::page(named.part(), named.name.as_str(), &content).into_response()
    })
    .await
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Shown {
    version: String,
    base: String,
}

pub(crate) async fn restore(
    site: State,
    Path((place, stem)): Path<(String, String)>,
    Form(form): Form<Shown>,
) -> Result<Response, Response> {
    let named = Named::of(&place, &stem)?;
    let site = Arc::clone(&site.0);
    working(move || {
        let Some(version) = Version::parse(&form.version) else { return layout::not_found() };
        let base = Version::parse(&form.base);
        let folder = site.shelf.folder();
        match folder.restore(named.place, &named.name, version, base, SystemTime::now()) {
            Ok(now) => go_home(&named, base, now),
            Err(error) => {
                let text = folder.earlier(named.place, &named.name, version).map(|read| read.text);
                not_saved(&named, &text.unwrap_or_default(), base, &error)
            }
        }
    })
    .await
}

/// Date and time in UTC (the civil calendar from days since 1970, Howard Hinnant's algorithm).
fn date(time: SystemTime) -> String {
    let seconds = time.duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
    let (days, rest) = (seconds / 86_400, seconds % 86_400);
    let shifted = days + 719_468;
    let era = shifted / 146_097;
    let of_era = shifted % 146_097;
    let year_of_era = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let day_of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_shifted = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * month_shifted + 2) / 5 + 1;
    let month = if month_shifted < 10 { month_shifted + 3 } else { month_shifted - 9 };
    let year = year_of_era + era * 400 + u64::from(month <= 2);
    format!("{year}-{month:02}-{day:02} {:02}:{:02}:{:02} UTC", rest / 3_600, rest / 60 % 60, rest % 60)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    #[test]
    fn dates_are_those_of_the_calendar() {
        for (seconds, want) in [
            (0, "1970-01-01 00:00:00 UTC"),
            (951_782_400, "2000-02-29 00:00:00 UTC"),
            (1_700_000_000, "2023-11-14 22:13:20 UTC"),
            (4_107_542_399, "2100-02-28 23:59:59 UTC"),
        ] {
            assert_eq!(date(UNIX_EPOCH + Duration::from_secs(seconds)), want);
        }
    }
}
