//! What kind of device the text describes.

use crate::clause::dimension;
use crate::facts::Fact;
use crate::lexicon::{Atom as A, Atoms, FORMATS};
use gainsay_gear::DeviceType;
use gainsay_units::Dimension;

/// The kinds in the order of likelihood, with the weight of what speaks for each.
pub(crate) fn weigh(facts: &[Fact], title: Atoms) -> Vec<(DeviceType, i32)> {
    let any = |test: &dyn Fn(&Fact) -> bool| facts.iter().any(test);
    let count = |test: &dyn Fn(&Fact) -> bool| {
        i32::try_from(facts.iter().filter(|f| test(f)).count().min(4)).unwrap_or(4)
    };
    let dim = |fact: &Fact| fact.clause.measure.as_ref().and_then(dimension);
    let named = |atom: A| title.has(atom) || any(&|f: &Fact| f.clause.own.has(atom) || f.label.has(atom));

    let sensitivity = any(&|f| dim(f) == Some(Dimension::Sensitivity))
        || any(&|f| {
            f.has(A::Sensitivity)
                && f.has(A::Sensitivity)
                && dim(f).is_some()
                && !f.has(A::Input)
                && !f.has(A::Line)
        });
    let acoustic =
        any(&|f| f.has(A::Spl) && dim(f).is_some()) || any(&|f| f.has(A::SelfNoise) && dim(f).is_some());
    let pattern = any(&|f| f.has(A::PatternOf) || f.label.has(A::PatternOf));
    let transducer = any(&|f| f.has(A::TransducerOf) || f.has(A::Capsule));
    let gain = count(&|f| f.has(A::Gain) && dim(f) == Some(Dimension::Ratio));
    let noise = any(&|f| f.has(A::Ein) && dim(f) == Some(Dimension::Voltage));
    let rates = any(&|f| f.has(A::SampleRate) && dim(f) == Some(Dimension::Frequency))
        || any(&|f| dim(f) == Some(Dimension::Width));
    let formats = any(&|f| (f.clause.own.any(FORMATS) || f.channel.any(FORMATS)) && !f.has(A::ClockOf));
    let conversion = any(&|f| f.has(A::Adc) || f.has(A::Dac)) || title.has(A::Adc) || title.has(A::Dac);
    let computer = any(&|f| {
        f.label.has(A::Usb)
            || f.clause.own.has(A::Usb)
            || f.label.has(A::PciExpress)
            || f.clause.own.has(A::PciExpress)
            || f.channel.has(A::Computer)
            || f.clause.own.has(A::Recorder)
    }) && !any(&|f| f.label.has(A::Supply) && f.clause.own.has(A::Usb))
        || title.has(A::Usb);
    let microphone_inputs = any(&|f| {
        (f.channel.has(A::Microphone) || f.clause.own.has(A::Microphone))
            && (f.side.has(A::Input) || f.clause.own.has(A::Input) || f.has(A::Gain))
    });
    let draws = any(&|f| f.has(A::Consumption) && dim(f) == Some(Dimension::Current));
    let passes = any(&|f| f.has(A::Passes));
    let level_out = any(&|f| f.side.has(A::Output) && dim(f) == Some(Dimension::Voltage));
    let line = any(&|f| f.channel.has(A::Line) || f.side.has(A::Output));

    let yes = |condition: bool, weight: i32| if condition { weight } else { 0 };
    let microphone = yes(sensitivity, 6)
        + yes(acoustic, 4)
        + yes(pattern, 4)
        + yes(transducer, 3)
        + yes(title.has(A::KindMicrophone) && !title.has(A::Input) && !title.has(A::Preamp), 3)
        - yes(gain > 0, 5)
        - yes(rates, 3)
        - yes(noise, 2);
    let booster = yes(named(A::KindBooster), 8)
        + yes(passes, 4)
        + yes(gain > 0 && draws && !acoustic && !rates, 3)
        + yes(any(&|f| f.has(A::Fixed) && f.has(A::Gain)), 2)
        - yes(rates, 4)
        - yes(acoustic, 3)
        - yes(computer, 4);
    let interface = yes(named(A::KindInterface), 6)
        + yes(computer, 5)
        + yes(rates, 2)
        + yes(microphone_inputs, 1)
        + yes(conversion, 1)
        - yes(title.has(A::KindPreamp), 2)
        - yes(acoustic, 4)
        - yes(title.has(A::KindConverter), 3);
    let converter = yes(named(A::KindConverter), 6)
        + yes(title.has(A::Converter), 4)
        + yes(conversion, 2)
        + yes(rates, 2)
        + yes(formats, 3)
        - yes(computer, 3)
        - yes(acoustic, 4)
        - yes(title.has(A::KindInterface), 4);
    let preamp = yes(title.has(A::KindPreamp), 6)
        + yes(gain > 0 && !rates, 4)
        + yes(noise && !rates, 2)
        + yes(level_out || line, 1)
        - yes(rates, 2)
        - yes(formats, 2)
        - yes(computer, 4)
        - yes(acoustic, 5)
        - yes(named(A::KindBooster), 4);
    let mut all = vec![
        (DeviceType::Microphone, microphone),
        (DeviceType::Booster, booster),
        (DeviceType::Interface, interface),
        (DeviceType::Converter, converter),
        (DeviceType::Preamp, preamp),
    ];
    // Stable: of equals the first stays first.
    all.sort_by_key(|(_, weight)| std::cmp::Reverse(*weight));
    all
}

/// Two kinds whose weights lie closer than this are not told apart by the text.
pub(crate) const CLEAR: i32 = 2;
