#![cfg(test)]
//! Which ends can be joined, and with what.
//!
//! Published: IEC 61938:2018 (phantom power), AES3-2009 and AES-3id, IEC 60958-3, AES10-2008, AES67-2013, in the two tables
//! beside this file, which say row by row what was checked and what is from memory. All else is common practice, no source.

use gainsay_gear::connection::{Connector, DigitalFormat, Medium, Standing, WORD_CLOCK};
use gainsay_gear::microphone::PhantomNeed;
use gainsay_plan::patch::joining::{
    AnalogueInput, AnalogueOutput, CableUse, DigitalEnd, Fault, Join, LengthVerdict, Level, Part, Phantom,
    Remedy, Warning, check_length, join_analogue, join_digital, length_limit, word_clock_parts,
};
use gainsay_plan::words::joining::{Asked, length, sentence, sentences};
use gainsay_units::{Amperes, Metres};

use Connector::{
    Bnc, Captive, D25, Ethernet, Fibre, JackBalanced, JackUnbalanced, MiniJack, Optical, Phono, Usb, Xlr,
    XlrOrJack,
};
use Level::{Instrument, Line, Microphone};

const DIGITAL: &str = include_str!("joining_tables/digital_connections.csv");
const PHANTOM: &str = include_str!("joining_tables/phantom_power.csv");

fn near(what: &str, got: f64, want: f64, allowed: f64) {
    let off = got - want;
    assert!(off.abs() <= allowed, "{what}: {got}, wanted {want}, off by {off}");
}

/// A row of a table, by what its first cell starts with.
fn row<'a>(table: &'a str, name: &str) -> Vec<&'a str> {
    let mut rows = table.lines().filter(|line| line.starts_with(name));
    let row = rows.next().unwrap_or_else(|| panic!("no row {name}"));
    assert!(rows.next().is_none(), "two rows {name}");
    row.split(',').collect()
}

/// The numbers in a cell.
fn numbers(cell: &str) -> Vec<f64> {
    let parts = cell.split(|c: char| !c.is_ascii_digit() && c != '.');
    parts.filter_map(|part| part.parse().ok()).collect()
}

#[test]
fn channels_as_published() {
    let rates = [[44_100.0, 48_000.0], [88_200.0, 96_000.0], [176_400.0, 192_000.0]];
    for (name, format) in [
        ("two-channel balanced", DigitalFormat::Aes3),
        ("two-channel unbalanced professional", DigitalFormat::Aes3),
        ("two-channel consumer coax", DigitalFormat::Iec60958Coaxial),
        ("two-channel consumer optical", DigitalFormat::Iec60958Optical),
        ("eight-channel optical", DigitalFormat::EightChannelOptical),
        ("MADI 56-channel", DigitalFormat::Aes10Varispeed),
        ("MADI 64-channel", DigitalFormat::Aes10),
        ("AES67 stream 1 ms packets", DigitalFormat::Aes67),
    ] {
        let cells = row(DIGITAL, name);
        for (column, rates) in rates.iter().enumerate() {
            // The table says nothing of AES67 above 96 kHz.
            let Some(want) = numbers(cells[2 + column]).first().copied() else { continue };
            for rate in rates {
                near(&format!("{name} at {rate} Hz"), f64::from(format.channels_at(*rate)), want, 0.0);
            }
        }
        assert_eq!(format.channels_at(384_000.0), 0, "{name} at 384 kHz");
    }
}

