//! The built-in catalogue: whole, consistent with itself, and in keeping with published levels.

// Tells the lints that the functions below that are no tests themselves serve tests only.
#![cfg(test)]

use gainsay_gear::microphone::{Pattern, Transducer};
use gainsay_gear::source::SourceKind;
use gainsay_gear::{Catalogue, Device, DeviceType, Model};
use gainsay_units::bands::{N_BANDS, NOMINAL_HZ};
use gainsay_units::math::{exp10, log10};
use gainsay_units::{DbSpl, Kelvin, Measurable, Ohms, Stated, Weighting, noise};
use std::collections::BTreeMap;

const TYPES: [DeviceType; 6] = [
    DeviceType::Microphone,
    DeviceType::Booster,
    DeviceType::Preamp,
    DeviceType::Interface,
    DeviceType::Converter,
    DeviceType::Cable,
];

/// The value of a figure in its base unit.
#[track_caller]
fn base<T: Measurable>(stated: Option<&Stated<T>>) -> f64 {
    stated.unwrap().figure().unwrap().value.to_base()
}

/// Half the width of a figure's 95 % interval in its base unit.
#[track_caller]
fn half_width<T: Measurable>(stated: Option<&Stated<T>>) -> f64 {
    let (below, above) = stated.unwrap().figure().unwrap().spread.half_widths_95();
    below.max(above)
}

#[track_caller]
fn source(name: &str) -> &'static SourceKind {
    Catalogue::embedded().source(name).unwrap_or_else(|| panic!("there is no source {name}"))
}

#[track_caller]
fn device(id: &str) -> Device {
    Catalogue::embedded().device(id).unwrap_or_else(|| panic!("there is no device {id}"))
}

fn all_devices() -> Vec<Device> {
    TYPES.iter().flat_map(|device_type| Catalogue::embedded().devices(*device_type)).collect()
}

/// A-weighted level of a spectrum re its unweighted one.
#[track_caller]
fn a_minus_flat(spectrum: &str) -> f64 {
    let spectrum =
        Catalogue::embedded().spectrum(spectrum).unwrap_or_else(|| panic!("no spectrum {spectrum}"));
    let shares = spectrum.shares();
    10.0 * log10(shares.weighted(Weighting::A.band_gains()) / shares.total())
}

/// Difference of the level at `metres` from that at the reference distance: inverse distance, not closer than the size.
fn carried(kind: &SourceKind, metres: f64) -> f64 {
    let reference = base(kind.levels.distance.as_ref());
    20.0 * log10(reference / metres.max(base(kind.levels.size.as_ref())))
}

/// Unweighted level of the loudest passage at a distance, and half its 95 % interval.
fn loud_at(kind: &SourceKind, metres: f64) -> (f64, f64) {
    let loud = kind.levels.loud.as_ref();
    let to_flat = match weighting(loud) {
        Some(Weighting::A) => -a_minus_flat(&kind.spectrum),
        _ => 0.0,
    };
    (base(loud) + to_flat + carried(kind, metres), half_width(loud))
}

/// Level of the peaks of loud passages at a distance, and half its 95 % interval.
fn peak_at(kind: &SourceKind, metres: f64) -> (f64, f64) {
    let (loud, spread) = loud_at(kind, metres);
    let crest = kind.levels.crest.as_ref();
    let crest_spread = half_width(crest);
    (loud + base(crest), (spread * spread + crest_spread * crest_spread).sqrt())
}

fn weighting(stated: Option<&Stated<DbSpl>>) -> Option<Weighting> {
    stated.and_then(Stated::figure).and_then(|figure| figure.conditions.weighting)
}

fn twice<'a>(names: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    let mut seen: BTreeMap<String, u32> = BTreeMap::new();
    names.into_iter().for_each(|name| *seen.entry(name.to_lowercase()).or_default() += 1);
    seen.into_iter().filter(|(_, n)| *n > 1).map(|(name, _)| name).collect()
}

#[test]
fn every_file_can_be_read() {
    let problems = Catalogue::embedded().problems();
    let list: Vec<String> = problems
        .iter()
        .map(|(file, problem)| format!("{file}, {:?}: {}; {}", problem.span, problem.message, problem.mend))
        .collect();
    assert!(list.is_empty(), "{} problems:\n{}", list.len(), list.join("\n"));
}

