//! The text of a case file on its way.

use super::AdoptError;
use crate::edit::{Edit, EditError, FieldPath, Segment, Value, apply};
use gainsay_gear::Catalogue;
use gainsay_plan::case::{Case, LevelsAt, Pickup};
use gainsay_plan::options::Change;
use gainsay_units::{DbSpl, Decibels, Figure, Metres, Spread};
use toml_edit::{DocumentMut, Item};

/// 97.5 % of a normal distribution lies below so many standard deviations.
const NORMAL_95: f64 = 1.959_963_984_540_054;

/// A length so exactly that it comes back as the same number.
pub(super) fn length(metres: Metres) -> String {
    format!("{} m", metres.metres())
}

/// A level with its spread, to a tenth of a decibel.
fn level(figure: &Figure<DbSpl>, louder: Decibels) -> String {
    let value = figure.value.db_spl() + louder.db();
    let spread = match figure.spread {
        Spread::Exact => String::new(),
        Spread::Rectangular { below, above } if (below - above).abs() < 0.05 => format!(" ± {above:.1} dB"),
        Spread::Rectangular { below, above } => format!(" +{above:.1}/-{below:.1} dB"),
        Spread::Normal { standard_deviation } => {
            format!(" ± {:.1} dB (95 %)", NORMAL_95 * standard_deviation)
        }
    };
    format!("{value:.1} dB SPL{spread}")
}

/// A text on its way.
pub(super) struct Draft<'a> {
    text: String,
    case: &'a Case,
    /// How many of the case's sources stood in the text at first: they come before those of the files that it includes.
    own: usize,
}

impl<'a> Draft<'a> {
    pub(super) fn new(text: &str, case: &'a Case) -> Result<Self, EditError> {
        let mut draft = Self { text: text.to_owned(), case, own: 0 };
        draft.own = draft.count("source")?;
        Ok(draft)
    }

    pub(super) fn finish(self) -> String {
        self.text
    }

    fn document(&self) -> Result<DocumentMut, EditError> {
        self.text.parse::<DocumentMut>().map_err(|error| EditError::NotToml {
            message: error.message().to_owned(),
            at: error.span().map_or(0, |span| span.start),
        })
    }

    /// What stands at the places of a path, if anything.
    fn find<T>(&self, path: &str, what: impl FnOnce(&Item) -> T) -> Result<Option<T>, EditError> {
        let document = self.document()?;
        let path = FieldPath::parse(path)?;
        let mut item = document.as_item();
        for step in path.segments() {
            let next = match step {
                Segment::Key(key) => item.get(key.as_str()),
                Segment::Index(index) => item.get(*index),
            };
            match next {
                Some(next) => item = next,
                None => return Ok(None),
            }
        }
        Ok(Some(what(item)))
    }

    fn has(&self, path: &str) -> Result<bool, EditError> {
        Ok(self.find(path, |item| !item.is_none())?.unwrap_or(false))
    }

    fn text_at(&self, path: &str) -> Result<Option<String>, EditError> {
        Ok(self.find(path, |item| item.as_str().map(str::to_owned))?.flatten())
    }

    /// How many tables of a name there are.
    fn count(&self, path: &str) -> Result<usize, EditError> {
        let count = self.find(path, |item| match item {
            Item::ArrayOfTables(tables) => tables.len(),
            item => item.as_array().map_or(0, toml_edit::Array::len),
        })?;
        Ok(count.unwrap_or(0))
    }

    fn edit(&mut self, edit: &Edit) -> Result<(), EditError> {
        self.text = apply(&self.text, edit)?;
        Ok(())
    }

    pub(super) fn set(&mut self, path: &str, value: impl Into<Value>) -> Result<(), EditError> {
        self.edit(&Edit::Set { path: FieldPath::parse(path)?, value: value.into() })
    }

    pub(super) fn remove(&mut self, path: &str) -> Result<(), EditError> {
        if self.has(path)? { self.edit(&Edit::Remove { path: FieldPath::parse(path)? }) } else { Ok(()) }
    }

    /// Sets a figure. What was said of the old value (where it came from, its tolerance) does not hold for the new one.
    pub(super) fn figure(&mut self, path: &str, text: &str) -> Result<(), EditError> {
        if self.find(path, Item::is_table_like)?.unwrap_or(false) {
            for said in ["tolerance", "from", "measured", "note"] {
                self.remove(&format!("{path}.{said}"))?;
            }
        }
        self.set(path, text)
    }

