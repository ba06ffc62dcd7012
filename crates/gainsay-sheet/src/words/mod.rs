//! Every sentence that a reader meets.

mod noise;
pub(crate) mod not_a_sheet;

pub(crate) use noise::*;

use crate::reading::{Candidate, Path, Value};
use gainsay_gear::DeviceType;
use gainsay_units::{Amperes, Bits, Dbu, Decibels, Quantity, Sensitivity, Unit, Weighting};

/// A number with at most one decimal and a real minus sign.
fn short(value: f64) -> String {
    let rounded = (value * 10.0).round() / 10.0;
    let text = if (rounded - rounded.round()).abs() < 1e-9 {
        format!("{rounded:.0}")
    } else {
        format!("{rounded:.1}")
    };
    let text = if text == "-0" { "0".to_owned() } else { text };
    text.replacen('-', "−", 1)
}

fn weighted(weighting: Option<Weighting>) -> &'static str {
    weighting.unwrap_or(Weighting::Flat).words()
}

// Dynamic range.

pub(crate) fn dynamic_range_no_weighting() -> String {
    "the dynamic range comes without its weighting: A-weighted it reads 2.1 dB higher than unweighted"
        .to_owned()
}

pub(crate) fn beyond_bits(value: Decibels, bits: Bits, most: Decibels) -> String {
    format!(
        "a dynamic range of {} dB is more than {} bits hold: {} dB with that weighting",
        short(value.db()),
        short(bits.bits()),
        short(most.db()),
    )
}

pub(crate) fn beyond_noise(value: Decibels, implied: Decibels) -> String {
    format!(
        "a dynamic range of {} dB is more than EIN and maximum input level leave between them, {} dB: the noise at the lowest gain is \
         not lower than the EIN",
        short(value.db()),
        short(implied.db()),
    )
}

// Levels.

pub(crate) fn dbm() -> String {
    "dBm is a power: it is the same number of dBu only into 600 Ω, and is taken as that".to_owned()
}

pub(crate) fn ein_in_dbv(quantity: &Quantity, dbu: Dbu) -> String {
    format!(
        "the EIN is in dBV: {quantity} is {} dBu, 2.2 dB less good than the number looks beside others in dBu",
        short(dbu.dbu()),
    )
}

pub(crate) fn levels_apart(a: &Quantity, b: &Quantity, apart: f64) -> String {
    let hint =
        if (apart - 2.2185).abs() < 0.4 { ": dBu and dBV were probably mistaken for each other" } else { "" };
    format!("{a} and {b} are stated as the same and lie {} dB apart{hint}", short(apart))
}

pub(crate) fn lost_sign() -> String {
    "the sign is missing or was taken for a dash; a minus is meant".to_owned()
}

pub(crate) fn pad_from_levels() -> String {
    "from the maximum input level with and without the pad".to_owned()
}

pub(crate) fn pad_and_levels(stated: f64, difference: f64) -> String {
    format!(
        "a pad of {} dB and maximum input levels that lie {} dB apart contradict each other",
        short(stated),
        short(difference),
    )
}

// Gain.

pub(crate) fn range_from(low: f64, high: f64) -> String {
    format!("from {} to {} dB", short(low), short(high))
}

pub(crate) fn gain_or_range() -> String {
    "the gain is one number: it may be the range or the highest gain; it is taken as the range".to_owned()
}

pub(crate) fn highest_gain_alone() -> String {
    "only the highest gain is stated: the range is taken from 0 dB".to_owned()
}

pub(crate) fn least_from_range() -> String {
    "highest gain less the gain range".to_owned()
}

pub(crate) fn gain_ends(stated: f64, implied: f64) -> String {
    format!(
        "a gain range of {} dB does not follow from the lowest and highest gain, which lie {} dB apart",
        short(stated),
        short(implied),
    )
}

pub(crate) fn range_and_levels(range: Decibels, implied: Decibels) -> String {
    format!(
        "a gain range of {} dB does not follow from the highest and lowest input level, which lie {} dB apart",
        short(range.db()),
        short(implied.db()),
    )
}

pub(crate) fn several_gains() -> String {
    "several gains are stated; the first is taken".to_owned()
}

// Distortion, response, sound level.

