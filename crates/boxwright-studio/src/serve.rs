//! Opening the folder and listening.

use std::io::ErrorKind;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

use crate::folder::Folder;
use crate::routes::{App, router};
use crate::shelf::Shelf;

/// A client must have sent its headers within this time.
const HEADERS_WITHIN: Duration = Duration::from_secs(5);
/// Connections at once; further ones wait.
const MOST_CONNECTIONS: usize = 512;

/// How the studio is served.
#[derive(Clone, Debug)]
pub struct Options {
    /// The folder whose jobs are opened and saved.
    pub folder: PathBuf,
    /// The wanted port; a free one is taken when it is in use. 0 for any free one.
    pub port: u16,
}

/// The studio, listening.
pub struct Studio {
    listener: TcpListener,
    address: SocketAddr,
    app: Arc<App>,
}

/// Opens the folder and starts to listen on this machine only.
///
/// # Errors
/// No such folder, or no port to listen on.
pub async fn open(options: &Options) -> std::io::Result<Studio> {
    let folder = Folder::open(&options.folder)?;
    let at = |port| SocketAddr::from((Ipv4Addr::LOCALHOST, port));
    let listener = match TcpListener::bind(at(options.port)).await {
        Err(e) if matches!(e.kind(), ErrorKind::AddrInUse | ErrorKind::PermissionDenied) => {
            TcpListener::bind(at(0)).await?
        }
        other => other?,
    };
    let address = listener.local_addr()?;
    let shelf = Shelf::new(Some(Arc::new(folder)))
        .map_err(|_| std::io::Error::other("a shipped style or board cannot be read"))?;
    Ok(Studio {
        listener,
        address,
        app: Arc::new(App::new(shelf, address.port())),
    })
}

/// Serves the folder until the user stops the program; `ready` is told the address.
///
/// # Errors
/// As [`open`], and when the program cannot start or go on listening.
pub fn run(options: &Options, ready: impl FnOnce(&str)) -> std::io::Result<()> {
    let cores = std::thread::available_parallelism().map_or(2, std::num::NonZero::get);
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(cores.min(4))
        .max_blocking_threads(cores + 8)
        .enable_all()
        .build()?;
    let result = runtime.block_on(async {
        let studio = open(options).await?;
        ready(&studio.address());
        studio
            .serve(async {
                if tokio::signal::ctrl_c().await.is_err() {
                    std::future::pending::<()>().await;
                }
            })
            .await
    });
    // A sweep that is still running must not hold up the end.
    runtime.shutdown_timeout(Duration::from_millis(200));
    result
}

impl Studio {
    /// The address to open.
    #[must_use]
    pub fn address(&self) -> String {
        format!("http://{}", self.address)
    }

    /// Serves until `until` is done.
    ///
    /// # Errors
    /// When the system stops handing out connections.
    pub async fn serve(self, until: impl Future<Output = ()> + Send) -> std::io::Result<()> {
        let service = router(self.app);
        let connections = Arc::new(Semaphore::new(MOST_CONNECTIONS));
        let mut until = std::pin::pin!(until);
        loop {
            let permit = tokio::select! {
                p = Arc::clone(&connections).acquire_owned() => p,
                () = &mut until => return Ok(()),
            };
            let stream = tokio::select! {
                accepted = self.listener.accept() => match accepted {
                    Ok((stream, _)) => stream,
                    Err(e) if passes(&e) => {
                        tokio::time::sleep(Duration::from_millis(50)).await;
                        continue;
                    }
                    Err(e) => return Err(e),
                },
                () = &mut until => return Ok(()),
            };
            let service = TowerToHyperService::new(service.clone());
            tokio::spawn(async move {
                let _permit = permit;
                let _ = stream.set_nodelay(true);
                // A client that goes away or talks nonsense is its own affair.
                let _ = http1::Builder::new()
                    .timer(TokioTimer::new())
                    .header_read_timeout(HEADERS_WITHIN)
                    .max_headers(64)
                    .serve_connection(TokioIo::new(stream), service)
                    .await;
            });
        }
    }
}

/// Whether listening can go on after this error: too many open files, a client gone already.
fn passes(e: &std::io::Error) -> bool {
    !matches!(e.kind(), ErrorKind::InvalidInput | ErrorKind::NotConnected)
}
