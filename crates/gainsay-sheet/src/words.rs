//! Every sentence that a reader meets.

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

// Noise.

pub(crate) fn below_thermal(quantity: &Quantity, limit: Dbu) -> String {
    let source = quantity.conditions.source_impedance.map_or_else(
        || "a source of 150 Ω (none is stated)".to_owned(),
        |ohms| format!("{} Ω", short(ohms.ohms())),
    );
    format!(
        "an EIN of {quantity} can't be true: {source} alone makes {} dBu {} at 20 °C, and no amplifier takes noise away; it may be \
         A-weighted, measured with a short, or in dBV",
        short(limit.dbu()),
        weighted(quantity.weighting()),
    )
}

pub(crate) fn ein_no_source() -> String {
    "the EIN comes without its source impedance: between a short and 150 Ω lie several decibels; 150 Ω is taken".to_owned()
}

pub(crate) fn ein_no_weighting() -> String {
    "the EIN comes without its weighting: A-weighted it would read 2.1 dB lower than unweighted; unweighted is taken".to_owned()
}

pub(crate) fn ein_close_without_weighting(above: Decibels) -> String {
    format!(
        "the EIN comes without its weighting and lies only {} dB above the thermal noise of its source: it is probably A-weighted, \
         and then 2.1 dB worse than it looks",
        short(above.db()),
    )
}

pub(crate) fn ein_no_band() -> String {
    "the EIN comes without the band that was measured; 20 Hz to 20 kHz is taken, and a narrower band would flatter it".to_owned()
}

pub(crate) fn ein_shorted(value: Dbu) -> String {
    format!(
        "the EIN of {} dBu was measured with the input shorted, where the noise of a source is missing: with 150 Ω no amplifier comes \
         below −130.9 dBu",
        short(value.dbu()),
    )
}

pub(crate) fn weightings_apart(a: &Quantity, b: &Quantity, apart: f64) -> String {
    format!(
        "{a} and {b} do not go together: for white noise the two weightings explain all but {} dB of the difference",
        short(apart.abs()),
    )
}

pub(crate) fn noise_without_weighting() -> String {
    "the noise comes without a weighting; A is usual, and is taken".to_owned()
}

pub(crate) fn noise_not_a(weighting: Weighting) -> String {
    let offset = weighting.of_white_noise() - Weighting::A.of_white_noise();
    let typical = match weighting {
        Weighting::Itu468QuasiPeak => "; of condenser microphones it is typically 10 to 12 dB higher",
        _ => "",
    };
    format!(
        "the self-noise is read {}, not A-weighted: white noise reads {} dB {} that way{typical}; do not compare it with dBA",
        weighting.words(),
        short(offset.db().abs()),
        if offset.db() >= 0.0 { "higher" } else { "lower" },
    )
}

pub(crate) fn noises_apart(a: f64, b: f64, weighting: Weighting) -> String {
    format!(
        "a self-noise of {} dBA and one of {} dB read {} can't be of the same microphone: white noise reads {} dB apart",
        short(a),
        short(b),
        weighting.words(),
        short((weighting.of_white_noise() - Weighting::A.of_white_noise()).db()),
    )
}

pub(crate) fn noise_from_ratio(ratio: f64) -> String {
    format!("94 dB SPL less the signal-to-noise ratio of {} dB", short(ratio))
}

pub(crate) fn noise_and_ratio(noise: f64, implied: f64) -> String {
    format!(
        "the self-noise of {} dB and the signal-to-noise ratio, which implies {} dB, contradict each other",
        short(noise),
        short(implied),
    )
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

pub(crate) fn which_input() -> String {
    "which input this belongs to is not said; the microphone inputs are taken".to_owned()
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

/// Why a text is no sheet.
pub(crate) mod not_a_sheet {
    pub(crate) fn empty() -> (String, String) {
        ("the text is empty".to_owned(), "paste the specification text of a device".to_owned())
    }

    /// A line is too long to be one of a specification.
    pub(crate) fn long_line(line: usize, longest: usize) -> (String, String) {
        (
            format!("line {line} is longer than {} kB, which no line of a specification is", longest / 1024),
            "break it into lines, or paste the specification alone".to_owned(),
        )
    }

    pub(crate) fn too_large(most: usize) -> (String, String) {
        (
            format!("the text is too large for a specification sheet: it is larger than {} KiB", most / 1024),
            "paste the pages with the specifications only".to_owned(),
        )
    }

    pub(crate) fn document(what: &str) -> (String, String) {
        (
            format!("this is {what}, not text"),
            "open it, select the specifications, copy them, and paste them into a text file".to_owned(),
        )
    }

    pub(crate) fn zero_byte(line: usize) -> (String, String) {
        (
            format!("this is not text: line {line} holds a zero byte"),
            "save it as plain text in UTF-8".to_owned(),
        )
    }

    pub(crate) fn other_encoding(line: usize, column: usize) -> (String, String) {
        (
            format!("this is not UTF-8: line {line}, byte {column} is not valid"),
            "save it as plain text in UTF-8; it may be in an older encoding, such as Latin-1".to_owned(),
        )
    }

    pub(crate) fn wide_encoding() -> (String, String) {
        ("this is text in UTF-16".to_owned(), "save it as plain text in UTF-8".to_owned())
    }

    pub(crate) fn nothing(lines: usize) -> (String, String) {
        let lines = if lines == 1 { "1 line".to_owned() } else { format!("{lines} lines") };
        (
            format!("nothing in {lines} reads like the specification of a device"),
            "paste lines such as \"EIN: −128 dBu (A-weighted, 150 Ω)\"; say with --kind what the device is"
                .to_owned(),
        )
    }

    pub(crate) fn cable() -> (String, String) {
        (
            "cables are not read from sheets".to_owned(),
            "write the two lines of a cable file by hand; `gainsay kinds cables` shows samples".to_owned(),
        )
    }
}

/// A field's value as TOML.
pub(crate) fn value_in_file(value: &Value) -> String {
    match value {
        Value::Figure(quantity) => quantity.to_string(),
        other => other.to_string(),
    }
}
