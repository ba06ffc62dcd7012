//! The command line.

use clap::{Args, Parser, Subcommand, ValueEnum, ValueHint};
use std::path::PathBuf;

const AFTER: &str = "\
With no command, the page is served and the browser opened, as by `gainsay serve`. A case is a TOML file that says what is to be recorded, where, and what is \
there already; what it leaves out is filled with what is typical, and the answer says so. Begin with `gainsay demo my-studio` \
and change what it writes.

Exit codes:
  0  answered, whatever the verdict
  1  a case or device file is wrong or missing
  2  the command line is wrong
  3  something could not be written
  4  with --strict: something is short

Colour is left out where output is not a terminal, or NO_COLOR is set.";

/// Is what you plug your microphones into good enough for what you want to record?
#[derive(Debug, Parser)]
#[command(name = "gainsay", version, about, after_long_help = AFTER, after_help = "See --help for the exit codes and how to begin.")]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Work out whether inputs, level and headroom suffice for every source
    Check(Check),
    /// Write the patch: which source into which input, through which cables, on whose clock
    Patch(crate::commands::patch::Patch),
    /// Find the least that would be enough: what to add, what to change, what to ask next
    Options(crate::commands::options::Options),
    /// Unfold one source stage by stage, from the air to the file
    Explain(Explain),
    /// Serve the page: all of this in the browser
    Serve(crate::commands::serve::Serve),
    /// Answer from one line, without a file
    Quick(Quick),
    /// List what is built in: kinds of sources, microphones, boosters, preamps, interfaces, converters, cables
    Kinds(Kinds),
    /// Read a device's specification text and write its device file, with every doubt marked
    Sheet(crate::commands::sheet::Sheet),
    /// Put devices side by side on one footing
    Compare(crate::commands::compare::Compare),
    /// List, find, show and check the devices of a gear folder
    Gear(crate::commands::gear::Gear),
    /// Print the JSON Schema of a file format
    Schema {
        /// Of which file
        of: SchemaOf,
    },
    /// Write the demo's cases and gear as files to start from; nothing is overwritten
    Demo {
        /// The folder, made if it is not there
        #[arg(value_hint = ValueHint::DirPath)]
        folder: PathBuf,
    },
    /// Print a completion script for a shell
    Completions {
        /// Which shell
        shell: clap_complete::Shell,
    },
}

/// How many draws, and the seed.
#[derive(Debug, Clone, Args)]
pub(crate) struct DrawArguments {
    /// Monte Carlo draws behind each interval
    #[arg(long, default_value_t = 10_000, value_parser = clap::value_parser!(u32).range(8..=1_000_000))]
    pub(crate) draws: u32,
    /// Seed of the draws; the same seed gives the same answer to the last digit
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
}

impl Default for DrawArguments {
    fn default() -> Self {
        Self { draws: 10_000, seed: 1 }
    }
}

impl DrawArguments {
    pub(crate) fn draws(&self) -> gainsay_plan::Draws {
        gainsay_plan::Draws { count: self.draws as usize, seed: self.seed }
    }
}

#[derive(Debug, Default, Args)]
#[command(after_help = "\
Each source gets one of three verdicts. Enough: nothing bought behind the microphone would make an audible difference. \
Tight: an attentive listener may notice, or a peak may clip. Short: the noise is audible and a better front end would lower \
it by more than 3 dB, or loud passages are likely to clip. A low recorded peak is no fault by itself.")]
pub(crate) struct Check {
    /// The case's TOML file; the embedded demo if not given
    #[arg(value_hint = ValueHint::FilePath)]
    pub(crate) case: Option<PathBuf>,
    /// Print everything as JSON, with units in the field names
    #[arg(long)]
    pub(crate) json: bool,
    /// Write the level diagram to this SVG file
    #[arg(long, value_name = "FILE.svg", value_hint = ValueHint::FilePath)]
    pub(crate) diagram: Option<PathBuf>,
    /// List every assumed figure, not only those that matter most
    #[arg(long)]
    pub(crate) all: bool,
    /// End with exit code 4 if anything is short
    #[arg(long)]
    pub(crate) strict: bool,
    /// Draws and seed
    #[command(flatten)]
    pub(crate) draws: DrawArguments,
}

#[derive(Debug, Args)]
pub(crate) struct Explain {
    /// The case's TOML file; the embedded demo if not given
    #[arg(value_hint = ValueHint::FilePath)]
    pub(crate) case: Option<PathBuf>,
    /// Name of the source; may be left out if the case has only one
    #[arg(long, short, value_name = "NAME")]
    pub(crate) source: Option<String>,
    /// Print as JSON
    #[arg(long)]
    pub(crate) json: bool,
    /// Draws and seed
    #[command(flatten)]
    pub(crate) draws: DrawArguments,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Example: gainsay quick whisper --microphone moving-coil-broadcast --into desk-interface-two-inputs --distance 10cm --room 'NR 20'

Everything but the kind of source may be left out: what is usual is taken, and the answer says so. See `gainsay kinds`.")]
pub(crate) struct Quick {
    /// What is to be recorded: a kind of source, such as "whisper" or "fiddle"
    pub(crate) kind: String,
    /// The microphone: a built-in kind or a device file
    #[arg(long, short, value_name = "M")]
    pub(crate) microphone: Option<String>,
    /// What it is plugged into: a built-in kind or a device file
    #[arg(long, short, value_name = "DEVICE", default_value = "usual-interface")]
    pub(crate) into: String,
    /// A booster in the line: a built-in kind or a device file
    #[arg(long, value_name = "B")]
    pub(crate) booster: Option<String>,
    /// From source to microphone, such as "60 cm"
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) distance: Option<String>,
    /// RMS level of the quietest passage at the microphone, such as "50 dBA"
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) quiet: Option<String>,
    /// RMS level of the loudest passage at the microphone, such as "85 dB SPL ± 3 dB"
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) loud: Option<String>,
    /// Noise of the room, such as "NR 20" or "28 dBA"
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) room: Option<String>,
    /// Print as JSON
    #[arg(long)]
    pub(crate) json: bool,
    /// Write the level diagram to this SVG file
    #[arg(long, value_name = "FILE.svg", value_hint = ValueHint::FilePath)]
    pub(crate) diagram: Option<PathBuf>,
    /// Print the case file that asks the same
    #[arg(long)]
    pub(crate) as_case: bool,
    /// Draws and seed
    #[command(flatten)]
    pub(crate) draws: DrawArguments,
}

#[derive(Debug, Args)]
pub(crate) struct Kinds {
    /// A family (sources, microphones, boosters, preamps, interfaces, converters, cables), or the name of one kind
    pub(crate) what: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum SchemaOf {
    /// A case file
    Case,
    /// A device file
    Device,
}
