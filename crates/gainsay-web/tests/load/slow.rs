//! Clients that send slowly, or never read. That they don't hold up others is tried with limits that are never reached, and that
//! they are cut off with limits that are reached at once: no test depends on how fast the machine is.

use crate::served::{NEVER, Served, connect, form, get, patient, send, serve};
use gainsay_web::Limits;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

/// More of each than there are requests that are answered at once.
const SLOW: usize = 80;
const SOON: Duration = Duration::from_millis(200);

/// The half of a request's head.
const HALF_A_HEAD: &str = "GET /cases HTTP/1.1\r\nho";

fn half_a_body(served: &Served) -> String {
    format!(
        "POST /cases/quintet/file HTTP/1.1\r\nhost: {}\r\ncontent-type: application/x-www-form-urlencoded\r\n\
         content-length: 100000\r\n\r\ntext=a",
        served.address
    )
}

/// So many requests for something long that no system keeps all of the answers for a client that does not read.
fn many_requests(served: &Served) -> String {
    let page = get(served.address, "/").body;
    let font = page.split('"').find(|part| part.starts_with("/assets/") && part.ends_with(".woff2")).unwrap();
    format!("GET {font} HTTP/1.1\r\nhost: {}\r\n\r\n", served.address).repeat(1000)
}

/// Sends what it can without waiting.
fn send_without_reading(served: &Served, bytes: &str) -> TcpStream {
    let mut stream = connect(served.address);
    stream.set_nonblocking(true).unwrap();
    let mut rest = bytes.as_bytes();
    while let Ok(sent) = stream.write(rest) {
        rest = &rest[sent..];
        if rest.is_empty() {
            break;
        }
    }
    stream.set_nonblocking(false).unwrap();
    stream
}

/// Others are answered, and can save.
fn others_are_served(served: &Served) {
    for path in ["/cases", "/cases/storyteller", "/revision"] {
        assert_eq!(get(served.address, path).status, 200, "{path}");
    }
    let file = served.folder.join("storyteller.toml");
    let before = std::fs::read_to_string(&file).unwrap();
    let after = format!("{before}# another line\n");
    let base = gainsay_folder::folder::Version::of(before.as_bytes()).to_string();
    let fields = [("text", after.as_str()), ("base", base.as_str())];
    let answer = send(served.address, &form(served.address, "/cases/storyteller/file", &fields)).unwrap();
    assert_eq!(answer.status, 303, "{answer:?}");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), after);
}

#[test]
fn who_sends_slowly_holds_up_nobody() {
    let served = serve(patient());
    let body = half_a_body(&served);
    let mut slow: Vec<TcpStream> = Vec::new();
    for _ in 0..SLOW {
        for half in [HALF_A_HEAD, &body] {
            let mut stream = connect(served.address);
            stream.write_all(half.as_bytes()).unwrap();
            slow.push(stream);
        }
    }
    others_are_served(&served);
    // A byte more now and then.
    for stream in &mut slow {
        stream.write_all(b"a").unwrap();
    }
    others_are_served(&served);
}

#[test]
fn who_never_reads_holds_up_nobody() {
    let served = serve(patient());
    let requests = many_requests(&served);
    let silent: Vec<TcpStream> = (0..SLOW).map(|_| send_without_reading(&served, &requests)).collect();
    others_are_served(&served);
    drop(silent);
    others_are_served(&served);
}