#[test]
fn there_are_enough_kinds() {
    let catalogue = Catalogue::embedded();
    for (device_type, least) in TYPES.into_iter().zip([12, 4, 7, 8, 5, 3]) {
        let n = catalogue.devices(device_type).len();
        assert!(n >= least, "{n} kinds of type {}, want at least {least}", device_type.word());
    }
    let (n_sources, n_spectra) = (catalogue.sources().len(), catalogue.spectra().len());
    assert!(n_sources >= 30, "{n_sources} kinds of sources, want at least 30");
    assert!(n_spectra >= 15, "{n_spectra} spectra, want at least 15");
}

#[test]
fn a_name_leads_to_one_kind() {
    let catalogue = Catalogue::embedded();
    for (what, doubled) in [
        ("sources", twice(catalogue.source_names())),
        ("devices", twice(catalogue.device_names())),
        ("spectra", twice(catalogue.spectra().iter().map(|spectrum| spectrum.name.as_str()))),
    ] {
        assert!(doubled.is_empty(), "names of {what} that stand for several: {doubled:?}");
    }
    for device in all_devices() {
        let found = catalogue.device(&device.name).map(|found| found.id);
        assert_eq!(found.as_deref(), Some(device.id.as_str()), "by its name {}", device.name);
    }
    for (other, name) in [
        ("Violin", "fiddle"),
        ("double bass", "upright bass plucked"),
        ("kick drum", "bass drum"),
        ("vocal", "sung voice"),
        ("speech whisper", "whisper"),
        ("french horn", "horn"),
    ] {
        assert_eq!(source(other).name, name, "found by the name {other}");
    }
}

#[test]
fn every_kind_says_where_its_figures_come_from() {
    let says = |text: &str| {
        ["ommon practice, no source", "No published value", "ISO ", "ANSI ", "HSG260", "Sivian", "Computed"]
            .iter()
            .any(|words| text.contains(words))
    };
    for kind in Catalogue::embedded().sources() {
        assert!(says(&kind.source), "{}: {:?}", kind.name, kind.source);
    }
    for spectrum in Catalogue::embedded().spectra() {
        assert!(says(&spectrum.source), "{}: {:?}", spectrum.name, spectrum.source);
    }
    for device in all_devices() {
        let note = device.note.unwrap_or_default();
        assert!(says(&note), "{}: {note:?}", device.id);
    }
}

#[test]
fn every_spectrum_has_one_shape_and_a_use() {
    for spectrum in Catalogue::embedded().spectra() {
        let name = &spectrum.name;
        assert!(spectrum.octaves_db.is_some() != spectrum.thirds_db.is_some(), "{name} has no shape, or two");
        if let Some(thirds) = &spectrum.thirds_db {
            assert_eq!(thirds.len(), N_BANDS, "third-octaves of {name}");
        }
        let total = spectrum.shares().total();
        assert!((total - 1.0).abs() < 1e-12, "shares of {name} add up to {total}");
        if matches!(name.as_str(), "white" | "pink") {
            continue;
        }
        // The octaves end at 11 kHz; what is extrapolated above matters little to the level.
        let above: f64 = spectrum.shares().0[28..].iter().sum();
        assert!(above < 0.3, "{name}: {:.0} % of the power lies above 11 kHz", 100.0 * above);
        assert!(
            Catalogue::embedded().sources().iter().any(|kind| kind.spectrum == *name),
            "no source has the spectrum {name}"
        );
    }
}

/// A-weighted level of white and pink noise, 20 Hz to 20 kHz, re unweighted: IEC 61672-1:2013, annex E, integrated
/// numerically outside this project.
#[test]
fn white_and_pink_noise_read_as_they_must() {
    for (name, want) in [("white", -2.05), ("pink", -2.86)] {
        let got = a_minus_flat(name);
        assert!((got - want).abs() < 0.01, "{name} noise reads {got:.3} dB A-weighted, want {want}");
    }
}