pub(crate) fn distortion_no_level() -> String {
    "the distortion comes without the level at which it was measured: it says nothing about how loud the signal may be".to_owned()
}

pub(crate) fn response_no_tolerance() -> String {
    "the frequency response comes without a tolerance: within how many decibels it holds is not said"
        .to_owned()
}

pub(crate) fn spl_no_limit() -> String {
    "the maximum sound level comes without its limit of distortion: 0.5 % and 1 % lie some 6 dB apart"
        .to_owned()
}

// Sensitivity.

pub(crate) fn old_sensitivity(quantity: &Quantity, sensitivity: Sensitivity) -> String {
    let per_pascal = 20.0 * gainsay_units::math::log10(sensitivity.volts_per_pascal());
    format!(
        "the sensitivity is re a microbar: {quantity} is {} dBV/Pa, {:.2} mV/Pa",
        short(per_pascal),
        1e3 * sensitivity.volts_per_pascal(),
    )
}

pub(crate) fn sensitivities_apart(a: f64, b: f64, microbar: bool) -> String {
    let hint = if microbar { ": one of them is re 1 V/µbar" } else { "" };
    format!(
        "the two statements of the sensitivity, {} dBV/Pa and {} dBV/Pa, do not agree{hint}",
        short(a),
        short(b),
    )
}

pub(crate) fn which_reference(quantity: &Quantity, other: &Quantity) -> String {
    format!(
        "the sensitivity comes without what its decibels refer to: {quantity} is taken; it may be {other}"
    )
}

pub(crate) fn at_one_pascal() -> String {
    "a voltage at 1 Pa".to_owned()
}

pub(crate) fn pressure_not_said() -> String {
    "the sensitivity is a voltage without the sound pressure that gives it; 1 Pa is taken".to_owned()
}

// Phantom power.

pub(crate) fn phantom_supplied(current: Amperes) -> String {
    format!(
        "{} mA of phantom current for one input is more than the 10 mA of P48; it may be the total, or that of a short circuit",
        short(current.amperes() * 1e3),
    )
}

pub(crate) fn phantom_drawn(current: Amperes) -> String {
    format!(
        "{} mA is more than the 10 mA that P48 provides: few inputs can feed it",
        short(current.amperes() * 1e3)
    )
}

// What can be read in more than one way.

pub(crate) fn thousands(quantity: &Quantity, other: &Quantity) -> String {
    format!("the point or comma may separate decimals or thousands: {quantity} is taken; it may be {other}")
}

pub(crate) fn dash_or_sign(quantity: &Quantity, other: &Quantity) -> String {
    format!("the dash may be a sign or stand between label and value: {quantity} is taken; it may be {other}")
}

pub(crate) fn which_input(taken: &str) -> String {
    format!("which input this belongs to is not said; the {taken} inputs are taken")
}

pub(crate) fn impedance_supposed() -> String {
    "whose impedance this is is not said; it is taken as the microphone's own".to_owned()
}

pub(crate) fn highest_supposed() -> String {
    "the level is not said to be the highest; it is taken as that".to_owned()
}

pub(crate) fn input_or_output() -> String {
    "whether this is of inputs or outputs is not said; inputs are taken".to_owned()
}

pub(crate) fn several_impedances() -> String {
    "several impedances are stated; the first is taken".to_owned()
}

pub(crate) fn several_patterns(readings: &[Candidate]) -> String {
    let all: Vec<String> = readings.iter().map(|r| r.value.to_string()).collect();
    format!(
        "the pattern can be switched ({}); the one that takes up most of the room is taken",
        all.join(", ")
    )
}

pub(crate) fn count_from_context(count: u32, line: &str) -> String {
    format!(
        "the number {count} does not stand beside a word for what it counts; it is taken from \"{line}\": look there"
    )
}

pub(crate) fn kind_from_context(count: u32, line: &str) -> String {
    format!(
        "of which kind these {count} inputs are is not said in \"{line}\"; it is taken from the rest: look there"
    )
}

pub(crate) fn switch_from_context(line: &str) -> String {
    format!(
        "whether phantom power is switched for each input or for all together is not said plainly; it is taken from \"{line}\": look \
         there"
    )
}

