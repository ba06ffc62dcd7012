//! What a case says about options: what could be bought, what could be changed without buying, what may be spent.

use super::assemble::Assembly;
use super::{FilePart, OptionFile, Owned, Pickup, Source};
use crate::price::Price;
use gainsay_gear::{Device, DeviceType};
use gainsay_units::{At, Figure, Hertz, Metres, Stated};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::ops::Range;
use std::sync::Arc;

/// What could be added or changed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Additions {
    /// The most that may be spent; no limit where the case states none.
    pub budget: Option<Price>,
    /// What stays as it is.
    pub keep: Vec<Keep>,
    /// What could be bought or borrowed.
    pub candidates: Vec<Candidate>,
    /// Whether the case names the candidates itself; otherwise they are what the gear folder has prices for.
    pub named: bool,
    /// Changes that the case allows by name.
    pub changes: Vec<Allowed>,
}

/// What stays as it is although it could be changed without buying anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Keep {
    /// How far the microphones are from their sources.
    Distances,
    /// Which microphone is before which source.
    Microphones,
    /// The sample rate.
    SampleRate,
}

/// A device that could be added.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The device, completed with what is typical.
    pub device: Arc<Device>,
    /// How many of it, at most.
    pub most: u32,
    /// What one of it costs; none where neither the case nor its file says.
    pub price: Option<Price>,
}

/// A change that costs nothing.
#[derive(Debug, Clone, PartialEq)]
pub enum Allowed {
    /// The nearest that a source's microphone may go.
    Closer {
        /// Index of the source.
        source: usize,
        /// Distance from the source.
        distance: Figure<Metres>,
    },
    /// A microphone that a source could have instead of its own.
    Microphone {
        /// Index of the source.
        source: usize,
        /// The microphone: owned, or one of the candidates.
        microphone: Arc<Device>,
    },
    /// A source that could be done without.
    LeaveOut {
        /// Index of the source.
        source: usize,
    },
    /// Sources that could take turns at one microphone.
    Turns {
        /// Indices of the sources.
        sources: Vec<usize>,
    },
    /// A sample rate that would do as well.
    SampleRate(Figure<Hertz>),
}

impl Additions {
    /// Whether something stays as it is.
    #[must_use]
    pub fn keeps(&self, what: Keep) -> bool {
        self.keep.contains(&what)
    }
}

