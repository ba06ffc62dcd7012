//! The same facts in words, for those who can't see the picture.

use crate::ceilings;
use crate::figures;
use crate::sheet::printable;
use crate::track::Track;
use crate::words;
use gainsay_plan::words::{booster_words, number};
use gainsay_plan::{Answer, SourceAnswer, Verdict};

/// The facts of the level diagram in sentences: a line each.
#[must_use]
pub fn text_twin(answer: &Answer) -> String {
    let mut lines = vec![format!("{}.", answer.title.trim_end_matches(['.', '!', '?']))];
    if let Some(question) = &answer.question {
        lines.push(format!("Asked: {question}"));
    }
    lines.push(format!("All in all: {}. {}", answer.verdict.word(), answer.answer.join(" ")));
    for source in &answer.sources {
        lines.push(String::new());
        lines.extend(of_source(source));
    }
    plain(&lines.join("\n"))
}

/// Every line of a text without what XML does not allow.
pub(crate) fn plain(text: &str) -> String {
    text.split('\n').map(printable).collect::<Vec<String>>().join("\n")
}

/// One source in words.
#[must_use]
pub fn source_twin(source: &SourceAnswer) -> String {
    of_source(source).join("\n")
}

/// The facts of one lane.
pub(crate) fn of_source(source: &SourceAnswer) -> Vec<String> {
    let mut lines = vec![format!(
        "{}: {}; {}.",
        source.name,
        words::verdict(source),
        source.sentence.trim_end_matches('.')
    )];
    lines.push(format!("Chain: {}.", words::chain(source)));
    let Some(result) = &source.result else { return lines };
    if result.verdict != Verdict::Enough || result.reach != Verdict::Enough {
        lines.push(format!(
            "Noise {}, headroom {}, reach of the gain {}.",
            result.noise.word(),
            result.headroom.word(),
            result.reach.word()
        ));
    }
    lines.push(format!("Limit: {}.", result.limit_words));
    lines.push(format!(
        "In the file: loudest peak {}, quietest passage {}, noise {}.",
        figures::whole(&result.peak_dbfs, "dBFS"),
        figures::whole(&result.quiet_dbfs, "dBFS"),
        figures::whole(&result.noise_dbfs_a, "dBFS(A)")
    ));
    if result.turn_up_afterwards_db >= 0.5 {
        let by = figures::with_unit(&number(result.turn_up_afterwards_db, 0), "dB");
        lines.push(format!("To bring the peak to the target, turn it up {by} afterwards."));
    }
    if let Some(track) = Track::new(source) {
        let stages: Vec<String> = track
            .points
            .iter()
            .filter(|point| point.column != crate::columns::Column::Converter)
            .map(|point| {
                let unit = match point.column {
                    crate::columns::Column::Air => "dB SPL",
                    crate::columns::Column::File => "dBFS",
                    _ => "dBu",
                };
                let level = |dbu: f64| number(dbu - point.zero, 0);
                format!(
                    "{} {} peak, {} quietest, {} noise",
                    point.column.words(),
                    level(point.peak.median),
                    level(point.quiet.median),
                    figures::with_unit(&level(point.total()), unit)
                )
            })
            .collect();
        lines.push(format!("Stage by stage: {}.", stages.join("; ")));
        if let Some(row) = ceilings::row(&track) {
            lines.push(format!("Ceilings: {row}."));
        }
    }
    if result.clipping_probability >= 0.005 {
        lines.push(format!(
            "Probability that loud passages pass a ceiling: {}.",
            figures::percent(result.clipping_probability)
        ));
    }
    let shares: Vec<String> = result
        .noise_shares
        .iter()
        .map(|share| format!("{} {}", share.contributor.words(), figures::percent(share.mean)))
        .collect();
    lines.push(format!("The noise is made of: {}.", shares.join(", ")));
    if let Some(booster) = &result.with_booster {
        lines.push(format!("With a booster: {}.", booster_words(booster)));
    }
    lines
}
