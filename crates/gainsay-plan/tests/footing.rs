#![cfg(test)]
//! Devices on one footing, against formulas from handbooks written out a second time, and tables.

#![allow(clippy::disallowed_methods, reason = "the check must not lean on the mathematics of what it checks")]

mod independent;

use gainsay_gear::{Catalogue, Device, DeviceType};
use gainsay_plan::footing::{
    Apart, DeviceFooting, GroupFooting, Measure, footing, recordings, thermal_limit,
};
use gainsay_plan::{Case, Draws, Estimate, Options};
use gainsay_units::Origin;
use independent::{BAND_HZ, ROOM_KELVIN, a_bandwidth, case, db, dbu, near, not_above, power, thermal};
use proptest::prelude::*;

const DRAWS: Draws = Draws { count: 2_000, seed: 1 };

#[track_caller]
fn device(text: &str) -> Device {
    Device::from_toml(text, "test", Origin::Sheet).unwrap_or_else(|problems| panic!("{text}\n{problems:?}"))
}

#[track_caller]
fn on_footing(text: &str) -> DeviceFooting {
    footing(&device(text), Catalogue::embedded(), DRAWS).unwrap()
}

#[track_caller]
fn first(text: &str) -> GroupFooting {
    on_footing(text).groups.into_iter().next().unwrap()
}

#[track_caller]
fn estimate(group: &GroupFooting, measure: Measure) -> Estimate {
    group.get(measure).unwrap_or_else(|| panic!("{measure:?} is missing")).estimate
}

#[track_caller]
fn median(group: &GroupFooting, measure: Measure) -> f64 {
    estimate(group, measure).median
}

/// A microphone input with these lines and, unless they stand among them, exact figures for the rest.
fn input(lines: &[&str]) -> String {
    let usual = [
        "gain_range = \"50 dB\"",
        "maximum_input = \"+10 dBu\"",
        "ein = \"-128 dBu (unweighted, 150 ohm)\"",
        "input_noise_current = \"1 pA/√Hz\"",
        "input_impedance = \"3 kΩ\"",
        "dynamic_range = \"110 dB (A-weighted)\"",
        "gain_accuracy = \"0 dB\"",
    ];
    let field = |line: &str| line.split_once(" = ").map(|(field, _)| field.to_owned());
    let mut text =
        "name = \"Box\"\ntype = \"interface\"\n[[microphone_inputs]]\ncount = 2\nphantom = true\n".to_owned();
    for line in
        usual.iter().filter(|usual| !lines.iter().any(|line| field(line) == field(usual))).chain(lines)
    {
        text.push_str(line);
        text.push('\n');
    }
    text
}

fn microphone(lines: &str) -> String {
    format!(
        "name = \"Capsule\"\ntype = \"microphone\"\n[microphone]\nmaximum_spl = \"134 dB SPL\"\n{lines}\n"
    )
}

// Common practice, no source: what counts is the maximum input less the gain range. +10 dBu and 50 dB reach full scale at
// −40 dBu; +24 dBu and 60 dB only at −36 dBu.
#[test]
fn less_gain_may_reach_full_scale_from_the_quieter_signal() {
    for (range, maximum, want) in [(50.0, 10.0, -40.0), (60.0, 24.0, -36.0)] {
        let group = first(&input(&[
            &format!("gain_range = \"{range} dB\""),
            &format!("maximum_input = \"+{maximum} dBu\""),
        ]));
        let got = estimate(&group, Measure::FullScaleSensitivity);
        near(format!("+{maximum} dBu and {range} dB"), got.median, want, 1e-9);
        near("its interval, as all is exact", got.high - got.low, 0.0, 1e-9);
        let last = group.window.last().unwrap();
        near("ceiling at the end of the window", last.ceiling.median, want, 1e-9);
        near("gain at the end of the window", last.gain_db, range, 1e-9);
        near("maximum input", median(&group, Measure::MaximumInput), maximum, 1e-9);
    }
}

