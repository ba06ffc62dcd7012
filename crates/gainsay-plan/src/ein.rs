//! What the noise figures of an input leave open, and what is taken for it.

use gainsay_gear::USUAL_SOURCE;
use gainsay_gear::front_end::InputStage;
use gainsay_units::noise::effective_bandwidth;
use gainsay_units::{
    Conditions, CurrentNoiseDensity, Dbu, Decibels, Figure, Ohms, Origin, Quantity, Stated, Weighting,
};
use std::sync::LazyLock;

/// The highest source impedance with which an EIN is measured where the sheet names none; the lowest is a short (common
/// practice: 150 Ω and 200 Ω are usual, and some sheets short the input without saying so).
pub(crate) const HIGHEST_SOURCE: Ohms = Ohms::new(200.0);

/// How much higher an EIN without a stated weighting would read without one, at most: it may be A-weighted already. None where
/// the weighting is stated.
pub(crate) fn unknown_weighting(conditions: &Conditions) -> Option<Decibels> {
    if conditions.weighting.is_some() {
        return None;
    }
    let [flat, a] = [Weighting::Flat, Weighting::A].map(|w| effective_bandwidth(w, conditions.band).hertz());
    Some(Decibels::from_power_ratio(flat / a))
}

/// Whether two EINs were measured with different sources, so that they tell voltage from current noise.
pub(crate) fn differ(first: Option<&Stated<Dbu>>, second: &Stated<Dbu>) -> bool {
    let source = |stated: &Stated<Dbu>| {
        stated.figure().and_then(|figure| figure.conditions.source_impedance).unwrap_or(USUAL_SOURCE).ohms()
    };
    first.is_some_and(|first| (source(first) - source(second)).abs() > 1.0)
}

/// The current noise that is usual for what an input is built from; bipolar transistors where nobody says.
pub(crate) fn usual_current_noise(stage: Option<InputStage>) -> Option<Figure<CurrentNoiseDensity>> {
    type Usual = Option<Figure<CurrentNoiseDensity>>;
    static USUAL: LazyLock<[(InputStage, Usual); 4]> = LazyLock::new(|| {
        [InputStage::Bipolar, InputStage::Fet, InputStage::Transformer, InputStage::Valve]
            .map(|stage| (stage, current_noise_of(stage)))
    });
    let stage = stage.unwrap_or(InputStage::Bipolar);
    USUAL.iter().find(|(known, _)| *known == stage).and_then(|(_, usual)| usual.clone())
}

fn current_noise_of(stage: InputStage) -> Option<Figure<CurrentNoiseDensity>> {
    let quantity: Quantity = stage.typical_current_noise().parse().ok()?;
    let figure = Figure::<CurrentNoiseDensity>::from_quantity(&quantity, Origin::Typical).ok()?;
    Some(Figure { note: Some(format!("usual for {} (common practice, no source)", stage.words())), ..figure })
}

#[cfg(test)]
mod tests {
    use crate::case::{CaseFile, FilePart, assemble};
    use crate::chain::{Chain, Ending};
    use crate::draws::Draws;
    use crate::footing::{Measure, footing};
    use crate::patch::best;
    use gainsay_gear::{Catalogue, Device};
    use gainsay_units::noise::BOLTZMANN;
    use gainsay_units::{Kelvin, Origin};

    /// What the check takes for an input's noise and what the footing says of it are the same, however vague the sheet is.
    #[test]
    fn check_and_footing_take_the_same_for_what_a_sheet_leaves_open() {
        for (ein, apart) in [
            ("-128 dBu (unweighted, 150 ohm)", 0.02),
            ("-128 dBu (A-weighted, 150 ohm)", 0.02),
            // The middle of what is open is not quite the median of what comes of it.
            ("-128 dBu (150 ohm)", 0.1),
            ("-125 dBu", 0.3),
            ("-128 dBu", 0.6),
        ] {
            let device = format!(
                "name = \"Box\"\ntype = \"interface\"\n[[microphone_inputs]]\nphantom = true\nein = \"{ein}\"\n\
                 [device]\ncomputer = \"usb\"\n"
            );
            let device = Device::from_toml(&device, "box", Origin::Sheet).unwrap();
            let case = "[[source]]\nkind = \"speech normal\"\n[[owned]]\ndevice = \"Box\"\n";
            let part = FilePart { file: CaseFile::from_toml(case).unwrap() };
            let case = assemble(&[part], std::slice::from_ref(&device), Catalogue::embedded()).unwrap();
            let patch = best(&case).unwrap();
            let chain = Chain::new(&case, &case.sources[0], patch.inputs[0].as_ref().unwrap()).unwrap();
            let Ending::Preamp(preamp) = &chain.ending else { panic!("a microphone input") };
            let noise = chain.amplifier_noise(&preamp.noise);
            let thermal = 4.0 * BOLTZMANN * Kelvin::ROOM.kelvin() * 150.0;
            let density = noise.voltage + noise.current * 150.0 * 150.0 + thermal;
            let checked = 10.0 * gainsay_units::math::log10(density * 19_980.0 / 0.6);
            let footing = footing(&device, Catalogue::embedded(), Draws::default()).unwrap();
            let footed = footing.groups[0].get(Measure::Ein).unwrap().estimate.median;
            let off = checked - footed;
            assert!(
                off.abs() <= apart,
                "{ein}: {checked:.2} dBu, footing {footed:.2} dBu, off by {off:+.2} dB"
            );
        }
    }
}