    /// The path of a source of this file.
    fn source(&self, name: &str) -> Result<(String, usize), AdoptError> {
        let mut named = self.case.sources.iter().enumerate().filter(|(_, source)| source.name == name);
        match (named.next(), named.next()) {
            (Some((index, _)), None) => Ok((self.of_index(index, name)?, index)),
            (Some(_), Some(_)) => Err(AdoptError::Ambiguous { source: name.to_owned() }),
            (None, _) => Err(AdoptError::Elsewhere { source: name.to_owned() }),
        }
    }

    /// The path of a source by its index in the case.
    pub(super) fn of_index(&self, index: usize, name: &str) -> Result<String, AdoptError> {
        if index < self.own {
            Ok(format!("source[{index}]"))
        } else {
            Err(AdoptError::Elsewhere { source: name.to_owned() })
        }
    }

    pub(super) fn change(&mut self, change: &Change) -> Result<(), AdoptError> {
        match change {
            Change::Add { device, count, .. } => self.add(&device.id, &device.name, *count)?,
            Change::Closer { source, to, .. } => {
                let (at, index) = self.source(source)?;
                self.distance(&at, index, &to.written)?;
            }
            Change::Microphone { source, to, .. } => {
                let (at, _) = self.source(source)?;
                self.set(&format!("{at}.microphone"), to.id.as_str())?;
            }
            Change::Booster { source, booster } => {
                let (at, _) = self.source(source)?;
                self.set(&format!("{at}.booster"), booster.id.as_str())?;
            }
            Change::SampleRate { to, .. } => self.figure("session.sample_rate", &to.written)?,
            Change::Turns { sources } => self.turns(sources)?,
            Change::LeaveOut { source } => self.leave_out(source)?,
        }
        Ok(())
    }

    /// Adds to what is owned: more of what is there already, or a table of its own.
    fn add(&mut self, id: &str, name: &str, count: u32) -> Result<(), EditError> {
        for index in 0..self.count("owned")? {
            let at = format!("owned[{index}]");
            let device = self.text_at(&format!("{at}.device"))?.unwrap_or_default();
            if [id, name].iter().any(|known| known.eq_ignore_ascii_case(device.trim())) {
                let there = self.find(&format!("{at}.count"), Item::as_integer)?.flatten().unwrap_or(1);
                return self.set(&format!("{at}.count"), Value::Whole(there + i64::from(count)));
            }
        }
        let mut fields = vec![("device".to_owned(), Value::from(id))];
        if count > 1 {
            fields.push(("count".to_owned(), Value::Whole(i64::from(count))));
        }
        self.edit(&Edit::AddTable { array: FieldPath::parse("owned")?, fields })
    }

    /// Another distance; levels that hold at the microphone hold where it was.
    pub(super) fn distance(&mut self, at: &str, source: usize, written: &str) -> Result<(), EditError> {
        if let Some(Pickup::Acoustic { distance, levels_at: LevelsAt::Microphone, .. }) =
            self.case.sources.get(source).map(|source| &source.pickup)
        {
            self.set(&format!("{at}.levels_at"), length(distance.value).as_str())?;
        }
        self.figure(&format!("{at}.distance"), written)
    }

    /// Both levels, so much louder.
    pub(super) fn louder(&mut self, at: &str, source: usize, louder: Decibels) -> Result<(), AdoptError> {
        let Some(source) = self.case.sources.get(source) else { return Ok(()) };
        let Pickup::Acoustic { levels_at, quiet, loud, .. } = &source.pickup else {
            return Err(AdoptError::Electrical { source: source.name.clone() });
        };
        self.figure(&format!("{at}.quiet"), &level(quiet, louder))?;
        self.figure(&format!("{at}.loud"), &level(loud, louder))?;
        if let LevelsAt::Distance(distance) = levels_at {
            self.figure(&format!("{at}.levels_at"), &length(*distance))?;
        }
        Ok(())
    }