impl Assembly<'_> {
    /// Looks up the options of a case.
    pub(super) fn additions(
        &mut self,
        parts: &[FilePart],
        owned: &[Owned],
        sources: &mut [Source],
    ) -> Additions {
        let mut additions = Additions::default();
        let mut microphones: Vec<(usize, Range<usize>, Arc<Device>)> = Vec::new();
        for (index, part) in parts.iter().enumerate() {
            self.part = index;
            let stated = &part.file.options;
            if let (None, Some(budget)) = (additions.budget, &stated.budget) {
                additions.budget = self.price(budget, "a budget");
            }
            for keep in stated.keep.iter().flatten() {
                if !additions.keeps(*keep) {
                    additions.keep.push(*keep);
                }
            }
            for file in &part.file.option {
                if let Some(allowed) = self.option(file, sources, &mut additions.candidates) {
                    if let Allowed::Microphone { microphone, .. } = &allowed {
                        let span = file.microphone.as_ref().map_or(0..0, |at| at.span.clone());
                        microphones.push((index, span, Arc::clone(microphone)));
                    }
                    additions.changes.push(allowed);
                }
            }
        }
        for (part, span, microphone) in microphones {
            let is = |device: &Device| device.name == microphone.name;
            let there = owned.iter().any(|owned| is(&owned.device))
                || additions.candidates.iter().any(|candidate| is(&candidate.device));
            if !there {
                self.part = part;
                self.problem(
                    span,
                    format!("\"{}\" is neither owned nor could it be bought", microphone.name),
                    format!(
                        "add it as an option of its own:\n[[option]]\ndevice = \"{}\"\nprice = …",
                        microphone.id
                    ),
                );
            }
        }
        self.part = 0;
        for allowed in &additions.changes {
            if let Allowed::LeaveOut { source } = allowed
                && let Some(source) = sources.get_mut(*source)
            {
                source.dispensable = true;
            }
        }
        additions.named = !additions.candidates.is_empty();
        if !additions.named {
            additions.candidates = self.priced_gear(owned);
        }
        additions
    }

    /// What the gear folder has prices for, beyond what is owned.
    fn priced_gear(&mut self, owned: &[Owned]) -> Vec<Candidate> {
        let mut candidates = Vec::new();
        for device in self.gear() {
            let Some(price) = device.price.and_then(Price::of_units) else { continue };
            let is_owned = owned.iter().any(|owned| owned.device.name == device.name);
            if is_owned || !can_be_added(device.device_type()) {
                continue;
            }
            let name = At::nowhere(device.id.clone());
            if let Some(device) = self.device(&name, None) {
                candidates.push(Candidate { device, most: 1, price: Some(price) });
            }
        }
        candidates
    }

    fn price(&mut self, at: &At<f64>, what: &str) -> Option<Price> {
        let price = Price::of_units(at.value);
        if price.is_none() {
            self.problem(
                at.span.clone(),
                format!("{} is not {what}", at.value),
                "write a number without a currency, 0 or more, such as 180",
            );
        }
        price
    }

    /// An option: a device becomes a candidate, anything else a change.
    fn option(
        &mut self,
        file: &OptionFile,
        sources: &[Source],
        candidates: &mut Vec<Candidate>,
    ) -> Option<Allowed> {
        let here = place_of(file);
        let kinds = [
            ("device", file.device.is_some()),
            ("turns", file.turns.is_some()),
            ("sample_rate", file.sample_rate.is_some()),
            ("distance", file.distance.is_some()),
            ("microphone", file.microphone.is_some()),
            ("leave_out", file.leave_out.is_some()),
        ];
        let stated: Vec<&str> = kinds.iter().filter(|(_, is)| *is).map(|(kind, _)| *kind).collect();
        let [kind] = stated[..] else {
            let (message, mend) = if stated.is_empty() {
                ("an option that says nothing".to_owned(), OPTION_FORMS.to_owned())
            } else {
                let both = stated.iter().map(|kind| format!("`{kind}`")).collect::<Vec<_>>().join(" and ");
                (format!("one option can't have {both}"), "write an [[option]] for each".to_owned())
            };
            self.problem(here, message, mend);
            return None;
        };
        if kind != "device" {
            for (what, at) in [
                ("price", file.price.as_ref().map(|at| at.span.clone())),
                ("count", file.count.as_ref().map(|at| at.span.clone())),
            ] {
                if let Some(span) = at {
                    self.problem(span, format!("`{what}` belongs to an option with `device`"), "take it out");
                }
            }
        }
        let source = match kind {
            "distance" | "microphone" | "leave_out" => {
                Some(self.source_named(file, sources, here.clone())?)
            }
            _ => {
                if let Some(source) = &file.source {
                    self.problem(
                        source.span.clone(),
                        format!("`source` does not belong to an option with `{kind}`"),
                        "take it out",
                    );
                }
                None
            }
        };
        match kind {
            "device" => {
                candidates.extend(self.candidate(file));
                None
            }
            "turns" => self.turns(file, sources),
            "sample_rate" => {
                let figure = file.sample_rate.as_ref().and_then(Stated::figure)?.clone();
                if !(8_000.0..=768_000.0).contains(&figure.value.hertz()) {
                    let message = format!("a sample rate of {} is not one that audio uses", figure.written);
                    self.problem(here, message, "write for example 44.1 kHz or 48 kHz");
                    return None;
                }
                Some(Allowed::SampleRate(figure))
            }
            "distance" => {
                let (source, figure) = (source?, file.distance.as_ref().and_then(Stated::figure)?.clone());
                let Some(Pickup::Acoustic { .. }) = sources.get(source).map(|s| &s.pickup) else {
                    self.problem(here, "an electrical source has no distance", "take this option out");
                    return None;
                };
                if figure.value.metres() <= 0.0 {
                    self.problem(here, "the distance must be above zero", "write for example \"5 cm\"");
                    return None;
                }
                Some(Allowed::Closer { source, distance: figure })
            }
            "microphone" => {
                let name = file.microphone.clone()?;
                let microphone = self.device(&name, Some(DeviceType::Microphone))?;
                let source = source?;
                let Some(Pickup::Acoustic { .. }) = sources.get(source).map(|s| &s.pickup) else {
                    self.problem(
                        name.span,
                        "an electrical source takes no microphone",
                        "take this option out",
                    );
                    return None;
                };
                Some(Allowed::Microphone { source, microphone })
            }
            _ => file.leave_out.unwrap_or(false).then_some(Allowed::LeaveOut { source: source? }),
        }
    }

    fn candidate(&mut self, file: &OptionFile) -> Option<Candidate> {
        let name = file.device.as_ref()?;
        let device = self.device(name, None)?;
        if !can_be_added(device.device_type()) {
            self.problem(
                name.span.clone(),
                format!("\"{}\" is {}, which is no option", name.value, device.device_type().with_article()),
                "name a microphone, a booster, a preamp, an interface or a converter",
            );
            return None;
        }
        let most = file.count.as_ref().map_or(1, |count| count.value);
        if let Some(count) = file.count.as_ref().filter(|count| count.value == 0 || count.value > 64) {
            self.problem(count.span.clone(), format!("a count of {most} is not possible"), "write 1 to 64");
        }
        let price = match &file.price {
            Some(price) => Some(self.price(price, "a price")?),
            None => device.price.and_then(Price::of_units),
        };
        Some(Candidate { device, most, price })
    }

    fn turns(&mut self, file: &OptionFile, sources: &[Source]) -> Option<Allowed> {
        let names = file.turns.as_ref()?;
        let mut found = Vec::with_capacity(names.len());
        for name in names {
            let source = self.find_source(name, sources)?;
            if found.contains(&source) {
                let message = format!("\"{}\" is there twice", name.value);
                self.problem(name.span.clone(), message, "name each source once");
                return None;
            }
            found.push(source);
        }
        if found.len() < 2 {
            let span = names.first().map_or(0..0, |name| name.span.clone());
            self.problem(span, "taking turns needs two sources", "write turns = [\"One\", \"Other\"]");
            return None;
        }
        Some(Allowed::Turns { sources: found })
    }

    fn source_named(&mut self, file: &OptionFile, sources: &[Source], here: Range<usize>) -> Option<usize> {
        match &file.source {
            Some(name) => self.find_source(name, sources),
            None => {
                self.problem(here, "this option does not say for which source", "add a line source = \"…\"");
                None
            }
        }
    }

    fn find_source(&mut self, name: &At<String>, sources: &[Source]) -> Option<usize> {
        let key = name.value.trim().to_lowercase();
        let found = sources.iter().position(|source| source.name.to_lowercase() == key);
        if found.is_none() {
            let known: Vec<&str> = sources.iter().map(|source| source.name.as_str()).collect();
            let mend = gainsay_units::Problem::nearest(&name.value, known);
            self.problem(name.span.clone(), format!("there is no source \"{}\"", name.value), mend);
        }
        found
    }
}

/// What an option can look like.
const OPTION_FORMS: &str = "\
write one of:
device = \"…\" and price = …
source = \"…\" and distance = \"…\"
source = \"…\" and microphone = \"…\"
source = \"…\" and leave_out = true
turns = [\"…\", \"…\"]
sample_rate = \"48 kHz\"";

const fn can_be_added(device_type: DeviceType) -> bool {
    !matches!(device_type, DeviceType::Cable)
}

/// The first place in an option that has one.
fn place_of(file: &OptionFile) -> Range<usize> {
    let names = [&file.device, &file.source, &file.microphone, &file.note];
    let name = names.into_iter().flatten().map(|at| at.span.clone()).next();
    let turns = || file.turns.as_ref().and_then(|names| names.first()).map(|at| at.span.clone());
    let figure =
        || file.distance.as_ref().map(Stated::span).or_else(|| file.sample_rate.as_ref().map(Stated::span));
    let number = || {
        file.price
            .as_ref()
            .map(|at| at.span.clone())
            .or_else(|| file.count.as_ref().map(|at| at.span.clone()))
    };
    name.or_else(turns).or_else(figure).or_else(number).unwrap_or(0..0)
}
