//! `gainsay explain`.

use crate::arguments::Explain;
use crate::exit::{Exit, Failure};
use crate::output::{self, QUIET, STRONG, styled};
use gainsay_plan::words::{self, capital, interval_in, number, percent};
use gainsay_plan::{Case, LevelAnswer, Options, SourceAnswer, UnfoldedStage, unfold};
use gainsay_units::Problem;
use serde::Serialize;

/// What `--json` prints.
#[derive(Serialize)]
struct Explained<'a> {
    source: &'a SourceAnswer,
    stages: &'a [UnfoldedStage],
}

pub(crate) fn run(arguments: &Explain) -> Result<Exit, Failure> {
    let case = super::load(arguments.case.as_ref())?;
    let index = find(&case, arguments.source.as_deref())?;
    let answer =
        super::check::answer(&case, Options { draws: arguments.draws.draws(), stage_intervals: false })?;
    let Some(source) = answer.sources.get(index) else {
        return Err(Failure::Input("the source is gone".to_owned(), "report it".to_owned()));
    };
    let (Some(result), Some((chain, _))) = (&source.result, gainsay_plan::chain_of(&case, index)?) else {
        return Err(Failure::Input(
            format!("{} has no input: {}", source.name, source.sentence),
            "add an input to `owned`, or take a source out".to_owned(),
        ));
    };
    let stages = unfold(&chain, result.setting);
    if arguments.json {
        output::print(&super::check::json(&Explained { source, stages: &stages })?)?;
    } else {
        output::print(&text(&case, source, result, &stages))?;
    }
    Ok(Exit::Answered)
}

/// Index of the source of that name, or of the only one.
fn find(case: &Case, name: Option<&str>) -> Result<usize, Failure> {
    let names = || case.sources.iter().map(|s| s.name.as_str());
    match name {
        Some(name) => names().position(|n| n.eq_ignore_ascii_case(name.trim())).ok_or_else(|| {
            Failure::Input(format!("the case has no source \"{name}\""), Problem::nearest(name, names()))
        }),
        None if case.sources.len() == 1 => Ok(0),
        None => Err(Failure::Input(
            "the case has more than one source".to_owned(),
            format!(
                "add --source with one of {}",
                names().map(|n| format!("\"{n}\"")).collect::<Vec<_>>().join(", ")
            ),
        )),
    }
}

fn text(case: &Case, source: &SourceAnswer, result: &LevelAnswer, stages: &[UnfoldedStage]) -> String {
    let mut way = vec![source.kind.clone()];
    way.extend(source.microphone.clone());
    way.extend(source.booster.clone());
    way.extend(source.input.clone());
    way.extend(source.route.clone());
    let mut blocks = vec![format!(
        "{}: {}\n{}",
        styled(STRONG, &source.name),
        result.verdict.word(),
        styled(QUIET, &output::paragraph(&way.join(" → "), ""))
    )];
    blocks.push(styled(QUIET, &output::paragraph(
        "Best estimates, stage by stage. Noise is A-weighted, 20 Hz to 20 kHz; peaks are the level of the sine with the same peak.",
        "",
    )));
    for stage in stages {
        let mut lines = vec![styled(STRONG, &capital(&stage.stage))];
        for step in &stage.steps {
            lines.push(output::hanging(&format!("{}: {}", step.what, step.result), "  ", "      "));
            lines.push(styled(QUIET, &output::hanging(&format!("= {}", step.formula), "    ", "      ")));
            for input in &step.inputs {
                let note = input.note.as_ref().map(|note| format!("; {note}")).unwrap_or_default();
                let line = format!("← {}: {} ({}{note})", input.figure, input.value, input.from.word());
                lines.push(styled(QUIET, &output::hanging(&line, "      ", "        ")));
            }
        }
        blocks.push(lines.join("\n"));
    }
    blocks.push(judgement(case, result));
    blocks.join("\n\n")
}

/// How the verdicts follow from the draws.
fn judgement(case: &Case, result: &LevelAnswer) -> String {
    let t = &case.thresholds;
    let mut lines = vec![styled(STRONG, "Verdicts, over all draws (95 % intervals in brackets)")];
    let mut line = |text: String| lines.push(output::hanging(&text, "  ", "      "));
    line(format!("peak in the file: {}", interval_in(&result.peak_dbfs, "dBFS")));
    line(format!("noise in the file: {}", interval_in(&result.noise_dbfs_a, "dBFS A-weighted")));
    if let Some(equivalent) = &result.noise_equivalent_dba {
        line(format!("the same noise as sound at the microphone: {}", interval_in(equivalent, "dBA")));
    }
    let shares: Vec<String> = result
        .noise_shares
        .iter()
        .map(|s| format!("{} {}", s.contributor.words(), percent(s.mean)))
        .collect();
    line(format!("what the noise is made of: {}", shares.join(", ")));
    line(format!(
        "noise: {}. A perfect preamp would gain {} (enough up to {} dB, short above {} dB if audible); replayed at {}, the noise \
         raises the listener's own floor by {} in the worst band and is heard with a probability of {} (heard from {} dB)",
        result.noise.word(),
        interval_in(&result.penalty_db, "dB"),
        number(t.penalty_enough.db(), 1),
        number(t.penalty_short.db(), 1),
        case.session.replay_level.written,
        interval_in(&result.replay_rise_db, "dB"),
        percent(result.audible_probability),
        number(t.audible_rise.db(), 1),
    ));
    let ceilings: Vec<String> = result
        .ceilings
        .iter()
        .map(|c| {
            format!(
                "{} {} ({} dB below it)",
                c.ceiling.words(),
                percent(c.probability),
                number(c.margin_db, 0)
            )
        })
        .collect();
    line(format!(
        "headroom: {}. Probability of passing a ceiling {} (enough below {}, short from {}): {}",
        result.headroom.word(),
        percent(result.clipping_probability),
        percent(t.clipping_enough.fraction()),
        percent(t.clipping_short.fraction()),
        ceilings.join(", "),
    ));
    line(format!(
        "reach: {}. {}",
        result.reach.word(),
        match result.full_scale_sensitivity_dbu {
            Some(level) => format!(
                "At the most gain {} dBu reaches full scale; tight where the peak stays more than {} dB under the target",
                number(level, 0),
                number(t.reach.db(), 0)
            ),
            None => "a line input has no gain".to_owned(),
        }
    ));
    if let Some(booster) = &result.with_booster {
        line(format!("with a booster: {}", words::booster_words(booster)));
    }
    lines.join("\n")
}