/// ANSI S3.5-1997, third-octave table: frequency in hertz, bandwidth in dB, spectrum levels in dB of normal, raised, loud and
/// shouted speech.
const ANSI_S3_5: [(f64, f64, [f64; 4]); 18] = [
    (160.0, 15.65, [32.41, 33.81, 35.29, 30.77]),
    (200.0, 16.65, [34.48, 33.92, 37.76, 36.65]),
    (250.0, 17.65, [34.75, 38.98, 41.55, 42.50]),
    (315.0, 18.65, [33.98, 38.57, 43.78, 46.51]),
    (400.0, 19.65, [34.59, 39.11, 43.30, 47.40]),
    (500.0, 20.65, [34.27, 40.15, 44.85, 49.24]),
    (630.0, 21.65, [32.06, 38.78, 45.55, 51.21]),
    (800.0, 22.65, [28.30, 36.37, 44.05, 51.44]),
    (1000.0, 23.65, [25.01, 33.86, 42.16, 51.31]),
    (1250.0, 24.65, [23.00, 31.89, 40.53, 49.63]),
    (1600.0, 25.65, [20.15, 28.58, 37.70, 47.65]),
    (2000.0, 26.65, [17.32, 25.32, 34.39, 44.32]),
    (2500.0, 27.65, [13.18, 22.35, 30.98, 40.80]),
    (3150.0, 28.65, [11.55, 20.15, 28.21, 38.13]),
    (4000.0, 29.65, [9.33, 16.78, 25.41, 34.41]),
    (5000.0, 30.65, [5.31, 11.47, 18.35, 28.24]),
    (6300.0, 31.65, [2.59, 7.67, 13.87, 23.45]),
    (8000.0, 32.65, [1.13, 5.07, 11.39, 20.72]),
];

/// IEC 61672-1:2013, table 3: A-weighting in dB at 160 Hz to 8 kHz.
const IEC_61672_A: [f64; 18] =
    [-13.4, -10.9, -8.6, -6.6, -4.8, -3.2, -1.9, -0.8, 0.0, 0.6, 1.0, 1.2, 1.3, 1.2, 1.0, 0.5, -0.1, -1.1];

/// Spectra and kinds of the four efforts, with the overall levels in dBA that follow from the table.
const EFFORTS: [(&str, f64); 4] =
    [("speech normal", 59.24), ("speech raised", 66.37), ("speech loud", 73.86), ("shout", 82.22)];

#[test]
fn speech_has_the_spectrum_of_ansi_s3_5() {
    let sum = |levels: &[f64]| 10.0 * log10(levels.iter().map(|level| exp10(level / 10.0)).sum());
    for (effort, (name, published)) in EFFORTS.into_iter().enumerate() {
        let flat: Vec<f64> = ANSI_S3_5.iter().map(|(_, width, levels)| levels[effort] + width).collect();
        let weighted: Vec<f64> = flat.iter().zip(IEC_61672_A).map(|(level, a)| level + a).collect();
        let (flat_sum, a_sum) = (sum(&flat), sum(&weighted));
        assert!((a_sum - published).abs() < 0.05, "{name}: the table gives {a_sum:.2} dBA, want {published}");
        let (got, want) = (a_minus_flat(name), a_sum - flat_sum);
        assert!((got - want).abs() < 0.3, "{name}: A less flat is {got:.2} dB, want {want:.2} dB");

        // Band for band the same shape, and what is extrapolated beyond the table adds little.
        let shares = Catalogue::embedded().spectrum(name).unwrap().shares().0;
        let first = NOMINAL_HZ.iter().position(|hz| (hz - 160.0).abs() < 1e-9).unwrap();
        let inside: f64 = shares[first..first + 18].iter().sum();
        let extrapolated = -10.0 * log10(inside);
        assert!(extrapolated < 0.2, "{name}: bands beyond the table add {extrapolated:.2} dB");
        for ((share, level), (hz, ..)) in shares[first..].iter().zip(&flat).zip(ANSI_S3_5) {
            let (got, want) = (10.0 * log10(share / inside), level - flat_sum);
            assert!(
                (got - want).abs() < 0.01,
                "{name} at {hz} Hz: {got:.3} dB re the whole, want {want:.3} dB"
            );
        }
    }
}