// Thermal noise √(4kTRB), Johnson 1928 and Nyquist 1928; thermal_noise.csv holds it computed apart (and 150 Ω from a circuit
// simulator).
#[test]
fn thermal_limits() {
    let table = include_str!("../../gainsay-units/tests/reference/thermal_noise.csv");
    let mut lines = table.lines();
    let column = |name: &str, header: &str| header.split(',').position(|cell| cell == name).unwrap();
    let header = lines.next().unwrap();
    let (ohms, level, volts) =
        (column("ohm", header), column("dBu_293.15K", header), column("V_20-20k_uV_293.15K", header));
    let mut rows = 0;
    for line in lines {
        let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        let resistance = cells[ohms];
        if (resistance - 150.0).abs() < 1e-9 {
            near("limit of the footing", thermal_limit().dbu(), cells[level], 0.0006);
        }
        // A passive microphone's noise is that of its resistance.
        let group = first(&microphone(&format!(
            "transducer = \"moving-coil\"\nsensitivity = \"2 mV/Pa\"\nimpedance = \"{resistance} ohm\"\ninductance = \"0 mH\""
        )));
        near(format!("noise of {resistance} Ω"), median(&group, Measure::OutputNoise), cells[level], 0.0006);
        let microvolts = median(&group, Measure::OutputNoiseMicrovolts);
        near(format!("noise of {resistance} Ω in µV"), microvolts, cells[volts], cells[volts] * 1e-5);
        rows += 1;
    }
    assert!(rows > 20, "only {rows} rows of the table were read");
}

// F = 1 + (en² + in²·Rs²)/(4kT₀Rs) at 290 K (Friis 1944; Motchenbacher and Connelly, "Low-Noise Electronic System Design",
// 1993), and the source resistance with which it is least, en/in. Formulas from memory. The amplifier's noise is the root of
// the sum of the squares: 1 nV/√Hz, 1 pA/√Hz through 150 Ω, and 1.558 nV/√Hz of the source at 20 °C.
#[test]
fn noise_figures_of_known_densities() {
    for (en, current) in [(1.0, 1.0), (1.0, 0.5), (0.9, 2.0), (4.5, 0.6), (2.7, 0.02), (1.1, 1.7)] {
        let group = first(&input(&[
            &format!("input_noise_voltage = \"{en} nV/√Hz\""),
            &format!("input_noise_current = \"{current} pA/√Hz\""),
        ]));
        let what = format!("{en} nV/√Hz and {current} pA/√Hz");
        let (en, current) = (en * 1e-9, current * 1e-12);
        let own = en * en + current * current * 150.0 * 150.0;
        let ein = dbu((own + thermal(150.0, ROOM_KELVIN)) * BAND_HZ);
        near(format!("EIN of {what}"), median(&group, Measure::Ein), ein, 1e-9);
        let figure = db(1.0 + own / thermal(150.0, 290.0));
        near(format!("noise figure of {what}"), median(&group, Measure::NoiseFigure), figure, 1e-9);
        near(format!("best source of {what}"), median(&group, Measure::BestSource), en / current, 1e-6);
        let above = ein - dbu(thermal(150.0, ROOM_KELVIN) * BAND_HZ);
        near(format!("limit of {what}"), median(&group, Measure::AboveThermalLimit), above, 1e-9);
    }
    // The same in numbers worked out by hand: √(1² + 0.15² + 1.558²) = 1.858 nV/√Hz, times √19 980 Hz = 262.6 nV, −129.39 dBu.
    let group = first(&input(&["input_noise_voltage = \"1 nV/√Hz\"", "input_noise_current = \"1 pA/√Hz\""]));
    near("EIN by hand", median(&group, Measure::Ein), -129.39, 0.01);
}