#[test]
fn impedances_and_lengths_as_published() {
    for (name, format, connector, medium) in [
        ("two-channel balanced", DigitalFormat::Aes3, Xlr, Medium::TwistedPair),
        ("two-channel unbalanced professional", DigitalFormat::Aes3, Bnc, Medium::Coaxial),
        ("two-channel consumer coax", DigitalFormat::Iec60958Coaxial, Phono, Medium::Coaxial),
        ("two-channel consumer optical", DigitalFormat::Iec60958Optical, Optical, Medium::PlasticFibre),
        ("eight-channel optical", DigitalFormat::EightChannelOptical, Optical, Medium::PlasticFibre),
        ("MADI 64-channel", DigitalFormat::Aes10, Bnc, Medium::Coaxial),
        ("MADI 64-channel", DigitalFormat::Aes10, Fibre, Medium::MultimodeFibre),
        ("MADI 56-channel", DigitalFormat::Aes10Varispeed, Bnc, Medium::Coaxial),
        ("AES67 stream 1 ms packets", DigitalFormat::Aes67, Ethernet, Medium::NetworkCable),
    ] {
        let cells = row(DIGITAL, name);
        let carriage = format.carriage_on(connector).unwrap_or_else(|| panic!("{name} on {connector:?}"));
        assert_eq!(carriage.medium, medium, "{name}");
        // The row of AES10 gives the coaxial cable's.
        let impedance = numbers(cells[6]).first().copied().filter(|_| medium != Medium::MultimodeFibre);
        assert_eq!(carriage.impedance.map(|ohms| ohms.ohms()), impedance, "{name}: impedance");
        let lengths = numbers(cells[7]);
        let (least, most) = match (lengths.as_slice(), medium) {
            ([coaxial, _], Medium::Coaxial) => (*coaxial, *coaxial),
            ([_, fibre], Medium::MultimodeFibre) => (*fibre, *fibre),
            ([least, most], _) => (*least, *most),
            ([one], _) => (*one, *one),
            other => panic!("{name}: {other:?}"),
        };
        near(&format!("{name}: usual length"), carriage.usual_length.metres(), least, 0.0);
        near(&format!("{name}: longest"), carriage.longest.metres(), most, 0.0);
    }
    near("word clock", WORD_CLOCK.impedance.unwrap().ohms(), numbers(row(DIGITAL, "word clock")[6])[0], 0.0);
    // AES3-2009: 2 to 7 V at 110 Ω, 1 V at 75 Ω; IEC 60958-3: 0.5 V.
    let volts = |format: DigitalFormat, connector| format.carriage_on(connector).unwrap().signal.unwrap();
    assert_eq!((volts(DigitalFormat::Aes3, Xlr).least, volts(DigitalFormat::Aes3, Xlr).most), (2.0, 7.0));
    near("AES3 on coaxial cable in V", volts(DigitalFormat::Aes3, Bnc).most, 1.0, 0.0);
    near("IEC 60958-3 in V", volts(DigitalFormat::Iec60958Coaxial, Phono).most, 0.5, 0.0);
}

// IEC 61938:2018; the last columns of the table are Ohm's law, computed apart.
#[test]
fn phantom_power_as_published() {
    for (name, phantom) in [
        ("P48,", Phantom::P48),
        ("P24,", Phantom::P24),
        ("P12,", Phantom::P12),
        ("P12L,", Phantom::P12_LOW),
        ("SP48,", Phantom::P48_STRONG),
    ] {
        let cells: Vec<f64> = row(PHANTOM, name)[1..].iter().map(|cell| cell.parse().unwrap()).collect();
        let [volts, _, ohms, most, left, short, _] = cells[..] else { panic!("{name} {cells:?}") };
        near(&format!("{name} supply in V"), phantom.supply.volts(), volts, 0.0);
        near(&format!("{name} feed in Ω"), phantom.feed.ohms(), ohms, 0.0);
        near(&format!("{name} most in mA"), 1e3 * phantom.most.amperes(), most, 1e-9);
        near(&format!("{name} left in V"), phantom.left_at(phantom.most).volts(), left, 0.005);
        near(&format!("{name} both legs in mA"), 1e3 * phantom.into_both_legs().amperes(), short, 0.005);
        near(&format!("{name} one leg in mA"), 1e3 * phantom.into_one_leg().amperes(), short / 2.0, 0.005);
    }
    near("P48 without a load", Phantom::P48.left_at(Amperes::new(0.0)).volts(), 48.0, 0.0);
}

fn output(connector: Connector, balanced: bool, level: Level) -> AnalogueOutput {
    let phantom = if level == Microphone { PhantomNeed::Ignored } else { PhantomNeed::Harmful };
    AnalogueOutput { connector, balanced, level, phantom }
}

