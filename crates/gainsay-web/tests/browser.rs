//! Journeys through the page in a real browser: Chromium, driven by playwright-core; accessibility by axe-core (WCAG rules);
//! markup by html-validate. `./test` installs them.
#![cfg(test)]

use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::mpsc;

/// A site of the demo's own on a free port, for as long as it lives.
struct Served {
    address: SocketAddr,
    _folder: tempfile::TempDir,
    _end: tokio::sync::oneshot::Sender<()>,
}

fn serve() -> Served {
    let folder = tempfile::tempdir().unwrap();
    gainsay_folder::demo::write(&folder.path().join("studio")).unwrap();
    let config = gainsay_web::Config {
        folder: folder.path().join("studio"),
        address: SocketAddr::from((Ipv4Addr::LOCALHOST, 0)),
        token: None,
    };
    let (end, ended) = tokio::sync::oneshot::channel::<()>();
    let (tell, told) = mpsc::channel();
    std::thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        runtime.block_on(async {
            let listening = gainsay_web::listen(config).await.unwrap();
            tell.send(listening.address()).unwrap();
            let end = async {
                let _ = ended.await;
            };
            listening.serve(end).await.unwrap();
        });
    });
    Served { address: told.recv().unwrap(), _folder: folder, _end: end }
}

/// The folder into which `./test` has installed the browser's tools.
fn tools() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.test-tools/browser")
}

#[track_caller]
fn journey(script: &str, served: &Served, more: &[&str]) {
    let tools = tools();
    assert!(
        tools.join("node_modules/playwright-core").is_dir(),
        "the tools for tests in a browser are not installed: run `./test`, which installs them"
    );
    let output = Command::new("node")
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/browser").join(script))
        .arg(format!("http://{}", served.address))
        .args(more)
        .env("GAINSAY_NODE_MODULES", &tools)
        .output()
        .unwrap_or_else(|error| panic!("node can't be run: {error}"));
    let (out, err) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    println!("{out}");
    assert!(output.status.success(), "{script} ends with {}:\n{out}{err}", output.status);
}

#[test]
fn a_first_time_user_gets_an_answer() {
    journey("first_answer.mjs", &serve(), &[]);
}

#[test]
fn a_slider_moves_the_picture() {
    journey("what_if.mjs", &serve(), &[]);
}

#[test]
fn every_page_is_accessible_and_fits() {
    journey("every_page.mjs", &serve(), &[]);
}

#[test]
fn the_markup_is_valid() {
    let pages = [
        "/",
        "/cases",
        "/cases/quintet",
        "/cases/quintet-96-khz/patch",
        "/cases/storyteller-pocket-recorder/options",
        "/cases/storyteller/sources/1",
        "/gear",
        "/gear/kitchen-interface",
        "/nothing-here",
    ];
    journey("valid_html.mjs", &serve(), &pages);
}
