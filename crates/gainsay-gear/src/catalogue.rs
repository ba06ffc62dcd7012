//! What is built in: kinds of sources, spectra and devices, embedded as files of the same format that users write.

use crate::device::{Device, DeviceType, read_table};
use crate::source::{SourceKind, Spectrum};
use gainsay_units::{FileStruct, Origin, Problem};
use serde::Deserialize;
use std::sync::{LazyLock, OnceLock};

mod embedded;

/// A family of built-in kinds, as `gainsay kinds` lists them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Family {
    /// What people record.
    Sources,
    /// Devices of one type.
    Devices(DeviceType),
}

/// The built-in kinds.
#[derive(Debug)]
pub struct Catalogue {
    sources: Vec<SourceKind>,
    spectra: Vec<Spectrum>,
    /// Devices as they are asked for: a case needs a few, and reading all of them would take longer than answering it.
    devices: Vec<OnceLock<Option<Device>>>,
}

#[derive(Deserialize)]
struct SourceFile {
    source: Vec<SourceKind>,
}

#[derive(Deserialize)]
struct SpectrumFile {
    spectrum: Vec<Spectrum>,
}

impl Catalogue {
    /// The catalogue that is embedded in the program. A test reads all of it, so nothing in it can be wrong here.
    #[must_use]
    pub fn embedded() -> &'static Self {
        static CATALOGUE: LazyLock<Catalogue> = LazyLock::new(|| {
            let mut sources =
                read_table::<SourceFile>(embedded::SOURCES).map(|file| file.source).unwrap_or_default();
            let mut ignored = Vec::new();
            sources.iter_mut().for_each(|kind| kind.resolve(&mut ignored));
            let spectra =
                read_table::<SpectrumFile>(embedded::SPECTRA).map(|file| file.spectrum).unwrap_or_default();
            let devices = embedded::DEVICES.iter().map(|_| OnceLock::new()).collect();
            Catalogue { sources, spectra, devices }
        });
        &CATALOGUE
    }

    /// Everything that is wrong in the embedded files; empty unless someone broke them.
    #[must_use]
    pub fn problems(&self) -> Vec<(String, Problem)> {
        let mut found = Vec::new();
        match read_table::<SourceFile>(embedded::SOURCES) {
            Ok(mut file) => {
                let mut problems = Vec::new();
                file.source.iter_mut().for_each(|kind| kind.resolve(&mut problems));
                found.extend(problems.into_iter().map(|p| ("sources".to_owned(), p)));
            }
            Err(problem) => found.push(("sources".to_owned(), problem)),
        }
        if let Err(problem) = read_table::<SpectrumFile>(embedded::SPECTRA) {
            found.push(("spectra".to_owned(), problem));
        }
        for (id, text) in embedded::DEVICES {
            match Device::from_toml(text, id, Origin::Typical) {
                Ok(device) => {
                    if let Some(like) = &device.like
                        && self.device(&like.value).is_none()
                    {
                        found.push((
                            (*id).to_owned(),
                            Problem::new(like.span.clone(), "no such kind", "mend it"),
                        ));
                    }
                }
                Err(problems) => found.extend(problems.into_iter().map(|p| ((*id).to_owned(), p))),
            }
        }
        for kind in &self.sources {
            if self.spectrum(&kind.spectrum).is_none() {
                let message = format!("{} has no spectrum {}", kind.name, kind.spectrum);
                found.push(("sources".to_owned(), Problem::new(0..0, message, "mend it")));
            }
            if !kind.is_electrical() && self.device(&kind.usual_microphone).is_none() {
                let message = format!("{} has no microphone {}", kind.name, kind.usual_microphone);
                found.push(("sources".to_owned(), Problem::new(0..0, message, "mend it")));
            }
        }
        found
    }

    /// All kinds of sources.
    #[must_use]
    pub fn sources(&self) -> &[SourceKind] {
        &self.sources
    }

    /// The kind of source with this name or alias; capitals do not matter.
    #[must_use]
    pub fn source(&self, name: &str) -> Option<&SourceKind> {
        let same = |other: &str| other.to_lowercase() == name.trim().to_lowercase();
        self.sources
            .iter()
            .find(|k| same(&k.name))
            .or_else(|| self.sources.iter().find(|k| k.aliases.iter().any(|a| same(a))))
    }

    /// Names and aliases of all kinds of sources.
    pub fn source_names(&self) -> impl Iterator<Item = &str> {
        self.sources
            .iter()
            .flat_map(|k| std::iter::once(k.name.as_str()).chain(k.aliases.iter().map(String::as_str)))
    }

    /// The spectrum with this name.
    #[must_use]
    pub fn spectrum(&self, name: &str) -> Option<&Spectrum> {
        self.spectra.iter().find(|s| s.name == name)
    }

    /// All spectra.
    #[must_use]
    pub fn spectra(&self) -> &[Spectrum] {
        &self.spectra
    }

    /// The built-in device with this name or short name; capitals do not matter. Read from its file as needed, as it stands
    /// there: [`Catalogue::fill`] completes it.
    #[must_use]
    pub fn device(&self, name: &str) -> Option<Device> {
        let wanted = name.trim().to_lowercase();
        let index = embedded::DEVICES.iter().position(|(id, text)| {
            *id == wanted || name_of(text).is_some_and(|n| n.to_lowercase() == wanted)
        })?;
        self.nth(index).cloned()
    }

    fn nth(&self, index: usize) -> Option<&Device> {
        let (id, text) = embedded::DEVICES.get(index)?;
        let read = || Device::from_toml(text, id, Origin::Typical).ok();
        self.devices.get(index)?.get_or_init(read).as_ref()
    }

    /// Short names and names of all built-in devices.
    pub fn device_names(&self) -> impl Iterator<Item = &'static str> {
        embedded::DEVICES.iter().flat_map(|(id, text)| std::iter::once(*id).chain(name_of(text)))
    }

    /// Every built-in device of a type, in the order in which they are listed.
    #[must_use]
    pub fn devices(&self, device_type: DeviceType) -> Vec<Device> {
        (0..embedded::DEVICES.len())
            .filter_map(|index| self.nth(index))
            .filter(|device| device.device_type() == device_type)
            .cloned()
            .collect()
    }

    /// The file of a built-in device by its short name.
    #[must_use]
    pub fn device_text(&self, id: &str) -> Option<&'static str> {
        embedded::DEVICES.iter().find(|(known, _)| *known == id).map(|(_, text)| *text)
    }

    /// Takes what a device does not state from the kind that it is like, and what that does not state either from the usual
    /// kind of its type.
    pub fn fill(&self, device: &mut Device) {
        if let Some(like) = &device.like
            && let Some(mut kind) = self.device(&like.value)
            && kind.device_type() == device.device_type()
        {
            // A built-in kind may itself be like another; one step is all that they take (a test checks it).
            if let Some(next) = kind.like.clone().and_then(|name| self.device(&name.value)) {
                kind.model.fill_from(&next.model);
            }
            device.model.fill_from(&kind.model);
        }
        if let Some(usual) = self.device(usual_kind(device)) {
            device.model.fill_from(&usual.model);
        }
        // Line inputs of a preamp have no usual preamp's to follow.
        if let crate::Model::Preamp(_) = &device.model
            && let Some(usual) = self.device("usual-interface")
            && let (Some(own), Some(usual)) = (device.front_end_mut(), usual.front_end())
        {
            own.fill_line_inputs_from(usual);
        }
    }
}

