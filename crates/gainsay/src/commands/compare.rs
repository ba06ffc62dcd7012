//! `gainsay compare`: devices side by side on one footing, and what each would really record.

mod devices;
mod recording;
mod table;

use crate::arguments::DrawArguments;
use crate::exit::{Exit, Failure};
use crate::output;
use clap::{Args, ValueHint};
use gainsay_gear::Catalogue;
use gainsay_plan::footing::{Class, Compared, DeviceFooting, footing, spreadsheet};
use std::path::PathBuf;

pub(crate) use devices::one as device_of;
pub(crate) use table::group as group_text;

#[derive(Debug, Args)]
#[command(after_help = "\
Example: gainsay compare desk-interface-two-inputs gear/my-preamp.toml --microphone moving-coil-broadcast --source whisper

All devices must be of one sort: boxes with inputs (preamps, interfaces, converters), microphones, or boosters. Noise is put on one \
footing: 20 Hz to 20 kHz, unweighted, with a source of 150 ohm at 20 °C. With --source each device is also tried in the same \
recording, and the answer says whether anyone would hear the difference.")]
pub(crate) struct Compare {
    /// The devices: built-in kinds (see `gainsay kinds`) or device files
    #[arg(required = true, value_name = "DEVICE")]
    pub(crate) devices: Vec<String>,
    /// What is to be recorded: a kind of source, such as "whisper" or "fiddle"
    #[arg(long, short, value_name = "KIND")]
    pub(crate) source: Option<String>,
    /// The microphone before it: a built-in kind or a device file; the usual one if not given
    #[arg(long, short, value_name = "M", requires = "source")]
    pub(crate) microphone: Option<String>,
    /// What compared microphones and boosters are plugged into: a built-in kind or a device file
    #[arg(long, short, value_name = "DEVICE", requires = "source")]
    pub(crate) into: Option<String>,
    /// From source to microphone, such as "60 cm"
    #[arg(long, allow_hyphen_values = true, requires = "source")]
    pub(crate) distance: Option<String>,
    /// Noise of the room, such as "NR 20" or "28 dBA"
    #[arg(long, allow_hyphen_values = true, requires = "source")]
    pub(crate) room: Option<String>,
    /// Print as JSON, with units in the field names
    #[arg(long)]
    pub(crate) json: bool,
    /// Print as a table for spreadsheets, a row for each group of inputs
    #[arg(long, conflicts_with = "json")]
    pub(crate) csv: bool,
    /// Write the usable windows between noise and ceiling to this SVG file
    #[arg(long, value_name = "FILE.svg", value_hint = ValueHint::FilePath)]
    pub(crate) diagram: Option<PathBuf>,
    /// Draws and seed
    #[command(flatten)]
    pub(crate) draws: DrawArguments,
}

pub(crate) fn run(arguments: &Compare) -> Result<Exit, Failure> {
    let named = devices::read(&arguments.devices)?;
    let class = Class::of_all(named.iter().map(|named| &named.device))
        .map_err(|wrong| Failure::Input(wrong.message, wrong.mend.to_owned()))?;
    let draws = arguments.draws.draws();
    let footings: Vec<DeviceFooting> = named
        .iter()
        .map(|named| footing(&named.device, Catalogue::embedded(), draws))
        .collect::<Result<_, _>>()?;
    let recordings = match &arguments.source {
        Some(source) => Some(recording::compare(arguments, source, &named, class)?),
        None => None,
    };
    if let Some(path) = &arguments.diagram {
        let svg = gainsay_picture::usable_windows(&footings, &gainsay_picture::Style::default());
        output::write_file(path, &svg)?;
    }
    let printed = if arguments.json {
        super::check::json(&Compared::new(&footings, recordings.as_ref(), draws))?
    } else if arguments.csv {
        spreadsheet(&footings, recordings.as_ref())
    } else {
        table::text(&footings, recordings.as_ref(), arguments.diagram.as_deref())
    };
    output::print(&printed)?;
    Ok(Exit::Answered)
}
