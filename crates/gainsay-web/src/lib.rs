//! The page: everything that the command line does, in the browser.
//!
//! ```text
//! request ─ safety (host, origin, token, limits) ─ pages ─ shelf (cases and gear, read and checked once for each version)
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

/// A site that is listening.
#[derive(Debug)]
pub struct Listening {
    listener: TcpListener,
    router: Router,
    address: SocketAddr,
}

/// Longest time that a request may take, reading and answering it.
const LONGEST: Duration = Duration::from_secs(60);

/// Listens on the address of a configuration.
///
/// # Errors
/// When the port is taken or the address is not of this machine.
pub async fn listen(config: Config) -> io::Result<Listening> {
    let listener = TcpListener::bind(config.address).await?;
    let address = listener.local_addr()?;
    let shelf = Shelf::open_folder(&config.folder).map_err(|error| io::Error::other(error.to_string()))?;
    let site = Arc::new(Site { shelf });
    let safety = Safety::new(address, config.token);
    let router = safety::protect(pages::router().with_state(site), safety, LONGEST);
    Ok(Listening { listener, router, address })
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
    /// When the listener fails.
    pub async fn serve(self, end: impl Future<Output = ()> + Send + 'static) -> io::Result<()> {
        axum::serve(self.listener, self.router).with_graceful_shutdown(end).await
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