fn input(connector: Connector, balanced: bool, level: Level) -> AnalogueInput {
    AnalogueInput { connector, balanced, level, phantom: false }
}

fn with_phantom(input: AnalogueInput) -> AnalogueInput {
    AnalogueInput { phantom: true, ..input }
}

fn fits(join: &Join) -> Part {
    match join {
        Join::Fits { cable, .. } => *cable,
        other => panic!("{other:?}"),
    }
}

#[test]
fn plain_cables() {
    let microphone = output(Xlr, true, Microphone);
    assert_eq!(fits(&join_analogue(microphone, input(Xlr, true, Microphone))), Part::MicrophoneCable);
    assert_eq!(fits(&join_analogue(microphone, input(XlrOrJack, true, Microphone))), Part::MicrophoneCable);
    let to_line = |from, balanced| join_analogue(output(from, balanced, Line), input(XlrOrJack, true, Line));
    let join = to_line(JackBalanced, true);
    assert_eq!((fits(&join), join.warnings()), (Part::JackCable { balanced: true }, &[][..]));
    let xlr_to_jack = Part::CableBetween { from: Xlr, to: JackBalanced, balanced: true };
    assert_eq!(fits(&join_analogue(output(Xlr, true, Line), input(JackBalanced, true, Line))), xlr_to_jack);
    let join = to_line(JackUnbalanced, false);
    assert_eq!((fits(&join), join.warnings()), (Part::JackCable { balanced: false }, &[Warning::MayHum][..]));
    let join = to_line(Phono, false);
    let phono_to_jack = Part::CableBetween { from: Phono, to: JackUnbalanced, balanced: false };
    assert_eq!((fits(&join), join.warnings()), (phono_to_jack, &[Warning::MayHum][..]));
    let join = to_line(MiniJack, false);
    assert_eq!(fits(&join), Part::SplitCable { to: JackUnbalanced });
    assert!(join.warnings().contains(&Warning::TwoChannels), "{join:?}");
    let join = join_analogue(output(Xlr, true, Line), input(JackUnbalanced, false, Line));
    assert_eq!(fits(&join), Part::CableBetween { from: Xlr, to: JackUnbalanced, balanced: false });
    assert_eq!(join.warnings(), [Warning::SecondLegOpen, Warning::MayHum]);
    let guitar = output(JackUnbalanced, false, Instrument);
    let join = join_analogue(guitar, input(XlrOrJack, false, Instrument));
    assert_eq!((fits(&join), join.warnings()), (Part::InstrumentCable, &[][..]));
}

// AES59-2012: eight channels on one 25-way D.
#[test]
fn breakout_looms() {
    let d25 = output(D25, true, Line);
    assert_eq!(fits(&join_analogue(d25, input(D25, true, Line))), Part::D25Cable);
    for (connector, plug) in [(Xlr, Xlr), (XlrOrJack, JackBalanced), (JackBalanced, JackBalanced)] {
        let parts = vec![Part::BreakoutLoom { to: plug }];
        assert_eq!(
            join_analogue(d25, input(connector, true, Line)),
            Join::WithAdapter { parts: parts.clone(), warnings: vec![] }
        );
        let from = output(connector, true, Line);
        assert_eq!(
            join_analogue(from, input(D25, true, Line)),
            Join::WithAdapter { parts, warnings: vec![] }
        );
    }
}

#[test]
fn wrong_levels() {
    let join = join_analogue(output(JackBalanced, true, Line), input(XlrOrJack, true, Microphone));
    let Join::Wrong { why: Fault::TooStrong { .. }, remedies } = &join else { panic!("{join:?}") };
    assert_eq!(remedies, &[Remedy::Input(Line), Remedy::Part(Part::Attenuator { db: 20 })]);
    let join = join_analogue(output(Xlr, true, Microphone), input(JackBalanced, true, Line));
    let Join::Wrong { why: Fault::TooWeak { .. }, remedies } = &join else { panic!("{join:?}") };
    assert!(remedies.contains(&Remedy::Part(Part::MicrophonePreamp)));
    for level in [Line, Microphone] {
        let join = join_analogue(output(JackUnbalanced, false, Instrument), input(XlrOrJack, true, level));
        let Join::Wrong { why: Fault::LoadsPickup, remedies } = &join else { panic!("{join:?}") };
        assert_eq!(remedies, &[Remedy::Input(Instrument), Remedy::Part(Part::DiBox)]);
    }
}

