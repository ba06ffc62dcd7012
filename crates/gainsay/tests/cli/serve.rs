//! The page, started as a user starts it.

use crate::run::{command, folder};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, ChildStdout, Stdio};
use std::time::Duration;

/// A running page; ended with the test.
struct Served {
    child: Child,
    /// Kept open: who prints into a closed pipe ends.
    _output: BufReader<ChildStdout>,
    /// Host and port.
    host: String,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Starts the program with the user's data in a folder, and reads the address that it prints.
fn serve(data: &Path, arguments: &[&str]) -> Served {
    let mut child = command(100, data)
        .args(arguments)
        .env("XDG_DATA_HOME", data)
        .env("HOME", data)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut line = String::new();
    let mut output = BufReader::new(child.stdout.take().expect("its output"));
    output.read_line(&mut line).expect("a line");
    let host = line.trim().strip_prefix("Gainsay is at http://").and_then(|rest| rest.strip_suffix('/'));
    let host = host.unwrap_or_else(|| panic!("no address: {line:?}")).to_owned();
    Served { child, _output: output, host }
}

/// An answer to a request by hand, so that no library decides what is asked.
fn get(host: &str, path: &str) -> String {
    let mut stream = TcpStream::connect(host).expect("the page listens");
    stream.set_read_timeout(Some(Duration::from_secs(30))).expect("a time limit");
    write!(stream, "GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n").expect("it is asked");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).expect("an answer");
    answer
}

#[test]
fn no_command_serves_the_page() {
    let data = folder(&[]);
    let served = serve(data.path(), &[]);
    assert!(served.host.starts_with("127.0.0.1:"), "{}", served.host);
    let first = get(&served.host, "/");
    assert!(first.starts_with("HTTP/1.1 200"), "{first}");
    assert!(first.contains("Is it good enough?"), "{first}");
    // The demo is there as cases, in the user's own data folder.
    assert!(get(&served.host, "/cases").contains("A quintet in the boathouse"));
    assert!(data.path().join("gainsay/quintet.toml").is_file());
}

#[test]
fn serve_takes_a_folder() {
    let data = folder(&[(
        "my/bell.toml",
        "title = \"A bell\"\n[[source]]\nkind = \"speech normal\"\n[[owned]]\ndevice = \"usual-interface\"\n",
    )]);
    let served = serve(data.path(), &["serve", "my"]);
    let cases = get(&served.host, "/cases");
    assert!(cases.contains("A bell") && !cases.contains("quintet"), "{cases}");
}