    /// Sources that take turns stand at the microphone of the first, with its booster and its input.
    fn turns(&mut self, names: &[String]) -> Result<(), AdoptError> {
        let all: Vec<(String, usize)> =
            names.iter().map(|name| self.source(name)).collect::<Result<_, _>>()?;
        let Some(((first, index), others)) = all.split_first() else { return Ok(()) };
        let word = self.free_word()?;
        let model = self.case.sources.get(*index);
        for (at, index) in &all {
            self.set(&format!("{at}.turns"), word.as_str())?;
            let pair = self.case.sources.get(*index).and_then(|source| source.pair.clone());
            if let Some(pair) = pair {
                self.without_pair(&pair)?;
            }
        }
        for (at, _) in others {
            if let Some(microphone) = model.and_then(gainsay_plan::case::Source::microphone) {
                self.set(&format!("{at}.microphone"), microphone.id.as_str())?;
            }
            match model.and_then(|source| source.booster.as_ref()) {
                Some(booster) => self.set(&format!("{at}.booster"), booster.id.as_str())?,
                None => self.remove(&format!("{at}.booster"))?,
            }
            self.remove(&format!("{at}.input"))?;
            if let Some(device) = self.text_at(&format!("{first}.input.device"))? {
                self.set(&format!("{at}.input.device"), device.as_str())?;
            }
            for field in ["copy", "number"] {
                if let Some(number) =
                    self.find(&format!("{first}.input.{field}"), Item::as_integer)?.flatten()
                {
                    self.set(&format!("{at}.input.{field}"), Value::Whole(number))?;
                }
            }
        }
        Ok(())
    }

    /// A word by which no sources take turns yet.
    fn free_word(&self) -> Result<String, EditError> {
        let taken: Vec<&str> =
            self.case.sources.iter().filter_map(|source| source.turns.as_deref()).collect();
        let written: Vec<String> = (0..self.count("source")?)
            .filter_map(|index| self.text_at(&format!("source[{index}].turns")).transpose())
            .collect::<Result<_, _>>()?;
        let is_free = |word: &String| !taken.contains(&word.as_str()) && !written.contains(word);
        let mut words = (1_usize..).map(|n| if n == 1 { "turns".to_owned() } else { format!("turns {n}") });
        Ok(words.find(is_free).unwrap_or_default())
    }

    /// Takes both sides of a pair apart, as far as they stand here.
    fn without_pair(&mut self, word: &str) -> Result<(), EditError> {
        for index in 0..self.count("source")? {
            let at = format!("source[{index}].pair");
            if self.text_at(&at)?.as_deref() == Some(word) {
                self.remove(&at)?;
            }
        }
        Ok(())
    }

    /// Removes a source, and the options that speak of it.
    fn leave_out(&mut self, name: &str) -> Result<(), AdoptError> {
        let (_, index) = self.source(name)?;
        if let Some(pair) = self.case.sources.get(index).and_then(|source| source.pair.clone()) {
            self.without_pair(&pair)?;
        }
        // It may have moved, where another was left out before it.
        let here = self.index_of(name)?.unwrap_or(index);
        for option in (0..self.count("option")?).rev() {
            let of = format!("option[{option}]");
            let is_it = |other: &str| other.trim().eq_ignore_ascii_case(name);
            if self.text_at(&format!("{of}.source"))?.is_some_and(|other| is_it(&other)) {
                self.remove_table("option", option)?;
                continue;
            }
            let turns = self.count(&format!("{of}.turns"))?;
            for place in (0..turns).rev() {
                let taken = self.text_at(&format!("{of}.turns[{place}]"))?;
                if !taken.is_some_and(|other| is_it(&other)) {
                    continue;
                }
                // Two are the fewest that can take turns.
                if turns > 2 {
                    self.remove(&format!("{of}.turns[{place}]"))?;
                } else {
                    self.remove_table("option", option)?;
                }
                break;
            }
        }
        Ok(self.remove_table("source", here)?)
    }

    /// Where a source stands in the text now; its name, or that of its kind.
    fn index_of(&self, name: &str) -> Result<Option<usize>, EditError> {
        let catalogue = Catalogue::embedded();
        for index in 0..self.count("source")? {
            let own = self.text_at(&format!("source[{index}].name"))?;
            let kind = || {
                let kind = self.text_at(&format!("source[{index}].kind")).ok().flatten()?;
                catalogue.source(&kind).map(|kind| kind.name.clone())
            };
            if own.or_else(kind).is_some_and(|own| own.trim() == name) {
                return Ok(Some(index));
            }
        }
        Ok(None)
    }

    fn remove_table(&mut self, array: &str, index: usize) -> Result<(), EditError> {
        self.edit(&Edit::RemoveTable { array: FieldPath::parse(array)?, index })
    }
}