pub(crate) fn format_from_context(format: &str, line: &str) -> String {
    format!(
        "the label names another digital format than the words behind it; {format} is taken from \"{line}\": look there"
    )
}

pub(crate) fn strange_label(strange: &[&str]) -> String {
    let all: Vec<String> = strange.iter().map(|word| format!("\"{word}\"")).collect();
    format!(
        "its label or value has words that are not understood, {}: what is read may be of something else; look there",
        all.join(", ")
    )
}

pub(crate) fn title_count_from_context(count: u32, title: &str) -> String {
    format!("no line counts the inputs; {count} is taken from one word of the title \"{title}\": look there")
}

pub(crate) fn which_format() -> String {
    "whether the optical connection carries two channels or eight is not said".to_owned()
}

pub(crate) fn contradiction(path: &Path, readings: &[Candidate]) -> String {
    let all: Vec<String> = readings.iter().map(|r| format!("{} (line {})", r.value, r.line)).collect();
    format!(
        "the sheet states {path} more than once: {}; the one that promises less is taken",
        all.join(" and ")
    )
}

pub(crate) fn out_of_range(message: &str) -> String {
    format!("{message}; it stands in the file as a comment only")
}

pub(crate) fn sum_of_parts(sum: u32) -> String {
    format!("{sum} in all, of the parts that are named")
}

pub(crate) fn rates_between() -> String {
    "the usual rates in the span that is stated".to_owned()
}

pub(crate) fn samples_from(value: f64, unit: Unit, rate: f64) -> String {
    format!("{value} {} at {} kHz", unit.symbol(), short(rate / 1e3))
}

// Questions.

pub(crate) fn which_value(path: &Path) -> String {
    format!("Which value of {path} is meant?")
}

pub(crate) fn choice(candidate: &Candidate) -> String {
    format!("{}, from line {}: {}", candidate.value, candidate.line, candidate.words)
}

pub(crate) fn which_kind() -> String {
    "What kind of device is it?".to_owned()
}

pub(crate) fn kind_supposed(taken: DeviceType, other: DeviceType) -> String {
    format!(
        "the text reads like {} or like {}; it is taken as {}",
        taken.with_article(),
        other.with_article(),
        taken.with_article(),
    )
}

pub(crate) fn which_column() -> String {
    "Which column of the table is the device?".to_owned()
}

pub(crate) fn column_supposed(title: &str) -> String {
    format!("the table has a column for each variant; \"{title}\" is taken")
}

// Corrections.

pub(crate) fn corrected(read: &Value) -> String {
    format!("corrected by hand; it was read as {read}")
}

pub(crate) fn not_read(path: &Path) -> (String, String) {
    (format!("no {path} was read"), "add it to the file by hand".to_owned())
}

pub(crate) fn yes_or_no(text: &str) -> (String, String) {
    (format!("\"{text}\" is neither yes nor no"), "write yes or no".to_owned())
}

pub(crate) fn no_count(text: &str) -> (String, String) {
    (format!("\"{text}\" is no whole number"), "write how many there are, such as 8".to_owned())
}

pub(crate) fn no_rates(text: &str) -> (String, String) {
    (
        format!("\"{text}\" is no list of sample rates"),
        "write them in hertz with commas between, such as 44100, 48000".to_owned(),
    )
}

/// A plain name for a device whose sheet has no title.
pub(crate) fn plain_name(kind: DeviceType) -> &'static str {
    match kind {
        DeviceType::Microphone => "Microphone, from its sheet",
        DeviceType::Booster => "Booster, from its sheet",
        DeviceType::Preamp => "Preamp, from its sheet",
        DeviceType::Interface => "Interface, from its sheet",
        DeviceType::Converter => "Converter, from its sheet",
        DeviceType::Cable => "Cable, from its sheet",
    }
}

/// What stands above the file.
pub(crate) fn head(kind: DeviceType) -> String {
    format!(
        "# Read from the text of a specification sheet, taken as {}. Compare each figure with the words behind it.\n",
        kind.with_article()
    )
}

/// A field's value as TOML.
pub(crate) fn value_in_file(value: &Value) -> String {
    match value {
        Value::Figure(quantity) => quantity.to_string(),
        other => other.to_string(),
    }
}
