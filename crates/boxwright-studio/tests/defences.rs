//! One test for each defence.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use std::fs;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use support::{STATE, Server};

/// Every address that begins with 127 is this machine, so one that nothing listens on stands for
/// those by which others reach it.
#[cfg(target_os = "linux")]
#[test]
fn nothing_listens_on_other_addresses() {
    let s = Server::new("listen");
    assert!(TcpStream::connect(("127.0.0.1", s.port)).is_ok());
    assert!(TcpStream::connect(("127.0.0.2", s.port)).is_err());
}

#[test]
fn only_the_own_address_is_answered() {
    let s = Server::new("host");
    let other = s.port ^ 1;
    let port = s.port;
    for host in [
        "example.org".to_owned(),
        format!("example.org:{port}"),
        format!("127.0.0.1.example.org:{port}"),
        format!("127.0.0.1:{other}"),
        "127.0.0.1".to_owned(),
    ] {
        let a = s.send("GET", "/api/styles", &[("host", &host)], "");
        assert_eq!(
            (a.status, a.code().as_str()),
            (403, "foreign-host"),
            "{host}"
        );
    }
    for host in ["127.0.0.1", "localhost", "[::1]"] {
        let host = format!("{host}:{port}");
        let a = s.send("GET", "/api/styles", &[("host", &host)], "");
        assert_eq!(a.status, 200, "{host}");
    }
    // The address may stand in the request line too.
    let a = s.raw(
        format!("GET http://example.org/api/styles HTTP/1.1\r\nhost: 127.0.0.1:{port}\r\nconnection: close\r\n\r\n")
            .as_bytes(),
    );
    assert_eq!(a.status, 403);
    let twice = format!(
        "GET / HTTP/1.1\r\nhost: 127.0.0.1:{port}\r\nhost: example.org\r\nconnection: close\r\n\r\n"
    );
    assert!(matches!(s.raw(twice.as_bytes()).status, 400 | 403));
}

#[test]
fn only_the_own_page_is_answered() {
    let s = Server::new("origin");
    for origin in [
        "http://example.org".to_owned(),
        "null".to_owned(),
        format!("https://127.0.0.1:{}", s.port),
        format!("http://127.0.0.1:{}", s.port ^ 1),
        format!("http://localhost.example.org:{}", s.port),
    ] {
        let a = s.send("GET", "/api/jobs", &[("origin", &origin)], "");
        assert_eq!(
            (a.status, a.code().as_str()),
            (403, "foreign-page"),
            "{origin}"
        );
    }
    let own = format!("http://127.0.0.1:{}", s.port);
    assert_eq!(
        s.send("GET", "/api/jobs", &[("origin", &own)], "").status,
        200
    );
    let foreign = [
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-mode", "no-cors"),
    ];
    assert_eq!(s.send("GET", "/api/jobs", &foreign, "").status, 403);
    // A link from elsewhere may lead to the page.
    let link = [
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-mode", "navigate"),
    ];
    assert_eq!(s.send("GET", "/", &link, "").status, 200);
    assert!(!s.get("/api/jobs").head.contains("access-control"));
}

#[test]
fn every_answer_carries_the_protecting_headers() {
    let s = Server::new("headers");
    for path in [
        "/",
        "/api/styles",
        "/api/openapi.json",
        "/nothing",
        "/api/jobs/none.kdl",
    ] {
        let head = s.get(path).head;
        for wanted in [
            "content-security-policy: default-src 'none'; script-src 'self'",
            "frame-ancestors 'none'",
            "x-content-type-options: nosniff",
            "referrer-policy: no-referrer",
        ] {
            assert!(head.contains(wanted), "{path}: {wanted}\n{head}");
        }
    }
}

#[test]
fn no_name_leads_out_of_the_folder() {
    let s = Server::new("paths");
    let outside = s.folder.parent().unwrap().join("secret.kdl");
    fs::write(&outside, support::JOB).unwrap();
    let full = outside.display().to_string().replace('/', "%2F");
    for name in [
        "..%2Fsecret.kdl",
        "%2E%2E%2Fsecret.kdl",
        "a%2F..%2F..%2Fsecret.kdl",
        "..%5Csecret.kdl",
        ".hidden.kdl",
        "weights.kdl%00",
        "weights.txt",
        ".kdl",
        "%2Fweights.kdl",
        "a%2F%2Fb.kdl",
        &full,
    ] {
        let path = format!("/api/jobs/{name}");
        let a = s.get(&path);
        assert!(matches!(a.status, 404 | 422), "{name}: {a:?}");
        let body = format!("{{\"stamp\":null,\"state\":{STATE}}}");
        let a = s.put(&path, &body);
        assert!(matches!(a.status, 404 | 422), "{name}: {a:?}");
    }
    assert_eq!(s.get("/api/jobs/../secret.kdl").status, 404);
    let style = STATE.replace("slotted-case", "../secret.kdl");
    assert_eq!(
        s.post("/api/design", &style).json()["fields"][0]["code"],
        "unknown-style"
    );
    assert_eq!(fs::read_to_string(outside).unwrap(), support::JOB);
}

