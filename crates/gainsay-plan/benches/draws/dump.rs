//! Chains, what they are judged by, and what the engine made of them, for the numpy program.

use gainsay_plan::chain::{
    Chain, Ein, Ending, LineStage, NoiseFigures, Origination, OutputStage, ParameterId, Range,
};
use gainsay_plan::network::PHANTOM_FEEDS;
use gainsay_plan::stages::{PAD_RESISTANCE, SINE_CREST};
use gainsay_plan::{Answer, BoosterAnswer, Case, Estimate, LevelAnswer, case, chain_of};
use gainsay_units::bands::bands;
use gainsay_units::hearing::threshold_powers;
use gainsay_units::noise::{AUDIO_BANDWIDTH, BOLTZMANN};
use gainsay_units::room::band_powers_of_a_weighted;
use gainsay_units::weighting::weighted_widths;
use gainsay_units::{DBU_REFERENCE_VOLTS, Kelvin, SPL_REFERENCE_PASCALS, Spread, Weighting};
use serde_json::{Value, json};
use std::sync::Arc;

/// Everything that the numpy program reads; `draws` is how many it shall make.
pub(crate) fn all(case: &Case, answer: &Answer, draws: usize) -> Value {
    let mut chains = Vec::new();
    for (index, source) in answer.sources.iter().enumerate() {
        let Some(result) = &source.result else { continue };
        let (plain, input) = chain_of(case, index).expect("every figure is there").expect("it has an input");
        chains.push(chain(&plain, &expected(result)));
        if let Some(boosted) = &result.with_booster {
            let mut source = case.sources.get(index).cloned().expect("it is one of the case's");
            source.booster = case.usual_booster.as_ref().map(Arc::clone);
            let with = Chain::new(case, &source, &input).expect("every figure is there");
            chains.push(chain(&with, &expected_boosted(boosted)));
        }
    }
    let listening_room = band_powers_of_a_weighted(case.session.listening_room.value);
    json!({
        "draws": draws,
        "centre_hz": bands().map(|b| b.centre_hz).to_vec(),
        "node_hz": bands().map(|b| b.nodes.map(|n| n.hz).to_vec()).to_vec(),
        "node_width_hz": bands().map(|b| b.nodes.map(|n| n.width_hz).to_vec()).to_vec(),
        "width_hz": bands().map(|b| b.width_hz()).to_vec(),
        "width_hz_a": weighted_widths(Weighting::A).0.to_vec(),
        "a_gain": Weighting::A.band_gains().0.to_vec(),
        "listener_floor": listening_room.plus(&threshold_powers()).0.to_vec(),
        "peak_target": case.session.peak_target.value.dbfs(),
        "replay_level": case.session.replay_level.value.db_spl(),
        "thresholds": {
            "penalty_enough": case.thresholds.penalty_enough.db(),
            "penalty_short": case.thresholds.penalty_short.db(),
            "audible_rise": case.thresholds.audible_rise.db(),
            "clipping_enough": case.thresholds.clipping_enough.fraction(),
            "clipping_short": case.thresholds.clipping_short.fraction(),
        },
        "constants": {
            "boltzmann": BOLTZMANN,
            "room_temperature": Kelvin::ROOM.kelvin(),
            "phantom_feeds": PHANTOM_FEEDS.ohms(),
            "pad_resistance": PAD_RESISTANCE.ohms(),
            "usual_source": gainsay_gear::USUAL_SOURCE.ohms(),
            "sine_crest": SINE_CREST.db(),
            "audio_bandwidth": AUDIO_BANDWIDTH.hertz(),
            "dbu_volts": DBU_REFERENCE_VOLTS,
            "spl_pascals": SPL_REFERENCE_PASCALS,
        },
        "chains": chains,
    })
}