#[test]
fn phantom_power_where_it_does_not_belong() {
    let socket = with_phantom(input(XlrOrJack, true, Microphone));
    // A keyboard over an adapter cable: one leg lies on the screen, 48 V over 6.8 kΩ (IEC 61938).
    let join = join_analogue(output(JackUnbalanced, false, Line), socket);
    let Join::Damaging { why: Fault::PhantomIntoOutput { current }, remedies } = &join else {
        panic!("{join:?}")
    };
    near("into a keyboard in mA", 1e3 * current.amperes(), 7.06, 0.005);
    assert_eq!(remedies[0], Remedy::Part(Part::DiBox));
    let join = join_analogue(output(Xlr, true, Line), socket);
    let Join::Damaging { why: Fault::PhantomIntoOutput { current }, .. } = &join else { panic!("{join:?}") };
    near("into a balanced output in mA", 1e3 * current.amperes(), 14.12, 0.005);
    // Without phantom power the same is only too strong.
    let off = AnalogueInput { phantom: false, ..socket };
    assert_eq!(join_analogue(output(Xlr, true, Line), off).severity(), 2);
    // Phantom power comes on at the XLR contacts alone.
    let jack = with_phantom(input(XlrOrJack, true, Line));
    assert!(join_analogue(output(JackUnbalanced, false, Line), jack).works());

    // A vintage ribbon; a condenser with and without what it needs.
    let microphone = |phantom| AnalogueOutput { phantom, ..output(Xlr, true, Microphone) };
    let join = join_analogue(microphone(PhantomNeed::Harmful), socket);
    assert_eq!(
        join,
        Join::Damaging { why: Fault::PhantomIntoMicrophone, remedies: vec![Remedy::PhantomOff] }
    );
    assert!(join_analogue(microphone(PhantomNeed::Harmful), off).works());
    let join = join_analogue(microphone(PhantomNeed::Required), off);
    let Join::Wrong { why: Fault::NoPhantom, remedies } = &join else { panic!("{join:?}") };
    assert_eq!(remedies[0], Remedy::PhantomOn);
    let join = join_analogue(microphone(PhantomNeed::Required), socket);
    assert_eq!(join.warnings(), [Warning::PatchWithPhantomOff]);

    // A lapel microphone on plug-in power needs an adapter, with phantom power on or off.
    let lapel = AnalogueOutput { phantom: PhantomNeed::Harmful, ..output(MiniJack, false, Microphone) };
    for socket in [socket, off] {
        let parts = vec![Part::PlugInPowerAdapter, Part::MicrophoneCable];
        let warnings = vec![Warning::AdapterNeedsPhantom];
        assert_eq!(join_analogue(lapel, socket), Join::WithAdapter { parts, warnings });
    }
    let join = join_analogue(lapel, input(MiniJack, false, Microphone));
    assert_eq!(join.warnings(), [Warning::InputGivesPlugInPower]);
    let join = join_analogue(lapel, input(JackUnbalanced, false, Microphone));
    assert!(matches!(join, Join::Wrong { why: Fault::NoPlugInPower, .. }), "{join:?}");
}

const CONNECTORS: [Connector; 13] = [
    Xlr,
    JackBalanced,
    JackUnbalanced,
    XlrOrJack,
    MiniJack,
    Phono,
    Bnc,
    Optical,
    Fibre,
    D25,
    Ethernet,
    Usb,
    Captive,
];

fn all_outputs() -> Vec<AnalogueOutput> {
    let mut outputs = Vec::new();
    for connector in CONNECTORS {
        for balanced in [false, true] {
            for level in [Microphone, Line, Instrument] {
                for phantom in [PhantomNeed::Required, PhantomNeed::Ignored, PhantomNeed::Harmful] {
                    outputs.push(AnalogueOutput { connector, balanced, level, phantom });
                }
            }
        }
    }
    outputs
}

