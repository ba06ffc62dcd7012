//! Requests at random, most of them nearly right: none is answered as if the server were at fault, and it lives on.

use crate::served::{Served, get, patient, raw_form, request, send, serve};
use gainsay_folder::folder::Version;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use std::collections::BTreeMap;

/// Parts of addresses: those that there are, and others.
fn part() -> impl Strategy<Value = String> {
    let known = prop::sample::select(vec![
        "cases",
        "gear",
        "quintet",
        "storyteller",
        "storyteller-pocket-recorder",
        "quintet-96-khz",
        "kitchen-interface",
        "pocket-recorder",
        "sources",
        "1",
        "2",
        "0",
        "99",
        "what-if",
        "patch",
        "patch.svg",
        "patch.csv",
        "patch.json",
        "options.csv",
        "levels.svg",
        "answer.json",
        "sheet",
        "compare",
        "compare.csv",
        "compare.svg",
        "compare.json",
        "copy",
        "device.toml",
        "device.json",
        "remove",
        "edit",
        "file",
        "history",
        "undo",
        "delete",
        "revision",
        "assets",
        "options",
        "usual-interface",
    ])
    .prop_map(str::to_owned);
    prop_oneof![12 => known, 1 => "[a-z0-9-]{1,12}", 1 => "(%[0-9a-f]{2}){1,4}", 1 => "[!-~]{0,10}"]
}

fn path() -> impl Strategy<Value = String> {
    // Addresses that there are, more often than they would come about by chance.
    let known = prop::sample::select(vec![
        "/",
        "/cases",
        "/cases/storyteller",
        "/cases/storyteller/sources/1",
        "/cases/storyteller/sources/1/what-if",
        "/cases/quintet/sources/3/what-if",
        "/cases/storyteller/edit",
        "/cases/storyteller/file",
        "/cases/storyteller/history",
        "/cases/storyteller/undo",
        "/cases/storyteller/options",
        "/gear",
        "/gear/sheet",
        "/gear/compare",
        "/gear/compare.csv",
        "/gear/compare.svg",
        "/gear/compare.json",
        "/gear/copy",
        "/gear/kitchen-interface",
        "/gear/kitchen-interface/edit",
        "/gear/pocket-recorder/remove",
        "/gear/kitchen-interface/file",
        "/gear/kitchen-interface/delete",
    ])
    .prop_map(str::to_owned);
    prop_oneof![
        2 => known,
        1 => prop::collection::vec(part(), 1..6).prop_map(|parts| format!("/{}", parts.join("/"))),
    ]
}

/// Names and values of fields: those that there are, and others.
fn fields() -> impl Strategy<Value = String> {
    let name = prop_oneof![
        8 => prop::sample::select(vec![
            "gain", "distance", "louder", "cable", "microphone", "booster", "input", "base", "text", "do", "title",
            "source[0].name", "source[0].distance", "source[7].name", "owned[0].device", "before", "after", "added",
            "version", "device", "source", "kind", "into", "room", "anyway", "both", "plan", "name", "type", "find",
            "question", "session.sample_rate", "from", "at", "token",
        ])
        .prop_map(str::to_owned),
        1 => "[ -~]{0,12}".prop_map(|text| escaped(&text)),
    ];
    let value = prop_oneof![
        2 => prop::sample::select(vec![
            "", "0", "-1", "1e308", "-1e308", "1e-308", "NaN", "inf", "0.4", "40", "1000000", "9223372036854775808",
            "whisper", "none", "usual-booster", "moving-coil-broadcast", "kitchen-interface", "save", "both",
            "add source", "remove source[0]", "remove source[99]", "up source[0]", "up source[1]", "add owned",
            "add title", "remove ", "10 cm", "1 Hz", "title = \"a\"", "title = ", "96 kHz", "-60 dBFS",
        ])
        .prop_map(escaped),
        1 => "\\PC{0,20}".prop_map(|text| escaped(&text)),
        1 => "(%[0-9a-f]{2}){0,6}",
    ];
    (any::<bool>(), prop::collection::vec((name, value), 0..6)).prop_map(|(is_now, fields)| {
        let fields = fields.iter().map(|(name, value)| format!("{name}={value}"));
        is_now.then(|| format!("base={NOW}")).into_iter().chain(fields).collect::<Vec<_>>().join("&")
    })
}

/// Stands for the version of the storyteller's case when the request is sent.
const NOW: &str = "NOW";

