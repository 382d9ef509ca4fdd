//! A page to work in: the same program as a page in the browser of this machine. It answers on the loopback address only,
//! behind a key that is new at every start; it needs no script; it keeps nothing unless started to.
//!
//! [`Served`] is the page, running until it is stopped.
//! - `secret` words that nobody can guess; `guard` what stands before every request; `refused` what is said of a refusal
//! - `desk` what all requests share; `known` what is known of the kitchen, in memory; `held` sheets not yet kept
//! - `routes` which page answers which address; `pages` the pages; `frame` what stands around them; `form` their fields

mod desk;
mod form;
mod frame;
mod guard;
mod held;
mod known;
mod pages;
mod refused;
mod routes;
mod secret;

use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::time::Duration;

use crate::answers::failure::Failure;

pub use desk::Settings;

/// Time for requests under way to end once it is stopped.
const LAST_ORDERS: Duration = Duration::from_secs(2);

/// A page that is ready to be served: its place is taken, its logbook read.
#[derive(Debug)]
pub struct Served {
    listener: TcpListener,
    desk: Arc<desk::Desk>,
    at: SocketAddr,
}

impl Served {
    /// Opens the logbook and takes a port of the loopback address; port 0 takes any that is free.
    ///
    /// # Errors
    /// When the port is taken or the logbook cannot be read.
    pub fn open(settings: Settings, port: u16) -> Result<Self, Failure> {
        let taken = |e: io::Error| {
            Failure::Work(format!("port {port} cannot be had ({e}): leave --port out, or give another"))
        };
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(taken)?;
        listener.set_nonblocking(true).map_err(taken)?;
        let at = listener.local_addr().map_err(taken)?;
        Ok(Self { listener, desk: Arc::new(desk::Desk::open(settings)?), at })
    }

    /// The address to open in a browser, with its key.
    pub fn address(&self) -> String {
        format!("http://{}/{}/", self.at, self.desk.key.text())
    }

    /// Serves until Ctrl-C, or until the system asks it to end; requests under way are answered. `ready` is called once both
    /// are heard.
    ///
    /// # Errors
    /// When the system gives no threads or sockets, or `ready` fails.
    pub fn run(self, ready: impl FnOnce() -> Result<(), Failure>) -> Result<(), Failure> {
        let failed = |e: io::Error| Failure::Work(format!("the page cannot be served: {e}"));
        let cores = std::thread::available_parallelism().map_or(2, usize::from);
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(cores.min(2))
            // One a core works out answers, so that those who wait are served in turn; one more reads sheets.
            .max_blocking_threads(cores + 1)
            .enable_all()
            .build()
            .map_err(failed)?;
        runtime.block_on(async {
            let mut stop = Stop::listen().map_err(failed)?;
            ready()?;
            self.serve(&mut stop).await.map_err(failed)
        })?;
        runtime.shutdown_timeout(LAST_ORDERS);
        Ok(())
    }

    async fn serve(self, asked: &mut Stop) -> io::Result<()> {
        let listener = tokio::net::TcpListener::from_std(self.listener)?;
        let (stop, stopped) = tokio::sync::watch::channel(());
        let serving = axum::serve(listener, routes::router(self.desk))
            .with_graceful_shutdown(async move {
                let mut stopped = stopped;
                let _ = stopped.changed().await;
            })
            .into_future();
        tokio::pin!(serving);
        tokio::select! {
            ended = &mut serving => return ended,
            () = asked.heard() => {}
        }
        let _ = stop.send(());
        // A browser that holds its connection open keeps nobody here.
        let _ = tokio::time::timeout(LAST_ORDERS, serving).await;
        Ok(())
    }
}

/// What asks the program to end: Ctrl-C, or the system.
#[cfg(unix)]
struct Stop {
    pressed: tokio::signal::unix::Signal,
    ends: tokio::signal::unix::Signal,
}

#[cfg(unix)]
impl Stop {
    /// From here on it is heard.
    fn listen() -> io::Result<Self> {
        use tokio::signal::unix::{SignalKind, signal};
        Ok(Self { pressed: signal(SignalKind::interrupt())?, ends: signal(SignalKind::terminate())? })
    }

    async fn heard(&mut self) {
        tokio::select! { _ = self.pressed.recv() => {}, _ = self.ends.recv() => {} }
    }
}

/// What asks the program to end: Ctrl-C.
#[cfg(not(unix))]
struct Stop;

#[cfg(not(unix))]
impl Stop {
    fn listen() -> io::Result<Self> {
        Ok(Self)
    }

    async fn heard(&mut self) {
        // Without a way to hear it, the system ends the program itself.
        let _ = tokio::signal::ctrl_c().await;
    }
}