fn chain(chain: &Chain, expected: &Value) -> Value {
    let parameters: Vec<Value> = chain
        .parameters()
        .iter()
        .map(|p| {
            let spread = match p.spread {
                Spread::Exact => json!({"kind": "exact"}),
                Spread::Rectangular { below, above } => {
                    json!({"kind": "rectangular", "below": below, "above": above})
                }
                Spread::Normal { standard_deviation } => {
                    json!({"kind": "normal", "standard_deviation": standard_deviation})
                }
            };
            json!({"key": p.key, "value": p.value, "spread": spread, "positive": p.positive})
        })
        .collect();
    let key = |id: ParameterId| chain.parameter(id).map(|p| p.key.clone());
    let range = |r: &Range| json!({"range": key(r.range), "bandwidth": r.bandwidth.hertz()});
    let ein = |e: &Ein| json!({"level": key(e.level), "source": match e.source { gainsay_plan::chain::EinSource::Known(source) => source.ohms(), gainsay_plan::chain::EinSource::Unknown(_) => f64::NAN }, "bandwidth": e.bandwidth.hertz()});
    let noise = |figures: &NoiseFigures| match figures {
        NoiseFigures::OneEin { ein: one, current } => {
            json!({"kind": "one_ein", "ein": ein(one), "current": key(*current)})
        }
        NoiseFigures::TwoEins { first, second } => {
            json!({"kind": "two_eins", "first": ein(first), "second": ein(second)})
        }
        NoiseFigures::Densities { voltage, current } => {
            json!({"kind": "densities", "voltage": key(*voltage), "current": key(*current)})
        }
    };
    let line = |line: &LineStage| {
        json!({
            "full_scale": key(line.full_scale),
            "dynamic_range": range(&line.dynamic_range),
            "input_resistance": key(line.input_resistance),
        })
    };
    let origin = match &chain.origin {
        Origination::Microphone(end) => json!({
            "kind": "microphone",
            "distance": key(end.distance),
            "levels_at": match end.levels_at {
                case::LevelsAt::Microphone => None,
                case::LevelsAt::Distance(at) => Some(at.metres()),
            },
            "size": end.size.metres(),
            "room": key(end.room),
            "sensitivity": key(end.sensitivity),
            "self_noise": end.self_noise.as_ref().map(range),
            "maximum_spl": key(end.maximum_spl),
            "pad": end.pad.map(|pad| pad.db()),
            "directivity": key(end.directivity),
        }),
        Origination::Output { noise } => json!({"kind": "output", "noise": key(*noise)}),
    };
    let ending = match &chain.ending {
        Ending::Line(stage) => json!({"kind": "line", "line": line(stage)}),
        Ending::Preamp(preamp) => json!({
            "kind": "preamp",
            "least_gain": preamp.least_gain.db(),
            "gain_range": key(preamp.gain_range),
            "gain_step": preamp.gain_step.map(|step| step.db()),
            "gain_error": key(preamp.gain_error),
            "maximum_input": key(preamp.maximum_input),
            "noise": noise(&preamp.noise),
            "pad": preamp.pad.map(|pad| pad.db()),
            "output": match &preamp.output {
                OutputStage::Converter { dynamic_range } => {
                    json!({"kind": "converter", "dynamic_range": range(dynamic_range)})
                }
                OutputStage::Line { maximum_output, dynamic_range, output_resistance, converter } => json!({
                    "kind": "line",
                    "maximum_output": key(*maximum_output),
                    "dynamic_range": range(dynamic_range),
                    "output_resistance": key(*output_resistance),
                    "converter": line(converter),
                }),
            },
        }),
    };
    json!({
        "source": chain.source,
        "parameters": parameters,
        "loud": key(chain.loud),
        "quiet": key(chain.quiet),
        "crest": key(chain.crest),
        "origin": origin,
        "source_resistance": key(chain.source_resistance),
        "source_inductance": chain.source_inductance.and_then(key),
        "cable_length": key(chain.cable_length),
        "cable_capacitance": key(chain.cable_capacitance),
        "booster": chain.booster.as_ref().map(|booster| json!({
            "gain": key(booster.gain),
            "noise": noise(&booster.noise),
            "input_resistance": key(booster.input_resistance),
            "output_resistance": key(booster.output_resistance),
            "maximum_output": key(booster.maximum_output),
        })),
        "input_resistance": key(chain.input_resistance),
        "phantom": chain.phantom,
        "ending": ending,
        "spectrum": chain.spectrum.0.to_vec(),
        "room_shape": chain.room_shape.0.to_vec(),
        "temperature": chain.temperature.kelvin(),
        "bit_depth": chain.bit_depth,
        "sample_rate": chain.sample_rate.hertz(),
        "expected": expected,
    })
}

fn estimate(e: &Estimate) -> Value {
    json!([e.low, e.median, e.high])
}

/// What the engine found. Numbers by name; intervals as low, median, high.
fn expected(result: &LevelAnswer) -> Value {
    let shares: serde_json::Map<String, Value> = result
        .noise_shares
        .iter()
        .map(|share| (share.contributor.key().to_owned(), json!(share.mean)))
        .collect();
    json!({
        "gain": result.gain_db,
        "peak": estimate(&result.peak_dbfs),
        "quiet": estimate(&result.quiet_dbfs),
        "noise": estimate(&result.noise_dbfs_a),
        "noise_equivalent": result.noise_equivalent_dba.as_ref().map(estimate),
        "quiet_above_noise": estimate(&result.quiet_above_noise_db),
        "penalty": estimate(&result.penalty_db),
        "rise": estimate(&result.replay_rise_db),
        "audible_probability": result.audible_probability,
        "clipping_probability": result.clipping_probability,
        "verdict_probabilities": result.verdict_probabilities,
        "verdict": result.verdict.word(),
        "shares": shares,
    })
}

fn expected_boosted(result: &BoosterAnswer) -> Value {
    json!({"gain": result.gain_db, "peak": estimate(&result.peak_dbfs), "penalty": estimate(&result.penalty_db)})
}