/// The present version; of a file that a request has deleted, after it has been put back.
fn version(served: &Served) -> String {
    let file = served.folder.join("storyteller.toml");
    if !file.exists() {
        let demo = gainsay_folder::demo::FILES.iter().find(|(name, _)| *name == "storyteller.toml").unwrap();
        std::fs::write(&file, demo.1).unwrap();
    }
    Version::of(&std::fs::read(&file).unwrap()).to_string()
}

fn escaped(text: impl AsRef<str>) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'.';
    let one = |byte: u8| if plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") };
    text.as_ref().bytes().map(one).collect()
}

#[test]
fn no_request_makes_the_server_say_that_it_is_at_fault() {
    let served = serve(patient());
    let address = served.address;
    let statuses = std::cell::RefCell::new(BTreeMap::<u16, u32>::new());
    let method = prop_oneof![4 => Just("GET"), 4 => Just("POST"), 1 => Just("HEAD"), 1 => Just("PUT")];
    let mut runner = TestRunner::new(Config {
        failure_persistence: None,
        max_shrink_iters: 60,
        ..Config::with_cases(700)
    });
    let done =
        runner.run(&(method, path(), fields(), any::<bool>()), |(method, path, fields, is_in_path)| {
            let bytes = match (method, is_in_path) {
                ("POST", false) => {
                    raw_form(address, &path, fields.replace(NOW, &version(&served)).as_bytes())
                }
                ("POST", true) => raw_form(address, &format!("{path}?{fields}"), b""),
                _ => request(address, &format!("{method} {path}?{fields}"), "", b""),
            };
            let answer = if method == "HEAD" {
                // Its length is that of a body that is not sent.
                None
            } else {
                send(address, &bytes)
            };
            let Some(answer) = answer else {
                prop_assert!(method == "HEAD", "no answer to {}", String::from_utf8_lossy(&bytes));
                return Ok(());
            };
            *statuses.borrow_mut().entry(answer.status).or_default() += 1;
            prop_assert!(answer.status < 500, "{}\n{answer:?}", String::from_utf8_lossy(&bytes));
            answer.is_plain();
            Ok(())
        });
    println!("{:?}", statuses.borrow());
    done.unwrap();
    let statuses = statuses.into_inner();
    // Enough of them were right, and enough were not.
    assert!(statuses.get(&200).is_some_and(|count| *count > 50), "{statuses:?}");
    assert!(statuses.get(&303).is_some_and(|count| *count > 3), "{statuses:?}");
    assert!(statuses.get(&404).is_some_and(|count| *count > 20), "{statuses:?}");
    assert_eq!(get(address, "/cases").status, 200);
}

#[test]
fn no_bytes_at_random_end_the_server() {
    let served = serve(patient());
    let head =
        format!("POST /cases/storyteller/file HTTP/1.1\r\nhost: {}\r\nconnection: close\r\n", served.address);
    let config = Config { failure_persistence: None, ..Config::with_cases(300) };
    let bytes = (0..4_usize, prop::collection::vec(any::<u8>(), 0..200), any::<u16>());
    TestRunner::new(config)
        .run(&bytes, |(way, bytes, at)| {
            let mut sent = match way {
                0 => bytes,
                1 => [head.as_bytes(), &bytes, b"\r\n\r\n"].concat(),
                2 => [head.as_bytes(), b"transfer-encoding: chunked\r\n\r\n", &bytes].concat(),
                _ => {
                    // A right request with one byte of it changed.
                    let mut right = raw_form(served.address, "/cases/storyteller/file", b"text=a&base=");
                    let place = usize::from(at) % right.len();
                    right[place] = bytes.first().copied().unwrap_or_default();
                    right
                }
            };
            // Whatever is still waited for comes.
            sent.extend([b'\n'; 400]);
            if let Some(answer) = send_and_end(served.address, &sent) {
                prop_assert!(answer.status < 500, "{answer:?}");
                answer.is_plain();
            }
            Ok(())
        })
        .unwrap();
    assert_eq!(get(served.address, "/cases").status, 200);
}

/// Sends bytes, says that no more will come, and reads what is answered.
fn send_and_end(address: std::net::SocketAddr, bytes: &[u8]) -> Option<crate::served::Answer> {
    use std::io::{Read, Write};
    let mut stream = crate::served::connect(address);
    let _ = stream.write_all(bytes);
    let _ = stream.shutdown(std::net::Shutdown::Write);
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    crate::served::Answer::parse(&answer)
}
