//! Networks from the air to the file, each as plain numbers. From the same numbers come the files of a case, which the engine
//! reads, and what the checks compute: amplifier noise from the EIN, densities of every source of noise.

#![allow(dead_code, reason = "each test program uses a part")]
#![allow(clippy::disallowed_methods, reason = "the check must not lean on the mathematics of what it checks")]

use crate::independent::{
    BOLTZMANN, DBU_SQUARED, REFERENCE_PASCALS, ROOM_KELVIN, a_bandwidth, a_weighting, case, power, thermal,
    volts_squared,
};
use gainsay_plan::case::Pickup;
use gainsay_plan::stages::{Contributor, Setting, Stage};
use gainsay_plan::{Case, Chain, chain_of};
use gainsay_units::bands::BandPowers;
use gainsay_units::{Dbu, Decibels, Figure, Ohms, Weighting};

/// What feeds the line.
#[derive(Clone, Copy)]
pub(crate) enum Start {
    Microphone {
        millivolts_per_pascal: f64,
        /// A-weighted equivalent level of its own noise; none of a passive one, which has the thermal noise of its resistance.
        self_noise: Option<f64>,
        ohms: f64,
        henries: f64,
        directivity: f64,
        loud: f64,
        /// dBA; in these checks the room's noise is white.
        room: f64,
    },
    Output {
        loud: f64,
        /// dBu, unweighted.
        noise: f64,
        ohms: f64,
    },
}

