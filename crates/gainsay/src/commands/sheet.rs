//! `gainsay sheet`.

use crate::exit::{Exit, Failure};
use crate::output;
use clap::{Args, ValueEnum, ValueHint};
use gainsay_gear::DeviceType;
use gainsay_sheet::{Answers, NotASheet, Question, Reading, Why};
use std::io::{IsTerminal, Read, Write};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
#[command(after_help = "\
Example: gainsay sheet pasted.txt -o gear/my-preamp.toml

Lines, tables, lists and footnotes are read, in English, German and French. Each figure stands with the words that it was read \
from. Doubts and what found no place go to standard error, and into the file with --output. What the text leaves open is \
asked on a terminal; elsewhere the cautious reading is taken, and marked.")]
pub(crate) struct Sheet {
    /// The text; standard input if it is "-" or not given
    #[arg(value_hint = ValueHint::FilePath)]
    pub(crate) file: Option<PathBuf>,
    /// What the device is; the text decides if not given
    #[arg(long)]
    pub(crate) kind: Option<Kind>,
    /// Write the device file here, with every doubt as a comment
    #[arg(long, short, value_name = "FILE.toml", value_hint = ValueHint::FilePath)]
    pub(crate) output: Option<PathBuf>,
    /// Replace the output file if it is there already
    #[arg(long, requires = "output")]
    pub(crate) force: bool,
    /// Name of the device; the first line of the text if not given
    #[arg(long)]
    pub(crate) name: Option<String>,
}

/// What a sheet can be of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Kind {
    /// A microphone amplifier with an analogue output
    Preamp,
    /// A microphone or pickup
    Microphone,
    /// A box between microphones and computer
    Interface,
    /// A box between analogue and digital connections
    Converter,
    /// An amplifier of fixed gain in the microphone line
    Booster,
}

impl From<Kind> for DeviceType {
    fn from(kind: Kind) -> Self {
        match kind {
            Kind::Preamp => Self::Preamp,
            Kind::Microphone => Self::Microphone,
            Kind::Interface => Self::Interface,
            Kind::Converter => Self::Converter,
            Kind::Booster => Self::Booster,
        }
    }
}

pub(crate) fn run(arguments: &Sheet) -> Result<Exit, Failure> {
    if let Some(path) = arguments.output.as_deref().filter(|path| path.exists() && !arguments.force) {
        return Err(Failure::Output(
            format!("{} is there already, and nothing is overwritten", path.display()),
            "name another file, or add --force".to_owned(),
        ));
    }
    let from_file = arguments.file.as_deref().filter(|path| *path != Path::new("-"));
    let bytes = bytes(from_file)?;
    let text = gainsay_sheet::text_of(&bytes).map_err(|error| refused(from_file, &error))?;
    let mut reading = read(text, arguments, &Answers::default(), from_file)?;
    let asks = from_file.is_some() && std::io::stdin().is_terminal() && std::io::stderr().is_terminal();
    if asks && !reading.questions.is_empty() {
        let answers = ask(&mut reading, text, arguments, from_file)?;
        reading = read(text, arguments, &answers, from_file)?;
    }
    tell(&reading);
    match &arguments.output {
        Some(path) => {
            output::write_file(path, &reading.to_toml_with_remarks())?;
            output::error(&format!("wrote {}", path.display()));
        }
        None => output::print(&reading.to_toml())?,
    }
    Ok(Exit::Answered)
}

fn read(text: &str, arguments: &Sheet, answers: &Answers, from: Option<&Path>) -> Result<Reading, Failure> {
    let kind = arguments.kind.map(DeviceType::from);
    let reading = gainsay_sheet::read_with(text, kind, answers).map_err(|error| refused(from, &error))?;
    Ok(match &arguments.name {
        Some(name) => reading.named(name),
        None => reading,
    })
}

