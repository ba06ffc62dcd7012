//! The first page: a question in one sentence, with its answer. All of its state stands in its address.

use super::{State, both_widths, problems};
use crate::layout::{self, Part};
use crate::safety::working;
use crate::shelf::THOROUGH;
use crate::words::{self, capital};
use axum::extract::Query;
use axum::response::{IntoResponse, Response};
use gainsay_folder::{LoadError, Memory, load};
use gainsay_gear::{Catalogue, DeviceType};
use gainsay_picture::{Style, Width, level_diagram_inline, text_twin};
use gainsay_plan::words::interval_in;
use gainsay_plan::{Answer, check};
use maud::{Markup, html};
use serde::Deserialize;
use std::path::Path;

/// A built-in interface with line inputs and digital inputs, for what has only an output.
const TAKES_OUTPUTS: &str = "desk-interface-four-inputs";

/// A question, as the fields of the form stand.
#[derive(Debug, Clone, Deserialize)]
#[serde(default)]
pub(crate) struct Question {
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

    /// The question as a case file.
    pub(crate) fn case_text(&self) -> String {
        let mut lines = vec![format!("title = {}", quoted(&capital(&self.kind)))];
        if !self.room.trim().is_empty() {
            lines.extend([String::new(), "[room]".to_owned(), format!("noise = {}", quoted(&self.room))]);
        }
        lines.extend([
            String::new(),
            "[[source]]".to_owned(),
            format!("name = {}", quoted(&capital(&self.kind))),
            format!("kind = {}", quoted(&self.kind)),
        ]);
        for (field, value) in
            [("microphone", &self.microphone), ("booster", &self.booster), ("distance", &self.distance)]
        {
            if !value.trim().is_empty() {
                lines.push(format!("{field} = {}", quoted(value)));
            }
        }
        let own =
            |device: &str| [String::new(), "[[owned]]".to_owned(), format!("device = {}", quoted(device))];
        lines.extend(own(&self.into));
        // A preamp or a converter alone does not reach the computer: a usual interface takes its output.
        let device_type = Catalogue::embedded().device(&self.into).map(|device| device.device_type());
        if matches!(device_type, Some(DeviceType::Preamp | DeviceType::Converter)) {
            lines.extend(own(TAKES_OUTPUTS));
        }
        lines.join("\n") + "\n"
    }
}

pub(crate) async fn page(_site: State, Query(question): Query<Question>) -> Result<Response, Response> {
    working(move || {
        let content = html! {
            h1 { (words::QUESTION_LEAD) }
            p { (words::QUESTION_HINT) }
            (form(&question))
            div #answer aria-live="polite" { (answer(&question)) }
        };
        layout::page(Part::Ask, words::NAME, &content).into_response()
    })
    .await
}

fn form(question: &Question) -> Markup {
    let catalogue = Catalogue::embedded();
    let kinds: Vec<(&str, &str)> =
        catalogue.sources().iter().map(|kind| (kind.name.as_str(), kind.name.as_str())).collect();
    let devices = |types: &[DeviceType]| -> Vec<(String, String)> {
        let all = types.iter().flat_map(|of| catalogue.devices(*of));
        all.map(|device| (device.id, device.name)).collect()
    };
    let microphones = devices(&[DeviceType::Microphone]);
    let boosters = devices(&[DeviceType::Booster]);
    let inputs = devices(&[DeviceType::Interface, DeviceType::Preamp, DeviceType::Converter]);
    html! {
        form.question action="/" method="get" hx-get="/" hx-trigger="change, submit" hx-target="#answer" hx-select="#answer"
            hx-swap="outerHTML" hx-push-url="true" hx-sync="this:replace" {
            p {
                "I record " (choice("kind", "What is recorded", &question.kind, kinds.iter().copied(), None))
                " with " (choice("microphone", "Microphone", &question.microphone, pairs(&microphones), Some("the usual microphone")))
                " from " (text("distance", "Distance", &question.distance, "10 cm"))
                ", with " (choice("booster", "Booster", &question.booster, pairs(&boosters), Some("no booster")))
                ", into " (choice("into", "Input", &question.into, pairs(&inputs), None))
                ", in a room of " (text("room", "Noise of the room", &question.room, "30 dBA")) "."
            }
            p.buttons { button type="submit" { (words::SHOW) } }
        }
    }
}

fn pairs(all: &[(String, String)]) -> impl Iterator<Item = (&str, &str)> {
    all.iter().map(|(id, name)| (id.as_str(), name.as_str()))
}

fn choice<'a>(
    name: &str,
    label: &str,
    chosen: &str,
    all: impl Iterator<Item = (&'a str, &'a str)>,
    none: Option<&str>,
) -> Markup {
    html! {
        select name=(name) aria-label=(label) {
            @if let Some(none) = none { option value="" selected[chosen.is_empty()] { (none) } }
            @for (id, words) in all { option value=(id) selected[id == chosen] { (words) } }
        }
    }
}

fn text(name: &str, label: &str, value: &str, hint: &str) -> Markup {
    html! { input type="text" name=(name) value=(value) aria-label=(label) placeholder=(hint) size="8" maxlength="40"; }
}

fn ask(question: &Question) -> Result<Answer, LoadError> {
    let text = question.case_text();
    let case = load(&Memory::new(&[("question.toml", text.as_str())]), Path::new("question.toml"))?;
    check(&case, THOROUGH).map_err(|_| LoadError { files: Vec::new() })
}

fn answer(question: &Question) -> Markup {
    let answer = match ask(question) {
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

/// A TOML string.
fn quoted(text: &str) -> String {
    let escaped: String = text
        .chars()
        .map(|c| match c {
            '"' => "\\\"".to_owned(),
            '\\' => "\\\\".to_owned(),
            c if c.is_control() => format!("\\u{:04X}", u32::from(c)),
            c => c.to_string(),
        })
        .collect();
    format!("\"{escaped}\"")
}

/// A text in an address (RFC 3986, 2.1): all but unreserved characters as their bytes.
pub(super) fn in_address(text: &str) -> String {
    let is_plain = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~".contains(&byte);
    let written =
        |byte: u8| if is_plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") };
    text.bytes().map(written).collect()
}