/// How an amplifier's noise is stated.
#[derive(Clone, Copy)]
pub(crate) enum Noise {
    /// dBu, whether A-weighted, source in Ω; current noise in pA/√Hz, in the file if `stated`, else usual for the stage.
    OneEin { ein: f64, a: bool, source: f64, picoamperes: f64, stage: &'static str, stated: bool },
    /// Two of them, unweighted.
    TwoEins { first: (f64, f64), second: (f64, f64) },
    /// nV/√Hz and pA/√Hz.
    Densities { nanovolts: f64, picoamperes: f64 },
}

#[derive(Clone, Copy)]
pub(crate) struct Booster {
    pub(crate) gain: f64,
    pub(crate) noise: Noise,
    pub(crate) input_ohms: f64,
    pub(crate) output_ohms: f64,
}

#[derive(Clone, Copy)]
pub(crate) struct Line {
    pub(crate) full_scale: f64,
    /// dB, A-weighted.
    pub(crate) dynamic_range: f64,
    pub(crate) ohms: f64,
}

#[derive(Clone, Copy)]
pub(crate) struct Preamp {
    pub(crate) ohms: f64,
    pub(crate) noise: Noise,
    pub(crate) least_gain: f64,
    /// Gain above the lowest.
    pub(crate) above: f64,
    pub(crate) pad: Option<f64>,
    pub(crate) maximum_input: f64,
    /// dB, A-weighted.
    pub(crate) dynamic_range: f64,
    /// Of an external preamp: output resistance, maximum output, and the line input that takes it.
    pub(crate) external: Option<(f64, f64, Line)>,
}

#[derive(Clone, Copy)]
pub(crate) enum End {
    Preamp(Preamp),
    Line(Line),
}

#[derive(Clone, Copy)]
pub(crate) struct Network {
    pub(crate) name: &'static str,
    pub(crate) celsius: f64,
    pub(crate) start: Start,
    pub(crate) nanofarads: f64,
    pub(crate) phantom: bool,
    pub(crate) booster: Option<Booster>,
    pub(crate) end: End,
    pub(crate) bits: f64,
    pub(crate) sample_rate: f64,
}

pub(crate) const USUAL: Noise =
    Noise::OneEin { ein: -128.0, a: true, source: 150.0, picoamperes: 1.5, stage: "bipolar", stated: true };

pub(crate) const PREAMP: Preamp = Preamp {
    ohms: 3_000.0,
    noise: USUAL,
    least_gain: 0.0,
    above: 40.0,
    pad: None,
    maximum_input: 10.0,
    dynamic_range: 110.0,
    external: None,
};

pub(crate) const LINE: Line = Line { full_scale: 18.0, dynamic_range: 112.0, ohms: 10_000.0 };

pub(crate) const CONDENSER: Start = Start::Microphone {
    millivolts_per_pascal: 20.0,
    self_noise: Some(14.0),
    ohms: 50.0,
    henries: 0.0,
    directivity: 4.77,
    loud: 80.0,
    room: 22.0,
};

pub(crate) const BOOSTER: Booster = Booster {
    gain: 22.0,
    noise: Noise::OneEin {
        ein: -129.0,
        a: false,
        source: 150.0,
        picoamperes: 0.7,
        stage: "fet",
        stated: true,
    },
    input_ohms: 30_000.0,
    output_ohms: 120.0,
};

/// A passive microphone.
pub(crate) const fn coil(ohms: f64, henries: f64) -> Start {
    Start::Microphone {
        millivolts_per_pascal: 1.6,
        self_noise: None,
        ohms,
        henries,
        directivity: 4.77,
        loud: 84.0,
        room: 18.0,
    }
}

pub(crate) const PLAIN: Network = Network {
    name: "",
    celsius: 20.0,
    start: CONDENSER,
    nanofarads: 0.0,
    phantom: false,
    booster: None,
    end: End::Preamp(PREAMP),
    bits: 24.0,
    sample_rate: 48_000.0,
};

/// The networks. Their figures are common practice, no source; nothing is checked about them but that the engine and the
/// checks make the same of them.
pub(crate) fn networks() -> Vec<Network> {
    vec![
        Network { name: "condenser of 50 ohm with phantom feeds", phantom: true, ..PLAIN },
        Network { name: "passive 150 ohm, no phantom feeds", start: coil(150.0, 0.0), ..PLAIN },
        Network {
            name: "passive 150 ohm with phantom feeds",
            start: coil(150.0, 0.0),
            phantom: true,
            ..PLAIN
        },
        Network { name: "passive 200 ohm, 2 nF", start: coil(200.0, 0.0), nanofarads: 2.0, ..PLAIN },
        Network {
            name: "passive 600 ohm, 5 nF, densities, hot room, 44.1 kHz",
            start: coil(600.0, 0.0),
            nanofarads: 5.0,
            celsius: 35.0,
            sample_rate: 44_100.0,
            end: End::Preamp(Preamp {
                noise: Noise::Densities { nanovolts: 1.3, picoamperes: 2.2 },
                ohms: 1_500.0,
                ..PREAMP
            }),
            ..PLAIN
        },
        Network {
            name: "passive 2.2 kilohms, two EINs, resistive",
            start: coil(2_200.0, 0.0),
            end: End::Preamp(Preamp {
                noise: Noise::TwoEins { first: (-128.2, 150.0), second: (-120.5, 1_000.0) },
                ohms: 5_000.0,
                ..PREAMP
            }),
            ..PLAIN
        },
        Network {
            name: "passive 10 kilohms into 100 kilohms, resistive, cold room",
            start: coil(10_000.0, 0.0),
            celsius: 5.0,
            end: End::Preamp(Preamp {
                noise: Noise::OneEin {
                    ein: -124.0,
                    a: false,
                    source: 150.0,
                    picoamperes: 0.02,
                    stage: "fet",
                    stated: false,
                },
                ohms: 100_000.0,
                ..PREAMP
            }),
            ..PLAIN
        },
        Network {
            name: "moving coil of 250 ohm and 1 mH, 1 nF",
            start: coil(250.0, 1e-3),
            nanofarads: 1.0,
            ..PLAIN
        },
        Network {
            name: "instrument pickup of 10 kilohms and 3 H, 500 pF, 1 megohm",
            start: Start::Microphone {
                millivolts_per_pascal: 50.0,
                self_noise: None,
                ohms: 10_000.0,
                henries: 3.0,
                directivity: 30.0,
                loud: 90.0,
                room: 30.0,
            },
            nanofarads: 0.5,
            end: End::Preamp(Preamp {
                noise: Noise::Densities { nanovolts: 9.0, picoamperes: 0.05 },
                ohms: 1e6,
                above: 20.0,
                ..PREAMP
            }),
            ..PLAIN
        },
        Network {
            name: "instrument pickup of 8 kilohms and 3 H, 700 pF, into transistors",
            start: Start::Microphone {
                millivolts_per_pascal: 50.0,
                self_noise: None,
                ohms: 8_000.0,
                henries: 3.0,
                directivity: 30.0,
                loud: 90.0,
                room: 30.0,
            },
            nanofarads: 0.7,
            end: End::Preamp(Preamp {
                noise: Noise::Densities { nanovolts: 3.0, picoamperes: 1.5 },
                ohms: 300_000.0,
                above: 20.0,
                ..PREAMP
            }),
            ..PLAIN
        },
        Network {
            name: "condenser of 200 ohm on a very long cable, 5 nF, with phantom feeds",
            start: Start::Microphone {
                millivolts_per_pascal: 12.0,
                self_noise: Some(18.0),
                ohms: 200.0,
                henries: 0.0,
                directivity: 0.0,
                loud: 94.0,
                room: 26.0,
            },
            nanofarads: 5.0,
            phantom: true,
            ..PLAIN
        },
        Network {
            name: "booster behind 200 ohm, resistive, noisy preamp",
            start: coil(200.0, 0.0),
            phantom: true,
            booster: Some(BOOSTER),
            end: End::Preamp(Preamp {
                noise: Noise::OneEin {
                    ein: -118.0,
                    a: true,
                    source: 150.0,
                    picoamperes: 1.5,
                    stage: "bipolar",
                    stated: false,
                },
                ohms: 2_200.0,
                above: 36.0,
                dynamic_range: 98.0,
                ..PREAMP
            }),
            ..PLAIN
        },
        Network {
            name: "booster behind 300 ohm and 1 mH, second cable of 3 nF",
            start: coil(300.0, 1e-3),
            nanofarads: 3.0,
            phantom: true,
            booster: Some(Booster { input_ohms: 2_000.0, output_ohms: 600.0, ..BOOSTER }),
            end: End::Preamp(Preamp { above: 30.0, ..PREAMP }),
            ..PLAIN
        },
        Network {
            name: "pad on, resistive",
            start: coil(200.0, 0.0),
            end: End::Preamp(Preamp { pad: Some(20.0), above: 0.0, ..PREAMP }),
            ..PLAIN
        },
        Network {
            name: "pad on, with phantom feeds, 2 nF and current noise of a transformer",
            phantom: true,
            nanofarads: 2.0,
            end: End::Preamp(Preamp {
                noise: Noise::OneEin {
                    ein: -125.0,
                    a: false,
                    source: 200.0,
                    picoamperes: 2.0,
                    stage: "transformer",
                    stated: false,
                },
                pad: Some(15.0),
                above: 25.0,
                ..PREAMP
            }),
            ..PLAIN
        },
        Network {
            name: "external preamp with output noise into a line input, resistive",
            start: coil(200.0, 0.0),
            end: End::Preamp(Preamp {
                least_gain: 6.0,
                above: 30.0,
                maximum_input: 16.0,
                dynamic_range: 104.0,
                external: Some((300.0, 22.0, LINE)),
                ..PREAMP
            }),
            ..PLAIN
        },
        Network {
            name: "booster, 1 nF, external preamp limited by its input, line input of 2 kilohms",
            start: coil(250.0, 1e-3),
            nanofarads: 1.0,
            phantom: true,
            booster: Some(BOOSTER),
            end: End::Preamp(Preamp {
                least_gain: 4.0,
                above: 12.0,
                maximum_input: 12.0,
                dynamic_range: 108.0,
                external: Some((600.0, 24.0, Line { ohms: 2_000.0, dynamic_range: 100.0, ..LINE })),
                ..PREAMP
            }),
            ..PLAIN
        },
        Network {
            name: "external preamp stated by its densities, phantom feeds",
            phantom: true,
            end: End::Preamp(Preamp {
                noise: Noise::Densities { nanovolts: 2.0, picoamperes: 1.0 },
                least_gain: 10.0,
                above: 20.0,
                maximum_input: 14.0,
                dynamic_range: 106.0,
                external: Some((100.0, 20.0, LINE)),
                ..PREAMP
            }),
            ..PLAIN
        },
        Network {
            name: "output of 500 ohm into a line input, resistive",
            start: Start::Output { loud: -4.0, noise: -86.0, ohms: 500.0 },
            end: End::Line(LINE),
            ..PLAIN
        },
        Network {
            name: "output of 8 kilohms into an instrument input of 1 megohm, 5 nF",
            start: Start::Output { loud: -18.0, noise: -100.0, ohms: 8_000.0 },
            nanofarads: 5.0,
            end: End::Line(Line { full_scale: 11.0, dynamic_range: 105.0, ohms: 1e6 }),
            ..PLAIN
        },
        Network {
            name: "converter noise and 16 bit dither at the lowest gain, resistive",
            start: Start::Microphone {
                millivolts_per_pascal: 30.0,
                self_noise: Some(10.0),
                ohms: 100.0,
                henries: 0.0,
                directivity: 4.77,
                loud: 110.0,
                room: 15.0,
            },
            phantom: true,
            bits: 16.0,
            end: End::Preamp(Preamp { above: 0.0, dynamic_range: 94.0, ..PREAMP }),
            ..PLAIN
        },
    ]
}

/// Squared densities of an amplifier's input noise, V²/Hz and A²/Hz: undo weighting and bandwidth of the EIN, take off the
/// thermal noise of its source at 20 °C; with one EIN take off what the current noise makes in that source, with two solve for
/// both (Motchenbacher and Connelly 1993, formulas from memory).
pub(crate) fn amplifier(noise: Noise) -> (f64, f64) {
    match noise {
        Noise::OneEin { picoamperes, source, .. } => {
            let current = (picoamperes * 1e-12).powi(2);
            let voltage = ein_density(noise) - thermal(source, ROOM_KELVIN) - current * source * source;
            assert!(
                voltage > current * source * source,
                "these checks keep to EINs that voltage noise rules"
            );
            (voltage, current)
        }
        Noise::TwoEins { first, second } => {
            let rest =
                |(ein, source): (f64, f64)| volts_squared(ein) / 19_980.0 - thermal(source, ROOM_KELVIN);
            let current = (rest(second) - rest(first)) / (second.1 * second.1 - first.1 * first.1);
            let voltage = rest(first) - current * first.1 * first.1;
            assert!(
                voltage > 0.0 && current > 0.0,
                "these checks keep to possible pairs: {voltage:e} V²/Hz, {current:e} A²/Hz"
            );
            (voltage, current)
        }
        Noise::Densities { nanovolts, picoamperes } => {
            ((nanovolts * 1e-9).powi(2), (picoamperes * 1e-12).powi(2))
        }
    }
}

/// Squared density of the EIN with its source, V²/Hz.
pub(crate) fn ein_density(noise: Noise) -> f64 {
    match noise {
        Noise::OneEin { ein, a, .. } => volts_squared(ein) / if a { a_bandwidth() } else { 19_980.0 },
        Noise::TwoEins { first: (ein, _), .. } => volts_squared(ein) / 19_980.0,
        Noise::Densities { .. } => f64::NAN,
    }
}

impl Network {
    pub(crate) fn kelvin(&self) -> f64 {
        self.celsius + 273.15
    }

