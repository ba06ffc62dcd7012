//! Devices found by words and conditions.

mod facts;

use crate::{Catalogue, Device};
use gainsay_units::Problem;
use std::ops::Range;

/// What is looked for: words, which may be misspelt a little, and conditions such as `phantom=no` or `price<300`. All of them
/// must hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Search(Vec<Wanted>);

/// What must hold of a device.
#[derive(Debug, Clone, PartialEq)]
enum Wanted {
    /// A word in its texts.
    Word(String),
    /// A fact.
    Is(String, String),
    /// A number on one side of another.
    Below(String, f64),
    Above(String, f64),
}

impl Search {
    /// Reads what is looked for, which white space parts. A text without any finds everything.
    ///
    /// # Errors
    /// A condition on something that can't be asked for, or a comparison without a number; with its place in the text.
    pub fn parse(text: &str) -> Result<Self, Problem> {
        let mut wanted = Vec::new();
        let mut rest = 0;
        for word in text.split_whitespace() {
            let start = text.get(rest..).and_then(|after| after.find(word)).map_or(rest, |at| rest + at);
            rest = start + word.len();
            wanted.push(Wanted::of(word, start..rest)?);
        }
        Ok(Self(wanted))
    }

    /// How far a device is from what is looked for: 0 where all words begin words of its names, more the worse they fit; none
    /// where something does not hold. What the device's file does not state is typical for its kind.
    #[must_use]
    pub fn distance(&self, device: &Device) -> Option<usize> {
        Subject::of(device).distance(&self.0)
    }
}

impl Wanted {
    fn of(text: &str, span: Range<usize>) -> Result<Self, Problem> {
        let Some(at) = text.find(['=', '<', '>']) else { return Ok(Self::Word(text.to_lowercase())) };
        let (key, rest) = text.split_at(at);
        let mut rest = rest.chars();
        let sign = rest.next();
        let (key, value) = (key.to_lowercase(), rest.as_str().to_lowercase());
        if !facts::KEYS.contains(&key.as_str()) {
            let message = format!("\"{key}\" is nothing that can be asked for");
            return Err(Problem::new(span, message, Problem::nearest(&key, facts::KEYS)));
        }
        if sign == Some('=') {
            return Ok(Self::Is(key, value));
        }
        let number = value.parse::<f64>().ok().filter(|number| number.is_finite());
        match (sign, number) {
            (Some('<'), Some(number)) => Ok(Self::Below(key, number)),
            (_, Some(number)) => Ok(Self::Above(key, number)),
            (_, None) => {
                Err(Problem::new(span, format!("\"{text}\" needs a number"), "write for example price<300"))
            }
        }
    }
}

/// A device as it is searched.
struct Subject {
    facts: Vec<(&'static str, String)>,
    /// Words of name, short name and type, then of its note.
    words: [Vec<String>; 2],
}

impl Subject {
    fn of(device: &Device) -> Self {
        let mut device = device.clone();
        Catalogue::embedded().fill(&mut device);
        let names = format!("{} {} {}", device.name, device.id, device.device_type().word());
        let note = device.note.clone().unwrap_or_default();
        let words = [names, note].map(|text| {
            text.to_lowercase()
                .split(|c: char| !c.is_alphanumeric())
                .filter(|word| !word.is_empty())
                .map(str::to_owned)
                .collect()
        });
        Self { facts: facts::of(&device), words }
    }

    /// How far the device is from what is wanted; none where something does not hold.
    fn distance(&self, wanted: &[Wanted]) -> Option<usize> {
        wanted.iter().map(|wanted| self.one(wanted)).sum()
    }

    fn one(&self, wanted: &Wanted) -> Option<usize> {
        let values = |key: &str| {
            let key = key.to_owned();
            self.facts.iter().filter(move |(known, _)| *known == key).map(|(_, value)| value.to_lowercase())
        };
        let numbers = |key: &str| values(key).filter_map(|value| value.parse::<f64>().ok());
        let holds = match wanted {
            Wanted::Word(word) => return self.word(word),
            Wanted::Is(key, wanted) => values(key).any(|value| value == *wanted),
            Wanted::Below(key, limit) => numbers(key).any(|number| number < *limit),
            Wanted::Above(key, limit) => numbers(key).any(|number| number > *limit),
        };
        holds.then_some(0)
    }

    /// Distance of a word from the nearest of the device: none for the beginning of one in its names, more in its note, and
    /// one more for each letter that is wrong, of which one in four may be.
    fn word(&self, wanted: &str) -> Option<usize> {
        const IN_NOTE: usize = 4;
        let allowed = wanted.chars().count() / 4;
        self.words
            .iter()
            .zip([0, IN_NOTE])
            .flat_map(|(words, further)| words.iter().map(move |word| (word, further)))
            .filter_map(|(word, further)| {
                let off = if word.starts_with(wanted) {
                    0
                } else if word.contains(wanted) {
                    1
                } else {
                    strsim::osa_distance(word, wanted)
                };
                (off <= allowed.max(1) && (off <= allowed || word.contains(wanted))).then_some(off + further)
            })
            .min()
    }
}
