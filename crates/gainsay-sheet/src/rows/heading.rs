//! Headings: what they say about the lines below, and how long it holds.

use super::Value;
use super::reader::Reader;
use crate::lexicon::{
    Atom, Atoms, CONNECTORS, FORMATS, KINDS, PATTERNS, PLACES, QUANTITIES, SIDES, TRANSDUCERS,
};
use crate::scan::{Element, Kind, atoms_of};
use crate::text::Line;

/// A heading that holds.
#[derive(Debug, Clone, Copy)]
pub(super) struct Section {
    /// Its rank: the smaller, the further out.
    level: u8,
    pub(super) atoms: Atoms,
    /// The indent up to which a line ends it, where it is a row over rows that stand deeper.
    indent: Option<usize>,
    /// Whether an empty line ends it.
    block: bool,
}

/// The rank of a heading that nothing marks as one.
const UNMARKED: u8 = 10;

/// What is said of a whole device.
const WHOLE: Atoms = Atoms::of(&[
    Atom::SampleRate,
    Atom::BitDepth,
    Atom::ClockOf,
    Atom::Supply,
    Atom::Physical,
    Atom::Consumption,
    Atom::Computer,
    Atom::Price,
]);

impl Reader<'_> {
    /// Ends the sections that do not reach to this line.
    pub(super) fn leave_sections(&mut self, line: &Line<'_>, pairs: bool) {
        self.sections.retain(|section| {
            section.indent.is_none_or(|indent| line.indent > indent) && !(section.block && line.after_blank)
        });
        if pairs && line.after_blank {
            self.sections.retain(|section| section.level < UNMARKED);
            self.open.clear();
        }
    }

    /// "Line outputs: 8, balanced" over rows that stand deeper speaks of them, too.
    pub(super) fn section_of_row(&mut self, line: &Line<'_>, label: Atoms) {
        let place = label.both(PLACES);
        let names = label.without(Atoms::of(&[Atom::CountOf, Atom::ConnectorOf])).any(QUANTITIES);
        if place.is_empty() || names {
            return;
        }
        // The next such row ends what the one before it said of a block.
        self.sections.retain(|section| !section.block);
        let digital =
            FORMATS.and(Atoms::of(&[Atom::WordClock, Atom::Digital, Atom::Computer, Atom::Phantom]));
        if self.deeper_below {
            let indent = Some(line.indent);
            self.sections.push(Section { level: UNMARKED + 4, atoms: place, indent, block: false });
        } else if (line.after_blank || self.blocks) && !place.any(digital) {
            self.sections.push(Section { level: UNMARKED + 4, atoms: place, indent: None, block: true });
        }
    }

    /// A line that is a label or heading, or says a thing by words alone.
    pub(super) fn label_only(&mut self, line: &Line<'_>, label: Vec<Element>) {
        // The second line of a pair is the value of the first.
        if self.pairs && !line.after_blank && self.heading_before && !self.open.is_empty() {
            self.push(line, Vec::new(), vec![Value { elements: label, column: None }]);
            return;
        }
        let atoms = atoms_of(&label);
        // "Clock" over "internal; word clock; optical"
        let clocks = Atoms::of(&[Atom::Internal, Atom::WordClock, Atom::Aes11]).and(FORMATS);
        if atoms_of(&self.open).has(Atom::ClockOf)
            && atoms.any(clocks)
            && !atoms.has(Atom::Output)
            && !atoms.any(QUANTITIES)
        {
            self.push(line, Vec::new(), vec![Value { elements: label, column: None }]);
            return;
        }
        let counts = label.iter().any(|e| e.figure().is_some_and(crate::grammar::Measure::is_bare));
        let words = label.iter().filter(|e| matches!(e.kind, Kind::Words(_) | Kind::Unknown)).count();
        let sides = atoms.any(SIDES) && atoms.any(CONNECTORS);
        let stage = Atoms::of(&[Atom::Transformer, Atom::Fet, Atom::Bipolar]);
        let power =
            Atoms::of(&[Atom::Separately, Atom::Together, Atom::Switched, Atom::Harmful, Atom::NotRequired]);
        let told = sides
            || atoms.any(Atoms::of(&[Atom::LevelControl, Atom::Passes]))
            || atoms.has(Atom::Input) && atoms.any(stage)
            || atoms.has(Atom::Phantom) && atoms.any(power)
            || atoms.has(Atom::WordClock) && atoms.any(SIDES);
        let starts_with_count = label.first().is_some_and(|e| e.figure().is_some());
        let connections = starts_with_count && atoms.any(CONNECTORS.and(PLACES));
        let sentence = line.text.ends_with('.');
        let features = features();
        let short = words <= 9 && atoms.any(features);
        let prose = !told && !connections && (words > 9 || sentence && !short);
        let says = counts || told || atoms.any(features) || line.bullet;
        if !prose
            && !sentence
            && !line.bullet
            && !starts_with_count
            && self.heading(line, atoms, &label, words)
        {
            // A format in words may be over its figures, or all that is said of it.
            if counts || told || atoms.any(features.and(FORMATS)) {
                self.push(line, Vec::new(), vec![Value { elements: label, column: None }]);
            }
            self.heading_before = true;
            return;
        }
        if says && !prose {
            let value = Value { elements: label, column: None };
            self.push(line, Vec::new(), vec![value]);
            self.heading_before = false;
        }
    }

    /// Takes a line as a heading; whether it is one.
    fn heading(&mut self, line: &Line<'_>, atoms: Atoms, label: &[Element], words: usize) -> bool {
        let nested = self.heading_before && line.heading.is_none();
        // Among pairs of lines, one that stands alone is over the pairs below.
        let unmarked = if self.pairs && self.alone { UNMARKED - 4 } else { UNMARKED };
        let level = line.heading.unwrap_or(unmarked)
            + u8::from(line.indent >= 2 && line.heading.is_none())
            + 2 * u8::from(nested);
        let context = atoms.both(PLACES);
        let section = Section { level, atoms: context, indent: None, block: false };
        // "Phantom power" is a heading that rows below fill.
        if atoms.without(Atoms::of(&[Atom::Supply])).any(QUANTITIES) {
            self.open = label.to_vec();
            // A heading at the margin over lines that stand deeper ends the section above.
            if line.indent == 0 && self.deeper_below {
                self.sections.retain(|section| section.level < UNMARKED);
            }
            // "Sample rates" over its values speaks of the device, not of the outputs above.
            if atoms.any(WHOLE) && context.without(Atoms::of(&[Atom::Computer])).is_empty() {
                self.sections.retain(|section| section.level < UNMARKED);
            }
            if line.heading.is_some() {
                self.sections.retain(|section| section.level < level);
                if !context.is_empty() {
                    self.sections.push(section);
                }
            }
            return true;
        }
        if !context.is_empty() {
            self.sections.retain(|section| section.level < level);
            self.sections.push(section);
            self.open.clear();
            return true;
        }
        if atoms.has(Atom::Neutral) {
            self.open.clear();
            return true;
        }
        let is_heading = line.heading.is_some()
            || atoms.has(Atom::General)
            || line.text.ends_with(':')
            || (line.after_blank && words <= 5 && !atoms.any(CONNECTORS.and(PATTERNS).and(TRANSDUCERS)));
        if is_heading {
            self.sections.retain(|section| section.level < level.min(UNMARKED));
            self.open.clear();
        }
        is_heading
    }
}

/// Words that say a thing without a figure.
pub(super) const fn features() -> Atoms {
    let links = Atoms::of(&[Atom::Usb, Atom::PciExpress, Atom::Recorder, Atom::LevelControl, Atom::Passes]);
    let power = Atoms::of(&[Atom::Harmful, Atom::Separately, Atom::Together]);
    let stages = Atoms::of(&[Atom::Transformer, Atom::Fet, Atom::Bipolar, Atom::Valve]);
    CONNECTORS.and(PATTERNS).and(TRANSDUCERS).and(KINDS).and(links).and(power).and(stages)
}

/// Whether a sentence without a value says a thing.
pub(super) fn says(sentence: &[Element]) -> bool {
    atoms_of(sentence).any(features()) || sentence.iter().any(|e| e.figure().is_some())
}