    pub(crate) fn is_resistive(&self) -> bool {
        let coil = matches!(self.start, Start::Microphone { henries, .. } if henries > 0.0);
        !coil && self.nanofarads < 1e-9
    }

    /// RMS of the loudest passage's open-circuit voltage, V.
    pub(crate) fn emf(&self) -> f64 {
        match self.start {
            Start::Microphone { millivolts_per_pascal, loud, .. } => {
                millivolts_per_pascal / 1e3 * REFERENCE_PASCALS * power(loud).sqrt()
            }
            Start::Output { loud, .. } => volts_squared(loud).sqrt(),
        }
    }

    pub(crate) fn source_ohms(&self) -> f64 {
        match self.start {
            Start::Microphone { ohms, .. } | Start::Output { ohms, .. } => ohms,
        }
    }

    /// Squared densities of what is white ahead of the line, V²/Hz: of the room, of the microphone's or output's own.
    pub(crate) fn ahead(&self) -> (f64, f64) {
        match self.start {
            Start::Microphone { millivolts_per_pascal, self_noise, ohms, directivity, room, .. } => {
                let volts = |level: f64| {
                    (millivolts_per_pascal / 1e3 * REFERENCE_PASCALS).powi(2) * power(level) / a_bandwidth()
                };
                (volts(room - directivity), self_noise.map_or(thermal(ohms, self.kelvin()), volts))
            }
            Start::Output { noise, .. } => (0.0, volts_squared(noise) / 19_980.0),
        }
    }

