//! The first page: a question in one sentence, with its answer. All of its state stands in its address.

use super::gear::library_of;
use super::{State, both_widths, problems};
use crate::Site;
use crate::layout::{self, Part};
use crate::safety::working;
use crate::shelf::THOROUGH;
use crate::words;
use axum::extract::Query;
use axum::response::{IntoResponse, Response};
use gainsay_folder::folder::{FileName, Place};
use gainsay_folder::library::Library;
use gainsay_folder::question;
use gainsay_folder::{LoadError, Memory, load};
use gainsay_gear::{Catalogue, Device, DeviceType};
use gainsay_picture::{Style, Width, level_diagram_inline, text_twin};
use gainsay_plan::words::interval_in;
use gainsay_plan::{Answer, check};
use maud::{Markup, html};
use serde::Deserialize;
use std::path::Path;
use std::sync::Arc;

/// The name under which a question is read, where its text has a fault.
const FILE: &str = "question.toml";

/// What microphones are plugged into.
pub(super) const BOXES: &[DeviceType] = &[DeviceType::Interface, DeviceType::Preamp, DeviceType::Converter];

/// A question, as the fields of the form stand.
#[derive(Debug, Clone, Deserialize)]
#[serde(default)]
pub(crate) struct Question {
    /// Of the case that is begun with it; the kind's where it is empty.
    pub(crate) title: String,
    pub(crate) kind: String,
    pub(crate) microphone: String,
    pub(crate) distance: String,
    pub(crate) into: String,
    pub(crate) room: String,
    pub(crate) booster: String,
}

impl Default for Question {
    fn default() -> Self {
        Self {
            title: String::new(),
            kind: "whisper".to_owned(),
            microphone: "moving-coil-broadcast".to_owned(),
            distance: "10 cm".to_owned(),
            into: "desk-interface-two-inputs".to_owned(),
            room: String::new(),
            booster: String::new(),
        }
    }
}

impl Question {
    /// All of it as the query of an address.
    fn query(&self) -> String {
        let fields = [
            ("kind", &self.kind),
            ("microphone", &self.microphone),
            ("distance", &self.distance),
            ("into", &self.into),
            ("room", &self.room),
            ("booster", &self.booster),
        ];
        fields.map(|(name, value)| format!("{name}={}", in_address(value))).join("&")
    }

    /// The question as a case file; devices are looked for in the folder first.
    pub(crate) fn case_text(&self, own: &Library) -> String {
        let of_folder = own.find(&self.into).map(|held| held.device.device_type());
        let built_in = || Catalogue::embedded().device(&self.into).map(|device| device.device_type());
        let question = question::Question {
            title: stated(&self.title),
            kind: &self.kind,
            microphone: stated(&self.microphone),
            booster: stated(&self.booster),
            distance: stated(&self.distance),
            quiet: None,
            loud: None,
            room: stated(&self.room),
            into: &self.into,
            into_type: of_folder.or_else(built_in),
            on_its_input: false,
        };
        question.file().text()
    }
}

/// A field, if anything stands in it.
fn stated(text: &str) -> Option<&str> {
    (!text.trim().is_empty()).then_some(text)
}

pub(crate) async fn page(site: State, Query(question): Query<Question>) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let own = library_of(&site)?;
        let content = html! {
            h1 { (words::QUESTION_LEAD) }
            p { (words::QUESTION_HINT) }
            (form(&question, &own))
            div #answer aria-live="polite" { (answer(&site, &question, &own)) }
        };
        Ok(layout::page(Part::Ask, words::NAME, &content).into_response())
    })
    .await?
}

fn form(question: &Question, own: &Library) -> Markup {
    let of = |types: &[DeviceType], chosen: &str, none: Option<&str>| devices(own, types, chosen, none);
    let microphones = of(&[DeviceType::Microphone], &question.microphone, Some("the usual microphone"));
    let boosters = of(&[DeviceType::Booster], &question.booster, Some("no booster"));
    let inputs = of(BOXES, &question.into, None);
    html! {
        form.question action="/" method="get" hx-get="/" hx-trigger="change, submit" hx-target="#answer" hx-select="#answer"
            hx-swap="outerHTML" hx-push-url="true" hx-sync="this:replace" {
            p {
                "I record " (choice("kind", "What is recorded", &kinds(&question.kind), ""))
                " with " (choice("microphone", "Microphone", &microphones, ""))
                " from " (text("distance", "Distance", &question.distance, "as usual", ","))
                " with " (choice("booster", "Booster", &boosters, ","))
                " into " (choice("into", "Input", &inputs, ","))
                " in a room of " (text("room", "Noise of the room", &question.room, "30 dBA", "."))
            }
            p.buttons { button type="submit" { (words::SHOW) } }
        }
    }
}