// The same noise, however a sheet says it: white noise reads 2.05 dB less A-weighted (the bandwidth of IEC 61672-1's A, here
// integrated apart), and the source's thermal noise is in every EIN.
#[test]
fn one_amplifier_four_sheets() {
    let (en, current) = (1.3e-9_f64, 1.2e-12_f64);
    let own = |r: f64| en * en + current * current * r * r;
    let at = |r: f64| own(r) + thermal(r, ROOM_KELVIN);
    let want = dbu(at(150.0) * BAND_HZ);
    for (line, allowed) in [
        (format!("ein = \"{:.6} dBu (unweighted, 150 ohm)\"", dbu(at(150.0) * BAND_HZ)), 1e-4),
        (format!("ein = \"{:.6} dBu (A-weighted, 150 ohm)\"", dbu(at(150.0) * a_bandwidth())), 1e-3),
        (format!("ein = \"{:.6} dBu (unweighted, 200 ohm)\"", dbu(at(200.0) * BAND_HZ)), 1e-4),
        (format!("ein = \"{:.6} dBu (unweighted, 0 ohm)\"", dbu(at(0.0) * BAND_HZ)), 1e-4),
        (format!("ein = \"{:.6} µV (unweighted, 150 ohm)\"", 1e6 * (at(150.0) * BAND_HZ).sqrt()), 1e-4),
    ] {
        let group = first(&input(&[&line, "input_noise_current = \"1.2 pA/√Hz\""]));
        near(&line, median(&group, Measure::Ein), want, allowed);
        assert!(group.doubts.is_empty(), "{line}: {:?}", group.doubts);
    }
    // Two EINs give both densities without help.
    let group = first(&input(&[
        &format!("ein = \"{:.7} dBu (unweighted, 150 ohm)\"", dbu(at(150.0) * BAND_HZ)),
        &format!("ein_second = \"{:.7} dBu (unweighted, 2000 ohm)\"", dbu(at(2000.0) * BAND_HZ)),
    ]));
    near("en from two EINs", median(&group, Measure::VoltageNoise), 1.3, 0.001);
    near("in from two EINs", median(&group, Measure::CurrentNoise), 1.2, 0.001);
}

// What a sheet leaves out widens the result: between unweighted and A-weighted lie 2.05 dB, of which 95 % is 1.95 dB (JCGM
// 100:2008, 4.3.7: rectangular between the limits).
#[test]
fn an_ein_without_its_weighting_is_wider_and_says_so() {
    let widest = db(BAND_HZ / a_bandwidth());
    let group = first(&input(&["ein = \"-126 dBu (150 ohm)\""]));
    let ein = estimate(&group, Measure::Ein);
    near("median", ein.median, -126.0 + widest / 2.0, 0.06);
    near("width", ein.high - ein.low, 0.95 * widest, 0.03);
    assert!(group.doubts.iter().any(|doubt| doubt.contains("2.05 dB")), "{:?}", group.doubts);
    let group = first(&input(&["ein = \"-126 dBu (unweighted)\""]));
    let ein = estimate(&group, Measure::Ein);
    // From a short, so that 150 Ω adds its whole thermal noise, to 200 Ω, so that it takes some away.
    let shorted = dbu(power(-126.0) * 0.6 + thermal(150.0, ROOM_KELVIN) * BAND_HZ);
    let highest =
        dbu(power(-126.0) * 0.6 - (thermal(200.0, ROOM_KELVIN) - thermal(150.0, ROOM_KELVIN)) * BAND_HZ);
    near("upper end", ein.high, shorted, 0.1);
    near("lower end", ein.low, highest, 0.1);
    assert!(group.doubts.iter().any(|doubt| doubt.contains("200 Ω")), "{:?}", group.doubts);
}

