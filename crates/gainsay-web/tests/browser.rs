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
    folder: tempfile::TempDir,
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
    Served { address: told.recv().unwrap(), folder, _end: end }
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
fn devices_are_compared_in_the_same_recording() {
    journey("compare.mjs", &serve(), &[]);
}

#[test]
fn gear_is_found_copied_removed_and_brought_back() {
    let served = serve();
    let folder = studio(&served);
    journey("library.mjs", &served, &[&folder]);
}

#[test]
fn a_device_unfolds() {
    journey("device.mjs", &serve(), &[]);
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
        "/cases/storyteller/sources/1?distance=0.4",
        "/cases/quintet/edit",
        "/cases/quintet/file",
        "/cases/quintet/history",
        "/gear/kitchen-interface/edit",
        "/gear",
        "/gear?find=ribbon&kind=microphone&device=kitchen-interface",
        "/gear?find=nothing%3D3",
        "/gear/kitchen-interface",
        "/gear/kitchen-interface/remove",
        "/gear/ribbon-figure-of-eight",
        "/gear/star-quad-cable",
        "/gear/sheet",
        "/gear/compare?device=kitchen-interface&device=moving-coil-broadcast",
        "/gear/compare?device=kitchen-interface&device=boathouse-interface&source=whisper",
        "/gear/compare?device=moving-coil-broadcast&device=ribbon-figure-of-eight&source=whisper",
        "/gear/compare",
        "/nothing-here",
    ];
    journey("valid_html.mjs", &serve(), &pages);
}

#[test]
fn a_case_is_built_from_nothing_by_forms() {
    journey("build_case.mjs", &serve(), &[]);
}

#[test]
fn an_option_turns_a_verdict_and_is_undone() {
    journey("option.mjs", &serve(), &[]);
}

#[test]
fn settings_are_kept_figures_copied_tables_downloaded() {
    journey("keep.mjs", &serve(), &[]);
}

#[test]
fn two_tabs_lose_nothing() {
    let served = serve();
    let folder = studio(&served);
    journey("two_tabs.mjs", &served, &[&folder]);
}

#[test]
fn paper_carries_no_navigation() {
    journey("print.mjs", &serve(), &[]);
}

#[test]
fn a_pasted_sheet_becomes_a_device_and_is_compared() {
    journey("paste_sheet.mjs", &serve(), &[]);
}

fn studio(served: &Served) -> String {
    served.folder.path().join("studio").to_str().unwrap().to_owned()
}

/// The journey kills its server: it starts this same program as one, over and over.
#[test]
fn a_server_that_dies_in_mid_save_takes_nothing_with_it() {
    let served = serve();
    let program = std::env::current_exe().unwrap();
    journey("lost_server.mjs", &served, &[&studio(&served), program.to_str().unwrap()]);
}

/// A server in a process of its own, to be killed: the folder and the port come from the environment.
#[test]
#[ignore = "serves until it is killed, and checks nothing"]
fn a_server_to_be_killed() {
    let folder = PathBuf::from(std::env::var_os("GAINSAY_SERVE").expect("a folder"));
    let port = std::env::var("GAINSAY_PORT").ok().and_then(|port| port.parse().ok()).unwrap_or(0);
    let address = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    runtime.block_on(async {
        let listening =
            gainsay_web::listen(gainsay_web::Config { folder, address, token: None }).await.unwrap();
        println!("\nlistening on {}", listening.address());
        listening.serve(std::future::pending()).await.unwrap();
    });
}
