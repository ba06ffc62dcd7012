//! From the files of a case to the case: include what is included, look up kinds and devices, fill what is missing.

use super::{Case, CaseFile, LevelsAt, Owned, Pickup, Room, Session, Source, SourceFile};
use crate::thresholds::Thresholds;
use gainsay_gear::{Catalogue, Device, DeviceType, SourceKind};
use gainsay_units::bands::BandPowers;
use gainsay_units::room::band_powers_of_a_weighted;
use gainsay_units::{
    At, DbSpl, Dbu, Decibels, FaradsPerMetre, Figure, Kelvin, Measurable, Metres, Origin, Problem, Quantity,
    Stated, Weighting,
};
use std::collections::HashMap;
use std::sync::Arc;

/// One file of a case, read and resolved. The first is the case itself, the others are what it includes, nearest first.
#[derive(Debug, Clone, PartialEq)]
pub struct FilePart {
    /// The file.
    pub file: CaseFile,
}

/// A problem with the file in which it is: an index into the parts that were assembled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileProblem {
    /// Index of the part.
    pub part: usize,
    /// What is wrong.
    pub problem: Problem,
}

/// Assembles a case from its files and the devices of its gear folder.
///
/// # Errors
/// Everything that is wrong, each with its file and place.
pub fn assemble(
    parts: &[FilePart],
    gear: &[Device],
    catalogue: &Catalogue,
) -> Result<Case, Vec<FileProblem>> {
    let mut assembly = Assembly { gear, catalogue, problems: Vec::new(), part: 0, devices: HashMap::new() };
    let case = assembly.case(parts);
    if assembly.problems.is_empty() { Ok(case) } else { Err(assembly.problems) }
}

pub(super) struct Assembly<'a> {
    gear: &'a [Device],
    catalogue: &'a Catalogue,
    pub(super) problems: Vec<FileProblem>,
    pub(super) part: usize,
    devices: HashMap<String, Option<Arc<Device>>>,
}

/// A typical figure from a text of our own, which a test reads.
fn typical<T: Measurable>(text: &str, note: &str) -> Figure<T> {
    let mut figure = text
        .parse::<Quantity>()
        .and_then(|quantity| Figure::from_quantity(&quantity, Origin::Typical))
        .unwrap_or_else(|_| Figure::exact(T::from_base(f64::NAN), text));
    figure.note = Some(note.to_owned());
    figure
}

fn given<T: Measurable>(stated: Option<&Stated<T>>) -> Option<Figure<T>> {
    stated.and_then(Stated::figure).cloned()
}

