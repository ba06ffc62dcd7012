//! `gainsay gear find`.

use super::{Entry, Shelf, facts, list};
use crate::exit::{Exit, Failure};
use crate::output;
use gainsay_gear::Catalogue;
use gainsay_units::Problem;

/// What must hold of a device.
enum Wanted {
    /// A word in its texts.
    Word(String),
    /// A fact.
    Is(String, String),
    /// A number on one side of another.
    Below(String, f64),
    Above(String, f64),
}

pub(super) fn run(shelf: &Shelf, words: &[String], json: bool) -> Result<Exit, Failure> {
    let wanted: Vec<Wanted> = words
        .iter()
        .flat_map(|argument| argument.split_whitespace())
        .map(Wanted::of)
        .collect::<Result<_, _>>()?;
    let mut found: Vec<(usize, &Entry)> = shelf
        .entries
        .iter()
        .filter_map(|entry| Some((Subject::of(entry).distance(&wanted)?, entry)))
        .collect();
    // Nearest first; those as near keep the order of their names.
    found.sort_by_key(|(distance, _)| *distance);
    let entries: Vec<&Entry> = found.into_iter().map(|(_, entry)| entry).collect();
    if json {
        output::print(&list::json(&entries)?)?;
        return Ok(Exit::Answered);
    }
    let mut blocks = vec![if entries.is_empty() {
        format!("nothing in {} fits", shelf.folder.display())
    } else {
        list::table(&entries)
    }];
    blocks.extend(shelf.broken_words());
    output::print(&blocks.join("\n\n"))?;
    Ok(Exit::Answered)
}

impl Wanted {
    fn of(text: &str) -> Result<Self, Failure> {
        let Some(at) = text.find(['=', '<', '>']) else { return Ok(Self::Word(text.to_lowercase())) };
        let (key, rest) = text.split_at(at);
        let mut rest = rest.chars();
        let sign = rest.next();
        let (key, value) = (key.to_lowercase(), rest.as_str().to_lowercase());
        if !facts::KEYS.contains(&key.as_str()) {
            return Err(Failure::Input(
                format!("\"{key}\" is nothing that can be asked for"),
                Problem::nearest(&key, facts::KEYS),
            ));
        }
        if sign == Some('=') {
            return Ok(Self::Is(key, value));
        }
        let number = value.parse::<f64>().ok().filter(|number| number.is_finite());
        match (sign, number) {
            (Some('<'), Some(number)) => Ok(Self::Below(key, number)),
            (_, Some(number)) => Ok(Self::Above(key, number)),
            (_, None) => Err(Failure::Input(
                format!("\"{text}\" needs a number"),
                "write for example price<300, in quotes so that the shell leaves it alone".to_owned(),
            )),
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
    fn of(entry: &Entry) -> Self {
        let mut device = entry.device.clone();
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