fn all_inputs() -> Vec<AnalogueInput> {
    let mut inputs = Vec::new();
    for connector in CONNECTORS {
        for balanced in [false, true] {
            for level in [Microphone, Line, Instrument] {
                for phantom in [false, true] {
                    inputs.push(AnalogueInput { connector, balanced, level, phantom });
                }
            }
        }
    }
    inputs
}

// Every pair of analogue ends, against what must hold whatever the cable is.
#[test]
fn all_pairs_of_analogue_ends() {
    let (mut pairs, mut counts) = (0, [0; 4]);
    for output in all_outputs() {
        for input in all_inputs() {
            let (from, to) = (output.connector, input.connector);
            let join = join_analogue(output, input);
            let says = format!("{output:?} into {input:?}: {join:?}");
            pairs += 1;
            counts[usize::from(join.severity())] += 1;
            let analogue = |c| !matches!(c, Bnc | Optical | Fibre | Ethernet | Usb);
            if !analogue(from) || !analogue(to) {
                assert!(matches!(join, Join::Wrong { why: Fault::NotAnalogue(_), .. }), "{says}");
                continue;
            }
            let on_pins = input.phantom && (to == Xlr || (to == XlrOrJack && input.level == Microphone));
            let lapel = from == MiniJack && output.level == Microphone;
            let one_leg = !output.balanced || matches!(from, JackUnbalanced | MiniJack | Phono);
            let endangered = one_leg || output.phantom == PhantomNeed::Harmful;
            let damaging = matches!(join, Join::Damaging { .. });
            assert_eq!(damaging, on_pins && endangered && !lapel, "{says}");
            let same = output.level == input.level || (output.level == Line && input.level == Instrument);
            assert!(!join.works() || same, "levels differ: {says}");
            let unpowered = if lapel {
                !(matches!(to, Xlr | MiniJack | Captive) || to == XlrOrJack && input.level == Microphone)
            } else {
                output.phantom == PhantomNeed::Required && output.level == Microphone && !on_pins
            };
            assert_eq!(join.works(), !damaging && same && !unpowered, "{says}");
            if let Join::Fits { cable: Part::CableBetween { balanced, .. }, .. } = join {
                assert!(!balanced || (output.balanced && input.balanced && !one_leg), "{says}");
            }
            let text = sentence(&Asked { from: "A".to_owned(), to: "B".to_owned(), join });
            assert!(text.ends_with('.') && !text.contains("  "), "{text}");
        }
    }
    assert_eq!(pairs, 13 * 13 * 18 * 12);
    assert!(counts.iter().all(|count| *count > 100), "{counts:?}");
}

fn end(format: DigitalFormat, connector: Connector) -> DigitalEnd {
    DigitalEnd { format, connector, switched_from: None }
}

