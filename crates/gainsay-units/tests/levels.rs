//! Levels, their units and the footings of microphone sensitivity against published values.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

mod reference;

use gainsay_units::{
    DBU_REFERENCE_VOLTS, DbSpl, Dbu, Dbv, Decibels, Pascals, Quantity, SPL_REFERENCE_PASCALS, Sensitivity,
    Unit, Volts,
};
use reference::near;

// 1 mW in 600 ohm (usage of IEC 60268-2 and ITU-R BS.645): √0.6 V = 0.7745967 V; the rest follows from it.
#[test]
fn voltage_levels() {
    near("0 dBu in volts", DBU_REFERENCE_VOLTS, 0.774_596_7, 5e-8);
    near(
        "square of 0 dBu over 600 ohm in milliwatts",
        DBU_REFERENCE_VOLTS * DBU_REFERENCE_VOLTS / 0.6,
        1.0,
        1e-15,
    );
    near("0 dBV in dBu", Dbu::from(Dbv::new(0.0)).dbu(), 2.2185, 0.000_05);
    near("+4 dBu in volts", Dbu::new(4.0).volts().volts(), 1.227_65, 0.000_005);
    near("−10 dBV in volts", Dbv::new(-10.0).volts().volts(), 0.316_228, 0.000_000_5);
    near("−10 dBV in dBu", Dbu::from(Dbv::new(-10.0)).dbu(), -7.7815, 0.000_05);
    near("+4 dBu over −10 dBV in dB", (Dbu::new(4.0) - Dbu::from(Dbv::new(-10.0))).db(), 11.7815, 0.000_05);
    near("1 V in dBV", Dbv::from_volts(Volts::new(1.0)).dbv(), 0.0, 1e-12);
}

// ISO 1683: 20 µPa.
#[test]
fn sound_levels() {
    near("0 dB SPL in µPa", SPL_REFERENCE_PASCALS * 1e6, 20.0, 1e-12);
    near("94 dB SPL in pascals", DbSpl::new(94.0).pascals().pascals(), 1.002_37, 0.000_005);
    near("1 Pa in dB SPL", DbSpl::from_pascals(Pascals::new(1.0)).db_spl(), 93.9794, 0.000_05);
    // 2003/10/EC's peak pressures and their levels; the levels computed outside this project.
    for (pressure, level) in [(112.0, 134.96), (140.0, 136.90), (200.0, 140.00)] {
        near(
            format!("{pressure} Pa in dB SPL"),
            DbSpl::from_pascals(Pascals::new(pressure)).db_spl(),
            level,
            0.006,
        );
    }
}

// Every way of writing these voltages and pressures gives the same level.
#[test]
fn units_of_one_dimension_agree() {
    let base = |number: f64, unit: Unit| unit.to_base(number);
    near("0.775 V in dBu", base(0.775, Unit::Volt), 0.0045, 0.000_05);
    near("775 mV in dBu", base(775.0, Unit::Millivolt), base(0.775, Unit::Volt), 1e-12);
    near("775 000 µV in dBu", base(775_000.0, Unit::Microvolt), base(0.775, Unit::Volt), 1e-12);
    near("0 dBV in dBu", base(0.0, Unit::Dbv), 2.2185, 0.000_05);
    near("1 Pa in dB SPL", base(1.0, Unit::Pascal), 93.9794, 0.000_05);
    // The international foot and inch: 0.3048 m and 25.4 mm exactly (1959).
    near("1 ft in metres", base(1.0, Unit::Foot), 0.3048, 1e-15);
    near("12 in in feet", base(12.0, Unit::Inch) / base(1.0, Unit::Foot), 1.0, 1e-14);
    near("30 pF/ft in pF/m", base(30.0, Unit::PicofaradPerFoot) * 1e12, 98.4252, 0.000_05);
    // BIPM, SI brochure: 0 °C is 273.15 K.
    near("20 °C in kelvins", base(20.0, Unit::Celsius), 293.15, 1e-12);
    for (unit, factor) in [
        (Unit::Kilohm, 1e3),
        (Unit::Megohm, 1e6),
        (Unit::Kilohertz, 1e3),
        (Unit::Megahertz, 1e6),
        (Unit::Millihenry, 1e-3),
        (Unit::Microhenry, 1e-6),
        (Unit::Microfarad, 1e-6),
        (Unit::Nanofarad, 1e-9),
        (Unit::Picofarad, 1e-12),
        (Unit::PicofaradPerMetre, 1e-12),
        (Unit::Centimetre, 1e-2),
        (Unit::Millimetre, 1e-3),
        (Unit::Millisecond, 1e-3),
        (Unit::Microsecond, 1e-6),
        (Unit::Milliampere, 1e-3),
        (Unit::NanovoltPerRootHertz, 1e-9),
        (Unit::PicoamperePerRootHertz, 1e-12),
        (Unit::FemtoamperePerRootHertz, 1e-15),
        (Unit::Percent, 1e-2),
    ] {
        // SI prefixes.
        near(format!("{} over its base unit", unit.symbol()), base(7.0, unit) / (7.0 * factor), 1.0, 1e-14);
    }
}