// Dynamic range at the least gain: 110 dB A-weighted below +10 dBu is −100 dBu A-weighted, −97.95 dBu without weighting. What
// lies behind the gain is what the input's own noise does not explain; 50 dB up it has fallen by 50 dB.
#[test]
fn the_window_closes_as_the_gain_rises() {
    let group = first(&input(&[]));
    let to_flat = db(BAND_HZ / a_bandwidth());
    let points = &group.window;
    near("points", points.len() as f64, 11.0, 0.0);
    let at_least = -100.0 + to_flat;
    let behind = power(at_least) - power(-128.0);
    for point in points {
        let gain = point.gain_db;
        near(format!("ceiling at {gain} dB"), point.ceiling.median, 10.0 - gain, 1e-9);
        let noise = db(power(-128.0) + behind / power(gain));
        near(format!("noise at {gain} dB"), point.noise.median, noise, 0.001);
    }
    near("range at least gain", median(&group, Measure::DynamicRangeLeastGain), 110.0 - to_flat, 0.001);
    let most = -40.0 - db(power(-128.0) + behind / power(50.0));
    near("range at most gain", median(&group, Measure::DynamicRangeMostGain), most, 0.001);
}

// A preamp whose output is full before its input: +20 dBu in and +22 dBu out with 6 dB at the least gain is +16 dBu.
#[test]
fn a_preamps_output_may_be_its_ceiling() {
    let text =
        input(&["maximum_input = \"+20 dBu\"", "maximum_output = \"+22 dBu\"", "least_gain = \"6 dB\""])
            .replace("\"interface\"", "\"preamp\"");
    let group = first(&text);
    near("maximum input", median(&group, Measure::MaximumInput), 16.0, 1e-9);
    near("full scale from", median(&group, Measure::FullScaleSensitivity), -34.0, 1e-9);
}

// IEC 60268-4: sensitivity in mV/Pa or dB re 1 V/Pa; older sheets count dB re 1 V/µbar, and a microbar is 0.1 Pa, so that the
// figure is 20 dB lower. 2 mV/Pa is −53.98 dBV/Pa and −73.98 dB re 1 V/µbar.
#[test]
fn sensitivities_in_three_units() {
    for written in ["2 mV/Pa", "-53.9794 dBV/Pa", "-73.9794 dB re 1 V/µbar", "0.2 mV/µbar"] {
        let group = first(&microphone(&format!(
            "transducer = \"condenser\"\nsensitivity = \"{written}\"\nimpedance = \"150 ohm\"\nself_noise = \"20 dBA\""
        )));
        near(written, median(&group, Measure::SensitivityMillivolts), 2.0, 1e-5);
        near(written, median(&group, Measure::Sensitivity), -53.9794, 1e-4);
        // 94 dB SPL is 1.00237 Pa (ISO 1683), 2.00475 mV, re √0.6 V.
        near(
            written,
            median(&group, Measure::OutputAt94),
            20.0 * (2.004_75e-3_f64 / 0.6_f64.sqrt()).log10(),
            1e-3,
        );
        near(written, median(&group, Measure::MicrophoneDynamicRange), 114.0, 1e-4);
    }
}

// A microphone of 20 dBA and 10 mV/Pa: its noise is that of 20 dB SPL, A-weighted, and 2.05 dB more without.
#[test]
fn noise_of_an_active_microphone() {
    let group = first(&microphone(
        "transducer = \"condenser\"\nsensitivity = \"10 mV/Pa\"\nimpedance = \"150 ohm\"\nself_noise = \"20 dBA\"",
    ));
    let a_weighted_volts = 20e-6 * 10.0 * 10e-3;
    let want = dbu(a_weighted_volts * a_weighted_volts) + db(BAND_HZ / a_bandwidth());
    near("noise at the output", median(&group, Measure::OutputNoise), want, 0.001);
    near("as sound", median(&group, Measure::EquivalentNoise), 20.0, 1e-6);
    // Powers add: what raises the sum by 1 dB is 10 lg(10^0.1 − 1) = −5.868 dB below the microphone's own.
    let adding = median(&group, Measure::NoiseAddingOneDb);
    near("amplifier noise that adds 1 dB", adding - want, -5.868, 0.002);
    near("noise with it", db(power(want) + power(adding)) - want, 1.0, 0.001);
    // As an EIN it holds the thermal noise of 150 Ω too.
    let ein = dbu(power(adding) * 0.6 + thermal(150.0, ROOM_KELVIN) * BAND_HZ);
    near("EIN that adds 1 dB", median(&group, Measure::EinAddingOneDb), ein, 0.001);
}