impl<'a> Assembly<'a> {
    /// The devices of the gear folder.
    pub(super) const fn gear(&self) -> &'a [Device] {
        self.gear
    }

    pub(super) fn problem(
        &mut self,
        span: std::ops::Range<usize>,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.problems.push(FileProblem { part: self.part, problem: Problem::new(span, message, mend) });
    }

    fn case(&mut self, parts: &[FilePart]) -> Case {
        let mut session = super::SessionFile::default();
        let mut room = super::RoomFile::default();
        let mut thresholds = crate::thresholds::ThresholdsFile::default();
        // What stands in the case itself goes before what it includes; `fill_from` would mark the rest as typical, so the
        // nearest file that states a figure is taken as it is.
        macro_rules! take {
            ($target:ident, $source:expr, [$($field:ident),* $(,)?]) => {
                $( if $target.$field.is_none() { $target.$field.clone_from(&$source.$field); } )*
            };
        }
        for part in parts {
            take!(
                session,
                part.file.session,
                [sample_rate, bit_depth, peak_target, replay_level, listening_room]
            );
            take!(room, part.file.room, [noise, temperature]);
            take!(
                thresholds,
                part.file.thresholds,
                [penalty_enough, penalty_short, audible_rise, reach, clipping_enough, clipping_short]
            );
        }
        self.check_session(parts);

        let mut owned = Vec::new();
        let mut sources: Vec<Source> = Vec::new();
        let mut names: HashMap<String, ()> = HashMap::new();
        for (index, part) in parts.iter().enumerate() {
            self.part = index;
            for entry in &part.file.owned {
                if let Some(device) = self.owned(entry) {
                    owned.push(device);
                }
            }
            for file in &part.file.sources {
                if let Some(name) = &file.name
                    && names.insert(name.value.trim().to_lowercase(), ()).is_some()
                {
                    self.problem(
                        name.span.clone(),
                        format!("there are two sources named \"{}\"", name.value),
                        "give each its own name, such as \"Voice, left\"",
                    );
                }
                if let Some(source) = self.source(file) {
                    sources.push(source);
                }
            }
        }
        self.part = 0;
        let title = parts.iter().find_map(|p| p.file.title.clone()).map(|t| t.value);
        let question = parts.iter().find_map(|p| p.file.question.clone());
        if sources.is_empty() && self.problems.is_empty() {
            self.problem(
                0..0,
                "the case has no source",
                "add what is to be recorded, such as:\n[[source]]\nname = \"Voice\"\nkind = \"speech normal\"",
            );
        }
        let sample_rate = given(session.sample_rate.as_ref())
            .unwrap_or_else(|| assumed("48 kHz", "usual for new recordings (AES5)"));
        // The sources are in the files' order only where every one of them was read.
        let wishes = if self.problems.is_empty() {
            self.wishes(parts, &owned, &mut sources, sample_rate.value)
        } else {
            super::wishes::Wishes { links: Vec::new(), clock: None }
        };
        let additions = if self.problems.is_empty() {
            self.additions(parts, &owned, &mut sources)
        } else {
            super::Additions::default()
        };
        let room_noise = given(room.noise.as_ref())
            .unwrap_or_else(|| typical("30 dBA ± 6 dB", "a quiet room at home, 25 to 35 dBA (from memory)"));
        Case {
            title: title.unwrap_or_else(|| "Untitled case".to_owned()),
            question,
            session: Session {
                sample_rate,
                bit_depth: given(session.bit_depth.as_ref())
                    .unwrap_or_else(|| assumed("24 bit", "usual for new recordings")),
                peak_target: given(session.peak_target.as_ref()).unwrap_or_else(|| {
                    assumed("-12 dBFS", "leaves room for a louder take (common practice)")
                }),
                replay_level: given(session.replay_level.as_ref())
                    .unwrap_or_else(|| assumed("80 dB SPL", "loud passages, comfortably loud at home")),
                listening_room: given(session.listening_room.as_ref()).unwrap_or_else(|| {
                    assumed("NR 15", "a quiet listening room (EBU Tech 3276: NR 15 at most)")
                }),
            },
            room: Room {
                shape: shape_of_room(room_noise.value),
                noise: room_noise,
                temperature: given(room.temperature.as_ref()).map_or(Kelvin::ROOM, |figure| figure.value),
            },
            thresholds: Thresholds::with(&thresholds),
            sources,
            owned,
            links: wishes.links,
            clock: wishes.clock,
            additions,
            fixed: Vec::new(),
            usual_booster: self.catalogue.device("usual-booster").map(|mut booster| {
                self.catalogue.fill(&mut booster);
                Arc::new(booster)
            }),
        }
    }

    /// What no session can have.
    fn check_session(&mut self, parts: &[FilePart]) {
        for (index, part) in parts.iter().enumerate() {
            self.part = index;
            if let Some(stated) = &part.file.session.sample_rate
                && let Some(figure) = stated.figure()
                && !(8_000.0..=768_000.0).contains(&figure.value.hertz())
            {
                self.problem(
                    stated.span(),
                    format!("a sample rate of {} is not one that audio uses", figure.written),
                    "write for example 44.1 kHz, 48 kHz or 96 kHz",
                );
            }
            if let Some(stated) = &part.file.session.peak_target
                && let Some(figure) = stated.figure()
                && figure.value.dbfs() > 0.0
            {
                self.problem(
                    stated.span(),
                    format!("a peak target of {} lies above full scale", figure.written),
                    "write a target below 0 dBFS, such as -12 dBFS",
                );
            }
            if let Some(stated) = &part.file.room.noise
                && let Some(figure) = stated.figure()
                && figure.conditions.weighting != Some(Weighting::A)
            {
                self.problem(
                    stated.span(),
                    format!("the room's noise of {} has no weighting", figure.written),
                    "write it A-weighted (\"28 dBA\") or as a noise rating (\"NR 20\")",
                );
            }
        }
    }

    fn owned(&mut self, entry: &super::OwnedFile) -> Option<Owned> {
        let Some(name) = &entry.device else {
            self.problem(
                0..0,
                "an owned device has no `device`",
                "add a line such as device = \"usual-interface\"",
            );
            return None;
        };
        let count = entry.count.as_ref().map_or(1, |c| c.value);
        if let Some(at) = entry.count.as_ref().filter(|c| c.value == 0 || c.value > 1000) {
            self.problem(at.span.clone(), format!("a count of {count} is not possible"), "write 1 or more");
        }
        let device = self.device(name, None)?;
        Some(Owned { device, count })
    }

    /// The device of that name: first in the gear folder, then among the built-in kinds; completed.
    pub(super) fn device(&mut self, name: &At<String>, wanted: Option<DeviceType>) -> Option<Arc<Device>> {
        let key = name.value.trim().to_lowercase();
        if let Some(known) = self.devices.get(&key).cloned() {
            return self.of_type(known?, name, wanted);
        }
        let found = self
            .gear
            .iter()
            .find(|d| d.id.to_lowercase() == key || d.name.to_lowercase() == key)
            .cloned()
            .or_else(|| self.catalogue.device(&name.value));
        let Some(mut device) = found else {
            let mut known: Vec<&str> = Vec::new();
            for device in self.gear {
                known.extend([device.id.as_str(), device.name.as_str()]);
            }
            for name in self.catalogue.device_names() {
                known.push(name);
            }
            let mend = Problem::nearest(&name.value, known);
            self.problem(
                name.span.clone(),
                format!(
                    "there is no device \"{}\" in the gear folder or among the built-in kinds",
                    name.value
                ),
                format!("{mend} (see `gainsay kinds`, or add a file to gear/)"),
            );
            self.devices.insert(key, None);
            return None;
        };
        self.catalogue.fill(&mut device);
        let device = Arc::new(device);
        self.devices.insert(key, Some(Arc::clone(&device)));
        self.of_type(device, name, wanted)
    }

    fn of_type(
        &mut self,
        device: Arc<Device>,
        name: &At<String>,
        wanted: Option<DeviceType>,
    ) -> Option<Arc<Device>> {
        if let Some(wanted) = wanted
            && device.device_type() != wanted
        {
            self.problem(
                name.span.clone(),
                format!(
                    "\"{}\" is {}, not {}",
                    name.value,
                    device.device_type().with_article(),
                    wanted.with_article()
                ),
                format!("name {}, see `gainsay kinds`", wanted.with_article()),
            );
            return None;
        }
        Some(device)
    }

    fn kind(&mut self, file: &SourceFile) -> Option<SourceKind> {
        let Some(kind) = &file.kind else {
            let span = file.name.as_ref().map_or(0..0, |n| n.span.clone());
            self.problem(
                span,
                "this source has no `kind`",
                "add a line such as kind = \"speech normal\"; see `gainsay kinds sources`",
            );
            return None;
        };
        let found = self.catalogue.source(&kind.value).cloned();
        if found.is_none() {
            let mend = Problem::nearest(&kind.value, self.catalogue.source_names());
            self.problem(
                kind.span.clone(),
                format!("there is no kind of source \"{}\"", kind.value),
                format!("{mend} (see `gainsay kinds sources`)"),
            );
        }
        found
    }

    fn source(&mut self, file: &SourceFile) -> Option<Source> {
        let kind = self.kind(file)?;
        let name = file.name.as_ref().map_or_else(|| kind.name.clone(), |n| n.value.trim().to_owned());
        if name.is_empty() {
            let span = file.name.as_ref().map_or(0..0, |n| n.span.clone());
            self.problem(span, "the name is empty", "give the source a name");
        }
        let spectrum = self
            .catalogue
            .spectrum(&kind.spectrum)
            .map_or_else(|| BandPowers::white().scaled(1.0 / 19_980.0), gainsay_gear::Spectrum::shares);
        let booster = match &file.booster {
            Some(name) => Some(self.device(name, Some(DeviceType::Booster))?),
            None => None,
        };
        let cable_kind =
            file.cable_kind.clone().unwrap_or_else(|| At::nowhere("usual-microphone-cable".to_owned()));
        let cable = self.device(&cable_kind, Some(DeviceType::Cable))?;
        let gainsay_gear::Model::Cable(cable) = &cable.model else { return None };
        let cable_length = given(file.cable.as_ref())
            .or_else(|| given(cable.length.as_ref()))
            .unwrap_or_else(|| typical("5 m ± 2 m", "common practice, no source"));
        let cable_capacitance: Figure<FaradsPerMetre> = given(cable.capacitance.as_ref())
            .unwrap_or_else(|| typical("100 pF/m ± 30 %", "microphone cable, wire to wire"));
        let pickup = if kind.is_electrical() {
            self.electrical(file, &kind)?
        } else {
            self.acoustic(file, &kind, &spectrum)?
        };
        let crest = given(file.crest.as_ref()).or_else(|| given(kind.levels.crest.as_ref()));
        let crest: Figure<Decibels> =
            crest.unwrap_or_else(|| typical("14 dB ± 4 dB", "between speech and percussion"));
        if let Some(stated) = &file.crest
            && crest.value.db() < 0.0
        {
            self.problem(
                stated.span(),
                "a crest factor below 0 dB is not possible",
                "a sine has 3 dB, speech about 12 dB",
            );
        }
        Some(Source {
            name,
            spectrum,
            crest,
            pickup,
            booster,
            cable_length,
            cable_capacitance,
            gain: given(file.gain.as_ref()).map(|figure| figure.value),
            turns: file.turns.clone(),
            pair: file.pair.as_ref().map(|word| word.value.clone()),
            together: file.together.clone(),
            pin: None,
            colour: file.colour.unwrap_or(false),
            dispensable: false,
            note: file.note.clone(),
            kind,
        })
    }

    fn electrical(&mut self, file: &SourceFile, kind: &SourceKind) -> Option<Pickup> {
        if let Some(microphone) = &file.microphone {
            self.problem(
                microphone.span.clone(),
                format!("\"{}\" is an electrical source and takes no microphone", kind.name),
                "leave `microphone` out, or name the amplifier as the source",
            );
        }
        for stated in [file.quiet.as_ref(), file.loud.as_ref()].into_iter().flatten() {
            self.problem(
                stated.span(),
                "levels of an electrical source are voltages, which this line can't hold",
                "leave the line out: the kind's own output levels are used",
            );
        }
        let levels = &kind.levels;
        Some(Pickup::Electrical {
            quiet: given(levels.quiet_output.as_ref())?,
            loud: given(levels.loud_output.as_ref())?,
            noise: unweighted_output(given(levels.output_noise.as_ref())?),
            impedance: given(levels.output_impedance.as_ref())?,
        })
    }

    fn acoustic(&mut self, file: &SourceFile, kind: &SourceKind, spectrum: &BandPowers) -> Option<Pickup> {
        let usual = At::nowhere(kind.usual_microphone.clone());
        let microphone =
            self.device(file.microphone.as_ref().unwrap_or(&usual), Some(DeviceType::Microphone))?;
        let size = given(kind.levels.size.as_ref()).map_or(Metres::new(0.05), |figure| figure.value);
        let distance = match given(file.distance.as_ref()) {
            Some(distance) => {
                if distance.value.metres() <= 0.0 {
                    let span = file.distance.as_ref().map_or(0..0, Stated::span);
                    self.problem(
                        span,
                        "the distance must be above zero",
                        "write it from the source to the microphone, such as \"0.3 m\"",
                    );
                }
                distance
            }
            None => typical(
                &format!("{} m ± 30 %", kind.usual_distance_m),
                "usual for this kind of source (common practice, no source)",
            ),
        };
        let from_case = file.quiet.is_some() || file.loud.is_some();
        let reference = given(kind.levels.distance.as_ref()).map_or(Metres::new(1.0), |figure| figure.value);
        let stated_at = given(file.levels_at.as_ref()).map(|figure| figure.value);
        // Levels of the kind hold at its reference distance. Where the case gives one level only, the other comes from the
        // kind, carried to where the case's own level holds.
        let levels_at = match (from_case, stated_at) {
            (true, None) => LevelsAt::Microphone,
            (true, Some(at)) => LevelsAt::Distance(at),
            (false, _) => LevelsAt::Distance(reference),
        };
        if let (false, Some(stated)) = (from_case, &file.levels_at) {
            self.problem(
                stated.span(),
                "`levels_at` stands without `quiet` or `loud`",
                "add a level, or leave the line out",
            );
        }
        let at = match levels_at {
            LevelsAt::Microphone => distance.value,
            LevelsAt::Distance(at) => at,
        };
        let level = |own: Option<&Stated<DbSpl>>, typical: Option<&Stated<DbSpl>>| -> Option<Figure<DbSpl>> {
            match own {
                Some(stated) => Some(unweighted(stated.figure()?, spectrum)),
                None => {
                    let mut figure = unweighted(typical.and_then(Stated::figure)?, spectrum);
                    if from_case {
                        figure.value += carried(reference, at, size);
                    }
                    Some(figure)
                }
            }
        };
        let quiet = level(file.quiet.as_ref(), kind.levels.quiet.as_ref())?;
        let loud = level(file.loud.as_ref(), kind.levels.loud.as_ref())?;
        if quiet.value > loud.value {
            let span = file.quiet.as_ref().or(file.loud.as_ref()).map_or(0..0, Stated::span);
            self.problem(
                span,
                format!(
                    "the quietest passage ({}) is louder than the loudest ({})",
                    quiet.written, loud.written
                ),
                "exchange the two, or give both",
            );
        }
        Some(Pickup::Acoustic {
            microphone,
            microphone_given: file.microphone.is_some(),
            distance,
            levels_at,
            quiet,
            loud,
            size,
        })
    }
}

