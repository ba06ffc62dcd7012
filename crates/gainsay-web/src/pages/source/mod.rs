//! A source: its lane large, what-ifs, every figure unfolded.

mod asked;

use super::case::{style, with_case};
use super::{State, both_widths};
use crate::layout::{self, Part};
use crate::shelf::{Opened, QUICK, THOROUGH};
use crate::words::{self, capital};
use asked::{Asked, keep_form};
use axum::extract::{Path, Query};
use axum::response::{IntoResponse, Response};
use gainsay_gear::{Catalogue, Device, DeviceType};
use gainsay_picture::{Width, lane};
use gainsay_plan::case::{Pickup, Source};
use gainsay_plan::patch::{Input, possible_inputs};
use gainsay_plan::words::{interval_in, number};
use gainsay_plan::{Chain, Options, SourceAnswer, UnfoldedStage, check_one, unfold};
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;

pub(crate) use asked::keep;

/// The window in which a what-if is seen. A wide one needs no narrow picture; a narrow one needs both, since paper is wide.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Window {
    only: String,
}

/// A source as it is asked for.
struct Seen {
    answer: SourceAnswer,
    chain: Option<Chain>,
}

pub(crate) async fn page(
    site: State,
    Path((name, number)): Path<(String, usize)>,
    Query(asked): Query<Asked>,
) -> Result<Response, Response> {
    with_case(site, name, move |opened| {
        let Some(source) = number.checked_sub(1).and_then(|index| opened.case.sources.get(index)) else {
            return layout::not_found();
        };
        let index = number - 1;
        match seen(opened, source, index, &asked, THOROUGH) {
            Ok(seen) => {
                let content = content(opened, source, index, &asked, &seen);
                layout::page(Part::Cases, &source.name, &content).into_response()
            }
            Err(response) => response,
        }
    })
    .await
}

/// The answer alone, for a page that is there.
pub(crate) async fn what_if(
    site: State,
    Path((name, number)): Path<(String, usize)>,
    Query(asked): Query<Asked>,
    Query(window): Query<Window>,
) -> Result<Response, Response> {
    with_case(site, name, move |opened| {
        let Some(source) = number.checked_sub(1).and_then(|index| opened.case.sources.get(index)) else {
            return layout::not_found();
        };
        match seen(opened, source, number - 1, &asked, QUICK) {
            Ok(seen) => result(opened, number - 1, &asked, &seen, window.only == "wide").into_response(),
            Err(response) => response,
        }
    })
    .await
}

fn seen(
    opened: &Opened,
    source: &Source,
    index: usize,
    asked: &Asked,
    options: Options,
) -> Result<Seen, Response> {
    let missing = |missing: gainsay_plan::chain::MissingFigure| {
        layout::error(axum::http::StatusCode::UNPROCESSABLE_ENTITY, &missing.to_string())
    };
    let as_it_is = opened.answer.patch.inputs.get(index).and_then(|input| input.as_ref().ok());
    let chosen: Option<Input> = match asked.input.trim().parse::<usize>() {
        Ok(at) => possible_inputs(&opened.case, index).into_iter().nth(at),
        Err(_) => as_it_is.cloned(),
    };
    let Some(input) = chosen else {
        let answer = opened.answer.sources.get(index).cloned();
        return answer.map(|answer| Seen { answer, chain: None }).ok_or_else(layout::not_found);
    };
    let source = asked.what_if(opened.own()).of(source);
    let answer = check_one(&opened.case, &source, &input, options).map_err(missing)?;
    let chain = Chain::new(&opened.case, &source, &input).map_err(missing)?;
    Ok(Seen { answer, chain: Some(chain) })
}

fn content(opened: &Opened, source: &Source, index: usize, asked: &Asked, seen: &Seen) -> Markup {
    let address = format!("/cases/{}/sources/{}", opened.name, index + 1);
    html! {
        p.above { a href={ "/cases/" (opened.name) } { (opened.case.title) } }
        h1 { (source.name) }
        nav.parts aria-label="Sources" {
            @for (other, source) in opened.case.sources.iter().enumerate() {
                a href={ "/cases/" (opened.name) "/sources/" (other + 1) } aria-current=[(other == index).then_some("page")] { (source.name) }
            }
        }
        div.beside {
            div #seen { (result(opened, index, asked, seen, false)) }
            (form(opened, source, index, asked, &address))
        }
        @if let (Some(chain), Some(result)) = (&seen.chain, &seen.answer.result) {
            (unfolded(&unfold(chain, result.setting)))
        }
    }
}

/// What a source comes to.
fn result(opened: &Opened, index: usize, asked: &Asked, seen: &Seen, only_wide: bool) -> Markup {
    let before = asked.anything().then_some(&opened.answer);
    let picture = |width| {
        let style = style(opened, width);
        lane(&seen.answer, &gainsay_picture::Style { before, legend: false, ..style })
    };
    let now = opened.answer.sources.get(index).and_then(|source| source.result.as_ref());
    html! {
        p.first {
            @if let Some(result) = &seen.answer.result {
                (layout::verdict(result.verdict))
                @if let (true, Some(now)) = (asked.anything() && before.is_some(), now) {
                    @if now.verdict != result.verdict { " " span.quiet { "(was " (now.verdict.word()) ")" } }
                }
                ". "
            }
            (capital(&seen.answer.sentence)) "."
        }
        (keep_form(opened, index, asked))
        @if let Some(result) = &seen.answer.result {
            figure { (both_widths(picture(Width::Wide), (!only_wide).then(|| picture(Width::Narrow)))) }
            dl.figures {
                (figure("Gain", &result.gain_db.map_or_else(|| "line input".to_owned(), |gain| format!("{} dB", number(gain, 0)))))
                (figure("Peak", &interval_in(&result.peak_dbfs, "dBFS")))
                (figure("Noise", &interval_in(&result.noise_dbfs_a, "dBFS A-weighted")))
                (figure("Quietest above noise", &interval_in(&result.quiet_above_noise_db, "dB")))
                (figure("Perfect preamp gains", &interval_in(&result.penalty_db, "dB")))
                (figure("Limited by", &result.limit_words))
            }
            details {
                summary { (words::IN_WORDS) }
                pre.twin { (gainsay_picture::source_twin(&seen.answer)) }
            }
        }
    }
}