#[cfg(unix)]
#[test]
fn no_link_leads_out_of_the_folder() {
    use std::os::unix::fs::symlink;
    let s = Server::new("links");
    let outside = s.folder.parent().unwrap().join("out");
    fs::create_dir_all(&outside).unwrap();
    fs::write(outside.join("secret.kdl"), support::JOB).unwrap();
    symlink(outside.join("secret.kdl"), s.folder.join("link.kdl")).unwrap();
    symlink(&outside, s.folder.join("way")).unwrap();
    symlink(s.folder.join("weights.kdl"), s.folder.join("inner.kdl")).unwrap();
    symlink(s.folder.join("inner2.kdl"), s.folder.join("dangling.kdl")).unwrap();
    for name in ["link.kdl", "way%2Fsecret.kdl", "dangling.kdl"] {
        assert_eq!(s.get(&format!("/api/jobs/{name}")).status, 404, "{name}");
        let stamp = boxed_stamp(support::JOB);
        let body = format!("{{\"stamp\":\"{stamp}\",\"state\":{STATE}}}");
        assert_eq!(
            s.put(&format!("/api/jobs/{name}"), &body).status,
            404,
            "{name}"
        );
        let body = format!("{{\"stamp\":null,\"state\":{STATE}}}");
        let a = s.put(&format!("/api/jobs/{name}"), &body);
        assert!(matches!(a.status, 404 | 409), "{name}");
    }
    let new = format!("{{\"stamp\":null,\"state\":{STATE}}}");
    assert_eq!(s.put("/api/jobs/way%2Fnew.kdl", &new).status, 404);
    assert_eq!(s.get("/api/jobs/inner.kdl").status, 200);
    assert_eq!(fs::read_dir(&outside).unwrap().count(), 1);
    let text = fs::read_to_string(outside.join("secret.kdl")).unwrap();
    assert_eq!(text, support::JOB);
    let listed = s.get("/api/jobs").text();
    assert!(
        !listed.contains("secret") && !listed.contains("link.kdl"),
        "{listed}"
    );
}

fn boxed_stamp(text: &str) -> String {
    use sha2::{Digest, Sha256};
    Sha256::digest(text.as_bytes())
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect()
}

#[test]
fn refusals_are_json_of_one_shape() {
    let s = Server::new("refusals");
    // Just over the limit of the server, and under what its library would take by itself.
    let big = STATE.replace("clock weights", &"x".repeat((1 << 20) + 1));
    let nearly = STATE.replace("clock weights", &"x".repeat((1 << 20) - 1000));
    assert_eq!(s.post("/api/design", &nearly).status, 200);
    let cases = [
        (s.post("/api/design", &big), 413, "too-large"),
        (s.post("/api/design", "{"), 400, "unreadable"),
        (s.post("/api/design", "{}"), 422, "wrong-shape"),
        (s.send("POST", "/api/design", &[], STATE), 415, "not-json"),
        (s.get("/api/design"), 405, "no-method"),
        (s.get("/api/nothing"), 404, "no-address"),
        (s.get("/api/jobs/none.kdl"), 404, "no-job"),
        (s.get("/api/jobs/%FF.kdl"), 400, "bad-path"),
        (s.get("/api/styles/none/picture.svg"), 404, "no-style"),
        (
            s.get("/api/styles/mailer/picture.svg?theme=loud"),
            400,
            "bad-query",
        ),
    ];
    for (a, status, code) in cases {
        assert_eq!((a.status, a.code().as_str()), (status, code), "{a:?}");
        assert!(
            a.head.contains("content-type: application/json"),
            "{}",
            a.head
        );
    }
}

#[test]
fn slow_clients_are_let_go() {
    let s = Server::new("slow");
    let port = s.port;
    let start = Instant::now();
    let head = std::thread::spawn(move || {
        let mut c = TcpStream::connect(("127.0.0.1", port)).unwrap();
        c.write_all(b"GET / HTTP/1.1\r\nhost:").unwrap();
        c.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
        let mut rest = Vec::new();
        let _ = c.read_to_end(&mut rest);
        start.elapsed()
    });
    let mut c = TcpStream::connect(("127.0.0.1", port)).unwrap();
    let request = format!(
        "POST /api/design HTTP/1.1\r\nhost: 127.0.0.1:{port}\r\ncontent-type: application/json\r\n\
         content-length: 1000\r\nconnection: close\r\n\r\n{{"
    );
    c.write_all(request.as_bytes()).unwrap();
    c.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
    let mut bytes = Vec::new();
    let _ = c.read_to_end(&mut bytes);
    let text = String::from_utf8_lossy(&bytes);
    assert!(text.starts_with("HTTP/1.1 408"), "{text}");
    assert!(text.contains("too-slow"), "{text}");
    assert!(start.elapsed() < Duration::from_secs(20));
    assert!(head.join().unwrap() < Duration::from_secs(20));
    assert_eq!(s.get("/api/styles").status, 200);
}