    /// Squared density of the preamp's noise behind its gain, V²/Hz at its output; of the converter, re full scale.
    pub(crate) fn behind(&self) -> (f64, f64) {
        let of_line = |line: Line| power(-line.dynamic_range) / a_bandwidth();
        let preamp = match self.end {
            End::Line(line) => return (0.0, of_line(line)),
            End::Preamp(preamp) => preamp,
        };
        // What the input itself adds at the lowest gain, in the measurement of the dynamic range.
        let input = match preamp.noise {
            Noise::Densities { .. } => {
                let (voltage, current) = amplifier(preamp.noise);
                voltage + current * 150.0 * 150.0 + thermal(150.0, self.kelvin())
            }
            stated => ein_density(stated),
        };
        match preamp.external {
            None => {
                let all = power(-preamp.dynamic_range) / a_bandwidth();
                let own = all - input / volts_squared(preamp.maximum_input);
                assert!(own > 0.0, "{}: the converter must have noise of its own", self.name);
                (0.0, own)
            }
            Some((_, maximum_output, line)) => {
                let highest = maximum_output.min(preamp.maximum_input + preamp.least_gain);
                let all = volts_squared(highest) * power(-preamp.dynamic_range) / a_bandwidth();
                let own = all - input * power(preamp.least_gain);
                assert!(own > 0.0, "{}: the output must have noise of its own", self.name);
                (own, of_line(line))
            }
        }
    }