/// ISO 9921:2003, annex A: mean levels of vocal effort at 1 m in dBA.
#[test]
fn speech_levels_hold_those_of_iso_9921() {
    for (name, mean) in [
        ("speech relaxed", 54.0),
        ("speech normal", 60.0),
        ("speech raised", 66.0),
        ("speech loud", 72.0),
        ("shout", 78.0),
    ] {
        let levels = &source(name).levels;
        let (quiet, loud) = (base(levels.quiet.as_ref()), base(levels.loud.as_ref()));
        let distance = base(levels.distance.as_ref());
        assert!((distance - 1.0).abs() < 1e-12, "{name} is stated at {distance} m, not at 1 m");
        assert_eq!(weighting(levels.quiet.as_ref()), Some(Weighting::A), "weighting of {name}, quiet");
        assert_eq!(weighting(levels.loud.as_ref()), Some(Weighting::A), "weighting of {name}, loud");
        assert!(quiet < mean && mean < loud, "{name}: {mean} dBA lies outside {quiet} to {loud} dBA");
    }
    // Pearsons, Bennett and Fidell 1977, after Olsen 1998: shouting women 82 dBA, men 89 dBA at 1 m.
    let levels = &source("shout").levels;
    let (quiet, loud) = (base(levels.quiet.as_ref()), base(levels.loud.as_ref()));
    assert!(quiet < 82.0 && 89.0 < loud, "a shout of {quiet} to {loud} dBA, want 82 and 89 dBA inside");
}

/// Crest of speech: 12 dB (Cox 1988) to 17 dB (upper end in ITU-T H.871).
#[test]
fn speech_has_the_published_crest() {
    for (name, _) in EFFORTS {
        let crest = source(name).levels.crest.as_ref();
        let (middle, spread) = (base(crest), half_width(crest));
        assert!(middle - spread <= 12.0 && 17.0 <= middle + spread, "{name}: crest {middle} ± {spread} dB");
    }
}

#[test]
fn source_levels_make_sense() {
    for kind in Catalogue::embedded().sources() {
        let (levels, name) = (&kind.levels, &kind.name);
        let crest = levels.crest.as_ref();
        assert!((3.0..=30.0).contains(&base(crest)), "{name}: crest {} dB", base(crest));
        assert!(half_width(crest) > 0.0, "{name}: the crest has no spread");
        if kind.is_electrical() {
            let (quiet, loud) = (base(levels.quiet_output.as_ref()), base(levels.loud_output.as_ref()));
            let own_noise = base(levels.output_noise.as_ref());
            assert!(
                own_noise < quiet && quiet < loud,
                "{name}: noise {own_noise}, quiet {quiet}, loud {loud} dBu"
            );
            assert!(half_width(levels.loud_output.as_ref()) > 0.0, "{name}: the loudest level has no spread");
            assert!(base(levels.output_impedance.as_ref()) > 0.0, "{name}: no output impedance");
            assert!(
                levels.distance.is_none() && kind.usual_microphone.is_empty() && kind.usual_distance_m <= 0.0,
                "{name} needs no microphone"
            );
            continue;
        }
        let (quiet, loud) = (levels.quiet.as_ref(), levels.loud.as_ref());
        assert!(
            base(quiet) < base(loud),
            "{name}: quiet {} dB is not below loud {} dB",
            base(quiet),
            base(loud)
        );
        assert_eq!(weighting(quiet), weighting(loud), "{name}: one level is A-weighted and the other is not");
        let spread = half_width(quiet).min(half_width(loud));
        assert!(spread >= 3.0, "{name}: ± {spread} dB is too sure for a whole kind");
        let (distance, size) = (base(levels.distance.as_ref()), base(levels.size.as_ref()));
        assert!(0.0 < size && size <= distance, "{name}: size {size} m, reference distance {distance} m");
        assert!(kind.usual_distance_m > 0.0, "{name}: no usual distance");

        let (peak, _) = peak_at(kind, kind.usual_distance_m);
        assert!(
            (60.0..=160.0).contains(&peak),
            "{name}: peaks of {peak:.1} dB SPL at {} m",
            kind.usual_distance_m
        );
        // The microphone that usually stands there stands the peaks; a sine of the same peak is 3.01 dB below it.
        let microphone = device(&kind.usual_microphone);
        let limit = base(microphone.microphone().unwrap().maximum_spl.as_ref());
        assert!(
            peak - 3.01 < limit,
            "{name}: peaks of {peak:.1} dB SPL before a microphone that stands {limit} dB SPL"
        );
    }
}

