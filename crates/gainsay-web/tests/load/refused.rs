//! Requests that are refused: each with the status that it calls for (RFC 9110), and words for a person.

use crate::served::{Answer, get, patient, raw_form, request, send, serve};
use std::fs;

/// The host of the request that is sent to a site.
fn with_host(host: &str) -> Vec<u8> {
    format!("GET /cases HTTP/1.1\r\n{host}connection: close\r\n\r\n").into_bytes()
}

#[test]
fn another_host_is_refused() {
    let served = serve(patient());
    let port = served.address.port();
    for host in [
        "host: example.org\r\n".to_owned(),
        format!("host: example.org:{port}\r\n"),
        format!("host: 127.0.0.1.example.org:{port}\r\n"),
        "host: 127.0.0.1\r\n".to_owned(),
        format!("host: 127.0.0.1:{}\r\n", port.wrapping_add(1)),
        "host: \r\n".to_owned(),
        "host: \u{e9}\r\n".to_owned(),
        String::new(),
    ] {
        let answer = send(served.address, &with_host(&host)).unwrap();
        assert!(answer.status == 421 || answer.status == 400, "{host}: {answer:?}");
        assert!(answer.status == 400 || answer.says("This page is not served under that name."), "{host}");
        answer.is_plain();
    }
    for host in [format!("127.0.0.1:{port}"), format!("localhost:{port}"), format!("[::1]:{port}")] {
        let answer = send(served.address, &with_host(&format!("host: {host}\r\n"))).unwrap();
        assert_eq!(answer.status, 200, "{host}");
    }
    // An address with another host in it.
    let asked = request(served.address, "GET http://example.org/cases", "", b"");
    let answer = send(served.address, &asked).unwrap();
    answer.is_plain();
    assert!(!answer.body.contains("example.org"), "{answer:?}");
}

#[test]
fn changes_from_another_page_are_refused() {
    let served = serve(patient());
    let address = served.address;
    let form = "content-type: application/x-www-form-urlencoded\r\n";
    for more in [
        "origin: http://example.org\r\n".to_owned(),
        "origin: null\r\n".to_owned(),
        format!("origin: http://{}\r\n", address.ip()),
        format!("origin: http://{address}.example.org\r\n"),
        format!("origin: ftp://{address}\r\n"),
        "referer: http://example.org/page\r\n".to_owned(),
        format!("referer: http://{address}@example.org/\r\n"),
        "sec-fetch-site: cross-site\r\n".to_owned(),
        "sec-fetch-site: same-site\r\n".to_owned(),
        format!("origin: http://{address}\r\nsec-fetch-site: cross-site\r\n"),
    ] {
        for method in ["POST", "PUT", "DELETE", "PATCH"] {
            let line = format!("{method} /cases/quintet/delete");
            let answer = send(address, &request(address, &line, &format!("{form}{more}"), b"base=")).unwrap();
            assert_eq!(answer.status, 403, "{method} {more}: {answer:?}");
            assert!(answer.says("Changes are only taken from the page itself."), "{more}");
            answer.is_plain();
        }
    }
    let own = format!("{form}origin: http://{address}\r\nsec-fetch-site: same-origin\r\n");
    let answer = send(address, &request(address, "POST /cases", &own, b"kind=whisper")).unwrap();
    assert_eq!(answer.status, 303, "{answer:?}");
}

#[track_caller]
fn refuses(answer: &Answer, status: u16, words: &str) {
    assert_eq!(answer.status, status, "{answer:?}");
    assert!(answer.says(words), "{words}: {answer:?}");
    answer.is_plain();
}

#[test]
fn too_much_is_refused() {
    let served = serve(patient());
    let address = served.address;
    let too_large = "That is more than a case or a sheet can be.";
    let long = |length: usize| [b"text=".to_vec(), vec![b'a'; length]].concat();
    for path in ["/cases/quintet/file", "/cases/quintet/edit", "/gear/copy"] {
        let answer = send(address, &raw_form(address, path, &long(2 << 20))).unwrap();
        refuses(&answer, 413, too_large);
    }
    let answer = send(address, &raw_form(address, "/gear/sheet", &long(40 << 20))).unwrap();
    refuses(&answer, 413, too_large);
    // Sent in pieces, without its length being said.
    let mut pieces = format!(
        "POST /cases/quintet/file HTTP/1.1\r\nhost: {address}\r\nconnection: close\r\n\
         content-type: application/x-www-form-urlencoded\r\ntransfer-encoding: chunked\r\n\r\n"
    )
    .into_bytes();
    for _ in 0..32 {
        pieces.extend(b"10000\r\n");
        pieces.extend([b'a'; 0x10000]);
        pieces.extend(b"\r\n");
    }
    pieces.extend(b"0\r\n\r\n");
    refuses(&send(address, &pieces).unwrap(), 413, too_large);
    // Many fields in a small body.
    let fields = "a=&".repeat(20_001);
    let answer = send(address, &raw_form(address, "/cases/quintet/edit", fields.as_bytes())).unwrap();
    refuses(&answer, 413, "more fields");
    let answer = send(address, &raw_form(address, "/gear/sheet", fields.as_bytes())).unwrap();
    refuses(&answer, 413, "more fields");
    // Many headers, and long ones: hyper refuses them by itself, with a status alone.
    for more in [format!("x: {}\r\n", "a".repeat(200_000)), "a: b\r\n".repeat(200)] {
        let answer = send(address, &request(address, "GET /cases", &more, b"")).unwrap();
        assert_eq!(answer.status, 431, "{answer:?}");
        answer.is_plain();
    }
    assert_eq!(get(address, "/cases").status, 200);
}

