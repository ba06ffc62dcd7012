//! The patch of a case.

use super::case::{heading, sentences, with_case};
use super::{State, both_widths, csv_file, download, json_file, parts_of, plain};
use crate::layout::{self, Part};
use crate::shelf::Opened;
use crate::words;
use axum::extract::Path;
use axum::response::{IntoResponse, Response};
use gainsay_picture::{Style, Width, patch_diagram, patch_diagram_inline, patch_text_twin};
use gainsay_plan::patch::sheet::{PatchSheet, patch_sheet};
use gainsay_plan::words::number;
use maud::{Markup, html};

pub(crate) async fn page(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    with_case(site, name, |opened| {
        let title = format!("{}: {}", words::PATCH, opened.case.title);
        layout::page(Part::Cases, &title, &content(opened)).into_response()
    })
    .await
}

pub(crate) async fn picture(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    with_case(site, name, |opened| {
        let sheet = patch_sheet(&opened.case, &opened.answer);
        let svg = patch_diagram(&sheet, &opened.answer.patch, &Style::default());
        download("image/svg+xml", &format!("{}-patch.svg", opened.name), svg)
    })
    .await
}

pub(crate) async fn json(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    with_case(site, name, |opened| {
        json_file(&format!("{}-patch.json", opened.name), &patch_sheet(&opened.case, &opened.answer))
    })
    .await
}

/// The channels as a table.
pub(crate) async fn csv(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    with_case(site, name, |opened| {
        let sheet = patch_sheet(&opened.case, &opened.answer);
        let rows = sheet.rows.iter().map(|row| {
            vec![
                row.channel.to_string(),
                row.source_words(),
                row.microphone.clone().unwrap_or_default(),
                format!("{}, {} {}", row.into, row.input_sort, row.input),
                row.then.clone().unwrap_or_default(),
                plain(row.gain_db, 0),
                if row.phantom { "on" } else { "off" }.to_owned(),
                shift(&sheet, row.channel).to_string(),
            ]
        });
        let head = [
            "channel",
            "source",
            "microphone",
            "into",
            "then",
            "gain (dB)",
            "phantom",
            "move earlier (samples)",
        ];
        csv_file(&format!("{}-patch.csv", opened.name), &head, rows)
    })
    .await
}

/// By how many samples a channel has to be moved.
fn shift(sheet: &PatchSheet, channel: u32) -> i64 {
    sheet
        .timing
        .shifts
        .iter()
        .find(|shift| shift.channel == channel)
        .map_or(0, |shift| i64::from(shift.samples))
}

fn content(opened: &Opened) -> Markup {
    let sheet = patch_sheet(&opened.case, &opened.answer);
    let draw = |width, prefix| {
        let style = Style { width, heading: false, prefix, ..Style::default() };
        patch_diagram_inline(&sheet, &opened.answer.patch, &style)
    };
    let root = format!("/cases/{}", opened.name);
    html! {
        (heading(opened))
        (parts_of(opened, words::PATCH))
        div.answer { (sentences(&sheet.answer)) }
        (layout::list("Mind", &sheet.warnings))
        @if !sheet.without_input.is_empty() {
            section {
                h2 { "Without an input" }
                ul { @for without in &sheet.without_input { li { (without.source) ": " (without.why) } } }
                @for relief in &sheet.reliefs { p { (relief) } }
            }
        }
        figure {
            (both_widths(draw(Width::Wide, "wide"), draw(Width::Narrow, "narrow")))
            figcaption { details { summary { (words::IN_WORDS) } pre.twin { (patch_text_twin(&sheet, &opened.answer.patch)) } } }
        }
        (channels(&sheet))
        (connections(&sheet))
        (steps(&sheet))
        p.keep { (words::DOWNLOAD) ": "
            a href={ (root) "/patch.svg" } { (words::PICTURE_FILE) } ", "
            a href={ (root) "/patch.csv" } { (words::TABLE_FILE) } ", "
            a href={ (root) "/patch.json" } { (words::DATA_FILE) }
        }
    }
}

fn channels(sheet: &PatchSheet) -> Markup {
    html! {
        div.wide-table tabindex="0" role="region" aria-label="Channels" {
            table {
                thead { tr {
                    th.n scope="col" { "Channel" } th scope="col" { "Source" } th scope="col" { "Microphone" }
                    th scope="col" { "Into" } th scope="col" { "Then" } th.n scope="col" { "Gain, dB" }
                    th scope="col" { "Phantom" } th.n scope="col" { "Move earlier, samples" }
                } }
                tbody {
                    @for row in &sheet.rows {
                        tr {
                            td.n { (row.channel) }
                            th scope="row" { (row.source_words()) }
                            td { (row.microphone.clone().unwrap_or_else(|| "–".to_owned())) }
                            td { (row.into) ", " (row.input_sort) " " (row.input) }
                            td { (row.then.clone().unwrap_or_else(|| "–".to_owned())) }
                            td.n { (row.gain_db.map_or_else(|| "–".to_owned(), |gain| number(gain, 0))) }
                            td { @if row.phantom { "on" } @else { "off" } }
                            td.n { (shift(sheet, row.channel)) }
                        }
                    }
                }
            }
        }
    }
}

fn connections(sheet: &PatchSheet) -> Markup {
    html! {
        @if !sheet.connections.is_empty() {
            section {
                h2 { "Between the boxes" }
                ul {
                    @for link in &sheet.connections {
                        li { (link.from) ", " (link.output) " → " (link.to) ", " (link.input) ": " (link.format) }
                    }
                }
            }
        }
        @if !sheet.clocks.is_empty() {
            section {
                h2 { "Clocks" }
                ul {
                    @for clock in &sheet.clocks {
                        li { (clock.device) ": " (clock.setting) @if let Some(follows) = &clock.follows { ", follows " (follows) } }
                    }
                }
            }
        }
        @if !sheet.items.is_empty() {
            section {
                h2 { "To have at hand" }
                ul { @for item in &sheet.items { li { (item.count) " × " (item.what) " " span.quiet { "(" (item.used_for) ")" } } } }
            }
        }
    }
}

/// The session in a safe order.
fn steps(sheet: &PatchSheet) -> Markup {
    let mut phases: Vec<(&str, Vec<&str>)> = Vec::new();
    for step in &sheet.steps {
        match phases.last_mut() {
            Some((phase, steps)) if *phase == step.phase => steps.push(&step.what),
            _ => phases.push((step.phase, vec![&step.what])),
        }
    }
    html! {
        section {
            h2 { "In this order" }
            @for (phase, steps) in &phases {
                h3 { (phase) }
                ol { @for step in steps { li { (step) } } }
            }
        }
    }
}