/// Close to the head of a snare drum or tom and in a bass drum, peaks of 130 to 145 dB SPL: common practice, no source.
#[test]
fn close_drums_are_as_loud_as_engineers_know_them() {
    for name in ["snare drum", "bass drum", "tom"] {
        let kind = source(name);
        let (peak, _) = peak_at(kind, kind.usual_distance_m);
        assert!((130.0..=145.0).contains(&peak), "{name}: peaks of {peak:.1} dB SPL");
    }
}

/// "Sound Advice", companion of HSE HSG260: lowest and highest level and peak at 3 m, in dB.
const HSG260: [(&str, f64, f64, f64); 15] = [
    ("fiddle", 80.0, 90.0, 104.0),
    ("viola", 80.0, 90.0, 104.0),
    ("cello", 80.0, 104.0, 112.0),
    ("upright bass bowed", 70.0, 94.0, 98.0),
    ("upright bass plucked", 70.0, 94.0, 98.0),
    ("clarinet", 68.0, 82.0, 112.0),
    ("oboe", 74.0, 102.0, 116.0),
    ("saxophone", 75.0, 110.0, 113.0),
    ("flute", 92.0, 105.0, 109.0),
    ("piccolo", 96.0, 112.0, 120.0),
    ("horn", 92.0, 104.0, 107.0),
    ("trombone", 90.0, 106.0, 109.0),
    ("trumpet", 88.0, 108.0, 113.0),
    ("sung voice", 70.0, 85.0, 94.0),
    ("piano", 60.0, 90.0, 105.0),
];

/// The readings were taken in rooms and hold their reverberation. The built-in loudest level, which a closer microphone gets,
/// may not exceed their highest, and its 95 % interval reaches into their range; the quietest passage lies below their lowest.
#[test]
fn instruments_are_as_loud_as_hsg260_has_them() {
    for (name, low, high, _) in HSG260 {
        let kind = source(name);
        let (loud, spread) = loud_at(kind, 3.0);
        assert!(loud <= high, "{name}: loud {loud:.1} dB at 3 m, over the highest reading of {high} dB");
        assert!(loud + spread >= low, "{name}: loud {loud:.1} ± {spread} dB at 3 m stays below {low} dB");
        let quiet = base(kind.levels.quiet.as_ref()) + carried(kind, 3.0);
        assert!(quiet <= low, "{name}: quiet {quiet:.1} dB at 3 m, over the lowest reading of {low} dB");
    }
}

/// Sivian, Dunn and White, J. Acoust. Soc. Am. 2, 330 (1931): peak power in watts.
const PEAK_POWER_1931: [(&str, f64); 13] = [
    ("bass drum", 25.0),
    ("snare drum", 12.0),
    ("cymbals", 10.0),
    ("trombone", 6.0),
    ("piano", 0.4),
    ("trumpet", 0.3),
    ("tuba", 0.2),
    ("upright bass bowed", 0.16),
    ("upright bass plucked", 0.16),
    ("piccolo", 0.08),
    ("flute", 0.06),
    ("clarinet", 0.05),
    ("horn", 0.05),
];

/// The two collections differ by up to 32 dB, so the built-in peak has to lie between them; where one stands alone, it has to
/// lie in the 95 % interval of the built-in one.
#[test]
fn peaks_lie_between_those_of_1931_and_hsg260() {
    for (name, watts) in PEAK_POWER_1931 {
        // Free field, radiating alike all round, at 1 m: power level re 1 pW less 10 lg 4π.
        let from_power = 10.0 * log10(watts / 1e-12) - 10.0 * log10(4.0 * std::f64::consts::PI);
        let (peak, spread) = peak_at(source(name), 1.0);
        if let Some((.., reading)) = HSG260.iter().find(|(other, ..)| *other == name) {
            let read = reading + 20.0 * log10(3.0);
            let (low, high) = (from_power.min(read), from_power.max(read));
            assert!(
                (low..=high).contains(&peak),
                "{name}: peak {peak:.1} dB at 1 m, published {low:.1} and {high:.1} dB"
            );
        } else {
            let off = peak - from_power;
            assert!(
                off.abs() <= spread,
                "{name}: peak {peak:.1} ± {spread:.1} dB at 1 m, want {from_power:.1} dB"
            );
        }
    }
}

