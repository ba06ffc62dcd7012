//! Where the label of a line ends and its value begins.

use crate::grammar::{Measure, SheetUnit};
use crate::lexicon::{Atom, Atoms, QUANTITIES};
use crate::scan::{Element, Kind, atoms_of};
use gainsay_units::Dimension;

fn is_word(element: &Element) -> bool {
    matches!(element.kind, Kind::Words(_) | Kind::Unknown)
}

/// Label and value around the first colon, or the label alone.
pub(super) fn split_at_colon(elements: &[Element]) -> (Vec<Element>, Vec<Element>) {
    let at = elements.iter().position(|e| e.kind == Kind::Colon && e.depth == 0);
    match at.and_then(|at| elements.get(..at).zip(elements.get(at + 1..))) {
        Some((before, after)) if before.iter().any(is_word) => (trimmed(before), sure_sign(after)),
        _ => (trimmed(elements), Vec::new()),
    }
}

/// Behind a colon or in a cell of its own, a dash before a figure is its sign.
pub(super) fn sure_sign(value: &[Element]) -> Vec<Element> {
    let mut value = value.to_vec();
    if let Some(Kind::Figure(measure)) = value.first_mut().map(|e| &mut e.kind) {
        measure.loose_sign = false;
    }
    value
}

/// Label and value of a line of one cell.
pub(super) fn split(elements: &[Element]) -> (Vec<Element>, Vec<Element>) {
    let (label, value) = split_at_colon(elements);
    if !value.is_empty() {
        return (label, value);
    }
    // "Equivalent input noise, 20 Hz – 20 kHz:" stands over its values.
    if elements.last().is_some_and(|e| e.kind == Kind::Colon) {
        return (trimmed(elements), Vec::new());
    }
    let equals = elements.iter().position(|e| e.kind == Kind::Equals && e.depth == 0);
    if let Some(at) = equals
        && let (Some(before), Some(after)) = (elements.get(..at), elements.get(at + 1..))
        && before.iter().any(is_word)
        && !before.iter().any(|e| e.depth == 0 && e.figure().is_some())
        && after.first().is_some_and(|e| e.figure().is_some())
        && !atoms_of(before).has(Atom::Source)
    {
        return (trimmed(before), after.to_vec());
    }
    let mut cued = false;
    for (at, element) in elements.iter().enumerate() {
        let Some(figure) = element.figure() else {
            let atoms = element.atoms();
            cued = match element.kind {
                Kind::At | Kind::Equals => true,
                // "The source impedance is 200 Ω": where nothing is named before, that names the figure.
                Kind::Words(_) => {
                    let named = elements.get(..at).is_some_and(|before| atoms_of(before).any(QUANTITIES));
                    atoms.has(Atom::At) || atoms.has(Atom::Source) && (named || !atoms.has(Atom::Impedance))
                }
                _ => false,
            };
            continue;
        };
        // "Maximum sound pressure level for 1 % THD" stands over its value.
        let share = dimension(figure) == Some(Dimension::Share)
            && elements.get(..at).is_some_and(|before| !fits(atoms_of(before), figure));
        // "The maximum input level lies at +5 dBu"
        let lies = cued && elements.get(..at).is_some_and(|before| lies_at(before, figure));
        let taken = element.depth == 0 && !figure.is_bare() && (!cued || lies) && !share;
        cued = false;
        if taken && let (Some(before), Some(after)) = (elements.get(..at), elements.get(at..)) {
            let label = trimmed(before);
            let quantities = atoms_of(&label).any(QUANTITIES);
            // "8 inputs with 60 dB gain": a count at the beginning belongs to the value, and the words behind name it.
            if label.first().is_some_and(|e| e.figure().is_some()) && (!quantities || counted_first(&label)) {
                return (Vec::new(), elements.to_vec());
            }
            if !label.iter().any(is_word) {
                return (Vec::new(), elements.to_vec());
            }
            return (label, after.to_vec());
        }
    }
    // "Gain range (60 dB)": the value in brackets.
    let atoms = atoms_of(elements);
    let inside = elements
        .iter()
        .position(|e| e.depth > 0 && e.figure().is_some_and(|m| !m.is_bare() && surely_fits(atoms, m)));
    if let Some(at) = inside
        && let Some(open) =
            elements.get(..at).and_then(|before| before.iter().rposition(|e| e.kind == Kind::Open))
        && let (Some(before), Some(after)) = (elements.get(..open), elements.get(open + 1..))
    {
        let lowered = after
            .iter()
            .map(|e| Element { depth: e.depth.saturating_sub(1), ..e.clone() })
            .filter(|e| e.kind != Kind::Close || e.depth > 0);
        return (trimmed(before), lowered.collect());
    }
    (trimmed(elements), Vec::new())
}