/// The built-in kind from which a device's missing figures come if it does not name one.
fn usual_kind(device: &Device) -> &'static str {
    match &device.model {
        crate::Model::Microphone(microphone) => match microphone.transducer {
            Some(crate::microphone::Transducer::Condenser) => "usual-condenser-microphone",
            Some(crate::microphone::Transducer::ValveCondenser) => "valve-condenser-large",
            Some(crate::microphone::Transducer::Ribbon) => "usual-ribbon-microphone",
            Some(crate::microphone::Transducer::ActiveRibbon) => "usual-active-ribbon-microphone",
            Some(crate::microphone::Transducer::Pickup) => "usual-pickup",
            Some(crate::microphone::Transducer::MovingCoil) | None => "usual-moving-coil-microphone",
        },
        crate::Model::Booster(_) => "usual-booster",
        crate::Model::Preamp(_) => "usual-preamp",
        crate::Model::Interface(_) => "usual-interface",
        crate::Model::Converter(_) => "usual-converter",
        crate::Model::Cable(_) => "usual-microphone-cable",
    }
}

/// The name in a device file, without reading all of it: the first line that begins with `name`.
fn name_of(text: &'static str) -> Option<&'static str> {
    let line = text.lines().find(|line| line.starts_with("name"))?;
    line.split_once('"')?.1.split_once('"').map(|(name, _)| name)
}