/// Meyer, Acoustics and the Performance of Music, 5th edition 2009: mean power level at forte in dB re 1 pW; from memory. At
/// 1 m the level is 10.99 dB less if the instrument radiates alike all round.
#[test]
fn forte_lies_between_quiet_and_loud() {
    for (name, power) in [
        ("fiddle", 89.0),
        ("viola", 87.0),
        ("cello", 90.0),
        ("upright bass bowed", 92.0),
        ("flute", 91.0),
        ("oboe", 93.0),
        ("clarinet", 93.0),
        ("horn", 102.0),
        ("trumpet", 101.0),
        ("trombone", 101.0),
        ("tuba", 104.0),
    ] {
        let kind = source(name);
        let forte = power - 10.99;
        let quiet = base(kind.levels.quiet.as_ref()) + carried(kind, 1.0);
        let (loud, _) = loud_at(kind, 1.0);
        assert!(
            quiet < forte && forte < loud,
            "{name}: forte {forte:.1} dB at 1 m, outside {quiet:.1} to {loud:.1} dB"
        );
    }
}

/// Directivity index of a + (1−a)·cos θ, integrated numerically over the sphere outside this project, to a thousandth of a dB.
#[test]
fn patterns_have_their_directivity_index() {
    for (pattern, want) in [
        (Pattern::Omnidirectional, 0.0),
        (Pattern::Subcardioid, 2.840),
        (Pattern::Cardioid, 4.771),
        (Pattern::Supercardioid, 5.719),
        (Pattern::Hypercardioid, 6.021),
        (Pattern::FigureOfEight, 4.771),
    ] {
        let got = pattern.directivity_index().db();
        assert!((got - want).abs() < 6e-4, "{}: {got:.4} dB, want {want} dB", pattern.words());
    }
}

/// Checks that the figures are stated and have a spread; those after the bar may be exact.
macro_rules! states {
    ($id:expr, $table:expr, $($figure:ident),+ $(| $($exact:ident),+)?) => {
        $(
            assert!($table.$figure.is_some(), "{} does not state {}", $id, stringify!($figure));
            assert!(half_width($table.$figure.as_ref()) > 0.0, "{}: {} has no spread", $id, stringify!($figure));
        )+
        $($(assert!($table.$exact.is_some(), "{} does not state {}", $id, stringify!($exact));)+)?
    };
}

#[test]
fn usual_microphones_state_everything() {
    for (id, transducer) in [
        ("usual-moving-coil-microphone", Transducer::MovingCoil),
        ("usual-ribbon-microphone", Transducer::Ribbon),
        ("usual-active-ribbon-microphone", Transducer::ActiveRibbon),
        ("usual-condenser-microphone", Transducer::Condenser),
        ("usual-pickup", Transducer::Pickup),
    ] {
        let device = device(id);
        let microphone = device.microphone().unwrap();
        assert_eq!(microphone.transducer, Some(transducer), "{id}");
        assert!(microphone.pattern.is_some(), "{id} does not state its pattern");
        assert!(microphone.phantom.is_some(), "{id} does not state how it takes phantom power");
        assert!(microphone.connector.is_some(), "{id} does not state its connector");
        states!(id, microphone, sensitivity, impedance, maximum_spl | inductance);
        if transducer.is_passive() {
            assert!(
                microphone.self_noise.is_none(),
                "{id}: the noise of a passive one follows from its impedance"
            );
            assert!(base(microphone.inductance.as_ref()) > 0.0, "{id} has a coil");
        } else {
            states!(id, microphone, self_noise, phantom_current);
        }
        assert!(microphone.pad.is_none(), "{id}: a pad is there only if the device says so");
    }
}

