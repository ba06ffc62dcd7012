//! The comparison in tables.

use super::super::{figure, group_heading};
use crate::{layout, words};
use gainsay_plan::footing::{DeviceFooting, GroupFooting, GroupKind, Measure, Recordings, Written};
use gainsay_plan::words::footing::footing_words;
use gainsay_plan::words::interval_in;
use maud::{Markup, html};

/// Who records it best, and whether anyone would hear the difference.
pub(super) fn ranking(recorded: &Recordings) -> Markup {
    html! {
        section {
            h2 { (words::recorded_by_each(&recorded.source)) }
            p.first { (recorded.conclusion) }
            ol.ranking {
                @for recording in &recorded.recordings {
                    li value=(recording.place) {
                        strong { (recording.name) } ": " (recording.sentence) "."
                        @if let Some(result) = &recording.result {
                            " " (layout::verdict(result.verdict))
                            div.small.quiet {
                                @if let Some(noise) = &result.noise_equivalent_dba { (words::NOISE_AS_SOUND) " " (interval_in(noise, "dBA")) "; " }
                                (words::PERFECT_GAINS) " " (interval_in(&result.penalty_db, "dB")) "; "
                                (words::PEAK) " " (interval_in(&result.peak_dbfs, "dBFS"))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A table for each kind of group: boxes with line inputs only stand apart from those with microphone inputs.
pub(super) fn side_by_side(footings: &[DeviceFooting]) -> Markup {
    let rows = |kind: GroupKind| -> Vec<(&DeviceFooting, &GroupFooting)> {
        let all = footings.iter().flat_map(|device| device.compared().map(move |group| (device, group)));
        all.filter(|(_, group)| group.kind == kind).collect()
    };
    let kinds: Vec<GroupKind> = GroupKind::ALL.into_iter().filter(|kind| !rows(*kind).is_empty()).collect();
    html! {
        @for kind in &kinds {
            section {
                h2 { (words::groups(*kind)) }
                div.wide-table role="region" tabindex="0" aria-label=(words::groups(*kind)) {
                    table.footing {
                        thead { tr { th scope="col" { (words::DEVICE) } @for measure in kind.columns() { th.n scope="col" { (measure.column().replace('\n', " ")) } } } }
                        tbody {
                            @for (device, group) in rows(*kind) {
                                tr {
                                    th scope="row" { a href={ "/gear/" (device.id) } { (device.name_of(group)) } }
                                    @for measure in kind.columns() { td.n { (cell(*measure, group)) } }
                                }
                            }
                        }
                    }
                }
            }
        }
        p.small.quiet { (footing_words(&kinds)) }
    }
}

/// A figure under its column's unit, with its interval and origin.
fn cell(measure: Measure, group: &GroupFooting) -> Markup {
    let Some(footed) = group.get(measure) else { return html! { "–" } };
    let written = Written::in_own_unit(measure, &footed);
    html! {
        (written.value)
        @if let Some(interval) = written.interval { div.small.quiet { (interval) } }
        div.small.quiet { (footed.from.word()) }
    }
}

/// Every figure of each device, with what its sheet leaves open.
pub(super) fn every_figure(footings: &[DeviceFooting]) -> Markup {
    html! {
        section {
            h2 { (words::EVERY_FIGURE) }
            @for device in footings {
                details.stage {
                    summary { (device.name) }
                    @for group in &device.groups {
                        @if let Some(heading) = group_heading(group) { h3 { (heading) } }
                        dl.figures {
                            @for (measure, footed) in &group.figures { div { dt { (measure.words()) } dd { (figure(*measure, footed)) } } }
                        }
                        @if !group.doubts.is_empty() { p.small { strong { (words::TO_DOUBT) } } ul { @for doubt in &group.doubts { li { (words::capital(doubt)) "." } } } }
                    }
                }
            }
        }
    }
}