    /// Squared density of triangular dither with rounding re a full-scale sine (Lipshitz, Wannamaker and Vanderkooy 1992):
    /// q²/4, from 0 Hz to half the sample rate.
    pub(crate) fn dither(&self) -> f64 {
        let q = 2.0 / 2.0_f64.powf(self.bits);
        q * q / 4.0 / 0.5 / (self.sample_rate / 2.0)
    }

    /// Full scale as a squared voltage, at the preamp's output inside an interface or at the line input.
    pub(crate) fn full_scale(&self) -> f64 {
        volts_squared(match self.end {
            End::Line(line) => line.full_scale,
            End::Preamp(Preamp { external: Some((_, _, line)), .. }) => line.full_scale,
            End::Preamp(preamp) => preamp.maximum_input + preamp.least_gain,
        })
    }

    pub(crate) fn setting(&self) -> Setting {
        match self.end {
            End::Line(_) => Setting::default(),
            End::Preamp(preamp) => Setting {
                above_least: Decibels::new(preamp.above),
                pad: preamp.pad.is_some(),
                microphone_pad: false,
            },
        }
    }

    /// Stages whose levels are compared, in order, with those of them whose noise is.
    pub(crate) fn stages(&self) -> Vec<(Stage, bool)> {
        let mut stages = vec![(Stage::Microphone, true)];
        if self.booster.is_some() {
            // The booster's own noise is not in the stage of its input terminals, of which the levels are compared.
            stages.extend([(Stage::BoosterIn, false), (Stage::BoosterOut, true)]);
        }
        match self.end {
            End::Line(_) => stages.push((Stage::LineIn, true)),
            End::Preamp(preamp) => {
                stages.extend([(Stage::PreampIn, true), (Stage::PreampOut, true)]);
                if preamp.external.is_some() {
                    stages.push((Stage::LineIn, true));
                }
            }
        }
        stages.push((Stage::File, true));
        stages
    }