/// Reads until the server shuts the connection.
#[track_caller]
fn rest_of(stream: &mut TcpStream) -> String {
    let mut bytes = Vec::new();
    if let Err(error) = stream.read_to_end(&mut bytes) {
        assert_ne!(error.kind(), std::io::ErrorKind::WouldBlock, "it is not cut off");
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Sends a byte after the other until the server has had enough.
#[track_caller]
fn drip(stream: &mut TcpStream) {
    for _ in 0..10_000 {
        if stream.write_all(b"a").is_err() {
            return;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    panic!("it is not cut off");
}

#[test]
fn a_head_that_does_not_come_is_not_waited_for() {
    let served = serve(Limits { head: SOON, ..patient() });
    // One that says nothing at all, one that stops, one that goes on for ever.
    assert_eq!(rest_of(&mut connect(served.address)), "");
    let mut stops = connect(served.address);
    stops.write_all(HALF_A_HEAD.as_bytes()).unwrap();
    let said = rest_of(&mut stops);
    assert!(said.is_empty() || said.starts_with("HTTP/1.1 408"), "{said}");
    let mut goes_on = connect(served.address);
    goes_on.write_all(HALF_A_HEAD.as_bytes()).unwrap();
    drip(&mut goes_on);
    others_are_served(&served);
}

#[test]
fn a_body_that_does_not_come_is_not_waited_for() {
    let served = serve(Limits { body: SOON, ..patient() });
    let mut stops = connect(served.address);
    stops.write_all(half_a_body(&served).as_bytes()).unwrap();
    let said = rest_of(&mut stops);
    assert!(said.starts_with("HTTP/1.1 408") && said.contains("It took too long to send that"), "{said}");
    let mut goes_on = connect(served.address);
    goes_on.write_all(half_a_body(&served).as_bytes()).unwrap();
    drip(&mut goes_on);
    others_are_served(&served);
}

#[test]
fn who_never_reads_is_cut_off() {
    let served = serve(Limits { unread: SOON, ..patient() });
    let requests = many_requests(&served);
    let mut stream = send_without_reading(&served, &requests);
    // What is sent now waits with the rest, until nobody is there any more.
    drip(&mut stream);
    others_are_served(&served);
}

#[test]
fn an_answer_that_takes_too_long_is_said_to() {
    let served = serve(Limits { answer: Duration::ZERO, ..patient() });
    let answer = get(served.address, "/cases/quintet");
    assert_eq!(answer.status, 503, "{answer:?}");
    assert!(answer.says("That took too long."), "{answer:?}");
    answer.is_plain();
}

/// A page that is open for long asks again and again; its connection may be shut in between, and it opens another.
#[test]
fn who_asks_nothing_for_long_is_shut_and_may_come_again() {
    let served = serve(Limits { head: SOON, unread: NEVER, ..patient() });
    let mut stream = connect(served.address);
    write!(stream, "GET /revision HTTP/1.1\r\nhost: {}\r\n\r\n", served.address).unwrap();
    assert!(rest_of(&mut stream).starts_with("HTTP/1.1 200 OK"));
    assert_eq!(get(served.address, "/revision").status, 200);
}

#[test]
fn the_end_waits_for_what_is_being_asked_and_for_nothing_else() {
    let mut served = serve(patient());
    let file = served.folder.join("storyteller.toml");
    let before = std::fs::read_to_string(&file).unwrap();
    let after = format!("{before}# the last line\n");
    let base = gainsay_folder::folder::Version::of(before.as_bytes()).to_string();
    let fields = [("text", after.as_str()), ("base", base.as_str())];
    let request = form(served.address, "/cases/storyteller/file", &fields);
    let (first, rest) = request.split_at(request.len() - 10);
    // One that never asks, one that has been answered and stays, and one in the middle of its request.
    let _silent = connect(served.address);
    let mut idle = connect(served.address);
    write!(idle, "GET /revision HTTP/1.1\r\nhost: {}\r\n\r\n", served.address).unwrap();
    idle.read_exact(&mut [0; 15]).unwrap();
    let mut asks = connect(served.address);
    asks.write_all(first).unwrap();
    // The server has it before it hears of the end.
    assert_eq!(get(served.address, "/cases").status, 200);
    std::thread::sleep(SOON);
    let ended = served.end();
    std::thread::sleep(SOON);
    asks.write_all(rest).unwrap();
    let said = rest_of(&mut asks);
    assert!(said.starts_with("HTTP/1.1 303"), "{said}");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), after);
    ended.join().unwrap();
    assert!(TcpStream::connect(served.address).is_err());
}
