//! A server to be asked, and a client that asks it.

use gainsay_web::{Config, Limits};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::thread::JoinHandle;
use std::time::Duration;

const FOLDER: &str = "GAINSAY_LOAD_TEST_FOLDER";

/// Far beyond any test: where a limit is not what is tried.
pub(crate) const NEVER: Duration = Duration::from_secs(3600);
/// An answer that has not come by then does not come.
const LOST: Duration = Duration::from_secs(100);

/// Limits on time that are never reached.
pub(crate) fn patient() -> Limits {
    Limits { head: NEVER, body: NEVER, answer: NEVER, unread: NEVER, ..Limits::default() }
}

/// A site of the demo's own on a free port, for as long as it lives.
pub(crate) struct Served {
    pub(crate) address: SocketAddr,
    pub(crate) folder: PathBuf,
    _kept: tempfile::TempDir,
    end: Option<(tokio::sync::oneshot::Sender<()>, JoinHandle<()>)>,
}

impl Served {
    /// Tells the server to end; its thread ends when it has.
    pub(crate) fn end(&mut self) -> JoinHandle<()> {
        let (end, thread) = self.end.take().unwrap();
        end.send(()).unwrap();
        thread
    }
}

pub(crate) fn demo() -> (tempfile::TempDir, PathBuf) {
    let directory = tempfile::tempdir().unwrap();
    let folder = directory.path().join("studio");
    gainsay_folder::demo::write(&folder).unwrap();
    (directory, folder)
}

fn config(folder: &Path) -> Config {
    let address = SocketAddr::from((Ipv4Addr::LOCALHOST, 0));
    Config { folder: folder.to_owned(), address, token: None }
}

pub(crate) fn serve(limits: Limits) -> Served {
    let (kept, folder) = demo();
    let config = config(&folder);
    let (end, ended) = tokio::sync::oneshot::channel::<()>();
    let (tell, told) = mpsc::channel();
    let thread = std::thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
        runtime.unwrap().block_on(async {
            let listening = gainsay_web::listen_within(config, limits).await.unwrap();
            tell.send(listening.address()).unwrap();
            let end = async {
                let _ = ended.await;
            };
            listening.serve(end).await.unwrap();
        });
    });
    Served { address: told.recv().unwrap(), folder, _kept: kept, end: Some((end, thread)) }
}

/// A server in a process of its own, which can be killed and has its own number of open files.
pub(crate) struct Process {
    pub(crate) address: SocketAddr,
    child: Child,
}

impl Process {
    pub(crate) fn start(folder: &Path) -> Self {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "served::a_server_of_its_own", "--ignored", "--nocapture"])
            .env(FOLDER, folder)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let address = lines.find_map(|line| line.unwrap().strip_prefix("listening on ")?.parse().ok());
        // The pipe stays open without a reader; nothing more is written to it.
        Self { address: address.expect("the server ends"), child }
    }

    pub(crate) fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

/// The server itself; nothing in the program that starts it.
#[test]
#[ignore = "serves until it is killed, and checks nothing"]
fn a_server_of_its_own() {
    let folder = PathBuf::from(std::env::var_os(FOLDER).expect("a folder"));
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
    runtime.unwrap().block_on(async {
        let listening = gainsay_web::listen(config(&folder)).await.unwrap();
        println!("\nlistening on {}", listening.address());
        listening.serve(std::future::pending()).await.unwrap();
    });
}

/// An answer, taken apart.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: String,
}

impl Answer {
    /// Nothing where there is no whole answer.
    pub(crate) fn parse(bytes: &[u8]) -> Option<Self> {
        let end = bytes.windows(4).position(|part| part == b"\r\n\r\n")?;
        let head = String::from_utf8_lossy(&bytes[..end]).to_ascii_lowercase();
        let status = head.strip_prefix("http/1.1 ")?.get(..3)?.parse().ok()?;
        let body = &bytes[end + 4..];
        let length = head.lines().find_map(|line| line.strip_prefix("content-length: "));
        let is_whole = length.is_none_or(|length| length.parse() == Ok(body.len()));
        is_whole.then(|| Self { status, head, body: String::from_utf8_lossy(body).into_owned() })
    }

    /// That the words are meant for a person.
    #[track_caller]
    pub(crate) fn is_plain(&self) {
        for trace in ["panicked", "RUST_BACKTRACE", "stack backtrace", ".rs:", "os error", "src/"] {
            assert!(!self.body.contains(trace), "{trace}: {self:?}");
        }
    }

    /// The sentences of a page that says what went wrong.
    pub(crate) fn says(&self, words: &str) -> bool {
        self.head.contains("content-type: text/html") && self.body.contains(words)
    }
}

pub(crate) fn connect(address: SocketAddr) -> TcpStream {
    let stream = TcpStream::connect(address).unwrap();
    stream.set_read_timeout(Some(LOST)).unwrap();
    stream.set_write_timeout(Some(LOST)).unwrap();
    stream
}

/// Sends bytes, and reads until the server shuts the connection.
pub(crate) fn send(address: SocketAddr, bytes: &[u8]) -> Option<Answer> {
    let mut stream = connect(address);
    // A server that has said enough may shut the connection before all is sent.
    let _ = stream.write_all(bytes);
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    Answer::parse(&answer)
}

/// A request with its usual headers, and more.
pub(crate) fn request(address: SocketAddr, line: &str, more: &str, body: &[u8]) -> Vec<u8> {
    let length = if body.is_empty() && line.starts_with("GET") {
        String::new()
    } else {
        format!("content-length: {}\r\n", body.len())
    };
    let head =
        format!("{line} HTTP/1.1\r\nhost: {address}\r\nconnection: close\r\n{length}{more}\r\n").into_bytes();
    [head.as_slice(), body].concat()
}

#[track_caller]
pub(crate) fn get(address: SocketAddr, path: &str) -> Answer {
    send(address, &request(address, &format!("GET {path}"), "", b"")).expect("no answer")
}

const FORM: &str = "content-type: application/x-www-form-urlencoded\r\n";

/// A form as the request that a browser makes of it.
pub(crate) fn form(address: SocketAddr, path: &str, fields: &[(&str, &str)]) -> Vec<u8> {
    let encoded = |text: &str| -> String {
        let plain = |byte: &u8| byte.is_ascii_alphanumeric();
        text.bytes()
            .map(|byte| if plain(&byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") })
            .collect()
    };
    let fields: Vec<String> =
        fields.iter().map(|(name, value)| format!("{}={}", encoded(name), encoded(value))).collect();
    request(address, &format!("POST {path}"), FORM, fields.join("&").as_bytes())
}

/// A form whose body is already as it is to be sent.
pub(crate) fn raw_form(address: SocketAddr, path: &str, body: &[u8]) -> Vec<u8> {
    request(address, &format!("POST {path}"), FORM, body)
}