#[test]
fn usual_front_ends_state_everything() {
    for id in ["usual-preamp", "usual-interface", "usual-converter"] {
        let device = device(id);
        let front_end = device.front_end().unwrap();
        let group =
            front_end.microphone_inputs.first().unwrap_or_else(|| panic!("{id} has no microphone input"));
        states!(
            id,
            group,
            gain_range,
            gain_accuracy,
            maximum_input,
            ein,
            input_impedance,
            phantom_current,
            dynamic_range | least_gain
        );
        assert!(group.input_stage.is_some(), "{id} does not state its input stage");
        assert!(group.phantom.is_some(), "{id} does not state phantom power");
        assert!(group.connector.is_some(), "{id} does not state its connector");
        // What fills a user's device must not give it what it may not have.
        assert!(group.gain_step.is_none(), "{id}: a gain step is there only if the device says so");
        assert!(group.pad.is_none(), "{id}: a pad is there only if the device says so");
        assert!(group.label.is_none(), "{id}: a label is there only if the device says so");
        assert_eq!(front_end.n_microphone_inputs(), 1, "{id}: inputs that a group without a count would get");
        if id == "usual-preamp" {
            states!(id, group, maximum_output, output_impedance);
            assert!(group.output_connector.is_some(), "{id} does not state its output's connector");
            assert_eq!(group.output_level_control, Some(false), "{id}: an output level control");
            continue;
        }
        let line = front_end.line_inputs.first().unwrap_or_else(|| panic!("{id} has no line input"));
        states!(id, line, full_scale, dynamic_range, input_impedance);
        let output = front_end.line_outputs.first().unwrap_or_else(|| panic!("{id} has no line output"));
        states!(id, output, maximum_output, output_impedance);
        states!(id, front_end.whole, input_latency, output_latency | bit_depth);
        assert!(front_end.whole.sample_rates_hz.is_some(), "{id} does not state its sample rates");
        assert!(front_end.whole.clock_sources.is_some(), "{id} does not state its clock sources");
        assert!(front_end.whole.computer_channels.is_none(), "{id}: how many channels there are is a fact");
    }
}

#[test]
fn usual_booster_and_cable_state_everything() {
    let usual = device("usual-booster");
    let booster = usual.booster().unwrap();
    assert!(booster.input_stage.is_some(), "usual-booster does not state its input stage");
    assert!(
        booster.passes_phantom.is_some(),
        "usual-booster does not state whether it passes phantom power on"
    );
    states!(
        "usual-booster",
        booster,
        gain,
        ein,
        input_noise_current,
        input_impedance,
        output_impedance,
        maximum_output,
        phantom_current
    );
    let usual = device("usual-microphone-cable");
    let Model::Cable(cable) = &usual.model else { panic!("usual-microphone-cable is no cable") };
    states!("usual-microphone-cable", cable, capacitance, length);
    assert!(cable.from_connector.is_some() && cable.to_connector.is_some(), "a cable has two ends");
}

/// Filling leaves nothing open in any built-in device that a level could need.
#[test]
fn every_kind_is_whole_when_filled() {
    for mut device in all_devices() {
        Catalogue::embedded().fill(&mut device);
        let id = &device.id;
        match &device.model {
            Model::Microphone(microphone) => {
                states!(id, microphone, sensitivity, impedance, maximum_spl | inductance);
                let passive =
                    microphone.transducer.unwrap_or_else(|| panic!("{id}: transducer")).is_passive();
                assert_eq!(
                    passive,
                    microphone.self_noise.is_none(),
                    "{id}: whether it is passive and has no self-noise"
                );
            }
            Model::Booster(booster) => {
                assert!(booster.input_stage.is_some(), "{id}: input stage");
                states!(id, booster, gain, ein, input_impedance, output_impedance, maximum_output);
            }
            Model::Preamp(front_end) | Model::Interface(front_end) | Model::Converter(front_end) => {
                for group in &front_end.microphone_inputs {
                    assert!(
                        group.input_stage.is_some() && group.count.is_some(),
                        "{id}: input stage and count"
                    );
                    states!(
                        id,
                        group,
                        gain_range,
                        maximum_input,
                        ein,
                        input_impedance,
                        dynamic_range | least_gain
                    );
                }
                for group in &front_end.line_inputs {
                    assert!(
                        group.instrument.is_some() && group.count.is_some(),
                        "{id}: instrument and count"
                    );
                    states!(id, group, full_scale, dynamic_range, input_impedance);
                }
                for group in &front_end.line_outputs {
                    states!(id, group, maximum_output, output_impedance);
                }
                let n_groups = front_end.microphone_inputs.len() + front_end.line_inputs.len();
                assert!(n_groups > 0, "{id} has no input");
            }
            Model::Cable(cable) => {
                states!(id, cable, capacitance, length);
            }
        }
    }
}

