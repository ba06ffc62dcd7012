//! The search on a thread of its own, so that somebody who waits can end it.

use super::progress::Line;
use crate::exit::Failure;
use crate::output;
use gainsay_plan::options::{OptionsAnswer, OptionsError, Progress, options};
use gainsay_plan::{Case, Options};
use std::ops::ControlFlow;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

/// How long a search that was stopped may take to notice it: one call of the solver can't be interrupted.
const PATIENCE: Duration = Duration::from_secs(2);

/// How often the line of progress is looked at.
const TICK: Duration = Duration::from_millis(100);

/// What shells take for "ended by Ctrl-C" (128 and the number of the signal).
const ENDED_BY_CTRL_C: i32 = 130;

/// What happens while the search runs.
enum Event {
    Progress(Progress),
    /// The search has noticed that it is to stop: an answer will come.
    Stopping,
    CtrlC,
    Done(Box<Result<OptionsAnswer, OptionsError>>),
}

/// Runs the search. The program ends here if nobody wants to wait for the answer any longer.
pub(super) fn run(case: Case, with: Options, limit: Option<Duration>) -> Result<OptionsAnswer, Failure> {
    let (events, arriving) = channel();
    let stop = Arc::new(AtomicBool::new(false));
    let from_keyboard = events.clone();
    // Without a handler Ctrl-C ends the program, as it always does.
    let _ = ctrlc::set_handler(move || {
        let _ = from_keyboard.send(Event::CtrlC);
    });
    search(case, with, Arc::clone(&stop), events);
    wait(&arriving, &stop, limit)
}

fn search(case: Case, with: Options, stop: Arc<AtomicBool>, events: Sender<Event>) {
    thread::spawn(move || {
        let mut watch = |progress: &Progress| {
            // Nobody listens any more only where the program is about to end.
            let _ = events.send(Event::Progress(progress.clone()));
            if stop.load(Ordering::Relaxed) {
                let _ = events.send(Event::Stopping);
                return ControlFlow::Break(());
            }
            ControlFlow::Continue(())
        };
        let result = options(&case, with, &mut watch);
        let _ = events.send(Event::Done(Box::new(result)));
    });
}

fn wait(
    arriving: &Receiver<Event>,
    stop: &AtomicBool,
    limit: Option<Duration>,
) -> Result<OptionsAnswer, Failure> {
    let begin = Instant::now();
    let mut line = Line::new(begin);
    let (mut asked_to_stop, mut stopping): (Option<Instant>, bool) = (None, false);
    loop {
        match arriving.recv_timeout(TICK) {
            Ok(Event::Progress(progress)) => line.tell(progress),
            Ok(Event::Stopping) => stopping = true,
            Ok(Event::CtrlC) if asked_to_stop.is_some() => give_up(&mut line),
            Ok(Event::CtrlC) => {
                asked_to_stop = Some(Instant::now());
                stop.store(true, Ordering::Relaxed);
            }
            Ok(Event::Done(result)) => {
                line.clear();
                return finish(*result, stopping);
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => {
                line.clear();
                return Err(Failure::Output(
                    "the search ended without an answer".to_owned(),
                    "report it".to_owned(),
                ));
            }
        }
        if asked_to_stop.is_none() && limit.is_some_and(|limit| begin.elapsed() >= limit) {
            asked_to_stop = Some(Instant::now());
            stop.store(true, Ordering::Relaxed);
        }
        if !stopping && asked_to_stop.is_some_and(|since| since.elapsed() >= PATIENCE) {
            give_up(&mut line);
        }
        line.draw(asked_to_stop.is_some());
    }
}

fn finish(result: Result<OptionsAnswer, OptionsError>, stopping: bool) -> Result<OptionsAnswer, Failure> {
    let answer = result.map_err(|error| match error {
        OptionsError::Missing(missing) => missing.into(),
        OptionsError::Unsolved(_) => Failure::Output(error.to_string(), "report it".to_owned()),
    })?;
    if stopping && !answer.stopped {
        output::error(
            "Stopped before the end: the plans where nothing about the recording changes may not be the best.",
        );
    }
    Ok(answer)
}

/// Ends the program; the search can't be interrupted in any other way.
fn give_up(line: &mut Line) -> ! {
    line.clear();
    output::error("Stopped: there is no answer yet.");
    std::process::exit(ENDED_BY_CTRL_C)
}
