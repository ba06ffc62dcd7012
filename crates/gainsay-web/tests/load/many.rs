//! Many clients at once.

use crate::served::{Answer, Process, Served, connect, demo, get, patient, request, send, serve};
use gainsay_web::Limits;
use std::io::{Read, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::sync::Barrier;

const CLIENTS: usize = 500;

const PATHS: [&str; 5] = [
    "/cases",
    "/revision",
    "/cases/storyteller",
    "/cases/storyteller/sources/1/what-if?distance=0.4",
    "/gear/kitchen-interface",
];

/// One answer on a connection that is kept.
async fn answer(stream: &mut TcpStream, request: &[u8]) -> Option<Answer> {
    stream.write_all(request).await.ok()?;
    let mut bytes = Vec::new();
    loop {
        if stream.read_buf(&mut bytes).await.ok()? == 0 {
            return None;
        }
        if let Some(answer) = Answer::parse(&bytes) {
            return Some(answer);
        }
    }
}

#[test]
fn five_hundred_clients_are_all_answered() {
    let (_kept, folder) = demo();
    let server = Process::start(&folder);
    let address = server.address;
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let (answered, wrong) = runtime.block_on(async {
        let (answered, wrong) = (Arc::new(AtomicUsize::new(0)), Arc::new(AtomicUsize::new(0)));
        let all_there = Arc::new(Barrier::new(CLIENTS));
        let mut clients = Vec::new();
        for number in 0..CLIENTS {
            let (answered, wrong, all_there) =
                (Arc::clone(&answered), Arc::clone(&wrong), Arc::clone(&all_there));
            clients.push(tokio::spawn(async move {
                let mut stream = TcpStream::connect(address).await.unwrap();
                // All of them are connected before any asks.
                all_there.wait().await;
                let began = Instant::now();
                for turn in number.. {
                    let path = PATHS[turn % PATHS.len()];
                    let request = format!("GET {path} HTTP/1.1\r\nhost: {address}\r\n\r\n");
                    match answer(&mut stream, request.as_bytes()).await {
                        Some(answer) if answer.status == 200 => answered.fetch_add(1, Ordering::Relaxed),
                        _ => wrong.fetch_add(1, Ordering::Relaxed),
                    };
                    if began.elapsed() > Duration::from_secs(5) {
                        break;
                    }
                }
            }));
        }
        for client in clients {
            client.await.unwrap();
        }
        (answered.load(Ordering::Relaxed), wrong.load(Ordering::Relaxed))
    });
    server.kill();
    println!("{answered} requests of {CLIENTS} clients answered, {wrong} not");
    assert_eq!(wrong, 0, "of {}", answered + wrong);
    assert!(answered >= CLIENTS);
}

/// A connection on which one request has been answered, and which stays open.
fn kept(served: &Served) -> std::net::TcpStream {
    let mut stream = connect(served.address);
    write!(stream, "GET /revision HTTP/1.1\r\nhost: {}\r\n\r\n", served.address).unwrap();
    let mut bytes = Vec::new();
    let mut byte = [0];
    while Answer::parse(&bytes).is_none_or(|answer| !answer.head.contains("content-length")) {
        assert_eq!(stream.read(&mut byte).unwrap(), 1, "{}", String::from_utf8_lossy(&bytes));
        bytes.extend(byte);
    }
    assert_eq!(Answer::parse(&bytes).unwrap().status, 200);
    stream
}

#[test]
fn one_connection_too_many_is_told_so() {
    let served = serve(Limits { connections: 8, ..patient() });
    let mut open: Vec<_> = (0..8).map(|_| kept(&served)).collect();
    let request = request(served.address, "GET /cases", "", b"");
    for _ in 0..20 {
        let answer = send(served.address, &request).unwrap();
        assert_eq!(answer.status, 503, "{answer:?}");
        assert!(answer.says("Too many connections are open"), "{answer:?}");
        answer.is_plain();
    }
    // Those that were there before are still answered.
    for stream in &mut open {
        write!(stream, "GET /revision HTTP/1.1\r\nhost: {}\r\n\r\n", served.address).unwrap();
        let mut some = [0; 15];
        stream.read_exact(&mut some).unwrap();
        assert_eq!(&some, b"HTTP/1.1 200 OK");
    }
    // And when one goes, there is room again, as soon as the server has seen it.
    open.pop();
    while send(served.address, &request).is_none_or(|answer| answer.status != 200) {}
}

#[test]
fn more_than_can_be_told_are_shut_and_the_page_lives() {
    let served = serve(Limits { connections: 4, ..patient() });
    let open: Vec<_> = (0..4).map(|_| kept(&served)).collect();
    let beyond: Vec<_> = (0..300).map(|_| connect(served.address)).collect();
    drop(open);
    drop(beyond);
    let request = request(served.address, "GET /cases", "", b"");
    while send(served.address, &request).is_none_or(|answer| answer.status != 200) {}
    assert_eq!(get(served.address, "/revision").status, 200);
}