/// Johnson 1928, Nyquist 1928: a 150 Ω source at 20 °C has −130.92 dBu from 20 Hz to 20 kHz, and 2.05 dB less A-weighted. A
/// built-in EIN stays above it with nearly all of its spread.
#[test]
fn no_input_is_quieter_than_its_source() {
    let limit = noise::thermal_limit(Ohms::new(150.0), Kelvin::ROOM, Weighting::Flat, None).dbu();
    assert!((limit - -130.922).abs() < 0.001, "thermal limit {limit:.4} dBu, want −130.922");
    for device in all_devices() {
        let groups =
            device.front_end().map(|front_end| front_end.microphone_inputs.as_slice()).unwrap_or_default();
        let eins = groups.iter().map(|group| &group.ein).chain(device.booster().map(|booster| &booster.ein));
        for ein in eins {
            let figure = ein.as_ref().unwrap().figure().unwrap();
            let limit = match figure.conditions.weighting {
                Some(Weighting::A) => -132.97,
                Some(Weighting::Flat) => -130.92,
                other => panic!("{}: weighting {other:?}", device.id),
            };
            assert_eq!(figure.conditions.source_impedance, Some(Ohms::new(150.0)), "{}: source", device.id);
            let lower = figure.value.dbu() - figure.spread.half_widths_95().0;
            assert!(
                lower >= limit,
                "{}: {} reaches {lower:.2} dBu, under {limit} dBu",
                device.id,
                figure.written
            );
        }
    }
}

/// What goes in at the least gain must come out: maximum input level and least gain do not pass the maximum output.
#[test]
fn preamps_pass_what_they_accept() {
    for device in Catalogue::embedded().devices(DeviceType::Preamp) {
        for group in &device.front_end().unwrap().microphone_inputs {
            let at_output = base(group.maximum_input.as_ref()) + base(group.least_gain.as_ref());
            let limit = base(group.maximum_output.as_ref());
            assert!(at_output <= limit, "{}: {at_output} dBu at an output of at most {limit} dBu", device.id);
        }
    }
}

/// +10 dBu with 50 dB reaches full scale from −40 dBu, +24 dBu with 60 dB only from −36 dBu: common practice, no source.
#[test]
fn a_wider_gain_range_is_not_always_more_sensitive() {
    for (id, want) in [("desk-interface-two-inputs", -40.0), ("interface-eight-inputs", -36.0)] {
        let device = device(id);
        let group = device.front_end().unwrap().microphone_inputs.first().unwrap();
        let got = base(group.maximum_input.as_ref()) - base(group.gain_range.as_ref());
        assert!((got - want).abs() < 1e-9, "{id}: full scale from {got} dBu, want {want} dBu");
    }
}

/// Nothing is so uncertain that an ordinary draw would turn a resistance, a capacitance or a current negative.
#[test]
fn spreads_keep_positive_figures_positive() {
    fn check<T: Measurable>(id: &str, stated: Option<&Stated<T>>) {
        if stated.is_some() {
            let (value, width) = (base(stated), half_width(stated));
            assert!(width <= 0.6 * value, "{id}: {value} ± {width} in base units, {:?}", T::DIMENSION);
        }
    }
    for device in all_devices() {
        let id = device.id.as_str();
        match &device.model {
            Model::Microphone(microphone) => {
                check(id, microphone.impedance.as_ref());
                check(id, microphone.inductance.as_ref());
                check(id, microphone.phantom_current.as_ref());
            }
            Model::Booster(booster) => {
                check(id, booster.input_impedance.as_ref());
                check(id, booster.output_impedance.as_ref());
                check(id, booster.phantom_current.as_ref());
                check(id, booster.input_noise_current.as_ref());
            }
            Model::Preamp(front_end) | Model::Interface(front_end) | Model::Converter(front_end) => {
                for group in &front_end.microphone_inputs {
                    check(id, group.input_impedance.as_ref());
                    check(id, group.output_impedance.as_ref());
                    check(id, group.phantom_current.as_ref());
                }
                front_end.line_inputs.iter().for_each(|group| check(id, group.input_impedance.as_ref()));
                front_end.line_outputs.iter().for_each(|group| check(id, group.output_impedance.as_ref()));
                check(id, front_end.whole.input_latency.as_ref());
                check(id, front_end.whole.output_latency.as_ref());
            }
            Model::Cable(cable) => {
                check(id, cable.capacitance.as_ref());
                check(id, cable.length.as_ref());
            }
        }
    }
}
