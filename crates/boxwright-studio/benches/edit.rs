//! How long an edit takes, measured by a client over loopback.
//!
//! Sends 200 different edits of the slotted case to `/api/design`, one after the other over one
//! connection, after 40 that are not counted, and prints the median, the 95th percentile and the
//! longest. The same for an opened job with a style file and a board file of its own.
//!
//! ```sh
//! cargo bench -p boxwright-studio
//! ```

#![allow(clippy::print_stdout, reason = "a bench prints what it measured")]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a bench may stop on what cannot be"
)]

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use boxwright::source::{Door, Shipped};
use boxwright_studio::{Options, open};

const WARM: u32 = 40;
const EDITS: u32 = 200;

struct Client {
    read: BufReader<TcpStream>,
    write: TcpStream,
    port: u16,
}

impl Client {
    fn new(folder: PathBuf) -> Self {
        let (tell, told) = std::sync::mpsc::channel();
        std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_multi_thread()
                .worker_threads(2)
                .enable_all()
                .build()
                .unwrap();
            runtime.block_on(async {
                let studio = open(&Options { folder, port: 0 }).await.unwrap();
                tell.send(studio.address()).unwrap();
                studio.serve(std::future::pending()).await.unwrap();
            });
        });
        let address = told.recv().unwrap();
        let port = address.rsplit_once(':').unwrap().1.parse().unwrap();
        let write = TcpStream::connect(("127.0.0.1", port)).unwrap();
        write.set_nodelay(true).unwrap();
        Self {
            read: BufReader::new(write.try_clone().unwrap()),
            write,
            port,
        }
    }

    /// The time until the last byte of the answer is there, and its size.
    fn edit(&mut self, state: &str) -> (Duration, usize) {
        let request = format!(
            "POST /api/design HTTP/1.1\r\nhost: 127.0.0.1:{}\r\ncontent-type: application/json\r\n\
             content-length: {}\r\n\r\n{state}",
            self.port,
            state.len()
        );
        let start = Instant::now();
        self.write.write_all(request.as_bytes()).unwrap();
        let mut length = 0;
        loop {
            let mut line = String::new();
            self.read.read_line(&mut line).unwrap();
            let line = line.trim_end().to_ascii_lowercase();
            if let Some(n) = line.strip_prefix("content-length: ") {
                length = n.parse().unwrap();
            }
            if line.is_empty() {
                break;
            }
        }
        let mut body = vec![0; length];
        self.read.read_exact(&mut body).unwrap();
        let taken = start.elapsed();
        let drawn = body
            .windows(9)
            .any(|w| w == b"\"outputs\"" || w == b"\"verdict\"");
        assert!(drawn, "{}", String::from_utf8_lossy(&body));
        (taken, length)
    }
}

/// The `n`th edit: another size each time, and now and then another board and parameter.
fn edited(n: u32, more: &str) -> String {
    let board = ["C", "B", "BC", "E"][(n / 50) as usize % 4];
    let slot = 6 + n % 3;
    format!(
        "{{\"title\":\"clock\",\"style\":\"slotted-case\",\"inside\":{{\"length\":\"{}mm\",\
         \"width\":\"{}mm\",\"depth\":\"{}mm + 1in\"}},\"board\":\"{board}\",\"crease\":\"rule\",\
         \"set\":{{\"slot\":\"{slot}mm\"}},\"quantity\":1,\"drawing\":{{}}{more}}}",
        342 + n,
        178 + n % 40,
        240 + n % 7
    )
}

fn measured(client: &mut Client, name: &str, edit: impl Fn(u32) -> String) {
    for n in 0..WARM {
        client.edit(&edit(1000 + n));
    }
    let (mut times, mut bytes) = (Vec::new(), 0);
    for n in 0..EDITS {
        let (taken, length) = client.edit(&edit(n));
        times.push(taken);
        bytes += length;
    }
    times.sort();
    let ms =
        |share: usize| times[(times.len() * share / 100).min(times.len() - 1)].as_secs_f64() * 1e3;
    println!(
        "{name:<40} median {:>6.2} ms   p95 {:>6.2} ms   longest {:>6.2} ms   {} KiB an answer",
        ms(50),
        ms(95),
        ms(100),
        bytes / times.len() / 1024
    );
}

fn main() {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("bench");
    fs::create_dir_all(&folder).unwrap();
    let style = Shipped.style("slotted-case").expect("it is shipped").text;
    fs::write(folder.join("own.kdl"), style).unwrap();
    let board = Shipped.boards().swap_remove(2).text;
    fs::write(folder.join("boards.kdl"), board).unwrap();

    let mut client = Client::new(folder);
    measured(&mut client, "slotted case", |n| edited(n, ""));
    measured(&mut client, "own style file and board file", |n| {
        edited(n, ",\"boardFiles\":[\"boards.kdl\"]").replace("slotted-case", "own.kdl")
    });
    measured(&mut client, "failing, cures tried out", |n| {
        edited(n, "").replace("\"set\":{", "\"set\":{\"step\":\"0mm\",")
    });
}