// A passive microphone of 200 Ω and 1.6 mV/Pa: thermal noise of 200 Ω A-weighted through the sensitivity.
#[test]
fn noise_of_a_passive_microphone() {
    let group = first(&microphone(
        "transducer = \"moving-coil\"\nsensitivity = \"1.6 mV/Pa\"\nimpedance = \"200 ohm\"\ninductance = \"0 mH\"",
    ));
    let pascals = (thermal(200.0, ROOM_KELVIN) * a_bandwidth()).sqrt() / 1.6e-3;
    near("as sound", median(&group, Measure::EquivalentNoise), 20.0 * (pascals / 20e-6).log10(), 0.001);
}

#[test]
fn a_boosters_maximum_input_is_its_output_less_its_gain() {
    let group = first(
        "name = \"Lift\"\ntype = \"booster\"\n[booster]\ngain = \"25 dB\"\nmaximum_output = \"+10 dBu\"\n\
         ein = \"-129 dBu (unweighted, 150 ohm)\"\ninput_impedance = \"30 kΩ\"\n",
    );
    near("maximum input", median(&group, Measure::MaximumInput), -15.0, 1e-9);
    near("EIN", median(&group, Measure::Ein), -129.0, 1e-6);
    near("dynamic range", median(&group, Measure::DynamicRange), 114.0, 1e-6);
    near("gain of the window", group.window[0].gain_db, 25.0, 1e-9);
}

#[test]
fn line_inputs_have_a_footing_too() {
    let text = format!(
        "{}[[line_inputs]]\ncount = 2\nfull_scale = \"+18 dBu\"\ndynamic_range = \"110 dB (A-weighted)\"\n",
        input(&[])
    );
    let device = on_footing(&text);
    let line = &device.groups[1];
    let noise = 18.0 - 110.0 + db(BAND_HZ / a_bandwidth());
    near("noise", median(line, Measure::InputNoise), noise, 0.001);
    assert_eq!(device.compared().count(), 1, "line inputs are compared only where there are no others");
}

#[test]
fn measured_figures_are_used_and_the_sheets_kept_beside_them() {
    let text = input(&[
        "ein = { value = \"-128 dBu (unweighted, 150 ohm)\", measured = \"-127.2 dBu ± 0.3 dB\", note = \"input terminated\" }",
    ]);
    let group = first(&text);
    let ein = group.get(Measure::Ein).unwrap();
    assert_eq!(ein.from, Origin::Measured);
    near("median", ein.estimate.median, -127.2, 0.02);
    near("width", ein.estimate.high - ein.estimate.low, 0.95 * 0.6, 0.02);
    let basis = group.basis.iter().find(|basis| basis.figure == "EIN").unwrap();
    assert_eq!(basis.sheet.as_deref(), Some("−128 dBu (unweighted, 150 Ω)"));
    assert_eq!(basis.note.as_deref(), Some("input terminated"));
}

#[test]
fn what_is_missing_is_typical_and_marked_so() {
    let group = first(
        "name = \"Box\"\ntype = \"interface\"\n[[microphone_inputs]]\ncount = 2\ngain_range = \"50 dB\"\nmaximum_input = \"+10 dBu\"\n",
    );
    assert_eq!(group.get(Measure::FullScaleSensitivity).unwrap().from, Origin::Sheet);
    let ein = group.get(Measure::Ein).unwrap();
    assert_eq!(ein.from, Origin::Typical);
    assert!(ein.estimate.high - ein.estimate.low > 1.0, "{ein:?} is narrower than what is typical");
}