/// The bytes of the file or of standard input, no more than a sheet can have.
fn bytes(from: Option<&Path>) -> Result<Vec<u8>, Failure> {
    // One byte more than can be read tells that there is too much.
    let most = gainsay_sheet::LARGEST_SHEET as u64 + 1;
    let mut bytes = Vec::new();
    match from {
        Some(path) => {
            let missing = |error: std::io::Error| {
                let message = match error.kind() {
                    std::io::ErrorKind::NotFound => format!("there is no file {}", path.display()),
                    _ => format!("{} can't be read: {error}", path.display()),
                };
                Failure::Input(message, "check the path, or paste the text to standard input".to_owned())
            };
            if path.is_dir() {
                return Err(Failure::Input(
                    format!("{} is a folder, not a file", path.display()),
                    "name the text file in it".to_owned(),
                ));
            }
            std::fs::File::open(path)
                .and_then(|file| file.take(most).read_to_end(&mut bytes))
                .map_err(missing)?;
        }
        None => {
            std::io::stdin().lock().take(most).read_to_end(&mut bytes).map_err(|error| {
                Failure::Input(
                    format!("standard input can't be read: {error}"),
                    "name a file instead".to_owned(),
                )
            })?;
        }
    }
    Ok(bytes)
}

fn refused(from: Option<&Path>, error: &NotASheet) -> Failure {
    let place = from.map_or_else(String::new, |path| format!("{}: ", path.display()));
    Failure::Input(format!("{place}{}", error.message()), error.mend().to_owned())
}

/// Asks what the text leaves open. The kind of device comes first, since what is open depends on it.
fn ask(
    reading: &mut Reading,
    text: &str,
    arguments: &Sheet,
    from: Option<&Path>,
) -> Result<Answers, Failure> {
    let mut answers = Answers::default();
    let mut asked = Vec::new();
    while let Some(question) = reading.questions.iter().find(|q| !asked.contains(&q.about)).cloned() {
        asked.push(question.about.clone());
        if let Some(choice) = choose(&question) {
            answers.add(question.about, choice);
            *reading = read(text, arguments, &answers, from)?;
        }
    }
    Ok(answers)
}

/// One numbered choice on standard error; none where it is left open.
fn choose(question: &Question) -> Option<usize> {
    let mut text = format!("{}\n", question.sentence);
    for (index, choice) in question.choices.iter().enumerate() {
        let mark = if index == question.chosen { "*" } else { " " };
        text.push_str(&format!(" {mark} {}  {choice}\n", index + 1));
    }
    text.push_str("Number, or Enter to leave it as marked: ");
    let mut stderr = anstream::stderr().lock();
    stderr.write_all(text.as_bytes()).and_then(|()| stderr.flush()).ok()?;
    drop(stderr);
    let mut line = String::new();
    std::io::stdin().read_line(&mut line).ok()?;
    let number: usize = line.trim().parse().ok()?;
    number.checked_sub(1).filter(|index| *index < question.choices.len())
}

/// Doubts and what found no place, on standard error.
fn tell(reading: &Reading) {
    let mut lines = Vec::new();
    if !reading.doubts.is_empty() {
        lines.push("To doubt:".to_owned());
        lines.extend(
            reading.doubts.iter().map(|doubt| output::hanging(&reading.doubt_line(doubt), "- ", "  ")),
        );
    }
    let unknown: Vec<_> =
        reading.unplaced.iter().filter(|u| matches!(u.why, Why::NotUnderstood(_))).collect();
    let lines_of = reading.unplaced_lines();
    if !unknown.is_empty() {
        lines.push("Not understood:".to_owned());
        for (unplaced, line) in reading.unplaced.iter().zip(&lines_of) {
            if matches!(unplaced.why, Why::NotUnderstood(_)) {
                lines.push(output::hanging(line, "- ", "  "));
            }
        }
    }
    if reading.unplaced.len() > unknown.len() {
        lines.push("Understood, but a device file has no field for it:".to_owned());
        for (unplaced, line) in reading.unplaced.iter().zip(&lines_of) {
            if matches!(unplaced.why, Why::NoField(_)) {
                lines.push(output::hanging(line, "- ", "  "));
            }
        }
    }
    if !lines.is_empty() {
        output::error(&lines.join("\n"));
    }
}
