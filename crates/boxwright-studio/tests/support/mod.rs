//! The server in this process, and a client that sends exactly the bytes it is told to.
#![allow(dead_code, reason = "each test file uses its own part of this")]
#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

use std::fs;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::time::Duration;

use boxwright_studio::{Options, open};

pub const JOB: &str = "// kept\njob \"clock weights\" {\n    style \"slotted-case\"\n    inside length=\"230mm\" width=\"140mm\" depth=\"80mm\" // asked\n    board \"C\"\n}\n";

pub const STATE: &str = r#"{"title":"clock weights","style":"slotted-case","inside":{"length":"230mm","width":"140mm","depth":"3 in + 2 mm"},"board":"C","crease":"rule","set":{},"quantity":1,"drawing":{}}"#;

/// A server over a folder of its own.
pub struct Server {
    pub folder: PathBuf,
    pub port: u16,
}

#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.body).unwrap()
    }
    pub fn code(&self) -> String {
        self.json()["error"]["code"]
            .as_str()
            .unwrap_or("")
            .to_owned()
    }
}

impl Server {
    pub fn new(name: &str) -> Self {
        let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(folder.join("jobs")).unwrap();
        let opened = folder.join("jobs");
        fs::write(opened.join("weights.kdl"), JOB).unwrap();
        let (tell, told) = std::sync::mpsc::channel();
        let options = Options {
            folder: opened.clone(),
            port: 0,
        };
        std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_multi_thread()
                .worker_threads(2)
                .enable_all()
                .build()
                .unwrap();
            runtime.block_on(async {
                let studio = open(&options).await.unwrap();
                tell.send(studio.address()).unwrap();
                studio.serve(std::future::pending()).await.unwrap();
            });
        });
        let address = told.recv().unwrap();
        let port = address.rsplit_once(':').unwrap().1.parse().unwrap();
        Self {
            folder: opened,
            port,
        }
    }

    /// Sends bytes as they are and reads to the end.
    pub fn raw(&self, request: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(60)))
            .unwrap();
        // The server may answer and close before it has read everything.
        let _ = stream.write_all(request);
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        answer(&bytes)
    }

    pub fn send(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
        let mut text = format!("{method} {path} HTTP/1.1\r\nconnection: close\r\n");
        if !headers.iter().any(|(n, _)| *n == "host") {
            text.push_str(&format!("host: 127.0.0.1:{}\r\n", self.port));
        }
        for (name, value) in headers {
            text.push_str(&format!("{name}: {value}\r\n"));
        }
        text.push_str(&format!("content-length: {}\r\n\r\n{body}", body.len()));
        self.raw(text.as_bytes())
    }

    pub fn get(&self, path: &str) -> Answer {
        self.send("GET", path, &[], "")
    }

    pub fn post(&self, path: &str, body: &str) -> Answer {
        self.send("POST", path, &[("content-type", "application/json")], body)
    }

    pub fn put(&self, path: &str, body: &str) -> Answer {
        self.send("PUT", path, &[("content-type", "application/json")], body)
    }
}

fn answer(bytes: &[u8]) -> Answer {
    let end = bytes.windows(4).position(|w| w == b"\r\n\r\n");
    let (head, rest) = end.map_or((bytes, &[][..]), |e| (&bytes[..e], &bytes[e + 4..]));
    let head = String::from_utf8_lossy(head).to_ascii_lowercase();
    let status = head.split(' ').nth(1).and_then(|s| s.parse().ok());
    let body = if head.contains("transfer-encoding: chunked") {
        unchunked(rest)
    } else {
        rest.to_vec()
    };
    Answer {
        status: status.unwrap_or(0),
        head,
        body,
    }
}

fn unchunked(mut rest: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    while let Some(end) = rest.windows(2).position(|w| w == b"\r\n") {
        let size = std::str::from_utf8(&rest[..end]).unwrap();
        let size = usize::from_str_radix(size, 16).unwrap();
        let from = end + 2;
        if size == 0 || from + size > rest.len() {
            break;
        }
        out.extend_from_slice(&rest[from..from + size]);
        rest = &rest[(from + size + 2).min(rest.len())..];
    }
    out
}