#[test]
fn every_built_in_device_has_a_footing() {
    let catalogue = Catalogue::embedded();
    for device_type in [
        DeviceType::Microphone,
        DeviceType::Booster,
        DeviceType::Preamp,
        DeviceType::Interface,
        DeviceType::Converter,
    ] {
        for device in catalogue.devices(device_type) {
            let footing =
                footing(&device, catalogue, DRAWS).unwrap_or_else(|e| panic!("{}: {e}", device.name));
            assert!(footing.compared().next().is_some(), "{} has nothing to compare", device.name);
            for group in &footing.groups {
                for (measure, footed) in &group.figures {
                    let Estimate { low, median, high } = footed.estimate;
                    assert!(
                        low.is_finite() && low <= median && median <= high && high.is_finite(),
                        "{}: {measure:?} is {footed:?}",
                        device.name
                    );
                }
                assert!(!group.window.is_empty(), "{} has no window", device.name);
            }
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_bits() {
    let device = Catalogue::embedded().device("desk-interface-two-inputs").unwrap();
    let with = |seed| {
        let draws = Draws { count: 2_000, seed };
        serde_json::to_string(&footing(&device, Catalogue::embedded(), draws).unwrap()).unwrap()
    };
    assert_eq!(with(3), with(3));
    assert_ne!(with(3), with(4));
}

/// A storyteller before a moving coil, into a device.
fn recorded(room: &str, name: &str, text: &str) -> (String, Case) {
    let story = format!(
        "[room]\nnoise = \"{room}\"\n[[source]]\nname = \"Speech\"\nkind = \"speech normal\"\nmicrophone = \"coil\"\n\
         loud = \"75 dB SPL\"\nquiet = \"40 dB SPL\"\ncrest = \"12 dB\"\n[[owned]]\ndevice = \"Box\"\n"
    );
    let coil = "name = \"Coil\"\ntype = \"microphone\"\n[microphone]\ntransducer = \"moving-coil\"\npattern = \"cardioid\"\n\
                phantom = \"ignored\"\nsensitivity = \"1.6 mV/Pa\"\nimpedance = \"200 ohm\"\ninductance = \"0 mH\"\n\
                maximum_spl = \"150 dB SPL\"\n";
    let files = [("case.toml", story.as_str()), ("gear/coil.toml", coil), ("gear/box.toml", text)];
    (name.to_owned(), case(&files))
}

const OPTIONS: Options = Options { draws: DRAWS, stage_intervals: false };

// In a loud room the room is all that is heard, whatever the preamp (common practice, no source); in a silent one a preamp with
// 10 dB more noise is heard.
#[test]
fn a_loud_room_makes_preamps_equal_and_a_silent_one_tells_them_apart() {
    let quiet = input(&["ein = \"-128 dBu (unweighted, 150 ohm)\""]);
    let noisy = input(&["ein = \"-110 dBu (unweighted, 150 ohm)\""]);
    let compare = |room: &str| {
        let cases = [recorded(room, "noisy", &noisy), recorded(room, "quiet", &quiet)];
        recordings(&cases, OPTIONS).unwrap()
    };
    let loud = compare("55 dBA");
    assert!(loud.recordings.iter().all(|r| r.place == 1), "{:?}", loud.conclusion);
    assert_eq!(loud.recordings[1].apart, Apart::TooSmall, "{}", loud.recordings[1].sentence);
    let silent = compare("10 dBA");
    let names: Vec<&str> = silent.recordings.iter().map(|r| r.name.as_str()).collect();
    assert_eq!(names, ["quiet", "noisy"]);
    assert_eq!(silent.recordings.iter().map(|r| r.place).collect::<Vec<usize>>(), [1, 2]);
    assert_eq!(silent.recordings[1].apart, Apart::Heard, "{}", silent.recordings[1].sentence);
    let more = silent.recordings[1].more_noise_db.unwrap();
    // At least as much as the preamps' own noise with 200 Ω leaves once the room is there, and not more than without it.
    let own = |ein: f64| power(ein) * 0.6 / BAND_HZ - thermal(150.0, ROOM_KELVIN);
    let most = db((own(-110.0) + thermal(200.0, ROOM_KELVIN)) / (own(-128.0) + thermal(200.0, ROOM_KELVIN)));
    not_above("difference in dB", more.median, most, 0.2);
    assert!(more.median > 10.0, "only {} dB apart", more.median);
}

// Both devices draw the same microphone, room and voice: equal devices differ by nothing, however uncertain everything is.
#[test]
fn equal_devices_differ_by_nothing() {
    let text = input(&["ein = \"-126 dBu ± 3 dB (unweighted, 150 ohm)\""]);
    let cases = [recorded("NR 20", "one", &text), recorded("NR 20", "two", &text)];
    let more = recordings(&cases, OPTIONS).unwrap().recordings[1].more_noise_db.unwrap();
    near("lower end", more.low, 0.0, 1e-12);
    near("upper end", more.high, 0.0, 1e-12);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    // No amplifier takes noise away (Nyquist 1928).
    #[test]
    fn an_ein_never_lies_below_the_thermal_limit(
        level in -128.8..-90.0_f64,
        tolerance in 0.1..6.0_f64,
        conditions in prop::sample::select(vec!["", " (150 ohm)", " (A-weighted)", " (A-weighted, 150 ohm)", " (unweighted, 200 ohm)", " (0 ohm)"]),
        current in 0.01..5.0_f64,
    ) {
        let limit = dbu(thermal(150.0, ROOM_KELVIN) * BAND_HZ);
        let group = first(&input(&[
            &format!("ein = \"{level:.3} dBu ± {tolerance:.2} dB{conditions}\""),
            &format!("input_noise_current = \"{current:.3} pA/√Hz\""),
        ]));
        let ein = estimate(&group, Measure::Ein);
        not_above("limit and lowest EIN in dBu", limit, ein.low, 1e-9);
        prop_assert!(estimate(&group, Measure::NoiseFigure).low >= -1e-9);
        prop_assert!(estimate(&group, Measure::AboveThermalLimit).low >= -1e-9);
    }

    // From noise to ceiling there is room wherever there is a dynamic range, and the whole window narrows as the gain rises.
    #[test]
    fn a_window_is_never_turned_inside_out(
        range in 0.0..75.0_f64,
        maximum in -10.0..28.0_f64,
        dynamic in 85.0..125.0_f64,
        ein in -128.5..-110.0_f64,
    ) {
        let group = first(&input(&[
            &format!("gain_range = \"{range:.2} dB ± 2 dB\""),
            &format!("maximum_input = \"{maximum:+.2} dBu ± 1 dB\""),
            &format!("dynamic_range = \"{dynamic:.2} dB (A-weighted)\""),
            &format!("ein = \"{ein:.2} dBu ± 1 dB (unweighted, 150 ohm)\""),
        ]));
        let widths: Vec<f64> = group.window.iter().map(|p| p.ceiling.median - p.noise.median).collect();
        let positive = estimate(&group, Measure::DynamicRangeMostGain).median >= 0.0;
        for (index, width) in widths.iter().enumerate() {
            prop_assert!(!positive || *width >= -0.2, "point {index} is {width} dB wide");
        }
        for pair in widths.windows(2) {
            not_above("width of the window in dB", pair[1], pair[0], 0.1);
        }
        for pair in group.window.windows(2) {
            not_above("noise at the input in dBu", pair[1].noise.median, pair[0].noise.median, 0.05);
        }
    }

    #[test]
    fn more_gain_range_lowers_full_scale_decibel_for_decibel(
        range in 10.0..60.0_f64,
        more in 0.0..20.0_f64,
        maximum in 0.0..26.0_f64,
    ) {
        let with = |range: f64| {
            let group = first(&input(&[
                &format!("gain_range = \"{range:.6} dB ± 2 dB\""),
                &format!("maximum_input = \"{maximum:+.6} dBu ± 3 dB\""),
            ]));
            estimate(&group, Measure::FullScaleSensitivity)
        };
        let (less, lower) = (with(range), with(range + more));
        near("median in dB", less.median - lower.median, more, 1e-5);
        near("upper end in dB", less.high - lower.high, more, 1e-5);
    }
}