#[test]
fn digital_ends() {
    use DigitalFormat as F;
    let join = |a, b| join_digital(a, b);
    let plain = |a, b, cable| {
        let join = join_digital(a, b);
        assert_eq!((fits(&join), join.warnings()), (cable, &[][..]), "{a:?} {b:?}");
    };
    plain(end(F::Iec60958Optical, Optical), end(F::Iec60958Optical, Optical), Part::PlasticFibre);
    plain(end(F::EightChannelOptical, Optical), end(F::EightChannelOptical, Optical), Part::PlasticFibre);
    plain(end(F::Iec60958Coaxial, Phono), end(F::Iec60958Coaxial, Phono), Part::DigitalPhonoCable);
    plain(end(F::Aes3, Xlr), end(F::Aes3, Xlr), Part::DigitalPair);
    plain(end(F::Aes3, Bnc), end(F::Aes3, Bnc), Part::BncCable);
    plain(end(F::Aes3, D25), end(F::Aes3, D25), Part::D25Cable);
    plain(end(F::Aes10, Bnc), end(F::Aes10, Bnc), Part::BncCable);
    plain(end(F::Aes10, Fibre), end(F::Aes10, Fibre), Part::DuplexFibre);
    plain(end(F::Aes67, Ethernet), end(F::Aes67, Ethernet), Part::NetworkCable);

    // 110 Ω and 2 to 7 V against 75 Ω and 0.5 V, either way.
    let (pair, coaxial) = (end(F::Aes3, Xlr), end(F::Iec60958Coaxial, Phono));
    let parts = vec![Part::DigitalPair, Part::DigitalTransformer, Part::DigitalPhonoCable];
    let warnings = vec![Warning::ChannelStatus];
    assert_eq!(join(pair, coaxial), Join::WithAdapter { parts: parts.clone(), warnings: warnings.clone() });
    let back = parts.into_iter().rev().collect();
    assert_eq!(join(coaxial, pair), Join::WithAdapter { parts: back, warnings });
    let join_bnc = join(end(F::Aes3, Bnc), coaxial);
    assert!(join_bnc.works() && join_bnc.warnings().contains(&Warning::VoltageDiffers), "{join_bnc:?}");
    let across = join(end(F::Aes3, Xlr), end(F::Aes3, Bnc));
    let Join::WithAdapter { parts, .. } = &across else { panic!("{across:?}") };
    assert!(parts.contains(&Part::DigitalTransformer), "{across:?}");
    let light = join(coaxial, end(F::Iec60958Optical, Optical));
    let Join::WithAdapter { parts, .. } = &light else { panic!("{light:?}") };
    assert_eq!(parts, &[Part::DigitalPhonoCable, Part::OpticalConverter, Part::PlasticFibre]);

    // The same plug with another format: nothing breaks, nothing works, and a switch helps.
    let (two, eight) = (end(F::Iec60958Optical, Optical), end(F::EightChannelOptical, Optical));
    let wrong = join(two, eight);
    let Join::Wrong { why: Fault::SamePlugOtherFormat(..), remedies } = &wrong else { panic!("{wrong:?}") };
    assert!(remedies.contains(&Remedy::SwitchTo(F::EightChannelOptical)));
    let switched = DigitalEnd { switched_from: Some(F::Iec60958Optical), ..eight };
    assert_eq!(join(switched, eight).warnings(), [Warning::SwitchSender(F::EightChannelOptical)]);
    assert_eq!(join(eight, switched).warnings(), [Warning::SwitchReceiver(F::EightChannelOptical)]);
    assert!(matches!(join(eight, pair), Join::Wrong { why: Fault::OtherFormat(..), .. }));
    assert!(matches!(
        join(end(F::Aes3, Optical), pair),
        Join::Wrong { why: Fault::NotOnThisConnector(..), .. }
    ));
    let mixed = join(end(F::Aes10Varispeed, Bnc), end(F::Aes10, Bnc));
    assert_eq!(mixed.warnings(), [Warning::SameChannelCount]);
    // Adapters never help where the numbers of channels differ in kind, and no digital joint breaks anything.
    let formats = [
        F::Aes3,
        F::Iec60958Coaxial,
        F::Iec60958Optical,
        F::EightChannelOptical,
        F::Aes10,
        F::Aes10Varispeed,
        F::Aes67,
    ];
    let two_channels = |format: F| format.channels_at(48_000.0) == 2;
    for (from, a) in formats.iter().flat_map(|f| CONNECTORS.iter().map(move |c| (*f, *c))) {
        for (to, b) in formats.iter().flat_map(|f| CONNECTORS.iter().map(move |c| (*f, *c))) {
            let join = join(end(from, a), end(to, b));
            assert!(join.severity() < 3, "{from:?} {a:?} {to:?} {b:?}: {join:?}");
            let found =
                |format: F, connector| connector == Captive || format.carriage_on(connector).is_some();
            if from == to {
                assert_eq!(
                    join.works(),
                    found(from, a) && found(to, b),
                    "{from:?} from {a:?} to {b:?}: {join:?}"
                );
            } else if join.works() {
                let aes10 = |format| matches!(format, F::Aes10 | F::Aes10Varispeed);
                let alike = (two_channels(from) && two_channels(to)) || (aes10(from) && aes10(to));
                assert!(alike, "{from:?} to {to:?}: {join:?}");
            }
        }
    }
}

