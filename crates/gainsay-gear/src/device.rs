//! A device as its file describes it.

mod check;

use crate::front_end::{DigitalPorts, LineInputs, LineOutputs, MicrophoneInputs, Whole};
use crate::{Booster, Cable, FrontEnd, Microphone};
use gainsay_units::{At, FileStruct, Origin, Problem};
use schemars::JsonSchema;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

/// What a device is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum DeviceType {
    /// A microphone or pickup.
    Microphone,
    /// An amplifier of fixed gain in the microphone line.
    Booster,
    /// A microphone amplifier with an analogue output.
    Preamp,
    /// A box between microphones and computer.
    Interface,
    /// A box between analogue and digital connections.
    Converter,
    /// A cable.
    Cable,
}

impl DeviceType {
    /// With the indefinite article.
    #[must_use]
    pub const fn with_article(self) -> &'static str {
        match self {
            Self::Microphone => "a microphone",
            Self::Booster => "a booster",
            Self::Preamp => "a preamp",
            Self::Interface => "an interface",
            Self::Converter => "a converter",
            Self::Cable => "a cable",
        }
    }

    /// As one word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Microphone => "microphone",
            Self::Booster => "booster",
            Self::Preamp => "preamp",
            Self::Interface => "interface",
            Self::Converter => "converter",
            Self::Cable => "cable",
        }
    }
}

/// The part of a device that differs from type to type.
#[derive(Debug, Clone, PartialEq)]
pub enum Model {
    /// A microphone.
    Microphone(Microphone),
    /// A booster.
    Booster(Booster),
    /// A preamp.
    Preamp(FrontEnd),
    /// An interface.
    Interface(FrontEnd),
    /// A converter.
    Converter(FrontEnd),
    /// A cable.
    Cable(Cable),
}

/// A device.
#[derive(Debug, Clone, PartialEq)]
pub struct Device {
    /// Its plain descriptive name.
    pub name: String,
    /// A shorter name for tables, the file's stem if none is given.
    pub id: String,
    /// Remarks: where the figures come from, what to know.
    pub note: Option<String>,
    /// Name of the built-in kind that missing figures are taken from.
    pub like: Option<At<String>>,
    /// Price, in the currency that the case's budget is in.
    pub price: Option<f64>,
    /// What it is and what its sheet says.
    pub model: Model,
}

/// A device file whose type is not yet known; the other fields are looked at when it is.
#[derive(Deserialize)]
struct Head {
    #[serde(rename = "type")]
    device_type: At<DeviceType>,
}