#[test]
fn no_address_leads_out_of_the_folder() {
    let served = serve(patient());
    fs::write(served.folder.with_file_name("secret.toml"), "title = \"the secret\"\n").unwrap();
    fs::write(served.folder.join("Capital.toml"), "title = \"the secret\"\n").unwrap();
    let long = "a".repeat(5000);
    for stem in [
        "..",
        "../secret",
        "%2e%2e",
        "%2e%2e%2fsecret",
        "..%2Fsecret",
        "..%5csecret",
        "..\\secret",
        "%252e%252e%252fsecret",
        "./secret",
        "%00",
        "quintet%00",
        "quintet.toml%00",
        "%2fetc%2fpasswd",
        "/etc/passwd",
        "//etc/passwd",
        "C:secret",
        "C%3A%5Csecret",
        "Capital",
        ".history",
        ".history%2flock",
        "%c0%ae%c0%ae%2fsecret",
        "%ff",
        "%E2%80%AE",
        "con",
        "a%0d%0aset-cookie:x",
        "~root",
        "%",
        "%2",
        "%zz",
        &long,
    ] {
        for place in ["cases", "gear"] {
            for end in ["", "/file", "/edit", "/history", "/patch", "/device.toml", "/answer.json"] {
                let answer = get(served.address, &format!("/{place}/{stem}{end}"));
                assert!([404, 400].contains(&answer.status), "{place}/{stem}{end}: {answer:?}");
                assert!(!answer.body.contains("the secret"), "{place}/{stem}{end}: {answer:?}");
                assert!(!answer.head.contains("set-cookie"), "{place}/{stem}{end}: {answer:?}");
                answer.is_plain();
            }
            for end in ["/file", "/edit", "/delete", "/undo", "/history"] {
                let body = b"text=title+%3D+%22a%22&base=&before=none&after=none";
                let asked = raw_form(served.address, &format!("/{place}/{stem}{end}"), body);
                let answer = send(served.address, &asked).unwrap();
                assert!((400..500).contains(&answer.status), "{place}/{stem}{end}: {answer:?}");
                answer.is_plain();
            }
        }
    }
    for path in
        ["/assets/x/..%2f..%2fCargo.toml", "/assets/..%2f/page.css", "/assets/%2e%2e/page.css", "/../x"]
    {
        assert_eq!(get(served.address, path).status, 404, "{path}");
    }
    assert!(!fs::exists(served.folder.with_file_name("a.toml")).unwrap());
    // An address longer than any: hyper refuses it by itself.
    let answer = get(served.address, &format!("/cases/{}", "a".repeat(70_000)));
    assert!([414, 431].contains(&answer.status), "{answer:?}");
}

#[test]
fn what_cannot_be_read_is_refused_in_words() {
    let served = serve(patient());
    let address = served.address;
    let other = |line: &str, kind: &str, body: &[u8]| {
        send(address, &request(address, line, &format!("content-type: {kind}\r\n"), body)).unwrap()
    };
    refuses(&other("PUT /cases", "text/plain", b"a"), 405, "can't be asked for in that way");
    refuses(&other("DELETE /cases/quintet", "text/plain", b""), 405, "can't be asked for in that way");
    refuses(&other("POST /cases/quintet/file", "application/json", b"{}"), 415, "Only forms are taken here.");
    refuses(&other("POST /cases/quintet/file", "text/plain", b"a"), 415, "Only forms are taken here.");
    let form = "application/x-www-form-urlencoded";
    refuses(&other("POST /cases/quintet/file", form, b"nothing=here"), 422, "missing, or can't be read");
    let kinds: [&[u8]; 4] = [b"text=%ff%fe", b"text=\xff", b"text=a&text=b", b"text"];
    for body in kinds {
        let answer = other("POST /cases/quintet/file", form, body);
        assert!((400..500).contains(&answer.status), "{answer:?}");
        answer.is_plain();
    }
    for number in ["0", "-1", "99999999999999999999999", "x", "1%00", "9"] {
        for end in ["", "/what-if"] {
            let answer = get(address, &format!("/cases/storyteller/sources/{number}{end}"));
            assert!([400, 404].contains(&answer.status), "{number}: {answer:?}");
            answer.is_plain();
        }
    }
    // No HTTP at all.
    for bytes in [&b"\0\0\0\0\r\n\r\n"[..], b"GET\r\n\r\n", b"\x16\x03\x01\x02\0\x01\0\r\n\r\n"] {
        if let Some(answer) = send(address, bytes) {
            assert_eq!(answer.status, 400, "{answer:?}");
        }
    }
    assert_eq!(get(address, "/cases").status, 200);
}
