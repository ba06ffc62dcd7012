//! `gainsay serve`.

use crate::exit::{Exit, Failure};
use crate::output;
use clap::{Args, ValueHint};
use gainsay_web::{Config, listen};
use std::io::IsTerminal;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;

#[derive(Debug, Default, Args)]
#[command(after_help = "\
The page is served to this machine only, unless --address says otherwise; then every visitor needs the token that is printed at \
the start. Ctrl-C ends it.")]
pub(crate) struct Serve {
    /// The folder of cases and gear; the demo in a folder of its own if not given
    #[arg(value_hint = ValueHint::DirPath)]
    folder: Option<PathBuf>,
    /// The port; any that is free if not given
    #[arg(long, default_value_t = 0)]
    port: u16,
    /// Do not open the browser
    #[arg(long)]
    no_open: bool,
    /// Another address than this machine's own, such as 0.0.0.0 for the whole network
    #[arg(long)]
    address: Option<IpAddr>,
}

pub(crate) fn run(arguments: &Serve) -> Result<Exit, Failure> {
    let folder = match &arguments.folder {
        Some(folder) if folder.is_dir() => folder.clone(),
        Some(folder) => {
            return Err(Failure::Input(
                format!("there is no folder {}", folder.display()),
                format!("write the demo there with: gainsay demo {}", folder.display()),
            ));
        }
        None => super::demo::own_folder()?,
    };
    let ip = arguments.address.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST));
    let failed = |what: &str, error: &std::io::Error| {
        Failure::Output(format!("{what}: {error}"), "try another --port, or end what uses it".to_owned())
    };
    let token = if ip.is_loopback() {
        None
    } else {
        Some(gainsay_web::token().map_err(|error| failed("there are no random numbers", &error))?)
    };
    let config = Config { folder, address: SocketAddr::new(ip, arguments.port), token: token.clone() };
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    let runtime = runtime.map_err(|error| failed("the page can't be served", &error))?;
    runtime.block_on(async {
        let listening = listen(config).await.map_err(|error| failed("the page can't be served", &error))?;
        let query = token.map(|token| format!("?token={token}")).unwrap_or_default();
        let address = format!("http://{}/{query}", listening.address());
        output::print(&format!("Gainsay is at {address}\nCtrl-C ends it."))?;
        // Without a terminal nobody sits before it: a browser would open on a screen that nobody looks at.
        let opens = !arguments.no_open && std::io::stdout().is_terminal();
        if opens && open::that_detached(&address).is_err() {
            output::print("No browser could be opened: open the address yourself.")?;
        }
        let end = async {
            let _ = tokio::signal::ctrl_c().await;
        };
        listening.serve(end).await.map_err(|error| failed("the page ended", &error))
    })?;
    Ok(Exit::Answered)
}
