//! One line for somebody who waits, gone at the end.

use crate::output;
use gainsay_plan::options::{Progress, Score};
use gainsay_plan::words::options::left;
use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

/// What takes less needs no line.
const SHOWN_AFTER: Duration = Duration::from_secs(1);

/// The line on standard error, where that is a terminal.
pub(super) struct Line {
    begin: Instant,
    is_terminal: bool,
    progress: Option<Progress>,
    /// What stands there now.
    shown: String,
}

impl Line {
    pub(super) fn new(begin: Instant) -> Self {
        let is_terminal = std::io::stderr().is_terminal();
        Self { begin, is_terminal, progress: None, shown: String::new() }
    }

    pub(super) fn tell(&mut self, progress: Progress) {
        // A new part of the search begins without a best of its own; that of the part before still holds.
        let known = self.progress.take().and_then(|before| before.best);
        let best = progress.best.into_iter().chain(known).min_by_key(|(price, score)| (*score, *price));
        self.progress = Some(Progress { best, ..progress });
    }

    pub(super) fn draw(&mut self, stopping: bool) {
        let passed = self.begin.elapsed();
        if !self.is_terminal || passed < SHOWN_AFTER {
            return;
        }
        let room = output::columns().saturating_sub(1);
        let text = words(self.progress.as_ref(), passed, stopping, room);
        if text != self.shown {
            self.replace(text);
        }
    }

    pub(super) fn clear(&mut self) {
        if !self.shown.is_empty() {
            self.replace(String::new());
        }
    }

    /// Blanks instead of control sequences, which not every terminal knows.
    fn replace(&mut self, text: String) {
        let width = textwrap::core::display_width;
        let blanks = " ".repeat(width(&self.shown).saturating_sub(width(&text)));
        let end = if text.is_empty() { "\r" } else { "" };
        let mut stderr = std::io::stderr().lock();
        // A line of progress that can't be written is no loss.
        let _ = write!(stderr, "\r{text}{blanks}{end}").and_then(|()| stderr.flush());
        self.shown = text;
    }
}

/// The parts that have room: what is done comes before the best so far, that before the rest.
fn words(progress: Option<&Progress>, passed: Duration, stopping: bool, room: usize) -> String {
    let doing = match progress {
        _ if stopping => "taking the best so far",
        Some(progress) => progress.doing.as_str(),
        None => "checking what there is",
    };
    let best = progress.filter(|_| !stopping).and_then(|progress| progress.best).map(|(price, score)| {
        let result = if score == Score::ENOUGH { "everything is enough".to_owned() } else { left(score) };
        format!("best so far: {result} for {price}")
    });
    let mend = if stopping { "Ctrl-C again ends at once" } else { "Ctrl-C takes the best so far" };
    let mut line = format!("{doing}, {} s", passed.as_secs());
    for part in best.into_iter().chain(std::iter::once(mend.to_owned())) {
        let longer = format!("{line}; {part}");
        if textwrap::core::display_width(&longer) <= room {
            line = longer;
        }
    }
    if textwrap::core::display_width(&line) > room {
        line = line.chars().take(room / 2).collect();
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use gainsay_plan::Price;

    #[test]
    fn the_line_fits_into_any_terminal() {
        let score = Score { left_out: 1, short: 2, tight: 3 };
        let progress = Progress {
            doing: "weighing what could be added, at 48 kHz".to_owned(),
            best: Some((Price::of_hundredths(123_456), score)),
        };
        for stopping in [false, true] {
            for room in 4..200 {
                let line = words(Some(&progress), Duration::from_secs(75), stopping, room);
                assert!(
                    line.chars().count() <= room,
                    "{} characters in {room}: {line}",
                    line.chars().count()
                );
            }
        }
        let line = words(Some(&progress), Duration::from_secs(75), false, 200);
        assert_eq!(
            line,
            "weighing what could be added, at 48 kHz, 75 s; best so far: one source without an input, two sources short and \
             three sources tight for 1234.56; Ctrl-C takes the best so far"
        );
    }

    #[test]
    fn the_best_of_all_parts_is_kept() {
        let mut line = Line::new(Instant::now());
        let tell = |line: &mut Line, best| line.tell(Progress { doing: "a".to_owned(), best });
        let tight = Score { tight: 1, ..Score::ENOUGH };
        let short = Score { short: 1, ..Score::ENOUGH };
        let price = Price::of_hundredths;
        tell(&mut line, Some((price(0), short)));
        tell(&mut line, Some((price(500), tight)));
        tell(&mut line, None);
        tell(&mut line, Some((price(0), short)));
        tell(&mut line, Some((price(600), tight)));
        assert_eq!(line.progress.and_then(|progress| progress.best), Some((price(500), tight)));
    }
}