/// The bands of the NR curve with an A-weighted level, scaled so that their A-weighted sum is one: draws of the level scale it.
fn shape_of_room(level: DbSpl) -> BandPowers {
    let powers = band_powers_of_a_weighted(level);
    powers.scaled(1.0 / powers.weighted(Weighting::A.band_gains()))
}

/// How much a level changes from one distance to another: the inverse distance law, not closer than the source's own size.
#[must_use]
pub(crate) fn carried(from: Metres, to: Metres, size: Metres) -> Decibels {
    let near = |distance: Metres| distance.metres().max(size.metres()).max(1e-6);
    Decibels::from_amplitude_ratio(near(from) / near(to))
}

/// A sound level without weighting: a weighted figure plus what the source's spectrum loses in the weighting.
fn unweighted(figure: &Figure<DbSpl>, spectrum: &BandPowers) -> Figure<DbSpl> {
    let mut flat = figure.clone();
    if let Some(weighting) = figure.conditions.weighting {
        flat.value = figure.value - Decibels::from_power_ratio(spectrum.weighted(weighting.band_gains()));
    }
    flat
}

/// An output's own noise without weighting: a weighted figure plus what white noise loses in the weighting.
fn unweighted_output(mut noise: Figure<Dbu>) -> Figure<Dbu> {
    if let Some(weighting) = noise.conditions.weighting {
        noise.value -= weighting.of_white_noise();
    }
    noise
}

/// A default that a definition or habit gives, exact.
fn assumed<T: Measurable>(text: &str, note: &str) -> Figure<T> {
    let mut figure = typical::<T>(text, note);
    figure.origin = Origin::Assumed;
    figure
}
