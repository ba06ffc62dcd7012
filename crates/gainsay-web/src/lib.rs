//! The page: everything that the command line does, in the browser.
//!
//! ```text
//! request ─ connections (how many, how long) ─ safety (host, origin, token, sizes) ─ pages ─ shelf (cases and gear, read and checked once for each version)
//!                                                    └ html from the same sentences and pictures as the command line's
//! ```
//!
//! Whatever is saved (a form, a text, an option, a what-if) goes through the folder's own saving, against the version that it was
//! made from, and the page that follows says what has turned by it and takes it back. Nothing is overwritten that somebody else
//! has written meanwhile: both texts are shown.
//!
//! Pages are whole documents that work without scripts. Where scripts run, htmx replaces parts of them, and sliders ask for a new
//! picture as they move.

#![expect(clippy::result_large_err, reason = "what goes wrong with a page is a page")]

mod assets;
mod connections;
mod layout;
mod pages;
mod safety;
mod shelf;
mod words;

use axum::Router;
use safety::Safety;
use shelf::Shelf;
use std::io;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;

/// What is served, and to whom.
#[derive(Debug, Clone)]
pub struct Config {
    /// The folder of cases and gear.
    pub folder: PathBuf,
    /// Address and port; port 0 takes any that is free.
    pub address: SocketAddr,
    /// The token that every visitor has to bring, where the address is not of this machine only.
    pub token: Option<String>,
}

/// What every handler has.
pub(crate) struct Site {
    pub(crate) shelf: Shelf,
}

/// How much is taken at once, and how long is waited. Who is beyond a limit is told so, where that can be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Connections at once. A browser opens six or so; a system often lets a program open about a thousand files, connections
    /// among them.
    pub connections: usize,
    /// Requests that are answered at once; others wait for their turn.
    pub at_once: usize,
    /// From when a connection could ask until it has sent the head of its request. One that asks nothing is shut then too.
    pub head: Duration,
    /// From then until it has sent the rest of its request.
    pub body: Duration,
    /// From then until there is an answer.
    pub answer: Duration,
    /// How long a client may take to receive an answer.
    pub unread: Duration,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            connections: 800,
            at_once: 64,
            head: Duration::from_secs(30),
            body: Duration::from_secs(30),
            answer: Duration::from_secs(60),
            unread: Duration::from_secs(60),
        }
    }
}

/// A site that is listening.
#[derive(Debug)]
pub struct Listening {
    listener: TcpListener,
    router: Router,
    address: SocketAddr,
    limits: Limits,
    answering: Arc<()>,
}

/// Listens on the address of a configuration.
///
/// # Errors
/// When the port is taken or the address is not of this machine.
pub async fn listen(config: Config) -> io::Result<Listening> {
    listen_within(config, Limits::default()).await
}

/// Listens within other limits.
///
/// # Errors
/// As [`listen`].
pub async fn listen_within(config: Config, limits: Limits) -> io::Result<Listening> {
    let listener = TcpListener::bind(config.address).await?;
    let address = listener.local_addr()?;
    let shelf = Shelf::open_folder(&config.folder).map_err(|error| io::Error::other(error.to_string()))?;
    let site = Arc::new(Site { shelf });
    let answering = Arc::new(());
    let safety = Safety::new(address, config.token, limits, Arc::clone(&answering));
    let router = safety::protect(pages::router().with_state(site), safety);
    Ok(Listening { listener, router, address, limits, answering })
}

impl Listening {
    /// The address to which a browser goes.
    #[must_use]
    pub const fn address(&self) -> SocketAddr {
        self.address
    }

    /// Serves until `end` comes; what is being answered then is answered.
    ///
    /// # Errors
    /// None now: a connection that fails is the client's affair.
    pub async fn serve(self, end: impl Future<Output = ()> + Send + 'static) -> io::Result<()> {
        connections::serve(self.listener, self.router, self.limits, self.answering, end).await;
        Ok(())
    }
}

/// A token that nobody guesses: 128 random bits.
///
/// # Errors
/// When the system has no random numbers.
pub fn token() -> io::Result<String> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).map_err(|error| io::Error::other(error.to_string()))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}
