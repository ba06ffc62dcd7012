//! Connections: how many there are, and how long one may keep a place without doing anything with it.
//!
//! One that sends its request a byte at a time, or never reads what it is answered, takes no thread and no turn from others; it
//! takes a connection, of which there is a limited number, and is cut off when its time is over.

use crate::Limits;
use crate::safety;
use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use std::io;
use std::pin::{Pin, pin};
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::time::{Sleep, sleep, timeout};

/// Connections beyond the limit that are told so at once; more are shut without a word.
const TOLD: usize = 64;
/// How long one beyond the limit may take to say what it wants, and to read that it comes too late.
const TOLD_WITHIN: Duration = Duration::from_secs(2);
/// Longest head of a request: an address with a question in it, and what browsers add.
const LONGEST_HEAD: usize = 1 << 16;
/// How long a connection on which nothing has been asked is kept when the program ends: answers are on their way by then.
const FAREWELL: Duration = Duration::from_secs(1);

/// Serves until `end` comes; what is being answered then is answered. Each answer is at work while `answering` has another owner.
pub(crate) async fn serve(
    listener: TcpListener,
    router: Router,
    limits: Limits,
    answering: Arc<()>,
    end: impl Future<Output = ()> + Send,
) {
    let places = Arc::new(Semaphore::new(limits.connections));
    let to_tell = Arc::new(Semaphore::new(TOLD));
    let graceful = GracefulShutdown::new();
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(limits.head).max_buf_size(LONGEST_HEAD);
    let mut too_late = http1::Builder::new();
    too_late.timer(TokioTimer::new()).header_read_timeout(TOLD_WITHIN).keep_alive(false);
    let mut end = pin!(end);
    loop {
        let accepted = tokio::select! {
            accepted = listener.accept() => accepted,
            () = end.as_mut() => break,
        };
        let stream = match accepted {
            Ok((stream, _)) => stream,
            // A connection that its client has given up already is nothing; that the system can't open more passes.
            Err(_) => {
                sleep(Duration::from_millis(10)).await;
                continue;
            }
        };
        // Answers are written in one go: nothing is gained by waiting for more.
        let _ = stream.set_nodelay(true);
        if let Ok(place) = Arc::clone(&places).try_acquire_owned() {
            let io = TokioIo::new(Patient::new(stream, limits.unread));
            let service = TowerToHyperService::new(router.clone());
            let connection = graceful.watch(http.serve_connection(io, service));
            tokio::spawn(async move {
                // How a connection ends is the client's affair.
                let _ = connection.await;
                drop(place);
            });
        } else if let Ok(place) = Arc::clone(&to_tell).try_acquire_owned() {
            let io = TokioIo::new(Patient::new(stream, TOLD_WITHIN));
            let service = TowerToHyperService::new(safety::too_many());
            let connection = too_late.serve_connection(io, service);
            tokio::spawn(async move {
                let _ = timeout(2 * TOLD_WITHIN, connection).await;
                drop(place);
            });
        }
    }
    drop(listener);
    tokio::select! {
        () = graceful.shutdown() => {}
        () = answered(&answering) => {}
        () = sleep(limits.answer) => {}
    }
}

/// Waits until nothing is being answered, and has been sent.
async fn answered(answering: &Arc<()>) {
    let is_idle = || Arc::strong_count(answering) <= 2;
    loop {
        sleep(FAREWELL).await;
        if is_idle() {
            return;
        }
    }
}

/// A connection that waits only so long for an answer to be taken: from when the system takes no more of it until all has gone.
struct Patient {
    stream: TcpStream,
    patience: Duration,
    until: Option<Pin<Box<Sleep>>>,
}

impl Patient {
    const fn new(stream: TcpStream, patience: Duration) -> Self {
        Self { stream, patience, until: None }
    }

    /// What comes of a write that has to wait.
    fn wait<T>(&mut self, context: &mut Context<'_>, written: Poll<io::Result<T>>) -> Poll<io::Result<T>> {
        if written.is_pending() {
            let until = self.until.get_or_insert_with(|| Box::pin(sleep(self.patience)));
            if until.as_mut().poll(context).is_ready() {
                return Poll::Ready(Err(io::ErrorKind::TimedOut.into()));
            }
        }
        written
    }
}

impl AsyncRead for Patient {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(context, buffer)
    }
}

impl AsyncWrite for Patient {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let written = Pin::new(&mut self.stream).poll_write(context, bytes);
        self.wait(context, written)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let written = Pin::new(&mut self.stream).poll_write_vectored(context, bytes);
        self.wait(context, written)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        // Only asked for when all has been written: a client that takes a little now and then does not begin its time anew.
        let flushed = Pin::new(&mut self.stream).poll_flush(context);
        if flushed.is_ready() {
            self.until = None;
        }
        flushed
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}