macro_rules! device_file {
    ($(#[$doc:meta])* $name:ident, $type_name:literal, { $( $(#[$field_doc:meta])* $field:ident: $type:ty ),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Deserialize, JsonSchema)]
        #[serde(deny_unknown_fields)]
        #[schemars(title = $type_name)]
        pub(crate) struct $name {
            /// What the device is.
            #[serde(rename = "type")]
            #[expect(dead_code, reason = "read from the head of the file; here for the schema and so that it is known")]
            pub(crate) device_type: DeviceType,
            /// A plain descriptive name, such as "Small condenser microphone".
            pub(crate) name: At<String>,
            /// Remarks: where the figures come from, what to know.
            pub(crate) note: Option<String>,
            /// Name of the built-in kind from which missing figures are taken; the usual kind of its type if not given.
            pub(crate) like: Option<At<String>>,
            /// Price, in the currency that the case's budget is in.
            pub(crate) price: Option<At<f64>>,
            /// Where the figures of this file come from, unless a figure says otherwise; "sheet" if not given.
            pub(crate) from: Option<Origin>,
            $( $(#[$field_doc])* #[serde(default)] pub(crate) $field: $type, )*
        }
    };
}

device_file! {
    /// A device file of type "microphone".
    MicrophoneFile, "Microphone file", {
        /// What its sheet says.
        microphone: Microphone,
    }
}
device_file! {
    /// A device file of type "booster".
    BoosterFile, "Booster file", {
        /// What its sheet says.
        booster: Booster,
    }
}
device_file! {
    /// A device file of type "cable".
    CableFile, "Cable file", {
        /// What is known of it.
        cable: Cable,
    }
}
device_file! {
    /// A device file of type "preamp", "interface" or "converter".
    FrontEndFile, "Preamp, interface or converter file", {
        /// Groups of equal microphone inputs.
        microphone_inputs: Vec<MicrophoneInputs>,
        /// Groups of equal line or instrument inputs.
        line_inputs: Vec<LineInputs>,
        /// Groups of equal line outputs.
        line_outputs: Vec<LineOutputs>,
        /// Digital inputs.
        digital_inputs: Vec<DigitalPorts>,
        /// Digital outputs.
        digital_outputs: Vec<DigitalPorts>,
        /// What concerns the whole device.
        device: Whole,
    }
}

/// Reads the text of a TOML file as a `T`.
///
/// # Errors
/// One problem with its place, when the text is no TOML, a field is unknown or of the wrong type.
pub fn read_table<T: DeserializeOwned>(text: &str) -> Result<T, Problem> {
    toml::from_str::<T>(text).map_err(|error| {
        let span = error.span().unwrap_or(0..0);
        problem_from_message(span, error.message())
    })
}

/// Splits what serde says about an unknown name into what is wrong and the nearest right one.
fn problem_from_message(span: std::ops::Range<usize>, message: &str) -> Problem {
    let quoted: Vec<&str> = message.split('`').skip(1).step_by(2).collect();
    let unknown = message.starts_with("unknown field") || message.starts_with("unknown variant");
    if unknown && let Some((written, known)) = quoted.split_first() {
        let what = if message.starts_with("unknown field") { "field" } else { "word" };
        return Problem::new(
            span,
            format!("\"{written}\" is not a {what} that belongs here"),
            Problem::nearest(written, known.iter().copied()),
        );
    }
    if let Some(field) = message.strip_prefix("missing field").and(quoted.first()) {
        return Problem::new(span, format!("\"{field}\" is missing"), format!("add a line `{field} = …`"));
    }
    if message.starts_with("duplicate key") {
        return Problem::new(span, message.to_owned(), "keep one of the two");
    }
    let mend = if message.contains("expected a figure") || message.contains("a figure with its unit") {
        "write the number with its unit in quotes, such as \"-56 dBV/Pa\""
    } else if message.starts_with("invalid type") || message.starts_with("invalid value") {
        "write what is expected"
    } else {
        "see the file format in docs, or print a sample with `gainsay demo`"
    };
    Problem::new(span, message.to_owned(), mend)
}

impl Device {
    /// Reads a device from the text of its file. `id` is the file's stem.
    ///
    /// # Errors
    /// Everything that is wrong in the file, each with its place.
    pub fn from_toml(text: &str, id: &str, default_origin: Origin) -> Result<Self, Vec<Problem>> {
        let head: Head = read_table(text).map_err(|problem| vec![problem])?;
        let mut problems = Vec::new();
        macro_rules! read {
            ($file:ty, |$parsed:ident| $model:expr) => {{
                let $parsed: $file = read_table(text).map_err(|problem| vec![problem])?;
                let origin = $parsed.from.unwrap_or(default_origin);
                let (name, note, like, price) =
                    ($parsed.name.clone(), $parsed.note.clone(), $parsed.like.clone(), $parsed.price.clone());
                if name.value.trim().is_empty() {
                    problems.push(Problem::new(
                        name.span,
                        "the name is empty",
                        "write a plain description, such as \"Small condenser microphone\"",
                    ));
                }
                if let Some(price) = &price
                    && !(price.value.is_finite() && price.value >= 0.0)
                {
                    problems.push(Problem::new(
                        price.span.clone(),
                        "a price can't be negative",
                        "write 0 or more",
                    ));
                }
                let mut model = $model;
                model.resolve(origin, &mut problems);
                Device {
                    name: name.value,
                    id: id.to_owned(),
                    note,
                    like,
                    price: price.map(|p| p.value),
                    model,
                }
            }};
        }
        let device = match head.device_type.value {
            DeviceType::Microphone => read!(MicrophoneFile, |file| Model::Microphone(file.microphone)),
            DeviceType::Booster => read!(BoosterFile, |file| Model::Booster(file.booster)),
            DeviceType::Cable => read!(CableFile, |file| Model::Cable(file.cable)),
            DeviceType::Preamp => read!(FrontEndFile, |file| Model::Preamp(file.into())),
            DeviceType::Interface => read!(FrontEndFile, |file| Model::Interface(file.into())),
            DeviceType::Converter => read!(FrontEndFile, |file| Model::Converter(file.into())),
        };
        device.check(&mut problems);
        if problems.is_empty() { Ok(device) } else { Err(problems) }
    }

    /// What it is.
    #[must_use]
    pub const fn device_type(&self) -> DeviceType {
        match self.model {
            Model::Microphone(_) => DeviceType::Microphone,
            Model::Booster(_) => DeviceType::Booster,
            Model::Preamp(_) => DeviceType::Preamp,
            Model::Interface(_) => DeviceType::Interface,
            Model::Converter(_) => DeviceType::Converter,
            Model::Cable(_) => DeviceType::Cable,
        }
    }

    /// The preamp, interface or converter, if it is one.
    #[must_use]
    pub const fn front_end(&self) -> Option<&FrontEnd> {
        match &self.model {
            Model::Preamp(front_end) | Model::Interface(front_end) | Model::Converter(front_end) => {
                Some(front_end)
            }
            _ => None,
        }
    }

    pub(crate) const fn front_end_mut(&mut self) -> Option<&mut FrontEnd> {
        match &mut self.model {
            Model::Preamp(front_end) | Model::Interface(front_end) | Model::Converter(front_end) => {
                Some(front_end)
            }
            _ => None,
        }
    }

    /// The microphone, if it is one.
    #[must_use]
    pub const fn microphone(&self) -> Option<&Microphone> {
        match &self.model {
            Model::Microphone(microphone) => Some(microphone),
            _ => None,
        }
    }

    /// The booster, if it is one.
    #[must_use]
    pub const fn booster(&self) -> Option<&Booster> {
        match &self.model {
            Model::Booster(booster) => Some(booster),
            _ => None,
        }
    }
}

impl From<FrontEndFile> for FrontEnd {
    fn from(file: FrontEndFile) -> Self {
        Self {
            microphone_inputs: file.microphone_inputs,
            line_inputs: file.line_inputs,
            line_outputs: file.line_outputs,
            digital_inputs: file.digital_inputs,
            digital_outputs: file.digital_outputs,
            whole: file.device,
        }
    }
}

impl FileStruct for Model {
    fn resolve(&mut self, origin: Origin, problems: &mut Vec<Problem>) {
        match self {
            Self::Microphone(microphone) => microphone.resolve(origin, problems),
            Self::Booster(booster) => booster.resolve(origin, problems),
            Self::Preamp(front_end) | Self::Interface(front_end) | Self::Converter(front_end) => {
                front_end.resolve(origin, problems);
            }
            Self::Cable(cable) => cable.resolve(origin, problems),
        }
    }

    fn fill_from(&mut self, typical: &Self) {
        match (self, typical) {
            (Self::Microphone(own), Self::Microphone(typical)) => own.fill_from(typical),
            (Self::Booster(own), Self::Booster(typical)) => own.fill_from(typical),
            (
                Self::Preamp(own) | Self::Interface(own) | Self::Converter(own),
                Self::Preamp(typical) | Self::Interface(typical) | Self::Converter(typical),
            ) => own.fill_from(typical),
            (Self::Cable(own), Self::Cable(typical)) => own.fill_from(typical),
            _ => {}
        }
    }
}

pub use check::USUAL_SOURCE;

/// The JSON Schema of a device file, whatever its type.
#[must_use]
pub fn schema() -> schemars::Schema {
    let mut generator = schemars::SchemaGenerator::default();
    let variants = [
        generator.subschema_for::<MicrophoneFile>(),
        generator.subschema_for::<BoosterFile>(),
        generator.subschema_for::<FrontEndFile>(),
        generator.subschema_for::<CableFile>(),
    ];
    let mut definitions = generator.take_definitions(true);
    // Each shape of file goes with certain words in `type`.
    let types: [(&str, &[&str]); 4] = [
        ("MicrophoneFile", &["microphone"]),
        ("BoosterFile", &["booster"]),
        ("FrontEndFile", &["preamp", "interface", "converter"]),
        ("CableFile", &["cable"]),
    ];
    for (file, words) in types {
        if let Some(place) = definitions.get_mut(file).and_then(|d| d.pointer_mut("/properties/type")) {
            *place =
                schemars::json_schema!({ "description": "What the device is.", "enum": words }).to_value();
        }
    }
    schemars::json_schema!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Device file",
        "anyOf": variants,
        "$defs": definitions,
    })
}