    /// The engine's chain, with white noise as signal and as the room's noise.
    pub(crate) fn chain(&self) -> Chain {
        let (mut chain, _) = chain_of(&self.case(), 0).unwrap().unwrap();
        chain.spectrum = white();
        let shape = white();
        chain.room_shape = shape.scaled(1.0 / shape.weighted(Weighting::A.band_gains()));
        assert_eq!(chain.phantom, self.phantom, "{}: phantom power", self.name);
        chain
    }

    /// The case, read from the files that say what this network says.
    pub(crate) fn case(&self) -> Case {
        let mut files = vec![(
            "gear/line.toml".to_owned(),
            "name = \"Line\"\ntype = \"cable\"\n[cable]\ncapacitance = \"1000 pF/m\"\n".to_owned(),
        )];
        let mut source = format!(
            "[[source]]\nname = \"Source\"\ncable = \"{} m\"\ncable_kind = \"line\"\n",
            self.nanofarads
        );
        let mut room = format!("[room]\ntemperature = \"{} °C\"\n", self.celsius);
        match self.start {
            Start::Microphone {
                millivolts_per_pascal,
                self_noise,
                ohms,
                henries,
                directivity,
                loud,
                room: noise,
            } => {
                source += "kind = \"speech normal\"\nmicrophone = \"microphone\"\n";
                source += &format!(
                    "loud = \"{loud} dB SPL\"\nquiet = \"{} dB SPL\"\ncrest = \"12 dB\"\n",
                    loud - 30.0
                );
                room += &format!("noise = \"{noise} dBA\"\n");
                let needs = if self.phantom { "required" } else { "ignored" };
                let (transducer, own) = match self_noise {
                    Some(level) => ("condenser", format!("self_noise = \"{level} dBA\"\n")),
                    None => ("moving-coil", String::new()),
                };
                files.push((
                    "gear/microphone.toml".to_owned(),
                    format!(
                        "name = \"Microphone\"\ntype = \"microphone\"\n[microphone]\ntransducer = \"{transducer}\"\n\
                         phantom = \"{needs}\"\nsensitivity = \"{millivolts_per_pascal} mV/Pa\"\nimpedance = \"{ohms} ohm\"\n\
                         inductance = \"{} mH\"\nmaximum_spl = \"140 dB SPL\"\ndirectivity_index = \"{directivity} dB\"\n{own}",
                        henries * 1e3
                    ),
                ));
            }
            Start::Output { .. } => source += "kind = \"keyboard line output\"\ncrest = \"14 dB\"\n",
        }
        if let Some(booster) = self.booster {
            source += "booster = \"booster\"\n";
            files.push((
                "gear/booster.toml".to_owned(),
                format!(
                    "name = \"Booster\"\ntype = \"booster\"\n[booster]\ngain = \"{} dB\"\ninput_impedance = \"{} ohm\"\n\
                     output_impedance = \"{} ohm\"\nmaximum_output = \"20 dBu\"\n{}",
                    booster.gain,
                    booster.input_ohms,
                    booster.output_ohms,
                    noise_lines(booster.noise)
                ),
            ));
        }
        let line_input = |line: Line| {
            format!(
                "[[line_inputs]]\ncount = 1\nfull_scale = \"{} dBu\"\ndynamic_range = \"{} dB (A-weighted)\"\n\
                 input_impedance = \"{} ohm\"\ninstrument = {}\n",
                line.full_scale,
                line.dynamic_range,
                line.ohms,
                self.source_ohms() > 2_000.0
            )
        };
        let interface = match self.end {
            End::Line(line) => line_input(line),
            End::Preamp(preamp) => {
                let mut text = format!(
                    "[[microphone_inputs]]\ncount = 1\nphantom = true\nleast_gain = \"{} dB\"\ngain_range = \"60 dB\"\n\
                     gain_accuracy = \"0 dB\"\nmaximum_input = \"{} dBu\"\ninput_impedance = \"{} ohm\"\n\
                     dynamic_range = \"{} dB (A-weighted)\"\n{}",
                    preamp.least_gain,
                    preamp.maximum_input,
                    preamp.ohms,
                    preamp.dynamic_range,
                    noise_lines(preamp.noise)
                );
                if let Some(pad) = preamp.pad {
                    text += &format!("pad = \"{pad} dB\"\n");
                }
                match preamp.external {
                    None => text,
                    Some((ohms, maximum_output, line)) => {
                        text += &format!(
                            "output_impedance = \"{ohms} ohm\"\nmaximum_output = \"{maximum_output} dBu\"\n"
                        );
                        files.push((
                            "gear/preamp.toml".to_owned(),
                            format!("name = \"Preamp\"\ntype = \"preamp\"\n{text}"),
                        ));
                        line_input(line).replace("instrument = true", "instrument = false")
                    }
                }
            }
        };
        files.push((
            "gear/interface.toml".to_owned(),
            format!("name = \"Interface\"\ntype = \"interface\"\n{interface}"),
        ));
        let owned: String = files
            .iter()
            .filter(|(path, _)| path.ends_with("interface.toml") || path.ends_with("preamp.toml"))
            .map(|(path, _)| {
                let id = path.trim_start_matches("gear/").trim_end_matches(".toml");
                format!("[[owned]]\ndevice = \"{id}\"\n")
            })
            .collect();
        let session = format!(
            "[session]\nsample_rate = \"{} Hz\"\nbit_depth = \"{} bit\"\n",
            self.sample_rate, self.bits
        );
        files.insert(0, ("case.toml".to_owned(), format!("{session}{room}{source}{owned}")));
        let files: Vec<(&str, &str)> =
            files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
        let mut case = case(&files);
        if let Start::Output { loud, noise, ohms } = self.start {
            // A case file can't state the levels of an electrical source.
            let exact = |level: f64| Figure::exact(Dbu::new(level), format!("{level} dBu"));
            case.sources[0].pickup = Pickup::Electrical {
                quiet: exact(loud - 30.0),
                loud: exact(loud),
                noise: exact(noise),
                impedance: Figure::exact(Ohms::new(ohms), format!("{ohms} ohm")),
            };
        }
        case
    }
}

fn noise_lines(noise: Noise) -> String {
    match noise {
        Noise::OneEin { ein, a, source, picoamperes, stage, stated } => {
            let weighting = if a { "A-weighted" } else { "unweighted" };
            let mut text =
                format!("input_stage = \"{stage}\"\nein = \"{ein} dBu ({weighting}, {source} ohm)\"\n");
            if stated {
                text += &format!("input_noise_current = \"{picoamperes} pA/√Hz\"\n");
            }
            text
        }
        Noise::TwoEins { first, second } => format!(
            "ein = \"{} dBu (unweighted, {} ohm)\"\nein_second = \"{} dBu (unweighted, {} ohm)\"\n",
            first.0, first.1, second.0, second.1
        ),
        Noise::Densities { nanovolts, picoamperes } => format!(
            "input_noise_voltage = \"{nanovolts} nV/√Hz\"\ninput_noise_current = \"{picoamperes} pA/√Hz\"\n"
        ),
    }
}

/// White noise, its powers adding up to one.
pub(crate) fn white() -> BandPowers {
    let white = BandPowers::white();
    white.scaled(1.0 / white.total())
}

/// Levels of a resistive network in closed form.
pub(crate) struct Closed {
    pub(crate) stage: Stage,
    /// RMS level of the loudest passage.
    pub(crate) loud: f64,
    /// Squared density of each contributor re the stage's reference squared, white.
    pub(crate) noise: Vec<(Contributor, f64)>,
}

impl Closed {
    pub(crate) fn flat(&self) -> f64 {
        10.0 * (self.noise.iter().map(|(_, d)| d).sum::<f64>() * 19_980.0).log10()
    }