fn sensitivity(text: &str) -> Sensitivity {
    text.parse::<Quantity>().unwrap().to().unwrap()
}

// IEC 60268-4: sensitivity is open-circuit voltage per pascal, and its level re 1 V/Pa. Older sheets give it per microbar,
// which is 0.1 Pa (a dyne per square centimetre), so 20 dB lower: −74 dB re 1 V/µbar is −54 dBV/Pa, about 2 mV/Pa.
#[test]
fn footings_of_sensitivity() {
    for (text, millivolts) in [
        ("-74 dB re 1 V/µbar", 1.9953),
        ("-54 dBV/Pa", 1.9953),
        ("-51.7815 dBu/Pa", 1.9953),
        ("1.9953 mV/Pa", 1.9953),
        ("0.0019953 V/Pa", 1.9953),
        ("0.19953 mV/µbar", 1.9953),
        ("-56 dB re 1 V/Pa", 1.5849),
        ("-40 dBV/Pa", 10.0),
        ("-60 dB re 1 V/ubar", 10.0),
        ("20 mV/Pa", 20.0),
    ] {
        let got = sensitivity(text).volts_per_pascal() * 1e3;
        near(format!("{text} in mV/Pa"), got, millivolts, 0.000_06);
    }
    near("2 mV/Pa in dBV/Pa", Unit::MillivoltPerPascal.to_base(2.0), -53.9794, 0.000_05);
    near("−74 dB re 1 V/µbar in dBV/Pa", Unit::DecibelVoltPerMicrobar.to_base(-74.0), -54.0, 1e-12);
    near("0.2 mV/µbar in dBV/Pa", Unit::MillivoltPerMicrobar.to_base(0.2), -53.9794, 0.000_05);
}

// Self-noise as a voltage: equivalent sound level on the sensitivity (IEC 60268-4, inherent noise). The values were computed
// outside this project with the round 94 dB for a pascal; it is 93.9794 dB (ISO 1683), so the exact ones lie 0.0206 dB higher.
#[test]
fn self_noise_as_a_voltage() {
    for (millivolts, dba, want) in [(20.0, 14.0, -111.76), (10.0, 7.0, -124.78)] {
        let sensitivity = sensitivity(&format!("{millivolts} mV/Pa"));
        let pressure = DbSpl::new(dba).pascals();
        let voltage = Volts::new(sensitivity.volts_per_pascal() * pressure.pascals());
        near(
            format!("{millivolts} mV/Pa, {dba} dBA in dBu A-weighted"),
            Dbu::from_volts(voltage).dbu(),
            want + 0.0206,
            0.0055,
        );
    }
}

// Voltage divider, 20 lg(RL/(RS + RL)); computed outside this project.
#[test]
fn loading_losses() {
    for (source, load, want) in
        [(150.0, 1500.0, -0.83), (200.0, 1000.0, -1.58), (150.0, 1000.0, -1.21), (1.0, 5.0, -1.58)]
    {
        let loss = Decibels::from_amplitude_ratio(load / (source + load));
        near(format!("{source} ohm into {load} ohm in dB"), loss.db(), want, 0.0055);
    }
}

// Definitions: ten decibels are a power ratio of ten, twenty an amplitude ratio of ten (ISO 80000-3).
#[test]
fn ratios() {
    for db in [-200.0, -60.0, -3.0103, 0.0, 1.0, 6.0206, 20.0, 120.0] {
        let difference = Decibels::new(db);
        near(
            format!("{db} dB from its power ratio"),
            Decibels::from_power_ratio(difference.power_ratio()).db(),
            db,
            1e-10,
        );
        near(
            format!("{db} dB from its amplitude ratio"),
            Decibels::from_amplitude_ratio(difference.amplitude_ratio()).db(),
            db,
            1e-10,
        );
        let squared = difference.amplitude_ratio() * difference.amplitude_ratio();
        near(format!("{db} dB, amplitude ratio squared"), squared / difference.power_ratio(), 1.0, 1e-12);
    }
    near("power ratio of 10 dB", Decibels::new(10.0).power_ratio(), 10.0, 1e-12);
    near("amplitude ratio of 20 dB", Decibels::new(20.0).amplitude_ratio(), 10.0, 1e-12);
    assert!(Decibels::from_power_ratio(0.0).db().is_infinite(), "nothing has no level");
}
