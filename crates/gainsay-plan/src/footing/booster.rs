//! Boosters on one footing.

use super::amplifier::{Amplifier, NoiseFields};
use super::figures::Figures;
use super::{GroupFooting, GroupKind, Measure, WindowPoint, estimate};
use crate::chain::MissingFigure;
use crate::draws::Draws;
use gainsay_gear::{Booster, Device};

pub(super) fn footing(
    device: &Device,
    booster: &Booster,
    draws: Draws,
) -> Result<GroupFooting, MissingFigure> {
    let mut figures = Figures::new(device, None, draws);
    let gain = figures.of("gain", booster.gain.as_ref())?;
    let maximum_output = figures.of("maximum output", booster.maximum_output.as_ref())?;
    let fields = NoiseFields {
        voltage: booster.input_noise_voltage.as_ref(),
        current: booster.input_noise_current.as_ref(),
        ein: booster.ein.as_ref(),
        second: None,
        stage: booster.input_stage,
    };
    let amplifier = Amplifier::of(&mut figures, &fields)?;
    let input_impedance = figures.of("input impedance", booster.input_impedance.as_ref())?;
    let maximum_input = maximum_output.with(&gain, |output, gain| output - gain);
    let ein = amplifier.ein();
    let range = maximum_input.with(&ein, |maximum, noise| maximum - noise);
    let point = WindowPoint {
        gain_db: estimate(&gain.values).median,
        ceiling: estimate(&maximum_input.values),
        noise: estimate(&ein.values),
    };
    let mut list = vec![gain.as_figure(Measure::Gain), maximum_input.as_figure(Measure::MaximumInput)];
    list.extend(amplifier.figures());
    list.push(input_impedance.as_figure(Measure::InputImpedance));
    list.push(range.as_figure(Measure::DynamicRange));
    Ok(GroupFooting {
        label: None,
        count: 1,
        kind: GroupKind::Booster,
        figures: list,
        window: vec![point],
        doubts: amplifier.doubts,
        basis: figures.basis,
    })
}