fn figure(name: &str, value: &str) -> Markup {
    html! { div { dt { (name) } dd { (value) } } }
}

fn form(opened: &Opened, source: &Source, index: usize, asked: &Asked, address: &str) -> Markup {
    let result = opened.answer.sources.get(index).and_then(|source| source.result.as_ref());
    let or = |text: &String, otherwise: f64| {
        text.trim().parse::<f64>().ok().filter(|n| n.is_finite()).unwrap_or(otherwise)
    };
    let (distance, microphone) = match &source.pickup {
        Pickup::Acoustic { distance, microphone, .. } => (Some(distance.value.metres()), Some(microphone)),
        Pickup::Electrical { .. } => (None, None),
    };
    let gain = result.and_then(|result| Some((result.gain_db?, result.most_gain_db?)));
    let inputs = possible_inputs(&opened.case, index);
    html! {
        form.what-if action=(address) method="get"
            data-what-if={ (address) "/what-if" } {
            fieldset {
                legend { (words::WHAT_IF) }
                @if let Some((now, most)) = gain {
                    (slider("gain", "Gain", "dB", (0.0, most.ceil(), 1.0), or(&asked.gain, now.round())))
                }
                @if let Some(distance) = distance {
                    (slider("distance", "Distance", "m", (0.02, (4.0 * distance).max(1.0), 0.01), or(&asked.distance, distance)))
                }
                (slider("louder", "Louder by", "dB", (-20.0, 20.0, 1.0), or(&asked.louder, 0.0)))
                (slider("cable", "Cable", "m", (1.0, 100.0, 1.0), or(&asked.cable, source.cable_length.value.metres())))
                @if distance.is_some() {
                    (select("microphone", "Microphone", microphone, DeviceType::Microphone, &asked.microphone, opened))
                    (select("booster", "Booster", source.booster.as_ref(), DeviceType::Booster, &asked.booster, opened))
                }
                @if inputs.len() > 1 {
                    p.field {
                        label for="input" { "Input" }
                        select #input name="input" {
                            option value="" { "as it is" }
                            @for (at, input) in inputs.iter().enumerate() {
                                option value=(at) selected[asked.input == at.to_string()] { (input.device.name) ", " (input.socket.words()) " " (input.number) }
                            }
                        }
                    }
                }
                p.buttons {
                    button type="submit" { (words::SHOW) }
                    a href=(address) { (words::AS_IT_STANDS) }
                }
            }
        }
    }
}

/// A slider with its value in figures.
fn slider(name: &str, label: &str, unit: &str, (least, most, step): (f64, f64, f64), value: f64) -> Markup {
    let shown = if step < 1.0 { number(value, 2) } else { number(value, 0) };
    html! {
        p.field {
            label for=(name) { (label) }
            input #(name) type="range" name=(name) min=(least) max=(most) step=(step) value=(value);
            output for=(name) { (shown) " " (unit) }
        }
    }
}

/// A choice of devices: those of the folder and the case first, then those that are built in.
fn select(
    name: &str,
    label: &str,
    held: Option<&Arc<Device>>,
    of: DeviceType,
    chosen: &str,
    opened: &Opened,
) -> Markup {
    let own: Vec<&Arc<Device>> = opened.own().iter().filter(|device| device.device_type() == of).collect();
    let mut built_in = Catalogue::embedded().devices(of);
    built_in.retain(|device| own.iter().all(|own| own.id != device.id));
    let option =
        |device: &Device| html! { option value=(device.id) selected[device.id == chosen] { (device.name) } };
    html! {
        p.field {
            label for=(name) { (label) }
            select #(name) name=(name) {
                option value="" { "as it is: " (held.map_or("none", |held| held.name.as_str())) }
                @if of == DeviceType::Booster && held.is_some() { option value="none" selected[chosen == "none"] { "none" } }
                @if !own.is_empty() { optgroup label=(words::YOUR_GEAR) { @for device in own { (option(device)) } } }
                optgroup label=(words::BUILT_IN) { @for device in &built_in { (option(device)) } }
            }
        }
    }
}

fn unfolded(stages: &[UnfoldedStage]) -> Markup {
    html! {
        section #unfolded {
            h2 { (words::UNFOLDED) }
            @for stage in stages {
                details.stage {
                    summary { (stage.stage) }
                    dl.steps {
                        @for step in &stage.steps {
                            dt { (step.what) ": " strong { (step.result) } }
                            dd {
                                p { "= " (step.formula) }
                                @if !step.inputs.is_empty() {
                                    ul {
                                        @for input in &step.inputs {
                                            li {
                                                (input.figure) ": " (input.value) " "
                                                span.quiet { "(" (input.from.word()) @if let Some(note) = &input.note { "; " (note) } ")" }
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
    }
}
