//! Corrections by hand to what was read.

use crate::reading::{Path, Reading, Value};
use crate::words;
use gainsay_gear::Device;
use gainsay_units::Quantity;

/// Why a correction can't be taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotTaken {
    /// What is wrong.
    pub message: String,
    /// How to mend it.
    pub mend: String,
}

impl NotTaken {
    fn new((message, mend): (String, String)) -> Self {
        Self { message, mend }
    }
}

impl Reading {
    /// Puts what somebody typed in the place of what was read. The words that it was read from stay beside it, and it is marked
    /// as corrected. Doubts about what stood there fall away; [`Reading::doubt_anew`] raises those about what stands there now.
    /// A field that was withheld counts again.
    ///
    /// # Errors
    /// When the text is no value of that field's sort, or the field was not read.
    pub fn correct(&mut self, path: &Path, text: &str) -> Result<(), NotTaken> {
        let Some(entry) = self.entries.iter_mut().find(|entry| entry.path == *path) else {
            return Err(NotTaken::new(words::not_read(path)));
        };
        let text = text.trim();
        let value = match &entry.reading.value {
            Value::Figure(_) => Value::Figure(text.parse::<Quantity>().map_err(|error| NotTaken {
                message: error.message().to_owned(),
                mend: error.mend().to_owned(),
            })?),
            Value::Word(_) | Value::Text(_) => Value::Text(text.to_owned()),
            Value::Words(_) | Value::Texts(_) => Value::Texts(parts(text).map(str::to_owned).collect()),
            Value::Yes(_) => match text.to_lowercase().as_str() {
                "yes" | "true" => Value::Yes(true),
                "no" | "false" => Value::Yes(false),
                _ => return Err(NotTaken::new(words::yes_or_no(text))),
            },
            Value::Count(_) => Value::Count(text.parse().map_err(|_| NotTaken::new(words::no_count(text)))?),
            Value::RatesHz(_) => {
                let rate = |part: &str| part.parse::<f64>().ok().filter(|rate| rate.is_finite());
                let rates: Option<Vec<f64>> = parts(text).map(rate).collect();
                let rates = rates.filter(|rates| !rates.is_empty());
                Value::RatesHz(rates.ok_or_else(|| NotTaken::new(words::no_rates(text)))?)
            }
        };
        if value == entry.reading.value && !entry.withheld {
            return Ok(());
        }
        entry.reading.how = Some(words::corrected(&entry.reading.value));
        entry.reading.value = value;
        entry.others.clear();
        entry.withheld = false;
        self.forget_doubts(path);
        Ok(())
    }

    /// Leaves out a field that was read, with the doubts about it.
    pub fn leave_out(&mut self, path: &Path) {
        self.entries.retain(|entry| entry.path != *path);
        self.forget_doubts(path);
    }

    /// The device as it stands now.
    ///
    /// # Errors
    /// Everything in it that no device file takes.
    pub fn device(&self) -> Result<Device, Vec<gainsay_units::Problem>> {
        Device::from_toml(&self.to_toml(), "sheet", gainsay_units::Origin::Sheet)
    }

    /// Raises the doubts about fields that were corrected, once the device can be read.
    pub fn doubt_anew(&mut self, device: &Device, corrected: &[Path]) {
        let corrected: Vec<String> = corrected.iter().map(ToString::to_string).collect();
        for doubt in crate::doubts_of(device) {
            let of_corrected = doubt.field.as_ref().is_some_and(|field| corrected.contains(field));
            if of_corrected && !self.doubts.iter().any(|known| known.sentence == doubt.sentence) {
                self.doubts.push(doubt);
            }
        }
    }

    fn forget_doubts(&mut self, path: &Path) {
        let path = path.to_string();
        self.doubts.retain(|doubt| doubt.field.as_ref() != Some(&path));
    }
}

/// Parts between commas.
fn parts(text: &str) -> impl Iterator<Item = &str> {
    text.split(',').map(str::trim).filter(|part| !part.is_empty())
}

#[cfg(test)]
mod tests {
    use crate::{Reading, Table, Value};

    const SHEET: &str = "Microphone preamp, one channel\nGain: +10 to +65 dB\nEIN: -128 dBu (A-weighted, 150 ohm)\n\
        Phantom power: 48 V, switchable\nMaximum input level: +12 dBu";

    fn read() -> Reading {
        crate::read(SHEET, None).unwrap()
    }

    #[test]
    fn a_corrected_figure_stands_in_the_file_with_what_it_was_read_as() {
        let mut reading = read();
        let path = reading.entry(Table::MicrophoneInputs, "", "ein").unwrap().path.clone();
        reading.correct(&path, "-126 dBu (A-weighted, 150 ohm)").unwrap();
        let file = reading.to_toml();
        assert!(file.contains("ein = { value = \"−126 dBu (A-weighted, 150 Ω)\""), "{file}");
        assert!(file.contains("−128 dBu"), "what it was read as stays beside it: {file}");
        assert!(reading.device().is_ok(), "{file}");
    }

    #[test]
    fn what_is_no_figure_is_refused_and_changes_nothing() {
        let mut reading = read();
        let before = reading.clone();
        let path = reading.entry(Table::MicrophoneInputs, "", "ein").unwrap().path.clone();
        assert!(reading.correct(&path, "quiet").is_err());
        assert_eq!(reading, before);
    }

    // Nyquist 1928: 150 Ω at 20 °C make −130.9 dBu in 20 Hz to 20 kHz; nothing can be below that.
    #[test]
    fn a_corrected_figure_is_doubted_like_any_other() {
        let mut reading = read();
        let path = reading.entry(Table::MicrophoneInputs, "", "ein").unwrap().path.clone();
        reading.correct(&path, "-128 dBu").unwrap();
        let device = reading.device().unwrap();
        reading.doubt_anew(&device, std::slice::from_ref(&path));
        assert!(
            reading.doubts.iter().any(|d| d.field.as_deref() == Some("microphone_inputs.ein")),
            "{:?}",
            reading.doubts
        );
        reading.correct(&path, "-135 dBu (150 ohm)").unwrap();
        assert!(reading.device().is_err());
    }

    #[test]
    fn a_field_that_is_left_out_is_gone() {
        let mut reading = read();
        let path = reading.entry(Table::MicrophoneInputs, "", "maximum_input").unwrap().path.clone();
        reading.leave_out(&path);
        assert!(!reading.to_toml().contains("maximum_input"));
        assert!(reading.correct(&path, "+10 dBu").is_err());
    }

    #[test]
    fn words_counts_and_flags_are_corrected_in_their_own_way() {
        let mut reading = read();
        let paths: Vec<_> =
            reading.entries.iter().map(|e| (e.path.clone(), e.reading.value.clone())).collect();
        for (path, value) in paths {
            let typed = match value {
                Value::Yes(yes) => if yes { "no" } else { "yes" }.to_owned(),
                Value::Count(count) => (count + 1).to_string(),
                other => other.to_string(),
            };
            reading.correct(&path, &typed).unwrap_or_else(|error| panic!("{path} = {typed}: {error:?}"));
        }
        assert!(reading.device().is_ok(), "{}", reading.to_toml());
    }
}