    pub(crate) fn a_weighted(&self) -> f64 {
        10.0 * (self.noise.iter().map(|(_, d)| d).sum::<f64>() * a_bandwidth()).log10()
    }
}

/// Divider of resistances: the loads across the line in parallel; |H|² and the squared resistance that the amplifier sees.
fn divider(source: f64, input: f64, phantom: bool) -> (f64, f64) {
    let load = if phantom { input * 13_620.0 / (input + 13_620.0) } else { input };
    let h = load / (source + load);
    let seen = source * load / (source + load);
    (h * h, seen * seen)
}

/// Every stage of a resistive network by plain algebra.
pub(crate) fn closed_form(network: &Network) -> Vec<Closed> {
    assert!(network.is_resistive());
    let mut at = Running { stages: Vec::new(), loud: network.emf().powi(2), noise: Vec::new() };
    let (room, own) = network.ahead();
    match network.start {
        Start::Microphone { .. } => {
            at.add(Contributor::Room, room);
            at.add(Contributor::Microphone, own);
        }
        Start::Output { .. } => at.add(Contributor::Output, own),
    }
    at.push(Stage::Microphone, DBU_SQUARED);
    let feeds = 4.0 * BOLTZMANN * network.kelvin() / 13_620.0;
    let mut source = network.source_ohms();
    let mut feeds_here = network.phantom;
    if let Some(booster) = network.booster {
        let (h, seen) = divider(source, booster.input_ohms, false);
        at.times(h);
        at.push(Stage::BoosterIn, DBU_SQUARED);
        let (voltage, current) = amplifier(booster.noise);
        at.add(Contributor::Booster, voltage + current * seen);
        at.times(power(booster.gain));
        at.push(Stage::BoosterOut, DBU_SQUARED);
        source = booster.output_ohms;
        feeds_here = true;
    }
    let input = match network.end {
        End::Preamp(preamp) => preamp.ohms,
        End::Line(line) => line.ohms,
    };
    let (h, seen) = divider(source, input, feeds_here);
    at.times(h);
    if feeds_here {
        at.add(Contributor::PhantomFeeds, feeds * seen);
    }
    let (after_gain, converter) = network.behind();
    match network.end {
        End::Line(_) => at.push(Stage::LineIn, DBU_SQUARED),
        End::Preamp(preamp) => {
            let (voltage, current) = amplifier(preamp.noise);
            match preamp.pad {
                Some(pad) => {
                    at.times(power(-pad));
                    at.add(Contributor::Pad, thermal(150.0, network.kelvin()));
                    at.add(Contributor::Preamp, voltage + current * 150.0 * 150.0);
                }
                None => at.add(Contributor::Preamp, voltage + current * seen),
            }
            at.push(Stage::PreampIn, DBU_SQUARED);
            at.times(power(preamp.least_gain + preamp.above));
            if preamp.external.is_some() {
                at.add(Contributor::AfterGain, after_gain);
            }
            at.push(Stage::PreampOut, DBU_SQUARED);
            if let Some((ohms, _, line)) = preamp.external {
                at.times((line.ohms / (line.ohms + ohms)).powi(2));
                at.push(Stage::LineIn, DBU_SQUARED);
            }
        }
    }
    at.times(1.0 / network.full_scale());
    at.add(Contributor::Converter, converter);
    at.add(Contributor::Dither, network.dither());
    at.push(Stage::File, 1.0);
    at.stages
}

struct Running {
    stages: Vec<Closed>,
    loud: f64,
    noise: Vec<(Contributor, f64)>,
}

impl Running {
    fn add(&mut self, contributor: Contributor, density: f64) {
        self.noise.push((contributor, density));
    }

    fn times(&mut self, factor: f64) {
        self.loud *= factor;
        self.noise.iter_mut().for_each(|(_, density)| *density *= factor);
    }

    fn push(&mut self, stage: Stage, reference: f64) {
        self.stages.push(Closed {
            stage,
            loud: 10.0 * (self.loud / reference).log10(),
            noise: self.noise.iter().map(|(c, d)| (*c, d / reference)).collect(),
        });
    }
}

/// A-weighted and unweighted power of a contributor whose squared density over frequency is given.
pub(crate) fn powers(frequencies: &[f64], density: &[f64]) -> (f64, f64) {
    let weighted: Vec<f64> = frequencies.iter().zip(density).map(|(f, d)| d * a_weighting(*f)).collect();
    (crate::independent::simpson(frequencies, density), crate::independent::simpson(frequencies, &weighted))
}