#[test]
fn word_clock_takes_t_pieces_and_one_terminator() {
    assert_eq!(word_clock_parts(0, false), []);
    assert_eq!(word_clock_parts(1, true), [Part::WordClockCables { count: 1 }]);
    assert_eq!(
        word_clock_parts(3, false),
        [Part::WordClockCables { count: 3 }, Part::TPieces { count: 3 }, Part::Terminator]
    );
    assert_eq!(word_clock_parts(3, true), [Part::WordClockCables { count: 3 }, Part::TPieces { count: 2 }]);
}

#[test]
fn lengths() {
    let pair = CableUse::Digital(DigitalFormat::Aes3, Xlr);
    let optical = CableUse::Digital(DigitalFormat::EightChannelOptical, Optical);
    let of = |used, metres| check_length(used, Metres::new(metres)).unwrap();
    assert_eq!(of(pair, 100.0), LengthVerdict::Fine);
    assert!(matches!(of(pair, 101.0), LengthVerdict::TooLong(_)));
    assert_eq!(of(optical, 3.0), LengthVerdict::Fine);
    assert!(matches!(of(optical, 8.0), LengthVerdict::Doubtful(_)));
    assert!(matches!(of(optical, 15.0), LengthVerdict::TooLong(_)));
    assert_eq!(length(of(optical, 3.0)), None);
    let text = length(of(optical, 15.0)).unwrap();
    assert!(text.contains("10 m") && text.contains("from memory"), "{text}");
    let text = length(of(pair, 120.0)).unwrap();
    assert!(text.contains("100 m") && text.contains("AES3") && !text.contains("memory"), "{text}");
    assert_eq!(check_length(CableUse::Digital(DigitalFormat::Aes3, Optical), Metres::new(1.0)), None);
    assert_eq!(check_length(CableUse::WordClock, Metres::new(f64::NAN)), None);
    // A microphone of 200 Ω and 100 pF/m between the legs: the longest cable must let 20 kHz pass by the RC low-pass
    // 1/(2πRC); a line of 100 Ω all the more.
    let longest = length_limit(CableUse::Balanced).unwrap().longest.metres();
    let corner = 1.0 / (2.0 * std::f64::consts::PI * 200.0 * 100e-12 * longest);
    assert!(corner > 20_000.0, "at {longest} m the corner lies at {corner} Hz");
    for used in
        [CableUse::Balanced, CableUse::Unbalanced, CableUse::Instrument, CableUse::WordClock, pair, optical]
    {
        let limit = length_limit(used).unwrap();
        assert!(limit.usual <= limit.longest && limit.usual.metres() > 0.0, "{limit:?}");
        let published = used == pair;
        assert_eq!(limit.standing == Standing::Published, published, "{limit:?}");
    }
}

// What may break something is said first, and in words.
#[test]
fn the_worst_first() {
    let asked = |from: &str, to: &str, join| Asked { from: from.to_owned(), to: to.to_owned(), join };
    let microphone = join_analogue(output(Xlr, true, Microphone), input(Xlr, true, Microphone));
    let strong = join_analogue(output(Xlr, true, Line), input(Xlr, true, Microphone));
    let keyboard =
        join_analogue(output(JackUnbalanced, false, Line), with_phantom(input(Xlr, true, Microphone)));
    let said = sentences(&[
        asked("the microphone", "input 1", microphone),
        asked("the preamp", "input 2", strong),
        asked("the keyboard", "input 3", keyboard),
    ]);
    assert_eq!(
        said,
        [
            "Never plug the keyboard into input 3: phantom power would push up to 7 mA into an output that is not made for \
             it. Instead: put a DI box between, or use a line input.",
            "The preamp does not belong in input 2: the signal is too strong for this input, by some 40 dB. Instead: use a \
             line input, or put an attenuator of 20 dB between.",
            "From the microphone to input 1: a microphone cable.",
        ]
    );
}