/// Whether "at" stands before the figure that a label names, not before a condition.
fn lies_at(before: &[Element], figure: &Measure) -> bool {
    let atoms = atoms_of(before);
    let has = |list: &[Atom]| atoms.any(Atoms::of(list));
    let at = before
        .last()
        .is_some_and(|e| e.atoms().has(Atom::At) && !e.atoms().any(Atoms::of(&[Atom::Load, Atom::Source])));
    let other =
        has(&[Atom::Ein, Atom::Noise, Atom::Distortion, Atom::Dynamic, Atom::SignalToNoise, Atom::Response]);
    let named = match dimension(figure) {
        Some(Dimension::Voltage) => has(&[Atom::Level, Atom::FullScale]),
        Some(Dimension::Resistance) => has(&[Atom::Impedance]),
        Some(Dimension::Sensitivity) => has(&[Atom::Sensitivity]),
        Some(Dimension::SoundLevel) => has(&[Atom::Spl, Atom::SelfNoise]),
        _ => false,
    };
    at && named && !other
}

/// "2 microphone inputs on XLR, input impedance 3 kΩ": a count with its words, and a figure behind a comma.
fn counted_first(label: &[Element]) -> bool {
    let comma = label.iter().position(|e| e.kind == Kind::Comma && e.depth == 0);
    comma
        .and_then(|at| label.get(..at))
        .is_some_and(|count| !atoms_of(count).without(Atoms::of(&[Atom::ConnectorOf])).any(QUANTITIES))
}

/// Without dashes, colons and equals signs at its end.
fn trimmed(label: &[Element]) -> Vec<Element> {
    let end = label
        .iter()
        .rposition(|e| {
            !matches!(e.kind, Kind::Dash | Kind::Colon | Kind::Equals | Kind::Comma | Kind::Semicolon)
        })
        .map_or(0, |at| at + 1);
    label.get(..end).unwrap_or_default().to_vec()
}

/// Whether a value without label names its own quantity: "60 dB gain", but not "0 dBu at 20 dB gain".
pub(super) fn own_quantity(elements: &[Element]) -> bool {
    let condition = |e: &&Element| {
        !matches!(e.kind, Kind::At | Kind::Open | Kind::Comma | Kind::Semicolon)
            && !e.atoms().any(Atoms::of(&[Atom::At, Atom::Source, Atom::With, Atom::Without]))
    };
    elements.iter().take_while(condition).any(|e| e.atoms().any(QUANTITIES))
}

fn dimension(measure: &Measure) -> Option<Dimension> {
    match measure.unit?.unit {
        SheetUnit::Known(unit) => Some(unit.dimension()),
        SheetUnit::Dbm | SheetUnit::Peak(_) | SheetUnit::PeakToPeak(_) => Some(Dimension::Voltage),
        SheetUnit::Other => None,
    }
}

/// Whether a figure can be the value of a label of this meaning; true where the label does not tell.
pub(crate) fn fits(atoms: Atoms, measure: &Measure) -> bool {
    // Volts for each pascal state what they are, whatever the label says.
    if dimension(measure) == Some(Dimension::Sensitivity) {
        return true;
    }
    expected(atoms).is_none_or(|dimensions| dimension(measure).is_some_and(|d| dimensions.contains(&d)))
}

/// Whether it surely is.
pub(crate) fn surely_fits(atoms: Atoms, measure: &Measure) -> bool {
    expected(atoms).is_some_and(|dimensions| dimension(measure).is_some_and(|d| dimensions.contains(&d)))
}

fn expected(atoms: Atoms) -> Option<&'static [Dimension]> {
    use Dimension as D;
    let has = |list: &[Atom]| atoms.any(Atoms::of(list));
    if has(&[Atom::Pad]) && has(&[Atom::Level, Atom::FullScale]) {
        // "Maximum input level, pad in" is a level; "Pad, input level" a ratio.
        return None;
    }
    Some(if has(&[Atom::Density]) {
        &[D::VoltageNoise, D::CurrentNoise]
    } else if has(&[Atom::Ein]) {
        &[D::Voltage, D::VoltageNoise, D::Ratio]
    } else if has(&[Atom::SelfNoise]) {
        &[D::SoundLevel, D::Ratio, D::Voltage, D::VoltageNoise]
    } else if has(&[Atom::Spl]) {
        &[D::SoundLevel, D::Ratio]
    } else if has(&[Atom::Sensitivity]) {
        &[D::Sensitivity, D::Voltage, D::Ratio]
    } else if has(&[Atom::Distortion]) {
        &[D::Share, D::Ratio]
    } else if has(&[
        Atom::Dynamic,
        Atom::SignalToNoise,
        Atom::Gain,
        Atom::Pad,
        Atom::Crosstalk,
        Atom::CommonMode,
    ]) {
        &[D::Ratio, D::SoundLevel, D::DigitalLevel]
    } else if has(&[Atom::SampleRate, Atom::Response]) {
        &[D::Frequency]
    } else if has(&[Atom::BitDepth]) {
        &[D::Width]
    } else if has(&[Atom::Latency]) {
        &[D::Time, D::Samples]
    } else if has(&[Atom::Impedance, Atom::Load]) {
        &[D::Resistance]
    } else if has(&[Atom::Level, Atom::FullScale]) && !has(&[Atom::Noise]) {
        &[D::Voltage, D::DigitalLevel, D::Ratio, D::SoundLevel]
    } else {
        return None;
    })
}