/// Kinds of source to choose from.
pub(super) fn kinds(chosen: &str) -> Markup {
    html! {
        @for kind in Catalogue::embedded().sources() { option value=(kind.name) selected[kind.name == chosen] { (kind.name) } }
    }
}

/// Devices to choose from: the folder's own first, then those that are built in.
pub(super) fn devices(own: &Library, types: &[DeviceType], chosen: &str, none: Option<&str>) -> Markup {
    let catalogue = Catalogue::embedded();
    let held: Vec<&Device> = own
        .held
        .iter()
        .map(|held| &held.device)
        .filter(|device| types.contains(&device.device_type()))
        .collect();
    let mut built_in: Vec<Device> = types.iter().flat_map(|of| catalogue.devices(*of)).collect();
    built_in.retain(|device| own.held.iter().all(|held| held.device.id != device.id));
    let option =
        |device: &Device| html! { option value=(device.id) selected[device.id == chosen] { (device.name) } };
    html! {
        @if let Some(none) = none { option value="" selected[chosen.is_empty()] { (none) } }
        @if held.is_empty() {
            @for device in &built_in { (option(device)) }
        } @else {
            optgroup label=(words::YOUR_GEAR) { @for device in held { (option(device)) } }
            optgroup label=(words::BUILT_IN) { @for device in &built_in { (option(device)) } }
        }
    }
}

/// A choice in the sentence, with the mark that must not begin a line behind it.
fn choice(name: &str, label: &str, options: &Markup, mark: &str) -> Markup {
    html! { span.said { select name=(name) aria-label=(label) { (options) } (mark) } }
}

fn text(name: &str, label: &str, value: &str, hint: &str, mark: &str) -> Markup {
    html! {
        span.said { input type="text" name=(name) value=(value) aria-label=(label) placeholder=(hint) size="8" maxlength="40"; (mark) }
    }
}

fn ask(site: &Site, question: &Question, own: &Library) -> Result<Answer, LoadError> {
    let text = question.case_text(own);
    let path = Path::new(FILE);
    // What is wrong with other files of the folder concerns nobody who asks for built-in devices alone.
    let of_folder = [&question.microphone, &question.booster, &question.into]
        .iter()
        .any(|name| !name.trim().is_empty() && own.find(name).is_some());
    let case = match FileName::parse(FILE) {
        Ok(name) if of_folder => load(&site.shelf.folder().with_draft(Place::Case, &name, &text), path)?,
        _ => load(&Memory::new(&[(FILE, text.as_str())]), path)?,
    };
    check(&case, THOROUGH).map_err(|_| LoadError { files: Vec::new() })
}

fn answer(site: &Site, question: &Question, own: &Library) -> Markup {
    let answer = match ask(site, question, own) {
        Ok(answer) => answer,
        Err(error) => return problems(&error),
    };
    let draw = |width, prefix| {
        level_diagram_inline(&answer, &Style { width, heading: false, prefix, ..Style::default() })
    };
    let result = answer.sources.first().and_then(|source| source.result.as_ref());
    html! {
        div.answer { (super::case::sentences(&answer.answer)) }
        @if let Some(result) = result {
            dl.figures {
                div { dt { "Verdict" } dd { (layout::verdict(result.verdict)) } }
                div { dt { "Limited by" } dd { (result.limit_words) } }
                div { dt { "Perfect preamp gains" } dd { (interval_in(&result.penalty_db, "dB")) } }
                div { dt { "Peak" } dd { (interval_in(&result.peak_dbfs, "dBFS")) } }
            }
        }
        figure {
            (both_widths(draw(Width::Wide, "wide"), draw(Width::Narrow, "narrow")))
            figcaption { details { summary { (words::IN_WORDS) } pre.twin { (text_twin(&answer)) } } }
        }
        @if let Some(ask) = &answer.ask {
            section { h2 { (words::ASK_NEXT) } p { (ask.question) } }
        }
        form.make action="/cases" method="post" {
            @for (name, value) in [
                ("kind", &question.kind), ("microphone", &question.microphone), ("distance", &question.distance),
                ("into", &question.into), ("room", &question.room), ("booster", &question.booster),
            ] { input type="hidden" name=(name) value=(value); }
            button type="submit" { (words::MAKE_A_CASE) }
        }
        (layout::list(words::TAKE_CARE, &answer.cautions))
        p.keep { a.copied href={ "/?" (question.query()) } { (words::LINK) } }
    }
}

/// A text in an address (RFC 3986, 2.1): all but unreserved characters as their bytes.
pub(super) fn in_address(text: &str) -> String {
    let is_plain = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~".contains(&byte);
    let written =
        |byte: u8| if is_plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") };
    text.bytes().map(written).collect()
}
